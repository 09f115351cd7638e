//! `taperwright log add`: a reading appended to the log, if it can be read and meant.

use super::super::Ended;
use super::super::args::LogAddArgs;
use super::super::bench::today;
use super::super::input::{Input, show, summary};
use super::super::terminal::Terminal;
use super::{lower_limb, unanswered};
use crate::logbook::{self, LogFile, NewReading, NotAdded, show as shown};

pub fn add(args: &LogAddArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let opened = Input::read(&args.file, terminal)?.open(terminal)?;
    let lower = lower_limb(args.lower.as_deref(), terminal)?;
    let wrong = |message: &str| {
        terminal.fault(&format!("error: {message}"));
        Ended::Files
    };
    if args.log.as_os_str() == "-" {
        return Err(wrong("a log is a file, and cannot be standard input"));
    }
    let pairs = args.keys.iter().map(|pair| match pair.split_once('=') {
        Some((key, text)) => Ok((key.to_owned(), text.to_owned())),
        None => Err(wrong(&format!("`{pair}` is no key with a value\nhelp: write it like after=6, without spaces or in quotes"))),
    });
    let keys: Vec<(String, String)> = pairs.collect::<Result<_, _>>()?;
    let date = args.date.clone().unwrap_or_else(|| today(std::time::Duration::ZERO));
    let name = args.log.display().to_string();
    let units = opened.build().units;
    let reading = NewReading { of: &args.of, keys: &keys, date: &date };
    match logbook::add(&opened, lower.as_ref(), LogFile { path: &args.log, name: &name }, &reading) {
        Ok(added) => {
            show(&added.answered.warnings, &added.answered.source, units, terminal);
            let answer = added.answer().map_or(String::new(), |answer| shown::one(&opened, &added.answered.answers, answer));
            Ok(terminal.results_with(&format!("{answer}\nadded to {name}\n"), &[&name]))
        }
        Err(NotAdded::Unfit(message)) => Err(wrong(&message)),
        Err(NotAdded::NotText) => {
            terminal.fault(&format!("error: {name}: not a text file (UTF-8)"));
            Err(Ended::BuildFile)
        }
        Err(NotAdded::Unread(unread)) => Err(unanswered(&opened, &name, unread, terminal)),
        Err(NotAdded::Asked { source, questions }) => {
            show(&questions, &source, units, terminal);
            summary(&questions, &name, terminal);
            Err(Ended::BuildFile)
        }
        Err(NotAdded::Folder(fault)) => Err(wrong(&fault.to_string())),
    }
}
