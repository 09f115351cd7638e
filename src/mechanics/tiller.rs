//! How far shall the string stand off the belly, station by station, at brace and at each step of draw?
//!
//! Read off the solved bow ([`super::draw`]): the distance from the belly face, square to the string's half, at stations along
//! one limb. Both limbs of a symmetric bow have the same targets; a bow whose limbs differ by design is solved as a pair
//! ([`super::pair`]) and has its own.
//!
//! Readings of a real bow are held against them by [`compared`]: a limb that stands farther from the string than the other
//! bends less, and is the stiffer one. Habitual tiller leaves the upper limb 3 to 6 mm weaker at the fades for a hand that
//! presses below the middle (common practice, no source); a symmetric model knows nothing of it.

use super::draw::DrawCurve;
use crate::model::Build;

/// Distances of belly and string at every step of draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Targets {
    /// Rising, from the end of the riser's fade toward the nock, mm.
    pub stations_mm: Vec<f64>,
    /// From brace to full draw.
    pub rows: Vec<Row>,
}

/// One draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Index into the points of the curve it comes from.
    pub point: usize,
    /// As the builder states draw lengths, mm.
    pub draw_length_mm: f64,
    pub pivot_to_nock_mm: f64,
    pub force_n: f64,
    /// In the order of [`Targets::stations_mm`], mm.
    pub gaps_mm: Vec<f64>,
}

/// The end of the riser's fade and the multiples of `step_mm` from there to the nock, mm; none without an outline.
pub fn stations(build: &Build, step_mm: f64) -> Vec<f64> {
    let nock_mm = build.outline.as_ref().map_or(0.0, |outline| outline.nock_mm());
    let feather_mm = build.riser.as_ref().map(|riser| riser.feather_station_mm());
    let first = (feather_mm.unwrap_or(0.0) / step_mm).floor() as usize + 1;
    let last = (nock_mm / step_mm).ceil() as usize;
    let round = (first..last).map(|k| k as f64 * step_mm);
    // A station that nearly falls onto the feather says nothing new.
    let round = round.filter(|s| feather_mm.is_none_or(|feather| 0.25 * step_mm < s - feather));
    feather_mm.into_iter().chain(round).collect()
}

/// Targets at these stations and at draws that are multiples of `draw_step_mm`, with brace and full draw.
///
/// The curve has to hold those draws: its own step must divide `draw_step_mm`.
pub fn targets(curve: &DrawCurve, stations_mm: Vec<f64>, draw_step_mm: f64) -> Targets {
    let on_step = |draw: f64| (draw / draw_step_mm - (draw / draw_step_mm).round()).abs() * draw_step_mm < ON_STEP_MM;
    let end = curve.points.len() - 1;
    // Steps that all but repeat brace or full draw only crowd the chart.
    let apart = |draw: f64| {
        let ends = [&curve.points[0], &curve.points[end]];
        ends.iter().all(|point| CROWDED * draw_step_mm < (draw - point.draw_length_mm).abs())
    };
    let chosen = curve
        .points
        .iter()
        .enumerate()
        .filter(|(k, point)| *k == 0 || *k == end || on_step(point.draw_length_mm) && apart(point.draw_length_mm));
    let rows = chosen
        .map(|(k, point)| Row {
            point: k,
            draw_length_mm: point.draw_length_mm,
            pivot_to_nock_mm: point.pivot_to_nock_mm,
            force_n: point.force_n,
            gaps_mm: stations_mm.iter().map(|s| curve.to_string_at(point, *s)).collect(),
        })
        .collect();
    Targets { stations_mm, rows }
}

/// Nearer to brace or full draw than this share of a step, a row is left out.
const CROWDED: f64 = 0.3;
/// A draw this near to a step is that step: far above rounding, far below what a scale stick shows, mm.
const ON_STEP_MM: f64 = 0.01;

/// Both limbs' distances read at one station and one draw, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    pub s_mm: f64,
    pub upper_mm: f64,
    pub lower_mm: f64,
}

/// A reading beside the model's distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compared {
    pub reading: Reading,
    /// From the model at the same draw, both limbs alike, mm.
    pub target_mm: f64,
}

impl Compared {
    /// Upper less lower, mm: positive where the upper limb bends less.
    pub fn difference_mm(&self) -> f64 {
        self.reading.upper_mm - self.reading.lower_mm
    }

    /// Mean of both limbs less the model, mm: positive where the bow bends less there than computed.
    pub fn off_mm(&self) -> f64 {
        0.5 * (self.reading.upper_mm + self.reading.lower_mm) - self.target_mm
    }
}

/// Readings beside the model at one point of the curve.
pub fn compared(curve: &DrawCurve, point: usize, readings: &[Reading]) -> Vec<Compared> {
    let beside =
        |reading: &Reading| Compared { reading: *reading, target_mm: curve.to_string_at(&curve.points[point], reading.s_mm) };
    readings.iter().map(beside).collect()
}
