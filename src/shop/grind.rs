//! The schedule checked by grinding it: passes run over a surface given as plain numbers, and what comes out is measured.
//!
//! The surface is meant to be read back from the file that the sled is cut from, so that an error anywhere between the taper
//! and the written drawing shows up as an error of thickness. Nothing of the planner is used here: the strip is a row of
//! places, each with a thickness, and a pass with gap `G` leaves `t = min(t, G − h)` at every one of them.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `u` | along the strip from its butt end | mm |
//! | `h` | surface under the strip above the table, 0 on a flat carrier | mm |
//! | `G` | gap set, plus what the schedule says the gauge is off, plus what the cutter stands too high beyond that | mm |
//!
//! Source: geometry. Limits: strip and cutter do not give way; tilt across the width is another row ([`Upset::gap_mm`]).

use super::passes::{Carrier, Schedule};

/// Places are no farther apart than this, mm; corners of the surface are places as well.
const STEP_MM: f64 = 1.0;
/// Cuts may exceed their limit by rounding of files and sums, mm.
const CLOSE_MM: f64 = 1e-3;

/// What differs from the plan in this grinding.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Upset {
    /// The cutter stands higher than the schedule believes by this much, mm.
    pub gap_mm: f64,
    /// The strip begins thicker than nominal by this much, mm.
    pub stock_mm: f64,
}

/// What came out.
#[derive(Debug, Clone, PartialEq)]
pub struct GroundStrip {
    /// `(u, thickness)`, mm.
    pub strip: Vec<(f64, f64)>,
    /// Thickness less target where they differ most, mm, positive for a strip that is too thick.
    pub worst_mm: f64,
    pub worst_at_mm: f64,
    pub deepest_mm: f64,
    /// Number of the pass with the deepest cut; 0 if nothing was cut.
    pub deepest_pass: u32,
    pub thinnest_mm: f64,
    pub thinnest_at_mm: f64,
    pub breaches: Vec<Breach>,
}

/// A pass that cut deeper than its limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Breach {
    pub pass: u32,
    pub at_mm: f64,
    pub depth_mm: f64,
    pub limit_mm: f64,
}

/// A strip before it is ground, and what it lies on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unground<'a> {
    /// Points `(u, height)` with increasing `u`, straight between them. It counts for the setups on the sled only: on a flat carrier
    /// gaps are counted from the carrier, so that the surface is 0 there.
    pub surface: &'a [(f64, f64)],
    pub length_mm: f64,
    pub stock_mm: f64,
}

/// Runs the schedule over a strip; `target` is the finished thickness over `u`.
pub fn grind(strip: Unground<'_>, schedule: &Schedule, target: impl Fn(f64) -> f64, upset: Upset) -> GroundStrip {
    let Unground { surface, length_mm, stock_mm } = strip;
    let places = places(surface, length_mm);
    let heights: Vec<f64> = places.iter().map(|u| height(surface, *u)).collect();
    let mut strip = vec![stock_mm + upset.stock_mm; places.len()];
    let (mut deepest_mm, mut deepest_pass, mut breaches) = (0.0, 0, Vec::new());
    for setup in &schedule.setups {
        for pass in &setup.passes {
            let gap = pass.gap_mm + setup.gauge_offset_mm + upset.gap_mm;
            let mut here = (0.0, 0.0);
            for (i, t) in strip.iter_mut().enumerate() {
                let under = match setup.carrier {
                    Carrier::Flat => 0.0,
                    Carrier::Sled => heights[i],
                };
                let cut = *t + under - gap;
                if 0.0 < cut {
                    *t -= cut;
                    if here.1 < cut {
                        here = (places[i], cut);
                    }
                }
            }
            if deepest_mm < here.1 {
                (deepest_mm, deepest_pass) = (here.1, pass.number);
            }
            if pass.limit.depth_mm + CLOSE_MM < here.1 {
                breaches.push(Breach { pass: pass.number, at_mm: here.0, depth_mm: here.1, limit_mm: pass.limit.depth_mm });
            }
        }
    }
    let far = |i: &usize| (strip[*i] - target(places[*i])).abs();
    let worst = (0..places.len()).max_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0);
    let thin = (0..places.len()).min_by(|a, b| strip[*a].total_cmp(&strip[*b])).unwrap_or(0);
    GroundStrip {
        worst_mm: strip[worst] - target(places[worst]),
        worst_at_mm: places[worst],
        deepest_mm,
        deepest_pass,
        thinnest_mm: strip[thin],
        thinnest_at_mm: places[thin],
        breaches,
        strip: places.into_iter().zip(strip).collect(),
    }
}

fn places(surface: &[(f64, f64)], length_mm: f64) -> Vec<f64> {
    let count = (length_mm / STEP_MM).ceil().clamp(1.0, 100_000.0) as usize;
    let mut places: Vec<f64> = (0..=count).map(|k| length_mm * k as f64 / count as f64).collect();
    places.extend(surface.iter().map(|point| point.0).filter(|u| (0.0..=length_mm).contains(u)));
    places.sort_by(f64::total_cmp);
    places
}

/// Straight between the points, level beyond them.
fn height(surface: &[(f64, f64)], u: f64) -> f64 {
    match surface.partition_point(|point| point.0 < u) {
        _ if surface.is_empty() => 0.0,
        0 => surface[0].1,
        n if n == surface.len() => surface[n - 1].1,
        n => {
            let ((a, ha), (b, hb)) = (surface[n - 1], surface[n]);
            if a < b { ha + (hb - ha) * (u - a) / (b - a) } else { hb }
        }
    }
}
