//! Halves that overlap at the grip: strips that add up on the finished bow, the section in the lap against another library, one bow of two mirrored
//! halves, the riser that takes a lap up, limits with their hints.
//!
//! Slopes of scarfs: common practice, no source, as for splices. Transformed sections: any text on strength of materials; the peer is `sectionproperties`.

mod peers;
mod support;

use serde_json::json;
use support::bows::{IN, flatbow};
use taperwright::diag::Diagnostic;
use taperwright::job::{Change, Inputs, Job};
use taperwright::mechanics::bow::Options;
use taperwright::mechanics::layer_kind::LayerKind;
use taperwright::mechanics::section::{Section, Stack};
use taperwright::mechanics::splice::{ScarfOf, on_the_glue};
use taperwright::mechanics::{draw, glueup, mass};
use taperwright::model::Build;
use taperwright::model::join::Meet;
use taperwright::model::lamination::Face;
use taperwright::model::taper::Taper;
use taperwright::serve::levers::levers;
use taperwright::units::System;

const LAPWING: &str = include_str!("../examples/more/lapwing.toml");
/// Two of four inches past the centre.
const LAP_MM: f64 = 4.0 * IN;

fn lapwing(changes: &[(&str, &str)]) -> Result<Job, String> {
    let text = changes.iter().fold(LAPWING.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replacen(from, to, 1)
    });
    Job::read("lapwing.toml", &text, Inputs::default()).map_err(|unread| format!("{unread:?}"))
}

/// The flatbow with the core's halves lapped against its riser; a taper that is straight from the centre.
fn lapped() -> Build {
    let mut build = flatbow();
    build.laminations[1].finished = Taper::straight(0.0, 33.75 * IN, 0.150 * IN, 0.002).unwrap();
    build.laminations[1].meet = Meet::Lapped { length_mm: LAP_MM };
    build
}

fn butted() -> Build {
    let mut build = lapped();
    build.laminations[1].meet = Meet::Butted;
    build
}

/// Both strips, less their overruns and less what lies double, are the finished lamination from end to end; every place on a strip has one station
/// and back; what the machine grinds is the finished thickness there, past the centre too.
#[test]
fn strips_add_up_on_the_finished_bow() {
    let job = lapwing(&[]).unwrap();
    for (name, overlap) in [("back", 50.0), ("core", 60.0), ("belly", -2.0 * 105.0)] {
        let lamination = job.build().laminations.iter().find(|l| l.name == name).unwrap();
        let strip = lamination.strip_length_mm() - 2.0 * lamination.stock.overrun_mm;
        assert!((2.0 * strip - overlap - 2.0 * lamination.to_mm).abs() < 1e-9, "{name}");
        for k in 0..=40 {
            let u = lamination.strip_length_mm() * f64::from(k) / 40.0;
            assert!((lamination.u_of(lamination.station_at(u)) - u).abs() < 1e-9);
            assert!((lamination.strip_thickness_at(u) - lamination.finished.at(lamination.station_at(u))).abs() < 1e-12);
        }
        // The bow's centre lies as far up the strip as it reaches past it and is cut longer.
        let centre = lamination.u_of(0.0) - lamination.stock.overrun_mm;
        assert!((centre - 0.5 * overlap).abs() < 1e-9, "{name}: {centre}");
    }
    // Report, cut list and sled have one length.
    let report = job.report().unwrap();
    for (row, lamination) in report.laminations.iter().zip(&job.build().laminations) {
        assert!((row.strip_length_mm - lamination.strip_length_mm()).abs() < 1e-3);
        let sled = job.ground(job.build().laminations.iter().position(|l| l.name == lamination.name).unwrap()).unwrap();
        assert!(sled.is_none_or(|ground| {
            ground.kit.as_ref().is_none_or(|kit| (kit.sled.strip_length_mm - lamination.strip_length_mm()).abs() < 1e-9)
        }));
    }
    let pieces = &report.splices.iter().find(|row| row.lamination == "core").unwrap().pieces;
    let sawn: f64 = pieces.iter().map(|piece| f64::from(piece.count) * piece.length_mm).sum();
    let scarf = 12.0 * 6.0;
    assert!((sawn - 2.0 * scarf - 2.0 * job.build().laminations[1].strip_length_mm()).abs() < 1e-6, "{pieces:?}");
}

/// In the lap both strips lie over each other with a glue line between them, and the riser is thinner by both: the whole is as deep as beside it.
/// Stiffness and neutral axis by another library's meshes, from thicknesses worked out by hand.
#[test]
fn the_section_in_the_lap_agrees_with_another_library() {
    let build = lapped();
    let (stack, plain) = (Stack::of(&build).unwrap(), butted());
    let plain = Stack::of(&plain).unwrap();
    let line = build.glue.line_mm;
    let riser = build.riser.as_ref().unwrap();
    let riser_modulus = riser.across.iter().map(|slice| slice.wood.modulus_mpa * slice.width_mm).sum::<f64>()
        / riser.across.iter().map(|slice| slice.width_mm).sum::<f64>();
    let moduli: Vec<f64> = build.laminations.iter().map(|lamination| lamination.wood.modulus_mpa).collect();
    let stations = [0.0, 0.3 * IN, IN, 1.99 * IN];
    let mut asked = Vec::new();
    for s in stations {
        // Of a straight taper: thinner on its own limb by as much as the other is thicker.
        let own = (0.150 - 0.002 * s / IN) * IN;
        let other = (0.150 + 0.002 * s / IN) * IN;
        let width = build.outline.as_ref().unwrap().width_at(s);
        let glue = (line, build.glue.modulus_mpa, 1.0);
        let block = (1.5 * IN - other - line, riser_modulus, 1.0);
        let layers = [
            (0.140 * IN, moduli[0], 1.0),
            glue,
            (own, moduli[1], 1.0),
            glue,
            (other, moduli[1], 1.0),
            glue,
            block,
            glue,
            (build.laminations[2].finished.at(s), moduli[2], 1.0),
        ];
        let depth: f64 = layers.iter().map(|layer| layer.0).sum();
        let section = stack.section(s, s);
        assert_eq!(section.layers.len(), layers.len());
        assert!((section.depth_mm - depth).abs() < 1e-9 && (depth - plain.properties(s, s).depth_mm).abs() < 1e-9);
        asked.push(json!({ "faces": [width, width], "crown": 0.0, "depth": depth, "layers": layers }));
        // Whichever half lies on the other: a glue line moves by what the strips taper over the lap, no more.
        let turned = [layers[0], glue, layers[4], glue, layers[2], glue, layers[6], glue, layers[8]];
        let turned = Section::of(turned.iter().map(|(t, e, _)| (LayerKind::Glue, *t, *e, width)));
        assert!((turned.stiffness_n_mm2 / section.stiffness_n_mm2 - 1.0).abs() < 1e-4);
    }
    let beyond = LAP_MM / 2.0 + 1e-6;
    assert_eq!(stack.section(beyond, beyond).layers.len(), 7);
    let Some(answer) = peers::run("across.py", &[], &json!(asked).to_string()) else { return };
    let answers: Vec<Vec<f64>> = serde_json::from_str(&answer).unwrap();
    for (s, found) in stations.iter().zip(answers) {
        let here = stack.properties(*s, *s);
        assert!((here.stiffness_n_mm2 / found[0] - 1.0).abs() < 1e-7, "{s}: {} {}", here.stiffness_n_mm2, found[0]);
        assert!((here.neutral_mm - found[1]).abs() < 1e-7 * here.depth_mm);
    }
}

/// Halves that are scarfed are one strip: every number of the bow is that of the butted one, to the last bit; a lap in the riser moves the weight by what
/// its wood is stiffer than the riser's, which is under the full depth and hardly anything. Neither weighs more beyond the feather.
#[test]
fn the_bow_is_one_bow() {
    let weight = |build: &Build| draw::weight_of(build, &Options::default()).unwrap();
    let mut scarfed = butted();
    scarfed.laminations[1].meet = Meet::Scarfed { length_mm: 2.0 * IN };
    assert_eq!(weight(&scarfed).to_bits(), weight(&butted()).to_bits());
    let (lap, butt) = (weight(&lapped()), weight(&butted()));
    assert!((lap / butt - 1.0).abs() < 1e-3 && 0.0 < (lap / butt - 1.0).abs(), "{lap} {butt}");
    assert_eq!(mass::limb_kg(&lapped()).unwrap().to_bits(), mass::limb_kg(&butted()).unwrap().to_bits());
    // A riser that is as stiff as the strips: only one glue line more is left of the difference, and without thickness nothing.
    let even = |mut build: Build| {
        build.glue.line_mm = 0.0;
        let modulus = build.laminations[1].wood.modulus_mpa;
        build.riser.as_mut().unwrap().across.iter_mut().for_each(|slice| slice.wood.modulus_mpa = modulus);
        weight(&build)
    };
    assert!((even(lapped()) / even(butted()) - 1.0).abs() < 1e-9);
    // More glue: the lap's own area, on both limbs.
    let area = |build: &Build| glueup::plan(build).unwrap().value.stages.iter().map(|stage| stage.glue.area_mm2).sum::<f64>();
    let (more, strip) = (area(&lapped()) - area(&butted()), lapped().laminations[1].stock.width_mm);
    // Strips run on past the nock, and the need of the whole is carried on to their ends.
    let beyond = 33.75 / 33.0;
    assert!((more / (LAP_MM * strip * beyond) - 1.0).abs() < 0.1, "{more}");
}

/// A scarf between halves is asked what any splice is, at the bow's centre.
#[test]
fn a_scarf_at_the_grip_bears_what_the_grip_does() {
    let job = lapwing(&[]).unwrap();
    let load = job.splice_loads().unwrap().iter().find(|load| load.of == ScarfOf::Halves).unwrap();
    assert_eq!(load.lamination, 0);
    assert!((load.slope - 50.0 / 4.2).abs() < 1e-9 && load.at_mm.abs() < 1e-12);
    let curve = job.force_curve().unwrap();
    let back = |k: usize| curve.strain(curve.at_full_draw(), k, 0)[0];
    let near = (0..curve.stations.len()).filter(|k| curve.stations[*k].s_mm <= 60.0).map(back).fold(0.0, f64::max);
    assert!(load.stretch <= near + 1e-12 && back(0) <= load.stretch, "{load:?}");
    let wood = &job.build().laminations[0].wood;
    let glue = on_the_glue(wood.modulus_mpa * load.stretch, load.slope);
    assert!((load.glue_mpa[1] - glue[1]).abs() < 1e-9);
    let row = &job.report().unwrap().meets[0];
    assert_eq!((row.how.as_str(), row.verdict.as_deref()), ("scarf", Some("goes")));
}

fn said(text: &str) -> Vec<Diagnostic> {
    match taperwright::buildfile::read("meet.toml", text).1 {
        Ok(reported) => reported.warnings,
        Err(faults) => faults,
    }
}

fn places(text: &str) -> Vec<String> {
    said(text).iter().map(|found| found.place.as_str().to_owned()).filter(|place| place.contains("meet")).collect()
}

/// What cannot be glued is refused, each at its own key; a scarf that a hint proposes instead is taken.
#[test]
fn what_cannot_be_glued_is_refused() {
    let with = |changes: &[(&str, &str)]| {
        changes.iter().fold(LAPWING.to_owned(), |text, (from, to)| {
            assert!(text.contains(from), "{from}");
            text.replacen(from, to, 1)
        })
    };
    assert!(places(LAPWING).is_empty(), "{:?}", said(LAPWING));
    let core = "meet      = { lap = 60 }";
    let back = "meet      = { scarf = 50 }";
    type Row<'a> = (Vec<(&'a str, &'a str)>, &'a str);
    let rows: Vec<Row<'_>> = vec![
        // The back lies against no riser.
        (vec![(back, "meet = { lap = 50 }")], "lamination[0].meet.lap"),
        (vec![(core, "meet = { lap = 201 }")], "lamination[1].meet.lap"),
        (vec![(core, "meet = { lap = 60, scarf = 60 }")], "lamination[1].meet.lap"),
        (vec![(core, "meet = {}")], "lamination[1].meet"),
        (vec![(core, "meet = \"lap\"")], "lamination[1].meet"),
        (
            vec![("pieces    = \"halves\"\nmeet      = { scarf = 50 }", "pieces = \"full\"\nmeet = { scarf = 50 }")],
            "lamination[0].meet",
        ),
        (vec![("from      = 105", "meet = { scarf = 40 }\nfrom = 105")], "lamination[2].meet"),
        (vec![("depth   = 38", "depth = 9.67")], "lamination[1].meet.lap"),
        (vec![(back, "meet = { scarf = 16 }")], "lamination[0].meet.scarf"),
        (vec![(back, "meet = { scarf = 169 }")], "lamination[0].meet.scarf"),
        (vec![("thickness = 4.76\n", "thickness = 4.76\nstage = 2\n")], "lamination[1].meet.lap"),
    ];
    for (changes, place) in rows {
        let found = said(&with(&changes));
        assert!(found.iter().any(|fault| fault.place.as_str() == place), "{changes:?}: {found:?}");
    }
    // Fed exactly: a lap as long as the level part, slopes of 1:4 and 1:40, a riser of which half stays.
    for changes in [
        vec![(core, "meet = { lap = 200 }")],
        vec![(back, "meet = { scarf = 16.8 }")],
        vec![(back, "meet = { scarf = 168 }")],
        vec![("depth   = 38", "depth = 9.68")],
        vec![(core, "meet = \"butt\"")],
    ] {
        assert!(places(&with(&changes)).is_empty(), "{changes:?}: {:?}", said(&with(&changes)));
    }
    // A splice may come as near as the overlap lets it.
    let at = |mm: f64| with(&[("splice    = { at = 560", &format!("splice = {{ at = {mm}"))]);
    let runs_in =
        |mm: f64| said(&at(mm)).iter().any(|found| found.message.spoken(System::Millimetre).contains("overlap of the halves"));
    // Half a scarf of 12 times the strip there, from the end of the overlap at 30 mm: at = 30 + 6 t, t = 4.76 − 0.002 at.
    let nearest = (30.0 + 6.0 * 4.76) / (1.0 + 0.012);
    assert!(!runs_in(nearest + 1e-6) && runs_in(nearest - 1e-2));
}

/// Book, template and bench show it; a bow without has no word of it.
#[test]
fn book_sheets_and_bench_show_it() {
    let job = lapwing(&[]).unwrap();
    let files = job.files().unwrap();
    let number = files.names().position(|name| name == "build-book.html").unwrap();
    let book = String::from_utf8_lossy(&files.bytes(number).unwrap()).into_owned();
    for said in
        ["id=\"halves\"", "/meets/0/slope", "/meets/1/rebate_mm", "lapped at the grip", "each half reaches past the centre by"]
    {
        assert!(book.contains(said), "{said}");
    }
    let outline = job.build().outline.as_ref().unwrap();
    let marks = taperwright::sheets::outline::stations(job.build(), outline);
    assert!(
        marks.iter().any(|mark| (mark.at_mm - 30.0).abs() < 1e-9 && mark.name.as_deref() == Some("core lapped to here")),
        "{marks:?}"
    );
    let rebate = job.build().rebates().next().unwrap();
    assert_eq!((rebate.lamination, rebate.face), (1, Face::Back));
    assert!((rebate.depth_mm - 4.84).abs() < 1e-9);
    let lever = levers(&job).into_iter().find(|lever| lever.key == "lamination[core].meet.lap").unwrap();
    let longer = job.with(&[Change::new(&lever.key, "80")]).unwrap();
    assert!((longer.build().laminations[1].strip_length_mm() - job.build().laminations[1].strip_length_mm() - 10.0).abs() < 1e-9);
    let plain = lapwing(&[("meet      = { lap = 60 }", ""), ("meet      = { scarf = 50 }", "")]).unwrap();
    assert!(!serde_json::to_string(plain.report().unwrap()).unwrap().contains("meets"));
}

/// What a lap lays over the riser is what its rebate takes off it, whether or not another wood is spliced in farther out.
#[test]
fn a_lap_takes_nothing_off_the_grip_beside_a_splice() {
    let splice = "splice    = { at = 560, slope = 12, wood = \"redcedar, eastern\" }";
    for job in [lapwing(&[]).unwrap(), lapwing(&[(splice, "")]).unwrap()] {
        let build = job.build();
        let stack = Stack::of(build).unwrap();
        for s in [0.0, 10.0, 29.0, 31.0, 60.0] {
            let section = stack.section(s, s);
            let over = section.layers.last().unwrap().belly_mm();
            assert!((section.depth_mm - build.depth_mm(s)).abs() < 1e-6, "{s}: {} of {}", section.depth_mm, build.depth_mm(s));
            assert!((over - section.depth_mm).abs() < 1e-6);
            let core = section.layers.iter().filter(|layer| matches!(layer.part, LayerKind::OtherHalf(1))).count();
            assert_eq!(core, usize::from(s < 30.0), "the core's other end at {s}");
        }
    }
}
