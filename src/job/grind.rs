//! One lamination at the sander, planned: its sled, the passes on it, and how far its thickness may be off. Plain numbers: nothing is
//! drawn here and no file written.

use super::bow::kept_if;
use super::kept::Kept;
use super::{Refused, reads};
use crate::diag::{Diagnostic, Outcome, Reported};
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::shop::budget::{Budget, budget};
use crate::shop::kit::{Kit, Means};
use crate::shop::makes;
use crate::shop::passes::{self, Schedule};
use crate::shop::sled;
use std::sync::Arc;

/// Everything about grinding one lamination.
#[derive(Debug, Clone)]
pub struct Ground {
    /// As the build has it.
    pub lamination: Lamination,
    /// None for a parallel lamination, and where the build file describes no sled.
    pub kit: Option<Kit>,
    /// Its passes.
    pub schedule: Schedule,
    /// What its thickness may be off by, and why.
    pub budget: Budget,
}

impl Ground {
    /// The last gap as the gauge can be set, mm.
    pub fn last_gap_mm(&self) -> f64 {
        self.schedule.setups.last().map_or(0.0, |setup| setup.last_gap_mm)
    }

    /// How far the last gap stands from the one wanted, a step of the gauge at most, mm.
    pub fn rounding_mm(&self) -> f64 {
        self.schedule.setups.last().map_or(0.0, |setup| setup.rounding_mm)
    }
}

#[derive(Debug)]
pub(super) struct GrindStages {
    /// With this lamination alone.
    build: Build,
    ground: Kept<Option<Ground>>,
}

impl GrindStages {
    pub fn of(build: &Build, lamination: usize, before: Option<&Arc<GrindStages>>) -> Arc<GrindStages> {
        let build = reads::of_grinding(build, lamination);
        kept_if(before, |before| before.build == build)
            .unwrap_or_else(|| Arc::new(GrindStages { build, ground: Kept::default() }))
    }

    fn reported(&self) -> Result<&Reported<Option<Ground>>, Refused> {
        let lamination = &self.build.laminations[0];
        self.ground.reported(|| if lamination.ground { Ok(Reported::clean(None)) } else { planned(&self.build, lamination) })
    }

    pub fn ground(&self) -> Result<Option<&Ground>, Refused> {
        Ok(self.reported()?.value.as_ref())
    }

    pub fn warnings(&self) -> Result<Vec<Diagnostic>, Refused> {
        Ok(self.reported()?.warnings.clone())
    }
}

/// The work for a lamination that is still to be ground; `None` if the build file has no sander. Beside faults stand the warnings
/// met before them.
fn planned(build: &Build, lamination: &Lamination) -> Outcome<Option<Ground>> {
    let mut warnings = Vec::new();
    match plan(build, lamination, &mut warnings) {
        Ok(value) => Ok(Reported { value, warnings: placed(build, lamination, warnings) }),
        Err(mut faults) => {
            faults.append(&mut warnings);
            Err(placed(build, lamination, faults))
        }
    }
}

/// The shop knows one sled and its keys; here it is known whose they are.
pub(super) fn placed(build: &Build, lamination: &Lamination, mut diagnostics: Vec<Diagnostic>) -> Vec<Diagnostic> {
    for diagnostic in &mut diagnostics {
        let path = diagnostic.place.as_str().to_owned();
        let Some(keys) = path.strip_prefix("sled.") else { continue };
        let (first, rest) = keys.split_once('.').unwrap_or((keys, ""));
        let place = build.sled_place(lamination, first);
        diagnostic.place = if rest.is_empty() { place } else { place.key(rest) };
    }
    diagnostics
}

fn plan(build: &Build, lamination: &Lamination, warnings: &mut Vec<Diagnostic>) -> Result<Option<Ground>, Vec<Diagnostic>> {
    let Some(sander) = &build.sander else { return Ok(None) };
    let plan = build.sled_for(lamination).filter(|_| !lamination.is_parallel());
    let kit = match plan {
        Some(plan) => {
            let mut sled = kept(sled::build(lamination, plan, sander)?, warnings);
            // Parts of two different limbs lie on one bed.
            sled.lamination = build.part_name(&lamination.name);
            Some(kept(makes::lay_out(&sled, &Means::of(build, plan, sander, lamination))?, warnings))
        }
        None => None,
    };
    let schedule = kept(passes::plan(lamination, kit.as_ref().map(|kit| &kit.sled), sander)?, warnings);
    let rounding_mm = schedule.setups.last().map_or(0.0, |setup| setup.rounding_mm);
    let sag_mm = kit.as_ref().map_or(0.0, |kit| kit.sag_mm[1]);
    let budget = budget(plan.map(|plan| (plan, &build.shop.cutter)), sander, sag_mm, rounding_mm);
    Ok(Some(Ground { lamination: lamination.clone(), kit, schedule, budget }))
}

/// The value; its warnings join the others.
fn kept<T>(reported: Reported<T>, warnings: &mut Vec<Diagnostic>) -> T {
    warnings.extend(reported.warnings);
    reported.value
}
