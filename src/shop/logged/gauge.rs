//! Does the cutter stay where the gauge says? Zeros told one after another under the same paper, over all laminations.
//!
//! A zero that moves while the paper stays is drift: dust, a worn paper, a machine that warmed or was knocked. It is said where two
//! tellings lie further apart than both of their intervals explain, against the first one under this paper, so that slow drift shows
//! as well. New paper begins anew. Source: interval arithmetic; causes are common practice, no source.

use super::signed;
use crate::diag::mm;

/// The paper that is in the machine, as far as the log tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PaperOn {
    pub lamination: usize,
    /// Index into the sander's papers.
    pub paper: usize,
    /// Changes of paper since that lamination was begun.
    pub changes: usize,
}

impl PaperOn {
    /// Between two laminations nothing tells of a change but another grit.
    fn stayed(self, later: PaperOn) -> bool {
        self.paper == later.paper && (self.lamination != later.lamination || self.changes == later.changes)
    }
}

/// Zero of the bare table: true gap less gauge and half its interval, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Telling {
    pub date: String,
    pub zero_mm: f64,
    pub half_width_mm: f64,
    /// `None` for scrap that no lamination was named for.
    pub paper: Option<PaperOn>,
}

/// The first telling under the paper that is on.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Gauge {
    first: Option<Telling>,
}

impl Gauge {
    /// What a new telling says beside the first one of its paper; that one gives way where the paper is new.
    pub fn told(&mut self, now: Telling) -> Option<String> {
        let Some(first) = &self.first else {
            self.first = Some(now);
            return None;
        };
        let stayed = match (first.paper, now.paper) {
            (Some(first), Some(now)) => Some(first.stayed(now)),
            _ => None,
        };
        let moved_mm = now.zero_mm - first.zero_mm;
        let told = first.half_width_mm + now.half_width_mm < moved_mm.abs();
        let days = if first.date == now.date { "Since earlier this day".to_owned() } else { format!("Since {}", first.date) };
        match stayed {
            Some(false) => {
                self.first = Some(now);
                None
            }
            Some(true) => told.then(|| {
                format!(
                    "{days} the gauge has drifted by {} under the same paper ({} or more of it is sure): brush paper and table, look whether the \
                     paper is worn, and send scrap through before each day's first pass.",
                    signed(moved_mm),
                    mm(moved_mm.abs() - first.half_width_mm - now.half_width_mm)
                )
            }),
            None => told.then(|| {
                format!("{days} the gauge's zero has moved by {}: drift, unless the paper is another one.", signed(moved_mm))
            }),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn telling(date: &str, zero_mm: f64, changes: usize) -> Telling {
        let paper = Some(PaperOn { lamination: 0, paper: 1, changes });
        Telling { date: date.into(), zero_mm, half_width_mm: 0.02, paper }
    }

    #[test]
    fn slow_drift_shows_and_new_paper_begins_anew() {
        let mut gauge = Gauge::default();
        let days = ["2026-11-01", "2026-11-02", "2026-11-03", "2026-11-04"];
        let told: Vec<bool> =
            days.iter().enumerate().map(|(k, day)| gauge.told(telling(day, 0.015 * k as f64, 0)).is_some()).collect();
        assert_eq!(told, [false, false, false, true]);
        assert_eq!(gauge.told(telling("2026-11-05", 0.3, 1)), None);
        assert!(gauge.told(telling("2026-11-06", 0.2, 1)).unwrap().starts_with("Since 2026-11-05"));
    }
}
