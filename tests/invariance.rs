//! What must hold for any bow: energy, scale, width, finer stations, derivatives, and refusals where the model ends.

mod support;

use support::bows::{IN, drawn, flatbow, lath};
use taperwright::diag::Place;
use taperwright::mechanics::bow::{Locked, Options, StringOn, Unstrung};
use taperwright::mechanics::draw::{self, DrawCurve};
use taperwright::mechanics::layer_kind::LayerKind;
use taperwright::mechanics::pair::{self, PairCurve, PairOptions};
use taperwright::model::Build;
use taperwright::model::riser::Fade;
use taperwright::model::taper::Taper;
use taperwright::numeric::interp::{Between, Curve};
use taperwright::numeric::piecewise::Piecewise;
use taperwright::units::System;

/// The check of this file: equal to a relative `tolerance`.
fn check(what: &str, got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance * wanted.abs(), "{what}: got {got:.12}, wanted {wanted:.12}, within {tolerance:e}");
}

fn refused(build: &Build, options: &Options) -> String {
    let faults = draw::curve(build, options).expect_err("a refusal");
    assert!(!faults[0].hints.is_empty(), "{}", faults[0]);
    faults[0].spoken(System::Millimetre).to_string()
}

/// Bows with all that the model has: fades of each kind, riser under all, a power lamination, reflex, a long string.
fn varied() -> Vec<(&'static str, Build, Options)> {
    let mut list = vec![("flatbow", flatbow(), Options::default())];
    for (name, fade) in [("arc and flat", Fade::ArcAndFlat), ("eased", Fade::Eased)] {
        let mut build = flatbow();
        build.riser.as_mut().unwrap().fade = fade;
        list.push((name, build, Options::default()));
    }
    let mut under = flatbow();
    under.riser.as_mut().unwrap().position = 3;
    list.push(("riser under all", under, Options::default()));
    let mut power = flatbow();
    let mut wedge = power.laminations[1].clone();
    wedge.name = "power".to_owned();
    wedge.to_mm = 300.0;
    wedge.finished = Taper::straight(0.0, 300.0, 2.0, 0.005).unwrap();
    power.laminations.insert(1, wedge);
    power.riser.as_mut().unwrap().position = 3;
    list.push(("power lamination", power, Options::default()));
    let reflex = Curve::through(vec![(0.0, 0.0), (250.0, 0.0), (251.0, -2e-4), (840.0, -3e-4)], Between::Straight).unwrap();
    let unstrung = Unstrung { curvature_per_mm: reflex.into(), locked: Vec::new() };
    list.push(("reflex", flatbow(), Options { unstrung, ..Options::default() }));
    let long = StringOn::Long { length_mm: 70.0 * IN };
    list.push(("long string", flatbow(), Options { string: long, full_draw_mm: Some(500.0), ..Options::default() }));
    list.push(("lath", lath(850.0, 35.0, 11.0, 13_000.0), Options::default()));
    list
}

#[test]
fn work_of_the_string_is_energy_of_the_limbs() {
    for (name, build, options) in varied() {
        let curve = drawn(&build, &options);
        check(name, curve.energy.work_n_mm, curve.energy.strain_n_mm, 1e-6);
        assert!(0.0 <= curve.energy.at_brace_n_mm);
    }
}

/// The model's length is a parameter: a doll and a giant of the same shape and wood.
#[test]
fn scaling_every_length() {
    let small = drawn(&flatbow(), &Options::default());
    for factor in [0.1, 3.0] {
        let options = Options { draw_step_mm: 25.0 * factor, station_step_mm: 25.0 * factor, ..Options::default() };
        let large = drawn(&scaled(&flatbow(), factor), &options);
        check("force", large.at_full_draw().force_n, factor * factor * small.at_full_draw().force_n, 1e-9);
        check("string", large.string_mm, factor * small.string_mm, 1e-9);
        let (a, b) = (&small.worst[small.worst_of_all], &large.worst[large.worst_of_all]);
        assert_eq!((a.part, a.face, a.state), (b.part, b.face, b.state));
        check("strain", b.strain, a.strain, 1e-8);
        check("place of it", b.s_mm, factor * a.s_mm, 1e-9);
    }
}

fn scaled(build: &Build, factor: f64) -> Build {
    let curve = |c: &Curve| {
        let points = c.points().iter().map(|(s, y)| (factor * s, factor * y)).collect();
        Curve::through(points, c.between()).unwrap()
    };
    let mut build = build.clone();
    let target = build.target.as_mut().unwrap();
    target.draw_length_mm *= factor;
    target.pivot_to_nock_mm *= factor;
    target.brace_height_mm *= factor;
    let outline = build.outline.as_mut().unwrap();
    outline.nock_to_nock_mm *= factor;
    outline.tip_beyond_nock_mm *= factor;
    outline.width = curve(&outline.width);
    let riser = build.riser.as_mut().unwrap();
    riser.length_mm *= factor;
    riser.level_mm *= factor;
    riser.depth_mm *= factor;
    riser.feather_mm *= factor;
    build.glue.line_mm *= factor;
    for lamination in &mut build.laminations {
        lamination.from_mm *= factor;
        lamination.to_mm *= factor;
        let points = curve(lamination.finished.curve()).points().to_vec();
        lamination.finished = Taper::stations(points, lamination.finished.curve().between()).unwrap();
    }
    build
}

#[test]
fn force_goes_with_width_and_nearly_with_the_cube_of_thickness() {
    let base = drawn(&flatbow(), &Options::default()).at_full_draw().force_n;
    let mut wide = flatbow();
    let outline = wide.outline.as_mut().unwrap();
    let points = outline.width.points().iter().map(|(s, w)| (*s, 1.3 * w)).collect();
    outline.width = Curve::through(points, Between::Straight).unwrap();
    check("width", drawn(&wide, &Options::default()).at_full_draw().force_n, 1.3 * base, 1e-9);

    // A lath with its pivot on the neutral axis keeps its geometry, and its stiffness is the cube itself.
    let force = |t: f64| {
        let options = Options { grip_depth_mm: Some(0.5 * t), ..Options::default() };
        drawn(&lath(850.0, 35.0, t, 13_000.0), &options).at_full_draw().force_n
    };
    check("lath", force(12.0), force(10.0) * 1.2_f64.powi(3), 1e-9);

    let mut thick = flatbow();
    for lamination in &mut thick.laminations {
        let points = lamination.finished.curve().points().iter().map(|(s, t)| (*s, 1.05 * t)).collect();
        lamination.finished = Taper::stations(points, Between::Straight).unwrap();
    }
    let exponent = (drawn(&thick, &Options::default()).at_full_draw().force_n / base).ln() / 1.05_f64.ln();
    assert!((2.7..3.2).contains(&exponent), "{exponent}");
}

/// Accuracy is an argument: walk the steps, and see the error fall to what the default promises.
#[test]
fn finer_steps_change_nothing_that_counts() {
    for (name, build, options) in varied() {
        let run = |steps: usize| {
            let curve = drawn(&build, &Options { steps, station_step_mm: 1e4, ..options.clone() });
            (curve.at_full_draw().force_n, curve.string_mm)
        };
        let exact = run(200);
        // Six steps turn a limb by a tenth of a radian each: there the walked sines show.
        for (steps, tolerance) in [(6, 3e-7), (12, 1e-8), (24, 6e-9), (48, 2e-9)] {
            let (force, string) = run(steps);
            check(&format!("{name}, {steps} steps, force"), force, exact.0, tolerance);
            check(&format!("{name}, {steps} steps, string"), string, exact.1, tolerance);
        }
        let default = drawn(&build, &options);
        check(&format!("{name}, default"), default.at_full_draw().force_n, exact.0, 6e-9);
    }
}

#[test]
fn slopes_are_derivatives_and_force_is_that_of_energy() {
    let build = flatbow();
    let at = |draw: f64| {
        let options = Options { full_draw_mm: Some(draw), ..Options::default() };
        let curve = drawn(&build, &options);
        (curve.at_full_draw().force_n, curve.energy.strain_n_mm, curve.at_full_draw().force_slope_n_mm)
    };
    let (below, here, above) = (at(549.9), at(550.0), at(550.1));
    check("slope of the force", (above.0 - below.0) / 0.2, here.2, 1e-6);
    check("energy's derivative", (above.1 - below.1) / 0.2, here.0, 1e-6);
}

/// The effort that the default costs: a change that still converges but works harder shows here.
#[test]
fn effort_snapshot() {
    let curve = drawn(&flatbow(), &Options { draw_step_mm: IN, ..Options::default() });
    assert_eq!(curve.points.len(), 21);
    assert_eq!(curve.effort.steps_per_pass, 57);
    assert_eq!(curve.effort.passes, [8, 7, 5, 3, 4, 3, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2]);
}

#[test]
fn draws_are_whole_steps_of_the_stated_draw_length() {
    let curve = drawn(&flatbow(), &Options { draw_step_mm: IN, ..Options::default() });
    let inches: Vec<f64> = curve.points.iter().map(|point| point.draw_length_mm / IN).collect();
    for (got, wanted) in inches.iter().zip((8..=28).map(f64::from)) {
        check("draw length", *got, wanted, 1e-12);
    }
    check("brace height", curve.at_brace().pivot_to_nock_mm, 6.25 * IN, 1e-12);
    let metric = drawn(&flatbow(), &Options { draw_step_mm: 50.0, ..Options::default() });
    assert!(metric.points[1..metric.points.len() - 1].iter().all(|p| (p.draw_length_mm / 50.0).fract().abs() < 1e-9));
}

#[test]
fn the_side_view_holds_together() {
    let curve = drawn(&flatbow(), &Options::default());
    for point in &curve.points {
        let (nock, centre) = (point.places.last().unwrap(), &point.places[0]);
        // The string reaches from nock to nocking point with its whole length.
        let (dx, dy) = (curve.grip_depth_mm + point.pivot_to_nock_mm - nock.x_mm, nock.y_mm);
        check("half string", dx.hypot(dy), 0.5 * curve.string_mm, 1e-9);
        check("string angle", 1.0 + dx.atan2(dy), 1.0 + point.string_angle_rad, 1e-9);
        // The bow is held at its centre: the middle of the grip stays, and the string stands square off it by grip and draw.
        check("back of the grip", curve.face(point, 0, 0.0).x + 1.0, 1.0, 1e-9);
        check("belly of the grip", curve.face(point, 0, 1.0).x, curve.grip_depth_mm, 1e-9);
        assert!(centre.angle_rad.abs() < 1e-9 && centre.y_mm.abs() < 1e-9);
        // The moment is the string's tension times the arm, at the nock none.
        assert!(nock.moment_n_mm.abs() < 1e-6);
        let arm = (nock.x_mm - centre.x_mm) * point.string_angle_rad.cos() + nock.y_mm * point.string_angle_rad.sin();
        check("moment at the centre", centre.moment_n_mm, point.tension_n * arm, 1e-9);
    }
    let full = curve.at_full_draw();
    let brace = curve.at_brace();
    check("string over the belly at the grip", brace.places[0].to_string_mm, 6.25 * IN, 1e-9);
    assert!(curve.to_string_at(brace, 400.0) < curve.to_string_at(brace, 300.0));
    // The drawn bow: back stretched, belly squeezed.
    let mid = curve.stations.iter().position(|station| 400.0 < station.s_mm).unwrap();
    let layers = curve.stations[mid].section.layers.len();
    assert!(0.0 < curve.strain(full, mid, 0)[0] && curve.strain(full, mid, layers - 1)[1] < 0.0);
}

#[test]
fn locked_strain_adds_to_bending_strain() {
    let locked = Locked { part: LayerKind::Lamination(2), back: Piecewise::constant(1e-3), belly: Piecewise::constant(-2e-3) };
    let unstrung = Unstrung { locked: vec![locked], ..Unstrung::default() };
    let (without, with) =
        (drawn(&flatbow(), &Options::default()), drawn(&flatbow(), &Options { unstrung, ..Options::default() }));
    check("force", with.at_full_draw().force_n, without.at_full_draw().force_n, 1e-12);
    let of = |curve: &DrawCurve| *curve.worst.iter().find(|worst| worst.part == LayerKind::Lamination(2)).unwrap();
    check("belly", of(&with).strain, of(&without).strain - 2e-3, 1e-9);
    assert_eq!(of(&with).part, with.worst[with.worst_of_all].part);
}

#[test]
fn reflex_and_calibration_do_what_builders_expect() {
    let force = |options: &Options| drawn(&flatbow(), options).at_full_draw().force_n;
    let base = force(&Options::default());
    let bent = |curvature: f64| Options {
        unstrung: Unstrung { curvature_per_mm: Piecewise::constant(curvature), locked: Vec::new() },
        ..Options::default()
    };
    assert!(1.02 * base < force(&bent(-1e-4)) && force(&bent(1e-4)) < 0.98 * base);
    check("factor", force(&Options { stiffness_factor: 0.9, ..Options::default() }), 0.9 * base, 1e-9);
}

#[test]
fn refusals_name_the_reason_and_carry_numbers() {
    let options = |string: StringOn, full: f64| Options { string, full_draw_mm: Some(full), ..Options::default() };
    let brace = |height_mm: f64| StringOn::BraceAt { height_mm };

    let mut batch = flatbow();
    batch.outline = None;
    assert!(refused(&batch, &Options::default()).starts_with("outline: there is no outline"));

    let mut short = flatbow();
    for lamination in &mut short.laminations {
        lamination.to_mm = 600.0;
    }
    assert!(refused(&short, &Options::default()).contains("no lamination reaches from station 600 mm to 609.6 mm"));

    let mut aimless = flatbow();
    aimless.target = None;
    assert!(refused(&aimless, &Options::default()).starts_with("target: there is no target"));

    let slack = refused(&flatbow(), &options(brace(-60.0), 600.0));
    assert!(slack.contains("the string would hang slack") && slack.contains("-60 mm"), "{slack}");

    let high = refused(&flatbow(), &options(brace(900.0), 1200.0));
    assert!(high.contains("cannot be braced at 900 mm") && high.contains("passes"), "{high}");

    let far = refused(&flatbow(), &options(brace(160.0), 1500.0));
    assert!(far.contains("cannot be reached: the bow was solved up to") && far.contains("residual"), "{far}");

    let back = refused(&flatbow(), &options(brace(160.0), 150.0));
    assert!(back.contains("full draw 150 mm from the pivot point is not beyond the undrawn string at 160 mm"), "{back}");

    let contact = refused(&flatbow(), &options(brace(-20.0), 600.0));
    assert!(contact.contains("the string would lie on the limb, 20 mm inside it at station 0 mm"), "{contact}");

    let string = refused(&flatbow(), &options(StringOn::Long { length_mm: 1600.0 }, 600.0));
    assert!(string.contains("a string of 1600 mm is shorter than the unbent bow"), "{string}");

    for bad in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
        let faults = draw::curve(&flatbow(), &Options { stiffness_factor: bad, ..Options::default() }).unwrap_err();
        assert_eq!(faults[0].place, Place::whole_file());
    }
}

/// Steps of strip ends, width and riser may fall anywhere, also on top of each other.
#[test]
fn thin_and_thick_builds_never_panic() {
    for t in [0.05, 0.5, 5.0, 60.0] {
        for (half, width) in [(300.0, 4.0), (850.0, 40.0), (2500.0, 60.0)] {
            let mut build = lath(half, width, t, 13_000.0);
            let mut second = build.laminations[0].clone();
            second.name = "short".to_owned();
            second.to_mm = 0.5 * half;
            second.finished = Taper::straight(0.0, 0.5 * half, t, t / half).unwrap();
            build.laminations.push(second);
            match draw::curve(&build, &Options::default()) {
                Ok(curve) => assert!(curve.value.at_full_draw().force_n.is_finite()),
                Err(faults) => {
                    assert!(!faults.is_empty() && !faults[0].message.spoken(System::Millimetre).contains("NaN"), "{}", faults[0])
                }
            }
        }
    }
}

fn paired(upper: &Build, lower: &Build, options: &PairOptions) -> PairCurve {
    pair::curve(upper, lower, options).unwrap_or_else(|faults| panic!("{}", faults[0])).value
}

/// The flatbow with its width (and so its stiffness) multiplied.
fn widened(factor: f64) -> Build {
    let mut build = flatbow();
    let outline = build.outline.as_mut().unwrap();
    let points = outline.width.points().iter().map(|(s, w)| (*s, factor * w)).collect();
    outline.width = Curve::through(points, Between::Straight).unwrap();
    build
}

#[test]
fn two_equal_limbs_are_the_symmetric_bow() {
    let options = Options { draw_step_mm: IN, ..Options::default() };
    let one = drawn(&flatbow(), &options);
    let two = paired(&flatbow(), &flatbow(), &PairOptions { options, ..PairOptions::default() });
    check("string", two.string_mm, one.string_mm, 1e-9);
    check("work", two.energy.work_n_mm, one.energy.work_n_mm, 1e-6);
    assert_eq!(two.points.len(), one.points.len());
    for (a, b) in two.points.iter().zip(&one.points) {
        check("force", 1.0 + a.force_n, 1.0 + b.force_n, 1e-9);
        check("draw", a.draw_length_mm, b.draw_length_mm, 1e-12);
        for side in [&a.upper, &a.lower] {
            check("tension", side.tension_n, b.tension_n, 1e-9);
            check("nock angle", side.nock_angle_rad, b.nock_angle_rad, 1e-9);
            for (place, same) in side.places.iter().zip(&b.places) {
                assert!((place.x_mm - same.x_mm).hypot(place.y_mm - same.y_mm) < 1e-6);
            }
        }
        assert!(a.pull_angle_rad.abs() < 1e-9 && a.tiller[0].difference_mm().abs() < 1e-6);
    }
    for (a, b) in two.upper.worst.iter().zip(&one.worst) {
        assert_eq!((a.part, a.state), (b.part, b.state));
        check("worst place", a.s_mm, b.s_mm, 1e-9);
        check("worst strain", a.strain, b.strain, 1e-9);
    }
}

#[test]
fn a_pair_turned_over_is_the_same_bow() {
    let options = |sign: f64, tiller: Vec<f64>| PairOptions {
        pivot_above_mm: sign * -12.0,
        nocking_above_mm: sign * 15.0,
        tiller_stations_mm: tiller,
        ..PairOptions::default()
    };
    let a = paired(&widened(0.95), &flatbow(), &options(1.0, vec![200.0, 500.0]));
    let b = paired(&flatbow(), &widened(0.95), &options(-1.0, vec![200.0, 500.0]));
    for (p, q) in a.points.iter().zip(&b.points) {
        check("force", 1.0 + p.force_n, 1.0 + q.force_n, 1e-8);
        check("pull", 1.0 + p.pull_angle_rad, 1.0 - q.pull_angle_rad, 1e-8);
        check("tension", p.upper.tension_n, q.lower.tension_n, 1e-8);
        for (t, u) in p.tiller.iter().zip(&q.tiller) {
            assert!((t.difference_mm() + u.difference_mm()).abs() < 1e-5);
        }
    }
}

/// Statics read off the reported picture: both strings end at one point, pull as the hand pulls, and turn nothing about the pivot.
#[test]
fn an_uneven_pair_is_in_balance() {
    let options = PairOptions { pivot_above_mm: -20.0, nocking_above_mm: 9.0, ..PairOptions::default() };
    let mut longer = widened(0.97);
    longer.outline.as_mut().unwrap().nock_to_nock_mm += 20.0;
    for lamination in &mut longer.laminations {
        lamination.to_mm += 10.0;
    }
    let curve = paired(&longer, &flatbow(), &options);
    check("energy", curve.energy.work_n_mm, curve.energy.strain_n_mm, 1e-6);
    let halves = [curve.upper_string_mm, curve.string_mm - curve.upper_string_mm];
    let (px, py) = (curve.grip_depth_mm, -20.0);
    for point in &curve.points {
        let end = |side: &pair::SidePoint, half: f64, up: f64| {
            let nock = side.places.last().unwrap();
            let (sin, cos) = side.string_angle_rad.sin_cos();
            let n = (nock.x_mm + half * sin, up * (nock.y_mm - half * cos));
            (n, (side.tension_n * sin, up * -side.tension_n * cos))
        };
        let ((nx, ny), (ux, uy)) = end(&point.upper, halves[0], 1.0);
        let ((mx, my), (lx, ly)) = end(&point.lower, halves[1], -1.0);
        assert!((nx - mx).abs() < 1e-6 && (ny - my).abs() < 1e-6, "nocking point");
        let (fx, fy) = (ux + lx, uy + ly);
        assert!((fx.hypot(fy) - point.force_n).abs() < 1e-6, "force");
        assert!(((nx - px) * fy - (ny - py) * fx).abs() < 1e-3, "moment about the pivot");
        assert!(((nx - px).hypot(ny - py) - point.pivot_to_nock_mm).abs() < 1e-6, "draw");
    }
    // The grip sits low and the upper limb is long and weak: it stands farther from the string than the lower.
    assert!(0.0 < curve.points[0].tiller[0].difference_mm());
    let full = curve.points.last().unwrap();
    assert!((full.upper.tension_n - full.lower.tension_n).abs() < 0.1 * full.upper.tension_n);
}
