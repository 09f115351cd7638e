//! How sure is the tip that a glue-up leaves?
//!
//! Moduli scatter from board to board, independently between laminations. Each in turn is made a little stiffer, the stages are
//! held as they were, and the released tips are read again:
//!
//! ```text
//!   spread = √ Σ (d tip / d ln E_i · cov_i)²
//! ```
//!
//! one standard deviation of the tip's rise, mm. It knows nothing of a pile that does not lie down on its form, of glue lines of
//! uneven thickness, of moisture, and of creep: those come on top, and the first reading off the form says more than any of it.
//!
//! Source: derived here; the square root of the sum of squares for independent errors is any text on measurement.

use super::{GlueUp, plan};
use crate::model::Build;

/// One standard deviation of [`super::Stage::tip_left_mm`] of each stage, mm; `None` where a stiffer piece cannot be held so.
pub fn of_tips(build: &Build, glued: &GlueUp) -> Option<Vec<f64>> {
    let mut held = build.clone();
    for stage in &mut held.glue.stages {
        // The hold is built already when the wood turns out stiffer: nothing is brought anywhere again.
        stage.want_tip_mm = None;
        if let Some(done) = glued.stages.iter().find(|done| done.number == stage.number) {
            stage.held = done.held.clone();
        }
    }
    let mut squares = vec![0.0; glued.stages.len()];
    for index in 0..held.laminations.len() {
        let cov = held.laminations[index].wood.modulus_cov;
        let mut stiffer = held.clone();
        stiffer.laminations[index].wood.modulus_mpa *= 1.0 + STEP;
        let tips = plan(&stiffer).ok()?.value.stages;
        for ((square, stage), before) in squares.iter_mut().zip(tips).zip(&glued.stages) {
            *square += ((stage.tip_left_mm() - before.tip_left_mm()) / STEP * cov).powi(2);
        }
    }
    Some(squares.into_iter().map(f64::sqrt).collect())
}

/// A fiftieth of the usual scatter: curvature of the answer costs a percent of it, rounding nothing.
const STEP: f64 = 0.005;
