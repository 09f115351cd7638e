//! The keys of a tiller reading that was taken from a photograph.
//!
//! ```toml
//! [[reading]]
//! date    = 2026-11-20
//! of      = "tiller"
//! picture = [4000, 3000]                              # pixels, across and up
//! camera  = 120                                       # from camera to bow
//! marks   = [[310, 2200], [3700, 2190], [3690, 830], [320, 820]]
//! across  = 60                                        # marks 1 and 2 apart
//! up      = 24                                        # marks 2 and 3 apart; or `stick` for two marks
//! nocks   = [[3650, 1400], [350, 1390]]               # upper, lower
//! grip    = [2000, 1010]
//! upper   = [[2300, 1020], ..]
//! lower   = [[1700, 1020], ..]
//! ```
//!
//! Points count in pixels from the picture's upper left corner. Whether they can be meant is judged where they are read
//! (`mechanics/photograph`).

use super::reader::{FileSection, Range, Written, if_given};
use crate::model::log::{Extent, KnownMarks, Photograph, Point};
use crate::units::Quantity;

/// One σ of a click that is not said better, pixels: a finger on a telephone's screen, zoomed in.
const CLICK_PX: f64 = 1.5;
const SIDE: Range = Range::between(100.0, 60_000.0);
const PIXEL: Range = Range::between(-100_000.0, 100_000.0);
const CLICK: Range = Range::between(0.05, 50.0);
/// A camera nearer than the bow is long sees it from aside at its tips; farther than this is another field.
const CAMERA: Range = Range::between(300.0, 30_000.0);
const APART: Range = Range::between(20.0, 5000.0);
const BEHIND: Range = Range::between(-500.0, 1000.0);

/// Whether this tiller reading comes from a picture.
pub fn is_one(section: &FileSection<'_>) -> bool {
    section.has("picture")
}

pub fn photograph(section: &FileSection<'_>) -> Option<Photograph> {
    let size = section.need("picture", "give its width and height in pixels, such as picture = [4000, 3000]");
    let size = size.and_then(|written| point(&written, SIDE));
    let camera = section.need_length("camera", CAMERA, "say how far the camera stood from the bow");
    let marks = marks(section);
    let behind = section.get("behind").map(|written| written.quantity(Quantity::Length, BEHIND));
    let nocks = section.need("nocks", "mark both nocks: nocks = [[x, y], [x, y]], the upper one first");
    let nocks = nocks.and_then(|written| {
        let points = points(&written)?;
        let two: Result<[Point; 2], _> = points.try_into();
        if two.is_err() {
            written.fault("a bow has two nocks", "write nocks = [[x, y], [x, y]], the upper one first");
        }
        two.ok()
    });
    let grip =
        section.need("grip", "mark the middle of the bow on its back: grip = [x, y]").and_then(|written| point(&written, PIXEL));
    let hint = "mark places along the edge of that limb's back: [[x, y], ..]";
    let upper = section.need("upper", hint).and_then(|written| points(&written));
    let lower = section.need("lower", hint).and_then(|written| points(&written));
    let clicks = section.get("clicks").map(|written| written.quantity(Quantity::Ratio, CLICK));
    let size = size?;
    Some(Photograph {
        size_px: Extent { width: size.x, height: size.y },
        marks: marks?,
        camera_mm: camera?,
        behind_mm: if_given(behind)?.unwrap_or(0.0),
        nocks_px: nocks?,
        grip_px: grip?,
        limbs_px: [upper?, lower?],
        click_px: if_given(clicks)?.unwrap_or(CLICK_PX),
    })
}

/// Four corners of a rectangle, or the ends of a stick.
fn marks(section: &FileSection<'_>) -> Option<KnownMarks> {
    let written = section.need("marks", "mark four corners of a rectangle of known size, or both ends of a scale stick")?;
    let points = points(&written)?;
    match points.as_slice() {
        [a, b, c, d] => {
            let across = section.need_length("across", APART, "say how far the first mark is from the second");
            let up = section.need_length("up", APART, "say how far the second mark is from the third");
            Some(KnownMarks::Rectangle { seen_px: [*a, *b, *c, *d], across_mm: across?, up_mm: up? })
        }
        [a, b] => {
            let length = section.need_length("stick", APART, "say how far the two marks are apart");
            Some(KnownMarks::Stick { seen_px: [*a, *b], length_mm: length? })
        }
        _ => {
            written
                .fault(format!("these are {} marks", points.len()), "mark four corners of a rectangle, or both ends of a stick");
            None
        }
    }
}

fn points(written: &Written<'_>) -> Option<Vec<Point>> {
    written.list("points [x, y]")?.iter().map(|each| point(each, PIXEL)).collect()
}

fn point(written: &Written<'_>, range: Range) -> Option<Point> {
    let [x, y] = written.pair("[x, y]", "write [x, y] in pixels")?;
    let (x, y) = (x.quantity(Quantity::Ratio, range), y.quantity(Quantity::Ratio, range));
    Some(Point::new(x?, y?))
}
