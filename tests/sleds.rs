//! Sleds in proportion to the work: every way to make one is applied as a builder would apply it, and strips are ground on it here; how far
//! a carrier gives way is held against a handbook and against finite elements; no rib is too many, and supports stand where a rule shows them.

mod support;

use std::collections::BTreeMap;
use std::process::Command;
use support::chance::Chance;
use support::examples::text as example;
use taperwright::job::{Ground, Inputs, Job};
use taperwright::report::sleds::{SledKeys, SledsAnswer};
use taperwright::shop::kit::{Kit, SideView};
use taperwright::shop::passes::Carrier;
use taperwright::shop::sag::{Carried, LoadedBeam};
use taperwright::shop::sled::WEDGE_THIN_END_MM;
use taperwright::units::{MM_PER_IN, System};

fn job(text: &str) -> Job {
    Job::read("bow.toml", text, Inputs::default()).unwrap_or_else(|unread| panic!("{unread}\n{text}"))
}

fn ground(job: &Job, name: &str) -> Option<Ground> {
    let index = job.build().laminations.iter().position(|lamination| lamination.name == name)?;
    job.ground(index).ok().flatten().cloned()
}

/// Laminations of a file, one straight and one that bends: in inches or millimetres, of any length, on a sled of this make.
fn batch(system: System, make: &str, chance: &mut Chance) -> String {
    let inch = system == System::Inch;
    let unit = |inches: f64| if inch { format!("{inches:.3}") } else { format!("{:.2}", inches * MM_PER_IN) };
    let (length, overrun) = (chance.between(24.0, 36.0), chance.between(0.3, 1.2));
    let [rate, other] = [0, 1].map(|_| chance.between(0.0008, 0.0022));
    let flat = chance.between(3.0, 9.0);
    let strip = |name: &str, taper: &str| {
        format!(
            "[[lamination]]\nname = \"{name}\"\nwood = \"maple, sugar\"\nthickness = {}\ntaper = {taper}\npieces = \"halves\"\nto = {}\n\
             stock = {{ thickness = {}, width = {}, overrun = {} }}\n",
            unit(0.160),
            unit(length),
            unit(0.205),
            unit(1.75),
            unit(overrun)
        )
    };
    format!(
        "units = \"{}\"\n{}{}[sander]\ngap_step = {}\n[sled]\nmake = \"{make}\"\ntolerance = {}\n\
         sheet = {{ thickness = {}, width = {}, length = {}, modulus = \"{}\" }}\n[shop]\n\
         cutter = {{ laser = {{ kerf = {}, bed = [{}, {}] }} }}\n",
        if inch { "in" } else { "mm" },
        strip("straight", &format!("{rate:.4}")),
        strip("bent", &format!("{{ flat = {}, then = {other:.4} }}", unit(flat))),
        if inch { "0.001" } else { "0.02" },
        unit(chance.between(0.0008, 0.0025)),
        unit(chance.between(0.20, 0.38)),
        unit(24.0),
        unit(48.0),
        if inch { "1.2 Mpsi" } else { "8 GPa" },
        unit(0.008),
        unit(20.0),
        unit(12.0)
    )
}

// ---- sag --------------------------------------------------------------------------------------------------------------

const BAR: LoadedBeam = LoadedBeam { width_mm: 12.0, thickness_mm: 10.0, modulus_mpa: 1e4, roller_n: 48.0 };

/// Two equal spans, the load in the middle of one: 0.0150 P L³/(E I), American Institute of Steel Construction, Manual of Steel
/// Construction, beam diagrams, continuous beam of two equal spans with a concentrated load at the centre of one span (from memory). Over
/// one span P L³/(48 E I), as over a joint.
#[test]
fn a_carrier_that_runs_on_sags_as_the_handbook_says() {
    let unit = BAR.simply_supported_mm(100.0) * 48.0;
    let two = Carried { beam: BAR, supports_mm: vec![0.0, 100.0, 200.0], joints_mm: Vec::new() };
    assert!((two.sag_mm(50.0) / unit - 23.0 / 1536.0).abs() < 1e-12 && (two.sag_mm(50.0) / unit - 0.0150).abs() < 5e-5);
    let jointed = Carried { joints_mm: vec![100.0], ..two.clone() };
    assert!((jointed.sag_mm(150.0) - BAR.simply_supported_mm(100.0)).abs() < 1e-12);
    // Beyond the last of two supports: P d² (L + d)/(3 E I), any handbook.
    let one = Carried { beam: BAR, supports_mm: vec![0.0, 100.0], joints_mm: Vec::new() };
    for d in [-30.0_f64, 30.0] {
        let at = if d < 0.0 { d } else { 100.0 + d };
        assert!((one.sag_mm(at) / unit - d * d * (100.0 + d.abs()) / 3.0 / 100.0_f64.powi(3)).abs() < 1e-12);
    }
}

#[test]
fn a_carrier_over_any_supports_sags_as_finite_elements_do() {
    for seed in 0..12 {
        let mut chance = Chance::mixed(seed);
        let mut supports_mm = vec![0.0];
        for _ in 0..3 + chance.below(8) {
            supports_mm.push(supports_mm[supports_mm.len() - 1] + chance.between(40.0, 120.0));
        }
        let joints_mm = if 4 < supports_mm.len() { vec![supports_mm[2]] } else { Vec::new() };
        let ends = [-chance.between(0.0, 15.0), supports_mm[supports_mm.len() - 1] + chance.between(0.0, 15.0)];
        let carried = Carried { beam: BAR, supports_mm, joints_mm };
        for (u, sag) in elements(&carried, ends) {
            assert!((carried.sag_mm(u) - sag).abs() < 1e-6 + 1e-5 * sag, "seed {seed} at {u}: {} {sag}", carried.sag_mm(u));
        }
    }
}

/// Sag under a load at each of many places, by beam elements with two unknowns a node: a second method of this test's own. `K w = P` is
/// solved for each; supports hold `w`, joints begin a new piece.
fn elements(carried: &Carried, [from, to]: [f64; 2]) -> Vec<(f64, f64)> {
    const PARTS: usize = 6;
    let ei = carried.beam.modulus_mpa * carried.beam.second_moment_mm4();
    let bounds: Vec<f64> = [from].into_iter().chain(carried.joints_mm.iter().copied()).chain([to]).collect();
    let mut all = Vec::new();
    for piece in bounds.windows(2) {
        let here: Vec<f64> =
            carried.supports_mm.iter().copied().filter(|u| piece[0] - 1e-9 <= *u && *u <= piece[1] + 1e-9).collect();
        let mut marks: Vec<f64> = piece.iter().copied().chain(here.iter().copied()).collect();
        marks.sort_by(f64::total_cmp);
        marks.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        let mut nodes = vec![marks[0]];
        for pair in marks.windows(2) {
            nodes.extend((1..=PARTS).map(|k| pair[0] + (pair[1] - pair[0]) * k as f64 / PARTS as f64));
        }
        let held = |node: usize| here.iter().any(|u| (u - nodes[node]).abs() < 1e-6);
        let n = 2 * nodes.len();
        let mut k = vec![vec![0.0; n]; n];
        for e in 0..nodes.len() - 1 {
            let l = nodes[e + 1] - nodes[e];
            let s = ei / l.powi(3);
            let m = [
                [12.0, 6.0 * l, -12.0, 6.0 * l],
                [6.0 * l, 4.0 * l * l, -6.0 * l, 2.0 * l * l],
                [-12.0, -6.0 * l, 12.0, -6.0 * l],
                [6.0 * l, 2.0 * l * l, -6.0 * l, 4.0 * l * l],
            ];
            for (i, row) in m.iter().enumerate() {
                for (j, value) in row.iter().enumerate() {
                    k[2 * e + i][2 * e + j] += s * value;
                }
            }
        }
        // What is free to move, and the inverse of its matrix by Gauss and Jordan with rows exchanged.
        let free: Vec<usize> = (0..n).filter(|i| i % 2 == 1 || !held(i / 2)).collect();
        let mut a: Vec<Vec<f64>> = free.iter().map(|i| free.iter().map(|j| k[*i][*j]).collect()).collect();
        let m = free.len();
        let mut inverse: Vec<Vec<f64>> = (0..m).map(|i| (0..m).map(|j| f64::from(u8::from(i == j))).collect()).collect();
        for c in 0..m {
            let p = (c..m).max_by(|x, y| a[*x][c].abs().total_cmp(&a[*y][c].abs())).unwrap();
            a.swap(c, p);
            inverse.swap(c, p);
            let pivot = a[c][c];
            a[c].iter_mut().chain(inverse[c].iter_mut()).for_each(|x| *x /= pivot);
            let (row, inv) = (a[c].clone(), inverse[c].clone());
            for r in (0..m).filter(|r| *r != c) {
                let f = a[r][c];
                if 0.0 != f {
                    a[r].iter_mut().zip(&row).for_each(|(x, y)| *x -= f * y);
                    inverse[r].iter_mut().zip(&inv).for_each(|(x, y)| *x -= f * y);
                }
            }
        }
        for (node, u) in nodes.iter().enumerate() {
            let sag = free.iter().position(|i| *i == 2 * node).map_or(0.0, |at| carried.beam.roller_n * inverse[at][at]);
            all.push((*u, sag));
        }
    }
    all
}

/// The sag at any place, straight between those of finite elements.
fn dip(all: &[(f64, f64)], u: f64) -> f64 {
    let at = all.partition_point(|(place, _)| *place < u).clamp(1, all.len() - 1);
    let ((a, from), (b, to)) = (all[at - 1], all[at]);
    if a < b { from + (to - from) * (u - a) / (b - a) } else { to }
}

// ---- ways -------------------------------------------------------------------------------------------------------------

/// Writes the keys into the text as a builder would: a line under the lamination's name, or under `[sled]`.
fn applied(text: &str, keys: &[SledKeys]) -> String {
    let mut text = text.to_owned();
    for of in keys {
        let pairs: Vec<String> = of.keys.iter().map(|[key, value]| format!("{key} = {value}")).collect();
        if of.lamination.is_empty() {
            text = text.replacen("[sled]\n", &format!("[sled]\n{}\n", pairs.join("\n")), 1);
            continue;
        }
        let lines: Vec<&str> = text.lines().collect();
        let is_name = |line: &&str| {
            line.split_once('=')
                .is_some_and(|(key, value)| key.trim() == "name" && value.trim() == format!("\"{}\"", of.lamination))
        };
        let at = lines.iter().position(is_name).unwrap_or_else(|| panic!("no {}", of.lamination));
        let line = format!("sled = {{ {} }}", pairs.join(", "));
        text = lines[..=at]
            .iter()
            .copied()
            .chain([line.as_str()])
            .chain(lines[at + 1..].iter().copied())
            .collect::<Vec<_>>()
            .join("\n")
            + "\n";
    }
    text
}

/// Grinds the strips of a lamination on its sled, pressed down by finite elements: how far they are off, the gauge's step apart.
fn off_mm(ground: &Ground) -> f64 {
    let kit = ground.kit.as_ref().expect("it lies on a sled");
    let lamination = &ground.lamination;
    let length = kit.sled.strip_length_mm;
    let dips = kit.carried.as_ref().map(|carried| {
        let ends = if kit.ribs_mm.is_empty() { [-kit.sled.run_on_mm, length + kit.sled.run_on_mm] } else { [0.0, length] };
        elements(carried, ends)
    });
    let height = |u: f64| {
        let made = &kit.surface;
        let as_made = match made.partition_point(|(at, _)| *at < u) {
            _ if made.is_empty() => kit.sled.surface_mm(u),
            0 => made[0].1,
            n => {
                let ((a, x), (b, y)) = (made[n - 1], made[n.min(made.len() - 1)]);
                if a < b { x + (y - x) * (u - a) / (b - a) } else { x }
            }
        };
        as_made - dips.as_ref().map_or(0.0, |dips| dip(dips, u))
    };
    let mut worst = 0.0_f64;
    for k in 0..=2000 {
        let u = length * f64::from(k) / 2000.0;
        let h = height(u);
        for stock in [-1.0, 1.0] {
            let mut t = lamination.stock.thickness_mm + stock * lamination.stock.spread_mm;
            for setup in &ground.schedule.setups {
                let under = if setup.carrier == Carrier::Sled { h } else { 0.0 };
                setup.passes.iter().for_each(|pass| t = t.min(pass.gap_mm + setup.gauge_offset_mm - under));
            }
            let off = t - lamination.strip_thickness_at(u) - ground.rounding_mm();
            worst = if worst.abs() < off.abs() { off } else { worst };
        }
    }
    worst
}

/// Every way of every sled, written into the file and ground on: what is said to hold holds, what is said to miss misses, what is said
/// not to be makeable is refused. Counts holding, missing, refused.
fn tried(name: &str, text: &str, count: &mut [u32; 3]) {
    let answer = job(text).sled_ways();
    assert!(!answer.sleds.is_empty(), "{name}");
    for sled in &answer.sleds {
        let mut before = (0, 0.0);
        for way in &sled.ways {
            let what = format!("{name}, {} as {}", sled.lamination, way.make);
            // The simplest that holds first.
            let tier = if way.holds { 0 } else { 1 + u8::from(way.takes.is_none()) };
            let minutes = way.takes.as_ref().map_or(f64::INFINITY, |takes| takes.time_s[0] + takes.time_s[1]);
            assert!(before <= (tier, minutes), "{what}: {before:?}");
            before = (tier, minutes);
            assert_eq!(way.in_file, way.make == sled.make);
            let text = applied(text, &way.write);
            let read = Job::read("bow.toml", &text, Inputs::default());
            let Some(takes) = &way.takes else {
                let refused =
                    read.is_err() || sled.serves.iter().any(|lamination| ground(read.as_ref().unwrap(), lamination).is_none());
                assert!(refused && !way.why_not.is_empty(), "{what} can be made");
                count[2] += 1;
                continue;
            };
            let job = read.unwrap_or_else(|unread| panic!("{what}: {unread}"));
            let works: Vec<Ground> = sled.serves.iter().map(|lamination| ground(&job, lamination).expect(&what)).collect();
            assert!(works.iter().all(|work| work.kit.as_ref().unwrap().sled.make.traits().word == way.make), "{what}");
            let off = works.iter().map(|work| off_mm(work).abs()).fold(0.0, f64::max);
            let said = way.off_mm.unwrap().abs();
            // Two ways to reckon sag, between places of their own; files hold a micrometre or two.
            assert!((off - said).abs() < 0.02 * said + 2.5e-3, "{what}: {off} off, said to be {said}");
            if way.holds {
                assert!(off < sled.tolerance_mm * 1.01 + 2.5e-3, "{what} holds {}: {off}", sled.tolerance_mm);
            } else {
                assert!(sled.tolerance_mm * 0.99 < off, "{what} misses {}: {off}", sled.tolerance_mm);
            }
            count[usize::from(!way.holds)] += 1;
            let kit = works[0].kit.as_ref().unwrap();
            if kit.is_cut() && sled.serves.len() == 1 {
                let own = u32::from(way.make == "solid");
                assert_eq!(takes.parts, own + kit.parts.iter().map(|part| part.count).sum::<u32>(), "{what}");
            }
        }
    }
    if let Some(one) = answer.one_carrier.filter(|one| one.holds && !one.in_file) {
        let job = self::job(&applied(text, &one.write));
        let kits: Vec<Kit> = one.serves.iter().map(|name| ground(&job, name).unwrap().kit.unwrap()).collect();
        let boards = kits.iter().map(|kit| match kit.side {
            SideView::Sloped { base_board_mm, .. } => base_board_mm,
            SideView::Raised => panic!("a carrier lies at its own slope"),
        });
        let boards: Vec<f64> = boards.collect();
        // One board under all of them, and what is off is what was said.
        assert!(boards.iter().all(|board| (board - boards[0]).abs() < 0.02), "{name}: {boards:?}");
        let off = one.serves.iter().map(|name| off_mm(&ground(&job, name).unwrap()).abs()).fold(0.0, f64::max);
        assert!((off - one.off_mm.abs()).abs() < 0.02 * off + 2.5e-3, "{name}: {off} {}", one.off_mm);
        assert_eq!(one.takes.parts, 2);
        assert!(kits.iter().all(|kit| kit.steps.iter().any(|step| step.contains("the same for all laminations"))), "{name}");
    }
}

#[test]
fn what_is_proposed_holds_and_what_is_said_to_miss_misses() {
    let mut count = [0; 3];
    for name in ["meadow", "heron", "strips"] {
        tried(name, &example(name), &mut count);
    }
    let makes = ["ramp", "solid", "shims", "ramp"];
    for seed in 0..8 {
        let mut chance = Chance::mixed(seed);
        let system = if seed % 2 == 0 { System::Inch } else { System::Millimetre };
        tried(&format!("seed {seed}"), &batch(system, makes[seed as usize % 4], &mut chance), &mut count);
    }
    assert!(count.iter().zip([50, 5, 20]).all(|(got, min)| min <= *got), "{count:?}");
}

/// The main example's back tapers straight: two pieces of wood do what thirty parts do. Nothing is said where the sled is simple.
#[test]
fn a_much_simpler_sled_is_named_once_and_only_where_it_is() {
    let text = example("meadow");
    let meadow = job(&text);
    let told = meadow.simpler_sleds();
    assert!(told.len() == 1 && told[0].starts_with("a wedge on a board would do for back: "), "{told:?}");
    let answer: SledsAnswer = meadow.sled_ways();
    let back = &answer.sleds[0];
    assert!(back.ways[0].make == "wedge" && back.ways[0].takes.as_ref().unwrap().parts == 2);
    assert!(back.says.starts_with("A wedge on a board holds ± 0.001 in: 2 parts, "), "{}", back.says);
    assert_eq!(job(&applied(&text, &back.ways[0].write)).simpler_sleds(), Vec::<String>::new());
    assert_eq!(job(&example("strips")).simpler_sleds(), Vec::<String>::new());
    let out = tempfile::tempdir().unwrap();
    let make = |quiet: &[&str]| {
        let folder = out.path().join(format!("made{}", quiet.len()));
        let mut program = Command::new(env!("CARGO_BIN_EXE_taperwright"));
        program.current_dir(env!("CARGO_MANIFEST_DIR")).args(["make", "examples/meadow.toml", "--out"]).arg(folder).args(quiet);
        String::from_utf8(program.output().unwrap().stderr).unwrap()
    };
    assert_eq!(make(&[]).matches("note: ").count(), 1);
    assert!(!make(&["--quiet"]).contains("note: "));
}

/// A plank propped at its far end was all that a straight taper had beside parts from sheet, and it sags.
#[test]
fn a_wedge_is_as_thick_as_its_taper_asks_and_never_a_feather() {
    let text = "units = \"in\"\n[[lamination]]\nname = \"core\"\nwood = \"maple, sugar\"\nthickness = 0.160\ntaper = 0.002\n\
                pieces = \"halves\"\nto = 34\nstock = { thickness = 0.2, width = 1.75, overrun = 0.5 }\n[sander]\ngap_step = 0.001\n\
                [sled]\nmake = \"wedge\"\nsheet = { thickness = 1.5 }\n";
    let work = ground(&job(text), "core").unwrap();
    let kit = work.kit.as_ref().unwrap();
    let SideView::Sloped { base_board_mm, .. } = kit.side else { panic!("it runs on at its own slope") };
    assert!((base_board_mm - 1.5 * MM_PER_IN).abs() < 1e-9);
    // Thin end by the rule, thick end by the rate over strip and both run-ons; the gauge's step may take half of itself.
    let [board, wedge] = [&kit.parts[0], &kit.parts[1]];
    let rise = 0.002 * (34.0 + 2.0 * 0.5 + 2.0 * 3.0) * MM_PER_IN;
    assert!((board.thickness_mm - base_board_mm).abs() < 1e-9);
    assert!((wedge.thickness_mm - WEDGE_THIN_END_MM - rise).abs() <= 0.5 * 0.001 * MM_PER_IN + 1e-9, "{}", wedge.thickness_mm);
    assert!(kit.carried.is_none() && off_mm(&work).abs() < 1e-3);
    // A base that leaves too little wedge is refused, and the height in the hint is taken; a step of the hint's last digit under it not.
    let low = text.replace("thickness = 1.5 }", "thickness = 1.5 }\nbase = 1.55");
    let Err(refused) = job(&low).ground(0) else { panic!("a feather was planed") };
    let hint = refused.faults[0].hints[0].spoken(System::Inch);
    let height: f64 = hint.split_whitespace().find_map(|word| word.parse().ok()).unwrap_or_else(|| panic!("{hint}"));
    assert!(job(&low.replace("1.55", &format!("{height}"))).ground(0).is_ok(), "{hint}");
    assert!(job(&low.replace("1.55", &format!("{}", height - 0.002))).ground(0).is_err(), "{hint}");
}

// ---- few parts --------------------------------------------------------------------------------------------------------

/// With a rib less, set as evenly as half steps of a rule allow and jointed over the ribs nearest to where the deck is jointed now, the
/// deck sags more than the tolerance. Bays were laid out as if the deck turned freely over every rib, and a run-on stood on two.
#[test]
fn a_rib_less_would_let_the_deck_sag_beyond_the_tolerance() {
    let mut fewer: Vec<(&str, &str, usize, usize, f64, bool, f64)> = Vec::new();
    for (name, lamination, system) in [
        ("meadow", "back", System::Inch),
        ("heron", "bamboo back", System::Millimetre),
        ("heron", "core one", System::Millimetre),
    ] {
        let job = job(&example(name));
        let kit = ground(&job, lamination).unwrap().kit.unwrap();
        let tolerance = job.build().sled.as_ref().unwrap().tolerance_mm;
        let carried = kit.carried.as_ref().unwrap();
        let length = kit.sled.strip_length_mm;
        let worst = |carried: &Carried| elements(carried, [0.0, length]).into_iter().map(|(_, sag)| sag).fold(0.0, f64::max);
        let now = worst(carried);
        assert!(now <= tolerance * 1.001, "{name} {lamination}: {now}");
        assert!((now - kit.sag_mm[1]).abs() < 0.03 * now, "{name} {lamination}: {now} {}", kit.sag_mm[1]);
        assert!(kit.steps.iter().any(|step| step.contains("sags up to")), "{name} {lamination}");
        let ribs = &carried.supports_mm;
        let half = system.rule_steps_mm()[1];
        // A change of slope keeps its rib: between two of those one goes.
        let mut marks = vec![ribs[0]];
        marks.extend(kit.sled.corners_mm.iter().copied().filter(|corner| ribs.iter().any(|u| (u - corner).abs() < 1e-6)));
        marks.push(ribs[ribs.len() - 1]);
        for pair in marks.windows(2) {
            let bays = ribs.iter().filter(|u| pair[0] + 1e-6 < **u && **u < pair[1] + 1e-6).count() - 1;
            if bays == 0 {
                continue;
            }
            let even = |k: usize| pair[0] + (pair[1] - pair[0]) * k as f64 / bays as f64;
            let on_rule = |k: usize| if k == 0 || k == bays { even(k) } else { (even(k) / half).round() * half };
            let mut supports_mm: Vec<f64> = ribs.iter().copied().filter(|u| *u < pair[0] - 1e-6 || pair[1] + 1e-6 < *u).collect();
            supports_mm.extend((0..=bays).map(on_rule));
            supports_mm.sort_by(f64::total_cmp);
            let nearest =
                |joint: &f64| supports_mm.iter().copied().min_by(|a, b| (a - joint).abs().total_cmp(&(b - joint).abs())).unwrap();
            let joints_mm = carried.joints_mm.iter().map(nearest).collect();
            let widest = supports_mm.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max);
            // Ribs farther apart than this leave the rails wobbly while they are glued, whatever the deck.
            let wobbly = 150.0 < widest;
            let less = worst(&Carried { beam: carried.beam, joints_mm, supports_mm: supports_mm.clone() });
            fewer.push((name, lamination, ribs.len(), bays, widest, wobbly || tolerance < less, less / tolerance));
        }
    }
    assert!(fewer.iter().all(|(.., missed, _)| *missed), "{fewer:?}");
}

/// Ribs stood wherever an even division put them: 1.61 in, 4.83 in.
#[test]
fn supports_stand_where_a_rule_shows_them() {
    let (mut on, mut all) = (0, 0);
    for seed in 0..60 {
        let mut chance = Chance::mixed(1000 + seed);
        let system = if seed % 2 == 0 { System::Inch } else { System::Millimetre };
        let make = if seed % 4 < 2 { "ramp" } else { "shims" };
        let text = batch(system, make, &mut chance);
        let job = job(&text);
        for name in ["straight", "bent"] {
            let Some(kit) = ground(&job, name).and_then(|work| work.kit) else { panic!("seed {seed}: {name}\n{text}") };
            let half = system.rule_steps_mm()[1];
            let supports = if make == "ramp" { &kit.ribs_mm } else { &kit.carried.as_ref().unwrap().supports_mm };
            // Ends, ribs beside stops and corners of the taper stay where they must be.
            let is_free = |u: &&f64| {
                let seat = &kit.carried.as_ref().unwrap().supports_mm;
                let inner = seat[0] < **u && **u < seat[seat.len() - 1];
                inner && kit.sled.corners_mm.iter().all(|corner| 1e-6 < (corner - **u).abs())
            };
            for u in supports.iter().filter(is_free) {
                all += 1;
                let steps = u / half;
                assert!((steps - steps.round()).abs() < 1e-6, "seed {seed}, {make} of {name}: {}", system.length(*u));
            }
            on += supports.iter().filter(|u| (*u / half - (*u / half).round()).abs() < 1e-6).count();
            // A change of slope has its support.
            for corner in &kit.sled.corners_mm {
                assert!(supports.iter().any(|u| (u - corner).abs() < 1e-6), "seed {seed}: corner at {corner}");
            }
        }
    }
    assert!(800 < all && all < on, "{all} of {on}");
}

// ---- makes mixed ------------------------------------------------------------------------------------------------------

/// Three makes in one file go through `make`, its book and its cut files.
#[test]
fn three_makes_in_one_build_are_made_and_booked() {
    let mut chance = Chance::mixed(7);
    let mut text = batch(System::Inch, "ramp", &mut chance);
    let third = text.split("[[lamination]]\n").nth(2).unwrap().split("[sander]").next().unwrap().replace("\"bent\"", "\"third\"");
    text = text.replacen("[sander]", &format!("[[lamination]]\n{}[sander]", third.replacen("0.160", "0.150", 1)), 1);
    let wedge = "sled = { make = \"wedge\", sheet = { material = \"plank\", thickness = 1.5 } }";
    let with = |text: &str, name: &str, line: &str| {
        text.replacen(&format!("name = \"{name}\"\n"), &format!("name = \"{name}\"\n{line}\n"), 1)
    };
    let text = with(&with(&text, "straight", wedge), "third", "sled = { make = \"shims\" }");
    let home = tempfile::tempdir().unwrap();
    let (file, out) = (home.path().join("batch.toml"), home.path().join("out"));
    std::fs::write(&file, &text).unwrap();
    let made = Command::new(env!("CARGO_BIN_EXE_taperwright")).arg("make").arg(&file).arg("--out").arg(&out).output().unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let report: serde_json::Value = serde_json::from_slice(&std::fs::read(out.join("report.json")).unwrap()).unwrap();
    let rows = report["laminations"].as_array().unwrap();
    let makes: BTreeMap<&str, &str> =
        rows.iter().map(|row| (row["name"].as_str().unwrap(), row["sled"]["make"].as_str().unwrap())).collect();
    assert_eq!(makes, BTreeMap::from([("bent", "ramp"), ("straight", "wedge"), ("third", "shims")]));
    // Ground in simulation on each, and within its tolerance.
    assert!(
        rows.iter()
            .all(|row| row["proof"]["worst_mm"].as_f64().unwrap().abs() < 0.1 && 0 < row["proof"]["cases"].as_u64().unwrap())
    );
    let book = std::fs::read_to_string(out.join("build-book.html")).unwrap();
    for words in ["Sled for straight", "Sled for bent", "Sled for third", "Plane a wedge", "stand the ribs", "Glue each shim"] {
        assert!(book.to_lowercase().contains(&words.to_lowercase()), "{words}");
    }
    // The ramp alone is cut; shims have their table, and every sled its sheet.
    let parts: Vec<String> = report["loads"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|load| load["parts"].as_array().unwrap())
        .map(|part| part["name"].as_str().unwrap().to_owned())
        .collect();
    assert!(!parts.is_empty() && parts.iter().all(|part| part.starts_with("bent: ")), "{parts:?}");
    assert!(out.join("shims-third.csv").exists() && !out.join("shims-straight.csv").exists());
    let templates: Vec<String> = std::fs::read_dir(out.join("templates"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    for name in ["sled-straight-assembly.pdf", "sled-bent-assembly.pdf", "sled-third-assembly.pdf"] {
        assert!(templates.iter().any(|file| file == name), "{name}: {templates:?}");
    }
    assert!(templates.iter().any(|file| file.ends_with(".dxf")), "{templates:?}");
}

#[test]
fn the_command_says_the_same_in_words() {
    let run = |words: &[&str]| {
        let mut program = Command::new(env!("CARGO_BIN_EXE_taperwright"));
        let done = program.current_dir(env!("CARGO_MANIFEST_DIR")).args(words).output().unwrap();
        (done.status.code(), String::from_utf8(done.stdout).unwrap(), String::from_utf8(done.stderr).unwrap())
    };
    let (code, all, _) = run(&["sleds", "examples/meadow.toml"]);
    assert!(code == Some(0) && all.contains("Sled for back") && all.contains("Sled for core"), "{all}");
    assert_eq!(all.matches("common practice, no source").count(), 1);
    let (_, one, _) = run(&["sleds", "examples/meadow.toml", "core"]);
    assert!(one.contains("Sled for core") && !one.contains("Sled for back"), "{one}");
    let (code, _, told) = run(&["sleds", "examples/meadow.toml", "kore"]);
    assert!(code == Some(2) && told.contains("core"), "{told}");
    let answer = job(&example("meadow")).sled_ways();
    assert!(answer.sleds.iter().all(|sled| all.contains(&sled.says)));
}
