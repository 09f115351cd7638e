//! A build file read and planned as far as the machine: every fault and warning of it, without solving the bow.

pub mod files;

use taperwright::buildfile::{self, Source};
use taperwright::diag::{Diagnostic, Reported};
use taperwright::model::Build;
use taperwright::shop::kit::Means;
use taperwright::shop::makes;
use taperwright::shop::{passes, sled};

/// What is said about a file, its lengths in the file's units, and where each place stands in it.
pub struct Planned {
    pub source: Source,
    pub faults: Vec<Diagnostic>,
    pub warnings: Vec<Diagnostic>,
}

pub fn planned(text: &str) -> Planned {
    let (source, outcome) = buildfile::read("limits.toml", text);
    let (mut faults, mut warnings) = (Vec::new(), Vec::new());
    if let Some(build) = kept(outcome, &mut faults, &mut warnings) {
        let (mut later, mut told) = (Vec::new(), Vec::new());
        shop(&build, &mut later, &mut told);
        faults.extend(later.iter().map(|fault| fault.spoken(build.units)));
        warnings.extend(told.iter().map(|warning| warning.spoken(build.units)));
    }
    Planned { source, faults, warnings }
}

fn kept<T>(
    outcome: Result<Reported<T>, Vec<Diagnostic>>,
    faults: &mut Vec<Diagnostic>,
    warnings: &mut Vec<Diagnostic>,
) -> Option<T> {
    match outcome {
        Ok(reported) => {
            warnings.extend(reported.warnings);
            Some(reported.value)
        }
        Err(found) => {
            faults.extend(found);
            None
        }
    }
}

/// Sleds, what they are made of, and the passes on them.
fn shop(build: &Build, faults: &mut Vec<Diagnostic>, warnings: &mut Vec<Diagnostic>) {
    let Some(sander) = &build.sander else { return };
    for lamination in build.laminations.iter().filter(|lamination| !lamination.ground) {
        let plan = build.sled.as_ref().filter(|_| !lamination.is_parallel());
        let made = plan.map(|plan| (plan, kept(sled::build(lamination, plan, sander), faults, warnings)));
        let sled = match made {
            Some((_, None)) => continue,
            Some((plan, Some(sled))) => {
                kept(makes::lay_out(&sled, &Means::of(build, plan, sander, lamination)), faults, warnings);
                Some(sled)
            }
            None => None,
        };
        kept(passes::plan(lamination, sled.as_ref(), sander), faults, warnings);
    }
}
