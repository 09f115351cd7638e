//! How a sled goes together and through the machine: side elevation, heights at stations, and the order of the work.
//!
//! The side elevation is not to scale, and says so: a rise of two millimetres over a metre cannot be seen at true size.

use super::layout::{Flag, Runs, flags};
use crate::drawing::annotate::{dimension_x, heading, notes, table};
use crate::drawing::font::{HEAD_MM, TEXT_MM, extent};
use crate::drawing::{Align, Drawing, Kind, Label};
use crate::geometry::{Bounds, Path, Point};
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::workshop::SledPlan;
use crate::shop::cautions;
use crate::shop::kit::{Kit, Shim, SideView};
use crate::shop::sled::Sled;
use crate::units::{System, limit};

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
        /// Longest and tallest that the elevation may become: it should stand on a page beside its tables, mm.
        const LENGTH_MM: f64 = 240.0;
        const HEIGHT_MM: f64 = 60.0;
        let fits = |k: &u32| sled.length_mm() / f64::from(*k) <= LENGTH_MM;
        let reduced = [1, 2, 3, 4, 5, 6, 8, 10, 12].into_iter().find(fits).unwrap_or(15);
        let raised = [10, 5, 4, 3, 2].into_iter().find(|k| sled.final_gap_mm * f64::from(*k) <= HEIGHT_MM).unwrap_or(1);
        Scales { along: 1.0 / f64::from(reduced), up: f64::from(raised), reduced, raised }
    }

    fn at(&self, u: f64, height: f64) -> Point {
        Point::new(self.along * u, self.up * height)
    }
}

/// Width of running text on the sheet, mm.
const WORK_MM: f64 = 120.0;

/// The last gap of strips that lie on a sled.
#[derive(Debug, Clone, PartialEq)]
pub struct LastGap {
    /// Whose strips: a lamination, or the bows of a weight.
    pub of: String,
    /// As the gauge can be set, mm.
    pub gap_mm: f64,
}

impl LastGap {
    /// The one gap at which all of these end; `None` where each has its own.
    pub fn one_of(gaps: &[LastGap]) -> Option<f64> {
        let first = gaps.first()?.gap_mm;
        gaps.iter().all(|gap| limit::same(gap.gap_mm, first)).then_some(first)
    }
}

/// The sheet `sled-core-assembly`; `gaps` are those of all strips that lie on the sled, its own first.
pub fn sheet(build: &Build, plan: &SledPlan, lamination: &Lamination, kit: &Kit, gaps: &[LastGap]) -> Drawing {
    let sled = &kit.sled;
    let mut drawing = Drawing::new(
        format!("sled-{}-assembly", sled.lamination),
        format!("{}: sled for {}, how it goes together", build.title, sled.lamination),
    );
    drawing.panel(|panel| elevation(panel, build.units, kit, gaps));
    drawing.panel(|panel| {
        heading(panel, Point::new(0.0, 0.0), "Heights above the table");
        height_table(panel, build.units, lamination, kit, gaps);
    });
    if !kit.shims.is_empty() {
        drawing.panel(|panel| {
            heading(panel, Point::new(0.0, 0.0), "Shims");
            shim_table(panel, Point::new(0.0, -HEAD_MM), build, kit);
        });
    }
    let work = steps(build, plan, kit, gaps).into_iter();
    let numbered: Vec<String> = work.enumerate().map(|(i, step)| format!("{}.  {step}", i + 1)).collect();
    let numbered: Vec<&str> = numbered.iter().map(String::as_str).collect();
    drawing.panel(|panel| {
        heading(panel, Point::new(0.0, 0.0), "Order of the work");
        notes(panel, Point::new(0.0, -HEAD_MM), WORK_MM, TEXT_MM, &numbered);
    });
    drawing.notes = cautions::grinding(build);
    if let Some(feather) = sled.feather_mm {
        drawing.notes.push(format!(
            "This strip's feather is {} thick: where that is under the machine's limit, only as its manual allows, on the sled and taped down.",
            build.units.thickness(feather)
        ));
    }
    let woods = lamination.woods().map(|wood| (wood.name.as_str(), wood.dust.as_deref()));
    drawing.notes.extend(cautions::dust(woods));
    drawing.notes.push(cautions::RULES_FIRST.into());
    drawing
}

/// What lies on a sled beside its own lamination; nothing where that is alone.
pub fn whom_it_serves(own: &str, serves: &[&str]) -> Option<String> {
    let others: Vec<&str> = serves.iter().copied().filter(|name| *name != own).collect();
    let named = others.split_last().map(|(last, before)| match before {
        [] => (*last).to_owned(),
        _ => format!("{} and {last}", before.join(", ")),
    })?;
    Some(format!(
        "This sled is for {own} and for {named}: the same taper, length and width. Each keeps its own passes and last gap, and for each \
         a scrap goes first."
    ))
}

fn elevation(drawing: &mut Drawing, units: System, kit: &Kit, gaps: &[LastGap]) {
    let sled = &kit.sled;
    let scales = Scales::of(sled);
    profile(drawing, kit, &scales);
    supports(drawing, kit, &scales);
    feed_arrow(drawing, sled, &scales);
    stops(drawing, units, sled, &scales, gaps);
    lengths(drawing, units, sled, &scales);
    let left = scales.at(-sled.run_on_mm, 0.0).x;
    let low = extent(drawing).min.y;
    let steep = format!("Not to scale: slopes look {} times too steep.", scales.reduced * scales.raised);
    notes(
        drawing,
        Point::new(left, low - 3.0),
        WORK_MM.max(scales.along * sled.length_mm()),
        TEXT_MM,
        &[&steep, &made_up_of(kit, units)],
    );
    let top = extent(drawing).max.y;
    heading(drawing, Point::new(left, top + 4.0), "Side elevation, strip finished");
}

/// Table, ramp, deck, run-ons, strip and the cutter's lowest line.
fn profile(drawing: &mut Drawing, kit: &Kit, scales: &Scales) {
    let sled = &kit.sled;
    let at = |u: f64, height: f64| scales.at(u, height);
    let (length, run_on, gap) = (sled.strip_length_mm, sled.run_on_mm, sled.final_gap_mm);
    let line = |lift: f64| sled.ramp.points().iter().map(move |(u, r)| at(*u, r + lift));
    let surface = sled.deck_mm + sled.under_mm;
    drawing.path(Kind::Tone, Path::closed(line(surface).chain([at(length, gap), at(0.0, gap)])));
    // Boards and carriers run on at their own slope, with stop strips on them; a cut sled is raised at its ends.
    let ends = match kit.side {
        SideView::Raised => [0.0, length],
        SideView::Sloped { .. } => [-run_on, length + run_on],
    };
    let whole = |lift: f64| {
        let end = move |u: f64| at(u, sled.ramp.at(u) + lift);
        Path::open([end(ends[0])].into_iter().chain(line(lift)).chain([end(ends[1])]))
    };
    drawing.path(Kind::Edge, whole(surface));
    if 0.0 < sled.deck_mm {
        drawing.path(Kind::Edge, whole(0.0));
    }
    for (i, (end, outer)) in [(0.0, -run_on), (length, length + run_on)].into_iter().enumerate() {
        let seat = sled.surface_mm(end);
        drawing.line(Kind::Edge, at(end, seat), at(end, gap));
        let (top, foot) = match kit.side {
            SideView::Raised => (sled.run_on_top_mm[i].or(Some(seat)), 0.0),
            // Without shims it is solid down to the board under it.
            SideView::Sloped { base_board_mm, .. } if kit.shims.is_empty() => (sled.run_on_top_mm[i], base_board_mm),
            SideView::Sloped { board_mm, .. } => (sled.run_on_top_mm[i], sled.ramp.at(outer) - board_mm),
        };
        match top {
            Some(top) => drawing.path(Kind::Edge, Path::open([at(end, seat), at(end, top), at(outer, top), at(outer, foot)])),
            None => drawing.line(Kind::Edge, at(outer, sled.surface_mm(outer)), at(outer, foot)),
        }
    }
    drawing.line(Kind::Edge, at(-run_on, 0.0), at(length + run_on, 0.0));
    drawing.line(Kind::Centre, at(-run_on - 40.0, gap), at(length + run_on + 40.0, gap));
}

/// Ribs as hidden lines; the board under shims, and the shims as small blocks with their numbers.
fn supports(drawing: &mut Drawing, kit: &Kit, scales: &Scales) {
    let Kit { sled, shims, .. } = kit;
    let ends = [-sled.run_on_mm, sled.strip_length_mm + sled.run_on_mm];
    for u in &kit.ribs_mm {
        let over = u.clamp(0.0, sled.strip_length_mm);
        drawing.line(Kind::Hidden, scales.at(*u, 0.0), scales.at(*u, sled.ramp.at(over)));
    }
    let SideView::Sloped { base_board_mm: low, board_mm } = kit.side else { return };
    if 0.0 < low {
        let [first, last] = ends.map(|u| scales.at(u, low));
        drawing.path(Kind::Edge, Path::open([scales.at(ends[0], 0.0), first, last, scales.at(ends[1], 0.0)]));
    }
    if 0.0 < board_mm {
        let [first, last] = ends.map(|u| scales.at(u, sled.ramp.at(u) - board_mm));
        drawing.line(Kind::Edge, first, last);
    }
    let pitch = scales.along * (ends[1] - ends[0]) / shims.len().max(1) as f64;
    // Numbers stand as far apart as they are wide: where shims stand closer, some go without.
    const NUMBER_MM: f64 = 6.0;
    let mut numbered = f64::NEG_INFINITY;
    for (i, shim) in shims.iter().enumerate() {
        // Half a shim's length on the sheet, mm; one at an end stands inside it.
        let half = (0.25 * pitch).min(2.5);
        let x = scales.at(shim.u_mm, 0.0).x.clamp(scales.at(ends[0], 0.0).x + half, scales.at(ends[1], 0.0).x - half);
        let (foot, top) = (scales.at(0.0, low).y, scales.at(0.0, low + shim.made.wanted_mm.max(0.0)).y);
        drawing.path(Kind::Edge, Path::rectangle(Bounds { min: Point::new(x - half, foot), max: Point::new(x + half, top) }));
        if NUMBER_MM <= x - numbered {
            numbered = x;
            let number = Label::new((i + 1).to_string(), Point::new(x, foot - 1.5 - TEXT_MM), TEXT_MM);
            drawing.label(Kind::Dimension, number.aligned(Align::Middle));
        }
    }
}

/// What each stop is, and the last gap between them.
fn stops(drawing: &mut Drawing, units: System, sled: &Sled, scales: &Scales, gaps: &[LastGap]) {
    let (length, gap) = (sled.strip_length_mm, sled.final_gap_mm);
    let top = scales.at(0.0, gap).y;
    let text = match gaps {
        [own, _, ..] if LastGap::one_of(gaps).is_none() => {
            format!("cutter's lowest line at the last gap, drawn for {}: each has its own", own.of)
        }
        _ => format!("cutter's lowest line at the last gap, {} above the table", units.thickness(gap)),
    };
    let over = Point::new(scales.at(0.5 * length, 0.0).x, top + 1.5);
    drawing.label(Kind::Note, Label::new(text, over, TEXT_MM).aligned(Align::Middle));
    let mut lane = 0.0;
    for (i, (u, runs)) in [(0.0, Runs::Right), (length, Runs::Left)].into_iter().enumerate() {
        let what = sled.ends[i];
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

fn made_up_of(kit: &Kit, units: System) -> String {
    let Kit { sled, made_of, .. } = kit;
    let deck = if 0.0 < sled.deck_mm { format!(", deck {}", units.thickness(sled.deck_mm)) } else { String::new() };
    let under = if 0.0 < sled.under_mm {
        format!(", tape or paper under the strip {}", units.thickness(sled.under_mm))
    } else {
        String::new()
    };
    format!("Made up of: {made_of}{deck}{under}.")
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

/// Ramp and surface at both ends, at corners, at ribs or shims, or else on a regular grid; the strip where all on it become equally thick.
fn height_table(drawing: &mut Drawing, units: System, lamination: &Lamination, kit: &Kit, gaps: &[LastGap]) -> Bounds {
    let sled = &kit.sled;
    let unit = units.length_unit();
    let bare = |mm: f64| units.rule(mm).trim_end_matches(unit).trim_end().to_owned();
    let on_strip = |u: f64| (-1e-6..=sled.strip_length_mm + 1e-6).contains(&u);
    let one_strip = LastGap::one_of(gaps).is_some();
    let rows: Vec<Vec<String>> = places(kit, units)
        .into_iter()
        .map(|(u, what)| {
            let (ramp, surface) = (sled.ramp.at(u), sled.surface_mm(u));
            let mut row = vec![
                bare(u),
                bare(lamination.station_at(u)),
                units.thickness_number(ramp),
                // Beyond the strip lie stops, and what stands there is not the surface.
                if on_strip(u) { units.thickness_number(surface) } else { String::new() },
                if on_strip(u) { units.thickness_number(sled.final_gap_mm - surface) } else { String::new() },
                what,
                String::new(),
            ];
            if !one_strip {
                row.remove(STRIP_COLUMN);
            }
            row
        })
        .collect();
    let first = format!("from the strip's {}", sled.ends[0]);
    let texts = [first.as_str(), "station in the bow", "ramp", "surface", "strip"].map(|text| format!("{text}, {unit}"));
    let mut header = vec![texts[0].as_str(), &texts[1], &texts[2], &texts[3], &texts[4], "place", "read"];
    if !one_strip {
        header.remove(STRIP_COLUMN);
    }
    table(drawing, Point::new(0.0, -HEAD_MM), &header, &rows, TEXT_MM)
}

/// Where the strip stands among the columns of the table of heights.
const STRIP_COLUMN: usize = 4;

/// Places along the strip that the table lists, with their names, increasing.
fn places(kit: &Kit, units: System) -> Vec<(f64, String)> {
    let sled = &kit.sled;
    let length = sled.strip_length_mm;
    let mut places = vec![(0.0, format!("{} of the strip", sled.ends[0]))];
    places.push((length, format!("{} of the strip", sled.ends[1])));
    places.extend(sled.corners_mm.iter().map(|u| (*u, "corner of the ramp".to_owned())));
    if kit.places.len() < 4 {
        let step = round_step_mm(length, units);
        let round_ones = limit::steps_within(length - 0.3 * step, step).skip(1);
        places.extend(round_ones.map(|u| (u, String::new())));
    }
    places.extend(kit.places.iter().map(|place| (place.u_mm, place.name.clone())));
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
    const MAX_ROWS: f64 = 12.0;
    let steps = [4.0, 6.0, 8.0, 12.0].map(|inches| units.either_mm(inches, 25.0 * inches));
    steps.into_iter().find(|step| length_mm / step <= MAX_ROWS).unwrap_or(length_mm / MAX_ROWS)
}

fn shim_table(drawing: &mut Drawing, top_left: Point, build: &Build, kit: &Kit) -> Bounds {
    let units = build.units;
    let unit = units.length_unit();
    let stock = &build.shop.shims;
    let rows: Vec<Vec<String>> = (1..)
        .zip(&kit.shims)
        .map(|(number, shim): (usize, &Shim)| {
            vec![
                number.to_string(),
                units.rule(shim.u_mm).trim_end_matches(unit).trim_end().to_owned(),
                units.thickness_number(shim.made.wanted_mm),
                units.thickness_number(shim.made.made_mm),
                if shim.made.within { String::new() } else { "not within the tolerance".into() },
                shim.made.in_words(stock, units),
            ]
        })
        .collect();
    let texts =
        [format!("from the strip's {}", kit.sled.ends[0]).as_str(), "wanted", "made"].map(|text| format!("{text}, {unit}"));
    let set = table(drawing, top_left, &["shim", &texts[0], &texts[1], &texts[2], "", "of"], &rows, TEXT_MM);
    let used = |k: &usize| kit.shims.iter().any(|shim| shim.made.pieces.iter().any(|(kind, _)| kind == k));
    let kinds = stock
        .iter()
        .enumerate()
        .filter(|(k, _)| used(k))
        .map(|(_, kind)| format!("{} {}", kind.of, units.fine(kind.thickness_mm)))
        .collect::<Vec<_>>();
    if kinds.is_empty() {
        return set;
    }
    let under = Point::new(top_left.x, set.min.y - TEXT_MM);
    set.union(notes(drawing, under, WORK_MM.max(set.width()), TEXT_MM, &[&kinds.join(", ")]))
}

/// The order of the work, from the parts to the last gap.
pub fn steps(build: &Build, plan: &SledPlan, kit: &Kit, gaps: &[LastGap]) -> Vec<String> {
    let mut steps = kit.steps.clone();
    steps.extend(hold_steps(build, plan, &kit.sled, gaps));
    steps
}

/// Steps at the machine that hold for every make.
fn hold_steps(build: &Build, plan: &SledPlan, sled: &Sled, gaps: &[LastGap]) -> Vec<String> {
    let units = build.units;
    let mut steps = vec![
        format!(
            "Measure the surface at every place of the table, write down what is read, and shim with tape what is more than {} off{}.",
            units.fine(plan.tolerance_mm),
            if sled.make.any_height() { " the others; what all are off by only moves the gaps" } else { "" }
        ),
        "Drum and planer pull the strip back, against the feed. Held at its leading end, by double-sided tape under the overrun or a hook \
         below the finished face, it is pulled flat; pushed against a trailing stop alone, a thin strip can buckle into the cutter."
            .to_owned(),
    ];
    if let Some(feather) = sled.feather_mm {
        steps.push(format!(
            "The strip runs out to a feather of {}: tape it down over its whole thin length. What is left of it is \
             rubbed to nothing with a block once it is glued.",
            units.thickness(feather)
        ));
    }
    steps.push(match LastGap::one_of(gaps) {
        Some(gap_mm) => format!(
            "Set the gap between passes only, never with the sled under the cutter; the last one is {} above the table.",
            units.thickness(gap_mm)
        ),
        None => {
            let each: Vec<String> = gaps.iter().map(|gap| format!("{} {}", gap.of, units.thickness(gap.gap_mm))).collect();
            format!(
                "Set the gap between passes only, never with the sled under the cutter. Strips on this sled end at different gaps above \
                 the table, each with its own passes: {}. A strip becomes as thick as its last gap stands over the surface.",
                each.join("; ")
            )
        }
    });
    steps.push(match sled.run_on_top_mm {
        [None, None] => "No stop is high enough to hold this strip: hold both ends with tape.".to_owned(),
        _ => format!(
            "Every stop stays {}{} below the last gap: the cutter must never reach it.",
            if LastGap::one_of(gaps).is_some() { "" } else { "at least " },
            units.thickness(plan.stop_clearance_mm)
        ),
    });
    steps
}
