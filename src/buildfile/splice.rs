//! `splice` of a lamination: a scarf where two pieces of it meet, and the wood of the outer one.

use super::bow::STATION;
use super::materials::Shelf;
use super::reader::{FileSection, Notes, Preset, Range, if_given};
use super::wording::amount;
use crate::diag::{Diagnostic, Message, at_least, at_most, mm};
use crate::model::Build;
use crate::model::join::{OuterPiece, Splice};
use crate::model::lamination::{Lamination, Pieces};
use crate::model::splice::{MisplacedScarf, ScarfOver};
use crate::model::wood::Wood;
use crate::units::{Quantity, limit};

/// Steeper is a butt with a little glue, flatter no saw follows.
pub const SLOPE: Range = Range::between(4.0, 40.0);
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

/// Whether the scarf lies in the lamination. A hint keeps it off the groove, too, which begins at this station.
pub fn judge(section: &FileSection<'_>, lamination: &Lamination, groove_mm: Option<f64>) {
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
        let max = groove_mm.map_or(lamination.to_mm, |groove| groove.min(lamination.to_mm));
        match lamination.scarf_ends_by_mm(max) {
            Some(at_mm) => fault(message, message!("lower `at` to {} or less", at_most(at_mm))),
            None => fault(message, message!("make it of whole pieces")),
        }
    }
}

/// Scarfs where none should lie: over those of neighbours, on and at the end of fades, under the nocks.
pub fn among(notes: &Notes, build: &Build) {
    for MisplacedScarf { lamination: index, over, from_mm, to_mm } in build.misplaced_scarfs() {
        let lamination = &build.laminations[index];
        let (name, what) = (&lamination.name, over.words(build));
        let message = match over {
            ScarfOver::Splice(other) => message!(
                "the splices of `{}` and `{}` stand over each other, from station {} to {}",
                build.laminations[other].name,
                name,
                mm(from_mm),
                mm(to_mm)
            ),
            ScarfOver::Fade => message!("the splice of `{}` lies over {}, where the strip is bent sharply", name, what),
            ScarfOver::RiserEnd => {
                message!("the splice of `{}` lies across {} at station {}, where the limb begins to bend", name, what, mm(to_mm))
            }
            ScarfOver::OverlayEnd => {
                message!("the splice of `{}` lies across {} at station {}, where the shear gathers", name, what, mm(to_mm))
            }
            ScarfOver::Nock => message!(
                "the splice of `{}` lies under {}, whose groove is filed into it from station {} to {}",
                name,
                what,
                mm(from_mm),
                mm(to_mm)
            ),
        };
        let why = if let ScarfOver::Splice(_) = over { ": one sound strip over each splice" } else { "" };
        let mut warning = Diagnostic::warning(lamination.place.key("splice").key("at"), message);
        let at_mm = lamination.splice.as_ref().map_or(0.0, |splice| splice.at_mm);
        let mut places: Vec<f64> = build.clear_for_scarf_mm(index).into_iter().flatten().collect();
        // The nearer one first.
        places.sort_by(|a, b| (a - at_mm).abs().total_cmp(&(b - at_mm).abs()));
        for place_mm in &places {
            let place = if at_mm < *place_mm {
                message!("raise `at` to {} or a little more", at_least(*place_mm))
            } else {
                message!("lower `at` to {} or a little less", at_most(*place_mm))
            };
            warning = warning.hint(message!("{}{}; common practice, no source", place, why));
        }
        if places.is_empty() {
            warning = warning.hint("no place is left for it in this strip: make it of whole pieces");
        }
        notes.warn(warning);
    }
}
