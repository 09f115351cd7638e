//! The shop log as both edges keep it: read and answered beside its build, added to under the file's lock, and said as text and JSON.
//!
//! Whoever adds a reading, at a terminal or on a page, comes through `add`: one check, one way of writing it, the same bytes.

mod add;
pub mod fleet;
mod published;
pub mod show;
mod summary;

pub use add::{Added, LogFile, NewReading, NotAdded, add, checked, stands};
pub use published::{of_bow, published};

use crate::buildfile::{self, Source};
use crate::diag::Diagnostic;
use crate::job::{Job, Named, tiller_stations};
use crate::model::log::Log;
use crate::shop::logged::{Answers, Background, OtherBuild, answers};
use std::collections::BTreeMap;
use std::sync::Arc;

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
    let lower = match lower {
        Some(lower) => Some((lower.build().clone(), lower.solver_options()?.unstrung.clone())),
        None => None,
    };
    let (mut designs, mut builds) = (BTreeMap::new(), BTreeMap::new());
    for reading in &log.readings {
        let Some(path) = &reading.build_file else { continue };
        if !designs.contains_key(path)
            && let Ok(design) = opened.design(path, named, &reading.place.key("build"))
        {
            designs.insert(path.clone(), design);
        }
        if reading.serial.is_some()
            && !builds.contains_key(path)
            && let Some(other) = opened.other_weight(path, named)
            && let Ok(background) = background(&other)
        {
            builds.insert(path.clone(), OtherBuild { build: other.build().clone(), background: Arc::new(background) });
        }
    }
    let background = Background { lower, finished: opened.finished_bows().to_vec(), designs, builds, ..background(opened)? };
    Ok(answers(opened.build(), log, background))
}

/// What readings of a bow of this build are held against.
fn background(job: &Job) -> Result<Background, Vec<Diagnostic>> {
    let stations_mm = tiller_stations(job.build());
    // A batch of laminations has no bow to solve.
    if !job.is_bow() {
        return Ok(Background { stations_mm, ..Background::default() });
    }
    let moves = job.sensitivity()?;
    Ok(Background {
        glued: job.glue_up()?.cloned(),
        options: job.solver_options()?.clone(),
        scatter: moves.spread_n / moves.weight_n,
        stations_mm,
        ..Background::default()
    })
}
