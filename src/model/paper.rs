//! Sheets and rolls that templates are printed on. The rows and their standards stand in `data/papers.toml`.

use super::workshop::PrintPaper;
use crate::units::MM_PER_IN;
use serde::Deserialize;
use std::sync::LazyLock;

/// A sheet by its name, upright.
#[derive(Debug, Clone, PartialEq)]
pub struct Format {
    pub name: String,
    pub width_mm: f64,
    pub height_mm: f64,
    pub source: String,
}

/// Longest print on a roll. Longer than any bow; drivers that allow less are rare, and one that allows none is no roll printer.
const LONGEST_PRINT_MM: f64 = 2500.0;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PaperRows {
    paper: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    size_in: Option<[f64; 2]>,
    size_mm: Option<[f64; 2]>,
    source: String,
}

static FORMATS: LazyLock<Vec<Format>> = LazyLock::new(|| {
    let rows: PaperRows = toml::from_str(include_str!("data/papers.toml")).expect("the bundled table of papers reads");
    let format = |row: Row| {
        let inches = row.size_in.map(|size| size.map(|side| side * MM_PER_IN));
        let [width_mm, height_mm] = inches.or(row.size_mm).expect("every bundled paper has a size");
        Format { name: row.name, width_mm, height_mm, source: row.source }
    };
    rows.paper.into_iter().map(format).collect()
});

/// All sheets.
pub fn all() -> &'static [Format] {
    &FORMATS
}

/// The sheet of this name; case does not count.
pub fn named(name: &str) -> Option<&'static Format> {
    FORMATS.iter().find(|format| format.name == name.trim().to_lowercase())
}

impl Format {
    pub fn sheet(&self, margin_mm: f64) -> PrintPaper {
        PrintPaper { name: self.name.clone(), width_mm: self.width_mm, height_mm: self.height_mm, roll: false, margin_mm }
    }
}

/// A roll of this width.
pub fn roll(name: &str, width_mm: f64, margin_mm: f64) -> PrintPaper {
    PrintPaper { name: name.to_owned(), width_mm, height_mm: LONGEST_PRINT_MM, roll: true, margin_mm }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 216: A0 has an area of 1 m², and each size is the one above it halved across, rounded down to a millimetre.
    #[test]
    fn a_series_halves() {
        let series: Vec<&Format> = ["a0", "a1", "a2", "a3", "a4"].iter().map(|name| named(name).unwrap()).collect();
        assert!((series[0].width_mm * series[0].height_mm / 1e6 - 1.0).abs() < 1e-4);
        for pair in series.windows(2) {
            assert!((pair[1].width_mm - (0.5 * pair[0].height_mm).floor()).abs() < 1e-9, "{}", pair[1].name);
            assert!((pair[1].height_mm - pair[0].width_mm).abs() < 1e-9, "{}", pair[1].name);
        }
    }

    /// ANSI/ASME Y14.1: each size doubles the shorter side of the one before it.
    #[test]
    fn ansi_series_doubles() {
        let series: Vec<&Format> =
            ["letter", "tabloid", "ansi c", "ansi d", "ansi e"].iter().map(|name| named(name).unwrap()).collect();
        for pair in series.windows(2) {
            assert!((pair[1].height_mm - 2.0 * pair[0].width_mm).abs() < 1e-9, "{}", pair[1].name);
            assert!((pair[1].width_mm - pair[0].height_mm).abs() < 1e-9, "{}", pair[1].name);
        }
        assert!((named("Legal").unwrap().height_mm - 355.6).abs() < 1e-9);
    }

    #[test]
    fn every_sheet_stands_upright_and_has_a_source() {
        for format in all() {
            assert!(format.width_mm < format.height_mm && 5 < format.source.len(), "{}", format.name);
        }
    }
}
