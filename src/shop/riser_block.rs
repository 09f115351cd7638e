//! The riser block on the bench: what to saw, where its slices show, and what the calipers must read along the fades.
//!
//! ```text
//!   y                       level part
//!   ▲              ┌───────────────────────────┐                belly: the laminations that climb, or none
//!   │           ╱                                 ╲
//!   │  ____╱             riser                       ╲____
//!   └──┴──────────────────────┬───────────────────────────┴──► x   back: flat, glued to the lamination before it
//!  overrun feather            0                feather  overrun
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x` | station, negative on the other limb | mm |
//! | `y` | thickness of the block over its flat face, which looks to the bow's back | mm |
//! | `v` | across the width from the middle; the first slice listed has the greatest `v` | mm |
//!
//! The block is stacked across the width: slices and the glue lines between them add up to its width. Once the sides are
//! trimmed to the outline, their faces cut through the slices; where the outline crosses a glue line a *seam* shows.
//! Beyond the feather the sawn face runs on at the feather's thickness over the overrun, so that the edge can be ground
//! without breaking out; the overrun is trimmed off last.
//!
//! Source: geometry. Overrun, and the caliper marks close by the feather, are common practice. Limits: the seams are those of
//! square sides; a rounded grip moves them.

use super::block_parts;
use super::feather_check::check_marks;
use super::grip::{self, HandCuts};
use crate::diag::{Diagnostic, Place, Reported, at_least, mm};
use crate::geometry::flatten::chords;
use crate::geometry::{Path, Point, Vertex};
use crate::model::Build;
use crate::model::outline::Outline;
use crate::model::riser::{Fade, Riser, Slice, slice_at};
use crate::numeric::root;

pub use super::block_parts::{FootingCut, LayerJoint, OverlayBlock};
pub use super::feather_check::{CheckMark, CheckSteps};
pub use super::grip::CHORD_MM;

/// Everything to lay out, saw and check one block.
#[derive(Debug, Clone, PartialEq)]
pub struct RiserBlock {
    /// Side profile, feather to feather, counter-clockwise in `(x, y)`; arcs are true arcs.
    pub template: Path,
    /// The same with the overrun at both ends.
    pub sawn: Path,
    /// Squared block: feather to feather and the overruns, mm.
    pub blank_length_mm: f64,
    /// Slices and glue lines, mm.
    pub width_mm: f64,
    pub depth_mm: f64,
    /// Slices, first listed first.
    pub bands: Vec<Band>,
    /// Middles of the glue lines between slices, as [`Riser::seams`] gives them, mm.
    pub glue_lines_mm: Vec<f64>,
    /// What the outline leaves of the width; `None` where the build has no outline.
    pub trim: Option<Trim>,
    /// Where the trimmed sides cross glue lines, increasing station, both limbs alike.
    pub seams: Vec<Seam>,
    /// From the feather toward the grip.
    pub check: Vec<CheckMark>,
    /// Shelf, window and grip; `None` where hands cut none.
    pub cuts: Option<HandCuts>,
    /// Glue lines between boards over the depth; none in a block of slices.
    pub joints: Vec<LayerJoint>,
    pub footing: Option<FootingCut>,
    pub overlay: Option<OverlayBlock>,
}

/// One slice across the width.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    pub wood: String,
    /// Greater edge in `v`, mm.
    pub from_mm: f64,
    /// Lesser edge in `v`, mm.
    pub to_mm: f64,
}

/// Wood to take off each side of the block to come to the outline, mm; negative where the block is too narrow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trim {
    /// At the bow's centre.
    pub at_grip_mm: f64,
    /// Least over the block's length, and the station where that is.
    pub min_mm: f64,
    pub min_at_mm: f64,
}

/// A glue line that comes to the trimmed side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seam {
    /// Between this slice and the next one.
    pub after_slice: usize,
    pub side: BlockSide,
    pub station_mm: f64,
}

/// A side of the block, by the slice that lies there before it is trimmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BlockSide {
    First,
    Last,
}

/// The block of a build with a riser; warns where it is too narrow for the outline.
pub fn lay_out(build: &Build, steps: CheckSteps) -> Option<Reported<RiserBlock>> {
    let riser = build.riser.as_ref()?;
    let width_mm = riser.width_mm(build.glue.line_mm);
    let glue_lines_mm = riser.seams(build.glue.line_mm);
    let trim = build.outline.as_ref().map(|outline| trim(riser, outline, width_mm));
    let seams = build.outline.as_ref().map_or(Vec::new(), |outline| seams(riser, outline, &glue_lines_mm));
    let mut warnings = Vec::new();
    if let Some(trim) = trim.filter(|trim| trim.min_mm < 0.0) {
        warnings.push(too_narrow(riser, width_mm, trim));
    }
    let value = RiserBlock {
        template: profile(riser, 0.0),
        sawn: profile(riser, riser.overrun_mm),
        blank_length_mm: riser.length_mm + 2.0 * riser.overrun_mm,
        width_mm,
        depth_mm: riser.depth_mm,
        bands: bands(riser, build.glue.line_mm),
        glue_lines_mm,
        trim,
        seams,
        check: check_marks(&riser.profile(), steps),
        cuts: grip::lay_out(build, riser),
        joints: block_parts::layer_joints(riser, build.glue.line_mm),
        footing: riser.footing.as_ref().map(|footing| block_parts::footing_cut(riser, footing, width_mm)),
        overlay: riser.overlay.as_ref().map(|overlay| block_parts::overlay_block(build, riser, overlay, steps)),
    };
    Some(Reported { value, warnings })
}

/// Closed side profile, counter-clockwise; beyond the feathers the face runs on level by `overrun_mm`.
fn profile(riser: &Riser, overrun_mm: f64) -> Path {
    let corner = |x: f64, y: f64| Vertex { at: Point::new(x, y), bulge: 0.0 };
    let end = riser.feather_station_mm() + overrun_mm;
    let mut vertices = vec![corner(-end, 0.0), corner(end, 0.0)];
    let rising = fade_face(riser);
    if 0.0 < overrun_mm {
        vertices.push(corner(end, riser.feather_mm));
    }
    vertices.extend(rising.iter().copied());
    // The other limb mirrors this one: the same corners backwards, each arc stored on the corner where it now starts.
    vertices.extend((0..rising.len()).rev().map(|i| Vertex {
        at: Point::new(-rising[i].at.x, rising[i].at.y),
        bulge: if 0 < i { rising[i - 1].bulge } else { 0.0 },
    }));
    if 0.0 < overrun_mm {
        vertices.push(corner(-end, riser.feather_mm));
    }
    // A riser without a level part comes to one point in the middle: one corner of the two stays, with the piece that leaves it.
    vertices.dedup_by(|next, kept| {
        let same = kept.at.distance(next.at) < 1e-9;
        if same {
            kept.bulge = next.bulge;
        }
        same
    });
    Path { vertices, closed: true }
}

/// Corners of the climbed face from the feather up to the level part; seen so, an arc turns clockwise.
fn fade_face(riser: &Riser) -> Vec<Vertex> {
    let (feather, level) = (riser.feather_station_mm(), 0.5 * riser.level_mm);
    let at = |s: f64| Point::new(s, riser.thickness_at(s));
    let top = Vertex { at: Point::new(level, riser.depth_mm), bulge: 0.0 };
    if riser.fade_length_mm() <= 0.0 {
        return vec![Vertex { at: Point::new(feather, riser.feather_mm), bulge: 0.0 }, top];
    }
    match riser.fade {
        Fade::Arc => vec![arc_from(at(feather), top.at, 0.0), top],
        Fade::ArcAndFlat => {
            // The run-out ends where the curvature begins: found by its definition, not by the model's private shares.
            let joint = run_out_end(riser);
            let slope = riser.fade_at(0.5 * (joint + feather)).slope;
            vec![Vertex { at: at(feather), bulge: 0.0 }, arc_from(at(joint), top.at, slope), top]
        }
        Fade::Eased => {
            let face = |s: f64| if s <= level { riser.depth_mm } else { riser.thickness_at(s) };
            chords(face, feather, level, CHORD_MM).into_iter().map(|at| Vertex { at, bulge: 0.0 }).collect()
        }
    }
}

/// The corner at `from` of an arc that leaves it toward the grip rising by `slope`, and ends at `to`.
fn arc_from(from: Point, to: Point, slope: f64) -> Vertex {
    // An arc turns from its chord, at either end, by half its sweep.
    let chord = (to.y - from.y).atan2(from.x - to.x);
    let sweep = 2.0 * (chord - slope.atan());
    Vertex { at: from, bulge: -(0.25 * sweep).tan() }
}

/// Station where a straight run-out meets the arc, by halving.
fn run_out_end(riser: &Riser) -> f64 {
    let level = 0.5 * riser.level_mm;
    let straight = |s: f64| riser.fade_at(s).curvature_per_mm.abs() <= 0.0 && level < s;
    // Sixty halvings bring any bow's length below the last bit of its stations.
    root::bisect(straight, riser.feather_station_mm(), level, 60).holds
}

fn bands(riser: &Riser, glue_line_mm: f64) -> Vec<Band> {
    let edges = riser.bands(glue_line_mm);
    let band = |(slice, [from_mm, to_mm]): (&Slice, [f64; 2])| Band { wood: slice.wood.name.clone(), from_mm, to_mm };
    riser.across.iter().zip(edges).map(band).collect()
}

/// Stations along one half of the block where the width is looked at, close enough to miss no seam that can be seen, and
/// every stated point of the outline.
fn stations(riser: &Riser, outline: &Outline) -> Vec<f64> {
    const STEP_MM: f64 = 1.0;
    let end = riser.feather_station_mm();
    let count = (end / STEP_MM).ceil().clamp(1.0, 10_000.0) as u32;
    let mut stations: Vec<f64> = (0..=count).map(|k| end * f64::from(k) / f64::from(count)).collect();
    stations.extend(outline.width.points().iter().map(|point| point.0).filter(|s| 0.0 < *s && *s < end));
    stations.sort_by(f64::total_cmp);
    stations
}

fn trim(riser: &Riser, outline: &Outline, width_mm: f64) -> Trim {
    let each_side = |s: f64| 0.5 * (width_mm - outline.width_at(s));
    let start = (0.0, f64::INFINITY);
    let (min_at_mm, min_mm) = stations(riser, outline)
        .into_iter()
        .map(|s| (s, each_side(s)))
        .fold(start, |best, here| if here.1 < best.1 - 1e-9 { here } else { best });
    Trim { at_grip_mm: each_side(0.0), min_mm, min_at_mm }
}

fn seams(riser: &Riser, outline: &Outline, glue_lines_mm: &[f64]) -> Vec<Seam> {
    let stations = stations(riser, outline);
    let mut seams = Vec::new();
    for (after_slice, v) in glue_lines_mm.iter().enumerate() {
        let over = |s: f64| 0.5 * outline.width_at(s) - v.abs();
        for span in stations.windows(2) {
            if (over(span[0]) < 0.0) == (over(span[1]) < 0.0) {
                continue;
            }
            let edge = root::bisect(|s| (over(s) < 0.0) == (over(span[0]) < 0.0), span[0], span[1], 50);
            let side = if 0.0 <= *v { BlockSide::First } else { BlockSide::Last };
            seams.push(Seam { after_slice, side, station_mm: edge.middle() });
        }
    }
    seams.sort_by(|a, b| a.station_mm.total_cmp(&b.station_mm).then(a.after_slice.cmp(&b.after_slice)));
    seams
}

fn too_narrow(riser: &Riser, width_mm: f64, trim: Trim) -> Diagnostic {
    let wanted = width_mm - 2.0 * trim.min_mm;
    const TRIMMED: &str =
        "where the riser stands short of the outline the limb's laminations must be trimmed to the riser's width";
    if !riser.layers.is_empty() {
        let message = message!(
            "the block is {} wide, but the outline is {} wide at station {}",
            mm(width_mm),
            mm(wanted),
            mm(trim.min_at_mm)
        );
        let hint = message!("raise `width` to {} or more, or narrow the outline over the riser", at_least(wanted));
        return Diagnostic::warning(Place::new("riser.width"), message).hint(hint).hint(TRIMMED);
    }
    Diagnostic::warning(
        Place::new("riser.across"),
        message!(
            "the slices and their glue lines make a block {} wide, but the outline is {} wide at station {}",
            mm(width_mm),
            mm(wanted),
            mm(trim.min_at_mm)
        ),
    )
    .hint(message!("add {} of slices, or narrow the outline over the riser", at_least(-2.0 * trim.min_mm)))
    .hint(TRIMMED)
}

impl RiserBlock {
    /// Index of the slice that shows on the trimmed side at station `s`.
    pub fn slice_on_side(&self, outline: &Outline, s: f64, side: BlockSide) -> usize {
        let half = 0.5 * outline.width_at(s).min(self.width_mm);
        let v = match side {
            BlockSide::First => half,
            BlockSide::Last => -half,
        };
        slice_at(&self.glue_lines_mm, v)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::path::Arc;

    fn riser(fade: Fade, level_mm: f64) -> Riser {
        let position = 1;
        Riser {
            position,
            length_mm: 400.0,
            level_mm,
            depth_mm: 38.0,
            fade,
            feather_mm: 0.3,
            overrun_mm: 12.0,
            across: Vec::new(),
            layers: Vec::new(),
            footing: None,
            overlay: None,
            grip: None,
            pass: None,
        }
    }

    /// Height of the profile's face over `x`, by looking along the flattened path; a face has one height everywhere.
    fn height(path: &Path, x: f64) -> f64 {
        let points = path.flattened(1e-6);
        let n = points.len();
        (0..n)
            .map(|i| (points[i], points[(i + 1) % n]))
            .filter(|(a, b)| b.x < a.x && b.x <= x && x <= a.x)
            .map(|(a, b)| a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y))
            .fold(f64::NEG_INFINITY, f64::max)
    }

    #[test]
    fn the_profile_is_the_riser() {
        for fade in [Fade::Arc, Fade::ArcAndFlat, Fade::Eased] {
            for level in [0.0, 120.0] {
                let riser = riser(fade, level);
                let (template, sawn) = (profile(&riser, 0.0), profile(&riser, 12.0));
                for k in 0..400 {
                    let x = f64::from(k) - 199.77;
                    let allowed = if fade == Fade::Eased { CHORD_MM } else { 1e-5 };
                    for path in [&template, &sawn] {
                        let stray = (height(path, x) - riser.thickness_at(x)).abs();
                        assert!(stray <= allowed, "{fade:?} level {level} x {x}: {stray}");
                    }
                }
                assert!((height(&sawn, 205.0) - 0.3).abs() < 1e-9 && (height(&sawn, -211.0) - 0.3).abs() < 1e-9);
                assert!(0.0 < template.area() && template.area() < sawn.area());
                assert!((sawn.bounds().width() - 424.0).abs() < 1e-9 && (sawn.bounds().height() - 38.0).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn an_arc_fade_is_one_arc_of_the_shop_formula_tangent_at_the_feather() {
        let template = profile(&riser(Fade::Arc, 120.0), 0.0);
        let arcs: Vec<Arc> = template.pieces().filter_map(|(a, b, bulge)| Arc::of(a, b, bulge)).collect();
        assert_eq!(arcs.len(), 2);
        let (l, h) = (140.0_f64, 37.7_f64);
        for arc in arcs {
            assert!((arc.radius - (l * l + h * h) / (2.0 * h)).abs() < 1e-9);
            // Tangent to the flat face: the centre stands straight over the feather.
            assert!((arc.centre.x.abs() - 200.0).abs() < 1e-9, "{:?}", arc.centre);
        }
    }

    #[test]
    fn mirrored_template_is_the_same_template() {
        for fade in [Fade::Arc, Fade::ArcAndFlat, Fade::Eased] {
            let template = profile(&riser(fade, 120.0), 0.0);
            let n = template.vertices.len();
            for (i, vertex) in template.vertices.iter().enumerate() {
                let twin = template.vertices[(n + 1 - i) % n];
                assert!((vertex.at.x + twin.at.x).abs() < 1e-9 && (vertex.at.y - twin.at.y).abs() < 1e-9);
            }
        }
    }
}
