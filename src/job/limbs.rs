//! A bow of two different limbs: each has a job of its own, which knows the other limb's.
//!
//! A job beside another works out the bow of both: force, string, energy, tiller and speeds are the bow's, strains and what is ground are the
//! limb's own. One string serves both limbs, and one riser; [`agree`] says where the files speak of two.

use super::{Job, Refused, Unread};
use crate::diag::{Diagnostic, Place, mm};
use crate::mechanics::weigher::OtherLimb;
use crate::model::Build;
use crate::model::limb::{LimbSide, OneLimb};
use std::sync::Arc;

/// The other limb of a job's bow.
#[derive(Debug)]
pub(super) struct Beside {
    /// Which one the other is.
    pub is: LimbSide,
    /// Of the other limb's file, by itself.
    pub other: Job,
}

impl Beside {
    /// Makes a build that of one limb.
    pub fn claim(&self, build: &mut Build) {
        build.limb = Some(OneLimb {
            is: self.is.other(),
            other_file: self.other.name.clone(),
            other_title: self.other.build.title.clone(),
            other_nock_mm: self.other.build.outline.as_ref().map_or(0.0, |outline| outline.nock_mm()),
        });
        build.laminations.iter_mut().for_each(|lamination| lamination.limbs = 1);
    }

    /// As bracing and drawing see it.
    pub fn limb(&self) -> Result<OtherLimb<'_>, Refused> {
        Ok(OtherLimb { is: self.is, build: self.other.bending.build(), options: self.other.bending.options()? })
    }

    /// As the shot sees it.
    pub fn shooting(&self) -> Result<OtherLimb<'_>, Refused> {
        Ok(OtherLimb { build: self.other.shooting.build(), ..self.limb()? })
    }
}

impl Job {
    /// Both limbs of a bow, the upper one's file first: each job beside the other. Faults where the files speak of two bows come from [`agree`].
    pub fn of_two_limbs(upper: &Job, lower: &Job) -> Result<[Job; 2], Unread> {
        Ok([upper.beside(LimbSide::Lower, lower)?, lower.beside(LimbSide::Upper, upper)?])
    }

    fn beside(&self, is: LimbSide, other: &Job) -> Result<Job, Unread> {
        let beside = Arc::new(Beside { is, other: other.clone() });
        Job::after(&self.name, self.text(), self.inputs.clone(), Some(self), Some(beside))
    }
}

/// Nobody draws or braces closer than this, mm; files in inches and in millimetres round to less.
const SAME_DRAW_MM: f64 = 0.5;

/// What the lower limb's file asks for otherwise than the upper's, though one string braces and draws both.
pub fn one_draw(upper: &Build, lower: &Build) -> Vec<Diagnostic> {
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
