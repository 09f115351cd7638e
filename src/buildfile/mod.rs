//! The build file's door: TOML text in, a checked [`Build`] out, or every fault of the file at once.
//!
//! The file is taken apart into tables with their bytes (`raw`), walked table by table (`reader` and the files after it), and
//! only then judged as a whole (`agreement`). Physics is not asked here: only form, range and agreement.
//!
//! # A new key
//!
//! 1. Read it where its table is read, with one of the getters of `reader::Section`: `need_..` if the builder must say
//!    it, `.._or` with a `Preset` in both systems and its reason if not. A getter also makes the key known, so that it
//!    is offered in "did you mean".
//! 2. Give it a `Range`: wide enough for every bow, narrow enough to catch a slip of units.
//! 3. What must agree with another table goes into `agreement`.
//! 4. Teach it in `starter`, and put a file that gets it wrong into `tests/faults`.
//!
//! # A new table
//!
//! A function that takes its `Section` and returns `Option` of its type, called in `check::build`; it calls `finish` last.

pub mod raw;
pub mod source;
pub mod edit;
pub mod spelling;
mod range;
mod reader;
mod wording;
mod names;
mod materials;
mod bow;
mod grip;
mod profile;
mod block;
mod overlay;
mod meet;
mod splice;
mod limb_shape;
mod strips;
mod series;
mod learnt;
mod sizing;
mod glueing;
mod shooting;
mod machine;
mod workroom;
mod agreement;
mod check;
pub mod log;
mod photograph;
mod starter;

pub use source::Source;
use source::SourceRead;
pub use starter::{Starter, Style, starter};

use crate::diag::{self, Diagnostic, Outcome, Place, Reported};
use crate::model::Build;
use crate::model::log::Log;
use crate::units::System;
use reader::Notes;
use std::cell::{Cell, RefCell};
use std::collections::BTreeSet;

/// Longer files are not build files; reading one would only take time.
const LONGEST_FILE: usize = 2_000_000;
/// More faults than this help nobody; the rest is counted.
const MAX_FAULTS: usize = 60;

/// Reads and checks a build file; `name` is the file's name as the user gave it.
///
/// ```
/// let text = r#"
///     units = "in"
///     [[lamination]]
///     name = "core"
///     to = 34
///     thickness = 0.150
///     taper = 0.002
///     stock = { thickness = 0.200, width = 1.75 }
/// "#;
/// let (_, outcome) = taperwright::buildfile::read("batch.toml", text);
/// let core = &outcome.unwrap().value.laminations[0];
/// let inch = taperwright::units::MM_PER_IN;
/// assert!((core.thickness_at(34.0 * inch) - (0.150 - 0.068) * inch).abs() < 1e-9);
/// ```
pub fn read(name: &str, text: &str) -> (Source, Outcome<Build>) {
    read_as(name, text, "the build file", None, check::build)
}

/// Reads and checks a shop log against the build that it belongs to; bare numbers are in the log's own `units`, or the build's.
pub fn read_log(name: &str, text: &str, build: &Build) -> (Source, Outcome<Log>) {
    read_as(name, text, "the log", Some(build.units), |root, notes| log::log(root, notes, build))
}

/// The files that a build file names under `[[calibration]]`, and a log in its readings; each once.
pub fn named_files(text: &str) -> Vec<String> {
    let source = Source::read("", text).source;
    let mut names = Vec::new();
    for list in ["calibration", "reading"] {
        for index in 0.. {
            let entry = Place::new(list).index(index);
            if source.value_at(&entry).is_none() {
                break;
            }
            match source.value_at(&entry.key("build")) {
                Some(raw::Value::Text(name)) if !names.contains(name) => names.push(name.clone()),
                _ => {}
            }
        }
    }
    names
}

/// Takes a text apart and has it checked; every fault at once, in the order of the file.
///
/// `system` is what bare numbers are in where the text does not say.
fn read_as<T>(
    name: &str,
    text: &str,
    file: &'static str,
    system: Option<System>,
    check: impl Fn(&raw::RawTable, &Notes) -> Option<T>,
) -> (Source, Outcome<T>) {
    if LONGEST_FILE < text.len() {
        let message = format!("this file has {} bytes; at most {LONGEST_FILE} are read", text.len());
        let fault = Diagnostic::fault(Place::whole_file(), message).hint("give a text of a few pages");
        return (Source::unread(name, text), Err(vec![fault]));
    }
    let SourceRead { mut source, faults: writing, sound_until } = Source::read(name, text);
    let told = check::system(source.root()).or(system);
    // Inches until the file says.
    let system = told.unwrap_or(System::Inch);
    let notes = Notes {
        file,
        system,
        units_known: Cell::new(told.is_some()),
        sound_until,
        whole: text.len() <= sound_until,
        faults: RefCell::default(),
        lengths_out: Cell::new((0, 0)),
        uncounted: Cell::new(0),
        warnings: RefCell::default(),
        assumed: RefCell::default(),
        strays: RefCell::default(),
        tables: RefCell::default(),
        unknown: RefCell::default(),
    };
    let value = check(source.root(), &notes);
    if let Some(fault) = of_the_other_system(notes.lengths_out.get(), notes.system) {
        notes.fault(fault);
    }
    let uncounted = notes.uncounted.get();
    let mut faults = notes.told();
    for (place, span) in notes.strays.into_inner() {
        source.mark(place, span);
    }
    // A line that is not TOML is shown once, as that; what its values would mean is guesswork.
    let unreadable: BTreeSet<usize> = writing.iter().map(|fault| source.line_of(fault.span.start)).collect();
    if !unreadable.is_empty() {
        faults.retain(|fault| {
            diag::SourceText::span(&source, &fault.place).is_none_or(|span| !unreadable.contains(&source.line_of(span.start)))
        });
    }
    for fault in writing {
        let place = Place::new(format!("line {}", source.line_of(fault.span.start)));
        source.mark(place.clone(), fault.span);
        let diagnostic = Diagnostic::fault(place, fault.message);
        faults.push(match fault.hint {
            Some(hint) => diagnostic.hint(hint),
            None => diagnostic,
        });
    }
    let spoken = |all: Vec<Diagnostic>| -> Vec<Diagnostic> { all.iter().map(|diagnostic| diagnostic.spoken(system)).collect() };
    let outcome = match value {
        Some(value) if faults.is_empty() => {
            let warnings = in_order(notes.warnings.into_inner(), &source);
            Ok(Reported { value, warnings: spoken(warnings) })
        }
        _ => Err(spoken(few(in_order(faults, &source), uncounted))),
    };
    (source, outcome)
}

/// What is said of a file whose lengths do not fit, and would all fit in the other system's unit.
fn of_the_other_system((out, fitting): (usize, usize), system: System) -> Option<Diagnostic> {
    // Fewer are slips of their own.
    const MANY: usize = 3;
    let (looks_like, unit) = match system {
        System::Inch => ("millimetres", "mm"),
        System::Millimetre => ("inches", "in"),
    };
    let message = format!("the file looks like {looks_like}: {out} lengths do not fit, and all of them would in {looks_like}");
    (MANY <= out && fitting == out).then(|| {
        Diagnostic::fault(Place::new("units"), message).hint(format!("write units = \"{unit}\", or give each length its unit"))
    })
}

/// In the order of the file, what concerns the whole of it first.
fn in_order(diagnostics: Vec<Diagnostic>, source: &Source) -> Vec<Diagnostic> {
    let start = |diagnostic: &Diagnostic| diag::SourceText::span(source, &diagnostic.place).map_or(0, |span| span.start);
    let mut keyed: Vec<(usize, Diagnostic)> =
        diagnostics.into_iter().map(|diagnostic| (start(&diagnostic), diagnostic)).collect();
    keyed.sort_by_key(|(at, _)| *at);
    keyed.into_iter().map(|(_, diagnostic)| diagnostic).collect()
}

fn few(mut faults: Vec<Diagnostic>, uncounted: usize) -> Vec<Diagnostic> {
    if faults.is_empty() {
        faults.push(Diagnostic::fault(Place::whole_file(), "the file could not be read to its end"));
    }
    let rest = faults.len().saturating_sub(MAX_FAULTS) + uncounted;
    if 0 < rest {
        faults.truncate(MAX_FAULTS);
        faults.push(
            Diagnostic::fault(Place::whole_file(), format!("and {rest} more faults")).hint("mend these first, then check again"),
        );
    }
    faults
}

#[cfg(test)]
mod tests;
