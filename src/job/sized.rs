//! The stack solved for its draw weight, glue-up and all, in values that can be written and set.

use super::bow::{glued, options, unstrung};
use crate::buildfile::edit;
use crate::diag::{Diagnostic, Outcome, Place, Reported, at_least, newtons};
use crate::mechanics::calibration::Calibrated;
use crate::mechanics::draw::{self, DrawCurve};
use crate::mechanics::glueup::GlueUp;
use crate::mechanics::overstrain::StrainRemedy;
use crate::mechanics::relief::{self, Relief};
use crate::mechanics::rescale;
use crate::mechanics::sizing::{self, BeforeAfter, Sized};
use crate::mechanics::verdict::COMFORTABLE;
use crate::model::Build;
use crate::model::build::SizingHow;
use crate::model::taper::TaperForm;
use crate::numeric::root::{Secant, SecantEnd, secant};
use crate::sheets::bow::part_name;
use crate::shop::passes::SETTABLE_MM;
use crate::shop::sled;
use crate::units::limit;

/// A thicker stack keeps another share of the form's curvature, which moves the weight again: sizing and glue-up take turns
/// until the unbraced tips stand still.
pub(super) fn in_turns(build: &Build, calibrated: Option<Calibrated>) -> Outcome<Sized> {
    // Each turn takes most of the rest away: what six leave is far below what a tip can be read to.
    const TURNS: usize = 6;
    const STILL_MM: f64 = 0.05;
    let mut shape = glued(build)?.value;
    let mut turn = 1;
    loop {
        let left = shape.as_ref().map(|glued| glued.unstrung.clone()).unwrap_or_default();
        let options = options(build, left, calibrated);
        let found = sizing::size(build, &options)?;
        let sized = match settable(&found.value) {
            Some(rounded) => {
                let again = sizing::size(&rounded, &options)?.value;
                Sized {
                    unevenness: BeforeAfter { before: found.value.unevenness.before, after: again.unevenness.after },
                    ..again
                }
            }
            None => found.value,
        };
        let next = glued(&sized.build)?.value;
        let tip = |glued: &Option<GlueUp>| glued.as_ref().map_or(0.0, GlueUp::tip_mm);
        if (tip(&next) - tip(&shape)).abs() <= STILL_MM || turn == TURNS {
            return Ok(Reported { value: sized, warnings: found.warnings });
        }
        shape = next;
        turn += 1;
    }
}

/// Where thickness and taper were both free: the answer with tapers that can be written, rounded toward none so that no tip gets
/// thinner, and left to thickness alone to reach the weight again. Rounding after the fact would cost pounds, or a limit.
fn settable(solved: &Sized) -> Option<Build> {
    let mut build = solved.build.clone();
    let sizing = build.sizing.as_mut().filter(|sizing| sizing.how == SizingHow::Both)?;
    sizing.how = SizingHow::Thickness;
    for index in sizing.change.clone() {
        let lamination = &build.laminations[index];
        if let TaperForm::Straight { rate } | TaperForm::FlatThenStraight { rate, .. } = lamination.finished.form() {
            let asked = sizing.limits.iter().find(|limit| limit.lamination == index).and_then(|limit| limit.taper);
            let min = asked.map_or(f64::NEG_INFINITY, |taper| (taper.min / RATE_STEP - 1e-6).ceil());
            let rounded = (rate / RATE_STEP).trunc().max(min) * RATE_STEP;
            build.laminations[index] = sizing::changed(lamination, 0.0, rounded - rate).ok()?;
        }
    }
    Some(build)
}

/// Tapers are written to a ten-thousandth.
const RATE_STEP: f64 = 1e-4;

/// The sized stack as it is to be written: for this alone, since a search over bows wants thicknesses that move without steps.
pub(super) fn to_be_written(build: &Build, calibrated: Option<Calibrated>) -> Outcome<Sized> {
    let Reported { value, warnings } = in_turns(build, calibrated)?;
    Ok(Reported { value: on_the_gauge(value, build, calibrated), warnings })
}

/// Each thickness where the last gap of its sled stands on a step of the gauge, if a step is no more than two digits of what is written: rounded
/// up to the next one when it is ground, it would be as far off. Thicknesses that are limited stay.
fn on_the_gauge(sized: Sized, before: &Build, calibrated: Option<Calibrated>) -> Sized {
    let Some(sander) = &before.sander else { return sized };
    let digit_mm = edit::last_digit_mm(before.units);
    // Where a step is no coarser than a digit, what is written stands on it.
    if !limit::above(sander.gap_step_mm, digit_mm) || limit::above(sander.gap_step_mm, 2.0 * digit_mm) {
        return sized;
    }
    let mut settled = sized.clone();
    let limits = before.sizing.iter().flat_map(|sizing| &sizing.limits);
    let limited: Vec<usize> = limits.map(|limit| limit.lamination).collect();
    for change in settled.changes.iter_mut().filter(|change| !limited.contains(&change.lamination)) {
        let lamination = &settled.build.laminations[change.lamination];
        let plan = settled.build.sled_for(lamination).filter(|_| !lamination.is_parallel());
        let Some(sled) = plan.and_then(|plan| sled::build(lamination, plan, sander).ok()) else { continue };
        let gap_mm = sled.value.final_gap_mm;
        let added_mm = (gap_mm / sander.gap_step_mm).round() * sander.gap_step_mm - gap_mm;
        let digits = (change.butt_mm.after + added_mm) / digit_mm;
        if SETTABLE_MM < (digits - digits.round()).abs() * digit_mm {
            continue;
        }
        let Ok(moved) = sizing::changed(lamination, digits.round() * digit_mm - change.butt_mm.after, 0.0) else { continue };
        change.butt_mm.after = moved.butt_thickness_mm();
        change.tip_mm.after = moved.finished.at(moved.to_mm);
        settled.build.laminations[change.lamination] = moved;
    }
    let weighed = unstrung(&settled.build).ok().and_then(|left| {
        let options = options(&settled.build, left.value, calibrated);
        draw::weight_of(&settled.build, &options).ok()
    });
    weighed.map_or(sized, |weight_n| Sized { weight_n, ..settled })
}

/// What would make the same wish easier on the wood.
#[derive(Debug, Clone, PartialEq)]
pub struct Easier {
    /// What would bring the strain down.
    pub relief: Relief,
    /// The same in words.
    pub warning: Diagnostic,
}

/// Whether the sized bow, drawn as `curve` says, works its wood harder than a sound design does, and what would do; `build` is what
/// was sized.
pub(super) fn easier(build: &Build, calibrated: Option<Calibrated>, curve: &DrawCurve) -> Option<Easier> {
    let hardest = &curve.worst[curve.worst_of_all];
    let share = hardest.share_of_breaking.filter(|share| limit::above(*share, COMFORTABLE))?;
    let relief = relief::relief(build, share, |other| {
        let sized = in_turns(other, calibrated).ok()?.value.build;
        let curve = drawn(&sized, calibrated).ok()?;
        curve.worst[curve.worst_of_all].share_of_breaking
    });
    let message = format!(
        "for this draw weight `{}` works at {:.0} percent of the breaking strain of its wood; a sound design stays below {:.0}",
        part_name(build, hardest.part),
        100.0 * share,
        100.0 * COMFORTABLE
    );
    let mut warning = Diagnostic::warning(Place::new("target.draw_weight"), message);
    let finishing = build.target.map_or(0.0, |target| target.finishing_n);
    let hints = [
        relief
            .nock_to_nock_mm
            .map(|length| message!("longer: {} nock to nock would do (`taperwright rescale --size`)", at_least(length))),
        relief.widths_times.map(|by| {
            message!("wider: all widths times {} would do, strips and riser slices with them", format_args!("{:.2}", by))
        }),
        relief.draw_weight_n.map(|weight| {
            message!("lighter: a draw weight of {} would do, {} for finishing besides", newtons(weight), newtons(finishing))
        }),
    ];
    let mut does = hints.into_iter().flatten().peekable();
    if does.peek().is_none() {
        let other = match StrainRemedy::of(build, hardest) {
            StrainRemedy::ThinnerLimb => "a shorter draw, or a wood that bears more, is what is left",
            left => left.words(),
        };
        warning = warning.hint("no longer, wider or lighter bow within reach does it").hint(other);
    }
    for hint in does {
        warning = warning.hint(hint);
    }
    Some(Easier { relief, warning })
}

/// What follows when the strain is drawn down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Easing {
    /// The bow from nock to nock.
    Longer,
    /// The outline, strips and riser slices with it.
    Wider,
}

/// A bow whose hardest-worked part works as hard as was asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Eased {
    /// The bow so changed.
    pub build: Build,
    /// Length or widths over what they were.
    pub times: f64,
}

/// The bow carried to the length, or to the widths, at which its hardest-worked part works at `fraction` of what breaks it, its free
/// laminations solved for the weight each time. Where none within reason does, what stopped it: the faults of the last bow that was tried, or
/// none where the strain itself goes no further.
pub(super) fn eased(build: &Build, calibrated: Option<Calibrated>, fraction: f64, by: Easing) -> Result<Eased, Vec<Diagnostic>> {
    let length_mm = build.outline.as_ref().ok_or_else(Vec::new)?.nock_to_nock_mm;
    let other = |times: f64| -> Result<Build, Vec<Diagnostic>> {
        let carried = match by {
            Easing::Longer => rescale::rescale(build, times * length_mm)?.value.build,
            Easing::Wider => relief::wider(build, times).ok_or_else(Vec::new)?,
        };
        if build.sizing.is_some() { Ok(in_turns(&carried, calibrated)?.value.build) } else { Ok(carried) }
    };
    let over = |ln_times: f64| -> Result<f64, Vec<Diagnostic>> {
        let curve = drawn(&other(ln_times.exp())?, calibrated)?;
        curve.worst[curve.worst_of_all].share_of_breaking.map(|share| (share / fraction).ln()).ok_or_else(Vec::new)
    };
    // On the logarithms: the strain goes about with these powers of length and width.
    let (slope, within) = match by {
        Easing::Longer => (-1.5, [0.75_f64.ln(), 1.4_f64.ln()]),
        Easing::Wider => (-0.33, [0.6_f64.ln(), 2.0_f64.ln()]),
    };
    // A thousandth of the strain is finer than any wood is known.
    let how = Secant { start: 0.0, slope, within, close: 1e-3, min_step: 1e-5, max: 16 };
    let SecantEnd::Root(found) = secant(over, how)? else { return Err(Vec::new()) };
    let times = found.x.exp();
    Ok(Eased { build: other(times)?, times })
}

/// The force curve of a build beside the job's.
fn drawn(build: &Build, calibrated: Option<Calibrated>) -> Result<DrawCurve, Vec<Diagnostic>> {
    let unstrung = unstrung(build)?.value;
    Ok(draw::curve(build, &options(build, unstrung, calibrated))?.value)
}
