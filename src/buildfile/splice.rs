//! `splice` of a lamination: a scarf where two pieces of it meet, and the wood of the outer one.

use super::bow::STATION;
use super::materials::Shelf;
use super::reader::{FileSection, Notes, Preset, Range, if_given};
use super::wording::amount;
use crate::diag::{Diagnostic, Message, at_least, at_most, mm};
use crate::model::Build;
use crate::model::join::{OuterPiece, Splice};
use crate::model::lamination::{Lamination, Pieces};
use crate::model::wood::Wood;
use crate::units::{Quantity, limit};

/// Steeper is a butt with a little glue, flatter no saw follows.
const SLOPE: Range = Range::between(4.0, 40.0);
/// Steepest slope that is usual for wood that is bent: one in eight to one in twelve; common practice, no source.
const USUAL: f64 = 8.0;

/// Nothing where the lamination is of whole strips; `own` is the wood that it names for itself.
pub fn splice(section: &FileSection<'_>, shelf: &Shelf, own: Option<&Wood>) -> Option<Option<Splice>> {
    let Some(written) = section.get("splice") else { return Some(None) };
    let table = written.section()?;
    let at = table.need_length("at", STATION, "add the station of its middle, such as at = 0 for the bow's centre");
    let slope = table.quantity_or(
        "slope",
        Quantity::Ratio,
        SLOPE,
        Preset::same(10.0, "ten along the wood for one through it, 8 to 12 are usual; common practice, no source"),
    );
    let outer = outer(&table, shelf, own);
    table.finish();
    let splice = Splice { at_mm: at?, slope: slope?, outer: outer? };
    if limit::below(splice.slope, USUAL) {
        let message = message!("a scarf of 1:{} is steeper than 1:8, the least for wood that is bent", number(splice.slope));
        let hint = "raise `slope` to 8 or more, 10 to 12 where the strip works hard; common practice, no source";
        table.notes.warn(Diagnostic::warning(table.place.key("slope"), message).hint(hint));
    }
    Some(Some(splice))
}

/// The piece beyond the splice, where it is told to be of another wood or of another board. One like the lamination's own is none of its own.
fn outer(table: &FileSection<'_>, shelf: &Shelf, own: Option<&Wood>) -> Option<Option<OuterPiece>> {
    let wood = if_given(table.get("wood").map(|written| shelf.find(&written)));
    let board =
        table.get("board").map(|written| written.text("the board or batch that the outer piece comes from").map(str::to_owned));
    let sides = [("inner", false), ("outer", true)];
    let two = table.has("wood") && (table.has("board") || wood.as_ref().is_none_or(|wood| wood.as_ref() != own));
    let on_back = match table.get("on_back") {
        Some(written) if !table.has("wood") => {
            let hint = "add the outer piece's `wood`, or take `on_back` out";
            written.fault("both pieces are of one wood, so that it does not matter which lies on the back", hint);
            None
        }
        // Of one wood it does not matter.
        None if !two => Some(false),
        _ => table.word_or("on_back", &sides, ON_BACK),
    };
    if let (Some(written), false) = (table.get("board"), table.has("wood")) {
        written.fault("there is no `wood` here whose board this could be", "add the outer piece's `wood`, or take `board` out");
    }
    let (wood, board, on_back) = (wood?, if_given(board)?, on_back?);
    Some(wood.filter(|_| two).map(|wood| OuterPiece { wood, board, on_back }))
}

/// What of the two lies on the back where nothing is said.
const ON_BACK: &str = "the inner piece's feather lies on the back and points to the tip: what is drawn off over the tip does not catch \
                       it; common practice, no source";

fn number(slope: f64) -> String {
    crate::units::trim_zeros(&crate::units::fixed(slope, 2))
}

/// Whether the scarf lies in the lamination.
pub fn judge(section: &FileSection<'_>, lamination: &Lamination) {
    let (Some(splice), Some([_, outer])) = (&lamination.splice, lamination.spliced_mm()) else { return };
    let length = |mm| amount(mm, Quantity::Length, section.notes.system);
    let half = outer - splice.at_mm;
    let place = section.place.key("splice").key("at");
    let fault = |message: String, hint: Message| section.notes.fault(Diagnostic::fault(place.clone(), message).hint(hint));
    let inner = match lamination.pieces {
        Pieces::Full if splice.at_mm <= 0.0 && splice.outer.is_some() => {
            let message = "a splice at the bow's centre joins two halves: no piece of the lamination lies on its inner side";
            let hint =
                message!("raise `at` to {} or more, or give both halves that wood as the lamination's own", at_least(half));
            return section.notes.fault(Diagnostic::fault(section.place.key("splice").key("wood"), message).hint(hint));
        }
        Pieces::Full if splice.at_mm <= 0.0 => return,
        Pieces::Full => 0.0,
        Pieces::Halves => lamination.from_mm + lamination.reach_mm(),
    };
    if limit::below(splice.at_mm, inner + half) {
        let what = if lamination.pieces == Pieces::Full {
            "the scarfs of both limbs run into each other"
        } else if 0.0 < lamination.reach_mm() {
            "the scarf runs into the overlap of the halves"
        } else {
            "the scarf runs out at the butt"
        };
        let message = format!("{what}: each is {} long, its middle at station {}", length(2.0 * half), length(splice.at_mm));
        // Where the strip is thicker toward the grip the scarf is longer there: room for the difference.
        let longest = 0.5 * splice.length_mm(lamination.finished.at(inner).max(lamination.thickness_at(splice.at_mm)));
        fault(message, message!("raise `at` to {} or more", at_least(inner + longest)));
    }
    if limit::above(outer, lamination.to_mm) {
        let message = format!("the scarf ends at station {}, the lamination at {}", length(outer), length(lamination.to_mm));
        let longest = 0.5 * splice.length_mm(lamination.thickness_at(splice.at_mm).max(lamination.finished.at(lamination.to_mm)));
        fault(message, message!("lower `at` to {} or less", at_most(lamination.to_mm - longest)));
    }
}

/// Splices in laminations that lie on each other, over the fades, and under the nocks.
pub fn among(notes: &Notes, build: &Build) {
    let spliced = |index: usize| build.laminations.get(index).and_then(|l| Some((l, l.splice.as_ref()?, l.spliced_mm()?)));
    let warn = |lamination: &Lamination, message: Message, hint: Message| {
        notes.warn(Diagnostic::warning(lamination.place.key("splice").key("at"), message).hint(hint));
    };
    for index in 0..build.laminations.len() {
        let Some((lamination, splice, [from, to])) = spliced(index) else { continue };
        let half = 0.5 * splice.length_mm(lamination.thickness_at(splice.at_mm));
        // A riser between them keeps them apart.
        let apart = build.riser.as_ref().filter(|riser| riser.position == index).map_or(0.0, |riser| riser.feather_station_mm());
        if let Some((other, _, [other_from, other_to])) = index.checked_sub(1).and_then(spliced)
            && limit::above(to.min(other_to), from.max(other_from).max(apart))
        {
            let message = message!(
                "the splices of `{}` and `{}` stand over each other, from station {} to {}",
                other.name,
                lamination.name,
                mm(from.max(other_from)),
                mm(to.min(other_to))
            );
            warn(
                lamination,
                message,
                message!(
                    "raise `at` to {} or more: one sound strip over each splice; common practice, no source",
                    at_least(other_to + half)
                ),
            );
        }
        let Some(riser) = build.riser.as_ref().filter(|riser| riser.position <= index) else { continue };
        let (level, feather) = (0.5 * riser.level_mm, riser.feather_station_mm());
        if limit::above(to, level) && limit::below(from, feather) {
            let message =
                message!("the splice of `{}` lies over the riser's fade, where the strip is bent sharply", lamination.name);
            warn(lamination, message, message!("raise `at` to {} or more; common practice, no source", at_least(feather + half)));
        }
    }
}
