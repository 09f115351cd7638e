//! What do several readings say together? Their mean, or the straight line through them, each with its interval.
//!
//! ```text
//! mean   x̄ = Σ x / n                     ± t · s / √n           s² = Σ (x − x̄)² / (n − 1)
//! line   y = ȳ + b (x − x̄)
//!        b = Σ (x − x̄)(y − ȳ) / S        ± t · s / √S           S = Σ (x − x̄)²
//!        height ȳ at x̄                   ± t · s / √n           s² = Σ (y − ŷ)² / (n − 2)
//! ```
//!
//! `t` is Student's, two-sided at 95 %. With too few readings to show any scatter there is no interval, and the caller has to
//! know how good one reading is.
//!
//! Source: ordinary least squares, any text on statistics (for instance JCGM 100:2008, H.3); Student's quantiles from `statrs`.
//! `tests/shop_log.rs` holds lines and intervals against SciPy's.

use super::linear::{cholesky, dot};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// A mean of readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    pub value: f64,
    /// Half of the 95 % interval of the mean; `None` from a single reading.
    pub half_width: Option<f64>,
    /// Standard deviation of one reading; `None` from a single one.
    pub scatter: Option<f64>,
    pub readings: usize,
}

/// A straight line through readings, stated at the middle of its places.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedLine {
    pub middle_x: f64,
    /// Height at `middle_x`.
    pub height: f64,
    pub slope: f64,
    /// Halves of the 95 % intervals of height and slope; `None` from two readings, which leave nothing over.
    pub half_widths: Option<[f64; 2]>,
    pub readings: usize,
}

impl FittedLine {
    pub fn at(&self, x: f64) -> f64 {
        self.height + self.slope * (x - self.middle_x)
    }
}

/// The mean; `None` without a reading.
///
/// ```
/// let mean = taperwright::numeric::fit::mean(&[4.0, 6.0, 5.0]).unwrap();
/// assert!((mean.value - 5.0).abs() < 1e-12);
/// // Student's t for two degrees of freedom is 4.302653 (printed tables).
/// assert!((mean.half_width.unwrap() - 4.302653 / 3.0_f64.sqrt()).abs() < 1e-5);
/// ```
#[must_use]
pub fn mean(values: &[f64]) -> Option<Mean> {
    let n = values.len() as f64;
    let value = values.iter().sum::<f64>() / n;
    let scatter = (1 < values.len()).then(|| (values.iter().map(|x| (x - value).powi(2)).sum::<f64>() / (n - 1.0)).sqrt());
    let half_width = scatter.map(|s| students((values.len() - 1) as f64) * s / n.sqrt());
    (!values.is_empty()).then_some(Mean { value, half_width, scatter, readings: values.len() })
}

/// The middle of all values: one slipped figure among three or more does not move it beyond the others. `None` without a value.
///
/// ```
/// assert_eq!(taperwright::numeric::fit::median(&[5.0, 1.0, 400.0]), Some(5.0));
/// assert_eq!(taperwright::numeric::fit::median(&[4.0, 1.0]), Some(2.5));
/// ```
#[must_use]
pub fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    (0 < n).then(|| 0.5 * (sorted[(n - 1) / 2] + sorted[n / 2]))
}

/// The least-squares line through `(x, y)`; `None` where the places do not differ.
#[must_use]
pub fn line(points: &[(f64, f64)]) -> Option<FittedLine> {
    let n = points.len() as f64;
    let middle_x = points.iter().map(|p| p.0).sum::<f64>() / n;
    let height = points.iter().map(|p| p.1).sum::<f64>() / n;
    let spread: f64 = points.iter().map(|p| (p.0 - middle_x).powi(2)).sum();
    let reach = points.iter().map(|p| p.0.abs()).fold(0.0, f64::max);
    if points.len() < 2 || spread <= (1e-9 * reach).powi(2) {
        return None;
    }
    let slope = points.iter().map(|p| (p.0 - middle_x) * (p.1 - height)).sum::<f64>() / spread;
    let mut line = FittedLine { middle_x, height, slope, half_widths: None, readings: points.len() };
    if 2 < points.len() {
        let left: f64 = points.iter().map(|p| (p.1 - line.at(p.0)).powi(2)).sum();
        let s = (left / (n - 2.0)).sqrt();
        let t = students((points.len() - 2) as f64);
        line.half_widths = Some([t * s / n.sqrt(), t * s / spread.sqrt()]);
    }
    Some(line)
}

/// The least-squares polynomial of this degree through `(x, y)`, at one place; `None` where the places are too few for it.
///
/// ```
/// let points = [(-1.0, 5.0), (0.0, 2.0), (1.0, 1.0), (3.0, 5.0)];
/// let at = taperwright::numeric::fit::polynomial_at(&points, 2, 2.0).unwrap();
/// assert!((at - 2.0).abs() < 1e-12, "x² − 2x + 2");
/// ```
pub fn polynomial_at(points: &[(f64, f64)], degree: usize, x: f64) -> Option<f64> {
    let (low, high) = points.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), p| (a.min(p.0), b.max(p.0)));
    // About the middle of the places and over their reach powers stay near one.
    let powers = |x: f64| -> Vec<f64> {
        let t = (2.0 * x - low - high) / (high - low);
        std::iter::successors(Some(1.0), |power| Some(power * t)).take(degree + 1).collect()
    };
    let rows: Vec<Vec<f64>> = points.iter().map(|point| powers(point.0)).collect();
    let of = |a: usize, other: &dyn Fn(usize) -> f64| (0..rows.len()).map(|k| rows[k][a] * other(k)).sum::<f64>();
    let matrix: Vec<Vec<f64>> = (0..=degree).map(|a| (0..=degree).map(|b| of(a, &|k| rows[k][b])).collect()).collect();
    let right: Vec<f64> = (0..=degree).map(|a| of(a, &|k| points[k].1)).collect();
    let enough = degree < points.len() && low < high;
    enough.then(|| cholesky(&matrix)).flatten().map(|factor| dot(&factor.solve(&right), &powers(x)))
}

/// Student's t, two-sided at 95 %, for so many degrees of freedom (at least 1).
pub fn students(freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, freedom).expect("at least one degree of freedom").inverse_cdf(0.975)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_goes_through_points_on_it() {
        let line = line(&[(1.0, 5.0), (3.0, 9.0), (6.0, 15.0)]).unwrap();
        assert!((line.slope - 2.0).abs() < 1e-12 && (line.at(0.0) - 3.0).abs() < 1e-12);
        assert!(line.half_widths.unwrap()[0] < 1e-12);
        assert!(super::line(&[(2.0, 5.0), (2.0, 9.0)]).is_none() && super::line(&[(2.0, 5.0)]).is_none());
    }

    #[test]
    fn two_points_show_no_scatter() {
        assert!(line(&[(0.0, 1.0), (4.0, 2.0)]).unwrap().half_widths.is_none());
        assert!(mean(&[]).is_none() && mean(&[3.0]).unwrap().half_width.is_none());
    }
}
