//! Two different limbs on one string: their files read and held against each other, each as a job beside the other.

use super::Ended;
use super::input::{Input, refused, show, summary};
use super::size::bow_or_fault;
use super::terminal::Terminal;
use crate::diag::{Diagnostic, SourceText};
use crate::job::{Job, one_draw};
use crate::mechanics::pair::PairCurve;
use crate::model::limb::LimbSide;
use crate::write::tile::Printed;
use std::path::{Path, PathBuf};

/// The upper limb's job and the lower one's. Both belong to one bow, so that both files ask for the same draw and brace.
pub struct TwoLimbs {
    pub upper: Job,
    pub lower: Job,
    /// The folder that paths in the lower limb's file start from.
    pub lower_folder: PathBuf,
}

impl TwoLimbs {
    /// Reads the lower limb's file; faults have been shown.
    pub fn read(upper: &Job, lower: &Path, terminal: Terminal) -> Result<TwoLimbs, Ended> {
        TwoLimbs::read_for(upper, lower, Printed::EXACT, terminal)
    }

    /// The same for a printer that prints so.
    pub fn read_for(upper: &Job, lower: &Path, printed: Printed, terminal: Terminal) -> Result<TwoLimbs, Ended> {
        let input = Input::read(lower, terminal)?;
        let lower = input.open_for(printed, terminal)?;
        bow_or_fault(&lower, terminal)?;
        let differs = one_draw(upper.build(), lower.build());
        let [upper, lower] = Job::of_two_limbs(upper, &lower).map_err(|unread| refused(&unread.faults, upper, terminal))?;
        let two = TwoLimbs { upper, lower, lower_folder: input.folder };
        two.refuse(differs, terminal)?;
        Ok(two)
    }

    pub fn limbs(&self) -> [ShownLimb<'_>; 2] {
        LimbSide::BOTH.map(|is| self.limb(is))
    }

    pub fn limb(&self, is: LimbSide) -> ShownLimb<'_> {
        let job = match is {
            LimbSide::Upper => &self.upper,
            LimbSide::Lower => &self.lower,
        };
        ShownLimb { is, job }
    }

    /// Shows what the lower limb's file has against being one bow with the upper one's, if anything.
    pub fn refuse(&self, faults: Vec<Diagnostic>, terminal: Terminal) -> Result<(), Ended> {
        if faults.is_empty() { Ok(()) } else { Err(self.limb(LimbSide::Lower).refused(faults, terminal)) }
    }

    /// What they draw; faults, and what the glue-ups warn of, have been shown.
    pub fn curve(&self, terminal: Terminal) -> Result<&PairCurve, Ended> {
        for limb in self.limbs() {
            match limb.job.glue_up_warnings() {
                Ok(warnings) => limb.show(warnings.to_vec(), terminal),
                Err(found) => return Err(limb.refused(found.faults, terminal)),
            }
        }
        let solved = self.upper.pair_curve().map_err(|found| self.limb(LimbSide::Upper).refused(found.faults, terminal))?;
        Ok(solved.expect("the upper limb is beside the lower one"))
    }
}

/// One limb of a pair, with the file that describes it.
pub struct ShownLimb<'a> {
    pub is: LimbSide,
    pub job: &'a Job,
}

impl ShownLimb<'_> {
    /// Shows diagnostics as those of this limb and its file.
    pub fn show(&self, diagnostics: Vec<Diagnostic>, terminal: Terminal) {
        let name = SourceText::name(self.job.source());
        let told: Vec<Diagnostic> = diagnostics
            .into_iter()
            .map(|told| Diagnostic { message: message!("{} limb, {}: {}", self.is.word(), name, told.message), ..told })
            .collect();
        show(&told, self.job.source(), self.job.build().units, terminal);
    }

    pub fn refused(&self, faults: Vec<Diagnostic>, terminal: Terminal) -> Ended {
        self.show(faults.clone(), terminal);
        summary(&faults, SourceText::name(self.job.source()), terminal);
        Ended::BuildFile
    }

    /// `upper limb, FILE`.
    pub fn heading(&self) -> String {
        format!("{} limb, {}", self.is.word(), SourceText::name(self.job.source()))
    }
}
