//! What the report says of a riser's layers, footings and overlay.

use super::{Job, Refused};
use crate::mechanics::mass::{self, RiserMass};
use crate::mechanics::overlay_end;
use crate::mechanics::splice;
use crate::model::Build;
use crate::model::block::BlockLayer;
use crate::model::riser::Riser;
use crate::report::{BeyondEndRow, BlockLayerRow, CheckRow, FootingRow, LayeredRow, RiserOverlayRow};
use crate::sheets::bow::part_name;
use crate::shop::block_parts::layers_glue_area_mm2;
use crate::shop::feather_check::CheckMark;
use crate::shop::riser_block::RiserBlock;
use crate::units::published::{round, round_fine};

/// Nothing for a block of slices.
pub(super) fn layered(build: &Build, riser: &Riser, mass: Option<RiserMass>) -> Option<LayeredRow> {
    if riser.layers.is_empty() {
        return None;
    }
    let (line_mm, profile) = (build.glue.line_mm, riser.profile());
    let backs = riser.layer_backs(line_mm).collect::<Vec<f64>>();
    let row = |(index, layer): (usize, &BlockLayer)| BlockLayerRow {
        wood: layer.wood.name.clone(),
        thickness_mm: round(layer.thickness_mm),
        reach_mm: round(if index == 0 { riser.feather_station_mm() } else { profile.station_of_mm(backs[index - 1]) }),
    };
    let glue_area_mm2 = layers_glue_area_mm2(riser, line_mm);
    Some(LayeredRow {
        layers: riser.layers.iter().enumerate().map(row).collect(),
        glued_depth_mm: round(riser.glued_depth_mm(line_mm)),
        mass_g: mass.map(|mass| grams(mass.block_kg)),
        glue_area_mm2: round(glue_area_mm2),
        glue_kg: glue_kg(build, glue_area_mm2),
    })
}

pub(super) fn footing(build: &Build, riser: &Riser, block: &RiserBlock, mass: Option<RiserMass>) -> Option<FootingRow> {
    let (footing, cut) = riser.footing.as_ref().zip(block.footing.as_ref())?;
    Some(FootingRow {
        wood: footing.wood.name.clone(),
        length_mm: round(footing.length_mm),
        splice_mm: round(footing.splice_mm),
        slope: round(cut.slope),
        keeps: round(splice::efficiency(cut.slope)),
        depth_mm: round(cut.depth_mm),
        mass_g: mass.map(|mass| grams(mass.footings_kg)),
        glue_area_mm2: round(cut.glue_area_mm2),
        glue_kg: glue_kg(build, cut.glue_area_mm2),
    })
}

pub(super) fn overlay(
    job: &Job,
    riser: &Riser,
    block: &RiserBlock,
    mass: Option<RiserMass>,
) -> Result<Option<RiserOverlayRow>, Refused> {
    let Some((overlay, cut)) = riser.overlay.as_ref().zip(block.overlay.as_ref()) else { return Ok(None) };
    let build = job.build();
    let beyond = if job.is_bow() { overlay_end::beyond(build, job.force_curve()?) } else { None };
    Ok(Some(RiserOverlayRow {
        wood: overlay.wood.name.clone(),
        length_mm: round(overlay.profile.length_mm),
        level_mm: round(overlay.profile.level_mm),
        depth_mm: round(overlay.profile.depth_mm),
        feather_mm: round(overlay.profile.feather_mm),
        blank_length_mm: round(cut.blank_length_mm),
        blank_depth_mm: round(cut.blank_depth_mm),
        feather_check: check_rows(&cut.check),
        mass_g: mass.map(|mass| grams(mass.overlay_kg)),
        glue_area_mm2: round(cut.glue_area_mm2),
        glue_kg: glue_kg(build, cut.glue_area_mm2),
        beyond_end: beyond.map(|beyond| BeyondEndRow {
            station_mm: round(beyond.s_mm),
            part: part_name(build, beyond.part),
            strain: round_fine(beyond.strain),
            share_of_breaking: beyond.share_of_breaking.map(round),
            verdict: beyond.verdict().map(|verdict| verdict.word().into()),
        }),
    }))
}

pub(super) fn check_rows(marks: &[CheckMark]) -> Vec<CheckRow> {
    let row =
        |mark: &CheckMark| CheckRow { from_feather_mm: round(mark.from_feather_mm), thickness_mm: round(mark.thickness_mm) };
    marks.iter().map(row).collect()
}

/// What the riser's parts weigh; nothing for a batch of laminations, which has no outline to be trimmed to.
pub(super) fn mass(build: &Build) -> Result<Option<RiserMass>, Refused> {
    if build.outline.is_none() {
        return Ok(None);
    }
    Ok(Some(mass::riser_kg(build)?))
}

fn grams(kg: f64) -> f64 {
    round(1e3 * kg)
}

fn glue_kg(build: &Build, area_mm2: f64) -> f64 {
    round(1e-6 * area_mm2 * build.glue.spread_kg_m2)
}
