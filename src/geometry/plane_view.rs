//! Where in a plane do the things lie that a picture shows, and how surely?
//!
//! The camera is a pinhole whose middle is the picture's, with square pixels; the plane is that of the known marks. Lengths in mm, pictures
//! in pixels from their upper left corner, y down.
//!
//! ```text
//!        camera ●
//!               │╲            D  from the camera to the plane, square to it
//!             D │ ╲           O  the foot of that line
//!               │  ╲● Q       a thing that stands z before the plane is seen at P:
//!        ───────┼───╲──────     Q = O + (P − O)(D − z)/D
//!               O    P
//! ```
//!
//! * Four marks that go round a rectangle of known sides tell the projective map ([`Homography`]): tilt and perspective are removed.
//! * Two marks a known distance apart tell a similarity. The tilt stays unknown: [`TILT`] is taken for one σ of it about either axis.
//!
//! **Foot.** With `M` from picture to plane, the line `l = (m20, m21, m22)` is where the plane vanishes; the foot is seen at the pole of
//! that line, `c + f² (l0, l1)/l2'`, `l2' = l · (c, 1)`, with `c` the picture's middle and `f` the focal length in pixels. The tilt is
//! `θ = atan(f |(l0, l1)| / l2')`, and `f = D · √|det ∂u/∂P| / cos^1.5 θ` at the middle. (Hartley and Zisserman, Multiple View Geometry, 2nd edition, chapter 8, from memory.)
//!
//! **Errors.** Each source is moved by one σ, everything is placed anew, and the difference is its share (first order; central differences,
//! exact to the square of a σ): clicks, places of the marks, distance of the camera, how far the marks' plane lies off, the lens, and the tilt where
//! it is unknown. Clicks of the points themselves go through the map's slope. The lens bends by `u = c + (v − c)(1 + k r²)`, `r` the distance
//! from the middle over half the diagonal; `k` is taken for nothing give or take [`LENS`], which at the side of a picture is 6 pixels of 1000. Shares stay together (a covariance),
//! so that whoever fits the points finds out what of tilt and lens they tell.

use super::homography::{BadCorners, Homography, corners};
use super::path::{Extent, Point};
use crate::numeric::estimate::Estimate;

/// One σ of the lens's bend: what telephones leave in a picture; a wide angle bends three times as much.
pub const LENS: f64 = 0.01;
/// One σ of an unknown tilt about either axis, rad: three degrees, by eye.
pub const TILT: f64 = 0.05;
/// One σ of how different two directions of an unknown plane are scaled: half the square of a tilt of four degrees.
const STRETCH: f64 = 0.0025;
/// A camera that looks more from aside than this is refused, rad: marks in another order than is said look like it.
const MAX_TILT: f64 = 0.6;
/// A plane whose two directions differ in scale by more than this at the foot is none that was said.
const MAX_UNEVEN: f64 = 1.12;

/// What is known of the marks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum KnownMarks {
    /// Four corners, going round; the first two are `across_mm` apart, the second and third `up_mm`.
    Rectangle { seen_px: [Point; 4], across_mm: f64, up_mm: f64 },
    /// Two marks so far apart.
    Stick { seen_px: [Point; 2], length_mm: f64 },
}

/// A picture and what is known of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanePicture {
    /// Pixels.
    pub size_px: Extent,
    pub marks: KnownMarks,
    /// From the camera to the marks' plane, mm.
    pub camera_mm: Estimate,
    /// One σ of a click in either direction, pixels.
    pub click_px: f64,
    /// One σ of a mark's place, and of how far the plane of the marks lies off, mm.
    pub place_mm: f64,
}

/// A thing in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenPoint {
    pub at_px: Point,
    /// How far it stands before the plane of the marks, toward the camera, mm.
    pub before_mm: f64,
}

/// Things in the plane.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedPoints {
    pub at_mm: Vec<Point>,
    /// How a pixel moves each thing: rows are x and y, mm.
    pub slopes: Vec<[[f64; 2]; 2]>,
    /// What one σ of each common source moves them by, mm.
    pub common: Vec<Vec<Point>>,
}

/// Why nothing can be placed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BadView {
    Corners(BadCorners),
    /// The camera looks from so far aside, rad.
    Aside(f64),
    /// Across and up differ in scale by this factor.
    Uneven(f64),
}

/// A plane in a picture, ready to be read.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaneView {
    picture: PlanePicture,
    inputs: UncertainInputs,
    /// Of the camera against the plane, rad; nothing where it is not known.
    pub tilt_rad: f64,
}

/// Everything that errors move.
#[derive(Debug, Clone, PartialEq)]
struct UncertainInputs {
    seen: Vec<Point>,
    known: Vec<Point>,
    camera_mm: f64,
    off_mm: f64,
    lens: f64,
    tilt: [f64; 2],
    stretch: [f64; 2],
}

/// The map of some inputs.
struct Mapped {
    middle: Point,
    lens: f64,
    to_plane: Homography,
    foot: Point,
    distance_mm: f64,
    off_mm: f64,
    tilt_rad: f64,
    uneven: f64,
    /// What an unknown tilt does, about the foot, and back to the marks' known distance.
    bent: Option<([f64; 2], [f64; 2], Homography)>,
}

impl PlaneView {
    pub fn of(picture: PlanePicture) -> Result<PlaneView, BadView> {
        let (seen, known) = match picture.marks {
            KnownMarks::Rectangle { seen_px, across_mm, up_mm } => {
                corners(&seen_px).map_err(BadView::Corners)?;
                let known = [(0.0, 0.0), (across_mm, 0.0), (across_mm, up_mm), (0.0, up_mm)];
                (seen_px.to_vec(), known.map(|(x, y)| Point::new(x, y)).to_vec())
            }
            KnownMarks::Stick { seen_px, length_mm } => {
                let Extent { width, height } = picture.size_px;
                if seen_px[0].distance(seen_px[1]) <= SHORT * width.hypot(height) {
                    return Err(BadView::Corners(BadCorners::Same(0, 1)));
                }
                (seen_px.to_vec(), vec![Point::new(0.0, 0.0), Point::new(length_mm, 0.0)])
            }
        };
        let inputs = UncertainInputs {
            seen,
            known,
            camera_mm: picture.camera_mm.value,
            off_mm: 0.0,
            lens: 0.0,
            tilt: [0.0; 2],
            stretch: [0.0; 2],
        };
        let mapped = inputs.map(&picture);
        if mapped.tilt_rad.is_nan() || MAX_TILT < mapped.tilt_rad {
            return Err(BadView::Aside(mapped.tilt_rad));
        }
        if mapped.uneven.is_nan() || MAX_UNEVEN < mapped.uneven {
            return Err(BadView::Uneven(mapped.uneven));
        }
        Ok(PlaneView { picture, inputs, tilt_rad: mapped.tilt_rad })
    }

    /// Where these things lie, and what moves them together.
    pub fn place(&self, things: &[SeenPoint]) -> PlacedPoints {
        let mapped = self.inputs.map(&self.picture);
        let placed = |mapped: &Mapped| things.iter().map(|thing| mapped.place(thing)).collect::<Vec<_>>();
        let at_mm = placed(&mapped);
        let slopes = things
            .iter()
            .map(|thing| {
                let step = 0.5;
                let at = |dx: f64, dy: f64| {
                    let at_px = Point::new(thing.at_px.x + dx, thing.at_px.y + dy);
                    mapped.place(&SeenPoint { at_px, ..*thing })
                };
                let (right, left, down, up) = (at(step, 0.0), at(-step, 0.0), at(0.0, step), at(0.0, -step));
                [[right.x - left.x, down.x - up.x], [right.y - left.y, down.y - up.y]]
            })
            .collect();
        let moved = |by: &dyn Fn(&mut UncertainInputs, f64)| {
            let of = |sign: f64| {
                let mut inputs = self.inputs.clone();
                by(&mut inputs, sign);
                placed(&inputs.map(&self.picture))
            };
            let half = |(a, b): (&Point, &Point)| Point::new(0.5 * (a.x - b.x), 0.5 * (a.y - b.y));
            of(1.0).iter().zip(&of(-1.0)).map(half).collect::<Vec<Point>>()
        };
        let picture = self.picture;
        let mut common = Vec::new();
        for k in 0..self.inputs.seen.len() {
            common.push(moved(&|inputs, by| inputs.seen[k].x += by * picture.click_px));
            common.push(moved(&|inputs, by| inputs.seen[k].y += by * picture.click_px));
            common.push(moved(&|inputs, by| inputs.known[k].x += by * picture.place_mm));
            common.push(moved(&|inputs, by| inputs.known[k].y += by * picture.place_mm));
        }
        common.push(moved(&|inputs, by| inputs.camera_mm += by * picture.camera_mm.sigma));
        common.push(moved(&|inputs, by| inputs.off_mm += by * picture.place_mm));
        common.push(moved(&|inputs, by| inputs.lens += by * LENS));
        if matches!(picture.marks, KnownMarks::Stick { .. }) {
            for k in 0..2 {
                common.push(moved(&|inputs, by| inputs.tilt[k] += by * TILT));
                common.push(moved(&|inputs, by| inputs.stretch[k] += by * STRETCH));
            }
        }
        PlacedPoints { at_mm, slopes, common }
    }

    /// Where a point of the plane, or one that stands before it, is seen: for drawing over the picture.
    pub fn seen(&self, at_mm: Point, before_mm: f64) -> Point {
        let mapped = self.inputs.map(&self.picture);
        let by = mapped.distance_mm / (mapped.distance_mm - before_mm);
        let on = Point::new(mapped.foot.x + by * (at_mm.x - mapped.foot.x), mapped.foot.y + by * (at_mm.y - mapped.foot.y));
        mapped.to_plane.inverse().apply(on)
    }
}

/// Steps to the focal length: each leaves a part of the tilt's square, a tenth at most, of what was off.
const FOCAL: usize = 8;
/// Two marks nearer than this part of the picture's diagonal tell no scale.
const SHORT: f64 = 0.05;

impl UncertainInputs {
    fn map(&self, picture: &PlanePicture) -> Mapped {
        let middle = Point::new(0.5 * picture.size_px.width, 0.5 * picture.size_px.height);
        let seen: Vec<Point> = self.seen.iter().map(|at| straight(middle, self.lens, *at)).collect();
        let to_plane = match (seen.as_slice(), self.known.as_slice()) {
            ([a, b, c, d], [k0, k1, k2, k3]) => Homography::through(&[*a, *b, *c, *d], &[*k0, *k1, *k2, *k3]),
            (seen, known) => Homography::mirrored([seen[0], seen[1]], [known[0], known[1]]),
        };
        // Scale at the middle, pixels over mm.
        let [[xx, xy], [yx, yy]] = to_plane.slope(middle);
        let scale = (xx * yy - xy * yx).abs().sqrt();
        let [a, b, c] = to_plane.vanishing();
        let c = a * middle.x + b * middle.y + c;
        let mut focal = self.camera_mm / scale;
        for _ in 0..FOCAL {
            focal = self.camera_mm / (scale * (focal * a.hypot(b) / c).atan().cos().powf(1.5));
        }
        let (a, b) = (a * focal, b * focal);
        let foot_px = Point::new(middle.x + focal * a / c, middle.y + focal * b / c);
        let foot = to_plane.apply(foot_px);
        let [[xx, xy], [yx, yy]] = to_plane.slope(foot_px);
        // Singular values of the slope there.
        let (sum, product) = (xx * xx + xy * xy + yx * yx + yy * yy, (xx * yy - xy * yx).abs());
        let root = (sum * sum - 4.0 * product * product).max(0.0).sqrt();
        let uneven = ((sum + root) / (sum - root)).sqrt();
        let bent = (self.known.len() == 2).then(|| {
            let there: Vec<Point> =
                seen.iter().map(|at| tilted(to_plane.apply(*at), foot, self.camera_mm, self.tilt, self.stretch)).collect();
            let back = Homography::similar([there[0], there[1]], [self.known[0], self.known[1]]);
            (self.tilt, self.stretch, back)
        });
        Mapped {
            middle,
            lens: self.lens,
            to_plane,
            foot,
            distance_mm: self.camera_mm,
            off_mm: self.off_mm,
            tilt_rad: (a.hypot(b) / c.abs()).atan(),
            // Seen from aside a plane is shorter in one direction: that much is the tilt's own.
            uneven: uneven * (a.hypot(b) / c).atan().cos(),
            bent,
        }
    }
}

/// A point of the picture with the lens's bend taken out.
fn straight(middle: Point, lens: f64, at: Point) -> Point {
    let (dx, dy, half) = (at.x - middle.x, at.y - middle.y, middle.x.hypot(middle.y));
    let by = 1.0 + lens * (dx * dx + dy * dy) / (half * half);
    Point::new(middle.x + by * dx, middle.y + by * dy)
}

/// What a plane that is tilted by so much looks like, as if it were not.
fn tilted(at: Point, foot: Point, distance_mm: f64, tilt: [f64; 2], stretch: [f64; 2]) -> Point {
    let (x, y) = (at.x - foot.x, at.y - foot.y);
    let by = 1.0 / (1.0 - (tilt[0] * x + tilt[1] * y) / distance_mm);
    let (x, y) = (by * x, by * y);
    Point::new(foot.x + x * (1.0 + stretch[0]) + y * stretch[1], foot.y + y * (1.0 - stretch[0]) + x * stretch[1])
}

impl Mapped {
    fn place(&self, thing: &SeenPoint) -> Point {
        let mut at = self.to_plane.apply(straight(self.middle, self.lens, thing.at_px));
        if let Some((tilt, stretch, back)) = self.bent {
            at = back.apply(tilted(at, self.foot, self.distance_mm, tilt, stretch));
        }
        let by = (self.distance_mm - thing.before_mm - self.off_mm) / self.distance_mm;
        Point::new(self.foot.x + by * (at.x - self.foot.x), self.foot.y + by * (at.y - self.foot.y))
    }
}
