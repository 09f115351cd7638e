//! Sheets for a sled: parts as they lie in the cutter's bed, and how the sled goes together and through the machine.
//!
//! In the bed everything stands at true size, and the lines to cut are those that the cutter's centre follows: half the cut's
//! width outside a part, half inside a hole. Where that differs from the part by more than a pencil line, the part's true edge
//! is drawn too, as an edge, which files for cutters leave out.
//!
//! The side elevation is not to scale, and says so: a rise of two millimetres over a metre cannot be seen at true size.

use super::cautions;
use super::layout::{Flag, Runs, fitted, flags};
use crate::diag::Diagnostic;
use crate::drawing::annotate::{dimension_x, heading, notes, table};
use crate::drawing::font::{HEAD_MM, TEXT_MM, extent};
use crate::drawing::{Align, Drawing, Kind, Label};
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::model::Build;
use crate::model::lamination::{Lamination, Pieces};
use crate::model::workshop::{SheetCutter, SledPlan};
use crate::shop::parts::{Kit, Load, Part, compensated};
use crate::shop::sled::Sled;

/// A cut narrower than this lies on the part's edge as far as the eye can tell: drawing both would only thicken the line, mm.
const SEEN_APART_MM: f64 = 0.4;

/// One sheet for each load: `sled-core`, or `sled-core-1`, `sled-core-2` and so on.
///
/// A part that the cutter cannot cut is a fault.
pub fn loads(build: &Build, plan: &SledPlan, sled: &Sled, kit: &Kit, loads: &[Load]) -> Result<Vec<Drawing>, Vec<Diagnostic>> {
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
            match compensated(part, build.shop.cutter.half_cut_mm()) {
                Ok(cut) => {
                    for hole in &cut.holes {
                        drawing.part_path(Kind::CutInside, &part.name, hole.placed(&placed.placement));
                    }
                    drawing.part_path(Kind::Cut, &part.name, cut.edge.placed(&placed.placement));
                }
                Err(fault) => faults.push(fault),
            }
            marks(&mut drawing, part, placed.copy, &placed.placement, build.shop.cutter.half_cut_mm());
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

/// True edge, lines to score and names of one copy.
fn marks(drawing: &mut Drawing, part: &Part, copy: u32, placement: &Placement, half_cut_mm: f64) {
    if SEEN_APART_MM < half_cut_mm {
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
        Some(Label { at, ..flat }.turned(std::f64::consts::FRAC_PI_2))
    }
}

fn parts_table(drawing: &mut Drawing, top_left: Point, build: &Build, kit: &Kit, load: &Load) {
    heading(drawing, Point::new(top_left.x, top_left.y - HEAD_MM), "Parts in this load");
    let mut counts = vec![0_u32; kit.parts.len()];
    for placed in &load.placed {
        counts[placed.part] += 1;
    }
    let rows: Vec<Vec<String>> = kit
        .parts
        .iter()
        .zip(&counts)
        .filter(|(_, here)| 0 < **here)
        .map(|(part, here)| {
            let size = part.edge.bounds();
            let (width, height) = (build.units.decimal_number(size.width()), build.units.decimal_number(size.height()));
            vec![part.name.clone(), format!("{here} of {}", part.count), format!("{width} × {height}"), part.purpose.clone()]
        })
        .collect();
    let size = format!("size, {}", build.units.length_unit());
    table(drawing, Point::new(top_left.x, top_left.y - 2.0 * HEAD_MM), &["part", "here", &size, "what for"], &rows, TEXT_MM);
}

fn load_notes(build: &Build, plan: &SledPlan) -> Vec<String> {
    let units = build.units;
    let cut = match build.shop.cutter {
        SheetCutter::Laser { kerf_mm, .. } => format!(
            "Cut lines are moved by half the kerf of {} to the waste side: set no kerf or offset in the cutter's program.",
            units.fine(kerf_mm)
        ),
        SheetCutter::Router { bit_mm, .. } => format!(
            "Cut lines are the path of the middle of a {} bit: set no offset in the cutter's program. Inside corners are relieved for it.",
            units.fine(bit_mm)
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

/// Scales of the side elevation: sheet mm for each mm along the sled, and for each mm of height.
struct Scales {
    along: f64,
    up: f64,
    /// Lengths are drawn one to this many.
    reduced: u32,
    /// Heights are drawn this many to one.
    raised: u32,
}

impl Scales {
    fn of(sled: &Sled) -> Scales {
        /// Longest and tallest that the elevation may become: it should fit two pages side by side, mm.
        const LENGTH_MM: f64 = 380.0;
        const HEIGHT_MM: f64 = 130.0;
        let reduced = [1, 2, 3, 4, 5, 6, 8].into_iter().find(|k| sled.length_mm() / f64::from(*k) <= LENGTH_MM).unwrap_or(10);
        let raised = [10, 5, 4, 3, 2].into_iter().find(|k| sled.final_gap_mm * f64::from(*k) <= HEIGHT_MM).unwrap_or(1);
        Scales { along: 1.0 / f64::from(reduced), up: f64::from(raised), reduced, raised }
    }

    fn at(&self, u: f64, height: f64) -> Point {
        Point::new(self.along * u, self.up * height)
    }
}

/// The assembly sheet, `sled-core-assembly`: side elevation with feed, stops and ribs, heights at stations, and how to work.
///
/// `steps` are the words for how this make of sled goes together, in the order of the work.
pub fn assembly(
    build: &Build,
    plan: &SledPlan,
    lamination: &Lamination,
    sled: &Sled,
    ribs_mm: &[f64],
    steps: &[String],
) -> Drawing {
    let mut drawing = Drawing::new(
        format!("sled-{}-assembly", sled.lamination),
        format!("{}: sled for {}, how it goes together", build.title, sled.lamination),
    );
    elevation(&mut drawing, build, plan, lamination, sled, ribs_mm);
    let taken = extent(&drawing);
    let corner = Point::new(taken.min.x, taken.min.y - 14.0);
    heading(&mut drawing, Point::new(corner.x, corner.y - HEAD_MM), "Heights above the table");
    let heights = height_table(&mut drawing, Point::new(corner.x, corner.y - 2.0 * HEAD_MM), build, lamination, sled, ribs_mm);
    let beside = Point::new(heights.max.x + 14.0, corner.y);
    heading(&mut drawing, Point::new(beside.x, beside.y - HEAD_MM), "Order of the work");
    let width = (taken.max.x - beside.x).max(90.0);
    let numbered: Vec<String> =
        steps.iter().chain(&hold_steps(build, plan, sled)).enumerate().map(|(i, step)| format!("{}.  {step}", i + 1)).collect();
    let numbered: Vec<&str> = numbered.iter().map(String::as_str).collect();
    notes(&mut drawing, Point::new(beside.x, beside.y - 2.0 * HEAD_MM), width, TEXT_MM, &numbered);
    drawing.notes = cautions::grinding(build);
    let wood = (lamination.wood.name.as_str(), lamination.wood.dust.as_deref());
    drawing.notes.extend(cautions::dust([wood].into_iter()));
    drawing.notes.push(cautions::RULES_FIRST.into());
    drawing
}

fn elevation(drawing: &mut Drawing, build: &Build, plan: &SledPlan, lamination: &Lamination, sled: &Sled, ribs_mm: &[f64]) {
    let units = build.units;
    let scales = Scales::of(sled);
    let at = |u: f64, height: f64| scales.at(u, height);
    let (length, run_on, gap) = (sled.strip_length_mm, sled.run_on_mm, sled.final_gap_mm);
    let points = sled.ramp.points();
    let line = |lift: f64| points.iter().map(move |(u, r)| at(*u, r + lift));
    // The strip, finished: from the surface to the cutter's lowest line.
    let strip = line(sled.deck_mm + sled.under_mm).chain([at(length, gap), at(0.0, gap)]);
    drawing.path(Kind::Tone, Path::closed(strip));
    let surface = sled.deck_mm + sled.under_mm;
    drawing.path(Kind::Edge, Path::open(line(surface)));
    if 0.0 < sled.deck_mm {
        drawing.path(Kind::Edge, Path::open(line(0.0)));
    }
    for (end, outer, top) in [(0.0, -run_on, sled.run_on_top_mm[0]), (length, length + run_on, sled.run_on_top_mm[1])] {
        let top = top.unwrap_or_else(|| sled.surface_mm(end));
        let corners = [at(end, sled.surface_mm(end)), at(end, top), at(outer, top), at(outer, 0.0)];
        drawing.path(Kind::Edge, Path::open(corners));
        drawing.path(Kind::Edge, Path::open([at(end, gap), at(end, sled.surface_mm(end))]));
    }
    drawing.line(Kind::Edge, at(-run_on, 0.0), at(length + run_on, 0.0));
    drawing.line(Kind::Centre, at(-run_on - 40.0, gap), at(length + run_on + 40.0, gap));
    drawing.line(Kind::Dimension, at(0.0, gap), at(length, gap));
    for u in ribs_mm {
        drawing.line(Kind::Hidden, at(*u, 0.0), at(*u, if *u < 0.0 || length < *u { gap * 0.8 } else { sled.ramp.at(*u) }));
    }
    let gap_text = format!("cutter's lowest line at the last gap, {} above the table", units.thickness(gap));
    let over = Point::new(at(0.5 * length, 0.0).x, at(0.0, gap).y + 1.5);
    drawing.label(Kind::Note, Label::new(gap_text, over, TEXT_MM).aligned(Align::Middle));
    feed_arrow(drawing, sled, &scales);
    let mut marks = Vec::new();
    for (i, (u, what)) in [(0.0, end_name(lamination, true)), (length, end_name(lamination, false))].into_iter().enumerate() {
        let stop = sled.run_on_top_mm[i].map_or("no stop: hold by tape".to_owned(), |top| {
            format!("stop {} high, {} over the seat", units.thickness(top), units.thickness(top - sled.surface_mm(u)))
        });
        marks.push(Flag { x: at(u, 0.0).x, foot: at(u, gap).y, text: format!("{what}: {stop}") });
    }
    let floor = at(0.0, gap).y + 14.0;
    let (first, second) = (marks.remove(0), marks.remove(0));
    flags(drawing, &[first], Runs::Right, floor, TEXT_MM);
    flags(drawing, &[second], Runs::Left, floor + 2.0 * TEXT_MM, TEXT_MM);
    dimension_x(drawing, at(0.0, 0.0), at(length, 0.0), -10.0, &format!("{} strip, overrun counted", units.rule(length)));
    if 0.0 < run_on {
        let text = units.rule(run_on);
        dimension_x(drawing, at(-run_on, 0.0), at(0.0, 0.0), -10.0, &text);
        dimension_x(drawing, at(length, 0.0), at(length + run_on, 0.0), -10.0, &text);
    }
    let text = format!("{} sled", units.rule(sled.length_mm()));
    dimension_x(drawing, at(-run_on, 0.0), at(length + run_on, 0.0), -19.0, &text);
    let across = plan_words(plan, sled, units);
    let low = extent(drawing).min.y;
    let scale = format!(
        "Not to scale: lengths 1 : {}, heights {} : 1, so slopes look {} times too steep. {across}",
        scales.reduced,
        scales.raised,
        scales.reduced * scales.raised
    );
    drawing.label(Kind::Note, Label::new(scale, Point::new(at(-run_on, 0.0).x, low - 3.0 - TEXT_MM), TEXT_MM));
    let top = extent(drawing).max.y;
    heading(drawing, Point::new(at(-run_on, 0.0).x, top + 4.0), "Side elevation, strip finished");
}

fn plan_words(plan: &SledPlan, sled: &Sled, units: crate::units::System) -> String {
    let deck = if 0.0 < sled.deck_mm { format!("deck {}", units.thickness(sled.deck_mm)) } else { "no deck".to_owned() };
    let under = if 0.0 < sled.under_mm {
        format!(", tape or paper under the strip {}", units.thickness(sled.under_mm))
    } else {
        String::new()
    };
    format!("Made up of: ramp {} at the butt, {deck}{under}.", units.thickness(plan.base_mm))
}

fn end_name(lamination: &Lamination, first: bool) -> &'static str {
    match (lamination.pieces, first) {
        (Pieces::Halves, true) => "butt end",
        (Pieces::Halves, false) => "tip end",
        (Pieces::Full, true) => "one tip",
        (Pieces::Full, false) => "other tip",
    }
}

/// An arrow under the table's line, pointing the way the sled goes, at the end that leads.
fn feed_arrow(drawing: &mut Drawing, sled: &Sled, scales: &Scales) {
    let (length, run_on) = (sled.strip_length_mm, sled.run_on_mm);
    let (nose, sign) = if sled.first_end_leads { (-run_on, -1.0) } else { (length + run_on, 1.0) };
    let y = scales.at(0.0, 0.5 * sled.final_gap_mm).y;
    let tip = Point::new(scales.at(nose, 0.0).x + sign * 34.0, y);
    let tail = Point::new(tip.x - sign * 28.0, y);
    let barb = |v: f64| Point::new(tip.x - sign * 7.0, y + v);
    let shaft = |x: f64, v: f64| Point::new(x, y + v);
    let neck = tip.x - sign * 7.0;
    let outline = [shaft(tail.x, -1.2), shaft(neck, -1.2), barb(-3.2), tip, barb(3.2), shaft(neck, 1.2), shaft(tail.x, 1.2)];
    drawing.path(Kind::Edge, Path::closed(outline));
    let middle = 0.5 * (tip.x + tail.x);
    for (text, below) in [("feed:", -5.0), ("this end goes in first", 5.5), ("and is held", 5.5 + 1.75 * TEXT_MM)] {
        let at = Point::new(middle, if below < 0.0 { y - below } else { y - below - TEXT_MM });
        drawing.label(Kind::Note, Label::new(text, at, TEXT_MM).aligned(Align::Middle));
    }
}

/// Ramp and surface at both ends, corners, ribs and a regular grid.
fn height_table(
    drawing: &mut Drawing,
    top_left: Point,
    build: &Build,
    lamination: &Lamination,
    sled: &Sled,
    ribs_mm: &[f64],
) -> Bounds {
    let units = build.units;
    let unit = units.length_unit();
    let bare = |mm: f64| units.rule(mm).trim_end_matches(unit).trim_end().to_owned();
    let rows: Vec<Vec<String>> = places(sled, lamination, ribs_mm)
        .into_iter()
        .map(|(u, what)| {
            let (ramp, surface) = (sled.ramp.at(u), sled.surface_mm(u));
            vec![
                bare(u),
                bare(lamination.station_at(u)),
                units.thickness_number(ramp),
                units.thickness_number(surface),
                units.thickness_number(sled.final_gap_mm - surface),
                what,
                String::new(),
            ]
        })
        .collect();
    let texts = ["from the first end", "station in the bow", "ramp", "surface", "strip"].map(|text| format!("{text}, {unit}"));
    let header = [texts[0].as_str(), &texts[1], &texts[2], &texts[3], &texts[4], "place", "measured"];
    table(drawing, top_left, &header, &rows, TEXT_MM)
}

/// Places along the strip that the table lists, with their names, increasing.
fn places(sled: &Sled, lamination: &Lamination, ribs_mm: &[f64]) -> Vec<(f64, String)> {
    let length = sled.strip_length_mm;
    let mut places = vec![(0.0, format!("{} of the strip", end_name(lamination, true)))];
    places.push((length, format!("{} of the strip", end_name(lamination, false))));
    places.extend(sled.corners_mm.iter().map(|u| (*u, "corner of the ramp".to_owned())));
    let inside = |u: &f64| 0.0 < *u && *u < length;
    places.extend(ribs_mm.iter().enumerate().filter(|(_, u)| inside(u)).map(|(i, u)| (*u, format!("rib {}", i + 1))));
    if ribs_mm.is_empty() {
        // Eight spans give a row a palm's width apart on most strips, few enough to measure all.
        places.extend((1..8).map(|k| (length * f64::from(k) / 8.0, String::new())));
    }
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    places.dedup_by(|next, kept| {
        let same = (next.0 - kept.0).abs() < 0.5;
        if same && !next.1.is_empty() {
            kept.1 = if kept.1.is_empty() { next.1.clone() } else { format!("{}, {}", kept.1, next.1) };
        }
        same
    });
    places
}

/// Steps at the machine that hold for every make.
fn hold_steps(build: &Build, plan: &SledPlan, sled: &Sled) -> Vec<String> {
    let units = build.units;
    let mut steps = vec![
        format!(
            "Measure the surface at every place of the table, write it in the last column, and shim with tape what is more than {} off.",
            units.fine(plan.tolerance_mm)
        ),
        "Drum and planer pull the strip back, against the feed. Held at its leading end, by double-sided tape under the overrun or a hook \
         below the finished face, it is pulled flat; pushed against a trailing stop alone, a thin strip can buckle into the cutter."
            .to_owned(),
    ];
    steps.push(format!(
        "Set the gap between passes only, never with the sled under the cutter; the last one is {} above the table.",
        units.thickness(sled.final_gap_mm)
    ));
    steps.push(match sled.run_on_top_mm {
        [None, None] => "No stop is high enough to hold this strip: hold both ends with tape.".to_owned(),
        _ => format!(
            "Every stop stays {} below the last gap: the cutter must never reach it.",
            units.thickness(plan.stop_clearance_mm)
        ),
    });
    steps
}
