//! Does a strip bear what is asked of it? One answer for every command, sheet and page.
//!
//! A strip is bent twice, and each has its own limits:
//!
//! | when | measured against | goes | caution | stop |
//! |---|---|---|---|---|
//! | in the bow, braced and drawn, what the glue-up left included | its wood's breaking strain `ε_b` | up to 100 % | up to 115 % | beyond |
//! | dry, once, over the riser's fade or a form | [`Limits`] and `ε_b` | up to 1.0 % and ⅚ `ε_b` | up to 1.4 % and `ε_b` | beyond |
//!
//! `ε_b` is the handbook's bending strength over its bending modulus: the surface strain at the average breaking load if wood stayed elastic. It
//! does not, so that sound bows work beyond it; and pieces scatter by a sixth either way, so that below it some break. Designs of ours stay
//! below [`COMFORTABLE`].
//!
//! Common practice, no source: the shares; the dry limits are proposals of the size of old tables for bending dry boards (radius over
//! thickness 35 to 50).

use super::fade::{Climb, FadeCheck};
use super::glueup::{Bends, Bent, GlueUp};
use super::section::Part;
use super::strain::Worst;
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::units::limit;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    Goes,
    Caution,
    /// Not without a test: in the bow most boards will not bear it, dry a test strip is bent first.
    Stop,
}

impl Verdict {
    /// The word for it wherever the strain is shown.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Goes => "goes",
            Verdict::Caution => "caution",
            Verdict::Stop => "stop",
        }
    }
}

/// Share of the breaking strain up to which a design is easy to build: room for the scatter of strip, station and tiller. Common practice,
/// no source; higher, and ordinary boards of a batch break, lower, and every bow gets wide and long.
pub const COMFORTABLE: f64 = 0.95;
/// Share of the breaking strain up to which nothing is said: half of all boards bear more.
const AVERAGE: f64 = 1.0;
/// Share above which most boards will not bear it, although handbook strength over modulus understates the strain at which wood breaks.
/// Lower, and every sound flatbow of old is called broken; higher, and what breaks passes.
const BEYOND_MOST: f64 = 1.15;
/// Share for a dry strip above which one in six breaks: the average less a standard deviation.
const DRY: f64 = 5.0 / 6.0;

/// Surface strains of a dry lamination bent over a fade or onto a form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    pub caution: f64,
    /// Stop, and bend a test strip first.
    pub stop: f64,
}

impl Default for Limits {
    fn default() -> Self {
        Limits { caution: 0.010, stop: 0.014 }
    }
}

impl Limits {
    /// The same for a wood that breaks at `breaking_strain` on average, where that is published.
    pub fn of_wood(self, breaking_strain: Option<f64>) -> Limits {
        let breaking = breaking_strain.unwrap_or(f64::INFINITY);
        Limits { caution: self.caution.min(DRY * breaking), stop: self.stop.min(breaking) }
    }

    /// Of a dry strip bent to this surface strain.
    pub fn verdict(self, strain: f64) -> Verdict {
        judged(strain.abs(), self.caution, self.stop)
    }
}

/// Of a piece on its way to a form: of a loose lamination; what is glued already, and the riser, are not judged by this.
pub fn of_bent(build: &Build, bent: &Bent) -> Option<Verdict> {
    match bent.what {
        Bends::Layer(Part::Lamination(index)) => {
            Some(Limits::default().of_wood(build.laminations[index].wood.breaking_strain).verdict(bent.strain))
        }
        _ => None,
    }
}

/// Of a part that works at this share of its breaking strain in the bow.
pub fn in_the_bow(share_of_breaking: f64) -> Verdict {
    judged(share_of_breaking, AVERAGE, BEYOND_MOST)
}

fn judged(value: f64, caution: f64, stop: f64) -> Verdict {
    if limit::above(value, stop) {
        Verdict::Stop
    } else if limit::above(value, caution) {
        Verdict::Caution
    } else {
        Verdict::Goes
    }
}

/// What helps a part that works too hard in the bow, the first that takes most away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lever {
    /// The glue-up left a good share of it where the strip lies on the fade.
    LongerFade,
    /// The glue-up left a good share of it out on the limb.
    GentlerForm,
    /// The draw makes it.
    ThinnerLimb,
}

/// Share of the strain from which what the glue-up left is the thing to lessen first. Less, and taking it all away would not bring a caution to rest.
const LEFT_COUNTS: f64 = 0.15;

impl Lever {
    pub fn of(build: &Build, worst: &Worst) -> Lever {
        if worst.left * worst.strain.signum() < LEFT_COUNTS * worst.strain.abs() {
            return Lever::ThinnerLimb;
        }
        let on_fade = build.riser.as_ref().is_some_and(|riser| {
            worst.s_mm <= riser.feather_station_mm() && matches!(worst.part, Part::Lamination(index) if riser.position <= index)
        });
        if on_fade { Lever::LongerFade } else { Lever::GentlerForm }
    }

    fn words(self) -> &'static str {
        match self {
            Lever::LongerFade => {
                "the glue-up leaves much of it: a longer fade, a thinner strip over it, or one bent beforehand helps most"
            }
            Lever::GentlerForm => {
                "the glue-up leaves much of it: less reflex helps, or more and thinner strips held so that the same shape is left"
            }
            Lever::ThinnerLimb => {
                "a longer or a wider bow with a thinner limb, or a lighter one, helps: `taperwright size` says how much"
            }
        }
    }
}

/// A warning for a part that is bent beyond what its wood bears on average.
pub fn warning(build: &Build, worst: &Worst) -> Option<Diagnostic> {
    let share = worst.share_of_breaking?;
    let verdict = worst.verdict().filter(|verdict| *verdict != Verdict::Goes)?;
    let (place, name) = match worst.part {
        Part::Lamination(index) => (build.laminations[index].place.clone(), build.laminations[index].wood.name.as_str()),
        _ => (Place::new("riser"), "the riser's wood"),
    };
    let lever = Lever::of(build, worst);
    let left = match lever {
        Lever::ThinnerLimb => String::new(),
        _ => format!(" ({:.2} of it left by the glue-up)", 100.0 * worst.left),
    };
    let told =
        if verdict == Verdict::Stop { "stop: most boards will not bear it" } else { "caution: choose the straightest piece" };
    let message = format!(
        "surface strain {:.2} percent{left} at station {} is {:.0} percent of the average breaking strain of {name}; {told}",
        100.0 * worst.strain,
        mm(worst.s_mm),
        100.0 * share
    );
    let mut warning = Diagnostic::warning(place, message).hint(lever.words());
    if lever != Lever::ThinnerLimb {
        warning = warning.hint(Lever::ThinnerLimb.words());
    }
    Some(warning)
}

/// One strip: how it is bent dry, how it works in the bow, and the worse of both verdicts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
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
pub fn strips(build: &Build, glued: Option<&GlueUp>, fades: Option<&FadeCheck>, worst: &[Worst]) -> Vec<Strip> {
    (0..build.laminations.len())
        .map(|lamination| {
            let part = Part::Lamination(lamination);
            let on_form = glued
                .iter()
                .flat_map(|glued| &glued.stages)
                .flat_map(|stage| &stage.bent)
                .filter(|bent| bent.what == Bends::Layer(part))
                .filter_map(|bent| {
                    let verdict = of_bent(build, bent)?;
                    Some(Dry { strain: bent.strain, s_mm: bent.s_mm, on_fade: bent.on_fade, verdict })
                });
            let on_fade = fades.iter().flat_map(|fades| &fades.climbs).filter(|climb| climb.lamination == lamination).map(
                |Climb { strain, s_mm, verdict, .. }| Dry { strain: *strain, s_mm: *s_mm, on_fade: true, verdict: *verdict },
            );
            let dry = on_form.chain(on_fade).max_by(|a, b| a.verdict.cmp(&b.verdict).then(a.strain.total_cmp(&b.strain)));
            let in_the_bow = worst.iter().find(|worst| worst.part == part).copied();
            let verdicts = [dry.map(|dry| dry.verdict), in_the_bow.and_then(|worst| worst.verdict())];
            Strip { lamination, dry, in_the_bow, verdict: verdicts.into_iter().flatten().max().unwrap_or(Verdict::Goes) }
        })
        .collect()
}
