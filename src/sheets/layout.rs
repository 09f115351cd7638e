//! How figures find room: names of places along a bow that would run into each other stand in lanes over it.

use crate::drawing::font::width_mm;
use crate::drawing::{Align, Drawing, Kind, Label, Lettering};
use crate::geometry::{Path, Point};
use std::f64::consts::FRAC_PI_2;

/// A place to name: its mark starts at `(x, foot)` and rises to the name.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Flag {
    pub x: f64,
    pub foot: f64,
    pub text: String,
}

/// Which way names run from their marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Runs {
    Right,
    Left,
}

/// Base line to base line of two lanes, in capital heights: closer, and a descender touches the name under it.
const LANE_CAPS: f64 = 2.0;
/// Between a name and the next mark in its lane, and between a mark and its own name, mm.
const CLEAR_MM: f64 = 2.5;
const BESIDE_MM: f64 = 0.8;

/// Draws marks with their names over `floor`, each name in the lowest lane where it touches neither name nor mark; gives back
/// the height of the topmost name.
///
/// Names run to one side only and are set from the far end of that side backwards: a mark then never meets a name that is
/// already there, so that every name finds a lane.
pub(super) fn flags(drawing: &mut Drawing, flags: &[Flag], runs: Runs, floor: f64, cap_mm: f64) -> f64 {
    let sign = if runs == Runs::Right { 1.0 } else { -1.0 };
    let mut order: Vec<&Flag> = flags.iter().collect();
    order.sort_by(|a, b| (sign * b.x).total_cmp(&(sign * a.x)));
    // For each lane, how far along the first thing in it stands.
    let mut clear: Vec<f64> = Vec::new();
    let mut top = floor;
    for flag in order {
        let x = sign * flag.x;
        let end = x + BESIDE_MM + width_mm(&flag.text, cap_mm, Lettering::Regular) + CLEAR_MM;
        let lane = clear.iter().position(|first| end <= *first).unwrap_or(clear.len());
        if lane == clear.len() {
            clear.push(x);
        }
        for passed in &mut clear[..=lane] {
            *passed = x;
        }
        let y = floor + LANE_CAPS * cap_mm * (lane as f64 + 0.5);
        drawing.line(Kind::Dimension, Point::new(flag.x, flag.foot), Point::new(flag.x, y + cap_mm));
        let at = Point::new(flag.x + sign * BESIDE_MM, y);
        let align = if runs == Runs::Right { Align::Left } else { Align::Right };
        drawing.label(Kind::Dimension, Label::new(flag.text.as_str(), at, cap_mm).aligned(align));
        top = top.max(y + 1.3 * cap_mm);
    }
    top
}

/// Draws marks with their names set upright over `floor`, moved apart where they stand closer than letters are high; gives back the
/// height of the topmost name. A name takes no more room along the bow than a line of text, so that a joint between two pages finds a
/// place beside it.
pub(super) fn upright_flags(drawing: &mut Drawing, flags: &[Flag], floor: f64, cap_mm: f64) -> f64 {
    /// From the marks to the names, where moved ones bend, mm.
    const BEND_MM: f64 = 5.0;
    let mut order: Vec<&Flag> = flags.iter().collect();
    order.sort_by(|a, b| b.x.total_cmp(&a.x));
    let wanted: Vec<f64> = order.iter().map(|flag| flag.x).collect();
    let mut top = floor;
    for (flag, x) in order.iter().zip(spread(&wanted, LANE_CAPS * cap_mm)) {
        let foot = Point::new(x, floor + BEND_MM);
        drawing.path(Kind::Dimension, Path::open([Point::new(flag.x, flag.foot), Point::new(flag.x, floor), foot]));
        let at = Point::new(x + 0.5 * cap_mm, foot.y + BESIDE_MM);
        drawing.label(Kind::Dimension, Label::new(flag.text.as_str(), at, cap_mm).turned(FRAC_PI_2));
        top = top.max(at.y + width_mm(&flag.text, cap_mm, Lettering::Regular));
    }
    top
}

/// Heights moved apart until neighbours are at least `gap` from each other, in their order, falling, and as near to where they
/// were as that allows: the middle of each crowd stays.
pub(super) fn spread(wanted: &[f64], gap: f64) -> Vec<f64> {
    // Crowds of neighbours: how many, and the sum of what each would have as the crowd's top.
    let mut crowds: Vec<(usize, f64)> = Vec::new();
    let top = |crowd: &(usize, f64)| crowd.1 / crowd.0 as f64;
    for y in wanted {
        crowds.push((1, *y));
        // Each joining makes one crowd less: no more turns than heights.
        while let [.., upper, lower] = crowds.as_slice() {
            if top(lower) <= top(upper) - gap * upper.0 as f64 + 1e-9 {
                break;
            }
            let joined = (upper.0 + lower.0, upper.1 + lower.1 + gap * (upper.0 * lower.0) as f64);
            crowds.truncate(crowds.len() - 2);
            crowds.push(joined);
        }
    }
    crowds.iter().flat_map(|crowd| (0..crowd.0).map(move |k| top(crowd) - gap * k as f64)).collect()
}

/// A text to burn into a part, at most `cap_mm` high, that stays inside a free rectangle; `None` if it would be too small to read.
pub(super) fn fitted(text: &str, centre: Point, width: f64, height: f64, cap_mm: f64) -> Option<Label> {
    /// Smaller letters burn shut.
    const MIN_CAP_MM: f64 = 1.4;
    /// Accents and descenders, in capital heights.
    const FULL_CAPS: f64 = 1.65;
    let cap = cap_mm.min(height / FULL_CAPS).min(width / width_mm(text, 1.0, Lettering::Regular));
    let at = Point::new(centre.x, centre.y - 0.5 * cap);
    (MIN_CAP_MM <= cap).then(|| Label::new(text, at, cap).aligned(Align::Middle))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Shape;
    use crate::drawing::font::corners;
    use crate::geometry::Bounds;

    #[test]
    fn crowded_names_and_marks_never_touch() {
        for runs in [Runs::Right, Runs::Left] {
            let wanted: Vec<Flag> = [0.0, 1.0, 2.5, 40.0, 44.0, 90.0]
                .iter()
                .map(|x| Flag { x: *x, foot: 0.0, text: format!("a name of some length at {x}") })
                .collect();
            let mut drawing = Drawing::default();
            flags(&mut drawing, &wanted, runs, 10.0, 2.5);
            let (mut boxes, mut marks) = (Vec::new(), Vec::new());
            for item in &drawing.items {
                match &item.shape {
                    Shape::Label(label) => boxes.push(Bounds::of(corners(label))),
                    Shape::Path(path) => marks.push(path.bounds()),
                }
            }
            let apart = |a: &Bounds, b: &Bounds| a.max.x < b.min.x || b.max.x < a.min.x || a.max.y < b.min.y || b.max.y < a.min.y;
            for (i, a) in boxes.iter().enumerate() {
                assert!(boxes[i + 1..].iter().all(|b| apart(a, b)));
                assert!(marks.iter().all(|b| apart(a, b)));
            }
        }
    }

    #[test]
    fn crowds_spread_about_their_middle() {
        let spaced = spread(&[10.0, 9.0, 8.0, -5.0], 3.0);
        let wanted = [12.0, 9.0, 6.0, -5.0];
        assert!(spaced.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-12), "{spaced:?}");
        assert_eq!(spread(&[], 3.0), Vec::<f64>::new());
        let tight = spread(&[1.0, 0.9, 0.0, -0.1, -0.2], 1.0);
        assert!(tight.windows(2).all(|p| 1.0 - 1e-9 <= p[0] - p[1]), "{tight:?}");
    }
}
