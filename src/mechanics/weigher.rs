//! Forces at full draw of bows that are nearly alike, each found from the one before: of two limbs alike, or of a limb beside a different one.

use super::bow::{Bow, Options};
use super::draw::{self, DrawCurve, DrawWeight};
use super::pair::PairOptions;
use super::tillering::{LaidPair, LoadCase, SolvedPair};
use crate::diag::Diagnostic;
use crate::model::Build;
use crate::model::limb::LimbSide;

/// The limb on the other side, where it is a different one, and how it would be solved by itself.
#[derive(Debug, Clone, Copy)]
pub struct OtherLimb<'a> {
    pub is: LimbSide,
    pub build: &'a Build,
    pub options: &'a Options,
}

impl OtherLimb<'_> {
    /// Both builds, the upper limb's first.
    pub fn upper_first<'b>(&'b self, own: &'b Build) -> [&'b Build; 2] {
        self.is.other().upper_first(own, self.build)
    }

    /// How both are solved together, the own limb with these options.
    pub fn pair(&self, own: &Options) -> PairOptions {
        let [upper, lower] = self.is.other().upper_first(own, self.options);
        PairOptions::of(upper, lower)
    }
}

/// Weighs builds that are nearly alike.
#[derive(Debug, Clone)]
pub struct Weigher<'a> {
    options: Options,
    other: Option<OtherLimb<'a>>,
    last: Option<DrawWeight>,
    last_pair: Option<SolvedPair>,
}

impl<'a> Weigher<'a> {
    /// With these options, but no stations: only the force is asked for. Of limbs that have another one on their other side; `None` for two alike.
    #[must_use]
    pub fn beside(options: &Options, other: Option<OtherLimb<'a>>) -> Weigher<'a> {
        let options = Options { station_step_mm: f64::MAX, ..options.clone() };
        Weigher { options, other, last: None, last_pair: None }
    }

    /// Begins with the bow of this force curve, where it is known and its limbs are alike.
    #[must_use]
    pub fn near(mut self, curve: Option<&DrawCurve>) -> Weigher<'a> {
        self.last = curve.filter(|curve| curve.other.is_none()).map(DrawWeight::of_curve);
        self
    }

    /// Force at full draw, N: of two such limbs, or of one beside the other limb as that is.
    pub fn weight_n(&mut self, build: &Build) -> Result<f64, Diagnostic> {
        let Some(other) = self.other else {
            let found = draw::weight_near(&Bow::of(build, &self.options)?, &self.options, self.last.as_ref())?;
            self.last = Some(found);
            return Ok(found.force_n);
        };
        self.pair_n(other.upper_first(build), &other)
    }

    /// Force at full draw once the same work is done on both limbs, N.
    pub fn worked_n(&mut self, build: &Build, work: &dyn Fn(&Build) -> Result<Build, Diagnostic>) -> Result<f64, Diagnostic> {
        let own = work(build)?;
        let Some(other) = self.other else { return self.weight_n(&own) };
        self.pair_n(other.is.other().upper_first(&own, &work(other.build)?), &other)
    }

    fn pair_n(&mut self, [upper, lower]: [&Build; 2], other: &OtherLimb<'a>) -> Result<f64, Diagnostic> {
        let laid = LaidPair::of(upper, lower, &other.pair(&self.options), &[])?;
        let [brace_mm, full_mm] = laid.design_mm()?;
        let drawn = LoadCase { brace_mm, pivot_to_nock_mm: Some(full_mm) };
        let solved = laid.bend(laid.limbs(), drawn, 0.0, self.last_pair.as_ref())?;
        self.last_pair = Some(solved);
        Ok(solved.force_n)
    }
}
