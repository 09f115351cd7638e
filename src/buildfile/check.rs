//! From the tables as written to a [`Build`]: each table by itself first, then whether they agree.

use super::raw::{RawTable, Value};
use super::reader::{FileSection, Notes};
use super::strips::{self, LaminationContext, MAX_LAMINATIONS};
use super::{agreement, bow, glueing, grip, limb_shape, machine, materials, overlay, series, sizing, splice, workroom};
use crate::diag::Place;
use crate::model::Build;
use crate::model::build::{Assumed, stacked_mm};
use crate::model::lamination::Lamination;
use crate::units::System;

/// The build, unless something is missing; faults, warnings and defaults are in `notes`.
pub fn build(root: &RawTable, notes: &Notes) -> Option<Build> {
    let root = FileSection::new(notes, Place::whole_file(), "", Some(root));
    units(&root);
    let title = bow::title(&root);
    let moisture = materials::moisture(&root);
    let shelf = materials::Shelf::read(&root, moisture.unwrap_or(0.12));
    let target_table = root.section("target");
    let target = bow::target(&target_table);
    let outline_table = root.section("outline");
    let bow::OutlineRead { outline, end_mm } = bow::outline(&outline_table);

    let sections = lamination_sections(&root);
    let names = bow::lamination_names(&sections);
    let own_sleds: Vec<machine::Own<'_>> = sections.iter().map(machine::own_sled).collect();
    let listed: Vec<Option<Lamination>> = sections
        .iter()
        .zip(&names)
        .enumerate()
        .map(|(index, (section, name))| {
            let around = LaminationContext {
                shelf: &shelf,
                outline: outline.as_ref(),
                end_mm,
                has_outline: outline_table.present(),
                has_target: target_table.present(),
                index,
            };
            strips::lamination(section, name.as_ref(), &around)
        })
        .collect();
    // Where laminations are at fault, names are as good as unknown: nothing is said about those that refer to them.
    let known = if sections.is_empty() { vec![None] } else { names };
    let riser_table = root.section("riser");
    let riser = bow::riser(&riser_table, &shelf, outline.as_ref(), &known);
    let outline = limb_shape::limb_shape(&outline_table, outline, riser.as_ref());
    let target = grip::pivot(&riser_table, target, riser.as_ref());
    let overlays = overlay::overlays(&root, &shelf);
    let sizing_table = root.section("sizing");
    let sizing = sizing::sizing(&sizing_table, &known, &listed);
    let series_table = root.section("series");
    let series = series::series(&series_table);
    if series_table.present() && !sizing_table.present() {
        series_table.fault(
            "",
            "bows of other weights are made by changing a lamination, and `[sizing]` does not say which",
            "add [sizing] with change = [\"...\"], the laminations that may become thicker or thinner",
        );
    }
    let calibration = bow::calibration(&root);
    let learnt = super::learnt::learnt(&root.section("learnt"));
    let complete = listed.iter().all(Option::is_some) && !listed.is_empty();
    let used: Vec<u32> = if complete { listed.iter().flatten().map(|lamination| lamination.stage).collect() } else { Vec::new() };
    let glue = glueing::glue(&root.section("glue"), &used);
    let shot = super::shooting::shot(&root.section("string"), &root.section("shot"), &target_table);
    let sander_table = root.section("sander");
    let sander = machine::sander(&sander_table);
    let sled_table = root.section("sled");
    let sled = machine::sled(&sled_table);
    let shop = workroom::shop(&root.section("shop"));
    root.finish();

    // Through what the groove is filed, as far as it is known.
    let groove_mm = outline.as_ref().map(|outline| {
        let (nock_mm, line_mm) = (outline.nock_mm(), glue.as_ref().map_or(0.0, |glue| glue.line_mm));
        let strips = listed.iter().flatten().map(|lamination| lamination.thickness_at(nock_mm));
        let on_top = overlays.iter().flatten().map(|overlay| overlay.depth_mm(outline.end_mm(), nock_mm, line_mm));
        outline.groove_mm(stacked_mm(strips, line_mm) + on_top.sum::<f64>())[0]
    });
    for (section, lamination) in sections.iter().zip(&listed) {
        lamination.iter().for_each(|lamination| splice::judge(section, lamination, groove_mm));
    }

    let sound = |present: bool, read: bool| !present || read;
    let all = complete
        && sound(outline_table.present(), outline.is_some())
        && sound(target_table.present(), target.is_some())
        && sound(riser_table.present(), riser.is_some())
        && sound(sizing_table.present(), sizing.is_some())
        && overlays.is_some()
        && series.is_some()
        && learnt.is_some()
        && sound(sander_table.present(), sander.is_some())
        && sound(sled_table.present(), sled.is_some());
    let with_sled = |(lamination, own): (Option<Lamination>, &machine::Own<'_>)| {
        let lamination = lamination?;
        Some(Lamination { sled: own.plan(sled.as_ref(), &lamination), ..lamination })
    };
    let laminations: Vec<Lamination> = listed.into_iter().zip(&own_sleds).filter_map(with_sled).collect();
    let assumed = grouped(notes, &laminations);
    let build = Build {
        title: title?,
        units: notes.system,
        limb: None,
        target,
        outline,
        riser,
        laminations,
        overlays: overlays.unwrap_or_default(),
        moisture: moisture?,
        sizing,
        series: series.unwrap_or_default(),
        calibration,
        learnt: learnt.flatten(),
        glue: glue?,
        shot: shot?,
        sander,
        sled: sled.map(|shared| shared.plan),
        shop: shop?,
        assumed,
    };
    if !all {
        return None;
    }
    // Limits mean nothing where bare numbers have no unit, and a tree with gaps has no whole to judge.
    if notes.units_known.get() && notes.whole {
        agreement::judge(notes, &build);
    }
    Some(build)
}

/// The system that the file's bare numbers are in, if it says so.
pub fn system(root: &RawTable) -> Option<System> {
    match root.entry("units").map(|entry| &entry.node.value) {
        Some(Value::Text(text)) if text == "mm" => Some(System::Millimetre),
        Some(Value::Text(text)) if text == "in" => Some(System::Inch),
        _ => None,
    }
}

fn units(root: &FileSection<'_>) {
    let hint = "write units = \"in\" or units = \"mm\" at the top: bare numbers are read in it";
    if let Some(written) = root.need("units", hint) {
        written.word(&[("in", ()), ("mm", ())]);
    }
}

fn lamination_sections<'a>(root: &FileSection<'a>) -> Vec<FileSection<'a>> {
    let Some(written) =
        root.need("lamination", "add [[lamination]] with name, wood and thickness, one for each from back to belly")
    else {
        return Vec::new();
    };
    if let Value::List(nodes) = &written.node.value
        && MAX_LAMINATIONS < nodes.len()
    {
        let message = format!("there are {} laminations; at most {MAX_LAMINATIONS} are read", nodes.len());
        written.fault(message, "a bow has two to ten; put batches for several bows into files of their own");
        return Vec::new();
    }
    root.sections("lamination").unwrap_or_default()
}

/// The defaults, each once, in the order of the file's tables: what laminations (or other listed tables) share is one entry.
fn grouped(notes: &Notes, laminations: &[Lamination]) -> Vec<Assumed> {
    let mut groups: Vec<(Assumed, Vec<usize>)> = Vec::new();
    for (place, assumed) in notes.assumed.borrow().iter() {
        let index = lamination_index(place);
        match groups.iter_mut().find(|(known, _)| known == assumed) {
            Some((_, indices)) => indices.extend(index),
            None => groups.push((assumed.clone(), index.into_iter().collect())),
        }
    }
    let named = |(mut assumed, indices): (Assumed, Vec<usize>)| {
        if !indices.is_empty() && indices.len() < laminations.len() {
            let names: Vec<&str> = indices.iter().filter_map(|i| laminations.get(*i)).map(|l| l.name.as_str()).collect();
            assumed.key = format!("{} of {}", assumed.key, names.join(", "));
        }
        assumed
    };
    groups.into_iter().map(named).collect()
}

fn lamination_index(place: &Place) -> Option<usize> {
    place.as_str().strip_prefix("lamination[")?.split_once(']')?.0.parse().ok()
}
