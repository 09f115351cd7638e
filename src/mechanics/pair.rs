//! How does a bow draw whose two limbs differ, or whose grip or nocking point lies off the middle?
//!
//! ```text
//!        upper nock ●                     frame of the side view: x from the back of the grip toward the archer,
//!                   ┆╲  T_u               y along the bow, toward the upper limb; the lower limb is reckoned in its
//!          limb    ┆  ╲  β_u              mirror image, with y toward its own nock
//!                 ┆    ╲
//!       pivot P ●┄┄┄┄┄┄┄┄● N ──► F        F lies on the line from P to N: the hand at P bears force and no moment
//!                 ┆    ╱
//!          limb    ┆  ╱  β_l
//!                   ┆╱  T_l
//!        lower nock ●
//! ```
//!
//! Each limb is bent by its own string half as in [`super::limb`]. Unknowns are both tensions and both nock angles, conditions
//!
//! ```text
//!   N from the upper limb = N from the lower limb          two
//!   |N − P| = d                                            the draw, from the pivot point
//!   (N − P) × F = 0,  F = T_u e_u + T_l e_l                balance of moments about the pivot
//! ```
//!
//! with `e` the directions of the string from the nocking point. At brace the string is straight, has one tension and stands at the brace
//! height square off the pivot: three unknowns and conditions. `∫ F dd` is the work, since F points along the draw.
//!
//! The nocking point is fixed on the string. Limits as for the symmetric bow; two equal limbs give its numbers, which is tested.
//!
//! Source: statics, derived here.

use super::bow::{Bow, Options, Unstrung};
use super::draw::{self, Energy, HalfString};
use super::limb::{Ends, Limb, LimbPass};
use super::overstrain;
use super::strain::{self, DrawState, LimbPlace, StationSection, Worst};
use super::strung::{self, Trouble};
use crate::diag::{Diagnostic, Outcome, Reported};
use crate::model::Build;
use crate::numeric::root;

/// What may differ between the limbs beyond their builds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PairOptions {
    /// For both limbs; its unstrung shape is the upper limb's, its string is braced.
    pub options: Options,
    pub lower_unstrung: Unstrung,
    /// The lower limb's [`Options::stiffness_factor`]; `None` for the upper one's.
    pub lower_stiffness: Option<f64>,
    /// The pivot point lies this far above the middle of the bow (station 0), mm.
    pub pivot_above_mm: f64,
    /// The nocking point lies this far above the foot of the pivot on the braced string, mm.
    pub nocking_above_mm: f64,
    /// Where the limbs' distances from the string are compared, mm; empty for the ends of the riser's fades alone.
    pub tiller_stations_mm: Vec<f64>,
}

impl PairOptions {
    /// Both limbs, each as it would be solved by itself; the upper one's string braces both.
    pub fn of(upper: &Options, lower: &Options) -> PairOptions {
        PairOptions {
            options: upper.clone(),
            lower_unstrung: lower.unstrung.clone(),
            lower_stiffness: Some(lower.stiffness_factor),
            ..PairOptions::default()
        }
    }

    /// How the lower limb is solved.
    pub fn of_lower(&self) -> Options {
        let stiffness_factor = self.lower_stiffness.unwrap_or(self.options.stiffness_factor);
        Options { unstrung: self.lower_unstrung.clone(), stiffness_factor, ..self.options.clone() }
    }
}

/// A bow of two limbs from brace to full draw.
#[derive(Debug, Clone, PartialEq)]
pub struct PairCurve {
    pub grip_depth_mm: f64,
    /// Nock to nock along the string, mm.
    pub string_mm: f64,
    /// From the upper nock to the nocking point along the string, mm.
    pub upper_string_mm: f64,
    pub points: Vec<PairPoint>,
    pub upper: PairSide,
    pub lower: PairSide,
    pub energy: Energy,
    /// Passes over one limb or the other, in all.
    pub passes: usize,
}

/// One limb of the pair.
#[derive(Debug, Clone, PartialEq)]
pub struct PairSide {
    pub stations: Vec<StationSection>,
    pub worst: Vec<Worst>,
}

/// The pair at one draw.
#[derive(Debug, Clone, PartialEq)]
pub struct PairPoint {
    /// As the builder states draw lengths, mm.
    pub draw_length_mm: f64,
    pub pivot_to_nock_mm: f64,
    /// Along the line from the pivot to the nocking point, N.
    pub force_n: f64,
    /// dF/dd, N/mm.
    pub force_slope_n_mm: f64,
    pub stored_n_mm: f64,
    /// Of that line against the square off the bow's axis, positive toward the upper limb, rad.
    pub pull_angle_rad: f64,
    pub upper: SidePoint,
    /// In its mirror image: y toward the lower nock.
    pub lower: SidePoint,
    /// Upper limb's distance from the string less the lower's, at each tiller station, mm.
    pub tiller: Vec<TillerGap>,
}

/// One limb at one draw.
#[derive(Debug, Clone, PartialEq)]
pub struct SidePoint {
    pub tension_n: f64,
    /// String against the bow's long axis, rad.
    pub string_angle_rad: f64,
    pub nock_angle_rad: f64,
    /// From the nock along the limb, as far as the string lies on it, mm; nothing where it is free.
    pub touched_mm: f64,
    /// In the order of its side's stations.
    pub places: Vec<LimbPlace>,
}

/// Distances from belly to string, square to the string, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TillerGap {
    pub s_mm: f64,
    pub upper_mm: f64,
    pub lower_mm: f64,
}

impl TillerGap {
    /// Positive where the upper limb stands farther from the string, mm.
    pub fn difference_mm(&self) -> f64 {
        self.upper_mm - self.lower_mm
    }
}

/// The whole curve of two half bows; each build describes its half and both have the same target.
pub fn curve(upper: &Build, lower: &Build, options: &PairOptions) -> Outcome<PairCurve> {
    solve(upper, lower, options).map_err(|fault| vec![fault])
}

/// Both limbs, with what turns their unknowns into the bow's.
pub(super) struct Pair<'a> {
    upper: &'a Limb,
    lower: &'a Limb,
    /// Pivot in the upper limb's frame; the lower's has y with the other sign.
    pivot: (f64, f64),
    scale: f64,
    /// What a grip that cannot turn bears beside the force, N·mm: nothing for a hand, or for a loose strap.
    moment: f64,
}

/// The pair at a draw: unknowns `T_u, α_u, T_l, α_l` and what follows from them.
#[derive(Debug, Clone, Copy)]
pub(super) struct PairState {
    pub(super) draw: f64,
    pub(super) unknowns: [f64; 4],
    pub(super) tangent: [f64; 4],
    pub(super) force: f64,
    force_slope: f64,
    nock: (f64, f64),
    upper: LimbPass,
    lower: LimbPass,
    work: f64,
}

fn solve(upper: &Build, lower: &Build, pair_options: &PairOptions) -> Result<Reported<PairCurve>, Diagnostic> {
    let upper_options = &pair_options.options;
    let lower_options = pair_options.of_lower();
    let (up, low) = (Bow::of(upper, upper_options)?, Bow::of(lower, &lower_options)?);
    let pair = Pair::of([&up.limb, &low.limb], (up.grip_depth_mm, pair_options.pivot_above_mm), 0.0);
    let sides = [strain::stations(&up, upper_options), strain::stations(&low, &lower_options)];
    let height = up.brace_height_mm(upper_options)?;
    let full = up.full_draw_mm(upper_options)?;
    let mut passes = 0;
    let refuse = |trouble| draw::fault(&up, upper_options, trouble);
    let (mut at, halves) = pair.brace(height, pair_options.nocking_above_mm, &mut passes).map_err(refuse)?;

    let stations = tiller_stations(upper, pair_options);
    let max = upper_options.draw_step_mm.min((full - at.draw) / draw::MIN_STEPS);
    let mut points = Vec::new();
    let mut energies = Vec::new();
    let from = up.grip_depth_mm + at.draw;
    for x in std::iter::once(from).chain(draw::draws(&up, upper_options, from, up.grip_depth_mm + full)) {
        at = pair.draw(halves, at, x - up.grip_depth_mm, max, &mut passes).map_err(refuse)?;
        let mut energy = 0.0;
        let mut side = |bow: &Bow<'_>, build: &Build, stations: &[StationSection], half: f64, pass: &LimbPass, t: f64, a: f64| {
            let trace = bow.limb.string_trace(t, a);
            energy += trace.energy_n_mm;
            let string_angle_rad = pass.end.psi - bow.limb.root.angle_rad;
            let places = strain::places(bow, stations, pass.end, string_angle_rad, &trace);
            let string = HalfString { length_mm: half, pivot_to_nock_mm: at.draw };
            draw::free_of_limb(build, string, stations, &places, &trace)?;
            let touched_mm = trace.contact.map_or(0.0, |contact| contact.length_mm);
            Ok::<_, Diagnostic>(SidePoint { tension_n: t, string_angle_rad, nock_angle_rad: a, touched_mm, places })
        };
        let [tu, au, tl, al] = at.unknowns;
        let upper_point = side(&up, upper, &sides[0], halves[0], &at.upper, tu, au)?;
        let lower_point = side(&low, lower, &sides[1], halves[1], &at.lower, tl, al)?;
        energies.push(energy);
        passes += 2;
        let tiller = stations
            .iter()
            .map(|s_mm| TillerGap {
                s_mm: *s_mm,
                upper_mm: strain::to_string_at(&sides[0], &upper_point.places, *s_mm),
                lower_mm: strain::to_string_at(&sides[1], &lower_point.places, *s_mm),
            })
            .collect();
        points.push(PairPoint {
            draw_length_mm: at.draw + up.stated_beyond_pivot_mm(),
            pivot_to_nock_mm: at.draw,
            force_n: at.force,
            force_slope_n_mm: at.force_slope,
            stored_n_mm: at.work,
            pull_angle_rad: (at.nock.1 - pair.pivot.1).atan2(at.nock.0 - pair.pivot.0),
            upper: upper_point,
            lower: lower_point,
            tiller,
        });
    }
    let energy =
        Energy { at_brace_n_mm: energies[0], work_n_mm: at.work, strain_n_mm: energies[energies.len() - 1] - energies[0] };
    draw::balanced(&energy)?;
    let (first, last) = (&points[0], &points[points.len() - 1]);
    let held = |braced: &SidePoint, drawn: &SidePoint| {
        [(DrawState::Brace, braced), (DrawState::FullDraw, drawn)].map(|(state, side)| strain::HeldState {
            state,
            tension_n: side.tension_n,
            nock_angle_rad: side.nock_angle_rad,
        })
    };
    let worst = [
        strain::worst(&up, upper_options, &sides[0], held(&first.upper, &last.upper)),
        strain::worst(&low, &lower_options, &sides[1], held(&first.lower, &last.lower)),
    ];
    let warnings = [upper, lower]
        .iter()
        .zip(&worst)
        .flat_map(|(build, worst)| worst.iter().filter_map(|worst| overstrain::warning(build, worst)))
        .collect();
    let [upper_side, lower_side] = sides;
    let [upper_worst, lower_worst] = worst;
    let value = PairCurve {
        grip_depth_mm: up.grip_depth_mm,
        string_mm: halves[0] + halves[1],
        upper_string_mm: halves[0],
        points,
        upper: PairSide { stations: upper_side, worst: upper_worst },
        lower: PairSide { stations: lower_side, worst: lower_worst },
        energy,
        passes,
    };
    Ok(Reported { value, warnings })
}

fn tiller_stations(upper: &Build, options: &PairOptions) -> Vec<f64> {
    if options.tiller_stations_mm.is_empty() {
        return upper.riser.iter().map(|riser| riser.feather_station_mm()).collect();
    }
    options.tiller_stations_mm.clone()
}

impl<'a> Pair<'a> {
    pub(super) fn of([upper, lower]: [&'a Limb; 2], pivot: (f64, f64), moment: f64) -> Pair<'a> {
        Pair { upper, lower, pivot, scale: 0.5 * (upper.buckling_n() + lower.buckling_n()), moment }
    }

    /// The braced pair, its draw counted from the pivot to the nocking point, and the lengths of both string halves.
    pub(super) fn brace(&self, height: f64, nocking_above: f64, passes: &mut usize) -> Result<(PairState, [f64; 2]), Trouble> {
        let string_x = self.pivot.0 + height;
        let guesses = [strung::brace(self.upper, string_x)?, strung::brace(self.lower, string_x)?];
        *passes += guesses[0].passes + guesses[1].passes;
        let tension = 0.5 * (guesses[0].tension_n + guesses[1].tension_n);
        self.braced([tension, guesses[0].nock_angle_rad, guesses[1].nock_angle_rad], height, nocking_above, passes)
    }

    /// The same from a guess of tension and both nock angles.
    pub(super) fn braced(
        &self,
        guess: [f64; 3],
        height: f64,
        nocking_above: f64,
        passes: &mut usize,
    ) -> Result<(PairState, [f64; 2]), Trouble> {
        let string_x = self.pivot.0 + height;
        let l = self.upper.length_mm.max(self.lower.length_mm);
        let mut last = None;
        let residuals = |v: &[f64; 3]| {
            let (up, low) = (self.upper.string_pass(v[0] * self.scale, v[1]), self.lower.string_pass(v[0] * self.scale, v[2]));
            last = Some((*v, up, low));
            let (u, du) = square_off(self.upper, &up, self.pivot);
            let (w, dw) = square_off(self.lower, &low, (self.pivot.0, -self.pivot.1));
            let angles = string_angle(self.upper, &up) + string_angle(self.lower, &low);
            (
                [angles, (u - height) / l, (w - height) / l],
                [
                    [(up.by_tension.psi + low.by_tension.psi) * self.scale, up.by_angle.psi, low.by_angle.psi],
                    [du[0] * self.scale / l, du[1] / l, 0.0],
                    [dw[0] * self.scale / l, 0.0, dw[1] / l],
                ],
            )
        };
        let start = [guess[0] / self.scale, guess[1], guess[2]];
        let solved = root::newton(residuals, start, strung::TOLERANCE, strung::MAX_NEWTON).map_err(|fault| {
            Trouble::NotFound { nock_x_mm: string_x, reached_x_mm: string_x, residual: fault.residual * l, passes: *passes }
        })?;
        *passes += 2 * solved.evaluations;
        let unknowns = [solved.x[0] * self.scale, solved.x[1], solved.x[0] * self.scale, solved.x[2]];
        let (upper, lower) = match last {
            Some((was, upper, lower)) => (
                strung::moved(upper, unknowns[0] - was[0] * self.scale, unknowns[1] - was[1]),
                strung::moved(lower, unknowns[2] - was[0] * self.scale, unknowns[3] - was[2]),
            ),
            None => (self.upper.string_pass(unknowns[0], unknowns[1]), self.lower.string_pass(unknowns[2], unknowns[3])),
        };
        let halves = [
            along(self.upper, &upper, self.pivot) - nocking_above,
            along(self.lower, &lower, (self.pivot.0, -self.pivot.1)) + nocking_above,
        ];
        let mut state = self.state(halves, unknowns, upper, lower);
        state.force = 0.0;
        Ok((state, halves))
    }

    /// Draws on to `draw` from the pivot, in steps no longer than `max`.
    pub(super) fn draw(
        &self,
        halves: [f64; 2],
        from: PairState,
        draw: f64,
        max: f64,
        passes: &mut usize,
    ) -> Result<PairState, Trouble> {
        let l = self.upper.length_mm.max(self.lower.length_mm);
        let mut at = from;
        let mut halvings = 0;
        let mut longest = max;
        for _ in 0..strung::MAX_STEPS {
            let left = draw - at.draw;
            if left <= 1e-9 * l {
                return Ok(at);
            }
            // As for the symmetric bow: short steps where the force curve bends most.
            let grown = strung::FIRST_FRACTION + strung::GROWTH * at.force / (at.force_slope * max);
            let step = longest * grown.clamp(strung::FIRST_FRACTION, 1.0);
            let target = if left <= 1.000_001 * step { draw } else { at.draw + step };
            let h = target - at.draw;
            let guess: [f64; 4] = std::array::from_fn(|i| at.unknowns[i] + h * at.tangent[i]);
            match self.held_at(halves, guess, target, passes) {
                Ok(mut next) => {
                    next.work = at.work + 0.5 * h * (at.force + next.force) + h * h / 12.0 * (at.force_slope - next.force_slope);
                    at = next;
                }
                _ if halvings < strung::MAX_HALVINGS => {
                    halvings += 1;
                    longest *= 0.5;
                }
                Err(residual) => {
                    let (nock_x_mm, reached_x_mm) = (self.pivot.0 + draw, self.pivot.0 + at.draw);
                    return Err(Trouble::NotFound { nock_x_mm, reached_x_mm, residual, passes: *passes });
                }
            }
        }
        let (nock_x_mm, reached_x_mm) = (self.pivot.0 + draw, self.pivot.0 + at.draw);
        Err(Trouble::NotFound { nock_x_mm, reached_x_mm, residual: f64::NAN, passes: *passes })
    }

    /// The pair held at `draw` from the pivot, from a guess near by; its work is left at nothing. Without a state near the guess the
    /// residual that was left, mm.
    pub(super) fn held_at(&self, halves: [f64; 2], guess: [f64; 4], draw: f64, passes: &mut usize) -> Result<PairState, f64> {
        let l = self.upper.length_mm.max(self.lower.length_mm);
        let start = [guess[0] / self.scale, guess[1], guess[2] / self.scale, guess[3]];
        let mut last = None;
        let solved = root::newton(
            |v| {
                let unknowns = [v[0] * self.scale, v[1], v[2] * self.scale, v[3]];
                let (upper, lower) =
                    (self.upper.string_pass(unknowns[0], unknowns[1]), self.lower.string_pass(unknowns[2], unknowns[3]));
                last = Some((unknowns, upper, lower));
                let (mut r, mut j, _) = self.conditions(halves, unknowns, &upper, &lower);
                r[2] -= draw;
                r[3] -= self.moment;
                for (row, unit) in [l, l, l, self.scale * l].into_iter().enumerate() {
                    r[row] /= unit;
                    j[row] = [j[row][0] * self.scale, j[row][1], j[row][2] * self.scale, j[row][3]].map(|v| v / unit);
                }
                (r, j)
            },
            start,
            strung::TOLERANCE,
            strung::MAX_NEWTON,
        );
        *passes += 2 * solved.as_ref().map_or_else(|fault| fault.evaluations, |solved| solved.evaluations);
        let near = |x: &[f64; 4]| [1, 3].iter().all(|i| (x[*i] - guess[*i]).abs() < 0.3) && 0.0 < x[0] && 0.0 < x[2];
        match (solved, last) {
            (Ok(solved), Some((was, upper, lower))) if near(&solved.x) => {
                let x = [solved.x[0] * self.scale, solved.x[1], solved.x[2] * self.scale, solved.x[3]];
                let upper = strung::moved(upper, x[0] - was[0], x[1] - was[1]);
                let lower = strung::moved(lower, x[2] - was[2], x[3] - was[3]);
                Ok(PairState { draw, ..self.state(halves, x, upper, lower) })
            }
            (other, _) => Err(l * other.map_or_else(|fault| fault.residual, |solved| solved.residual)),
        }
    }

    /// The four conditions with their Jacobian to `T_u, α_u, T_l, α_l` (the draw still to be taken off the third), and the force.
    #[allow(clippy::type_complexity)] // residuals, Jacobian, force and its derivatives: named where they are taken apart
    fn conditions(
        &self,
        halves: [f64; 2],
        unknowns: [f64; 4],
        upper: &LimbPass,
        lower: &LimbPass,
    ) -> ([f64; 4], [[f64; 4]; 4], ([f64; 2], [[f64; 4]; 2])) {
        let (nu, nu_t, nu_a) = strung::nocking_point(&self.upper.root, halves[0], upper);
        let (nl, nl_t, nl_a) = strung::nocking_point(&self.lower.root, halves[1], lower);
        let [tu, _, tl, _] = unknowns;
        let (su, cu) = string_angle(self.upper, upper).sin_cos();
        let (sl, cl) = string_angle(self.lower, lower).sin_cos();
        let force = [tu * su + tl * sl, -tu * cu + tl * cl];
        let force_by = [
            [
                su + tu * cu * upper.by_tension.psi,
                tu * cu * upper.by_angle.psi,
                sl + tl * cl * lower.by_tension.psi,
                tl * cl * lower.by_angle.psi,
            ],
            [
                -cu + tu * su * upper.by_tension.psi,
                tu * su * upper.by_angle.psi,
                cl - tl * sl * lower.by_tension.psi,
                -tl * sl * lower.by_angle.psi,
            ],
        ];
        // The arm from the pivot, taken from the upper limb's nocking point.
        let arm = [nu[0] - self.pivot.0, nu[1] - self.pivot.1];
        let draw = arm[0].hypot(arm[1]);
        let arm_by = [[nu_t[0], nu_a[0], 0.0, 0.0], [nu_t[1], nu_a[1], 0.0, 0.0]];
        let residuals = [nu[0] - nl[0], nu[1] + nl[1], draw, arm[0] * force[1] - arm[1] * force[0]];
        let jacobian = [
            [nu_t[0], nu_a[0], -nl_t[0], -nl_a[0]],
            [nu_t[1], nu_a[1], nl_t[1], nl_a[1]],
            std::array::from_fn(|i| (arm[0] * arm_by[0][i] + arm[1] * arm_by[1][i]) / draw),
            std::array::from_fn(|i| {
                arm_by[0][i] * force[1] + arm[0] * force_by[1][i] - arm_by[1][i] * force[0] - arm[1] * force_by[0][i]
            }),
        ];
        (residuals, jacobian, (force, force_by))
    }

    fn state(&self, halves: [f64; 2], unknowns: [f64; 4], upper: LimbPass, lower: LimbPass) -> PairState {
        let (residuals, jacobian, (force, force_by)) = self.conditions(halves, unknowns, &upper, &lower);
        let (nock, _, _) = strung::nocking_point(&self.upper.root, halves[0], &upper);
        let draw = residuals[2];
        let tangent = root::solve(jacobian, [0.0, 0.0, 1.0, 0.0]).unwrap_or([0.0; 4]);
        let toward = [(nock[0] - self.pivot.0) / draw, (nock[1] - self.pivot.1) / draw];
        let along = |v: [f64; 2]| v[0] * toward[0] + v[1] * toward[1];
        let change: [f64; 2] = force_by.map(|row| row.iter().zip(&tangent).map(|(a, b)| a * b).sum());
        PairState {
            draw,
            unknowns,
            tangent,
            force: along(force),
            force_slope: along(change),
            nock: (nock[0], nock[1]),
            upper,
            lower,
            work: 0.0,
        }
    }
}

fn string_angle(limb: &Limb, pass: &LimbPass) -> f64 {
    pass.end.psi - limb.root.angle_rad
}

/// Distance of a point in the bow's frame from the string's line, positive on the bow's side, and its derivatives to `T` and `α`.
fn square_off(limb: &Limb, pass: &LimbPass, point: (f64, f64)) -> (f64, [f64; 2]) {
    let (sin, cos) = string_angle(limb, pass).sin_cos();
    let (dx, dy) = (point.0 - limb.root.x_mm, point.1 - limb.root.y_mm);
    let turn = dx * sin - dy * cos;
    let change = |by: Ends| by.p + turn * by.psi;
    (pass.end.p - dx * cos - dy * sin, [change(pass.by_tension), change(pass.by_angle)])
}

/// Distance of the same point from the nock along the string, mm.
fn along(limb: &Limb, pass: &LimbPass, point: (f64, f64)) -> f64 {
    let (sin, cos) = string_angle(limb, pass).sin_cos();
    pass.end.q + (point.0 - limb.root.x_mm) * sin - (point.1 - limb.root.y_mm) * cos
}
