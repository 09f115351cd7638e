//! Two different limbs, each with its own build file: solved together, glued around one riser, and made into one folder. What one command says is
//! tried with another: the new files are drawn as a pair, the hidden thickness is found again, every hint is followed.

use assert_cmd::Command;
use serde_json::Value;
use std::path::Path;
use tempfile::TempDir;

const IN: f64 = 25.4;
const LBF: f64 = 4.448_221_615_260_5;

fn program(args: &[&str]) -> std::process::Output {
    Command::cargo_bin("taperwright").unwrap().args(args).output().unwrap()
}

fn json(args: &[&str]) -> Value {
    let output = program(args);
    assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// Standard error of a run that ends with faults of the build file.
fn refused(args: &[&str]) -> String {
    let output = program(args);
    assert_eq!(output.status.code(), Some(1), "{args:?}: {}", String::from_utf8_lossy(&output.stdout));
    String::from_utf8(output.stderr).unwrap()
}

fn replaced(text: &str, changes: &[(&str, &str)]) -> String {
    changes.iter().fold(text.to_owned(), |text, (was, is)| {
        assert_eq!(text.matches(was).count(), 1, "`{was}` stands there once");
        text.replacen(was, is, 1)
    })
}

fn upper_text() -> String {
    std::fs::read_to_string("examples/meadow.toml").unwrap()
}

/// Two inches shorter.
fn lower_text() -> String {
    replaced(
        &upper_text(),
        &[
            ("nock_to_nock    = 74", "nock_to_nock    = 70"),
            ("[20, 1.75], [37, 0.5]]", "[20, 1.75], [35, 0.5]]"),
            ("[26, 0.090], [37.75, 0.085]]", "[26, 0.090], [35.75, 0.085]]"),
            ("[23, -0.7], [37, -2.1]]", "[23, -0.7], [35, -1.9]]"),
            ("props = 2.5, at = 35", "props = 2.5, at = 33"),
        ],
    )
}

struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new() -> Bench {
        Bench { folder: TempDir::new().unwrap() }
    }

    fn path(&self, name: &str) -> String {
        self.folder.path().join(name).to_str().unwrap().to_owned()
    }

    fn write(&self, name: &str, text: &str) -> String {
        let path = self.path(name);
        std::fs::write(&path, text).unwrap();
        path
    }

    /// Both limbs with their backs so thick, in.
    fn backs(&self, upper_in: f64, lower_in: f64) -> [String; 2] {
        let back = |text: &str, thickness: f64| replaced(text, &[("thickness = 0.170", &format!("thickness = {thickness:.3}"))]);
        [self.write("upper.toml", &back(&upper_text(), upper_in)), self.write("lower.toml", &back(&lower_text(), lower_in))]
    }
}

/// At the fade's end, which both limbs have at the same station.
fn at_the_fade(bow: &Value) -> f64 {
    let gaps = bow["draws"][0]["belly_to_string"].as_array().unwrap();
    let fade = gaps.iter().find(|gap| (gap["station_mm"].as_f64().unwrap() - 11.0 * IN).abs() < 0.01).expect("it is shown");
    fade["difference_mm"].as_f64().unwrap()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

/// Both stacks at once: what `size` says of the new files, `bow --lower` says of them, to the last digit published; and that is what was wanted, but
/// for thousandths of an inch in both backs.
#[test]
fn both_limbs_are_solved_for_weight_and_tiller() {
    let bench = Bench::new();
    let [upper, lower] = bench.backs(0.170, 0.170);
    for how in ["thickness", "taper", "both"] {
        let own = |name: &str, path: &str| {
            let text = std::fs::read_to_string(path).unwrap();
            bench.write(&format!("{how}-{name}.toml"), &replaced(&text, &[("how    = \"thickness\"", &format!("how = \"{how}\""))]))
        };
        let (upper, lower) = (own("upper", &upper), own("lower", &lower));
        let (new_upper, new_lower) = (bench.path(&format!("{how}-new-upper.toml")), bench.path(&format!("{how}-new-lower.toml")));
        let sized =
            json(&["size", &upper, "--lower", &lower, "--write", &new_upper, "--write-lower", &new_lower, "--json"]);
        let bow = json(&["bow", &new_upper, "--lower", &new_lower, "--json"]);
        let after = &sized["balance"][1];
        assert_eq!(after["draw_weight_n"], bow["draw_weight_n"], "{how}");
        assert!((number(&after["tiller_mm"]) - at_the_fade(&bow)).abs() < 2e-3, "{how}: {after} is not {}", at_the_fade(&bow));
        assert_eq!(after["pull_angle_rad"], bow["draws"].as_array().unwrap().last().unwrap()["pull_angle_rad"]);
        // 38 lbf and 3 lbf for finishing; half a thousandth of an inch in both backs is a third of a pound.
        assert!((number(&bow["draw_weight_n"]) / LBF - 41.0).abs() < 0.4, "{how}: {bow:#}");
        assert!((number(&sized["wanted_tiller_mm"]) - 0.1875 * IN).abs() < 0.05);
        assert!((at_the_fade(&bow) - 0.1875 * IN).abs() < 0.7, "{how}: {}", at_the_fade(&bow));
        // It was far off before, so that something was done.
        assert!(10.0 < number(&sized["balance"][0]["tiller_mm"]), "{sized:#}");
        for (limb, path) in [("upper", &upper), ("lower", &lower)] {
            assert_eq!(sized[limb]["build_file"].as_str(), Some(path.as_str()));
            assert!(!sized[limb]["edits"].as_array().unwrap().is_empty(), "{how}: the {limb} limb changes");
            // Tables of both limbs name the weight of their one bow.
            assert_eq!(sized[limb]["bows"][1]["draw_weight_n"].as_f64().map(|n| (n * 1e3).round()), after["draw_weight_n"].as_f64().map(|n| (n * 1e3).round()));
        }
    }
}

/// The loop closed: thicknesses that nobody tells are found again from the weight and the tiller that their bow shows.
#[test]
fn hidden_thicknesses_are_found_again() {
    let bench = Bench::new();
    let (hidden_upper, hidden_lower) = (0.163, 0.149);
    let [upper, lower] = bench.backs(hidden_upper, hidden_lower);
    let shown = json(&["bow", &upper, "--lower", &lower, "--json"]);
    let (weight_n, tiller_mm) = (number(&shown["draw_weight_n"]), at_the_fade(&shown));
    let wish = |text: String| {
        replaced(
            &text,
            &[
                ("draw_weight  = \"38 lbf\"", &format!("draw_weight = \"{weight_n:.4} N\"")),
                ("finishing    = \"3 lbf\"                # kept in hand for sanding, finish and set", &format!("finishing = 0\npositive_tiller = \"{tiller_mm:.4} mm\"")),
            ],
        )
    };
    let (upper, lower) = (bench.write("wish-upper.toml", &wish(upper_text())), bench.write("wish-lower.toml", &wish(lower_text())));
    let (new_upper, new_lower) = (bench.path("found-upper.toml"), bench.path("found-lower.toml"));
    let sized = json(&["size", &upper, "--lower", &lower, "--write", &new_upper, "--write-lower", &new_lower, "--json"]);
    for (limb, hidden_in) in [("upper", hidden_upper), ("lower", hidden_lower)] {
        let back = &sized[limb]["bows"][1]["laminations"][0];
        assert!((number(&back["butt_mm"]) / IN - hidden_in).abs() < 5e-4, "{limb}: {back}");
    }
    // To the last digit that is shown: the files are those that were hidden.
    assert_eq!(json(&["bow", &new_upper, "--lower", &new_lower, "--json"])["draw_weight_n"], shown["draw_weight_n"]);
}

/// `--square`: the hand pulls square off the bow at full draw, whatever the tiller at brace then is.
#[test]
fn a_square_pull_is_had_at_full_draw() {
    let bench = Bench::new();
    let [upper, lower] = bench.backs(0.170, 0.170);
    let (new_upper, new_lower) = (bench.path("new-upper.toml"), bench.path("new-lower.toml"));
    let sized =
        json(&["size", &upper, "--lower", &lower, "--square", "--write", &new_upper, "--write-lower", &new_lower, "--json"]);
    assert!(sized["wanted_tiller_mm"].is_null());
    let bow = json(&["bow", &new_upper, "--lower", &new_lower, "--json"]);
    let pull = number(&bow["draws"].as_array().unwrap().last().unwrap()["pull_angle_rad"]);
    assert!(pull.abs() < 2e-3, "{pull}");
    assert!(0.04 < number(&sized["balance"][0]["pull_angle_rad"]).abs(), "it was off before");
    assert!((number(&bow["draw_weight_n"]) / LBF - 41.0).abs() < 0.4);
}

/// Two files alike and no tiller wanted: the answer is that of one file for both limbs.
#[test]
fn limbs_alike_are_sized_as_one_file_is() {
    let bench = Bench::new();
    let text = replaced(&upper_text(), &[("brace_height = 6.25", "brace_height = 6.25\npositive_tiller = 0")]);
    let (one, other) = (bench.write("one.toml", &text), bench.write("other.toml", &text));
    let both = json(&["size", &one, "--lower", &other, "--json"]);
    let alone = json(&["size", &one, "--json"]);
    for limb in ["upper", "lower"] {
        for (ours, theirs) in both[limb]["bows"].as_array().unwrap().iter().zip(alone["bows"].as_array().unwrap()) {
            assert_eq!(ours["laminations"][0]["butt_mm"], theirs["laminations"][0]["butt_mm"], "{limb}");
            for key in ["draw_weight_n", "stored_j", "string_mm", "draw_weight_spread_n", "limb_kg", "nock_to_nock_mm"] {
                let (a, b) = (number(&ours[key]), number(&theirs[key]));
                assert!((a - b).abs() <= 1e-5 * b.abs(), "{limb} {key}: {a} is not {b}");
            }
        }
    }
}

/// A limb that cannot take its share is named, with what it would have to be; the tiller that its limit leaves, written into the file, is had.
#[test]
fn a_limb_at_its_limit_is_named_and_its_hint_works() {
    let bench = Bench::new();
    let tiller = |text: &str, tiller: &str| replaced(text, &[("brace_height = 6.25", &format!("brace_height = 6.25\npositive_tiller = {tiller}"))]);
    let limited = replaced(&lower_text(), &[("how    = \"thickness\"", "how = \"thickness\"\nlimits = [{ of = \"back\", least = 0.145 }]")]);
    let files = |wanted: &str| [bench.write("up.toml", &tiller(&upper_text(), wanted)), bench.write("low.toml", &tiller(&limited, wanted))];
    let [upper, lower] = files("0.1875");
    let new = [bench.path("new-up.toml"), bench.path("new-low.toml")];
    let args = ["size", &upper, "--lower", &lower, "--write", &new[0], "--write-lower", &new[1], "--json"];
    let said = refused(&args);
    assert!(said.contains("lower limb") && said.contains("low.toml") && said.contains("its `least` under `sizing.limits`"), "{said}");
    assert!(!Path::new(&new[0]).exists() && !Path::new(&new[1]).exists());
    let hint = "positive_tiller = ";
    let at = said.rfind(hint).unwrap_or_else(|| panic!("no tiller is named: {said}")) + hint.len();
    let wanted: String = said[at..].chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
    files(&wanted);
    let sized = json(&args);
    assert!((number(&sized["lower"]["bows"][1]["laminations"][0]["butt_mm"]) / IN - 0.145).abs() < 2e-3, "{sized:#}");
    let bow = json(&["bow", &new[0], "--lower", &new[1], "--json"]);
    assert!((at_the_fade(&bow) / IN - wanted.parse::<f64>().unwrap()).abs() < 0.03, "{} is not {wanted}", at_the_fade(&bow) / IN);
    assert!((number(&bow["draw_weight_n"]) / LBF - 41.0).abs() < 0.4);
}

#[test]
fn files_that_speak_of_two_bows_are_refused() {
    let bench = Bench::new();
    let upper = bench.write("upper.toml", &upper_text());
    let said = |changes: &[(&str, &str)], command: &str| {
        let lower = bench.write("lower.toml", &replaced(&lower_text(), changes));
        refused(&[command, &upper, "--lower", &lower])
    };
    let all = said(&[("draw_weight  = \"38 lbf\"", "draw_weight = \"45 lbf\"")], "size");
    assert!(all.contains("45.0 lbf") && all.contains("38.0 lbf") && all.contains("both make one bow"), "{all}");
    let all = said(&[("brace_height = 6.25", "brace_height = 7")], "size");
    assert!(all.contains("one string serves both limbs"), "{all}");
    for (key, change) in [
        ("riser.depth", ("depth   = 1.4", "depth   = 1.5")),
        ("riser.across", ("[[\"walnut, black\", 0.68]", "[[\"walnut, black\", 0.70]")),
        ("outline.width", ("[[0, 1.125]", "[[0, 1.25]")),
    ] {
        let all = said(&[change], "glue");
        assert!(all.contains(key), "{key}: {all}");
    }
    // One of them has no free lamination.
    let text = lower_text();
    let (start, end) = (text.find("[sizing]").unwrap(), text.find("\n[glue]").unwrap());
    let lower = bench.write("lower.toml", &format!("{}{}", &text[..start], &text[end..]));
    let all = refused(&["size", &upper, "--lower", &lower]);
    assert!(all.contains("lower limb") && all.contains("`sizing`"), "{all}");
    // Half a command.
    let output = program(&["size", &upper, "--lower", &bench.write("lower.toml", &text), "--write", &bench.path("new.toml")]);
    assert_eq!(output.status.code(), Some(2));
}
