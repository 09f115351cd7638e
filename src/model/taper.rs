//! A lamination's finished thickness along the bow: many ways to give it, one type.

use crate::numeric::interp::{Between, Curve, CurveFault};
use crate::numeric::root;

/// How the builder stated a taper, for the words on sheets; the numbers are all in [`Taper`]'s curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TaperForm {
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

/// Finished thickness in mm as a function of the station in mm. Beyond its ends the taper continues; one that runs out stops at its
/// feather and keeps that thickness from there on.
#[derive(Debug, Clone, PartialEq)]
pub struct Taper {
    form: TaperForm,
    curve: Curve,
    feather_mm: Option<f64>,
    /// Stations where the curve as stated meets the feather.
    run_outs: Vec<f64>,
}

impl Taper {
    pub fn parallel(thickness_mm: f64) -> Taper {
        Taper::of(TaperForm::Parallel, Curve::constant(thickness_mm))
    }

    /// Thickness `butt_mm` at station `from_mm`, thinner by `rate` per unit of length toward `to_mm`.
    ///
    /// A fault if the span is empty or a number is not finite.
    pub fn straight(from_mm: f64, to_mm: f64, butt_mm: f64, rate: f64) -> Result<Taper, CurveFault> {
        let points = vec![(from_mm, butt_mm), (to_mm, butt_mm - rate * (to_mm - from_mm))];
        Ok(Taper::of(TaperForm::Straight { rate }, Curve::through(points, Between::Straight)?))
    }

    /// Level from `from_mm` for `flat_mm`, then thinner by `rate` toward `to_mm`.
    pub fn flat_then_straight(from_mm: f64, to_mm: f64, butt_mm: f64, flat_mm: f64, rate: f64) -> Result<Taper, CurveFault> {
        let level = from_mm + flat_mm;
        let points = vec![(from_mm, butt_mm), (level, butt_mm), (to_mm, butt_mm - rate * (to_mm - level))];
        Ok(Taper::of(TaperForm::FlatThenStraight { flat_mm, rate }, Curve::through(points, Between::Straight)?))
    }

    /// Thickness at stations, `(station, thickness)` in mm.
    pub fn stations(points: Vec<(f64, f64)>, between: Between) -> Result<Taper, CurveFault> {
        Ok(Taper::of(TaperForm::Stations, Curve::through(points, between)?))
    }

    /// A strip that is already ground, as measured: straight between the readings.
    pub fn ground(points: Vec<(f64, f64)>) -> Result<Taper, CurveFault> {
        Ok(Taper::of(TaperForm::Ground, Curve::through(points, Between::Straight)?))
    }

    fn of(form: TaperForm, curve: Curve) -> Taper {
        Taper { form, curve, feather_mm: None, run_outs: Vec::new() }
    }

    /// The same taper, nowhere thinner than a feather: `None` lets it run on to whatever the curve says.
    ///
    /// ```
    /// use taperwright::model::taper::Taper;
    /// let wedge = Taper::straight(0.0, 200.0, 0.8, 0.004).unwrap().feathered(Some(0.2));
    /// assert_eq!(wedge.at(100.0), 0.4);
    /// assert_eq!([wedge.at(150.0), wedge.at(200.0), wedge.at(250.0)], [0.2; 3]);
    /// ```
    pub fn feathered(self, feather_mm: Option<f64>) -> Taper {
        let run_outs = feather_mm.map_or(Vec::new(), |feather| run_outs(&self.curve, feather));
        Taper { feather_mm, run_outs, ..self }
    }

    /// Thickness at which a taper that runs out stops, mm.
    pub fn feather_mm(&self) -> Option<f64> {
        self.feather_mm
    }

    pub fn form(&self) -> TaperForm {
        self.form
    }

    /// As stated, without the feather.
    pub fn curve(&self) -> &Curve {
        &self.curve
    }

    /// Finished thickness at station `s`, mm.
    pub fn at(&self, s: f64) -> f64 {
        self.feather_mm.map_or(self.curve.at(s), |feather| self.curve.at(s).max(feather))
    }

    /// Stations where the taper has a corner or a stated value, mm.
    pub fn corners(&self) -> impl Iterator<Item = f64> + '_ {
        self.curve.points().iter().map(|point| point.0).chain(self.run_outs.iter().copied())
    }
}

/// Stations where the curve falls to `feather`, on the curve or where it runs on beyond its ends.
fn run_outs(curve: &Curve, feather: f64) -> Vec<f64> {
    // Farther out no strip reaches.
    const REACH_MM: f64 = 2000.0;
    let mut places: Vec<f64> = curve.points().iter().map(|point| point.0).collect();
    places.insert(0, places[0] - REACH_MM);
    places.push(places[places.len() - 1] + REACH_MM);
    let over = |s: f64| curve.at(s) - feather;
    let crossed = places.windows(2).filter(|pair| over(pair[0]) * over(pair[1]) < 0.0);
    crossed
        .map(|pair| {
            // Between two points a curve only rises or only falls. Sixty halvings take any span to the last digit.
            let (thick, thin) = if 0.0 < over(pair[0]) { (pair[0], pair[1]) } else { (pair[1], pair[0]) };
            root::bisect(|s| 0.0 < over(s), thick, thin, 60).holds
        })
        .collect()
}
