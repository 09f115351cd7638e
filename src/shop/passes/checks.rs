//! What the planner has to say about machine, stock and papers: faults with numbers, warnings, and what would help.

use super::bed::Bed;
use super::settings::{CLOSE_MM, NoRoute};
use super::{BARE_TABLE_MM, Carrier, DRUM_CEILING_MM, EvenStrip, SETTABLE_MM, Setup, paper_limit};
use crate::diag::{Diagnostic, Message, Piece, Place, at_least, mm};
use crate::model::lamination::Lamination;
use crate::model::machine_limits::{too_short, too_thin, too_wide};
use crate::model::workshop::{MachineCutter, Sander};
use crate::shop::sled::Sled;
use crate::units::limit;

/// More passes than this in one setup and the stock should be sawn nearer to size: resaw allowance is commonly 0.8–1.5 mm, and
/// such a strip needs about twenty passes at most. Fewer would scold ordinary work.
const MANY_PASSES: usize = 30;

pub fn machine_faults(lamination: &Lamination, sled: Option<&Sled>, sander: &Sander) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let place = Place::new("sander");
    for (key, value) in [("gap_step", sander.gap_step_mm), ("crank", sander.crank_mm), ("feed", sander.feed_mm_s)] {
        if !(0.0 < value && value.is_finite()) {
            faults.push(Diagnostic::fault(place.key(key), format!("{value} is not more than nothing")));
        }
    }
    if sander.papers.is_empty() {
        faults.push(Diagnostic::fault(place.key("papers"), "there is no paper to grind with"));
    }
    // What goes through on a sled was judged when the sled was made.
    if sled.is_none() {
        faults.extend([too_short(lamination, None, sander), too_wide(lamination, None, sander)].into_iter().flatten());
    }
    faults
}

/// Papers whose stated cut is deeper than small machines are built for.
pub fn paper_warnings(sander: &Sander) -> Vec<Diagnostic> {
    let deep = |max_mm: f64| sander.cutter == MachineCutter::Drum && limit::above(max_mm, DRUM_CEILING_MM);
    let papers = sander.papers.iter().enumerate().filter(|(_, paper)| deep(paper.max_mm));
    papers
        .map(|(index, paper)| {
            Diagnostic::warning(
                Place::new("sander.papers").index(index).key("most"),
                message!(
                    "{} a pass is more than manuals of small drum machines allow, {}",
                    mm(paper.max_mm),
                    mm(DRUM_CEILING_MM)
                ),
            )
            .hint("keep it only if the machine's own manual says so")
        })
        .collect()
}

/// Stock that is thinner than the finished strip, and strips that end thinner than the machine may take.
pub fn stock_faults(lamination: &Lamination, bed: &Bed, strip: EvenStrip, sander: &Sander) -> Result<(), Vec<Diagnostic>> {
    let mut faults = Vec::new();
    let lowest = bed.lowest();
    let short_mm = bed.final_gap_mm - lowest.height_mm - strip.nominal_mm;
    if limit::above(short_mm, 0.0) {
        faults.push(
            Diagnostic::fault(
                lamination.place.key("stock.thickness"),
                message!(
                    "stock of {}{} is short by {} at station {}",
                    mm(strip.nominal_mm),
                    if limit::below(strip.nominal_mm, lamination.stock.thickness_mm) {
                        ", its first face taken off,"
                    } else {
                        ""
                    },
                    mm(short_mm),
                    station(lamination, lowest.u_mm)
                ),
            )
            // What came off the first face has to be there as well.
            .hint(message!(
                "use stock of at least {}, or a thinner butt or a shorter overrun",
                at_least(lamination.stock.thickness_mm + short_mm)
            )),
        );
    }
    faults.extend(too_thin(lamination, sander));
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}

/// The first face goes through without the sled, so the strip's own length counts there.
pub fn first_face_warning(lamination: &Lamination, sander: &Sander) -> Option<Diagnostic> {
    let length_mm = lamination.strip_length_mm();
    limit::below(length_mm, sander.min_length_mm).then(|| {
        Diagnostic::warning(
            lamination.place.key("stock.first_face"),
            message!(
                "the first face is ground without the sled, and the strip, {} long, is shorter than the machine may take, {}",
                mm(length_mm),
                mm(sander.min_length_mm)
            ),
        )
        .hint("hold the strip on a flat board that is long enough, and count the gap from the board")
    })
}

/// More than this share of a step left on the strip is worth a word: less is lost in what a drum repeats.
const ROUNDING_FRACTION: f64 = 0.25;

/// The last gap lies between two steps of the gauge, and what would bring it onto one.
pub fn rounding_warning(lamination: &Lamination, sled: &Sled, setup: &Setup, sander: &Sander) -> Option<Diagnostic> {
    let rounding_mm = setup.last_gap_mm - setup.final_gap_mm;
    if setup.passes.is_empty() || rounding_mm <= (ROUNDING_FRACTION * sander.gap_step_mm).max(SETTABLE_MM) {
        return None;
    }
    let base_mm = sled.ramp.at(lamination.u_of(lamination.from_mm));
    let message = message!(
        "the last gap, {}, is no step of the gauge: at the next one, {}, `{}` stays {} too thick",
        mm(setup.final_gap_mm),
        mm(setup.last_gap_mm),
        lamination.name,
        mm(rounding_mm)
    );
    let hint = message!(
        "raise this strip by that much, with paper or tape under it or a sled of `base` = {}; other strips may need another base",
        mm(base_mm + rounding_mm)
    );
    Some(Diagnostic::warning(Place::new("sled.base"), message).hint(hint))
}

/// What a builder should know before the first pass of this setup.
pub fn setup_warnings(lamination: &Lamination, bed: &Bed, setup: &Setup, sander: &Sander) -> Vec<Diagnostic> {
    let mut warnings = Vec::new();
    let mut warn = |key: &str, message: Message, hint: Message| {
        warnings.push(Diagnostic::warning(lamination.place.key(key), message).hint(hint));
    };
    let lowest = bed.lowest();
    let thickest_end_mm = bed.final_gap_mm - lowest.height_mm;
    let strip = setup.before;
    let short_mm = thickest_end_mm - strip.thinnest_mm;
    if limit::above(short_mm, 0.0) {
        warn(
            "stock.thickness",
            message!("the thinnest strips end short by {} at station {}", mm(short_mm), station(lamination, lowest.u_mm)),
            message!("sort out strips under {}", at_least(thickest_end_mm)),
        );
    } else if strip.nominal_mm - thickest_end_mm - setup.rounding_mm <= CLOSE_MM {
        warn(
            "stock.thickness",
            message!(
                "the cutter takes nothing at station {}: the stock's own face stays there",
                station(lamination, lowest.u_mm)
            ),
            "take stock a little thicker than the butt, so that the whole face is cut".into(),
        );
    }
    let missed = setup.passes.iter().filter(|pass| pass.contact.is_empty()).count();
    if 0 < missed {
        warn(
            "stock.spread",
            message!("the first {} passes only reach strips thicker than {}", missed, mm(strip.nominal_mm)),
            "measure the stock and state its thickness and spread more closely to save them".into(),
        );
    }
    if MANY_PASSES < setup.passes.len() {
        let over_mm = setup.thickest_contact_gap_mm - setup.last_gap_mm;
        warn(
            "stock.thickness",
            message!("{} passes: up to {} is to be ground away", setup.passes.len(), mm(over_mm)),
            "saw the stock nearer to size, or add a coarser paper".into(),
        );
    }
    let thinnest_mm = bed.final_gap_mm - bed.highest.height_mm;
    if bed.carrier == Carrier::Flat && limit::below(thinnest_mm, BARE_TABLE_MM) {
        warn(
            "thickness",
            message!("{} is too thin for the bare table", mm(thinnest_mm)),
            "lay the strip on a flat board, held at its leading end, and count the gap from the board".into(),
        );
    }
    let uncut_mm = setup.thickest_contact_gap_mm - setup.last_gap_mm - setup.gauge_offset_mm;
    let fine = sander.papers.iter().enumerate().filter(|(index, _)| index + 1 < sander.papers.len());
    for (index, paper) in fine.filter(|(_, paper)| limit::below(uncut_mm, paper.scratch_mm)) {
        if !setup.passes.is_empty() {
            warn(
                "stock.thickness",
                message!(
                    "{} is not used: its scratches are {} deep and only {} is to come off",
                    named(sander, index),
                    mm(paper.scratch_mm),
                    mm(uncut_mm)
                ),
                "nothing is wrong with that; thicker stock would let it work".into(),
            );
        }
    }
    warnings
}

/// Why no list of settings exists, in the builder's words.
pub fn refusal(lamination: &Lamination, sander: &Sander, bed: &Bed, why: &NoRoute) -> Diagnostic {
    match *why {
        NoRoute::TooManySteps { steps } => Diagnostic::fault(
            Place::new("sander.gap_step"),
            message!("{} steps of {} lie between first contact and the last gap", steps, mm(sander.gap_step_mm)),
        )
        .hint("state the step that the gauge can really be set to"),
        NoRoute::Scratched { paper, left_mm, scratch_mm } => Diagnostic::fault(
            Place::new("sander.papers").index(paper),
            message!(
                "{} has cut to {} above the last gap, and its scratches are {} deep",
                named(sander, paper),
                mm(left_mm),
                mm(scratch_mm)
            ),
        )
        .hint(message!(
            "finish {} thicker and note it, or finish with {} and let the rest of the scratches stand in the glue line",
            at_least(scratch_mm - left_mm),
            named(sander, paper)
        )),
        NoRoute::Coarse { paper, thickness_mm, min_mm, limit_mm, thin, .. } => {
            let limit = if thin {
                let (u, max) = (bed.highest.u_mm, paper_limit(sander, lamination.hardest(), &sander.papers[paper]).depth_mm);
                let place = station(lamination, u);
                message!(
                    "where the strip is {} thick, at station {}, {} may be cut of the {} of {}",
                    mm(thickness_mm),
                    place,
                    mm(limit_mm),
                    mm(max),
                    named(sander, paper)
                )
            } else {
                message!("{} may cut no deeper than {} in {}", named(sander, paper), mm(limit_mm), lamination.hardest().name)
            };
            Diagnostic::fault(
                Place::new("sander.gap_step"),
                message!("{}, less than the smallest cut that can be set, {}", limit, mm(min_mm)),
            )
            .hint(if thin {
                "shorten the overrun, leave the tip thicker and finish it by hand, or use a finer gauge"
            } else {
                "state a finer step if the gauge has one, or leave that paper to hand sanding"
            })
        }
    }
}

fn station(lamination: &Lamination, u: f64) -> Piece {
    mm(lamination.station_at(u))
}

fn named(sander: &Sander, paper: usize) -> String {
    sander.papers[paper].grit.map_or_else(|| "the knife".to_owned(), |grit| format!("{grit} grit"))
}
