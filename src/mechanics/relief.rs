//! A bow that works its wood too hard: what would bring it down?
//!
//! The same wish is sized again, longer, wider or lighter, until no part works at more than [`COMFORTABLE`] of its breaking strain. Strain in a limb
//! bent to the same draw falls about with the square of its length; a wider or lighter bow has a thinner limb. Each is found by secants on
//! the logarithms and then set to a round number, which is tried once more, so that what is named holds.

use super::rescale;
use super::verdict::COMFORTABLE;
use crate::model::Build;
use crate::model::outline::{NarrowFace, Trapped};
use crate::numeric::interp::Curve;
use crate::numeric::root::{Secant, SecantEnd, secant};
use crate::units::System;

/// What would do, each alone; `None` where nothing within reason does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Relief {
    /// Nock to nock, carried there as [`rescale`] does and sized again, mm.
    pub nock_to_nock_mm: Option<f64>,
    /// All widths times this, strips and riser with them.
    pub widths_times: Option<f64>,
    /// Draw weight of the finished bow, N.
    pub draw_weight_n: Option<f64>,
}

/// What would do for a build that works at the share `now` once it is sized. `fraction(build)` sizes another and gives its greatest share of a
/// breaking strain; `None` where it cannot be sized.
pub fn relief(build: &Build, now: f64, mut fraction: impl FnMut(&Build) -> Option<f64>) -> Relief {
    let (length_mm, weight_n) = (
        build.outline.as_ref().map_or(0.0, |outline| outline.nock_to_nock_mm),
        build.target.map_or(0.0, |target| target.draw_weight_n),
    );
    let units = build.units;
    // Steps that a builder would name: an inch or 20 mm, a fiftieth, a pound or 5 N.
    let (inch, pound) = match units {
        System::Inch => (units.to_mm(1.0), units.to_newtons(1.0)),
        System::Millimetre => (20.0, 5.0),
    };
    let longer = |x: f64| Some(rescale::rescale(build, x * length_mm).ok()?.value.build);
    let lighter = |x: f64| {
        let mut other = build.clone();
        other.target.as_mut()?.draw_weight_n *= x;
        Some(other)
    };
    let mut found = |most: f64, power: f64, step: f64, other: &dyn Fn(f64) -> Option<Build>| {
        let mut at = |x: f64| other(x).and_then(|build| fraction(&build));
        settled(now, most, power, step, &mut at)
    };
    Relief {
        nock_to_nock_mm: found(1.4, -1.5, inch / length_mm, &longer).map(|x| x * length_mm),
        widths_times: found(2.0, -0.33, 0.02, &|x| wider(build, x)),
        draw_weight_n: found(0.4, 0.33, pound / weight_n, &lighter).map(|x| x * weight_n),
    }
}

/// The bow with all its widths multiplied: outline, both faces of it, strips and riser.
pub fn wider(build: &Build, by: f64) -> Option<Build> {
    let mut other = build.clone();
    let outline = other.outline.as_mut()?;
    let points = outline.width.points().iter().map(|(s, width)| (*s, by * width)).collect();
    outline.width = Curve::through(points, outline.width.between()).ok()?;
    if let Some(Trapped { width: NarrowFace::By(less), .. }) = &mut outline.shape.trapped {
        let points = less.points().iter().map(|(s, mm)| (*s, by * mm)).collect();
        *less = Curve::through(points, less.between()).ok()?;
    }
    for lamination in &mut other.laminations {
        lamination.stock.width_mm *= by;
    }
    for slice in other.riser.iter_mut().flat_map(|riser| &mut riser.across) {
        slice.width_mm *= by;
    }
    Some(other)
}

/// The multiple nearest to 1 at which the share is comfortable, in whole steps away from it and no further than `most`; `power` is about how
/// the share goes with it.
fn settled(now: f64, most: f64, power: f64, step: f64, at: &mut dyn FnMut(f64) -> Option<f64>) -> Option<f64> {
    let away = if most < 1.0 { -1.0 } else { 1.0 };
    let beyond = |x: f64| away * most < away * x;
    // On the logarithms, from the build itself, whose share is known.
    let over =
        |ln_x: f64| if ln_x.abs() <= 0.0 { Some(now) } else { at(ln_x.exp()) }.map(|fraction| (fraction / AIM).ln()).ok_or(());
    let within = if most < 1.0 { [most.ln(), 0.0] } else { [0.0, most.ln()] };
    let how = Secant { start: 0.0, slope: power, within, close: CLOSE, min_step: CLOSE * step, max: MAX_SECANTS };
    let (SecantEnd::Root(found) | SecantEnd::Held { at: found, .. } | SecantEnd::NotConverged(found)) = secant(over, how).ok()?;
    let x = found.x.exp();
    // Whole steps, the first of which may fall just short.
    let first = ((x - 1.0).abs() / step - 1e-9).ceil().max(1.0);
    (0..3)
        .map(|more| 1.0 + away * step * (first + f64::from(more)))
        .find(|x| !beyond(*x) && at(*x).is_some_and(|fraction| fraction <= AIM))
}

/// Below the comfortable share by what rounding to a thousandth of an inch may take back.
const AIM: f64 = COMFORTABLE - 0.003;
/// Places for one of them, the build itself among them: four are usual, each a bow to be sized.
const MAX_SECANTS: usize = 7;
/// Closeness, of a step and of the share: what is rounded to a step needs no more.
const CLOSE: f64 = 2e-3;
