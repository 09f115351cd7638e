//! A lamination's finished thickness along the bow: many ways to give it, one type.

use crate::numeric::interp::{Between, Curve, CurveFault};

/// How the builder stated a taper, for the words on sheets; the numbers are all in [`Taper`]'s curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// The same thickness throughout.
    Parallel,
    /// One rate from butt to tip: thinner by `rate` per unit of length, negative for a strip that is thicker at the tip.
    Straight { rate: f64 },
    /// Level for the first `flat_mm`, then thinner by `rate`.
    FlatThenStraight { flat_mm: f64, rate: f64 },
    /// Given at stations.
    Stations,
    /// Measured on a strip that is already ground.
    Ground,
}

/// Finished thickness in mm as a function of the station in mm. Beyond its ends the taper continues.
#[derive(Debug, Clone, PartialEq)]
pub struct Taper {
    form: Form,
    curve: Curve,
}

impl Taper {
    pub fn parallel(thickness_mm: f64) -> Taper {
        Taper { form: Form::Parallel, curve: Curve::constant(thickness_mm) }
    }

    /// Thickness `butt_mm` at station `from_mm`, thinner by `rate` per unit of length toward `to_mm`.
    ///
    /// A fault if the span is empty or a number is not finite.
    pub fn straight(from_mm: f64, to_mm: f64, butt_mm: f64, rate: f64) -> Result<Taper, CurveFault> {
        let points = vec![(from_mm, butt_mm), (to_mm, butt_mm - rate * (to_mm - from_mm))];
        Ok(Taper { form: Form::Straight { rate }, curve: Curve::through(points, Between::Straight)? })
    }

    /// Level from `from_mm` for `flat_mm`, then thinner by `rate` toward `to_mm`.
    pub fn flat_then_straight(from_mm: f64, to_mm: f64, butt_mm: f64, flat_mm: f64, rate: f64) -> Result<Taper, CurveFault> {
        let level = from_mm + flat_mm;
        let points = vec![(from_mm, butt_mm), (level, butt_mm), (to_mm, butt_mm - rate * (to_mm - level))];
        Ok(Taper { form: Form::FlatThenStraight { flat_mm, rate }, curve: Curve::through(points, Between::Straight)? })
    }

    /// Thickness at stations, `(station, thickness)` in mm.
    pub fn stations(points: Vec<(f64, f64)>, between: Between) -> Result<Taper, CurveFault> {
        Ok(Taper { form: Form::Stations, curve: Curve::through(points, between)? })
    }

    /// A strip that is already ground, as measured: straight between the readings.
    pub fn ground(points: Vec<(f64, f64)>) -> Result<Taper, CurveFault> {
        Ok(Taper { form: Form::Ground, curve: Curve::through(points, Between::Straight)? })
    }

    pub fn form(&self) -> Form {
        self.form
    }

    pub fn curve(&self) -> &Curve {
        &self.curve
    }

    /// Finished thickness at station `s`, mm.
    pub fn at(&self, s: f64) -> f64 {
        self.curve.at(s)
    }

    /// Loss of thickness per unit of length at station `s`, positive where the strip gets thinner toward the tip.
    pub fn rate_at(&self, s: f64) -> f64 {
        -self.curve.slope_at(s)
    }

    /// Stations where the taper has a corner or a stated value, mm.
    pub fn corners(&self) -> impl Iterator<Item = f64> + '_ {
        self.curve.points().iter().map(|point| point.0)
    }
}
