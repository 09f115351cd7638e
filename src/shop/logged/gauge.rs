//! Does the cutter stay where the gauge says? Zeros told one after another under the same paper, over all laminations.
//!
//! A zero that moves while the paper stays is drift: dust, a worn paper, a machine that warmed or was knocked. It is said where two
//! tellings lie further apart than both of their intervals explain, against the first one under this paper, so that slow drift shows
//! as well. New paper begins anew. Source: interval arithmetic; causes are common practice, no source.

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

/// A zero that moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Drift {
    /// When it was told before.
    pub since: String,
    pub moved_mm: f64,
    /// So much of it is sure, mm.
    pub sure_mm: f64,
    /// The paper is known to be the same.
    pub same_paper: bool,
}

/// The first telling under the paper that is on.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Gauge {
    first: Option<Telling>,
}

impl Gauge {
    /// What a new telling says beside the first one of its paper; that one gives way where the paper is new.
    pub fn told(&mut self, now: Telling) -> Option<Drift> {
        let stayed = match (&self.first, now.paper) {
            (None, _) => Some(false),
            (Some(Telling { paper: Some(first), .. }), Some(now)) => Some(first.stayed(now)),
            _ => None,
        };
        let Some(first) = self.first.as_ref().filter(|_| stayed != Some(false)) else {
            self.first = Some(now);
            return None;
        };
        let moved_mm = now.zero_mm - first.zero_mm;
        let sure_mm = moved_mm.abs() - first.half_width_mm - now.half_width_mm;
        (0.0 < sure_mm).then(|| Drift { since: first.date.clone(), moved_mm, sure_mm, same_paper: stayed == Some(true) })
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
        assert!(gauge.told(telling("2026-11-06", 0.2, 1)).is_some_and(|drift| drift.since == "2026-11-05" && drift.same_paper));
    }
}
