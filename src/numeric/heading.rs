//! Sine and cosine of angles that are all near one: the stages of a step along a line that hardly turns within it.
//!
//! ```text
//!   sin(a + δ) = sin a cos δ + cos a sin δ        cos(a + δ) = cos a cos δ − sin a sin δ
//! ```
//!
//! with the power series of `sin δ` and `cos δ` as far as `δ¹¹` and `δ¹⁰`: for `|δ| ≤ 1/8` what is left out is under 1e-21 of one, far below
//! rounding. Angles farther away ask the library.

/// An angle, with its sine and cosine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heading {
    angle_rad: f64,
    sin: f64,
    cos: f64,
}

/// Of `δ³`, `δ⁵` … in `sin δ`, and of `δ²`, `δ⁴` … in `1 − cos δ`.
const SIN: [f64; 5] = [-1.0 / 6.0, 1.0 / 120.0, -1.0 / 5040.0, 1.0 / 362_880.0, -1.0 / 39_916_800.0];
const ONE_LESS_COS: [f64; 5] = [0.5, -1.0 / 24.0, 1.0 / 720.0, -1.0 / 40_320.0, 1.0 / 3_628_800.0];

impl Heading {
    /// Farther away than this the series is not taken, rad.
    const NEAR_RAD: f64 = 0.125;

    #[inline]
    pub fn of(angle_rad: f64) -> Heading {
        let (sin, cos) = angle_rad.sin_cos();
        Heading { angle_rad, sin, cos }
    }

    /// Sine and cosine of an angle, quick where it is near this one.
    ///
    /// ```
    /// use taperwright::numeric::heading::Heading;
    /// let (sin, cos) = Heading::of(1.0).sin_cos_at(1.1);
    /// assert!((sin - 1.1_f64.sin()).abs() < 3e-16 && (cos - 1.1_f64.cos()).abs() < 3e-16);
    /// ```
    #[inline]
    pub fn sin_cos_at(&self, angle_rad: f64) -> (f64, f64) {
        let by = angle_rad - self.angle_rad;
        if by.abs() <= Self::NEAR_RAD { self.turned(by) } else { angle_rad.sin_cos() }
    }

    #[inline]
    fn turned(&self, by: f64) -> (f64, f64) {
        let square = by * by;
        let series = |factors: [f64; 5]| factors.into_iter().rev().fold(0.0, |sum, factor| factor + square * sum);
        let sin = by + by * square * series(SIN);
        // One less the cosine, so that a small turn keeps its digits.
        let short = square * series(ONE_LESS_COS);
        (self.sin + (self.cos * sin - self.sin * short), self.cos - (self.sin * sin + self.cos * short))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn near_and_far_it_is_what_the_library_says() {
        for k in -40..=40 {
            let from = f64::from(k) * 0.17;
            let heading = Heading::of(from);
            for step in -60..=60 {
                let to = from + f64::from(step) * 0.003_1;
                let (sin, cos) = heading.sin_cos_at(to);
                assert!((sin - to.sin()).abs() < 3e-16 && (cos - to.cos()).abs() < 3e-16, "{from} {to}");
            }
        }
        assert_eq!(Heading::of(0.3).sin_cos_at(0.3), 0.3_f64.sin_cos());
        assert!(Heading::of(0.3).sin_cos_at(f64::NAN).0.is_nan());
    }
}
