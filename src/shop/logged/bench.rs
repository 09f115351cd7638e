//! A lamination at the machine: its sled as measured, the passes that are left, and strips that came out otherwise.
//!
//! All gaps are reckoned as if the sled stood as drawn: a sled whose highest place lies `d` above its wanted height needs every gap
//! `d` wider, which is the same as a gauge that reads `d` too much. Offsets found on the bare table therefore lose `d`, those found
//! on the sled have it in them.
//!
//! A strip tells the true gap only where the cutter reached it: [`reached`] finds those places.

use super::{Answer, Found, Known, Measure, Row, TakeOver, Value, sentence, signed};
use crate::diag::{Diagnostic, mm, newtons};
use crate::mechanics::bow::Bow;
use crate::mechanics::{draw, sizing};
use crate::model::Build;
use crate::model::build::{Sizing, SizingHow};
use crate::model::lamination::{Lamination, Stock};
use crate::model::log::{Across, Reading, Run};
use crate::model::taper::{Form, Taper};
use crate::model::workshop::{Sander, ShimStock};
use crate::numeric::fit;
use crate::numeric::interp::{Between, Curve};
use crate::shop::budget::CALIPER_MM;
use crate::shop::correct::{self, corrections};
use crate::shop::drift::{self, Read, TELLABLE_MM, restate};
use crate::shop::passes::{self, Carrier, LastCut, Setup, remaining};
use crate::shop::plausible::{Band, question};
use crate::shop::sled::{self, Sled};
use std::collections::BTreeMap;

/// A strip within this of its taper is done, mm: 0.002 in, what matched pairs are held to; common practice, no source.
pub const DONE_MM: f64 = 0.0508;
/// A thickness off its expected value by more was misread, or read elsewhere, mm.
const REASONABLE_MM: f64 = 2.0;
/// New paper moves the zero of a gauge by some tenths of a millimetre; more was misread, mm.
const ZERO_MM: f64 = 0.75;
/// A strip that departs from its taper by more from place to place was read elsewhere, mm.
const UNLIKE_MM: f64 = 0.4;
/// Places of one scrap tell the same gap within this, mm: a cutter's error along a sled is less, uncut wood is more.
const SCRAP_MM: f64 = 0.35;
/// A reading further under the others was not cut, mm: less drops places where the sled stands high, more takes in uncut wood.
const UNEVEN_MM: f64 = 6.0 * CALIPER_MM;

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
    pub runs: u32,
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

/// What a strip's readings come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Grinding {
    /// True gap less gauge, as if the sled stood as drawn, mm; `None` where the strip has not been cut.
    pub offset_mm: Option<f64>,
    /// Thickness less taper where they differ most, mm.
    pub worst_mm: f64,
    /// All passes are made and the strip is within [`DONE_MM`].
    pub done: bool,
    /// Passes that are left in all setups.
    pub left: usize,
    /// Where the strip is too thin: what the rest of the stack becomes.
    pub resized: Option<Resized>,
}

/// The stack with a lamination held as it came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Resized {
    /// The bow with that lamination as it is and all others as planned, N.
    pub as_it_is_n: f64,
    /// And with the others brought to the weight: indices, butt and tip before and after; empty where none may change.
    pub changes: Vec<sizing::Change>,
    pub weight_n: f64,
    pub wanted_n: f64,
    /// The lamination as measured, station and thickness, mm.
    pub ground_mm: Vec<(f64, f64)>,
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
            runs: schedule.runs,
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
                let pieces: Vec<String> =
                    made.pieces.iter().map(|(stock, count)| format!("{count} × {}", shims[*stock].of)).collect();
                answer.say(format!("At {}: {} ({} for {}).", mm(*u), pieces.join(" + "), mm(made.made_mm), mm(made.wanted_mm)));
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
                Carrier::Sled => Some(setup.gauge_offset_mm - moved_mm),
                Carrier::Flat => Some(setup.gauge_offset_mm + table_mm),
            });
        }
        answer.found = Found::Tape(correction);
        answer
    }

    /// A strip of the work after a pass.
    pub fn strip(
        &mut self,
        build: &Build,
        reading: &Reading,
        strip: &str,
        run: &Run,
        busy: &[usize],
        known: &Known<'_>,
    ) -> Answer {
        let lamination = &build.laminations[self.lamination];
        let about = if strip.is_empty() { lamination.name.clone() } else { format!("{} {strip}", lamination.name) };
        let mut answer = Answer::new(reading, "strip", format!("{about} after pass {}", run.after));
        let Some(sander) = &build.sander else { return answer };
        answer.questions = self.questions(lamination, reading, run);
        if !answer.questions.is_empty() {
            return answer;
        }
        let planned = self.expected(run);
        let (offset_mm, too_thin) = match self.told_by(lamination, sander, run, &mut answer) {
            Ok(found) => found,
            Err(fault) => return answer.asking(vec![Diagnostic { place: reading.place.clone(), ..fault }]),
        };
        self.made = run.after;
        let finished = self.left().next().is_none();
        self.strips.insert(strip.to_owned(), (run.after, run.at.clone()));
        for (at, expected) in run.at.iter().zip(&planned) {
            answer.rows.push(Row {
                what: format!("thickness at {}", mm(at.u_mm)),
                of: Measure::Thickness,
                reading: at.middle_mm(),
                model: *expected,
                band: Some(DONE_MM),
            });
        }
        let off = |at: &Across| edges(at).into_iter().map(|t| t - lamination.strip_thickness_at(at.u_mm)).collect::<Vec<_>>();
        let worst_mm = run.at.iter().flat_map(off).max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
        let thin_mm = run.at.iter().flat_map(off).fold(f64::INFINITY, f64::min);
        let left = self.left().count();
        if let Some(offset) = offset_mm {
            let on_sled = self.cut_by(run.after).is_some_and(|(setup, _)| setup.carrier == Carrier::Sled);
            let stands = offset + if on_sled { self.shift_mm } else { 0.0 };
            answer.say(format!("The cutter stands {} from where the gauge says.", signed(stands)));
        }
        let mut resized = None;
        if thin_mm < -DONE_MM && self.on_last_face(run.after) {
            answer.says.extend(too_thin.iter().map(sentence));
            answer.say(format!("At its thinnest reading it is {} under its taper, and stays so.", mm(-thin_mm)));
            resized = self.resize(build, busy, known, &mut answer);
        } else if finished && worst_mm.abs() <= DONE_MM {
            answer.say(format!("Done: within {} of its taper everywhere it was read.", mm(DONE_MM)));
        } else if 0 < left {
            answer.say(match left {
                1 => "1 pass is left, restated below.".to_owned(),
                left => format!("{left} passes are left, restated below."),
            });
        } else {
            answer.say(format!("No pass is left, and it is {} off its taper at worst.", signed(worst_mm)));
        }
        self.matched(&mut answer);
        answer.found =
            Found::Strip(Grinding { offset_mm, worst_mm, done: left == 0 && worst_mm.abs() <= DONE_MM, left, resized });
        answer
    }

    /// What a strip tells of the cutter: the true gap less the gauge, and a word if it is too thin; the passes that are left are
    /// restated from it. A strip read where it was never cut is a fault that asks about it.
    fn told_by(
        &mut self,
        lamination: &Lamination,
        sander: &Sander,
        run: &Run,
        answer: &mut Answer,
    ) -> Result<(Option<f64>, Option<Diagnostic>), Diagnostic> {
        let Some((setup, gap)) = self.cut_by(run.after) else {
            self.as_it_came(lamination, sander, run, answer);
            return Ok((None, None));
        };
        let setup = setup.clone();
        let surface = |u: f64| self.surface_mm(setup.carrier, u);
        let gauge = run.gauge_mm.unwrap_or(gap);
        // Strips of a pair go through one gap: those read after the same pass tell it together.
        let others = self.strips.values().filter(|(after, _)| *after == run.after).flat_map(|(_, at)| at.iter().copied());
        let own = reached(&run.at, gauge, &surface);
        let at: Vec<Across> = own.into_iter().chain(reached(&others.collect::<Vec<_>>(), gauge, &surface)).collect();
        let Some(highest) = at.first() else { return Ok((None, None)) };
        let offsets: Vec<f64> = at.iter().map(|a| a.middle_mm() + surface(a.u_mm) - gauge).collect();
        let mean = fit::mean(&offsets).map_or(0.0, |mean| mean.value);
        let lean = 0.5 * at.iter().map(|a| a.left_mm - a.right_mm).sum::<f64>() / at.len() as f64;
        let middle = gauge + mean - surface(highest.u_mm);
        let one = drift::Reading {
            gauge_mm: gauge,
            surface_mm: surface(highest.u_mm),
            left_mm: middle + lean,
            right_mm: middle - lean,
            apart_mm: run.apart_mm.unwrap_or(0.0),
        };
        if let Some(fault) = drift::uncut(lamination, &setup, &one) {
            return Err(fault);
        }
        let (low, high) = offsets.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), d| (a.min(*d), b.max(*d)));
        if 2.0 * DONE_MM < high - low {
            answer.say(format!(
                "From place to place it departs from its taper by {}: does it lie flat, the right way round, against its stop, and on its own sled? Measure the sled again.",
                mm(high - low)
            ));
        }
        self.made = run.after;
        let mut too_thin = None;
        match restate(lamination, self.sled.as_ref(), sander, &setup, run.after, self.together, Read::Work, &one) {
            Ok(found) => {
                answer.says.extend(found.warnings.iter().map(sentence));
                too_thin = found.value.too_thin(lamination);
                self.take(lamination, sander, &setup, found.value.setup, one.offset_mm());
            }
            // No plan keeps to every limit from here: the old one goes on at the new zero, and what it breaks is said.
            Err(limits) => {
                answer.says.extend(limits.iter().map(sentence));
                let moved = carried_on(&setup, run.after, one.offset_mm(), one.true_gap_mm());
                self.take(lamination, sander, &setup, moved, one.offset_mm());
            }
        }
        self.told = Some((run.after, one.true_gap_mm()));
        self.zero_on_sled = setup.carrier == Carrier::Sled;
        tilt_says(answer, &one, lamination.stock.width_mm, sander);
        Ok((Some(one.offset_mm()), too_thin))
    }

    /// Stock read before the first pass: the schedule begins from what is there.
    fn as_it_came(&mut self, lamination: &Lamination, sander: &Sander, run: &Run, answer: &mut Answer) {
        // Strips of the other names that were read before the first pass go through the machine with it.
        let others = self.strips.values().filter(|(after, _)| *after == 0).flat_map(|(_, at)| at);
        let all: Vec<f64> = run.at.iter().chain(others).flat_map(edges).collect();
        let (least, most) = all.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), t| (a.min(*t), b.max(*t)));
        let stock = Stock { thickness_mm: 0.5 * (least + most), spread_mm: 0.5 * (most - least), ..lamination.stock };
        let thickest = lamination.finished.curve().greatest().1;
        if least + 1e-9 < thickest {
            answer.say(format!("It came {} thick, and the finished lamination wants {}.", mm(least), mm(thickest)));
        }
        match passes::plan(&Lamination { stock, ..lamination.clone() }, self.sled.as_ref(), sander) {
            Ok(found) => {
                answer.says.extend(found.warnings.iter().map(sentence));
                let offset_mm = self.setups.first().map_or(0.0, |setup| setup.gauge_offset_mm)
                    + if self.setups.first().is_some_and(|setup| setup.carrier == Carrier::Sled) { self.shift_mm } else { 0.0 };
                let shift_mm = self.shift_mm;
                self.setups = found.value.setups;
                self.move_gauge(lamination, sander, 0, |setup| match setup.carrier {
                    Carrier::Sled => Some(offset_mm - shift_mm),
                    Carrier::Flat => Some(offset_mm),
                });
                answer.say(format!(
                    "The passes begin from stock of {} to {}, the build file says {} ± {}.",
                    mm(least),
                    mm(most),
                    mm(lamination.stock.thickness_mm),
                    mm(lamination.stock.spread_mm)
                ));
            }
            Err(faults) => answer.says.extend(faults.iter().map(sentence)),
        }
    }

    /// Strips of a pair that differ at the same place.
    fn matched(&self, answer: &mut Answer) {
        let strips: Vec<_> = self.strips.iter().collect();
        for (i, (name, (after, first))) in strips.iter().enumerate() {
            for (other, (other_after, second)) in strips[i + 1..].iter().filter(|(_, (other_after, _))| other_after == after) {
                let apart = first.iter().filter_map(|a| {
                    let b = second.iter().find(|b| (a.u_mm - b.u_mm).abs() < 1.0)?;
                    Some((a.u_mm, a.middle_mm() - b.middle_mm()))
                });
                let worst = apart.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
                if let Some((u, difference)) = worst {
                    answer.say(if DONE_MM < difference.abs() {
                        format!(
                            "After pass {other_after} strip {name} is {} {} than strip {other} at {}.",
                            mm(difference.abs()),
                            if 0.0 < difference { "thicker" } else { "thinner" },
                            mm(u)
                        )
                    } else {
                        format!("Strips {name} and {other} match within {}.", mm(DONE_MM))
                    });
                }
            }
        }
    }

    /// Readings that cannot be meant.
    fn questions(&self, lamination: &Lamination, reading: &Reading, run: &Run) -> Vec<Diagnostic> {
        let place = reading.place.key("readings");
        let length = lamination.strip_length_mm();
        let mut asked = Vec::new();
        let last = self.setups.iter().chain(&self.earlier).flat_map(|setup| &setup.passes).map(|pass| pass.number).max();
        if last.is_some_and(|last| last < run.after) {
            let message = format!("`{}` has {} passes, and this is after pass {}", lamination.name, last.unwrap_or(0), run.after);
            asked.push(
                Diagnostic::fault(reading.place.key("after"), message).hint("count the passes of the list that was followed"),
            );
        }
        if run.after < self.made {
            let message = format!("this is after pass {}, and pass {} has been read already", run.after, self.made);
            asked.push(Diagnostic::fault(reading.place.key("after"), message).hint("readings count in the order of the work"));
        }
        for (index, at) in run.at.iter().enumerate() {
            if at.u_mm < -1e-6 || length + 1e-6 < at.u_mm {
                let message = format!("{} along it is not on the strip, which is {} long", mm(at.u_mm), mm(length));
                asked.push(Diagnostic::fault(place.index(index), message).hint("is it measured from the strip's first end?"));
                continue;
            }
            let (target, stock) = (lamination.strip_thickness_at(at.u_mm), lamination.stock.thickness_mm);
            // Between somewhat less than finished and somewhat more than it came.
            let band = Band { expected: target, least: target - REASONABLE_MM.min(0.4 * target), most: stock + REASONABLE_MM };
            for value in edges(at) {
                asked.extend(question(value, band, "the strip", mm, &place.index(index)));
            }
            if REASONABLE_MM.min(0.3 * target) < (at.left_mm - at.right_mm).abs() {
                let message = format!("left and right differ by {}", mm((at.left_mm - at.right_mm).abs()));
                asked.push(Diagnostic::fault(place.index(index), message).hint("are both read at this place, in this unit?"));
            }
        }
        asked.extend(gauge_question(reading, run, &self.setups));
        if asked.is_empty() && self.on_last_face(run.after) {
            asked.extend(self.stations_given(lamination, run).then(|| {
                let message = "these readings fit stations from the bow's centre, and not places along the strip".to_owned();
                Diagnostic::fault(place, message)
                    .hint("give the distance from the strip's first end: its butt, or end A of a full strip")
            }));
        }
        asked
    }

    /// Taken as places the readings fit no even gap, taken as stations they do.
    fn stations_given(&self, lamination: &Lamination, run: &Run) -> bool {
        let spread = |u_of: &dyn Fn(f64) -> f64| {
            let off = run.at.iter().map(|at| at.middle_mm() - lamination.strip_thickness_at(u_of(at.u_mm)));
            let (low, high) = off.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), d| (a.min(d), b.max(d)));
            high - low
        };
        let (as_places, as_stations) = (spread(&|u| u), spread(&|s| lamination.u_of(s)));
        2 <= run.at.len() && UNLIKE_MM < as_places && as_stations < 0.25 * as_places
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

    /// That pass belongs to the setup that gives the taper.
    fn on_last_face(&self, after: u32) -> bool {
        let last = self.setups.last();
        self.cut_by(after).is_some_and(|(setup, _)| last.is_some_and(|l| l.carrier == setup.carrier && l.face == setup.face))
    }

    fn surface_mm(&self, carrier: Carrier, u_mm: f64) -> f64 {
        match (carrier, &self.sled) {
            (Carrier::Sled, Some(sled)) => sled.surface_mm(u_mm),
            _ => 0.0,
        }
    }

    /// Thickness that the schedule as followed gives at the places of a run.
    fn expected(&self, run: &Run) -> Vec<f64> {
        let cut = self.cut_by(run.after);
        let of = |at: &Across| match &cut {
            Some((setup, gap)) => {
                (gap + setup.gauge_offset_mm - self.surface_mm(setup.carrier, at.u_mm)).min(setup.before.nominal_mm)
            }
            None => self.setups.first().map_or(0.0, |setup| setup.before.nominal_mm),
        };
        run.at.iter().map(of).collect()
    }

    /// The restated setup in the place of the one it comes from; setups after it are numbered on, and set by the same gauge.
    fn take(&mut self, lamination: &Lamination, sander: &Sander, from: &Setup, restated: Setup, offset_mm: f64) {
        let Some(at) = self.setups.iter().position(|setup| setup.carrier == from.carrier && setup.face == from.face) else {
            return;
        };
        let on_sled = restated.carrier == Carrier::Sled;
        self.earlier.push(std::mem::replace(&mut self.setups[at], restated));
        let table_mm = if on_sled { offset_mm + self.shift_mm } else { offset_mm };
        let shift_mm = self.shift_mm;
        self.move_gauge(lamination, sander, at + 1, |setup| match setup.carrier {
            Carrier::Sled => Some(table_mm - shift_mm),
            Carrier::Flat => Some(table_mm),
        });
    }

    /// Plans the setups from `first` on anew, where `offset` gives one another offset of the gauge.
    fn move_gauge(&mut self, lamination: &Lamination, sander: &Sander, first: usize, offset: impl Fn(&Setup) -> Option<f64>) {
        for at in first..self.setups.len() {
            let before =
                at.checked_sub(1).map_or(self.made, |k| self.setups[k].passes.last().map_or(self.made, |pass| pass.number));
            let setup = &self.setups[at];
            let same = |other: &Setup| other.carrier == setup.carrier && other.face == setup.face;
            let cut = |other: &Setup| other.passes.iter().any(|pass| pass.number <= self.made);
            let begun = cut(setup) || self.earlier.iter().any(|other| same(other) && cut(other));
            let offset_mm = offset(setup).unwrap_or(setup.gauge_offset_mm);
            let fresh = LastCut { gap_mm: f64::INFINITY, paper: 0, gauge_offset_mm: offset_mm };
            let planned = if begun {
                // Half done already: the gaps that are left move, and no pass is added.
                let moved = carried_on(setup, self.made, offset_mm, f64::INFINITY);
                Some(moved)
            } else {
                let turn_over = setup.turn_over;
                remaining(lamination, self.sled.as_ref(), sander, fresh, setup, before, self.together)
                    .ok()
                    .map(|found| Setup { turn_over, ..found.value })
                    .map(|mut setup| {
                        if let (Some(first), Some(paper)) = (setup.passes.first_mut(), self.paper_before(at)) {
                            first.new_paper = first.new_paper || first.paper != paper;
                        }
                        setup
                    })
            };
            if let Some(planned) = planned {
                let old = std::mem::replace(&mut self.setups[at], planned);
                if begun {
                    self.earlier.push(old);
                }
            }
        }
    }

    /// The paper that is on when a setup begins.
    fn paper_before(&self, at: usize) -> Option<usize> {
        let planned = self.setups[..at].iter().rev().find_map(|setup| setup.passes.last());
        let made = || self.earlier.iter().chain(&self.setups[..at]).flat_map(|setup| &setup.passes);
        planned.or_else(|| made().filter(|pass| pass.number <= self.made).max_by_key(|pass| pass.number)).map(|pass| pass.paper)
    }

    /// What the rest of the stack becomes with this lamination as it came out; `busy` are laminations that are being ground.
    fn resize(&self, build: &Build, busy: &[usize], known: &Known<'_>, answer: &mut Answer) -> Option<Resized> {
        let lamination = &build.laminations[self.lamination];
        let ground_mm = self.as_measured(lamination)?;
        let held = Lamination { finished: Taper::ground(ground_mm.clone()).ok()?, ground: true, ..lamination.clone() };
        answer.take_over.push(TakeOver {
            key: format!("lamination \"{}\", ground", lamination.name),
            value: Value::Stations(ground_mm.clone()),
        });
        answer.say("In the build file `ground` stands instead of `thickness`, `taper` and the stock's thickness.");
        let target = build.target?;
        let mut changed = build.clone();
        changed.laminations[self.lamination] = held;
        let wanted_n = target.draw_weight_n + target.finishing_n;
        let weight = |build: &Build| Bow::of(build, known.options).and_then(|bow| draw::weight(&bow, known.options));
        let as_it_is_n = weight(&changed).ok()?.0;
        answer.rows.push(Row {
            what: "draw weight with this strip as it is".into(),
            of: Measure::Force,
            reading: as_it_is_n,
            model: weight(build).ok()?.0,
            band: None,
        });
        let free = |index: &usize| {
            let other = &build.laminations[*index];
            *index != self.lamination && !other.ground && !busy.contains(index)
        };
        let asked: Vec<usize> = build.sizing.iter().flat_map(|sizing| sizing.change.clone()).filter(free).collect();
        let others = || (0..build.laminations.len()).filter(free).collect::<Vec<_>>();
        let change = if asked.is_empty() { others() } else { asked };
        let mut resized = Resized { as_it_is_n, changes: Vec::new(), weight_n: as_it_is_n, wanted_n, ground_mm };
        if change.is_empty() {
            answer.say(format!(
                "No other lamination is left to change: the bow will draw {} instead of {}. Keep the strip for a lighter bow, or grind a new one.",
                newtons(as_it_is_n),
                newtons(wanted_n)
            ));
            return Some(resized);
        }
        changed.sizing = Some(Sizing { change, how: SizingHow::Thickness });
        match sizing::size(&changed, known.options) {
            Ok(found) => {
                resized.changes = found.value.changes.clone();
                resized.weight_n = found.value.weight_n;
                for change in &resized.changes {
                    let name = &build.laminations[change.lamination].name;
                    answer.say(format!(
                        "To reach {} with it: `{name}` at its butt {} instead of {}, at its tip {} instead of {}.",
                        newtons(wanted_n),
                        mm(change.butt_mm[1]),
                        mm(change.butt_mm[0]),
                        mm(change.tip_mm[1]),
                        mm(change.tip_mm[0])
                    ));
                    let key = |what: &str| format!("lamination \"{name}\", {what}");
                    let sized = &found.value.build.laminations[change.lamination];
                    if sized.finished.form() == Form::Stations {
                        let points = sized.finished.curve().points().to_vec();
                        answer.take_over.push(TakeOver { key: key("taper.stations"), value: Value::Stations(points) });
                        continue;
                    }
                    answer.take_over.push(TakeOver { key: key("thickness"), value: Value::Length(change.butt_mm[1]) });
                    if matches!(sized.finished.form(), Form::Straight { .. }) {
                        answer.take_over.push(TakeOver { key: key("taper.tip"), value: Value::Length(change.tip_mm[1]) });
                    }
                }
            }
            Err(faults) => answer.says.extend(faults.iter().map(sentence)),
        }
        Some(resized)
    }

    /// The lamination as its strips were measured last: the taper and its departure, straight between readings, at stations.
    fn as_measured(&self, lamination: &Lamination) -> Option<Vec<(f64, f64)>> {
        let last = self.strips.values().map(|(after, _)| *after).max()?;
        // Where it is still too thick, the passes that are left take the rest.
        let most = if self.left().next().is_some() { 0.0 } else { f64::INFINITY };
        let mut off: Vec<(f64, f64)> = Vec::new();
        for (_, at) in self.strips.values().filter(|(after, _)| *after == last) {
            off.extend(at.iter().map(|a| {
                (
                    lamination.station_at(a.u_mm).max(lamination.from_mm),
                    (a.middle_mm() - lamination.strip_thickness_at(a.u_mm)).min(most),
                )
            }));
        }
        off.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Both strips, or both halves of a full one, at a place: their mean.
        let mut joined: Vec<(f64, Vec<f64>)> = Vec::new();
        for (s, d) in off.into_iter().filter(|(s, _)| *s <= lamination.to_mm) {
            match joined.last_mut() {
                Some((at, all)) if (s - *at).abs() < 1.0 => all.push(d),
                _ => joined.push((s, vec![d])),
            }
        }
        let points: Vec<(f64, f64)> =
            joined.into_iter().map(|(s, all)| (s, all.iter().sum::<f64>() / all.len() as f64)).collect();
        let departure = match points.as_slice() {
            [] => return None,
            [only] => Curve::constant(only.1),
            several => Curve::through(several.to_vec(), Between::Straight).ok()?,
        };
        let (first, end) = (points[0].0, points[points.len() - 1].0);
        let mut stations: Vec<f64> =
            [lamination.from_mm, lamination.to_mm].into_iter().chain(points.iter().map(|p| p.0)).collect();
        stations.extend(lamination.finished.corners().filter(|s| lamination.from_mm < *s && *s < lamination.to_mm));
        stations.sort_by(f64::total_cmp);
        stations.dedup_by(|a, b| (*a - *b).abs() < 1.0);
        // Beyond the outermost readings their departure goes on as it is.
        Some(stations.into_iter().map(|s| (s, lamination.finished.at(s) + departure.at(s.clamp(first, end)))).collect())
    }
}

/// Scrap through the machine: the gauge's zero, the table's lean, and along a sled how its taper comes out.
pub fn test_strip(build: &Build, reading: &Reading, bench: Option<&mut Bench>, on_sled: bool, run: &Run) -> Answer {
    let unnamed = bench.is_none();
    let gauge = run.gauge_mm.unwrap_or(0.0);
    let mut answer = Answer::new(reading, "test strip", format!("scrap at a gauge of {}", mm(gauge)));
    let sled = bench.as_ref().and_then(|bench| bench.sled.as_ref()).filter(|_| on_sled);
    let surface = |u: f64| sled.map_or(0.0, |sled| sled.surface_mm(u));
    let place = reading.place.key("readings");
    for (index, at) in run.at.iter().enumerate() {
        let expected = gauge - surface(at.u_mm);
        let band = Band::within(expected, ZERO_MM.min(0.4 * expected.abs()));
        for value in edges(at) {
            answer.questions.extend(question(value, band, "the scrap", mm, &place.index(index)));
        }
    }
    let offset = |at: &Across| at.middle_mm() + surface(at.u_mm) - gauge;
    let (low, high) = run.at.iter().map(offset).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), d| (a.min(d), b.max(d)));
    if answer.questions.is_empty() && SCRAP_MM < high - low {
        let message = format!("the readings of this scrap disagree about the gap by {}", mm(high - low));
        let hint = "was it cut everywhere it was read, the right way round, and on this sled?";
        answer.questions.push(Diagnostic::fault(place, message).hint(hint));
    }
    if !answer.questions.is_empty() {
        return answer;
    }
    for at in &run.at {
        answer.rows.push(Row {
            what: format!("thickness at {}", mm(at.u_mm)),
            of: Measure::Thickness,
            reading: at.middle_mm(),
            model: gauge - surface(at.u_mm),
            band: Some(CALIPER_MM),
        });
    }
    let offsets: Vec<f64> = run.at.iter().map(|at| at.middle_mm() + surface(at.u_mm) - gauge).collect();
    let Some(mean) = fit::mean(&offsets) else { return answer };
    let lean_mm = 0.5 * run.at.iter().map(|at| at.left_mm - at.right_mm).sum::<f64>() / run.at.len() as f64;
    let band = mean.half_width.map_or(String::new(), |half| format!(" ± {}", mm(half)));
    answer.say(format!("The cutter stands {}{band} from where the gauge says.", signed(mean.value)));
    if on_sled {
        let along: Vec<(f64, f64)> = run.at.iter().zip(&offsets).map(|(at, offset)| (at.u_mm, *offset)).collect();
        if let Some(line) = fit::line(&along)
            && let Some([_, half]) = line.half_widths
            && half < line.slope.abs()
        {
            let length = bench.as_ref().and_then(|bench| bench.sled.as_ref()).map_or(0.0, |sled| sled.strip_length_mm);
            answer.say(format!(
                "Along the sled the taper comes out {} by {} ± {} over the strip: measure the sled's heights and log them.",
                if line.slope < 0.0 { "too steep" } else { "too shallow" },
                mm((line.slope * length).abs()),
                mm(half * length)
            ));
        }
    }
    let one = drift::Reading {
        gauge_mm: gauge,
        surface_mm: 0.0,
        left_mm: gauge + mean.value + lean_mm,
        right_mm: gauge + mean.value - lean_mm,
        apart_mm: run.apart_mm.unwrap_or(0.0),
    };
    let mut lean_over = None;
    if let Some(sander) = &build.sander {
        let width =
            bench.as_ref().map_or(0.0, |bench| f64::from(bench.together) * build.laminations[bench.lamination].stock.width_mm);
        lean_over = one.tilt(width.max(run.apart_mm.unwrap_or(0.0)), sander.widest_mm).map(|tilt| tilt.over_width_mm);
        tilt_says(&mut answer, &one, width, sander);
        if let Some(bench) = bench {
            let lamination = &build.laminations[bench.lamination];
            let nominal_mm = if on_sled { mean.value } else { mean.value - bench.shift_mm };
            let flat_mm = if on_sled { mean.value + bench.shift_mm } else { mean.value };
            bench.made = bench.made.max(run.after);
            bench.zero_on_sled = on_sled;
            let before = bench.made;
            let half_done = bench.setups.iter().position(|setup| setup.passes.iter().any(|pass| before < pass.number));
            if let Some(at) = half_done {
                let setup = bench.begun_setup(at);
                let offset_mm = if setup.carrier == Carrier::Sled { nominal_mm } else { flat_mm };
                let one = drift::Reading {
                    left_mm: one.left_mm - mean.value + offset_mm,
                    right_mm: one.right_mm - mean.value + offset_mm,
                    ..one
                };
                match restate(lamination, bench.sled.as_ref(), sander, &setup, before, bench.together, Read::Scrap, &one) {
                    Ok(found) => {
                        answer.says.extend(found.warnings.iter().map(sentence));
                        let turn_over = setup.turn_over && setup.passes.iter().all(|pass| before < pass.number);
                        bench.take(lamination, sander, &setup, Setup { turn_over, ..found.value.setup }, offset_mm);
                        answer.say(format!(
                            "{} passes are left for `{}`, restated below.",
                            bench.left().count(),
                            lamination.name
                        ));
                    }
                    Err(limits) => {
                        answer.says.extend(limits.iter().map(sentence));
                        let moved = carried_on(&setup, before, offset_mm, f64::INFINITY);
                        bench.take(lamination, sander, &setup, moved, offset_mm);
                    }
                }
            }
        }
    }
    if unnamed {
        answer.say("Name the lamination in hand, and its passes are restated from this; each paper and each lamination wants its own scrap.");
    }
    answer.found = Found::Zero { offset_mm: mean.value, half_width_mm: mean.half_width, lean_mm: lean_over };
    answer
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

/// Both edges of a reading, or the one number where they are the same.
fn edges(at: &Across) -> Vec<f64> {
    if (at.left_mm - at.right_mm).abs() < 1e-9 { vec![at.left_mm] } else { vec![at.left_mm, at.right_mm] }
}

fn gauge_question(reading: &Reading, run: &Run, setups: &[Setup]) -> Option<Diagnostic> {
    let gauge = run.gauge_mm?;
    let least = setups.iter().map(|setup| setup.last_gap_mm).fold(f64::INFINITY, f64::min);
    let most = setups.iter().map(|setup| setup.thickest_contact_gap_mm).fold(0.0, f64::max);
    let last = setups.last().map_or(gauge, |setup| setup.last_gap_mm);
    let band = Band { expected: last, least: least - 3.0 * REASONABLE_MM, most: most + 3.0 * REASONABLE_MM };
    question(gauge, band, "the gauge", mm, &reading.place.key("gauge"))
}

/// The readings that tell the gap. The cutter reaches the sled's high places first: from there downward readings count until
/// they lie under those before by more than calipers and tape explain, which is where it has not been.
fn reached(at: &[Across], gauge_mm: f64, surface: &impl Fn(f64) -> f64) -> Vec<Across> {
    let offset = |a: &Across| a.middle_mm() + surface(a.u_mm) - gauge_mm;
    let mut falling = at.to_vec();
    falling.sort_by(|a, b| surface(b.u_mm).total_cmp(&surface(a.u_mm)));
    let mut cut: Vec<Across> = Vec::new();
    for reading in falling {
        let mean = cut.iter().map(offset).sum::<f64>() / cut.len().max(1) as f64;
        if !cut.is_empty() && offset(&reading) < mean - UNEVEN_MM {
            break;
        }
        cut.push(reading);
    }
    cut
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
