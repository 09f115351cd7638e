//! What the bench costs in a real browser: moves answered and painted, the first page, memory after many moves, and an idle page. The
//! figures are printed by `tests/peers/bench_times.py`; a number behind the name of the bench makes fewer moves.

#[path = "../tests/peers/mod.rs"]
mod peers;

use std::path::{Path, PathBuf};

fn main() {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let named = std::env::split_paths(&path).flat_map(|folder| ["chromium", "chromium-browser"].map(|name| folder.join(name)));
    let Some(chromium) = named.into_iter().find(|program: &PathBuf| program.is_file()) else {
        println!("left out: there is no Chromium on this machine");
        return;
    };
    let moves = std::env::args().find_map(|word| word.parse::<u32>().ok()).unwrap_or(600);
    let given = serde_json::json!({
        "program": env!("CARGO_BIN_EXE_taperwright"),
        "examples": Path::new(env!("CARGO_MANIFEST_DIR")).join("examples"),
        "chromium": chromium,
        "moves": moves,
        "questions": 10_000 * u64::from(moves) / 600,
    });
    if let Some(figures) = peers::run("bench_times.py", &[], &given.to_string()) {
        print!("{figures}");
    }
}
