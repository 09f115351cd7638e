//! A log of several bows keeps them apart: what is read of one says nothing of another, but for what finished bows make of the wood. Bows
//! of several weights are held against their own build files.

mod support;

use assert_cmd::Command;
use serde_json::{Value, json};
use support::logs::log_text;
use taperwright::job::{Inputs, Job, Named};
use taperwright::logbook::{self, LogUnread};
use tempfile::TempDir;

/// What the shop has: the sled and scrap.
const SHOP: [&str; 2] = [
    "of = \"sled\"\nlamination = \"core\"\nheights = [[0.75, 1.238], [4, 1.239], [12, 1.2515], [20, 1.266], [28, 1.285], [35, 1.2955]]",
    "of = \"test strip\"\nlamination = \"core\"\ngauge = 0.24\napart = 1.5\nreadings = [[2, 0.2437, 0.243], [10, 0.2439, 0.2431]]",
];
/// Two bows, each read in its own way.
const BOWS: [[&str; 7]; 2] = [
    [
        "of = \"done\"\nlamination = \"core\"\npass = 4",
        "of = \"strip\"\nlamination = \"core\"\nstrip = \"A\"\nafter = 5\nreadings = [[3, 0.2385], [18, 0.2383], [33, 0.2384]]",
        "of = \"bend\"\nlamination = \"back\"\nspan = 24\nweight = \"4 lbf\"\nsag = [0.40, 0.405, 0.40]\nwidth = 2.125\nthickness = 0.22",
        "of = \"release\"\nstage = 1\ntip = 1.78",
        "of = \"blank\"\nhow = \"braced\"\nbrace = 5\ndraw = 24\nweight = \"34 lbf\"",
        "of = \"tiller\"\ngaps = [[12, 7.25, 7.5], [20, 5.75, 6], [28, 3.75, 3.9]]",
        "of = \"shot\"\nspeed = [137, 138]\narrow = 400",
    ],
    [
        "of = \"done\"\nlamination = \"core\"\npass = 2",
        "of = \"strip\"\nlamination = \"core\"\nstrip = \"A\"\nafter = 5\nreadings = [[3, 0.2388], [18, 0.2386], [33, 0.2387]]",
        "of = \"bend\"\nlamination = \"back\"\nspan = 24\nweight = \"4 lbf\"\nsag = [0.45, 0.455, 0.45]\nwidth = 2.125\nthickness = 0.22",
        "of = \"release\"\nstage = 1\ntip = 2.2",
        "of = \"blank\"\nhow = \"braced\"\nbrace = 5\ndraw = 24\nweight = \"37 lbf\"",
        "of = \"tiller\"\ngaps = [[12, 7.5, 7.25], [20, 6, 5.75], [28, 3.9, 3.75]]",
        "of = \"shot\"\nspeed = [133, 134]\narrow = 400",
    ],
];

fn meadow() -> String {
    let text = std::fs::read_to_string("examples/meadow.toml").unwrap();
    text.replacen("\n[sizing]", "\n[series]\nbows = [\"40 lbf\", [\"45 lbf\", 2]]\n\n[sizing]", 1)
}

/// What a log says, as it is published; its faults otherwise.
fn told(readings: &[String], named: &Named) -> Result<Value, Vec<String>> {
    let job = Job::read("meadow.toml", &meadow(), Inputs::default()).unwrap();
    match logbook::read(&job, None, "log.toml", &log_text(readings), named) {
        Ok(read) => Ok(json!(logbook::published(&job, &read.answers))),
        Err(LogUnread::Log { faults, .. } | LogUnread::Build(faults)) => Err(faults.iter().map(ToString::to_string).collect()),
    }
}

fn answers(readings: &[String]) -> Value {
    told(readings, &Named::default()).unwrap()
}

fn of(serial: &str, reading: &str) -> String {
    if serial.is_empty() { reading.to_owned() } else { format!("{reading}\nserial = \"{serial}\"") }
}

/// Answers without the number of the bow.
fn unnamed(answer: &Value) -> Value {
    let mut answer = answer.clone();
    answer.as_object_mut().unwrap().remove("serial");
    answer
}

fn of_bow(told: &Value, serial: &str) -> Vec<Value> {
    let all = told["answers"].as_array().unwrap().iter();
    all.filter(|answer| answer["serial"].as_str() == Some(serial)).map(unnamed).collect()
}

/// Strips of one bow set the passes of another, its wood the other's blank, its tiller the other's round.
#[test]
fn what_is_read_of_one_bow_says_nothing_of_another() {
    let shop = || SHOP.iter().map(|reading| (*reading).to_owned());
    let mixed: Vec<String> = shop().chain((0..7).flat_map(|k| [of("3", BOWS[0][k]), of("4", BOWS[1][k])])).collect();
    let mixed = answers(&mixed);
    for (bow, serial) in [(0, "3"), (1, "4")] {
        // A log of this bow alone, which names no bow at all.
        let alone = answers(&shop().chain(BOWS[bow].iter().map(|reading| of("", reading))).collect::<Vec<_>>());
        assert_eq!(of_bow(&mixed, serial), alone["answers"].as_array().unwrap()[2..].iter().map(unnamed).collect::<Vec<_>>());
        let left = |told: &Value, serial: Option<&str>| {
            let core = told["left"].as_array().unwrap().iter();
            let mut core = core.filter(|left| left["serial"].as_str() == serial && left["lamination"] == "core");
            unnamed(core.next().unwrap())
        };
        assert_eq!(left(&mixed, Some(serial)), left(&alone, None));
    }
    // And the two are not alike to begin with.
    let (three, four) = (of_bow(&mixed, "3"), of_bow(&mixed, "4"));
    assert!(three.iter().zip(&four).all(|(three, four)| three != four));
    let asked = |answer: &Value| answer["questions"].as_array().unwrap().clone();
    assert_eq!(mixed["answers"].as_array().unwrap().iter().flat_map(asked).collect::<Vec<_>>(), Vec::<Value>::new());
}

/// A later reading changes no earlier answer here either, and a log whose readings stand bow by bow says of each the same.
#[test]
fn a_log_of_several_bows_is_a_fold() {
    let readings: Vec<String> = SHOP
        .iter()
        .map(|reading| (*reading).to_owned())
        .chain((0..3).flat_map(|k| [of("3", BOWS[0][k]), of("4", BOWS[1][k])]))
        .chain([of("3", "of = \"bow\"\nweight = \"39 lbf\""), of("4", BOWS[1][4]), of("4", "of = \"bow\"\nweight = \"40 lbf\"")])
        .collect();
    let whole = answers(&readings);
    for until in 1..readings.len() {
        let first = answers(&readings[..until]);
        assert_eq!(first["answers"].as_array().unwrap()[..], whole["answers"].as_array().unwrap()[..until], "the first {until}");
    }
}

#[test]
fn finished_bows_tell_of_the_next() {
    let blank = "of = \"blank\"\nhow = \"braced\"\nbrace = 5\ndraw = 24\nweight = \"34 lbf\"";
    let model = |readings: &[String]| {
        let told = answers(readings);
        let rows = told["answers"].as_array().unwrap().last().unwrap()["rows"].as_array().unwrap().clone();
        rows.iter().find(|row| row["unit"] == "ratio").unwrap()["model"].as_f64().unwrap()
    };
    assert_eq!(model(&[of("2", blank)]), 1.0);
    let weighed = |serial: &str, pounds: f64| of(serial, &format!("of = \"bow\"\nweight = \"{pounds} lbf\""));
    let one = model(&[weighed("1", 36.0), of("2", blank)]);
    assert!((0.85..0.95).contains(&one), "{one}");
    // Weighed again, it is still one bow, and its last weighing holds.
    let again = model(&[weighed("1", 43.0), weighed("1", 36.0), of("2", blank)]);
    assert_eq!(again, one);
    // What a bow weighs itself is no news to it, and bows without a number stay as they were.
    assert_eq!(model(&[weighed("2", 36.0), of("2", blank)]), 1.0);
    assert_eq!(model(&[weighed("1", 36.0), of("", blank)]), 1.0);
}

/// The zero of the machine is every bow's: scrap that one bow's log entry brought sets the gaps of those that follow, under the same paper.
#[test]
fn all_bows_hear_of_the_machine() {
    let tick = "of = \"done\"\nlamination = \"core\"\npass = 1";
    let gaps = |readings: &[String], serial: Option<&str>| {
        let told = answers(readings);
        let left = told["left"].as_array().unwrap().iter();
        let mut left = left.filter(|left| left["serial"].as_str() == serial && left["lamination"] == "core");
        left.next().unwrap()["passes"].clone()
    };
    let [sled, scrap] = SHOP.map(str::to_owned);
    let alone = gaps(&[sled.clone(), scrap.clone(), of("", tick)], None);
    // Begun before and after the machine was read.
    assert_eq!(gaps(&[sled.clone(), scrap.clone(), of("4", tick)], Some("4")), alone);
    assert_ne!(gaps(&[of("4", tick)], Some("4")), alone);
    let late = gaps(&[of("4", tick), sled.clone(), scrap.clone()], Some("4"));
    assert_eq!(late, gaps(&[of("", tick), sled.clone(), scrap.clone()], None));
    // An older scrap gives way to a newer one, for bows to come as for those there are.
    let older = scrap.replace("0.2437, 0.243", "0.2467, 0.246").replace("0.2439, 0.2431", "0.2469, 0.2461");
    assert_eq!(gaps(&[sled.clone(), older, scrap.clone(), of("4", tick)], Some("4")), alone);
    // Passes that were made with one bow's strips are not made with another's.
    let made = answers(&[sled, format!("{scrap}\nafter = 3\nserial = 3"), of("4", tick)]);
    assert_eq!(made["left"].as_array().unwrap().iter().find(|left| left["serial"] == "4").unwrap()["made"], 1);
}

/// Build files of two weights, as `series` writes them.
fn weights() -> Named {
    let series = Job::read("meadow.toml", &meadow(), Inputs::default()).unwrap().series().unwrap().unwrap();
    let mut named = Named::default();
    for bow in &series.bows {
        named.add(format!("first/{}", bow.file_name("meadow")), Ok(bow.job.text().to_owned()));
    }
    named.add("first/heron.toml", Ok(std::fs::read_to_string("examples/heron.toml").unwrap()));
    named
}

#[test]
fn each_bow_of_a_series_is_held_against_its_own_build_file() {
    let named = weights();
    let series = Job::read("meadow.toml", &meadow(), Inputs::default()).unwrap().series().unwrap().unwrap();
    let built =
        |serial: &str, pounds: u32, reading: &str| format!("{}\nbuild = \"first/meadow-{pounds}-lbf.toml\"", of(serial, reading));
    let blank = "of = \"blank\"\nhow = \"braced\"\nbrace = 5\ndraw = 24\nweight = \"34 lbf\"";
    let readings = [
        built("12", 40, blank),
        built("13", 45, blank),
        // Said once.
        of("13", "of = \"bow\"\nweight = \"43 lbf\"\nfinishing = \"2 lbf\"\nbelly_off = 0\nwidth = \"outline\""),
        built("14", 40, "of = \"bow\"\nweight = \"38.5 lbf\"\nmass = \"19.5 oz\"\nbatch = \"March\"\ntemperature = \"32 C\""),
    ];
    let told = told(&readings, &named).unwrap();
    let rows = |k: usize, unit: &str| {
        let rows = told["answers"][k]["rows"].as_array().unwrap();
        rows.iter().find(|row| row["unit"] == unit).unwrap()["model"].as_f64().unwrap()
    };
    assert!(1.08 * rows(0, "N") < rows(1, "N"), "the heavier bow's blank is the heavier one: {told:#}");
    let bows = told["bows"]["bows"].as_array().unwrap();
    assert_eq!(bows.iter().map(|bow| bow["serial"].as_str().unwrap()).collect::<Vec<_>>(), ["13", "14"]);
    for (bow, (weight, finishing, read)) in bows.iter().zip([(45.0, 2.0, 43.0), (40.0, 3.0, 38.5)]) {
        const LBF: f64 = 4.448_221_615_260_5;
        assert!((bow["wanted_n"].as_f64().unwrap() / LBF - weight).abs() < 1e-6);
        let of = series.bows.iter().find(|bow| (bow.wanted.draw_weight_n / LBF - weight).abs() < 1e-6).unwrap();
        let factor = (read + finishing) * LBF / of.job.force_curve().unwrap().at_full_draw().force_n;
        assert!((bow["factor"].as_f64().unwrap() - factor).abs() < 2e-4, "{bow} {factor}");
    }
    assert_eq!((bows[1]["batch"].as_str(), bows[1]["temperature_c"].as_f64()), (Some("March"), Some(32.0)));
    assert!((bows[1]["mass_kg"].as_f64().unwrap() - 19.5 * 0.028_349_523).abs() < 1e-6);
    let next = told["bows"]["next"].as_array().unwrap();
    assert_eq!(
        next.iter().map(|next| next["build_file"].as_str().unwrap()).collect::<Vec<_>>(),
        ["first/meadow-40-lbf.toml", "first/meadow-45-lbf.toml"]
    );
}

#[test]
fn what_cannot_be_one_bow_is_asked_about() {
    let named = weights();
    let fault = |reading: &str| told(&[reading.to_owned()], &named).unwrap_err().join("\n");
    assert!(fault(&format!("{}\nserial = 3", SHOP[0])).contains("is the shop's"));
    assert!(fault("of = \"release\"\nstage = 1\ntip = 1.78\nbuild = \"first/meadow-40-lbf.toml\"").contains("which bow"));
    assert!(fault(&of(&"x".repeat(41), BOWS[0][0])).contains("longer than 40"));
    assert!(fault(&of(" ", BOWS[0][0])).contains("empty"));
    assert!(
        fault("of = \"strip\"\nlamination = \"core\"\nafter = 5\nreadings = [[3, 0.2385]]\nbatch = \"March\"").contains("batch")
    );
    let asked = |readings: &[String]| {
        let told = told(readings, &named).unwrap();
        told["answers"].as_array().unwrap().last().unwrap()["questions"]
            .as_array()
            .unwrap()
            .iter()
            .map(ToString::to_string)
            .collect::<String>()
    };
    let weighed =
        |serial: &str, build: &str| format!("of = \"bow\"\nserial = \"{serial}\"\nbuild = \"{build}\"\nweight = \"40 lbf\"");
    let (forty, heavier) = ("first/meadow-40-lbf.toml", "first/meadow-45-lbf.toml");
    assert!(asked(&[weighed("1", forty), weighed("1", heavier)]).contains("was begun by"));
    assert!(asked(&[of("1", BOWS[0][0]), weighed("1", forty)]).contains("was begun by this build file"));
    // A bow of another kind counts by its weight, and for nothing else.
    assert_eq!(asked(&[weighed("1", "first/heron.toml")]), "");
    assert!(
        asked(&[format!("{}\nbuild = \"first/heron.toml\"", of("1", BOWS[0][0]))])
            .contains("could not be read as another weight")
    );
    assert!(
        asked(&[format!("{}\nbuild = \"first/none.toml\"", of("1", BOWS[0][0]))]).contains("could not be read as another weight")
    );
    assert!(asked(&[weighed("1", "first/heron.toml"), of("1", BOWS[0][4])]).contains("could not be read as another weight"));
    // What is not used leaves no bow behind.
    let told = told(&[weighed("7", "first/none.toml")], &named).unwrap();
    assert!(told.get("bows").is_none() && told["left"].as_array().unwrap().iter().all(|left| left.get("serial").is_none()));
}

/// The factor that is said where a bow is spoken of is the bow's own, as the table over all bows has it; the mean is called one. A weight of which a
/// bow is in work is among those that the next bow may be of.
#[test]
fn a_bows_factor_is_its_own_and_bows_in_work_have_their_weight() {
    let named = weights();
    let built = |serial: &str, pounds: u32, of: &str| {
        format!("of = {of}\nserial = \"{serial}\"\nbuild = \"first/meadow-{pounds}-lbf.toml\"")
    };
    let weighed = |weight: f64| format!("\"bow\"\nweight = \"{weight} lbf\"");
    let readings = [
        built("1", 40, &weighed(38.0)),
        built("2", 40, &weighed(43.5)),
        built("3", 40, &weighed(41.0)),
        built("4", 45, "\"done\"\nlamination = \"core\"\npass = 2"),
    ];
    let told = told(&readings, &named).unwrap();
    for (answer, row) in told["answers"].as_array().unwrap().iter().zip(told["bows"]["bows"].as_array().unwrap()) {
        let rows = answer["rows"].as_array().unwrap();
        let own = rows.iter().find(|row| row["unit"] == "ratio").unwrap()["reading"].as_f64().unwrap();
        assert!((own - row["factor"].as_f64().unwrap()).abs() < 1e-9, "bow {}: {own} and {row}", row["serial"]);
    }
    let mean = told["bows"]["factor"].as_f64().unwrap();
    let says = told["answers"][2]["says"].to_string();
    assert!(says.contains(&format!("{mean:.3} times the handbook's in the mean")), "{mean}: {says}");
    let next = told["bows"]["next"].as_array().unwrap();
    let heavier = next.iter().find(|next| next["build_file"] == "first/meadow-45-lbf.toml").expect("bow 4 is in work");
    assert!((heavier["wanted_n"].as_f64().unwrap() / 4.448_221_615_260_5 - 45.0).abs() < 1e-6);
}

/// Bare degrees are the file's: °F in inches, °C in millimetres. A form in the frost is a number of the other scale.
#[test]
fn a_temperature_without_a_unit_is_in_the_files_degrees() {
    let weighed = |degrees: &str| format!("of = \"bow\"\nserial = \"1\"\nweight = \"40 lbf\"\ntemperature = {degrees}");
    let celsius = |degrees: &str| answers(&[weighed(degrees)])["bows"]["bows"][0]["temperature_c"].as_f64().unwrap();
    let same = ["70", "\"70 F\"", "\"70 degF\"", "\"70 °F\"", "\"21.111111 C\""].map(celsius);
    assert!(same.iter().all(|c| (c - 21.111_111).abs() < 1e-5), "{same:?}");
    let asked = told(&[weighed("21")], &Named::default()).unwrap_err().join("\n");
    assert!(asked.contains("at least 32 F"), "{asked}");
    assert_eq!(celsius("\"21 C\""), 21.0);
    // Said as it was written.
    let job = Job::read("meadow.toml", &meadow(), Inputs::default()).unwrap();
    let read = logbook::read(&job, None, "log.toml", &log_text(&[weighed("95")]), &Named::default()).unwrap();
    let shown = logbook::show::text(&job, &read.answers, "log.toml", logbook::show::ReadingsShown::All);
    assert!(shown.contains("95 °F") && !shown.contains("°C"), "{shown}");
}

/// From the first series through its log to the second, at the terminal: the files of the second say by themselves what they will draw.
#[test]
fn the_second_series_reckons_with_the_log() {
    let folder = TempDir::new().unwrap();
    let run = |args: &[&str]| Command::cargo_bin("taperwright").unwrap().current_dir(&folder).args(args).output().unwrap();
    let json = |args: &[&str]| -> Value {
        let output = run(args);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        serde_json::from_slice(&output.stdout).unwrap()
    };
    std::fs::write(folder.path().join("meadow.toml"), meadow()).unwrap();
    let first = json(&["series", "meadow.toml", "--write", "first", "--json"]);
    assert!(first.get("learnt").is_none());
    // Wood that is 12 percent softer than the handbook's.
    for (serial, row) in first["bows"].as_array().unwrap().iter().enumerate() {
        let build = format!("build=first/{}", row["file"].as_str().unwrap());
        let weight = format!("weight={} N", 0.88 * row["weight_n"].as_f64().unwrap());
        let serial = format!("serial={}", serial + 1);
        let added = run(&["log", "add", "meadow.toml", "log.toml", "bow", &serial, &build, &weight, "finishing=0"]);
        assert!(added.status.success(), "{}", String::from_utf8_lossy(&added.stderr));
    }
    let second = json(&["series", "meadow.toml", "log.toml", "--write", "second", "--json"]);
    assert!((second["learnt"]["next_factor"].as_f64().unwrap() - 0.88).abs() < 1e-3);
    for (row, old) in second["bows"].as_array().unwrap().iter().zip(first["bows"].as_array().unwrap()) {
        let (file, wanted) = (row["file"].as_str().unwrap(), row["wanted_n"].as_f64().unwrap());
        assert!((row["weight_n"].as_f64().unwrap() / wanted - 1.0).abs() < 0.01, "{row}");
        assert_eq!(json(&["bow", &format!("second/{file}"), "--json"])["draw_weight_n"], row["weight_n"]);
        // Of this softer wood the first one's stack would miss it.
        let thickness = |row: &Value| row["thickness_mm"][0].as_f64().unwrap();
        assert!(thickness(old) + 0.1 < thickness(row));
        let text = std::fs::read_to_string(folder.path().join("second").join(file)).unwrap();
        assert_eq!(text.matches("[learnt]").count(), 1, "{text}");
    }
    // Once more: the table gives way to what is known by then.
    std::fs::copy(folder.path().join("second/meadow-40-lbf.toml"), folder.path().join("again.toml")).unwrap();
    let again = json(&["series", "again.toml", "log.toml", "--write", "third", "--json"]);
    assert_eq!(again["bows"][0]["thickness_mm"], second["bows"][0]["thickness_mm"]);
    // The card of one bow holds its readings and no other's.
    let card = String::from_utf8(run(&["log", "meadow.toml", "log.toml", "--serial", "2"]).stdout).unwrap();
    assert!(card.contains("bow 2, made by first/meadow-45-lbf.toml") && !card.contains("meadow-40-lbf"), "{card}");
    let card = json(&["log", "meadow.toml", "log.toml", "--serial", "2", "--json"]);
    assert_eq!(card["answers"].as_array().unwrap().iter().map(|answer| &answer["serial"]).collect::<Vec<_>>(), ["2"]);
    let none = run(&["log", "meadow.toml", "log.toml", "--serial", "3"]);
    assert_eq!(none.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&none.stderr).contains("it has 1, 2"));
    let shown = String::from_utf8(run(&["log", "meadow.toml", "log.toml"]).stdout).unwrap();
    for words in ["All finished bows", "From 2 bows", "What another bow will draw", "bow 2: first/meadow-45-lbf.toml"] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
}

/// What is written under `[learnt]` is held to what a shop can learn.
#[test]
fn what_was_learnt_is_checked() {
    let read = |table: &str| {
        let text = format!("{}\n[learnt]\n{table}\n", meadow());
        Job::read("meadow.toml", &text, Inputs::default()).map(|job| job.calibrated().unwrap())
    };
    let learnt = read("stiffness = 0.93\nspread = 0.04\nbows = 5").unwrap();
    assert_eq!((learnt.factor, learnt.spread, learnt.bows), (0.93, Some(0.04), 5));
    assert_eq!(read("stiffness = 2\nbows = 1").unwrap().spread, None);
    // A bow of such a file is held against what was learnt.
    let text = format!("{}\n[learnt]\nstiffness = 0.93\nbows = 5\n", meadow());
    let job = Job::read("meadow.toml", &text, Inputs::default()).unwrap();
    let log = log_text(&[of("", "of = \"bow\"\nweight = \"37 lbf\"")]);
    let told = json!(logbook::published(&job, &logbook::read(&job, None, "log.toml", &log, &Named::default()).unwrap().answers));
    let rows = told["answers"][0]["rows"].as_array().unwrap();
    assert_eq!(rows.iter().find(|row| row["unit"] == "ratio").unwrap()["model"], 0.93);
    for bad in [
        "stiffness = 2.01\nbows = 1",
        "stiffness = 0.49\nbows = 1",
        "stiffness = 1",
        "stiffness = 1\nbows = 0",
        "bows = 3",
        "stiffness = 1\nbows = 2\nspread = 0.51",
    ] {
        assert!(read(bad).is_err(), "{bad}");
    }
}
