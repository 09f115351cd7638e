//! `taperwright log`: what the shop's readings say beside the model, and what is left to do; `log add` appends a reading.

mod add;

use super::Ended;
use super::args::{LogArgs, LogCommand};
use super::beside::{edit_rows, edits_table, read_again, write};
use super::input::{Input, refused, show, summary};
use super::terminal::Terminal;
use crate::buildfile::edit::{Rewritten, taken_over};
use crate::diag::{Diagnostic, Place, Severity};
use crate::folder;
use crate::job::Job;
use crate::logbook::show::{self as show_log, ReadingsShown};
use crate::logbook::{self, LogUnread};
use crate::mechanics::shot::loss::Loss;
use crate::report::log::LogAnswer;
use crate::shop::logged::{Answers, ShopLog};
use std::path::Path;

pub fn log(args: &LogArgs, terminal: Terminal) -> Ended {
    if let Some(LogCommand::Add(args)) = &args.add {
        return add::add(args, terminal).unwrap_or_else(|ended| ended);
    }
    // The command line sees to it that both are there.
    let (Some(file), Some(log)) = (&args.file, &args.log) else { return Ended::Files };
    told(file, log, args, terminal).unwrap_or_else(|ended| ended)
}

fn told(file: &Path, log: &Path, args: &LogArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let input = Input::read(file, terminal)?;
    let folder = input.folder.clone();
    let opened = input.open(terminal)?;
    let lower = lower_limb(args.lower.as_deref(), terminal)?;
    // A reading may be added while this runs, and a pipe may never end: a log is a plain file, or what standard input brings.
    if log.as_os_str() != "-" {
        folder::plain_file(log).map_err(|error| {
            terminal.fault(&format!("error: {}: {error}", log.display()));
            Ended::Files
        })?;
    }
    let input = Input::read(log, terminal)?;
    let read = logbook::read(&opened, lower.as_ref(), &input.name, &input.text, &input.named())
        .map_err(|unread| unanswered(&opened, &input.name, unread, terminal))?;
    show(&read.warnings, &read.source, opened.build().units, terminal);
    if let Some(serial) = args.serial.as_ref().filter(|serial| !read.answers.shop.by_serial.contains_key(*serial)) {
        let known: Vec<&str> = read.answers.shop.by_serial.keys().map(String::as_str).filter(|known| !known.is_empty()).collect();
        let hint = if known.is_empty() {
            "a reading names its bow with `serial`".into()
        } else {
            format!("it has {}", known.join(", "))
        };
        terminal.fault(&format!("error: {}: no bow {serial} is in this log\nhelp: {hint}", input.name));
        return Err(Ended::Files);
    }
    let taken = args.write.as_ref().map(|_| taken(&opened, &read.answers, terminal)).transpose()?;
    let ended = if args.json {
        let edits = taken.as_ref().map(|taken| edit_rows(&taken.edits));
        let answer = LogAnswer { edits, ..logbook::published(&opened, &read.answers) };
        terminal.answer(&args.serial.as_ref().map_or(answer.clone(), |serial| logbook::of_bow(answer, serial)))
    } else {
        let shown = if args.all { ReadingsShown::All } else { ReadingsShown::Summarised };
        let text = match &args.serial {
            None => show_log::text(&opened, &read.answers, &input.name, shown),
            Some(serial) => show_log::card(&opened, &read.answers, serial, shown).unwrap_or_default(),
        };
        let text = taken.as_ref().map_or(text.clone(), |taken| format!("{text}\n{}", edits_table(&opened, &taken.edits)));
        terminal.results_with(&text, &[&input.name])
    };
    if let Some(taken) = &taken {
        write(args.write.as_deref(), &opened, &folder, &taken.text, terminal)?;
    }
    // Questions are the log's faults: its other readings have been answered all the same.
    let questions = questions(&read.answers);
    show(&questions, &read.source, opened.build().units, terminal);
    Ok(if questions.iter().any(|question| question.severity == Severity::Fault) { Ended::BuildFile } else { ended })
}

/// The build file with the values that the answers ask to have written; what comes out is read again, and faults have been shown.
fn taken(opened: &Job, answers: &Answers, terminal: Terminal) -> Result<Rewritten, Ended> {
    let units = opened.build().units;
    let taken = show_log::latest(answers);
    let values =
        taken.iter().filter_map(|taken| Some((Place::new(taken.key.as_str()), show_log::value_text(units, &taken.value)?)));
    let rewritten = taken_over(opened.source(), &values.collect::<Vec<_>>())
        .map_err(|fault| refused(std::slice::from_ref(&fault), opened, terminal))?;
    read_again(opened, &rewritten.text, terminal)?;
    Ok(rewritten)
}

/// The build of the lower limb, where it has one of its own.
fn lower_limb(file: Option<&Path>, terminal: Terminal) -> Result<Option<Job>, Ended> {
    let Some(file) = file else { return Ok(None) };
    let opened = Input::read(file, terminal)?.open(terminal)?;
    if opened.build().outline.is_none() {
        terminal.fault(&format!("error: {}: it describes laminations and no limb\nhelp: add [outline] to it", file.display()));
        return Err(Ended::BuildFile);
    }
    Ok(Some(opened))
}

/// What the `shot` readings of a log say of a bow's limbs; faults and questions have been shown.
pub fn shot_loss(opened: &Job, lower: Option<&Job>, log: &Path, terminal: Terminal) -> Result<Option<Loss>, Ended> {
    Ok(shop(opened, lower, log, terminal)?.loss())
}

/// Where a log leaves the shop; faults and questions have been shown.
pub fn shop(opened: &Job, lower: Option<&Job>, log: &Path, terminal: Terminal) -> Result<ShopLog, Ended> {
    let input = Input::read(log, terminal)?;
    let read = logbook::read(opened, lower, &input.name, &input.text, &input.named())
        .map_err(|unread| unanswered(opened, &input.name, unread, terminal))?;
    show(&questions(&read.answers), &read.source, opened.build().units, terminal);
    Ok(read.answers.shop)
}

fn questions(answers: &Answers) -> Vec<Diagnostic> {
    answers.answers.iter().flat_map(|answer| answer.questions.clone()).collect()
}

/// Shows why a log was not answered.
fn unanswered(opened: &Job, name: &str, unread: LogUnread, terminal: Terminal) -> Ended {
    match unread {
        LogUnread::Log { source, faults } => {
            show(&faults, &source, opened.build().units, terminal);
            summary(&faults, name, terminal);
            Ended::BuildFile
        }
        LogUnread::Build(faults) => refused(&faults, opened, terminal),
    }
}
