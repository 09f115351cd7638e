//! A blank's weight: how stiff its wood is, and what to take off on the way to the bow.

use super::super::{Answer, Found, Known, Measure, Row};
use super::beyond_design;
use crate::diag::{Diagnostic, mm, newtons};
use crate::mechanics::blank::{force_n, stiffness_factor};
use crate::mechanics::bow::Options;
use crate::model::Build;
use crate::model::log::{Bent, Reading};
use crate::shop::blank::{BELLY_STAYS, Gain, Lever, NEAR, Removal, SIDES_STAY, Stand, plan};
use crate::shop::plausible::{Band, question};
use crate::units::System;

/// One weighing of a blank, draw and brace height included, is trusted to this share of it: scales and draw boards alone differ as
/// much. Common practice, no source.
pub const TRUST: f64 = 0.03;

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
