//! How pieces of a strip, and the two halves of a lamination, are joined: what a builder says of it. Lengths and layers follow from it in `splice` and
//! `meet`.

use super::wood::Wood;

/// A scarf in a lamination, the same on both limbs.
#[derive(Debug, Clone, PartialEq)]
pub struct Splice {
    /// Station of the scarf's middle, mm; 0 for one at the bow's centre, which joins two halves to a full strip.
    pub at_mm: f64,
    /// Along the wood for 1 through its thickness, a ratio.
    pub slope: f64,
    /// The piece from the splice to the tip, where its wood is another than the lamination's; never with a splice at the bow's centre.
    pub outer: Option<OuterPiece>,
}

/// The piece beyond a splice, of a wood of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct OuterPiece {
    pub wood: Wood,
    /// The board or batch that it comes from.
    pub board: Option<String>,
    /// It lies toward the back within the scarf; else the inner piece does.
    pub on_back: bool,
}

impl Splice {
    /// Along the wood through this thickness, mm.
    pub fn length_mm(&self, thickness_mm: f64) -> f64 {
        self.slope * thickness_mm
    }
}

/// How halves meet, and over what length along the bow, half of it in each limb.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Meet {
    #[default]
    Butted,
    Scarfed {
        length_mm: f64,
    },
    Lapped {
        length_mm: f64,
    },
}

impl Meet {
    /// How far each half reaches past the bow's centre, mm.
    pub fn reach_mm(self) -> f64 {
        match self {
            Meet::Butted => 0.0,
            Meet::Scarfed { length_mm } | Meet::Lapped { length_mm } => 0.5 * length_mm,
        }
    }

    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            Meet::Butted => "butt",
            Meet::Scarfed { .. } => "scarf",
            Meet::Lapped { .. } => "lap",
        }
    }

    /// What is done to the halves, as a participle.
    pub fn done(self) -> &'static str {
        match self {
            Meet::Butted => "butted",
            Meet::Scarfed { .. } => "scarfed",
            Meet::Lapped { .. } => "lapped",
        }
    }
}
