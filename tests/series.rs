//! `[series]`: bows of several weights from one form. Each row against `size` bow by bow; one sled for all, ground in simulation; what is
//! refused.

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;
use taperwright::job::{Inputs, Job};
use taperwright::shop::grind::{self, Unground, Upset};
use tempfile::TempDir;

const BOWS: &str = "[series]\nbows = [\"50 lbf\", [\"35 lbf\", 3], \"40 lbf\", 45]\n\n[sizing]";

fn program(args: &[&str]) -> std::process::Output {
    Command::cargo_bin("taperwright").unwrap().args(args).output().unwrap()
}

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

fn json(args: &[&str]) -> Value {
    let output = program(args);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
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
    let batch = series["batches"].as_array().unwrap().iter().find(|batch| batch["lamination"] == "back").unwrap();
    assert_eq!((batch["strips"].as_u64(), batch["files"].as_array().unwrap().len()), (Some(6), 1));
    // The core is the same in all of them, so that its strips go through together.
    let cores: Vec<&Value> = series["batches"].as_array().unwrap().iter().filter(|batch| batch["lamination"] == "core").collect();
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
