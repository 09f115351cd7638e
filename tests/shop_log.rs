//! The shop log: read, questioned, answered, and appended to without touching a byte of what stands.

mod peers;
mod support;

use assert_cmd::Command;
use std::fs;
use std::path::{Path, PathBuf};
use support::logs::{log_text, said};
use taperwright::buildfile;
use taperwright::diag::Place;
use taperwright::mechanics::blank::{force_n, stiffness_factor};
use taperwright::mechanics::bow::{Bow, Options};
use taperwright::mechanics::pair::{self, PairOptions};
use taperwright::mechanics::tiller::{self, Standing, TargetGrid};
use taperwright::mechanics::{calibration, draw};
use taperwright::model::Build;
use taperwright::model::log::{BlankBending, Log, Of, Reading};
use taperwright::numeric::fit;
use taperwright::shop::blank::{self as removal, Stand, WoodLever};

const IN: f64 = taperwright::units::MM_PER_IN;
const LBF: f64 = 4.448_221_615_260_5;

fn examples(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name)
}

fn build(text: &str) -> Build {
    buildfile::read("bow.toml", text).1.unwrap().value
}

fn meadow() -> Build {
    build(&fs::read_to_string(examples("meadow.toml")).unwrap())
}

fn command() -> Command {
    Command::cargo_bin("taperwright").unwrap()
}

/// `log` on an example's build file and a log of these readings, whose bare numbers are in inches.
fn answered(example: &str, readings: &[&str], more: &[&str]) -> std::process::Output {
    let home = tempfile::tempdir().unwrap();
    let log = home.path().join("log.toml");
    fs::write(&log, log_text(readings)).unwrap();
    command().args(["-q", "log"]).args(more).arg(examples(example)).arg(&log).output().unwrap()
}

/// Its answers as JSON.
fn told(example: &str, readings: &[&str]) -> serde_json::Value {
    serde_json::from_slice(&answered(example, readings, &["--json"]).stdout).unwrap()
}

/// Gaps of the passes that are left for a lamination, mm.
fn gaps_left(told: &serde_json::Value, lamination: &str) -> Vec<f64> {
    let left = told["left"].as_array().unwrap().iter().find(|left| left["lamination"] == lamination).unwrap();
    left["passes"].as_array().unwrap().iter().map(|pass| pass["gap_mm"].as_f64().unwrap()).collect()
}

/// What a log says of its last reading.
fn last_answer(example: &str, readings: &[&str]) -> serde_json::Value {
    told(example, readings)["answers"].as_array().unwrap().last().unwrap().clone()
}

// Means and lines against SciPy (scipy.stats.linregress, ttest_1samp)

#[test]
fn fits_agree_with_scipy() {
    let sets: Vec<Vec<(f64, f64)>> = vec![
        vec![(1.0, 0.2455), (10.0, 0.2441), (18.0, 0.2447)],
        vec![(0.0, 6.31), (150.0, 6.34), (300.0, 6.29), (450.0, 6.36), (600.0, 6.33)],
        (0..40).map(|k| (f64::from(k), 3.0 - 0.002 * f64::from(k) + 0.01 * f64::from(k * 7919 % 13))).collect(),
        vec![(1000.0, 1e-3), (1000.5, 2e-3), (1001.0, 1.5e-3), (1001.5, 4e-3)],
    ];
    let input = serde_json::to_string(&sets).unwrap();
    let Some(answer) = peers::run("fits.py", &[], &input) else { return };
    let answers: Vec<serde_json::Value> = serde_json::from_str(&answer).unwrap();
    assert_eq!(answers.len(), sets.len());
    for (points, theirs) in sets.iter().zip(&answers) {
        let line = fit::line(points).unwrap();
        let mean = fit::mean(&points.iter().map(|p| p.1).collect::<Vec<_>>()).unwrap();
        let [height_half, slope_half] = line.half_widths.unwrap();
        for (key, ours) in [
            ("slope", line.slope),
            ("slope_half", slope_half),
            ("height", line.height),
            ("height_half", height_half),
            ("mean", mean.value),
            ("mean_half", mean.half_width.unwrap()),
        ] {
            let theirs = theirs[key].as_f64().unwrap();
            assert!((ours - theirs).abs() <= 1e-8 * theirs.abs().max(1e-6), "{key}: {ours} {theirs}");
        }
    }
}

// Blanks

/// A lath without a riser: one lamination of even thickness and width, so that beam tables apply.
fn lath(thickness_mm: f64) -> Build {
    build(&format!(
        "units = \"mm\"\n[target]\ndraw_weight = \"150 N\"\ndraw_length = 600\nbrace_height = 150\n\
         [outline]\nnock_to_nock = 1600\nwidth = [[0, 40], [800, 40]]\n[glue]\nline = 0\n\
         [[lamination]]\nname = \"lath\"\nwood = \"ash, white\"\nthickness = {thickness_mm}\nstock = {{ thickness = 20, width = 45 }}\n"
    ))
}

/// Two cantilevers of length L, each loaded by F/2 at its end: drop = F L³ / (6 EI), any table of beams. Small drops only: at a
/// hundredth of the length the large rotation changes it by parts in ten thousand.
#[test]
fn a_floor_tiller_is_a_beam_on_two_supports() {
    let build = lath(8.0);
    let ei = build.laminations[0].wood.modulus_mpa * 40.0 * 8.0_f64.powi(3) / 12.0;
    for drop_mm in [0.8, 8.0] {
        let force = force_n(&build, &Options::default(), BlankBending::Floor { drop_mm }).unwrap();
        let table = 6.0 * ei * drop_mm / 800.0_f64.powi(3);
        assert!((force / table - 1.0).abs() < 3e-4, "{drop_mm}: {force} {table}");
    }
    // Nocks that slide in shorten the span: deep drops come out stiffer than the table.
    let deep = force_n(&build, &Options::default(), BlankBending::Floor { drop_mm: 200.0 }).unwrap();
    assert!(1.02 < deep / (6.0 * ei * 200.0 / 800.0_f64.powi(3)), "{deep}");
}

/// Whatever way it is bent, force is in proportion to stiffness: the factor comes back exactly.
#[test]
fn a_reading_gives_its_stiffness_back() {
    let build = meadow();
    let ways = [
        BlankBending::LongString { string_mm: 76.0 * IN, pivot_to_nock_mm: 16.0 * IN },
        BlankBending::Braced { brace_mm: 5.0 * IN, pivot_to_nock_mm: 20.0 * IN },
        BlankBending::Floor { drop_mm: 4.0 * IN },
    ];
    for bent in ways {
        for factor in [0.8, 1.0, 1.25] {
            let options = Options { stiffness_factor: factor, ..Options::default() };
            let weight = force_n(&build, &options, bent).unwrap();
            let found = stiffness_factor(&build, &Options::default(), None, bent, weight).unwrap();
            assert!((found / factor - 1.0).abs() < 1e-8, "{bent:?} {factor}: {found}");
        }
    }
}

fn weight_n(build: &Build, factor: f64) -> f64 {
    let options = Options { stiffness_factor: factor, ..Options::default() };
    draw::weight(&Bow::of(build, &options).unwrap(), &options).unwrap().force_n
}

/// Doing what the plan says, in the model, gives the weights that it promises, and the limb bends as it did.
#[test]
fn a_removal_plan_keeps_its_promises() {
    let build = meadow();
    let options = Options { stiffness_factor: 1.3, ..Options::default() };
    let stations: Vec<f64> = (0..8).map(|k| 254.0 + 88.0 * f64::from(k)).collect();
    let plan = removal::plan_beside(&build, &options, None, Stand::default(), &stations).unwrap().value;
    assert!((plan.trimmed_n - weight_n(&build, 1.3)).abs() < 1e-6);
    assert!(2 < plan.steps.len() && (plan.reached_n - plan.wanted_n).abs() < 1e-3 * plan.wanted_n, "{plan:?}");
    let (mut now, mut belly) = (build.clone(), build.clone());
    for step in &plan.steps {
        now = match step.lever {
            WoodLever::Belly { lamination } => {
                belly = removal::thinned(&build, lamination, step.fraction).unwrap();
                belly.clone()
            }
            WoodLever::Sides => removal::narrowed(&belly, step.fraction),
        };
        let weight = weight_n(&now, 1.3);
        assert!((weight / step.to_n - 1.0).abs() < 1e-5, "{weight} {}", step.to_n);
        assert!(step.to_n < step.from_n && step.from_n - step.to_n < 0.09 * plan.wanted_n);
        // Nothing comes off at the feather.
        assert!(step.takes[0].take_mm.abs() < 1e-9 && step.takes[1..].iter().all(|at| 0.0 < at.take_mm), "{:?}", step.takes);
    }
    let bend = |build: &Build| {
        let curve = draw::curve(build, &options).unwrap().value;
        stations[1..].iter().map(|s| curve.to_string_at(curve.at_full_draw(), *s)).collect::<Vec<_>>()
    };
    for (before, after) in bend(&build).iter().zip(bend(&now)) {
        assert!((before - after).abs() < 5.0, "{before} {after}: the tiller moved");
    }
}

#[test]
fn what_cannot_be_reached_is_said() {
    let build = meadow();
    let stations = [254.0, 500.0, 800.0];
    let heavy = Options { stiffness_factor: 2.0, ..Options::default() };
    let plan = removal::plan_beside(&build, &heavy, None, Stand::default(), &stations).unwrap().value;
    assert!(plan.wanted_n < 0.97 * plan.reached_n && plan.sides_alone.is_none());
    let min = plan.steps.last().unwrap().to_n;
    assert!((plan.reached_n - min).abs() < 1e-9);
    // What is off the belly already counts against what may come off.
    let worked = Stand { belly_off_mm: 0.5, ..Stand::default() };
    let rest = removal::plan_beside(&build, &heavy, None, worked, &stations).unwrap().value;
    assert!(rest.trimmed_n < plan.trimmed_n && (rest.reached_n / plan.reached_n - 1.0).abs() < 2e-3, "{rest:?}");
    let light = Options { stiffness_factor: 0.8, ..Options::default() };
    let plan = removal::plan_beside(&build, &light, None, Stand::default(), &stations).unwrap().value;
    assert!(plan.steps.is_empty() && !plan.gains.is_empty() && plan.reached_n < plan.wanted_n);
}

// Tiller

/// Two equal limbs solved as a pair (other unknowns, another balance) stand as far from the string as the targets say.
#[test]
fn tiller_targets_are_those_of_a_pair_of_equal_limbs() {
    let mut build = meadow();
    // Three fingers under: no limb is to stand farther off.
    build.target.as_mut().unwrap().positive_tiller_mm = 0.0;
    let step = 2.0 * IN;
    let options = Options { draw_step_mm: IN, station_step_mm: IN, ..Options::default() };
    let curve = draw::curve(&build, &options).unwrap().value;
    let grid = TargetGrid { stations_mm: tiller::stations(&build, 4.0 * IN), draw_step_mm: step };
    let standing = Standing::of(&build, &options, &curve, &grid.stations_mm).unwrap();
    let targets = standing.targets(&build, &options, &curve, grid).unwrap();
    assert!((targets.stations_mm[0] - 11.0 * IN).abs() < 1e-9 && targets.stations_mm.len() == 7);
    assert_eq!(targets.rows[0].point, 0);
    let pair_options = PairOptions { options, tiller_stations_mm: targets.stations_mm.clone(), ..PairOptions::default() };
    let pair = pair::curve(&build, &build, &pair_options).unwrap().value;
    let mut met = 0;
    for row in &targets.rows {
        let Some(point) = pair.points.iter().find(|p| (p.draw_length_mm - row.draw_length_mm).abs() < 1e-6) else { continue };
        met += 1;
        assert!((point.force_n - row.force_n).abs() < 1e-4 * row.force_n.max(1.0));
        for (gap, theirs) in row.gaps_mm.iter().zip(&point.tiller) {
            assert!((gap[0] - theirs.upper_mm).abs() < 1e-3 && (gap[1] - theirs.lower_mm).abs() < 1e-3);
        }
    }
    assert!(10 <= met && met == targets.rows.len());
}

// Bows

/// Four bows of one hand, off by a steady tenth and a scatter of a few percent: the factor nears the truth, and the next bow's
/// band shrinks as they come in.
#[test]
fn bows_tell_the_factor_and_its_scatter() {
    let bows = [1.13, 1.08, 1.11, 1.09, 1.12, 1.08, 1.10, 1.11];
    let found: Vec<_> = (1..=bows.len())
        .map(|n| {
            let readings: Vec<_> = bows[..n]
                .iter()
                .map(|f| calibration::WeightObservation { computed_n: 200.0, weighed_n: 200.0 * f, finishing_n: 0.0 })
                .collect();
            calibration::calibrated(&readings).unwrap()
        })
        .collect();
    assert!((found[7].factor - 1.1024).abs() < 1e-3, "{:?}", found[7]);
    assert!(found[0].spread.is_none());
    assert!(found[7].spread.unwrap() < found[1].spread.unwrap());
}

// What cannot be meant

/// Readings with a slip: questioned with the slip that it looks like, and not used.
#[test]
fn slips_are_questioned_and_not_used() {
    let cases: &[(&str, &str)] = &[
        ("of = \"sheet\"\nthickness = 6.1", "millimetres in a log in inches"),
        ("of = \"sheet\"\nthickness = 2.36", "decimal point one place too far right"),
        ("of = \"shim\"\nstock = \"card\"\nthickness = [0.0011]", "decimal point one place too far left"),
        ("of = \"print\"\nacross = \"100 in\"\nup = \"100 mm\"", "millimetres in a log in inches"),
        ("of = \"sled\"\nlamination = \"core\"\nheights = [[1, 31.4], [20, 1.27]]", "millimetres in a log in inches"),
        ("of = \"sled\"\nlamination = \"core\"\nheights = [[1, 1.24], [90, 1.27]]", "measured from the strip's first end"),
        ("of = \"test strip\"\ngauge = 0.243\nreadings = [[2, 6.2]]", "millimetres in a log in inches"),
        ("of = \"test strip\"\ngauge = 0.243\nreadings = [[2, 0.283]]", "in this unit"),
        (
            "of = \"test strip\"\ngauge = 1.45\non = \"sled\"\nlamination = \"core\"\nreadings = [[4, 0.214], [33, 0.175]]",
            "cut everywhere",
        ),
        ("of = \"blank\"\nhow = \"braced\"\nbrace = 6\ndraw = 30\nweight = \"45 lbf\"", "never draw it so far"),
        ("of = \"strip\"\nlamination = \"core\"\nafter = 12\nreadings = [[4, 2.2]]", "decimal point one place too far right"),
        ("of = \"strip\"\nlamination = \"core\"\nafter = 40\nreadings = [[4, 0.22]]", "count the passes"),
        (
            "of = \"strip\"\nlamination = \"core\"\nafter = 12\ngauge = 36.4\nreadings = [[34, 0.17]]",
            "millimetres in a log in inches",
        ),
        ("of = \"release\"\nstage = 2\ntip = 1.25", "reflex is negative"),
        ("of = \"release\"\nstage = 2\ntip = -31", "millimetres in a log in inches"),
        ("of = \"blank\"\nhow = \"braced\"\nbrace = 5\ndraw = 24\nweight = \"400 lbf\"", "one place too far right"),
        ("of = \"blank\"\nhow = \"floor\"\ndrop = 90\nweight = \"30 lbf\"", ""),
        ("of = \"tiller\"\ngaps = [[12, 72, 7.3]]", "one place too far right"),
        ("of = \"bow\"\nweight = \"4.4 lbf\"", "one place too far left"),
    ];
    for (entry, hint) in cases {
        let run = answered("meadow.toml", &[entry], &["--json"]);
        let (out, err) = (String::from_utf8_lossy(&run.stdout), String::from_utf8_lossy(&run.stderr));
        assert_eq!(run.status.code(), Some(1), "{entry}\n{out}\n{err}");
        assert!(err.contains(hint), "{entry}: {err}");
        let told: serde_json::Value = serde_json::from_str(&out).unwrap();
        let answer = &told["answers"][0];
        assert!(answer["found"].is_null() && !answer["questions"].as_array().unwrap().is_empty(), "{entry}: {answer}");
        assert_eq!(answer["take_over"].as_array().unwrap().len(), 0, "{entry}: {answer}");
    }
}

/// Faults of the log's own form, all in one go, each with its place.
#[test]
fn a_log_with_faults_names_them_all() {
    let text = "units = \"in\"\n\
        [[reading]]\ndate = \"20.11.2026\"\nof = \"strip\"\nlamination = \"cor\"\nafter = 1\nreadings = [[1, 0.2]]\n\
        [[reading]]\ndate = 2026-11-20\nof = \"stripe\"\n\
        [[reading]]\ndate = 2026-11-20\nof = \"strip\"\nlamination = \"core\"\nreadings = [[1, 0.2, 0.21]]\nafer = 3\n\
        [[reading]]\nof = \"release\"\nstage = 7\ntip = -1\n\
        [[reading]]\ndate = 2026-11-20\nof = \"test strip\"\ngauge = 1.4\non = \"sled\"\nreadings = [[1]]\n";
    let faults = buildfile::read_log("log.toml", text, &meadow()).1.unwrap_err();
    let all: String = faults.iter().map(|fault| format!("{fault}\n")).collect();
    for wanted in [
        "this is not a day",
        "\"cor\" is not known",
        "\"stripe\" is not known",
        "`after` is missing",
        "nothing in",
        "`date` is missing",
        "7 does not fit",
        "has 1 parts",
    ] {
        assert!(all.contains(wanted), "{wanted}\n{all}");
    }
    // The same log in other units means the same lengths.
    let read = |text: &str| buildfile::read_log("log.toml", text, &meadow()).1.unwrap().value;
    let inches = read("units = \"in\"\n[[reading]]\ndate = 2026-11-20\nof = \"sheet\"\nthickness = \"6 mm\"\n");
    let metric = read("units = \"mm\"\n[[reading]]\ndate = \"2026-11-20\"\nof = \"sheet\"\nthickness = [6]\n");
    assert_eq!(inches.readings[0].of, metric.readings[0].of);
    let wanted = Reading::new("2026-11-20", Place::new("reading").index(0), Of::Sheet { thickness_mm: vec![6.0] });
    assert_eq!(metric, Log { readings: vec![wanted] });
    assert_eq!(read("# nothing yet\n").readings.len(), 0);
}

// Appending

fn add(log: &Path, keys: &[&str]) -> std::process::Output {
    command().args(["-q", "log", "add"]).arg(examples("meadow.toml")).arg(log).args(keys).output().unwrap()
}

#[test]
fn adding_begins_a_log_and_never_changes_a_byte_of_it() {
    let home = tempfile::tempdir().unwrap();
    let log = home.path().join("meadow-log.toml");
    let day = ["--date", "2026-11-20"];
    let first = add(&log, &[&["print", "across=99.2 mm", "up=99.6 mm"][..], &day].concat());
    assert!(first.status.success(), "{}", String::from_utf8_lossy(&first.stderr));
    let begun = fs::read(&log).unwrap();
    let text = String::from_utf8(begun.clone()).unwrap();
    assert!(text.starts_with("# Shop log of Meadow flatbow.") && text.contains("date   = 2026-11-20"), "{text}");
    assert!(String::from_utf8_lossy(&first.stdout).contains("--printed 99.2x99.6"));

    // Remarks of the builder's, no line feed at the end, and Windows line ends: all stay.
    let mine = format!("{}# mine\r\n# tabs\tand all", text.replace('\n', "\r\n"));
    fs::write(&log, &mine).unwrap();
    let second = add(
        &log,
        &[&["strip", "lamination=core", "after=17", "readings=[[4, 0.201], [20, 0.170]]", "note=left \"a\""][..], &day].concat(),
    );
    assert!(second.status.success(), "{}", String::from_utf8_lossy(&second.stderr));
    let now = fs::read_to_string(&log).unwrap();
    assert!(now.starts_with(&mine) && now[mine.len()..].starts_with("\r\n\r\n[[reading]]\r\n"), "{now}");
    assert_eq!(now.matches("[[reading]]").count(), 2);
    let read = buildfile::read_log("log", &now, &meadow()).1.unwrap().value;
    assert_eq!(read.readings[1].note.as_deref(), Some("left \"a\""));

    // What is questioned or faulty is not written.
    for (keys, code) in [
        (&["sheet", "thickness=6.1"][..], 1),
        (&["strip", "lamination=core"], 1),
        (&["strip", "after"], 2),
        (&["gap", "thickness=6.1"], 1),
    ] {
        let refused = add(&log, keys);
        assert_eq!(refused.status.code(), Some(code), "{keys:?}: {}", String::from_utf8_lossy(&refused.stderr));
        assert_eq!(fs::read_to_string(&log).unwrap(), now);
    }
    assert_eq!(fs::read_dir(home.path()).unwrap().count(), 1, "nothing else is left in the folder");
}

/// The build file is never written to by the log, whatever it answers.
#[test]
fn the_build_file_stays_as_it_is() {
    let home = tempfile::tempdir().unwrap();
    let (file, log) = (home.path().join("bow.toml"), home.path().join("log.toml"));
    fs::copy(examples("meadow.toml"), &file).unwrap();
    let before = fs::read(&file).unwrap();
    fs::write(
        &log,
        "units = \"in\"\n\
         [[reading]]\ndate = 2026-11-20\nof = \"sheet\"\nthickness = [0.225, 0.226]\n\
         [[reading]]\ndate = 2026-11-21\nof = \"strip\"\nlamination = \"core\"\nafter = 18\nreadings = [[4, 0.194], [20, 0.163], [34, 0.135]]\n\
         [[reading]]\ndate = 2026-11-22\nof = \"release\"\nstage = 1\ntip = 1.7\n",
    )
    .unwrap();
    let run = command().args(["-q", "log"]).args([&file, &log]).output().unwrap();
    let out = String::from_utf8_lossy(&run.stdout);
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    for wanted in [
        "sled.sheet.thickness = 0.2255",
        "lamination \"back\", thickness",
        "glue.stage no. 1, retained = 0.",
        "Nothing above has changed the build file",
    ] {
        assert!(out.contains(wanted), "{wanted}\n{out}");
    }
    assert_eq!(fs::read(&file).unwrap(), before);
    // A core that is thin is made up for by the back, which has not been ground yet: the same weight again.
    let json = command().args(["-q", "log", "--json"]).args([&file, &log]).output().unwrap();
    let told: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    let resized = &told["answers"][1]["found"]["resized"];
    assert!((resized["weight_n"].as_f64().unwrap() - 41.0 * LBF).abs() < 0.01, "{resized}");
    assert!(resized["as_it_is_n"].as_f64().unwrap() < 40.0 * LBF, "{resized}");
    assert_eq!(resized["changes"][0]["lamination"], "back");
}

/// Passes that are left after a log are those of the plan where nothing was off, and every gap moves with the drum.
#[test]
fn what_is_left_moves_with_the_drum() {
    let left = |offset: f64| {
        let gauge = 0.250;
        let scrap = gauge + offset;
        let entry = format!(
            "of = \"test strip\"\nlamination = \"core\"\ngauge = {gauge}\nreadings = [[2, {scrap:.4}], [10, {scrap:.4}]]"
        );
        gaps_left(&told("meadow.toml", &[&entry]), "core")
    };
    let (as_planned, wider) = (left(0.0), left(0.004));
    assert_eq!(as_planned.len(), wider.len());
    for (a, b) in as_planned.iter().zip(&wider) {
        assert!((a - b - 0.004 * IN).abs() < 1e-4, "{a} {b}");
    }
}

/// The example's log and its answers, word for word; `TAPERWRIGHT_BLESS=1` writes them anew and fails.
#[test]
fn the_example_says_what_its_text_says() {
    let run = command()
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(["-q", "log", "examples/meadow.toml", "examples/logs/meadow.toml"])
        .output()
        .unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let (path, told) = (examples("logs/meadow.txt"), String::from_utf8(run.stdout).unwrap());
    if std::env::var_os("TAPERWRIGHT_BLESS").is_some() {
        fs::write(&path, &told).unwrap();
        panic!("blessed: look at the difference");
    }
    assert_eq!(fs::read_to_string(&path).unwrap(), told);
}

/// Stock that came thick wants more passes before the planned ones: else the first would bite too deep.
#[test]
fn stock_as_it_came_begins_the_schedule() {
    let of = |thickness: f64| {
        let entry = format!("of = \"strip\"\nlamination = \"core\"\nafter = 0\nreadings = [[2, {thickness}], [30, {thickness}]]");
        last_answer("meadow.toml", &[&entry])
    };
    let (as_planned, thick) = (of(0.250), of(0.290));
    let left = |answer: &serde_json::Value| answer["found"]["passes_left"].as_u64().unwrap();
    assert!(left(&as_planned) + 3 <= left(&thick), "{} {}", left(&as_planned), left(&thick));
    assert!(said(&of(0.190), "the finished lamination wants"));
}

/// Places are counted from the strip's first end; on a full strip stations from the centre look like places and are not.
#[test]
fn stations_given_as_places_are_noticed() {
    let build = build(&fs::read_to_string(examples("heron.toml")).unwrap());
    let back = &build.laminations[0];
    let passes = {
        let (sander, plan) = (build.sander.as_ref().unwrap(), build.sled.as_ref().unwrap());
        let sled = taperwright::shop::sled::build(back, plan, sander).unwrap().value;
        taperwright::shop::passes::plan(back, Some(&sled), sander).unwrap().value.passes().count()
    };
    let entry = |places: [f64; 2]| {
        let t = |s: f64| back.thickness_at(s);
        format!(
            "of = \"strip\"\nlamination = \"{}\"\nafter = {passes}\nreadings = [[\"{} mm\", \"{:.3} mm\"], [\"{} mm\", \"{:.3} mm\"]]",
            back.name,
            places[0],
            t(100.0),
            places[1],
            t(850.0)
        )
    };
    let wrong = last_answer("heron.toml", &[&entry([100.0, 850.0])]);
    assert!(wrong["questions"][0].as_str().unwrap().contains("fit stations"), "{wrong}");
    let right = last_answer("heron.toml", &[&entry([back.u_of(100.0), back.u_of(850.0)])]);
    assert_eq!(right["found"]["done"], true, "{right}");
}

/// Two weighings that cannot both be right are not averaged: the last one counts, and it is said.
#[test]
fn weighings_that_contradict_each_other_are_not_averaged() {
    let first = "of = \"blank\"\nhow = \"floor\"\ndrop = 2\nweight = \"16 lbf\"\nwidth = \"outline\"";
    let second = "of = \"blank\"\nhow = \"braced\"\nbrace = 6.25\ndraw = 28\nweight = \"47 lbf\"\nwidth = \"outline\"";
    let answer = last_answer("meadow.toml", &[first, second]);
    assert!(said(&answer, "cannot all be right"), "{answer}");
    assert!((answer["found"]["trimmed_n"].as_f64().unwrap() / LBF - 47.0).abs() < 0.01, "{answer}");
}

/// A finished bow whose belly was thinned tells of its wood and not of its design.
#[test]
fn a_thinned_bow_tells_of_its_wood() {
    let blank =
        "of = \"blank\"\nhow = \"braced\"\nbrace = 6.25\ndraw = 28\nweight = \"47 lbf\"\nwidth = \"outline\"\nbelly_off = 0.020";
    let bow = "of = \"bow\"\nweight = \"44 lbf\"";
    let whole = last_answer("meadow.toml", &[bow])["found"]["stiffness_factor"].as_f64().unwrap();
    let thinned = last_answer("meadow.toml", &[blank, bow])["found"]["stiffness_factor"].as_f64().unwrap();
    assert!(whole * 1.05 < thinned, "{whole} {thinned}");
}

/// Whatever order independent readings come in, the gaps, the passes left and their notes are the same.
#[test]
fn the_order_of_readings_does_not_matter() {
    let build = meadow();
    let core = &build.laminations[1];
    let sled = taperwright::shop::sled::build(core, build.sled.as_ref().unwrap(), build.sander.as_ref().unwrap()).unwrap().value;
    // A sled 0.1 mm high everywhere, seen by measuring it and by scrap that comes out as much too thin on it.
    let heights: Vec<String> =
        [1.0, 10.0, 20.0, 35.0].iter().map(|u| format!("[{u}, {:.5}]", (sled.surface_mm(u * IN) + 0.1) / IN)).collect();
    let measured = format!("of = \"sled\"\nlamination = \"core\"\nheights = [{}]", heights.join(", "));
    let scrap = |u: f64| format!("[{u}, {:.5}]", 1.45 - (sled.surface_mm(u * IN) + 0.1) / IN);
    let scrap = format!(
        "of = \"test strip\"\nlamination = \"core\"\non = \"sled\"\ngauge = 1.45\nreadings = [{}, {}]",
        scrap(20.0),
        scrap(33.0)
    );
    let first = "of = \"strip\"\nlamination = \"core\"\nafter = 5\nreadings = [[3, 0.238], [30, 0.238]]";
    let left = |readings: &[&str]| {
        let text = String::from_utf8(answered("meadow.toml", readings, &[]).stdout).unwrap();
        let list = text.split("core: what is left").nth(1).unwrap_or("").to_owned();
        (gaps_left(&told("meadow.toml", readings), "core"), list)
    };
    let (one, other) = (left(&[&measured, &scrap]), left(&[&scrap, &measured]));
    assert_eq!(one.0.len(), other.0.len());
    for (a, b) in one.0.iter().zip(&other.0) {
        assert!((a - b).abs() < 5e-3, "{a} {b}");
    }
    // The sled's height is in the last gap once.
    let plain = left(&["of = \"sheet\"\nthickness = 0.236"]).0;
    assert!((one.0.last().unwrap() - plain.last().unwrap() - 0.1).abs() < 0.03, "{one:?} {plain:?}");
    // Work that is done stays done, and the face is not turned twice.
    let (half, later) = (left(&[first]), left(&[first, &measured]));
    assert_eq!((half.0.len(), later.0.len()), (13, 13));
    for text in [&half.1, &later.1] {
        assert_eq!(text.matches("turn the strip over").count(), 1, "{text}");
        assert!(text.contains("turn the strip over; new paper"), "{text}");
    }
    let on_the_sled = "of = \"strip\"\nlamination = \"core\"\nafter = 12\nreadings = [[20, 0.1886], [33, 0.1606]]";
    let later = left(&[first, on_the_sled, &measured]);
    assert!(later.0.len() <= 6 && !later.1.contains("turn the strip over"), "{later:?}");
}

/// A batch of laminations has a log as well.
#[test]
fn a_batch_of_strips_has_a_log() {
    let answer = last_answer("strips.toml", &["of = \"print\"\nacross = 99.2\nup = 99.6"]);
    assert!(answer["take_over"][0].as_str().unwrap().contains("--printed 99.2x99.6"), "{answer}");
}
