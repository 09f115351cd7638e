//! Can this reading be meant? A reading out of all reason is asked about and not used.
//!
//! Two slips are known by their factor: a decimal point one place off (10), and inches read as millimetres or the other way
//! round (25.4). Whatever else lies outside what shops meet is asked about as it is. Source: common practice, no source; the bands stand with
//! whoever calls, since thickness, weight and reflex scatter differently.

use crate::diag::{Diagnostic, Piece, Place};
use crate::units::MM_PER_IN;

/// What a reading may be, beside what is expected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlausibleRange {
    pub expected: f64,
    pub min: f64,
    pub max: f64,
}

impl PlausibleRange {
    /// From `less` to `more` times what is expected.
    pub fn times(expected: f64, less: f64, more: f64) -> PlausibleRange {
        PlausibleRange { expected, min: less * expected, max: more * expected }
    }

    /// Within `by` of what is expected.
    pub fn within(expected: f64, by: f64) -> PlausibleRange {
        PlausibleRange { expected, min: expected - by, max: expected + by }
    }
}

/// What becomes of a reading that is asked about.
pub const NOT_USED: &str = "the reading is not used until it is mended";

/// A question about `value`, if it lies outside its band; `shown` writes a value with its unit for messages.
pub fn question(
    value: f64,
    range: PlausibleRange,
    what: &str,
    shown: impl Fn(f64) -> Piece,
    place: &Place,
) -> Option<Diagnostic> {
    if range.min <= value && value <= range.max {
        return None;
    }
    let message = message!("{} reads {}, and {} was expected", what, shown(value), shown(range.expected));
    let slip = slip(value, range).unwrap_or("is it read at this place, in this unit, and of this piece?");
    Some(Diagnostic::fault(place.clone(), message).hint(slip).hint(NOT_USED))
}

/// Of the slips that would bring the reading into its band, the one that brings it nearest to what is expected.
fn slip(value: f64, range: PlausibleRange) -> Option<&'static str> {
    let meant = |factor: f64| range.min <= value * factor && value * factor <= range.max;
    let off = |factor: f64| (value * factor - range.expected).abs();
    let slips = [
        (-1.0, "is the sign the wrong way round? reflex is negative"),
        (MM_PER_IN, "inches in a log in millimetres? give the unit with the number"),
        (1.0 / MM_PER_IN, "millimetres in a log in inches? give the unit with the number"),
        (10.0, "is the decimal point one place too far left?"),
        (0.1, "is the decimal point one place too far right?"),
        (100.0, "is the decimal point two places too far left?"),
        (0.01, "is the decimal point two places too far right?"),
    ];
    let likely = slips.into_iter().filter(|(factor, _)| meant(*factor));
    likely.min_by(|a, b| off(a.0).total_cmp(&off(b.0))).map(|(_, words)| words)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diag::mm;

    #[test]
    fn slips_are_named() {
        let range = PlausibleRange::times(5.0, 0.7, 1.3);
        let ask = |value| question(value, range, "the strip", mm, &Place::whole_file());
        assert!(ask(5.3).is_none());
        for (value, word) in [(0.197, "inches"), (127.0, "millimetres"), (0.5, "left"), (50.0, "right"), (7.5, "this place")] {
            let found = ask(value).unwrap();
            assert!(found.to_string().contains(word), "{value}: {found:?}");
        }
    }
}
