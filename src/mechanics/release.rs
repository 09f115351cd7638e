//! What curvature a glued section keeps when it comes off the form, and the strain that stays in it.
//!
//! While the glue is wet it carries no shear: every piece bends about its own neutral axis to the form's curvature. Once it
//! has set, the section is one. Taken off the form it springs until no force and no moment are left:
//!
//! ```text
//! κ_r = κ_f − Σ_j EI_j (κ_f − κ_j) / EI_c
//! ε(z) = ε_j(z) − (κ_f − κ_j)(z − z_j) − (κ_r − κ_f)(z − z_c)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `κ_f`, `κ_j`, `κ_r` | curvature of the form, of piece `j` before gluing, after release; positive toward the belly | 1/mm |
//! | `EI_j`, `z_j` | stiffness of piece `j` about its own neutral axis, and that axis | N mm², mm |
//! | `EI_c`, `z_c` | the same of the glued section | N mm², mm |
//! | `ε_j(z)` | strain that piece `j` carried before, positive in tension | – |
//! | `z` | depth from the back face, positive toward the belly | mm |
//!
//! For `n` equal, straight laminations this is the published rule `κ_r/κ_f = 1 − 1/n²` (Gougeon Brothers on Boat
//! Construction, laminating chapter, as quoted; there for the camber of a bend).
//!
//! Limits: thin laminations, so that terms of the order thickness over radius drop out; elastic wood; glue lines that carry
//! no shear before they set and do not creep after. Derived here; stages chain, a result being a piece of the next.

/// A strain that is linear in depth: `at_back + per_mm · z`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct StrainLine {
    pub at_back: f64,
    pub per_mm: f64,
}

impl StrainLine {
    pub fn at(&self, z_mm: f64) -> f64 {
        self.at_back + self.per_mm * z_mm
    }

    /// This strain and that of bending by `curvature` about `axis_mm`: `−curvature · (z − axis)`.
    fn bent(&self, curvature_per_mm: f64, axis_mm: f64) -> StrainLine {
        StrainLine { at_back: self.at_back + curvature_per_mm * axis_mm, per_mm: self.per_mm - curvature_per_mm }
    }
}

/// Stiffness about the neutral axis, and that axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stiffness {
    pub ei_n_mm2: f64,
    pub axis_mm: f64,
}

/// Wet pieces that slip over each other: their stiffness, N·mm², and the moment that would hold them straight, N·mm: `Σ EI_j`, `Σ EI_j κ_j`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Slipping {
    pub stiffness_n_mm2: f64,
    pub bent_n_mm: f64,
}

impl Slipping {
    pub fn add(&mut self, ei_n_mm2: f64, free_per_mm: f64) {
        self.stiffness_n_mm2 += ei_n_mm2;
        self.bent_n_mm += ei_n_mm2 * free_per_mm;
    }

    /// Curvature at which nothing holds them; straight where there is nothing.
    pub fn free_per_mm(&self) -> f64 {
        if 0.0 < self.stiffness_n_mm2 { self.bent_n_mm / self.stiffness_n_mm2 } else { 0.0 }
    }

    /// The moment that holds them at a curvature, N·mm.
    pub fn moment_n_mm(&self, form_per_mm: f64) -> f64 {
        form_per_mm * self.stiffness_n_mm2 - self.bent_n_mm
    }

    /// The curvature that is left once they are one section of stiffness `whole_n_mm2` and nothing holds it, before any creep, 1/mm.
    #[must_use]
    pub fn released_per_mm(&self, whole_n_mm2: f64, form_per_mm: f64) -> f64 {
        form_per_mm - self.moment_n_mm(form_per_mm) / whole_n_mm2
    }

    /// The form's curvature that leaves `wanted_per_mm`: `κ_f = (EI_c κ/φ − Σ EI_j κ_j) / (EI_c − Σ EI_j)`, φ the share retained; `None` where
    /// gluing adds no stiffness, so that nothing can be kept.
    #[must_use]
    pub fn form_for(&self, whole_n_mm2: f64, wanted_per_mm: f64, retained: f64) -> Option<f64> {
        let bonded = whole_n_mm2 - self.stiffness_n_mm2;
        // Less than a millionth of the section's stiffness comes from bonding: no form could reach anything.
        (1e-6 * whole_n_mm2 < bonded).then(|| (whole_n_mm2 * wanted_per_mm / retained - self.bent_n_mm) / bonded)
    }
}

/// The strain of a ply once it has gone onto the form by `onto_form_per_mm` about its piece's own axis, and come off it by `off_per_mm` about
/// that of the whole.
pub(super) fn locked(
    strain: StrainLine,
    onto_form_per_mm: f64,
    own_axis_mm: f64,
    off_per_mm: f64,
    whole_axis_mm: f64,
) -> StrainLine {
    strain.bent(onto_form_per_mm, own_axis_mm).bent(off_per_mm, whole_axis_mm)
}

#[cfg(test)]
mod tests {
    //! Against published formulas, and against values computed independently by a layered-beam solve.

    use super::super::section::Sums;
    use super::*;

    /// A layer of one material.
    #[derive(Clone, Copy)]
    struct Ply {
        modulus_mpa: f64,
        width_mm: f64,
        from_mm: f64,
        to_mm: f64,
        strain: StrainLine,
    }

    /// Plies that are one, and the curvature they have when nothing holds them.
    #[derive(Clone)]
    struct Laminate {
        plies: Vec<Ply>,
        free_curvature_per_mm: f64,
    }

    impl Laminate {
        /// A straight piece of a single layer without strain.
        fn layer(modulus_mpa: f64, width_mm: f64, from_mm: f64, to_mm: f64) -> Laminate {
            let ply = Ply { modulus_mpa, width_mm, from_mm, to_mm, strain: StrainLine::default() };
            Laminate { plies: vec![ply], free_curvature_per_mm: 0.0 }
        }

        fn stiffness(&self) -> Stiffness {
            stiffness(&self.plies)
        }

        /// Force and moment about the depth 0 of the strain it carries: both zero if nothing holds it.
        fn resultants(&self) -> [f64; 2] {
            self.plies.iter().fold([0.0; 2], |[force, moment], ply| {
                let (a, b, eb) = (ply.from_mm, ply.to_mm, ply.modulus_mpa * ply.width_mm);
                let StrainLine { at_back: c, per_mm: m } = ply.strain;
                let force_here = eb * (c * (b - a) + m * (b * b - a * a) / 2.0);
                let moment_here = eb * (c * (b * b - a * a) / 2.0 + m * (b.powi(3) - a.powi(3)) / 3.0);
                [force + force_here, moment + moment_here]
            })
        }
    }

    fn stiffness<'a>(plies: impl IntoIterator<Item = &'a Ply>) -> Stiffness {
        let mut sums = Sums::default();
        for ply in plies {
            sums.add_between(ply.from_mm, ply.to_mm, ply.modulus_mpa * ply.width_mm);
        }
        Stiffness { ei_n_mm2: sums.stiffness(), axis_mm: sums.neutral() }
    }

    fn slipping(pieces: &[Laminate]) -> (Slipping, Stiffness) {
        let mut sum = Slipping::default();
        for piece in pieces {
            sum.add(piece.stiffness().ei_n_mm2, piece.free_curvature_per_mm);
        }
        (sum, stiffness(pieces.iter().flat_map(|piece| &piece.plies)))
    }

    /// The pieces glued together while all of them lie at `form_per_mm`, then released.
    fn glued(pieces: &[Laminate], form_per_mm: f64, retained: f64) -> Laminate {
        let (slipping, whole) = slipping(pieces);
        let released = slipping.released_per_mm(whole.ei_n_mm2, form_per_mm);
        let off = released - form_per_mm;
        let plies = pieces.iter().flat_map(|piece| {
            let (own, onto) = (piece.stiffness().axis_mm, form_per_mm - piece.free_curvature_per_mm);
            piece.plies.iter().map(move |ply| Ply { strain: locked(ply.strain, onto, own, off, whole.axis_mm), ..*ply })
        });
        Laminate { plies: plies.collect(), free_curvature_per_mm: retained * released }
    }

    fn stack(layers: &[(f64, f64)]) -> Vec<Laminate> {
        let mut z = 0.0;
        layers
            .iter()
            .map(|(modulus_mpa, t)| {
                let from = z;
                z += t;
                Laminate::layer(*modulus_mpa, 1.0, from, z)
            })
            .collect()
    }

    #[test]
    fn equal_plies_follow_the_published_rule() {
        // Gougeon Brothers: springback = camber / n².
        for n in 2..=10 {
            let pieces = stack(&vec![(12_000.0, 2.0); n]);
            let kept = glued(&pieces, 1.0 / 700.0, 1.0).free_curvature_per_mm * 700.0;
            assert!((kept - (1.0 - 1.0 / (n * n) as f64)).abs() < 1e-12, "{n}");
        }
    }

    #[test]
    fn locked_in_strain_has_no_force_and_no_moment() {
        let first = glued(&stack(&[(12_000.0, 3.0), (15_000.0, 2.0)]), 1.0 / 900.0, 1.0);
        let mut pieces = vec![first];
        pieces.push(Laminate::layer(20_000.0, 0.9, 5.0, 8.0));
        let second = glued(&pieces, -1.0 / 700.0, 1.0);
        let [force, moment] = second.resultants();
        let scale: f64 = 20_000.0 * 3.0 * 8.0 / 700.0;
        assert!(force.abs() < 1e-12 * scale && moment.abs() < 1e-11 * scale, "{force} {moment}");
        assert!(second.plies.iter().any(|ply| 1e-4 < ply.strain.at(ply.from_mm).abs()));
    }

    #[test]
    fn the_form_found_for_a_wish_gives_the_wish() {
        let first = glued(&stack(&[(12_000.0, 3.0), (15_000.0, 2.0)]), 1.0 / 900.0, 0.95);
        let pieces = [first, Laminate::layer(20_000.0, 1.0, 5.0, 8.0)];
        let form_for = |pieces: &[Laminate], wanted_per_mm: f64, retained: f64| {
            let (slipping, whole) = slipping(pieces);
            slipping.form_for(whole.ei_n_mm2, wanted_per_mm, retained)
        };
        let form = form_for(&pieces, -1.0 / 2500.0, 0.95).unwrap();
        assert!((glued(&pieces, form, 0.95).free_curvature_per_mm + 1.0 / 2500.0).abs() < 1e-15);
        assert_eq!(form_for(&stack(&[(12_000.0, 3.0)]), 1e-3, 1.0), None);
    }

    /// Radius after release, mm, of straight layers `(E in MPa, t in mm)` glued on a form of this radius.
    fn radius(layers: &[(f64, f64)], form_radius_mm: f64) -> f64 {
        1.0 / glued(&stack(layers), 1.0 / form_radius_mm, 1.0).free_curvature_per_mm
    }

    fn close(value: f64, expected: f64, relative: f64) {
        assert!((value - expected).abs() <= relative * expected.abs(), "{value} is not {expected}");
    }

    /// S. Timoshenko, "Analysis of bi-metal thermostats", J. Opt. Soc. Am. 11 (1925) 233–255, eq. (4):
    /// κ h/ε = 6 (1 + m)² / (3 (1 + m)² + (1 + m n)(m² + 1/(m n))), m and n the ratios of thickness and modulus.
    ///
    /// Two straight layers on a form slip by ε = κ_f (t1 + t2)/2 where they meet. Glued there and released they are his strip
    /// with that misfit.
    #[test]
    fn two_layers_are_timoshenkos_strip() {
        for (m, n) in [(1.0, 1.0), (1.0, 2.0), (2.0, 1.0), (0.5, 1.0), (3.0, 0.6), (0.25, 1.5)] {
            let (h, form) = (6.0, 1.0 / 800.0);
            let (a1, a2) = (h * m / (1.0 + m), h / (1.0 + m));
            let misfit = form * h / 2.0;
            let timoshenko = 6.0 * misfit * (1.0_f64 + m).powi(2)
                / (h * (3.0 * (1.0_f64 + m).powi(2) + (1.0 + m * n) * (m * m + 1.0 / (m * n))));
            let ours = glued(&stack(&[(n * 10_000.0, a1), (10_000.0, a2)]), form, 1.0).free_curvature_per_mm;
            close(ours, timoshenko, 1e-12);
        }
    }

    /// Computed independently (layered beam with no force and no moment).
    #[test]
    fn unequal_and_mixed_stacks() {
        close(radius(&[(13_000.0, 4.0), (13_000.0, 2.0)], 500.0), 750.0, 1e-9);
        close(radius(&[(12_000.0, 6.0), (20_000.0, 3.0)], 800.0), 1_115.061_728_40, 1e-9);
        close(radius(&[(15_000.0, 2.5), (10_000.0, 5.0), (15_000.0, 2.5)], 600.0), 681.481_481_48, 1e-9);
        let whole = glued(&stack(&[(12_000.0, 6.0), (20_000.0, 3.0)]), 1e-3, 1.0).stiffness();
        close(whole.ei_n_mm2, 923_727.272_7, 1e-9);
        close(whole.axis_mm, 5.045_454_545_5, 1e-9);
    }

    /// Computed independently: a pair glued on 900 mm, then a third layer on 700 mm, the same way or the other.
    #[test]
    fn two_stages_chain() {
        let first = glued(&stack(&[(12_000.0, 3.0), (12_000.0, 3.0)]), 1.0 / 900.0, 1.0);
        close(1.0 / first.free_curvature_per_mm, 1200.0, 1e-12);
        let third = Laminate::layer(20_000.0, 1.0, 6.0, 9.0);
        let same = glued(&[first.clone(), third.clone()], 1.0 / 700.0, 1.0);
        close(1.0 / same.free_curvature_per_mm, 819.813_278_01, 1e-9);
        let opposite = glued(&[first, third], -1.0 / 1500.0, 1.0);
        close(opposite.free_curvature_per_mm * 1000.0, -0.283_436_669_6, 1e-8);
        close(radius(&[(12_000.0, 3.0), (12_000.0, 3.0), (20_000.0, 3.0)], 700.0), 784.027_777_78, 1e-9);
    }

    /// A layered strip of thin fibres bent to a circle: the glued section's energy is least at the curvature we release to.
    #[test]
    fn released_curvature_is_the_one_of_least_energy() {
        let first = glued(&stack(&[(12_000.0, 3.0), (16_000.0, 2.0)]), 1.0 / 900.0, 1.0);
        let (form, second) = (-1.0 / 1100.0, Laminate::layer(20_000.0, 0.8, 5.0, 7.5));
        let whole = glued(&[first.clone(), second.clone()], form, 1.0);
        // Fibres as they lie on the form: (depth, stiffness, strain).
        let mut fibres = Vec::new();
        for piece in [&first, &second] {
            let axis = piece.stiffness().axis_mm;
            for ply in &piece.plies {
                let (count, t) = (400, ply.to_mm - ply.from_mm);
                for k in 0..count {
                    let z = ply.from_mm + (f64::from(k) + 0.5) * t / f64::from(count);
                    let strain = ply.strain.at(z) - (form - piece.free_curvature_per_mm) * (z - axis);
                    fibres.push((z, ply.modulus_mpa * ply.width_mm * t / f64::from(count), strain));
                }
            }
        }
        // Least squares over a stretch a and a bend c: minimise Σ k (ε + a − c z)².
        let sum = |f: &dyn Fn(&(f64, f64, f64)) -> f64| fibres.iter().map(f).sum::<f64>();
        let (k, kz, kzz) = (sum(&|f| f.1), sum(&|f| f.1 * f.0), sum(&|f| f.1 * f.0 * f.0));
        let (ke, kze) = (sum(&|f| f.1 * f.2), sum(&|f| f.1 * f.0 * f.2));
        let bend = (kze * k - ke * kz) / (kzz * k - kz * kz);
        close(whole.free_curvature_per_mm, form + bend, 1e-5);
    }
}
