//! `taperwright shot`: what the bow shoots, arrow by arrow, and what lighter parts are worth.

use super::Ended;
use super::args::ShotArgs;
use super::input::{Input, refused, show, summary};
use super::log;
use super::terminal::Terminal;
use crate::diag::SourceText;
use crate::job::{Job, Refused};
use crate::mechanics::shot::loss::Loss;
use crate::report::ShotRow;
use crate::sheets::cautions::SPEED;
use crate::units::fixed;
use crate::write::table::plain;

pub fn shot(args: &ShotArgs, terminal: Terminal) -> Ended {
    told(args, terminal).unwrap_or_else(|ended| ended)
}

fn told(args: &ShotArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let job = Input::read(&args.file, terminal)?.open(terminal)?;
    if !job.is_bow() {
        terminal.fault("error: the build file describes laminations and no bow\nhelp: add [target] and [outline]; `taperwright new` shows them");
        return Err(Ended::BuildFile);
    }
    let loss = match &args.log {
        Some(path) => log::shot_loss(&job, path, terminal)?,
        None => None,
    };
    let no = |found: Refused| refused(&found.faults, &job, terminal);
    // A bow without a speed says why, and that is a fault here: nothing else was asked for.
    if let Err(found) = job.shot() {
        show(&found.faults, job.source(), job.build().units, terminal);
        summary(&found.faults, SourceText::name(job.source()), terminal);
        return Err(Ended::BuildFile);
    }
    let row = job.shot_report(loss).map_err(no)?;
    if args.json {
        return Ok(terminal.published(&row));
    }
    Ok(terminal.results(&text(&job, &row, loss).map_err(no)?))
}

fn text(job: &Job, row: &ShotRow, measured: Option<Loss>) -> Result<String, Refused> {
    let build = job.build();
    let units = build.units;
    let curve = job.force_curve()?;
    let (mass, speed, force) = (units.small_mass_unit(), units.arrow_speed_unit(), units.force_unit());
    let head = [
        format!("arrow, {mass}"),
        "gr per lb".to_owned(),
        format!("speed, {speed}"),
        "band".to_owned(),
        "efficiency".to_owned(),
        format!("virtual mass, {mass}"),
        format!("peak tension, {force}"),
    ];
    let rows: Vec<Vec<String>> = row
        .arrows
        .iter()
        .map(|arrow| {
            let [least, most] = arrow.speed_band_mm_s.map(|speed| units.arrow_speed_number(speed));
            vec![
                units.small_mass_number(1e-3 * arrow.arrow_g),
                fixed(arrow.grains_per_pound, 0),
                units.arrow_speed_number(arrow.speed_mm_s),
                format!("{least} to {most}"),
                format!("{} %", fixed(100.0 * arrow.efficiency, 1)),
                units.small_mass_number(1e-3 * arrow.virtual_mass_g),
                fixed(units.force(arrow.peak_tension_n), 0),
            ]
        })
        .collect();
    let percent = |ratio: f64| fixed(100.0 * ratio, 1);
    let numbers = [
        vec!["draw weight".to_owned(), build.weight_text(curve.at_full_draw().force_n)],
        vec!["stored".to_owned(), format!("{} {}", fixed(units.energy_number(curve.energy.work_n_mm), 1), units.energy_unit())],
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
        vec!["on each tip".to_owned(), units.small_mass(1e-3 * row.tip_g)],
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
    let lighter: Vec<Vec<String>> =
        row.lighter.iter().map(|lighter| vec![lighter.part.clone(), units.arrow_speed_change(lighter.gains_mm_s)]).collect();
    let judged = format!("gains at {} gr per lb", fixed(row.arrows[row.judged_arrow].grains_per_pound, 0));
    let band = if measured.is_some() {
        "Band: the loss within its interval of 95 percent."
    } else {
        "Band: the loss within its band; a `shot` reading in the log narrows it (`--log`)."
    };
    Ok(format!(
        "{}\n\n{}\n{}\n{}\n{band}\n{}\n",
        build.title,
        plain(&head.iter().map(String::as_str).collect::<Vec<_>>(), &rows),
        plain(&["the bow", ""], &numbers),
        plain(&["what is lighter", &judged], &lighter),
        SPEED.join("\n"),
    ))
}
