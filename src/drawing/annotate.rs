//! Pieces that explain a drawing: dimensions, leaders, station rules, tables, notes and the two-way scale check.
//!
//! Each function adds items to a [`Drawing`] at true size in mm. Line conventions after ISO 128 (thin continuous lines for
//! dimensions) and ISO 129-1 (extension lines run past the dimension line, figures stand above it and read from below or
//! from the right); arrows, spacing and lettering are our own.
//!
//! A sheet does not draw its own title, notes, maker's line or scale check: the writers add them for their format, SVG and
//! DXF by [`surround`], PDF on every page. A sheet that has items of [`Kind::ScaleCheck`] already gets no second check.

use super::font::{self, HEAD_MM, LEADING_CAPS, SMALL_MM, TEXT_MM};
use super::items::{Align, Drawing, Label, Lettering};
use super::kind::Kind;
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::units::MM_PER_IN;
use std::f64::consts::{FRAC_PI_2, PI};

/// Between a figure or a note and the line under it, mm.
const CLEAR_MM: f64 = 0.7;
/// From the measured point to the start of its extension line, mm.
const GAP_MM: f64 = 1.0;
/// Extension line beyond the dimension line, mm.
const PAST_MM: f64 = 1.5;
/// Arrow: length along the line, half its spread, mm.
const ARROW_MM: (f64, f64) = (2.6, 0.38);

/// A horizontal dimension whose line runs at height `y`, for points at any height.
pub fn dimension_x(drawing: &mut Drawing, from: Point, to: Point, y: f64, text: &str) {
    dimension_between(drawing, [from, to], [Point::new(from.x, y), Point::new(to.x, y)], text);
}

/// A vertical dimension whose line runs at `x`, for points anywhere.
pub fn dimension_y(drawing: &mut Drawing, from: Point, to: Point, x: f64, text: &str) {
    dimension_between(drawing, [from, to], [Point::new(x, from.y), Point::new(x, to.y)], text);
}

/// A note with an arrow: from `tip` to `shelf`, where the lines of text begin (or end, if the shelf lies left of the tip).
pub fn leader(drawing: &mut Drawing, tip: Point, shelf: Point, lines: &[&str]) {
    let rightward = tip.x <= shelf.x;
    let widest = lines.iter().map(|line| font::width_mm(line, TEXT_MM, Lettering::Regular)).fold(0.0, f64::max);
    let end = Point::new(shelf.x + if rightward { widest } else { -widest }, shelf.y);
    drawing.path(Kind::Dimension, Path::open([tip, shelf, end]));
    arrow(drawing, tip, (shelf.y - tip.y).atan2(shelf.x - tip.x));
    let align = if rightward { Align::Left } else { Align::Right };
    for (i, line) in lines.iter().enumerate() {
        // The first line stands on the shelf, the others hang under it.
        let below = if i == 0 { CLEAR_MM } else { -CLEAR_MM - TEXT_MM * (1.0 + LEADING_CAPS * (i - 1) as f64) };
        drawing.label(Kind::Dimension, Label::new(*line, Point::new(shelf.x, shelf.y + below), TEXT_MM).aligned(align));
    }
}

/// A line with a tick and a figure at each station; `stations` in rising order are distances along it from `origin`.
///
/// Figures stand to the right of its direction. Where they would touch, some are left out,
/// never the first and the last; every tick is drawn.
pub fn station_rule(drawing: &mut Drawing, origin: Point, angle_rad: f64, stations: &[(f64, String)]) {
    let (Some(first), Some(last)) = (stations.first(), stations.last()) else { return };
    let across = angle_rad - FRAC_PI_2;
    let at = |s: f64| step(origin, angle_rad, s);
    drawing.line(Kind::Dimension, at(first.0), at(last.0));
    let reading = upright(angle_rad);
    // Figures whose upper side faces the line must keep their capital height from it, the others only their feet.
    let figures_up = (reading + FRAC_PI_2 - across).cos() > 0.0;
    let foot = 2.2 + CLEAR_MM + if figures_up { 0.0 } else { SMALL_MM };
    let half = |text: &str| 0.5 * font::width_mm(text, SMALL_MM, Lettering::Regular) + 0.6;
    let mut taken = first.0 - 2.0 * half(&first.1);
    for (i, (s, text)) in stations.iter().enumerate() {
        drawing.line(Kind::Dimension, at(*s), step(at(*s), across, 2.2));
        let is_end = i == 0 || i + 1 == stations.len();
        let room_before = taken <= s - half(text);
        let room_after = s + half(text) <= last.0 - half(&last.1);
        if is_end || (room_before && room_after) {
            let label = Label::new(text.as_str(), step(at(*s), across, foot), SMALL_MM).turned(reading);
            drawing.label(Kind::Dimension, label.aligned(Align::Middle));
            taken = s + half(text);
        }
    }
}

/// A bold heading over a view, its base line at `at`.
pub fn heading(drawing: &mut Drawing, at: Point, text: &str) {
    drawing.label(Kind::Note, Label::new(text, at, HEAD_MM).bold());
}

/// Lines of running text, each broken to `width_mm`, hanging from `top_left`; gives back the space they take.
pub fn notes(drawing: &mut Drawing, top_left: Point, width_mm: f64, cap_mm: f64, texts: &[&str]) -> Bounds {
    let mut y = top_left.y - cap_mm;
    let mut bounds = Bounds::EMPTY.with(top_left);
    for line in texts.iter().flat_map(|text| font::wrapped(text, width_mm, cap_mm, Lettering::Regular)) {
        let label = Label::new(line, Point::new(top_left.x, y), cap_mm);
        bounds = bounds.union(Bounds::of(font::corners(&label)));
        drawing.label(Kind::Note, label);
        y -= LEADING_CAPS * cap_mm;
    }
    bounds
}

/// A ruled table hanging from `top_left`, as wide as its texts need; columns of numbers stand flush right.
/// Gives back the space it takes.
pub fn table(drawing: &mut Drawing, top_left: Point, header: &[&str], rows: &[Vec<String>], cap_mm: f64) -> Bounds {
    let (pad, pitch) = (0.9 * cap_mm, 2.0 * cap_mm);
    let cell = |row: &[String], k: usize| row.get(k).cloned().unwrap_or_default();
    let numeric = |k: usize| rows.iter().all(|row| reads_as_number(&cell(row, k)));
    let widths: Vec<f64> = (0..header.len())
        .map(|k| {
            let head = font::width_mm(header[k], cap_mm, Lettering::Bold);
            rows.iter().map(|row| font::width_mm(&cell(row, k), cap_mm, Lettering::Regular)).fold(head, f64::max) + 2.0 * pad
        })
        .collect();
    let width: f64 = widths.iter().sum();
    let foot = top_left.y - pitch * (rows.len() + 1) as f64;
    let bounds = Bounds { min: Point::new(top_left.x, foot), max: Point::new(top_left.x + width, top_left.y) };
    for y in [top_left.y, top_left.y - pitch, foot] {
        drawing.line(Kind::Note, Point::new(bounds.min.x, y), Point::new(bounds.max.x, y));
    }
    let mut left = top_left.x;
    for (k, width) in widths.iter().enumerate() {
        let (align, x) = if numeric(k) { (Align::Right, left + width - pad) } else { (Align::Left, left + pad) };
        // Base line so that capitals stand in the middle of their row.
        let base = |row: usize| top_left.y - pitch * row as f64 - 0.5 * (pitch + cap_mm);
        drawing.label(Kind::Note, Label::new(header[k], Point::new(x, base(0)), cap_mm).aligned(align).bold());
        for (i, row) in rows.iter().enumerate() {
            drawing.label(Kind::Note, Label::new(cell(row, k), Point::new(x, base(i + 1)), cap_mm).aligned(align));
        }
        left += width;
    }
    bounds
}

/// How long the bars of a scale check are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CheckSize {
    /// 100 mm and 4 in.
    Full,
    /// 50 mm and 2 in, for paper too small for the other.
    Half,
}

impl CheckSize {
    /// Lengths of the metric and the inch bar: mm, in.
    pub fn lengths(self) -> (u32, u32) {
        match self {
            CheckSize::Full => (100, 4),
            CheckSize::Half => (50, 2),
        }
    }

    /// Length of the longer bar, mm.
    pub fn longest_mm(self) -> f64 {
        let (mm, inches) = self.lengths();
        f64::from(mm).max(f64::from(inches) * MM_PER_IN)
    }
}

/// Space that the bars of a check take on either side of their line, with their labels, mm.
pub const CHECK_SIDE_MM: f64 = 6.0;

/// The two-way scale check: bars from one corner along x and along y, millimetres on the inner side and inches on the
/// outer, with a tick every 10 mm and every half inch.
pub fn scale_check(drawing: &mut Drawing, corner: Point, size: CheckSize) {
    let upward = Placement { mirrored: true, angle_rad: -FRAC_PI_2, shift: corner };
    let rightward = Placement::moved(corner.x, corner.y);
    let (mm, inches) = size.lengths();
    let metric = (0..=mm / 10).map(|k| (f64::from(k) * 10.0, 1.0, k % 5 == 0));
    let imperial = (0..=2 * inches).map(|k| (f64::from(k) * 0.5 * MM_PER_IN, -1.0, k % 2 == 0));
    let ticks: Vec<(f64, f64, bool)> = metric.chain(imperial).collect();
    for placement in [rightward, upward] {
        let line = Path::line(Point::new(0.0, 0.0), Point::new(size.longest_mm(), 0.0));
        drawing.path(Kind::ScaleCheck, line.placed(&placement));
        for (x, side, long) in &ticks {
            let tick = Path::line(Point::new(*x, 0.0), Point::new(*x, side * if *long { 3.0 } else { 1.8 }));
            drawing.path(Kind::ScaleCheck, tick.placed(&placement));
        }
    }
    let (mm_end, in_end) = (f64::from(mm), f64::from(inches) * MM_PER_IN);
    let (inner, outer) = (3.0 + CLEAR_MM, 3.0 + CLEAR_MM + SMALL_MM);
    for (axis, turn) in [("x", 0.0), ("y", FRAC_PI_2)] {
        let put = |drawing: &mut Drawing, along: f64, across: f64, text: String, align: Align| {
            // Both bars are lettered along themselves; seen along the upward bar, its inner side lies below.
            let at = if turn > 0.0 { Point::new(across, along) } else { Point::new(along, across) };
            let at = Point::new(corner.x + at.x, corner.y + at.y);
            drawing.label(Kind::ScaleCheck, Label::new(text, at, SMALL_MM).aligned(align).turned(turn));
        };
        let (mm_foot, in_foot) = if turn > 0.0 { (inner + SMALL_MM, -inner) } else { (inner, -outer) };
        put(drawing, mm_end, mm_foot, format!("{mm} mm"), Align::Right);
        put(drawing, in_end, in_foot, format!("{inches} in"), Align::Right);
        let lead = if size == CheckSize::Full { "scale check " } else { "check " };
        put(drawing, 7.0, mm_foot, format!("{axis}  {lead}{mm} mm / {inches} in"), Align::Left);
    }
}

/// What SVG and DXF files carry around a drawing: the scale check at its lower left corner, title, notes and what made it.
pub fn surround(drawing: &Drawing) -> Drawing {
    let mut around = Drawing::new("", "");
    let extent = font::extent(drawing);
    if extent.is_empty() {
        return around;
    }
    let mut top_left = Point::new(extent.min.x, extent.min.y - 6.0);
    if !drawing.items.iter().any(|item| item.kind == Kind::ScaleCheck) {
        let corner = Point::new(extent.min.x - CHECK_SIDE_MM - 2.0, extent.min.y - CHECK_SIDE_MM - 2.0);
        scale_check(&mut around, corner, CheckSize::Full);
        top_left = Point::new(corner.x, corner.y - CHECK_SIDE_MM - 3.0);
    }
    let width = extent.width().max(180.0);
    if !drawing.title.is_empty() {
        heading(&mut around, Point::new(top_left.x, top_left.y - HEAD_MM), &drawing.title);
        top_left.y -= LEADING_CAPS * HEAD_MM;
    }
    for (text, cap) in drawing.notes.iter().map(|note| (note, TEXT_MM)).chain([(&drawing.made_by, SMALL_MM)]) {
        let taken = notes(&mut around, top_left, width, cap, &[text]);
        top_left.y = taken.min.y - 0.3 * cap;
    }
    around
}

/// Whether a table's cell holds a number (or nothing), so that its column stands flush right.
pub fn reads_as_number(text: &str) -> bool {
    text.chars().all(|c| c.is_ascii_digit() || " .,/+-−±–%".contains(c))
}

fn dimension_between(drawing: &mut Drawing, feet: [Point; 2], ends: [Point; 2], text: &str) {
    let [from, to] = ends;
    for (foot, end) in feet.iter().zip(ends) {
        let length = foot.distance(end);
        if GAP_MM < length {
            let away = (end.y - foot.y).atan2(end.x - foot.x);
            drawing.line(Kind::Dimension, step(*foot, away, GAP_MM), step(end, away, PAST_MM));
        }
    }
    let angle = (to.y - from.y).atan2(to.x - from.x);
    let length = from.distance(to);
    let width = font::width_mm(text, TEXT_MM, Lettering::Regular);
    let arrows_inside = 2.0 * ARROW_MM.0 + 1.0 < length;
    let text_inside = width + if arrows_inside { 2.0 * ARROW_MM.0 } else { 1.0 } < length;
    let reading = upright(angle);
    let up = reading + FRAC_PI_2;
    let runs_with_reading = (reading - angle).cos() > 0.0;
    // The figure goes beyond the end that a reader meets last if it does not fit between the arrows.
    let (last, outward) = if runs_with_reading { (to, reading) } else { (from, reading) };
    let tail = if arrows_inside { 0.0 } else { 2.0 * ARROW_MM.0 };
    let beyond = if text_inside { tail } else { tail.max(1.5) + width };
    let (mut start, mut end) = (from, to);
    if runs_with_reading {
        start = step(from, angle, -tail);
        end = step(to, angle, beyond);
    } else {
        start = step(start, angle, -beyond);
        end = step(end, angle, tail);
    }
    drawing.line(Kind::Dimension, start, end);
    let flip = if arrows_inside { 0.0 } else { PI };
    arrow(drawing, from, angle + flip);
    arrow(drawing, to, angle + PI + flip);
    if text.is_empty() {
        return;
    }
    let (anchor, align) = if text_inside {
        (Point::new(0.5 * (from.x + to.x), 0.5 * (from.y + to.y)), Align::Middle)
    } else {
        (step(last, outward, beyond), Align::Right)
    };
    drawing.label(Kind::Dimension, Label::new(text, step(anchor, up, CLEAR_MM), TEXT_MM).turned(reading).aligned(align));
}

/// An open arrow whose point is `tip` and whose barbs lie in direction `angle` from it.
fn arrow(drawing: &mut Drawing, tip: Point, angle: f64) {
    let back = step(tip, angle, ARROW_MM.0);
    let barb = |side: f64| step(back, angle + FRAC_PI_2, side * ARROW_MM.1);
    drawing.path(Kind::Dimension, Path::open([barb(1.0), tip, barb(-1.0)]));
}

/// The direction along a line at `angle` in which text reads from below or from the right: over −90°, up to 90°.
fn upright(angle: f64) -> f64 {
    let turned = angle.rem_euclid(PI);
    // A hair of rounding must not turn a vertical figure upside down.
    if turned <= FRAC_PI_2 + 1e-9 { turned } else { turned - PI }
}

fn step(from: Point, angle: f64, length: f64) -> Point {
    let placement = Placement { mirrored: false, angle_rad: angle, shift: from };
    placement.apply(Point::new(length, 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Shape;

    fn labels(drawing: &Drawing) -> Vec<&Label> {
        let mut found = Vec::new();
        for item in &drawing.items {
            if let Shape::Label(label) = &item.shape {
                found.push(label);
            }
        }
        found
    }

    #[test]
    fn figures_read_from_below_or_from_the_right() {
        for degrees in (-180..=180).step_by(15) {
            let angle = upright(f64::from(degrees).to_radians());
            assert!(-FRAC_PI_2 < angle && angle <= FRAC_PI_2 + 1e-9, "{degrees}: {angle}");
            assert!((angle - f64::from(degrees).to_radians()).sin().abs() < 1e-12);
        }
        let mut down = Drawing::new("", "");
        dimension_y(&mut down, Point::new(0.0, 50.0), Point::new(0.0, 0.0), 8.0, "50 mm");
        assert!((labels(&down)[0].angle_rad - FRAC_PI_2).abs() < 1e-12);
        // The figure stands over its line as read from the right, thus at smaller x.
        assert!((labels(&down)[0].at.x - (8.0 - CLEAR_MM)).abs() < 1e-12);
    }

    #[test]
    fn a_narrow_dimension_puts_its_figure_outside() {
        for (length, inside) in [(60.0, true), (3.0, false)] {
            let mut drawing = Drawing::new("", "");
            dimension_x(&mut drawing, Point::new(0.0, 0.0), Point::new(length, 5.0), 12.0, "3.175 mm (1/8 in)");
            let bounds = Bounds::of(font::corners(labels(&drawing)[0]));
            assert_eq!(bounds.max.x <= length, inside);
            assert_eq!(length < bounds.min.x, !inside);
        }
    }

    #[test]
    fn station_figures_never_touch_and_keep_both_ends() {
        let stations: Vec<(f64, String)> = (0..=60).map(|k| (f64::from(k) * 4.0, format!("{k} in"))).collect();
        let mut drawing = Drawing::new("", "");
        station_rule(&mut drawing, Point::new(5.0, 5.0), 0.0, &stations);
        let boxes: Vec<Bounds> = labels(&drawing).iter().map(|label| Bounds::of(font::corners(label))).collect();
        assert!(2 < boxes.len() && boxes.len() < 61);
        assert!(boxes.windows(2).all(|pair| pair[0].max.x < pair[1].min.x));
        assert_eq!(labels(&drawing).last().unwrap().text, "60 in");
        // Under the line: capitals end below the ticks.
        assert!(boxes.iter().all(|b| b.max.y < 5.0 - 2.0));
    }

    #[test]
    fn the_scale_check_measures_both_ways() {
        for size in [CheckSize::Full, CheckSize::Half] {
            let mut drawing = Drawing::new("", "");
            scale_check(&mut drawing, Point::new(20.0, 30.0), size);
            let (mm, inches) = size.lengths();
            let ends: Vec<Point> = drawing
                .items
                .iter()
                .filter_map(|item| if let Shape::Path(path) = &item.shape { Some(path.vertices.clone()) } else { None })
                .flatten()
                .map(|v| Point::new(v.at.x - 20.0, v.at.y - 30.0))
                .collect();
            for (length, side) in [(f64::from(mm), 3.0), (f64::from(inches) * MM_PER_IN, -3.0)] {
                for wanted in [Point::new(length, side), Point::new(side, length)] {
                    assert!(ends.iter().any(|p| p.distance(wanted) < 1e-9), "{size:?} {wanted:?}");
                }
            }
            let bounds = font::extent(&drawing);
            let side = CHECK_SIDE_MM + 0.5;
            assert!(20.0 - side <= bounds.min.x && 30.0 - side <= bounds.min.y, "{bounds:?}");
        }
    }

    #[test]
    fn what_surrounds_a_drawing_stays_off_it() {
        let mut drawing = Drawing::new("strip", "Strip");
        drawing.made_by = "taperwright".into();
        drawing.notes = vec!["a note long enough to need more than one line ".repeat(6)];
        let bounds = Bounds { min: Point::new(-5.0, 3.0), max: Point::new(400.0, 15.0) };
        drawing.path(Kind::Cut, Path::rectangle(bounds));
        let around = surround(&drawing);
        for item in &around.items {
            let b = font::extent(&Drawing { items: vec![item.clone()], ..Drawing::default() });
            let apart = b.max.x < bounds.min.x - 0.5 || b.max.y < bounds.min.y - 0.5;
            assert!(apart, "{item:?}");
        }
        let texts: Vec<&str> = labels(&around).iter().map(|label| label.text.as_str()).collect();
        assert!(texts.contains(&"Strip") && texts.contains(&"taperwright"));
        let checks = |d: &Drawing| d.items.iter().filter(|item| item.kind == Kind::ScaleCheck).count();
        assert!(0 < checks(&around));
        scale_check(&mut drawing, Point::new(0.0, 100.0), CheckSize::Full);
        assert_eq!(checks(&surround(&drawing)), 0, "a sheet with its own check gets no second one");
    }

    #[test]
    fn a_table_keeps_its_texts_inside() {
        let mut drawing = Drawing::new("", "");
        let rows = vec![vec!["butt".into(), "0.150".into()], vec!["tip, ground to feather".into(), "0.0840".into()]];
        let bounds = table(&mut drawing, Point::new(3.0, 7.0), &["station", "in"], &rows, SMALL_MM);
        assert!((bounds.max.y - 7.0).abs() < 1e-12 && (bounds.min.x - 3.0).abs() < 1e-12);
        let inked = font::extent(&drawing);
        assert!(bounds.min.x <= inked.min.x && inked.max.x <= bounds.max.x, "{inked:?} {bounds:?}");
        let right: Vec<&Label> = labels(&drawing).into_iter().filter(|label| label.align == Align::Right).collect();
        assert_eq!(right.iter().map(|label| label.text.as_str()).collect::<Vec<_>>(), ["in", "0.150", "0.0840"]);
    }
}
