//! What a builder's finished bows say about the next one: one factor on all stiffness, and how far the next may be off.
//!
//! Force grows in proportion to stiffness as long as the string's length and the unbent shape stay, so a finished bow's factor
//! is its reading, and what finishing took from it, over what the model gives for its build file. A stack is made to the weight
//! wanted and the finishing allowance, and loses the allowance on the way to the scale:
//!
//! ```text
//! c_i = (F_read + F_finishing) / F_model      c = exp(mean ln c_i)      s = sd(ln c_i) √(1 + 1/n)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `F_read`, `F_finishing` | weight on the scale, and what sanding, finish and set took before | N |
//! | `c` | factor on stiffness for the next bow: the geometric mean | – |
//! | `s` | one standard deviation of the next bow's weight, as a share of it (prediction from a sample of `n`) | – |
//!
//! One bow tells the mean and nothing of the scatter: then the scatter of the woods stands. Source: the prediction of one
//! further value from a normal sample, any text on statistics; logarithms since factors multiply.

use super::bow::Options;
use super::draw;
use crate::diag::Diagnostic;
use crate::model::Build;

/// A bow as computed and as weighed, N.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeightObservation {
    /// With the handbook's stiffness and before finishing.
    pub computed_n: f64,
    pub weighed_n: f64,
    /// What finishing took before it was weighed; 0 for a bow that is not finished.
    pub finishing_n: f64,
}

impl WeightObservation {
    /// All its stiffness over the handbook's.
    pub fn factor(&self) -> f64 {
        (self.weighed_n + self.finishing_n) / self.computed_n
    }
}

/// What the model gives for a build file, N: the weight before finishing with the handbook's stiffness, what its target keeps for
/// finishing, and the finished weight that its target wants.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ComputedWeight {
    pub computed_n: f64,
    pub finishing_n: f64,
    pub wanted_n: f64,
}

impl ComputedWeight {
    /// `computed_n` of a build that has a target.
    pub fn of(build: &Build, computed_n: f64) -> ComputedWeight {
        let (finishing_n, wanted_n) = build.target.map_or((0.0, computed_n), |target| (target.finishing_n, target.draw_weight_n));
        ComputedWeight { computed_n, finishing_n, wanted_n }
    }

    /// Its bow as weighed, `finishing_n` where it is known what finishing took.
    #[must_use]
    pub fn weighed(self, weighed_n: f64, finishing_n: Option<f64>) -> WeightObservation {
        WeightObservation { computed_n: self.computed_n, weighed_n, finishing_n: finishing_n.unwrap_or(self.finishing_n) }
    }
}

/// What the readings come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Calibrated {
    /// All stiffness is to be multiplied by it.
    pub factor: f64,
    /// Relative standard deviation of the next bow's weight; `None` from a single bow.
    pub spread: Option<f64>,
    pub bows: usize,
}

/// Scales, draw boards and brace heights alone differ by this much from bow to bow; common practice, no source. Two bows
/// that happen to agree better than that must not promise more.
pub(super) const MIN_SPREAD: f64 = 0.03;

/// What a factor on the handbook's stiffness comes to for a build some of whose laminations have been tested: of those the modulus is
/// known, and the factor is the others' and the riser's. As one factor on all stiffness, by the weight at full draw.
pub fn on_untested(build: &Build, options: &Options, factor: f64) -> Result<f64, Diagnostic> {
    if build.is_untested() {
        return Ok(factor);
    }
    let options = Options { stiffness_factor: 1.0, ..options.clone() };
    let mut mixed = build.clone();
    for piece in build.piece_names().into_iter().filter(|piece| !build.piece(*piece).tested) {
        mixed.stiffen(piece, factor);
    }
    mixed.riser.iter_mut().flat_map(|riser| riser.woods_mut()).for_each(|wood| wood.modulus_mpa *= factor);
    Ok(draw::weight_of(&mixed, &options)? / draw::weight_of(build, &options)?)
}

/// Relative standard deviation of the next bow's weight: what the builder's bows show, or `of_woods`, the scatter of the build's moduli.
/// Tested strips make a bow surer than its forerunners were.
pub fn spread(build: &Build, own: Option<Calibrated>, of_woods: f64) -> f64 {
    let Some(own) = own.and_then(|own| own.spread) else { return of_woods };
    if build.is_untested() {
        return own;
    }
    own.min(of_woods.hypot(MIN_SPREAD))
}

/// The factor of one or more finished bows; `None` without any.
///
/// ```
/// use taperwright::mechanics::calibration::{WeightObservation, calibrated};
/// let readings = [(40.0, 41.0, 3.0), (50.0, 50.0, 0.0)];
/// let readings = readings.map(|(computed_n, weighed_n, finishing_n)| WeightObservation { computed_n, weighed_n, finishing_n });
/// let next = calibrated(&readings).unwrap();
/// assert!((next.factor - 1.1_f64.sqrt()).abs() < 1e-12);
/// assert!((next.spread.unwrap() - 1.1_f64.ln() / 2.0_f64.sqrt() * 1.5_f64.sqrt()).abs() < 1e-12);
/// ```
#[must_use]
pub fn calibrated(readings: &[WeightObservation]) -> Option<Calibrated> {
    let logs: Vec<f64> = readings.iter().map(|reading| reading.factor().ln()).collect();
    let n = logs.len() as f64;
    let mean = logs.iter().sum::<f64>() / n;
    let spread = (1 < logs.len()).then(|| {
        let variance = logs.iter().map(|log| (log - mean).powi(2)).sum::<f64>() / (n - 1.0);
        variance.sqrt().max(MIN_SPREAD) * (1.0 + 1.0 / n).sqrt()
    });
    (!readings.is_empty()).then(|| Calibrated { factor: mean.exp(), spread, bows: readings.len() })
}
