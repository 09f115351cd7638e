//! How hard does the bow work just beyond the end of the riser's overlay, where it is suddenly less deep?
//!
//! The strain there is that of the section without the overlay, seen from the tip's side of its feather. What a beam does not show is left out: over
//! about the overlay's thickness the stress crowds at its end, the more the thicker the feather is. Source: as [`super::strain`].

use super::draw::DrawCurve;
use super::layer_kind::LayerKind;
use super::strain::{self, DrawState, Worst};
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
    let faces = curve.stations[outer].faces(full.places[outer].bend_per_mm, DrawState::FullDraw);
    strain::hardest(faces.map(|face| face.worst(build)))
}
