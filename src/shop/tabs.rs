//! Around a part with a router: where holding tabs stand, where the bit goes in, which way it goes.
//!
//! ```text
//!   ┌─────────────────────────┐  profile, at the depth that leaves the tabs: one closed line
//!   └──────   ───────   ──────┘  from there to the full depth: the open lines between the tabs
//! ```
//!
//! Tabs stand on straight stretches, away from working edges and slots ([`Part::no_tabs`]), as evenly around the part as these allow:
//! a stub that is filed off must not move a height. The bit goes in at the beginning of the longest such stretch. A spindle that turns
//! clockwise, seen from above, climbs where it goes clockwise around the outside. Source: geometry; machining common practice.

use super::parts::Part;
use crate::geometry::{Bounds, Path, Point, Vertex};
use crate::model::workshop::{CutDirection, RouterProfile, Tabs};

/// A part's edge as a router is to follow it.
#[derive(Debug, Clone, PartialEq)]
pub struct Around {
    /// Closed, begun where the bit goes in, and run through in the stated direction, as far as they are stated.
    pub edge: Path,
    /// What is cut on to the full depth, from tab to tab; empty without tabs.
    pub between_tabs: Vec<Path>,
    /// Stretches that stay, from and to along the edge, mm: each a tab and the bit's diameter.
    pub tabs: Vec<[f64; 2]>,
}

/// Around the outside of a part whose cutter's path is `edge`, in the part's own frame.
pub fn around(part: &Part, edge: &Path, bit_mm: f64, stated: &RouterProfile) -> Around {
    let mut edge = edge.clone();
    if let Some(direction) = stated.direction {
        edge = turned(edge, direction);
    }
    if let Some(ramp_mm) = stated.ramp_mm
        && let Some(first) = entry(part, &edge, bit_mm, ramp_mm)
    {
        edge.vertices.rotate_left(first);
    }
    let tabs = stated.tabs.map_or(Vec::new(), |tabs| places(part, &edge, bit_mm, tabs));
    let between_tabs = between(&edge, &tabs);
    Around { edge, between_tabs, tabs }
}

/// A hole, run through in the stated direction: climbing inside it is the other way round.
pub fn hole(path: &Path, stated: &RouterProfile) -> Path {
    match stated.direction {
        Some(CutDirection::Climb) => turned(path.clone(), CutDirection::Conventional),
        Some(CutDirection::Conventional) => turned(path.clone(), CutDirection::Climb),
        None => path.clone(),
    }
}

/// A closed line run through in the direction that cuts so around its outside.
fn turned(path: Path, direction: CutDirection) -> Path {
    if (0.0 < path.area()) == (direction == CutDirection::Conventional) { path } else { path.reversed() }
}

/// A straight piece of a closed line.
struct StraightPiece {
    /// Number of its first corner.
    first: usize,
    /// Where it begins along the line, mm.
    from_mm: f64,
    ends: [Point; 2],
}

impl StraightPiece {
    fn long_mm(&self) -> f64 {
        self.ends[0].distance(self.ends[1])
    }

    fn at(&self, along_mm: f64) -> Point {
        on_the_way(self.ends[0], self.ends[1], (along_mm / self.long_mm()).min(1.0))
    }
}

fn stretches(edge: &Path) -> Vec<StraightPiece> {
    let mut along = 0.0;
    let mut found = Vec::new();
    for (first, (from, to, bulge)) in edge.pieces().enumerate() {
        let long = piece_mm(from, to, bulge);
        if bulge.abs() <= 0.0 && 0.0 < long {
            found.push(StraightPiece { first, from_mm: along, ends: [from, to] });
        }
        along += long;
    }
    found
}

fn piece_mm(from: Point, to: Point, bulge: f64) -> f64 {
    Path { vertices: vec![Vertex { at: from, bulge }, Vertex { at: to, bulge: 0.0 }], closed: false }.length()
}

fn on_the_way(from: Point, to: Point, fraction: f64) -> Point {
    Point::new(from.x + fraction * (to.x - from.x), from.y + fraction * (to.y - from.y))
}

/// Whether a line keeps clear of working edges and slots; the bit's middle runs half its diameter outside of them.
fn clear(part: &Part, from: Point, to: Point, bit_mm: f64) -> bool {
    let area = Bounds::of([from, to]).grown(bit_mm);
    let apart =
        |kept: &Bounds| kept.max.x < area.min.x || area.max.x < kept.min.x || kept.max.y < area.min.y || area.max.y < kept.min.y;
    part.no_tabs.iter().all(apart)
}

/// The corner at which the longest straight stretch begins that is no working edge where the bit goes in. Where none is as long as
/// the ramp, the ramp runs on around a corner.
fn entry(part: &Part, edge: &Path, bit_mm: f64, ramp_mm: f64) -> Option<usize> {
    let all = stretches(edge);
    let free = all.iter().filter(|stretch| clear(part, stretch.ends[0], stretch.at(ramp_mm), bit_mm));
    free.max_by(|a, b| a.long_mm().total_cmp(&b.long_mm())).map(|stretch| stretch.first)
}

/// Where the tabs stand, in their order along the edge.
fn places(part: &Part, edge: &Path, bit_mm: f64, tabs: Tabs) -> Vec<[f64; 2]> {
    // Nearer to a corner than half the bit, a tab would reach around it.
    const MARGIN_BITS: f64 = 0.5;
    let whole = edge.length();
    let wide = tabs.length_mm + bit_mm;
    let margin = MARGIN_BITS * bit_mm;
    let mut middles: Vec<f64> = Vec::new();
    for stretch in stretches(edge) {
        let room = stretch.long_mm() - wide - 2.0 * margin;
        if room < 0.0 {
            continue;
        }
        let steps = (room / (0.5 * wide)).ceil().clamp(1.0, 2000.0) as u32;
        for k in 0..=steps {
            let middle = margin + 0.5 * wide + room * f64::from(k) / f64::from(steps);
            if clear(part, stretch.at(middle - 0.5 * wide), stretch.at(middle + 0.5 * wide), bit_mm) {
                middles.push(stretch.from_mm + middle);
            }
        }
    }
    let round = |a: f64, b: f64| (a - b).abs().min(whole - (a - b).abs());
    let mut chosen: Vec<f64> = Vec::new();
    for k in 0..tabs.count {
        let wanted = whole * (f64::from(k) + 0.5) / f64::from(tabs.count);
        let free = middles.iter().filter(|middle| chosen.iter().all(|other| wide + bit_mm <= round(**middle, *other)));
        let best = free.min_by(|a, b| round(**a, wanted).total_cmp(&round(**b, wanted))).copied();
        chosen.extend(best);
    }
    chosen.sort_by(f64::total_cmp);
    chosen.into_iter().map(|middle| [middle - 0.5 * wide, middle + 0.5 * wide]).collect()
}

/// The open lines from each tab's end to the next one's beginning. Tabs stand on straight stretches, so that arcs stay whole.
fn between(edge: &Path, tabs: &[[f64; 2]]) -> Vec<Path> {
    let whole = edge.length();
    let pieces: Vec<(Point, Point, f64)> = edge.pieces().collect();
    let line = |from: f64, to: f64| {
        let mut vertices: Vec<Vertex> = Vec::new();
        let mut along = 0.0;
        // Twice around: the last line runs over the first corner.
        for (a, b, bulge) in pieces.iter().chain(&pieces) {
            let long = piece_mm(*a, *b, *bulge);
            let (start, end) = (along, along + long);
            along = end;
            if end <= from || to <= start || long <= 0.0 {
                continue;
            }
            let first = if start < from { on_the_way(*a, *b, (from - start) / long) } else { *a };
            let last = if to < end { on_the_way(*a, *b, (to - start) / long) } else { *b };
            match vertices.last_mut() {
                Some(before) => before.bulge = *bulge,
                None => vertices.push(Vertex { at: first, bulge: *bulge }),
            }
            vertices.push(Vertex { at: last, bulge: 0.0 });
        }
        Path { vertices, closed: false }
    };
    let next = |k: usize| tabs.get(k + 1).map_or(tabs[0][0] + whole, |next| next[0]);
    (0..tabs.len()).map(|k| line(tabs[k][1], next(k))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A board of 200 by 40 whose upper edge works, with a slot from below in its middle.
    fn board() -> Part {
        let corners =
            [(0.0, 0.0), (95.0, 0.0), (95.0, 15.0), (105.0, 15.0), (105.0, 0.0), (200.0, 0.0), (200.0, 40.0), (0.0, 40.0)];
        let mut part = Part::new("board", Path::closed(corners.map(|(x, y)| Point::new(x, y))), 9.0, "");
        part.no_tabs.push(Bounds { min: Point::new(0.0, 39.0), max: Point::new(200.0, 41.0) });
        part.no_tabs.push(Bounds { min: Point::new(90.0, 0.0), max: Point::new(110.0, 16.0) });
        part
    }

    fn stated() -> RouterProfile {
        let tabs = Tabs { count: 4, length_mm: 6.0, height_mm: 2.0 };
        RouterProfile { tabs: Some(tabs), direction: Some(CutDirection::Climb), ramp_mm: Some(40.0), ..RouterProfile::default() }
    }

    #[test]
    fn tabs_stand_clear_of_working_edge_and_slot_and_the_lines_between_them_are_the_rest() {
        let part = board();
        let edge = crate::geometry::offset::outward(&part.edge, 1.5).unwrap();
        let found = around(&part, &edge, 3.0, &stated());
        assert_eq!((found.tabs.len(), found.between_tabs.len()), (4, 4));
        assert!(found.edge.area() < 0.0, "clockwise around the outside climbs");
        assert!((found.edge.area().abs() - edge.area()).abs() < 1e-6);
        let rest: f64 = found.between_tabs.iter().map(Path::length).sum();
        assert!((rest + 4.0 * 9.0 - edge.length()).abs() < 1e-6, "{rest}");
        for line in &found.between_tabs {
            for end in [line.vertices[0].at, line.vertices[line.vertices.len() - 1].at] {
                assert!(end.y < 37.5, "a tab on the working edge: {end:?}");
                assert!(end.x < 88.0 || 112.0 < end.x || 17.5 < end.y, "a tab at the slot: {end:?}");
            }
        }
        // The bit goes in along the foot, not on the ramp.
        let (first, second) = (found.edge.vertices[0].at, found.edge.vertices[1].at);
        assert!(first.y < 0.0 && second.y < 0.0 && 40.0 < first.distance(second), "{first:?} {second:?}");
    }

    #[test]
    fn what_is_not_stated_changes_nothing() {
        let part = board();
        let edge = crate::geometry::offset::outward(&part.edge, 1.5).unwrap();
        let found = around(&part, &edge, 3.0, &RouterProfile::default());
        assert_eq!(found, Around { edge: edge.clone(), between_tabs: Vec::new(), tabs: Vec::new() });
        assert_eq!(hole(&edge, &RouterProfile::default()), edge);
        let conventional = RouterProfile { direction: Some(CutDirection::Conventional), ..RouterProfile::default() };
        assert!(hole(&edge, &conventional).area() < 0.0 && 0.0 < hole(&edge, &stated()).area());
    }
}
