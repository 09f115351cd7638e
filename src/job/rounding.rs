//! How finely published numbers are rounded.

pub use crate::units::published as round;

/// Tapers are a thousand times smaller than lengths.
pub(super) fn round_fine(value: f64) -> f64 {
    (value * 1e8).round() / 1e8 + 0.0
}
