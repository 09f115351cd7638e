//! What the bow shoots: the stage, and its part of the report.

use super::bow::{BowStages, kept_if};
use super::kept::{Kept, plain};
use super::{Job, Refused, reads, round};
use crate::mechanics::shot::loss::Loss;
use crate::mechanics::shot::of_bow::Lighter;
use crate::mechanics::shot::table::{JUDGED, ShotTable};
use crate::model::Build;
use crate::model::string;
use crate::report::{ArrowSpeedRow, LighterRow, ShotRow};
use std::sync::Arc;

/// Shot.
#[derive(Debug)]
pub(super) struct Shooting {
    build: Build,
    bending: Arc<BowStages>,
    table: Kept<ShotTable>,
}

impl Shooting {
    pub fn of(build: &Build, bending: &Arc<BowStages>, before: Option<&Arc<Shooting>>) -> Arc<Shooting> {
        let build = reads::of_shot(build);
        kept_if(before, |before| before.build == build && Arc::ptr_eq(&before.bending, bending))
            .unwrap_or_else(|| Arc::new(Shooting { build, bending: bending.clone(), table: Kept::default() }))
    }

    pub fn table(&self) -> Result<&ShotTable, Refused> {
        let (options, curve) = (self.bending.options()?, self.bending.curve()?);
        self.table.value(|| plain(ShotTable::of(&self.build, options, &curve.value, Loss::of(&self.build))))
    }
}

/// The shot as it is published; a bow without a speed says why.
pub(super) fn row(job: &Job, loss: Option<Loss>) -> Result<ShotRow, Refused> {
    let build = job.build();
    // Without a force curve there is no report at all; past it, a bow may have no speed.
    job.force_curve()?;
    let loss = loss.unwrap_or_else(|| Loss::of(build));
    let table = job.shot().map(|table| table.with_loss(loss));
    let plan = &build.shot;
    let (string_kg, no_speed_because) = match &table {
        Ok(table) => (table.string_kg, None),
        Err(refused) => {
            let why = refused.faults.iter().map(|fault| fault.message.spoken(build.units)).collect::<Vec<_>>().join("; ");
            (plan.served_string_kg(job.force_curve()?.string_mm), Some(why))
        }
    };
    let table = table.ok();
    Ok(ShotRow {
        string: plan.material.name.clone(),
        string_source: string::source().to_owned(),
        strands: plan.strands,
        string_g: round(1e3 * string_kg),
        serving_g: round(1e3 * plan.serving_kg),
        string_stiffness_n: round(plan.stiffness_n()),
        tip_g: round(1e3 * plan.tip_kg),
        loss: round(loss.fraction),
        loss_from: loss.from.words(),
        loss_band: loss.band.map(round),
        no_speed_because,
        arrows: table
            .iter()
            .flat_map(|table| &table.rows)
            .map(|row| {
                let [least, likely, most] = row.speeds_mm_s();
                ArrowSpeedRow {
                    grains_per_pound: row.grains_per_pound,
                    arrow_g: round(1e3 * row.arrow_kg),
                    speed_mm_s: round(likely),
                    speed_band_mm_s: [round(least), round(most)],
                    efficiency: round(row.efficiency()),
                    virtual_mass_g: round(1e3 * row.virtual_kg()),
                    peak_tension_n: round(row.shot.peak_tension_n),
                }
            })
            .collect(),
        judged_arrow: JUDGED,
        lighter: table
            .iter()
            .flat_map(|table| {
                table.gains.iter().map(|gain| {
                    let likely = table.judged().speeds_mm_s()[1];
                    LighterRow { part: lighter_words(build, gain.lighter), gains_mm_s: round(gain.ratio * likely) }
                })
            })
            .collect(),
    })
}

fn lighter_words(build: &Build, lighter: Lighter) -> String {
    match lighter {
        Lighter::Tips { kg } => format!("each tip {} lighter", build.units.small_mass(kg)),
        Lighter::Strands { count } => format!("{count} strands fewer in the string"),
        Lighter::Lamination { index, fraction } => {
            format!("`{}` {:.0} percent lighter, as stiff", build.laminations[index].name, 100.0 * fraction)
        }
    }
}
