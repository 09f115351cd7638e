//! What does a strip of the work tell: where the cutter stands, which passes are left, and whether it is done?
//!
//! A strip tells the true gap only where the cutter reached it, and only as far as its places agree: [`super::agree`].

use super::super::{Answer, Found, Known, sentence, signed};
use super::agree::{self, ALONE_MM, Figure, NOT_USED, Told, ZERO_MM};
use super::{Bench, DONE_MM, Resized, StripRead, place_words, spread, thickness_row, tilt_says};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::model::lamination::{Lamination, Stock};
use crate::model::log::{Across, Reading, Run};
use crate::model::workshop::Sander;
use crate::numeric::fit;
use crate::shop::drift::{self, Read};
use crate::shop::passes::{self, Carrier, Setup};
use crate::shop::plausible::{Band, question};

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
    /// A word if it is too thin already.
    too_thin: Option<Diagnostic>,
    /// True gap less gauge at each place that was reached, mm.
    offsets_mm: Vec<f64>,
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
    /// Where the strip is too thin: what the rest of the stack becomes.
    pub resized: Option<Resized>,
}

impl Bench {
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
        answer.questions = self.questions(lamination, reading, run);
        if !answer.questions.is_empty() {
            return answer;
        }
        let planned = self.expected(run);
        let told = match self.told_by(build, strip, reading, run, &mut answer) {
            Ok(found) => found,
            Err(fault) => return answer.asking(vec![fault]),
        };
        self.made = run.after;
        let finished = self.left().next().is_none();
        let read = StripRead { after: run.after, date: reading.date.clone(), at: run.at.clone(), offsets_mm: told.offsets_mm };
        self.strips.insert(strip.to_owned(), read);
        answer.rows.extend(
            run.at
                .iter()
                .zip(&planned)
                .map(|(at, expected)| thickness_row(at, &place_words(lamination, at.u_mm), *expected, DONE_MM)),
        );
        let off = |at: &Across| edges(at).into_iter().map(|t| t - lamination.strip_thickness_at(at.u_mm)).collect::<Vec<_>>();
        let worst_mm = run.at.iter().flat_map(off).max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
        let thin_mm = run.at.iter().flat_map(off).fold(f64::INFINITY, f64::min);
        let left = self.left().count();
        let offset_mm = told.zero.map(|zero| zero.offset_mm);
        let half_width_mm = told.zero.map(|zero| zero.half_width_mm);
        let on_sled = self.cut_by(run.after).is_some_and(|(setup, _)| setup.carrier == Carrier::Sled);
        let zero_mm = offset_mm.map(|offset| offset + if on_sled { self.shift_mm } else { 0.0 });
        if let (Some(stands), Some(half)) = (zero_mm, half_width_mm) {
            answer.say(format!("The cutter stands {} ± {} from where the gauge says.", signed(stands), mm(half)));
        }
        let mut resized = None;
        if thin_mm < -DONE_MM && self.on_last_face(run.after) {
            answer.says.extend(told.too_thin.iter().map(sentence));
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
        self.matched(strip, &mut answer);
        answer.found = Found::Strip(Grinding {
            strip: strip.to_owned(),
            after: run.after,
            offset_mm,
            zero_mm,
            half_width_mm,
            worst_mm,
            done: left == 0 && worst_mm.abs() <= DONE_MM,
            left,
            resized,
        });
        answer
    }

    /// What a strip tells of the cutter; the passes that are left are restated from it. Readings that contradict each other, the zero in
    /// use, or a strip that was never cut, are a question, and nothing has moved.
    fn told_by(
        &mut self,
        build: &Build,
        strip: &str,
        reading: &Reading,
        run: &Run,
        answer: &mut Answer,
    ) -> Result<OfCutter, Diagnostic> {
        let lamination = &build.laminations[self.lamination];
        let Some(sander) = &build.sander else { return Ok(OfCutter::default()) };
        let place = reading.place.key("readings");
        let lean = agree::lean_mm(&run.at, run.apart_mm.is_some(), &place)?;
        let Some((setup, gap)) = self.cut_by(run.after) else {
            rough(lamination, run, &place)?;
            self.as_it_came(lamination, sander, strip, run, answer);
            return Ok(OfCutter::default());
        };
        let setup = setup.clone();
        let surface = |u: f64| self.surface_mm(setup.carrier, u);
        let gauge = run.gauge_mm.unwrap_or(gap);
        let figure = |at: &Across| Figure {
            offset_mm: at.middle_mm() + surface(at.u_mm) - gauge,
            // A face that was made true first comes out within what strips are held to.
            as_it_came: setup.before.thinnest_mm - DONE_MM < at.middle_mm(),
        };
        let figures: Vec<Figure> = run.at.iter().map(figure).collect();
        let good_mm = self.good_mm(build, setup.carrier);
        let in_use_mm =
            self.told.filter(|(pass, _)| *pass == run.after).map_or(setup.gauge_offset_mm, |(_, gap_mm)| gap_mm - gap);
        let (reached, zero) = match agree::told(&figures, good_mm).map_err(|doubt| doubt.question("this strip", &place))? {
            None => return Ok(OfCutter::default()),
            Some(Told::Alone(at)) => {
                let off_mm = figures[at].offset_mm - in_use_mm;
                if ALONE_MM < off_mm.abs() {
                    let message = format!(
                        "one place alone says that the cutter stands {} from where it stood, and one figure cannot be checked",
                        signed(off_mm)
                    );
                    return Err(Diagnostic::fault(place.index(at), message)
                        .hint("read it at two more places that the last pass reached, or send scrap through and log that")
                        .hint(NOT_USED));
                }
                if good_mm < off_mm.abs() {
                    answer.say(format!(
                        "One place alone moves no zero, and it is {} off: read two more where the last pass reached, or log scrap.",
                        signed(off_mm)
                    ));
                }
                return Ok(OfCutter::default());
            }
            Some(Told::Agreed(reached, zero)) => (reached, zero),
        };
        if ZERO_MM < (zero.offset_mm - in_use_mm).abs() {
            let message = format!(
                "by this strip the cutter stands {} from where it stood; new paper moves it by some tenths of a millimetre",
                signed(zero.offset_mm - in_use_mm)
            );
            return Err(Diagnostic::fault(place, message)
                .hint("count the passes that were made, and see that strip, places and list are of the same lamination")
                .hint(NOT_USED));
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
        let one = drift::Reading {
            gauge_mm: gauge,
            surface_mm: highest_mm,
            left_mm: middle + 0.5 * lean,
            right_mm: middle - 0.5 * lean,
            apart_mm: run.apart_mm.unwrap_or(0.0),
        };
        if let Some(fault) = drift::uncut(lamination, &setup, &one) {
            return Err(Diagnostic { place: reading.place.clone(), ..fault });
        }
        let uneven_mm = spread(offsets_mm.iter().copied());
        if 2.0 * DONE_MM < uneven_mm {
            answer.say(format!(
                "From place to place it departs from its taper by {}: does it lie flat, the right way round, against its stop, and on its own sled? Measure the sled again.",
                mm(uneven_mm)
            ));
        }
        self.made = run.after;
        let too_thin = self
            .restated(lamination, sander, &setup, Read::Work, &one, answer)
            .and_then(|restated| restated.too_thin(lamination));
        self.told = Some((run.after, one.true_gap_mm()));
        self.zero_on_sled = setup.carrier == Carrier::Sled;
        tilt_says(answer, &one, lamination.stock.width_mm, sander);
        Ok(OfCutter { zero: Some(zero), too_thin, offsets_mm })
    }

    /// Stock read before the first pass: the schedule begins from what is there.
    fn as_it_came(&mut self, lamination: &Lamination, sander: &Sander, strip: &str, run: &Run, answer: &mut Answer) {
        // Strips of the other names that were read before the first pass go through the machine with it.
        let others = self.strips.iter().filter(|(name, read)| *name != strip && read.after == 0).flat_map(|(_, read)| &read.at);
        let all: Vec<f64> = run.at.iter().chain(others).flat_map(edges).collect();
        let (least, most) = all.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), t| (a.min(*t), b.max(*t)));
        let stock = Stock { thickness_mm: 0.5 * (least + most), spread_mm: 0.5 * (most - least), ..lamination.stock };
        let thickest = lamination.finished.curve().max().y;
        if least + 1e-9 < thickest {
            answer.say(format!("It came {} thick, and the finished lamination wants {}.", mm(least), mm(thickest)));
        }
        self.plans += 1;
        match passes::plan(&Lamination { stock, ..lamination.clone() }, self.sled.as_ref(), sander) {
            Ok(found) => {
                answer.says.extend(found.warnings.iter().map(sentence));
                let table_mm = self.setups.first().map_or(0.0, |setup| match setup.carrier {
                    Carrier::Sled => setup.gauge_offset_mm + self.shift_mm,
                    Carrier::Flat => setup.gauge_offset_mm,
                });
                self.setups = found.value.setups;
                self.set_zero(lamination, sander, 0, table_mm);
                let listed = (lamination.stock.thickness_mm, lamination.stock.spread_mm);
                answer.say(format!(
                    "The passes begin from stock of {} to {}, the build file says {} to {}.",
                    mm(least),
                    mm(most),
                    mm(listed.0 - listed.1),
                    mm(listed.0 + listed.1)
                ));
            }
            Err(faults) => answer.says.extend(faults.iter().map(sentence)),
        }
    }

    /// The strip that was read beside those read after the same pass: the other one of a pair, or the nearest of a batch.
    fn matched(&self, strip: &str, answer: &mut Answer) {
        let Some(own) = self.strips.get(strip) else { return };
        // Where two strips differ most: the place, and by how much this one is thicker.
        let beside = |other: &StripRead| -> Option<(f64, f64)> {
            let apart = own.at.iter().filter_map(|a| {
                let b = other.at.iter().find(|b| (a.u_mm - b.u_mm).abs() < 1.0)?;
                Some((a.u_mm, a.middle_mm() - b.middle_mm()))
            });
            apart.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
        };
        let mut others: Vec<(&str, f64, f64)> = self
            .strips
            .iter()
            .filter(|(name, other)| *name != strip && other.after == own.after)
            .filter_map(|(name, other)| beside(other).map(|(u, by)| (name.as_str(), u, by)))
            .collect();
        others.sort_by(|a, b| a.2.abs().total_cmp(&b.2.abs()));
        let than = |by: f64| if 0.0 < by { "thicker" } else { "thinner" };
        match others.as_slice() {
            [] => {}
            [(other, u, by)] if DONE_MM < by.abs() => answer.say(format!(
                "After pass {} strip {strip} is {} {} than strip {other} at {}.",
                own.after,
                mm(by.abs()),
                than(*by),
                mm(*u)
            )),
            [(other, ..)] => answer.say(format!("Strips {strip} and {other} match within {}.", mm(DONE_MM))),
            [(near, u, by), .., (far, far_u, far_by)] => {
                answer.say(format!(
                    "Of {} strips read after pass {} strip {near} is nearest to it: {}.",
                    others.len() + 1,
                    own.after,
                    if DONE_MM < by.abs() {
                        format!("{} {} at {}", mm(by.abs()), than(-by), mm(*u))
                    } else {
                        format!("they match within {}", mm(DONE_MM))
                    }
                ));
                if DONE_MM < far_by.abs() {
                    answer.say(format!("Strip {far} is farthest: {} {} at {}.", mm(far_by.abs()), than(-far_by), mm(*far_u)));
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
    fn counted_wrongly(&self, lamination: &Lamination, run: &Run) -> bool {
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
}

/// Both edges of a reading, or the one number where they are the same.
pub(super) fn edges(at: &Across) -> Vec<f64> {
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

/// Stock whose places contradict each other.
fn rough(lamination: &Lamination, run: &Run, readings: &Place) -> Result<(), Diagnostic> {
    let thickness: Vec<f64> = run.at.iter().map(Across::middle_mm).collect();
    let Some(middle) = fit::median(&thickness) else { return Ok(()) };
    let off = thickness.iter().map(|t| (t - middle).abs()).enumerate();
    match off.max_by(|a, b| a.1.total_cmp(&b.1)) {
        Some((k, by)) if ROUGH_MM.max(3.0 * lamination.stock.spread_mm) < by => {
            let message = format!("this stock reads {} here, {} off the middle of its places", mm(thickness[k]), mm(by));
            let place = if thickness.len() < 3 { readings.clone() } else { readings.index(k) };
            Err(Diagnostic::fault(place, message)
                .hint("read it again; stock that is so uneven says so under `stock.spread` in the build file, or is planed first")
                .hint("the whole reading is not used until it is mended"))
        }
        _ => Ok(()),
    }
}
