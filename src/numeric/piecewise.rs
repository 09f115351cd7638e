//! A function that is smooth between corners and may jump at them: a polynomial on each of its pieces.
//!
//! Each piece is the polynomial of degree eight through the values at nine Chebyshev–Lobatto places, by the barycentric formula. [`sample`]
//! halves the pieces until the polynomial agrees with the function between those places, so that what is read off is the function to the
//! closeness asked for, and a jump stays a jump: every value is asked for with the side from which it is seen.
//!
//! Source: J.-P. Berrut, L. N. Trefethen, "Barycentric Lagrange interpolation", SIAM Review 46 (2004) 501–517, section 5 (weights
//! ½, −1, 1, …, ½ at these places); from memory, tested at the foot of the file.

use super::interp::Curve;
use super::ode;

/// Values taken on a piece, its ends included.
const PLACES: usize = 9;

/// A function of one variable that may jump at its corners.
#[derive(Debug, Clone, PartialEq)]
pub struct Piecewise {
    /// In increasing order, without gaps; empty for a constant.
    pieces: Vec<Polynomial>,
    corners: Vec<f64>,
    constant: f64,
}

#[derive(Debug, Clone, PartialEq)]
struct Polynomial {
    from: f64,
    to: f64,
    values: [f64; PLACES],
}

/// A stretch between two places with the values of several functions on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled {
    pub from: f64,
    pub to: f64,
    /// A place between the same two corners: it tells what lies on the stretch.
    pub inside: f64,
    values: [Vec<f64>; PLACES],
}

impl Piecewise {
    pub fn constant(y: f64) -> Piecewise {
        Piecewise { pieces: Vec::new(), corners: Vec::new(), constant: y }
    }

    /// One of the functions of these stretches: `which` tells its index by that of the stretch. Stretches without it are left out.
    pub fn of(corners: &[f64], sampled: &[Sampled], which: impl Fn(usize) -> Option<usize>) -> Piecewise {
        let piece = |(k, stretch): (usize, &Sampled)| {
            let index = which(k)?;
            let values = std::array::from_fn(|place| stretch.values[place].get(index).copied().unwrap_or(0.0));
            Some(Polynomial { from: stretch.from, to: stretch.to, values })
        };
        Piecewise { pieces: sampled.iter().enumerate().filter_map(piece).collect(), corners: corners.to_vec(), constant: 0.0 }
    }

    /// Cubics through points with increasing `x`, each given with its slope: `(x, y, dy/dx)`.
    pub fn hermite(points: &[(f64, f64, f64)]) -> Piecewise {
        let pieces = points.windows(2).map(|pair| {
            let ((x0, y0, m0), (x1, y1, m1)) = (pair[0], pair[1]);
            let width = x1 - x0;
            Polynomial::of(x0, x1, |x| {
                let t = (x - x0) / width;
                let (t2, t3) = (t * t, t * t * t);
                (2.0 * t3 - 3.0 * t2 + 1.0) * y0
                    + (t3 - 2.0 * t2 + t) * width * m0
                    + (3.0 * t2 - 2.0 * t3) * y1
                    + (t3 - t2) * width * m1
            })
        });
        let constant = points.first().map_or(0.0, |point| point.1);
        Piecewise { pieces: pieces.collect(), corners: Vec::new(), constant }
    }

    /// Where it may jump or turn sharply, in no order.
    pub fn corners(&self) -> &[f64] {
        &self.corners
    }

    /// The value at `x` as seen from the side of `inside`: at a corner the two sides differ. Beyond its ends the function keeps the value it
    /// ends with.
    pub fn at(&self, inside: f64, x: f64) -> f64 {
        let (Some(first), Some(last)) = (self.pieces.first(), self.pieces.last()) else { return self.constant };
        let seen = (x + (inside - x).clamp(-NEAR, NEAR)).clamp(first.from, last.to);
        let index = self.pieces.partition_point(|piece| piece.to < seen).min(self.pieces.len() - 1);
        self.pieces[index].at(x)
    }
}

/// A continuous curve, with a corner at each of its points.
impl From<Curve> for Piecewise {
    fn from(curve: Curve) -> Piecewise {
        let corners: Vec<f64> = curve.points().iter().map(|point| point.0).collect();
        let pieces = corners.windows(2).map(|pair| Polynomial::of(pair[0], pair[1], |x| curve.at(x))).collect();
        Piecewise { pieces, constant: curve.points()[0].1, corners }
    }
}

impl Polynomial {
    fn of(from: f64, to: f64, y: impl Fn(f64) -> f64) -> Polynomial {
        Polynomial { from, to, values: std::array::from_fn(|k| y(place(from, to, k))) }
    }

    fn at(&self, x: f64) -> f64 {
        barycentric(((x - self.from) / (self.to - self.from)).clamp(0.0, 1.0), |k| self.values[k])
    }
}

/// Values are looked up this much inside the side they are seen from, so that a corner which was moved onto a neighbour ([`ode::ends`])
/// is still seen from there.
const NEAR: f64 = 2e-6;

/// Samples several functions at once on pieces between `from` and `to` that end at every corner and are halved until the polynomial is
/// `close` to each function between its places; `close` is asked for by the index of the function.
///
/// `f(inside, x, values)` adds the values at `x` as seen from the side of `inside`, each in its place.
pub fn sample(
    from: f64,
    to: f64,
    corners: &[f64],
    close: impl Fn(usize) -> f64,
    mut f: impl FnMut(f64, f64, &mut Vec<f64>),
) -> Vec<Sampled> {
    let mut done = Vec::new();
    let mut exact = Vec::new();
    for pair in ode::ends(from, to, corners).windows(2) {
        let inside = 0.5 * (pair[0] + pair[1]);
        let mut open = vec![(pair[0], pair[1], 0)];
        while let Some((a, b, depth)) = open.pop() {
            let values: [Vec<f64>; PLACES] = std::array::from_fn(|k| {
                let mut values = Vec::with_capacity(exact.len());
                f(inside, place(a, b, k), &mut values);
                values
            });
            let mut off = |fraction: f64| {
                exact.clear();
                f(inside, a + fraction * (b - a), &mut exact);
                let apart = |i: usize| exact[i] - barycentric(fraction, |k| values[k].get(i).copied().unwrap_or(0.0));
                (0..exact.len()).any(|i| close(i) < apart(i).abs())
            };
            if depth < MAX_HALVINGS && BETWEEN.into_iter().any(&mut off) {
                let middle = 0.5 * (a + b);
                // Taken from the end, so that the stretches come out in order.
                open.extend([(middle, b, depth + 1), (a, middle, depth + 1)]);
            } else {
                done.push(Sampled { from: a, to: b, inside, values });
            }
        }
    }
    done
}

/// Where in a piece the polynomial is compared with the function: near both ends, and on both sides of the middle. With fewer, a function
/// that is steep at one end only is taken for met.
const BETWEEN: [f64; 4] = [0.018, 0.41, 0.70, 0.982];
/// Halvings of a stretch between two corners: a thousandth of it is left, where a smooth function has long been met.
const MAX_HALVINGS: u32 = 10;

fn place(from: f64, to: f64, k: usize) -> f64 {
    if k + 1 == PLACES { to } else { from + LOBATTO[k] * (to - from) }
}

/// Chebyshev–Lobatto places from 0 to 1: `½ (1 − cos(π k / 8))`.
const LOBATTO: [f64; PLACES] = [
    0.0,
    0.038_060_233_744_356_63,
    0.146_446_609_406_726_2,
    0.308_658_283_817_455_1,
    0.5,
    0.691_341_716_182_544_8,
    0.853_553_390_593_273_7,
    0.961_939_766_255_643_4,
    1.0,
];
/// Weights of the barycentric formula at these places.
const WEIGHTS: [f64; PLACES] = [0.5, -1.0, 1.0, -1.0, 1.0, -1.0, 1.0, -1.0, 0.5];

fn barycentric(t: f64, values: impl Fn(usize) -> f64) -> f64 {
    let (mut above, mut below) = (0.0, 0.0);
    for k in 0..PLACES {
        let apart = t - LOBATTO[k];
        if apart.abs() < 1e-15 {
            return values(k);
        }
        let weight = WEIGHTS[k] / apart;
        above += weight * values(k);
        below += weight;
    }
    above / below
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::interp::Between;

    #[test]
    fn a_function_with_a_jump_is_met_from_both_sides() {
        let f = |inside: f64, x: f64| if inside < 3.0 { (2.0 * x).sin() } else { 5.0 / (1.0 + x) };
        let sampled = sample(0.0, 10.0, &[3.0], |_| 1e-12, |inside, x, values| values.extend([0.0, f(inside, x)]));
        let pieces = Piecewise::of(&[3.0], &sampled, |_| Some(1));
        for k in 0..=1000 {
            let x = 0.01 * f64::from(k);
            for inside in [x - 0.004, x + 0.004] {
                assert!((pieces.at(inside, x) - f(inside, x)).abs() < 1e-11, "{x} from {inside}");
            }
        }
        assert!((pieces.at(2.0, 3.0) - 6.0_f64.sin()).abs() < 1e-11 && (pieces.at(4.0, 3.0) - 1.25).abs() < 1e-11);
        // Beyond its ends it keeps the value it ends with.
        assert!((pieces.at(20.0, 20.0) - pieces.at(9.0, 10.0)).abs() < 1e-15);
    }

    #[test]
    fn places_and_weights_are_those_of_the_book() {
        for (k, place) in LOBATTO.into_iter().enumerate() {
            let exact = 0.5 * (1.0 - (std::f64::consts::PI * k as f64 / 8.0).cos());
            assert!((place - exact).abs() < 1e-15);
            // The weights are in proportion to 1 / Π (x_k − x_j).
            let product = |k: usize| (0..PLACES).filter(|j| *j != k).map(|j| LOBATTO[k] - LOBATTO[j]).product::<f64>();
            assert!((WEIGHTS[k] / WEIGHTS[0] * product(k) / product(0) - 1.0).abs() < 1e-12, "{k}");
        }
    }

    #[test]
    fn closeness_is_kept_over_decades() {
        let f = |x: f64| (3.0 * x).exp() / (1.0 + 30.0 * x * x);
        for close in [1e-4, 1e-7, 1e-10] {
            let sampled = sample(-1.0, 2.0, &[], |_| close, |_, x, values| values.push(f(x)));
            let pieces = Piecewise::of(&[], &sampled, |_| Some(0));
            let worst =
                (0..3000).map(|k| -1.0 + 0.001 * f64::from(k)).map(|x| (pieces.at(x, x) - f(x)).abs()).fold(0.0, f64::max);
            assert!(worst < 3.0 * close, "{close}: {worst}");
        }
    }

    #[test]
    fn curves_and_hermite_points_come_back() {
        let curve = Curve::through(vec![(0.0, 1.0), (2.0, 5.0), (3.0, 4.0)], Between::Straight).unwrap();
        let pieces = Piecewise::from(curve.clone());
        assert_eq!(pieces.corners(), [0.0, 2.0, 3.0]);
        let cubic = |x: f64| x * x * x - 2.0 * x;
        let hermite = Piecewise::hermite(&[0.0, 1.5, 4.0].map(|x: f64| (x, cubic(x), 3.0 * x * x - 2.0)));
        for k in 0..=30 {
            let x = 0.1 * f64::from(k);
            assert!((pieces.at(x, x) - curve.at(x)).abs() < 1e-13);
            assert!((hermite.at(x, x) - cubic(x)).abs() < 1e-12);
        }
        assert!((Piecewise::constant(2.5).at(1.0, 7.0) - 2.5).abs() < 1e-15);
    }
}
