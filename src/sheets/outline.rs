//! The limb outline as seen from the back, true size: the whole bow, and one half as a template for the limb.
//!
//! The edge drawn is the true edge of the wood, of its widest face where the limb is trapped, without an allowance for the cut. Straight parts
//! stay straight; smooth parts become chords within [`CHORD_MM`]. Marks on the half template are lines to score: its centre line, the ends of the
//! level part and of the riser, the ends of laminations that stop short, and the nock.

use super::layout::{Flag, fitted, upright_flags};
use super::overlay;
use crate::drawing::annotate::{dimension_x, dimension_y, heading, leader, table};
use crate::drawing::font::{HEAD_MM, TEXT_MM, extent};
use crate::drawing::{Drawing, Kind, Label};
use crate::geometry::flatten::chords;
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::model::Build;
use crate::model::lamination::Face;
use crate::model::marked_station::{MarkedStation, StationKind};
use crate::model::outline::Outline;
use crate::numeric::interp::Between;
use crate::shop::cautions;
use crate::units::{fixed, limit, trim_zeros};
use std::f64::consts::FRAC_PI_2;

/// Chords of a smooth edge stay this close to it, mm: finer than a saw or a pencil, coarse enough for a cutter to run smoothly.
pub const CHORD_MM: f64 = 0.01;
/// Part names of the two outlines.
pub const WHOLE: &str = "whole bow";
pub const HALF: &str = "half template";

/// A place along the limb that the sheet marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    pub at_mm: f64,
    pub width_mm: f64,
    /// `None` for stated widths and the regular grid.
    pub name: Option<String>,
}

/// The outline sheet: the half template, and the whole bow over it where the shop wants that; `None` for a build without an outline.
pub fn sheet(build: &Build) -> Option<Drawing> {
    let outline = build.outline.as_ref()?;
    let mut drawing = Drawing::new("outline", format!("{}: limb outline, seen from the back", build.title));
    let stations = stations(build, outline);
    let half = half_template(build, outline, &stations);
    if build.shop.printed.whole_outline {
        whole_bow(&mut drawing, build, outline, &stations);
        let drop = extent(&drawing).min.y - 14.0 - extent(&half).max.y;
        drawing.include(&half, &Placement::moved(0.0, drop));
    } else {
        drawing.include(&half, &Placement::IDENTITY);
    }
    drawing.panel(|panel| {
        heading(panel, Point::new(0.0, 0.0), "Widths");
        width_table(panel, Point::new(0.0, -HEAD_MM), build, outline, &stations);
    });
    drawing.panel(|panel| nock_detail(panel, Point::new(0.0, 0.0), build, outline));
    if !build.overlays.is_empty() {
        drawing.panel(|panel| overlay::side(panel, Point::new(0.0, 0.0), build, outline));
    }
    drawing.notes = notes(build, outline);
    Some(drawing)
}

/// One edge of the outline from station `from` to `to`: `(s, half the width)`.
pub fn edge(outline: &Outline, from: f64, to: f64) -> Vec<Point> {
    let mut corners = vec![from];
    corners.extend(outline.width.points().iter().map(|point| point.0).filter(|s| from + 1e-9 < *s && *s < to - 1e-9));
    corners.push(to);
    let half = |s: f64| 0.5 * outline.width_at(s);
    let mut points = vec![Point::new(from, half(from))];
    for span in corners.windows(2) {
        match outline.width.between() {
            Between::Straight => points.push(Point::new(span[1], half(span[1]))),
            Between::Smooth => points.extend(chords(half, span[0], span[1], CHORD_MM).into_iter().skip(1)),
        }
    }
    points
}

/// One limb, from the bow's centre to the end of the wood, counter-clockwise.
pub fn half_path(outline: &Outline) -> Path {
    let edge = edge(outline, 0.0, outline.end_mm());
    let lower = edge.iter().map(|p| Point::new(p.x, -p.y));
    Path::closed(lower.chain(edge.iter().rev().copied()))
}

/// Both limbs, counter-clockwise.
pub fn whole_path(outline: &Outline) -> Path {
    let edge = edge(outline, 0.0, outline.end_mm());
    let quarter = |x: f64, y: f64| edge.iter().map(move |p| Point::new(x * p.x, y * p.y));
    // The centre's corner is met twice on each side; it is kept once.
    let lower = quarter(-1.0, -1.0).rev().chain(quarter(1.0, -1.0).skip(1));
    let upper = quarter(1.0, 1.0).rev().chain(quarter(-1.0, 1.0).skip(1));
    Path::closed(lower.chain(upper))
}

/// Stations that are marked, increasing: named places, stated widths, and a regular grid where there is room for it.
pub fn stations(build: &Build, outline: &Outline) -> Vec<Station> {
    let end = outline.end_mm();
    let all = build.marked_stations();
    let named = all.iter().filter(|station| !matches!(station.kind, StationKind::EndsWithWood(_)));
    let mut stations: Vec<Station> = Vec::new();
    for MarkedStation { station_mm: at_mm, kind } in named.copied() {
        let name = build.station_name(kind);
        match stations.last_mut() {
            // Names that fall on one place share its mark.
            Some(last) if limit::same_place(last.at_mm, at_mm) => {
                last.name = last.name.take().map(|before| format!("{before}, {name}"));
            }
            _ => stations.push(Station { at_mm, width_mm: outline.width_at(at_mm), name: Some(name) }),
        }
    }
    let step = build.units.either_mm(3.0, 75.0);
    let stated = outline.width.points().iter().map(|point| point.0);
    let grid = limit::steps_within(end, step).skip(1);
    // A stated width stands even close to a named place; a place of the grid gives way.
    for (at_mm, room) in stated.map(|s| (s, 1.0)).chain(grid.map(|s| (s, 0.2 * step))) {
        if 0.0 < at_mm && at_mm < end && stations.iter().all(|other| room <= (other.at_mm - at_mm).abs()) {
            stations.push(Station { at_mm, width_mm: outline.width_at(at_mm), name: None });
        }
    }
    stations.sort_by(|a, b| a.at_mm.total_cmp(&b.at_mm));
    stations
}

fn whole_bow(drawing: &mut Drawing, build: &Build, outline: &Outline, stations: &[Station]) {
    let end = outline.end_mm();
    drawing.part_path(Kind::Cut, WHOLE, whole_path(outline));
    drawing.line(Kind::Centre, Point::new(-end - 8.0, 0.0), Point::new(end + 8.0, 0.0));
    for side in [1.0, -1.0] {
        for station in stations.iter().filter(|station| 0.0 < side || 0.0 < station.at_mm) {
            let (x, half) = (side * station.at_mm, 0.5 * station.width_mm);
            drawing.line(Kind::Dimension, Point::new(x, -half), Point::new(x, half));
        }
        for groove in groove_marks(outline, side) {
            drawing.path(Kind::Edge, groove);
        }
    }
    station_flags(drawing, build, outline, stations, &[-1.0, 1.0]);
    let low = -0.5 * outline.width.max().y;
    let nock = outline.nock_mm();
    let at = |s: f64| Point::new(s, -0.5 * outline.width_at(s));
    dimension_x(drawing, at(-nock), at(nock), low - 10.0, &format!("{} nock to nock", build.units.rule(2.0 * nock)));
    dimension_x(drawing, at(-end), at(end), low - 18.0, &format!("{} of wood", build.units.rule(2.0 * end)));
    let top = extent(drawing).max.y;
    heading(drawing, Point::new(-end, top + 4.0), "Whole bow");
}

fn station_flags(drawing: &mut Drawing, build: &Build, outline: &Outline, stations: &[Station], sides: &[f64]) {
    let floor = 0.5 * outline.width.max().y + 3.0;
    let text = |station: &Station| {
        let (at, wide) = (build.units.rule(station.at_mm), build.units.rule(station.width_mm));
        station.name.as_ref().map_or(format!("{at}: {wide} wide"), |name| format!("{name} {at}: {wide} wide"))
    };
    let shown: Vec<Flag> = sides
        .iter()
        .flat_map(|side| stations.iter().map(move |station| (*side, station)))
        .filter(|(side, station)| 0.0 < *side || 0.0 < station.at_mm)
        .map(|(side, station)| Flag { x: side * station.at_mm, foot: 0.5 * station.width_mm, text: text(station) })
        .collect();
    upright_flags(drawing, &shown, floor, TEXT_MM);
}

/// Lines square to both edges at the nock, as deep as the string's groove.
fn groove_marks(outline: &Outline, side: f64) -> [Path; 2] {
    let (x, half) = (side * outline.nock_mm(), 0.5 * outline.width_at(outline.nock_mm()));
    let bottom = (half - outline.nock.depth_mm).max(0.0);
    [1.0, -1.0].map(|edge| Path::line(Point::new(x, edge * half), Point::new(x, edge * bottom)))
}

fn half_template(build: &Build, outline: &Outline, stations: &[Station]) -> Drawing {
    let mut drawing = Drawing::default();
    let end = outline.end_mm();
    drawing.part_path(Kind::Cut, HALF, half_path(outline));
    drawing.part_path(Kind::Score, HALF, Path::line(Point::new(0.0, 0.0), Point::new(end, 0.0)));
    for station in stations.iter().filter(|station| 0.0 < station.at_mm && station.at_mm < end) {
        let half = 0.5 * station.width_mm;
        // Named places are scored across the template; at other stations its edges get a tick.
        let reach = if station.name.is_some() { half } else { (0.2 * half).min(3.0) };
        let is_nock = (station.at_mm - outline.nock_mm()).abs() < 0.05;
        for edge in [1.0, -1.0].iter().filter(|_| !is_nock) {
            let line = Path::line(Point::new(station.at_mm, edge * half), Point::new(station.at_mm, edge * (half - reach)));
            drawing.part_path(Kind::Score, HALF, line);
        }
    }
    for groove in groove_marks(outline, 1.0) {
        drawing.part_path(Kind::Score, HALF, groove);
    }
    engrave(&mut drawing, build, outline, stations);
    station_flags(&mut drawing, build, outline, stations, &[1.0]);
    let low = -0.5 * outline.width.max().y;
    let at = |s: f64| Point::new(s, -0.5 * outline.width_at(s));
    let nock = outline.nock_mm();
    dimension_x(&mut drawing, at(0.0), at(nock), low - 9.0, &format!("{} centre to nock", build.units.rule(nock)));
    dimension_x(&mut drawing, at(0.0), at(end), low - 17.0, &format!("{} of wood", build.units.rule(end)));
    heading(&mut drawing, Point::new(0.0, low - 22.0 - HEAD_MM), "Half template: one limb, back side up");
    drawing
}

/// Names burned into the half template, each where its marks leave room: over the centre line which end is which and that this
/// is the back, under it what each mark is.
fn engrave(drawing: &mut Drawing, build: &Build, outline: &Outline, stations: &[Station]) {
    const EDGE_MM: f64 = 1.2;
    let bounds: Vec<f64> = stations.iter().filter(|s| s.name.is_some()).map(|s| s.at_mm).collect();
    let mut put = |text: &str, from: f64, to: f64| {
        let height = 0.5 * outline.width_at(from).min(outline.width_at(to)) - 2.0 * EDGE_MM;
        let centre = Point::new(0.5 * (from + to), EDGE_MM + 0.5 * height);
        if let Some(label) = fitted(text, centre, to - from - 2.0 * EDGE_MM, height, HEAD_MM) {
            drawing.label(Kind::Engrave, label);
        }
    };
    let spans: Vec<(f64, f64)> = bounds.windows(2).map(|pair| (pair[0], pair[1])).collect();
    if let Some((from, to)) = spans.first() {
        put("CENTRE", *from, to.min(from + 40.0));
    }
    // The widest span takes the bow's name and the face; the tip's name stands before the nock.
    let widest = spans.iter().copied().fold((0.0, 0.0), |best, span| if best.1 - best.0 < span.1 - span.0 { span } else { best });
    let middle = widest.0 + 0.3 * (widest.1 - widest.0);
    put(&format!("BACK   {}   limb template", build.title), widest.0, middle);
    put("TIP", outline.nock_mm() - 24.0, outline.nock_mm());
    for station in stations.iter().filter(|s| 0.0 < s.at_mm && s.at_mm < outline.nock_mm() - 0.05) {
        let Some(name) = &station.name else { continue };
        let height = 0.5 * station.width_mm - 2.0 * EDGE_MM;
        let turned = fitted(name, Point::new(0.0, 0.0), height, 4.0, 2.0);
        if let Some(label) = turned {
            // Turned a quarter, its middle on the lower half, its foot against the mark.
            let at = Point::new(station.at_mm - 1.0, -EDGE_MM - 0.5 * height);
            drawing.label(Kind::Engrave, Label { at, ..label }.turned(FRAC_PI_2));
        }
    }
}

fn width_table(drawing: &mut Drawing, top_left: Point, build: &Build, outline: &Outline, stations: &[Station]) -> Bounds {
    let unit = build.units.length_unit();
    let bare = |mm: f64| build.units.rule(mm).trim_end_matches(unit).trim_end().to_owned();
    let narrower = outline.shape.trapped.as_ref().map(|trapped| trapped.face);
    let row = |s: &Station| {
        let mut row = vec![bare(s.at_mm), bare(s.width_mm), bare(0.5 * s.width_mm)];
        row.extend(narrower.map(|_| bare(outline.faces_at(s.at_mm).into_iter().fold(s.width_mm, f64::min))));
        row.push(s.name.clone().unwrap_or_default());
        row
    };
    let rows: Vec<Vec<String>> = stations.iter().map(row).collect();
    let mut header = vec![format!("station, {unit}"), format!("full width, {unit}"), format!("half, {unit}")];
    header.extend(narrower.map(|face| format!("{}, {unit}", face.word())));
    header.push("place".to_owned());
    let header: Vec<&str> = header.iter().map(String::as_str).collect();
    table(drawing, top_left, &header, &rows, TEXT_MM)
}

/// The limb's edge about the nock with its overlays, true size: how the groove runs from the face that is seen from the back to the other.
fn nock_detail(drawing: &mut Drawing, top_left: Point, build: &Build, outline: &Outline) {
    let (nock, end) = (outline.nock_mm(), outline.end_mm());
    // A lamination may stop short of the wood's end by a hair; the thickness there is that at the nock.
    let deep = |s: f64| Some(build.depth_mm(s)).filter(|deep| 0.0 < *deep).unwrap_or_else(|| build.depth_mm(nock));
    let above = |s: f64| build.tip_overlays_mm(s)[0];
    let belly = |s: f64| deep(s) + build.tip_overlays_mm(s)[1];
    let slant = outline.nock.angle_rad.tan();
    // Where the groove comes out: a thickness changes little over its run, so that a few turns settle it.
    let out = (0..12).fold(nock, |out, _| nock - slant * (above(nock) + belly(out)));
    let from = nock - (nock - out + 20.0).max(40.0);
    let degrees = trim_zeros(&fixed(outline.nock.angle_rad.to_degrees(), 1));
    heading(drawing, Point::new(top_left.x, top_left.y - HEAD_MM), "Nock, seen on the limb's edge");
    let shift = |s: f64, y: f64| Point::new(top_left.x + 4.0 + s - from, top_left.y - 30.0 - above(end) + y);
    let edge = [shift(from, -deep(from)), shift(end, -deep(end)), shift(end, 0.0), shift(from, 0.0)];
    drawing.path(Kind::Tone, Path::closed(edge));
    drawing.path(Kind::Edge, Path::open(edge));
    for overlay in &build.overlays {
        let start = overlay.start_mm(end).max(from);
        let stops = [start, overlay.corners(end)[1].clamp(start, end), end];
        let faces = |s: f64| if overlay.face == Face::Back { [0.0, above(s)] } else { [-deep(s), -belly(s)] };
        let face = |k: usize| stops.into_iter().map(move |s| shift(s, faces(s)[k]));
        let shape = Path::closed(face(0).chain(face(1).rev()));
        drawing.path(Kind::Tone, shape.clone());
        drawing.path(Kind::Edge, shape);
    }
    let (top, bottom) = (shift(nock, above(nock)), shift(out, -belly(out)));
    drawing.line(Kind::Edge, top, bottom);
    drawing.line(Kind::Centre, Point::new(top.x, top.y + 4.0), Point::new(top.x, bottom.y - 3.0));
    dimension_x(drawing, top, shift(end, above(end)), top.y + 8.0, &build.units.rule(outline.tip_beyond_nock_mm));
    let right = shift(end, 0.0).x;
    let whole = above(end) + belly(end);
    dimension_y(drawing, shift(end, -belly(end)), shift(end, above(end)), right + 22.0, &build.units.thickness(whole));
    let shelf = Point::new(bottom.x - 4.0, bottom.y - 12.0);
    let mut lines = vec![
        format!("groove {degrees}° off the line across the limb,"),
        "falling toward the belly and the grip;".to_owned(),
        format!("{} deep, square to the edge", build.units.rule(outline.nock.depth_mm)),
    ];
    if !build.overlays.is_empty() {
        lines.push("its thickness is with the overlays, through which the groove goes".to_owned());
    }
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    leader(drawing, bottom, Point::new(bottom.x + 6.0, shelf.y), &lines);
    // Clear of an overlay that begins beneath the word.
    let (here, clear) = (from + 2.0, from + 2.0 + 4.0 * TEXT_MM);
    drawing.label(Kind::Note, Label::new("back", shift(here, above(here).max(above(clear)) + 2.0), TEXT_MM));
    drawing.label(Kind::Note, Label::new("belly", shift(here, -belly(here).max(belly(clear)) - 2.0 - TEXT_MM), TEXT_MM));
}

fn notes(build: &Build, outline: &Outline) -> Vec<String> {
    let mut notes = vec![
        "True size. The line is the finished edge of the wood, with no allowance for a cut: saw outside it and come to it with file and \
         paper."
            .to_owned(),
        "Stations are measured along the back from the bow's centre. Lay the half template's centre line on a stretched centre line, and \
         turn the template end for end about the bow's centre for the other limb."
            .to_owned(),
        format!(
            "File the grooves shallow first and to {} only after the limbs bend alike.",
            build.units.rule(outline.nock.depth_mm)
        ),
    ];
    if let Some(trapped) = &outline.shape.trapped {
        notes.push(format!(
            "The line is the widest face, the {}: saw square to it, then trap the {} to the widths of the table, both sides alike.",
            trapped.face.other().word(),
            trapped.face.word()
        ));
    }
    if outline.shape.crown_mm.is_some() {
        notes.push("The belly is crowned after that: how high, the book's table says.".into());
    }
    if build.riser.is_none() {
        notes.push("The build has no riser: its fades are not marked.".into());
    }
    notes.push(format!("{} {}", cautions::cutting(&build.shop), cautions::RULES_FIRST));
    notes
}
