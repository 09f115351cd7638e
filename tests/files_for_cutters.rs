//! What a laser or router is given: every line once, letters that its bit can cut, and faults that name what is short.

mod peers;

use std::path::{Path, PathBuf};
use std::process::Command;
use taperwright::drawing::{Drawing, Kind, Label, LineTable, Shape};
use taperwright::geometry::{Bounds, Path as Outline, Point};
use taperwright::model::workshop::{Sheet, SheetCutter};
use taperwright::shop::nest::nest;
use taperwright::shop::parts::Part;
use taperwright::units::System;
use taperwright::write::{Content, Letters, dxf};

fn made(file: &Path, out: &Path) -> Vec<PathBuf> {
    let run = Command::new(env!("CARGO_BIN_EXE_taperwright")).args(["--quiet", "make"]).arg(file).arg("--out").arg(out).output();
    let run = run.expect("the program starts");
    assert!(run.status.success(), "{}: {}", file.display(), String::from_utf8_lossy(&run.stderr));
    let entries = std::fs::read_dir(out.join("templates")).expect("templates").map(|entry| entry.expect("an entry").path());
    let mut files: Vec<PathBuf> = entries.filter(|path| path.extension().is_some_and(|found| found == "dxf")).collect();
    files.sort();
    files
}

/// A strap's tick lay on a named mark of the form and was scored twice; letters were outlines that a bit cannot enter and a beam goes
/// round for minutes.
#[test]
fn no_line_is_cut_twice_and_letters_are_single_strokes() {
    let home = tempfile::tempdir().unwrap();
    for name in ["meadow", "heron", "strips"] {
        let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name).with_extension("toml");
        let files: Vec<String> =
            made(&example, &home.path().join(name)).iter().map(|path| path.to_string_lossy().into_owned()).collect();
        let files: Vec<&str> = files.iter().map(String::as_str).collect();
        if files.is_empty() {
            continue;
        }
        let Some(answer) = peers::run("cut_lines.py", &files, "{\"strokes\": true}") else { return };
        assert!(500 < answer.trim().parse().unwrap(), "{name}: {answer}");
    }
}

/// Layer and whether it is closed, for every line in a file.
fn lines_of(bytes: &[u8]) -> Vec<(String, bool)> {
    let file = ::dxf::Drawing::load(&mut std::io::Cursor::new(bytes)).unwrap();
    let one = |entity: &::dxf::entities::Entity| match &entity.specific {
        ::dxf::entities::EntityType::LwPolyline(line) => Some((entity.common.layer.clone(), line.is_closed())),
        _ => None,
    };
    file.entities().filter_map(one).collect()
}

#[test]
fn letters_are_strokes_and_too_low_ones_are_no_work_for_a_bit() {
    let router = SheetCutter::Router { bit_mm: 3.175, bed_mm: [600.0, 900.0], holds_mm: 0.1 };
    let laser = SheetCutter::Laser { kerf_mm: 0.2, bed_mm: [600.0, 900.0], holds_mm: 0.1 };
    for (cutter, cap_mm, some) in
        [(&router, 5.0, true), (&router, 2.5, true), (&router, 2.49, false), (&laser, 5.0, true), (&laser, 1.4, true)]
    {
        let mut drawing = Drawing::new("part", "Part");
        let edge = Bounds { min: Point::new(0.0, 0.0), max: Point::new(80.0, 20.0) };
        drawing.path(Kind::Cut, Outline::rectangle(edge));
        drawing.label(Kind::Engrave, Label::new("rail 2 of 3, ½ × Ø", Point::new(5.0, 5.0), cap_mm));
        let bytes =
            dxf::dxf(&drawing, &LineTable::default(), System::Millimetre, Content::CutterOnly, Letters::of(cutter)).unwrap();
        let letters: Vec<bool> =
            lines_of(&bytes).into_iter().filter(|(layer, _)| layer == "ENGRAVE").map(|(_, closed)| closed).collect();
        assert_eq!(!letters.is_empty(), some, "{cutter:?} {cap_mm}");
        assert!(letters.iter().all(|is_closed| !is_closed), "{cutter:?} {cap_mm}");
    }
}

#[test]
fn marks_that_lie_on_each_other_become_the_whole_of_both() {
    let line = |drawing: &mut Drawing, kind, a: (f64, f64), b: (f64, f64)| {
        drawing.line(kind, Point::new(a.0, a.1), Point::new(b.0, b.1));
    };
    let mut drawing = Drawing::default();
    line(&mut drawing, Kind::Score, (0.0, 0.0), (10.0, 10.0));
    line(&mut drawing, Kind::Score, (12.0, 12.0), (4.0, 4.0));
    // A bridge between two that did not meet, a hair beside them; then what must stay: across, end to end, beside, another kind.
    line(&mut drawing, Kind::Score, (20.0, 20.0), (30.0, 30.0));
    line(&mut drawing, Kind::Score, (11.0, 11.02), (22.0, 22.02));
    line(&mut drawing, Kind::Score, (0.0, 10.0), (10.0, 0.0));
    line(&mut drawing, Kind::Score, (30.0, 30.0), (40.0, 40.0));
    line(&mut drawing, Kind::Score, (0.0, 0.2), (10.0, 10.2));
    line(&mut drawing, Kind::Cut, (0.0, 0.0), (10.0, 10.0));
    drawing.mark_once();
    assert_eq!(drawing.items.len(), 5);
    let longest = drawing.items.iter().filter_map(|item| match &item.shape {
        Shape::Path(path) => Some(path.length()),
        Shape::Label(_) => None,
    });
    assert!((longest.fold(0.0, f64::max) - 30.0 * 2.0_f64.sqrt()).abs() < 0.05);
    let again = drawing.clone();
    drawing.mark_once();
    assert_eq!(drawing, again);
}

/// A form that was too high for its 4 in board was blamed on the cutter.
#[test]
fn a_part_that_fits_nowhere_names_what_is_short_and_fits_once_that_is_larger() {
    let sheet = |length_mm: f64, width_mm: f64| Sheet {
        material: "plywood".into(),
        thickness_mm: 6.0,
        spread_mm: 0.1,
        width_mm,
        length_mm,
        modulus_mpa: 9000.0,
    };
    let laser = |x: f64, y: f64| SheetCutter::Laser { kerf_mm: 0.2, bed_mm: [x, y], holds_mm: 0.1 };
    let edge = Bounds { min: Point::new(0.0, 0.0), max: Point::new(450.0, 120.0) };
    let part = [Part::new("form 2", Outline::rectangle(edge), 6.0, "form")];
    for (stock, cutter, short) in [
        (sheet(1200.0, 101.6), laser(600.0, 400.0), "sled.sheet.width"),
        (sheet(1200.0, 101.6), SheetCutter::Hand { holds_mm: 0.4 }, "sled.sheet.width"),
        (sheet(101.6, 1200.0), laser(600.0, 400.0), "sled.sheet.length"),
        (sheet(300.0, 200.0), laser(600.0, 400.0), "sled.sheet.length"),
        (sheet(1200.0, 600.0), laser(600.0, 100.0), "shop.cutter"),
        (sheet(1200.0, 600.0), laser(400.0, 300.0), "shop.cutter"),
    ] {
        let fault = nest(&part, &stock, &cutter).unwrap_err();
        assert_eq!(fault.place.as_str(), short, "{fault}");
        let larger = match short {
            "sled.sheet.width" => (sheet(stock.length_mm, 600.0), cutter),
            "sled.sheet.length" => (sheet(1200.0, stock.width_mm), cutter),
            _ => (stock, laser(1000.0, 1000.0)),
        };
        assert_eq!(nest(&part, &larger.0, &larger.1).unwrap().len(), 1, "{short}");
    }
}
