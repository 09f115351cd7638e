//! How far shall the string stand off the belly, station by station, at brace and at each step of draw?
//!
//! Distances from the belly face, square to the string's half, at stations along both limbs, from the pair
//! ([`super::tillering`]). The limb that stands nearer the string bends less, and is the stiffer one. Habitual tiller leaves the upper limb
//! weaker for a hand that presses below the middle (common practice, no source): its stiffness is multiplied by the one factor that gives the
//! difference that the build file wants at the end of the fade at brace. Draws and their weight are those of the bow with both limbs alike.
//!
//! Readings of a real bow are held against them by [`super::tiller_fit`].

use super::bow::Options;
use super::draw::{DrawCurve, DrawPoint};
use super::pair::PairOptions;
use super::tiller_fit::{GapLayout, PairDesign, ShownRows};
use super::tillering::{LoadCase, PositiveTiller, WeakerUpper};
use super::weigher::OtherLimb;
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;

/// Distances of belly and string at every step of draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Targets {
    /// Rising, from the end of the riser's fade toward the nock, mm.
    pub stations_mm: Vec<f64>,
    /// From brace to full draw.
    pub rows: Vec<TargetRow>,
    /// How much farther from the string than the lower limb the upper one shall stand, at its fade's end at brace, mm.
    pub positive_tiller_mm: f64,
    /// The limbs differ by design, and stand as that makes them.
    pub by_design: bool,
}

/// How the limbs shall stand: what the targets begin with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    weaker: WeakerUpper,
    by_design: bool,
}

impl Standing {
    /// Two different limbs stand as they are designed.
    pub const BY_DESIGN: Standing =
        Standing { weaker: WeakerUpper { factor: 1.0, tiller_mm: 0.0, braced: None }, by_design: true };

    /// Of two limbs that are built alike and can be drawn so; `curve` is what they draw as they are built, and `stations_mm` are those of the targets.
    pub fn of(build: &Build, options: &Options, curve: &DrawCurve, stations_mm: &[f64]) -> Result<Standing, Diagnostic> {
        let pair = PairOptions::of(options, options);
        let design = PairDesign::uncut([build; 2], &pair, PositiveTiller::of(build), stations_mm, curve)?;
        design.draws(curve)?;
        Ok(Standing { weaker: design.weaker(), by_design: false })
    }

    /// Targets of limbs that stand so.
    pub fn targets(self, build: &Build, options: &Options, curve: &DrawCurve, grid: TargetGrid) -> Result<Targets, Diagnostic> {
        let pair = PairOptions::of(options, options);
        let design = PairDesign::standing([build; 2], &pair, self.weaker, &grid.stations_mm)?;
        let targets = of_design(&design, curve, grid)?;
        Ok(Targets { positive_tiller_mm: design.tiller_mm(), ..targets })
    }

    /// Where these limbs cannot show what is the habit: what is taken.
    pub fn warning(&self, build: &Build) -> Option<Diagnostic> {
        let usual = PositiveTiller::of(build).mm;
        let taken_mm = self.weaker.tiller_mm;
        if self.by_design || usual <= taken_mm {
            return None;
        }
        let taken = if 0.0 < taken_mm { message!("{} is taken", mm(taken_mm)) } else { "both limbs shall stand alike".into() };
        let message = message!("these limbs are too stiff at the fade to show the usual tiller of {}: {}", mm(usual), taken);
        Some(
            Diagnostic::warning(Place::new(PositiveTiller::KEY), message)
                .hint("positive_tiller = 0 says that they shall stand alike"),
        )
    }
}

/// One draw.
#[derive(Debug, Clone, PartialEq)]
pub struct TargetRow {
    /// Index into the points of the curve it comes from.
    pub point: usize,
    /// As the builder states draw lengths, mm.
    pub draw_length_mm: f64,
    pub pivot_to_nock_mm: f64,
    pub force_n: f64,
    /// `[upper, lower]` in the order of [`Targets::stations_mm`], mm.
    pub gaps_mm: Vec<[f64; 2]>,
}

/// The end of the riser's fade and the multiples of `step_mm` from there to the nock, mm; none without an outline.
pub fn stations(build: &Build, step_mm: f64) -> Vec<f64> {
    let nock_mm = build.nock_mm();
    let feather_mm = build.riser.as_ref().map(|riser| riser.feather_station_mm());
    let first = (feather_mm.unwrap_or(0.0) / step_mm).floor() as usize + 1;
    let last = (nock_mm / step_mm).ceil() as usize;
    let round = (first..last).map(|k| k as f64 * step_mm);
    // A station that nearly falls onto the feather says nothing new.
    let round = round.filter(|s| feather_mm.is_none_or(|feather| 0.25 * step_mm < s - feather));
    feather_mm.into_iter().chain(round).collect()
}

/// Where targets are told: at these stations, and at draws that are multiples of the step, with brace and full draw.
///
/// The curve has to hold those draws: its own step must divide this one.
#[derive(Debug, Clone, PartialEq)]
pub struct TargetGrid {
    pub stations_mm: Vec<f64>,
    pub draw_step_mm: f64,
}

/// [`Standing::targets`] of a limb beside a different one: both stand as they are designed; `curve` is what they draw together. The upper limb stands as much
/// farther from the string at brace as it does there at the end of its fade.
pub fn targets_beside(
    build: &Build,
    options: &Options,
    other: OtherLimb<'_>,
    curve: &DrawCurve,
    grid: TargetGrid,
) -> Result<Targets, Diagnostic> {
    let design =
        PairDesign::uncut(other.upper_first(build), &other.pair(options), PositiveTiller::NONE, &grid.stations_mm, curve)?;
    let targets = of_design(&design, curve, grid)?;
    let [upper, lower] = curve.limbs();
    let at_brace = |curve: &DrawCurve, build: &Build| curve.to_string_at(curve.at_brace(), build.limb_from_mm());
    let [of_upper, of_lower] = other.upper_first(build);
    Ok(Targets { positive_tiller_mm: at_brace(upper, of_upper) - at_brace(lower, of_lower), by_design: true, ..targets })
}

/// The stations of both limbs, as far as both reach, mm: the upper limb's, and the end of the lower one's fade.
pub fn stations_of_two(upper: &Build, lower: &Build, step_mm: f64) -> Vec<f64> {
    let both_mm = upper.nock_mm().min(lower.nock_mm());
    let fade = lower.riser.as_ref().map(|riser| riser.feather_station_mm());
    let mut all = stations(upper, step_mm);
    all.extend(fade.filter(|fade| all.iter().all(|s| 1e-6 < (s - fade).abs())));
    all.retain(|s| *s < both_mm);
    all.sort_by(f64::total_cmp);
    all
}

fn of_design(design: &PairDesign<'_>, curve: &DrawCurve, grid: TargetGrid) -> Result<Targets, Diagnostic> {
    let TargetGrid { stations_mm, draw_step_mm } = grid;
    let [brace_mm, _] = design.design_mm()?;
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
    let chosen: Vec<(usize, &DrawPoint)> = chosen.collect();
    let layout = |(k, point): &(usize, &DrawPoint)| {
        let bending = LoadCase { brace_mm, pivot_to_nock_mm: (0 < *k).then_some(point.pivot_to_nock_mm) };
        GapLayout { bending, fixed: false, stations_mm: stations_mm.clone(), shown: ShownRows::default() }
    };
    let gaps = design.all_targets_mm(&chosen.iter().map(layout).collect::<Vec<_>>())?;
    let rows = chosen.into_iter().zip(gaps).map(|((k, point), gaps_mm)| TargetRow {
        point: k,
        draw_length_mm: point.draw_length_mm,
        pivot_to_nock_mm: point.pivot_to_nock_mm,
        force_n: point.force_n,
        gaps_mm,
    });
    let rows = rows.collect();
    Ok(Targets { stations_mm, rows, positive_tiller_mm: 0.0, by_design: false })
}

/// Nearer to brace or full draw than this share of a step, a row is left out.
const CROWDED: f64 = 0.3;
/// A draw this near to a step is that step: far above rounding, far below what a scale stick shows, mm.
const ON_STEP_MM: f64 = 0.01;
