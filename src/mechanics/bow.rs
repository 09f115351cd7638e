//! The build as a bow to be bent: its limb in the side frame, its pivot, its string.
//!
//! ```text
//!      y (along the bow)
//!      │ back
//!      ││ limb          x from the back of the grip toward the archer
//!      ││╲              root at station 0: x = z̄(0), y = 0, angle 0
//!      ││ ╲
//!   ───┼┴──●─────────── x        ● pivot at x = grip depth
//!      0   grip depth   string at x = grip depth + brace height
//! ```
//!
//! The limb is integrated from the nock to the bow's centre, riser included. Stations count along the neutral axis, which keeps
//! its length; unstrung they are stations along the back (a difference of `κ0 z̄`, half a percent in a strong reflex).

use super::layer_kind::LayerKind;
use super::limb::{Beam, Limb, LimbRoot, LimbSpan};
use super::section::Stack;
use crate::diag::{Diagnostic, Place};
use crate::model::Build;
use crate::numeric::piecewise::Piecewise;

/// What may be said beyond the build.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    pub unstrung: Unstrung,
    pub string: StringOn,
    /// From the pivot point to the nocking point at full draw, mm; `None` for the target's.
    pub full_draw_mm: Option<f64>,
    /// Results are given at each multiple of this draw length (as the builder states draw lengths), mm.
    pub draw_step_mm: f64,
    /// Results are given at each multiple of this station, mm, and wherever steps end.
    pub station_step_mm: f64,
    /// Further stations that results are wanted at, mm.
    pub stations_mm: Vec<f64>,
    /// Back to pivot point, mm; `None` for the target's, or the whole depth of the stack at the bow's centre.
    pub grip_depth_mm: Option<f64>,
    /// All stiffness is multiplied by it: what a reading of the real bow makes of the handbook's moduli.
    pub stiffness_factor: f64,
    /// No step of the integration is longer than the half bow over this. 24 keeps the force to a few 1e-9 (sixth order).
    pub steps: usize,
}

impl Default for Options {
    fn default() -> Self {
        Options {
            unstrung: Unstrung::default(),
            string: StringOn::Brace,
            full_draw_mm: None,
            draw_step_mm: 25.0,
            station_step_mm: 25.0,
            stations_mm: Vec::new(),
            grip_depth_mm: None,
            stiffness_factor: 1.0,
            steps: 24,
        }
    }
}

/// The bow as it comes off the form.
#[derive(Debug, Clone, PartialEq)]
pub struct Unstrung {
    /// Curvature over the station, positive toward the belly, 1/mm. Straight without it. The bow's two halves mirror each other.
    pub curvature_per_mm: Piecewise,
    /// What the glue-up left in the layers; empty for nothing.
    pub locked: Vec<Locked>,
}

impl Default for Unstrung {
    fn default() -> Self {
        Unstrung { curvature_per_mm: Piecewise::constant(0.0), locked: Vec::new() }
    }
}

/// Strain left in a layer by the glue-up, over the station; positive is stretch. Linear from face to face.
#[derive(Debug, Clone, PartialEq)]
pub struct Locked {
    pub part: LayerKind,
    pub back: Piecewise,
    pub belly: Piecewise,
}

/// Which string is on the bow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StringOn {
    /// The one that braces it at the target's brace height.
    Brace,
    /// The one that braces it at this height over the pivot point, mm.
    BraceAt { height_mm: f64 },
    /// A tillering string longer than the limbs, of this length between the nocks, mm.
    Long { length_mm: f64 },
}

/// A bow ready to be bent.
#[derive(Debug, Clone)]
pub struct Bow<'a> {
    pub stack: Stack<'a>,
    pub limb: Limb,
    pub grip_depth_mm: f64,
}

impl<'a> Bow<'a> {
    /// Lays the limb of this build; faults if the build is no bow or an option makes no sense.
    pub fn of(build: &'a Build, options: &Options) -> Result<Bow<'a>, Diagnostic> {
        let stack = Stack::of(build)?;
        positive("stiffness factor", options.stiffness_factor)?;
        positive("step of stations", options.station_step_mm)?;
        positive("step of draws", options.draw_step_mm)?;
        let nock = stack.outline().nock_mm();
        let mut corners = stack.corners();
        let curvature = &options.unstrung.curvature_per_mm;
        corners.extend(curvature.corners());
        let count = (nock / options.station_step_mm).min(MAX_STATIONS) as usize;
        corners.extend((1..=count).map(|k| k as f64 * options.station_step_mm));
        corners.extend(&options.stations_mm);
        let centre = stack.properties(0.0, 0.0);
        let root = LimbRoot { x_mm: centre.neutral_mm, y_mm: 0.0, angle_rad: 0.0 };
        let span = LimbSpan { from_mm: 0.0, to_mm: nock, corners_mm: &corners, max_step_mm: nock / options.steps.max(1) as f64 };
        let limb = Limb::lay(root, span, |inside, s| beam(&stack, options, inside, s));
        let stated = build.target.as_ref().and_then(|target| target.grip_depth_mm);
        Ok(Bow { stack, limb, grip_depth_mm: options.grip_depth_mm.or(stated).unwrap_or(centre.depth_mm) })
    }

    /// The limb at a station, seen from the side of `inside_mm`.
    pub(super) fn beam(&self, options: &Options, inside_mm: f64, s_mm: f64) -> Beam {
        beam(&self.stack, options, inside_mm, s_mm)
    }

    /// Brace height over the pivot point, mm.
    pub fn brace_height_mm(&self, options: &Options) -> Result<f64, Diagnostic> {
        match options.string {
            StringOn::BraceAt { height_mm } => Ok(height_mm),
            StringOn::Brace | StringOn::Long { .. } => {
                self.stack.build().target.map(|target| target.brace_height_mm).ok_or_else(no_target)
            }
        }
    }

    /// Full draw from the pivot point, mm.
    pub fn full_draw_mm(&self, options: &Options) -> Result<f64, Diagnostic> {
        options.full_draw_mm.or(self.stack.build().target.map(|target| target.pivot_to_nock_mm)).ok_or_else(no_target)
    }

    /// What is added to a draw from the pivot point to state it the builder's way, mm.
    pub fn stated_beyond_pivot_mm(&self) -> f64 {
        self.stack.build().draws_beyond_pivot_mm()
    }
}

fn beam(stack: &Stack<'_>, options: &Options, inside_mm: f64, s_mm: f64) -> Beam {
    let here = stack.properties(inside_mm, s_mm);
    Beam {
        stiffness_n_mm2: options.stiffness_factor * here.stiffness_n_mm2,
        curvature_per_mm: options.unstrung.curvature_per_mm.at(inside_mm, s_mm),
        neutral_mm: here.neutral_mm,
    }
}

/// Stations asked for are cut off here: more than any bow has millimetres.
const MAX_STATIONS: f64 = 4000.0;

fn no_target() -> Diagnostic {
    Diagnostic::fault(Place::new("target"), "there is no target, so brace height and draw are not known")
        .hint("give `draw_length` and `brace_height` under `target`")
}

fn positive(what: &str, value: f64) -> Result<(), Diagnostic> {
    if value.is_finite() && 0.0 < value {
        return Ok(());
    }
    Err(Diagnostic::fault(Place::whole_file(), format!("the {what} is {value}, and must be more than nothing")))
}
