//! A part in one of the ways it may lie, as the stretches that it covers in strips across the bed.

use super::{BLOCK, CHORD_MM, Room, SPANS, TOUCHING_MM};
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::units::limit;
use std::f64::consts::FRAC_PI_2;

/// For each of a row of strips, the stretches of y that are covered there, in order; one list behind the other.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stretches {
    all: Vec<[f64; 2]>,
    /// Where each list begins in `all`, and where the last one ends.
    bounds: Vec<usize>,
}

impl Stretches {
    fn none() -> Stretches {
        Stretches { all: Vec::new(), bounds: vec![0] }
    }

    pub(super) fn len(&self) -> usize {
        self.bounds.len() - 1
    }

    pub(super) fn is_empty(&self) -> bool {
        self.len() == 0
    }

    pub(super) fn at(&self, strip: usize) -> &[[f64; 2]] {
        &self.all[self.bounds[strip]..self.bounds[strip + 1]]
    }

    /// The shortest of all.
    pub(super) fn least(&self) -> f64 {
        self.all.iter().map(|[from, to]| to - from).fold(f64::INFINITY, f64::min)
    }

    pub(super) fn iter(&self) -> impl Iterator<Item = &[[f64; 2]]> {
        (0..self.len()).map(|strip| self.at(strip))
    }

    /// The same without those that are no longer.
    fn longer_than(self, least: f64) -> Stretches {
        let mut longer = Stretches::none();
        for list in self.iter() {
            longer.all.extend(list.iter().filter(|[from, to]| from + least < *to));
            longer.bounds.push(longer.all.len());
        }
        longer
    }

    fn push(&mut self, stretches: &[[f64; 2]]) {
        self.all.extend_from_slice(stretches);
        self.bounds.push(self.all.len());
    }
}

/// A part in one of the ways it may lie.
pub(super) struct Lying {
    /// Quarter turns, counter-clockwise.
    pub(super) turns: u32,
    /// Of its cutter's path, turned about the part's own origin.
    pub(super) bounds: Bounds,
    /// For each strip from the left, what the grown part covers, upward from its lowest point, mm.
    pub(super) strips: Stretches,
    /// For each of [`SPANS`] and each [`BLOCK`] from the left, what it covers in all strips of the block wherever within so many strips its left
    /// edge stands; empty for a part too short for that.
    pub(super) always: [Stretches; SPANS.len()],
    /// For each [`BLOCK`] from the left, the last one too if it is shorter, what the part covers in any of its strips.
    pub(super) anywhere: Stretches,
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
        let sides = Sides::of(&points, count, grown, room.step);
        let mut strips = Stretches::none();
        let mut found = Found::default();
        for strip in 0..count {
            let (from, to) = (strip as f64 * room.step - grown, (strip + 1) as f64 * room.step + grown);
            strips.push(found.covered(sides.over(strip), from, to, grown));
        }
        let anywhere = anywhere(&strips);
        Some(Lying { turns, bounds, strips, always: SPANS.map(|_| Stretches::none()), anywhere, size })
    }

    /// Sums up what it covers wherever it stands, once it is known which gaps of a bed are of no use.
    pub(super) fn sum_up(&mut self, useless: f64) {
        self.always = always(&self.strips, useless);
    }

    pub(super) fn placement(&self, corner: Point, grown: f64) -> Placement {
        let shift = Point::new(corner.x + grown - self.bounds.min.x, corner.y + grown - self.bounds.min.y);
        Placement { mirrored: false, angle_rad: f64::from(self.turns) * FRAC_PI_2, shift }
    }
}

/// The sides of a closed line by the strips that they run over: only these say what is covered there.
struct Sides {
    /// Strip by strip.
    all: Vec<[Point; 2]>,
    ends: Vec<usize>,
}

impl Sides {
    fn of(points: &[Point], count: usize, grown: f64, step: f64) -> Sides {
        let reach = |[a, b]: [Point; 2]| {
            let (low, high) = (a.x.min(b.x) - grown, a.x.max(b.x) + grown);
            let first = ((low / step).floor() - 1.0).max(0.0) as usize;
            let end = ((high / step).ceil() + 1.0).max(0.0) as usize;
            first.min(count)..end.min(count)
        };
        let sides = || points.iter().copied().zip(points.iter().copied().cycle().skip(1)).map(|(a, b)| [a, b]);
        // How many there are, where those of each strip begin, and then each to its place.
        let mut ends = vec![0; count];
        sides().flat_map(reach).for_each(|strip| ends[strip] += 1);
        let mut before = 0;
        for end in &mut ends {
            (*end, before) = (before, before + *end);
        }
        let mut all = vec![[Point::new(0.0, 0.0); 2]; before];
        for side in sides() {
            for strip in reach(side) {
                all[ends[strip]] = side;
                ends[strip] += 1;
            }
        }
        Sides { all, ends }
    }

    fn over(&self, strip: usize) -> &[[Point; 2]] {
        let from = strip.checked_sub(1).map_or(0, |before| self.ends[before]);
        &self.all[from..self.ends[strip]]
    }
}

/// What is found of a strip, in room that serves the next one too.
#[derive(Default)]
struct Found {
    stretches: Vec<[f64; 2]>,
    inside: [Vec<f64>; 3],
}

impl Found {
    /// Stretches of y that a closed line and its inside cover anywhere between two places of x, each grown, by the sides that run there.
    fn covered(&mut self, sides: &[[Point; 2]], from: f64, to: f64, grown: f64) -> &[[f64; 2]] {
        self.stretches.clear();
        self.inside.iter_mut().for_each(Vec::clear);
        // Along both bounds and the middle: between two of them the inside changes only where the line runs.
        let across = [from + 1e-7, 0.5 * (from + to), to - 1e-7];
        for [a, b] in sides {
            let (low, high) = if a.x <= b.x { (a, b) } else { (b, a) };
            if high.x < from || to < low.x {
                continue;
            }
            // The line itself, as far as it runs between both places.
            let at = |x: f64| {
                if high.x - low.x < 1e-9 { None } else { Some(low.y + (x - low.x) / (high.x - low.x) * (high.y - low.y)) }
            };
            let ends = [at(low.x.max(from)).unwrap_or(low.y), at(high.x.min(to)).unwrap_or(high.y)];
            let here = [ends[0].min(ends[1]) - grown, ends[0].max(ends[1]) + grown];
            // Sides that follow each other mostly go on where the last one ends.
            match self.stretches.last_mut() {
                Some(last) if here[0] <= last[1] && last[0] <= here[1] => *last = [last[0].min(here[0]), last[1].max(here[1])],
                _ => self.stretches.push(here),
            }
            for (x, inside) in across.iter().zip(&mut self.inside) {
                if (*x < a.x) != (*x < b.x) {
                    inside.push(a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y));
                }
            }
        }
        for inside in &mut self.inside {
            inside.sort_unstable_by(f64::total_cmp);
            self.stretches.extend(inside.chunks_exact(2).map(|pair| [pair[0] - grown, pair[1] + grown]));
        }
        merge(&mut self.stretches);
        &self.stretches
    }
}

/// See [`Lying::always`]. A block of the bed lies over at most as many blocks of the part as the span has, and one more: what all these cover.
/// What is no longer than a gap that is of no use says nothing there.
fn always(strips: &Stretches, useless: f64) -> [Stretches; SPANS.len()] {
    let mut all = Vec::new();
    let mut in_all = |lists: &mut dyn Iterator<Item = &[[f64; 2]]>, into: &mut Stretches| {
        all.clear();
        all.extend(lists.next().into_iter().flatten());
        for list in lists {
            in_both(&mut all, list);
        }
        into.push(&all);
    };
    let mut blocks = Stretches::none();
    for block in 0..strips.len() / BLOCK {
        in_all(&mut (block * BLOCK..(block + 1) * BLOCK).map(|strip| strips.at(strip)), &mut blocks);
    }
    SPANS.map(|span| {
        let mut always = Stretches::none();
        // A part little longer than the span covers next to nothing in any case.
        if 2 * span <= strips.len() {
            for block in 0..blocks.len() {
                let over = block.checked_sub(span / BLOCK).map_or(0..0, |first| first..block + 1);
                in_all(&mut over.map(|block| blocks.at(block)), &mut always);
            }
        }
        always.longer_than(useless)
    })
}

/// See [`Lying::anywhere`].
fn anywhere(strips: &Stretches) -> Stretches {
    let mut blocks = Stretches::none();
    let mut all = Vec::new();
    for first in (0..strips.len()).step_by(BLOCK) {
        all.clear();
        all.extend((first..strips.len().min(first + BLOCK)).flat_map(|strip| strips.at(strip)));
        merge(&mut all);
        blocks.push(&all);
    }
    blocks
}

/// Leaves of a list what another one covers, too.
fn in_both(all: &mut Vec<[f64; 2]>, other: &[[f64; 2]]) {
    if let ([one], [other]) = (all.as_mut_slice(), other) {
        *one = [one[0].max(other[0]), one[1].min(other[1])];
    } else {
        let before = all.len();
        for k in 0..before {
            let one = all[k];
            all.extend(other.iter().map(|other| [one[0].max(other[0]), one[1].min(other[1])]));
        }
        all.drain(..before);
    }
    all.retain(|[from, to]| from < to);
}

/// Puts the same stretches in order, those that touch as one.
fn merge(stretches: &mut Vec<[f64; 2]>) {
    stretches.sort_unstable_by(|a, b| a[0].total_cmp(&b[0]));
    stretches.dedup_by(|next, kept| {
        let touches = next[0] <= kept[1] + TOUCHING_MM;
        if touches {
            kept[1] = kept[1].max(next[1]);
        }
        touches
    });
}

/// Adds a stretch to a list in order; those that leave no more than this between them are one.
pub(super) fn add(stretches: &mut Vec<[f64; 2]>, [from, to]: [f64; 2], apart: f64) {
    let first = stretches.iter().position(|[_, high]| from <= high + apart).unwrap_or(stretches.len());
    match stretches.get_mut(first) {
        Some(met) if met[0] <= to + apart => {
            *met = [met[0].min(from), met[1].max(to)];
            let high = met[1];
            // It may reach over those that follow.
            let over = stretches[first + 1..].iter().take_while(|[low, _]| *low <= high + apart).count();
            if 0 < over {
                stretches[first][1] = high.max(stretches[first + over][1]);
                stretches.drain(first + 1..=first + over);
            }
        }
        _ => stretches.insert(first, [from, to]),
    }
}
