//! What hands cut from the glued riser: `[riser.grip]` and `[riser.shelf]`.
//!
//! Both stay within the riser's level part: a cut into a fade goes through the feathered end of what climbs it.

use super::reader::{FileSection, Notes, Preset, Range, if_given};
use super::wording::amount;
use crate::diag::{Diagnostic, Message, Place, at_least, at_most, mm};
use crate::model::Build;
use crate::model::build::Target;
use crate::model::grip::{ArrowPass, DrawHand, Grip, MIN_SHELF_MM, Palm};
use crate::model::lamination::Face;
use crate::model::outline::Outline;
use crate::model::riser::Riser;
use crate::units::{Quantity, limit};

/// Back to belly, as a pivot point is given.
const DEPTH: Range = Range::between(5.0, 150.0);
/// From one place of a grip to the next.
const REACH: Range = Range::between(5.0, 200.0);
const HEIGHT: Range = Range::between(0.0, 150.0);
const PAST_CENTRE: Range = Range::between(-30.0, 30.0);
const WINDOW: Range = Range::between(10.0, 300.0);
const SWEEP: Range = Range::between(3.0, 150.0);
const CORNER: Range = Range::between(1.5, 30.0);
/// Wood of the riser at the throat below which a word is said: three eighths of an inch; common practice, no source.
const LITTLE_WOOD_MM: f64 = 9.525;
/// Width that a window leaves: a quarter of an inch. Less is no riser; what more it takes is for the bow's strength to say. A limit of ours.
const MIN_LEFT_MM: f64 = 6.35;

/// `[riser.grip]`: nothing where it is absent.
pub fn grip(section: &FileSection<'_>) -> Option<Option<Grip>> {
    if !section.present() {
        return Some(None);
    }
    let throat = section.need_length("throat", DEPTH, "add the depth that is left there, back to belly");
    let up = section.length_or("up", REACH, Preset::new(1.5, 40.0, "room for the hand's upper edge; common practice, no source"));
    let down =
        section.length_or("down", REACH, Preset::new(2.0, 50.0, "from the throat to the palm swell; common practice, no source"));
    let depth = section.get("palm").map(|written| written.quantity(Quantity::Length, DEPTH));
    // Without a cut palm swell there is no heel to come out of.
    let heel = match depth {
        Some(_) => section.length_or("heel", REACH, Preset::new(0.75, 20.0, "below the palm; common practice, no source")),
        None => section.get("heel").map_or(Some(0.0), |written| {
            written.fault(
                "a heel comes out of a palm swell that is cut, and `palm` is not given",
                "add the depth that is left there as `palm`, or take `heel` out",
            );
            None
        }),
    };
    section.finish();
    let palm = if_given(depth)?.map(|depth_mm| Some(Palm { depth_mm, heel_mm: heel? }));
    heel?;
    Some(Some(Grip { throat_mm: throat?, up_mm: up?, down_mm: down?, palm: if_given(palm)? }))
}

/// `[riser.shelf]`: nothing where it is absent.
pub fn shelf(section: &FileSection<'_>) -> Option<Option<ArrowPass>> {
    if !section.present() {
        return Some(None);
    }
    let hand = section.word_or(
        "hand",
        &[DrawHand::Right, DrawHand::Left].map(|hand| (hand.word(), hand)),
        "the hand that draws the string; the arrow lies on the other side of the bow",
    );
    let height = section.need_length("height", HEIGHT, "add how far it lies over the throat, such as height = \"1 1/2 in\"");
    let past_centre = section.need_length(
        "past_centre",
        PAST_CENTRE,
        "add the distance that the window goes past the bow's centre line, less than nothing where it stops short of it",
    );
    let window = section.length_or(
        "window",
        WINDOW,
        Preset::new(2.5, 65.0, "so that feathers and eye are free of it; common practice, no source"),
    );
    let sweep = section.length_or(
        "sweep",
        SWEEP,
        Preset::new(1.0, 25.0, "the window runs out to the side in an arc; common practice, no source"),
    );
    let corner = section.length_or(
        "corner",
        CORNER,
        Preset::new(0.1875, 5.0, "a riser breaks from a sharp inside corner; common practice, no source"),
    );
    section.finish();
    Some(Some(ArrowPass {
        hand: hand?,
        height_mm: height?,
        past_centre_mm: past_centre?,
        window_mm: window?,
        sweep_mm: sweep?,
        corner_mm: corner?,
    }))
}

/// The throat is the pivot point: the target's grip depth is the throat's.
pub fn pivot(riser_table: &FileSection<'_>, target: Option<Target>, riser: Option<&Riser>) -> Option<Target> {
    let Some(grip) = riser.and_then(|riser| riser.grip) else { return target };
    let target = target?;
    if let Some(stated) = target.grip_depth_mm.filter(|stated| !limit::same(*stated, grip.throat_mm)) {
        let length = |mm| amount(mm, Quantity::Length, riser_table.notes.system);
        let message = format!(
            "the throat is the pivot point, {} deep here, but `target.grip_depth` says {}",
            length(grip.throat_mm),
            length(stated)
        );
        riser_table.notes.fault(
            Diagnostic::fault(riser_table.place.key("grip").key("throat"), message)
                .hint("keep one of them: what the grip is cut to is where the draw is counted from"),
        );
        return None;
    }
    Some(Target { grip_depth_mm: Some(grip.throat_mm), ..target })
}

/// Whether the cuts stay within the wood that they are cut from.
pub fn fits(notes: &Notes, build: &Build, riser: &Riser) {
    if let Some(grip) = &riser.grip {
        grip_and_riser(notes, build, riser, grip);
    }
    if let Some(pass) = &riser.pass {
        match &build.outline {
            Some(outline) => shelf_and_riser(notes, riser, outline, pass),
            None => {
                let hint = "add the [outline]: a window is cut out of the bow's width";
                fault(notes, Place::new("riser.shelf"), message!("a shelf needs the width of the bow"), hint);
            }
        }
    }
}

fn fault(notes: &Notes, place: Place, message: Message, hint: impl Into<Message>) {
    notes.fault(Diagnostic::fault(place, message).hint(hint));
}

fn grip_and_riser(notes: &Notes, build: &Build, riser: &Riser, grip: &Grip) {
    let place = |key: &str| Place::new("riser.grip").key(key);
    let full = build.depth_mm(0.0);
    if limit::above(grip.throat_mm, full) {
        let message = message!("the throat would be {} deep, but the bow is {} there", mm(grip.throat_mm), mm(full));
        fault(notes, place("throat"), message, message!("lower `throat` to {} or less", at_most(full)));
        return;
    }
    if let Some(palm) = &grip.palm {
        let message = |what| message!("the palm swell would be {} deep, {}", mm(palm.depth_mm), what);
        if limit::below(palm.depth_mm, grip.throat_mm) {
            let hint = message!("raise `palm` to {} or more", at_least(grip.throat_mm));
            fault(notes, place("palm"), message(message!("less than the throat, {}", mm(grip.throat_mm))), hint);
        } else if limit::above(palm.depth_mm, full) {
            let hint = message!("lower `palm` to {} or less, or take it out", at_most(full));
            fault(notes, place("palm"), message(message!("but the bow is {} there", mm(full))), hint);
        }
    }
    // What lies on the riser's back: the belly is cut, so nothing else is in the way.
    let lapped = build.rebates().filter(|rebate| rebate.face == Face::Back).map(|rebate| rebate.depth_mm).sum::<f64>();
    let back = build.flat_face_mm(riser, 0.0) + lapped;
    let wood = grip.throat_mm - back;
    if limit::below(wood, 0.0) {
        let message =
            message!("the throat, {} deep, is cut into the laminations on the riser's back, {}", mm(grip.throat_mm), mm(back));
        fault(notes, place("throat"), message, message!("raise `throat` to {} or more", at_least(back)));
    } else if limit::below(wood, LITTLE_WOOD_MM) {
        let message = message!("the throat leaves {} of the riser's wood", mm(wood));
        let hint = message!(
            "raise `throat` to {} or more: {} of it is what is left at least; common practice, no source",
            at_least(back + LITTLE_WOOD_MM),
            mm(LITTLE_WOOD_MM)
        );
        notes.warn(Diagnostic::warning(place("throat"), message).hint(hint));
    }
    let beside = grip.below_mm() - grip.down_mm;
    for (key, reach, rest) in [("up", grip.up_mm, 0.0), ("down", grip.below_mm(), beside)] {
        within_level(notes, place(key), reach, riser, (key, rest, REACH));
    }
    // Where an overlay lies over them, the laminations are inside the wood.
    if limit::same(grip.throat_mm, full) || riser.overlay.is_some() {
        return;
    }
    let reach = grip.up_mm.max(grip.below_mm());
    for lamination in build.laminations.iter().skip(riser.position).filter(|l| limit::below(l.from_mm, reach)) {
        let message = message!(
            "the grip is cut {} far into the belly, and `{}` begins at station {}",
            mm(reach),
            lamination.name,
            mm(lamination.from_mm)
        );
        let hint = message!("raise `from` to {} or more: the grip is the riser's own wood", at_least(reach));
        fault(notes, lamination.place.key("from"), message, hint);
    }
}

/// A fault where a cut reaches farther from the throat than the level part of the block or of its overlay: `key` may go as far as leaves `rest` for
/// what else it reaches over, if that is in its range, or the level part must be longer.
fn within_level(notes: &Notes, place: Place, reach: f64, riser: &Riser, (key, rest, range): (&str, f64, Range)) {
    let of_overlay = riser.overlay.as_ref().map_or(f64::INFINITY, |overlay| overlay.profile.level_mm);
    let (level, whose, level_key) = if of_overlay < riser.level_mm {
        (0.5 * of_overlay, "the overlay", "overlay.level")
    } else {
        (0.5 * riser.level_mm, "the riser", "level")
    };
    if !limit::above(reach, level) {
        return;
    }
    let message = message!("the cut reaches {} from the throat, but {}'s fade begins at {}", mm(reach), whose, mm(level));
    let max = level - rest;
    let hint = if limit::below(max, range.min) {
        message!("raise `{}` to {} or more", level_key, at_least(2.0 * reach))
    } else {
        message!("lower `{}` to {} or less, or lengthen {}'s level part", key, at_most(max), whose)
    };
    fault(notes, place, message, hint);
}

fn shelf_and_riser(notes: &Notes, riser: &Riser, outline: &Outline, pass: &ArrowPass) {
    let place = |key: &str| Place::new("riser.shelf").key(key);
    let half = |s: f64| 0.5 * outline.width_at(s);
    within_level(notes, place("window"), pass.end_mm(), riser, ("window", pass.height_mm + pass.sweep_mm, WINDOW));
    let narrowest_s = pass.narrowest_mm(outline);
    let narrowest = half(narrowest_s);
    let left = narrowest - pass.past_centre_mm;
    if limit::below(left, MIN_LEFT_MM) {
        let message =
            message!("the window leaves {} of the bow's {} at station {}", mm(left), mm(2.0 * narrowest), mm(narrowest_s));
        let hint =
            message!("lower `past_centre` to {} or less: {} is the least", at_most(narrowest - MIN_LEFT_MM), mm(MIN_LEFT_MM));
        fault(notes, place("past_centre"), message, hint);
        return;
    }
    let narrowest_cut = narrowest.min(half(pass.end_mm()));
    if limit::below(narrowest_cut + pass.past_centre_mm, MIN_SHELF_MM) {
        let message = message!(
            "the window is cut {} deep into a bow that is {} wide there",
            mm(narrowest_cut + pass.past_centre_mm),
            mm(2.0 * narrowest_cut)
        );
        let hint = message!(
            "raise `past_centre` to {} or more: a shelf is {} deep at least",
            at_least(MIN_SHELF_MM - narrowest_cut),
            mm(MIN_SHELF_MM)
        );
        fault(notes, place("past_centre"), message, hint);
        return;
    }
    let room = (half(pass.height_mm) + pass.past_centre_mm).min(pass.window_mm);
    if limit::above(pass.corner_mm, room) {
        let message = message!("an inside corner of radius {} does not fit a shelf {} deep", mm(pass.corner_mm), mm(room));
        fault(notes, place("corner"), message, message!("lower `corner` to {} or less", at_most(room)));
    }
    let rise = half(pass.end_mm()) + pass.past_centre_mm;
    if limit::below(pass.sweep_mm, rise) {
        let message = message!("within {} the window cannot run out {} to the side", mm(pass.sweep_mm), mm(rise));
        // A longer sweep may end where the bow is wider: twenty steps bring that to the last digit.
        let enough = (0..20).fold(rise, |sweep, _| sweep.max(half(pass.straight_end_mm() + sweep) + pass.past_centre_mm));
        fault(notes, place("sweep"), message, message!("raise `sweep` to {} or more", at_least(enough)));
    }
}
