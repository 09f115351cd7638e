//! What comes off where, so that the tiller comes even: a plan from what a round of readings tells ([`crate::mechanics::tiller_fit`]).
//!
//! Wood only comes off. With `x̂` as fitted and `r ≥ 0` what is taken from it, the distances left over and the weight
//! that it costs are weighed against each other:
//!
//! ```text
//!   ½ (x̂ − r)ᵀ Jᵀ R⁻¹ J (x̂ − r) + ½ ρ rᵀ P⁻¹ r + λ wᵀ r        least, over the cells that may be touched
//! ```
//!
//! `P` keeps the cut as smooth as wood is, `w` is each cell's share in the draw weight. Where two places explain the readings alike, both lose a little, and
//! the distances come right all the same. A cell may be touched if it is not told to be weaker than the bow's mean (by half a σ), lies in no stretch that is
//! said to bend too much, and is most unlikely (one in five hundred) to lie in one that has not been found yet. Nor may it be one that may well
//! have bent too much in an earlier round ([`bends_too_much`]): while wood comes off elsewhere a weak place shows less and less, but it is the last that
//! can spare any. A round costs no more than a tenth of the weight, and never more than is left above the weight wanted.
//!
//! Source: derived here; the shares are ours, tried on the simulated builder of `tests/tiller_round_trip.rs`.

use super::blank::{BELLY_STAYS, SIDES_STAY, WoodLever, lever};
use crate::mechanics::section::Stack;
use crate::mechanics::tiller_fit::{Fit, LimbCell};
use crate::model::Build;
use crate::numeric::linear::{dot, min_not_negative};
use crate::numeric::root::bisect;

/// Wood to take off one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cut {
    pub cell: LimbCell,
    /// ln of stiffness that goes.
    pub ln_stiffness: f64,
    /// Off the belly, or off each edge, mm.
    pub take_mm: f64,
}

/// One round of work.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundWork {
    /// Cells that lose wood; empty where nothing has to, or may.
    pub cuts: Vec<Cut>,
    pub lever: [WoodLever; 2],
    /// Share of the draw weight that it costs.
    pub costs: f64,
    /// All that would even the tiller costs this share; more than `costs` where a round must not take so much.
    pub all_costs: f64,
}

/// Deviation from the wanted distances up to which a tiller counts as even, mm: with it every true distance lies within a sixteenth of an inch.
/// Less sends builders after their own reading errors.
pub const EVEN_MM: f64 = 1.2;
/// The same in σ of the fitted distance, where readings are coarse.
const EVEN_SIGMAS: f64 = 3.0;
/// ρ and λ.
const SMOOTH: f64 = 0.3;
const SPARE: f64 = 30.0;
/// A cell is touched if its stiffness lies over the mean by so many σ, and the chance that it is weak is less than this.
const STIFFER_SIGMAS: f64 = -0.5;
const WEAK_CHANCE: f64 = 0.002;
/// The chance from which a cell is remembered as weak.
const REMEMBERED_CHANCE: f64 = 0.1;
/// The most that a round costs, as a share of the weight.
pub const MAX_ROUND: f64 = 0.10;
/// A round that costs less is none, as a share of the weight: another reading tells more than a stroke.
const MIN_ROUND: f64 = 0.001;
/// They bring a belly's thickness below a nanometre.
const HALVINGS: u32 = 30;
/// Less stiffness than this is no work: a stroke takes more.
const MIN_LN: f64 = 0.01;

/// Whether distances differ from the wanted ones by more than reading does.
pub fn uneven(fit: &Fit) -> bool {
    fit.off_mm.iter().any(|off| EVEN_MM.max(EVEN_SIGMAS * off.sigma) < off.value.abs())
}

/// Whether a cell lies in a stretch that is said to bend too much.
fn named_weak(fit: &Fit, cell: &LimbCell) -> bool {
    let mut weak = fit.stretches.iter().filter(|stretch| stretch.ln_factor < 0.0);
    weak.any(|stretch| cell.meets(stretch.side, stretch.from_mm, stretch.to_mm))
}

/// Cells that bend too much, or may well do: later rounds leave them alone.
pub fn bends_too_much(fit: &Fit) -> impl Iterator<Item = LimbCell> {
    let told = fit.cells.iter().zip(&fit.weak_chance);
    told.filter(|(cell, chance)| REMEMBERED_CHANCE <= **chance || named_weak(fit, cell)).map(|(cell, _)| *cell)
}

/// The work of a round that costs at most `max` of the weight; `builds` are the upper and the lower limb's, `weak_before` what bent too much
/// in earlier rounds.
pub fn work(builds: [&Build; 2], fit: &Fit, weak_before: &[LimbCell], weight_fraction: &[f64], max: f64) -> RoundWork {
    let remembered = |cell: &LimbCell| weak_before.iter().any(|weak| cell.meets(weak.side, weak.from_mm, weak.to_mm));
    let free: Vec<bool> = fit
        .cells
        .iter()
        .enumerate()
        .map(|(k, cell)| {
            let stiff = STIFFER_SIGMAS * fit.work_spread[k] < fit.relative[k];
            stiff && fit.weak_chance[k] < WEAK_CHANCE && !named_weak(fit, cell) && !remembered(cell)
        })
        .collect();
    let matrix: Vec<Vec<f64>> =
        fit.pull.iter().zip(&fit.prior).map(|(a, p)| a.iter().zip(p).map(|(a, p)| a + SMOOTH * p).collect()).collect();
    let whole: f64 = weight_fraction.iter().sum();
    let right: Vec<f64> = fit.aim.iter().zip(weight_fraction).map(|(aim, fraction)| aim - SPARE * fraction / whole).collect();
    // What goes is reckoned in the compliance that it adds, and taken as a logarithm of stiffness.
    let added = min_not_negative(&matrix, &right, &free);
    let all: Vec<f64> = added.iter().zip(&fit.compliance).map(|(added, has)| (added / has).ln_1p()).collect();
    let all_costs = dot(weight_fraction, &all);
    let part = if max.min(MAX_ROUND) < all_costs { (max.min(MAX_ROUND) / all_costs).max(0.0) } else { 1.0 };
    let levers = builds.map(lever);
    let wanted = all.iter().map(|all| part * all).enumerate().filter(|(_, ln)| MIN_ROUND <= part * all_costs && MIN_LN < *ln);
    let taken: Vec<(usize, Cut)> =
        wanted.map(|(k, ln)| (k, cut(builds[fit.cells[k].side], levers[fit.cells[k].side], fit.cells[k], ln))).collect();
    let costs = taken.iter().map(|(k, cut)| cut.ln_stiffness * weight_fraction[*k]).sum();
    RoundWork { cuts: taken.into_iter().map(|(_, cut)| cut).collect(), lever: levers, costs, all_costs }
}

/// What is taken off the belly, or off each edge, for this logarithm of stiffness in the middle of a cell: as much as may come off in one
/// round, and what that takes.
fn cut(build: &Build, lever: WoodLever, cell: LimbCell, ln: f64) -> Cut {
    let s = 0.5 * (cell.from_mm + cell.to_mm);
    let (take_mm, ln_stiffness) = match lever {
        WoodLever::Sides => {
            let width = build.outline.as_ref().map_or(0.0, |outline| outline.width_at(s));
            let goes = (1.0 - (-ln).exp()).min(1.0 - SIDES_STAY);
            (0.5 * width * goes, -(-goes).ln_1p())
        }
        WoodLever::Belly { lamination } => match Stack::of(build) {
            Ok(stack) => {
                let thick = build.laminations[lamination].thickness_at(s);
                let whole = stack.scraped(s, 0.0).stiffness_n_mm2;
                // Stiffness of the stack with so much off its belly: it only falls.
                let left = |off: f64| (stack.scraped(s, off).stiffness_n_mm2 / whole).ln();
                let off = bisect(|off| -ln < left(off), 0.0, (1.0 - BELLY_STAYS) * thick, HALVINGS).fails;
                (off, -left(off))
            }
            Err(_) => (0.0, 0.0),
        },
    };
    Cut { cell, ln_stiffness, take_mm }
}
