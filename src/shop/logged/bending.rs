//! Released stages, blanks, tiller and finished bows beside the model.

mod bend;
mod blank;
mod finished;
mod pairs;
mod release;
mod tiller;

pub use bend::{BendFound, BendWeight, LaminationKnown, Tests, bend};
pub use blank::{BlankFound, Weighing, Worked, blank};
pub use finished::{BowsFound, Finished, bow};
pub use pairs::{ChosenStrips, TestedStrip, takes};
pub use release::{Agreement, CameOff, LimbsApart, Next, NextStage, NockPair, release};
pub use tiller::{PicturedTiller, Resolution, Round, TellsMost, TillerAction, TillerFound, Unseen};

use crate::diag::{Diagnostic, mm};
use crate::model::Build;
use crate::model::log::Reading;

/// A string stands nearer than this to where it is braced: no draw, mm.
const NO_DRAW_MM: f64 = 1.0;

/// A draw that is none: of a string that is braced at `brace_mm`, or as the design has it, it lies in front of that.
pub(super) fn no_draw(build: &Build, reading: &Reading, pivot_to_nock_mm: f64, brace_mm: Option<f64>) -> Option<Diagnostic> {
    let brace_mm = brace_mm.or(build.target.map(|target| target.brace_height_mm))?;
    (pivot_to_nock_mm < brace_mm + NO_DRAW_MM).then(|| {
        let [drawn, braced] = [pivot_to_nock_mm, brace_mm].map(|from_pivot| mm(build.stated_draw_mm(from_pivot)));
        let message = message!("the string is drawn to {}, and braced it already stands at {}", drawn, braced);
        Diagnostic::fault(reading.place.key("draw"), message)
            .hint("a draw is counted as the build file counts `draw_length`; at brace leave `draw` out")
    })
}

/// No bow is drawn past its design.
pub(super) fn beyond_design(build: &Build, reading: &Reading, pivot_to_nock_mm: f64) -> Option<Diagnostic> {
    let target = build.target?;
    let beyond_mm = pivot_to_nock_mm - target.pivot_to_nock_mm;
    (1.0 < beyond_mm).then(|| {
        let message = message!("this is {} past the design's draw length of {}", mm(beyond_mm), mm(target.draw_length_mm));
        Diagnostic::fault(reading.place.key("draw"), message)
            .hint("never draw it so far; state draws as the build file states `draw_length`")
    })
}
