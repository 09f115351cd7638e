//! How hard does the bow work just beyond the end of the riser's overlay, where it is suddenly less deep?
//!
//! The strain there is that of the section without the overlay, seen from the tip's side of its feather. What a beam does not show is left out: over
//! about the overlay's thickness the stress crowds at its end, the more the thicker the feather is. Source: as [`super::strain`].

use super::draw::DrawCurve;
use super::section::LayerKind;
use super::strain::{Worst, breaking_strain};
use crate::model::Build;

/// The hardest-working part just beyond the overlay's ends at full draw; `None` without one.
pub fn beyond(build: &Build, curve: &DrawCurve) -> Option<Worst> {
    let feather_mm = build.riser.as_ref()?.overlay.as_ref()?.profile.feather_station_mm();
    let full = curve.at_full_draw();
    // The first station on the outer side: at a corner there are two, the second seen from the tip.
    let outer = curve.stations.iter().position(|station| {
        let on = station.section.layers.iter().any(|layer| layer.part == LayerKind::RiserOverlay);
        !on && feather_mm - 1e-6 <= station.s_mm
    })?;
    let station = &curve.stations[outer];
    let mut worst: Option<Worst> = None;
    for (index, layer) in station.section.layers.iter().enumerate().filter(|(_, layer)| layer.part != LayerKind::Glue) {
        let strains = station.strain(full.places[outer].bend_per_mm, index);
        for (face, strain) in strains.into_iter().enumerate() {
            let breaking = breaking_strain(build, layer.part, station.s_mm);
            let here = Worst {
                part: layer.part,
                s_mm: station.s_mm,
                belly_face: face == 1,
                at_full_draw: true,
                strain,
                left: station.locked[index][face],
                share_of_breaking: breaking.map(|breaking| strain.abs() / breaking),
            };
            let harder = |known: &Worst| match (known.share_of_breaking, here.share_of_breaking) {
                (Some(a), Some(b)) => a < b,
                (None, None) => known.strain.abs() < strain.abs(),
                (a, _) => a.is_none(),
            };
            if worst.as_ref().is_none_or(harder) {
                worst = Some(here);
            }
        }
    }
    worst
}
