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
use taperwright::shop::nest::{WELL_FILLED, gap_mm, nest};
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

/// Where a bed stays emptier, its sheet says by how much, what the webs take, and how many loads the long parts alone need.
#[test]
fn a_bed_that_is_not_well_filled_says_why() {
    let file = File::new(env!("CARGO_MANIFEST_DIR")).join("examples/meadow.toml");
    let job = Job::read("meadow", &fs::read_to_string(file).unwrap(), Inputs::default()).unwrap();
    let files = job.files().unwrap();
    let numbers: Vec<usize> =
        files.names().enumerate().filter(|(_, name)| name.contains("/cut-") && name.ends_with(".svg")).map(|(k, _)| k).collect();
    let filled = serde_json::to_value(job.report().unwrap()).unwrap()["loads"].clone();
    for (number, load) in numbers.iter().zip(filled.as_array().unwrap()) {
        let text = String::from_utf8(files.bytes(*number).unwrap()).unwrap();
        let percent = (100.0 * load["filled"].as_f64().unwrap()).round();
        assert!(text.contains(&format!("Parts cover {percent} % of this bed")), "{percent}");
        assert!(text.contains("with the webs around them") && text.contains("longer than half the bed"));
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
