//! What does a little more thickness, width, length or stiffness do to the draw weight, and how sure is the weight?
//!
//! Each value is a central difference of the force at full draw: the bow is solved with a little more and a little less, all else held.
//!
//! | value | what changes |
//! |---|---|
//! | N per 0.01 mm of a lamination | its thickness, everywhere alike |
//! | N per percent of E | the modulus of one lamination, or of the riser |
//! | N per mm of width | full width, everywhere alike |
//! | N per mm of length | nock to nock, both nocks moved along the limbs as they are |
//!
//! The band: moduli scatter with the coefficient of variation of each wood, together or apart as their boards say ([`super::boards`]):
//! one standard deviation of the weight.
//!
//! Source: derived here.

use super::bow::Options;
use super::draw::DrawCurve;
use super::weigher::{OtherLimb, Weigher};
use super::{boards, sizing};
use crate::diag::{Diagnostic, Outcome, Reported};
use crate::model::Build;
use crate::model::piece::PieceName;
use crate::numeric::interp::Curve;

/// How the weight at full draw answers to small changes.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// At full draw, N.
    pub weight_n: f64,
    /// In the order of the build's laminations.
    pub laminations: Vec<OfLamination>,
    /// N per percent of the riser's modulus; 0 without a riser.
    pub riser_n_per_percent: f64,
    /// Full width, N/mm.
    pub n_per_mm_width: f64,
    /// Nock to nock, N/mm; less than nothing, since a longer bow is weaker.
    pub n_per_mm_length: f64,
    /// One standard deviation of the weight from the scatter of moduli, N.
    pub spread_n: f64,
}

/// One lamination's part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OfLamination {
    pub n_per_hundredth_mm: f64,
    /// N per percent of its modulus; of a strip of two woods that of its inner piece.
    pub n_per_percent_modulus: f64,
    /// The same of the piece beyond a splice of two woods.
    pub outer_n_per_percent_modulus: Option<f64>,
}

/// All sensitivities of a build's weight at full draw.
pub fn of(build: &Build, options: &Options) -> Outcome<Sensitivity> {
    beside(build, options, None, None)
}

/// The same of one limb beside a different one, which stays as it is: what changes, changes this limb alone. Only the band is of both, each
/// limb's by itself and their sum: limbs of one bow are of the same boards, as far as anybody knows.
/// The bow is found from its force curve where that is known.
pub fn beside(build: &Build, options: &Options, other: Option<OtherLimb<'_>>, curve: Option<&DrawCurve>) -> Outcome<Sensitivity> {
    let both = || {
        let own = solve(build, Weigher::beside(options, other).near(curve))?;
        let Some(other) = other else { return Ok(own) };
        let this = OtherLimb { is: other.is.other(), build, options };
        let of_other = solve(other.build, Weigher::beside(other.options, Some(this)))?;
        Ok(Sensitivity { spread_n: own.spread_n + of_other.spread_n, ..own })
    };
    both().map(Reported::clean).map_err(|fault| vec![fault])
}

/// Changes for the differences. A tenth of each loses the derivative's sixth digit to rounding, ten times as much to curvature.
const THICKNESS_MM: f64 = 0.01;
const WIDTH_MM: f64 = 0.05;
const LENGTH_MM: f64 = 1.0;
const MODULUS: f64 = 0.005;

fn solve(build: &Build, mut weigher: Weigher<'_>) -> Result<Sensitivity, Diagnostic> {
    let weight_n = weigher.weight_n(build)?;
    // dF/dx by F(x + h) and F(x − h), the build changed by `change(build, ±h)`.
    let mut slope = |h: f64, change: &dyn Fn(&mut Build, f64)| -> Result<f64, Diagnostic> {
        let (mut more, mut less) = (build.clone(), build.clone());
        change(&mut more, h);
        change(&mut less, -h);
        Ok((weigher.weight_n(&more)? - weigher.weight_n(&less)?) / (2.0 * h))
    };
    let mut laminations = Vec::with_capacity(build.laminations.len());
    let mut by_scatter = Vec::with_capacity(build.laminations.len());
    for (index, lamination) in build.laminations.iter().enumerate() {
        let by_thickness = slope(THICKNESS_MM, &|build, h| {
            // Moving points up or down keeps their stations in order, so the curve is always made.
            if let Ok(changed) = sizing::changed(&build.laminations[index], h, 0.0) {
                build.laminations[index] = changed;
            }
        })?;
        let by_modulus = slope(MODULUS, &|build, h| build.stiffen(PieceName::of(index), 1.0 + h))?;
        by_scatter.push(by_modulus * lamination.wood.modulus_cov);
        laminations.push(OfLamination {
            n_per_hundredth_mm: 0.01 * by_thickness,
            n_per_percent_modulus: 0.01 * by_modulus,
            outer_n_per_percent_modulus: None,
        });
    }
    for piece in build.piece_names().into_iter().filter(|piece| piece.outer) {
        let by_modulus = slope(MODULUS, &|build, h| build.stiffen(piece, 1.0 + h))?;
        by_scatter.push(by_modulus * build.piece(piece).wood.modulus_cov);
        laminations[piece.lamination].outer_n_per_percent_modulus = Some(0.01 * by_modulus);
    }
    let mut variance = boards::deviation(build, &by_scatter).powi(2);
    let mut riser_n_per_percent = 0.0;
    if let Some(riser) = &build.riser {
        let by_modulus = slope(MODULUS, &|build, h| {
            build.riser.iter_mut().flat_map(|riser| riser.woods_mut()).for_each(|wood| wood.modulus_mpa *= 1.0 + h);
        })?;
        riser_n_per_percent = 0.01 * by_modulus;
        let cov = riser.woods().map(|wood| wood.modulus_cov).fold(0.0, f64::max);
        variance += (by_modulus * cov).powi(2);
    }
    let n_per_mm_width = slope(WIDTH_MM, &|build, h| {
        if let Some(outline) = &mut build.outline {
            outline.width = raised(&outline.width, h);
        }
    })?;
    let n_per_mm_length = slope(LENGTH_MM, &|build, h| {
        if let Some(outline) = &mut build.outline {
            outline.nock_to_nock_mm += h;
        }
        // The wood reaches beyond the nock; where a strip ends at it, it grows along.
        for lamination in &mut build.laminations {
            lamination.to_mm += 0.5 * h.max(0.0);
        }
    })?;
    Ok(Sensitivity { weight_n, laminations, riser_n_per_percent, n_per_mm_width, n_per_mm_length, spread_n: variance.sqrt() })
}

fn raised(curve: &Curve, by: f64) -> Curve {
    let points = curve.points().iter().map(|(s, y)| (*s, y + by)).collect();
    // The stations are those of a curve that was made: they are in order.
    Curve::through(points, curve.between()).unwrap_or_else(|_| curve.clone())
}
