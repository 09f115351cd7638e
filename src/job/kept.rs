//! A value that is worked out when it is first asked for, and kept.

use super::Refused;
use crate::diag::{Diagnostic, Outcome, Reported};
use std::sync::OnceLock;

/// The outcome of one stage. Whoever asks first works it out; whoever asks at the same time waits for it.
#[derive(Debug)]
pub(super) struct Kept<T>(OnceLock<Outcome<T>>);

impl<T> Default for Kept<T> {
    fn default() -> Kept<T> {
        Kept(OnceLock::new())
    }
}

impl<T> Kept<T> {
    /// The value with its warnings.
    pub fn reported(&self, work: impl FnOnce() -> Outcome<T>) -> Result<&Reported<T>, Refused> {
        self.0.get_or_init(work).as_ref().map_err(|faults| Refused { faults: faults.clone() })
    }

    /// The value; its warnings are told by who gathers them.
    pub fn value(&self, work: impl FnOnce() -> Outcome<T>) -> Result<&T, Refused> {
        self.reported(work).map(|reported| &reported.value)
    }
}

/// The outcome of work that warns of nothing and has one fault at most.
pub(super) fn plain<T>(result: Result<T, Diagnostic>) -> Outcome<T> {
    result.map(Reported::clean).map_err(|fault| vec![fault])
}
