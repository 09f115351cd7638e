//! What must the hold be so that the wanted is left?
//!
//! [`bring`] multiplies the rise of a form, or changes that of props, until the released tip stands where it is wanted. [`form_for`]
//! goes further: a form curve, station by station, whose released shape is the wanted one.

use super::super::release::Slipping;
use super::hold::{self, Hold};
use super::pile::{Pile, StackColumn};
use super::props::Propped;
use super::{STEP_MM, StageRow};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::workshop::Held;
use crate::numeric::ode::{self, NODES};
use crate::numeric::root::{Secant, SecantEnd, secant};

/// A tip that was wanted, and what it took.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    pub tip_mm: f64,
    /// What the hold as written would leave, mm.
    pub written_leaves_mm: f64,
    /// The form's rises are multiplied by this; `None` for props.
    pub form_by: Option<f64>,
}

/// Rise to which a wanted tip is met, mm: a hundredth of what a builder can measure.
const CLOSE_MM: f64 = 1e-3;
/// Secant steps: the tip is nearly a straight function of the rise, so that three do.
const MAX_STEPS: usize = 25;

/// At a node of a step: the station, what slips there, and the stiffness of the whole, N·mm².
type StiffNode = (f64, Slipping, f64);

/// Whatever holds a stage, its tip follows from these: stiffnesses of the pile at the nodes of a mesh, wet and glued.
pub(super) struct TipStiffness {
    mesh: Vec<f64>,
    /// For each step of the mesh its place inside and its nodes.
    steps: Vec<(f64, [StiffNode; 5])>,
    retained: f64,
}

impl TipStiffness {
    /// Of the stage at place `n`, for holds with these corners.
    pub fn of(pile: &Pile<'_>, n: usize, hold_corners: &[f64]) -> TipStiffness {
        let mut corners = pile.corners(n);
        corners.extend(hold_corners);
        let mesh = ode::mesh(0.0, pile.stack.outline().nock_mm(), &corners, STEP_MM);
        let mut column = pile.column();
        let mut step = |pair: &[f64]| {
            let inside = 0.5 * (pair[0] + pair[1]);
            let node = |node: f64| {
                let s = pair[0] + node * (pair[1] - pair[0]);
                column.lay(n, inside, s);
                (s, column.slipping(), column.whole().ei_n_mm2)
            };
            (inside, NODES.map(node))
        };
        TipStiffness { steps: mesh.windows(2).map(&mut step).collect(), mesh, retained: pile.retained[n] }
    }

    /// Rise of the nock once it is glued so and released, mm.
    pub fn left_mm(&self, hold: &Hold) -> f64 {
        let mut nodes = self.steps.iter().flat_map(|(inside, nodes)| nodes.iter().map(|node| (*inside, node)));
        hold::tip_mm(&self.mesh, |_, _| {
            let Some((inside, (s, slipping, whole))) = nodes.next() else { return 0.0 };
            // Where nothing lies nothing is bent.
            if slipping.stiffness_n_mm2 <= 0.0 {
                return 0.0;
            }
            self.retained * slipping.released_per_mm(*whole, hold.curvature(inside, *s, || *slipping))
        })
    }
}

/// The hold of stage `n` that leaves the tip at `tip_mm`.
pub(super) fn bring(
    pile: &Pile<'_>,
    n: usize,
    row: &StageRow,
    written: Hold,
    tip_mm: f64,
) -> Result<(Hold, Held, Option<Wanted>), Diagnostic> {
    let nock = pile.stack.outline().nock_mm();
    let tips = TipStiffness::of(pile, n, &written.corners());
    let left = |hold: &Hold| tips.left_mm(hold);
    let written_leaves_mm = left(&written);
    let wanted_at = row.place.key("want").key("tip");
    let propped = match &row.held {
        Held::Props { at_mm, .. } => Some(Propped::of(pile, n, *at_mm, &wanted_at)?),
        Held::Flat | Held::Form { .. } => None,
    };
    // One number is turned: the props' rise in mm, or the factor on the form's rises.
    let with = |value: f64| -> Result<Hold, Diagnostic> {
        match (&propped, &written) {
            (Some(propped), _) => propped.raised(value, &wanted_at),
            (_, Hold::Form(form)) => form.scaled(value, &wanted_at).map(Hold::Form).map_err(|fault| {
                fault.hint(message!("a tip at {} asks for the drawn rises times {}", mm(tip_mm), format_args!("{:.2}", value)))
            }),
            _ => Ok(written.clone()),
        }
    };
    let (first, second) = match (&row.held, &written) {
        (Held::Props { rise_mm, .. }, _) => (*rise_mm, rise_mm + 0.1 * nock.min((tip_mm - rise_mm).abs() + 10.0)),
        (_, Hold::Form(form)) if form.points().iter().any(|point| 1e-6 < point.1.abs()) => (1.0, 0.5),
        (Held::Form { .. }, _) => {
            return Err(Diagnostic::fault(row.place.key("held").key("form"), "a level form has no shape to deepen or flatten")
                .hint("give the form some rise: only its proportions count where a tip is wanted"));
        }
        _ => {
            return Err(Diagnostic::fault(wanted_at, message!("a stage held flat cannot be brought to a tip of {}", mm(tip_mm)))
                .hint("hold it on props or on a form"));
        }
    };
    // A hold that moves the released tip by less than a thousandth of its own change keeps nothing.
    let slope = (left(&with(second)?) - written_leaves_mm) / (second - first);
    let turned = if matches!(row.held, Held::Props { .. }) { 1.0 } else { deepest(&written) };
    let mut last_mm = written_leaves_mm;
    let off = |value: f64| -> Result<f64, Diagnostic> {
        last_mm = left(&with(value)?);
        Ok(last_mm - tip_mm)
    };
    let everywhere = [f64::NEG_INFINITY, f64::INFINITY];
    let how = Secant { start: first, slope, within: everywhere, close: CLOSE_MM, min_step: 0.0, max: MAX_STEPS };
    if (1e-3 * turned < slope.abs() || (written_leaves_mm - tip_mm).abs() <= CLOSE_MM)
        && let SecantEnd::Root(found) = secant(off, how)?
    {
        let x = found.x;
        let held = match &row.held {
            Held::Props { at_mm, .. } => Held::Props { rise_mm: x, at_mm: *at_mm },
            Held::Form { rise } => {
                let from = rise.first().map_or(0.0, |point| point.1);
                Held::Form { rise: rise.iter().map(|(s, r)| (*s, x * (r - from))).collect() }
            }
            Held::Flat => Held::Flat,
        };
        let form_by = matches!(row.held, Held::Form { .. }).then_some(x);
        return Ok((with(x)?, held, Some(Wanted { tip_mm, written_leaves_mm, form_by })));
    }
    Err(Diagnostic::fault(
        wanted_at,
        message!("no depth of this hold leaves the tip at {}: the last try left {}", mm(tip_mm), mm(last_mm)),
    )
    .hint("glue more laminations in this stage: a single one springs back whole"))
}

fn deepest(hold: &Hold) -> f64 {
    match hold {
        Hold::Form(form) => form.points().iter().map(|point| point.1.abs()).fold(0.0, f64::max),
        _ => 1.0,
    }
}

/// The shape that a form shall leave: the drawn curve brought to the wanted tip, or the drawn curve itself where no tip is wanted; `None` for
/// any other hold.
pub(super) fn shape(pile: &Pile<'_>, hold: &Hold, tip_mm: Option<f64>) -> Option<Hold> {
    let Hold::Form(form) = hold else { return None };
    let drawn = form.rise_at(pile.stack.outline().nock_mm());
    let by = tip_mm.filter(|_| 1e-6 < drawn.abs()).map_or(1.0, |tip| tip / drawn);
    form.scaled(by, &Place::whole_file()).ok().map(Hold::Form)
}

/// Curvature of the form that leaves exactly this shape where the column stands, wet, in stage `n`, 1/mm.
pub(super) fn form_for(pile: &Pile<'_>, n: usize, column: &StackColumn<'_>, shape: &Hold) -> f64 {
    let slipping = column.slipping();
    let here = shape.curvature(column.inside_mm, column.s_mm, || slipping);
    slipping.form_for(column.whole().ei_n_mm2, here, pile.retained[n]).unwrap_or(here)
}
