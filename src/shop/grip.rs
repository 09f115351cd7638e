//! Shelf, window and grip as templates: what to trace on the trimmed bow, and what calipers must read along the cuts.
//!
//! ```text
//!   seen from the back, upper limb to the right              from the side of the arrow pass
//!   v ▲  ─────────────────────────────                       belly ──╮      ╭──────────
//!     │                ┌───────────╮                                  ╲____╱
//!     │  ______________│            ╲____                    back  ─────────────────────
//!     └──────┬─────────┴──────────────────► x                            throat
//!            throat    shelf   window  sweep
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x` | station, positive toward the upper limb | mm |
//! | `v` | across, positive on the archer's right; the slice listed first has the greatest `v` | mm |
//! | `y` | from the bow's back toward the belly | mm |
//!
//! Source: geometry. The order of work and the radius of edges are common practice, no source.

use crate::geometry::flatten::chords;
use crate::geometry::{Path, Placement, Point, Vertex};
use crate::model::Build;
use crate::model::grip::{ArrowPass, CutByHand};
use crate::model::outline::Outline;
use crate::model::riser::{Riser, slice_at};
use crate::numeric::root;
use crate::units::limit;

/// Chords of a face that is no arc stay this close to it, mm. Coarser shows as facets under a lamination, finer makes a
/// cutter stutter over thousands of points.
pub const CHORD_MM: f64 = 0.01;

/// What hands cut from one riser.
#[derive(Debug, Clone, PartialEq)]
pub struct HandCuts {
    pub which: CutByHand,
    /// Outline, shelf and window from feather to feather in `(x, v)`, counter-clockwise; `None` without a shelf.
    pub back_view: Option<Path>,
    /// The level part with its grip in `(x, y)`, counter-clockwise.
    pub side_view: Path,
    /// Which slice shows where on the side of the arrow pass (on the first slice's without one), over the level part.
    pub zones: Vec<SideZone>,
    /// Back to belly along the grip, from the lowest; none without one.
    pub depths: Vec<CutMark>,
    /// Side to side along shelf and window, from the shelf up; none without one.
    pub widths: Vec<CutMark>,
}

/// A slice that shows between two stations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideZone {
    pub from_mm: f64,
    pub to_mm: f64,
    pub slice: usize,
}

/// What calipers read where the cut is on its line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutMark {
    /// Positive toward the upper limb.
    pub station_mm: f64,
    pub left_mm: f64,
}

/// The cuts of a riser; `None` where hands cut nothing from it.
pub fn lay_out(build: &Build, riser: &Riser) -> Option<HandCuts> {
    let which = riser.cut_by_hand()?;
    let pass = riser.pass.as_ref().zip(build.outline.as_ref());
    Some(HandCuts {
        which,
        back_view: pass.map(|(pass, outline)| back_view(riser, outline, pass)),
        side_view: side_view(build, riser),
        zones: zones(build, riser),
        depths: depths(build, riser),
        widths: pass.map_or(Vec::new(), |(pass, outline)| widths(outline, pass)),
    })
}

/// Back to belly at a signed station, the grip cut, mm.
pub fn depth_mm(build: &Build, s: f64) -> f64 {
    build.depth_mm(s) - build.grip_off_mm(s)
}

/// The wood left across at a signed station: from and to, in `v`, mm.
pub fn left_mm(outline: &Outline, pass: Option<&ArrowPass>, s: f64) -> [f64; 2] {
    let half = 0.5 * outline.width_at(s);
    pass.map_or([-half, half], |pass| pass.left_mm(s, half, 0.5 * outline.width_at(pass.end_mm())))
}

fn back_view(riser: &Riser, outline: &Outline, pass: &ArrowPass) -> Path {
    let corner = |x: f64, c: f64| Vertex { at: Point::new(x, c), bulge: 0.0 };
    let half = |s: f64| 0.5 * outline.width_at(s);
    let end = riser.feather_station_mm();
    let edge = |from: f64, to: f64| outline_points(outline, from, to);
    // In (x, c), c toward the side that is cut: the whole side below, then the cut one from the upper feather back.
    let mut vertices: Vec<Vertex> = edge(-end, end).into_iter().map(|at| corner(at.x, -at.y)).collect();
    let above = edge(pass.end_mm(), end);
    vertices.extend(above.iter().rev().map(|at| corner(at.x, at.y)));
    let rise = half(pass.end_mm()) + pass.past_centre_mm;
    let sweep = (pass.sweep_mm / pass.sweep_radius_mm(rise)).clamp(-1.0, 1.0).asin();
    if let Some(last) = vertices.last_mut() {
        last.bulge = -(0.25 * sweep).tan();
    }
    let face = -pass.past_centre_mm;
    vertices.push(corner(pass.straight_end_mm(), face));
    // A quarter turn, clockwise.
    let quarter = -(0.25 * std::f64::consts::FRAC_PI_2).tan();
    vertices.push(Vertex { at: Point::new(pass.height_mm + pass.corner_mm, face), bulge: quarter });
    vertices.push(corner(pass.height_mm, face + pass.corner_mm));
    vertices.extend(edge(-end, pass.height_mm).iter().rev().map(|at| corner(at.x, at.y)));
    vertices.dedup_by(|next, kept| {
        let same = kept.at.distance(next.at) < 1e-9;
        if same {
            kept.bulge = next.bulge;
        }
        same
    });
    let path = Path { vertices, closed: true };
    if 0.0 < pass.side() {
        return path;
    }
    // Upside down: mirrored left to right and turned by half, and counter-clockwise again.
    path.placed(&Placement { mirrored: true, angle_rad: std::f64::consts::PI, shift: Point::new(0.0, 0.0) }).reversed()
}

/// The outline's half width from station to station, signed.
fn outline_points(outline: &Outline, from: f64, to: f64) -> Vec<Point> {
    let stated = outline.width.points().iter().flat_map(|point| [-point.0, point.0]);
    let mut stops: Vec<f64> = stated.chain([0.0]).filter(|s| from + 1e-9 < *s && *s < to - 1e-9).chain([from, to]).collect();
    stops.sort_by(f64::total_cmp);
    stops.dedup();
    joined(&stops, |s| 0.5 * outline.width_at(s))
}

/// A line through every stop and, where it bends between them, close to it.
pub(super) fn joined(stops: &[f64], height: impl Fn(f64) -> f64) -> Vec<Point> {
    // A lamination that begins at a stop makes a step there: each span is seen from inside.
    const INSIDE_MM: f64 = 1e-3;
    let mut points: Vec<Point> = Vec::new();
    for span in stops.windows(2) {
        let inside = |s: f64| height(s.clamp(span[0] + INSIDE_MM, (span[1] - INSIDE_MM).max(span[0] + INSIDE_MM)));
        let new = chords(inside, span[0], span[1], CHORD_MM);
        let same = points.last().zip(new.first()).is_some_and(|(a, b)| (a.y - b.y).abs() < CHORD_MM);
        points.extend(new.into_iter().skip(usize::from(same)));
    }
    points
}

fn side_view(build: &Build, riser: &Riser) -> Path {
    let level = 0.5 * riser.level_mm;
    let of_grip = riser.grip.iter().flat_map(|grip| [-grip.below_mm(), -grip.down_mm, 0.0, grip.up_mm]);
    let of_laminations = build.laminations.iter().flat_map(|lamination| {
        let ends = [lamination.from_mm, lamination.to_mm];
        ends.into_iter().chain(lamination.finished.corners()).flat_map(|s| [-s, s])
    });
    let of_overlay = riser.overlay.iter().flat_map(|overlay| overlay.profile.corners()).flat_map(|s| [-s, s]);
    let mut stops: Vec<f64> =
        of_grip.chain(of_laminations).chain(of_overlay).filter(|s| limit::past(level, s.abs())).chain([-level, level]).collect();
    limit::places_once(&mut stops);
    let belly = joined(&stops, |s| depth_mm(build, s));
    Path::closed([Point::new(-level, 0.0), Point::new(level, 0.0)].into_iter().chain(belly.into_iter().rev()))
}

fn zones(build: &Build, riser: &Riser) -> Vec<SideZone> {
    const STEP_MM: f64 = 1.0;
    let Some(outline) = &build.outline else { return Vec::new() };
    let seams = riser.seams(build.glue.line_mm);
    let (pass, level) = (riser.pass.as_ref(), 0.5 * riser.level_mm);
    let first_side = pass.is_none_or(|pass| 0.0 < pass.side());
    let slice_at = |s: f64| {
        let [from, to] = left_mm(outline, pass, s);
        let v = if first_side { to } else { from };
        slice_at(&seams, v)
    };
    let count = (2.0 * level / STEP_MM).ceil().clamp(1.0, 5000.0) as u32;
    let mut zones = vec![SideZone { from_mm: -level, to_mm: level, slice: slice_at(-level) }];
    let mut before = -level;
    for k in 1..=count {
        let s = -level + 2.0 * level * f64::from(k) / f64::from(count);
        let last = zones.len() - 1;
        let (known, here) = (zones[last].slice, slice_at(s));
        if here != known {
            let edge = root::bisect(|s| slice_at(s) == known, before, s, 30).middle();
            zones[last].to_mm = edge;
            zones.push(SideZone { from_mm: edge, to_mm: level, slice: here });
        }
        before = s;
    }
    zones
}

fn depths(build: &Build, riser: &Riser) -> Vec<CutMark> {
    let Some(grip) = &riser.grip else { return Vec::new() };
    let mut stations = vec![-grip.below_mm(), -grip.down_mm, -0.5 * grip.down_mm, 0.0, 0.5 * grip.up_mm, grip.up_mm];
    stations.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    stations.into_iter().map(|station_mm| CutMark { station_mm, left_mm: depth_mm(build, station_mm) }).collect()
}

fn widths(outline: &Outline, pass: &ArrowPass) -> Vec<CutMark> {
    // The shelf's own width is that above its corner, which ends there.
    let stations =
        [pass.height_mm + pass.corner_mm, pass.straight_end_mm(), pass.straight_end_mm() + 0.5 * pass.sweep_mm, pass.end_mm()];
    let mark = |station_mm: f64| {
        let [from, to] = left_mm(outline, Some(pass), station_mm);
        CutMark { station_mm, left_mm: to - from }
    };
    stations.into_iter().map(mark).collect()
}
