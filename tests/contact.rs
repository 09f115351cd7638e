//! The string that lies on a recurved limb: against an energy minimisation, through the change, and what stays refused.

mod peers;
mod support;

use support::bows::{IN, flatbow};
use taperwright::mechanics::bow::{Options, StringOn, Unstrung};
use taperwright::mechanics::draw;
use taperwright::mechanics::limb::{Beam, Limb, LimbRoot, LimbSpan};
use taperwright::mechanics::pair::{self, PairOptions};
use taperwright::mechanics::strung::{self, Strung};
use taperwright::numeric::interp::{Between, Curve};

/// A limb given by straight lines through points: station, stiffness and curvature; the neutral axis' depth at root and nock.
#[derive(Clone)]
struct Recurve {
    length: f64,
    stiffness: Vec<(f64, f64)>,
    curvature: Vec<(f64, f64)>,
    neutral: [f64; 2],
    offset: f64,
    steps: f64,
}

fn line(points: &[(f64, f64)], s: f64) -> f64 {
    let next = points.iter().position(|(x, _)| s <= *x).unwrap_or(points.len() - 1).max(1);
    let ((a, fa), (b, fb)) = (points[next - 1], points[next]);
    fa + (fb - fa) * (s - a) / (b - a)
}

impl Recurve {
    /// 0.88 rad of reflex in the outer 300 of 700 mm.
    fn working() -> Recurve {
        Recurve {
            length: 700.0,
            stiffness: vec![(0.0, 1.2e8), (120.0, 4.5e7), (700.0, 1.2e7)],
            curvature: vec![(0.0, 0.0), (400.0, 0.0), (560.0, -1.0 / 250.0), (700.0, -1.0 / 250.0)],
            neutral: [0.0, 0.0],
            offset: 0.0,
            steps: 24.0,
        }
    }

    /// A tight bend, and beyond it a straight ear that hardly gives.
    fn ear() -> Recurve {
        Recurve {
            stiffness: vec![(0.0, 1.2e8), (120.0, 4.5e7), (560.0, 2e7), (600.0, 2e7), (600.0 + 1e-6, 2e10), (700.0, 2e10)],
            curvature: vec![
                (0.0, 0.0),
                (480.0, 0.0),
                (500.0, -1.0 / 160.0),
                (600.0, -1.0 / 160.0),
                (600.0 + 1e-6, 0.0),
                (700.0, 0.0),
            ],
            ..Recurve::working()
        }
    }

    fn limb(&self) -> Limb {
        let corners: Vec<f64> = self.stiffness.iter().chain(&self.curvature).map(|(s, _)| *s).collect();
        let root = LimbRoot { x_mm: self.neutral[0], y_mm: 0.0, angle_rad: 0.0 };
        let span = LimbSpan { from_mm: 0.0, to_mm: self.length, corners_mm: &corners, max_step_mm: self.length / self.steps };
        let mut limb = Limb::lay(root, span, |inside, s| {
            // Jumps are steep ramps of a millionth of a millimetre; seen from inside a stretch they are not met.
            let s = s + 1e-5 * (inside - s).signum();
            Beam {
                stiffness_n_mm2: line(&self.stiffness, s),
                curvature_per_mm: line(&self.curvature, s),
                neutral_mm: self.neutral[0] + (self.neutral[1] - self.neutral[0]) * s / self.length,
            }
        });
        limb.string_offset_mm = self.offset;
        limb
    }
}

fn check(what: &str, got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance * wanted.abs().max(1e-12), "{what}: {got} against {wanted}");
}

/// From brace at 170 mm to each of the draws; brace first.
fn states(limb: &Limb, draws: &[f64], step: f64) -> (f64, Vec<Strung>) {
    let braced = strung::brace(limb, 170.0).expect("a brace");
    let half = limb.in_bow_frame(braced.end, 0.0, 0.0).y;
    let mut at = braced;
    let mut all = vec![braced];
    for x in draws {
        at = strung::draw(limb, half, &at, *x, step).expect("a draw");
        all.push(at);
    }
    (half, all)
}

#[test]
fn contact_agrees_with_an_energy_minimisation() {
    let draws = [230.0, 300.0, 420.0, 600.0];
    let mut cases = Vec::new();
    let mut ours = Vec::new();
    for recurve in [Recurve::working(), Recurve::ear()] {
        let limb = recurve.limb();
        let (half, states) = states(&limb, &draws, 10.0);
        for at in states {
            cases.push(serde_json::json!({
                "length": recurve.length, "stiffness": recurve.stiffness, "curvature": recurve.curvature,
                "half": half, "nock_x": at.nock_x_mm, "links": [35, 70], "guess": at.nock_x_mm / 500.0,
            }));
            ours.push((at, limb.string_trace(at.tension_n, at.nock_angle_rad)));
        }
    }
    let touched = ours.iter().filter(|(_, trace)| trace.contact.is_some()).count();
    assert!((4..ours.len()).contains(&touched), "{touched} of {} states touch", ours.len());
    let Some(answer) = peers::run("contact.py", &[], &serde_json::to_string(&cases).unwrap()) else { return };
    let answers: Vec<serde_json::Value> = serde_json::from_str(&answer).expect("JSON");
    for (k, (answer, (at, trace))) in answers.iter().zip(&ours).enumerate() {
        let number = |key: &str| answer[key].as_f64().unwrap();
        // Two meshes of second order, extrapolated: what is left is about 1e-4 at a corner of curvature.
        check(&format!("tension {k}"), at.tension_n, number("tension"), 1e-3);
        if 0.0 < at.force_n {
            check(
                &format!("force {k}"),
                at.force_n / at.tension_n,
                number("force") / at.tension_n,
                5e-4 / (at.force_n / at.tension_n),
            );
        }
        check(&format!("energy {k}"), trace.energy_n_mm, number("energy"), 1e-3);
        let lift_off = trace.contact.map_or(700.0, |contact| contact.lift_off_mm);
        let link = number("link");
        assert!((lift_off - number("lift_off")).abs() <= 1.5 * link, "lift-off {k}: {lift_off} against {}", number("lift_off"));
        // Beyond the touch the least energy leaves no moment either.
        assert!(number("beyond") < 2e-3, "{k}: {}", number("beyond"));
    }
}

/// Where the string leaves the nock, force and slope run through without a step, and the slope is that of the force.
#[test]
fn nothing_jumps_where_touch_begins() {
    for recurve in [Recurve::working(), Recurve { neutral: [6.0, 3.0], offset: 2.0, ..Recurve::working() }] {
        let limb = recurve.limb();
        let (half, rows) = states(&limb, &[320.0, 700.0], 10.0);
        assert!(rows[0].nock_angle_rad < 0.0 && 0.0 < rows[2].nock_angle_rad);
        // The draw at which α is nought.
        let angle = |x: f64| strung::draw(&limb, half, &rows[0], x, 10.0).expect("a draw").nock_angle_rad;
        let onset = taperwright::numeric::root::bracketed(angle, 200.0, 700.0, 1e-9, 100).unwrap().x;
        let at = |x: f64| strung::draw(&limb, half, &rows[0], x, 10.0).expect("a draw");
        let (below, here, above) = (at(onset - 1e-4), at(onset), at(onset + 1e-4));
        assert!(below.nock_angle_rad < 0.0 && 0.0 < above.nock_angle_rad && here.nock_angle_rad.abs() < 1e-9);
        check("force", above.force_n - below.force_n, 2e-4 * here.force_slope_n_mm, 1e-4);
        check("slope", above.force_slope_n_mm, below.force_slope_n_mm, 1e-5);
        for x in [onset - 40.0, onset - 1.0, onset + 1.0, onset + 40.0] {
            let h = 0.05;
            let difference = (at(x + h).force_n - at(x - h).force_n) / (2.0 * h);
            check(&format!("slope at {x}"), at(x).force_slope_n_mm, difference, 2e-5);
        }
    }
}

/// Through the change, with the neutral axis at any depth and the string off it.
#[test]
fn work_is_strain_energy_through_the_change() {
    let even = Recurve::working();
    for (neutral, offset) in [([0.0, 0.0], 0.0), ([9.0, 4.0], 0.0), ([4.0, 4.0], 3.0), ([8.0, 3.0], 4.0)] {
        let limb = Recurve { neutral, offset, ..even.clone() }.limb();
        let draws: Vec<f64> = (1..=42).map(|k| 170.0 + 12.0 * f64::from(k)).collect();
        let (_, rows) = states(&limb, &draws, 6.0);
        let energy = |at: &Strung| 2.0 * limb.string_trace(at.tension_n, at.nock_angle_rad).energy_n_mm;
        let mut touched = 0;
        for at in &rows[1..] {
            touched += usize::from(at.nock_angle_rad < 0.0);
            check(&format!("{neutral:?} {offset} at {}", at.nock_x_mm), at.work_n_mm, energy(at) - energy(&rows[0]), 2e-6);
        }
        assert!(2 < touched && touched < rows.len() - 3, "{touched}");
    }
}

/// A belly line some millimetres nearer to the archer than the neutral axis: what that is worth.
#[test]
fn the_belly_stands_off_the_neutral_axis() {
    let force = |offset: f64| {
        let limb = Recurve { neutral: [4.0, 4.0], offset, ..Recurve::working() }.limb();
        states(&limb, &[650.0], 10.0).1[1].force_n
    };
    let off = force(3.0) / force(0.0) - 1.0;
    assert!(1e-4 < off.abs() && off.abs() < 0.03, "{off}");
    // And evenly so.
    check("half", force(1.5) - force(0.0), 0.5 * (force(3.0) - force(0.0)), 0.05);
}

#[test]
fn the_order_is_kept_where_the_string_leaves_inside_a_step() {
    // Curvature without corners, so that steps of any size end nowhere of note.
    let limb = |steps: f64| {
        let span = LimbSpan { from_mm: 0.0, to_mm: 700.0, corners_mm: &[], max_step_mm: 700.0 / steps };
        Limb::lay(LimbRoot { x_mm: 5.0, y_mm: 0.0, angle_rad: 0.0 }, span, |_, s| Beam {
            stiffness_n_mm2: 9e6 * (-s / 600.0).exp(),
            curvature_per_mm: -0.004 * (0.5 * std::f64::consts::PI * s / 700.0).sin().powi(2),
            neutral_mm: 5.0 - 0.003 * s,
        })
    };
    let exact = limb(512.0).string_pass(260.0, -0.35).end;
    let error = |steps: f64| {
        let end = limb(steps).string_pass(260.0, -0.35).end;
        ((end.q - exact.q) / 700.0).abs() + ((end.p - exact.p) / 700.0).abs() + (end.psi - exact.psi).abs()
    };
    let (coarse, fine) = (error(40.0), error(80.0));
    let order = (coarse / fine).log2();
    assert!(5.0 < order && fine < 1e-10, "{coarse:e} {fine:e} {order}");
}

/// Derivatives of a touching pass against differences.
#[test]
fn the_jacobian_is_exact_where_the_string_lies_on() {
    let limb = Recurve { neutral: [8.0, 3.0], offset: 2.5, ..Recurve::working() }.limb();
    let (t, a) = (310.0, -0.3);
    let pass = limb.string_pass(t, a);
    let (dt, da) = (0.01, 1e-5);
    let (t1, t0, a1, a0) =
        (limb.string_pass(t + dt, a), limb.string_pass(t - dt, a), limb.string_pass(t, a + da), limb.string_pass(t, a - da));
    for (what, got, more, less, h) in [
        ("q to T", pass.by_tension.q, t1.end.q, t0.end.q, dt),
        ("p to T", pass.by_tension.p, t1.end.p, t0.end.p, dt),
        ("ψ to T", pass.by_tension.psi, t1.end.psi, t0.end.psi, dt),
        ("q to α", pass.by_angle.q, a1.end.q, a0.end.q, da),
        ("p to α", pass.by_angle.p, a1.end.p, a0.end.p, da),
        ("ψ to α", pass.by_angle.psi, a1.end.psi, a0.end.psi, da),
    ] {
        check(what, got, (more - less) / (2.0 * h), 1e-6);
    }
}

#[test]
fn a_free_string_gives_the_old_numbers_to_the_last_bit() {
    let limb = Recurve { neutral: [6.0, 3.0], ..Recurve::working() }.limb();
    for (t, a) in [(200.0, 0.0), (310.5, 0.4), (0.0, 0.7), (90.0, 1.3)] {
        assert_eq!(limb.pass(t, a), limb.string_pass(t, a));
        assert_eq!(limb.trace(t, a), limb.string_trace(t, a));
    }
}

fn curled(points: &[(f64, f64)]) -> Options {
    let curl = Curve::through(points.to_vec(), Between::Straight).unwrap();
    Options { unstrung: Unstrung { curvature_per_mm: curl.into(), locked: Vec::new() }, ..Options::default() }
}

/// A build whose tips are recurved: refused until the string may lie on the limb.
#[test]
fn a_recurve_is_drawn() {
    let options = curled(&[(0.0, 0.0), (520.0, 0.0), (640.0, -4e-3), (858.0, -4e-3)]);
    let curve = draw::curve(&flatbow(), &options).expect("a curve").value;
    let (brace, full) = (curve.at_brace(), curve.at_full_draw());
    assert!(50.0 < brace.touched_mm && full.touched_mm <= 0.0, "{} {}", brace.touched_mm, full.touched_mm);
    assert!(brace.nock_angle_rad <= 0.0 && 0.0 < full.nock_angle_rad);
    check("energy", curve.energy.work_n_mm, curve.energy.strain_n_mm, 1e-5);
    // Beyond the lift-off the limb keeps all but its unstrung shape: the neutral axis there stands off its depth at the nock by fractions of a millimetre.
    let nock = curve.stations.len() - 1;
    let touched = (0..nock).filter(|k| 838.2 - brace.touched_mm < curve.stations[*k].s_mm);
    let greatest = brace.places.iter().map(|place| place.moment_n_mm).fold(0.0, f64::max);
    let mut seen = 0;
    for k in touched {
        seen += 1;
        assert!(brace.places[k].to_string_mm.abs() <= 0.0);
        assert!(brace.places[k].moment_n_mm.abs() < 0.02 * greatest, "{}", curve.stations[k].s_mm);
    }
    assert!(1 < seen);
    // Two such limbs are that bow.
    let pair = PairOptions { lower_unstrung: options.unstrung.clone(), options: options.clone(), ..PairOptions::default() };
    let both = pair::curve(&flatbow(), &flatbow(), &pair).expect("a pair").value;
    for (a, b) in both.points.iter().zip(&curve.points) {
        check("force", a.force_n + 1.0, b.force_n + 1.0, 1e-9);
        check("tension", a.upper.tension_n, b.tension_n, 1e-9);
    }
}

/// Less reflex in steps, down to a string that is free: forces run evenly through.
#[test]
fn force_runs_evenly_over_reflex() {
    let force = |tip: f64| {
        let options = curled(&[(0.0, 0.0), (520.0, 0.0), (640.0, tip), (858.0, tip)]);
        let curve = draw::curve(&flatbow(), &options).expect("a curve").value;
        (curve.at_full_draw().force_n, curve.at_brace().touched_mm)
    };
    let rows: Vec<(f64, f64)> = (0..=20).map(|k| force(-2e-4 * f64::from(k))).collect();
    assert!(rows[0].1 <= 0.0 && 0.0 < rows[20].1);
    let (mut widest, mut mean) = (0.0f64, 0.0);
    for three in rows.windows(3) {
        widest = widest.max((three[0].0 - 2.0 * three[1].0 + three[2].0).abs());
        mean += (three[2].0 - three[1].0).abs() / 19.0;
    }
    assert!(widest < 0.1 * mean, "second differences {widest} against steps of {mean}");
}

#[test]
fn bridges_and_bellies_are_refused_with_numbers() {
    let refused = |options: &Options| draw::curve(&flatbow(), options).expect_err("a refusal")[0].to_string();
    // More reflex than this brace height can unbend.
    let far = refused(&curled(&[(0.0, 0.0), (500.0, 0.0), (560.0, -6e-3), (740.0, -6e-3), (760.0, 1e-3), (858.0, 1e-3)]));
    assert!(far.contains("the least that its limbs bend to is about"), "{far}");
    // The reflex turns hollow before the nock.
    let hollow = refused(&curled(&[(0.0, 0.0), (500.0, 0.0), (560.0, -4e-3), (740.0, -4e-3), (760.0, 3e-4), (858.0, 3e-4)]));
    assert!(hollow.contains("bridge it from station") && hollow.contains("degrees to turn"), "{hollow}");
    let low =
        refused(&Options { string: StringOn::BraceAt { height_mm: -20.0 }, full_draw_mm: Some(600.0), ..Options::default() });
    assert!(low.contains("the string would lie on the limb, 20 mm inside it at station 0 mm"), "{low}");
}

/// A long string on an unbent recurve hangs round its tips before it pulls.
#[test]
fn a_long_string_lies_on_the_unbent_limb() {
    let limb = Recurve::working().limb();
    // Round the tips it is longer than straight from nock to nock.
    let half = 705.0;
    let start = strung::slack(&limb, half).expect("a long string");
    assert!(start.nock_angle_rad < 0.0);
    let trace = limb.string_trace(0.0, start.nock_angle_rad);
    let touched = trace.contact.expect("a touched stretch");
    // The string: what lies on the limb, and straight on to the bow's axis.
    let leaves = trace.at.iter().rev().find(|at| at.s_mm <= touched.lift_off_mm).unwrap();
    assert!(leaves.psi_rad.abs() < 0.2 && 10.0 < touched.length_mm, "{touched:?}");
    let far = strung::draw(&limb, half, &start, start.nock_x_mm + 250.0, 10.0).expect("a draw");
    let energy = 2.0 * limb.string_trace(far.tension_n, far.nock_angle_rad).energy_n_mm;
    check("work", far.work_n_mm, energy, 1e-4);
    assert!(IN < far.nock_x_mm);
}
