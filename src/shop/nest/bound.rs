//! What do the webs around parts allow, however the parts are packed?
//!
//! Shapes that keep apart by a web do not overlap when each is grown by half of it, and all of them lie within the bed: so the areas of the grown
//! shapes say how many beds they take at least, and, with those first that take least beside their own area, how full so many beds can be at most.
//! Source: derived here.

use super::super::parts::Part;
use super::{CHORD_MM, WELL_FILLED, gap_mm};
use crate::geometry::Path;
use crate::geometry::offset::outward;
use crate::model::workshop::{Sheet, SheetCutter};

/// What the webs around parts leave of beds, whatever the order in which they are packed.
#[derive(Debug, Clone, PartialEq)]
pub struct WebBound {
    /// Area of each copy and of what it takes with half a web around it, mm²; what takes least beside its own first.
    copies: Vec<[f64; 2]>,
    pub(super) bed_mm2: f64,
    room_mm2: f64,
}

impl WebBound {
    pub(super) fn of(copies: impl Iterator<Item = [f64; 2]>, [long, short]: [f64; 2], gap: f64) -> WebBound {
        let mut copies: Vec<[f64; 2]> = copies.collect();
        copies.sort_by(|a, b| (b[0] * a[1]).total_cmp(&(a[0] * b[1])));
        WebBound { copies, bed_mm2: long * short, room_mm2: (long - gap) * (short - gap) }
    }

    /// Of all copies of these parts, on beds of this cutter.
    pub fn of_parts(parts: &[Part], sheet: &Sheet, cutter: &SheetCutter) -> WebBound {
        let copies = parts.iter().flat_map(|part| {
            let grown = grown_mm2(part, outward(&part.edge, cutter.half_kerf_mm()).ok().as_ref(), cutter);
            (0..part.count).map(move |_| [part.area_mm2(), grown])
        });
        WebBound::of(copies, cutter.load_mm(sheet), gap_mm(cutter))
    }

    /// So many loads it takes at least.
    pub fn min_loads(&self) -> usize {
        let grown: f64 = self.copies.iter().map(|copy| copy[1]).sum();
        (grown / self.room_mm2 - 1e-9).ceil().max(1.0) as usize
    }

    /// Share of so many beds that parts cover at most, on average.
    pub fn max_filled(&self, beds: usize) -> f64 {
        let (mut left, mut covered) = (beds as f64 * self.room_mm2, 0.0);
        for [area, grown] in &self.copies {
            covered += area * (left / grown).clamp(0.0, 1.0);
            left -= grown;
        }
        covered / (beds.max(1) as f64 * self.bed_mm2)
    }

    /// Whether all loads but one can be well filled.
    pub fn allows_well_filled(&self) -> bool {
        let area: f64 = self.copies.iter().map(|copy| copy[0]).sum();
        let loads = ((area / (WELL_FILLED * self.bed_mm2) - 1e-9).ceil() as usize).max(self.min_loads());
        loads < 2 || WELL_FILLED <= self.max_filled(loads - 1)
    }
}

/// What a part takes at least with half a web around the cutter's `path`, if there is one, mm². Growing by `r` a connected shape of area `A`
/// whose hull has the perimeter `U` gives `A + U r + π r²` or more: its outer border is never shorter than that of its hull.
pub(super) fn grown_mm2(part: &Part, path: Option<&Path>, cutter: &SheetCutter) -> f64 {
    let half_gap = 0.5 * gap_mm(cutter);
    let (path, r) = path.map_or((&part.edge, cutter.half_kerf_mm() + half_gap), |path| (path, half_gap));
    path.area().abs() + r * path.hull_perimeter(CHORD_MM) + std::f64::consts::PI * r * r
}
