//! The loop closed: bows with a hidden stiff or weak stretch are read by the forward model, with the reading errors of a shop, and the
//! answers must name what was hidden; a builder who follows them must end with an even tiller and lose no wood from a weak place.
//!
//! The hidden bow is laid with corners of its own, and the builder's bow is a build whose belly is really thinner or thicker: neither uses the
//! cells that the fit uses. Readings: brace and three draws at seven stations of both limbs, one σ of 1/32 in. The limits are those
//! of the issue on the tiller: a fault of five of the σ that the answer states is named nine times in ten, a wrong naming stands in one answer
//! of two hundred.
//!
//! Reached: 184 of 200 faults of five σ named right, none named wrongly in 400 bows with a fault and 200 without one; with five other sets of
//! seeds 185 to 195 right, and none wrong. The builder: 194 of 200 even, none lost wood from a weak stretch (five sets of 200,
//! tried before a cut counted for what it takes: 970 and 1 of 1000). A weak stretch counts as scraped where its stiffness lies over 2 percent below the bow's mean.
//! The algebra of the fit is judged by SciPy, on columns that the test itself makes from the forward model.

mod peers;
mod support;

use support::bows;
use support::bows::IN;
use support::chance::Chance;
use support::tillered::{FADE_MM, HiddenStretch, SIGMA_MM, STATIONS_IN, TILLER, layouts, noisy, read, stations_mm};
use taperwright::diag::Place;
use taperwright::mechanics::bow::Options;
use taperwright::mechanics::draw;
use taperwright::mechanics::pair::{self, PairOptions};
use taperwright::mechanics::reading_errors::ReadingErrors;
use taperwright::mechanics::section::Stack;
use taperwright::mechanics::tiller_fit::{self, Fit, GapLayout, LimbCell, Model, PairDesign, ShownRows};
use taperwright::mechanics::tillering::{LOWER, LaidPair, LoadCase, PositiveTiller, UPPER};
use taperwright::model::Build;
use taperwright::model::log::{BlankBending, BlankWidth, Log, Of, Reading, TakenOff, TillerReading};
use taperwright::model::taper::Taper;
use taperwright::numeric::interp::Between;
use taperwright::numeric::linear::min_not_negative;
use taperwright::shop::even;
use taperwright::shop::logged::words::says;
use taperwright::shop::logged::{Answers, Background, Finding, TellsMost, TillerAction, TillerFound, answers};
use taperwright::units::System;

#[derive(Default)]
struct Score {
    right: usize,
    wrong: usize,
    named: usize,
}

/// Names the stretch hidden in so many bows, `sized` giving the logarithm of its factor.
fn score(
    bows: u64,
    design: &PairDesign<'_>,
    model: &Model,
    build: &Build,
    sized: impl Fn(&mut Chance, &HiddenStretch) -> Option<f64>,
) -> Score {
    let layouts = layouts();
    let sigmas = ReadingErrors::each(&vec![SIGMA_MM; 2 * STATIONS_IN.len() * layouts.len()]);
    let mut score = Score::default();
    for seed in 0..bows {
        let mut chance = Chance::mixed(seed);
        // A stretch whose fault would be none that a bow bears is drawn again.
        let (stretch, ln) = (0..200)
            .find_map(|_| {
                let stretch = HiddenStretch::hidden(&mut chance);
                sized(&mut chance, &stretch).map(|ln| (stretch, ln))
            })
            .unwrap();
        let mut corners = stations_mm();
        corners.extend([stretch.from_mm, stretch.to_mm, FADE_MM]);
        let hidden = LaidPair::of(build, build, &PairOptions::default(), &corners).unwrap();
        let factor = |side: usize, s: f64| {
            let fault = if stretch.holds(side, s) { ln.exp() } else { 1.0 };
            fault * if side == UPPER { design.weaker().factor } else { 1.0 }
        };
        let readings = noisy(&read(&hidden, &layouts, factor), &mut chance);
        let fit = tiller_fit::fit(design, model, &readings, &sigmas).unwrap();
        let hit = |found: &tiller_fit::Stretch| stretch.is_hit_by(found, ln);
        let short = |found: &tiller_fit::Stretch| found.to_mm - found.from_mm <= stretch.to_mm - stretch.from_mm + 6.0 * IN;
        score.named += usize::from(!fit.stretches.is_empty());
        score.right += usize::from(fit.stretches.iter().any(|found| hit(found) && short(found)));
        let wrong = fit.stretches.iter().any(|found| !hit(found));
        score.wrong += usize::from(wrong);
        if wrong {
            println!(
                "seed {seed}: {} {:.1}–{:.1} in, ln {ln:.2}: {:?}",
                stretch.side,
                stretch.from_mm / IN,
                stretch.to_mm / IN,
                fit.stretches
            );
        }
    }
    score
}

fn designed<'a>(build: &'a Build) -> (PairDesign<'a>, Model) {
    let design = PairDesign::of(build, build, &PairOptions::default(), TILLER, &stations_mm()).unwrap();
    let model = design.model(&layouts()).unwrap();
    (design, model)
}

#[test]
fn faults_of_five_sigma_are_named_and_nothing_else_is() {
    let build = bows::flatbow();
    let (design, model) = designed(&build);
    let sigmas = ReadingErrors::each(&vec![SIGMA_MM; 8 * STATIONS_IN.len()]);
    let found = score(200, &design, &model, &build, |chance, stretch| {
        let sigma = model.sigma(design.cells(), &sigmas, (stretch.side, stretch.from_mm, stretch.to_mm)).unwrap();
        let size = chance.between(5.0, 10.0) * sigma;
        let sign = if chance.uniform() < 0.5 { -1.0 } else { 1.0 };
        (size < 0.7).then_some(sign * size)
    });
    println!("five sigma: {} of 200 right, {} wrong, {} named", found.right, found.wrong, found.named);
    assert!(180 <= found.right && found.wrong <= 1, "{} right, {} wrong", found.right, found.wrong);
    // Smaller faults may go without a name, never under a wrong one.
    let small = score(200, &design, &model, &build, |chance, _| Some(chance.between(-0.5, 0.5)));
    println!("any size: {} of 200 right, {} wrong, {} named", small.right, small.wrong, small.named);
    assert!(small.wrong <= 1 && 90 <= small.right, "{} right, {} wrong", small.right, small.wrong);
    let none = score(200, &design, &model, &build, |_, _| Some(0.0));
    println!("none: {} named", none.named);
    assert!(none.named <= 1, "{} of 200 bows without a fault were said to have one", none.named);
}

/// A bow in the hands of a builder: belly thickness more or less than drawn, at places along both limbs.
struct Wood {
    design: Build,
    /// `[upper, lower]` at `PLACE_MM` steps, mm.
    off_mm: [Vec<f64>; 2],
}

const PLACE_MM: f64 = 10.0;

impl Wood {
    fn builds(&self) -> [Build; 2] {
        [UPPER, LOWER].map(|side| {
            let mut build = self.design.clone();
            let belly = build.laminations.last_mut().unwrap();
            let points = self.off_mm[side]
                .iter()
                .enumerate()
                .map(|(k, off)| (k as f64 * PLACE_MM, belly.finished.at(k as f64 * PLACE_MM) + off))
                .chain([(belly.to_mm, belly.finished.at(belly.to_mm))]);
            belly.finished = Taper::stations(points.collect(), Between::Straight).unwrap();
            build
        })
    }

    fn places() -> usize {
        (33.75 * IN / PLACE_MM) as usize
    }
}

struct End {
    worst_mm: f64,
    /// Wood came off the hidden stretch while it was weaker than the bow's mean.
    weak_lost: bool,
    /// Share of the weight that was lost, and what the answers had said.
    lost: f64,
    said: f64,
}

/// Follows the answers for six rounds.
fn tillered(seed: u64, design: &PairDesign<'_>, model: &Model, build: &Build) -> End {
    let mut chance = Chance::mixed(seed + 5000);
    let stretch = HiddenStretch::hidden(&mut chance);
    let thick_mm = chance.between(-0.04, 0.06) * IN;
    let hidden = |side: usize, s: f64| if stretch.holds(side, s) { thick_mm } else { 0.0 };
    let off_mm = [UPPER, LOWER].map(|side| (0..Wood::places()).map(|k| hidden(side, k as f64 * PLACE_MM)).collect());
    let mut wood = Wood { design: build.clone(), off_mm };
    let layouts = layouts();
    let rows = 2 * STATIONS_IN.len() * layouts.len();
    let positive = |side: usize, _: f64| if side == UPPER { design.weaker().factor } else { 1.0 };
    let truth = |wood: &Wood| {
        let [upper, lower] = wood.builds();
        let tillering = LaidPair::of(&upper, &lower, &PairOptions::default(), &stations_mm()).unwrap();
        read(&tillering, &layouts, positive)
    };
    let weight = |wood: &Wood| {
        let [upper, lower] = wood.builds();
        let tillering = LaidPair::of(&upper, &lower, &PairOptions::default(), &[]).unwrap();
        let [brace_mm, full_mm] = tillering.design_mm().unwrap();
        tillering.bend(tillering.limbs(), LoadCase { brace_mm, pivot_to_nock_mm: Some(full_mm) }, 0.0, None).unwrap().force_n
    };
    let start_n = weight(&wood);
    let (mut weak_lost, mut said) = (false, 0.0);
    // Rounds in which no wood came off are read together.
    let mut together: Vec<Vec<f64>> = Vec::new();
    let mut weak_before = Vec::new();
    for _ in 0..6 {
        together.push(noisy(&truth(&wood), &mut chance));
        let n = together.len() as f64;
        let readings: Vec<f64> = (0..rows).map(|row| together.iter().map(|read| read[row]).sum::<f64>() / n).collect();
        let fit = tiller_fit::fit(design, model, &readings, &ReadingErrors::each(&vec![SIGMA_MM / n.sqrt(); rows])).unwrap();
        if !even::uneven(&fit) {
            continue;
        }
        let work = even::work([build, build], &fit, &weak_before, &model.weight_fraction, 1.0);
        if work.cuts.is_empty() {
            continue;
        }
        together.clear();
        weak_before.extend(even::bends_too_much(&fit));
        said += work.costs;
        let relative = relative(&wood, &fit, model);
        let hands = 1.0 + 0.1 * chance.between(-1.0, 1.0);
        for cut in &work.cuts {
            let LimbCell { side, from_mm, to_mm } = cut.cell;
            for k in 0..Wood::places() {
                let s = k as f64 * PLACE_MM;
                if from_mm <= s && s < to_mm {
                    weak_lost |= stretch.holds(side, s) && thick_mm < 0.0 && relative(side, s) < -0.02;
                    wood.off_mm[side][k] -= hands * cut.take_mm;
                }
            }
        }
    }
    let targets: Vec<f64> = design.all_targets_mm(&layouts).unwrap().concat().concat();
    let worst_mm = truth(&wood).iter().zip(&targets).map(|(is, target)| (is - target).abs()).fold(0.0, f64::max);
    End { worst_mm, weak_lost, lost: (start_n / weight(&wood)).ln(), said }
}

/// ln of the true stiffness over the design's, against the bow's mean.
fn relative(wood: &Wood, fit: &Fit, model: &Model) -> impl Fn(usize, f64) -> f64 + use<> {
    let builds = wood.builds();
    let design = wood.design.clone();
    let ln = move |side: usize, s: f64| {
        let stiffness = |build: &Build| Stack::of(build).unwrap().properties(s, s).stiffness_n_mm2;
        (stiffness(&builds[side]) / stiffness(&design)).ln()
    };
    let whole: f64 = model.weight_fraction.iter().sum();
    let middle = |cell: &LimbCell| 0.5 * (cell.from_mm + cell.to_mm);
    let level: f64 =
        fit.cells.iter().zip(&model.weight_fraction).map(|(cell, fraction)| fraction / whole * ln(cell.side, middle(cell))).sum();
    move |side, s| ln(side, s) - level
}

#[test]
fn who_follows_the_answers_ends_with_an_even_tiller() {
    let build = bows::flatbow();
    let (design, model) = designed(&build);
    let ends: Vec<End> = (0..200).map(|seed| tillered(seed, &design, &model, &build)).collect();
    let even = ends.iter().filter(|end| end.worst_mm <= IN / 16.0).count();
    let weak = ends.iter().filter(|end| end.weak_lost).count();
    let worst = ends.iter().map(|end| end.worst_mm).fold(0.0, f64::max);
    println!("{even} of 200 even, {weak} lost wood from a weak stretch, worst {:.3} in", worst / IN);
    assert!(190 <= even, "{even} of 200 within 1/16 in, worst {:.3} in", worst / IN);
    assert!(weak <= 1, "{weak} of 200 lost wood where they bend too much");
    // What a round costs is said beforehand: the hands' tenth is nearly all that it may be off by.
    let off: Vec<f64> = ends.iter().filter(|end| 0.0 < end.said).map(|end| end.lost / end.said - 1.0).collect();
    let beyond = ends.iter().filter(|end| 0.12 * end.said + 0.004 < (end.lost - end.said).abs()).count();
    let max = off.iter().fold(0.0_f64, |max, off| max.max(off.abs()));
    println!("{beyond} of 200 lost more than a tenth more or less than said, at most {max:.3} of it");
    assert!(beyond <= 10 && max < 0.3, "{beyond} of 200, at most {max}");
}

/// Gaps of a bow of two different limbs as `bow UPPER --lower LOWER` shows them, by the full pair model with its own steps.
fn pair_gaps(upper: &Build, lower: &Build) -> [Vec<[f64; 3]>; 2] {
    let options = PairOptions { tiller_stations_mm: stations_mm(), ..PairOptions::default() };
    let curve = pair::curve(upper, lower, &options).unwrap().value;
    [0, curve.points.len() - 1].map(|k| curve.points[k].tiller.iter().map(|gap| [gap.s_mm, gap.upper_mm, gap.lower_mm]).collect())
}

fn told(build: &Build, lower: Option<&Build>, readings: &[Of]) -> Answers {
    let reading = |(k, of): (usize, &Of)| Reading::new("2026-10-01", Place::new("reading").index(k), of.clone());
    let log = Log { readings: readings.iter().enumerate().map(reading).collect() };
    let lower = lower.map(|lower| (lower.clone(), Default::default()));
    answers(build, &log, Background { lower, scatter: 0.1, ..Background::default() })
}

fn tiller(pivot_to_nock_mm: Option<f64>, gaps_mm: &[[f64; 3]], worked: Option<bool>) -> Of {
    Of::Tiller(TillerReading {
        pivot_to_nock_mm,
        brace_mm: None,
        gaps_mm: gaps_mm.to_vec(),
        photograph: None,
        fixed: false,
        sigma_mm: None,
        worked,
    })
}

/// A limb whose belly is 0.016 in thicker stands nearer the string, and is the one that is called stiff and worked on; where both limbs are
/// so by design, nothing is.
#[test]
fn the_limb_that_was_made_thicker_is_the_one_that_is_named() {
    let mut even_bow = bows::flatbow();
    even_bow.target.as_mut().unwrap().positive_tiller_mm = 0.0;
    let mut thick = even_bow.clone();
    let belly = thick.laminations.last_mut().unwrap();
    let points = belly.finished.curve().points().iter().map(|(s, t)| (*s, t + 0.016 * IN)).collect();
    belly.finished = Taper::ground(points).unwrap();
    let full = Some(even_bow.target.unwrap().pivot_to_nock_mm);
    for (upper, lower, stiff, word) in
        [(&thick, &even_bow, UPPER, "the upper limb is the stiffer"), (&even_bow, &thick, LOWER, "the lower limb is the stiffer")]
    {
        let [braced, drawn] = pair_gaps(upper, lower);
        let nearer = braced.iter().all(|[_, up, low]| (up < low) == (stiff == UPPER));
        assert!(nearer, "the stiffer limb stands nearer the string at brace: {braced:?}");
        let readings = [tiller(None, &braced, None), tiller(full, &drawn, None)];
        let found = told(&even_bow, None, &readings);
        let last = found.answers.last().unwrap();
        assert!(last.questions.is_empty(), "{:?}", last.questions);
        let Finding::Tiller(tiller) = &last.finding else { panic!("nothing was found") };
        let work = &tiller.work;
        assert!(says(&even_bow, last).iter().any(|say| say.spoken(System::Inch).contains(word)), "{last:?}");
        assert!(!work.cuts.is_empty() && work.cuts.iter().all(|cut| cut.cell.side == stiff), "{work:?}");
        // A later reading changes no earlier answer.
        assert_eq!(told(&even_bow, None, &readings[..1]).answers[0], found.answers[0]);
        // By design so: the same readings are on their targets.
        let designed = told(upper, Some(lower), &readings);
        let Finding::Tiller(tiller) = &designed.answers[1].finding else { panic!("nothing was found") };
        assert!(tiller.work.cuts.is_empty() && tiller.stretches.is_empty(), "{tiller:?}");
    }
}

/// What was read before wood came off is not counted; where no weight is in hand nothing is taken off.
#[test]
fn rounds_end_when_wood_comes_off_and_the_answer_stops_at_the_weight() {
    let mut build = bows::flatbow();
    let weight_n = draw::weight_of(&build, &Options::default()).unwrap();
    let target = build.target.as_mut().unwrap();
    (target.draw_weight_n, target.positive_tiller_mm) = (weight_n, 0.0);
    let target = *target;
    let mut thick = build.clone();
    let belly = thick.laminations.last_mut().unwrap();
    belly.finished = Taper::ground(belly.finished.curve().points().iter().map(|(s, t)| (*s, t + 0.02 * IN)).collect()).unwrap();
    let [uneven, _] = pair_gaps(&thick, &build);
    let [level, _] = pair_gaps(&build, &build);
    let cuts = |answers: &Answers, k: usize| match &answers.answers[k].finding {
        Finding::Tiller(tiller) => tiller.work.cuts.len(),
        other => panic!("{other:?}"),
    };
    // A second reading at brace is one after the work; said to be of the same bow, both count.
    let found = told(&build, None, &[tiller(None, &uneven, None), tiller(None, &level, None), tiller(None, &level, Some(false))]);
    assert!(0 < cuts(&found, 0) && cuts(&found, 1) == 0, "{:?}", found.answers);
    let between: Vec<[f64; 3]> =
        uneven.iter().zip(&level).map(|(a, b)| std::array::from_fn(|k| 0.7 * a[k] + 0.3 * b[k])).collect();
    let same = told(&build, None, &[tiller(None, &uneven, None), tiller(None, &between, Some(false))]);
    assert!(0 < cuts(&same, 1), "a bow read twice is as uneven as both readings say");
    // Readings that no one bow gives are asked about.
    let other = told(&build, None, &[tiller(None, &uneven, None), tiller(None, &level, Some(false))]);
    assert!(other.answers[1].questions.len() == 1 && other.answers[1].finding == Finding::Nothing, "{:?}", other.answers[1]);
    // Weighed at what is wanted: the same unevenness is said, and left.
    let weighed = |fraction: f64| Of::Blank {
        bent: BlankBending::Braced { brace_mm: target.brace_height_mm, pivot_to_nock_mm: target.pivot_to_nock_mm },
        weight_n: fraction * weight_n,
        taken_off: TakenOff { width: Some(BlankWidth::Outline), belly_off_mm: None },
    };
    let heavy = told(&build, None, &[weighed(1.2), tiller(None, &uneven, None)]);
    assert!(heavy.answers[0].questions.is_empty() && 0 < cuts(&heavy, 1), "{:?}", heavy.answers[0].questions);
    let spent = told(&build, None, &[weighed(1.0), tiller(None, &uneven, None)]);
    assert_eq!(cuts(&spent, 1), 0);
    assert!(matches!(&spent.answers[1].finding, Finding::Tiller(tiller) if tiller.effort == TillerAction::Stop));
}

/// A stretch that bent too much in one round is left alone in the next, though it now seems the stiffest; the answer says so. Who never saw it
/// weak takes wood there.
#[test]
fn what_bent_too_much_in_an_earlier_round_is_left_alone() {
    let mut build = bows::flatbow();
    build.target.as_mut().unwrap().positive_tiller_mm = 0.0;
    let stretch = HiddenStretch { side: LOWER, from_mm: 14.0 * IN, to_mm: 20.0 * IN };
    let mut corners = stations_mm();
    corners.extend([stretch.from_mm, stretch.to_mm, FADE_MM]);
    let bow = LaidPair::of(&build, &build, &PairOptions::default(), &corners).unwrap();
    // Each layout is a reading of the log; the first of a later round says that wood came off.
    let round = |factor: f64| -> Vec<Of> {
        let read = read(&bow, &layouts(), |side, s| if stretch.holds(side, s) { factor } else { 1.0 });
        let gaps = read.chunks(2 * STATIONS_IN.len());
        let rows = gaps.map(|gaps| gaps.chunks(2).zip(stations_mm()).map(|(gap, s)| [s, gap[0], gap[1]]).collect::<Vec<_>>());
        layouts()
            .iter()
            .zip(rows)
            .enumerate()
            .map(|(k, (layout, gaps))| tiller(layout.bending.pivot_to_nock_mm, &gaps, Some(k == 0)))
            .collect()
    };
    let there = |found: &TillerFound| {
        let cuts = found.work.cuts.iter().filter(|cut| stretch.holds(cut.cell.side, 0.5 * (cut.cell.from_mm + cut.cell.to_mm)));
        cuts.count()
    };
    let (weak, stiff) = (round(0.7), round(1.4));
    let fresh = told_last(&build, &stiff);
    assert!(0 < there(&fresh) && fresh.weak_before.is_empty(), "{fresh:?}");
    let both: Vec<Of> = weak.into_iter().chain(stiff).collect();
    let answers = told(&build, None, &both);
    let last = answers.answers.last().unwrap();
    let Finding::Tiller(found) = &last.finding else { panic!("nothing was found") };
    assert!(there(found) == 0 && found.weak_before.iter().any(|cell| stretch.holds(cell.side, 17.0 * IN)), "{found:?}");
    let say: Vec<String> = says(&build, last).iter().map(|say| say.spoken(System::Inch)).collect();
    assert!(
        say.iter().any(|say| say.contains("Left alone, because it bent too much") && say.contains("the lower limb from 1")),
        "{say:?}"
    );
}

/// The most that a round takes off the belly is all that its cost counts.
#[test]
fn a_cut_counts_for_what_it_takes() {
    let build = bows::flatbow();
    let (design, model) = designed(&build);
    let sigmas = ReadingErrors::each(&vec![SIGMA_MM; 8 * STATIONS_IN.len()]);
    let hidden = LaidPair::of(&build, &build, &PairOptions::default(), &stations_mm()).unwrap();
    let stiff = |side: usize, s: f64| {
        let fault = if side == LOWER && (20.0 * IN..24.0 * IN).contains(&s) { 2.2 } else { 1.0 };
        fault * if side == UPPER { design.weaker().factor } else { 1.0 }
    };
    let fit = tiller_fit::fit(&design, &model, &read(&hidden, &layouts(), stiff), &sigmas).unwrap();
    let work = even::work([&build, &build], &fit, &[], &model.weight_fraction, 1.0);
    let stack = Stack::of(&build).unwrap();
    let mut costs = 0.0;
    for cut in &work.cuts {
        let s = 0.5 * (cut.cell.from_mm + cut.cell.to_mm);
        let [left, whole] = [cut.take_mm, 0.0].map(|off| stack.scraped(s, off).stiffness_n_mm2);
        assert!((cut.ln_stiffness - (whole / left).ln()).abs() < 1e-9, "{cut:?}");
        let k = fit.cells.iter().position(|cell| *cell == cut.cell).unwrap();
        costs += model.weight_fraction[k] * (whole / left).ln();
    }
    assert!((work.costs - costs).abs() < 1e-12 && work.costs < work.all_costs, "{} of {}", work.costs, work.all_costs);
}

/// Estimate, σ and the stretch that is named, as SciPy has them from columns made here.
#[test]
fn the_fit_is_what_scipy_makes_of_the_same_rows() {
    let build = bows::flatbow();
    let (design, model) = designed(&build);
    let layouts = layouts();
    let rows = 2 * STATIONS_IN.len() * layouts.len();
    let cells = design.cells().to_vec();
    let mut corners = stations_mm();
    corners.extend(cells.iter().flat_map(|cell| [cell.from_mm, cell.to_mm]).chain([FADE_MM]));
    let bow = LaidPair::of(&build, &build, &PairOptions::default(), &corners).unwrap();
    let forward = |x: &[f64]| {
        read(&bow, &layouts, |side, s| {
            let whole = if side == UPPER { design.weaker().factor } else { 1.0 };
            let own = cells.iter().position(|cell| cell.side == side && cell.from_mm < s && s <= cell.to_mm);
            whole / (1.0 - x[own.unwrap_or(cells.len() + side)])
        })
    };
    let unknowns = cells.len() + 2;
    let columns: Vec<Vec<f64>> = (0..unknowns)
        .map(|k| {
            // Both ways: another road than the fit's, and straighter.
            let [up, down] =
                [1e-3, -1e-3].map(|step| forward(&(0..unknowns).map(|i| if i == k { step } else { 0.0 }).collect::<Vec<_>>()));
            up.iter().zip(&down).map(|(up, down)| (up - down) / 2e-3).collect()
        })
        .collect();
    for (seed, stretch, factor) in [
        (1, HiddenStretch { side: UPPER, from_mm: 14.0 * IN, to_mm: 20.0 * IN }, 1.5),
        (2, HiddenStretch { side: LOWER, from_mm: 9.0 * IN, to_mm: 15.0 * IN }, 0.65),
        (3, HiddenStretch { side: LOWER, from_mm: 20.0 * IN, to_mm: 29.0 * IN }, 1.6),
    ] {
        let mut chance = Chance::mixed(seed);
        let hidden = |side: usize, s: f64| {
            let fault = if stretch.holds(side, s) { factor } else { 1.0 };
            fault * if side == UPPER { design.weaker().factor } else { 1.0 }
        };
        let readings = noisy(&read(&bow, &layouts, hidden), &mut chance);
        let fit = tiller_fit::fit(&design, &model, &readings, &ReadingErrors::each(&vec![SIGMA_MM; rows])).unwrap();
        // Readings as they would be on the straight line that touches the model at the estimate.
        let there = forward(&fit.estimate);
        let along = |row: usize| -> f64 { columns.iter().zip(&fit.estimate).map(|(column, x)| column[row] * x).sum() };
        let linear: Vec<f64> = (0..rows).map(|row| readings[row] - there[row] + along(row)).collect();
        let stretches: Vec<(usize, f64, f64)> = [(UPPER, 8.0, 14.0), (LOWER, 12.5, 20.0), (UPPER, 25.0, 33.0)]
            .map(|(side, from, to)| (side, from * IN, to * IN))
            .to_vec();
        let size = 6 + seed as usize;
        let a: Vec<Vec<f64>> = {
            let b: Vec<Vec<f64>> = (0..size).map(|_| (0..size).map(|_| chance.normal()).collect()).collect();
            let product = |i: usize, j: usize| (0..size).map(|k| b[i][k] * b[j][k]).sum::<f64>() + if i == j { 0.5 } else { 0.0 };
            (0..size).map(|i| (0..size).map(|j| product(i, j)).collect()).collect()
        };
        let q: Vec<f64> = (0..size).map(|_| chance.normal()).collect();
        let asked = serde_json::json!({
            "cells": cells.iter().map(|cell| (cell.side, cell.from_mm, cell.to_mm)).collect::<Vec<_>>(),
            "columns": columns, "linear": linear, "sigma": vec![SIGMA_MM; rows], "weight_share": model.weight_fraction,
            "stretches": stretches, "least": [{ "a": a, "q": q }],
        });
        let Some(answer) = peers::run("tiller.py", &[], &asked.to_string()) else { return };
        let answer: serde_json::Value = serde_json::from_str(&answer).unwrap();
        let number = |value: &serde_json::Value| value.as_f64().unwrap();
        // The fit ends where a round moves it by less than a thousandth; its columns bend by as much again.
        for (k, (own, judge)) in fit.estimate.iter().zip(answer["estimate"].as_array().unwrap()).enumerate() {
            assert!((own - number(judge)).abs() < 5e-3, "seed {seed}, unknown {k}: {own} {judge}");
        }
        for ((side, from_mm, to_mm), judge) in stretches.iter().zip(answer["sigmas"].as_array().unwrap()) {
            let own = fit.sigma(*side, *from_mm, *to_mm);
            assert!((own / number(judge) - 1.0).abs() < 5e-3, "seed {seed}: {own} {judge}");
        }
        let (named, best) = (&fit.stretches[0], &answer["best"]);
        let place = (named.side as f64, named.from_mm, named.to_mm);
        assert_eq!(place, (number(&best["side"]), number(&best["from_mm"]), number(&best["to_mm"])), "seed {seed}");
        if fit.stretches.len() == 1 {
            assert!((named.ln_factor - number(&best["ln_factor"])).abs() < 5e-3, "{named:?} {best}");
            assert!((named.sigma / number(&best["sigma"]) - 1.0).abs() < 2e-2, "{named:?} {best}");
        }
        let min = min_not_negative(&a, &q, &vec![true; size]);
        for (own, judge) in min.iter().zip(answer["least"][0].as_array().unwrap()) {
            assert!((own - number(judge)).abs() < 1e-5, "{min:?} {}", answer["least"]);
        }
    }
}

/// Distances of bows whose grip was held fast: the pull passes it by up to two inches, another way at each draw.
fn read_held(hidden: &LaidPair<'_>, layouts: &[GapLayout], factor: impl Fn(usize, f64) -> f64, chance: &mut Chance) -> Vec<f64> {
    let [upper, lower] = [UPPER, LOWER].map(|side| hidden.limbs()[side].stiffened(|s| factor(side, s)));
    let mut distances = Vec::new();
    for layout in layouts {
        let free = hidden.bend([&upper, &lower], layout.bending, 0.0, None).unwrap();
        let by_mm = 50.0 * chance.either_way();
        let held = hidden.bend([&upper, &lower], layout.bending, by_mm * free.force_n, Some(&free)).unwrap();
        distances.extend(hidden.gaps_mm([&upper, &lower], &held, &layout.stations_mm).into_iter().flatten());
    }
    noisy(&distances, chance)
}

/// A grip that cannot turn bears a moment of its own: said so, a stiff or weak stretch is still named and none where there is none; taken for
/// a free one, it hides some.
#[test]
fn a_grip_that_was_held_fast_hides_no_fault_and_makes_none() {
    let build = bows::flatbow();
    let (design, free) = designed(&build);
    let layouts: Vec<GapLayout> = layouts().into_iter().map(|layout| GapLayout { fixed: true, ..layout }).collect();
    let fixed = design.model(&layouts).unwrap();
    let sigmas = ReadingErrors::each(&vec![SIGMA_MM; 8 * STATIONS_IN.len()]);
    let (mut right, mut wrong, mut none, mut right_if_free) = (0, 0, 0, 0);
    let bows = 60;
    for seed in 0..bows {
        let mut chance = Chance::mixed(9000 + seed);
        let (stretch, ln) = (0..200)
            .find_map(|_| {
                let stretch = HiddenStretch::hidden(&mut chance);
                let sigma = fixed.sigma(design.cells(), &sigmas, (stretch.side, stretch.from_mm, stretch.to_mm)).unwrap();
                let ln = chance.between(5.0, 10.0) * sigma;
                (ln < 0.7).then_some((stretch, if chance.uniform() < 0.5 { -ln } else { ln }))
            })
            .unwrap();
        let mut corners = stations_mm();
        corners.extend([stretch.from_mm, stretch.to_mm, FADE_MM]);
        let hidden = LaidPair::of(&build, &build, &PairOptions::default(), &corners).unwrap();
        let whole = |side: usize| if side == UPPER { design.weaker().factor } else { 1.0 };
        let factor = |side: usize, s: f64| whole(side) * if stretch.holds(side, s) { ln.exp() } else { 1.0 };
        let faulty = read_held(&hidden, &layouts, factor, &mut chance);
        let found = tiller_fit::fit(&design, &fixed, &faulty, &sigmas).unwrap();
        let hit = |found: &tiller_fit::Stretch| stretch.is_hit_by(found, ln);
        right += usize::from(found.stretches.iter().any(hit));
        wrong += usize::from(found.stretches.iter().any(|found| !hit(found)));
        let even = read_held(&hidden, &layouts, |side, _| whole(side), &mut chance);
        let named = |model: &Model| usize::from(!tiller_fit::fit(&design, model, &even, &sigmas).unwrap().stretches.is_empty());
        none += named(&fixed);
        let taken = tiller_fit::fit(&design, &free, &faulty, &sigmas).unwrap();
        right_if_free += usize::from(taken.stretches.iter().any(hit));
    }
    println!(
        "held fast: {right} of {bows} right, {wrong} wrong, {none} without a fault named, {right_if_free} right if taken for free"
    );
    assert!(50 <= right && wrong <= 1 && none <= 1, "{right} right, {wrong} wrong, {none} named without a fault");
    assert!(right_if_free < right, "a moment that is not reckoned with hides faults: {right_if_free} of {right}");
}

/// Where brace alone does not tell the place of a fault, the answer names a draw; read there, with the forward model, the bow shows it,
/// no less often than braced once more.
#[test]
fn the_reading_that_the_answer_asks_for_shows_the_fault() {
    let build = bows::flatbow();
    let (design, model) = designed(&build);
    let sigmas = ReadingErrors::each(&vec![SIGMA_MM; 8 * STATIONS_IN.len()]);
    let (mut asked, mut shown, mut braced_again, mut wrong) = (0, 0, 0, 0);
    for seed in 0..40 {
        let mut chance = Chance::mixed(12_000 + seed);
        let stretch = HiddenStretch::hidden(&mut chance);
        let sigma = model.sigma(design.cells(), &sigmas, (stretch.side, stretch.from_mm, stretch.to_mm)).unwrap();
        let ln = (7.0 * sigma).min(0.7) * if chance.uniform() < 0.5 { -1.0 } else { 1.0 };
        let mut corners = stations_mm();
        corners.extend([stretch.from_mm, stretch.to_mm, FADE_MM]);
        let hidden = LaidPair::of(&build, &build, &PairOptions::default(), &corners).unwrap();
        let factor = |side: usize, s: f64| {
            let whole = if side == UPPER { design.weaker().factor } else { 1.0 };
            whole * if stretch.holds(side, s) { ln.exp() } else { 1.0 }
        };
        let brace_mm = build.target.unwrap().brace_height_mm;
        let mut reading = |pivot_to_nock_mm: Option<f64>| {
            let bending = LoadCase { brace_mm, pivot_to_nock_mm };
            let layout = GapLayout { bending, fixed: false, stations_mm: stations_mm(), shown: ShownRows::default() };
            let mm = noisy(&read(&hidden, &[layout], factor), &mut chance);
            let gaps: Vec<[f64; 3]> = stations_mm().iter().zip(mm.chunks(2)).map(|(s, pair)| [*s, pair[0], pair[1]]).collect();
            let Of::Tiller(read) = tiller(pivot_to_nock_mm, &gaps, Some(false)) else { unreachable!() };
            Of::Tiller(TillerReading { sigma_mm: Some(SIGMA_MM), ..read })
        };
        let braced = reading(None);
        let hit = |found: &TillerFound| found.stretches.iter().any(|found| stretch.is_hit_by(found, ln));
        let first = told_last(&build, std::slice::from_ref(&braced));
        // Only where brace alone leaves it open.
        let (true, Some(unseen)) = (first.stretches.is_empty(), first.unseen) else { continue };
        asked += 1;
        let TellsMost::Draw(draw) = unseen.tells_most else { panic!("braced, the bow is to be drawn: {unseen:?}") };
        let then = told_last(&build, &[braced.clone(), reading(Some(draw))]);
        shown += usize::from(hit(&then));
        wrong += usize::from(then.stretches.iter().any(|found| !stretch.is_hit_by(found, ln)));
        braced_again += usize::from(hit(&told_last(&build, &[braced, reading(None)])));
    }
    println!("{asked} of 40 asked for a draw: {shown} shown by it, {wrong} wrong, {braced_again} by bracing again");
    assert!(5 <= asked && wrong == 0 && asked <= 2 * shown && braced_again <= shown, "{asked}, {shown}, {wrong}, {braced_again}");
}

/// What the last of these tiller readings is answered.
fn told_last(build: &Build, readings: &[Of]) -> TillerFound {
    let mut found = told(build, None, readings).answers;
    match found.pop().unwrap().finding {
        Finding::Tiller(tiller) => *tiller,
        other => panic!("{other:?}"),
    }
}

/// Of a habit that limbs cannot show, half is taken, or half of that, and the targets show it; asked for by a figure it is refused.
#[test]
fn of_a_habit_as_much_is_taken_as_the_limbs_can_show() {
    let build = bows::flatbow();
    let of = |mm: f64, habitual: bool| {
        PairDesign::of(&build, &build, &PairOptions::default(), PositiveTiller { mm, habitual }, &stations_mm())
    };
    assert!((of(TILLER.mm, true).unwrap().tiller_mm() - TILLER.mm).abs() < 1e-9, "what can be shown is left");
    let wanted = 4.0 * IN;
    let Err(refused) = of(wanted, false) else { panic!("nobody tillers so") };
    assert_eq!(refused.place.as_str(), "target.positive_tiller");
    let design = of(wanted, true).unwrap();
    let halvings = (wanted / design.tiller_mm()).log2();
    assert!(1.0 <= halvings && (halvings - halvings.round()).abs() < 1e-9, "{}", design.tiller_mm());
    let braced = GapLayout { stations_mm: vec![FADE_MM], ..layouts().remove(0) };
    let [upper, lower] = design.targets_mm(&braced).unwrap()[0];
    assert!((upper - lower - design.tiller_mm()).abs() < 0.01, "{upper} {lower} {}", design.tiller_mm());
    // Twice as much is the half before it: that one cannot be.
    assert!(of(2.0 * design.tiller_mm(), false).is_err());
}
