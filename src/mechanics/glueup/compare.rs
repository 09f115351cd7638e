//! Does the glue-up pay? The same stack, glued in other ways, drawn side by side.
//!
//! * **as written**: the stages as they will be held;
//! * **flat**: everything in one stage on a flat bench;
//! * **one stage**: everything in one stage on the form that leaves the same unstrung shape.
//!
//! Shear in the glue lines at full draw: `τ = dN/ds / b`, `N` the force in all layers on one side of the line. Of the draw's moment
//! `N = M Σ n t (z − z̄)/EI` in size; what the glue-up locked in has its own. The derivative is taken between neighbouring stations of one
//! stretch: at feathers and ends of laminations a beam has a jump there instead of a number, and it is left out.
//!
//! Source: shear flow in built-up beams, any text on strength of materials; derived here for layers with locked-in strain.

use super::super::bow::{Options, Unstrung};
use super::super::draw::{self, DrawCurve};
use super::super::section::{Part, Stack};
use super::hold::{self, Hold};
use super::pile::{CURVATURE_CLOSE, Pile, curve};
use super::{GlueUp, mesh, pile, sides, unstrung};
use crate::diag::Diagnostic;
use crate::model::Build;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    AsWritten,
    Flat,
    OneStage,
}

/// One way of gluing the stack, drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    pub how: How,
    /// Rise of the nock unstrung, mm.
    pub tip_mm: f64,
    pub unstrung: Unstrung,
    /// Why there are no numbers, where the bow cannot be braced or drawn so.
    pub drawn: Result<Drawn, Vec<Diagnostic>>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    pub weight_n: f64,
    /// Between brace and full draw, N·mm.
    pub energy_n_mm: f64,
    /// The greatest strain of each lamination and of the riser at full draw, locked-in strain included; positive is stretch.
    pub worst: Vec<WorstStrain>,
    /// The greatest shear in a glue line at full draw; `None` without glue lines.
    pub shear: Option<Shear>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WorstStrain {
    pub part: Part,
    pub strain: f64,
    pub s_mm: f64,
    pub belly_face: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shear {
    pub mpa: f64,
    pub s_mm: f64,
    pub between: (Part, Part),
}

/// The build as written, flat and in one stage; faults where the build cannot be glued at all.
pub fn compare(build: &Build, glued: &GlueUp) -> Result<Vec<Way>, Vec<Diagnostic>> {
    let stack = Stack::of(build).map_err(|fault| vec![fault])?;
    let flat = in_one_stage(stack, &glued.unstrung, false)?;
    let one = in_one_stage(stack, &glued.unstrung, true)?;
    let ways = [(How::AsWritten, glued.unstrung.clone()), (How::Flat, flat), (How::OneStage, one)];
    Ok(ways
        .into_iter()
        .map(|(how, unstrung)| {
            let options = Options { unstrung: unstrung.clone(), ..Options::default() };
            let drawn = draw::curve(build, &options).map(|reported| drawn(&reported.value));
            let mesh = crate::numeric::ode::mesh(
                0.0,
                glued.nock_mm,
                &unstrung.curvature_per_mm.points().iter().map(|point| point.0).collect::<Vec<_>>(),
                10.0,
            );
            let tip = hold::line(&mesh, |inside, s| at(&unstrung, inside, s)).last().map_or(0.0, |spot| spot.rise_mm);
            Way { how, tip_mm: tip, unstrung, drawn }
        })
        .collect())
}

/// The unstrung curvature, a step looked at from the side of `inside`.
fn at(unstrung: &Unstrung, inside: f64, s: f64) -> f64 {
    unstrung.curvature_per_mm.at(s + 2e-5 * (inside - s).signum())
}

/// All laminations glued at once: flat, or so that they come off with the curvature of `like`.
fn in_one_stage(stack: Stack<'_>, like: &Unstrung, shaped: bool) -> Result<Unstrung, Vec<Diagnostic>> {
    let (several, _, _) = pile(stack)?;
    let mut one = Pile {
        of_lamination: vec![0; several.of_lamination.len()],
        of_riser: 0,
        holds: vec![Hold::Flat],
        retained: vec![stack.build().glue.retained],
        ..several
    };
    let nock = stack.outline().nock_mm();
    if shaped {
        let mut corners = one.corners();
        corners.extend(like.curvature_per_mm.points().iter().map(|point| point.0));
        let mesh = crate::numeric::ode::mesh(0.0, nock, &corners, 6.0);
        let form: Vec<(f64, f64)> = sides(&mesh)
            .into_iter()
            .map(|(inside, s)| {
                let wanted = at(like, inside, s);
                (s, one.form_for(0, &one.laid(0, inside, s), wanted).unwrap_or(wanted))
            })
            .collect();
        one.holds = vec![Hold::At(curve(&form, CURVATURE_CLOSE))];
    }
    let sides = sides(&mesh(&one, nock));
    Ok(unstrung(&sides, |inside, s| one.glued(0, inside, s)))
}

fn drawn(curve: &DrawCurve) -> Drawn {
    let full = curve.at_full_draw();
    let mut worst: Vec<WorstStrain> = Vec::new();
    for (station, here) in curve.stations.iter().enumerate() {
        for (index, layer) in here.section.layers.iter().enumerate().filter(|(_, layer)| layer.part != Part::Glue) {
            for (face, strain) in curve.strain(full, station, index).into_iter().enumerate() {
                let found = WorstStrain { part: layer.part, strain, s_mm: here.s_mm, belly_face: face == 1 };
                match worst.iter_mut().find(|known| known.part == layer.part) {
                    Some(known) if known.strain.abs() < strain.abs() => *known = found,
                    Some(_) => {}
                    None => worst.push(found),
                }
            }
        }
    }
    worst.sort_by_key(|worst| worst.part);
    Drawn { weight_n: full.force_n, energy_n_mm: curve.energy.work_n_mm, worst, shear: shear(curve) }
}

/// The greatest shear over all glue lines between neighbouring stations that hold the same layers.
fn shear(curve: &DrawCurve) -> Option<Shear> {
    let full = curve.at_full_draw();
    let mut worst: Option<Shear> = None;
    for k in 1..curve.stations.len() {
        let (near, far) = (&curve.stations[k - 1], &curve.stations[k]);
        let length = far.s_mm - near.s_mm;
        let parts = |station: usize| curve.stations[station].section.layers.iter().map(|layer| layer.part);
        // A step this short is a jump that was set apart.
        if length < LEAST_STEP_MM || !parts(k - 1).eq(parts(k)) {
            continue;
        }
        let mut force = 0.0;
        let layers = &far.section.layers;
        for i in 0..layers.len() - 1 {
            let pull = |station: usize| {
                let layer = &curve.stations[station].section.layers[i];
                let [back, belly] = curve.strain(full, station, i);
                layer.modulus_mpa * layer.width_mm * layer.thickness_mm * 0.5 * (back + belly)
            };
            force += pull(k) - pull(k - 1);
            if layers[i].part == Part::Glue {
                continue;
            }
            // The glue line itself carries the shear between its neighbours.
            let next = if layers[i + 1].part == Part::Glue { i + 2 } else { i + 1 };
            let Some(other) = layers.get(next) else { continue };
            let width = 0.5
                * (layers[i].width_mm.min(other.width_mm)
                    + near.section.layers[i].width_mm.min(near.section.layers[next].width_mm));
            let mpa = (force / length / width).abs();
            if worst.is_none_or(|worst| worst.mpa < mpa) {
                worst = Some(Shear { mpa, s_mm: 0.5 * (near.s_mm + far.s_mm), between: (layers[i].part, other.part) });
            }
        }
    }
    worst
}

/// Stations nearer than this mark two sides of a jump, mm: with less the difference is noise, with more steps in the fades are lost.
const LEAST_STEP_MM: f64 = 0.01;
