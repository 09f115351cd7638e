//! How far a flat carrier gives way between its supports under the pressure roller of a sander.
//!
//! The carrier is a beam of rectangular section; the roller's force stands midway between two supports. A carrier that is
//! free to turn over its supports is *simply supported*; one that runs on over many supports and lies fast is stiffer, at most
//! *held at both ends*. The truth lies between the two; designs here use the first.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `P` | force of the roller | N |
//! | `L` | distance between the supports | mm |
//! | `E` | bending modulus of the carrier | MPa |
//! | `I` | second moment of its section, `b h³ / 12` | mm⁴ |
//!
//! Valid for spans of more than some ten thicknesses, where shear adds little; sheets of veneer are softer in shear than
//! solid wood, so that at short spans the real sag is greater.
//!
//! Source: W. C. Young, R. G. Budynas, Roark's Formulas for Stress and Strain, 7th ed., Table 8.1, cases 1e and 1d with the load
//! at mid-span; the same in any handbook of beams.

use crate::model::workshop::{Sander, SledPlan};

/// A carrier's section and material, and the force on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadedBeam {
    pub width_mm: f64,
    pub thickness_mm: f64,
    pub modulus_mpa: f64,
    pub roller_n: f64,
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
