//! What sander and sled take: how thin, how short, how wide, how low.
//!
//! Each limit is judged here and nowhere else, so that the reader of a build file and whoever plans a sled or passes refuse the same strip
//! with the same words at the same key. Lengths in mm; at the limit itself a strip passes ([`crate::units::limit`]).

use super::lamination::Lamination;
use super::workshop::{Sander, SledPlan, SledStock};
use crate::diag::{Diagnostic, Message, Place, at_least, at_most, mm};
use crate::numeric::root::bisect;
use crate::units::limit;

/// Strips that touch wedge each other up from the sled; more room wastes the drum's width, mm.
const BETWEEN_STRIPS_MM: f64 = 2.0;
/// Less, and a strip set down askew hangs over the deck's edge; more only makes the sled wide, mm.
const BESIDE_STRIPS_MM: f64 = 6.0;

/// Width of a sled for strips of this width side by side, mm: room beside and between them, and for its own joints.
pub fn sled_width_mm(strip_width_mm: f64, together: u32, plan: &SledPlan) -> f64 {
    let together = f64::from(together.max(1));
    let strips = together * strip_width_mm + (together - 1.0) * BETWEEN_STRIPS_MM + 2.0 * BESIDE_STRIPS_MM;
    // Two rails with ears of the ribs outside them, and room between the rails for a joint's plate on each.
    let sheet = plan.sheet.thickness_mm;
    if plan.make.traits().from == SledStock::Sheets { strips.max(2.0 * ear_mm(sheet) + 4.5 * sheet + 6.0) } else { strips }
}

/// How far a rib reaches beyond the outer rails, mm: shorter ears break off along the grain.
pub fn ear_mm(sheet_mm: f64) -> f64 {
    (1.5 * sheet_mm).max(8.0)
}

/// A strip that is thinner somewhere than the sander may make it.
pub fn too_thin(lamination: &Lamination, sander: &Sander) -> Option<Diagnostic> {
    let min = sander.min_for_mm(lamination);
    let thinnest = thinner_than(lamination, min)?;
    let from = falls_to(lamination, min).unwrap_or(thinnest.station_mm);
    let message = message!(
        "the strip falls under the sander's least thickness, {}, {}, and is down to {} {}",
        mm(min),
        where_on_strip(lamination, from),
        mm(thinnest.thickness_mm),
        where_on_strip(lamination, thinnest.station_mm)
    );
    let thicker = message!(
        "make it thicker by {}, or take a smaller taper or a shorter overrun; least_thickness stands under [sander]",
        // Less than this no caliper shows.
        at_least(min - thinnest.thickness_mm + 0.01)
    );
    let feather = message!("where it is to run out so thin, say so: `feather` = {}", at_most(thinnest.thickness_mm));
    Some(Diagnostic::fault(lamination.place.key("taper"), message).hint(thicker).hint(feather))
}

/// What goes through the machine is shorter than it takes: the strip with its overrun, or on a sled the sled with its run-on.
pub fn too_short(lamination: &Lamination, sled: Option<&SledPlan>, sander: &Sander) -> Option<Diagnostic> {
    let travels = lamination.strip_length_mm() + sled.map_or(0.0, |sled| 2.0 * sled.run_on_mm);
    if !limit::below(travels, sander.min_length_mm) {
        return None;
    }
    let (what, with) = if sled.is_some() { ("sled", "run-on") } else { ("strip", "overrun") };
    let message = message!(
        "the {} is {} long with its {}, but the sander takes nothing under {}",
        what,
        mm(travels),
        with,
        mm(sander.min_length_mm)
    );
    // An end at either side.
    let overrun = lamination.stock.overrun_mm + 0.5 * (sander.min_length_mm - travels);
    let hint = message!(
        "raise `stock.overrun` to {} or more, or grind it in one length with another; least_length stands under [sander]",
        at_least(overrun)
    );
    Some(Diagnostic::fault(lamination.place.clone(), message).hint(hint))
}

/// What goes through the machine is wider than it: the strips side by side, or the sled that carries them.
pub fn too_wide(lamination: &Lamination, sled: Option<&SledPlan>, sander: &Sander) -> Option<Diagnostic> {
    let strip = lamination.stock.width_mm;
    let width = |together: u32| match sled {
        Some(plan) => sled_width_mm(strip, together, plan),
        None => f64::from(together) * strip,
    };
    let together = sander.together_for(lamination);
    if !limit::above(width(together), sander.widest_mm) {
        return None;
    }
    let what = if sled.is_some() { "the sled for " } else { "" };
    let message = message!(
        "{}{} of these side by side {} {} wide, but the sander takes {}",
        what,
        together,
        if sled.is_some() { "is" } else { "are" },
        mm(width(together)),
        mm(sander.widest_mm)
    );
    let fewer = (1..together).rev().find(|fewer| !limit::above(width(*fewer), sander.widest_mm));
    let hint = match (fewer, strip - (width(1) - sander.widest_mm)) {
        (Some(fewer), _) => message!("lower `sander.together` to {}, or check `widest` under [sander]", fewer),
        (None, room) if 0.0 < room => {
            message!("lower `stock.width` to {} or less, or check `widest` under [sander]", at_most(room))
        }
        (None, _) => "check `widest` under [sander]".into(),
    };
    Some(Diagnostic::fault(lamination.place.key("stock").key("width"), message).hint(hint))
}

/// A sled whose surface comes too near to the table somewhere, or under it; `base` stands at `place`.
///
/// `base_mm` is the height under the butt, that of the plank where the build file leaves it to the plank.
pub fn too_low(lamination: &Lamination, plan: &SledPlan, base_mm: f64, place: Place) -> Option<Diagnostic> {
    let min = plan.make.traits().min_height_mm?;
    let low = ramp_heights_mm(lamination, base_mm).fold(f64::INFINITY, f64::min);
    if !limit::below(low, min) {
        return None;
    }
    let message = message!("the sled for `{}` is only {} high at its lowest; it needs {}", lamination.name, mm(low), mm(min));
    Some(Diagnostic::fault(place, message).hint(message!("raise `base` to {} or more", at_least(base_mm + min - low))))
}

/// Heights of the surface that the strip lies on, at the corners of its taper, mm: it is highest and lowest at some of them.
pub fn ramp_heights_mm(lamination: &Lamination, base_mm: f64) -> impl Iterator<Item = f64> {
    let butt = lamination.finished.at(lamination.from_mm);
    lamination.strip_corners().into_iter().map(move |u| base_mm + butt - lamination.strip_thickness_at(u))
}

/// Where a station lies on the strip, in words, with the overrun named where it lies there.
pub fn where_on_strip(lamination: &Lamination, s: f64) -> Message {
    if limit::above(s, lamination.to_mm) {
        message!("at station {}, in the overrun {} past the tip end", mm(s), mm(s - lamination.to_mm))
    } else if limit::below(s, lamination.butt_mm()) {
        message!("in the overrun, {} before the butt", mm(lamination.butt_mm() - s))
    } else if limit::below(s, lamination.from_mm) {
        message!("in the overlap of the halves, {} past the centre", mm(lamination.from_mm - s))
    } else {
        message!("at station {}", mm(s))
    }
}

/// Where a strip is thinnest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ThinnestPlace {
    pub station_mm: f64,
    pub thickness_mm: f64,
}

/// The place where the strip is thinnest, if it is thinner than `limit_mm` there.
///
/// Between corners a taper stays between their values, so corners decide.
pub fn thinner_than(lamination: &Lamination, limit_mm: f64) -> Option<ThinnestPlace> {
    let place = |u| ThinnestPlace { station_mm: lamination.station_at(u), thickness_mm: lamination.strip_thickness_at(u) };
    let thinner = |best: ThinnestPlace, here: ThinnestPlace| if here.thickness_mm < best.thickness_mm { here } else { best };
    let thinnest = lamination.strip_corners().into_iter().map(place).reduce(thinner)?;
    limit::below(thinnest.thickness_mm, limit_mm).then_some(thinnest)
}

/// The station nearest the butt at which the thickness has fallen to `limit_mm`, on a strip that is thicker at its butt.
pub fn falls_to(lamination: &Lamination, limit_mm: f64) -> Option<f64> {
    // They bring any span below a nanometre.
    const HALVINGS: u32 = 40;
    let thinnest = thinner_than(lamination, limit_mm)?;
    let butt = lamination.from_mm;
    if lamination.finished.at(butt) <= limit_mm {
        return Some(butt);
    }
    Some(bisect(|s| limit_mm <= lamination.finished.at(s), butt, thinnest.station_mm, HALVINGS).fails)
}
