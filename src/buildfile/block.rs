//! What a riser is made up of beside slices: `layers` with `width`, `[riser.footing]` and `[riser.overlay]`.

use super::materials::Shelf;
use super::profile::{self, LENGTH, LEVEL, OVERRUN};
use super::reader::{FileSection, Notes, Preset, Range};
use super::wording::amount;
use crate::diag::{Diagnostic, Message, Place, at_least, at_most, mm};
use crate::model::Build;
use crate::model::block::{BlockLayer, Footing, RiserOverlay};
use crate::model::outline::Outline;
use crate::model::riser::{BlockProfile, Riser, Slice};
use crate::units::{Quantity, limit};

const THICKNESS: Range = Range::positive(150.0);
const WIDTH: Range = Range::between(6.0, 300.0);
const FOOTING: Range = Range::between(10.0, 500.0);
const SPLICE: Range = Range::between(5.0, 500.0);
/// Thinner is no block.
const DEPTH: Range = Range::between(1.0, 150.0);
/// What the profile leaves of the last layer where that is not thinner by itself, mm: less and it is gone with the first passes of the plane.
const MIN_OF_LAST_MM: f64 = 0.5;

/// `layers`, from the flat face to the climbed one; none where they are absent.
pub fn layers(section: &FileSection<'_>, shelf: &Shelf) -> Option<Vec<BlockLayer>> {
    let Some(written) = section.get("layers") else { return Some(Vec::new()) };
    let pairs = profile::woods_with(&written, shelf, ["layer", "thickness"], "[\"walnut, black\", 0.75]", THICKNESS)?;
    if section.has("across") {
        let hint = "keep one of them: the other is taken out, and `width` says how wide a block in layers is";
        written.fault("a block is glued up of `across` or of `layers`, and both are given", hint);
        return None;
    }
    Some(pairs.into_iter().map(|(wood, thickness_mm)| BlockLayer { wood, thickness_mm }).collect())
}

/// The width of a block in layers, as one slice.
pub fn width(
    section: &FileSection<'_>,
    layers: Option<&[BlockLayer]>,
    outline: Option<&Outline>,
    length: Option<f64>,
) -> Option<Vec<Slice>> {
    let width = section.get("width").map(|written| written.quantity(Quantity::Length, WIDTH));
    let width_mm = match width {
        Some(read) => read?,
        None => {
            let width_mm = profile::usual_width_mm(outline, length);
            let text = amount(width_mm, Quantity::Length, section.notes.system);
            section.assume("width", text, "the widest place over the riser and a margin to trim");
            width_mm
        }
    };
    Some(vec![Slice { wood: layers?.first()?.wood.clone(), width_mm }])
}

/// `width` says nothing of a block of slices.
pub fn no_width(section: &FileSection<'_>) -> bool {
    let written = section.get("width");
    if let Some(written) = &written {
        let hint = "take it out: the slices say how wide the block is, `width` is for one in `layers`";
        written.fault("a block of slices has no `width` of its own", hint);
    }
    written.is_none()
}

/// `[riser.footing]`: nothing where it is absent.
pub fn footing(section: &FileSection<'_>, shelf: &Shelf) -> Option<Option<Footing>> {
    if !section.present() {
        return Some(None);
    }
    let wood = section.need("wood", "add its wood, such as wood = \"locust, black\"").and_then(|written| shelf.find(&written));
    let length = section.need_length("length", FOOTING, "add its length from the feather to the point of its V");
    let splice = section.length_or(
        "splice",
        SPLICE,
        Preset::new(2.5, 65.0, "a V twice as long as the block is wide, or a little less; common practice, no source"),
    );
    section.finish();
    let (length_mm, splice_mm) = (length?, splice?);
    if limit::above(splice_mm, length_mm) {
        let words = |mm| amount(mm, Quantity::Length, section.notes.system);
        let message = format!("a footing {} long has no room for a V of {}", words(length_mm), words(splice_mm));
        let hint = if limit::below(length_mm, SPLICE.min) {
            message!("raise `length` to {} or more", at_least(splice_mm))
        } else {
            message!("lower `splice` to {} or less", at_most(length_mm))
        };
        section.fault("splice", message, hint);
        return None;
    }
    Some(Some(Footing { wood: wood?, length_mm, splice_mm }))
}

/// `[riser.overlay]`: nothing where it is absent.
pub fn overlay(section: &FileSection<'_>, shelf: &Shelf) -> Option<Option<RiserOverlay>> {
    if !section.present() {
        return Some(None);
    }
    let wood = section.need("wood", "add its wood, such as wood = \"walnut, black\"").and_then(|written| shelf.find(&written));
    let length = section.need_length("length", LENGTH, "add its length from feather to feather");
    let level = section.need_length("level", LEVEL, "add the full-depth length in the middle");
    let depth = section.need_length("depth", DEPTH, "add its depth at the level part");
    let fade = profile::fade(section);
    let feather = profile::feather(section);
    let overrun = section.length_or(
        "overrun",
        OVERRUN,
        Preset::new(0.5, 12.0, "its ends are ground where it lies, then faired into the belly; common practice, no source"),
    );
    section.finish();
    let profile = BlockProfile { length_mm: length?, level_mm: level?, depth_mm: depth?, fade: fade?, feather_mm: feather? };
    let sound = profile::judge_profile(section, &profile);
    Some(Some(RiserOverlay { wood: wood?, profile, overrun_mm: overrun? })).filter(|_| sound)
}

/// Whether they agree with the block, the limb and the glue.
pub fn fits(notes: &Notes, build: &Build, riser: &Riser) {
    layers_and_depth(notes, build, riser);
    if let Some(footing) = &riser.footing {
        let max = riser.fade_length_mm();
        if limit::above(footing.length_mm, max) {
            let message = message!(
                "a footing {} long reaches out of the fade, which is {}{}",
                mm(footing.length_mm),
                mm(max),
                riser.cut_by_hand().map(|cut| format!(": {} beyond it", cut.is_cut())).unwrap_or_default()
            );
            let hint = if limit::below(max, FOOTING.min) {
                message!("raise `riser.length` to {} or more", at_least(riser.level_mm + 2.0 * footing.length_mm))
            } else {
                message!("lower `length` to {} or less", at_most(max))
            };
            fault(notes, Place::new("riser.footing.length"), message, hint);
        }
    }
    if let Some(overlay) = &riser.overlay {
        overlay_and_bow(notes, build, riser, overlay);
    }
}

fn fault(notes: &Notes, place: Place, message: Message, hint: impl Into<Message>) {
    notes.fault(Diagnostic::fault(place, message).hint(hint));
}

/// The boards reach the block's depth, and each of them is left in it.
fn layers_and_depth(notes: &Notes, build: &Build, riser: &Riser) {
    let Some((last, before)) = riser.layers.split_last() else { return };
    let under = before.iter().map(|layer| layer.thickness_mm + build.glue.line_mm).sum::<f64>();
    let (all, depth) = (under + last.thickness_mm, riser.depth_mm);
    let min = under + last.thickness_mm.min(MIN_OF_LAST_MM);
    if limit::below(all, depth) {
        let message =
            message!("the layers and the glue lines between them come to {}, but the riser is {} deep", mm(all), mm(depth));
        fault(notes, Place::new("riser.layers"), message, message!("lower `depth` to {} or less, or add a layer", at_most(all)));
    } else if !before.is_empty() && limit::below(depth, min) {
        let message = message!(
            "the layers before the last one and their glue lines come to {}, and the riser is {} deep: the last one is cut away",
            mm(under),
            mm(depth)
        );
        let hint = message!("raise `depth` to {} or more, or leave the last layer out", at_least(min));
        fault(notes, Place::new("riser.layers"), message, hint);
    }
}

fn overlay_and_bow(notes: &Notes, build: &Build, riser: &Riser, overlay: &RiserOverlay) {
    let feather = overlay.profile.feather_station_mm();
    if limit::above(overlay.profile.length_mm, riser.length_mm) {
        let message = message!(
            "the riser's overlay, {} long, reaches out over the limbs: the riser is {}",
            mm(overlay.profile.length_mm),
            mm(riser.length_mm)
        );
        fault(
            notes,
            Place::new("riser.overlay.length"),
            message,
            message!("lower `length` to {} or less", at_most(riser.length_mm)),
        );
        return;
    }
    for lamination in
        build.laminations.iter().skip(riser.position).filter(|l| l.from_mm > 0.0 && limit::below(l.from_mm, feather))
    {
        let message = message!(
            "`{}` begins at station {}, under the riser's overlay, which would stand off the belly there",
            lamination.name,
            mm(lamination.from_mm)
        );
        fault(notes, lamination.place.key("from"), message, "write from = 0: it runs on under the overlay");
    }
    let Some(outline) = &build.outline else { return };
    let stated = outline.shape.crown_mm.iter().flat_map(|crown| crown.points()).map(|point| point.0).filter(|s| *s < feather);
    if let Some(s) = stated.chain([feather]).find(|s| limit::above(outline.crown_at(*s), 0.0)) {
        let message = message!("the belly is crowned where the riser's overlay lies, at station {}", mm(s));
        let hint = message!("leave the belly flat there: let the list of `crown` be 0 as far as station {}", at_least(feather));
        fault(notes, Place::new("riser.overlay.length"), message, hint);
    }
}
