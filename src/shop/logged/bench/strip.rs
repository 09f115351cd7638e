//! What does a strip of the work tell: where the cutter stands, which passes are left, and whether it is done?
//!
//! A strip tells the true gap only where the cutter reached it, and only as far as its places agree: [`super::agree`].

use super::super::{Answer, Case, Finding, Observed, signed};
use super::agree::{self, ALONE_MM, ReadFigure, RunTells, ZERO_MM, ZERO_STAYS};
use super::{Bench, DONE_MM, HeldLamination, Restating, StripRead, leans, spread};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::lamination::{Lamination, Stock};
use crate::model::log::{Across, Reading, StripRun};
use crate::model::workshop::Sander;
use crate::numeric::fit;
use crate::shop::drift::{self, CutReading, Specimen, Tilt};
use crate::shop::passes::{self, Carrier, Setup};
use crate::shop::plausible::{PlausibleRange, question};

/// A thickness off its expected value by more was misread, or read elsewhere, mm.
const REASONABLE_MM: f64 = 2.0;
/// A strip that departs from its taper by more from place to place was read elsewhere, mm.
const UNLIKE_MM: f64 = 0.4;
/// Stock whose places lie further off their middle was misread, mm: 0.012 in. Where the build file knows it to be more uneven, three
/// times that counts.
const ROUGH_MM: f64 = 0.3;

/// What a strip tells of the cutter.
#[derive(Debug, Default)]
struct OfCutter {
    /// `None` where it tells nothing.
    zero: Option<agree::Zero>,
    /// True gap less gauge at each place that was reached, mm.
    offsets_mm: Vec<f64>,
    /// A word if it is too thin already.
    too_thin: Option<Diagnostic>,
    came: Option<AsItCame>,
    alone_mm: Option<f64>,
    uneven_mm: Option<f64>,
    restated: Option<Restating>,
    tilt: Option<Tilt>,
}

/// What a strip's readings come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Grinding {
    /// The strip of a pair or a batch; empty where it has no name.
    pub strip: String,
    /// Passes made when it was read.
    pub after: u32,
    /// True gap less gauge, as if the sled stood as drawn, mm; `None` where the strip tells none: not cut, or cut at one place alone.
    pub offset_mm: Option<f64>,
    /// The same for the bare table, the measured sled counted, and half of the interval that holds it, mm.
    pub zero_mm: Option<f64>,
    pub half_width_mm: Option<f64>,
    /// Thickness less taper where they differ most, mm.
    pub worst_mm: f64,
    /// All passes are made and the strip is within `DONE_MM`.
    pub done: bool,
    /// Passes that are left in all setups.
    pub left: usize,
    /// Stock that has not been cut.
    pub came: Option<AsItCame>,
    /// One place alone was reached, and is so much off the zero in use, mm.
    pub alone_mm: Option<f64>,
    /// Greatest less least departure from the taper, where it is more than a strip may have, mm.
    pub uneven_mm: Option<f64>,
    pub restated: Option<Restating>,
    pub tilt: Option<Tilt>,
    /// It came out under its taper.
    pub thin: Option<Thin>,
    /// The strips that were read after the same pass.
    pub matched: Option<Matched>,
    /// The lower limb has another lamination of this name, or none: this strip was held against the upper limb's.
    pub of_upper_alone: bool,
}

/// Stock as it came, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct AsItCame {
    pub min_mm: f64,
    pub max_mm: f64,
    /// What the finished lamination wants where it is thickest.
    pub wants_mm: f64,
    /// The passes begin from it.
    pub planned: bool,
    pub notes: Vec<Diagnostic>,
}

/// A strip under its taper.
#[derive(Debug, Clone, PartialEq)]
pub struct Thin {
    /// At its thinnest reading, mm.
    pub by_mm: f64,
    /// The passes left have no wood to take.
    pub already: Option<Diagnostic>,
    pub held: Option<HeldLamination>,
}

/// A strip beside others.
#[derive(Debug, Clone, PartialEq)]
pub struct Matched {
    /// Of them all, this one counted.
    pub strips: usize,
    pub nearest: Beside,
    /// Where there are more than two.
    pub farthest: Option<Beside>,
}

/// Another strip, where it differs most: the place, and by how much this one is thicker, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    pub strip: String,
    pub u_mm: f64,
    pub by_mm: f64,
}

impl Bench {
    /// A strip of the work after a pass.
    pub(in super::super) fn strip(&mut self, case: &Case<'_>, strip: &str, run: &StripRun) -> Answer {
        let reading = case.reading;
        let lamination = &case.now.build.laminations[self.lamination];
        let mut answer = Answer::asking(reading, self.questions(lamination, reading, run));
        if !answer.questions.is_empty() {
            if case.is_other_in_lower(lamination) {
                let hint = format!(
                    "it was held against `{}` of the upper limb: log the lower limb's strips beside its own file",
                    lamination.name
                );
                answer.questions = answer.questions.into_iter().map(|question| question.hint(hint.clone())).collect();
            }
            return answer;
        }
        let planned = self.expected(run);
        let came_out = self.setups.iter().flat_map(|setup| &setup.passes).all(|pass| pass.number <= run.after);
        let told = match self.told_by(case, strip, run, &mut answer) {
            Ok(found) => found,
            Err(fault) => return Answer::asking(reading, vec![fault]),
        };
        self.read_after(run.after);
        let read =
            StripRead { after: run.after, came_out, date: reading.date.clone(), at: run.at.clone(), offsets_mm: told.offsets_mm };
        self.strips.insert(strip.to_owned(), read);
        for (at, expected) in run.at.iter().zip(&planned) {
            answer.observe(Observed::ThicknessAt { u_mm: at.u_mm }, at.middle_mm(), *expected, Some(DONE_MM));
        }
        let off = |at: &Across| edges(at).into_iter().map(|t| t - lamination.strip_thickness_at(at.u_mm)).collect::<Vec<_>>();
        let worst_mm = run.at.iter().flat_map(off).max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
        let thin_mm = run.at.iter().flat_map(off).fold(f64::INFINITY, f64::min);
        let left = self.left().count();
        let on_sled = self.cut_by(run.after).is_some_and(|(setup, _)| setup.carrier == Carrier::Sled);
        let thin = (thin_mm < -DONE_MM && self.on_last_face(run.after)).then(|| Thin {
            by_mm: -thin_mm,
            already: told.too_thin,
            held: self.resize(case, &mut answer),
        });
        answer.finding = Finding::Strip(Box::new(Grinding {
            strip: strip.to_owned(),
            after: run.after,
            offset_mm: told.zero.map(|zero| zero.offset_mm),
            zero_mm: told.zero.map(|zero| zero.offset_mm + if on_sled { self.shift_mm } else { 0.0 }),
            half_width_mm: told.zero.map(|zero| zero.half_width_mm),
            worst_mm,
            done: left == 0 && worst_mm.abs() <= DONE_MM,
            left,
            came: told.came,
            alone_mm: told.alone_mm,
            uneven_mm: told.uneven_mm,
            restated: told.restated,
            tilt: told.tilt,
            thin,
            matched: self.matched(strip),
            of_upper_alone: case.is_other_in_lower(lamination),
        }));
        answer
    }

    /// What a strip tells of the cutter; the passes that are left are restated from it. Readings that contradict each other, the zero in
    /// use, or a strip that was never cut, are a question, and nothing has moved.
    fn told_by(&mut self, case: &Case<'_>, strip: &str, run: &StripRun, answer: &mut Answer) -> Result<OfCutter, Diagnostic> {
        let (build, reading) = (&case.now.build, case.reading);
        let lamination = &build.laminations[self.lamination];
        let Some(sander) = &build.sander else { return Ok(OfCutter::default()) };
        let place = reading.place.key("readings");
        let lean = agree::lean_mm(run, &place)?;
        let Some((setup, gap)) = self.cut_by(run.after) else {
            rough(lamination, run, &place)?;
            return Ok(OfCutter { came: Some(self.as_it_came(lamination, sander, strip, run)), ..OfCutter::default() });
        };
        let setup = setup.clone();
        let surface = |u: f64| self.surface_mm(setup.carrier, u);
        let gauge = run.gauge_mm.unwrap_or(gap);
        let figure = |at: &Across| ReadFigure {
            u_mm: at.u_mm,
            offset_mm: at.middle_mm() + surface(at.u_mm) - gauge,
            // A face that was made true first comes out within what strips are held to.
            as_it_came: setup.before.thinnest_mm - DONE_MM < at.middle_mm(),
        };
        let figures: Vec<ReadFigure> = run.at.iter().map(figure).collect();
        let good_mm = self.good_mm(build, setup.carrier);
        let in_use_mm =
            self.told.filter(|(pass, _)| *pass == run.after).map_or(setup.gauge_offset_mm, |(_, gap_mm)| gap_mm - gap);
        let told = match agree::told(&figures, good_mm) {
            Err(doubt) => Some(agree::other_taper(&figures, good_mm).ok_or_else(|| doubt.question("this strip", &place))?),
            Ok(told) => told,
        };
        let (reached, zero) = match told {
            None => return Ok(OfCutter::default()),
            Some(RunTells::Alone(at)) => {
                let off_mm = figures[at].offset_mm - in_use_mm;
                if ALONE_MM < off_mm.abs() {
                    let message = message!(
                        "one place alone says that the cutter stands {} from where it stood, and one figure cannot be checked",
                        signed(off_mm)
                    );
                    return Err(Diagnostic::fault(place.index(at), message)
                        .hint("read it at two more places that the last pass reached, or send scrap through and log that")
                        .hint(ZERO_STAYS));
                }
                return Ok(OfCutter { alone_mm: Some(off_mm).filter(|off| good_mm < off.abs()), ..OfCutter::default() });
            }
            Some(RunTells::Agreed(reached, zero)) => (reached, zero),
        };
        if ZERO_MM < (zero.offset_mm - in_use_mm).abs() {
            let message = message!(
                "by this strip the cutter stands {} from where it stood; new paper moves it by some tenths of a millimetre",
                signed(zero.offset_mm - in_use_mm)
            );
            return Err(Diagnostic::fault(place, message)
                .hint("count the passes that were made, and see that strip, places and list are of the same lamination")
                .hint(ZERO_STAYS));
        }
        let offsets_mm: Vec<f64> = reached.iter().map(|k| figures[*k].offset_mm).collect();
        // Strips that went through one gap on one day tell it together, each as much as the others.
        let others =
            self.strips.iter().filter(|(name, read)| *name != strip && read.after == run.after && read.date == reading.date);
        let mut all: Vec<&[f64]> = others.map(|(_, read)| read.offsets_mm.as_slice()).filter(|told| !told.is_empty()).collect();
        all.push(&offsets_mm);
        let medians: Vec<f64> = all.iter().filter_map(|told| agree::zero(told, good_mm)).map(|zero| zero.offset_mm).collect();
        let offset_mm = fit::mean(&medians).map_or(zero.offset_mm, |mean| mean.value);
        let farthest = all.iter().flat_map(|told| told.iter()).map(|told| (told - offset_mm).abs()).fold(0.0, f64::max);
        let zero = agree::Zero { offset_mm, half_width_mm: farthest + good_mm };
        // Where the sled stands highest the strip is thinnest.
        let highest_mm = reached.iter().map(|k| surface(run.at[*k].u_mm)).fold(0.0, f64::max);
        let middle = gauge + zero.offset_mm - highest_mm;
        let one = CutReading {
            gauge_mm: gauge,
            surface_mm: highest_mm,
            left_mm: middle + 0.5 * lean,
            right_mm: middle - 0.5 * lean,
            apart_mm: run.apart_mm.unwrap_or(0.0),
        };
        if let Some(fault) = drift::uncut(lamination, &setup, &one) {
            return Err(Diagnostic { place: reading.place.clone(), ..fault });
        }
        let uneven_mm = Some(spread(offsets_mm.iter().copied())).filter(|uneven| 2.0 * DONE_MM < *uneven);
        self.made = run.after;
        let (restating, restated) = self.restated(case, &setup, Specimen::Work, &one);
        self.told = Some((run.after, one.true_gap_mm()));
        self.zero_on_sled = setup.carrier == Carrier::Sled;
        Ok(OfCutter {
            zero: Some(zero),
            offsets_mm,
            too_thin: restated.and_then(|restated| restated.too_thin(lamination)),
            uneven_mm,
            restated: Some(restating),
            tilt: leans(answer, &one, lamination.stock.width_mm, sander),
            ..OfCutter::default()
        })
    }

    /// Stock read before the first pass: the schedule begins from what is there.
    fn as_it_came(&mut self, lamination: &Lamination, sander: &Sander, strip: &str, run: &StripRun) -> AsItCame {
        // Strips of the other names that were read before the first pass go through the machine with it.
        let others = self.strips.iter().filter(|(name, read)| *name != strip && read.after == 0).flat_map(|(_, read)| &read.at);
        let all: Vec<f64> = run.at.iter().chain(others).flat_map(edges).collect();
        let (min_mm, max_mm) = all.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), t| (a.min(*t), b.max(*t)));
        let stock = Stock { thickness_mm: 0.5 * (min_mm + max_mm), spread_mm: 0.5 * (max_mm - min_mm), ..lamination.stock };
        let wants_mm = lamination.finished.curve().max().y;
        self.plans += 1;
        let (planned, notes) = match passes::plan(&Lamination { stock, ..lamination.clone() }, self.sled.as_ref(), sander) {
            Ok(found) => {
                let table_mm = self.setups.first().map_or(0.0, |setup| match setup.carrier {
                    Carrier::Sled => setup.gauge_offset_mm + self.shift_mm,
                    Carrier::Flat => setup.gauge_offset_mm,
                });
                self.setups = found.value.setups;
                self.set_zero(lamination, sander, 0, table_mm);
                (true, found.warnings)
            }
            Err(faults) => (false, faults),
        };
        AsItCame { min_mm, max_mm, wants_mm, planned, notes }
    }

    /// The strip that was read beside those read after the same pass: the other one of a pair, or all of a batch.
    fn matched(&self, strip: &str) -> Option<Matched> {
        let own = self.strips.get(strip)?;
        let beside = |(name, other): (&String, &StripRead)| -> Option<Beside> {
            let apart = own.at.iter().filter_map(|a| {
                let b = other.at.iter().find(|b| (a.u_mm - b.u_mm).abs() < 1.0)?;
                Some((a.u_mm, a.middle_mm() - b.middle_mm()))
            });
            let (u_mm, by_mm) = apart.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
            Some(Beside { strip: name.clone(), u_mm, by_mm })
        };
        let of_pass = self.strips.iter().filter(|(name, other)| *name != strip && other.after == own.after);
        let mut others: Vec<Beside> = of_pass.filter_map(beside).collect();
        others.sort_by(|a, b| a.by_mm.abs().total_cmp(&b.by_mm.abs()));
        let strips = others.len() + 1;
        let farthest = others.pop()?;
        let (nearest, farthest) = if others.is_empty() { (farthest, None) } else { (others.swap_remove(0), Some(farthest)) };
        Some(Matched { strips, nearest, farthest })
    }

    /// Readings that cannot be meant.
    fn questions(&self, lamination: &Lamination, reading: &Reading, run: &StripRun) -> Vec<Diagnostic> {
        let place = reading.place.key("readings");
        let length = lamination.strip_length_mm();
        let mut asked = Vec::new();
        let expected = self.expected(run);
        let last = self.setups.iter().chain(&self.earlier).flat_map(|setup| &setup.passes).map(|pass| pass.number).max();
        if last.is_some_and(|last| last < run.after) {
            let message = format!("`{}` has {} passes, and this is after pass {}", lamination.name, last.unwrap_or(0), run.after);
            asked.push(
                Diagnostic::fault(reading.place.key("after"), message).hint("count the passes of the list that was followed"),
            );
        }
        if run.after < self.sure {
            let message = format!("this is after pass {}, and pass {} has been read already", run.after, self.sure);
            asked.push(Diagnostic::fault(reading.place.key("after"), message).hint("readings count in the order of the work"));
        }
        for (index, at) in run.at.iter().enumerate() {
            if at.u_mm < -1e-6 || length + 1e-6 < at.u_mm {
                let message = message!("{} along it is not on the strip, which is {} long", mm(at.u_mm), mm(length));
                asked.push(Diagnostic::fault(place.index(index), message).hint("is it measured from the strip's first end?"));
                continue;
            }
            let (target, stock) = (lamination.strip_thickness_at(at.u_mm), lamination.stock.thickness_mm);
            // Between somewhat less than finished and somewhat more than it came.
            let expected = expected.get(index).copied().unwrap_or(target);
            let range = PlausibleRange { expected, min: target - REASONABLE_MM.min(0.4 * target), max: stock + REASONABLE_MM };
            for value in edges(at) {
                asked.extend(question(value, range, "the strip", mm, &place.index(index)));
            }
            if REASONABLE_MM.min(0.3 * target) < (at.left_mm - at.right_mm).abs() {
                let message = message!("left and right differ by {}", mm((at.left_mm - at.right_mm).abs()));
                asked.push(Diagnostic::fault(place.index(index), message).hint("are both read at this place, in this unit?"));
            }
        }
        asked.extend(gauge_question(reading, run, &self.setups));
        if asked.is_empty() && self.on_last_face(run.after) {
            asked.extend(self.counted_wrongly(lamination, run).then(|| {
                let (message, hint) = if run.from_centre {
                    (
                        "these readings fit places along the strip, and not stations from the bow's centre",
                        "write counted_from = \"end\" if the places count from the strip's butt, or end A of a full strip",
                    )
                } else {
                    (
                        "these readings fit stations from the bow's centre, and not places along the strip",
                        "write counted_from = \"centre\" for stations; else give the distance from the strip's first end",
                    )
                };
                Diagnostic::fault(place, message).hint(hint)
            }));
        }
        asked
    }

    /// Counted as said the readings fit no even gap, counted from the other end they do.
    fn counted_wrongly(&self, lamination: &Lamination, run: &StripRun) -> bool {
        let off = |u_of: &dyn Fn(f64) -> f64| {
            spread(run.at.iter().map(|at| at.middle_mm() - lamination.strip_thickness_at(u_of(at.u_mm))))
        };
        let other = |u: f64| if run.from_centre { lamination.counted_from_centre_mm(u) } else { lamination.u_of(u) };
        let (as_said, otherwise) = (off(&|u| u), off(&other));
        2 <= run.at.len() && UNLIKE_MM < as_said && otherwise < 0.25 * as_said
    }

    /// That pass belongs to the setup that gives the taper.
    fn on_last_face(&self, after: u32) -> bool {
        let last = self.setups.last();
        self.cut_by(after).is_some_and(|(setup, _)| last.is_some_and(|l| l.carrier == setup.carrier && l.face == setup.face))
    }

    /// Thickness that the schedule as followed gives at the places of a run.
    fn expected(&self, run: &StripRun) -> Vec<f64> {
        let cut = self.cut_by(run.after);
        let of = |at: &Across| match &cut {
            Some((setup, gap)) => {
                (gap + setup.gauge_offset_mm - self.surface_mm(setup.carrier, at.u_mm)).min(setup.before.nominal_mm)
            }
            None => self.setups.first().map_or(0.0, |setup| setup.before.nominal_mm),
        };
        run.at.iter().map(of).collect()
    }
}

/// Both edges of a reading, or the one number where they are the same.
pub(super) fn edges(at: &Across) -> Vec<f64> {
    if (at.left_mm - at.right_mm).abs() < 1e-9 { vec![at.left_mm] } else { vec![at.left_mm, at.right_mm] }
}

fn gauge_question(reading: &Reading, run: &StripRun, setups: &[Setup]) -> Option<Diagnostic> {
    let gauge = run.gauge_mm?;
    let min = setups.iter().map(|setup| setup.last_gap_mm).fold(f64::INFINITY, f64::min);
    let max = setups.iter().map(|setup| setup.thickest_contact_gap_mm).fold(0.0, f64::max);
    let last = setups.last().map_or(gauge, |setup| setup.last_gap_mm);
    let range = PlausibleRange { expected: last, min: min - 3.0 * REASONABLE_MM, max: max + 3.0 * REASONABLE_MM };
    question(gauge, range, "the gauge", mm, &reading.place.key("gauge"))
}

/// Stock whose places contradict each other.
fn rough(lamination: &Lamination, run: &StripRun, readings: &Place) -> Result<(), Diagnostic> {
    let thickness: Vec<f64> = run.at.iter().map(Across::middle_mm).collect();
    let Some(middle) = fit::median(&thickness) else { return Ok(()) };
    let off = thickness.iter().map(|t| (t - middle).abs()).enumerate();
    match off.max_by(|a, b| a.1.total_cmp(&b.1)) {
        Some((k, by)) if ROUGH_MM.max(3.0 * lamination.stock.spread_mm) < by => {
            let message = message!("this stock reads {} here, {} off the middle of its places", mm(thickness[k]), mm(by));
            let place = if thickness.len() < 3 { readings.clone() } else { readings.index(k) };
            Err(Diagnostic::fault(place, message)
                .hint("read it again; stock that is so uneven says so under `stock.spread` in the build file, or is planed first")
                .hint("the whole reading is not used until it is mended"))
        }
        _ => Ok(()),
    }
}
