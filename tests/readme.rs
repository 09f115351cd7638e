//! The README tells the truth: its first command prints what it shows, its files exist, its commands are known.

use std::fs;
use std::path::Path;
use std::process::Command;

fn readme() -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).expect("the README reads")
}

/// Fenced blocks of one language, in order.
fn blocks(text: &str, language: &str) -> Vec<String> {
    let fence = format!("```{language}\n");
    text.split(&fence).skip(1).map(|rest| rest.split("```").next().unwrap_or("").to_owned()).collect()
}

fn run(words: &[&str]) -> std::process::Output {
    let root = env!("CARGO_MANIFEST_DIR");
    Command::new(env!("CARGO_BIN_EXE_taperwright")).current_dir(root).args(words).output().expect("the program starts")
}

#[test]
fn it_opens_with_the_job_in_one_paragraph() {
    let text = readme();
    let mut parts = text.split("\n\n");
    assert_eq!(parts.next().unwrap(), "# taperwright");
    let job = parts.next().unwrap();
    assert!(300 < job.len() && !job.starts_with(['#', '|', '*', '!', '`']), "{job}");
}

#[test]
fn its_two_commands_make_the_main_example_and_run_the_tests() {
    let text = readme();
    let commands = blocks(&text, "sh");
    assert_eq!(commands[0].trim(), "cargo run --release -- make examples/meadow.toml");
    assert_eq!(commands[1].trim(), "cargo test");
    // The same, but into the temporary folder: what is printed may differ in the folder's name alone.
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("meadow");
    let made = run(&["make", "examples/meadow.toml", "--out", &out.to_string_lossy()]);
    assert!(made.status.success());
    let printed = String::from_utf8(made.stdout).unwrap().replace(&*out.to_string_lossy(), "output/meadow");
    assert_eq!(blocks(&text, "text")[0].trim(), printed.trim());
}

#[test]
fn its_build_file_grinds() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("batch.toml");
    fs::write(&file, &blocks(&readme(), "toml")[0]).unwrap();
    let made = run(&["make", &file.to_string_lossy(), "--out", &home.path().join("out").to_string_lossy()]);
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
}

#[test]
fn its_links_and_commands_exist() {
    let text = readme();
    for link in text.split("](").skip(1).map(|rest| rest.split(')').next().unwrap()) {
        assert!(Path::new(env!("CARGO_MANIFEST_DIR")).join(link).exists(), "{link}");
    }
    let help = String::from_utf8(run(&["--help"]).stdout).unwrap();
    for command in text.split("`taperwright ").skip(1).map(|rest| rest.split([' ', '`']).next().unwrap()) {
        assert!(help.contains(&format!("  {command} ")), "{command} is not in the help");
    }
}
