//! Sheets of paper that templates are printed on.

use super::workshop::PrintPaper;
use crate::units::{Quantity, System, read};
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    paper: Vec<Row>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    width: String,
    height: String,
    #[serde(rename = "source")]
    _source: String,
}

/// Border that office printers leave white, mm; common practice, no source.
const MARGIN_MM: f64 = 8.0;
/// The longest print from a roll: a page may have 14,400 points a side (ISO 32000-1, user units of 1/72 in).
const ROLL_MM: f64 = 5000.0;

static PAPERS: LazyLock<Vec<PrintPaper>> = LazyLock::new(|| {
    let table: Table = toml::from_str(include_str!("data/papers.toml")).expect("the bundled table of papers reads");
    let mm = |text: &str| read(text, Quantity::Length, System::Millimetre).expect("a bundled paper's side is a length");
    let sheet = |row: &Row| PrintPaper {
        name: row.name.clone(),
        width_mm: mm(&row.width),
        height_mm: mm(&row.height),
        roll: false,
        margin_mm: MARGIN_MM,
    };
    table.paper.iter().map(sheet).collect()
});

/// All sheets by name.
pub fn all() -> &'static [PrintPaper] {
    &PAPERS
}

pub fn named(name: &str) -> Option<&'static PrintPaper> {
    PAPERS.iter().find(|paper| paper.name == name.to_lowercase())
}

/// A roll of this width.
pub fn roll(width_mm: f64) -> PrintPaper {
    PrintPaper { name: "roll".into(), width_mm, height_mm: ROLL_MM, roll: true, margin_mm: MARGIN_MM }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 216: each size halves the one before, rounded down to the mm; ANSI/ASME Y14.1: sizes A and B.
    #[test]
    fn sizes_follow_their_standards() {
        let a: Vec<&PrintPaper> = ["a0", "a1", "a2", "a3", "a4", "a5"].iter().map(|name| named(name).unwrap()).collect();
        for pair in a.windows(2) {
            assert!((pair[1].height_mm - pair[0].width_mm).abs() < 1e-9);
            assert!((pair[1].width_mm - (pair[0].height_mm / 2.0).floor()).abs() < 1e-9);
        }
        assert!((a[0].width_mm * a[0].height_mm * 1e-6 - 1.0).abs() < 1e-3);
        let letter = named("Letter").unwrap();
        assert!((letter.width_mm - 215.9).abs() < 1e-9 && (letter.height_mm - 279.4).abs() < 1e-9);
    }
}
