//! Bows side by side: what a changed build file makes of the bow, number by number. For `size` and `rescale`.

use super::Ended;
use super::input::{refused, show, summary};
use super::terminal::Terminal;
use crate::buildfile::edit::{Edit, Rewritten, rewritten};
use crate::folder;
use crate::job::{Job, Refused};
use crate::mechanics::draw::DrawCurve;
use crate::mechanics::shot::table::{GRAINS_PER_POUND, JUDGED};
use crate::mechanics::strain;
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::taper::TaperForm;
use crate::report::beside::{EditRow, SideLamination, SideRow};
use crate::report::{ArrowSpeedRow, ShotRow};
use crate::sheets::bow::{nock_to_nock_mm, part_name, share_words};
use crate::shop::cautions::SPEED;
use crate::units::fixed;
use crate::write::table::plain;
use std::path::Path;

/// One of the bows, and what is asked of it often.
pub struct BowSide {
    pub label: &'static str,
    pub job: Job,
    pub weight_n: f64,
    spread_n: f64,
    limb_kg: f64,
    shot: ShotRow,
}

impl BowSide {
    /// Solves the bow of this job; its faults, or its warnings where they are asked for, have been shown.
    pub fn of(label: &'static str, job: &Job, warn: Warn, terminal: Terminal) -> Result<BowSide, Ended> {
        let solve = || -> Result<BowSide, Refused> {
            let weight_n = job.force_curve()?.at_full_draw().force_n;
            let (spread_n, limb_kg, shot) = (job.weight_spread_n()?, job.limb_kg()?, job.shot_report(None)?);
            Ok(BowSide { label, weight_n, spread_n, limb_kg, shot, job: job.clone() })
        };
        let side = solve().map_err(|found| refused(&found.faults, job, terminal))?;
        if warn == Warn::Shown {
            let warnings = job.bow_warnings().map_err(|found| refused(&found.faults, job, terminal))?;
            show(&warnings, job.source(), job.build().units, terminal);
        }
        Ok(side)
    }

    fn curve(&self) -> &DrawCurve {
        self.job.force_curve().expect("a side was solved")
    }

    /// The arrow of its own weight by which bows are compared; none where there is no speed.
    fn arrow(&self) -> Option<&ArrowSpeedRow> {
        self.shot.arrows.get(self.shot.judged_arrow)
    }

    /// Speed with its band, and the arrow.
    fn speed_words(&self) -> String {
        let units = self.job.build().units;
        self.arrow().map_or("not given, see below".to_owned(), |arrow| {
            let [min, max] = arrow.speed_band_mm_s.map(|speed| units.arrow_speed_number(speed));
            let (speed, mass) = (units.arrow_speed(arrow.speed_mm_s), units.small_mass(1e-3 * arrow.arrow_g));
            format!("{speed} ({min} to {max}), {mass}")
        })
    }
}

/// Whether a bow's warnings are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Warn {
    Shown,
    /// They belong to the file as it is, and `check` tells them.
    Silent,
}

/// A changed build as its file gives it: rounded to what a shop can set, and read again.
pub struct AsWritten {
    pub rewritten: Rewritten,
    pub job: Job,
}

/// Writes the changes of `after` into the text of the job and reads the result; faults have been shown.
pub fn as_written(job: &Job, after: &Build, terminal: Terminal) -> Result<AsWritten, Ended> {
    let rewritten =
        rewritten(job.source(), job.build(), after).map_err(|fault| refused(std::slice::from_ref(&fault), job, terminal))?;
    let job = read_again(job, &rewritten.text, terminal)?;
    Ok(AsWritten { rewritten, job })
}

/// The job of the changed text; faults have been shown.
pub fn read_again(job: &Job, text: &str, terminal: Terminal) -> Result<Job, Ended> {
    job.read_again(text).map_err(|unread| {
        show(&unread.faults, &unread.source, job.build().units, terminal);
        summary(&unread.faults, crate::diag::SourceText::name(&unread.source), terminal);
        Ended::BuildFile
    })
}

/// Writes the new build file where one is asked for.
pub fn write(new: Option<&Path>, job: &Job, folder: &Path, text: &str, terminal: Terminal) -> Result<(), Ended> {
    let Some(new) = new else { return Ok(()) };
    if let Err(fault) = folder::create(new, text.as_bytes()) {
        terminal.fault(&format!("error: {fault}"));
        return Err(Ended::Files);
    }
    let new_name = new.display().to_string();
    let next = format!("taperwright make {new_name}");
    written(new, &next, job, folder, terminal);
    Ok(())
}

/// Says that a new build file was written, and what comes next.
pub fn written(new: &Path, next: &str, job: &Job, folder: &Path, terminal: Terminal) {
    let new_name = new.display().to_string();
    terminal.remark(&format!("wrote {new_name}\nnext: read it over, then run: {next}"), &[next, &new_name]);
    if !job.build().calibration.is_empty() && new.parent() != Some(folder) {
        terminal.remark("note: paths under [[calibration]] start from the new file's folder now", &[]);
    }
}

/// Shows what planning the changed file meets that it did not meet before, such as stock that leaves nothing to grind, beside what was said of the
/// bow itself.
pub fn show_new(before: &Job, after: &Job, terminal: Terminal) {
    let planned = |job: &Job| job.warnings().unwrap_or_else(|found| found.faults);
    let all = |job: &Job| [job.read_warnings().to_vec(), planned(job)].concat();
    let mut said = all(before);
    said.extend(after.bow_warnings().unwrap_or_default());
    let mut new = all(after);
    new.retain(|found| !said.contains(found));
    show(&new, after.source(), after.build().units, terminal);
}

/// The bows in columns, and what is said of their speeds.
pub fn tables(sides: &[BowSide]) -> String {
    format!("{}\n{}\n", table_pair(sides), speed_remarks(sides))
}

/// What is said of the speeds of bows.
pub fn speed_remarks(sides: &[BowSide]) -> String {
    let mut remarks: Vec<String> =
        sides.iter().filter_map(|side| side.shot.no_speed_because.as_deref().map(crate::diag::sentence)).collect();
    remarks.dedup();
    if sides.iter().any(|side| side.arrow().is_some()) {
        remarks.push(SPEED.join("\n"));
    }
    remarks.join("\n")
}

/// The bows in columns: first as a whole, then lamination by lamination.
pub fn table_pair(sides: &[BowSide]) -> String {
    let header = |what: &'static str| std::iter::once(what).chain(sides.iter().map(|side| side.label)).collect::<Vec<_>>();
    format!("{}\n{}", plain(&header("the bow"), &whole(sides)), plain(&header("lamination"), &stacks(sides)))
}

/// What was changed in the file, a row for each value.
pub fn edits_table(job: &Job, edits: &[Edit]) -> String {
    if edits.is_empty() {
        return "Nothing changes in the file: at what a shop can set, the values stay as they are.\n".to_owned();
    }
    let words = |edit: &Edit| crate::diag::SourceText::words(job.source(), &edit.place);
    let rows: Vec<Vec<String>> =
        edits.iter().map(|edit| vec![words(edit), edit.was.replace('"', ""), edit.now.clone()]).collect();
    plain(&["in the file", "was", "is"], &rows)
}

fn row(what: impl Into<String>, sides: &[BowSide], cell: impl Fn(&BowSide) -> String) -> Vec<String> {
    std::iter::once(what.into()).chain(sides.iter().map(cell)).collect()
}

fn whole(sides: &[BowSide]) -> Vec<Vec<String>> {
    let units = sides[0].job.build().units;
    let draw = units.rule(sides[0].curve().at_full_draw().draw_length_mm);
    vec![
        row("nock to nock", sides, |side| units.rule(nock_to_nock_mm(side.job.build()))),
        row(format!("draw weight at {draw}"), sides, |side| side.job.build().weight_text(side.weight_n)),
        row("  one standard deviation", sides, |side| format!("± {}", units.force_text(side.spread_n))),
        row("works hardest", sides, |side| {
            let worst = &side.curve().worst[side.curve().worst_of_all];
            format!("{}, {} %", part_name(side.job.build(), worst.part), fixed(100.0 * worst.strain.abs(), 2))
        }),
        row("  of its breaking strain", sides, |side| share_words(&side.curve().worst[side.curve().worst_of_all])),
        row("one limb beyond the fade", sides, |side| units.mass(side.limb_kg)),
        row("string, nock to nock at brace", sides, |side| units.rule(side.curve().string_mm)),
        row("string against the limb at the nock", sides, |side| {
            format!("{} degrees", fixed(side.curve().at_full_draw().nock_angle_rad.to_degrees(), 0))
        }),
        row("stored energy", sides, |side| {
            format!("{} {}", fixed(units.energy_number(side.curve().energy.work_n_mm), 1), units.energy_unit())
        }),
        row(format!("speed at {} gr per lb, and that arrow", fixed(GRAINS_PER_POUND[JUDGED], 0)), sides, BowSide::speed_words),
    ]
}

fn stacks(sides: &[BowSide]) -> Vec<Vec<String>> {
    let units = sides[0].job.build().units;
    let mut rows = Vec::new();
    for index in 0..sides[0].job.build().laminations.len() {
        let of = |side: &BowSide| side.job.build().laminations[index].clone();
        let name = &sides[0].job.build().laminations[index].name;
        rows.push(row(name.clone(), sides, |side| of(side).wood_words()));
        rows.push(row("  butt", sides, |side| units.thickness(butt_mm(&of(side)))));
        rows.push(row("  taper", sides, |side| units.rate(rate(&of(side)))));
        rows.push(row("  tip", sides, |side| units.thickness(tip_mm(&of(side)))));
        rows.push(row("  greatest strain", sides, |side| {
            let worst = strain::hardest_of(&side.curve().worst, index);
            worst.map_or("none".into(), |worst| {
                format!("{} %, of breaking: {}", fixed(100.0 * worst.strain.abs(), 2), share_words(&worst))
            })
        }));
    }
    rows
}

fn butt_mm(lamination: &Lamination) -> f64 {
    lamination.finished.at(lamination.from_mm)
}

fn tip_mm(lamination: &Lamination) -> f64 {
    lamination.finished.at(lamination.to_mm)
}

/// As stated; for a strip given at stations its mean.
fn rate(lamination: &Lamination) -> f64 {
    match lamination.finished.form() {
        TaperForm::Straight { rate } | TaperForm::FlatThenStraight { rate, .. } => rate,
        TaperForm::Parallel | TaperForm::Stations | TaperForm::Ground => {
            (butt_mm(lamination) - tip_mm(lamination)) / (lamination.to_mm - lamination.from_mm)
        }
    }
}

/// The bows for programs.
pub fn side_rows(sides: &[BowSide]) -> Vec<SideRow> {
    sides.iter().map(side_row).collect()
}

/// The edits for programs.
pub fn edit_rows(edits: &[Edit]) -> Vec<EditRow> {
    let row = |edit: &Edit| EditRow { key: edit.place.as_str().into(), was: edit.was.clone(), now: edit.now.clone() };
    edits.iter().map(row).collect()
}

fn side_row(side: &BowSide) -> SideRow {
    let curve = side.curve();
    let full = curve.at_full_draw();
    let build = side.job.build();
    let lamination = |(index, lamination): (usize, &Lamination)| {
        let worst = strain::hardest_of(&curve.worst, index);
        SideLamination {
            name: lamination.name.clone(),
            wood: lamination.wood_words(),
            butt_mm: butt_mm(lamination),
            tip_mm: tip_mm(lamination),
            taper: rate(lamination),
            greatest_strain: worst.map(|worst| worst.strain),
            share_of_breaking_strain: worst.and_then(|worst| worst.share_of_breaking),
            verdict: worst.and_then(|worst| worst.verdict()).map(|verdict| verdict.word().into()),
        }
    };
    SideRow {
        bow: side.label.into(),
        nock_to_nock_mm: nock_to_nock_mm(build),
        draw_length_mm: full.draw_length_mm,
        draw_weight_n: full.force_n,
        draw_weight_spread_n: side.spread_n,
        string_mm: curve.string_mm,
        stored_j: curve.energy.work_n_mm / 1000.0,
        string_at_nock_rad: full.nock_angle_rad,
        limb_kg: side.limb_kg,
        arrow: side.arrow().cloned(),
        no_speed_because: side.shot.no_speed_because.clone(),
        laminations: build.laminations.iter().enumerate().map(lamination).collect(),
    }
}
