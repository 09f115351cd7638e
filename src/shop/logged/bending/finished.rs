//! A finished bow's weight: what it says of the bows to come.

use super::super::{Answer, Found, Known, Measure, Row};
use crate::diag::{Diagnostic, newtons};
use crate::mechanics::bow::Options;
use crate::mechanics::calibration::{self, Calibrated};
use crate::mechanics::draw;
use crate::model::Build;
use crate::model::log::Reading;
use crate::shop::blank::Stand;
use crate::shop::plausible::{Band, question};

pub fn bow(
    build: &Build,
    reading: &Reading,
    build_file: Option<&str>,
    weight_n: f64,
    stand: Stand<'_>,
    known: &Known<'_>,
    finished: &mut Vec<calibration::Reading>,
) -> Answer {
    let mut answer = Answer::new(reading, "bow", build_file.unwrap_or(&build.title).to_owned());
    let computed = match build_file {
        Some(path) => known.computed_n.get(path).copied().ok_or_else(|| {
            Diagnostic::fault(reading.place.key("build"), format!("`{path}` could not be computed"))
                .hint("is it a build file that `taperwright bow` takes?")
        }),
        None => {
            let options = Options { stiffness_factor: 1.0, ..known.options.clone() };
            stand.of(build).and_then(|worked| draw::weight_of(&worked, &options))
        }
    };
    let computed_n = match computed {
        Ok(computed) => computed,
        Err(fault) => {
            answer.questions.push(fault);
            return answer;
        }
    };
    let band = Band::times(computed_n, 0.5, 2.0);
    answer.questions.extend(question(weight_n, band, "the bow", newtons, &reading.place.key("weight")));
    if !answer.questions.is_empty() {
        return answer;
    }
    let before = calibration::calibrated(finished);
    finished.push(calibration::Reading { computed_n, weighed_n: weight_n });
    // Tested strips are as stiff as they are: what other bows say is of the rest.
    let factor = before.map_or(1.0, |calibrated| calibrated.factor);
    let expected_n = computed_n * calibration::on_untested(build, known.options, factor).unwrap_or(factor);
    let share = before.and_then(|calibrated| calibrated.spread).unwrap_or(known.scatter);
    answer.rows.push(Row {
        what: "weight at full draw".into(),
        of: Measure::Force,
        reading: weight_n,
        model: expected_n,
        band: Some(share * expected_n),
    });
    let Some(now) = calibration::calibrated(finished) else { return answer };
    let was = before.map_or(1.0, |calibrated| calibrated.factor);
    answer.rows.push(Row {
        what: "stiffness against the handbook's".into(),
        of: Measure::Ratio,
        reading: now.factor,
        model: was,
        band: Some(known_to(&now, known.scatter) * now.factor),
    });
    let bows = if now.bows == 1 { "1 bow".to_owned() } else { format!("{} bows", now.bows) };
    answer.say(format!(
        "From {bows}: the next one of this wood and these hands may be off by {:.0} percent of its weight either way (one standard deviation).",
        100.0 * now.spread.unwrap_or(known.scatter)
    ));
    if build_file.is_none() && (stand.width.is_some() || 0.0 < stand.belly_off_mm) {
        let options = Options { stiffness_factor: weight_n / computed_n, ..known.options.clone() };
        if let Ok(whole_n) = draw::weight_of(build, &options) {
            answer.say(format!(
                "Counted with what the last blank reading had off it. The stack of the build file, whole, would draw {} of this wood: give that \
                 weight under [[calibration]] of other builds.",
                newtons(whole_n)
            ));
        }
    } else {
        answer.say("For other builds, name this one under [[calibration]] with this weight.");
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
