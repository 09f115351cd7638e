//! An arrow over a chronograph: what this bow's limbs keep.
//!
//! The model's speed without loss, for this arrow at this draw, over what was read, is the loss ([`crate::mechanics::shot::loss`]). Speed goes with the root of the weight, so
//! that a bow which was weighed is taken at its weight, at its design's draw; one that was not is as heavy as the model, and the answer says so.
//!
//! Out of all reason: an arrow outside 4 to 25 grains for each pound, a speed outside 0.84 to 1.06 of the model's without loss (wood keeps some
//! percent, chronographs are good to one, a bow that was not weighed to ten); common practice, no source.

use super::bending::{beyond_design, no_draw};
use super::{Answer, Case, Finding, Observed, Silence, TakeOver, TakenValue};
use crate::diag::{Diagnostic, arrow_speed, small_mass};
use crate::mechanics::bow::Options;
use crate::mechanics::draw;
use crate::mechanics::pair::{self, PairOptions};
use crate::mechanics::shot::loss::Loss;
use crate::mechanics::shot::of_bow::ShootingBow;
use crate::model::Build;
use crate::model::log::{Reading, ShotReading};
use crate::shop::plausible::NOT_USED;
use crate::units::{Quantity, System, arrow_kg, grains_per_pound};

/// What an arrow's speed says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShotFound {
    /// Without loss, mm/s.
    pub lossless_mm_s: f64,
    /// In the mean of the reading.
    pub read_mm_s: f64,
    pub grains_per_pound: f64,
    /// Of all readings so far.
    pub loss: Loss,
    /// The bow is taken at a weight that was read, not at the model's.
    pub weighed: bool,
}

/// Speeds so far, over the model's without loss, and the bow's weight where it was read.
#[derive(Debug, Clone, Default)]
pub struct Shots {
    ratios: Vec<f64>,
    /// At the design's draw, N.
    pub weighed_n: Option<f64>,
}

/// Arrows that are meant, grains per pound, and speeds over the model's.
const ARROWS: [f64; 2] = [4.0, 25.0];
const SPEEDS: [f64; 2] = [0.84, 1.06];

/// What the readings of several bows say of their limbs; `None` without any.
pub fn loss_of<'a>(shots: impl Iterator<Item = &'a Shots>) -> Option<Loss> {
    Loss::measured(&shots.flat_map(|shots| shots.ratios.iter().copied()).collect::<Vec<_>>())
}

impl Shots {
    /// What the readings say of the limbs; `None` without any.
    pub fn loss(&self) -> Option<Loss> {
        loss_of(std::iter::once(self))
    }

    /// `made` is what the build's strips have become.
    pub fn read(&mut self, case: &Case<'_>, made: &Build, shot: &ShotReading) -> Answer {
        let reading = case.reading;
        let mut answer = Answer::new(reading);
        if let Some(draw) = shot.pivot_to_nock_mm {
            answer.questions.extend(beyond_design(made, reading, draw).or_else(|| no_draw(made, reading, draw, None)));
            if !answer.questions.is_empty() {
                return answer;
            }
        }
        let bow = match self.bow(case, made, shot.pivot_to_nock_mm) {
            Ok(Some(bow)) => bow,
            Ok(None) => return answer.silent(Silence::StringTouches),
            Err(fault) => return Answer::asking(reading, vec![fault]),
        };
        let grains = grains_per_pound(shot.arrow_kg, bow.draw_weight_n);
        answer.questions.extend(arrow_question(reading, shot.arrow_kg, bow.draw_weight_n));
        if !answer.questions.is_empty() {
            return answer;
        }
        let lossless = match bow.shoot(shot.arrow_kg) {
            Ok(shot) => shot.speed_mm_s,
            Err(fault) => return Answer::asking(reading, vec![fault]),
        };
        answer.questions.extend(shot.speeds_mm_s.iter().filter_map(|speed| speed_question(reading, *speed, lossless)));
        if !answer.questions.is_empty() {
            return answer;
        }
        let read = shot.speeds_mm_s.iter().sum::<f64>() / shot.speeds_mm_s.len() as f64;
        let known = || match &case.background.lower {
            Some((lower, _)) => Loss::of_two([made, lower]),
            None => Loss::of(made),
        };
        let [min, likely, max] = self.loss().unwrap_or_else(known).speeds(lossless);
        answer.observe(Observed::ArrowSpeed, read, likely, Some(0.5 * (max - min)));
        let before = self.ratios.len();
        self.ratios.extend(shot.speeds_mm_s.iter().map(|speed| speed / lossless));
        let Some(loss) = self.loss() else {
            self.ratios.truncate(before);
            return answer.silent(Silence::TooQuick);
        };
        if 0.0 < loss.fraction {
            let taken = [("shot.loss", loss.fraction), ("shot.loss_spread", loss.spread())];
            answer.take_over.extend(taken.map(|(key, ratio)| TakeOver { key: key.into(), value: TakenValue::Ratio(ratio) }));
        }
        answer.finding = Finding::Shot(ShotFound {
            lossless_mm_s: lossless,
            read_mm_s: read,
            grains_per_pound: grains,
            loss,
            weighed: self.weighed_n.is_some(),
        });
        answer
    }

    /// The bow at this draw, at its weight where that was read; `None` where its string touches the limb.
    fn bow(&self, case: &Case<'_>, made: &Build, draw_mm: Option<f64>) -> Result<Option<ShootingBow>, Diagnostic> {
        let mut options = case.now.options.clone();
        if let Some((lower, unstrung)) = &case.background.lower {
            let of = |options: Options| {
                let pair = PairOptions { options, lower_unstrung: unstrung.clone(), ..PairOptions::default() };
                let curve = pair::curve(made, lower, &pair).map_err(|faults| faults[0].clone())?.value;
                Ok::<_, Diagnostic>((pair, curve))
            };
            if let Some(weighed_n) = self.weighed_n {
                let (_, curve) = of(options.clone())?;
                options.stiffness_factor *= weighed_n / curve.points[curve.points.len() - 1].force_n;
            }
            let (pair, curve) = of(Options { full_draw_mm: draw_mm, ..options })?;
            return ShootingBow::of_two([made, lower], &pair, &curve).map(Some);
        }
        if let Some(weighed_n) = self.weighed_n {
            // The force is in proportion to stiffness: brace height and draw are the same.
            options.stiffness_factor *= weighed_n / draw::weight_of(made, &options)?;
        }
        let options = Options { full_draw_mm: draw_mm, ..options };
        let curve = draw::curve(made, &options).map_err(|faults| faults[0].clone())?.value;
        if curve.points.iter().any(|point| 0.0 < point.touched_mm) {
            return Ok(None);
        }
        ShootingBow::of(made, &options, &curve).map(Some)
    }
}

fn arrow_question(reading: &Reading, arrow: f64, draw_weight_n: f64) -> Option<Diagnostic> {
    let [min, max] = ARROWS.map(|grains| arrow_kg(grains, draw_weight_n));
    let meant = |arrow: f64| min <= arrow && arrow <= max;
    if meant(arrow) {
        return None;
    }
    let message = message!(
        "an arrow of {} was shot, and {} to {} are meant with this bow",
        small_mass(arrow),
        small_mass(min),
        small_mass(max)
    );
    let by = Quantity::Mass.bare_factor(System::Millimetre) / Quantity::Mass.bare_factor(System::Inch);
    let slip = if meant(arrow * by) {
        "grams in a log in grains? give the unit with the number"
    } else if meant(arrow / by) {
        "grains in a log in grams? give the unit with the number"
    } else {
        "is it the whole arrow, with its point, and of this bow?"
    };
    Some(Diagnostic::fault(reading.place.key("arrow"), message).hint(slip).hint(NOT_USED))
}

fn speed_question(reading: &Reading, speed: f64, lossless: f64) -> Option<Diagnostic> {
    let meant = |speed: f64| SPEEDS[0] * lossless <= speed && speed <= SPEEDS[1] * lossless;
    if meant(speed) {
        return None;
    }
    let message =
        message!("the arrow is read at {}, and at most about {} was expected", arrow_speed(speed), arrow_speed(lossless));
    let by = Quantity::ArrowSpeed.bare_factor(System::Millimetre) / Quantity::ArrowSpeed.bare_factor(System::Inch);
    let slip = if meant(speed * by) {
        "metres per second in a log in feet per second? give the unit with the number"
    } else if meant(speed / by) {
        "feet per second in a log in metres per second? give the unit with the number"
    } else {
        "is it this arrow, drawn so far, and read close to the bow?"
    };
    Some(Diagnostic::fault(reading.place.key("speed"), message).hint(slip).hint(NOT_USED))
}
