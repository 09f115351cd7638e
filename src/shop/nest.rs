//! How parts lie on the sheet, a bed-full at a time: those of all sleds and forms together, in each other's hollows and offcuts.
//!
//! Bottom-left packing on strips across the bed: a part, in each way it may lie, is the list of stretches that it covers in every strip
//! a millimetre or so wide, grown by half the web. It goes where its upper edge comes lowest, then farthest to the left. Parts go in a
//! few fixed orders and some shuffled from a fixed seed; the fullest bed of these tries is kept, and the next begun. So the same parts
//! always lie the same way, and the effort is bounded by the number of tries.
//!
//! Between the cuts of two parts, and between a cut and the edge of the bed, a web of sheet stays. Parts that must run along the sheet's
//! grain keep their length along the longer side of the load; the sheet is to be laid with its length that way. No part is turned over.
//! Source: bottom-left packing and conservative rasters are textbook matter.

use super::kit::{BedLoad, Placed};
use super::parts::Part;
use crate::diag::{Diagnostic, Message, Place, mm};
use crate::geometry::offset::outward;
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::model::workshop::{Sheet, SheetCutter};
use crate::units::limit;
use std::f64::consts::FRAC_PI_2;

/// Loads that hold all copies of all parts, each no larger than the sheet and the cutter's bed, the fullest first.
///
/// A fault names a part that does not fit in any way it may lie, and by how much. Parts of one thickness share loads.
pub fn nest(parts: &[Part], sheet: &Sheet, cutter: &SheetCutter) -> Result<Vec<BedLoad>, Diagnostic> {
    let area = cutter.load_mm(sheet);
    let (long, short) = (area[0].max(area[1]), area[0].min(area[1]));
    fitting(parts, sheet, cutter)?;
    let paths = parts.iter().map(|part| cut_path(part, cutter)).collect::<Result<Vec<Path>, Diagnostic>>()?;
    let gap = gap_mm(cutter);
    // What a part, grown by half the gap, may cover.
    let room = Room { low: 0.5 * gap, along: long - gap, across: short - gap, step: (long / STRIPS).max(MIN_STEP_MM) };
    let shapes: Vec<Vec<Lying>> = parts
        .iter()
        .zip(&paths)
        .map(|(part, path)| ways(part).iter().filter_map(|turns| Lying::of(path, *turns, 0.5 * gap, &room)).collect())
        .map(|mut ways: Vec<Lying>| {
            ways.dedup_by(|next, kept| next.strips == kept.strips);
            ways
        })
        .collect();
    let mut left: Vec<PartCopy> = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        left.extend((1..=part.count).map(|copy| PartCopy { index, copy, area: part.area_mm2() }));
    }
    let all: Vec<(f64, Vec<Vec<Placed>>)> = by_thickness(parts, left)
        .into_iter()
        .map(|(thickness_mm, copies)| (thickness_mm, filled(&copies, &shapes, &room)))
        .collect();
    let upright = area[0] < area[1];
    let each = all.into_iter().flat_map(|(thickness_mm, loads)| loads.into_iter().map(move |load| (thickness_mm, load)));
    Ok(each.map(|(thickness_mm, placed)| finished(placed, thickness_mm, area, upright, short)).collect())
}

/// Share of a bed that parts shall cover on every load but the last.
pub const WELL_FILLED: f64 = 0.8;

/// Copies that share loads, the thickest sheet first.
fn by_thickness(parts: &[Part], mut left: Vec<PartCopy>) -> Vec<(f64, Vec<PartCopy>)> {
    let mut groups = Vec::new();
    while let Some(thickest) = left.iter().map(|copy| parts[copy.index].thickness_mm).max_by(f64::total_cmp) {
        let (here, others) = left.into_iter().partition(|copy| limit::same(parts[copy.index].thickness_mm, thickest));
        groups.push((thickest, here));
        left = others;
    }
    groups
}

/// Loads that hold all copies, each in turn as full as it gets.
fn filled(copies: &[PartCopy], shapes: &[Vec<Lying>], room: &Room) -> Vec<Vec<Placed>> {
    let mut left = copies.to_vec();
    let mut loads = Vec::new();
    while !left.is_empty() {
        let placed = fullest(&left, shapes, room);
        assert!(!placed.is_empty(), "a part that fits a load finds room on an empty one");
        left.retain(|copy| !placed.iter().any(|put| (put.part, put.copy) == (copy.index, copy.copy)));
        loads.push(placed);
    }
    loads
}

/// A fault for the first part that fits a load in no way that it may lie: which, and by how much.
pub fn fitting(parts: &[Part], sheet: &Sheet, cutter: &SheetCutter) -> Result<(), Diagnostic> {
    let [long, short] = room_mm(sheet, cutter).map(|side| side + 2.0 * cutter.half_kerf_mm());
    parts.iter().try_for_each(|part| {
        // The line that the cutter's middle follows stands off the edge by half the cut, also where the part reaches farthest.
        fits(part, part.edge.bounds().grown(cutter.half_kerf_mm()), long, short).map_err(|too_large| {
            let key = short_key(sheet, cutter, too_large.side);
            let larger = if key == "shop.cutter" { "bed" } else { "sheet" };
            Diagnostic::fault(Place::new(key), too_large.message)
                .hint(format!("use a larger {larger}; for a sled, fewer strips side by side help too"))
        })
    })
}

/// How far the chords that stand for an arc may lie inside of it, mm.
const CHORD_MM: f64 = 0.002;
/// Strips across the longer side of a bed, about: fewer waste sheet beside every part, more only take time.
const STRIPS: f64 = 500.0;
const MIN_STEP_MM: f64 = 1.0;
/// So many places side by side are first looked at as one, in strips, the widest first.
const SPANS: [usize; 2] = [32, 8];
/// A place farther right must be lower by this to be better, mm.
const LOWER_MM: f64 = 0.05;
/// Orders that are tried for each load, beside the fixed ones: for one that is well filled, and for one that is not yet.
const SHUFFLES: [u32; 2] = [6, 24];
/// A bed this full is not tried for again.
const FULL: f64 = 0.9;

/// The part of the bed that grown parts may cover, its lower left corner `low` from that of the bed in both directions, mm.
struct Room {
    low: f64,
    along: f64,
    across: f64,
    /// Width of a strip, mm.
    step: f64,
}

#[derive(Debug, Clone)]
struct PartCopy {
    index: usize,
    copy: u32,
    area: f64,
}

/// A part in one of the ways it may lie.
struct Lying {
    /// Quarter turns, counter-clockwise.
    turns: u32,
    /// Of its cutter's path, turned about the part's own origin.
    bounds: Bounds,
    /// For each strip from the left, what the grown part covers, upward from its lowest point, mm.
    strips: Vec<Vec<[f64; 2]>>,
    /// The same for what it covers wherever within so many strips its left edge stands, for each of [`SPANS`]; empty for a part too
    /// short for that.
    always: [Vec<Vec<[f64; 2]>>; SPANS.len()],
    /// Of the grown part, mm.
    size: [f64; 2],
}

impl Lying {
    fn of(path: &Path, turns: u32, grown: f64, room: &Room) -> Option<Lying> {
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
        let strips: Vec<Vec<[f64; 2]>> = (0..count)
            .map(|k| covered(&points, k as f64 * room.step - grown, (k + 1) as f64 * room.step + grown, grown))
            .collect();
        let always = SPANS.map(|span| {
            // A part little longer than the span covers next to nothing in any case.
            let covering = if count < 2 * span { 0 } else { count };
            (0..covering).map(|k| (k + 1).checked_sub(span).map_or_else(Vec::new, |first| common(&strips[first..=k]))).collect()
        });
        Some(Lying { turns, bounds, strips, always, size })
    }

    fn placement(&self, corner: Point, grown: f64) -> Placement {
        let shift = Point::new(corner.x + grown - self.bounds.min.x, corner.y + grown - self.bounds.min.y);
        Placement { mirrored: false, angle_rad: f64::from(self.turns) * FRAC_PI_2, shift }
    }
}

/// Stretches of y that a closed line and its inside cover anywhere between two places of x, each grown.
fn covered(points: &[Point], from: f64, to: f64, grown: f64) -> Vec<[f64; 2]> {
    let mut found: Vec<[f64; 2]> = Vec::new();
    let sides = || points.iter().zip(points.iter().cycle().skip(1));
    // The line itself, as far as it runs between both places.
    for (a, b) in sides() {
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
    for x in [from + 1e-7, 0.5 * (from + to), to - 1e-7] {
        let mut over: Vec<f64> =
            sides().filter(|(a, b)| (x < a.x) != (x < b.x)).map(|(a, b)| a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y)).collect();
        over.sort_by(f64::total_cmp);
        found.extend(over.chunks_exact(2).map(|pair| [pair[0] - grown, pair[1] + grown]));
    }
    merged(found)
}

/// Stretches that all of these lists cover.
fn common(lists: &[Vec<[f64; 2]>]) -> Vec<[f64; 2]> {
    let Some((first, others)) = lists.split_first() else { return Vec::new() };
    others.iter().fold(first.clone(), |kept, list| {
        let both = kept.iter().flat_map(|a| list.iter().map(|b| [a[0].max(b[0]), a[1].min(b[1])]));
        both.filter(|[from, to]| from < to).collect()
    })
}

fn merged(mut stretches: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
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

/// One load of as many of these parts as go on it, of the tries the one whose parts have the greatest area.
fn fullest(copies: &[PartCopy], shapes: &[Vec<Lying>], room: &Room) -> Vec<Placed> {
    let size = |copy: &PartCopy| shapes[copy.index].first().map_or([0.0; 2], |shape| shape.size);
    let long = |copy: &PartCopy| size(copy)[0].max(size(copy)[1]);
    let short = |copy: &PartCopy| size(copy)[0].min(size(copy)[1]);
    let rules: [&dyn Fn(&PartCopy) -> f64; 4] =
        [&|copy| long(copy), &|copy| copy.area, &|copy| short(copy), &|copy| long(copy) + 4.0 * short(copy)];
    let whole: f64 = copies.iter().map(|copy| copy.area).sum();
    let mut best: (f64, Vec<Placed>) = (-1.0, Vec::new());
    let mut chance = 0x2545_f491_4f6c_dd1d_u64;
    for attempt in 0..rules.len() as u32 + SHUFFLES[1] {
        let rule = rules[attempt as usize % rules.len()];
        let mut order: Vec<(f64, &PartCopy)> = copies
            .iter()
            .map(|copy| {
                // The first tries keep their rule, later ones bend it by up to a third (xorshift).
                chance ^= chance << 13;
                chance ^= chance >> 7;
                chance ^= chance << 17;
                let bent = if attempt < rules.len() as u32 { 0.0 } else { (chance >> 40) as f64 / (1u64 << 24) as f64 / 3.0 };
                (rule(copy) * (1.0 - bent), copy)
            })
            .collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1.index, a.1.copy).cmp(&(b.1.index, b.1.copy))));
        let mut bed = Bed::empty(room);
        let mut area = 0.0;
        let mut placed = Vec::new();
        // Copies of a part that found no room find none later on the same bed.
        let mut refused: Vec<usize> = Vec::new();
        let mut to_come = whole;
        for (_, copy) in order {
            if area + to_come <= best.0 {
                break;
            }
            to_come -= copy.area;
            if refused.contains(&copy.index) {
                continue;
            }
            match bed.put(&shapes[copy.index]) {
                Some(placement) => {
                    area += copy.area;
                    placed.push(Placed { part: copy.index, copy: copy.copy, placement });
                }
                None => refused.push(copy.index),
            }
        }
        if best.0 < area {
            best = (area, placed);
        }
        let bed = room.along * room.across;
        let tried = rules.len() as u32 + SHUFFLES[0] <= attempt + 1 && WELL_FILLED * bed < best.0;
        if whole <= best.0 || FULL * bed < best.0 || tried {
            break;
        }
    }
    best.1
}

/// A bed being filled: for each strip what is covered, in order.
struct Bed<'a> {
    room: &'a Room,
    strips: Vec<Vec<[f64; 2]>>,
}

impl Bed<'_> {
    fn empty(room: &Room) -> Bed<'_> {
        Bed { room, strips: vec![Vec::new(); (room.along / room.step).ceil() as usize + 1] }
    }

    /// Puts a part where its upper edge comes lowest, then farthest left; `None` where there is no room in any way it may lie.
    fn put(&mut self, ways: &[Lying]) -> Option<Placement> {
        let mut best: Option<(f64, usize, usize, f64)> = None;
        for (way, shape) in ways.iter().enumerate() {
            let (mut left, mut met) = (0, 0);
            while !limit::above(left as f64 * self.room.step + shape.size[0], self.room.along) {
                let max = best.map_or(self.room.across, |(top, ..)| top - LOWER_MM) - shape.size[1];
                // Where what it covers in any case comes too high, so does the part.
                let mut in_vain = |(span, always): &(usize, &Vec<Vec<[f64; 2]>>)| {
                    left % span == 0 && !always.is_empty() && self.lowest(always, left, max, &mut met).is_none()
                };
                if let Some((span, _)) = SPANS.into_iter().zip(&shape.always).find(&mut in_vain) {
                    left += span;
                    continue;
                }
                if let Some(foot) = self.lowest(&shape.strips, left, max, &mut met) {
                    best = Some((foot + shape.size[1], way, left, foot));
                }
                left += 1;
            }
        }
        let (_, way, left, foot) = best?;
        let shape = &ways[way];
        for (strip, own) in self.strips[left..].iter_mut().zip(&shape.strips) {
            strip.extend(own.iter().map(|[from, to]| [foot + from, foot + to]));
            *strip = merged(std::mem::take(strip));
        }
        let corner = Point::new(self.room.low + left as f64 * self.room.step, self.room.low + foot);
        Some(shape.placement(corner, self.room.low))
    }

    /// The least height at which a part that covers these strips stands free with its left edge on a strip; `None` if that is over
    /// `max`. It begins at the strip of the part where the last one `met` what raised it, which is mostly near.
    fn lowest(&self, strips: &[Vec<[f64; 2]>], left: usize, max: f64, met: &mut usize) -> Option<f64> {
        let under = &self.strips[left..];
        let (mut foot, mut at, mut free) = (0.0, (*met).min(strips.len() - 1), 0);
        // Round and round until all strips in a row are free: it only rises, and ends over everything at the latest.
        while free < strips.len() {
            let before = foot;
            for [from, to] in &strips[at] {
                // Raised over whatever it meets, from the lowest up: what lies lower is passed for good.
                for [low, high] in &under[at] {
                    if foot + to <= low + 1e-9 {
                        break;
                    }
                    if foot + from < high - 1e-9 {
                        foot = high - from;
                    }
                }
            }
            if before < foot {
                (*met, free) = (at, 0);
                if limit::above(foot, max) {
                    return None;
                }
                // Once more: another stretch of the same strip may now meet what lies higher.
                continue;
            }
            free += 1;
            at = (at + 1) % strips.len();
        }
        (!limit::above(foot, max)).then_some(foot)
    }
}

/// Quarter turns in which a part may lie.
fn ways(part: &Part) -> &'static [u32] {
    if part.may_turn { &[0, 2, 1, 3] } else { &[0, 2] }
}

fn finished(placed: Vec<Placed>, thickness_mm: f64, area: [f64; 2], upright: bool, short: f64) -> BedLoad {
    let turn = |placed: Placed| {
        let Placement { mirrored, angle_rad, shift } = placed.placement;
        let placement = Placement { mirrored, angle_rad: angle_rad + FRAC_PI_2, shift: Point::new(short - shift.y, shift.x) };
        if upright { Placed { placement, ..placed } } else { placed }
    };
    BedLoad { width_mm: area[0], height_mm: area[1], thickness_mm, placed: placed.into_iter().map(turn).collect() }
}

/// Greatest length of a part, and greatest length of one that must lie across, so that it can be cut in one load, mm.
pub fn room_mm(sheet: &Sheet, cutter: &SheetCutter) -> [f64; 2] {
    let area = cutter.load_mm(sheet);
    let lost = 2.0 * (gap_mm(cutter) + cutter.half_kerf_mm());
    [area[0].max(area[1]) - lost, area[0].min(area[1]) - lost]
}

/// Between the lines that the cutter's centre follows: the cut's own width and a web that keeps the sheet in one piece, mm.
pub fn gap_mm(cutter: &SheetCutter) -> f64 {
    2.0 * cutter.half_kerf_mm() + web_mm(cutter)
}

/// Sheet that stays between two cuts, mm. A thinner web burns through or breaks and lets parts shift; beside a bit, which pushes, one
/// thinner than the bit gives way. A wider one wastes sheet. Common practice, no source.
fn web_mm(cutter: &SheetCutter) -> f64 {
    const WEB_MM: f64 = 2.0;
    match cutter {
        SheetCutter::Router { bit_mm, .. } => WEB_MM.max(*bit_mm),
        SheetCutter::Laser { .. } | SheetCutter::Hand { .. } => WEB_MM,
    }
}

fn cut_path(part: &Part, cutter: &SheetCutter) -> Result<Path, Diagnostic> {
    match outward(&part.edge, cutter.half_kerf_mm()) {
        Ok(path) => Ok(path),
        Err(_) => Err(super::parts::compensated(part, cutter.half_kerf_mm())
            .err()
            .unwrap_or_else(|| Diagnostic::fault(Place::new("shop.cutter"), format!("`{}` cannot be cut", part.name)))),
    }
}

/// A part that no load holds.
struct TooLarge {
    message: Message,
    /// The load's side that it reaches over.
    side: SheetSide,
}

/// Whether the part fits in some way that it may lie.
fn fits(part: &Part, bounds: Bounds, long: f64, short: f64) -> Result<(), TooLarge> {
    let (w, h) = (bounds.width(), bounds.height());
    let over = |w: f64, h: f64| (w - long).max(0.0).max(h - short);
    let (as_is, turned) = (over(w, h), over(h, w));
    let prefer = part.may_turn && w < h;
    let ways: &[(bool, f64)] = if prefer { &[(true, turned), (false, as_is)] } else { &[(false, as_is), (true, turned)] };
    let allowed = ways.iter().filter(|(turn, _)| part.may_turn || !turn);
    if allowed.clone().any(|(_, over)| !limit::above(*over, 0.0)) {
        return Ok(());
    }
    let (turn, min) = allowed.copied().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((false, as_is));
    let (along, across) = if turn { (h, w) } else { (w, h) };
    let message = message!(
        "`{}` is {} × {} with its cut; {} × {} can be cut at once: too large by {}",
        part.name,
        mm(w),
        mm(h),
        mm(long),
        mm(short),
        mm(min)
    );
    let side = if along - long < across - short { SheetSide::Short } else { SheetSide::Long };
    Err(TooLarge { message, side })
}

/// A side of a sheet, or of what is cut of it at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SheetSide {
    Long,
    Short,
}

/// The key that makes a side of a load no longer than it is: the cutter's bed or a side of the sheet.
pub(super) fn short_key(sheet: &Sheet, cutter: &SheetCutter, of: SheetSide) -> &'static str {
    let side = |[a, b]: [f64; 2]| match of {
        SheetSide::Short => a.min(b),
        SheetSide::Long => a.max(b),
    };
    let size = [sheet.length_mm, sheet.width_mm];
    match cutter.bed_mm() {
        Some(bed) if side(bed) <= side(size) => "shop.cutter",
        _ if (sheet.width_mm <= sheet.length_mm) == (of == SheetSide::Short) => "sled.sheet.width",
        _ => "sled.sheet.length",
    }
}
