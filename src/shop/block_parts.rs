//! Boards, footings and the overlay of a riser on the bench: what is sawn for them, where their glue lines show, and how much glue they take.
//!
//! ```text
//!   y  overlay's template: inner face as the belly lies, outer face by its own fade
//!   ▲        ┌───────────────┐
//!   │    ___╱                 ╲___
//!   │   ╱‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾‾╲      y = 0: the belly at the bow's centre
//!   └──────────────┬────────────────► x, station
//! ```
//!
//! The bow's back is taken to lie straight under the riser, as it does on a form that is level there; where it does not, the overlay's inner face is
//! scribed to the bow itself. Heights of glue lines are those of their middles over the block's flat face.
//!
//! Source: geometry. Left out: the thickness of the glue in a footing's V.

use super::feather_check::{CheckMark, CheckSteps, check_marks};
use super::grip::joined;
use crate::geometry::{Path, Point};
use crate::model::Build;
use crate::model::block::{Footing, RiserOverlay};
use crate::model::riser::Riser;
use crate::units::limit;

/// The glue line between two boards, as far as the fade leaves it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerJoint {
    /// Between this layer and the next one, from the flat face.
    pub after: usize,
    pub height_mm: f64,
    /// Station where the fade cuts it.
    pub reach_mm: f64,
}

/// One of two footings as it is sawn.
#[derive(Debug, Clone, PartialEq)]
pub struct FootingCut {
    /// From the point of its V to the end of the blank, mm.
    pub length_mm: f64,
    pub width_mm: f64,
    /// Of the block where its point is, mm: nowhere is it thicker.
    pub depth_mm: f64,
    /// Along the bow for 1 through the width, on each face of the V.
    pub slope: f64,
    /// Of both footings, both faces each.
    pub glue_area_mm2: f64,
}

/// The overlay as it is sawn and ground.
#[derive(Debug, Clone, PartialEq)]
pub struct OverlayBlock {
    /// Counter-clockwise in `(x, y)`, feather to feather.
    pub template: Path,
    /// The belly under it does not fall off: its inner face is a plane.
    pub flat: bool,
    /// Squared block, overruns included, mm.
    pub blank_length_mm: f64,
    pub blank_depth_mm: f64,
    /// Its thickness over the belly beneath, from the feather toward the grip.
    pub check: Vec<CheckMark>,
    pub glue_area_mm2: f64,
}

/// Between its boards, those first that are next to the flat face; none in a block of slices.
pub fn layer_joints(riser: &Riser, glue_line_mm: f64) -> Vec<LayerJoint> {
    let profile = riser.profile();
    let backs = riser.layer_backs(glue_line_mm).enumerate();
    backs
        .map(|(after, back_mm)| {
            let height_mm = back_mm - 0.5 * glue_line_mm;
            LayerJoint { after, height_mm, reach_mm: profile.station_of_mm(height_mm) }
        })
        .collect()
}

/// Glue between the boards of a block before its profile is sawn, mm².
pub fn layers_glue_area_mm2(riser: &Riser, glue_line_mm: f64) -> f64 {
    let lines = riser.layers.len().saturating_sub(1);
    lines as f64 * (riser.length_mm + 2.0 * riser.overrun_mm) * riser.width_mm(glue_line_mm)
}

pub(super) fn footing_cut(riser: &Riser, footing: &Footing, width_mm: f64) -> FootingCut {
    let [point, open] = footing.corners(riser.feather_station_mm());
    // The mean depth over the V; the fade is smooth, or has one corner there.
    const PARTS: u32 = 200;
    let at = |k: u32| point + (open - point) * (f64::from(k) + 0.5) / f64::from(PARTS);
    let mean_mm = (0..PARTS).map(|k| riser.thickness_at(at(k))).sum::<f64>() / f64::from(PARTS);
    FootingCut {
        length_mm: footing.length_mm + riser.overrun_mm,
        width_mm,
        depth_mm: riser.thickness_at(point),
        slope: footing.slope(width_mm),
        glue_area_mm2: 4.0 * footing.face_mm(width_mm) * mean_mm,
    }
}

pub(super) fn overlay_block(build: &Build, riser: &Riser, overlay: &RiserOverlay, steps: CheckSteps) -> OverlayBlock {
    // Its ends stand over wood: the feather itself, not beyond it.
    const INSIDE_MM: f64 = 1e-9;
    let end = overlay.profile.feather_station_mm() - INSIDE_MM;
    let inner = |s: f64| build.stack_mm(s.abs()) - build.stack_mm(0.0);
    let outer = |s: f64| inner(s) + overlay.thickness_at(s.abs());
    let of_laminations = build.laminations.iter().flat_map(|l| l.finished.corners().chain([l.from_mm, l.to_mm]));
    let corners = of_laminations.chain(riser.corners(build.glue.line_mm)).flat_map(|s| [-s, s]);
    let mut stops: Vec<f64> = corners.chain([0.0]).filter(|s| limit::past(end, s.abs())).chain([-end, end]).collect();
    limit::places_once(&mut stops);
    let (under, over) = (joined(&stops, inner), joined(&stops, outer));
    let reach =
        |points: &[Point]| points.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], p| [low.min(p.y), high.max(p.y)]);
    let ([low, high], [_, top]) = (reach(&under), reach(&over));
    // What a scraper takes off without being told.
    const FLAT_MM: f64 = 0.05;
    let flat = high - low < FLAT_MM;
    let width = |s: f64| build.outline.as_ref().map_or(riser.width_mm(build.glue.line_mm), |outline| outline.faces_at(s)[1]);
    const PARTS: u32 = 400;
    let at = |k: u32| end * (f64::from(k) + 0.5) / f64::from(PARTS);
    let glue_area_mm2 = f64::from(build.limbs()) * end * (0..PARTS).map(|k| width(at(k))).sum::<f64>() / f64::from(PARTS);
    OverlayBlock {
        template: Path::closed(under.into_iter().chain(over.into_iter().rev())),
        flat,
        blank_length_mm: overlay.profile.length_mm + 2.0 * overlay.overrun_mm,
        blank_depth_mm: top - low,
        check: check_marks(&overlay.profile, steps),
        glue_area_mm2,
    }
}
