//! Rebates that the riser's template carries: what is let into its faces where the halves of a lamination lap.

use crate::drawing::{Drawing, Kind};
use crate::geometry::{Path, Point};
use crate::model::Build;
use crate::model::lamination::Face;
use crate::model::riser::Riser;

/// Their bottoms and ends, scored on the part of this name; the riser's flat face, toward the bow's back, lies at the bottom.
pub(super) fn score(drawing: &mut Drawing, part: &str, build: &Build, riser: &Riser) {
    for rebate in build.rebates() {
        let half = 0.5 * rebate.length_mm;
        let (face, bottom) = match rebate.face {
            Face::Back => (0.0, rebate.depth_mm),
            Face::Belly => (riser.depth_mm, riser.depth_mm - rebate.depth_mm),
        };
        let line = [(-half, face), (-half, bottom), (half, bottom), (half, face)].map(|(x, y)| Point::new(x, y));
        drawing.part_path(Kind::Score, part, Path::open(line));
    }
}

/// What is done there, in words.
pub(super) fn notes(build: &Build) -> impl Iterator<Item = String> {
    build.rebates().map(|rebate| {
        format!(
            "Rebate in the {} face for the lapped halves of {}: {} long about the centre, {} deep (one strip and a glue line), across the whole width.",
            rebate.face.word(),
            build.laminations[rebate.lamination].name,
            build.units.rule(rebate.length_mm),
            build.units.thickness(rebate.depth_mm)
        )
    })
}
