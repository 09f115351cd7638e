//! What comes in: texts beside the build file, and values to try.

use crate::buildfile;
use crate::write::tile::Printed;
use std::collections::BTreeMap;

/// What comes in beside the build file.
#[derive(Debug, Clone)]
pub struct Inputs {
    /// Files that the build file names.
    pub named: Named,
    /// How true to size the printer prints.
    pub printed: Printed,
}

impl Default for Inputs {
    fn default() -> Inputs {
        Inputs { named: Named::default(), printed: Printed::EXACT }
    }
}

/// Texts of files by the names that the build file or the log gives them; or why one could not be read.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Named(BTreeMap<String, Result<String, String>>);

impl Named {
    /// Adds what was read under this name.
    pub fn add(&mut self, name: impl Into<String>, text: Result<String, String>) {
        self.0.insert(name.into(), text);
    }

    pub(super) fn text(&self, name: &str) -> Result<&str, &str> {
        match self.0.get(name) {
            Some(Ok(text)) => Ok(text),
            Some(Err(why)) => Err(why),
            None => Err("it was not handed in"),
        }
    }
}

/// The files that a build file or a log names, each once.
pub fn named_files(text: &str) -> Vec<String> {
    buildfile::named_files(text)
}

/// One value to try.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Where it stands: `lamination[core].thickness`, by name or by number from 0, or any other key path.
    pub key: String,
    /// As it would be written: with its unit, or as TOML.
    pub value: String,
}

impl Change {
    /// `key` as the file has it, `value` as it would be typed.
    pub fn new(key: impl Into<String>, value: impl Into<String>) -> Change {
        Change { key: key.into(), value: value.into() }
    }
}
