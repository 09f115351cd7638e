//! The bench in a real browser: what a builder does there gives what the command line gives, and loses nothing.
//!
//! Chromium comes from the distribution. Without one the tests say that they were left out, unless `TAPERWRIGHT_BROWSER=required` is set.
//! `TAPERWRIGHT_BLESS=1` takes the README's picture anew. What is done there stands in `peers/bench_*.py`; each script is given the names of
//! what it has to do, so that none can be forgotten in silence.

mod peers;

use std::path::{Path, PathBuf};
use taperwright::job::{Inputs, Job};
use taperwright::mechanics::pair::PairOptions;
use taperwright::mechanics::section::Stack;
use taperwright::mechanics::tiller_fit::PairDesign;
use taperwright::mechanics::tillering::{LOWER, LaidPair, LoadCase, PositiveTiller, UPPER};
use taperwright::units::MM_PER_IN;

fn chromium() -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let found = std::env::split_paths(&path)
        .flat_map(|folder| ["chromium", "chromium-browser"].map(|name| folder.join(name)))
        .find(|program| program.is_file());
    let required = std::env::var("TAPERWRIGHT_BROWSER").is_ok_and(|value| value == "required");
    assert!(found.is_some() || !required, "Chromium is required here and is not on the machine: install the package `chromium`");
    found
}

fn held(script: &str, scenarios: &[&str]) {
    held_with(script, scenarios, serde_json::Value::Null);
}

/// The same with something to work on.
fn held_with(script: &str, scenarios: &[&str], work: serde_json::Value) {
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
        "work": work,
    });
    let Some(answer) = peers::run(script, scenarios, &given.to_string()) else { return };
    print!("{answer}");
    let held: Vec<&str> = answer.lines().collect();
    for scenario in scenarios {
        assert!(held.contains(scenario), "{scenario} did not hold:\n{answer}");
    }
}

/// A thickness or a weight set on the page gives what `bow --json` and `size` give; kept, only those values differ.
#[test]
fn levers_and_figures_that_pull() {
    held(
        "bench_levers.py",
        &[
            "speeds_are_what_shot_says",
            "thickness_keep_take_back",
            "millimetres",
            "weight_drawn_by_keys",
            "weight_drawn_by_pointer",
            "weight_drawn_by_finger",
            "bow_drawn_by_hand",
            "outline_drawn_by_hand",
            "strain_drawn_down",
            "strain_slider",
            "released_tip_drawn",
            "another_wood",
            "told_at_its_lever",
            "held_and_solved",
            "stepped_through_a_series",
        ],
    );
}

/// Edits from outside, faults, files that go, two pages, disks that refuse: nothing is lost, all is said.
#[test]
fn nothing_is_lost_at_the_bench() {
    held(
        "bench_files.py",
        &[
            "edited_elsewhere",
            "faulty",
            "faulty_from_the_start",
            "vanished",
            "two_pages",
            "changed_at_the_last_moment",
            "a_lamination_put_before",
            "read_only_folder",
            "full_disk",
            "busy_port",
            "ended_and_begun_again",
            "first_minute",
            "an_example_to_begin_with",
        ],
    );
}

#[test]
fn by_keyboard_alone_and_by_touch_alone() {
    held(
        "bench_hands.py",
        &["by_keyboard_alone", "glue_up_and_book_by_keyboard", "by_touch_alone", "glue_up_and_book_by_touch", "tries_set_aside"],
    );
}

/// No finding of the accessibility checker in both themes at three widths; the book read in the page and in a tab of its own.
#[test]
fn looks_and_reads_well() {
    held("bench_looks.py", &["accessible", "other_states_accessible", "theme_chosen", "book_read"]);
}

/// Two build files of one bow: figures as `bow --lower`, solving as `size --lower`, the folder of `make --lower`; both files kept or neither.
#[test]
fn two_different_limbs() {
    held(
        "bench_two_limbs.py",
        &[
            "as_bow_says",
            "weight_drawn",
            "whole_or_not_at_all",
            "edited_elsewhere",
            "faulty",
            "glue_and_book",
            "not_to_be_made",
            "a_series_is_not_stepped_through",
            "tries_set_aside",
            "by_keyboard_alone",
            "shop_says_whose",
            "accessible",
            "the_same_file_twice",
        ],
    );
}

/// The book from the folder: nothing wider than a phone, no word broken, passes as cards, ticks and notes that stay or are said to be lost.
#[test]
fn the_book_on_a_screen() {
    held("book_screen.py", &["accessible", "nothing_wider", "words_unbroken", "passes_stacked", "kept", "refused"]);
}

/// The shop on a phone: paired, by touch, without a secure context or a network; the log is what `log add` would have written.
#[test]
fn phones_in_the_shop() {
    held(
        "phone_page.py",
        &[
            "the_main_examples_log",
            "ten_taps",
            "asked_and_answered",
            "without_network",
            "ticks",
            "glue_and_tiller",
            "in_and_out",
            "millimetres",
            "shims_listed",
            "accessible",
        ],
    );
}

/// Both limbs of the main example at brace, the upper one half as stiff again from 20 to 27 inches, with nothing else off its target: place, depth and half
/// width at stations along each back, mm.
fn bow_with_a_stiff_stretch() -> serde_json::Value {
    let text = include_str!("../examples/meadow.toml");
    let job = Job::read("meadow.toml", text, Inputs::default()).unwrap();
    let (build, options) = (job.build(), job.solver_options().unwrap());
    let pair = PairOptions { options: options.clone(), lower_unstrung: options.unstrung.clone(), ..PairOptions::default() };
    let stretch = [20.0 * MM_PER_IN, 27.0 * MM_PER_IN];
    let design = PairDesign::of(build, build, &pair, PositiveTiller::of(build), &[]).unwrap();
    let laid = LaidPair::of(build, build, &pair, &stretch).unwrap();
    let [upper, lower] = [UPPER, LOWER].map(|side| {
        laid.limbs()[side].stiffened(|s| match side {
            UPPER if stretch[0] <= s && s <= stretch[1] => 1.5 * design.weaker().factor,
            UPPER => design.weaker().factor,
            _ => 1.0,
        })
    });
    let brace_mm = build.target.unwrap().brace_height_mm;
    let load = LoadCase { brace_mm, pivot_to_nock_mm: None };
    let solved = laid.bend([&upper, &lower], load, 0.0, None).unwrap();
    let (stack, outline) = (Stack::of(build).unwrap(), build.outline.as_ref().unwrap());
    let limbs = laid.backs([&upper, &lower], &solved).map(|back| {
        let count = 160;
        (0..=count)
            .map(|k| {
                let at = back.at(outline.nock_mm() * f64::from(k) / f64::from(count));
                let depth = stack.properties(at.s_mm, at.s_mm).depth_mm;
                [at.s_mm, at.x_mm, at.y_mm, at.angle_rad, depth, 0.5 * outline.width_at(at.s_mm)]
            })
            .collect::<Vec<_>>()
    });
    serde_json::json!({ "limbs": limbs, "stretch_mm": stretch, "fade_mm": build.riser.as_ref().unwrap().feather_station_mm() })
}

/// A picture is chosen, marked by pointer, keys and finger, answered and logged; it stays in the page, and what was hidden in it is found.
#[test]
fn tiller_from_a_photograph() {
    let scenarios = ["marked_and_logged", "marked_by_keys_and_asked", "marked_by_touch", "photograph_accessible"];
    held_with("photograph_page.py", &scenarios, bow_with_a_stiff_stretch());
}
