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
use super::super::layer_kind::LayerKind;
use super::super::section::{Layer, Stack};
use super::super::strain::Worst;
use super::super::{one_side, overstrain, pair, weigher::OtherLimb};
use super::hold::{self, Hold};
use super::pile::{CLOSE_RAD, Pile, unstrung};
use super::{GlueUp, STEP_MM, pile};
use crate::diag::{Diagnostic, Outcome, Reported};
use crate::model::Build;
use crate::numeric::ode;
use crate::numeric::piecewise::{self, Piecewise};

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GluingMethod {
    AsWritten,
    Flat,
    OneStage,
}

impl GluingMethod {
    pub fn words(self) -> &'static str {
        match self {
            GluingMethod::AsWritten => "as written",
            GluingMethod::Flat => "glued flat",
            GluingMethod::OneStage => "one stage, same shape",
        }
    }
}

/// One way of gluing the stack, drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    pub how: GluingMethod,
    /// Rise of the nock unstrung, mm.
    pub tip_mm: f64,
    pub unstrung: Unstrung,
    /// Why there are no numbers, where the bow cannot be braced or drawn so; with them come the warnings of the draw.
    pub drawn: Result<DrawnWay, Vec<Diagnostic>>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct DrawnWay {
    pub weight_n: f64,
    /// Between brace and full draw, N·mm.
    pub energy_n_mm: f64,
    /// The greatest strain of each lamination and of the riser, as the draw finds it.
    pub worst: Vec<Worst>,
    /// The greatest shear in a glue line at full draw; `None` without glue lines.
    pub shear: Option<Shear>,
    pub warnings: Vec<Diagnostic>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shear {
    pub mpa: f64,
    pub s_mm: f64,
    pub between: (LayerKind, LayerKind),
}

/// The build as written, flat and in one stage; faults where the build cannot be glued at all.
///
/// `options` are those that the bow is drawn with elsewhere, its stiffness among them: only the unstrung shape is each way's own.
pub fn compare(build: &Build, glued: &GlueUp, options: &Options) -> Result<Vec<Way>, Vec<Diagnostic>> {
    let draw = |_: GluingMethod, options: &Options| draw::curve(build, options);
    drawn_so(glued, options, unstrung_so(build, glued)?, draw)
}

/// The same of a limb beside a different one that is glued in the same way.
pub fn compare_beside(
    build: &Build,
    glued: &GlueUp,
    options: &Options,
    other: OtherLimb<'_>,
    other_glued: &GlueUp,
) -> Result<Vec<Way>, Vec<Diagnostic>> {
    let of_other = unstrung_so(other.build, other_glued)?;
    let draw = |how: GluingMethod, options: &Options| {
        let unstrung = of_other.iter().find(|way| way.0 == how).map_or_else(Unstrung::default, |way| way.1.clone());
        let other_options = Options { unstrung, ..other.options.clone() };
        let other = OtherLimb { options: &other_options, ..other };
        let [upper, lower] = other.upper_first(build);
        let Reported { value, .. } = pair::curve(upper, lower, &other.pair(options))?;
        let curve = one_side::seen_from(&value, other.is.other());
        let warnings = curve.worst.iter().filter_map(|worst| overstrain::warning(build, worst)).collect();
        Ok(Reported { value: curve, warnings })
    };
    drawn_so(glued, options, unstrung_so(build, glued)?, draw)
}

/// What each way leaves.
fn unstrung_so(build: &Build, glued: &GlueUp) -> Result<[(GluingMethod, Unstrung); 3], Vec<Diagnostic>> {
    let stack = Stack::of(build).map_err(|fault| vec![fault])?;
    let flat = in_one_stage(stack, OneForm::Flat)?;
    let one = in_one_stage(stack, OneForm::Leaving(&glued.unstrung))?;
    Ok([(GluingMethod::AsWritten, glued.unstrung.clone()), (GluingMethod::Flat, flat), (GluingMethod::OneStage, one)])
}

/// What the bow of each way draws.
fn drawn_so(
    glued: &GlueUp,
    options: &Options,
    ways: [(GluingMethod, Unstrung); 3],
    draw: impl Fn(GluingMethod, &Options) -> Outcome<DrawCurve>,
) -> Result<Vec<Way>, Vec<Diagnostic>> {
    Ok(ways
        .into_iter()
        .map(|(how, unstrung)| {
            let options = Options { unstrung: unstrung.clone(), ..options.clone() };
            let drawn = draw(how, &options).map(drawn);
            let curvature = &unstrung.curvature_per_mm;
            let mesh = ode::mesh(0.0, glued.nock_mm, curvature.corners(), STEP_MM);
            let tip_mm = hold::tip_mm(&mesh, |inside, s| curvature.at(inside, s));
            Way { how, tip_mm, unstrung, drawn }
        })
        .collect())
}

/// What all laminations are glued on at once.
#[derive(Debug, Clone, Copy)]
enum OneForm<'a> {
    Flat,
    /// A form that leaves this shape.
    Leaving(&'a Unstrung),
}

/// All laminations glued at once.
fn in_one_stage(stack: Stack<'_>, form: OneForm<'_>) -> Result<Unstrung, Vec<Diagnostic>> {
    let (several, _, _) = pile(stack)?;
    let mut one = Pile {
        of_lamination: vec![0; several.of_lamination.len()],
        of_riser: 0,
        holds: vec![Hold::Flat],
        retained: vec![stack.build().glue.retained],
        ..several
    };
    let nock = stack.outline().nock_mm();
    if let OneForm::Leaving(like) = form {
        let mut corners = one.corners(0);
        corners.extend(like.curvature_per_mm.corners());
        let form = piecewise::sample(
            0.0,
            nock,
            &corners,
            |_| CLOSE_RAD / nock,
            |inside, s, values| {
                let wanted = like.curvature_per_mm.at(inside, s);
                let column = one.laid(0, inside, s);
                let form = column.slipping().form_for(column.whole().ei_n_mm2, wanted, one.retained[0]);
                values.push(form.unwrap_or(wanted));
            },
        );
        one.holds = vec![Hold::At(Piecewise::of(&corners, &form, |_| Some(0)))];
    }
    Ok(unstrung(&one, 0))
}

fn drawn(reported: Reported<DrawCurve>) -> DrawnWay {
    let Reported { value: curve, warnings } = reported;
    let weight_n = curve.at_full_draw().force_n;
    DrawnWay { weight_n, energy_n_mm: curve.energy.work_n_mm, shear: shear(&curve), worst: curve.worst, warnings }
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
        if length < MIN_STEP_MM || !parts(k - 1).eq(parts(k)) {
            continue;
        }
        let mut force = 0.0;
        let layers = &far.section.layers;
        for i in 0..layers.len() - 1 {
            let pull = |station: usize| {
                let layer = &curve.stations[station].section.layers[i];
                let strain = curve.strain(full, station, i);
                layer.modulus_mpa * layer.area_mm2() * layer.mean(strain)
            };
            force += pull(k) - pull(k - 1);
            if layers[i].part == LayerKind::Glue {
                continue;
            }
            // The glue line itself carries the shear between its neighbours.
            let next = if layers[i + 1].part == LayerKind::Glue { i + 2 } else { i + 1 };
            let Some(other) = layers.get(next) else { continue };
            // What a scarf's own glue bears is asked of the splice.
            if layers[i].part.one_strip(other.part) {
                continue;
            }
            let bonded = |upper: &Layer, lower: &Layer| upper.width_at_mm(upper.belly_mm()).min(lower.width_at_mm(lower.back_mm));
            let width = 0.5 * (bonded(&layers[i], other) + bonded(&near.section.layers[i], &near.section.layers[next]));
            let mpa = (force / length / width).abs();
            if worst.is_none_or(|worst| worst.mpa < mpa) {
                worst = Some(Shear { mpa, s_mm: 0.5 * (near.s_mm + far.s_mm), between: (layers[i].part, other.part) });
            }
        }
    }
    worst
}

/// Stations nearer than this mark two sides of a jump, mm: with less the difference is noise, with more steps in the fades are lost.
const MIN_STEP_MM: f64 = 0.01;
