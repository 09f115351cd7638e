//! How parts lie on the sheet, a bed-full at a time.
//!
//! Shelf packing: parts in order of falling height are laid side by side in rows, each in the first row where it fits. The order
//! is fixed, so that the same parts always lie the same way. Between the cuts of two parts, and between a cut and the edge of
//! the bed, a web of sheet stays.
//!
//! Parts that must run along the sheet's grain keep their length along the longer side of the load; the sheet is to be laid with
//! its length that way. Source: shelf packing is textbook matter (first fit, decreasing height).

use super::kit::{BedLoad, Placed};
use super::parts::Part;
use crate::diag::{Diagnostic, Message, Place, mm};
use crate::geometry::offset::outward;
use crate::geometry::{Bounds, Placement, Point};
use crate::model::workshop::{Sheet, SheetCutter};
use crate::units::limit;
use std::f64::consts::FRAC_PI_2;

/// Loads that hold all copies of all parts, each no larger than the sheet and the cutter's bed.
///
/// A fault names a part that does not fit in any way it may lie, and by how much. Parts of one thickness share loads.
pub fn nest(parts: &[Part], sheet: &Sheet, cutter: &SheetCutter) -> Result<Vec<BedLoad>, Diagnostic> {
    let area = load_size_mm(sheet, cutter);
    let gap = gap_mm(cutter);
    // Rows run along the longer side; for a bed that is longer in y the finished load is turned.
    let (long, short) = (area[0].max(area[1]), area[0].min(area[1]));
    let mut items = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        let bounds = cut_bounds(part, cutter)?;
        let turned = choose_turn(part, bounds, long - 2.0 * gap, short - 2.0 * gap).map_err(|too_large| {
            let key = short_key(sheet, cutter, too_large.side);
            let larger = if key == "shop.cutter" { "bed" } else { "sheet" };
            Diagnostic::fault(Place::new(key), too_large.message)
                .hint(format!("use a larger {larger}; for a sled, fewer strips side by side help too"))
        })?;
        items.extend((1..=part.count).map(|copy| PartCopy { index, copy, bounds, turned, may_turn: part.may_turn }));
    }
    items.sort_by(|a, b| {
        let (a_size, b_size) = (a.size(a.turned), b.size(b.turned));
        b_size.1.total_cmp(&a_size.1).then(b_size.0.total_cmp(&a_size.0)).then((a.index, a.copy).cmp(&(b.index, b.copy)))
    });
    let mut rows: Vec<ShelfRow> = Vec::new();
    let mut loads: Vec<Started> = Vec::new();
    for item in items {
        let thickness = parts[item.index].thickness_mm;
        let other_way = item.may_turn.then_some(!item.turned);
        let found = [Some(item.turned), other_way].into_iter().flatten().find_map(|turned| {
            let (w, h) = item.size(turned);
            let fits =
                |row: &ShelfRow| same(loads[row.load].thickness_mm, thickness) && h <= row.height && row.filled + w <= long - gap;
            rows.iter().position(fits).map(|row| (row, turned))
        });
        let (row, turned) = found.unwrap_or_else(|| (new_row(&mut rows, &mut loads, &item, thickness, short, gap), item.turned));
        let (w, _) = item.size(turned);
        let corner = Point::new(rows[row].filled, rows[row].bottom);
        rows[row].filled += w + gap;
        let load = rows[row].load;
        let placed = Placed { part: item.index, copy: item.copy, placement: item.placement(turned, corner) };
        loads[load].placed.push(placed);
    }
    let upright = area[0] < area[1];
    Ok(loads.into_iter().map(|load| load.finished(area, upright, short)).collect())
}

/// Greatest length of a part, and greatest length of one that must lie across, so that it can be cut in one load, mm.
pub fn room_mm(sheet: &Sheet, cutter: &SheetCutter) -> [f64; 2] {
    let area = load_size_mm(sheet, cutter);
    let lost = 2.0 * (gap_mm(cutter) + cutter.half_kerf_mm());
    [area[0].max(area[1]) - lost, area[0].min(area[1]) - lost]
}

/// The part of the bed that the sheet covers, along the bed's x and y, mm; without a bed the whole sheet, its length along x.
fn load_size_mm(sheet: &Sheet, cutter: &SheetCutter) -> [f64; 2] {
    let (long, wide) = (sheet.length_mm.max(sheet.width_mm), sheet.length_mm.min(sheet.width_mm));
    let Some([x, y]) = cutter.bed_mm() else { return [long, wide] };
    if x < y { [x.min(wide), y.min(long)] } else { [x.min(long), y.min(wide)] }
}

/// Between the lines that the cutter's centre follows: the cut's own width and a web that keeps the sheet in one piece, mm.
fn gap_mm(cutter: &SheetCutter) -> f64 {
    // A thinner web burns through or breaks and lets parts shift; a wider one wastes sheet.
    const WEB_MM: f64 = 2.0;
    2.0 * cutter.half_kerf_mm() + WEB_MM
}

struct PartCopy {
    index: usize,
    copy: u32,
    /// Of the cutter's path around the part, in the part's frame.
    bounds: Bounds,
    turned: bool,
    may_turn: bool,
}

struct ShelfRow {
    load: usize,
    bottom: f64,
    height: f64,
    /// Where the next part may begin.
    filled: f64,
}

struct Started {
    thickness_mm: f64,
    /// Where the next row may begin.
    top: f64,
    placed: Vec<Placed>,
}

impl PartCopy {
    fn size(&self, turned: bool) -> (f64, f64) {
        let (w, h) = (self.bounds.width(), self.bounds.height());
        if turned { (h, w) } else { (w, h) }
    }

    /// Brings the lower left corner of the part's path to `corner`.
    fn placement(&self, turned: bool, corner: Point) -> Placement {
        let Bounds { min, max } = self.bounds;
        if turned {
            // A quarter turn brings (x, y) to (−y, x): the greatest y becomes the left edge.
            Placement { mirrored: false, angle_rad: FRAC_PI_2, shift: Point::new(corner.x + max.y, corner.y - min.x) }
        } else {
            Placement::moved(corner.x - min.x, corner.y - min.y)
        }
    }
}

impl Started {
    fn finished(self, area: [f64; 2], upright: bool, short: f64) -> BedLoad {
        let turn = |placed: Placed| {
            let Placement { mirrored, angle_rad, shift } = placed.placement;
            let placement = Placement { mirrored, angle_rad: angle_rad + FRAC_PI_2, shift: Point::new(short - shift.y, shift.x) };
            if upright { Placed { placement, ..placed } } else { placed }
        };
        BedLoad {
            width_mm: area[0],
            height_mm: area[1],
            thickness_mm: self.thickness_mm,
            placed: self.placed.into_iter().map(turn).collect(),
        }
    }
}

fn new_row(
    rows: &mut Vec<ShelfRow>,
    loads: &mut Vec<Started>,
    item: &PartCopy,
    thickness_mm: f64,
    short: f64,
    gap: f64,
) -> usize {
    let (_, height) = item.size(item.turned);
    let open =
        loads.iter().position(|load| same(load.thickness_mm, thickness_mm) && !limit::above(load.top + height, short - gap));
    let load = open.unwrap_or_else(|| {
        loads.push(Started { thickness_mm, top: gap, placed: Vec::new() });
        loads.len() - 1
    });
    rows.push(ShelfRow { load, bottom: loads[load].top, height, filled: gap });
    loads[load].top += height + gap;
    rows.len() - 1
}

fn same(a: f64, b: f64) -> bool {
    limit::same(a, b)
}

fn cut_bounds(part: &Part, cutter: &SheetCutter) -> Result<Bounds, Diagnostic> {
    match outward(&part.edge, cutter.half_kerf_mm()) {
        Ok(path) => Ok(path.bounds()),
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

/// Whether the part lies turned: with its longer side along the rows unless only the other way fits.
fn choose_turn(part: &Part, bounds: Bounds, long: f64, short: f64) -> Result<bool, TooLarge> {
    let (w, h) = (bounds.width(), bounds.height());
    let over = |w: f64, h: f64| (w - long).max(0.0).max(h - short);
    let (as_is, turned) = (over(w, h), over(h, w));
    let prefer = part.may_turn && w < h;
    let ways: &[(bool, f64)] = if prefer { &[(true, turned), (false, as_is)] } else { &[(false, as_is), (true, turned)] };
    let allowed = ways.iter().filter(|(turn, _)| part.may_turn || !turn);
    if let Some((turn, _)) = allowed.clone().find(|(_, over)| !limit::above(*over, 0.0)) {
        return Ok(*turn);
    }
    let (turn, least) = allowed.copied().min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((false, as_is));
    let (along, across) = if turn { (h, w) } else { (w, h) };
    let message = message!(
        "`{}` is {} × {} with its cut; {} × {} can be cut at once: too large by {}",
        part.name,
        mm(w),
        mm(h),
        mm(long),
        mm(short),
        mm(least)
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
