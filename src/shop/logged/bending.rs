//! Released stages, blanks, tiller and finished bows beside the model.

use super::{Answer, Found, Known, Measure, Row, TakeOver, Value};
use crate::diag::{Diagnostic, mm, newtons};
use crate::mechanics::blank::{force_n, stiffness_factor};
use crate::mechanics::bow::{Options, StringOn};
use crate::mechanics::calibration::{self, Calibrated};
use crate::mechanics::{draw, tiller as targets};
use crate::model::Build;
use crate::model::log::{Bent, Reading};
use crate::shop::blank::{BELLY_STAYS, Gain, Lever, NEAR, Removal, SIDES_STAY, Stand, plan};
use crate::shop::plausible::{Band, question};
use crate::units::System;

/// One weighing of a blank, draw and brace height included, is trusted to this share of it: scales and draw boards alone differ as
/// much. Common practice, no source.
pub const TRUST: f64 = 0.03;

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

/// `before` gathers the factors of this blank's earlier readings: wood keeps its stiffness while it is worked.
pub fn blank(
    build: &Build,
    reading: &Reading,
    bent: Bent,
    weight_n: f64,
    stand: Stand<'_>,
    known: &Known<'_>,
    before: &mut Vec<f64>,
) -> Answer {
    let how = match bent {
        Bent::LongString { string_mm, pivot_to_nock_mm } => {
            format!("on a string of {}, {} from the pivot point", mm(string_mm), mm(pivot_to_nock_mm))
        }
        Bent::Braced { brace_mm, pivot_to_nock_mm } => {
            format!("braced at {}, {} from the pivot point", mm(brace_mm), mm(pivot_to_nock_mm))
        }
        Bent::Floor { drop_mm } => format!("on the floor, pressed down {}", mm(drop_mm)),
    };
    let mut answer = Answer::new(reading, "blank", format!("blank {how}"));
    let drawn = match bent {
        Bent::LongString { pivot_to_nock_mm, .. } | Bent::Braced { pivot_to_nock_mm, .. } => Some(pivot_to_nock_mm),
        Bent::Floor { .. } => None,
    };
    answer.questions.extend(drawn.and_then(|drawn| beyond_design(build, reading, drawn)));
    // A blank is wider than the bow, and never wider than its strips by much.
    if let (Some(width), Some(outline)) = (stand.width, &build.outline) {
        let place = reading.place.key("width");
        for (index, (s, w)) in width.points().iter().enumerate().filter(|(_, (s, _))| *s <= outline.nock_mm()) {
            let band = Band::times(outline.width_at(*s), 0.6, 4.0);
            answer.questions.extend(question(*w, band, "the blank's width", mm, &place.index(index)));
        }
    }
    let modelled = stand
        .of(build)
        .and_then(|blank| Ok((force_n(&blank, known.options, bent)?, stiffness_factor(&blank, known.options, bent, weight_n)?)));
    let (model_n, factor) = match modelled {
        Ok(found) => found,
        Err(fault) => {
            answer.questions.push(Diagnostic { place: reading.place.clone(), ..fault });
            return answer;
        }
    };
    let band = Band::times(model_n, 0.5, 2.0);
    answer.questions.extend(question(weight_n, band, "the blank", newtons, &reading.place.key("weight")));
    if !answer.questions.is_empty() {
        return answer;
    }
    let spread = known.scatter * model_n;
    answer.rows.push(Row { what: "weight".into(), of: Measure::Force, reading: weight_n, model: model_n, band: Some(spread) });
    let earlier =
        (!before.is_empty()).then(|| (before.iter().map(|factor| factor.ln()).sum::<f64>() / before.len() as f64).exp());
    if let Some(earlier) = earlier.filter(|earlier| 2.0 * TRUST < (factor / earlier).ln().abs()) {
        answer.say(format!(
            "Earlier weighings made the wood {earlier:.2} times the handbook's stiffness, this one makes it {factor:.2}: they cannot all be right. \
             Was the width given, and what is off the belly? This one is taken alone."
        ));
        before.clear();
    }
    if stand.width.is_none() {
        answer.say("Reckoned as trimmed to the outline; give `width` for a blank that is wider.");
    }
    before.push(factor);
    let n = before.len() as f64;
    let mean = (before.iter().map(|factor| factor.ln()).sum::<f64>() / n).exp();
    let trust = TRUST / n.sqrt();
    answer.rows.push(Row {
        what: "stiffness against the handbook's".into(),
        of: Measure::Ratio,
        reading: mean,
        model: known.options.stiffness_factor,
        band: Some(trust * mean),
    });
    let options = Options { stiffness_factor: mean, ..known.options.clone() };
    let removal = match plan(build, &options, stand, &known.stations_mm) {
        Ok(found) => found.value,
        Err(faults) => {
            answer.questions.extend(faults);
            return answer;
        }
    };
    if let Some(target) = build.target {
        answer.rows.push(Row {
            what: "weight once trimmed to the outline".into(),
            of: Measure::Force,
            reading: removal.trimmed_n,
            model: target.draw_weight_n + target.finishing_n,
            band: Some(trust * removal.trimmed_n),
        });
    }
    removal_says(build, &mut answer, &removal, trust);
    answer.found = Found::Blank { factor: mean, band: trust, removal: Box::new(removal) };
    answer
}

fn removal_says(build: &Build, answer: &mut Answer, removal: &Removal, trust: f64) {
    let (trimmed, wanted) = (removal.trimmed_n, removal.wanted_n);
    let finishing = build.target.map_or(0.0, |target| target.finishing_n);
    answer.say(format!(
        "Trimmed to the outline and nothing else taken off it draws {} ± {}; wanted are {}, {} of it kept for finishing.",
        newtons(trimmed),
        newtons(trust * trimmed),
        newtons(wanted),
        newtons(finishing)
    ));
    for (k, step) in removal.steps.iter().enumerate() {
        let most = step.take_mm.iter().map(|(_, mm)| *mm).fold(0.0, f64::max);
        let what = match step.lever {
            Lever::Belly { lamination } => {
                format!("{} off the belly of `{}` where it is most", mm(most), build.laminations[lamination].name)
            }
            Lever::Sides => format!("{} off each edge where it is most", mm(most)),
        };
        answer.say(format!(
            "Step {}: {what}, from {} to {}; then even the tiller, weigh, and log it.",
            k + 1,
            newtons(step.from_n),
            newtons(step.to_n)
        ));
    }
    if !removal.steps.is_empty() {
        answer.say("Work from the fades outward in the proportions of the table: taken so, both limbs keep their tiller. Keep the back whole.");
    }
    if let Some(share) = removal.sides_alone {
        answer.say(format!(
            "Or leave the belly and narrow the limbs by {:.1} percent of their width beyond the fades.",
            100.0 * share
        ));
    }
    if let Some(belly) = removal.belly_n_per_mm {
        let (thin, wide) = match build.units {
            System::Inch => (System::Inch.to_mm(0.01), System::Inch.to_mm(1.0 / 16.0)),
            System::Millimetre => (0.2, 1.0),
        };
        answer.say(format!(
            "{} off the belly is {}; {} off the whole width is {}.",
            mm(thin),
            newtons(thin * belly),
            mm(wide),
            newtons(wide * removal.sides_n_per_mm)
        ));
    }
    if wanted * (1.0 + NEAR) < removal.reached_n {
        answer.say(format!(
            "That is as far as it goes: {} more than wanted stay, with {:.0} percent of the belly lamination and {:.0} percent of the width left. Make it a heavier bow, or a longer one next time.",
            newtons(removal.reached_n - wanted),
            100.0 * BELLY_STAYS,
            100.0 * SIDES_STAY
        ));
    }
    if trimmed < wanted * (1.0 - NEAR) {
        answer.say(format!("It is {} too light: wood cannot be put back.", newtons(wanted - trimmed)));
        for gain in &removal.gains {
            answer.say(match gain {
                Gain::Wider { share, to_n } => {
                    format!("Left {:.1} percent wider than the outline beyond the fades it draws {}.", 100.0 * share, newtons(*to_n))
                }
                Gain::Shorter { by_mm, to_n } => format!(
                    "Made {} shorter from nock to nock it draws about {}, and works harder for it: check its strain with `rescale` first.",
                    mm(*by_mm),
                    newtons(*to_n)
                ),
            });
        }
        let best = removal.gains.iter().map(|gain| match gain {
            Gain::Wider { to_n, .. } | Gain::Shorter { to_n, .. } => *to_n,
        });
        if best.fold(trimmed, f64::max) < wanted * (1.0 - NEAR) {
            answer.say("None of these alone reaches the weight: finish it as a lighter bow, or laminate anew.");
        }
    } else if removal.steps.is_empty() {
        answer.say("Nothing has to go but what finishing takes.");
    }
    answer.say("Weigh on a tillering tree with a pulley, from aside, with eyes protected; never past the design's draw length; stop at any tick or crack.");
}

/// No bow is drawn past its design.
fn beyond_design(build: &Build, reading: &Reading, pivot_to_nock_mm: f64) -> Option<Diagnostic> {
    let target = build.target?;
    let beyond_mm = pivot_to_nock_mm - target.pivot_to_nock_mm;
    (1.0 < beyond_mm).then(|| {
        let message = format!("this is {} past the design's draw length of {}", mm(beyond_mm), mm(target.draw_length_mm));
        Diagnostic::fault(reading.place.key("draw"), message)
            .hint("never draw it so far; state draws as the build file states `draw_length`")
    })
}

/// A tiller is read past a moving string to about this, mm.
const TILLER_MM: f64 = 3.0;

pub fn tiller(
    build: &Build,
    reading: &Reading,
    pivot_to_nock_mm: Option<f64>,
    brace_mm: Option<f64>,
    gaps_mm: &[[f64; 3]],
    known: &Known<'_>,
) -> Answer {
    let draw = pivot_to_nock_mm.map_or("at brace".to_owned(), |draw| format!("drawn {} from the pivot point", mm(draw)));
    let mut answer = Answer::new(reading, "tiller", format!("belly to string {draw}"));
    if let Some(question) = pivot_to_nock_mm.and_then(|drawn| beyond_design(build, reading, drawn)) {
        answer.questions.push(question);
        return answer;
    }
    let string = brace_mm.map_or(StringOn::Brace, |height_mm| StringOn::BraceAt { height_mm });
    let options = Options { full_draw_mm: pivot_to_nock_mm.or(known.options.full_draw_mm), string, ..known.options.clone() };
    let curve = match draw::curve(build, &options) {
        Ok(found) => found.value,
        Err(faults) => {
            answer.questions = faults;
            return answer;
        }
    };
    let point = if pivot_to_nock_mm.is_some() { curve.points.len() - 1 } else { 0 };
    let readings: Vec<targets::Reading> = gaps_mm
        .iter()
        .map(|[s_mm, upper_mm, lower_mm]| targets::Reading { s_mm: *s_mm, upper_mm: *upper_mm, lower_mm: *lower_mm })
        .collect();
    let compared = targets::compared(&curve, point, &readings);
    for (index, found) in compared.iter().enumerate() {
        let place = reading.place.key("gaps").index(index);
        let band = Band { expected: found.target_mm, least: 0.5 * found.target_mm - 25.0, most: 1.5 * found.target_mm + 25.0 };
        for value in [found.reading.upper_mm, found.reading.lower_mm] {
            answer.questions.extend(question(value, band, "the distance", mm, &place));
        }
    }
    if !answer.questions.is_empty() {
        return answer;
    }
    for found in &compared {
        for (limb, value) in [("upper", found.reading.upper_mm), ("lower", found.reading.lower_mm)] {
            answer.rows.push(Row {
                what: format!("station {}, {limb} limb", mm(found.reading.s_mm)),
                of: Measure::Length,
                reading: value,
                model: found.target_mm,
                band: Some(TILLER_MM),
            });
        }
    }
    let mean = compared.iter().map(targets::Compared::difference_mm).sum::<f64>() / compared.len().max(1) as f64;
    let worst = compared.iter().max_by(|a, b| a.difference_mm().abs().total_cmp(&b.difference_mm().abs()));
    if let Some(worst) = worst {
        answer.say(if TILLER_MM < worst.difference_mm().abs() {
            let stiff = if 0.0 < worst.difference_mm() { "upper" } else { "lower" };
            format!(
                "The limbs differ most at station {}: the {stiff} limb stands {} farther from the string there and is the stiffer one. Take wood off its belly about there, a few strokes, and read again.",
                mm(worst.reading.s_mm),
                mm(worst.difference_mm().abs())
            )
        } else {
            "Both limbs agree as far as one reads past a string.".to_owned()
        });
    }
    let off = compared.iter().max_by(|a, b| a.off_mm().abs().total_cmp(&b.off_mm().abs()));
    if let Some(off) = off
        && TILLER_MM < off.off_mm().abs()
    {
        answer.say(format!(
            "Against the design both limbs bend {} about station {}: {}.",
            if 0.0 < off.off_mm() { "too little" } else { "too much" },
            mm(off.reading.s_mm),
            if 0.0 < off.off_mm() { "take wood off there" } else { "leave it alone there, and work elsewhere" }
        ));
    }
    answer.found = Found::Tiller { difference_mm: mean };
    answer
}

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
    let expected_n = computed_n * before.map_or(1.0, |calibrated| calibrated.factor);
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
