//! How the wet pile is held: flat, on a form, or bent free over props; and where that puts the limb.
//!
//! * **Form**: rise over the station. Stations run along the curve, so `sin θ = dr/ds` and `κ = r'' / √(1 − r'²)`. The curve is the
//!   spline of continuous curvature through the points that starts level; points of one height at the start stay level, and the
//!   bend begins at the last of them.
//! * **Props**: the slipping pile pushed up at its end ([`super::props`]).

use super::super::release::Slipping;
use crate::diag::{Diagnostic, Place, mm};
use crate::numeric::heading::Heading;
use crate::numeric::ode::{self, NODES};
use crate::numeric::piecewise::Piecewise;
use crate::numeric::spline::Spline;

/// How one stage is held.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Hold {
    Flat,
    Form(FormCurve),
    /// Bent free: level up to a station, then with this moment over the station, which ends at the prop.
    Props {
        level_mm: f64,
        at_mm: f64,
        load_n: f64,
        moment_n_mm: Piecewise,
    },
    /// At whatever curvature this is, 1/mm.
    At(Piecewise),
}

impl Hold {
    /// Curvature of the pile at a station, 1/mm; `slipping` is what lies there.
    pub fn curvature(&self, inside_mm: f64, s_mm: f64, slipping: impl FnOnce() -> Slipping) -> f64 {
        match self {
            Hold::Flat => 0.0,
            Hold::Form(form) => form.curvature(inside_mm, s_mm),
            Hold::Props { level_mm, .. } if inside_mm < *level_mm => 0.0,
            Hold::Props { at_mm, moment_n_mm, .. } => {
                let slipping = slipping();
                let moment = if inside_mm < *at_mm { moment_n_mm.at(inside_mm, s_mm) } else { 0.0 };
                slipping.free_per_mm() + if 0.0 < slipping.stiffness_n_mm2 { moment / slipping.stiffness_n_mm2 } else { 0.0 }
            }
            Hold::At(curve) => curve.at(inside_mm, s_mm),
        }
    }

    pub fn corners(&self) -> Vec<f64> {
        match self {
            Hold::Flat => Vec::new(),
            Hold::Form(form) => form.spline.as_ref().map_or(Vec::new(), |_| form.rise.iter().map(|point| point.0).collect()),
            Hold::Props { level_mm, at_mm, .. } => vec![*level_mm, *at_mm],
            Hold::At(curve) => curve.corners().to_vec(),
        }
    }
}

/// The curve of a form.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct FormCurve {
    rise: Vec<(f64, f64)>,
    /// Level up to here, mm.
    level_mm: f64,
    /// `None` for a form that is level throughout.
    spline: Option<Spline>,
}

impl FormCurve {
    /// The curve through these points, their rise counted from the first; a fault at `place` if it is steeper than it is long.
    pub fn through(points: &[(f64, f64)], place: &Place) -> Result<FormCurve, Diagnostic> {
        let first = points.first().copied().unwrap_or((0.0, 0.0));
        let rise: Vec<(f64, f64)> = points.iter().map(|(s, r)| (*s, r - first.1)).collect();
        let level = rise.iter().take_while(|point| point.1.abs() < LEVEL_MM).count();
        let bent: Vec<(f64, f64)> = rise.iter().skip(level.saturating_sub(1)).copied().collect();
        let level_mm = bent.first().map_or(0.0, |point| point.0);
        let spline = if bent.len() < 2 {
            None
        } else {
            let fault = |_| Diagnostic::fault(place.clone(), "the stations of the form do not increase");
            Some(Spline::through(bent, 0.0).map_err(fault)?)
        };
        let form = FormCurve { rise, level_mm, spline };
        let steepest = form.steepest();
        if MAX_SLOPE < steepest.1 {
            let message = message!(
                "the form rises by {} of its own length at station {}",
                format_args!("{:.2}", steepest.1),
                mm(steepest.0)
            );
            return Err(Diagnostic::fault(place.clone(), message).hint(format!(
                "stations run along the curve, so that a form rises by less than {MAX_SLOPE}: lessen the rise there"
            )));
        }
        Ok(form)
    }

    /// The same curve with all rises multiplied.
    pub fn scaled(&self, by: f64, place: &Place) -> Result<FormCurve, Diagnostic> {
        FormCurve::through(&self.rise.iter().map(|(s, r)| (*s, by * r)).collect::<Vec<_>>(), place)
    }

    pub fn points(&self) -> &[(f64, f64)] {
        &self.rise
    }

    pub fn rise_at(&self, s_mm: f64) -> f64 {
        self.spline.as_ref().filter(|_| self.level_mm < s_mm).map_or(0.0, |spline| spline.at(s_mm).value)
    }

    fn slope(&self, s_mm: f64) -> f64 {
        self.spline.as_ref().filter(|_| self.level_mm < s_mm).map_or(0.0, |spline| spline.at(s_mm).slope)
    }

    fn curvature(&self, inside_mm: f64, s_mm: f64) -> f64 {
        let last = self.rise.last().map_or(0.0, |point| point.0);
        match &self.spline {
            Some(spline) if self.level_mm < inside_mm && inside_mm < last => {
                let here = spline.at(s_mm.clamp(self.level_mm, last));
                here.bend / (1.0 - here.slope * here.slope).sqrt()
            }
            _ => 0.0,
        }
    }

    /// Steepest slope and the station where it is.
    fn steepest(&self) -> (f64, f64) {
        let end = self.rise.last().map_or(0.0, |point| point.0);
        let samples = (0..=200).map(|k| end * f64::from(k) / 200.0);
        samples.map(|s| (s, self.slope(s).abs())).fold((0.0, 0.0), |max, here| if max.1 < here.1 { here } else { max })
    }
}

/// Rises less than this from the first count as level, mm.
const LEVEL_MM: f64 = 1e-9;
/// Steepest slope of a form (sine of its angle, 44 degrees). Bows need a third of it; near 1 the curvature has no bound.
const MAX_SLOPE: f64 = 0.7;

/// The limb at a station: back face (or whichever line is followed), in the side frame from the bow's centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinePoint {
    pub s_mm: f64,
    /// Toward the belly positive, mm.
    pub rise_mm: f64,
    /// Along the bow's axis, mm.
    pub along_mm: f64,
    /// Toward the belly positive, rad.
    pub angle_rad: f64,
    /// From the side of the greater station, and from that of the smaller one: they differ where it jumps, 1/mm.
    pub curvature_per_mm: f64,
    pub before_per_mm: f64,
}

impl LinePoint {
    fn at(s_mm: f64, [angle_rad, rise_mm, along_mm]: [f64; 3], curvature_per_mm: f64, before_per_mm: f64) -> LinePoint {
        LinePoint { s_mm, rise_mm, along_mm, angle_rad, curvature_per_mm, before_per_mm }
    }
}

/// Curvature of a line at a station, from the side of the smaller station and from that of the greater, 1/mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LineCurvature {
    pub s_mm: f64,
    pub before_per_mm: f64,
    pub after_per_mm: f64,
}

impl LineCurvature {
    /// Curvature between neighbouring spots (increasing stations), straight from one side of the stretch to the other; that of the end
    /// beyond the ends.
    pub fn between(spots: &[LineCurvature], s_mm: f64) -> f64 {
        let next = spots.partition_point(|spot| spot.s_mm < s_mm);
        match (next.checked_sub(1).and_then(|i| spots.get(i)), spots.get(next)) {
            (Some(a), Some(b)) => {
                let fraction = (s_mm - a.s_mm) / (b.s_mm - a.s_mm);
                a.after_per_mm + fraction * (b.before_per_mm - a.after_per_mm)
            }
            (None, Some(spot)) => spot.after_per_mm,
            (Some(spot), None) => spot.before_per_mm,
            (None, None) => 0.0,
        }
    }
}

/// The line that starts level at the centre, at every place of `mesh` (increasing from 0); `curvature(inside, s)` is asked for once at each
/// node of each step, in their order.
pub(super) fn line(mesh: &[f64], mut curvature: impl FnMut(f64, f64) -> f64) -> Vec<LinePoint> {
    let mut y = [0.0; 3];
    let mut spots: Vec<LinePoint> = Vec::with_capacity(mesh.len());
    let mut before = None;
    for pair in mesh.windows(2) {
        let (h, inside) = (pair[1] - pair[0], 0.5 * (pair[0] + pair[1]));
        let at = NODES.map(|node| curvature(inside, pair[0] + node * h));
        spots.push(LinePoint::at(pair[0], y, at[0], before.unwrap_or(at[0])));
        y = along(y, h, &at);
        before = Some(at[4]);
    }
    let last = before.unwrap_or(0.0);
    spots.push(LinePoint::at(mesh[mesh.len() - 1], y, last, last));
    spots
}

/// Where that line ends: its rise, mm.
pub(super) fn tip_mm(mesh: &[f64], mut curvature: impl FnMut(f64, f64) -> f64) -> f64 {
    let end = mesh.windows(2).fold([0.0; 3], |y, pair| {
        let (h, inside) = (pair[1] - pair[0], 0.5 * (pair[0] + pair[1]));
        along(y, h, &NODES.map(|node| curvature(inside, pair[0] + node * h)))
    });
    end[1]
}

/// One step of the line's angle, rise and way along, with the curvature at the step's nodes.
fn along(y: [f64; 3], h: f64, curvature: &[f64; 5]) -> [f64; 3] {
    let heading = Heading::of(y[0]);
    ode::step(&y, h, |node, y| {
        let (sin, cos) = heading.sin_cos_at(y[0]);
        [curvature[node], sin, cos]
    })
}
