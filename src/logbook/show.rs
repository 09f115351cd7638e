//! Answers as text, and as the grids that pages show.

use super::fleet;
use super::summary::{self, fine};
use crate::diag::Place;
use crate::job::Job;
use crate::mechanics::tillering::{LOWER, UPPER};
use crate::model::Build;
use crate::model::log::{Of, Reading};
use crate::shop::blank::{Removal, WoodLever};
use crate::shop::even::RoundWork;
use crate::shop::logged::words::{PartMark, about, limb, marked, observed, says, told_mm};
use crate::shop::logged::{Answer, Answers, Bench, Finding, Measure, Observation, OneBow, TakeOver, TakenValue};
use crate::shop::passes::Carrier;
use crate::units::{Quantity, System, fixed, trim_zeros};
use crate::write::table::plain;
use serde::Serialize;
use std::collections::BTreeMap;

/// Which of many readings of one kind are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadingsShown {
    All,
    /// The last one of each kind, the others summarised.
    Summarised,
}

/// All answers, what is left at the machine, and the keys of the build file that would take a reading.
///
/// Where a lamination has many readings of strips or scrap, all but the last are summarised, unless all are asked for.
pub fn text(opened: &Job, answers: &Answers, name: &str, shown: ReadingsShown) -> String {
    let build = opened.build();
    let count = answers.answers.len();
    let plural = if count == 1 { "" } else { "s" };
    let mut text = format!("{}: {count} reading{plural} in {name} (sizes in {})\n", build.title, build.units.length_unit());
    text += &each(build, answers, shown, |_| true);
    for (serial, bow) in &answers.shop.by_serial {
        text += &left_of(build, serial, bow);
    }
    text += &fleet::text(opened, &answers.shop);
    let take = latest(answers);
    if !take.is_empty() {
        text +=
            "\nNothing above has changed the build file. To take a reading over, write it there, or let `--write NEW` do it:\n";
        for taken in take {
            text += &format!("  {}\n", take_text(opened, taken));
        }
        if answers.shop.has_serials() {
            text += "What is of one bow by its number stays with its reading.\n";
        }
    }
    text
}

/// The card of one bow: by which build file it is made, its readings, and what is left to do with it; `None` where the log has none of this number.
pub fn card(opened: &Job, answers: &Answers, serial: &str, shown: ReadingsShown) -> Option<String> {
    let (build, bow) = (opened.build(), answers.shop.by_serial.get(serial)?);
    let made_by = bow.build_file.as_ref().map_or(String::new(), |path| format!(", made by {path}"));
    let text = format!("{}: bow {serial}{made_by} (sizes in {})\n", build.title, build.units.length_unit());
    Some(text + &each(build, answers, shown, |answer| answer.reading.bow() == serial) + &left_of(build, serial, bow))
}

/// The answers that are wanted, one after the other.
fn each(build: &Build, answers: &Answers, shown: ReadingsShown, wanted: impl Fn(&Answer) -> bool) -> String {
    let mut text = String::new();
    let all = shown == ReadingsShown::All;
    let mut many = if all { Vec::new() } else { summary::many(answers) };
    for (index, answer) in answers.answers.iter().enumerate().filter(|(_, answer)| wanted(answer)) {
        if let Some(at) = many.iter().position(|many| many.last() == Some(&index)) {
            let read: Vec<&Answer> = many.swap_remove(at).iter().map(|k| &answers.answers[*k]).collect();
            text += &format!("\n{}", summary::text(build, &read));
        } else if many.iter().any(|many| many.binary_search(&index).is_ok()) || (!all && is_past(answers, index)) {
            continue;
        }
        text += &format!("\n{}", answer_text(build, answer));
    }
    text
}

/// What is left at the machine for a bow that is not finished.
fn left_of(build: &Build, serial: &str, bow: &OneBow) -> String {
    let shown = |bench: &&Bench| match serial {
        "" => bench.begun() || bench.replanned() || 1e-9 < bench.shift_mm.abs(),
        _ => bench.begun() && !bow.finished,
    };
    bow.benches.iter().filter(shown).map(|bench| format!("\n{}", passes_left(build, serial, bench))).collect()
}

/// A tick with a later one of its lamination: where the work stands is all that it said.
fn is_past(answers: &Answers, index: usize) -> bool {
    let own = &answers.answers[index].reading;
    let ticks = |other: &Reading| {
        matches!(other.of, Of::Done { .. }) && other.of.lamination() == own.of.lamination() && other.serial == own.serial
    };
    ticks(own) && answers.answers[index + 1..].iter().any(|later| ticks(&later.reading))
}

/// One answer, and the passes that it leaves.
pub fn one(opened: &Job, answers: &Answers, answer: &Answer) -> String {
    let build = opened.build();
    let mut text = answer_text(build, answer);
    let serial = answer.reading.bow();
    let benches = answers.shop.by_serial.get(serial).into_iter().flat_map(|bow| &bow.benches);
    for bench in benches.filter(|bench| answer.reading.of.lamination() == Some(bench.lamination)) {
        text += &format!("\n{}", passes_left(build, serial, bench));
    }
    for taken in &answer.take_over {
        text += &format!("build file: {}\n", take_text(opened, taken));
    }
    text
}

/// The last of each key, in the order in which they were asked for last; what is of one bow by its number is none of the build file's.
pub fn latest(answers: &Answers) -> Vec<&TakeOver> {
    let of_all = || answers.answers.iter().filter(|answer| answer.reading.serial.is_none());
    let all = || of_all().flat_map(|answer| &answer.take_over);
    let last: BTreeMap<&str, usize> = all().enumerate().map(|(k, taken)| (taken.key.as_str(), k)).collect();
    all().enumerate().filter(|(k, taken)| last.get(taken.key.as_str()) == Some(k)).map(|(_, taken)| taken).collect()
}

/// A table of an answer, before it is set for a terminal or a page.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AnswerGrid {
    pub caption: String,
    pub heads: Vec<String>,
    pub rows: Vec<Vec<String>>,
}

impl AnswerGrid {
    fn text(&self) -> String {
        plain(&self.heads.iter().map(String::as_str).collect::<Vec<_>>(), &self.rows)
    }
}

/// What a reading is called: `strip: core A after pass 5`, `strip of bow 12: core A after pass 5`.
pub fn title(build: &Build, answer: &Answer) -> String {
    let kind = answer.reading.of.kind();
    let of = match &answer.reading.serial {
        Some(serial) if kind == "bow" => format!(" {serial}"),
        Some(serial) => format!(" of bow {serial}"),
        None => String::new(),
    };
    format!("{kind}{of}: {}", about(build, &answer.reading).spoken(build.units))
}

/// What follows from a reading, a sentence each.
pub fn sentences(build: &Build, answer: &Answer) -> Vec<String> {
    says(build, answer).iter().map(|say| say.spoken(build.units)).collect()
}

/// Readings beside the model; `None` where there are none.
pub fn beside(build: &Build, answer: &Answer) -> Option<AnswerGrid> {
    let rows: Vec<Vec<String>> = answer.observations.iter().map(|seen| observation_text(build, answer, seen)).collect();
    let heads = ["", "reading", "model", "difference", "band"].map(str::to_owned).into();
    (!rows.is_empty()).then_some(AnswerGrid { caption: String::new(), heads, rows })
}

/// What is to be taken off, where the answer says it place by place.
pub fn to_take(build: &Build, answer: &Answer) -> Option<AnswerGrid> {
    match &answer.finding {
        Finding::Blank(found) if !found.removal.steps.is_empty() => Some(steps(build, &found.removal)),
        Finding::Tiller(found) if !found.work.cuts.is_empty() => Some(cuts(build, &found.work)),
        _ => None,
    }
}

/// A part of a limb that the answer speaks of, as a line over the picture that it was read from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PictureRun {
    /// `stiff`, `weak` or `take`; `edge` for the whole back as fitted.
    pub what: &'static str,
    pub words: String,
    /// Pixels from the picture's upper left corner.
    pub points: Vec<[f64; 2]>,
}

/// Both backs as fitted, then what is stiff or weak and where wood comes off; nothing where no picture was read.
pub fn on_picture(build: &Build, answer: &Answer) -> Vec<PictureRun> {
    let Finding::Tiller(found) = &answer.finding else { return Vec::new() };
    let Some(pictured) = &found.pictured else { return Vec::new() };
    let tenth = |px: f64| (10.0 * px).round() / 10.0;
    let line = |side: usize, from_mm: f64, to_mm: f64| -> Vec<[f64; 2]> {
        let edge = pictured.picture.edges_px[side].iter();
        edge.filter(|(s, _)| from_mm <= *s && *s <= to_mm).map(|(_, at)| [tenth(at.x), tenth(at.y)]).collect()
    };
    let whole = [UPPER, LOWER].map(|side| PictureRun {
        what: "edge",
        words: format!("{} limb as fitted", limb(side)),
        points: line(side, 0.0, f64::MAX),
    });
    let parts = marked(build, found).into_iter().map(|part| PictureRun {
        what: match part.what {
            PartMark::Stiff => "stiff",
            PartMark::Weak => "weak",
            PartMark::Take => "take",
        },
        words: part.words.spoken(build.units),
        points: line(part.side, part.from_mm, part.to_mm),
    });
    whole.into_iter().chain(parts).collect()
}

fn answer_text(build: &Build, answer: &Answer) -> String {
    let mut text = format!("{}  {}\n", answer.reading.date, title(build, answer));
    text += &beside(build, answer).map_or(String::new(), |grid| grid.text());
    if !answer.questions.is_empty() {
        text += "Not used: see the question below.\n";
    }
    for say in sentences(build, answer) {
        text += &format!("{say}\n");
    }
    if let Some(grid) = to_take(build, answer) {
        text += &format!("{}:\n{}", grid.caption, grid.text());
    }
    text
}

/// What a blank's steps take off, station by station.
fn steps(build: &Build, removal: &Removal) -> AnswerGrid {
    let units = build.units;
    let mut heads = vec!["station".to_owned()];
    heads.extend(removal.steps.iter().enumerate().map(|(k, step)| {
        let lever = match step.lever {
            WoodLever::Belly { .. } => "belly",
            WoodLever::Sides => "edge",
        };
        format!("{} {lever}", k + 1)
    }));
    let rows = (0..removal.steps[0].takes.len())
        .map(|k| {
            let station = units.rule(removal.steps[0].takes[k].s_mm);
            let takes = removal.steps.iter().map(|step| units.thickness_number(step.takes[k].take_mm));
            std::iter::once(station).chain(takes).collect()
        })
        .collect();
    AnswerGrid { caption: format!("Taken in each step, {}", units.length_unit()), heads, rows }
}

/// What a round of tillering takes off, station by station.
fn cuts(build: &Build, work: &RoundWork) -> AnswerGrid {
    let units = build.units;
    let rows = work
        .cuts
        .iter()
        .map(|cut| {
            let off = if work.lever[cut.cell.side] == WoodLever::Sides { "each edge" } else { "belly" };
            vec![
                limb(cut.cell.side).to_owned(),
                units.decimal_number(told_mm(units, cut.cell.from_mm)),
                units.decimal_number(told_mm(units, cut.cell.to_mm)),
                units.thickness_number(cut.take_mm),
                off.to_owned(),
            ]
        })
        .collect();
    let heads = ["limb", "from", "to", "take", "off"].map(str::to_owned).into();
    AnswerGrid { caption: format!("Taken in this round, {}", units.length_unit()), heads, rows }
}

fn observation_text(build: &Build, answer: &Answer, seen: &Observation) -> Vec<String> {
    let (units, measure) = (build.units, seen.of.measure());
    let number = |value: f64| match measure {
        Measure::Thickness => fine(units, value),
        Measure::Length => units.decimal_number(value),
        Measure::Force => fixed(units.force(value), 1),
        Measure::Ratio => fixed(value, 3),
        Measure::Modulus => units.modulus_number(value),
        Measure::Speed => fixed(value / Quantity::ArrowSpeed.bare_factor(units), 1),
    };
    let signed = |value: f64| if value < 0.0 { number(value) } else { format!("+{}", number(value)) };
    let unit = match measure {
        Measure::Force => format!(", {}", units.force_unit()),
        Measure::Modulus => format!(", {}", Quantity::Modulus.bare_unit(units)),
        Measure::Speed => format!(", {}", units.arrow_speed_unit()),
        _ => String::new(),
    };
    vec![
        format!("{}{unit}", observed(build, &answer.reading.of, seen.of).spoken(units)),
        number(seen.reading),
        number(seen.model),
        signed(seen.difference()),
        seen.band.map_or(String::new(), |band| format!("± {}", at_least_a_step(number(band)))),
    ]
}

/// A band of nothing would be a promise: one that is finer than its last digit is written as one of that digit.
fn at_least_a_step(number: String) -> String {
    if number.contains(|digit: char| digit.is_ascii_digit() && digit != '0') {
        return number;
    }
    match number.split_once('.') {
        Some((whole, decimals)) => format!("{whole}.{}1", "0".repeat(decimals.len() - 1)),
        None => "1".into(),
    }
}

/// What is left to set on the sander for one lamination.
fn passes_left(build: &Build, serial: &str, bench: &Bench) -> String {
    let units = build.units;
    let of = if serial.is_empty() { String::new() } else { format!("bow {serial}, ") };
    let name = format!("{of}{}", build.laminations[bench.lamination].name);
    let left: Vec<_> = bench.left().collect();
    if left.is_empty() {
        return format!("{name}: no pass is left\n");
    }
    let rows: Vec<Vec<String>> = left
        .iter()
        .map(|(setup, pass)| {
            let paper = pass.grit.map_or(String::new(), |grit| format!("P{grit}"));
            let first = setup.passes.first().is_some_and(|first| first.number == pass.number);
            let notes = [
                (setup.turn_over && first, "turn the strip over"),
                (pass.new_paper, "new paper: scrap first, and log it"),
                (pass.repeat, "same gap again"),
            ];
            let note: Vec<&str> = notes.into_iter().filter(|(holds, _)| *holds).map(|(_, words)| words).collect();
            vec![
                pass.number.to_string(),
                if setup.carrier == Carrier::Sled { "sled".into() } else { "flat".into() },
                paper,
                units.thickness_number(pass.gap_mm),
                units.thickness_number(pass.drop_mm),
                fixed(pass.turns, 2),
                note.join("; "),
            ]
        })
        .collect();
    format!("{name}: what is left\n{}", plain(&["pass", "on", "paper", "gap", "drop", "turns", ""], &rows))
}

/// A key of the build file with the value that would be taken over.
pub fn take_text(opened: &Job, taken: &TakeOver) -> String {
    match (&taken.value, value_text(opened.build().units, &taken.value)) {
        (_, Some(value)) => {
            let key = crate::diag::SourceText::words(opened.source(), &Place::new(taken.key.as_str()));
            format!("{key} = {value}")
        }
        (TakenValue::Option(option), None) => format!("{} {option}", taken.key),
        (_, None) => taken.key.clone(),
    }
}

/// A value as the build file takes it; an option of the command line is none.
pub fn value_text(units: System, value: &TakenValue) -> Option<String> {
    Some(match value {
        TakenValue::Length(mm) => trim_zeros(&fine(units, *mm)),
        TakenValue::Ratio(ratio) => trim_zeros(&fixed(*ratio, 3)),
        TakenValue::Modulus(mpa) => units.modulus_number(*mpa),
        TakenValue::Stations(points) => {
            let pairs = points.iter().map(|(s, t)| format!("[{}, {}]", units.decimal_number(*s), units.thickness_number(*t)));
            format!("[{}]", pairs.collect::<Vec<_>>().join(", "))
        }
        TakenValue::Option(_) => return None,
    })
}
