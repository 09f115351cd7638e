//! What the door costs: reading, checking, trying a value, the report, every file; with what was made and what was kept.

#![allow(clippy::disallowed_methods, reason = "a bench measures time")]

use std::hint::black_box;
use std::time::{Duration, Instant};
use taperwright::job::{Change, Inputs, Job};

/// The shortest of a few runs; noise only adds.
fn shortest<T>(runs: u32, mut work: impl FnMut(u32) -> T) -> Duration {
    let one = |run| {
        let start = Instant::now();
        black_box(work(run));
        start.elapsed()
    };
    (0..runs).map(one).min().unwrap_or_default()
}

fn main() {
    for (name, core, unit, base) in [("meadow", "core", "in", 0.18), ("heron", "core one", "mm", 4.0)] {
        let path = format!("{}/examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).expect("the example is there");
        let read = || Job::read(name, &text, Inputs::default()).expect("it reads");
        let job = read();
        let thickness = |run: u32| {
            let value = base * (1.0 + 5e-4 * f64::from(run % 200));
            Change::new(format!("lamination[{core}].thickness"), format!("{value:.4} {unit}"))
        };
        println!("{name}");
        let mut first_time = None;
        let mut row = |what: &str, wanted_ms: Option<f64>, time: Duration| {
            let first = *first_time.get_or_insert(time);
            let wanted = wanted_ms.map_or_else(|| " ".repeat(15), |ms: f64| format!("(wanted {ms:>3} ms)"));
            println!(
                "  {:>9.3} ms  {:>8.1} x  {wanted}  {what}",
                1e3 * time.as_secs_f64(),
                time.as_secs_f64() / first.as_secs_f64()
            );
        };
        row("a build file read", Some(1.0), shortest(40, |_| read()));
        row("a value tried: text edited and read, stages kept", Some(1.0), shortest(40, |run| job.with(&[thickness(run)])));
        let curve = |run| job.with(&[thickness(run)]).expect("it is sound").force_curve().is_ok();
        row("a thickness tried: force curve, glue-up, strains", Some(2.0), shortest(60, curve));
        let title = |_| job.with(&[Change::new("title", "another")]).expect("it is sound").force_curve().is_ok();
        let _ = job.force_curve();
        row("a title tried: the force curve is the one there was", Some(1.0), shortest(40, title));
        row("read and checked, nothing drawn", Some(5.0), shortest(10, |_| read().warnings().is_ok()));
        let whole = |_| {
            let job = read();
            let drawn = job.sensitivity().is_ok() && job.tiller_targets().is_ok() && job.hinges().is_ok();
            drawn && job.tip_scatter_mm().is_ok()
        };
        row("the bow whole: curve, strains, sensitivities, tiller targets, scatter", Some(10.0), shortest(10, whole));
        row(
            "all that is published of it: heavy blanks, floor tiller, twist too",
            None,
            shortest(10, |_| read().bow_report().is_ok()),
        );
        let schedules = |_| {
            let job = read();
            (0..job.build().laminations.len()).filter(|index| job.ground(*index).is_ok()).count()
        };
        row("sleds and passes of all laminations", Some(1.0), shortest(20, schedules));
        let proved = |_| {
            let job = read();
            job.warnings().is_ok() && (0..job.build().laminations.len()).all(|index| job.lamination_report(index).is_ok())
        };
        row("plan with proof on its own cut files", Some(60.0), shortest(5, proved));
        row(
            "the whole report: that and the bow, with its arrows and ways of gluing",
            None,
            shortest(5, |_| read().report().is_ok()),
        );
        let all = |_| {
            let job = read();
            let files = job.files().expect("it can be made");
            (0..files.names().len()).map(|number| files.bytes(number).map_or(0, |bytes| bytes.len())).sum::<usize>()
        };
        let (bytes, count) = (all(0), job.files().map_or(0, |files| files.names().len()));
        row(&format!("every file: {count} of {bytes} bytes"), Some(200.0), shortest(3, all));
    }
}
