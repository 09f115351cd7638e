//! Every limit of a number that a builder types, fed exactly: the value equal to it passes, the one beyond it by a hundredth of
//! the step that one writes is refused. In inches and in millimetres.
//!
//! The step is a thousandth of an inch, or a hundredth of a millimetre (what calipers show; common practice, no source).

mod support;

use support::planned::files::{SYSTEMS, at, bare, base, beyond, dependent, text, words};
use support::planned::planned;
use taperwright::model::workshop::{Sheet, SheetCutter};
use taperwright::shop::nest;
use taperwright::shop::parts::Part;
use taperwright::units::MM_PER_IN;
use taperwright::units::System;
use taperwright::units::limit::{above, below};
use toml::{Table, Value};

/// What is wrong at this place.
fn wrong_at(table: &Table, path: &str) -> Vec<String> {
    let faults = planned(&text(table)).faults;
    faults.into_iter().filter(|fault| fault.place.as_str() == path).map(|fault| fault.message.spoken(System::Inch)).collect()
}

/// Key, least and most in mm; what is open at its least (more than nothing) has none there.
const RANGES: &[(&str, Option<f64>, f64)] = &[
    ("target.draw_length", Some(100.0), 1200.0),
    ("target.brace_height", Some(20.0), 400.0),
    ("target.grip_depth", Some(5.0), 150.0),
    ("outline.nock_to_nock", Some(250.0), 3000.0),
    ("outline.width[2][1]", Some(3.0), 200.0),
    ("outline.tip_beyond_nock", Some(0.0), 150.0),
    ("outline.nock.depth", None, 15.0),
    ("outline.trapped.by", Some(0.0), 150.0),
    ("outline.crown", Some(0.0), 30.0),
    ("riser.length", Some(50.0), 1500.0),
    ("riser.level", Some(0.0), 1400.0),
    ("riser.depth", Some(3.0), 150.0),
    ("riser.feather", None, 5.0),
    ("riser.overrun", Some(0.0), 100.0),
    ("riser.across[0][1]", None, 150.0),
    ("glue.line", Some(0.0), 1.0),
    ("lamination[0].thickness", Some(0.4), 60.0),
    ("lamination[0].stock.thickness", Some(0.4), 60.0),
    ("lamination[0].stock.width", Some(6.0), 300.0),
    ("lamination[0].stock.overrun", Some(0.0), 300.0),
    ("lamination[0].stock.spread", Some(0.0), 5.0),
    ("lamination[0].stock.first_face", Some(0.0), 5.0),
    ("sander.least_thickness", Some(0.05), 30.0),
    ("sander.least_length", Some(10.0), 1500.0),
    ("sander.widest", Some(20.0), 2500.0),
    ("sander.gap_step", None, 1.0),
    ("sander.crank", Some(0.05), 20.0),
    ("sander.repeats", Some(0.0), 0.5),
    ("sander.papers[0].most", None, 2.0),
    ("sander.papers[0].scratch", Some(0.0), 2.0),
    ("sled.base", Some(0.0), 150.0),
    ("sled.deck", Some(0.0), 60.0),
    ("sled.under", Some(0.0), 5.0),
    ("sled.tolerance", None, 1.0),
    ("sled.run_on", Some(0.0), 500.0),
    ("sled.stop_clearance", Some(0.0), 5.0),
    ("sled.supports", Some(50.0), 4000.0),
    ("sled.fit", Some(-1.0), 2.0),
    ("sled.sheet.thickness", Some(0.5), 60.0),
    ("sled.sheet.spread", Some(0.0), 3.0),
    ("sled.sheet.width", Some(10.0), 5000.0),
    ("sled.sheet.length", Some(10.0), 6000.0),
    ("shop.cutter.laser.kerf", Some(0.0), 3.0),
    ("shop.cutter.laser.bed[0]", Some(50.0), 6000.0),
    ("shop.cutter.laser.holds", Some(0.0), 2.0),
    ("shop.paper.margin", Some(0.0), 40.0),
    ("shop.shims[0].thickness", Some(0.01), 25.0),
];

/// The same of a riser in layers, with a footing and under an overlay.
const RISER_RANGES: &[(&str, Option<f64>, f64)] = &[
    ("riser.layers[0][1]", None, 150.0),
    ("riser.width", Some(6.0), 300.0),
    ("riser.footing.length", Some(10.0), 500.0),
    ("riser.footing.splice", Some(5.0), 500.0),
    ("riser.overlay.length", Some(50.0), 1500.0),
    ("riser.overlay.level", Some(0.0), 1400.0),
    ("riser.overlay.depth", Some(1.0), 150.0),
    ("riser.overlay.feather", None, 5.0),
    ("riser.overlay.overrun", Some(0.0), 100.0),
];

/// A message of the reader about a range.
fn out_of_range(messages: &[String]) -> bool {
    messages.iter().any(|message| message.contains("makes sense here") || message.contains("is not more than"))
}

/// Whether the reader itself refuses the value; planning is not asked.
fn refused(table: &Table, path: &str) -> bool {
    let (_, outcome) = taperwright::buildfile::read("limits.toml", &text(table));
    let faults = outcome.err().unwrap_or_default();
    let here: Vec<String> =
        faults.into_iter().filter(|f| f.place.as_str() == path).map(|f| f.message.spoken(System::Inch)).collect();
    out_of_range(&here)
}

/// Typed in the file's own unit with every digit, or with the other unit behind it.
#[test]
fn a_range_holds_its_ends_and_nothing_beyond_them() {
    ranges_hold(RANGES, base);
    ranges_hold(RISER_RANGES, |system| {
        let mut table = base(system);
        let parts = r#"
            on = "belly"
            length = "400 mm"
            level = "100 mm"
            depth = "30 mm"
            layers = [["maple, sugar", "10 mm"], ["maple, sugar", "21 mm"]]
            footing = { wood = "locust, black", length = "80 mm" }
            overlay = { wood = "walnut, black", length = "300 mm", level = "90 mm", depth = "20 mm" }
        "#;
        *at(&mut table, "riser") = Value::Table(parts.parse().expect("TOML"));
        table
    });
}

fn ranges_hold(ranges: &[(&str, Option<f64>, f64)], base: impl Fn(System) -> Table) {
    for system in SYSTEMS {
        for (path, least, most) in ranges {
            let typed = |value: Value| {
                let mut table = base(system);
                *at(&mut table, path) = value;
                refused(&table, path)
            };
            for (limit, outward) in least.iter().map(|least| (*least, -1.0)).chain([(*most, 1.0)]) {
                let words = Value::String(format!("{limit} mm"));
                let inches = Value::String(format!("{} in", limit / MM_PER_IN));
                for value in [bare(system, limit), words, inches] {
                    assert!(!typed(value.clone()), "{path}: {value} is the limit and is refused");
                }
                let value = bare(system, limit + outward * beyond(system));
                assert!(typed(value.clone()), "{path}: {value} is beyond {limit} mm and passes");
            }
            if least.is_none() {
                assert!(typed(bare(system, 0.0)) && !typed(bare(system, beyond(system))), "{path} must be more than nothing");
            }
        }
    }
}

/// Other kinds of numbers: as they are typed at their limits.
#[test]
fn ranges_of_other_kinds_hold_their_ends() {
    let rows: &[(&str, &str, &str)] = &[
        ("moisture", "4 %", "3.999 %"),
        ("moisture", "30 %", "30.001 %"),
        ("outline.nock.angle", "80 deg", "80.001 deg"),
        ("outline.trapped.to", "25 %", "24.999 %"),
        ("outline.trapped.to", "1", "1.00001"),
        ("lamination[0].taper", "0.05 in/in", "0.05001 in/in"),
        ("lamination[0].taper", "-5 %", "-5.001 %"),
        ("lamination[0].taper", "0.6 in/ft", "0.6001 in/ft"),
        ("lamination[0].width_share", "20 %", "19.999 %"),
        ("glue.retained", "10 %", "9.999 %"),
        ("glue.spread", "3 kg/m2", "3.0001 kg/m2"),
        ("glue.modulus", "20 GPa", "20.001 GPa"),
        ("sled.sheet.modulus", "0.1 GPa", "0.0999 GPa"),
        ("sled.sheet.modulus", "250 GPa", "250.01 GPa"),
        ("sander.feed", "0.06 m/min", "0.0599 m/min"),
        ("target.draw_weight", "1200 N", "1200.01 N"),
        ("target.finishing", "200 N", "200.01 N"),
        ("sander.roller", "1000 N", "1000.01 N"),
    ];
    for system in SYSTEMS {
        for (path, limit, past) in rows {
            let wrong = |value: &str| {
                let mut table = base(system);
                *at(&mut table, path) = Value::String(value.into());
                let (_, outcome) = taperwright::buildfile::read("limits.toml", &text(&table));
                outcome
                    .err()
                    .unwrap_or_default()
                    .iter()
                    .any(|f| f.place.as_str() == *path && f.message.spoken(System::Millimetre).contains("makes sense"))
            };
            assert!(!wrong(limit), "{path}: {limit} is the limit and is refused");
            assert!(wrong(past), "{path}: {past} is beyond {limit} and passes");
        }
        for (width, fits) in [("150 mm", true), ("149.999 mm", false), ("2000 mm", true), ("2000.001 mm", false)] {
            let mut table = base(system);
            *at(&mut table, "shop.paper.name") = Value::String(format!("roll {width}"));
            assert_eq!(wrong_at(&table, "shop.paper.name").is_empty(), fits, "roll {width}");
        }
    }
}

#[test]
fn what_one_value_allows_another_is_allowed_to_the_full() {
    for system in SYSTEMS {
        for limit in dependent() {
            let wrong = |off_mm: f64| wrong_at(&limit.file(system, off_mm), limit.wrong_at);
            assert_eq!(wrong(0.0), Vec::<String>::new(), "{}, {system:?}: equal is refused", limit.what);
            assert!(!wrong(limit.slack_mm + beyond(system)).is_empty(), "{}, {system:?}: beyond passes", limit.what);
        }
    }
}

/// Where equal would leave nothing (no fade, no draw, no wood between two grooves) less than equal is asked for, and a hundredth of a
/// step less is enough.
#[test]
fn what_must_leave_something_is_refused_when_it_leaves_nothing() {
    let rows: &[(&str, f64, f64, &str)] = &[
        ("target.brace_height", 380.0, -1.0, "target.draw_length"),
        ("riser.level", 400.0, -1.0, "riser.level"),
        ("outline.nock.depth", 7.0, -1.0, "outline.nock.depth"),
    ];
    for system in SYSTEMS {
        for (path, limit_mm, inward, place) in rows {
            let wrong = |mm: f64| {
                let mut table = base(system);
                *at(&mut table, "target.draw_length") = words("380 mm");
                *at(&mut table, path) = bare(system, mm);
                let found = wrong_at(&table, place);
                !found.is_empty()
            };
            assert!(wrong(*limit_mm), "{path}");
            assert!(!wrong(limit_mm + inward * beyond(system)), "{path}");
        }
    }
}

/// The greatest part that fits on sheet and bed is cut; one longer by a hundredth of a step is not.
#[test]
fn a_part_as_long_as_the_bed_allows_is_cut() {
    let sheet = Sheet {
        material: "plywood".into(),
        thickness_mm: 6.0,
        spread_mm: 0.1,
        width_mm: 24.0 * MM_PER_IN,
        length_mm: 48.0 * MM_PER_IN,
        modulus_mpa: 8000.0,
    };
    let beds = [[20.0 * MM_PER_IN, 12.0 * MM_PER_IN], [600.0, 400.0], [300.0, 500.0], [13.7 * MM_PER_IN, 9.3 * MM_PER_IN]];
    for bed_mm in beds {
        for cutter in [
            SheetCutter::Laser { kerf_mm: 0.2, bed_mm, holds_mm: 0.1 },
            SheetCutter::Router { bit_mm: 0.125 * MM_PER_IN, bed_mm, holds_mm: 0.1 },
        ] {
            let [long, short] = nest::room_mm(&sheet, &cutter);
            let cut = |length: f64, width: f64| {
                let corner = taperwright::geometry::Point::new(length, width);
                let area = taperwright::geometry::Bounds { min: taperwright::geometry::Point::new(0.0, 0.0), max: corner };
                let part = Part::new("part", taperwright::geometry::Path::rectangle(area), 6.0, "");
                nest::nest(&[part], &sheet, &cutter).is_ok()
            };
            assert!(cut(long, short), "{bed_mm:?}");
            assert!(!cut(long + 1e-4, short) && !cut(long, short + 1e-4), "{bed_mm:?}");
        }
    }
}

/// Round numbers of a shop: every pair whose sum or product is equal on paper is equal here.
#[test]
fn sums_of_round_numbers_are_equal() {
    let mut refused = 0;
    for system in SYSTEMS {
        for n in 1..=12_u32 {
            for k in 1..=400_u32 {
                let one = system.to_mm(f64::from(k) / 100.0);
                let all = system.to_mm(f64::from(n * k) / 100.0);
                let sum: f64 = (0..n).map(|_| one).sum();
                refused += u32::from(above(sum, all) || below(sum, all));
            }
        }
    }
    assert_eq!(refused, 0);
}
