//! Sheets to cut from: the parts of all sleds and forms as they lie in the cutter's bed, one for each load.
//!
//! Everything stands at true size, and the lines to cut are those that the cutter's centre follows: half the cut's width
//! outside a part, half inside a hole. Where that differs from the part by more than a pencil line, the part's true edge is
//! drawn too, as an edge, which files for cutters leave out.
//!
//! On paper such lines are no pattern for anybody, so a load is printed as one page that shows how its parts lie (`overview`); at true
//! size for who saws by hand, or where the build file asks for it.

use super::layout::fitted;
use crate::diag::{Diagnostic, Message};
use crate::drawing::annotate::{heading, notes, table};
use crate::drawing::font::{HEAD_MM, SMALL_MM, TEXT_MM, corners};
use crate::drawing::{Align, Drawing, Item, Kind, Label};
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::model::Build;
use crate::model::workshop::{CutDirection, SheetCutter};
use crate::shop::cautions;
use crate::shop::cutting::{SAW_MM, SheetCut, Yield};
use crate::shop::kit::BedLoad;
use crate::shop::nest::WELL_FILLED;
use crate::shop::parts::{Part, compensated};
use crate::shop::tabs;
use crate::units::{fixed, limit};
use std::f64::consts::FRAC_PI_2;

/// A cut narrower than this lies on the part's edge as far as the eye can tell: drawing both would only thicken the line, mm.
const SEEN_APART_MM: f64 = 0.4;

/// Width of the notes on parts: narrower, and they run into a column of single words; wider, and they cost a page, mm.
const NOTES_MM: f64 = 90.0;

/// A load as it is drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadSheet {
    /// At true size, to cut from.
    pub drawing: Drawing,
    /// For a page.
    pub overview: Drawing,
}

/// One sheet for each load of all cuts: `cut-1`, `cut-2` and so on.
///
/// A part that the cutter cannot cut is a fault.
pub fn loads(build: &Build, cuts: &[SheetCut]) -> Result<Vec<LoadSheet>, Vec<Diagnostic>> {
    let (mut sheets, mut faults) = (Vec::new(), Vec::new());
    let cutter = &build.shop.cutter;
    let total: usize = cuts.iter().map(|cut| cut.loads.len()).sum();
    for cut in cuts {
        let judged = cut.judged(cutter);
        // Each part's lines once, however many copies lie on however many loads.
        let mut lines: Vec<Option<Vec<(Kind, Path)>>> = vec![None; cut.parts.len()];
        for load in &cut.loads {
            let number = sheets.len() + 1;
            let which = if 1 < total { format!(", load {number} of {total}") } else { String::new() };
            let mut drawing = Drawing::new(format!("cut-{number}"), format!("{}: parts to cut{which}", build.title));
            drawing.path(Kind::Note, Path::rectangle(bed(load)));
            for placed in &load.placed {
                let part = &cut.parts[placed.part];
                let lines = lines[placed.part].get_or_insert_with(|| {
                    cut_lines(part, build).unwrap_or_else(|fault| {
                        faults.push(fault);
                        Vec::new()
                    })
                });
                for (kind, path) in lines {
                    drawing.part_path(*kind, &part.name, path.placed(&placed.placement));
                }
                marks(&mut drawing, part, placed.copy, &placed.placement, cutter.half_kerf_mm());
            }
            drawing.panel(|panel| parts_table(panel, build, cut, load));
            drawing.panel(|panel| purposes(panel, build, cut, load));
            drawing.notes = load_notes(build, cut, load, &judged);
            let mut overview = overview(&drawing, cut, load);
            if std::ptr::eq(load, &cut.loads[0]) {
                overview.panel(|panel| breakdown(panel, build, cut, number));
            }
            sheets.push(LoadSheet { drawing, overview });
        }
    }
    faults.dedup();
    if faults.is_empty() { Ok(sheets) } else { Err(faults) }
}

/// What the cutter follows in a part's own frame, its holes first.
fn cut_lines(part: &Part, build: &Build) -> Result<Vec<(Kind, Path)>, Diagnostic> {
    let (half_kerf_mm, profile) = (build.shop.cutter.half_kerf_mm(), &build.shop.profile);
    let cut = compensated(part, half_kerf_mm)?;
    let around = tabs::around(part, &cut.edge, 2.0 * half_kerf_mm, profile);
    let holes = cut.holes.iter().map(|hole| (Kind::CutInside, tabs::hole(hole, profile)));
    Ok(holes.chain([around.edge].into_iter().chain(around.between_tabs).map(|path| (Kind::Cut, path))).collect())
}

fn bed(load: &BedLoad) -> Bounds {
    Bounds { min: Point::new(0.0, 0.0), max: Point::new(load.width_mm, load.height_mm) }
}

/// How the parts of a load lie, reduced to a page, each with its number in the table.
fn overview(sheet: &Drawing, cut: &SheetCut, load: &BedLoad) -> Drawing {
    const WIDE_MM: f64 = 185.0;
    const HIGH_MM: f64 = 170.0;
    let scales = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0];
    let fits = |scale: &f64| load.width_mm / scale <= WIDE_MM && load.height_mm / scale <= HIGH_MM;
    let scale = scales.into_iter().find(fits).unwrap_or(30.0);
    let mut page = Drawing { items: Vec::new(), panels: Vec::new(), ..sheet.clone() };
    page.panel(|panel| {
        panel.path(Kind::Note, Path::rectangle(bed(load)).scaled(1.0 / scale));
        for placed in &load.placed {
            let part = &cut.parts[placed.part];
            let drawn = |path: &Path| path.placed(&placed.placement).scaled(1.0 / scale);
            let lines: Vec<Path> = part.holes.iter().chain([&part.edge]).map(drawn).collect();
            lines.iter().for_each(|line| panel.path(Kind::Edge, line.clone()));
            let bounds = part.edge.placed(&placed.placement).bounds();
            let cap = if 2.0 * TEXT_MM * scale <= bounds.width().min(bounds.height()) { TEXT_MM } else { SMALL_MM };
            panel.label(Kind::Note, number_on(&lines, bounds, scale, &number_of(cut, load, placed.part).to_string(), cap));
        }
        let text = "the bed from above; the numbers are those of the table";
        panel.label(Kind::Note, Label::new(text, Point::new(0.0, -2.0 - TEXT_MM), TEXT_MM));
    });
    page.panels.extend(sheet.panels.iter().cloned());
    page
}

/// The number of a part in its picture, reduced by `scale`: in its middle, or as near to that as none of its `lines` there runs through it.
fn number_on(lines: &[Path], bounds: Bounds, scale: f64, number: &str, cap: f64) -> Label {
    /// Finer than any letter.
    const STEP_MM: f64 = 0.2;
    let at = |along: f64| {
        let middle = |low: f64, high: f64, part: f64| (low + part * (high - low)) / scale;
        let part = if bounds.height() <= bounds.width() { [along, 0.5] } else { [0.5, along] };
        let (x, y) = (middle(bounds.min.x, bounds.max.x, part[0]), middle(bounds.min.y, bounds.max.y, part[1]));
        Label::new(number, Point::new(x, y - 0.5 * cap), cap).aligned(Align::Middle)
    };
    let struck = |label: &Label| {
        let text = Bounds::of(corners(label)).grown(0.3);
        lines.iter().any(|line| line.runs_through(&text, STEP_MM))
    };
    let beside = (1..=20).flat_map(|k| [-1.0, 1.0].map(|side| 0.5 + side * 0.02 * f64::from(k)));
    std::iter::once(0.5).chain(beside).map(at).find(|label| !struck(label)).unwrap_or_else(|| at(0.5))
}

/// How sheets larger than the bed are sawn into blanks, one for each load of a cut; `first` is the number of its first load.
fn breakdown(drawing: &mut Drawing, build: &Build, cut: &SheetCut, first: usize) {
    const LONG_MM: f64 = 90.0;
    let sheets = cut.breakdown(&build.shop.cutter);
    if sheets.is_empty() {
        return;
    }
    let units = build.units;
    let [long, wide] = cut.sheet.sides_mm();
    let scale = LONG_MM / long;
    heading(drawing, Point::new(0.0, 0.0), "Breaking the sheet down for the bed");
    let mut top = -HEAD_MM;
    let mut rows = Vec::new();
    for blanks in &sheets {
        let at = |x: f64, y: f64| Point::new(scale * x, top - scale * (wide - y));
        drawing.path(Kind::Edge, Path::rectangle(Bounds { min: at(0.0, 0.0), max: at(long, wide) }));
        for blank in blanks {
            let name = format!("cut-{}", first + blank.load);
            let (min, max) = (blank.at.min, blank.at.max);
            // Rips run from end to end, cross cuts over their own strip; what is lower than its strip is trimmed by itself.
            let strip = blanks
                .iter()
                .filter(|other| limit::same(other.at.min.y, min.y))
                .map(|other| other.at.max.y)
                .fold(max.y, f64::max);
            let from = if limit::below(max.y, strip) { [min.x, max.x] } else { [0.0, long] };
            drawing.line(Kind::Hidden, at(from[0], max.y), at(from[1], max.y));
            drawing.line(Kind::Hidden, at(max.x, min.y), at(max.x, strip));
            let middle = at(0.5 * (min.x + max.x), 0.5 * (min.y + max.y));
            let label = Label::new(name.as_str(), Point::new(middle.x, middle.y - 0.5 * SMALL_MM), SMALL_MM);
            drawing.label(Kind::Note, label.aligned(Align::Middle));
            rows.push(vec![name, units.rule(blank.at.width()), units.rule(blank.at.height())]);
        }
        top -= scale * wide + 4.0;
    }
    let taken = table(drawing, Point::new(0.0, top), &["blank for", "along the sheet", "across"], &rows, TEXT_MM);
    let text = format!(
        "{} {} of {} × {}. Rip along the sheet first, then cross-cut each strip, and trim what is lower than its strip; {} is left for the saw between blanks. The corner of \
         the bed is each blank's lower left one.",
        sheets.len(),
        if sheets.len() == 1 { "sheet" } else { "sheets" },
        units.rule(long),
        units.rule(wide),
        units.rule(SAW_MM)
    );
    notes(drawing, Point::new(0.0, taken.min.y - 3.0), LONG_MM, TEXT_MM, &[&text]);
}

/// Number of a part among those of a load, from 1.
fn number_of(cut: &SheetCut, load: &BedLoad, part: usize) -> usize {
    1 + cut.here(load).position(|(index, ..)| index == part).unwrap_or(0)
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

fn parts_table(drawing: &mut Drawing, build: &Build, cut: &SheetCut, load: &BedLoad) {
    heading(drawing, Point::new(0.0, 0.0), "Parts in this load");
    let rows: Vec<Vec<String>> = (1..)
        .zip(cut.here(load))
        .map(|(number, (_, part, count)): (usize, _)| {
            let size = part.edge.bounds();
            let (width, height) = (build.units.thickness_number(size.width()), build.units.thickness_number(size.height()));
            vec![number.to_string(), part.name.clone(), format!("{count} of {}", part.count), format!("{width} × {height}")]
        })
        .collect();
    let size = format!("size, {}", build.units.length_unit());
    table(drawing, Point::new(0.0, -HEAD_MM), &["", "part", "here", &size], &rows, TEXT_MM);
}

/// Parts that serve the same purpose share one note; in a column of the table it would make the sheet twice as wide.
fn purposes(drawing: &mut Drawing, build: &Build, cut: &SheetCut, load: &BedLoad) {
    let mut purposes: Vec<(&Message, Vec<String>)> = Vec::new();
    for (number, (_, part, _)) in (1..).zip(cut.here(load)) {
        let number: usize = number;
        match purposes.iter_mut().find(|(purpose, _)| **purpose == part.purpose) {
            Some((_, numbers)) => numbers.push(number.to_string()),
            None => purposes.push((&part.purpose, vec![number.to_string()])),
        }
    }
    let texts: Vec<String> =
        purposes.iter().map(|(purpose, numbers)| format!("{}: {}.", numbers.join(", "), purpose.spoken(build.units))).collect();
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    notes(drawing, Point::new(0.0, 0.0), NOTES_MM, TEXT_MM, &texts);
}

fn load_notes(build: &Build, cut: &SheetCut, load: &BedLoad, judged: &Yield) -> Vec<String> {
    let units = build.units;
    let cutter = &build.shop.cutter;
    let allowed = match *cutter {
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
    let mut notes = vec![
        format!(
            "{} thick, {} × {} in reach of the cutter; x to the right, y up, from the lower left corner.",
            units.thickness(load.thickness_mm),
            units.rule(load.width_mm),
            units.rule(load.height_mm)
        ),
        format!(
            "Sheet: {}, {} ± {} as measured; slots are {} wide. Measure again before cutting: slots follow the sheet, not its nominal size.",
            cut.sheet.material,
            units.thickness(cut.sheet.thickness_mm),
            units.thickness(cut.sheet.spread_mm),
            units.fine(cut.sheet.thickness_mm + cut.fit_mm)
        ),
        allowed,
    ];
    if let SheetCutter::Router { .. } = cutter {
        notes.extend(profile_notes(build, load.thickness_mm));
    }
    notes.extend([
        yield_note(cut, load, judged),
        format!(
            "The cutter holds ±{}; measure the sled's surface when it is together, and shim it.",
            units.fine(cutter.holds_mm())
        ),
        format!("{} {}", cautions::cutting(&build.shop), cautions::RULES_FIRST),
    ]);
    notes
}

/// How a router goes around the parts: what the file says of it, and what it does not because the shop has not said it.
fn profile_notes(build: &Build, thickness_mm: f64) -> Vec<String> {
    let (units, stated) = (build.units, &build.shop.profile);
    let layer = &build.shop.lines.style(Kind::Cut).layer;
    let mut said = Vec::new();
    if let Some(tabs) = stated.tabs {
        said.push(format!(
            "Tabs: {} a part where working edges and slots leave room for them, {} long and {} high. Cut layer {layer} {} deep, then \
             layer {layer}{} from there through the sheet: its lines end at the tabs. Part them with a saw, and file the stubs flush.",
            tabs.count,
            units.fine(tabs.length_mm),
            units.fine(tabs.height_mm),
            units.fine(thickness_mm - tabs.height_mm),
            Item::BETWEEN_TABS
        ));
    }
    said.extend(stated.direction.map(|direction| {
        let (outside, inside, how) = match direction {
            CutDirection::Climb => ("clockwise", "counter-clockwise", "climbs"),
            CutDirection::Conventional => ("counter-clockwise", "clockwise", "cuts against the feed"),
        };
        format!(
            "Lines run {outside} around parts and {inside} in holes: with a spindle that turns clockwise, seen from above, the bit {how}."
        )
    }));
    said.extend(stated.ramp_mm.map(|ramp_mm| {
        let long = units.fine(ramp_mm);
        format!(
            "Each line around a part begins where the bit may go in: down a ramp of {long} along the cut, never straight down."
        )
    }));
    said.extend(stated.depth_mm.map(|depth_mm| {
        let rounds = |deep_mm: f64| (deep_mm / depth_mm - 1e-9).ceil().max(1.0);
        let through_mm = stated.through_mm.unwrap_or(0.0);
        let beyond = stated
            .through_mm
            .map_or(String::new(), |through_mm| format!(" and {} beyond it, into the board under it", units.fine(through_mm)));
        let counted = |deep_mm: f64| fixed(rounds(deep_mm), 0);
        // Where there are tabs, an edge is cut in two goes: as far as their tops, then the rest between them.
        let in_two = stated.tabs.map_or(String::new(), |tabs| {
            let [over_mm, between_mm] = [thickness_mm - tabs.height_mm, tabs.height_mm + through_mm];
            format!(
                "; where there are tabs {} on layer {layer} and {} on layer {layer}{}, {} deep",
                counted(over_mm),
                counted(between_mm),
                Item::BETWEEN_TABS,
                units.fine(between_mm)
            )
        });
        format!(
            "Rounds at most {} deep: {} through the sheet{beyond}{in_two}.",
            units.fine(depth_mm),
            counted(thickness_mm + through_mm)
        )
    }));
    let through = |through_mm: f64| format!("Go {} beyond the sheet, into the board under it.", units.fine(through_mm));
    said.extend(stated.through_mm.filter(|_| stated.depth_mm.is_none()).map(through));
    let keys = [
        ("tabs", stated.tabs.is_none()),
        ("direction", stated.direction.is_none()),
        ("ramp", stated.ramp_mm.is_none()),
        ("depth", stated.depth_mm.is_none()),
        ("through", stated.through_mm.is_none()),
    ];
    let missing: Vec<&str> = keys.into_iter().filter_map(|(key, missing)| missing.then_some(key)).collect();
    let mut notes = if said.is_empty() { Vec::new() } else { vec![said.join(" ")] };
    if !missing.is_empty() {
        notes.push(format!(
            "The build file says nothing of {} under shop.cutter.router, which only the shop knows: see to it in the cutter's program.",
            missing.join(", ")
        ));
    }
    notes
}

/// How full the bed is, and what stands against fewer loads where there are more than one would expect.
fn yield_note(cut: &SheetCut, load: &BedLoad, judged: &Yield) -> String {
    let percent = |fraction: f64| fixed(100.0 * fraction, 0);
    let mut text = format!(
        "Parts cover {} % of this bed, {} % with the webs around them; all parts {} beds.",
        percent(cut.filled(load)),
        percent(cut.filled_with_webs(load, judged)),
        fixed(judged.beds, 2)
    );
    let slack = cut.loads.iter().rev().skip(1).any(|load| cut.filled(load) < WELL_FILLED);
    let more = judged.at_four_fifths < cut.loads.len();
    if slack && judged.max_filled < WELL_FILLED {
        text += &format!(
            " The webs leave room for {} % of all loads but the last at most, however the parts lie.",
            fixed(100.0 * judged.max_filled, 1)
        );
    }
    if more && judged.at_four_fifths < judged.min_with_webs {
        text += &format!(" With their webs they take {} loads at least.", judged.min_with_webs);
    }
    if (more || slack) && 0 < judged.long_parts {
        text += &format!(
            " {} of them are longer than half the bed and lie one above another: {} {} at least, and beside them there is room for \
             short parts alone.",
            judged.long_parts,
            judged.min_for_long,
            if judged.min_for_long == 1 { "load" } else { "loads" }
        );
    }
    text
}
