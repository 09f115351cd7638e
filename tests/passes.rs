//! Pass schedules: against the trade's own example, against brute force, and against grinding that knows nothing of the planner.

mod support;

use proptest::prelude::*;
use std::collections::BTreeSet;
use support::shop::{self, papers};
use taperwright::diag::Reported;
use taperwright::model::lamination::{Face, Lamination, Pieces, Stock};
use taperwright::model::taper::Taper;
use taperwright::model::wood;
use taperwright::model::workshop::SheetCutter;
use taperwright::model::workshop::{MachineCutter, Paper, Sander, Sheet, SledPlan};
use taperwright::numeric::interp::Between;
use taperwright::shop::budget::{CALIPER_MM, budget, together_mm};
use taperwright::shop::drift::{CutReading, Specimen, TableSide, restate};
use taperwright::shop::grind::{GroundStrip, Unground, Upset, grind};
use taperwright::shop::passes::{self, Carrier, DepthLimit, FollowedSchedule, LastCut, Schedule, Setup};
use taperwright::shop::sled;
use taperwright::units::{MM_PER_IN, System};

/// A thousandth of an inch, mm.
const THOU: f64 = MM_PER_IN / 1000.0;

// ---- the trade's example ----------------------------------------------------------------------------------------------

/// Rough .180 in, finished .110 at the butt and .038 at the tip, .008 a pass: (.180 − .038)/.008 = 17.75, so 18 settings of
/// the gauge. Common practice, no source.
#[test]
fn eighteen_settings_from_180_to_38_thousandths() {
    let (lamination, sander) = trade_example();
    let schedule = planned(&lamination, &sander);
    let settings: Vec<_> = schedule.passes().filter(|pass| !pass.repeat).collect();
    assert_eq!(settings.len(), 18);
    assert!(settings.iter().all(|pass| pass.deepest_mm <= 8.0 * THOU + 1e-9));
    // Spread evenly: none is more than a step of the gauge shallower than another.
    assert!(settings.iter().all(|pass| 7.0 * THOU - 1e-9 <= pass.deepest_mm), "{settings:?}");
    let taken: f64 = settings.iter().map(|pass| pass.drop_mm).sum();
    assert!((taken - 142.0 * THOU).abs() < 1e-9);
    let repeats: Vec<_> = schedule.passes().filter(|pass| pass.repeat).collect();
    assert_eq!(repeats.len(), 2);
    assert!(repeats.iter().all(|pass| pass.drop_mm.abs() < 1e-12 && pass.deepest_mm.abs() < 1e-12));
}

/// First passes touch only the thin end, and contact grows toward the butt; at the fade, 9 in out, .092 in is left.
/// Common practice, no source.
#[test]
fn contact_begins_at_the_tip_and_grows_toward_the_butt() {
    let (lamination, sander) = trade_example();
    let schedule = planned(&lamination, &sander);
    let length = lamination.strip_length_mm();
    let from: Vec<f64> = schedule
        .passes()
        .map(|pass| {
            assert_eq!(pass.contact.len(), 1);
            assert!((pass.contact[0].max - length).abs() < 1e-6);
            pass.contact[0].min
        })
        .collect();
    assert!(from.windows(2).all(|pair| pair[1] <= pair[0] + 1e-9));
    // The surface rises .002 in/in: a cut of .008 at the tip reaches 4 in toward the butt.
    let first = schedule.passes().next().unwrap();
    assert!((length - from[0] - first.deepest_mm / 0.002).abs() < 1e-3, "{}", from[0]);
    assert!(from[17].abs() < 1e-9);
    let ground = ground(&lamination, &schedule, Upset::default());
    let fade = ground.strip.iter().min_by(|a, b| (a.0 - 228.6).abs().total_cmp(&(b.0 - 228.6).abs())).unwrap();
    assert!((fade.1 - (110.0 * THOU - 0.002 * fade.0)).abs() < 1e-9);
}

/// 1/64 in is the ceiling of school rules and of manuals of small drums; common practice, no source.
#[test]
fn soft_wood_stops_at_a_sixty_fourth_and_hard_wood_takes_less() {
    let paper = |max_mm: f64| Paper { grit: Some(36), max_mm, scratch_mm: 0.5 };
    let sander = sander(THOU, &[]);
    let mut wood = wood::named("maple, sugar").unwrap().at_moisture(0.08);
    wood.sanding_ease = 1.3;
    let limit = passes::depth_limit(&sander, &wood, &paper(0.34), 10.0);
    assert!((limit.depth_mm - MM_PER_IN / 64.0).abs() < 1e-12 && limit.by == DepthLimit::Machine);
    wood.sanding_ease = 0.6;
    let limit = passes::depth_limit(&sander, &wood, &paper(0.34), 10.0);
    assert!((limit.depth_mm - 0.204).abs() < 1e-12 && limit.by == DepthLimit::Paper);
    // A fifth of a strip of 0.8 mm.
    let limit = passes::depth_limit(&sander, &wood, &paper(0.34), 0.8);
    assert!((limit.depth_mm - 0.16).abs() < 1e-12 && limit.by == DepthLimit::ThinStrip);
    // Who states a deeper cut is believed, and warned.
    wood.sanding_ease = 1.0;
    assert!((passes::depth_limit(&sander, &wood, &paper(0.5), 10.0).depth_mm - 0.5).abs() < 1e-12);
    let deep = Sander { papers: vec![paper(0.5)], ..sander.clone() };
    let lamination = lamination("core", Taper::parallel(3.0), 800.0, Pieces::Halves);
    let warnings = passes::plan(&lamination, None, &deep).unwrap().warnings;
    assert!(warnings.iter().any(|w| w.place.as_str() == "sander.papers[0].most"), "{warnings:?}");
    // Knives do not cut deeper in soft wood, and know no drum's ceiling.
    let planer = Sander { cutter: MachineCutter::Planer, ..sander };
    wood.sanding_ease = 1.3;
    let knife = Paper { grit: None, max_mm: 0.8, scratch_mm: 0.0 };
    assert!((passes::depth_limit(&planer, &wood, &knife, 10.0).depth_mm - 0.8).abs() < 1e-12);
    wood.sanding_ease = 0.5;
    assert!((passes::depth_limit(&planer, &wood, &knife, 10.0).depth_mm - 0.4).abs() < 1e-12);
}

// ---- the fewest -------------------------------------------------------------------------------------------------------

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Every order of settings and papers that the rules allow is tried.
    #[test]
    fn no_shorter_schedule_exists(
        over in 0.02f64..1.2,
        spread in 0.0f64..0.15,
        final_steps in 12u32..80,
        coarse in 0.1f64..0.38,
        fractions in (0.3f64..1.0, 0.3f64..1.0),
        scratches in (0.0f64..0.5, 0.0f64..0.3),
    ) {
        let step_mm = 0.05;
        let finished = step_mm * f64::from(final_steps);
        let papers = [
            Paper { grit: Some(36), max_mm: coarse, scratch_mm: scratches.0 },
            Paper { grit: Some(60), max_mm: coarse * fractions.0, scratch_mm: scratches.0.min(scratches.1) },
            Paper { grit: Some(80), max_mm: (coarse * fractions.0 * fractions.1).max(step_mm), scratch_mm: 0.0 },
        ];
        let sander = sander(step_mm, &papers);
        let mut lamination = lamination("veneer", Taper::parallel(finished), 800.0, Pieces::Full);
        lamination.stock.thickness_mm = finished + over;
        lamination.stock.spread_mm = spread;
        let fewest = brute_force(&papers, step_mm, finished, finished + over + spread);
        match passes::plan(&lamination, None, &sander) {
            Ok(Reported { value, .. }) => {
                let count = value.passes().filter(|pass| !pass.repeat).count();
                prop_assert_eq!(Some(count), fewest);
            }
            Err(faults) => prop_assert_eq!(fewest, None, "{:?}", faults),
        }
    }
}

/// Passes of the shortest schedule, by trying all cuts from all places reached with one pass more each time.
fn brute_force(papers: &[Paper], step_mm: f64, finished_mm: f64, thickest_mm: f64) -> Option<usize> {
    // Thickness in steps above the finished one and the paper that made the cut; `None` before the first cut.
    let mut reached: BTreeSet<(i64, Option<usize>)> = BTreeSet::from([(i64::MAX, None)]);
    let thickness = |level: i64| if level == i64::MAX { thickest_mm } else { finished_mm + level as f64 * step_mm };
    for passes in 1..=60 {
        let mut next = BTreeSet::new();
        for &(level, present) in &reached {
            let here = thickness(level);
            for (index, paper) in papers.iter().enumerate() {
                let coarser = present.is_some_and(|present| index < present);
                let scratched =
                    present.is_some_and(|present| index != present && here - finished_mm + 1e-7 < papers[present].scratch_mm);
                if coarser || scratched {
                    continue;
                }
                let max = paper.max_mm.min(0.2 * here);
                let top = if level == i64::MAX { ((thickest_mm - finished_mm) / step_mm).ceil() as i64 } else { level };
                for lower in 0..top {
                    let cut = here - thickness(lower);
                    if 1e-7 < cut && cut <= max + 1e-7 {
                        next.insert((lower, Some(index)));
                    }
                }
            }
        }
        if next.contains(&(0, Some(papers.len() - 1))) {
            return Some(passes);
        }
        reached = next;
    }
    None
}

// ---- ground -----------------------------------------------------------------------------------------------------------

#[test]
fn grinding_gives_the_finished_thickness_and_breaks_no_limit() {
    for (lamination, sander) in cases() {
        let schedule = planned(&lamination, &sander);
        let setup = schedule.setups.last().unwrap();
        let rounding_mm = setup.last_gap_mm - setup.final_gap_mm;
        assert!(-1.5e-3 <= rounding_mm && rounding_mm <= sander.gap_step_mm, "{}: {rounding_mm}", lamination.name);
        for fraction in [-1.0, 0.0, 1.0] {
            let upset = Upset { stock_mm: fraction * lamination.stock.spread_mm, ..Upset::default() };
            let ground = ground(&lamination, &schedule, upset);
            assert!(ground.breaches.is_empty(), "{}: {:?}", lamination.name, ground.breaches);
            for (u, thickness) in &ground.strip {
                let wanted = lamination.strip_thickness_at(*u) + rounding_mm;
                // Chords of a smooth taper may be half a micrometre off.
                assert!((thickness - wanted).abs() < 1e-3, "{} at {u}: {thickness} for {wanted}", lamination.name);
            }
            assert!((ground.worst_mm - rounding_mm).abs() < 1e-3);
            each_cut(&lamination, &sander, &schedule, upset.stock_mm, |paper, before, cut| {
                let max = paper.max_mm * lamination.wood.sanding_ease;
                assert!(cut <= max + 1e-6 && cut <= 0.2 * before + 1e-6, "{}: {cut} of {before}", lamination.name);
            });
        }
    }
}

/// After a change of paper the finer ones take off at least one mean grain of the coarser, wherever it has touched.
/// P60 269 µm, P80 201 µm, P36 538 µm: ISO 6344-2, as in FEPA 43-1, from printed comparison tables.
#[test]
fn no_scratch_of_a_coarser_paper_is_left() {
    let published = |grade: u32| match grade {
        36 => 0.538,
        60 => 0.269,
        80 => 0.201,
        _ => panic!("P{grade} is not in this test"),
    };
    let mut changes = 0;
    for (lamination, sander) in cases() {
        let schedule = planned(&lamination, &sander);
        changes += schedule.paper_changes();
        let last = sander.papers.last().unwrap().grit.unwrap();
        for fraction in [-1.0, 0.0, 1.0] {
            // At each place: what each grade left there when it last touched.
            let (mut left, mut touched) = (Vec::new(), Vec::new());
            simulate(&lamination, &schedule, fraction * lamination.stock.spread_mm, |paper, face, index, _, after, cut| {
                if face != schedule.setups.last().unwrap().face {
                    return;
                }
                left.resize(left.len().max(index + 1), f64::INFINITY);
                left[index] = after;
                if 1e-9 < cut {
                    touched.push((sander.papers[paper].grit.unwrap(), index, after));
                }
            });
            for (grade, index, after) in touched {
                let removed = after - left[index];
                assert!(grade == last || published(grade) - 1e-6 <= removed, "{}: P{grade}, {removed}", lamination.name);
            }
        }
    }
    assert!(3 <= changes, "the cases change paper too rarely to show anything");
}

#[test]
fn volumes_add_up_to_stock_less_finished() {
    for (lamination, sander) in cases() {
        let schedule = planned(&lamination, &sander);
        let setup = schedule.setups.last().unwrap();
        let rounding = setup.last_gap_mm - setup.final_gap_mm;
        let removed: f64 = schedule.passes().map(|pass| pass.volume_mm3).sum();
        // Midpoint sums over short pieces, corners of the taper on their ends.
        let mut area = 0.0;
        for pair in lamination.strip_corners().windows(2) {
            let step = (pair[1] - pair[0]) / 4000.0;
            area += (0..4000)
                .map(|k| lamination.strip_thickness_at(pair[0] + (f64::from(k) + 0.5) * step))
                .map(|t| (lamination.stock.thickness_mm - t - rounding).max(0.0) * step)
                .sum::<f64>();
        }
        let wanted = area * lamination.stock.width_mm * f64::from(schedule.together);
        assert!((removed / wanted - 1.0).abs() < 1e-3, "{}: {removed} for {wanted}", lamination.name);
    }
}

#[test]
fn a_gap_that_is_off_goes_straight_into_the_wood() {
    let (lamination, sander) = trade_example();
    let schedule = planned(&lamination, &sander);
    for gap_mm in [-0.05, 0.0, 0.08] {
        let ground = ground(&lamination, &schedule, Upset { gap_mm, stock_mm: 0.0 });
        assert!((ground.worst_mm - gap_mm).abs() < 1e-9);
        assert!(ground.strip.iter().all(|(u, t)| (t - lamination.strip_thickness_at(*u) - gap_mm).abs() < 1e-9));
        // A gap that stands low makes the first cut deeper than planned, and the grinding says so.
        assert_eq!(
            ground.breaches.iter().map(|breach| breach.pass).collect::<Vec<_>>(),
            if gap_mm < 0.0 { vec![1] } else { vec![] }
        );
    }
}

// ---- faces, strips, time ----------------------------------------------------------------------------------------------

#[test]
fn a_kept_face_is_never_cut() {
    let (mut lamination, sander) = trade_example();
    lamination.stock.first_face_mm = 0.3;
    for (kept, cut) in [(Face::Back, Face::Belly), (Face::Belly, Face::Back)] {
        lamination.keep_face = Some(kept);
        let planned = plan_of(&lamination, &sander);
        assert!(planned.value.setups.iter().all(|setup| setup.face == cut && !setup.turn_over));
        assert_eq!(planned.value.setups.len(), 1);
        assert!(planned.warnings.iter().any(|w| w.place.as_str() == "lamination[0].stock.first_face"));
    }
}

#[test]
fn the_first_face_is_made_true_before_the_strip_is_turned() {
    let (mut lamination, sander) = trade_example();
    lamination.stock.first_face_mm = 0.4;
    lamination.stock.spread_mm = 0.1;
    lamination.stock.thickness_mm = 200.0 * THOU;
    let schedule = planned(&lamination, &sander);
    let [flat, taper] = schedule.setups.as_slice() else { panic!("{schedule:?}") };
    assert_eq!((flat.carrier, flat.face, flat.turn_over), (Carrier::Flat, Face::Back, false));
    assert_eq!((taper.carrier, taper.face, taper.turn_over), (Carrier::Sled, Face::Belly, true));
    let level = 200.0 * THOU - 0.4;
    assert!(level - 1e-9 <= flat.last_gap_mm && flat.last_gap_mm <= level + sander.gap_step_mm);
    // All strips are of one thickness once the first face is true.
    assert!(taper.before.thickest_mm - taper.before.thinnest_mm < 1e-9);
    assert!((taper.before.nominal_mm - flat.last_gap_mm).abs() < 1e-9);
    let numbers: Vec<u32> = schedule.passes().map(|pass| pass.number).collect();
    assert_eq!(numbers, (1..=numbers.len() as u32).collect::<Vec<_>>());
}

#[test]
fn a_parallel_strip_needs_no_sled_and_a_tapered_one_does() {
    let sander = sander(THOU, &papers(&[60, 80]));
    let mut parallel = lamination("veneer", Taper::parallel(1.2), 800.0, Pieces::Full);
    parallel.stock.thickness_mm = 2.2;
    let planned = passes::plan(&parallel, None, &sander).unwrap();
    assert!(planned.value.setups.iter().all(|setup| setup.carrier == Carrier::Flat));
    assert!(
        planned.warnings.iter().any(|w| w.message.spoken(System::Millimetre).contains("too thin for the bare table")),
        "{:?}",
        planned.warnings
    );
    let (tapered, _) = trade_example();
    let faults = passes::plan(&tapered, None, &sander).unwrap_err();
    assert!(faults[0].message.spoken(System::Millimetre).contains("needs a sled"), "{faults:?}");
    let ground = Lamination { ground: true, ..tapered };
    assert!(passes::plan(&ground, None, &sander).unwrap().value.setups.is_empty());
}

#[test]
fn a_planer_cuts_with_one_knife() {
    let knife = Paper { grit: None, max_mm: 0.5, scratch_mm: 0.0 };
    let planer = Sander { cutter: MachineCutter::Planer, ..sander(0.1, &[knife]) };
    let (lamination, _) = trade_example();
    let schedule = planned(&lamination, &planer);
    assert_eq!(schedule.paper_changes(), 0);
    assert!(schedule.passes().all(|pass| pass.grit.is_none() && pass.deepest_mm <= 0.5 + 1e-9));
    // Near the feather the strip itself is the limit, a fifth of it.
    assert!(schedule.passes().any(|pass| pass.limit.by == DepthLimit::ThinStrip));
}

#[test]
fn strips_side_by_side_save_runs() {
    let (lamination, alone) = trade_example();
    let pair = Sander { together: 2, ..alone.clone() };
    let (one, two) = (planned(&lamination, &alone), planned(&lamination, &pair));
    assert_eq!((one.together, one.runs, two.together, two.runs), (1, 2, 2, 1));
    assert!((one.time_s() / two.time_s() - 2.0).abs() < 1e-9);
    let volume = |schedule: &Schedule| schedule.passes().map(|pass| pass.volume_mm3).sum::<f64>();
    assert!((volume(&two) / volume(&one) - 2.0).abs() < 1e-9);
    let mut full = lamination.clone();
    full.pieces = Pieces::Full;
    assert_eq!((planned(&full, &pair).together, planned(&full, &pair).runs), (1, 1));
}

#[test]
fn time_adds_up() {
    for (lamination, sander) in cases() {
        let schedule = planned(&lamination, &sander);
        let travel = |carrier: Carrier| match carrier {
            Carrier::Flat => lamination.strip_length_mm(),
            Carrier::Sled => lamination.strip_length_mm() + 2.0 * plan().run_on_mm,
        };
        let mut wanted = 0.0;
        for setup in &schedule.setups {
            wanted += setup.passes.len() as f64 * (travel(setup.carrier) / sander.feed_mm_s + passes::HANDLING_S);
        }
        wanted *= f64::from(schedule.runs);
        let papers: Vec<usize> = schedule.passes().map(|pass| pass.paper).collect();
        let changes = papers.windows(2).filter(|pair| pair[0] != pair[1]).count();
        wanted += changes as f64 * passes::PAPER_CHANGE_S;
        assert!((schedule.time_s() - wanted).abs() < 1e-6, "{}", lamination.name);
    }
}

#[test]
fn turns_of_the_crank_and_drops_lead_from_one_gap_to_the_next() {
    let (lamination, sander) = trade_example();
    let schedule = planned(&lamination, &sander);
    let setup = &schedule.setups[0];
    let mut gap = setup.first_contact_gap_mm;
    for pass in &setup.passes {
        gap -= pass.turns * sander.crank_mm;
        assert!((gap - pass.gap_mm).abs() < 1e-9);
        let steps = pass.gap_mm / sander.gap_step_mm;
        assert!((steps - steps.round()).abs() < 1e-6, "{} is no setting of the gauge", pass.gap_mm);
    }
    assert!((gap - setup.last_gap_mm).abs() < 1e-9);
}

// ---- taken up again ---------------------------------------------------------------------------------------------------

#[test]
fn the_rest_of_a_schedule_is_the_schedule_where_nothing_drifted() {
    let (lamination, sander) = trade_example();
    let schedule = planned(&lamination, &sander);
    let sled = sled::build(&lamination, &plan(), &sander).unwrap().value;
    let setup = &schedule.setups[0];
    for made in [1_u32, 7, 17] {
        let pass = &setup.passes[made as usize - 1];
        let at = LastCut { gap_mm: pass.gap_mm, paper: pass.paper, gauge_offset_mm: 0.0 };
        let followed = FollowedSchedule { lamination: &lamination, sled: Some(&sled), sander: &sander, setup, made, together: 1 };
        let rest = passes::remaining(&followed, at).unwrap().value;
        assert_eq!(rest.passes.len(), setup.passes.len() - made as usize);
        assert_eq!(rest.passes[0].number, made + 1);
        assert!((rest.last_gap_mm - setup.last_gap_mm).abs() < 1e-9);
    }
}

// ---- drift ------------------------------------------------------------------------------------------------------------

/// The cutter stands off by `drift` from the start: after some passes the strip is read, and the rest is ground as restated.
#[test]
fn a_test_strip_brings_the_finished_thickness_back() {
    let (lamination, sander) = trade_example();
    let sled = sled::build(&lamination, &plan(), &sander).unwrap().value;
    let schedule = planned(&lamination, &sander);
    let setup = &schedule.setups[0];
    let at = FollowedSchedule { lamination: &lamination, sled: Some(&sled), sander: &sander, setup, made: 0, together: 1 };
    let upsets = [-0.13, -0.004, 0.0, 0.011, 0.0381, 0.21];
    for (gap_mm, made) in upsets.into_iter().flat_map(|gap_mm| [1_u32, 9, 17].map(|made| (gap_mm, made))) {
        let upset = Upset { gap_mm, stock_mm: 0.0 };
        let so_far = Setup { passes: setup.passes[..made as usize].to_vec(), ..setup.clone() };
        let partly = ground(&lamination, &Schedule { setups: vec![so_far.clone()], ..schedule.clone() }, upset);
        let (u, thickness) = *partly.strip.last().unwrap();
        if lamination.stock.thickness_mm - 1e-9 < thickness {
            continue;
        }
        let reading = CutReading {
            gauge_mm: so_far.passes.last().unwrap().gap_mm,
            surface_mm: sled.surface_mm(u),
            left_mm: thickness,
            right_mm: thickness,
            apart_mm: 40.0,
        };
        assert!((reading.offset_mm() - gap_mm).abs() < 1e-9);
        let restated = restate(&FollowedSchedule { made, ..at }, None, Specimen::Work, &reading).unwrap().value;
        assert!((restated.offset_mm - gap_mm).abs() < 1e-9);
        assert!((restated.setup.gauge_offset_mm - gap_mm).abs() < 1e-9);
        // In the true machine the offset is the upset; the schedule's belief in it must not count twice.
        let rest = Setup { gauge_offset_mm: 0.0, ..restated.setup.clone() };
        let whole = ground(&lamination, &Schedule { setups: vec![so_far, rest], ..schedule.clone() }, upset);
        assert!((whole.worst_mm - restated.setup.rounding_mm).abs() < 1.4e-3, "{gap_mm} after {made}: {}", whole.worst_mm);
        assert!(whole.worst_mm.abs() <= sander.gap_step_mm);
        let limits = whole.breaches.iter().filter(|breach| made < breach.pass).count();
        assert_eq!(limits, 0, "{gap_mm} after {made}: {:?}", whole.breaches);
        assert_eq!(restated.setup.passes.iter().filter(|pass| pass.repeat).count(), 2);
        assert_eq!(restated.setup.passes[0].number, made + 1);
    }
}

/// New paper stands 0.12 mm lower than the gauge says; the work was last cut with the old one, which stood true.
#[test]
fn scrap_finds_the_zero_of_new_paper() {
    let (lamination, sander) = trade_example();
    let sled = sled::build(&lamination, &plan(), &sander).unwrap().value;
    let schedule = planned(&lamination, &sander);
    let setup = &schedule.setups[0];
    let at = FollowedSchedule { lamination: &lamination, sled: Some(&sled), sander: &sander, setup, made: 0, together: 1 };
    let reading = CutReading { gauge_mm: 12.0, surface_mm: 0.0, left_mm: 11.9, right_mm: 11.86, apart_mm: 40.0 };
    assert!((reading.offset_mm() + 0.12).abs() < 1e-12);
    let restated = restate(&FollowedSchedule { made: 9, ..at }, None, Specimen::Scrap, &reading).unwrap().value;
    assert!((restated.last_cut_mm.unwrap() - setup.passes[8].gap_mm).abs() < 1e-12);
    let last = restated.setup.passes.last().unwrap();
    let true_last = last.gap_mm - 0.12;
    assert!((-1.4e-3..=sander.gap_step_mm).contains(&(true_last - setup.final_gap_mm)), "{true_last}");
    // Before the first pass nothing has been cut, and all of it is still to do.
    let fresh = restate(&at, None, Specimen::Scrap, &reading).unwrap().value;
    assert_eq!(fresh.last_cut_mm, None);
    let settings = |setup: &Setup| setup.passes.iter().filter(|pass| !pass.repeat).count();
    assert_eq!(settings(&fresh.setup), settings(setup));
}

#[test]
fn passes_at_the_last_gap_stay_on_the_list() {
    let (lamination, sander) = trade_example();
    let sled = sled::build(&lamination, &plan(), &sander).unwrap().value;
    let schedule = planned(&lamination, &sander);
    let setup = &schedule.setups[0];
    for (made, left) in [(18, 2), (19, 1), (20, 0)] {
        let at = LastCut { gap_mm: setup.last_gap_mm, paper: 0, gauge_offset_mm: 0.0 };
        let followed = FollowedSchedule { lamination: &lamination, sled: Some(&sled), sander: &sander, setup, made, together: 1 };
        let rest = passes::remaining(&followed, at).unwrap().value;
        assert_eq!(rest.passes.len(), left);
        assert!(rest.passes.iter().all(|pass| pass.repeat && (pass.gap_mm - setup.last_gap_mm).abs() < 1e-9));
    }
}

#[test]
fn a_strip_that_is_too_thin_already_is_said() {
    let (lamination, sander) = trade_example();
    let sled = sled::build(&lamination, &plan(), &sander).unwrap().value;
    let setup = planned(&lamination, &sander).setups.remove(0);
    let at =
        FollowedSchedule { lamination: &lamination, sled: Some(&sled), sander: &sander, setup: &setup, made: 0, together: 1 };
    let surface_mm = sled.surface_mm(0.0);
    let thick = setup.final_gap_mm - surface_mm - 0.1;
    let reading = CutReading { gauge_mm: setup.last_gap_mm, surface_mm, left_mm: thick, right_mm: thick, apart_mm: 40.0 };
    let restated = restate(&FollowedSchedule { made: 18, ..at }, None, Specimen::Work, &reading).unwrap();
    assert!(restated.value.setup.passes.is_empty());
    assert!(restated.value.too_thin(&lamination).unwrap().message.spoken(System::Millimetre).contains("too thin already"));
    let forgotten = CutReading { surface_mm: 0.0, ..reading };
    let restated = restate(&FollowedSchedule { made: 5, ..at }, None, Specimen::Scrap, &forgotten).unwrap();
    assert!(restated.warnings.iter().any(|w| w.message.spoken(System::Millimetre).contains("apart")), "{:?}", restated.warnings);
}

/// After three passes the butt is still as it came; taken for a cut place it would put the gap .046 in too low:
/// .070 less surface than at the tip (.002 in/in over 35 in), of which three passes of .008 have taken .024.
#[test]
fn a_place_that_was_not_cut_says_nothing_of_the_gap() {
    let (lamination, sander) = trade_example();
    let sled = sled::build(&lamination, &plan(), &sander).unwrap().value;
    let setup = planned(&lamination, &sander).setups.remove(0);
    let line =
        FollowedSchedule { lamination: &lamination, sled: Some(&sled), sander: &sander, setup: &setup, made: 0, together: 1 };
    let at = |u: f64, thick: f64| CutReading {
        gauge_mm: setup.passes[2].gap_mm,
        surface_mm: sled.surface_mm(u),
        left_mm: thick,
        right_mm: thick,
        apart_mm: 40.0,
    };
    assert!(setup.passes[2].contact[0].min > 300.0);
    let butt = at(25.4, lamination.stock.thickness_mm);
    assert!((butt.offset_mm() + 46.0 * THOU).abs() < 1e-9, "{}", butt.offset_mm());
    let faults = restate(&FollowedSchedule { made: 3, ..line }, None, Specimen::Work, &butt).unwrap_err();
    assert!(faults[0].message.spoken(System::Millimetre).contains("never have been cut"), "{faults:?}");
    // The tip has been cut, and a scrap has nothing to do with the stock.
    let tip = lamination.strip_length_mm();
    let cut = at(tip, setup.passes[2].gap_mm - sled.surface_mm(tip));
    assert!(restate(&FollowedSchedule { made: 3, ..line }, None, Specimen::Work, &cut).is_ok());
    let scrap = CutReading { gauge_mm: 5.0, surface_mm: 0.0, left_mm: 5.02, right_mm: 5.02, apart_mm: 40.0 };
    assert!(restate(&FollowedSchedule { made: 3, ..line }, None, Specimen::Scrap, &scrap).is_ok());
}

/// .004 in thicker on the left over 10 in is 0.4 thousandths an inch: .0056 in at screws 14 in apart.
#[test]
fn the_table_is_raised_where_the_strip_is_thick() {
    let reading = |left_thou: f64, right_thou: f64| CutReading {
        gauge_mm: 0.0,
        surface_mm: 0.0,
        left_mm: left_thou * THOU,
        right_mm: right_thou * THOU,
        apart_mm: 10.0 * MM_PER_IN,
    };
    let tilt = reading(104.0, 100.0).tilt(2.0 * MM_PER_IN, 14.0 * MM_PER_IN).unwrap();
    assert_eq!(tilt.raise, Some(TableSide::Left));
    assert!((tilt.angle_rad.tan() - 0.0004).abs() < 1e-12);
    assert!((tilt.over_width_mm - 0.8 * THOU).abs() < 1e-12);
    assert!((tilt.raise_by_mm - 5.6 * THOU).abs() < 1e-12);
    let other = reading(100.0, 104.0).tilt(2.0 * MM_PER_IN, 14.0 * MM_PER_IN).unwrap();
    assert_eq!(other.raise, Some(TableSide::Right));
    assert!((other.angle_rad + tilt.angle_rad).abs() < 1e-15 && (other.over_width_mm + tilt.over_width_mm).abs() < 1e-12);
    // A caliper cannot tell less than half a thousandth.
    let even = reading(100.4, 100.0).tilt(50.0, 350.0).unwrap();
    assert_eq!((even.raise, even.raise_by_mm <= 0.0), (None, true));
    assert!(CutReading { apart_mm: 0.0, ..reading(104.0, 100.0) }.tilt(50.0, 350.0).is_none());
}

// ---- rounding and the budget ------------------------------------------------------------------------------------------

/// The base that the hint names, as it is printed in the builder's units, brings the last gap onto the gauge.
#[test]
fn the_hinted_base_makes_the_rounding_vanish() {
    let (lamination, sander) = trade_example();
    for (base_mm, system) in [(25.0, System::Millimetre), (25.41, System::Inch), (24.6, System::Millimetre), (25.1, System::Inch)]
    {
        let at_base = |base_mm: f64| {
            let sled = sled::build(&lamination, &SledPlan { base_mm, ..plan() }, &sander).unwrap().value;
            passes::plan(&lamination, Some(&sled), &sander).unwrap()
        };
        let before = at_base(base_mm);
        assert!(0.25 * THOU < before.value.setups[0].rounding_mm);
        let warning = before.warnings.iter().find(|w| w.place.as_str() == "sled.base").unwrap();
        let hint = warning.words(system).hints[0].clone();
        let number: f64 = hint.split("`base` = ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
        let after = at_base(if system == System::Inch { number * MM_PER_IN } else { number });
        assert!(after.value.setups[0].rounding_mm < 2.6e-3, "{hint}: {}", after.value.setups[0].rounding_mm);
        assert!(after.warnings.iter().all(|w| w.place.as_str() != "sled.base"), "{hint}");
    }
}

#[test]
fn stock_hints_count_what_comes_off_the_first_face() {
    let (mut lamination, sander) = trade_example();
    lamination.stock.first_face_mm = 0.4;
    lamination.stock.thickness_mm = 3.0;
    let sled = sled::build(&lamination, &plan(), &sander).unwrap().value;
    let fault = passes::plan(&lamination, Some(&sled), &sander).unwrap_err().remove(0);
    let hint = fault.words(System::Millimetre).hints[0].clone();
    let wanted: f64 = hint.split("at least ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    lamination.stock.thickness_mm = wanted + 0.001;
    assert!(passes::plan(&lamination, Some(&sled), &sander).is_ok(), "{hint}");
}

/// Independent bounds add as squares (JCGM 100:2008, 5.1.2): 0.03, 0.04 and 0.12 give 0.13. Biases add plainly.
#[test]
fn causes_add_as_squares_and_biases_plainly() {
    let cutter = SheetCutter::Laser { kerf_mm: 0.2, bed_mm: [500.0, 300.0], holds_mm: 0.1 };
    let shop = Sander { repeats_mm: 0.03, ..sander(THOU, &[]) };
    let plan = plan();
    let whole = budget(Some((&plan, &cutter)), &shop, 0.01, 0.02);
    let root = (0.1_f64.powi(2) + 0.1_f64.powi(2) + 0.03_f64.powi(2) + CALIPER_MM.powi(2)).sqrt();
    assert!((whole.as_cut_mm - root - 0.03).abs() < 1e-12);
    // A trimmed sled has been read by the same caliper, once more.
    let root = (plan.tolerance_mm.powi(2) + 0.03_f64.powi(2) + 2.0 * CALIPER_MM.powi(2)).sqrt();
    assert!((whole.trimmed_mm - root - 0.03).abs() < 1e-12 && whole.trimmed_mm < whole.as_cut_mm);
    assert!((whole.one_sided_mm - 0.03).abs() < 1e-12);
    assert!(whole.causes.iter().all(|cause| 0.0 < cause.mm && 20 < cause.why.len()));
    let without = budget(None, &shop, 0.0, 0.0);
    assert!((without.as_cut_mm - 0.03_f64.hypot(CALIPER_MM)).abs() < 1e-12);
    assert!((without.trimmed_mm - without.as_cut_mm).abs() < 1e-12);
    // Two sleds of one make round and sag the same way.
    let both = together_mm([&whole, &whole]);
    assert!((both - 2.0 * whole.one_sided_mm - std::f64::consts::SQRT_2 * root).abs() < 1e-12);
}

// ---- scale, effort ----------------------------------------------------------------------------------------------------

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn doll_and_giant(scale in 0.5f64..3.0) {
        let (one, shop) = trade_example();
        let mut other = one.clone();
        other.finished = Taper::straight(0.0, 914.4 * scale, 110.0 * THOU * scale, 0.002).unwrap();
        other.to_mm *= scale;
        other.stock = Stock {
            thickness_mm: one.stock.thickness_mm * scale,
            spread_mm: one.stock.spread_mm * scale,
            width_mm: one.stock.width_mm * scale,
            overrun_mm: one.stock.overrun_mm * scale,
            first_face_mm: 0.0,
        };
        let mut scaled = shop.clone();
        scaled.gap_step_mm *= scale;
        scaled.crank_mm *= scale;
        scaled.feed_mm_s *= scale;
        scaled.papers[0].max_mm *= scale;
        let base = SledPlan { base_mm: MM_PER_IN * scale, deck_mm: 236.0 * THOU * scale, ..plan() };
        let sled = sled::build(&other, &base, &scaled).unwrap().value;
        let (a, b) = (planned(&one, &shop), passes::plan(&other, Some(&sled), &scaled).unwrap().value);
        prop_assert_eq!(a.passes().count(), b.passes().count());
        for (a, b) in a.passes().zip(b.passes()) {
            prop_assert!((a.gap_mm * scale - b.gap_mm).abs() < 1e-6);
            prop_assert!((a.deepest_mm * scale - b.deepest_mm).abs() < 1e-6);
            prop_assert!((a.turns - b.turns).abs() < 1e-6);
            prop_assert!((a.volume_mm3 * scale.powi(3) / b.volume_mm3 - 1.0).abs() < 1e-6 || a.repeat);
        }
    }
}

/// More settings weighed than here for the same answer, and something works harder than it did.
#[test]
fn the_search_weighs_no_more_settings_than_it_did() {
    let (lamination, mut sander) = trade_example();
    assert_eq!(planned(&lamination, &sander).setups[0].states_visited, 1108);
    sander.papers = papers(&[36, 60, 80]);
    assert_eq!(planned(&lamination, &sander).setups[0].states_visited, 3678);
    sander.gap_step_mm = 0.01;
    assert_eq!(planned(&lamination, &sander).setups[0].states_visited, 25_524);
}

#[test]
fn refusals_name_the_place_and_the_numbers() {
    let refused = |lamination: &Lamination, sander: &Sander| {
        let sled = sled::build(lamination, &plan(), sander).unwrap().value;
        passes::plan(lamination, Some(&sled), sander).unwrap_err().remove(0)
    };
    let (core, usual) = trade_example();
    let mut thin = core.clone();
    thin.stock.thickness_mm = 100.0 * THOU;
    let fault = refused(&thin, &usual);
    assert_eq!(fault.place.as_str(), "lamination[0].stock.thickness");
    let coarse = Sander { gap_step_mm: 0.3, ..usual.clone() };
    let fault = refused(&core, &coarse);
    assert_eq!(fault.place.as_str(), "sander.gap_step");
    let narrow = Sander { widest_mm: 40.0, ..usual.clone() };
    let parallel = lamination("wide", Taper::parallel(3.0), 800.0, Pieces::Full);
    let faults = passes::plan(&parallel, None, &narrow).unwrap_err();
    assert_eq!(faults[0].place.as_str(), "lamination[0].stock.width");
    let none = Sander { papers: Vec::new(), ..usual };
    assert!(passes::plan(&parallel, None, &none).unwrap_err()[0].message.spoken(System::Millimetre).contains("no paper"));
}

// ---- what the tests stand on ------------------------------------------------------------------------------------------

fn planned(lamination: &Lamination, sander: &Sander) -> Schedule {
    plan_of(lamination, sander).value
}

fn plan_of(lamination: &Lamination, sander: &Sander) -> Reported<Schedule> {
    let sled = (!lamination.is_parallel()).then(|| sled::build(lamination, &plan(), sander).unwrap().value);
    passes::plan(lamination, sled.as_ref(), sander).unwrap_or_else(|faults| panic!("{}: {faults:?}", lamination.name))
}

/// Grinds over a surface that is worked out here: the last gap less the finished thickness.
fn ground(lamination: &Lamination, schedule: &Schedule, upset: Upset) -> GroundStrip {
    let surface = surface(lamination);
    let (length_mm, stock_mm) = (lamination.strip_length_mm(), lamination.stock.thickness_mm);
    grind(Unground { surface: &surface, length_mm, stock_mm }, schedule, |u| lamination.strip_thickness_at(u), upset)
}

fn surface(lamination: &Lamination) -> Vec<(f64, f64)> {
    let length = lamination.strip_length_mm();
    let mut places: Vec<f64> = (0..=2000).map(|k| length * f64::from(k) / 2000.0).chain(lamination.strip_corners()).collect();
    places.sort_by(f64::total_cmp);
    let butt = lamination.finished.at(if lamination.pieces == Pieces::Full { 0.0 } else { lamination.from_mm });
    let top = plan().base_mm + plan().deck_mm + plan().under_mm + butt;
    places.into_iter().map(|u| (u, top - lamination.strip_thickness_at(u))).collect()
}

/// `(paper, thickness before, cut)` of every cut at every place.
fn each_cut(lamination: &Lamination, sander: &Sander, schedule: &Schedule, more_mm: f64, mut look: impl FnMut(&Paper, f64, f64)) {
    simulate(lamination, schedule, more_mm, |paper, _, _, before, _, cut| look(&sander.papers[paper], before, cut));
}

/// `look(paper, face, place, thickness before, after, cut)`.
fn simulate(lamination: &Lamination, schedule: &Schedule, more_mm: f64, mut look: impl FnMut(usize, Face, usize, f64, f64, f64)) {
    let surface = surface(lamination);
    let mut strip = vec![lamination.stock.thickness_mm + more_mm; surface.len()];
    for setup in &schedule.setups {
        for pass in &setup.passes {
            for (index, t) in strip.iter_mut().enumerate() {
                let under = if setup.carrier == Carrier::Sled { surface[index].1 } else { 0.0 };
                let after = t.min(pass.gap_mm - under);
                look(pass.paper, setup.face, index, *t, after, *t - after);
                *t = after;
            }
        }
    }
}

/// Straight, flat then straight, reverse, end for end, station-wise, smooth, parallel, and with a first face.
fn cases() -> Vec<(Lamination, Sander)> {
    let straight = || Taper::straight(0.0, 876.3, 2.794, 0.0015).unwrap();
    let flat = Taper::flat_then_straight(0.0, 876.3, 3.2, 200.0, 0.002).unwrap();
    let reverse = Taper::straight(0.0, 700.0, 2.0, -0.001).unwrap();
    let stations = || vec![(0.0, 3.2), (250.0, 3.1), (600.0, 2.2), (800.0, 1.5)];
    let mut cases = vec![
        lamination("straight", straight(), 876.3, Pieces::Halves),
        lamination("flat then straight", flat.clone(), 876.3, Pieces::Halves),
        lamination("reverse", reverse, 700.0, Pieces::Halves),
        lamination("end for end", flat, 876.3, Pieces::Full),
        lamination("stations", Taper::stations(stations(), Between::Straight).unwrap(), 800.0, Pieces::Halves),
        lamination("smooth", Taper::stations(stations(), Between::Smooth).unwrap(), 800.0, Pieces::Full),
        lamination("parallel", Taper::parallel(2.0), 800.0, Pieces::Full),
    ];
    let mut both = lamination("both faces", straight(), 876.3, Pieces::Halves);
    both.stock.first_face_mm = 0.4;
    cases.push(both);
    let shops = [
        sander(THOU, &papers(&[60, 80])),
        sander(0.02, &papers(&[36, 60, 80])),
        sander(2.0 * THOU, &papers(&[60])),
        Sander { together: 2, ..sander(0.01, &papers(&[36, 80])) },
    ];
    cases.iter().flat_map(|lamination| shops.iter().map(|shop| (lamination.clone(), shop.clone()))).collect()
}

fn trade_example() -> (Lamination, Sander) {
    let taper = Taper::straight(0.0, 914.4, 110.0 * THOU, 0.002).unwrap();
    let mut lamination = lamination("core", taper, 914.4, Pieces::Halves);
    lamination.wood.sanding_ease = 1.0;
    lamination.stock = Stock { thickness_mm: 180.0 * THOU, spread_mm: 0.0, width_mm: 44.45, overrun_mm: 0.0, first_face_mm: 0.0 };
    (lamination, sander(THOU, &[Paper { grit: Some(60), max_mm: 8.0 * THOU, scratch_mm: 0.2 }]))
}

fn lamination(name: &str, finished: Taper, to_mm: f64, pieces: Pieces) -> Lamination {
    let mut wood = wood::named("maple, sugar").unwrap().at_moisture(0.08);
    wood.sanding_ease = 1.0;
    let stock = Stock { thickness_mm: 4.6, spread_mm: 0.15, width_mm: 44.45, overrun_mm: 12.0, first_face_mm: 0.0 };
    shop::lamination(name, wood, finished, to_mm, pieces, stock)
}

/// Every part of the last gap is a whole number of thousandths.
fn plan() -> SledPlan {
    let usual = shop::plan();
    let sheet = Sheet { thickness_mm: 236.0 * THOU, ..usual.sheet };
    SledPlan { deck_mm: 236.0 * THOU, under_mm: 0.0, tolerance_mm: THOU, sheet, ..usual }
}

fn sander(gap_step_mm: f64, papers: &[Paper]) -> Sander {
    Sander { min_thickness_mm: 0.4, gap_step_mm, papers: papers.to_vec(), ..shop::sander() }
}
