//! Which stretches of a limb stand out of an even bow?
//!
//! **What is spoken of** are single stretches. Each stretch of cells `w` of one limb, with one unknown factor, is held against the
//! bow as drawn whose wood wanders by 0.02 only; `g = (bᵀw)² / wᵀNw` is how many squares of error it explains, and its factor has
//! the σ `1/√(wᵀNw)`. The stretch that explains most is named if `√g` is at least 3.5 (intervals simultaneous over all stretches) and if every stretch that
//! explains nearly as much (5 less: 2.2 σ) lies on it, on the same limb, with the same sign. Then the next one, with the first taken out. What explains enough and is not alone is *unclear*:
//! another reading is asked for.
//!
//! Its length is told worse than its effect: a short stretch that is far off bends the limb as a longer one that is less so. The factor is therefore said for all
//! places and lengths together: every stretch that overlaps the best one, with every factor that explains all but 3.5² squares of what the best one does
//! (the profile of the likelihood).
//!
//! Source: generalised likelihood ratio, any text on statistics; bounds are ours.

use super::{INSIDE, LimbCell, PASS_BY_MM, SPOKEN, Stretch, WHOLE, limited, ln_of, memory};
use crate::numeric::estimate::Estimate;
use crate::numeric::linear::{cholesky, dot};
use crate::numeric::span::Span;

/// Deviation of ln EI along wood that has no fault: one board's, with thickness as ground.
const EVEN: f64 = 0.02;
/// Squares of error that a rival explanation may lack: 2.2 σ. With 9 one fault of five σ in seven is given no place.
const RIVAL: f64 = 5.0;
/// A stretch is no shorter, mm: readings tell nothing finer.
const SHORTEST_MM: f64 = 50.0;
/// Stretches spoken of at once.
const MAX_STRETCHES: usize = 4;

/// What stands out.
pub(super) struct Searched {
    pub stretches: Vec<Stretch>,
    pub unclear: Option<Stretch>,
    pub weak_chance: Vec<f64>,
}

/// A stretch that explains most, with what explains nearly as much.
#[derive(Debug, Clone, Copy)]
struct NamedOdd {
    held: HeldOdd,
    /// Cells that its rivals reach over.
    reach: [usize; 2],
    /// `x` of all stretches and factors that explain all but [`SPOKEN`]² squares of it.
    gives: Span,
}

/// A stretch of cells held against the readings.
#[derive(Debug, Clone, Copy)]
struct HeldOdd {
    from: usize,
    to: usize,
    /// `x`, and one σ of it.
    give: f64,
    sigma: f64,
    /// Squares of error explained.
    explains: f64,
}

/// Looks for stretches that stand out of an even bow; columns and readings in units of the errors of reading.
pub(super) fn search(columns: &[Vec<f64>], cells: &[LimbCell], linear: &[f64]) -> Option<Searched> {
    let n = cells.len();
    // Errors of the readings of an even bow: of reading, of wood that wanders, of the scale, of what is not known beside the limbs.
    let wander: Vec<Vec<f64>> = (0..n)
        .map(|i| {
            let mut sum = vec![0.0; linear.len()];
            for j in (0..n).filter(|j| cells[*j].side == cells[i].side) {
                let fraction = EVEN * EVEN * memory(&cells[i], &cells[j]);
                sum.iter_mut().zip(&columns[j]).for_each(|(sum, a)| *sum += fraction * a);
            }
            sum
        })
        .collect();
    let scale: Vec<f64> = (0..linear.len()).map(|row| columns[..n].iter().map(|column| column[row]).sum()).collect();
    let errors: Vec<Vec<f64>> = (0..linear.len())
        .map(|r| {
            let row = (0..linear.len()).map(|c| {
                let own = if r == c { 1.0 } else { 0.0 };
                let wood: f64 = (0..n).map(|i| columns[i][r] * wander[i][c]).sum();
                let beside: f64 = columns[n..]
                    .iter()
                    .enumerate()
                    .map(|(k, column)| if k < 2 { INSIDE * INSIDE } else { PASS_BY_MM * PASS_BY_MM } * column[r] * column[c])
                    .sum();
                own + wood + beside + WHOLE * WHOLE * scale[r] * scale[c]
            });
            row.collect()
        })
        .collect();
    let errors = cholesky(&errors)?;
    let weighed: Vec<Vec<f64>> = columns[..n].iter().map(|column| errors.solve(column)).collect();
    let whole: Vec<Vec<f64>> = weighed.iter().map(|a| columns[..n].iter().map(|b| dot(a, b)).collect()).collect();
    let pulls: Vec<f64> = weighed.iter().map(|a| dot(a, linear)).collect();

    let first = held(cells, &whole, &pulls);
    let weak_chance = weak_chance(n, &first);
    let (mut rest, mut left) = (whole.clone(), pulls.clone());
    let mut named: Vec<NamedOdd> = Vec::new();
    let mut unclear = None;
    while named.len() < MAX_STRETCHES {
        let all = held(cells, &rest, &left);
        let apart = |held: &&HeldOdd| named.iter().all(|other| !held.meets(&other.held));
        let Some(best) = all.iter().filter(apart).max_by(|a, b| a.explains.total_cmp(&b.explains)).copied() else { break };
        if best.explains < SPOKEN * SPOKEN {
            break;
        }
        let rivals: Vec<&HeldOdd> = all.iter().filter(|held| best.explains - RIVAL <= held.explains).collect();
        if !rivals.iter().all(|held| held.is_like(&best)) {
            unclear = Some(NamedOdd { held: best, reach: [best.from, best.to], gives: best.gives(SPOKEN) });
            break;
        }
        let gives = all.iter().filter(|held| held.is_like(&best)).filter_map(|held| {
            let spare = SPOKEN * SPOKEN - (best.explains - held.explains);
            (0.0 <= spare).then(|| held.gives(spare.sqrt()))
        });
        let gives = Span::over(gives.flat_map(Span::pair)).unwrap_or(best.gives(SPOKEN));
        let reach = rivals.iter().fold([best.from, best.to], |[from, to], held| [from.min(held.from), to.max(held.to)]);
        // Whatever this stretch's factor is, it no longer counts.
        let on = |matrix: &[Vec<f64>], row: usize| matrix[row][best.from..best.to].iter().sum::<f64>();
        let through: Vec<f64> = (0..n).map(|row| on(&rest, row)).collect();
        let own: f64 = through[best.from..best.to].iter().sum();
        let pulled: f64 = left[best.from..best.to].iter().sum();
        for (i, row) in rest.iter_mut().enumerate() {
            row.iter_mut().zip(&through).for_each(|(value, other)| *value -= through[i] * other / own);
            left[i] -= through[i] * pulled / own;
        }
        named.push(NamedOdd { held: best, reach, gives });
    }
    let joint = joint(&whole, &pulls, &named)?;
    let stretch = |NamedOdd { held, reach, gives }: &NamedOdd, told: Estimate| {
        let by = told.value - held.give;
        Stretch {
            side: cells[held.from].side,
            from_mm: cells[held.from].from_mm,
            to_mm: cells[held.to - 1].to_mm,
            within_mm: Span { min: cells[reach[0]].from_mm, max: cells[reach[1] - 1].to_mm },
            ln_factor: ln_of(told.value),
            sigma: told.sigma / (1.0 - told.value),
            ln_within: Span { min: gives.min + by, max: gives.max + by }.map(ln_of),
        }
    };
    Some(Searched {
        stretches: named.iter().zip(&joint).map(|(named, told)| stretch(named, *told)).collect(),
        unclear: unclear.map(|found| stretch(&found, Estimate { value: found.held.give, sigma: found.held.sigma })),
        weak_chance,
    })
}

impl HeldOdd {
    fn meets(&self, other: &HeldOdd) -> bool {
        self.from < other.to && other.from < self.to
    }

    /// Both are of one place, and both stiff or both weak.
    fn is_like(&self, other: &HeldOdd) -> bool {
        self.meets(other) && 0.0 < self.give * other.give
    }

    /// `x` within so many σ.
    fn gives(&self, sigmas: f64) -> Span {
        Span::about(self.give, sigmas * self.sigma)
    }
}

/// Every stretch of cells of one limb with the factor that explains most.
fn held(cells: &[LimbCell], matrix: &[Vec<f64>], pulls: &[f64]) -> Vec<HeldOdd> {
    let mut all = Vec::new();
    for from in 0..cells.len() {
        let (mut own, mut pull) = (0.0, 0.0);
        for to in from + 1..=cells.len() {
            let last = to - 1;
            if cells[last].side != cells[from].side {
                break;
            }
            own += matrix[last][last] + 2.0 * matrix[last][from..last].iter().sum::<f64>();
            pull += pulls[last];
            let x = pull / own;
            if SHORTEST_MM <= cells[last].to_mm - cells[from].from_mm && 1e-9 < own && (limited(x) - x).abs() <= 0.0 {
                all.push(HeldOdd { from, to, give: x, sigma: own.sqrt().recip(), explains: x * pull });
            }
        }
    }
    all
}

/// Each stretch counts as it explains the readings, `exp(g/2)`.
fn weak_chance(n: usize, all: &[HeldOdd]) -> Vec<f64> {
    let most = all.iter().map(|held| held.explains).fold(0.0, f64::max);
    let mut chance = vec![0.0; n];
    let mut whole = 0.0;
    for held in all {
        let counts = (0.5 * (held.explains - most)).exp();
        whole += counts;
        if held.give < 0.0 {
            chance[held.from..held.to].iter_mut().for_each(|chance| *chance += counts);
        }
    }
    chance.into_iter().map(|chance| if 0.0 < whole { chance / whole } else { 0.0 }).collect()
}

/// `x` of all named stretches fitted together, with their σ.
fn joint(whole: &[Vec<f64>], pulls: &[f64], named: &[NamedOdd]) -> Option<Vec<Estimate>> {
    let named: Vec<&HeldOdd> = named.iter().map(|named| &named.held).collect();
    let between =
        |a: &HeldOdd, b: &HeldOdd| -> f64 { (a.from..a.to).map(|row| whole[row][b.from..b.to].iter().sum::<f64>()).sum() };
    let matrix: Vec<Vec<f64>> = named.iter().map(|a| named.iter().map(|b| between(a, b)).collect()).collect();
    let right: Vec<f64> = named.iter().map(|held| pulls[held.from..held.to].iter().sum()).collect();
    let covariance = cholesky(&matrix)?.inverse();
    let found = covariance.iter().enumerate();
    Some(found.map(|(k, row)| Estimate { value: limited(dot(row, &right)), sigma: row[k].sqrt() }).collect())
}
