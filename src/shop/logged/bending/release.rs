//! A stage off its form or props: what share of the curve that the section should keep is there.

use super::super::{Answer, Found, Known, Measure, Row, TakeOver, Value};
use crate::diag::mm;
use crate::model::Build;
use crate::model::log::Reading;
use crate::shop::plausible::{Band, question};

/// Reflex nearer to none than this says nothing of what share of it stays, mm.
const LEAST_REFLEX_MM: f64 = 4.0;
/// A rise is read across a straightedge to about this, mm.
const RISE_MM: f64 = 1.5;

pub fn release(build: &Build, reading: &Reading, stage: u32, tip_mm: f64, known: &Known<'_>) -> Answer {
    let mut answer = Answer::new(reading, "release", format!("stage {stage} off its form or props"));
    let Some(glued) = known.glued else {
        answer.say("The build file names no glue-up stage: there is nothing to hold the reading against.");
        return answer;
    };
    let Some(stage) = glued.stages.iter().find(|found| found.number == stage) else { return answer };
    let (held, left) = (stage.tip_held_mm(), stage.tip_left_mm());
    // What is kept lies between nothing and somewhat more than the form gave.
    let reach = 0.25 * held.abs().max(left.abs()) + 6.0;
    let band = Band { expected: left, least: left.min(0.0).min(held) - reach, most: left.max(0.0).max(held) + reach };
    answer.questions.extend(question(tip_mm, band, "the nock", mm, &reading.place.key("tip")));
    if !answer.questions.is_empty() {
        return answer;
    }
    answer.rows.push(Row {
        what: "rise of the nock, - for reflex".into(),
        of: Measure::Length,
        reading: tip_mm,
        model: left,
        band: Some(RISE_MM),
    });
    if left.abs() < LEAST_REFLEX_MM {
        answer.say("Too little curve is left to tell which share of it stays.");
        return answer;
    }
    let retained = build.glue.retained * tip_mm / left;
    answer.say(format!(
        "Of the curvature that the glued section should keep, {:.0} percent is there; the model reckons with {:.0} percent.",
        100.0 * retained,
        100.0 * build.glue.retained
    ));
    if (tip_mm - left).abs() <= RISE_MM {
        answer.say("Reading and model agree as far as a straightedge shows.");
    } else if retained <= 0.0 {
        answer.say(
            "Nothing of the curve is left, which no glue-up does: was it measured from the grip to the nock, and on this bow?",
        );
        return answer;
    } else if 1.0 < retained {
        answer.say("More is left than the section can keep: was it measured from the grip to the nock, and the form as drawn?");
        return answer;
    } else if 1 < stage.number {
        answer.say("Its pieces have crept since the stage before as well: the share for the build file is told by stage 1. Read this one again after some days.");
    } else {
        answer.say("Read it again after some days: wood and glue creep. For the next glue-up, write it, and `taperwright glue` brings props or form to what is wanted.");
        answer.take_over.push(TakeOver { key: "glue.retained".into(), value: Value::Ratio((100.0 * retained).round() / 100.0) });
    }
    answer.found = Found::Retained(retained);
    answer
}
