//! Questions on their way to the desk. One thread works them off in order, the desk's own before those of phones; of the looks of one page only
//! the newest is worth an answer, and an older one that still waits is dropped.
//!
//! No phone holds the thread for longer than one fold of the log: a reading that is asked about is worked off a fold a turn, and stands behind the other
//! phones after each.

use super::answers::LookAt;
use super::desk::{Desk, Refusal, Tried};
use super::events::Events;
use super::readings::{ReadingStep, SlipSearch};
use super::sent::Sent;
use crate::buildfile::{Starter, starter};
use crate::job::Easing;
use serde_json::json;
use std::collections::VecDeque;
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::Duration;
use tokio::sync::oneshot;

/// What can be asked of the desk.
#[derive(Debug)]
pub enum Question {
    State,
    /// Answered while a hand moves.
    Look(Vec<Tried>, LookAt),
    Whole(Vec<Tried>),
    Glue(Vec<Tried>),
    Shot(Vec<Tried>),
    Solve {
        changes: Vec<Tried>,
        free: Vec<String>,
    },
    Ease {
        changes: Vec<Tried>,
        percent: f64,
        by: Easing,
        free: Vec<String>,
    },
    /// The bow of this weight in the file's series.
    SeriesBow(String),
    Lines(Vec<Tried>),
    Keep {
        changes: Vec<Tried>,
        hash: String,
    },
    TakeBack {
        hash: String,
    },
    SetAside {
        name: String,
        changes: Vec<Tried>,
    },
    DropAside {
        name: String,
    },
    Begin(Box<Starter>),
    BeginWith(String),
    NameIt {
        name: String,
        changes: Vec<Tried>,
    },
    Make,
    File(usize),
    LookAtDisk,
    /// What the phone's places show.
    Shop,
    Reading(Box<Sent>),
    /// What a reading would say; nothing is written.
    Try(Box<Sent>),
    /// A reading that is asked about, and what is still to be tried on it.
    Slips(Box<SlipSearch>),
}

/// Who asks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Asker {
    /// A page at the desk by its name; the program itself has none.
    Desk(String),
    Phone(u32),
}

impl Question {
    /// Of questions of one kind from one page only the newest matters.
    fn passes(&self, other: &Question) -> bool {
        use Question::{Glue, Look, Shot, Whole};
        matches!((self, other), (Look(..), Look(..)) | (Whole(_), Whole(_)) | (Glue(_), Glue(_)) | (Shot(_), Shot(_)))
    }

    /// It changes nothing, and is for whoever asked alone.
    fn only_answers(&self) -> bool {
        self.passes(self) || matches!(self, Question::Slips(_) | Question::Try(_))
    }
}

/// What the desk says.
#[derive(Debug)]
pub enum Said {
    /// JSON, as it is sent.
    Json(String),
    File {
        name: String,
        bytes: Vec<u8>,
    },
    Refused(Refusal),
}

#[derive(Debug)]
struct Waiting {
    asker: Asker,
    question: Question,
    answer: oneshot::Sender<Said>,
}

/// Two rows: the desk's pages go first.
#[derive(Debug, Default)]
struct Rows {
    desk: VecDeque<Waiting>,
    phones: VecDeque<Waiting>,
    /// Questions of the desk that went before a phone that waits.
    before: usize,
}

/// So many of the desk's go before a phone's: a hand that drags a lever asks thirty times a second, and phones come to their turn all the same.
const MAX_BEFORE: usize = 8;

impl Rows {
    fn waiting(&self) -> usize {
        self.desk.len() + self.phones.len()
    }

    fn push(&mut self, asked: Waiting) {
        match asked.asker {
            Asker::Desk(_) => self.desk.push_back(asked),
            Asker::Phone(_) => self.phones.push_back(asked),
        }
    }

    fn next(&mut self) -> Option<Waiting> {
        let phones_turn = !self.phones.is_empty() && (self.desk.is_empty() || MAX_BEFORE <= self.before);
        if phones_turn {
            self.before = 0;
            return self.phones.pop_front();
        }
        self.before = if self.phones.is_empty() { 0 } else { self.before + 1 };
        self.desk.pop_front()
    }
}

/// Questions that wait at a time; more is no page of ours.
const MAX_WAITING: usize = 200;

/// The way to the desk.
#[derive(Clone)]
pub struct Queue(Arc<(Mutex<Rows>, Condvar)>);

impl Queue {
    /// The answer; `None` where a newer question of the same page took its place, or too many wait.
    pub async fn ask(&self, asker: Asker, question: Question) -> Option<Said> {
        let (answer, answered) = oneshot::channel();
        {
            let (waiting, rung) = &*self.0;
            let mut waiting = waiting.lock().unwrap_or_else(PoisonError::into_inner);
            waiting.desk.retain(|other| other.asker != asker || !question.passes(&other.question));
            if MAX_WAITING <= waiting.waiting() {
                return None;
            }
            waiting.push(Waiting { asker, question, answer });
            rung.notify_one();
        }
        answered.await.ok()
    }

    /// Puts the rest of a question behind the others of its row.
    fn again(&self, asked: Waiting) {
        let (waiting, _) = &*self.0;
        waiting.lock().unwrap_or_else(PoisonError::into_inner).push(asked);
    }

    /// Looks at the disk from time to time.
    pub async fn watch_disk(self, every: Duration) {
        loop {
            tokio::time::sleep(every).await;
            self.ask(Asker::Desk(String::new()), Question::LookAtDisk).await;
        }
    }

    fn next(&self) -> Waiting {
        let (waiting, rung) = &*self.0;
        let mut waiting = waiting.lock().unwrap_or_else(PoisonError::into_inner);
        loop {
            if let Some(asked) = waiting.next() {
                return asked;
            }
            waiting = rung.wait(waiting).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

/// Starts the thread that owns the desk.
pub fn start(mut desk: Desk, events: Arc<Events>) -> std::io::Result<Queue> {
    let queue = Queue(Arc::new((Mutex::new(Rows::default()), Condvar::new())));
    let own = queue.clone();
    std::thread::Builder::new().name("desk".into()).spawn(move || {
        loop {
            let asked = own.next();
            // A page that went away meanwhile wants no answer.
            if asked.answer.is_closed() && asked.question.only_answers() {
                continue;
            }
            let said = match answer(&mut desk, &events, asked.question) {
                Ok(Turn::Said(said)) => said,
                Ok(Turn::Again(question)) => {
                    own.again(Waiting { question, ..asked });
                    continue;
                }
                Err(refusal) => Said::Refused(refusal),
            };
            let _ = asked.answer.send(said);
        }
    })?;
    Ok(queue)
}

/// What one turn at the desk comes to.
enum Turn {
    Said(Said),
    /// The rest of it, for another turn.
    Again(Question),
}

fn answer(desk: &mut Desk, events: &Events, question: Question) -> Result<Turn, Refusal> {
    let told = |changes: Option<Vec<Tried>>, told: Vec<String>| said(&json!({ "changes": changes, "told": told }));
    let done = || said(&());
    // Every open page hears what one of them did.
    let changed = |desk: &Desk| events.tell(&json!({ "event": "file", "hash": desk.hash() }));
    let answer = match question {
        Question::State => said(&desk.state()),
        Question::Look(changes, shown) => said(&desk.look(&changes, shown)?),
        Question::Whole(changes) => said(&desk.whole(&changes)?),
        Question::Glue(changes) => said(&desk.glue(&changes)?),
        Question::Shot(changes) => said(&desk.shot(&changes)?),
        Question::Solve { changes, free } => {
            let (changes, moved) = desk.solve(&changes, &free)?;
            told(Some(changes), moved)
        }
        Question::Ease { changes, percent, by, free } => {
            let (changes, moved) = desk.ease(&changes, percent, by, &free)?;
            told(changes, moved)
        }
        Question::SeriesBow(weight) => told(Some(desk.series_bow(&weight)?), Vec::new()),
        Question::Lines(changes) => said(&desk.lines(&changes)?),
        Question::Keep { changes, hash } => {
            let lines = desk.keep(&changes, &hash)?;
            changed(desk);
            said(&lines)
        }
        Question::TakeBack { hash } => {
            desk.take_back(&hash)?;
            changed(desk);
            done()
        }
        Question::SetAside { name, changes } => {
            desk.set_aside(&name, &changes)?;
            events.tell(&json!({ "event": "aside" }));
            done()
        }
        Question::DropAside { name } => {
            desk.drop_aside(&name);
            events.tell(&json!({ "event": "aside" }));
            done()
        }
        Question::Begin(wish) => {
            desk.begin(starter(&wish))?;
            changed(desk);
            done()
        }
        Question::BeginWith(text) => {
            desk.begin(text)?;
            changed(desk);
            done()
        }
        Question::NameIt { name, changes } => {
            let name = desk.name_it(&name, &changes)?;
            changed(desk);
            said(&name)
        }
        Question::Make => {
            let names = desk.make(|done, of| events.tell(&json!({ "event": "made", "done": done, "of": of })))?;
            said(&names)
        }
        Question::File(number) => {
            let made = desk.made_file(number)?;
            return Ok(Turn::Said(Said::File { name: made.path, bytes: made.bytes }));
        }
        Question::LookAtDisk => {
            if desk.look_at_disk() {
                changed(desk);
            }
            if desk.look_at_log() {
                events.tell(&json!({ "event": "log" }));
            }
            done()
        }
        Question::Shop => said(&desk.shop()?),
        Question::Reading(sent) => {
            let step = desk.add_reading(*sent);
            if desk.look_at_log() {
                events.tell(&json!({ "event": "log" }));
            }
            match step? {
                ReadingStep::Said(told) => said(&told),
                ReadingStep::Slips(search) => return Ok(Turn::Again(Question::Slips(search))),
            }
        }
        Question::Slips(search) => return Ok(Turn::Again(Question::Slips(Box::new(desk.slip(*search)?)))),
        Question::Try(sent) => said(&desk.try_reading(&sent)?),
    };
    Ok(Turn::Said(Said::Json(answer)))
}

/// Written here: a thread of the server has more to do than to write.
fn said(of: &impl serde::Serialize) -> String {
    serde_json::to_string(of).expect("plain values are JSON")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(rows: &mut Rows, asker: Asker) {
        rows.push(Waiting { asker, question: Question::Shop, answer: oneshot::channel().0 });
    }

    /// The desk's questions go before those of phones, and no more than a few of them while one waits.
    #[test]
    fn the_desk_goes_first_and_phones_come_to_their_turn() {
        let mut rows = Rows::default();
        (1..=2).for_each(|number| asked(&mut rows, Asker::Phone(number)));
        (0..2 * MAX_BEFORE).for_each(|_| asked(&mut rows, Asker::Desk("page".into())));
        let order: Vec<Asker> = std::iter::from_fn(|| rows.next()).map(|asked| asked.asker).collect();
        assert_eq!(order.len(), 2 + 2 * MAX_BEFORE);
        let phones: Vec<usize> = (0..order.len()).filter(|k| matches!(order[*k], Asker::Phone(_))).collect();
        assert_eq!(phones, [MAX_BEFORE, 2 * MAX_BEFORE + 1]);
        // Work of a phone that comes again stands behind the other phones.
        (1..=3).for_each(|number| asked(&mut rows, Asker::Phone(number)));
        let first = rows.next().unwrap();
        rows.push(first);
        let order: Vec<Asker> = std::iter::from_fn(|| rows.next()).map(|asked| asked.asker).collect();
        assert_eq!(order, [2, 3, 1].map(Asker::Phone));
    }
}
