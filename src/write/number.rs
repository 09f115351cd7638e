//! The one writer of numbers for all formats: fixed decimals, no `-0`, no exponent, always a point.
//!
//! Rounding here is also what keeps files equal between machines: two mathematics libraries differ in the last bits of a
//! sine, never in the fourth decimal of a millimetre at the size of a bow.

use crate::geometry::Point;
use crate::units::{fixed, push_fixed, scaled, trim_zeros};

/// Decimals of a length in mm: a tenth of a micrometre, far under what any cutter holds.
pub const MM_DECIMALS: usize = 4;
/// Decimals of a length in inches: 0.025 µm.
pub const INCH_DECIMALS: usize = 6;
/// Decimals of a bulge: the height of an arc over a chord of 1 m is then exact to 0.1 µm, as its ends are.
pub const BULGE_DECIMALS: usize = 10;

/// A length in mm for SVG: at most four decimals, trailing zeros dropped.
///
/// ```
/// use taperwright::write::number::mm;
/// assert_eq!(mm(41.275), "41.275");
/// assert_eq!(mm(-0.00001), "0");
/// assert_eq!(mm(1.0e6), "1000000");
/// ```
pub fn mm(value: f64) -> String {
    trim_zeros(&fixed(value, MM_DECIMALS))
}

/// A place at the end of a text: both numbers with at most so many decimals, one or more, trailing zeros dropped.
pub fn push_place(text: &mut String, at: Point, decimals: usize) {
    for (value, end) in [(at.x, " "), (at.y, "")] {
        push_fixed(text, value, decimals);
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
        text.push_str(end);
    }
}

/// The number that a text with this many decimals stands for; never `-0`.
pub fn rounded(value: f64, decimals: usize) -> f64 {
    // A whole number below 2⁵³ divided by a power of ten up to 10²² is rounded once, as the text's reading is.
    if let Some(whole) = scaled(value, decimals) {
        return if whole == 0.0 { 0.0 } else { whole / 10_f64.powi(decimals as i32) };
    }
    fixed(value, decimals).parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_exponent_no_minus_zero_no_trailing_zeros() {
        for (value, text) in [
            (0.0, "0"),
            (-0.0, "0"),
            (-0.00004, "0"),
            (-0.00006, "-0.0001"),
            (1e-7, "0"),
            (0.1 + 0.2, "0.3"),
            (123456789.0, "123456789"),
            (-12.50, "-12.5"),
            (100.0, "100"),
        ] {
            assert_eq!(mm(value), text);
        }
        // Quick or slow, it is what the text says: a quarter of these end near a half.
        for k in -40_000_i32..40_000 {
            let value = f64::from(k) * 0.037_125_1 + if k % 4 == 0 { 0.000_05 * f64::from(k % 7) } else { 0.0 };
            for decimals in [MM_DECIMALS, INCH_DECIMALS, BULGE_DECIMALS] {
                let said: f64 = fixed(value, decimals).parse().unwrap();
                assert_eq!(rounded(value, decimals).to_bits(), said.to_bits(), "{value} to {decimals} decimals");
            }
        }
        assert!(rounded(-1e-9, 4).is_sign_positive());
        assert!((rounded(1.000_049, 4) - 1.0).abs() < 1e-15);
        assert!((rounded(1.0 / 3.0, INCH_DECIMALS) - 0.333_333).abs() < 1e-15);
    }
}
