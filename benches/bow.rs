//! What a bow costs: force curve and glue-up after one thickness has changed, and everything else that is known of a bow.
//!
//! Prints a table: shortest of many runs, each as a multiple of the row above, and what was counted while it ran (steps of a pass, passes,
//! right-hand sides). Aim: force curve of 21 points with its glue-up under 2 ms, the bow whole under 10 ms.

#![allow(clippy::disallowed_methods, reason = "a bench measures time")]

use std::hint::black_box;
use std::time::{Duration, Instant};
use taperwright::mechanics::bow::{Bow, Options, StringOn, Unstrung};
use taperwright::mechanics::draw::DrawCurve;
use taperwright::mechanics::glueup::{self, compare, scatter};
use taperwright::mechanics::tiller::{Standing, TargetGrid, Targets};
use taperwright::mechanics::{blank, draw, hinge, sensitivity, tiller};
use taperwright::model::Build;
use taperwright::numeric::ode::STAGES;
use taperwright::shop::blank::heavy_beside;
use taperwright::units::MM_PER_IN;

fn main() {
    let text = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/examples/meadow.toml")).expect("the main example");
    let build = taperwright::buildfile::read("meadow.toml", &text).1.expect("it reads").value;
    let glued = glueup::plan(&build).expect("it is glued").value;
    let options = options(glued.unstrung.clone());
    let curve = draw::curve(&build, &options).expect("it draws").value;
    let passes: usize = curve.effort.passes.iter().sum();
    println!("{} points, {} stations", curve.points.len(), curve.stations.len());
    println!("{:>9}  {:>7}  {:>8}  what", "shortest", "times", "counted");
    let mut table = Table { above: None };
    let mut count = 0;
    table.row("force curve and glue-up after a changed thickness", "", || {
        count += 1;
        let mut other = build.clone();
        let changed = taperwright::mechanics::sizing::changed(&build.laminations[0], 1e-4 * f64::from(count % 100), 0.0);
        other.laminations[0] = changed.expect("a thicker back");
        let unstrung = glueup::unstrung(&other).expect("it is glued").value;
        draw::curve(&other, &self::options(unstrung)).expect("it draws")
    });
    table.row("unstrung shape alone", "", || glueup::unstrung(&build));
    table.row("glue-up with its loads, clamps and strains", "", || glueup::plan(&build));
    let sides = passes * curve.effort.steps_per_pass * STAGES;
    let told = format!("{} steps, {passes} passes, {sides} right-hand sides", curve.effort.steps_per_pass);
    table.row("force curve alone", &told, || draw::curve(&build, &options));
    table.row("laying the limb", "", || Bow::of(&build, &options).map(|bow| bow.limb));
    let bow = Bow::of(&build, &options).expect("a bow");
    table.row("one pass", &format!("{} right-hand sides", bow.limb.steps() * STAGES), || bow.limb.pass(300.0, 0.6));
    let alone = Options { station_step_mm: f64::MAX, ..options.clone() };
    let passes = draw::weight(&Bow::of(&build, &alone).expect("a bow"), &alone).expect("it draws").passes;
    let steps = Bow::of(&build, &alone).expect("a bow").limb.steps();
    let told = format!("{steps} steps, {passes} passes");
    table.row("force at full draw alone", &told, || draw::weight_of(&build, &alone));
    table.row("sensitivities", "", || sensitivity::of(&build, &options));
    let stations = tiller::stations(&build, 4.0 * MM_PER_IN);
    table.row("tiller targets", "", || targets(&build, &options, &curve, stations.clone()));
    table.row("stiff spots", "", || hinge::find(&build, &curve));
    table.row("floor tiller, three drops", "", || blank::floor(&build, &options, &[25.4, 50.8, 101.6]));
    let excesses_n = [8.9, 22.2, 44.5, 89.0];
    table.row("heavy blanks, four excesses", "", || heavy_beside(&build, &options, None, &excesses_n));
    table.row("scatter of tips", "", || scatter::of_tips(&build, &glued));
    table.row("three ways of gluing", "", || compare::compare(&build, &glued, &options));
    table.row("the bow whole", "", || whole(&build));
    let long = Options { string: StringOn::Long { length_mm: 1950.0 }, ..options.clone() };
    table.row("force curve on a long string", "", || draw::curve(&build, &long));
}

/// As the main job draws a bow described in inches.
fn options(unstrung: Unstrung) -> Options {
    Options { draw_step_mm: MM_PER_IN, station_step_mm: MM_PER_IN, unstrung, ..Options::default() }
}

/// Glue-up, curve, strains, sensitivities, tiller targets and scatter.
fn whole(build: &Build) -> f64 {
    let glued = glueup::plan(build).expect("it is glued").value;
    let options = options(glued.unstrung.clone());
    let curve = draw::curve(build, &options).expect("it draws").value;
    let sensitivity = sensitivity::of(build, &options).expect("it answers").value;
    let stations = tiller::stations(build, 4.0 * MM_PER_IN);
    let targets = targets(build, &options, &curve, stations);
    let scatter = scatter::of_tips(build, &glued).expect("it can be held");
    curve.worst[0].strain + sensitivity.weight_n + targets.rows[0].force_n + scatter[0]
}

fn targets(build: &Build, options: &Options, curve: &DrawCurve, stations_mm: Vec<f64>) -> Targets {
    let standing = Standing::of(build, options, curve, &stations_mm).expect("it has a tiller");
    let grid = TargetGrid { stations_mm, draw_step_mm: 2.0 * MM_PER_IN };
    standing.targets(build, options, curve, grid).expect("it has a tiller")
}

struct Table {
    above: Option<Duration>,
}

impl Table {
    fn row<T>(&mut self, what: &str, counted: &str, mut run: impl FnMut() -> T) {
        let shortest = (0..40)
            .map(|_| {
                let start = Instant::now();
                black_box(run());
                start.elapsed()
            })
            .min()
            .unwrap_or_default();
        let ratio = self.above.map_or(String::new(), |above| format!("{:.2}", shortest.as_secs_f64() / above.as_secs_f64()));
        let told = if counted.is_empty() { String::new() } else { format!(" ({counted})") };
        println!("{:>9.3} ms {ratio:>6}  {what}{told}", 1e3 * shortest.as_secs_f64());
        self.above = Some(shortest);
    }
}
