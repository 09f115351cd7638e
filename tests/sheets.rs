//! Sheets: what is drawn is what was asked for, at true size, and no two texts stand on each other.

mod support;

use std::f64::consts::FRAC_PI_2;
use taperwright::drawing::font::{corners, has, outlines};
use taperwright::drawing::panels::in_one;
use taperwright::drawing::{Drawing, Kind, Label, LineTable, Shape};
use taperwright::geometry::{Bounds, Path, Placement, Point};
use taperwright::model::Build;
use taperwright::model::build::Target;
use taperwright::model::lamination::{Face, Lamination, Pieces, Stock};
use taperwright::model::outline::{LimbShape, Nock, Outline};
use taperwright::model::riser::{Fade, Riser, Slice};
use taperwright::model::taper::Taper;
use taperwright::model::wood;
use taperwright::model::workshop::{
    Glue, GlueStage, Held, Paper, PrintPaper, Sander, Sheet, SheetCutter, ShimStock, Shop, SledMake, SledPlan,
};
use taperwright::numeric::interp::{Between, Curve};
use taperwright::sheets;
use taperwright::sheets::assembly::LastGap;
use taperwright::sheets::cut::LoadSheet;
use taperwright::shop::cutting::{self, SheetCut, Whose};
use taperwright::shop::kit::{BedLoad, Kit, Means, Placed};
use taperwright::shop::makes::lay_out;
use taperwright::shop::parts::Part;
use taperwright::shop::riser_block::{self, CheckSteps};
use taperwright::shop::sled::{self, Sled};
use taperwright::units::System;

const IN: f64 = 25.4;

fn wood(name: &str) -> wood::Wood {
    wood::named(name).expect("the table of woods has it").at_moisture(0.10)
}

fn slices(of: &[(&str, f64)]) -> Vec<Slice> {
    of.iter().map(|(name, width_mm)| Slice { wood: wood(name), width_mm: *width_mm }).collect()
}

fn lamination(name: &str, species: &str, finished: Taper, to_mm: f64, pieces: Pieces) -> Lamination {
    let stock = Stock { thickness_mm: 5.0, spread_mm: 0.2, width_mm: 44.45, overrun_mm: 19.05, first_face_mm: 0.0 };
    support::shop::lamination(name, wood(species), finished, to_mm, pieces, stock)
}

fn glue(line_mm: f64) -> Glue {
    let stage = GlueStage { number: 1, held: Held::Flat, clamp_time_s: None, want_tip_mm: None, retained: None, press: None };
    Glue { line_mm, modulus_mpa: 2500.0, spread_kg_m2: 0.35, stages: vec![stage], retained: 1.0 }
}

fn sander() -> Sander {
    let papers = vec![Paper { grit: Some(60), max_mm: 0.3, scratch_mm: 0.27 }];
    Sander { min_thickness_mm: 0.76, papers, together: 2, repeat_last: 1, ..support::shop::sander() }
}

fn plan(make: SledMake, base_mm: f64) -> SledPlan {
    let usual = support::shop::plan();
    let deck_mm = if make == SledMake::Ramp { 6.0 } else { 0.0 };
    let sheet = Sheet { modulus_mpa: 9000.0, ..usual.sheet };
    SledPlan { make, base_mm, deck_mm, stop_clearance_mm: 1.0, sheet, ..usual }
}

fn shop(cutter: SheetCutter) -> Shop {
    let tape = |of: &str, thickness_mm: f64, count| ShimStock { of: of.into(), thickness_mm, count };
    Shop {
        cutter,
        paper: PrintPaper { name: "letter".into(), width_mm: 215.9, height_mm: 279.4, roll: false, margin_mm: 6.35 },
        shims: vec![
            tape("clear packing tape", 0.0508, None),
            tape("masking tape", 0.127, None),
            tape("card", 0.28, None),
            tape("veneer", 0.6, None),
        ],
        lines: LineTable::default(),
        printed: taperwright::model::workshop::AlsoPrinted::default(),
        profile: taperwright::model::workshop::RouterProfile::default(),
    }
}

/// An inch flatbow, 66 in nock to nock, 16 in riser with arc fades and five slices.
fn flatbow() -> Build {
    let points = [(0.0, 1.125), (3.0, 1.125), (9.0, 1.6), (20.0, 1.45), (33.0, 0.5)].map(|(s, w)| (s * IN, w * IN));
    let end = 33.75 * IN;
    let core = Taper::flat_then_straight(0.0, end, 0.150 * IN, 4.0 * IN, 0.002).expect("a sound taper");
    let ground = [(0.0, 0.181), (8.0, 0.166), (16.0, 0.149), (24.0, 0.133), (33.75, 0.114)].map(|(s, t)| (s * IN, t * IN));
    let mut back = lamination("back", "hickory, shagbark", Taper::parallel(0.140 * IN), end, Pieces::Full);
    back.keep_face = Some(Face::Back);
    let mut belly =
        lamination("belly", "locust, black", Taper::ground(ground.to_vec()).expect("readings in order"), end, Pieces::Halves);
    belly.ground = true;
    Build {
        title: "Meadow flatbow".into(),
        units: System::Inch,
        target: Some(Target {
            draw_weight_n: 186.8,
            draw_length_mm: 28.0 * IN,
            pivot_to_nock_mm: 26.25 * IN,
            brace_height_mm: 6.25 * IN,
            in_pounds: true,
            finishing_n: 13.3,
            positive_tiller_mm: 3.0 / 16.0 * 25.4,
            grip_depth_mm: None,
        }),
        outline: Some(Outline {
            nock_to_nock_mm: 66.0 * IN,
            width: Curve::through(points.to_vec(), Between::Straight).expect("points in order"),
            tip_beyond_nock_mm: 0.75 * IN,
            nock: Nock { depth_mm: 0.125 * IN, angle_rad: 40.0_f64.to_radians() },
            shape: LimbShape::default(),
        }),
        riser: Some(Riser {
            position: 2,
            length_mm: 16.0 * IN,
            level_mm: 5.0 * IN,
            depth_mm: 1.5 * IN,
            fade: Fade::Arc,
            feather_mm: 0.012 * IN,
            overrun_mm: 0.5 * IN,
            across: slices(&[
                ("walnut, black", 0.48 * IN),
                ("maple, sugar", 0.06 * IN),
                ("cherry, black", 0.52 * IN),
                ("maple, sugar", 0.06 * IN),
                ("walnut, black", 0.48 * IN),
            ]),
            layers: Vec::new(),
            footing: None,
            overlay: None,
            grip: None,
            pass: None,
        }),
        laminations: vec![back, lamination("core", "maple, sugar", core, end, Pieces::Halves), belly],
        overlays: Vec::new(),
        moisture: 0.10,
        sizing: None,
        series: Vec::new(),
        calibration: Vec::new(),
        limb: None,
        learnt: None,
        glue: glue(0.003 * IN),
        shot: taperwright::model::string::ShotPlan::default(),
        sander: Some(sander()),
        sled: Some(plan(SledMake::Ramp, 25.4)),
        shop: shop(SheetCutter::Laser { kerf_mm: 0.2, bed_mm: [508.0, 304.8], holds_mm: 0.1 }),
        assumed: Vec::new(),
    }
}

/// A metric longbow, 170 cm, with eased fades, twelve laminations with long names, and a smooth outline.
fn longbow() -> Build {
    let points = [(0.0, 30.0), (60.0, 29.0), (240.0, 36.5), (500.0, 33.0), (780.0, 18.0), (850.0, 11.0)];
    let end = 868.0;
    let species = ["hickory, shagbark", "maple, sugar", "ash, white", "locust, black"];
    let laminations = (0..12)
        .map(|k| {
            let taper = Taper::straight(0.0, end, 2.4 - 0.05 * f64::from(k), 0.0009).expect("a sound taper");
            let (name, kind) = (format!("lamination-number-{}-of-the-long-stack", k + 1), species[k as usize % 4]);
            let mut lamination = lamination(&name, kind, taper, end, if k % 2 == 0 { Pieces::Full } else { Pieces::Halves });
            match k {
                4 => lamination.to_mm = 300.0,
                7 => (lamination.from_mm, lamination.to_mm) = (700.0, end),
                9 => lamination.to_mm = 312.0,
                _ => {}
            }
            lamination
        })
        .collect();
    Build {
        title: "Langbogen für Åse, aus zwölf Lagen".into(),
        units: System::Millimetre,
        outline: Some(Outline {
            nock_to_nock_mm: 1700.0,
            width: Curve::through(points.to_vec(), Between::Smooth).expect("points in order"),
            tip_beyond_nock_mm: 18.0,
            nock: Nock { depth_mm: 3.0, angle_rad: 45.0_f64.to_radians() },
            shape: LimbShape::default(),
        }),
        riser: Some(Riser {
            position: 12,
            length_mm: 480.0,
            level_mm: 110.0,
            depth_mm: 42.0,
            fade: Fade::Eased,
            feather_mm: 0.3,
            overrun_mm: 15.0,
            across: slices(&[
                ("walnut, black", 4.5),
                ("maple, sugar", 0.6),
                ("oak, white", 0.6),
                ("maple, sugar", 0.6),
                ("cherry, black", 27.0),
                ("locust, black", 5.0),
            ]),
            layers: Vec::new(),
            footing: None,
            overlay: None,
            grip: None,
            pass: None,
        }),
        laminations,
        glue: glue(0.08),
        shop: shop(SheetCutter::Router { bit_mm: 3.0, bed_mm: [600.0, 900.0], holds_mm: 0.1 }),
        sled: Some(plan(SledMake::Shims, 10.0)),
        target: None,
        ..flatbow()
    }
}

/// All labels, those of the panels too.
fn labels(drawing: &Drawing) -> Vec<&Label> {
    let items = drawing.items.iter().chain(drawing.panels.iter().flat_map(|panel| &panel.items));
    items.filter_map(|item| if let Shape::Label(label) = &item.shape { Some(label) } else { None }).collect()
}

fn paths(drawing: &Drawing, kind: Kind) -> Vec<(&str, &Path)> {
    drawing
        .items
        .iter()
        .filter(|item| item.kind == kind)
        .filter_map(|item| if let Shape::Path(path) = &item.shape { Some((item.part.as_str(), path)) } else { None })
        .collect()
}

/// What the letters of a label cover. Labels here stand level or upright, so that the box is a close one.
fn ink(label: &Label) -> Bounds {
    assert!((label.angle_rad / FRAC_PI_2 - (label.angle_rad / FRAC_PI_2).round()).abs() < 1e-9, "{label:?}");
    outlines(label, 0.05).iter().fold(Bounds::EMPTY, |bounds, path| bounds.union(path.bounds()))
}

fn apart(a: &Bounds, b: &Bounds) -> bool {
    a.max.x < b.min.x || b.max.x < a.min.x || a.max.y < b.min.y || b.max.y < a.min.y
}

fn check_sheet(drawing: &Drawing) {
    let mut all = in_one(drawing).into_owned();
    let around = taperwright::drawing::annotate::surround(&all).items;
    all.items.extend(around);
    let shown = all.items.iter().filter_map(|item| match &item.shape {
        Shape::Label(label) if !label.text.trim().is_empty() => Some((item.kind, label)),
        _ => None,
    });
    let (kinds, labels): (Vec<Kind>, Vec<&Label>) = shown.unzip();
    assert!(10 < labels.len(), "{}: {} labels", drawing.name, labels.len());
    // On a narrow rail the tail of a g may reach between two figures under it: boxes of burned-in names may graze.
    let graze = |kind: Kind| if kind == Kind::Engrave { -0.2 } else { 0.0 };
    let boxes: Vec<Bounds> = kinds.iter().zip(&labels).map(|(kind, label)| ink(label).grown(graze(*kind))).collect();
    for (i, a) in boxes.iter().enumerate() {
        for (j, b) in boxes.iter().enumerate().skip(i + 1) {
            assert!(apart(a, b), "{}: `{}` stands on `{}`", drawing.name, labels[i].text, labels[j].text);
        }
    }
    for label in labels {
        assert!(label.text.chars().all(has), "{}: `{}`", drawing.name, label.text);
    }
    for item in &all.items {
        let points = match &item.shape {
            Shape::Path(path) => path.vertices.iter().map(|v| v.at).collect(),
            Shape::Label(label) => vec![label.at, Point::new(label.cap_mm, label.angle_rad)],
        };
        assert!(points.iter().all(|p| p.x.is_finite() && p.y.is_finite()), "{}: {item:?}", drawing.name);
        if let (Shape::Path(path), Kind::Cut | Kind::CutInside) = (&item.shape, item.kind) {
            assert!(path.closed && 0.1 < path.area().abs(), "{}: {item:?}", drawing.name);
        }
        // Lettering heights after ISO 3098-1:2015 (1.8, 2.5, 3.5 mm of its series); what is burned in fits its part instead.
        if let (Shape::Label(label), false) = (&item.shape, item.kind == Kind::Engrave) {
            assert!([1.8, 2.5, 3.5].iter().any(|h| (label.cap_mm - h).abs() < 1e-9), "{}: {label:?}", drawing.name);
        }
    }
    assert!(!drawing.title.is_empty() && 1 < drawing.notes.len(), "{}", drawing.name);
    assert!(all.items.iter().any(|item| item.kind == Kind::ScaleCheck));
}

/// A bow's riser sheet and what it was drawn from.
fn riser_sheet(build: &Build) -> (Drawing, riser_block::RiserBlock) {
    let block = riser_block::lay_out(build, CheckSteps::usual(build.units)).expect("the build has a riser").value;
    (sheets::riser::sheet(build, &block).expect("the build has a riser"), block)
}

/// The sled for a lamination of a build, made in a given way from sheet 6 mm thick.
fn sled_for(build: &Build, lamination: usize, make: SledMake) -> (SledPlan, Sled) {
    let plan = SledPlan { deck_mm: if make == SledMake::RaisedEnd { 0.0 } else { 6.0 }, ..plan(make, 25.4) };
    let sled = sled::build(&build.laminations[lamination], &plan, build.sander.as_ref().expect("a sander"));
    (plan, sled.expect("a sound taper").value)
}

/// The sled of one lamination, made in a given way; `None` where it cannot be made so.
fn kit_for(build: &Build, index: usize, make: SledMake) -> Option<(SledPlan, Kit)> {
    let (plan, sled) = sled_for(build, index, make);
    let means = Means::of(build, &plan, build.sander.as_ref().expect("a sander"), &build.laminations[index]);
    let kit = lay_out(&sled, &means).ok()?.value;
    Some((plan, kit))
}

/// The loads of one lamination's sled.
fn load_sheets(build: &Build, index: usize, plan: &SledPlan, kit: &Kit) -> Vec<LoadSheet> {
    let cuts = cutting::together(build, &[(&build.laminations[index], plan, kit)], &[]).expect("parts that fit the bed");
    sheets::cut::loads(build, &cuts).expect("parts that can be cut")
}

/// A sled that serves its own strip alone.
fn own_gap(build: &Build, index: usize, kit: &Kit) -> [LastGap; 1] {
    [LastGap { of: build.laminations[index].name.clone(), gap_mm: kit.sled.final_gap_mm }]
}

/// Every sheet for the sled of one lamination, made in a given way; none where it cannot be made so.
fn sled_sheets(build: &Build, index: usize, make: SledMake) -> Vec<Drawing> {
    let Some((plan, kit)) = kit_for(build, index, make) else { return Vec::new() };
    let mut drawn: Vec<Drawing> = load_sheets(build, index, &plan, &kit).into_iter().map(|load| load.drawing).collect();
    drawn.push(sheets::assembly::sheet(build, &plan, &build.laminations[index], &kit, &own_gap(build, index, &kit)));
    drawn
}

#[test]
fn texts_stand_apart_and_everything_can_be_drawn() {
    for build in [flatbow(), longbow()] {
        check_sheet(&sheets::outline::sheet(&build).expect("the build has an outline"));
        check_sheet(&riser_sheet(&build).0);
        for index in
            [0, 1, 4, 7].into_iter().filter(|index| build.laminations.get(*index).is_some_and(|lamination| !lamination.ground))
        {
            // Of the long stack: a full strip, halves, a short one, and one that begins far out.
            let sheets: Vec<Drawing> = SledMake::ALL.iter().flat_map(|make| sled_sheets(&build, index, *make)).collect();
            // A load and an assembly for each of two cut sleds, the carrier's assembly; boards for straight tapers only.
            assert!(5 <= sheets.len(), "{index}: {} sheets", sheets.len());
            sheets.iter().for_each(check_sheet);
            for make in SledMake::ALL {
                let Some((plan, kit)) = kit_for(&build, index, make) else { continue };
                load_sheets(&build, index, &plan, &kit).iter().for_each(|load| check_sheet(&load.overview));
            }
        }
    }
}

/// A riser in layers, with footings and under an overlay: few boards and many, a V that reaches the feather, an overlay as long as the block.
#[test]
fn texts_of_layers_footings_and_a_riser_overlay_stand_apart() {
    let plover = include_str!("../examples/more/plover.toml");
    let boards = "[\"maple, sugar\", 3.2], [\"walnut, black\", 1], [\"maple, sugar\", 3.3]";
    let veneers = ["[\"maple, sugar\", 1], [\"walnut, black\", 0.5]"; 8].join(", ");
    let edits: [&[(&str, &str)]; 4] = [
        &[],
        &[(boards, &veneers), ("depth   = 7.2", "depth = 13.2"), ("splice = 130", "splice = 150")],
        &[("length = 360", "length = 560"), ("\"left\"", "\"right\""), ("[riser.footing]", "[riser.footing] # as before")],
        &[
            ("depth   = 7.2", "depth = 5"),
            ("length = 150", "length = 20"),
            ("splice = 130", "splice = 10"),
            ("depth  = 33", "depth = 36"),
        ],
    ];
    for changes in edits {
        let text = changes.iter().fold(plover.to_owned(), |text, (from, to)| {
            assert!(text.contains(from), "{from}");
            text.replacen(from, to, 1)
        });
        let (_, outcome) = taperwright::buildfile::read("plover.toml", &text);
        let build = outcome.unwrap_or_else(|faults| panic!("{changes:?}: {faults:?}")).value;
        check_sheet(&riser_sheet(&build).0);
    }
}

/// Shelf, grip and overlays, for either hand, with a grip of every part and with a throat alone.
#[test]
fn texts_of_shelf_grip_and_overlays_stand_apart() {
    let wren = include_str!("../examples/more/wren.toml");
    let belly = "[[overlay]]\nface = \"belly\"\nwood = \"maple, sugar\"\nthickness = 0.1\n\n[glue]";
    let edits: [&[(&str, &str)]; 4] = [
        &[],
        &[("\"right\"", "\"left\""), ("palm   = 1.75", "heel = 1\npalm = 1.65")],
        &[("palm   = 1.75", "up = 2.5"), ("past_centre = 0.0625", "past_centre = -0.125"), ("[glue]", belly)],
        &[("\"right\"", "\"left\""), ("units = \"in\"", "units = \"in\" # as before"), ("height      = 1.5", "height = 0.75")],
    ];
    for changes in edits {
        let text = changes.iter().fold(wren.to_owned(), |text, (from, to)| {
            assert!(text.contains(from), "{from}");
            text.replacen(from, to, 1)
        });
        let (_, outcome) = taperwright::buildfile::read("wren.toml", &text);
        let build = outcome.unwrap_or_else(|faults| panic!("{changes:?}: {faults:?}")).value;
        check_sheet(&sheets::outline::sheet(&build).expect("an outline"));
        check_sheet(&riser_sheet(&build).0);
    }
}

fn cut_paths<'a>(drawing: &'a Drawing, part: &str) -> Vec<&'a Path> {
    paths(drawing, Kind::Cut).into_iter().filter(|(name, _)| *name == part).map(|(_, path)| path).collect()
}

/// Extent across the bow at `x`, from the flattened path, about its own middle line.
fn width_of(path: &Path, x: f64) -> f64 {
    let points = path.flattened(1e-4);
    let n = points.len();
    let ys: Vec<f64> = (0..n)
        .map(|i| (points[i], points[(i + 1) % n]))
        .filter(|(a, b)| (a.x - b.x).abs() > 1e-12 && a.x.min(b.x) <= x && x <= a.x.max(b.x))
        .map(|(a, b)| a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y))
        .collect();
    ys.iter().fold(f64::NEG_INFINITY, |m, y| m.max(*y)) - ys.iter().fold(f64::INFINITY, |m, y| m.min(*y))
}

#[test]
fn outlines_have_the_widths_that_were_asked_for() {
    for mut build in [flatbow(), longbow()] {
        // Half of it is the pattern; the whole is drawn for who asks.
        let usual = sheets::outline::sheet(&build).expect("an outline");
        assert_eq!(paths(&usual, Kind::Cut).len(), 1);
        build.shop.printed.whole_outline = true;
        let outline = build.outline.as_ref().expect("an outline");
        let drawing = sheets::outline::sheet(&build).expect("an outline");
        check_sheet(&drawing);
        let whole = cut_paths(&drawing, sheets::outline::WHOLE);
        let half = cut_paths(&drawing, sheets::outline::HALF);
        assert_eq!((whole.len(), half.len()), (1, 1));
        let end = outline.end_mm();
        // Chords of the edge stay within 0.01 mm, and there are two edges.
        for k in 0..=1000 {
            let s = (end - 1e-6) * f64::from(k) / 1000.0;
            for (path, x) in [(whole[0], s), (whole[0], -s), (half[0], s)] {
                assert!((width_of(path, x) - outline.width_at(s)).abs() <= 0.02 + 1e-6, "{s}");
            }
        }
        for station in sheets::outline::stations(&build, outline) {
            assert!((station.width_mm - outline.width_at(station.at_mm)).abs() < 1e-12);
            let rule = build.units.rule(station.width_mm);
            let figures = labels(&drawing).iter().filter(|label| label.text.ends_with(&format!(": {rule} wide"))).count();
            assert!(2 <= figures, "{rule} stands at both views");
        }
        assert!((whole[0].area() - 2.0 * half[0].area()).abs() < 1e-6 * whole[0].area());
        let bounds = whole[0].bounds();
        assert!((bounds.width() - 2.0 * end).abs() < 1e-9 && (bounds.min.x + bounds.max.x).abs() < 1e-9);
        // The mirror image, either way, is the same set of corners.
        for (mx, my) in [(-1.0, 1.0), (1.0, -1.0)] {
            for v in &whole[0].vertices {
                let image = Point::new(mx * v.at.x, my * v.at.y);
                assert!(whole[0].vertices.iter().any(|w| w.at.distance(image) < 1e-9), "{image:?}");
            }
        }
    }
}

#[test]
fn area_of_the_flatbow_is_that_of_its_trapezia() {
    // Computed by hand from the widths at 0, 3, 9, 20, 33 and 33.75 in: 3.375 + 8.175 + 16.775 + 12.675 + 0.35445 in².
    let build = flatbow();
    let half = sheets::outline::half_path(build.outline.as_ref().expect("an outline"));
    assert!((half.area() / (IN * IN) - 41.354_447).abs() < 1e-5, "{}", half.area() / (IN * IN));
}

#[test]
fn straight_outlines_get_no_extra_corners() {
    let build = flatbow();
    let outline = build.outline.as_ref().expect("an outline");
    // Stations 0, 3, 9, 20, 33 and the end, twice.
    assert_eq!(sheets::outline::half_path(outline).vertices.len(), 12);
    let smooth = longbow();
    let outline = smooth.outline.as_ref().expect("an outline");
    assert!((30..400).contains(&sheets::outline::half_path(outline).vertices.len()));
}

#[test]
fn nock_grooves_are_as_deep_as_stated() {
    let build = flatbow();
    let outline = build.outline.as_ref().expect("an outline");
    let drawing = sheets::outline::sheet(&build).expect("an outline");
    let at_nock = |path: &&Path| path.vertices.iter().all(|v| (v.at.x - outline.nock_mm()).abs() < 1e-9);
    let grooves: Vec<&Path> = paths(&drawing, Kind::Score).into_iter().map(|(_, path)| path).filter(at_nock).collect();
    assert_eq!(grooves.len(), 2);
    assert!(grooves.iter().all(|groove| (groove.length() - 0.125 * IN).abs() < 1e-9));
}

#[test]
fn feather_check_is_the_riser_and_starts_as_builders_mark_it() {
    for build in [flatbow(), longbow()] {
        let riser = build.riser.as_ref().expect("a riser");
        let (drawing, block) = riser_sheet(&build);
        for mark in &block.check {
            assert!((mark.thickness_mm - riser.thickness_at(mark.station_mm)).abs() < 1e-12);
            assert!((mark.station_mm + mark.from_feather_mm - riser.feather_station_mm()).abs() < 1e-9);
            let figure = build.units.thickness_number(mark.thickness_mm);
            assert!(labels(&drawing).iter().any(|label| label.text == figure), "{figure}");
        }
        assert!((block.check[0].thickness_mm - riser.feather_mm).abs() < 1e-12);
        let last = block.check.last().expect("marks");
        assert!((last.thickness_mm - riser.depth_mm).abs() < 1e-9 && (last.station_mm - 0.5 * riser.level_mm).abs() < 1e-9);
    }
    let marks = riser_sheet(&flatbow()).1.check;
    let inches: Vec<f64> = marks.iter().map(|mark| mark.from_feather_mm / IN).collect();
    let wanted = [0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 3.5, 4.0, 4.5, 5.0, 5.5];
    assert!(inches.len() == wanted.len() && inches.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-9), "{inches:?}");
    let millimetres: Vec<f64> = riser_sheet(&longbow()).1.check.iter().map(|mark| mark.from_feather_mm).collect();
    assert!(millimetres.starts_with(&[0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0]), "{millimetres:?}");
}

#[test]
fn arc_fade_has_the_radius_of_the_handbook() {
    // Radius of an arc from its chord c and height h, r = (c² + 4h²) / (8h): Machinery's Handbook, "Segments of circles" (from
    // memory). A fade is half such a segment: c = 2 × 5.5 in, h = 1.5 − 0.012 in.
    let (c, h) = (11.0 * IN, 1.488 * IN);
    let radius = (c * c + 4.0 * h * h) / (8.0 * h);
    let (drawing, block) = riser_sheet(&flatbow());
    let arcs: Vec<f64> = block
        .template
        .pieces()
        .filter_map(|(from, to, bulge)| taperwright::geometry::path::Arc::of(from, to, bulge))
        .map(|arc| arc.radius)
        .collect();
    assert_eq!(arcs.len(), 2);
    assert!(arcs.iter().all(|r| (r - radius).abs() < 1e-9), "{arcs:?} {radius}");
    assert!(labels(&drawing).iter().any(|label| label.text == format!("R {}", System::Inch.rule(radius))));
}

#[test]
fn slices_and_glue_lines_add_up() {
    let build = flatbow();
    let block = riser_sheet(&build).1;
    // 0.48 + 0.06 + 0.52 + 0.06 + 0.48 in of wood and four lines of 0.003 in.
    assert!((block.width_mm / IN - 1.612).abs() < 1e-9);
    assert!((block.bands[0].from_mm - 0.5 * block.width_mm).abs() < 1e-9);
    assert!((block.bands[4].to_mm + 0.5 * block.width_mm).abs() < 1e-9);
    let trim = block.trim.expect("the build has an outline");
    // At the centre (1.612 − 1.125) / 2; least at the feather, where the outline is 1.125 + 5/6 × 0.475 in wide.
    assert!((trim.at_grip_mm / IN - 0.2435).abs() < 1e-9);
    assert!((trim.min_at_mm / IN - 8.0).abs() < 1e-9);
    assert!((trim.min_mm / IN - 0.5 * (1.612 - 1.125 - 0.475 * 5.0 / 6.0)).abs() < 1e-9);
}

#[test]
fn seams_lie_where_the_outline_crosses_a_glue_line() {
    let build = longbow();
    let outline = build.outline.as_ref().expect("an outline");
    let block = riser_sheet(&build).1;
    assert!(!block.seams.is_empty());
    for seam in &block.seams {
        let pair = &block.bands[seam.after_slice..=seam.after_slice + 1];
        let v = 0.5 * (pair[0].to_mm + pair[1].from_mm);
        assert!((0.5 * outline.width_at(seam.station_mm) - v.abs()).abs() < 1e-6);
        // On either side of the seam another slice shows.
        let shows = |s: f64| block.slice_on_side(outline, s, seam.side);
        assert_ne!(shows(seam.station_mm - 0.05), shows(seam.station_mm + 0.05));
    }
}

#[test]
fn a_block_narrower_than_the_outline_is_warned_of() {
    let mut build = flatbow();
    if let Some(riser) = &mut build.riser {
        riser.across.truncate(4);
    }
    let reported = riser_block::lay_out(&build, CheckSteps::usual(build.units)).expect("a riser");
    assert_eq!(reported.warnings.len(), 1);
    let text = reported.warnings[0].spoken(build.units).to_string();
    // 1.6 − 0.48 in and three glue lines; the outline at the feather is 1.5208 in.
    assert!(text.contains("1.129 in wide") && text.contains("1.5208 in wide at station 8 in"), "{text}");
    assert!(sheets::riser::sheet(&build, &reported.value).expect("a riser").notes.iter().any(|note| note.starts_with("CAUTION")));
}

#[test]
fn faces_are_named_by_the_riser_s_place() {
    for (position, back, belly) in [
        (0, "the flat face is the back of the bow", "the lamination back climbs the fades"),
        (2, "the flat face is glued to the lamination core", "the lamination belly climbs the fades"),
        (3, "the flat face is glued to the lamination belly", "nothing climbs the fades"),
    ] {
        let mut build = flatbow();
        if let Some(riser) = &mut build.riser {
            riser.position = position;
        }
        let drawing = riser_sheet(&build).0;
        for text in [back, belly] {
            assert!(labels(&drawing).iter().any(|label| label.text.contains(text)), "{position}: {text}");
        }
    }
}

#[test]
fn bounds_hold_every_label() {
    let drawing = in_one(&riser_sheet(&longbow()).0).into_owned();
    let extent: Bounds = taperwright::drawing::font::extent(&drawing);
    assert!(labels(&drawing).iter().flat_map(|label| corners(label)).all(|p| extent.min.x <= p.x && p.x <= extent.max.x));
}

/// Three kinds of part, one with a slot, and how they lie on two beds.
fn cut(build: &Build) -> SheetCut {
    let rectangle =
        |x: f64, y: f64, w: f64, h: f64| Path::rectangle(Bounds { min: Point::new(x, y), max: Point::new(x + w, y + h) });
    let mut rib = Part::new("rib 4", rectangle(0.0, 0.0, 120.0, 25.0), 6.0, "keeps the rails apart");
    rib.count = 3;
    rib.holes.push(rectangle(20.0, 8.0, 6.1, 9.0));
    let rail = Part::new("left rail 1 of 3", rectangle(0.0, 0.0, 300.0, 25.0), 6.0, "its top edge is the ramp");
    let stop = Part::new("stop", rectangle(0.0, 0.0, 20.0, 80.0), 6.0, "stands over the strip's seat");
    let placed = |part: usize, copy: u32, x: f64, y: f64| Placed { part, copy, placement: Placement::moved(x, y) };
    let load = |placed: Vec<Placed>| BedLoad { width_mm: 508.0, height_mm: 304.8, thickness_mm: 6.0, placed };
    let first = vec![placed(1, 1, 5.0, 5.0), placed(0, 1, 5.0, 40.0), placed(0, 2, 140.0, 40.0), placed(0, 3, 280.0, 40.0)];
    let loads = vec![load(first), load(vec![placed(2, 1, 5.0, 5.0)])];
    let sheet = build.sled.as_ref().expect("a plan").sheet.clone();
    let from = (0..3).map(|number| (Whose::Sled(0), number)).collect();
    SheetCut { sheet, fit_mm: 0.1, parts: vec![rib, rail, stop], from, loads }
}

#[test]
fn cut_lines_lie_half_the_cut_outside_parts_and_inside_holes() {
    for (cutter, half, true_edges) in [
        (SheetCutter::Laser { kerf_mm: 0.2, bed_mm: [508.0, 304.8], holds_mm: 0.1 }, 0.1, 0),
        (SheetCutter::Router { bit_mm: 3.0, bed_mm: [508.0, 304.8], holds_mm: 0.1 }, 1.5, 7),
        (SheetCutter::Hand { holds_mm: 0.5 }, 0.0, 0),
    ] {
        let build = Build { shop: shop(cutter), ..flatbow() };
        let sheets = sheets::cut::loads(&build, &[cut(&build)]).expect("a cutter that fits");
        assert_eq!(sheets.iter().map(|sheet| sheet.drawing.name.as_str()).collect::<Vec<_>>(), ["cut-1", "cut-2"]);
        for sheet in &sheets {
            check_sheet(&sheet.drawing);
            check_sheet(&sheet.overview);
            assert!(sheet.overview.items.is_empty(), "an overview is not at true size");
        }
        let first = &sheets[0].drawing;
        let area = |w: f64, h: f64, c: f64| (w + 2.0 * c) * (h + 2.0 * c) - (4.0 - std::f64::consts::PI) * c * c;
        for (part, width) in [("rib 4", 120.0), ("left rail 1 of 3", 300.0)] {
            let cut = cut_paths(first, part);
            assert_eq!(cut.len(), if part == "rib 4" { 3 } else { 1 });
            assert!(cut.iter().all(|path| (path.area().abs() - area(width, 25.0, half)).abs() < 1e-6), "{part} {half}");
        }
        let holes = paths(first, Kind::CutInside);
        assert_eq!(holes.len(), 3);
        assert!(holes.iter().all(|(_, hole)| (hole.area().abs() - (6.1 - 2.0 * half) * (9.0 - 2.0 * half)).abs() < 1e-6));
        // The true edges of four parts and three holes are for the eye only, where the eye can tell them apart.
        assert_eq!(paths(first, Kind::Edge).len(), true_edges);
        for copy in ["rib 4  1/3", "rib 4  2/3", "rib 4  3/3", "left rail 1 of 3"] {
            let named = first.items.iter().filter(|item| item.kind == Kind::Engrave);
            assert!(named.filter(|item| matches!(&item.shape, Shape::Label(label) if label.text == copy)).count() == 1, "{copy}");
        }
        // A router's sheet says what only the shop can say.
        let missing = first.notes.iter().any(|note| note.contains("tabs, direction, ramp, depth, through"));
        assert_eq!(missing, matches!(cutter, SheetCutter::Router { .. }));
    }
}

#[test]
fn a_slot_that_the_bit_cannot_enter_is_a_fault() {
    let cutter = SheetCutter::Router { bit_mm: 6.35, bed_mm: [508.0, 304.8], holds_mm: 0.1 };
    let build = Build { shop: shop(cutter), ..flatbow() };
    let faults = sheets::cut::loads(&build, &[cut(&build)]).expect_err("the slot is 6.1 mm wide");
    // Three copies of one part are one fault.
    assert_eq!(faults.len(), 1);
    assert!(faults[0].to_string().contains("rib 4"), "{}", faults[0]);
}

#[test]
fn heights_on_the_assembly_add_up_to_the_gap() {
    let build = flatbow();
    let drawing = sled_sheets(&build, 1, SledMake::Ramp).pop().expect("an assembly");
    let texts: Vec<&str> = labels(&drawing).iter().map(|label| label.text.as_str()).collect();
    // By hand: butt 0.150 in level for 4 in, then 0.002 in/in to 30.5 in further at the end of the overrun: 0.089 in. The ramp
    // there is 1.000 + 0.061 in high, and the stop 1 mm under the gap of 1.000 + 0.150 + 6.1 mm.
    for wanted in ["1.061", "1.301", "0.089", "0.150", "tip: stop 1.351 in high, 0.050 in over the seat"] {
        assert!(texts.contains(&wanted), "{wanted}");
    }
    assert!(texts.iter().any(|text| text.contains("1.390 in above the table")));
    assert!(texts.contains(&"this end goes in first"));
}

#[test]
fn shims_are_named_by_their_pieces() {
    let build = longbow();
    let (_, kit) = kit_for(&build, 1, SledMake::Shims).expect("a carrier stiff enough");
    let drawing = sled_sheets(&build, 1, SledMake::Shims).pop().expect("an assembly");
    assert!(kit.shims.iter().any(|shim| !shim.made.pieces.is_empty()));
    for shim in kit.shims.iter().filter(|shim| !shim.made.pieces.is_empty()) {
        let (kind, count) = shim.made.pieces[0];
        let begins = format!("{count} × {}", build.shop.shims[kind].of);
        assert!(labels(&drawing).iter().any(|label| label.text.starts_with(&begins)), "{begins}");
    }
}

#[test]
fn a_raised_end_states_its_shim_and_where_it_stands() {
    let build = longbow();
    let drawing = sled_sheets(&build, 1, SledMake::RaisedEnd).pop().expect("a straight taper");
    // By hand: the sled is 868 + 2 × 19.05 + 2 × 76.2 = 1058.5 mm long, and 0.0009 × 1058.5 = 0.953 mm.
    let steps = labels(&drawing).iter().map(|label| label.text.clone()).collect::<Vec<_>>().join(" ");
    assert!(steps.contains("shim of 0.95 mm") && steps.contains("1058.5 mm from the edge"), "{steps}");
    // The flat part of the flatbow's core is no straight taper.
    assert!(sled_sheets(&flatbow(), 1, SledMake::RaisedEnd).is_empty());
}

#[test]
fn loads_together_hold_every_copy_of_every_part() {
    for (build, index) in [(flatbow(), 0), (flatbow(), 1), (longbow(), 0)] {
        let (_, kit) = kit_for(&build, index, SledMake::Ramp).expect("parts that can be cut");
        let mut sheets = sled_sheets(&build, index, SledMake::Ramp);
        let assembly = sheets.pop().expect("an assembly");
        assert_eq!(assembly.name, format!("sled-{}-assembly", kit.sled.lamination));
        assert!(assembly.items.is_empty(), "nothing at true size on the assembly");
        assert!(assembly.panels.iter().flat_map(|panel| &panel.items).all(|item| !item.kind.is_for_cutter()));
        for part in &kit.parts {
            let name = format!("{}: {}", build.laminations[index].name, part.name);
            let drawn: usize = sheets.iter().map(|sheet| cut_paths(sheet, &name).len()).sum();
            assert_eq!(drawn, part.count as usize, "{name}");
        }
        for (k, sheet) in sheets.iter().enumerate() {
            assert_eq!(sheet.name, format!("cut-{}", k + 1));
        }
    }
}

/// What the machine's maker allows is the builder's word where the file has it, and ours where it has not; whoever reads the sheet is told which.
#[test]
fn limits_of_the_machine_say_whose_they_are() {
    let meadow = include_str!("../examples/meadow.toml");
    let (stated, assumed) = ("as the build file state", "assumed here: read the machine's manual");
    let plain: Vec<&str> =
        meadow.lines().filter(|line| !line.starts_with("least_length") && !line.starts_with("least_thickness")).collect();
    for (keys, said, not_said) in [
        ("", vec![assumed], vec![stated]),
        ("least_length = 9.5\nleast_thickness = 0.041", vec![stated, "9 1/2 in", "0.041 in"], vec![assumed]),
        ("least_length = 9.5", vec!["shorter than 9 1/2 in, as the build file states it", assumed], vec![]),
        ("least_thickness = 0.041", vec!["thinner than 0.041 in, as the build file states it", assumed], vec![]),
    ] {
        let text = plain.join("\n").replacen("[sander]", &format!("[sander]\n{keys}"), 1);
        let (_, read) = taperwright::buildfile::read("meadow.toml", &text);
        let told = taperwright::shop::cautions::grinding(&read.expect("reads").value).join(" ");
        said.iter().for_each(|words| assert!(told.contains(words), "{keys}: {words} is not in {told}"));
        not_said.iter().for_each(|words| assert!(!told.contains(words), "{keys}: {words} is in {told}"));
    }
}

/// On the tip's side view no line that stands upright, a size's or the nock's, runs through a word.
#[test]
fn no_line_runs_through_a_word_of_the_tip() {
    let wren = include_str!("../examples/more/wren.toml");
    let metric = "units = \"mm\"\n[outline]\nnock_to_nock = 1660\nwidth = [[0, 40], [830, 14]]\ntip_beyond_nock = 20\n[[lamination]]\nname = \"lath\"\n\
                  wood = \"maple, sugar\"\nthickness = 9\n";
    let overlay =
        |face: &str, keys: &str| format!("[[overlay]]\nface = \"{face}\"\nwood = \"locust, black\"\nthickness = 3\n{keys}\n");
    let files = [
        wren.to_owned(),
        format!("{metric}{}", overlay("belly", "length = 45\nfade = 20")),
        format!("{metric}{}{}", overlay("back", "length = 45\nfade = 20"), overlay("belly", "length = 30\nfade = 5")),
        format!("{metric}{}", overlay("back", "length = 24\nfade = 24")),
        format!("{}{}", metric.replace("beyond_nock = 20", "beyond_nock = 6"), overlay("back", "length = 45\nfade = 38")),
    ];
    for text in files {
        let (_, read) = taperwright::buildfile::read("tip.toml", &text);
        let sheet = sheets::outline::sheet(&read.expect("reads").value).expect("an outline");
        let panel =
            sheet.panels.iter().find(|panel| labels(panel).iter().any(|label| label.text.starts_with("Tip from the side")));
        let panel = panel.expect("the tip's side view");
        let upright = panel.items.iter().filter_map(|item| match &item.shape {
            Shape::Path(path) if matches!(item.kind, Kind::Dimension | Kind::Centre) => Some(path.bounds()),
            _ => None,
        });
        for line in upright.filter(|bounds| bounds.width() < 1e-9) {
            for label in labels(panel) {
                let word = ink(label);
                let beside =
                    line.max.x < word.min.x || word.max.x < line.min.x || line.max.y < word.min.y || word.max.y < line.min.y;
                assert!(beside, "a line runs through `{}`", label.text);
            }
        }
    }
}

/// The numbers by which parts are found in the picture of a load stand on no line of it: not on the slots of ribs and rails either.
#[test]
fn numbers_of_parts_stand_on_no_line() {
    let (mut numbers, mut struck) = (0, Vec::new());
    for build in [flatbow(), longbow()] {
        for index in 0..build.laminations.len() {
            if build.laminations[index].ground {
                continue;
            }
            let Some((plan, kit)) = kit_for(&build, index, SledMake::Ramp) else { continue };
            for load in load_sheets(&build, index, &plan, &kit) {
                let picture = &load.overview.panels[0];
                let lines: Vec<Vec<Point>> = picture
                    .items
                    .iter()
                    .filter(|item| item.kind == Kind::Edge)
                    .filter_map(|item| if let Shape::Path(path) = &item.shape { Some(path.flattened(0.05)) } else { None })
                    .collect();
                for item in &picture.items {
                    let Shape::Label(label) = &item.shape else { continue };
                    if label.text.parse::<u32>().is_err() {
                        continue;
                    }
                    numbers += 1;
                    let text = Bounds::of(corners(label));
                    let inside = |p: Point| text.min.x < p.x && p.x < text.max.x && text.min.y < p.y && p.y < text.max.y;
                    let cuts = |pair: &[Point]| (0..=400).any(|k| inside(pair[0].lerp(pair[1], f64::from(k) / 400.0)));
                    if lines.iter().any(|line| line.windows(2).any(cuts)) {
                        struck.push(format!("{} of {}", label.text, load.drawing.name));
                    }
                }
            }
        }
    }
    assert!(40 < numbers && struck.is_empty(), "{numbers}: {struck:?}");
}

/// What a step asks to be written down has a place in the table of every make, and a part that no sheet draws is told what to mark on it.
#[test]
fn steps_name_what_the_sheet_has() {
    let build = flatbow();
    for make in SledMake::ALL {
        let Some((plan, kit)) = kit_for(&build, 1, make) else { continue };
        let sheet = sheets::assembly::sheet(&build, &plan, &build.laminations[1], &kit, &own_gap(&build, 1, &kit));
        let said: Vec<String> = sheet
            .panels
            .iter()
            .flat_map(|panel| &panel.items)
            .filter_map(|item| if let Shape::Label(label) = &item.shape { Some(label.text.clone()) } else { None })
            .collect();
        let all = said.join(" ");
        assert!(all.contains("write down what is read") && said.iter().any(|text| text == "read"), "{make:?}: {all}");
        assert!(!all.contains("last column"));
        for part in kit.parts.iter().filter(|_| !kit.is_cut()) {
            assert!(!part.purpose.spoken(build.units).contains("show"), "{make:?}: {}", part.name);
        }
    }
}
