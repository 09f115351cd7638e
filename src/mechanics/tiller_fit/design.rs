//! What would both limbs as designed show, and how does each cell's stiffness move it?

use super::super::draw::DrawCurve;
use super::super::limb::Limb;
use super::super::pair::PairOptions;
use super::super::tillering::{BentBack, LOWER, LaidPair, LoadCase, PositiveTiller, SolvedPair, UPPER, WeakerUpper};
use super::{GapLayout, LimbCell, Model, ShownRows, limited};
use crate::diag::Diagnostic;
use crate::model::Build;

/// Length of a cell, near enough, mm. Longer ones leave an edge between a sixteenth and an eighth of an inch in the distances; shorter cost passes.
const CELL_MM: f64 = 32.0;
/// Step of the differences: less meets rounding of the solution, more its curvature.
const STEP: f64 = 2e-3;

/// Both limbs as designed, cut into cells.
pub struct PairDesign<'a> {
    tillering: LaidPair<'a>,
    cells: Vec<LimbCell>,
    /// The whole upper limb's, for the tiller that is wanted.
    weaker: WeakerUpper,
}

impl<'a> PairDesign<'a> {
    /// Both limbs with what is read at these stations, standing as is wanted.
    pub fn of(
        upper: &'a Build,
        lower: &'a Build,
        pair: &PairOptions,
        tiller: PositiveTiller,
        stations_mm: &[f64],
    ) -> Result<PairDesign<'a>, Diagnostic> {
        let cells = [(UPPER, upper), (LOWER, lower)].into_iter().flat_map(|(side, build)| cells(side, build)).collect();
        PairDesign::with_cells(cells, [upper, lower], pair, stations_mm, |pair, fade_mm| pair.weaker_upper(fade_mm, tiller, None))
    }

    /// The same of limbs that are told how to stand and not read, and whose force curve is known: without cells there are fewer steps.
    pub fn uncut(
        limbs: [&'a Build; 2],
        pair: &PairOptions,
        tiller: PositiveTiller,
        stations_mm: &[f64],
        curve: &DrawCurve,
    ) -> Result<PairDesign<'a>, Diagnostic> {
        let near = Some(SolvedPair::of_curve(curve).braced());
        PairDesign::with_cells(Vec::new(), limbs, pair, stations_mm, |pair, fade_mm| pair.weaker_upper(fade_mm, tiller, near))
    }

    /// The same where it is known how they stand.
    pub fn standing(
        limbs: [&'a Build; 2],
        pair: &PairOptions,
        weaker: WeakerUpper,
        stations_mm: &[f64],
    ) -> Result<PairDesign<'a>, Diagnostic> {
        PairDesign::with_cells(Vec::new(), limbs, pair, stations_mm, |_, _| Ok(weaker))
    }

    fn with_cells(
        cells: Vec<LimbCell>,
        limbs: [&'a Build; 2],
        pair: &PairOptions,
        stations_mm: &[f64],
        weaker: impl FnOnce(&LaidPair<'a>, f64) -> Result<WeakerUpper, Diagnostic>,
    ) -> Result<PairDesign<'a>, Diagnostic> {
        let (tillering, fade_mm) = laid(&cells, limbs, pair, stations_mm)?;
        let weaker = weaker(&tillering, fade_mm)?;
        Ok(PairDesign { tillering, cells, weaker })
    }

    /// How the upper limb is weakened.
    pub fn weaker(&self) -> WeakerUpper {
        self.weaker
    }

    /// Whether they can be drawn so: the limbs so standing bent to full draw, from where the bow of two limbs alike stands there.
    pub fn draws(&self, curve: &DrawCurve) -> Result<SolvedPair, Diagnostic> {
        let limbs = self.as_designed();
        let [brace_mm, _] = self.design_mm()?;
        let full = LoadCase { brace_mm, pivot_to_nock_mm: Some(curve.at_full_draw().pivot_to_nock_mm) };
        self.tillering.bend([&limbs[UPPER], &limbs[LOWER]], full, 0.0, Some(&SolvedPair::of_curve(curve)))
    }

    pub fn cells(&self) -> &[LimbCell] {
        &self.cells
    }

    /// Half of a limb's width by its outline, mm.
    pub fn half_width_mm(&self, side: usize, s_mm: f64) -> f64 {
        0.5 * self.tillering.width_mm(side, s_mm)
    }

    /// How much farther from the string the upper limb stands at its fade's end at brace, mm: what was wanted, or what it can show of a habit.
    pub fn tiller_mm(&self) -> f64 {
        self.weaker.tiller_mm
    }

    /// Brace height and full draw, from the pivot point, mm.
    pub fn design_mm(&self) -> Result<[f64; 2], Diagnostic> {
        self.tillering.design_mm()
    }

    /// The distances that are wanted, mm: `[upper, lower]` for each station of a layout.
    pub fn targets_mm(&self, layout: &GapLayout) -> Result<Vec<[f64; 2]>, Diagnostic> {
        Ok(self.all_targets_mm(std::slice::from_ref(layout))?.remove(0))
    }

    /// The same for several layouts, each draw found from the one before.
    pub fn all_targets_mm(&self, layouts: &[GapLayout]) -> Result<Vec<Vec<[f64; 2]>>, Diagnostic> {
        let limbs = self.as_designed();
        let limbs = [&limbs[UPPER], &limbs[LOWER]];
        let found =
            self.tillering.bend_in_turn(limbs, layouts.iter().map(|layout| layout.bending), self.weaker.braced.as_ref())?;
        Ok(layouts.iter().zip(&found).map(|(layout, found)| self.tillering.gaps_mm(limbs, found, &layout.stations_mm)).collect())
    }

    /// Both limbs' backs at a layout; with the unknowns as fitted to several layouts, this one the `index`th of them.
    pub fn backs(&self, layouts: &[GapLayout], index: usize, estimate: Option<&[f64]>) -> Result<[BentBack; 2], Diagnostic> {
        let moments = layouts.iter().filter(|layout| layout.moves()).count();
        let x = estimate.map_or_else(|| vec![0.0; self.cells.len() + 2 + moments], |x| self.limited(x));
        let limbs = self.limbs(&x);
        let limbs = [&limbs[UPPER], &limbs[LOWER]];
        let layout = &layouts[index];
        let free = self.tillering.bend(limbs, layout.bending, 0.0, None)?;
        let before = layouts[..index].iter().filter(|layout| layout.moves()).count();
        let by_mm = if layout.moves() { x[self.cells.len() + 2 + before] } else { 0.0 };
        let held =
            if by_mm == 0.0 { free } else { self.tillering.bend(limbs, layout.bending, by_mm * free.force_n, Some(&free))? };
        Ok(self.tillering.backs(limbs, &held))
    }

    /// The unknowns, stiffness kept where it makes sense.
    pub(super) fn limited(&self, x: &[f64]) -> Vec<f64> {
        x.iter().enumerate().map(|(k, x)| if k < self.cells.len() + 2 { limited(*x) } else { *x }).collect()
    }

    /// The design's answer to readings of these layouts.
    pub fn model(&self, layouts: &[GapLayout]) -> Result<Model, Diagnostic> {
        let [brace_mm, full_mm] = self.design_mm()?;
        let moments = layouts.iter().filter(|layout| layout.moves()).count();
        let unknowns = self.cells.len() + 2 + moments;
        let full = GapLayout {
            bending: LoadCase { brace_mm, pivot_to_nock_mm: Some(full_mm) },
            fixed: false,
            stations_mm: Vec::new(),
            shown: ShownRows::default(),
        };
        let with_full: Vec<GapLayout> = layouts.iter().cloned().chain([full]).collect();
        let mut x = vec![0.0; unknowns];
        let (targets_mm, mut solved) = self.forward(&with_full, &x, &[])?;
        let force = |solved: &[SolvedPair]| solved.last().map_or(1.0, |solved| solved.force_n);
        let mut columns = Vec::with_capacity(unknowns);
        let mut weight_fraction = Vec::with_capacity(self.cells.len());
        for k in 0..unknowns {
            // A moment is a pull that passes the grip by a millimetre.
            let step = if k < self.cells.len() + 2 { STEP } else { 1.0 };
            x[k] = step;
            let (moved, moved_solved) = self.forward(&with_full, &x, &solved)?;
            x[k] = 0.0;
            columns.push(moved.iter().zip(&targets_mm).map(|(moved, target)| (moved - target) / step).collect());
            if k < self.cells.len() {
                weight_fraction.push((force(&moved_solved) / force(&solved)).ln() / step);
            }
        }
        solved.pop();
        Ok(Model { layouts: layouts.to_vec(), solved, targets_mm, columns, weight_fraction })
    }

    /// The limbs without a fault, standing as is wanted.
    fn as_designed(&self) -> [Limb; 2] {
        self.limbs(&vec![0.0; self.cells.len() + 2])
    }

    /// The limbs with these logarithms on their cells and inside their fades.
    fn limbs(&self, x: &[f64]) -> [Limb; 2] {
        [UPPER, LOWER].map(|side| {
            let whole = if side == UPPER { self.weaker.factor } else { 1.0 };
            let own = self.cells.iter().zip(x).filter(|(cell, _)| cell.side == side);
            let own: Vec<(f64, f64)> = own.map(|(cell, x)| (cell.to_mm, whole / (1.0 - x))).collect();
            let first = self.cells.iter().find(|cell| cell.side == side).map_or(0.0, |cell| cell.from_mm);
            let inside = whole / (1.0 - x[self.cells.len() + side]);
            self.tillering.limbs()[side].stiffened(|s| {
                if s < first {
                    return inside;
                }
                own.get(own.partition_point(|(to, _)| *to < s)).or(own.last()).map_or(whole, |(_, factor)| *factor)
            })
        })
    }

    pub(super) fn forward(
        &self,
        layouts: &[GapLayout],
        x: &[f64],
        near: &[SolvedPair],
    ) -> Result<(Vec<f64>, Vec<SolvedPair>), Diagnostic> {
        let limbs = self.limbs(x);
        let limbs = [&limbs[UPPER], &limbs[LOWER]];
        let mut moments = x[self.cells.len() + 2..].iter();
        let (mut distances, mut solved) = (Vec::new(), Vec::new());
        for (k, layout) in layouts.iter().enumerate() {
            let near = near.get(k);
            let by = if layout.moves() { moments.next().copied().unwrap_or(0.0) } else { 0.0 };
            let moment = by * near.map_or(0.0, |near| near.force_n);
            let found = self.tillering.bend(limbs, layout.bending, moment, near)?;
            distances.extend(self.tillering.gaps_mm(limbs, &found, &layout.stations_mm).into_iter().flatten());
            if layout.shown != ShownRows::default() {
                distances.extend(layout.shown.of(&self.tillering.backs(limbs, &found)));
            }
            solved.push(found);
        }
        Ok((distances, solved))
    }
}

/// Both limbs with corners wherever stiffness may jump or a distance is read, and the end of the upper limb's fade, mm.
fn laid<'a>(
    cells: &[LimbCell],
    [upper, lower]: [&'a Build; 2],
    pair: &PairOptions,
    stations_mm: &[f64],
) -> Result<(LaidPair<'a>, f64), Diagnostic> {
    let fade_mm = upper.limb_from_mm();
    let of_cells = cells.iter().flat_map(|cell| [cell.from_mm, cell.to_mm]);
    let corners: Vec<f64> = of_cells.chain(stations_mm.iter().copied()).chain([fade_mm]).collect();
    Ok((LaidPair::of(upper, lower, pair, &corners)?, fade_mm))
}

/// The working limb in equal parts.
fn cells(side: usize, build: &Build) -> impl Iterator<Item = LimbCell> {
    let from = build.limb_from_mm();
    let to = build.outline.as_ref().map_or(from, |outline| outline.nock_mm());
    let count = ((to - from) / CELL_MM).round().clamp(4.0, 30.0);
    let at = move |k: f64| from + (to - from) * k / count;
    (0..count as usize).map(move |k| LimbCell { side, from_mm: at(k as f64), to_mm: at(k as f64 + 1.0) })
}
