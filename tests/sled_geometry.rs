//! Sleds of all makes: heights against the taper, parts that fit each other and the bed, shims against the shop's rule.

mod support;

use proptest::prelude::*;
use taperwright::diag::Place;
use taperwright::drawing::{Align, Label};
use taperwright::geometry::offset::outward;
use taperwright::geometry::{Bounds, Path, Point};
use taperwright::model::lamination::{Lamination, Pieces, Stock};
use taperwright::model::taper::Taper;
use taperwright::model::wood;
use taperwright::model::workshop::{Sander, Sheet, SheetCutter, ShimStock, SledMake, SledPlan};
use taperwright::numeric::interp::Between;
use taperwright::shop::correct::{HeightReading, corrections};
use taperwright::shop::kit::{Kit, Means, SideView};
use taperwright::shop::parts::{Part, compensated};
use taperwright::shop::shims::{make_up, make_up_all};
use taperwright::shop::sled::{self, Sled};
use taperwright::shop::{nest, raised_end, ramp, shimmed, solid};
use taperwright::units::{MM_PER_IN, System};

const LASER: SheetCutter = SheetCutter::Laser { kerf_mm: 0.2, bed_mm: [508.0, 304.8], holds_mm: 0.1 };
const ROUTER: SheetCutter = SheetCutter::Router { bit_mm: 3.175, bed_mm: [600.0, 900.0], holds_mm: 0.1 };
const HAND: SheetCutter = SheetCutter::Hand { holds_mm: 0.3 };

// ---- heights ----------------------------------------------------------------------------------------------------------

#[test]
fn lamination_plus_sled_is_the_last_gap_everywhere() {
    for (lamination, plan) in cases() {
        let sled = built(&lamination, &plan);
        for k in 0..=4000 {
            let u = sled.strip_length_mm * f64::from(k) / 4000.0;
            let gap = sled.surface_mm(u) + lamination.strip_thickness_at(u);
            // The chords of a smooth taper are allowed a micrometre, straight pieces nothing.
            assert!((gap - sled.final_gap_mm).abs() < 1e-3, "{} at {u}: {gap}", lamination.name);
        }
        for u in lamination.strip_corners() {
            let gap = sled.surface_mm(u) + lamination.strip_thickness_at(u);
            assert!((gap - sled.final_gap_mm).abs() < 1e-9, "{} at its corner {u}", lamination.name);
        }
        // The base is the ramp's height at the lamination's own butt, not at the end of its overrun.
        let butt = lamination.u_of(lamination.from_mm);
        assert!((sled.ramp.at(butt) - plan.base_mm).abs() < 1e-9);
    }
}

#[test]
fn corners_are_where_the_taper_bends_at_once() {
    let by_name = |name: &str| {
        let (lamination, plan) = cases().into_iter().find(|(lamination, _)| lamination.name == name).unwrap();
        built(&lamination, &plan).corners_mm
    };
    assert!(by_name("halves").is_empty());
    assert!(by_name("smooth").is_empty());
    let flat = by_name("full");
    assert_eq!(flat.len(), 2);
    assert!((flat[0] - 775.0).abs() < 1e-9 && (flat[1] - 975.0).abs() < 1e-9, "{flat:?}");
}

proptest! {
    #[test]
    fn forms_of_one_taper_give_one_ramp(butt in 2.5f64..6.0, rate in -0.001f64..0.002, length in 300.0f64..900.0, u in 0.0f64..1.0) {
        let tip = butt - rate * length;
        let middle = butt - rate * 0.4 * length;
        let forms = [
            Taper::straight(0.0, length, butt, rate).unwrap(),
            Taper::flat_then_straight(0.0, length, butt, 1e-9, rate).unwrap(),
            Taper::stations(vec![(0.0, butt), (length, tip)], Between::Straight).unwrap(),
            Taper::stations(vec![(0.0, butt), (0.4 * length, middle), (length, tip)], Between::Smooth).unwrap(),
        ];
        let heights: Vec<f64> = forms
            .into_iter()
            .map(|taper| {
                let lamination = lamination("any", taper, length, Pieces::Halves, 0.0);
                built(&lamination, &plan(6.0, 6.0)).ramp.at(u * length)
            })
            .collect();
        prop_assert!(heights.iter().all(|height| (height - heights[0]).abs() < 1e-6), "{heights:?}");
    }

    #[test]
    fn doll_and_giant(scale in 0.5f64..3.0) {
        let taper = |k: f64| Taper::stations(vec![(0.0, 4.0 * k), (200.0 * k, 3.6 * k), (800.0 * k, 2.0 * k)], Between::Smooth).unwrap();
        let one = lamination("doll", taper(1.0), 800.0, Pieces::Full, 19.0);
        let other = lamination("giant", taper(scale), 800.0 * scale, Pieces::Full, 19.0 * scale);
        let scaled = SledPlan { base_mm: MM_PER_IN * scale, deck_mm: 6.0 * scale, under_mm: 0.1 * scale, ..plan(6.0, 6.0) };
        let (a, b) = (built(&one, &plan(6.0, 6.0)), built(&other, &scaled));
        for k in 0..=50 {
            let u = a.strip_length_mm * f64::from(k) / 50.0;
            // Two micrometres: the chords of each may be half a micrometre off.
            prop_assert!((scale * a.surface_mm(u) - b.surface_mm(scale * u)).abs() < 2e-3 * scale);
        }
    }
}

#[test]
fn a_full_strip_makes_a_sled_that_is_the_same_from_both_ends() {
    let (lamination, plan) = cases().into_iter().find(|(lamination, _)| lamination.name == "full").unwrap();
    let sled = built(&lamination, &plan);
    for k in 0..=100 {
        let u = sled.strip_length_mm * f64::from(k) / 100.0;
        assert!((sled.ramp.at(u) - sled.ramp.at(sled.strip_length_mm - u)).abs() < 1e-9);
    }
}

#[test]
fn the_stop_stays_under_the_cutter_and_is_left_out_where_the_strip_is_too_thin() {
    for (lamination, plan) in cases() {
        let sled = built(&lamination, &plan);
        for (end, u) in [0.0, sled.strip_length_mm].into_iter().enumerate() {
            let thick = lamination.strip_thickness_at(u);
            match sled.run_on_top_mm[end] {
                Some(top) => {
                    assert!((sled.final_gap_mm - top - plan.stop_clearance_mm).abs() < 1e-9);
                    assert!(sled.surface_mm(u) + 0.4 - 1e-9 <= top);
                }
                None => assert!(thick < 0.4 + plan.stop_clearance_mm),
            }
        }
    }
}

#[test]
fn impossible_sleds_say_why() {
    let thin = lamination("thin", Taper::straight(0.0, 876.3, 3.0, 0.003).unwrap(), 876.3, Pieces::Halves, 19.0);
    assert!(fault(&thin, &plan(6.0, 6.0), &sander(1)).contains("least thickness"));
    let reverse = lamination("reverse", Taper::straight(0.0, 876.3, 2.0, -0.004).unwrap(), 876.3, Pieces::Halves, 19.0);
    let low = SledPlan { base_mm: 14.0, ..plan(6.0, 6.0) };
    let message = fault(&reverse, &low, &sander(1));
    assert!(message.contains("only 10.419 mm high") && message.contains("or more"), "{message}");
    let (core, usual) = cases().remove(0);
    let wide = Lamination { stock: Stock { width_mm: 200.0, ..core.stock }, ..core.clone() };
    assert!(fault(&wide, &usual, &sander(2)).contains("side by side"));
    let ground = Lamination { ground: true, ..core.clone() };
    assert!(fault(&ground, &usual, &sander(1)).contains("already ground"));
    let short = lamination("short", Taper::parallel(3.0), 100.0, Pieces::Halves, 0.0);
    let no_run_on = SledPlan { run_on_mm: 0.0, ..usual };
    assert!(fault(&short, &no_run_on, &sander(1)).contains("takes nothing under 228.6 mm"));
}

#[test]
fn the_thin_end_in_front_is_a_warning() {
    let (core, usual) = cases().remove(0);
    let tip_first = SledPlan { butt_leads: false, ..usual };
    let warnings = sled::build(&core, &tip_first, &sander(1)).unwrap().warnings;
    assert!(
        warnings.iter().any(|warning| warning.message.spoken(System::Millimetre).contains("goes into the machine first")),
        "{warnings:?}"
    );
}

// ---- parts ------------------------------------------------------------------------------------------------------------

#[test]
fn the_top_of_the_rails_is_the_ramp_wherever_the_strip_lies() {
    for (sled, plan, kit, _) in kits() {
        let sides = kit.rails.iter().map(|rail| rail.side).max().unwrap();
        for side in 0..=sides {
            for k in 0..=500 {
                let u = 0.001 + (sled.strip_length_mm - 0.002) * f64::from(k) / 500.0;
                let rail = kit.rails.iter().find(|r| r.side == side && r.u_from_mm <= u && u <= r.u_to_mm).unwrap();
                let top = highest(&kit.parts[rail.part].edge, u - rail.u_from_mm);
                assert!(
                    (top - sled.ramp.at(u)).abs() < 1e-6,
                    "{} side {side} u {u}: {top} for {}",
                    sled.lamination,
                    sled.ramp.at(u)
                );
            }
            // Beyond the strip, a deck on the raised end stands as high as the run-on is meant to.
            for (end, u) in [0.5 - sled.run_on_mm, sled.strip_length_mm + sled.run_on_mm - 0.5].into_iter().enumerate() {
                let rail = kit.rails.iter().find(|r| r.side == side && r.u_from_mm <= u && u <= r.u_to_mm).unwrap();
                let top = highest(&kit.parts[rail.part].edge, u - rail.u_from_mm) + plan.deck_mm;
                assert!(sled.run_on_top_mm[end].is_none_or(|wanted| (top - wanted).abs() < 1e-9));
            }
        }
    }
}

#[test]
fn half_laps_meet_and_never_lift_a_part_off_the_table() {
    for (sled, plan, kit, _) in kits() {
        let ribs: Vec<&Part> = kit.parts.iter().filter(|part| part.name.starts_with("rib")).collect();
        assert_eq!(ribs.iter().map(|part| part.count as usize).sum::<usize>(), kit.ribs_mm.len());
        let width = plan.sheet.thickness_mm + plan.fit_mm;
        let rib_slots = gaps(&ribs[0].edge, ribs[0].edge.bounds().max.y - 1.0);
        assert_eq!(rib_slots.len(), kit.rails.iter().map(|rail| rail.side).max().unwrap() as usize + 1);
        assert!(rib_slots.iter().all(|(from, to)| (to - from - width).abs() < 1e-6));
        for rail in &kit.rails {
            let part = &kit.parts[rail.part];
            let slots = gaps(&part.edge, 1.0);
            let here: Vec<f64> = kit.ribs_mm.iter().copied().filter(|u| rail.u_from_mm < *u && *u < rail.u_to_mm).collect();
            assert_eq!(slots.len(), here.len(), "{}", part.name);
            for ((from, to), u) in slots.iter().zip(&here) {
                assert!((to - from - width).abs() < 1e-6);
                assert!((0.5 * (from + to) + rail.u_from_mm - u).abs() < 1e-6);
                // Rail slot up to here, rib slot down to there: a little more than the height, so both stand on the table.
                let rail_end = lowest(&part.edge, u - rail.u_from_mm);
                let rib_end = highest(&ribs[0].edge, 0.5 * (rib_slots[0].0 + rib_slots[0].1));
                assert!(
                    0.0 < rail_end - rib_end && rail_end - rib_end <= plan.fit_mm + plan.sheet.thickness_mm + 0.2,
                    "{rail_end} {rib_end}"
                );
                assert!(rail_end + 3.0 < sled.ramp.min().y);
            }
        }
        // No rib lifts the deck.
        for rib in &ribs {
            assert!(rib.edge.bounds().max.y <= sled.final_gap_mm);
        }
    }
}

#[test]
fn ribs_stand_as_high_as_the_ramp_above_them_and_close_enough_for_the_deck() {
    for (sled, plan, kit, _) in kits() {
        let carried = kit.carried.as_ref().unwrap();
        let under: Vec<f64> = kit.ribs_mm.iter().copied().filter(|u| (0.0..=sled.strip_length_mm).contains(u)).collect();
        // Where there is no stop the deck runs on over the end of the strip.
        assert!(under.iter().all(|u| carried.supports_mm.contains(u)) && under.len() <= carried.supports_mm.len());
        let sags = (0..=2000).map(|k| carried.sag_mm(sled.strip_length_mm * f64::from(k) / 2000.0));
        assert!(sags.fold(0.0, f64::max) <= plan.tolerance_mm * 1.001, "{}", kit.sag_mm[1]);
        let mut heights: Vec<f64> = Vec::new();
        for part in kit.parts.iter().filter(|part| part.name.starts_with("rib")) {
            heights.extend((0..part.count).map(|_| part.edge.bounds().max.y));
        }
        for u in under {
            let ramp = sled.ramp.at(u);
            let closest = heights.iter().map(|height| ramp - height).filter(|less| -1e-9 <= *less).fold(f64::INFINITY, f64::min);
            // The ramp's fall over half a rib.
            assert!(closest < 0.5 * plan.sheet.thickness_mm * 0.005 + 1e-3, "no rib for the height {ramp} at {u}");
        }
    }
}

#[test]
fn joined_rails_are_as_long_as_the_sled_and_their_joints_are_staggered() {
    for (sled, _, kit, cutter) in kits() {
        let sides = kit.rails.iter().map(|rail| rail.side).max().unwrap();
        let mut joints: Vec<Vec<f64>> = Vec::new();
        for side in 0..=sides {
            let pieces: Vec<_> = kit.rails.iter().filter(|rail| rail.side == side).collect();
            let shoulders: f64 = pieces.iter().map(|rail| bottom_length(&kit.parts[rail.part].edge)).sum();
            assert!((shoulders - sled.length_mm()).abs() < 0.01 * MM_PER_IN, "{shoulders} for {}", sled.length_mm());
            assert!(pieces.windows(2).all(|pair| (pair[0].u_to_mm - pair[1].u_from_mm).abs() < 1e-9));
            joints.push(pieces.iter().skip(1).map(|rail| rail.u_from_mm).collect());
            for joint in joints.last().unwrap() {
                assert!(kit.ribs_mm.iter().all(|rib| 8.0 < (rib - joint).abs()), "a joint at a rib");
                assert!(25.0 <= *joint && *joint <= sled.strip_length_mm - 25.0, "a joint at a stop");
            }
        }
        for a in &joints[0] {
            // In bays of their own, each with its plate.
            let rib_between = |b: &f64| kit.ribs_mm.iter().any(|rib| a.min(*b) < *rib && *rib < a.max(*b));
            assert!(joints[1].iter().all(|b| rib_between(b) && 50.0 < (a - b).abs()), "joints side by side: {joints:?}");
        }
        if matches!(cutter, SheetCutter::Laser { .. }) && 500.0 < sled.length_mm() {
            assert!(!joints[0].is_empty());
        }
    }
}

#[test]
fn every_part_is_cut_out_and_comes_back_the_same() {
    for (_, _, kit, cutter) in kits() {
        for part in &kit.parts {
            let half = cutter.half_kerf_mm();
            let paths = compensated(part, half).unwrap();
            let back = outward(&paths.edge, -half).unwrap();
            // Square inside corners of templates keep a fillet; rails and ribs have relief for it.
            let error = (back.area() - part.edge.area()).abs();
            assert!(error < 1e-3 * part.edge.area().abs().max(1.0), "{}: {error}", part.name);
            assert!(part.edge.area() < paths.edge.area() || half <= 0.0);
            for (hole, path) in part.holes.iter().zip(&paths.holes) {
                assert!(path.area().abs() <= hole.area().abs() + 1e-9);
            }
        }
    }
}

#[test]
fn a_bit_wider_than_a_slot_is_a_fault() {
    let (core, _) = cases().remove(0);
    let thin_sheet = plan(3.0, 6.0);
    let sled = built(&core, &thin_sheet);
    let thick_bit = SheetCutter::Router { bit_mm: 6.0, bed_mm: [1200.0, 600.0], holds_mm: 0.1 };
    let faults = ramp::kit(&sled, &means(&thin_sheet, &sander(1), &thick_bit)).unwrap_err();
    assert!(faults.iter().any(|fault| fault.message.spoken(System::Millimetre).contains("cannot enter a slot")), "{faults:?}");
}

#[test]
fn loads_hold_every_part_once_inside_the_bed_and_apart() {
    for (_, plan, kit, cutter) in kits() {
        let loads = nest::nest(&kit.parts, &plan.sheet, &cutter).unwrap();
        let mut seen: Vec<(usize, u32)> = Vec::new();
        for load in &loads {
            if let Some([x, y]) = cutter.bed_mm() {
                assert!(load.width_mm <= x && load.height_mm <= y);
            }
            let lines: Vec<Path> = load
                .placed
                .iter()
                .map(|placed| {
                    seen.push((placed.part, placed.copy));
                    let part = &kit.parts[placed.part];
                    assert!((part.thickness_mm - load.thickness_mm).abs() < 1e-9);
                    compensated(part, cutter.half_kerf_mm()).unwrap().edge.placed(&placed.placement)
                })
                .collect();
            let gap = nest::gap_mm(&cutter);
            for (i, a) in lines.iter().enumerate() {
                let bounds = a.bounds();
                let inside = [bounds.min.x, bounds.min.y, load.width_mm - bounds.max.x, load.height_mm - bounds.max.y];
                assert!(inside.iter().all(|room| gap - 1e-6 <= *room), "{bounds:?}");
                for b in &lines[i + 1..] {
                    assert!(gap - 1e-3 <= support::plane::apart_mm(a, b), "{} {:?}", a.bounds().min.x, b.bounds());
                }
            }
        }
        seen.sort_unstable();
        let all: Vec<(usize, u32)> =
            kit.parts.iter().enumerate().flat_map(|(i, part)| (1..=part.count).map(move |copy| (i, copy))).collect();
        assert_eq!(seen, all);
        assert_eq!(loads, nest::nest(&kit.parts, &plan.sheet, &cutter).unwrap());
    }
}

#[test]
fn a_part_larger_than_the_bed_says_by_how_much() {
    let part =
        Part::new("plank", Path::rectangle(Bounds { min: Point::new(0.0, 0.0), max: Point::new(600.0, 50.0) }), 6.0, "too long");
    let fault = nest::nest(&[part], &plan(6.0, 6.0).sheet, &LASER).unwrap_err();
    // 600.2 with the cut; 508 less a web and the cut's width at both ends: 503.6.
    let message = fault.message.spoken(System::Millimetre);
    assert!(message.contains("too large by 96.6 mm"), "{message}");
}

#[test]
fn labels_stand_on_their_parts_and_clear_of_slots_and_holes() {
    for (_, _, kit, _) in kits() {
        let names: std::collections::BTreeSet<&str> = kit.parts.iter().map(|part| part.name.as_str()).collect();
        assert_eq!(names.len(), kit.parts.len());
        for part in &kit.parts {
            assert!(!part.labels.is_empty() && !part.purpose.is_empty(), "{}", part.name);
            let outline = part.edge.flattened(0.01);
            let holes: Vec<Vec<Point>> = part.holes.iter().map(|hole| hole.flattened(0.01)).collect();
            for label in &part.labels {
                for point in box_of(label) {
                    assert!(inside(point, &outline), "`{}` of {} leaves it at {point:?}", label.text, part.name);
                    assert!(holes.iter().all(|hole| !inside(point, hole)), "`{}` of {} is over a hole", label.text, part.name);
                }
            }
        }
    }
}

#[test]
fn a_ramp_without_a_deck_or_with_one_too_limp_is_refused() {
    let (core, usual) = cases().remove(0);
    let without = SledPlan { deck_mm: 0.0, ..usual.clone() };
    let faults = ramp::kit(&built(&core, &without), &means(&without, &sander(1), &LASER)).unwrap_err();
    assert!(faults[0].message.spoken(System::Millimetre).contains("needs a deck"));
    let limp = SledPlan { deck_mm: 1.0, ..usual };
    let faults = ramp::kit(&built(&core, &limp), &means(&limp, &sander(1), &LASER)).unwrap_err();
    assert!(
        faults[0].message.spoken(System::Millimetre).contains("sags")
            && faults[0].hints[0].spoken(System::Millimetre).contains("raise `deck` to"),
        "{faults:?}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Whatever is asked for, there are parts that fit the bed or faults that say why not.
    #[test]
    fn any_sled_is_cut_or_refused(
        length in 60.0f64..1900.0,
        butt in 1.0f64..7.0,
        rate in -0.003f64..0.003,
        full in any::<bool>(),
        sheet_mm in 2.5f64..13.0,
        deck_mm in 1.0f64..13.0,
        base in 8.0f64..60.0,
        run_on in prop_oneof![Just(0.0), 2.0f64..120.0],
        bed in (150.0f64..1300.0, 150.0f64..1300.0),
        tool in prop_oneof![Just(0.0), 0.05f64..0.4, 1.5f64..8.0],
        together in 1u32..5,
    ) {
        let pieces = if full { Pieces::Full } else { Pieces::Halves };
        let half = if full { 0.5 * length } else { length };
        let strip = lamination("any", Taper::straight(0.0, half, butt, rate).unwrap(), half, pieces, 12.0);
        let plan = SledPlan { base_mm: base, run_on_mm: run_on, ..plan(sheet_mm, deck_mm) };
        let cutter = match tool {
            0.0..=0.04 => HAND,
            0.04..=1.0 => SheetCutter::Laser { kerf_mm: tool, bed_mm: [bed.0, bed.1], holds_mm: 0.1 },
            _ => SheetCutter::Router { bit_mm: tool, bed_mm: [bed.0, bed.1], holds_mm: 0.1 },
        };
        let Ok(sled) = sled::build(&strip, &plan, &sander(together)) else { return Ok(()) };
        let sled = sled.value;
        let sander = sander(together);
        let means = means(&plan, &sander, &cutter);
        let _ = raised_end::kit(&sled, &Means { shims: &stock(), ..means });
        let _ = solid::kit(&sled, &means);
        match ramp::kit(&sled, &means) {
            Err(faults) => prop_assert!(faults.iter().all(|fault| !fault.message.is_empty())),
            Ok(kit) => {
                let kit = kit.value;
                match nest::nest(&kit.parts, &plan.sheet, &cutter) {
                    Ok(loads) => {
                        let placed: usize = loads.iter().map(|load| load.placed.len()).sum();
                        prop_assert_eq!(placed, kit.parts.iter().map(|part| part.count as usize).sum::<usize>());
                    }
                    // Lengths are seen to; only a deck or rib wider than the bed can be left.
                    Err(fault) => prop_assert!(
                        bed.0.min(bed.1) < kit.width_mm.max(sled.final_gap_mm + 20.0) + 4.0 * tool + 8.0,
                        "{}", fault
                    ),
                }
                for side in 0..2 {
                    let length: f64 = kit.rails.iter().filter(|rail| rail.side == side).map(|r| r.u_to_mm - r.u_from_mm).sum();
                    prop_assert!((length - sled.length_mm()).abs() < 1e-6);
                }
                for rail in &kit.rails {
                    let edge = &kit.parts[rail.part].edge;
                    for k in 0..20 {
                        let u = rail.u_from_mm + 0.01 + (rail.u_to_mm - rail.u_from_mm - 0.02) * f64::from(k) / 19.0;
                        if (0.001..sled.strip_length_mm - 0.001).contains(&u) {
                            prop_assert!((highest(edge, u - rail.u_from_mm) - sled.ramp.at(u)).abs() < 1e-6);
                        }
                    }
                }
            }
        }
    }
}

#[test]
fn wide_sleds_get_more_rails() {
    let (core, usual) = cases().remove(0);
    let sled = Sled { together: 4, ..built(&core, &usual) };
    let kit = ramp::kit(&sled, &Means { strip_width_mm: 60.0, ..means(&usual, &sander(4), &HAND) }).unwrap().value;
    // 258 mm wide: the outer rails stand 234 mm apart, which takes one between them.
    assert_eq!(kit.rails.iter().map(|rail| rail.side).max(), Some(2));
    assert!(kit.parts.iter().any(|part| part.name == "middle rail"));
}

// ---- boards -----------------------------------------------------------------------------------------------------------

#[test]
fn one_raised_end_follows_the_shop_rule() {
    // Shim = rate × distance between supports; over 36 in. Common practice, no source.
    for (rate, shim_in) in [(0.001, 0.036), (0.0015, 0.054), (0.002, 0.072), (0.003, 0.108)] {
        let length = 30.0 * MM_PER_IN;
        let strip = lamination("straight", Taper::straight(0.0, length, 5.0, rate).unwrap(), length, Pieces::Halves, 0.0);
        let plan = SledPlan { make: SledMake::RaisedEnd, supports_mm: Some(36.0 * MM_PER_IN), deck_mm: 0.0, ..plan(6.0, 6.0) };
        let (sander, stock) = (sander(1), stock());
        let made =
            raised_end::kit(&built(&strip, &plan), &Means { shims: &stock, ..means(&plan, &sander, &HAND) }).unwrap().value;
        let (low_mm, shim) = (made.places[0].u_mm, &made.shims[0]);
        let SideView::Sloped { board_mm, .. } = made.side else { panic!("a board lies at its own slope") };
        assert!((shim.made.wanted_mm - shim_in * MM_PER_IN).abs() < 1e-9, "{shim:?}");
        assert!(low_mm < shim.u_mm && shim.made.within);
        assert!((made.sag_mm[1] - 4.0 * made.sag_mm[0]).abs() < 1e-12);
        // The board's upper face on its edge and shim is the sled's ramp.
        let at_butt = board_mm + rate * -low_mm;
        assert!((at_butt - plan.base_mm).abs() < 1e-9);
    }
    let reverse = lamination("reverse", Taper::straight(0.0, 800.0, 2.0, -0.002).unwrap(), 800.0, Pieces::Halves, 0.0);
    let plan = SledPlan { make: SledMake::RaisedEnd, ..plan(6.0, 6.0) };
    let made = raised_end::kit(&built(&reverse, &plan), &means(&plan, &sander(1), &HAND)).unwrap().value;
    assert!(made.shims[0].u_mm < made.places[0].u_mm && (made.shims[0].made.wanted_mm - 0.002 * 952.4).abs() < 1e-9);
}

#[test]
fn a_board_with_one_raised_end_refuses_a_taper_that_bends() {
    let bent = lamination("bent", Taper::flat_then_straight(0.0, 800.0, 4.0, 300.0, 0.002).unwrap(), 800.0, Pieces::Halves, 0.0);
    let plan = SledPlan { make: SledMake::RaisedEnd, ..plan(6.0, 6.0) };
    let faults = raised_end::kit(&built(&bent, &plan), &means(&plan, &sander(1), &HAND)).unwrap_err();
    // From end to end the line rises 1.0 mm; at the corner it stands 1.0 × 300 / 800 = 0.375 mm over the level part.
    let message = faults[0].message.spoken(System::Millimetre);
    assert!(message.contains("at 300 mm it is off a straight board by 0.375 mm"), "{message}");
}

#[test]
fn shims_stand_at_corners_and_close_enough_for_the_carrier() {
    for (lamination, plan) in cases() {
        let plan = SledPlan { make: SledMake::Shims, ..plan };
        let sled = built(&lamination, &plan);
        let (sander, stock) = (sander(1), stock());
        let made = shimmed::kit(&sled, &Means { shims: &stock, ..means(&plan, &sander, &HAND) }).unwrap().value;
        let chords = made.shims.windows(2).map(|pair| shimmed::chord_mm(&sled, pair[0].u_mm, pair[1].u_mm));
        assert!(made.sag_mm[1] <= plan.tolerance_mm && chords.fold(0.0, f64::max) <= plan.tolerance_mm);
        let SideView::Sloped { base_board_mm, .. } = made.side else { panic!("a carrier lies at its own slope") };
        for corner in &sled.corners_mm {
            assert!(made.shims.iter().any(|shim| (shim.u_mm - corner).abs() < 1e-9));
        }
        for shim in &made.shims {
            assert!((base_board_mm + shim.made.wanted_mm - sled.ramp.at(shim.u_mm)).abs() < 1e-9);
            assert!(-1e-12 <= shim.made.wanted_mm && shim.made.within, "{shim:?}");
        }
        // Lines of the true-size plan: one for each station, two for the strip's ends.
        let carrier = &made.parts[0];
        assert_eq!(carrier.marks.len(), made.shims.len() + 2);
        assert!((carrier.edge.bounds().width() - sled.length_mm()).abs() < 1e-9);
    }
}

#[test]
fn a_solid_boards_template_is_the_ramp_and_its_pieces_fit_the_bed() {
    for (lamination, plan) in cases() {
        let plan = SledPlan { make: SledMake::Solid, ..plan };
        let sled = built(&lamination, &plan);
        for cutter in [LASER, ROUTER, HAND] {
            let kit = solid::kit(&sled, &means(&plan, &sander(1), &cutter)).unwrap().value;
            nest::nest(&kit.parts, &plan.sheet, &cutter).unwrap();
            for k in 0..=200 {
                let u = 0.001 + (sled.strip_length_mm - 0.002) * f64::from(k) / 200.0;
                let piece = kit.rails.iter().find(|piece| piece.u_from_mm <= u && u <= piece.u_to_mm).unwrap();
                assert!((highest(&kit.parts[piece.part].edge, u - piece.u_from_mm) - sled.ramp.at(u)).abs() < 1e-6);
            }
        }
    }
}

// ---- shims from stock, corrections ------------------------------------------------------------------------------------

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn made_up_shims_are_the_best_of_all_choices(
        height_um in 0u32..1500,
        tolerance_um in 1u32..40,
        stock_um in prop::collection::vec((20u32..400, 0u32..5), 1..4),
    ) {
        let stock: Vec<ShimStock> = stock_um
            .iter()
            .map(|(um, count)| ShimStock { of: "tape".into(), thickness_mm: f64::from(*um) / 1000.0, count: Some(*count) })
            .collect();
        let made = make_up(f64::from(height_um) / 1000.0, &stock, f64::from(tolerance_um) / 1000.0);
        let mut choices = vec![(0u32, 0u32)];
        for (um, count) in &stock_um {
            choices = choices.iter().flat_map(|(n, sum)| (0..=*count).map(move |k| (n + k, sum + k * um))).collect();
        }
        let error = |sum: u32| sum.abs_diff(height_um);
        let best = choices.iter().filter(|(_, sum)| error(*sum) <= tolerance_um).min_by_key(|(n, sum)| (*n, error(*sum)));
        let found = (made.made_mm * 1000.0).round() as u32;
        match best {
            Some((pieces, sum)) => {
                prop_assert!(made.within);
                prop_assert_eq!((made.piece_count(), error(found)), (*pieces, error(*sum)));
            }
            None => {
                prop_assert!(!made.within);
                prop_assert_eq!(error(found), choices.iter().map(|(_, sum)| error(*sum)).min().unwrap());
            }
        }
    }

    #[test]
    fn shims_from_one_stock_never_use_more_than_there_is(heights in prop::collection::vec(0.0f64..1.2, 1..6), counts in prop::collection::vec(0u32..6, 3)) {
        let stock: Vec<ShimStock> = [0.05, 0.13, 0.28].iter().zip(&counts)
            .map(|(thickness, count)| ShimStock { of: "card".into(), thickness_mm: *thickness, count: Some(*count) })
            .collect();
        let all = make_up_all(&heights, &stock, 0.03);
        prop_assert_eq!(all.each.len(), heights.len());
        for (i, kind) in stock.iter().enumerate() {
            let used: u32 = all.each.iter().flat_map(|shim| &shim.pieces).filter(|(s, _)| *s == i).map(|(_, n)| n).sum();
            prop_assert!(used <= kind.count.unwrap());
        }
        for (shim, height) in all.each.iter().zip(&heights) {
            let alone = make_up(*height, &stock, 0.03);
            // Sharing the stock can only make a shim worse that cannot be made well alone.
            prop_assert!(alone.within || alone.error_mm().abs() <= shim.error_mm().abs() + 1e-9);
            // Sums stand on a fine grid: just at the tolerance either answer is right.
            let error = shim.error_mm().abs();
            prop_assert!(if shim.within { error <= 0.03 + 1e-4 } else { 0.03 - 1e-4 <= error }, "{}", error);
        }
    }
}

#[test]
fn no_shim_is_needed_for_no_height() {
    for height in [0.0, -0.01] {
        let none = make_up(height, &stock(), 0.02);
        assert!(none.pieces.is_empty() && none.within);
    }
    assert!(!make_up(-1.0, &stock(), 0.02).within);
    assert!(!make_up(1.0, &[], 0.02).within);
    // Fewest pieces, not the thickest first: 0.26 is two of 0.13, where 0.2 leaves 0.06 to be made of three more.
    let tricky = [0.2, 0.13, 0.02].map(|mm| ShimStock { of: "card".into(), thickness_mm: mm, count: None });
    assert_eq!(make_up(0.26, &tricky, 0.001).pieces, [(1, 2)]);
    // A tall shim is still bounded work and exact.
    let tall = make_up(40.0, &stock(), 0.02);
    assert!(tall.within);
}

#[test]
fn corrections_bring_a_badly_cut_sled_back_to_its_shape() {
    let (core, usual) = cases().remove(0);
    let sled = built(&core, &usual);
    let wrong = |u: f64| 0.08 * (u / 130.0).sin() + 0.05;
    let readings: Vec<HeightReading> = (0..=9)
        .map(|k| sled.strip_length_mm * f64::from(k) / 9.0)
        .map(|u| HeightReading { u_mm: u, height_mm: sled.surface_mm(u) + wrong(u) })
        .collect();
    let place = Place::new("sled");
    let found = corrections(&sled, &readings, &stock(), 0.0254, &place).unwrap().value;
    for (reading, (u, tape)) in readings.iter().zip(&found.tape) {
        let left = reading.height_mm + tape.made_mm - sled.surface_mm(*u) - found.gap_shift_mm;
        assert!(left.abs() <= 0.0254 + 1e-4, "{left} at {u}");
    }
    assert!(found.spread_after_mm < 0.5 * found.spread_before_mm && found.spread_after_mm <= 0.0510);
    // An even error needs no tape at all, only another gap.
    let even: Vec<HeightReading> =
        readings.iter().map(|r| HeightReading { height_mm: sled.surface_mm(r.u_mm) + 0.3, ..*r }).collect();
    let found = corrections(&sled, &even, &stock(), 0.0254, &place).unwrap().value;
    assert!(found.tape.iter().all(|(_, tape)| tape.pieces.is_empty()) && (found.gap_shift_mm - 0.3).abs() < 1e-9);
    // A slip of the pen is asked about.
    let mut slip = readings.clone();
    slip[4].height_mm += 10.0;
    let faults = corrections(&sled, &slip, &stock(), 0.0254, &place).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert!(faults[0].place.as_str() == "sled[4]" && faults[0].hints[0].spoken(System::Millimetre).ends_with('?'), "{faults:?}");
}

// ---- what the tests are made of ---------------------------------------------------------------------------------------

fn cases() -> Vec<(Lamination, SledPlan)> {
    let long = 34.5 * MM_PER_IN;
    let short = 9.0 * MM_PER_IN;
    let full = Taper::flat_then_straight(0.0, 856.0, 4.0, 100.0, 0.002).unwrap();
    let smooth = Taper::stations(vec![(0.0, 4.5), (250.0, 4.1), (500.0, 3.2), (800.0, 2.6)], Between::Smooth).unwrap();
    vec![
        (lamination("halves", Taper::straight(0.0, long, 3.81, 0.002).unwrap(), long, Pieces::Halves, 19.0), plan(6.0, 6.0)),
        (lamination("full", full, 856.0, Pieces::Full, 19.0), plan(9.0, 6.0)),
        (lamination("power", Taper::straight(0.0, short, 1.524, 0.004).unwrap(), short, Pieces::Halves, 12.0), plan(3.0, 3.0)),
        (lamination("smooth", smooth, 800.0, Pieces::Halves, 10.0), plan(6.0, 6.0)),
        (lamination("reverse", Taper::straight(0.0, 700.0, 2.0, -0.001).unwrap(), 700.0, Pieces::Halves, 19.0), plan(6.0, 6.0)),
    ]
}

/// Every case on every cutter.
fn kits() -> Vec<(Sled, SledPlan, Kit, SheetCutter)> {
    let mut kits = Vec::new();
    for (lamination, plan) in cases() {
        let sled = built(&lamination, &plan);
        for cutter in [LASER, ROUTER, HAND] {
            // The bit is wider than the slots of the thinnest sheet.
            if plan.sheet.thickness_mm < 3.2 && matches!(cutter, SheetCutter::Router { .. }) {
                continue;
            }
            let kit = ramp::kit(&sled, &means(&plan, &sander(1), &cutter)).unwrap_or_else(|faults| panic!("{faults:?}"));
            kits.push((sled.clone(), plan.clone(), kit.value, cutter));
        }
    }
    kits
}

/// What a sled for usual strips is laid out with, shims ground to measure.
fn means<'a>(plan: &'a SledPlan, sander: &'a Sander, cutter: &'a SheetCutter) -> Means<'a> {
    Means { plan, sander, cutter, shims: &[], strip_width_mm: 44.45, units: System::Inch }
}

fn lamination(name: &str, finished: Taper, to_mm: f64, pieces: Pieces, overrun_mm: f64) -> Lamination {
    let wood = wood::named("maple, sugar").unwrap().at_moisture(0.08);
    let stock = Stock { thickness_mm: 5.0, spread_mm: 0.2, width_mm: 44.45, overrun_mm, first_face_mm: 0.0 };
    support::shop::lamination(name, wood, finished, to_mm, pieces, stock)
}

fn plan(sheet_mm: f64, deck_mm: f64) -> SledPlan {
    let usual = support::shop::plan();
    SledPlan { deck_mm, sheet: Sheet { thickness_mm: sheet_mm, ..usual.sheet }, ..usual }
}

fn sander(together: u32) -> Sander {
    Sander { together, ..support::shop::sander() }
}

fn stock() -> Vec<ShimStock> {
    [("packing tape", 0.0508, None), ("masking tape", 0.127, None), ("card", 0.2794, Some(200))]
        .map(|(of, thickness_mm, count)| ShimStock { of: of.into(), thickness_mm, count })
        .to_vec()
}

fn built(lamination: &Lamination, plan: &SledPlan) -> Sled {
    sled::build(lamination, plan, &sander(1)).unwrap_or_else(|faults| panic!("{faults:?}")).value
}

fn fault(lamination: &Lamination, plan: &SledPlan, sander: &Sander) -> String {
    let faults = sled::build(lamination, plan, sander).unwrap_err();
    faults.iter().map(|fault| fault.spoken(System::Millimetre).to_string()).collect::<Vec<_>>().join("; ")
}

/// Heights at which the outline stands over `x`, sorted.
fn crossings(edge: &Path, x: f64) -> Vec<f64> {
    let points = edge.flattened(1e-4);
    let n = points.len();
    let mut heights: Vec<f64> = (0..n)
        .filter_map(|i| {
            let (a, b) = (points[i], points[(i + 1) % n]);
            ((a.x < x) != (b.x < x)).then(|| a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x))
        })
        .collect();
    heights.sort_by(f64::total_cmp);
    heights
}

fn highest(edge: &Path, x: f64) -> f64 {
    *crossings(edge, x).last().unwrap()
}

fn lowest(edge: &Path, x: f64) -> f64 {
    crossings(edge, x)[0]
}

/// Stretches of `x` between the outline's ends that are not part of it at the height `y`.
fn gaps(edge: &Path, y: f64) -> Vec<(f64, f64)> {
    let turned = Path {
        vertices: edge
            .vertices
            .iter()
            .map(|v| taperwright::geometry::Vertex { at: Point::new(v.at.y, v.at.x), bulge: -v.bulge })
            .collect(),
        closed: true,
    };
    let xs = crossings(&turned, y);
    xs[1..xs.len() - 1].chunks(2).map(|pair| (pair[0], pair[1])).collect()
}

/// From the first to the last point on the table.
fn bottom_length(edge: &Path) -> f64 {
    let on_table: Vec<f64> = edge.vertices.iter().filter(|v| v.at.y.abs() < 1e-9).map(|v| v.at.x).collect();
    on_table.iter().copied().fold(f64::NEG_INFINITY, f64::max) - on_table.iter().copied().fold(f64::INFINITY, f64::min)
}

/// Points around a label, at three quarters of a capital's height for each letter's width.
fn box_of(label: &Label) -> Vec<Point> {
    let width = 0.75 * label.cap_mm * label.text.chars().count() as f64;
    let left = match label.align {
        Align::Left => label.at.x,
        Align::Middle => label.at.x - 0.5 * width,
        Align::Right => label.at.x - width,
    };
    (0..=60)
        .map(|k| left + width * f64::from(k) / 60.0)
        .flat_map(|x| [0.0, 0.5, 1.0].map(|f| Point::new(x, label.at.y + f * label.cap_mm)))
        .collect()
}

fn inside(point: Point, outline: &[Point]) -> bool {
    let n = outline.len();
    let crossing = |i: &usize| {
        let (a, b) = (outline[*i], outline[(i + 1) % n]);
        (a.y <= point.y) != (b.y <= point.y) && point.x < a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x)
    };
    (0..n).filter(crossing).count() % 2 == 1
}
