//! How a sled goes together and through the machine: side elevation, heights at stations, and the order of the work.
//!
//! The side elevation is not to scale, and says so: a rise of two millimetres over a metre cannot be seen at true size.

use super::cautions;
use super::layout::{Flag, Runs, flags};
use crate::drawing::annotate::{dimension_x, heading, notes, table};
use crate::drawing::font::{HEAD_MM, TEXT_MM, extent};
use crate::drawing::{Align, Drawing, Kind, Label};
use crate::geometry::{Bounds, Path, Point};
use crate::model::Build;
use crate::model::lamination::{Lamination, Pieces};
use crate::model::workshop::SledPlan;
use crate::shop::shims::MakeUp;
use crate::shop::sled::Sled;
use crate::units::System;

/// What carries the strip.
#[derive(Debug, Clone, PartialEq)]
pub enum Carried {
    /// Rails with ribs at these places `u`, mm; a solid board has none.
    Ramp { ribs_mm: Vec<f64> },
    /// A carrier on shims.
    Shims { shims: Vec<Shim> },
    /// A straight board on two supports, one of them shimmed: the shim's place is that of its support.
    RaisedEnd { level_support_mm: f64, shim: Shim },
}

/// A shim under the carrier at `u`, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Shim {
    pub at_mm: f64,
    /// Pieces of the shop's shim stock, and the height wanted.
    pub made: MakeUp,
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

/// The sheet `sled-core-assembly`.
///
/// `steps` are the words for how this make of sled goes together, in the order of the work.
pub fn sheet(
    build: &Build,
    plan: &SledPlan,
    lamination: &Lamination,
    sled: &Sled,
    carried: &Carried,
    steps: &[String],
) -> Drawing {
    let mut drawing = Drawing::new(
        format!("sled-{}-assembly", sled.lamination),
        format!("{}: sled for {}, how it goes together", build.title, sled.lamination),
    );
    elevation(&mut drawing, build, plan, lamination, sled, carried);
    let taken = extent(&drawing);
    let corner = Point::new(taken.min.x, taken.min.y - 14.0);
    heading(&mut drawing, Point::new(corner.x, corner.y - HEAD_MM), "Heights above the table");
    let heights = height_table(&mut drawing, Point::new(corner.x, corner.y - 2.0 * HEAD_MM), build, lamination, sled, carried);
    let mut beside = Point::new(heights.max.x + 14.0, corner.y);
    if let Some(shims) = carried.shims() {
        heading(&mut drawing, Point::new(corner.x, heights.min.y - 8.0 - HEAD_MM), "Shims");
        let under = Point::new(corner.x, heights.min.y - 8.0 - 2.0 * HEAD_MM);
        beside.x = beside.x.max(shim_table(&mut drawing, under, build, end_name(lamination, true), shims).max.x + 14.0);
    }
    heading(&mut drawing, Point::new(beside.x, beside.y - HEAD_MM), "Order of the work");
    let width = (taken.max.x - beside.x).max(90.0);
    let work = steps.iter().cloned().chain(carried_steps(build, carried)).chain(hold_steps(build, plan, sled));
    let numbered: Vec<String> = work.enumerate().map(|(i, step)| format!("{}.  {step}", i + 1)).collect();
    let numbered: Vec<&str> = numbered.iter().map(String::as_str).collect();
    notes(&mut drawing, Point::new(beside.x, beside.y - 2.0 * HEAD_MM), width, TEXT_MM, &numbered);
    drawing.notes = cautions::grinding(build);
    let wood = (lamination.wood.name.as_str(), lamination.wood.dust.as_deref());
    drawing.notes.extend(cautions::dust([wood].into_iter()));
    drawing.notes.push(cautions::RULES_FIRST.into());
    drawing
}

impl Carried {
    fn shims(&self) -> Option<&[Shim]> {
        match self {
            Carried::Ramp { .. } => None,
            Carried::Shims { shims } => Some(shims),
            Carried::RaisedEnd { shim, .. } => Some(std::slice::from_ref(shim)),
        }
    }

    /// Places that the table of heights lists, with their names.
    fn named_places(&self) -> Vec<(f64, String)> {
        match self {
            Carried::Ramp { ribs_mm } => ribs_mm.iter().enumerate().map(|(i, u)| (*u, format!("rib {}", i + 1))).collect(),
            Carried::Shims { shims } => {
                shims.iter().enumerate().map(|(i, shim)| (shim.at_mm, format!("shim {}", i + 1))).collect()
            }
            Carried::RaisedEnd { level_support_mm, shim } => {
                vec![(*level_support_mm, "level support".into()), (shim.at_mm, "shim 1".into())]
            }
        }
    }
}

/// Where each piece of the elevation stands on the sheet.
fn elevation(drawing: &mut Drawing, build: &Build, plan: &SledPlan, lamination: &Lamination, sled: &Sled, carried: &Carried) {
    let scales = Scales::of(sled);
    profile(drawing, sled, &scales);
    supports(drawing, sled, carried, &scales);
    feed_arrow(drawing, sled, &scales);
    stops(drawing, build.units, lamination, sled, &scales);
    lengths(drawing, build.units, sled, &scales);
    let left = scales.at(-sled.run_on_mm, 0.0).x;
    let low = extent(drawing).min.y;
    let text = format!(
        "Not to scale: lengths 1 : {}, heights {} : 1, so slopes look {} times too steep. {}",
        scales.reduced,
        scales.raised,
        scales.reduced * scales.raised,
        made_up_of(plan, sled, build.units)
    );
    drawing.label(Kind::Note, Label::new(text, Point::new(left, low - 3.0 - TEXT_MM), TEXT_MM));
    let top = extent(drawing).max.y;
    heading(drawing, Point::new(left, top + 4.0), "Side elevation, strip finished");
}

/// Table, ramp, deck, run-ons, strip and the cutter's lowest line.
fn profile(drawing: &mut Drawing, sled: &Sled, scales: &Scales) {
    let at = |u: f64, height: f64| scales.at(u, height);
    let (length, run_on, gap) = (sled.strip_length_mm, sled.run_on_mm, sled.final_gap_mm);
    let line = |lift: f64| sled.ramp.points().iter().map(move |(u, r)| at(*u, r + lift));
    let surface = sled.deck_mm + sled.under_mm;
    drawing.path(Kind::Tone, Path::closed(line(surface).chain([at(length, gap), at(0.0, gap)])));
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
}

/// Ribs as hidden lines, shims as small blocks under the carrier with their numbers.
fn supports(drawing: &mut Drawing, sled: &Sled, carried: &Carried, scales: &Scales) {
    if let Carried::Ramp { ribs_mm } = carried {
        for u in ribs_mm {
            let over = if *u < 0.0 { 0.0 } else { u.min(sled.strip_length_mm) };
            drawing.line(Kind::Hidden, scales.at(*u, 0.0), scales.at(*u, sled.ramp.at(over)));
        }
    }
    if let Carried::RaisedEnd { level_support_mm, shim } = carried {
        block(drawing, sled, scales, *level_support_mm, 0.0, 0.0);
        block(drawing, sled, scales, shim.at_mm, 0.0, shim.made.wanted_mm);
    }
    let shims = carried.shims().unwrap_or_default();
    let foot = |shim: &Shim| sled.ramp.at(shim.at_mm) - shim.made.wanted_mm.max(0.0);
    if 1 < shims.len() {
        // What the shims stand on.
        drawing.path(Kind::Edge, Path::open(shims.iter().map(|shim| scales.at(shim.at_mm, foot(shim)))));
    }
    for (i, shim) in shims.iter().enumerate() {
        block(drawing, sled, scales, shim.at_mm, foot(shim), 0.0);
        let number = Label::new((i + 1).to_string(), scales.at(shim.at_mm, foot(shim)), TEXT_MM).aligned(Align::Middle);
        let beside = Point::new(number.at.x + 5.5, number.at.y - 1.5 - TEXT_MM);
        drawing.label(Kind::Dimension, Label { at: beside, ..number });
    }
}

/// A small block at `u` from height `low` up to the ramp, less `under`.
fn block(drawing: &mut Drawing, sled: &Sled, scales: &Scales, u: f64, low: f64, under: f64) {
    /// Half its length on the sheet, mm.
    const HALF_MM: f64 = 2.5;
    let (foot, top) = (scales.at(u, low), scales.at(u, sled.ramp.at(u) - under));
    let bounds = Bounds { min: Point::new(foot.x - HALF_MM, foot.y), max: Point::new(foot.x + HALF_MM, top.y) };
    drawing.path(Kind::Edge, Path::rectangle(bounds));
}

/// What each stop is, and the last gap between them.
fn stops(drawing: &mut Drawing, units: System, lamination: &Lamination, sled: &Sled, scales: &Scales) {
    let (length, gap) = (sled.strip_length_mm, sled.final_gap_mm);
    let top = scales.at(0.0, gap).y;
    let text = format!("cutter's lowest line at the last gap, {} above the table", units.thickness(gap));
    let over = Point::new(scales.at(0.5 * length, 0.0).x, top + 1.5);
    drawing.label(Kind::Note, Label::new(text, over, TEXT_MM).aligned(Align::Middle));
    let mut lane = 0.0;
    for (i, (u, runs)) in [(0.0, Runs::Right), (length, Runs::Left)].into_iter().enumerate() {
        let what = end_name(lamination, i == 0);
        let text = match sled.run_on_top_mm[i] {
            Some(stop) => {
                format!(
                    "{what}: stop {} high, {} over the seat",
                    units.thickness(stop),
                    units.thickness(stop - sled.surface_mm(u))
                )
            }
            None => format!("{what}: no stop, the strip is too thin; hold it by tape"),
        };
        flags(drawing, &[Flag { x: scales.at(u, 0.0).x, foot: top, text }], runs, top + 8.0 + lane, TEXT_MM);
        lane += 2.0 * TEXT_MM;
    }
}

fn lengths(drawing: &mut Drawing, units: System, sled: &Sled, scales: &Scales) {
    let (length, run_on) = (sled.strip_length_mm, sled.run_on_mm);
    let at = |u: f64| scales.at(u, 0.0);
    dimension_x(drawing, at(0.0), at(length), -10.0, &format!("{} strip, overrun counted", units.rule(length)));
    if 0.0 < run_on {
        // From the strip outward, so that a figure that finds no room stands outside.
        dimension_x(drawing, at(0.0), at(-run_on), -19.0, &units.rule(run_on));
        dimension_x(drawing, at(length), at(length + run_on), -19.0, &units.rule(run_on));
    }
    dimension_x(drawing, at(-run_on), at(length + run_on), -28.0, &format!("{} sled", units.rule(sled.length_mm())));
}

fn made_up_of(plan: &SledPlan, sled: &Sled, units: System) -> String {
    let deck = if 0.0 < sled.deck_mm { format!("deck {}", units.thickness(sled.deck_mm)) } else { "no deck".to_owned() };
    let under = if 0.0 < sled.under_mm {
        format!(", tape or paper under the strip {}", units.thickness(sled.under_mm))
    } else {
        String::new()
    };
    format!("Made up of: ramp {} at the butt, {deck}{under}.", units.thickness(plan.base_mm))
}

/// What the ends of the strip are called, the same as on the sled's parts.
fn end_name(lamination: &Lamination, first: bool) -> &'static str {
    match (lamination.pieces, first) {
        (Pieces::Halves, true) => "butt",
        (Pieces::Halves, false) => "tip",
        (Pieces::Full, true) => "end A",
        (Pieces::Full, false) => "end B",
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

/// Ramp and surface at both ends, at corners, at ribs or shims, or else on a regular grid.
fn height_table(
    drawing: &mut Drawing,
    top_left: Point,
    build: &Build,
    lamination: &Lamination,
    sled: &Sled,
    carried: &Carried,
) -> Bounds {
    let units = build.units;
    let unit = units.length_unit();
    let bare = |mm: f64| units.rule(mm).trim_end_matches(unit).trim_end().to_owned();
    let rows: Vec<Vec<String>> = places(sled, lamination, carried, units)
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
    let first = format!("from the strip's {}", end_name(lamination, true));
    let texts = [first.as_str(), "station in the bow", "ramp", "surface", "strip"].map(|text| format!("{text}, {unit}"));
    let header = [texts[0].as_str(), &texts[1], &texts[2], &texts[3], &texts[4], "place", "measured"];
    table(drawing, top_left, &header, &rows, TEXT_MM)
}

/// Places along the strip that the table lists, with their names, increasing.
fn places(sled: &Sled, lamination: &Lamination, carried: &Carried, units: System) -> Vec<(f64, String)> {
    let length = sled.strip_length_mm;
    let mut places = vec![(0.0, format!("{} of the strip", end_name(lamination, true)))];
    places.push((length, format!("{} of the strip", end_name(lamination, false))));
    places.extend(sled.corners_mm.iter().map(|u| (*u, "corner of the ramp".to_owned())));
    let named = carried.named_places();
    if named.len() < 4 {
        let step = round_step_mm(length, units);
        let count = (length / step).floor().clamp(0.0, 100.0) as u32;
        places.extend((1..=count).map(|k| (step * f64::from(k), String::new())).filter(|(u, _)| *u < length - 0.3 * step));
    }
    places.extend(named.into_iter().filter(|(u, _)| 0.0 <= *u && *u <= length));
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

/// A step that a rule shows well, with few enough rows to measure them all, mm.
fn round_step_mm(length_mm: f64, units: System) -> f64 {
    const MOST_ROWS: f64 = 12.0;
    let steps = match units {
        System::Inch => [4.0, 6.0, 8.0, 12.0],
        System::Millimetre => [100.0, 150.0, 200.0, 300.0],
    };
    steps.into_iter().map(|step| units.to_mm(step)).find(|step| length_mm / step <= MOST_ROWS).unwrap_or(length_mm / MOST_ROWS)
}

fn shim_table(drawing: &mut Drawing, top_left: Point, build: &Build, first_end: &str, shims: &[Shim]) -> Bounds {
    let units = build.units;
    let unit = units.length_unit();
    let pieces = |made: &MakeUp| {
        let text = |(kind, count): &(usize, u32)| {
            build.shop.shims.get(*kind).map(|stock| format!("{count} × {} {}", stock.of, units.fine(stock.thickness_mm)))
        };
        let all: Vec<String> = made.pieces.iter().filter_map(text).collect();
        if all.is_empty() { "nothing".to_owned() } else { all.join(" + ") }
    };
    let rows: Vec<Vec<String>> = shims
        .iter()
        .enumerate()
        .map(|(i, shim)| {
            vec![
                (i + 1).to_string(),
                units.rule(shim.at_mm).trim_end_matches(unit).trim_end().to_owned(),
                units.thickness_number(shim.made.wanted_mm),
                units.thickness_number(shim.made.made_mm),
                if shim.made.within { String::new() } else { "not within the tolerance".into() },
                pieces(&shim.made),
            ]
        })
        .collect();
    let texts = [format!("from the strip's {first_end}").as_str(), "wanted", "made"].map(|text| format!("{text}, {unit}"));
    table(drawing, top_left, &["shim", &texts[0], &texts[1], &texts[2], "", "of"], &rows, TEXT_MM)
}

fn carried_steps(build: &Build, carried: &Carried) -> Vec<String> {
    let units = build.units;
    match carried {
        Carried::Ramp { .. } => Vec::new(),
        Carried::Shims { .. } => {
            vec!["Fix each shim square across the sled at its place, the carrier's underside on all of them, and tape the carrier down.".into()]
        }
        Carried::RaisedEnd { level_support_mm, shim } => vec![format!(
            "Set a shim of {} under the board {} from the other support, edge to edge as the board touches them; the board must be straight \
             and stiff.",
            units.thickness(shim.made.wanted_mm),
            units.rule((shim.at_mm - level_support_mm).abs())
        )],
    }
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
