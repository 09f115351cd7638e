//! How stiff is this strip? It lies on two supports, a weight is hung on its middle, and the middle goes down by the sag.
//!
//! ```text
//!   E = F C / δ · (1 + s) · (1 + K (δ/L)²)        C = ∫ m² / I ds,   m = ¼ L − ½ |x − ½ L|,   I = w t³ / 12
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `F`, `δ`, `L` | weight at mid-span, sag it causes, span between the supports | N, mm, mm |
//! | `C` | the strip's give for a modulus of 1: the unit load's moment squared over the true section, taper included | 1/mm |
//! | `w`, `t` | width and thickness at the place | mm |
//! | `s` | share of the sag that is shear ([`wood::shear_fraction`]) | – |
//! | `K` | what a sag that is not small costs | – |
//!
//! A parallel strip has `C = L³ / 48 I`: `δ = F L³ / (48 E I)`, any table of beams. With a sag the strip slides in over its supports: more of
//! it lies between them, and it gives more than the small-sag formula says, by 3.1 (δ/L)² where the supports push straight up and by
//! 10.3 (δ/L)² where they push square to the strip, without friction (elastica, computed independently; `tests/strip_tests.rs`). The middle is taken, and
//! half the difference counts as an error. Sags beyond [`MAX_SAG`] of the span are not for this formula.
//!
//! Errors are combined as JCGM 100:2008 does (5.1.2, annex G.4): standard deviations square-summed, Student's quantile at the effective number of
//! degrees of freedom. What a reading is good to is common practice, no source; the sag's can be stated.

use crate::model::wood;
use crate::numeric::interp::Curve;
use crate::numeric::{fit, ode};

/// One test.
#[derive(Debug, Clone, Copy)]
pub struct Test<'a> {
    pub span_mm: f64,
    pub weight_n: f64,
    /// What the weight alone makes, once or several times.
    pub sag_mm: &'a [f64],
    /// A sag is read to this either way (two standard deviations), mm.
    pub reads_mm: f64,
    /// Over the place from one of the supports.
    pub width_mm: &'a Curve,
    pub thickness_mm: &'a Curve,
}

/// What a test says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tested {
    /// Free of shear, MPa.
    pub modulus_mpa: f64,
    /// One standard deviation of the errors that each test has for itself, relative, and their degrees of freedom.
    pub own: f64,
    pub freedom: f64,
    /// And of those that all tests on this span with this weight share.
    pub shared: f64,
    /// Share of the sag that shear has.
    pub shear: f64,
    /// What the interval is made of, relative standard deviations.
    pub parts: [(ErrorSource, f64); 5],
}

/// What a test is uncertain by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ErrorSource {
    Sag,
    Thickness,
    Width,
    Span,
    Weight,
}

/// Several tests of one strip, or one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TestedModulus {
    pub modulus_mpa: f64,
    /// One standard deviation, relative.
    pub deviation: f64,
    /// The part of it that other strips on the same supports do not share.
    pub own: f64,
    /// Half of the 95 % interval, relative.
    pub half_width: f64,
    pub tests: usize,
}

/// Beyond this share of the span the sag is not small.
pub const MAX_SAG: f64 = 0.05;
/// Shorter spans than this many thicknesses bend by shear as well: there its share is a hundredth and a half.
pub const MIN_SLENDERNESS: f64 = 35.0;
/// Standard deviations of what is read. Common practice, no source: a caliper on wood, a rule along the bench, a kitchen scale.
const THICKNESS_MM: f64 = 0.013;
const WIDTH_MM: f64 = 0.15;
const SPAN_MM: f64 = 0.5;
const WEIGHT: f64 = 0.005;
/// Between supports that push up and supports that push square to the strip: the middle, and half the difference (a tenth more for
/// strips that taper toward their supports).
const LARGE_SAG: f64 = 6.7;
const LARGE_SAG_HALF: f64 = 4.0;

/// The strip's give for a modulus of 1, 1/mm: sag over weight times modulus.
///
/// ```
/// use taperwright::{mechanics::strip_test::give, numeric::interp::Curve};
/// let inertia = 40.0 * 5.0_f64.powi(3) / 12.0;
/// let parallel = give(600.0, &Curve::constant(40.0), &Curve::constant(5.0));
/// assert!((parallel / (600.0_f64.powi(3) / (48.0 * inertia)) - 1.0).abs() < 1e-12);
/// ```
pub fn give(span_mm: f64, width_mm: &Curve, thickness_mm: &Curve) -> f64 {
    let mut corners = vec![0.5 * span_mm];
    corners.extend(width_mm.points().iter().chain(thickness_mm.points()).map(|point| point.0));
    let mesh = ode::mesh(0.0, span_mm, &corners, span_mm / STEPS);
    let slope = |x: f64, _: &[f64; 1]| {
        let arm = 0.25 * span_mm - 0.5 * (x - 0.5 * span_mm).abs();
        [12.0 * arm * arm / (width_mm.at(x) * thickness_mm.at(x).powi(3))]
    };
    ode::walk(&mesh, [0.0], slope)[0]
}

/// Sixth order: a taper of one to two over the span is integrated to 1e-10.
const STEPS: f64 = 40.0;

/// The modulus that one test gives; `None` where a number makes no test (no sag, no wood).
pub fn modulus(test: &Test<'_>) -> Option<Tested> {
    let n = test.sag_mm.len();
    let sag = fit::mean(test.sag_mm)?;
    let middle = test.thickness_mm.at(0.5 * test.span_mm);
    let plain = give(test.span_mm, test.width_mm, test.thickness_mm);
    let shear = wood::shear_fraction(test.span_mm / middle);
    let bow = (sag.value / test.span_mm).powi(2);
    let modulus_mpa = test.weight_n * plain / sag.value * (1.0 + shear) * (1.0 + LARGE_SAG * bow);
    if !(modulus_mpa.is_finite() && 0.0 < modulus_mpa) {
        return None;
    }
    let moved = |curve: &Curve, by: f64| {
        let points = curve.points().iter().map(|(x, y)| (*x, y + by)).collect();
        Curve::through(points, curve.between()).unwrap_or_else(|_| curve.clone())
    };
    let by = |changed: f64| (changed / plain).ln().abs();
    let thickness = by(give(test.span_mm, test.width_mm, &moved(test.thickness_mm, THICKNESS_MM)));
    let width = by(give(test.span_mm, &moved(test.width_mm, WIDTH_MM), test.thickness_mm));
    let span = by(give(test.span_mm + SPAN_MM, test.width_mm, test.thickness_mm));
    // Readings of the sag show their own scatter from three on; less than what one reading is good to is chance.
    let stated = 0.5 * test.reads_mm;
    let shown = sag.scatter.filter(|shown| 3 <= n && stated < *shown);
    let of_sag = shown.unwrap_or(stated) / (n as f64).sqrt() / sag.value;
    let formula = (0.5 * shear).hypot(LARGE_SAG_HALF * bow / 3.0_f64.sqrt());
    let own = of_sag.hypot(thickness).hypot(width);
    let freedom = shown.map_or(MAX_FREEDOM, |_| ((n - 1) as f64 * (own / of_sag).powi(4)).min(MAX_FREEDOM));
    Some(Tested {
        modulus_mpa,
        own,
        freedom,
        shared: span.hypot(WEIGHT).hypot(formula),
        shear,
        parts: [
            (ErrorSource::Sag, of_sag),
            (ErrorSource::Thickness, thickness),
            (ErrorSource::Width, width),
            (ErrorSource::Span, span),
            (ErrorSource::Weight, WEIGHT),
        ],
    })
}

/// As good as infinitely many: Student's quantile is the normal one to four digits.
const MAX_FREEDOM: f64 = 1e4;

/// All tests of one strip: the geometric mean, since errors multiply. `None` without a test.
pub fn together(tests: &[Tested]) -> Option<TestedModulus> {
    let logs: Vec<f64> = tests.iter().map(|tested| tested.modulus_mpa.ln()).collect();
    let mean = fit::mean(&logs)?;
    let n = tests.len() as f64;
    let stated = (tests.iter().map(|tested| tested.own.powi(2)).sum::<f64>() / n).sqrt();
    let shown = mean.scatter.filter(|shown| 3 <= tests.len() && stated < *shown);
    let own = shown.unwrap_or(stated) / n.sqrt();
    let freedom = match shown {
        Some(_) => n - 1.0,
        None => tests.iter().map(|tested| tested.freedom).fold(MAX_FREEDOM, f64::min) * n,
    };
    let shared = tests.iter().map(|tested| tested.shared).fold(0.0, f64::max);
    let deviation = own.hypot(shared);
    let freedom = (freedom * (deviation / own).powi(4)).min(MAX_FREEDOM);
    Some(TestedModulus {
        modulus_mpa: mean.value.exp(),
        deviation,
        own,
        half_width: fit::students(freedom) * deviation,
        tests: tests.len(),
    })
}

/// Two tests of one strip differ by more than their own errors allow.
pub fn contradict(a: &Tested, b: &Tested) -> bool {
    // Three and a half standard deviations: one pair of honest tests in two thousand.
    3.5 * a.own.hypot(b.own).hypot(a.shared.max(b.shared)) < (a.modulus_mpa / b.modulus_mpa).ln().abs()
}
