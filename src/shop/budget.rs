//! How far a strip's thickness may be off, and what each cause adds to it.
//!
//! Independent causes add as the root of the sum of their squares, one-sided ones (biases) plainly:
//!
//! ```text
//! ± = √(Σ r_i²) + Σ |b_j|
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `r_i` | bound of a cause that may fall either way | mm |
//! | `b_j` | known one-sided departure | mm |
//!
//! Source: the usual rule for independent errors (JCGM 100:2008, 5.1.2, with all sensitivities 1: a sled's error goes
//! straight into the wood). Bounds are taken as they stand, as those of about 95 % of cases.

use crate::model::workshop::{Sander, SheetCutter, SledMake, SledPlan};

/// One cause of a wrong thickness.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    pub of: String,
    /// Bound (random) or size (one-sided), mm, positive.
    pub mm: f64,
    pub one_sided: bool,
    /// It goes away, but for the reading, once the sled is measured and trimmed with shims.
    pub of_the_sled: bool,
}

/// Causes and what they come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    pub causes: Vec<Cause>,
    /// ± before anything is measured, mm.
    pub as_cut_mm: f64,
    /// ± once the sled has been measured and trimmed to its tolerance, mm.
    pub trimmed_mm: f64,
}

/// What a caliper in a shop shows is good to this, ±mm (about 0.0005 in); common practice, no source.
pub const CALIPER_MM: f64 = 0.0127;

/// The budget of one lamination: `sag_mm` of the deck or carrier under the roller, `rounding_mm` of the last gap to a step
/// of the gauge. Without a sled (a parallel strip on the table) only the machine and the caliper count.
pub fn budget(sled: Option<(&SledPlan, &SheetCutter)>, sander: &Sander, sag_mm: f64, rounding_mm: f64) -> Budget {
    let mut causes = Vec::new();
    let mut add = |of: &str, mm: f64, one_sided: bool, of_the_sled: bool| {
        if 0.0 < mm {
            causes.push(Cause { of: of.to_owned(), mm, one_sided, of_the_sled });
        }
    };
    let mut tolerance = 0.0;
    if let Some((plan, cutter)) = sled {
        tolerance = plan.tolerance_mm;
        match plan.make {
            SledMake::Ramp | SledMake::Solid => add("ramp's edge as cut", cutter.holds_mm(), false, true),
            SledMake::Shims | SledMake::RaisedEnd => add("shims as made up", plan.tolerance_mm, false, true),
        }
        if 0.0 < plan.deck_mm {
            add("deck sheet's thickness over its length", plan.sheet.spread_mm, false, true);
        }
        add("sag under the pressure roller", sag_mm, true, false);
    }
    add("gap from pass to pass", sander.repeats_mm, false, false);
    add("last gap to a step of the gauge", rounding_mm, true, false);
    add("caliper", CALIPER_MM, false, false);
    let total = |keep: &dyn Fn(&Cause) -> bool, more: f64| {
        let random: f64 = causes.iter().filter(|c| keep(c) && !c.one_sided).map(|c| c.mm * c.mm).sum();
        let biased: f64 = causes.iter().filter(|c| keep(c) && c.one_sided).map(|c| c.mm).sum();
        (random + more * more).sqrt() + biased
    };
    let as_cut_mm = total(&|_| true, 0.0);
    let trimmed_mm = total(&|cause| !cause.of_the_sled, tolerance).min(as_cut_mm);
    Budget { as_cut_mm, trimmed_mm, causes }
}

/// What several laminations come to in the glued stack, mm: their errors are independent.
pub fn together_mm(each_mm: impl IntoIterator<Item = f64>) -> f64 {
    each_mm.into_iter().map(|mm| mm * mm).sum::<f64>().sqrt()
}
