//! The shop log as both edges keep it: read and answered beside its build, added to under the file's lock, and said as text and JSON.
//!
//! Whoever adds a reading, at a terminal or on a page, comes through `add`: one check, one way of writing it, the same bytes.

mod add;
mod published;
pub mod show;
mod summary;

pub use add::{Added, NewReading, NotAdded, add, checked, stands};
pub use published::published;

use crate::buildfile::{self, Source};
use crate::diag::Diagnostic;
use crate::job::{Job, Named, tiller_stations};
use crate::mechanics::bow::Options;
use crate::model::log::{BowWeighing, Log, Of};
use crate::shop::logged::{Answers, Background, answers};
use std::collections::BTreeMap;

/// A log with its answers.
#[derive(Debug)]
pub struct Answered {
    pub source: Source,
    pub log: Log,
    pub answers: Answers,
    pub warnings: Vec<Diagnostic>,
}

/// Why a log was not answered.
#[derive(Debug)]
pub enum LogUnread {
    /// The log's own faults, with its text.
    Log { source: Source, faults: Vec<Diagnostic> },
    /// The build file's.
    Build(Vec<Diagnostic>),
}

/// Reads a log's text and answers it; `named` holds the build files that its readings name.
pub fn read(opened: &Job, lower: Option<&Job>, name: &str, text: &str, named: &Named) -> Result<Answered, LogUnread> {
    let (source, outcome) = buildfile::read_log(name, text, opened.build());
    let found = match outcome {
        Ok(found) => found,
        Err(faults) => return Err(LogUnread::Log { source, faults }),
    };
    let answers = answered(opened, lower, &found.value, named).map_err(LogUnread::Build)?;
    Ok(Answered { source, log: found.value, answers, warnings: found.warnings })
}

/// Answers a log; faults are the build file's.
fn answered(opened: &Job, lower: Option<&Job>, log: &Log, named: &Named) -> Result<Answers, Vec<Diagnostic>> {
    let build = opened.build();
    let glued = if opened.is_bow() { opened.glue_up()? } else { None };
    // A batch of laminations has no bow to solve.
    let options = if opened.is_bow() { opened.solver_options()?.clone() } else { Options::default() };
    let lower = match lower {
        Some(lower) => Some((lower.build().clone(), lower.solver_options()?.unstrung.clone())),
        None => None,
    };
    let scatter = if opened.is_bow() {
        let moves = opened.sensitivity()?;
        moves.spread_n / moves.weight_n
    } else {
        0.0
    };
    let mut designs = BTreeMap::new();
    for reading in &log.readings {
        if let Of::Bow(BowWeighing { build_file: Some(path), .. }) = &reading.of
            && !designs.contains_key(path)
            && let Ok(design) = opened.design(path, named, &reading.place.key("build"))
        {
            designs.insert(path.clone(), design);
        }
    }
    let background = Background {
        glued: glued.cloned(),
        options,
        lower,
        finished: opened.finished_bows().to_vec(),
        designs,
        scatter,
        stations_mm: tiller_stations(build),
    };
    Ok(answers(build, log, background))
}
