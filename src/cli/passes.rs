//! `taperwright passes`: what to set on the sander, pass by pass, on the terminal.

use super::Ended;
use super::args::PassesArgs;
use super::input::{Input, refused, show};
use super::terminal::Terminal;
use super::threads;
use crate::buildfile::spelling::{self, Quoted};
use crate::job::passes_text;
use crate::model::Build;
use crate::report::{LaminationPasses, LaminationRow};

pub fn passes(args: &PassesArgs, terminal: Terminal) -> Ended {
    let job = match Input::read(&args.file, terminal).and_then(|input| input.open(terminal)) {
        Ok(job) => job,
        Err(ended) => return ended,
    };
    let build = job.build();
    if let Err(ended) = to_grind(build, args.lamination.as_deref(), terminal) {
        return ended;
    }
    threads::planned(&job);
    match job.warnings() {
        Ok(warnings) => show(&warnings, job.source(), build.units, terminal),
        Err(found) => return refused(&found.faults, &job, terminal),
    }
    let wanted = (0..build.laminations.len())
        .filter(|index| args.lamination.as_ref().is_none_or(|name| build.laminations[*index].name == *name))
        .map(|index| job.lamination_report(index))
        .collect();
    let wanted: Vec<LaminationRow> = match wanted {
        Ok(rows) => rows,
        Err(crate::job::Refused { faults }) => return refused(&faults, &job, terminal),
    };
    if args.json {
        let of = |row: LaminationRow| LaminationPasses {
            lamination: row.name,
            together: row.together,
            runs: row.runs,
            time_s: row.time_s,
            setups: row.setups,
        };
        return terminal.answer(&wanted.into_iter().map(of).collect::<Vec<_>>());
    }
    let texts: Vec<String> = wanted.iter().map(|row| passes_text(build, row)).collect();
    terminal.results(&texts.join("\n"))
}

/// Says what is missing where there is no machine, or no lamination of this name.
pub fn to_grind(build: &Build, lamination: Option<&str>, terminal: Terminal) -> Result<(), Ended> {
    if build.sander.is_none() {
        terminal.fault("error: the build file describes no sander\nhelp: add a [sander] table; `taperwright new` shows one");
        return Err(Ended::BuildFile);
    }
    if let Some(name) = lamination
        && !build.laminations.iter().any(|lamination| lamination.name == name)
    {
        let names: Vec<&str> = build.laminations.iter().map(|lamination| lamination.name.as_str()).collect();
        let hint = spelling::meant(name, names.iter().copied(), Quoted::Code, || format!("there are {}", names.join(", ")));
        terminal.fault(&format!("error: there is no lamination `{name}`\nhelp: {hint}"));
        return Err(Ended::Files);
    }
    Ok(())
}
