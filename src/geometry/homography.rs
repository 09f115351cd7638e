//! How does a plane look in a picture taken from aside, and back? Projective maps of the plane.
//!
//! ```text
//!   ⎡x'·w⎤       ⎡x⎤
//!   ⎢y'·w⎥ = M · ⎢y⎥          lines stay lines; M counts up to a factor; w keeps its sign in front of the camera
//!   ⎣  w ⎦       ⎣1⎦
//! ```
//!
//! Four pairs of points, no three of them in a line, tell the map. It is put together from two maps of the unit square in closed form, so
//! nothing is iterated and the error is that of rounding. Two pairs tell a similarity: turn, scale, shift, and a mirror where it is asked for.
//!
//! Source: P. S. Heckbert, Fundamentals of Texture Mapping and Image Warping (1989), section 2.2.3 (from memory); `tests/photograph.rs` holds it
//! against a general-purpose vision library.

use super::path::Point;

/// A projective map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homography([[f64; 3]; 3]);

/// Why four points tell no map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BadCorners {
    /// These two, by number from nought, are the same.
    Same(usize, usize),
    /// These three lie in a line, or so near that nothing is told: the middle of them lies only so far off, in the unit of the points.
    InLine { corners: [usize; 3], off: f64 },
    /// Not in the order in which one goes round them.
    Crossed,
}

/// A corner nearer than this part of the longest side to the line through its neighbours tells too little.
const FLAT: f64 = 0.02;

/// Four points that go round a hollow-free quadrilateral, either way.
pub fn corners(of: &[Point; 4]) -> Result<(), BadCorners> {
    let longest = (0..4).map(|k| of[k].distance(of[(k + 1) % 4])).fold(0.0, f64::max);
    for (i, j) in [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)] {
        if of[i].distance(of[j]) <= FLAT * longest {
            return Err(BadCorners::Same(i, j));
        }
    }
    let turns: [f64; 4] = std::array::from_fn(|k| turn(of[(k + 3) % 4], of[k], of[(k + 1) % 4]));
    for (k, twice_area) in turns.iter().enumerate() {
        let (before, after) = ((k + 3) % 4, (k + 1) % 4);
        let off = twice_area.abs() / of[before].distance(of[after]);
        if off.is_nan() || off <= FLAT * longest {
            return Err(BadCorners::InLine { corners: [before, k, after], off });
        }
    }
    if turns.iter().all(|turn| 0.0 < *turn) || turns.iter().all(|turn| *turn < 0.0) { Ok(()) } else { Err(BadCorners::Crossed) }
}

/// Twice the area of a triangle, positive counter-clockwise with y up.
fn turn(a: Point, b: Point, c: Point) -> f64 {
    (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
}

impl Homography {
    /// Takes each of `from` to its own of `to`; both have passed [`corners`].
    #[must_use]
    pub fn through(from: &[Point; 4], to: &[Point; 4]) -> Homography {
        square(to).after(&square(from).inverse())
    }

    /// Turn, scale and shift that take two points to two others.
    #[must_use]
    pub fn similar(from: [Point; 2], to: [Point; 2]) -> Homography {
        Homography::signed(from, to, 1.0)
    }

    /// The same, mirrored first (y to −y).
    #[must_use]
    pub fn mirrored(from: [Point; 2], to: [Point; 2]) -> Homography {
        Homography::signed(from, to, -1.0)
    }

    fn signed(from: [Point; 2], to: [Point; 2], sign: f64) -> Homography {
        let (dx, dy) = (from[1].x - from[0].x, sign * (from[1].y - from[0].y));
        let (ex, ey) = (to[1].x - to[0].x, to[1].y - to[0].y);
        let whole = dx * dx + dy * dy;
        let (a, b) = ((ex * dx + ey * dy) / whole, (ey * dx - ex * dy) / whole);
        let rows = [[a, -b * sign], [b, a * sign]];
        let shift = [to[0].x, to[0].y];
        let row = |k: usize| [rows[k][0], rows[k][1], shift[k] - rows[k][0] * from[0].x - rows[k][1] * from[0].y];
        Homography([row(0), row(1), [0.0, 0.0, 1.0]])
    }

    #[must_use]
    pub fn apply(&self, at: Point) -> Point {
        let [x, y, w] = self.0.map(|row| row[0] * at.x + row[1] * at.y + row[2]);
        Point::new(x / w, y / w)
    }

    /// How a small step in x and in y moves the point: rows are x' and y'.
    #[must_use]
    pub fn slope(&self, at: Point) -> [[f64; 2]; 2] {
        let [_, _, w] = self.0.map(|row| row[0] * at.x + row[1] * at.y + row[2]);
        let there = self.apply(at);
        let far = self.0[2];
        [0, 1].map(|k| {
            let value = if k == 0 { there.x } else { there.y };
            [0, 1].map(|j| (self.0[k][j] - value * far[j]) / w)
        })
    }

    #[must_use]
    pub fn inverse(&self) -> Homography {
        let m = &self.0;
        let cofactor = |i: usize, j: usize| {
            let (a, b, c, d) = ((i + 1) % 3, (i + 2) % 3, (j + 1) % 3, (j + 2) % 3);
            m[a][c] * m[b][d] - m[a][d] * m[b][c]
        };
        Homography(std::array::from_fn(|i| std::array::from_fn(|j| cofactor(j, i)))).scaled()
    }

    /// This map after another.
    #[must_use]
    pub fn after(&self, first: &Homography) -> Homography {
        let entry = |i: usize, j: usize| (0..3).map(|k| self.0[i][k] * first.0[k][j]).sum();
        Homography(std::array::from_fn(|i| std::array::from_fn(|j| entry(i, j)))).scaled()
    }

    /// What goes to infinity: the line `a x + b y + c = 0`.
    pub fn vanishing(&self) -> [f64; 3] {
        self.0[2]
    }

    /// The factor that a map leaves open, taken so that the last entry is one where it can be.
    fn scaled(self) -> Homography {
        let by = self.0[2][2];
        let max = self.0.iter().flatten().fold(0.0_f64, |max, entry| max.max(entry.abs()));
        let by = if 1e-12 * max < by.abs() { by } else { max };
        Homography(self.0.map(|row| row.map(|entry| entry / by)))
    }
}

/// The unit square (0,0), (1,0), (1,1), (0,1) to four points.
fn square(to: &[Point; 4]) -> Homography {
    let [p0, p1, p2, p3] = *to;
    let (sx, sy) = (p0.x - p1.x + p2.x - p3.x, p0.y - p1.y + p2.y - p3.y);
    let (dx1, dy1, dx2, dy2) = (p1.x - p2.x, p1.y - p2.y, p3.x - p2.x, p3.y - p2.y);
    let whole = dx1 * dy2 - dx2 * dy1;
    let (g, h) = ((sx * dy2 - dx2 * sy) / whole, (dx1 * sy - sx * dy1) / whole);
    Homography([
        [p1.x - p0.x + g * p1.x, p3.x - p0.x + h * p3.x, p0.x],
        [p1.y - p0.y + g * p1.y, p3.y - p0.y + h * p3.y, p0.y],
        [g, h, 1.0],
    ])
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEEN: [Point; 4] =
        [Point::new(410.0, 310.0), Point::new(3550.0, 280.0), Point::new(3480.0, 2050.0), Point::new(450.0, 1990.0)];
    const FLAT_ON: [Point; 4] =
        [Point::new(0.0, 0.0), Point::new(1500.0, 0.0), Point::new(1500.0, 800.0), Point::new(0.0, 800.0)];

    #[test]
    fn corners_go_where_they_shall_and_back() {
        let map = Homography::through(&SEEN, &FLAT_ON);
        for (seen, flat) in SEEN.iter().zip(&FLAT_ON) {
            assert!(map.apply(*seen).distance(*flat) < 1e-9);
            assert!(map.inverse().apply(*flat).distance(*seen) < 1e-9);
        }
        // Lines stay lines, and the slope is that of small steps.
        let at = Point::new(2000.0, 1200.0);
        let [[xx, _], [yx, _]] = map.slope(at);
        let step = 1e-3;
        let (a, b) = (map.apply(Point::new(at.x - step, at.y)), map.apply(Point::new(at.x + step, at.y)));
        assert!(((b.x - a.x) / (2.0 * step) - xx).abs() < 1e-7 && ((b.y - a.y) / (2.0 * step) - yx).abs() < 1e-7);
    }

    #[test]
    fn what_tells_no_map_is_said() {
        assert_eq!(corners(&SEEN), Ok(()));
        let with = |k: usize, at: Point| {
            let mut of = SEEN;
            of[k] = at;
            corners(&of)
        };
        assert_eq!(with(1, SEEN[0]), Err(BadCorners::Same(0, 1)));
        assert!(
            matches!(with(1, Point::new(1950.0, 1160.0)), Err(BadCorners::InLine { corners: [0, 1, 2], .. })),
            "{:?}",
            with(1, Point::new(1950.0, 1160.0))
        );
        assert_eq!(corners(&[SEEN[0], SEEN[2], SEEN[1], SEEN[3]]), Err(BadCorners::Crossed));
        assert!(with(0, Point::new(f64::NAN, 0.0)).is_err());
    }

    #[test]
    fn two_points_tell_a_similarity() {
        type Through = fn([Point; 2], [Point; 2]) -> Homography;
        for (through, mirrored) in [(Homography::similar as Through, false), (Homography::mirrored as Through, true)] {
            let map = through([SEEN[0], SEEN[1]], [FLAT_ON[0], FLAT_ON[1]]);
            assert!(map.apply(SEEN[0]).distance(FLAT_ON[0]) < 1e-9 && map.apply(SEEN[1]).distance(FLAT_ON[1]) < 1e-9);
            assert_eq!(map.apply(SEEN[3]).y < 0.0, mirrored);
        }
    }
}
