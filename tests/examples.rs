//! The examples are the gallery and the golden set: what `make` writes for each must equal `output/`, byte for byte.
//!
//! `TAPERWRIGHT_BLESS=1` writes what is made now in place of what was expected, and still fails: read the difference first.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Every file below a folder by its path from there.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let (mut found, mut open) = (BTreeMap::new(), vec![folder.to_owned()]);
    while let Some(here) = open.pop() {
        for entry in fs::read_dir(&here).unwrap_or_else(|error| panic!("{}: {error}", here.display())) {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = path.strip_prefix(folder).expect("below the folder").to_string_lossy().replace('\\', "/");
                found.insert(name, fs::read(&path).expect("a file reads"));
            }
        }
    }
    found
}

fn examples() -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(root().join("examples"))
        .expect("examples can be listed")
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "toml"))
        .map(|path| path.file_stem().expect("a stem").to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

fn make(name: &str, out: &Path) {
    let run = Command::new(env!("CARGO_BIN_EXE_taperwright"))
        .current_dir(root())
        .args(["--quiet", "make", &format!("examples/{name}.toml"), "--out"])
        .arg(out)
        .output()
        .expect("the program starts");
    assert!(run.status.success(), "{name}: {}", String::from_utf8_lossy(&run.stderr));
}

#[test]
fn examples_make_what_is_in_output() {
    let bless = std::env::var_os("TAPERWRIGHT_BLESS").is_some();
    let mut differences = Vec::new();
    for name in examples() {
        let expected = root().join("output").join(&name);
        let home = tempfile::tempdir().expect("a temporary folder");
        make(&name, &home.path().join(&name));
        let made = files(&home.path().join(&name));
        let kept = if expected.exists() { files(&expected) } else { BTreeMap::new() };
        for path in made.keys().chain(kept.keys()) {
            match (made.get(path), kept.get(path)) {
                (Some(new), Some(old)) if new == old => {}
                (Some(_), Some(_)) => differences.push(format!("output/{name}/{path} differs")),
                (Some(_), None) => differences.push(format!("output/{name}/{path} is missing")),
                _ => differences.push(format!("output/{name}/{path} is made by nothing")),
            }
        }
        if bless {
            make(&name, &expected);
        }
    }
    differences.sort();
    differences.dedup();
    assert!(
        differences.is_empty(),
        "{}\n{}",
        differences.join("\n"),
        if bless { "blessed: read the difference, and run again" } else { "TAPERWRIGHT_BLESS=1 writes what is made now" }
    );
}

#[test]
fn every_folder_of_output_has_its_example() {
    let examples = examples();
    for entry in fs::read_dir(root().join("output")).expect("output can be listed") {
        let name = entry.expect("an entry").file_name().to_string_lossy().into_owned();
        assert!(examples.contains(&name), "output/{name} has no example");
    }
}

#[test]
fn equal_input_gives_equal_bytes_from_any_folder_and_time_zone() {
    let home = tempfile::tempdir().expect("a temporary folder");
    fs::copy(root().join("examples/strips.toml"), home.path().join("strips.toml")).expect("a copy");
    let run = Command::new(env!("CARGO_BIN_EXE_taperwright"))
        .current_dir(home.path())
        .env("TZ", "Pacific/Auckland")
        .args(["--quiet", "make", "strips.toml"])
        .output()
        .expect("the program starts");
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    assert_eq!(files(&home.path().join("output/strips")), files(&root().join("output/strips")));
}
