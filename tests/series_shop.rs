//! What do many bows teach? The fit against SciPy; hidden drift and batches, found or said not to be resolved; intervals that hold as often as
//! they say; and a hundred shops with hidden wood, whose second series is made by what the log of the first one taught.
//!
//! Readings of the shops are made by the forward model from hidden moduli and thicknesses, never by the formula that fits.

mod peers;
mod support;

use support::chance::Chance;
use taperwright::diag::Place;
use taperwright::job::{Inputs, Job, Series};
use taperwright::mechanics::calibration::{ComputedWeight, WeightObservation};
use taperwright::mechanics::draw;
use taperwright::mechanics::fleet::{Cause, Fleet, FleetBow, fleet};
use taperwright::mechanics::sizing;
use taperwright::model::Build;
use taperwright::model::log::{BowWeighing, Of, Reading, TakenOff};
use taperwright::model::taper::Taper;
use taperwright::numeric::regression::regression;
use taperwright::numeric::span::Span;
use taperwright::shop::logged::{Background, OtherBuild, ShopLog};

const LBF: f64 = 4.448_221_615_260_5;

// The fit against SciPy (scipy.linalg.lstsq and svd, scipy.stats.t and chi2)

/// Readings of several causes, and the row at which the fit is asked for.
struct Case {
    rows: Vec<Vec<f64>>,
    y: Vec<f64>,
    at: Vec<f64>,
    outside: f64,
}

#[test]
fn causes_agree_with_scipy() {
    let mut chance = Chance::of(3);
    let cases: Vec<Case> = [(2, 1), (3, 1), (5, 2), (9, 4), (40, 5)]
        .into_iter()
        .map(|(bows, columns): (usize, usize)| {
            let row = |chance: &mut Chance| {
                std::iter::once(1.0)
                    .chain((1..columns).map(|k| chance.between(-1.0, 1.0) * 10.0_f64.powi(k as i32 - 2)))
                    .collect::<Vec<f64>>()
            };
            let rows: Vec<Vec<f64>> = (0..bows).map(|_| row(&mut chance)).collect();
            let y = (0..bows).map(|_| 0.9 + 0.05 * chance.normal()).collect();
            Case { rows, y, at: row(&mut chance), outside: if bows == 9 { 0.05 / 3.0 } else { 0.05 } }
        })
        .collect();
    let input: Vec<serde_json::Value> = cases
        .iter()
        .map(|Case { rows, y, at, outside }| serde_json::json!({ "rows": rows, "y": y, "at": at, "outside": outside }))
        .collect();
    let Some(answer) = peers::run("regressions.py", &[], &serde_json::to_string(&input).unwrap()) else { return };
    let answers: Vec<serde_json::Value> = serde_json::from_str(&answer).unwrap();
    assert_eq!(answers.len(), cases.len());
    for (Case { rows, y, at, outside }, theirs) in cases.iter().zip(&answers) {
        let fit = regression(rows, y).unwrap();
        let near = |what: &str, ours: f64, theirs: &serde_json::Value| {
            let theirs = theirs.as_f64().unwrap();
            assert!((ours - theirs).abs() <= 1e-7 * theirs.abs().max(1e-3), "{what} of {} bows: {ours} {theirs}", y.len());
        };
        for (k, ours) in fit.coefficients.iter().enumerate() {
            near("coefficient", *ours, &theirs["coefficients"][k]);
        }
        near("half width", fit.half_width(at, *outside), &theirs["half"]);
        near("half width of the next", fit.half_width_of_next(at, *outside), &theirs["half_of_next"]);
        let Span { min: least, max: most } = fit.scatter_between(*outside);
        near("scatter", fit.scatter, &theirs["scatter"]);
        near("least scatter", least, &theirs["least"]);
        near("most scatter", most, &theirs["most"]);
    }
}

/// Columns that say the same, and fits that leave nothing over, have no answer.
#[test]
fn what_cannot_be_told_apart_is_not_fitted() {
    let rows = |twin: f64| {
        (0..6).map(|k| vec![1.0, f64::from(k), 2.0 * f64::from(k) - 5.0 + twin * f64::from(k % 2)]).collect::<Vec<_>>()
    };
    let y = [1.0, 1.1, 0.9, 1.05, 1.0, 0.95];
    assert!(regression(&rows(0.0), &y).is_none());
    assert!(regression(&rows(0.1), &y).is_some());
    assert!(regression(&rows(0.1)[..3], &y[..3]).is_none());
    assert!(regression(&[], &[]).is_none());
}

// Hidden causes

/// Bows as a shop makes them: each by its ln of stiffness, its batch, the form's temperature.
struct Made {
    ln: Vec<f64>,
    batch: Vec<&'static str>,
    temperature_c: Vec<Option<f64>>,
}

impl Made {
    fn fleet(&self) -> Fleet {
        let bow = |k: usize| FleetBow {
            observation: WeightObservation { computed_n: 200.0, weighed_n: 200.0 * self.ln[k].exp() - 12.0, finishing_n: 12.0 },
            batch: self.batch[k],
            temperature_c: self.temperature_c[k],
        };
        fleet(&(0..self.ln.len()).map(bow).collect::<Vec<_>>()).unwrap()
    }

    /// `cause` is what a bow's number, batch and temperature make of its ln of stiffness.
    fn of(
        seed: u64,
        bows: usize,
        scatter: f64,
        batch: impl Fn(usize) -> &'static str,
        cause: impl Fn(usize, &str, f64) -> f64,
    ) -> Made {
        let mut chance = Chance::mixed(seed);
        let common = -0.07 + 0.08 * chance.normal();
        let batch: Vec<&str> = (0..bows).map(batch).collect();
        let temperature: Vec<f64> = (0..bows).map(|_| chance.between(20.0, 50.0)).collect();
        let ln = (0..bows).map(|k| common + cause(k, batch[k], temperature[k]) + scatter * chance.normal()).collect();
        Made { ln, batch, temperature_c: temperature.into_iter().map(Some).collect() }
    }

    fn without_temperature(self) -> Made {
        Made { temperature_c: vec![None; self.ln.len()], ..self }
    }
}

const SEEDS: u64 = 1000;

fn fraction(holds: impl Fn(u64) -> bool) -> f64 {
    (0..SEEDS).filter(|seed| holds(*seed)).count() as f64 / SEEDS as f64
}

/// Of a thousand shops 95 in a hundred lie in each interval; with so many seeds chance alone moves the count by 1.4 (two σ).
#[test]
fn intervals_hold_as_often_as_they_say() {
    for bows in [2, 3, 4, 6, 12] {
        let scatter = 0.03;
        let shop = |seed: u64, bows: usize| Made::of(seed, bows, scatter, |_| "", |_, _, _| 0.0).without_temperature();
        let common = |seed: u64| {
            let mut chance = Chance::mixed(seed);
            -0.07 + 0.08 * chance.normal()
        };
        let of = |seed: u64| shop(seed, bows).fleet();
        let within = |value: f64, between: Span| between.min <= value && value <= between.max;
        let mean = fraction(|seed| within(common(seed).exp(), of(seed).factor_between.unwrap()));
        // The next bow of the same shop.
        let next = fraction(|seed| within(shop(seed, bows + 1).ln[bows].exp(), of(seed).next.between().unwrap()));
        println!("{bows} bows: mean {mean:.3}, next {next:.3}");
        assert!((mean - 0.95).abs() < 0.02, "{bows} bows: the mean's interval holds {mean}");
        // A drift that chance feigned is followed: from 5 bows on it costs some in a hundred.
        let least = if bows < 5 { 0.93 } else { 0.91 };
        assert!((least..0.97).contains(&next), "{bows} bows: the next one's interval holds {next}");
        // With a drift that is followed the scatter is about the line; where none is, about the mean.
        let scatters = fraction(|seed| within(scatter, of(seed).scatter_between.unwrap()));
        assert!((0.92..0.97).contains(&scatters), "{bows} bows: the scatter's interval holds {scatters}");
    }
}

/// Three percent softer from bow to bow is found; without drift it is named as often as chance has it.
#[test]
fn drift_is_found_or_said_not_to_be_resolved() {
    let drifting = |per_bow: f64, bows: usize| {
        move |seed: u64| Made::of(seed, bows, 0.02, |_| "", |k, _, _| per_bow * k as f64).without_temperature().fleet()
    };
    let found = fraction(|seed| drifting(-0.03, 8)(seed).drift.is_resolved());
    let feigned = fraction(|seed| drifting(0.0, 8)(seed).drift.is_resolved());
    println!("drift: found {found:.3}, feigned {feigned:.3}");
    assert!(0.95 < found && (feigned - 0.05).abs() < 0.02, "{found} {feigned}");
    let holds = fraction(|seed| match drifting(-0.03, 8)(seed).drift {
        Cause::Resolved { ln, half_width } => (ln + 0.03).abs() <= half_width,
        _ => true,
    });
    assert!((holds - 0.95).abs() < 0.03, "{holds}");
    // Where it is followed, the next bow is foretold nearer than by the mean.
    let (mut by_line, mut by_mean) = (0.0, 0.0);
    for seed in 0..SEEDS {
        let next = Made::of(seed, 9, 0.02, |_| "", |k, _, _| -0.03 * k as f64).ln[8];
        let fleet = drifting(-0.03, 8)(seed);
        by_line += (fleet.next.factor.ln() - next).powi(2);
        by_mean += (fleet.factor.ln() - next).powi(2);
    }
    assert!(by_line < 0.1 * by_mean, "{by_line} {by_mean}");
    // A drift within the scatter is not named, and how much would show is said: more than there is.
    let small = drifting(0.002, 8);
    let half = |seed: u64| match small(seed).drift {
        Cause::Unresolved { half_width } => Some(half_width),
        _ => None,
    };
    let unresolved: Vec<f64> = (0..SEEDS).filter_map(half).collect();
    assert!(850 < unresolved.len(), "{}", unresolved.len());
    assert!(unresolved.iter().filter(|half| 0.002 < **half).count() as f64 > 0.99 * unresolved.len() as f64);
    // Four bows are too few to look.
    assert!((0..50).all(|seed| drifting(-0.03, 4)(seed).drift == Cause::Unseen));
}

#[test]
fn batches_are_told_apart_where_they_can_be() {
    let soft = |_: usize, batch: &str, _: f64| if batch == "June" { -0.08 } else { 0.0 };
    let of = |fleet: &Fleet, name: &str| fleet.batches.iter().find(|batch| batch.name == name).unwrap().cause;
    // By turns: found, and no drift is made of it.
    let turns = |k: usize| ["March", "June"][k % 2];
    let by_turns = |seed: u64| Made::of(seed, 10, 0.02, turns, soft).without_temperature().fleet();
    let found = fraction(|seed| of(&by_turns(seed), "June").is_resolved());
    assert!(0.95 < found, "{found}");
    let both = fraction(|seed| matches!(of(&by_turns(seed), "June"), Cause::Resolved { ln, .. } if ln < 0.0));
    assert!((found - both).abs() < 1e-9, "June is the softer one");
    let drift = fraction(|seed| by_turns(seed).drift.is_resolved());
    assert!(drift < 0.08, "{drift}");
    // The next bow is of the last one's batch: of the soft one, not of the mean.
    let nearer = fraction(|seed| {
        let (fleet, next) = (by_turns(seed), Made::of(seed, 12, 0.02, turns, soft).ln[11]);
        (fleet.next.factor.ln() - next).abs() < (fleet.factor.ln() - next).abs()
    });
    assert!(0.75 < nearer, "{nearer}");
    // No difference: named as often as chance has it, and then not by more than its share.
    let none =
        fraction(|seed| of(&Made::of(seed, 10, 0.02, turns, |_, _, _| 0.0).without_temperature().fleet(), "June").is_resolved());
    assert!(none < 0.08, "{none}");
    // One batch used up before the next is opened: drift or batch, it cannot be told, and neither is named but by chance.
    let one_after_other = |k: usize| if k < 5 { "March" } else { "June" };
    let later = |seed: u64| Made::of(seed, 10, 0.02, one_after_other, soft).without_temperature().fleet();
    let drift = fraction(|seed| later(seed).drift.is_resolved());
    let mixed = fraction(|seed| of(&later(seed), "June") == Cause::Mixed || later(seed).drift == Cause::Mixed);
    assert!(drift < 0.08 && 0.3 < mixed, "{drift} {mixed}");
    // Three batches, one of them soft.
    let three = |k: usize| ["March", "June", "May"][k % 3];
    let fleet = |seed: u64| Made::of(seed, 15, 0.02, three, soft).without_temperature().fleet();
    let [june, march] = ["June", "March"].map(|name| fraction(|seed| of(&fleet(seed), name).is_resolved()));
    assert!(0.9 < june && march < june, "{june} {march}");
    // Too few bows of each.
    assert_eq!(of(&Made::of(1, 3, 0.02, turns, soft).fleet(), "June"), Cause::Unseen);
    assert!(Made::of(1, 8, 0.02, |_| "March", soft).fleet().batches.is_empty(), "one batch has nothing beside it");
}

/// A form ten degrees warmer, four percent softer.
#[test]
fn the_forms_temperature_is_told() {
    let warm = |_: usize, _: &str, temperature: f64| -0.004 * temperature;
    let found = fraction(|seed| match Made::of(seed, 12, 0.02, |_| "", warm).fleet().temperature {
        Cause::Resolved { ln, .. } => ln < 0.0,
        _ => false,
    });
    let feigned = fraction(|seed| Made::of(seed, 12, 0.02, |_| "", |_, _, _| 0.0).fleet().temperature.is_resolved());
    assert!(0.95 < found && (feigned - 0.05).abs() < 0.02, "{found} {feigned}");
    let some = |seed: u64| {
        let mut made = Made::of(seed, 12, 0.02, |_| "", warm);
        made.temperature_c[3] = None;
        made.fleet().temperature
    };
    assert_eq!(some(1), Cause::Unseen, "one bow without it");
}

// Shops

/// A series for every factor that a shop could come to: solved by the program at some, and between them by its free lamination's thickness,
/// which is smooth in the factor. Solving each of a thousand bows anew would take minutes, and say the same: [`Drawers::of`] is held
/// against that below.
struct Drawers {
    job: Job,
    factors: Vec<f64>,
    series: Vec<Series>,
}

fn meadow() -> Job {
    let text = std::fs::read_to_string("examples/meadow.toml").unwrap();
    // Nothing is ground here; stock is for wood that is a third softer.
    let (before, ground) = text.split_once("\n[sander]").unwrap();
    let text = format!("{before}\n[sled]{}", ground.split_once("\n[sled]").unwrap().1);
    let text = text.replacen("thickness = 0.220, spread", "thickness = 0.320, spread", 1);
    let text = text.replacen(
        "\n[sizing]",
        "\n[series]\nbows = [\"36 lbf\", \"40 lbf\", \"44 lbf\", \"45 lbf\", \"48 lbf\"]\n\n[sizing]",
        1,
    );
    Job::read("meadow.toml", &text, Inputs::default()).unwrap()
}

fn series_for(job: &Job, factor: f64) -> Series {
    let known = taperwright::mechanics::calibration::Calibrated { factor, spread: Some(0.03), bows: 5 };
    job.having_learnt(known).unwrap().series().unwrap().unwrap()
}

/// One design with the stiffness that it was solved for.
#[derive(Clone)]
struct Design {
    build: Build,
    options: taperwright::mechanics::bow::Options,
}

impl Drawers {
    fn new() -> Drawers {
        let job = meadow();
        let factors: Vec<f64> = (0..9).map(|k| 0.72 + 0.07 * f64::from(k)).collect();
        let series = factors.iter().map(|factor| series_for(&job, *factor)).collect();
        Drawers { job, factors, series }
    }

    fn weights(&self) -> usize {
        self.series[0].bows.len()
    }

    /// What the program writes for this weight once it has learnt this factor.
    fn of(&self, weight: usize, factor: f64) -> Design {
        let k = self.factors.iter().rposition(|known| *known <= factor).unwrap().min(self.factors.len() - 2);
        let part = (factor - self.factors[k]) / (self.factors[k + 1] - self.factors[k]);
        let [low, high] = [k, k + 1].map(|k| &self.series[k].bows[weight].job);
        let mut build = low.build().clone();
        for (lamination, other) in build.laminations.iter_mut().zip(&high.build().laminations) {
            let more = other.butt_thickness_mm() - lamination.butt_thickness_mm();
            if 1e-9 < more.abs() {
                *lamination = sizing::changed(lamination, part * more, 0.0).unwrap();
            }
        }
        let nearest = if part < 0.5 { low } else { high };
        let options = taperwright::mechanics::bow::Options { stiffness_factor: 1.0, ..nearest.solver_options().unwrap().clone() };
        Design { build, options }
    }
}

impl Design {
    fn computed(&self) -> ComputedWeight {
        ComputedWeight::of(&self.build, draw::weight_of(&self.build, &self.options).unwrap())
    }

    /// What this bow draws once it is finished, N: all its wood so much stiffer, every strip ground to within 0.03 mm, and sanding takes
    /// what is kept for it to a third.
    fn made(&self, ln_stiffness: f64, chance: &mut Chance) -> f64 {
        let mut build = self.build.clone();
        for lamination in &mut build.laminations {
            lamination.wood.modulus_mpa *= ln_stiffness.exp();
            let off = 0.03 * chance.either_way();
            let points: Vec<(f64, f64)> = lamination.finished.curve().points().iter().map(|(s, t)| (*s, t + off)).collect();
            lamination.finished = if 1 < points.len() { Taper::ground(points).unwrap() } else { Taper::parallel(points[0].1) };
        }
        let slices = build.riser.iter_mut().flat_map(|riser| &mut riser.across);
        slices.for_each(|slice| slice.wood.modulus_mpa *= ln_stiffness.exp());
        let finishing_n = build.target.unwrap().finishing_n * (1.0 + 0.33 * chance.either_way());
        draw::weight_of(&build, &self.options).unwrap() - finishing_n
    }
}

/// A shop with its hidden wood, and what its log holds of finished bows.
struct Shop<'a> {
    drawers: &'a Drawers,
    chance: Chance,
    supply: f64,
    scatter: f64,
    finished: Vec<WeightObservation>,
    /// The factor that the program solves the next bow with.
    learnt: f64,
}

/// A scale shows one part in a hundred.
const SCALE: f64 = 0.01;

impl Shop<'_> {
    fn of(seed: u64, scatter: f64, drawers: &Drawers) -> Shop<'_> {
        let mut chance = Chance::mixed(seed);
        let supply = 0.08 * chance.normal().clamp(-2.5, 2.5);
        Shop { drawers, chance, supply, scatter, finished: Vec::new(), learnt: 1.0 }
    }

    /// What a bow of this design draws once it is finished, N.
    fn made(&mut self, design: &Design) -> f64 {
        let ln_stiffness = self.supply + self.scatter * self.chance.normal();
        design.made(ln_stiffness, &mut self.chance)
    }

    /// Weighs a bow of this design, and logs it.
    fn weigh(&mut self, design: &Design, true_n: f64) {
        let other = OtherBuild {
            build: design.build.clone(),
            background: Background { options: design.options.clone(), scatter: 0.12, ..Background::default() }.into(),
        };
        let path = "this-one.toml".to_owned();
        let background = Background {
            scatter: 0.12,
            finished: self.finished.clone(),
            builds: [(path.clone(), other)].into(),
            ..Background::default()
        };
        let mut log = ShopLog::new(&design.build, background);
        let weight_n = true_n * (1.0 + SCALE * self.chance.either_way());
        let weighing = BowWeighing { weight_n, mass_kg: None, finishing_n: None, taken_off: TakenOff::default() };
        let reading = Reading {
            serial: Some((self.finished.len() + 1).to_string()),
            build_file: Some(path),
            ..Reading::new("2026-11-20", Place::new("reading").index(0), Of::Bow(weighing))
        };
        let answer = log.read(&reading);
        assert!(answer.questions.is_empty(), "{:?}", answer.questions);
        self.finished.push(log.weighed.last().unwrap().observation);
        self.learnt = log.fleet().unwrap().calibrated().factor;
    }

    /// Makes, weighs and logs a bow of this weight by what is known; finished weight less what was wanted, lbf.
    fn next(&mut self, weight: usize) -> f64 {
        let design = self.drawers.of(weight, self.learnt);
        let true_n = self.made(&design);
        self.weigh(&design, true_n);
        off(&design, true_n)
    }
}

fn off(design: &Design, true_n: f64) -> f64 {
    (true_n - design.build.target.unwrap().draw_weight_n) / LBF
}

fn rms(off: &[f64]) -> f64 {
    (off.iter().map(|off| off * off).sum::<f64>() / off.len() as f64).sqrt()
}

/// Between the factors that were solved the designs are what the program writes.
#[test]
fn designs_between_factors_are_the_programs() {
    let drawers = Drawers::new();
    for factor in [0.803, 0.957, 1.13] {
        let solved = series_for(&drawers.job, factor);
        for weight in [0, drawers.weights() - 1] {
            let (ours, theirs) = (drawers.of(weight, factor), &solved.bows[weight].job);
            let options =
                taperwright::mechanics::bow::Options { stiffness_factor: 1.0, ..theirs.solver_options().unwrap().clone() };
            let theirs_n = draw::weight_of(theirs.build(), &options).unwrap();
            // Thicknesses are written to a thousandth of an inch.
            assert!((ours.computed().computed_n / theirs_n - 1.0).abs() < 0.008, "{factor}, {weight}");
        }
    }
}

/// Issue 16, point 1: a series of five weights by the handbook, weighed and logged; the second by what it taught.
#[test]
fn the_second_series_comes_nearer() {
    let drawers = Drawers::new();
    let (mut first, mut second, mut without) = (Vec::new(), Vec::new(), Vec::new());
    for seed in 1..=100 {
        let mut shop = Shop::of(seed, 0.03, &drawers);
        let by_handbook: Vec<Design> = (0..drawers.weights()).map(|weight| drawers.of(weight, 1.0)).collect();
        for design in &by_handbook {
            let true_n = shop.made(design);
            first.push(off(design, true_n));
            shop.weigh(design, true_n);
        }
        for design in &by_handbook {
            let true_n = shop.made(design);
            without.push(off(design, true_n));
        }
        second.extend((0..drawers.weights()).map(|weight| shop.next(weight)));
    }
    println!(
        "off by {:.2} lbf in the first series, {:.2} in the second, {:.2} without its log",
        rms(&first),
        rms(&second),
        rms(&without)
    );
    assert!(rms(&second) <= 0.6 * rms(&without), "{} {}", rms(&second), rms(&without));
    assert!((rms(&first) / rms(&without) - 1.0).abs() < 0.25, "the same shops");
}

/// The bow after the third of a weight. Thickness alone cannot bring 95 of 100 within 2 lbf of 45 where bows scatter by 3 percent: a share
/// s of the weight leaves 1.96 s √(1 + 1/3) of it either way, with grinding, scale and finishing besides (0.6 lbf by itself), and 2 lbf of 48 on
/// the form are 4.2 percent. So a scatter of one percent is needed; the others are weighed as blanks and brought down as the log says, where the same
/// 95 of 100 are held (`tests/synthetic_shop.rs`).
#[test]
fn the_fourth_bow_of_a_weight_is_within_two_pounds() {
    let drawers = Drawers::new();
    let weight = drawers.series[0].bows.iter().position(|bow| bow.words == "45 lbf").unwrap();
    let within = |scatter: f64| {
        let fourth = |seed: u64| {
            let mut shop = Shop::of(1000 + seed, scatter, &drawers);
            (0..3).for_each(|_| _ = shop.next(weight));
            shop.next(weight)
        };
        (1..=100).filter(|seed| fourth(*seed).abs() <= 2.0).count()
    };
    let [near, far] = [0.01, 0.03].map(within);
    println!("within 2 lbf: {near} of 100 where bows scatter by 1 percent, {far} by 3 percent");
    assert!(95 <= near, "{near}");
    assert!((60..95).contains(&far), "{far}");
}
