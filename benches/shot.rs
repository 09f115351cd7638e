//! What a shot costs, and a force curve whose string touches.
//!
//! Prints a table: shortest of many runs, each as a multiple of the row above, and what was counted (steps, solutions of a chain, passes). Aim: a
//! shot good to a thousandth of its efficiency under 10 ms, a force curve with contact under 3 ms.

#![allow(clippy::disallowed_methods, reason = "a bench measures time")]

use std::hint::black_box;
use std::time::{Duration, Instant};
use taperwright::job::{Inputs, Job};
use taperwright::mechanics::draw;
use taperwright::mechanics::shot::loss::Loss;
use taperwright::mechanics::shot::of_bow::ShootingBow;
use taperwright::mechanics::shot::table::ShotTable;
use taperwright::units::arrow_kg;

fn main() {
    let read = |name: &str| {
        let path = format!("{}/examples/{name}.toml", env!("CARGO_MANIFEST_DIR"));
        Job::read(name, &std::fs::read_to_string(path).expect("an example"), Inputs::default()).expect("it reads")
    };
    let (flat, recurve) = (read("meadow"), read("more/curlew"));
    let (options, curve) = (flat.solver_options().expect("options"), flat.force_curve().expect("it draws"));
    println!("{:>9}  {:>7}  {:>8}  what", "shortest", "times", "counted");
    let mut table = Table { above: None };
    let shooting = |links: [usize; 2]| ShootingBow::of_links(flat.build(), options, curve, links).expect("it shoots");
    for links in [[5, 10], [10, 20], [20, 40]] {
        let bow = shooting(links);
        let arrow = arrow_kg(9.0, bow.draw_weight_n);
        let shot = bow.shoot(arrow).expect("a shot");
        let told = format!(
            "{links:?} links, {} steps, {} solutions, efficiency {:.5}",
            shot.effort.steps, shot.effort.solves, shot.efficiency
        );
        table.row("a shot", &told, || bow.shoot(arrow));
    }
    table.row("its chains laid and drawn", "", || shooting([10, 20]));
    let bow = shooting([10, 20]);
    table.row("the whole table", "", || ShotTable::of(&bow, Loss::of(flat.build())));
    for (name, job) in [("force curve, the string free", &flat), ("force curve, the string touches at brace", &recurve)] {
        let options = job.solver_options().expect("options");
        let effort = &job.force_curve().expect("it draws").effort;
        let told = format!("{} steps, {} passes", effort.steps_per_pass, effort.passes.iter().sum::<usize>());
        table.row(name, &told, || draw::curve(job.build(), options));
    }
}

struct Table {
    above: Option<Duration>,
}

impl Table {
    fn row<T>(&mut self, what: &str, counted: &str, mut work: impl FnMut() -> T) {
        let mut shortest = Duration::MAX;
        let begun = Instant::now();
        let mut runs = 0;
        while runs < 5 || (runs < 400 && begun.elapsed() < Duration::from_millis(400)) {
            let from = Instant::now();
            black_box(work());
            shortest = shortest.min(from.elapsed());
            runs += 1;
        }
        let times = self.above.map_or(String::new(), |above| format!("{:.2}", shortest.as_secs_f64() / above.as_secs_f64()));
        println!(
            "{:>6.2} ms  {times:>7}  {what}{}{counted}",
            1e3 * shortest.as_secs_f64(),
            if counted.is_empty() { "" } else { ": " }
        );
        self.above = Some(shortest);
    }
}
