//! What a riser is made up of beside slices across its width: boards one on another, footings in its ends, and a second block glued on afterwards.
//!
//! ```text
//!   from the side                              from the back, one end
//!        ┌──────────────┐   riser overlay      ────────────────────────┐
//!     ═══╧══════════════╧═══ laminations         block    ___---‾‾‾    │
//!       ╱ third layer    ╲                              <    footing   │ feather
//!     ╱───────────────────╲                               ‾‾‾---___    │
//!   ╱    second layer       ╲                  ────────────────────────┘
//!  ──────────────────────────── glue lines            │ splice │       │
//!   first layer: the flat face                        │     length     │
//! ```
//!
//! Layers are parallel to the level part, so that the fade cuts through them and the first one is what runs out in the feather. A footing fills
//! the whole width from the feather inward as far as its V, whose point lies in the middle of the width and looks to the grip.

use super::fade::BlockProfile;
use super::wood::Wood;

/// One board of a block that is glued up over its depth.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockLayer {
    pub wood: Wood,
    /// As it is glued; what the last one has beyond the block's depth comes off with the profile.
    pub thickness_mm: f64,
}

/// Another wood in each end of the block, over its whole depth there.
#[derive(Debug, Clone, PartialEq)]
pub struct Footing {
    pub wood: Wood,
    /// From the feather to the point of its V, mm.
    pub length_mm: f64,
    /// Of the V along the bow, mm.
    pub splice_mm: f64,
}

impl Footing {
    /// Part of the block's width that is the footing's at station `s`, in the block whose feather is at `feather_mm`.
    pub fn fraction_at(&self, feather_mm: f64, s: f64) -> f64 {
        ((s - self.corners(feather_mm)[0]) / self.splice_mm).clamp(0.0, 1.0)
    }

    /// Stations of the point of its V and of the V's open end, mm.
    pub fn corners(&self, feather_mm: f64) -> [f64; 2] {
        let point = feather_mm - self.length_mm;
        [point, point + self.splice_mm]
    }

    /// Along the bow for 1 through the width, on each face of the V in a block this wide.
    pub fn slope(&self, width_mm: f64) -> f64 {
        2.0 * self.splice_mm / width_mm
    }

    /// One face of the V, seen from the back, mm.
    pub fn face_mm(&self, width_mm: f64) -> f64 {
        self.splice_mm.hypot(0.5 * width_mm)
    }
}

/// A second block, glued on the belly over all laminations once the bow is off its last form. Nothing is bent for it.
#[derive(Debug, Clone, PartialEq)]
pub struct RiserOverlay {
    pub wood: Wood,
    /// Its thickness over what it lies on.
    pub profile: BlockProfile,
    /// Wood beyond the template at each end, mm.
    pub overrun_mm: f64,
}

impl RiserOverlay {
    /// Its thickness over the belly beneath at station `s`, mm; 0 beyond its ends.
    pub fn thickness_at(&self, s: f64) -> f64 {
        self.profile.thickness_at(s)
    }
}
