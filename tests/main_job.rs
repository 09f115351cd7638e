//! The main job judged from outside: cut files by ezdxf and shapely, printed sheets by pdfplumber, sleds by the sum rule.

mod peers;

use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use taperwright::buildfile;
use taperwright::mechanics::glueup;
use taperwright::model::Build;
use taperwright::model::lamination::Lamination;
use taperwright::model::workshop::{SledMake, SledPlan};
use taperwright::sheets;
use taperwright::shop::cutting::{self, Whose};
use taperwright::shop::kit::{Kit, Means, Placed};
use taperwright::shop::makes::lay_out;
use taperwright::shop::{nest, sled};
use taperwright::units::{MM_PER_IN, System};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn build(path: &Path) -> Build {
    let text = fs::read_to_string(path).expect("the build file reads");
    let (_, outcome) = buildfile::read("test.toml", &text);
    outcome.unwrap_or_else(|faults| panic!("{}: {}", path.display(), faults[0])).value
}

fn make(file: &Path, out: &Path) -> String {
    let run = Command::new(env!("CARGO_BIN_EXE_taperwright")).args(["--quiet", "make"]).arg(file).arg("--out").arg(out).output();
    let run = run.expect("the program starts");
    assert!(run.status.success(), "{}: {}", file.display(), String::from_utf8_lossy(&run.stderr));
    String::from_utf8(run.stdout).expect("text")
}

/// Heights that the rule `base + t(butt) − t(station)` gives along one rail piece, clear of stops and joints: `[x, height]`.
fn heights(lamination: &Lamination, base_mm: f64, kit: &Kit, part: usize, length_mm: f64) -> Value {
    let Some(rail) = kit.rails.iter().find(|rail| rail.part == part) else { return Value::Null };
    let butt = lamination.finished.at(lamination.from_mm);
    let (from, to) = (rail.u_from_mm.max(0.0) + 3.0, rail.u_to_mm.min(length_mm) - 3.0);
    let count = 25;
    let places = (0..=count).map(|k| from + (to - from) * f64::from(k) / f64::from(count));
    // Beside a corner of the taper the cutter's path is rounded by half its width.
    let clear = places.filter(|u| lamination.strip_corners().iter().all(|corner| 3.0 < (corner - u).abs()));
    clear.map(|u| json!([u - rail.u_from_mm, base_mm + butt - lamination.strip_thickness_at(u)])).collect()
}

#[test]
fn cut_files_and_sheets_of_the_examples_are_what_the_taper_asks_for() {
    for (name, least_heights) in [("meadow", 200), ("heron", 200), ("strips", 0)] {
        let build = build(&root().join("examples").join(name).with_extension("toml"));
        let (plan, sander, cutter) = (build.sled.as_ref().unwrap(), build.sander.as_ref().unwrap(), &build.shop.cutter);
        let mut loads = serde_json::Map::new();
        let to_grind = build.laminations.iter().filter(|l| !l.ground && !l.is_parallel() && plan.make == SledMake::Ramp);
        let kits: Vec<(&Lamination, Kit)> = to_grind
            .map(|lamination| {
                let sled = sled::build(lamination, plan, sander).unwrap().value;
                (lamination, lay_out(&sled, &Means::of(&build, plan, sander, lamination)).unwrap().value)
            })
            .collect();
        let sleds: Vec<(&Lamination, &SledPlan, &Kit)> = kits.iter().map(|(of, kit)| (*of, plan, kit)).collect();
        let glued = build.target.is_some().then(|| glueup::plan(&build).unwrap().value);
        let forms = glued.map_or(Vec::new(), |glued| sheets::form::laid_out(&build, &glued).unwrap());
        let cuts = cutting::together(&build, &sleds, &forms).unwrap();
        for (cut, load) in cuts.iter().flat_map(|cut| cut.loads.iter().map(move |load| (cut, load))) {
            let part = |placed: &Placed| {
                let part = &cut.parts[placed.part];
                let rail = match cut.from[placed.part] {
                    (Whose::Sled(number), own) => {
                        let (lamination, kit) = &kits[number];
                        heights(lamination, plan.base_mm, kit, own, kit.sled.strip_length_mm)
                    }
                    (Whose::Form(_), _) => Value::Null,
                };
                json!({
                    "name": part.name,
                    "area_mm2": part.edge.area().abs(),
                    "angle_rad": placed.placement.angle_rad,
                    "shift": [placed.placement.shift.x, placed.placement.shift.y],
                    "rail": rail,
                })
            };
            loads.insert(format!("cut-{}.dxf", loads.len() + 1), load.placed.iter().map(part).collect());
        }
        let paper = &build.shop.paper;
        let bed = cutter.bed_mm().unwrap_or([plan.sheet.length_mm, plan.sheet.width_mm]);
        let expected = json!({
            "unit": if build.units == System::Inch { "in" } else { "mm" },
            "half_kerf_mm": cutter.half_kerf_mm(),
            "gap_mm": nest::gap_mm(cutter),
            "bed_mm": bed,
            "paper_mm": [paper.width_mm.min(paper.height_mm), paper.width_mm.max(paper.height_mm)],
            "loads": loads,
        });
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join(name);
        make(&root().join("examples").join(name).with_extension("toml"), &out);
        let Some(answer) = peers::run("main_job.py", &[&out.to_string_lossy()], &expected.to_string()) else { return };
        let answer: Value = serde_json::from_str(&answer).expect("the judge answers in JSON");
        assert!(if least_heights == 0 { 0 } else { 15 } <= answer["true_size"].as_u64().unwrap(), "{answer}");
        assert!(2 <= answer["pages"].as_u64().unwrap(), "{answer}");
        assert!(least_heights <= answer["heights"].as_u64().unwrap(), "{answer}");
    }
}

/// Common practice, no source: shim = rate × distance between the supports.
#[test]
fn a_raised_end_follows_the_shop_rule() {
    for (rate, shim_in) in [(0.001, 0.036), (0.0015, 0.054), (0.002, 0.072), (0.003, 0.108)] {
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("rule.toml");
        let text = format!(
            r#"
                title = "Rule"
                units = "in"
                [[lamination]]
                name = "strip"
                wood = "maple, sugar"
                thickness = 0.200
                taper = {rate}
                pieces = "halves"
                to = 30
                stock = {{ thickness = 0.250, width = 1.75, overrun = 0.5 }}
                [sander]
                gap_step = 0.001
                [sled]
                make = "raised-end"
                base = 2.25
                supports = 36
                tolerance = 0.004
                sheet = {{ material = "oak plank", thickness = 2.25, width = 4, length = 48, modulus = "12.5 GPa" }}
            "#
        );
        fs::write(&file, text).unwrap();
        let out = home.path().join("out");
        make(&file, &out);
        let csv = fs::read_to_string(out.join("shims-strip.csv")).unwrap();
        let row: Vec<&str> = csv.lines().nth(1).unwrap().split(',').collect();
        assert!((row[1].parse::<f64>().unwrap() - shim_in).abs() < 1e-9, "{csv}");
    }
}

#[test]
fn the_report_proves_every_strip_within_its_tolerance() {
    for name in ["meadow", "heron", "strips"] {
        let report: Value =
            serde_json::from_slice(&fs::read(root().join("output").join(name).join("report.json")).unwrap()).unwrap();
        let build = build(&root().join("examples").join(name).with_extension("toml"));
        let tolerance = build.sled.as_ref().unwrap().tolerance_mm;
        let mut ground = 0;
        for row in report["laminations"].as_array().unwrap() {
            let Some(proof) = row["proof"].as_object() else { continue };
            ground += 1;
            let rounding = row["setups"].as_array().unwrap().last().unwrap()["rounding_mm"].as_f64().unwrap();
            assert!(proof["worst_mm"].as_f64().unwrap().abs() <= tolerance + rounding + 1e-3, "{name}: {proof:?}");
            for pass in row["setups"].as_array().unwrap().iter().flat_map(|setup| setup["passes"].as_array().unwrap()) {
                assert!(pass["deepest_mm"].as_f64().unwrap() <= pass["limit_mm"].as_f64().unwrap() + 1e-3, "{pass}");
            }
            // Lamination plus sled equals the last gap everywhere; chords of a smooth taper stay within half a micrometre.
            let gap = row["sled"]["final_gap_mm"].as_f64().unwrap();
            for height in row["sled"]["heights"].as_array().unwrap() {
                let sum = height["surface_mm"].as_f64().unwrap() + height["thickness_mm"].as_f64().unwrap();
                assert!((sum - gap).abs() < 1e-3, "{name}: {height}");
            }
        }
        assert!(2 <= ground, "{name}");
    }
}

/// Letter is 8.5 × 11 in (ANSI/ASME Y14.1, size A): a page of the main example says so in points.
#[test]
fn a_letter_page_is_letter() {
    let bytes = fs::read(root().join("output/meadow/bow.pdf")).unwrap();
    let text = String::from_utf8_lossy(&bytes);
    let at = text.find("/MediaBox").expect("a media box");
    let numbers: Vec<f64> =
        text[at + 9..].split(['[', ']']).nth(1).unwrap().split_whitespace().map(|n| n.parse().unwrap()).collect();
    let inches = [numbers[2] / 72.0, numbers[3] / 72.0];
    let (short, long) = (inches[0].min(inches[1]), inches[0].max(inches[1]));
    assert!((short - 8.5).abs() < 1e-4 && (long - 11.0).abs() < 1e-4, "{inches:?} ({MM_PER_IN} mm to the inch)");
}
