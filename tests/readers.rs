//! Every reader over mutated examples: the bodies of the fuzz targets (`tests/fuzz`), bounded, on stable.

#[path = "fuzz/bodies.rs"]
mod bodies;
mod support;

use std::fs;
use std::path::Path;
use support::chance::Chance;

/// What a reader trips over: its own punctuation, numbers out of all reason, letters of more bytes than one.
const PIECES: [&[u8]; 24] = [
    b"[",
    b"]",
    b"[[",
    b"=",
    b"\"",
    b"'",
    b"{",
    b"}",
    b",",
    b"\n",
    b"#",
    b"-",
    b".",
    b"e999",
    b"nan",
    b"inf",
    b"-0",
    b"1e-300",
    b"99999999999999999999",
    b"\xff",
    "\u{202e}".as_bytes(),
    "½".as_bytes(),
    b"\0",
    b"\r",
];

fn mutated(seed: &[u8], chance: &mut Chance) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for _ in 0..1 + chance.below(4) {
        let at = chance.below(bytes.len() + 1);
        let end = (at + chance.below(40)).min(bytes.len());
        match chance.below(6) {
            0 => drop(bytes.drain(at..end)),
            1 => drop(bytes.splice(at..at, PIECES[chance.below(PIECES.len())].iter().copied())),
            2 => drop(bytes.splice(at..end, PIECES[chance.below(PIECES.len())].iter().copied())),
            3 => {
                let copy = bytes[at..end].to_vec();
                let to = chance.below(bytes.len() + 1);
                bytes.splice(to..to, copy);
            }
            4 => bytes.truncate(at),
            _ if at < bytes.len() => bytes[at] ^= 1 << chance.below(8),
            _ => {}
        }
    }
    bytes
}

fn run(seeds: &[Vec<u8>], rounds: usize, body: fn(&[u8])) {
    let mut chance = Chance::of(7);
    for seed in seeds {
        body(seed);
        (0..rounds).for_each(|_| body(&mutated(seed, &mut chance)));
    }
}

fn files(folder: &str, ending: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut paths: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.retain(|path| path.extension().is_some_and(|found| found == ending));
    paths.iter().map(|path| fs::read(path).unwrap()).collect()
}

#[test]
fn build_files() {
    let seeds: Vec<Vec<u8>> = files("examples", "toml").into_iter().chain(files("tests/faults", "toml")).collect();
    assert!(40 < seeds.len());
    run(&seeds, 40, bodies::build_file);
}

#[test]
fn logs() {
    run(&files("examples/logs", "toml"), 1500, bodies::log);
}

#[test]
fn values() {
    let seeds = ["1 5/8 in", "0.002 in/in", "42 lbf", "19 mm", "15 deg", "12.5 GPa", "-3 1/2", "99.2x99.6", "1e3 mm", "18 h"];
    run(&seeds.map(|seed| seed.as_bytes().to_vec()), 2000, bodies::value);
}

#[test]
fn cut_files() {
    let mut seeds = files("output/meadow/templates", "dxf");
    seeds.sort_by_key(Vec::len);
    seeds.truncate(2);
    assert_eq!(seeds.len(), 2);
    run(&seeds, 60, bodies::cut_file);
}
