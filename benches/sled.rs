//! How long the cut files of the main example's sleds take: written, and read back as plain mm.
//!
//! Aim: the three bed-loads of one lamination written, read back and audited in 8 ms together.

#![allow(clippy::disallowed_methods, reason = "a bench measures time")]

use divan::{Bencher, black_box};
use std::time::{Duration, Instant};
use taperwright::buildfile;
use taperwright::drawing::Drawing;
use taperwright::model::Build;
use taperwright::sheets;
use taperwright::shop::cutting::{self, SheetCut};
use taperwright::shop::kit::Means;
use taperwright::shop::makes;
use taperwright::shop::sled;
use taperwright::write::{Content, Letters, dxf, dxf_read};

fn main() {
    let build = build();
    let loads = loads(&build);
    let shortest = |run: &dyn Fn()| {
        let time = |_| {
            let start = Instant::now();
            run();
            start.elapsed()
        };
        (0..15).map(time).min().unwrap_or_default()
    };
    let written: Vec<Vec<u8>> = loads.iter().map(|load| bytes(&build, load)).collect();
    let writing = shortest(&|| loads.iter().for_each(|load| drop(black_box(bytes(&build, load)))));
    let reading = shortest(&|| written.iter().for_each(|bytes| drop(black_box(dxf_read::read(bytes).unwrap()))));
    let kib = written.iter().map(Vec::len).sum::<usize>() / 1024;
    let paths: usize = written.iter().map(|bytes| dxf_read::read(bytes).unwrap().paths.len()).sum();
    let ratio = |time: Duration| time.as_secs_f64() / Duration::from_millis(8).as_secs_f64();
    println!("{} loads, {kib} KiB, {paths} closed paths", written.len());
    println!("written   {writing:>10.2?}");
    println!("read back {reading:>10.2?}");
    println!("together  {:>10.2?}, {:.2} of the 8 ms wanted", writing + reading, ratio(writing + reading));
    divan::main();
}

#[divan::bench]
fn cut_files_written(bencher: Bencher) {
    let build = build();
    let loads = loads(&build);
    bencher.bench_local(|| loads.iter().map(|load| bytes(&build, load).len()).sum::<usize>());
}

#[divan::bench]
fn cut_files_read_back(bencher: Bencher) {
    let build = build();
    let written: Vec<Vec<u8>> = loads(&build).iter().map(|load| bytes(&build, load)).collect();
    bencher.bench_local(|| written.iter().map(|bytes| dxf_read::read(bytes).unwrap().paths.len()).sum::<usize>());
}

fn build() -> Build {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/meadow.toml")).unwrap();
    buildfile::read("meadow.toml", &text).1.unwrap().value
}

/// The parts of the core's sled laid on beds: all tries of their order.
#[divan::bench]
fn parts_on_beds(bencher: Bencher) {
    let build = build();
    bencher.bench_local(|| cuts(&build).iter().map(|cut| cut.loads.len()).sum::<usize>());
}

fn cuts(build: &Build) -> Vec<SheetCut> {
    let lamination = build.laminations.iter().find(|one| one.name == "core").unwrap();
    let (plan, sander) = (build.sled_for(lamination).unwrap(), build.sander.as_ref().unwrap());
    let sled = sled::build(lamination, plan, sander).unwrap().value;
    let kit = makes::lay_out(&sled, &Means::of(build, plan, sander, lamination)).unwrap().value;
    cutting::together(build, &[(lamination, plan, &kit)], &[]).unwrap()
}

fn loads(build: &Build) -> Vec<Drawing> {
    sheets::cut::loads(build, &cuts(build)).unwrap().into_iter().map(|load| load.drawing).collect()
}

fn bytes(build: &Build, drawing: &Drawing) -> Vec<u8> {
    dxf::dxf(drawing, &build.shop.lines, build.units, Content::CutterOnly, Letters::of(&build.shop.cutter)).unwrap()
}
