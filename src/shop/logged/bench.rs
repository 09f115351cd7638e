//! A lamination at the machine: its sled as measured, the passes that are left, and strips that came out otherwise.
//!
//! All gaps are reckoned as if the sled stood as drawn: a sled whose highest place lies `d` above its wanted height needs every gap
//! `d` wider, which is the same as a gauge that reads `d` too much. Offsets found on the bare table therefore lose `d`, those found
//! on the sled have it in them.
//!
//! Here is the state: which passes were made, which are left and where the gauge stands. What a strip of the work tells of it is in
//! `strip`, what scrap tells in `scrap`, and what the rest of the stack becomes in `resize`.

mod resize;
mod scrap;
mod strip;

pub use resize::{Resized, as_made, to_weight};
pub use scrap::test_strip;
pub use strip::Grinding;

use super::{Answer, Found, Measure, Row, sentence};
use crate::diag::{Diagnostic, mm};
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::log::{Across, Reading};
use crate::model::workshop::{Sander, ShimStock};
use crate::shop::budget::CALIPER_MM;
use crate::shop::correct::{self, corrections};
use crate::shop::drift::{self, Read, Restated, TELLABLE_MM, restate};
use crate::shop::passes::{self, Carrier, LastCut, Setup, remaining};
use crate::shop::plausible::{Band, question};
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
    /// What the measured sled adds to every gap, mm.
    pub shift_mm: f64,
    /// Passes made.
    pub made: u32,
    /// The zero in use was told on the sled, which has its height in it.
    zero_on_sled: bool,
    /// The true gap of a pass as its strip told it: the pass, mm.
    told: Option<(u32, f64)>,
    /// The latest readings of each strip, by its name.
    strips: BTreeMap<String, (u32, Vec<Across>)>,
}

impl Bench {
    /// The bench of a lamination that is ground on this machine; `None` where there is no plan for it.
    pub fn of(build: &Build, index: usize) -> Option<Bench> {
        let (lamination, sander) = (&build.laminations[index], build.sander.as_ref()?);
        if lamination.ground {
            return None;
        }
        let sled = match &build.sled {
            Some(plan) if !lamination.is_parallel() => Some(sled::build(lamination, plan, sander).ok()?.value),
            _ => None,
        };
        let schedule = passes::plan(lamination, sled.as_ref(), sander).ok()?.value;
        Some(Bench {
            lamination: index,
            sled,
            together: schedule.together,
            setups: schedule.setups,
            earlier: Vec::new(),
            shift_mm: 0.0,
            made: 0,
            zero_on_sled: false,
            told: None,
            strips: BTreeMap::new(),
        })
    }

    /// Strips of it have been cut.
    pub fn begun(&self) -> bool {
        0 < self.made
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

    /// The sled's measured heights: tape, and gaps that move with it.
    pub fn sled(&mut self, build: &Build, reading: &Reading, heights_mm: &[(f64, f64)], shims: &[ShimStock]) -> Answer {
        let lamination = &build.laminations[self.lamination];
        let mut answer = Answer::new(reading, "sled", format!("sled for {}", lamination.name));
        let (Some(sled), Some(plan), Some(sander)) = (&self.sled, &build.sled, &build.sander) else {
            let message = format!("`{}` is ground flat on the table and has no sled", lamination.name);
            return answer.asking(vec![
                Diagnostic::fault(reading.place.key("lamination"), message).hint("which lamination's sled is it?"),
            ]);
        };
        let readings: Vec<correct::Reading> =
            heights_mm.iter().map(|(u_mm, height_mm)| correct::Reading { u_mm: *u_mm, height_mm: *height_mm }).collect();
        let place = reading.place.key("heights");
        let doubts =
            readings.iter().enumerate().filter(|(_, reading)| 0.0 <= reading.u_mm && reading.u_mm <= sled.strip_length_mm);
        let doubts = doubts.filter_map(|(index, reading)| {
            let band = Band::times(sled.surface_mm(reading.u_mm), 0.5, 2.0);
            question(reading.height_mm, band, "the sled", mm, &place.index(index))
        });
        let doubts: Vec<Diagnostic> = doubts.collect();
        if !doubts.is_empty() {
            return answer.asking(doubts);
        }
        let found = match corrections(sled, &readings, shims, plan.tolerance_mm, &place) {
            Ok(found) => found,
            Err(questions) => return answer.asking(questions),
        };
        answer.says.extend(found.warnings.iter().map(sentence));
        let correction = found.value;
        answer.rows.extend(heights_mm.iter().map(|(u, height)| Row {
            what: format!("height at {}", mm(*u)),
            of: Measure::Thickness,
            reading: *height,
            model: sled.surface_mm(*u),
            band: Some(build.shop.cutter.holds_mm() + CALIPER_MM),
        }));
        if 2.0 * plan.tolerance_mm < correction.spread_before_mm {
            answer.say(format!(
                "From place to place the sled is off by {}; a strip would come out as uneven.",
                mm(correction.spread_before_mm)
            ));
        }
        let mut shift_mm = correction.bare_gap_shift_mm;
        if correction.spread_before_mm <= 2.0 * plan.tolerance_mm {
            answer.say(format!("It is even within {}: no tape is needed.", mm(2.0 * plan.tolerance_mm)));
        } else if shims.is_empty() {
            answer.say("The build file lists no shim stock to bring it up with: list tape and card under [shop] shims.");
        } else {
            shift_mm = correction.gap_shift_mm;
            for (u, made) in correction.tape.iter().filter(|(_, made)| 0 < made.piece_count()) {
                let pieces = made.in_words(shims);
                answer.say(format!("At {}: {pieces} ({} for {}).", mm(*u), mm(made.made_mm), mm(made.wanted_mm)));
            }
            answer.say(format!(
                "Each piece reaches half way to its neighbours. Then {} are left; measure again and log it.",
                mm(correction.spread_after_mm)
            ));
        }
        if CALIPER_MM < shift_mm.abs() {
            let wider = if 0.0 < shift_mm { "wider" } else { "narrower" };
            answer.say(format!("Every gap is {} {wider} than planned; the passes below have it.", mm(shift_mm.abs())));
        }
        // A zero told on this sled knows how it stood: only the tape that is put on now moves the gaps.
        let stood_mm = if self.zero_on_sled { correction.bare_gap_shift_mm } else { self.shift_mm };
        let moved_mm = shift_mm - stood_mm;
        // On the table alone the same zero lacks the sled's height, which is known only now.
        let table_mm = if self.zero_on_sled { correction.bare_gap_shift_mm - self.shift_mm } else { 0.0 };
        self.shift_mm = shift_mm;
        if 1e-9 < moved_mm.abs().max(table_mm.abs()) {
            self.move_gauge(lamination, sander, 0, |setup| match setup.carrier {
                Carrier::Sled => setup.gauge_offset_mm - moved_mm,
                Carrier::Flat => setup.gauge_offset_mm + table_mm,
            });
        }
        answer.found = Found::Tape(correction);
        answer
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

    /// The passes that are left of a setup, taken up from what a strip or scrap reads; `None` where no plan keeps to every limit from
    /// there: then the old one goes on at the new zero, and what it breaks is said.
    fn restated(
        &mut self,
        lamination: &Lamination,
        sander: &Sander,
        setup: &Setup,
        read: Read,
        one: &drift::Reading,
        answer: &mut Answer,
    ) -> Option<Restated> {
        let made = self.made;
        match restate(lamination, self.sled.as_ref(), sander, setup, made, self.together, read, one) {
            Ok(found) => {
                answer.says.extend(found.warnings.iter().map(sentence));
                let turn_over = setup.turn_over && setup.passes.iter().all(|pass| made < pass.number);
                let rest = Setup { turn_over, ..found.value.setup.clone() };
                self.take(lamination, sander, setup, rest, one.offset_mm());
                Some(found.value)
            }
            Err(limits) => {
                answer.says.extend(limits.iter().map(sentence));
                // Scrap says nothing of how far the work has come.
                let true_gap_mm = if read == Read::Work { one.true_gap_mm() } else { f64::INFINITY };
                let rest = carried_on(setup, made, one.offset_mm(), true_gap_mm);
                self.take(lamination, sander, setup, rest, one.offset_mm());
                None
            }
        }
    }

    /// The restated setup in the place of the one it comes from; setups after it are numbered on, and set by the same gauge.
    fn take(&mut self, lamination: &Lamination, sander: &Sander, from: &Setup, restated: Setup, offset_mm: f64) {
        let Some(at) = self.setups.iter().position(|setup| setup.carrier == from.carrier && setup.face == from.face) else {
            return;
        };
        let on_sled = restated.carrier == Carrier::Sled;
        self.earlier.push(std::mem::replace(&mut self.setups[at], restated));
        let table_mm = if on_sled { offset_mm + self.shift_mm } else { offset_mm };
        self.set_zero(lamination, sander, at + 1, table_mm);
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
                self.earlier.push(std::mem::replace(&mut self.setups[at], moved));
                continue;
            }
            let before = at.checked_sub(1).and_then(|k| self.setups[k].passes.last()).map_or(self.made, |pass| pass.number);
            let fresh = LastCut { gap_mm: f64::INFINITY, paper: 0, gauge_offset_mm };
            let planned = remaining(lamination, self.sled.as_ref(), sander, fresh, setup, before, self.together);
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

/// Left edge less right, half of it, over all readings, mm.
fn lean_mm(at: &[Across]) -> f64 {
    0.5 * at.iter().map(|a| a.left_mm - a.right_mm).sum::<f64>() / at.len() as f64
}

/// Greatest less least.
fn spread(values: impl Iterator<Item = f64>) -> f64 {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), value| (a.min(value), b.max(value)));
    high - low
}

/// A reading's thickness beside the model's.
fn thickness_row(at: &Across, model: f64, band_mm: f64) -> Row {
    Row {
        what: format!("thickness at {}", mm(at.u_mm)),
        of: Measure::Thickness,
        reading: at.middle_mm(),
        model,
        band: Some(band_mm),
    }
}

fn tilt_says(answer: &mut Answer, one: &drift::Reading, width_mm: f64, sander: &Sander) {
    let Some(tilt) = one.tilt(width_mm.max(one.apart_mm), sander.widest_mm) else { return };
    answer.rows.push(Row {
        what: "left edge less right".into(),
        of: Measure::Thickness,
        reading: one.left_mm - one.right_mm,
        model: 0.0,
        band: Some(TELLABLE_MM),
    });
    match tilt.raise {
        Some(side) => answer.say(format!(
            "The table leans: raise its {} side by {} over its width of {}, with the machine unplugged, and read a scrap again.",
            if side == drift::Side::Left { "left" } else { "right" },
            mm(tilt.raise_by_mm),
            mm(sander.widest_mm)
        )),
        None => answer.say("Left and right agree as far as a caliper tells."),
    }
}
