//! What the stack will draw, and what moves it: the draw curve with its band, sensitivities and stiff spots.

use crate::diag::{Diagnostic, Outcome, Place, Reported, mm, newtons};
use crate::mechanics::blank::{self, Floor};
use crate::mechanics::bow::Options;
use crate::mechanics::calibration::{self, Calibrated};
use crate::mechanics::draw::{self, DrawCurve};
use crate::mechanics::fade;
use crate::mechanics::glueup::{self, GlueUp};
use crate::mechanics::hinge::{self, Cause, Hinge};
use crate::mechanics::sensitivity::{self, Sensitivity};
use crate::mechanics::tiller::{self, Targets};
use crate::mechanics::verdict::Limits;
use crate::model::Build;
use crate::shop::{self, blank::Heavy};
use crate::units::System;

/// The bow in numbers.
pub struct Limbs {
    /// What the glue-up leaves; `None` where the build file names no stage, and the bow is straight unbraced.
    pub glued: Option<GlueUp>,
    /// What laminations that climb the fades would suffer, and what cures it: for the riser's sheet.
    pub fade_warnings: Vec<Diagnostic>,
    pub curve: DrawCurve,
    pub sensitivity: Sensitivity,
    pub hinges: Vec<Hinge>,
    /// From belly to string, each four inches or 100 mm along the limb and each two inches or 50 mm of draw.
    pub tiller: Targets,
    /// What the floor tiller will show at one, two and four inches, or 25, 50 and 100 mm.
    pub floor: Vec<Floor>,
    /// What to take off if the trimmed bow is too heavy by 2, 5, 10 and 20 pounds, or 10, 20, 40 and 80 N.
    pub heavy: Vec<Heavy>,
    /// What finished bows made of the handbook's stiffness.
    pub calibrated: Option<Calibrated>,
    /// Relative standard deviation of the draw weight.
    spread: f64,
}

impl Limbs {
    /// One standard deviation of the draw weight, N: of the builder's own bows, or from the scatter of the woods.
    pub fn spread_n(&self) -> f64 {
        self.spread * self.sensitivity.weight_n
    }
}

/// The bow of a build from brace to full draw, a point for each inch or 25 mm; `None` for a batch of laminations.
pub fn limbs(build: &Build, calibrated: Option<Calibrated>) -> Outcome<Option<Limbs>> {
    if build.target.is_none() || build.outline.is_none() {
        return Ok(Reported::clean(None));
    }
    let mut warnings = Vec::new();
    let stiffness = calibrated.map_or(1.0, |own| own.factor);
    let glued = super::kept(glued(build)?, &mut warnings).map(|glued| glued.stiffer(stiffness));
    let fades =
        fade::check(build, Limits::default(), |lamination, s| glued.as_ref().map_or(0.0, |g| g.held_curvature(lamination, s)));
    let fade_warnings: Vec<Diagnostic> = fades.iter().flat_map(|fades| fades.warnings(build)).collect();
    warnings.extend(fade_warnings.iter().cloned());
    let options = options(build, glued.as_ref(), calibrated);
    let curve = super::kept(draw::curve(build, &options)?, &mut warnings);
    let sensitivity = super::kept(sensitivity::of(build, &options)?, &mut warnings);
    let spread = calibration::spread(build, calibrated, sensitivity.spread_n / sensitivity.weight_n);
    let hinges = hinge::find(build, &curve);
    warnings.extend(hinges.iter().map(|hinge| hinge_warning(build, hinge)));
    warnings.extend(missed(build, curve.at_full_draw().force_n));
    let tiller = tiller(build, &curve);
    let drops_mm = match build.units {
        System::Inch => [1.0, 2.0, 4.0].map(|inches| System::Inch.to_mm(inches)),
        System::Millimetre => [25.0, 50.0, 100.0],
    };
    let floor = blank::floor(build, &options, &drops_mm).map_err(|fault| vec![fault])?;
    let excesses_n = match build.units {
        System::Inch => [2.0, 5.0, 10.0, 20.0].map(|pounds| System::Inch.to_newtons(pounds)),
        System::Millimetre => [10.0, 20.0, 40.0, 80.0],
    };
    let heavy = shop::blank::heavy(build, &options, &excesses_n).map_err(|fault| vec![fault])?;
    Ok(Reported {
        value: Some(Limbs { glued, fade_warnings, curve, sensitivity, hinges, tiller, floor, heavy, calibrated, spread }),
        warnings,
    })
}

/// What the glue-up leaves; `None` where the build file names no stage, and the bow is taken as straight unbraced.
pub fn glued(build: &Build) -> Outcome<Option<GlueUp>> {
    if build.glue.stages.is_empty() {
        return Ok(Reported::clean(None));
    }
    glueup::plan(build).map(|Reported { value, warnings }| Reported { value: Some(value), warnings })
}

/// How a build's bow is to be solved: steps in its units, the unbraced shape that the glue-up leaves, stiffness as its
/// builder's bows have shown it.
pub fn options(build: &Build, glued: Option<&GlueUp>, calibrated: Option<Calibrated>) -> Options {
    let unstrung = glued.map(|glued| glued.unstrung.clone()).unwrap_or_default();
    let step = match build.units {
        System::Inch => System::Inch.to_mm(1.0),
        System::Millimetre => 25.0,
    };
    let options = Options { draw_step_mm: step, station_step_mm: step, unstrung, ..Options::default() };
    let Some(own) = calibrated else { return options };
    // A build without a draw weight is refused by whoever asks for one.
    let stiffness_factor = calibration::on_untested(build, &options, own.factor).unwrap_or(own.factor);
    Options { stiffness_factor, ..options }
}

/// Tiller targets in round numbers of the builder's units.
pub fn tiller(build: &Build, curve: &DrawCurve) -> Targets {
    let draw_mm = match build.units {
        System::Inch => System::Inch.to_mm(2.0),
        System::Millimetre => 50.0,
    };
    tiller::targets(curve, tiller_stations(build), draw_mm)
}

/// Where a limb is measured, mm: at the riser's feather and every four inches or 100 mm.
pub fn tiller_stations(build: &Build) -> Vec<f64> {
    let step_mm = match build.units {
        System::Inch => System::Inch.to_mm(4.0),
        System::Millimetre => 100.0,
    };
    tiller::stations(build, step_mm)
}

/// What makes the limb bend more there, in words.
pub fn cause(build: &Build, cause: Cause) -> String {
    match cause {
        Cause::LaminationEnd(index) => format!("`{}` begins or ends there", build.laminations[index].name),
        Cause::Taper(index) => format!("the taper of `{}` turns there", build.laminations[index].name),
        Cause::Width => "the outline's width turns there".into(),
        Cause::Feather => "the riser's fade ends there".into(),
    }
}

/// A stack that misses its draw weight by more than grinding and scales do.
fn missed(build: &Build, weight_n: f64) -> Option<Diagnostic> {
    const SHARE: f64 = 0.05;
    let target = build.target.as_ref()?;
    let wanted_n = target.draw_weight_n + target.finishing_n;
    let off_n = weight_n - wanted_n;
    let message = format!(
        "the stack draws {}, {} {} than the {} wanted ({} of it for finishing)",
        newtons(weight_n),
        newtons(off_n.abs()),
        if off_n < 0.0 { "less" } else { "more" },
        newtons(wanted_n),
        newtons(target.finishing_n)
    );
    let fault = Diagnostic::warning(Place::new("target.draw_weight"), message);
    (SHARE * wanted_n < off_n.abs()).then(|| fault.hint("`taperwright size` solves the laminations under [sizing] for it"))
}

fn hinge_warning(build: &Build, hinge: &Hinge) -> Diagnostic {
    let place = match hinge.cause {
        Cause::LaminationEnd(index) | Cause::Taper(index) => build.laminations[index].place.clone(),
        Cause::Width => Place::new("outline.width"),
        Cause::Feather => Place::new("riser"),
    };
    let message = format!(
        "the limb bends {:.0} percent more than its neighbourhood at station {}: {} (station {})",
        100.0 * (hinge.over_trend - 1.0),
        mm(hinge.s_mm),
        cause(build, hinge.cause),
        mm(hinge.cause_mm)
    );
    Diagnostic::warning(place, message).hint("spread the change over a longer stretch, or leave the limb thicker or wider there")
}
