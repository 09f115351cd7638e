//! What is cut from sheet.

use schemars::JsonSchema;
use serde::Serialize;

/// A bed-load of parts of sleds and forms.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LoadRow {
    /// Of the templates, without its ending.
    pub file: String,
    /// What is cut, such as plywood.
    pub sheet: String,
    /// Of the sheet.
    pub thickness_mm: f64,
    /// Share of the bed that the parts cover, a ratio.
    pub filled: f64,
    /// Each part once, with how many copies lie here.
    pub parts: Vec<LoadPart>,
}

/// A part in a bed-load.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LoadPart {
    /// Whose it is stands first, such as `core: left rail 1 of 3`.
    pub name: String,
    /// Copies of it in this load.
    pub count: usize,
}
