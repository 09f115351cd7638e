//! Readings that come from a page: added to the log by the same code as `log add`, never twice.
//!
//! A page sends each reading with a key that it made up, again and again until it hears an answer. The key is remembered for as long as
//! the program runs; a page that does not know whether an earlier try arrived says so, and then the end of the log is looked at, too.
//! No request names a file: a weighing of another build's bow, which would, is logged at the terminal.

use super::answers;
use super::bow_file::name_of;
use super::desk::{Desk, Refusal};
use super::places::{self, ShopPlaces, Spoken};
use super::sent::{Asked, Meant, SLIPS, Sent, SentQuestion, Slip, Typed};
use crate::diag::Diagnostic;
use crate::folder;
use crate::job::Job;
use crate::logbook::{self, LogFile, LogUnread, NewReading, NotAdded, show};
use serde::Serialize;
use std::collections::VecDeque;
use std::path::{Path, PathBuf};
use std::time::Duration;
use tokio::time::Instant;

/// What a reading that was added says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingSaid {
    pub answer: Spoken,
    /// What the places show now.
    pub shop: ShopPlaces,
}

/// What a reading that is not added would say, and where a picture shows it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReadingTried {
    pub answer: Spoken,
    pub marked: Vec<show::PictureRun>,
}

/// A reading on its way: one fold of the log a turn, so that others are answered between.
#[derive(Debug)]
pub enum ReadingStep {
    Said(Box<ReadingSaid>),
    Slips(Box<SlipSearch>),
}

/// A reading that is asked about, and the slips that are still to be tried on it.
#[derive(Debug)]
pub struct SlipSearch {
    sent: Sent,
    date: String,
    questions: Vec<SentQuestion>,
    tries: VecDeque<Meant>,
    begun: Instant,
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
/// And how long they are looked for: a page that hears nothing for twice as long gives up, and would send it all again.
const MAX_SEARCH: Duration = Duration::from_secs(8);

impl Desk {
    /// What the phone's places show.
    pub fn shop(&mut self) -> Result<ShopPlaces, Refusal> {
        self.look_at_disk();
        let log = self.log();
        let text = match log.as_deref().filter(|log| log.exists()) {
            Some(log) => folder::read_text(log).map_err(|error| Refusal::Disk(format!("{}: {error}", name_of(log))))?,
            None => String::new(),
        };
        let answered = answered(&self.logged()?, log.as_deref(), &text);
        self.places(answered.as_ref())
    }

    /// The same for a log that is answered already.
    fn places(&mut self, answered: Result<&logbook::Answered, &Vec<answers::Told>>) -> Result<ShopPlaces, Refusal> {
        let head = places::Head { file: self.name(), log: self.log().as_deref().map(name_of), today: self.day(Duration::ZERO) };
        let faults = self.faults();
        Ok(places::shop(self.file_bow()?, head, answered, faults))
    }

    /// What a log is read with.
    fn logged(&self) -> Result<Logged, Refusal> {
        let alone = self.file_bow()?.alone();
        Ok(Logged { job: alone[0].clone(), lower: alone.get(1).cloned() })
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

    /// Adds a reading to the log, unless it is there already: one fold of the log. One that is asked about goes on with [`Desk::slip`].
    pub fn add_reading(&mut self, sent: Sent) -> Result<ReadingStep, Refusal> {
        if let Some((_, answer)) = self.readings.known.iter().find(|(key, _)| *key == sent.key) {
            let answer = answer.clone();
            return Ok(ReadingStep::Said(Box::new(ReadingSaid { answer, shop: self.shop()? })));
        }
        let (logged, log) = self.ready(&sent)?;
        let job = &logged.job;
        let date = self.date_of(&sent);
        let keys = texts(&sent.keys);
        let reading = NewReading { of: &sent.of, keys: &keys, date: &date };
        let (answer, answered) = match sent.again.then(|| stands(&logged, &log, &reading)).flatten() {
            Some(found) => found,
            None => match logbook::add(job, logged.lower.as_ref(), LogFile { path: &log, name: &name_of(&log) }, &reading) {
                Ok(added) => (added.answer().map(|answer| places::spoken(job, answer)).unwrap_or_default(), added.answered),
                Err(NotAdded::Asked { questions, .. }) => {
                    let questions = questions.iter().map(|question| SentQuestion::of(question, job.build().units)).collect();
                    return Ok(ReadingStep::Slips(Box::new(SlipSearch::of(job, sent, date, questions))));
                }
                Err(fault) => return Err(refused(job, &log, fault)),
            },
        };
        if self.readings.known.len() == MAX_KNOWN {
            self.readings.known.pop_front();
        }
        self.readings.known.push_back((sent.key, answer.clone()));
        Ok(ReadingStep::Said(Box::new(ReadingSaid { answer, shop: self.places(Ok(&answered))? })))
    }

    /// Tries the next slip on a reading that is asked about: one fold of the log. Refused with the questions once one fits or none is left.
    pub fn slip(&mut self, mut search: SlipSearch) -> Result<SlipSearch, Refusal> {
        let asked = |search: SlipSearch, meant| Err(Refusal::Asked(Asked { questions: search.questions, meant }));
        let next = search.tries.pop_front().filter(|_| search.begun.elapsed() < MAX_SEARCH);
        let Some(meant) = next else { return asked(search, None) };
        let (logged, log) = self.ready(&search.sent)?;
        let keys = texts(&meant.keys);
        let reading = NewReading { of: &search.sent.of, keys: &keys, date: &search.date };
        let bytes = folder::read_text(&log).unwrap_or_default().into_bytes();
        match logbook::checked(&logged.job, logged.lower.as_ref(), LogFile { path: &log, name: &name_of(&log) }, &bytes, &reading)
        {
            Ok(_) => asked(search, Some(meant)),
            Err(_) => Ok(search),
        }
    }

    /// What a reading would say if it were added; nothing is written. One fold of the log.
    pub fn try_reading(&mut self, sent: &Sent) -> Result<ReadingTried, Refusal> {
        fits(sent)?;
        self.look_at_disk();
        // A bow that has no file yet has no log, and may be looked at all the same.
        let log = self.log().unwrap_or_default();
        let logged = self.logged()?;
        let job = &logged.job;
        let date = self.date_of(sent);
        let keys = texts(&sent.keys);
        let reading = NewReading { of: &sent.of, keys: &keys, date: &date };
        let bytes = folder::read_text(&log).unwrap_or_default().into_bytes();
        let tried = logbook::checked(job, logged.lower.as_ref(), LogFile { path: &log, name: &name_of(&log) }, &bytes, &reading);
        let added = tried.map_err(|fault| refused(job, &log, fault))?;
        let answer = added.answer();
        Ok(ReadingTried {
            answer: answer.map(|answer| places::spoken(job, answer)).unwrap_or_default(),
            marked: answer.map_or(Vec::new(), |answer| show::on_picture(job.build(), answer)),
        })
    }

    /// The job and the log for a reading, or why it has to wait.
    fn ready(&mut self, sent: &Sent) -> Result<(Logged, PathBuf), Refusal> {
        fits(sent)?;
        self.look_at_disk();
        if !self.faults().is_empty() {
            return Err(Refusal::Cannot(
                "the build file has faults, which the desk shows: the reading waits until they are mended".into(),
            ));
        }
        let log = self
            .log()
            .ok_or_else(|| Refusal::Cannot("this bow has no file yet: keep it under a name at the desk first".into()))?;
        Ok((self.logged()?, log))
    }

    fn date_of(&self, sent: &Sent) -> String {
        sent.date.clone().unwrap_or_else(|| self.day(Duration::from_secs(sent.ago_s)))
    }
}

/// As `log add` would be given them.
fn texts(keys: &[(String, Typed)]) -> Vec<(String, String)> {
    keys.iter().map(|(key, typed)| (key.clone(), typed.text())).collect()
}

/// What a log is read with: the build that its readings are of, and the lower limb's, where that is a different one. The first is held against the log
/// as `log` does, by itself.
struct Logged {
    job: Job,
    lower: Option<Job>,
}

/// The log with its answers; its faults in words where it has some.
fn answered(logged: &Logged, log: Option<&Path>, text: &str) -> Result<logbook::Answered, Vec<answers::Told>> {
    let folder = log.and_then(Path::parent).map(Path::to_owned).unwrap_or_default();
    let name = log.map(name_of).unwrap_or_default();
    let (job, lower) = (&logged.job, logged.lower.as_ref());
    logbook::read(job, lower, &name, text, &folder::named_texts(&folder, text)).map_err(|unread| told(job, unread))
}

fn told(job: &Job, unread: LogUnread) -> Vec<answers::Told> {
    match unread {
        LogUnread::Log { source, faults } => answers::told_of(&faults, job.build().units, &source),
        LogUnread::Build(faults) => answers::told(job, &faults),
    }
}

/// What was sent is a reading by its form: bounded, and no file is named.
fn fits(sent: &Sent) -> Result<(), Refusal> {
    let refuse = |why: &str| Err(Refusal::Asked(Asked::of(vec![SentQuestion::new(why.to_owned(), Vec::new())])));
    if sent.keys.iter().any(|(key, _)| key.trim() == "build") {
        return refuse("a bow of another build file is logged with `taperwright log add`");
    }
    if MAX_AGO.as_secs() < sent.ago_s && sent.date.is_none() {
        return refuse("this was typed long ago: say the day");
    }
    let texts: Vec<&str> = sent.keys.iter().flat_map(|(_, typed)| typed.each()).collect();
    let short =
        texts.len() <= MAX_TEXTS && texts.iter().all(|text| text.len() <= MAX_TEXT && !text.chars().any(char::is_control));
    let keyed = (1..=64).contains(&sent.key.len()) && sent.keys.len() <= 24;
    if short && keyed { Ok(()) } else { refuse("this is longer than a reading can be") }
}

/// Why a reading was not added, for the page: what stands in its way is told, and it waits there.
fn refused(job: &Job, log: &Path, fault: NotAdded) -> Refusal {
    let units = job.build().units;
    let asked_about =
        |faults: &[Diagnostic]| Refusal::Asked(Asked::of(faults.iter().map(|fault| SentQuestion::of(fault, units)).collect()));
    match fault {
        NotAdded::Unfit(message) => Refusal::Asked(Asked::of(vec![SentQuestion::new(message, Vec::new())])),
        NotAdded::NotText => Refusal::Cannot(format!("{} is not a text file (UTF-8)", name_of(log))),
        NotAdded::Unread(LogUnread::Log { faults, source }) => {
            // What stood there before is not this reading's fault.
            let own =
                format!("reading[{}]", crate::diag::SourceText::text(&source).matches("[[reading]]").count().saturating_sub(1));
            match faults.iter().find(|fault| !fault.place.as_str().starts_with(&own)) {
                Some(fault) => {
                    let what = fault.message.spoken(units);
                    Refusal::Cannot(format!("{} has a fault, {what}: the reading waits until it is mended", name_of(log)))
                }
                None => asked_about(&faults),
            }
        }
        NotAdded::Unread(LogUnread::Build(faults)) => Refusal::Faults(answers::told(job, &faults)),
        NotAdded::Asked { questions, .. } => asked_about(&questions),
        NotAdded::Folder(fault) => fault.into(),
    }
}

/// What the same reading says at the end of the log, if it stands there, and the log answered.
fn stands(logged: &Logged, log: &Path, reading: &NewReading<'_>) -> Option<(Spoken, logbook::Answered)> {
    let text = folder::read_text(log).ok()?;
    let back = logbook::stands(&text, reading, LAST)?;
    let answered = answered(logged, Some(log), &text).ok()?;
    let spoken = places::spoken(&logged.job, answered.answers.answers.iter().rev().nth(back)?);
    Some((spoken, answered))
}

impl SlipSearch {
    /// Each slip on what is to blame; the first with which the reading is asked about no more is offered.
    fn of(job: &Job, sent: Sent, date: String, questions: Vec<SentQuestion>) -> SlipSearch {
        let units = job.build().units;
        let known = questions.iter().find_map(|question| question.key.clone());
        let rows: Vec<usize> =
            questions.iter().filter(|question| question.key == known).filter_map(|question| question.row).collect();
        // Points of a picture are not typed.
        let typed = !sent.keys.iter().any(|(key, _)| key == "picture");
        let keys = sent.keys.iter().filter(|(key, _)| typed && known.as_ref().is_none_or(|known| known == key));
        // Of two edges one alone may have slipped.
        let columns: &[Option<usize>] = if known.is_some() { &[None, Some(1), Some(2)] } else { &[None] };
        // What the program's hints speak of is tried first.
        let mut slips = SLIPS;
        slips.sort_by_key(|slip| !slip.is_hinted(&questions));
        let tries = keys.flat_map(|(key, typed)| {
            slips.iter().flat_map(move |slip| columns.iter().map(move |column| (key, typed, slip, *column)))
        });
        let meant = |(key, typed, slip, column): (&String, &Typed, &Slip, Option<usize>)| {
            let mended = typed.with(&rows, column, &|text| slip.mend(text, units))?;
            let mut all = sent.keys.clone();
            all.iter_mut().filter(|(other, _)| other == key).for_each(|(_, typed)| *typed = mended.clone());
            let changed =
                typed.each().into_iter().zip(mended.each()).find(|(was, now)| was != now).map(|(_, now)| now.to_owned())?;
            Some(Meant { words: slip.words(units, &changed), keys: all })
        };
        let tries = tries.take(MAX_SLIPS).filter_map(meant).collect();
        SlipSearch { sent, date, questions, tries, begun: Instant::now() }
    }
}
