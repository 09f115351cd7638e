//! The build book as `make` writes it: its chapters in the order of the work, its numbers those of the report, its pages clean.

mod peers;
mod support;

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use std::path::Path;
use support::examples::path as example;
use tempfile::TempDir;

const IN: f64 = taperwright::units::MM_PER_IN;
const LBF: f64 = 4.448_221_615_260_5;

struct Made {
    folder: TempDir,
    report: Value,
    /// What the peer read; `None` where peers are switched off.
    read: Option<Value>,
}

fn made(file: &Path) -> Made {
    let folder = tempfile::tempdir().unwrap();
    let run = Command::cargo_bin("taperwright")
        .unwrap()
        .args(["-q", "make"])
        .arg(file)
        .arg("--out")
        .arg(folder.path().join("out"))
        .output()
        .unwrap();
    assert!(run.status.success(), "{}: {}", file.display(), String::from_utf8_lossy(&run.stderr));
    let out = folder.path().join("out");
    let report = serde_json::from_slice(&fs::read(out.join("report.json")).unwrap()).unwrap();
    let book = |ending: &str| out.join(format!("build-book.{ending}")).display().to_string();
    let read = peers::run("book_report.py", &[&book("html"), &book("pdf")], "").map(|text| serde_json::from_str(&text).unwrap());
    Made { folder, report, read }
}

/// The number that a text shows, in the unit that it shows, and how far its last digit may be off; `None` for a bare word.
fn shown(text: &str) -> (f64, f64, String) {
    let text = text.trim_start_matches("± ").replace('+', "");
    let mut parts: Vec<&str> = text.split(' ').collect();
    let numeric = |part: &str| part.trim_start_matches('-').chars().next().is_some_and(|c| c.is_ascii_digit());
    let words: Vec<&str> = parts.iter().copied().filter(|part| !numeric(part)).collect();
    parts.retain(|part| numeric(part));
    let negative = parts.first().is_some_and(|part| part.starts_with('-'));
    let (mut value, mut step) = (0.0, 1.0);
    for part in parts {
        let part = part.trim_start_matches('-');
        if let Some((top, bottom)) = part.split_once('/') {
            let bottom: f64 = bottom.parse().unwrap();
            value += top.parse::<f64>().unwrap() / bottom;
            step = 1.0 / bottom;
        } else {
            value += part.parse::<f64>().unwrap_or_else(|_| panic!("{text}"));
            if let Some((_, decimals)) = part.split_once('.') {
                step = 0.1_f64.powi(decimals.len() as i32);
            }
        }
    }
    (if negative { -value } else { value }, step, words.join(" "))
}

/// Every number of the book stands in the report under its pointer with the very same value, and is shown from it.
fn numbers_agree(made: &Made, read: &Value, min: usize) {
    let numbers = read["numbers"].as_array().unwrap();
    assert!(min <= numbers.len(), "{} numbers", numbers.len());
    for number in numbers {
        let [pointer, value, text] = [0, 1, 2].map(|k| number[k].as_str().unwrap());
        let there = made.report.pointer(pointer).unwrap_or_else(|| panic!("{pointer} is not in the report"));
        let there = there.as_f64().unwrap_or_else(|| panic!("{pointer} is no number: {there}"));
        assert!((there - value.parse::<f64>().unwrap()).abs() <= 0.0, "{pointer}: {there} {value}");
        let (number, step, unit) = shown(text);
        // Tables say the unit in their heads: bare lengths are in the report's own units.
        let bare =
            if made.report["units"] == "in" && pointer.ends_with("_mm") || pointer.contains("_mm/") { 1.0 / IN } else { 1.0 };
        let inches = made.report["units"] == "in";
        let factor = match unit.as_str() {
            // Arrows: grains or grams, ft/s or m/s, as the head says or beside the number.
            unit if pointer.starts_with("/shot/") && pointer.contains("mm_s") => {
                assert!(unit.is_empty() || unit.starts_with(if inches { "ft/s" } else { "m/s" }), "{pointer}: {text}");
                if inches { 1.0 / (12.0 * IN) } else { 1e-3 }
            }
            unit if pointer.starts_with("/shot/") && pointer.ends_with("_g") => {
                assert!(unit.is_empty() || unit.starts_with(if inches { "gr" } else { "g" }), "{pointer}: {text}");
                if inches { 7000.0 / 453.592_37 } else { 1.0 }
            }
            "in" if made.report["units"] == "in" => 1.0 / IN,
            "mm" => 1.0,
            "lbf" => 1.0 / LBF,
            "N" => 1.0,
            // A weight for a target in pounds says both.
            unit if unit.starts_with("N (") => 1.0,
            "%" => 100.0,
            "GPa" => 1e-3,
            "h" => 1.0 / 3600.0,
            "kg/m³" | "J" => 1.0,
            // One joule in foot-pounds: lbf and foot by their definitions.
            "ft·lbf" => 1.0 / (LBF * 0.3048),
            "cm²" => 1e-2,
            "in²" => 1.0 / (IN * IN),
            // NIST Special Publication 811, appendix B: psi and lb/ft³ by their definitions.
            "Mpsi" => 1e-6 * IN * IN / LBF,
            "lb/ft³" => 0.3048_f64.powi(3) / 0.453_592_37,
            // Glue is rounded up: it must not run short.
            "g" | "oz" => {
                let scale = if unit == "g" { 1000.0 } else { 16.0 / 0.453_592_37 };
                assert!((-1e-9..=step).contains(&(number - scale * there)), "{pointer}: {text} {there}");
                continue;
            }
            "" if made.report["units"] == "mm" => 1.0,
            "" => bare,
            other => panic!("{pointer}: unit {other:?} of {text:?}"),
        };
        // Per-unit changes are shown for another step than the report's.
        if pointer.contains("n_per_") {
            assert!(number.signum() * there.signum() >= 0.0, "{pointer}: {text} {there}");
            continue;
        }
        // Rises are shown with their word instead of a sign; tiller is shown to a sixteenth or a millimetre.
        let fine = if unit == "in" && (text.contains('/') || step >= 1.0) { 1.0 / 16.0 } else { step };
        let off = (number.abs() - (there * factor).abs()).abs();
        assert!(off <= 0.5 * fine.max(step.min(1.0)) + 1e-9, "{pointer}: {text} is not {}", there * factor);
    }
}

fn titles(read: &Value) -> Vec<&str> {
    read["titles"].as_array().unwrap().iter().map(|title| title.as_str().unwrap()).collect()
}

/// What holds for every book.
fn clean(made: &Made, read: &Value) {
    assert_eq!(read["faults"].as_array().unwrap().len(), 0, "{}", read["faults"]);
    assert_eq!(read["outside"].as_array().unwrap().len(), 0, "{}", read["outside"]);
    assert_eq!(read["bookmarks"], read["titles"]);
    let ids: Vec<&str> = read["ids"].as_array().unwrap().iter().map(|id| id.as_str().unwrap()).collect();
    for link in read["links"].as_array().unwrap() {
        assert!(ids.contains(&link.as_str().unwrap()), "{link} leads nowhere");
    }
    let mut once = ids.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), ids.len(), "ids are used once");
    // A box for every pass.
    let passes: usize = made.report["laminations"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|lamination| lamination["setups"].as_array().unwrap())
        .map(|setup| setup["passes"].as_array().unwrap().len())
        .sum();
    assert!(passes < read["ticks"].as_u64().unwrap() as usize, "{passes} passes");
    for ending in ["html", "pdf"] {
        let bytes = fs::metadata(made.folder.path().join("out").join(format!("build-book.{ending}"))).unwrap().len();
        assert!(bytes < 3_000_000, "build-book.{ending} has {bytes} bytes");
    }
}

#[test]
fn the_main_example_is_a_book_in_the_order_of_the_work() {
    let made = made(&example("meadow.toml"));
    let Some(read) = &made.read else { return };
    clean(&made, read);
    numbers_agree(&made, read, 500);
    assert_eq!(
        titles(read),
        [
            "The bow on one page",
            "Where it bends, and how hard the wood works",
            "What to get and what to cut",
            "Sleds: how they go together",
            "At the machine",
            "Lamination: back",
            "Lamination: core",
            "Lamination: belly",
            "The riser",
            "Forms: how they are made",
            "Dry run",
            "Glue-up, stage 1",
            "Glue-up, stage 2",
            "Shaping and tiller",
            "What it shoots",
            "What if",
            "Materials, with source and spread",
            "Defaults used",
        ]
    );
    assert_eq!((read["pages"].as_u64().unwrap(), read["figures"].as_u64().unwrap()), (24, 15));
    // Care stands at the front, the cut list, the sleds, the machine, both ground laminations, the riser, both stages, the tiller and the shot.
    assert_eq!(read["cautions"].as_u64().unwrap(), 11);
    assert!(20 < read["emptiest"].as_u64().unwrap(), "a page is all but empty");
}

#[test]
fn a_metric_bow_and_a_batch_of_strips_are_books_too() {
    let heron = made(&example("heron.toml"));
    if let Some(read) = &heron.read {
        clean(&heron, read);
        numbers_agree(&heron, read, 500);
        assert!(titles(read).contains(&"Glue-up, stage 1") && 15 < read["pages"].as_u64().unwrap());
    }
    let strips = made(&example("strips.toml"));
    if let Some(read) = &strips.read {
        clean(&strips, read);
        numbers_agree(&strips, read, 100);
        assert_eq!(titles(read)[0], "What to get and what to cut");
        assert!(!titles(read).contains(&"Shaping and tiller"));
    }
}

/// Twelve laminations with long names, in both units, on Letter and A4: nothing leaves a page, nothing lies on anything.
#[test]
fn twelve_laminations_with_long_names_fit() {
    for (units, paper, scale) in [("in", "letter", 1.0), ("mm", "a4", IN), ("mm", "letter", IN)] {
        let n = |inches: f64| format!("{:.4}", inches * scale);
        let mut text = format!(
            "title = \"A bow with a title as long as a title is let to be, which is eighty letters long\"\nunits = \"{units}\"\n\
             [target]\ndraw_weight = \"45 lbf\"\ndraw_length = \"28 in\"\nbrace_height = \"6.5 in\"\n\
             [outline]\nnock_to_nock = {}\nwidth = [[0, {}], [{}, {}], [{}, {}]]\n",
            n(68.0),
            n(1.5),
            n(20.0),
            n(1.4),
            n(34.0),
            n(0.6)
        );
        for k in 1..=12 {
            text += &format!(
                "[[lamination]]\nname = \"veneer no. {k}, of the plank by the door\"\nwood = \"maple, sugar\"\nthickness = {}\ntaper = 0.0003\nstock = {{ thickness = {}, width = {} }}\n",
                n(0.045),
                n(0.075),
                n(1.75)
            );
        }
        text += &format!(
            "[sander]\nleast_thickness = \"0.010 in\"\ngap_step = \"0.001 in\"\npapers = [{{ grit = 80, most = \"0.008 in\" }}]\n[sled]\nmake = \"shims\"\nbase = {}\n\
             [shop]\npaper = \"{paper}\"\nshims = [{{ of = \"a roll of tape with a name of its own\", thickness = \"0.002 in\" }}, {{ of = \"card\", thickness = \"0.011 in\" }}]\n",
            n(1.0)
        );
        let home = tempfile::tempdir().unwrap();
        let file = home.path().join("twelve.toml");
        fs::write(&file, &text).unwrap();
        let made = made(&file);
        let Some(read) = &made.read else { return };
        clean(&made, read);
        numbers_agree(&made, read, 800);
        assert_eq!(titles(read).iter().filter(|title| title.starts_with("Lamination: ")).count(), 12);
    }
}

/// The sled was put together after its passes, a table of passes ran over three pages, pages had two rows on them.
#[test]
fn passes_boxes_and_heights_are_seen_at_once_and_no_page_is_all_but_white() {
    for name in ["meadow.toml", "heron.toml", "strips.toml", "more/curlew.toml"] {
        let made = made(&example(name));
        let Some(read) = &made.read else { return };
        let titles = titles(read);
        let at = |wanted: &str| titles.iter().position(|title| *title == wanted);
        let first = titles.iter().position(|title| title.starts_with("Lamination: ")).unwrap();
        assert!(
            at("Sleds: how they go together") < at("At the machine") && at("At the machine") < Some(first),
            "{name}: {titles:?}"
        );
        let book = made.folder.path().join("out/build-book.pdf").display().to_string();
        let pages: Vec<Value> = serde_json::from_str(&peers::run("book_fill.py", &[&book], "").unwrap()).unwrap();
        for (k, page) in pages.iter().enumerate() {
            assert!(0.1 < page["fill"].as_f64().unwrap(), "{name}: page {} is all but white: {}", k + 1, page["fill"]);
        }
        let packed = |text: &str| text.split_whitespace().collect::<String>();
        let text = |page: &Value| page["text"].as_str().unwrap().to_owned();
        for lamination in made.report["laminations"].as_array().unwrap() {
            let title = packed(&format!("Lamination: {}", lamination["name"].as_str().unwrap()));
            let setups = lamination["setups"].as_array().unwrap().len();
            if setups == 0 {
                continue;
            }
            // From its title to the next one's.
            let start = pages.iter().position(|page| text(page).contains(&title) && !text(page).contains("Contents")).unwrap();
            let own = |page: &Value| page["foot"].as_str().unwrap().contains(&title);
            let pages: Vec<(usize, String)> = pages
                .iter()
                .enumerate()
                .skip(start)
                .take_while(|(k, page)| *k == start || own(page))
                .map(|(k, page)| (k + 1, text(page)))
                .collect();
            let on = |words: &str| -> Vec<usize> {
                pages.iter().filter(|(_, text)| text.contains(&packed(words))).map(|(number, _)| *number).collect()
            };
            let mut wanted = on("what to set, in");
            assert!(
                pages.iter().all(|(_, text)| !text.contains(&packed("what a strip reads (continued)"))),
                "{name} {title}: passes run on"
            );
            if !lamination["sled"].is_null() {
                let heights = on("Height above the table of what the strip lies on");
                assert_eq!(heights.len(), 1, "{name} {title}");
                wanted.extend(heights);
            }
            wanted.sort_unstable();
            wanted.dedup();
            // One page, or an even one and the next, which face each other.
            let seen = matches!(wanted[..], [_]) || matches!(wanted[..], [left, right] if left % 2 == 0 && right == left + 1);
            assert!(seen, "{name} {title}: passes and heights on pages {wanted:?}");
        }
    }
}

/// Habits of the shop stand where the work needs them, marked as what they are, and only where the build has something for them.
#[test]
fn habits_stand_where_they_belong_and_only_there() {
    let habit = "Common practice, no source:";
    let read = |name: &str| {
        let made = made(&example(name));
        fs::read_to_string(made.folder.path().join("out/build-book.html")).unwrap()
    };
    let chapter = |html: &str, anchor: &str| -> String {
        let at = html.find(&format!("<h2 id=\"{anchor}\"")).unwrap_or_else(|| panic!("no chapter {anchor}"));
        html[at..at + html[at..].find("</section>").unwrap()].to_owned()
    };
    let (meadow, heron, strips) = (read("meadow.toml"), read("heron.toml"), read("strips.toml"));
    for html in [&meadow, &heron] {
        assert!(chapter(html, "machine").contains("height of the table, behind the machine"));
        assert!(chapter(html, "stage-1").contains("tape over what shall stay free"));
        assert!(chapter(html, "stage-1").contains("the grip is clamped first"));
        assert_eq!(html.matches(habit).count(), html.matches(&format!("<p><strong>{habit}</strong>")).count());
    }
    // Bamboo in the one, pairs, two stages and a ramp that strips climb in the other.
    assert!(chapter(&heron, "lamination-1").contains("node ridges") && !meadow.contains("node ridges"));
    assert!(chapter(&meadow, "machine").contains("change sides") && !heron.contains("change sides"));
    assert!(chapter(&meadow, "stage-2").contains("flatten the face") && !heron.contains("flatten the face"));
    assert!(chapter(&meadow, "riser").contains("where it climbs the ramp") && !heron.contains("climbs the ramp"));
    assert!(!strips.contains("climbs the ramp") && !strips.contains("the grip is clamped"));
    // A sled that the machine's own tables carry needs nothing to run out on.
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("short.toml");
    let text = fs::read_to_string(example("strips.toml")).unwrap();
    fs::write(&file, text.replace("to        = 36", "to        = 20").replace("supports  = 40 ", "supports  = 24 ")).unwrap();
    let short = made(&file);
    let short = fs::read_to_string(short.folder.path().join("out/build-book.html")).unwrap();
    assert!(strips.contains("behind the machine and before it") && !short.contains("behind the machine and before it"));
}

/// What a screen reader is given: books and sheets as trees of what they hold, with nothing painted beside them.
#[test]
fn books_and_sheets_are_tagged() {
    let made = made(&example("meadow.toml"));
    let out = made.folder.path().join("out");
    let read = |files: &[String], kind: &str| -> Option<Vec<Value>> {
        let files: Vec<&str> = files.iter().map(String::as_str).collect();
        let answer = peers::run("pdf_structure.py", &files, &serde_json::json!({ "kind": kind }).to_string())?;
        Some(serde_json::from_str(&answer).unwrap())
    };
    let book = out.join("build-book.pdf").display().to_string();
    let Some(book) = read(&[book], "book") else { return };
    let count = |role: &str| book[0]["counts"][role].as_u64().unwrap_or(0);
    let figures = made.read.as_ref().unwrap()["figures"].as_u64().unwrap();
    assert_eq!((book[0]["title"].as_str(), count("Figure")), (Some("Meadow flatbow"), figures));
    assert!(
        15 < count("Table") && 10 < count("H2") && 3 < count("H3") && 20 < count("L") && 10 < count("TOCI"),
        "{}",
        book[0]["counts"]
    );
    let mut sheets: Vec<String> = fs::read_dir(out.join("templates"))
        .unwrap()
        .map(|entry| entry.unwrap().path().display().to_string())
        .filter(|path| path.ends_with(".pdf"))
        .collect();
    sheets.sort();
    assert!(5 < sheets.len());
    for sheet in read(&sheets, "sheet").unwrap() {
        let title = sheet["title"].as_str().unwrap();
        assert!(sheet["alts"].as_array().unwrap().iter().all(|alt| alt.as_str().unwrap().starts_with(title)), "{sheet}");
    }
}

/// Equal input gives equal bytes, in whatever folder and however often.
#[test]
fn equal_builds_give_equal_books() {
    let (first, second) = (made(&example("strips.toml")), made(&example("strips.toml")));
    for ending in ["html", "pdf"] {
        let bytes = |made: &Made| fs::read(made.folder.path().join("out").join(format!("build-book.{ending}"))).unwrap();
        assert!(bytes(&first) == bytes(&second), "{ending}");
    }
}
