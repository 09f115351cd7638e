//! The upper half of a form: its gap measured again from the stack by distances between points, where no hose fills it, keys, sheet and parts.

mod support;

use support::bows::{IN, flatbow, lath};
use support::shop;
use taperwright::buildfile;
use taperwright::diag::Diagnostic;
use taperwright::geometry::{Point, height_at};
use taperwright::job::{Inputs, Job};
use taperwright::mechanics::glueup::{GlueUp, plan};
use taperwright::model::Build;
use taperwright::model::workshop::{GlueStage, Held, Press};
use taperwright::serve::levers::levers;
use taperwright::sheets;
use taperwright::shop::cutting::{self, Whose};
use taperwright::shop::form::{self, Form};
use taperwright::shop::upper_half;
use taperwright::units::System;

const HOLLOW: &[(f64, f64)] = &[(0.0, 0.0), (220.0, 0.0), (520.0, 25.0), (838.2, 35.0)];
const REFLEXED: &[(f64, f64)] = &[(0.0, 0.0), (203.2, 0.0), (508.0, -17.8), (838.2, -70.0)];

fn pressed(mut build: Build, rise: &[(f64, f64)], press: Option<Press>) -> Build {
    let held = Held::Form { rise: rise.to_vec() };
    build.glue.stages = vec![GlueStage { number: 1, held, clamp_time_s: None, want_tip_mm: None, retained: None, press }];
    build
}

fn both(build: &Build) -> Result<(GlueUp, Form, Form), Vec<Diagnostic>> {
    let glued = plan(build).unwrap().value;
    let lower = form::lay_out(build, &glued, &glued.stages[0], 0.0)?.value.unwrap();
    let upper = upper_half::lay_out(build, &glued, &glued.stages[0])?.value.unwrap();
    Ok((glued, lower, upper))
}

/// From a point to the nearest place of a line of points.
fn to_line(from: Point, line: &[Point]) -> f64 {
    let to = |pair: &[Point]| {
        let (a, b) = (pair[0], pair[1]);
        let (dx, dy) = (b.x - a.x, b.y - a.y);
        let fraction = (((from.x - a.x) * dx + (from.y - a.y) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
        from.distance(Point::new(a.x + fraction * dx, a.y + fraction * dy))
    };
    line.windows(2).map(to).fold(f64::INFINITY, f64::min)
}

/// The upper half turned back over the lower one, so far above it at the centre.
fn over(lower: &Form, upper: &Form, at_centre_mm: f64) -> Vec<Point> {
    let middle = |form: &Form| form.edge[form.edge.len() / 2];
    assert!(middle(lower).x.abs() < 1e-9 && middle(upper).x.abs() < 1e-9);
    let foot = middle(lower).y + at_centre_mm + middle(upper).y;
    upper.edge.iter().map(|point| Point::new(point.x, foot - point.y)).collect()
}

/// Laminations between two indices and the lines between them.
fn laid(build: &Build, indices: std::ops::Range<usize>, s: f64) -> f64 {
    let count = indices.len() as f64;
    let of = |index: usize| build.laminations[index].thickness_at(s.min(build.laminations[index].to_mm));
    indices.map(of).sum::<f64>() + (count - 1.0).max(0.0) * build.glue.line_mm
}

/// Both edges are as far apart as stack, strip and hose are high, on deflexed and reflexed forms; over the fades, the edge is as far from
/// the riser's face as the belly that climbs it, strip and hose are high. Riser on the belly, on the back and none.
#[test]
fn the_gap_is_stack_strip_and_hose_everywhere() {
    let press = Press { hose_mm: 22.0, strip_mm: 1.5 };
    for rise in [HOLLOW, REFLEXED] {
        for on in ["belly", "back", "none"] {
            let mut build = pressed(flatbow(), rise, Some(press));
            match on {
                "back" => build.riser.as_mut().unwrap().position = 0,
                "none" => build.riser = None,
                _ => {}
            }
            let (glued, lower, upper) = both(&build).unwrap_or_else(|faults| panic!("{on}: {faults:?}"));
            let line = build.glue.line_mm;
            let riser = build.riser.as_ref();
            let block = |s: f64| riser.map_or(0.0, |riser| riser.thickness_at(s));
            let stack = |s: f64| laid(&build, 0..3, s) + if 0.0 < block(s) { block(s) + line } else { 0.0 };
            let high = |s: f64| stack(s) + press.strip_mm + press.hose_mm;
            let top = over(&lower, &upper, high(0.0));
            let feather = riser.map_or(0.0, |riser| riser.feather_station_mm());
            let half = &lower.edge[lower.edge.len() / 2..];
            let (mut seen, mut climbed) = (0, 0);
            // The last is the template's end, beyond the stations of the glue-up.
            for (spot, at) in glued.stages[0].on_form.iter().zip(half) {
                let s = spot.s_mm;
                // Within a hand of the feather the fade's end is nearer than the limb.
                if feather + 30.0 < s || s < 0.8 * riser.map_or(f64::INFINITY, |riser| 0.5 * riser.level_mm) - 30.0 {
                    let gap = to_line(*at, &top);
                    assert!((gap - high(s)).abs() < 0.01, "{on} {s}: {gap} {}", high(s));
                    seen += 1;
                }
                if on == "belly" && (s < feather - 5.0) {
                    let under = laid(&build, 0..2, s) + line + block(s);
                    let slope = spot.angle_rad;
                    let face = Point::new(at.x - under * slope.sin(), at.y + under * slope.cos());
                    let wanted = laid(&build, 2..3, s) + line + press.strip_mm + press.hose_mm;
                    let gap = to_line(face, &top);
                    assert!((gap - wanted).abs() < 0.01, "over the fade, {s}: {gap} {wanted}");
                    climbed += 1;
                }
            }
            assert!(60 < seen && (on != "belly" || 20 < climbed), "{on}: {seen} {climbed}");
            // The same numbers stand on the sheet.
            let gaps = &upper.upper.as_ref().unwrap().gaps_mm;
            assert_eq!(gaps.len(), upper.marks.len());
            for ((mark, under), gap) in upper.marks.iter().zip(&lower.marks).zip(gaps) {
                assert!((mark.at.x - under.at.x).abs() < 1e-9, "{}: {} over {}", mark.name, mark.at.x, under.at.x);
                let upright = height_at(&top, mark.at.x) - under.at.y;
                assert!((gap - upright).abs() < 0.02, "{}: {gap} is drawn {upright}", mark.name);
            }
            // A bolt goes upright through the ticks of both.
            for (tick, under) in upper.straps.iter().zip(&lower.straps) {
                assert!((tick.at.x - under.at.x).abs() < 1e-9, "{}: {} over {}", tick.name, tick.at.x, under.at.x);
            }
            assert!((upper.length_mm() - lower.length_mm()).abs() < 1e-6);
            let names = |form: &Form| form.marks.iter().map(|mark| mark.name.clone()).collect::<Vec<_>>();
            assert_eq!(names(&lower), names(&upper));
            assert_eq!(lower.straps.len(), upper.straps.len());
        }
    }
}

/// A fade that is rounder than what lies on it: refused with the place and by how much; the hose of the hint passes, a little more does not.
#[test]
fn a_fade_too_tight_for_the_hose_is_refused() {
    let with = |hose_mm: f64| {
        let mut build = pressed(flatbow(), REFLEXED, Some(Press { hose_mm, strip_mm: 1.5 }));
        let riser = build.riser.as_mut().unwrap();
        (riser.length_mm, riser.level_mm) = (8.0 * IN, 5.0 * IN);
        build
    };
    let faults = both(&with(60.0)).expect_err("a fade of 1.5 in is rounder than a hose of 60 mm");
    assert_eq!(faults[0].place.as_str(), "glue.stage[0].press.hose");
    let said = faults[0].words(System::Millimetre);
    let station: f64 = said.message.strip_prefix("at station ").unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!((63.0..103.0).contains(&station), "{}", said.message);
    let hint = said.hints[0].clone();
    let hose: f64 = hint.strip_prefix("press with a hose of ").unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!((3.0..60.0).contains(&hose), "{hint}");
    both(&with(hose)).unwrap_or_else(|faults| panic!("{hose}: {faults:?}"));
    both(&with(hose + 0.2)).expect_err("the hint names the most");
    // More than is allowed, and less than the hose itself.
    let over_mm: f64 = said.message.split("the gap is ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!(0.5 < over_mm && over_mm < 60.0, "{}", said.message);
}

/// A strip that ends bluntly in the limb leaves a step that no hose fills; no hose is proposed.
#[test]
fn a_blunt_end_is_no_matter_of_the_hose() {
    let mut build = lath(800.0, 40.0, 4.0, 12_000.0);
    let mut short = build.laminations[0].clone();
    (short.name, short.to_mm) = ("short".into(), 400.0);
    build.laminations.push(short);
    let faults = both(&pressed(build, REFLEXED, Some(Press { hose_mm: 20.0, strip_mm: 0.0 }))).expect_err("a step");
    assert!(faults[0].words(System::Millimetre).hints[0].starts_with("no hose fills it"));
}

/// Among the parts to cut and the sheets there are both halves where the stage has an upper one, and otherwise what there was.
#[test]
fn it_is_cut_and_drawn_with_the_lower_half() {
    let made = |press: Option<Press>| {
        let mut build = pressed(flatbow(), REFLEXED, press);
        build.sled = Some(shop::plan());
        let glued = plan(&build).unwrap().value;
        let forms = sheets::form::laid_out(&build, &glued).unwrap();
        let names: Vec<String> =
            sheets::form::all_halves((&build, &glued), None, &forms).into_iter().map(|sheet| sheet.name).collect();
        let cuts = cutting::together(&build, &[], &forms).unwrap();
        let parts: Vec<(Whose, String)> = cuts
            .iter()
            .flat_map(|cut| cut.from.iter().map(|from| from.0).zip(cut.parts.iter().map(|part| part.name.clone())))
            .collect();
        (names, parts)
    };
    let (names, parts) = made(None);
    assert_eq!(names, ["form-1"]);
    let (both_names, both_parts) = made(Some(Press { hose_mm: 20.0, strip_mm: 1.5 }));
    assert_eq!(both_names, ["form-1", "form-1-upper"]);
    assert_eq!(both_parts[..parts.len()], parts);
    let upper = &both_parts[parts.len()..];
    assert!(
        !upper.is_empty() && upper.iter().all(|(whose, name)| *whose == Whose::Form(1) && name.starts_with("form 1 upper half"))
    );
}

const BOW: &str = "units = \"mm\"\n[target]\ndraw_weight = \"180 N\"\ndraw_length = 680\n[outline]\nnock_to_nock = 1700\n\
    width = [[0, 32], [850, 14]]\n[[lamination]]\nname = \"core\"\nwood = \"maple, sugar\"\nthickness = 9\n[[glue.stage]]\n";

fn wrong(stage: &str) -> Vec<(String, String, String)> {
    let (_, outcome) = buildfile::read("bow.toml", &format!("{BOW}{stage}\n"));
    let faults = outcome.err().unwrap_or_default();
    let row = |fault: &Diagnostic| {
        let said = fault.words(System::Millimetre);
        (fault.place.as_str().to_owned(), said.message, said.hints.join("; "))
    };
    faults.iter().map(row).collect()
}

/// Keys, their limits, and what is refused.
#[test]
fn keys_hold_their_limits() {
    let form = |press: &str| format!("held = {{ form = [[0, 0], [850, -40]] }}\npress = {press}");
    for fits in ["{ hose = 3 }", "{ hose = 80, strip = 20 }", "{ hose = \"1 in\", strip = 0 }"] {
        assert_eq!(wrong(&form(fits)), [], "{fits}");
    }
    for (press, key) in [
        ("{ hose = 2.999 }", "hose"),
        ("{ hose = 80.001 }", "hose"),
        ("{ hose = 25, strip = 20.001 }", "strip"),
        ("{ hose = 25, strip = -0.001 }", "strip"),
        ("{ strip = 1 }", "hose"),
    ] {
        let wrong = wrong(&form(press));
        assert!(
            wrong.len() == 1
                && wrong[0].0.starts_with("glue.stage[0].press")
                && format!("{} {}", wrong[0].0, wrong[0].1).contains(key),
            "{press}: {wrong:?}"
        );
    }
    let free = wrong("held = { props = -30, at = 840 }\npress = { hose = 25 }");
    assert!(free.len() == 1 && free[0].0 == "glue.stage[0].press" && free[0].1.contains("held on none"), "{free:?}");
}

/// Hose and strip can be moved on the page.
#[test]
fn the_page_may_change_it() {
    let text = format!("{BOW}held = {{ form = [[0, 0], [850, -40]] }}\npress = {{ hose = 25, strip = 1.5 }}\n");
    let job = Job::read("bow.toml", &text, Inputs::default()).unwrap_or_else(|_| panic!("it reads"));
    let found: Vec<String> = levers(&job).into_iter().map(|lever| lever.key).collect();
    for key in ["glue.stage[0].press.hose", "glue.stage[0].press.strip"] {
        assert!(found.iter().any(|lever| lever == key), "{key} is not among {found:?}");
    }
}
