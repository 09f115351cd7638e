//! Reading a build file, and saying what is wrong with it.

use super::Ended;
use super::terminal::Terminal;
use crate::buildfile::Source;
use crate::diag::{self, Diagnostic, Screen, Severity};
use crate::folder::{bounded, named_texts};
use crate::job::{Inputs, Job, Named, Unread};
use crate::units::System;
use crate::write::tile::Printed;
use std::fs::File;
use std::path::{Path, PathBuf};

/// A build file's text under the name that messages use.
pub struct Input {
    /// The folder that paths in the file start from.
    pub folder: PathBuf,
    /// As the user gave it; `standard input` for `-`.
    pub name: String,
    pub text: String,
}

impl Input {
    pub fn read(path: &Path, terminal: Terminal) -> Result<Input, Ended> {
        let name = if path.as_os_str() == "-" { "standard input".to_owned() } else { path.display().to_string() };
        let read = if path.as_os_str() == "-" { bounded(std::io::stdin().lock()) } else { File::open(path).and_then(bounded) };
        let bytes = read.map_err(|error| {
            terminal.fault(&format!("error: {name}: {error}"));
            Ended::Files
        })?;
        match String::from_utf8(bytes) {
            // A byte-order mark that some editors put in front.
            Ok(text) => Ok(Input {
                folder: path.parent().map(Path::to_owned).unwrap_or_default(),
                name,
                text: text.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(text),
            }),
            Err(error) => {
                let at = error.utf8_error().valid_up_to();
                terminal.fault(&format!(
                    "error: {name}: not a text file: byte {at} is not UTF-8\nhelp: save it as plain text (UTF-8)"
                ));
                Err(Ended::BuildFile)
            }
        }
    }

    /// The job of this text; its faults or its warnings have been shown.
    pub fn open(&self, terminal: Terminal) -> Result<Job, Ended> {
        self.open_for(Printed::EXACT, terminal)
    }

    /// The same for a printer that prints so.
    pub fn open_for(&self, printed: Printed, terminal: Terminal) -> Result<Job, Ended> {
        let job = self.job(printed).map_err(|unread| {
            show(&unread.faults, &unread.source, System::Inch, terminal);
            summary(&unread.faults, &self.name, terminal);
            Ended::BuildFile
        })?;
        show(job.read_warnings(), job.source(), job.build().units, terminal);
        Ok(job)
    }

    /// The job of this text and of the files that it names, for a printer that prints so.
    pub fn job(&self, printed: Printed) -> Result<Job, Unread> {
        Job::read(&self.name, &self.text, Inputs { named: self.named(), printed })
    }

    /// The texts of the files that this one names; their paths start from its folder.
    pub fn named(&self) -> Named {
        named_texts(&self.folder, &self.text)
    }
}

/// Shows the faults of a job that went no further.
pub fn refused(faults: &[Diagnostic], job: &Job, terminal: Terminal) -> Ended {
    show(faults, job.source(), job.build().units, terminal);
    summary(faults, diag::SourceText::name(job.source()), terminal);
    Ended::BuildFile
}

/// Shows faults on stderr, and warnings unless quiet.
pub fn show(diagnostics: &[Diagnostic], source: &Source, units: System, terminal: Terminal) {
    let wanted: Vec<Diagnostic> = diagnostics
        .iter()
        .filter(|diagnostic| diagnostic.severity == Severity::Fault || !terminal.quiet)
        .map(|diagnostic| diagnostic.spoken(units))
        .collect();
    if !wanted.is_empty() {
        terminal.rendered(&diag::render_on(&wanted, source, Screen { colour: terminal.colour, columns: terminal.err_columns }));
    }
}

/// The last line: how many faults there are.
pub fn summary(diagnostics: &[Diagnostic], name: &str, terminal: Terminal) {
    let faults = diagnostics.iter().filter(|diagnostic| diagnostic.severity == Severity::Fault).count();
    let plural = if faults == 1 { "" } else { "s" };
    terminal.fault(&format!("{name}: {faults} fault{plural}; nothing was written"));
}
