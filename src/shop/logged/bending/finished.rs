//! A finished bow's weight: what it says of the bows to come.
//!
//! A stack is made to the weight wanted and the finishing allowance; sanding, finish and set take the allowance before the bow
//! comes to the scale. What the wood did is therefore the reading and what finishing took, over what the stack *as made* gives:
//!
//! | what is known to have come off | stiffness |
//! |---|---|
//! | nothing, or what the reading or the last weighing of the blank says | (reading + finishing) / model, so thinned and narrowed |
//! | something that was planned after the last weighing, and not said | the blank's own: the scale shows what was aimed at |

use super::super::{Answer, Case, Finding, Observed, ReadingOutcome};
use super::Worked;
use super::blank::{MIN_SCATTER, TRUST, within_scatter};
use crate::diag::{Diagnostic, newtons};
use crate::mechanics::bow::Options;
use crate::mechanics::calibration::{self, Calibrated, ComputedWeight, WeightObservation};
use crate::mechanics::weigher::{OtherLimb, Weigher};
use crate::model::Build;
use crate::model::log::{BowWeighing, TakenOff};
use crate::shop::plausible::question;

/// What finished bows say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BowsFound {
    pub calibrated: Calibrated,
    /// One standard deviation of the next bow's weight, as a fraction of it.
    pub spread: f64,
    /// This bow's stiffness is that of the blank's weighings: what came off since is not said.
    pub from_blank: bool,
    /// What finishing took, said or as its target keeps for it, N.
    pub finishing_n: f64,
    /// For other builds this bow counts with the weight that was read; else as below.
    pub as_weighed: bool,
    /// What the build file's stack draws of this wood, whole and as planned, N.
    pub whole_n: Option<f64>,
}

/// A finished bow as it counts for the next, and its design.
#[derive(Debug, Clone, Copy)]
pub struct Finished {
    pub observation: WeightObservation,
    pub computed: ComputedWeight,
}

/// `made` is what the build's strips have become, `before` are the bows that were weighed before.
pub fn bow(
    case: &Case<'_>,
    made: &Build,
    weighed: &BowWeighing,
    worked: &Worked,
    before: &[WeightObservation],
) -> ReadingOutcome {
    let (reading, design) = (case.reading, &case.now.build);
    let mut answer = Answer::new(reading);
    let handbook = Options { stiffness_factor: 1.0, ..case.now.options.clone() };
    let own = case.by_weight_alone.is_none();
    let unsaid = own && worked.to_take && weighed.taken_off == TakenOff::default();
    let computed = match case.by_weight_alone {
        Some(path) => case.background.designs.get(path).copied().ok_or_else(|| {
            Diagnostic::fault(reading.place.key("build"), format!("`{path}` could not be computed"))
                .hint("is it a build file that `taperwright bow` takes?")
        }),
        None => {
            let (stand, beside) = (worked.stand(&weighed.taken_off), case.lower_options(&handbook));
            stand.trimmed(made).and_then(|bow| {
                let lower = case.lower(&beside).map(|lower| stand.other_trimmed(made, lower.build)).transpose()?;
                let other = case.lower(&beside).zip(lower.as_ref()).map(|(limb, build)| OtherLimb { build, ..limb });
                let computed_n = Weigher::beside(&handbook, other).weight_n(&bow)?;
                Ok(ComputedWeight::of(design, computed_n))
            })
        }
    };
    let computed = match computed {
        Ok(computed) => computed,
        Err(fault) => return Answer::asking(reading, vec![fault]).into(),
    };
    let (weight_n, place) = (weighed.weight_n, reading.place.key("weight"));
    let scale = computed.weighed(weight_n, weighed.finishing_n);
    let blank = worked.factor().filter(|_| unsaid);
    let scatter = case.now.scatter;
    let known = calibration::calibrated(before);
    let by_bows = known.and_then(|calibrated| calibrated.spread);
    let spread = by_bows.unwrap_or(scatter);
    let was = known.map_or(case.now.own_factor, |calibrated| calibrated.factor);
    // Tested strips are as stiff as they are: what other bows say is of the rest.
    let of_this = if own { calibration::on_untested(made, &handbook, was).unwrap_or(was) } else { was };
    let stack_n = computed.computed_n * of_this;
    let aimed_n = design.target.filter(|_| blank.is_some()).map(|target| target.draw_weight_n);
    let model_n = aimed_n.unwrap_or(stack_n - scale.finishing_n);
    // Two bows that happen to agree promise no more than half of what woods scatter by.
    let by = by_bows.filter(|_| blank.is_none()).map_or(scatter.max(MIN_SCATTER), |spread| spread.max(0.5 * MIN_SCATTER));
    let range = within_scatter(model_n, by);
    answer.questions.extend(question(weight_n, range, "the bow", newtons, &place));
    if let (true, Some(_), Some(trimmed_n)) = (answer.questions.is_empty(), blank, worked.trimmed_n)
        && trimmed_n * (1.0 + 2.0 * TRUST) < weight_n + scale.finishing_n
    {
        let message = message!(
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
        return answer.into();
    }
    // A blank's weighing knows the wood before anything came off that nobody wrote down.
    let told =
        blank.map_or(scale, |factor| WeightObservation { weighed_n: factor * computed.computed_n - scale.finishing_n, ..scale });
    let finished: Vec<WeightObservation> = before.iter().copied().chain([told]).collect();
    let counts = Finished { observation: told, computed };
    answer.observe(Observed::FullDrawWeight, weight_n, model_n, Some(spread * stack_n));
    let Some(now) = calibration::calibrated(&finished) else { return ReadingOutcome { finished: Some(counts), ..answer.into() } };
    // Of this bow alone: what all of them come to is said beside it.
    answer.observe(Observed::Stiffness, told.factor(), was, Some(spread * was));
    let as_weighed = !own || (blank.is_none() && worked.is_whole(&weighed.taken_off) && design == made);
    let options = Options { stiffness_factor: told.factor(), ..handbook };
    answer.finding = Finding::Bows(BowsFound {
        calibrated: now,
        spread: now.spread.unwrap_or(scatter),
        from_blank: blank.is_some(),
        finishing_n: scale.finishing_n,
        as_weighed,
        whole_n: if as_weighed { None } else { case.weight_n(design, &options).ok() },
    });
    ReadingOutcome { finished: Some(counts), ..answer.into() }
}
