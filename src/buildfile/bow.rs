//! `[target]`, `[outline]` and `[riser]`: the bow itself.

use super::laminations::{OwnWoods, find_wood};
use super::raw::Value;
use super::reader::{LONGEST_MM, Notes, Range, Section, number, shown};
use crate::model::build::Target;
use crate::model::lamination::Lamination;
use crate::model::outline::{Nock, Outline};
use crate::model::riser::{Fade, Riser, Slice};
use crate::numeric::interp::{Between, Curve};
use crate::units::{Quantity, System};

/// The trade's standard counts draw length to a point 1¾ in beyond the pivot (AMO Standards, FP-3, 2000).
const STANDARD_ADDS_IN: f64 = 1.75;

const LENGTH: Range = Range::above_zero(Quantity::Length, LONGEST_MM);
const WIDTH: Range = Range::above_zero(Quantity::Length, 500.0);

pub fn target(root: &mut Section<'_>, notes: &mut Notes) -> Option<Target> {
    let mut section = root.section("target", notes)?;
    let weight =
        section.needed("draw_weight", Range::between(Quantity::Force, 5.0, 1500.0), "what the finished bow shall draw", notes);
    let length = section.needed("draw_length", Range::between(Quantity::Length, 150.0, 1200.0), "how far it is drawn", notes);
    let from = section.word("draw_length_from", &[("standard", true), ("pivot", false)], notes);
    if !section.has("draw_length_from") {
        notes.assume("target.draw_length_from", "standard", "draw length is usually stated as pivot point + 1 3/4 in");
    }
    let brace = section.number_or(
        "brace_height",
        Range::between(Quantity::Length, 50.0, 350.0),
        if notes.units == System::Inch { System::Inch.to_mm(6.5) } else { 165.0 },
        "usual for a straight longbow or flatbow: 6 to 7 in",
        notes,
    );
    let finishing = section.number_or(
        "finishing",
        Range::from_zero(Quantity::Force, 200.0),
        if notes.units == System::Inch { crate::units::N_PER_LBF * 3.0 } else { 14.0 },
        "sanding, finish and set take 2 to 4 lbf",
        notes,
    );
    section.finish(notes);
    let (draw_weight_n, draw_length_mm) = (weight?, length?);
    let pivot_to_nock_mm =
        if from.unwrap_or(true) { draw_length_mm - System::Inch.to_mm(STANDARD_ADDS_IN) } else { draw_length_mm };
    if pivot_to_nock_mm <= brace {
        let message = format!(
            "the brace height is {} and full draw only {} from the pivot point",
            notes.units.measure(brace),
            notes.units.measure(pivot_to_nock_mm)
        );
        notes.fault(
            section_place("target.brace_height"),
            message,
            "draw length to the trade's standard counts 1 3/4 in beyond the pivot; draw_length_from = \"pivot\" does not",
        );
        return None;
    }
    Some(Target { draw_weight_n, draw_length_mm, pivot_to_nock_mm, brace_height_mm: brace, finishing_n: finishing })
}

fn section_place(path: &str) -> crate::diag::Place {
    crate::diag::Place::new(path)
}

pub fn outline(root: &mut Section<'_>, notes: &mut Notes) -> Option<Outline> {
    let mut section = root.section("outline", notes)?;
    let inch = notes.units == System::Inch;
    let usual = |inches: f64, mm: f64| if inch { System::Inch.to_mm(inches) } else { mm };
    let length = section.needed(
        "nock_to_nock",
        Range::between(Quantity::Length, 300.0, 2600.0),
        "length along the back between the nocks, unstrung",
        notes,
    );
    let width = section.points("width", Range::from_zero(Quantity::Length, LONGEST_MM), WIDTH, 2, notes);
    if !section.has("width") {
        section.missing("width", "full width at stations, such as [[0, 1.125], [9, 1.6], [33, 0.5]]", notes);
    }
    let between = section.word("between", &[("straight", Between::Straight), ("smooth", Between::Smooth)], notes);
    if !section.has("between") {
        notes.assume("outline.between", "straight", "straight lines between the stations can be drawn with a rule");
    }
    let beyond = section.number_or(
        "tip_beyond_nock",
        Range::from_zero(Quantity::Length, 150.0),
        usual(0.75, 18.0),
        "room for the tip overlay: 1/2 to 3/4 in",
        notes,
    );
    let nock = nock(&mut section, usual(0.125, 3.0), notes);
    section.finish(notes);
    let (nock_to_nock_mm, points) = (length?, width?);
    let width = Curve::through(points.clone(), between.unwrap_or(Between::Straight)).ok()?;
    let outline = Outline { nock_to_nock_mm, width, tip_beyond_nock_mm: beyond, nock };
    let units = notes.units;
    let mut sound = true;
    if 1e-6 < points[0].0 {
        notes.fault(
            section_place("outline.width[0]"),
            format!("the first station is {}, not the bow's centre", units.measure(points[0].0)),
            "begin with station 0",
        );
        sound = false;
    }
    let last = points[points.len() - 1].0;
    if outline.end_mm() + 1e-6 < last {
        let message =
            format!("station {} lies beyond the end of the wood at {}", units.measure(last), units.measure(outline.end_mm()));
        notes.fault(
            section_place("outline.width").index(points.len() - 1),
            message,
            "stations are counted from the bow's centre: half of `nock_to_nock` is the nock",
        );
        sound = false;
    } else if last < 0.8 * outline.nock_mm() {
        let message =
            format!("the last width is at {} and the nock at {}", units.measure(last), units.measure(outline.nock_mm()));
        notes.fault(section_place("outline.width").index(points.len() - 1), message, "give the width at the nock as well");
        sound = false;
    }
    let tip = outline.width_at(outline.end_mm());
    if sound && tip <= 0.0 {
        let message = format!(
            "the outline runs out to nothing before the tip: {} at {}",
            units.measure(tip),
            units.measure(outline.end_mm())
        );
        notes.fault(section_place("outline.width"), message, "add a station at the tip, or make `tip_beyond_nock` shorter");
        sound = false;
    }
    let at_nock = outline.width_at(outline.nock_mm());
    if sound && 0.5 * at_nock <= nock.depth_mm {
        let message =
            format!("two nocks {} deep leave nothing of a tip {} wide", units.measure(nock.depth_mm), units.measure(at_nock));
        notes.fault(section_place("outline.nock.depth"), message, "cut shallower nocks or leave the tip wider");
        sound = false;
    }
    sound.then_some(outline)
}

fn nock(section: &mut Section<'_>, usual_depth: f64, notes: &mut Notes) -> Nock {
    let angle = 40.0 * Quantity::Angle.bare_factor(notes.units);
    if let Some(mut nock) = section.section("nock", notes) {
        let depth_mm = nock.number_or(
            "depth",
            Range::above_zero(Quantity::Length, 25.0),
            usual_depth,
            "string grooves are about 1/8 in",
            notes,
        );
        let angle_rad = nock.number_or(
            "angle",
            Range::between(Quantity::Angle, 0.0, 1.4),
            angle,
            "grooves are filed at 40 to 45 degrees",
            notes,
        );
        nock.finish(notes);
        return Nock { depth_mm, angle_rad };
    }
    if !section.has("nock") {
        notes.assume(
            "outline.nock",
            format!("{{ depth = {}, angle = 40 deg }}", notes.units.measure(usual_depth)),
            "string grooves are about 1/8 in, filed at 40 to 45 degrees",
        );
    }
    Nock { depth_mm: usual_depth, angle_rad: angle }
}

pub fn riser(
    root: &mut Section<'_>,
    laminations: &[Lamination],
    own: &OwnWoods,
    moisture: f64,
    notes: &mut Notes,
) -> Option<Riser> {
    let mut section = root.section("riser", notes)?;
    let inch = notes.units == System::Inch;
    let usual = |inches: f64, mm: f64| if inch { System::Inch.to_mm(inches) } else { mm };
    let position = match section.text("on", notes) {
        Some(name) if name == "last" => Some(laminations.len()),
        Some(name) => {
            let found = laminations.iter().position(|lamination| lamination.name == name);
            // If laminations are at fault themselves, the name may well be one of those.
            if found.is_none() && notes.faults.is_empty() {
                let names: Vec<&str> = laminations.iter().map(|lamination| lamination.name.as_str()).collect();
                notes.fault(
                    section.at("on"),
                    format!("there is no lamination \"{}\" to lie on the riser", shown(&name)),
                    &format!("write one of: {}, last", names.join(", ")),
                );
            }
            found
        }
        None => {
            if !section.has("on") {
                notes.assume("riser.on", "last", "the block lies under all laminations, on the belly side");
            }
            Some(laminations.len())
        }
    };
    let length = section.needed("length", LENGTH, "feather to feather", notes);
    let level = section.needed("level", LENGTH, "length of the full-depth part in the middle", notes);
    let depth = section.needed("depth", Range::above_zero(Quantity::Length, 150.0), "depth of the block at the grip", notes);
    let fades = [("arc", Fade::Arc), ("arc-and-flat", Fade::ArcAndFlat), ("eased", Fade::Eased)];
    let fade = section.word("fade", &fades, notes);
    if !section.has("fade") {
        notes.assume("riser.fade", "arc", "an arc can be laid out with one radius");
    }
    let feather = section.number_or(
        "feather",
        Range::above_zero(Quantity::Length, 5.0),
        usual(0.012, 0.3),
        "light shows through a feather of 0.005 to 0.015 in",
        notes,
    );
    let overrun = section.number_or(
        "overrun",
        Range::from_zero(Quantity::Length, 100.0),
        usual(0.5, 12.0),
        "the feather is ground on wood that is trimmed off afterwards",
        notes,
    );
    let across = across(&mut section, own, moisture, notes);
    section.finish(notes);
    let (position, length_mm, level_mm, depth_mm, across) = (position?, length?, level?, depth?, across?);
    let units = notes.units;
    if length_mm <= level_mm {
        let message = format!("the level part is {} and the whole riser {}", units.measure(level_mm), units.measure(length_mm));
        notes.fault(section_place("riser.level"), message, "leave room for a fade at each end");
        return None;
    }
    if depth_mm <= feather {
        notes.fault(
            section_place("riser.feather"),
            format!("the feather is {} and the block {} deep", units.measure(feather), units.measure(depth_mm)),
            "",
        );
        return None;
    }
    let fade_length = 0.5 * (length_mm - level_mm);
    if fade_length < depth_mm - feather {
        let message = format!(
            "each fade falls {} over {}: steeper than a quarter circle",
            units.measure(depth_mm - feather),
            units.measure(fade_length)
        );
        notes.fault(
            section_place("riser.length"),
            message,
            "make the riser longer or the level part shorter; fades are 3 to 6 in long",
        );
        return None;
    }
    Some(Riser {
        position,
        length_mm,
        level_mm,
        depth_mm,
        fade: fade.unwrap_or(Fade::Arc),
        feather_mm: feather,
        overrun_mm: overrun,
        across,
    })
}

fn across(section: &mut Section<'_>, own: &OwnWoods, moisture: f64, notes: &mut Notes) -> Option<Vec<Slice>> {
    let place = section.at("across");
    let shape = "write [[\"walnut, black\", 0.5], [\"maple, sugar\", 0.06], …], from one side to the other";
    let Some(node) = section.node("across") else {
        section.missing("across", "the slices of the block across its width, each with its wood and thickness", notes);
        return None;
    };
    let Value::List(rows) = &node.value else {
        notes.fault(place, format!("`across` is {}, and must be a list of slices", node.value.noun()), shape);
        return None;
    };
    if rows.is_empty() || 60 < rows.len() {
        notes.fault(place, format!("`across` has {} slices", rows.len()), shape);
        return None;
    }
    let mut slices = Vec::with_capacity(rows.len());
    for (index, row) in rows.iter().enumerate() {
        let here = place.index(index);
        match &row.value {
            Value::List(pair) if pair.len() == 2 && matches!(pair[0].value, Value::Text(_)) => {
                let Value::Text(name) = &pair[0].value else { continue };
                let wood = find_wood(name, here.index(0), own, moisture, notes);
                let width = number(&pair[1], &here.index(1), "across", WIDTH, notes);
                slices.extend(wood.zip(width).map(|(wood, width_mm)| Slice { wood, width_mm }));
            }
            _ => notes.fault(here, "this slice is not a wood and its thickness", shape),
        }
    }
    (slices.len() == rows.len()).then_some(slices)
}
