//! The bench in a real browser: what a builder does there gives what the command line gives, and loses nothing.
//!
//! Chromium comes from the distribution. Without one the test says that it was left out, unless `TAPERWRIGHT_BROWSER=required` is set.
//! `TAPERWRIGHT_BLESS=1` takes the README's picture anew.

mod peers;

use std::path::{Path, PathBuf};

fn chromium() -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let found = std::env::split_paths(&path)
        .flat_map(|folder| ["chromium", "chromium-browser"].map(|name| folder.join(name)))
        .find(|program| program.is_file());
    let required = std::env::var("TAPERWRIGHT_BROWSER").is_ok_and(|value| value == "required");
    assert!(found.is_some() || !required, "Chromium is required here and is not on the machine: install the package `chromium`");
    found
}

/// What each did is in `peers/bench_page.py`.
#[test]
fn a_builder_at_the_bench() {
    let Some(chromium) = chromium() else {
        println!("left out: there is no Chromium on this machine");
        return;
    };
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let picture = std::env::var_os("TAPERWRIGHT_BLESS").map(|_| root.join("examples/bench.png"));
    let given = serde_json::json!({
        "program": env!("CARGO_BIN_EXE_taperwright"),
        "examples": root.join("examples"),
        "chromium": chromium,
        "picture": picture,
    });
    let Some(answer) = peers::run("bench_page.py", &[], &given.to_string()) else { return };
    let held: Vec<&str> = answer.lines().collect();
    for scenario in [
        "thickness_keep_take_back",
        "weight_drawn",
        "edited_elsewhere_and_412",
        "first_minute",
        "by_keyboard_alone",
        "by_touch_alone",
        "accessible",
    ] {
        assert!(held.contains(&scenario), "{scenario} did not hold:\n{answer}");
    }
}
