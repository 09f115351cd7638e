//! Bows for tests and benches, made straight in the model.

use super::shop;
use taperwright::drawing::kind::LineTable;
use taperwright::mechanics::bow::Options;
use taperwright::mechanics::draw::{self, DrawCurve};
use taperwright::model::build::{Build, Target};
use taperwright::model::lamination::{Lamination, Pieces, Stock};
use taperwright::model::outline::{LimbShape, Nock, Outline};
use taperwright::model::riser::{Fade, Riser, Slice};
use taperwright::model::taper::Taper;
use taperwright::model::wood::{self, Wood};
use taperwright::model::workshop::{Glue, GlueStage, Held, PrintPaper, SheetCutter, Shop};
use taperwright::numeric::interp::{Between, Curve};
use taperwright::units::System;

pub const IN: f64 = taperwright::units::MM_PER_IN;

/// Three woods, a belly that climbs the riser, tapered core and ground belly: 66 inches nock to nock.
pub fn flatbow() -> Build {
    let points = |list: &[(f64, f64)]| list.iter().map(|(s, y)| (s * IN, y * IN)).collect::<Vec<_>>();
    let end = 33.75 * IN;
    let wood = |name: &str| wood::named(name).unwrap().at_moisture(0.12);
    let slice = |name: &str, width: f64| Slice { wood: wood(name), width_mm: width * IN };
    Build {
        outline: Some(Outline {
            nock_to_nock_mm: 66.0 * IN,
            width: Curve::through(
                points(&[(0.0, 1.125), (3.0, 1.125), (9.0, 1.6), (20.0, 1.45), (33.0, 0.5)]),
                Between::Straight,
            )
            .unwrap(),
            tip_beyond_nock_mm: 0.75 * IN,
            nock: Nock { depth_mm: 3.0, angle_rad: 0.7 },
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
            across: vec![slice("walnut, black", 0.6), slice("maple, sugar", 0.06), slice("walnut, black", 0.6)],
            layers: Vec::new(),
            footing: None,
            overlay: None,
            grip: None,
            pass: None,
        }),
        laminations: vec![
            lamination("back", wood("hickory, shagbark"), Taper::parallel(0.140 * IN), end),
            lamination(
                "core",
                wood("maple, sugar"),
                Taper::flat_then_straight(0.0, end, 0.150 * IN, 4.0 * IN, 0.002).unwrap(),
                end,
            ),
            lamination(
                "belly",
                wood("locust, black"),
                Taper::ground(points(&[(0.0, 0.181), (8.0, 0.166), (16.0, 0.149), (24.0, 0.133), (33.75, 0.114)])).unwrap(),
                end,
            ),
        ],
        ..plain(System::Inch)
    }
}

/// One strip of even width and thickness and no riser: the build that closed forms know.
pub fn lath(half_mm: f64, width_mm: f64, thickness_mm: f64, modulus_mpa: f64) -> Build {
    let mut strip = wood::named("maple, sugar").unwrap().at_moisture(0.12);
    strip.modulus_mpa = modulus_mpa;
    Build {
        outline: Some(Outline {
            nock_to_nock_mm: 2.0 * half_mm,
            width: Curve::constant(width_mm),
            tip_beyond_nock_mm: 10.0,
            nock: Nock { depth_mm: 3.0, angle_rad: 0.7 },
            shape: LimbShape::default(),
        }),
        laminations: vec![lamination("lath", strip, Taper::parallel(thickness_mm), half_mm + 10.0)],
        ..plain(System::Millimetre)
    }
}

/// One stage on a form, all else left open.
pub fn on_form(rise: Vec<(f64, f64)>) -> GlueStage {
    GlueStage { number: 1, held: Held::Form { rise }, want_tip_mm: None, clamp_time_s: None, press: None, retained: None }
}

pub fn drawn(build: &Build, options: &Options) -> DrawCurve {
    draw::curve(build, options).unwrap_or_else(|faults| panic!("{}", faults[0])).value
}

/// At full draw, N.
pub fn weight(build: &Build) -> f64 {
    drawn(build, &Options::default()).at_full_draw().force_n
}

pub fn lamination(name: &str, wood: Wood, finished: Taper, to_mm: f64) -> Lamination {
    let stock = Stock { thickness_mm: 8.0, spread_mm: 0.2, width_mm: 45.0, overrun_mm: 19.0, first_face_mm: 0.0 };
    shop::lamination(name, wood, finished, to_mm, Pieces::Halves, stock)
}

/// 28 inches, braced at 6¼, and nothing else said.
fn plain(units: System) -> Build {
    Build {
        title: "test".to_owned(),
        units,
        target: Some(Target {
            draw_weight_n: 200.0,
            draw_length_mm: 28.0 * IN,
            pivot_to_nock_mm: 26.25 * IN,
            brace_height_mm: 6.25 * IN,
            in_pounds: true,
            finishing_n: 0.0,
            positive_tiller_mm: 3.0 / 16.0 * 25.4,
            grip_depth_mm: None,
        }),
        outline: None,
        riser: None,
        laminations: Vec::new(),
        overlays: Vec::new(),
        moisture: 0.12,
        sizing: None,
        series: Vec::new(),
        calibration: Vec::new(),
        limb: None,
        learnt: None,
        glue: Glue { line_mm: 0.08, modulus_mpa: 3000.0, spread_kg_m2: 0.35, stages: Vec::new(), retained: 1.0 },
        shot: taperwright::model::string::ShotPlan::default(),
        sander: None,
        sled: None,
        shop: Shop {
            cutter: SheetCutter::Hand { holds_mm: 0.3 },
            paper: PrintPaper { name: "a4".to_owned(), width_mm: 210.0, height_mm: 297.0, roll: false, margin_mm: 6.0 },
            shims: Vec::new(),
            lines: LineTable::default(),
            printed: taperwright::model::workshop::AlsoPrinted::default(),
            profile: taperwright::model::workshop::RouterProfile::default(),
        },
        assumed: Vec::new(),
    }
}
