//! Paths of straight pieces and circular arcs, in mm, y up.
//!
//! An arc is a *bulge* on the vertex where it starts: the tangent of a quarter of its sweep, positive for an arc that
//! turns counter-clockwise. A bulge of 1 is a half circle; 0 is a straight piece. (The convention of the DXF light polyline.)

use std::f64::consts::PI;

#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    pub x: f64,
    pub y: f64,
}

impl Point {
    pub const fn new(x: f64, y: f64) -> Point {
        Point { x, y }
    }

    /// So large a fraction of the way to another point.
    #[must_use]
    pub fn lerp(self, other: Point, fraction: f64) -> Point {
        Point::new(self.x + fraction * (other.x - self.x), self.y + fraction * (other.y - self.y))
    }

    pub fn distance(self, other: Point) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}

/// Height over `x` on a line of at least two points whose `x` rises; its first and last sides go on beyond its ends.
pub fn height_at(line: &[Point], x: f64) -> f64 {
    let next = line.partition_point(|point| point.x < x).clamp(1, line.len() - 1);
    let (a, b) = (line[next - 1], line[next]);
    a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y)
}

/// A corner of a path and the piece that leaves it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vertex {
    pub at: Point,
    /// tan(sweep / 4) of the piece to the next vertex, positive counter-clockwise; 0 for a straight piece.
    pub bulge: f64,
}

/// A chain of straight pieces and arcs, open or closed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Path {
    pub vertices: Vec<Vertex>,
    pub closed: bool,
}

/// An axis-parallel rectangle. An empty one has `min` greater than `max`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    pub min: Point,
    pub max: Point,
}

/// How wide and how high something is, wherever it lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extent {
    pub width: f64,
    pub height: f64,
}

/// Turn by `angle_rad` counter-clockwise (after mirroring left to right, if so), then move by `shift`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    pub mirrored: bool,
    pub angle_rad: f64,
    pub shift: Point,
}

impl Placement {
    pub const IDENTITY: Placement = Placement { mirrored: false, angle_rad: 0.0, shift: Point::new(0.0, 0.0) };

    pub fn moved(x: f64, y: f64) -> Placement {
        Placement { shift: Point::new(x, y), ..Placement::IDENTITY }
    }

    pub fn apply(&self, point: Point) -> Point {
        let x = if self.mirrored { -point.x } else { point.x };
        // Quarter turns are exact, so that a part turned on a sheet keeps its numbers.
        let (sin, cos) = exact_sin_cos(self.angle_rad);
        Point::new(cos * x - sin * point.y + self.shift.x, sin * x + cos * point.y + self.shift.y)
    }

    /// The point that [`Placement::apply`] brings to `point`.
    pub fn undo(&self, point: Point) -> Point {
        let (sin, cos) = exact_sin_cos(self.angle_rad);
        let (dx, dy) = (point.x - self.shift.x, point.y - self.shift.y);
        let x = cos * dx + sin * dy;
        Point::new(if self.mirrored { -x } else { x }, cos * dy - sin * dx)
    }
}

fn exact_sin_cos(angle: f64) -> (f64, f64) {
    let quarter = angle / (PI / 2.0);
    if (quarter - quarter.round()).abs() < 1e-12 {
        return match (quarter.round() as i64).rem_euclid(4) {
            0 => (0.0, 1.0),
            1 => (1.0, 0.0),
            2 => (0.0, -1.0),
            _ => (-1.0, 0.0),
        };
    }
    angle.sin_cos()
}

impl Bounds {
    pub const EMPTY: Bounds =
        Bounds { min: Point::new(f64::INFINITY, f64::INFINITY), max: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY) };

    pub fn of(points: impl IntoIterator<Item = Point>) -> Bounds {
        points.into_iter().fold(Bounds::EMPTY, |bounds, point| bounds.with(point))
    }

    pub fn with(self, point: Point) -> Bounds {
        Bounds {
            min: Point::new(self.min.x.min(point.x), self.min.y.min(point.y)),
            max: Point::new(self.max.x.max(point.x), self.max.y.max(point.y)),
        }
    }

    pub fn union(self, other: Bounds) -> Bounds {
        Bounds {
            min: Point::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            max: Point::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        }
    }

    /// Grown by `margin` on every side.
    pub fn grown(self, margin: f64) -> Bounds {
        Bounds {
            min: Point::new(self.min.x - margin, self.min.y - margin),
            max: Point::new(self.max.x + margin, self.max.y + margin),
        }
    }

    pub fn is_empty(&self) -> bool {
        !(self.min.x <= self.max.x && self.min.y <= self.max.y)
    }

    /// Whether both have a point in common.
    pub fn meets(&self, other: &Bounds) -> bool {
        self.min.x <= other.max.x && other.min.x <= self.max.x && self.min.y <= other.max.y && other.min.y <= self.max.y
    }

    pub fn width(&self) -> f64 {
        self.max.x - self.min.x
    }

    pub fn height(&self) -> f64 {
        self.max.y - self.min.y
    }
}

impl Path {
    pub fn open(points: impl IntoIterator<Item = Point>) -> Path {
        Path { vertices: points.into_iter().map(|at| Vertex { at, bulge: 0.0 }).collect(), closed: false }
    }

    pub fn closed(points: impl IntoIterator<Item = Point>) -> Path {
        Path { closed: true, ..Path::open(points) }
    }

    pub fn line(from: Point, to: Point) -> Path {
        Path::open([from, to])
    }

    /// Counter-clockwise, from the corner with the least coordinates.
    pub fn rectangle(bounds: Bounds) -> Path {
        let Bounds { min, max } = bounds;
        Path::closed([min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)])
    }

    /// Counter-clockwise, as two half circles.
    pub fn circle(centre: Point, radius: f64) -> Path {
        let vertex = |x: f64| Vertex { at: Point::new(x, centre.y), bulge: 1.0 };
        Path { vertices: vec![vertex(centre.x + radius), vertex(centre.x - radius)], closed: true }
    }

    /// Perimeter of the path's convex hull, arcs taken as chords that stay this close to them: never more than it is, mm.
    ///
    /// Source: A. M. Andrew, "Another efficient algorithm for convex hulls in two dimensions", Inform. Process. Lett. 9 (1979) 216–219.
    pub fn hull_perimeter(&self, close_mm: f64) -> f64 {
        let mut points = self.flattened(close_mm);
        points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        // Over the points in order and back: those that turn right are inside.
        let half = |points: &mut dyn Iterator<Item = &Point>| {
            let mut chain: Vec<Point> = Vec::new();
            for point in points {
                while let [.., a, b] = chain[..]
                    && (b.x - a.x) * (point.y - a.y) - (b.y - a.y) * (point.x - a.x) <= 0.0
                {
                    chain.pop();
                }
                chain.push(*point);
            }
            chain.windows(2).map(|side| side[0].distance(side[1])).sum::<f64>()
        };
        half(&mut points.iter()) + half(&mut points.iter().rev())
    }

    /// The pieces: start, end, bulge.
    pub fn pieces(&self) -> impl Iterator<Item = (Point, Point, f64)> + '_ {
        let n = self.vertices.len();
        let count = if self.closed { n } else { n.saturating_sub(1) };
        (0..count).map(move |i| (self.vertices[i].at, self.vertices[(i + 1) % n].at, self.vertices[i].bulge))
    }

    pub fn placed(&self, placement: &Placement) -> Path {
        let sign = if placement.mirrored { -1.0 } else { 1.0 };
        let vertices = self.vertices.iter().map(|v| Vertex { at: placement.apply(v.at), bulge: sign * v.bulge }).collect();
        Path { vertices, closed: self.closed }
    }

    /// Smaller or larger about the origin.
    pub fn scaled(&self, factor: f64) -> Path {
        let scaled = |v: &Vertex| Vertex { at: Point::new(factor * v.at.x, factor * v.at.y), ..*v };
        Path { vertices: self.vertices.iter().map(scaled).collect(), closed: self.closed }
    }

    pub fn moved(&self, x: f64, y: f64) -> Path {
        self.placed(&Placement::moved(x, y))
    }

    pub fn bounds(&self) -> Bounds {
        let mut bounds = Bounds::of(self.vertices.iter().map(|v| v.at));
        for (from, to, bulge) in self.pieces() {
            if let Some(arc) = Arc::of(from, to, bulge) {
                for k in 0..4 {
                    let angle = f64::from(k) * PI / 2.0;
                    if arc.covers(angle) {
                        let (sin, cos) = exact_sin_cos(angle);
                        bounds = bounds.with(Point::new(arc.centre.x + arc.radius * cos, arc.centre.y + arc.radius * sin));
                    }
                }
            }
        }
        bounds
    }

    pub fn length(&self) -> f64 {
        self.pieces()
            .map(|(from, to, bulge)| Arc::of(from, to, bulge).map_or(from.distance(to), |arc| arc.radius * arc.sweep.abs()))
            .sum()
    }

    /// Signed area of a closed path, positive counter-clockwise.
    pub fn area(&self) -> f64 {
        self.pieces()
            .map(|(from, to, bulge)| {
                let segment = Arc::of(from, to, bulge).map_or(0.0, |a| 0.5 * a.radius * a.radius * (a.sweep - a.sweep.sin()));
                0.5 * (from.x * to.y - to.x * from.y) + segment
            })
            .sum()
    }

    pub fn reversed(&self) -> Path {
        let n = self.vertices.len();
        let vertices = (0..n)
            .map(|k| {
                let i = n - 1 - k;
                let bulge = if 0 < i { self.vertices[i - 1].bulge } else { self.vertices[n - 1].bulge };
                Vertex { at: self.vertices[i].at, bulge: if i == 0 && !self.closed { 0.0 } else { -bulge } }
            })
            .collect();
        Path { vertices, closed: self.closed }
    }

    /// Whether the line runs through an area, to a step or so: the box around a long slanting piece says too much.
    pub fn runs_through(&self, area: &Bounds, step_mm: f64) -> bool {
        let mut points = self.flattened((0.25 * step_mm).min(0.1));
        points.extend(points.first().copied().filter(|_| self.closed));
        points.windows(2).any(|ends| {
            let (from, to) = (ends[0], ends[1]);
            if !Bounds::of([from, to]).meets(area) {
                return false;
            }
            let steps = (from.distance(to) / step_mm).ceil().clamp(1.0, 20_000.0) as u32;
            let at = |k: u32| from.lerp(to, f64::from(k) / f64::from(steps));
            (0..steps).any(|k| Bounds::of([at(k), at(k + 1)]).meets(area))
        })
    }

    /// Points along the path, arcs replaced by chords that stay within `tolerance` of them.
    pub fn flattened(&self, tolerance: f64) -> Vec<Point> {
        let mut points: Vec<Point> = self.vertices.first().map(|v| v.at).into_iter().collect();
        for (from, to, bulge) in self.pieces() {
            if let Some(arc) = Arc::of(from, to, bulge) {
                let step = 2.0 * (1.0 - (tolerance / arc.radius).min(0.5)).acos();
                let count = (arc.sweep.abs() / step).ceil().clamp(1.0, 4096.0) as u32;
                points.extend((1..count).map(|k| arc.at(f64::from(k) / f64::from(count))));
            }
            points.push(to);
        }
        if self.closed {
            points.pop();
        }
        points
    }
}

/// A circular arc by centre, radius, start angle and signed sweep (counter-clockwise positive).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    pub centre: Point,
    pub radius: f64,
    pub start_rad: f64,
    pub sweep: f64,
}

impl Arc {
    /// The arc of a piece; `None` if the piece is straight or has no length.
    pub fn of(from: Point, to: Point, bulge: f64) -> Option<Arc> {
        let chord = from.distance(to);
        if bulge.abs() < 1e-12 || chord <= 0.0 {
            return None;
        }
        let sweep = 4.0 * bulge.atan();
        // From the chord's middle to the centre, along the left normal of the chord, in units of the chord.
        let rise = (1.0 - bulge * bulge) / (4.0 * bulge);
        let centre = Point::new(0.5 * (from.x + to.x) - rise * (to.y - from.y), 0.5 * (from.y + to.y) + rise * (to.x - from.x));
        Some(Arc { centre, radius: centre.distance(from), start_rad: (from.y - centre.y).atan2(from.x - centre.x), sweep })
    }

    /// The point at a fraction of the sweep.
    pub fn at(&self, fraction: f64) -> Point {
        let (sin, cos) = (self.start_rad + fraction * self.sweep).sin_cos();
        Point::new(self.centre.x + self.radius * cos, self.centre.y + self.radius * sin)
    }

    fn covers(&self, angle: f64) -> bool {
        let along = if 0.0 < self.sweep { angle - self.start_rad } else { self.start_rad - angle };
        along.rem_euclid(2.0 * PI) <= self.sweep.abs()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heights_run_straight_between_points_and_beyond_them() {
        let line = [(0.0, 1.0), (2.0, 5.0), (4.0, 4.0)].map(|(x, y)| Point::new(x, y));
        for (x, y) in [(-1.0, -1.0), (0.0, 1.0), (1.5, 4.0), (2.0, 5.0), (3.0, 4.5), (6.0, 3.0)] {
            assert!((height_at(&line, x) - y).abs() < 1e-12, "{x}");
        }
    }

    #[test]
    fn a_hull_has_no_hollows() {
        let corners = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (3.0, 3.0), (2.0, 1.0), (1.0, 3.0), (0.0, 3.0), (0.0, 1.5)];
        let notched = Path::closed(corners.map(|(x, y)| Point::new(x, y)));
        assert!((notched.hull_perimeter(0.01) - 14.0).abs() < 1e-12);
        let round = Path::circle(Point::new(5.0, -2.0), 10.0).hull_perimeter(1e-6);
        assert!(round <= 20.0 * std::f64::consts::PI && 62.8318 < round, "{round}");
    }

    #[test]
    fn circle_measures() {
        let circle = Path::circle(Point::new(3.0, -2.0), 5.0);
        assert!((circle.length() - 10.0 * PI).abs() < 1e-12);
        assert!((circle.area() - 25.0 * PI).abs() < 1e-12);
        let bounds = circle.bounds();
        assert!((bounds.width() - 10.0).abs() < 1e-12 && (bounds.height() - 10.0).abs() < 1e-12);
        assert!((circle.reversed().area() + 25.0 * PI).abs() < 1e-12);
    }

    #[test]
    fn a_slanting_line_runs_through_what_lies_on_it_alone() {
        let around = |x: f64, y: f64| Bounds { min: Point::new(x - 1.0, y - 1.0), max: Point::new(x + 1.0, y + 1.0) };
        let slanting = Path::line(Point::new(0.0, 0.0), Point::new(100.0, 60.0));
        assert!(slanting.runs_through(&around(50.0, 30.0), 2.0) && !slanting.runs_through(&around(50.0, 35.0), 2.0));
        // Its box is met, the line is not; the last side counts where the path is closed.
        let circle = Path::circle(Point::new(0.0, 0.0), 10.0);
        assert!(!circle.runs_through(&around(0.0, 0.0), 0.2) && circle.runs_through(&around(0.0, -10.0), 0.2));
        let corners = [Point::new(0.0, 0.0), Point::new(10.0, 0.0), Point::new(10.0, 10.0)];
        let last = around(5.0, 5.0);
        assert!(Path::closed(corners).runs_through(&last, 0.2) && !Path::open(corners).runs_through(&last, 0.2));
    }

    #[test]
    fn placement_undoes_itself_and_mirrors_arcs() {
        let path = Path {
            vertices: vec![
                Vertex { at: Point::new(0.0, 0.0), bulge: 0.3 },
                Vertex { at: Point::new(10.0, 0.0), bulge: 0.0 },
                Vertex { at: Point::new(10.0, 4.0), bulge: 0.0 },
            ],
            closed: true,
        };
        let placement = Placement { mirrored: true, angle_rad: 0.7, shift: Point::new(5.0, 6.0) };
        assert!((path.placed(&placement).area() + path.area()).abs() < 1e-12);
        let point = Point::new(1.5, -2.5);
        assert!(placement.undo(placement.apply(point)).distance(point) < 1e-12);
    }

    #[test]
    fn flattening_stays_within_tolerance() {
        for tolerance in [1.0, 0.1, 0.01, 0.001] {
            let circle = Path::circle(Point::new(0.0, 0.0), 300.0);
            let points = circle.flattened(tolerance);
            for (i, a) in points.iter().enumerate() {
                let b = points[(i + 1) % points.len()];
                let middle = Point::new(0.5 * (a.x + b.x), 0.5 * (a.y + b.y));
                assert!(300.0 - middle.distance(Point::new(0.0, 0.0)) <= tolerance * 1.000_001);
            }
        }
    }
}
