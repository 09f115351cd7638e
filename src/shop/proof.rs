//! The proof that a sled and its schedule give the finished thickness: the schedule is ground on the sled's surface, as its cut
//! files have it or as it is made up, on every side of it and with the thinnest, nominal and thickest stock.

use super::grind::{Breach, GroundStrip, Unground, Upset, grind};
use super::kit::{Kit, Surface};
use super::passes::Schedule;
use crate::diag::{Diagnostic, Place, at_least, mm};
use crate::geometry::{Bounds, Point};
use crate::model::lamination::Lamination;
use crate::model::workshop::{HeightFrom, SledPlan};

/// What grinding gave, on every side of the sled and with the thinnest, nominal and thickest stock.
#[derive(Debug, Clone)]
pub struct Proof {
    /// The case that came out farthest from the target.
    pub worst: GroundStrip,
    /// Of strips as thick as the stock is stated, mm.
    worst_at_nominal_mm: f64,
    /// The case with the deepest cut.
    pub deepest: GroundStrip,
    /// The cut that goes farthest beyond its limit, in any case.
    pub breach: Option<Breach>,
    /// Cases ground.
    pub cases: u32,
}

/// Sides of the sled's surface, from what was read of the cut files: the cutter's path around each part, in the part's own frame
/// ([`super::cutting::SheetCut::outlines`]). A sled that no cutter follows has one side, as it is made up.
///
/// The files hold the path of the cutter's middle, half a cut above the edge it leaves: square to the edge, so
/// `half kerf · √(1 + slope²)` upright. Within half a cut of a stop the path climbs the stop; there the edge is continued.
pub fn surfaces(kit: &Kit, outlines: &[Option<Vec<Point>>], half_kerf_mm: f64) -> Result<Vec<Surface>, String> {
    if !kit.is_cut() {
        return Ok(vec![kit.surface.clone()]);
    }
    let sled = &kit.sled;
    let mut places: Vec<f64> = sled.ramp.points().iter().map(|point| point.0).collect();
    let count = (sled.strip_length_mm / 5.0).ceil().clamp(1.0, 2000.0) as u32;
    places.extend((0..=count).map(|k| sled.strip_length_mm * f64::from(k) / f64::from(count)));
    places.sort_by(f64::total_cmp);
    places.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let on_rail = |part: usize| kit.rails.iter().any(|rail| rail.part == part);
    let outlines: Vec<Option<ByPlace>> =
        outlines.iter().enumerate().map(|(part, line)| line.as_deref().filter(|_| on_rail(part)).map(ByPlace::of)).collect();
    let edge = |side: u32, u: f64| -> Result<f64, String> {
        let rail = kit.rails.iter().find(|rail| rail.side == side && rail.u_from_mm - 1e-6 <= u && u <= rail.u_to_mm + 1e-6);
        let rail = rail.ok_or_else(|| format!("no rail at u = {u:.2} mm"))?;
        let name = &kit.parts[rail.part].name;
        let path = outlines.get(rail.part).and_then(Option::as_ref).ok_or_else(|| format!("`{name}` is not in the file"))?;
        let (height, slope) = path.highest_at(u - rail.u_from_mm).ok_or_else(|| format!("`{name}` ends before u = {u:.2} mm"))?;
        Ok(height - half_kerf_mm * (1.0 + slope * slope).sqrt())
    };
    let clear = half_kerf_mm + 0.05;
    let (near, far) = (clear, sled.strip_length_mm - clear);
    let height = |side: u32, u: f64| {
        let inside = u.clamp(near, far);
        let step = if u < near { 1.0 } else { -1.0 };
        let top = edge(side, inside)?;
        let beyond = if (u - inside).abs() <= 0.0 { 0.0 } else { (edge(side, inside + step)? - top) * (u - inside) / step };
        Ok((u, top + beyond + sled.deck_mm + sled.under_mm))
    };
    (0..kit.sides()).map(|side| places.iter().map(|u| height(side, *u)).collect()).collect()
}

/// The pieces of a closed line by where they run: a part has thousands of them, and each place of a surface asks for those over it.
struct ByPlace {
    from: f64,
    /// For each stretch of x, the pieces that run over it, in their order.
    cells: Vec<Vec<(Point, Point)>>,
}

impl ByPlace {
    const CELL_MM: f64 = 5.0;

    fn of(points: &[Point]) -> ByPlace {
        let bounds = Bounds::of(points.iter().copied());
        let mut all = ByPlace { from: bounds.min.x, cells: Vec::new() };
        all.cells = vec![Vec::new(); if points.is_empty() { 0 } else { all.cell(bounds.max.x) + 1 }];
        for (k, a) in points.iter().enumerate() {
            let b = points[if k + 1 < points.len() { k + 1 } else { 0 }];
            for cell in all.cell(a.x.min(b.x))..=all.cell(a.x.max(b.x)) {
                all.cells[cell].push((*a, b));
            }
        }
        all
    }

    /// It never falls as x grows: what runs over a place is in that place's cell.
    fn cell(&self, x: f64) -> usize {
        ((x - self.from) / ByPlace::CELL_MM).max(0.0) as usize
    }

    /// The highest point of the line over `x`, and its slope there.
    fn highest_at(&self, x: f64) -> Option<(f64, f64)> {
        let pieces = self.cells.get(self.cell(x))?.iter().filter(|(a, b)| a.x.min(b.x) <= x && x <= a.x.max(b.x));
        pieces
            .filter(|(a, b)| 1e-9 < (b.x - a.x).abs())
            .map(|(a, b)| {
                let slope = (b.y - a.y) / (b.x - a.x);
                (a.y + slope * (x - a.x), slope)
            })
            .max_by(|a, b| a.0.total_cmp(&b.0))
    }
}

/// Sides of a sled as they are under the pressure roller: what carries the strip has given way there.
pub fn under_roller(kit: &Kit, surfaces: &[Surface]) -> Vec<Surface> {
    // Between places a sag stays straight enough: spans are many times as long, mm.
    const STEP_MM: f64 = 5.0;
    let Some(carried) = &kit.carried else { return surfaces.to_vec() };
    let dipped = |surface: &Surface| -> Surface {
        let between = surface.windows(2).flat_map(|pair| {
            let ((a, from), (b, to)) = (pair[0], pair[1]);
            let count = ((b - a) / STEP_MM).ceil().clamp(1.0, 2000.0) as u32;
            (0..count).map(move |k| {
                let fraction = f64::from(k) / f64::from(count);
                (a + fraction * (b - a), from + fraction * (to - from))
            })
        });
        between.chain(surface.last().copied()).map(|(u, height)| (u, height - carried.sag_mm(u))).collect()
    };
    surfaces.iter().map(dipped).collect()
}

/// Grinds the schedule on every surface with every kind of stock.
///
/// `surfaces` are the sides of the sled, none for a strip on the table.
pub fn prove(lamination: &Lamination, surfaces: &[Surface], schedule: &Schedule) -> Proof {
    ground_for(lamination, surfaces, schedule, 0.0)
}

/// How far a strip comes out from its target on these surfaces, mm, apart from what the last gap leaves on to stand on a step of the gauge.
pub fn off_by_sled_mm(lamination: &Lamination, surfaces: &[Surface], schedule: &Schedule, rounding_mm: f64) -> f64 {
    ground_for(lamination, surfaces, schedule, rounding_mm).worst.worst_mm
}

/// Strips that are ground in each case, by how much of the stock's spread they are off it.
const SPREAD: [f64; 3] = [-1.0, 0.0, 1.0];

/// The same against a target that is so much thicker.
fn ground_for(lamination: &Lamination, surfaces: &[Surface], schedule: &Schedule, thicker_mm: f64) -> Proof {
    let length = lamination.strip_length_mm();
    let level = vec![vec![(0.0, 0.0), (length, 0.0)]];
    let sides: &[Surface] = if surfaces.is_empty() { &level } else { surfaces };
    let mut cases = Vec::new();
    for surface in sides {
        for fraction in SPREAD {
            let upset = Upset { stock_mm: fraction * lamination.stock.spread_mm, ..Upset::default() };
            let strip = Unground { surface, length_mm: length, stock_mm: lamination.stock.thickness_mm };
            cases.push(grind(strip, schedule, |u| lamination.strip_thickness_at(u) + thicker_mm, upset));
        }
    }
    let count = cases.len() as u32;
    let over = |breach: &Breach| breach.depth_mm - breach.limit_mm;
    let breach = cases.iter().flat_map(|case| &case.breaches).copied().max_by(|a, b| over(a).total_cmp(&over(b)));
    let far = |ground: &GroundStrip| ground.worst_mm.abs();
    let deepest = cases.iter().max_by(|a, b| a.deepest_mm.total_cmp(&b.deepest_mm)).expect("there is at least one case").clone();
    // Of each side the strip of the stated thickness is the middle one.
    let nominal = cases.iter().skip(1).step_by(SPREAD.len());
    let worst_at_nominal_mm = nominal.map(|case| case.worst_mm).max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap_or(0.0);
    let worst = cases.into_iter().max_by(|a, b| far(a).total_cmp(&far(b))).expect("there is at least one case");
    Proof { worst, worst_at_nominal_mm, deepest, breach, cases: count }
}

/// How far the sled may leave a strip's thickness off, mm: its tolerance, and a micrometre for the files' digits.
pub fn allowed_mm(plan: Option<&SledPlan>) -> f64 {
    plan.map_or(0.0, |plan| plan.tolerance_mm) + 1e-3
}

impl Proof {
    /// What is wrong if the strip does not come out within the sled's tolerance, a step of the gauge's rounding allowed for.
    pub fn fault(&self, lamination: &Lamination, plan: Option<&SledPlan>, rounding_mm: f64) -> Option<Diagnostic> {
        let tolerance = allowed_mm(plan) + rounding_mm;
        // Shims made up from stock may stand higher than planned by the tolerance, and the first cut is deeper by that.
        let on_shims = |plan: &&SledPlan| plan.make.traits().height == HeightFrom::Shims;
        let made_up = plan.filter(on_shims).map_or(0.0, |plan| plan.tolerance_mm);
        if let Some(breach) = self.breach.filter(|breach| breach.limit_mm + made_up < breach.depth_mm) {
            let message = message!(
                "pass {} on `{}` would cut {} deep; its limit is {}",
                breach.pass,
                lamination.name,
                mm(breach.depth_mm),
                mm(breach.limit_mm)
            );
            return Some(
                Diagnostic::fault(lamination.place.clone(), message)
                    .hint("this is a defect of taperwright: please report the build file"),
            );
        }
        if tolerance < self.worst.worst_mm.abs() && self.worst_at_nominal_mm.abs() <= tolerance && self.worst.worst_mm < 0.0 {
            // No sled lays wood on: strips as thick as the stock is stated come out, and the thinnest do not.
            let stock = &lamination.stock;
            let message = message!(
                "where the stock is at its thinnest, {}, `{}` comes out {} too thin at {} from the strip's first end; the tolerance is {}",
                mm(stock.thickness_mm - stock.spread_mm),
                lamination.name,
                mm(-self.worst.worst_mm),
                mm(self.worst.worst_at_mm),
                mm(tolerance)
            );
            let hint = message!(
                "use stock of at least {}, or measure each strip, sort out the thin ones and state a smaller `spread`",
                at_least(stock.thickness_mm - self.worst.worst_mm)
            );
            return Some(Diagnostic::fault(lamination.place.key("stock.thickness"), message).hint(hint));
        }
        (tolerance < self.worst.worst_mm.abs()).then(|| {
            let message = message!(
                "ground on this sled, `{}` comes out {} off at {} from the strip's first end; the tolerance is {}",
                lamination.name,
                mm(self.worst.worst_mm),
                mm(self.worst.worst_at_mm),
                mm(tolerance)
            );
            Diagnostic::fault(Place::new("sled.tolerance"), message)
                .hint("more shim stock, another make of sled, or a wider tolerance")
        })
    }
}
