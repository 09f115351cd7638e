//! Laminations glued up from shorter pieces: lengths to saw, where scarfs may lie, and what they bear.
//!
//! Efficiencies of scarfs are the Wood Handbook's, FPL-GTR-282, chapter 10, from memory; where splices may lie is common practice, no source.

use taperwright::diag::Diagnostic;
use taperwright::job::{Change, Inputs, Job};
use taperwright::mechanics::layer_kind::LayerKind;
use taperwright::mechanics::splice::{efficiency, on_the_glue};
use taperwright::mechanics::verdict::Verdict;
use taperwright::model::Build;
use taperwright::model::block::RiserOverlay;
use taperwright::model::fade::BlockProfile;
use taperwright::model::join::Splice;
use taperwright::model::splice::ScarfOver;
use taperwright::units::{MM_PER_IN, System};

const MEADOW: &str = include_str!("../examples/meadow.toml");

/// The example with a splice in its back.
fn spliced(at: &str, slope: &str) -> Job {
    let text =
        MEADOW.replacen("keep_face = \"back\"", &format!("keep_face = \"back\"\nsplice = {{ at = {at}, slope = {slope} }}"), 1);
    Job::read("spliced.toml", &text, Inputs::default()).expect("reads")
}

/// The glue line of a scarf carries the whole pull and nothing else: its two stresses, turned back into the wood's directions and summed over the
/// slope, are the force along the strip, and nothing across it.
#[test]
fn the_glue_line_carries_what_the_wood_does() {
    for slope in [4.0, 8.0, 10.0, 12.0, 40.0] {
        let (stress, thickness, width) = (87.0, 4.3, 31.0);
        let angle = f64::atan(1.0 / slope);
        let area = width * thickness / angle.sin();
        let [normal, shear] = on_the_glue(stress, slope);
        let along = area * (normal * angle.sin() + shear * angle.cos());
        let across = area * (normal * angle.cos() - shear * angle.sin());
        assert!((along - stress * width * thickness).abs() < 1e-9 * along && across.abs() < 1e-9 * along, "1:{slope}");
    }
    // 85 and 95 percent at 1:8 and 1:12, never more, and less the steeper.
    assert!((efficiency(8.0) - 0.85).abs() < 1e-12 && (efficiency(12.0) - 0.95).abs() < 1e-12 && efficiency(40.0) <= 0.95);
    assert!((40..400).all(|k| efficiency(0.1 * f64::from(k)) <= efficiency(0.1 * f64::from(k + 1))));
}

/// Pieces laid with their scarfs on each other are the strip again.
#[test]
fn pieces_with_their_scarfs_make_up_the_strip() {
    for (pieces, at) in [("halves", 20.0), ("full", 0.0), ("full", 12.0)] {
        let text = MEADOW.replacen(
            "pieces    = \"halves\"\nkeep_face = \"back\"",
            &format!("pieces = \"{pieces}\"\nsplice = {{ at = {at}, slope = 10 }}"),
            1,
        );
        let job = Job::read("pieces.toml", &text, Inputs::default()).expect("reads");
        let lamination = &job.build().laminations[0];
        let scarf = 10.0 * 0.22 * MM_PER_IN;
        let row = &job.report().unwrap().splices[0];
        assert!((row.stock_scarf_mm - scarf).abs() < 1e-3);
        let finished = 10.0 * (0.170 - 0.001 * at) * MM_PER_IN;
        assert!((row.finished_scarf_mm - finished).abs() < 1e-3, "{} against {finished}", row.finished_scarf_mm);
        let sawn: f64 = row.pieces.iter().map(|piece| f64::from(piece.count) * piece.length_mm).sum();
        let count: u32 = row.pieces.iter().map(|piece| piece.count).sum();
        let strips = if pieces == "full" { 1 } else { 2 };
        let together = sawn - f64::from(count - strips) * scarf;
        assert!((together - f64::from(strips) * lamination.strip_length_mm()).abs() < 1e-2, "{pieces} {at}: {:?}", row.pieces);
    }
}

/// The bow bends as if the strip were whole, and the splice bears what the back does there, by the strains along the limb.
#[test]
fn a_splice_bears_the_strain_of_its_place() {
    let job = spliced("20", "10");
    let whole = Job::read("meadow.toml", MEADOW, Inputs::default()).unwrap();
    let force = |job: &Job| job.force_curve().unwrap().at_full_draw().force_n;
    assert!((force(&job) - force(&whole)).abs() < 1e-12);
    let curve = job.force_curve().unwrap();
    let (load, back) = (job.splice_loads().unwrap()[0], &job.build().laminations[0]);
    let [from, to] = back.spliced_mm().unwrap();
    assert!(
        (0.5 * (from + to) - 20.0 * MM_PER_IN).abs() < 1e-9
            && ((to - from) - 10.0 * back.thickness_at(20.0 * MM_PER_IN)).abs() < 1e-9
    );
    let there = |k: usize| {
        let layer = curve.stations[k].section.layers.iter().position(|layer| layer.part == LayerKind::Lamination(0)).unwrap();
        curve.strain(curve.at_full_draw(), k, layer).into_iter().fold(0.0, f64::max)
    };
    let near: Vec<f64> = (0..curve.stations.len())
        .filter(|k| (curve.stations[*k].s_mm - 20.0 * MM_PER_IN).abs() < 2.0 * MM_PER_IN)
        .map(there)
        .collect();
    let (min, max) = near.iter().fold((f64::INFINITY, 0.0_f64), |(min, max), strain| (min.min(*strain), max.max(*strain)));
    assert!(min <= load.stretch && load.stretch <= max && 1e-3 < load.stretch, "{} within {min} to {max}", load.stretch);
    let breaking = back.wood.breaking_strain.unwrap();
    assert!((load.share_of_breaking.unwrap() - load.stretch / 0.9 / breaking).abs() < 1e-12);
    let stress = back.wood.modulus_mpa * load.stretch;
    assert!((load.glue_mpa[1] - stress * 10.0 / 101.0).abs() < 1e-9 && (load.glue_mpa[0] - stress / 101.0).abs() < 1e-9);
}

/// What holds the wood but not the scarf is told, at its own place; flat and near the tip nothing is.
#[test]
fn a_steep_splice_where_the_limb_works_is_told() {
    let told = |job: &Job| -> Vec<Diagnostic> {
        let all = job.bow_warnings().unwrap();
        all.into_iter().filter(|warning| warning.place.as_str() == "lamination[0].splice").collect()
    };
    let steep = spliced("15", "4");
    assert_eq!(told(&steep).len(), 1, "{:?}", steep.splice_loads());
    assert_ne!(steep.splice_loads().unwrap()[0].verdict(), Some(Verdict::Goes));
    let tip = spliced("34", "12");
    assert!(told(&tip).is_empty());
    // A flatter slope bears more at the same place.
    let fraction = |job: &Job| job.splice_loads().unwrap()[0].share_of_breaking.unwrap();
    let flatter = steep.with(&[Change::new("lamination[back].splice.slope", "12")]).unwrap();
    assert!(fraction(&flatter) < fraction(&steep));
}

/// Limits from neighbours, fade and ends: the number of each hint is the limit, and following it is enough.
#[test]
fn splices_have_their_places() {
    let file = |second: &str| {
        format!(
            "units = \"mm\"\n[outline]\nnock_to_nock = 1700\nwidth = [[0, 40], [850, 14]]\nnock = {{ angle = \"45 deg\" }}\n[glue]\nline = 0.1\n[riser]\non = \"belly\"\nlength = 400\nlevel = 100\ndepth = 30\n\
             across = [[\"maple, sugar\", 45]]\n[[lamination]]\nname = \"back\"\nwood = \"maple, sugar\"\nthickness = 4\nsplice = {{ at = 300, slope = 10 }}\n\
             [[lamination]]\nname = \"core\"\nwood = \"maple, sugar\"\nthickness = 4\n{second}\n[[lamination]]\nname = \"belly\"\nwood = \"maple, sugar\"\n\
             thickness = 4\npieces = \"halves\"\n"
        )
    };
    let said = |text: &str, place: &str| -> Vec<Diagnostic> {
        let (_, outcome) = taperwright::buildfile::read("splice.toml", text);
        let all = match outcome {
            Ok(reported) => reported.warnings,
            Err(faults) => faults,
        };
        all.into_iter().filter(|found| found.place.as_str() == place).collect()
    };
    let core = |at: f64, pieces: &str| file(&format!("pieces = \"{pieces}\"\nsplice = {{ at = {at}, slope = 10 }}"));
    let belly = |at: f64| file("") + &format!("splice = {{ at = {at}, slope = 10 }}\n");
    // A scarf of 40 mm: beside the back's, 280 to 320 mm; in one limb; short of the groove, which falls by the 12.2 mm of strips and glue from the
    // nock at 850 mm; off the feather at 200 mm on either side where its strip lies flat, beyond it where its strip climbs.
    type Rows<'a> = [(&'a str, f64, f64, Box<dyn Fn(f64) -> String + 'a>); 7];
    let rows: Rows<'_> = [
        ("lamination[1].splice.at", 340.0, -1.0, Box::new(|at| core(at, "full"))),
        ("lamination[1].splice.at", 20.0, -1.0, Box::new(|at| core(at, "full"))),
        ("lamination[1].splice.at", 20.0, -1.0, Box::new(|at| core(at, "halves"))),
        ("lamination[1].splice.at", 817.8, 1.0, Box::new(|at| core(at, "full"))),
        ("lamination[1].splice.at", 180.0, 1.0, Box::new(|at| core(at, "full"))),
        ("lamination[1].splice.at", 220.0, -1.0, Box::new(|at| core(at, "full"))),
        ("lamination[2].splice.at", 220.0, -1.0, Box::new(belly)),
    ];
    for (place, limit, outward, text) in &rows {
        assert!(said(&text(*limit), place).is_empty(), "{limit}: {:?}", said(&text(*limit), place));
        for beyond in [1e-3, 0.7, 6.3] {
            let found = said(&text(limit + outward * beyond), place);
            let [found] = found.as_slice() else { panic!("{limit} and {beyond}: {found:?}") };
            let hint = found.words(System::Millimetre).hints.remove(0);
            let number: f64 = hint.split(" to ").nth(1).and_then(|rest| rest.split(' ').next()).unwrap().parse().unwrap();
            assert!(
                said(&text(number), place).is_empty() && (0.0..0.3).contains(&((limit - number) * outward)),
                "{hint} for {limit}"
            );
        }
    }
    // Flat against the block no strip is bent by its fade. Past the wood's end, 870 mm, the hint keeps it off the groove, too.
    assert!(said(&core(125.0, "full"), "lamination[1].splice.at").is_empty());
    let past_the_end = said(&core(860.0, "full"), "lamination[1].splice.at");
    assert_eq!(past_the_end[0].words(System::Millimetre).hints, ["lower `at` to 817.8 mm or less"]);
    // Between two that are in the way every hint leads past both: the feather at 200 mm and the back's scarf from 230 mm on.
    let near = core(210.0, "full").replacen("at = 300", "at = 250", 1);
    let found = said(&near, "lamination[1].splice.at");
    let hints = found[0].words(System::Millimetre).hints;
    assert!(hints[0].starts_with("lower `at` to 180 mm") && hints[1].starts_with("raise `at` to 290 mm"), "{hints:?}");
    // Both at the bow's centre stand over each other; one there and one away from it do not.
    assert_eq!(said(&file("splice = { at = 305 }"), "lamination[1].splice.at").len(), 1);
    assert!(said(&file("pieces = \"full\"\nsplice = { at = 0 }"), "lamination[1].splice.at").is_empty());
}

/// The end of an overlay's fade counts for the strip that it lies on, where that is not on the riser's fade anyway.
#[test]
fn the_end_of_an_overlay_is_no_place_for_a_splice() {
    let mut build = Job::read("meadow.toml", MEADOW, Inputs::default()).unwrap().build().clone();
    let riser = build.riser.as_mut().unwrap();
    let profile = BlockProfile { length_mm: 12.0 * MM_PER_IN, level_mm: 6.0 * MM_PER_IN, depth_mm: 20.0, ..riser.profile() };
    riser.overlay = Some(RiserOverlay { wood: riser.across[0].wood.clone(), profile, overrun_mm: 10.0 });
    let last = build.laminations.len() - 1;
    build.laminations[last].splice = Some(Splice { at_mm: 6.0 * MM_PER_IN, slope: 10.0, outer: None });
    let over = |build: &Build| build.misplaced_scarfs().iter().map(|found| found.over).collect::<Vec<_>>();
    assert_eq!(over(&build), [ScarfOver::Fade]);
    build.riser.as_mut().unwrap().level_mm = 15.0 * MM_PER_IN;
    assert_eq!(over(&build), [ScarfOver::OverlayEnd]);
    build.laminations.swap(0, last);
    assert_eq!(over(&build), []);
}

/// What `check` warns of is what the book tells, and the book says that all is well only where it is.
#[test]
fn the_book_tells_what_check_warns_of() {
    let whole = Job::read("meadow.toml", MEADOW, Inputs::default()).unwrap();
    let feather = whole.build().riser.as_ref().unwrap().feather_station_mm() / MM_PER_IN;
    let nock = whole.build().outline.as_ref().unwrap().nock_mm() / MM_PER_IN;
    for (at, what) in [(20.0, None), (feather, Some("the end of the riser's fade")), (nock - 0.5, Some("the nock"))] {
        let job = spliced(&at.to_string(), "10");
        let warned = job.read_warnings().iter().filter(|warning| warning.place.as_str() == "lamination[0].splice.at").count();
        let row = &job.report().unwrap().splices[0];
        assert_eq!((warned, row.lies_over.len()), (usize::from(what.is_some()), usize::from(what.is_some())), "{at}");
        let files = job.files().unwrap();
        let number = files.names().position(|name| name == "build-book.html").unwrap();
        let book = String::from_utf8_lossy(&files.bytes(number).unwrap()).into_owned();
        assert_eq!(book.contains("No two splices"), what.is_none(), "{at}");
        if let Some(what) = what {
            assert_eq!(row.lies_over[0].what, what);
            assert!(book.contains("/splices/0/lies_over/0/to_mm") && book.contains("move it before anything is sawn"));
        }
    }
}

/// Book, sheet and report have the splice; a bow without one has no word of it.
#[test]
fn book_and_sheet_show_the_splice() {
    let job = spliced("20", "10");
    let files = job.files().unwrap();
    let number = files.names().position(|name| name == "build-book.html").unwrap();
    let book = String::from_utf8_lossy(&files.bytes(number).unwrap()).into_owned();
    for said in ["id=\"splices\"", "/splices/0/pieces/0/length_mm", "/splices/0/glue_shear_mpa", "over the knee"] {
        assert!(book.contains(said), "{said}");
    }
    assert!(
        taperwright::sheets::outline::stations(job.build(), job.build().outline.as_ref().unwrap())
            .iter()
            .any(|station| station.name.as_deref() == Some("back spliced"))
    );
    let whole = Job::read("meadow.toml", MEADOW, Inputs::default()).unwrap();
    assert!(!serde_json::to_string(whole.report().unwrap()).unwrap().contains("splice"));
}
