//! The finished bows that a build names: each computed, and held against what it weighed.

use super::Named;
use super::bow::{options, unstrung};
use crate::buildfile;
use crate::diag::{Diagnostic, Place, newtons};
use crate::mechanics::calibration::{Calibrated, ComputedWeight, WeightObservation, calibrated};
use crate::mechanics::draw;
use crate::model::build::{FinishedBow, LearntStiffness};

/// What the builder's own bows say.
#[derive(Debug)]
pub(super) struct FinishedBows {
    /// What it was read from.
    pub bows: Vec<FinishedBow>,
    pub learnt: Option<LearntStiffness>,
    pub readings: Vec<WeightObservation>,
    pub calibrated: Option<Calibrated>,
}

impl FinishedBows {
    /// Computes each bow from its text; every fault at once. What was learnt of more bows than these stands before them.
    pub fn read(bows: &[FinishedBow], learnt: Option<LearntStiffness>, named: &Named) -> Result<FinishedBows, Vec<Diagnostic>> {
        let (mut readings, mut faults) = (Vec::new(), Vec::new());
        for bow in bows {
            match finished(bow, named) {
                Ok(reading) => readings.push(reading),
                Err(fault) => faults.push(fault),
            }
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let known = learnt.map(|known| Calibrated { factor: known.factor, spread: known.spread, bows: known.bows as usize });
        Ok(FinishedBows { bows: bows.to_vec(), learnt, calibrated: known.or_else(|| calibrated(&readings)), readings })
    }
}

fn finished(bow: &FinishedBow, named: &Named) -> Result<WeightObservation, Diagnostic> {
    let reading = design(&bow.build_file, named, &bow.place.key("build"))?.weighed(bow.weight_n, bow.finishing_n);
    // A factor beyond this is a slip of units or of the file, not wood.
    let ratio = reading.factor();
    if !(0.5..=2.0).contains(&ratio) {
        let message = message!(
            "`{}` weighs {}, {} more before finishing, and is computed at {}: {} times is out of all reason",
            bow.build_file,
            newtons(bow.weight_n),
            newtons(reading.finishing_n),
            newtons(reading.computed_n),
            format_args!("{:.2}", ratio)
        );
        return Err(Diagnostic::fault(bow.place.key("weight"), message)
            .hint("check the weight's unit, its draw length and the old build file"));
    }
    Ok(reading)
}

/// What another build's bow weighs with the handbook's stiffness; `place` is where it is named.
pub(super) fn design(build_file: &str, named: &Named, place: &Place) -> Result<ComputedWeight, Diagnostic> {
    let fault = |why: String| Diagnostic::fault(place.clone(), format!("`{build_file}`: {why}"));
    let text = named.text(build_file).map_err(|why| fault(why.to_owned()).hint("paths start from this file's folder"))?;
    let (_, outcome) = buildfile::read(build_file, text);
    let build = outcome.map_err(|faults| fault(format!("it has {} faults, first {}", faults.len(), faults[0])))?.value;
    let unstrung = unstrung(&build).map_err(|faults| fault(faults[0].to_string()))?.value;
    let options = options(&build, unstrung, None);
    let computed_n = draw::weight_of(&build, &options).map_err(|found| fault(found.to_string()))?;
    Ok(ComputedWeight::of(&build, computed_n))
}
