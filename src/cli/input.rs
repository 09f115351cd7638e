//! Reading a build file, and saying what is wrong with it.

use super::Ended;
use super::hash::fnv1a;
use super::make::{glued, options};
use super::terminal::Terminal;
use crate::buildfile::{self, Source};
use crate::diag::{self, Diagnostic, Place, Severity, newtons};
use crate::mechanics::calibration::{Calibrated, Design, Reading, calibrated};
use crate::mechanics::draw;
use crate::model::Build;
use crate::model::build::FinishedBow;
use crate::units::System;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// A build file's text under the name that messages use.
pub struct Input {
    /// The folder that paths in the file start from.
    pub folder: PathBuf,
    /// As the user gave it; `standard input` for `-`.
    pub name: String,
    pub text: String,
}

/// A build that was read, with its source for later messages.
pub struct Opened {
    pub build: Build,
    pub source: Source,
    /// Short hash of the build file's text.
    pub hash: String,
    /// The finished bows that it names, as computed and as weighed.
    pub finished: Vec<Reading>,
    /// What they say.
    pub calibrated: Option<Calibrated>,
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

    /// The checked build; faults and warnings have been shown.
    pub fn open(self, terminal: Terminal) -> Result<Opened, Ended> {
        let (source, outcome) = buildfile::read(&self.name, &self.text);
        match outcome {
            Ok(reported) => {
                let build = reported.value;
                show(&reported.warnings, &source, build.units, terminal);
                let finished = match finished_bows(&build, &self.folder) {
                    Ok(finished) => finished,
                    Err(faults) => {
                        show(&faults, &source, build.units, terminal);
                        summary(&faults, &self.name, terminal);
                        return Err(Ended::BuildFile);
                    }
                };
                let hash = fnv1a(self.text.as_bytes())[..8].to_owned();
                Ok(Opened { calibrated: calibrated(&finished), finished, hash, build, source })
            }
            Err(faults) => {
                show(&faults, &source, System::Inch, terminal);
                summary(&faults, &self.name, terminal);
                Err(Ended::BuildFile)
            }
        }
    }
}

/// A build file or log is some kilobytes: what does not end is neither.
const MOST_BYTES: u64 = 8_000_000;

fn bounded(source: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    source.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    if MOST_BYTES < bytes.len() as u64 {
        return Err(io::Error::new(io::ErrorKind::FileTooLarge, "more than 8 MB: neither a build file nor a log"));
    }
    Ok(bytes)
}

/// The text of a file that another one names: a plain file, since a pipe or a device may never end.
pub fn named_text(path: &Path) -> io::Result<String> {
    if !std::fs::metadata(path)?.is_file() {
        return Err(io::Error::new(io::ErrorKind::InvalidInput, "not a plain file"));
    }
    String::from_utf8(File::open(path).and_then(bounded)?)
        .map_err(|_| io::Error::new(io::ErrorKind::InvalidData, "not a text file (UTF-8)"))
}

/// Reads the finished bows that a build names and computes each.
pub fn finished_bows(build: &Build, folder: &Path) -> Result<Vec<Reading>, Vec<Diagnostic>> {
    let (mut readings, mut faults) = (Vec::new(), Vec::new());
    for bow in &build.calibration {
        match finished(bow, folder) {
            Ok(reading) => readings.push(reading),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() { Ok(readings) } else { Err(faults) }
}

fn finished(bow: &FinishedBow, folder: &Path) -> Result<Reading, Diagnostic> {
    let reading = design(&bow.build_file, folder, &bow.place.key("build"))?.weighed(bow.weight_n, bow.finishing_n);
    // A factor beyond this is a slip of units or of the file, not wood.
    let ratio = reading.factor();
    if !(0.5..=2.0).contains(&ratio) {
        let message = format!(
            "`{}` weighs {}, {} more before finishing, and is computed at {}: {ratio:.2} times is out of all reason",
            bow.build_file,
            newtons(bow.weight_n),
            newtons(reading.finishing_n),
            newtons(reading.computed_n)
        );
        return Err(Diagnostic::fault(bow.place.key("weight"), message)
            .hint("check the weight's unit, its draw length and the old build file"));
    }
    Ok(reading)
}

/// What another build's bow weighs with the handbook's stiffness; `place` is where it is named, `folder` where its path starts.
pub fn design(build_file: &str, folder: &Path, place: &Place) -> Result<Design, Diagnostic> {
    let path = folder.join(build_file);
    let fault = |why: String| Diagnostic::fault(place.clone(), format!("`{build_file}`: {why}"));
    let text = named_text(&path).map_err(|error| fault(error.to_string()).hint("paths start from this file's folder"))?;
    let (_, outcome) = buildfile::read(build_file, &text);
    let build = outcome.map_err(|faults| fault(format!("it has {} faults, first {}", faults.len(), faults[0])))?.value;
    let glued = glued(&build).map_err(|faults| fault(faults[0].to_string()))?.value;
    let options = options(&build, glued.as_ref(), None);
    let computed_n = draw::weight_of(&build, &options).map_err(|found| fault(found.to_string()))?;
    Ok(Design { computed_n, finishing_n: build.target.map_or(0.0, |target| target.finishing_n) })
}

/// Shows faults on stderr, and warnings unless quiet.
pub fn show(diagnostics: &[Diagnostic], source: &Source, units: System, terminal: Terminal) {
    let wanted: Vec<Diagnostic> = diagnostics
        .iter()
        .filter(|diagnostic| diagnostic.severity == Severity::Fault || !terminal.quiet)
        .map(|diagnostic| diagnostic.spoken(units))
        .collect();
    if !wanted.is_empty() {
        terminal.fault(&diag::render(&wanted, source, terminal.colour));
    }
}

/// The last line: how many faults there are.
pub fn summary(diagnostics: &[Diagnostic], name: &str, terminal: Terminal) {
    let faults = diagnostics.iter().filter(|diagnostic| diagnostic.severity == Severity::Fault).count();
    let plural = if faults == 1 { "" } else { "s" };
    terminal.fault(&format!("{name}: {faults} fault{plural}; nothing was written"));
}
