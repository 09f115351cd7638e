//! A riser's boards from the side, the V of its footings from the back, and the template of its overlay, true size on the riser's sheet.

use super::layout::{fitted, inside, spread};
use crate::drawing::annotate::{dimension_x, dimension_y, heading, leader, table};
use crate::drawing::font::{HEAD_MM, TEXT_MM, extent};
use crate::drawing::{Align, Drawing, Kind, Label};
use crate::geometry::flatten::chords;
use crate::geometry::{Bounds, Path, Point};
use crate::model::Build;
use crate::model::block::{Footing, RiserOverlay};
use crate::model::riser::Riser;
use crate::shop::grip::{CHORD_MM, depth_mm};
use crate::shop::riser_block::{CheckMark, OverlayBlock, RiserBlock};
use crate::units::fixed;

/// Part name of the overlay's cut line.
pub const OVERLAY: &str = "riser overlay profile";

/// The block from the side with its boards, the blank as it is glued dashed around it.
pub(super) fn layers(build: &Build, riser: &Riser, block: &RiserBlock) -> Drawing {
    let mut drawing = Drawing::default();
    let end = 0.5 * block.blank_length_mm;
    let line = build.glue.line_mm;
    let backs: Vec<f64> = [0.0].into_iter().chain(riser.layer_backs(line)).collect();
    let glued = riser.glued_depth_mm(line);
    drawing.path(Kind::Hidden, Path::rectangle(Bounds { min: Point::new(-end, 0.0), max: Point::new(end, glued) }));
    // Heights and reaches of the faces of the layers: the middles of their glue lines, the flat face before and the level part behind.
    let foot = (0.0, riser.feather_station_mm());
    let top = (riser.depth_mm, 0.5 * riser.level_mm);
    let joints = block.joints.iter().map(|joint| (joint.height_mm, joint.reach_mm));
    let faces: Vec<(f64, f64)> = [foot].into_iter().chain(joints).chain([top]).collect();
    for pair in faces.windows(2).skip(1).step_by(2) {
        let [(low, from), (high, to)] = [pair[0], pair[1]];
        let fade = chords(|s| riser.thickness_at(s).clamp(low, high), from, to, CHORD_MM);
        let right = [Point::new(from, low)].into_iter().chain(fade).chain([Point::new(to, high)]).collect::<Vec<_>>();
        let left = right.iter().rev().map(|p| Point::new(-p.x, p.y));
        drawing.path(Kind::Tone, Path::closed(right.iter().copied().chain(left)));
    }
    drawing.path(Kind::Edge, block.template.clone());
    for joint in &block.joints {
        let at = |x: f64| Point::new(x, joint.height_mm);
        drawing.line(Kind::Dimension, at(-joint.reach_mm), at(joint.reach_mm));
        for side in [-1.0, 1.0] {
            drawing.line(Kind::Hidden, at(side * joint.reach_mm), at(side * end));
        }
    }
    let middle = |index: usize| backs[index] + 0.5 * riser.layers[index].thickness_mm;
    let wanted: Vec<f64> = (0..riser.layers.len()).map(middle).collect();
    // From the highest down, as they are spread.
    let order: Vec<usize> = (0..riser.layers.len()).rev().collect();
    let heights: Vec<f64> = order.iter().map(|index| wanted[*index]).collect();
    for (index, y) in order.iter().zip(spread(&heights, 1.9 * TEXT_MM)) {
        let layer = &riser.layers[*index];
        let at = [Point::new(end, wanted[*index]), Point::new(end + 7.0, y), Point::new(end + 10.0, y)];
        drawing.path(Kind::Dimension, Path::open(at));
        let text = format!("{}  {}, {}", index + 1, layer.wood.name, build.units.thickness(layer.thickness_mm));
        drawing.label(Kind::Dimension, Label::new(text, Point::new(end + 11.0, y - 0.5 * TEXT_MM), TEXT_MM));
    }
    dimension_y(&mut drawing, Point::new(-end, 0.0), Point::new(-end, glued), -end - 8.0, &build.units.thickness(glued));
    let top = extent(&drawing).max.y;
    heading(&mut drawing, Point::new(-end, top + 3.0), "From the side: layers and glue lines, dashed as the block is glued");
    drawing
}

/// Boards, glue lines and what the profile takes off.
pub(super) fn layer_table(drawing: &mut Drawing, top_left: Point, build: &Build, riser: &Riser) -> Bounds {
    let units = build.units;
    let mut rows: Vec<Vec<String>> = riser
        .layers
        .iter()
        .enumerate()
        .map(|(index, layer)| vec![format!("layer {}, {}", index + 1, layer.wood.name), units.thickness(layer.thickness_mm)])
        .collect();
    let lines = riser.layers.len().saturating_sub(1);
    let (glue, glued) = (build.glue.line_mm * lines as f64, riser.glued_depth_mm(build.glue.line_mm));
    let counted = if lines == 1 { "1 glue line".to_owned() } else { format!("{lines} glue lines") };
    rows.push(vec![format!("{counted} of {}", units.fine(build.glue.line_mm)), units.thickness(glue)]);
    rows.push(vec!["block as it is glued".into(), units.thickness(glued)]);
    rows.push(vec!["riser's depth".into(), units.thickness(riser.depth_mm)]);
    rows.push(vec!["off the last layer with the profile".into(), units.thickness((glued - riser.depth_mm).max(0.0))]);
    table(drawing, top_left, &["through the depth, flat face first", ""], &rows, TEXT_MM)
}

/// The V of both footings on the back view.
pub(super) fn footings(drawing: &mut Drawing, build: &Build, riser: &Riser, footing: &Footing, half_mm: f64) {
    let [point, open] = footing.corners(riser.feather_station_mm());
    for side in [-1.0, 1.0] {
        let at = |x: f64, v: f64| Point::new(side * x, v);
        drawing.path(Kind::Dimension, Path::open([at(open, half_mm), at(point, 0.0), at(open, -half_mm)]));
    }
    // In two short lines: a long one would be parted by the joint of two pages, and moved over its own leader.
    let wood = format!("footing: {}", footing.wood.name);
    let length = format!("{} from the feather to its point", build.units.rule(footing.length_mm));
    let tip = Point::new(point + 0.5 * (open - point), -0.5 * half_mm);
    leader(drawing, tip, Point::new(point - 8.0, -half_mm - 6.0), &[&wood, &length]);
}

/// The overlay's template: inner face as the belly lies, outer face by its own fade.
pub(super) fn overlay(build: &Build, overlay: &RiserOverlay, cut: &OverlayBlock) -> Drawing {
    let units = build.units;
    let mut drawing = Drawing::default();
    let profile = &overlay.profile;
    let (feather, level) = (profile.feather_station_mm(), 0.5 * profile.level_mm);
    let bounds = cut.template.bounds();
    let blank = Bounds {
        min: Point::new(-0.5 * cut.blank_length_mm, bounds.min.y),
        max: Point::new(0.5 * cut.blank_length_mm, bounds.max.y),
    };
    drawing.path(Kind::Hidden, Path::rectangle(blank));
    drawing.part_path(Kind::Cut, OVERLAY, cut.template.clone());
    drawing.part_path(Kind::Score, OVERLAY, Path::line(Point::new(0.0, 0.0), Point::new(0.0, profile.depth_mm)));
    let top = |x: f64| Point::new(x, bounds.max.y);
    dimension_x(&mut drawing, top(-level), top(level), bounds.max.y + 9.0, &format!("{} level", units.rule(profile.level_mm)));
    let text = format!("{} feather to feather, the template", units.rule(profile.length_mm));
    dimension_x(&mut drawing, top(-feather), top(feather), bounds.max.y + 18.0, &text);
    let text = format!("{} blank", units.rule(cut.blank_length_mm));
    dimension_x(&mut drawing, Point::new(blank.min.x, blank.max.y), blank.max, bounds.max.y + 27.0, &text);
    dimension_y(
        &mut drawing,
        blank.min,
        Point::new(blank.min.x, blank.max.y),
        blank.min.x - 8.0,
        &units.thickness(cut.blank_depth_mm),
    );
    // The centre line is scored across the middle.
    let half = level + 0.3 * profile.fade_length_mm();
    for (side, text) in [(-1.0, "RISER OVERLAY"), (1.0, "lower edge on the BOW")] {
        let place = Point::new(side * 0.5 * half, 0.4 * profile.depth_mm);
        if let Some(label) = fitted(text, place, half - 4.0, 0.4 * profile.depth_mm, HEAD_MM) {
            drawing.label(Kind::Engrave, label);
        }
    }
    let inner = if cut.flat { "inner face: flat" } else { "inner face: scribe it to the belly of the bow itself" };
    let at = Point::new(0.0, bounds.min.y - 3.0 - TEXT_MM);
    drawing.label(Kind::Note, Label::new(format!("{inner}; {}", overlay.wood.name), at, TEXT_MM).aligned(Align::Middle));
    let high = extent(&drawing).max.y;
    heading(&mut drawing, Point::new(blank.min.x, high + 4.0), "Riser overlay, from the side: glued on the belly last of all");
    drawing
}

/// What calipers read along the overlay's fades.
pub(super) fn overlay_table(drawing: &mut Drawing, top_left: Point, build: &Build, cut: &OverlayBlock) -> Bounds {
    let units = build.units;
    let row = |mark: &CheckMark| {
        vec![units.rule(mark.from_feather_mm), units.thickness(mark.thickness_mm), String::new(), String::new()]
    };
    let rows: Vec<Vec<String>> = cut.check.iter().map(row).collect();
    table(drawing, top_left, &["from feather", "thickness", "one end", "other end"], &rows, TEXT_MM)
}

/// Glue lines inside the wood on the side view of shelf and grip, as far as the belly's cut leaves them: between boards, over the riser, under the
/// overlay.
pub(super) fn inner_lines(drawing: &mut Drawing, build: &Build, riser: &Riser, sign: f64) {
    let level = 0.5 * riser.level_mm;
    let line = build.glue.line_mm;
    let flat_face_mm = |s: f64| build.flat_face_mm(riser, s);
    let mut heights: Vec<Box<dyn Fn(f64) -> f64 + '_>> = Vec::new();
    for back_mm in riser.layer_backs(line) {
        heights.push(Box::new(move |s| flat_face_mm(s) + back_mm - 0.5 * line));
    }
    if riser.overlay.is_some() {
        heights.push(Box::new(move |s| flat_face_mm(s) + riser.depth_mm + 0.5 * line));
        // There is no line under a lamination where it does not lie.
        for index in riser.position..build.laminations.len() {
            heights.push(Box::new(move |s| build.belly_faces_mm(s)[index].map_or(f64::INFINITY, |face_mm| face_mm + 0.5 * line)));
        }
    }
    for height in &heights {
        for [from, to] in inside(-level, level, |s| height(s) < depth_mm(build, s)) {
            let count = 24;
            let at = |k: u32| {
                let s = from + (to - from) * f64::from(k) / f64::from(count);
                Point::new(sign * s, height(s))
            };
            drawing.path(Kind::Dimension, Path::open((0..=count).map(at)));
        }
    }
}

/// What whoever stands at the bench with the sheet must not miss; the book has the whole order of the work.
pub(super) fn in_short(riser: &Riser, block: &RiserBlock) -> Vec<String> {
    let mut notes = Vec::new();
    if riser.is_layered() {
        notes.push(
            "Layers are numbered from the flat face on: the first lies down on the bench and runs out in both feathers."
                .to_owned(),
        );
    }
    if riser.footing.is_some() {
        notes.push(
            "Footings are glued in before the profile is sawn, flush with the flat face: the fade runs out in them.".to_owned(),
        );
    }
    if let Some(cut) = &block.overlay {
        let inner = if cut.flat { "" } else { " Scribe its inner face to the belly of the bow itself." };
        notes.push(format!("The overlay is glued on after the last stage, as the bow lies{}.{inner}", before_cuts(riser)));
    }
    notes
}

fn before_cuts(riser: &Riser) -> String {
    riser.cut_by_hand().map(|cut| format!(", before {}", cut.is_cut())).unwrap_or_default()
}

/// How the block is glued up before its profile is sawn; empty for a plain block of slices.
pub fn block_steps(build: &Build, riser: &Riser, block: &RiserBlock) -> Vec<String> {
    let units = build.units;
    let mut steps = Vec::new();
    if riser.is_layered() {
        steps.push(
            "Layers: plane the boards to their thickness, number them from the flat face on, glue them flat between straight cauls, and square the \
             block on its first layer. The fades are sawn from the far side, so that the first layer is what runs out in both feathers."
                .to_owned(),
        );
    }
    if let (Some(footing), Some(cut)) = (&riser.footing, &block.footing) {
        steps.push(format!(
            "Footings: before the profile is sawn, saw {} off each end of the block, square, and cut a V {} deep into the new end, as wide there as the \
             block: its point stands in the middle of the width, {} inside the feather, and its faces run 1:{}. Each footing is a piece {} long with that V at one \
             end and the block's full width behind it. Fit them until no light shows, and glue them flush with the flat face, with a clamp from end to end and one \
             across the V. Where the block stands higher than they do, it comes off with the fade.",
            units.rule(cut.length_mm - footing.splice_mm),
            units.rule(footing.splice_mm),
            units.rule(footing.length_mm),
            fixed(cut.slope, 1),
            units.rule(cut.length_mm)
        ));
    }
    steps
}

/// How the overlay is fitted and glued on, in the order of the work; empty without one.
pub fn overlay_steps(build: &Build, riser: &Riser, block: &RiserBlock) -> Vec<String> {
    let (Some(overlay), Some(cut)) = (&riser.overlay, &block.overlay) else { return Vec::new() };
    let fit = if cut.flat {
        "Flatten the belly under the overlay with paper on a long block; do not heat it, earlier joints soften."
    } else {
        "Scribe the overlay's inner face to the belly of the bow itself, not to the template alone, and fit it until no light shows."
    };
    vec![
        fit.to_owned(),
        format!(
            "Saw its outer face wide of the line and leave {} beyond each end of the template.",
            build.units.rule(overlay.overrun_mm)
        ),
        format!(
            "Glue it on as the bow lies off its last form{}. Nothing is bent for it: what clamps must pull down does not fit yet.",
            before_cuts(riser)
        ),
        "Grind its feathers where it lies, with tape on the lamination beside them, until no step is felt; trim its sides with the bow's.".to_owned(),
    ]
}
