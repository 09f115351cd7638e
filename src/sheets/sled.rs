//! Sheets of a sled's parts as they lie in the cutter's bed, to cut from.
//!
//! Everything stands at true size, and the lines to cut are those that the cutter's centre follows: half the cut's width
//! outside a part, half inside a hole. Where that differs from the part by more than a pencil line, the part's true edge is
//! drawn too, as an edge, which files for cutters leave out.

use super::cautions;
use super::layout::fitted;
use crate::diag::{Diagnostic, Message};
use crate::drawing::annotate::{heading, notes, table};
use crate::drawing::font::{HEAD_MM, TEXT_MM};
use crate::drawing::{Drawing, Kind, Label};
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::model::Build;
use crate::model::workshop::{SheetCutter, SledPlan};
use crate::shop::kit::{BedLoad, Kit};
use crate::shop::parts::{Part, compensated};
use std::f64::consts::FRAC_PI_2;

/// A cut narrower than this lies on the part's edge as far as the eye can tell: drawing both would only thicken the line, mm.
const SEEN_APART_MM: f64 = 0.4;

/// Width of the notes beside the bed: narrower, and they run into a column of single words; wider, and they cost a page, mm.
const NOTES_MM: f64 = 90.0;

/// One sheet for each load: `sled-core`, or `sled-core-1`, `sled-core-2` and so on.
///
/// A part that the cutter cannot cut is a fault.
pub fn loads(build: &Build, plan: &SledPlan, kit: &Kit) -> Result<Vec<Drawing>, Vec<Diagnostic>> {
    let Kit { sled, loads, .. } = kit;
    let (mut sheets, mut faults) = (Vec::new(), Vec::new());
    for (i, load) in loads.iter().enumerate() {
        let several = 1 < loads.len();
        let name = if several { format!("sled-{}-{}", sled.lamination, i + 1) } else { format!("sled-{}", sled.lamination) };
        let which = if several { format!(", load {} of {}", i + 1, loads.len()) } else { String::new() };
        let mut drawing = Drawing::new(name, format!("{}: sled for {}, parts{which}", build.title, sled.lamination));
        let frame = Bounds { min: Point::new(0.0, 0.0), max: Point::new(load.width_mm, load.height_mm) };
        drawing.path(Kind::Note, Path::rectangle(frame));
        for placed in &load.placed {
            let part = &kit.parts[placed.part];
            match compensated(part, build.shop.cutter.half_kerf_mm()) {
                Ok(cut) => {
                    for hole in &cut.holes {
                        drawing.part_path(Kind::CutInside, &part.name, hole.placed(&placed.placement));
                    }
                    drawing.part_path(Kind::Cut, &part.name, cut.edge.placed(&placed.placement));
                }
                Err(fault) => faults.push(fault),
            }
            marks(&mut drawing, part, placed.copy, &placed.placement, build.shop.cutter.half_kerf_mm());
        }
        let beside = Point::new(load.width_mm + 12.0, load.height_mm);
        parts_table(&mut drawing, beside, build, kit, load);
        let unit = |mm: f64| build.units.rule(mm);
        let text = format!(
            "{} thick, {} × {} in reach of the cutter; x to the right, y up, from the lower left corner",
            build.units.thickness(load.thickness_mm),
            unit(load.width_mm),
            unit(load.height_mm)
        );
        drawing.label(Kind::Note, Label::new(text, Point::new(0.0, load.height_mm + 2.5), TEXT_MM));
        drawing.notes = load_notes(build, plan);
        sheets.push(drawing);
    }
    faults.dedup();
    if faults.is_empty() { Ok(sheets) } else { Err(faults) }
}

/// The sheet `sled-core` of a board or carrier seen from above, which is mostly longer than any cutter's bed: true edge, lines
/// where supports and the strip's ends lie. `None` for a sled whose parts a cutter follows.
pub fn from_above(build: &Build, plan: &SledPlan, kit: &Kit) -> Option<Drawing> {
    let part = kit.parts.first().filter(|_| !kit.is_cut())?;
    let sled = &kit.sled;
    let mut drawing = Drawing::new(
        format!("sled-{}", sled.lamination),
        format!("{}: sled for {}, {}", build.title, sled.lamination, part.name),
    );
    drawing.part_path(Kind::Cut, &part.name, part.edge.clone());
    marks(&mut drawing, part, 1, &Placement::IDENTITY, 0.0);
    let size = part.edge.bounds();
    let text = format!(
        "{}, seen from above: {} × {}, {} thick",
        part.name,
        build.units.rule(size.width()),
        build.units.rule(size.height()),
        build.units.thickness(part.thickness_mm)
    );
    heading(&mut drawing, Point::new(size.min.x, size.max.y + 4.0), &text);
    drawing.notes = vec![
        format!("True size, the true edge, with no allowance for a cut. It {}.", part.purpose.spoken(build.units)),
        format!(
            "Sheet or board: {}, straight and of even thickness within {}.",
            plan.sheet.material,
            build.units.fine(plan.tolerance_mm)
        ),
        format!("{} {}", cautions::cutting(&build.shop.cutter), cautions::RULES_FIRST),
    ];
    Some(drawing)
}

/// True edge, lines to score and names of one copy.
fn marks(drawing: &mut Drawing, part: &Part, copy: u32, placement: &Placement, half_kerf_mm: f64) {
    if SEEN_APART_MM < half_kerf_mm {
        for path in part.holes.iter().chain([&part.edge]) {
            drawing.part_path(Kind::Edge, &part.name, path.placed(placement));
        }
    }
    for mark in &part.marks {
        drawing.part_path(Kind::Score, &part.name, mark.placed(placement));
    }
    let mut own = Drawing::default();
    for label in &part.labels {
        own.label(Kind::Engrave, label.clone());
    }
    if part.labels.is_empty() {
        let text = if 1 < part.count { format!("{}  {copy}/{}", part.name, part.count) } else { part.name.clone() };
        own.items.extend(name_on(part, &text).map(|label| {
            let mut named = Drawing::default();
            named.label(Kind::Engrave, label);
            named.items.remove(0)
        }));
    }
    drawing.include(&own, placement);
}

/// The name in the middle of the part's bounds, along its longer side.
fn name_on(part: &Part, text: &str) -> Option<Label> {
    let bounds = part.edge.bounds();
    let centre = Point::new(0.5 * (bounds.min.x + bounds.max.x), 0.5 * (bounds.min.y + bounds.max.y));
    if bounds.height() <= bounds.width() {
        fitted(text, centre, 0.8 * bounds.width(), 0.5 * bounds.height(), HEAD_MM)
    } else {
        let flat = fitted(text, Point::new(0.0, 0.0), 0.8 * bounds.height(), 0.5 * bounds.width(), HEAD_MM)?;
        let at = Point::new(centre.x + 0.5 * flat.cap_mm, centre.y);
        Some(Label { at, ..flat }.turned(FRAC_PI_2))
    }
}

fn parts_table(drawing: &mut Drawing, top_left: Point, build: &Build, kit: &Kit, load: &BedLoad) {
    heading(drawing, Point::new(top_left.x, top_left.y - HEAD_MM), "Parts in this load");
    let mut counts = vec![0_u32; kit.parts.len()];
    for placed in &load.placed {
        counts[placed.part] += 1;
    }
    let here: Vec<(&Part, u32)> = kit.parts.iter().zip(counts).filter(|(_, count)| 0 < *count).collect();
    let rows: Vec<Vec<String>> = here
        .iter()
        .map(|(part, count)| {
            let size = part.edge.bounds();
            let (width, height) = (build.units.decimal_number(size.width()), build.units.decimal_number(size.height()));
            vec![part.name.clone(), format!("{count} of {}", part.count), format!("{width} × {height}")]
        })
        .collect();
    let size = format!("size, {}", build.units.length_unit());
    let under = Point::new(top_left.x, top_left.y - 2.0 * HEAD_MM);
    let taken = table(drawing, under, &["part", "here", &size], &rows, TEXT_MM);
    // Parts that serve the same purpose share one note; in a column of the table it would make the sheet twice as wide.
    let mut purposes: Vec<(&Message, Vec<&str>)> = Vec::new();
    for (part, _) in &here {
        match purposes.iter_mut().find(|(purpose, _)| **purpose == part.purpose) {
            Some((_, names)) => names.push(&part.name),
            None => purposes.push((&part.purpose, vec![&part.name])),
        }
    }
    let texts: Vec<String> =
        purposes.iter().map(|(purpose, names)| format!("{}: {}.", names.join(", "), purpose.spoken(build.units))).collect();
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    let width = taken.width().max(NOTES_MM);
    notes(drawing, Point::new(top_left.x, taken.min.y - 4.0), width, TEXT_MM, &texts);
}

fn load_notes(build: &Build, plan: &SledPlan) -> Vec<String> {
    let units = build.units;
    let cut = match build.shop.cutter {
        SheetCutter::Laser { kerf_mm, .. } => format!(
            "Cut lines are moved by half the kerf of {} to the waste side: set no kerf or offset in the cutter's program.",
            units.fine(kerf_mm)
        ),
        SheetCutter::Router { bit_mm, .. } => format!(
            "Cut lines are the path of the middle of a {} bit: set no offset in the cutter's program. Inside corners are relieved for it. \
             Letters in the DXF file are single strokes for an engraving bit or a pen: leave layer {} out if you have neither.",
            units.fine(bit_mm),
            build.shop.lines.style(Kind::Engrave).layer
        ),
        SheetCutter::Hand { .. } => "Lines are the parts' true edges: saw outside them, cut slots to fit the sheet.".to_owned(),
    };
    vec![
        format!(
            "Sheet: {}, {} ± {} as measured; slots are {} wide. Measure again before cutting: slots follow the sheet, not its nominal size.",
            plan.sheet.material,
            units.thickness(plan.sheet.thickness_mm),
            units.thickness(plan.sheet.spread_mm),
            units.fine(plan.sheet.thickness_mm + plan.fit_mm)
        ),
        cut,
        format!(
            "The cutter holds ±{}; measure the sled's surface when it is together, and shim it.",
            units.fine(build.shop.cutter.holds_mm())
        ),
        format!("{} {}", cautions::cutting(&build.shop.cutter), cautions::RULES_FIRST),
    ]
}
