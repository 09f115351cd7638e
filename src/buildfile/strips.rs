//! `[[lamination]]`: the finished shape of each lamination, and the strip that it is ground from.

use super::bow;
use super::materials::{MODULUS, SPREAD, STAND_IN, Shelf};
use super::meet;
use super::reader::{FileSection, Preset, Range, Written, if_given};
use super::splice;
use super::wording::amount;
use crate::diag::{Diagnostic, Message, at_least, at_most, mm};
use crate::model::join::Meet;
use crate::model::lamination::{Face, Lamination, Pieces, Stock};
use crate::model::machine_limits::{falls_to, thinner_than, where_on_strip};
use crate::model::outline::Outline;
use crate::model::taper::{Taper, TaperForm};
use crate::model::wood::Wood;
use crate::units::Quantity;
use crate::units::limit;

/// More is a slip of a program that wrote the file; no bow has a tenth of it.
pub const MAX_LAMINATIONS: usize = 200;

/// What the rest of the file says that a lamination needs to know.
#[derive(Debug, Clone, Copy)]
pub struct LaminationContext<'a> {
    pub shelf: &'a Shelf,
    pub outline: Option<&'a Outline>,
    /// Station of the end of the wood.
    pub end_mm: Option<f64>,
    /// `[outline]` is in the file, sound or not.
    pub has_outline: bool,
    pub has_target: bool,
    pub index: usize,
}

/// Reads one lamination; its name has been read before.
pub fn lamination(section: &FileSection<'_>, name: Option<&String>, around: &LaminationContext<'_>) -> Option<Lamination> {
    let wood = tested(section, wood(section, around));
    let board = section.get("board").map(|written| written.text("the board or batch these strips come from").map(str::to_owned));
    let ground = section.get("ground");
    let readings = ground.as_ref().map(|written| written.stations("thickness", bow::STATION, THICKNESS));
    let from = section.length_or("from", bow::STATION, Preset::same(0.0, "it starts at the bow's centre"));
    let to = to(section, around, readings.as_ref());
    let span = from.zip(to).filter(|(from, to)| spans(section, *from, *to, around.end_mm));
    let finished = finished(section, ground.as_ref(), readings, span);
    let feather = feather(section, finished.as_ref(), span);
    let finished = finished.zip(feather).map(|(taper, feather)| taper.feathered(feather));
    let meet = meet::meet(section);
    let pieces = pieces(section, span, meet, around);
    let faces = [("back", Some(Face::Back)), ("belly", Some(Face::Belly)), ("none", None)];
    let keep_face = section.get("keep_face").map(|written| written.word(&faces));
    let stage = section.count_or("stage", 1, 9, 1, "everything is glued in one go");
    let width_fraction = section.quantity_or(
        "width_share",
        Quantity::Ratio,
        Range::between(0.2, 1.0),
        Preset::same(1.0, "the strip is flat and as wide as the outline"),
    );
    let shape = finished.zip(span).zip(pieces);
    let reach = meet.map_or(0.0, Meet::reach_mm);
    let strip = shape
        .as_ref()
        .map(|((taper, (from, to)), pieces)| (taper, (if *pieces == Pieces::Full { 0.0 } else { from - reach }, *to), *pieces));
    let stock = stock(section, strip, around);
    let splice = splice::splice(section, around.shelf, wood.as_ref());
    section.finish();
    let ((finished, (from_mm, to_mm)), pieces) = shape?;
    let keep_face = if_given(keep_face)?;
    let lamination = Lamination {
        name: name?.clone(),
        wood: wood?,
        finished,
        from_mm,
        to_mm,
        pieces,
        limbs: 2,
        meet: meet?,
        splice: splice?,
        keep_face: keep_face.flatten(),
        faces_free: keep_face == Some(None),
        ground: ground.is_some(),
        stock: stock?,
        stage: stage?,
        width_fraction: width_fraction?,
        board: if_given(board)?,
        modulus_tested: section.has("modulus"),
        sled: None,
        own_width: None,
        place: section.place.clone(),
    };
    judge(section, &lamination);
    meet::judge(section, &lamination);
    if let Some(outline) = around.outline {
        judge_width(section, &lamination, outline);
    }
    Some(lamination)
}

/// Thickness anywhere on a lamination. Thinner than its least value is foil, thicker than its most a stave.
pub const THICKNESS: Range = Range::between(0.1, 60.0);
/// The same where a taper may run out: 0 is the end of a wedge, to be left as a feather.
const RUNS_OUT: Range = Range::between(0.0, 60.0);
/// Feathers: a riser's are a few tenths of a millimetre; thinner cannot be held, thicker is no feather.
const FEATHER: Range = Range::between(0.1, 2.0);
/// Thickness at the butt and of stock: the thinnest veneers have it, and inches typed into a metric file do not.
const BUTT: Range = Range::between(0.4, 60.0);
/// Where a lamination may end, and how wide a strip may be: from a tip wedge up; inches in a metric file fall short of it.
const END: Range = Range::between(50.0, bow::LONGEST_HALF_MM);
const STRIP_WIDTH: Range = Range::between(6.0, 300.0);
/// A taper of one in twenty is a wedge; tapers of laminations are a tenth of that.
pub const RATE: Range = Range::between(-0.05, 0.05);

fn wood(section: &FileSection<'_>, around: &LaminationContext<'_>) -> Option<Wood> {
    if let Some(written) = section.get("wood") {
        return around.shelf.find(&written);
    }
    if around.has_target || around.has_outline {
        section.need("wood", "add it, such as wood = \"maple, sugar\"; `taperwright woods` lists all");
        return None;
    }
    section.assume("wood", STAND_IN, "depths of cut are counted against hard maple");
    around.shelf.stand_in()
}

/// The wood with the modulus that a bending test of these strips gave, where there is one.
fn tested(section: &FileSection<'_>, wood: Option<Wood>) -> Option<Wood> {
    let modulus = section.get("modulus").map(|written| written.quantity(Quantity::Modulus, MODULUS));
    let spread = if section.has("modulus") {
        section.quantity_or("modulus_spread", Quantity::Ratio, SPREAD, TESTED_SPREAD)
    } else {
        if let Some(written) = section.get("modulus_spread") {
            written.fault(
                "there is no modulus here whose spread this could be",
                "give `modulus` as the bending test of the strips gave it",
            );
        }
        Some(0.0)
    };
    let (wood, modulus, spread) = (wood?, if_given(modulus)?, spread?);
    Some(match modulus {
        Some(modulus_mpa) => Wood { modulus_mpa, modulus_cov: spread, ..wood },
        None => wood,
    })
}

const TESTED_SPREAD: Preset = Preset::same(
    0.03,
    "one standard deviation of a careful bending test of a strip; the shop log's `bend` reading states its own",
);

fn to(section: &FileSection<'_>, around: &LaminationContext<'_>, readings: Option<&Option<Vec<(f64, f64)>>>) -> Option<f64> {
    if let Some(written) = section.get("to") {
        return written.quantity(Quantity::Length, END);
    }
    let (value, why) = match (around.end_mm, readings) {
        (Some(end), _) => (end, "it reaches to the end of the wood"),
        (None, Some(Some(readings))) if !around.has_outline && 1 < readings.len() => {
            (readings[readings.len() - 1].0, "the last station that was measured")
        }
        _ if around.has_outline => return None,
        _ => {
            section.need("to", "without an [outline] say where the lamination ends, counted from the bow's centre");
            return None;
        }
    };
    section.assume("to", amount(value, Quantity::Length, section.notes.system), why);
    Some(value)
}

fn spans(section: &FileSection<'_>, from: f64, to: f64, end_mm: Option<f64>) -> bool {
    let length = |mm| amount(mm, Quantity::Length, section.notes.system);
    // Shorter is no strip that could be held or measured.
    const SHORTEST_MM: f64 = 20.0;
    if limit::below(to, from + SHORTEST_MM) {
        let key = if section.has("to") { "to" } else { "from" };
        let message = format!("a lamination from {} to {} has no length to grind", length(from), length(to));
        section.fault(key, message, "`from` and `to` are stations counted from the bow's centre, `to` nearer the tip");
        return false;
    }
    if let Some(end) = end_mm
        && limit::past(to, end)
    {
        let message = format!("it reaches to {}, but the wood ends at {}", length(to), length(end));
        section.fault(
            "to",
            message,
            message!(
                "lower `to` to {} or less: half of nock_to_nock plus tip_beyond_nock; the strip's overrun comes on top of it",
                at_most(end)
            ),
        );
        return false;
    }
    true
}

fn finished(
    section: &FileSection<'_>,
    ground: Option<&Written<'_>>,
    readings: Option<Option<Vec<(f64, f64)>>>,
    span: Option<(f64, f64)>,
) -> Option<Taper> {
    let thickness = section.get("thickness");
    let taper = section.get("taper");
    if let (Some(ground), Some(readings)) = (ground, readings) {
        for (key, written) in [("thickness", &thickness), ("taper", &taper)] {
            if let Some(written) = written {
                let hint = "`ground` holds what was measured; take out one of the two";
                written.fault(format!("`{key}` and `ground` cannot both be given"), hint);
            }
        }
        let (readings, (_, to)) = (readings?, span?);
        let last = readings[readings.len() - 1].0;
        // A reading's step: beyond it the thickness at the tip is a guess.
        const FAR_MM: f64 = 100.0;
        if 1 < readings.len() && last + FAR_MM < to {
            let length = |mm| amount(mm, Quantity::Length, section.notes.system);
            let message = format!("the last reading is at {}, but the lamination ends at {}", length(last), length(to));
            section.notes.warn(
                Diagnostic::warning(ground.place.clone(), message)
                    .hint("the taper is carried on from there; measure nearer the tip"),
            );
        }
        return Taper::ground(readings).ok();
    }
    if let Some(stations) = taper.as_ref().filter(|written| written.is_table()).and_then(|written| written.section())
        && stations.has("stations")
    {
        return by_stations(&stations, thickness.as_ref());
    }
    let hint = "add the thickness at the butt, such as thickness = 0.150; or `ground` for a strip that is ground already";
    let to_a_tip = taper.as_ref().is_some_and(|taper| taper.table_has("tip"));
    let butt = section.need("thickness", hint).and_then(|written| {
        // A wedge may begin with nothing; of other thin numbers most are inches in a file of millimetres.
        let range = if to_a_tip && written.is_zero() { RUNS_OUT } else { BUTT };
        written.quantity(Quantity::Length, range)
    });
    let Some(taper) = taper else {
        section.assume("taper", "0", "parallel: the same thickness throughout");
        return Some(Taper::parallel(butt?));
    };
    if !taper.is_table() {
        let rate = taper.quantity(Quantity::Rate, RATE)?;
        let (butt, (from, to)) = (butt?, span?);
        if rate.abs() <= 0.0 {
            return Some(Taper::parallel(butt));
        }
        return Taper::straight(from, to, butt, rate).ok();
    }
    let table = taper.section()?;
    if table.has("tip") {
        let tip = table.length("tip", RUNS_OUT);
        table.finish();
        let (tip, butt, (from, to)) = (tip?, butt?, span?);
        return Taper::straight(from, to, butt, (butt - tip) / (to - from)).ok();
    }
    let hint = "write { flat = .., then = .. }, { tip = .. } or { stations = [[..]] }";
    let flat = table.need_length("flat", Range::between(0.0, bow::LONGEST_HALF_MM), hint);
    let then = table.need("then", hint).and_then(|written| written.quantity(Quantity::Rate, RATE));
    table.get("tip");
    table.get("stations");
    table.finish();
    let (flat, then, butt, (from, to)) = (flat?, then?, butt?, span?);
    if !limit::below(flat, to - from) {
        let length = |mm| amount(mm, Quantity::Length, section.notes.system);
        let message = format!("the flat part, {}, is as long as the whole lamination, {}", length(flat), length(to - from));
        table.fault("flat", message, "shorten it, or write taper = 0");
        return None;
    }
    if flat <= 0.0 {
        return Taper::straight(from, to, butt, then).ok();
    }
    Taper::flat_then_straight(from, to, butt, flat, then).ok()
}

/// The thickness at which a lamination that runs out stops; nothing for one that does not.
fn feather(section: &FileSection<'_>, taper: Option<&Taper>, span: Option<(f64, f64)>) -> Option<Option<f64>> {
    let ground = section.has("ground");
    let written = section.get("feather");
    if let (Some(written), true) = (&written, ground) {
        written.fault("a strip that is already ground has none of this", "take it out; `ground` holds what was measured");
        return None;
    }
    let given = if_given(written.map(|written| written.quantity(Quantity::Length, FEATHER)))?;
    let (Some(taper), Some((from, to)), false) = (taper, span, ground) else { return Some(None) };
    let inner = taper.corners().filter(|s| (from..=to).contains(s));
    let thinnest = inner.chain([from, to]).map(|s| taper.at(s)).fold(f64::INFINITY, f64::min);
    // Less than nothing is a taper too steep for its length, and no wedge.
    if thinnest < -MIN_THICKNESS_MM || (given.is_none() && MIN_THICKNESS_MM < thinnest) {
        return Some(None);
    }
    Some(Some(given.unwrap_or_else(|| section.preset("feather", Quantity::Length, FEATHER_LEFT))))
}

const FEATHER_LEFT: Preset =
    Preset::new(0.006, 0.15, "it runs out to nothing: ground until light shows through; common practice, no source");

fn by_stations(table: &FileSection<'_>, thickness: Option<&Written<'_>>) -> Option<Taper> {
    let points = table.get("stations").and_then(|written| written.stations("thickness", bow::STATION, RUNS_OUT));
    let between = bow::between(table);
    table.finish();
    if let Some(written) = thickness {
        written.fault("the thickness is given twice: here and by the taper's stations", "take this line out");
    }
    Taper::stations(points?, between?).ok()
}

fn pieces(
    section: &FileSection<'_>,
    span: Option<(f64, f64)>,
    meet: Option<Meet>,
    around: &LaminationContext<'_>,
) -> Option<Pieces> {
    if let Some(written) = section.get("pieces") {
        let pieces = written.word(&[("full", Pieces::Full), ("halves", Pieces::Halves)])?;
        let (from, _) = span?;
        if pieces == Pieces::Full && 0.0 < from {
            let from = amount(from, Quantity::Length, section.notes.system);
            let message = format!("one strip from tip to tip passes the centre, but this lamination starts at {from}");
            written.fault(message, "write pieces = \"halves\", or let it start at 0");
            return None;
        }
        return Some(pieces);
    }
    let (from, to) = span?;
    let bridging = around.end_mm.is_some_and(|end| to < 0.5 * end);
    let (pieces, word, why) = if 0.0 < from {
        (Pieces::Halves, "halves", "it starts away from the centre, so there is one strip on each limb")
    } else if meet.is_some_and(|meet| meet != Meet::Butted) {
        (Pieces::Halves, "halves", "`meet` says how its two halves overlap at the grip")
    } else if around.has_outline && around.index == 0 {
        (Pieces::Full, "full", "a back that is butted at the centre would pull apart")
    } else if bridging {
        (Pieces::Full, "full", "it ends within the inner half of the limbs and is short enough for one strip")
    } else {
        (Pieces::Halves, "halves", "a matched pair butted at the centre, ground in one setting; common practice")
    };
    section.assume("pieces", word, why);
    Some(pieces)
}

fn stock(
    section: &FileSection<'_>,
    shape: Option<(&Taper, (f64, f64), Pieces)>,
    around: &LaminationContext<'_>,
) -> Option<Stock> {
    let (notes, ground) = (section.notes, section.has("ground"));
    let length = |mm| amount(mm, Quantity::Length, notes.system);
    let table = section.section("stock");
    let thickness = table.length("thickness", BUTT);
    let width = match (table.has("width"), around.outline) {
        (true, _) => table.length("width", STRIP_WIDTH),
        (false, Some(outline)) => {
            table.get("width");
            let width = bow::widest(outline, outline.end_mm()) + WIDTH_TO_TRIM_MM;
            table.assume("width", length(width), "the outline's widest place and a margin to trim");
            Some(width)
        }
        (false, None) if ground => {
            table.get("width");
            Some(WIDTH_UNKNOWN_MM)
        }
        (false, None) if around.has_outline => {
            table.get("width");
            None
        }
        (false, None) => table.need("width", "without an [outline] say how wide the strip is").and(None),
    };
    let (overrun, spread, first_face) = if ground {
        for key in ["thickness", "overrun", "spread", "first_face"] {
            if let Some(written) = table.get(key) {
                written.fault("a strip that is already ground has none of this", "take it out; `ground` holds what was measured");
            }
        }
        (Some(0.0), Some(0.0), Some(0.0))
    } else {
        let small = Range::between(0.0, 5.0);
        (
            table.length_or("overrun", Range::between(0.0, 300.0), OVERRUN),
            table.length_or("spread", small, STOCK_SPREAD),
            table.length_or("first_face", small, Preset::same(0.0, "one face is flat already and lies on the sled")),
        )
    };
    table.finish();
    let (overrun_mm, spread_mm, first_face_mm, width_mm) = (overrun?, spread?, first_face?, width?);
    let thickness_mm = match (table.has("thickness") && !ground, shape) {
        (true, _) => thickness?,
        (false, Some((taper, span, pieces))) => {
            let thickest = thickest(taper, span, pieces, overrun_mm);
            if ground {
                thickest
            } else {
                let guess = thickest + TO_GRIND_MM + first_face_mm + spread_mm;
                table.assume("thickness", length(guess), "the thickest finished place and a little to grind; measure yours");
                guess
            }
        }
        (false, None) => return None,
    };
    Some(Stock { thickness_mm, spread_mm, width_mm, overrun_mm, first_face_mm })
}

/// Left at the edges to trim to the outline.
const WIDTH_TO_TRIM_MM: f64 = 3.0;
/// Width of a ground strip in a batch without an outline; nothing is ground to it.
const WIDTH_UNKNOWN_MM: f64 = 40.0;
/// Rough stock over the thickest finished place: less leaves saw marks, more is time and dust.
const TO_GRIND_MM: f64 = 1.0;
const OVERRUN: Preset = Preset::new(0.75, 20.0, "ends are trimmed after the glue-up; common practice, no source");
const STOCK_SPREAD: Preset = Preset::new(0.005, 0.13, "a carefully sawn strip; common practice, no source; measure yours");

fn thickest(taper: &Taper, (from, to): (f64, f64), pieces: Pieces, overrun: f64) -> f64 {
    let first = if pieces == Pieces::Full { 0.0 } else { from - overrun };
    let inner = taper.corners().filter(|s| (first..=to + overrun).contains(s)).map(|s| taper.at(s));
    inner.fold(taper.at(first).max(taper.at(to + overrun)), f64::max)
}

/// Thickness over the whole strip, and wood enough to grind it from.
fn judge(section: &FileSection<'_>, lamination: &Lamination) {
    if let Some(thinnest) = thinner_than(lamination, MIN_THICKNESS_MM) {
        let s = thinnest.station_mm;
        let runs_out = falls_to(lamination, MIN_THICKNESS_MM).unwrap_or(s);
        let mut falls = message!("the wood runs out {}", where_on_strip(lamination, runs_out));
        if 1.0 < (s - runs_out).abs() {
            falls.push(message!("; with its overrun the strip reaches station {}", mm(s)));
        }
        let key = if section.has("taper") { "taper" } else { "ground" };
        section.fault(key, falls, "take a smaller taper, a thicker butt or a shorter overrun");
    } else if !lamination.ground {
        judge_stock(section, lamination);
    }
}

/// What a pass takes that only trues, mm.
const LIGHT_CUT_MM: f64 = 0.1;

/// Thinner than this nothing is left to hold.
pub const MIN_THICKNESS_MM: f64 = 0.05;

fn judge_stock(section: &FileSection<'_>, lamination: &Lamination) {
    let stock = &lamination.stock;
    let corners = lamination.strip_corners();
    let thickest = corners.iter().map(|u| (*u, lamination.strip_thickness_at(*u)));
    let (u, thick) = thickest.fold((0.0, 0.0), |best, here| if best.1 < here.1 { here } else { best });
    let left = stock.thickness_mm - stock.first_face_mm;
    // So that the thinnest of it is still ground.
    let wanted_mm = thick + stock.first_face_mm + stock.spread_mm + LIGHT_CUT_MM;
    let place = match lamination.finished.form() {
        TaperForm::Parallel => "throughout".into(),
        _ => where_on_strip(lamination, lamination.station_at(u)),
    };
    if limit::above(thick, left) {
        let first = if 0.0 < stock.first_face_mm {
            message!(" less {} for the first face", mm(stock.first_face_mm))
        } else {
            Message::default()
        };
        let message = message!(
            "stock of {}{} is too thin: the finished strip is {} thick {}",
            mm(stock.thickness_mm),
            first,
            mm(thick),
            place
        );
        let hint = message!(
            "raise `stock.thickness` to {} or more; a strip that needs no grinding is given with `ground` instead of `thickness` and `taper`",
            at_least(wanted_mm)
        );
        section.fault("stock.thickness", message, hint);
    } else if !limit::above(left - stock.spread_mm, thick) {
        let message = message!(
            "where the stock is at its thinnest, {}, it leaves nothing to grind: the finished strip is {} thick {}",
            mm(left - stock.spread_mm),
            mm(thick),
            place
        );
        section.notes.warn(
            Diagnostic::warning(section.place.key("stock").key("thickness"), message)
                .hint(message!("measure each strip before grinding, or take stock of {} or more", at_least(wanted_mm))),
        );
    }
    if lamination.keep_face.is_some() && 0.0 < stock.first_face_mm {
        let message = "`first_face` takes wood off the face that `keep_face` keeps";
        section.fault("stock.first_face", message, "with a face that is kept only the other is ground: take out one of the two");
    }
}

/// A strip narrower than the limb at a station that it covers.
fn judge_width(section: &FileSection<'_>, lamination: &Lamination, outline: &Outline) {
    let to = lamination.to_mm.min(outline.end_mm());
    let inner = outline.width.points().iter().map(|point| point.0).filter(|s| lamination.from_mm < *s && *s < to);
    let needed = inner.chain([lamination.from_mm, to]).map(|s| (s, lamination.width_fraction * outline.width_at(s)));
    let (s, widest) = needed.fold((0.0, 0.0), |max, here| if max.1 < here.1 { here } else { max });
    let width = lamination.stock.width_mm;
    if limit::above(widest, width) {
        let message = message!(
            "the strip of \"{}\" is {} wide, but the limb is {} wide at station {}: {} is missing",
            lamination.name,
            mm(width),
            mm(widest),
            mm(s),
            mm(widest - width)
        );
        let hint = message!("raise `stock.width` to {} or more, or make the outline narrower there", at_least(widest));
        section.fault("stock.width", message, hint);
    }
}
