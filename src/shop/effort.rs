//! What a sled costs in parts and in hours of making.
//!
//! | minutes | from | to |
//! |---|---|---|
//! | a bed-load set up, watched and cleared; the cutter's own time hangs on a speed that the build file does not know | 10 | 20 |
//! | a part off it, sorted and cleaned | 1 | 1.5 |
//! | a part sawn by hand to its printed template instead | 6 | 12 |
//! | a part of a ramp glued in its place | 2 | 3 |
//! | a board or a carrier chosen, cut to size, tried for flatness | 10 | 20 |
//! | a wedge planed to its slope, glued on its board | 25 | 45 |
//! | a solid board sawn and planed to its template, stops and all | 60 | 120 |
//! | a shim made up and set | 3 | 5 |
//! | a pair of stop strips | 8 | 12 |
//! | a sled measured, and trimmed with tape | 15 | 30 |
//! | a sled put into the machine in place of another | 2 | 5 |
//!
//! Source: common practice, no source.

use super::kit::Kit;
use crate::model::workshop::{HeightFrom, SheetCutter, SledStock};
use crate::numeric::span::Span;

/// Where the minutes are from, to be said once beside them.
pub const SOURCE: &str =
    "hours are of hands at work, by minutes for each part, cut, shim and glue joint: common practice, no source";

const BED_LOAD: Span = Span { min: 10.0, max: 20.0 };
const PART_CUT: Span = Span { min: 1.0, max: 1.5 };
const PART_SAWN: Span = Span { min: 6.0, max: 12.0 };
const PART_GLUED: Span = Span { min: 2.0, max: 3.0 };
const BOARD: Span = Span { min: 10.0, max: 20.0 };
const WEDGE: Span = Span { min: 25.0, max: 45.0 };
const SOLID: Span = Span { min: 60.0, max: 120.0 };
const SHIM: Span = Span { min: 3.0, max: 5.0 };
const STOPS: Span = Span { min: 8.0, max: 12.0 };
const MEASURED: Span = Span { min: 15.0, max: 30.0 };

/// Putting one sled into the machine in place of another, min.
pub const SWAPPED: Span = Span { min: 2.0, max: 5.0 };

/// What is made for one sled or for several.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort {
    /// Boards, carriers and parts cut.
    pub parts: u32,
    pub bed_loads: u32,
    /// Of all parts that are cut from sheet, mm².
    pub sheet_mm2: f64,
    /// Places that shims are set at.
    pub shims: u32,
    /// Pieces of stock in them.
    pub shim_pieces: u32,
    /// At the bench, min.
    pub minutes: Span,
}

impl Effort {
    /// Of a sled whose parts take so many loads.
    pub fn of(kit: &Kit, bed_loads: usize, cutter: &SheetCutter) -> Effort {
        let loads = bed_loads as u32;
        let cut: u32 = if kit.is_cut() { kit.parts.iter().map(|part| part.count).sum() } else { 0 };
        let shims: Vec<u32> =
            kit.shims.iter().filter(|shim| 0.0 < shim.made.wanted_mm).map(|shim| shim.made.piece_count()).collect();
        let count = shims.len() as u32;
        let traits = kit.sled.make.traits();
        let (boards, own) = match (traits.from, traits.height) {
            (SledStock::Sheets, _) => (0, vec![(cut, PART_GLUED)]),
            (SledStock::Board, HeightFrom::Edge) => (1, vec![(1, SOLID), (1, BOARD)]),
            (SledStock::Board, HeightFrom::Shims) => (2, vec![(2, BOARD), (1, STOPS)]),
            (SledStock::Plank, HeightFrom::Shims) => (1, vec![(1, BOARD), (1, STOPS)]),
            (SledStock::Plank, HeightFrom::Edge) => (2, vec![(1, BOARD), (1, WEDGE), (1, STOPS)]),
        };
        let each_cut = if cutter.bed_mm().is_some() { PART_CUT } else { PART_SAWN };
        let work = [vec![(loads, BED_LOAD), (cut, each_cut), (count, SHIM), (1, MEASURED)], own].concat();
        Effort {
            parts: cut + boards,
            bed_loads: loads,
            sheet_mm2: if kit.is_cut() {
                kit.parts.iter().map(|part| f64::from(part.count) * part.area_mm2()).sum()
            } else {
                0.0
            },
            shims: count,
            shim_pieces: shims.iter().sum(),
            minutes: summed(&work),
        }
    }

    /// Of both.
    #[must_use]
    pub fn with(self, other: Effort) -> Effort {
        Effort {
            parts: self.parts + other.parts,
            bed_loads: self.bed_loads + other.bed_loads,
            sheet_mm2: self.sheet_mm2 + other.sheet_mm2,
            shims: self.shims + other.shims,
            shim_pieces: self.shim_pieces + other.shim_pieces,
            minutes: plus(self.minutes, other.minutes),
        }
    }

    /// Of `sleds` carriers on shims of which only one is made, and shimmed anew for each.
    #[must_use]
    pub fn on_one_carrier(self, sleds: u32) -> Effort {
        let spared = sleds.saturating_sub(1);
        let less = summed(&[(2 * spared, BOARD), (spared, STOPS)]);
        let minutes = Span { min: self.minutes.min - less.min, max: self.minutes.max - less.max };
        Effort { parts: self.parts - 2 * spared, minutes, ..self }
    }
}

/// Shimming a carrier anew for another lamination, so many shims of it, min.
pub fn shimmed_anew(shims: u32) -> Span {
    summed(&[(shims, SHIM), (1, MEASURED)])
}

fn plus(a: Span, b: Span) -> Span {
    Span { min: a.min + b.min, max: a.max + b.max }
}

fn summed(work: &[(u32, Span)]) -> Span {
    work.iter().map(|(count, each)| each.times(f64::from(*count))).fold(Span { min: 0.0, max: 0.0 }, plus)
}

/// Hours, to halves: `about 1 h`, `3 to 5 h`.
///
/// ```
/// use taperwright::numeric::span::Span;
/// use taperwright::shop::effort::hours;
/// assert_eq!(hours(Span { min: 170.0, max: 290.0 }), "3 to 5 h");
/// assert_eq!(hours(Span { min: 52.0, max: 70.0 }), "about 1 h");
/// ```
pub fn hours(minutes: Span) -> String {
    let halves = |minutes: f64| (minutes / 30.0).round().max(1.0);
    let text = |halves: f64| if halves % 2.0 < 1.0 { format!("{:.0}", 0.5 * halves) } else { format!("{:.1}", 0.5 * halves) };
    let [from, to] = [halves(minutes.min), halves(minutes.max)];
    if from < to { format!("{} to {} h", text(from), text(to)) } else { format!("about {} h", text(to)) }
}
