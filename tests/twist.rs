//! The limb's twist at full draw: closed forms, another integrator, and what wide, narrow and recurved limbs say.

mod peers;
mod support;

use std::f64::consts::PI;
use support::bows::flatbow;
use support::near::close as check;
use taperwright::mechanics::bow::Options;
use taperwright::mechanics::draw;
use taperwright::mechanics::twist::{self, TwistEnds, TwistLimb, TwistNode, TwistPull, TwistStep};
use taperwright::model::Build;

/// An even bar of length 1 that does not bend in its plane but for the curvature it has.
fn bar(curvature: f64, sideways: f64, twist: f64) -> TwistLimb {
    let node =
        TwistNode { curvature_per_mm: curvature, flat: 0.0, sideways: 1.0 / sideways, twist: 1.0 / twist, neutral_mm: 0.0 };
    TwistLimb { steps: vec![TwistStep { length_mm: 1.0 / 40.0, at: [node; 5] }; 40] }
}

const DEAD: TwistPull = TwistPull { tension_n: 1.0, nock_angle_rad: 0.0, arm_mm: 0.0, string_mm: f64::INFINITY };

/// A narrow cantilever with a load at its end, 4.0126 √(BG)/L² (Timoshenko and Gere, Theory of Elastic Stability, printed as 4.013; from memory), at
/// three ratios of the stiffnesses; and Euler's column, π²B/4L².
#[test]
fn a_cantilever_turns_over_at_the_textbook_load() {
    for (sideways, twist) in [(1.0, 1.0), (1.0, 0.25), (2.0, 5.0)] {
        let pull = TwistPull { nock_angle_rad: 0.5 * PI, ..DEAD };
        let margin = bar(0.0, sideways, twist).margin(pull, TwistEnds::Limb);
        check("transverse load", margin, 4.0126 * f64::sqrt(sideways * twist), 1e-4);
        let margin = bar(0.0, sideways, twist).margin(DEAD, TwistEnds::Limb);
        check("column", margin, 0.25 * PI * PI * sideways, 1e-5);
    }
    // A column whose load is drawn toward its own foot, as by a string of its length: π²B/L², by statics.
    let margin = bar(0.0, 1.0, 1.0).margin(TwistPull { string_mm: 1.0, ..DEAD }, TwistEnds::Limb);
    check("toward the foot", margin, PI * PI, 1e-5);
}

/// A hinged beam bent by end moments, straight or to an arc of radius R: M = (B + G)/2R ± √(((B − G)/2R)² + BG π²/L²), which is π √(BG)/L for a straight
/// one (Timoshenko and Gere, chapters 6 and 7, from memory).
#[test]
fn a_hinged_arc_turns_over_at_the_textbook_moment() {
    // A moment without a force to speak of.
    let pull = TwistPull { tension_n: 1e-9, arm_mm: 1e9, ..DEAD };
    let (b, g) = (1.0, 0.3);
    for curvature in [0.0, 0.5, 1.0, -0.5, -1.0] {
        let half: f64 = 0.5 * curvature;
        let wanted = (b + g) * half + ((b - g) * (b - g) * half * half + b * g * PI * PI).sqrt();
        check(&format!("{curvature}"), bar(curvature, b, g).margin(pull, TwistEnds::Hinged), wanted, 1e-5);
    }
}

/// A tapered, curved limb under its string, by SciPy from the root out.
#[test]
fn the_margin_agrees_with_another_integrator() {
    let sections = 40;
    let length = 600.0;
    let at = |s: f64| {
        let (width, thick) = (44.0 - 28.0 * s / length, 10.5 - 3.0 * s / length);
        let flat = 20_000.0 * width * thick * thick * thick / 12.0;
        let sideways = 20_000.0 * width * width * width * thick / 12.0;
        // Smooth: a step of another's integrator need not end where the curve begins.
        let curl = -1.0 / 220.0 / (1.0 + (-(s - 380.0) / 25.0).exp());
        TwistNode {
            curvature_per_mm: curl,
            flat: 1.0 / flat,
            sideways: 1.0 / sideways,
            twist: 1.0 / (0.3 * flat),
            neutral_mm: 0.0,
        }
    };
    let long = length / f64::from(sections);
    let step = |k: u32| {
        let far = length - long * f64::from(k);
        TwistStep { length_mm: long, at: taperwright::numeric::ode::NODES.map(|node| at(far - node * long)) }
    };
    let limb = TwistLimb { steps: (0..sections).map(step).collect() };
    let pull = TwistPull { tension_n: 300.0, nock_angle_rad: 20_f64.to_radians(), arm_mm: 0.0, string_mm: 800.0 };
    let margin = limb.margin(pull, TwistEnds::Limb);
    let Some(answer) = peers::run("twist.py", &[], "{}") else { return };
    check("margin", margin, answer.trim().parse().unwrap(), 2e-4);
}

fn margin(build: &Build) -> [f64; 2] {
    let options = Options::default();
    let curve = draw::curve(build, &options).unwrap().value;
    twist::margin(build, &options, &curve).unwrap().unwrap()
}

/// A wide flat limb has plenty; narrowed it has less, and no scale of the wood's stiffness matters to a bow of the same shape.
#[test]
fn narrow_limbs_have_less() {
    let build = flatbow();
    let [min, max] = margin(&build);
    assert!(2.0 < min && min < max, "{min} {max}");
    let mut narrow = build.clone();
    let outline = narrow.outline.as_mut().unwrap();
    let points = outline.width.points().iter().map(|(s, width)| (*s, 0.6 * width)).collect();
    outline.width = taperwright::numeric::interp::Curve::through(points, outline.width.between()).unwrap();
    let [less, _] = margin(&narrow);
    assert!(less < 0.8 * min, "{less} {min}");
    let mut stiff = build.clone();
    stiff.laminations.iter_mut().for_each(|lamination| lamination.wood.modulus_mpa *= 2.0);
    stiff.glue.modulus_mpa *= 2.0;
    if let Some(riser) = &mut stiff.riser {
        riser.across.iter_mut().for_each(|slice| slice.wood.modulus_mpa *= 2.0);
    }
    check("all twice as stiff", margin(&stiff)[0], min, 1e-6);
}
