//! Readings that come from a page: added to the log by the same code as `log add`, never twice.
//!
//! A page sends each reading with a key that it made up, again and again until it hears an answer. The key is remembered for as long as
//! the program runs; a page that does not know whether an earlier try arrived says so, and then the end of the log is looked at, too.
//! No request names a file: a weighing of another build's bow, which would, is logged at the terminal.

use super::answers;
use super::desk::{Desk, Refusal, name_of};
use super::places::{self, Shop, Spoken};
use crate::buildfile::edit::as_toml;
use crate::diag::Diagnostic;
use crate::folder;
use crate::job::Job;
use crate::logbook::{self, NewReading, NotAdded, Unread};
use crate::units::{Quantity, System, fixed, read, trim_zeros};
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

/// A reading as a page sends it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sent {
    /// The page's own, different for each reading.
    pub key: String,
    pub of: String,
    pub keys: Vec<(String, Typed)>,
    /// The day, where it was typed; else that of `ago_s`.
    #[serde(default)]
    pub date: Option<String>,
    /// Seconds since it was typed.
    #[serde(default)]
    pub ago_s: u64,
    /// It was sent before, and no answer came.
    #[serde(default)]
    pub again: bool,
}

/// A value as it was typed.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, Serialize)]
#[serde(untagged)]
pub enum Typed {
    One(String),
    Several(Vec<String>),
    Rows(Vec<Vec<String>>),
}

/// What a reading that was added says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Said {
    pub answer: Spoken,
    /// What the places show now.
    pub shop: Shop,
}

/// What is asked about a reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Asked {
    pub questions: Vec<Question>,
    /// What was probably meant: with it the reading can be used.
    pub meant: Option<Meant>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Question {
    pub message: String,
    pub hints: Vec<String>,
    /// Key and row, where one is to blame.
    pub key: Option<String>,
    pub row: Option<usize>,
}

/// The same reading with a slip mended.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Meant {
    pub words: String,
    pub keys: Vec<(String, Typed)>,
}

/// What the desk keeps about readings.
#[derive(Debug, Default)]
pub struct Readings {
    pub(super) today: Option<fn(Duration) -> String>,
    /// Keys of readings that were added, and what they said.
    known: VecDeque<(String, Spoken)>,
    /// The log as it was seen last.
    seen: Option<(SystemTime, u64)>,
}

/// Keys that are remembered: more readings than a week of work has.
const MAX_KNOWN: usize = 2000;
/// Readings at the end of the log that one sent again may be.
const LAST: usize = 24;
/// A reading that was typed longer ago gets its day by hand.
const MAX_AGO: Duration = Duration::from_secs(60 * 86_400);
/// The longest text, the most texts of a reading.
const MAX_TEXT: usize = 200;
const MAX_TEXTS: usize = 600;
/// Slips that are tried before it is left to the builder.
const MAX_SLIPS: usize = 24;

impl Desk {
    /// What the phone's places show.
    pub fn shop(&mut self) -> Result<Shop, Refusal> {
        self.look_at_disk();
        let log = self.log();
        let (name, today) = (self.name(), self.day(Duration::ZERO));
        let faults = self.faults().to_vec();
        let job = self.file_job()?;
        let text = match log.as_deref().filter(|log| log.exists()) {
            Some(log) => folder::read_text(log).map_err(|error| Refusal::Disk(format!("{}: {error}", name_of(log))))?,
            None => String::new(),
        };
        let title = log.as_deref().map(name_of);
        let answered = answered(job, log.as_deref(), &text);
        Ok(places::shop(job, places::Head { file: name, log: title, today }, answered.as_ref(), faults))
    }

    fn day(&self, ago: Duration) -> String {
        self.readings.today.map_or(String::new(), |today| today(ago))
    }

    /// Whether the log is another one than it was; for pages that show it.
    pub fn look_at_log(&mut self) -> bool {
        let now = self.log().and_then(|log| {
            let found = std::fs::metadata(log).ok()?;
            Some((found.modified().ok()?, found.len()))
        });
        let differs = now != self.readings.seen;
        self.readings.seen = now;
        differs
    }

    /// Adds a reading to the log, unless it is there already.
    pub fn add_reading(&mut self, sent: Sent) -> Result<Said, Refusal> {
        if let Some((_, answer)) = self.readings.known.iter().find(|(key, _)| *key == sent.key) {
            return Ok(Said { answer: answer.clone(), shop: self.shop()? });
        }
        let ago = Duration::from_secs(sent.ago_s);
        fits(&sent)?;
        self.look_at_disk();
        if !self.faults().is_empty() {
            return Err(Refusal::Cannot("the build file has faults, which the desk shows: the reading waits until they are mended".into()));
        }
        let log = self.log().ok_or_else(|| Refusal::Cannot("this bow has no file yet: keep it under a name at the desk first".into()))?;
        let job = self.file_job()?.clone();
        let date = sent.date.clone().unwrap_or_else(|| self.day(ago));
        let keys: Vec<(String, String)> = sent.keys.iter().map(|(key, typed)| (key.clone(), typed.text())).collect();
        let reading = NewReading { of: &sent.of, keys: &keys, date: &date };
        let answer = match sent.again.then(|| stands(&job, &log, &reading)).flatten() {
            Some(answer) => answer,
            None => match logbook::add(&job, None, &log, &name_of(&log), &reading) {
                Ok(added) => added.answer().map(|answer| places::spoken(&job, answer)).unwrap_or_default(),
                Err(NotAdded::Asked { questions, .. }) => {
                    return Err(Refusal::Asked(asked(&job, &log, &sent, &date, &questions)));
                }
                Err(fault) => return Err(refused(&job, &log, fault)),
            },
        };
        if self.readings.known.len() == MAX_KNOWN {
            self.readings.known.pop_front();
        }
        self.readings.known.push_back((sent.key, answer.clone()));
        Ok(Said { answer, shop: self.shop()? })
    }
}

/// The log with its answers; its faults in words where it has some.
fn answered(job: &Job, log: Option<&Path>, text: &str) -> Result<logbook::Answered, Vec<answers::Told>> {
    let folder = log.and_then(Path::parent).map(Path::to_owned).unwrap_or_default();
    let name = log.map(name_of).unwrap_or_default();
    logbook::read(job, None, &name, text, &folder::named_texts(&folder, text)).map_err(|unread| told(job, unread))
}

fn told(job: &Job, unread: Unread) -> Vec<answers::Told> {
    match unread {
        Unread::Log { source, faults } => answers::told_of(&faults, job.build().units, &source),
        Unread::Build(faults) => answers::told(job, &faults),
    }
}

/// What was sent is a reading by its form: bounded, and no file is named.
fn fits(sent: &Sent) -> Result<(), Refusal> {
    let mut texts = 0;
    let mut fits = sent.key.len() <= 64 && !sent.key.is_empty() && sent.keys.len() <= 24 && sent.ago_s <= MAX_AGO.as_secs();
    for (key, typed) in &sent.keys {
        if key.trim() == "build" {
            return Err(Refusal::Cannot("a bow of another build file is logged with `taperwright log add`".into()));
        }
        let each = typed.each();
        texts += each.len();
        fits &= each.iter().all(|text| text.len() <= MAX_TEXT && !text.chars().any(char::is_control));
    }
    if fits && texts <= MAX_TEXTS { Ok(()) } else { Err(Refusal::Cannot("this is no reading that a page sends".into())) }
}

/// Why a reading was not added, for the page: what stands in its way is told, and it waits there.
fn refused(job: &Job, log: &Path, fault: NotAdded) -> Refusal {
    let units = job.build().units;
    let asked_about = |faults: &[Diagnostic]| Refusal::Asked(Asked::of(faults.iter().map(|fault| Question::of(fault, units)).collect()));
    match fault {
        NotAdded::Unfit(message) => Refusal::Asked(Asked::of(vec![Question::new(message, Vec::new())])),
        NotAdded::NotText => Refusal::Cannot(format!("{} is not a text file (UTF-8)", name_of(log))),
        NotAdded::Unread(Unread::Log { faults, source }) => {
            // What stood there before is not this reading's fault.
            let own = format!("reading[{}]", crate::diag::SourceText::text(&source).matches("[[reading]]").count().saturating_sub(1));
            match faults.iter().find(|fault| !fault.place.as_str().starts_with(&own)) {
                Some(fault) => {
                    let what = fault.message.spoken(units);
                    Refusal::Cannot(format!("{} has a fault, {what}: the reading waits until it is mended", name_of(log)))
                }
                None => asked_about(&faults),
            }
        }
        NotAdded::Unread(Unread::Build(faults)) => Refusal::Faults(answers::told(job, &faults)),
        NotAdded::Asked { questions, .. } => asked_about(&questions),
        NotAdded::Folder(fault) => fault.into(),
    }
}

/// What the same reading says at the end of the log, if it stands there.
fn stands(job: &Job, log: &PathBuf, reading: &NewReading<'_>) -> Option<Spoken> {
    let text = folder::read_text(log).ok()?;
    let back = logbook::stands(&text, reading, LAST)?;
    let answers = answered(job, Some(log), &text).ok()?.answers;
    let answer = answers.answers.iter().rev().nth(back)?;
    Some(places::spoken(job, answer))
}

impl Asked {
    fn of(questions: Vec<Question>) -> Asked {
        Asked { questions, meant: None }
    }
}

impl Question {
    fn new(message: String, hints: Vec<String>) -> Question {
        Question { message, hints, key: None, row: None }
    }

    fn of(question: &Diagnostic, units: System) -> Question {
        let said = question.words(units);
        let (key, row) = blamed(question);
        Question { message: said.message, hints: said.hints, key, row }
    }
}

/// Key and row that a question names: `reading[3].readings[0]`.
fn blamed(question: &Diagnostic) -> (Option<String>, Option<usize>) {
    let Some((_, rest)) = question.place.as_str().split_once("].") else { return (None, None) };
    let key: String = rest.chars().take_while(|c| *c != '[' && *c != '.').collect();
    let row = rest[key.len()..].strip_prefix('[').and_then(|rest| rest.split(']').next()?.parse().ok());
    (Some(key), row)
}

impl Typed {
    /// As `log add` would be given it.
    fn text(&self) -> String {
        let list = |texts: &[String]| format!("[{}]", texts.iter().map(|text| as_toml(text.trim())).collect::<Vec<_>>().join(", "));
        match self {
            Typed::One(text) => text.clone(),
            Typed::Several(texts) if texts.len() == 1 => texts[0].clone(),
            Typed::Several(texts) => list(texts),
            Typed::Rows(rows) => format!("[{}]", rows.iter().map(|row| list(row)).collect::<Vec<_>>().join(", ")),
        }
    }

    fn each(&self) -> Vec<&str> {
        match self {
            Typed::One(text) => vec![text],
            Typed::Several(texts) => texts.iter().map(String::as_str).collect(),
            Typed::Rows(rows) => rows.iter().flatten().map(String::as_str).collect(),
        }
    }

    /// With figures changed: all of them, or those of the rows that are to blame, in one column or in each. Places along the wood stay.
    fn with(&self, rows: &[usize], column: Option<usize>, change: &impl Fn(&str) -> Option<String>) -> Option<Typed> {
        let wanted = |row: usize| rows.is_empty() || rows.contains(&row);
        let one = |(row, text): (usize, &String)| if wanted(row) { change(text) } else { Some(text.clone()) };
        Some(match self {
            Typed::One(text) => Typed::One(change(text)?),
            Typed::Several(texts) => Typed::Several(texts.iter().enumerate().map(one).collect::<Option<_>>()?),
            Typed::Rows(all) => {
                let figures = |(row, texts): (usize, &Vec<String>)| -> Option<Vec<String>> {
                    let mut texts = texts.clone();
                    let figures = texts.iter_mut().enumerate().skip(1).filter(|(k, _)| wanted(row) && column.is_none_or(|column| column == *k));
                    for (_, text) in figures {
                        *text = change(text)?;
                    }
                    Some(texts)
                };
                Typed::Rows(all.iter().enumerate().map(figures).collect::<Option<_>>()?)
            }
        })
    }
}

/// The questions, and the slip that would answer them: each slip is tried on what is to blame, and the first with which the reading is
/// asked about no more is offered.
fn asked(job: &Job, log: &Path, sent: &Sent, date: &str, questions: &[Diagnostic]) -> Asked {
    let units = job.build().units;
    let spoken: Vec<Question> = questions.iter().map(|question| Question::of(question, units)).collect();
    let bytes = folder::read_text(log).unwrap_or_default().into_bytes();
    let known = spoken.iter().find_map(|question| question.key.clone());
    let rows: Vec<usize> = spoken.iter().filter(|question| question.key == known).filter_map(|question| question.row).collect();
    let keys = sent.keys.iter().filter(|(key, _)| known.as_ref().is_none_or(|known| known == key));
    // Of two edges one alone may have slipped.
    let columns: &[Option<usize>] = if known.is_some() { &[None, Some(1), Some(2)] } else { &[None] };
    let tries = keys.flat_map(|(key, typed)| SLIPS.iter().flat_map(move |slip| columns.iter().map(move |column| (key, typed, slip, *column))));
    let meant = tries.take(MAX_SLIPS).find_map(|(key, typed, slip, column)| {
        let mended = typed.with(&rows, column, &|text| slip.mend(text, units))?;
        let mut all = sent.keys.clone();
        all.iter_mut().filter(|(other, _)| other == key).for_each(|(_, typed)| *typed = mended.clone());
        let texts: Vec<(String, String)> = all.iter().map(|(key, typed)| (key.clone(), typed.text())).collect();
        let reading = NewReading { of: &sent.of, keys: &texts, date };
        logbook::checked(job, None, log, &name_of(log), &bytes, &reading).ok()?;
        let changed = typed.each().into_iter().zip(mended.each()).find(|(was, now)| was != now).map(|(_, now)| now.to_owned())?;
        Some(Meant { words: slip.words(units, &changed), keys: all })
    });
    Asked { questions: spoken, meant }
}

/// Slips that are known by their factor; see [`crate::shop::plausible`].
#[derive(Debug, Clone, Copy, PartialEq)]
enum Slip {
    /// Read in the other unit of length.
    Unit,
    /// The decimal point so many places further right.
    Point(i32),
    Sign,
}

const SLIPS: [Slip; 6] = [Slip::Unit, Slip::Point(1), Slip::Point(-1), Slip::Point(2), Slip::Point(-2), Slip::Sign];

impl Slip {
    /// The text with this slip mended; `None` where it cannot be one of this kind.
    fn mend(self, text: &str, units: System) -> Option<String> {
        let bare: f64 = text.trim().parse().ok()?;
        Some(match self {
            Slip::Unit => format!("{} {}", text.trim(), other_unit(units)),
            Slip::Point(places) => {
                let decimals = text.trim().split_once('.').map_or(0, |(_, decimals)| decimals.len() as i32);
                trim_zeros(&fixed(bare * 10f64.powi(places), (decimals - places).clamp(0, 6) as usize))
            }
            Slip::Sign if bare != 0.0 => trim_zeros(&fixed(-bare, 6)),
            Slip::Sign => return None,
        })
    }

    fn words(self, units: System, now: &str) -> String {
        let now = if read(now, Quantity::Length, units).is_ok() { now } else { "so" };
        match self {
            Slip::Unit => match units {
                System::Inch => format!("yes, millimetres: {now}"),
                System::Millimetre => format!("yes, inches: {now}"),
            },
            Slip::Point(_) => format!("yes, the point slipped: {now}"),
            Slip::Sign => format!("yes, the sign: {now}"),
        }
    }
}

fn other_unit(units: System) -> &'static str {
    match units {
        System::Inch => System::Millimetre.length_unit(),
        System::Millimetre => System::Inch.length_unit(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_written_as_log_add_is_given_them() {
        let text = |text: &str| text.to_owned();
        assert_eq!(Typed::Several(vec![text("0.235")]).text(), "0.235");
        assert_eq!(Typed::Several(vec![text(".235"), text("1/4")]).text(), "[0.235, \"1/4\"]");
        let rows = Typed::Rows(vec![vec![text("3"), text("0.2386"), text("6.05 mm")], vec![text("18"), text("7 1/4")]]);
        assert_eq!(rows.text(), "[[3, 0.2386, \"6.05 mm\"], [18, \"7 1/4\"]]");
        assert_eq!(as_toml(&rows.text()), rows.text());
    }

    #[test]
    fn slips_are_mended_in_the_figures_to_blame_alone() {
        assert_eq!(Slip::Unit.mend("5.23", System::Inch).unwrap(), "5.23 mm");
        assert_eq!(Slip::Point(-1).mend("2.386", System::Inch).unwrap(), "0.2386");
        assert_eq!(Slip::Point(1).mend(".0238", System::Inch).unwrap(), "0.238");
        assert_eq!(Slip::Sign.mend("1.1", System::Inch).unwrap(), "-1.1");
        assert!(Slip::Unit.mend("5 mm", System::Inch).is_none());
        let rows = Typed::Rows(vec![vec!["3".into(), "6.1".into()], vec!["18".into(), "0.24".into()]]);
        let mended = rows.with(&[0], None, &|text| Slip::Unit.mend(text, System::Inch)).unwrap();
        assert_eq!(mended, Typed::Rows(vec![vec!["3".into(), "6.1 mm".into()], vec!["18".into(), "0.24".into()]]));
        let edges = Typed::Rows(vec![vec!["3".into(), "2.386".into(), "0.2383".into()]]);
        let mended = edges.with(&[0], Some(1), &|text| Slip::Point(-1).mend(text, System::Inch)).unwrap();
        assert_eq!(mended, Typed::Rows(vec![vec!["3".into(), "0.2386".into(), "0.2383".into()]]));
    }
}
