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
use super::super::release::Slipping;
use super::pile::Pile;
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
    fn at(s_mm: f64, [angle_rad, rise_mm, along_mm]: [f64; 3], curvature_per_mm: f64, before_per_mm: f64) -> Spot {
        Spot { s_mm, rise_mm, along_mm, angle_rad, curvature_per_mm, before_per_mm }
    }

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

/// The line that starts level at the centre, at every place of `mesh` (increasing from 0); `curvature(inside, s)` is asked for once at each
/// node of each step, in their order.
pub(super) fn line(mesh: &[f64], mut curvature: impl FnMut(f64, f64) -> f64) -> Vec<Spot> {
    let mut y = [0.0; 3];
    let mut spots: Vec<Spot> = Vec::with_capacity(mesh.len());
    let mut before = None;
    for pair in mesh.windows(2) {
        let (h, inside) = (pair[1] - pair[0], 0.5 * (pair[0] + pair[1]));
        let at = NODES.map(|node| curvature(inside, pair[0] + node * h));
        spots.push(Spot::at(pair[0], y, at[0], before.unwrap_or(at[0])));
        y = along(y, h, &at);
        before = Some(at[4]);
    }
    let last = before.unwrap_or(0.0);
    spots.push(Spot::at(mesh[mesh.len() - 1], y, last, last));
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
    ode::step(&y, h, |node, y| [curvature[node], y[0].sin(), y[0].cos()])
}

/// The pile of a stage held level up to one station and free to bend from there to the props.
pub(super) struct Propped {
    limb: Limb,
    level_mm: f64,
    at_mm: f64,
    /// Where its free shape ends.
    free: Spot,
    /// What a force of one newton at the props adds to rise and angle there, for small slopes.
    rise_per_n: f64,
    turn_per_n: f64,
}

impl Propped {
    /// The pile of the stage at place `n` over props at a station; a fault where it does not reach from the grip to them.
    pub fn of(pile: &Pile<'_>, n: usize, at_mm: f64, place: &Place) -> Result<Propped, Diagnostic> {
        let mut column = pile.column();
        let mut slipping = |inside: f64, s: f64| {
            column.lay(n, inside, s);
            column.slipping()
        };
        let riser = pile.stack.build().riser.as_ref().filter(|_| pile.of_riser <= n);
        let level_mm = riser.map_or(0.0, |riser| riser.feather_station_mm());
        if at_mm <= level_mm {
            let message = format!("the props at station {} stand under the riser, which ends at {}", mm(at_mm), mm(level_mm));
            return Err(Diagnostic::fault(place.clone(), message).hint("put them under the tips"));
        }
        let corners = pile.corners(n);
        let mesh = ode::mesh(level_mm, at_mm, &corners, STEP_MM);
        let (mut rise_per_n, mut turn_per_n) = (0.0, 0.0);
        for pair in mesh.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            let stiffness_n_mm2 = slipping(middle, middle).stiffness_n_mm2;
            if stiffness_n_mm2 <= 0.0 {
                let message = format!("nothing that is glued in this stage or before lies at station {}", mm(pair[0]));
                return Err(Diagnostic::fault(place.clone(), message)
                    .hint("what is bent over props must reach from the grip to the props without a gap"));
            }
            let (arm, compliance) = (at_mm - middle, (pair[1] - pair[0]) / stiffness_n_mm2);
            rise_per_n += compliance * arm * arm;
            turn_per_n += compliance * arm;
        }
        let free = line(&mesh, |inside, s| slipping(inside, s).free_per_mm());
        let free = free[free.len() - 1];
        let root = Root { x_mm: 0.0, y_mm: 0.0, angle_rad: 0.0 };
        let limb = Limb::lay(root, level_mm, at_mm, &corners, STEP_MM, |inside, s| {
            let here = slipping(inside, s);
            Beam { stiffness_n_mm2: here.stiffness_n_mm2, curvature_per_mm: here.free_per_mm(), neutral_mm: 0.0 }
        });
        Ok(Propped { limb, level_mm, at_mm, free, rise_per_n, turn_per_n })
    }

    /// The same bent free until it rises by `rise_mm` there.
    pub fn raised(&self, rise_mm: f64, place: &Place) -> Result<Hold, Diagnostic> {
        let Propped { limb, level_mm, at_mm, free, .. } = self;
        let (level_mm, at_mm) = (*level_mm, *at_mm);
        let load = (rise_mm - free.rise_mm) / self.rise_per_n;
        let reach = at_mm - level_mm;
        let scale = reach / self.rise_per_n;
        let residuals = |v: &[f64; 2]| {
            let pass = limb.pass(v[0] * scale, v[1]);
            let (by_load, by_angle) = (pass.by_tension, pass.by_angle);
            (
                [pass.end.psi - FRAC_PI_2, (-pass.end.q - rise_mm) / reach],
                [[by_load.psi * scale, by_angle.psi], [-by_load.q * scale / reach, -by_angle.q / reach]],
            )
        };
        // Small slopes give the start.
        let start = [load / scale, FRAC_PI_2 + free.angle_rad + load * self.turn_per_n];
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
}

/// Longest step along the pile, mm. Longer, and the moment between two places is no longer nearly straight; shorter only costs time.
const STEP_MM: f64 = 12.0;
