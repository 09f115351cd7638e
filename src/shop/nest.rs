//! How parts lie on the sheet, a bed-full at a time: those of all sleds and forms together, in each other's hollows and offcuts.
//!
//! Bottom-left packing on strips across the bed: a part, in each way it may lie, is the list of stretches that it covers in every strip
//! a millimetre or so wide, grown by half the web. It goes where its upper edge comes lowest, then farthest to the left, on the first bed
//! that is not well filled yet and has room, so that small parts fill what large ones leave on every bed. All parts are packed in a few fixed
//! orders, in some shuffled from a fixed seed and in some near the best so far; the fewest beds win, then those of which least is missing
//! that they were well filled. So the same parts always lie the same way, and the effort is bounded by the number of tries.
//!
//! Strips are compared only where blocks of them do not tell: where what a part covers throughout a block, wherever within some places it
//! stands, meets what is covered anywhere in a block of the bed, it cannot lie; where what both cover anywhere does not meet, it can.
//!
//! What webs alone allow is known beforehand ([`WebBound`]): parts, each grown by half a web, can cover no more than a bed has. Where that
//! forbids well filled beds, few tries are made.
//!
//! Between the cuts of two parts, and between a cut and the edge of the bed, a web of sheet stays. Parts that must run along the sheet's
//! grain keep their length along the longer side of the load; the sheet is to be laid with its length that way. No part is turned over.
//! Source: bottom-left packing and conservative rasters are textbook matter.

mod bound;
mod lying;

pub use bound::WebBound;

use super::kit::{BedLoad, Placed};
use super::parts::Part;
use crate::diag::{Diagnostic, Message, Place, mm};
use crate::geometry::offset::outward;
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::model::workshop::{Sheet, SheetCutter};
use crate::units::limit;
use bound::grown_mm2;
use lying::{Lying, Stretches, add};
use std::f64::consts::FRAC_PI_2;

/// Loads that hold all copies of all parts, each no larger than the sheet and the cutter's bed, the fullest first.
///
/// A fault names a part that does not fit in any way it may lie, and by how much. Parts of one thickness share loads.
pub fn nest(parts: &[Part], sheet: &Sheet, cutter: &SheetCutter) -> Result<Vec<BedLoad>, Diagnostic> {
    let area = cutter.load_mm(sheet);
    let (long, short) = (area[0].max(area[1]), area[0].min(area[1]));
    fitting(parts, sheet, cutter)?;
    // Parts of one shape are looked at once.
    let alike = |a: &Part, b: &Part| a.may_turn == b.may_turn && a.edge == b.edge;
    let first: Vec<usize> = parts.iter().map(|part| parts.iter().position(|known| alike(known, part)).unwrap_or(0)).collect();
    let gap = gap_mm(cutter);
    // What a part, grown by half the gap, may cover.
    let mut room = Room {
        low: 0.5 * gap,
        along: long - gap,
        across: short - gap,
        step: (long / STRIPS).max(MIN_STEP_MM),
        useless: TOUCHING_MM,
    };
    let (mut shapes, mut grown) = (Vec::new(), Vec::new());
    for (index, part) in parts.iter().enumerate() {
        if first[index] < index {
            shapes.push(Vec::new());
            grown.push(grown[first[index]]);
            continue;
        }
        let path = cut_path(part, cutter)?;
        let mut lying: Vec<Lying> = ways(part).iter().filter_map(|turns| Lying::of(&path, *turns, 0.5 * gap, &room)).collect();
        lying.dedup_by(|next, kept| next.strips == kept.strips);
        shapes.push(lying);
        grown.push(grown_mm2(part, Some(&path), cutter));
    }
    let least = shapes.iter().flatten().map(|shape| shape.strips.least()).fold(f64::INFINITY, f64::min);
    room.useless = (least - CLOSE_MM).max(TOUCHING_MM);
    shapes.iter_mut().flatten().for_each(|shape| shape.sum_up(room.useless));
    let mut left: Vec<PartCopy> = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        let (shape, area) = (first[index], part.area_mm2());
        left.extend((1..=part.count).map(|copy| PartCopy { index, shape, copy, area }));
    }
    let packed = |copies: &[PartCopy]| {
        let bound = WebBound::of(copies.iter().map(|copy| [copy.area, grown[copy.index]]), [long, short], gap);
        filled(copies, &shapes, &room, &bound)
    };
    let all: Vec<(f64, Vec<Vec<Placed>>)> =
        by_thickness(parts, left).into_iter().map(|(thickness_mm, copies)| (thickness_mm, packed(&copies))).collect();
    let each = all.into_iter().flat_map(|(thickness_mm, loads)| loads.into_iter().map(move |load| (thickness_mm, load)));
    Ok(each.map(|(thickness_mm, placed)| finished(placed, thickness_mm, area, &room, |part| &shapes[first[part]])).collect())
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
const CHORD_MM: f64 = 0.02;
/// Strips across the longer side of a bed, about: fewer waste sheet beside every part, more only take time.
const STRIPS: f64 = 500.0;
const MIN_STEP_MM: f64 = 1.0;
/// Stretches so near each other are one, mm.
const TOUCHING_MM: f64 = 1e-9;
/// A stretch fits a gap that it misses by less than this, mm: both are sums of many numbers.
const CLOSE_MM: f64 = 1e-6;
/// So many strips side by side are first looked at as one.
const BLOCK: usize = 8;
/// And so many places side by side, in strips, the widest first: each some blocks.
const SPANS: [usize; 2] = [32, 8];
/// So many strips that raised a part are looked at first for its next place.
const MET: usize = 6;
/// A place farther right must be lower by this to be better, mm.
const LOWER_MM: f64 = 0.05;
/// Orders that are tried where all beds but one may come out well filled, and where the webs forbid it.
const TRIES: u32 = 200;
const FEW_TRIES: u32 = 16;
/// A last bed with less than this share covered is worth going on for, so that it is spared.
const SPARED: f64 = 0.1;

/// The part of the bed that grown parts may cover, its lower left corner `low` from that of the bed in both directions, mm.
struct Room {
    low: f64,
    along: f64,
    across: f64,
    /// Width of a strip, mm.
    step: f64,
    /// What is left free between two stretches of a strip is of no use where no part is as short as this, mm.
    useless: f64,
}

#[derive(Debug, Clone)]
struct PartCopy {
    index: usize,
    /// The first part of the same shape.
    shape: usize,
    copy: u32,
    area: f64,
}

/// All copies on as few beds as are found, the fullest first.
fn filled(copies: &[PartCopy], shapes: &[Vec<Lying>], room: &Room, bound: &WebBound) -> Vec<Vec<Placed>> {
    let size = |copy: &PartCopy| shapes[copy.shape].first().map_or([0.0; 2], |shape| shape.size);
    let long = |copy: &PartCopy| size(copy)[0].max(size(copy)[1]);
    let short = |copy: &PartCopy| size(copy)[0].min(size(copy)[1]);
    let rules: [&dyn Fn(&PartCopy) -> f64; 4] =
        [&|copy| long(copy), &|copy| copy.area, &|copy| short(copy), &|copy| long(copy) + 4.0 * short(copy)];
    let mut random = Random(0x2545_f491_4f6c_dd1d);
    let tries = if bound.allows_well_filled() { TRIES } else { FEW_TRIES };
    let mut best: Option<Packing<'_>> = None;
    for attempt in 0..tries as usize {
        // The first tries keep their rule, the next bend it by up to a third; then most go on from the best order so far.
        let rule = rules[attempt % rules.len()];
        let keys: Vec<f64> = match &best {
            Some(best) if 2 * rules.len() <= attempt && attempt % 4 != 0 => {
                let mut near = |key: &f64| if random.next() < 0.15 { key * (0.6 + 0.8 * random.next()) } else { *key };
                best.keys.iter().map(&mut near).collect()
            }
            _ if rules.len() <= attempt => copies.iter().map(|copy| rule(copy) * (1.0 - random.next() / 3.0)).collect(),
            _ => copies.iter().map(rule).collect(),
        };
        // Mostly a bed that is well filled already waits; now and then every bed takes what it can.
        let enough = if attempt % 4 == 3 { f64::INFINITY } else { WELL_FILLED * bound.bed_mm2 };
        let max_beds = best.as_ref().map_or(usize::MAX, |best| best.beds.len());
        let Some(packing) = packed(copies, keys, shapes, room, Packed { enough_mm2: enough, max_beds }) else { continue };
        if best.as_ref().is_none_or(|best| packing.is_better(best, bound.bed_mm2)) {
            best = Some(packing);
        }
        if best.as_ref().is_some_and(|best| best.is_enough(bound)) {
            break;
        }
    }
    let beds = best.map_or(Vec::new(), |best| best.beds);
    beds.into_iter().map(|bed| bed.placed).collect()
}

/// Numbers from 0 to 1 that are the same every time (xorshift).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 40) as f64 / (1u64 << 24) as f64
    }
}

/// How a try packs.
#[derive(Debug, Clone, Copy)]
struct Packed {
    /// A bed with this much covered waits until no other takes a part, mm².
    enough_mm2: f64,
    /// More beds than this are given up.
    max_beds: usize,
}

/// All copies on beds, the fullest first.
struct Packing<'a> {
    beds: Vec<BedFill<'a>>,
    /// By which the copies were ordered, the greatest first.
    keys: Vec<f64>,
}

impl Packing<'_> {
    /// What is missing, in beds, that all but the last were well filled.
    fn missing(&self, bed_mm2: f64) -> f64 {
        let but_last = &self.beds[..self.beds.len().saturating_sub(1)];
        but_last.iter().map(|bed| (WELL_FILLED - bed.area_mm2 / bed_mm2).max(0.0)).sum()
    }

    fn is_better(&self, than: &Packing<'_>, bed_mm2: f64) -> bool {
        let by_beds = self.beds.len().cmp(&than.beds.len());
        by_beds.then(self.missing(bed_mm2).total_cmp(&than.missing(bed_mm2))).is_lt()
    }

    /// Whether no further try could do much better.
    fn is_enough(&self, bound: &WebBound) -> bool {
        let last = self.beds.last().map_or(0.0, |bed| bed.area_mm2 / bound.bed_mm2);
        self.missing(bound.bed_mm2) <= 0.0 && (SPARED <= last || self.beds.len() <= bound.min_loads())
    }
}

/// All copies in the order of their keys, each on the first bed that takes it; `None` if that takes too many.
fn packed<'a>(copies: &[PartCopy], keys: Vec<f64>, shapes: &[Vec<Lying>], room: &'a Room, how: Packed) -> Option<Packing<'a>> {
    let mut order: Vec<(f64, &PartCopy)> = keys.iter().copied().zip(copies).collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1.index, a.1.copy).cmp(&(b.1.index, b.1.copy))));
    let mut beds: Vec<BedFill<'_>> = Vec::new();
    for (_, copy) in order {
        let (open, full): (Vec<usize>, Vec<usize>) = (0..beds.len()).partition(|bed| beds[*bed].area_mm2 < how.enough_mm2);
        if !open.into_iter().chain(full).any(|bed| beds[bed].take(copy, &shapes[copy.shape])) {
            if beds.len() == how.max_beds {
                return None;
            }
            let mut bed = BedFill::empty(room);
            assert!(bed.take(copy, &shapes[copy.shape]), "a part that fits a load finds room on an empty one");
            beds.push(bed);
        }
    }
    beds.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
    Some(Packing { beds, keys })
}

/// A bed being filled: for each strip what is covered, in order.
struct BedFill<'a> {
    room: &'a Room,
    strips: Vec<Vec<[f64; 2]>>,
    /// What is covered in any strip of each [`BLOCK`].
    blocks: Vec<Vec<[f64; 2]>>,
    placed: Vec<Placed>,
    area_mm2: f64,
    /// Shapes that found no room: others alike find none either.
    refused: Vec<usize>,
}

impl BedFill<'_> {
    fn empty(room: &Room) -> BedFill<'_> {
        let strips = vec![Vec::new(); (room.along / room.step).ceil() as usize + 1];
        let blocks = vec![Vec::new(); strips.len().div_ceil(BLOCK)];
        BedFill { room, strips, blocks, placed: Vec::new(), area_mm2: 0.0, refused: Vec::new() }
    }

    /// Whether a copy of a part found room.
    fn take(&mut self, copy: &PartCopy, ways: &[Lying]) -> bool {
        if self.refused.contains(&copy.shape) {
            return false;
        }
        let Some(placement) = self.put(ways) else {
            self.refused.push(copy.shape);
            return false;
        };
        self.area_mm2 += copy.area;
        self.placed.push(Placed { part: copy.index, copy: copy.copy, placement });
        true
    }

    /// Puts a part where its upper edge comes lowest, then farthest left; `None` where there is no room in any way it may lie.
    fn put(&mut self, ways: &[Lying]) -> Option<Placement> {
        let mut best: Option<(f64, usize, usize, f64)> = None;
        for (way, shape) in ways.iter().enumerate() {
            let mut left = 0;
            let (mut met, mut met_blocks) = (Met::default(), Met::default());
            while !limit::above(left as f64 * self.room.step + shape.size[0], self.room.along) {
                let max = best.map_or(self.room.across, |(top, ..)| top - LOWER_MM) - shape.size[1];
                if limit::above(0.0, max) {
                    break;
                }
                // Where what it covers in any case comes too high, so does the part.
                let mut in_vain = |(span, always): &(usize, &Stretches)| {
                    if left % span != 0 || always.is_empty() {
                        return false;
                    }
                    let first = left / BLOCK;
                    lowest(always, &self.blocks[first..], max, &mut met_blocks, |_, _| false).is_none()
                };
                if let Some((span, _)) = SPANS.into_iter().zip(&shape.always).find(&mut in_vain) {
                    left += span;
                    continue;
                }
                let is_free = |at: usize, foot: f64| self.is_free(shape, left, at, foot);
                if let Some(foot) = lowest(&shape.strips, &self.strips[left..], max, &mut met, is_free) {
                    best = Some((foot + shape.size[1], way, left, foot));
                }
                left += 1;
            }
        }
        let (_, way, left, foot) = best?;
        let shape = &ways[way];
        self.cover(left, foot, &shape.strips);
        let corner = Point::new(self.room.low + left as f64 * self.room.step, self.room.low + foot);
        Some(shape.placement(corner, self.room.low))
    }

    fn cover(&mut self, left: usize, foot: f64, strips: &Stretches) {
        let useless = self.room.useless;
        let mut own = strips.iter();
        let mut strip = left;
        while strip < left + strips.len() {
            let block = strip / BLOCK;
            let in_block = &mut self.blocks[block];
            // Neighbours mostly cover nearly the same: they go into the block as one.
            let mut all: Option<[f64; 2]> = None;
            let end = ((block + 1) * BLOCK).min(left + strips.len());
            for (covered, own) in self.strips[strip..end].iter_mut().zip(&mut own) {
                for [from, to] in own.iter().map(|[from, to]| [foot + from, foot + to]) {
                    add(covered, [from, to], useless);
                    all = Some(match all {
                        Some([low, high]) if from <= high && low <= to => [low.min(from), high.max(to)],
                        Some(before) => {
                            add(in_block, before, useless);
                            [from, to]
                        }
                        None => [from, to],
                    });
                }
            }
            all.into_iter().for_each(|all| add(in_block, all, useless));
            strip = end;
        }
    }

    /// Whether a whole block of the bed begins at this strip of a part, and nothing there meets the part at this height.
    fn is_free(&self, shape: &Lying, left: usize, at: usize, foot: f64) -> bool {
        if !(left + at).is_multiple_of(BLOCK) || shape.strips.len() < at + BLOCK {
            return false;
        }
        let under = &self.blocks[(left + at) / BLOCK];
        let meets = |own: &[[f64; 2]]| {
            let meet = |[from, to]: &[f64; 2], [low, high]: &[f64; 2]| low + 1e-9 < foot + to && foot + from < high - 1e-9;
            own.iter().any(|own| under.iter().any(|covered| meet(own, covered)))
        };
        let (first, last) = (at / BLOCK, at.div_ceil(BLOCK));
        !meets(shape.anywhere.at(first)) && (first == last || !meets(shape.anywhere.at(last)))
    }
}

/// Strips of a part where something lately raised it, the last one last.
#[derive(Default)]
struct Met {
    strips: [usize; MET],
    count: usize,
}

impl Met {
    fn add(&mut self, strip: usize) {
        let known = &mut self.strips[..self.count];
        if let Some(at) = known.iter().position(|known| *known == strip) {
            known[at..].rotate_left(1);
        } else if self.count < MET {
            self.strips[self.count] = strip;
            self.count += 1;
        } else {
            known[0] = strip;
            known.rotate_left(1);
        }
    }
}

/// The least height at which what covers these strips stands free of what is covered `under` them; `None` if that is over `max`. It begins at
/// the strips where something was `met` lately. Where a block of strips `is_free` at a height, they need no look.
fn lowest(
    strips: &Stretches,
    under: &[Vec<[f64; 2]>],
    max: f64,
    met: &mut Met,
    is_free: impl Fn(usize, f64) -> bool,
) -> Option<f64> {
    let too_high = max + limit::tolerance(max);
    // Raised over whatever it meets, from the lowest up: what lies lower is passed for good. Another stretch of the same strip may then
    // meet what lies higher.
    let raised = |strip: usize, mut foot: f64| {
        let (own, under) = (strips.at(strip), under[strip].as_slice());
        loop {
            let before = foot;
            for [from, to] in own {
                for [low, high] in under {
                    if foot + to <= low + TOUCHING_MM {
                        break;
                    }
                    if foot + from < high - TOUCHING_MM {
                        foot = high - from;
                        if too_high < foot {
                            return foot;
                        }
                    }
                }
            }
            if foot <= before || own.len() < 2 {
                return foot;
            }
        }
    };
    let mut foot = 0.0;
    for strip in met.strips[..met.count].iter().rev() {
        foot = raised(*strip, foot);
        if too_high < foot {
            return None;
        }
    }
    // Round and round until all strips in a row are free: it only rises, and ends over everything at the latest.
    let count = strips.len();
    let (mut at, mut free) = (met.strips[met.count.saturating_sub(1)], 0);
    while free < count {
        if is_free(at, foot) {
            (at, free) = (if at + BLOCK < count { at + BLOCK } else { 0 }, free + BLOCK);
            continue;
        }
        let here = raised(at, foot);
        free += 1;
        if foot < here {
            met.add(at);
            (foot, free) = (here, 1);
            if too_high < foot {
                return None;
            }
        }
        at = if at + 1 < count { at + 1 } else { 0 };
    }
    (foot <= too_high).then_some(foot)
}

/// Quarter turns in which a part may lie.
fn ways(part: &Part) -> &'static [u32] {
    if part.may_turn { &[0, 2, 1, 3] } else { &[0, 2] }
}

/// A load as it lies in the cutter's bed, pushed into its lower left corner.
fn finished<'s>(
    placed: Vec<Placed>,
    thickness_mm: f64,
    area: [f64; 2],
    room: &Room,
    ways: impl Fn(usize) -> &'s [Lying],
) -> BedLoad {
    if area[1] <= area[0] {
        return BedLoad { width_mm: area[0], height_mm: area[1], thickness_mm, placed };
    }
    // A quarter turn lays what stood lowest farthest to the right: as far as the highest of them leaves free, all go left.
    let top = |placed: &Placed| {
        let lies = |shape: &&Lying| f64::from(shape.turns) * FRAC_PI_2 == placed.placement.angle_rad;
        let shape = ways(placed.part).iter().find(lies);
        placed.placement.shift.y + shape.map_or(0.0, |shape| shape.bounds.max.y)
    };
    let highest = placed.iter().map(top).fold(0.0, f64::max) + 2.0 * room.low;
    let turn = |placed: Placed| {
        let Placement { mirrored, angle_rad, shift } = placed.placement;
        let placement = Placement { mirrored, angle_rad: angle_rad + FRAC_PI_2, shift: Point::new(highest - shift.y, shift.x) };
        Placed { placement, ..placed }
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
