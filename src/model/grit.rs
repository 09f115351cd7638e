//! Coated abrasives: grain sizes, how deep a paper may cut, and how deep the scratches are that it leaves.
//!
//! Mean grain sizes are those of ISO 6344 / FEPA 43 (P grades). The scratch of 80 grit and finer is taken as one mean grain,
//! of coarser paper as 1.4: belts of those grits in a wide-belt sander need 1.4 grains of clean-up at P60, 1.0 at P80,
//! less when finer (guidance for wide-belt sanding of wood, Woodworking Network, 2014).

use serde::Deserialize;
use std::sync::LazyLock;

/// One grade of paper.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Grit {
    /// The number of the P grade.
    pub grade: u32,
    pub mean_um: f64,
    /// Deepest cut in one pass of a light drum sander in hard maple, mm; from memory. `None` for grades that only polish.
    pub most_mm: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    grit: Vec<Grit>,
}

static GRITS: LazyLock<Vec<Grit>> = LazyLock::new(|| {
    let table: Table = toml::from_str(include_str!("data/grits.toml")).expect("the bundled table of grits reads");
    table.grit
});

/// From coarse to fine.
pub fn all() -> &'static [Grit] {
    &GRITS
}

pub fn of_grade(grade: u32) -> Option<Grit> {
    GRITS.iter().copied().find(|grit| grit.grade == grade)
}

impl Grit {
    /// Depth of its scratches, mm.
    ///
    /// ```
    /// // ISO 6344: P80 has grains of 201 µm on average, P60 of 269 µm.
    /// use taperwright::model::grit::of_grade;
    /// assert!((of_grade(80).unwrap().scratch_mm() - 0.201).abs() < 1e-12);
    /// assert!((of_grade(60).unwrap().scratch_mm() - 1.4 * 0.269).abs() < 1e-12);
    /// ```
    pub fn scratch_mm(&self) -> f64 {
        let grains = if self.grade < 80 { 1.4 } else { 1.0 };
        grains * self.mean_um / 1000.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finer_paper_has_finer_grains_and_cuts_less() {
        assert_eq!(all().len(), 15);
        for pair in all().windows(2) {
            assert!(pair[0].grade < pair[1].grade && pair[1].mean_um < pair[0].mean_um);
            assert!(pair[1].scratch_mm() < pair[0].scratch_mm());
            assert!(pair[1].most_mm.unwrap_or(0.0) <= pair[0].most_mm.unwrap_or(1.0));
        }
    }
}
