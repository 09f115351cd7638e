//! Parallel curves of closed paths, for kerf and tool radius. Arcs stay arcs.

use super::path::{Path, Point, Vertex};
use cavalier_contours::polyline::{PlineSource, PlineSourceMut, Polyline};

/// Why a path has no usable offset.
#[derive(Debug, Clone, PartialEq)]
pub enum OffsetFault {
    /// The path is open, has fewer than two corners or no area.
    NotALoop,
    /// Nothing is left inside: the part is thinner than twice the distance somewhere along its whole length.
    Vanished { distance: f64 },
    /// The part falls into this many pieces.
    Split { pieces: usize },
}

/// The path at `distance` outside a closed path (negative: inside), counter-clockwise, corners rounded outside.
///
/// Exactly one loop must come out; otherwise the fault says what happened. The result's area is held against what the
/// perimeter allows: where the library loses part of a loop, which depends on the corner it starts from, another start is tried.
pub fn outward(path: &Path, distance: f64) -> Result<Path, OffsetFault> {
    let n = path.vertices.len();
    if !path.closed || n < 2 || path.area().abs() <= 0.0 {
        return Err(OffsetFault::NotALoop);
    }
    let path = if path.area() < 0.0 { path.reversed() } else { path.clone() };
    if distance.abs() < 1e-9 {
        return Ok(path);
    }
    let mut last = OffsetFault::NotALoop;
    for attempt in 0..STARTS {
        let mut line = Polyline::<f64>::new_closed();
        for vertex in path.vertices.iter().cycle().skip(attempt * n / STARTS).take(n) {
            line.add(vertex.at.x, vertex.at.y, vertex.bulge);
        }
        // The library counts a counter-clockwise loop's inside as positive.
        match line.parallel_offset(-distance).as_slice() {
            [] => last = OffsetFault::Vanished { distance },
            [only] => {
                let found = without_specks(from_polyline(only));
                if plausible(&path, &found, distance) {
                    return Ok(found);
                }
                last = OffsetFault::Vanished { distance };
            }
            several => last = OffsetFault::Split { pieces: several.len() },
        }
    }
    Err(last)
}

/// Corners to start from before a fault is believed.
const STARTS: usize = 4;

/// Moving every piece by `d` changes the area by at most perimeter times `d`, and the full turn of the corners (Steiner's formula).
fn plausible(path: &Path, found: &Path, distance: f64) -> bool {
    let (before, after) = (path.area(), found.area());
    let most = path.length() * distance.abs() + std::f64::consts::PI * distance * distance;
    let slack = 1e-6 * before + 1e-6;
    if 0.0 < distance {
        before <= after + slack && after <= before + most + slack
    } else {
        before - most <= after + slack && after <= before + slack
    }
}

/// Length and area of the curve at `distance` outside a closed path, if all of it is there: every piece moved out, corners that turn out rounded,
/// pieces at corners that turn in cut where they meet. Where a slot or notch is too narrow for it the true curve is shorter, and encloses less.
///
/// ```text
///   L(d) = L + d Θ − 2 d Σ tan(θ/2)                 θ  by how much a corner turns to the right
///   A(d) = A + d L + d²/2 Θ − d² Σ tan(θ/2)         Θ  what all else turns to the left: 2π + Σ θ
/// ```
///
/// Source: Steiner's formula, with the kite that two bands share in a corner that turns in.
pub fn whole(path: &Path, distance: f64) -> [f64; 2] {
    let reversed;
    let path = if path.area() < 0.0 {
        reversed = path.reversed();
        &reversed
    } else {
        path
    };
    let n = path.vertices.len();
    // Directions at its start and end.
    let piece = |i: usize| {
        let (from, to) = (path.vertices[i], path.vertices[(i + 1) % n].at);
        let (dx, dy) = (to.x - from.at.x, to.y - from.at.y);
        let length = dx.hypot(dy);
        // Half of an arc's turn has the sine and cosine of four times the arc tangent of its bulge, halved.
        let bulge = from.bulge;
        let (sin, cos) = (2.0 * bulge / (1.0 + bulge * bulge), (1.0 - bulge * bulge) / (1.0 + bulge * bulge));
        let turned = |sin: f64| [(dx * cos - dy * sin) / length, (dx * sin + dy * cos) / length];
        (0.0 < length).then(|| [turned(-sin), turned(sin)])
    };
    let pieces: Vec<[[f64; 2]; 2]> = (0..n).filter_map(piece).collect();
    let (mut right, mut kites) = (0.0, 0.0);
    for (k, [_, end]) in pieces.iter().enumerate() {
        let [start, _] = pieces[(k + 1) % pieces.len()];
        let (sin, cos) = (end[0] * start[1] - end[1] * start[0], end[0] * start[0] + end[1] * start[1]);
        if sin < 0.0 {
            right -= sin.atan2(cos);
            kites -= sin / (1.0 + cos);
        }
    }
    let (length, turned) = (path.length(), 2.0 * std::f64::consts::PI + right);
    [length + distance * (turned - 2.0 * kites), path.area() + distance * length + distance * distance * (0.5 * turned - kites)]
}

fn from_polyline(line: &Polyline<f64>) -> Path {
    let vertices = line.iter_vertexes().map(|v| Vertex { at: Point::new(v.x, v.y), bulge: v.bulge }).collect();
    Path { vertices, closed: true }
}

/// Rounded joins at nearly straight corners leave arcs of a few micrometres, which make cutters stutter: drop them.
fn without_specks(path: Path) -> Path {
    const SPECK_MM: f64 = 0.002;
    let mut kept: Vec<Vertex> = Vec::with_capacity(path.vertices.len());
    for (i, vertex) in path.vertices.iter().enumerate() {
        let next = path.vertices[(i + 1) % path.vertices.len()].at;
        if SPECK_MM < vertex.at.distance(next) || kept.is_empty() {
            kept.push(*vertex);
        }
    }
    Path { vertices: kept, closed: true }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Bounds;
    use std::f64::consts::PI;

    #[test]
    fn outward_is_positive_on_a_square_whichever_way_it_runs() {
        let square = Path::rectangle(Bounds { min: Point::new(0.0, 0.0), max: Point::new(10.0, 10.0) });
        for path in [square.clone(), square.reversed()] {
            let out = outward(&path, 1.0).unwrap();
            assert!((out.area() - (100.0 + 40.0 + PI)).abs() < 1e-9, "{}", out.area());
            let inside = outward(&path, -1.0).unwrap();
            assert!((inside.area() - 64.0).abs() < 1e-9);
        }
    }

    #[test]
    fn out_and_back_returns_the_area() {
        let wedge = Path::closed([Point::new(0.0, 0.0), Point::new(900.0, 0.0), Point::new(900.0, 30.0), Point::new(0.0, 25.0)]);
        let back = outward(&outward(&wedge, 0.1).unwrap(), -0.1).unwrap();
        assert!((back.area() - wedge.area()).abs() < 1e-6 * wedge.area());
    }

    /// A plate with a notch, round-cornered on one side: what is there is what Steiner's formula says, until the band fills the notch.
    #[test]
    fn all_of_a_curve_is_there_until_a_notch_is_too_narrow() {
        let mut plate = Path::closed(
            [(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (23.0, 20.0), (23.0, 8.0), (17.0, 8.0), (17.0, 20.0), (0.0, 20.0)]
                .map(|(x, y)| Point::new(x, y)),
        );
        // A half circle at one end, and a scoop on the long side.
        plate.vertices[1].bulge = 1.0;
        plate.vertices[0].bulge = -0.2;
        for path in [plate.clone(), plate.reversed()] {
            for distance in [0.05, 1.0, 2.9, 3.0, 3.1] {
                let out = outward(&path, distance).unwrap();
                let [length, area] = whole(&path, distance);
                let there = (out.length() - length).abs() < 1e-7 && (out.area() - area).abs() < 1e-7;
                // A notch as wide as the band is met exactly: the curve goes in and out of it on one line.
                assert_eq!(there, distance <= 3.0, "{distance}: {} {length}, {} {area}", out.length(), out.area());
            }
        }
    }

    #[test]
    fn too_thin_is_a_fault() {
        let sliver = Path::rectangle(Bounds { min: Point::new(0.0, 0.0), max: Point::new(100.0, 0.3) });
        assert_eq!(outward(&sliver, -0.2), Err(OffsetFault::Vanished { distance: -0.2 }));
    }
}
