//! Where a function is nought: one unknown in a bracket, or a few unknowns by Newton's method with a Jacobian.
//!
//! Both are bounded, and a failure carries the numbers that were reached.
//!
//! * In a bracket: T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function
//!   without using derivatives", Advances in Engineering Software 28 (1997) 145–149. Never leaves the bracket.
//! * Several unknowns: Newton's method, the step halved until the residual falls (at most [`HALVINGS`] times).

/// A root of one unknown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Root {
    pub x: f64,
    pub residual: f64,
    pub evaluations: usize,
}

/// Why no root was found in a bracket.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BracketFault {
    /// The function has the same sign, or no finite value, at both ends.
    NoSignChange { x: [f64; 2], residual: [f64; 2] },
    /// The bound on evaluations was met with this bracket left.
    NotConverged { x: [f64; 2], residual: [f64; 2], evaluations: usize },
}

/// The root of `f` between `a` and `b`, to within `tolerance` in `x`.
pub fn bracketed(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, tolerance: f64, most: usize) -> Result<Root, BracketFault> {
    let (mut a, mut b) = (a, b);
    let (mut fa, mut fb) = (f(a), f(b));
    let mut evaluations = 2;
    let product = fa * fb;
    if product.is_nan() || 0.0 < product {
        return Err(BracketFault::NoSignChange { x: [a, b], residual: [fa, fb] });
    }
    let mut share: f64 = 0.5;
    while evaluations < most {
        let least = if fa.abs() < fb.abs() { (a, fa) } else { (b, fb) };
        let width = (b - a).abs();
        let limit = tolerance + 2.0 * f64::EPSILON * least.0.abs();
        if width <= 2.0 * limit || least.1.abs() <= 0.0 {
            return Ok(Root { x: least.0, residual: least.1, evaluations });
        }
        let margin = limit / width;
        let x = a + share.clamp(margin, 1.0 - margin) * (b - a);
        let fx = f(x);
        evaluations += 1;
        let (c, fc);
        if fx.signum() * fa.signum() < 0.0 {
            (c, fc) = (b, fb);
            (b, fb) = (a, fa);
        } else {
            (c, fc) = (a, fa);
        }
        (a, fa) = (x, fx);
        // Inverse quadratic where it is safe, half the bracket elsewhere.
        let (xi, phi) = ((a - b) / (c - b), (fa - fb) / (fc - fb));
        share = if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
            fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        } else {
            0.5
        };
    }
    Err(BracketFault::NotConverged { x: [a, b], residual: [fa, fb], evaluations })
}

/// A root of several unknowns, with the Jacobian last used (exact to the last step's length).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solved<const N: usize> {
    pub x: [f64; N],
    /// Greatest residual before the last step.
    pub residual: f64,
    pub jacobian: [[f64; N]; N],
    pub evaluations: usize,
}

/// Where Newton's method stopped without a root.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NewtonFault<const N: usize> {
    pub x: [f64; N],
    /// Greatest residual there; not finite where the function has no value.
    pub residual: f64,
    pub evaluations: usize,
    /// The Jacobian could not be solved.
    pub singular: bool,
}

/// Least share of Newton's step that is tried is 2 to the minus this: less stops far from a root that damping would reach,
/// more crawls along a ridge for the whole budget.
pub const HALVINGS: usize = 6;

/// Solves `f(x) = 0`, where `f` gives the residuals and their Jacobian (`jacobian[i][j]` = d residual i / d x j), both in units
/// that make 1 a large residual and a large change.
///
/// Done when a full step is shorter than `√tolerance` in every unknown after residuals under `√tolerance`, so that the error
/// left is about `tolerance` by quadratic convergence, or when the residuals are under `tolerance`. At most `most` evaluations.
pub fn newton<const N: usize>(
    mut f: impl FnMut(&[f64; N]) -> ([f64; N], [[f64; N]; N]),
    start: [f64; N],
    tolerance: f64,
    most: usize,
) -> Result<Solved<N>, NewtonFault<N>> {
    let mut x = start;
    let (mut r, mut jacobian) = f(&x);
    let mut evaluations = 1;
    let close = tolerance.sqrt();
    while evaluations <= most {
        let residual = greatest(&r);
        if !residual.is_finite() {
            break;
        }
        if residual <= tolerance {
            return Ok(Solved { x, residual, jacobian, evaluations });
        }
        let Some(step) = solve(jacobian, r) else {
            return Err(NewtonFault { x, residual, evaluations, singular: true });
        };
        let full: [f64; N] = std::array::from_fn(|i| x[i] - step[i]);
        if greatest(&step) <= close && residual <= close {
            return Ok(Solved { x: full, residual, jacobian, evaluations });
        }
        let mut share = 1.0;
        let mut found = None;
        for _ in 0..=HALVINGS {
            let next: [f64; N] = std::array::from_fn(|i| x[i] - share * step[i]);
            let (next_r, next_jacobian) = f(&next);
            evaluations += 1;
            if greatest(&next_r) < residual {
                found = Some((next, next_r, next_jacobian));
                break;
            }
            share *= 0.5;
        }
        let Some(better) = found else { break };
        (x, r, jacobian) = better;
    }
    Err(NewtonFault { x, residual: greatest(&r), evaluations, singular: false })
}

/// Solves `a · x = b` by elimination with pivoting; `None` if `a` is singular to working accuracy.
pub fn solve<const N: usize>(mut a: [[f64; N]; N], mut b: [f64; N]) -> Option<[f64; N]> {
    let size = a.iter().flatten().fold(0.0_f64, |most, v| most.max(v.abs()));
    for column in 0..N {
        let pivot = (column..N).max_by(|i, j| a[*i][column].abs().total_cmp(&a[*j][column].abs()))?;
        let height = a[pivot][column].abs();
        if height.is_nan() || height <= f64::EPSILON * 1e-3 * size {
            return None;
        }
        a.swap(column, pivot);
        b.swap(column, pivot);
        for row in column + 1..N {
            let share = a[row][column] / a[column][column];
            let above = a[column];
            for (value, over) in a[row].iter_mut().zip(above).skip(column) {
                *value -= share * over;
            }
            b[row] -= share * b[column];
        }
    }
    let mut x = [0.0; N];
    for row in (0..N).rev() {
        let known: f64 = (row + 1..N).map(|j| a[row][j] * x[j]).sum();
        x[row] = (b[row] - known) / a[row][row];
    }
    Some(x)
}

/// Greatest absolute value; not a number if one of them is none.
fn greatest<const N: usize>(values: &[f64; N]) -> f64 {
    values.iter().fold(0.0, |most: f64, v| if v.is_nan() || most.is_nan() { f64::NAN } else { most.max(v.abs()) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tolerance_is_kept_over_decades() {
        for decade in 2..=14 {
            let tolerance = 10f64.powi(-decade);
            let mut asked = 0;
            let root = bracketed(
                |x| {
                    asked += 1;
                    x.cos() - x
                },
                0.0,
                1.5,
                tolerance,
                60,
            );
            // The Dottie number.
            assert!((root.unwrap().x - 0.739_085_133_215_160_6).abs() <= 2.0 * tolerance.max(1e-15), "{decade}");
            assert!(asked < 16, "{decade}: {asked}");
        }
    }

    #[test]
    fn hard_brackets_end() {
        // Flat to the ninth order at its root, and one with a jump instead of a root.
        let flat = bracketed(|x| (x - 0.3).powi(9), -1.0, 2.0, 1e-9, 200).unwrap();
        assert!((flat.x - 0.3).abs() < 1e-2 && flat.residual.abs() < 1e-18);
        let jump = bracketed(|x| if x < 0.7 { -1.0 } else { 1.0 }, 0.0, 1.0, 1e-12, 200).unwrap();
        assert!((jump.x - 0.7).abs() < 1e-11);
        assert!(matches!(bracketed(|x| x * x + 1.0, -1.0, 1.0, 1e-9, 99), Err(BracketFault::NoSignChange { .. })));
        assert!(matches!(bracketed(|_| f64::NAN, -1.0, 1.0, 1e-9, 99), Err(BracketFault::NoSignChange { .. })));
        assert!(matches!(bracketed(|x| x - 0.1, -1.0, 1.0, 1e-12, 3), Err(BracketFault::NotConverged { evaluations: 3, .. })));
    }

    #[test]
    fn newton_finds_the_crossing_of_a_circle_and_a_parabola() {
        let f = |v: &[f64; 2]| {
            let [x, y] = *v;
            ([x * x + y * y - 2.0, y - x * x], [[2.0 * x, 2.0 * y], [-2.0 * x, 1.0]])
        };
        let solved = newton(f, [3.0, 0.2], 1e-12, 40).unwrap();
        assert!((solved.x[0] - 1.0).abs() < 1e-11 && (solved.x[1] - 1.0).abs() < 1e-11, "{solved:?}");
    }

    #[test]
    fn newton_says_how_far_it_came() {
        let never = newton(|v: &[f64; 1]| ([v[0] * v[0] + 1.0], [[2.0 * v[0]]]), [1.0], 1e-12, 25).unwrap_err();
        assert!(0.9 < never.residual && never.evaluations <= 40, "{never:?}");
        let singular = newton(|_: &[f64; 2]| ([1.0, 2.0], [[1.0, 1.0], [1.0, 1.0]]), [0.0; 2], 1e-12, 9).unwrap_err();
        assert!(singular.singular);
    }

    #[test]
    fn elimination_pivots() {
        let x = solve([[0.0, 2.0, 1.0], [1.0, 1.0, 1.0], [2.0, 0.0, -1.0]], [7.0, 6.0, -1.0]).unwrap();
        for (got, wanted) in x.iter().zip([1.0, 2.0, 3.0]) {
            assert!((got - wanted).abs() < 1e-14);
        }
    }
}
