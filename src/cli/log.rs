//! `taperwright log`: what the shop's readings say beside the model, and what is left to do; `log add` appends a reading.

mod add;
mod show;

use super::Ended;
use super::args::{LogArgs, LogCommand};
use super::input::{Input, Opened, design, show, summary};
use super::make::{glued, options, tiller_stations};
use super::terminal::Terminal;
use crate::buildfile::{self, Source};
use crate::diag::{Diagnostic, Severity};
use crate::mechanics::bow::Unstrung;
use crate::mechanics::sensitivity;
use crate::model::Build;
use crate::model::log::{Log, Of};
use crate::shop::logged::{Answers, Known, answers};
use std::collections::BTreeMap;
use std::path::Path;

pub fn log(args: &LogArgs, terminal: Terminal) -> Ended {
    if let Some(LogCommand::Add(args)) = &args.add {
        return add::add(args, terminal).unwrap_or_else(|ended| ended);
    }
    // The command line sees to it that both are there.
    let (Some(file), Some(log)) = (&args.file, &args.log) else { return Ended::Files };
    told(file, log, args.lower.as_deref(), args.json, terminal).unwrap_or_else(|ended| ended)
}

fn told(file: &Path, log: &Path, lower: Option<&Path>, json: bool, terminal: Terminal) -> Result<Ended, Ended> {
    let opened = Input::read(file, terminal)?.open(terminal)?;
    let lower = lower_limb(lower, terminal)?;
    // A reading may be added while this runs, and a pipe may never end: a log is a plain file, or what standard input brings.
    if log.as_os_str() != "-" && std::fs::metadata(log).is_ok_and(|found| !found.is_file()) {
        terminal.fault(&format!("error: {}: not a plain file", log.display()));
        return Err(Ended::Files);
    }
    let input = Input::read(log, terminal)?;
    let read = read(&opened, lower.as_ref(), &input.name, &input.text, &input.folder, terminal)?;
    let text = if json {
        format!("{}\n", serde_json::to_string_pretty(&show::json(&opened, &read.answers)).expect("plain values are valid JSON"))
    } else {
        show::text(&opened, &read.answers, &input.name)
    };
    let ended = terminal.results(&text);
    // Questions are the log's faults: its other readings have been answered all the same.
    let questions = questions(&read.answers);
    show(&questions, &read.source, opened.build.units, terminal);
    Ok(if questions.iter().any(|question| question.severity == Severity::Fault) { Ended::BuildFile } else { ended })
}

/// The build of the lower limb, where it has one of its own.
fn lower_limb(file: Option<&Path>, terminal: Terminal) -> Result<Option<Opened>, Ended> {
    let Some(file) = file else { return Ok(None) };
    let opened = Input::read(file, terminal)?.open(terminal)?;
    if opened.build.outline.is_none() {
        terminal.fault(&format!("error: {}: it describes laminations and no limb\nhelp: add [outline] to it", file.display()));
        return Err(Ended::BuildFile);
    }
    Ok(Some(opened))
}

fn questions(answers: &Answers) -> Vec<Diagnostic> {
    answers.answers.iter().flat_map(|answer| answer.questions.clone()).collect()
}

/// A log with its answers.
struct Read {
    source: Source,
    answers: Answers,
}

/// Reads a log's text and answers it; faults have been shown.
fn read(
    opened: &Opened,
    lower: Option<&Opened>,
    name: &str,
    text: &str,
    folder: &Path,
    terminal: Terminal,
) -> Result<Read, Ended> {
    let build = &opened.build;
    let (source, outcome) = buildfile::read_log(name, text, build);
    let refuse = |faults: &[Diagnostic]| {
        show(faults, &source, build.units, terminal);
        summary(faults, name, terminal);
        Ended::BuildFile
    };
    let log = match outcome {
        Ok(found) => {
            show(&found.warnings, &source, build.units, terminal);
            found.value
        }
        Err(faults) => return Err(refuse(&faults)),
    };
    match answered(opened, lower, &log, folder) {
        Ok(answers) => Ok(Read { source, answers }),
        Err(faults) => {
            show(&faults, &opened.source, build.units, terminal);
            summary(&faults, crate::diag::Source::name(&opened.source), terminal);
            Err(Ended::BuildFile)
        }
    }
}

/// What the glue-up leaves of a limb; straight where the build file names no stage.
fn glued_shape(build: &Build) -> Result<Unstrung, Vec<Diagnostic>> {
    Ok(glued(build)?.value.map(|glued| glued.unstrung).unwrap_or_default())
}

/// Answers a log; faults are the build file's.
fn answered(opened: &Opened, lower: Option<&Opened>, log: &Log, folder: &Path) -> Result<Answers, Vec<Diagnostic>> {
    let build = &opened.build;
    let is_bow = build.target.is_some() && build.outline.is_some();
    let glued = if is_bow { glued(build)?.value } else { None };
    let options = options(build, glued.as_ref(), opened.calibrated);
    let lower = match lower {
        Some(lower) => Some((&lower.build, glued_shape(&lower.build)?)),
        None => None,
    };
    let scatter = if is_bow {
        let moves = sensitivity::of(build, &options)?.value;
        moves.spread_n / moves.weight_n
    } else {
        0.0
    };
    let mut designs = BTreeMap::new();
    for reading in &log.readings {
        if let Of::Bow { build_file: Some(path), .. } = &reading.of
            && let Ok(design) = design(path, folder, &reading.place.key("build"))
        {
            designs.insert(path.clone(), design);
        }
    }
    let known = Known {
        glued: glued.as_ref(),
        options: &options,
        lower,
        finished: opened.finished.clone(),
        designs,
        scatter,
        stations_mm: tiller_stations(build),
    };
    Ok(answers(build, log, &known))
}
