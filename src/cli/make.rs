//! `taperwright make`: everything that goes into the shop, into a folder, whole or not at all.

mod two;

use super::Ended;
use super::args::MakeArgs;
use super::input::{Input, refused, show};
use super::terminal::{Progress, Terminal};
use super::threads;
use crate::buildfile::spelling::{self, Quoted};
use crate::diag::Diagnostic;
use crate::folder::{self, FolderFault, NotFilled, Others};
use crate::job::{Job, Refused, summary_text};
use crate::write::tile::Printed;
use std::collections::BTreeSet;
use std::path::Path;

pub fn make(args: &MakeArgs, terminal: Terminal) -> Ended {
    made(args, terminal).unwrap_or_else(|ended| ended)
}

fn made(args: &MakeArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let input = Input::read(&args.file, terminal)?;
    let job = input.open_for(args.printed.unwrap_or(Printed::EXACT), terminal)?;
    let folder = args.out.clone().unwrap_or_else(|| folder::out(&args.file));
    if let Some(lower) = &args.lower {
        return two::made(&job, lower, args, &folder, terminal);
    }
    let mut progress = Progress::new(terminal);
    let written = written(&job, &args.only, &folder, &mut progress);
    drop(progress);
    let outcome = match written {
        Err(NotMade::Faults(faults)) => return Err(refused(&faults, &job, terminal)),
        Err(NotMade::Unknown(told)) => Err(told),
        Err(NotMade::Refused(fault)) => Err(format!("error: {fault}")),
        Ok(written) => Ok(written),
    };
    let report = job.report().map_err(|found| refused(&found.faults, &job, terminal))?;
    let warnings = job.warnings().map_err(|found| refused(&found.faults, &job, terminal))?;
    show(&warnings, job.source(), job.build().units, terminal);
    let written = outcome.map_err(|told| {
        terminal.fault(&told);
        Ended::Files
    })?;
    if args.json {
        return Ok(terminal.published(report));
    }
    for simpler in job.simpler_sleds() {
        let shown = format!("taperwright sleds {}", args.file.display());
        terminal.remark(&format!("note: {simpler}; `{shown}` shows all ways"), &[&shown]);
    }
    let name = folder.display().to_string();
    Ok(terminal.results_with(&summary_text(job.build(), report, &name, written), &[&name]))
}

/// Why files were not made.
enum NotMade {
    Faults(Vec<Diagnostic>),
    /// A part was asked for that there is not.
    Unknown(String),
    /// The folder does not take them.
    Refused(FolderFault),
}

impl From<Refused> for NotMade {
    fn from(refused: Refused) -> NotMade {
        NotMade::Faults(refused.faults)
    }
}

impl From<NotFilled> for NotMade {
    fn from(why: NotFilled) -> NotMade {
        match why {
            NotFilled::Unmade(refused) => refused.into(),
            NotFilled::Folder(fault) => NotMade::Refused(fault),
        }
    }
}

/// Where only some files are asked for, what else was made before stays.
fn others(only: &[String]) -> Others {
    if only.is_empty() { Others::Remove } else { Others::Keep }
}

/// Makes the files and fills the folder: how many.
fn written(job: &Job, only: &[String], folder: &Path, progress: &mut Progress) -> Result<usize, NotMade> {
    progress.at("the plan", 0, 2);
    threads::ahead(job);
    let files = job.files()?;
    let chosen = chosen(&files.names().collect::<Vec<_>>(), only).map_err(NotMade::Unknown)?;
    progress.at("files", 1, 2);
    let side_by_side = |some: &[usize]| threads::side_by_side(some, |number| files.bytes(*number));
    folder::fill_from(folder, &files, &chosen, others(only), side_by_side)?;
    Ok(chosen.len())
}

/// The numbers of the files that are written: those whose name, without folder, starts with one of the parts asked for; all if none
/// is. A part that is the start of no name is a fault.
fn chosen(paths: &[&str], only: &[String]) -> Result<Vec<usize>, String> {
    let names: Vec<&str> = paths.iter().map(|path| path.rsplit('/').next().unwrap_or("")).collect();
    let unknown = only.iter().find(|part| !names.iter().any(|name| name.starts_with(part.as_str())));
    if let Some(part) = unknown {
        let stems: BTreeSet<&str> = names.iter().map(|name| name.split('.').next().unwrap_or("")).collect();
        let stems: Vec<&str> = stems.into_iter().collect();
        let hint = spelling::meant(part, stems.iter().copied(), Quoted::Code, || format!("there are {}", stems.join(", ")));
        return Err(format!("error: no part is called `{part}`\nhelp: {hint}"));
    }
    let wanted = |name: &str| only.is_empty() || only.iter().any(|part| name.starts_with(part.as_str()));
    Ok((0..names.len()).filter(|number| wanted(names[*number])).collect())
}
