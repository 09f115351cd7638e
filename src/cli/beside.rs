//! Bows side by side: what a changed build file makes of the bow, number by number. For `size` and `rescale`.

use super::Ended;
use super::folder;
use super::input::{Opened, show, summary};
use super::make::{Limbs, limbs};
use super::terminal::Terminal;
use crate::buildfile::edit::{Edit, Rewritten, rewritten};
use crate::buildfile::{self, Source};
use crate::diag::Diagnostic;
use crate::mechanics::calibration::Calibrated;
use crate::mechanics::mass;
use crate::mechanics::section::Part;
use crate::mechanics::verdict::Verdict;
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::taper::Form;
use crate::sheets::bow::{nock_to_nock_mm, part_name, share_words};
use crate::units::fixed;
use crate::write::table::plain;
use serde_json::{Value, json};
use std::path::Path;

/// One of the bows.
pub struct Side {
    pub label: &'static str,
    pub build: Build,
    pub limbs: Limbs,
    /// Of one limb beyond the riser's feather.
    limb_kg: f64,
}

impl Side {
    /// Solves the bow of this build; the warnings belong to it.
    pub fn of(
        label: &'static str,
        build: &Build,
        calibrated: Option<Calibrated>,
    ) -> Result<(Side, Vec<Diagnostic>), Vec<Diagnostic>> {
        let reported = limbs(build, calibrated)?;
        let limb_kg = mass::limb_kg(build).map_err(|fault| vec![fault])?;
        let limbs = reported.value.expect("a build with target and outline is a bow");
        Ok((Side { label, build: build.clone(), limbs, limb_kg }, reported.warnings))
    }

    pub fn weight_n(&self) -> f64 {
        self.limbs.curve.at_full_draw().force_n
    }
}

/// A changed build as its file gives it: rounded to what a shop can set, and read again.
pub struct AsWritten {
    pub rewritten: Rewritten,
    pub build: Build,
    pub source: Source,
}

/// Writes the changes of `after` into the text of the opened file and reads the result; faults have been shown.
pub fn as_written(opened: &Opened, after: &Build, terminal: Terminal) -> Result<AsWritten, Ended> {
    let units = opened.build.units;
    let name = crate::diag::Source::name(&opened.source).to_owned();
    let rewritten = match rewritten(&opened.source, &opened.build, after) {
        Ok(rewritten) => rewritten,
        Err(fault) => {
            show(std::slice::from_ref(&fault), &opened.source, units, terminal);
            summary(&[fault], &name, terminal);
            return Err(Ended::BuildFile);
        }
    };
    let (source, outcome) = buildfile::read(&format!("{name}, as changed"), &rewritten.text);
    match outcome {
        Ok(reported) => Ok(AsWritten { rewritten, build: reported.value, source }),
        Err(faults) => {
            show(&faults, &source, units, terminal);
            summary(&faults, &format!("{name}, as changed"), terminal);
            Err(Ended::BuildFile)
        }
    }
}

/// Writes the new build file where one is asked for.
pub fn write(new: Option<&Path>, opened: &Opened, folder: &Path, text: &str, terminal: Terminal) -> Result<(), Ended> {
    let Some(new) = new else { return Ok(()) };
    if let Err(fault) = folder::create(new, text.as_bytes()) {
        terminal.fault(&format!("error: {fault}"));
        return Err(Ended::Files);
    }
    terminal.remark(&format!("wrote {0}\nnext: read it over, then run: taperwright make {0}", new.display()));
    if !opened.build.calibration.is_empty() && new.parent() != Some(folder) {
        terminal.remark("note: paths under [[calibration]] start from the new file's folder now");
    }
    Ok(())
}

/// The bows in columns: first as a whole, then lamination by lamination.
pub fn tables(sides: &[Side]) -> String {
    let header = |what: &'static str| std::iter::once(what).chain(sides.iter().map(|side| side.label)).collect::<Vec<_>>();
    format!("{}\n{}", plain(&header("the bow"), &whole(sides)), plain(&header("lamination"), &stacks(sides)))
}

/// What was changed in the file, a row for each value.
pub fn edits_table(opened: &Opened, edits: &[Edit]) -> String {
    if edits.is_empty() {
        return "Nothing changes in the file: at what a shop can set, the values stay as they are.\n".to_owned();
    }
    let words = |edit: &Edit| crate::diag::Source::words(&opened.source, &edit.place);
    let rows: Vec<Vec<String>> =
        edits.iter().map(|edit| vec![words(edit), edit.was.replace('"', ""), edit.now.clone()]).collect();
    plain(&["in the file", "was", "is"], &rows)
}

fn row(what: impl Into<String>, sides: &[Side], cell: impl Fn(&Side) -> String) -> Vec<String> {
    std::iter::once(what.into()).chain(sides.iter().map(cell)).collect()
}

fn whole(sides: &[Side]) -> Vec<Vec<String>> {
    let units = sides[0].build.units;
    let draw = units.rule(sides[0].limbs.curve.at_full_draw().draw_length_mm);
    vec![
        row("nock to nock", sides, |side| units.rule(nock_to_nock_mm(&side.build))),
        row(format!("draw weight at {draw}"), sides, |side| side.build.weight_text(side.weight_n())),
        row("  one standard deviation", sides, |side| format!("± {}", units.force_text(side.limbs.spread_n()))),
        row("works hardest", sides, |side| {
            let worst = &side.limbs.curve.worst[side.limbs.curve.worst_of_all];
            format!("{}, {} %", part_name(&side.build, worst.part), fixed(100.0 * worst.strain.abs(), 2))
        }),
        row("  of its breaking strain", sides, |side| share_words(&side.limbs.curve.worst[side.limbs.curve.worst_of_all])),
        row("one limb beyond the fade", sides, |side| units.mass(side.limb_kg)),
        row("string, nock to nock at brace", sides, |side| units.rule(side.limbs.curve.string_mm)),
        row("string against the limb at the nock", sides, |side| {
            format!("{} degrees", fixed(side.limbs.curve.at_full_draw().nock_angle_rad.to_degrees(), 0))
        }),
        row("stored energy", sides, |side| {
            format!("{} {}", fixed(units.energy_number(side.limbs.curve.energy.work_n_mm), 1), units.energy_unit())
        }),
    ]
}

fn stacks(sides: &[Side]) -> Vec<Vec<String>> {
    let units = sides[0].build.units;
    let mut rows = Vec::new();
    for index in 0..sides[0].build.laminations.len() {
        let of = |side: &Side| side.build.laminations[index].clone();
        let name = &sides[0].build.laminations[index].name;
        rows.push(row(name.clone(), sides, |side| of(side).wood.name));
        rows.push(row("  butt", sides, |side| units.thickness(butt_mm(&of(side)))));
        rows.push(row("  taper", sides, |side| units.rate(rate(&of(side)))));
        rows.push(row("  tip", sides, |side| units.thickness(tip_mm(&of(side)))));
        rows.push(row("  greatest strain", sides, |side| {
            let worst = side.limbs.curve.worst.iter().find(|worst| worst.part == Part::Lamination(index));
            worst.map_or("none".into(), |worst| {
                format!("{} %, of breaking: {}", fixed(100.0 * worst.strain.abs(), 2), share_words(worst))
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
        Form::Straight { rate } | Form::FlatThenStraight { rate, .. } => rate,
        Form::Parallel | Form::Stations | Form::Ground => {
            (butt_mm(lamination) - tip_mm(lamination)) / (lamination.to_mm - lamination.from_mm)
        }
    }
}

/// The bows and the edits for programs.
pub fn json(sides: &[Side], edits: &[Edit]) -> Value {
    let bows: Vec<Value> = sides.iter().map(side_json).collect();
    json!({ "bows": bows, "edits": edits_json(edits) })
}

pub fn edits_json(edits: &[Edit]) -> Value {
    edits.iter().map(|edit| json!({ "key": edit.place.as_str(), "was": edit.was, "now": edit.now })).collect()
}

fn side_json(side: &Side) -> Value {
    let curve = &side.limbs.curve;
    let full = curve.at_full_draw();
    let of = |part: Part| curve.worst.iter().find(|worst| worst.part == part);
    let laminations: Vec<Value> = side
        .build
        .laminations
        .iter()
        .enumerate()
        .map(|(index, lamination)| {
            let worst = of(Part::Lamination(index));
            json!({
                "name": lamination.name,
                "wood": lamination.wood.name,
                "butt_mm": butt_mm(lamination),
                "tip_mm": tip_mm(lamination),
                "taper": rate(lamination),
                "greatest_strain": worst.map(|worst| worst.strain),
                "share_of_breaking_strain": worst.and_then(|worst| worst.share_of_breaking),
                "verdict": worst.and_then(|worst| worst.verdict()).map(Verdict::word),
            })
        })
        .collect();
    json!({
        "bow": side.label,
        "nock_to_nock_mm": nock_to_nock_mm(&side.build),
        "draw_length_mm": full.draw_length_mm,
        "draw_weight_n": full.force_n,
        "draw_weight_spread_n": side.limbs.spread_n(),
        "string_mm": curve.string_mm,
        "stored_j": curve.energy.work_n_mm / 1000.0,
        "string_at_nock_rad": full.nock_angle_rad,
        "limb_kg": side.limb_kg,
        "laminations": laminations,
    })
}
