//! Which lines of a build file would a keep change?

use serde::Serialize;

/// A line that a keep would change.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Line {
    pub place: String,
    pub was: String,
    pub now: String,
}

/// Lines that differ between two texts of which only values were changed, and lines added; by the longest common beginning and end of
/// each stretch.
pub fn changed_lines(before: &[&str], after: &[&str]) -> Vec<Line> {
    let mut lines = Vec::new();
    if before.len() == after.len() {
        for (number, (was, now)) in before.iter().zip(after).enumerate().filter(|(_, (was, now))| was != now) {
            lines.push(Line { place: format!("line {}", number + 1), was: (*was).into(), now: (*now).into() });
        }
        return lines;
    }
    let (mut at, mut then) = (0, 0);
    while at < before.len() || then < after.len() {
        match (before.get(at), after.get(then)) {
            (Some(was), Some(now)) if was == now => (at, then) = (at + 1, then + 1),
            (was, Some(now)) if was.is_none_or(|was| after[then..].contains(was)) => {
                lines.push(Line { place: format!("line {}", then + 1), was: String::new(), now: (*now).into() });
                then += 1;
            }
            (Some(was), now) => {
                lines.push(Line {
                    place: format!("line {}", at + 1),
                    was: (*was).into(),
                    now: now.map_or(String::new(), |now| (*now).into()),
                });
                at += 1;
                then += usize::from(now.is_some());
            }
            (None, None) | (None, Some(_)) => break,
        }
    }
    lines
}
