//! The writers, judged by reading their bytes back: by our own readers, and by general-purpose libraries outside.

mod peers;

use proptest::prelude::*;
use std::f64::consts::PI;
use std::path::PathBuf;
use taperwright::drawing::{Align, Drawing, Kind, Label, Lettering, LineTable, Shape, annotate, font};
use taperwright::geometry::{Bounds, Path, Placement, Point, Vertex};
use taperwright::model::workshop::PrintPaper;
use taperwright::units::{MM_PER_IN, System};
use taperwright::write::tile::{self, Printed};
use taperwright::write::{Content, Letters, dxf, dxf_read, pdf, svg};

// ---- what is written ------------------------------------------------------------------------------------------------

/// A rail of 1 m with slots, a hole, arcs, marks, dimensions and a table: everything that sheets use.
fn rail() -> Drawing {
    let mut drawing = Drawing::new("sled-core", "Sled for core — rail, cut 2");
    drawing.made_by = "taperwright 0.1.0, meadow.toml, input 3f9a1c07".into();
    drawing.notes = vec![
        "Lines lie outside the part by half a kerf of 0.20 mm; slots are narrowed by the same.".into(),
        "Resin-bonded board gives off harmful fumes under a laser: extract, never leave it running alone.".into(),
    ];
    let at = Point::new;
    let straight = |x: f64, y: f64| Vertex { at: at(x, y), bulge: 0.0 };
    // Tapered rail with a rounded end (half circle) and a hollow (clockwise arc) in its foot.
    let outline = Path {
        vertices: vec![
            straight(0.0, 0.0),
            Vertex { at: at(400.0, 0.0), bulge: -0.25 },
            straight(600.0, 0.0),
            Vertex { at: at(1000.0, 0.0), bulge: 1.0 },
            Vertex { at: at(1000.0, 30.0), bulge: 0.0 },
            straight(500.0, 42.5),
            straight(0.0, 50.0),
        ],
        closed: true,
    };
    drawing.part_path(Kind::Cut, "left rail", outline);
    for k in 0..5 {
        let x = 80.0 + 200.0 * f64::from(k);
        let slot = Bounds { min: at(x, 20.0), max: at(x + 6.35, 34.0) };
        if k != 2 {
            drawing.part_path(Kind::CutInside, "left rail", Path::rectangle(slot));
        }
    }
    drawing.part_path(Kind::CutInside, "left rail", Path::circle(at(30.0, 25.0), 4.0));
    drawing.part_path(Kind::Score, "left rail", Path::line(at(500.0, 15.0), at(500.0, 42.0)));
    drawing.label(Kind::Engrave, Label::new("left rail 2 of 3 → thick end first", at(120.0, 22.0), 4.0));
    drawing.path(Kind::Centre, Path::line(at(-10.0, 25.0), at(60.0, 25.0)));
    drawing.path(Kind::Hidden, Path::line(at(0.0, 10.0), at(400.0, 10.0)));
    drawing.path(Kind::Tone, Path::rectangle(Bounds { min: at(700.0, -60.0), max: at(760.0, -54.0) }));
    drawing.path(Kind::Edge, Path::rectangle(Bounds { min: at(700.0, -66.0), max: at(760.0, -54.0) }));
    annotate::heading(&mut drawing, at(700.0, -50.0), "Section A");
    annotate::dimension_x(&mut drawing, at(0.0, 0.0), at(1000.0, 0.0), -16.0, "1000 mm (39.370 in)");
    annotate::dimension_x(&mut drawing, at(80.0, 34.0), at(86.35, 34.0), 60.0, "6.35 mm (1/4 in)");
    annotate::dimension_y(&mut drawing, at(0.0, 0.0), at(0.0, 50.0), -12.0, "50 mm");
    drawing.line(Kind::Dimension, at(0.2, 62.0), at(500.2, 54.5));
    let along = Label::new("500.06 mm along the edge", at(250.2, 59.0), font::TEXT_MM).aligned(Align::Middle);
    drawing.label(Kind::Dimension, along.turned((42.5_f64 - 50.0).atan2(500.0)));
    annotate::leader(&mut drawing, at(480.0, -18.7), at(440.0, -40.0), &["hollow R 283.33", "for the fence"]);
    let stations: Vec<(f64, String)> = (0..=20).map(|k| (50.0 * f64::from(k), format!("{}", 50 * k))).collect();
    annotate::station_rule(&mut drawing, at(0.0, -28.0), 0.0, &stations);
    let rows: Vec<Vec<String>> =
        [("0", "25.40"), ("500", "27.18"), ("1000", "29.02")].map(|(a, b)| vec![a.into(), b.into()]).to_vec();
    annotate::table(&mut drawing, at(820.0, -50.0), &["station mm", "height mm"], &rows, font::TEXT_MM);
    drawing
}

/// Large in both directions: a frame of 600 × 450 with a round.
fn plate() -> Drawing {
    let mut drawing = Drawing::new("form-2", "Form for stage 2");
    drawing.made_by = "taperwright 0.1.0, meadow.toml, input 3f9a1c07".into();
    drawing.notes = vec!["Tape the joined pages to the board before sawing.".into()];
    let frame = Bounds { min: Point::new(0.0, 0.0), max: Point::new(600.0, 450.0) };
    drawing.path(Kind::Cut, Path::rectangle(frame));
    drawing.path(Kind::CutInside, Path::circle(Point::new(300.0, 225.0), 180.0));
    drawing.label(Kind::Note, Label::new("back", Point::new(300.0, 225.0), 5.0).aligned(Align::Middle));
    drawing
}

/// Small, with more notes than fit under it, or on one key page.
fn wordy() -> Drawing {
    let mut drawing = Drawing { notes: Vec::new(), ..plate() };
    drawing.items.truncate(1);
    drawing.items = drawing.items.iter().map(|item| item.placed(&Placement::moved(3.0, 4.0))).collect();
    for k in 1..=90 {
        drawing.notes.push(format!("note {k}: keep the grain of the feather running out toward the tip and sand both faces"));
    }
    drawing
}

/// One page would hold it, but not with its notes.
fn wordy_and_small() -> Drawing {
    let mut drawing = Drawing { items: Vec::new(), ..wordy() };
    drawing.path(Kind::Cut, Path::circle(Point::new(0.0, 0.0), 30.0));
    drawing
}

fn a4() -> PrintPaper {
    PrintPaper { name: "a4".into(), width_mm: 210.0, height_mm: 297.0, roll: false, margin_mm: 5.0 }
}

fn letter() -> PrintPaper {
    PrintPaper { name: "letter".into(), width_mm: 215.9, height_mm: 279.4, roll: false, margin_mm: 6.35 }
}

fn roll() -> PrintPaper {
    PrintPaper { name: "roll 24 in".into(), width_mm: 609.6, height_mm: 5000.0, roll: true, margin_mm: 5.0 }
}

/// Writes into the target folder, for the peers (and for looking at).
fn kept(name: &str, bytes: &[u8]) -> String {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("write");
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join(name);
    std::fs::write(&path, bytes).unwrap();
    path.to_str().unwrap().to_owned()
}

fn paths_of(drawing: &Drawing, wanted: impl Fn(Kind) -> bool) -> Vec<(Kind, Path)> {
    let path = |shape: &Shape| if let Shape::Path(path) = shape { Some(path.clone()) } else { None };
    drawing.items.iter().filter(|item| wanted(item.kind)).filter_map(|item| Some((item.kind, path(&item.shape)?))).collect()
}

// ---- the same bytes every time --------------------------------------------------------------------------------------

#[test]
fn equal_drawings_give_equal_bytes() {
    let lines = LineTable::default();
    let all = || {
        let drawing = rail();
        [
            svg::svg(&drawing, &lines, Content::Everything).unwrap(),
            dxf::dxf(&drawing, &lines, System::Millimetre, Content::Everything, Letters::ALL).unwrap(),
            pdf::pdf(&[drawing, plate()], &a4(), Printed::EXACT, &lines).unwrap(),
        ]
    };
    let first = all();
    // The clock moves on between the two; a file that carried it would differ.
    std::thread::sleep(std::time::Duration::from_millis(1100));
    assert!(first == all());
}

#[test]
fn numbers_that_are_not_finite_are_refused() {
    let lines = LineTable::default();
    for bad in [f64::NAN, f64::INFINITY] {
        let mut drawing = rail();
        drawing.part_path(Kind::Cut, "left rail", Path::line(Point::new(0.0, 0.0), Point::new(bad, 1.0)));
        let faults = [
            svg::svg(&drawing, &lines, Content::Everything).unwrap_err(),
            dxf::dxf(&drawing, &lines, System::Inch, Content::Everything, Letters::ALL).unwrap_err(),
            pdf::pdf(&[drawing], &a4(), Printed::EXACT, &lines).unwrap_err(),
        ];
        for fault in faults {
            let text = fault.to_string();
            assert!(text.contains("sled-core") && text.contains("left rail") && text.contains("not finite"), "{text}");
        }
    }
    let empty = Drawing::new("nothing", "");
    assert!(svg::svg(&empty, &lines, Content::Everything).is_err());
    let mut shown = Drawing::new("tiller", "");
    shown.path(Kind::Edge, Path::line(Point::new(0.0, 0.0), Point::new(9.0, 0.0)));
    assert!(svg::svg(&shown, &lines, Content::Everything).is_ok());
    let refused = dxf::dxf(&shown, &lines, System::Inch, Content::CutterOnly, Letters::ALL).unwrap_err();
    assert!(refused.to_string().contains("nothing for a cutter"), "{refused}");
}

// ---- DXF ------------------------------------------------------------------------------------------------------------

#[test]
fn dxf_reads_back_what_was_drawn() {
    let drawing = rail();
    let lines = LineTable::default();
    for (system, tolerance) in [(System::Millimetre, 0.5e-4), (System::Inch, MM_PER_IN * 0.5e-6)] {
        let bytes = dxf::dxf(&drawing, &lines, system, Content::CutterOnly, Letters::ALL).unwrap();
        let read = dxf_read::read(&bytes).unwrap().paths;
        // Cuts stay in the drawing's order, holes and slots before outlines.
        let drawn: Vec<(Kind, Path)> = paths_of(&drawing, |kind| kind == Kind::CutInside)
            .into_iter()
            .chain(paths_of(&drawing, |k| k == Kind::Cut))
            .collect();
        let cuts: Vec<_> = read.iter().filter(|path| path.layer.starts_with("CUT")).collect();
        assert_eq!(cuts.len(), drawn.len());
        for (read, (kind, path)) in cuts.iter().zip(&drawn) {
            assert_eq!(read.layer, lines.style(*kind).layer);
            assert_eq!(read.path.vertices.len(), path.vertices.len());
            for (got, want) in read.path.vertices.iter().zip(&path.vertices) {
                assert!((got.at.x - want.at.x).abs() <= tolerance + 1e-9, "{got:?} {want:?}");
                assert!((got.at.y - want.at.y).abs() <= tolerance + 1e-9, "{got:?} {want:?}");
                assert!((got.bulge - want.bulge).abs() <= 0.5e-10);
            }
        }
        // Engraved letters are open strokes; every layer in the file is one a cutter follows.
        assert!(20 < String::from_utf8_lossy(&bytes).matches("ENGRAVE\r\n").count());
        assert!(read.iter().all(|path| ["CUT", "CUT_INSIDE", "SCORE"].contains(&path.layer.as_str())));
        assert!(read.iter().all(|path| path.path.closed));
    }
    assert!(dxf_read::read(b"  0\nEOF\n").is_err(), "a file that states no unit is refused");
    assert!(dxf_read::read(b"not a drawing").is_err());
}

#[test]
fn dxf_passes_an_outside_audit_with_nothing_to_repair() {
    let drawing = rail();
    let lines = LineTable::default();
    for (system, content, name) in [
        (System::Millimetre, Content::Everything, "rail-mm.dxf"),
        (System::Inch, Content::Everything, "rail-in.dxf"),
        (System::Millimetre, Content::CutterOnly, "rail-cut-mm.dxf"),
        (System::Inch, Content::CutterOnly, "rail-cut-in.dxf"),
    ] {
        let file = kept(name, &dxf::dxf(&drawing, &lines, system, content, Letters::ALL).unwrap());
        let closed = paths_of(&drawing, |kind| matches!(kind, Kind::Cut | Kind::CutInside));
        let areas: Vec<serde_json::Value> = closed
            .iter()
            .map(|(kind, path)| serde_json::json!({"layer": lines.style(*kind).layer, "area_mm2": path.area().abs()}))
            .collect();
        let bounds = if content == Content::CutterOnly {
            let wanted = drawing.items.iter().filter(|item| item.kind.is_for_cutter()).cloned().collect();
            font::extent(&Drawing { items: wanted, ..drawing.clone() })
        } else {
            font::extent(&drawing).union(font::extent(&annotate::surround(&drawing)))
        };
        let expected = serde_json::json!({
            "unit": system.length_unit(), "closed": areas, "only_cutter": content == Content::CutterOnly,
            "extent_mm": [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y],
        });
        let Some(answer) = peers::run("dxf_audit.py", &[&file], &expected.to_string()) else { return };
        assert_eq!(answer.trim(), "agrees", "{name}");
    }
}

#[test]
fn dxf_layers_may_be_shared_or_oddly_named() {
    let mut lines = LineTable::default();
    lines.style_mut(Kind::CutInside).layer = "cut".into();
    lines.style_mut(Kind::Note).layer = "my notes/äö".into();
    lines.style_mut(Kind::Score).layer = "0".into();
    lines.style_mut(Kind::Cut).color = 1;
    let file =
        kept("rail-layers.dxf", &dxf::dxf(&rail(), &lines, System::Millimetre, Content::Everything, Letters::ALL).unwrap());
    let Some(answer) = peers::run("dxf_audit.py", &[&file], "{\"unit\": \"mm\", \"closed\": [], \"only_cutter\": false}") else {
        return;
    };
    assert_eq!(answer.trim(), "agrees");
}

// ---- SVG ------------------------------------------------------------------------------------------------------------

fn parsed(bytes: &[u8]) -> usvg::Tree {
    usvg::Tree::from_data(bytes, &usvg::Options::default()).expect("the SVG parses")
}

/// Length of all lines in a group, mm: straight pieces and curves as usvg gives them, in fine steps.
fn length_of(group: &usvg::Group) -> f64 {
    use usvg::tiny_skia_path::PathSegment;
    let mut total = 0.0;
    for node in group.children() {
        match node {
            usvg::Node::Group(inner) => total += length_of(inner),
            usvg::Node::Path(path) => {
                let (mut at, mut start) = ((0.0, 0.0), (0.0, 0.0));
                let point = |p: usvg::tiny_skia_path::Point| (f64::from(p.x), f64::from(p.y));
                let distance = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
                for segment in path.data().segments() {
                    match segment {
                        PathSegment::MoveTo(p) => (at, start) = (point(p), point(p)),
                        PathSegment::LineTo(p) => {
                            total += distance(at, point(p));
                            at = point(p);
                        }
                        PathSegment::QuadTo(..) => panic!("we write no quadratic curves"),
                        PathSegment::CubicTo(b, c, d) => {
                            let (a, b, c, d) = (at, point(b), point(c), point(d));
                            let mut before = a;
                            for k in 1..=256 {
                                let t = f64::from(k) / 256.0;
                                let s = 1.0 - t;
                                let mix = |a: f64, b: f64, c: f64, d: f64| {
                                    s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
                                };
                                let now = (mix(a.0, b.0, c.0, d.0), mix(a.1, b.1, c.1, d.1));
                                total += distance(before, now);
                                before = now;
                            }
                            at = d;
                        }
                        PathSegment::Close => {
                            total += distance(at, start);
                            at = start;
                        }
                    }
                }
            }
            _ => {}
        }
    }
    total
}

fn group_of<'a>(tree: &'a usvg::Tree, id: &str) -> &'a usvg::Group {
    match tree.node_by_id(id) {
        Some(usvg::Node::Group(group)) => group,
        _ => panic!("no group `{id}`"),
    }
}

#[test]
fn svg_has_the_same_lengths_and_its_size_in_mm() {
    let drawing = rail();
    let bytes = svg::svg(&drawing, &LineTable::default(), Content::Everything).unwrap();
    kept("rail.svg", &bytes);
    let tree = parsed(&bytes);
    for (kind, id) in [(Kind::Cut, "CUT"), (Kind::CutInside, "CUT_INSIDE"), (Kind::Score, "SCORE"), (Kind::Hidden, "HIDDEN")] {
        let drawn: f64 = paths_of(&drawing, |k| k == kind).iter().map(|(_, path)| path.length()).sum();
        let written = length_of(group_of(&tree, id));
        // usvg works in f32 and turns arcs into cubics of up to 90 degrees: 3e-4 of an arc's length at most.
        assert!((written - drawn).abs() < 3e-4 * drawn, "{id}: {written} against {drawn}");
    }
    let text = String::from_utf8(bytes).unwrap();
    let extent = font::extent(&drawing).union(font::extent(&annotate::surround(&drawing))).grown(5.0);
    let number = |key: &str| -> f64 {
        let rest = &text[text.find(key).unwrap() + key.len()..];
        rest[..rest.find("mm").unwrap()].parse().unwrap()
    };
    assert!((number(" width=\"") - extent.width()).abs() < 1e-4);
    assert!((number(" height=\"") - extent.height()).abs() < 1e-4);
    // 96 px to the inch, as CSS has it.
    assert!((f64::from(tree.size().width()) - extent.width() / MM_PER_IN * 96.0).abs() < 0.01);
    assert!(text.contains("<title>Sled for core — rail, cut 2</title>") && text.contains("input 3f9a1c07"));
    assert!(text.contains("<title>left rail 2 of 3 → thick end first</title>"));
    for d in text.match_indices(" d=\"").map(|(at, key)| text[at + key.len()..].split('"').next().unwrap()) {
        assert!(d.chars().all(|c| c.is_ascii_digit() || "MLAZlz .-".contains(c)) && !d.contains("-0 "), "{d}");
    }
}

/// Letters were outlines of their own wherever they stood: they were most of every file.
#[test]
fn letters_stand_once_in_a_file_and_where_the_typeface_puts_them() {
    for (angle, align, lettering) in [
        (0.0, Align::Left, Lettering::Regular),
        (PI / 2.0, Align::Middle, Lettering::Bold),
        (0.3, Align::Right, Lettering::Regular),
    ] {
        let face = if lettering == Lettering::Bold { "b" } else { "r" };
        let mut drawing = Drawing::new("letters", "");
        let label =
            Label { lettering, ..Label::new("gauge ½ gauge, Åse", Point::new(7.0, -3.0), 2.5).aligned(align).turned(angle) };
        drawing.label(Kind::Edge, label.clone());
        let bytes = svg::svg(&drawing, &LineTable::default(), Content::Everything).unwrap();
        let text = String::from_utf8(bytes.clone()).unwrap();
        let id = format!("id=\"{face}67\"");
        assert_eq!(text.matches(&id).count(), 1, "g");
        let uses = format!("xlink:href=\"#{face}67\"");
        assert!(4 <= text.matches(&uses).count());
        // Where usvg paints them and where the outlines of the typeface lie.
        let page = font::extent(&drawing).union(font::extent(&annotate::surround(&drawing))).grown(5.0);
        let wanted = font::outlines(&label, 0.001).iter().fold(Bounds::EMPTY, |bounds, path| bounds.union(path.bounds()));
        let px = 96.0 / MM_PER_IN;
        let found = group_of(&parsed(&bytes), "EDGE").abs_bounding_box();
        let found = [found.left(), found.right(), found.top(), found.bottom()].map(|at| f64::from(at) / px);
        let wanted = [wanted.min.x - page.min.x, wanted.max.x - page.min.x, page.max.y - wanted.max.y, page.max.y - wanted.min.y];
        assert!(found.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 0.03), "{found:?} {wanted:?}");
    }
}

#[test]
fn svg_is_not_mirrored_and_arcs_bulge_the_right_way() {
    // A quarter disc in the upper right: its centroid lies up and right, so in SVG its box lies at the top right.
    let mut drawing = Drawing::new("quarter", "");
    let quarter = (PI / 8.0).tan();
    let path = Path {
        vertices: vec![
            Vertex { at: Point::new(0.0, 0.0), bulge: 0.0 },
            Vertex { at: Point::new(10.0, 0.0), bulge: quarter },
            Vertex { at: Point::new(0.0, 10.0), bulge: 0.0 },
        ],
        closed: true,
    };
    drawing.path(Kind::Cut, path);
    // Three quarters of a circle: the large arc, clockwise.
    let large = -(3.0 * PI / 8.0).tan();
    drawing.path(
        Kind::Score,
        Path {
            vertices: vec![
                Vertex { at: Point::new(30.0, 0.0), bulge: large },
                Vertex { at: Point::new(20.0, -10.0), bulge: 0.0 },
            ],
            closed: false,
        },
    );
    let text = String::from_utf8(svg::svg(&drawing, &LineTable::default(), Content::CutterOnly).unwrap()).unwrap();
    let d: Vec<&str> = text.match_indices(" d=\"").map(|(i, key)| text[i + key.len()..].split('"').next().unwrap()).collect();
    let tree = parsed(text.as_bytes());
    let bounds = group_of(&tree, "CUT").abs_bounding_box();
    let px = 96.0 / MM_PER_IN;
    assert!((f64::from(bounds.width()) - 10.0 * px).abs() < 0.01 && (f64::from(bounds.height()) - 10.0 * px).abs() < 0.01);
    let length = length_of(group_of(&tree, "SCORE"));
    assert!((length - 0.75 * 2.0 * PI * 10.0).abs() < 0.02, "{length}");
    let score = group_of(&tree, "SCORE").abs_bounding_box();
    let expected = paths_of(&drawing, |kind| kind == Kind::Score)[0].1.bounds();
    assert!((f64::from(score.width()) / px - expected.width()).abs() < 0.01, "{d:?}");
    assert!((f64::from(score.height()) / px - expected.height()).abs() < 0.01);
    // Which side of the cut it lies on tells the direction.
    let gap = (f64::from(score.y()) - f64::from(bounds.y())) / px;
    assert!((gap - (10.0 - expected.max.y)).abs() < 0.01, "{gap}");
}

// ---- tiles ----------------------------------------------------------------------------------------------------------

fn some_paper() -> impl Strategy<Value = PrintPaper> {
    (150.0..900.0_f64, 200.0..1500.0_f64, any::<bool>(), 0.0..12.0_f64).prop_map(|(width_mm, height_mm, roll, margin_mm)| {
        PrintPaper { name: "any".into(), width_mm, height_mm, roll, margin_mm }
    })
}

proptest! {
    #[test]
    fn tiles_cover_the_drawing_exactly_once(
        paper in some_paper(),
        (x, y, width, height) in (-500.0..500.0_f64, -500.0..500.0_f64, 0.0..3000.0_f64, 0.0..3000.0_f64),
        (px, py) in (97.0..103.0_f64, 97.0..103.0_f64),
        fractions in proptest::collection::vec((0.0..1.0_f64, 0.0..1.0_f64), 40),
    ) {
        let extent = Bounds { min: Point::new(x, y), max: Point::new(x + width, y + height) };
        let printed = Printed { x: px, y: py };
        let Ok(tiling) = tile::tiled(extent, &paper, printed, |_| 20.0) else { return Ok(()) };
        // Owned areas do not overlap and add up to the whole covered area.
        let all = tiling.tiles.iter().fold(Bounds::EMPTY, |bounds, tile| bounds.union(tile.owns));
        let sum: f64 = tiling.tiles.iter().map(|tile| tile.owns.width() * tile.owns.height()).sum();
        prop_assert!((sum - all.width() * all.height()).abs() < 1e-6 * sum);
        prop_assert!(all.min.x <= x + 1e-6 && all.min.y <= y + 1e-6);
        prop_assert!(x + width <= all.max.x + 1e-6 && y + height <= all.max.y + 1e-6);
        for (sx, sy) in fractions {
            let p = Point::new(x + sx * width, y + sy * height);
            let inside = |b: &Bounds| b.min.x <= p.x && p.x < b.max.x && b.min.y <= p.y && p.y < b.max.y;
            prop_assert_eq!(tiling.tiles.iter().filter(|tile| inside(&tile.owns)).count(), 1);
        }
        let (stretch_x, stretch_y) = printed.stretch();
        for tile in &tiling.tiles {
            // A page shows at least what it owns, at full size, and neighbours share the overlap.
            prop_assert!((tile.shows.width() - tiling.window.width()).abs() < 1e-9);
            prop_assert!((tile.shows.height() - tiling.window.height()).abs() < 1e-9);
            prop_assert!(tile.shows.min.x <= tile.owns.min.x + 1e-9 && tile.owns.max.x <= tile.shows.max.x + 1e-9);
            prop_assert!(tile.shows.min.y <= tile.owns.min.y + 1e-9 && tile.owns.max.y <= tile.shows.max.y + 1e-9);
            if tile.column + 1 < tiling.columns {
                let next = &tiling.tiles[tile.row * tiling.columns + tile.column + 1];
                prop_assert!((tile.shows.max.x - next.shows.min.x - tile::OVERLAP_MM).abs() < 1e-6);
                prop_assert!((tile.owns.max.x - next.owns.min.x).abs() < 1e-12);
            }
        }
        // No page could be left out, and everything lies on the paper, within its margins.
        prop_assert!(tiling.columns == 1 || width > (tiling.columns - 1) as f64 * (tiling.window.width() - tile::OVERLAP_MM) + tile::OVERLAP_MM - 1e-3);
        let (long, short) = (paper.width_mm.max(paper.height_mm), paper.width_mm.min(paper.height_mm));
        let (wide, high) = (tiling.paper_mm.width, tiling.paper_mm.height);
        prop_assert!(wide.max(high) <= long + 1e-6 && (paper.roll || wide.min(high) >= short - 1e-6));
        let check_end = tiling.check_corner.x + tiling.check_size.longest_mm();
        prop_assert!(check_end * stretch_x <= wide - paper.margin_mm + 1e-6);
        let check_top = tiling.check_corner.y + tiling.check_size.longest_mm();
        prop_assert!(check_top * stretch_y <= high - paper.margin_mm + 1e-6);
        prop_assert!(tiling.window.max.x * stretch_x <= wide - paper.margin_mm + 1e-6);
        prop_assert!(tiling.window.min.y >= tiling.check_corner.y + annotate::CHECK_SIDE_MM - 1e-9);
    }
}

// ---- PDF ------------------------------------------------------------------------------------------------------------

#[test]
fn pdf_pages_measure_true_and_show_everything_once() {
    let lines = LineTable::default();
    for (name, drawings, paper, printed) in [
        ("rail-a4.pdf", vec![rail()], a4(), Printed::EXACT),
        ("rail-letter.pdf", vec![rail()], letter(), Printed::EXACT),
        ("both-letter.pdf", vec![rail(), plate()], letter(), Printed::EXACT),
        ("plate-a4-corrected.pdf", vec![plate()], a4(), Printed { x: 99.2, y: 99.6 }),
        ("wordy-letter.pdf", vec![wordy()], letter(), Printed::EXACT),
        ("wordy-roll.pdf", vec![wordy()], roll(), Printed::EXACT),
        ("wordy-small.pdf", vec![wordy_and_small()], letter(), Printed::EXACT),
        ("rail-roll.pdf", vec![rail()], roll(), Printed::EXACT),
    ] {
        let bytes = pdf::pdf(&drawings, &paper, printed, &lines).unwrap();
        let file = kept(name, &bytes);
        let (sx, sy) = printed.stretch();
        let sizes: Vec<[f64; 2]> =
            if paper.roll { vec![] } else { vec![[paper.width_mm, paper.height_mm], [paper.height_mm, paper.width_mm]] };
        let expected = serde_json::json!({
            "sizes_mm": sizes, "stretch": [sx, sy], "made_by": drawings[0].made_by, "longest_mm": 5080.0, "roll_mm": 609.6,
            "bar_text": "x  scale check 100 mm / 4 in",
            "bar_text_mm": font::width_mm("x  scale check 100 mm / 4 in", font::SMALL_MM, Lettering::Regular),
            "notes": drawings.iter().flat_map(|drawing| drawing.notes.clone()).collect::<Vec<_>>(),
        });
        let Some(answer) = peers::run("pdf_measure.py", &[&file], &expected.to_string()) else { return };
        assert_eq!(answer.trim(), "agrees", "{name}");
    }
}

#[test]
fn pdf_tiles_together_show_every_line_exactly_once() {
    // A comb of short separate strokes over two sheets' worth: each must be owned by one page and shown on it whole.
    let mut drawing = Drawing::new("comb", "Comb");
    let mut strokes = Vec::new();
    for row in 0..18 {
        for column in 0..25 {
            let at = Point::new(7.0 + 24.0 * f64::from(column), 5.0 + 24.0 * f64::from(row));
            drawing.line(Kind::Cut, at, Point::new(at.x + 2.0, at.y + 1.0));
            strokes.push([at.x, at.y]);
        }
    }
    let mut lines = LineTable::default();
    // Told apart from all furniture by colour.
    lines.style_mut(Kind::Cut).rgb = [0xFF, 0, 0];
    let file = kept("comb.pdf", &pdf::pdf(&[drawing.clone()], &a4(), Printed::EXACT, &lines).unwrap());
    let tiling = pdf::tiling(&drawing, &a4(), Printed::EXACT).unwrap();
    assert!(2 <= tiling.columns && 2 <= tiling.rows);
    let bounds = |b: Bounds| [b.min.x, b.min.y, b.max.x, b.max.y];
    let tiles: Vec<serde_json::Value> = tiling
        .tiles
        .iter()
        .map(|tile| serde_json::json!({"name": tile.name, "shows": bounds(tile.shows), "owns": bounds(tile.owns)}))
        .collect();
    let expected = serde_json::json!({ "strokes": strokes, "tiles": tiles, "window": bounds(tiling.window) });
    let Some(answer) = peers::run("pdf_tiles.py", &[&file], &expected.to_string()) else { return };
    assert_eq!(answer.trim(), "agrees");
}

#[test]
fn a_drawing_can_be_placed_and_written_like_any_other() {
    let mut sheet = Drawing::new("nest", "Nest");
    let placement = Placement { mirrored: true, angle_rad: PI / 2.0, shift: Point::new(200.0, 100.0) };
    sheet.include(&rail(), &placement);
    let bytes = dxf::dxf(&sheet, &LineTable::default(), System::Millimetre, Content::CutterOnly, Letters::ALL).unwrap();
    let area: f64 = dxf_read::read(&bytes).unwrap().paths.iter().filter(|p| p.layer == "CUT").map(|p| p.path.area().abs()).sum();
    let drawn: f64 = paths_of(&rail(), |kind| kind == Kind::Cut).iter().map(|(_, path)| path.area().abs()).sum();
    assert!((area - drawn).abs() < 0.2, "{area} {drawn}");
}

#[test]
fn peers_are_the_pinned_ones() {
    let Some(answer) = peers::run("versions.py", &[], "") else { return };
    let pinned = include_str!("peers/requirements.txt");
    for line in answer.lines() {
        let (name, version) = line.split_once(' ').expect("a name and a version");
        assert!(pinned.lines().any(|want| want == format!("{name}=={version}")), "{line} is not pinned");
    }
    assert_eq!(answer.lines().count(), 7);
}
