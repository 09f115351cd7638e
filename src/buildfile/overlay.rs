//! `[[overlay]]`: tip overlays, by the face that they lie on.

use super::materials::Shelf;
use super::reader::{FileSection, Notes, Preset, Range};
use super::wording::amount;
use crate::diag::{Diagnostic, Place, at_most, mm};
use crate::model::Build;
use crate::model::lamination::Face;
use crate::model::overlay::Overlay;
use crate::units::{Quantity, limit};

/// Thinner cannot be handled, thicker is no overlay.
const THICKNESS: Range = Range::between(0.3, 25.0);
const LENGTH: Range = Range::between(10.0, 200.0);
const FADE: Range = Range::between(0.0, 200.0);
/// One on each face.
const MOST: usize = 2;

/// All overlays, in the order of the file; none where it names none.
pub fn overlays(root: &FileSection<'_>, shelf: &Shelf) -> Option<Vec<Overlay>> {
    if root.get("overlay").is_none() {
        return Some(Vec::new());
    }
    let sections = root.sections_up_to("overlay", MOST)?;
    let read: Vec<Option<Overlay>> = sections.iter().map(|section| overlay(section, shelf)).collect();
    let overlays = read.into_iter().collect::<Option<Vec<Overlay>>>()?;
    if let [first, second] = overlays.as_slice()
        && first.face == second.face
    {
        let message = format!("two overlays lie on the {}", first.face.word());
        sections[1].fault("face", message, format!("write face = \"{}\" for one of them", first.face.other().word()));
        return None;
    }
    Some(overlays)
}

fn overlay(section: &FileSection<'_>, shelf: &Shelf) -> Option<Overlay> {
    let face = section.word_or(
        "face",
        &[Face::Back, Face::Belly].map(|face| (face.word(), face)),
        "nocks are filed into it from the back; common practice, no source",
    );
    let wood = section.need("wood", "add its wood, such as wood = \"locust, black\"").and_then(|written| shelf.find(&written));
    let thickness = section.need_length("thickness", THICKNESS, "add its full thickness at the nock");
    let length = section.length_or(
        "length",
        LENGTH,
        Preset::new(1.75, 45.0, "from the end of the wood toward the grip, 1 1/2 to 2 in; common practice, no source"),
    );
    let fade = section.length_or(
        "fade",
        FADE,
        Preset::new(0.75, 20.0, "it thins to nothing at its grip end; common practice, no source"),
    );
    section.finish();
    let (length_mm, fade_mm) = (length?, fade?);
    if limit::above(fade_mm, length_mm) {
        let words = |mm| amount(mm, Quantity::Length, section.notes.system);
        let message = format!("an overlay {} long cannot thin out over {}", words(length_mm), words(fade_mm));
        section.fault("fade", message, message!("lower `fade` to {} or less", at_most(length_mm)));
        return None;
    }
    Some(Overlay { face: face?, wood: wood?, thickness_mm: thickness?, length_mm, fade_mm })
}

/// Whether they lie on a limb that is there, and flat.
pub fn fits(notes: &Notes, build: &Build) {
    for (index, overlay) in build.overlays.iter().enumerate() {
        let place = |key: &str| Place::new("overlay").index(index).key(key);
        let Some(outline) = &build.outline else {
            let message = message!("an overlay needs a tip to lie on, and there is no outline");
            notes.fault(Diagnostic::fault(Place::new("overlay").index(index), message).hint("add the [outline]"));
            continue;
        };
        let feather = build.limb_from_mm();
        let max = outline.end_mm() - feather;
        if limit::above(overlay.length_mm, max) {
            let message = message!("an overlay {} long reaches over the limb, which is {}", mm(overlay.length_mm), mm(max));
            notes.fault(Diagnostic::fault(place("length"), message).hint(message!("lower `length` to {} or less", at_most(max))));
        }
        // An arc across has no face to glue on; what is shown is the part that is.
        let crowned = |s: &f64| overlay.face == Face::Belly && limit::above(outline.crown_at(*s), 0.0);
        let all = overlay.corners(outline.end_mm()).into_iter().chain([outline.end_mm()]);
        if let Some(s) = all.into_iter().find(crowned) {
            let message = message!("the belly is crowned where this overlay lies, at station {}", mm(s));
            let hint = "leave the belly flat there: end the list of `crown` with 0 before the overlay";
            notes.fault(Diagnostic::fault(place("face"), message).hint(hint));
        }
    }
}
