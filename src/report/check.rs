//! What `check --json` answers.

use schemars::JsonSchema;
use serde::Serialize;

/// Every fault and warning of a build file.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CheckAnswer {
    /// Name of the build file as it was given; `standard input` for `-`.
    pub build_file: String,
    /// How many of the diagnostics are faults.
    pub faults: usize,
    /// How many of them are warnings.
    pub warnings: usize,
    /// In the order in which they are told.
    pub diagnostics: Vec<DiagnosticRow>,
}

/// A fault or a warning.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DiagnosticRow {
    /// `fault` or `warning`.
    pub severity: String,
    /// Key path in the build file; empty for the file as a whole.
    pub place: String,
    /// Line of that place, counted from 1; none for the file as a whole.
    pub line: Option<usize>,
    /// What is amiss, in the units of the build file.
    pub message: String,
    /// What would help.
    pub hints: Vec<String>,
}
