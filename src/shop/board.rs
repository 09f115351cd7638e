//! What sleds have in common that are one board or carrier on supports: their view from above, stops, shims, and words.

use super::kit::{Means, NamedPlace};
use super::label::label_in;
use super::parts::Part;
use super::shims::{MakeUp, make_up_all};
use super::sled::Sled;
use crate::diag::{Diagnostic, Place, mm};
use crate::drawing::{Align, Label};
use crate::geometry::{Bounds, Path, Point};
use crate::units::System;

/// Shims of these heights from the stock on hand, or ground to measure where there is none.
pub(super) fn made_to(heights_mm: &[f64], means: &Means<'_>) -> Vec<MakeUp> {
    if means.shims.is_empty() {
        heights_mm.iter().map(|height| MakeUp::cut_to_measure(*height)).collect()
    } else {
        make_up_all(heights_mm, means.shims, means.plan.tolerance_mm).each
    }
}

pub(super) fn not_within(what: &str, made: &MakeUp, tolerance_mm: f64) -> Diagnostic {
    let message = message!(
        "{} of {} comes to {} from the stock on hand: off by {}, the tolerance is {}",
        what,
        mm(made.wanted_mm),
        mm(made.made_mm),
        mm(made.error_mm()),
        mm(tolerance_mm)
    );
    Diagnostic::warning(Place::new("shop.shims"), message).hint("add a thinner stock, or more pieces of what is counted")
}

/// A board or carrier from above: `x = u − its first end`, lines across it with their names, and where the strip's ends lie.
pub(super) fn seen_from_above(sled: &Sled, name: &str, width: f64, thickness: f64, lines: &[NamedPlace]) -> Part {
    let first = -sled.run_on_mm;
    let area = Bounds { min: Point::new(0.0, 0.0), max: Point::new(sled.length_mm(), width) };
    let across = |u: f64| Path::line(Point::new(u - first, 0.0), Point::new(u - first, width));
    let purpose = "carries the strip; the lines show what stands under it, and where the strip's ends lie";
    let mut part = Part::new(name, Path::rectangle(area), thickness, purpose);
    part.may_turn = false;
    part.marks = lines.iter().map(|line| across(line.u_mm)).collect();
    if 0.0 < sled.run_on_mm {
        part.marks.extend([across(0.0), across(sled.strip_length_mm)]);
    }
    let cap = (0.12 * width).clamp(1.5, 4.0);
    part.labels = lines
        .iter()
        .map(|NamedPlace { u_mm: u, name }| {
            // Beside its line, on the side where there is board left.
            let after = u - first + 6.0 * cap < sled.length_mm();
            let x = u - first + if after { 0.5 * cap } else { -0.5 * cap };
            Label::new(name.clone(), Point::new(x, 0.5 * cap), cap).aligned(if after { Align::Left } else { Align::Right })
        })
        .collect();
    let room =
        Bounds { min: Point::new(0.2 * sled.length_mm(), 0.4 * width), max: Point::new(0.8 * sled.length_mm(), 0.9 * width) };
    part.labels.extend(label_in(room, &[format!("< {} - {name} for {} - {} >", sled.ends[0], sled.lamination, sled.ends[1])]));
    part
}

/// A board's height does not matter: every gap moves with it, and the log does the sum.
pub(super) fn taken_as_it_is(what: &str, about_mm: f64, means: &Means<'_>) -> String {
    format!(
        "Take {what}, flat within {}, about {} thick; write down what it is. It need not be planed to a figure: log the sled's heights, \
         and all gaps follow.",
        means.units.fine(means.plan.tolerance_mm),
        means.units.thickness(about_mm)
    )
}

/// Stop strips on the board at both ends: their height above it.
pub(super) fn stop_strips(sled: &Sled, units: System) -> String {
    let stop = |end: usize, u: f64| match sled.run_on_top_mm[end] {
        Some(top) => format!("{} at the {}", units.thickness(top - sled.surface_mm(u) + sled.under_mm), sled.ends[end]),
        None => format!("none at the {}", sled.ends[end]),
    };
    let (first, last) = (stop(0, 0.0), stop(1, sled.strip_length_mm));
    format!(
        "Glue stop strips on, their inner faces square to the sled and as far apart as the strip is long: {first} high, {last}."
    )
}

/// A sag, held and free.
pub(super) fn between(sag_mm: [f64; 2], units: System) -> String {
    format!("between {} and {}", units.fine(sag_mm[0]), units.fine(sag_mm[1]))
}
