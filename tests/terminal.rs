//! What stands in a window: prose within its width, tables and paths whole, and colours where the terminal has any.

mod peers;
mod support;

use serde_json::{Value, json};
use std::io::Write;
use std::process::{Command, Stdio};
use support::examples;
use taperwright::diag::wrap::wrapped;

const PROGRAM: &str = env!("CARGO_BIN_EXE_taperwright");

/// What decides about colours; none of it comes from whoever runs the tests.
const VARIABLES: [&str; 6] = ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "COLUMNS", "TERM", "CI"];

fn example(name: &str) -> String {
    examples::path(name).to_string_lossy().into_owned()
}

/// Standard output and error into pipes, one behind the other.
fn piped(args: &[&str], typed: &str, set: &[(&str, &str)]) -> [String; 2] {
    let mut command = Command::new(PROGRAM);
    VARIABLES.iter().for_each(|name| {
        command.env_remove(name);
    });
    command.args(args).envs(set.iter().copied()).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("the program starts");
    child.stdin.take().expect("a pipe").write_all(typed.as_bytes()).expect("it reads");
    let output = child.wait_with_output().expect("it ends");
    [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).expect("text"))
}

/// The same in windows: `None` where peers are left out.
fn windows(runs: Vec<Value>) -> Option<Vec<String>> {
    let texts = peers::run("terminal.py", &[], &json!(runs).to_string())?;
    Some(serde_json::from_str(&texts).expect("the peer answers in JSON"))
}

fn window(args: &[&str], columns: usize, set: Value, typed: Option<&str>) -> Value {
    let line: Vec<&str> = std::iter::once(PROGRAM).chain(args.iter().copied()).collect();
    json!({ "line": line, "columns": columns, "set": set, "typed": typed })
}

/// Columns of a line without what colours it.
fn columns(line: &str) -> usize {
    line.split('\u{1b}')
        .enumerate()
        .map(|(k, part)| if k == 0 { part } else { part.split_once('m').map_or("", |p| p.1) })
        .map(|part| part.chars().count())
        .sum()
}

fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
    words.sort();
    words
}

/// Sentences of up to 130 columns were broken by the window in the middle of words.
#[cfg(unix)]
#[test]
fn prose_keeps_within_the_window_and_no_word_is_lost() {
    let (meadow, heron, log) = (example("meadow.toml"), example("heron.toml"), example("logs/meadow.toml"));
    let home = tempfile::tempdir().unwrap();
    let new = home.path().join("a name with blanks in it.toml").to_string_lossy().into_owned();
    let commands: Vec<Vec<&str>> = vec![
        vec!["bow", &meadow],
        vec!["glue", &meadow],
        vec!["glue", &heron],
        vec!["shot", &meadow],
        vec!["size", &heron],
        vec!["--quiet", "rescale", &meadow, "--nock-to-nock", "70 in"],
        vec!["log", &meadow, &log],
        vec!["passes", &meadow],
        vec!["check", &heron],
        vec!["woods"],
        vec!["passes", &meadow, "a name that no lamination of this build file has, however long one looks for it"],
        vec!["new", &new],
    ];
    let narrow_and_wide = [60, 120];
    let runs = commands.iter().flat_map(|args| narrow_and_wide.map(|wide| window(args, wide, json!({}), None)));
    // The second `new` finds the first one's file.
    let runs = runs.take(2 * commands.len() - 1).collect();
    let Some(shown) = windows(runs) else { return };
    std::fs::remove_file(&new).unwrap();
    let mut wrapped = 0;
    for (k, text) in shown.iter().enumerate() {
        let (args, wide) = (&commands[k / 2], narrow_and_wide[k % 2]);
        let plain = piped(args, "", &[]).concat();
        assert_eq!(words(text), words(&plain), "{args:?} at {wide}");
        for line in text.lines().filter(|line| wide < columns(line)) {
            let table = plain.lines().any(|known| known == line) && line.trim().contains("  ");
            assert!(table || line.contains(&new), "{args:?} at {wide}: {line}");
        }
        wrapped += plain.lines().filter(|line| !text.lines().any(|shown| shown == *line)).count();
    }
    assert!(60 < wrapped, "{wrapped} lines were broken anew");
}

/// A fault's sentence, its hint and its line of the file.
#[cfg(unix)]
#[test]
fn faults_keep_within_the_window() {
    let long = "x".repeat(300);
    let file = std::fs::read_to_string(examples::root().join("tests/faults/many-at-once.toml")).unwrap();
    let file = file.replace("[[lamination]]", &format!("[[lamination]]\nnote_of_mine = \"{long}\""));
    let [answer, _] = piped(&["check", "-", "--json"], &file, &[]);
    let answer: Value = serde_json::from_str(&answer).expect("JSON");
    let narrow_and_wide = [60, 120];
    let runs = narrow_and_wide.map(|wide| window(&["check", "-"], wide, json!({}), Some(&file)));
    let Some(shown) = windows(runs.into()) else { return };
    for (text, wide) in shown.iter().zip(narrow_and_wide) {
        for line in text.lines() {
            assert!(columns(line) <= wide, "{wide}: {line}");
        }
        let seen = words(&text.replace('\u{1b}', " \u{1b}"));
        let seen: Vec<&str> = seen
            .iter()
            .map(|word| {
                word.split_once('m')
                    .map_or(word.as_str(), |(colour, rest)| if colour.starts_with('\u{1b}') { rest } else { word })
            })
            .collect();
        for diagnostic in answer["diagnostics"].as_array().unwrap() {
            let said = diagnostic["hints"].as_array().unwrap().iter().chain([&diagnostic["message"]]);
            for word in said.flat_map(|text| text.as_str().unwrap().split_whitespace()) {
                assert!(seen.contains(&word), "{wide}: `{word}` is not in\n{text}");
            }
        }
    }
}

/// Help was never broken.
#[cfg(unix)]
#[test]
fn help_keeps_within_the_window() {
    let commands = ["make", "bow", "bench", "schema"];
    let mut runs: Vec<Value> = commands.iter().map(|command| window(&[command, "--help"], 60, json!({}), None)).collect();
    runs.push(window(&["log", "add", "--help"], 60, json!({}), None));
    let Some(shown) = windows(runs) else { return };
    // How it is called is a line of the command line.
    for line in shown.iter().flat_map(|text| text.lines()).filter(|line| !line.contains("Usage:")) {
        assert!(columns(line) <= 60, "{line}");
    }
}

/// The variables are those of no-color.org, bixense.com/clicolors and the terminal's own name.
#[cfg(unix)]
#[test]
fn colours_follow_the_terminal_and_its_variables() {
    let fault = "units = \"in\"\n";
    let coloured = |text: &str| text.contains("\u{1b}[");
    let pipe = |args: &[&str], set: &[(&str, &str)]| {
        let [out, err] = piped(args, fault, set);
        assert!(!coloured(&out) && err.contains("fault"), "{err}");
        coloured(&err)
    };
    let check = ["check", "-"];
    assert!(!pipe(&check, &[]) && !pipe(&check, &[("TERM", "xterm")]));
    assert!(pipe(&check, &[("CLICOLOR_FORCE", "1")]));
    assert!(!pipe(&check, &[("CLICOLOR_FORCE", "1"), ("NO_COLOR", "1")]));
    assert!(pipe(&["check", "-", "--color", "always"], &[("NO_COLOR", "1")]));
    assert!(!pipe(&["check", "-", "--color", "never"], &[("CLICOLOR_FORCE", "1")]));
    // Help, and what is wrong with the command line itself.
    let help = |args: &[&str], set: &[(&str, &str)]| piped(args, "", set).iter().any(|text| coloured(text));
    assert!(help(&["--color", "always", "bow", "--help"], &[]) && help(&["bow", "--colour", "--color=always"], &[]));
    assert!(!help(&["bow", "--help", "--color", "never"], &[("CLICOLOR_FORCE", "1")]) && !help(&["bow", "--help"], &[]));
    let cases = [
        (json!({}), true),
        (json!({ "TERM": "dumb" }), false),
        (json!({ "CLICOLOR": "0" }), false),
        (json!({ "NO_COLOR": "1" }), false),
        (json!({ "NO_COLOR": "" }), true),
    ];
    let runs = cases.iter().map(|(set, _)| window(&check, 80, set.clone(), Some(fault))).collect();
    let Some(shown) = windows(runs) else { return };
    for ((set, wanted), text) in cases.iter().zip(&shown) {
        assert_eq!(coloured(text), *wanted, "{set}: {text}");
    }
}

/// A pipe has no width, whatever `COLUMNS` says: what reads it finds the lines that README and tests hold.
#[test]
fn a_pipe_gets_the_lines_as_they_are() {
    let args = ["glue", &example("meadow.toml")];
    assert_eq!(piped(&args, "", &[("COLUMNS", "40")]), piped(&args, "", &[]));
}

const TEXT: &str = "\
Meadow: two different limbs, and a title that goes on for longer than the window is wide

station  upper, braced  a head that is far longer than the window
-------  -------------  -----------------------------------------
   6 in          5.125  a cell that is far longer than the window
  12 in
prose right under a table, which is longer than the window is wide, is prose all the same
  held        bent free: the back rises on props at station 30 in and is straight over the riser
    [ ] lay the strips on the form and press them down at the fades, then look along the edges
wrote 12 files to /home/a/folder with blanks in its name/output
pieces scatter by a sixth, and a line as long as this one was broken where the wide window
ended, so that it goes on here.
";

#[test]
fn prose_is_broken_and_tables_paths_and_words_are_not() {
    let path = "/home/a/folder with blanks in its name/output";
    let shown = wrapped(TEXT, 40, &[path]);
    let table = TEXT.lines().skip(2).take(4).collect::<Vec<_>>().join("\n");
    assert!(shown.contains(&table) && shown.contains(path), "{shown}");
    assert_eq!(shown.split_whitespace().collect::<Vec<_>>(), TEXT.split_whitespace().collect::<Vec<_>>());
    for line in shown.lines().filter(|line| !table.contains(*line) && !line.contains(path)) {
        assert!(columns(line) <= 40, "{line}");
    }
    let held = "\n  held        bent free: the back rises\n             on props at station";
    assert!(shown.contains(held) && shown.contains("where the\nwide window ended, so that"), "{shown}");
    assert_eq!(wrapped(TEXT, 200, &[path]), TEXT);
    assert_eq!(wrapped("no line feed behind it", 10, &[]), "no line\nfeed\nbehind it");
}
