//! Where does the string leave a recurved limb, and what does the limb do beyond?
//!
//! # The string on the limb
//!
//! A frictionless string that lies on the limb runs along a line at one depth `d` below the back: the depth at which it pulls at the nock, which is
//! the neutral axis there unless [`Limb::string_offset_mm`] says otherwise. In the frame of [`super::limb`] the angle `α` of the limb at the nock against the *free* run of
//! the string is then less than nothing, and the limb turns the string by `−α` on the way to where it leaves:
//!
//! ```text
//!   0 ≤ α                the string is free from the nock on; nothing of this file
//!   α < 0                touched from the nock to u0, where ∫0^u0 κ du = α
//!     touched            M = T (d − z̄)        κ = κ0 + c M        −T κ ≥ 0 presses the string on: reflexed
//!     at u0              ψ = 0, the line stands on the string's line: p = d − z̄
//!                        q = ∫ (1 + (z̄ − d) κ) du, the string's own length up to there
//! ```
//!
//! from where the limb is walked on as ever. A cut through the touched stretch bears the string's tension along that line and nothing else, since what presses the string
//! on the limb is normal to it: hence `M`. With `d = z̄` the touched stretch keeps its unstrung shape. Because `q` counts the string that lies on the limb, whoever
//! asks where the nocking point is (`half − q` from there) needs no second formula.
//!
//! # What Newton's method sees
//!
//! Unknowns stay `(T, α)`. Derivatives where the free run begins, `u0` having moved:
//!
//! ```text
//!   to α    Q −d        P 0    ψ 1                those of a free string at α = 0: nothing jumps where touch begins
//!   to T    Q d A − B   P 0    ψ −A               A = ∫ c (d − z̄) du,  B = ∫ c (d − z̄)² du
//! ```
//!
//! Straight stretches between reflexed ones are skipped by `α` in one step, and where they end at the nock (a straight tip) the string lies along
//! them without pressing. A **hollow** stretch would be bridged, with a reaction at its near end: past it the string cannot turn, [`Contact::bridged_rad`] says by how much it
//! would, and [`super::draw`] refuses.
//!
//! # Order and tests
//!
//! Inside the step in which the string leaves, the limb is the polynomial through its five nodes: order six stays. `tests/contact.rs`:
//! against an energy minimisation of a chain under a taut string (SciPy), continuity and slope where touch begins, work against energy
//! through the change, order of convergence, stiff and straight ears.
//!
//! Source: derived here.

use super::limb::{Beam, Contact, Limb, LimbPass, LimbState, LimbStep, StepPlace, Trace};
use crate::numeric::heading::Heading;
use crate::numeric::{ode, root};

/// Curvature that counts as straight where the string has to press on the limb, 1/mm: a limb of a metre so bent strays from straight by half a thousandth of
/// a millimetre. More would let hollows pass, less trips over rounding in a glued curve.
const STRAIGHT_PER_MM: f64 = 1e-9;

/// The touched stretch under a tension.
struct Lie {
    at: StepPlace,
    length: f64,
    /// What is left of α beyond the greatest turn: nothing, or less.
    rest: f64,
    /// ∫ (1 + (z̄ − d) κ) du
    along: f64,
    /// ∫ c (d − z̄) du and ∫ c (d − z̄)² du
    first: f64,
    second: f64,
}

impl LimbStep {
    /// Curvature of the touched limb at a node, when the string's line has depth `d`.
    fn touched(&self, node: usize, tension: f64, depth: f64) -> f64 {
        self.at[node].curvature + self.at[node].compliance * tension * (depth - self.at[node].neutral)
    }

    /// Over the step, by the polynomial through its nodes.
    fn integral(&self, value: impl Fn(usize) -> f64) -> f64 {
        self.length * (0..5).map(|node| ode::WEIGHTS[node] * value(node)).sum::<f64>()
    }

    fn turn(&self, tension: f64, depth: f64) -> f64 {
        self.integral(|node| self.touched(node, tension, depth))
    }

    /// The fraction from which on the touched limb is hollow; 1 for a step that is reflexed or straight all along.
    fn reflexed(&self, tension: f64, depth: f64) -> f64 {
        let hollow = |curvature: f64| STRAIGHT_PER_MM < curvature;
        let Some(node) = (0..5).find(|node| hollow(self.touched(*node, tension, depth))) else { return 1.0 };
        if node == 0 {
            return 0.0;
        }
        let here = |fraction: f64| {
            let node = self.node(fraction);
            !hollow(node.curvature + node.compliance * tension * (depth - node.neutral))
        };
        root::bisect(here, ode::NODES[node - 1], ode::NODES[node], 60).holds
    }

    /// The back of the touched limb at the step's end, `Q, P, ψ` and energy.
    fn walk_touched(&self, y: &[f64; 4], tension: f64, depth: f64) -> [f64; 4] {
        let heading = Heading::of(y[2]);
        ode::step(y, self.length, |node, y| {
            let moment = tension * (depth - self.at[node].neutral);
            let bend = self.at[node].compliance * moment;
            let turn = -(self.at[node].curvature + bend);
            let stretch = 1.0 - self.at[node].neutral * turn;
            let (sin, cos) = heading.sin_cos_at(y[2]);
            [stretch * cos, stretch * sin, turn, 0.5 * moment * bend]
        })
    }
}

impl Limb {
    /// How far a string under this tension that leaves at `angle` (less than nothing) lies on the limb.
    fn lie(&self, tension: f64, angle: f64) -> Lie {
        let depth = self.string_depth_mm();
        let mut lie = Lie { at: StepPlace::NOCK, length: 0.0, rest: angle, along: 0.0, first: 0.0, second: 0.0 };
        for (index, step) in self.steps.iter().enumerate() {
            let edge = step.reflexed(tension, depth);
            let within = if edge < 1.0 { step.part(0.0, edge) } else { *step };
            let whole = within.turn(tension, depth);
            let left = lie.rest;
            // Negative over negative: the touched stretch ends in this step once it turns as far as is left.
            let ends = whole <= left;
            let fraction = if ends {
                let miss = |fraction: f64| step.part(0.0, fraction).turn(tension, depth) - left;
                root::bracketed(miss, 0.0, edge, 1e-15, 80).map_or(edge, |root| root.x)
            } else {
                edge
            };
            let part = if fraction < 1.0 { step.part(0.0, fraction) } else { *step };
            let lever = |node: usize| depth - part.at[node].neutral;
            lie.at = StepPlace { step: index, fraction };
            lie.length += part.length;
            lie.along += part.integral(|node| 1.0 - lever(node) * part.touched(node, tension, depth));
            lie.first += part.integral(|node| part.at[node].compliance * lever(node));
            lie.second += part.integral(|node| part.at[node].compliance * lever(node) * lever(node));
            lie.rest = if ends { 0.0 } else { left - whole };
            if ends || edge < 1.0 {
                break;
            }
        }
        lie
    }

    /// [`Limb::pass`] under a string that may lie on the limb: `angle_rad` is that of the limb at the nock against the string's free run.
    #[must_use]
    pub fn string_pass(&self, tension_n: f64, angle_rad: f64) -> LimbPass {
        if 0.0 <= angle_rad || angle_rad.is_nan() {
            return self.pass(tension_n, angle_rad);
        }
        let depth = self.string_depth_mm();
        let lie = self.lie(tension_n, angle_rad);
        let (sin, cos) = lie.rest.sin_cos();
        let (by_tension_q, by_tension_p) = (depth * cos * lie.first - lie.second, depth * sin * lie.first);
        let y = [
            lie.along - depth * sin,
            depth * cos,
            lie.rest,
            by_tension_q,
            by_tension_p,
            -lie.first,
            -depth * cos,
            -depth * sin,
            1.0,
        ];
        self.pass_from(lie.at, tension_n, y)
    }

    /// [`Limb::trace`] under a string that may lie on the limb.
    #[must_use]
    pub fn string_trace(&self, tension_n: f64, angle_rad: f64) -> Trace {
        if 0.0 <= angle_rad || angle_rad.is_nan() {
            return self.trace(tension_n, angle_rad);
        }
        let depth = self.string_depth_mm();
        let lie = self.lie(tension_n, angle_rad);
        // The touched stretch is walked from the nock as if the string's line began there, then moved to where the string is straight.
        let mut stations = self.stations.iter().rev();
        let mut at = Vec::with_capacity(self.stations.len());
        let mut y = [0.0, 0.0, angle_rad, 0.0];
        for (index, step) in self.steps.iter().enumerate().take(lie.at.step + 1) {
            if step.jumps {
                at.extend(stations.next().map(|station| (station, [y[0], y[1], y[2]])));
            }
            if index == lie.at.step {
                y = step.part(0.0, lie.at.fraction).walk_touched(&y, tension_n, depth);
            } else {
                y = step.walk_touched(&y, tension_n, depth);
                at.extend(stations.next().map(|station| (station, [y[0], y[1], y[2]])));
            }
        }
        let (sin, cos) = lie.rest.sin_cos();
        let (dq, dp) = (lie.along - depth * sin - y[0], depth * cos - y[1]);
        let touched = at.into_iter().map(|(station, [q, p, psi])| {
            let state = LimbState::at_back(station.s_mm, station.beam, tension_n, [q + dq, p + dp, psi]);
            state.borne(tension_n * (depth - station.beam.neutral_mm), station.beam)
        });
        let nock = self.stations.last().map_or(self.length_mm, |station| station.s_mm);
        let contact = Contact {
            lift_off_mm: nock - lie.length,
            length_mm: lie.length,
            bridged_rad: -lie.rest,
            q_mm: lie.along,
            lever_mm: depth - self.steps[lie.at.step].node(lie.at.fraction).neutral,
        };
        let trace = self.trace_from(lie.at, tension_n, [y[0] + dq, y[1] + dp, lie.rest, y[3]], touched.collect());
        Trace { contact: Some(contact), ..trace }
    }

    /// A state of a trace walked on to station `s_mm` farther in, in one step; `beams` are those at the step's nodes, seen from inside it.
    pub(super) fn farther_in(
        &self,
        from: &LimbState,
        s_mm: f64,
        tension_n: f64,
        contact: Option<Contact>,
        beams: &[Beam; 5],
    ) -> LimbState {
        let step = LimbStep::between(from.s_mm - s_mm, beams);
        let Some(lift_off_mm) = contact.map(|contact| contact.lift_off_mm).filter(|lift_off| *lift_off < from.s_mm) else {
            return from.after(&step, s_mm, tension_n, beams[4]);
        };
        let depth = self.string_depth_mm();
        let fraction = ((from.s_mm - lift_off_mm) / step.length).clamp(0.0, 1.0);
        let (sin, cos) = from.psi_rad.sin_cos();
        let back = [from.q_mm - beams[0].neutral_mm * sin, from.p_mm + beams[0].neutral_mm * cos, from.psi_rad, 0.0];
        let part = step.part(0.0, fraction);
        let [q, p, psi, _] = part.walk_touched(&back, tension_n, depth);
        let node = part.at[4];
        let beam = Beam { stiffness_n_mm2: 1.0 / node.compliance, curvature_per_mm: node.curvature, neutral_mm: node.neutral };
        let end = LimbState::at_back(from.s_mm - part.length, beam, tension_n, [q, p, psi]);
        if 1.0 <= fraction {
            return LimbState { s_mm, ..end.borne(tension_n * (depth - beams[4].neutral_mm), beams[4]) };
        }
        end.after(&step.part(fraction, 1.0), s_mm, tension_n, beams[4])
    }
}

impl LimbState {
    /// The same place where the moment is not that of the string's free run.
    fn borne(self, moment_n_mm: f64, beam: Beam) -> LimbState {
        LimbState { moment_n_mm, bend_per_mm: moment_n_mm / beam.stiffness_n_mm2, ..self }
    }
}
