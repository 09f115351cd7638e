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
use crate::diag::{Diagnostic, mm};
use crate::mechanics::bow::{Options, Unstrung};
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
    let Some(stage) = glued.stage(number) else { return (answer, None) };
    let (held, left) = (stage.tip_held_mm(), stage.tip_left_mm());
    // What is kept lies between nothing and somewhat more than the form gave.
    let reach = 0.25 * held.abs().max(left.abs()) + 6.0;
    let band = Band { expected: left, least: left.min(0.0).min(held) - reach, most: left.max(0.0).max(held) + reach };
    let read: &[(&str, &str, f64)] = match &tips {
        Tips::Mean(tip) => &[("nock", "tip", *tip)],
        Tips::Each { upper_mm, lower_mm } => &[("upper nock", "upper", *upper_mm), ("lower nock", "lower", *lower_mm)],
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
        Ok((build, glued)) => Came { build, glued, number, tip_mm },
        Err(faults) => {
            answer.questions = faults.into_iter().map(|fault| Diagnostic { place: reading.place.clone(), ..fault }).collect();
            return (answer, None);
        }
    };
    let retained = came.build.glue.retained_of(number);
    says_of_share(build, &mut answer, stage, tip_mm, retained);
    let apart = match tips {
        Tips::Each { upper_mm, lower_mm } if APART_MM < (upper_mm - lower_mm).abs() => Some([upper_mm, lower_mm]),
        Tips::Each { .. } => {
            answer.say("Both nocks stand alike as far as a straightedge shows.");
            None
        }
        Tips::Mean(_) => None,
    };
    if let Some([upper, lower]) = apart {
        answer.say(format!(
            "They stand {} apart: the {} limb lies more toward the back, with more reflex or less deflex.",
            mm((upper - lower).abs()),
            if upper < lower { "upper" } else { "lower" }
        ));
    }
    let next = came.next(&mut answer, glued, apart);
    let limbs = match (&next, apart) {
        (Some(next), Some(apart)) if next.found.left_mm.is_some() && came.is_last(next.found.stage) => {
            Some(apart.map(|tip| came.held_so(next.index, &next.found.held, tip)))
        }
        (None, Some(apart)) if came.is_last(number) => Some(apart.map(|tip| came.at(tip).map(|(_, glued)| glued))),
        _ => None,
    };
    if let Some([Some(upper), Some(lower)]) = limbs {
        says_of_limbs(&mut answer, build, upper.unstrung, lower.unstrung, &now.options, known);
    }
    let retained = ReleaseFound { retained, next: next.as_ref().map(|next| next.found.clone()) };
    answer.found = Found::Release(Box::new(retained));
    let (build, glued) = next.map_or((came.build, came.glued), |next| (next.build, next.glued));
    (answer, Some(now.clone().shaped(build, glued)))
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
            "Read it again after some days: wood and glue creep. The share is this stage's own; for the next bow glued so, \
             `glue.retained` = {retained:.2} is the better guess."
        ));
    }
    // Half a percent is a tenth of what a straightedge shows of two inches.
    if retained <= 1.0 && 5e-3 < (retained - build.glue.retained_of(stage.number)).abs() {
        let key = format!("glue.stage {}, retained", stage.number);
        answer.take_over.push(TakeOver { key, value: Value::Ratio(retained) });
    }
}

/// The bow after the stage came off with its nocks at `tip_mm` in the mean.
struct Came {
    build: Build,
    glued: GlueUp,
    number: u32,
    tip_mm: f64,
}

/// The next stage brought to its tip, with the bow that is then so held.
struct Brought {
    /// Place of the stage among the build's.
    index: usize,
    found: Next,
    build: Build,
    glued: GlueUp,
}

impl Came {
    fn is_last(&self, number: u32) -> bool {
        self.glued.stages.last().is_some_and(|last| last.number == number)
    }

    /// The bow if the nock really stands at `tip_mm`.
    fn at(&self, tip_mm: f64) -> Option<(Build, GlueUp)> {
        if (tip_mm - self.tip_mm).abs() <= 0.0 {
            return Some((self.build.clone(), self.glued.clone()));
        }
        came_off::build(&self.build, &self.glued, self.number, tip_mm).ok()
    }

    /// The next stage, at this place, held so; with the nock of this one at `tip_mm`.
    fn held_so(&self, index: usize, held: &Held, tip_mm: f64) -> Option<GlueUp> {
        let mut build = self.at(tip_mm)?.0;
        let row = &mut build.glue.stages[index];
        (row.want_tip_mm, row.held) = (None, held.clone());
        Some(plan(&build).ok()?.value)
    }

    /// The next stage brought to `wanted_mm`; with the nock of this one at `tip_mm`.
    fn brought(&self, index: usize, wanted_mm: f64, tip_mm: f64) -> Option<(Build, GlueUp)> {
        let mut build = self.at(tip_mm)?.0;
        build.glue.stages[index].want_tip_mm = Some(wanted_mm);
        let glued = plan(&build).ok()?.value;
        Some((build, glued))
    }

    /// How the next stage is to be held, `None` where there is none or nothing helps; `before` is the plan until now.
    fn next(&self, answer: &mut Answer, before: &GlueUp, apart: Option<[f64; 2]>) -> Option<Brought> {
        let index = self.build.glue.stages.iter().position(|stage| self.number < stage.number)?;
        let row = &self.build.glue.stages[index];
        let stage = row.number;
        let planned = before.stage(stage)?;
        let wanted_mm = row.want_tip_mm.unwrap_or(planned.tip_left_mm());
        let leaves = |held: &Held, tip_mm: f64| Some(self.held_so(index, held, tip_mm)?.stage(stage)?.tip_left_mm());
        let as_planned_mm = leaves(&planned.held, self.tip_mm)?;
        if planned.held == Held::Flat {
            answer.say(format!(
                "Stage {stage} is held flat, and leaves the nocks at {} instead of {} with the piece as it is.",
                mm(as_planned_mm),
                mm(wanted_mm)
            ));
            return None;
        }
        let Some((build, glued)) = self.brought(index, wanted_mm, self.tip_mm) else {
            answer.say(format!(
                "No depth of its hold brings stage {stage} to {} with the piece as it is; held as planned it leaves {}.",
                mm(wanted_mm),
                mm(as_planned_mm)
            ));
            return None;
        };
        let now = glued.stage(stage)?;
        // Held so, where do the nocks come to if the piece really is as far off as one reads?
        let off = |tip_mm: f64| leaves(&now.held, tip_mm).map(|left| (left - wanted_mm).abs());
        let band_mm = off(self.tip_mm + RISE_MM)?.max(off(self.tip_mm - RISE_MM)?);
        let mut found = Next {
            stage,
            held: now.held.clone(),
            wanted_mm,
            band_mm,
            form_by: now.wanted.and_then(|wanted| wanted.form_by),
            props_mm: None,
            left_mm: None,
        };
        let to = format!("For {} at the nocks once stage {stage} is released", mm(wanted_mm));
        match (&now.held, &planned.held) {
            (Held::Props { rise_mm, at_mm }, Held::Props { rise_mm: was_mm, .. }) => {
                let rise = |tip_mm: f64| match &self.brought(index, wanted_mm, tip_mm)?.1.stage(stage)?.held {
                    Held::Props { rise_mm, .. } => Some(*rise_mm),
                    _ => None,
                };
                let own = apart.and_then(|[upper, lower]| Some([rise(upper)?, rise(lower)?]));
                found.props_mm = Some(own.unwrap_or([*rise_mm; 2]));
                let over = match own {
                    Some([upper, lower]) => format!("{} over the upper prop and {} over the lower one,", mm(upper), mm(lower)),
                    None => format!("{} over the props", mm(*rise_mm)),
                };
                answer.say(format!("{to}, raise the back to {over} at station {}; planned were {}.", mm(*at_mm), mm(*was_mm)));
            }
            (Held::Form { rise }, Held::Form { rise: was }) => {
                let deep = |rise: &[(f64, f64)]| rise.last().zip(rise.first()).map_or(0.0, |(last, first)| last.1 - first.1);
                answer.say(format!(
                    "{to}, multiply the rises of the form as written by {:.3}: {} at its end; planned were {}.",
                    found.form_by.unwrap_or(1.0),
                    mm(deep(rise)),
                    mm(deep(was))
                ));
                found.left_mm = apart.and_then(|[upper, lower]| Some([leaves(&now.held, upper)?, leaves(&now.held, lower)?]));
                if let Some([upper, lower]) = found.left_mm {
                    answer.say(format!(
                        "One form for both limbs leaves the upper nock at {} and the lower at {}.",
                        mm(upper),
                        mm(lower)
                    ));
                }
            }
            _ => {}
        }
        answer.say(format!(
            "The reading is good for ± {} of that; held as planned, the nocks would come to {}.",
            mm(band_mm),
            mm(as_planned_mm)
        ));
        let place = glued.stages.iter().position(|found| found.number == stage)?;
        if let Some(spreads) = scatter::of_tips_after(&build, &glued, self.number, self.tip_mm) {
            answer.say(format!("The wood's scatter adds ± {} (one standard deviation).", mm(spreads[place])));
        }
        Some(Brought { index, found, build, glued })
    }
}

/// Tips nearer than this are alike: two rises, each read to [`RISE_MM`].
const APART_MM: f64 = 1.5 * RISE_MM;

/// What two limbs of different shape do at brace.
fn says_of_limbs(
    answer: &mut Answer,
    build: &Build,
    upper: Unstrung,
    lower_unstrung: Unstrung,
    options: &Options,
    known: &Known<'_>,
) {
    let options = PairOptions {
        options: Options { unstrung: upper, ..options.clone() },
        lower_unstrung,
        tiller_stations_mm: known.stations_mm.clone(),
        ..PairOptions::default()
    };
    let Ok(curve) = pair::curve(build, build, &options) else { return };
    let tiller = curve.value.points.first().map_or(&[][..], |brace| &brace.tiller);
    let most = tiller.iter().max_by(|a, b| a.difference_mm().abs().total_cmp(&b.difference_mm().abs()));
    let Some(most) = most else { return };
    let nearer = if most.difference_mm() < 0.0 { "upper" } else { "lower" };
    answer.say(format!(
        "Braced, and of the same stiffness, the {nearer} limb then stands nearer the string, by {} at station {}: it works as the stiffer one.",
        mm(most.difference_mm().abs()),
        mm(most.s_mm)
    ));
    answer.say(if nearer == "lower" {
        "A tiller whose upper limb is the weaker wants it so; what is too much comes off when tillering."
    } else {
        "Where the upper limb shall be the weaker one, turn the bow end for end before grip and nocks are cut."
    });
}
