//! Sleds that are not cut from sheet: a solid board, a board with one raised end, a carrier on shims.
//!
//! * **Solid**: a board on edge, sawn and planed to a profile. Its template is the rail of a ramp without slots.
//! * **Raised end**: a straight, stiff board with a shim under one support, for straight tapers only:
//!   `shim = rate × distance between supports`. The board lies on the edge of its low end, as thick as it is.
//! * **Shims**: a carrier (the deck) over a level base board, with shims at stations: `shim = r(u) − lowest r`. Stations stand so
//!   close that the sag of the carrier between two of them, simply supported, and the taper's own departure from the chord
//!   together stay under the tolerance.
//!
//! Boards bend: the sag reported is between that of a board held at both supports and of one that is free on them, with the
//! roller midway (see [`super::sag`]).
//!
//! Source: geometry; the raised end is common practice, no source (0.002 in/in over 36 in: 0.072 in).

use super::joint::{Candidate, Lock, lock, split};
use super::label::{label_in, the};
use super::nest::{room_mm, short_key};
use super::parts::{Kit, Part, RailPiece, compensated};
use super::profile::Profile;
use super::sag::Carrier;
use super::shims::{MakeUp, MakeUps, make_up, make_up_all};
use super::sled::{Sled, lies_as_it_is, width_mm};
use crate::diag::{Diagnostic, Outcome, Place, Reported, at_least, at_most};
use crate::drawing::{Align, Label};
use crate::geometry::{Bounds, Path, Point};
use crate::model::workshop::{Sander, SheetCutter, ShimStock, SledPlan};
use crate::units::limit;

/// A straight board with a shim under one support.
#[derive(Debug, Clone, PartialEq)]
pub struct RaisedEnd {
    /// Rise of the board toward the strip's far end, a ratio; negative where the first end is the raised one.
    pub rate: f64,
    /// The edge on which the board lies, and the place of the shim, `u` in mm.
    pub low_mm: f64,
    pub raised_mm: f64,
    pub shim_mm: f64,
    pub made: MakeUp,
    /// Thickness of the board, mm.
    pub board_mm: f64,
    /// Sag of the board under the roller midway between the supports, held at both and free on both, mm.
    pub sag_mm: [f64; 2],
    /// Stop strips on the board at both ends: height above it, mm; `None` where the finished strip is too thin for one.
    pub stops_mm: [Option<f64>; 2],
    /// Seen from above.
    pub board: Part,
}

/// A carrier on shims.
#[derive(Debug, Clone, PartialEq)]
pub struct Shimmed {
    /// Along the sled.
    pub stations: Vec<ShimStation>,
    /// Thickness of the level board under shims and carrier, mm.
    pub base_board_mm: f64,
    /// Greatest distance between two stations, mm.
    pub span_mm: f64,
    /// Sag over that span, with both ends held and simply supported, mm.
    pub sag_mm: [f64; 2],
    /// Greatest departure of the ramp from the straight carrier between stations, mm.
    pub chord_mm: f64,
    /// Stop strips on the carrier at both ends: height above it, mm; `None` where the finished strip is too thin for one.
    pub stops_mm: [Option<f64>; 2],
    /// No other choice of pieces is better for sure (see [`super::shims::MakeUps`]).
    pub fewest_for_sure: bool,
    /// Seen from above, with a line at each station.
    pub carrier: Part,
}

#[derive(Debug, Clone, PartialEq)]
pub struct ShimStation {
    /// From 1.
    pub number: u32,
    pub u_mm: f64,
    pub shim_mm: f64,
    pub made: MakeUp,
}

/// The profile template of a solid board, in pieces where it is longer than the cutter's bed.
pub fn solid(sled: &Sled, plan: &SledPlan, cutter: &SheetCutter, strip_width_mm: f64) -> Outcome<Kit> {
    let profile = Profile::board(sled);
    let [from, to] = profile.ends_mm();
    let least = sled.ramp.least().1;
    let lock = lock(least, cutter.half_cut_mm(), plan.fit_mm);
    let reach = lock.as_ref().map_or(0.0, Lock::reach_mm);
    let room = room_mm(&plan.sheet, cutter)[0] - reach;
    let Some(joints) = split(from, to, room, &joint_places(sled, &profile)) else {
        let message =
            format!("a profile ⟨{} mm⟩ long cannot be split into pieces of at most ⟨{room} mm⟩ between its stops", to - from);
        return Err(vec![
            Diagnostic::fault(Place::new(short_key(&plan.sheet, cutter, false)), message).hint("use a longer bed or sheet"),
        ]);
    };
    let mut bounds = vec![from];
    bounds.extend(joints);
    bounds.push(to);
    let pieces = bounds.len() - 1;
    let mut kit = Kit {
        parts: Vec::new(),
        rails: Vec::new(),
        ribs_mm: Vec::new(),
        width_mm: width_mm(strip_width_mm, sled.together, plan),
        notes: notes_for_solid(sled, plan, pieces, to - from),
    };
    for (k, pair) in bounds.windows(2).enumerate() {
        let name = if pieces == 1 { "board profile".to_owned() } else { format!("board profile {} of {pieces}", k + 1) };
        let (socket, tongue) = (lock.as_ref().filter(|_| 0 < k), lock.as_ref().filter(|_| k + 1 < pieces));
        let edge = profile.piece(pair[0], pair[1], socket, tongue, 0.5 * least, &[]);
        let purpose = "stuck to the side of the board, lower edge flush with its sole: saw and plane the board to its upper edge";
        let mut part = Part::new(name.clone(), edge, plan.sheet.thickness_mm, purpose);
        let clear = 2.0 * reach + 6.0;
        let room = Bounds { min: Point::new(clear, 2.0), max: Point::new(pair[1] - pair[0] - clear, least - 2.0) };
        part.labels.extend(label_in(room, &[format!("< {} - {name} - {} >", sled.ends[0], sled.ends[1]), name]));
        kit.rails.push(RailPiece { part: k, side: 0, u_from_mm: pair[0], u_to_mm: pair[1] });
        kit.parts.push(part);
    }
    let faults: Vec<Diagnostic> = kit.parts.iter().filter_map(|part| compensated(part, cutter.half_cut_mm()).err()).collect();
    if faults.is_empty() { Ok(Reported::clean(kit)) } else { Err(faults) }
}

/// A board with one raised end, or a fault that says where the taper is not straight.
pub fn raised_end(sled: &Sled, plan: &SledPlan, sander: &Sander, stock: &[ShimStock], strip_width_mm: f64) -> Outcome<RaisedEnd> {
    let length = sled.strip_length_mm;
    let (start, end) = (sled.ramp.at(0.0), sled.ramp.at(length));
    let rate = (end - start) / length;
    let off = |u: f64, height: f64| height - (start + rate * u);
    let (worst_u, worst) = sled
        .ramp
        .points()
        .iter()
        .map(|(u, height)| (*u, off(*u, *height)))
        .fold((0.0, 0.0_f64), |worst, here| if worst.1.abs() < here.1.abs() { here } else { worst });
    let mut faults = Vec::new();
    if limit::above(worst.abs(), plan.tolerance_mm) {
        let message = format!(
            "the taper of `{}` is not straight: at ⟨{worst_u} mm⟩ it is off a straight board by ⟨{} mm⟩, the tolerance is ⟨{} mm⟩",
            sled.lamination,
            worst.abs(),
            plan.tolerance_mm
        );
        faults.push(Diagnostic::fault(Place::new("sled.make"), message).hint("use `shims`, `ramp` or `solid` for it"));
    }
    let ends = [-sled.run_on_mm, length + sled.run_on_mm];
    let distance = plan.supports_mm.unwrap_or(ends[1] - ends[0]);
    if limit::above(distance, ends[1] - ends[0]) {
        let message = format!("supports ⟨{distance} mm⟩ apart do not fit under a sled ⟨{} mm⟩ long", ends[1] - ends[0]);
        let hint = format!("lower `supports` to {} or less", at_most(ends[1] - ends[0]));
        faults.push(Diagnostic::fault(Place::new("sled.supports"), message).hint(hint));
    }
    let (low_mm, raised_mm) = if rate < 0.0 { (ends[1], ends[1] - distance) } else { (ends[0], ends[0] + distance) };
    let board_mm = start + rate * low_mm;
    if board_mm <= 0.0 {
        let message = format!("the board would have to be ⟨{board_mm} mm⟩ thick at its low end");
        faults.push(Diagnostic::fault(Place::new("sled.base"), message).hint(format!(
            "raise `base` to {} or more",
            at_least(plan.base_mm - board_mm + plan.make.least_mm().unwrap_or(0.0))
        )));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let width = width_mm(strip_width_mm, sled.together, plan);
    let beam =
        Carrier { width_mm: width, thickness_mm: board_mm, modulus_mpa: plan.sheet.modulus_mpa, roller_n: sander.roller_n };
    let sag_mm = [beam.held_mm(distance), beam.simply_supported_mm(distance)];
    let shim_mm = rate.abs() * distance;
    let made = if stock.is_empty() { MakeUp::cut_to_measure(shim_mm) } else { make_up(shim_mm, stock, plan.tolerance_mm) };
    let mut warnings = Vec::new();
    if !lies_as_it_is(plan) && limit::above((board_mm - plan.sheet.thickness_mm).abs(), plan.tolerance_mm) {
        let message = format!(
            "`base` asks for a board ⟨{board_mm} mm⟩ thick under `{}`, and the plank is ⟨{} mm⟩",
            sled.lamination, plan.sheet.thickness_mm
        );
        let hint = "leave `base` out: the plank serves as it is, and the gaps follow; or write its thickness under `sheet`";
        warnings.push(Diagnostic::warning(Place::new("sled.base"), message).hint(hint));
    }
    if limit::above(sag_mm[1], plan.tolerance_mm) {
        let message = format!(
            "the board sags ⟨{} mm⟩ to ⟨{} mm⟩ under the roller midway between its supports; the tolerance is ⟨{} mm⟩",
            sag_mm[0], sag_mm[1], plan.tolerance_mm
        );
        let hint = "use a thicker board, or put shims at stations under it";
        warnings.push(Diagnostic::warning(Place::new("sled.supports"), message).hint(hint));
    }
    if !made.within {
        warnings.push(not_within("the shim", &made, plan.tolerance_mm));
    }
    let lines = [(low_mm, "edge".to_owned()), (raised_mm, "shim".to_owned())];
    let board = seen_from_above(sled, "board", width, board_mm, &lines);
    Ok(Reported {
        value: RaisedEnd { rate, low_mm, raised_mm, shim_mm, made, board_mm, sag_mm, stops_mm: stops(sled), board },
        warnings,
    })
}

/// A carrier on shims at stations, each made up from stock.
///
/// Stations lie on whole multiples of `unit_mm` from the strip's first end (its halves, quarters or eighths where the carrier is too
/// limp for them), so that a rule finds them; corners of the taper and the sled's ends stay where they are.
pub fn shimmed(
    sled: &Sled,
    plan: &SledPlan,
    sander: &Sander,
    stock: &[ShimStock],
    strip_width_mm: f64,
    unit_mm: f64,
) -> Outcome<Shimmed> {
    if plan.deck_mm <= 0.0 {
        let message = "a sled on shims needs a deck as carrier, and it is 0 mm";
        return Err(vec![Diagnostic::fault(Place::new("sled.deck"), message).hint("give the deck a thickness")]);
    }
    let width = width_mm(strip_width_mm, sled.together, plan);
    let carrier =
        Carrier { width_mm: width, thickness_mm: plan.deck_mm, modulus_mpa: plan.sheet.modulus_mpa, roller_n: sander.roller_n };
    let places = stations(sled, &carrier, plan.tolerance_mm, unit_mm).map_err(|fault| vec![fault])?;
    let lowest = places.iter().map(|u| sled.ramp.at(*u)).fold(f64::INFINITY, f64::min);
    if limit::below(lowest, 0.0) {
        let message = format!("the carrier would lie ⟨{} mm⟩ under the table at the sled's low end", -lowest);
        let hint = format!("raise `base` to {} or more", at_least(plan.base_mm - lowest));
        return Err(vec![Diagnostic::fault(Place::new("sled.base"), message).hint(hint)]);
    }
    let heights: Vec<f64> = places.iter().map(|u| sled.ramp.at(*u) - lowest).collect();
    let made = if stock.is_empty() {
        MakeUps { each: heights.iter().map(|height| MakeUp::cut_to_measure(*height)).collect(), fewest_for_sure: true }
    } else {
        make_up_all(&heights, stock, plan.tolerance_mm)
    };
    let stations: Vec<ShimStation> = (1..)
        .zip(&places)
        .zip(heights.iter().zip(made.each))
        .map(|((number, u), (shim, made))| ShimStation { number, u_mm: *u, shim_mm: *shim, made })
        .collect();
    let span_mm = places.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max);
    let missed = stations.iter().filter(|station| !station.made.within);
    let warnings = missed
        .map(|station| not_within(&format!("the shim at station {}", station.number), &station.made, plan.tolerance_mm))
        .collect();
    let lines: Vec<(f64, String)> = stations.iter().map(|station| (station.u_mm, station.number.to_string())).collect();
    let value = Shimmed {
        base_board_mm: lowest,
        span_mm,
        sag_mm: [carrier.held_mm(span_mm), carrier.simply_supported_mm(span_mm)],
        chord_mm: places.windows(2).map(|pair| chord_mm(sled, pair[0], pair[1])).fold(0.0, f64::max),
        stops_mm: stops(sled),
        fewest_for_sure: made.fewest_for_sure,
        carrier: seen_from_above(sled, "carrier", width, plan.deck_mm, &lines),
        stations,
    };
    Ok(Reported { value, warnings })
}

/// Stations from end to end of the sled, with one at every corner of the taper.
fn stations(sled: &Sled, carrier: &Carrier, tolerance_mm: f64, unit_mm: f64) -> Result<Vec<f64>, Diagnostic> {
    // More stations than this nobody shims: the carrier is too limp.
    const MOST_PER_STRETCH: u32 = 200;
    let ends = [-sled.run_on_mm, sled.strip_length_mm + sled.run_on_mm];
    let mut bounds = vec![ends[0]];
    bounds.extend(&sled.corners_mm);
    bounds.push(ends[1]);
    let mut places = vec![ends[0]];
    for pair in bounds.windows(2) {
        let length = pair[1] - pair[0];
        // `n` bays, as even as a grid allows; 0 for no grid.
        let spaced = |n: u32, grid: f64| -> Vec<f64> {
            let on_grid = |u: f64| if 0.0 < grid { (u / grid).round() * grid } else { u };
            let at = |k: u32| if k == n { pair[1] } else { on_grid(pair[0] + length * f64::from(k) / f64::from(n)) };
            (1..=n).map(at).collect()
        };
        let good = |next: &[f64]| {
            let from = std::iter::once(&pair[0]).chain(next);
            from.zip(next)
                .all(|(a, b)| a < b && !limit::above(carrier.simply_supported_mm(b - a) + chord_mm(sled, *a, *b), tolerance_mm))
        };
        let Some(n) = (1..=MOST_PER_STRETCH).find(|n| good(&spaced(*n, 0.0))) else {
            let span = length / f64::from(MOST_PER_STRETCH);
            let message = format!(
                "a carrier ⟨{} mm⟩ thick sags ⟨{} mm⟩ even over stations ⟨{span} mm⟩ apart; the tolerance is ⟨{tolerance_mm} mm⟩",
                carrier.thickness_mm,
                carrier.simply_supported_mm(span)
            );
            return Err(Diagnostic::fault(Place::new("sled.deck"), message).hint("use a thicker carrier or accept more"));
        };
        // Half as many again are worth places that a rule shows.
        let grids = [1.0, 0.5, 0.25, 0.125].into_iter().map(|part| part * unit_mm);
        let mut on_a_rule = grids.flat_map(|grid| (n..=n + n.div_ceil(2)).map(move |n| (n, grid)));
        let (n, grid) = on_a_rule.find(|(n, grid)| good(&spaced(*n, *grid))).unwrap_or((n, 0.0));
        places.extend(spaced(n, grid));
    }
    Ok(places)
}

/// Greatest departure of the ramp from a straight line between two places, mm.
fn chord_mm(sled: &Sled, from: f64, to: f64) -> f64 {
    let (a, b) = (sled.ramp.at(from), sled.ramp.at(to));
    let inside = sled.ramp.points().iter().filter(|(u, _)| from < *u && *u < to);
    inside.map(|(u, height)| (height - (a + (b - a) * (u - from) / (to - from))).abs()).fold(0.0, f64::max)
}

fn stops(sled: &Sled) -> [Option<f64>; 2] {
    let surface = [sled.surface_mm(0.0), sled.surface_mm(sled.strip_length_mm)];
    let stop = |end: usize| sled.run_on_top_mm[end].map(|top| top - surface[end] + sled.under_mm);
    [stop(0), stop(1)]
}

fn not_within(what: &str, made: &MakeUp, tolerance_mm: f64) -> Diagnostic {
    let message = format!(
        "{what} of ⟨{} mm⟩ comes to ⟨{} mm⟩ from the stock on hand: off by ⟨{} mm⟩, the tolerance is ⟨{tolerance_mm} mm⟩",
        made.wanted_mm,
        made.made_mm,
        made.error_mm()
    );
    Diagnostic::warning(Place::new("shop.shims"), message).hint("add a thinner stock, or more pieces of what is counted")
}

/// A board or carrier from above: `x = u − its first end`, lines across it with their names, and where the strip's ends lie.
fn seen_from_above(sled: &Sled, name: &str, width: f64, thickness: f64, lines: &[(f64, String)]) -> Part {
    let first = -sled.run_on_mm;
    let area = Bounds { min: Point::new(0.0, 0.0), max: Point::new(sled.length_mm(), width) };
    let across = |u: f64| Path::line(Point::new(u - first, 0.0), Point::new(u - first, width));
    let purpose = "carries the strip; the lines show what stands under it, and where the strip's ends lie";
    let mut part = Part::new(name, Path::rectangle(area), thickness, purpose);
    part.may_turn = false;
    part.marks = lines.iter().map(|(u, _)| across(*u)).collect();
    if 0.0 < sled.run_on_mm {
        part.marks.extend([across(0.0), across(sled.strip_length_mm)]);
    }
    let cap = (0.12 * width).clamp(1.5, 4.0);
    part.labels = lines
        .iter()
        .map(|(u, text)| {
            // Beside its line, on the side where there is board left.
            let after = u - first + 6.0 * cap < sled.length_mm();
            let x = u - first + if after { 0.5 * cap } else { -0.5 * cap };
            Label::new(text.clone(), Point::new(x, 0.5 * cap), cap).aligned(if after { Align::Left } else { Align::Right })
        })
        .collect();
    let room =
        Bounds { min: Point::new(0.2 * sled.length_mm(), 0.4 * width), max: Point::new(0.8 * sled.length_mm(), 0.9 * width) };
    part.labels.extend(label_in(room, &[format!("< {} - {name} for {} - {} >", sled.ends[0], sled.lamination, sled.ends[1])]));
    part
}

/// Anywhere between the stops, on a grid, but near a corner of the taper only if nothing else is left.
fn joint_places(sled: &Sled, profile: &Profile<'_>) -> Vec<Candidate> {
    // A joint this near a stop weakens it; one this near a corner blurs it when planed, mm.
    const CLEAR_MM: f64 = 25.0;
    let [from, to] = profile.seat_mm;
    let count = ((to - from) / (0.4 * CLEAR_MM)).floor().clamp(0.0, 2000.0) as u32;
    (1..count)
        .map(|k| from + (to - from) * f64::from(k) / f64::from(count))
        .filter(|u| from + CLEAR_MM <= *u && *u <= to - CLEAR_MM)
        .map(|at_mm| {
            let near = sled.corners_mm.iter().any(|corner| (corner - at_mm).abs() < CLEAR_MM);
            Candidate { at_mm, cost: u32::from(near) }
        })
        .collect()
}

fn notes_for_solid(sled: &Sled, plan: &SledPlan, pieces: usize, length_mm: f64) -> Vec<String> {
    let mut notes = Vec::new();
    if 1 < pieces {
        notes.push(format!(
            "lock and glue the template's pieces standing on a flat table, shoulders tight: the table sets the height. Joined it is ⟨{length_mm} mm⟩ long"
        ));
    }
    notes.push("stick the template to the side of the board, lower edges flush; saw outside the upper edge and plane down to it, square across".to_owned());
    notes.push("clear the inside corners at the stops with a chisel, so that the strip's square end seats".to_owned());
    if 0.0 < plan.deck_mm {
        notes.push(format!("the profile leaves room for a deck of ⟨{} mm⟩ between the stops", plan.deck_mm));
    }
    notes.push(format!(
        "measure the height of the board along both edges before the first strip, with {} on the left, and correct it with tape",
        the(sled.ends[0])
    ));
    notes
}
