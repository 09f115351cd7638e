//! Where a function is nought: one unknown, in a bracket or by secants, or a few unknowns by Newton's method with a Jacobian.
//!
//! All are bounded, and a failure carries the numbers that were reached. A function of one unknown may fail on its own ([`secant`],
//! [`fallible_bracketed`]): the first failure ends the search and comes out.
//!
//! | search | order near a simple root | evaluations | at the bound |
//! |---|---|---|---|
//! | [`bracketed`] | 1.8 (inverse quadratic), never worse than halving | as told | the bracket that is left, as a fault |
//! | [`secant`] | 1.6 | as told | the last point, as [`SecantEnd::NotConverged`] |
//! | [`bisect`] | 1: a bit for each halving | as told | the pair that is left: it is the answer |
//! | [`newton`] | 2 | about as told | the last point, as a fault |
//!
//! * In a bracket: T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function
//!   without using derivatives", Advances in Engineering Software 28 (1997) 145–149. Never leaves the bracket.
//! * Several unknowns: Newton's method, the step halved until the residual falls (at most [`HALVINGS`] times).

use std::convert::Infallible;

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
    /// The function has the same sign, or no value, at both ends.
    NoSignChange { x: [f64; 2], residual: [f64; 2] },
    /// The bound on evaluations was met with this bracket left, or the function has no value inside it.
    NotConverged { x: [f64; 2], residual: [f64; 2], evaluations: usize },
}

/// Why no root was found of a function that may fail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RootFault<E> {
    /// The function itself failed.
    Function(E),
    Bracket(BracketFault),
}

/// The root of `f` between `a` and `b`, to within `tolerance` in `x`, in at most `max` evaluations (two at the ends are always taken).
pub fn bracketed(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, tolerance: f64, max: usize) -> Result<Root, BracketFault> {
    fallible_bracketed(|x| Ok::<f64, Infallible>(f(x)), a, b, tolerance, max).map_err(|fault| match fault {
        RootFault::Bracket(fault) => fault,
        RootFault::Function(never) => match never {},
    })
}

/// The same for a function that may fail: its first failure ends the search.
pub fn fallible_bracketed<E>(
    mut f: impl FnMut(f64) -> Result<f64, E>,
    a: f64,
    b: f64,
    tolerance: f64,
    max: usize,
) -> Result<Root, RootFault<E>> {
    let mut f = |x: f64| f(x).map_err(RootFault::Function);
    let (mut a, mut b) = (a, b);
    let (mut fa, mut fb) = (f(a)?, f(b)?);
    let mut evaluations = 2;
    // Signs, not the product: that of two small values is nought.
    if fa.is_nan() || fb.is_nan() || same_sign(fa, fb) {
        return Err(RootFault::Bracket(BracketFault::NoSignChange { x: [a, b], residual: [fa, fb] }));
    }
    let mut fraction: f64 = 0.5;
    loop {
        let nearest = if fa.abs() < fb.abs() { (a, fa) } else { (b, fb) };
        let width = (b - a).abs();
        let limit = tolerance + 2.0 * f64::EPSILON * nearest.0.abs();
        if evaluations < max && (width <= 2.0 * limit || nearest.1.abs() <= 0.0) {
            return Ok(Root { x: nearest.0, residual: nearest.1, evaluations });
        }
        let margin = limit / width;
        let x = a + fraction.clamp(margin, 1.0 - margin) * (b - a);
        let fx = if evaluations < max { f(x)? } else { f64::NAN };
        if fx.is_nan() {
            return Err(RootFault::Bracket(BracketFault::NotConverged { x: [a, b], residual: [fa, fb], evaluations }));
        }
        evaluations += 1;
        let (c, fc);
        if same_sign(fx, fa) {
            (c, fc) = (a, fa);
        } else {
            (c, fc) = (b, fb);
            (b, fb) = (a, fa);
        }
        (a, fa) = (x, fx);
        // Inverse quadratic where it is safe, half the bracket elsewhere.
        let (xi, phi) = ((a - b) / (c - b), (fa - fb) / (fc - fb));
        fraction = if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
            fa / (fb - fa) * fc / (fb - fc) + (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        } else {
            0.5
        };
    }
}

/// Both above nought, or both below.
fn same_sign(a: f64, b: f64) -> bool {
    (0.0 < a && 0.0 < b) || (a < 0.0 && b < 0.0)
}

/// How a root is looked for by secants: from a start with a slope that is believed there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Secant {
    pub start: f64,
    /// df/dx at the start. A later secant of the other sign is noise of a tiny step, and the slope before it is kept.
    pub slope: f64,
    /// The unknown stays within these.
    pub within: [f64; 2],
    /// Done when the function is no farther from nought than this.
    pub close: f64,
    /// Held where the next step is no longer than this.
    pub min_step: f64,
    /// Bound on evaluations, at least one.
    pub max: usize,
}

/// How a search by secants ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SecantEnd {
    Root(Root),
    /// The search leads out of its limits, or moves no more, with this left; `upper`: it wanted to go up.
    Held {
        at: Root,
        upper: bool,
    },
    /// The bound on evaluations was met here.
    NotConverged(Root),
}

/// Secants on `f`, at most [`Secant::max`] evaluations; the first failure of `f` ends the search.
///
/// ```
/// use taperwright::numeric::root::{Secant, SecantEnd, secant};
/// let how = Secant { start: 1.0, slope: 2.0, within: [0.0, 9.0], close: 1e-12, min_step: 1e-15, max: 20 };
/// let Ok::<_, ()>(SecantEnd::Root(root)) = secant(|x| Ok(x * x - 2.0), how) else { panic!() };
/// assert!((root.x - 2.0_f64.sqrt()).abs() < 1e-12);
/// ```
pub fn secant<E>(mut f: impl FnMut(f64) -> Result<f64, E>, how: Secant) -> Result<SecantEnd, E> {
    let [low, high] = how.within;
    let clamped = |x: f64| x.max(low).min(high);
    let (mut x, mut slope) = (clamped(how.start), how.slope);
    let mut y = f(x)?;
    for evaluations in 1..=how.max {
        let here = Root { x, residual: y, evaluations };
        if y.abs() <= how.close {
            return Ok(SecantEnd::Root(here));
        }
        let step = -y / slope;
        let next = clamped(x + step);
        if (next - x).abs() <= how.min_step {
            return Ok(SecantEnd::Held { at: here, upper: 0.0 < step });
        }
        if evaluations == how.max || !next.is_finite() {
            return Ok(SecantEnd::NotConverged(here));
        }
        let next_y = f(next)?;
        let through = (next_y - y) / (next - x);
        if through.is_finite() && 0.0 < through.signum() * slope.signum() && 0.0 < through.abs() {
            slope = through;
        }
        (x, y) = (next, next_y);
    }
    Ok(SecantEnd::NotConverged(Root { x, residual: y, evaluations: how.max }))
}

/// Two places, near to each other, between which a condition ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    pub holds: f64,
    pub fails: f64,
}

impl Edge {
    pub fn middle(self) -> f64 {
        0.5 * (self.holds + self.fails)
    }
}

/// Where a condition that holds at `holds` and fails at `fails` ends: the distance halved `halvings` times, or until no number is left
/// between. With several ends one of them.
///
/// ```
/// let edge = taperwright::numeric::root::bisect(|x| x * x < 2.0, 0.0, 2.0, 100);
/// assert!((edge.holds - 2.0_f64.sqrt()).abs() < 1e-15 && edge.holds < edge.fails);
/// ```
#[must_use]
pub fn bisect(mut condition: impl FnMut(f64) -> bool, holds: f64, fails: f64, halvings: u32) -> Edge {
    let mut edge = Edge { holds, fails };
    for _ in 0..halvings {
        let middle = edge.middle();
        if condition(middle) {
            edge.holds = middle;
        } else {
            edge.fails = middle;
        }
    }
    edge
}

/// A root of several unknowns, with the Jacobian last used (exact to the last step's length).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NewtonRoot<const N: usize> {
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
) -> Result<NewtonRoot<N>, NewtonFault<N>> {
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
            return Ok(NewtonRoot { x, residual, jacobian, evaluations });
        }
        let Some(step) = solve(jacobian, r) else {
            return Err(NewtonFault { x, residual, evaluations, singular: true });
        };
        let full: [f64; N] = std::array::from_fn(|i| x[i] - step[i]);
        if greatest(&step) <= close && residual <= close {
            return Ok(NewtonRoot { x: full, residual, jacobian, evaluations });
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
    fn small_values_have_signs_too() {
        // The product of these two is less than the least number there is: no sign change was seen as one.
        let none = bracketed(|x| 1e-200 * (1.0 + x * x), -1.0, 1.0, 1e-9, 99);
        assert!(matches!(none, Err(BracketFault::NoSignChange { .. })), "{none:?}");
        let tiny = bracketed(|x| 1e-200 * (x - 0.25), -1.0, 1.0, 1e-9, 99).unwrap();
        assert!((tiny.x - 0.25).abs() < 1e-8);
        // A root that is an end is found at once.
        assert!((bracketed(|x| x - 1.0, 0.0, 1.0, 1e-9, 9).unwrap().x - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_failure_inside_a_bracket_comes_out() {
        let mut asked = 0;
        let failing = |x: f64| {
            asked += 1;
            if 0.0 < x && x < 1.0 { Err("no value") } else { Ok(x - 0.3) }
        };
        // The first inner place is the middle, 0, which has a value; the next lies in the gap.
        assert_eq!(fallible_bracketed(failing, -1.0, 1.0, 1e-9, 99), Err(RootFault::Function("no value")));
        assert!(asked <= 4, "{asked}");
        let hole = bracketed(|x| if x.abs() < 0.9 { f64::NAN } else { x }, -1.0, 1.0, 1e-9, 99);
        assert!(matches!(hole, Err(BracketFault::NotConverged { evaluations: 2, .. })), "{hole:?}");
    }

    #[test]
    fn secants_are_of_superlinear_order_and_keep_their_limits() {
        let how = Secant { start: 1.5, slope: -1.0, within: [0.0, 3.0], close: 1e-14, min_step: 1e-16, max: 30 };
        let Ok::<_, ()>(SecantEnd::Root(root)) = secant(|x| Ok(x.cos() - x), how) else { panic!("no root") };
        assert!((root.x - 0.739_085_133_215_160_6).abs() < 1e-14 && root.evaluations < 9, "{root:?}");
        // Beyond its limit it stops there and says which way it wanted to go.
        let short = Secant { within: [1.0, 3.0], ..how };
        let Ok::<_, ()>(SecantEnd::Held { at, upper: false }) = secant(|x| Ok(x.cos() - x), short) else { panic!("not held") };
        assert!((at.x - 1.0).abs() < 1e-15);
        let few = secant(|x| Ok::<_, ()>(x.cos() - x), Secant { max: 3, ..how });
        assert!(matches!(few, Ok(SecantEnd::NotConverged(Root { evaluations: 3, .. }))), "{few:?}");
        assert_eq!(secant(|x| if x < 1.0 { Err("left") } else { Ok(x.cos() - x) }, how), Err("left"));
    }

    #[test]
    fn halving_gains_a_bit_each() {
        for halvings in [1, 10, 40] {
            let edge = bisect(|x| x < 0.7, 0.0, 1.0, halvings);
            assert!(edge.holds < 0.7 && 0.7 <= edge.fails);
            assert!((edge.fails - edge.holds - 0.5_f64.powi(halvings as i32)).abs() < 1e-15);
        }
        // The condition may hold at either end.
        assert!((bisect(|x| 0.7 < x, 1.0, 0.0, 60).middle() - 0.7).abs() < 1e-15);
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
