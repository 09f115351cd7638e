//! A curve through given points: straight between them, or smooth without overshoot.
//!
//! The smooth curve is the monotone piecewise cubic of Fritsch and Carlson with the slopes of Fritsch and Butland:
//! between two points it stays between their values. Beyond its ends a curve runs on with its end slope.
//!
//! Source: F. N. Fritsch, R. E. Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17 (1980) 238–246;
//! F. N. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300–304 (weighted harmonic mean of the secants).

/// How a curve runs between its points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Between {
    Straight,
    Smooth,
}

/// Why points do not make a curve.
#[derive(Debug, Clone, PartialEq)]
pub enum CurveFault {
    Empty,
    /// `x` of the point at this index is not greater than that of the point before it.
    NotIncreasing {
        index: usize,
        before: f64,
        here: f64,
    },
    NotFinite {
        index: usize,
    },
}

/// A continuous function of one variable given by points with increasing `x`.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    points: Vec<(f64, f64)>,
    /// dy/dx at each point; empty for a curve that is straight between its points.
    slopes: Vec<f64>,
}

/// A point of a curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    pub x: f64,
    pub y: f64,
}

impl Curve {
    /// The curve through `points`; one point makes a constant.
    pub fn through(points: Vec<(f64, f64)>, between: Between) -> Result<Curve, CurveFault> {
        sound(&points)?;
        let slopes = match between {
            Between::Straight => Vec::new(),
            Between::Smooth => monotone_slopes(&points),
        };
        Ok(Curve { points, slopes })
    }

    pub fn constant(y: f64) -> Curve {
        Curve { points: vec![(0.0, y)], slopes: Vec::new() }
    }

    pub fn points(&self) -> &[(f64, f64)] {
        &self.points
    }

    pub fn between(&self) -> Between {
        if self.slopes.is_empty() { Between::Straight } else { Between::Smooth }
    }

    /// The value at `x`; beyond the ends the curve runs on with its end slope.
    pub fn at(&self, x: f64) -> f64 {
        let points = &self.points;
        let (first, last) = (points[0], points[points.len() - 1]);
        if x < first.0 {
            return first.1 + (x - first.0) * self.slope_at(first.0);
        }
        if last.0 < x {
            return last.1 + (x - last.0) * self.slope_at(last.0);
        }
        let Some((i, t, width)) = self.locate(x) else { return first.1 };
        let (y0, y1) = (points[i].1, points[i + 1].1);
        if self.slopes.is_empty() {
            return y0 + t * (y1 - y0);
        }
        let (m0, m1) = (self.slopes[i] * width, self.slopes[i + 1] * width);
        let (t2, t3) = (t * t, t * t * t);
        (2.0 * t3 - 3.0 * t2 + 1.0) * y0 + (t3 - 2.0 * t2 + t) * m0 + (3.0 * t2 - 2.0 * t3) * y1 + (t3 - t2) * m1
    }

    /// dy/dx at `x`; at a corner the slope of the piece that ends there, at the first point that of the first piece.
    pub fn slope_at(&self, x: f64) -> f64 {
        let points = &self.points;
        let Some((i, t, width)) = self.locate(x.clamp(points[0].0, points[points.len() - 1].0)) else { return 0.0 };
        let (y0, y1) = (points[i].1, points[i + 1].1);
        if self.slopes.is_empty() {
            return (y1 - y0) / width;
        }
        let (m0, m1) = (self.slopes[i], self.slopes[i + 1]);
        (6.0 * t * t - 6.0 * t) * (y0 - y1) / width + (3.0 * t * t - 4.0 * t + 1.0) * m0 + (3.0 * t * t - 2.0 * t) * m1
    }

    /// The least of its points. Both kinds of curve have their extremes at points.
    pub fn min(&self) -> CurvePoint {
        let start = CurvePoint { x: 0.0, y: f64::INFINITY };
        self.points.iter().fold(start, |min, (x, y)| if *y < min.y { CurvePoint { x: *x, y: *y } } else { min })
    }

    /// The greatest of its points.
    pub fn max(&self) -> CurvePoint {
        let start = CurvePoint { x: 0.0, y: f64::NEG_INFINITY };
        self.points.iter().fold(start, |max, (x, y)| if max.y < *y { CurvePoint { x: *x, y: *y } } else { max })
    }

    /// The piece that holds `x`, the place in it from 0 to 1, and its width; `None` for a curve of one point.
    fn locate(&self, x: f64) -> Option<(usize, f64, f64)> {
        let points = &self.points;
        if points.len() < 2 {
            return None;
        }
        let i = points.partition_point(|point| point.0 < x).clamp(1, points.len() - 1) - 1;
        let width = points[i + 1].0 - points[i].0;
        Some((i, (x - points[i].0) / width, width))
    }
}

/// Whether points make a curve at all: some, finite, `x` increasing.
pub(super) fn sound(points: &[(f64, f64)]) -> Result<(), CurveFault> {
    if points.is_empty() {
        return Err(CurveFault::Empty);
    }
    if let Some(index) = points.iter().position(|(x, y)| !x.is_finite() || !y.is_finite()) {
        return Err(CurveFault::NotFinite { index });
    }
    match points.windows(2).position(|pair| pair[1].0 <= pair[0].0) {
        Some(at) => Err(CurveFault::NotIncreasing { index: at + 1, before: points[at].0, here: points[at + 1].0 }),
        None => Ok(()),
    }
}

/// Values and slopes of several functions at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Knot<const N: usize> {
    pub x: f64,
    pub y: [f64; N],
    pub slope: [f64; N],
}

/// The polynomial of least degree through values and slopes at these places (all different), at `x`, inside or beyond: of order
/// twice their number.
///
/// Source: Hermite's interpolation by divided differences with each place counted twice, any text on numerical analysis.
///
/// ```
/// use taperwright::numeric::interp::{Knot, hermite};
/// let knots = [0.0, 1.0, 3.0].map(|x: f64| Knot { x, y: [x.powi(5)], slope: [5.0 * x.powi(4)] });
/// assert!((hermite(&knots, 4.0)[0] - 1024.0).abs() < 1e-9);
/// ```
pub fn hermite<const N: usize, const K: usize>(knots: &[Knot<N>; K], x: f64) -> [f64; N] {
    std::array::from_fn(|i| {
        // Differences of one order at a time, in place: [first, second] of each place.
        let at = |j: usize| knots[j / 2].x;
        let count = 2 * K;
        let mut differences = [[0.0; 2]; K];
        for (k, knot) in knots.iter().enumerate() {
            differences[k] = [knot.y[i]; 2];
        }
        let (mut sum, mut product) = (knots[0].y[i], 1.0);
        for order in 1..count {
            for j in 0..count - order {
                let span = at(j + order) - at(j);
                let next = differences[j.div_ceil(2)][(j + 1) % 2] - differences[j / 2][j % 2];
                differences[j / 2][j % 2] = if order == 1 && j % 2 == 0 { knots[j / 2].slope[i] } else { next / span };
            }
            product *= x - at(order - 1);
            sum += differences[0][0] * product;
        }
        sum
    })
}

/// The same ahead of a walk, which stands at `now` and came by the places `before`, the last one first: by as many of them as lie no nearer
/// together than half the way on, since a polynomial through places close together leads far astray.
pub fn ahead<const N: usize>(now: Knot<N>, before: [Option<Knot<N>>; 2], x: f64) -> [f64; N] {
    let near = |from: f64, to: f64| (x - now.x).abs() <= 2.0 * (from - to).abs();
    match before {
        [Some(last), Some(earlier)] if near(now.x, last.x) && near(last.x, earlier.x) => hermite(&[now, last, earlier], x),
        [Some(last), _] if near(now.x, last.x) => hermite(&[now, last], x),
        _ => hermite(&[now], x),
    }
}

fn monotone_slopes(points: &[(f64, f64)]) -> Vec<f64> {
    let n = points.len();
    if n < 2 {
        return vec![0.0; n];
    }
    let width: Vec<f64> = points.windows(2).map(|p| p[1].0 - p[0].0).collect();
    let secant: Vec<f64> = points.windows(2).map(|p| (p[1].1 - p[0].1) / (p[1].0 - p[0].0)).collect();
    if n == 2 {
        return vec![secant[0]; 2];
    }
    let mut slopes = vec![0.0; n];
    for i in 1..n - 1 {
        let (left, right) = (secant[i - 1], secant[i]);
        if 0.0 < left * right {
            let (w1, w2) = (2.0 * width[i] + width[i - 1], width[i] + 2.0 * width[i - 1]);
            slopes[i] = (w1 + w2) / (w1 / left + w2 / right);
        }
    }
    slopes[0] = end_slope(width[0], width[1], secant[0], secant[1]);
    slopes[n - 1] = end_slope(width[n - 2], width[n - 3], secant[n - 2], secant[n - 3]);
    slopes
}

/// Three-point end slope, limited so that the end piece stays monotone.
fn end_slope(near: f64, next: f64, secant: f64, secant_next: f64) -> f64 {
    let slope = ((2.0 * near + next) * secant - near * secant_next) / (near + next);
    if slope * secant <= 0.0 {
        0.0
    } else if secant * secant_next <= 0.0 && 3.0 * secant.abs() < slope.abs() {
        3.0 * secant
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn smooth_never_overshoots_and_reproduces_a_line() {
        let steps = Curve::through(vec![(0.0, 0.0), (1.0, 0.0), (2.0, 5.0), (3.0, 5.0), (4.0, 1.0)], Between::Smooth).unwrap();
        for k in 0..=400 {
            let y = steps.at(f64::from(k) / 100.0);
            assert!((-1e-12..=5.0 + 1e-12).contains(&y), "{k}: {y}");
        }
        let line = Curve::through(vec![(0.0, 1.0), (1.0, 3.0), (4.0, 9.0)], Between::Smooth).unwrap();
        for x in [-1.0, 0.0, 0.3, 2.7, 4.0, 6.0] {
            assert!((line.at(x) - (1.0 + 2.0 * x)).abs() < 1e-12);
            assert!((line.slope_at(x) - 2.0).abs() < 1e-12);
        }
    }

    #[test]
    fn slope_is_the_derivative() {
        let curve = Curve::through(vec![(0.0, 4.0), (1.0, 3.5), (2.5, 2.0), (4.0, 1.9)], Between::Smooth).unwrap();
        for k in 1..40 {
            let x = f64::from(k) / 10.0 + 0.013;
            let h = 1e-6;
            let difference = (curve.at(x + h) - curve.at(x - h)) / (2.0 * h);
            assert!((curve.slope_at(x) - difference).abs() < 1e-7, "{x}");
        }
    }

    #[test]
    fn faults_are_named() {
        assert_eq!(Curve::through(vec![], Between::Straight), Err(CurveFault::Empty));
        assert_eq!(
            Curve::through(vec![(0.0, 1.0), (0.0, 2.0)], Between::Straight),
            Err(CurveFault::NotIncreasing { index: 1, before: 0.0, here: 0.0 })
        );
        assert_eq!(Curve::through(vec![(0.0, f64::NAN)], Between::Straight), Err(CurveFault::NotFinite { index: 0 }));
    }
}
