//! The form of a glue-up stage: the profile its edge is cut to, what is marked on it, and how it comes in pieces.
//!
//! The pile lies on the form with its back, or with its belly where the riser is on the bow's back, so that the riser is on top.
//! The glue-up's curve is that of the pile's back. The edge of the form runs beside it at the distance of what lies beneath: nothing
//! but the protecting strip on the back's side, strip and pile on the belly's.
//!
//! ```text
//!        ____-------------------____        edge: (along, rise) of the curve, moved square to it
//!    __--|  |   ↓ strap marks   |  |--__
//!   |    nock  fade end  centre          |   body, never less than BODY_MM
//!   |____________________________________|   foot, y = 0: straight, to stand and to measure from
//! ```
//!
//! Frame: `x` along the bow from its centre, `y` above the foot. Rises toward the belly point up where the back lies down.
//! A template that is longer than the cutter's bed is split with the lock of [`super::joint`]; joints keep away from the places
//! where the form's curve counts most (feathers, nocks), and heights come from the foot alone.
//!
//! Pins keep wet pieces from sliding along: one on each limb under the riser, square through the pile, and one in each overrun,
//! beyond the finished lamination. Common practice, no source.
//!
//! Source: geometry, derived here.

use super::joint::{JointLock, candidates, lock, split};
use super::label::label_in;
use super::nest::{SheetSide, room_mm, short_key};
use super::parts::{Part, compensated};
use crate::diag::{Diagnostic, Message, Outcome, Place, Reported, mm};
use crate::drawing::font::width_mm;
use crate::drawing::{Align, Label, Lettering};
use crate::geometry::{Bounds, Path, Point, Vertex, height_at};
use crate::mechanics::glueup::{GlueUp, LinePoint, Stage};
use crate::model::Build;
use crate::model::build::stacked_mm;
use crate::model::lamination::Face;
use crate::model::marked_station::{MarkedStation, StationKind};
use crate::model::workshop::{Held, Press};
use crate::units::limit;
use std::f64::consts::FRAC_PI_2;

/// A form, both limbs.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    pub stage: u32,
    /// This face of the pile lies on the form.
    pub lies_on: Face,
    /// For the upper half, which presses the pile with a hose: what it leaves room for.
    pub upper: Option<Upper>,
    /// The working edge from left to right.
    pub edge: Vec<Point>,
    /// The whole template, counter-clockwise.
    pub whole: Path,
    /// Named places on the edge, increasing station, one limb; the other mirrors it.
    pub marks: Vec<Mark>,
    /// Straps or clamps on one limb.
    pub straps: Vec<Mark>,
    pub pins: Vec<Pin>,
    /// The same of the left limb, `x` counted toward its tip, where it is a different one; `None` for two alike. The edge has both halves.
    pub left: Option<FormHalf>,
    /// Pieces for the cutter: one, or several that lock together.
    pub parts: Vec<Part>,
    /// Between pieces, `x`.
    pub joints_mm: Vec<f64>,
    /// Lowest place of the edge above the foot, mm.
    pub body_mm: f64,
    /// Thickness of the protecting strip that the edge allows for, mm.
    pub strip_mm: f64,
}

/// What is marked on half a form.
#[derive(Debug, Clone, PartialEq)]
pub struct FormHalf {
    pub marks: Vec<Mark>,
    pub straps: Vec<Mark>,
    pub pins: Vec<Pin>,
}

/// A limb on the form of a stage.
#[derive(Debug, Clone, Copy)]
pub struct LimbOnForm<'a> {
    pub build: &'a Build,
    pub glued: &'a GlueUp,
    pub stage: &'a Stage,
}

/// What is said of an upper half beyond its shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Upper {
    pub press: Press,
    /// From each mark of the lower half up to the same mark of this one, square to foot and back, mm.
    pub gaps_mm: Vec<f64>,
    /// The same of the left limb, where it is a different one.
    pub left_gaps_mm: Option<Vec<f64>>,
    /// Length of the edge, mm: of the hose between the halves.
    pub pressed_mm: f64,
    /// In a series, whose thickest pile it is cut for: what each weight lays on the edge. None for a bow alone.
    pub shims: Vec<WeightShim>,
}

/// What the bows of a weight lay between the edge of an upper half and the hose.
#[derive(Debug, Clone, PartialEq)]
pub struct WeightShim {
    /// As the build file has it, such as `45 lbf`.
    pub weight: String,
    /// Of even thickness, mm; 0 for the thickest pile.
    pub shim_mm: f64,
}

/// A place on an edge of a form, and the edge's slope there, rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePlace {
    pub at: Point,
    pub angle_rad: f64,
}

/// A place on the edge.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    pub station_mm: f64,
    /// On the right limb.
    pub at: Point,
    /// Slope of the edge there, rad.
    pub angle_rad: f64,
    pub name: String,
}

/// A pin square through the pile into the form.
#[derive(Debug, Clone, PartialEq)]
pub struct Pin {
    pub station_mm: f64,
    pub at: Point,
    pub angle_rad: f64,
    pub under_riser: bool,
}

/// Beyond the glue on the wood.
pub const MORE_GLUE: &str = "a third more for brush and pot";

/// Least height of the template, mm: lower, and it bends on its way to the saw; higher only takes sheet.
pub(super) const BODY_MM: f64 = 45.0;
/// The template runs on beyond the strips, mm.
const RUN_ON_MM: f64 = 20.0;
/// Diameter of the locating pins, mm: a bamboo skewer.
pub const PIN_MM: f64 = 3.0;
/// From the middle of a strap to a pin beside it, mm.
const STRAP_MM: f64 = 12.0;
/// Lines on the face reach down from the edge by this, mm.
const MARK_MM: f64 = 12.0;

/// The form of a stage; `None` for a stage that is held otherwise. `strip_mm` lies between form and pile.
pub fn lay_out(build: &Build, glued: &GlueUp, stage: &Stage, strip_mm: f64) -> Outcome<Option<Form>> {
    lay_out_halves(LimbOnForm { build, glued, stage }, None, strip_mm)
}

/// The same with a different limb on its left; `None` for two alike.
pub fn lay_out_halves(right: LimbOnForm<'_>, left: Option<LimbOnForm<'_>>, strip_mm: f64) -> Outcome<Option<Form>> {
    let Some(laid) = Laid::of(right) else { return Ok(Reported::clean(None)) };
    let laid_left = match left.map(Laid::of) {
        Some(None) => return Ok(Reported::clean(None)),
        Some(laid) => laid,
        None => None,
    };
    let half = laid.points(strip_mm);
    let left_half = laid_left.as_ref().map_or_else(|| half.clone(), |laid| laid.points(strip_mm));
    let lowest = half.iter().chain(&left_half).map(|point| point.y).fold(f64::INFINITY, f64::min);
    let lift = BODY_MM - lowest;
    // The centre is one place where both halves are as high there.
    let step = usize::from((half[0].y - left_half[0].y).abs() < 1e-9);
    let edge: Vec<Point> = left_half
        .iter()
        .rev()
        .map(|point| Point::new(-point.x, point.y + lift))
        .chain(half.iter().skip(step).map(|point| Point::new(point.x, point.y + lift)))
        .collect();
    let FormHalf { marks, straps, pins } = laid.marked(strip_mm, lift);
    let form = Form {
        stage: right.stage.number,
        lies_on: laid.lies_on,
        upper: None,
        whole: body(&edge, None, None, 0.0),
        edge,
        pins,
        marks,
        straps,
        left: laid_left.map(|laid| laid.marked(strip_mm, lift)),
        parts: Vec::new(),
        joints_mm: Vec::new(),
        body_mm: BODY_MM,
        strip_mm,
    };
    cut(right.build, form)
}

/// What stands on both halves, pair by pair, with the side of each: the left one's first.
fn pairs<'a, T>(right: &'a [T], left: Option<&'a [T]>) -> impl Iterator<Item = (f64, &'a T)> {
    let left = left.unwrap_or(right);
    let at = move |k: usize| [left.get(k).map(|of| (-1.0, of)), right.get(k).map(|of| (1.0, of))];
    (0..left.len().max(right.len())).flat_map(move |k| at(k).into_iter().flatten())
}

/// The whole template and its pieces, from the edge and what is marked on it.
pub(super) fn cut(build: &Build, mut form: Form) -> Outcome<Option<Form>> {
    form.whole = body(&form.edge, None, None, 0.0);
    cut_up(build, &mut form).map_err(|fault| vec![fault])?;
    let half_kerf = build.shop.cutter.half_kerf_mm();
    let faults: Vec<Diagnostic> = form.parts.iter().filter_map(|part| compensated(part, half_kerf).err()).collect();
    if faults.is_empty() { Ok(Reported::clean(Some(form))) } else { Err(faults) }
}

/// A stage on its form: what both halves are laid out from. Frame: the form stands on its foot, the pile on top.
pub(super) struct Laid<'a> {
    pub build: &'a Build,
    glued: &'a GlueUp,
    pub stage: &'a Stage,
    pub lies_on: Face,
    /// Laminations of the pile, back to belly.
    pub in_pile: Vec<usize>,
    /// Station of the template's end, mm.
    pub end_mm: f64,
}

impl<'a> Laid<'a> {
    /// `None` for a stage that is held otherwise.
    pub fn of(LimbOnForm { build, glued, stage }: LimbOnForm<'a>) -> Option<Laid<'a>> {
        let Held::Form { .. } = stage.held else { return None };
        let on_back = build.riser.as_ref().is_none_or(|riser| 0 < riser.position);
        let lies_on = if on_back { Face::Back } else { Face::Belly };
        let here = |index: &usize| build.laminations[*index].stage <= stage.number;
        let in_pile: Vec<usize> = (0..build.laminations.len()).filter(here).collect();
        let strip_end = |index: &usize| build.laminations[*index].to_mm + build.laminations[*index].stock.overrun_mm;
        let end_mm = in_pile.iter().map(strip_end).fold(glued.nock_mm, f64::max) + RUN_ON_MM;
        Some(Laid { build, glued, stage, lies_on, in_pile, end_mm })
    }

    /// The lower half's edge, before it is lifted over its foot: points from the centre to the template's end.
    fn points(&self, strip_mm: f64) -> Vec<Point> {
        let stations = self.stage.on_form.iter().map(|spot| spot.s_mm).chain([self.end_mm]);
        stations.map(|s| self.lower(s, strip_mm).at).collect()
    }

    /// What is marked on it, so much higher.
    fn marked(&self, strip_mm: f64, lift: f64) -> FormHalf {
        let raised = |s: f64| {
            let EdgePlace { at, angle_rad } = self.lower(s, strip_mm);
            EdgePlace { at: Point::new(at.x, at.y + lift), angle_rad }
        };
        let mark = |NamedStation { station_mm, name }: NamedStation| {
            let EdgePlace { at, angle_rad } = raised(station_mm);
            Mark { station_mm, at, angle_rad, name }
        };
        let straps: Vec<Mark> = self.straps().into_iter().map(mark).collect();
        let pins = pins(self.build, &self.in_pile, &straps).into_iter().map(|(station_mm, under_riser)| {
            let EdgePlace { at, angle_rad } = raised(station_mm);
            Pin { station_mm, at, angle_rad, under_riser }
        });
        FormHalf { pins: pins.collect(), marks: self.named().into_iter().map(mark).collect(), straps }
    }

    /// Laminations and the lines between them, mm.
    pub fn pile_mm(&self, s: f64) -> f64 {
        let laminations = self.in_pile.iter().map(|index| &self.build.laminations[*index]);
        stacked_mm(laminations.map(|lamination| lamination.thickness_at(s.min(lamination.to_mm))), self.build.glue.line_mm)
    }

    /// The place `depth_mm` from the pile's back toward its belly, square to the curve.
    pub fn offset(&self, s: f64, depth_mm: f64) -> EdgePlace {
        let spot = spot_at(&self.stage.on_form, s);
        let (sin, cos) = spot.angle_rad.sin_cos();
        let up = if self.lies_on == Face::Back { 1.0 } else { -1.0 };
        let at = Point::new(spot.along_mm - depth_mm * sin, up * (spot.rise_mm + depth_mm * cos));
        EdgePlace { at, angle_rad: up * spot.angle_rad }
    }

    /// The lower half's edge, before it is lifted over its foot.
    pub fn lower(&self, s: f64, strip_mm: f64) -> EdgePlace {
        self.offset(s, if self.lies_on == Face::Back { -strip_mm } else { self.pile_mm(s) + strip_mm })
    }

    /// Station where the longest strip ends, mm.
    pub fn strips_end_mm(&self) -> f64 {
        self.end_mm - RUN_ON_MM
    }

    /// The riser is glued in this stage or in one before.
    pub fn riser_in(&self) -> bool {
        let stages = self.glued.stages.iter();
        self.stage.riser || stages.into_iter().any(|before| before.riser && before.number <= self.stage.number)
    }

    /// Stations and names of straps or clamps on one limb.
    pub fn straps(&self) -> Vec<NamedStation> {
        let named = |(k, station_mm): (u32, f64)| NamedStation { station_mm, name: k.to_string() };
        (1..).zip(self.stage.clamps.stations_mm()).map(named).collect()
    }

    /// Stations and names of centre, fade ends, ends of laminations and nocks.
    pub fn named(&self) -> Vec<NamedStation> {
        let build = self.build;
        let lies = |kind: &StationKind| match kind {
            StationKind::Centre | StationKind::Nock => true,
            StationKind::FadeBegins | StationKind::Feather => self.riser_in(),
            StationKind::Begins(index) | StationKind::Ends(index) | StationKind::EndsWithWood(index) => {
                self.in_pile.contains(index)
            }
            StationKind::Meets(_) | StationKind::Spliced(_) | StationKind::OverlayBegins(_) | StationKind::EndOfWood => false,
        };
        let mut merged: Vec<NamedStation> = Vec::new();
        for MarkedStation { station_mm, kind } in build.marked_stations().into_iter().filter(|station| lies(&station.kind)) {
            let next = NamedStation { station_mm, name: build.station_name(kind) };
            match merged.last_mut() {
                Some(last) if limit::same_place(last.station_mm, next.station_mm) => last.name = together(&last.name, &next.name),
                _ => merged.push(next),
            }
        }
        merged
    }
}

/// A station that is marked on a form.
pub(super) struct NamedStation {
    pub station_mm: f64,
    pub name: String,
}

/// The curve at a station, straight on beyond its end.
fn spot_at(spots: &[LinePoint], s: f64) -> LinePoint {
    let last = spots[spots.len() - 1];
    let next = spots.partition_point(|spot| spot.s_mm < s);
    if next == spots.len() {
        let (beyond, (sin, cos)) = (s - last.s_mm, last.angle_rad.sin_cos());
        return LinePoint { s_mm: s, rise_mm: last.rise_mm + beyond * sin, along_mm: last.along_mm + beyond * cos, ..last };
    }
    let (a, b) = (spots[next.saturating_sub(1)], spots[next]);
    let width = b.s_mm - a.s_mm;
    let fraction = if width <= 0.0 { 1.0 } else { (s - a.s_mm) / width };
    let between = |from: f64, to: f64| from + fraction * (to - from);
    // Angles run straight where curvature is even; places follow the arc through both ends closely enough over a few millimetres.
    let sag = -0.5 * fraction * (1.0 - fraction) * width * width * between(a.curvature_per_mm, b.before_per_mm);
    LinePoint {
        s_mm: s,
        rise_mm: between(a.rise_mm, b.rise_mm) + sag * a.angle_rad.cos(),
        along_mm: between(a.along_mm, b.along_mm) - sag * a.angle_rad.sin(),
        angle_rad: between(a.angle_rad, b.angle_rad),
        curvature_per_mm: between(a.curvature_per_mm, b.before_per_mm),
        before_per_mm: between(a.curvature_per_mm, b.before_per_mm),
    }
}

/// Two names on one mark: `core ends` and `belly ends` make `core, belly end`.
fn together(before: &str, name: &str) -> String {
    let strips = |text: &str| text.strip_suffix(" ends").or(text.strip_suffix(" end")).map(str::to_owned);
    match (strips(before), strips(name)) {
        (Some(names), Some(name)) => format!("{names}, {name} end"),
        _ => format!("{before}, {name}"),
    }
}

/// Stations of pins on one limb, and whether the riser hides them.
fn pins(build: &Build, in_pile: &[usize], straps: &[Mark]) -> Vec<(f64, bool)> {
    let mut pins = Vec::new();
    if let Some(riser) = &build.riser {
        // Well inside the level part, and off the centre: strips that are butted there are pinned one by one.
        let wanted = 0.25 * riser.level_mm.max(riser.length_mm * 0.2);
        // A strap would lie on the pin: the pin gives way.
        let under = straps.iter().map(|strap| wanted - strap.station_mm).find(|off| off.abs() < STRAP_MM);
        pins.push((under.map_or(wanted, |off| wanted - off + STRAP_MM), true));
    }
    // In the waste beyond every finished lamination; strips that have none butt against the pin.
    let end = in_pile.iter().map(|index| build.laminations[*index].to_mm).fold(0.0, f64::max);
    let waste = in_pile.iter().map(|index| build.laminations[*index].stock.overrun_mm).fold(f64::INFINITY, f64::min);
    pins.push((end + (0.5 * waste).clamp(0.5 * PIN_MM, 0.5 * RUN_ON_MM), false));
    pins
}

/// A stretch of the template: foot, right side, edge from right to left, left side.
fn body(edge: &[Point], socket: Option<&JointLock>, tongue: Option<&JointLock>, lock_at_mm: f64) -> Path {
    let corner = |x: f64, y: f64| Vertex { at: Point::new(x, y), bulge: 0.0 };
    let (left, right) = (edge[0].x, edge[edge.len() - 1].x);
    let mut around = vec![corner(left, 0.0), corner(right, 0.0)];
    around.extend(tongue.map(|lock| lock.tongue(Point::new(right, lock_at_mm))).unwrap_or_default());
    around.extend(edge.iter().rev().map(|point| corner(point.x, point.y)));
    around.extend(socket.map(|lock| lock.socket(Point::new(left, lock_at_mm))).unwrap_or_default());
    Path { vertices: around, closed: true }
}

/// Splits the template where it is longer than the cutter's bed.
fn cut_up(build: &Build, form: &mut Form) -> Result<(), Diagnostic> {
    let (from, to) = (form.edge[0].x, form.edge[form.edge.len() - 1].x);
    let plan = build.sled.as_ref();
    let thickness = plan.map_or(PLY_MM, |plan| plan.sheet.thickness_mm);
    let lock = lock(form.body_mm, build.shop.cutter.half_kerf_mm(), plan.map_or(FIT_MM, |plan| plan.fit_mm));
    let reach = lock.as_ref().map_or(0.0, JointLock::reach_mm);
    let room = match (plan, build.shop.cutter.bed_mm()) {
        (Some(plan), _) => room_mm(&plan.sheet, &build.shop.cutter)[0],
        (None, Some([x, y])) => x.max(y) - EDGE_MM,
        (None, None) => f64::INFINITY,
    };
    let joints = if !limit::above(to - from, room) {
        Vec::new()
    } else {
        let marks = form.marks_on_both().map(|(side, mark)| side * mark.at.x);
        let pins = form.pins_on_both().map(|(side, pin)| side * pin.at.x);
        let kept: Vec<f64> = marks.chain(pins).collect();
        split(from, to, room - reach, &candidates(from, to, &kept)).ok_or_else(|| {
            let message = message!("a form {} long cannot be split into pieces of at most {}", mm(to - from), mm(room - reach));
            let key = plan.map_or("shop.cutter", |plan| short_key(&plan.sheet, &build.shop.cutter, SheetSide::Long));
            Diagnostic::fault(Place::new(key), message).hint("use a longer bed or sheet, or print the form and saw it by hand")
        })?
    };
    let mut bounds = vec![from];
    bounds.extend(&joints);
    bounds.push(to);
    let pieces = bounds.len() - 1;
    for (k, pair) in bounds.windows(2).enumerate() {
        let name = if pieces == 1 { form.name() } else { format!("{}, {} of {pieces}", form.name(), k + 1) };
        let (socket, tongue) = (lock.as_ref().filter(|_| 0 < k), lock.as_ref().filter(|_| k + 1 < pieces));
        let path = body(&between(&form.edge, pair[0], pair[1]), socket, tongue, 0.5 * form.body_mm);
        let purpose = if form.upper.is_some() {
            "template of the upper half's side: stick it to the blank, straight side flush with its back, saw outside and plane to the edge, square across"
        } else {
            "template of the form's side: stick it to the blank of the form, foot flush with its foot, saw outside and plane to the edge, square across"
        };
        let mut part = Part::new(name.clone(), path.moved(-pair[0], 0.0), thickness, purpose);
        let (width, top) = (pair[1] - pair[0], form.body_mm - 1.0);
        part.no_tabs.push(Bounds { min: Point::new(0.0, top), max: Point::new(width, f64::MAX) });
        for (x, joined) in [(0.0, socket.is_some()), (width, tongue.is_some())] {
            part.no_tabs.extend(joined.then(|| Bounds { min: Point::new(x, 0.0), max: Point::new(x + reach, f64::MAX) }));
        }
        part.marks = marks_between(form, pair[0], pair[1]).into_iter().map(|line| line.moved(-pair[0], 0.0)).collect();
        let clear = 2.0 * reach + 6.0;
        let room =
            Bounds { min: Point::new(clear, 4.0), max: Point::new(pair[1] - pair[0] - clear, form.body_mm - MARK_MM - 8.0) };
        part.labels.extend(label_in(room, &[format!("{}, {name}", build.title), name]));
        part.labels.extend(mark_names(form, pair[0], pair[1]));
        form.parts.push(part);
    }
    form.joints_mm = joints;
    Ok(())
}

/// Names of the marks on a piece, upright under their lines, in the piece's own frame.
fn mark_names(form: &Form, from: f64, to: f64) -> Vec<Label> {
    // Larger letters meet those of the next mark; smaller ones burn shut.
    const CAP_MM: [f64; 2] = [1.4, 2.2];
    let mut labels = Vec::new();
    for (side, mark) in form.marks_on_both() {
        let (x, top) = (side * mark.at.x - from, mark.at.y - MARK_MM - 1.5);
        let cap = (0.9 * (top - 2.0) / width_mm(&mark.name, 1.0, Lettering::Regular)).min(CAP_MM[1]);
        let inside = 3.0 < x && x < to - from - 3.0 && (0.0 < side || 1e-6 < mark.at.x);
        if inside && CAP_MM[0] <= cap {
            let at = Point::new(x + 0.5 * cap, top);
            labels.push(Label::new(mark.name.as_str(), at, cap).aligned(Align::Right).turned(FRAC_PI_2));
        }
    }
    labels
}

/// Sheet for the template where the build file names none, mm.
const PLY_MM: f64 = 6.0;
/// Play of the lock where the build file states no fit, mm.
const FIT_MM: f64 = 0.1;
/// Kept free along the border of a bed, mm.
const EDGE_MM: f64 = 8.0;

/// The edge between two places, its ends on the chords.
fn between(edge: &[Point], from: f64, to: f64) -> Vec<Point> {
    let mut points = vec![Point::new(from, height_at(edge, from))];
    points.extend(edge.iter().copied().filter(|point| from + 1e-3 < point.x && point.x < to - 1e-3));
    points.push(Point::new(to, height_at(edge, to)));
    points
}

/// Lines to score between two places of the template: marks, straps, pins, on both limbs.
fn marks_between(form: &Form, from: f64, to: f64) -> Vec<Path> {
    let mut lines = Vec::new();
    let mut line = |side: f64, at: Point, angle_rad: f64, depth: f64| {
        // Square to the edge, downward.
        let (dx, dy) = (side * angle_rad.sin(), -angle_rad.cos());
        let place = |depth: f64| Point::new(side * at.x + depth * dx, at.y + depth * dy);
        let ends = [place(0.0), place(depth)];
        let clear = |point: &Point| from + 0.5 < point.x && point.x < to - 0.5;
        // What stands on the centre is drawn once.
        if ends.iter().all(clear) && (side > 0.0 || 1e-6 < at.x) {
            lines.push(Path::line(ends[0], ends[1]));
        }
    };
    for (side, mark) in form.marks_on_both() {
        line(side, mark.at, mark.angle_rad, MARK_MM);
    }
    for (side, strap) in form.straps_on_both() {
        line(side, strap.at, strap.angle_rad, 0.3 * MARK_MM);
    }
    // Both edges of a pin's hole, on one limb and the other.
    let of_left = form.left.as_ref().map_or(&form.pins, |left| &left.pins);
    for k in 0..form.pins.len().max(of_left.len()) {
        for offset in [-0.5 * PIN_MM, 0.5 * PIN_MM] {
            for (side, pin) in [(-1.0, of_left.get(k)), (1.0, form.pins.get(k))] {
                let Some(pin) = pin else { continue };
                let (sin, cos) = pin.angle_rad.sin_cos();
                line(side, Point::new(pin.at.x + offset * cos, pin.at.y + offset * sin), pin.angle_rad, 0.7 * MARK_MM);
            }
        }
    }
    lines
}

/// What to go through without glue before a stage, because things slide in wet glue. Common practice, no source.
pub fn dry_run(build: &Build, stage: &Stage) -> Vec<Message> {
    let mut items = vec![
        message!("{}: there, ground, in this order, faces and tips marked", stage.names(build)),
        "centre, fade ends, lamination ends and nocks marked across every piece and on what holds them".into(),
        "locating pins in: under the riser, and in the waste beyond the finished outline".into(),
    ];
    items.push(match stage.held {
        Held::Form { .. } => "form square along its length and covered with film, pressure strip cut to length".into(),
        Held::Props { rise_mm, at_mm } if build.limb.is_some() => message!(
            "a prop, so that the pile's back stands {} from its line at the grip, {} from the centre",
            mm(rise_mm.abs()),
            mm(at_mm)
        ),
        Held::Props { rise_mm, at_mm } => message!(
            "two props alike, so that the pile's back stands {} from its line at the grip, both at {} from the centre",
            mm(rise_mm.abs()),
            mm(at_mm)
        ),
        Held::Flat => "bench straight, covered with film".into(),
    });
    if stage.riser {
        items.push("riser: both feathers whole, no light under the laminations over the fades".into());
    }
    if build.glue.press_of(stage.number).is_some() {
        items.push("pins cut off below the pressure strip: nothing sharp touches the hose".into());
        items
            .push("both halves bolted or strapped over the dry pile, the gap the same all along; hose pumped up dry once".into());
    }
    items.push(
        "all clamps or bands laid out and set once dry, in the order of the work; no gap that a sheet of paper enters".into(),
    );
    items.push("time taken for it: less than half the glue's open time, which its data sheet gives".into());
    items
}

impl Form {
    /// The marks of both halves, each with its side: −1 on the left, 1 on the right.
    pub fn marks_on_both(&self) -> impl Iterator<Item = (f64, &Mark)> {
        pairs(&self.marks, self.left.as_ref().map(|left| left.marks.as_slice()))
    }

    pub fn straps_on_both(&self) -> impl Iterator<Item = (f64, &Mark)> {
        pairs(&self.straps, self.left.as_ref().map(|left| left.straps.as_slice()))
    }

    pub fn pins_on_both(&self) -> impl Iterator<Item = (f64, &Pin)> {
        pairs(&self.pins, self.left.as_ref().map(|left| left.pins.as_slice()))
    }

    /// All lines to score on the whole template.
    pub fn scored(&self) -> Vec<Path> {
        marks_between(self, f64::NEG_INFINITY, f64::INFINITY)
    }

    /// As parts and sheets call it: `form 2`, `form 2 upper half`.
    pub fn name(&self) -> String {
        format!("form {}{}", self.stage, if self.upper.is_some() { " upper half" } else { "" })
    }

    /// Of its sheet: `form-2`, `form-2-upper`.
    pub fn sheet_name(&self) -> String {
        format!("form-{}{}", self.stage, if self.upper.is_some() { "-upper" } else { "" })
    }

    pub fn height_mm(&self) -> f64 {
        self.edge.iter().map(|point| point.y).fold(0.0, f64::max)
    }

    pub fn length_mm(&self) -> f64 {
        self.edge[self.edge.len() - 1].x - self.edge[0].x
    }
}
