//! Strips spliced of two woods: the section in the scarf against another library, strains in one line, stress on both sides of the glue, mass by
//! volumes, the glue-up, what varies, and a limit that is known: two woods that are one.
//!
//! Transformed sections: any text on strength of materials; the peer is `sectionproperties`. Where feathers point is common practice, no source.

mod peers;
mod support;

use serde_json::json;
use support::bows::{IN, flatbow, on_form};
use taperwright::job::{Change, Inputs, Job};
use taperwright::mechanics::bow::{Options, Unstrung};
use taperwright::mechanics::layer_kind::LayerKind;
use taperwright::mechanics::section::Stack;
use taperwright::mechanics::splice::ScarfOf;
use taperwright::mechanics::{draw, glueup, mass, sensitivity};
use taperwright::model::Build;
use taperwright::model::join::{OuterPiece, Splice};
use taperwright::model::piece::PieceName;
use taperwright::model::wood::{self, Wood};
use taperwright::serve::levers::{Takes, levers};

const MEADOW: &str = include_str!("../examples/meadow.toml");
const LAPWING: &str = include_str!("../examples/more/lapwing.toml");

fn named(name: &str) -> Wood {
    wood::named(name).unwrap().at_moisture(0.12)
}

/// The flatbow with a core that goes on in another wood.
fn spliced(at_mm: f64, slope: f64, wood: Wood, on_back: bool) -> Build {
    let mut build = flatbow();
    build.laminations[1].splice = Some(Splice { at_mm, slope, outer: Some(OuterPiece { wood, board: None, on_back }) });
    build
}

fn bent(build: &Build) -> draw::DrawCurve {
    draw::curve(build, &Options::default()).unwrap().value
}

/// In the scarf both woods lie over each other as the plane of the scarf cuts them: thickness by similar triangles here, then stiffness and neutral
/// axis by another library's meshes. The plane of a block plane, at its slope from one face, is within two parts in a hundred of the strip.
#[test]
fn the_section_in_the_scarf_agrees_with_another_library() {
    let (at, slope) = (18.0 * IN, 12.0);
    for on_back in [false, true] {
        let build = spliced(at, slope, named("redcedar, eastern"), on_back);
        let stack = Stack::of(&build).unwrap();
        let core = &build.laminations[1];
        let half = 0.5 * slope * core.finished.at(at);
        let [from, to] = core.two_woods_mm().unwrap();
        assert!((from - at + half).abs() < 1e-9 && (to - at - half).abs() < 1e-9);
        let width = |s: f64| build.outline.as_ref().unwrap().width_at(s);
        let moduli = [&build.laminations[0].wood, &core.wood, &core.outer().unwrap().wood, &build.laminations[2].wood]
            .map(|wood| wood.modulus_mpa);
        // Before it, in it and after it: meshes of thin layers take their time.
        let fractions: &[f64] = if on_back { &[0.3, 0.8] } else { &[-0.2, 0.15, 0.5, 0.9, 1.2] };
        let stations: Vec<f64> = fractions.iter().map(|fraction| from + fraction * (to - from)).collect();
        let mut asked = Vec::new();
        for s in &stations {
            let whole = core.finished.at(*s);
            let outer = whole * ((s - from) / (to - from)).clamp(0.0, 1.0);
            let plane = ((s - from) / slope).clamp(0.0, whole);
            assert!((plane - outer).abs() < 0.02 * whole, "{plane} {outer}");
            let line = (0.08, build.glue.modulus_mpa, 1.0);
            let pair = [(whole - outer, moduli[1], 1.0), (outer, moduli[2], 1.0)];
            let core = if on_back { [pair[1], pair[0]] } else { pair };
            let outside = [build.laminations[0].finished.at(*s), build.laminations[2].finished.at(*s)];
            let mut layers = vec![(outside[0], moduli[0], 1.0), line];
            layers.extend(core.into_iter().filter(|layer| 1e-9 < layer.0));
            layers.extend([line, (outside[1], moduli[3], 1.0)]);
            let depth: f64 = layers.iter().map(|layer| layer.0).sum();
            asked.push(json!({ "faces": [width(*s), width(*s)], "crown": 0.0, "depth": depth, "layers": layers }));
        }
        let Some(answer) = peers::run("across.py", &[], &json!(asked).to_string()) else { return };
        let answers: Vec<Vec<f64>> = serde_json::from_str(&answer).unwrap();
        for (s, found) in stations.iter().zip(answers) {
            let here = stack.properties(*s, *s);
            assert!((here.stiffness_n_mm2 / found[0] - 1.0).abs() < 1e-7, "{s}: {} {}", here.stiffness_n_mm2, found[0]);
            assert!((here.neutral_mm - found[1]).abs() < 1e-7 * here.depth_mm, "{s}: {} {}", here.neutral_mm, found[1]);
            let section = stack.section(*s, *s);
            assert!((section.stiffness_n_mm2 / here.stiffness_n_mm2 - 1.0).abs() < 1e-12);
        }
        // Which piece lies on the back is told, and makes a difference.
        let order: Vec<LayerKind> = stack.section(at, at).layers.iter().map(|layer| layer.part).collect();
        let inner = order.iter().position(|part| *part == LayerKind::Lamination(1)).unwrap();
        let outer = order.iter().position(|part| *part == LayerKind::Outer(1)).unwrap();
        assert_eq!((inner + 1 == outer, outer + 1 == inner), (!on_back, on_back), "{order:?}");
    }
}

/// Strain is one line of depth through both pieces, at every station of the scarf, and goes on over its feathers without a jump. There a piece is
/// 1e-9 of the strip thick, so that a jump of a part in 1e8 of the strain is the rounding of it.
#[test]
fn strain_runs_on_through_the_scarf() {
    let build = spliced(18.0 * IN, 12.0, named("redcedar, eastern"), false);
    let curve = bent(&build);
    let full = curve.at_full_draw();
    let [from, to] = build.laminations[1].two_woods_mm().unwrap();
    let mut both = 0;
    for (k, (station, place)) in curve.stations.iter().zip(&full.places).enumerate() {
        let section = &station.section;
        for (layer, here) in section.layers.iter().enumerate() {
            let [back, belly] = curve.strain(full, k, layer);
            for (z, strain) in [(here.back_mm, back), (here.belly_mm(), belly)] {
                let line = -place.bend_per_mm * (z - section.neutral_mm);
                assert!((strain - line).abs() < 1e-15, "{strain} {line}");
            }
        }
        let inside = section.layers.iter().filter(|layer| layer.part.lamination() == Some(1)).count();
        let clear = from + 1e-6 < station.s_mm && station.s_mm < to - 1e-6;
        assert!(!clear || inside == 2, "{}: {inside}", station.s_mm);
        both += usize::from(clear);
    }
    assert!(0 < both);
    // Both sides of the feathers: stations that stand twice.
    for corner in [from, to] {
        let sides: Vec<usize> = (0..curve.stations.len()).filter(|k| (curve.stations[*k].s_mm - corner).abs() < 1e-9).collect();
        let face = |k: usize, belly: bool| {
            let section = &curve.stations[k].section;
            section.strain(full.places[k].bend_per_mm, if belly { section.depth_mm } else { 0.0 })
        };
        assert!(!sides.is_empty());
        for belly in [false, true] {
            let each: Vec<f64> = sides.iter().map(|k| face(*k, belly)).collect();
            assert!(each.iter().all(|strain| (strain / each[0] - 1.0).abs() < 1e-8), "{each:?}");
        }
        let stack = Stack::of(&build).unwrap();
        let [before, after] = [-1e-3, 1e-3].map(|off| stack.properties(corner + off, corner).stiffness_n_mm2);
        assert!((before / after - 1.0).abs() < 1e-7, "{before} {after}");
    }
}

/// On both sides of the scarf's glue line the same strain is another stress, by the moduli; the glue is asked for the greater.
#[test]
fn both_sides_bear_what_their_wood_does() {
    let job = Job::read("lapwing.toml", LAPWING, Inputs::default()).unwrap();
    let core = &job.build().laminations[1];
    let load = job.splice_loads().unwrap().iter().find(|load| load.of == ScarfOf::Splice).unwrap();
    assert_eq!(load.lamination, 1);
    let moduli = [core.wood.modulus_mpa, core.outer().unwrap().wood.modulus_mpa];
    for (stress, modulus) in load.beside_mpa.iter().zip(moduli) {
        assert!((stress / modulus - load.stretch).abs() < 1e-15 && 1e-4 < load.stretch, "{load:?}");
    }
    // Along the glue line of 1:12, by the angle of the slope.
    let angle = f64::atan(1.0 / 12.0);
    let greater = load.beside_mpa[0].max(load.beside_mpa[1]);
    assert!((load.glue_mpa[1] - greater * angle.sin() * angle.cos()).abs() < 1e-9);
    assert!((load.glue_mpa[0] - greater * angle.sin().powi(2)).abs() < 1e-9);
    // Each piece by its own wood: within what the whole strip would be of the one or the other.
    let breaking = [&core.wood, &core.outer().unwrap().wood].map(|wood| wood.breaking_strain.unwrap());
    let worst = (load.stretch / 0.95).max(load.press);
    let share = load.share_of_breaking.unwrap();
    assert!(share <= worst / breaking[0].min(breaking[1]) + 1e-12 && 0.9 * worst / breaking[0].max(breaking[1]) <= share);
}

/// Mass by volumes: the outer piece's share of the strip, times the difference of densities, summed in slices.
#[test]
fn mass_is_the_sum_of_volumes() {
    let outer = named("redcedar, eastern");
    let build = spliced(18.0 * IN, 12.0, outer.clone(), false);
    let lamination = &build.laminations[1];
    let outline = build.outline.as_ref().unwrap();
    let half = 0.5 * 12.0 * lamination.finished.at(18.0 * IN);
    let (from, to) = (18.0 * IN - half, 18.0 * IN + half);
    let slices = 200_000;
    let end = outline.end_mm();
    let step = (end - from) / f64::from(slices);
    let volume: f64 = (0..slices)
        .map(|k| from + (f64::from(k) + 0.5) * step)
        .map(|s| outline.width_at(s) * lamination.finished.at(s) * ((s - from) / (to - from)).min(1.0) * step)
        .sum();
    let lighter = 1e-9 * volume * (outer.density_kg_m3 - lamination.wood.density_kg_m3);
    let found = mass::limb_kg(&build).unwrap() - mass::limb_kg(&flatbow()).unwrap();
    assert!((found / lighter - 1.0).abs() < 1e-6 && found < -0.001, "{found} {lighter}");
}

/// Two woods that are one in all but name give what one gives, in draw, glue-up, mass, strain and sensitivity; the same name gives the same bytes.
#[test]
fn two_equal_woods_are_one() {
    let forms = |build: &mut Build| {
        let rise = vec![(0.0, 0.0), (200.0, 0.0), (500.0, -12.0), (838.0, -55.0)];
        build.glue.stages = vec![on_form(rise)];
    };
    let mut whole = flatbow();
    let twin = Wood { name: "twin".into(), ..whole.laminations[1].wood.clone() };
    let mut two = spliced(18.0 * IN, 10.0, twin, false);
    [&mut whole, &mut two].into_iter().for_each(forms);
    let glued = [&whole, &two].map(|build| glueup::plan(build).unwrap().value);
    assert!((glued[0].tip_mm() - glued[1].tip_mm()).abs() < 1e-7 && glued[0].tip_mm() < -20.0);
    let options = [&glued[0], &glued[1]].map(|glued| Options { unstrung: glued.unstrung.clone(), ..Options::default() });
    let curves = [(&whole, &options[0]), (&two, &options[1])].map(|(build, options)| draw::curve(build, options).unwrap().value);
    let force = curves.each_ref().map(|curve| curve.at_full_draw().force_n);
    assert!((force[0] / force[1] - 1.0).abs() < 1e-8, "{force:?}");
    let worst = |curve: &draw::DrawCurve| {
        let found = taperwright::mechanics::strain::hardest_of(&curve.worst, 1).unwrap();
        [found.strain, found.s_mm]
    };
    let [a, b] = [worst(&curves[0]), worst(&curves[1])];
    // Places are looked for between other stations: the strain is flat there.
    assert!((a[0] / b[0] - 1.0).abs() < 1e-4, "{a:?} {b:?}");
    let kg = [&whole, &two].map(|build| mass::limb_kg(build).unwrap());
    assert!((kg[0] / kg[1] - 1.0).abs() < 1e-9);
    let moves = [&whole, &two].map(|build| sensitivity::of(build, &Options::default()).unwrap().value);
    let of_core = |k: usize| {
        let core = moves[k].laminations[1];
        core.n_per_percent_modulus + core.outer_n_per_percent_modulus.unwrap_or(0.0)
    };
    assert!((of_core(0) / of_core(1) - 1.0).abs() < 1e-5, "{} {}", of_core(0), of_core(1));

    let with = |splice: &str| {
        let text = MEADOW.replacen(
            "taper     = { flat = 4, then = 0.002 }",
            &format!("taper = {{ flat = 4, then = 0.002 }}\n{splice}"),
            1,
        );
        let job = Job::read("meadow.toml", &text, Inputs::default()).unwrap();
        let report = serde_json::to_string(job.report().unwrap()).unwrap();
        // What stands of the text itself differs.
        let hash = job.stamp().hash.clone();
        report.replace(&hash, "")
    };
    assert_eq!(with("splice = { at = 20 }"), with("splice = { at = 20, wood = \"maple, sugar\" }"));
}

/// What the glue-up leaves in a strip of two woods is in balance by itself, and the strip comes into the form as one: a part of the form's
/// bending is left that an independent sum over its layers gives.
#[test]
fn a_strip_of_two_woods_is_glued_as_one() {
    let mut build = spliced(18.0 * IN, 12.0, named("redcedar, eastern"), false);
    let curvature = -2e-4;
    let rise: Vec<(f64, f64)> = (0..=84).map(|k| 10.0 * f64::from(k)).map(|s| (s, 0.5 * curvature * s * s)).collect();
    build.riser = None;
    build.glue.stages = vec![on_form(rise)];
    let unstrung: Unstrung = glueup::unstrung(&build).unwrap().value;
    let plain = Stack::of(&build).unwrap();
    let s = 18.0 * IN + 5.0;
    let section = plain.section(s, s);
    // Each strip about its own axis: the core's two layers by the sum of their moments.
    let moments = |layers: &[&taperwright::mechanics::section::Layer]| {
        let [zeroth, first, second] = layers.iter().fold([0.0; 3], |sum, layer| {
            let (n, a, b) = (layer.modulus_mpa * layer.width_mm, layer.back_mm, layer.belly_mm());
            [sum[0] + n * (b - a), sum[1] + n * (b * b - a * a) / 2.0, sum[2] + n * (b * b * b - a * a * a) / 3.0]
        });
        second - first * first / zeroth
    };
    let of = |index: usize| section.layers.iter().filter(|layer| layer.part.lamination() == Some(index)).collect::<Vec<_>>();
    let (loose, whole): (f64, f64) = ((0..3).map(|k| moments(&of(k))).sum(), moments(&section.layers.iter().collect::<Vec<_>>()));
    let kept = 1.0 - loose / whole;
    // Stations are counted along the form: its slope there is an arc's sine.
    let held = curvature / (1.0 - (curvature * s).powi(2)).sqrt();
    let found = unstrung.curvature_per_mm.at(s, s);
    assert!((found / (held * kept) - 1.0).abs() < 2e-3, "{found} {}", held * kept);
    // No force and no moment is left in the section.
    let curve = draw::curve(&build, &Options { unstrung, ..Options::default() }).unwrap().value;
    let [from, to] = build.laminations[1].two_woods_mm().unwrap();
    let mut seen = 0;
    for station in curve.stations.iter().filter(|station| from < station.s_mm && station.s_mm < to) {
        let (mut force, mut moment, mut size) = (0.0, 0.0, 0.0);
        for (layer, [back, belly]) in
            station.section.layers.iter().zip(&station.locked).filter(|(layer, _)| layer.part != LayerKind::Glue)
        {
            let (n, t) = (layer.modulus_mpa * layer.width_mm, layer.thickness_mm);
            let middle = 0.5 * (layer.back_mm + layer.belly_mm()) - station.section.neutral_mm;
            force += n * t * 0.5 * (back + belly);
            moment += n * t * (0.5 * (back + belly) * middle + (belly - back) * t / 12.0);
            size += n * t * back.abs().max(belly.abs());
        }
        // Glue lines keep what came off with them: a thousandth of the section.
        assert!(force.abs() < 2e-3 * size && moment.abs() < 2e-3 * size * station.section.depth_mm, "{force} {moment} of {size}");
        seen += 1;
    }
    assert!(0 < seen);
}

/// All moduli a percent up is a percent of weight, with the outer piece's own share; boards tie pieces together; a factor on untested wood finds both.
#[test]
fn both_pieces_vary() {
    let mut build = spliced(18.0 * IN, 12.0, named("redcedar, eastern"), false);
    build.glue.line_mm = 0.0;
    let all = sensitivity::of(&build, &Options::default()).unwrap().value;
    let core = all.laminations[1];
    let sum: f64 = all.laminations.iter().map(|l| l.n_per_percent_modulus + l.outer_n_per_percent_modulus.unwrap_or(0.0)).sum();
    assert!((100.0 * (sum + all.riser_n_per_percent) / all.weight_n - 1.0).abs() < 1e-4);
    assert!(0.0 < core.outer_n_per_percent_modulus.unwrap() && all.laminations[0].outer_n_per_percent_modulus.is_none());
    // Of its own wood the outer piece varies alone; of the back's wood and board with the back.
    let share = |outer: &dyn Fn(&mut OuterPiece)| {
        let mut build = build.clone();
        build.laminations[0].board = Some("one".into());
        outer(build.laminations[1].splice.as_mut().unwrap().outer.as_mut().unwrap());
        sensitivity::of(&build, &Options::default()).unwrap().value
    };
    let apart = share(&|piece| (piece.wood, piece.board) = (named("hickory, shagbark"), Some("two".into())));
    let tied = share(&|piece| (piece.wood, piece.board) = (named("hickory, shagbark"), Some("one".into())));
    let cov = named("hickory, shagbark").modulus_cov;
    let [a, b] = [apart.laminations[0].n_per_percent_modulus, apart.laminations[1].outer_n_per_percent_modulus.unwrap()];
    let more = tied.spread_n.powi(2) - apart.spread_n.powi(2);
    let expected = 2.0 * (100.0 * cov).powi(2) * a * b;
    assert!((more / expected - 1.0).abs() < 1e-6, "{more} {expected}");
    // A factor on wood that nobody tested is on both pieces.
    let options = Options::default();
    let untested = taperwright::mechanics::calibration::on_untested;
    build.laminations[0].modulus_tested = true;
    let mixed = untested(&build, &options, 1.1).unwrap();
    let mut by_hand = build.clone();
    [PieceName::of(1), PieceName::of(2), PieceName { lamination: 1, outer: true }]
        .into_iter()
        .for_each(|name| by_hand.stiffen(name, 1.1));
    by_hand.riser.as_mut().unwrap().across.iter_mut().for_each(|slice| slice.wood.modulus_mpa *= 1.1);
    let weight = |build: &Build| draw::weight_of(build, &options).unwrap();
    assert!((mixed - weight(&by_hand) / weight(&build)).abs() < 1e-12);
}

/// What stands in book, report, cut list and bench: both woods.
#[test]
fn book_report_and_bench_have_both_woods() {
    let job = Job::read("lapwing.toml", LAPWING, Inputs::default()).unwrap();
    let report = job.report().unwrap();
    let row = &report.splices[0];
    assert_eq!(row.two_woods.as_ref().unwrap().on_back, "inner");
    let woods: Vec<&str> = row.pieces.iter().map(|piece| piece.wood.as_str()).collect();
    assert_eq!(woods, ["maple, sugar", "redcedar, eastern"]);
    let outer = report.laminations[1].outer.as_ref().unwrap();
    assert_eq!(outer.wood, "redcedar, eastern");
    let files = job.files().unwrap();
    let number = files.names().position(|name| name == "build-book.html").unwrap();
    let book = String::from_utf8_lossy(&files.bytes(number).unwrap()).into_owned();
    for said in [
        "/splices/0/two_woods/outer_mpa",
        "/laminations/1/outer/modulus_mpa",
        "outer piece redcedar, eastern",
        "outer_n_per_percent_modulus",
    ] {
        assert!(book.contains(said), "{said}");
    }
    let lever = levers(&job).into_iter().find(|lever| lever.key == "lamination[core].splice.wood").unwrap();
    assert!(matches!(&lever.takes, Takes::Choice { choices } if choices.iter().any(|wood| wood == "ipe")));
    let stiffer = job.with(&[Change::new(&lever.key, "\"ipe\"")]).unwrap();
    let force = |job: &Job| job.force_curve().unwrap().at_full_draw().force_n;
    assert!(force(&job) < force(&stiffer));
    // Grinding goes by the wood that takes the lighter cut.
    let core = &job.build().laminations[1];
    assert_eq!(core.hardest().name, "maple, sugar");
    let turned = Wood { sanding_ease: 0.3, ..core.outer().unwrap().wood.clone() };
    let mut other = core.clone();
    other.splice.as_mut().unwrap().outer.as_mut().unwrap().wood = turned;
    assert!((other.hardest().sanding_ease - 0.3).abs() < 1e-12);
}
