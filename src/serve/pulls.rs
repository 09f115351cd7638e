//! Figures that pull: a weight, a strain or a bow of a series is wished, and the values follow that make it so.

use super::desk::{Desk, Refusal, Tried, of_upper};
use super::jobs::{BowJobs, FileJob, parted_names};
use super::levers;
use super::two_limbs;
use crate::buildfile::edit::{Edit, rewritten};
use crate::diag;
use crate::job::{BalanceBy, Easing, Job, LimbFaults, PairStanding};
use crate::model::Build;
use crate::model::limb::LimbSide;
use crate::units::fixed;

impl Desk {
    /// The free laminations solved for the draw weight that the values ask for, and of two different limbs for their balance; what is tried then, and
    /// what moved.
    pub fn solve(&mut self, changes: &[Tried], free: &[String]) -> Result<(Vec<Tried>, Vec<String>), Refusal> {
        let tried = self.tried(changes)?;
        let files = tried.files(&self.of_both);
        let (mut told, after) = match tried.both(&self.of_both) {
            None => {
                let job = tried.bow();
                let sized = job.sized_by(free).map_err(|found| self.refused(&tried, &of_upper(found)))?;
                let warnings = sized.warnings.iter().map(|warning| diag::sentence(&warning.message.spoken(job.build().units)));
                (warnings.collect(), vec![sized.value.build])
            }
            Some(both) => {
                let ([upper, lower], free) = (both.map(|file| file.job), parted_names(free));
                let found = Job::balanced_by(upper, lower, free.each_ref().map(Vec::as_slice), BalanceBy::Tiller);
                let found = found.map_err(|found| self.refused(&tried, &found))?;
                let told = two_limbs::balanced_words(both, &found);
                (told, found.limbs.to_vec())
            }
        };
        let (mut all, mut edited) = (changes.to_vec(), Vec::new());
        for (file, after) in files.iter().zip(&after) {
            let edits = self.carried_over(&mut all, &tried, file, after)?;
            edited.extend(edits.iter().map(|edit| moved(file, edit)));
        }
        told.append(&mut edited);
        if tried.two().is_some() {
            told.push(self.balance_words(&all)?);
        }
        Ok((all, told))
    }

    /// How the bow of two limbs stands with these values, as they are rounded.
    fn balance_words(&mut self, changes: &[Tried]) -> Result<String, Refusal> {
        let tried = self.tried(changes)?;
        let Some([upper, lower]) = tried.two() else { return Ok(String::new()) };
        let curve = upper.pair_curve().map_err(|found| self.refused(&tried, &of_upper(found)))?;
        let units = upper.build().units;
        let standing = curve.map(|curve| PairStanding::of(curve, [upper.build(), lower.build()]).farther_words(units));
        Ok(format!("At brace the upper limb stands {} farther from the string.", standing.unwrap_or_default()))
    }

    /// What is tried for the bow of this weight in the file's series.
    pub fn series_bow(&mut self, weight: &str) -> Result<Vec<Tried>, Refusal> {
        let bow = self.file_bow()?;
        if bow.two().is_some() {
            return Err(Refusal::Cannot(two_limbs::NO_SERIES.into()));
        }
        let series = bow.bow().series().map_err(|found| self.refused(bow, &of_upper(found)))?;
        let Some(one) = series.and_then(|series| series.bows.into_iter().find(|one| one.words == weight)) else {
            return Err(Refusal::Cannot(format!("the file's series has no bow of {weight}")));
        };
        let mut all = vec![Tried { key: "target.draw_weight".into(), value: one.words.clone() }];
        let tried = self.tried(&all)?;
        let file = self.of_limb(&tried, LimbSide::Upper);
        self.carried_over(&mut all, &tried, &file, one.job.build())?;
        Ok(all)
    }

    /// The length, or the widths, at which the hardest-worked part works at `percent` of what breaks it; no values where none does, and why.
    pub fn ease(
        &mut self,
        changes: &[Tried],
        percent: f64,
        by: Easing,
        free: &[String],
    ) -> Result<(Option<Vec<Tried>>, Vec<String>), Refusal> {
        let tried = self.tried(changes)?;
        if tried.two().is_some() {
            return Ok((None, vec![two_limbs::NOT_EASED.to_owned()]));
        }
        let job = tried.bow();
        let (what, bring) = match by {
            Easing::Longer => ("length", "brings"),
            Easing::Wider => ("widths", "bring"),
        };
        let eased = match job.eased(0.01 * percent, by, free) {
            Ok(eased) => eased,
            Err(refused) => {
                let stops = format!("No {what} within reason {bring} it to {} percent.", fixed(percent, 0));
                let units = job.build().units;
                let why = refused.faults.iter().flat_map(|fault| {
                    let fault = fault.words(units);
                    std::iter::once(fault.message).chain(fault.hints)
                });
                return Ok((None, std::iter::once(stops).chain(why.map(|words| diag::sentence(&words))).collect()));
            }
        };
        let file = self.of_limb(&tried, LimbSide::Upper);
        let mut all = changes.to_vec();
        let edits = self.carried_over(&mut all, &tried, &file, &eased.build)?;
        let told = format!(
            "All {what} times {}: the hardest-worked part stands at {} percent.",
            fixed(eased.times, 3),
            fixed(percent, 0)
        );
        Ok((Some(all), std::iter::once(told).chain(edits.iter().map(|edit| moved(&file, edit))).collect()))
    }

    /// Puts the values at which `after` differs from a file of the tried bow among the others.
    fn carried_over(
        &self,
        all: &mut Vec<Tried>,
        tried: &BowJobs,
        file: &FileJob<'_>,
        after: &Build,
    ) -> Result<Vec<Edit>, Refusal> {
        let limb = file.limb.unwrap_or(LimbSide::Upper);
        let rewritten = rewritten(file.job.source(), file.job.build(), after);
        let edits = rewritten.map_err(|fault| self.refused(tried, &LimbFaults { limb, faults: vec![fault] }))?.edits;
        for edit in &edits {
            let key = file.key(&file.job.source().key_of(&edit.place));
            all.retain(|tried| tried.key != key);
            all.push(Tried { key, value: edit.now.clone() });
        }
        Ok(edits)
    }
}

/// `core, thickness at the butt: from 0.150 to 0.146`.
fn moved(file: &FileJob<'_>, edit: &Edit) -> String {
    let words = file.part_name(&levers::words(file.job, &edit.place));
    if edit.was.is_empty() { format!("{words}: {}", edit.now) } else { format!("{words}: from {} to {}", edit.was, edit.now) }
}
