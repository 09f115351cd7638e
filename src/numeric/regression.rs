//! What do readings say of several causes at once? Ordinary least squares on columns, each combination of causes with its interval.
//!
//! ```text
//! y = X b + e        b = (Xᵀ X)⁻¹ Xᵀ y        s² = |y − X b|² / f        f = n − columns
//! a · b              ± t · s · √(aᵀ (Xᵀ X)⁻¹ a)
//! one more y at a    ± t · s · √(1 + aᵀ (Xᵀ X)⁻¹ a)
//! s                  between s √(f / χ²(1 − p/2)) and s √(f / χ²(p/2))
//! ```
//!
//! `t` and `χ²` have `f` degrees of freedom. Causes that come together cannot be told apart: there is no answer then, and the caller says
//! so. Source: any text on regression (for instance JCGM 100:2008, H.3, for the line); quantiles from `statrs`. `tests/series_shop.rs`
//! holds intervals against SciPy's.

use super::linear::{cholesky, dot};
use super::span::Span;
use statrs::distribution::{ChiSquared, ContinuousCDF, StudentsT};

/// A fit to several columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Regression {
    /// In the order of the columns.
    pub coefficients: Vec<f64>,
    /// `(Xᵀ X)⁻¹`
    inverse: Vec<Vec<f64>>,
    /// Standard deviation of one reading about the fit.
    pub scatter: f64,
    /// Readings less columns.
    pub freedom: usize,
}

/// A column that others make up to within this fraction of its square tells nothing of its own.
const DEPENDENT: f64 = 1e-9;

/// The fit of `y` to `rows`, one row of columns for each reading; `None` where too few readings show any scatter, or columns say the same.
///
/// ```
/// use taperwright::numeric::regression::regression;
/// // y = 1 + 2 x, and half a unit either way (by hand: the outer two pull against the inner two).
/// let rows = [0.0, 1.0, 2.0, 3.0].map(|x| vec![1.0, x]);
/// let fit = regression(&rows, &[1.5, 2.5, 4.5, 7.5]).unwrap();
/// assert!((fit.coefficients[1] - 2.0).abs() < 1e-12 && fit.freedom == 2);
/// assert!(regression(&[vec![1.0, 1.0], vec![1.0, 1.0], vec![1.0, 1.0]], &[1.0, 2.0, 3.0]).is_none());
/// ```
#[must_use]
pub fn regression(rows: &[Vec<f64>], y: &[f64]) -> Option<Regression> {
    let columns = rows.first()?.len();
    let freedom = rows.len().checked_sub(columns).filter(|freedom| 0 < *freedom)?;
    let of = |a: usize, b: usize| rows.iter().map(|row| row[a] * row[b]).sum::<f64>();
    let matrix: Vec<Vec<f64>> = (0..columns).map(|a| (0..columns).map(|b| of(a, b)).collect()).collect();
    let factor = cholesky(&matrix)?;
    let inverse = factor.inverse();
    if (0..columns).any(|k| inverse[k][k] * matrix[k][k] * DEPENDENT > 1.0) {
        return None;
    }
    let right: Vec<f64> = (0..columns).map(|a| rows.iter().zip(y).map(|(row, y)| row[a] * y).sum()).collect();
    let coefficients = factor.solve(&right);
    let left: f64 = rows.iter().zip(y).map(|(row, y)| (y - dot(row, &coefficients)).powi(2)).sum();
    Some(Regression { coefficients, inverse, scatter: (left / freedom as f64).sqrt(), freedom })
}

impl Regression {
    /// A combination of the coefficients, such as what the fit is at a row.
    pub fn at(&self, row: &[f64]) -> f64 {
        dot(row, &self.coefficients)
    }

    /// Half of the interval of such a combination, at 1 − `outside`.
    pub fn half_width(&self, row: &[f64], outside: f64) -> f64 {
        self.quantile(outside) * self.scatter * self.leverage(row).sqrt()
    }

    /// One standard deviation of a further reading at a row less the fit there.
    pub fn sigma_of_next(&self, row: &[f64]) -> f64 {
        self.scatter * (1.0 + self.leverage(row)).sqrt()
    }

    /// Half of the interval of a further reading, at 1 − `outside`.
    pub fn half_width_of_next(&self, row: &[f64], outside: f64) -> f64 {
        self.quantile(outside) * self.sigma_of_next(row)
    }

    /// The interval of the scatter, at 1 − `outside`.
    pub fn scatter_between(&self, outside: f64) -> Span {
        let chi = ChiSquared::new(self.freedom as f64).expect("at least one degree of freedom");
        let at = |fraction: f64| self.scatter * (self.freedom as f64 / chi.inverse_cdf(fraction)).sqrt();
        Span { min: at(1.0 - 0.5 * outside), max: at(0.5 * outside) }
    }

    fn leverage(&self, row: &[f64]) -> f64 {
        dot(row, &self.inverse.iter().map(|of| dot(of, row)).collect::<Vec<_>>())
    }

    fn quantile(&self, outside: f64) -> f64 {
        StudentsT::new(0.0, 1.0, self.freedom as f64).expect("at least one degree of freedom").inverse_cdf(1.0 - 0.5 * outside)
    }
}
