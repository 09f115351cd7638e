//! Chords in place of a curve given as a function, close enough to cut by.

use super::path::Point;

/// Halvings of one piece before its chord is taken as it is: 2¹² chords a piece is finer than any cutter follows.
const MAX_HALVINGS: u32 = 12;

/// Points of `y(x)` from `from` to `to`, both ends included, whose chords stay within `tolerance` of it.
///
/// A chord is measured at its quarters, across `y`; the true distance is smaller. `from` may be greater than `to`.
/// Corners of the function belong at the ends: split the span there.
pub fn chords(y: impl Fn(f64) -> f64, from: f64, to: f64, tolerance: f64) -> Vec<Point> {
    let at = |x: f64| Point::new(x, y(x));
    let mut points = vec![at(from)];
    // Spans still to do, the nearest last. A halving adds one and the depth is bounded, so the stack stays small.
    let mut spans = vec![(at(from), at(to), 0)];
    while let Some((a, b, depth)) = spans.pop() {
        let strays = |part: f64| (y(a.x + part * (b.x - a.x)) - (a.y + part * (b.y - a.y))).abs();
        let stray = strays(0.25).max(strays(0.5)).max(strays(0.75));
        if stray <= tolerance || MAX_HALVINGS <= depth {
            points.push(b);
        } else {
            let middle = at(0.5 * (a.x + b.x));
            spans.push((middle, b, depth + 1));
            spans.push((a, middle, depth + 1));
        }
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_is_one_chord() {
        assert_eq!(chords(|x| 3.0 - 0.25 * x, 0.0, 8.0, 1e-9), vec![Point::new(0.0, 3.0), Point::new(8.0, 1.0)]);
    }

    #[test]
    fn chords_keep_the_tolerance_and_their_count_grows_as_its_root() {
        // A parabola of curvature 2/900: chords of length c stray c²/3600 at most.
        let mut counts = Vec::new();
        for tolerance in [1.0, 0.1, 0.01, 0.001] {
            let points = chords(|x| x * x / 900.0, 300.0, -10.0, tolerance);
            for pair in points.windows(2) {
                assert!(pair[1].x < pair[0].x);
                assert!((pair[1].x - pair[0].x).powi(2) / 3600.0 <= tolerance * 1.000_001);
            }
            counts.push(points.len());
        }
        assert!(counts[3] < 40 * counts[0], "{counts:?}");
    }
}
