//! Which values a key may take.

use crate::units::limit;

/// The values that a key may take, in internal units, and what it is that is limited.
#[derive(Debug, Clone, Copy)]
pub struct Range {
    pub min: f64,
    pub max: f64,
    /// The least value itself is not allowed (0 for what must be positive).
    pub open: bool,
}

impl Range {
    pub const fn between(min: f64, max: f64) -> Range {
        Range { min, max, open: false }
    }

    /// More than 0, at most `max`.
    pub const fn positive(max: f64) -> Range {
        Range { min: 0.0, max, open: true }
    }

    pub fn holds(&self, value: f64) -> bool {
        (if self.open { self.min < value } else { !limit::below(value, self.min) }) && !limit::above(value, self.max)
    }
}
