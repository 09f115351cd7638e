//! The sander as it really stands: what a test strip says of the gap and of the table, and the passes that are left.
//!
//! New paper, dust, wear and a table out of parallel all move the cutter against the gauge. A strip that has just gone through
//! shows where the cutter was:
//!
//! ```text
//! true gap = thickness + height of the surface under it
//! offset   = true gap − gauge
//! tilt     = atan((left − right) / apart)
//! ```
//!
//! The strip's two edges give the offset in their middle, and the tilt across the table. The side where the strip comes out
//! thicker has the wider gap: the table goes up there.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | left, right | thickness at the two edges, seen from the infeed side, looking the way the strip goes | mm |
//! | apart | distance between the two readings, across the table | mm |
//!
//! Source: geometry, derived here. Limits: strip and cutter do not give way (read after a pass without a change of the gap), the
//! surface under the strip is level across the table, and one offset holds for all the gaps that follow.

use super::budget::CALIPER_MM;
use super::passes::{FollowedSchedule, LastCut, Setup, remaining};
use crate::diag::{Diagnostic, Outcome, Reported, mm};
use crate::model::lamination::Lamination;

/// A strip as it came from under the cutter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutReading {
    /// What the gauge showed, mm.
    pub gauge_mm: f64,
    /// Surface under the strip where it was read, above the table: 0 for scrap on the bare table, else [`super::sled::Sled::surface_mm`].
    pub surface_mm: f64,
    /// Thickness at the left edge, from the infeed side, mm.
    pub left_mm: f64,
    pub right_mm: f64,
    /// Between the two readings, across the table, mm.
    pub apart_mm: f64,
}

/// One side of the table, seen from the infeed side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TableSide {
    Left,
    Right,
}

/// Table and cutter out of parallel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tilt {
    /// Positive where the left side's gap is the wider one.
    pub angle_rad: f64,
    /// Left less right over the width asked for, mm.
    pub over_width_mm: f64,
    /// The side whose table is to be raised; `None` where the readings agree within what calipers show.
    pub raise: Option<TableSide>,
    /// By how much to raise it at the adjusting screws, the other side's left alone, mm.
    pub raise_by_mm: f64,
}

/// Which strip was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Specimen {
    /// The work itself, or a strip that went with it, after its last pass.
    Work,
    /// Scrap, to find the zero again after the paper was changed: the work has not met this paper yet.
    Scrap,
}

/// The passes that are left.
#[derive(Debug, Clone, PartialEq)]
pub struct Restated {
    pub setup: Setup,
    /// True gap less what the gauge shows, mm.
    pub offset_mm: f64,
    /// True gap of the work's last cut, mm; `None` where it has not been cut.
    pub last_cut_mm: Option<f64>,
}

impl CutReading {
    /// Gap between table and cutter in the middle between the readings, mm.
    pub fn true_gap_mm(&self) -> f64 {
        0.5 * (self.left_mm + self.right_mm) + self.surface_mm
    }

    /// True gap less what the gauge shows, mm.
    pub fn offset_mm(&self) -> f64 {
        self.true_gap_mm() - self.gauge_mm
    }

    /// How table and cutter lean: over `width_mm` (of the strips, say), and at screws `screws_mm` apart.
    ///
    /// Readings at one place tell nothing: then there is no tilt to state.
    pub fn tilt(&self, width_mm: f64, screws_mm: f64) -> Option<Tilt> {
        let wider_mm = self.left_mm - self.right_mm;
        if self.apart_mm.is_nan() || self.apart_mm <= 0.0 {
            return None;
        }
        let raise = (TELLABLE_MM < wider_mm.abs()).then_some(if 0.0 < wider_mm { TableSide::Left } else { TableSide::Right });
        Some(Tilt {
            angle_rad: (wider_mm / self.apart_mm).atan(),
            over_width_mm: wider_mm * width_mm / self.apart_mm,
            raise,
            raise_by_mm: if raise.is_some() { wider_mm.abs() * screws_mm / self.apart_mm } else { 0.0 },
        })
    }
}

/// Two readings that differ by less are the same as far as a caliper can tell, mm: once its own bound. More, and a lean that
/// shows in the tips of wide limbs passes; less, and the table is chased after the caliper's last digit.
pub const TELLABLE_MM: f64 = CALIPER_MM;

/// An offset beyond this is asked about, mm: paper of another grade moves the zero by some tenths. Less would question
/// ordinary changes of paper; more lets a misread gauge through.
const REASONABLE_MM: f64 = 1.0;

/// The passes of the setup that are left, from where the strip really is. `new_paper` is on by now, an index, where it
/// is another than made the last cut.
pub fn restate(
    followed: &FollowedSchedule<'_>,
    new_paper: Option<usize>,
    specimen: Specimen,
    reading: &CutReading,
) -> Outcome<Restated> {
    let FollowedSchedule { lamination, setup, made, .. } = *followed;
    let offset_mm = reading.offset_mm();
    let place = lamination.place.clone();
    if !offset_mm.is_finite() {
        return Err(vec![Diagnostic::fault(place, "a reading of the test strip is no number")]);
    }
    let mut warnings = Vec::new();
    if REASONABLE_MM < offset_mm.abs() {
        warnings.push(
            Diagnostic::warning(
                place.clone(),
                message!(
                    "the true gap is {}, and the gauge shows {}: {} apart",
                    mm(reading.true_gap_mm()),
                    mm(reading.gauge_mm),
                    mm(offset_mm.abs())
                ),
            )
            .hint("was the surface under the strip counted, and the gauge read after the last pass?"),
        );
    }
    // Only a pass of this setup has cut this face.
    let last = setup.passes.iter().rfind(|pass| pass.number <= made);
    if specimen == Specimen::Work
        && last.is_some()
        && let Some(fault) = uncut(lamination, setup, reading)
    {
        return Err(vec![fault]);
    }
    let last_cut_mm = last.map(|pass| match specimen {
        Specimen::Work => reading.true_gap_mm(),
        Specimen::Scrap => pass.gap_mm + setup.gauge_offset_mm,
    });
    let at = LastCut {
        gap_mm: last_cut_mm.unwrap_or(f64::INFINITY),
        paper: last.map_or(0, |pass| new_paper.unwrap_or(pass.paper)),
        gauge_offset_mm: offset_mm,
    };
    let rest = remaining(followed, at)?;
    warnings.extend(rest.warnings);
    Ok(Reported { value: Restated { setup: rest.value, offset_mm, last_cut_mm }, warnings })
}

impl Restated {
    /// The strip is thinner than finished by more than a caliper's doubt.
    pub fn too_thin(&self, lamination: &Lamination) -> Option<Diagnostic> {
        let under_mm = self.setup.final_gap_mm - self.last_cut_mm?;
        (CALIPER_MM < under_mm).then(|| {
            Diagnostic::warning(lamination.place.clone(), message!("`{}` is {} too thin already", lamination.name, mm(under_mm)))
                .hint("keep the strip for a lighter bow, or count it in the stack as it is")
        })
    }
}

/// Where the cutter has not been the strip is as thick as it came, and says nothing of the gap. On a tapered strip that is the
/// thick end until late: read there, the offset would come out far too low, and the strip would stay as much too thick.
pub fn uncut(lamination: &Lamination, setup: &Setup, reading: &CutReading) -> Option<Diagnostic> {
    let before_mm = setup.before.thinnest_mm;
    let thin_edge_mm = reading.left_mm.min(reading.right_mm);
    (before_mm - CALIPER_MM < thin_edge_mm).then(|| {
        Diagnostic::fault(
            lamination.place.clone(),
            message!(
                "`{}` reads {} where it may never have been cut: strips came at {} and more",
                lamination.name,
                mm(thin_edge_mm),
                mm(before_mm)
            ),
        )
        .hint("read it where the last pass left fresh scratches, near the thin end, or send a scrap through")
    })
}
