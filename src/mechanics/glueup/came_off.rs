//! A stage is off its form or props and has another shape than planned: what does that make of the rest?
//!
//! The released curvature of the stage is taken as the model's, station by station, times one share of its own, chosen so that the nock
//! stands where it was read. So it is the piece that the next stage begins with; what later stages retain is theirs. Stages up to
//! this one have been held, and are never brought anywhere again.
//!
//! Limits: one number stands for the whole shape. Creep and a pile that did not lie down act all along the limb; a
//! kink or a step is not seen by a reading at the nock.

use super::{GlueUp, plan, tips_mm};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::numeric::root::{Secant, SecantEnd, secant};

/// A build with a stage off its form or props, and what its glue-up comes to.
#[derive(Debug, Clone)]
pub struct ReleasedBuild {
    pub build: Build,
    pub glued: GlueUp,
}

/// The build as it is after stage `number` came off with its nock at `tip_mm`, and its glue-up. `glued` is the plan it was held by.
pub fn build(build: &Build, glued: &GlueUp, number: u32, tip_mm: f64) -> Result<ReleasedBuild, Vec<Diagnostic>> {
    let (build, _) = read(build, glued, number, tip_mm)?;
    let glued = plan(&build)?.value;
    Ok(ReleasedBuild { build, glued })
}

/// The same build, with the rise of the nock after each of its stages, mm.
pub(super) fn read(build: &Build, glued: &GlueUp, number: u32, tip_mm: f64) -> Result<(Build, Vec<f64>), Vec<Diagnostic>> {
    let mut found = held(build, glued, number);
    let refused = || vec![fault(build, number, tip_mm)];
    let index = found.glue.stages.iter().position(|stage| stage.number == number).ok_or_else(refused)?;
    let place = glued.stages.iter().position(|stage| stage.number == number).ok_or_else(refused)?;
    // A rise is nearly in proportion to the curvature.
    let slope = glued.stages[place].tip_left_mm() / found.glue.retained_of(number);
    let start = tip_mm / slope;
    // So far out that no share is sought there, or nothing to be in proportion to.
    if !(MIN_FRACTION..=MAX_FRACTION).contains(&start) {
        return Err(refused());
    }
    let mut tips = Vec::new();
    let off = |fraction: f64| -> Result<f64, Vec<Diagnostic>> {
        found.glue.stages[index].retained = Some(fraction);
        tips = tips_mm(&found)?;
        Ok(tips[place] - tip_mm)
    };
    let how = Secant { start, slope, within: [MIN_FRACTION, MAX_FRACTION], close: CLOSE_MM, min_step: 0.0, max: MAX_TRIES };
    match secant(off, how)? {
        SecantEnd::Root(_) => Ok((found, tips)),
        _ => Err(refused()),
    }
}

/// The build with all stages up to `number` held as planned.
pub fn held(build: &Build, glued: &GlueUp, number: u32) -> Build {
    let mut found = build.clone();
    for stage in found.glue.stages.iter_mut().filter(|stage| stage.number <= number) {
        stage.want_tip_mm = None;
        if let Some(done) = glued.stage(stage.number) {
            stage.held = done.held.clone();
        }
    }
    found
}

fn fault(build: &Build, number: u32, tip_mm: f64) -> Diagnostic {
    let place = Place::new("glue.stage");
    let place = build.glue.stages.iter().position(|stage| stage.number == number).map_or(place.clone(), |at| place.index(at));
    Diagnostic::fault(place, message!("no share of what stage {} keeps puts its nock at {}", number, mm(tip_mm)))
        .hint("was it measured from the grip to the nock, and on this bow?")
}

/// A thousandth of what a straightedge shows.
const CLOSE_MM: f64 = 1e-3;
/// Secants: three do.
const MAX_TRIES: usize = 20;
/// Less than a twentieth, or half as much again as the section can keep, is no glue-up.
const MIN_FRACTION: f64 = 0.05;
const MAX_FRACTION: f64 = 1.5;
