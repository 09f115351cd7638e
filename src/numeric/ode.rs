//! Fixed steps along a line: a sixth-order Runge–Kutta step and the mesh it walks on.
//!
//! The right-hand side may jump at known places (corners). Each of them ends a step, and inside a step the right-hand side is
//! asked for by *node*, so that it can answer with the value of this side of the corner. With that the order holds across
//! corners, which an error-controlled step would only find by failing on them.
//!
//! Method: J. C. Butcher, "On Runge–Kutta processes of high order", J. Austral. Math. Soc. 4 (1964) 179–194: seven stages at
//! five distinct nodes 0, 1/3, 1/2, 2/3, 1. The coefficients are from memory; that they make a method of order six is tested
//! at the foot of the file. Measured on limbs in `tests/reference.rs`.

/// Where in a step, as a share of it, the right-hand side is asked for.
pub const NODES: [f64; 5] = [0.0, 1.0 / 3.0, 0.5, 2.0 / 3.0, 1.0];

/// Weights of those nodes: the integral over a step of what depends on the place alone is `h Σ w f`, exact to the fifth power.
pub const WEIGHTS: [f64; 5] = [11.0 / 120.0, 27.0 / 40.0, -8.0 / 15.0, 27.0 / 40.0, 11.0 / 120.0];

/// How often the right-hand side is asked for in a step.
pub const STAGES: usize = 7;

/// A right-hand side as a type of its own. A closure that each of the stages calls is not inlined; where much time goes into it, `at` can
/// be told to be, and of each stage only what the next ones need is worked out.
pub trait Slope<const N: usize> {
    /// dy/ds at `NODES[node]` of the step.
    fn at(&self, node: usize, y: &[f64; N]) -> [f64; N];
}

impl<const N: usize, F: Fn(usize, &[f64; N]) -> [f64; N]> Slope<N> for F {
    #[inline]
    fn at(&self, node: usize, y: &[f64; N]) -> [f64; N] {
        self(node, y)
    }
}

/// One step of length `h` from `y`; `slope(node, y)` gives dy/ds at `NODES[node]` of this step.
#[inline]
pub fn step<const N: usize>(y: &[f64; N], h: f64, slope: impl Fn(usize, &[f64; N]) -> [f64; N]) -> [f64; N] {
    step_of(y, h, &slope)
}

/// The same by a right-hand side that is a type of its own.
#[inline]
pub fn step_of<const N: usize>(y: &[f64; N], h: f64, slope: &impl Slope<N>) -> [f64; N] {
    let k1 = slope.at(0, y);
    let k2 = slope.at(1, &moved(y, h, [(1.0 / 3.0, &k1)]));
    let k3 = slope.at(3, &moved(y, h, [(2.0 / 3.0, &k2)]));
    let k4 = slope.at(1, &moved(y, h, [(1.0 / 12.0, &k1), (1.0 / 3.0, &k2), (-1.0 / 12.0, &k3)]));
    let k5 = slope.at(2, &moved(y, h, [(-1.0 / 16.0, &k1), (9.0 / 8.0, &k2), (-3.0 / 16.0, &k3), (-3.0 / 8.0, &k4)]));
    let k6 = slope.at(2, &moved(y, h, [(9.0 / 8.0, &k2), (-3.0 / 8.0, &k3), (-3.0 / 4.0, &k4), (0.5, &k5)]));
    let k7 = slope.at(
        4,
        &moved(y, h, [(9.0 / 44.0, &k1), (-9.0 / 11.0, &k2), (63.0 / 44.0, &k3), (18.0 / 11.0, &k4), (-16.0 / 11.0, &k6)]),
    );
    moved(
        y,
        h,
        [
            (11.0 / 120.0, &k1),
            (27.0 / 40.0, &k3),
            (27.0 / 40.0, &k4),
            (-4.0 / 15.0, &k5),
            (-4.0 / 15.0, &k6),
            (11.0 / 120.0, &k7),
        ],
    )
}

/// Walks over `mesh` from its first to its last place; `slope(s, y)` must be smooth inside each of its pieces.
pub fn walk<const N: usize>(mesh: &[f64], start: [f64; N], slope: impl Fn(f64, &[f64; N]) -> [f64; N]) -> [f64; N] {
    mesh.windows(2).fold(start, |y, piece| {
        let h = piece[1] - piece[0];
        step(&y, h, |node, y| slope(piece[0] + NODES[node] * h, y))
    })
}

/// Places from `from` to `to` (greater) at which steps end: every corner between them, and equal parts no longer than `max`
/// between neighbours. Corners closer together than `CLOSE` count as one.
pub fn mesh(from: f64, to: f64, corners: &[f64], max: f64) -> Vec<f64> {
    let ends = ends(from, to, corners);
    let mut mesh = vec![from];
    for pair in ends.windows(2) {
        let parts = ((pair[1] - pair[0]) / max - 1e-9).ceil().clamp(1.0, MAX_PARTS);
        let count = parts as usize;
        mesh.extend((1..count).map(|k| pair[0] + (pair[1] - pair[0]) * k as f64 / parts));
        mesh.push(pair[1]);
    }
    mesh
}

/// `from`, the corners between, and `to`, increasing, without near doubles.
pub fn ends(from: f64, to: f64, corners: &[f64]) -> Vec<f64> {
    let mut ends: Vec<f64> = corners.iter().copied().filter(|s| from + CLOSE < *s && *s < to - CLOSE).collect();
    ends.sort_by(f64::total_cmp);
    ends.dedup_by(|later, kept| *later - *kept < CLOSE);
    ends.insert(0, from);
    ends.push(to);
    ends
}

/// Corners nearer than this are one corner, mm where a limb is walked: less makes steps too short to matter and slow, more
/// moves a step of a lamination noticeably.
const CLOSE: f64 = 1e-6;
/// Bound on the steps between two corners: a limb needs tens, and a mistake in `max` shall not fill the memory.
const MAX_PARTS: f64 = 4096.0;

#[inline(always)]
fn moved<const N: usize, const K: usize>(y: &[f64; N], h: f64, parts: [(f64, &[f64; N]); K]) -> [f64; N] {
    std::array::from_fn(|i| y[i] + h * parts.iter().map(|(weight, k)| weight * k[i]).sum::<f64>())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// y' = y cos s + z, z' = −y z has no closed form to speak of; the order is read off three meshes against a fine one.
    #[test]
    fn a_step_is_of_sixth_order() {
        let run = |parts: usize| {
            let mesh: Vec<f64> = (0..=parts).map(|k| 2.0 * k as f64 / parts as f64).collect();
            walk(&mesh, [1.0, 0.5], |s, y| [y[0] * s.cos() + y[1], -y[0] * y[1]])
        };
        let exact = run(2000);
        let error = |parts: usize| (run(parts)[0] - exact[0]).abs();
        for parts in [8, 16, 32] {
            let order = (error(parts) / error(2 * parts)).log2();
            assert!(5.6 < order, "order {order} at {parts} steps");
        }
    }

    #[test]
    fn a_corner_costs_nothing_when_a_step_ends_there() {
        // dy/ds = |s − 1|, kink at 1: y(3) = 1/2 + 2.
        let slope = |s: f64, _: &[f64; 1]| [(s - 1.0).abs()];
        let ended = walk(&mesh(0.0, 3.0, &[1.0], 3.0), [0.0], slope);
        assert!((ended[0] - 2.5).abs() < 1e-14, "{ended:?}");
        let missed = walk(&[0.0, 3.0], [0.0], slope);
        assert!(1e-2 < (missed[0] - 2.5).abs(), "{missed:?}");
    }

    #[test]
    fn a_mesh_holds_its_corners_and_its_longest_step() {
        let mesh = mesh(0.0, 10.0, &[7.0, 3.0, 3.0 + 1e-9, 12.0, -1.0], 2.0);
        assert_eq!(mesh, vec![0.0, 1.5, 3.0, 5.0, 7.0, 8.5, 10.0]);
    }
}
