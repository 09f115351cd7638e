//! Speeds for a row of arrows, and what lighter parts are worth.

use super::Shot;
use super::loss::Loss;
use super::of_bow::{Lighter, ShootingBow};
use crate::diag::Diagnostic;
use crate::units::{KG_PER_GRAIN, arrow_kg};

/// Arrows of the row, in grains for each pound of draw weight, as the trade counts them.
pub const GRAINS_PER_POUND: [f64; 7] = [6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0];
/// The arrow of the row for which lighter parts are judged.
pub const JUDGED: usize = 3;
/// What is taken off to judge it: grains of each tip, strands of the string, and the part of a lamination.
const TIP_GRAINS: f64 = 10.0;
const STRANDS: u32 = 2;
const TENTH: f64 = 0.1;

/// What a bow shoots.
#[derive(Debug, Clone, PartialEq)]
pub struct ShotTable {
    pub loss: Loss,
    /// By [`GRAINS_PER_POUND`].
    pub rows: Vec<ArrowRow>,
    /// For the arrow [`JUDGED`].
    pub gains: Vec<SpeedGain>,
    /// The string with what is served onto it, kg.
    pub string_kg: f64,
}

/// One arrow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArrowRow {
    pub grains_per_pound: f64,
    pub arrow_kg: f64,
    /// Without loss.
    pub shot: Shot,
    loss: Loss,
}

/// What a lighter part is worth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeedGain {
    pub lighter: Lighter,
    /// Of the judged arrow's speed, a ratio.
    pub ratio: f64,
}

impl ArrowRow {
    /// Least, likely and greatest, mm/s.
    #[must_use]
    pub fn speeds_mm_s(&self) -> [f64; 3] {
        self.loss.speeds(self.shot.speed_mm_s)
    }

    /// The arrow's energy over what the bow stores, loss included.
    #[must_use]
    pub fn efficiency(&self) -> f64 {
        (1.0 - self.loss.fraction) * self.shot.efficiency
    }

    /// What would move with the arrow if all that was stored came out, kg.
    #[must_use]
    pub fn virtual_kg(&self) -> f64 {
        self.arrow_kg * (1.0 / self.efficiency() - 1.0)
    }
}

impl ShotTable {
    /// Of a bow that is ready to be shot.
    pub fn of(bow: &ShootingBow, loss: Loss) -> Result<ShotTable, Diagnostic> {
        let row = |grains_per_pound: f64| {
            let arrow_kg = arrow_kg(grains_per_pound, bow.draw_weight_n);
            Ok(ArrowRow { grains_per_pound, arrow_kg, shot: bow.shoot(arrow_kg)?, loss })
        };
        let rows: Vec<ArrowRow> = GRAINS_PER_POUND.into_iter().map(row).collect::<Result<_, Diagnostic>>()?;
        let judged = rows[JUDGED];
        let gain = |lighter: Lighter| Ok(SpeedGain { lighter, ratio: bow.gain(judged.arrow_kg, &judged.shot, lighter)? });
        let parts = bow.parts(TIP_GRAINS * KG_PER_GRAIN, STRANDS, TENTH);
        let gains = parts.into_iter().map(gain).collect::<Result<_, Diagnostic>>()?;
        Ok(ShotTable { loss, rows, gains, string_kg: bow.string_kg() })
    }

    /// The same with another loss.
    #[must_use]
    pub fn with_loss(&self, loss: Loss) -> ShotTable {
        let rows = self.rows.iter().map(|row| ArrowRow { loss, ..*row }).collect();
        ShotTable { loss, rows, ..self.clone() }
    }

    /// The arrow for which lighter parts are judged.
    #[must_use]
    pub fn judged(&self) -> &ArrowRow {
        &self.rows[JUDGED]
    }
}
