//! The bow of a build in stages: what the glue-up leaves, what it draws, and where its tiller should stand.

use super::kept::{Kept, plain};
use super::limbs::OtherFile;
use super::{Refused, reads};
use crate::diag::{Diagnostic, Outcome, Place, Reported};
use crate::mechanics::blank::{self, Floor};
use crate::mechanics::bow::{Options, Unstrung};
use crate::mechanics::calibration::{self, Calibrated};
use crate::mechanics::draw::{self, DrawCurve};
use crate::mechanics::fade::{self, FadeCheck};
use crate::mechanics::glueup::compare::{self, Way};
use crate::mechanics::glueup::{self, Brought, GlueUp, HeldStage, scatter};
use crate::mechanics::hinge::{self, Hinge};
use crate::mechanics::mass;
use crate::mechanics::one_side;
use crate::mechanics::overstrain;
use crate::mechanics::pair::{self, PairCurve, PairOptions};
use crate::mechanics::sensitivity::{self, Sensitivity};
use crate::mechanics::tiller::{self, Standing, TargetGrid, Targets};
use crate::mechanics::twist;
use crate::mechanics::verdict::Limits;
use crate::mechanics::weigher::OtherLimb;
use crate::model::Build;
use crate::model::build::Target;
use crate::shop::{self, blank::Heavy};
use crate::units::System;
use std::sync::Arc;

/// Held, released, and bent over the fades.
#[derive(Debug)]
pub(super) struct Gluing {
    build: Build,
    /// Stiffness of the builder's wood over the handbook's.
    stiffness: f64,
    /// `None` where the build file names no stage, and the bow is taken as straight unbraced.
    brought: Kept<Option<Brought>>,
    unstrung: Kept<Unstrung>,
    held: Kept<Vec<HeldStage>>,
    glue_up: Kept<Option<GlueUp>>,
    fades: Kept<Option<FadeCheck>>,
    tip_scatter: Kept<Option<Vec<f64>>>,
}

impl Gluing {
    pub fn of(build: &Build, calibrated: Option<Calibrated>, before: Option<&Arc<Gluing>>) -> Arc<Gluing> {
        let (build, stiffness) = (reads::of_glue_up(build), calibrated.map_or(1.0, |own| own.factor));
        kept_if(before, |before| before.build == build && before.stiffness.to_bits() == stiffness.to_bits()).unwrap_or_else(
            || {
                Arc::new(Gluing {
                    build,
                    stiffness,
                    brought: Kept::default(),
                    unstrung: Kept::default(),
                    held: Kept::default(),
                    glue_up: Kept::default(),
                    fades: Kept::default(),
                    tip_scatter: Kept::default(),
                })
            },
        )
    }

    fn brought(&self) -> Result<&Reported<Option<Brought>>, Refused> {
        self.brought.reported(|| {
            if self.build.glue.stages.is_empty() {
                return Ok(Reported::clean(None));
            }
            Brought::of(&self.build).map(|Reported { value, warnings }| Reported { value: Some(value), warnings })
        })
    }

    /// Far quicker than the whole of the glue-up, whose loads, clamps and strains the draw does not ask for.
    pub fn unstrung(&self) -> Result<&Unstrung, Refused> {
        let brought = &self.brought()?.value;
        self.unstrung.value(|| {
            let unstrung = brought.as_ref().map(|brought| brought.unstrung(&self.build)).transpose()?;
            Ok(Reported::clean(unstrung.unwrap_or_default()))
        })
    }

    /// The stages wet on what holds them, none without a glue-up, with all that the glue-up warns of.
    pub fn held(&self) -> Result<&Reported<Vec<HeldStage>>, Refused> {
        let brought = self.brought()?;
        self.held.reported(|| {
            let Some(known) = &brought.value else { return Ok(Reported::clean(Vec::new())) };
            let Reported { value, warnings } = known.held(&self.build)?;
            Ok(Reported { value, warnings: [&brought.warnings[..], &warnings].concat() })
        })
    }

    /// Loads, clamps, strains and shapes of the whole glue-up.
    pub fn glue_up(&self) -> Result<Option<&GlueUp>, Refused> {
        let (brought, held, unstrung) = (&self.brought()?.value, &self.held()?.value, self.unstrung()?);
        let planned = self.glue_up.value(|| {
            let plan = |brought: &Brought| brought.plan(&self.build, held, unstrung.clone());
            let planned = brought.as_ref().map(plan).transpose()?;
            Ok(Reported::clean(planned.map(|planned| planned.stiffer(self.stiffness))))
        })?;
        Ok(planned.as_ref())
    }

    pub fn fades(&self) -> Result<&Option<FadeCheck>, Refused> {
        let stages = &self.held()?.value;
        let held = |lamination, s| HeldStage::curvature_under(stages, lamination, s);
        self.fades.value(|| Ok(Reported::clean(fade::check(&self.build, Limits::default(), held))))
    }

    /// One standard deviation of where each stage's tip springs to, mm; `None` without a glue-up.
    pub fn tip_scatter(&self) -> Result<&Option<Vec<f64>>, Refused> {
        let glued = self.glue_up()?;
        self.tip_scatter.value(|| Ok(Reported::clean(glued.and_then(|glued| scatter::of_tips(&self.build, glued)))))
    }
}

/// Braced and drawn.
#[derive(Debug)]
pub(super) struct BowStages {
    build: Build,
    calibrated: Option<Calibrated>,
    gluing: Arc<Gluing>,
    beside: Option<Arc<OtherFile>>,
    options: Kept<Options>,
    pair: Kept<PairCurve>,
    curve: Kept<DrawCurve>,
    sensitivity: Kept<Sensitivity>,
    hinges: Kept<Vec<Hinge>>,
    floor: Kept<Vec<Floor>>,
    heavy: Kept<Vec<Heavy>>,
    compared: Kept<Vec<Way>>,
    limb_kg: Kept<f64>,
    twist: Kept<Option<[f64; 2]>>,
}

impl BowStages {
    pub fn of(
        build: &Build,
        calibrated: Option<Calibrated>,
        gluing: &Arc<Gluing>,
        beside: Option<&Arc<OtherFile>>,
        before: Option<&Arc<BowStages>>,
    ) -> Arc<BowStages> {
        let build = reads::of_draw(build);
        let same_other = |before: &BowStages| match (before.beside.as_ref(), beside) {
            (Some(was), Some(is)) => Arc::ptr_eq(was, is),
            (was, is) => was.is_none() && is.is_none(),
        };
        let same = |before: &BowStages| {
            before.build == build && before.calibrated == calibrated && Arc::ptr_eq(&before.gluing, gluing) && same_other(before)
        };
        kept_if(before, same).unwrap_or_else(|| {
            Arc::new(BowStages {
                build,
                calibrated,
                gluing: gluing.clone(),
                beside: beside.cloned(),
                options: Kept::default(),
                pair: Kept::default(),
                curve: Kept::default(),
                sensitivity: Kept::default(),
                hinges: Kept::default(),
                floor: Kept::default(),
                heavy: Kept::default(),
                compared: Kept::default(),
                limb_kg: Kept::default(),
                twist: Kept::default(),
            })
        })
    }

    /// What bracing and drawing read of the build.
    pub fn build(&self) -> &Build {
        &self.build
    }

    pub fn options(&self) -> Result<&Options, Refused> {
        let unstrung = self.gluing.unstrung()?;
        self.options.value(|| Ok(Reported::clean(options(&self.build, unstrung.clone(), self.calibrated))))
    }

    /// The other limb, where it is a different one.
    fn other(&self) -> Result<Option<OtherLimb<'_>>, Refused> {
        self.beside.as_deref().map(OtherFile::limb).transpose()
    }

    /// What both limbs draw together; `None` where they are alike.
    pub fn pair(&self) -> Result<Option<&PairCurve>, Refused> {
        let Some(other) = self.other()? else { return Ok(None) };
        let options = self.options()?;
        let [upper, lower] = other.upper_first(&self.build);
        let pair = PairOptions { tiller_stations_mm: stations_of_two(upper, lower), ..other.pair(options) };
        let solved = || Ok(Reported::clean(pair::curve(upper, lower, &pair)?.value));
        self.pair.value(solved).map(Some)
    }

    pub fn curve(&self) -> Result<&Reported<DrawCurve>, Refused> {
        let (options, pair) = (self.options()?, self.pair()?);
        self.curve.reported(|| {
            let (Some(pair), Some(limb)) = (pair, &self.build.limb) else { return draw::curve(&self.build, options) };
            let curve = one_side::seen_from(pair, limb.is);
            let warnings = curve.worst.iter().filter_map(|worst| overstrain::warning(&self.build, worst)).collect();
            Ok(Reported { value: curve, warnings })
        })
    }

    pub fn sensitivity(&self) -> Result<&Reported<Sensitivity>, Refused> {
        let (options, other, curve) = (self.options()?, self.other()?, self.curve()?);
        self.sensitivity.reported(|| sensitivity::beside(&self.build, options, other, Some(&curve.value)))
    }

    /// One standard deviation of the draw weight, N: of the builder's own bows, or from the scatter of the woods.
    pub fn spread_n(&self) -> Result<f64, Refused> {
        let moves = &self.sensitivity()?.value;
        Ok(calibration::spread(&self.build, self.calibrated, moves.spread_n / moves.weight_n) * moves.weight_n)
    }

    pub fn hinges(&self) -> Result<&Vec<Hinge>, Refused> {
        let curve = self.curve()?;
        self.hinges.value(|| Ok(Reported::clean(hinge::find(&self.build, &curve.value))))
    }

    /// What the floor tiller will show at one, two and four inches, or 25, 50 and 100 mm.
    pub fn floor(&self) -> Result<&Vec<Floor>, Refused> {
        let options = self.options()?;
        let drops_mm = [1.0, 2.0, 4.0].map(|inches| self.build.units.either_mm(inches, 25.0 * inches));
        if self.beside.is_some() {
            return self.floor.value(|| Ok(Reported::clean(Vec::new())));
        }
        self.floor.value(|| plain(blank::floor(&self.build, options, &drops_mm)))
    }

    /// What to take off if the trimmed bow is too heavy by 2, 5, 10 and 20 pounds, or 10, 20, 40 and 80 N.
    pub fn heavy(&self) -> Result<&Vec<Heavy>, Refused> {
        let (options, other) = (self.options()?, self.other()?);
        let excesses_n = match self.build.units {
            System::Inch => [2.0, 5.0, 10.0, 20.0].map(|pounds| System::Inch.to_newtons(pounds)),
            System::Millimetre => [10.0, 20.0, 40.0, 80.0],
        };
        self.heavy.value(|| plain(shop::blank::heavy_beside(&self.build, options, other, &excesses_n)))
    }

    /// The same stack glued in other ways; none without a glue-up.
    pub fn compared(&self) -> Result<&Vec<Way>, Refused> {
        let (glued, options, other) = (self.gluing.glue_up()?, self.options()?, self.other()?);
        let other_glued = self.beside.as_ref().map(|beside| beside.other.bending.gluing.glue_up()).transpose()?.flatten();
        self.compared.value(|| {
            let of = |glued| match (other, other_glued) {
                (Some(other), Some(other_glued)) => compare::compare_beside(&self.build, glued, options, other, other_glued),
                (Some(_), None) => Ok(Vec::new()),
                (None, _) => compare::compare(&self.build, glued, options),
            };
            let ways = glued.map(of).transpose()?;
            Ok(Reported::clean(ways.unwrap_or_default()))
        })
    }

    /// Mass of one limb beyond the riser's feather, kg.
    pub fn limb_kg(&self) -> Result<f64, Refused> {
        self.limb_kg.value(|| plain(mass::limb_kg(&self.build))).copied()
    }

    /// How many times stiffer than just holds it at full draw the limb is sideways and in twist, from and to; `None` where it is not modelled.
    pub fn twist(&self) -> Result<Option<[f64; 2]>, Refused> {
        let (options, curve) = (self.options()?, self.curve()?);
        self.twist.value(|| plain(twist::margin(&self.build, options, &curve.value))).copied()
    }

    /// What glue-up, fades, draw and bend warn of, in that order; the faults where there is no bow.
    pub fn warnings(&self) -> Result<Vec<Diagnostic>, Refused> {
        let build = &self.build;
        let mut warnings = self.gluing.held()?.warnings.clone();
        warnings.extend(self.gluing.fades()?.iter().flat_map(|fades| fades.warnings(build)));
        let curve = self.curve()?;
        warnings.extend(curve.warnings.iter().cloned());
        warnings.extend(self.hinges()?.iter().map(|hinge| hinge.warning(build)));
        warnings.extend(missed(build, curve.value.at_full_draw().force_n));
        Ok(warnings)
    }
}

/// Where the string stands from the belly in a sound bow.
#[derive(Debug)]
pub(super) struct Tillering {
    build: Build,
    bending: Arc<BowStages>,
    standing: Kept<Standing>,
    targets: Kept<Targets>,
}

impl Tillering {
    pub fn of(build: &Build, bending: &Arc<BowStages>, before: Option<&Arc<Tillering>>) -> Arc<Tillering> {
        let build = reads::of_tiller(build);
        kept_if(before, |before| before.build == build && Arc::ptr_eq(&before.bending, bending)).unwrap_or_else(|| {
            let (standing, targets) = (Kept::default(), Kept::default());
            Arc::new(Tillering { build, bending: bending.clone(), standing, targets })
        })
    }

    /// How the limbs shall stand, and that they can be drawn so.
    fn standing(&self) -> Result<Standing, Refused> {
        let (options, curve) = (self.bending.options()?, self.bending.curve()?);
        if self.bending.other()?.is_some() {
            return Ok(Standing::BY_DESIGN);
        }
        let of = || plain(Standing::of(&self.build, options, &curve.value, &tiller_stations(&self.build)));
        self.standing.value(of).copied()
    }

    /// Where these limbs cannot show what is the habit.
    pub fn warning(&self) -> Result<Option<Diagnostic>, Refused> {
        Ok(self.standing()?.warning(&self.build))
    }

    /// From belly to string, each four inches or 100 mm along the limb and each two inches or 50 mm of draw.
    pub fn targets(&self) -> Result<&Targets, Refused> {
        let (options, curve) = (self.bending.options()?, self.bending.curve()?);
        let draw_step_mm = self.build.units.either_mm(2.0, 50.0);
        let (standing, other) = (self.standing()?, self.bending.other()?);
        self.targets.value(|| {
            let grid = |stations_mm| TargetGrid { stations_mm, draw_step_mm };
            plain(match other {
                None => standing.targets(&self.build, options, &curve.value, grid(tiller_stations(&self.build))),
                Some(other) => {
                    let [upper, lower] = other.upper_first(&self.build);
                    tiller::targets_beside(&self.build, options, other, &curve.value, grid(stations_of_two(upper, lower)))
                }
            })
        })
    }
}

/// The earlier stage where it reads the same.
pub(super) fn kept_if<T>(before: Option<&Arc<T>>, same: impl FnOnce(&T) -> bool) -> Option<Arc<T>> {
    before.filter(|before| same(before)).cloned()
}

/// What the glue-up leaves; `None` where the build file names no stage, and the bow is taken as straight unbraced.
pub fn glued(build: &Build) -> Outcome<Option<GlueUp>> {
    if build.glue.stages.is_empty() {
        return Ok(Reported::clean(None));
    }
    glueup::plan(build).map(|Reported { value, warnings }| Reported { value: Some(value), warnings })
}

/// The shape that the glue-up leaves, alone: all that drawing the bow asks of it; straight where the build file names no stage.
pub fn unstrung(build: &Build) -> Outcome<Unstrung> {
    if build.glue.stages.is_empty() { Ok(Reported::clean(Unstrung::default())) } else { glueup::unstrung(build) }
}

/// How a build's bow is to be solved: steps in its units, the unbraced shape that the glue-up leaves, stiffness as its
/// builder's bows have shown it.
pub fn options(build: &Build, unstrung: Unstrung, calibrated: Option<Calibrated>) -> Options {
    let step = build.units.either_mm(1.0, 25.0);
    let options = Options { draw_step_mm: step, station_step_mm: step, unstrung, ..Options::default() };
    let Some(own) = calibrated else { return options };
    // A build without a draw weight is refused by whoever asks for one.
    let stiffness_factor = calibration::on_untested(build, &options, own.factor).unwrap_or(own.factor);
    Options { stiffness_factor, ..options }
}

/// Where a limb is measured, mm: at the riser's feather and every four inches or 100 mm.
pub fn tiller_stations(build: &Build) -> Vec<f64> {
    tiller::stations(build, tiller_step_mm(build))
}

/// Where both limbs of a bow with two different ones are measured, mm.
fn stations_of_two(upper: &Build, lower: &Build) -> Vec<f64> {
    tiller::stations_of_two(upper, lower, tiller_step_mm(upper))
}

fn tiller_step_mm(build: &Build) -> f64 {
    build.units.either_mm(4.0, 100.0)
}

/// Whether a stack of this weight misses the target by more than grinding and scales do.
pub fn misses(target: &Target, weight_n: f64) -> bool {
    const FRACTION: f64 = 0.05;
    FRACTION * target.stack_weight_n() < (weight_n - target.stack_weight_n()).abs()
}

/// A stack that misses its draw weight by more than grinding and scales do.
pub fn missed(build: &Build, weight_n: f64) -> Option<Diagnostic> {
    let target = build.target.as_ref()?;
    let wanted_n = target.stack_weight_n();
    let off_n = weight_n - wanted_n;
    let message = message!(
        "the stack draws {}, {} {} than the {} wanted ({} of it for finishing)",
        build.weight(weight_n),
        build.weight(off_n.abs()),
        if off_n < 0.0 { "less" } else { "more" },
        build.weight(wanted_n),
        build.weight(target.finishing_n)
    );
    let fault = Diagnostic::warning(Place::new("target.draw_weight"), message);
    let hint = match build.limb {
        None => "`taperwright size` solves the laminations under [sizing] for it",
        Some(_) => "`taperwright size` with `--lower` solves both limbs' laminations under [sizing] for it",
    };
    misses(target, weight_n).then(|| fault.hint(hint))
}
