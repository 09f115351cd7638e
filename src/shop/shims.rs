//! Which pieces of tape, card and feeler stock make up a shim.
//!
//! Fewest pieces within the tolerance, ties broken by the least error: an exact whole-number search on a fine grid (see
//! [`crate::numeric::search`]), not "the thickest that still fits, again and again", which fails on ordinary tape.
//!
//! The grid starts at 0.02 µm, on which micrometres and ten-thousandths of an inch are whole numbers; it is doubled until the
//! search has at most `MAX_CELLS` (eight million) cells, so that work is bounded for any height. A stock thickness that is no multiple of the
//! grid is rounded to it for the search; errors reported are those of the true thicknesses.

use crate::model::workshop::ShimStock;
use crate::numeric::search::{Size, cells, closest_sum};
use crate::units::System;

/// Pieces that make up one shim.
#[derive(Debug, Clone, PartialEq)]
pub struct MakeUp {
    pub wanted_mm: f64,
    /// Index into the stock and number of pieces, only what is used.
    pub pieces: Vec<(usize, u32)>,
    /// Sum of the pieces, mm.
    pub made_mm: f64,
    /// The error is within the tolerance.
    pub within: bool,
}

/// Shims for several places from one stock.
#[derive(Debug, Clone, PartialEq)]
pub struct MakeUps {
    /// In the order of the heights asked for.
    pub each: Vec<MakeUp>,
    /// No other choice has fewer pieces with every shim within the tolerance. Not known where a counted stock runs short.
    pub fewest_for_sure: bool,
}

impl MakeUp {
    /// A shim planed or ground to its height, where the builder lists no stock to make it up from.
    pub fn cut_to_measure(height_mm: f64) -> MakeUp {
        MakeUp { wanted_mm: height_mm, pieces: Vec::new(), made_mm: height_mm.max(0.0), within: true }
    }

    /// Made less wanted, mm.
    pub fn error_mm(&self) -> f64 {
        self.made_mm - self.wanted_mm
    }

    /// What it is made up of, such as `2 × tape + 1 × card`. A thickness follows only where a name alone does not say which stock is meant.
    pub fn in_words(&self, stock: &[ShimStock], units: System) -> String {
        let of = |kind: &ShimStock| match stock.iter().filter(|other| other.of == kind.of).count() {
            0 | 1 => kind.of.clone(),
            _ => format!("{} {}", kind.of, units.fine(kind.thickness_mm)),
        };
        let pieces: Vec<String> = self.pieces.iter().map(|(kind, count)| format!("{count} × {}", of(&stock[*kind]))).collect();
        match pieces.as_slice() {
            [] if 0.0 < self.made_mm => "planed or ground to measure".into(),
            [] => "none".into(),
            some => some.join(" + "),
        }
    }

    pub fn piece_count(&self) -> u32 {
        self.pieces.iter().map(|(_, count)| count).sum()
    }
}

/// Search cells for one shim. Fewer would coarsen the grid at heights that occur (a 25 mm shim from six stocks is at 0.04 µm);
/// more would take a noticeable time for each station.
const MAX_CELLS: u64 = 8_000_000;
/// mm.
const MIN_GRID_MM: f64 = 2e-5;

/// The fewest pieces of `stock` whose sum is within `tolerance_mm` of `height_mm`; if there are none, the closest sum there is.
///
/// A height of zero or less needs no piece. Without stock nothing is made, and `within` says whether that will do.
///
/// ```
/// use taperwright::model::workshop::ShimStock;
/// let stock = [(0.05, None), (0.13, None), (0.28, Some(1))]
///     .map(|(thickness_mm, count)| ShimStock { of: "tape".into(), thickness_mm, count });
/// let shim = taperwright::shop::shims::make_up(0.41, &stock, 0.005);
/// assert_eq!(shim.pieces, [(1, 1), (2, 1)]);
/// assert!(shim.within);
/// ```
pub fn make_up(height_mm: f64, stock: &[ShimStock], tolerance_mm: f64) -> MakeUp {
    let wanted = height_mm.max(0.0);
    let grid = grid_mm(wanted, stock, tolerance_mm);
    let (target, slack, sizes) = on_grid(wanted, stock, tolerance_mm, grid);
    let found = closest_sum(target, slack, &sizes);
    let pieces: Vec<(usize, u32)> = found.taken.iter().copied().enumerate().filter(|(_, count)| 0 < *count).collect();
    let made_mm = pieces.iter().map(|(i, count)| stock[*i].thickness_mm * f64::from(*count)).sum::<f64>();
    MakeUp { wanted_mm: height_mm, pieces, made_mm, within: (made_mm - height_mm).abs() <= tolerance_mm + grid }
}

/// Shims for all `heights_mm` from one stock.
///
/// Each is first made up as if the stock were its own: if that uses no more than there is, no choice is better. Otherwise
/// counted stock is dealt out in turn, in four orders (as given, backwards, highest first, lowest first), and the best outcome is
/// kept: most shims within the tolerance, then least sum of errors, then fewest pieces. That is good, but not proved best.
pub fn make_up_all(heights_mm: &[f64], stock: &[ShimStock], tolerance_mm: f64) -> MakeUps {
    let alone: Vec<MakeUp> = heights_mm.iter().map(|height| make_up(*height, stock, tolerance_mm)).collect();
    let used =
        |i: usize| alone.iter().flat_map(|shim| &shim.pieces).filter(|(s, _)| *s == i).map(|(_, n)| u64::from(*n)).sum::<u64>();
    if stock.iter().enumerate().all(|(i, kind)| kind.count.is_none_or(|count| used(i) <= u64::from(count))) {
        return MakeUps { each: alone, fewest_for_sure: true };
    }
    let given: Vec<usize> = (0..heights_mm.len()).collect();
    let mut rising = given.clone();
    rising.sort_by(|a, b| heights_mm[*a].total_cmp(&heights_mm[*b]).then(a.cmp(b)));
    let backwards = given.iter().rev().copied().collect();
    let falling = rising.iter().rev().copied().collect();
    let mut best: Option<Vec<MakeUp>> = None;
    for order in [falling, rising, given, backwards] {
        let dealt = dealt(heights_mm, stock, tolerance_mm, &order);
        if best.as_ref().is_none_or(|best| is_better(&dealt, best)) {
            best = Some(dealt);
        }
    }
    MakeUps { each: best.unwrap_or(alone), fewest_for_sure: false }
}

fn dealt(heights_mm: &[f64], stock: &[ShimStock], tolerance_mm: f64, order: &[usize]) -> Vec<MakeUp> {
    let mut left = stock.to_vec();
    let mut shims: Vec<Option<MakeUp>> = vec![None; heights_mm.len()];
    for place in order {
        let shim = make_up(heights_mm[*place], &left, tolerance_mm);
        for (kind, pieces) in &shim.pieces {
            left[*kind].count = left[*kind].count.map(|count| count.saturating_sub(*pieces));
        }
        shims[*place] = Some(shim);
    }
    shims.into_iter().flatten().collect()
}

fn is_better(a: &[MakeUp], b: &[MakeUp]) -> bool {
    let within = |shims: &[MakeUp]| shims.iter().filter(|shim| shim.within).count();
    let error = |shims: &[MakeUp]| shims.iter().filter(|shim| !shim.within).map(|shim| shim.error_mm().abs()).sum::<f64>();
    let pieces = |shims: &[MakeUp]| shims.iter().map(MakeUp::piece_count).sum::<u32>();
    within(b).cmp(&within(a)).then(error(a).total_cmp(&error(b))).then(pieces(a).cmp(&pieces(b))).is_lt()
}

fn grid_mm(wanted: f64, stock: &[ShimStock], tolerance_mm: f64) -> f64 {
    let mut grid = MIN_GRID_MM;
    // Forty doublings take the grid past 20 m.
    for _ in 0..40 {
        // Coarse enough for whole units first: beyond 2³¹ of them the count itself would be wrong.
        let greatest = stock.iter().map(|kind| kind.thickness_mm).fold(wanted, f64::max).max(tolerance_mm);
        if greatest / grid < 1e9 {
            let (target, slack, sizes) = on_grid(wanted, stock, tolerance_mm, grid);
            if cells(target, slack, &sizes) <= MAX_CELLS {
                break;
            }
        }
        grid *= 2.0;
    }
    grid
}

fn on_grid(wanted: f64, stock: &[ShimStock], tolerance_mm: f64, grid: f64) -> (u32, u32, Vec<Size>) {
    let units = |mm: f64| (mm.max(0.0) / grid).round() as u32;
    // One piece of thicker stock than this is further off than no shim at all: it would only widen the search.
    let reach = wanted + tolerance_mm.max(wanted);
    let sizes = stock
        .iter()
        .map(|kind| Size { units: if reach < kind.thickness_mm { 0 } else { units(kind.thickness_mm) }, count: kind.count })
        .collect();
    (units(wanted), (tolerance_mm / grid + 1e-6).floor().max(0.0) as u32, sizes)
}
