//! How far a flat carrier gives way between its supports under the pressure roller of a sander.
//!
//! The carrier is a beam of rectangular section; the roller's force stands midway between two supports. A carrier that is
//! free to turn over its supports is *simply supported*; one that runs on over many supports and lies fast is stiffer, at most
//! *held at both ends*. The truth lies between the two: [`Carried`] says where, for a carrier that runs on over its supports and
//! is jointed over some of them, with the roller anywhere, by the equation of three moments.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `P` | force of the roller | N |
//! | `L` | distance between the supports | mm |
//! | `E` | bending modulus of the carrier | MPa |
//! | `I` | second moment of its section, `b h³ / 12` | mm⁴ |
//! | `M` | bending moment over a support, positive where the carrier bows down | N mm |
//! | `a`, `b` | from the support on the left and on the right to the roller | mm |
//!
//! ```text
//!   M₀ L₁ + 2 M₁ (L₁ + L₂) + M₂ L₂ = −P a (L₁² − a²)/L₁  (roller left of support 1)  − P b (L₂² − b²)/L₂  (right of it)
//!   sag = P a² b²/(3 E I L) + M₀ a b (L + b)/(6 E I L) + M₁ a b (L + a)/(6 E I L)
//! ```
//!
//! Valid for spans of more than some ten thicknesses, where shear adds little; sheets of veneer are softer in shear than
//! solid wood, so that at short spans the real sag is greater.
//!
//! Source: W. C. Young, R. G. Budynas, Roark's Formulas for Stress and Strain, 7th ed., Table 8.1, cases 1e and 1d with the load
//! at mid-span; the same in any handbook of beams. Three moments: S. Timoshenko, Strength of Materials, part I, chapter on statically
//! indeterminate beams (from memory); `tests/sleds.rs` holds it against a handbook's two-span beam and against finite elements.

use crate::model::workshop::{Sander, SledPlan};

/// A carrier's section and material, and the force on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadedBeam {
    pub width_mm: f64,
    pub thickness_mm: f64,
    pub modulus_mpa: f64,
    pub roller_n: f64,
}

/// A carrier on its supports, under the roller.
#[derive(Debug, Clone, PartialEq)]
pub struct Carried {
    pub beam: LoadedBeam,
    /// Increasing, `u` in mm.
    pub supports_mm: Vec<f64>,
    /// Those of the supports over which the carrier is jointed and turns freely, increasing.
    pub joints_mm: Vec<f64>,
}

impl Carried {
    /// How far it gives way under a roller at `u`, mm.
    pub fn sag_mm(&self, u: f64) -> f64 {
        let LoadedBeam { roller_n: p, modulus_mpa, .. } = self.beam;
        let ei = modulus_mpa * self.beam.second_moment_mm4();
        let on = self.piece_at(u);
        let spans: Vec<f64> = on.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let (Some(first), Some(last)) = (on.first(), on.last()) else { return 0.0 };
        let overhang = if u < *first { first - u } else { (u - last).max(0.0) };
        if spans.is_empty() {
            return p * overhang.powi(3) / (3.0 * ei);
        }
        if 0.0 < overhang {
            // Seen from the end that the roller stands beyond.
            let spans: Vec<f64> = if u < *first { spans } else { spans.into_iter().rev().collect() };
            let mut right = vec![0.0; spans.len() - 1];
            if let Some(right) = right.first_mut() {
                *right = p * overhang * spans[0];
            }
            let next = moments(&spans, right).first().copied().unwrap_or(0.0);
            let turned = spans[0] * (2.0 * p * overhang - next) / (6.0 * ei);
            return overhang * turned + p * overhang.powi(3) / (3.0 * ei);
        }
        let bay = on.partition_point(|support| *support <= u).clamp(1, spans.len()) - 1;
        let (l, a) = (spans[bay], u - on[bay]);
        let b = l - a;
        let mut right = vec![0.0; spans.len() - 1];
        if 0 < bay {
            right[bay - 1] = -p * b * (l * l - b * b) / l;
        }
        if bay + 1 < spans.len() {
            right[bay] = -p * a * (l * l - a * a) / l;
        }
        let inner = moments(&spans, right);
        let moment = |support: usize| support.checked_sub(1).and_then(|at| inner.get(at)).copied().unwrap_or(0.0);
        let held = moment(bay) * (l + b) + moment(bay + 1) * (l + a);
        (p * a * a * b * b / 3.0 + held * a * b / 6.0) / (ei * l)
    }

    /// The most it gives way between two places, mm.
    pub fn worst_mm(&self, from: f64, to: f64) -> f64 {
        // Fine enough that the greatest is missed by less than a hundredth of it: it lies near the middle of a span.
        const PARTS: u32 = 16;
        let inside = self.supports_mm.iter().copied().filter(|u| from < *u && *u < to);
        let marks: Vec<f64> = [from].into_iter().chain(inside).chain([to]).collect();
        let at = |pair: &[f64], k: u32| pair[0] + (pair[1] - pair[0]) * f64::from(k) / f64::from(PARTS);
        let all = marks.windows(2).flat_map(|pair| (0..=PARTS).map(move |k| at(pair, k)));
        all.map(|u| self.sag_mm(u)).fold(0.0, f64::max)
    }

    /// Supports of the piece of the carrier on which `u` lies.
    fn piece_at(&self, u: f64) -> &[f64] {
        const SAME_MM: f64 = 1e-6;
        let joint = self.joints_mm.partition_point(|joint| *joint <= u);
        let from = joint
            .checked_sub(1)
            .map_or(0, |before| self.supports_mm.partition_point(|support| *support < self.joints_mm[before] - SAME_MM));
        let to = self
            .joints_mm
            .get(joint)
            .map_or(self.supports_mm.len(), |next| self.supports_mm.partition_point(|support| *support <= next + SAME_MM));
        &self.supports_mm[from.min(to)..to]
    }
}

/// Moments over the inner supports of a beam of these spans, by elimination from left to right; `right` are the right sides.
fn moments(spans: &[f64], mut right: Vec<f64>) -> Vec<f64> {
    let n = right.len();
    let mut diagonal: Vec<f64> = (0..n).map(|k| 2.0 * (spans[k] + spans[k + 1])).collect();
    for k in 1..n {
        let factor = spans[k] / diagonal[k - 1];
        diagonal[k] -= factor * spans[k];
        right[k] -= factor * right[k - 1];
    }
    for k in (0..n).rev() {
        let above = if k + 1 < n { spans[k + 1] * right[k + 1] } else { 0.0 };
        right[k] = (right[k] - above) / diagonal[k];
    }
    right
}

impl LoadedBeam {
    /// A sled's deck or board, under the sander's roller.
    pub fn of(plan: &SledPlan, thickness_mm: f64, width_mm: f64, sander: &Sander) -> LoadedBeam {
        LoadedBeam { width_mm, thickness_mm, modulus_mpa: plan.sheet.modulus_mpa, roller_n: sander.roller_n }
    }

    /// Held fast at both supports and free on them, mm.
    pub fn sag_mm(&self, span_mm: f64) -> [f64; 2] {
        [self.held_mm(span_mm), self.simply_supported_mm(span_mm)]
    }

    /// Second moment of area about the middle of the thickness, mm⁴.
    pub fn second_moment_mm4(&self) -> f64 {
        self.width_mm * self.thickness_mm.powi(3) / 12.0
    }

    /// `P L³ / (48 E I)`, mm.
    ///
    /// ```
    /// // 48 N on a 12 × 10 mm bar (I = 1000 mm⁴) of 10 000 MPa over 100 mm: 48 · 10⁶ / (48 · 10⁴ · 10³) = 0.1 mm.
    /// let bar = taperwright::shop::sag::LoadedBeam { width_mm: 12.0, thickness_mm: 10.0, modulus_mpa: 1e4, roller_n: 48.0 };
    /// assert!((bar.simply_supported_mm(100.0) - 0.1).abs() < 1e-12);
    /// ```
    pub fn simply_supported_mm(&self, span_mm: f64) -> f64 {
        self.roller_n * span_mm.powi(3) / (48.0 * self.modulus_mpa * self.second_moment_mm4())
    }

    /// `P L³ / (192 E I)`, mm.
    pub fn held_mm(&self, span_mm: f64) -> f64 {
        0.25 * self.simply_supported_mm(span_mm)
    }

    /// The span over which the simply supported sag is `sag_mm`, mm.
    pub fn span_for_mm(&self, sag_mm: f64) -> f64 {
        (48.0 * self.modulus_mpa * self.second_moment_mm4() * sag_mm / self.roller_n).cbrt()
    }
}
