//! What a builder sees for a faulty build file: each `tests/faults/*.toml` against the text beside it.
//!
//! `TAPERWRIGHT_BLESS=1` writes the texts anew; such a run still fails, so that no pipeline can bless.

use proptest::prelude::*;
use std::fs;
use std::path::{Path, PathBuf};
use taperwright::buildfile::{self, Starter, Style, starter};
use taperwright::diag::{self, Screen, Severity};
use taperwright::model::Build;
use taperwright::units::System;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests").join("faults")
}

fn files(extension: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder()).expect("the folder of faults is there");
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.expect("an entry").path()).collect();
    files.retain(|path| path.extension().is_some_and(|found| found == extension));
    files.sort();
    files
}

/// What is printed for a build file: its faults, or its warnings if it has none.
fn rendered(name: &str, text: &str) -> String {
    let (source, outcome) = buildfile::read(name, text);
    match outcome {
        Ok(reported) => diag::render(&reported.warnings, &source),
        Err(faults) => diag::render(&faults, &source),
    }
}

#[test]
fn every_fault_is_shown_as_before() {
    let bless = std::env::var_os("TAPERWRIGHT_BLESS").is_some();
    let mut changed = Vec::new();
    let files = files("toml");
    assert!(30 <= files.len());
    for path in &files {
        let name = path.file_name().expect("a file").to_string_lossy().into_owned();
        let shown = rendered(&name, &fs::read_to_string(path).expect("readable"));
        assert!(!shown.trim().is_empty(), "{name} has neither a fault nor a warning");
        let beside = path.with_extension("txt");
        if fs::read_to_string(&beside).unwrap_or_default().replace('\r', "") != shown {
            if bless {
                fs::write(&beside, &shown).expect("writable");
            }
            changed.push(name);
        }
    }
    assert!(changed.is_empty(), "shown otherwise than before{}: {changed:?}", if bless { " and blessed" } else { "" });
}

#[test]
fn every_text_has_its_build_file() {
    for path in files("txt") {
        assert!(path.with_extension("toml").is_file(), "{} is left over", path.display());
    }
}

/// A batch file with this many laminations, each with a fault or none.
fn batch(count: usize, lamination: impl Fn(usize) -> String) -> String {
    let each = |i| format!("[[lamination]]\n{}\n", lamination(i));
    format!("units = \"in\"\n{}", (0..count).map(each).collect::<String>())
}

const STRIP: &str = "to = 34\nthickness = 0.15\nstock = { thickness = 0.2, width = 1.75 }";

/// A name is what the builder typed, whatever it looks like: no quantity is read from it.
#[test]
fn a_name_is_never_taken_for_a_quantity() {
    for name in ["x⟨3 N⟩", "⟨25.4 mm⟩", "{}", "a⟨"] {
        let strip = format!("name = \"{name}\"\nto = 34\nthickness = 0.3\nstock = {{ thickness = 0.2, width = 1.75 }}");
        let (_, outcome) =
            buildfile::read("named.toml", &format!("units = \"in\"\n[[lamination]]\n{strip}\n[[lamination]]\n{strip}\n"));
        let faults = outcome.expect_err("the stock is too thin, and the name stands twice");
        let said: Vec<String> = faults.iter().map(|fault| fault.spoken(System::Inch).to_string()).collect();
        assert!(said.iter().any(|said| said.contains(name)), "{said:?}");
        assert!(said.iter().any(|said| said.contains("0.2 in")), "{said:?}");
    }
}

#[test]
fn ten_thousand_laminations_get_one_clear_answer() {
    let text = batch(10_000, |i| format!("name = \"strip {i}\"\n{STRIP}"));
    let (_, outcome) = buildfile::read("many.toml", &text);
    let faults = outcome.expect_err("too many");
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].message.spoken(System::Inch), "there are 10000 laminations; at most 200 are read");
    let two_hundred = batch(200, |i| format!("name = \"strip {i}\"\n{STRIP}"));
    let (_, outcome) = buildfile::read("many.toml", &two_hundred);
    assert_eq!(outcome.expect("as many as may be").value.laminations.len(), 200);
}

#[test]
fn thousands_of_faults_are_counted_not_listed() {
    for text in [
        batch(150, |i| format!("name = \"strip {i}\"\n{STRIP}\na = 1\nb = 2\nc = 3\nd = 4\ne = 5\nf = 6")),
        (0..50_000).map(|i| format!("key{i} = {i}\n")).collect(),
        (0..50_000).map(|i| format!("key{i} = 1.2.3\n")).collect(),
        format!("x = [{}", "[ 1 2, ".repeat(50_000)),
        format!("x = [{}]", "1.2.3, ".repeat(100_000)),
    ] {
        let (source, outcome) = buildfile::read("faulty.toml", &text);
        let faults = outcome.expect_err("nothing but faults");
        assert!(!faults.is_empty() && faults.len() <= 61, "{}", faults.len());
        assert!(diag::render(&faults, &source).len() < 200_000);
    }
}

#[test]
fn a_text_that_is_no_build_file_is_refused_and_shown() {
    for text in [
        "\u{0}\u{1}\u{1b}[31m",
        "\u{feff}units = \"in\"",
        "= = =",
        "[[[[",
        "\"\"\"",
        "units = \"in\"\r\n[[lamination]]\r\nname = 'ä\u{200d}ö'\r\n",
        "[\"a.b\".\"c[0]\"]\nd = 1\n\"\" = 2\n",
        "<html><body>404</body></html>",
        "lamination = [1, \"x\", [], {}]\nwood = [[]]\n[glue]\nstage = [{}, 1]\n",
        &"[".repeat(100_000),
        &format!("{}a = 1", "a.".repeat(100_000)),
        &"x".repeat(2_000_001),
    ] {
        let (source, outcome) = buildfile::read("odd.toml", text);
        let faults = outcome.expect_err("no build file");
        let shown = diag::render(&faults, &source);
        assert!(shown.contains("fault: "), "{shown}");
        assert!(!shown.contains('\u{1b}') && !shown.contains('\u{0}'), "{shown:?}");
    }
}

const MEADOW: &str = include_str!("../src/buildfile/meadow.toml");

fn texts() -> Vec<String> {
    let of = |units, style| starter(&Starter { units, style, ..Starter::default() });
    vec![
        MEADOW.to_owned(),
        of(System::Inch, Style::Longbow),
        of(System::Millimetre, Style::Flatbow),
        of(System::Millimetre, Style::Glass),
    ]
}

/// What may be typed instead of what should be.
const SLIPS: [&str; 32] = [
    "",
    "0",
    "-1",
    "nan",
    "-inf",
    "1e300",
    "1e-300",
    "0x7fffffffffffffff",
    "99999999999999999999999",
    "\"",
    "'",
    "[",
    "]",
    "{",
    "}",
    "[[",
    "]]",
    "=",
    ",",
    ".",
    "#",
    "\n",
    "\r",
    "\t",
    "\u{7}",
    "ä",
    "\u{1f3f9}",
    "\"\"",
    "\"1/0 in\"",
    "\"lbf\"",
    "[]",
    "true",
];

#[derive(Debug, Clone)]
enum Slip {
    /// Bytes from here on, so many of them, become this.
    Typed(usize, usize, usize),
    /// A line is put in again at another place.
    Copied(usize, usize),
    /// A value after `=` becomes this.
    Valued(usize, usize),
}

fn slip() -> impl Strategy<Value = Slip> {
    prop_oneof![
        (any::<usize>(), 0..12_usize, 0..SLIPS.len()).prop_map(|(at, length, slip)| Slip::Typed(at, length, slip)),
        (any::<usize>(), any::<usize>()).prop_map(|(from, to)| Slip::Copied(from, to)),
        (any::<usize>(), 0..SLIPS.len()).prop_map(|(line, slip)| Slip::Valued(line, slip)),
    ]
}

fn slipped(text: &str, slip: &Slip) -> String {
    let lines: Vec<&str> = text.lines().collect();
    match *slip {
        Slip::Typed(at, length, with) => {
            let letters: Vec<char> = text.chars().collect();
            let at = at % (letters.len() + 1);
            let end = (at + length).min(letters.len());
            letters[..at].iter().collect::<String>() + SLIPS[with] + &letters[end..].iter().collect::<String>()
        }
        Slip::Copied(from, to) if !lines.is_empty() => {
            let mut lines = lines.clone();
            lines.insert(to % lines.len(), lines[from % lines.len()]);
            lines.join("\n")
        }
        Slip::Valued(line, with) if !lines.is_empty() => {
            let changed = line % lines.len();
            let one = |(i, line): (usize, &&str)| match line.split_once('=') {
                Some((key, _)) if i == changed => format!("{key}= {}", SLIPS[with]),
                _ => (*line).to_owned(),
            };
            lines.iter().enumerate().map(one).collect::<Vec<_>>().join("\n")
        }
        _ => text.to_owned(),
    }
}

/// What [`Build`] promises, as far as a text that was typed at random can break it.
fn keeps_its_promises(build: &Build) {
    assert!(!build.laminations.is_empty() && build.moisture.is_finite());
    for lamination in &build.laminations {
        assert!(lamination.from_mm < lamination.to_mm);
        for u in lamination.strip_corners() {
            let thickness = lamination.strip_thickness_at(u);
            assert!(thickness.is_finite() && 0.0 < thickness, "{}: {thickness} at {u}", lamination.name);
        }
        assert!(build.glue.stages.iter().any(|stage| stage.number == lamination.stage));
    }
    if let Some(outline) = &build.outline {
        assert!((0..=50).all(|k| 0.0 < outline.width_at(outline.end_mm() * f64::from(k) / 50.0)));
    }
    if let Some(riser) = &build.riser {
        assert!(riser.position <= build.laminations.len() && !riser.across.is_empty());
        for k in 0..=50 {
            let point = riser.fade_at(riser.feather_station_mm() * f64::from(k) / 50.0);
            assert!(point.thickness_mm.is_finite() && point.thickness_mm <= riser.depth_mm * 1.000_001, "{point:?}");
        }
    }
    assert!(build.sander.as_ref().is_none_or(|sander| !sander.papers.is_empty() && 0.0 < sander.gap_step_mm));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn slips_of_the_finger_never_panic(which in 0..4_usize, slips in prop::collection::vec(slip(), 1..5)) {
        let text = slips.iter().fold(texts()[which].clone(), |text, slip| slipped(&text, slip));
        let (source, outcome) = buildfile::read("slipped.toml", &text);
        match outcome {
            Ok(reported) => {
                keeps_its_promises(&reported.value);
                diag::render_on(&reported.warnings, &source, Screen { colour: true, columns: None });
            }
            Err(faults) => {
                prop_assert!(!faults.is_empty());
                prop_assert!(faults.iter().all(|fault| fault.severity == Severity::Fault && !fault.message.is_empty()));
                diag::render_on(&faults, &source, Screen { colour: true, columns: None });
            }
        }
    }

    #[test]
    fn any_text_is_answered(text in "\\PC{0,200}") {
        let (source, outcome) = buildfile::read("any.toml", &text);
        let faults = outcome.expect_err("chance writes no build file");
        prop_assert!(diag::render(&faults, &source).contains("fault"));
    }
}
