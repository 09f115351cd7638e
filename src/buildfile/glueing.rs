//! `[glue]` and `[[glue.stage]]`.

use super::bow::LONGEST_HALF_MM;
use super::raw::Value;
use super::reader::{FileSection, Preset, Range, Written, if_given};
use super::wording::shortened;
use crate::diag::{at_least, mm};
use crate::model::workshop::{Glue, GlueStage, Held, MIN_HOSE_MM, Press};
use crate::units::{Quantity, System, limit};

/// The glue, with a stage for each number that laminations name; `used` are those numbers.
pub fn glue(section: &FileSection<'_>, used: &[u32]) -> Option<Glue> {
    let line = section.length_or("line", Range::between(0.0, 1.0), LINE);
    let line = line.filter(|line| {
        let told = *line <= 0.0 || !limit::below(*line, MIN_LINE_MM);
        if !told {
            let message = message!("a glue line of {} is less than any caliper tells", mm(*line));
            section.fault("line", message, message!("give 0 for a stack without glue, or {} and more", at_least(MIN_LINE_MM)));
        }
        told
    });
    let modulus = section.quantity_or("modulus", Quantity::Modulus, Range::between(1.0, 20_000.0), MODULUS);
    let spread = section.quantity_or("spread", Quantity::Spread, Range::positive(3.0), SPREAD);
    let retained = section.quantity_or(
        "retained",
        Quantity::Ratio,
        RETAINED,
        Preset::same(1.0, "no creep; a shop log of your own glue-ups gives a better figure"),
    );
    let stages = if section.has("stage") { stages(section, used) } else { default_stages(section, used) };
    section.finish();
    Some(Glue { line_mm: line?, modulus_mpa: modulus?, spread_kg_m2: spread?, stages: stages?, retained: retained? })
}

const RETAINED: Range = Range::between(0.1, 1.0);
/// The step of a digital caliper; far thinner lines than this are no glue lines, and the strain in them is no number.
const MIN_LINE_MM: f64 = 0.01;

const LINE: Preset =
    Preset::new(0.003, 0.08, "glue lines of {} to {} are usual; common practice, no source").naming(&[0.0254, 0.1016]);
const MODULUS: Preset = Preset::new(0.4, 2.8, "an unfilled epoxy, from memory; the data sheet governs");
const SPREAD: Preset = Preset::same(0.35, "spread on both faces; common practice, no source; the data sheet governs");

/// Rise of a form or of tips; more is not a bow.
const RISE: Range = Range::between(-400.0, 400.0);

fn default_stages(section: &FileSection<'_>, used: &[u32]) -> Option<Vec<GlueStage>> {
    section.get("stage");
    let mut numbers: Vec<u32> = used.to_vec();
    numbers.sort_unstable();
    numbers.dedup();
    if numbers.is_empty() {
        numbers.push(1);
    }
    let last = numbers.last().copied().unwrap_or(1);
    if let Some(missing) = (1..=last).find(|number| !numbers.contains(number)).filter(|_| section.notes.whole) {
        let message = format!("laminations name stages up to {last}, but none is glued in stage {missing}");
        section.fault("", message, "number the stages 1, 2, .. without gaps");
        return None;
    }
    section.assume("held", "flat", "the build file names no form and no props");
    Some(
        (1..=last)
            .map(|number| GlueStage {
                number,
                held: Held::Flat,
                clamp_time_s: None,
                want_tip_mm: None,
                retained: None,
                press: None,
            })
            .collect(),
    )
}

fn stages(section: &FileSection<'_>, used: &[u32]) -> Option<Vec<GlueStage>> {
    let sections = section.sections("stage")?;
    let count = sections.len();
    let mut stages: Vec<GlueStage> = Vec::new();
    for (index, table) in sections.iter().enumerate() {
        let number = match table.get("number") {
            Some(written) => written.count(1, 9),
            None => Some(index as u32 + 1),
        };
        let read = stage(table, number);
        table.finish();
        let Some(stage) = read else { continue };
        if stages.iter().any(|other| other.number == stage.number) {
            table.fault("number", format!("stage {} is given twice", stage.number), "number the stages 1, 2, .. without gaps");
        } else if section.notes.whole && !used.is_empty() && !used.contains(&stage.number) {
            let message = format!("no lamination is glued in stage {}", stage.number);
            table.fault("number", message, format!("put stage = {} into a [[lamination]]", stage.number));
        }
        stages.push(stage);
    }
    if stages.len() < count {
        return None;
    }
    let mut missing: Vec<u32> = used.iter().copied().filter(|number| stages.iter().all(|s| s.number != *number)).collect();
    missing.sort_unstable();
    missing.dedup();
    for number in missing {
        section.fault(
            "stage",
            format!("a lamination is glued in stage {number}, but no [[glue.stage]] has that number"),
            "add it",
        );
    }
    stages.sort_by_key(|stage| stage.number);
    if let Some(gap) = (1..=stages.len() as u32).zip(&stages).find(|(number, stage)| *number != stage.number) {
        section.fault(
            "stage",
            format!("stage {} is missing between the others", gap.0),
            "number the stages 1, 2, .. without gaps",
        );
    }
    Some(stages)
}

fn stage(table: &FileSection<'_>, number: Option<u32>) -> Option<GlueStage> {
    let held = match table.get("held") {
        Some(written) => held(&written),
        None => {
            table.assume("held", "flat", "the stage names no form and no props");
            Some(Held::Flat)
        }
    };
    // A week: longer than any data sheet asks for.
    let clamp_time = table.get("clamp_time").map(|written| written.quantity(Quantity::Time, Range::positive(7.0 * 86_400.0)));
    let want = match table.get("want") {
        None => Some(None),
        Some(written) => written.section().and_then(|want| {
            let tip = want.need_length("tip", RISE, "add the rise of the tip after release, - for reflex: want = { tip = -1.5 }");
            want.finish();
            tip.map(Some)
        }),
    };
    let retained = table.get("retained").map(|written| written.quantity(Quantity::Ratio, RETAINED));
    let press = match table.get("press") {
        None => Some(None),
        Some(written) => press(&written).map(Some),
    };
    if matches!(&held, Some(held) if !matches!(held, Held::Form { .. })) && table.has("press") {
        let message = "`press` is the upper half of a form, but this stage is held on none";
        table.fault("press", message, "leave it out, or write the form: held = { form = [[station, rise], ..] }");
    }
    Some(GlueStage {
        number: number?,
        held: held?,
        clamp_time_s: if_given(clamp_time)?,
        want_tip_mm: want?,
        retained: if_given(retained)?,
        press: press?,
    })
}

/// The upper half of a form.
fn press(written: &Written<'_>) -> Option<Press> {
    let table = written.section()?;
    let hint = "add the height of the hose as it lies flattened between both halves: press = { hose = 1.0, strip = 0.06 }";
    let hose = table.need_length("hose", Range::between(MIN_HOSE_MM, 80.0), hint);
    let strip = table.length_or("strip", Range::between(0.0, 20.0), Preset::same(0.0, "nothing but film between stack and hose"));
    table.finish();
    Some(Press { hose_mm: hose?, strip_mm: strip? })
}

/// What a word stands for that is no way to hold a stage without numbers: what they are, and an example in inches and in millimetres.
fn by_its_shape(word: &str) -> Option<(&'static str, [&'static str; 2])> {
    match word {
        "form" => Some((
            "a form is the rise of its surface at stations from the bow's centre, - for reflex",
            ["{ form = [[0, 0], [20, -0.5], [35, -2]] }", "{ form = [[0, 0], [500, -13], [890, -50]] }"],
        )),
        "prop" | "props" => Some((
            "props are how high the tips lie on them, - for reflex, and their station from the bow's centre",
            ["{ props = -1.5, at = 32.25 }", "{ props = -38, at = 820 }"],
        )),
        _ => None,
    }
}

fn held(written: &Written<'_>) -> Option<Held> {
    let hint = "write \"flat\", { props = .., at = .. } or { form = [[station, rise], ..] }";
    if let Value::Text(text) = &written.node.value
        && let Some((says, examples)) = by_its_shape(&text.trim().to_lowercase())
    {
        let example = examples[usize::from(written.notes.system == System::Millimetre)];
        written.fault(format!("\"{}\" alone does not say its shape: {says}", shortened(text)), format!("write held = {example}"));
        return None;
    }
    if !written.is_table() {
        return written.word(&[("flat", ())]).map(|()| Held::Flat);
    }
    let table = written.section()?;
    if table.has("form") {
        let form = table.get("form").and_then(|form| form.stations("rise", Range::between(0.0, LONGEST_HALF_MM), RISE));
        table.finish();
        let rise = form?;
        if rise.len() < 2 {
            table.fault("form", "one point makes no form", "give at least two stations with their rise");
            return None;
        }
        return Some(Held::Form { rise });
    }
    let rise = table.need_length("props", RISE, hint);
    let at = table.need_length("at", Range::positive(LONGEST_HALF_MM), "add the station of the props, from the bow's centre");
    table.get("form");
    table.finish();
    Some(Held::Props { rise_mm: rise?, at_mm: at? })
}
