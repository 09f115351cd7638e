//! What sleds have in common that are one board, carrier or wedge: how straight a taper is, their view from above, stops, shims, and words.

use super::kit::{Means, NamedPlace};
use super::label::label_in;
use super::parts::Part;
use super::shims::{MakeUp, make_up_all};
use super::sled::Sled;
use crate::diag::{Diagnostic, Place, mm};
use crate::drawing::{Align, Label};
use crate::geometry::{Bounds, Path, Point};
use crate::units::{System, limit};

/// The straight line through both ends of a ramp.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct StraightRamp {
    /// Height at the strip's first end, mm.
    start_mm: f64,
    /// Rise for each unit of length.
    pub rate: f64,
}

impl StraightRamp {
    pub fn at(&self, u: f64) -> f64 {
        self.start_mm + self.rate * u
    }
}

/// The line of a sled that can only be straight, with a fault where the taper bends off it.
pub(super) fn straight(sled: &Sled, tolerance_mm: f64) -> (StraightRamp, Option<Diagnostic>) {
    let start_mm = sled.ramp.at(0.0);
    let line = StraightRamp { start_mm, rate: (sled.ramp.at(sled.strip_length_mm) - start_mm) / sled.strip_length_mm };
    let (worst_u, worst) = sled
        .ramp
        .points()
        .iter()
        .map(|(u, height)| (*u, height - line.at(*u)))
        .fold((0.0, 0.0_f64), |worst, here| if worst.1.abs() < here.1.abs() { here } else { worst });
    let bent = limit::above(worst.abs(), tolerance_mm).then(|| {
        let message = message!(
            "the taper of `{}` is not straight: at {} it is off a straight board by {}, the tolerance is {}",
            sled.lamination,
            mm(worst_u),
            mm(worst.abs()),
            mm(tolerance_mm)
        );
        Diagnostic::fault(Place::new("sled.make"), message).hint("use `shims`, `ramp` or `solid` for it")
    });
    (line, bent)
}

/// Shims of these heights from the stock on hand, or ground to measure where there is none.
pub(super) fn made_to(heights_mm: &[f64], tolerance_mm: f64, means: &Means<'_>) -> Vec<MakeUp> {
    if means.shims.is_empty() {
        heights_mm.iter().map(|height| MakeUp::cut_to_measure(*height)).collect()
    } else {
        make_up_all(heights_mm, means.shims, tolerance_mm).each
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
    let purpose = "carries the strip: draw lines across it over what stands under it, by the table of its places, and where the strip's ends lie";
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
