//! What every file says of its making.

use super::hash;
use crate::drawing::Drawing;
use crate::model::lamination::file_name;
use crate::units::{fixed, trim_zeros};
use crate::write::tile::Printed;

/// What every file says of its making.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// Name of the build file without its folder.
    pub build_file: String,
    /// Short hash of its text.
    pub hash: String,
    /// Options that are not the default.
    pub options: Vec<String>,
}

impl Stamp {
    /// Of a build file's text, for a printer that was found to print so.
    pub(super) fn of(name: &str, text: &str, printed: Printed) -> Stamp {
        let percent = |mm: f64| trim_zeros(&fixed(mm, 2));
        let options = if printed == Printed::EXACT {
            Vec::new()
        } else {
            vec![format!("--printed {}x{}", percent(printed.x), percent(printed.y))]
        };
        let build_file = name.rsplit(['/', '\\']).next().unwrap_or(name).to_owned();
        Stamp { build_file, hash: hash::fnv1a(text.as_bytes())[..8].to_owned(), options }
    }

    /// Of this file and another one together.
    #[must_use]
    pub(super) fn and(&self, other: &Stamp) -> Stamp {
        let hashes = format!("{} {}", self.hash, other.hash);
        Stamp {
            build_file: format!("{} and {}", self.build_file, other.build_file),
            hash: hash::fnv1a(hashes.as_bytes())[..8].to_owned(),
            options: self.options.clone(),
        }
    }

    /// Version, build file, hash of its text, options that are not the default.
    pub fn text(&self) -> String {
        let mut text = format!("taperwright {} · {} · {}", env!("CARGO_PKG_VERSION"), self.build_file, self.hash);
        for option in &self.options {
            text.push_str(" · ");
            text.push_str(option);
        }
        text
    }

    /// The drawing, signed, under a name that is fit for a file, each mark on it once.
    pub(super) fn on(&self, mut drawing: Drawing) -> Drawing {
        drawing.name = file_name(&drawing.name);
        drawing.made_by = self.text();
        drawing.mark_once();
        drawing
    }
}
