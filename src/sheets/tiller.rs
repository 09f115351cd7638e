//! The tiller chart: how the limbs shall bend from brace to full draw, as they hang on a tillering tree, string below.
//!
//! [`reduced`] shows the whole bow on one page with the distances in a table; [`full_size`] one limb at true size, to hang behind the
//! tree with the grip on its mark and to turn over for the other limb.

use super::bow::limb;
use crate::drawing::annotate::{heading, table};
use crate::drawing::font::{HEAD_MM, SMALL_MM, TEXT_MM, width_mm};
use crate::drawing::{Align, Drawing, Kind, Label};
use crate::geometry::{Path, Point};
use crate::mechanics::blank::Floor;
use crate::mechanics::draw::{DrawCurve, DrawPoint};
use crate::mechanics::tiller::{Targets, TillerRow};
use crate::model::Build;

/// Width of the reduced view on paper, at most, mm: it fits on Letter and A4 upright.
const VIEW_MM: f64 = 172.0;

/// The whole bow, reduced, over the table of distances from belly to string.
pub fn reduced(build: &Build, curve: &DrawCurve, targets: &Targets, floor: &[Floor]) -> Drawing {
    let mut drawing = Drawing::new("tiller", format!("{}: tiller", build.title));
    let scale = scale_of(curve);
    hanging(&mut drawing, curve, targets, scale);
    let half = greatest(curve, |place| place.y_mm) / scale;
    let low = lowest(curve, scale);
    heading(&mut drawing, Point::new(-half, 12.0), "How the limbs bend");
    drawing.label(Kind::Note, Label::new(legend(scale), Point::new(-half, low - 10.0), TEXT_MM));
    heading(&mut drawing, Point::new(-half, low - 22.0), "From belly to string, square to the string");
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
    let under = table(&mut drawing, Point::new(-half, low - 22.0 - HEAD_MM), &head, &rows, cap).min.y - 10.0;
    heading(&mut drawing, Point::new(-half, under), "On the floor: nocks on two blocks, belly up, pressed down at the grip");
    let rows: Vec<Vec<String>> = floor
        .iter()
        .map(|row| vec![units.rule(row.drop_mm), units.force_text(row.blank_n), units.force_text(row.trimmed_n)])
        .collect();
    table(
        &mut drawing,
        Point::new(-half, under - HEAD_MM),
        &["pressed down", "blank, not trimmed", "trimmed to the outline"],
        &rows,
        cap,
    );
    drawing.notes = notes(build);
    drawing
}

/// The bow alone for a page of the book, and what it shows.
pub fn alone(curve: &DrawCurve, targets: &Targets) -> (Drawing, String) {
    let scale = scale_of(curve);
    let mut drawing = Drawing::new("tiller", "How the limbs bend");
    hanging(&mut drawing, curve, targets, scale);
    (drawing, legend(scale))
}

fn scale_of(curve: &DrawCurve) -> f64 {
    let wide = 2.0 * greatest(curve, |place| place.y_mm);
    [4.0, 5.0, 6.0, 8.0, 10.0, 12.0].into_iter().find(|k| wide / k <= VIEW_MM).unwrap_or(15.0)
}

fn legend(scale: f64) -> String {
    format!("1 : {scale:.0}. Back up, string below, as on a tillering tree. Thin lines: the belly at the draws of the table.")
}

/// The lowest point of the reduced view, mm.
fn lowest(curve: &DrawCurve, scale: f64) -> f64 {
    let hand = curve.grip_depth_mm + curve.at_full_draw().pivot_to_nock_mm;
    -greatest(curve, |place| place.x_mm).max(hand) / scale
}

/// Both limbs at every draw of the targets, the bow's back at the grip on the origin.
fn hanging(drawing: &mut Drawing, curve: &DrawCurve, targets: &Targets, scale: f64) {
    let hang = Hang { scale, curve };
    for (row, last) in targets.rows.iter().enumerate().map(|(k, row)| (row, k + 1 == targets.rows.len())) {
        let point = &curve.points[row.point];
        for side in [1.0, -1.0] {
            if last {
                let whole = limb(curve, point, |x, y| hang.at(x, side * y));
                drawing.path(Kind::Tone, whole.clone());
                drawing.path(Kind::Edge, whole);
            } else {
                drawing.path(Kind::Dimension, Path::open(hang.line(point, 1.0, side)));
            }
        }
        if last || row.point == 0 {
            let nock = |side: f64| point.places.last().map(|place| hang.at(place.x_mm, side * place.y_mm));
            let hand = hang.at(curve.grip_depth_mm + point.pivot_to_nock_mm, 0.0);
            let string = [nock(-1.0), Some(hand), nock(1.0)].into_iter().flatten();
            drawing.path(if last { Kind::Dimension } else { Kind::Hidden }, Path::open(string));
        }
    }
    let half = greatest(curve, |place| place.y_mm) / scale;
    drawing.line(Kind::Centre, Point::new(0.0, 6.0), Point::new(0.0, lowest(curve, scale) - 4.0));
    drawing.line(Kind::Centre, Point::new(-half - 3.0, 0.0), Point::new(half + 3.0, 0.0));
}

/// One limb at true size: the belly from brace to full draw, with its distances from the string at stations.
pub fn full_size(build: &Build, curve: &DrawCurve, targets: &Targets) -> Drawing {
    let mut drawing = Drawing::new("tiller-full-size", format!("{}: tiller, true size", build.title));
    let hang = Hang { scale: 1.0, curve };
    let units = build.units;
    let nock_mm = greatest(curve, |place| place.y_mm);
    drawing.line(Kind::Centre, Point::new(0.0, 30.0), Point::new(0.0, -greatest(curve, |place| place.x_mm) - 20.0));
    drawing.line(Kind::Centre, Point::new(-30.0, 0.0), Point::new(nock_mm + 10.0, 0.0));
    for row in &targets.rows {
        let point = &curve.points[row.point];
        let last = row.point + 1 == curve.points.len();
        drawing.path(if last { Kind::Edge } else { Kind::Dimension }, Path::open(hang.line(point, 1.0, 1.0)));
        if last {
            drawing.path(Kind::Hidden, Path::open(hang.line(point, 0.0, 1.0)));
        }
        let draw = if row.point == 0 { "brace".to_owned() } else { units.rule(row.draw_length_mm) };
        if let Some(end) = hang.line(point, 1.0, 1.0).last() {
            let text = [draw, weight(build, row)].join("  ");
            drawing.label(Kind::Note, Label::new(text, Point::new(end.x + 3.0, end.y - 0.5 * TEXT_MM), TEXT_MM));
        }
        for (s, gap) in targets.stations_mm.iter().zip(&row.gaps_mm) {
            let (x, y) = belly_at(curve, point, *s);
            let at = hang.at(x, y);
            drawing.path(Kind::Dimension, Path::circle(at, 0.8));
            // Lines stand some 20 mm apart at the tip and run together at the fades: figures only where they have room.
            if LEAST_APART_MM < apart(curve, targets, row.point, *s) {
                // The line falls to the right: under it there is room on the left.
                let text = gap.map(|mm| units.tiller(mm)).join(" / ");
                let label = Label::new(text, Point::new(at.x - 1.2, at.y - 1.2 - SMALL_MM), SMALL_MM);
                drawing.label(Kind::Dimension, label.aligned(Align::Right));
            }
        }
    }
    for s in &targets.stations_mm {
        let (x, y) = belly_at(curve, curve.at_brace(), *s);
        let at = hang.at(x, y);
        drawing.line(Kind::Dimension, Point::new(at.x, 8.0), Point::new(at.x, 14.0));
        let label = Label::new(units.rule(*s), Point::new(at.x, 16.0), TEXT_MM);
        drawing.label(Kind::Note, label.aligned(Align::Middle));
    }
    let title =
        "Back of the grip on the cross at the left. Station figures above, belly to string at each ring: upper / lower limb.";
    drawing.label(Kind::Note, Label::new(title, Point::new(4.0, 36.0), TEXT_MM));
    drawing.notes = notes(build);
    drawing
}

/// Less between two lines, and a figure under one would stand on the other, mm.
const LEAST_APART_MM: f64 = 6.5;

/// The bow as it hangs: along the page to the right, drawn downward.
struct Hang<'a> {
    scale: f64,
    curve: &'a DrawCurve,
}

impl<'a> Hang<'a> {
    fn at(&self, x: f64, y: f64) -> Point {
        Point::new(y / self.scale, -x / self.scale)
    }

    /// The limb's back (`depth` 0) or belly (`depth` 1) from the bow's centre to the nock, on one side.
    fn line(&'a self, point: &'a DrawPoint, depth: f64, side: f64) -> impl Iterator<Item = Point> + 'a {
        (0..self.curve.stations.len()).map(move |k| {
            let (x, y) = self.curve.face(point, k, depth);
            self.at(x, side * y)
        })
    }
}

fn greatest(curve: &DrawCurve, of: impl Fn(&crate::mechanics::strain::LimbPlace) -> f64) -> f64 {
    [curve.at_brace(), curve.at_full_draw()].into_iter().flat_map(|point| point.places.iter().map(&of)).fold(0.0, f64::max)
}

/// The belly at a station, straight between the stations of the results.
fn belly_at(curve: &DrawCurve, point: &DrawPoint, s_mm: f64) -> (f64, f64) {
    let next = curve.stations.partition_point(|station| station.s_mm < s_mm).clamp(1, curve.stations.len() - 1);
    let (near, far) = (curve.stations[next - 1].s_mm, curve.stations[next].s_mm);
    let share = if near < far { ((s_mm - near) / (far - near)).clamp(0.0, 1.0) } else { 1.0 };
    let (a, b) = (curve.face(point, next - 1, 1.0), curve.face(point, next, 1.0));
    (a.0 + share * (b.0 - a.0), a.1 + share * (b.1 - a.1))
}

/// How far below the line of the draw before it this one runs at a station, mm.
fn apart(curve: &DrawCurve, targets: &Targets, point: usize, s_mm: f64) -> f64 {
    let next = targets.rows.iter().map(|row| row.point).find(|other| point < *other);
    next.map_or(f64::INFINITY, |next| {
        belly_at(curve, &curve.points[next], s_mm).0 - belly_at(curve, &curve.points[point], s_mm).0
    })
}

fn fits(head: &[&str], rows: &[Vec<String>], cap_mm: f64, width: f64) -> bool {
    let column = |k: usize| {
        rows.iter().map(|row| width_mm(&row[k], cap_mm, false)).fold(width_mm(head[k], cap_mm, true), f64::max) + 1.8 * cap_mm
    };
    (0..head.len()).map(column).sum::<f64>() <= width
}

/// What difference between the limbs is wanted.
pub fn tiller_note(build: &Build) -> String {
    let wanted_mm = build.target.map_or(0.0, |target| target.positive_tiller_mm);
    if wanted_mm <= 0.0 {
        return "Both limbs shall stand alike.".into();
    }
    format!(
        "The upper limb shall stand {} farther from the string at its fade at brace, for the hand below the middle: common practice, no source.",
        build.units.tiller(wanted_mm)
    )
}

/// At brace the string pulls on nobody.
fn weight(build: &Build, row: &TillerRow) -> String {
    if row.point == 0 { String::new() } else { build.units.force_text(row.force_n) }
}

fn notes(build: &Build) -> Vec<String> {
    vec![
        "The limb nearer the string is the stiffer one. Where a distance is off need not be where the fault is: log what you read, and the log tells."
            .into(),
        tiller_note(build),
        "Draw on a tillering tree with a pulley, from aside, with eyes protected and nobody in line with the limbs; never past the design's \
         draw length, and stop at any tick or crack. Work a new draw in with many short pulls before going further."
            .into(),
        "Licensed practice and local rules come first.".into(),
    ]
}
