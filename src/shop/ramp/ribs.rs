//! Where the ribs of a ramp stand, once it is known how far apart they may.

use super::Profile;
use crate::diag::{Diagnostic, Place, mm};
use crate::shop::rule::{first_in, spaced};
use crate::shop::sled::Sled;
use crate::units::limit;

/// Ribs stand no closer than this, mm: between two slots there must be sheet left to carry.
pub(super) fn closest_mm(sheet_mm: f64) -> f64 {
    3.0 * sheet_mm
}

/// Centres of the ribs under run-ons and seat, no further apart than `span`, and which of them are under the seat. They stand on a rule
/// of these steps but beside stops and at corners of the taper.
pub(super) fn places(
    profile: &Profile<'_>,
    sled: &Sled,
    sheet: f64,
    span: f64,
    steps_mm: &[f64; 4],
) -> Result<(Vec<f64>, std::ops::Range<usize>), Diagnostic> {
    let ends = profile.ends_mm();
    let [first, last] = sled.run_on_top_mm.map(|top| top.is_some());
    // Solid sheet between a slot and the end of a rail, and between a slot and a step.
    let (at_end, at_step) = (2.0 * sheet, 1.5 * sheet);
    let inside = at_step.min(0.2 * span).max(sheet);
    // Beside a stop, as far inside as the deck reaches beyond its last rib.
    let beside = |sign: f64, stop: f64| {
        let [near, far] = [sheet, (0.2 * span).max(sheet)];
        // On the mirrored strip a place is the other way round.
        let found =
            if 0.0 < sign { first_in(stop + near, stop + far, steps_mm) } else { last_in(stop - far, stop - near, steps_mm) };
        found.unwrap_or(stop + sign * inside)
    };
    let from = if first {
        beside(1.0, profile.seat_mm[0])
    } else {
        first_in(ends[0] + at_end, ends[0] + at_end + inside, steps_mm).unwrap_or(ends[0] + at_end)
    };
    let to = if last {
        beside(-1.0, profile.seat_mm[1])
    } else {
        last_in(ends[1] - at_end - inside, ends[1] - at_end, steps_mm).unwrap_or(ends[1] - at_end)
    };
    let closest = closest_mm(sheet);
    let mut ribs = Vec::new();
    if first {
        let outer = [ends[0] + at_end, profile.step_mm[0] - at_step];
        let end = first_in(outer[0], outer[1], steps_mm).unwrap_or(outer[0]);
        ribs.extend(under_run_on(outer, end, from, span, closest)?);
    }
    let start = ribs.len();
    ribs.extend(under_seat([from, to], sled, span, closest, steps_mm));
    let end = ribs.len();
    if last {
        let outer = [profile.step_mm[1] + at_step, ends[1] - at_end];
        let far = last_in(outer[0], outer[1], steps_mm).unwrap_or(outer[1]);
        ribs.extend(under_run_on(outer, far, to, span, closest)?);
    }
    Ok((ribs, start..end))
}

/// [`first_in`] from the other end.
fn last_in(from: f64, to: f64, steps_mm: &[f64; 4]) -> Option<f64> {
    first_in(-to, -from, steps_mm).map(|u| -u)
}

/// Ribs under a run-on: one at its end, where that stands no farther from the first under the seat than ribs may; no strip lies there.
fn under_run_on([low, high]: [f64; 2], end: f64, seat: f64, span: f64, closest: f64) -> Result<Vec<f64>, Diagnostic> {
    if limit::below(high, low) {
        let message = message!("the run-on is {} too short for a rib to stand under it", mm(low - high));
        return Err(Diagnostic::fault(Place::new("sled.run_on"), message)
            .hint("make it longer, or 0 for a sled that ends with the strip"));
    }
    if high - low < closest {
        return Ok(vec![0.5 * (low + high)]);
    }
    Ok(if (end - seat).abs() <= span { vec![end] } else { evenly(low, high, span) })
}

/// Ribs under the seat from `from` to `to`, both included, with one at every corner of the taper; one in the middle where two would
/// stand too close.
fn under_seat([from, to]: [f64; 2], sled: &Sled, span: f64, closest: f64, steps_mm: &[f64; 4]) -> Vec<f64> {
    if to - from < closest {
        return vec![0.5 * (from + to)];
    }
    let mut ribs = vec![from];
    let corners = sled.corners_mm.iter().copied().filter(|u| closest <= u - from && closest <= to - u);
    for next in corners.chain([to]) {
        let before = ribs[ribs.len() - 1];
        if next - before < closest {
            continue;
        }
        let good = |places: &[f64]| {
            let bays = std::iter::once(&before).chain(places).zip(places);
            bays.into_iter().all(|(a, b)| !limit::above(b - a, span) && !limit::below(b - a, closest))
        };
        ribs.extend(spaced(before, next, steps_mm, good).unwrap_or_else(|| evenly(before, next, span)[1..].to_vec()));
    }
    ribs
}

/// Places from `from` to `to`, both included, as far apart as `span` allows.
fn evenly(from: f64, to: f64, span: f64) -> Vec<f64> {
    let gaps = ((to - from) / span - 1e-9).ceil().clamp(1.0, 10_000.0) as u32;
    (0..=gaps).map(|k| from + (to - from) * f64::from(k) / f64::from(gaps)).collect()
}
