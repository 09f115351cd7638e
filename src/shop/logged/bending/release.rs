//! A stage off its form or props: what share of its curve is there, and how this bow's next stage must be held now.
//!
//! The piece is taken as the model's with its own share of the curvature ([`came_off`]); what the next stage retains is its own. That stage is then
//! brought to the tip that was wanted, or planned, with the piece as it is. The band is what reading the nocks leaves open; the scatter of
//! the wood, with the piece known, comes on top and is said apart.
//!
//! Tips that differ are two limbs that differ: on props each is held for itself; on one form what is left is said, and what it does at brace by the model of
//! two limbs ([`pair`]).

use super::super::learnt::Learnt;
use super::super::{Answer, Found, Known, Measure, Row, TakeOver, Value};
use crate::diag::mm;
use crate::mechanics::bow::Options;
use crate::mechanics::glueup::{GlueUp, Stage, came_off, plan, scatter};
use crate::mechanics::pair::{self, PairOptions};
use crate::model::Build;
use crate::model::log::{Reading, Tips};
use crate::model::workshop::Held;
use crate::shop::plausible::{Band, question};

/// Reflex nearer to none than this says nothing of what share of it stays, mm.
const LEAST_REFLEX_MM: f64 = 4.0;
/// A rise is read across a straightedge to about this, mm.
const RISE_MM: f64 = 1.5;

/// What a release says, and what follows for the next stage.
#[derive(Debug, Clone, PartialEq)]
pub struct ReleaseFound {
    /// Share of the curvature that is there, of that which the section should keep.
    pub retained: f64,
    pub next: Option<Next>,
}

/// How the next stage is to be held.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    pub stage: u32,
    /// As the build file would have it, for both limbs alike.
    pub held: Held,
    pub wanted_mm: f64,
    /// What the reading leaves open of the tip then, either way, mm.
    pub band_mm: f64,
    /// All rises of the form as written times this.
    pub form_by: Option<f64>,
    /// Rise of the props under the upper and the lower tip, mm.
    pub props_mm: Option<[f64; 2]>,
    /// What one form leaves at the upper and the lower nock, where they came off apart, mm.
    pub left_mm: Option<[f64; 2]>,
}

/// `now` is what is known before this reading.
pub fn release(reading: &Reading, number: u32, tips: Tips, known: &Known<'_>, now: &Learnt) -> (Answer, Option<Learnt>) {
    let build = &now.build;
    let mut answer = Answer::new(reading, "release", format!("stage {number} off its form or props"));
    let Some(glued) = &now.glued else {
        answer.say("The build file names no glue-up stage: there is nothing to hold the reading against.");
        return (answer, None);
    };
    let Some(stage) = glued.stages.iter().find(|found| found.number == number) else { return (answer, None) };
    let (held, left) = (stage.tip_held_mm(), stage.tip_left_mm());
    // What is kept lies between nothing and somewhat more than the form gave.
    let reach = 0.25 * held.abs().max(left.abs()) + 6.0;
    let band = Band { expected: left, least: left.min(0.0).min(held) - reach, most: left.max(0.0).max(held) + reach };
    let read: &[(&str, &str, f64)] = &match tips {
        Tips::Mean(tip) => vec![("nock", "tip", tip)],
        Tips::Each { upper_mm, lower_mm } => vec![("upper nock", "upper", upper_mm), ("lower nock", "lower", lower_mm)],
    };
    for (what, key, value) in read {
        answer.questions.extend(question(*value, band, &format!("the {what}"), mm, &reading.place.key(key)));
    }
    if !answer.questions.is_empty() {
        return (answer, None);
    }
    for (what, _, value) in read {
        answer.rows.push(Row {
            what: format!("rise of the {what}, - for reflex"),
            of: Measure::Length,
            reading: *value,
            model: left,
            band: Some(RISE_MM),
        });
    }
    if left.abs() < LEAST_REFLEX_MM {
        answer.say("Too little curve is left to tell which share of it stays.");
        return (answer, None);
    }
    let tip_mm = tips.mean_mm();
    let came = match came_off::build(build, glued, number, tip_mm) {
        Ok(came) => came,
        Err(faults) => {
            answer.questions =
                faults.into_iter().map(|fault| crate::diag::Diagnostic { place: reading.place.clone(), ..fault }).collect();
            return (answer, None);
        }
    };
    let retained = came.0.glue.retained_of(number);
    says_of_share(build, &mut answer, stage, tip_mm, retained);
    let next = next_hold(&mut answer, glued, number, tips, &came);
    let mut learnt = now.clone();
    learnt.build = match &next {
        Some((_, held)) => held.clone(),
        None => came.0,
    };
    let learnt = learnt.reshaped();
    if next.is_none()
        && glued.stages.last().is_some_and(|last| last.number == number)
        && let Tips::Each { upper_mm, lower_mm } = tips
    {
        says_of_limbs(&mut answer, &now.build, glued, number, [upper_mm, lower_mm], &learnt.options, known);
    }
    answer.found = Found::Release(Box::new(ReleaseFound { retained, next: next.map(|(next, _)| next) }));
    (answer, Some(learnt))
}

fn says_of_share(build: &Build, answer: &mut Answer, stage: &Stage, tip_mm: f64, retained: f64) {
    let percent = |share: f64| format!("{:.0} percent", 100.0 * share);
    answer.say(format!(
        "Of the curvature that the glued section should keep, {} is there; the model reckons with {}.",
        percent(retained),
        percent(stage.retained)
    ));
    if (tip_mm - stage.tip_left_mm()).abs() <= RISE_MM {
        answer.say("Reading and model agree as far as a straightedge shows.");
    } else if 1.0 < retained {
        answer.say("More is left than the section can keep: was it measured from the grip to the nock, and the form as drawn?");
    } else if 1 < stage.number {
        answer.say("Read it again after some days: wood and glue creep.");
    } else {
        answer.say(format!(
            "Read it again after some days: wood and glue creep. The share is this stage's own; for the next bow glued so, `glue.retained` = {:.2} is the better guess.",
            retained
        ));
    }
    if retained <= 1.0 && 5e-3 < (retained - build.glue.retained_of(stage.number)).abs() {
        let key = format!("glue.stage {}, retained", stage.number);
        answer.take_over.push(TakeOver { key, value: Value::Ratio((1e3 * retained).round() / 1e3) });
    }
}

/// The stage after `number` brought to its tip with the piece as it came off, and the build that is then so held.
fn next_hold(
    answer: &mut Answer,
    glued: &GlueUp,
    number: u32,
    tips: Tips,
    (came, off): &(Build, GlueUp),
) -> Option<(Next, Build)> {
    let index = came.glue.stages.iter().position(|stage| number < stage.number)?;
    let stage = came.glue.stages[index].number;
    let planned = glued.stages.iter().find(|planned| planned.number == stage)?;
    // What this stage leaves, held like that, if the one before stands at `tip_mm`.
    let leaves = |held: &Held, tip_mm: f64| -> Option<f64> {
        let mut other = came_off::build(came, off, number, tip_mm).ok()?.0;
        let row = &mut other.glue.stages[index];
        (row.want_tip_mm, row.held) = (None, held.clone());
        let stages = plan(&other).ok()?.value.stages;
        stages.iter().find(|found| found.number == stage).map(Stage::tip_left_mm)
    };
    let tip_mm = tips.mean_mm();
    let would_leave_mm = leaves(&planned.held, tip_mm)?;
    let wanted_mm = came.glue.stages[index].want_tip_mm.unwrap_or(planned.tip_left_mm());
    // The hold that leaves the wanted tip if this stage's nock is really at `tip_mm`, with its build.
    let brought = |tip_mm: f64| -> Option<(Build, Stage)> {
        let mut build = came_off::build(came, off, number, tip_mm).ok()?.0;
        build.glue.stages[index].want_tip_mm = Some(wanted_mm);
        let stages = plan(&build).ok()?.value.stages;
        Some((build, stages.into_iter().find(|found| found.number == stage)?))
    };
    if planned.held == Held::Flat {
        answer.say(format!(
            "Stage {stage} is held flat, and leaves the nocks at {} instead of {} with the piece as it is.",
            mm(would_leave_mm),
            mm(planned.tip_left_mm())
        ));
        return None;
    }
    let Some((build, held)) = brought(tip_mm) else {
        answer.say(format!(
            "No depth of its hold brings stage {stage} to {} with the piece as it is; held as planned it leaves {}.",
            mm(wanted_mm),
            mm(would_leave_mm)
        ));
        return None;
    };
    // Held so, where do the nocks stand if the piece really is as far off as one reads?
    let off_by = |tip_mm: f64| leaves(&held.held, tip_mm).map(|left| (left - wanted_mm).abs());
    let band_mm = off_by(tip_mm + RISE_MM)?.max(off_by(tip_mm - RISE_MM)?);
    let mut next = Next {
        stage,
        held: held.held.clone(),
        wanted_mm,
        band_mm,
        form_by: held.wanted.and_then(|wanted| wanted.form_by),
        props_mm: None,
        left_mm: None,
    };
    let each = match tips {
        Tips::Each { upper_mm, lower_mm } if APART_MM < (upper_mm - lower_mm).abs() => Some([upper_mm, lower_mm]),
        _ => None,
    };
    if let Some([upper, lower]) = each {
        answer.say(format!(
            "The tips came off {} apart: the {} limb stands more toward the back.",
            mm((upper - lower).abs()),
            if upper < lower { "upper" } else { "lower" }
        ));
    }
    let to = format!("For {} at the nocks once stage {stage} is released", mm(wanted_mm));
    match (&held.held, &planned.held) {
        (Held::Props { rise_mm, at_mm }, _) => {
            let was = match planned.held {
                Held::Props { rise_mm, .. } => mm(rise_mm),
                _ => String::new(),
            };
            let own = each.and_then(|[upper, lower]| {
                let rise = |tip_mm: f64| match brought(tip_mm)?.1.held {
                    Held::Props { rise_mm, .. } => Some(rise_mm),
                    _ => None,
                };
                Some([rise(upper)?, rise(lower)?])
            });
            next.props_mm = Some(own.unwrap_or([*rise_mm; 2]));
            answer.say(match own {
                Some([upper, lower]) => format!(
                    "{to}, raise the back to {} over the upper prop and {} over the lower one, at station {}; planned were {was}.",
                    mm(upper),
                    mm(lower),
                    mm(*at_mm)
                ),
                None => format!("{to}, raise the back to {} over the props at station {}; planned were {was}.", mm(*rise_mm), mm(*at_mm)),
            });
        }
        (Held::Form { rise }, _) => {
            let end = rise.last().map_or(0.0, |point| point.1);
            let was = match &planned.held {
                Held::Form { rise } => rise.last().map_or(0.0, |point| point.1 - rise[0].1),
                _ => 0.0,
            };
            let by = next.form_by.unwrap_or(1.0);
            answer.say(format!(
                "{to}, multiply all rises of the form by {by:.3}: {} at its end; planned were {}.",
                mm(end),
                mm(was)
            ));
            if let Some([upper, lower]) = each {
                let left = leaves(&held.held, upper).zip(leaves(&held.held, lower)).map(|(upper, lower)| [upper, lower]);
                next.left_mm = left;
                if let Some([upper, lower]) = left {
                    answer.say(format!(
                        "One form for both limbs leaves the upper nock at {} and the lower at {}. Mark which limb is which: the stage after says what it does.",
                        mm(upper),
                        mm(lower)
                    ));
                }
            }
        }
        (Held::Flat, _) => {}
    }
    answer.say(format!(
        "The reading is good for ± {} of that; held as planned, the nocks would come to {}.",
        mm(band_mm),
        mm(would_leave_mm)
    ));
    let planned_now = plan(&build).ok()?.value;
    let of_wood = scatter::of_tips_after(&build, &planned_now, number, tip_mm).and_then(|spreads| {
        let at = planned_now.stages.iter().position(|found| found.number == stage)?;
        spreads.get(at).copied()
    });
    if let Some(of_wood) = of_wood {
        answer.say(format!("The wood's scatter adds ± {} (one standard deviation).", mm(of_wood)));
    }
    Some((next, build))
}

/// Tips nearer than this are alike: two rises, each read to [`RISE_MM`].
const APART_MM: f64 = 1.5 * RISE_MM;

/// What two limbs of different reflex do at brace.
fn says_of_limbs(
    answer: &mut Answer,
    build: &Build,
    glued: &GlueUp,
    number: u32,
    [upper_mm, lower_mm]: [f64; 2],
    options: &Options,
    known: &Known<'_>,
) {
    if (upper_mm - lower_mm).abs() <= APART_MM {
        answer.say("Both limbs have the same reflex as far as a straightedge shows.");
        return;
    }
    let more = if upper_mm < lower_mm { "upper" } else { "lower" };
    answer.say(format!("The {more} limb has {} more reflex at its nock.", mm((upper_mm - lower_mm).abs())));
    let unstrung = |tip_mm: f64| came_off::build(build, glued, number, tip_mm).ok().map(|(_, glued)| glued.unstrung);
    let (Some(upper), Some(lower)) = (unstrung(upper_mm), unstrung(lower_mm)) else { return };
    let pair_options = PairOptions {
        options: Options { unstrung: upper, ..options.clone() },
        lower_unstrung: lower,
        tiller_stations_mm: known.stations_mm.clone(),
        ..PairOptions::default()
    };
    let Ok(curve) = pair::curve(build, build, &pair_options) else { return };
    let Some(brace) = curve.value.points.first() else { return };
    let most = brace.tiller.iter().max_by(|a, b| a.difference_mm().abs().total_cmp(&b.difference_mm().abs()));
    let Some(most) = most else { return };
    let nearer = if most.difference_mm() < 0.0 { "upper" } else { "lower" };
    answer.say(format!(
        "Of the same stiffness and braced, the {nearer} limb stands nearer the string, by {} at station {}: it works as the stiffer one.",
        mm(most.difference_mm().abs()),
        mm(most.s_mm)
    ));
    answer.say(if nearer == "lower" {
        "That is the way a tiller with the weaker upper limb wants it; what is too much of it comes off when tillering."
    } else {
        "Where the upper limb shall be the weaker one, turn the bow end for end before grip and nocks are cut."
    });
}
