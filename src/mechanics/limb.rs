//! How does a limb bend under the pull of the string?
//!
//! # Frame and signs
//!
//! A planar limb that keeps its length and bends by Euler and Bernoulli's law through any angle. It is walked in the **frame
//! of the string**, from the nock to the root:
//!
//! ```text
//!        root ●───────╮                 archer below, back of the bow above
//!           ψ_r │      ╲  limb
//!             p │       ╲               q  along the string, from the nock toward the nocking point
//!               │    α   ╲              p  from the string's line to the limb, positive on the bow's side
//!   ● ─ ─ ─ ─ ─ ┴ ─ ─ ─ ─ ● nock        ψ  angle of the limb against the string, α at the nock
//!   nocking point  ◄ T  q   string      u  along the limb from the nock, u = L − s
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s`, `u` | station from the bow's centre, distance from the nock | mm |
//! | `T` | tension of the string | N |
//! | `κ0`, `κ` | curvature unstrung and now, positive toward the belly | 1/mm |
//! | `c` | compliance 1/EI | 1/(N·mm²) |
//! | `z̄` | depth of the neutral axis below the back | mm |
//! | `θ`, `φ0` | angle of limb and of its root from the bow's long axis (+y) toward the archer (+x) | rad |
//! | `β` | angle of the string to the bow's long axis, positive when drawn | rad |
//!
//! # Derivation
//!
//! Cut the limb at `u`: only the string pulls on the outer piece, so the moment there is `M = T p`, whatever the shape. With the
//! unit vector along the limb toward the root at angle `ψ` to the string, and the neutral axis shifting by `dz̄/du` across it,
//!
//! ```text
//!   dψ/du = −(κ0 + c T p)
//!   dq/du = cos ψ + (dz̄/du) sin ψ
//!   dp/du = sin ψ − (dz̄/du) cos ψ            from u = 0: q = p = 0, ψ = α
//! ```
//!
//! `T` and `α` alone start it, and one pass ends at the root with `q_r`, `p_r`, `ψ_r`: no shooting. The root's true angle `φ0` then
//! turns the picture into the bow's frame (`θ = ψ − β`): `β = ψ_r − φ0`. Turning about the neutral axis of each section makes `T p` the moment
//! that belongs to `κ`: work and strain energy agree.
//!
//! What is walked is the line of the **back**, `Q = q − z̄ sin ψ`, `P = p + z̄ cos ψ`, in which `dz̄/du` falls out and which runs on where
//! lamination ends make `z̄` jump:
//!
//! ```text
//!   dψ/du = −(κ0 + c T (P − z̄ cos ψ))
//!   dQ/du = (1 − z̄ dψ/du) cos ψ
//!   dP/du = (1 − z̄ dψ/du) sin ψ
//! ```
//!
//! Derivatives to `T` and `α` are carried along (the equations above, differentiated), which makes Newton's Jacobian exact.
//!
//! # Order and tests
//!
//! Steps of order six ([`ode`]) that end at every corner of stiffness, neutral axis and unstrung curvature; within a step `sin ψ` and `cos ψ` are
//! walked with the rest, `d sin ψ/du = cos ψ dψ/du` and `d cos ψ/du = −sin ψ dψ/du`, from what they are at its start. In `tests/reference.rs`: `elastica_*` against elliptic integrals (Bisshopp and Drucker 1945,
//! and computed ones), `order_of_convergence` (measured order over step counts), `bows_*` (whole bows solved independently).
//!
//! Left out: shear, stretch of the neutral axis and weight of the limb. The string pulls at the neutral axis of the nock, or
//! [`Limb::string_offset_mm`] below it. Where it lies on a recurved limb: [`super::contact`].
//!
//! Source: the elastica, L. Euler 1744; the walk from the nock in the string's frame is derived here.

use crate::geometry::Point;
use crate::numeric::ode::{self, NODES, Slope};

/// The limb's end at the riser, or at the bow's centre: place and angle of its neutral axis in the bow's side frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbRoot {
    /// From the origin toward the archer, mm.
    pub x_mm: f64,
    /// Along the bow from its centre, mm.
    pub y_mm: f64,
    /// Of the unbent limb's axis from +y toward +x, rad.
    pub angle_rad: f64,
}

impl LimbRoot {
    /// From the string's frame into the bow's, mm, when the root of a pass lies at `end`.
    pub(super) fn frame(self, end: Ends) -> impl Fn(f64, f64) -> Point {
        let (sin, cos) = (end.psi - self.angle_rad).sin_cos();
        move |q_mm, p_mm| {
            let (q, p) = (q_mm - end.q, p_mm - end.p);
            Point::new(self.x_mm + q * sin - p * cos, self.y_mm - q * cos - p * sin)
        }
    }
}

/// A step and the pull under which the limb is walked over it, from the nock's side to the root's.
struct WalkedStep<'s> {
    step: &'s LimbStep,
    tension_n: f64,
}

/// Where in what is walked `sin ψ` and `cos ψ` stand, after `Q, P, ψ`.
const SIN: usize = 3;
const COS: usize = 4;

/// The limb at a node of a step, and how it goes on from there.
struct Turning {
    node: StepNode,
    /// From the string's line to the neutral axis, mm.
    p: f64,
    /// Of `Q, P, ψ, sin ψ, cos ψ`.
    slopes: [f64; 5],
}

impl WalkedStep<'_> {
    /// `Q, P, ψ` and the strain energy at the step's end.
    fn trace(&self, [q, p, psi, energy]: [f64; 4]) -> [f64; 4] {
        let (sin, cos) = psi.sin_cos();
        let end: [f64; 6] = ode::step_of(&[q, p, psi, sin, cos, energy], self.step.length, self);
        [end[0], end[1], end[2], end[5]]
    }

    /// `Q, P, ψ`, their derivatives to `T`, and those to `α`, at the step's end.
    fn pass(&self, y: [f64; 9]) -> [f64; 9] {
        let (sin, cos) = y[2].sin_cos();
        let [q, p, psi, qt, pt, psi_t, qa, pa, psi_a] = y;
        let start = [q, p, psi, sin, cos, qt, pt, psi_t, qa, pa, psi_a];
        let [q, p, psi, _, _, qt, pt, psi_t, qa, pa, psi_a] = ode::step_of(&start, self.step.length, self);
        [q, p, psi, qt, pt, psi_t, qa, pa, psi_a]
    }

    #[inline(always)]
    fn turning(&self, node: usize, p: f64, sin: f64, cos: f64) -> Turning {
        let node = self.step.at[node];
        let p = p - node.neutral * cos;
        let turn = -(node.curvature + node.compliance * self.tension_n * p);
        let stretch = 1.0 - node.neutral * turn;
        Turning { node, p, slopes: [stretch * cos, stretch * sin, turn, cos * turn, -sin * turn] }
    }
}

impl Slope<6> for WalkedStep<'_> {
    #[inline(always)]
    fn at(&self, node: usize, y: &[f64; 6]) -> [f64; 6] {
        let Turning { node, p, slopes: [dq, dp, turn, dsin, dcos] } = self.turning(node, y[1], y[SIN], y[COS]);
        let moment = self.tension_n * p;
        [dq, dp, turn, dsin, dcos, 0.5 * moment * node.compliance * moment]
    }
}

impl Slope<11> for WalkedStep<'_> {
    #[inline(always)]
    fn at(&self, node: usize, y: &[f64; 11]) -> [f64; 11] {
        let (sin, cos) = (y[SIN], y[COS]);
        let Turning { node: StepNode { compliance, neutral, .. }, p, slopes: [dq, dp, turn, dsin, dcos] } =
            self.turning(node, y[1], sin, cos);
        let pull = compliance * self.tension_n;
        // Each block's own turning, and what it does to the way along.
        let by_tension = -compliance * p - pull * (y[6] + neutral * sin * y[7]);
        let by_angle = -pull * (y[9] + neutral * sin * y[10]);
        [
            dq,
            dp,
            turn,
            dsin,
            dcos,
            -dp * y[7] - neutral * by_tension * cos,
            dq * y[7] - neutral * by_tension * sin,
            by_tension,
            -dp * y[10] - neutral * by_angle * cos,
            dq * y[10] - neutral * by_angle * sin,
            by_angle,
        ]
    }
}

/// What the limb is at one station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beam {
    /// EI, N·mm²
    pub stiffness_n_mm2: f64,
    /// Unstrung, positive toward the belly, 1/mm
    pub curvature_per_mm: f64,
    /// Depth of the neutral axis below the back, mm
    pub neutral_mm: f64,
}

/// What of a limb is laid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbSpan<'a> {
    /// Station of the root.
    pub from_mm: f64,
    /// Station of the nock.
    pub to_mm: f64,
    /// Stations where stiffness, neutral axis or curvature may jump or turn, in no order; those outside are left out.
    pub corners_mm: &'a [f64],
    pub max_step_mm: f64,
}

/// A limb cut into steps, ready to be bent.
#[derive(Debug, Clone, PartialEq)]
pub struct Limb {
    pub root: LimbRoot,
    pub length_mm: f64,
    /// How far below the neutral axis of the nock, toward the belly, the string pulls, mm; nothing unless said.
    pub string_offset_mm: f64,
    /// Where results are given, root to nock; a station with a jump is listed twice, once from each side.
    pub stations: Vec<LimbStation>,
    /// From the nock to the root.
    pub(super) steps: Vec<LimbStep>,
}

/// A place on the limb, seen from one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbStation {
    pub s_mm: f64,
    /// A station strictly inside the step from which this one is seen.
    pub inside_mm: f64,
    pub beam: Beam,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LimbStep {
    pub(super) length: f64,
    pub(super) at: [StepNode; 5],
    /// Something jumps where the step starts, or the limb starts there.
    pub(super) jumps: bool,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct StepNode {
    pub(super) compliance: f64,
    pub(super) curvature: f64,
    pub(super) neutral: f64,
}

/// A place inside a step, counted from the nock: the steps before it, and the fraction of this one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct StepPlace {
    pub(super) step: usize,
    pub(super) fraction: f64,
}

impl StepPlace {
    pub(super) const NOCK: StepPlace = StepPlace { step: 0, fraction: 0.0 };
}

impl LimbStep {
    /// A step between these beams, which stand at its nodes.
    pub(super) fn between(length: f64, beams: &[Beam; 5]) -> LimbStep {
        LimbStep { length, at: beams.map(StepNode::from), jumps: false }
    }

    /// The limb inside the step: the polynomial through its five nodes, whose error is that of the step itself.
    pub(super) fn node(&self, fraction: f64) -> StepNode {
        let weight: [f64; 5] = std::array::from_fn(|k| {
            let others = NODES.iter().enumerate().filter(|(j, _)| *j != k);
            others.map(|(_, node)| (fraction - node) / (NODES[k] - node)).product()
        });
        let sum = |value: fn(&StepNode) -> f64| self.at.iter().zip(weight).map(|(node, weight)| weight * value(node)).sum();
        StepNode {
            compliance: sum(|node| node.compliance),
            curvature: sum(|node| node.curvature),
            neutral: sum(|node| node.neutral),
        }
    }

    /// The part of the step between two fractions of it.
    pub(super) fn part(&self, from: f64, to: f64) -> LimbStep {
        let at = NODES.map(|node| self.node(from + node * (to - from)));
        LimbStep { length: (to - from) * self.length, at, jumps: false }
    }

    /// The rest of the step from a fraction of it.
    fn rest(&self, from: f64) -> LimbStep {
        if from <= 0.0 { *self } else { LimbStep { jumps: false, ..self.part(from, 1.0) } }
    }
}

impl From<Beam> for StepNode {
    fn from(beam: Beam) -> StepNode {
        StepNode { compliance: 1.0 / beam.stiffness_n_mm2, curvature: beam.curvature_per_mm, neutral: beam.neutral_mm }
    }
}

/// Where a pass ends at the root, and how that changes with tension (`by_tension`, per N) and nock angle (`by_angle`, per rad).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbPass {
    pub end: Ends,
    pub by_tension: Ends,
    pub by_angle: Ends,
}

/// `q`, `p` in mm and `ψ` in rad, in the frame of the string.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ends {
    pub q: f64,
    pub p: f64,
    pub psi: f64,
}

/// The limb at one station of a pass, in the frame of the string.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbState {
    pub s_mm: f64,
    pub q_mm: f64,
    pub p_mm: f64,
    pub psi_rad: f64,
    /// M, positive where it bends the limb toward the belly, N·mm
    pub moment_n_mm: f64,
    /// κ − κ0 = M/EI, 1/mm
    pub bend_per_mm: f64,
}

impl LimbState {
    /// The limb with its back at `[Q, P, ψ]`.
    pub(super) fn at_back(s_mm: f64, beam: Beam, tension_n: f64, [q, p, psi_rad]: [f64; 3]) -> LimbState {
        let (sin, cos) = psi_rad.sin_cos();
        let (q_mm, p_mm) = (q + beam.neutral_mm * sin, p - beam.neutral_mm * cos);
        let moment_n_mm = tension_n * p_mm;
        LimbState { s_mm, q_mm, p_mm, psi_rad, moment_n_mm, bend_per_mm: moment_n_mm / beam.stiffness_n_mm2 }
    }

    /// The limb at the far end of a step that starts here; the limb there is `beam`.
    pub(super) fn after(&self, step: &LimbStep, s_mm: f64, tension_n: f64, beam: Beam) -> LimbState {
        let (sin, cos) = self.psi_rad.sin_cos();
        let neutral = step.at[0].neutral;
        let back = [self.q_mm - neutral * sin, self.p_mm + neutral * cos, self.psi_rad];
        let [q, p, psi, _] = WalkedStep { step, tension_n }.trace([back[0], back[1], back[2], 0.0]);
        LimbState::at_back(s_mm, beam, tension_n, [q, p, psi])
    }
}

/// A whole pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// In the order of [`Limb::stations`], root to nock.
    pub at: Vec<LimbState>,
    /// ½ ∫ M²/EI ds, N·mm
    pub energy_n_mm: f64,
    /// Where the string lies on the limb; `None` where it is free of it from the nock on.
    pub contact: Option<Contact>,
}

impl Trace {
    /// From a belly `to_belly_mm` below the neutral axis to the string, square to it, mm; nothing where the string lies on the limb.
    pub(super) fn to_string_mm(&self, bent: &LimbState, to_belly_mm: f64) -> f64 {
        match self.contact {
            Some(contact) if contact.lift_off_mm <= bent.s_mm => 0.0,
            _ => bent.p_mm - to_belly_mm * bent.psi_rad.cos(),
        }
    }
}

/// The stretch of a limb on which the string lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contact {
    /// Where the string leaves the limb, mm.
    pub lift_off_mm: f64,
    /// Along the limb from there to the nock, mm.
    pub length_mm: f64,
    /// How much farther the string would have to turn there than the reflex of the limb turns it, rad: more than nothing, and the string would
    /// bridge a straight or hollow stretch, which is not modelled.
    pub bridged_rad: f64,
    /// Where the string leaves the limb, along the string from the nock, mm.
    pub(super) q_mm: f64,
    /// The string's line there below the neutral axis, mm.
    pub(super) lever_mm: f64,
}

impl Limb {
    /// Cuts the limb into steps that end at every corner.
    ///
    /// `beam(inside, s)` gives the limb at `s` as seen from the side of `inside`; it must be smooth between corners.
    #[must_use]
    pub fn lay(root: LimbRoot, span: LimbSpan<'_>, mut beam: impl FnMut(f64, f64) -> Beam) -> Limb {
        let LimbSpan { from_mm, to_mm, corners_mm, max_step_mm } = span;
        let ends = ode::ends(from_mm, to_mm, corners_mm);
        let mut steps = Vec::new();
        let mut stations = Vec::new();
        let mut outer: Option<Beam> = None;
        for pair in ends.windows(2).rev() {
            let (near, far) = (pair[0], pair[1]);
            let inside = 0.5 * (near + far);
            // Quarters tell how many steps it takes; where one does, their ends and middle are its own.
            let quarters: [Beam; 5] =
                std::array::from_fn(|k| beam(inside, if k == 4 { near } else { far - 0.25 * k as f64 * (far - near) }));
            let parts = parts(far - near, max_step_mm, to_mm - from_mm, quarters);
            let length = (far - near) / parts as f64;
            for k in 0..parts {
                let start = far - k as f64 * length;
                let last = k + 1 == parts;
                let here = outer.filter(|_| 0 < k).unwrap_or(quarters[0]);
                let jumps = outer.is_none_or(|outer| k == 0 && differs(outer, here));
                if jumps {
                    stations.push(LimbStation { s_mm: start, inside_mm: inside, beam: here });
                }
                let mut node = |node: usize| beam(inside, start - NODES[node] * length);
                let middle = if parts == 1 { quarters[2] } else { node(2) };
                let end = if last { quarters[4] } else { node(4) };
                let at = [here, node(1), middle, node(3), end].map(StepNode::from);
                steps.push(LimbStep { length, at, jumps });
                let s_mm = if last { near } else { start - length };
                stations.push(LimbStation { s_mm, inside_mm: inside, beam: end });
                outer = Some(end);
            }
        }
        stations.reverse();
        Limb { root, length_mm: to_mm - from_mm, string_offset_mm: 0.0, stations, steps }
    }

    /// ∫ ds/EI (1/(N·mm)) and ∫ κ0 ds (rad) between two stations.
    pub(super) fn between(&self, from_mm: f64, to_mm: f64) -> (f64, f64) {
        let mut far = self.stations.last().map_or(self.length_mm, |station| station.s_mm);
        let (mut compliance, mut bend) = (0.0, 0.0);
        for step in &self.steps {
            // Fractions of a step count from its outer end.
            let inside = |s: f64| ((far - s) / step.length).clamp(0.0, 1.0);
            let (a, b) = (inside(to_mm), inside(from_mm));
            if a < b {
                let part = if a <= 0.0 && 1.0 <= b { *step } else { step.part(a, b) };
                for (node, weight) in part.at.iter().zip(ode::WEIGHTS) {
                    compliance += part.length * weight * node.compliance;
                    bend += part.length * weight * node.curvature;
                }
            }
            far -= step.length;
        }
        (compliance, bend)
    }

    /// The same limb with its stiffness multiplied by `factor(s)`, taken in the middle of each step: lay it with corners where the factor jumps.
    #[must_use]
    pub fn stiffened(&self, factor: impl Fn(f64) -> f64) -> Limb {
        let mut limb = self.clone();
        let mut far = self.stations.last().map_or(self.length_mm, |station| station.s_mm);
        for step in &mut limb.steps {
            let here = factor(far - 0.5 * step.length);
            far -= step.length;
            step.at.iter_mut().for_each(|node| node.compliance /= here);
        }
        limb.stations.iter_mut().for_each(|station| station.beam.stiffness_n_mm2 *= factor(station.inside_mm));
        limb
    }

    /// How many steps a pass takes.
    pub fn steps(&self) -> usize {
        self.steps.len()
    }

    /// One pass from the nock to the root under tension `T` (N) with the limb at angle `α` (rad) to the string there.
    #[must_use]
    pub fn pass(&self, tension_n: f64, angle_rad: f64) -> LimbPass {
        let (sin, cos) = angle_rad.sin_cos();
        let nock = self.string_depth_mm();
        // Q, P, ψ, their derivatives to T, their derivatives to α.
        let y = [-nock * sin, nock * cos, angle_rad, 0.0, 0.0, 0.0, -nock * cos, -nock * sin, 1.0];
        self.pass_from(StepPlace::NOCK, tension_n, y)
    }

    /// How deep below the back the string pulls at the nock, mm.
    pub(super) fn string_depth_mm(&self) -> f64 {
        self.steps.first().map_or(0.0, |step| step.at[0].neutral) + self.string_offset_mm
    }

    /// The steps from a place on, the first of them cut.
    fn steps_from(&self, from: StepPlace) -> impl Iterator<Item = LimbStep> + '_ {
        let rest = &self.steps[from.step.min(self.steps.len())..];
        rest.iter().enumerate().map(move |(k, step)| if k == 0 { step.rest(from.fraction) } else { *step })
    }

    /// The pass from a place on, where the back stands at `Q, P, ψ`, with the derivatives of these to `T` and to `α`.
    pub(super) fn pass_from(&self, from: StepPlace, tension_n: f64, mut y: [f64; 9]) -> LimbPass {
        for step in self.steps_from(from) {
            y = WalkedStep { step: &step, tension_n }.pass(y);
        }
        // From the back to the neutral axis of the root.
        let root = self.steps.last().map_or(0.0, |step| step.at[4].neutral);
        let (sin, cos) = y[2].sin_cos();
        let turned = |block: usize| Ends {
            q: y[block] + root * cos * y[block + 2],
            p: y[block + 1] + root * sin * y[block + 2],
            psi: y[block + 2],
        };
        LimbPass {
            end: Ends { q: y[0] + root * sin, p: y[1] - root * cos, psi: y[2] },
            by_tension: turned(3),
            by_angle: turned(6),
        }
    }

    /// The same pass with every station and the strain energy.
    #[must_use]
    pub fn trace(&self, tension_n: f64, angle_rad: f64) -> Trace {
        let (sin, cos) = angle_rad.sin_cos();
        let nock = self.string_depth_mm();
        self.trace_from(StepPlace::NOCK, tension_n, [-nock * sin, nock * cos, angle_rad, 0.0], Vec::new())
    }

    /// The trace from a place on, where the back stands at `Q, P, ψ` and the energy so far is the fourth; `at` are the stations met before it.
    pub(super) fn trace_from(&self, from: StepPlace, tension_n: f64, mut y: [f64; 4], mut at: Vec<LimbState>) -> Trace {
        let t = tension_n;
        at.reserve(self.stations.len() - at.len());
        // Stations stand root to nock and are met from the nock.
        let mut met = self.stations.iter().rev().skip(at.len());
        let mut note = |y: &[f64; 4]| {
            if let Some(station) = met.next() {
                at.push(LimbState::at_back(station.s_mm, station.beam, t, [y[0], y[1], y[2]]));
            }
        };
        for step in self.steps_from(from) {
            if step.jumps {
                note(&y);
            }
            y = WalkedStep { step: &step, tension_n }.trace(y);
            note(&y);
        }
        at.reverse();
        Trace { at, energy_n_mm: y[3], contact: None }
    }

    /// Place in the bow's frame, mm, of a point given in the frame of the string, when the root of a pass lies at `end`.
    pub fn in_bow_frame(&self, end: Ends, q_mm: f64, p_mm: f64) -> Point {
        self.frame(end)(q_mm, p_mm)
    }

    /// The same for many points of one pass, with the limb's sine and cosine taken once.
    pub fn frame(&self, end: Ends) -> impl Fn(f64, f64) -> Point {
        self.root.frame(end)
    }

    /// Tension that would make a straight limb of this stiffness buckle, near enough to start from and to scale by, N.
    ///
    /// `T = π / (2 L ∫ c sin(πu/2L) du)`: the balance of a limb bent to a quarter of a sine.
    pub fn buckling_n(&self) -> f64 {
        let quarter = std::f64::consts::FRAC_PI_2 / self.length_mm;
        let mut u = 0.0;
        let mut sum = 0.0;
        for step in &self.steps {
            sum += step.length * step.at[2].compliance * (quarter * (u + 0.5 * step.length)).sin();
            u += step.length;
        }
        quarter / sum
    }
}

/// Steps between two corners: none longer than `max`, and none over which the compliance strays from a straight line by more
/// than `MAX_STRAY` of its greatest value there, or the unstrung curvature by more than that of one radian over the limb's length.
/// `quarters` stand at its ends and at quarters between.
fn parts(length: f64, max: f64, limb_length: f64, quarters: [Beam; 5]) -> usize {
    let compliance = quarters.map(|beam| 1.0 / beam.stiffness_n_mm2);
    let greatest = compliance.iter().copied().fold(0.0, f64::max);
    let curvature = quarters.map(|beam| beam.curvature_per_mm * limb_length);
    // A second difference over quarters is an eighth of the stray over the whole times four.
    let stray = |c: [f64; 5]| c.windows(3).map(|c| 2.0 * (c[0] - 2.0 * c[1] + c[2]).abs()).fold(0.0, f64::max);
    let stray = (stray(compliance) / greatest).max(stray(curvature));
    let parts = (length / max - 1e-9).max((stray / MAX_STRAY).sqrt()).ceil();
    // A stiffness of nought has no compliance; such limbs do not come here, and the bound keeps the count finite.
    if parts.is_finite() { (parts as usize).clamp(1, MAX_PARTS) } else { 1 }
}

/// Stray of compliance and unstrung curvature from a straight line over a step. At ten times this value fades put 1e-7 of the force in error, here 1e-9;
/// less adds steps where the limb hardly bends.
const MAX_STRAY: f64 = 0.006;
/// Bound on the steps between two corners: far more than any limb needs.
const MAX_PARTS: usize = 2048;

fn differs(a: Beam, b: Beam) -> bool {
    let apart = |a: f64, b: f64, scale: f64| 1e-10 * scale < (a - b).abs();
    apart(a.stiffness_n_mm2, b.stiffness_n_mm2, a.stiffness_n_mm2)
        || apart(a.neutral_mm, b.neutral_mm, 1.0)
        || apart(a.curvature_per_mm, b.curvature_per_mm, 1e-3)
}
