//! What does a blank weigh that is not finished yet: on a long string, at a low brace, or pressed down on the floor?
//!
//! The first two are [`super::draw`] with another string. On the floor the nocks rest on two blocks, belly up, and the grip is pressed
//! down between them: the nocks slide, so that each is loaded square to the bow's axis by half the force. In the frame of
//! [`super::limb`] that is a string at right angles to the axis:
//!
//! ```text
//!   ψ_r = φ0 + π/2                    the load stands square to the axis
//!   q_free − q_r = drop               q_r counts along the load from the nock to the root
//!   F = 2 T
//! ```
//!
//! with two unknowns `T` and `α`. [`stiffness_factor`] is the reading over the model's force: force is in proportion to stiffness as
//! long as the unbent shape and the string's length stay, so no search is needed.
//!
//! Source: statics, derived here; for small drops `F = 6 EI drop / L³` for two limbs of length `L` (any table of beams).

use super::bow::{Bow, Options, StringOn};
use super::draw;
use super::limb::Limb;
use super::weigher::{OtherLimb, Weigher};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::model::log::{BlankBending, BlankWidth};
use crate::model::outline::{LimbShape, Outline};
use crate::numeric::interp::Curve;
use crate::numeric::root;
use std::f64::consts::FRAC_PI_2;

/// The force that holds a blank so bent, N.
pub fn force_n(build: &Build, options: &Options, bent: BlankBending) -> Result<f64, Diagnostic> {
    let (string, pivot_to_nock_mm) = match bent {
        BlankBending::LongString { string_mm, pivot_to_nock_mm } => (StringOn::Long { length_mm: string_mm }, pivot_to_nock_mm),
        BlankBending::Braced { brace_mm, pivot_to_nock_mm } => (StringOn::BraceAt { height_mm: brace_mm }, pivot_to_nock_mm),
        BlankBending::Floor { drop_mm } => return floor_n(&Bow::of(build, options)?.limb, drop_mm),
    };
    let options = Options { string, full_draw_mm: Some(pivot_to_nock_mm), ..options.clone() };
    draw::weight_of(build, &options)
}

/// The same of a limb beside a different one. Braced it is solved as the pair that it is. On a long string, and on the floor with the grip held
/// level, it is taken as the mean of two bows, each of one of the limbs twice: what that leaves out is of the second order in how they differ.
pub fn force_beside_n(
    build: &Build,
    options: &Options,
    other: Option<OtherLimb<'_>>,
    bent: BlankBending,
) -> Result<f64, Diagnostic> {
    let Some(limb) = other else { return force_n(build, options, bent) };
    if let BlankBending::Braced { brace_mm, pivot_to_nock_mm } = bent {
        let string = StringOn::BraceAt { height_mm: brace_mm };
        let options = Options { string, full_draw_mm: Some(pivot_to_nock_mm), ..options.clone() };
        return Weigher::beside(&options, other).weight_n(build);
    }
    Ok(0.5 * (force_n(build, options, bent)? + force_n(limb.build, limb.options, bent)?))
}

/// What a weighed blank makes of all stiffness, of which the model has that of `options`: of both limbs, where they differ.
pub fn stiffness_factor(
    build: &Build,
    options: &Options,
    other: Option<OtherLimb<'_>>,
    bent: BlankBending,
    weight_n: f64,
) -> Result<f64, Diagnostic> {
    Ok(options.stiffness_factor * weight_n / force_beside_n(build, options, other, bent)?)
}

/// What a floor tiller will show before and after trimming.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Floor {
    pub drop_mm: f64,
    /// As a blank, each lamination as wide as its strip, N.
    pub blank_n: f64,
    /// Trimmed to the outline, N.
    pub trimmed_n: f64,
}

/// Floor tiller at these drops, for the bow and for its blank, which is as wide as its strips.
pub fn floor(build: &Build, options: &Options, drops_mm: &[f64]) -> Result<Vec<Floor>, Diagnostic> {
    let blank = with_width(build, &BlankWidth::Strips);
    let at = |drop_mm: f64| {
        let bent = BlankBending::Floor { drop_mm };
        Ok(Floor { drop_mm, blank_n: force_n(&blank, options, bent)?, trimmed_n: force_n(build, options, bent)? })
    };
    drops_mm.iter().map(|drop_mm| at(*drop_mm)).collect()
}

/// The same bow with another outline: a blank that is still wide, and square as it was glued.
#[must_use]
pub fn as_wide_as(build: &Build, width: &Curve) -> Build {
    let outline =
        build.outline.as_ref().map(|outline| Outline { width: width.clone(), shape: LimbShape::default(), ..outline.clone() });
    Build { outline, ..build.clone() }
}

/// The same bow as a blank of this width. Where laminations have widths of their own, the riser is as wide as its block, or as the
/// narrowest strip.
#[must_use]
pub fn with_width(build: &Build, width: &BlankWidth) -> Build {
    let told = match width {
        BlankWidth::Outline => return build.clone(),
        BlankWidth::Whole(width) => return as_wide_as(build, width),
        BlankWidth::Strips => &[],
        BlankWidth::Each(told) => told.as_slice(),
    };
    let narrowest_mm = build.laminations.iter().map(|lamination| lamination.stock.width_mm).fold(f64::INFINITY, f64::min);
    let block_mm = build.riser.as_ref().map_or(narrowest_mm, |riser| riser.width_mm(build.glue.line_mm));
    let mut blank = as_wide_as(build, &Curve::constant(block_mm));
    for (index, lamination) in blank.laminations.iter_mut().enumerate() {
        let own = told.iter().find(|(of, _)| *of == index).map(|(_, width)| width.clone());
        lamination.own_width = Some(own.unwrap_or_else(|| Curve::constant(lamination.stock.width_mm)));
    }
    blank
}

/// Nocks on blocks, pressed down at the grip by `drop_mm` from where the bow lay free.
fn floor_n(limb: &Limb, drop_mm: f64) -> Result<f64, Diagnostic> {
    let scale = limb.buckling_n();
    let (length, square) = (limb.length_mm, limb.root.angle_rad + FRAC_PI_2);
    // The unbent limb, seen along the load.
    let free_angle = square - limb.pass(0.0, 0.0).end.psi;
    let free_q = limb.pass(0.0, free_angle).end.q;
    let residuals = |v: &[f64; 2], drop: f64| {
        let pass = limb.pass(v[0] * scale, v[1]);
        let (to_t, to_a) = (pass.by_tension, pass.by_angle);
        (
            [pass.end.psi - square, (free_q - pass.end.q - drop) / length],
            [[to_t.psi * scale, to_a.psi], [-to_t.q * scale / length, -to_a.q / length]],
        )
    };
    // Walked there in steps, each from the straight continuation of the last two.
    let mut states = vec![[0.0, free_angle]];
    for step in 1..=FLOOR_STEPS {
        let drop = drop_mm * f64::from(step) / f64::from(FLOOR_STEPS);
        let last = states[states.len() - 1];
        let guess = match states.as_slice() {
            [.., before, last] => [2.0 * last[0] - before[0], 2.0 * last[1] - before[1]],
            _ => last,
        };
        let solved = root::newton(|v| residuals(v, drop), guess, super::strung::TOLERANCE, super::strung::MAX_NEWTON);
        match solved {
            Ok(solved) => states.push(solved.x),
            Err(fault) => {
                let message = message!(
                    "pressed down by {} the bow could not be solved beyond {} (residual {}, {} passes)",
                    mm(drop_mm),
                    mm(drop_mm * f64::from(step - 1) / f64::from(FLOOR_STEPS)),
                    format_args!("{:.1e}", fault.residual),
                    fault.evaluations
                );
                return Err(
                    Diagnostic::fault(Place::whole_file(), message).hint("press it down less: the first inches tell as much")
                );
            }
        }
    }
    Ok(2.0 * states[states.len() - 1][0] * scale)
}

/// Fewer, and Newton may jump to another shape at deep drops; more only costs passes.
const FLOOR_STEPS: u32 = 8;
