//! A straight wedge on a flat board, for straight tapers only: the board lies on the table as thick as it is, the wedge on it is planed
//! to one slope. It lies on the table throughout, so that nothing sags.
//!
//! Source: geometry; one wedge for each rate of taper, kept on the wall, is common practice, no source.

use super::board::{StraightRamp, seen_from_above, stop_strips, straight, taken_as_it_is};
use super::kit::{Kit, Means, SideView};
use super::label::the;
use super::sled::{Sled, WEDGE_THIN_END_MM};
use crate::diag::{Diagnostic, Outcome, Place, Reported, at_least, mm};
use crate::model::machine_limits::sled_width_mm;
use crate::units::limit;

/// A board and the wedge on it, or every reason why that cannot be.
pub fn kit(sled: &Sled, means: &Means<'_>) -> Outcome<Kit> {
    let Means { plan, units, .. } = *means;
    let (line, bent) = straight(sled, plan.tolerance_mm);
    let mut faults: Vec<Diagnostic> = bent.into_iter().collect();
    let board_mm = plan.sheet.thickness_mm;
    let ends = [-sled.run_on_mm, sled.strip_length_mm + sled.run_on_mm];
    let wedge_mm = ends.map(|u| line.at(u) - board_mm);
    let thin_mm = wedge_mm[0].min(wedge_mm[1]);
    // The gauge's step may take half a step off a wedge on a board that is taken as it is.
    if limit::below(thin_mm, WEDGE_THIN_END_MM - 0.5 * means.sander.gap_step_mm) {
        let message = message!(
            "the wedge for `{}` would be {} thick at its thin end, on a board of {}; it needs {}",
            sled.lamination,
            mm(thin_mm),
            mm(board_mm),
            mm(WEDGE_THIN_END_MM)
        );
        let hint = message!(
            "raise `base` to {} or more; or leave it out, and the gaps follow",
            at_least(plan.base_mm + WEDGE_THIN_END_MM - thin_mm)
        );
        faults.push(Diagnostic::fault(Place::new("sled.base"), message).hint(hint));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let width = sled_width_mm(means.strip_width_mm, sled.together, plan);
    let thick_mm = wedge_mm[0].max(wedge_mm[1]);
    let mut kit = Kit::new(sled.clone(), width);
    kit.parts = vec![seen_from_above(sled, "board", width, board_mm, &[]), seen_from_above(sled, "wedge", width, thick_mm, &[])];
    kit.surface = [0.0, sled.strip_length_mm].map(|u| (u, line.at(u) + sled.deck_mm + sled.under_mm)).to_vec();
    kit.side = SideView::Sloped { base_board_mm: board_mm, board_mm: 0.0 };
    kit.made_of = format!(
        "board about {}, wedge from {} to {}",
        units.thickness(board_mm),
        units.thickness(thin_mm),
        units.thickness(thick_mm)
    );
    kit.steps = steps(sled, means, &line, wedge_mm);
    Ok(Reported::clean(kit))
}

fn steps(sled: &Sled, means: &Means<'_>, line: &StraightRamp, wedge_mm: [f64; 2]) -> Vec<String> {
    let Means { plan, units, .. } = *means;
    let [first, last] = wedge_mm.map(|thick| units.thickness(thick));
    let [a, b] = sled.ends.map(the);
    vec![
        taken_as_it_is("a flat board, as long as the sled", plan.sheet.thickness_mm, means),
        format!(
            "Plane a wedge as long and as wide, straight along its length and square across: {first} thick at the sled's end beyond {a}, \
             {last} at the end beyond {b}, a slope of {}.",
            units.rate(line.rate.abs())
        ),
        "Glue it on the board, both flat on the table, and measure at both ends and in the middle. A slope that holds counts; what it is too \
         high or too low all over only moves the gaps."
            .to_owned(),
        stop_strips(sled, units),
    ]
}
