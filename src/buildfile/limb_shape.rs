//! How the limb is shaped across: `trapped` and `crown` of `[outline]`.
//!
//! Each is one number or a list of stations. One number holds for the limbs: from the riser's feather on in full, eased in over its fade from
//! nothing where the level part ends. A list says for itself what the grip gets.

use super::bow::{STATION, within_wood};
use super::raw::Value;
use super::reader::{FileSection, Notes, Range, Written, if_given};
use super::wording::amount;
use crate::diag::{Diagnostic, Place, at_most, mm};
use crate::model::Build;
use crate::model::lamination::Face;
use crate::model::outline::{LimbShape, NarrowFace, Outline, Trapped};
use crate::model::riser::Riser;
use crate::numeric::interp::{Between, Curve};
use crate::units::{Quantity, limit};

/// The part of the width that a trapped face keeps. Less leaves edges that tear out under the file and in use; more refuses limbs that are
/// trapped nearly to a point, as some are. A limit of ours, no source.
const KEPT: f64 = 0.25;
/// What a face may be narrower by, mm.
const BY: Range = Range::between(0.0, 150.0);
const TO: Range = Range::between(KEPT, 1.0);
/// Of a crown, mm: more than a deep limb's half width is a slip of units.
const CROWN: Range = Range::between(0.0, 30.0);

/// The outline with what shapes its limbs across; the last to read its table.
pub fn limb_shape(section: &FileSection<'_>, outline: Option<Outline>, riser: Option<&Riser>) -> Option<Outline> {
    if !section.present() {
        return outline;
    }
    let between = outline.as_ref().map_or(Between::Straight, |outline| outline.width.between());
    let eased = CurveRule { riser, between };
    let table = section.get("trapped").map(|written| written.section().and_then(|table| trapped(&table, eased)));
    let crown = section.get("crown").map(|written| eased.along(&written, "height", Quantity::Length, CROWN, 0.0));
    section.finish();
    let shape = LimbShape { trapped: if_given(table)?, crown_mm: if_given(crown)? };
    let outline = Outline { shape, ..outline? };
    judge(section, &outline).then_some(outline)
}

fn trapped(table: &FileSection<'_>, eased: CurveRule<'_>) -> Option<Trapped> {
    let face = table.word_or(
        "face",
        &[Face::Back, Face::Belly].map(|face| (face.word(), face)),
        "the back of a limb is trapped, since wood bears more in stretch; common practice, no source",
    );
    let by = table.get("by").map(|written| eased.along(&written, "less", Quantity::Length, BY, 0.0));
    let to = table.get("to").map(|written| eased.along(&written, "part of the width", Quantity::Ratio, TO, 1.0));
    let width = match (by, to) {
        (Some(by), None) => by.map(NarrowFace::By),
        (None, Some(to)) => to.map(NarrowFace::To),
        (Some(_), Some(_)) => {
            table.fault("to", "both `by` and `to` say how wide the face is", "keep one of them");
            None
        }
        (None, None) => {
            let hint = "add by = \"3 mm\", so much narrower than the other face, or to = 0.8, that part of its width";
            table.fault("", "it is not said how much narrower the face is", hint);
            None
        }
    };
    table.finish();
    Some(Trapped { face: face?, width: width? })
}

/// How one number becomes a curve.
#[derive(Debug, Clone, Copy)]
struct CurveRule<'a> {
    riser: Option<&'a Riser>,
    between: Between,
}

impl CurveRule<'_> {
    /// A number or a list; `square` is the value that leaves the limb as it is.
    fn along(self, written: &Written<'_>, of: &str, quantity: Quantity, range: Range, square: f64) -> Option<Curve> {
        let points = if matches!(written.node.value, Value::List(_)) {
            written.stations_of(of, STATION, quantity, range)?
        } else {
            let value = written.quantity(quantity, range)?;
            match self.riser {
                Some(riser) => vec![(0.5 * riser.level_mm, square), (riser.feather_station_mm(), value)],
                None => vec![(0.0, value)],
            }
        };
        Curve::through(points, self.between).ok()
    }
}

fn judge(section: &FileSection<'_>, outline: &Outline) -> bool {
    let end = outline.end_mm();
    let mut sound = true;
    if let Some(trapped) = &outline.shape.trapped {
        let place = section.place.key("trapped");
        match &trapped.width {
            NarrowFace::To(to) => sound &= within_wood(section, &place.key("to"), to.points(), end),
            NarrowFace::By(by) => {
                sound &=
                    within_wood(section, &place.key("by"), by.points(), end) && wide_enough(section, &place, outline, trapped);
            }
        }
    }
    if let Some(crown) = &outline.shape.crown_mm {
        sound &= within_wood(section, &section.place.key("crown"), crown.points(), end);
    }
    sound
}

/// Whether a face that is narrower by a length keeps enough.
fn wide_enough(section: &FileSection<'_>, place: &Place, outline: &Outline, trapped: &Trapped) -> bool {
    let kept = |s: f64| KEPT * outline.width_at(s);
    let narrow = |s: f64| outline.faces_at(s).into_iter().fold(f64::INFINITY, f64::min);
    let Some(s) = places(outline, &[]).into_iter().find(|s| limit::below(narrow(*s), kept(*s))) else { return true };
    let length = |mm| amount(mm, Quantity::Length, section.notes.system);
    let face = trapped.face.word();
    let message =
        format!("the {face} would be {} of {} wide at station {}", length(narrow(s)), length(outline.width_at(s)), length(s));
    let min = places(outline, &[]).into_iter().map(|s| outline.width_at(s) - kept(s)).fold(f64::INFINITY, f64::min);
    let hint = message!("lower `by` to {} or less there: a face keeps a quarter of the width", at_most(min));
    section.notes.fault(Diagnostic::fault(place.key("by"), message).hint(hint));
    false
}

/// A crown is worked into the belly lamination and not through it, and is no more than a half circle.
pub fn crown_and_belly(notes: &Notes, build: &Build, outline: &Outline) {
    if outline.shape.crown_mm.is_none() {
        return;
    }
    let feather = build.limb_from_mm();
    let corners: Vec<f64> = build.laminations.iter().flat_map(|l| l.finished.corners().chain([l.from_mm, l.to_mm])).collect();
    // The most that a crown may be, and the lamination that ends it. Where the riser is the belly its feather is ground with the limb.
    let room = |s: f64| {
        let belly = &build.laminations[build.belly_at(s)?];
        let (thick, half) = (belly.thickness_at(s), 0.5 * outline.faces_at(s)[1]);
        Some(if thick < half { (thick, Some(belly)) } else { (half, None) })
    };
    let all = places(outline, &corners);
    let over =
        all.iter().find_map(|s| room(*s).filter(|(max, _)| limit::above(outline.crown_at(*s), *max)).map(|room| (*s, room)));
    let Some((s, (max, belly))) = over else { return };
    let crown = mm(outline.crown_at(s));
    let min = all.iter().filter(|s| feather <= **s).filter_map(|s| room(*s)).map(|room| room.0).fold(f64::INFINITY, f64::min);
    let (message, why) = match belly {
        Some(belly) => (
            message!("the crown is {} high at station {}, but `{}` is {} thick there", crown, mm(s), belly.name, mm(max)),
            "it is worked into the belly lamination, not through it",
        ),
        None => (
            message!("the crown is {} high at station {}, more than half the belly's width", crown, mm(s)),
            "an arc from edge to edge is a half circle at most",
        ),
    };
    let hint = message!("lower `crown` to {} or less there: {}", at_most(min), why);
    notes.fault(Diagnostic::fault(Place::new("outline.crown"), message).hint(hint));
}

/// Stations where something about the shape turns, and enough between them for what runs smooth.
fn places(outline: &Outline, corners: &[f64]) -> Vec<f64> {
    const BETWEEN: u32 = 100;
    let end = outline.end_mm();
    let even = (0..=BETWEEN).map(|k| end * f64::from(k) / f64::from(BETWEEN));
    let stated = outline.shape.curves().chain([&outline.width]).flat_map(|curve| curve.points()).map(|point| point.0);
    let mut all: Vec<f64> = even.chain(stated).chain(corners.iter().copied()).filter(|s| *s <= end).collect();
    all.sort_by(f64::total_cmp);
    all
}
