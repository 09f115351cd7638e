//! Tip overlays: glued on last, as the limb lies; they stiffen and weigh, and leave the limb's shape alone.

mod support;

use support::bows::{IN, flatbow, lamination, lath};
use taperwright::diag::Diagnostic;
use taperwright::drawing::{Drawing, Kind, Shape};
use taperwright::geometry::Point;
use taperwright::job::{Change, Inputs, Job};
use taperwright::mechanics::bow::Options;
use taperwright::mechanics::draw;
use taperwright::mechanics::layer_kind::LayerKind;
use taperwright::mechanics::mass;
use taperwright::mechanics::section::Stack;
use taperwright::model::Build;
use taperwright::model::lamination::Face;
use taperwright::model::outline::{NarrowFace, Trapped};
use taperwright::model::overlay::Overlay;
use taperwright::model::taper::Taper;
use taperwright::model::wood;
use taperwright::numeric::interp::Curve;
use taperwright::units::System;

const MEADOW: &str = include_str!("../examples/meadow.toml");
const OVERLAY: &str = "\n[[overlay]]\nwood = \"locust, black\"\nthickness = 0.2\nlength = 2\nfade = 1\n";

fn job(text: &str) -> Job {
    Job::read("overlaid.toml", text, Inputs::default()).expect("reads")
}

fn overlay(face: Face, wood_name: &str, thickness_mm: f64, length_mm: f64, fade_mm: f64) -> Overlay {
    Overlay { face, wood: wood::named(wood_name).unwrap().at_moisture(0.12), thickness_mm, length_mm, fade_mm }
}

fn force(build: &Build) -> f64 {
    draw::curve(build, &Options::default()).expect("it draws").value.at_full_draw().force_n
}

/// On the belly, of the limb's own wood and without glue, an overlay is a lamination that begins where it does: the same bow to the last digits.
#[test]
fn an_overlay_on_the_belly_bends_as_a_lamination_there_would() {
    let (half, long) = (800.0, 150.0);
    let mut plain = lath(half, 30.0, 14.0, 12_000.0);
    plain.glue.line_mm = 0.0;
    let mut wood = plain.laminations[0].wood.clone();
    wood.density_kg_m3 = 700.0;
    let end = half + 10.0;
    let mut stepped = plain.clone();
    stepped.laminations.push(lamination("tip", wood.clone(), Taper::parallel(4.0), end));
    stepped.laminations[1].from_mm = end - long;
    let mut overlaid = plain.clone();
    overlaid.overlays.push(Overlay { face: Face::Belly, wood, thickness_mm: 4.0, length_mm: long, fade_mm: 0.0 });
    let (stepped_n, overlaid_n, plain_n) = (force(&stepped), force(&overlaid), force(&plain));
    assert!((stepped_n - overlaid_n).abs() < 1e-7 * plain_n, "{stepped_n} against {overlaid_n}");
    // A stiffer tip bends the rest more and shortens the string: the weight moves either way.
    assert!(1e-4 * plain_n < (overlaid_n - plain_n).abs(), "{plain_n} to {overlaid_n}");
    let kg = |build: &Build| mass::limb_kg(build).unwrap();
    assert!((kg(&stepped) - kg(&overlaid)).abs() < 1e-12);
}

/// The transformed section by hand, with the overlay's wood on the back and a glue line under it; depths stay those of the limb.
#[test]
fn the_section_under_an_overlay_is_the_transformed_one() {
    let mut build = lath(800.0, 20.0, 10.0, 12_000.0);
    build.overlays.push(overlay(Face::Back, "locust, black", 3.0, 60.0, 20.0));
    let e = build.overlays[0].wood.modulus_mpa;
    let stack = Stack::of(&build).unwrap();
    let (line, glue) = (build.glue.line_mm, build.glue.modulus_mpa);
    // Full, half way down its fade, and before it begins.
    for (s, t) in [(790.0, 3.0), (760.0, 1.5), (749.9, 0.0)] {
        let layers: Vec<(f64, f64, f64)> = if 0.0 < t {
            vec![(-line - t, -line, e), (-line, 0.0, glue), (0.0, 10.0, 12_000.0)]
        } else {
            vec![(0.0, 10.0, 12_000.0)]
        };
        let ea: f64 = layers.iter().map(|(a, b, e)| e * (b - a)).sum();
        let neutral: f64 = layers.iter().map(|(a, b, e)| e * (b * b - a * a) / 2.0).sum::<f64>() / ea;
        let ei: f64 = layers.iter().map(|(a, b, e)| 20.0 * e * ((b - neutral).powi(3) - (a - neutral).powi(3)) / 3.0).sum();
        let (section, properties) = (stack.section(s, s), stack.properties(s, s));
        assert!(
            (section.stiffness_n_mm2 / ei - 1.0).abs() < 1e-12 && (properties.stiffness_n_mm2 / ei - 1.0).abs() < 1e-12,
            "{s}"
        );
        assert!((section.neutral_mm - neutral).abs() < 1e-9 && (properties.neutral_mm - neutral).abs() < 1e-9, "{s}");
        assert!((section.depth_mm - 10.0).abs() < 1e-12, "the limb is as deep as it was");
        let there = section.layers.iter().filter(|layer| layer.part == LayerKind::Overlay(0)).count();
        assert_eq!(there, usize::from(0.0 < t));
    }
}

/// On a trapped limb an overlay is as wide as its own face and square, on the belly as on the back, its glue line with it.
#[test]
fn an_overlay_on_a_trapped_limb_is_as_wide_as_its_face() {
    for (face, width) in [(Face::Back, 16.0), (Face::Belly, 20.0)] {
        let mut build = lath(800.0, 20.0, 10.0, 12_000.0);
        let narrow = NarrowFace::By(Curve::constant(4.0));
        build.outline.as_mut().unwrap().shape.trapped = Some(Trapped { face: Face::Back, width: narrow });
        let bare = Stack::of(&build).unwrap().section(790.0, 790.0);
        let kg = mass::limb_kg(&build).unwrap();
        let mut overlaid = build.clone();
        overlaid.overlays.push(overlay(face, "locust, black", 3.0, 60.0, 0.0));
        let section = Stack::of(&overlaid).unwrap().section(790.0, 790.0);
        let area = |index: usize| section.layers[index].area_mm2();
        let (limb, own, line) = if face == Face::Back { (2, 0, 1) } else { (0, 2, 1) };
        assert!((area(limb) - bare.layers[0].area_mm2()).abs() < 1e-9, "the limb keeps its shape");
        assert!((area(own) - 3.0 * width).abs() < 1e-9 && (area(line) - build.glue.line_mm * width).abs() < 1e-9);
        let more = mass::GLUE_KG_M3 * build.glue.line_mm + overlaid.overlays[0].wood.density_kg_m3 * 3.0;
        assert!((mass::limb_kg(&overlaid).unwrap() - kg - 1e-9 * more * width * 60.0).abs() < 1e-12);
        // One section whole: its properties are the same sums.
        let properties = Stack::of(&overlaid).unwrap().properties(790.0, 790.0);
        assert!((properties.stiffness_n_mm2 / section.stiffness_n_mm2 - 1.0).abs() < 1e-12);
        assert!(bare.stiffness_n_mm2 < section.stiffness_n_mm2);
    }
}

/// Glued on as it lies: what the glue-up leaves is the same object, the overlay bears nothing unbraced, and the bow draws a little more.
#[test]
fn an_overlay_changes_no_shape_and_carries_no_strain_before_the_draw() {
    let (bare, overlaid) = (job(MEADOW), job(&format!("{MEADOW}{OVERLAY}")));
    assert_eq!(bare.unstrung().unwrap(), overlaid.unstrung().unwrap());
    let same = overlaid.with(&[Change::new("overlay[0].thickness", "0.25")]).expect("reads");
    assert!(std::ptr::eq(overlaid.unstrung().unwrap(), same.unstrung().unwrap()));
    let curve = overlaid.force_curve().unwrap();
    let worst = curve.worst.iter().find(|worst| worst.part == LayerKind::Overlay(0)).expect("it is bent with the limb");
    assert!(worst.left.abs() < 1e-15 && 1e-5 < worst.strain.abs() && worst.share_of_breaking.is_some());
    let rows = &overlaid.bow_report().unwrap().strains;
    assert!(rows.iter().any(|row| row.part == "tip overlay, back"));
    let weight = |job: &Job| job.force_curve().unwrap().at_full_draw().force_n;
    assert!(weight(&bare) < weight(&overlaid) && weight(&overlaid) < 1.02 * weight(&bare));
}

/// Mass by volume and density; and what lies wholly beyond the nock moves as the same mass told as `shot.tip` does.
#[test]
fn an_overlay_weighs_what_its_wood_does_and_slows_the_arrow_as_that_mass() {
    let mut build = flatbow();
    build.overlays.push(overlay(Face::Back, "locust, black", 4.0, 40.0, 20.0));
    let outline = build.outline.clone().unwrap();
    let (end, density) = (outline.end_mm(), build.overlays[0].wood.density_kg_m3);
    let steps = 20_000;
    let volume: f64 = (0..steps)
        .map(|k| {
            let u = 40.0 * (f64::from(k) + 0.5) / f64::from(steps);
            outline.width_at(end - 40.0 + u) * 4.0 * (u / 20.0).min(1.0) * 40.0 / f64::from(steps)
        })
        .sum();
    let kg = mass::overlay_kg(&build, 0).unwrap();
    assert!((kg / (density * 1e-9 * volume) - 1.0).abs() < 1e-6, "{kg}");
    let mut bare = build.clone();
    bare.overlays.clear();
    let glue = mass::GLUE_KG_M3 * 1e-9 * build.glue.line_mm * mass::overlay_area_mm2(&build, 0).unwrap();
    let more = mass::limb_kg(&build).unwrap() - mass::limb_kg(&bare).unwrap();
    assert!((more - kg - glue).abs() < 1e-12, "{more}");

    // Three quarters of an inch is what lies beyond the nock.
    let beyond = job(&format!(
        "{MEADOW}\n[[overlay]]\nwood = \"locust, black\"\nthickness = 0.2\nlength = 0.75\nfade = 0\n[shot]\ntip = \"10 gr\"\n"
    ));
    let grams = beyond.report().unwrap().overlays[0].mass_g;
    let line_g = 1e3 * mass::GLUE_KG_M3 * 1e-9 * beyond.build().glue.line_mm * mass::overlay_area_mm2(beyond.build(), 0).unwrap();
    let tip_g = 1e3 * beyond.build().shot.tip_kg + grams + line_g;
    let told = job(&format!("{MEADOW}\n[shot]\ntip = \"{tip_g} g\"\n"));
    let speed = |job: &Job| job.shot_report(None).unwrap().arrows[0].speed_mm_s;
    let bare = job(&format!("{MEADOW}\n[shot]\ntip = \"10 gr\"\n"));
    assert!((speed(&beyond) / speed(&told) - 1.0).abs() < 1e-6, "{} against {}", speed(&beyond), speed(&told));
    assert!(speed(&beyond) < 0.999 * speed(&bare));
}

/// Cut list, glue and book say the same numbers; nothing of it where there is none.
#[test]
fn cut_list_glue_and_book_have_the_overlays() {
    let overlaid = job(&format!("{MEADOW}{OVERLAY}"));
    let report = overlaid.report().unwrap();
    let row = &report.overlays[0];
    let build = overlaid.build();
    assert_eq!((row.face.as_str(), row.wood.as_str()), ("back", "locust, black"));
    assert!((row.glue_kg - 1e-6 * row.glue_area_mm2 * build.glue.spread_kg_m2).abs() < 1e-4);
    // From 35.75 in to the end at 37.75 in the outline runs from 0.592 in to 0.445 in; two tips.
    let width = |s: f64| 1.75 + (0.5 - 1.75) * (s - 20.0) / 17.0;
    assert!(
        (row.glue_area_mm2 - 2.0 * 2.0 * 0.5 * (width(35.75) + width(37.75)) * IN * IN).abs() < 0.01,
        "{}",
        row.glue_area_mm2
    );
    let files = overlaid.files().unwrap();
    let book = files.names().position(|name| name == "build-book.html").unwrap();
    let book = String::from_utf8_lossy(&files.bytes(book).unwrap()).into_owned();
    for said in ["Tip overlays as they lie", "/overlays/0/mass_g", "/overlays/0/glue_kg", "id=\"overlays\""] {
        assert!(book.contains(said), "{said}");
    }
    let marked = taperwright::sheets::outline::stations(build, build.outline.as_ref().unwrap());
    assert!(marked.iter().any(|station| station.name.as_deref() == Some("tip overlay, back begins")));
    assert!(!serde_json::to_string(job(MEADOW).report().unwrap()).unwrap().contains("\"overlays\""));
}

/// Each limit exactly, and its hint.
#[test]
fn overlays_are_limited_where_there_is_no_limb_and_no_length() {
    let about = |text: &str, place: &str| -> Vec<Diagnostic> {
        let (_, outcome) = taperwright::buildfile::read("overlay.toml", text);
        outcome.err().unwrap_or_default().into_iter().filter(|fault| fault.place.as_str() == place).collect()
    };
    let file = |key: &str, mm: f64| {
        let mut text = "units = \"mm\"\n[outline]\nnock_to_nock = 300\ntip_beyond_nock = 10\nwidth = [[0, 30], [150, 20]]\n[[lamination]]\nname = \"lath\"\nwood = \"maple, sugar\"\nthickness = 8\n[[overlay]]\nwood = \"maple, sugar\"\nthickness = 3\n".to_owned();
        text += &format!("{key} = {mm}\n");
        text
    };
    for (key, limit) in [("length", 160.0), ("fade", 45.0)] {
        let place = format!("overlay[0].{key}");
        assert!(about(&file(key, limit), &place).is_empty(), "{key}");
        let faults = about(&file(key, limit + 1e-4), &place);
        let [fault] = faults.as_slice() else { panic!("{key}: {faults:?}") };
        let hint = fault.words(System::Millimetre).hints.remove(0);
        let number: f64 = hint.split(" to ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
        assert!((number - limit).abs() < 2e-3 && about(&file(key, number), &place).is_empty(), "{hint}");
    }
}

/// The table of the stack has all that lies at a station: its columns add up to the section that the bow is drawn with.
#[test]
fn the_table_of_the_stack_has_the_overlays() {
    let plover = include_str!("../examples/more/plover.toml");
    let tips = "\n[[overlay]]\nface = \"belly\"\nwood = \"walnut, black\"\nthickness = 2.5\nlength = 45\nfade = 10\n";
    let files = [format!("{plover}{tips}{}", tips.replace("belly", "back")), format!("{MEADOW}{OVERLAY}"), MEADOW.to_owned()];
    let columns = [["riser_overlay", "back_overlay", "belly_overlay"].as_slice(), &["back_overlay"], &[]];
    for (text, columns) in files.iter().zip(columns) {
        let job = job(text);
        let (build, files) = (job.build(), job.files().unwrap());
        let number = files.names().position(|name| name == "stack.csv").unwrap();
        let table = String::from_utf8(files.bytes(number).unwrap()).unwrap();
        let mut rows = table.lines().map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>());
        let (unit, head) = (build.units.length_unit(), rows.next().unwrap());
        let place = |what: &str| head.iter().position(|name| *name == format!("{what}_{unit}"));
        for what in ["riser_overlay", "back_overlay", "belly_overlay"] {
            assert_eq!(place(what).is_some(), columns.contains(&what), "{what}");
        }
        let (stack, fine) = (Stack::of(build).unwrap(), build.units.to_mm(6e-4));
        let mut over = 0.0_f64;
        for row in rows {
            let mm = |column: usize| build.units.to_mm(row[column].parse::<f64>().unwrap());
            let [from, to] = [place("width").unwrap() + 1, place("dry").unwrap()];
            let (s, total) = (mm(0), mm(place("total").unwrap()));
            assert!(((from..to).map(mm).sum::<f64>() - total).abs() < fine * (to - from) as f64, "{row:?}");
            over = over.max(columns.iter().map(|what| mm(place(what).unwrap())).fold(0.0, f64::max));
            // At a corner the table has what begins or ends there; the section is seen from either side of it.
            let seen = |inside: f64| stack.section(inside, s).layers.iter().map(|layer| layer.thickness_mm).sum::<f64>();
            if s <= build.outline.as_ref().unwrap().nock_mm() {
                let near = [(s - 1e-3).max(0.0), s + 1e-3].map(|inside| (seen(inside) - total).abs());
                assert!(near[0].min(near[1]) < 3.0 * fine, "{s}: {total} against {}", seen(s));
            }
        }
        assert_eq!(0.0 < over, !columns.is_empty());
    }
}

/// The nock's groove is drawn through limb and overlays, from face to face of the section, slanting by its own angle.
#[test]
fn the_nock_is_drawn_through_the_overlays() {
    let belly = OVERLAY.replacen("wood", "face = \"belly\"\nwood", 1).replacen("0.2", "0.15", 1);
    for text in [MEADOW.to_owned(), format!("{MEADOW}{OVERLAY}"), format!("{MEADOW}{belly}"), format!("{MEADOW}{OVERLAY}{belly}")]
    {
        let job = job(&text);
        let (build, outline) = (job.build(), job.build().outline.as_ref().unwrap());
        let deep = |s: f64| Stack::of(build).unwrap().section(s, s).layers.iter().map(|layer| layer.thickness_mm).sum::<f64>();
        let sheet = taperwright::sheets::outline::sheet(build).unwrap();
        let is_nock = |panel: &&Drawing| {
            panel.items.iter().any(|item| matches!(&item.shape, Shape::Label(label) if label.text.starts_with("Nock, seen")))
        };
        let panel = sheet.panels.iter().find(is_nock).unwrap();
        let lines = panel.items.iter().filter_map(|item| match &item.shape {
            Shape::Path(path) if item.kind == Kind::Edge => Some(path.flattened(1e-3)),
            _ => None,
        });
        let slanted =
            |line: &Vec<Point>| line.len() == 2 && 1.0 < (line[0].x - line[1].x).abs() && 1.0 < (line[0].y - line[1].y).abs();
        let groove: Vec<Vec<Point>> = lines.filter(slanted).collect();
        let [groove] = groove.as_slice() else { panic!("{groove:?}") };
        let [run, fall] = [(groove[0].x - groove[1].x).abs(), (groove[0].y - groove[1].y).abs()];
        // From the face over the nock to the face under the place where it comes out, which may lie on an overlay's fade.
        let faces = |s: f64| {
            let section = Stack::of(build).unwrap().section(s, s);
            [section.layers[0].back_mm, section.layers.last().unwrap().belly_mm()]
        };
        let through = faces(outline.nock_mm() - run)[1] - faces(outline.nock_mm())[0];
        assert!((fall - through).abs() < 0.05, "{fall} against {through}");
        assert!((run - fall * outline.nock.angle_rad.tan()).abs() < 1e-6);
        let end = build.units.thickness(deep(outline.end_mm()));
        assert!(panel.items.iter().any(|item| matches!(&item.shape, Shape::Label(label) if label.text == end)), "{end}");
    }
}

/// Seen from its side the tip has its inner glue lines where the section has them, out to the end of a lamination that stops short of the tip and beyond.
#[test]
fn glue_lines_of_the_tip_lie_where_the_section_has_them() {
    let strip =
        |name: &str, keys: &str| format!("[[lamination]]\nname = \"{name}\"\nwood = \"maple, sugar\"\nthickness = 3\n{keys}\n");
    let strips = [strip("back", ""), strip("short", "to = 790"), strip("wedge", "from = 500\nto = 812"), strip("belly", "")];
    let head = "units = \"mm\"\n[outline]\nnock_to_nock = 1660\nwidth = [[0, 40], [830, 14]]\ntip_beyond_nock = 20\n";
    let tips = "[[overlay]]\nwood = \"locust, black\"\nthickness = 3\nlength = 50\nfade = 20\n[glue]\nline = 0.2\n";
    let job = job(&format!("{head}{}{tips}", strips.concat()));
    let sheet = taperwright::sheets::outline::sheet(job.build()).unwrap();
    let is_tip = |panel: &&Drawing| {
        panel.items.iter().any(|item| matches!(&item.shape, Shape::Label(label) if label.text.starts_with("Tip from the side")))
    };
    let panel = sheet.panels.iter().find(is_tip).unwrap();
    let paths = |kind: Kind| {
        panel.items.iter().filter_map(move |item| match &item.shape {
            Shape::Path(path) if item.kind == kind => Some(path.flattened(1e-4)),
            _ => None,
        })
    };
    // The limb is drawn first, its back level and its end to the right.
    let limb = paths(Kind::Edge).next().unwrap();
    let (foot, right) = (limb.iter().map(|p| p.y).fold(f64::MAX, f64::min), limb.iter().map(|p| p.x).fold(f64::MIN, f64::max));
    let deepest = limb.iter().map(|p| p.y).fold(f64::MIN, f64::max);
    let inner = |line: &Vec<Point>| line.iter().all(|p| foot + 1e-6 < p.y && p.y < deepest - 1e-6);
    let lines: Vec<Vec<Point>> = paths(Kind::Dimension).filter(inner).collect();
    for (s, count) in [(775.0, 3), (789.9, 3), (790.1, 2), (805.0, 2), (811.9, 2), (812.1, 1), (849.0, 1)] {
        let x = right - (850.0 - s);
        let crossed = |line: &Vec<Point>| {
            let span = line.windows(2).find(|pair| pair[0].x < x && x < pair[1].x)?;
            Some(span[0].y + (x - span[0].x) / (span[1].x - span[0].x) * (span[1].y - span[0].y) - foot)
        };
        let drawn: Vec<f64> = lines.iter().filter_map(crossed).collect();
        let section = Stack::of(job.build()).unwrap().section(s, s);
        // The overlay on the back has a line of its own, which is drawn as its edge; the back of the limb is at 0.
        let bare = section.layers.iter().filter(|layer| layer.part == LayerKind::Glue && 0.0 <= layer.back_mm);
        let glued: Vec<_> = bare.collect();
        assert_eq!((drawn.len(), glued.len()), (count, count), "{s}: {drawn:?}");
        for (y, glue) in drawn.iter().zip(glued) {
            assert!(glue.back_mm - 1e-6 < *y && *y < glue.belly_mm() + 1e-6, "{s}: {y}, {} to {}", glue.back_mm, glue.belly_mm());
        }
    }
}
