//! Where a function of one unknown is least: the golden section.
//!
//! Each narrowing keeps `0.618` of the interval and costs one evaluation, so that `n` of them leave `0.618ⁿ` of it: first order, with a
//! bound that is exact. For a function with one valley; with several the least of what was seen comes out. Nearer than the square root of
//! rounding a smooth valley is flat, so that some thirty narrowings are all there is to have.
//!
//! Source: J. Kiefer, "Sequential minimax search for a maximum", Proc. Amer. Math. Soc. 4 (1953) 502–506; from memory, tested below.

/// The least value that was seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Minimum {
    pub x: f64,
    pub value: f64,
    pub evaluations: usize,
}

const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// The least value of `f` that `2 + narrowings` evaluations between `low` and `high` meet; its first failure ends the search.
///
/// ```
/// let least = taperwright::numeric::minimum::golden(|x| Ok::<_, ()>((x - 2.0) * (x - 2.0)), 0.0, 5.0, 30).unwrap();
/// assert!((least.x - 2.0).abs() < 1e-6 && least.evaluations == 32);
/// ```
pub fn golden<E>(mut f: impl FnMut(f64) -> Result<f64, E>, low: f64, high: f64, narrowings: usize) -> Result<Minimum, E> {
    let (mut low, mut high) = (low, high);
    let (mut a, mut b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut fa, mut fb) = (f(a)?, f(b)?);
    let mut min = if fa <= fb { (a, fa) } else { (b, fb) };
    for _ in 0..narrowings {
        let tried = if fa < fb {
            (high, b, fb) = (b, a, fa);
            a = high - GOLDEN * (high - low);
            fa = f(a)?;
            (a, fa)
        } else {
            (low, a, fa) = (a, b, fb);
            b = low + GOLDEN * (high - low);
            fb = f(b)?;
            (b, fb)
        };
        if tried.1 < min.1 {
            min = tried;
        }
    }
    Ok(Minimum { x: min.0, value: min.1, evaluations: 2 + narrowings })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_narrowing_keeps_the_golden_part() {
        for narrowings in [5, 10, 20] {
            let min = golden(|x: f64| Ok::<_, ()>((x - 0.3).abs()), 0.0, 1.0, narrowings).unwrap();
            assert!((min.x - 0.3).abs() <= GOLDEN.powi(narrowings as i32 + 1), "{narrowings}: {min:?}");
            assert_eq!(min.evaluations, narrowings + 2);
        }
    }

    #[test]
    fn a_valley_at_an_end_and_a_failure() {
        let falling = golden(|x: f64| Ok::<_, ()>(-x), 0.0, 1.0, 25).unwrap();
        assert!(0.9999 < falling.x, "{falling:?}");
        assert_eq!(golden(|x| if x < 0.5 { Err(x) } else { Ok(x) }, 0.0, 1.0, 9).map(|_| ()).map_err(|x| x < 0.5), Err(true));
    }
}
