//! The lower limb of a log's bow, where it differs: what is weighed is held against the bow of both.

use super::{Background, Case};
use crate::diag::Diagnostic;
use crate::mechanics::bow::Options;
use crate::mechanics::weigher::{OtherLimb, Weigher};
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::limb::LimbSide;
use crate::shop::budget::CALIPER_MM;

impl Background {
    /// How the lower limb is solved beside an upper one with these options: it is of the same wood.
    pub(super) fn lower_options(&self, own: &Options) -> Options {
        let unstrung = self.lower.as_ref().map(|(_, unstrung)| unstrung.clone());
        Options { unstrung: unstrung.unwrap_or_default(), ..own.clone() }
    }

    /// The lower limb as it was designed, where it differs.
    pub(super) fn lower<'a>(&'a self, options: &'a Options) -> Option<OtherLimb<'a>> {
        self.lower.as_ref().map(|(build, _)| OtherLimb { is: LimbSide::Lower, build, options })
    }

    /// Force at full draw of a bow whose limb, or upper limb, is this one, N.
    pub(super) fn weight_n(&self, build: &Build, options: &Options) -> Result<f64, Diagnostic> {
        Weigher::beside(options, self.lower(&self.lower_options(options))).weight_n(build)
    }
}

impl Case<'_> {
    pub(super) fn lower_options(&self, own: &Options) -> Options {
        self.background.lower_options(own)
    }

    pub(super) fn lower<'a>(&'a self, options: &'a Options) -> Option<OtherLimb<'a>> {
        self.background.lower(options)
    }

    pub(super) fn weight_n(&self, build: &Build, options: &Options) -> Result<f64, Diagnostic> {
        self.background.weight_n(build, options)
    }

    /// Whether the lower limb differs and has a lamination of this name that is ground to other thicknesses, or none of it.
    pub(super) fn is_other_in_lower(&self, lamination: &Lamination) -> bool {
        const PLACES: u32 = 20;
        let is_same = |other: &Lamination| {
            let (from, to) = (lamination.from_mm.max(other.from_mm), lamination.to_mm.min(other.to_mm));
            let mut places = (0..=PLACES).map(|k| from + (to - from) * f64::from(k) / f64::from(PLACES));
            other.name == lamination.name
                && places.all(|s| (other.finished.at(s) - lamination.finished.at(s)).abs() <= CALIPER_MM)
        };
        self.background.lower.as_ref().is_some_and(|(lower, _)| !lower.laminations.iter().any(is_same))
    }
}
