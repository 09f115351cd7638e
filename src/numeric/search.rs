//! A sum made up from pieces of given whole-number sizes: the fewest pieces that come close enough to a target.
//!
//! A dynamic program over all sums from 0 to a little beyond the target. For each size in turn, the fewest pieces for sum `s`
//! are the least of `old(s − k·size) + k` over the `k` pieces on hand; within one remainder class of `size` that is the least
//! over a sliding window, kept in a queue, so that each sum costs a constant whatever the counts are.
//!
//! Every sum is a multiple of the sizes' common divisor `g`, so only those are worked through: `((target + reach)/g + 1) × sizes` cells of
//! work and memory, with `reach` the greater of the slack and the greatest size. No sum further beyond the target can be closest: taking one
//! piece away from it would be closer.
//! The result is exact: no sum within the slack has fewer pieces.
//!
//! Source: the bounded knapsack recursion is textbook matter; written from memory.

use std::collections::VecDeque;

/// A size that pieces come in, in whole units, and how many there are; `None` for as many as one likes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Size {
    pub units: u32,
    pub count: Option<u32>,
}

/// Pieces taken of each size, and their sum in units.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MadeUp {
    pub taken: Vec<u32>,
    pub sum: u32,
}

/// Cells that [`closest_sum`] works through for these arguments.
pub fn cells(target: u32, slack: u32, sizes: &[Size]) -> u64 {
    (u64::from(last_sum(target, slack, sizes) / common_divisor(sizes)) + 1) * sizes.len() as u64
}

/// The fewest pieces whose sum lies within `slack` of `target`; among those the least error, then the lesser sum.
///
/// If no sum lies within the slack, the closest sum there is, with the fewest pieces for it.
///
/// ```
/// use taperwright::numeric::search::{closest_sum, Size};
/// // 50 + 50 is two pieces where the greedy 90 + 4 + 4 + 2 is four.
/// let sizes = [90, 50, 4, 2].map(|units| Size { units, count: None });
/// assert_eq!(closest_sum(100, 0, &sizes).taken, [0, 2, 0, 0]);
/// ```
pub fn closest_sum(target: u32, slack: u32, sizes: &[Size]) -> MadeUp {
    let unit = common_divisor(sizes);
    let mut fewest = vec![NONE; (last_sum(target, slack, sizes) / unit) as usize + 1];
    fewest[0] = 0;
    // How many of each size the best way to each sum takes, by which the pieces are found again from the end.
    let mut taken_by_sum = Vec::with_capacity(sizes.len());
    for size in sizes {
        let (next, taken) = with_size(&fewest, (size.units / unit) as usize, size.count);
        fewest = next;
        taken_by_sum.push(taken);
    }
    let multiple = best_sum(&fewest, unit, target, slack);
    let mut left = multiple;
    let mut taken = vec![0; sizes.len()];
    for (i, size) in sizes.iter().enumerate().rev() {
        taken[i] = taken_by_sum[i][left];
        left -= taken[i] as usize * (size.units / unit) as usize;
    }
    MadeUp { taken, sum: multiple as u32 * unit }
}

/// Stands for a sum that cannot be made; far from overflow when pieces are added to it.
const NONE: i64 = i64::MAX / 4;

/// What all sizes are multiples of; 1 where there is none.
fn common_divisor(sizes: &[Size]) -> u32 {
    let divisor = sizes.iter().fold(0, |divisor, size| {
        let (mut a, mut b) = (divisor, size.units);
        while b != 0 {
            (a, b) = (b, a % b);
        }
        a
    });
    divisor.max(1)
}

fn last_sum(target: u32, slack: u32, sizes: &[Size]) -> u32 {
    let greatest = sizes.iter().map(|size| size.units).max().unwrap_or(0);
    target.saturating_add(slack.max(greatest))
}

/// The fewest pieces for each sum once `count` pieces of size `step` may be used too, and how many of them they hold.
fn with_size(fewest: &[i64], step: usize, count: Option<u32>) -> (Vec<i64>, Vec<u32>) {
    let mut next = fewest.to_vec();
    let mut taken = vec![0; fewest.len()];
    let max = count.unwrap_or(u32::MAX);
    if step == 0 || max == 0 {
        return (next, taken);
    }
    for remainder in 0..step.min(fewest.len()) {
        // Holds (index in the class, pieces less index), increasing in both; the front is the least of the window.
        let mut window: VecDeque<(usize, i64)> = VecDeque::new();
        for (index, sum) in (remainder..fewest.len()).step_by(step).enumerate() {
            let here = fewest[sum] - index as i64;
            // A later entry that is as good takes fewer pieces of this size: it replaces the earlier one.
            while window.back().is_some_and(|(_, value)| here <= *value) {
                window.pop_back();
            }
            window.push_back((index, here));
            while window.front().is_some_and(|(first, _)| (max as usize) < index - first) {
                window.pop_front();
            }
            if let Some((first, value)) = window.front() {
                let pieces = value + index as i64;
                if pieces < next[sum] && pieces < NONE / 2 {
                    next[sum] = pieces;
                    taken[sum] = (index - first) as u32;
                }
            }
        }
    }
    (next, taken)
}

/// Index of the best sum, of which `fewest` holds every multiple of `unit`.
fn best_sum(fewest: &[i64], unit: u32, target: u32, slack: u32) -> usize {
    let error = |multiple: usize| (multiple as u32 * unit).abs_diff(target);
    let reachable = || (0..fewest.len()).filter(|multiple| fewest[*multiple] < NONE / 2);
    let within = reachable().filter(|multiple| error(*multiple) <= slack);
    let by_pieces = within.min_by_key(|multiple| (fewest[*multiple], error(*multiple), *multiple));
    by_pieces.or_else(|| reachable().min_by_key(|multiple| (error(*multiple), fewest[*multiple], *multiple))).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every choice of pieces, one by one: pieces, error, sum of the best.
    fn brute_force(target: u32, slack: u32, sizes: &[(u32, u32)]) -> (u32, u32) {
        let mut choices = vec![(0u32, 0u32)];
        for (units, count) in sizes {
            choices = choices.iter().flat_map(|(n, sum)| (0..=*count).map(move |k| (n + k, sum + k * units))).collect();
        }
        let within = choices.iter().filter(|(_, sum)| sum.abs_diff(target) <= slack);
        let best = within.min_by_key(|(n, sum)| (*n, sum.abs_diff(target), *sum));
        *best.or_else(|| choices.iter().min_by_key(|(n, sum)| (sum.abs_diff(target), *n, *sum))).unwrap()
    }

    proptest! {
        #[test]
        fn agrees_with_trying_every_choice(
            target in 0u32..120,
            slack in 0u32..4,
            sizes in prop::collection::vec((1u32..40, 0u32..5), 0..5),
            times in 1u32..5,
        ) {
            // Sizes with a common divisor, and a target between its multiples.
            let sizes: Vec<(u32, u32)> = sizes.iter().map(|(units, count)| (times * units, *count)).collect();
            let (target, slack) = (times * target + target % times, times * slack);
            let counted: Vec<Size> = sizes.iter().map(|(units, count)| Size { units: *units, count: Some(*count) }).collect();
            let found = closest_sum(target, slack, &counted);
            let pieces: u32 = found.taken.iter().sum();
            prop_assert_eq!((pieces, found.sum), brute_force(target, slack, &sizes));
            let sum: u32 = found.taken.iter().zip(&sizes).map(|(k, (units, _))| k * units).sum();
            prop_assert_eq!(sum, found.sum);
            prop_assert!(found.taken.iter().zip(&sizes).all(|(k, (_, count))| k <= count));
        }

        #[test]
        fn unlimited_is_the_same_as_more_than_could_be_used(target in 0u32..90, slack in 0u32..3, sizes in prop::collection::vec(2u32..30, 1..4)) {
            let unlimited: Vec<Size> = sizes.iter().map(|units| Size { units: *units, count: None }).collect();
            let plenty: Vec<Size> = sizes.iter().map(|units| Size { units: *units, count: Some(200) }).collect();
            prop_assert_eq!(closest_sum(target, slack, &unlimited), closest_sum(target, slack, &plenty));
        }
    }

    #[test]
    fn nothing_on_hand_makes_nothing() {
        assert_eq!(closest_sum(50, 1, &[]), MadeUp { taken: vec![], sum: 0 });
        assert_eq!(closest_sum(50, 1, &[Size { units: 10, count: Some(0) }]).sum, 0);
    }
}
