//! A stage off its form or props: what share of its curve is there, and how this bow's next stage must be held now.
//!
//! The piece is taken as the model's with its own share of the curvature ([`came_off`]); what the next stage retains is its own. That stage is then
//! brought to the tip that was wanted, or planned, with the piece as it is. The band is what reading the nocks leaves open; the scatter of
//! the wood, with the piece known, comes on top and is said apart.
//!
//! Tips that differ are two limbs that differ: on props each is held for itself; on one form what is left is said, and what it does at brace by the model of
//! two limbs ([`pair`]).

use super::super::{Answer, Case, Finding, Observed, ReadingOutcome, Silence, TakeOver, TakenValue};
use crate::diag::{Diagnostic, mm};
use crate::mechanics::bow::{Options, Unstrung};
use crate::mechanics::glueup::came_off::{self, ReleasedBuild};
use crate::mechanics::glueup::{GlueUp, plan, scatter};
use crate::mechanics::pair::{self, PairOptions};
use crate::model::Build;
use crate::model::log::Tips;
use crate::model::workshop::Held;
use crate::shop::plausible::{PlausibleRange, question};

/// Reflex nearer to none than this says nothing of which fraction of it stays, mm.
const MIN_REFLEX_MM: f64 = 4.0;
/// A stage that keeps less of what its section should came loose, or was misread: common practice, no source.
const MIN_KEPT: f64 = 0.2;
/// A rise is read across a straightedge to about this, mm.
const RISE_MM: f64 = 1.5;

/// What a release says, and what follows for the next stage.
#[derive(Debug, Clone, PartialEq)]
pub struct CameOff {
    /// Of the curvature that the section should keep, the fraction that is there, and the one that was reckoned with.
    pub retained: f64,
    pub planned: f64,
    pub agreement: Agreement,
    /// Where both nocks were read: how they stand.
    pub nocks: Option<NockPair>,
    pub next: NextStage,
    /// Limbs of different shape, braced.
    pub limbs: Option<LimbsApart>,
}

/// A release beside the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Agreement {
    Agrees,
    /// More is left than a section can keep.
    TooMuch,
    Differs,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NockPair {
    Alike,
    /// Upper less lower, mm.
    Apart(f64),
}

/// What becomes of the next stage, with the piece as it is.
#[derive(Debug, Clone, PartialEq)]
pub enum NextStage {
    /// There is none, or nothing can be said of it.
    None,
    /// Held flat, it leaves the nocks here instead of there, mm.
    Flat {
        stage: u32,
        leaves_mm: f64,
        wanted_mm: f64,
    },
    /// No depth of its hold brings it there; held as planned, it leaves them here, mm.
    Unreachable {
        stage: u32,
        leaves_mm: f64,
        wanted_mm: f64,
    },
    Held(Next),
}

impl NextStage {
    pub fn held(&self) -> Option<&Next> {
        if let NextStage::Held(next) = self { Some(next) } else { None }
    }
}

/// How the next stage is to be held.
#[derive(Debug, Clone, PartialEq)]
pub struct Next {
    pub stage: u32,
    /// As the build file would have it, for both limbs alike, and as it was planned before.
    pub held: Held,
    pub planned: Held,
    pub wanted_mm: f64,
    /// Held as planned, the nocks would come to this, mm.
    pub as_planned_mm: f64,
    /// What the reading leaves open of the tip then, either way, mm.
    pub band_mm: f64,
    /// What the wood's scatter adds, one standard deviation, mm.
    pub scatter_mm: Option<f64>,
    /// All rises of the form as written times this.
    pub form_by: Option<f64>,
    /// Rise of the props under the upper and the lower tip, mm.
    pub props_mm: Option<[f64; 2]>,
    /// What one form leaves at the upper and the lower nock, where they came off apart, mm.
    pub left_mm: Option<[f64; 2]>,
}

/// Two limbs of one stiffness and different shape at brace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbsApart {
    pub station_mm: f64,
    /// Distance to the string, upper less lower, where they differ most, mm.
    pub difference_mm: f64,
}

pub fn release(case: &Case<'_>, number: u32, tips: Tips) -> ReadingOutcome {
    let (reading, now) = (case.reading, case.now);
    let build = &now.build;
    let mut answer = Answer::new(reading);
    let Some(glued) = &now.glued else { return answer.silent(Silence::NoGlueUp).into() };
    let Some(stage) = glued.stage(number) else { return answer.into() };
    let (held, left) = (stage.tip_held_mm(), stage.tip_left_mm());
    // What is kept lies between nothing and somewhat more than the form gave.
    let reach = 0.25 * held.abs().max(left.abs()) + 6.0;
    let mut range = PlausibleRange { expected: left, min: left.min(0.0).min(held) - reach, max: left.max(0.0).max(held) + reach };
    // Of a curve that a rule can tell from none.
    let least = MIN_KEPT * left;
    if 2.0 * RISE_MM < least {
        range.min = least;
    } else if least < -2.0 * RISE_MM {
        range.max = least;
    }
    let read: &[(Observed, &str, &str, f64)] = match &tips {
        Tips::Mean(tip) => &[(Observed::Nocks, "the nock", "tip", *tip)],
        Tips::Each { upper_mm, lower_mm } => &[
            (Observed::UpperNock, "the upper nock", "upper", *upper_mm),
            (Observed::LowerNock, "the lower nock", "lower", *lower_mm),
        ],
    };
    for (_, what, key, value) in read {
        answer.questions.extend(question(*value, range, what, mm, &reading.place.key(key)));
    }
    if !answer.questions.is_empty() {
        return answer.into();
    }
    for (of, _, _, value) in read {
        answer.observe(*of, *value, left, Some(RISE_MM));
    }
    if left.abs() < MIN_REFLEX_MM {
        return answer.silent(Silence::TooLittleReflex).into();
    }
    let tip_mm = tips.mean_mm();
    let came = match came_off::build(build, glued, number, tip_mm) {
        Ok(ReleasedBuild { build, glued }) => Came { build, glued, number, tip_mm },
        Err(faults) => {
            let place = |fault| Diagnostic { place: reading.place.clone(), ..fault };
            answer.questions = faults.into_iter().map(place).collect();
            return answer.into();
        }
    };
    let retained = came.build.glue.retained_of(number);
    let agreement = if (tip_mm - left).abs() <= RISE_MM {
        Agreement::Agrees
    } else if 1.0 < retained {
        Agreement::TooMuch
    } else {
        Agreement::Differs
    };
    // Half a percent is a tenth of what a straightedge shows of two inches.
    if retained <= 1.0 && 5e-3 < (retained - build.glue.retained_of(number)).abs() {
        let index = build.glue.stages.iter().position(|written| written.number == number).unwrap_or_default();
        answer.take_over.push(TakeOver { key: format!("glue.stage[{index}].retained"), value: TakenValue::Ratio(retained) });
    }
    let nocks = match tips {
        Tips::Each { upper_mm, lower_mm } if APART_MM < (upper_mm - lower_mm).abs() => Some(NockPair::Apart(upper_mm - lower_mm)),
        Tips::Each { .. } => Some(NockPair::Alike),
        Tips::Mean(_) => None,
    };
    let apart = match (tips, nocks) {
        (Tips::Each { upper_mm, lower_mm }, Some(NockPair::Apart(_))) => Some([upper_mm, lower_mm]),
        _ => None,
    };
    let (next, brought) = came.next(glued, apart);
    let shapes = match (&next, &brought, apart) {
        (NextStage::Held(next), Some(brought), Some(apart)) if next.left_mm.is_some() && came.is_last(next.stage) => {
            Some(apart.map(|tip| came.held_so(brought.index, &next.held, tip)))
        }
        (_, None, Some(apart)) if came.is_last(number) => Some(apart.map(|tip| came.at(tip).map(|released| released.glued))),
        _ => None,
    };
    let limbs = match shapes {
        Some([Some(upper), Some(lower)]) => limbs_apart(case, upper.unstrung, lower.unstrung),
        _ => None,
    };
    answer.finding = Finding::Release(Box::new(CameOff { retained, planned: stage.retained, agreement, nocks, next, limbs }));
    let (build, glued) = brought.map_or((came.build, came.glued), |brought| (brought.build, brought.glued));
    ReadingOutcome { learnt: Some(now.clone().shaped(build, glued)), ..answer.into() }
}

/// The bow after the stage came off with its nocks at `tip_mm` in the mean.
struct Came {
    build: Build,
    glued: GlueUp,
    number: u32,
    tip_mm: f64,
}

/// The next stage brought to its tip, with the bow that is then so held.
struct HeldBow {
    /// Place of the stage among the build's.
    index: usize,
    build: Build,
    glued: GlueUp,
}

impl Came {
    fn is_last(&self, number: u32) -> bool {
        self.glued.stages.last().is_some_and(|last| last.number == number)
    }

    /// The bow if the nock really stands at `tip_mm`.
    fn at(&self, tip_mm: f64) -> Option<ReleasedBuild> {
        if (tip_mm - self.tip_mm).abs() <= 0.0 {
            return Some(ReleasedBuild { build: self.build.clone(), glued: self.glued.clone() });
        }
        came_off::build(&self.build, &self.glued, self.number, tip_mm).ok()
    }

    /// The next stage, at this place, held so; with the nock of this one at `tip_mm`.
    fn held_so(&self, index: usize, held: &Held, tip_mm: f64) -> Option<GlueUp> {
        let mut build = self.at(tip_mm)?.build;
        let row = &mut build.glue.stages[index];
        (row.want_tip_mm, row.held) = (None, held.clone());
        Some(plan(&build).ok()?.value)
    }

    /// The next stage brought to `wanted_mm`; with the nock of this one at `tip_mm`.
    fn brought(&self, index: usize, wanted_mm: f64, tip_mm: f64) -> Option<(Build, GlueUp)> {
        let mut build = self.at(tip_mm)?.build;
        build.glue.stages[index].want_tip_mm = Some(wanted_mm);
        let glued = plan(&build).ok()?.value;
        Some((build, glued))
    }

    /// How the next stage is to be held, and the bow that is then so; `before` is the plan until now.
    fn next(&self, before: &GlueUp, apart: Option<[f64; 2]>) -> (NextStage, Option<HeldBow>) {
        let Some(index) = self.build.glue.stages.iter().position(|stage| self.number < stage.number) else {
            return (NextStage::None, None);
        };
        let row = &self.build.glue.stages[index];
        let stage = row.number;
        let Some(planned) = before.stage(stage) else { return (NextStage::None, None) };
        let wanted_mm = row.want_tip_mm.unwrap_or(planned.tip_left_mm());
        let leaves = |held: &Held, tip_mm: f64| Some(self.held_so(index, held, tip_mm)?.stage(stage)?.tip_left_mm());
        let Some(leaves_mm) = leaves(&planned.held, self.tip_mm) else { return (NextStage::None, None) };
        if planned.held == Held::Flat {
            return (NextStage::Flat { stage, leaves_mm, wanted_mm }, None);
        }
        let Some((build, glued)) = self.brought(index, wanted_mm, self.tip_mm) else {
            return (NextStage::Unreachable { stage, leaves_mm, wanted_mm }, None);
        };
        let next = || {
            let now = glued.stage(stage)?;
            // Held so, where do the nocks come to if the piece really is as far off as one reads?
            let off = |tip_mm: f64| leaves(&now.held, tip_mm).map(|left| (left - wanted_mm).abs());
            let band_mm = off(self.tip_mm + RISE_MM)?.max(off(self.tip_mm - RISE_MM)?);
            let both = |of: &dyn Fn(f64) -> Option<f64>| apart.and_then(|[upper, lower]| Some([of(upper)?, of(lower)?]));
            let prop = |tip_mm: f64| match &self.brought(index, wanted_mm, tip_mm)?.1.stage(stage)?.held {
                Held::Props { rise_mm, .. } => Some(*rise_mm),
                _ => None,
            };
            let (mut props_mm, mut left_mm) = (None, None);
            match &now.held {
                Held::Props { rise_mm, .. } => props_mm = Some(both(&prop).unwrap_or([*rise_mm; 2])),
                Held::Form { .. } => left_mm = both(&|tip_mm| leaves(&now.held, tip_mm)),
                Held::Flat => {}
            }
            let place = glued.stages.iter().position(|found| found.number == stage)?;
            Some(Next {
                stage,
                held: now.held.clone(),
                planned: planned.held.clone(),
                wanted_mm,
                as_planned_mm: leaves_mm,
                band_mm,
                scatter_mm: scatter::of_tips_after(&build, &glued, self.number, self.tip_mm).map(|spreads| spreads[place]),
                form_by: now.wanted.and_then(|wanted| wanted.form_by),
                props_mm,
                left_mm,
            })
        };
        match next() {
            Some(next) => (NextStage::Held(next), Some(HeldBow { index, build, glued })),
            None => (NextStage::None, None),
        }
    }
}

/// Tips nearer than this are alike: two rises, each read to [`RISE_MM`].
const APART_MM: f64 = 1.5 * RISE_MM;

/// What two limbs of different shape do at brace.
fn limbs_apart(case: &Case<'_>, upper: Unstrung, lower_unstrung: Unstrung) -> Option<LimbsApart> {
    let options = PairOptions {
        options: Options { unstrung: upper, ..case.now.options.clone() },
        lower_unstrung,
        tiller_stations_mm: case.background.stations_mm.clone(),
        ..PairOptions::default()
    };
    let curve = pair::curve(&case.now.build, &case.now.build, &options).ok()?;
    let tiller = &curve.value.points.first()?.tiller;
    let most = tiller.iter().max_by(|a, b| a.difference_mm().abs().total_cmp(&b.difference_mm().abs()))?;
    Some(LimbsApart { station_mm: most.s_mm, difference_mm: most.difference_mm() })
}
