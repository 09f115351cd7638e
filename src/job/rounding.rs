//! How finely published numbers are rounded.

/// To a ten-thousandth: finer than any shop measures, coarser than the last bits in which mathematics libraries differ.
pub fn round(value: f64) -> f64 {
    (value * 1e4).round() / 1e4 + 0.0
}

/// Tapers are a thousand times smaller than lengths.
pub(super) fn round_fine(value: f64) -> f64 {
    (value * 1e8).round() / 1e8 + 0.0
}
