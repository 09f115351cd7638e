//! How far a strip's thickness may be off, and what each cause adds to it.
//!
//! Independent causes add as the root of the sum of their squares, one-sided ones (biases) plainly:
//!
//! ```text
//! ± = √(Σ r_i²) + Σ |b_j|
//! ```
//!
//! Both biases here, sag and rounding, leave the strip too thick: on the thin side the root alone is to be feared, so that ±
//! is careful there.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `r_i` | bound of a cause that may fall either way | mm |
//! | `b_j` | known one-sided departure | mm |
//!
//! Source: the usual rule for independent errors (JCGM 100:2008, 5.1.2, with all sensitivities 1: a sled's error goes
//! straight into the wood). Bounds are taken as they stand, as those of about 95 % of cases.

use crate::mechanics::sensitivity::Sensitivity;
use crate::model::workshop::{HeightFrom, Sander, SheetCutter, SledPlan};

/// One cause of a wrong thickness.
#[derive(Debug, Clone, PartialEq)]
pub struct ErrorCause {
    pub of: String,
    /// Why it gets into the wood, and where its size is from.
    pub why: &'static str,
    /// Bound (random) or size (one-sided), mm, positive.
    pub mm: f64,
    pub one_sided: bool,
    /// It goes away, but for the reading, once the sled is measured and trimmed with shims.
    pub of_the_sled: bool,
}

/// Causes and what they come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    pub causes: Vec<ErrorCause>,
    /// ± before anything is measured, mm.
    pub as_cut_mm: f64,
    /// ± once the sled has been measured and trimmed to its tolerance, mm. Where the sled as cut is as good, it stays untrimmed.
    pub trimmed_mm: f64,
    /// The part of either that is known to be one-sided, mm.
    pub one_sided_mm: f64,
}

/// What a caliper in a shop shows is good to this, ±mm (about 0.0005 in); common practice, no source.
pub const CALIPER_MM: f64 = 0.0127;

/// The budget of one lamination: `sag_mm` of the deck or carrier under the roller, `rounding_mm` of the last gap to a step
/// of the gauge. Without a sled (a parallel strip on the table) only the machine and the caliper count.
pub fn budget(sled: Option<(&SledPlan, &SheetCutter)>, sander: &Sander, sag_mm: f64, rounding_mm: f64) -> Budget {
    let mut causes = Vec::new();
    let mut add = |of: &str, mm: f64, one_sided: bool, of_the_sled: bool, why: &'static str| {
        if 0.0 < mm {
            causes.push(ErrorCause { of: of.to_owned(), why, mm, one_sided, of_the_sled });
        }
    };
    let mut trimmed_sled_mm2 = 0.0;
    if let Some((plan, cutter)) = sled {
        // Trimmed to its tolerance by readings, each as good as the caliper.
        trimmed_sled_mm2 = plan.tolerance_mm * plan.tolerance_mm + CALIPER_MM * CALIPER_MM;
        match plan.make.traits().height {
            HeightFrom::Edge => add("ramp's edge as cut", cutter.holds_mm(), false, true, WHY_EDGE),
            HeightFrom::Shims => add("shims as made up", plan.tolerance_mm, false, true, WHY_SHIMS),
        }
        if 0.0 < plan.deck_mm {
            add("deck sheet's thickness over its length", plan.sheet.spread_mm, false, true, WHY_DECK);
        }
        add("sag under the pressure roller", sag_mm, true, false, WHY_SAG);
    }
    add("gap from pass to pass", sander.repeats_mm, false, false, WHY_REPEATS);
    add("last gap to a step of the gauge", rounding_mm, true, false, WHY_ROUNDING);
    add("caliper", CALIPER_MM, false, false, WHY_CALIPER);
    let squares = |of_the_sled: bool| -> f64 {
        causes.iter().filter(|c| !c.one_sided && c.of_the_sled == of_the_sled).map(|c| c.mm * c.mm).sum()
    };
    let one_sided_mm: f64 = causes.iter().filter(|c| c.one_sided).map(|c| c.mm).sum();
    let as_cut_mm = (squares(false) + squares(true)).sqrt() + one_sided_mm;
    let trimmed_mm = (squares(false) + trimmed_sled_mm2.min(squares(true))).sqrt() + one_sided_mm;
    Budget { as_cut_mm, trimmed_mm, one_sided_mm, causes }
}

const WHY_EDGE: &str = "where the edge stands high the strip comes out thin; as the build file says of the cutter";
const WHY_SHIMS: &str = "a shim that is high makes the strip thin; the sled's tolerance, to which shims are made up";
const WHY_DECK: &str = "the deck carries the strip; the sheet's spread as the build file says";
const WHY_SAG: &str = "the strip dips under the roller and stays thick; a beam over its supports";
const WHY_REPEATS: &str = "the gap does not come back to the same place; as the build file says of the sander";
const WHY_ROUNDING: &str = "the gap stops at the next step of the gauge and the strip stays thick; known from the schedule";
const WHY_CALIPER: &str = "the gauge's zero is taken from a test strip; what a shop caliper is good to";

/// What several laminations come to in the glued stack once their sleds are trimmed, mm: their random parts are independent,
/// their one-sided ones all leave wood on and add up.
pub fn together_mm<'a>(each: impl IntoIterator<Item = &'a Budget>) -> f64 {
    let (mut squares, mut one_sided) = (0.0, 0.0);
    for budget in each {
        squares += (budget.trimmed_mm - budget.one_sided_mm).powi(2);
        one_sided += budget.one_sided_mm;
    }
    squares.sqrt() + one_sided
}

/// Thickness errors as an error of the draw weight: independent parts as squares, one-sided ones plainly, each times its
/// lamination's sensitivity; none where nothing is ground.
pub fn thickness_error_n(moves: &Sensitivity, budgets: &[Option<Budget>]) -> Option<f64> {
    let (mut squares, mut one_sided) = (0.0, 0.0);
    for (of, budget) in moves.laminations.iter().zip(budgets) {
        let Some(budget) = budget else { continue };
        let n_per_mm = 100.0 * of.n_per_hundredth_mm;
        squares += (n_per_mm * (budget.trimmed_mm - budget.one_sided_mm)).powi(2);
        one_sided += n_per_mm * budget.one_sided_mm;
    }
    budgets.iter().any(Option::is_some).then(|| squares.sqrt() + one_sided)
}
