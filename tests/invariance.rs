//! What must hold for any bow: energy, scale, width, mirror, finer stations, and answers where the model ends.

mod bows;

use bows::{IN, flatbow, lath};
use taperwright::mechanics::bow::{Locked, Options, StringOn, Unstrung};
use taperwright::mechanics::draw::{self, DrawCurve};
use taperwright::mechanics::section::Part;
use taperwright::model::Build;
use taperwright::model::riser::Fade;
use taperwright::model::taper::Taper;
use taperwright::numeric::interp::{Between, Curve};

/// The check of this file: equal to a relative `tolerance`.
fn check(what: &str, got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance * wanted.abs(), "{what}: got {got:.12}, wanted {wanted:.12}, within {tolerance:e}");
}

fn drawn(build: &Build, options: &Options) -> DrawCurve {
    draw::curve(build, options).unwrap_or_else(|faults| panic!("{}", faults[0])).value
}

fn fault(build: &Build, options: &Options) -> String {
    draw::curve(build, options).expect_err("a refusal")[0].to_string()
}

#[test]
fn a_plausible_flatbow() {
    let curve = drawn(&flatbow(), &Options { draw_step_mm: IN, ..Options::default() });
    let full = curve.at_full_draw();
    let worst = &curve.worst[curve.worst_of_all];
    eprintln!(
        "F {} N, string {} mm, grip {} mm, worst {:?}, stack {:?}, passes {:?}, steps {}",
        full.force_n, curve.string_mm, curve.grip_depth_mm, worst, curve.stack, curve.effort.passes, curve.effort.steps_per_pass
    );
    for p in &curve.points {
        eprintln!("{:.2} in {:.3} lbf  T {:.1} N  beta {:.2} alpha {:.2}", p.draw_length_mm / IN, p.force_n / 4.44822, p.tension_n, p.string_angle_rad.to_degrees(), p.nock_angle_rad.to_degrees());
    }
    eprintln!("{:?} {}", curve.energy, curve.stations[curve.bends_most].s_mm);
}
