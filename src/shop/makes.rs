//! The makes of sled.
//!
//! | make | laid out in |
//! |---|---|
//! | rails and ribs cut from sheet | [`super::ramp`] |
//! | solid board, sawn to a template | [`super::solid`] |
//! | carrier on shims at stations | [`super::shimmed`] |
//! | plank with one raised end | [`super::raised_end`] |
//! | wedge planed to one slope, on a board | [`super::wedge`] |
//!
//! A new make is a variant and a row of [`SledMake::traits`], a file beside this one that returns a [`Kit`], and a line in [`lay_out`].

use super::kit::{Kit, Means};
use super::nest::fitting;
use super::sled::Sled;
use super::{raised_end, ramp, shimmed, solid, wedge};
use crate::diag::Outcome;
use crate::model::workshop::SledMake;

/// The sled as the plan wants it made, each of its parts small enough for the sheet, or every reason why it cannot be.
pub fn lay_out(sled: &Sled, means: &Means<'_>) -> Outcome<Kit> {
    let make = match means.plan.make {
        SledMake::Ramp => ramp::kit,
        SledMake::Solid => solid::kit,
        SledMake::Shims => shimmed::kit,
        SledMake::RaisedEnd => raised_end::kit,
        SledMake::Wedge => wedge::kit,
    };
    let made = make(sled, means)?;
    let kit = &made.value;
    if kit.is_cut() {
        fitting(&kit.parts, &means.plan.sheet, means.cutter).map_err(|fault| vec![fault])?;
    }
    Ok(made)
}
