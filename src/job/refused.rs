//! Why there is no job, or no value of a stage.

use crate::buildfile::Source;
use crate::diag::Diagnostic;
use crate::units::System;
use std::fmt;

/// Why a stage has no value: at least one fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// At least one.
    pub faults: Vec<Diagnostic>,
}

impl From<Refused> for Vec<Diagnostic> {
    fn from(refused: Refused) -> Vec<Diagnostic> {
        refused.faults
    }
}

impl From<Vec<Diagnostic>> for Refused {
    fn from(faults: Vec<Diagnostic>) -> Refused {
        Refused { faults }
    }
}

impl From<Diagnostic> for Refused {
    fn from(fault: Diagnostic) -> Refused {
        Refused { faults: vec![fault] }
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let faults: Vec<String> = self.faults.iter().map(|fault| fault.spoken(System::Millimetre).to_string()).collect();
        f.write_str(&faults.join("\n"))
    }
}

impl std::error::Error for Refused {}

/// A text that makes no job: its faults, and where they stand in it.
#[derive(Debug)]
pub struct Unread {
    /// The text, to show the lines at fault.
    pub source: Source,
    /// At least one.
    pub faults: Vec<Diagnostic>,
}

impl fmt::Display for Unread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(crate::diag::render(&self.faults, &self.source).trim_end())
    }
}

impl std::error::Error for Unread {}
