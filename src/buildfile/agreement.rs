//! Whether the parts of a build file agree with each other: strips with the machine, riser with outline, sled with sheet.

use super::block;
use super::grip;
use super::limb_shape;
use super::meet;
use super::overlay;
use super::profile;
use super::reader::Notes;
use super::splice;
use super::strips;
use crate::diag::{Diagnostic, Message, Place, at_least, at_most, mm};
use crate::model::Build;
use crate::model::lamination::{Lamination, Pieces};
use crate::model::machine_limits::{ramp_heights_mm, thinner_than, too_low, too_short, too_thin, too_wide};
use crate::model::outline::Outline;
use crate::model::riser::Riser;
use crate::model::taper::TaperForm;
use crate::model::workshop::{Held, Sander, SledPlan, SledStock, Tapers};
use crate::units::{System, limit};

/// Gathers every disagreement of a build whose parts are sound by themselves.
pub fn judge(notes: &Notes, build: &Build) {
    if let Some(sander) = &build.sander {
        for lamination in build.laminations.iter().filter(|lamination| !lamination.ground) {
            let on_sled = build.sled_for(lamination).filter(|_| !lamination.is_parallel());
            strip_and_machine(notes, lamination, sander, on_sled);
        }
    }
    boards(notes, build);
    if let Some(riser) = &build.riser {
        block::fits(notes, build, riser);
        grip::fits(notes, build, riser);
    }
    overlay::fits(notes, build);
    splice::among(notes, build);
    meet::among(notes, build);
    sleds_and_strips(notes, build);
    tabs_and_sheet(notes, build);
    if let Some(outline) = &build.outline {
        coverage(notes, build, outline);
        limb_shape::crown_and_belly(notes, build, outline);
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

fn fault(notes: &Notes, place: Place, message: impl Into<Message>, hint: impl Into<Message>) {
    notes.fault(Diagnostic::fault(place, message).hint(hint));
}

/// A board is of one wood.
fn boards(notes: &Notes, build: &Build) {
    let pieces = build.piece_names();
    for (index, name) in pieces.iter().enumerate() {
        let piece = build.piece(*name);
        let Some(board) = piece.board else { continue };
        let before = pieces[..index].iter().find(|before| build.piece(**before).board == Some(board));
        if let Some(before) = before.filter(|before| build.piece(**before).wood.name != piece.wood.name) {
            let (lamination, other) = (&build.laminations[name.lamination], build.piece(*before).wood);
            let of = &build.laminations[before.lamination].name;
            let message = format!("board \"{board}\" is {} here, but {} in `{of}`", piece.wood.name, other.name);
            let place = if name.outer { lamination.place.key("splice") } else { lamination.place.clone() };
            fault(notes, place.key("board"), message, "a board is of one wood: give each its own name");
        }
    }
}

fn strip_and_machine(notes: &Notes, lamination: &Lamination, sander: &Sander, on_sled: Option<&SledPlan>) {
    // Where the wood runs out altogether that has been said.
    let thin = too_thin(lamination, sander).filter(|_| thinner_than(lamination, strips::MIN_THICKNESS_MM).is_none());
    let found = [thin, too_short(lamination, on_sled, sander), too_wide(lamination, on_sled, sander)];
    found.into_iter().flatten().for_each(|fault| notes.fault(fault));
}

fn sleds_and_strips(notes: &Notes, build: &Build) {
    let tapered = build.laminations.iter().filter(|lamination| !lamination.ground && !lamination.is_parallel());
    let mut tallest: Option<(f64, &SledPlan)> = None;
    for lamination in tapered {
        let Some(sled) = build.sled_for(lamination) else { continue };
        let top = sled_and_strip(notes, build, lamination, sled);
        if sled.make.traits().from == SledStock::Sheets && tallest.is_none_or(|(max, _)| max < top) {
            tallest = Some((top, sled));
        }
    }
    if let Some((top, sled)) = tallest.filter(|(top, _)| 0.0 < *top) {
        rails_and_sheet(notes, build, sled, top);
    }
}

/// Whether this sled can be made for this strip; the greatest height of its ramp, mm.
fn sled_and_strip(notes: &Notes, build: &Build, lamination: &Lamination, sled: &SledPlan) -> f64 {
    let place = |key: &str| build.sled_place(lamination, key);
    let traits = sled.make.traits();
    // A plank lies on the table: how high it stands at the butt follows from the gauge's steps.
    if traits.from != SledStock::Plank
        && let Some(fault) = too_low(lamination, sled, sled.base_mm, place("base"))
    {
        notes.fault(fault);
    }
    let double = lamination.pieces == Pieces::Full && !matches!(lamination.finished.form(), TaperForm::Parallel);
    let bent = matches!(lamination.finished.form(), TaperForm::FlatThenStraight { .. } | TaperForm::Stations);
    if traits.tapers == Tapers::Straight && (double || bent) {
        let why = if double { "tapers from its middle both ways" } else { "is not one straight taper" };
        let message = format!("{} cannot make \"{}\", which {why}", traits.what, lamination.name);
        fault(notes, place("make"), message, "write make = \"ramp\", \"solid\" or \"shims\"");
    }
    let whole = lamination.strip_length_mm() + 2.0 * sled.run_on_mm;
    if traits.from != SledStock::Sheets && limit::above(whole, sled.sheet.length_mm) {
        let message = message!(
            "the sled for \"{}\" is {} long with its run-on, but the board is {}",
            lamination.name,
            mm(whole),
            mm(sled.sheet.length_mm)
        );
        let hint = message!("take a board of {} or more, or make = \"ramp\", whose rails may be joined", at_least(whole));
        fault(notes, place("sheet").key("length"), message, hint);
    }
    ramp_heights_mm(lamination, sled.base_mm).fold(0.0, f64::max)
}

fn rails_and_sheet(notes: &Notes, build: &Build, sled: &SledPlan, tallest: f64) {
    let [long, short] = build.shop.cutter.load_mm(&sled.sheet);
    let max = long.max(short);
    if limit::above(tallest, max) {
        let on_sheet = limit::same(max, sled.sheet.width_mm.max(sled.sheet.length_mm));
        let (what, place, hint) = if on_sheet {
            ("sheet", "sled.sheet", "check the sheet's width and length, and the sled's base")
        } else {
            ("bed", "shop.cutter", "check the bed's size and the sled's base")
        };
        let message = message!("rails {} high do not fit on a {} of at most {}", mm(tallest), what, mm(max));
        fault(notes, Place::new(place), message, hint);
    }
}

/// A bridge as high as the sheet is no cut at all.
fn tabs_and_sheet(notes: &Notes, build: &Build) {
    let (Some(tabs), Some(sled)) = (build.shop.profile.tabs, &build.sled) else { return };
    let thickness = sled.sheet.thickness_mm;
    if !limit::above(thickness, tabs.height_mm) {
        let message = message!("tabs {} high leave nothing to cut of a sheet {} thick", mm(tabs.height_mm), mm(thickness));
        fault(notes, Place::new("shop.cutter.router.tabs.height"), message, "leave a quarter of the sheet or less");
    }
}

/// Every place from centre to nock has wood.
fn coverage(notes: &Notes, build: &Build, outline: &Outline) {
    let mut spans: Vec<(f64, f64)> = build.laminations.iter().map(|l| (l.from_mm, l.to_mm)).collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut reached = 0.0;
    for (from, to) in spans {
        if limit::past(from, reached) {
            break;
        }
        reached = to.max(reached);
    }
    if limit::past(outline.nock_mm(), reached) {
        let message = message!("no lamination lies between station {} and the nock at {}", mm(reached), mm(outline.nock_mm()));
        fault(notes, Place::new("lamination"), message, "let one reach from the centre to the tip, or let the spans overlap");
    }
}

fn riser_and_outline(notes: &Notes, build: &Build, riser: &Riser, outline: &Outline) {
    let place = Place::new("riser");
    if !limit::above(outline.nock_to_nock_mm, riser.length_mm) {
        let message = message!("the riser, {}, is as long as the bow, {}", mm(riser.length_mm), mm(outline.nock_to_nock_mm));
        fault(notes, place.key("length"), message, "length is feather to feather; 12 to 20 in is usual");
        return;
    }
    let block = riser.width_mm(build.glue.line_mm);
    let widest = profile::widest(outline, riser.feather_station_mm());
    let (key, comes_to) =
        if riser.layers.is_empty() { ("across", "slices and glue lines add up to") } else { ("width", "the block is") };
    // What is left to trim from both sides together, and the step that a block is made to.
    let (margin, step) = (build.units.either_mm(1.0 / 16.0, 1.5), build.units.either_mm(1.0 / 32.0, 0.5));
    let up = |length: f64| (limit::whole_steps(length, step) + 1.0) * step;
    let hint = || {
        let why = "the bow is trimmed out of the block; common practice, no source";
        if riser.layers.is_empty() {
            message!("add {} to the slices: {}", at_least(up(widest + margin - block)), why)
        } else {
            message!("raise `width` to {} or more: {}", at_least(up(widest + margin)), why)
        }
    };
    if limit::below(block, widest) {
        let wide = if riser.layers.is_empty() { "" } else { " wide" };
        let message = message!("{} {}{}, but the bow is {} wide over the riser", comes_to, mm(block), wide, mm(widest));
        fault(notes, place.key(key), message, hint());
    } else if limit::below(block - widest, System::Inch.to_mm(1.0 / 32.0)) {
        let wide = if riser.layers.is_empty() { "" } else { " wide" };
        let message = message!(
            "{} {}{}, hardly more than the bow over the riser: next to nothing is left to trim",
            comes_to,
            mm(block),
            wide
        );
        notes.warn(Diagnostic::warning(place.key(key), message).hint(hint()));
    }
}

fn draw_and_outline(notes: &Notes, build: &Build, outline: &Outline) {
    let Some(target) = &build.target else { return };
    // With limbs bent to half circles the string's middle stands about 0.6 of the bow's length away: past that no bow goes.
    const FARTHEST: f64 = 0.6;
    let farthest = FARTHEST * outline.nock_to_nock_mm;
    if limit::above(target.pivot_to_nock_mm, farthest) {
        let message =
            message!("a bow of {} nock to nock cannot be drawn {}", mm(outline.nock_to_nock_mm), mm(target.draw_length_mm));
        fault(
            notes,
            Place::new("target.draw_length"),
            message,
            // What the key counts beyond the pivot point counts in its limit, too.
            message!("lower `draw_length` to {} or less", at_most(farthest + target.draw_length_mm - target.pivot_to_nock_mm)),
        );
    }
}

fn stages_and_outline(notes: &Notes, build: &Build, outline: &Outline) {
    for (index, stage) in build.glue.stages.iter().enumerate() {
        if let Held::Props { at_mm, .. } = stage.held
            && limit::past(at_mm, outline.end_mm())
        {
            let message = message!("props at {} stand beyond the tip at {}", mm(at_mm), mm(outline.end_mm()));
            let place = Place::new("glue.stage").index(index).key("held");
            let hint = message!(
                "lower `at` to {} or less: it is the props' station, counted from the bow's centre",
                at_most(outline.end_mm())
            );
            fault(notes, place, message, hint);
        }
    }
}
