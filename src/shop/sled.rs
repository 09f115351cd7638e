//! The sled under a strip: how high its surface must be at each place.
//!
//! A cutter at a fixed gap above the table leaves the strip's top parallel to the table, so the sled is the complement
//! of the taper: low under the butt, high under the tip.
//!
//! ```text
//!   gap G ─────────────────────────────────────────────── cutter's lowest line
//!         strip t(u)   ▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒
//!         under        paper or tape
//!         deck         sheet that carries the strip
//!         ramp r(u)    rail's edge, board's edge, or carrier on shims
//!   0 ─────────────────────────────────────────────────── table
//!         u = 0 at the strip's butt end (halves) or at one tip (full)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `u` | along the strip from its butt end; the sled runs from `−run_on` to `length + run_on` | mm |
//! | `t(u)` | finished thickness, the taper continued over the overrun | mm |
//! | `r(u)` | ramp height: `base + t(butt) − t(u)`, butt = the lamination's own end without overrun | mm |
//! | `h(u)` | surface the strip lies on: `r(u) + deck + under` | mm |
//! | `G` | last gap: `h(u) + t(u)`, the same at every `u` | mm |
//!
//! Source: geometry; "lamination plus sled equals gap" is common practice.

use crate::model::workshop::SledMake;
use crate::numeric::interp::Curve;

/// A sled for one kind of strip.
#[derive(Debug, Clone, PartialEq)]
pub struct Sled {
    /// The lamination's name.
    pub lamination: String,
    pub make: SledMake,
    /// Strip through the sander, overrun included, mm.
    pub strip_length_mm: f64,
    pub run_on_mm: f64,
    /// Ramp height over `u` between 0 and the strip's length, mm, with corners where the taper has them.
    pub ramp: Curve,
    /// Places in `u` where the ramp changes its slope at once, without the two ends, increasing, mm. A joint or a shim's span
    /// should not hide one.
    pub corners_mm: Vec<f64>,
    pub deck_mm: f64,
    pub under_mm: f64,
    /// Last gap between table and cutter, mm.
    pub final_gap_mm: f64,
    /// Top of the run-on at both ends, above the table, mm: the last gap less the stop's clearance, so that snipe falls on
    /// the sled. It stands over the strip's seat and is the stop. `None` where the finished strip is too thin for a stop.
    pub run_on_top_mm: [Option<f64>; 2],
    /// Which end goes into the machine first and is held: `true` for the end at `u = 0`.
    pub first_end_leads: bool,
}

impl Sled {
    /// Height of the surface under the strip at `u`, above the table, mm.
    pub fn surface_mm(&self, u: f64) -> f64 {
        self.ramp.at(u) + self.deck_mm + self.under_mm
    }

    /// Whole length of the sled, mm.
    pub fn length_mm(&self) -> f64 {
        self.strip_length_mm + 2.0 * self.run_on_mm
    }
}
