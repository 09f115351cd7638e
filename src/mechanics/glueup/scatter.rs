//! How sure is the tip that a glue-up leaves?
//!
//! Moduli scatter from board to board. Each lamination in turn is made a little stiffer, the stages are held as they were, and the
//! released tips are read again; together or apart as boards say ([`boards`]), that is one standard deviation of the tip's rise, mm.
//! It knows nothing of a pile that does not lie down on its form, of glue lines of uneven thickness, of moisture, and of creep: those come on
//! top, and the first reading off the form says more than any of it.
//!
//! Source: derived here.

use super::super::boards;
use super::{GlueUp, came_off, tips_mm};
use crate::model::Build;

/// One standard deviation of [`super::Stage::tip_left_mm`] of each stage, mm; `None` where a stiffer piece cannot be held so.
pub fn of_tips(build: &Build, glued: &GlueUp) -> Option<Vec<f64>> {
    deviations(build, glued, |held| tips_mm(held).ok())
}

/// The same once a stage's nock has been read: whatever its wood, there it stands, and only what comes after is not sure.
pub fn of_tips_after(build: &Build, glued: &GlueUp, number: u32, tip_mm: f64) -> Option<Vec<f64>> {
    deviations(build, glued, |held| came_off::read(held, glued, number, tip_mm).ok().map(|(_, tips)| tips))
}

fn deviations(build: &Build, glued: &GlueUp, tips: impl Fn(&Build) -> Option<Vec<f64>>) -> Option<Vec<f64>> {
    // The hold is built already when the wood turns out stiffer: nothing is brought anywhere again.
    let held = came_off::held(build, glued, u32::MAX);
    let pieces = held.piece_names();
    let mut by_scatter = vec![vec![0.0; pieces.len()]; glued.stages.len()];
    for (index, piece) in pieces.into_iter().enumerate() {
        let mut stiffer = held.clone();
        stiffer.stiffen(piece, 1.0 + STEP);
        for ((by, tip), before) in by_scatter.iter_mut().zip(tips(&stiffer)?).zip(&glued.stages) {
            by[index] = (tip - before.tip_left_mm()) / STEP * held.piece(piece).wood.modulus_cov;
        }
    }
    Some(by_scatter.iter().map(|by| boards::deviation(build, by)).collect())
}

/// A fiftieth of the usual scatter: curvature of the answer costs a percent of it, rounding nothing.
const STEP: f64 = 0.005;
