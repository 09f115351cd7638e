//! The glue-up as it is published for programs.

use super::bends_name;
use crate::job::strain_rows;
use crate::mechanics::fade::{Climb, FadeCheck};
use crate::mechanics::glueup::compare::{DrawnWay, Way};
use crate::mechanics::glueup::{GlueUp, Stage};
use crate::mechanics::strip_verdict::StripVerdict;
use crate::model::Build;
use crate::model::workshop::Held;
use crate::report::glue::{
    BentRow, ClimbRow, FadesRow, GlueAnswer, HeldFlat, HeldRow, LayerStrainRow, LeftRow, StageAnswer, StripRow, WayRow,
};
use crate::sheets::bow::part_name;
use crate::units::published::{round, round_fine};

/// Pairs of station and rise.
fn rises(points: impl IntoIterator<Item = (f64, f64)>) -> Vec<[f64; 2]> {
    points.into_iter().map(|(s, rise)| [round(s), round(rise)]).collect()
}

pub fn published(build: &Build, glued: &GlueUp, fades: Option<&FadeCheck>, ways: &[Way], strips: &[StripVerdict]) -> GlueAnswer {
    GlueAnswer {
        title: build.title.clone(),
        retained: glued.retained,
        blank_width_mm: round(glued.blank_mm),
        stages: glued.stages.iter().map(|stage| stage_answer(build, stage)).collect(),
        fades: fades.map(|fades| FadesRow {
            caution_strain: fades.limits.caution,
            stop_strain: fades.limits.stop,
            climbs: fades.climbs.iter().map(|climb| climb_row(build, climb)).collect(),
        }),
        compared: ways.iter().map(|way| way_row(build, way)).collect(),
        strips: strips.iter().map(|strip| strip_row(build, strip)).collect(),
    }
}

fn stage_answer(build: &Build, stage: &Stage) -> StageAnswer {
    let bent = stage.bent.iter().map(|bent| BentRow {
        piece: bends_name(build, bent.what),
        strain: round_fine(bent.strain),
        station_mm: round(bent.s_mm),
        on_fade: bent.on_fade,
    });
    let left = stage.left.iter().map(|left| LeftRow {
        layer: part_name(build, left.part),
        strain: round_fine(left.strain),
        station_mm: round(left.s_mm),
        face: left.face.word().into(),
    });
    StageAnswer {
        number: stage.number,
        pieces: stage.names(build),
        held: match &stage.held {
            Held::Flat => HeldRow::Flat(HeldFlat::Flat),
            Held::Props { rise_mm, at_mm } => HeldRow::Props { props_rise_mm: round(*rise_mm), at_mm: round(*at_mm) },
            Held::Form { rise } => HeldRow::Form { form_mm: rises(rise.iter().copied()) },
        },
        wanted_tip_mm: stage.wanted.map(|wanted| round(wanted.tip_mm)),
        as_written_leaves_mm: stage.wanted.map(|wanted| round(wanted.written_leaves_mm)),
        form_times: stage.wanted.and_then(|wanted| wanted.form_by).map(round),
        tip_held_mm: round(stage.tip_held_mm()),
        tip_left_mm: round(stage.tip_left_mm()),
        tip_load_n: stage.load.tip_n.map(round),
        hardest_n_per_mm: stage.load.hardest().map(|load| round(load.n_per_mm)),
        pressed_n: round(stage.load.sum_n()),
        clamps: stage.clamps.count(),
        clamp_spacing_mm: round(stage.clamps.apart_mm),
        turns_of_band: stage.clamps.turns_of_band,
        glue_lines: stage.glue.lines,
        glue_area_mm2: round(stage.glue.area_mm2),
        glue_mass_kg: round(stage.glue.mass_kg),
        clamp_time_s: stage.clamp_time_s,
        bent: bent.collect(),
        left: left.collect(),
        held_rise_mm: rises(stage.on_form.iter().map(|spot| (spot.s_mm, spot.rise_mm))),
        retained: round(stage.retained),
        left_rise_mm: rises(stage.released.iter().map(|spot| (spot.s_mm, spot.rise_mm))),
        exact_form_rise_mm: rises(stage.exact_form.iter().copied()),
    }
}

fn climb_row(build: &Build, climb: &Climb) -> ClimbRow {
    ClimbRow {
        lamination: build.laminations[climb.lamination].name.clone(),
        strain: round_fine(climb.strain),
        station_mm: round(climb.s_mm),
        thickness_mm: round(climb.thickness_mm),
        radius_mm: round(climb.radius_mm),
        verdict: climb.verdict.word().into(),
        caution_strain: round_fine(climb.limits.caution),
        stop_strain: round_fine(climb.limits.stop),
        fade_length_that_goes_mm: climb.cure.and_then(|cure| cure.fade_length_mm).map(round),
        thickness_that_goes_mm: climb.cure.map(|cure| round(cure.thickness_mm)),
    }
}

fn way_row(build: &Build, way: &Way) -> WayRow {
    let refused = way.drawn.as_ref().err().map(|faults| faults.iter().map(|fault| fault.message.spoken(build.units)).collect());
    let drawn: Option<&DrawnWay> = way.drawn.as_ref().ok();
    WayRow {
        how: way.how.words().into(),
        tip_mm: round(way.tip_mm),
        refused,
        weight_n: drawn.map(|drawn| round(drawn.weight_n)),
        energy_j: drawn.map(|drawn| round(1e-3 * drawn.energy_n_mm)),
        strain: drawn.map(|drawn| strain_rows(build, &drawn.worst).into_iter().map(LayerStrainRow::from).collect()),
        glue_shear_mpa: drawn.and_then(|drawn| drawn.shear).map(|shear| round(shear.mpa)),
    }
}

fn strip_row(build: &Build, strip: &StripVerdict) -> StripRow {
    StripRow {
        lamination: build.laminations[strip.lamination].name.clone(),
        dry_strain: strip.dry.map(|dry| round_fine(dry.strain)),
        dry_station_mm: strip.dry.map(|dry| round(dry.s_mm)),
        dry_on_fade: strip.dry.map(|dry| dry.on_fade),
        dry_verdict: strip.dry.map(|dry| dry.verdict.word().into()),
        strain: strip.in_the_bow.map(|worst| round_fine(worst.strain)),
        share_of_breaking: strip.in_the_bow.and_then(|worst| worst.share_of_breaking).map(round),
        bow_verdict: strip.in_the_bow.and_then(|worst| worst.verdict()).map(|verdict| verdict.word().into()),
        verdict: strip.verdict.word().into(),
    }
}
