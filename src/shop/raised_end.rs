//! A straight, stiff board with a shim under one support, for straight tapers only: `shim = rate × distance between supports`.
//! The board lies on the edge of its low end, as thick as it is.
//!
//! Boards bend: the sag reported is between that of a board held at both supports and of one that is free on them, with the
//! roller midway (see [`super::sag`]).
//!
//! Source: geometry; common practice, no source (0.002 in/in over 36 in: 0.072 in).

use super::board::{between, made_to, not_within, seen_from_above, stop_strips, straight, taken_as_it_is};
use super::kit::{Kit, Means, NamedPlace, Shim, SideView, Surface};
use super::sag::{Carried, LoadedBeam};
use super::sled::{Sled, lies_as_it_is};
use crate::diag::{Diagnostic, Outcome, Place, Reported, at_least, at_most, mm};
use crate::model::machine_limits::sled_width_mm;
use crate::units::limit;

/// A board with one raised end, or a fault that says where the taper is not straight.
pub fn kit(sled: &Sled, means: &Means<'_>) -> Outcome<Kit> {
    let Means { plan, sander, .. } = *means;
    let length = sled.strip_length_mm;
    let (line, bent) = straight(sled, plan.tolerance_mm);
    let rate = line.rate;
    let mut faults: Vec<Diagnostic> = bent.into_iter().collect();
    let ends = [-sled.run_on_mm, length + sled.run_on_mm];
    let distance = plan.supports_mm.unwrap_or(ends[1] - ends[0]);
    if limit::above(distance, ends[1] - ends[0]) {
        let message = message!("supports {} apart do not fit under a sled {} long", mm(distance), mm(ends[1] - ends[0]));
        let hint = message!("lower `supports` to {} or less", at_most(ends[1] - ends[0]));
        faults.push(Diagnostic::fault(Place::new("sled.supports"), message).hint(hint));
    }
    let (low_mm, raised_mm) = if rate < 0.0 { (ends[1], ends[1] - distance) } else { (ends[0], ends[0] + distance) };
    let board_mm = line.at(low_mm);
    if board_mm <= 0.0 {
        let message = message!("the board would have to be {} thick at its low end", mm(board_mm));
        faults.push(Diagnostic::fault(Place::new("sled.base"), message).hint(message!(
            "raise `base` to {} or more",
            at_least(plan.base_mm - board_mm + plan.make.traits().min_height_mm.unwrap_or(0.0))
        )));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let width = sled_width_mm(means.strip_width_mm, sled.together, plan);
    let beam = LoadedBeam::of(plan, board_mm, width, sander);
    let sag_mm = beam.sag_mm(distance);
    let made = made_to(&[rate.abs() * distance], plan.tolerance_mm, means).swap_remove(0);
    let mut warnings = Vec::new();
    if !lies_as_it_is(plan) && limit::above((board_mm - plan.sheet.thickness_mm).abs(), plan.tolerance_mm) {
        let message = message!(
            "`base` asks for a board {} thick under `{}`, and the plank is {}",
            mm(board_mm),
            sled.lamination,
            mm(plan.sheet.thickness_mm)
        );
        let hint = "leave `base` out: the plank serves as it is, and the gaps follow; or write its thickness under `sheet`";
        warnings.push(Diagnostic::warning(Place::new("sled.base"), message).hint(hint));
    }
    if limit::above(sag_mm[1], plan.tolerance_mm) {
        let message = message!(
            "the board sags {} to {} under the roller midway between its supports; the tolerance is {}",
            mm(sag_mm[0]),
            mm(sag_mm[1]),
            mm(plan.tolerance_mm)
        );
        let hint = "use a thicker board, or put shims at stations under it";
        warnings.push(Diagnostic::warning(Place::new("sled.supports"), message).hint(hint));
    }
    if !made.within {
        warnings.push(not_within("the shim", &made, plan.tolerance_mm));
    }
    let mut kit = Kit::new(sled.clone(), width);
    kit.places = vec![NamedPlace { u_mm: low_mm, name: "edge".into() }, NamedPlace { u_mm: raised_mm, name: "shim".into() }];
    kit.parts = vec![seen_from_above(sled, "board", width, board_mm, &kit.places)];
    kit.surface = surface(sled, low_mm, made.made_mm / (raised_mm - low_mm));
    kit.sag_mm = sag_mm;
    kit.carried = Some(Carried { beam, supports_mm: vec![low_mm.min(raised_mm), low_mm.max(raised_mm)], joints_mm: Vec::new() });
    kit.side = SideView::Sloped { base_board_mm: 0.0, board_mm };
    kit.made_of = format!("board about {}", means.units.thickness(board_mm));
    kit.shims = vec![Shim { u_mm: raised_mm, made }];
    kit.steps = steps(&kit, means, board_mm, rate);
    Ok(Reported { value: kit, warnings })
}

/// A straight board on its low edge and its shim, as it is made up from stock: over the strip.
fn surface(sled: &Sled, low_mm: f64, rate: f64) -> Surface {
    let length = sled.strip_length_mm;
    let low = low_mm.clamp(0.0, length);
    [0.0, length].map(|u| (u, sled.ramp.at(low) + (u - low) * rate + sled.deck_mm + sled.under_mm)).to_vec()
}

fn steps(kit: &Kit, means: &Means<'_>, board_mm: f64, rate: f64) -> Vec<String> {
    let (units, tolerance_mm) = (means.units, means.plan.tolerance_mm);
    let shim = &kit.shims[0];
    vec![
        taken_as_it_is("a straight, stiff board", board_mm, means),
        format!(
            "Fix a shim of {} across its underside, {} from the edge on which its low end lies, for a rise of {}.",
            units.thickness(shim.made.wanted_mm),
            units.rule((shim.u_mm - kit.places[0].u_mm).abs()),
            units.rate(rate.abs())
        ),
        stop_strips(&kit.sled, units),
        format!(
            "Between its supports the board sags {} under the roller{}.",
            between(kit.sag_mm, units),
            if tolerance_mm < kit.sag_mm[1] { ": take a thicker board, or shims at stations, to keep the tolerance" } else { "" }
        ),
    ]
}
