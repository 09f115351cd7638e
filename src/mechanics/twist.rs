//! Does the limb stay in its plane at full draw, or does its tip turn over sideways?
//!
//! A limb held by its string is bent in the plane of the draw. Narrow tips and recurves may leave it: the tip goes sideways and twists, and the
//! tension drives it on. Asked is how many times stiffer the limb is, sideways and in twist, than would just hold it: the margin.
//!
//! # Derivation
//!
//! A rod after Kirchhoff, bent in its plane to the curvature `κ` by the moment `M`, is turned a little out of it: `w` sideways, `φ` about its own
//! line. With `s` from the root out, the force `F` of what lies beyond, along (`F_t`) and across (`F_n`, toward the archer) the limb, and the moments
//! about the direction across, `A`, and along, `C`, that come with the turn,
//!
//! ```text
//!   w' = v      v' = κ φ − (A + M φ)/B      φ' = (C + M v)/G − κ v
//!   A' = −κ C − v F_t + f                   C' = κ A + v F_n
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `B` | stiffness sideways, Σ E ∫ b³ dz/12 over the layers | N·mm² |
//! | `G` | stiffness in twist, 4 γ EI k: each layer's shear modulus is `γ` times its modulus | N·mm² |
//! | `k` | what the edges of a section that is no thin strip take off, `1 − 0.63 r (1 − r⁴/12)`, `r` its short side over its long one | – |
//! | `f` | pull of the string back into the plane, `−T w/ℓ` at the nock: the nocking point is held, `ℓ` away | N |
//!
//! At the root, the bow's centre, the limb is held (`w = v = φ = 0`), and the tip is free of moments. All three shapes that leave the tip so are
//! walked from the nock to the root with `B/λ` and `G/λ`; where their determinant first vanishes, `λ` is the margin.
//!
//! Valid for small turns, limbs alike, and a string that lies on neither: it pulls at the middle of the nock. Left out: grooves and nocks that
//! stand off the middle, strips that are not straight, and what either does to a limb with little margin: its sideways error grows by `λ/(λ − 1)`.
//!
//! A trapped or crowned limb counts as a strip of its mean width. `G` then lies within seven hundredths of a mesh's torsion constant
//! (`tests/across.rs`), too little under a crown, whose thin edges lose less: far inside the band of `γ`.
//!
//! `γ` has no table here: [`SHEAR`] is a band, and so is the answer.
//!
//! Source: derived here. Limit cases, all from memory: a straight narrow cantilever with a load at its end, `4.013 √(B G)/L²`; a hinged beam bent by end
//! moments, `π √(B G)/L`; the same bent to an arc (S. P. Timoshenko and J. M. Gere, Theory of Elastic Stability, 2nd ed., 1961, chapters 6 and 7). `k`:
//! S. P. Timoshenko, Strength of Materials, from memory.

use super::bow::{Bow, Options};
use super::draw::DrawCurve;
use crate::diag::Diagnostic;
use crate::model::Build;
use crate::numeric::heading::Heading;
use crate::numeric::ode::{self, NODES};
use crate::numeric::root::bracketed;
use std::cell::Cell;

/// Shear modulus over modulus, along the grain: woods 0.05 to 0.11 by the Wood Handbook's table of elastic ratios, glass with its fibres along 0.09 to
/// 0.11, both from memory; bamboo is taken as wood, no source.
pub const SHEAR: [f64; 2] = [0.05, 0.11];

/// A limb as far as it twists, in steps from the nock to the root.
#[derive(Debug, Clone, PartialEq)]
pub struct TwistLimb {
    pub steps: Vec<TwistStep>,
}

/// A step of it, seen at the nodes of [`ode::step`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwistStep {
    pub length_mm: f64,
    pub at: [TwistNode; 5],
}

/// The limb at one place. Compliances are one over a stiffness, 1/(N·mm²).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwistNode {
    /// Unstrung, positive toward the belly, 1/mm.
    pub curvature_per_mm: f64,
    /// In the plane of the draw.
    pub flat: f64,
    pub sideways: f64,
    pub twist: f64,
    /// Depth of the neutral axis below the back, mm.
    pub neutral_mm: f64,
}

/// What holds the limb bent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwistPull {
    pub tension_n: f64,
    /// String against the limb at the nock, rad.
    pub nock_angle_rad: f64,
    /// From the string's line to the neutral axis of the nock, mm: nothing on a bow.
    pub arm_mm: f64,
    /// From nock to nocking point, mm; infinite for a load that keeps its direction.
    pub string_mm: f64,
}

/// A step of the limb bent in its plane, seen by each stage of [`ode::step`].
#[derive(Debug, Clone, Copy)]
struct BentStep {
    stages: [BentStage; ode::STAGES],
}

/// Moment in the plane, N·mm, curvature there, 1/mm, and the string's pull along and across the limb, N.
#[derive(Debug, Clone, Copy, Default)]
struct BentStage {
    moment: f64,
    bent: f64,
    along: f64,
    across: f64,
}

/// How the ends are held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TwistEnds {
    /// Held at the root, free at the nock.
    Limb,
    /// Neither goes sideways nor turns about its own line, and both may turn sideways: the beams of textbooks.
    Hinged,
}

/// Where margins are looked for: less is a limb that has long turned over, more is of no interest.
const MARGINS: [f64; 2] = [0.05, 60.0];
/// From one margin to the next that is tried: wider may step over two that are one within a tenth.
const RATIO: f64 = 1.1;
/// How near the margin is found, as a part of it, and in how many tries at most.
const CLOSE: f64 = 1e-7;
const MAX_TRIES: usize = 40;
/// Longest step over the length: sixth order makes less needless.
const STEPS: f64 = 40.0;

/// How many times stiffer than would just hold it at full draw the limb is sideways and in twist, for the least and the greatest of [`SHEAR`];
/// `None` where the string lies on the limb at full draw.
pub fn margin(build: &Build, options: &Options, curve: &DrawCurve) -> Result<Option<[f64; 2]>, Diagnostic> {
    let full = curve.at_full_draw();
    if 0.0 < full.touched_mm {
        return Ok(None);
    }
    let bow = Bow::of(build, options)?;
    let pull = TwistPull {
        tension_n: full.tension_n,
        nock_angle_rad: full.nock_angle_rad,
        arm_mm: 0.0,
        string_mm: 0.5 * curve.string_mm,
    };
    Ok(Some(SHEAR.map(|shear| TwistLimb::of(&bow, options, shear).margin(pull, TwistEnds::Limb))))
}

impl TwistLimb {
    /// Of a bow whose layers' shear moduli are this part of their moduli.
    #[must_use]
    pub fn of(bow: &Bow<'_>, options: &Options, shear: f64) -> TwistLimb {
        let stack = &bow.stack;
        let nock = stack.outline().nock_mm();
        let mut corners = stack.corners();
        corners.extend(options.unstrung.curvature_per_mm.corners());
        let mesh = ode::mesh(0.0, nock, &corners, nock / STEPS);
        let step = |pair: &[f64]| {
            let (near, far) = (pair[0], pair[1]);
            let inside = 0.5 * (near + far);
            let at = NODES.map(|node| {
                let s = far - node * (far - near);
                let section = stack.section(inside, s);
                let (mut sideways, mut area) = (0.0, 0.0);
                for layer in &section.layers {
                    sideways += layer.modulus_mpa * layer.sideways_mm4();
                    area += layer.area_mm2();
                }
                let width = area / section.depth_mm;
                // Of a strip that stands on edge the layers make no difference to speak of.
                let thin = if section.depth_mm <= width { section.stiffness_n_mm2 } else { sideways };
                let edges = edges(section.depth_mm.min(width) / section.depth_mm.max(width));
                let per = |stiffness: f64| 1.0 / (options.stiffness_factor * stiffness);
                TwistNode {
                    curvature_per_mm: options.unstrung.curvature_per_mm.at(inside, s),
                    flat: per(section.stiffness_n_mm2),
                    sideways: per(sideways),
                    twist: per(4.0 * shear * edges * thin),
                    neutral_mm: section.neutral_mm,
                }
            });
            TwistStep { length_mm: far - near, at }
        };
        TwistLimb { steps: mesh.windows(2).rev().map(step).collect() }
    }

    /// Least factor by which its stiffness, sideways and in twist, is more than just holds it, as far as `MARGINS` reach.
    #[must_use]
    pub fn margin(&self, pull: TwistPull, ends: TwistEnds) -> f64 {
        let bent = self.bent(pull);
        let held = |softer: f64| self.held(&bent, pull, ends, softer);
        let [min, max] = MARGINS;
        let sign = held(min) < 0.0;
        let mut stands = min;
        while stands < max {
            let next = RATIO * stands;
            if (held(next) < 0.0) != sign {
                let found = bracketed(held, stands, next, CLOSE * stands, MAX_TRIES);
                return found.map_or(next, |root| root.x);
            }
            stands = next;
        }
        max
    }

    /// The limb in its plane, where the stages of [`ode::step`] ask for it, in their order: the same for every turned shape.
    fn bent(&self, pull: TwistPull) -> Vec<BentStep> {
        let TwistPull { tension_n: t, nock_angle_rad, arm_mm, .. } = pull;
        let nock = self.steps.first().map_or(0.0, |step| step.at[0].neutral_mm);
        let (sin, cos) = nock_angle_rad.sin_cos();
        // The back in the frame of the string.
        let mut y = [-nock * sin, arm_mm + nock * cos, nock_angle_rad];
        let bent = self.steps.iter().map(|step| {
            let (seen, stage) = (Cell::new([BentStage::default(); ode::STAGES]), Cell::new(0));
            let heading = Heading::of(y[2]);
            y = ode::step(&y, step.length_mm, |node, y| {
                let TwistNode { curvature_per_mm, flat, neutral_mm, .. } = step.at[node];
                let (sin, cos) = heading.sin_cos_at(y[2]);
                let moment = t * (y[1] - neutral_mm * cos);
                let bent = curvature_per_mm + flat * moment;
                let mut stages = seen.get();
                stages[stage.get()] = BentStage { moment, bent, along: -t * cos, across: t * sin };
                seen.set(stages);
                stage.set(stage.get() + 1);
                let stretch = 1.0 + neutral_mm * bent;
                [stretch * cos, stretch * sin, -bent]
            });
            BentStep { stages: seen.get() }
        });
        bent.collect()
    }

    /// Determinant that vanishes where the limb, softer by this factor, stands in a turned shape by itself.
    fn held(&self, bent: &[BentStep], pull: TwistPull, ends: TwistEnds, softer: f64) -> f64 {
        // (w, v, φ, A, C, f) of three shapes.
        let mut y = [0.0; 18];
        let begins = match ends {
            TwistEnds::Limb => [0, 1, 2],
            TwistEnds::Hinged => [1, 4, 5],
        };
        for (shape, given) in begins.into_iter().enumerate() {
            y[6 * shape + given] = 1.0;
        }
        if ends == TwistEnds::Limb {
            y[5] = -pull.tension_n / pull.string_mm;
        }
        for (step, in_plane) in self.steps.iter().zip(bent) {
            let stage = Cell::new(0);
            y = ode::step(&y, step.length_mm, |node, y| {
                let TwistNode { sideways, twist, .. } = step.at[node];
                let BentStage { moment, bent, along, across } = in_plane.stages[stage.get()];
                stage.set(stage.get() + 1);
                let mut slopes = [0.0; 18];
                for shape in 0..3 {
                    let at = 6 * shape;
                    let [v, turn, a, c, f] = [y[at + 1], y[at + 2], y[at + 3], y[at + 4], y[at + 5]];
                    // From the nock in, against the direction in which the equations count.
                    slopes[at] = -v;
                    slopes[at + 1] = -bent * turn + softer * sideways * (a + moment * turn);
                    slopes[at + 2] = -softer * twist * (c + moment * v) + bent * v;
                    slopes[at + 3] = bent * c + v * along - f;
                    slopes[at + 4] = -bent * a - v * across;
                }
                slopes
            });
        }
        let wanted = match ends {
            TwistEnds::Limb => [0, 1, 2],
            TwistEnds::Hinged => [0, 2, 3],
        };
        let of = |shape: usize| wanted.map(|row| y[6 * shape + row]);
        let [p, q, r] = [of(0), of(1), of(2)];
        p[0] * (q[1] * r[2] - q[2] * r[1]) - p[1] * (q[0] * r[2] - q[2] * r[0]) + p[2] * (q[0] * r[1] - q[1] * r[0])
    }
}

/// What is left of a thin strip's stiffness in twist where the short side is this part of the long one.
fn edges(ratio: f64) -> f64 {
    1.0 - 0.63 * ratio * (1.0 - ratio.powi(4) / 12.0)
}
