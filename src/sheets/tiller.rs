//! The tiller chart: how the limbs shall bend from brace to full draw, as they hang on a tillering tree, string below.
//!
//! [`reduced`] shows the whole bow on one page with the distances in a table; [`full_size`] one limb at true size, to hang behind the
//! tree with the grip on its mark and to turn over for the other limb.

use crate::drawing::annotate::{heading, table};
use crate::drawing::font::{HEAD_MM, SMALL_MM, TEXT_MM, width_mm};
use crate::drawing::{Align, Drawing, Kind, Label, Lettering};
use crate::geometry::{Path, Point};
use crate::mechanics::blank::Floor;
use crate::mechanics::draw::{DrawCurve, DrawPoint};
use crate::mechanics::tiller::{TargetRow, Targets};
use crate::model::Build;
use crate::model::limb::LimbSide;
use crate::shop::cautions::{DRY_FIRE, ON_THE_TREE, PRACTICE_FIRST};
use crate::units::System;

/// Width of the reduced view on paper, at most, mm: it fits on Letter and A4 upright.
const VIEW_MM: f64 = 172.0;

/// How a bow is weighed on the floor.
pub const ON_THE_FLOOR: &str = "On the floor: nocks on two blocks, belly up, pressed down at the grip";

/// The whole bow, reduced, over the table of distances from belly to string.
pub fn reduced(build: &Build, curve: &DrawCurve, targets: &Targets, floor: &[Floor]) -> Drawing {
    let mut drawing = Drawing::new("tiller", format!("{}: tiller", build.title));
    let scale = scale_of(curve);
    let half = greatest(curve, |place| place.y_mm) / scale;
    drawing.panel(|panel| {
        hanging(panel, curve, targets, scale);
        heading(panel, Point::new(-half, 12.0), "How the limbs bend");
        panel.label(Kind::Note, Label::new(LEGEND, Point::new(-half, lowest(curve, scale) - 10.0), TEXT_MM));
    });
    let units = build.units;
    let stations: Vec<String> = targets.stations_mm.iter().map(|s| units.rule(*s)).collect();
    let head: Vec<&str> = ["draw length", "weight", "limb"].into_iter().chain(stations.iter().map(String::as_str)).collect();
    let rows: Vec<Vec<String>> = targets
        .rows
        .iter()
        .flat_map(|row| {
            let draw = if row.point == 0 { "brace".to_owned() } else { units.rule(row.draw_length_mm) };
            [[draw, weight(build, row), "upper".into()], [String::new(), String::new(), "lower".into()]]
                .into_iter()
                .enumerate()
                .map(|(side, first)| first.into_iter().chain(row.gaps_mm.iter().map(|gap| units.tiller(gap[side]))).collect())
        })
        .collect();
    let cap = if fits(&head, &rows, TEXT_MM, 2.0 * half) { TEXT_MM } else { SMALL_MM };
    drawing.panel(|panel| {
        heading(panel, Point::new(0.0, 0.0), "From belly to string, square to the string");
        table(panel, Point::new(0.0, -HEAD_MM), &head, &rows, cap);
    });
    let rows: Vec<Vec<String>> = floor
        .iter()
        .map(|row| vec![units.rule(row.drop_mm), units.force_text(row.blank_n), units.force_text(row.trimmed_n)])
        .collect();
    if rows.is_empty() {
        drawing.notes = notes(build, targets);
        return drawing;
    }
    drawing.panel(|panel| {
        heading(panel, Point::new(0.0, 0.0), ON_THE_FLOOR);
        let head = ["pressed down", "blank, not trimmed", "trimmed to the outline"];
        table(panel, Point::new(0.0, -HEAD_MM), &head, &rows, cap);
    });
    drawing.notes = notes(build, targets);
    drawing
}

/// The bow alone for a page of the book; [`LEGEND`] says what it shows.
pub fn alone(curve: &DrawCurve, targets: &Targets) -> Drawing {
    let scale = scale_of(curve);
    let mut drawing = Drawing::new("tiller", "How the limbs bend");
    hanging(&mut drawing, curve, targets, scale);
    drawing
}

fn scale_of(curve: &DrawCurve) -> f64 {
    let wide = 2.0 * greatest(curve, |place| place.y_mm);
    [4.0, 5.0, 6.0, 8.0, 10.0, 12.0].into_iter().find(|k| wide / k <= VIEW_MM).unwrap_or(15.0)
}

/// What the reduced view shows; a page may reduce it further, so no scale is told.
pub const LEGEND: &str =
    "Reduced. Back up, string below, as on a tillering tree. Thin lines: the belly at the draws of the table.";

/// The lowest point of the reduced view, mm.
fn lowest(curve: &DrawCurve, scale: f64) -> f64 {
    let hand = curve.grip_depth_mm + curve.at_full_draw().pivot_to_nock_mm;
    -greatest(curve, |place| place.x_mm).max(hand) / scale
}

/// Both limbs at every draw of the targets, the bow's back at the grip on the origin.
fn hanging(drawing: &mut Drawing, curve: &DrawCurve, targets: &Targets, scale: f64) {
    let limbs = curve.limbs();
    let [upper, lower] = limbs.map(|curve| Hang { scale, curve });
    for (row, last) in targets.rows.iter().enumerate().map(|(k, row)| (row, k + 1 == targets.rows.len())) {
        for ((side, hang), off) in [(1.0, &upper), (-1.0, &lower)].into_iter().zip(&limbs_off(curve, targets, row)) {
            let point = &hang.curve.points[row.point];
            if last {
                let whole = hang.wood(point, side, off);
                drawing.path(Kind::Tone, whole.clone());
                drawing.path(Kind::Edge, whole);
            } else {
                drawing.path(Kind::Dimension, Path::open(hang.line(point, 1.0, side, off)));
            }
        }
        if last || row.point == 0 {
            let nock = |side: f64, hang: &Hang<'_>| {
                let place = hang.curve.points[row.point].places.last()?;
                Some(hang.at(place.x_mm, side * place.y_mm))
            };
            let nocking = limbs[0].nocking_point(&limbs[0].points[row.point]);
            let string = [nock(-1.0, &lower), Some(upper.at(nocking.x, nocking.y)), nock(1.0, &upper)].into_iter().flatten();
            drawing.path(if last { Kind::Dimension } else { Kind::Hidden }, Path::open(string));
        }
    }
    let half = greatest(curve, |place| place.y_mm) / scale;
    for (x, text, align) in [(half, "upper limb", Align::Right), (-half, "lower limb", Align::Left)] {
        drawing.label(Kind::Note, Label::new(text, Point::new(x, 7.0), TEXT_MM).aligned(align));
    }
    drawing.line(Kind::Centre, Point::new(0.0, 6.0), Point::new(0.0, lowest(curve, scale) - 4.0));
    drawing.line(Kind::Centre, Point::new(-half - 3.0, 0.0), Point::new(half + 3.0, 0.0));
}

/// One limb at true size: the belly from brace to full draw, with its distances from the string at stations.
pub fn full_size(build: &Build, curve: &DrawCurve, targets: &Targets) -> Drawing {
    let mut drawing = Drawing::new("tiller-full-size", format!("{}: tiller, true size", build.title));
    let hang = Hang { scale: 1.0, curve };
    let units = build.units;
    // Of two different limbs this one alone, with its own distances.
    let own = build.limb.as_ref().map(|limb| usize::from(limb.is == LimbSide::Lower));
    let nock_mm = greatest(curve, |place| place.y_mm);
    // As far as the grip needs it: longer, it would take pages of its own.
    drawing.line(Kind::Centre, Point::new(0.0, 30.0), Point::new(0.0, -curve.grip_depth_mm - 60.0));
    drawing.line(Kind::Centre, Point::new(-30.0, 0.0), Point::new(nock_mm + 10.0, 0.0));
    // The wood at full draw, under the lines: its back as one would be taken for a belly.
    if let Some(full) = targets.rows.last() {
        let [upper, _] = limbs_off(curve, targets, full);
        drawing.path(Kind::Tone, hang.wood(&curve.points[full.point], 1.0, &upper));
    }
    let mut lowest_end = f64::INFINITY;
    for row in &targets.rows {
        let point = &curve.points[row.point];
        let last = row.point + 1 == curve.points.len();
        let offs = limbs_off(curve, targets, row);
        let [upper, lower] = &offs;
        drawing.path(if last { Kind::Edge } else { Kind::Dimension }, Path::open(hang.line(point, 1.0, 1.0, upper)));
        let two = two_lines(upper, lower);
        if two {
            drawing.path(Kind::Hidden, Path::open(hang.line(point, 1.0, 1.0, lower)));
        }
        let draw = if row.point == 0 { "brace".to_owned() } else { units.rule(row.draw_length_mm) };
        if let Some(end) = hang.line(point, 1.0, 1.0, upper).last() {
            let text = [draw, weight(build, row)].join("  ");
            // Ends of early draws stand close together.
            lowest_end = (end.y - 0.5 * TEXT_MM).min(lowest_end - 1.7 * TEXT_MM);
            drawing.label(Kind::Note, Label::new(text, Point::new(end.x + 3.0, lowest_end), TEXT_MM));
        }
        for (s, gap) in targets.stations_mm.iter().zip(&row.gaps_mm) {
            let on = offs.each_ref().map(|off| belly_at(curve, point, *s, off)).map(|belly| hang.at(belly.x, belly.y));
            let rings = if two { 2 } else { 1 };
            on.iter().take(rings).for_each(|at| drawing.path(Kind::Dimension, Path::circle(*at, 0.8)));
            let at = on[..rings].iter().fold(on[0], |low, at| if at.y < low.y { *at } else { low });
            // Lines stand some 20 mm apart at the tip and run together at the fades: figures only where they have room.
            // The line falls to the right: under it there is room on the left.
            let text = own.map_or_else(|| gap.map(|mm| units.tiller(mm)).join(" / "), |side| units.tiller(gap[side]));
            let left_mm = s - BESIDE_RING_MM - width_mm(&text, SMALL_MM, Lettering::Regular);
            if MIN_APART_MM < apart(curve, targets, row, [*s, *s])
                && BESIDE_RING_MM + 1.5 * SMALL_MM < apart(curve, targets, row, [*s, left_mm])
            {
                let label = Label::new(text, Point::new(at.x - BESIDE_RING_MM, at.y - BESIDE_RING_MM - SMALL_MM), SMALL_MM);
                drawing.label(Kind::Dimension, label.aligned(Align::Right));
            }
        }
    }
    for s in &targets.stations_mm {
        let belly = belly_at(curve, curve.at_brace(), *s, &[]);
        let at = hang.at(belly.x, belly.y);
        drawing.line(Kind::Dimension, Point::new(at.x, 8.0), Point::new(at.x, 14.0));
        let label = Label::new(units.rule(*s), Point::new(at.x, 16.0), TEXT_MM);
        drawing.label(Kind::Note, label.aligned(Align::Middle));
    }
    if let Some(limb) = &build.limb {
        drawing.notes = vec![format!(
            "The {} limb alone; the {} limb has a sheet of its own. Back of the grip on the cross at the left. Station figures above, belly to \
             string at the rings where there is room for it: the other tiller sheet has all.",
            limb.is.word(),
            limb.is.other().word()
        )];
        drawing.notes.extend(notes(build, targets));
        return drawing;
    }
    drawing.notes = vec![
        "Back of the grip on the cross at the left. Station figures above, belly to string at the rings where there is room for it, upper / lower limb: the \
         other tiller sheet has all."
            .into(),
        if targets.rows.iter().map(|row| limbs_off(curve, targets, row)).any(|[upper, lower]| two_lines(&upper, &lower)) {
            "Solid: the upper limb's belly. Dashed: the lower limb's. One line stands for both where they fall together."
        } else {
            "Each line stands for both limbs: they shall hang alike."
        }
        .into(),
    ];
    drawing.notes.extend(notes(build, targets));
    drawing
}

/// Less between two lines, and a figure under one would stand on the other, mm.
const MIN_APART_MM: f64 = 6.5;
/// From the middle of a ring to its figure, across and down, mm.
const BESIDE_RING_MM: f64 = 1.2;

/// The bow as it hangs: along the page to the right, drawn downward.
struct Hang<'a> {
    scale: f64,
    curve: &'a DrawCurve,
}

impl Hang<'_> {
    fn at(&self, x: f64, y: f64) -> Point {
        Point::new(y / self.scale, -x / self.scale)
    }

    /// The limb's back (`depth` 0) or belly (`depth` 1) from the bow's centre to the nock, on one side, so far off ([`limbs_off`]).
    fn line<'b>(
        &'b self,
        point: &'b DrawPoint,
        depth: f64,
        side: f64,
        off: &'b [(f64, f64)],
    ) -> impl Iterator<Item = Point> + 'b {
        (0..self.curve.stations.len()).map(move |k| {
            let place = moved(self.curve, point, self.curve.face(point, k, depth), off_at(off, self.curve.stations[k].s_mm));
            self.at(place.x, side * place.y)
        })
    }

    /// The limb from the bow's centre along its back and along its belly home.
    fn wood(&self, point: &DrawPoint, side: f64, off: &[(f64, f64)]) -> Path {
        let belly: Vec<Point> = self.line(point, 1.0, side, off).collect();
        Path::closed(self.line(point, 0.0, side, off).chain(belly.into_iter().rev()))
    }
}

/// How much farther from the string the upper and the lower limb shall stand than two limbs alike would, station by station, mm. The
/// curve is that of limbs alike; the targets are those of the pair. Nothing at the bow's centre, on which it turns, and at the nocks, on which the
/// string hangs.
fn limbs_off(curve: &DrawCurve, targets: &Targets, row: &TargetRow) -> [Vec<(f64, f64)>; 2] {
    if targets.by_design || targets.positive_tiller_mm <= 0.0 {
        return [Vec::new(), Vec::new()];
    }
    let nock = curve.stations.last().map(|station| (station.s_mm, 0.0));
    [0, 1].map(|side| {
        let between = targets.stations_mm.iter().zip(&row.gaps_mm);
        let between = between.map(|(s, gap)| (*s, gap[side] - curve.to_string_at(&curve.points[row.point], *s)));
        [(0.0, 0.0)].into_iter().chain(between).chain(nock).collect()
    })
}

/// Straight between the stations; nothing where limbs are alike.
fn off_at(off: &[(f64, f64)], s_mm: f64) -> f64 {
    let next = off.partition_point(|(s, _)| *s < s_mm);
    match (next.checked_sub(1).and_then(|before| off.get(before)), off.get(next)) {
        (Some((a, from)), Some((b, to))) if a < b => from + (s_mm - a) / (b - a) * (to - from),
        (_, Some((_, there))) | (Some((_, there)), None) => *there,
        (None, None) => 0.0,
    }
}

/// A place on a limb, so much farther from its half of the string, square to it.
fn moved(curve: &DrawCurve, point: &DrawPoint, place: Point, off_mm: f64) -> Point {
    let Some(nock) = point.places.last() else { return place };
    let (back, along) = (nock.x_mm - (curve.grip_depth_mm + point.pivot_to_nock_mm), nock.y_mm);
    let long = back.hypot(along);
    Point::new(place.x - off_mm * along / long, place.y + off_mm * back / long)
}

/// Whether lines at true size fall apart by more than their weight.
fn two_lines(upper: &[(f64, f64)], lower: &[(f64, f64)]) -> bool {
    upper.iter().zip(lower).any(|((_, a), (_, b))| LINE_MM < (a - b).abs())
}

/// The heaviest line of a sheet, mm.
const LINE_MM: f64 = 0.35;

fn greatest(curve: &DrawCurve, of: impl Fn(&crate::mechanics::strain::LimbPlace) -> f64) -> f64 {
    let points = curve.limbs().into_iter().flat_map(|limb| [limb.at_brace(), limb.at_full_draw()]);
    points.flat_map(|point| point.places.iter().map(&of)).fold(0.0, f64::max)
}

/// The belly at a station, straight between the stations of the results, so far off ([`limbs_off`]).
fn belly_at(curve: &DrawCurve, point: &DrawPoint, s_mm: f64, off: &[(f64, f64)]) -> Point {
    let next = curve.stations.partition_point(|station| station.s_mm < s_mm).clamp(1, curve.stations.len() - 1);
    let (near, far) = (curve.stations[next - 1].s_mm, curve.stations[next].s_mm);
    let fraction = if near < far { ((s_mm - near) / (far - near)).clamp(0.0, 1.0) } else { 1.0 };
    let (a, b) = (curve.face(point, next - 1, 1.0), curve.face(point, next, 1.0));
    moved(curve, point, a.lerp(b, fraction), off_at(off, s_mm))
}

/// How far below a row's lines at one station those of the next one run at another, mm.
fn apart(curve: &DrawCurve, targets: &Targets, row: &TargetRow, [s_mm, next_mm]: [f64; 2]) -> f64 {
    let next = targets.rows.iter().find(|other| row.point < other.point);
    let lines = |row: &TargetRow, s_mm: f64| {
        limbs_off(curve, targets, row).map(|off| belly_at(curve, &curve.points[row.point], s_mm.max(0.0), &off).x)
    };
    next.map_or(f64::INFINITY, |next| {
        let ([a, b], [c, d]) = (lines(row, s_mm), lines(next, next_mm));
        c.min(d) - a.max(b)
    })
}

fn fits(head: &[&str], rows: &[Vec<String>], cap_mm: f64, width: f64) -> bool {
    let column = |k: usize| {
        rows.iter()
            .map(|row| width_mm(&row[k], cap_mm, Lettering::Regular))
            .fold(width_mm(head[k], cap_mm, Lettering::Bold), f64::max)
            + 1.8 * cap_mm
    };
    (0..head.len()).map(column).sum::<f64>() <= width
}

/// What difference between the limbs is wanted.
pub fn tiller_note(units: System, targets: &Targets) -> String {
    let wanted_mm = targets.positive_tiller_mm;
    if targets.by_design {
        let than = if wanted_mm < 0.0 { "nearer to" } else { "farther from" };
        return format!(
            "Two different limbs: as they are designed, at brace the upper one stands {} {than} the string, each at the end of its fade.",
            units.tiller(wanted_mm.abs())
        );
    }
    if wanted_mm <= 0.0 {
        return "Both limbs shall stand alike.".into();
    }
    format!(
        "The upper limb shall stand {} farther from the string at its fade at brace, for the hand below the middle: common practice, no source.",
        units.tiller(wanted_mm)
    )
}

/// At brace the string pulls on nobody.
fn weight(build: &Build, row: &TargetRow) -> String {
    if row.point == 0 { String::new() } else { build.units.force_text(row.force_n) }
}

fn notes(build: &Build, targets: &Targets) -> Vec<String> {
    vec![
        "The limb nearer the string is the stiffer one. Where a distance is off need not be where the fault is: log what you read, and the log tells."
            .into(),
        tiller_note(build.units, targets),
        format!("{ON_THE_TREE} {DRY_FIRE} Work a new draw in with many short pulls before going further."),
        PRACTICE_FIRST.into(),
    ]
}
