//! `taperwright passes`: what to set on the sander, pass by pass, on the terminal.

use super::Ended;
use super::args::PassesArgs;
use super::input::{Input, show, summary};
use super::make::{Stamp, plan, table_of_passes};
use super::terminal::{Progress, Terminal};
use serde_json::json;

pub fn passes(args: &PassesArgs, terminal: Terminal) -> Ended {
    let opened = match Input::read(&args.file, terminal).and_then(|input| input.open(terminal)) {
        Ok(opened) => opened,
        Err(ended) => return ended,
    };
    let build = &opened.build;
    if build.sander.is_none() {
        terminal.fault("error: the build file describes no sander\nhelp: add a [sander] table; `taperwright new` shows one");
        return Ended::BuildFile;
    }
    if let Some(name) = &args.lamination
        && !build.laminations.iter().any(|lamination| lamination.name == *name)
    {
        let names: Vec<&str> = build.laminations.iter().map(|lamination| lamination.name.as_str()).collect();
        terminal.fault(&format!("error: there is no lamination `{name}`\nhelp: there are {}", names.join(", ")));
        return Ended::Files;
    }
    let mut progress = Progress::new(terminal);
    let planned = match plan(build, opened.calibrated, &Stamp::unsigned(), &mut progress) {
        Ok(planned) => planned,
        Err(faults) => {
            drop(progress);
            show(&faults, &opened.source, build.units, terminal);
            summary(&faults, &args.file.display().to_string(), terminal);
            return Ended::BuildFile;
        }
    };
    drop(progress);
    show(&planned.warnings, &opened.source, build.units, terminal);
    let wanted: Vec<_> =
        planned.report.laminations.iter().filter(|row| args.lamination.as_ref().is_none_or(|name| row.name == *name)).collect();
    if args.json {
        let rows: Vec<_> = wanted
            .iter()
            .map(|row| json!({ "lamination": row.name, "together": row.together, "runs": row.runs, "time_s": row.time_s, "setups": row.setups }))
            .collect();
        return terminal.results(&format!("{}\n", serde_json::to_string_pretty(&rows).expect("plain values are valid JSON")));
    }
    let texts: Vec<String> = wanted.iter().map(|row| table_of_passes(build, row)).collect();
    terminal.results(&texts.join("\n"))
}
