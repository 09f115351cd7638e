//! What the log says, carried out or asked of another command: slips that lie near what is right, steps that are followed, a build file that took its
//! readings, figures that two commands show.

mod support;

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;
use support::logs::log_text;
use taperwright::buildfile;
use taperwright::mechanics::blank::force_n;
use taperwright::mechanics::bow::Options;
use taperwright::mechanics::{draw, glueup};
use taperwright::model::Build;
use taperwright::model::log::BlankBending;
use taperwright::shop::blank::Stand;
use tempfile::TempDir;

const LBF: f64 = 4.448_221_615_260_5;

struct Shop {
    folder: TempDir,
}

impl Shop {
    /// An example as `bow.toml`, and a log of these readings, whose bare numbers are in inches.
    fn of(example: &str, readings: &[&str]) -> Shop {
        let shop = Shop { folder: TempDir::new().unwrap() };
        std::fs::copy(Path::new("examples").join(example), shop.path("bow.toml")).unwrap();
        shop.log(readings);
        shop
    }

    fn log(&self, readings: &[&str]) {
        std::fs::write(self.path("log.toml"), log_text(readings)).unwrap();
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().unwrap().to_owned()
    }

    fn run(&self, args: &[&str]) -> std::process::Output {
        Command::cargo_bin("taperwright").unwrap().current_dir(self.folder.path()).arg("-q").args(args).output().unwrap()
    }

    fn json(&self, args: &[&str]) -> Value {
        let run = self.run(args);
        serde_json::from_slice(&run.stdout).unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&run.stderr)))
    }

    fn answers(&self) -> Vec<Value> {
        self.json(&["log", "bow.toml", "log.toml", "--json"])["answers"].as_array().unwrap().clone()
    }

    fn build(&self) -> Build {
        buildfile::read("bow.toml", &std::fs::read_to_string(self.path("bow.toml")).unwrap()).1.unwrap().value
    }
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn says(answer: &Value) -> String {
    answer["says"].as_array().unwrap().iter().map(|say| say.as_str().unwrap()).collect::<Vec<_>>().join(" ")
}

/// The row of an answer whose name begins so.
fn row<'a>(answer: &'a Value, of: &str) -> &'a Value {
    let rows = answer["rows"].as_array().unwrap();
    rows.iter().find(|row| row["what"].as_str().unwrap().starts_with(of)).unwrap_or_else(|| panic!("{of}: {answer}"))
}

/// A slip that a wide band would let pass is asked about, and nothing follows from it; beside it stands what would be right.
#[test]
fn slips_near_what_is_right_are_asked_about() {
    let blank = |weight: &str| format!("of = \"blank\"\nhow = \"braced\"\nbrace = 6.25\ndraw = 20\nweight = \"{weight} lbf\"");
    let release = |tip: &str| format!("of = \"release\"\nstage = 1\ntip = {tip}");
    let tiller = |draw: &str| format!("of = \"tiller\"\n{draw}\ngaps = [[12, 7.3, 7.2], [20, 6.2, 6.1], [28, 4, 3.9]]");
    // Two digits exchanged, a decimal point one place off, a draw that is the brace height.
    for (wrong, right) in
        [(blank("63.1"), blank("36.1")), (release("0.19"), release("1.9")), (tiller("draw = 6.25"), tiller("brace = 6.25"))]
    {
        let asked = &Shop::of("meadow.toml", &[&wrong]).answers()[0];
        assert_eq!(asked["questions"].as_array().unwrap().len(), 1, "{wrong}: {asked}");
        assert!(asked["found"].is_null() && asked["take_over"].as_array().unwrap().is_empty(), "{asked}");
        let taken = &Shop::of("meadow.toml", &[&right]).answers()[0];
        assert!(taken["questions"].as_array().unwrap().is_empty(), "{right}: {taken}");
    }
    // What is drawn less than it is braced, of a blank and of an arrow.
    for none in [
        "of = \"blank\"\nhow = \"braced\"\nbrace = 6.25\ndraw = 7\nweight = \"10 lbf\"",
        "of = \"shot\"\nspeed = [\"60 ft/s\"]\narrow = \"370 gr\"\ndraw = 7.5",
    ] {
        let asked = &Shop::of("meadow.toml", &[none]).answers()[0];
        let question = asked["questions"].as_array().unwrap().first().unwrap_or_else(|| panic!("{asked}"));
        assert!(question.as_str().unwrap().contains("braced it already stands at 8 in"), "{asked}");
    }
    // In the other units, reflex: a tenth of what a form of 40 mm leaves.
    let heron = Shop::of("heron.toml", &[&release("\"-4 mm\"")]).answers();
    assert_eq!(heron[0]["questions"].as_array().unwrap().len(), 1, "{}", heron[0]);
}

/// Of six bows one is written down with its digits exchanged: it is asked about, and the next bow stands on the other five.
#[test]
fn one_weight_written_wrong_spoils_no_other_bow() {
    let bow = |(serial, weight): (usize, &&str)| format!("of = \"bow\"\nserial = {serial}\nweight = \"{weight} lbf\"");
    let written = |weights: &[&str]| -> Vec<Value> {
        let bows: Vec<String> = weights.iter().enumerate().map(bow).collect();
        Shop::of("meadow.toml", &bows.iter().map(String::as_str).collect::<Vec<_>>()).answers()
    };
    let right = written(&["41.5", "42.4", "40.3", "42.1", "43.4", "42.3"]);
    assert!(right.iter().all(|answer| answer["questions"].as_array().unwrap().is_empty()), "{right:#?}");
    let wrong = written(&["41.5", "42.4", "40.3", "42.1", "43.4", "24.3"]);
    assert_eq!(wrong[5]["questions"].as_array().unwrap().len(), 1, "{}", wrong[5]);
    assert!(wrong[5]["found"].is_null());
    // What it asks with is what the table would have had.
    let expected = number(&row(&right[5], "weight at full draw")["model"]) / LBF;
    let question = wrong[5]["questions"][0].as_str().unwrap();
    assert!(question.contains(&format!("{expected:.1} lbf was expected")), "{question}");
}

/// What is said to stand below stands below, in the log as in what is added to it.
#[test]
fn passes_restated_by_scrap_are_shown() {
    let scrap = "of = \"test strip\"\nlamination = \"core\"\ngauge = 0.24\napart = 1.5\nreadings = [[2, 0.246, 0.2461], [10, 0.2459, 0.246], [18, 0.2461, 0.246]]";
    let shop = Shop::of("meadow.toml", &[scrap]);
    let text = String::from_utf8(shop.run(&["log", "bow.toml", "log.toml"]).stdout).unwrap();
    assert!(text.contains("restated below"), "{text}");
    let table = text.split("core: what is left").nth(1).unwrap_or_else(|| panic!("no table: {text}"));
    let told = shop.json(&["log", "bow.toml", "log.toml", "--json"]);
    let left = told["left"].as_array().unwrap().iter().find(|left| left["lamination"] == "core").unwrap();
    let passes = left["passes"].as_array().unwrap();
    let rows: Vec<&str> = table.lines().filter(|line| line.contains("  P")).collect();
    assert_eq!(rows.len(), passes.len(), "{table}");
    for (row, pass) in rows.iter().zip(passes) {
        assert!(row.contains(&format!("{:.3}", number(&pass["gap_mm"]) / 25.4)), "{row}: {pass}");
    }
}

/// A blank that draws what the model says is no news: its stiffness is the handbook's, and trimmed it draws what `bow` draws.
#[test]
fn a_blank_as_computed_differs_by_nothing() {
    let shop = Shop::of("meadow.toml", &[]);
    let build = shop.build();
    let options = Options { unstrung: glueup::plan(&build).unwrap().value.unstrung, ..Options::default() };
    let bare = Stand { width: Some(&taperwright::model::log::BlankWidth::Strips), belly_off_mm: 0.0 }.of(&build).unwrap();
    for hidden in [1.0, 1.1] {
        let stiff = Options { stiffness_factor: hidden, ..options.clone() };
        let weight_n = force_n(&bare, &stiff, BlankBending::Floor { drop_mm: 50.8 }).unwrap();
        shop.log(&[&format!("of = \"blank\"\nhow = \"floor\"\ndrop = 2\nweight = \"{weight_n:.6} N\"")]);
        let answer = &shop.answers()[0];
        let trimmed = row(answer, "weight once trimmed");
        let drawn_n = number(&shop.json(&["bow", "bow.toml", "--json"])["draw_weight_n"]);
        assert!((number(&trimmed["model"]) - drawn_n).abs() < 2e-3 * drawn_n, "{trimmed}: {drawn_n}");
        assert!((number(&trimmed["reading"]) / number(&trimmed["model"]) - hidden).abs() < 1e-3, "{trimmed}");
    }
}

/// Who takes the first step and logs it as it says is answered as before: the wood is as stiff as it was, and the bow as heavy as was promised.
#[test]
fn a_step_is_logged_as_it_says() {
    let shop = Shop::of("meadow.toml", &[]);
    let build = shop.build();
    let options = Options { unstrung: glueup::plan(&build).unwrap().value.unstrung, stiffness_factor: 1.2, ..Options::default() };
    let braced = BlankBending::Braced { brace_mm: 6.25 * 25.4, pivot_to_nock_mm: 18.25 * 25.4 };
    let reading = |bow: &Build, more: &str| {
        let weight_n = force_n(bow, &options, braced).unwrap();
        format!("of = \"blank\"\nhow = \"braced\"\nbrace = 6.25\ndraw = 20\nweight = \"{weight_n:.6} N\"\n{more}")
    };
    let first = reading(&build, "width = \"outline\"");
    shop.log(&[&first]);
    let answer = shop.answers().remove(0);
    let step = &answer["found"]["steps"][0];
    assert_eq!(step["lever"], "belly");
    let off_mm = number(&step["belly_off_mm"]);
    let words = says(&answer);
    let said = words.split("`belly_off` = ").nth(1).and_then(|rest| rest.split(' ').next()).unwrap_or_else(|| panic!("{words}"));
    assert!((said.parse::<f64>().unwrap() * 25.4 - off_mm).abs() < 2e-3, "{said} in is not {off_mm} mm");
    // The belly is planed by the stations of the table, not by the rule that made it.
    let mut planed = build.clone();
    let belly = planed.laminations.last_mut().unwrap();
    let mut table: Vec<(f64, f64)> = vec![(0.0, 0.0)];
    table.extend(step["take_mm"].as_array().unwrap().iter().map(|row| (number(&row[0]), number(&row[1]))));
    table.push((2000.0, table[table.len() - 1].1));
    let table = taperwright::numeric::interp::Curve::through(table, taperwright::numeric::interp::Between::Straight).unwrap();
    let (from, to) = (belly.from_mm, belly.to_mm);
    let points = (0..=300).map(|k| from + (to - from) * f64::from(k) / 300.0);
    let thinner = points.map(|s| (s, belly.finished.at(s) - table.at(s))).collect();
    belly.finished = taperwright::model::taper::Taper::ground(thinner).unwrap();
    let promised_n = number(&step["to_n"]);
    assert!((draw::weight_of(&planed, &options).unwrap() / promised_n - 1.0).abs() < 0.01);
    // As it says, and as who forgets it.
    let second = reading(&planed, &format!("width = \"outline\"\nbelly_off = {said}"));
    shop.log(&[&first, &second]);
    let told = shop.answers().remove(1);
    let factor = |answer: &Value| number(&answer["found"]["stiffness_factor"]);
    assert!((factor(&told) / 1.2 - 1.0).abs() < 0.01, "{told}");
    shop.log(&[&first, &reading(&planed, "")]);
    let forgot = shop.answers().remove(1);
    assert!(says(&forgot).contains("`belly_off` says how much is off by now"), "{forgot}");
}

/// The build file that took the strips as they came out goes with the log that told them.
#[test]
fn a_log_goes_with_the_build_file_that_took_it() {
    let strip = |name: &str| {
        format!(
            "of = \"strip\"\nlamination = \"core\"\nstrip = \"{name}\"\nafter = 18\nreadings = [[4, 0.196], [12, 0.1815], [20, 0.1655], [28, 0.1495], [36, 0.1335]]"
        )
    };
    let readings =
        [strip("A"), strip("B"), "of = \"blank\"\nhow = \"braced\"\nbrace = 6.25\ndraw = 20\nweight = \"35.1 lbf\"".into()];
    let shop = Shop::of("meadow.toml", &readings.iter().map(String::as_str).collect::<Vec<_>>());
    let before = shop.run(&["log", "bow.toml", "log.toml", "--write", "new.toml"]);
    assert!(before.status.success(), "{}", String::from_utf8_lossy(&before.stderr));
    let after = shop.run(&["log", "new.toml", "log.toml"]);
    assert!(after.status.success(), "{}", String::from_utf8_lossy(&after.stderr));
    let text = String::from_utf8(after.stdout).unwrap();
    assert!(text.contains("holds this lamination as measured"), "{text}");
}

/// Draws are said as they are written: the one that would tell most, entered as it stands there, is that draw.
#[test]
fn a_draw_that_is_asked_for_can_be_entered() {
    // Off by somewhat more than is read, and explained by more than one stretch.
    let gaps = |off: f64| {
        format!(
            "[[12, {:.3}, {:.3}], [20, {:.3}, {:.3}], [28, {:.3}, 3.807]]",
            7.368 - off,
            7.168,
            6.277 - off,
            6.027,
            4.002 - 0.5 * off
        )
    };
    let unclear = (1..40).map(|k| format!("of = \"tiller\"\nreads_to = 0.05\ngaps = {}", gaps(0.01 * f64::from(k))));
    let told = |read: &String| says(&Shop::of("meadow.toml", &[read]).answers()[0]);
    let (read, words) = unclear
        .map(|read| (told(&read), read))
        .find(|(words, _)| words.contains("at `draw`"))
        .map(|(words, read)| (read, words))
        .unwrap();
    let shop = Shop::of("meadow.toml", &[]);
    let at = words.split("the same stations at `draw` = ").nth(1).unwrap_or_else(|| panic!("{words}"));
    let draw = at.split(' ').next().unwrap();
    shop.log(&[
        &read,
        &format!("of = \"tiller\"\ndraw = {draw}\nreads_to = 0.1\ngaps = [[12, 9, 8.8], [20, 9, 8.8], [28, 8, 7.8]]"),
    ]);
    let second = &shop.answers()[1];
    assert!(second["about"].as_str().unwrap().ends_with(&format!("drawn to {draw} in")), "{second}");
}

/// A loss that is written into the build file is known as well as it was from the log, and no better.
#[test]
fn a_loss_keeps_its_band_in_the_build_file() {
    let shop = Shop::of("meadow.toml", &["of = \"shot\"\nspeed = [\"158 ft/s\"]\narrow = \"370 gr\""]);
    let read = shop.json(&["shot", "bow.toml", "--log", "log.toml", "--json"]);
    assert!(shop.run(&["log", "bow.toml", "log.toml", "--write", "new.toml"]).status.success());
    let written = shop.json(&["shot", "new.toml", "--json"]);
    for (of, by) in [("loss", 1e-3), ("loss_band", 2e-3)] {
        let near = |a: &Value, b: &Value| (number(a) - number(b)).abs() <= by;
        let alike = match (&read[of], &written[of]) {
            (Value::Array(a), Value::Array(b)) => a.iter().zip(b).all(|(a, b)| near(a, b)),
            (a, b) => near(a, b),
        };
        assert!(alike, "{of}: {} is not {}", read[of], written[of]);
    }
    // An arrow that leaves quicker than it could tells of no loss, and none is written.
    shop.log(&["of = \"shot\"\nspeed = [\"166 ft/s\"]\narrow = \"370 gr\""]);
    let answer = &shop.answers()[0];
    assert!(says(answer).contains("quicker than this bow could") && answer["found"].is_null(), "{answer}");
    assert!(answer["take_over"].as_array().unwrap().is_empty(), "{answer}");
    // As quick as it could be, as far as a chronograph tells: a loss of nothing at the least.
    shop.log(&["of = \"shot\"\nspeed = [\"163 ft/s\"]\narrow = \"370 gr\""]);
    let answer = &shop.answers()[0];
    let [least, most] = [0, 1].map(|end| number(&answer["found"]["loss_band"][end]));
    assert!(least == 0.0 && 0.0 < most && number(&answer["found"]["loss"]) < 0.01, "{answer}");
}
