//! `taperwright size`: the stack solved for its draw weight, beside the stack as it is.

use super::Ended;
use super::args::SizeArgs;
use super::beside::{AsWritten, Side, as_written, edits_table, json, tables, write};
use super::input::{Input, Opened, show, summary};
use super::make::{glued, options};
use super::terminal::Terminal;
use crate::diag::{Diagnostic, Outcome, Place, Reported, at_least, newtons};
use crate::mechanics::calibration::Calibrated;
use crate::mechanics::draw;
use crate::mechanics::glueup::GlueUp;
use crate::mechanics::relief::{self, Relief};
use crate::mechanics::sizing::{self, Sized};
use crate::mechanics::verdict::COMFORTABLE;
use crate::model::Build;
use crate::model::build::SizingHow;
use crate::model::taper::Form;
use crate::sheets::bow::part_name;
use crate::units::limit;

pub fn size(args: &SizeArgs, terminal: Terminal) -> Ended {
    sized(args, terminal).unwrap_or_else(|ended| ended)
}

fn sized(args: &SizeArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let input = Input::read(&args.file, terminal)?;
    let folder = input.folder.clone();
    let opened = input.open(terminal)?;
    bow_or_fault(&opened.build, terminal)?;
    let solved = solved(&opened, &opened.build, terminal)?;
    let written = as_written(&opened, &solved.build, terminal)?;
    let (before, _) = side("as it is", &opened.build, &opened, terminal)?;
    let after = new_side("sized", &written, &opened, terminal)?;
    let remark = remark(&opened.build, &solved, after.weight_n());
    let easier = easier(&opened, &opened.build, &after);
    show(easier.warning.as_slice(), &opened.source, opened.build.units, terminal);
    let sides = [before, after];
    let ended = if args.json {
        let mut value = json(&sides, &written.rewritten.edits);
        value["wanted_n"] = solved.wanted_n.into();
        value["unevenness"] = serde_json::json!(solved.unevenness);
        value["easier"] = easier.json();
        terminal.results(&format!("{}\n", serde_json::to_string_pretty(&value).expect("plain values are valid JSON")))
    } else {
        terminal.results(&format!(
            "{}: sized for its draw weight\n\n{}\n{}\n{remark}",
            opened.build.title,
            tables(&sides),
            edits_table(&opened, &written.rewritten.edits)
        ))
    };
    write(args.write.as_deref(), &opened, &folder, &written.rewritten.text, terminal)?;
    Ok(ended)
}

/// A batch of laminations is no bow.
pub fn bow_or_fault(build: &Build, terminal: Terminal) -> Result<(), Ended> {
    if build.target.is_some() && build.outline.is_some() {
        return Ok(());
    }
    terminal.fault(
        "error: the build file describes laminations and no bow\nhelp: add [target] and [outline]; `taperwright new` shows them",
    );
    Err(Ended::BuildFile)
}

/// The stack of `build` solved by its own `sizing`; the clear answer where there is none has been shown.
pub fn solved(opened: &Opened, build: &Build, terminal: Terminal) -> Result<Sized, Ended> {
    let found = in_turns(build, opened.calibrated).map_err(|faults| refused(&faults, opened, terminal))?;
    show(&found.warnings, &opened.source, build.units, terminal);
    Ok(found.value)
}

/// A thicker stack keeps another share of the form's curvature, which moves the weight again: sizing and glue-up take turns
/// until the unbraced tips stand still.
fn in_turns(build: &Build, calibrated: Option<Calibrated>) -> Outcome<Sized> {
    // Each turn takes most of the rest away: what six leave is far below what a tip can be read to.
    const TURNS: usize = 6;
    const STILL_MM: f64 = 0.05;
    let mut shape = glued(build)?.value;
    let mut turn = 1;
    loop {
        let options = options(build, shape.as_ref(), calibrated);
        let found = sizing::size(build, &options)?;
        let sized = match settable(&found.value) {
            Some(rounded) => {
                let again = sizing::size(&rounded, &options)?.value;
                Sized { unevenness: [found.value.unevenness[0], again.unevenness[1]], ..again }
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
        if let Form::Straight { rate } | Form::FlatThenStraight { rate, .. } = lamination.finished.form() {
            let asked = sizing.limits.iter().find(|limit| limit.lamination == index).and_then(|limit| limit.taper);
            let least = asked.map_or(f64::NEG_INFINITY, |[least, _]| (least / RATE_STEP - 1e-6).ceil());
            let rounded = (rate / RATE_STEP).trunc().max(least) * RATE_STEP;
            build.laminations[index] = sizing::changed(lamination, 0.0, rounded - rate).ok()?;
        }
    }
    Some(build)
}

/// Tapers are written to a ten-thousandth.
const RATE_STEP: f64 = 1e-4;

pub fn refused(faults: &[Diagnostic], opened: &Opened, terminal: Terminal) -> Ended {
    show(faults, &opened.source, opened.build.units, terminal);
    summary(faults, crate::diag::Source::name(&opened.source), terminal);
    Ended::BuildFile
}

/// The bow of a build that stands in the opened file, or comes from it.
pub fn side(label: &'static str, build: &Build, opened: &Opened, terminal: Terminal) -> Result<(Side, Vec<Diagnostic>), Ended> {
    Side::of(label, build, opened.calibrated).map_err(|faults| refused(&faults, opened, terminal))
}

/// The bow of the file as changed, its warnings shown.
pub fn new_side(label: &'static str, written: &AsWritten, opened: &Opened, terminal: Terminal) -> Result<Side, Ended> {
    let solved = Side::of(label, &written.build, opened.calibrated);
    let (side, warnings) = solved.map_err(|faults| {
        show(&faults, &written.source, written.build.units, terminal);
        summary(&faults, crate::diag::Source::name(&written.source), terminal);
        Ended::BuildFile
    })?;
    show(&warnings, &written.source, written.build.units, terminal);
    Ok(side)
}

/// What would make the same wish easier on the wood.
pub struct Easier {
    relief: Option<Relief>,
    pub warning: Option<Diagnostic>,
}

impl Easier {
    pub fn json(&self) -> serde_json::Value {
        serde_json::json!(self.relief.map(|relief| serde_json::json!({
            "share_of_breaking_at_most": COMFORTABLE,
            "nock_to_nock_mm": relief.nock_to_nock_mm,
            "widths_times": relief.widths_times,
            "draw_weight_n": relief.draw_weight_n,
        })))
    }
}

/// Whether the sized bow works its wood harder than a sound design does, and what would do; `build` is what was sized.
pub fn easier(opened: &Opened, build: &Build, after: &Side) -> Easier {
    let curve = &after.limbs.curve;
    let hardest = &curve.worst[curve.worst_of_all];
    let Some(share) = hardest.share_of_breaking.filter(|share| limit::above(*share, COMFORTABLE)) else {
        return Easier { relief: None, warning: None };
    };
    let relief = relief::relief(build, share, |other| {
        let sized = in_turns(other, opened.calibrated).ok()?.value.build;
        let shape = glued(&sized).ok()?.value;
        let curve = draw::curve(&sized, &options(&sized, shape.as_ref(), opened.calibrated)).ok()?.value;
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
            .map(|length| format!("longer: {} nock to nock would do (`taperwright rescale --size`)", at_least(length))),
        relief.widths_times.map(|by| format!("wider: all widths times {by:.2} would do, strips and riser slices with them")),
        relief.draw_weight_n.map(|weight| {
            format!("lighter: a draw weight of {} would do, {} for finishing besides", newtons(weight), newtons(finishing))
        }),
    ];
    for hint in hints.into_iter().flatten() {
        warning = warning.hint(hint);
    }
    Easier { relief: Some(relief), warning: Some(warning) }
}

/// What was wanted, and what the rounded stack gives.
pub fn remark(build: &Build, solved: &Sized, weight_n: f64) -> String {
    let units = build.units;
    let finishing = build.target.map_or(0.0, |target| target.finishing_n);
    let off = weight_n - solved.wanted_n;
    format!(
        "Wanted: {}, {} of it kept for finishing. Ground to the numbers above it draws {} ({}{} from rounding).\n\
         Wood is variable: build to the number, weigh, and enter the bow under [[calibration]].\n",
        build.weight_text(solved.wanted_n),
        build.weight_text(finishing),
        build.weight_text(weight_n),
        if off < 0.0 { "" } else { "+" },
        units.force_text(off)
    )
}
