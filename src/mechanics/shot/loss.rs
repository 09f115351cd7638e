//! What the limbs keep of the work drawn in, beside what the moving string and limbs keep of the shot.
//!
//! One loss `λ` for all that the chain leaves out: the arrow gets `(1 − λ) η A`, its speed the factor `√(1 − λ)`. Known values:
//!
//! | limbs | slow draw and return lose | source |
//! |---|---|---|
//! | with glass or carbon | 0.2 to 0.9 % | two bows measured, Tuyn and Kooi, Eur. J. Phys. 13 (1992) 127 |
//! | dry wood alone | 2 to 5 % | from memory |
//!
//! Speeds off a chronograph tell the builder's own: `λ_i = 1 − (v_i/v)²` with the model's `v` without loss, their mean, and an interval for the mean
//! by Student's quantile. One reading, or readings that agree better than a chronograph is good for, have the chronograph's own error in it.
//!
//! Source: energy, and the mean of a normal sample, any text on statistics.

use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::wood::MaterialKind;
use crate::numeric::fit;
use crate::numeric::span::Span;

/// A loss, a ratio of the work, and the band in which it lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    pub fraction: f64,
    pub band: Span,
    pub from: LossSource,
}

/// Where a loss comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LossSource {
    /// Faces of glass or carbon.
    Glass,
    Wood,
    BuildFile,
    /// The mean of two limbs that keep differently.
    BothLimbs,
    /// Of so many readings.
    Readings(usize),
}

impl LossSource {
    pub fn words(self) -> String {
        match self {
            LossSource::Glass => "limbs with glass or carbon: two bows measured in slow draw".to_owned(),
            LossSource::Wood => "dry wood, from memory".to_owned(),
            LossSource::BuildFile => "the build file".to_owned(),
            LossSource::BothLimbs => "the mean of both limbs".to_owned(),
            LossSource::Readings(1) => "one reading of this bow".to_owned(),
            LossSource::Readings(count) => format!("{count} readings of this bow"),
        }
    }
}

/// What a build file's loss may be off by, either way, where it gives no spread: as far as two bows of one wood differ, from memory.
const SAID_MAY_BE_OFF: f64 = 0.01;
/// σ either way that hold 95 of 100.
const CERTAIN: f64 = 1.96;
/// What a chronograph is good for, one σ of the speed as a ratio; from memory: half a percent to one percent.
pub const CHRONOGRAPH: f64 = 0.0075;

impl Loss {
    /// What the build file says, or what its materials are known for.
    #[must_use]
    pub fn of(build: &Build) -> Loss {
        if let Some(fraction) = build.shot.loss {
            let half = build.shot.loss_spread.map_or(SAID_MAY_BE_OFF, |spread| CERTAIN * spread);
            let band = Span { min: (fraction - half).max(0.0), max: fraction + half };
            return Loss { fraction, band, from: LossSource::BuildFile };
        }
        let glass = build.laminations.iter().flat_map(Lamination::woods).any(|wood| wood.kind == MaterialKind::Glass);
        let (band, from) = if glass {
            (Span { min: 0.002, max: 0.009 }, LossSource::Glass)
        } else {
            (Span { min: 0.02, max: 0.05 }, LossSource::Wood)
        };
        Loss { fraction: 0.5 * (band.min + band.max), band, from }
    }

    /// Of an upper and a lower limb: each stores about half of the work, so that their losses and bands are taken in the mean.
    #[must_use]
    pub fn of_two(limbs: [&Build; 2]) -> Loss {
        let [upper, lower] = limbs.map(Loss::of);
        if upper == lower {
            return upper;
        }
        let mean = |a: f64, b: f64| 0.5 * (a + b);
        let band = Span { min: mean(upper.band.min, lower.band.min), max: mean(upper.band.max, lower.band.max) };
        Loss { fraction: mean(upper.fraction, lower.fraction), band, from: LossSource::BothLimbs }
    }

    /// What speeds say, each as measured over the model's without loss; `None` without any. Nobody keeps less than nothing: a band begins there at
    /// the least, and speeds that no loss explains tell none.
    ///
    /// ```
    /// use taperwright::mechanics::shot::loss::Loss;
    /// let told = Loss::measured(&[0.98, 0.98]).unwrap();
    /// assert!((told.fraction - 0.0396).abs() < 1e-12 && told.band.min < told.fraction);
    /// assert!(Loss::measured(&[]).is_none());
    /// ```
    #[must_use]
    pub fn measured(speed_ratios: &[f64]) -> Option<Loss> {
        let losses: Vec<f64> = speed_ratios.iter().map(|ratio| 1.0 - ratio * ratio).collect();
        let n = losses.len() as f64;
        let fraction = losses.iter().sum::<f64>() / n;
        let of_reading = 2.0 * CHRONOGRAPH;
        let half = if losses.len() < 2 {
            CERTAIN * of_reading
        } else {
            let scatter = (losses.iter().map(|loss| (loss - fraction).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
            (fit::students(n - 1.0) * scatter).max(CERTAIN * of_reading) / n.sqrt()
        };
        let band = Span::about(fraction, half).map(|loss| loss.max(0.0));
        let fraction = fraction.max(0.0);
        (!losses.is_empty() && 0.0 < band.max).then_some(Loss { fraction, band, from: LossSource::Readings(losses.len()) })
    }

    /// One standard deviation, by the upper half of its band.
    #[must_use]
    pub fn spread(&self) -> f64 {
        (self.band.max - self.fraction) / CERTAIN
    }

    /// A speed with this loss, of one without: least, likely and greatest.
    #[must_use]
    pub fn speeds(&self, without: f64) -> [f64; 3] {
        [self.band.max, self.fraction, self.band.min].map(|loss| without * (1.0 - loss).max(0.0).sqrt())
    }
}
