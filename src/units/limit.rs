//! Limits: what is equal to one passes, and a number that a builder is told to write keeps it.
//!
//! A value that is typed in inches, or a sum of such values, misses its limit by a few parts in 10¹⁶ once it is in mm; a value
//! that is really beyond it misses by at least a part of the last digit that anyone writes. The tolerance lies between the
//! two: [`ABSOLUTE`] or [`RELATIVE`] of the limit, whichever is more. Units are those of the value: mm, N, MPa, rad, ratios.
//!
//! A number in a hint is rounded *away* from the limit ([`Toward`]), to the digits of its unit, so that following it works.
//! What equals a round number within the tolerance is that number and is not pushed on to the next.
//!
//! | | compares |
//! |---|---|
//! | [`above`]`(value, max)` | value is more than the most allowed |
//! | [`below`]`(value, min)` | value is less than the least allowed |
//! | [`same`]`(a, b)` | neither |
//! | [`past`]`(station, end)` | a station along the wood lies beyond an end of it |
//! | [`same_place`]`(a, b)` | two stations along the wood are one to a pencil |

/// Sums of some hundred lengths err by 1e-11 mm at most; nobody writes or measures 1e-7 mm. Less would let rounding refuse
/// what is equal, more would let a hundredth of the last digit of a fine gauge (0.001 mm) pass.
pub const ABSOLUTE: f64 = 1e-7;

/// For values so large (moduli in MPa) that a double no longer resolves [`ABSOLUTE`] after some operations.
pub const RELATIVE: f64 = 1e-9;

/// The same for stations along the wood, mm. A pencil line is ten times as wide; an end that is written to a thousandth of an
/// inch is still the end.
pub const STATION: f64 = 0.05;

/// How far a value may miss `limit` and still be equal to it.
pub fn tolerance(limit: f64) -> f64 {
    ABSOLUTE.max(RELATIVE * limit.abs())
}

/// `value` is more than `max`, and not only by rounding.
///
/// ```
/// use taperwright::units::{MM_PER_IN, limit};
/// // Four slices of 0.45 in and the 1.8 in that they are to fill, both read from a file.
/// let slices = 4.0 * (0.45 * MM_PER_IN);
/// assert!(!limit::above(slices, 1.8 * MM_PER_IN) && !limit::below(slices, 1.8 * MM_PER_IN));
/// assert!(limit::above(slices, 1.79999 * MM_PER_IN) && limit::below(slices, 1.80001 * MM_PER_IN));
/// ```
pub fn above(value: f64, max: f64) -> bool {
    max + tolerance(max) < value
}

/// `value` is less than `min`, and not only by rounding.
pub fn below(value: f64, min: f64) -> bool {
    value < min - tolerance(min)
}

/// Equal but for rounding.
pub fn same(a: f64, b: f64) -> bool {
    !above(a, b) && !below(a, b)
}

/// A station lies beyond another one along the wood.
pub fn past(station: f64, end: f64) -> bool {
    end + STATION < station
}

/// Two stations along the wood are one to a pencil.
pub fn same_place(a: f64, b: f64) -> bool {
    !past(a, b) && !past(b, a)
}

/// Stations along the wood in their order, each place once.
pub fn places_once(stations: &mut Vec<f64>) {
    stations.sort_by(f64::total_cmp);
    stations.dedup_by(|later, kept| same_place(*later, *kept));
}

/// The whole steps that fit into `length`, one that is full but for rounding counted.
pub fn whole_steps(length: f64, step: f64) -> f64 {
    ((length + tolerance(length)) / step).floor()
}

/// From nothing on, step by step, as far as whole steps fit into `length`.
///
/// ```
/// use taperwright::units::{MM_PER_IN, limit};
/// let inches: Vec<f64> = limit::steps_within(0.3 * MM_PER_IN, 0.1 * MM_PER_IN).map(|mm| mm / MM_PER_IN).collect();
/// assert_eq!(inches.len(), 4);
/// ```
pub fn steps_within(length: f64, step: f64) -> impl Iterator<Item = f64> {
    let count = whole_steps(length, step).clamp(0.0, MAX_STEPS) as u32;
    (0..=count).map(move |k| step * f64::from(k))
}

/// Bound on [`steps_within`]: more than any table or drawing has.
const MAX_STEPS: f64 = 1000.0;

/// Where a number goes that has more digits than are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Toward {
    #[default]
    Nearest,
    /// For the least that would do.
    Up,
    /// For the most that would do.
    Down,
}

impl Toward {
    /// `number`, in the unit it is written in, on the grid of that many decimals.
    ///
    /// ```
    /// use taperwright::units::limit::Toward;
    /// assert_eq!(Toward::Up.on_grid(0.473_91, 4), 0.474);
    /// assert_eq!(Toward::Up.on_grid(0.473_9 + 1e-12, 4), 0.473_9);
    /// assert_eq!(Toward::Down.on_grid(0.473_98, 4), 0.473_9);
    /// ```
    pub fn on_grid(self, number: f64, decimals: usize) -> f64 {
        // Half of what `tolerance` lets pass where the number is in inches or in thousands of psi.
        let slack = 0.5 * RELATIVE * number.abs().max(1.0);
        let steps = 10_f64.powi(decimals as i32);
        match self {
            // Writing it with that many decimals rounds it.
            Toward::Nearest => number,
            Toward::Up => ((number - slack) * steps).ceil() / steps,
            Toward::Down => ((number + slack) * steps).floor() / steps,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{MM_PER_IN, System};

    /// Every thousandth of an inch up to 3 in and every hundredth of a millimetre up to 80 mm: equal however it was summed.
    #[test]
    fn equal_passes_and_a_hundredth_of_a_step_beyond_does_not() {
        for thousandths in 1..3000_u32 {
            let typed = f64::from(thousandths) / 1000.0 * MM_PER_IN;
            let summed: f64 = (0..7).map(|_| f64::from(thousandths) * 0.001 * MM_PER_IN / 7.0).sum();
            assert!(same(typed, summed), "{thousandths}");
            let beyond = (f64::from(thousandths) + 0.01) / 1000.0 * MM_PER_IN;
            assert!(above(beyond, summed) && below(summed, beyond) && !above(summed, beyond), "{thousandths}");
        }
        for hundredths in 1..8000_u32 {
            let (typed, summed) = (f64::from(hundredths) / 100.0, 10.0 * (f64::from(hundredths) * 0.01) / 10.0);
            assert!(same(typed, summed) && below(typed - 1e-4, summed) && above(typed + 1e-4, summed), "{hundredths}");
        }
    }

    /// What is written can be typed again and keeps the limit, in both systems.
    #[test]
    fn a_number_to_follow_works_when_it_is_followed() {
        for k in 1..4000_u32 {
            let limit = f64::from(k) * 0.031_415_926;
            for system in [System::Inch, System::Millimetre] {
                for (toward, kept) in [(Toward::Up, below as fn(f64, f64) -> bool), (Toward::Down, above)] {
                    let text = system.measure_toward(limit, toward);
                    let number: f64 = text.split(' ').next().unwrap().parse().unwrap();
                    assert!(!kept(system.to_mm(number), limit), "{text} against {limit} mm");
                    assert!((system.to_mm(number) - limit).abs() < 0.01 * MM_PER_IN, "{text} against {limit} mm");
                }
                // A limit that is round already stays what it is.
                let round = f64::from(k) / 1000.0;
                let text = system.measure_toward(system.to_mm(round), Toward::Up);
                assert_eq!(text, system.measure(system.to_mm(round)));
            }
        }
    }
}
