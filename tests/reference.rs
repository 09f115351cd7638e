//! The mechanics against numbers from outside this program. Data with sources, units and tolerances stand in `tests/reference/`.
//!
//! "Published" is a digit in print; "computed independently" is ours by another method. They are never in one test.

mod support;
mod peers;

use support::bows;
use taperwright::geometry::Point;
use taperwright::mechanics::bow::{Options, StringOn, Unstrung};
use taperwright::mechanics::draw;
use taperwright::mechanics::layer_kind::LayerKind;
use taperwright::mechanics::limb::{Beam, Limb, LimbRoot, LimbSpan};
use taperwright::mechanics::section::Section;
use taperwright::mechanics::strain::DrawState;
use taperwright::mechanics::strung::{self, Strung};
use taperwright::model::Build;
use taperwright::model::riser::Fade;
use taperwright::model::taper::Taper;
use taperwright::numeric::interp::{Between, Curve};
use toml::{Table, Value};

mod data {
    pub const ELASTICA: &str = include_str!("reference/elastica.toml");
    pub const BOWS: &str = include_str!("reference/bows.toml");
    pub const HINGE: &str = include_str!("reference/hinge.toml");
    pub const SECTIONS: &str = include_str!("reference/sections.toml");
    pub const WOODS: &str = include_str!("reference/woods.toml");
}

fn table(text: &str) -> Table {
    text.parse().expect("reference data read")
}

fn number(value: &Value) -> f64 {
    value.as_float().or_else(|| value.as_integer().map(|i| i as f64)).expect("a number")
}

fn f(row: &Table, key: &str) -> f64 {
    number(row.get(key).unwrap_or_else(|| panic!("no key {key}")))
}

fn rows(row: &Table) -> Vec<Vec<f64>> {
    row["rows"].as_array().unwrap().iter().map(|r| r.as_array().unwrap().iter().map(number).collect()).collect()
}

/// The check of this file: `got` within `tolerance` of `wanted`.
fn check(what: &str, got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance, "{what}: got {got:.12}, wanted {wanted:.12} ± {tolerance:e}");
}

// ---------------------------------------------------------------------------------------------------------------------
// Elastica
// ---------------------------------------------------------------------------------------------------------------------

/// A limb from its root at 0 to its nock.
fn span(to_mm: f64, corners_mm: &[f64], max_step_mm: f64) -> LimbSpan<'_> {
    LimbSpan { from_mm: 0.0, to_mm, corners_mm, max_step_mm }
}

/// A uniform straight cantilever of unit length and stiffness, clamped along +y.
fn unit_cantilever(steps: usize) -> Limb {
    let root = LimbRoot { x_mm: 0.0, y_mm: 0.0, angle_rad: 0.0 };
    Limb::lay(root, span(1.0, &[], 1.0 / steps as f64), |_, _| Beam {
        stiffness_n_mm2: 1.0,
        curvature_per_mm: 0.0,
        neutral_mm: 0.0,
    })
}

/// Tip (x, y), slope of the tip, and curvature at the clamp, under a load of `alpha` that pulls at `nock` to the tip's tangent.
///
/// `x` along the clamp's direction and `y` toward the load, as the tables have it.
struct Tip {
    x: f64,
    y: f64,
    slope: f64,
    root_curvature: f64,
    /// Direction of the load against the clamp's axis, rad.
    load: f64,
}

fn bent(limb: &Limb, alpha: f64, nock: f64) -> Tip {
    let end = limb.pass(alpha, nock).end;
    let Point { x: toward, y: along } = limb.in_bow_frame(end, 0.0, 0.0);
    let string = end.psi - limb.root.angle_rad;
    // The string pulls from the tip toward (sin β, −cos β) in (toward, along): π − β from the clamp's axis.
    Tip {
        x: along,
        y: toward,
        slope: nock - string,
        root_curvature: limb.trace(alpha, nock).at[0].bend_per_mm,
        load: std::f64::consts::PI - string,
    }
}

/// The nock angle at which a load of `alpha` points at `beta` from the clamp's axis (the first shape, bending one way).
fn dead(limb: &Limb, alpha: f64, beta: f64) -> f64 {
    let string = std::f64::consts::PI - beta;
    let miss = |nock: f64| limb.pass(alpha, nock).end.psi - string;
    // The tip's slope lies between nothing and the load's direction.
    taperwright::numeric::root::bracketed(miss, string + 1e-9, std::f64::consts::PI, 1e-14, 200).expect("a root").x
}

#[test]
fn elastica_published() {
    let limb = unit_cantilever(64);
    for entry in table(data::ELASTICA)["published"].as_array().unwrap() {
        let entry = entry.as_table().unwrap();
        let tolerance = f(entry, "tolerance");
        for row in rows(entry) {
            let tip = bent(&limb, row[0], dead(&limb, row[0], std::f64::consts::FRAC_PI_2));
            check("deflection", tip.y, row[1], tolerance);
            check("shortening", 1.0 - tip.x, row[2], tolerance);
        }
    }
}

#[test]
fn elastica_dead_and_follower_loads_computed_independently() {
    let limb = unit_cantilever(96);
    let mut met = 0;
    for entry in table(data::ELASTICA)["elastica"]["table"].as_array().unwrap() {
        let entry = entry.as_table().unwrap();
        let id = entry["id"].as_str().unwrap();
        let load = entry["load"].as_str().unwrap();
        if id == "buckled-180" || id == "pure-moment" {
            continue;
        }
        for row in rows(entry) {
            let nock = if load == "dead" {
                dead(&limb, row[0], f(entry, "beta_deg").to_radians())
            } else {
                std::f64::consts::PI - f(entry, "eta_deg_from_tip_tangent").to_radians()
            };
            let tip = bent(&limb, row[0], nock);
            check(id, tip.x, row[1], 1e-9);
            check(id, tip.y, row[2], 1e-9);
            check(id, tip.slope, row[3], 1e-9);
            check(id, tip.root_curvature, row[4], 1e-9 * row[0].max(1.0));
            met += 1;
        }
    }
    assert_eq!(met, 16 + 4 * 6 + 2 * 6);
}

#[test]
fn elastica_buckled_computed_independently() {
    let limb = unit_cantilever(96);
    let tables = table(data::ELASTICA);
    let entry = tables["elastica"]["table"].as_array().unwrap().iter().find(|t| t["id"].as_str() == Some("buckled-180")).unwrap();
    for row in rows(entry.as_table().unwrap()) {
        let tip = bent(&limb, row[1], row[0].to_radians());
        check("load's direction", tip.load, std::f64::consts::PI, 1e-9);
        check("x", tip.x, row[2], 1e-9);
        check("y", tip.y, row[3], 1e-9);
        check("curvature", tip.root_curvature, row[4], 2e-9);
    }
    // The braced bow of a straight limb is this case: brace finds the row from the string's place alone.
    // Beyond about 110 degrees the tip comes back toward the axis, and the same place belongs to a lesser bend too.
    for row in rows(entry.as_table().unwrap()).into_iter().filter(|row| row[0] <= 100.0) {
        let braced = strung::brace(&limb, row[3]).expect("a brace");
        check("tension", braced.tension_n, row[1], 2e-9);
        check("nock angle", braced.nock_angle_rad, row[0].to_radians(), 1e-9);
    }
    check("buckling load of a uniform limb", limb.buckling_n(), f(entry.as_table().unwrap(), "alpha_critical"), 1e-3);
}

/// An end moment gives a circle; unstrung curvature does the same with no load at all.
#[test]
fn elastica_circle() {
    let tables = table(data::ELASTICA);
    let entry = tables["elastica"]["table"].as_array().unwrap().iter().find(|t| t["id"].as_str() == Some("pure-moment")).unwrap();
    for row in rows(entry.as_table().unwrap()) {
        let root = LimbRoot { x_mm: 0.0, y_mm: 0.0, angle_rad: 0.0 };
        let beam = Beam { stiffness_n_mm2: 1.0, curvature_per_mm: row[0], neutral_mm: 0.0 };
        let limb = Limb::lay(root, span(1.0, &[], 1.0 / 64.0), |_, _| beam);
        let end = limb.pass(0.0, 0.3).end;
        let Point { x: toward, y: along } = limb.in_bow_frame(end, 0.0, 0.0);
        check("x", along, row[1], 1e-9);
        check("y", toward, row[2], 1e-9);
        check("slope", 0.3 - end.psi, row[3], 1e-12);
    }
}

// ---------------------------------------------------------------------------------------------------------------------
// Whole bows, computed independently
// ---------------------------------------------------------------------------------------------------------------------

/// A bow of the tables, in mm and N, with steps no longer than its length over `steps`.
fn limb_of(case: &Table, steps: usize) -> Limb {
    let mm = |key: &str| 1e3 * f(case, key);
    let length = mm("L_m");
    let root = LimbRoot {
        x_mm: mm("root_x_m"),
        y_mm: mm("riser_half_length_a_m"),
        angle_rad: f(case, "root_angle_phi0_deg").to_radians(),
    };
    let curvature_per_mm = case.get("natural_curvature_per_m").map_or(0.0, |v| 1e-3 * number(v));
    let max = length / steps as f64;
    let lay = |corners: &[f64], stiffness_n_m2: &dyn Fn(f64, f64) -> f64| {
        Limb::lay(root, span(length, corners, max), |inside, s| Beam {
            stiffness_n_mm2: 1e6 * stiffness_n_m2(inside / 1e3, s / 1e3),
            curvature_per_mm,
            neutral_mm: 0.0,
        })
    };
    match case["id"].as_str().unwrap() {
        "D-tapered-reflex" => lay(&[], &|_, s| {
            let at = |root: f64, tip: f64| root + (tip - root) * s / f(case, "L_m");
            let (b, t) = (at(f(case, "b_root_m"), f(case, "b_tip_m")), at(f(case, "t_root_m"), f(case, "t_tip_m")));
            f(case, "E_Pa") * b * t.powi(3) / 12.0
        }),
        "E-linear-EI-72in" => {
            let (w0, wm, a) = (f(case, "W0_N_m2"), f(case, "Wm_N_m2"), f(case, "riser_half_length_a_m"));
            lay(&[mm("kink_at_s_m")], &|_, s| (w0 * (1.0 - (s + a) / 0.9144)).max(wm))
        }
        _ => lay(&[], &|_, _| f(case, "EI_N_m2")),
    }
}

fn braced(case: &Table, limb: &Limb) -> (Strung, f64) {
    let braced = strung::brace(limb, 1e3 * f(case, "brace_height_h_m")).expect("a brace");
    let half = limb.in_bow_frame(braced.end, 0.0, 0.0).y;
    (braced, half)
}

#[test]
fn bows_at_brace_and_draw() {
    let tables = table(data::BOWS);
    let cases = tables["bow"]["case"].as_array().unwrap();
    assert_eq!(cases.len(), 5);
    for case in cases {
        let case = case.as_table().unwrap();
        let id = case["id"].as_str().unwrap();
        let limb = limb_of(case, 64);
        let (braced, half) = braced(case, &limb);
        let s = 1e3 * f(case, "string_half_length_S_m");
        check(&format!("{id} half string"), half, s, 1e-8 * s);
        let t = f(case, "brace_string_tension_N");
        check(&format!("{id} brace tension"), braced.tension_n, t, 2e-9 * t);
        let brace_trace = limb.trace(braced.tension_n, braced.nock_angle_rad);
        let u = f(case, "brace_elastic_energy_J");
        check(&format!("{id} brace energy"), 2e-3 * brace_trace.energy_n_mm, u, 5e-9 * u);
        if let Some(k) = case.get("brace_root_curvature_per_m").map(number) {
            check(&format!("{id} brace curvature"), 1e3 * brace_trace.at[0].bend_per_mm, k, 2e-9 * k.abs());
        }
        let whole = rows(case).last().map(|row| row[row.len() - 2]).unwrap();
        let span = 1e3 * (rows(case).last().unwrap()[0] - f(case, "brace_height_h_m"));
        let mut at = braced;
        for row in rows(case) {
            let what = |part: &str| format!("{id} at {} m: {part}", row[0]);
            at = strung::draw(&limb, half, &at, 1e3 * row[0], span / 40.0).expect("a draw");
            check(&what("force"), at.force_n, row[1], 5e-9 * row[1]);
            check(&what("string angle"), at.string_angle_rad.to_degrees(), row[2], 1e-7);
            check(&what("tension"), at.tension_n, row[3], 5e-9 * row[3]);
            let Point { x, y } = limb.in_bow_frame(at.end, 0.0, 0.0);
            check(&what("tip x"), x, 1e3 * row[4], 1e-6);
            check(&what("tip y"), y, 1e3 * row[5], 1e-6);
            check(&what("tip angle"), (at.nock_angle_rad - at.string_angle_rad).to_degrees(), row[6], 1e-5);
            let trace = limb.trace(at.tension_n, at.nock_angle_rad);
            let stored = trace.energy_n_mm - brace_trace.energy_n_mm;
            let energy = row[row.len() - 2];
            check(&what("stored energy"), 2e-3 * stored, energy, 6e-8 * energy);
            check(&what("work of the string"), 1e-3 * at.work_n_mm, energy, 2e-7 * whole);
            if row.len() == 10 {
                check(&what("curvature at the root"), 1e3 * trace.at[0].bend_per_mm, row[7], 2e-9 * row[7]);
            } else {
                worst_place(case, &what("worst place"), &trace, row[7], row[8]);
            }
        }
    }
}

/// Greatest bending strain (or change of curvature) along the limb and its place, read between stations by a parabola.
fn worst_place(case: &Table, what: &str, trace: &taperwright::mechanics::limb::Trace, worst: f64, place_m: f64) {
    let measure = |bent: &taperwright::mechanics::limb::LimbState| {
        if case["id"].as_str() == Some("D-tapered-reflex") {
            let t = f(case, "t_root_m") + (f(case, "t_tip_m") - f(case, "t_root_m")) * 1e-3 * bent.s_mm / f(case, "L_m");
            1e3 * bent.bend_per_mm * t / 2.0
        } else {
            1e3 * bent.bend_per_mm
        }
    };
    let at: Vec<(f64, f64)> = trace.at.iter().map(|bent| (1e-3 * bent.s_mm, measure(bent))).collect();
    let max = (0..at.len()).max_by(|i, j| at[*i].1.total_cmp(&at[*j].1)).unwrap();
    let (place, value) = if case["id"].as_str() == Some("D-tapered-reflex") {
        let ((x0, y0), (x1, y1), (x2, y2)) = (at[max - 1], at[max], at[max + 1]);
        let (a, b) = ((y2 - y1) / (x2 - x1), (y1 - y0) / (x1 - x0));
        let second = (a - b) / (0.5 * (x2 - x0));
        let d = -0.5 * (a + b) / second;
        (x1 + d, y1 + 0.5 * (a + b) * d + 0.5 * second * d * d)
    } else {
        at[max]
    };
    // The place is printed to 0.1 mm; a parabola through stations 11 mm apart finds it to a millimetre.
    check(what, place, place_m, 1e-3);
    check(what, value, worst, 1e-5 * worst);
}

/// The same from a whole build: a lath of 1 N·m² whose pivot lies on its neutral axis is the unit bow.
#[test]
fn bows_from_a_build() {
    let tables = table(data::BOWS);
    let case = tables["bow"]["case"].as_array().unwrap()[0].as_table().unwrap();
    let (width, thickness): (f64, f64) = (30.0, 3.0);
    let modulus = 1e6 * f(case, "EI_N_m2") / (width * thickness.powi(3) / 12.0);
    let mut build = bows::lath(1e3 * f(case, "L_m"), width, thickness, modulus);
    build.target = None;
    let drawn = |d: f64| {
        let options = Options {
            string: StringOn::BraceAt { height_mm: 1e3 * f(case, "brace_height_h_m") },
            full_draw_mm: Some(1e3 * d),
            grip_depth_mm: Some(0.5 * thickness),
            ..Options::default()
        };
        draw::curve(&build, &options).unwrap_or_else(|faults| panic!("{}", faults[0])).value
    };
    for row in rows(case) {
        let curve = drawn(row[0]);
        check("force", curve.at_full_draw().force_n, row[1], 1e-8 * row[1]);
        check("half string", 0.5 * curve.string_mm, 1e3 * f(case, "string_half_length_S_m"), 1e-6);
        check("energy", 1e-3 * curve.energy.strain_n_mm, row[8], 1e-7 * row[8]);
        check("strain", curve.worst[0].strain.abs(), 1e-3 * row[7] * 0.5 * thickness, 1e-8);
        assert!(curve.worst[0].s_mm < 1e-9 && curve.worst[0].state == DrawState::FullDraw);
    }
}

#[test]
fn hinge_model_computed_independently() {
    let tables = table(data::HINGE);
    let case = tables["hinge_model"].as_table().unwrap();
    let (l, y0, k) = (1e3 * f(case, "l_m"), 1e3 * f(case, "y0_m"), 1e3 * f(case, "k_N_m_per_rad"));
    // A hinge of a thousandth of a millimetre under a limb a million times stiffer than wood.
    let hinge = 1e-3;
    let root = LimbRoot { x_mm: 0.0, y_mm: y0, angle_rad: 0.0 };
    let limb = Limb::lay(root, span(l, &[hinge], l / 16.0), |inside, _| Beam {
        stiffness_n_mm2: if inside < hinge { k * hinge } else { 1e15 },
        curvature_per_mm: 0.0,
        neutral_mm: 0.0,
    });
    let braced = strung::brace(&limb, 1e3 * f(case, "brace_height_m")).expect("a brace");
    let half = limb.in_bow_frame(braced.end, 0.0, 0.0).y;
    check("half string", half, 1e3 * f(case, "string_half_length_S_m"), 2e-3);
    let mut at = braced;
    for row in rows(case) {
        at = strung::draw(&limb, half, &at, 1e3 * row[0], 10.0).expect("a draw");
        check("string angle", at.string_angle_rad.to_degrees(), row[2], 1e-4);
        check("tension", at.tension_n, row[3], 1e-5 * row[3]);
        check("force", at.force_n, row[4], 1e-5 * row[4]);
        check("work", 1e-3 * at.work_n_mm, row[5], 1e-5 * row[5]);
    }
}

/// The error against a very fine walk falls at least with the fourth power of the step; the steps are of sixth order.
#[test]
fn order_of_convergence() {
    let tables = table(data::BOWS);
    for id in ["D-tapered-reflex", "E-linear-EI-72in"] {
        let case = tables["bow"]["case"].as_array().unwrap().iter().find(|c| c["id"].as_str() == Some(id)).unwrap();
        let case = case.as_table().unwrap();
        let fine = limb_of(case, 400);
        let (state, _) = braced(case, &fine);
        let exact = fine.pass(state.tension_n, state.nock_angle_rad).end;
        let error = |steps: usize| {
            let end = limb_of(case, steps).pass(state.tension_n, state.nock_angle_rad).end;
            ((end.q - exact.q) / 700.0).abs().max(((end.p - exact.p) / 700.0).abs()).max((end.psi - exact.psi).abs())
        };
        for steps in [12, 24] {
            let order = (error(steps) / error(2 * steps)).log2();
            assert!(4.0 <= order, "{id}: order {order:.2} from {steps} steps, errors {:e} {:e}", error(steps), error(2 * steps));
        }
        assert!(error(24) < 1e-9, "{id}: {:e}", error(24));
    }
}

// ---------------------------------------------------------------------------------------------------------------------
// Sections and woods
// ---------------------------------------------------------------------------------------------------------------------

#[test]
fn sections_computed_independently() {
    for case in table(data::SECTIONS)["section"].as_array().unwrap() {
        let case = case.as_table().unwrap();
        let list = |key: &str| case[key].as_array().unwrap().iter().map(number).collect::<Vec<f64>>();
        let (e, t) = (list("layers_E_GPa"), list("layers_t_mm"));
        let section = Section::of(e.iter().zip(&t).enumerate().map(|(i, (e, t))| (LayerKind::Lamination(i), *t, 1e3 * e, 1.0)));
        let (stiffness, neutral) = (f(case, "EI_composite_per_mm_width_Nmm2"), f(case, "neutral_axis_from_first_face_mm"));
        check("EI", section.stiffness_n_mm2, stiffness, 5e-10 * stiffness);
        check("neutral axis", section.neutral_mm, neutral, 5e-11);
        // Curvature that moves no net force through the section: stretch and squeeze balance about the neutral axis.
        let force: f64 = section
            .layers
            .iter()
            .map(|l| l.modulus_mpa * l.width_mm * l.thickness_mm * section.strain(1e-3, l.back_mm + 0.5 * l.thickness_mm))
            .sum();
        check("net force", force, 0.0, 1e-9);
        assert!(0.0 < section.strain(1e-3, 0.0), "the back stretches when the bow bends toward the belly");
    }
}

#[test]
fn handbook_rows_published() {
    let tables = table(data::WOODS);
    let rows = tables["row"].as_array().unwrap();
    assert!(40 <= rows.len());
    for row in rows {
        let row = row.as_table().unwrap();
        let name = row["name"].as_str().unwrap();
        let wood = taperwright::model::wood::named(name).unwrap_or_else(|| panic!("no wood {name}")).at_moisture(0.12);
        let psi = 6.894_757_293_168e-3;
        // Printed to three digits; the conversion is exact, a tenth added for shear.
        let modulus = f(row, "moe_12_Mpsi") * 1e6 * psi * 1.10;
        check(name, wood.modulus_mpa, modulus, 1e-9 * modulus);
        let breaking = f(row, "mor_12_psi") / (f(row, "moe_12_Mpsi") * 1e6);
        check(name, wood.breaking_strain.unwrap(), breaking, 1e-9);
    }
}

/// The handbook's printed example: white ash at 8 percent, modulus of rupture from 103 000 kPa to "119 500 kPa" (p. 5-34).
#[test]
fn moisture_published() {
    let example = table(data::WOODS)["printed_example"].as_table().unwrap().clone();
    let (p12, pg, mp, m) = (f(&example, "p12_kPa"), f(&example, "pg_kPa"), f(&example, "mp_percent"), f(&example, "m_percent"));
    let by_formula = p12 * (p12 / pg).powf((12.0 - m) / (mp - 12.0));
    check("printed example", by_formula, f(&example, "printed_p8_kPa"), 50.0);
    // The program's own adjustment of the same species has the same exponent: its ratio for the modulus is that of equation 5-3.
    let ash = taperwright::model::wood::named("ash, white").unwrap();
    let ratio = ash.at_moisture(m / 100.0).modulus_mpa / ash.at_moisture(0.12).modulus_mpa;
    let green = ash.at_moisture(0.30).modulus_mpa / ash.at_moisture(0.12).modulus_mpa;
    check("exponent", ratio.ln() / -green.ln(), (12.0 - m) / (mp - 12.0), 1e-12);
}

#[test]
fn moisture_computed_independently() {
    for example in table(data::WOODS)["moisture"].as_array().unwrap() {
        let example = example.as_table().unwrap();
        let species = taperwright::model::wood::named(example["name"].as_str().unwrap()).unwrap();
        for row in self::rows(example) {
            check("modulus", species.at_moisture(row[0] / 100.0).modulus_mpa / 1.1, 1e3 * row[1], 1e-3);
        }
    }
}

// ---------------------------------------------------------------------------------------------------------------------
// A peer: collocation with scipy, from the build's description
// ---------------------------------------------------------------------------------------------------------------------

/// Two whole builds solved as boundary-value problems by scipy's `solve_bvp`, sections included: a straight lath of two tapered
/// strips with reflex, and a flatbow with riser, fades and glue lines.
#[test]
fn bows_against_collocation() {
    let mut reflexed = bows::lath(820.0, 38.0, 7.0, 13_500.0);
    reflexed.outline.as_mut().unwrap().width =
        Curve::through(vec![(0.0, 38.0), (400.0, 34.0), (820.0, 16.0)], Between::Straight).unwrap();
    reflexed.laminations[0].finished = Taper::straight(0.0, 830.0, 7.0, 0.002).unwrap();
    let mut belly = reflexed.laminations[0].clone();
    belly.name = "belly".to_owned();
    belly.wood.modulus_mpa = 11_000.0;
    belly.finished = Taper::straight(0.0, 830.0, 6.0, 0.001).unwrap();
    reflexed.laminations.push(belly);
    let curvature = Curve::through(vec![(0.0, 0.0), (300.0, 0.0), (820.0, -4.5e-4)], Between::Straight).unwrap();
    let mut flatbow = bows::flatbow();
    flatbow.riser.as_mut().unwrap().fade = Fade::Arc;
    for (build, curvature) in
        [(reflexed, curvature), (flatbow, Curve::through(vec![(0.0, 0.0), (100.0, 0.0)], Between::Straight).unwrap())]
    {
        let Some(answer) = peers::run("bow_bvp.py", &[], &described(&build, &curvature).to_string()) else { return };
        let answer: serde_json::Value = serde_json::from_str(&answer).unwrap();
        let told = |key: &str| answer[key].as_f64().unwrap();
        let unstrung = Unstrung { curvature_per_mm: curvature.into(), locked: Vec::new() };
        let curve = draw::curve(&build, &Options { unstrung, ..Options::default() })
            .unwrap_or_else(|faults| panic!("{}", faults[0]))
            .value;
        let (brace, full) = (curve.at_brace(), curve.at_full_draw());
        let near = |what: &str, got: f64, wanted: f64| check(what, got, wanted, 1e-8 * wanted.abs());
        near("grip depth", curve.grip_depth_mm, told("grip"));
        near("half string", 0.5 * curve.string_mm, told("half_string"));
        near("brace tension", brace.tension_n, told("brace_tension"));
        near("force", full.force_n, told("force"));
        near("tension", full.tension_n, told("tension"));
        near("string angle", full.string_angle_rad, told("string_angle"));
        near("tip x", full.places.last().unwrap().x_mm, told("tip_x"));
        near("tip y", full.places.last().unwrap().y_mm, told("tip_y"));
    }
}

/// The build in plain numbers: points, moduli, spans; nothing that the mechanics computed.
fn described(build: &Build, curvature: &Curve) -> serde_json::Value {
    let outline = build.outline.as_ref().unwrap();
    let target = build.target.unwrap();
    let laminations: Vec<_> = build
        .laminations
        .iter()
        .map(|l| {
            serde_json::json!({
                "thickness": l.finished.curve().points(), "modulus": l.wood.modulus_mpa, "share": l.width_fraction,
                "from": l.from_mm, "to": l.to_mm,
            })
        })
        .collect();
    let riser = build.riser.as_ref().map(|r| {
        let width: f64 = r.across.iter().map(|slice| slice.width_mm).sum();
        let modulus = r.across.iter().map(|slice| slice.width_mm * slice.wood.modulus_mpa).sum::<f64>() / width;
        serde_json::json!({
            "position": r.position, "feather_station": 0.5 * r.length_mm, "level_end": 0.5 * r.level_mm, "depth": r.depth_mm,
            "feather": r.feather_mm, "modulus": modulus,
        })
    });
    serde_json::json!({
        "nock": outline.nock_mm(), "width": outline.width.points(), "curvature": curvature.points(), "laminations": laminations,
        "riser": riser, "glue": { "line": build.glue.line_mm, "modulus": build.glue.modulus_mpa },
        "brace_height": target.brace_height_mm, "full_draw": target.pivot_to_nock_mm,
    })
}
