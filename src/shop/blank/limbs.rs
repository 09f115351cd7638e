//! Both limbs of a bow on the way from the blank: the same work is done on a limb and on the different one beside it, so that the tiller stays.

use super::{max_sides_of, narrowed, thinned};
use crate::diag::Diagnostic;
use crate::mechanics::bow::Options;
use crate::mechanics::weigher::{OtherLimb, Weigher};
use crate::model::Build;

/// A limb, and the different one on its other side.
#[derive(Debug, Clone)]
pub(super) struct Limbs {
    pub own: Build,
    pub other: Option<Build>,
}

impl Limbs {
    /// The same work done on both.
    pub fn worked(&self, work: &dyn Fn(&Build) -> Result<Build, Diagnostic>) -> Result<Limbs, Diagnostic> {
        Ok(Limbs { own: work(&self.own)?, other: self.other.as_ref().map(work).transpose()? })
    }

    pub fn thinned(&self, fraction: f64) -> Result<Limbs, Diagnostic> {
        self.worked(&|build| match build.laminations.len().checked_sub(1) {
            Some(lamination) => thinned(build, lamination, fraction),
            None => Ok(build.clone()),
        })
    }

    pub fn narrowed(&self, fraction: f64) -> Limbs {
        Limbs { own: narrowed(&self.own, fraction), other: self.other.as_ref().map(|other| narrowed(other, fraction)) }
    }

    /// The one that stays nearer to its limit says how far both go.
    pub fn least(&self, of: impl Fn(&Build) -> f64) -> f64 {
        self.other.iter().map(&of).fold(of(&self.own), f64::min)
    }

    /// Force at full draw, N; `other` says how the other limb is solved.
    pub fn weight_n(&self, options: &Options, other: Option<OtherLimb<'_>>) -> Result<f64, Diagnostic> {
        let other = other.zip(self.other.as_ref()).map(|(limb, build)| OtherLimb { build, ..limb });
        Weigher::beside(options, other).weight_n(&self.own)
    }
}

/// Force at full draw, N.
pub(super) type WeightFn<'a> = dyn Fn(&Limbs) -> Result<f64, Diagnostic> + 'a;

/// The share of the width now at which only [`super::SIDES_STAY`] of the design's is left somewhere on either limb.
pub(super) fn max_sides(design: &Limbs, now: &Limbs) -> f64 {
    let others = design.other.iter().zip(&now.other);
    others.map(|(design, now)| max_sides_of(design, now)).fold(max_sides_of(&design.own, &now.own), f64::min)
}
