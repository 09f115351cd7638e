//! Which stretches of a limb are stiffer or weaker than the rest, as far as distances from belly to string can tell?
//!
//! ```text
//!   y = f(x) + e            y  distances of both limbs at stations and draws of one round, mm
//!                           x  1 − 1/(factor on EI) in cells of an inch or so, upper limb first (and nuisances, below)
//!                           e  reading error, one σ as stated for each reading
//!   x̂ = S Jᵀ R⁻¹ (y − f(x̂) + J x̂),  S = (P⁻¹ + Jᵀ R⁻¹ J)⁻¹,   J = ∂f/∂x by differences
//! ```
//!
//! Limbs bend by their compliance, so that distances run nearly straight over `x`: a stretch two thirds as stiff is met to a fifteenth,
//! where the logarithm would miss by a sixth. What is said is the logarithm, `−ln(1 − x)`.
//!
//! A distance depends on both whole limbs, so `f` is the pair model ([`super::tillering`]) and nothing is read off station by station. All
//! stiffness times a factor leaves every distance, so `x` is told against its mean over the bow, each cell weighing as it weighs in the
//! draw weight.
//!
//! **The prior** `P` lets wood be as uneven as boards are: 0.30 along a limb with a memory of 5 in, and 0.22 for a whole limb (the
//! scatter of moduli is 0.22), so that a stretch of any length may be off by at least that. From it comes the σ that is stated for a stretch: what
//! the readings tell of it if nothing is known of all others. Nuisances: what lies inside the fades (0.10), and for a grip that cannot turn how far the pull
//! passes it by (50 mm) at each draw.
//!
//! **What is spoken of** are single stretches that stand out of an even bow: `tiller_fit/search.rs` looks for them.
//!
//! **A figure that contradicts the others** was misread. Left out, row `r` is told by the rest to `e/(1 − h)` of where it was read, with the σ
//! `1/√(1 − h)`, `e` what the fit leaves of it and `h = (J S Jᵀ)_rr`, in units of its error. Wood as uneven as the prior lets it be bends no limb back and forth
//! between neighbours: what lies [`ODD_SIGMAS`] off is asked about.
//!
//! Source: engineering statistics, any text on least squares with a prior (for instance C. D. Rodgers, Inverse Methods for Atmospheric
//! Sounding, 2000, chapters 2 and 5). Prior and bounds are ours. `tests/tiller_round_trip.rs` closes the loop.

mod design;
mod search;

pub use design::PairDesign;

use super::reading_errors::ReadingErrors;
use super::tillering::{BentBack, LOWER, LoadCase, SolvedPair, UPPER};
use crate::numeric::estimate::Estimate;
use crate::numeric::linear::{cholesky, dot};
use crate::numeric::span::Span;
use search::{Searched, search};

/// Part of one limb that has a factor of its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbCell {
    /// [`UPPER`] or [`LOWER`].
    pub side: usize,
    pub from_mm: f64,
    pub to_mm: f64,
}

impl LimbCell {
    /// Whether it has a part of this stretch of one limb.
    pub fn meets(&self, side: usize, from_mm: f64, to_mm: f64) -> bool {
        self.side == side && self.from_mm < to_mm && from_mm < self.to_mm
    }
}

/// What is read, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct GapLayout {
    pub bending: LoadCase,
    /// The grip cannot turn.
    pub fixed: bool,
    pub stations_mm: Vec<f64>,
    /// What a picture shows.
    pub shown: ShownRows,
}

/// Rows of a picture, after those of the distances.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ShownRows {
    pub backs: Vec<BackRow>,
    /// Stretches whose mean curvature is asked for: never read, but told by the fit.
    pub bends: Vec<LimbCell>,
}

/// Where a limb's back lies in one direction, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BackRow {
    pub side: usize,
    pub s_mm: f64,
    /// In the side frame of its own half: `x` toward the archer, `y` toward its nock.
    pub direction: [f64; 2],
}

/// Mean curvature of a stretch, positive toward the belly, 1/mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StretchBend {
    pub stretch: LimbCell,
    pub designed_per_mm: f64,
    pub is_per_mm: f64,
    /// One σ.
    pub sigma_per_mm: f64,
}

impl StretchBend {
    /// The curvature of 95 in 100, 1/mm.
    pub fn interval_per_mm(&self) -> Span {
        Span::about(self.is_per_mm, CERTAIN * self.sigma_per_mm)
    }
}

/// σ either way that hold 95 of 100.
const CERTAIN: f64 = 1.96;

/// What the design answers to readings of some layouts.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    layouts: Vec<GapLayout>,
    solved: Vec<SolvedPair>,
    /// Distances of the design, mm: layout by layout, station by station, upper then lower.
    targets_mm: Vec<f64>,
    /// `∂y/∂x`, a column for each unknown: cells, both fades' insides, moments.
    columns: Vec<Vec<f64>>,
    /// `∂ ln F/∂x` of each cell at full draw.
    pub weight_fraction: Vec<f64>,
}

/// One limb's stretch and what is known of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    pub side: usize,
    pub from_mm: f64,
    pub to_mm: f64,
    /// Where it may begin and end at the outermost.
    pub within_mm: Span,
    /// ln of its stiffness over the rest's.
    pub ln_factor: f64,
    /// One σ of that, the rest of the bow being even and place and length those above.
    pub sigma: f64,
    /// What `ln_factor` may be at [`SPOKEN`] σ, whatever place and length are: of an infinite stiffness too.
    pub ln_within: Span,
}

/// A distance that the other readings of its round leave no room for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OddReading {
    /// Its layout, the station in it, and the limb.
    pub layout: usize,
    pub station: usize,
    pub side: usize,
    /// Read less what the others tell of it, and one σ of that, mm.
    pub off_mm: Estimate,
}

/// What one round of readings tells.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    pub cells: Vec<LimbCell>,
    /// ln of the factor on EI against the bow's mean, cell by cell, the rest being nearly even.
    pub relative: Vec<f64>,
    /// Of all cells, whatever the others are.
    covariance: Vec<Vec<f64>>,
    /// Each cell's weight in the mean.
    mean: Vec<f64>,
    /// Stretches that are spoken of, the surest first.
    pub stretches: Vec<Stretch>,
    /// Explains what is left over, but is not the only one that does.
    pub unclear: Option<Stretch>,
    /// The distance that contradicts the others most, if one does.
    pub odd: Option<OddReading>,
    /// How likely each cell is part of a stretch that bends too much.
    pub weak_chance: Vec<f64>,
    /// Distances less the design's, as the fit has them (without what a fixed grip does), mm: in the order of the distances.
    pub off_mm: Vec<Estimate>,
    /// Stretches whose curvature was asked for, layout by layout.
    pub bends: Vec<StretchBend>,
    /// What the fit leaves of each reading, read less fitted, mm: in the order of the rows, those that nobody read too.
    pub left: Vec<f64>,
    /// The unknowns as fitted.
    pub estimate: Vec<f64>,
    /// Of each cell over the design's.
    pub compliance: Vec<f64>,
    /// σ of each cell against the bow's mean, the rest being nearly even.
    pub work_spread: Vec<f64>,
    /// `Jᵀ R⁻¹ J` of the cells, and `P⁻¹` with the rest nearly even.
    pub pull: Vec<Vec<f64>>,
    pub prior: Vec<Vec<f64>>,
    /// `Jᵀ R⁻¹` times the distances that are off: what taking wood off the cells has to answer.
    pub aim: Vec<f64>,
}

/// Deviation of ln EI along a limb, the length of its memory (mm), and the deviation of a whole limb.
const ALONG: f64 = 0.30;
const MEMORY_MM: f64 = 127.0;
const WHOLE: f64 = 0.22;
/// Deviation of ln EI inside the fades: riser and laminations together.
const INSIDE: f64 = 0.10;
/// Deviation of ln EI along the rest of a bow whose odd stretches are known, and of those.
const REST: f64 = 0.08;
const ODD: f64 = 0.5;
/// How far a fixed grip may let the pull pass it by, one σ, mm.
const PASS_BY_MM: f64 = 50.0;
/// σ at which a stretch is spoken of: ten stretches, one false naming in 200.
pub const SPOKEN: f64 = 3.5;
/// σ at which a distance contradicts the others: honest readings of limbs whose stretches are two thirds to one and a half times as stiff reach 3.5, half an inch
/// misread 8 or more where places stand 4 in apart.
pub const ODD_SIGMAS: f64 = 6.0;
/// ln of a factor beyond which an explanation is none: two and a half times as stiff.
const MAX_LN: f64 = 0.9;

impl ShownRows {
    fn of(&self, backs: &[BentBack; 2]) -> Vec<f64> {
        let back = |row: &BackRow| {
            let at = backs[row.side].at(row.s_mm);
            row.direction[0] * at.x_mm + row.direction[1] * at.y_mm
        };
        let bend = |stretch: &LimbCell| backs[stretch.side].curvature_per_mm(stretch.from_mm, stretch.to_mm);
        self.backs.iter().map(back).chain(self.bends.iter().map(bend)).collect()
    }
}

impl GapLayout {
    /// Of the model: distances, backs, curvatures.
    pub fn rows(&self) -> [usize; 3] {
        [2 * self.stations_mm.len(), self.shown.backs.len(), self.shown.bends.len()]
    }

    /// Whether the grip bears a moment that is not known.
    fn moves(&self) -> bool {
        self.fixed && self.bending.pivot_to_nock_mm.is_some()
    }
}

impl Model {
    /// `P` of all unknowns.
    fn prior(&self, cells: &[LimbCell]) -> Vec<Vec<f64>> {
        let n = cells.len();
        let mut prior = vec![vec![0.0; self.columns.len()]; self.columns.len()];
        for (i, a) in cells.iter().enumerate() {
            for (j, b) in cells.iter().enumerate().filter(|(_, b)| a.side == b.side) {
                prior[i][j] = ALONG * ALONG * memory(a, b) + WHOLE * WHOLE;
            }
        }
        for (k, row) in prior.iter_mut().enumerate().skip(n) {
            row[k] = if k < n + 2 { INSIDE * INSIDE } else { PASS_BY_MM * PASS_BY_MM };
        }
        prior
    }

    /// σ of the mean of `ln EI` from `from_mm` to `to_mm` of one limb against the bow's mean, if these layouts are read with these errors; `None` where
    /// numbers give out.
    pub fn sigma(&self, cells: &[LimbCell], errors: &ReadingErrors, stretch: (usize, f64, f64)) -> Option<f64> {
        let posterior = posterior(self.prior(cells), &self.white(errors))?;
        Some(spread(&posterior, &contrast(cells, &self.mean(), stretch)))
    }

    fn mean(&self) -> Vec<f64> {
        let whole: f64 = self.weight_fraction.iter().sum();
        self.weight_fraction.iter().map(|fraction| fraction / whole).collect()
    }

    /// The columns in units of the errors.
    fn white(&self, errors: &ReadingErrors) -> Vec<Vec<f64>> {
        self.columns.iter().map(|column| errors.whiten(column)).collect()
    }

    /// The rows of distances, of all.
    fn distances(&self) -> Vec<usize> {
        self.layout_rows().flat_map(|(_, first, [gaps, ..])| first..first + gaps).collect()
    }

    /// Each layout with its first row and how many it has of each kind.
    fn layout_rows(&self) -> impl Iterator<Item = (&GapLayout, usize, [usize; 3])> {
        self.layouts.iter().scan(0, |next, layout| {
            let (first, rows) = (*next, layout.rows());
            *next += rows.iter().sum::<usize>();
            Some((layout, first, rows))
        })
    }
}

/// `S` of all unknowns from `P`; columns in units of the errors.
fn posterior(prior: Vec<Vec<f64>>, white: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let mut sum = cholesky(&prior)?.inverse();
    add_pull(&mut sum, white);
    Some(cholesky(&sum)?.inverse())
}

/// `Jᵀ R⁻¹ y`, both in units of the errors.
fn drawn(white: &[Vec<f64>], y: &[f64]) -> Vec<f64> {
    white.iter().map(|column| dot(column, y)).collect()
}

/// Adds `Jᵀ R⁻¹ J`.
fn add_pull(to: &mut [Vec<f64>], white: &[Vec<f64>]) {
    for (i, a) in white.iter().enumerate() {
        for (j, b) in white.iter().enumerate() {
            to[i][j] += dot(a, b);
        }
    }
}

fn memory(a: &LimbCell, b: &LimbCell) -> f64 {
    (-0.5 * (a.from_mm + a.to_mm - b.from_mm - b.to_mm).abs() / MEMORY_MM).exp()
}

/// The mean over a stretch less the mean over the bow, as weights on the cells.
fn contrast(cells: &[LimbCell], mean: &[f64], (side, from, to): (usize, f64, f64)) -> Vec<f64> {
    let over = |cell: &LimbCell| if cell.side == side { (cell.to_mm.min(to) - cell.from_mm.max(from)).max(0.0) } else { 0.0 };
    let whole: f64 = cells.iter().map(over).sum();
    cells.iter().zip(mean).map(|(cell, mean)| over(cell) / whole.max(1e-9) - mean).collect()
}

/// σ of a sum with these weights.
fn spread(covariance: &[Vec<f64>], weights: &[f64]) -> f64 {
    covariance.iter().zip(weights).map(|(row, weight)| weight * dot(&row[..weights.len()], weights)).sum::<f64>().max(0.0).sqrt()
}

/// Fits one round: what was read, in the order of the model's rows, with its errors; rows that nobody read hold anything. `None` where
/// numbers give out.
pub fn fit(design: &PairDesign<'_>, model: &Model, read_mm: &[f64], errors: &ReadingErrors) -> Option<Fit> {
    let cells = design.cells();
    let n = cells.len();
    let white = model.white(errors);
    let posterior = posterior(model.prior(cells), &white)?;
    let columns = &model.columns;
    let along = |x: &[f64]| -> Vec<f64> {
        (0..read_mm.len()).map(|row| columns.iter().zip(x).map(|(column, x)| column[row] * x).sum()).collect()
    };
    let mut there = model.targets_mm.clone();
    // What the readings would be if the model were the straight line that touches it at `x`, less the targets.
    let mut linear: Vec<f64> = read_mm.iter().zip(&there).map(|(read, target)| read - target).collect();
    let mut x = vec![0.0; columns.len()];
    for _ in 0..MAX_ROUNDS {
        let pulled = drawn(&white, &errors.whiten(&linear));
        let next: Vec<f64> = posterior.iter().map(|row| dot(row, &pulled)).collect();
        let moved = next.iter().zip(&x).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        x = next;
        // Far from the design the model may have no answer; the straight line then has to do.
        let limited = design.limited(&x);
        let Ok((now, _)) = design.forward(&model.layouts, &limited, &model.solved) else { break };
        linear = read_mm.iter().zip(&now).zip(along(&limited)).map(|((read, there), along)| read - there + along).collect();
        there = now;
        if moved < ENOUGH {
            break;
        }
    }
    let left: Vec<f64> = read_mm.iter().zip(&there).map(|(read, there)| read - there).collect();
    let odd = odd(model, &white, &posterior, &left, &errors.whiten(&left));
    let bends = model.layout_rows().flat_map(|(layout, first, [gaps, backs, _])| {
        layout.shown.bends.iter().enumerate().map(move |(k, stretch)| (*stretch, first + gaps + backs + k))
    });
    let bends = bends
        .map(|(stretch, row)| {
            let weights: Vec<f64> = columns.iter().map(|column| column[row]).collect();
            let sigma_per_mm = spread(&posterior, &weights);
            StretchBend { stretch, designed_per_mm: model.targets_mm[row], is_per_mm: there[row], sigma_per_mm }
        })
        .collect();
    let linear = errors.whiten(&linear);
    let mean = model.mean();
    let searched = search(&white, cells, &linear)?;
    let (settled, work_prior, work_spread) = settle(model, cells, &white, &linear, &searched)?;
    let ln: Vec<f64> = settled[..n].iter().map(|x| ln_of(limited(*x))).collect();
    let level = dot(&mean, &ln);
    let off_mm = model
        .distances()
        .into_iter()
        .map(|row| {
            let weights: Vec<f64> = columns[..n + 2].iter().map(|column| column[row]).collect();
            Estimate { value: dot(&weights, &x[..n + 2]), sigma: spread(&posterior, &weights) }
        })
        .collect();
    let mut pull = vec![vec![0.0; n + 2]; n + 2];
    add_pull(&mut pull, &white[..n + 2]);
    let aim = pull[..n].iter().map(|row| dot(row, &x[..n + 2])).collect();
    Some(Fit {
        cells: cells.to_vec(),
        relative: ln.iter().map(|ln| ln - level).collect(),
        compliance: settled[..n].iter().map(|x| 1.0 - limited(*x)).collect(),
        covariance: posterior.iter().take(n).map(|row| row[..n].to_vec()).collect(),
        mean,
        stretches: searched.stretches,
        unclear: searched.unclear,
        odd,
        weak_chance: searched.weak_chance,
        off_mm,
        bends,
        left,
        pull: pull.into_iter().take(n).map(|row| row[..n].to_vec()).collect(),
        prior: work_prior,
        work_spread,
        aim,
        estimate: x,
    })
}

/// The distance that is told worst by all others, where that is beyond [`ODD_SIGMAS`]; columns and `off` in units of the errors.
fn odd(model: &Model, white: &[Vec<f64>], posterior: &[Vec<f64>], left_mm: &[f64], off: &[f64]) -> Option<OddReading> {
    let places = model.layout_rows().enumerate().flat_map(|(layout, (_, first, [gaps, ..]))| {
        (0..gaps).map(move |k| (first + k, OddReading { layout, station: k / 2, side: k % 2, off_mm: Estimate::default() }))
    });
    let found = places.filter(|(row, _)| 0.0 < off[*row].abs()).filter_map(|(row, place)| {
        let own: Vec<f64> = white.iter().map(|column| column[row]).collect();
        // Part of the reading's own weight in what the fit has there.
        let rest = 1.0 - spread(posterior, &own).powi(2);
        let sigmas = off[row].abs() / rest.sqrt();
        let one_mm = left_mm[row].abs() / off[row].abs();
        let off_mm = Estimate { value: left_mm[row] / rest, sigma: one_mm / rest.sqrt() };
        (ODD_SIGMAS < sigmas).then_some((sigmas, OddReading { off_mm, ..place }))
    });
    found.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, odd)| odd)
}

/// The bow with what the search named taken as odd, and all else as nearly even: `x̂`, `P⁻¹` of the cells and each cell's σ. What comes off is
/// planned on it: the prior of the fit would leave the rest so rough that a plan skips from cell to cell. What is unclear counts as even: to
/// take the best of several explanations for the true one makes a hinge of sound wood.
#[allow(clippy::type_complexity)] // three plain results, taken apart where they are used
fn settle(
    model: &Model,
    cells: &[LimbCell],
    white: &[Vec<f64>],
    linear: &[f64],
    searched: &Searched,
) -> Option<(Vec<f64>, Vec<Vec<f64>>, Vec<f64>)> {
    let n = cells.len();
    let mut prior = model.prior(cells);
    for (i, a) in cells.iter().enumerate() {
        for (j, b) in cells.iter().enumerate().filter(|(_, b)| a.side == b.side) {
            prior[i][j] -= (ALONG * ALONG - REST * REST) * memory(a, b);
        }
    }
    for odd in &searched.stretches {
        let on = |cell: &LimbCell| cell.side == odd.side && odd.from_mm - 1.0 < cell.from_mm && cell.to_mm < odd.to_mm + 1.0;
        for i in (0..n).filter(|i| on(&cells[*i])) {
            for j in (0..n).filter(|j| on(&cells[*j])) {
                prior[i][j] += ODD * ODD;
            }
        }
    }
    let own: Vec<Vec<f64>> = prior.iter().take(n).map(|row| row[..n].to_vec()).collect();
    let posterior = posterior(prior, white)?;
    let drawn = drawn(white, linear);
    let mean = model.mean();
    let spreads = cells.iter().map(|cell| spread(&posterior, &contrast(cells, &mean, (cell.side, cell.from_mm, cell.to_mm))));
    let spreads = spreads.collect();
    Some((posterior.iter().map(|row| dot(row, &drawn)).collect(), cholesky(&own)?.inverse(), spreads))
}

/// ln of the factor on stiffness, infinite where nothing gives.
fn ln_of(x: f64) -> f64 {
    -(1.0 - x).max(0.0).ln()
}

/// Kept where a factor makes sense.
fn limited(x: f64) -> f64 {
    x.clamp(1.0 - MAX_LN.exp(), 1.0 - (-MAX_LN).exp())
}

/// Rounds of the fit and the change in stiffness at which it is done: a tenth of a percent is less than any reading tells.
const MAX_ROUNDS: usize = 8;
const ENOUGH: f64 = 1e-3;

impl Fit {
    /// σ of the mean of `ln EI` over a stretch against the bow's mean, nothing being known of the others.
    pub fn sigma(&self, side: usize, from_mm: f64, to_mm: f64) -> f64 {
        spread(&self.covariance, &contrast(&self.cells, &self.mean, (side, from_mm, to_mm)))
    }

    /// Mean of `ln EI` of the upper limb less the lower's, each cell weighing as in the draw weight.
    pub fn upper_less_lower(&self) -> Estimate {
        let whole =
            |side: usize| self.cells.iter().zip(&self.mean).filter(|(cell, _)| cell.side == side).map(|(_, mean)| mean).sum();
        let whole: [f64; 2] = [whole(UPPER), whole(LOWER)];
        let sign = |cell: &LimbCell| if cell.side == UPPER { 1.0 } else { -1.0 };
        let weights: Vec<f64> =
            self.cells.iter().zip(&self.mean).map(|(cell, mean)| sign(cell) * mean / whole[cell.side]).collect();
        Estimate { value: dot(&weights, &self.relative), sigma: spread(&self.covariance, &weights) }
    }
}
