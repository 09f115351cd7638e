//! What does a strip of the work tell: where the cutter stands, which passes are left, and whether it is done?
//!
//! A strip tells the true gap only where the cutter reached it: [`reached`] finds those places.

use super::super::{Answer, Found, Known, sentence, signed};
use super::{Bench, DONE_MM, Resized, lean_mm, spread, thickness_row, tilt_says};
use crate::diag::{Diagnostic, mm};
use crate::model::Build;
use crate::model::lamination::{Lamination, Stock};
use crate::model::log::{Across, Reading, Run};
use crate::model::workshop::Sander;
use crate::numeric::fit;
use crate::shop::budget::CALIPER_MM;
use crate::shop::drift::{self, Read};
use crate::shop::passes::{self, Carrier, Setup};
use crate::shop::plausible::{Band, question};

/// A thickness off its expected value by more was misread, or read elsewhere, mm.
const REASONABLE_MM: f64 = 2.0;
/// A strip that departs from its taper by more from place to place was read elsewhere, mm.
const UNLIKE_MM: f64 = 0.4;
/// A reading further under the others was not cut, mm: less drops places where the sled stands high, more takes in uncut wood.
const UNEVEN_MM: f64 = 6.0 * CALIPER_MM;

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
        answer.rows.extend(run.at.iter().zip(&planned).map(|(at, expected)| thickness_row(at, *expected, DONE_MM)));
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
        let lean = lean_mm(&at);
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
        let uneven_mm = spread(offsets.iter().copied());
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
                let table_mm = self.setups.first().map_or(0.0, |setup| match setup.carrier {
                    Carrier::Sled => setup.gauge_offset_mm + self.shift_mm,
                    Carrier::Flat => setup.gauge_offset_mm,
                });
                self.setups = found.value.setups;
                self.set_zero(lamination, sander, 0, table_mm);
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
        let off = |u_of: &dyn Fn(f64) -> f64| {
            spread(run.at.iter().map(|at| at.middle_mm() - lamination.strip_thickness_at(u_of(at.u_mm))))
        };
        let (as_places, as_stations) = (off(&|u| u), off(&|s| lamination.u_of(s)));
        2 <= run.at.len() && UNLIKE_MM < as_places && as_stations < 0.25 * as_places
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
