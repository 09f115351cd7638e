//! Sheets: what is drawn is what was asked for, at true size, and no two texts stand on each other.

use taperwright::diag::Place;
use taperwright::drawing::font::{corners, missing};
use taperwright::drawing::{Drawing, Kind, Label, LineTable, Shape};
use taperwright::geometry::{Bounds, Path, Point};
use taperwright::model::Build;
use taperwright::model::build::Target;
use taperwright::model::lamination::{Face, Lamination, Pieces, Stock};
use taperwright::model::outline::{Nock, Outline};
use taperwright::model::riser::{Fade, Riser, Slice};
use taperwright::model::taper::Taper;
use taperwright::model::wood;
use taperwright::model::workshop::{
    Glue, GlueStage, Held, MachineCutter, Paper, PrintPaper, Sander, Sheet, SheetCutter, ShimStock, Shop, SledMake, SledPlan,
};
use taperwright::numeric::interp::{Between, Curve};
use taperwright::sheets;
use taperwright::shop::riser_block::{self, CheckSteps};
use taperwright::units::System;

const IN: f64 = 25.4;

fn wood(name: &str) -> wood::Wood {
    wood::named(name).expect("the table of woods has it").at_moisture(0.10)
}

fn slices(of: &[(&str, f64)]) -> Vec<Slice> {
    of.iter().map(|(name, width_mm)| Slice { wood: wood(name), width_mm: *width_mm }).collect()
}

fn lamination(name: &str, species: &str, finished: Taper, to_mm: f64, pieces: Pieces) -> Lamination {
    Lamination {
        name: name.into(),
        wood: wood(species),
        finished,
        from_mm: 0.0,
        to_mm,
        pieces,
        keep_face: None,
        ground: false,
        stock: Stock { thickness_mm: 5.0, spread_mm: 0.2, width_mm: 44.45, overrun_mm: 19.05, first_face_mm: 0.0 },
        stage: 1,
        width_share: 1.0,
        place: Place::new("lamination[0]"),
    }
}

fn glue(line_mm: f64) -> Glue {
    let stage = GlueStage { number: 1, held: Held::Flat, clamp_time_s: None, want_tip_mm: None };
    Glue { line_mm, modulus_mpa: 2500.0, spread_kg_m2: 0.35, stages: vec![stage], retained: 1.0 }
}

fn sander() -> Sander {
    Sander {
        cutter: MachineCutter::Drum,
        least_thickness_mm: 0.76,
        least_length_mm: 228.6,
        widest_mm: 406.4,
        feed_mm_s: 50.8,
        roller_n: 35.6,
        gap_step_mm: 0.0254,
        crank_mm: 1.5875,
        repeats_mm: 0.025,
        papers: vec![Paper { grit: Some(60), most_mm: 0.3, scratch_mm: 0.27 }],
        together: 2,
        repeat_last: 1,
    }
}

fn plan(make: SledMake, base_mm: f64) -> SledPlan {
    SledPlan {
        make,
        base_mm,
        deck_mm: if make == SledMake::Ramp { 6.0 } else { 0.0 },
        under_mm: 0.1,
        butt_leads: true,
        tolerance_mm: 0.0254,
        run_on_mm: 76.2,
        stop_clearance_mm: 1.0,
        supports_mm: None,
        sheet: Sheet {
            material: "birch plywood".into(),
            thickness_mm: 6.0,
            spread_mm: 0.1,
            width_mm: 609.6,
            length_mm: 1219.2,
            modulus_mpa: 9000.0,
        },
        fit_mm: 0.1,
    }
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
    }
}

/// An inch flatbow, 66 in nock to nock, 16 in riser with arc fades and five slices.
pub fn flatbow() -> Build {
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
            finishing_n: 13.3,
        }),
        outline: Some(Outline {
            nock_to_nock_mm: 66.0 * IN,
            width: Curve::through(points.to_vec(), Between::Straight).expect("points in order"),
            tip_beyond_nock_mm: 0.75 * IN,
            nock: Nock { depth_mm: 0.125 * IN, angle_rad: 40.0_f64.to_radians() },
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
        }),
        laminations: vec![back, lamination("core", "maple, sugar", core, end, Pieces::Halves), belly],
        moisture: 0.10,
        sizing: None,
        glue: glue(0.003 * IN),
        sander: Some(sander()),
        sled: Some(plan(SledMake::Ramp, 25.4)),
        shop: shop(SheetCutter::Laser { kerf_mm: 0.2, bed_mm: [508.0, 304.8], holds_mm: 0.1 }),
        assumed: Vec::new(),
    }
}

/// A metric longbow, 170 cm, with eased fades, twelve laminations with long names, and a smooth outline.
pub fn longbow() -> Build {
    let points = [(0.0, 30.0), (60.0, 29.0), (240.0, 36.5), (500.0, 33.0), (780.0, 18.0), (850.0, 11.0)];
    let end = 868.0;
    let species = ["hickory, shagbark", "maple, sugar", "ash, white", "locust, black"];
    let laminations = (0..12)
        .map(|k| {
            let taper = Taper::straight(0.0, end, 2.4 - 0.1 * f64::from(k), 0.0009).expect("a sound taper");
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
                ("walnut, black", 13.0),
                ("maple, sugar", 0.6),
                ("oak, white", 0.6),
                ("maple, sugar", 0.6),
                ("cherry, black", 9.0),
                ("locust, black", 14.5),
            ]),
        }),
        laminations,
        glue: glue(0.08),
        shop: shop(SheetCutter::Router { bit_mm: 3.0, bed_mm: [600.0, 900.0], holds_mm: 0.1 }),
        sled: Some(plan(SledMake::Shims, 10.0)),
        target: None,
        ..flatbow()
    }
}

fn labels(drawing: &Drawing) -> Vec<&Label> {
    drawing.items.iter().filter_map(|item| if let Shape::Label(label) = &item.shape { Some(label) } else { None }).collect()
}

fn paths(drawing: &Drawing, kind: Kind) -> Vec<(&str, &Path)> {
    drawing
        .items
        .iter()
        .filter(|item| item.kind == kind)
        .filter_map(|item| if let Shape::Path(path) = &item.shape { Some((item.part.as_str(), path)) } else { None })
        .collect()
}
