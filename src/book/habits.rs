//! Habits of the shop that belong to a build, each for the place in the order of the work where it is wanted. All of them are common
//! practice, and said to be; none has a source, and none gives a number that the program works with.

use super::block::{Block, Text};
use super::say::Say;
use crate::mechanics::glueup::Stage;
use crate::model::Build;
use crate::model::lamination::{Lamination, Pieces};
use crate::model::wood::MaterialKind;
use crate::model::workshop::Held;
use crate::report::LaminationRow;

/// A sled longer than this tips as it leaves: a machine's own tables carry about half of it. Common practice, no source.
const CARRIED_MM: f64 = 900.0;

/// How every one of them begins.
pub const MARK: &str = "Common practice, no source:";

/// One of them, marked as what it is.
pub(super) fn habit(text: impl Into<Text>) -> Block {
    Block::Paragraph(Text::strong(MARK).then(" ").then(text))
}

/// Crown, nodes and rind of bamboo, before anything is cut.
pub(super) fn bamboo(lamination: &Lamination) -> Option<Block> {
    lamination.woods().any(|wood| wood.kind == MaterialKind::Bamboo).then(|| {
        habit(
            "bamboo is flattened and ground from its inside alone; the rind stays whole, and node ridges are rubbed down lightly, never \
             through. Lay the strip so that its nodes stand alike from both tips. Saw it to the outline before it is thinned: the crown \
             leaves thick edges where a strip is trimmed afterwards, above all near the tips. Edges of even thickness are the gauge. A \
             fresh edge cuts like a razor: break it first.",
        )
    })
}

/// The strips of a pair change sides.
pub(super) fn pairs(build: &Build) -> Option<Block> {
    let sander = build.sander.as_ref()?;
    let is_pair =
        |lamination: &&Lamination| !lamination.ground && lamination.pieces == Pieces::Halves && 1 < lamination.strips_per_bow();
    let pair = build.laminations.iter().find(is_pair)?;
    let how = if 1 < sander.together_for(pair) {
        "run side by side at every setting, and change sides from one setting to the next: what a drum out of parallel takes more of, it \
         takes from both"
    } else {
        "run one after the other at every setting, before the gap is changed, along the same track under the drum"
    };
    Some(habit(format!(
        "the two strips of a pair {how}. Letter, face and butt end are marked before the first pass, and go in alike."
    )))
}

/// Something to run out on, behind the machine and before it.
pub(super) fn outfeed(build: &Build, rows: &[LaminationRow]) -> Option<Block> {
    let longest = rows
        .iter()
        .enumerate()
        .filter_map(|(k, row)| row.sled.as_ref().map(|sled| (k, sled.length_mm)))
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|(_, length)| CARRIED_MM < *length)?;
    let length = Say(build.units).wood(longest.1, format!("/laminations/{}/sled/length_mm", longest.0));
    Some(habit(
        Text::from("the longest sled is ")
            .then(length)
            .then(", more than a machine's own tables carry. Set stands or a bench to the height of the table, behind the machine and before it, as \
                   far out as the sled reaches; one that tips as it leaves lifts the strip's end into the cutter."),
    ))
}

/// What keeps laminations whole over the riser's ramps.
pub(super) fn ramps() -> Block {
    habit(
        "a strip splits where it climbs the ramp, and there first where its grain runs out: choose straight grain for that place. Bend it \
         over the ramp dry and leave it a while; warm a stubborn one before it is bent and let it cool before glue; press with a \
         rubber-faced strip bent to the ramp; cheeks of plywood beside the fades keep the pile from slipping sideways. What does not lie \
         down dry is made thinner, or the ramp longer.",
    )
}

/// Before the pieces of a later stage meet what is glued already.
pub(super) fn second_stage(number: u32) -> Block {
    habit(format!(
        "before stage {number}, scrape off what was squeezed out and flatten the face that is glued now with a long block over coarse paper, \
         until pencil lines drawn across it are just gone all along. No more than that: what comes off here is missing in the stack."
    ))
}

/// What stays free of glue, and what is written on.
pub(super) fn masking() -> Block {
    habit(
        "tape over what shall stay free of glue, the outer faces and, where it goes in, the riser's sides; the tape on the back takes centre \
         line and stations too, and comes off with what was squeezed out.",
    )
}

/// The grip is held before anything is bent.
pub(super) fn grip(stage: &Stage) -> Option<Block> {
    let block = if stage.riser { ", on a block shaped to the riser," } else { "" };
    (!matches!(stage.held, Held::Flat)).then(|| {
        habit(format!(
            "the grip is clamped first{block} with its centre line on the mark of the jig and square to it: neither limb can pull the pile \
             along while the other is bent."
        ))
    })
}
