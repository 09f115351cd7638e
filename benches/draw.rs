//! How long the mechanics take: a force curve, the force at full draw alone, and the parts below them.
//!
//! Aims: a curve of 30 points under a millisecond at 1e-8 of force; sizing under 30 ms.

#[path = "../tests/support/mod.rs"]
mod support;

use divan::{Bencher, black_box};
use support::bows;
use taperwright::mechanics::bow::{Bow, Options};
use taperwright::mechanics::draw;
use taperwright::model::build::{Sizing, SizingHow};

fn main() {
    divan::main();
}

#[divan::bench]
fn curve_of_30_points(bencher: Bencher) {
    let build = bows::flatbow();
    let options = Options { draw_step_mm: 508.0 / 30.0, ..Options::default() };
    assert!(30 <= draw::curve(&build, &options).unwrap().value.points.len());
    bencher.bench_local(|| draw::curve(black_box(&build), black_box(&options)));
}

#[divan::bench]
fn full_draw_alone(bencher: Bencher) {
    let build = bows::flatbow();
    let options = Options::default();
    bencher.bench_local(|| {
        let bow = Bow::of(black_box(&build), &options).unwrap();
        draw::weight(&bow, &options)
    });
}

#[divan::bench]
fn laying_the_limb(bencher: Bencher) {
    let build = bows::flatbow();
    let options = Options::default();
    bencher.bench_local(|| Bow::of(black_box(&build), &options).unwrap());
}

#[divan::bench]
fn one_pass(bencher: Bencher) {
    let build = bows::flatbow();
    let bow = Bow::of(&build, &Options::default()).unwrap();
    bencher.bench_local(|| bow.limb.pass(black_box(300.0), black_box(0.6)));
}

#[divan::bench(args = ["thickness", "both"])]
fn sizing(bencher: Bencher, how: &str) {
    let mut build = bows::flatbow();
    let how = if how == "both" { SizingHow::Both } else { SizingHow::Thickness };
    build.sizing = Some(Sizing { change: vec![0, 1], how, limits: Vec::new() });
    bencher.bench_local(|| taperwright::mechanics::sizing::size(black_box(&build), &Options::default()));
}

/// Ten thousand stacks, each a little different, on both cores: what a search over many builds costs.
#[divan::bench(sample_count = 3, sample_size = 1)]
fn sweep_of_ten_thousand() -> f64 {
    let workers = 2;
    let build = bows::flatbow();
    std::thread::scope(|scope| {
        let part = |worker: usize| {
            let build = &build;
            scope.spawn(move || {
                let mut sum = 0.0;
                for k in (worker..10_000).step_by(workers) {
                    let options = Options { stiffness_factor: 0.9 + 2e-5 * k as f64, ..Options::default() };
                    let bow = Bow::of(build, &options).expect("a bow");
                    sum += draw::weight(&bow, &options).expect("it is drawn").force_n;
                }
                sum
            })
        };
        let handles: Vec<_> = (0..workers).map(part).collect();
        handles.into_iter().map(|handle| handle.join().expect("no panic")).sum()
    })
}
