//! What each stage reads of a build.
//!
//! A stage is given a build in which everything that it does not read is blank. So it cannot read what is not stated here, and where two
//! builds look the same through this, the stage's value is the same value.
//!
//! | stage | blank |
//! |---|---|
//! | glue-up, fades | title, target, sizing, sander, sleds, cutter, paper, lines, the strips' stock but for its width, tip overlays, splices of one wood, scarfs between halves, what hands cut from the riser |
//! | draw, strains, weights | the same, but it has its target and its overlays; of that not the positive tiller |
//! | shot | as for draw, but it has its string and tips |
//! | tiller | as for draw, with the positive tiller |
//! | one lamination's sled and passes | the other laminations, riser, glue, target |
//! | riser block | as for the glue-up, but it has what hands cut |

use crate::drawing::kind::LineTable;
use crate::mechanics::tillering::PositiveTiller;
use crate::model::Build;
use crate::model::build::Target;
use crate::model::join::Meet;
use crate::model::lamination::{Lamination, Stock};
use crate::model::riser::Riser;
use crate::model::string::ShotPlan;
use crate::model::workshop::{AlsoPrinted, Glue, PrintPaper, RouterProfile, SheetCutter, Shop};

/// What the glue-up reads.
pub(super) fn of_glue_up(build: &Build) -> Build {
    Build {
        title: String::new(),
        target: None,
        sizing: None,
        series: Vec::new(),
        calibration: Vec::new(),
        learnt: None,
        shot: ShotPlan::default(),
        sander: None,
        sled: None,
        shop: no_shop(),
        assumed: Vec::new(),
        laminations: build.laminations.iter().map(wood_alone).collect(),
        overlays: Vec::new(),
        // What hands cut from the riser hardly bends; what its wood bears is asked of the whole build.
        riser: uncut(build).map(|riser| Riser { overlay: None, ..riser }),
        ..build.clone()
    }
}

/// What bracing and drawing read.
pub(super) fn of_draw(build: &Build) -> Build {
    let target = build.target.map(|target| Target { positive_tiller_mm: 0.0, ..target });
    Build { target, overlays: build.overlays.clone(), riser: uncut(build), ..of_glue_up(build) }
}

/// What the shot reads.
pub(super) fn of_shot(build: &Build) -> Build {
    Build { shot: build.shot.clone(), ..of_draw(build) }
}

/// What the tiller's targets read.
pub(super) fn of_tiller(build: &Build) -> Build {
    // A tiller that is only habitual gives way to limbs that cannot show it.
    let assumed = build.assumed.iter().filter(|assumed| assumed.key == PositiveTiller::KEY).cloned().collect();
    Build { target: build.target, assumed, overlays: build.overlays.clone(), riser: uncut(build), ..of_glue_up(build) }
}

/// What the sled and the passes of one lamination read.
pub(super) fn of_grinding(build: &Build, lamination: usize) -> Build {
    Build {
        target: None,
        outline: None,
        riser: None,
        laminations: build.laminations.get(lamination).cloned().into_iter().collect(),
        overlays: Vec::new(),
        sizing: None,
        series: Vec::new(),
        calibration: Vec::new(),
        learnt: None,
        glue: no_glue(),
        shot: ShotPlan::default(),
        assumed: Vec::new(),
        ..build.clone()
    }
}

/// What the riser block reads.
pub(super) fn of_riser(build: &Build) -> Build {
    Build { riser: build.riser.clone(), ..of_glue_up(build) }
}

/// The riser before hands cut shelf and grip.
fn uncut(build: &Build) -> Option<Riser> {
    build.riser.clone().map(|riser| Riser { grip: None, pass: None, ..riser })
}

/// The wood of a lamination, not how it is ground.
fn wood_alone(lamination: &Lamination) -> Lamination {
    Lamination {
        stock: Stock { thickness_mm: 0.0, spread_mm: 0.0, overrun_mm: 0.0, first_face_mm: 0.0, ..lamination.stock },
        sled: None,
        splice: lamination.splice.clone().filter(|splice| splice.outer.is_some()),
        meet: Some(lamination.meet).filter(|meet| matches!(meet, Meet::Lapped { .. })).unwrap_or_default(),
        ..lamination.clone()
    }
}

fn no_shop() -> Shop {
    let paper = PrintPaper { name: String::new(), width_mm: 0.0, height_mm: 0.0, roll: false, margin_mm: 0.0 };
    Shop {
        cutter: SheetCutter::Hand { holds_mm: 0.0 },
        paper,
        shims: Vec::new(),
        lines: LineTable::default(),
        printed: AlsoPrinted::default(),
        profile: RouterProfile::default(),
    }
}

fn no_glue() -> Glue {
    Glue { line_mm: 0.0, modulus_mpa: 0.0, spread_kg_m2: 0.0, stages: Vec::new(), retained: 0.0 }
}
