//! What all blocks of a riser are written with: the side of a block, and lists of woods with a size each.

use super::materials::Shelf;
use super::raw::Value;
use super::reader::{FileSection, Preset, Range, Written};
use super::wording::amount;
use crate::diag::mm;
use crate::model::outline::Outline;
use crate::model::riser::{BlockProfile, Fade};
use crate::model::wood::Wood;
use crate::units::{Quantity, System, limit};

/// Slope of a fade where it meets the level part. Less would refuse short grips that are cut so; more is a step, not a fade.
const STEEPEST_FADE: f64 = 4.0;

/// Of a block, from feather to feather, of its level part, and beyond its template.
pub const LENGTH: Range = Range::between(50.0, 1500.0);
pub const LEVEL: Range = Range::between(0.0, 1400.0);
pub const OVERRUN: Range = Range::between(0.0, 100.0);

pub fn fade(section: &FileSection<'_>) -> Option<Fade> {
    section.word_or(
        "fade",
        &[("arc", Fade::Arc), ("arc-and-flat", Fade::ArcAndFlat), ("eased", Fade::Eased)],
        "a circular arc is the easiest to lay out and to grind on a drum",
    )
}

pub fn feather(section: &FileSection<'_>) -> Option<f64> {
    section.length_or(
        "feather",
        Range::positive(5.0),
        Preset::new(0.01, 0.25, "thin enough that light shows through; common practice, no source"),
    )
}

/// A list of pairs of a wood and a size: what they are called, and how one is written.
pub fn woods_with(
    written: &Written<'_>,
    shelf: &Shelf,
    [what, size]: [&str; 2],
    example: &str,
    range: Range,
) -> Option<Vec<(Wood, f64)>> {
    let order = if what == "slice" { "from one side to the other" } else { "from the back side to the belly side" };
    let items = written.list(&format!("{what}s [wood, {size}] {order}"))?;
    let mut read = Vec::new();
    let count = items.len();
    for item in items {
        let pair = match &item.node.value {
            Value::List(nodes) if nodes.len() == 2 => item.list(&format!("a {what}")),
            _ => {
                item.fault(format!("this is not a {what} [wood, {size}]"), format!("write it like {example}"));
                None
            }
        };
        let Some(pair) = pair else { continue };
        if let (Some(wood), Some(size_mm)) = (shelf.find(&pair[0]), pair[1].quantity(Quantity::Length, range)) {
            read.push((wood, size_mm));
        }
    }
    (read.len() == count).then_some(read)
}

/// Whether a block has fades, and fades that can be ground.
pub fn judge_profile(section: &FileSection<'_>, riser: &BlockProfile) -> bool {
    let length = |mm| amount(mm, Quantity::Length, section.notes.system);
    let (fade, rise) = (riser.fade_length_mm(), riser.depth_mm - riser.feather_mm);
    if !limit::above(riser.length_mm, riser.level_mm) {
        let message =
            format!("the level part, {}, leaves no fades in a length of {}", length(riser.level_mm), length(riser.length_mm));
        section.fault("level", message, "length is feather to feather: level part and both fades");
        return false;
    }
    if !limit::above(rise, 0.0) {
        let message =
            format!("the feather, {}, is not thinner than the depth, {}", length(riser.feather_mm), length(riser.depth_mm));
        section.fault("feather", message, "a feather is a few hundredths of an inch or less");
        return false;
    }
    let shape = match riser.fade {
        Fade::Arc => "an arc",
        Fade::ArcAndFlat => "an arc with a flat run-out",
        Fade::Eased => "an eased fade",
    };
    // Where an arc would have to turn past a quarter circle, its formula no longer meets the depth.
    let top = riser.fade_at(0.5 * riser.level_mm + 1e-6);
    let steep = STEEPEST_FADE < top.slope || 0.01 * rise < (top.thickness_mm - riser.depth_mm).abs();
    if steep {
        let message = format!("{shape} cannot rise {} within a fade of {}", length(rise), length(fade));
        section.fault("fade", message, "lengthen the riser, shorten its level part or take a shallower depth");
        return false;
    }
    if limit::below(riser.feather_mm, System::Inch.to_mm(0.005)) {
        let message = format!("a feather of {} breaks out easily", length(riser.feather_mm));
        section.notes.warn(crate::diag::Diagnostic::warning(section.place.key("feather"), message).hint(message!(
            "{} to {} is usual, ground against a backing block; common practice, no source",
            mm(0.127),
            mm(0.381)
        )));
    }
    true
}

/// Of a block whose width nobody says, mm.
pub fn usual_width_mm(outline: Option<&Outline>, length: Option<f64>) -> f64 {
    // Room to trim the block flush: less and one slip shows, more is wood for the bin.
    const TRIM_MM: f64 = 3.0;
    const WIDE_MM: f64 = 40.0;
    outline.zip(length).map_or(WIDE_MM - TRIM_MM, |(outline, length)| widest(outline, 0.5 * length)) + TRIM_MM
}

/// Greatest width between the centre and a station.
pub fn widest(outline: &Outline, until_mm: f64) -> f64 {
    let inner = outline.width.points().iter().filter(|(s, _)| *s <= until_mm).map(|(_, width)| *width);
    inner.fold(outline.width_at(0.0).max(outline.width_at(until_mm)), f64::max)
}
