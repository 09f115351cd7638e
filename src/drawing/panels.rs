//! Where the panels of a drawing stand: side by side, none on another, in the room that a page or a drawing has.

use super::font;
use super::items::Drawing;
use crate::geometry::{Placement, Point};
use std::borrow::Cow;

/// Between panels, mm.
pub const GAP_MM: f64 = 8.0;
/// Least width that panels are spread over under a drawing, mm.
const WIDTH_MM: f64 = 250.0;

/// Upper left corners for boxes `(width, height)` in a room `width_mm` wide, from its own upper left corner, x to the right and y
/// down; each box in its turn as high up as there is room, then as far left. A box wider than the room stands alone at the left.
pub fn packed(sizes: &[(f64, f64)], width_mm: f64, gap_mm: f64) -> Vec<Point> {
    let mut corners: Vec<Point> = Vec::new();
    for (k, (wide, high)) in sizes.iter().enumerate() {
        let before = || corners.iter().zip(&sizes[..k]);
        let mut lefts: Vec<f64> = before().map(|(corner, size)| corner.x + size.0 + gap_mm).chain([0.0]).collect();
        let mut tops: Vec<f64> = before().map(|(corner, size)| corner.y + size.1 + gap_mm).chain([0.0]).collect();
        lefts.sort_by(f64::total_cmp);
        tops.sort_by(f64::total_cmp);
        let free = |corner: &Point| {
            before().all(|(other, size)| {
                let beside = corner.x + wide + gap_mm <= other.x + 1e-9 || other.x + size.0 + gap_mm <= corner.x + 1e-9;
                beside || corner.y + high + gap_mm <= other.y + 1e-9 || other.y + size.1 + gap_mm <= corner.y + 1e-9
            })
        };
        let inside = |left: &f64| *left <= 0.0 || left + wide <= width_mm + 1e-9;
        let places = tops.iter().flat_map(|top| lefts.iter().filter(|left| inside(left)).map(|left| Point::new(*left, *top)));
        // Under everything there is always room.
        corners.push(places.into_iter().find(free).unwrap_or(Point::new(0.0, 0.0)));
    }
    corners
}

/// The drawing as one picture, its panels under its items.
pub fn in_one(drawing: &Drawing) -> Cow<'_, Drawing> {
    if drawing.panels.is_empty() {
        return Cow::Borrowed(drawing);
    }
    let mut whole = Drawing { panels: Vec::new(), ..drawing.clone() };
    let (extent, alone) = (font::extent(drawing), drawing.items.is_empty());
    let corner = if alone { Point::new(0.0, 0.0) } else { Point::new(extent.min.x, extent.min.y - 2.0 * GAP_MM) };
    let width = if alone { WIDTH_MM } else { extent.width().max(WIDTH_MM) };
    let bounds: Vec<_> = drawing.panels.iter().map(font::extent).collect();
    let sizes: Vec<(f64, f64)> = bounds.iter().map(|bounds| (bounds.width(), bounds.height())).collect();
    for ((panel, bounds), at) in drawing.panels.iter().zip(bounds).zip(packed(&sizes, width, 2.0 * GAP_MM)) {
        whole.include(panel, &Placement::moved(corner.x + at.x - bounds.min.x, corner.y - at.y - bounds.max.y));
    }
    Cow::Owned(whole)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn boxes_stand_apart_and_as_high_as_they_can() {
        let sizes = [(100.0, 60.0), (80.0, 20.0), (90.0, 30.0), (50.0, 10.0), (300.0, 5.0)];
        let corners = packed(&sizes, 200.0, 5.0);
        assert_eq!(corners[0], Point::new(0.0, 0.0));
        assert_eq!(corners[1], Point::new(105.0, 0.0));
        assert_eq!(corners[2], Point::new(105.0, 25.0));
        for (i, (a, s)) in corners.iter().zip(&sizes).enumerate() {
            for (b, t) in corners.iter().zip(&sizes).skip(i + 1) {
                assert!(a.x + s.0 < b.x || b.x + t.0 < a.x || a.y + s.1 < b.y || b.y + t.1 < a.y);
            }
        }
    }
}
