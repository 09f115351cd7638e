//! Parts on beds: every part once, apart by its web, inside the bed, as few loads as a builder may expect.

mod support;

use proptest::prelude::*;
use std::f64::consts::FRAC_PI_2;
use std::fs;
use std::path::Path as File;
use support::plane::apart_mm;
use taperwright::geometry::{Path, Point};
use taperwright::job::{Inputs, Job};
use taperwright::model::workshop::{Sheet, SheetCutter};
use taperwright::shop::nest::{WELL_FILLED, WebBound, gap_mm, nest};
use taperwright::shop::parts::{Part, compensated};

fn report(name: &str) -> serde_json::Value {
    let file = File::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name).with_extension("toml");
    let job = Job::read(name, &fs::read_to_string(file).unwrap(), Inputs::default()).unwrap_or_else(|_| panic!("{name}"));
    serde_json::to_value(job.report().unwrap()).unwrap()
}

/// Each sled and form had loads of its own: eight beds for parts of four and a half, second loads 3 percent full.
#[test]
fn the_parts_of_a_build_share_as_few_beds_as_four_fifths_of_them_would_take() {
    for name in ["meadow", "heron", "more/curlew"] {
        let report = report(name);
        let filled: Vec<f64> = report["loads"].as_array().unwrap().iter().map(|load| load["filled"].as_f64().unwrap()).collect();
        let beds: f64 = filled.iter().sum();
        assert!(filled.len() <= (beds / WELL_FILLED).ceil() as usize, "{name}: {filled:?}");
        // The longbow's narrow rails lie 18 mm apart, for a bit of 6 mm: its sheet says what the webs leave, see below.
        if name != "heron" {
            assert!(filled[..filled.len() - 1].iter().all(|filled| WELL_FILLED <= filled + 5e-5), "{name}: {filled:?}");
        }
        let owners: std::collections::BTreeSet<&str> = report["loads"]
            .as_array()
            .unwrap()
            .iter()
            .flat_map(|load| load["parts"].as_array().unwrap())
            .map(|part| part["name"].as_str().unwrap().split([':', ',']).next().unwrap())
            .collect();
        assert!(1 < owners.len(), "{name}: {owners:?}");
    }
    assert!(report("strips")["loads"].as_array().unwrap().is_empty());
}

/// A sled of seven small ribs more than three beds hold came to a fourth load, 7 percent full.
#[test]
fn a_last_bed_that_is_next_to_empty_is_spared() {
    let cutter = SheetCutter::Laser { kerf_mm: 0.2, bed_mm: [508.0, 304.8], holds_mm: 0.1 };
    // Decks, rails, ribs and plates as sleds have them: 2.45 beds.
    let mut parts = Vec::new();
    for (kind, w, h, count) in [
        (0, 470.0, 122.0, 2),
        (0, 455.0, 110.0, 1),
        (0, 380.0, 24.0, 10),
        (3, 122.0, 25.0, 23),
        (0, 70.0, 20.0, 10),
        (0, 74.0, 122.0, 6),
    ] {
        let mut part = Part::new(format!("{w} x {h}"), shape(kind, w, h), 6.0, "");
        part.count = count;
        parts.push(part);
    }
    let area: f64 = parts.iter().map(|part| f64::from(part.count) * part.area_mm2()).sum::<f64>() / (508.0 * 304.8);
    let loads = nest(&parts, &sheet(), &cutter).unwrap();
    assert!(2.4 < area && area < 2.5, "{area}");
    assert_eq!(loads.len(), 3, "{area}");
}

/// Where a bed stays emptier, its sheet says by how much, and what forbids more: the webs, however the parts lie, or the long parts.
#[test]
fn a_bed_that_is_not_well_filled_says_why() {
    let file = File::new(env!("CARGO_MANIFEST_DIR")).join("examples/heron.toml");
    let job = Job::read("heron", &fs::read_to_string(file).unwrap(), Inputs::default()).unwrap();
    let files = job.files().unwrap();
    let numbers: Vec<usize> =
        files.names().enumerate().filter(|(_, name)| name.contains("/cut-") && name.ends_with(".svg")).map(|(k, _)| k).collect();
    let filled = serde_json::to_value(job.report().unwrap()).unwrap()["loads"].clone();
    let filled: Vec<f64> = filled.as_array().unwrap().iter().map(|load| load["filled"].as_f64().unwrap()).collect();
    let average = 100.0 * filled[..filled.len() - 1].iter().sum::<f64>() / (filled.len() - 1) as f64;
    for (number, filled) in numbers.iter().zip(&filled) {
        let text = String::from_utf8(files.bytes(*number).unwrap()).unwrap();
        let percent = (100.0 * filled).round();
        assert!(text.contains(&format!("Parts cover {percent} % of this bed")), "{percent}");
        assert!(text.contains("with the webs around them") && text.contains("longer than half the bed"));
        let at_most = text.split("The webs leave room for ").nth(1).unwrap().split(' ').next().unwrap().parse::<f64>().unwrap();
        assert!(average < at_most && at_most < 100.0 * WELL_FILLED, "{average} {at_most}");
    }
}

/// What webs forbid, by counting the places of a grid that lie within half a web of a part's cut: the same for parts without hollows, and never
/// more than there is for others.
#[test]
fn what_webs_allow_is_what_a_grid_counts() {
    for (kind, bit, [w, h], beds) in [(0, 6.0, [560.0, 26.0], 2), (0, 3.2, [300.0, 40.0], 3), (3, 6.0, [200.0, 60.0], 2)] {
        let cutter = SheetCutter::Router { bit_mm: bit, bed_mm: [900.0, 600.0], holds_mm: 0.1 };
        let (mut rail, mut deck) =
            (Part::new("rail", shape(kind, w, h), 6.0, ""), Part::new("deck", shape(0, 500.0, 120.0), 6.0, ""));
        (rail.count, deck.count) = (200, 4);
        let around = 0.5 * bit + 0.5 * gap_mm(&cutter);
        let taken = |part: &Part| {
            let bounds = part.edge.bounds().grown(around);
            let (columns, rows) = (bounds.width().ceil() as u32, bounds.height().ceil() as u32);
            let near = |x: u32, y: u32| {
                let at = Point::new(bounds.min.x + f64::from(x) + 0.5, bounds.min.y + f64::from(y) + 0.5);
                apart_mm(&Path::circle(at, 1e-4), &part.edge) < around
            };
            (0..columns).map(|x| (0..rows).filter(|y| near(x, *y)).count()).sum::<usize>() as f64
        };
        let room = (900.0 - gap_mm(&cutter)) * (600.0 - gap_mm(&cutter));
        let (deck_takes, rail_takes) = (taken(&deck), taken(&rail));
        // Decks take the least beside their own area: all four lie there first.
        let rails = (f64::from(beds) * room - 4.0 * deck_takes) / rail_takes;
        let at_most = (4.0 * deck.area_mm2() + rails * rail.area_mm2()) / (f64::from(beds) * 900.0 * 600.0);
        let bound = WebBound::of_parts(&[rail.clone(), deck.clone()], &sheet(), &cutter);
        let over = bound.max_filled(beds as usize) / at_most - 1.0;
        assert!(-0.01 < over && (kind != 0 || over < 0.01), "{kind} {bit}: {over}");
        let loads = nest(&[rail, deck], &sheet(), &cutter).unwrap();
        assert!(bound.min_loads() <= loads.len());
    }
}

fn sheet() -> Sheet {
    Sheet {
        material: "plywood".into(),
        thickness_mm: 6.0,
        spread_mm: 0.1,
        width_mm: 1220.0,
        length_mm: 2440.0,
        modulus_mpa: 9000.0,
    }
}

/// Rectangles, angles, triangles and boards with slots.
fn shape(kind: u8, w: f64, h: f64) -> Path {
    let corners: Vec<(f64, f64)> = match kind {
        0 => vec![(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)],
        1 => vec![(0.0, 0.0), (w, 0.0), (w, 0.3 * h), (0.3 * w, 0.3 * h), (0.3 * w, h), (0.0, h)],
        2 => vec![(0.0, 0.0), (w, 0.2 * h), (0.4 * w, h)],
        _ => vec![(0.0, 0.0), (0.3 * w, 0.0), (0.3 * w, 0.6 * h), (0.7 * w, 0.6 * h), (0.7 * w, 0.0), (w, 0.0), (w, h), (0.0, h)],
    };
    Path::closed(corners.into_iter().map(|(x, y)| Point::new(x, y)))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Judged by distances between corners and sides, which the packing knows nothing of.
    #[test]
    fn random_parts_lie_apart_inside_the_bed_and_along_the_grain(
        parts in proptest::collection::vec((0u8..4, 12.0f64..180.0, 12.0f64..120.0, 1u32..4, any::<bool>()), 1..14),
        bed in (200.0f64..600.0, 200.0f64..600.0),
        bit in prop_oneof![Just(0.2), 1.0f64..6.0],
    ) {
        let cutter = if bit < 0.5 {
            SheetCutter::Laser { kerf_mm: bit, bed_mm: [bed.0, bed.1], holds_mm: 0.1 }
        } else {
            SheetCutter::Router { bit_mm: bit, bed_mm: [bed.0, bed.1], holds_mm: 0.1 }
        };
        let parts: Vec<Part> = parts
            .into_iter()
            .enumerate()
            .map(|(k, (kind, w, h, count, may_turn))| {
                let mut part = Part::new(format!("part {k}"), shape(kind, w, h), 6.0, "");
                (part.count, part.may_turn) = (count, may_turn);
                part
            })
            .filter(|part| compensated(part, cutter.half_kerf_mm()).is_ok())
            .collect();
        let loads = match nest(&parts, &sheet(), &cutter) {
            Ok(loads) => loads,
            Err(fault) => {
                prop_assert!(fault.to_string().contains("too large"), "{fault}");
                return Ok(());
            }
        };
        prop_assert_eq!(&loads, &nest(&parts, &sheet(), &cutter).unwrap());
        // One thickness: no order of the parts could have beaten the bound.
        let bound = WebBound::of_parts(&parts, &sheet(), &cutter);
        prop_assert!(bound.min_loads() <= loads.len());
        let area: f64 = parts.iter().map(|part| f64::from(part.count) * part.area_mm2()).sum();
        prop_assert!(area <= bound.max_filled(loads.len()) * loads.len() as f64 * bed.0 * bed.1 * (1.0 + 1e-9));
        let gap = gap_mm(&cutter);
        let mut seen: Vec<(usize, u32)> = Vec::new();
        for load in &loads {
            prop_assert!(load.width_mm <= bed.0 && load.height_mm <= bed.1);
            let mut lines = Vec::new();
            for placed in &load.placed {
                seen.push((placed.part, placed.copy));
                let part = &parts[placed.part];
                let path = compensated(part, cutter.half_kerf_mm()).unwrap().edge.placed(&placed.placement);
                let bounds = path.bounds();
                prop_assert!(gap - 1e-6 <= bounds.min.x && gap - 1e-6 <= bounds.min.y);
                prop_assert!(bounds.max.x <= load.width_mm - gap + 1e-6 && bounds.max.y <= load.height_mm - gap + 1e-6);
                prop_assert!(!placed.placement.mirrored, "a part turned over has its face down");
                let turns = placed.placement.angle_rad / FRAC_PI_2 + if load.width_mm < load.height_mm { 1.0 } else { 0.0 };
                prop_assert!((turns - turns.round()).abs() < 1e-9);
                prop_assert!(part.may_turn || (turns.round() as i64) % 2 == 0, "across the grain");
                lines.push(path);
            }
            for (i, a) in lines.iter().enumerate() {
                for b in &lines[i + 1..] {
                    prop_assert!(gap - 1e-3 <= apart_mm(a, b), "{:?} {:?}", a.bounds(), b.bounds());
                }
            }
        }
        seen.sort_unstable();
        let all: Vec<(usize, u32)> =
            parts.iter().enumerate().flat_map(|(i, part)| (1..=part.count).map(move |copy| (i, copy))).collect();
        prop_assert_eq!(seen, all);
    }
}

/// A small part goes into the hollow of a large one.
#[test]
fn hollows_are_used() {
    let cutter = SheetCutter::Laser { kerf_mm: 0.2, bed_mm: [220.0, 130.0], holds_mm: 0.1 };
    let parts = [Part::new("bridge", shape(3, 200.0, 120.0), 6.0, ""), Part::new("block", shape(0, 70.0, 60.0), 6.0, "")];
    assert_eq!(nest(&parts, &sheet(), &cutter).unwrap().len(), 1);
}
