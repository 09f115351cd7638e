//! What do the files of two different limbs have to say alike, and what keeps them from being made together?

use super::Job;
use super::balance::LimbFaults;
use super::limbs::{full_strips_alike, one_cutter, one_pile, one_riser};
use super::shooting::one_string;
use crate::diag::Diagnostic;
use crate::model::limb::LimbSide;

/// What both files have to say alike, since it is of the bow and of neither limb alone, by the start of its keys: what [`super::one_draw`], [`one_riser`] and
/// [`one_string`] hold against each other, and the wish that both are solved for.
const OF_BOTH: [&str; 14] = [
    "target.draw_weight",
    "target.finishing",
    "target.positive_tiller",
    "target.draw_length",
    "target.brace_height",
    "riser.depth",
    "riser.across",
    "riser.layers",
    "riser.width",
    "riser.overlay.depth",
    "riser.overlay.wood",
    "riser.grip",
    "riser.shelf",
    "string",
];

/// The width at the bow's centre, where both halves meet: of an outline as wide all along, or of one by points.
const AT_CENTRE: [&str; 2] = ["outline.width", "outline.width[0][1]"];

/// Whether a key's value has to be one for both limbs of a bow.
pub fn is_of_both(key: &str) -> bool {
    let below = |key: &str, of: &str| key.strip_prefix(of).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']));
    // One half overlaps the other, which is in the other file.
    let meets = || key.strip_prefix("lamination[")?.rsplit_once("].").map(|(_, rest)| below(rest, "meet"));
    AT_CENTRE.contains(&key) || OF_BOTH.iter().any(|of| below(key, of)) || meets().unwrap_or(false)
}

/// What keeps two files that are one bow from being made into one folder, with whose file it is said of: its parts lie on one riser, one string, one bed,
/// and its piles are glued in one go.
pub fn unmakeable(upper: &Job, lower: &Job) -> Option<LimbFaults> {
    let mut apart = one_riser(upper.build(), lower.build());
    apart.extend(one_string(upper.build(), lower.build()));
    apart.extend(one_cutter(upper.build(), lower.build()));
    let found = |limb: LimbSide, faults: Vec<Diagnostic>| (!faults.is_empty()).then_some(LimbFaults { limb, faults });
    found(LimbSide::Lower, apart)
        .or_else(|| found(LimbSide::Upper, full_strips_alike(upper.build(), lower.build())))
        .or_else(|| found(LimbSide::Lower, full_strips_alike(lower.build(), upper.build())))
        .or_else(|| found(LimbSide::Lower, one_pile(upper, lower)))
}
