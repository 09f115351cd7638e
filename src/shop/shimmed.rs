//! A carrier (the deck) over a level base board, with shims at stations: `shim = r(u) − lowest r`.
//!
//! Stations stand so close that the sag of the carrier between two of them, simply supported, and the taper's own departure from
//! the chord together stay under the tolerance. The sag reported is between that of a carrier held at both stations and of one
//! that is free on them, with the roller midway (see [`super::sag`]).
//!
//! Source: geometry.

use super::board::{between, made_to, not_within, seen_from_above, stop_strips, taken_as_it_is};
use super::kit::{Kit, Means, NamedPlace, Shim, SideView};
use super::rule::spaced;
use super::sag::{Carried, LoadedBeam};
use super::sled::Sled;
use crate::diag::{Diagnostic, Outcome, Place, Reported, at_least, mm};
use crate::model::machine_limits::sled_width_mm;
use crate::units::limit;

const ITS_OWN: &str = "Glue each shim square across it at its place, then tape the carrier down on all of them.";
const ONE_FOR_ALL: &str = "Board and carrier are the same for all laminations on shims: as long as the longest of these sleds, as wide as the \
                           widest. Lift the carrier, take out the shims of the lamination before, tape these in square across the board at \
                           their places, and tape the carrier down on all of them.";
const STOPS_STAY: &str = "";
const STOPS_GO: &str = " Hold them by double-faced tape: for the next lamination they move.";

/// A carrier on shims at stations, each made up from stock.
///
/// Stations lie on whole units from the strip's first end (`shop::rule`); corners of the taper and the sled's ends stay where they are.
pub fn kit(sled: &Sled, means: &Means<'_>) -> Outcome<Kit> {
    let Means { plan, units, .. } = *means;
    if plan.deck_mm <= 0.0 {
        let message = "a sled on shims needs a deck as carrier, and it is 0 mm";
        return Err(vec![Diagnostic::fault(Place::new("sled.deck"), message).hint("give the deck a thickness")]);
    }
    let width = sled_width_mm(means.strip_width_mm, sled.together, plan);
    let carrier = LoadedBeam::of(plan, plan.deck_mm, width, means.sander);
    let places = stations(sled, &carrier, plan.tolerance_mm, &units.rule_steps_mm()).map_err(|fault| vec![fault])?;
    let lowest = places.iter().map(|u| sled.ramp.at(*u)).fold(f64::INFINITY, f64::min);
    if limit::below(lowest, 0.0) {
        let message = message!("the carrier would lie {} under the table at the sled's low end", mm(-lowest));
        let hint = message!("raise `base` to {} or more", at_least(plan.base_mm - lowest));
        return Err(vec![Diagnostic::fault(Place::new("sled.base"), message).hint(hint)]);
    }
    let heights: Vec<f64> = places.iter().map(|u| sled.ramp.at(*u) - lowest).collect();
    // Shims are made up to what sag and bends of the taper between stations leave of the tolerance, if stock is fine enough.
    let carried = Carried { beam: carrier, supports_mm: places.clone(), joints_mm: Vec::new() };
    let chord = places.windows(2).map(|pair| chord_mm(sled, pair[0], pair[1])).fold(0.0, f64::max);
    let left_mm = plan.tolerance_mm - carried.worst_mm(0.0, sled.strip_length_mm) - chord;
    let mut made = made_to(&heights, if 0.0 < left_mm { left_mm } else { plan.tolerance_mm }, means);
    made.iter_mut().for_each(|made| made.within |= !limit::above(made.error_mm().abs(), plan.tolerance_mm));
    let shims: Vec<Shim> = places.iter().zip(made).map(|(u, made)| Shim { u_mm: *u, made }).collect();
    let missed = (1..).zip(&shims).filter(|(_, shim)| !shim.made.within);
    let warnings = missed
        .map(|(number, shim)| not_within(&format!("the shim at station {number}"), &shim.made, plan.tolerance_mm))
        .collect();
    let span_mm = places.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max);
    let named = |what: &str| -> Vec<NamedPlace> {
        (1..).zip(&places).map(|(number, u)| NamedPlace { u_mm: *u, name: format!("{what}{number}") }).collect()
    };
    let mut kit = Kit::new(sled.clone(), width);
    kit.parts = vec![seen_from_above(sled, "carrier", width, plan.deck_mm, &named(""))];
    kit.places = named("shim ");
    let height = |made_mm: f64| lowest + made_mm + sled.deck_mm + sled.under_mm;
    kit.surface = shims.iter().map(|shim| (shim.u_mm, height(shim.made.made_mm))).collect();
    kit.sag_mm = carrier.sag_mm(span_mm);
    kit.carried = Some(carried);
    kit.side = SideView::Sloped { base_board_mm: lowest, board_mm: 0.0 };
    kit.made_of = format!("level board about {}, shims", units.thickness(lowest));
    kit.shims = shims;
    let (board, stops) = if plan.one_carrier { (ONE_FOR_ALL, STOPS_GO) } else { (ITS_OWN, STOPS_STAY) };
    kit.steps = vec![
        taken_as_it_is("a level board, as long as the sled", lowest, means),
        board.to_owned(),
        format!("{}{stops}", stop_strips(sled, units)),
        format!(
            "Over the widest span, {}, the carrier sags {} under the roller.",
            units.rule(span_mm),
            between(kit.sag_mm, units)
        ),
    ];
    Ok(Reported { value: kit, warnings })
}

/// Stations from end to end of the sled, with one at every corner of the taper.
fn stations(sled: &Sled, carrier: &LoadedBeam, tolerance_mm: f64, steps_mm: &[f64; 4]) -> Result<Vec<f64>, Diagnostic> {
    let ends = [-sled.run_on_mm, sled.strip_length_mm + sled.run_on_mm];
    let mut bounds = vec![ends[0]];
    bounds.extend(&sled.corners_mm);
    bounds.push(ends[1]);
    let mut places = vec![ends[0]];
    for pair in bounds.windows(2) {
        let good = |next: &[f64]| {
            let from = std::iter::once(&pair[0]).chain(next);
            from.zip(next)
                .all(|(a, b)| a < b && !limit::above(carrier.simply_supported_mm(b - a) + chord_mm(sled, *a, *b), tolerance_mm))
        };
        let Some(next) = spaced(pair[0], pair[1], steps_mm, good) else {
            // Nobody sets more than two hundred shims.
            let span = (pair[1] - pair[0]) / 200.0;
            let message = message!(
                "a carrier {} thick sags {} even over stations {} apart; the tolerance is {}",
                mm(carrier.thickness_mm),
                mm(carrier.simply_supported_mm(span)),
                mm(span),
                mm(tolerance_mm)
            );
            return Err(Diagnostic::fault(Place::new("sled.deck"), message).hint("use a thicker carrier or accept more"));
        };
        places.extend(next);
    }
    Ok(places)
}

/// Greatest departure of the ramp from a straight line between two places, mm.
pub fn chord_mm(sled: &Sled, from: f64, to: f64) -> f64 {
    let (a, b) = (sled.ramp.at(from), sled.ramp.at(to));
    let inside = sled.ramp.points().iter().filter(|(u, _)| from < *u && *u < to);
    inside.map(|(u, height)| (height - (a + (b - a) * (u - from) / (to - from))).abs()).fold(0.0, f64::max)
}
