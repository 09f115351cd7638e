//! `taperwright size`: the stack solved for its draw weight, beside the stack as it is.

mod two;

use super::Ended;
use super::args::SizeArgs;
use super::beside::{BowSide, Warn, as_written, edit_rows, edits_table, show_new, side_rows, tables, write};
use super::input::{Input, refused, show};
use super::terminal::Terminal;
use crate::job::{Easier, Job};
use crate::mechanics::sizing::Sized;
use crate::mechanics::verdict::COMFORTABLE;
use crate::model::Build;
use crate::report::beside::{EasierRow, SizeAnswer};

pub fn size(args: &SizeArgs, terminal: Terminal) -> Ended {
    sized(args, terminal).unwrap_or_else(|ended| ended)
}

fn sized(args: &SizeArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let input = Input::read(&args.file, terminal)?;
    let folder = input.folder.clone();
    let job = input.open(terminal)?;
    bow_or_fault(&job, terminal)?;
    if let Some(lower) = &args.lower {
        return two::sized(&job, &folder, lower, args, terminal);
    }
    let solved = solved(&job, terminal)?;
    let written = as_written(&job, &solved.build, terminal)?;
    let before = BowSide::of("as it is", &job, Warn::Silent, terminal)?;
    let after = BowSide::of("sized", &written.job, Warn::Shown, terminal)?;
    show_new(&job, &written.job, terminal);
    let remark = remark(job.build(), &solved, after.weight_n);
    let easier = easier(&job, &written.job, terminal)?;
    let sides = [before, after];
    let ended = if args.json {
        terminal.answer(&SizeAnswer {
            bows: side_rows(&sides),
            edits: edit_rows(&written.rewritten.edits),
            wanted_n: solved.wanted_n,
            unevenness: solved.unevenness.pair(),
            easier: easier.as_ref().map(easier_row),
        })
    } else {
        terminal.results(&format!(
            "{}: sized for its draw weight\n\n{}\n{}\n{remark}",
            job.build().title,
            tables(&sides),
            edits_table(&job, &written.rewritten.edits)
        ))
    };
    write(args.write.as_deref(), &job, &folder, &written.rewritten.text, terminal)?;
    Ok(ended)
}

/// A batch of laminations is no bow.
pub fn bow_or_fault(job: &Job, terminal: Terminal) -> Result<(), Ended> {
    if job.is_bow() {
        return Ok(());
    }
    terminal.fault(
        "error: the build file describes laminations and no bow\nhelp: add [target] and [outline]; `taperwright new` shows them",
    );
    Err(Ended::BuildFile)
}

/// The stack solved by the file's own `sizing`; the clear answer where there is none has been shown.
pub fn solved(job: &Job, terminal: Terminal) -> Result<Sized, Ended> {
    let found = job.sized().map_err(|found| refused(&found.faults, job, terminal))?;
    show(&found.warnings, job.source(), job.build().units, terminal);
    Ok(found.value)
}

/// What would make the same wish easier on the wood; it has been shown.
pub fn easier(job: &Job, sized: &Job, terminal: Terminal) -> Result<Option<Easier>, Ended> {
    let easier = job.easier(sized).map_err(|found| refused(&found.faults, sized, terminal))?;
    if let Some(easier) = &easier {
        show(std::slice::from_ref(&easier.warning), job.source(), job.build().units, terminal);
    }
    Ok(easier)
}

/// The same for programs.
pub fn easier_row(easier: &Easier) -> EasierRow {
    EasierRow {
        share_of_breaking_at_most: COMFORTABLE,
        nock_to_nock_mm: easier.relief.nock_to_nock_mm,
        widths_times: easier.relief.widths_times,
        draw_weight_n: easier.relief.draw_weight_n,
    }
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
