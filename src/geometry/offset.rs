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
/// Exactly one loop must come out; otherwise the fault says what happened.
pub fn outward(path: &Path, distance: f64) -> Result<Path, OffsetFault> {
    let mut line = Polyline::<f64>::new_closed();
    for vertex in &path.vertices {
        line.add(vertex.at.x, vertex.at.y, vertex.bulge);
    }
    if !path.closed || path.vertices.len() < 2 || line.area().abs() <= 0.0 {
        return Err(OffsetFault::NotALoop);
    }
    if line.area() < 0.0 {
        line.invert_direction_mut();
    }
    if distance.abs() < 1e-9 {
        return Ok(from_polyline(&line));
    }
    // The library counts a counter-clockwise loop's inside as positive.
    let loops = line.parallel_offset(-distance);
    match loops.as_slice() {
        [] => Err(OffsetFault::Vanished { distance }),
        [only] => Ok(without_specks(from_polyline(only))),
        several => Err(OffsetFault::Split { pieces: several.len() }),
    }
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

    #[test]
    fn too_thin_is_a_fault() {
        let sliver = Path::rectangle(Bounds { min: Point::new(0.0, 0.0), max: Point::new(100.0, 0.3) });
        assert_eq!(outward(&sliver, -0.2), Err(OffsetFault::Vanished { distance: -0.2 }));
    }
}
