//! A bow carried to another length and written back into its file: what moves, what stays, to the byte.

mod support;

use support::bows::{IN, flatbow, lath, weight};
use taperwright::buildfile::edit::rewritten;
use taperwright::buildfile::{self, Source};
use taperwright::diag::Place;
use taperwright::mechanics::rescale::rescale;
use taperwright::mechanics::{mass, sizing};
use taperwright::model::Build;
use taperwright::model::workshop::Held;
use taperwright::units::System;

const MEADOW: &str = include_str!("../examples/meadow.toml");

fn read(text: &str) -> (Source, Build) {
    let (source, outcome) = buildfile::read("bow.toml", text);
    let build = outcome.unwrap_or_else(|faults| panic!("{}", faults[0])).value;
    (source, build)
}

fn carried(build: &Build, nock_to_nock_mm: f64) -> Build {
    rescale(build, nock_to_nock_mm).unwrap_or_else(|faults| panic!("{}", faults[0])).value.build
}

#[test]
fn an_unchanged_build_leaves_every_byte() {
    let (source, build) = read(MEADOW);
    let done = rewritten(&source, &build, &build).unwrap();
    assert_eq!((done.text.as_str(), done.edits.len()), (MEADOW, 0));
}

#[test]
fn a_taper_that_was_never_written_is_added() {
    let text = "units = \"mm\"\n[[lamination]]\nname      = \"core\"\nthickness = 4.0  # butt\nto        = 800\n\
                stock     = { width = 40 }\n[sled]\n";
    let (source, build) = read(text);
    let mut after = build.clone();
    after.laminations[0] = sizing::changed(&build.laminations[0], 0.0, 0.001).unwrap();
    let done = rewritten(&source, &build, &after).unwrap();
    assert_eq!(done.text, text.replace("4.0  # butt\n", "4.0  # butt\ntaper     = 0.001\n"));
    assert!((read(&done.text).1.laminations[0].finished.at(800.0) - 3.2).abs() < 1e-9);
}

#[test]
fn a_rescaled_file_reads_back_with_its_remarks() {
    let (source, build) = read(MEADOW);
    let after = carried(&build, 64.0 * IN);
    let done = rewritten(&source, &build, &after).unwrap();
    let remarks =
        |text: &str| text.lines().filter_map(|line| line.split_once('#').map(|(_, r)| r.to_owned())).collect::<Vec<_>>();
    assert_eq!(remarks(&done.text), remarks(MEADOW));
    // Undoing each edit gives the file as it was.
    let changed: Vec<(&str, &str)> = MEADOW.lines().zip(done.text.lines()).filter(|(a, b)| a != b).collect();
    let keys: Vec<&str> = changed.iter().map(|(was, _)| was.split('=').next().unwrap_or("").trim()).collect();
    assert_eq!(keys, ["nock_to_nock", "width", "taper", "taper", "held", "held", "want"], "{changed:?}");
    let (_, again) = read(&done.text);
    assert!((again.outline.as_ref().unwrap().nock_to_nock_mm - 64.0 * IN).abs() < 1e-9);
    let close = |a: f64, b: f64, by: f64| assert!((a - b).abs() <= by, "{a} {b}");
    for (a, b) in again.outline.unwrap().width.points().iter().zip(after.outline.unwrap().width.points()) {
        close(a.0, b.0, 0.5 / 16.0 * IN + 1e-9);
        close(a.1, b.1, 1e-9);
    }
    for (a, b) in again.laminations.iter().zip(&after.laminations) {
        // Half a ten-thousandth of taper over the limb.
        close(a.finished.at(a.to_mm), b.finished.at(b.to_mm), 0.000_05 * 33.0 * IN);
        close(a.finished.at(0.0), b.finished.at(0.0), 1e-9);
    }
}

#[test]
fn riser_and_thicknesses_stay_and_the_working_limb_is_scaled() {
    let mut build = flatbow();
    build.glue.stages = vec![taperwright::model::workshop::GlueStage {
        number: 1,
        held: Held::Form { rise: vec![(0.0, 0.0), (8.0 * IN, 0.0), (20.5 * IN, -20.0), (33.0 * IN, -60.0)] },
        clamp_time_s: None,
        want_tip_mm: Some(-40.0),
        retained: None,
        press: None,
    }];
    let new = carried(&build, 61.0 * IN);
    // The nock comes from 33 to 30.5 in, the feather stays at 8: nine tenths of the working limb.
    assert_eq!(new.riser, build.riser);
    assert_eq!(new.target, build.target);
    let stations: Vec<f64> = new.outline.as_ref().unwrap().width.points().iter().map(|point| point.0 / IN).collect();
    for (station, wanted) in stations.iter().zip([0.0, 3.0, 8.9, 18.8, 30.5]) {
        assert!((station - wanted).abs() < 1e-9, "{station} {wanted}");
    }
    let (was, now) = (&build.laminations[1], &new.laminations[1]);
    assert!((now.to_mm - 31.25 * IN).abs() < 1e-9);
    assert!((now.finished.at(0.0) - was.finished.at(0.0)).abs() < 1e-12);
    assert!((now.finished.at(now.to_mm) - was.finished.at(was.to_mm)).abs() < 1e-9);
    let Held::Form { rise } = &new.glue.stages[0].held else { panic!() };
    for ((s, y), (s_wanted, y_wanted)) in rise.iter().zip([(0.0, 0.0), (8.0, 0.0), (19.25, -18.0), (30.5, -54.0)]) {
        assert!((s / IN - s_wanted).abs() < 1e-9 && (y - y_wanted).abs() < 1e-9, "{rise:?}");
    }
    assert_eq!(new.glue.stages[0].want_tip_mm, Some(-36.0));
    // There and back again.
    let back = carried(&new, 66.0 * IN);
    assert!((weight(&back) / weight(&build) - 1.0).abs() < 1e-9);
}

#[test]
fn a_ground_strip_keeps_its_readings_and_is_told_when_too_short() {
    let mut build = flatbow();
    build.laminations[2].ground = true;
    let shorter = rescale(&build, 64.0 * IN).unwrap();
    assert!(shorter.warnings.is_empty());
    assert_eq!(shorter.value.build.laminations[2].finished, build.laminations[2].finished);
    let longer = rescale(&build, 68.0 * IN).unwrap();
    let told = longer.warnings[0].words(System::Inch).message;
    assert_eq!(told, "`belly` is already ground and measured up to 33.75 in, but the new bow needs it up to 34.75 in");
}

#[test]
fn a_length_out_of_reach_is_refused() {
    let refused = rescale(&flatbow(), 30.0 * IN).unwrap_err();
    assert_eq!(refused[0].place, Place::new("outline.nock_to_nock"));
    assert_eq!(refused[0].words(System::Inch).hints[0], "it can be carried to 46 in up to 96 in");
}

/// Common practice, no source, says 3 to 5 lb for two inches off a 45 lb bow: the square to the cube of the whole length. With a
/// 16 in riser that stays, the working limb loses 4 percent, whose cube alone is 6 lb, and the same draw is longer for it: this
/// bow gains more than the habit says. Held here are the habit's lower bound and the model's own law.
#[test]
fn two_inches_shorter_is_some_pounds_more() {
    let build = flatbow();
    let ratio = weight(&carried(&build, 64.0 * IN)) / weight(&build);
    let pounds = 45.0 * (ratio - 1.0);
    assert!(3.0 < pounds && pounds < 8.0, "{pounds}");
    // Never less than the cube of the working limbs for a straight limb whose thickness stays.
    assert!((25.0_f64 / 24.0).powi(3) < ratio, "{ratio}");
}

/// A box of maple: density times volume; a limb that narrows evenly to the same mean width weighs the same.
#[test]
fn a_box_weighs_its_volume() {
    let mut build = lath(850.0, 35.0, 11.0, 13_000.0);
    let density = build.laminations[0].wood.density_kg_m3;
    let wanted = density * 0.860 * 0.035 * 0.011;
    assert!((mass::limb_kg(&build).unwrap() / wanted - 1.0).abs() < 1e-12);
    let wedge = vec![(0.0, 40.0), (860.0, 30.0)];
    build.outline.as_mut().unwrap().width =
        taperwright::numeric::interp::Curve::through(wedge, taperwright::numeric::interp::Between::Straight).unwrap();
    assert!((mass::limb_kg(&build).unwrap() / wanted - 1.0).abs() < 1e-12);
}

/// A splice moves with the working limb like every other station, in the model and in the file; the halves' overlap at the grip stays.
#[test]
fn a_splice_moves_with_the_limb() {
    let with = MEADOW.replacen(
        "taper     = { flat = 4, then = 0.002 }",
        "taper     = { flat = 4, then = 0.002 }\nmeet      = { scarf = 2 }\nsplice    = { at = 20, wood = \"redcedar, eastern\" }",
        1,
    );
    let (source, build) = read(&with);
    let shorter = carried(&build, 70.0 * IN);
    let core = &shorter.laminations[1];
    // From the feather at 11 in: the working limb is 26 in long, and 24 in on the shorter bow.
    let expected = (11.0 + 9.0 * 24.0 / 26.0) * IN;
    assert!((core.splice.as_ref().unwrap().at_mm - expected).abs() < 1e-9 && core.meet == build.laminations[1].meet);
    let (_, again) = read(&rewritten(&source, &build, &shorter).unwrap().text);
    // Stations are written to a sixteenth.
    let written = again.laminations[1].splice.as_ref().unwrap().at_mm;
    assert!((written - expected).abs() <= IN / 32.0 + 1e-9 && 10.0 < 20.0 * IN - written, "{written}");
    assert!(again.laminations[1].outer().is_some());
}
