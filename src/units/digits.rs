//! Numbers as digits: fixed decimals, and fractions of an inch.

use super::published::{POWERS, round};

/// Up to here a product with a power of ten is off by less than a thousandth.
const MAX_WHOLE: f64 = 1e11;

/// `value` times ten to the `decimals`, as the nearest whole number; `None` where it is large, or so near a half that the product's own
/// rounding could choose the other side.
pub fn scaled(value: f64, decimals: usize) -> Option<f64> {
    let scaled = value * POWERS.get(decimals)?;
    let whole = scaled.round();
    (whole.abs() < MAX_WHOLE && (scaled - whole).abs() < 0.499).then_some(whole)
}

/// A number with a fixed count of decimals, never `-0`.
pub fn fixed(value: f64, decimals: usize) -> String {
    let mut text = String::with_capacity(16);
    push_fixed(&mut text, value, decimals);
    text
}

/// The same at the end of a text.
pub fn push_fixed(text: &mut String, value: f64, decimals: usize) {
    let Some(whole) = scaled(value, decimals) else {
        let slow = format!("{value:.decimals$}");
        let is_nothing = |rest: &str| rest.bytes().all(|b| b == b'0' || b == b'.');
        text.push_str(slow.strip_prefix('-').filter(|rest| is_nothing(rest)).unwrap_or(&slow));
        return;
    };
    if whole < 0.0 {
        text.push('-');
    }
    // From the last digit on; twelve digits at the most, and a point.
    let (mut digits, mut left, mut first) = ([0_u8; 24], whole.abs() as u64, 24);
    let mut written = 0;
    while 0 < left || written <= decimals {
        if written == decimals && 0 < decimals {
            first -= 1;
            digits[first] = b'.';
        }
        first -= 1;
        digits[first] = b'0' + (left % 10) as u8;
        left /= 10;
        written += 1;
    }
    text.extend(digits[first..].iter().map(|digit| char::from(*digit)));
}

/// A published value in another unit, a trifle larger: half a step then goes up, whichever way its last bit has fallen.
pub(super) fn half_up(value: f64) -> f64 {
    /// Below a thousandth of what is published, and far above the last bit of any length of a bow.
    const TRIFLE: f64 = 1e-9;
    value + TRIFLE.copysign(value)
}

/// A ratio in percent, as its published value says.
pub fn percent(ratio: f64, decimals: usize) -> String {
    fixed(half_up(100.0 * round(ratio)), decimals)
}

/// Drops trailing zeros after a decimal point, and the point if nothing follows it.
pub fn trim_zeros(text: &str) -> String {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text.to_owned() }
}

/// A number as a whole and a fraction in lowest terms, such as `33 3/4`; the nearest `1/denominator`.
///
/// ```
/// assert_eq!(taperwright::units::fraction(33.75, 64), "33 3/4");
/// assert_eq!(taperwright::units::fraction(-0.5, 64), "-1/2");
/// assert_eq!(taperwright::units::fraction(2.0, 64), "2");
/// ```
pub fn fraction(value: f64, denominator: u32) -> String {
    let mut bottom = i64::from(denominator);
    let total = (value.abs() * bottom as f64).round() as i64;
    let (whole, mut top) = (total / bottom, total % bottom);
    while top != 0 && top % 2 == 0 && bottom % 2 == 0 {
        top /= 2;
        bottom /= 2;
    }
    let sign = if value < 0.0 && total != 0 { "-" } else { "" };
    match (whole, top) {
        (whole, 0) => format!("{sign}{whole}"),
        (0, top) => format!("{sign}{top}/{bottom}"),
        (whole, top) => format!("{sign}{whole} {top}/{bottom}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quick_or_slow_it_is_what_the_standard_library_writes() {
        // A quarter of these end near a half, some at one.
        for k in -40_000_i32..40_000 {
            let value = f64::from(k) * 0.037_125_1 + if k % 4 == 0 { 0.000_05 * f64::from(k % 7) } else { 0.0 };
            for value in [value, f64::from(k) / 16.0, 1e9 * value] {
                for decimals in [0, 1, 2, 3, 4, 6, 10, 12] {
                    let standard = format!("{value:.decimals$}");
                    let standard =
                        if standard.trim_matches(['-', '0', '.']).is_empty() { standard.replace('-', "") } else { standard };
                    assert_eq!(fixed(value, decimals), standard, "{value:e} to {decimals} decimals");
                }
            }
        }
        for odd in [f64::NAN, f64::INFINITY, -f64::INFINITY, 1e300, -0.0] {
            assert_eq!(fixed(odd, 2), format!("{:.2}", odd + 0.0));
        }
    }
}
