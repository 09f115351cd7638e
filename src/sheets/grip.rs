//! Shelf, window and grip at true size: the views that are traced on the trimmed bow, with what calipers must read.
//!
//! The back view has the upper limb to the right. The side view shows the side of the arrow pass, so that a right-handed bow has its upper limb to
//! the left there; its lower edge is the bow's back.

use super::block_parts;
use super::layout::{fitted, inside};
use crate::drawing::annotate::{dimension_x, dimension_y, heading, leader, table};
use crate::drawing::font::{HEAD_MM, TEXT_MM, extent};
use crate::drawing::{Align, Drawing, Kind, Label, Shape};
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::model::Build;
use crate::model::grip::{ArrowPass, DrawHand, Grip};
use crate::model::lamination::Face;
use crate::model::outline::Outline;
use crate::model::riser::Riser;
use crate::shop::grip::{CutMark, HandCuts, depth_mm, left_mm};
use crate::units::System;

/// Part names of the two templates.
const BACK_VIEW: &str = "riser, back view";
const SIDE_VIEW: &str = "riser, side view";

/// The views, each for itself.
pub(super) fn views(build: &Build, riser: &Riser, cuts: &HandCuts) -> Vec<Drawing> {
    let from_back = |path: &Path| {
        let (pass, outline) = riser.pass.as_ref().zip(build.outline.as_ref())?;
        Some(back_view(build, riser, outline, pass, path))
    };
    let from_back = cuts.back_view.as_ref().and_then(from_back);
    from_back.into_iter().chain([side_view(build, riser, cuts)]).collect()
}

fn back_view(build: &Build, riser: &Riser, outline: &Outline, pass: &ArrowPass, path: &Path) -> Drawing {
    let units = build.units;
    let mut drawing = Drawing::default();
    drawing.part_path(Kind::Cut, BACK_VIEW, path.clone());
    let bounds = path.bounds();
    for v in riser.seams(build.glue.line_mm) {
        for [from, to] in inside(bounds.min.x, bounds.max.x, |s| {
            let [min, greatest] = left_mm(outline, Some(pass), s);
            min < v && v < greatest
        }) {
            drawing.line(Kind::Dimension, Point::new(from, v), Point::new(to, v));
        }
    }
    drawing.line(Kind::Centre, Point::new(bounds.min.x - 5.0, 0.0), Point::new(bounds.max.x + 5.0, 0.0));
    drawing.line(Kind::Centre, Point::new(0.0, bounds.min.y - 4.0), Point::new(0.0, bounds.max.y + 4.0));
    // Sizes stand on the side that is cut; which is over or under the bow by the archer's hand.
    let side = pass.side();
    let edge = if side < 0.0 { bounds.min.y } else { bounds.max.y };
    let row = |k: f64| edge + side * (9.0 + 9.0 * k);
    let at = |s: f64| Point::new(s, side * 0.5 * outline.width_at(s));
    let face = side * -pass.past_centre_mm;
    let on_face = |s: f64| Point::new(s, face);
    dimension_x(&mut drawing, at(0.0), at(pass.height_mm), row(0.0), &format!("{} shelf", units.rule(pass.height_mm)));
    let straight = pass.straight_end_mm();
    dimension_x(&mut drawing, at(pass.height_mm), on_face(straight), row(1.0), &format!("{} window", units.rule(pass.window_mm)));
    dimension_x(&mut drawing, on_face(straight), at(pass.end_mm()), row(0.0), &format!("{} sweep", units.rule(pass.sweep_mm)));
    let other = -side * 0.5 * outline.width_at(straight);
    let [min, greatest] = left_mm(outline, Some(pass), straight);
    let left = format!("{} left", units.thickness(greatest - min));
    dimension_y(
        &mut drawing,
        Point::new(straight, face.min(other)),
        Point::new(straight, face.max(other)),
        bounds.max.x + 14.0,
        &left,
    );
    let words = match pass.past_centre_mm {
        past if 0.0 <= past => format!("window {} past centre", units.rule(past)),
        short => format!("window {} short of centre", units.rule(-short)),
    };
    let corner = format!("inside corner R {}", units.rule(pass.corner_mm));
    // Over the wood that is left: on the other side stand the sizes.
    let tip = on_face(pass.height_mm + 0.6 * pass.window_mm);
    let clear = if side < 0.0 { bounds.max.y + 8.0 } else { bounds.min.y - 8.0 };
    leader(&mut drawing, tip, Point::new(straight + 12.0, clear), &[&words, &corner]);
    limbs(&mut drawing, bounds, 1.0);
    // Beside the centre line.
    let middle = Point::new(0.5 * bounds.min.x, 0.55 * bounds.min.y);
    engraved(&mut drawing, "BACK VIEW", middle, 0.4 * bounds.width(), 0.2 * bounds.height());
    let top = extent(&drawing).max.y;
    heading(&mut drawing, Point::new(bounds.min.x, top + 3.0), "Seen from the back: outline, shelf and window");
    drawing
}

fn side_view(build: &Build, riser: &Riser, cuts: &HandCuts) -> Drawing {
    let mut drawing = Drawing::default();
    // Seen from the archer's right the upper limb is to the right.
    let to_right = riser.pass.as_ref().is_none_or(|pass| pass.hand == DrawHand::Left);
    let sign = if to_right { 1.0 } else { -1.0 };
    let view = Placement { mirrored: !to_right, ..Placement::IDENTITY };
    let path = cuts.side_view.placed(&view);
    let path = if to_right { path } else { path.reversed() };
    let bounds = path.bounds();
    let kind = if riser.grip.is_some() { Kind::Cut } else { Kind::Edge };
    drawing.part_path(kind, SIDE_VIEW, path);
    // Laminations on the back, by their glue lines; slices that show, by their numbers under the back.
    let level = 0.5 * riser.level_mm;
    for index in 0..riser.position {
        let height = |s: f64| build.belly_faces_mm(s)[index].map(|face_mm| face_mm + build.glue.line_mm);
        for [from, to] in inside(-level, level, |s| height(s).is_some()) {
            let stops = [from, 0.0_f64.clamp(from, to), to];
            let line = stops.into_iter().filter_map(|s| Some(Point::new(sign * s, height(s)?)));
            drawing.path(Kind::Dimension, Path::open(line));
        }
    }
    let mut below = build.flat_face_mm(riser, 0.0);
    for rebate in build.rebates().filter(|rebate| rebate.face == Face::Back) {
        let half = 0.5 * rebate.length_mm;
        let bottom = below + rebate.depth_mm;
        let line = [(-half, below), (-half, bottom), (half, bottom), (half, below)];
        drawing.path(Kind::Dimension, Path::open(line.map(|(s, y)| Point::new(sign * s, y))));
        below = bottom;
    }
    block_parts::inner_lines(&mut drawing, build, riser, sign);
    for zone in cuts.zones.iter().filter(|_| !riser.is_layered()) {
        let label =
            Label::new((zone.slice + 1).to_string(), Point::new(sign * 0.5 * (zone.from_mm + zone.to_mm), below + 1.5), TEXT_MM);
        if 3.5 <= zone.to_mm - zone.from_mm {
            drawing.label(Kind::Dimension, label.aligned(Align::Middle));
        }
        if zone.to_mm < level {
            let s = zone.to_mm;
            drawing.line(Kind::Dimension, Point::new(sign * s, below), Point::new(sign * s, depth_mm(build, s)));
        }
    }
    if let Some(pass) = &riser.pass {
        for s in [pass.height_mm, pass.straight_end_mm(), pass.end_mm()] {
            drawing.line(Kind::Hidden, Point::new(sign * s, 0.0), Point::new(sign * s, depth_mm(build, s)));
        }
    }
    drawing.line(Kind::Centre, Point::new(0.0, -4.0), Point::new(0.0, bounds.max.y + 4.0));
    if let Some(grip) = &riser.grip {
        grip_sizes(&mut drawing, build, riser, grip, sign);
    }
    limbs(&mut drawing, bounds, sign);
    // Between the slices' numbers and the throat.
    let [low, high] = clear_of_lines(&drawing, -0.5 * sign * level, [below + 2.0 + 2.0 * TEXT_MM, depth_mm(build, 0.0)]);
    engraved(&mut drawing, "SIDE VIEW, back down", Point::new(-0.5 * sign * level, 0.5 * (low + high)), 0.8 * level, high - low);
    let top = extent(&drawing).max.y;
    let title = match &riser.pass {
        Some(_) => "From the side of the arrow pass, back down",
        None => "From the side, back down",
    };
    heading(&mut drawing, Point::new(bounds.min.x, top + 3.0), title);
    drawing
}

fn grip_sizes(drawing: &mut Drawing, build: &Build, riser: &Riser, grip: &Grip, sign: f64) {
    let units = build.units;
    let at = |s: f64| Point::new(sign * s, depth_mm(build, s));
    let over = build.depth_mm(0.0) + 8.0;
    // From left to right, whichever way round the bow lies.
    let mut size = |one: f64, other: f64, words: &str, row: f64| {
        let (left, right) = if sign * one < sign * other { (one, other) } else { (other, one) };
        dimension_x(drawing, at(left), at(right), over + 9.0 * row, &format!("{} {words}", units.rule((other - one).abs())));
    };
    size(0.0, grip.up_mm, "up", 0.0);
    size(-grip.down_mm, 0.0, "down", 0.0);
    if let Some(palm) = &grip.palm {
        size(-grip.below_mm(), -grip.down_mm, "heel", 1.0);
        let foot = Point::new(-sign * grip.down_mm, 0.0);
        let text = format!("{} palm swell", units.thickness(palm.depth_mm));
        dimension_y(drawing, foot, at(-grip.down_mm), 0.5 * riser.level_mm + 22.0, &text);
    }
    dimension_y(
        drawing,
        Point::new(0.0, 0.0),
        at(0.0),
        0.5 * riser.level_mm + 12.0,
        &format!("{} throat", units.thickness(grip.throat_mm)),
    );
}

/// Which limb is where, beside the ends.
fn limbs(drawing: &mut Drawing, bounds: Bounds, sign: f64) {
    let y = bounds.min.y - 3.0 - TEXT_MM;
    let (right, left) = if 0.0 < sign { ("upper limb", "lower limb") } else { ("lower limb", "upper limb") };
    drawing.label(Kind::Note, Label::new(right, Point::new(bounds.max.x, y), TEXT_MM).aligned(Align::Right));
    drawing.label(Kind::Note, Label::new(left, Point::new(bounds.min.x, y), TEXT_MM));
}

/// The widest room between the lines that run through a place along the bow, from and to, between these heights.
fn clear_of_lines(drawing: &Drawing, x: f64, [low, high]: [f64; 2]) -> [f64; 2] {
    let crosses = |path: &Path| {
        let points = path.flattened(0.1);
        let pair = points.windows(2).find(|pair| pair[0].x.min(pair[1].x) <= x && x < pair[0].x.max(pair[1].x))?;
        Some(pair[0].y + (x - pair[0].x) / (pair[1].x - pair[0].x) * (pair[1].y - pair[0].y))
    };
    let lines = drawing.items.iter().filter(|item| item.kind == Kind::Dimension).filter_map(|item| match &item.shape {
        Shape::Path(path) => crosses(path),
        Shape::Label(_) => None,
    });
    let mut heights: Vec<f64> = lines.filter(|y| low < *y && *y < high).chain([low, high]).collect();
    heights.sort_by(f64::total_cmp);
    let rooms = heights.windows(2).map(|pair| [pair[0], pair[1]]);
    rooms.max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0]))).unwrap_or([low, high])
}

fn engraved(drawing: &mut Drawing, text: &str, middle: Point, width: f64, height: f64) {
    if let Some(label) = fitted(text, middle, width, height, HEAD_MM) {
        drawing.label(Kind::Engrave, label);
    }
}

/// A station in words: `2 in below`, `1 1/2 in above`, `throat`.
pub fn from_throat(units: System, s_mm: f64) -> String {
    // What reads as nothing has no side.
    match s_mm {
        s if s.abs() < 0.05 => "throat".to_owned(),
        s if s < 0.0 => format!("{} below", units.rule(-s)),
        s => format!("{} above", units.rule(s)),
    }
}

/// What calipers read along the cuts, with room for the reading.
pub(super) fn cut_table(drawing: &mut Drawing, top_left: Point, build: &Build, cuts: &HandCuts) -> Bounds {
    let units = build.units;
    let row = |what: &str, mark: &CutMark| {
        vec![from_throat(units, mark.station_mm), what.to_owned(), units.thickness(mark.left_mm), String::new()]
    };
    let depths = cuts.depths.iter().map(|mark| row("back to belly", mark));
    let widths = cuts.widths.iter().map(|mark| row("side to side", mark));
    let rows: Vec<Vec<String>> = depths.chain(widths).collect();
    table(drawing, top_left, &["from the throat", "calipers", "left", "read"], &rows, TEXT_MM)
}

/// The order of the work and what can hurt, for whoever stands at the bench with the templates.
pub fn steps(build: &Build, riser: &Riser) -> Vec<String> {
    let units = build.units;
    let pick = |inches: f64, mm: f64| units.rule(units.either_mm(inches, mm));
    let mut steps = vec![
        "Trim the bow to its outline first; the riser keeps its whole depth and width until the limbs bend evenly at a low brace.".to_owned(),
        "Mark the throat square around the bow at its centre: all heights are counted from it. Trace each view with its centre mark on that line."
            .to_owned(),
    ];
    if let Some(pass) = &riser.pass {
        steps.push(format!(
            "Shelf: drill its inside corner with a bit of {} from the back, against a backing block. Saw along the shelf to the hole, then down the \
             window beside its line; leave {} to rasp away.",
            units.rule(2.0 * pass.corner_mm),
            pick(1.0 / 16.0, 1.5)
        ));
    }
    if riser.grip.is_some() {
        steps.push(
            format!(
                "Grip: saw across the belly down to its line every {}, split the blocks off, rasp from the ends toward the throat, never out of it: \
                 there the grain runs out.",
                pick(0.5, 12.0)
            ),
        );
    }
    let min = riser.pass.as_ref().map_or(pick(0.1875, 5.0), |pass| units.rule(pass.corner_mm));
    let as_well = if riser.pass.is_some() { ", the shelf's and the window's as well" } else { "" };
    steps.push(format!(
        "Round every edge of the cuts by {min} or more{as_well}: a sharp edge or a saw mark across the grain is where a riser begins to break."
    ));
    steps.push(
        "Measure depth and width at the marks of the table. The draw weight hardly hangs on them; the riser's strength does."
            .into(),
    );
    steps
}

/// What a riser that is cut can do.
pub const CAUTION: &str = "A riser that breaks at the shelf or the grip throws both halves at whoever draws. Straight grain through both cuts, no knot \
                           and no run-out there; after the cuts draw it again on the tree from aside, step by step, before any hand does.";
