//! A lamination at the machine: its sled as measured, the passes that are left, and strips that came out otherwise.
//!
//! All gaps are reckoned as if the sled stood as drawn: a sled whose highest place lies `d` above its wanted height needs every gap
//! `d` wider, which is the same as a gauge that reads `d` too much. Offsets found on the bare table therefore lose `d`, those found
//! on the sled have it in them.
//!
//! Passes are made as the ticks of a schedule say, and as strips are read after them: a strip's reading holds against ticks, and what it
//! has restated cannot be unticked.
//!
//! Here is the state: which passes were made, which are left and where the gauge stands. What a strip of the work tells of it is in
//! `strip`, what scrap tells in `scrap`, whether the places of either agree in `agree`, and what the rest of the stack becomes in
//! `resize`.

mod agree;
mod resize;
mod scrap;
mod strip;
mod ticks;

pub use resize::{HeldLamination, Resized, Rest, Unnamed, as_made, to_weight};
pub use scrap::Scrap;
pub(super) use scrap::test_strip;
pub use strip::{AsItCame, Beside, Grinding, Matched, Thin};
pub use ticks::Ticked;

use super::gauge::PaperOn;
use super::{Answer, Case, Finding, Observed};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::log::Across;
use crate::model::workshop::{Sander, ShimStock, SledPlan};
use crate::numeric::fit;
use crate::shop::budget::CALIPER_MM;
use crate::shop::correct::{Correction, HeightReading, corrections};
use crate::shop::drift::{CutReading, Restated, Specimen, TELLABLE_MM, Tilt, restate};
use crate::shop::passes::{self, Carrier, FollowedSchedule, LastCut, Setup, remaining};
use crate::shop::plausible::{PlausibleRange, question};
use crate::shop::seat::Seat;
use crate::shop::sled::{self, Sled};
use std::collections::BTreeMap;

/// A strip within this of its taper is done, mm: 0.002 in, what matched pairs are held to; common practice, no source.
pub const DONE_MM: f64 = 0.0508;

/// One lamination's work, as far as the log tells.
#[derive(Debug, Clone, PartialEq)]
pub struct Bench {
    /// Index into the build's laminations.
    pub lamination: usize,
    pub sled: Option<Sled>,
    /// As planned or as restated last; passes are numbered through.
    pub setups: Vec<Setup>,
    /// Setups that were worked by before they were restated.
    earlier: Vec<Setup>,
    together: u32,
    /// Runs of each pass for one bow.
    runs: u32,
    /// What the measured sled adds to every gap, mm.
    pub shift_mm: f64,
    /// Passes made.
    pub made: u32,
    /// Passes that are made whatever is ticked: a strip was read after them, or what followed them was restated.
    sure: u32,
    /// The last pass ticked for each strip.
    ticks: BTreeMap<String, u32>,
    /// The zero in use was told on the sled, which has its height in it.
    zero_on_sled: bool,
    /// The true gap of a pass as its strip told it: the pass, mm.
    told: Option<(u32, f64)>,
    /// How far the measured sled may stand off from place to place once its tape is on, ±mm; `None` until it is measured.
    even_mm: Option<f64>,
    /// The latest readings of each strip, by its name.
    strips: BTreeMap<String, StripRead>,
    /// Setups that were planned or planned anew: what the answers cost.
    pub plans: usize,
}

/// What was read of a strip last.
#[derive(Debug, Clone, PartialEq)]
struct StripRead {
    after: u32,
    /// No pass was left in the list that was followed: whatever it was restated to, so it came out.
    came_out: bool,
    date: String,
    at: Vec<Across>,
    /// True gap less gauge where the cutter reached it, as if the sled stood as drawn, mm; empty where its places told no zero.
    offsets_mm: Vec<f64>,
}

/// A sled as measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Tape {
    pub correction: Correction,
    /// Less from place to place counts as even, mm.
    pub even_mm: f64,
    pub remedy: Remedy,
    /// Every gap becomes wider by so much, where a caliper tells, mm.
    pub shift_mm: Option<f64>,
    /// Laminations, by number, whose strips lie on the same sled: their gaps move alike.
    pub also: Vec<usize>,
    pub warnings: Vec<Diagnostic>,
}

/// What is to be done about a sled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Remedy {
    Nothing,
    /// It wants tape, and no stock is listed.
    NoStock,
    /// The tape of the correction.
    Tape,
}

/// Passes that are left, restated.
#[derive(Debug, Clone, PartialEq)]
pub struct Restating {
    /// How many; `None` where no plan keeps to every limit, and the old one goes on at the new zero.
    pub left: Option<usize>,
    /// What is broken, or nearly.
    pub notes: Vec<Diagnostic>,
}

impl Bench {
    /// The bench of a lamination that is ground on this machine; `None` where there is no plan for it.
    pub fn of(build: &Build, index: usize) -> Option<Bench> {
        let (lamination, sander) = (&build.laminations[index], build.sander.as_ref()?);
        if lamination.ground {
            return None;
        }
        let sled = match build.sled_for(lamination) {
            Some(plan) if !lamination.is_parallel() => Some(sled::build(lamination, plan, sander).ok()?.value),
            _ => None,
        };
        let schedule = passes::plan(lamination, sled.as_ref(), sander).ok()?.value;
        Some(Bench {
            lamination: index,
            sled,
            together: schedule.together,
            runs: schedule.runs,
            setups: schedule.setups,
            earlier: Vec::new(),
            shift_mm: 0.0,
            made: 0,
            sure: 0,
            ticks: BTreeMap::new(),
            zero_on_sled: false,
            told: None,
            even_mm: None,
            strips: BTreeMap::new(),
            plans: 1,
        })
    }

    /// Strips of it have been cut.
    pub fn begun(&self) -> bool {
        0 < self.made
    }

    /// Its passes are others than the build file's by now.
    pub fn replanned(&self) -> bool {
        1 < self.plans
    }

    /// The passes that are left, in their order.
    pub fn left(&self) -> impl Iterator<Item = (&Setup, &passes::Pass)> {
        let made = self.made;
        let of = move |setup: &'_ Setup| -> usize { setup.passes.iter().filter(|pass| made < pass.number).count() };
        self.setups
            .iter()
            .filter(move |setup| 0 < of(setup))
            .flat_map(move |setup| setup.passes.iter().filter(move |pass| made < pass.number).map(move |pass| (setup, pass)))
    }

    /// What one good figure may be off, ±mm: the caliper, and on a sled how far its surface may stand off its drawing.
    fn good_mm(&self, build: &Build, carrier: Carrier) -> f64 {
        let sled_mm = match (carrier, self.even_mm, &build.sled) {
            (Carrier::Flat, ..) | (_, _, None) => 0.0,
            // Measured with a caliper as well.
            (Carrier::Sled, Some(even_mm), _) => even_mm + CALIPER_MM,
            (Carrier::Sled, None, Some(plan)) => stands_off_mm(build, plan),
        };
        sled_mm + CALIPER_MM
    }

    /// The paper that made the last cut.
    pub(super) fn paper_on(&self) -> Option<PaperOn> {
        let mut made: BTreeMap<u32, &passes::Pass> = BTreeMap::new();
        // Of equal numbers the latest version was followed.
        for pass in self.earlier.iter().chain(&self.setups).flat_map(|setup| &setup.passes).filter(|p| p.number <= self.made) {
            made.insert(pass.number, pass);
        }
        let changes = made.values().filter(|pass| pass.new_paper).count();
        made.last_key_value().map(|(_, pass)| PaperOn { lamination: self.lamination, paper: pass.paper, changes })
    }

    /// The paper that the next cut is made with: scrap meets it first.
    pub(super) fn paper_to_come(&self) -> Option<PaperOn> {
        let changes = self.paper_on().map_or(0, |on| on.changes);
        let (_, next) = self.left().next()?;
        Some(PaperOn { lamination: self.lamination, paper: next.paper, changes: changes + usize::from(next.new_paper) })
    }

    /// The sled's measured heights: tape, and gaps that move with it.
    pub(super) fn sled(&mut self, case: &Case<'_>, heights_mm: &[(f64, f64)], shims: &[ShimStock]) -> Answer {
        let (build, reading) = (&case.now.build, case.reading);
        let lamination = &build.laminations[self.lamination];
        let (Some(sled), Some(plan), Some(sander)) = (&self.sled, build.sled_for(lamination), &build.sander) else {
            let message = format!("`{}` is ground flat on the table and has no sled", lamination.name);
            let fault = Diagnostic::fault(reading.place.key("lamination"), message).hint("which lamination's sled is it?");
            return Answer::asking(reading, vec![fault]);
        };
        let readings: Vec<HeightReading> =
            heights_mm.iter().map(|(u_mm, height_mm)| HeightReading { u_mm: *u_mm, height_mm: *height_mm }).collect();
        let place = reading.place.key("heights");
        let found = doubtful_heights(sled, &readings, 2.0 * (stands_off_mm(build, plan) + CALIPER_MM), &place)
            .and_then(|()| corrections(sled, &readings, shims, plan.tolerance_mm, &place));
        let found = match found {
            Ok(found) => found,
            Err(questions) => return Answer::asking(reading, questions),
        };
        let correction = found.value;
        let mut answer = Answer::new(reading);
        let band = Some(build.shop.cutter.holds_mm() + CALIPER_MM);
        for (u_mm, height) in heights_mm {
            answer.observe(Observed::Height { u_mm: *u_mm }, *height, sled.surface_mm(*u_mm), band);
        }
        let even_mm = 2.0 * plan.tolerance_mm;
        let remedy = match (correction.spread_before_mm <= even_mm, shims) {
            (true, _) => Remedy::Nothing,
            (false, []) => Remedy::NoStock,
            (false, _) => Remedy::Tape,
        };
        let (shift_mm, spread_mm) = if remedy == Remedy::Tape {
            (correction.gap_shift_mm, correction.spread_after_mm)
        } else {
            (correction.bare_gap_shift_mm, correction.spread_before_mm)
        };
        // A zero told on this sled knows how it stood: only the tape that is put on now moves the gaps.
        let stood_mm = if self.zero_on_sled { correction.bare_gap_shift_mm } else { self.shift_mm };
        let moved_mm = shift_mm - stood_mm;
        // On the table alone the same zero lacks the sled's height, which is known only now.
        let table_mm = if self.zero_on_sled { correction.bare_gap_shift_mm - self.shift_mm } else { 0.0 };
        self.shift_mm = shift_mm;
        self.even_mm = Some(0.5 * spread_mm);
        if 1e-9 < moved_mm.abs().max(table_mm.abs()) {
            self.move_gauge(lamination, sander, 0, |setup| match setup.carrier {
                Carrier::Sled => setup.gauge_offset_mm - moved_mm,
                Carrier::Flat => setup.gauge_offset_mm + table_mm,
            });
        }
        let shift_mm = Some(shift_mm).filter(|shift| CALIPER_MM < shift.abs());
        answer.finding =
            Finding::Tape(Tape { correction, even_mm, remedy, shift_mm, also: Vec::new(), warnings: found.warnings });
        answer
    }

    /// How its strips lie; `None` where they lie on the table.
    pub(super) fn seat<'a>(&'a self, build: &'a Build) -> Option<Seat<'a>> {
        let lamination = &build.laminations[self.lamination];
        let gap_step_mm = build.sander.as_ref()?.gap_step_mm;
        Some(Seat { sled: self.sled.as_ref()?, plan: build.sled_for(lamination)?, lamination, gap_step_mm })
    }

    /// The setup whose pass made the last cut, as it was followed then, with that pass's gap.
    fn cut_by(&self, after: u32) -> Option<(&Setup, f64)> {
        let versions = self.earlier.iter().chain(&self.setups);
        let last = versions.filter_map(|setup| Some((setup, setup.passes.iter().rfind(|pass| pass.number <= after)?)));
        // Of equal numbers the latest version was followed.
        let (setup, pass) = last.max_by_key(|(_, pass)| pass.number)?;
        Some((setup, pass.gap_mm))
    }

    /// The setup in hand: as it was followed where it has been begun, its zero as the strip told it.
    fn begun_setup(&self, at: usize) -> Setup {
        let next = &self.setups[at];
        match self.cut_by(self.made) {
            Some((setup, gap_mm)) if setup.carrier == next.carrier && setup.face == next.face => {
                let told = self.told.filter(|(pass, _)| *pass == self.made);
                let gauge_offset_mm = told.map_or(setup.gauge_offset_mm, |(_, true_gap_mm)| true_gap_mm - gap_mm);
                Setup { gauge_offset_mm, ..setup.clone() }
            }
            _ => next.clone(),
        }
    }

    fn surface_mm(&self, carrier: Carrier, u_mm: f64) -> f64 {
        match (carrier, &self.sled) {
            (Carrier::Sled, Some(sled)) => sled.surface_mm(u_mm),
            _ => 0.0,
        }
    }

    /// The passes that are left of a setup, taken up from what a strip or scrap reads; where no plan keeps to every limit from there the
    /// old one goes on at the new zero.
    fn restated(
        &mut self,
        case: &Case<'_>,
        setup: &Setup,
        specimen: Specimen,
        one: &CutReading,
    ) -> (Restating, Option<Restated>) {
        let lamination = &case.now.build.laminations[self.lamination];
        let Some(sander) = &case.now.build.sander else { return (Restating { left: None, notes: Vec::new() }, None) };
        let made = self.made;
        self.plans += 1;
        // Scrap goes through with the paper that the next pass is made with; what is planned from it does not go back to the old one.
        let met =
            self.left().next().filter(|(_, pass)| specimen == Specimen::Scrap && pass.new_paper).map(|(_, pass)| pass.paper);
        let at = FollowedSchedule { lamination, sled: self.sled.as_ref(), sander, setup, made, together: self.together };
        let (rest, notes, restated) = match restate(&at, met, specimen, one) {
            Ok(found) => {
                let turn_over = setup.turn_over && setup.passes.iter().all(|pass| made < pass.number);
                (Setup { turn_over, ..found.value.setup.clone() }, found.warnings, Some(found.value))
            }
            Err(limits) => {
                // Scrap says nothing of how far the work has come.
                let true_gap_mm = if specimen == Specimen::Work { one.true_gap_mm() } else { f64::INFINITY };
                (carried_on(setup, made, one.offset_mm(), true_gap_mm), limits, None)
            }
        };
        self.take(lamination, sander, setup, rest, one.offset_mm());
        (Restating { left: restated.as_ref().map(|_| self.left().count()), notes }, restated)
    }

    /// The restated setup in the place of the one it comes from; setups after it are numbered on, and set by the same gauge.
    fn take(&mut self, lamination: &Lamination, sander: &Sander, from: &Setup, restated: Setup, offset_mm: f64) {
        let Some(at) = self.setups.iter().position(|setup| setup.carrier == from.carrier && setup.face == from.face) else {
            return;
        };
        let on_sled = restated.carrier == Carrier::Sled;
        self.replaced(at, restated);
        let table_mm = if on_sled { offset_mm + self.shift_mm } else { offset_mm };
        self.set_zero(lamination, sander, at + 1, table_mm);
    }

    /// A setup gives way to another version of it; only what was worked by is kept.
    fn replaced(&mut self, at: usize, setup: Setup) {
        self.sure = self.made;
        let old = std::mem::replace(&mut self.setups[at], setup);
        if old.passes.iter().any(|pass| pass.number <= self.made) {
            self.earlier.push(old);
        }
    }

    /// Sets the gauges of the setups from `first` on by a zero of the bare table.
    fn set_zero(&mut self, lamination: &Lamination, sander: &Sander, first: usize, table_mm: f64) {
        let shift_mm = self.shift_mm;
        self.move_gauge(lamination, sander, first, |setup| match setup.carrier {
            Carrier::Sled => table_mm - shift_mm,
            Carrier::Flat => table_mm,
        });
    }

    /// Plans the setups from `first` on anew, each with the gauge's offset that `offset_mm` gives it.
    fn move_gauge(&mut self, lamination: &Lamination, sander: &Sander, first: usize, offset_mm: impl Fn(&Setup) -> f64) {
        for at in first..self.setups.len() {
            let setup = &self.setups[at];
            let gauge_offset_mm = offset_mm(setup);
            if self.is_begun(setup) {
                // Half done already: the gaps that are left move, and no pass is added.
                let moved = carried_on(setup, self.made, gauge_offset_mm, f64::INFINITY);
                self.replaced(at, moved);
                continue;
            }
            let before = at.checked_sub(1).and_then(|k| self.setups[k].passes.last()).map_or(self.made, |pass| pass.number);
            let fresh = LastCut { gap_mm: f64::INFINITY, paper: 0, gauge_offset_mm };
            self.plans += 1;
            let (sled, together) = (self.sled.as_ref(), self.together);
            let planned = remaining(&FollowedSchedule { lamination, sled, sander, setup, made: before, together }, fresh);
            if let Ok(found) = planned {
                let mut planned = Setup { turn_over: setup.turn_over, ..found.value };
                if let (Some(first), Some(paper)) = (planned.passes.first_mut(), self.paper_before(at)) {
                    first.new_paper = first.new_paper || first.paper != paper;
                }
                self.setups[at] = planned;
            }
        }
    }

    /// A pass of this setup, or of what it was before it was restated, has been made.
    fn is_begun(&self, setup: &Setup) -> bool {
        let same = |other: &Setup| other.carrier == setup.carrier && other.face == setup.face;
        let cut = |other: &Setup| other.passes.iter().any(|pass| pass.number <= self.made);
        cut(setup) || self.earlier.iter().any(|other| same(other) && cut(other))
    }

    /// The paper that is on when a setup begins.
    fn paper_before(&self, at: usize) -> Option<usize> {
        let planned = self.setups[..at].iter().rev().find_map(|setup| setup.passes.last());
        let made = || self.earlier.iter().chain(&self.setups[..at]).flat_map(|setup| &setup.passes);
        planned.or_else(|| made().filter(|pass| pass.number <= self.made).max_by_key(|pass| pass.number)).map(|pass| pass.paper)
    }
}

/// The passes of a setup after `made`, set by another zero of the gauge; what the strip has behind it already is left out.
fn carried_on(setup: &Setup, made: u32, offset_mm: f64, true_gap_mm: f64) -> Setup {
    let by_mm = setup.gauge_offset_mm - offset_mm;
    let mut moved = setup.clone();
    // A strip that has been cut on this face lies on it already.
    moved.turn_over = setup.turn_over && setup.passes.iter().all(|pass| made < pass.number);
    moved.passes.retain(|pass| made < pass.number && (pass.repeat || pass.gap_mm + setup.gauge_offset_mm < true_gap_mm));
    moved.passes.iter_mut().for_each(|pass| pass.gap_mm += by_mm);
    moved.last_gap_mm += by_mm;
    moved.gauge_offset_mm = offset_mm;
    moved
}

/// How far a sled as cut may stand off its drawing from place to place, ±mm.
fn stands_off_mm(build: &Build, plan: &SledPlan) -> f64 {
    let deck_mm = if 0.0 < plan.deck_mm { plan.sheet.spread_mm } else { 0.0 };
    build.shop.cutter.holds_mm().max(plan.tolerance_mm).hypot(deck_mm)
}

/// Heights out of all reason, and heights that stand against their neighbours: a sled as cut wanders, a slipped figure jumps.
///
/// Where every height is within ± `h` of its drawing, none stands further than `2 h` off the middle of its neighbours: `limit_mm`.
fn doubtful_heights(sled: &Sled, readings: &[HeightReading], limit_mm: f64, place: &Place) -> Result<(), Vec<Diagnostic>> {
    let asked = |doubts: Vec<Diagnostic>| if doubts.is_empty() { Ok(()) } else { Err(doubts) };
    // A plank that is taken as it is may be twice as high as one thought.
    let far = if sled.make.any_height() { 5.0 } else { 2.0 };
    let under = |reading: &HeightReading| 0.0 <= reading.u_mm && reading.u_mm <= sled.strip_length_mm;
    let doubts = readings.iter().enumerate().filter(|(_, reading)| under(reading)).filter_map(|(index, reading)| {
        let range = PlausibleRange::times(sled.surface_mm(reading.u_mm), 1.0 / far, far);
        question(reading.height_mm, range, "the sled", mm, &place.index(index))
    });
    asked(doubts.collect())?;
    // A height beyond the strip has no drawing to stand against; it is asked about as such.
    if readings.iter().any(|reading| reading.u_mm < -1e-6 || sled.strip_length_mm + 1e-6 < reading.u_mm) {
        return Ok(());
    }
    if let [only] = readings {
        let message =
            message!("one height alone, {} at {}, tells nothing of how even the sled is", mm(only.height_mm), mm(only.u_mm));
        let fault =
            Diagnostic::fault(place.clone(), message).hint("read it at both ends and in the middle, better every few inches");
        return Err(vec![fault]);
    }
    let off: Vec<f64> = readings.iter().map(|reading| reading.height_mm - sled.surface_mm(reading.u_mm)).collect();
    let against = |k: usize| {
        let from = k.saturating_sub(2).min(off.len().saturating_sub(5));
        let neighbours: Vec<f64> = (from..off.len()).filter(|other| *other != k).take(4).map(|other| off[other]).collect();
        off[k] - fit::median(&neighbours).unwrap_or(off[k])
    };
    let doubted = (0..off.len()).map(|k| (k, against(k))).filter(|(_, by)| limit_mm < by.abs());
    let doubts = doubted.map(|(k, by)| {
        let at = if readings.len() == 2 { place.clone() } else { place.index(k) };
        let message = message!(
            "at {} the sled reads {}, {} {} than its neighbours say",
            mm(readings[k].u_mm),
            mm(readings[k].height_mm),
            mm(by.abs()),
            if 0.0 < by { "higher" } else { "lower" }
        );
        Diagnostic::fault(at, message)
            .hint("read it again; if it stands so, mend that place, or say under `shop.cutter` how closely your cutter `holds`")
            .hint("the whole reading is not used until it is mended")
    });
    asked(doubts.take(if readings.len() == 2 { 1 } else { readings.len() }).collect())
}

/// Greatest less least.
fn spread(values: impl Iterator<Item = f64>) -> f64 {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), value| (a.min(value), b.max(value)));
    high - low
}

/// How the table leans by a run, over the width asked for, and what shows it.
fn leans(answer: &mut Answer, one: &CutReading, width_mm: f64, sander: &Sander) -> Option<Tilt> {
    let tilt = one.tilt(width_mm.max(one.apart_mm), sander.widest_mm)?;
    answer.observe(Observed::LeftLessRight, one.left_mm - one.right_mm, 0.0, Some(TELLABLE_MM));
    Some(tilt)
}
