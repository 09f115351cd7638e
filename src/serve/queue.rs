//! Questions on their way to the desk. One thread works them off in order; of the looks of one page only the newest is worth an answer, and
//! an older one that still waits is dropped.

use super::desk::{Desk, Refusal, Tried};
use super::events::Events;
use super::sent::Sent;
use crate::buildfile::{Starter, starter};
use crate::job::Easing;
use serde_json::{Value, json};
use std::collections::VecDeque;
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::Duration;
use tokio::sync::oneshot;

/// What can be asked of the desk.
#[derive(Debug)]
pub enum Question {
    State,
    /// Answered while a hand moves.
    Look(Vec<Tried>),
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
}

impl Question {
    /// Of questions of one kind from one page only the newest matters.
    fn passes(&self, other: &Question) -> bool {
        use Question::{Glue, Look, Shot, Whole};
        matches!((self, other), (Look(_), Look(_)) | (Whole(_), Whole(_)) | (Glue(_), Glue(_)) | (Shot(_), Shot(_)))
    }
}

/// What the desk says.
#[derive(Debug)]
pub enum Said {
    Value(Value),
    File { name: String, bytes: Vec<u8> },
    Refused(Refusal),
}

struct Waiting {
    page: String,
    question: Question,
    answer: oneshot::Sender<Said>,
}

/// Questions that wait at a time; more is no page of ours.
const MAX_WAITING: usize = 200;

/// The way to the desk.
#[derive(Clone)]
pub struct Queue(Arc<(Mutex<VecDeque<Waiting>>, Condvar)>);

impl Queue {
    /// The answer; `None` where a newer question of the same page took its place, or too many wait.
    pub async fn ask(&self, page: String, question: Question) -> Option<Said> {
        let (answer, answered) = oneshot::channel();
        {
            let (waiting, rung) = &*self.0;
            let mut waiting = waiting.lock().unwrap_or_else(PoisonError::into_inner);
            waiting.retain(|other| other.page != page || !question.passes(&other.question));
            if MAX_WAITING <= waiting.len() {
                return None;
            }
            waiting.push_back(Waiting { page, question, answer });
            rung.notify_one();
        }
        answered.await.ok()
    }

    /// Looks at the disk from time to time.
    pub async fn watch_disk(self, every: Duration) {
        loop {
            tokio::time::sleep(every).await;
            self.ask(String::new(), Question::LookAtDisk).await;
        }
    }

    fn next(&self) -> Waiting {
        let (waiting, rung) = &*self.0;
        let mut waiting = waiting.lock().unwrap_or_else(PoisonError::into_inner);
        loop {
            if let Some(asked) = waiting.pop_front() {
                return asked;
            }
            waiting = rung.wait(waiting).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

/// Starts the thread that owns the desk.
pub fn start(mut desk: Desk, events: Arc<Events>) -> std::io::Result<Queue> {
    let queue = Queue(Arc::new((Mutex::new(VecDeque::new()), Condvar::new())));
    let own = queue.clone();
    std::thread::Builder::new().name("desk".into()).spawn(move || {
        loop {
            let asked = own.next();
            // A page that went away meanwhile wants no answer.
            if asked.answer.is_closed() && asked.question.passes(&asked.question) {
                continue;
            }
            let said = answer(&mut desk, &events, asked.question).unwrap_or_else(Said::Refused);
            let _ = asked.answer.send(said);
        }
    })?;
    Ok(queue)
}

fn answer(desk: &mut Desk, events: &Events, question: Question) -> Result<Said, Refusal> {
    let told = |changes: Option<Vec<Tried>>, told: Vec<String>| json!({ "changes": changes, "told": told });
    // Every open page hears what one of them did.
    let changed = |desk: &Desk| events.tell(&json!({ "event": "file", "hash": desk.hash() }));
    let value = match question {
        Question::State => value(&desk.state()),
        Question::Look(changes) => value(&desk.look(&changes)?),
        Question::Whole(changes) => value(&desk.whole(&changes)?),
        Question::Glue(changes) => value(&desk.glue(&changes)?),
        Question::Shot(changes) => value(&desk.shot(&changes)?),
        Question::Solve { changes, free } => {
            let (changes, moved) = desk.solve(&changes, &free)?;
            told(Some(changes), moved)
        }
        Question::Ease { changes, percent, by, free } => {
            let (changes, moved) = desk.ease(&changes, percent, by, &free)?;
            told(changes, moved)
        }
        Question::Lines(changes) => value(&desk.lines(&changes)?),
        Question::Keep { changes, hash } => {
            let lines = desk.keep(&changes, &hash)?;
            changed(desk);
            value(&lines)
        }
        Question::TakeBack { hash } => {
            desk.take_back(&hash)?;
            changed(desk);
            Value::Null
        }
        Question::SetAside { name, changes } => {
            desk.set_aside(&name, &changes)?;
            events.tell(&json!({ "event": "aside" }));
            Value::Null
        }
        Question::DropAside { name } => {
            desk.drop_aside(&name);
            events.tell(&json!({ "event": "aside" }));
            Value::Null
        }
        Question::Begin(wish) => {
            desk.begin(starter(&wish))?;
            changed(desk);
            Value::Null
        }
        Question::BeginWith(text) => {
            desk.begin(text)?;
            changed(desk);
            Value::Null
        }
        Question::NameIt { name, changes } => {
            let name = desk.name_it(&name, &changes)?;
            changed(desk);
            Value::String(name)
        }
        Question::Make => {
            let names = desk.make(|done, of| events.tell(&json!({ "event": "made", "done": done, "of": of })))?;
            value(&names)
        }
        Question::File(number) => {
            let (name, bytes) = desk.file(number)?;
            return Ok(Said::File { name, bytes });
        }
        Question::LookAtDisk => {
            if desk.look_at_disk() {
                changed(desk);
            }
            if desk.look_at_log() {
                events.tell(&json!({ "event": "log" }));
            }
            Value::Null
        }
        Question::Shop => value(&desk.shop()?),
        Question::Reading(sent) => {
            let said = desk.add_reading(*sent);
            if desk.look_at_log() {
                events.tell(&json!({ "event": "log" }));
            }
            value(&said?)
        }
    };
    Ok(Said::Value(value))
}

fn value(of: &impl serde::Serialize) -> Value {
    serde_json::to_value(of).expect("plain values are JSON")
}
