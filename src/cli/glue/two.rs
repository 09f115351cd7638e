//! `taperwright glue --lower`: the glue-up of two different limbs around one riser, stage by stage beside each other.

use super::super::Ended;
use super::super::args::GlueArgs;
use super::super::terminal::Terminal;
use super::super::two_limbs::{ShownLimb, TwoLimbs};
use super::{
    GlueSummary, bent_table, care, compare_text, fade_text, glued, indented, left_table, published, stage_heading, stage_lines,
    strips_text,
};
use crate::diag::SourceText;
use crate::job::{Job, halves_meet, one_pile, one_riser};
use crate::mechanics::glueup::Stage;
use crate::model::Build;
use crate::model::limb::LimbSide;
use crate::model::workshop::Held;
use crate::report::pair::{PairGlueAnswer, PairGlued};
use crate::shop::form;
use crate::units::{System, fixed, limit};
use crate::write::table;
use std::path::Path;

pub fn glued_both(upper: &Job, lower: &Path, args: &GlueArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let two = TwoLimbs::read(upper, lower, terminal)?;
    two.refuse(one_riser(two.upper.build(), two.lower.build()), terminal)?;
    let limbs = two.limbs();
    let told = |k: usize| glued(limbs[k].job).map_err(|found| limbs[k].refused(found.faults, terminal));
    // A file without stages is told so before both are held against each other.
    let [(warnings, of_upper), (lower_warnings, of_lower)] = [told(0)?, told(1)?];
    two.refuse(one_pile(&two.upper, &two.lower), terminal)?;
    limbs[0].show(warnings, terminal);
    limbs[1].show(lower_warnings.into_iter().chain(halves_meet(two.upper.build(), two.lower.build())).collect(), terminal);
    let both = [of_upper, of_lower];
    if args.json {
        return Ok(terminal.answer(&answer(&limbs, &both)));
    }
    Ok(terminal.results(&text(&limbs, &both)))
}

fn answer(limbs: &[ShownLimb<'_>; 2], both: &[GlueSummary<'_>; 2]) -> PairGlueAnswer {
    let [upper, lower] = [0, 1].map(|k| {
        let (job, told) = (limbs[k].job, &both[k]);
        PairGlued {
            build_file: SourceText::name(job.source()).into(),
            glue_up: published::published(job.build(), told.glued, told.fades, told.ways, &told.strips),
        }
    });
    PairGlueAnswer { upper, lower }
}

fn text(limbs: &[ShownLimb<'_>; 2], both: &[GlueSummary<'_>; 2]) -> String {
    let builds = limbs.each_ref().map(|limb| limb.job.build());
    let mut text = format!(
        "{}: two different limbs around one riser\nUpper limb: {}. Lower limb: {}.\n\n",
        builds[0].title,
        SourceText::name(limbs[0].job.source()),
        SourceText::name(limbs[1].job.source())
    );
    for (upper, lower) in both[0].glued.stages.iter().zip(&both[1].glued.stages) {
        text += &stage_text(builds, both, [upper, lower]);
        text.push('\n');
    }
    let each = |what: &dyn Fn(&Build, &GlueSummary<'_>) -> Option<String>| -> String {
        let of = |k: usize| what(builds[k], &both[k]).map(|told| format!("The {} limb\n{}", limbs[k].is.word(), indented(&told)));
        [0, 1].into_iter().filter_map(of).map(|told| format!("{told}\n")).collect()
    };
    text += &each(&|build, told| told.fades.map(|fades| fade_text(build, fades)));
    text += "Both limbs glued in other ways, and what their bow then draws\n\n";
    text += &each(&|build, told| Some(compare_text(build, told.ways)));
    text += &each(&|build, told| Some(strips_text(build, &told.strips)));
    text += &dry_run(builds, both);
    text.push('\n');
    text + &care(both[0].glued)
}

/// One stage: what holds for both limbs once, the rest of each; then both shapes beside each other.
fn stage_text(builds: [&Build; 2], both: &[GlueSummary<'_>; 2], stages: [&Stage; 2]) -> String {
    let [upper, lower] = [0, 1].map(|k| stage_heading(builds[k], stages[k]));
    let mut text = if upper == lower { format!("{upper}\n") } else { format!("{upper}; the lower limb\n{lower}\n") };
    let [upper, lower] = [0, 1].map(|k| by_key(stage_lines(builds[k], both[k].glued, stages[k])));
    // In the order of the upper limb's; what only the lower one has comes behind.
    let keys =
        upper.iter().chain(lower.iter().filter(|(key, _)| upper.iter().all(|(known, _)| known != key))).map(|(key, _)| *key);
    for key in keys {
        let of = |lines: &[(&'static str, Vec<String>)]| {
            lines.iter().find(|(known, _)| *known == key).map(|(_, said)| said.clone()).unwrap_or_default()
        };
        let (of_upper, of_lower) = (of(&upper), of(&lower));
        let rows = of_upper.len().max(of_lower.len());
        for row in 0..rows {
            let head = if row == 0 { key } else { "" };
            match (of_upper.get(row), of_lower.get(row)) {
                (Some(a), Some(b)) if a == b => text += &format!("  {head:<12}{a}\n"),
                (a, b) => {
                    text += &format!("  {head:<12}upper: {}\n", a.map_or("none", String::as_str));
                    text += &format!("  {:<12}lower: {}\n", "", b.map_or("none", String::as_str));
                }
            }
        }
    }
    if stages.iter().any(|stage| matches!(stage.held, Held::Props { .. })) {
        text += &format!("  {:<12}the grip is clamped so that it cannot turn: the two limbs push it unequally\n", "");
    }
    for (k, limb) in ["upper limb", "lower limb"].into_iter().enumerate() {
        text += &format!("  {limb}\n");
        text += &indented(&indented(&bent_table(builds[k], stages[k])));
        text += &indented(&indented(&left_table(builds[k], stages[k])));
    }
    text + &indented(&shapes(builds[0].units, stages))
}

/// Lines of one key together.
fn by_key(lines: Vec<(&'static str, String)>) -> Vec<(&'static str, Vec<String>)> {
    let mut grouped: Vec<(&'static str, Vec<String>)> = Vec::new();
    for (key, said) in lines {
        match grouped.last_mut() {
            Some(last) if key.is_empty() => last.1.push(said),
            _ => grouped.push((key, vec![said])),
        }
    }
    grouped
}

/// Rises of both halves at round stations: as held, and as left; a limb that ends first has its end below its last row.
fn shapes(units: System, stages: [&Stage; 2]) -> String {
    let step = units.either_mm(3.0, 75.0);
    let ends = stages.map(|stage| stage.on_form.last().map_or(0.0, |spot| spot.s_mm));
    let mut stations: Vec<f64> = limit::steps_within(ends[0].max(ends[1]), step).chain(ends).collect();
    limit::places_once(&mut stations);
    // A round station beside an end says nothing new.
    stations.retain(|s| ends.contains(s) || ends.iter().all(|end| 0.2 * step < (end - s).abs()));
    let decimals = if units == System::Inch { 3 } else { 1 };
    let rows: Vec<Vec<String>> = stations
        .iter()
        .map(|s| {
            let of = |stage: &Stage, end: f64| {
                let rise = stage.rise_at(*s);
                [rise.held_mm, rise.left_mm]
                    .map(|mm| if limit::past(*s, end) { String::new() } else { fixed(units.length(mm), decimals) })
            };
            let sides = [0, 1].map(|k| of(stages[k], ends[k]));
            std::iter::once(units.rule_number(*s)).chain(sides.into_iter().flatten()).collect()
        })
        .collect();
    let station = format!("station, {}", units.length_unit());
    table::plain(&[&station, "upper, held", "left", "lower, held", "left"], &rows)
}

/// What is tried without glue: once for both limbs where it is the same.
fn dry_run(builds: [&Build; 2], both: &[GlueSummary<'_>; 2]) -> String {
    let mut text = String::from("Dry run, before any glue is mixed\n");
    for (k, stage) in both[0].glued.stages.iter().enumerate() {
        text += &format!("  Stage {}\n", stage.number);
        let [upper, lower] = [0, 1].map(|limb| {
            let items = form::dry_run(builds[limb], &both[limb].glued.stages[k]);
            items.iter().map(|item| item.spoken(builds[limb].units)).collect::<Vec<_>>()
        });
        for k in 0..upper.len().max(lower.len()) {
            for (own, other, limb) in [(&upper, &lower, LimbSide::Upper), (&lower, &upper, LimbSide::Lower)] {
                match own.get(k) {
                    Some(item) if !other.contains(item) => text += &format!("    [ ] {} limb: {item}\n", limb.word()),
                    Some(item) if limb == LimbSide::Upper => text += &format!("    [ ] {item}\n"),
                    _ => {}
                }
            }
        }
    }
    text
}
