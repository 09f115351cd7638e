//! Passes that were ticked as made: nothing was measured, and nothing but the count of passes moves.

use super::super::{Answer, Case, Finding};
use super::Bench;
use crate::diag::Diagnostic;
use crate::shop::passes::Pass;

/// Where a tick leaves the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ticked {
    /// Passes made with all strips.
    pub made: u32,
    pub left: usize,
    /// The pass that some strips have behind them and others not.
    pub waits: Option<u32>,
}

impl Bench {
    /// Passes up to `pass` are made, with this strip or with all of them. A lower pass than before takes ticks back.
    pub(in super::super) fn done(&mut self, case: &Case<'_>, strip: &str, pass: u32) -> Answer {
        let reading = case.reading;
        let name = &case.now.build.laminations[self.lamination].name;
        let last = self.setups.iter().flat_map(|setup| &setup.passes).map(|pass| pass.number).max();
        let last = last.unwrap_or(0).max(self.sure);
        if last < pass {
            let message = message!("`{}` has {} passes, and this is pass {}", name, last, pass);
            let fault =
                Diagnostic::fault(reading.place.key("pass"), message).hint("count the passes of the list that was followed");
            return Answer::asking(reading, vec![fault]);
        }
        if strip.is_empty() {
            self.ticks.clear();
        }
        self.ticks.insert(strip.to_owned(), pass);
        self.made = self.ticked().max(self.sure);
        let furthest = self.ticks.values().copied().max().unwrap_or(0);
        let mut answer = Answer::new(reading);
        let waits = (self.made < furthest).then_some(furthest);
        answer.finding = Finding::Done(Ticked { made: self.made, left: self.left().count(), waits });
        answer
    }

    /// A strip was read after this pass: whatever was ticked, it is made and none after it.
    pub(super) fn read_after(&mut self, pass: u32) {
        self.made = pass;
        self.sure = pass;
        self.ticks.clear();
    }

    /// Passes that every run has behind it, by the ticks alone.
    fn ticked(&self) -> u32 {
        let runs = self.runs.max(1) as usize;
        let of_all = self.ticks.get("").copied().unwrap_or(0);
        let mut each: Vec<u32> = self.ticks.iter().filter(|(strip, _)| !strip.is_empty()).map(|(_, pass)| *pass).collect();
        // A strip that was not named yet stands where all were said to stand.
        each.resize(each.len().max(runs), of_all);
        each.sort_unstable_by(|a, b| b.cmp(a));
        each[runs - 1]
    }

    /// The pass that made the last cut, as it was followed then.
    pub fn last_cut(&self) -> Option<&Pass> {
        // Of equal numbers the latest version was followed.
        let passes = self.earlier.iter().chain(&self.setups).flat_map(|setup| &setup.passes);
        passes.filter(|pass| pass.number <= self.made).max_by_key(|pass| pass.number)
    }

    /// The last pass ticked for this strip, whose others may lag behind.
    pub fn ticked_of(&self, strip: &str) -> u32 {
        self.ticks.get(strip).or(self.ticks.get("")).copied().unwrap_or(0).max(self.sure)
    }

    /// Runs of each pass for one bow: the strips of a pair go through one by one, or side by side.
    pub fn runs(&self) -> u32 {
        self.runs
    }
}
