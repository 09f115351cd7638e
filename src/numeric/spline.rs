//! A curve through given points with continuous curvature: the cubic spline.
//!
//! Its first end has a given slope, its last end no curvature (natural). Beyond the last point it runs on straight.
//! The second derivatives solve the usual tridiagonal system of continuity of the slope, which is diagonally dominant.
//!
//! Source: C. de Boor, "A Practical Guide to Splines", Springer, chapter IV (the system derived anew here).

use super::interp::{CurveFault, sound};

/// A twice continuously differentiable function given by points with increasing `x`.
#[derive(Debug, Clone, PartialEq)]
pub struct Spline {
    points: Vec<(f64, f64)>,
    /// Second derivative at each point.
    bends: Vec<f64>,
}

/// Value, slope and second derivative at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SplinePoint {
    pub value: f64,
    pub slope: f64,
    pub bend: f64,
}

impl Spline {
    /// The spline through `points` that starts with slope `first_slope` and ends without curvature.
    pub fn through(points: Vec<(f64, f64)>, first_slope: f64) -> Result<Spline, CurveFault> {
        sound(&points)?;
        let bends = bends(&points, first_slope);
        Ok(Spline { points, bends })
    }

    /// The spline at `x`; before its first point it runs on with the first slope, after its last with the last.
    pub fn at(&self, x: f64) -> SplinePoint {
        let points = &self.points;
        let n = points.len();
        if n < 2 {
            return SplinePoint { value: points[0].1, slope: 0.0, bend: 0.0 };
        }
        if x < points[0].0 || points[n - 1].0 < x {
            let (end, piece) = if x < points[0].0 { (points[0].0, 0) } else { (points[n - 1].0, n - 2) };
            let edge = self.in_piece(piece, end);
            return SplinePoint { value: edge.value + edge.slope * (x - end), slope: edge.slope, bend: 0.0 };
        }
        let piece = points.partition_point(|point| point.0 < x).clamp(1, n - 1) - 1;
        self.in_piece(piece, x)
    }

    fn in_piece(&self, i: usize, x: f64) -> SplinePoint {
        let ((x0, y0), (x1, y1)) = (self.points[i], self.points[i + 1]);
        let (m0, m1) = (self.bends[i], self.bends[i + 1]);
        let h = x1 - x0;
        let (a, b) = ((x1 - x) / h, (x - x0) / h);
        SplinePoint {
            value: a * y0 + b * y1 + h * h / 6.0 * ((a.powi(3) - a) * m0 + (b.powi(3) - b) * m1),
            slope: (y1 - y0) / h + h / 6.0 * ((1.0 - 3.0 * a * a) * m0 + (3.0 * b * b - 1.0) * m1),
            bend: a * m0 + b * m1,
        }
    }
}

fn bends(points: &[(f64, f64)], first_slope: f64) -> Vec<f64> {
    let n = points.len();
    if n < 2 {
        return vec![0.0; n];
    }
    let width: Vec<f64> = points.windows(2).map(|p| p[1].0 - p[0].0).collect();
    let secant: Vec<f64> = points.windows(2).map(|p| (p[1].1 - p[0].1) / (p[1].0 - p[0].0)).collect();
    // Rows: 2 h0 m0 + h0 m1 = 6 (d0 − slope); h m + 2 (h + h') m + h' m = 6 (d' − d); m_n = 0. Forward elimination.
    let (mut upper, mut right) = (vec![0.0; n], vec![0.0; n]);
    upper[0] = 0.5;
    right[0] = 3.0 * (secant[0] - first_slope) / width[0];
    for i in 1..n - 1 {
        let pivot = 2.0 * (width[i - 1] + width[i]) - width[i - 1] * upper[i - 1];
        upper[i] = width[i] / pivot;
        right[i] = (6.0 * (secant[i] - secant[i - 1]) - width[i - 1] * right[i - 1]) / pivot;
    }
    let mut bends = vec![0.0; n];
    for i in (0..n - 1).rev() {
        bends[i] = right[i] - upper[i] * bends[i + 1];
    }
    bends
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reproduces_a_cubic_that_meets_its_end_conditions() {
        // x³ − 6x² has slope 0 at 0 and no curvature at 2.
        let f = |x: f64| x.powi(3) - 6.0 * x * x;
        let spline = Spline::through([0.0, 0.4, 1.1, 1.5, 2.0].map(|x| (x, f(x))).to_vec(), 0.0).unwrap();
        for k in 0..=20 {
            let x = f64::from(k) / 10.0;
            let here = spline.at(x);
            assert!((here.value - f(x)).abs() < 1e-12, "{x}");
            assert!((here.slope - (3.0 * x * x - 12.0 * x)).abs() < 1e-11);
            assert!((here.bend - (6.0 * x - 12.0)).abs() < 1e-10);
        }
        assert!((spline.at(3.0).value - (f(2.0) - 12.0)).abs() < 1e-11);
    }

    #[test]
    fn converges_with_fourth_order_on_a_sine() {
        let error = |n: u32| {
            let end = std::f64::consts::PI;
            let points = (0..=n).map(|k| end * f64::from(k) / f64::from(n)).map(|x| (x, x.sin())).collect();
            let spline = Spline::through(points, 1.0).unwrap();
            (0..200).map(|k| end * f64::from(k) / 200.0).map(|x| (spline.at(x).value - x.sin()).abs()).fold(0.0, f64::max)
        };
        let ratio = error(10) / error(20);
        assert!((12.0..20.0).contains(&ratio), "{ratio}");
    }
}
