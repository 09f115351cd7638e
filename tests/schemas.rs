//! What the commands print for programs follows the schemas that the program prints; `tests/peers/answer_schemas.py` judges.

mod peers;

use serde_json::{Map, Value, json};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_owned()
}

/// What a command prints, if it prints JSON.
fn answer(args: &[&str]) -> Option<Value> {
    let run = Command::new(env!("CARGO_BIN_EXE_taperwright")).current_dir(root()).args(args).output().expect("it starts");
    serde_json::from_slice(&run.stdout).ok()
}

/// Readings of the kinds that the example's log has not: each is near enough to the model to be believed.
const OTHER_KINDS: &str = r#"
[[reading]]
date = 2026-10-02
of = "print"
across = 99.2
up = 99.6

[[reading]]
date = 2026-10-02
of = "done"
lamination = "back"
pass = 2

[[reading]]
date = 2026-10-02
of = "bend"
lamination = "core"
strip = "A"
span = 30
weight = "10 lbf"
sag = 1.07
width = 2
thickness = 0.25

[[reading]]
date = 2026-10-03
of = "bow"
weight = "38 lbf"

[[reading]]
date = 2026-10-03
of = "done"
serial = 7
lamination = "back"
pass = 2

[[reading]]
date = 2026-10-03
of = "bow"
serial = 8
weight = "39 lbf"
mass = "20 oz"
batch = "March"
temperature = "30 C"

[[reading]]
date = 2026-10-04
of = "shot"
speed = "150 ft/s"
arrow = "410 gr"
"#;

#[test]
fn every_answer_for_programs_follows_its_schema() {
    let home = tempfile::tempdir().unwrap();
    let log = home.path().join("log.toml");
    let example = fs::read_to_string(root().join("examples/logs/meadow.toml")).unwrap();
    fs::write(&log, format!("{example}\n{OTHER_KINDS}")).unwrap();
    let (log, new) = (log.to_string_lossy().into_owned(), home.path().join("new.toml").to_string_lossy().into_owned());
    let (meadow, heron, strips) = ("examples/meadow.toml", "examples/heron.toml", "examples/strips.toml");
    let files = [meadow, heron, strips];
    let of_each = |command: &[&str]| -> Vec<Value> {
        files.iter().filter_map(|file| answer(&[&[command[0], file], &command[1..], &["--json"]].concat())).collect()
    };
    let logged = answer(&["log", meadow, &log, "--json"]).expect("a log is answered");
    let found = |answer: &Value| (answer["of"].as_str().map(str::to_owned), answer["found"].is_object());
    let told: Vec<_> = logged["answers"].as_array().unwrap().iter().map(found).collect();
    for kind in taperwright::buildfile::log::KINDS {
        assert!(told.contains(&(Some(kind.word.to_owned()), true)), "{} found nothing: {logged:#}", kind.word);
    }
    let reports = ["meadow", "heron", "strips"].map(|name| root().join("output").join(name).join("report.json"));
    let reports: [Value; 3] = reports.map(|path| serde_json::from_slice(&fs::read(path).unwrap()).unwrap());
    let text = fs::read_to_string(root().join(meadow)).unwrap();
    let crowned = text.replacen("nock_to_nock ", "trapped = { by = 0.1 }\ncrown = 0.04\nnock_to_nock ", 1);
    let job = taperwright::job::Job::read("crowned.toml", &crowned, taperwright::job::Inputs::default()).unwrap();
    let crowned = serde_json::to_value(job.report().unwrap()).unwrap();
    assert!(crowned["stack"][0]["across"]["back_mm"].is_number());
    let wren = fs::read_to_string(root().join("examples/more/wren.toml")).unwrap();
    let spliced = wren.replacen("taper     = 0.001\n", "taper = 0.001\nsplice = { at = 11 }\n", 1);
    let job = taperwright::job::Job::read("wren.toml", &spliced, taperwright::job::Inputs::default()).unwrap();
    let cut = serde_json::to_value(job.report().unwrap()).unwrap();
    assert!(cut["riser"]["shelf"]["weakest"]["stress_mpa"].is_number() && cut["riser"]["grip"]["throat_mm"].is_number());
    assert!(cut["overlays"][0]["mass_g"].is_number() && cut["splices"][0]["pieces"][0]["length_mm"].is_number());
    assert!(cut["splices"][0]["lies_over"][0]["from_mm"].is_number() && cut["stack"][0]["back_overlay_mm"].is_number());
    let lapwing = fs::read_to_string(root().join("examples/more/lapwing.toml")).unwrap();
    let job = taperwright::job::Job::read("lapwing.toml", &lapwing, taperwright::job::Inputs::default()).unwrap();
    let short = serde_json::to_value(job.report().unwrap()).unwrap();
    assert!(short["splices"][0]["two_woods"]["outer_mpa"].is_number() && short["meets"][1]["rebate_mm"].is_number());
    assert!(short["bow"]["laminations_move_it"][1]["outer_n_per_percent_modulus"].is_number());
    let plover = fs::read_to_string(root().join("examples/more/plover.toml")).unwrap();
    let job = taperwright::job::Job::read("plover.toml", &plover, taperwright::job::Inputs::default()).unwrap();
    let layered = serde_json::to_value(job.report().unwrap()).unwrap();
    for part in ["layered", "footing", "overlay"] {
        assert!(layered["riser"][part]["mass_g"].is_number(), "{part}");
    }
    let reports = reports.into_iter().chain([crowned, cut, short, layered]).collect();
    let broken = root().join("tests/faults/many-at-once.toml").to_string_lossy().into_owned();
    let series = home.path().join("series.toml");
    fs::write(&series, text.replacen("\n[sizing]", "\n[series]\nbows = [\"35 lbf\", [\"40 lbf\", 2]]\n\n[sizing]", 1)).unwrap();
    let made = home.path().join("made").to_string_lossy().into_owned();
    let of_two = |command: &[&str]| -> Vec<Value> {
        vec![answer(&[&[command[0], meadow, "--lower", meadow, "--json"], &command[1..]].concat()).expect("it is answered")]
    };
    let answers: [(&str, Vec<Value>); 17] = [
        ("report", reports),
        ("report-lower", of_two(&["make", "--out", &made])),
        ("check", [of_each(&["check"]), answer(&["check", &broken, "--json"]).into_iter().collect()].concat()),
        ("passes", of_each(&["passes"])),
        ("sleds", of_each(&["sleds"])),
        ("bow", of_each(&["bow"])),
        ("bow-lower", answer(&["bow", heron, "--lower", heron, "--json"]).into_iter().collect()),
        ("shot", of_each(&["shot"])),
        ("shot-lower", answer(&["shot", heron, "--lower", heron, "--json"]).into_iter().collect()),
        ("glue", of_each(&["glue"])),
        ("glue-lower", of_two(&["glue"])),
        ("size", of_each(&["size"])),
        ("size-lower", [of_two(&["size"]), of_two(&["size", "--square"])].concat()),
        (
            "series",
            [
                answer(&["series", &series.to_string_lossy(), "--json"]),
                answer(&["series", &series.to_string_lossy(), &log, "--json"]),
            ]
            .map(|answer| answer.expect("it is solved"))
            .into(),
        ),
        ("log", vec![logged, answer(&["log", meadow, &log, "--write", &new, "--json"]).expect("it is written")]),
        (
            "rescale",
            [of_each(&["rescale", "--nock-to-nock", "66 in"]), of_each(&["rescale", "--nock-to-nock", "66 in", "--size"])]
                .concat(),
        ),
        (
            "woods",
            [answer(&["woods", "--json"]), answer(&["woods", "robinia", "--moisture", "8", "--json"])]
                .into_iter()
                .flatten()
                .collect(),
        ),
    ];
    let count: usize = answers.iter().map(|(_, answers)| answers.len()).sum();
    let held: Map<String, Value> = answers
        .into_iter()
        .map(|(kind, answers)| {
            let schema = answer(&["schema", kind]).expect("a schema is JSON");
            (kind.to_owned(), json!({ "schema": schema, "answers": answers }))
        })
        .collect();
    let Some(valid) = peers::run("answer_schemas.py", &[], &Value::Object(held).to_string()) else { return };
    assert_eq!(valid.trim(), count.to_string());
    assert!(25 < count, "{count}");
}
