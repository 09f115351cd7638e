//! Whether the parts of a build file agree with each other: strips with the machine, riser with outline, sled with sheet.

use super::bow;
use super::reader::Notes;
use super::strips;
use super::wording::amount;
use crate::diag::{Diagnostic, Place};
use crate::model::Build;
use crate::model::lamination::{Lamination, Pieces};
use crate::model::outline::Outline;
use crate::model::riser::Riser;
use crate::model::taper::Form;
use crate::model::workshop::{Held, Sander, SheetCutter, SledMake, SledPlan};
use crate::units::{Quantity, System};

/// Gathers every disagreement of a build whose parts are sound by themselves.
pub fn judge(notes: &Notes, build: &Build) {
    if let Some(sander) = &build.sander {
        for lamination in build.laminations.iter().filter(|lamination| !lamination.ground) {
            strip_and_machine(notes, lamination, sander);
        }
    }
    boards(notes, build);
    if let Some(sled) = &build.sled {
        sled_and_strips(notes, build, sled);
    }
    if let Some(outline) = &build.outline {
        coverage(notes, build, outline);
        if let Some(riser) = &build.riser {
            riser_and_outline(notes, build, riser, outline);
        }
        draw_and_outline(notes, build, outline);
        stages_and_outline(notes, build, outline);
    } else if build.target.is_some() {
        let warning = Diagnostic::warning(Place::new("target"), "without an [outline] no draw weight can be worked out");
        notes.warn(warning.hint("add [outline] with nock_to_nock and width"));
    }
    if build.sizing.is_some() && build.target.is_none() {
        fault(notes, Place::new("sizing"), "there is no draw weight to reach", "add [target] with draw_weight and draw_length");
    }
}

fn fault(notes: &Notes, place: Place, message: impl Into<String>, hint: impl Into<String>) {
    notes.fault(Diagnostic::fault(place, message).hint(hint));
}

fn length(notes: &Notes, mm: f64) -> String {
    amount(mm, Quantity::Length, notes.system)
}

/// A board is of one wood.
fn boards(notes: &Notes, build: &Build) {
    for (index, lamination) in build.laminations.iter().enumerate() {
        let Some(board) = &lamination.board else { continue };
        let before = build.laminations[..index].iter().find(|before| before.board.as_ref() == Some(board));
        if let Some(before) = before.filter(|before| before.wood.name != lamination.wood.name) {
            let message =
                format!("board \"{board}\" is {} here, but {} in `{}`", lamination.wood.name, before.wood.name, before.name);
            fault(notes, lamination.place.key("board"), message, "a board is of one wood: give each its own name");
        }
    }
}

fn strip_and_machine(notes: &Notes, lamination: &Lamination, sander: &Sander) {
    let least = sander.least_thickness_mm;
    if let Some((thinnest, thickness)) = strips::below(lamination, least)
        && strips::below(lamination, 0.05).is_none()
    {
        let from = strips::falls_to(lamination, least).unwrap_or(thinnest);
        let message = format!(
            "the strip falls under the sander's least thickness, {}, {}, and is down to {} {}",
            notes.system.thickness(least),
            strips::where_on_strip(lamination, from, notes.system),
            notes.system.thickness(thickness),
            strips::where_on_strip(lamination, thinnest, notes.system)
        );
        let hint = "take a smaller taper, a thicker butt or a shorter overrun; least_thickness stands under [sander]";
        fault(notes, lamination.place.key("taper"), message, hint);
    }
    let strip = lamination.strip_length_mm();
    if strip < sander.least_length_mm {
        let message = format!(
            "the strip is {} long with its overrun, but the sander takes nothing under {}",
            length(notes, strip),
            length(notes, sander.least_length_mm)
        );
        let hint = "give it more overrun, or grind it in one length with another; least_length stands under [sander]";
        fault(notes, lamination.place.clone(), message, hint);
    }
    let wide = f64::from(sander.together) * lamination.stock.width_mm;
    if sander.widest_mm < wide {
        let message = format!(
            "{} of these side by side are {} wide, but the sander takes {}",
            sander.together,
            length(notes, wide),
            length(notes, sander.widest_mm)
        );
        let hint = "lower `together` or check `widest` under [sander]";
        fault(notes, lamination.place.key("stock").key("width"), message, hint);
    }
}

fn sled_and_strips(notes: &Notes, build: &Build, sled: &SledPlan) {
    let place = Place::new("sled");
    // A rail or board lower than this at the butt has no room for slots and no stiffness.
    const LEAST_RAMP_MM: f64 = 5.0;
    let least = match sled.make {
        SledMake::Ramp | SledMake::Solid => Some(LEAST_RAMP_MM),
        SledMake::Shims => Some(0.0),
        // Its board lies on the table at the butt and may dip there by the overrun's share of the taper.
        SledMake::RaisedEnd => None,
    };
    let mut tallest: f64 = 0.0;
    for lamination in build.laminations.iter().filter(|lamination| !lamination.ground && !lamination.is_parallel()) {
        let butt = lamination.finished.at(lamination.from_mm);
        let ramp = |u: &f64| sled.base_mm + butt - lamination.strip_thickness_at(*u);
        let corners = lamination.strip_corners();
        let low = corners.iter().map(ramp).fold(f64::INFINITY, f64::min);
        tallest = corners.iter().map(ramp).fold(tallest, f64::max);
        if let Some(least) = least.filter(|least| low < *least) {
            let message = format!(
                "the sled for \"{}\" is only {} high at its lowest; it needs {}",
                lamination.name,
                length(notes, low),
                length(notes, least)
            );
            fault(notes, place.key("base"), message, "raise `base`");
        }
        let double = lamination.pieces == Pieces::Full && !matches!(lamination.finished.form(), Form::Parallel);
        let bent = matches!(lamination.finished.form(), Form::FlatThenStraight { .. } | Form::Stations);
        if sled.make == SledMake::RaisedEnd && (double || bent) {
            let why = if double { "tapers from its middle both ways" } else { "is not one straight taper" };
            let message = format!("a board with one raised end cannot make \"{}\", which {why}", lamination.name);
            fault(notes, place.key("make"), message, "write make = \"ramp\", \"solid\" or \"shims\"");
        }
        let whole = lamination.strip_length_mm() + 2.0 * sled.run_on_mm;
        if sled.make != SledMake::Ramp && sled.sheet.length_mm < whole {
            let message = format!(
                "the sled for \"{}\" is {} long with its run-on, but the board is {}",
                lamination.name,
                length(notes, whole),
                length(notes, sled.sheet.length_mm)
            );
            let hint = "take a longer board, or make = \"ramp\", whose rails may be joined";
            fault(notes, place.key("sheet").key("length"), message, hint);
        }
    }
    if sled.make == SledMake::Ramp && 0.0 < tallest {
        rails_and_sheet(notes, build, sled, tallest);
    }
}

fn rails_and_sheet(notes: &Notes, build: &Build, sled: &SledPlan, tallest: f64) {
    let across = sled.sheet.width_mm.max(sled.sheet.length_mm);
    if across < tallest {
        let message = format!("rails {} high do not fit on a sheet of at most {}", length(notes, tallest), length(notes, across));
        fault(notes, Place::new("sled.sheet"), message, "check the sheet's width and length, and the sled's base");
    }
    if let SheetCutter::Laser { bed_mm, .. } | SheetCutter::Router { bed_mm, .. } = build.shop.cutter {
        let side = bed_mm[0].max(bed_mm[1]);
        if side < tallest {
            let message = format!("rails {} high do not fit on a bed of at most {}", length(notes, tallest), length(notes, side));
            fault(notes, Place::new("shop.cutter"), message, "check the bed's size and the sled's base");
        }
    }
}

/// Every place from centre to nock has wood.
fn coverage(notes: &Notes, build: &Build, outline: &Outline) {
    let mut spans: Vec<(f64, f64)> = build.laminations.iter().map(|l| (l.from_mm, l.to_mm)).collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut reached = 0.0;
    for (from, to) in spans {
        if reached + 0.05 < from {
            break;
        }
        reached = to.max(reached);
    }
    if reached + 0.05 < outline.nock_mm() {
        let message = format!(
            "no lamination lies between station {} and the nock at {}",
            length(notes, reached),
            length(notes, outline.nock_mm())
        );
        fault(notes, Place::new("lamination"), message, "let one reach from the centre to the tip, or let the spans overlap");
    }
}

fn riser_and_outline(notes: &Notes, build: &Build, riser: &Riser, outline: &Outline) {
    let place = Place::new("riser");
    if outline.nock_to_nock_mm <= riser.length_mm {
        let message = format!(
            "the riser, {}, is as long as the bow, {}",
            length(notes, riser.length_mm),
            length(notes, outline.nock_to_nock_mm)
        );
        fault(notes, place.key("length"), message, "length is feather to feather; 12 to 20 in is usual");
        return;
    }
    let block = riser.width_mm(build.glue.line_mm);
    let widest = bow::widest(outline, riser.feather_station_mm());
    // A ten-thousandth of an inch of rounding in a sum of slices.
    if block < widest - 0.003 {
        let message = format!(
            "slices and glue lines add up to {}, but the bow is {} wide over the riser",
            length(notes, block),
            length(notes, widest)
        );
        fault(
            notes,
            place.key("across"),
            message,
            format!("add {} to the slices, and a margin to trim", length(notes, widest - block)),
        );
    } else if System::Inch.length(block - widest) < 1.0 / 32.0 {
        let message = format!(
            "slices and glue lines add up to {}, hardly more than the bow's {} over the riser",
            length(notes, block),
            length(notes, widest)
        );
        notes.warn(Diagnostic::warning(place.key("across"), message).hint("leave 1/16 in or more to trim; common practice"));
    }
}

fn draw_and_outline(notes: &Notes, build: &Build, outline: &Outline) {
    let Some(target) = &build.target else { return };
    // With limbs bent to half circles the string's middle stands about 0.6 of the bow's length away: past that no bow goes.
    const FARTHEST: f64 = 0.6;
    let farthest = FARTHEST * outline.nock_to_nock_mm;
    if farthest < target.pivot_to_nock_mm {
        let message = format!(
            "a bow of {} nock to nock cannot be drawn {}",
            length(notes, outline.nock_to_nock_mm),
            length(notes, target.pivot_to_nock_mm)
        );
        fault(
            notes,
            Place::new("target.draw_length"),
            message,
            format!("at most {} from the pivot point", length(notes, farthest)),
        );
    }
}

fn stages_and_outline(notes: &Notes, build: &Build, outline: &Outline) {
    for (index, stage) in build.glue.stages.iter().enumerate() {
        if let Held::Props { at_mm, .. } = stage.held
            && outline.end_mm() < at_mm
        {
            let message =
                format!("props at {} stand beyond the tip at {}", length(notes, at_mm), length(notes, outline.end_mm()));
            let place = Place::new("glue.stage").index(index).key("held");
            fault(notes, place, message, "`at` is the props' station, counted from the bow's centre");
        }
    }
}
