//! A part of the drawn bow is bent beyond what its wood bears: what is said of it, and what would help.

use super::layer_kind::LayerKind;
use super::strain::Worst;
use super::verdict::Verdict;
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;

/// What helps a part that works too hard in the bow, the first that takes most away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StrainRemedy {
    /// The glue-up left a good share of it where the strip lies on the fade.
    LongerFade,
    /// The glue-up left a good share of it out on the limb.
    GentlerForm,
    /// The draw makes it.
    ThinnerLimb,
}

/// Share of the strain from which what the glue-up left is the thing to lessen first. Less, and taking it all away would not bring a caution to rest.
const LEFT_COUNTS: f64 = 0.15;

impl StrainRemedy {
    pub fn of(build: &Build, worst: &Worst) -> StrainRemedy {
        if worst.left * worst.strain.signum() < LEFT_COUNTS * worst.strain.abs() {
            return StrainRemedy::ThinnerLimb;
        }
        let on_fade = build.riser.as_ref().is_some_and(|riser| {
            worst.s_mm <= riser.feather_station_mm() && worst.part.lamination().is_some_and(|index| riser.position <= index)
        });
        if on_fade { StrainRemedy::LongerFade } else { StrainRemedy::GentlerForm }
    }

    pub fn words(self) -> &'static str {
        match self {
            StrainRemedy::LongerFade => {
                "the glue-up leaves much of it: a longer fade, a thinner strip over it, or one bent beforehand helps most"
            }
            StrainRemedy::GentlerForm => {
                "the glue-up leaves much of it: less reflex helps, or more and thinner strips held so that the same shape is left"
            }
            StrainRemedy::ThinnerLimb => {
                "a longer or a wider bow with a thinner limb, or a lighter one, may help: `taperwright size` says which does, and how much"
            }
        }
    }
}

/// A warning for a part that is bent beyond what its wood bears on average.
#[must_use]
pub fn warning(build: &Build, worst: &Worst) -> Option<Diagnostic> {
    let fraction = worst.share_of_breaking?;
    let verdict = worst.verdict().filter(|verdict| *verdict != Verdict::Goes)?;
    let part_wood = worst.part.wood(build).map(|wood| wood.name.as_str());
    let (place, name) = match worst.part {
        LayerKind::Overlay(index) => (Place::new("overlay").index(index), build.overlays[index].wood.name.as_str()),
        LayerKind::Riser(_) => (Place::new("riser"), part_wood.unwrap_or("the riser's wood")),
        LayerKind::Footing => (Place::new("riser.footing"), part_wood.unwrap_or("the footing's wood")),
        LayerKind::RiserOverlay => (Place::new("riser.overlay"), part_wood.unwrap_or("the overlay's wood")),
        LayerKind::Glue => (Place::new("glue"), "the glue"),
        LayerKind::Lamination(index) | LayerKind::Outer(index) | LayerKind::OtherHalf(index) => {
            (build.laminations[index].place.clone(), part_wood.unwrap_or_default())
        }
    };
    let lever = StrainRemedy::of(build, worst);
    let left = match lever {
        StrainRemedy::ThinnerLimb => String::new(),
        _ => format!(" ({:.2} of it left by the glue-up)", 100.0 * worst.left),
    };
    let told =
        if verdict == Verdict::Stop { "stop: most boards will not bear it" } else { "caution: choose the straightest piece" };
    let message = message!(
        "surface strain {} percent{} at station {} is {} percent of the average breaking strain of {}; {}",
        format_args!("{:.2}", 100.0 * worst.strain),
        left,
        mm(worst.s_mm),
        format_args!("{:.0}", 100.0 * fraction),
        name,
        told
    );
    let mut warning = Diagnostic::warning(place, message).hint(lever.words());
    if lever != StrainRemedy::ThinnerLimb {
        warning = warning.hint(StrainRemedy::ThinnerLimb.words());
    }
    Some(warning)
}
