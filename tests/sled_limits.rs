//! Limits of strips and sleds: strips as wide as the limb, laminations that run out, planks as they come, rails that hold.

use assert_cmd::Command;
use std::fs;
use taperwright::buildfile;
use taperwright::diag::{Diagnostic, Message};
use taperwright::geometry::{Path, Point};
use taperwright::model::Build;
use taperwright::model::lamination::{Lamination, Pieces};
use taperwright::shop::grind::{Unground, Upset, grind};
use taperwright::shop::kit::{Kit, Means, SideView};
use taperwright::shop::sled::{self, Sled};
use taperwright::shop::{passes, raised_end, ramp, shimmed};
use taperwright::units::{MM_PER_IN as IN, System};

fn build(text: &str) -> Build {
    read(text).unwrap_or_else(|faults| panic!("{faults:?}"))
}

fn read(text: &str) -> Result<Build, Vec<Diagnostic>> {
    buildfile::read("strips.toml", text).1.map(|reported| reported.value)
}

/// What stands after `"`key` to "` in a hint, as it would be typed.
fn number_in(hint: &Message, system: System) -> String {
    let spoken = hint.spoken(system);
    let after = spoken.split_once(" to ").unwrap_or_else(|| panic!("{spoken}")).1;
    after.split(' ').next().unwrap().to_owned()
}

fn sled_of(build: &Build, lamination: &Lamination) -> Sled {
    let plan = build.sled_for(lamination).unwrap();
    sled::build(lamination, plan, build.sander.as_ref().unwrap()).unwrap_or_else(|faults| panic!("{faults:?}")).value
}

// ---- strips and the limb ----------------------------------------------------------------------------------------------

fn bow(core_width: &str, wedge_width: &str) -> String {
    format!(
        r#"
units = "in"
[outline]
nock_to_nock = 66
width = [[0, 1.125], [3, 1.125], [9, 1.6], [20, 1.45], [33, 0.5]]
tip_beyond_nock = 0.75
[[lamination]]
name = "back"
wood = "maple, sugar"
thickness = 0.15
stock = {{ width = 1.75 }}
[[lamination]]
name = "core"
wood = "maple, sugar"
thickness = 0.15
stock = {{ width = {core_width} }}
[[lamination]]
name = "wedge"
wood = "maple, sugar"
from = 27
to = 33
thickness = 0.02
stock = {{ width = {wedge_width} }}
"#
    )
}

/// The limb is widest at 9 in, a kink inside the lamination: no end of any strip shows it. A wedge near the tip needs only the width there.
#[test]
fn strips_narrower_than_the_limb_at_any_station_are_a_fault() {
    // At 27 in: 1.45 - 0.95 * 7 / 13 = 0.9385 in.
    let faults = read(&bow("1.5", "0.93")).unwrap_err();
    let said: Vec<String> = faults.iter().map(|fault| fault.message.spoken(System::Inch)).collect();
    assert_eq!(faults.len(), 2, "{said:?}");
    assert!(said[0].contains("\"core\" is 1.5 in wide, but the limb is 1.6 in wide at station 9 in: 0.1 in"), "{said:?}");
    assert!(said[1].contains("\"wedge\"") && said[1].contains("at station 27 in"), "{said:?}");
    assert_eq!(faults[0].place.as_str(), "lamination[1].stock.width");
    let [core, wedge] = [0, 1].map(|i: usize| number_in(&faults[i].hints[0], System::Inch));
    // Equal passes, and the hint works as it is written; a last digit less does not.
    assert_eq!(core, "1.6");
    build(&bow(&core, &wedge));
    assert_eq!(read(&bow("1.5999", &wedge)).unwrap_err().len(), 1);
    let less = format!("{:.4}", wedge.parse::<f64>().unwrap() - 0.0002);
    assert_eq!(read(&bow(&core, &less)).unwrap_err().len(), 1);
}

// ---- laminations that run out -----------------------------------------------------------------------------------------

/// A power lamination, 0.030 in to nothing over 9 in each way; a thick one of 14 in; a tip wedge, 6 in, nothing to 0.040 in: common
/// practice, no source.
const RUN_OUT: &str = r#"
units = "in"
[[lamination]]
name = "power"
wood = "maple, sugar"
thickness = 0.030
taper = { tip = 0 }
to = 9
pieces = "full"
stock = { thickness = 0.060, spread = 0.002, width = 1.75, overrun = 0.75 }
[[lamination]]
name = "short power"
wood = "hickory, shagbark"
taper = { stations = [[0, 0.125], [7, 0]] }
feather = 0.010
to = 7
pieces = "full"
stock = { thickness = 0.160, spread = 0.002, width = 1.75, overrun = 0.75 }
sled = { make = "solid" }
[[lamination]]
name = "wedge"
wood = "maple, sugar"
from = 27
to = 33
thickness = 0
taper = { tip = 0.040 }
stock = { thickness = 0.070, spread = 0.002, width = 1.25, overrun = 0.75 }
sled = { base = 1.1 }
[sander]
gap_step = 0.001
papers = [{ grit = 60, most = 0.012 }, { grit = 80, most = 0.006 }]
together = 2
[sled]
make = "ramp"
base = 1.0
"#;

#[test]
fn laminations_that_run_out_are_ground_to_their_feather_and_no_further() {
    let build = build(RUN_OUT);
    let sander = build.sander.as_ref().unwrap();
    // As stated, from both sides: nothing of the taper's code.
    let stated: [fn(f64) -> f64; 3] = [
        |s| (0.030 * (1.0 - s / 9.0)).max(0.006),
        |s| (0.125 * (1.0 - s / 7.0)).max(0.010),
        |s| (0.040 * (s - 27.0) / 6.0).max(0.006),
    ];
    for (lamination, stated) in build.laminations.iter().zip(stated) {
        let sled = sled_of(&build, lamination);
        let schedule = passes::plan(lamination, Some(&sled), sander).unwrap_or_else(|faults| panic!("{faults:?}")).value;
        let length = lamination.strip_length_mm();
        let surface: Vec<(f64, f64)> =
            (0..=2000).map(|k| length * f64::from(k) / 2000.0).map(|u| (u, sled.surface_mm(u))).collect();
        let target = |u: f64| stated(lamination.station_at(u) / IN) * IN;
        let strip = Unground { surface: &surface, length_mm: length, stock_mm: lamination.stock.thickness_mm };
        let ground = grind(strip, &schedule, target, Upset::default());
        let rounding = schedule.setups.last().unwrap().rounding_mm;
        assert!(ground.worst_mm.abs() < 0.002 + rounding, "{}: {} at {}", lamination.name, ground.worst_mm, ground.worst_at_mm);
        assert!(ground.breaches.is_empty(), "{}: {:?}", lamination.name, ground.breaches);
        // The overrun keeps the feather.
        let feather = lamination.finished.feather_mm().unwrap();
        let thin_end = if lamination.pieces == Pieces::Full { length } else { 0.0 };
        assert!((sled.final_gap_mm - sled.surface_mm(thin_end) - feather).abs() < 1e-9, "{}", lamination.name);
        assert!(0.0 < schedule.time_s() && schedule.passes().count() < 60, "{}", schedule.passes().count());
    }
    let [power, short, wedge] = [0, 1, 2].map(|i: usize| &build.laminations[i]);
    assert!((power.finished.feather_mm().unwrap() - 0.006 * IN).abs() < 1e-9);
    assert!(build.assumed.iter().any(|assumed| assumed.key.contains("feather") && assumed.value == "0.006 in"));
    // What a lamination says of its own sled holds for it alone; a wedge is held at its tip, which is its thick end.
    assert_eq!(sled_of(&build, short).make, taperwright::model::workshop::SledMake::Solid);
    assert!(sled_of(&build, short).deck_mm <= 0.0 && 0.0 < sled_of(&build, power).deck_mm);
    assert!((sled_of(&build, wedge).ramp.at(sled_of(&build, wedge).butt_mm) - 1.1 * IN).abs() < 1e-9);
    assert!((sled_of(&build, power).ramp.at(sled_of(&build, power).butt_mm) - 1.0 * IN).abs() < 1e-9);
    assert!(!sled_of(&build, wedge).first_end_leads && sled_of(&build, power).first_end_leads);
}

/// The machine's least thickness still holds for whatever is not said to run out, and for tapers that are too steep for their length.
#[test]
fn a_taper_that_is_too_steep_is_no_feather() {
    let strip = |taper: &str, feather: &str| {
        format!(
            "units = \"in\"\n[[lamination]]\nname = \"core\"\nwood = \"maple, sugar\"\nto = 34\nthickness = 0.125\ntaper = {taper}\n{feather}\n\
             stock = {{ thickness = 0.170, width = 1.75 }}\n[sander]\n[sled]\n"
        )
    };
    let steep = read(&strip("0.004", "")).unwrap_err();
    assert!(steep[0].message.spoken(System::Millimetre).contains("the wood runs out"), "{steep:?}");
    assert!(
        read(&strip("0.004", "feather = 0.006")).unwrap_err()[0].message.spoken(System::Millimetre).contains("the wood runs out")
    );
    let thin = read(&strip("0.003", "")).unwrap_err();
    assert!(
        thin[0].message.spoken(System::Millimetre).contains("least thickness")
            && thin[0].hints.iter().any(|hint| hint.spoken(System::Millimetre).contains("feather")),
        "{thin:?}"
    );
    // The hint works.
    build(&strip("0.003", "feather = \"0.006 in\""));
}

/// Through both commands, as a builder would: faults, warnings, folder.
#[test]
fn power_laminations_and_wedges_go_through_check_and_make() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("run-out.toml");
    fs::write(&file, RUN_OUT).unwrap();
    let program = || Command::cargo_bin("taperwright").unwrap();
    program().arg("check").arg(&file).assert().code(0);
    let out = home.path().join("out");
    program().args(["-q", "make"]).arg(&file).arg("--out").arg(&out).assert().code(0);
    for name in ["sled-power-assembly.svg", "sled-short-power-assembly.svg", "sled-wedge-assembly.pdf", "cut-1.dxf"] {
        assert!(out.join("templates").join(name).is_file(), "{name}");
    }
    let report: serde_json::Value = serde_json::from_str(&fs::read_to_string(out.join("report.json")).unwrap()).unwrap();
    let makes: Vec<&str> =
        report["laminations"].as_array().unwrap().iter().map(|row| row["sled"]["make"].as_str().unwrap()).collect();
    assert_eq!(makes, ["ramp", "solid", "ramp"]);
}

// ---- planks as they come ----------------------------------------------------------------------------------------------

fn plank(base: &str, thickness: f64) -> String {
    format!(
        r#"
units = "in"
[[lamination]]
name = "core"
wood = "maple, sugar"
thickness = 0.125
taper = 0.002
pieces = "halves"
to = 36
stock = {{ thickness = 0.170, spread = 0.003, width = 1.75, overrun = 0.5 }}
[sander]
gap_step = 0.001
[sled]
make = "raised-end"
{base}
supports = 40
tolerance = 0.002
sheet = {{ thickness = {thickness}, width = 4, length = 48, modulus = "12.5 GPa" }}
[shop]
shims = [{{ of = "paper", thickness = 0.004 }}, {{ of = "tape", thickness = 0.002 }}]
"#
    )
}

/// One plank was to be planed to 2.243 and 2.247 in for two tapers, by a build file that calls it 2.25 in thick.
#[test]
fn a_plank_with_a_raised_end_is_taken_as_thick_as_it_is() {
    for thickness in [1.5, 2.0, 2.25, 2.2637] {
        for base in ["".to_owned(), format!("base = {thickness}")] {
            let build = build(&plank(&base, thickness));
            let lamination = &build.laminations[0];
            let (sled, plan, sander) =
                (sled_of(&build, lamination), build.sled.as_ref().unwrap(), build.sander.as_ref().unwrap());
            let made = raised_end::kit(&sled, &Means::of(&build, plan, sander, lamination)).unwrap();
            let SideView::Sloped { board_mm, .. } = made.value.side else { panic!("a plank lies at its own slope") };
            // Half a step of the gauge brings the last gap onto one.
            assert!((board_mm / IN - thickness).abs() <= 0.5001e-3, "{}", board_mm / IN);
            let steps = sled.final_gap_mm / sander.gap_step_mm;
            assert!((steps - steps.round()).abs() < 1e-6);
            assert!(!made.warnings.iter().any(|warning| warning.place.as_str() == "sled.base"), "{:?}", made.warnings);
        }
    }
    let build = build(&plank("base = 2.5", 2.25));
    let lamination = &build.laminations[0];
    let means = Means::of(&build, build.sled.as_ref().unwrap(), build.sander.as_ref().unwrap(), lamination);
    let made = raised_end::kit(&sled_of(&build, lamination), &Means { shims: &[], ..means }).unwrap();
    let warning = made.warnings.iter().find(|warning| warning.place.as_str() == "sled.base").unwrap();
    // At the low end the board is thinner than at the butt by 0.002 in/in over 3.5 in.
    assert!(warning.message.spoken(System::Inch).contains("2.493 in"), "{warning:?}");
    assert!(warning.hints[0].spoken(System::Millimetre).contains("leave `base` out"));
}

/// Gaps left for the core after one reading of the sled, in mm, and the questions.
fn gaps_after(text: &str, offset_in: f64) -> (Vec<f64>, Vec<serde_json::Value>, String) {
    let build = build(text);
    let sled = sled_of(&build, &build.laminations[0]);
    let heights: Vec<String> =
        [2.0, 12.0, 24.0, 35.0].iter().map(|u| format!("[{u}, {:.4}]", sled.surface_mm(u * IN) / IN + offset_in)).collect();
    let home = tempfile::tempdir().unwrap();
    let (file, log) = (home.path().join("plank.toml"), home.path().join("log.toml"));
    fs::write(&file, text).unwrap();
    let reading = format!("of = \"sled\"\nlamination = \"core\"\nheights = [{}]", heights.join(", "));
    fs::write(&log, format!("units = \"in\"\n[[reading]]\ndate = 2026-11-20\n{reading}\n")).unwrap();
    let out = Command::cargo_bin("taperwright").unwrap().args(["-q", "log", "--json"]).arg(&file).arg(&log).output().unwrap();
    let told: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let gaps = told["left"][0]["passes"].as_array().unwrap().iter().map(|pass| pass["gap_mm"].as_f64().unwrap()).collect();
    let answer = &told["answers"][0];
    (gaps, answer["questions"].as_array().cloned().unwrap_or_default(), answer["says"].to_string())
}

/// What the plank really is comes out of the sled's heights: all gaps move by it, and nobody is asked about it.
#[test]
fn another_plank_moves_all_gaps_and_raises_no_question() {
    let text = plank("", 2.25);
    let (planned, _, _) = gaps_after(&text, 0.0);
    for offset in [-1.5, -0.25, 0.031, 1.75] {
        let (moved, questions, says) = gaps_after(&text, offset);
        assert!(questions.is_empty(), "{offset}: {questions:?}");
        assert!(!says.contains("measured from the table"), "{says}");
        assert_eq!(moved.len(), planned.len());
        for (moved, planned) in moved.iter().zip(&planned) {
            assert!((moved - planned - offset * IN).abs() < 0.01, "{offset}: {moved} against {planned}");
        }
    }
}

// ---- rails ------------------------------------------------------------------------------------------------------------

fn rails(base: &str, sheet: f64, bit: &str, bed: &str, together: u32) -> String {
    format!(
        r#"
units = "in"
[[lamination]]
name = "core"
wood = "maple, sugar"
thickness = 0.150
taper = 0.002
pieces = "halves"
to = 34
stock = {{ thickness = 0.200, width = 1.75, overrun = 0.75 }}
[[lamination]]
name = "long core"
wood = "maple, sugar"
thickness = 0.150
taper = 0.002
pieces = "full"
to = 34
stock = {{ thickness = 0.200, width = 1.75, overrun = 0.75 }}
[sander]
together = {together}
[sled]
base = {base}
tolerance = 0.002
sheet = {{ thickness = {sheet}, width = 60, length = 96 }}
[shop]
cutter = {{ {bit}, bed = {bed} }} }}
"#
    )
}

fn kit(build: &Build, index: usize) -> Result<(Kit, Vec<Diagnostic>), Vec<Diagnostic>> {
    let lamination = &build.laminations[index];
    let (plan, sander) = (build.sled_for(lamination).unwrap(), build.sander.as_ref().unwrap());
    let sled = sled::build(lamination, plan, sander)?.value;
    ramp::kit(&sled, &Means::of(build, plan, sander, lamination)).map(|kit| (kit.value, kit.warnings))
}

/// Least height of sheet over the slots of an outline: cut upright through it, and measured as drawn.
fn least_over_slots(edge: &Path) -> f64 {
    let points = edge.flattened(1e-3);
    let bounds = edge.bounds();
    let cut = |x: f64| {
        let sides = points.iter().zip(points.iter().cycle().skip(1));
        let crossing = |(a, b): (&Point, &Point)| ((a.x < x) != (b.x < x)).then(|| a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x));
        let mut heights: Vec<f64> = sides.filter_map(crossing).collect();
        heights.sort_by(f64::total_cmp);
        heights
    };
    let count = 4000;
    let columns = (1..count).map(|k| cut(bounds.min.x + bounds.width() * f64::from(k) / f64::from(count) + 1e-7));
    // Tongues and sockets aside, a column is one stretch of sheet; locks split it in more.
    columns.filter(|heights| heights.len() == 2).map(|heights| heights[1] - heights[0]).fold(f64::INFINITY, f64::min)
}

/// A rail 12 mm high with 9.5 mm slots and a quarter-inch bit kept 1.2 mm (0.047 in) over its slots.
#[test]
fn rails_keep_enough_over_their_slots_with_relief_and_bit_counted() {
    let mut refused = 0;
    for (base, sheet, bit) in [
        ("0.48", 0.375, "router = { bit = 0.25"),
        ("0.6", 0.375, "router = { bit = 0.25"),
        ("0.75", 0.375, "router = { bit = 0.25"),
        ("0.48", 0.236, "router = { bit = 0.125"),
        ("0.48", 0.236, "laser = { kerf = 0.008"),
        ("1.0", 0.5, "router = { bit = 0.25"),
    ] {
        let text = |base: &str| rails(base, sheet, bit, "[96, 48]", 1);
        let made = kit(&build(&text(base)), 0);
        let kit = match made {
            Ok((kit, _)) => kit,
            Err(faults) => {
                refused += 1;
                assert_eq!(faults[0].place.as_str(), "sled.base", "{faults:?}");
                let raised = number_in(&faults[0].hints[0], System::Inch);
                let less = format!("{:.4}", raised.parse::<f64>().unwrap() - 0.001);
                assert!(self::kit(&build(&text(&less)), 0).is_err(), "{less} would do");
                self::kit(&build(&text(&raised)), 0).unwrap_or_else(|faults| panic!("{raised}: {faults:?}")).0
            }
        };
        for part in kit.parts.iter().filter(|part| part.name.contains("rail") || part.name.starts_with("rib")) {
            let min = least_over_slots(&part.edge);
            assert!(ramp::MIN_BRIDGE_MM - 1e-6 <= min, "{base} {sheet} {bit}: {} keeps {min} mm", part.name);
            assert!(part.labels.iter().all(|label| 1.0 < label.cap_mm), "{}: {:?}", part.name, part.labels);
            assert!(!part.labels.is_empty(), "{}", part.name);
        }
    }
    assert!(2 <= refused, "{refused} of the low ones");
}

/// Where the bed leaves the joints of both rails no bays of their own, they take a plate on either face, and as many are cut.
#[test]
fn plates_are_counted_for_the_joints_that_are_made() {
    let mut side_by_side = 0;
    for bed in 20..120 {
        let text = rails("1.0", 0.236, "laser = { kerf = 0.008", &format!("[{}, 5]", f64::from(bed) * 0.25), 1);
        let Ok(build) = read(&text) else { continue };
        let Ok((kit, warnings)) = kit(&build, 0) else { continue };
        let sides = 1 + kit.rails.iter().map(|rail| rail.side).max().unwrap() as usize;
        let joints = kit.rails.len() - sides;
        let plates = kit.parts.iter().find(|part| part.name == "joint plate").map_or(0, |part| part.count as usize);
        let both = warnings.iter().any(|warning| warning.message.spoken(System::Millimetre).contains("side by side"));
        assert_eq!(plates, if both { 2 * joints } else { joints }, "bed of {bed}/4 in");
        side_by_side += usize::from(both);
    }
    assert!(0 < side_by_side, "no bed puts joints side by side");
}

/// A bow takes one full strip, and two halves: a sled for two full strips side by side is cut for nothing.
#[test]
fn a_single_full_strip_gets_a_sled_of_its_own_width() {
    let width = |index: usize, together: u32| {
        kit(&build(&rails("1.0", 0.236, "laser = { kerf = 0.008", "[96, 48]", together)), index).unwrap().0.width_mm
    };
    assert!((width(1, 2) - width(1, 1)).abs() < 1e-9);
    // Room beside and between strips comes on top.
    assert!(width(0, 1) + 1.75 * IN - 20.0 < width(0, 2));
}

// ---- shims ------------------------------------------------------------------------------------------------------------

#[test]
fn shims_lie_on_whole_units_where_a_rule_shows_them() {
    for (units, unit_mm, file) in
        [("in", 0.5 * IN, plank("", 1.0)), ("mm", 5.0, plank("", 1.0).replace("units = \"in\"", "units = \"mm\""))]
    {
        let text = file.replace("raised-end", "shims").replace("supports = 40\n", "");
        let text = if units == "mm" {
            text.replace("thickness = 0.125", "thickness = 3.2")
                .replace("to = 36", "to = 914")
                .replace(
                    "thickness = 0.170, spread = 0.003, width = 1.75, overrun = 0.5",
                    "thickness = 4.3, width = 44, overrun = 12",
                )
                .replace("gap_step = 0.001", "gap_step = 0.02")
                .replace("tolerance = 0.002", "tolerance = 0.05")
                .replace("thickness = 1, width = 4, length = 48", "thickness = 6.3, width = 100, length = 1300")
                .replace("thickness = 0.004", "thickness = 0.1")
                .replace("thickness = 0.002", "thickness = 0.05")
        } else {
            text.replace("thickness = 1, width", "thickness = 0.25, width")
        };
        let build = build(&text);
        let lamination = &build.laminations[0];
        let (sled, plan, sander) = (sled_of(&build, lamination), build.sled.as_ref().unwrap(), build.sander.as_ref().unwrap());
        let made = shimmed::kit(&sled, &Means::of(&build, plan, sander, lamination)).unwrap().value;
        let inner = &made.places[1..made.places.len() - 1];
        assert!(5 < inner.len());
        for station in inner {
            let places = station.u_mm / unit_mm;
            assert!((places - places.round()).abs() < 1e-9, "{} at {} {units}", station.name, places);
        }
        let chords = made.places.windows(2).map(|pair| shimmed::chord_mm(&sled, pair[0].u_mm, pair[1].u_mm));
        assert!(made.sag_mm[1] + chords.fold(0.0, f64::max) <= plan.tolerance_mm + 1e-9);
    }
}
