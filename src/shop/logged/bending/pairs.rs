//! Strips that were bent: which two go into one lamination, and which lamination they go into.
//!
//! The two halves of a lamination are one limb each, so that they shall be alike: pairs are made so that the squares of their
//! differences (in the logarithm of the modulus) are least. Closest partners stand side by side in the order of stiffness, so that
//! an exact choice walks that order once. The stiffer a pair, the nearer the back it goes. Common practice, no source.
//!
//! A lamination with no more strips than it takes has them as the log says. One with more is a pile, and all laminations of that
//! wood choose from all its strips.

use crate::mechanics::strip_test;
use crate::model::Build;
use crate::model::lamination::Pieces;

/// A strip as tested.
#[derive(Debug, Clone, PartialEq)]
pub struct TestedStrip {
    /// The lamination it was logged for, an index.
    pub lamination: usize,
    /// Empty where the log gives it no name.
    pub name: String,
    pub known: strip_test::TestedModulus,
}

/// Strips that go into a lamination, indices into the strips tested; the stiffer one first.
#[derive(Debug, Clone, PartialEq)]
pub struct ChosenStrips {
    pub lamination: usize,
    pub strips: Vec<usize>,
    /// ChosenStrips from a pile, not by the log.
    pub from_pile: bool,
}

/// How many strips a lamination is made of.
pub fn takes(build: &Build, lamination: usize) -> usize {
    match build.laminations[lamination].pieces {
        Pieces::Full => 1,
        Pieces::Halves => 2,
    }
}

/// Which strips go where, in the order of the laminations; what no lamination needs is in none.
pub fn choose(build: &Build, strips: &[TestedStrip]) -> Vec<ChosenStrips> {
    let logged = |lamination: usize| (0..strips.len()).filter(move |k| strips[*k].lamination == lamination).collect::<Vec<_>>();
    // Strips that are ground, or spliced of two woods, fit their own lamination alone.
    let exchange = |a: usize, b: usize| {
        let [one, other] = [a, b].map(|index| &build.laminations[index]);
        let whole = [one, other].iter().all(|lamination| !lamination.ground && lamination.outer().is_none());
        a == b || (one.wood.name == other.wood.name && whole)
    };
    let mut chosen: Vec<ChosenStrips> = Vec::new();
    let all = 0..build.laminations.len();
    for lamination in all.clone() {
        let group: Vec<usize> = all.clone().filter(|other| exchange(lamination, *other)).collect();
        if !group.iter().any(|other| takes(build, *other) < logged(*other).len()) {
            if !logged(lamination).is_empty() {
                chosen.push(ChosenStrips { lamination, strips: stiffest_first(strips, logged(lamination)), from_pile: false });
            }
        } else if group[0] == lamination {
            let pile = stiffest_first(strips, group.iter().flat_map(|other| logged(*other)).collect());
            chosen.extend(from_pile(build, strips, pile, &group));
        }
    }
    chosen.sort_by_key(|chosen| chosen.lamination);
    chosen
}

fn stiffest_first(strips: &[TestedStrip], mut which: Vec<usize>) -> Vec<usize> {
    which.sort_by(|a, b| strips[*b].known.modulus_mpa.total_cmp(&strips[*a].known.modulus_mpa));
    which
}

/// Laminations of one wood, back first, served from its strips, stiffest first.
fn from_pile(build: &Build, strips: &[TestedStrip], mut left: Vec<usize>, laminations: &[usize]) -> Vec<ChosenStrips> {
    let (pairs, singles): (Vec<usize>, Vec<usize>) = laminations.iter().partition(|lamination| takes(build, **lamination) == 2);
    let first_pair = pairs.first().copied().unwrap_or(usize::MAX);
    // A single strip nearer the back than any pair is chosen before them.
    let (nearer, farther): (Vec<usize>, Vec<usize>) = singles.into_iter().partition(|lamination| *lamination < first_pair);
    let of = |lamination: usize, strips: Vec<usize>| ChosenStrips { lamination, strips, from_pile: true };
    let count = nearer.len().min(left.len());
    let mut chosen: Vec<ChosenStrips> = nearer.iter().zip(left.drain(..count)).map(|(l, strip)| of(*l, vec![strip])).collect();
    let logs: Vec<f64> = left.iter().map(|k| strips[*k].known.modulus_mpa.ln()).collect();
    let closest = closest_pairs(&logs, pairs.len().min(left.len() / 2));
    chosen.extend(pairs.iter().zip(&closest).map(|(l, at)| of(*l, vec![left[*at], left[at + 1]])));
    let unpaired = (0..left.len()).filter(|k| !closest.iter().any(|at| *at == *k || at + 1 == *k)).map(|k| left[k]);
    chosen.extend(farther.iter().zip(unpaired).map(|(l, strip)| of(*l, vec![strip])));
    chosen
}

/// First members of `count` pairs of neighbours in a list that falls, whose squared differences are least in all.
fn closest_pairs(falling: &[f64], count: usize) -> Vec<usize> {
    // least[n][p]: of the first n, with p pairs; the last of them paired or not.
    let n = falling.len();
    let mut min = vec![vec![f64::INFINITY; count + 1]; n + 1];
    let mut paired = vec![vec![false; count + 1]; n + 1];
    min[0][0] = 0.0;
    for k in 1..=n {
        for p in 0..=count {
            min[k][p] = min[k - 1][p];
            if 2 <= k && 1 <= p {
                let with = min[k - 2][p - 1] + (falling[k - 2] - falling[k - 1]).powi(2);
                if with < min[k][p] {
                    (min[k][p], paired[k][p]) = (with, true);
                }
            }
        }
    }
    let (mut pairs, mut k, mut p) = (Vec::new(), n, count);
    while 0 < k {
        if paired[k][p] {
            pairs.push(k - 2);
            (k, p) = (k - 2, p - 1);
        } else {
            k -= 1;
        }
    }
    pairs.reverse();
    pairs
}

#[cfg(test)]
mod tests {
    use super::closest_pairs;

    /// Against every choice of pairs there is.
    #[test]
    fn no_other_pairs_are_closer() {
        fn best(left: &[f64], count: usize) -> f64 {
            if count == 0 {
                return 0.0;
            }
            let mut min = f64::INFINITY;
            for i in 0..left.len() {
                for j in i + 1..left.len() {
                    let rest: Vec<f64> = left.iter().enumerate().filter(|(k, _)| *k != i && *k != j).map(|(_, v)| *v).collect();
                    min = min.min((left[i] - left[j]).powi(2) + best(&rest, count - 1));
                }
            }
            min
        }
        let mut seed = 7_u64;
        for round in 0..40 {
            let mut values: Vec<f64> = (0..6)
                .map(|_| {
                    seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                    (seed >> 11) as f64 / (1_u64 << 53) as f64
                })
                .collect();
            values.sort_by(|a, b| b.total_cmp(a));
            let count = 1 + round % 3;
            let pairs = closest_pairs(&values, count);
            assert_eq!(pairs.len(), count);
            let sum: f64 = pairs.iter().map(|k| (values[*k] - values[k + 1]).powi(2)).sum();
            assert!((sum - best(&values, count)).abs() < 1e-12, "{values:?} {pairs:?}");
        }
    }
}
