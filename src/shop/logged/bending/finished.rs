//! A finished bow's weight: what it says of the bows to come.
//!
//! A stack is made to the weight wanted and the finishing allowance; sanding, finish and set take the allowance before the bow
//! comes to the scale. What the wood did is therefore the reading and what finishing took, over what the stack *as made* gives:
//!
//! | what is known to have come off | stiffness |
//! |---|---|
//! | nothing, or what the reading or the last weighing of the blank says | (reading + finishing) / model, so thinned and narrowed |
//! | something that was planned after the last weighing, and not said | the blank's own: the scale shows what was aimed at |

use super::super::{Answer, Found, Known, Measure, Row};
use super::Worked;
use super::blank::TRUST;
use crate::diag::{Diagnostic, newtons};
use crate::mechanics::bow::Options;
use crate::mechanics::calibration::{self, Calibrated, ComputedWeight};
use crate::mechanics::draw;
use crate::model::Build;
use crate::model::log::{Reading, Shape};
use crate::shop::plausible::{Band, question};

/// What a reading says of a finished bow.
pub struct Weighed<'a> {
    pub build_file: Option<&'a str>,
    pub weight_n: f64,
    pub finishing_n: Option<f64>,
    pub shape: &'a Shape,
}

/// `design` is the build file's bow, `made` what its strips have become.
pub fn bow(
    design: &Build,
    made: &Build,
    reading: &Reading,
    weighed: &Weighed<'_>,
    worked: &Worked,
    known: &Known<'_>,
    finished: &mut Vec<calibration::WeightObservation>,
) -> Answer {
    let mut answer = Answer::new(reading, "bow", weighed.build_file.unwrap_or(&design.title).to_owned());
    let handbook = Options { stiffness_factor: 1.0, ..known.options.clone() };
    let unsaid = weighed.build_file.is_none() && worked.to_take && *weighed.shape == Shape::default();
    let computed = match weighed.build_file {
        Some(path) => known.designs.get(path).copied().ok_or_else(|| {
            Diagnostic::fault(reading.place.key("build"), format!("`{path}` could not be computed"))
                .hint("is it a build file that `taperwright bow` takes?")
        }),
        None => worked.stand(weighed.shape).trimmed(made).and_then(|bow| {
            let computed_n = draw::weight_of(&bow, &handbook)?;
            Ok(ComputedWeight { computed_n, finishing_n: design.target.map_or(0.0, |target| target.finishing_n) })
        }),
    };
    let computed = match computed {
        Ok(computed) => computed,
        Err(fault) => {
            answer.questions.push(fault);
            return answer;
        }
    };
    let (weight_n, place) = (weighed.weight_n, reading.place.key("weight"));
    let scale = computed.weighed(weight_n, weighed.finishing_n);
    let band = Band::times(computed.computed_n, 0.5, 2.0);
    answer.questions.extend(question(weight_n, band, "the bow", newtons, &place));
    let blank = worked.factor().filter(|_| unsaid);
    if let (true, Some(_), Some(trimmed_n)) = (answer.questions.is_empty(), blank, worked.trimmed_n)
        && trimmed_n * (1.0 + 2.0 * TRUST) < weight_n + scale.finishing_n
    {
        let message = format!(
            "with {} for finishing it drew {}, and the blank would have drawn {} at most once trimmed",
            newtons(scale.finishing_n),
            newtons(weight_n + scale.finishing_n),
            newtons(trimmed_n)
        );
        answer.questions.push(
            Diagnostic::fault(place, message)
                .hint("weigh it again at its own draw length, or say what finishing took with `finishing`"),
        );
    }
    if !answer.questions.is_empty() {
        return answer;
    }
    // A blank's weighing knows the wood before anything came off that nobody wrote down.
    let told = blank.map_or(scale, |factor| calibration::WeightObservation {
        weighed_n: factor * computed.computed_n - scale.finishing_n,
        ..scale
    });
    let before = calibration::calibrated(finished);
    finished.push(told);
    let share = before.and_then(|calibrated| calibrated.spread).unwrap_or(known.scatter);
    let was = before.map_or(1.0, |calibrated| calibrated.factor);
    // Tested strips are as stiff as they are: what other bows say is of the rest.
    let of_this = match weighed.build_file {
        Some(_) => was,
        None => calibration::on_untested(made, &handbook, was).unwrap_or(was),
    };
    let stack_n = computed.computed_n * of_this;
    let aimed_n = design.target.filter(|_| blank.is_some()).map(|target| target.draw_weight_n);
    answer.rows.push(Row {
        what: "weight at full draw".into(),
        of: Measure::Force,
        reading: weight_n,
        model: aimed_n.unwrap_or(stack_n - scale.finishing_n),
        band: Some(share * stack_n),
    });
    let Some(now) = calibration::calibrated(finished) else { return answer };
    answer.rows.push(Row {
        what: "stiffness against the handbook's".into(),
        of: Measure::Ratio,
        reading: now.factor,
        model: was,
        band: Some(known_to(&now, known.scatter) * now.factor),
    });
    answer.say(if blank.is_some() {
        "Wood came off after the last weighing, and how much is not said: the stiffness is that of the blank's weighings. Give `belly_off` and \
         `width` as they are now, and the finished weight tells it as well."
            .to_owned()
    } else if weighed.finishing_n.is_some() {
        format!("Before finishing it drew {}.", newtons(weight_n + scale.finishing_n))
    } else {
        format!(
            "Counted as finished, with {} gone in sanding, finish and set: before, it drew {}. Give `finishing` if they took more or less, 0 for \
             a bow that is not finished.",
            newtons(scale.finishing_n),
            newtons(weight_n + scale.finishing_n)
        )
    });
    let bows = if now.bows == 1 { "1 bow".to_owned() } else { format!("{} bows", now.bows) };
    answer.say(format!(
        "From {bows}: the next one of this wood and these hands may be off by {:.0} percent of its weight either way (one standard deviation).",
        100.0 * now.spread.unwrap_or(known.scatter)
    ));
    if weighed.build_file.is_none() && (blank.is_some() || !worked.is_whole(weighed.shape) || design != made) {
        let options = Options { stiffness_factor: told.factor(), ..handbook };
        if let Ok(whole_n) = draw::weight_of(design, &options) {
            answer.say(format!(
                "The stack of the build file, whole and as planned, would draw {} of this wood: under [[calibration]] of other builds give \
                 that as its weight, with finishing = 0.",
                newtons(whole_n)
            ));
        }
    } else {
        answer.say(if weighed.finishing_n.is_some() {
            "For other builds, name this one under [[calibration]] with this weight and this `finishing`."
        } else {
            "For other builds, name this one under [[calibration]] with this weight."
        });
    }
    answer.found = Found::Bows(now);
    answer
}

/// How well the factor is known, one standard deviation as a share: it shrinks with the root of the number of bows.
fn known_to(calibrated: &Calibrated, scatter: f64) -> f64 {
    // The spread of the next bow holds the bow's own scatter s and that of the mean: s √(1 + 1/n).
    let n = calibrated.bows as f64;
    let own = calibrated.spread.map_or(scatter, |spread| spread / (1.0 + 1.0 / n).sqrt());
    own / n.sqrt()
}
