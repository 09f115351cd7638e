//! The sled as it came out: what tape it needs where, from its measured heights.
//!
//! A cutter's error goes straight into the wood: where the sled stands 0.1 mm high the strip comes out 0.1 mm thin. What matters is
//! only how the sled differs from place to place: an even error is taken up when the last gap is set. Tape can only add, so the place
//! that stands highest against its wanted height is the one all others are brought up to, and the last gap rises with it.
//!
//! `correction(u) = (wanted − measured)(u) − min of it over all readings`; `gap shift = −(that min)`, and half of what the
//! tape leaves between its highest and its lowest place on top, so that the rest falls to either side.
//!
//! Source: geometry, derived here.

use super::shims::{MakeUp, make_up_all};
use super::sled::Sled;
use crate::diag::{Diagnostic, Outcome, Place, Reported, mm};
use crate::model::workshop::ShimStock;
use crate::numeric::fit;
use crate::units::limit;

/// Height of the surface under the strip above the table, as read at `u`, tape or paper in place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeightReading {
    pub u_mm: f64,
    pub height_mm: f64,
}

/// Tape to add, and what it does.
#[derive(Debug, Clone, PartialEq)]
pub struct Correction {
    /// In the order of the readings: place and tape.
    pub tape: Vec<(f64, MakeUp)>,
    /// To be added to every gap of the schedule once the tape is on, mm.
    pub gap_shift_mm: f64,
    /// The same for the sled as it is, without tape, mm.
    pub bare_gap_shift_mm: f64,
    /// Spread of the strip's thickness to expect from the sled before and after, greatest less least, mm.
    pub spread_before_mm: f64,
    pub spread_after_mm: f64,
}

/// Corrections for a sled from readings along it. `place` is where the readings stand.
///
/// A reading beyond the strip or out of all reason is a fault that asks about it.
pub fn corrections(
    sled: &Sled,
    readings: &[HeightReading],
    stock: &[ShimStock],
    tolerance_mm: f64,
    place: &Place,
) -> Outcome<Correction> {
    if readings.is_empty() {
        return Err(vec![
            Diagnostic::fault(place.clone(), "there are no readings of the sled").hint("give pairs of place and height"),
        ]);
    }
    let short: Vec<f64> = readings.iter().map(|reading| sled.surface_mm(reading.u_mm) - reading.height_mm).collect();
    let middle = fit::median(&short).unwrap_or(0.0);
    let faults: Vec<Diagnostic> = readings
        .iter()
        .enumerate()
        .filter_map(|(i, reading)| question(sled, *reading, short[i] - middle, &place.index(i)))
        .collect();
    if !faults.is_empty() {
        return Err(faults);
    }
    let mut warnings = Vec::new();
    if REASONABLE_MM < middle.abs() && !sled.make.any_height() {
        let message =
            message!("the whole sled reads {} {} than drawn", mm(middle.abs()), if middle < 0.0 { "higher" } else { "lower" });
        let hint = "was it measured from the table, with deck and paper in place? an even difference only shifts the gap";
        warnings.push(Diagnostic::warning(place.clone(), message).hint(hint));
    }
    let min = short.iter().copied().fold(f64::INFINITY, f64::min);
    let greatest = short.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let needed: Vec<f64> = short.iter().map(|short| short - min).collect();
    let made = make_up_all(&needed, stock, tolerance_mm).each;
    let errors = || made.iter().map(MakeUp::error_mm);
    let (low, high) = (errors().fold(f64::INFINITY, f64::min), errors().fold(f64::NEG_INFINITY, f64::max));
    let spread_after_mm = high - low;
    let value = Correction {
        gap_shift_mm: 0.5 * (low + high) - min,
        bare_gap_shift_mm: -0.5 * (min + greatest),
        spread_before_mm: greatest - min,
        spread_after_mm,
        tape: readings.iter().map(|reading| reading.u_mm).zip(made).collect(),
    };
    Ok(Reported { value, warnings })
}

/// Sheet cutters miss by a tenth of this; a reading further off its fellows was read or typed wrongly, mm.
const REASONABLE_MM: f64 = 1.5;

fn question(sled: &Sled, reading: HeightReading, off: f64, place: &Place) -> Option<Diagnostic> {
    let HeightReading { u_mm, height_mm } = reading;
    if !(u_mm.is_finite() && height_mm.is_finite()) {
        return Some(Diagnostic::fault(place.clone(), "the reading is not a finite number"));
    }
    if limit::below(u_mm, 0.0) || limit::above(u_mm, sled.strip_length_mm) {
        let message = message!("{} along it is not under the strip, which is {} long", mm(u_mm), mm(sled.strip_length_mm));
        return Some(Diagnostic::fault(place.clone(), message).hint("is it measured from the strip's first end?"));
    }
    if limit::above(off.abs(), REASONABLE_MM) {
        let message = message!(
            "at {} the sled reads {}, {} off the other readings against {} wanted",
            mm(u_mm),
            mm(height_mm),
            mm(off.abs()),
            mm(sled.surface_mm(u_mm))
        );
        return Some(Diagnostic::fault(place.clone(), message).hint("is it read at this place, and in this unit?"));
    }
    None
}
