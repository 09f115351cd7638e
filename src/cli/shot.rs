//! `taperwright shot`: what the bow shoots, arrow by arrow, and what lighter parts are worth.

use super::Ended;
use super::args::ShotArgs;
use super::input::{Input, refused, show, summary};
use super::log;
use super::size::bow_or_fault;
use super::terminal::Terminal;
use super::two_limbs::{ShownLimb, TwoLimbs};
use crate::diag::SourceText;
use crate::job::{Job, Refused, arrow_table, lighter_table, one_string};
use crate::mechanics::shot::loss::Loss;
use crate::report::ShotRow;
use crate::report::pair::{PairShotAnswer, PairTip};
use crate::sheets::bow::WordTable;
use crate::shop::cautions::SPEED;
use crate::units::fixed;
use crate::units::published::round;
use crate::write::table::plain;
use std::path::Path;

pub fn shot(args: &ShotArgs, terminal: Terminal) -> Ended {
    told(args, terminal).unwrap_or_else(|ended| ended)
}

fn told(args: &ShotArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let job = Input::read(&args.file, terminal)?.open(terminal)?;
    bow_or_fault(&job, terminal)?;
    match &args.lower {
        Some(lower) => of_two(&job, lower, args, terminal),
        None => of_one(&job, args, terminal),
    }
}

fn loss(job: &Job, lower: Option<&Job>, args: &ShotArgs, terminal: Terminal) -> Result<Option<Loss>, Ended> {
    Ok(args.log.as_ref().map(|path| log::shot_loss(job, lower, path, terminal)).transpose()?.flatten())
}

fn of_one(job: &Job, args: &ShotArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let loss = loss(job, None, args, terminal)?;
    // A bow without a speed says why, and that is a fault here: nothing else was asked for.
    if let Err(found) = job.shot() {
        show(&found.faults, job.source(), job.build().units, terminal);
        summary(&found.faults, SourceText::name(job.source()), terminal);
        return Err(Ended::BuildFile);
    }
    let shot = || -> Result<Ended, Refused> {
        let (row, curve) = (job.shot_report(loss)?, job.force_curve()?);
        if args.json {
            return Ok(terminal.published(&row));
        }
        let shown = Shown { limbs: &[job], weight_n: curve.at_full_draw().force_n, stored_n_mm: curve.energy.work_n_mm };
        Ok(terminal.results(&shown.text(&row, loss)))
    };
    shot().map_err(|found| refused(&found.faults, job, terminal))
}

/// Two different limbs; each file says what sits on its own tip, and both the one string.
fn of_two(upper: &Job, lower: &Path, args: &ShotArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let two = TwoLimbs::read(upper, lower, terminal)?;
    two.refuse(one_string(upper.build(), two.lower.build()).into_iter().collect(), terminal)?;
    let loss = loss(upper, Some(&two.lower), args, terminal)?;
    let curve = two.curve(terminal)?;
    let shot = || two.upper.shot().and_then(|_| two.upper.shot_report(loss));
    let row = shot().map_err(|found| two.limbs()[0].refused(found.faults, terminal))?;
    let (weight_n, stored_n_mm) = (curve.points[curve.points.len() - 1].force_n, curve.energy.work_n_mm);
    if !args.json {
        let shown = Shown { limbs: &[upper, &two.lower], weight_n, stored_n_mm };
        return Ok(terminal.results(&shown.text(&row, loss)));
    }
    let [upper, lower] = two.limbs().map(|ShownLimb { job, .. }| PairTip {
        build_file: SourceText::name(job.source()).into(),
        title: job.build().title.clone(),
        tip_g: round(1e3 * job.build().shot.tip_kg),
    });
    let (draw_weight_n, stored_energy_j) = (round(weight_n), round(1e-3 * stored_n_mm));
    Ok(terminal.answer(&PairShotAnswer { shot: row, upper, lower, draw_weight_n, stored_energy_j }))
}

/// A bow as its shot is told: one job, or the upper limb's and the lower one's.
struct Shown<'a> {
    limbs: &'a [&'a Job],
    weight_n: f64,
    stored_n_mm: f64,
}

impl Shown<'_> {
    fn text(&self, row: &ShotRow, measured: Option<Loss>) -> String {
        let build = self.limbs[0].build();
        let units = build.units;
        let percent = |ratio: f64| fixed(100.0 * ratio, 1);
        let on_tip = |job: &&Job| units.small_mass(job.build().shot.tip_kg);
        let (title, tips) = match self.limbs {
            [upper, lower] => (": two different limbs", format!("{}, the lower one {}", on_tip(upper), on_tip(lower))),
            limbs => ("", on_tip(&limbs[0])),
        };
        let numbers = [
            vec!["draw weight".to_owned(), build.weight_text(self.weight_n)],
            vec!["stored".to_owned(), format!("{} {}", fixed(units.energy_number(self.stored_n_mm), 1), units.energy_unit())],
            vec![
                "string".to_owned(),
                format!(
                    "{}, {} strands, {} with {} of serving; numbers from memory",
                    row.string,
                    row.strands,
                    units.small_mass(1e-3 * row.string_g),
                    units.small_mass(1e-3 * row.serving_g)
                ),
            ],
            vec!["on each tip".to_owned(), tips],
            vec![
                "loss in the limbs".to_owned(),
                format!(
                    "{} % ({} to {} %): {}",
                    percent(row.loss),
                    percent(row.loss_band[0]),
                    percent(row.loss_band[1]),
                    row.loss_from
                ),
            ],
        ];
        let band = if measured.is_some() {
            "Band: the loss within its interval of 95 percent."
        } else {
            "Band: the loss within its band; a `shot` reading in the log narrows it (`--log`)."
        };
        let told = |table: WordTable| plain(&table.heads.iter().map(String::as_str).collect::<Vec<_>>(), &table.rows);
        format!(
            "{}{title}\n\n{}\n{}\n{}\n{band}\n{}\n",
            build.title,
            told(arrow_table(units, row)),
            plain(&["the bow", ""], &numbers),
            told(lighter_table(units, row)),
            SPEED.join("\n"),
        )
    }
}
