//! Sandpaper by its P grade: how coarse it is, how deep it may cut, and how deep its scratches are.
//!
//! ```text
//! scratch = mean grain size            P80 and finer
//!         = 1.4 × mean grain size      coarser than P80
//! ```
//!
//! Grain sizes are those of ISO 6344 (FEPA 43), see `data/grits.toml`. The factors are drawn here from what the next belt must
//! remove after one of P60, P80 and P100 (A. West, "Does your sanding make sense?", Woodworking Network, 7 August 2014:
//! 0.015, 0.008 and 0.006 in). On finer paper the article asks for less than one grain, so the rule is on the careful side there.

use serde::Deserialize;
use std::sync::LazyLock;

/// One P grade.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Grit {
    /// The number after the P.
    pub grade: u32,
    /// Mean grain size, µm.
    pub mean_um: f64,
    /// Deepest cut in one pass in hard maple on a small drum, mm.
    pub max_mm: f64,
}

/// Grades coarser than this leave scratches deeper than one grain.
const ONE_GRAIN_FROM: u32 = 80;
/// Less would leave P60 scratches under P80 paper, more would cost a pass on every strip.
const COARSE_SCRATCH_GRAINS: f64 = 1.4;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct GritRows {
    grain_source: String,
    depth_source: String,
    grit: Vec<Grit>,
}

static ROWS: LazyLock<GritRows> =
    LazyLock::new(|| toml::from_str(include_str!("data/grits.toml")).expect("the bundled table of grits reads"));

/// All grades, coarse to fine.
pub fn all() -> &'static [Grit] {
    &ROWS.grit
}

/// The grade with this number.
pub fn grade(number: u32) -> Option<&'static Grit> {
    all().iter().find(|grit| grit.grade == number)
}

/// Where the grain sizes come from.
pub fn grain_source() -> &'static str {
    &ROWS.grain_source
}

/// Where the default depths come from.
pub fn depth_source() -> &'static str {
    &ROWS.depth_source
}

impl Grit {
    /// Depth of the scratches it leaves, which the next paper must remove, mm.
    ///
    /// ```
    /// let p60 = taperwright::model::grit::grade(60).unwrap();
    /// assert!((p60.scratch_mm() - 0.3766).abs() < 1e-12); // 269 µm × 1.4
    /// ```
    pub fn scratch_mm(&self) -> f64 {
        let grains = if self.grade < ONE_GRAIN_FROM { COARSE_SCRATCH_GRAINS } else { 1.0 };
        grains * self.mean_um / 1000.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{MM_PER_IN, System};

    #[test]
    fn grades_run_from_coarse_to_fine_with_smaller_grains_and_cuts() {
        for pair in all().windows(2) {
            assert!(pair[0].grade < pair[1].grade && pair[1].mean_um < pair[0].mean_um && pair[1].max_mm <= pair[0].max_mm);
            assert!(pair[1].scratch_mm() < pair[0].scratch_mm());
        }
        // The school and manual ceiling of 1/64 in a pass; common practice, no source.
        assert!(all().iter().all(|grit| 0.01 <= grit.max_mm && System::Inch.length(grit.max_mm) <= 1.0 / 64.0));
        assert!(grade(70).is_none() && 20 < grain_source().len() && 20 < depth_source().len());
    }

    /// A. West, "Does your sanding make sense? How to set up your wide belt", Woodworking Network, 7 August 2014: grit, the most
    /// one belt should take and what the next must take off, in. Paper of a small drum stays below the first.
    #[test]
    fn depths_stay_below_and_scratches_meet_the_published_wide_belt_figures() {
        for (number, most_in, next_in) in [
            (60, 0.035, 0.015),
            (80, 0.024, 0.008),
            (100, 0.017, 0.006),
            (120, 0.010, 0.004),
            (150, 0.006, 0.002),
            (180, 0.004, 0.001),
            (220, 0.002, 0.0005),
        ] {
            let grit = grade(number).unwrap();
            assert!(grit.max_mm <= most_in * MM_PER_IN, "P{number}");
            assert!(0.98 * next_in * MM_PER_IN <= grit.scratch_mm(), "P{number}");
            if number <= 100 {
                assert!((grit.scratch_mm() / (next_in * MM_PER_IN) - 1.0).abs() < 0.07, "P{number}");
            }
        }
    }
}
