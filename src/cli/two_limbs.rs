//! Two different limbs on one string: their files read and held against each other, and what they draw together. For `bow` and `shot`.

use super::Ended;
use super::input::{Input, show, summary};
use super::terminal::Terminal;
use crate::diag::{Diagnostic, Place, SourceText, mm};
use crate::job::{Job, Refused, tiller_stations};
use crate::mechanics::pair::{self, PairCurve, PairOptions};
use crate::model::Build;
use std::path::Path;

/// The upper limb's job and the lower one's. Both belong to one bow, so that both files ask for the same draw and brace.
pub struct TwoLimbs<'a> {
    upper: &'a Job,
    pub lower: Job,
}

impl<'a> TwoLimbs<'a> {
    /// Reads the lower limb's file; faults have been shown.
    pub fn read(upper: &'a Job, lower: &Path, terminal: Terminal) -> Result<TwoLimbs<'a>, Ended> {
        let lower = Input::read(lower, terminal).and_then(|input| input.open(terminal))?;
        let two = TwoLimbs { upper, lower };
        two.refuse(one_draw(upper.build(), two.lower.build()), terminal)?;
        Ok(two)
    }

    pub fn limbs(&self) -> [ShownLimb<'_>; 2] {
        [ShownLimb { is: "upper", job: self.upper }, ShownLimb { is: "lower", job: &self.lower }]
    }

    /// Shows what the lower limb's file has against being one bow with the upper one's, if anything.
    pub fn refuse(&self, faults: Vec<Diagnostic>, terminal: Terminal) -> Result<(), Ended> {
        if faults.is_empty() { Ok(()) } else { Err(self.limbs()[1].refused(faults, terminal)) }
    }

    /// How both are solved together.
    pub fn options(&self) -> Result<PairOptions, Refused> {
        Ok(PairOptions {
            options: self.upper.solver_options()?.clone(),
            lower_unstrung: self.lower.solver_options()?.unstrung.clone(),
            // Where builders lay the square: at the fades' ends, and at round places out to the nocks.
            tiller_stations_mm: tiller_stations(self.upper.build()),
            ..PairOptions::default()
        })
    }

    /// What they draw; faults, and what the glue-ups warn of, have been shown.
    pub fn curve(&self, terminal: Terminal) -> Result<PairCurve, Ended> {
        for limb in self.limbs() {
            match limb.job.glue_up_warnings() {
                Ok(warnings) => limb.show(warnings.to_vec(), terminal),
                Err(found) => return Err(limb.refused(found.faults, terminal)),
            }
        }
        let solved =
            || -> Result<PairCurve, Refused> { Ok(pair::curve(self.upper.build(), self.lower.build(), &self.options()?)?.value) };
        solved().map_err(|found| self.limbs()[0].refused(found.faults, terminal))
    }
}

/// One limb of a pair, with the file that describes it.
pub struct ShownLimb<'a> {
    pub is: &'static str,
    pub job: &'a Job,
}

impl ShownLimb<'_> {
    /// Shows diagnostics as those of this limb and its file.
    pub fn show(&self, diagnostics: Vec<Diagnostic>, terminal: Terminal) {
        let name = SourceText::name(self.job.source());
        let told: Vec<Diagnostic> = diagnostics
            .into_iter()
            .map(|told| Diagnostic { message: message!("{} limb, {}: {}", self.is, name, told.message), ..told })
            .collect();
        show(&told, self.job.source(), self.job.build().units, terminal);
    }

    pub fn refused(&self, faults: Vec<Diagnostic>, terminal: Terminal) -> Ended {
        self.show(faults.clone(), terminal);
        summary(&faults, SourceText::name(self.job.source()), terminal);
        Ended::BuildFile
    }
}

/// Nobody draws or braces closer than this, mm; files in inches and in millimetres round to less.
const SAME_DRAW_MM: f64 = 0.5;

/// What the lower limb's file asks for otherwise than the upper's, though one string braces and draws both.
fn one_draw(upper: &Build, lower: &Build) -> Vec<Diagnostic> {
    let (Some(upper), Some(lower)) = (upper.target, lower.target) else { return Vec::new() };
    // The lower file's draw length, counted as that file counts it.
    let draw_length_mm = upper.pivot_to_nock_mm + lower.draw_length_mm - lower.pivot_to_nock_mm;
    let rows = [
        ("draw_length", "draw length", lower.draw_length_mm, draw_length_mm),
        ("brace_height", "brace height", lower.brace_height_mm, upper.brace_height_mm),
    ];
    rows.into_iter()
        .filter(|(_, _, own, wanted)| SAME_DRAW_MM < (own - wanted).abs())
        .map(|(key, what, own, wanted)| {
            let message =
                message!("its {} is {}, the upper limb's {}, but one string serves both limbs", what, mm(own), mm(wanted));
            Diagnostic::fault(Place::new("target").key(key), message).hint(message!("write `{}` = {}", key, mm(wanted)))
        })
        .collect()
}
