//! What the bow shoots: the stage, and its part of the report.

use super::bow::{BowStages, kept_if};
use super::kept::{Kept, plain};
use super::limbs::OtherFile;
use super::{Job, Refused, reads};
use crate::book::arrow_speeds;
use crate::diag::{Diagnostic, Place};
use crate::mechanics::shot::loss::Loss;
use crate::mechanics::shot::of_bow::{Lighter, ShootingBow};
use crate::mechanics::shot::table::{JUDGED, ShotTable};
use crate::model::Build;
use crate::model::string;
use crate::report::{ArrowSpeedRow, LighterRow, ShotRow};
use crate::sheets::bow::WordTable;
use crate::sheets::figures::{self, Chart};
use crate::units::published::round;
use crate::units::{System, fixed};
use std::sync::Arc;

/// Shot.
#[derive(Debug)]
pub(super) struct Shooting {
    build: Build,
    bending: Arc<BowStages>,
    beside: Option<Arc<OtherFile>>,
    table: Kept<ShotTable>,
}

impl Shooting {
    /// What the other limb is, `bending` hangs on, too.
    pub fn of(
        build: &Build,
        bending: &Arc<BowStages>,
        beside: Option<&Arc<OtherFile>>,
        before: Option<&Arc<Shooting>>,
    ) -> Arc<Shooting> {
        let build = reads::of_shot(build);
        kept_if(before, |before| before.build == build && Arc::ptr_eq(&before.bending, bending)).unwrap_or_else(|| {
            Arc::new(Shooting { build, bending: bending.clone(), beside: beside.cloned(), table: Kept::default() })
        })
    }

    pub fn table(&self) -> Result<&ShotTable, Refused> {
        let (options, curve) = (self.bending.options()?, self.bending.curve()?);
        let (pair, other) = (self.bending.pair()?, self.beside.as_deref().map(OtherFile::shooting).transpose()?);
        let table = || match (pair, other) {
            (Some(pair), Some(other)) => {
                let limbs = other.upper_first(&self.build);
                ShotTable::of(&ShootingBow::of_two(limbs, &other.pair(options), pair)?, Loss::of_two(limbs))
            }
            _ => ShotTable::of(&ShootingBow::of(&self.build, options, &curve.value)?, Loss::of(&self.build)),
        };
        self.table.value(|| plain(table()))
    }
}

impl Shooting {
    /// What the shot reads of its build.
    pub fn build(&self) -> &Build {
        &self.build
    }
}

/// The shot as it is published; a bow without a speed says why.
pub(super) fn row(job: &Job, loss: Option<Loss>) -> Result<ShotRow, Refused> {
    let build = job.build();
    // Without a force curve there is no report at all; past it, a bow may have no speed.
    job.force_curve()?;
    let other = job.beside.as_ref().map(|beside| beside.other.build());
    let limbs = job.beside.as_ref().zip(other).map(|(beside, other)| beside.is.other().upper_first(build, other));
    let loss = loss.unwrap_or_else(|| limbs.map_or_else(|| Loss::of(build), Loss::of_two));
    let table = job.shot().map(|table| table.with_loss(loss));
    let why =
        |refused: Refused| refused.faults.iter().map(|fault| fault.message.spoken(build.units)).collect::<Vec<_>>().join("; ");
    let string_kg = build.shot.served_string_kg(job.force_curve()?.string_mm);
    let limbs: &[&Build] = match &limbs {
        Some(both) => both,
        None => &[build],
    };
    Ok(published(limbs, string_kg, loss, table.map_err(why)))
}

/// What the lower limb's file says of the string otherwise than the upper's, though there is one string.
pub fn one_string(upper: &Build, lower: &Build) -> Option<Diagnostic> {
    let (one, other) = (&upper.shot, &lower.shot);
    let words = |build: &Build| {
        let plan = &build.shot;
        format!("{}, {} strands, {} of serving", plan.material.name, plan.strands, build.units.small_mass(plan.serving_kg))
    };
    // Files in grains and in grams round to less than a tenth of a gram.
    const SAME_KG: f64 = 1e-4;
    let same =
        one.material == other.material && one.strands == other.strands && (one.serving_kg - other.serving_kg).abs() <= SAME_KG;
    (!same).then(|| {
        let message =
            format!("its string is {}, the upper limb's {}, but one string serves both limbs", words(lower), words(upper));
        Diagnostic::fault(Place::new("string"), message).hint("write the upper limb's [string] into this file")
    })
}

fn published(limbs: &[&Build], string_kg: f64, loss: Loss, table: Result<ShotTable, String>) -> ShotRow {
    let plan = &limbs[0].shot;
    let no_speed_because = table.as_ref().err().cloned();
    let table = table.ok();
    ShotRow {
        string: plan.material.name.clone(),
        string_source: string::source().to_owned(),
        strands: plan.strands,
        string_g: round(1e3 * string_kg),
        serving_g: round(1e3 * plan.serving_kg),
        string_stiffness_n: round(plan.stiffness_n()),
        tip_g: round(1e3 * plan.tip_kg),
        loss: round(loss.fraction),
        loss_from: loss.from.words(),
        loss_band: loss.band.pair().map(round),
        no_speed_because,
        arrows: table
            .iter()
            .flat_map(|table| &table.rows)
            .map(|row| {
                let [min, likely, max] = row.speeds_mm_s();
                ArrowSpeedRow {
                    grains_per_pound: row.grains_per_pound,
                    arrow_g: round(1e3 * row.arrow_kg),
                    speed_mm_s: round(likely),
                    speed_band_mm_s: [round(min), round(max)],
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
                    LighterRow { part: lighter_words(limbs, gain.lighter), gains_mm_s: round(gain.ratio * likely) }
                })
            })
            .collect(),
    }
}

fn lighter_words(limbs: &[&Build], lighter: Lighter) -> String {
    match lighter {
        Lighter::Tips { kg } => format!("each tip {} lighter", limbs[0].units.small_mass(kg)),
        Lighter::Strands { count } => format!("{count} strands fewer in the string"),
        Lighter::Lamination { limb, index, fraction } => {
            let of = match limbs {
                [_] => "",
                _ if limb == 0 => "upper ",
                _ => "lower ",
            };
            format!("{of}`{}` {:.0} percent lighter, as stiff", limbs[limb].laminations[index].name, 100.0 * fraction)
        }
    }
}

/// The arrows of a row as a table, a row for each.
pub fn arrow_table(units: System, row: &ShotRow) -> WordTable {
    let (mass, speed, force) = (units.small_mass_unit(), units.arrow_speed_unit(), units.force_unit());
    let heads = vec![
        format!("arrow, {mass}"),
        "gr per lb".to_owned(),
        format!("speed, {speed}"),
        "band".to_owned(),
        "efficiency".to_owned(),
        format!("virtual mass, {mass}"),
        format!("peak tension, {force}"),
    ];
    let cells = |arrow: &ArrowSpeedRow| {
        let [min, max] = arrow.speed_band_mm_s.map(|speed| units.arrow_speed_number(speed));
        vec![
            units.small_mass_number(1e-3 * arrow.arrow_g),
            fixed(arrow.grains_per_pound, 0),
            units.arrow_speed_number(arrow.speed_mm_s),
            format!("{min} to {max}"),
            format!("{} %", fixed(100.0 * arrow.efficiency, 1)),
            units.small_mass_number(1e-3 * arrow.virtual_mass_g),
            fixed(units.force(arrow.peak_tension_n), 0),
        ]
    };
    WordTable { heads, rows: row.arrows.iter().map(cells).collect() }
}

/// What lighter parts are worth as a table, a row for each.
pub fn lighter_table(units: System, row: &ShotRow) -> WordTable {
    let judged = row.arrows.get(row.judged_arrow).map_or(0.0, |arrow| arrow.grains_per_pound);
    let heads = vec!["what is lighter".to_owned(), format!("gains at {} gr per lb", fixed(judged, 0))];
    let cells = |lighter: &LighterRow| vec![lighter.part.clone(), units.arrow_speed_change(lighter.gains_mm_s)];
    WordTable { heads, rows: row.lighter.iter().map(cells).collect() }
}

/// The same arrows as a chart, beside what the file has.
pub fn speed_figure(units: System, row: &ShotRow, file: Option<&ShotRow>) -> Chart {
    let before = file.map(arrow_speeds);
    figures::speed(units, &arrow_speeds(row), before.as_deref())
}
