//! Shelf, window and grip: what hands cut from the glued riser, as it is read, drawn and loaded.
//!
//! Stresses are held against the formulas of a rectangle in bending and push (any text on strength of materials) with a moment from the string's
//! own line, and, where several woods lie together, against a sum over small cells; both computed independently of the program's sections.

mod support;

use support::hand_cuts::place;
use support::linear::solved;
use support::planned::files::at;
use support::planned::planned;
use taperwright::diag::{Diagnostic, Severity};
use taperwright::geometry::{Path, Point};
use taperwright::job::{Change, Inputs, Job};
use taperwright::mechanics::grip::HandCut;
use taperwright::model::grip::DrawHand;
use taperwright::model::wood;
use taperwright::units::{MM_PER_IN, System};

const WREN: &str = include_str!("../examples/more/wren.toml");

fn wren() -> Job {
    Job::read("wren.toml", WREN, Inputs::default()).expect("the example reads")
}

fn with(job: &Job, changes: &[(&str, &str)]) -> Job {
    let changes: Vec<Change> = changes.iter().map(|(key, value)| Change::new(*key, *value)).collect();
    job.with(&changes).expect("the change reads")
}

/// Distance from the string's line at full draw to a point of the upper limb's side frame, and tension and its part along the bow.
fn string_at_full_draw(job: &Job) -> (f64, f64, impl Fn(f64, f64) -> f64) {
    let curve = job.force_curve().expect("it draws");
    let full = curve.at_full_draw();
    let (angle, x) = (full.string_angle_rad, curve.grip_depth_mm + full.pivot_to_nock_mm);
    let distance = move |at_x: f64, at_y: f64| (x - at_x) * angle.cos() - at_y * angle.sin();
    (full.tension_n, full.tension_n * angle.cos(), distance)
}

/// One wood throughout: what is left is a plain rectangle. The moment is the tension times the distance of its middle from the string.
#[test]
fn what_is_left_of_one_wood_works_as_a_plain_rectangle_does() {
    let same = WREN
        .replace("walnut, black", "maple, sugar")
        .replace("hickory, shagbark", "maple, sugar")
        .replace("locust, black", "maple, sugar");
    // Glue as stiff as nothing would be another section: no glue, no difference.
    let job = Job::read("same.toml", &same.replace("line = 0.003", "line = 0"), Inputs::default()).expect("reads");
    let breaking = wood::named("maple, sugar").unwrap().at_moisture(0.12).breaking_strain.unwrap();
    let modulus = wood::named("maple, sugar").unwrap().at_moisture(0.12).modulus_mpa;
    let (tension, push, distance) = string_at_full_draw(&job);
    let build = job.build();
    let outline = build.outline.as_ref().unwrap();
    for cut in [HandCut::ArrowPass, HandCut::Grip] {
        let found = place(&job, cut);
        let (d, b) = (found.depth_mm, found.width_mm);
        assert!((d - (build.depth_mm(found.s_mm) - build.grip_off_mm(found.s_mm))).abs() < 1e-9);
        let past = MM_PER_IN / 16.0;
        let middle = if cut == HandCut::ArrowPass { 0.5 * (past + 0.5 * outline.width_at(found.s_mm)) } else { 0.0 };
        // The riser stands upright and unbent: its middle is at half its depth and at its own station, but for its bend of some hundredths.
        let moment = tension * distance(0.5 * d, found.s_mm.abs());
        let bent = moment / (b * d * d / 6.0);
        let sideways = push * middle / (d * b * b / 6.0);
        // Bent toward the belly and pushed: it is pressed most on the belly, on the side of the string.
        let wanted = bent + push / (b * d) + sideways;
        assert!((found.stress_mpa + wanted).abs() < 2e-3 * wanted, "{cut:?}: {} against {wanted}", found.stress_mpa);
        let fraction = found.share_of_breaking.unwrap();
        assert!((fraction - found.stress_mpa.abs() / modulus / breaking).abs() < 1e-12);
    }
}

/// Several woods, cut off the middle: the section in some hundred thousand cells, its three equations solved as they stand, about its corner.
#[test]
fn several_woods_off_the_middle_agree_with_a_sum_over_cells() {
    let job = wren();
    let found = place(&job, HandCut::ArrowPass);
    let build = job.build();
    let (riser, outline) = (build.riser.as_ref().unwrap(), build.outline.as_ref().unwrap());
    let (s, half, past) = (found.s_mm, 0.5 * outline.width_at(found.s_mm), MM_PER_IN / 16.0);
    let (back, core) = (build.laminations[0].thickness_at(s), build.laminations[1].thickness_at(s));
    let line = build.glue.line_mm;
    let modulus_at = |z: f64, v: f64| -> f64 {
        let faces = [back, back + line, back + line + core, back + core + 2.0 * line];
        match faces.iter().filter(|face| **face <= z).count() {
            0 => build.laminations[0].wood.modulus_mpa,
            2 => build.laminations[1].wood.modulus_mpa,
            1 | 3 => build.glue.modulus_mpa,
            _ => {
                // Walnut, maple, walnut, from the archer's right.
                let middle = 0.5 * riser.across[1].width_mm;
                let slice = if middle + line < v {
                    0
                } else if v.abs() <= middle {
                    1
                } else if v < -middle - line {
                    2
                } else {
                    return 0.0;
                };
                riser.across[slice].wood.modulus_mpa
            }
        }
    };
    let (deep, wide) = (2000, 400);
    let (dz, dv) = (found.depth_mm / f64::from(deep), (half - past) / f64::from(wide));
    // Σ E dA of 1, z, v, z², v², zv about the back's corner.
    let mut sums = [0.0_f64; 6];
    let mut uncut = [0.0_f64; 2];
    for i in 0..deep {
        let z = dz * (f64::from(i) + 0.5);
        for k in 0..wide {
            let v = past + dv * (f64::from(k) + 0.5);
            let e = modulus_at(z, v) * dz * dv;
            for (sum, of) in sums.iter_mut().zip([1.0, z, v, z * z, v * v, z * v]) {
                *sum += e * of;
            }
            let whole = -half + 2.0 * half * (f64::from(k) + 0.5) / f64::from(wide);
            let e = modulus_at(z, whole);
            uncut[0] += e;
            uncut[1] += e * z;
        }
    }
    let (tension, push, distance) = string_at_full_draw(&job);
    let neutral = uncut[1] / uncut[0];
    // About the back's corner: the push acts at the string, v = 0, and at the depth where the moment is counted from.
    let moment = tension * distance(neutral, s) + push * neutral;
    let [one, z, v, zz, vv, zv] = sums;
    // ε = c + a z + b v; ΣE ε dA = −N, ΣE ε z dA = −(M about z = 0), ΣE ε v dA = 0 about the string.
    let (c, a, b) = solved([[one, z, v, -push], [z, zz, zv, -moment], [v, zv, vv, 0.0]]);
    let strain = |z: f64, v: f64| c + a * z + b * v;
    let corner = strain(found.depth_mm, past).abs().max(strain(0.0, half).abs());
    let wood = build.woods().find(|wood| wood.name == found.wood).unwrap();
    let here = found.stress_mpa.abs() / wood.modulus_mpa;
    assert!(here <= corner * 1.002 && (here - corner).abs() < 0.05 * corner, "{here} against {corner}");
    // The very corner is of the wood that is named, or of one that bears more.
    assert!((found.share_of_breaking.unwrap() - here / wood.breaking_strain.unwrap()).abs() < 1e-12);
}

/// How far a template reaches across at a station, lowest and highest.
fn reach(path: &Path, x: f64) -> [f64; 2] {
    let points = path.flattened(1e-5);
    let n = points.len();
    let crossed = (0..n).map(|i| (points[i], points[(i + 1) % n])).filter(|(a, b)| (a.x - x) * (b.x - x) < 0.0);
    let at = |(a, b): (Point, Point)| a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y);
    crossed.map(at).fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], y| [low.min(y), high.max(y)])
}

/// A right-handed archer's arrow lies on his left. Seen from the back with the upper limb to the right, his left is below.
#[test]
fn the_window_is_cut_on_the_arrow_s_side_and_left_handed_bows_are_its_mirror() {
    let job = wren();
    let template = |job: &Job| job.riser_block().unwrap().cuts.as_ref().unwrap().back_view.clone().unwrap();
    let right = template(&job);
    let left = template(&with(&job, &[("riser.shelf.hand", "left")]));
    assert!(0.0 < right.area() && (right.area() - left.area()).abs() < 1e-6);
    let (half, past) = (0.75 * MM_PER_IN, MM_PER_IN / 16.0);
    for k in 0..400 {
        let x = -279.0 + 1.397 * f64::from(k);
        let ([low, high], [other_low, other_high]) = (reach(&right, x), reach(&left, x));
        assert!((low + other_high).abs() < 1e-4 && (high + other_low).abs() < 1e-4, "{x}");
        let (shelf, straight, end) = (1.5 * MM_PER_IN, 3.25 * MM_PER_IN, 4.25 * MM_PER_IN);
        if shelf + 5.0 < x && x < straight {
            assert!((low - past).abs() < 1e-6 && (high - half).abs() < 1e-6, "{x}: {low} to {high}");
        } else if straight <= x && x <= end {
            let radius = (MM_PER_IN * MM_PER_IN + (half + past).powi(2)) / (2.0 * (half + past));
            let wanted = past - (radius - (radius * radius - (x - straight).powi(2)).sqrt());
            assert!((low - wanted).abs() < 1e-3, "{x}: {low} against {wanted}");
        } else if !(shelf..=shelf + 5.0).contains(&x) {
            assert!((low + high).abs() < 1e-9, "{x}");
        }
    }
}

/// Calipers on the template read what the file says: throat and palm swell exactly, and the mark table is the template.
#[test]
fn the_side_view_is_as_deep_as_the_file_says() {
    let job = wren();
    let cuts = job.riser_block().unwrap().cuts.clone().unwrap();
    for mark in &cuts.depths {
        let [low, high] = reach(&cuts.side_view, mark.station_mm + 1e-4);
        assert!(low.abs() < 1e-9 && (high - mark.left_mm).abs() < 0.011, "{mark:?}: {high}");
    }
    let depth = |s: f64| cuts.depths.iter().find(|mark| (mark.station_mm - s).abs() < 1e-6).unwrap().left_mm;
    assert!((depth(0.0) - 1.6 * MM_PER_IN).abs() < 1e-9 && (depth(-2.0 * MM_PER_IN) - 1.75 * MM_PER_IN).abs() < 1e-9);
    // The throat is where the draw is counted from.
    assert!((job.force_curve().unwrap().grip_depth_mm - 1.6 * MM_PER_IN).abs() < 1e-9);
    for mark in &cuts.widths {
        let back = cuts.back_view.as_ref().unwrap();
        let [low, high] = reach(back, mark.station_mm - 1e-4);
        assert!((high - low - mark.left_mm).abs() < 0.02, "{mark:?}: {low} to {high}");
    }
}

/// A window cut deeper leaves a caution or a stop; its hint, followed, leaves none. So with the throat.
#[test]
fn what_works_too_hard_is_told_and_the_hint_is_enough() {
    // Room for a deep window to run out.
    let job = with(&wren(), &[("riser.shelf.sweep", "1.25 in")]);
    let about = |job: &Job, key: &str| -> Option<Diagnostic> {
        let all = job.bow_warnings().expect("a bow");
        all.into_iter().find(|warning| warning.place.as_str() == key)
    };
    for key in ["riser.shelf.past_centre", "riser.grip.throat"] {
        assert!(about(&job, key).is_none(), "the example is sound: {:?}", about(&job, key));
    }
    for (key, value, what) in [
        ("riser.shelf.past_centre", "0.35 in", "past_centre"),
        ("riser.shelf.past_centre", "0.48 in", "past_centre"),
        ("riser.grip.throat", "0.9 in", "throat"),
    ] {
        let tried = with(&job, &[(key, value)]);
        let warning = about(&tried, key).unwrap_or_else(|| panic!("{key} = {value} is not told"));
        assert_eq!(warning.severity, Severity::Warning);
        let hint = warning.words(System::Inch).hints.remove(0);
        let number = hint.split(" to ").nth(1).and_then(|rest| rest.split(" or ").next()).expect("a number");
        assert!(hint.contains(&format!("`{what}`")), "{hint}");
        assert!(about(&with(&job, &[(key, number)]), key).is_none(), "{hint} is not enough");
    }
}

/// However little a cut works beyond its limit, the number said of it is more than the limit said beside it.
#[test]
fn what_is_over_a_limit_is_said_to_be() {
    let job = with(&wren(), &[("riser.shelf.sweep", "1.25 in")]);
    let told = |thousandths: u32| -> Option<f64> {
        let tried = with(&job, &[("riser.shelf.past_centre", &format!("{} in", f64::from(thousandths) / 1000.0))]);
        let all = tried.bow_warnings().expect("a bow");
        let warning = all.into_iter().find(|warning| warning.place.as_str() == "riser.shelf.past_centre")?;
        let words = warning.words(System::Inch).message;
        let share = words.split(" works at ").nth(1)?.split(" percent").next()?.parse();
        Some(share.unwrap_or_else(|_| panic!("no number in: {words}")))
    };
    // Between a size that is sound and one that is not, the first thousandth that is told of.
    let (mut sound, mut told_of) = (100, 350);
    assert!(told(sound).is_none() && told(told_of).is_some());
    while 1 < told_of - sound {
        let middle = (sound + told_of) / 2;
        if told(middle).is_some() { told_of = middle } else { sound = middle }
    }
    let share = told(told_of).unwrap();
    assert!(25.0 < share && share < 26.0, "{share}");
}

/// A riser so shallow that no size of the cut is enough: what it says of depth, of the last of its layers and of the throat, all followed together, is.
#[test]
fn a_riser_that_is_too_shallow_is_told_how_deep_to_be() {
    let slices = "across  = [[\"walnut, black\", 0.85], [\"maple, sugar\", 0.125], [\"walnut, black\", 0.85]]";
    let layers = |last: &str| format!("width = 1.75\nlayers = [[\"walnut, black\", 0.3], [\"maple, sugar\", {last}]]");
    let text = |depth: &str, throat: &str, block: &str| {
        let changes = [
            ("depth   = 1.5", format!("depth = {depth}")),
            ("throat = 1.6 ", format!("throat = {throat} ")),
            (slices, block.to_owned()),
        ];
        let without_palm: String =
            WREN.lines().filter(|line| !line.starts_with("palm")).map(|line| format!("{line}\n")).collect();
        changes.iter().fold(without_palm, |text, (was, is)| {
            assert_eq!(text.matches(was).count(), 1, "{was}");
            text.replacen(was, is, 1)
        })
    };
    let told = |text: &str| -> Vec<Diagnostic> {
        let job = Job::read("wren.toml", text, Inputs::default()).unwrap_or_else(|unread| panic!("{text}\n{:?}", unread.faults));
        let all = job.bow_warnings().expect("a bow");
        all.into_iter()
            .filter(|warning| ["riser.grip.throat", "riser.shelf.past_centre"].contains(&warning.place.as_str()))
            .collect()
    };
    for block in [slices.to_owned(), layers("0.1")] {
        let warnings = told(&text("0.4", "0.7", &block));
        let warning = warnings.iter().find(|warning| warning.place.as_str() == "riser.grip.throat").expect("it is told");
        let hint = warning.words(System::Inch).hints.remove(0);
        let number = |after: &str| hint.split_once(after).map(|(_, rest)| rest.split(" in").next().unwrap().to_owned());
        let (depth, throat) = (number("`riser.depth` to ").expect("a depth"), number("`throat` to ").expect("a throat"));
        let deeper = match number("the last of its `layers` to ") {
            Some(last) => layers(&last),
            None => block.clone(),
        };
        assert_eq!(deeper == block, block == slices, "{hint}");
        let after = told(&text(&depth, &throat, &deeper));
        assert!(after.iter().all(|warning| warning.place.as_str() != "riser.grip.throat"), "{hint}: {after:?}");
        // Not much more than what is needed.
        let less = |value: &str, by: f64| format!("{:.3}", value.parse::<f64>().unwrap() - by);
        let by = 0.4 * (depth.parse::<f64>().unwrap() - 0.4);
        let short = told(&text(&less(&depth, by), &less(&throat, by), &deeper));
        assert!(short.iter().any(|warning| warning.place.as_str() == "riser.grip.throat"), "{hint} asks for too much");
    }
}

/// Cuts change what is drawn and told, not how the bow bends: but for the throat, which moves the pivot point.
#[test]
fn a_deeper_window_leaves_draw_and_glue_up_as_they_were() {
    let job = wren();
    let tried = with(&job, &[("riser.shelf.past_centre", "0.125 in")]);
    assert!(std::ptr::eq(job.force_curve().unwrap(), tried.force_curve().unwrap()));
    assert!(!std::ptr::eq(job.riser_block().unwrap(), tried.riser_block().unwrap()));
    let throat = with(&job, &[("riser.grip.throat", "1.65 in")]);
    let force = |job: &Job| job.force_curve().unwrap().at_full_draw().force_n;
    assert!(force(&job) < force(&throat), "the string is drawn farther from the back");
}

/// A limit that other values set, worked out by hand: key, limit in inches, and which way is beyond.
#[test]
fn every_limit_is_fed_exactly_and_its_hint_followed() {
    // Depth at the centre: back, core, riser, two glue lines; on the riser's back lie back and core with a line each.
    let (back, full) = (0.165 + 0.200 + 0.006, 0.165 + 0.200 + 1.5 + 0.006);
    let rows = [
        ("riser.grip.throat", full, 1.0),
        ("riser.grip.throat", back, -1.0),
        ("riser.grip.palm", 1.6, -1.0),
        ("riser.grip.palm", full, 1.0),
        ("riser.grip.up", 4.5, 1.0),
        ("riser.grip.down", 4.5 - 0.75, 1.0),
        ("riser.shelf.window", 4.5 - 1.5 - 1.0, 1.0),
        ("riser.shelf.past_centre", 0.75 - 0.25, 1.0),
        ("riser.shelf.past_centre", 0.125 - 0.75, -1.0),
        ("riser.shelf.sweep", 0.75 + 0.0625, -1.0),
        ("riser.shelf.corner", 0.75 + 0.0625, 1.0),
        ("lamination[2].from", 2.75, -1.0),
    ];
    for (path, limit, outward) in rows {
        let typed = |inches: f64| -> Vec<Diagnostic> {
            let mut table: toml::Table = WREN.parse().expect("TOML");
            *at(&mut table, path) = toml::Value::Float(inches);
            let found = planned(&toml::to_string(&table).expect("writable")).faults;
            found.into_iter().filter(|fault| fault.place.as_str() == path).collect()
        };
        assert!(typed(limit).is_empty(), "{path}: {limit} is the limit and is refused: {:?}", typed(limit));
        for beyond in [1e-5, 1e-3, 0.037, 0.15] {
            let faults = typed(limit + outward * beyond);
            let [fault] = faults.as_slice() else { panic!("{path}: {beyond} beyond {limit}: {faults:?}") };
            let hint = fault.words(System::Inch).hints.remove(0);
            let number =
                hint.split(" to ").nth(1).and_then(|rest| rest.split(' ').next()).and_then(|number| number.parse::<f64>().ok());
            let number = number.unwrap_or_else(|| panic!("{hint}"));
            assert!(typed(number).is_empty(), "{path}: {hint}, and then {:?}", typed(number));
            assert!((number - limit).abs() < 2e-4, "{path}: {hint} is not the limit {limit}");
        }
    }
}

/// The sheet bears both templates, the table and the order of work; the book says it, with every number from the report.
#[test]
fn sheet_and_book_hold_the_cuts() {
    let job = wren();
    assert_eq!(job.build().riser.as_ref().unwrap().pass.unwrap().hand, DrawHand::Right);
    let files = job.files().expect("files");
    let bytes = |name: &str| {
        let number = files.names().position(|known| known == name).unwrap_or_else(|| panic!("no {name}"));
        String::from_utf8_lossy(&files.bytes(number).expect("bytes")).into_owned()
    };
    let book = bytes("build-book.html");
    let report: serde_json::Value = serde_json::from_str(&bytes("report.json")).expect("JSON");
    for pointer in [
        "/riser/grip/throat_mm",
        "/riser/shelf/past_centre_mm",
        "/riser/shelf/weakest/stress_mpa",
        "/riser/grip/depths/0/left_mm",
    ] {
        assert!(report.pointer(pointer).is_some_and(serde_json::Value::is_number), "{pointer}");
        assert!(book.contains(pointer), "the book does not say {pointer}");
    }
    assert!(book.contains("Shelf and grip, cut by hand") && book.contains("throws both halves"));
    // Cut when the limbs bend evenly: after the chapter in which they come to that.
    let place = |anchor: &str| book.find(&format!("id=\"{anchor}\"")).expect(anchor);
    assert!(place("riser") < place("tiller") && place("tiller") < place("shelf-and-grip"));
    assert_eq!(report.pointer("/riser/shelf/weakest/verdict").and_then(serde_json::Value::as_str), Some("goes"));
    assert!(bytes("templates/riser.dxf").contains("LWPOLYLINE"));
    // What has none says nothing of it.
    let meadow = Job::read("meadow.toml", include_str!("../examples/meadow.toml"), Inputs::default()).unwrap();
    assert!(meadow.riser_block().unwrap().cuts.is_none() && meadow.riser_at_its_cuts().unwrap().is_empty());
}

/// A riser without a shelf is told of none, and a builder in millimetres of no inches.
#[test]
fn what_is_cut_is_what_is_told() {
    let book = |text: &str| {
        let job = Job::read("bow.toml", text, Inputs::default()).expect("reads");
        let files = job.files().expect("files");
        let number = files.names().position(|name| name == "build-book.html").expect("a book");
        String::from_utf8_lossy(&files.bytes(number).expect("bytes")).into_owned()
    };
    let wren = include_str!("../examples/more/wren.toml");
    let (before, rest) = wren.split_once("[riser.shelf]").expect("a shelf");
    let bare = format!("{before}{}", &rest[rest.find("\n[").expect("a table after it")..]);
    let both = [("as written", book(wren)), ("without a shelf", book(&bare))];
    for (what, words) in
        [("a shelf", "Along shelf and grip"), ("a shelf", "the shelf&#39;s and the window&#39;s"), ("a grip", "every 1/2 in")]
    {
        let said = |book: &str| book.contains(words) || book.contains(&words.replace("&#39;", "'"));
        assert!(said(&both[0].1), "{words}");
        assert_eq!(said(&both[1].1), what == "a grip", "{words}");
    }
    assert!(both[1].1.contains("Grip, cut by hand"));
    let metric = book(include_str!("../examples/more/plover.toml"));
    assert!(metric.contains("every 12 mm") && !metric.contains("half inch"));
}

/// Of a riser with a shelf alone nothing speaks of a grip, and of one without either no fault says that it is cut.
#[test]
fn a_riser_with_a_shelf_alone_is_told_of_no_grip() {
    let without = |text: &str, table: &str| {
        let (before, rest) = text.split_once(table).expect("a table");
        format!("{before}{}", &rest[rest.find("\n[").expect("a table after it")..])
    };
    let shelf = without(WREN, "[riser.grip]");
    let job = Job::read("shelf.toml", &shelf, Inputs::default()).expect("reads");
    let files = job.files().expect("files");
    let bytes = |name: &str| {
        let number = files.names().position(|known| known == name).unwrap_or_else(|| panic!("no {name}"));
        String::from_utf8_lossy(&files.bytes(number).expect("bytes")).into_owned()
    };
    let book = bytes("build-book.html");
    assert!(book.contains("Shelf, cut by hand") && book.contains("Along the shelf, from the throat"));
    for words in [book, bytes("templates/riser.svg")] {
        assert!(!words.to_lowercase().contains("shelf and grip"));
    }
    let footing = |text: &str| format!("{text}\n[riser.footing]\nwood = \"locust, black\"\nlength = 8\nsplice = 3\n");
    for (text, end) in [
        (WREN, ": shelf and grip are cut beyond it"),
        (&shelf, ": the shelf is cut beyond it"),
        (&without(&shelf, "[riser.shelf]"), ""),
    ] {
        let unread = Job::read("footing.toml", &footing(text), Inputs::default()).expect_err("a footing that is too long");
        let said: Vec<String> = unread.faults.iter().map(|fault| fault.message.spoken(System::Inch)).collect();
        assert!(said.iter().any(|said| said.ends_with(&format!("out of the fade, which is 6.5 in{end}"))), "{said:?}");
    }
}
