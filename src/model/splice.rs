//! Laminations glued up from shorter pieces: plain scarfs, cut at a slope through the thickness.
//!
//! ```text
//!   back  ───────────────╲──────────────      slope n: n along the wood for 1 through it
//!   belly ────────────────────╲─────────      length n·t of a scarf through thickness t
//!                     at ↑ its middle
//! ```

use super::lamination::{Lamination, Pieces};

/// Pieces of one length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SplicePieces {
    /// How many for one bow.
    pub count: u32,
    /// Where in the strip: `middle`, `inner`, `outer`, or `half`.
    pub place: &'static str,
    /// As it is sawn, its scarfs and overrun included, mm.
    pub length_mm: f64,
}

impl Lamination {
    /// From and to of the splice on the finished lamination of one limb, mm; from the centre where it lies across it.
    pub fn spliced_mm(&self) -> Option<[f64; 2]> {
        let splice = self.splice?;
        let half = 0.5 * splice.length_mm(self.thickness_at(splice.at_mm));
        Some([(splice.at_mm - half).max(0.0), splice.at_mm + half])
    }

    /// What a spliced strip is glued up from at its stock's thickness; nothing for one that is not.
    pub fn splice_pieces(&self) -> Vec<SplicePieces> {
        let Some(splice) = self.splice else { return Vec::new() };
        let (scarf, overrun) = (splice.length_mm(self.stock.thickness_mm), self.stock.overrun_mm);
        let piece = |count, place, length_mm| SplicePieces { count, place, length_mm };
        let outer = self.to_mm - splice.at_mm + overrun + 0.5 * scarf;
        match self.pieces {
            Pieces::Full if splice.at_mm <= 0.0 => vec![piece(2, "half", outer)],
            Pieces::Full => vec![piece(1, "middle", 2.0 * splice.at_mm + scarf), piece(2, "outer", outer)],
            Pieces::Halves => {
                vec![piece(2, "inner", splice.at_mm - self.from_mm + overrun + 0.5 * scarf), piece(2, "outer", outer)]
            }
        }
    }
}
