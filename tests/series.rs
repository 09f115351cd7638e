//! `[series]`: bows of several weights from one form. Each row against `size` bow by bow; one sled for all, ground in simulation; what is
//! refused.

mod support;

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;
use support::program::{json, program};
use taperwright::geometry::{Point, height_at};
use taperwright::job::{Inputs, Job};
use taperwright::model::Build;
use taperwright::shop::grind::{self, Unground, Upset};
use taperwright::write::dxf_read;
use tempfile::TempDir;

const BOWS: &str = "[series]\nbows = [\"50 lbf\", [\"35 lbf\", 3], \"40 lbf\", 45]\n\n[sizing]";

fn meadow(series: &str) -> String {
    let text = std::fs::read_to_string("examples/meadow.toml").unwrap();
    assert!(text.contains("\n[sizing]"));
    text.replacen("\n[sizing]", &format!("\n{series}"), 1)
}

fn written(folder: &TempDir, text: &str) -> String {
    let file = folder.path().join("meadow.toml");
    std::fs::write(&file, text).unwrap();
    file.to_str().unwrap().to_owned()
}

#[test]
fn each_row_is_what_size_gives_for_that_bow_alone() {
    let folder = TempDir::new().unwrap();
    let file = written(&folder, &meadow(BOWS));
    let out = folder.path().join("bows");
    let series = json(&["series", &file, "--json", "--write", out.to_str().unwrap()]);
    let rows = series["bows"].as_array().unwrap();
    assert_eq!(
        rows.iter().map(|row| row["file"].as_str().unwrap()).collect::<Vec<_>>(),
        ["meadow-35-lbf.toml", "meadow-40-lbf.toml", "meadow-45-lbf.toml", "meadow-50-lbf.toml"]
    );
    for (row, pounds) in rows.iter().zip([35, 40, 45, 50]) {
        // By hand: the wish in the file, then `size`.
        let alone = folder.path().join("alone.toml");
        let text = std::fs::read_to_string("examples/meadow.toml").unwrap();
        let line = text.lines().find(|line| line.starts_with("draw_weight ")).unwrap();
        std::fs::write(&alone, text.replace(line, &format!("draw_weight = \"{pounds} lbf\""))).unwrap();
        let sized = folder.path().join(format!("sized-{pounds}.toml"));
        assert!(program(&["size", alone.to_str().unwrap(), "--write", sized.to_str().unwrap()]).status.success());
        let bow = json(&["bow", sized.to_str().unwrap(), "--json"]);
        assert_eq!(row["weight_n"], bow["draw_weight_n"], "{pounds} lbf");
        // The file that was written is that bow, too.
        let own = out.join(row["file"].as_str().unwrap());
        assert_eq!(json(&["bow", own.to_str().unwrap(), "--json"])["draw_weight_n"], bow["draw_weight_n"]);
        let wanted = row["wanted_n"].as_f64().unwrap();
        assert!((row["weight_n"].as_f64().unwrap() / wanted - 1.0).abs() < 0.01, "{row}");
    }
    // Three bows of 35 lbf: six half strips, on one schedule.
    let batch = series["batches"].as_array().unwrap().iter().find(|batch| batch["laminations"][0] == "back").unwrap();
    assert_eq!((batch["strips"].as_u64(), batch["files"].as_array().unwrap().len()), (Some(6), 1));
    // The core is the same in all of them, so that its strips go through together.
    let cores: Vec<&Value> =
        series["batches"].as_array().unwrap().iter().filter(|batch| batch["laminations"][0] == "core").collect();
    assert_eq!((cores.len(), cores[0]["strips"].as_u64()), (1, Some(12)));
}

/// Grinds every strip on the one sled that is said to serve it.
#[test]
fn one_sled_serves_all_weights() {
    for (text, sleds) in [
        (meadow(BOWS), 2),
        (
            std::fs::read_to_string("examples/heron.toml").unwrap().replacen(
                "\n[sizing]",
                "\n[series]\nbows = [140, 160, 176, 190, 205]\n\n[sizing]",
                1,
            ),
            3,
        ),
    ] {
        let job = Job::read("bow.toml", &text, Inputs::default()).unwrap();
        let series = job.series().unwrap().expect("there is one");
        assert_eq!(series.sleds.len(), sleds);
        for shared in &series.sleds {
            assert_eq!(shared.serves.len(), series.bows.len());
            let of = |strip: taperwright::job::StripOf| series.bows[strip.bow].job.ground(strip.lamination).unwrap().unwrap();
            let sled = &of(shared.cut_from).kit.as_ref().unwrap().sled;
            let mut surface: Vec<(f64, f64)> =
                (0..=400).map(|k| sled.strip_length_mm * f64::from(k) / 400.0).map(|u| (u, 0.0)).collect();
            surface.extend(sled.ramp.points().iter().map(|point| (point.0, 0.0)));
            surface.sort_by(|a, b| a.0.total_cmp(&b.0));
            for place in &mut surface {
                place.1 = sled.ramp.at(place.0) + sled.under_mm + sled.deck_mm;
            }
            for strip in &shared.serves {
                let ground = of(*strip);
                let lamination = &ground.lamination;
                let unground = Unground {
                    surface: &surface,
                    length_mm: lamination.strip_length_mm(),
                    stock_mm: lamination.stock.thickness_mm,
                };
                let came = grind::grind(unground, &ground.schedule, |u| lamination.strip_thickness_at(u), Upset::default());
                // The gauge's rounding is the schedule's own; beyond it nothing is off.
                let off = (came.worst_mm.abs() - ground.rounding_mm().abs()).abs();
                assert!(off < 2e-3, "`{}`: {} mm off, {} of it rounding", lamination.name, came.worst_mm, ground.rounding_mm());
                assert!(came.breaches.is_empty(), "{:?}", came.breaches);
                // No strip is thinner than the run-on that holds it.
                for top in sled.run_on_top_mm.into_iter().flatten() {
                    assert!(top < ground.last_gap_mm(), "the run-on would be cut");
                }
            }
        }
    }
}

#[test]
fn what_is_no_series_is_said() {
    let folder = TempDir::new().unwrap();
    let refused = |text: &str| {
        let output = program(&["series", &written(&folder, text)]);
        assert_eq!(output.status.code(), Some(1));
        String::from_utf8(output.stderr).unwrap()
    };
    let said = refused(&meadow("[series]\nbows = [\"40 lbf\", 40]\n\n[sizing]"));
    assert!(said.contains("named twice"), "{said}");
    let said = refused(&meadow("[series]\nbows = []\n\n[sizing]"));
    assert!(said.contains("this list is empty"), "{said}");
    let said = refused(&meadow("[series]\nbows = [[\"40 lbf\", 2, 3]]\n\n[sizing]"));
    assert!(said.contains("two are wanted"), "{said}");
    let said = refused(&std::fs::read_to_string("examples/meadow.toml").unwrap());
    assert!(said.contains("add [series]"), "{said}");
    // Without a lamination that may change there are no other weights.
    let text = meadow(BOWS);
    let sizing = text.find("[sizing]").unwrap();
    let next = sizing + text[sizing..].find("\n[glue]").unwrap();
    let said = refused(&format!("{}{}", &text[..sizing], &text[next..]));
    assert!(said.contains("add [sizing]"), "{said}");
    // A weight that the free lamination cannot reach names its bow.
    let said = refused(&meadow("[series]\nbows = [\"40 lbf\", \"300 lbf\"]\n\n[sizing]"));
    assert!(said.contains("300 lbf"), "{said}");
}

#[test]
fn nothing_of_others_is_overwritten() {
    let folder = TempDir::new().unwrap();
    let file = written(&folder, &meadow(BOWS));
    let out = folder.path().join("bows");
    std::fs::create_dir(&out).unwrap();
    let theirs = out.join("meadow-40-lbf.toml");
    std::fs::write(&theirs, "mine").unwrap();
    let output = program(&["series", &file, "--write", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(std::fs::read_to_string(&theirs).unwrap(), "mine");
    assert!(!Path::new(&out.join("meadow-35-lbf.toml")).exists());
}

/// One file, one folder, one sled: what all bows share lies there once, and it is what each weight's own build file would make.
#[test]
fn five_weights_go_from_one_file_to_one_folder_with_one_sled() {
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("plum.toml");
    let file = file.to_str().unwrap();
    assert!(program(&["new", file]).status.success());
    let text = std::fs::read_to_string(file).unwrap();
    let text = text.replacen(
        "\n[sizing]",
        "\n[series]\nbows = [\"30 lbf\", [\"34 lbf\", 2], \"38 lbf\", \"42 lbf\", \"46 lbf\"]\n\n[sizing]",
        1,
    );
    std::fs::write(file, text).unwrap();
    let out = folder.path().join("made");
    let made = || program(&["series", file, "--make", out.to_str().unwrap()]);
    let output = made();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let names = |folder: &Path| {
        let mut names: Vec<String> =
            std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    };
    let weights = ["30-lbf", "34-lbf", "38-lbf", "42-lbf", "46-lbf"];
    assert_eq!(names(&out), [&weights[..], &["made.json", "series.json", "shared"]].concat());
    let shared = names(&out.join("shared/templates"));
    let sleds: Vec<&String> = shared.iter().filter(|name| name.ends_with("-assembly.svg")).collect();
    // The lightest bow's belly is the thinnest of all these strips.
    assert_eq!(sleds, ["sled-belly-assembly.svg"], "core and belly have one taper, in all weights");
    let heaviest = folder.path().join("heaviest");
    let own = out.join("46-lbf/plum-46-lbf.toml");
    assert!(program(&["make", own.to_str().unwrap(), "--out", heaviest.to_str().unwrap()]).status.success());
    for name in ["outline.dxf", "riser.dxf"] {
        let lines = |folder: &Path| {
            let read = dxf_read::read(&std::fs::read(folder.join("templates").join(name)).unwrap()).unwrap();
            read.paths.into_iter().map(|line| line.path).collect::<Vec<_>>()
        };
        let shared = lines(&out.join("shared"));
        assert!(!shared.is_empty());
        assert!(shared == lines(&heaviest), "{name} is another for another weight");
    }
    for weight in weights {
        let own = names(&out.join(weight).join("templates"));
        assert!(own.iter().all(|name| name.starts_with("tiller")), "{own:?}");
        let report: Value = serde_json::from_slice(&std::fs::read(out.join(weight).join("report.json")).unwrap()).unwrap();
        let ground: Vec<&Value> = report["laminations"].as_array().unwrap().iter().filter(|row| !row["sled"].is_null()).collect();
        assert_eq!(ground.len(), 2);
        for row in ground {
            assert_eq!((&row["sled"]["of"], &row["sled"]["in_shared"]), (&Value::from("belly"), &Value::from(true)));
            assert_eq!(row["sled"]["serves"], serde_json::json!(["core", "belly"]));
            assert_eq!(row["proof"]["from_cut_file"], true);
            // A step of the gauge and the sled's tolerance.
            assert!(row["proof"]["worst_mm"].as_f64().unwrap().abs() < 0.08, "{row}");
        }
        assert!(report["loads"].as_array().unwrap().is_empty(), "{weight} cuts sleds of its own");
        let book = std::fs::read_to_string(out.join(weight).join("build-book.html")).unwrap();
        assert!(book.contains("cut once for all bows of this series"));
    }
    // Again the same, byte for byte: nothing is left over or in the way.
    let list = std::fs::read(out.join("made.json")).unwrap();
    assert!(made().status.success());
    assert!(std::fs::read(out.join("made.json")).unwrap() == list);
}

/// Every file below a folder with its bytes.
fn tree(folder: &Path) -> std::collections::BTreeMap<std::path::PathBuf, Vec<u8>> {
    let (mut found, mut open) = (std::collections::BTreeMap::new(), vec![folder.to_owned()]);
    while let Some(here) = open.pop() {
        for entry in std::fs::read_dir(here).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                found.insert(path.clone(), std::fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// A log says of a bow what the bow's build file says: wood of a hidden stiffness stays what it is, however often the series is made by its log.
#[test]
fn a_series_made_again_by_its_log_leaves_the_bows_their_build_files() {
    const HIDDEN: f64 = 1.07;
    for how in ["--make", "--write"] {
        let folder = TempDir::new().unwrap();
        let run = |args: &[&str]| Command::cargo_bin("taperwright").unwrap().current_dir(&folder).args(args).output().unwrap();
        let read = |args: &[&str]| -> Value {
            let output = run(args);
            assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
            serde_json::from_slice(&output.stdout).unwrap()
        };
        assert!(run(&["new", "s.toml"]).status.success());
        let file = folder.path().join("s.toml");
        let text = std::fs::read_to_string(&file).unwrap();
        std::fs::write(&file, format!("{text}\n[series]\nbows = [\"36 lbf\", \"42 lbf\"]\n")).unwrap();
        // What the model draws of a file's stack with the handbook's wood, and what this wood makes of it.
        let below = |row: &Value| match how {
            "--make" => format!(
                "{}/{}",
                row["file"].as_str().unwrap().replace("s-", "").replace(".toml", ""),
                row["file"].as_str().unwrap()
            ),
            _ => row["file"].as_str().unwrap().to_owned(),
        };
        let log = |serial: &str, out: &str, row: &Value, learnt: f64| {
            let build = format!("build={out}/{}", below(row));
            let weight = format!("weight={} N", HIDDEN / learnt * row["weight_n"].as_f64().unwrap());
            let added =
                run(&["log", "add", "s.toml", "l.toml", "bow", &format!("serial={serial}"), &build, &weight, "finishing=0"]);
            assert!(added.status.success(), "{}", String::from_utf8_lossy(&added.stderr));
        };
        let factors = || -> Vec<f64> {
            let told = read(&["log", "s.toml", "l.toml", "--json"]);
            told["bows"]["bows"].as_array().unwrap().iter().map(|bow| bow["factor"].as_f64().unwrap()).collect()
        };
        let near = |factor: f64| assert!((factor / HIDDEN - 1.0).abs() < 1e-3, "{factor}");
        let first = read(&["series", "s.toml", how, "out", "--json"]);
        log("1", "out", &first["bows"][1], 1.0);
        let (made, said) = (tree(&folder.path().join("out")), run(&["log", "s.toml", "l.toml", "--all"]).stdout);
        factors().into_iter().for_each(near);
        let mut free = String::new();
        for _ in 0..3 {
            let again = run(&["series", "s.toml", "l.toml", how, "out"]);
            let why = String::from_utf8(again.stderr).unwrap();
            assert_eq!(again.status.code(), Some(2), "{why}");
            let own = format!("out/{}", below(&first["bows"][1]));
            assert!(why.contains(&format!("by l.toml bow 1 is made by {own}")), "{why}");
            free = why.split_once("such as ").unwrap().1.split_once(':').unwrap().0.to_owned();
            assert!(tree(&folder.path().join("out")) == made);
            assert_eq!(run(&["log", "s.toml", "l.toml", "--all"]).stdout, said);
        }
        // The help followed, again and again: the same files, and the log says what it said.
        let second = read(&["series", "s.toml", "l.toml", how, &free, "--json"]);
        let made_next = tree(&folder.path().join(&free));
        assert_eq!(read(&["series", "s.toml", "l.toml", how, &free, "--json"]), second);
        assert!(tree(&folder.path().join(&free)) == made_next && tree(&folder.path().join("out")) == made);
        assert_eq!(run(&["log", "s.toml", "l.toml", "--all"]).stdout, said);
        // A bow of the next files is of the same wood, and so is the first one still.
        log("2", &free, &second["bows"][0], second["learnt"]["next_factor"].as_f64().unwrap());
        factors().into_iter().for_each(near);
        // A weight that is left out takes no build file away; without the log nothing changes either.
        std::fs::write(&file, format!("{text}\n[series]\nbows = [\"36 lbf\"]\n")).unwrap();
        let less = run(&["series", "s.toml", how, "out"]);
        assert_eq!(less.status.code(), Some(2), "{}", String::from_utf8_lossy(&less.stderr));
        assert!(run(&["make", "s.toml", "--out", "out"]).status.code() == Some(2));
        assert!(tree(&folder.path().join("out")) == made && factors().len() == 2);
    }
}

/// Stock that is too thin for one weight of a series: which weight, and what stock; so much stock, and it is made.
#[test]
fn stock_that_is_too_thin_for_one_weight_is_named_with_its_weight() {
    let folder = TempDir::new().unwrap();
    let run = |args: &[&str]| Command::cargo_bin("taperwright").unwrap().current_dir(&folder).args(args).output().unwrap();
    assert!(run(&["new", "s.toml", "--style", "flatbow"]).status.success());
    let text = std::fs::read_to_string(folder.path().join("s.toml")).unwrap();
    let with = |text: &str, weights: &str| format!("{text}\n[series]\nbows = [{weights}]\n");
    let json = |name: &str| -> Value { serde_json::from_slice(&run(&["series", name, "--json"]).stdout).unwrap() };
    std::fs::write(folder.path().join("s.toml"), with(&text, "\"36 lbf\", \"46 lbf\"")).unwrap();
    let rows = json("s.toml");
    // The lamination that is sized, so thick that the stock as it is stated does and its thinnest strips do not.
    let names: Vec<&str> = rows["laminations"].as_array().unwrap().iter().map(|name| name.as_str().unwrap()).collect();
    let thick = |bow: usize, k: usize| rows["bows"][bow]["thickness_mm"][k].as_f64().unwrap() / 25.4;
    let sized = (0..names.len()).rfind(|k| 1e-3 < thick(1, *k) - thick(0, *k)).unwrap();
    let at = text.find(&format!("name = \"{}\"", names[sized])).unwrap();
    let stock = at + text[at..].find("stock = { thickness = ").unwrap();
    let end = stock + text[stock..].find(", width").unwrap();
    let of_stock = |inches: &str| format!("{}stock = {{ thickness = {inches}{}", &text[..stock], &text[end..]);
    let thin = format!("{:.3}", thick(1, sized) + 0.005);
    std::fs::write(folder.path().join("thin.toml"), with(&of_stock(&thin), "\"36 lbf\", \"46 lbf\"")).unwrap();
    let output = run(&["series", "thin.toml", "--make", "thin"]);
    let why = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1), "{why}");
    let fault = why.split_once("fault: ").unwrap().1;
    assert!(fault.contains("stock.thickness") && fault.contains("46 lbf") && !fault.contains("shim"), "{why}");
    let enough = fault.split_once("stock of at least ").unwrap().1.split_once(" in").unwrap().0.to_owned();
    std::fs::write(folder.path().join("enough.toml"), with(&of_stock(&enough), "\"36 lbf\", \"46 lbf\"")).unwrap();
    let output = run(&["series", "enough.toml", "--make", "enough"]);
    assert!(output.status.success(), "{thin} {enough}: {}", String::from_utf8_lossy(&output.stderr));
    // Sizing to that weight on the same stock says it at once, as the check after it does.
    let one = of_stock(&thin).replacen("draw_weight = \"42 lbf\"", "draw_weight = \"46 lbf\"", 1);
    assert!(one.contains("46 lbf"));
    std::fs::write(folder.path().join("one.toml"), one).unwrap();
    let said = String::from_utf8(run(&["size", "one.toml", "--write", "one-sized.toml"]).stderr).unwrap();
    let checked = String::from_utf8(run(&["check", "one-sized.toml"]).stderr).unwrap();
    let of_stock: Vec<&str> = checked.lines().filter(|line| line.starts_with("warning:") && line.contains("stock")).collect();
    assert!(!of_stock.is_empty(), "{checked}");
    assert!(of_stock.iter().all(|line| said.contains(line)), "{said}\n{checked}");
}

/// In one build, too: two cores of one taper lie on one sled, each proved on its cut file.
#[test]
fn equal_tapers_of_one_bow_share_a_sled() {
    let text = std::fs::read_to_string("examples/meadow.toml").unwrap();
    let job =
        |text: &str| Job::read("meadow.toml", text, Inputs::default()).unwrap_or_else(|unread| panic!("{:?}", unread.faults));
    let apart = job(&text);
    let start = text.find("[[lamination]]").unwrap();
    let core = text[start..].find("\"core\"").unwrap() + start;
    let from = text[..core].rfind("[[lamination]]").unwrap();
    let to = text[core..].find("\n[[lamination]]").unwrap() + core + 1;
    let twice = text[from..to].replace("\"core\"", "\"second core\"");
    let shared = job(&format!("{}{twice}{}", &text[..to], &text[to..]));
    let parts = |job: &Job| -> u64 {
        let report = serde_json::to_value(job.report().unwrap()).unwrap();
        let loads = report["loads"].as_array().unwrap().clone();
        loads.iter().flat_map(|load| load["parts"].as_array().unwrap().clone()).map(|part| part["count"].as_u64().unwrap()).sum()
    };
    assert_eq!(parts(&shared), parts(&apart), "a second core needs no part more");
    let report = serde_json::to_value(shared.report().unwrap()).unwrap();
    let row = |name: &str| report["laminations"].as_array().unwrap().iter().find(|row| row["name"] == name).unwrap().clone();
    assert_eq!(row("second core")["sled"]["of"], "core");
    assert_eq!(row("second core")["proof"], row("core")["proof"]);
    // Another width, another sled.
    let narrower = twice.replace("width = 2.125", "width = 2.1");
    assert_ne!(narrower, twice);
    let own = job(&format!("{}{narrower}{}", &text[..to], &text[to..]));
    let report = serde_json::to_value(own.report().unwrap()).unwrap();
    let names: Vec<&Value> = report["laminations"].as_array().unwrap().iter().map(|row| &row["sled"]["of"]).collect();
    assert_eq!(names, ["back", "core", "second core"].map(Value::from).iter().chain([&Value::Null]).collect::<Vec<_>>());
}

/// A wedge lies on a plank as it comes, so high that each strip ends on a step of the gauge: still one wedge, planed once, for all weights.
#[test]
fn one_wedge_serves_all_weights() {
    let folder = TempDir::new().unwrap();
    let starter = folder.path().join("glass.toml");
    assert!(program(&["new", starter.to_str().unwrap(), "--style", "glass", "--units", "mm"]).status.success());
    let text = std::fs::read_to_string(&starter).unwrap();
    let plank = "\nsled = { make = \"wedge\", sheet = { material = \"plank\", thickness = 38 } }\nstock = { thickness = 6.2,";
    let cores: Vec<&str> = text.lines().filter(|line| line.starts_with("stock = { thickness")).collect();
    assert_eq!(cores.len(), 2, "{cores:?}");
    let stock = cores[0].split(',').next().unwrap();
    let text = text.replace(&format!("\n{stock},"), plank) + "\n[series]\nbows = [\"150 N\", \"190 N\", \"230 N\"]\n";
    std::fs::write(&starter, text).unwrap();
    let file = starter.to_str().unwrap();
    let series = json(&["series", file, "--json"]);
    assert_eq!(series["sleds"].as_array().unwrap().len(), 1, "{}", series["sleds"]);
    let out = folder.path().join("out");
    let made = program(&["series", file, "--make", out.to_str().unwrap()]);
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let sheets = |part: &str| {
        let names = std::fs::read_dir(out.join(part).join("templates")).map_or(Vec::new(), |all| {
            all.map(|entry| entry.unwrap().file_name().into_string().unwrap()).filter(|name| name.starts_with("sled-")).collect()
        });
        names.len()
    };
    assert!(sheets("shared") == 2 && ["150-n", "190-n", "230-n"].into_iter().all(|bow| sheets(bow) == 0), "a pdf and an svg");
    // Ground on the one wedge, every strip of every weight is as near to its target as the tolerance asks.
    for bow in ["150-n", "190-n", "230-n"] {
        let report: Value = serde_json::from_slice(&std::fs::read(out.join(bow).join("report.json")).unwrap()).unwrap();
        for row in report["laminations"].as_array().unwrap().iter().filter(|row| !row["proof"].is_null()) {
            let off = row["proof"]["worst_mm"].as_f64().unwrap_or_else(|| panic!("{row}"));
            assert!(off.abs() <= 0.03, "{bow}: {off}");
        }
    }
}

/// A file of a folder's job by its name.
fn file(job: &Job, name: &str) -> Vec<u8> {
    let files = job.files().unwrap();
    let number = files.names().position(|known| known == name).unwrap_or_else(|| panic!("no {name}"));
    files.bytes(number).unwrap()
}

/// Every text of a sheet, one after the other.
fn texts(svg: &[u8]) -> String {
    let svg = String::from_utf8(svg.to_vec()).unwrap();
    let all: Vec<&str> = svg.split("<title>").skip(2).filter_map(|rest| rest.split("</title>").next()).collect();
    all.join(" ")
}

/// Whoever sets each gap that the shared sheet names has each weight's strips as thick as its file wants them: the sheet says none of one weight alone.
#[test]
fn the_shared_sled_s_sheet_has_the_last_gap_of_every_weight() {
    let job = Job::read("meadow", &meadow(BOWS), Inputs::default()).unwrap_or_else(|_| panic!("it reads"));
    let series = job.series().unwrap().unwrap();
    let folders = series.folders(&job, "meadow").unwrap();
    let mut told_apart = 0;
    for sled in &series.sleds {
        let name = &job.build().laminations[sled.cut_from.lamination].name;
        let said = texts(&file(&folders[0].job, &format!("templates/sled-{name}-assembly.svg")));
        let of_one = 1 == series.sleds.iter().filter(|other| other.serves == sled.serves).count()
            && sled.serves.iter().all(|strip| strip.lamination == sled.cut_from.lamination);
        let gap = |strip: &taperwright::job::StripOf| {
            let bow = &series.bows[strip.bow];
            (bow, bow.job.ground(strip.lamination).unwrap().unwrap())
        };
        let wanted: Vec<f64> = sled.serves.iter().map(|strip| gap(strip).1.last_gap_mm()).collect();
        if wanted.iter().all(|other| (other - wanted[0]).abs() < 1e-9) {
            assert!(said.contains("the last one is"), "all end at one gap: {said}");
            continue;
        }
        for strip in &sled.serves {
            let (bow, ground) = gap(strip);
            let whose = if of_one { bow.words.clone() } else { format!("{} of {}", ground.lamination.name, bow.words) };
            let told = said.split(&format!("{whose} ")).skip(1).find_map(|rest| rest.split(" in").next()?.parse::<f64>().ok());
            let gap_mm = 25.4 * told.unwrap_or_else(|| panic!("no gap of {whose} in {said}"));
            // Ground to that gap on the drawn seat, the strip's butt is what its own file says.
            let seat = ground.kit.as_ref().unwrap().sled.surface_mm(0.0);
            let finished = ground.lamination.finished.at(ground.lamination.station_at(0.0));
            assert!((gap_mm - seat - finished).abs() < 0.03, "{whose}: {} for {finished}", gap_mm - seat);
            told_apart += 1;
        }
        assert!(!said.contains("the last one is") && !said.contains("strip, in"), "{said}");
    }
    assert!(0 < told_apart, "all weights end at one gap: nothing is tried");
}

/// The edge of a form as its cut file has it, from left to right: all but the foot.
fn drawn_edge(dxf: &[u8]) -> Vec<Point> {
    let longest = |path: &taperwright::geometry::Path| path.bounds().width();
    let paths = dxf_read::read(dxf).unwrap().paths.into_iter().map(|read| read.path);
    let whole = paths.max_by(|a, b| longest(a).total_cmp(&longest(b))).unwrap();
    let mut edge: Vec<Point> = whole.vertices.iter().map(|vertex| vertex.at).filter(|at| 1.0 < at.y).collect();
    edge.sort_by(|a, b| a.x.total_cmp(&b.x));
    edge
}

/// How the starter's bow is glued up.
const STAGE: &str = "held = \"flat\"";

/// On the curves as they are cut, every weight's pile with its shim, strip and hose fills the gap between both halves: to half a millimetre all along, and
/// without their shims the light ones do not.
#[test]
fn one_upper_half_presses_every_weight_with_its_shim() {
    let folder = TempDir::new().unwrap();
    let plum = folder.path().join("plum.toml");
    assert!(program(&["new", plum.to_str().unwrap()]).status.success());
    let text = std::fs::read_to_string(plum).unwrap();
    assert!(text.contains(STAGE), "the starter's glue-up is another");
    let text = text
        .replacen(STAGE, "press = { hose = 1, strip = 0.06 }\nheld = { form = [[0, 0], [12, 0], [32.25, -1]] }", 1)
        .replacen("\n[sizing]", "\n[series]\nbows = [\"30 lbf\", \"38 lbf\", \"46 lbf\"]\n\n[sizing]", 1);
    let job = Job::read("plum", &text, Inputs::default()).unwrap_or_else(|unread| panic!("{:?}", unread.faults));
    let series = job.series().unwrap().unwrap();
    let shared = &series.folders(&job, "meadow").unwrap()[0].job;
    let [lower, upper] = ["form-1", "form-1-upper"].map(|name| drawn_edge(&file(shared, &format!("templates/{name}.dxf"))));
    let said = texts(&file(shared, "templates/form-1-upper.svg"));
    let report = serde_json::to_value(series.report(&job, "meadow").unwrap()).unwrap();
    let pile = |build: &Build, s: f64| {
        let wood: f64 = build.laminations.iter().map(|lamination| lamination.thickness_at(s)).sum();
        wood + (build.laminations.len() - 1) as f64 * build.glue.line_mm
    };
    let press_mm = 1.06 * 25.4;
    // Well beyond the riser, where the pile is laminations alone.
    let stations: Vec<f64> = (11..=31).map(|inches| 25.4 * f64::from(inches)).collect();
    let heaviest = series.bows.last().unwrap().job.build();
    // Both halves set by the thickest pile at one place; everything else follows from the curves.
    let sum = height_at(&lower, stations[0]) + height_at(&upper, stations[0]);
    let foot = sum + pile(heaviest, stations[0]) + press_mm;
    let mut thin = 0;
    for (bow, row) in series.bows.iter().zip(report["bows"].as_array().unwrap()) {
        let shim_mm = row["press_shims"][0]["shim_mm"].as_f64().unwrap();
        for s in &stations {
            let gap = foot - height_at(&upper, *s) - height_at(&lower, *s);
            let filled = pile(bow.job.build(), *s) + press_mm;
            assert!((gap - filled - shim_mm).abs() < 0.5, "{} at {s}: {gap} for {filled} and {shim_mm}", bow.words);
            thin += usize::from(0.5 < gap - filled);
        }
        if 0.0 < shim_mm {
            assert!(said.contains(&format!("{} {}", bow.words, job.build().units.thickness(shim_mm))), "{}: {said}", bow.words);
        }
    }
    assert!(0 < thin, "no weight needs a shim: nothing is tried");
    assert_eq!(report["bows"].as_array().unwrap().last().unwrap()["press_shims"][0]["shim_mm"], 0.0);
}

/// What a stage wants of the tips asks another form of a stiffer pile: then each weight's folder has its own, as that weight's report says it, and none
/// is shared.
#[test]
fn a_form_that_differs_by_weight_is_each_weight_s_own() {
    let job = Job::read("meadow", &meadow(BOWS), Inputs::default()).unwrap_or_else(|_| panic!("it reads"));
    let series = job.series().unwrap().unwrap();
    assert!(!series.report(&job, "meadow").unwrap().one_form);
    let folders = series.folders(&job, "meadow").unwrap();
    let has_form = |job: &Job| job.files().unwrap().names().any(|name| name == "templates/form-2.dxf");
    assert!(!has_form(&folders[0].job));
    let mut rises = Vec::new();
    for folder in &folders[1..] {
        let edge = drawn_edge(&file(&folder.job, "templates/form-2.dxf"));
        let report = folder.job.report().unwrap();
        let stage = &report.bow.as_ref().unwrap().glue_stages[1];
        // The nock's, over the edge's middle.
        let [s, rise] = *stage.form_mm.last().unwrap();
        let drawn = height_at(&edge, s - 0.5) - height_at(&edge, 0.0);
        assert!((drawn - rise).abs() < 0.6, "{}: {drawn} is drawn for {rise}", folder.name);
        rises.push(rise);
    }
    assert!(1.0 < (rises[0] - rises[rises.len() - 1]).abs(), "{rises:?}");
}
