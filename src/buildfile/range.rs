//! Which values a key may take.

use crate::units::limit;

/// The values that a key may take, in internal units, and what it is that is limited.
#[derive(Debug, Clone, Copy)]
pub struct Range {
    pub least: f64,
    pub most: f64,
    /// The least value itself is not allowed (0 for what must be positive).
    pub open: bool,
}

impl Range {
    pub const fn between(least: f64, most: f64) -> Range {
        Range { least, most, open: false }
    }

    /// More than 0, at most `most`.
    pub const fn positive(most: f64) -> Range {
        Range { least: 0.0, most, open: true }
    }

    pub fn holds(&self, value: f64) -> bool {
        (if self.open { self.least < value } else { !limit::below(value, self.least) }) && !limit::above(value, self.most)
    }
}
