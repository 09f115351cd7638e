//! The bow seen from the back: width along the limb, tips and nocks.

use crate::numeric::interp::Curve;

/// Half the bow is described; the other half mirrors it.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Along the back, unstrung, mm.
    pub nock_to_nock_mm: f64,
    /// Full width in mm over the station in mm.
    pub width: Curve,
    /// Wood beyond the nock, mm.
    pub tip_beyond_nock_mm: f64,
    pub nock: Nock,
}

/// String grooves filed in the limb's edges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nock {
    /// Depth of the groove square to the edge, mm.
    pub depth_mm: f64,
    /// Slant of the groove against the line across the limb, falling toward the belly and the grip, rad.
    pub angle_rad: f64,
}

impl Outline {
    /// Station of the nock, mm.
    pub fn nock_mm(&self) -> f64 {
        0.5 * self.nock_to_nock_mm
    }

    /// Station of the end of the wood, mm.
    pub fn end_mm(&self) -> f64 {
        self.nock_mm() + self.tip_beyond_nock_mm
    }

    /// Full width at station `s`, mm.
    pub fn width_at(&self, s: f64) -> f64 {
        self.width.at(s.abs())
    }
}
