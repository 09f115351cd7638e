//! Every word that is mistyped gets the word that was meant, and with that the command or the file goes through.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_owned()
}

/// Exit code, and what was said on stderr.
fn run(args: &[&str], typed: &str) -> (Option<i32>, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_taperwright"));
    command.current_dir(root()).env_remove("CLICOLOR_FORCE").args(args);
    let mut child = command.stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().expect("it starts");
    child.stdin.take().expect("a pipe").write_all(typed.as_bytes()).expect("it reads");
    let output = child.wait_with_output().expect("it ends");
    (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
}

/// What a hint offers: in quotes, as code, or a number.
fn offered(said: &str) -> Vec<String> {
    let Some((_, meant)) = said.split_once("did you mean ") else { return Vec::new() };
    let meant = meant.strip_prefix("one of ").unwrap_or(meant).split('?').next().unwrap_or("");
    let marked: Vec<String> = meant.split(['"', '`']).skip(1).step_by(2).map(str::to_owned).collect();
    if marked.is_empty() { vec![meant.to_owned()] } else { marked }
}

/// Each offer is put in the place of the word that was typed: the command goes through.
fn closed(typed: &str, run: impl Fn(&str) -> (Option<i32>, String)) {
    let (code, said) = run(typed);
    assert_ne!(code, Some(0), "`{typed}` was taken");
    let offers = offered(&said);
    assert!(!offers.is_empty(), "nothing is offered for `{typed}`:\n{said}");
    for offer in offers {
        let (code, said) = run(&offer);
        assert_eq!(code, Some(0), "`{offer}` was offered for `{typed}`:\n{said}");
    }
}

/// `passes FILE kore` said which laminations there are and offered none.
#[test]
fn words_of_the_command_line() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("out").to_string_lossy().into_owned();
    closed("kore", |name| run(&["passes", "examples/meadow.toml", name], ""));
    closed("raiser", |part| run(&["make", "examples/meadow.toml", "--only", part, "--out", &out], ""));
    for (typed, meant) in [("mapel", "maple"), ("hickery", "hickory"), ("robina", "locust"), ("maple suger", "maple, sugar")] {
        closed(typed, |name| run(&["woods", name], ""));
        let (_, said) = run(&["woods", typed], "");
        assert!(offered(&said).iter().all(|name| name.contains(meant)), "{said}");
    }
    // Those that the command line's library knows.
    for args in [&["schema", "pases"][..], &["bow", "examples/meadow.toml", "--jsn"], &["pases"], &["woods", "--color", "nevr"]] {
        let (code, said) = run(args, "");
        assert!(code == Some(2) && (said.contains("similar") || said.contains("tip:")), "{said}");
    }
}

#[test]
fn words_of_a_build_file() {
    let file = std::fs::read_to_string(root().join("examples/meadow.toml")).unwrap();
    // What stands in the file, what is put there, and what is typed for the word.
    for (stands, put, typed) in [
        ("\"hickory, shagbark\"", "\"WORD\"", "hickory, shagbrk"),
        ("\"locust, black\"", "\"WORD\"", "locst, black"),
        ("change = [\"back\"]", "change = [\"WORD\"]", "bak"),
        ("keep_face", "WORD", "kepe_face"),
        ("\"halves\"", "\"WORD\"", "halvs"),
        ("\"straight\"", "\"WORD\"", "strait"),
        ("\"letter\"", "\"WORD\"", "leter"),
        ("grit = 80", "grit = WORD", "85"),
        ("[sander]", "[WORD]", "sandr"),
        ("[sander]", "[string]\nmaterial = \"WORD\"\n\n[sander]", "polyestr"),
        ("\"ramp\"", "\"WORD\"", "rmap"),
        ("\"drum\"", "\"WORD\"", "drmu"),
    ] {
        assert!(file.contains(stands), "{stands}");
        closed(typed, |word| run(&["check", "-"], &file.replacen(stands, &put.replace("WORD", word), 1)));
    }
}

#[test]
fn words_of_a_log() {
    let log = |kind: &str, lamination: &str, key: &str| {
        let text = format!("[[reading]]\ndate = 2026-11-20\nof = \"{kind}\"\nlamination = \"{lamination}\"\n{key} = 6\n");
        run(&["log", "examples/meadow.toml", "-"], &text)
    };
    closed("doen", |kind| log(kind, "core", "pass"));
    closed("kore", |lamination| log("done", lamination, "pass"));
    closed("pas", |key| log("done", "core", key));
    let blank = |lamination: &str| {
        let width = format!("{{ back = 2.125, core = 2.125, {lamination} = 2.125 }}");
        let text = format!(
            "[[reading]]\ndate = 2026-11-20\nof = \"blank\"\nhow = \"long string\"\nstring = 76\ndraw = 20\nweight = \"32 lbf\"\nwidth = {width}\n"
        );
        let (code, said) = run(&["log", "examples/meadow.toml", "-"], &text);
        // Whether the weight is believed is another matter.
        (if said.contains("has this name") { code } else { Some(0) }, said)
    };
    closed("bely", blank);
}
