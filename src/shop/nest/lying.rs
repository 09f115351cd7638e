//! A part in one of the ways it may lie, as the stretches that it covers in strips across the bed.

use super::{CHORD_MM, Room, SPANS};
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::units::limit;
use std::f64::consts::FRAC_PI_2;

/// A part in one of the ways it may lie.
pub(super) struct Lying {
    /// Quarter turns, counter-clockwise.
    pub(super) turns: u32,
    /// Of its cutter's path, turned about the part's own origin.
    pub(super) bounds: Bounds,
    /// For each strip from the left, what the grown part covers, upward from its lowest point, mm.
    pub(super) strips: Vec<Vec<[f64; 2]>>,
    /// The same for what it covers wherever within so many strips its left edge stands, for each of [`SPANS`]; empty for a part too
    /// short for that.
    pub(super) always: [Vec<Vec<[f64; 2]>>; SPANS.len()],
    /// Of the grown part, mm.
    pub(super) size: [f64; 2],
}

impl Lying {
    pub(super) fn of(path: &Path, turns: u32, grown: f64, room: &Room) -> Option<Lying> {
        let turned =
            path.placed(&Placement { mirrored: false, angle_rad: f64::from(turns) * FRAC_PI_2, shift: Point::new(0.0, 0.0) });
        let bounds = turned.bounds();
        let size = [bounds.width() + 2.0 * grown, bounds.height() + 2.0 * grown];
        if limit::above(size[0], room.along) || limit::above(size[1], room.across) {
            return None;
        }
        let from = Point::new(bounds.min.x - grown, bounds.min.y - grown);
        let points: Vec<Point> = turned.flattened(CHORD_MM).iter().map(|p| Point::new(p.x - from.x, p.y - from.y)).collect();
        let count = (size[0] / room.step).ceil().max(1.0) as usize;
        // Grown by a square: strips as far as that to both sides count. Chords may lie inside of arcs.
        let grown = grown + CHORD_MM;
        // Only the sides that run over a strip say what is covered there.
        let mut over: Vec<Vec<[Point; 2]>> = vec![Vec::new(); count];
        for side in points.iter().copied().zip(points.iter().copied().cycle().skip(1)).map(|(a, b)| [a, b]) {
            let (low, high) = (side[0].x.min(side[1].x) - grown, side[0].x.max(side[1].x) + grown);
            let first = ((low / room.step).floor() - 1.0).max(0.0) as usize;
            let end = ((high / room.step).ceil() + 1.0).max(0.0) as usize;
            over[first.min(count)..end.min(count)].iter_mut().for_each(|sides| sides.push(side));
        }
        let strips: Vec<Vec<[f64; 2]>> = over
            .iter()
            .enumerate()
            .map(|(k, sides)| covered(sides, k as f64 * room.step - grown, (k + 1) as f64 * room.step + grown, grown))
            .collect();
        let always = within_all(&strips);
        Some(Lying { turns, bounds, strips, always, size })
    }

    pub(super) fn placement(&self, corner: Point, grown: f64) -> Placement {
        let shift = Point::new(corner.x + grown - self.bounds.min.x, corner.y + grown - self.bounds.min.y);
        Placement { mirrored: false, angle_rad: f64::from(self.turns) * FRAC_PI_2, shift }
    }
}

/// Stretches of y that a closed line and its inside cover anywhere between two places of x, each grown, by the sides that run there.
fn covered(sides: &[[Point; 2]], from: f64, to: f64, grown: f64) -> Vec<[f64; 2]> {
    let mut found: Vec<[f64; 2]> = Vec::new();
    // The line itself, as far as it runs between both places.
    for [a, b] in sides {
        let (low, high) = if a.x <= b.x { (a, b) } else { (b, a) };
        if high.x < from || to < low.x {
            continue;
        }
        let at =
            |x: f64| if high.x - low.x < 1e-9 { None } else { Some(low.y + (x - low.x) / (high.x - low.x) * (high.y - low.y)) };
        let ends = [at(low.x.max(from)).unwrap_or(low.y), at(high.x.min(to)).unwrap_or(high.y)];
        found.push([ends[0].min(ends[1]) - grown, ends[0].max(ends[1]) + grown]);
    }
    // And what is inside along both bounds and the middle: between two of them the inside changes only where the line runs.
    let mut over: Vec<f64> = Vec::new();
    for x in [from + 1e-7, 0.5 * (from + to), to - 1e-7] {
        over.clear();
        let crossing = sides.iter().filter(|[a, b]| (x < a.x) != (x < b.x));
        over.extend(crossing.map(|[a, b]| a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y)));
        over.sort_by(f64::total_cmp);
        found.extend(over.chunks_exact(2).map(|pair| [pair[0] - grown, pair[1] + grown]));
    }
    merged(found)
}

/// For each of [`SPANS`], powers of two, and each strip what it and those before it cover, so many in all; nothing where there are not as many, and
/// none for a part too short for that.
fn within_all(strips: &[Vec<[f64; 2]>]) -> [Vec<Vec<[f64; 2]>>; SPANS.len()] {
    let mut all = SPANS.map(|_| Vec::new());
    let (mut windows, mut wide) = (strips.to_vec(), 1);
    for (span, kept) in SPANS.iter().zip(&mut all).rev() {
        // A part little longer than the span covers next to nothing in any case.
        if strips.len() < 2 * span {
            break;
        }
        while wide < *span {
            windows = (0..windows.len())
                .map(|k| k.checked_sub(wide).map_or_else(Vec::new, |before| in_both(&windows[before], &windows[k])))
                .collect();
            wide *= 2;
        }
        kept.clone_from(&windows);
    }
    all
}

/// Stretches that both lists cover.
fn in_both(one: &[[f64; 2]], other: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let both = one.iter().flat_map(|a| other.iter().map(|b| [a[0].max(b[0]), a[1].min(b[1])]));
    both.filter(|[from, to]| from < to).collect()
}

/// The same stretches in order, those that touch as one.
pub(super) fn merged(mut stretches: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    stretches.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for [from, to] in stretches {
        match kept.last_mut() {
            Some(last) if from <= last[1] + 1e-9 => last[1] = last[1].max(to),
            _ => kept.push([from, to]),
        }
    }
    kept
}
