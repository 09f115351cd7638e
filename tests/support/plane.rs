//! How far two closed lines and what they enclose are from each other, by their corners and sides alone.

use taperwright::geometry::{Path, Point};

/// Least distance, mm; 0 where they share anything.
pub fn apart_mm(a: &Path, b: &Path) -> f64 {
    let (box_a, box_b) = (a.bounds(), b.bounds());
    let far =
        (box_b.min.x - box_a.max.x).max(box_a.min.x - box_b.max.x).max(box_b.min.y - box_a.max.y).max(box_a.min.y - box_b.max.y);
    // Boxes that are well apart tell enough.
    if 20.0 < far {
        return far;
    }
    let (a, b) = (a.flattened(1e-3), b.flattened(1e-3));
    if encloses(&a, b[0]) || encloses(&b, a[0]) {
        return 0.0;
    }
    let mut min = f64::INFINITY;
    for (p, q) in sides(&a) {
        for (r, s) in sides(&b) {
            if cross(p, q, r, s) {
                return 0.0;
            }
            for distance in [to_side(p, r, s), to_side(q, r, s), to_side(r, p, q), to_side(s, p, q)] {
                min = min.min(distance);
            }
        }
    }
    min
}

fn sides(points: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    points.iter().copied().zip(points.iter().copied().cycle().skip(1))
}

/// By the sum of the angles under which its sides are seen.
fn encloses(points: &[Point], at: Point) -> bool {
    let angle = |p: Point| (p.y - at.y).atan2(p.x - at.x);
    let turn = |(p, q): (Point, Point)| {
        let step = angle(q) - angle(p);
        step - std::f64::consts::TAU * (step / std::f64::consts::TAU).round()
    };
    1.0 < sides(points).map(turn).sum::<f64>().abs()
}

fn to_side(p: Point, a: Point, b: Point) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let long = dx * dx + dy * dy;
    let fraction = if long <= 0.0 { 0.0 } else { (((p.x - a.x) * dx + (p.y - a.y) * dy) / long).clamp(0.0, 1.0) };
    (p.x - a.x - fraction * dx).hypot(p.y - a.y - fraction * dy)
}

fn cross(p: Point, q: Point, r: Point, s: Point) -> bool {
    let side = |a: Point, b: Point, c: Point| (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x);
    side(p, q, r) * side(p, q, s) < 0.0 && side(r, s, p) * side(r, s, q) < 0.0
}
