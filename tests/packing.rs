//! What the packed crate holds, and the Rust that it says it needs. Both offline: from the manifest and what is there already.

use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn told(program: &str, args: &[&str]) -> String {
    let run = Command::new(program).current_dir(root()).args(args).output().expect("it starts");
    assert!(run.status.success(), "{program} {args:?}: {}", String::from_utf8_lossy(&run.stderr));
    String::from_utf8(run.stdout).expect("text")
}

/// Texts that the sources bring in from outside `src`, by their path in the crate.
fn brought_in(folder: &Path, found: &mut BTreeSet<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            brought_in(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            let text = fs::read_to_string(&path).expect("a source");
            let text = text.replace("include_bytes!(", "include_str!(");
            for name in text.split("include_str!(\"").skip(1).filter_map(|rest| rest.split('"').next()) {
                let mut whole = path.parent().expect("a folder").to_owned();
                for part in Path::new(name).components() {
                    match part {
                        std::path::Component::ParentDir => drop(whole.pop()),
                        part => whole.push(part),
                    }
                }
                found.insert(whole.strip_prefix(root()).expect("a file of ours").to_owned());
            }
        }
    }
}

/// It packed 25 MB, nearly all of it outputs and tests.
#[test]
fn the_crate_packs_what_it_is_built_from_and_no_more() {
    let list = told(env!("CARGO"), &["package", "--list", "--allow-dirty", "--offline"]);
    let packed: BTreeSet<PathBuf> = list.lines().map(|line| line.trim().replace('\\', "/").into()).collect();
    for start in ["output", "tests", "benches", "target"] {
        assert!(!packed.iter().any(|path| path.starts_with(start)), "{start} is packed");
    }
    let mut needed = BTreeSet::from(["README.md", "LICENSE", "Cargo.toml", "Cargo.lock", "src/main.rs"].map(PathBuf::from));
    brought_in(&root().join("src"), &mut needed);
    assert!(15 < needed.len(), "{needed:?}");
    let missing: Vec<&PathBuf> = needed.difference(&packed).collect();
    assert!(missing.is_empty(), "{missing:?}");
    let size = |path: &PathBuf| fs::metadata(root().join(path)).map_or(0, |of| of.len());
    let whole: u64 = packed.iter().map(size).sum();
    assert!(whole < 5_000_000, "{whole} bytes are packed");
}

/// The lowest Rust of all that is built into the program, and of the edition (2024: 1.85), is the one that the manifest names.
#[test]
fn the_lowest_rust_is_the_one_that_the_dependencies_need() {
    let version = told("rustc", &["-vV"]);
    let host = version.lines().find_map(|line| line.strip_prefix("host: ")).expect("a host");
    let args = ["metadata", "--format-version", "1", "--offline", "--locked", "--filter-platform", host];
    let found: Value = serde_json::from_str(&told(env!("CARGO"), &args)).expect("JSON");
    let rows = |value: &Value| value.as_array().expect("a list").clone();
    let (packages, nodes) = (rows(&found["packages"]), rows(&found["resolve"]["nodes"]));
    let (mut open, mut built) = (vec![found["resolve"]["root"].clone()], Vec::<Value>::new());
    while let Some(id) = open.pop() {
        if built.contains(&id) {
            continue;
        }
        let node = nodes.iter().find(|node| node["id"] == id).expect("a node");
        // Kind `null` is what the program is built with; `build` and `dev` are named.
        let needed = |of: &Value| rows(&of["dep_kinds"]).iter().any(|kind| kind["kind"] != "dev");
        open.extend(rows(&node["deps"]).iter().filter(|of| needed(of)).map(|of| of["pkg"].clone()));
        built.push(id);
    }
    let parts = |text: &str| -> Vec<u32> {
        let mut parts: Vec<u32> = text.split('.').map(|part| part.parse().expect("a number")).collect();
        parts.resize(3, 0);
        parts
    };
    let named = |package: &Value| package["rust_version"].as_str().map(parts);
    let (ours, theirs): (Vec<&Value>, Vec<&Value>) = packages
        .iter()
        .filter(|package| built.contains(&package["id"]))
        .partition(|package| package["id"] == found["resolve"]["root"]);
    let needed = theirs.iter().filter_map(|package| named(package)).chain([parts("1.85")]).max().expect("one at least");
    assert_eq!(named(ours[0]).expect("the manifest names one"), needed);
    assert!(50 < theirs.len(), "{}", theirs.len());
}
