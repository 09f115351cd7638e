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
        CarrierPiece::of(self.piece_at(u)).sag_mm(&self.beam, u)
    }

    /// The most it gives way between two places, mm.
    pub fn worst_mm(&self, from: f64, to: f64) -> f64 {
        // Fine enough that the greatest is missed by less than a hundredth of it: it lies near the middle of a span.
        const PARTS: u32 = 16;
        let inside = self.supports_mm.iter().copied().filter(|u| from < *u && *u < to);
        let marks: Vec<f64> = [from].into_iter().chain(inside).chain([to]).collect();
        let mut piece = CarrierPiece::of(&[]);
        let mut worst_mm = 0.0_f64;
        for pair in marks.windows(2) {
            for k in 0..=PARTS {
                let u = pair[0] + (pair[1] - pair[0]) * f64::from(k) / f64::from(PARTS);
                let on = self.piece_at(u);
                if !std::ptr::eq(on, piece.on) {
                    piece = CarrierPiece::of(on);
                }
                worst_mm = worst_mm.max(piece.sag_mm(&self.beam, u));
            }
        }
        worst_mm
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

/// A piece of a carrier between joints: its supports, and how moments over the inner ones answer to what a roller asks of one.
struct CarrierPiece<'s> {
    on: &'s [f64],
    spans: Vec<f64>,
    /// Of the inverse of the equations of three moments: what stands on its diagonal, and what stands beside it on the right.
    own: Vec<f64>,
    next: Vec<f64>,
}

impl<'s> CarrierPiece<'s> {
    /// A load between two supports asks something of those two alone, and is answered by the moments over those two: of the inverse of the tridiagonal
    /// system only the diagonals are needed, which follow from its elimination from both ends,
    /// `δ_k = d_k − L_k²/δ_{k−1}` and `ε_k = d_k − L_{k+1}²/ε_{k+1}`: `1/(δ_k + ε_k − d_k)`, and beside it that times `−L_{k+1}/ε_{k+1}`.
    fn of(on: &'s [f64]) -> CarrierPiece<'s> {
        let spans: Vec<f64> = on.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let n = spans.len().saturating_sub(1);
        let d: Vec<f64> = (0..n).map(|k| 2.0 * (spans[k] + spans[k + 1])).collect();
        let (mut from_left, mut from_right) = (d.clone(), d.clone());
        for k in 1..n {
            from_left[k] -= spans[k] * spans[k] / from_left[k - 1];
            let k = n - 1 - k;
            from_right[k] -= spans[k + 1] * spans[k + 1] / from_right[k + 1];
        }
        let own: Vec<f64> = (0..n).map(|k| 1.0 / (from_left[k] + from_right[k] - d[k])).collect();
        let next = (1..n).map(|k| -own[k - 1] * spans[k] / from_right[k]).collect();
        CarrierPiece { on, spans, own, next }
    }

    /// How far it gives way under the beam's roller at `u`, mm.
    fn sag_mm(&self, beam: &LoadedBeam, u: f64) -> f64 {
        let CarrierPiece { on, spans, own, next } = self;
        let p = beam.roller_n;
        let ei = beam.modulus_mpa * beam.second_moment_mm4();
        let (Some(first), Some(last)) = (on.first(), on.last()) else { return 0.0 };
        let overhang = if u < *first { first - u } else { (u - last).max(0.0) };
        let (Some(first_span), Some(last_span)) = (spans.first(), spans.last()) else {
            return p * overhang.powi(3) / (3.0 * ei);
        };
        if 0.0 < overhang {
            // Of the end beyond which the roller stands.
            let (span, own) = if u < *first { (first_span, own.first()) } else { (last_span, own.last()) };
            let inner = own.map_or(0.0, |own| own * p * overhang * span);
            let turned = span * (2.0 * p * overhang - inner) / (6.0 * ei);
            return overhang * turned + p * overhang.powi(3) / (3.0 * ei);
        }
        let bay = on.partition_point(|support| *support <= u).clamp(1, spans.len()) - 1;
        let (l, a) = (spans[bay], u - on[bay]);
        let b = l - a;
        // The bay stands between the inner supports `bay − 1` and `bay`; at the piece's ends nothing is held.
        let asked = [-p * b * (l * l - b * b) / l, -p * a * (l * l - a * a) / l];
        let between = bay.checked_sub(1).and_then(|left| next.get(left)).copied().unwrap_or(0.0);
        let of_left = bay.checked_sub(1).map_or(0.0, |left| own[left]);
        let of_right = own.get(bay).copied().unwrap_or(0.0);
        let moments = [of_left * asked[0] + between * asked[1], between * asked[0] + of_right * asked[1]];
        let held = moments[0] * (l + b) + moments[1] * (l + a);
        (p * a * a * b * b / 3.0 + held * a * b / 6.0) / (ei * l)
    }
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
