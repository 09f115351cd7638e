//! The upper half of a form: the edge that a hose lies against while it presses the stack onto the lower half.
//!
//! ```text
//!   ======================== upper half, its edge downward
//!   o o o o o o o o o o o o  hose, flattened to `hose_mm`
//!   ------------------------ heat strip or pressure strip and film, `strip_mm`
//!   ======================== stack: laminations, and the riser where it is in
//!   ------------------------ lower half
//! ```
//!
//! What is above the riser lies on its fades, and strip and hose lie on that. So the edge keeps its distance from the face on which the
//! uppermost laminations lie (the riser's, or the pile's own): it is the border of all discs around the points of that face, each as large as
//! laminations, strip and hose are high there. No place of the edge is nearer to the face than that. Where the face is hollow, and more
//! tightly than a disc is round, the disc does not reach its bottom: there the gap is larger than it should be, and a hose that is not held
//! flat presses less. This is measured, and refused beyond [`EVEN_MM`].
//!
//! Frames: first that of the lower half; then turned over, to stand on its back as the lower half stands on its foot.
//!
//! Source: geometry (parallel curves as envelopes of discs), derived here. That hoses press badly where the gap is too large: common
//! practice, no source.

use super::form::{BODY_MM, Form, FormHalf, Laid, LimbOnForm, Mark, NamedStation, Upper, cut};
use crate::diag::{Diagnostic, Outcome, Reported, at_most, mm};
use crate::geometry::{Path, Point};
use crate::mechanics::glueup::{GlueUp, Stage};
use crate::model::Build;
use crate::model::build::stacked_mm;
use crate::model::lamination::Face;
use crate::model::workshop::{MIN_HOSE_MM, Press};
use crate::numeric::root::bisect;
use crate::units::limit;

/// So much more than its height a hose fills and still presses, mm. Common practice, no source.
pub const EVEN_MM: f64 = 0.5;
/// Between the middles of discs, mm: the scallops between them are a third of a micrometre deep under a hose of an inch.
const CENTRE_MM: f64 = 0.25;
/// Between points of the edge before it is thinned, mm.
const GRID_MM: f64 = 0.5;
/// Between places where the gap is measured, in discs.
const MEASURED: usize = 4;
/// What thinning may take off or leave on, mm.
const THIN_MM: f64 = 0.002;

/// The face under the uppermost laminations.
struct Top<'a> {
    laid: &'a Laid<'a>,
    press: Press,
}

/// A point of that face, and how high all is that lies on it.
#[derive(Clone, Copy)]
struct Disc {
    s_mm: f64,
    at: Point,
    reach_mm: f64,
}

/// Height of the edge over equal steps of `x`, from 0.
struct EdgeHeights {
    y_mm: Vec<f64>,
}

/// The upper half of a stage's form, standing on its back; `None` for a stage without one.
pub fn lay_out(build: &Build, glued: &GlueUp, stage: &Stage) -> Outcome<Option<Form>> {
    lay_out_halves(LimbOnForm { build, glued, stage }, None)
}

/// The same with a different limb on its left; `None` for two alike.
pub fn lay_out_halves(right: LimbOnForm<'_>, left: Option<LimbOnForm<'_>>) -> Outcome<Option<Form>> {
    let pressed = |limb: LimbOnForm<'_>| limb.build.glue.press_of(limb.stage.number);
    fn laid(limb: LimbOnForm<'_>) -> Option<(Laid<'_>, Press)> {
        Some((Laid::of(limb)?, limb.build.glue.press_of(limb.stage.number)?))
    }
    let (of_right, of_left) = match (pressed(right), left.map(pressed)) {
        (None, None | Some(None)) => return Ok(Reported::clean(None)),
        (Some(_), None) => (laid(right), None),
        (Some(own), Some(Some(other))) if own == other => (laid(right), left.and_then(laid)),
        _ => {
            let fault = Diagnostic::fault(
                right.stage.place.key("press"),
                "the two limbs' files press this stage otherwise, but one hose presses both",
            );
            return Err(vec![fault.hint("write the same `press` into both files")]);
        }
    };
    let Some((laid, press)) = of_right else { return Ok(Reported::clean(None)) };
    let face = Top { laid: &laid, press };
    let half = face.half().map_err(|fault| vec![fault])?;
    let left_face = of_left.as_ref().map(|(laid, press)| Top { laid, press: *press });
    let left_half = left_face.as_ref().map(Top::half).transpose().map_err(|fault| vec![fault])?;
    let highest = |half: &Half| half.points.iter().map(|point| point.y).fold(f64::NEG_INFINITY, f64::max);
    let top = left_half.as_ref().map_or(f64::NEG_INFINITY, highest).max(highest(&half)) + BODY_MM;
    // Turned over on its back.
    let over = |point: &Point| Point::new(point.x, top - point.y);
    let points_left = left_half.as_ref().map_or(&half.points, |left| &left.points);
    let step = usize::from((half.points[0].y - points_left[0].y).abs() < 1e-9);
    let whole: Vec<Point> = points_left
        .iter()
        .rev()
        .map(|point| Point::new(-point.x, top - point.y))
        .chain(half.points.iter().skip(step).map(over))
        .collect();
    let (FormHalf { marks, straps, .. }, gaps_mm) = face.marked(&half.edge, top);
    let of_left = left_face.as_ref().zip(left_half.as_ref()).map(|(face, half)| face.marked(&half.edge, top));
    let (left, left_gaps_mm) = of_left.unzip();
    let pressed_mm = whole.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
    let form = Form {
        stage: right.stage.number,
        lies_on: laid.lies_on,
        whole: Path { vertices: Vec::new(), closed: true },
        upper: Some(Upper { press, gaps_mm, left_gaps_mm, pressed_mm, shims: Vec::new() }),
        edge: whole,
        marks,
        straps,
        pins: Vec::new(),
        left,
        parts: Vec::new(),
        joints_mm: Vec::new(),
        body_mm: BODY_MM,
        strip_mm: press.strip_mm,
    };
    cut(right.build, form)
}

/// What lies between the edge and the hose so that the upper half of a thicker pile presses this thinner one, of even thickness, mm: as much
/// as the piles differ where they differ least, so that it is too much nowhere. `None` for a stage without an upper half.
pub fn shim_mm(thickest: LimbOnForm<'_>, thinner: LimbOnForm<'_>) -> Option<f64> {
    let pressed = |limb: LimbOnForm<'_>| limb.build.glue.press_of(limb.stage.number).is_some();
    if !pressed(thickest) || !pressed(thinner) {
        return None;
    }
    let [most, own] = [Laid::of(thickest)?, Laid::of(thinner)?];
    let end_mm = most.strips_end_mm().min(own.strips_end_mm());
    let count = (end_mm / GRID_MM).ceil().clamp(1.0, 20_000.0) as u32;
    let less = |k: u32| {
        let s = end_mm * f64::from(k) / f64::from(count);
        most.pile_mm(s) - own.pile_mm(s)
    };
    Some((0..=count).map(less).fold(f64::INFINITY, f64::min).max(0.0))
}

/// One limb's part of the edge, not turned over yet.
struct Half {
    edge: EdgeHeights,
    points: Vec<Point>,
}

impl Top<'_> {
    /// From the centre to the template's end; a fault where the hose would not press.
    fn half(&self) -> Result<Half, Diagnostic> {
        let end_x = self.laid.lower(self.laid.end_mm, 0.0).at.x;
        let discs = self.discs();
        let edge = EdgeHeights::around(&discs, end_x);
        match edge.worst(&discs, end_x).filter(|(_, over_mm)| limit::above(*over_mm, EVEN_MM)) {
            Some((disc, over_mm)) => Err(self.too_tight(disc, over_mm, end_x)),
            None => Ok(Half { points: edge.thinned(end_x), edge }),
        }
    }

    /// What is marked on it once it is turned over, each straight over the same mark of the lower half, so that marks and bolts of both meet;
    /// and the gaps between its named marks and those, upright, mm.
    fn marked(&self, edge: &EdgeHeights, top: f64) -> (FormHalf, Vec<f64>) {
        let mut gaps_mm = Vec::new();
        let mut mark = |NamedStation { station_mm, name }: NamedStation| {
            let under = self.laid.lower(station_mm, 0.0).at;
            let y = edge.y(under.x);
            gaps_mm.push(y - under.y);
            Mark { station_mm, at: Point::new(under.x, top - y), angle_rad: -edge.angle_rad(under.x), name }
        };
        let marks: Vec<Mark> = self.laid.named().into_iter().map(&mut mark).collect();
        let count = marks.len();
        let straps = self.laid.straps().into_iter().map(mark).collect();
        gaps_mm.truncate(count);
        (FormHalf { marks, straps, pins: Vec::new() }, gaps_mm)
    }
}

impl Top<'_> {
    /// The point of the face at a station, and what is high on it.
    fn disc(&self, s: f64) -> Disc {
        let laid = self.laid;
        let (build, pressed) = (laid.build, self.press.strip_mm + self.press.hose_mm);
        // Beyond the longest strip all goes on as it ends.
        let inside = s.min(laid.strips_end_mm());
        let line = build.glue.line_mm;
        let strip = |index: usize| {
            let lamination = &build.laminations[index];
            // Beyond its finished end a strip is as thick as there, as far as it was cut.
            let t = lamination.thickness_at(inside.min(lamination.to_mm));
            if 0.0 < t && inside <= lamination.to_mm + lamination.stock.overrun_mm { t } else { 0.0 }
        };
        let riser = build.riser.as_ref().filter(|_| laid.riser_in());
        let position = riser.map_or(usize::MAX, |riser| riser.position);
        let block = riser.map_or(0.0, |riser| riser.thickness_at(inside));
        if laid.lies_on == Face::Belly {
            // The curve is that of the back, and nothing but the riser lies on it.
            let high = if 0.0 < block { line + block } else { 0.0 };
            return Disc { s_mm: s, at: laid.offset(s, -high).at, reach_mm: pressed };
        }
        let (under, over): (Vec<usize>, Vec<usize>) = laid.in_pile.iter().partition(|index| **index < position);
        let high = stacked_mm(under.into_iter().map(strip).chain([block]), line);
        let all = stacked_mm([high].into_iter().chain(over.into_iter().map(strip)), line);
        Disc { s_mm: s, at: laid.offset(s, high).at, reach_mm: all - high + pressed }
    }

    /// Discs from the centre to beyond the template's end, as far as they reach back over it.
    fn discs(&self) -> Vec<Disc> {
        let end = self.laid.end_mm;
        let beyond = 3.0 * self.disc(end).reach_mm;
        let count = ((end + beyond) / CENTRE_MM).ceil().clamp(1.0, 40_000.0) as u32;
        (0..=count).map(|k| self.disc((end + beyond) * f64::from(k) / f64::from(count))).collect()
    }

    /// Where the gap is too large, and the highest hose that still fills it.
    fn too_tight(&self, disc: Disc, over_mm: f64, end_x: f64) -> Diagnostic {
        let fits = |hose_mm: f64| {
            let face = Top { press: Press { hose_mm, ..self.press }, ..*self };
            let discs = face.discs();
            EdgeHeights::around(&discs, end_x).worst(&discs, end_x).is_none_or(|(_, over_mm)| !limit::above(over_mm, EVEN_MM))
        };
        let message = message!(
            "at station {} the gap is {} larger than the hose is high: the stack is hollow there, and more tightly than laminations, strip and hose are high, {}; at most {} presses evenly",
            mm(disc.s_mm),
            mm(over_mm),
            mm(disc.reach_mm),
            mm(EVEN_MM)
        );
        let fault = Diagnostic::fault(self.laid.stage.place.key("press").key("hose"), message);
        if !fits(MIN_HOSE_MM) {
            return fault.hint(
                "no hose fills it: a longer fade, a gentler form or a strip that ends thinner there, or leave `press` out and use clamps",
            );
        }
        let fitting = bisect(fits, MIN_HOSE_MM, self.press.hose_mm, 14).holds;
        fault.hint(message!(
            "press with a hose of {} or less, or make the fade longer or the form gentler there",
            at_most(fitting)
        ))
    }
}

impl EdgeHeights {
    /// The border of all discs and their images on the other limb, to `end_x` and as far beyond as what is measured there needs.
    fn around(discs: &[Disc], end_x: f64) -> EdgeHeights {
        let reach = discs.iter().map(|disc| disc.reach_mm).fold(0.0, f64::max);
        let count = ((end_x + reach) / GRID_MM).ceil().clamp(1.0, 20_000.0) as usize;
        let mut y_mm = vec![f64::NEG_INFINITY; count + 1];
        for disc in discs {
            for middle in [disc.at.x, -disc.at.x] {
                let first = ((middle - disc.reach_mm) / GRID_MM).ceil().max(0.0) as usize;
                let last = ((middle + disc.reach_mm) / GRID_MM).floor();
                if last < 0.0 {
                    continue;
                }
                for (k, y) in y_mm.iter_mut().enumerate().take(last as usize + 1).skip(first) {
                    let across = GRID_MM * k as f64 - middle;
                    *y = y.max(disc.at.y + (disc.reach_mm * disc.reach_mm - across * across).max(0.0).sqrt());
                }
            }
        }
        EdgeHeights { y_mm }
    }

    /// The disc that stays farthest from the edge, and by how much, mm.
    fn worst(&self, discs: &[Disc], end_x: f64) -> Option<(Disc, f64)> {
        let over = |disc: &Disc| {
            let around = disc.reach_mm + 2.0 * EVEN_MM;
            let first = ((disc.at.x - around) / GRID_MM).floor().max(0.0) as usize;
            let last = ((disc.at.x + around) / GRID_MM).ceil().max(0.0) as usize;
            let points = self.y_mm.iter().enumerate().take(last + 1).skip(first);
            let near = points.map(|(k, y)| Point::new(GRID_MM * k as f64, *y).distance(disc.at)).fold(f64::INFINITY, f64::min);
            near - disc.reach_mm
        };
        let measured = discs.iter().step_by(MEASURED).filter(|disc| disc.at.x <= end_x);
        measured.map(|disc| (*disc, over(disc))).max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Slope of the edge, rad.
    fn angle_rad(&self, x: f64) -> f64 {
        let slope = if x <= 0.0 { 0.0 } else { (self.y(x + GRID_MM) - self.y((x - GRID_MM).max(0.0))) / (2.0 * GRID_MM) };
        slope.atan()
    }

    fn y(&self, x: f64) -> f64 {
        let k = ((x / GRID_MM).floor().max(0.0) as usize).min(self.y_mm.len() - 2);
        let fraction = x / GRID_MM - k as f64;
        self.y_mm[k] + fraction * (self.y_mm[k + 1] - self.y_mm[k])
    }

    /// From the centre to `end_x`, without the points that a straight line between others does as well.
    fn thinned(&self, end_x: f64) -> Vec<Point> {
        let count = (end_x / GRID_MM).floor() as usize;
        let mut points: Vec<Point> = (0..=count).map(|k| Point::new(GRID_MM * k as f64, self.y_mm[k])).collect();
        if points.last().is_none_or(|last| 1e-3 < end_x - last.x) {
            points.push(Point::new(end_x, self.y(end_x)));
        }
        /// A longer chord saves nothing.
        const LONGEST: usize = 60;
        let straight = |from: usize, to: usize| {
            let (a, b) = (points[from], points[to]);
            let slope = (b.y - a.y) / (b.x - a.x);
            points[from + 1..to].iter().all(|point| (point.y - a.y - slope * (point.x - a.x)).abs() <= THIN_MM)
        };
        let (mut kept, mut from) = (vec![points[0]], 0);
        while from + 1 < points.len() {
            let farthest = (from + LONGEST).min(points.len() - 1);
            let mut to = from + 1;
            while to < farthest && straight(from, to + 1) {
                to += 1;
            }
            kept.push(points[to]);
            from = to;
        }
        kept
    }
}
