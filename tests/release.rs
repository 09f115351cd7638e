//! Release from the form against published formulas, and against values computed independently by a layered-beam solve.

use taperwright::mechanics::release::{Laminate, glued};

fn stack(layers: &[(f64, f64)]) -> Vec<Laminate> {
    let mut z = 0.0;
    let mut pieces = Vec::new();
    for (modulus_mpa, t) in layers {
        pieces.push(Laminate::layer(*modulus_mpa, 1.0, z, z + t));
        z += t;
    }
    pieces
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
        let timoshenko =
            6.0 * misfit * (1.0_f64 + m).powi(2) / (h * (3.0 * (1.0_f64 + m).powi(2) + (1.0 + m * n) * (m * m + 1.0 / (m * n))));
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
