//! A sled as one value: whatever parts, sheets, book, tables, proof and log read of it, filled in by each make ([`super::makes`]). It is
//! numbers and plain shapes: no sheet is drawn and no file written.

use super::parts::Part;
use super::sag::Carried;
use super::shims::MakeUp;
use super::sled::Sled;
use crate::geometry::Placement;
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::workshop::{Sander, SheetCutter, ShimStock, SledPlan};
use crate::units::System;

/// What a sled is laid out with.
#[derive(Debug, Clone, Copy)]
pub struct Means<'a> {
    pub plan: &'a SledPlan,
    pub sander: &'a Sander,
    pub cutter: &'a SheetCutter,
    /// Stock on hand that shims are made up from; where there is none, shims are ground to measure.
    pub shims: &'a [ShimStock],
    /// Of one strip, mm.
    pub strip_width_mm: f64,
    /// In which the order of the work is said, and on whose rule stations lie.
    pub units: System,
}

/// A sled as it is to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Kit {
    /// Heights of its surface, as the taper asks for them.
    pub sled: Sled,
    /// What is cut from sheet, or the board or carrier seen from above.
    pub parts: Vec<Part>,
    /// The parts whose top edge is the ramp, to find it again in a drawing of them; empty for a board that no cutter follows.
    pub rails: Vec<RailPiece>,
    /// Centres of the cross ribs along the strip, `u` in mm, in the order of their numbers.
    pub ribs_mm: Vec<f64>,
    /// Along the sled, in the order of their numbers from 1.
    pub shims: Vec<Shim>,
    /// Where the surface is to be measured, beside ends and corners of the ramp.
    pub places: Vec<NamedPlace>,
    /// The surface as it will be made, points `(u, height above the table)` in mm; empty where it is to be read back from the cut
    /// files.
    pub surface: Surface,
    /// Sag of what carries the strip under the roller, mm: held fast at its supports, and the most that is reckoned with.
    pub sag_mm: [f64; 2],
    /// What carries the strip between supports; `None` for what lies on the table throughout.
    pub carried: Option<Carried>,
    /// Whole width of the sled, mm.
    pub width_mm: f64,
    pub side: SideView,
    /// What it consists of under the deck, such as `board about 1.50 in`.
    pub made_of: String,
    /// How it goes together, in the order of the work.
    pub steps: Vec<String>,
}

/// Points `(u, height above the table)` of one side of a surface, mm, increasing in `u`.
pub type Surface = Vec<(f64, f64)>;

/// One piece of a rail. In the part's own frame `x = u − u_from_mm` and `y` is the height above the table.
#[derive(Debug, Clone, PartialEq)]
pub struct RailPiece {
    /// Index into [`Kit::parts`].
    pub part: usize,
    /// From 0 at the left, seen from the end at `u = 0` along the strip.
    pub side: u32,
    /// Shoulder to shoulder, mm: a lock that reaches into the next piece is not counted.
    pub u_from_mm: f64,
    pub u_to_mm: f64,
}

/// A shim and where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Shim {
    pub u_mm: f64,
    pub made: MakeUp,
}

/// A place on the sled that its sheet names.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedPlace {
    pub u_mm: f64,
    pub name: String,
}

/// What the sled looks like from its side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SideView {
    /// Solid from the table up, raised level beyond the strip where there are stops.
    Raised,
    /// A board or carrier that runs on beyond the strip at its own slope.
    Sloped {
        /// Level board on the table, mm; 0 for none.
        base_board_mm: f64,
        /// Thickness of the board whose upper face is the ramp, mm; 0 where the deck itself lies on what stands under it.
        board_mm: f64,
    },
}

/// Where one copy of a part lies on the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Index among the parts that were laid out together.
    pub part: usize,
    /// From 1.
    pub copy: u32,
    pub placement: Placement,
}

/// What is cut from one sheet (or one bed-full of it): `0 ≤ x ≤ width`, `0 ≤ y ≤ height`.
#[derive(Debug, Clone, PartialEq)]
pub struct BedLoad {
    pub width_mm: f64,
    pub height_mm: f64,
    /// Of the sheet, mm: parts of different sheets never share a load.
    pub thickness_mm: f64,
    pub placed: Vec<Placed>,
}

impl Shim {
    /// Place on the strip, station, height, what it is made up from, and what that comes to: as every list of shims shows it.
    pub fn in_words(&self, build: &Build, lamination: &Lamination) -> [String; 5] {
        let (units, made) = (build.units, &self.made);
        [
            units.rule(self.u_mm),
            units.rule(lamination.station_at(self.u_mm)),
            units.thickness(made.wanted_mm),
            made.in_words(&build.shop.shims, units),
            units.thickness(made.made_mm),
        ]
    }
}

impl<'a> Means<'a> {
    /// What a build's sled for one lamination is laid out with.
    pub fn of(build: &'a Build, plan: &'a SledPlan, sander: &'a Sander, lamination: &Lamination) -> Means<'a> {
        Means {
            plan,
            sander,
            cutter: &build.shop.cutter,
            shims: &build.shop.shims,
            strip_width_mm: lamination.stock.width_mm,
            units: build.units,
        }
    }
}

impl Kit {
    /// A sled of which nothing is said yet but its heights and width, solid from the table up.
    pub fn new(sled: Sled, width_mm: f64) -> Kit {
        Kit {
            sled,
            parts: Vec::new(),
            rails: Vec::new(),
            ribs_mm: Vec::new(),
            shims: Vec::new(),
            places: Vec::new(),
            surface: Vec::new(),
            sag_mm: [0.0; 2],
            carried: None,
            width_mm,
            side: SideView::Raised,
            made_of: String::new(),
            steps: Vec::new(),
        }
    }

    /// A cutter follows its parts, and its surface is read back from their files.
    pub fn is_cut(&self) -> bool {
        !self.rails.is_empty()
    }

    /// Sides whose edge is the ramp.
    pub fn sides(&self) -> u32 {
        self.rails.iter().map(|rail| rail.side + 1).max().unwrap_or(0)
    }
}
