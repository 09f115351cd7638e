//! How does a symmetric bow stand at brace, and what force holds it at a draw?
//!
//! One limb of [`Limb`] and half a string of fixed length. Two unknowns, the tension `T` and the nock's angle `α`, meet two conditions:
//!
//! ```text
//!   at brace    β = 0                      the string is straight and parallel to the bow's axis
//!               x_tip = x_string           and stands at the brace height; then S = y_tip
//!   drawn       N_x = d,  N_y = 0          N = tip + S (sin β, −cos β), the nocking point
//!               F = 2 T sin β              both halves of the string
//! ```
//!
//! Newton's method with the exact Jacobian of a pass, continued from brace along the draw with the tangent as a guess. The same
//! tangent gives the slope `dF/dd` of the force curve, and with it the work `∫ F dd` by the trapezoid with end corrections,
//! `h (F0 + F1)/2 + h² (F0' − F1')/12`, of fourth order (Euler–Maclaurin).
//!
//! A string that lies on a recurved limb meets the same two conditions with `α` less than nothing ([`super::contact`]): `N` counts the string on the limb too.
//!
//! Where brace does not come at once, `α` is scanned: for each the least tension that brings the root to its angle is
//! bracketed, and the string's place follows. That branch is the one on which the limb bends one way.
//!
//! Source: derived here; tests against bows solved independently in `tests/reference.rs`.

use super::limb::{Ends, Limb, LimbPass, LimbRoot};
use crate::numeric::interp::{self, Knot};
use crate::numeric::root::{self, NewtonRoot};

/// The bow at one draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strung {
    /// Of the nocking point, in the frame of the limb's root, mm.
    pub nock_x_mm: f64,
    pub tension_n: f64,
    /// α, limb at the nock against the free run of the string, rad; less than nothing where the string lies on the limb, which turns it by that much.
    pub nock_angle_rad: f64,
    /// β, string against the bow's long axis, rad
    pub string_angle_rad: f64,
    /// On the nocking point, N
    pub force_n: f64,
    /// dF/dd, N/mm
    pub force_slope_n_mm: f64,
    /// ∫ F dd since the string took the load, N·mm
    pub work_n_mm: f64,
    /// Where the root lies in the string's frame.
    pub end: Ends,
    /// Passes over the limb since the string took the load.
    pub passes: usize,
    /// Where the string took the load: at brace, or where a long string went straight, mm.
    pub from_x_mm: f64,
    /// dT/dd and dα/dd
    tangent: [f64; 2],
    /// The states before it on the way, the last first: with two of them the next one is guessed to sixth order.
    before: [Option<Knot<2>>; 2],
}

impl Strung {
    /// Tension and nock angle over the nocking point's place.
    fn knot(&self) -> Knot<2> {
        Knot { x: self.nock_x_mm, y: [self.tension_n, self.nock_angle_rad], slope: self.tangent }
    }
}

/// Why the bow could not be strung or drawn; lengths in the frame of the limb's root.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Trouble {
    /// The unbent limb's tip already stands at or beyond the string.
    Slack { tip_x_mm: f64, string_x_mm: f64 },
    /// Of the braced shapes that exist, none puts the string there.
    NoBrace { string_x_mm: f64, min_x_mm: f64, max_x_mm: f64, passes: usize },
    /// The search ended without an answer.
    NotFound { nock_x_mm: f64, reached_x_mm: f64, residual: f64, passes: usize },
}

/// Error over the limb's length, and in radians, to which states are solved. Less meets rounding (1e-16 over a hundred stages), more
/// shows in the slope of the force.
pub(super) const TOLERANCE: f64 = 1e-11;
/// Evaluations for one Newton solution: a good guess takes 3, a scan's hand-over 6.
pub(super) const MAX_NEWTON: usize = 30;
/// How often a step along the draw may be halved, and how many steps a draw may take in all.
pub(super) const MAX_HALVINGS: usize = 10;
pub(super) const MAX_STEPS: usize = 4000;

/// The first step from brace as a share of the longest, and how fast steps grow. With longer ones the work of the string is
/// off by parts in a million where the brace height is low; shorter ones only cost passes.
pub(super) const FIRST_FRACTION: f64 = 0.125;
pub(super) const GROWTH: f64 = 0.33;

/// The braced bow whose string stands at `string_x_mm` in the root's frame.
///
/// A string that is free of the limb comes first; where there is none, one that lies on it.
pub fn brace(limb: &Limb, string_x_mm: f64) -> Result<Strung, Trouble> {
    let free = limb.pass(0.0, 0.0);
    // Against a string along the bow's axis the unbent nock stands at this angle, and the string that touches it at this place.
    let free_angle = limb.root.angle_rad - free.end.psi;
    let free_x = |pass: LimbPassFn| limb.root.x_mm + pass(limb, 0.0, free_angle).end.p;
    let mut search =
        BraceSearch { limb, string_x_mm, free_angle, passes: 2, min_x_mm: f64::INFINITY, max_x_mm: f64::NEG_INFINITY };
    let clear = |free_x: f64| 1e-9 * limb.length_mm < string_x_mm - free_x;
    let slack = |tip_x_mm: f64| Trouble::Slack { tip_x_mm, string_x_mm };
    let free_run = clear(free_x(Limb::pass));
    let free_from = free_angle.max(0.0);
    let mut found = None;
    if free_run {
        found = search.guessed(Limb::pass, free_x(Limb::pass), free_from);
    } else if 0.0 <= free_angle {
        return Err(slack(free_x(Limb::pass)));
    }
    // The unbent limb's tips point away from the string: it lies on them where it hangs slack.
    let touching_x = (free_angle < 0.0).then(|| free_x(Limb::string_pass));
    if let (None, Some(touching_x)) = (found, touching_x) {
        if !free_run && !clear(touching_x) {
            return Err(slack(touching_x));
        }
        // Where it is free of them after all, the scan below finds it as it finds every free one.
        found = search.guessed(Limb::string_pass, touching_x, free_angle).filter(|found| found[1] < 0.0);
    }
    if found.is_none() && free_run {
        found = search.scanned(Limb::pass, free_from);
    }
    if found.is_none() && touching_x.is_some_and(clear) {
        found = search.scanned(Limb::string_pass, free_angle);
    }
    let BraceSearch { passes, min_x_mm, max_x_mm, .. } = search;
    let [tension, angle] = found.ok_or(Trouble::NoBrace { string_x_mm, min_x_mm, max_x_mm, passes })?;
    let unknowns = [tension * limb.buckling_n(), angle];
    Ok(at_brace(limb, &limb.string_pass(unknowns[0], unknowns[1]), unknowns, passes + 1))
}

/// [`Limb::pass`] or [`Limb::string_pass`].
type LimbPassFn = fn(&Limb, f64, f64) -> LimbPass;

/// The search for a braced shape, and what it has met.
struct BraceSearch<'a> {
    limb: &'a Limb,
    string_x_mm: f64,
    free_angle: f64,
    passes: usize,
    min_x_mm: f64,
    max_x_mm: f64,
}

impl BraceSearch<'_> {
    /// Tension over the limb's buckling load, and nock angle, from a guess; of shapes with an angle over `from`.
    fn guessed(&mut self, pass: LimbPassFn, free_x: f64, from: f64) -> Option<[f64; 2]> {
        let travel = self.string_x_mm - free_x;
        let bent = self.free_angle + std::f64::consts::FRAC_PI_2 * travel / self.limb.length_mm;
        let angle = bent.max(from.min(0.0) + 0.05);
        let scale = self.limb.buckling_n();
        let tension = tension_for(self.limb, angle, scale, pass)?;
        self.solved(pass, from, [tension / scale, angle])
    }

    /// The same by a scan of the nock's angle; the string's place grows with it along the branch.
    fn scanned(&mut self, pass: LimbPassFn, from: f64) -> Option<[f64; 2]> {
        let (limb, string_x_mm, scale) = (self.limb, self.string_x_mm, self.limb.buckling_n());
        let mut before: Option<(f64, f64, f64)> = None;
        for k in 0..SCAN {
            let angle = from + 1e-3 + 2.6 * (f64::from(k) / f64::from(SCAN)).powi(2);
            let Some(tension) = tension_for(limb, angle, scale, pass) else { continue };
            let x = limb.root.x_mm + pass(limb, tension, angle).end.p;
            (self.min_x_mm, self.max_x_mm) = (self.min_x_mm.min(x), self.max_x_mm.max(x));
            if let Some((angle0, tension0, x0)) = before
                && (x0 - string_x_mm) * (x - string_x_mm) <= 0.0
            {
                let fraction = ((string_x_mm - x0) / (x - x0)).clamp(0.0, 1.0);
                let start = [(tension0 + fraction * (tension - tension0)) / scale, angle0 + fraction * (angle - angle0)];
                if let Some(found) = self.solved(pass, from, start) {
                    return Some(found);
                }
            }
            before = Some((angle, tension, x));
        }
        None
    }

    fn solved(&mut self, pass: LimbPassFn, from: f64, start: [f64; 2]) -> Option<[f64; 2]> {
        let (limb, scale) = (self.limb, self.limb.buckling_n());
        let solved = {
            let missed = |v: &[f64; 2]| off_brace(limb, self.string_x_mm, scale, &pass(limb, v[0] * scale, v[1]));
            root::newton(missed, start, TOLERANCE, MAX_NEWTON)
        };
        self.passes += solved.as_ref().map_or_else(|fault| fault.evaluations, |solved| solved.evaluations);
        let sound = |x: &[f64; 2]| 0.0 < x[0] && from.min(0.0) <= x[1] && bends_one_way(limb, x[0] * scale, x[1]);
        solved.ok().filter(|solved| sound(&solved.x)).map(|solved| solved.x)
    }
}

/// Places tried by the scan of nock angles. Fewer may step over both ends of a short branch, more only costs time on builds
/// that cannot be braced.
const SCAN: u32 = 40;

/// The braced bow from a guess of tension (N) and nock angle near it; `None` where that leads nowhere.
pub(super) fn brace_near(limb: &Limb, string_x_mm: f64, [tension_n, angle_rad]: [f64; 2]) -> Option<Strung> {
    let scale = limb.buckling_n();
    let (solved, pass) = near(limb, [tension_n, angle_rad], |pass| off_brace(limb, string_x_mm, scale, pass))?;
    let near = (solved.x[1] - angle_rad).abs() < 0.1 && 0.0 < solved.x[0];
    near.then(|| at_brace(limb, &pass, [solved.x[0] * scale, solved.x[1]], solved.evaluations))
}

/// What a braced bow has to meet, over tension in `scale` and nock angle: the root's angle, and the string's place.
fn off_brace(limb: &Limb, string_x_mm: f64, scale: f64, pass: &LimbPass) -> ([f64; 2], [[f64; 2]; 2]) {
    let (to_t, to_a, l) = (pass.by_tension, pass.by_angle, limb.length_mm);
    (
        [pass.end.psi - limb.root.angle_rad, (limb.root.x_mm + pass.end.p - string_x_mm) / l],
        [[to_t.psi * scale, to_a.psi], [to_t.p * scale / l, to_a.p / l]],
    )
}

fn at_brace(limb: &Limb, pass: &LimbPass, unknowns: [f64; 2], passes: usize) -> Strung {
    let half = limb.in_bow_frame(pass.end, 0.0, 0.0).y;
    // Straight along the axis is what it was solved for; the last rounding would show as a force of minus nought.
    Strung { string_angle_rad: 0.0, force_n: 0.0, ..state(limb, half, pass, unknowns, passes) }
}

/// The unbent bow with a string of half length `half_mm`, longer than the limb needs: the place where it takes the load.
pub fn slack(limb: &Limb, half_mm: f64) -> Result<Strung, Trouble> {
    let free_angle = limb.root.angle_rad - limb.pass(0.0, 0.0).end.psi;
    let tip = {
        let pass = limb.pass(0.0, free_angle);
        limb.in_bow_frame(pass.end, 0.0, 0.0)
    };
    if half_mm <= tip.y {
        return Err(Trouble::Slack { tip_x_mm: tip.x, string_x_mm: tip.x });
    }
    let mut string_angle = (tip.y / half_mm).clamp(-1.0, 1.0).acos();
    if free_angle + string_angle < 0.0 {
        // It lies on the unbent limb: the nocking point stands on the bow's axis where it is square to it.
        let off_axis = |angle: f64| nocking_point(&limb.root, half_mm, &limb.string_pass(0.0, free_angle + angle)).0[1];
        string_angle = root::bracketed(off_axis, 0.0, std::f64::consts::FRAC_PI_2, 1e-13, 100)
            .map_err(|_| Trouble::Slack { tip_x_mm: tip.x, string_x_mm: tip.x })?
            .x;
    }
    let nock_angle = free_angle + string_angle;
    let pass = limb.string_pass(0.0, nock_angle);
    Ok(state(limb, half_mm, &pass, [0.0, nock_angle], 3))
}

/// Draws on from `from` to the nocking point at `nock_x_mm`, in steps no longer than `max_mm`, short at first so that the work of
/// the string is exact to its order.
pub fn draw(limb: &Limb, half_mm: f64, from: &Strung, nock_x_mm: f64, max_mm: f64) -> Result<Strung, Trouble> {
    advance(limb, half_mm, from, nock_x_mm, DrawSteps::Graded { max_mm })
}

/// The same in few long steps: the state at `nock_x_mm` is as exact, its work is not.
pub fn reach(limb: &Limb, half_mm: f64, from: &Strung, nock_x_mm: f64) -> Result<Strung, Trouble> {
    advance(limb, half_mm, from, nock_x_mm, DrawSteps::Long)
}

/// The same from a guess of tension (N) and nock angle there; `None` where that leads nowhere.
pub fn reach_near(limb: &Limb, half_mm: f64, from: &Strung, nock_x_mm: f64, [tension_n, angle_rad]: [f64; 2]) -> Option<Strung> {
    let (scale, l) = (limb.buckling_n(), limb.length_mm);
    let (solved, pass) = near(limb, [tension_n, angle_rad], |pass| drawn(limb, half_mm, nock_x_mm, scale, pass))?;
    let unknowns = [solved.x[0] * scale, solved.x[1]];
    let found = state(limb, half_mm, &pass, unknowns, from.passes + solved.evaluations);
    ((solved.x[1] - angle_rad).abs() < 0.1 && 0.0 < solved.x[0] && (found.nock_x_mm - nock_x_mm).abs() < 1e-6 * l)
        .then_some(found)
}

/// Tension over the limb's buckling load and nock angle that leave nothing of `misses`, from a guess of tension (N) and angle near them, and the
/// pass with them; `None` where that leads nowhere.
fn near(
    limb: &Limb,
    [tension_n, angle_rad]: [f64; 2],
    misses: impl Fn(&LimbPass) -> ([f64; 2], [[f64; 2]; 2]),
) -> Option<(NewtonRoot<2>, LimbPass)> {
    let scale = limb.buckling_n();
    let mut last = None;
    let missed = |v: &[f64; 2]| {
        let pass = limb.string_pass(v[0] * scale, v[1]);
        last = Some((*v, pass));
        misses(&pass)
    };
    let solved = root::newton(missed, [tension_n / scale, angle_rad], TOLERANCE, MAX_NEWTON).ok()?;
    let (was, pass) = last?;
    let pass = moved(pass, (solved.x[0] - was[0]) * scale, solved.x[1] - was[1]);
    Some((solved, pass))
}

/// What a drawn bow has to meet: the nocking point stands at its place, on the bow's axis.
fn drawn(limb: &Limb, half_mm: f64, nock_x_mm: f64, scale: f64, pass: &LimbPass) -> ([f64; 2], [[f64; 2]; 2]) {
    let l = limb.length_mm;
    let (place, by_tension, by_angle) = nocking_point(&limb.root, half_mm, pass);
    (
        [(place[0] - nock_x_mm) / l, place[1] / l],
        [[by_tension[0] * scale / l, by_angle[0] / l], [by_tension[1] * scale / l, by_angle[1] / l]],
    )
}

/// How a draw is walked.
#[derive(Debug, Clone, Copy, PartialEq)]
enum DrawSteps {
    /// Short at first, so that the work is exact.
    Graded {
        max_mm: f64,
    },
    Long,
}

fn advance(limb: &Limb, half_mm: f64, from: &Strung, nock_x_mm: f64, steps: DrawSteps) -> Result<Strung, Trouble> {
    let scale = limb.buckling_n();
    let l = limb.length_mm;
    let mut at = *from;
    let mut halvings = 0;
    let whole = nock_x_mm - from.nock_x_mm;
    let max_mm = match steps {
        DrawSteps::Graded { max_mm } => max_mm,
        // A third of the draw is about as far as the tangent leads; steps that fail are halved.
        DrawSteps::Long => whole.abs() / 3.0,
    };
    let mut longest = whole / (whole.abs() / max_mm - 1e-9).ceil().max(1.0);
    for _ in 0..MAX_STEPS {
        let left = nock_x_mm - at.nock_x_mm;
        if left.abs() <= 1e-9 * l {
            return Ok(at);
        }
        // The force curve bends most where the string has just left brace: steps start short there and grow.
        let grown = FIRST_FRACTION + GROWTH * (at.nock_x_mm - at.from_x_mm).abs() / max_mm;
        let step = if steps == DrawSteps::Long { longest } else { longest * grown.min(1.0) };
        // The last step lands on the place asked for, rounding or not.
        let target = if left.abs() <= 1.000_001 * step.abs() { nock_x_mm } else { at.nock_x_mm + step };
        let h = target - at.nock_x_mm;
        let guess = interp::ahead(at.knot(), at.before, at.nock_x_mm + h);
        let guess = [guess[0] / scale, guess[1]];
        let mut last = None;
        let residuals = |v: &[f64; 2]| {
            let pass = limb.string_pass(v[0] * scale, v[1]);
            last = Some((*v, pass));
            drawn(limb, half_mm, target, scale, &pass)
        };
        let solved = root::newton(residuals, guess, TOLERANCE, MAX_NEWTON);
        let used = solved.as_ref().map_or_else(|fault| fault.evaluations, |solved| solved.evaluations);
        at.passes += used;
        // A step that lands far from its guess has left the branch.
        let near = |x: &[f64; 2]| (x[1] - guess[1]).abs() < 0.3 && 0.0 < x[0];
        match solved {
            Ok(solved) if near(&solved.x) => {
                let unknowns = [solved.x[0] * scale, solved.x[1]];
                let pass = match last {
                    Some((v, pass)) => moved(pass, unknowns[0] - v[0] * scale, unknowns[1] - v[1]),
                    None => limb.string_pass(unknowns[0], unknowns[1]),
                };
                let mut next = state(limb, half_mm, &pass, unknowns, at.passes);
                next.work_n_mm = at.work_n_mm
                    + 0.5 * h * (at.force_n + next.force_n)
                    + h * h / 12.0 * (at.force_slope_n_mm - next.force_slope_n_mm);
                next.nock_x_mm = target;
                next.before = [Some(at.knot()), at.before[0]];
                next.from_x_mm = at.from_x_mm;
                at = next;
            }
            _ if halvings < MAX_HALVINGS => {
                halvings += 1;
                longest *= 0.5;
            }
            other => {
                let residual = other.map_or_else(|fault| fault.residual, |solved| solved.residual) * l;
                return Err(Trouble::NotFound { nock_x_mm, reached_x_mm: at.nock_x_mm, residual, passes: at.passes });
            }
        }
    }
    Err(Trouble::NotFound { nock_x_mm, reached_x_mm: at.nock_x_mm, residual: f64::NAN, passes: at.passes })
}

/// The nocking point in the root's frame, mm, and its derivatives to tension and nock angle.
pub(super) fn nocking_point(root: &LimbRoot, half_mm: f64, pass: &LimbPass) -> ([f64; 2], [f64; 2], [f64; 2]) {
    let (sin, cos) = (pass.end.psi - root.angle_rad).sin_cos();
    let (along, across) = (half_mm - pass.end.q, pass.end.p);
    let (dx, dy) = (along * sin + across * cos, -along * cos + across * sin);
    // Turning the string by δβ moves the point by (−dy, dx) δβ.
    let change = |by: Ends| [-by.q * sin + by.p * cos - dy * by.psi, by.q * cos + by.p * sin + dx * by.psi];
    ([root.x_mm + dx, root.y_mm + dy], change(pass.by_tension), change(pass.by_angle))
}

fn state(limb: &Limb, half_mm: f64, pass: &LimbPass, [tension_n, nock_angle_rad]: [f64; 2], passes: usize) -> Strung {
    let ([nock_x_mm, _], by_tension, by_angle) = nocking_point(&limb.root, half_mm, pass);
    let string_angle_rad = pass.end.psi - limb.root.angle_rad;
    let (sin, cos) = string_angle_rad.sin_cos();
    // J · (dT/dd, dα/dd) = (1, 0)
    let tangent = root::solve([[by_tension[0], by_angle[0]], [by_tension[1], by_angle[1]]], [1.0, 0.0]).unwrap_or([0.0; 2]);
    let turn = pass.by_tension.psi * tangent[0] + pass.by_angle.psi * tangent[1];
    Strung {
        nock_x_mm,
        tension_n,
        nock_angle_rad,
        string_angle_rad,
        force_n: 2.0 * tension_n * sin,
        force_slope_n_mm: 2.0 * (tangent[0] * sin + tension_n * cos * turn),
        work_n_mm: 0.0,
        end: pass.end,
        passes,
        from_x_mm: nock_x_mm,
        tangent,
        before: [None; 2],
    }
}

/// A pass brought from where it was evaluated to Newton's last step beyond: that step is so short that its square is rounding.
pub(super) fn moved(pass: LimbPass, by_tension: f64, by_angle: f64) -> LimbPass {
    let (t, a) = (pass.by_tension, pass.by_angle);
    let end = Ends {
        q: pass.end.q + t.q * by_tension + a.q * by_angle,
        p: pass.end.p + t.p * by_tension + a.p * by_angle,
        psi: pass.end.psi + t.psi * by_tension + a.psi * by_angle,
    };
    LimbPass { end, ..pass }
}

/// Least tension under which the root comes to its angle with the nock at `angle` to a string along the bow's axis.
fn tension_for(limb: &Limb, angle: f64, scale: f64, pass: LimbPassFn) -> Option<f64> {
    let miss = |tension: f64| pass(limb, tension, angle).end.psi - limb.root.angle_rad;
    let mut low = 0.0;
    let mut high = 0.4 * scale;
    if miss(low) <= 0.0 {
        return None;
    }
    // Forty steps of 1.35 reach five orders beyond buckling, where no limb of wood bends one way.
    for _ in 0..40 {
        if miss(high) <= 0.0 {
            return root::bracketed(miss, low, high, 1e-6 * scale, 60).ok().map(|root| root.x);
        }
        low = high;
        high *= 1.35;
    }
    None
}

/// From the nock to the root the limb leaves the string's line to one side and stays there: the first of its bent shapes.
fn bends_one_way(limb: &Limb, tension_n: f64, angle_rad: f64) -> bool {
    let trivial = 1e-6 * limb.length_mm;
    let trace = limb.string_trace(tension_n, angle_rad);
    let free_run = trace.at.iter().rev().filter(|bent| trace.contact.is_none_or(|contact| bent.s_mm <= contact.lift_off_mm));
    let mut from_nock = free_run.skip_while(|bent| bent.p_mm <= trivial);
    from_nock.all(|bent| -trivial <= bent.p_mm)
}
