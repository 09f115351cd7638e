//! The shop log: `units` and `[[reading]]` tables, each with a date, what it is `of`, and the keys of that kind.
//!
//! ```toml
//! [[reading]]
//! date       = 2026-11-20
//! of         = "strip"
//! lamination = "core"
//! after      = 6                                # passes made
//! gauge      = 1.452
//! apart      = 1.5                              # between left and right readings
//! readings   = [[2, 0.206, 0.204], [30, 0.152, 0.150]]
//! ```
//!
//! A place along a strip has two names: its distance from the strip's first end, and its station, counted from the bow's centre.
//! `counted_from` says which; past this door all places count from the strip's first end.

mod kinds;

pub use kinds::{COUNTED_FROM, KINDS, ONE_BOW, ReadingKind};

use super::bow::FINISHING;
use super::photograph;
use super::raw::{Entry, RawTable, Value};
use super::reader::{FileSection, Notes, Range, Written, if_given};
use super::spelling::{self, Quoted};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::model::log::{
    Across, BendTest, BlankBending, BlankWidth, BowWeighing, GluedUnder, Log, Of, Reading, ScrapOn, ShotReading, StripRun,
    TakenOff, TillerReading, Tips,
};
use crate::numeric::interp::{Between, Curve};
use crate::units::Quantity;

/// Whatever a shop can measure; slips are asked about later, where the expected value is known.
const PLACE: Range = Range::between(-10.0, 3000.0);
/// The same from the bow's centre: both halves of a full strip.
const STATION: Range = Range::between(-1600.0, 1600.0);
const SIZE: Range = Range::positive(3000.0);
const RISE: Range = Range::between(-1000.0, 1000.0);
const WEIGHT: Range = Range::positive(5000.0);
/// Of the form while glue cures: none does in the frost, and a bare number in the other scale is asked about.
const TEMPERATURE: Range = Range::between(0.0, 200.0);
/// Of a whole bow, kg.
const MASS: Range = Range::positive(5.0);
/// What is written on a bow, or on a pot of glue.
const MAX_NAME: usize = 40;

/// A shop that writes down a reading at every pass of every strip fills as many in years; more would be slow to answer.
const MAX_READINGS: usize = 20_000;

/// The log, unless something in it is at fault.
pub fn log(root: &RawTable, notes: &Notes, build: &Build) -> Option<Log> {
    let root = FileSection::new(notes, Place::whole_file(), "", Some(root));
    if let Some(written) = root.get("units") {
        written.word(&[("in", ()), ("mm", ())]);
    }
    let sections = if root.has("reading") { root.sections_up_to("reading", MAX_READINGS) } else { Some(Vec::new()) };
    root.finish();
    let sections = sections?;
    let read: Vec<Option<Reading>> = sections.iter().map(|section| reading(section, build)).collect();
    let readings: Vec<Reading> = read.into_iter().collect::<Option<_>>()?;
    for pair in readings.windows(2) {
        if pair[1].date < pair[0].date {
            let message = format!("this reading of {} stands after one of {}", pair[1].date, pair[0].date);
            let hint = "readings count in the order of the file; the last one of a kind is what holds";
            notes.warn(Diagnostic::warning(pair[1].place.key("date"), message).hint(hint));
        }
    }
    Some(Log { readings })
}

fn reading(section: &FileSection<'_>, build: &Build) -> Option<Reading> {
    let date = section.need("date", "write the day, such as date = 2026-11-20").and_then(|written| date(&written));
    let note = section.get("note").map(|written| written.text("a remark").map(str::to_owned));
    let words: Vec<(&str, &str)> = KINDS.iter().map(|kind| (kind.word, kind.word)).collect();
    let of = section.need("of", "say what was read, such as of = \"strip\"").and_then(|written| written.word(&words));
    let named = which_bow(section, of);
    let glued = if matches!(of, Some("release" | "bow")) { glued_under(section) } else { Some(GluedUnder::default()) };
    let of = match of {
        Some("sled") => sled(section, build),
        Some("test strip") => test_strip(section, build),
        Some("strip") => strip(section, build),
        Some("done") => done(section, build),
        Some("sheet") => thicknesses(section).map(|thickness_mm| Of::Sheet { thickness_mm }),
        Some("shim") => shim(section, build),
        Some("print") => print(section),
        Some("bend") => bend(section, build),
        Some("release") => release(section, build),
        Some("blank") => blank(section, build),
        Some("tiller") => tiller(section, build),
        Some("bow") => bow(section, build),
        Some("shot") => shot(section, build),
        // Which keys belong here is not known.
        _ => return None,
    };
    section.finish();
    let (serial, build_file) = named?;
    Some(Reading { date: date?, place: section.place.clone(), note: if_given(note)?, serial, build_file, glued: glued?, of: of? })
}

/// `serial` and `build` of a reading of this kind.
fn which_bow(section: &FileSection<'_>, of: Option<&str>) -> Option<(Option<String>, Option<String>)> {
    let kind = KINDS.iter().find(|kind| Some(kind.word) == of)?;
    if !kind.is_of_one_bow() {
        if let Some(written) = section.get("serial") {
            written.fault(format!("a {} is the shop's, and of no one bow", kind.word), "take `serial` out");
            return None;
        }
        return Some((None, None));
    }
    let serial = if_given(section.get("serial").map(|written| name(&written, "the number on the bow, such as \"12\"")))?;
    // Of a bow of another build file the weight alone tells something without a name.
    if serial.is_none() && kind.word != "bow" {
        if let Some(written) = section.get("build") {
            written.fault("which bow of that build file was read is not said", "add its number, such as serial = \"12\"");
            return None;
        }
        return Some((None, None));
    }
    let build_file = section.get("build").map(|written| written.text("the path of a build file").map(str::to_owned));
    Some((serial, if_given(build_file)?))
}

/// A word by which the shop tells things apart; a whole number is one.
fn name(written: &Written<'_>, wanted: &str) -> Option<String> {
    let text = match &written.node.value {
        Value::Number(_) => written.count(0, 1_000_000_000)?.to_string(),
        _ => written.text(wanted)?.trim().to_owned(),
    };
    if MAX_NAME < text.chars().count() {
        written.fault(format!("this name is longer than {MAX_NAME} letters"), format!("write {wanted}"));
        return None;
    }
    Some(text)
}

/// `batch` and `temperature`.
fn glued_under(section: &FileSection<'_>) -> Option<GluedUnder> {
    let batch = section.get("batch").map(|written| name(&written, "the batch of glue or glass, such as \"March\""));
    let temperature = section.get("temperature").map(|written| written.quantity(Quantity::Temperature, TEMPERATURE));
    Some(GluedUnder { batch: if_given(batch)?, temperature_c: if_given(temperature)? })
}

/// A day, as a date of TOML or in quotes.
fn date(written: &Written<'_>) -> Option<String> {
    let text = match &written.node.value {
        Value::Date(text) => text.as_str(),
        Value::Text(text) => text.trim(),
        other => {
            written.fault(format!("this is {}, but a day is wanted", other.noun()), "write it like 2026-11-20");
            return None;
        }
    };
    let digits = |range: std::ops::Range<usize>| text.get(range).filter(|part| part.bytes().all(|b| b.is_ascii_digit()));
    let month = digits(5..7).and_then(|part| part.parse::<u32>().ok()).filter(|month| (1..=12).contains(month));
    let day = digits(8..10).and_then(|part| part.parse::<u32>().ok()).filter(|day| (1..=31).contains(day));
    let short = matches!((month, day), (Some(4 | 6 | 9 | 11), Some(31)) | (Some(2), Some(30 | 31)));
    let dashes = text.as_bytes().get(4) == Some(&b'-') && text.as_bytes().get(7) == Some(&b'-');
    if text.len() == 10 && digits(0..4).is_some() && dashes && month.is_some() && day.is_some() && !short {
        return Some(text.to_owned());
    }
    written.fault("this is not a day", "write year, month and day like 2026-11-20");
    None
}

/// The lamination that a reading names.
fn lamination(section: &FileSection<'_>, build: &Build) -> Option<usize> {
    let written = section.need("lamination", "name the lamination, as the build file does")?;
    let words: Vec<(&str, usize)> =
        build.laminations.iter().enumerate().map(|(index, lamination)| (lamination.name.as_str(), index)).collect();
    written.word(&words)
}

/// Whether places are counted from the bow's centre, and not from the strip's first end.
///
/// A half that begins off the centre has two counts that look alike: on an even taper the wrong one is a wrong zero. There it has to be
/// said.
fn from_centre(section: &FileSection<'_>, build: &Build, lamination: Option<usize>) -> Option<bool> {
    let lamination = lamination.map(|index| &build.laminations[index]);
    let words = [("end", false), ("centre", true), ("center", true)];
    match (section.get("counted_from"), lamination) {
        (Some(written), Some(_)) => written.word(&words),
        (Some(written), None) => written.word(&words).filter(|from_centre| !from_centre).or_else(|| {
            written.fault("only a strip of the bow has stations", "write counted_from = \"end\", or name the lamination");
            None
        }),
        (None, Some(lamination)) if lamination.must_say_count() => {
            let message = message!(
                "`counted_from` is missing: `{}` begins {} {} the bow's centre",
                lamination.name,
                mm(lamination.butt_mm().abs()),
                if lamination.butt_mm() < 0.0 { "past" } else { "off" }
            );
            let hint = "say counted_from = \"end\" for places from the strip's butt end, or \"centre\" for stations";
            section.fault("", message, hint);
            None
        }
        (None, _) => Some(false),
    }
}

fn sled(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    let lamination = lamination(section, build);
    let from_centre = from_centre(section, build, lamination);
    let hint = "give pairs of place and height, such as heights = [[1, 1.236], [12, 1.258]]";
    let range = if from_centre == Some(true) { STATION } else { PLACE };
    let heights = section.need("heights", hint).and_then(|written| written.stations("height", range, SIZE));
    let (lamination, mut heights_mm) = (lamination?, heights?);
    if from_centre? {
        heights_mm.iter_mut().for_each(|(place, _)| *place = build.laminations[lamination].u_of(*place));
    }
    Some(Of::Sled { lamination, heights_mm })
}

fn test_strip(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    let lamination = if section.has("lamination") { Some(lamination(section, build)) } else { None };
    section.get("lamination");
    let words = [("table", ScrapOn::Table), ("sled", ScrapOn::Sled)];
    let on = match section.get("on") {
        Some(written) => written.word(&words),
        None => Some(ScrapOn::Table),
    };
    // Scrap on the table has no place on the bow.
    let strip = lamination.flatten().filter(|_| on == Some(ScrapOn::Sled));
    let run = run(section, build, strip, Ran::Scrap);
    let lamination = if_given(lamination)?;
    if on == Some(ScrapOn::Sled) && lamination.is_none() {
        section.fault("on", "which sled this ran on is not said", "name the lamination that the sled is for");
        return None;
    }
    Some(Of::TestStrip { lamination, on: on?, run: run? })
}

/// Tells the strips of a pair or a pile apart; empty where there is one.
fn strip_name(section: &FileSection<'_>) -> Option<String> {
    match section.get("strip") {
        Some(written) => written.text("what this strip is called, such as \"A\"").map(str::to_owned),
        None => Some(String::new()),
    }
}

fn strip(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    let lamination = lamination(section, build);
    let strip = strip_name(section);
    let run = run(section, build, lamination, Ran::Work);
    Some(Of::Strip { lamination: lamination?, strip: strip?, run: run? })
}

fn done(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    let lamination = lamination(section, build);
    let strip = strip_name(section);
    let pass =
        section.need("pass", "say which pass was made last, such as pass = 6").and_then(|written| written.count(0, 10_000));
    Some(Of::Done { lamination: lamination?, strip: strip?, pass: pass? })
}

/// What went through the machine: scrap for its gauge, or the work after some passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ran {
    Scrap,
    Work,
}

/// `strip` is the lamination whose places are read.
fn run(section: &FileSection<'_>, build: &Build, strip: Option<usize>, ran: Ran) -> Option<StripRun> {
    let gauge_needed = ran == Ran::Scrap;
    let after = match section.get("after") {
        Some(written) => written.count(0, 10_000),
        None if gauge_needed => Some(0),
        None => {
            section.need("after", "say how many passes were made by then, such as after = 6");
            None
        }
    };
    let gauge = if gauge_needed {
        section
            .need("gauge", "say what the gauge showed, such as gauge = 1.450")
            .map(|written| written.quantity(Quantity::Length, SIZE))
    } else {
        section.get("gauge").map(|written| written.quantity(Quantity::Length, SIZE))
    };
    let apart = section.get("apart").map(|written| written.quantity(Quantity::Length, Range::positive(1500.0)));
    let hint = "give [place, thickness] or [place, left, right], such as readings = [[1, 0.201, 0.202]]";
    let from_centre = from_centre(section, build, strip);
    let range = if from_centre == Some(true) { STATION } else { PLACE };
    let at = section.need("readings", hint).and_then(|written| across(&written, range));
    let gauge_mm = if_given(gauge)?;
    if gauge_needed && gauge_mm.is_none() {
        return None;
    }
    let apart_mm = if_given(apart)?;
    let (after, mut at, from_centre) = (after?, at?, from_centre?);
    if let Some(strip) = strip.filter(|_| from_centre) {
        at.iter_mut().for_each(|at| at.u_mm = build.laminations[strip].u_of(at.u_mm));
    }
    let two_sided = at.iter().any(|reading| 1e-9 < (reading.left_mm - reading.right_mm).abs());
    if two_sided && apart_mm.is_none() {
        section.fault("", "left and right readings need `apart`", "say how far apart they were read, such as apart = 1.5");
        return None;
    }
    Some(StripRun { after, gauge_mm, at, from_centre, apart_mm })
}

/// `[place, thickness]` or `[place, left, right]`.
fn across(written: &Written<'_>, places: Range) -> Option<Vec<Across>> {
    let rows = written.list("[place, thickness] or [place, left, right]")?;
    let read = |row: &Written<'_>| {
        let parts = row.list("[place, thickness] or [place, left, right]")?;
        let place = parts[0].quantity(Quantity::Length, places);
        let thickness: Vec<Option<f64>> = parts[1..].iter().map(|part| part.quantity(Quantity::Length, SIZE)).collect();
        match thickness.as_slice() {
            [both] => Some(Across { u_mm: place?, left_mm: (*both)?, right_mm: (*both)? }),
            [left, right] => Some(Across { u_mm: place?, left_mm: (*left)?, right_mm: (*right)? }),
            _ => {
                let message = format!("this reading has {} parts, but two or three are wanted", parts.len());
                row.fault(message, "write [place, thickness] or [place, left, right]");
                None
            }
        }
    };
    let read: Vec<Option<Across>> = rows.iter().map(read).collect();
    read.into_iter().collect()
}

/// One length or a list of them.
fn several(written: &Written<'_>) -> Option<Vec<f64>> {
    if !matches!(written.node.value, Value::List(_)) {
        return Some(vec![written.quantity(Quantity::Length, SIZE)?]);
    }
    let read: Vec<Option<f64>> = written.list("lengths")?.iter().map(|part| part.quantity(Quantity::Length, SIZE)).collect();
    read.into_iter().collect()
}

fn thicknesses(section: &FileSection<'_>) -> Option<Vec<f64>> {
    let hint = "give one reading or a list of them, such as thickness = [0.236, 0.238]";
    section.need("thickness", hint).and_then(|written| several(&written))
}

fn shim(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    let words: Vec<(&str, usize)> =
        build.shop.shims.iter().enumerate().map(|(index, stock)| (stock.of.as_str(), index)).collect();
    let stock = section.need("stock", "name the stock, as `shop.shims` does").and_then(|written| {
        if words.is_empty() {
            written.fault("the build file lists no shim stock", "list it under [shop] shims first");
            return None;
        }
        written.word(&words)
    });
    let thickness = thicknesses(section);
    Some(Of::Shim { stock: stock?, thickness_mm: thickness? })
}

fn print(section: &FileSection<'_>) -> Option<Of> {
    let hint = "say what the 100 mm bar measured, such as across = \"99.2 mm\"";
    // The bar is 100 mm: a bare number is one of millimetres, whatever else the log is in.
    let bar = |key: &'static str| {
        let written = section.need(key, hint)?;
        match &written.node.value {
            Value::Number(mm) if mm.is_finite() && 0.0 < *mm => Some(*mm),
            _ => written.quantity(Quantity::Length, SIZE),
        }
    };
    let (across, up) = (bar("across"), bar("up"));
    Some(Of::Print { across_mm: across?, up_mm: up? })
}

fn release(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    let numbers: Vec<u32> = build.glue.stages.iter().map(|stage| stage.number).collect();
    let last = numbers.iter().copied().max().unwrap_or(1);
    let stage = section.need("stage", "say which stage came off, such as stage = 1").and_then(|written| written.count(1, last));
    let hint = "give the rise of each nock over the grip, - for reflex, such as upper = -1.1 and lower = -1.0";
    let tips = if section.has("upper") || section.has("lower") {
        if let Some(written) = section.get("tip") {
            written
                .fault("`tip` is the mean of both nocks, which are given", "take one of them out: `upper` and `lower` say more");
            return None;
        }
        let (upper, lower) = (section.need_length("upper", RISE, hint), section.need_length("lower", RISE, hint));
        upper.zip(lower).map(|(upper_mm, lower_mm)| Tips::Each { upper_mm, lower_mm })
    } else {
        let tip = section.need_length("tip", RISE, hint).map(Tips::Mean);
        section.get("upper");
        section.get("lower");
        tip
    };
    Some(Of::Release { stage: stage?, tips: tips? })
}

fn bend(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    let lamination = lamination(section, build);
    let strip = strip_name(section);
    let span = section.need_length("span", SIZE, "give the distance between the supports, such as span = 24");
    let hint = "give the weight that was hung on the middle, such as weight = \"2 lbf\"";
    let weight = section.need("weight", hint).and_then(|written| written.quantity(Quantity::Force, WEIGHT));
    let hint = "say what the middle went down by, such as sag = 0.52, or sag = [0.52, 0.515, 0.52]";
    let sag = section.need("sag", hint).and_then(|written| several(&written));
    let reads = section.get("reads").map(|written| written.quantity(Quantity::Length, Range::positive(10.0)));
    let along = |key: &'static str, hint: &str| -> Option<Curve> {
        let written = section.need(key, hint)?;
        match &written.node.value {
            Value::List(_) => {
                let points = written.stations(key, PLACE, SIZE)?;
                Curve::through(points, Between::Straight).ok()
            }
            _ => written.quantity(Quantity::Length, SIZE).map(Curve::constant),
        }
    };
    let width = along("width", "give the strip's width, such as width = 1.75");
    let hint = "give its thickness, such as thickness = 0.16, or by places from one support: thickness = [[0, 0.181], [12, 0.160], [24, 0.142]]";
    let thickness = along("thickness", hint);
    Some(Of::Bend(BendTest {
        lamination: lamination?,
        strip: strip?,
        span_mm: span?,
        weight_n: weight?,
        sag_mm: sag?,
        reads_mm: if_given(reads)?,
        width_mm: width?,
        thickness_mm: thickness?,
    }))
}

/// A draw as the builder states draw lengths, from the pivot point in mm.
fn pivot_to_nock(section: &FileSection<'_>, build: &Build) -> Option<f64> {
    let draw = section.need_length("draw", SIZE, "say how far it was drawn, as the build file states draw lengths")?;
    let beyond = build.draws_beyond_pivot_mm();
    if draw <= beyond {
        section.fault("draw", "the string does not come behind the grip", "state it as the build file's `draw_length` is stated");
        return None;
    }
    Some(draw - beyond)
}

fn bow_or_fault(section: &FileSection<'_>, build: &Build) -> Option<()> {
    if build.target.is_some() && build.outline.is_some() {
        return Some(());
    }
    section.fault("of", "the build file describes laminations and no bow", "add [target] and [outline] to the build file");
    None
}

fn blank(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    #[derive(Clone, Copy)]
    enum How {
        LongString,
        Braced,
        Floor,
    }
    let words = [("long string", How::LongString), ("braced", How::Braced), ("floor", How::Floor)];
    let how = section.need("how", "say how it was bent: \"long string\", \"braced\" or \"floor\"").and_then(|w| w.word(&words));
    let weight = section.need("weight", "give what the scale showed, such as weight = \"31 lbf\"");
    let weight_n = weight.and_then(|written| written.quantity(Quantity::Force, WEIGHT));
    let taken_off = taken_off(section, build);
    let bent = match how {
        Some(How::LongString) => {
            let string = section.need_length("string", SIZE, "give its length from nock to nock, such as string = 69");
            let draw = pivot_to_nock(section, build);
            string.zip(draw).map(|(string_mm, pivot_to_nock_mm)| BlankBending::LongString { string_mm, pivot_to_nock_mm })
        }
        Some(How::Braced) => {
            let brace = section.need_length("brace", SIZE, "give the brace height, such as brace = 4");
            let draw = pivot_to_nock(section, build);
            brace.zip(draw).map(|(brace_mm, pivot_to_nock_mm)| BlankBending::Braced { brace_mm, pivot_to_nock_mm })
        }
        Some(How::Floor) => section
            .need_length("drop", SIZE, "say how far the grip went down between the blocks, such as drop = 2")
            .map(|drop_mm| BlankBending::Floor { drop_mm }),
        None => None,
    };
    bow_or_fault(section, build)?;
    Some(Of::Blank { bent: bent?, weight_n: weight_n?, taken_off: taken_off? })
}

/// `width` and `belly_off`: what has come off by then.
fn taken_off(section: &FileSection<'_>, build: &Build) -> Option<TakenOff> {
    let width = section.get("width").map(|written| width(&written, build));
    let belly_off = section.get("belly_off").map(|written| written.quantity(Quantity::Length, Range::between(0.0, 30.0)));
    Some(TakenOff { width: if_given(width)?, belly_off_mm: if_given(belly_off)? })
}

/// `"strips"`, `"outline"`, one width, widths at stations, or a table of laminations with either.
fn width(written: &Written<'_>, build: &Build) -> Option<BlankWidth> {
    match &written.node.value {
        Value::Table(table) => {
            let known: Vec<(&str, usize)> =
                build.laminations.iter().enumerate().map(|(index, lamination)| (lamination.name.as_str(), index)).collect();
            let read = |entry: &Entry| {
                let place = written.place.key(&entry.key);
                let of = Written { notes: written.notes, place, path: written.path.clone(), node: &entry.node };
                let Some((_, index)) = known.iter().find(|(name, _)| *name == entry.key) else {
                    let names = known.iter().map(|(name, _)| *name);
                    let hint = spelling::meant(&entry.key, names.clone(), Quoted::Code, || {
                        format!("the build file has {}", names.map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", "))
                    });
                    of.fault("no lamination has this name", hint);
                    return None;
                };
                Some((*index, one_width(&of)?))
            };
            let each: Vec<Option<(usize, Curve)>> = table.entries.iter().map(read).collect();
            Some(BlankWidth::Each(each.into_iter().collect::<Option<_>>()?))
        }
        // A text that begins with a figure is a length.
        Value::Text(text) if !text.trim().starts_with(|c: char| c.is_ascii_digit() || c == '.') => {
            let trimmed = written.word(&[("strips", false), ("outline", true)])?;
            Some(if trimmed { BlankWidth::Outline } else { BlankWidth::Strips })
        }
        _ => one_width(written).map(BlankWidth::Whole),
    }
}

/// The same width all along, or one at each of some stations.
fn one_width(written: &Written<'_>) -> Option<Curve> {
    if !matches!(written.node.value, Value::List(_)) {
        return written.quantity(Quantity::Length, SIZE).map(Curve::constant);
    }
    let curve = Curve::through(written.stations("width", PLACE, SIZE)?, Between::Straight);
    if curve.is_err() {
        written.fault("these widths make no outline", "give at least two stations, rising");
    }
    curve.ok()
}

fn tiller(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    let draw = if section.has("draw") { Some(pivot_to_nock(section, build)) } else { None };
    section.get("draw");
    let pictured = photograph::is_one(section);
    let picture = pictured.then(|| photograph::photograph(section));
    let hint =
        "give [station, upper limb, lower limb], such as gaps = [[12, 7.25, 7.5]], or a photograph: picture, camera, marks, ..";
    let gaps = if pictured { section.get("gaps") } else { section.need("gaps", hint) };
    if let (true, Some(gaps)) = (pictured, &gaps) {
        gaps.fault("distances and a photograph are a reading each", "take `gaps` into a reading of its own");
        return None;
    }
    let rows = gaps.and_then(|written| written.list("[station, upper, lower]"));
    let read = |row: &Written<'_>| {
        let parts = row.list("[station, upper, lower]")?;
        let [s, upper, lower] = parts.as_slice() else {
            row.fault(format!("this has {} parts, but three are wanted", parts.len()), "write [station, upper, lower]");
            return None;
        };
        let (s, upper, lower) =
            (s.quantity(Quantity::Length, PLACE), upper.quantity(Quantity::Length, SIZE), lower.quantity(Quantity::Length, SIZE));
        Some([s?, upper?, lower?])
    };
    let gaps: Option<Vec<[f64; 3]>> =
        if pictured { Some(Vec::new()) } else { rows.and_then(|rows| rows.iter().map(read).collect()) };
    let photograph = if_given(picture)?.map(Box::new);
    bow_or_fault(section, build)?;
    let pivot_to_nock_mm = if_given(draw)?;
    let brace_mm = if_given(section.get("brace").map(|written| written.quantity(Quantity::Length, SIZE)))?;
    // How the strap of the tillering tree holds the grip; at brace nothing pulls.
    let held = section.get("held").map(|written| written.word(&[("free", false), ("fixed", true)]));
    let reads_to = section.get("reads_to").map(|written| written.quantity(Quantity::Length, Range::between(0.01, 10.0)));
    let worked = section.get("worked").map(|written| written.flag());
    let (fixed, sigma_mm, worked) = (if_given(held)?.unwrap_or(false), if_given(reads_to)?, if_given(worked)?);
    Some(Of::Tiller(TillerReading { pivot_to_nock_mm, brace_mm, gaps_mm: gaps?, photograph, fixed, sigma_mm, worked }))
}

fn bow(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    let weight = section.need("weight", "give what it weighs at its own draw length, such as weight = \"44 lbf\"");
    let weight_n = weight.and_then(|written| written.quantity(Quantity::Force, WEIGHT));
    let finishing = section.get("finishing").map(|written| written.quantity(Quantity::Force, FINISHING));
    let mass = section.get("mass").map(|written| written.quantity(Quantity::Mass, MASS));
    let taken_off = taken_off(section, build)?;
    if section.has("build") && !section.has("serial") && taken_off != TakenOff::default() {
        let message = "what came off a bow of another build file is not counted";
        section.fault("build", message, "take `width` and `belly_off` out, or name that bow with `serial`");
        return None;
    }
    Some(Of::Bow(BowWeighing { weight_n: weight_n?, mass_kg: if_given(mass)?, finishing_n: if_given(finishing)?, taken_off }))
}

/// What any bow may shoot, mm/s, and any arrow may weigh, kg; slips are asked about later.
const ARROW_SPEED: Range = Range::positive(500_000.0);
const ARROW: Range = Range::positive(1.0);

fn shot(section: &FileSection<'_>, build: &Build) -> Option<Of> {
    let one = |written: &Written<'_>| written.quantity(Quantity::ArrowSpeed, ARROW_SPEED);
    let speed = section.need("speed", "give what the chronograph showed, such as speed = \"162 ft/s\"");
    let speeds_mm_s = speed.and_then(|written| match &written.node.value {
        Value::List(_) => written.list("speeds")?.iter().map(one).collect::<Option<Vec<f64>>>(),
        _ => one(&written).map(|speed| vec![speed]),
    });
    let arrow = section.need("arrow", "give what the whole arrow weighs, such as arrow = \"420 gr\"");
    let arrow_kg = arrow.and_then(|written| written.quantity(Quantity::Mass, ARROW));
    let draw = if section.has("draw") { Some(pivot_to_nock(section, build)) } else { None };
    section.get("draw");
    bow_or_fault(section, build)?;
    Some(Of::Shot(ShotReading { speeds_mm_s: speeds_mm_s?, arrow_kg: arrow_kg?, pivot_to_nock_mm: if_given(draw)? }))
}
