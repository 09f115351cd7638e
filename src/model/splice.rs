//! Laminations glued up from shorter pieces: plain scarfs, cut at a slope through the thickness.
//!
//! ```text
//!   back  ────────────────────╱─────────      slope n: n along the wood for 1 through it
//!            inner piece    ╱   outer piece
//!   belly ───────────────╱──────────────      length n·t of a scarf through thickness t
//!                     at ↑ its middle
//! ```
//!
//! So drawn the inner piece lies toward the back within the scarf: its feather is on the back and points to the tip. Both pieces may be of different
//! woods; then the scarf counts as two layers whose shares of the thickness run straight from all of one to all of the other. The plane that a
//! block plane leaves differs from that by what the strip tapers over the scarf, one or two parts in a hundred of the thickness.

use super::join::OuterPiece;
use super::lamination::{Lamination, Pieces};
use super::wood::Wood;

/// Pieces of one length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SplicePieces {
    /// How many for one bow.
    pub count: u32,
    pub place: PiecePlace,
    /// As it is sawn, its scarfs and overrun included, mm.
    pub length_mm: f64,
}

/// Where in its strip a piece lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PiecePlace {
    /// Of a strip from tip to tip that is spliced at its centre.
    Half,
    /// Between two splices.
    Middle,
    /// From a half's butt to the splice.
    Inner,
    /// Beyond the splice.
    Outer,
}

impl PiecePlace {
    pub fn word(self) -> &'static str {
        match self {
            PiecePlace::Half => "half",
            PiecePlace::Middle => "middle",
            PiecePlace::Inner => "inner",
            PiecePlace::Outer => "outer",
        }
    }
}

impl Lamination {
    /// From and to of the splice on the finished lamination of one limb, mm; from the centre where it lies across it.
    pub fn spliced_mm(&self) -> Option<[f64; 2]> {
        let splice = self.splice.as_ref()?;
        let half = 0.5 * splice.length_mm(self.thickness_at(splice.at_mm));
        Some([(splice.at_mm - half).max(0.0), splice.at_mm + half])
    }

    /// The piece beyond its splice, where that is of another wood.
    pub fn outer(&self) -> Option<&OuterPiece> {
        self.splice.as_ref()?.outer.as_ref()
    }

    /// From and to of the scarf in which two woods lie over each other, mm.
    pub fn two_woods_mm(&self) -> Option<[f64; 2]> {
        self.outer().and_then(|_| self.spliced_mm())
    }

    /// The wood of each of its pieces: one, or that of the inner piece and that beyond the splice.
    pub fn woods(&self) -> impl Iterator<Item = &Wood> {
        std::iter::once(&self.wood).chain(self.outer().map(|outer| &outer.wood))
    }

    /// The woods that lie between two stations.
    pub fn woods_between(&self, from_mm: f64, to_mm: f64) -> impl Iterator<Item = &Wood> {
        let [inner_ends, outer_begins] = self.two_woods_mm().map_or([f64::INFINITY; 2], |[from, to]| [to, from]);
        let inner = (from_mm < inner_ends).then_some(&self.wood);
        inner.into_iter().chain(self.outer().map(|outer| &outer.wood).filter(move |_| outer_begins < to_mm))
    }

    /// Its wood in words, both of them where it is spliced of two.
    pub fn wood_words(&self) -> String {
        match self.outer() {
            None => self.wood.name.clone(),
            Some(outer) => format!("{}; outer piece {}", self.wood.name, outer.wood.name),
        }
    }

    /// The wood that the machine is set by: of two the one that takes the lighter cut.
    pub fn hardest(&self) -> &Wood {
        self.woods().fold(&self.wood, |hardest, wood| if wood.sanding_ease < hardest.sanding_ease { wood } else { hardest })
    }

    /// What a spliced strip is glued up from at its stock's thickness; nothing for one that is not.
    pub fn splice_pieces(&self) -> Vec<SplicePieces> {
        let Some(splice) = &self.splice else { return Vec::new() };
        let (scarf, overrun) = (splice.length_mm(self.stock.thickness_mm), self.stock.overrun_mm);
        let piece = |count, place, length_mm| SplicePieces { count, place, length_mm };
        let outer = self.to_mm - splice.at_mm + overrun + 0.5 * scarf;
        match self.pieces {
            Pieces::Full if splice.at_mm <= 0.0 => vec![piece(2, PiecePlace::Half, outer)],
            Pieces::Full => vec![piece(1, PiecePlace::Middle, 2.0 * splice.at_mm + scarf), piece(2, PiecePlace::Outer, outer)],
            Pieces::Halves => {
                let inner = splice.at_mm - self.butt_mm() + overrun + 0.5 * scarf;
                vec![piece(self.limbs, PiecePlace::Inner, inner), piece(self.limbs, PiecePlace::Outer, outer)]
            }
        }
    }
}
