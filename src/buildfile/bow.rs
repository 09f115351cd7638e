//! The bow as a whole: `[target]`, `[outline]` and `[riser]`.

use super::block;
use super::grip;
use super::materials::{STAND_IN, Shelf};
use super::names;
pub use super::profile::widest;
use super::profile::{self, LENGTH, LEVEL, OVERRUN};
use super::raw::Value;
use super::reader::{FileSection, Preset, Range, Written, if_given};
use super::spelling::{self, Quoted};
use super::wording::amount;
use crate::diag::Place;
use crate::model::build::{FinishedBow, Target};
use crate::model::outline::{LimbShape, Nock, Outline};
use crate::model::riser::{Riser, Slice};
use crate::numeric::interp::{Between, Curve};
use crate::units::{self, Quantity, System, limit};

/// What the trade's published standard adds to the distance from pivot point to string at full draw (AMO/ATA: 1¾ in), mm.
const STANDARD_DRAW_EXTRA_IN: f64 = 1.75;

/// Longest half of a bow that is read, mm.
pub const LONGEST_HALF_MM: f64 = 1500.0;
/// Width of a limb: narrower at the tip than its least value no string holds.
const WIDTH: Range = Range::between(3.0, 200.0);
/// What sanding, finish and set may take, N.
pub const FINISHING: Range = Range::between(0.0, 200.0);
/// Where a station may lie.
pub const STATION: Range = Range::between(0.0, LONGEST_HALF_MM);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum DrawFrom {
    Standard,
    Pivot,
}

/// Whether a force was given in pounds, whatever the file's units are.
pub fn in_pounds(written: &Written<'_>) -> bool {
    matches!(&written.node.value, Value::Text(text) if units::in_pounds(text))
}

pub fn target(section: &FileSection<'_>) -> Option<Target> {
    if !section.present() {
        return None;
    }
    let weight = section.need("draw_weight", "add it, such as draw_weight = \"42 lbf\"");
    let draw_weight_n = weight.as_ref().and_then(|written| written.quantity(Quantity::Force, Range::positive(1200.0)));
    let draw_length_mm =
        section.need_length("draw_length", Range::between(100.0, 1200.0), "add it, such as draw_length = \"28 in\"");
    let from = section.word_or(
        "draw_length_from",
        &[("standard", DrawFrom::Standard), ("pivot", DrawFrom::Pivot)],
        "the trade's published standard: pivot point to string at full draw, plus 1 3/4 in",
    );
    let brace = section.length_or(
        "brace_height",
        Range::between(20.0, 400.0),
        Preset::new(6.5, 165.0, "usual for longbows and flatbows; common practice, no source"),
    );
    let finishing = section.quantity_or(
        "finishing",
        Quantity::Force,
        FINISHING,
        Preset::new(3.0, 13.0, "sanding, finish and set cost two to four pounds; common practice, no source"),
    );
    let positive_tiller = section.length_or(
        "positive_tiller",
        Range::between(0.0, 25.0),
        Preset::new(0.1875, 5.0, "the hand presses below the middle; 0 for three fingers under; common practice, no source"),
    );
    let grip_depth = section.get("grip_depth").map(|written| written.quantity(Quantity::Length, Range::between(5.0, 150.0)));
    section.finish();
    let (draw_weight_n, draw_length_mm, from, brace) = (draw_weight_n?, draw_length_mm?, from?, brace?);
    let extra = if from == DrawFrom::Standard { System::Inch.to_mm(STANDARD_DRAW_EXTRA_IN) } else { 0.0 };
    let target = Target {
        draw_weight_n,
        draw_length_mm,
        pivot_to_nock_mm: draw_length_mm - extra,
        brace_height_mm: brace,
        in_pounds: weight.as_ref().is_some_and(in_pounds),
        finishing_n: finishing?,
        positive_tiller_mm: positive_tiller?,
        grip_depth_mm: if_given(grip_depth)?,
    };
    judge_target(section, &target, weight.as_ref());
    Some(target)
}

/// `[[calibration]]`: finished bows by build file and weight.
pub fn calibration(root: &FileSection<'_>) -> Vec<FinishedBow> {
    let read = |table: FileSection<'_>| {
        let build = table.need("build", "name the finished bow's build file, such as build = \"first-bow.toml\"");
        let build_file = build.and_then(|written| written.text("the path of a build file").map(str::to_owned));
        let weight = table.need("weight", "say what that bow weighs at its own draw length, such as weight = \"44 lbf\"");
        let weight_n = weight.and_then(|written| written.quantity(Quantity::Force, Range::positive(1200.0)));
        let finishing = table.get("finishing").map(|written| written.quantity(Quantity::Force, FINISHING));
        let place = table.place.clone();
        table.finish();
        Some(FinishedBow { build_file: build_file?, weight_n: weight_n?, finishing_n: if_given(finishing)?, place })
    };
    root.sections("calibration").unwrap_or_default().into_iter().filter_map(read).collect()
}

fn judge_target(section: &FileSection<'_>, target: &Target, weight: Option<&Written<'_>>) {
    let notes = section.notes;
    let length = |mm| amount(mm, Quantity::Length, notes.system);
    let force = |n| amount(n, Quantity::Force, notes.system);
    if !limit::above(target.pivot_to_nock_mm, target.brace_height_mm) {
        let message = format!(
            "the string at full draw stands {} from the pivot point, but already {} at brace",
            length(target.pivot_to_nock_mm),
            length(target.brace_height_mm)
        );
        section.fault(
            "draw_length",
            message,
            "the draw length must be greater than the brace height (plus 1 3/4 in by the standard)",
        );
    }
    if !limit::above(target.draw_weight_n, target.finishing_n) {
        let message =
            format!("{} kept for finishing leave nothing of {}", force(target.finishing_n), force(target.draw_weight_n));
        section.fault("finishing", message, "two to five pounds are usual");
    }
    // A bare 42 in a metric file is 42 N, a toy.
    if let Some(written) = weight
        && target.draw_weight_n < 60.0
        && let Value::Number(bare) = written.node.value
        && notes.units_known.get()
    {
        let mut warning = crate::diag::Diagnostic::warning(
            written.place.clone(),
            format!("{} is very little for a bow", force(target.draw_weight_n)),
        );
        if notes.system == System::Millimetre {
            warning = warning.hint(format!("a bare number is in N here; did you mean \"{bare} lbf\"?"));
        }
        notes.warn(warning);
    }
}

/// What `[outline]` says.
#[derive(Debug, Default)]
pub struct OutlineRead {
    pub outline: Option<Outline>,
    /// Station of the end of the wood, mm, which is known even where the width is at fault.
    pub end_mm: Option<f64>,
}

/// The outline while its limb is square. What shapes the limb across is read by [`super::limb_shape`], which finishes the table.
pub fn outline(section: &FileSection<'_>) -> OutlineRead {
    if !section.present() {
        return OutlineRead::default();
    }
    let length = section.need_length(
        "nock_to_nock",
        Range::between(250.0, 2.0 * LONGEST_HALF_MM),
        "add the length along the back, unstrung",
    );
    let width = section
        .need("width", "add pairs [station, full width], such as [[0, 1.2], [9, 1.6], [33, 0.5]]")
        .and_then(|written| written.stations("full width", STATION, WIDTH));
    let between = between(section);
    let tip = section.length_or(
        "tip_beyond_nock",
        Range::between(0.0, 150.0),
        Preset::new(0.75, 20.0, "half to three quarters of an inch is usual; common practice, no source"),
    );
    let nock = section.section("nock");
    let depth = nock.length_or(
        "depth",
        Range::positive(15.0),
        Preset::new(0.125, 3.0, "about an eighth of an inch is usual; common practice, no source"),
    );
    let angle = nock.quantity_or(
        "angle",
        Quantity::Angle,
        Range::between(0.0, 80.0_f64.to_radians()),
        Preset::same(40.0, "40 to 45 degrees are usual; common practice, no source"),
    );
    nock.finish();
    let end_mm = length.zip(tip).map(|(length, tip)| 0.5 * length + tip);
    let outline = || {
        let outline = Outline {
            nock_to_nock_mm: length?,
            width: Curve::through(width?, between?).ok()?,
            tip_beyond_nock_mm: tip?,
            nock: Nock { depth_mm: depth?, angle_rad: angle? },
            shape: LimbShape::default(),
        };
        judge_outline(section, &outline).then_some(outline)
    };
    OutlineRead { outline: outline(), end_mm }
}

fn judge_outline(section: &FileSection<'_>, outline: &Outline) -> bool {
    let length = |mm| amount(mm, Quantity::Length, section.notes.system);
    let end = outline.end_mm();
    let points = outline.width.points();
    let mut sound = within_wood(section, &section.place.key("width"), points, end);
    // Between its points a width stays between their values; beyond them it runs on, so both ends decide.
    for (s, of) in [(0.0, "at the centre"), (end, "at the tip")] {
        if outline.width_at(s) <= 0.0 {
            let message = format!("the width runs out: it would be {} {of}, station {}", length(outline.width_at(s)), length(s));
            section.fault("width", message, "the outline runs on as its last two points point: add a point there");
            sound = false;
        }
    }
    let at_nock = outline.width_at(outline.nock_mm());
    if sound && !limit::below(outline.nock.depth_mm, 0.5 * at_nock) {
        let message = format!(
            "two grooves {} deep meet in a tip that is {} wide at the nock",
            length(outline.nock.depth_mm),
            length(at_nock)
        );
        section.fault("nock.depth", message, format!("keep the depth under half the width, {}", length(0.5 * at_nock)));
        sound = false;
    }
    sound
}

/// Whether all stations of the list at `place` lie on the wood.
pub fn within_wood(section: &FileSection<'_>, place: &Place, points: &[(f64, f64)], end_mm: f64) -> bool {
    let length = |mm| amount(mm, Quantity::Length, section.notes.system);
    let Some(index) = points.iter().position(|(s, _)| limit::past(*s, end_mm)) else { return true };
    let message = format!("station {} lies beyond the tip, which is at {}", length(points[index].0), length(end_mm));
    section.notes.fault(
        crate::diag::Diagnostic::fault(place.index(index), message)
            .hint("stations are counted from the bow's centre: half of nock_to_nock, plus tip_beyond_nock"),
    );
    false
}

/// `between` of a list of stations; straight if absent.
pub fn between(section: &FileSection<'_>) -> Option<Between> {
    section.word_or(
        "between",
        &[("straight", Between::Straight), ("smooth", Between::Smooth)],
        "straight from one station to the next",
    )
}

/// The riser; `names` are those of the laminations, back to belly, as written.
pub fn riser(section: &FileSection<'_>, shelf: &Shelf, outline: Option<&Outline>, names: &[Option<String>]) -> Option<Riser> {
    if !section.present() {
        return None;
    }
    let on = section.need("on", "add the name of the lamination that climbs it, or \"last\" when it lies under all of them");
    let position = on.and_then(|written| position(&written, names));
    let length = section.need_length("length", LENGTH, "add its length from feather to feather");
    let level = section.need_length("level", LEVEL, "add the full-depth length in the middle");
    let depth = section.need_length("depth", Range::between(3.0, 150.0), "add its depth at the level part");
    let fade = profile::fade(section);
    let feather = profile::feather(section);
    let overrun = section.length_or(
        "overrun",
        OVERRUN,
        Preset::new(0.5, 12.0, "so that the feather can be ground to a true edge, then trimmed; common practice, no source"),
    );
    let layers = block::layers(section, shelf);
    let across = if section.has("layers") && !section.has("across") {
        block::width(section, layers.as_deref(), outline, length)
    } else {
        let sound = block::no_width(section);
        across(section, shelf, outline, length).filter(|_| sound)
    };
    let footing = block::footing(&section.section("footing"), shelf);
    let overlay = block::overlay(&section.section("overlay"), shelf);
    let grip = grip::grip(&section.section("grip"));
    let pass = grip::shelf(&section.section("shelf"));
    section.finish();
    // The shape is judged even where the riser's place or its woods are at fault.
    let shape = Riser {
        position: 0,
        length_mm: length?,
        level_mm: level?,
        depth_mm: depth?,
        fade: fade?,
        feather_mm: feather?,
        overrun_mm: overrun?,
        across: Vec::new(),
        layers: Vec::new(),
        footing: None,
        overlay: None,
        grip: grip?,
        pass: pass?,
    };
    let sound = profile::judge_profile(section, &shape.profile());
    let (layers, footing, overlay) = (layers?, footing?, overlay?);
    Some(Riser { position: position?, across: across?, layers, footing, overlay, ..shape }).filter(|_| sound)
}

/// How many laminations lie on the riser's back side.
fn position(written: &Written<'_>, names: &[Option<String>]) -> Option<usize> {
    let name = written.text("a lamination's name or \"last\"")?;
    if name == "last" {
        return Some(names.len());
    }
    find_lamination(written, name, names, &["last"])
}

pub fn find_lamination(written: &Written<'_>, name: &str, names: &[Option<String>], besides: &[&str]) -> Option<usize> {
    if let Some(index) = names.iter().position(|known| known.as_deref() == Some(name)) {
        return Some(index);
    }
    // A lamination whose name is at fault may be the one.
    if names.iter().any(Option::is_none) || !written.notes.whole {
        return None;
    }
    let known: Vec<&str> = names.iter().flatten().map(String::as_str).chain(besides.iter().copied()).collect();
    let hint = spelling::meant(name, known.iter().copied(), Quoted::Value, || {
        format!("known are: {}", known.iter().take(12).map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", "))
    });
    written.fault(format!("there is no lamination named \"{}\"", super::wording::shortened(name)), hint);
    None
}

fn across(section: &FileSection<'_>, shelf: &Shelf, outline: Option<&Outline>, length: Option<f64>) -> Option<Vec<Slice>> {
    let Some(written) = section.get("across") else {
        return default_across(section, shelf, outline, length);
    };
    let pairs = profile::woods_with(&written, shelf, ["slice", "width"], "[\"walnut, black\", 0.5]", Range::positive(150.0))?;
    Some(pairs.into_iter().map(|(wood, width_mm)| Slice { wood, width_mm }).collect())
}

fn default_across(
    section: &FileSection<'_>,
    shelf: &Shelf,
    outline: Option<&Outline>,
    length: Option<f64>,
) -> Option<Vec<Slice>> {
    let notes = section.notes;
    let width_mm = profile::usual_width_mm(outline, length);
    let width = amount(width_mm, Quantity::Length, notes.system);
    section.assume("across", format!("one block of {STAND_IN}, {width}"), "the widest place over the riser and a margin to trim");
    Some(vec![Slice { wood: shelf.stand_in()?, width_mm }])
}

/// As many letters as a title may have.
pub const LONGEST_TITLE: usize = 80;

/// Title of the build.
pub fn title(root: &FileSection<'_>) -> Option<String> {
    let Some(written) = root.get("title") else {
        root.assume("title", "untitled", "the build file gives none");
        return Some("untitled".into());
    };
    let title = written.text("a title")?;
    if LONGEST_TITLE < title.chars().count() {
        let message = format!("this title has {} letters; at most {LONGEST_TITLE} fit on a sheet", title.chars().count());
        written.fault(message, "shorten it");
        return None;
    }
    Some(title.trim().to_owned())
}

/// Names of the laminations as far as they are sound, back to belly.
pub fn lamination_names(sections: &[FileSection<'_>]) -> Vec<Option<String>> {
    let names: Vec<Option<String>> = sections.iter().map(|section| names::file_name(section, "lamination")).collect();
    let named: Vec<_> =
        names.iter().zip(sections).filter_map(|(name, section)| Some((name.clone()?, section.get("name")?))).collect();
    names::unique(&named);
    names
}
