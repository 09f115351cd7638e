//! How a rail longer than the cutter's bed is put together from pieces: where the joints are, and the lock that locates them.
//!
//! The lock is a round tongue in the plane of the sheet with a neck narrower than its head. The straight shoulders beside it
//! touch and set the length; the socket is wider than the tongue by half the fit all round, so that the lock never lifts one piece
//! against the other. **The height is set by the table alone**: both pieces stand on their bottom edges when they are glued.
//! Nothing of the joint comes near the working edge but the thin line where the shoulders meet.
//!
//! ```text
//!      piece │ next piece        R   radius of the head
//!            │                   d   head's centre beyond the shoulder
//!            )‾‾‾\               y   half height where the neck's fillets leave the shoulder
//!            )  d ) R            ρ   radius of the fillets
//!            )___/
//!            │
//! ```
//!
//! A fillet touches the shoulder at height `y` and the head: `(d − ρ)² + y² = (R + ρ)²`. The socket's lip touches the shoulder at
//! the same height and a head greater by the play, so its radius is `ρ' = (d² + y² − R'²) / (2 (R' + d))`: less than `ρ`, hence no
//! overlap. All inside curves are rounder than the tool, so that a router bit needs no relief.
//!
//! Source: geometry, derived here.

use crate::geometry::{Path, Point, Vertex};
use crate::units::limit;

/// A lock for rails of one height, sheet and cutter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JointLock {
    head_mm: f64,
    fillet_mm: f64,
    /// Of the head, beyond the shoulder.
    centre_mm: f64,
    half_height_mm: f64,
    /// Between tongue and socket.
    play_mm: f64,
}

/// The lock for a rail `height_mm` high; `None` if the tool is too large for one.
pub fn lock(height_mm: f64, half_kerf_mm: f64, fit_mm: f64) -> Option<JointLock> {
    // A head of a fifth of the height leaves a quarter of it above and below; larger ones on tall boards hold no better.
    let head = (0.2 * height_mm).min(8.0);
    let fillet = (0.5 * head).max(TOOL_ROOM * half_kerf_mm);
    let centre = 1.3 * head;
    let half_height = ((head + fillet).powi(2) - (centre - fillet).powi(2)).sqrt();
    let neck = half_height - fillet;
    let lock =
        JointLock { head_mm: head, fillet_mm: fillet, centre_mm: centre, half_height_mm: half_height, play_mm: 0.5 * fit_mm };
    // The neck must be narrower than the head to lock, and at least half as wide to be strong.
    let sound = TOOL_ROOM * half_kerf_mm <= head && 0.5 * head <= neck && neck <= 0.93 * head;
    (sound && 2.0 * half_height <= 0.72 * height_mm).then_some(lock)
}

/// Inside curves are rounder than the tool by this factor: at 1 the offset would have a point; more weakens the joint.
pub(super) const TOOL_ROOM: f64 = 1.1;

impl JointLock {
    /// How far the tongue reaches beyond the shoulder, mm.
    pub fn reach_mm(&self) -> f64 {
        self.centre_mm + self.head_mm
    }

    /// The right edge of the piece before the joint, upward, from where the lock leaves the shoulder to where it returns.
    pub fn tongue(&self, shoulder: Point) -> Vec<Vertex> {
        self.outline(shoulder, self.head_mm, self.fillet_mm)
    }

    /// The left edge of the piece after the joint, downward.
    pub fn socket(&self, shoulder: Point) -> Vec<Vertex> {
        let head = self.head_mm + self.play_mm;
        let lip = (self.centre_mm.powi(2) + self.half_height_mm.powi(2) - head * head) / (2.0 * (head + self.centre_mm));
        Path { vertices: self.outline(shoulder, head, lip), closed: false }.reversed().vertices
    }

    fn outline(&self, shoulder: Point, head: f64, fillet: f64) -> Vec<Vertex> {
        let (d, y) = (self.centre_mm, self.half_height_mm);
        // Direction from a fillet's centre to the head's centre, above the axis of the tongue.
        let slope = y.atan2(d - fillet);
        let turn = std::f64::consts::PI - slope;
        let (sin, cos) = slope.sin_cos();
        let touch = Point::new(d - head * cos, head * sin);
        let (neck, round) = (-(turn / 4.0).tan(), (turn / 4.0).tan());
        let vertex = |x: f64, y: f64, bulge: f64| Vertex { at: Point::new(shoulder.x + x, shoulder.y + y), bulge };
        vec![
            vertex(0.0, -y, neck),
            vertex(touch.x, -touch.y, round),
            vertex(d + head, 0.0, round),
            vertex(touch.x, touch.y, neck),
            vertex(0.0, y, 0.0),
        ]
    }
}

/// A place where a joint may be, and what it costs to have it there (a corner of the taper close by, for one).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    pub at_mm: f64,
    pub cost: u32,
}

/// Places for a joint on a grid between two ends, not close to either; close to a place that is better kept whole it costs.
pub fn candidates(from_mm: f64, to_mm: f64, whole_mm: &[f64]) -> Vec<Candidate> {
    let count = ((to_mm - from_mm) / (0.4 * CLEAR_MM)).floor().clamp(0.0, 2000.0) as u32;
    (1..count)
        .map(|k| from_mm + (to_mm - from_mm) * f64::from(k) / f64::from(count))
        .filter(|at_mm| from_mm + CLEAR_MM <= *at_mm && *at_mm <= to_mm - CLEAR_MM)
        .map(|at_mm| {
            let near = whole_mm.iter().any(|whole| (whole - at_mm).abs() < CLEAR_MM);
            Candidate { at_mm, cost: u32::from(near) }
        })
        .collect()
}

/// Nearer to an end a piece is too short for the tongue of its neighbour; nearer to a corner or a mark the joint blurs it, mm.
const CLEAR_MM: f64 = 25.0;

/// Joints that split `from…to` into pieces no longer than `room_mm`: the fewest pieces, then the least cost, then the most even.
///
/// `None` if the candidates (increasing) do not allow it. Work: the square of the number of candidates.
pub fn split(from_mm: f64, to_mm: f64, room_mm: f64, candidates: &[Candidate]) -> Option<Vec<f64>> {
    let mut places = vec![Candidate { at_mm: from_mm, cost: 0 }];
    places.extend(candidates.iter().filter(|candidate| from_mm < candidate.at_mm && candidate.at_mm < to_mm));
    places.push(Candidate { at_mm: to_mm, cost: 0 });
    // The best way to each place: pieces, cost, sum of squared lengths, and the place before.
    let mut best: Vec<Option<(u32, u32, f64, usize)>> = vec![None; places.len()];
    best[0] = Some((0, 0, 0.0, 0));
    for i in 1..places.len() {
        for j in 0..i {
            let length = places[i].at_mm - places[j].at_mm;
            let Some((pieces, cost, squares, _)) = best[j] else { continue };
            if limit::above(length, room_mm) {
                continue;
            }
            let here = (pieces + 1, cost + places[i].cost, squares + length * length, j);
            let better = best[i]
                .is_none_or(|old| (here.0, here.1) < (old.0, old.1) || (here.0, here.1) == (old.0, old.1) && here.2 < old.2);
            if better {
                best[i] = Some(here);
            }
        }
    }
    let mut joints = Vec::new();
    let mut at = best[places.len() - 1]?.3;
    while 0 < at {
        joints.push(places[at].at_mm);
        at = best[at]?.3;
    }
    joints.reverse();
    Some(joints)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::offset::outward;

    #[test]
    fn tongue_lies_inside_its_socket_and_shoulders_touch() {
        for (height, half_kerf, fit) in [(25.0, 0.1, 0.1), (40.0, 1.6, 0.15), (18.0, 0.075, 0.05)] {
            let lock = lock(height, half_kerf, fit).unwrap();
            let middle = Point::new(0.0, 0.0);
            let tongue = Path { vertices: lock.tongue(middle), closed: true };
            let socket = Path { vertices: lock.socket(middle), closed: true }.reversed();
            assert!((socket.bounds().max.x - tongue.bounds().max.x - 0.5 * fit).abs() < 1e-9);
            assert!((socket.bounds().height() - tongue.bounds().height()).abs() < fit + 1e-9);
            // Every point of the tongue is inside or on the socket: the area between them is what the socket is larger by.
            assert!(tongue.area() < socket.area());
            let points = tongue.flattened(1e-4);
            let wall = socket.flattened(1e-4);
            for point in points {
                assert!(inside_or_close(point, &wall, 2e-4), "{point:?} sticks out of the socket");
            }
            // The tool can follow both: nothing is lost on the way out and back.
            let body = Path::closed([Point::new(-50.0, -0.5 * height), Point::new(0.0, -0.5 * height)]);
            let mut edge = body.vertices;
            edge.extend(lock.tongue(middle));
            edge.extend([Point::new(0.0, 0.5 * height), Point::new(-50.0, 0.5 * height)].map(|at| Vertex { at, bulge: 0.0 }));
            let piece = Path { vertices: edge, closed: true };
            let back = outward(&outward(&piece, half_kerf).unwrap(), -half_kerf).unwrap();
            assert!((back.area() - piece.area()).abs() < 1e-6 * piece.area());
        }
    }

    #[test]
    fn a_large_bit_gets_no_lock() {
        assert!(lock(25.0, 6.0, 0.1).is_none());
    }

    /// However much is marked, no piece is so short that its neighbour's tongue comes out at its end.
    #[test]
    fn no_place_for_a_joint_is_close_to_an_end() {
        let everywhere: Vec<f64> = (5..95).map(|k| f64::from(k) * 10.0).collect();
        let joints = split(0.0, 1000.0, 985.0, &candidates(0.0, 1000.0, &everywhere)).unwrap();
        assert!(joints.iter().all(|at| 25.0 <= *at && *at <= 975.0), "{joints:?}");
        let costs = candidates(0.0, 1000.0, &[500.0]);
        assert!(costs.iter().all(|candidate| (candidate.cost == 1) == ((candidate.at_mm - 500.0).abs() < 25.0)));
    }

    #[test]
    fn splits_evenly_within_the_room() {
        let candidates: Vec<Candidate> =
            (1..100).map(|k| Candidate { at_mm: f64::from(k) * 10.0, cost: u32::from(k == 50) }).collect();
        assert_eq!(split(0.0, 1000.0, 600.0, &candidates).map(|joints| joints.len()), Some(1));
        let joint = split(0.0, 1000.0, 600.0, &candidates).unwrap()[0];
        assert!((joint - 490.0).abs() < 1e-9 || (joint - 510.0).abs() < 1e-9);
        assert_eq!(split(0.0, 1000.0, 1000.0, &candidates), Some(vec![]));
        assert_eq!(split(0.0, 1000.0, 5.0, &candidates), None);
    }

    fn inside_or_close(point: Point, wall: &[Point], close: f64) -> bool {
        let n = wall.len();
        let mut inside = false;
        for i in 0..n {
            let (a, b) = (wall[i], wall[(i + 1) % n]);
            let along = ((point.x - a.x) * (b.x - a.x) + (point.y - a.y) * (b.y - a.y)) / a.distance(b).powi(2).max(1e-18);
            let t = along.clamp(0.0, 1.0);
            if point.distance(Point::new(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y))) < close {
                return true;
            }
            if (a.y < point.y) != (b.y < point.y) && point.x < a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x) {
                inside = !inside;
            }
        }
        inside
    }
}
