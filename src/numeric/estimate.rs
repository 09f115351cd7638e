//! A number and how well it is known.

/// A value with the standard deviation of its error, both in the value's unit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Estimate {
    pub value: f64,
    pub sigma: f64,
}
