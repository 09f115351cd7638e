//! The pass schedule: what to set on the sander, pass by pass.

use crate::model::lamination::Face;

/// The passes for one kind of strip, in the order of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    pub lamination: String,
    pub setups: Vec<Setup>,
    /// Strips in one run through the machine.
    pub together: u32,
    /// Runs of the whole schedule for one bow.
    pub runs: u32,
}

/// Passes with the strip lying one way.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    pub carrier: Carrier,
    /// The face that is cut.
    pub face: Face,
    /// Gap at which the cutter first touches nominal stock, mm.
    pub first_contact_gap_mm: f64,
    pub final_gap_mm: f64,
    pub passes: Vec<Pass>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carrier {
    /// The machine's table or a flat board of the sled's base height: the first face is made true.
    Flat,
    /// The tapered sled.
    Sled,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// From 1, through all setups.
    pub number: u32,
    /// Index into the sander's papers.
    pub paper: usize,
    pub grit: Option<u32>,
    /// Gap above the table, mm; on a flat carrier, above the carrier.
    pub gap_mm: f64,
    /// Less than the gap before by this much, mm; the first pass counts from first contact.
    pub drop_mm: f64,
    /// Turns of the crank from the gap before.
    pub turns: f64,
    /// Stretches of the strip that the cutter touches, `(from, to)` in `u`, mm.
    pub contact_mm: Vec<(f64, f64)>,
    /// Deepest cut of this pass, mm.
    pub deepest_mm: f64,
    /// What limited the depth.
    pub limit_mm: f64,
    /// Thinnest place of the strip after the pass, mm.
    pub thinnest_mm: f64,
    /// Wood removed from all strips of the run, mm³.
    pub volume_mm3: f64,
    /// Time for the pass, feed and handling, s.
    pub time_s: f64,
    /// A pass at the same gap as before, for spring in drum and strip.
    pub repeat: bool,
}
