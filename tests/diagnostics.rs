//! What a builder sees for a faulty build file: each `tests/faults/*.toml` against the text beside it.
//!
//! `TAPERWRIGHT_BLESS=1` writes the texts anew; such a run still fails, so that no pipeline can bless.

use std::fs;
use std::path::{Path, PathBuf};
use taperwright::buildfile;
use taperwright::diag;

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
        Ok(reported) => diag::render(&reported.warnings, &source, false),
        Err(faults) => diag::render(&faults, &source, false),
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
