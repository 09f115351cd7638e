//! The tip from its side with its overlays, true size.

use crate::drawing::annotate::{dimension_x, heading, leader};
use crate::drawing::font::{TEXT_MM, width_mm};
use crate::drawing::{Align, Drawing, Kind, Label, Lettering};
use crate::geometry::{Path, Point};
use crate::model::Build;
use crate::model::lamination::Face;
use crate::model::outline::Outline;

/// Draws the side view with its heading at `top_left`: the back below, the tip to the right.
pub(super) fn side(drawing: &mut Drawing, top_left: Point, build: &Build, outline: &Outline) {
    /// So much of the bare limb is shown before the overlays.
    const BEFORE_MM: f64 = 30.0;
    let (units, end) = (build.units, outline.end_mm());
    let from = build.overlays.iter().map(|overlay| overlay.start_mm(end)).fold(end, f64::min) - BEFORE_MM;
    // Where a lamination begins or ends the belly steps: both sides of that.
    let steps = build.laminations.iter().flat_map(|l| [l.from_mm - 1e-3, l.from_mm, l.to_mm, l.to_mm + 1e-3]);
    let steps = steps.filter(|s| from < *s && *s < end);
    let corners = build.overlays.iter().flat_map(|overlay| overlay.corners(end));
    let mut stops: Vec<f64> = corners.chain(steps).chain([from, outline.nock_mm(), end]).collect();
    stops.sort_by(f64::total_cmp);
    let belly = |s: f64| build.depth_mm(s);
    let deepest = stops.iter().map(|s| belly(*s)).fold(0.0, f64::max);
    let thickest =
        |face: Face| build.overlays.iter().filter(|overlay| overlay.face == face).map(|o| o.thickness_mm).fold(0.0, f64::max);
    heading(drawing, top_left, "Tip from the side: overlays, back down");
    let foot = top_left.y - 26.0 - deepest - thickest(Face::Belly);
    let at = |s: f64, y: f64| Point::new(top_left.x + s - from, foot + y);
    let along = |height: &dyn Fn(f64) -> f64| stops.iter().map(|s| at(*s, height(*s))).collect::<Vec<Point>>();
    drawing.path(Kind::Edge, Path::closed(along(&|_| 0.0).into_iter().chain(along(&belly).into_iter().rev())));
    let faces: Vec<Vec<Option<f64>>> = stops.iter().map(|s| build.belly_faces_mm(*s)).collect();
    for index in 0..build.laminations.len() {
        let under = stops.iter().zip(&faces).filter_map(|(s, faces)| Some((*s, faces[index]? + build.glue.line_mm)));
        drawing.path(Kind::Dimension, Path::open(under.filter(|(s, y)| *y < belly(*s) - 1e-6).map(|(s, y)| at(s, y))));
    }
    for overlay in &build.overlays {
        let start = overlay.start_mm(end);
        let inside: Vec<f64> = stops.iter().copied().filter(|s| start <= *s).collect();
        let faces = |s: f64| match overlay.face {
            Face::Back => [0.0, -overlay.thickness_at(end, s).unwrap_or(0.0)],
            Face::Belly => [belly(s), belly(s) + overlay.thickness_at(end, s).unwrap_or(0.0)],
        };
        let face = |k: usize| inside.iter().map(move |s| at(*s, faces(*s)[k]));
        let shape = Path::closed(face(0).chain(face(1).rev()));
        drawing.path(Kind::Tone, shape.clone());
        drawing.path(Kind::Edge, shape);
        let (outward, row) = if overlay.face == Face::Back {
            (-1.0, foot - overlay.thickness_mm)
        } else {
            (1.0, foot + deepest + overlay.thickness_mm)
        };
        let size = |text: String, s: [f64; 2], away: f64| {
            (text, at(s[0], faces(s[0])[1]), at(s[1], faces(s[1])[1]), row + outward * away)
        };
        let [long, thins] = [
            size(format!("{} overlay", units.rule(overlay.length_mm)), [start, end], 16.0),
            size(format!("{} thins out", units.rule(overlay.fade_mm)), [start, start + overlay.fade_mm], 8.0),
        ];
        let (text, one, other, y) = long;
        dimension_x(drawing, one, other, y, &text);
        let (text, one, other, y) = thins;
        if 1.0 < other.x - one.x {
            // Its words stand over the bare limb, where no line of another size runs.
            dimension_x(drawing, one, other, y, "");
            // Arrows of a short one stand outside it.
            let clear = if other.x - one.x < 7.0 { 8.0 } else { 2.0 };
            let at = Point::new(one.x - clear, y - 0.5 * TEXT_MM);
            drawing.label(Kind::Dimension, Label::new(text, at, TEXT_MM).aligned(Align::Right));
        }
        let text = format!("{}, {} thick", overlay.wood.name, units.thickness(overlay.thickness_mm));
        let tip = at(end - 0.15 * overlay.length_mm, 0.5 * (faces(end)[0] + faces(end)[1]));
        leader(drawing, tip, Point::new(at(end, 0.0).x + 8.0, row + outward * 3.0), &[&text]);
    }
    let nock = outline.nock_mm();
    drawing.line(Kind::Centre, at(nock, -thickest(Face::Back) - 2.0), at(nock, belly(nock) + thickest(Face::Belly) + 2.0));
    // Beside its line, where none of the sizes' lines runs; else out beside the tip.
    let (x, y) = (at(nock, 0.0).x, foot + belly(nock) + thickest(Face::Belly) + 2.5);
    let room = width_mm("nock", TEXT_MM, Lettering::Regular) + 3.0;
    let lines = build.overlays.iter().flat_map(|overlay| overlay.corners(end)).chain([end]);
    let free = |from: f64, to: f64| lines.clone().all(|s| s <= from || to <= s);
    if free(nock, nock + room) {
        drawing.label(Kind::Note, Label::new("nock", Point::new(x + 1.0, y), TEXT_MM));
    } else if free(nock - room, nock) {
        drawing.label(Kind::Note, Label::new("nock", Point::new(x - 1.0, y), TEXT_MM).aligned(Align::Right));
    } else {
        let middle = 0.5 * belly(nock);
        leader(drawing, at(nock, middle), at(end + 8.0, middle), &["nock"]);
    }
}
