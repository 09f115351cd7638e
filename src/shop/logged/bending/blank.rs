//! A blank's weight: how stiff its wood is, and what to take off on the way to the bow.

use super::super::{Answer, Found, Known, Measure, Row};
use super::beyond_design;
use crate::diag::{Diagnostic, mm, newtons};
use crate::mechanics::blank::{force_n, stiffness_factor};
use crate::mechanics::bow::Options;
use crate::model::Build;
use crate::model::log::{Bent, BlankWidth, Reading, Shape};
use crate::numeric::interp::Curve;
use crate::shop::blank::{Gain, Lever, NEAR, Removal, Stand, kept_because, limits, plan};
use crate::shop::plausible::{Band, question};
use crate::units::System;

/// One weighing of a blank, draw and brace height included, is trusted to this share of it: scales and draw boards alone differ as
/// much. Common practice, no source.
pub const TRUST: f64 = 0.03;

/// This bow as its weighings tell it so far: wood keeps its stiffness while it is worked, and what is off stays off.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Worked {
    /// Factors of the weighings that agree.
    factors: Vec<f64>,
    /// As said last; before any weighing as the outline has it.
    width: Option<BlankWidth>,
    belly_off_mm: f64,
    /// Trimmed to the outline and nothing else taken off, as of the last weighing, N.
    pub trimmed_n: Option<f64>,
    /// Wood had still to come off after the last weighing.
    pub to_take: bool,
}

impl Worked {
    /// All stiffness against the handbook's.
    pub fn factor(&self) -> Option<f64> {
        let n = self.factors.len() as f64;
        (!self.factors.is_empty()).then(|| (self.factors.iter().map(|factor| factor.ln()).sum::<f64>() / n).exp())
    }

    /// How the bow stands with what a reading says of it; what it does not say is as it was.
    pub fn stand<'a>(&'a self, said: &'a Shape) -> Stand<'a> {
        Stand { width: said.width.as_ref().or(self.width.as_ref()), belly_off_mm: said.belly_off_mm.unwrap_or(self.belly_off_mm) }
    }

    /// Nothing is known to have come off but what trimming takes.
    pub fn is_whole(&self, said: &Shape) -> bool {
        let stand = self.stand(said);
        matches!(stand.width, None | Some(BlankWidth::Strips | BlankWidth::Outline)) && stand.belly_off_mm <= 0.0
    }
}

/// A blank's weight. Its width is as said, else as said last, else that of its strips.
pub fn blank(
    build: &Build,
    reading: &Reading,
    bent: Bent,
    weight_n: f64,
    said: &Shape,
    known: &Known<'_>,
    worked: &mut Worked,
) -> Answer {
    let last = Worked { width: worked.width.clone().or(Some(BlankWidth::Strips)), ..worked.clone() };
    let stand = last.stand(said);
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
    answer.questions.extend(width_questions(build, reading, said));
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
    let earlier = worked.factor().filter(|earlier| 2.0 * TRUST < (factor / earlier).ln().abs());
    if let (Some(earlier), None) = (earlier, &said.width) {
        let message = format!(
            "{}, this makes the wood {factor:.2} times the handbook's stiffness, and earlier weighings made it {earlier:.2}",
            as_wide_as(stand.width)
        );
        let hint =
            "say how wide it is now, such as width = \"outline\" once it is trimmed, and what is off the belly with `belly_off`";
        answer.rows.clear();
        answer.questions.push(Diagnostic::fault(reading.place.clone(), message).hint(hint));
        return answer;
    }
    if let Some(earlier) = earlier {
        answer.say(format!(
            "Earlier weighings made the wood {earlier:.2} times the handbook's stiffness, this one makes it {factor:.2}: they cannot all be right. \
             Was the width given, and what is off the belly? This one is taken alone."
        ));
        worked.factors.clear();
    }
    if said.width.is_none() {
        answer.say(format!("{}; give `width` for another, such as \"outline\" once it is trimmed.", as_wide_as(stand.width)));
    }
    worked.factors.push(factor);
    let mean = worked.factor().unwrap_or(factor);
    let trust = TRUST / (worked.factors.len() as f64).sqrt();
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
    worked.trimmed_n = Some(removal.trimmed_n);
    worked.to_take = !removal.steps.is_empty();
    (worked.width, worked.belly_off_mm) = (stand.width.cloned(), stand.belly_off_mm);
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
        answer.say(limits(build));
    }
    if let Some(why) = kept_because(build) {
        answer.say(format!(
            "Not from the belly: {why}. The last of it comes off the corners: all four rounded to {} beyond the fades take {}.",
            mm(removal.corners.radius_mm),
            newtons(removal.corners.takes_n)
        ));
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
        if removal.steps.is_empty() {
            answer.say(limits(build));
        }
        let over_n = removal.reached_n - wanted;
        let corners = removal.corners;
        answer.say(if over_n <= corners.takes_n {
            format!(
                "That is as far as it goes: {} more than wanted stay, and corners rounded to somewhat less than {} take them.",
                newtons(over_n),
                mm(corners.radius_mm)
            )
        } else {
            format!(
                "That is as far as it goes: {} more than wanted stay, and {} with all corners rounded to {}. Make it a heavier bow, or a \
                 longer one next time.",
                newtons(over_n),
                newtons(over_n - corners.takes_n),
                mm(corners.radius_mm)
            )
        });
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

/// A blank is wider than the bow, and never wider than its strips by much.
fn width_questions(build: &Build, reading: &Reading, said: &Shape) -> Vec<Diagnostic> {
    let Some(outline) = &build.outline else { return Vec::new() };
    let place = reading.place.key("width");
    let of = |width: &Curve, what: String| {
        let points = width.points().iter().enumerate().filter(|(_, (s, _))| *s <= outline.nock_mm());
        // One width for the whole limb is held against its widest place.
        let against = |s: f64| if width.points().len() == 1 { outline.width.max().y } else { outline.width_at(s) };
        let asked =
            points.filter_map(|(index, (s, w))| question(*w, Band::times(against(*s), 0.6, 4.0), &what, mm, &place.index(index)));
        asked.collect::<Vec<_>>()
    };
    match &said.width {
        Some(BlankWidth::Whole(width)) => of(width, "the blank's width".into()),
        Some(BlankWidth::Each(each)) => each
            .iter()
            .flat_map(|(index, width)| of(width, format!("the width of `{}`", build.laminations[*index].name)))
            .collect(),
        Some(BlankWidth::Strips | BlankWidth::Outline) | None => Vec::new(),
    }
}

fn as_wide_as(width: Option<&BlankWidth>) -> &'static str {
    match width {
        Some(BlankWidth::Strips) => "Counted as wide as its strips",
        Some(BlankWidth::Outline) | None => "Counted as trimmed to the outline",
        Some(BlankWidth::Whole(_) | BlankWidth::Each(_)) => "Counted as wide as was said last",
    }
}
