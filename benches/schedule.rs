//! How long a sled and its pass schedule take: one lamination, and 10, 100, 1 000 of them; few stations and many.
//!
//! Aim: sled and schedule of one lamination in under a millisecond. Before divan's table this prints what each tenfold of
//! laminations and of stations costs; cost that grows in proportion shows ratios near ten.

#![allow(clippy::disallowed_methods, reason = "a bench measures time")]

#[path = "../tests/support/mod.rs"]
mod support;

use divan::{Bencher, black_box};
use std::time::{Duration, Instant};
use support::shop::{self, papers};
use taperwright::model::lamination::{Lamination, Pieces, Stock};
use taperwright::model::taper::Taper;
use taperwright::model::wood;
use taperwright::model::workshop::Sander;
use taperwright::numeric::interp::Between;
use taperwright::shop::{passes, sled};
use taperwright::units::MM_PER_IN;

fn main() {
    let sander = sander(MM_PER_IN / 1000.0);
    print_ratios("laminations", &[10, 100, 1000], |count| batch(count).iter().map(|one| work(one, &sander)).sum());
    print_ratios("stations", &[10, 100, 1000, 10_000], |count| work(&stationed(count), &sander));
    divan::main();
}

/// Sled and schedule of one lamination in hard maple, resawn stock, three papers, a gauge in thousandths.
#[divan::bench]
fn one_lamination(bencher: Bencher) {
    let (lamination, sander) = (straight(0), sander(MM_PER_IN / 1000.0));
    bencher.bench_local(|| work(black_box(&lamination), &sander));
}

/// A gauge in hundredths of a millimetre: two and a half times the settings to weigh.
#[divan::bench]
fn one_lamination_on_a_fine_gauge(bencher: Bencher) {
    let (lamination, sander) = (straight(0), sander(0.01));
    bencher.bench_local(|| work(black_box(&lamination), &sander));
}

#[divan::bench]
fn one_smooth_lamination(bencher: Bencher) {
    let points = vec![(0.0, 3.2), (250.0, 3.1), (600.0, 2.2), (876.3, 1.3)];
    let lamination = lamination(Taper::stations(points, Between::Smooth).unwrap());
    let sander = sander(MM_PER_IN / 1000.0);
    bencher.bench_local(|| work(black_box(&lamination), &sander));
}

#[divan::bench(args = [10, 100, 1000], sample_count = 10)]
fn laminations(bencher: Bencher, count: usize) {
    let (batch, sander) = (batch(count), sander(MM_PER_IN / 1000.0));
    bencher.bench_local(|| black_box(&batch).iter().map(|one| work(one, &sander)).sum::<usize>());
}

#[divan::bench(args = [10, 100, 1000, 10_000], sample_count = 10)]
fn stations(bencher: Bencher, count: usize) {
    let (lamination, sander) = (stationed(count), sander(MM_PER_IN / 1000.0));
    bencher.bench_local(|| work(black_box(&lamination), &sander));
}

/// Shortest of fifteen runs at each size, and each size against the one before.
// A bench is where time is measured.
#[allow(clippy::disallowed_methods)]
fn print_ratios(what: &str, sizes: &[usize], run: impl Fn(usize) -> usize) {
    let mut before: Option<Duration> = None;
    for &size in sizes {
        let shortest = (0..15)
            .map(|_| {
                let start = Instant::now();
                black_box(run(black_box(size)));
                start.elapsed()
            })
            .min()
            .unwrap_or_default();
        match before {
            Some(before) => {
                println!(
                    "{size:>6} {what}: {shortest:>10.2?}, {:.1} times the row above",
                    shortest.as_secs_f64() / before.as_secs_f64()
                )
            }
            None => println!("{size:>6} {what}: {shortest:>10.2?}"),
        }
        before = Some(shortest);
    }
}

/// Sled and schedule; the count of passes keeps the work from being left out.
fn work(lamination: &Lamination, sander: &Sander) -> usize {
    let sled = sled::build(lamination, &shop::plan(), sander).unwrap().value;
    passes::plan(lamination, Some(&sled), sander).unwrap().value.passes().count()
}

fn batch(count: usize) -> Vec<Lamination> {
    (0..count).map(straight).collect()
}

/// Each a little different, so that none repeats another's numbers.
fn straight(index: usize) -> Lamination {
    lamination(Taper::straight(0.0, 876.3, 2.794 + 0.0001 * index as f64, 0.0015).unwrap())
}

/// The same taper, stated at many stations.
fn stationed(count: usize) -> Lamination {
    let points = (0..=count).map(|k| {
        let fraction = k as f64 / count as f64;
        (876.3 * fraction, 3.2 - 1.6 * fraction * fraction)
    });
    lamination(Taper::stations(points.collect(), Between::Straight).unwrap())
}

fn lamination(finished: Taper) -> Lamination {
    let wood = wood::named("maple, sugar").unwrap().at_moisture(0.08);
    let stock = Stock { thickness_mm: 4.572, spread_mm: 0.127, width_mm: 44.45, overrun_mm: 19.0, first_face_mm: 0.0 };
    shop::lamination("core", wood, finished, 876.3, Pieces::Halves, stock)
}

fn sander(gap_step_mm: f64) -> Sander {
    Sander { gap_step_mm, papers: papers(&[36, 60, 80]), together: 2, ..shop::sander() }
}
