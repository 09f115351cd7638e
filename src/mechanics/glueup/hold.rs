//! How the wet pile is held: flat, on a form, or bent free over props; and where that puts the limb.
//!
//! * **Form**: rise over the station. Stations run along the curve, so `sin θ = dr/ds` and `κ = r'' / √(1 − r'²)`. The curve is the
//!   spline of continuous curvature through the points that starts level; points of one height at the start stay level, and the
//!   bend begins at the last of them.
//! * **Props**: the slipping pile is held at the grip and pushed, square to the bench, at the props. It is the elastic line of
//!   `Σ EI_j` with the free curvature `Σ EI_j κ_j / Σ EI_j` and the moment `P (y_prop − y)`, solved exactly (large slopes) as a
//!   limb whose string runs square to the bow ([`Limb`]). Beyond the props the pile keeps its free shape. A riser in the pile
//!   is clamped down on something straight from feather to feather, or the laminations would not lie on its fades: there the
//!   pile is level, and it bends from the feather on.

use super::super::limb::{Beam, Limb, Root};
use super::pile::{Bundle, Pile, Slipping};
use crate::diag::{Diagnostic, Place, mm};
use crate::numeric::ode::{self, NODES};
use crate::numeric::pieces::Pieces;
use crate::numeric::root;
use crate::numeric::spline::Spline;
use std::f64::consts::FRAC_PI_2;

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
        moment_n_mm: Pieces,
    },
    /// At whatever curvature this is, 1/mm.
    At(Pieces),
}

impl Hold {
    /// Curvature of the pile at a station, 1/mm; `laid` is what lies there.
    pub fn curvature(&self, inside_mm: f64, s_mm: f64, laid: &[Bundle]) -> f64 {
        match self {
            Hold::Flat => 0.0,
            Hold::Form(form) => form.curvature(inside_mm, s_mm),
            Hold::Props { level_mm, .. } if inside_mm < *level_mm => 0.0,
            Hold::Props { at_mm, moment_n_mm, .. } => {
                let slipping = Slipping::of(laid, |_| true);
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
        let end = form.rise.last().map_or(0.0, |point| point.0);
        let samples = (0..=200).map(|k| end * f64::from(k) / 200.0);
        let steepest =
            samples.map(|s| (s, form.slope(s).abs())).fold((0.0, 0.0), |most, here| if most.1 < here.1 { here } else { most });
        if MOST_SLOPE < steepest.1 {
            let message = format!("the form rises by {:.2} of its own length at station {}", steepest.1, mm(steepest.0));
            return Err(Diagnostic::fault(place.clone(), message).hint(format!(
                "stations run along the curve, so that a form rises by less than {MOST_SLOPE}: lessen the rise there"
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
}

/// Rises less than this from the first count as level, mm.
const LEVEL_MM: f64 = 1e-9;
/// Steepest slope of a form (sine of its angle, 44 degrees). Bows need a third of it; near 1 the curvature has no bound.
const MOST_SLOPE: f64 = 0.7;

/// The limb at a station: back face (or whichever line is followed), in the side frame from the bow's centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
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

impl Spot {
    /// Curvature between neighbouring spots (increasing stations), straight from one side of the stretch to the other; that of the end
    /// beyond the ends.
    pub fn curvature_between(spots: &[Spot], s_mm: f64) -> f64 {
        let next = spots.partition_point(|spot| spot.s_mm < s_mm);
        match (next.checked_sub(1).and_then(|i| spots.get(i)), spots.get(next)) {
            (Some(a), Some(b)) => {
                let share = (s_mm - a.s_mm) / (b.s_mm - a.s_mm);
                a.curvature_per_mm + share * (b.before_per_mm - a.curvature_per_mm)
            }
            (None, Some(spot)) => spot.curvature_per_mm,
            (Some(spot), None) => spot.before_per_mm,
            (None, None) => 0.0,
        }
    }
}

/// The line that starts level at the centre and has this curvature, at every place of `mesh` (increasing from 0).
pub(super) fn line(mesh: &[f64], curvature: impl Fn(f64, f64) -> f64) -> Vec<Spot> {
    let mut y = [0.0; 3];
    let mut spots: Vec<Spot> = Vec::with_capacity(mesh.len());
    let mut inside_before = None;
    for (k, s) in mesh.iter().enumerate() {
        let next = mesh.get(k + 1).copied();
        let inside = next.map_or_else(|| 0.5 * (s + mesh[k.saturating_sub(1)]), |next| 0.5 * (s + next));
        let curvature_per_mm = curvature(inside, *s);
        let before_per_mm = inside_before.map_or(curvature_per_mm, |before| curvature(before, *s));
        spots.push(Spot { s_mm: *s, rise_mm: y[1], along_mm: y[2], angle_rad: y[0], curvature_per_mm, before_per_mm });
        inside_before = Some(inside);
        if let Some(next) = next {
            let h = next - s;
            y = ode::step(&y, h, |node, y| [curvature(inside, s + NODES[node] * h), y[0].sin(), y[0].cos()]);
        }
    }
    spots
}

/// The pile of stage `n` bent free until it rises by `rise_mm` at `at_mm`.
pub(super) fn props(pile: &Pile<'_>, n: usize, at_mm: f64, rise_mm: f64, place: &Place) -> Result<Hold, Diagnostic> {
    let slipping = |inside: f64, s: f64| Slipping::of(&pile.laid(n, inside, s), |_| true);
    let riser = pile.stack.build().riser.as_ref().filter(|_| pile.of_riser <= n);
    let level_mm = riser.map_or(0.0, |riser| riser.feather_station_mm());
    if at_mm <= level_mm {
        let message = format!("the props at station {} stand under the riser, which ends at {}", mm(at_mm), mm(level_mm));
        return Err(Diagnostic::fault(place.clone(), message).hint("put them under the tips"));
    }
    let mesh = ode::mesh(level_mm, at_mm, &pile.corners(), STEP_MM);
    if let Some(pair) = mesh.windows(2).find(|pair| {
        let middle = 0.5 * (pair[0] + pair[1]);
        slipping(middle, middle).stiffness_n_mm2 <= 0.0
    }) {
        let message = format!("nothing that is glued in this stage or before lies at station {}", mm(pair[0]));
        return Err(Diagnostic::fault(place.clone(), message)
            .hint("what is bent over props must reach from the grip to the props without a gap"));
    }
    let root = Root { x_mm: 0.0, y_mm: 0.0, angle_rad: 0.0 };
    let limb = Limb::lay(root, level_mm, at_mm, &pile.corners(), STEP_MM, |inside, s| {
        let here = slipping(inside, s);
        Beam { stiffness_n_mm2: here.stiffness_n_mm2, curvature_per_mm: here.free_per_mm(), neutral_mm: 0.0 }
    });
    // Small slopes give the start: free rise and angle, and what a force of one newton adds.
    let free = line(&mesh, |inside, s| slipping(inside, s).free_per_mm());
    let (mut per_n, mut turn_per_n) = (0.0, 0.0);
    for pair in mesh.windows(2) {
        let middle = 0.5 * (pair[0] + pair[1]);
        let (arm, compliance) = (at_mm - middle, (pair[1] - pair[0]) / slipping(middle, middle).stiffness_n_mm2);
        per_n += compliance * arm * arm;
        turn_per_n += compliance * arm;
    }
    let end = free[free.len() - 1];
    let load = (rise_mm - end.rise_mm) / per_n;
    let reach = at_mm - level_mm;
    let scale = reach / per_n;
    let residuals = |v: &[f64; 2]| {
        let pass = limb.pass(v[0] * scale, v[1]);
        let (by_load, by_angle) = (pass.by_tension, pass.by_angle);
        (
            [pass.end.psi - FRAC_PI_2, (-pass.end.q - rise_mm) / reach],
            [[by_load.psi * scale, by_angle.psi], [-by_load.q * scale / reach, -by_angle.q / reach]],
        )
    };
    let start = [load / scale, FRAC_PI_2 + end.angle_rad + load * turn_per_n];
    let solved = root::newton(residuals, start, 1e-12, 60).map_err(|fault| {
        let message = format!(
            "no shape bent free rises by {} at station {} (residual {:.1e} after {} tries)",
            mm(rise_mm),
            mm(at_mm),
            fault.residual,
            fault.evaluations
        );
        Diagnostic::fault(place.clone(), message).hint("lower the props, or move them further out")
    })?;
    let (load_n, angle) = (solved.x[0] * scale, solved.x[1]);
    // The moment runs smoothly, with the slope dM/ds = −P dp/du: cubics through places this near are off by less than a millionth of it.
    let mut moments: Vec<(f64, f64, f64)> = Vec::new();
    for bent in limb.trace(load_n, angle).at {
        if moments.last().is_none_or(|before| before.0 + 1e-6 < bent.s_mm) {
            moments.push((bent.s_mm, bent.moment_n_mm, -load_n * bent.psi_rad.sin()));
        }
    }
    Ok(Hold::Props { level_mm, at_mm, load_n, moment_n_mm: Pieces::hermite(&moments) })
}

/// Longest step along the pile, mm. Longer, and the moment between two places is no longer nearly straight; shorter only costs time.
const STEP_MM: f64 = 12.0;
