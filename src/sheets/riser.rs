//! The riser block, true size: side profile as a template, caliper marks along the fades, slices from the back and on the sides.
//!
//! The profile lies with its flat face down, as the block lies on the bench. The flat face looks to the bow's back; the fades
//! look to the belly. Beyond the feathers the blank's overrun is shown, to be trimmed off last.

use super::layout::{fitted, spread};
use super::{block_parts, grip, outline, rebate};
use crate::drawing::annotate::{dimension_x, dimension_y, heading, leader, table};
use crate::drawing::font::{HEAD_MM, SMALL_MM, TEXT_MM, extent};
use crate::drawing::{Align, Drawing, Kind, Label};
use crate::geometry::flatten::chords;
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::model::Build;
use crate::model::outline::Outline;
use crate::model::riser::{Fade, Riser};
use crate::shop::cautions;
use crate::shop::riser_block::{BlockSide, CHORD_MM, RiserBlock};
use crate::units::{fixed, trim_zeros};

/// Part name of the side profile's cut line.
pub const PROFILE: &str = "riser profile";

/// The riser sheet; `None` for a build without a riser.
pub fn sheet(build: &Build, block: &RiserBlock) -> Option<Drawing> {
    let riser = build.riser.as_ref()?;
    let mut drawing = Drawing::new("riser", format!("{}: riser block", build.title));
    let profile = profile(build, riser, block);
    let slices = slices(build, riser, block);
    drawing.include(&profile, &Placement::IDENTITY);
    put_under(&mut drawing, &slices);
    if riser.is_layered() {
        put_under(&mut drawing, &block_parts::layers(build, riser, block));
    }
    if let (Some(overlay), Some(cut)) = (&riser.overlay, &block.overlay) {
        put_under(&mut drawing, &block_parts::overlay(build, overlay, cut));
    }
    if let (Some(outline), false) = (&build.outline, block.seams.is_empty()) {
        for side in sides(riser, block, outline) {
            put_under(&mut drawing, &side);
        }
    }
    if let Some(cuts) = &block.cuts {
        for view in grip::views(build, riser, cuts) {
            put_under(&mut drawing, &view);
        }
        drawing.panel(|panel| {
            heading(panel, Point::new(0.0, 0.0), &format!("Along {}", cuts.which.words()));
            grip::cut_table(panel, Point::new(0.0, -HEAD_MM), build, cuts);
        });
    }
    drawing.panel(|panel| {
        heading(panel, Point::new(0.0, 0.0), "Feather check");
        check_table(panel, Point::new(0.0, -HEAD_MM), build, block);
    });
    drawing.panel(|panel| {
        heading(panel, Point::new(0.0, 0.0), "Width of the block");
        width_table(panel, Point::new(0.0, -HEAD_MM), build, riser, block);
    });
    if riser.is_layered() {
        drawing.panel(|panel| {
            heading(panel, Point::new(0.0, 0.0), "Depth of the block");
            block_parts::layer_table(panel, Point::new(0.0, -HEAD_MM), build, riser);
        });
    }
    if let Some(cut) = &block.overlay {
        drawing.panel(|panel| {
            heading(panel, Point::new(0.0, 0.0), "Overlay's feather check");
            block_parts::overlay_table(panel, Point::new(0.0, -HEAD_MM), build, cut);
        });
    }
    if !block.seams.is_empty() {
        drawing.panel(|panel| {
            heading(panel, Point::new(0.0, 0.0), "Seams on the trimmed sides");
            seam_table(panel, Point::new(0.0, -HEAD_MM), build, block);
        });
    }
    drawing.notes = notes(build, riser, block);
    Some(drawing)
}

fn put_under(drawing: &mut Drawing, view: &Drawing) {
    let y = extent(drawing).min.y - 12.0 - extent(view).max.y;
    drawing.include(view, &Placement::moved(0.0, y));
}

fn profile(build: &Build, riser: &Riser, block: &RiserBlock) -> Drawing {
    let units = build.units;
    let mut drawing = Drawing::default();
    let (feather, level, depth) = (riser.feather_station_mm(), 0.5 * riser.level_mm, riser.depth_mm);
    let end = 0.5 * block.blank_length_mm;
    drawing.path(Kind::Hidden, Path::rectangle(Bounds { min: Point::new(-end, 0.0), max: Point::new(end, depth) }));
    for side in [-1.0, 1.0] {
        let face = [(end, 0.0), (end, riser.feather_mm), (feather, riser.feather_mm)];
        drawing.path(Kind::Hidden, Path::open(face.map(|(x, y)| Point::new(side * x, y))));
    }
    drawing.part_path(Kind::Cut, PROFILE, block.template.clone());
    marks_to_score(&mut drawing, build, riser, block);
    rebate::score(&mut drawing, PROFILE, build, riser);
    for side in [-1.0, 1.0] {
        for (i, mark) in block.check.iter().enumerate() {
            let x = side * mark.station_mm;
            drawing.line(Kind::Dimension, Point::new(x, -0.8), Point::new(x, if i % 2 == 0 { -2.6 } else { -4.9 }));
            // Two rows by turns: marks close to the feather stand nearer than their numbers are wide.
            let y = if i % 2 == 0 { -3.2 - SMALL_MM } else { -5.5 - SMALL_MM };
            drawing.label(Kind::Dimension, Label::new((i + 1).to_string(), Point::new(x, y), SMALL_MM).aligned(Align::Middle));
        }
    }
    let at = |x: f64| Point::new(x, riser.thickness_at(x));
    let fade = units.rule(riser.fade_length_mm());
    dimension_x(&mut drawing, at(-level), at(level), depth + 9.0, &format!("{} level", units.rule(riser.level_mm)));
    dimension_x(&mut drawing, at(-feather), at(-level), depth + 9.0, &format!("{fade} fade"));
    dimension_x(&mut drawing, at(level), at(feather), depth + 9.0, &format!("{fade} fade"));
    let text = format!("{} feather to feather, the template", units.rule(riser.length_mm));
    dimension_x(&mut drawing, at(-feather), at(feather), depth + 18.0, &text);
    let text = format!("{} blank", units.rule(block.blank_length_mm));
    dimension_x(&mut drawing, Point::new(-end, depth), Point::new(end, depth), depth + 27.0, &text);
    dimension_y(&mut drawing, Point::new(-end, 0.0), Point::new(-end, depth), -end - 8.0, &units.thickness(depth));
    let feather_text = format!("feather {}", units.thickness(riser.feather_mm));
    let overrun_text = format!("then {} of overrun, trimmed last", units.rule(riser.overrun_mm));
    let lines =
        if 0.0 < riser.overrun_mm { vec![feather_text.as_str(), overrun_text.as_str()] } else { vec![feather_text.as_str()] };
    leader(&mut drawing, Point::new(feather, riser.feather_mm), Point::new(end + 6.0, 12.0), &lines);
    if let Some(text) = radius_text(build, riser) {
        let s = level + 0.4 * riser.fade_length_mm();
        leader(&mut drawing, at(s), Point::new(s + 10.0, riser.thickness_at(s) + 9.0), &[&text]);
    }
    let (back, belly) = faces(build, riser);
    // Under the rows of mark numbers, so that a long name meets none of them, and no extension line.
    for (row, text) in (0..).zip([format!("back side: {back}"), format!("belly side: {belly}")]) {
        let at = Point::new(0.0, -11.0 - TEXT_MM * (1.0 + 1.8 * f64::from(row)));
        drawing.label(Kind::Note, Label::new(text, at, TEXT_MM).aligned(Align::Middle));
    }
    let top = extent(&drawing).max.y;
    heading(&mut drawing, Point::new(-end, top + 4.0), "Side profile");
    drawing
}

/// Lines and words on the template itself: centre, ends of the level part, caliper marks where there is wood for them.
fn marks_to_score(drawing: &mut Drawing, build: &Build, riser: &Riser, block: &RiserBlock) {
    /// Ticks reach up from the flat face by this, where the template is at least twice as thick, mm.
    const TICK_MM: f64 = 3.0;
    let (level, depth) = (0.5 * riser.level_mm, riser.depth_mm);
    drawing.part_path(Kind::Score, PROFILE, Path::line(Point::new(0.0, 0.0), Point::new(0.0, depth)));
    for side in [-1.0, 1.0] {
        for mark in &block.check {
            let (x, height) = (side * mark.station_mm, TICK_MM.min(0.5 * mark.thickness_mm));
            if 0.5 < height {
                drawing.part_path(Kind::Score, PROFILE, Path::line(Point::new(x, 0.0), Point::new(x, height)));
            }
        }
    }
    let half = 0.5 * (level + 0.3 * riser.fade_length_mm()) - 2.0;
    let texts = [(-1.0, build.title.clone()), (1.0, "RISER, flat face to the BACK".to_owned())];
    for (side, text) in texts {
        if let Some(label) = fitted(&text, Point::new(side * (half + 2.0), 0.35 * depth), 2.0 * half, 0.3 * depth, HEAD_MM) {
            drawing.label(Kind::Engrave, label);
        }
    }
}

fn radius_text(build: &Build, riser: &Riser) -> Option<String> {
    let curvature = riser.fade_at(0.5 * riser.level_mm + 0.4 * riser.fade_length_mm()).curvature_per_mm;
    match riser.fade {
        Fade::Arc | Fade::ArcAndFlat if 0.0 < curvature => Some(format!("R {}", build.units.rule(1.0 / curvature))),
        Fade::Eased => Some("eased: a cubic, no curvature at the feather".into()),
        _ => None,
    }
}

/// What lies on the flat face, and what on the fades.
fn faces(build: &Build, riser: &Riser) -> (String, String) {
    let name = |i: usize| build.laminations.get(i).map_or("the limb", |lamination| lamination.name.as_str());
    let back = if riser.position == 0 {
        "the flat face is the back of the bow".to_owned()
    } else {
        format!("the flat face is glued to the lamination {}", name(riser.position - 1))
    };
    let belly = if riser.position < build.laminations.len() {
        format!("the lamination {} climbs the fades", name(riser.position))
    } else {
        "nothing climbs the fades, they stay in sight".to_owned()
    };
    (back, belly)
}

/// The block from the back: slices across the width, and the outline it will be trimmed to.
fn slices(build: &Build, riser: &Riser, block: &RiserBlock) -> Drawing {
    let units = build.units;
    let mut drawing = Drawing::default();
    let (end, half) = (0.5 * block.blank_length_mm, 0.5 * block.width_mm);
    let feather = riser.feather_station_mm();
    for band in block.bands.iter().skip(1).step_by(2) {
        let bounds = Bounds { min: Point::new(-end, band.to_mm), max: Point::new(end, band.from_mm) };
        drawing.path(Kind::Tone, Path::rectangle(bounds));
    }
    drawing.path(Kind::Edge, Path::rectangle(Bounds { min: Point::new(-end, -half), max: Point::new(end, half) }));
    for pair in block.bands.windows(2) {
        let v = 0.5 * (pair[0].to_mm + pair[1].from_mm);
        drawing.line(Kind::Dimension, Point::new(-end, v), Point::new(end, v));
    }
    drawing.line(Kind::Centre, Point::new(-end - 5.0, 0.0), Point::new(end + 5.0, 0.0));
    drawing.line(Kind::Centre, Point::new(0.0, -half - 4.0), Point::new(0.0, half + 4.0));
    for side in [-1.0, 1.0] {
        let x = side * feather;
        drawing.line(Kind::Hidden, Point::new(x, -half), Point::new(x, half));
    }
    if let Some(outline) = &build.outline {
        let edge = outline::edge(outline, 0.0, end.min(outline.end_mm()));
        for v in [1.0, -1.0] {
            let left = edge.iter().rev().map(|p| Point::new(-p.x, v * p.y));
            drawing.path(Kind::Edge, Path::open(left.chain(edge.iter().skip(1).map(|p| Point::new(p.x, v * p.y)))));
        }
        let x = -0.5 * feather;
        let tip = Point::new(x, -0.5 * outline.width_at(x));
        leader(&mut drawing, tip, Point::new(x + 8.0, -half - 6.0), &["the bow's outline, to trim to after glue-up"]);
    }
    if let Some(footing) = &riser.footing {
        block_parts::footings(&mut drawing, build, riser, footing, half);
    }
    let middle = |i: usize| 0.5 * (block.bands[i].from_mm + block.bands[i].to_mm);
    let wanted: Vec<f64> = (0..block.bands.len()).map(middle).collect();
    for (i, y) in spread(&wanted, 1.9 * TEXT_MM).into_iter().enumerate() {
        let band = &block.bands[i];
        // From the wood that is named: in the ends are the footings.
        let from = riser.footing.as_ref().map_or(end, |footing| footing.corners(feather)[0] - 4.0);
        let tip = [Point::new(from, middle(i)), Point::new(end, middle(i))];
        drawing.path(Kind::Dimension, Path::open(tip.into_iter().chain([Point::new(end + 7.0, y), Point::new(end + 10.0, y)])));
        let text = format!("{}  {}, {}", i + 1, band.wood, units.thickness(band.from_mm - band.to_mm));
        drawing.label(Kind::Dimension, Label::new(text, Point::new(end + 11.0, y - 0.5 * TEXT_MM), TEXT_MM));
    }
    dimension_y(&mut drawing, Point::new(-end, -half), Point::new(-end, half), -end - 8.0, &units.thickness(block.width_mm));
    let top = extent(&drawing).max.y;
    let title = match (&riser.footing, riser.is_layered()) {
        (None, false) => "Seen from the back: slices and glue lines across the width",
        (None, true) => "Seen from the back: the first layer",
        (Some(_), false) => "Seen from the back: slices and glue lines across the width, footings in both ends",
        (Some(_), true) => "Seen from the back: the first layer, footings in both ends",
    };
    heading(&mut drawing, Point::new(-end, top + 3.0), title);
    drawing
}

/// Both sides once trimmed to the outline, seen from outside; alike sides are drawn once.
fn sides(riser: &Riser, block: &RiserBlock, outline: &Outline) -> Vec<Drawing> {
    let zones = [BlockSide::First, BlockSide::Last].map(|side| zones(riser, block, outline, side));
    let woods = |zones: &[Zone]| zones.iter().map(|z| (z.from, z.to, block.bands[z.slice].wood.clone())).collect::<Vec<_>>();
    let (first, last) = (woods(&zones[0]), woods(&zones[1]));
    let alike = first.len() == last.len()
        && first.iter().zip(&last).all(|(a, b)| (a.0 - b.0).abs() < 0.05 && (a.1 - b.1).abs() < 0.05 && a.2 == b.2);
    if alike {
        vec![side(riser, block, &zones[0], "Both sides after trimming: slices that show")]
    } else {
        vec![
            side(riser, block, &zones[0], "Side of the first slice after trimming"),
            side(riser, block, &zones[1], "Side of the last slice after trimming"),
        ]
    }
}

/// A stretch of a trimmed side on which one slice shows, in stations of one limb.
struct Zone {
    from: f64,
    to: f64,
    slice: usize,
}

fn zones(riser: &Riser, block: &RiserBlock, outline: &Outline, side: BlockSide) -> Vec<Zone> {
    let mut bounds = vec![0.0];
    bounds.extend(block.seams.iter().filter(|seam| seam.side == side).map(|seam| seam.station_mm));
    bounds.push(riser.feather_station_mm());
    bounds
        .windows(2)
        .map(|pair| Zone { from: pair[0], to: pair[1], slice: block.slice_on_side(outline, 0.5 * (pair[0] + pair[1]), side) })
        .collect()
}

fn side(riser: &Riser, block: &RiserBlock, zones: &[Zone], title: &str) -> Drawing {
    /// A zone narrower than this has no room for its number, mm.
    const NUMBER_MM: f64 = 3.5;
    let mut drawing = Drawing::default();
    for zone in zones {
        let face = face_points(riser, zone.from, zone.to);
        // The middle zone runs over the centre in one; the others show on both limbs.
        let in_middle = zone.from <= 0.0;
        for sign in if in_middle { &[1.0][..] } else { &[1.0, -1.0] } {
            let near = if in_middle { -zone.to } else { zone.from };
            let other = if in_middle { face.as_slice() } else { &[] };
            let edge = [Point::new(zone.to, 0.0), Point::new(near, 0.0)].into_iter();
            let around = edge.chain(other.iter().rev().map(|p| Point::new(-p.x, p.y))).chain(face.iter().copied());
            if zone.slice % 2 == 1 {
                drawing.path(Kind::Tone, Path::closed(around.map(|p| Point::new(sign * p.x, p.y))));
            }
            if NUMBER_MM <= zone.to - zone.from {
                let x = if in_middle { 0.0 } else { sign * 0.5 * (zone.from + zone.to) };
                let label = Label::new((zone.slice + 1).to_string(), Point::new(x, -1.5 - TEXT_MM), TEXT_MM);
                drawing.label(Kind::Dimension, label.aligned(Align::Middle));
            }
        }
        for x in [zone.to, -zone.to] {
            if zone.to < riser.feather_station_mm() {
                drawing.line(Kind::Dimension, Point::new(x, 0.0), Point::new(x, riser.thickness_at(x)));
            }
        }
    }
    drawing.path(Kind::Edge, block.template.clone());
    heading(&mut drawing, Point::new(-0.5 * block.blank_length_mm, riser.depth_mm + 3.0), title);
    drawing
}

/// The climbed face between two stations of one limb.
fn face_points(riser: &Riser, from: f64, to: f64) -> Vec<Point> {
    let level = 0.5 * riser.level_mm;
    // At the end of the level part the face has a corner: each span keeps to one side of it.
    let mut stops = vec![from];
    stops.extend(Some(level).filter(|s| from < *s && *s < to));
    stops.push(to);
    let mut points = Vec::new();
    for span in stops.windows(2) {
        let height = |s: f64| if span[1] <= level { riser.depth_mm } else { riser.thickness_at(s) };
        points.extend(chords(height, span[0], span[1], CHORD_MM));
    }
    points
}

fn check_table(drawing: &mut Drawing, top_left: Point, build: &Build, block: &RiserBlock) -> Bounds {
    let units = build.units;
    let unit = units.length_unit();
    let bare = |mm: f64| units.rule(mm).trim_end_matches(unit).trim_end().to_owned();
    let rows: Vec<Vec<String>> = block
        .check
        .iter()
        .enumerate()
        .map(|(i, mark)| {
            vec![
                (i + 1).to_string(),
                bare(mark.from_feather_mm),
                bare(mark.station_mm),
                units.thickness_number(mark.thickness_mm),
                String::new(),
                String::new(),
            ]
        })
        .collect();
    let texts = ["from feather", "from centre", "thickness"].map(|text| format!("{text}, {unit}"));
    let header = ["mark", &texts[0], &texts[1], &texts[2], "one end", "other end"];
    table(drawing, top_left, &header, &rows, TEXT_MM)
}

fn width_table(drawing: &mut Drawing, top_left: Point, build: &Build, riser: &Riser, block: &RiserBlock) -> Bounds {
    let units = build.units;
    let sum: f64 = block.bands.iter().map(|band| band.from_mm - band.to_mm).sum();
    let lines = block.bands.len().saturating_sub(1);
    let mut rows = Vec::new();
    if !riser.is_layered() {
        rows.push(vec![counted(riser.across.len(), "slice"), units.thickness(sum)]);
        rows.push(vec![
            format!("{} of {}", counted(lines, "glue line"), units.fine(build.glue.line_mm)),
            units.thickness(build.glue.line_mm * lines as f64),
        ]);
    }
    rows.push(vec!["block".to_owned(), units.thickness(block.width_mm)]);
    if let Some(trim) = block.trim {
        rows.push(vec!["outline at the centre".into(), units.thickness(block.width_mm - 2.0 * trim.at_grip_mm)]);
        rows.push(vec!["to trim from each side there".into(), units.thickness(trim.at_grip_mm)]);
        let place = format!("least over the block, at station {}", units.rule(trim.min_at_mm));
        rows.push(vec![place, units.thickness(trim.min_mm)]);
    }
    table(drawing, top_left, &["across the width", ""], &rows, TEXT_MM)
}

/// `1 slice`, `3 slices`, `no glue line`.
fn counted(n: usize, what: &str) -> String {
    match n {
        0 => format!("no {what}"),
        1 => format!("1 {what}"),
        n => format!("{n} {what}s"),
    }
}

fn seam_table(drawing: &mut Drawing, top_left: Point, build: &Build, block: &RiserBlock) -> Bounds {
    let rows: Vec<Vec<String>> = block
        .seams
        .iter()
        .map(|seam| {
            let side = match seam.side {
                BlockSide::First => "first",
                BlockSide::Last => "last",
            };
            vec![
                format!("{} and {}", seam.after_slice + 1, seam.after_slice + 2),
                format!("side of the {side} slice"),
                build.units.rule(seam.station_mm),
            ]
        })
        .collect();
    table(drawing, top_left, &["between slices", "on the", "from the centre"], &rows, TEXT_MM)
}

fn notes(build: &Build, riser: &Riser, block: &RiserBlock) -> Vec<String> {
    let mut notes = vec![
        "True size; the profile's line is the finished face, with no allowance for a cut. Flat face down, as the block lies on the bench."
            .to_owned(),
        format!(
            "Leave {} beyond the template at each end. Saw wide of the fades, then grind to the line against a backing caul of the same \
             curve, which keeps the feather from breaking out.",
            build.units.rule(riser.overrun_mm)
        ),
        "At each mark of the feather check measure both ends with calipers and grind until both agree with the figure and with each \
         other; trim the overrun last."
            .to_owned(),
        "Grain along the bow, straight at both feathers: short grain there breaks under the laminations.".to_owned(),
    ];
    notes.extend(block_parts::in_short(riser, block));
    if block.cuts.is_some() {
        notes.extend(grip::steps(build, riser));
        notes.push(grip::CAUTION.into());
    }
    if let Some(trim) = block.trim.filter(|trim| trim.min_mm < 0.0) {
        notes.push(format!(
            "CAUTION: at station {} the block is {} narrower than the outline.",
            build.units.rule(trim.min_at_mm),
            build.units.thickness(-2.0 * trim.min_mm)
        ));
    }
    if matches!(riser.fade, Fade::Eased) {
        notes.push(format!("The eased fades are drawn by chords within {} mm.", trim_zeros(&fixed(CHORD_MM, 3))));
    }
    if !block.seams.is_empty() {
        notes.push("Seams are those of square sides; a rounded grip moves them.".into());
    }
    notes.extend(rebate::notes(build));
    let woods = riser.woods().map(|wood| (wood.name.as_str(), wood.dust.as_deref()));
    notes.extend(cautions::dust(woods));
    notes.push(format!(
        "Spindle or drum: feed against the rotation, with a push stick for the last of it; collect dust and wear a respirator. {}",
        cautions::RULES_FIRST
    ));
    notes
}
