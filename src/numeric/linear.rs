//! A few linear equations whose matrix is symmetric and positive: Cholesky's factor, solutions, inverse; and the same with no value
//! below nought.
//!
//! Method: A = L Lᵀ, L from the first row down (any text on numerical algebra). Below a bound: one value after the other is set to
//! its best while the rest is held, never below nought (Gauss and Seidel, projected), which falls for every such matrix.

/// Lower factor, row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Factor(Vec<Vec<f64>>);

/// The factor of a symmetric matrix; `None` if it is not positive.
pub fn cholesky(a: &[Vec<f64>]) -> Option<Factor> {
    let mut lower: Vec<Vec<f64>> = Vec::with_capacity(a.len());
    for (i, from) in a.iter().enumerate() {
        let mut row = Vec::with_capacity(i + 1);
        for j in 0..=i {
            let above: &[f64] = if j < i { &lower[j] } else { &row };
            let left = from[j] - dot(&row[..j], &above[..j]);
            if j < i {
                row.push(left / lower[j][j]);
            } else if left.is_finite() && 0.0 < left {
                row.push(left.sqrt());
            } else {
                return None;
            }
        }
        lower.push(row);
    }
    Some(Factor(lower))
}

impl Factor {
    /// How many rows the matrix has.
    #[allow(clippy::len_without_is_empty)] // a matrix of no rows has no factor
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// `x` of `A x = b`.
    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let lower = &self.0;
        let mut x = self.whiten(b);
        for i in (0..x.len()).rev() {
            let below: f64 = (i + 1..x.len()).map(|k| lower[k][i] * x[k]).sum();
            x[i] = (x[i] - below) / lower[i][i];
        }
        x
    }

    /// `L⁻¹ b`: errors whose covariance is `A` become independent ones of deviation 1.
    pub fn whiten(&self, b: &[f64]) -> Vec<f64> {
        let mut x = b.to_vec();
        for (i, row) in self.0.iter().enumerate() {
            x[i] = (x[i] - dot(&row[..i], &x[..i])) / row[i];
        }
        x
    }

    pub fn inverse(&self) -> Vec<Vec<f64>> {
        let n = self.0.len();
        (0..n).map(|k| self.solve(&(0..n).map(|i| if i == k { 1.0 } else { 0.0 }).collect::<Vec<_>>())).collect()
    }
}

/// The `x ≥ 0` that makes `½ xᵀ A x − qᵀ x` least, with `x = 0` wherever it is not `free`; `A` symmetric and positive.
pub fn min_not_negative(a: &[Vec<f64>], q: &[f64], free: &[bool]) -> Vec<f64> {
    let mut x = vec![0.0; q.len()];
    // A x − q, kept up to date.
    let mut slope: Vec<f64> = q.iter().map(|q| -q).collect();
    for _ in 0..MAX_SWEEPS {
        let mut moved: f64 = 0.0;
        for k in (0..x.len()).filter(|k| free[*k]) {
            let next = (x[k] - slope[k] / a[k][k]).max(0.0);
            let step = next - x[k];
            x[k] = next;
            if step.abs() <= 0.0 {
                continue;
            }
            moved = moved.max(step.abs());
            slope.iter_mut().zip(&a[k]).for_each(|(slope, a)| *slope += step * a);
        }
        if moved < 1e-7 {
            break;
        }
    }
    x
}

/// Bound on rounds over all values. Where neighbours are nearly alike some hundreds bring the seventh digit; at the bound the answer
/// is still feasible and no worse than a coarser one.
const MAX_SWEEPS: usize = 2000;

pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_solves_and_inverts() {
        let a = vec![vec![4.0, 2.0, 0.6], vec![2.0, 5.0, 1.0], vec![0.6, 1.0, 3.0]];
        let factor = cholesky(&a).unwrap();
        let x = factor.solve(&[1.0, -2.0, 0.5]);
        for (row, b) in a.iter().zip([1.0, -2.0, 0.5]) {
            assert!((dot(row, &x) - b).abs() < 1e-14);
        }
        let inverse = factor.inverse();
        assert!((dot(&a[1], &inverse[1]) - 1.0).abs() < 1e-14 && dot(&a[1], &inverse[0]).abs() < 1e-14);
        assert!(cholesky(&[vec![1.0, 2.0], vec![2.0, 1.0]]).is_none());
    }

    #[test]
    fn nothing_falls_below_nought() {
        // Without the bound the second value is −1; held at nought the first is 2/4 (by hand).
        let a = vec![vec![4.0, 2.0], vec![2.0, 3.0]];
        let x = min_not_negative(&a, &[2.0, -1.0], &[true, true]);
        assert!((x[0] - 0.5).abs() < 1e-6 && x[1] == 0.0, "{x:?}");
        assert_eq!(min_not_negative(&a, &[2.0, 5.0], &[true, false])[1], 0.0);
    }
}
