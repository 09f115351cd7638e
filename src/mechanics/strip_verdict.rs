//! Each lamination's verdict: bent dry over the fade or onto a form, and at work in the bow.

use super::fade::{Climb, FadeCheck};
use super::glueup::{Bends, GlueUp, PieceBend};
use super::strain::{self, Worst};
use super::verdict::{Limits, Verdict};
use crate::model::Build;

/// Of a piece on its way to a form: of a loose lamination; what is glued already, and the riser, are not judged by this.
#[must_use]
pub fn of_bent(build: &Build, bent: &PieceBend) -> Option<Verdict> {
    let Bends::Layer(part) = bent.what else { return None };
    part.lamination()?;
    Some(Limits::default().of_wood(part.wood(build)?.breaking_strain).verdict(bent.strain))
}

/// One strip: how it is bent dry, how it works in the bow, and the worse of both verdicts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StripVerdict {
    /// Index into [`Build::laminations`].
    pub lamination: usize,
    /// Dry, over the fade or on the form, whichever is judged worse; `None` where it is bent as part of what is glued already.
    pub dry: Option<Dry>,
    pub in_the_bow: Option<Worst>,
    pub verdict: Verdict,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dry {
    pub strain: f64,
    pub s_mm: f64,
    pub on_fade: bool,
    pub verdict: Verdict,
}

/// Every lamination's verdict, back to belly; `worst` is empty where the bow is not drawn.
#[must_use]
pub fn strips(build: &Build, glued: Option<&GlueUp>, fades: Option<&FadeCheck>, worst: &[Worst]) -> Vec<StripVerdict> {
    (0..build.laminations.len())
        .map(|lamination| {
            let on_form = glued
                .iter()
                .flat_map(|glued| &glued.stages)
                .flat_map(|stage| &stage.bent)
                .filter(|bent| matches!(bent.what, Bends::Layer(part) if part.lamination() == Some(lamination)))
                .filter_map(|bent| {
                    let verdict = of_bent(build, bent)?;
                    Some(Dry { strain: bent.strain, s_mm: bent.s_mm, on_fade: bent.on_fade, verdict })
                });
            let on_fade = fades.iter().flat_map(|fades| &fades.climbs).filter(|climb| climb.lamination == lamination).map(
                |Climb { strain, s_mm, verdict, .. }| Dry { strain: *strain, s_mm: *s_mm, on_fade: true, verdict: *verdict },
            );
            let dry = on_form.chain(on_fade).max_by(|a, b| a.verdict.cmp(&b.verdict).then(a.strain.total_cmp(&b.strain)));
            let in_the_bow = strain::hardest_of(worst, lamination);
            let verdicts = [dry.map(|dry| dry.verdict), in_the_bow.and_then(|worst| worst.verdict())];
            StripVerdict { lamination, dry, in_the_bow, verdict: verdicts.into_iter().flatten().max().unwrap_or(Verdict::Goes) }
        })
        .collect()
}
