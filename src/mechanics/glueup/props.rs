//! The wet pile bent free over props.
//!
//! The slipping pile is held at the grip and pushed, square to the bench, at the props. It is the elastic line of
//! `Σ EI_j` with the free curvature `Σ EI_j κ_j / Σ EI_j` and the moment `P (y_prop − y)`, solved exactly (large slopes) as a
//! limb whose string runs square to the bow ([`Limb`]). Beyond the props the pile keeps its free shape. A riser in the pile
//! is clamped down on something straight from feather to feather, or the laminations would not lie on its fades: there the
//! pile is level, and it bends from the feather on.

use super::super::limb::{Beam, Limb, LimbRoot, LimbSpan};
use super::hold::{Hold, LinePoint, line};
use super::pile::Pile;
use crate::diag::{Diagnostic, Place, mm};
use crate::numeric::ode;
use crate::numeric::piecewise::Piecewise;
use crate::numeric::root;
use std::f64::consts::FRAC_PI_2;

/// The pile of a stage held level up to one station and free to bend from there to the props.
pub(super) struct Propped {
    limb: Limb,
    level_mm: f64,
    at_mm: f64,
    /// Where its free shape ends.
    free: LinePoint,
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
            let message = message!("the props at station {} stand under the riser, which ends at {}", mm(at_mm), mm(level_mm));
            return Err(Diagnostic::fault(place.clone(), message).hint("put them under the tips"));
        }
        let corners = pile.corners(n);
        let mesh = ode::mesh(level_mm, at_mm, &corners, STEP_MM);
        let (mut rise_per_n, mut turn_per_n) = (0.0, 0.0);
        for pair in mesh.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            let stiffness_n_mm2 = slipping(middle, middle).stiffness_n_mm2;
            if stiffness_n_mm2 <= 0.0 {
                let message = message!("nothing that is glued in this stage or before lies at station {}", mm(pair[0]));
                return Err(Diagnostic::fault(place.clone(), message)
                    .hint("what is bent over props must reach from the grip to the props without a gap"));
            }
            let (arm, compliance) = (at_mm - middle, (pair[1] - pair[0]) / stiffness_n_mm2);
            rise_per_n += compliance * arm * arm;
            turn_per_n += compliance * arm;
        }
        let free = line(&mesh, |inside, s| slipping(inside, s).free_per_mm());
        let free = free[free.len() - 1];
        let span = LimbSpan { from_mm: level_mm, to_mm: at_mm, corners_mm: &corners, max_step_mm: STEP_MM };
        let root = LimbRoot { x_mm: 0.0, y_mm: 0.0, angle_rad: 0.0 };
        let limb = Limb::lay(root, span, |inside, s| {
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
            let message = message!(
                "no shape bent free rises by {} at station {} (residual {} after {} tries)",
                mm(rise_mm),
                mm(at_mm),
                format_args!("{:.1e}", fault.residual),
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
        Ok(Hold::Props { level_mm, at_mm, load_n, moment_n_mm: Piecewise::hermite(&moments) })
    }
}

/// Longest step along the pile, mm. Longer, and the moment between two places is no longer nearly straight; shorter only costs time.
const STEP_MM: f64 = 12.0;
