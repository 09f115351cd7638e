//! The stack solved for its draw weight: reached, held where it must be, and refused with a reason. What the weight answers to, and
//! where the limb would hinge.

mod support;

use support::bows;
use support::bows::{flatbow, lath, weight};
use taperwright::buildfile::{Starter, Style, edit, starter};
use taperwright::job::{Change, Inputs, Job};
use taperwright::mechanics::bow::Options;
use taperwright::mechanics::{draw, hinge, sensitivity, sizing};
use taperwright::model::Build;
use taperwright::model::build::{Sizing, SizingHow, SizingLimit};
use taperwright::model::taper::{Taper, TaperForm};
use taperwright::numeric::interp::{Between, Curve};
use taperwright::numeric::span::Span;
use taperwright::units::System;

fn wanting(draw_weight_n: f64, change: &[usize], how: SizingHow) -> Build {
    let mut build = flatbow();
    let target = build.target.as_mut().unwrap();
    target.draw_weight_n = draw_weight_n;
    target.finishing_n = 12.0;
    build.sizing = Some(Sizing { change: change.to_vec(), how, limits: Vec::new() });
    build
}

/// Any taper is allowed, thicker toward the tip as well.
fn free(build: &mut Build) {
    let sizing = build.sizing.as_mut().unwrap();
    let limit = |lamination: &usize| SizingLimit {
        lamination: *lamination,
        taper: Some(Span { min: -0.02, max: 0.02 }),
        ..SizingLimit::default()
    };
    sizing.limits = sizing.change.iter().map(limit).collect();
}

fn refused(build: &Build) -> String {
    sizing::size(build, &Options::default()).expect_err("a refusal")[0].spoken(System::Millimetre).to_string()
}

#[test]
fn the_weight_is_reached_each_way_and_the_rest_is_held() {
    for how in [SizingHow::Thickness, SizingHow::Taper, SizingHow::Both] {
        for wanted in [200.0, 235.0, 260.0] {
            let mut build = wanting(wanted, &[0, 1], how);
            free(&mut build);
            let sized = sizing::size(&build, &Options::default()).unwrap_or_else(|faults| panic!("{how:?} {}", faults[0])).value;
            // Draw weight and what is kept in hand for finishing, by the whole curve and not by the search.
            assert!((weight(&sized.build) - (wanted + 12.0)).abs() < 1e-4, "{how:?} {wanted}: {}", weight(&sized.build));
            assert!((sized.weight_before_n - weight(&build)).abs() < 1e-4);
            assert_eq!(sized.build.laminations[2], build.laminations[2], "{how:?} changed what is held");
            assert_eq!(sized.build.outline, build.outline);
            for change in &sized.changes {
                let rate_of = |b: &Build| {
                    let l = &b.laminations[change.lamination];
                    (l.finished.at(150.0) - l.finished.at(800.0)) / 650.0
                };
                let (before, after) = (rate_of(&build), rate_of(&sized.build));
                match how {
                    SizingHow::Thickness => assert!((before - after).abs() < 1e-12),
                    SizingHow::Taper => assert!((change.butt_mm.before - change.butt_mm.after).abs() < 1e-12),
                    SizingHow::Both => {}
                }
            }
        }
    }
}

/// Both ways at once: no other straight taper that draws the weight strains the working limb more evenly.
#[test]
fn both_makes_strain_even() {
    let size = |how| sizing::size(&wanting(225.0, &[0, 1], how), &Options::default()).unwrap().value;
    let (both, thickness) = (size(SizingHow::Both), size(SizingHow::Thickness));
    assert!(both.unevenness.after < 0.6 * thickness.unevenness.after, "{:?} {:?}", both.unevenness, thickness.unevenness);
    // A little more or less taper than that, brought to the weight by thickness, is less even.
    for nudge in [-4e-4, 4e-4] {
        let mut build = both.build.clone();
        for index in [0, 1] {
            build.laminations[index] = sizing::changed(&build.laminations[index], 0.0, 0.5 * nudge).unwrap();
        }
        build.sizing = Some(Sizing { change: vec![0, 1], how: SizingHow::Thickness, limits: Vec::new() });
        let beside = sizing::size(&build, &Options::default()).unwrap().value;
        assert!(
            both.unevenness.after < beside.unevenness.after,
            "{nudge}: {} {}",
            both.unevenness.after,
            beside.unevenness.after
        );
    }
}

/// A limb whose core tapers strongly asks for a back that gets thicker toward its tip. It was returned without a word.
#[test]
fn no_taper_is_turned_round_unasked() {
    let mut build = wanting(225.0, &[0], SizingHow::Both);
    let end = build.laminations[1].to_mm;
    build.laminations[1].finished = Taper::straight(0.0, end, 5.2, 0.0045).unwrap();
    // A pyramid outline, which wants even thickness.
    let pyramid = [(0.0, 1.125), (8.0, 2.2), (33.0, 0.4)].map(|(s, width)| (s * bows::IN, width * bows::IN));
    build.outline.as_mut().unwrap().width = Curve::through(pyramid.to_vec(), Between::Straight).unwrap();
    let taper = |build: &Build| (build.laminations[0].finished.at(0.0) - build.laminations[0].finished.at(800.0)) / 800.0;
    let held = sizing::size(&build, &Options::default()).unwrap();
    assert!(taper(&held.value.build).abs() < 1e-9, "{}", taper(&held.value.build));
    let told: Vec<String> = held.warnings.iter().map(ToString::to_string).collect();
    assert!(told.iter().any(|text| text.contains("`back` stays at a taper of 0.0000, the least it may have")), "{told:?}");
    // Its hint, taken: the taper turns round, the strain is more even, and that is said.
    build.sizing.as_mut().unwrap().limits =
        vec![SizingLimit { lamination: 0, taper: Some(Span { min: -0.004, max: 0.006 }), ..SizingLimit::default() }];
    let free = sizing::size(&build, &Options::default()).unwrap();
    assert!(taper(&free.value.build) < -1e-4 && free.value.unevenness.after < held.value.unevenness.after);
    let told: Vec<String> = free.warnings.iter().map(ToString::to_string).collect();
    assert!(told.iter().any(|text| text.contains("`back` gets thicker toward its tip")), "{told:?}");
    // By taper alone the weight would be reached that way, too: refused, and the hint works.
    let mut by_taper = wanting(300.0, &[0], SizingHow::Taper);
    let refusal = refused(&by_taper);
    assert!(
        refusal.contains("`back` then has a taper of 0.0000, the least it may have") && refusal.contains("\"thickness\""),
        "{refusal}"
    );
    by_taper.sizing.as_mut().unwrap().how = SizingHow::Thickness;
    assert!(sizing::size(&by_taper, &Options::default()).is_ok());
}

/// Limits fed exactly: the free answer's own thickness passes as a limit, and a hair inside of it does not.
#[test]
fn limits_are_kept_and_pass_when_met_exactly() {
    let limited = |min_mm: Option<f64>, max_mm: Option<f64>| {
        let mut build = wanting(235.0, &[0], SizingHow::Thickness);
        build.sizing.as_mut().unwrap().limits = vec![SizingLimit { lamination: 0, min_mm, max_mm, ..SizingLimit::default() }];
        build
    };
    let free = sizing::size(&limited(None, None), &Options::default()).unwrap().value.changes[0].butt_mm.after;
    for (least, most) in [(None, Some(free + 1e-9)), (Some(free - 1e-9), None), (Some(free - 1e-9), Some(free + 1e-9))] {
        let sized = sizing::size(&limited(least, most), &Options::default()).unwrap().value;
        assert!((sized.changes[0].butt_mm.after - free).abs() < 1e-6);
    }
    let most = refused(&limited(None, Some(free - 0.05)));
    assert!(most.contains("its `most` under `sizing.limits`"), "{most}");
    let least = refused(&limited(Some(free + 0.05), None));
    assert!(least.contains("its `least` under `sizing.limits`"), "{least}");
    // Two may change, one of them is held by its most: the other takes the rest in a second run.
    for how in [SizingHow::Thickness, SizingHow::Both] {
        let mut two = wanting(225.0, &[0, 1], how);
        two.sizing.as_mut().unwrap().limits = vec![
            SizingLimit {
                lamination: 0,
                min_mm: Some(2.0),
                max_mm: Some(4.2),
                taper: Some(Span { min: 0.0, max: 0.001 }),
                ..SizingLimit::default()
            },
            SizingLimit { lamination: 1, taper: Some(Span { min: 0.001, max: 0.003 }), ..SizingLimit::default() },
        ];
        let sized = sizing::size(&two, &Options::default()).unwrap_or_else(|faults| panic!("{}", faults[0])).value;
        let back = &sized.build.laminations[0];
        for s in [0.0, 400.0, back.to_mm] {
            assert!((2.0 - 1e-9..=4.2 + 1e-9).contains(&back.finished.at(s)), "{how:?} {s}");
        }
        let TaperForm::FlatThenStraight { rate, .. } = sized.build.laminations[1].finished.form() else { panic!("form kept") };
        assert!((0.001 - 1e-12..=0.003 + 1e-12).contains(&rate), "{rate}");
    }
}

#[test]
fn a_share_of_the_stack_is_kept() {
    for how in [SizingHow::Thickness, SizingHow::Both] {
        for fraction in [0.25, 0.36] {
            let mut build = wanting(230.0, &[0, 1], how);
            build.sizing.as_mut().unwrap().limits =
                vec![SizingLimit { lamination: 0, fraction: Some(fraction), ..SizingLimit::default() }];
            let sized = sizing::size(&build, &Options::default()).unwrap_or_else(|faults| panic!("{}", faults[0])).value;
            assert!((weight(&sized.build) - 242.0).abs() < 1e-3);
            let feather = build.riser.as_ref().unwrap().feather_station_mm();
            let at = |k: usize| sized.build.laminations[k].thickness_at(feather);
            assert!((at(0) / (at(0) + at(1) + at(2)) - fraction).abs() < 1e-9, "{how:?} {fraction}");
            assert_eq!(sized.build.laminations[2], build.laminations[2]);
        }
    }
}

#[test]
fn forms_are_kept() {
    let sized = sizing::size(&wanting(240.0, &[0, 1], SizingHow::Thickness), &Options::default()).unwrap().value;
    assert_eq!(sized.build.laminations[0].finished.form(), TaperForm::Parallel);
    assert!(matches!(sized.build.laminations[1].finished.form(), TaperForm::FlatThenStraight { .. }));
    let mut by_taper = wanting(240.0, &[0], SizingHow::Taper);
    free(&mut by_taper);
    let sized = sizing::size(&by_taper, &Options::default()).unwrap().value;
    assert!(matches!(sized.build.laminations[0].finished.form(), TaperForm::Straight { .. }));
}

#[test]
fn no_answer_says_which_limit_and_what_would_do() {
    let stock = refused(&wanting(900.0, &[0], SizingHow::Thickness));
    for part in ["sizing: no thickness", "gives 912.0 N", "`back` then takes all 8 mm of its stock", "widths times"] {
        assert!(stock.contains(part), "{part}: {stock}");
    }
    let thin = refused(&wanting(40.0, &[1], SizingHow::Thickness));
    assert!(thin.contains("`core` is then down to 0.5 mm somewhere on its strip"), "{thin}");
    let taper = refused(&wanting(500.0, &[1], SizingHow::Taper));
    assert!(taper.contains("no taper of the laminations"), "{taper}");
    let both = refused(&wanting(900.0, &[0], SizingHow::Both));
    assert!(both.contains("at the limit the bow draws"), "{both}");
    let mut ground = wanting(200.0, &[2], SizingHow::Thickness);
    assert!(refused(&ground).contains("`belly` is already ground and cannot change"));
    ground.sizing = None;
    assert!(refused(&ground).contains("there is no `sizing`"));
}

/// The widths that the refusal names do reach the weight, at the limit that it names.
#[test]
fn the_widths_it_names_would_do() {
    let build = wanting(900.0, &[0], SizingHow::Thickness);
    let message = refused(&build);
    let ratio: f64 = message.split("widths times ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    let mut wide = build.clone();
    let outline = wide.outline.as_mut().unwrap();
    let points = outline.width.points().iter().map(|(s, w)| (*s, (ratio + 0.01) * w)).collect();
    outline.width = Curve::through(points, Between::Straight).unwrap();
    let sized = sizing::size(&wide, &Options::default()).unwrap_or_else(|faults| panic!("{}", faults[0])).value;
    assert!(7.0 < sized.changes[0].butt_mm.after && sized.changes[0].butt_mm.after <= 8.0, "{:?}", sized.changes);
}

/// The effort of a search, so that one that works harder is seen.
#[test]
fn effort_snapshot() {
    let solved = |how| sizing::size(&wanting(225.0, &[0, 1], how), &Options::default()).unwrap().value.solved;
    assert_eq!([solved(SizingHow::Thickness), solved(SizingHow::Taper), solved(SizingHow::Both)], [4, 4, 73]);
}

// ---------------------------------------------------------------------------------------------------------------------
// Sensitivities and hinges
// ---------------------------------------------------------------------------------------------------------------------

#[test]
fn sensitivities_add_up() {
    let build = flatbow();
    let all = sensitivity::of(&build, &Options::default()).unwrap().value;
    assert!((all.weight_n - weight(&build)).abs() < 1e-4);
    // Forces are linear in all moduli at once (glue included, which is not among them): the percents nearly add up to the weight.
    let sum: f64 = all.laminations.iter().map(|l| l.n_per_percent_modulus).sum::<f64>() + all.riser_n_per_percent;
    assert!(0.985 * all.weight_n < 100.0 * sum && 100.0 * sum < all.weight_n, "{sum} {}", all.weight_n);
    // A tenth of a millimetre on the back, by the whole curve.
    let mut thicker = build.clone();
    thicker.laminations[0] = sizing::changed(&thicker.laminations[0], 0.1, 0.0).unwrap();
    let gained = weight(&thicker) - weight(&build);
    let told = 10.0 * all.laminations[0].n_per_hundredth_mm;
    assert!((gained - told).abs() < 0.03 * told, "{gained} {told}");
    // The faces count more than the core, a longer bow is weaker, a wider one stronger.
    assert!(all.laminations[1].n_per_percent_modulus < 0.3 * all.laminations[0].n_per_percent_modulus);
    assert!(all.n_per_mm_length < 0.0 && 0.0 < all.n_per_mm_width);
    // Two independent faces that share the stiffness: less than the scatter of one wood, more than half of it.
    let relative = all.spread_n / all.weight_n;
    assert!((0.5 * 0.22..0.22).contains(&relative), "{relative}");
}

/// A weight that scales with the cube of thickness: for a lath the sensitivities are closed forms.
#[test]
fn sensitivities_of_a_lath() {
    let (t, width) = (11.0, 35.0);
    let build = lath(850.0, width, t, 13_000.0);
    // With the pivot held on the neutral axis only the stiffness changes; the difference moves that axis by half of itself.
    let options = Options { grip_depth_mm: Some(0.5 * t), ..Options::default() };
    let all = sensitivity::of(&build, &options).unwrap().value;
    let lamination = all.laminations[0];
    assert!((100.0 * lamination.n_per_percent_modulus / all.weight_n - 1.0).abs() < 1e-6);
    assert!((all.n_per_mm_width * width / all.weight_n - 1.0).abs() < 1e-6);
    assert!((all.spread_n / all.weight_n - build.laminations[0].wood.modulus_cov).abs() < 1e-6);
    // dF/dt = 3 F / t, but for the half millimetre of the axis per millimetre: a tenth of a percent of the draw.
    let cube = 3.0 * all.weight_n / t;
    assert!((100.0 * lamination.n_per_hundredth_mm / cube - 1.0).abs() < 0.02);
}

fn hinges(build: &Build) -> Vec<hinge::Hinge> {
    let curve = draw::curve(build, &Options::default()).unwrap_or_else(|faults| panic!("{}", faults[0])).value;
    hinge::find(build, &curve)
}

#[test]
fn a_sound_limb_has_no_hinge() {
    assert_eq!(hinges(&flatbow()), []);
    assert_eq!(hinges(&lath(850.0, 35.0, 11.0, 13_000.0)), []);
}

#[test]
fn a_lamination_that_stops_thick_makes_a_hinge() {
    let mut build = flatbow();
    let mut power = build.laminations[1].clone();
    power.name = "power".to_owned();
    power.to_mm = 380.0;
    power.finished = Taper::parallel(1.5);
    build.laminations.insert(1, power);
    build.riser.as_mut().unwrap().position = 3;
    let found = hinges(&build);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].cause, hinge::HingeCause::LaminationEnd(1));
    assert!((found[0].cause_mm - 380.0).abs() < 1e-9 && (found[0].s_mm - 380.0).abs() < 20.0, "{found:?}");
    assert!(1.05 < found[0].over_trend && found[0].over_trend < 1.5);
}

#[test]
fn a_waist_in_width_or_thickness_makes_a_hinge() {
    let mut narrow = flatbow();
    let outline = narrow.outline.as_mut().unwrap();
    let mut points = outline.width.points().to_vec();
    let at = points.iter().position(|point| 450.0 < point.0).unwrap();
    points.splice(at..at, [(430.0, 40.0), (450.0, 32.0), (470.0, 36.0)]);
    outline.width = Curve::through(points, Between::Straight).unwrap();
    let found = hinges(&narrow);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].cause, hinge::HingeCause::Width);
    assert!((found[0].s_mm - 450.0).abs() < 15.0);

    let mut thin = flatbow();
    let belly = &mut thin.laminations[2];
    let points = belly.finished.curve().points().iter().flat_map(|(s, t)| {
        let waist = if (400.0..410.0).contains(s) { 0.45 } else { 0.0 };
        [(*s, t - waist)]
    });
    belly.finished = Taper::ground(points.collect()).unwrap();
    let mut points = belly.finished.curve().points().to_vec();
    let at = points.iter().position(|point| 400.0 < point.0).unwrap();
    let (s, t) = points[at];
    points.splice(at..=at, [(s - 25.0, t + 0.52), (s, t), (s + 25.0, t + 0.38)]);
    belly.finished = Taper::ground(points).unwrap();
    let found = hinges(&thin);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].cause, hinge::HingeCause::Taper(2));
    assert!((found[0].s_mm - s).abs() < 20.0);
}

/// What is sized can be ground: the last gap of each strip on a sled is a step of the gauge, and the weight is as near as `size` says.
#[test]
fn sized_thicknesses_stand_on_the_gauge() {
    for units in [System::Inch, System::Millimetre] {
        for style in Style::ALL {
            for times in [0.85, 1.0, 1.1] {
                let wish = |text: &str| {
                    let job = Job::read("bow.toml", text, Inputs::default()).unwrap();
                    let weight = times * job.build().target.unwrap().draw_weight_n;
                    job.with(&[Change::new("target.draw_weight", format!("{weight:.3} N"))]).unwrap()
                };
                let job = wish(&starter(&Starter { style, units, ..Starter::default() }));
                let Ok(sized) = job.sized() else { continue };
                let text = edit::rewritten(job.source(), job.build(), &sized.value.build).unwrap().text;
                let written = job.read_again(&text).unwrap();
                let told: Vec<String> =
                    written.warnings().unwrap_or_default().iter().map(|warning| warning.spoken(units).to_string()).collect();
                let off = told.iter().find(|warning| warning.contains("no step of the gauge"));
                assert!(off.is_none(), "{} at {times} in {units:?}: {}", style.word(), off.unwrap());
                let force = written.force_curve().unwrap().at_full_draw().force_n;
                // Where the gauge's step is coarser than a digit, what is sized is what is written.
                if units == System::Millimetre {
                    assert!((force / sized.value.weight_n - 1.0).abs() < 1e-4, "{}: {force}", style.word());
                }
                assert!(
                    (force / sized.value.wanted_n - 1.0).abs() < 0.01,
                    "{}: {force} of {}",
                    style.word(),
                    sized.value.wanted_n
                );
            }
        }
    }
}
