//! The shop log: what was measured, in the order in which it was written down.
//!
//! What holds for every [`Log`]: laminations and stages that it names are in the build it was read with, every number is finite
//! and in mm or N, and no list of readings is empty. Whether a reading can be meant is not judged here.

use crate::diag::Place;
/// Of a picture: points in pixels, and what is known of its marks.
pub use crate::geometry::path::{Extent, Point};
pub use crate::geometry::plane_view::KnownMarks;
use crate::numeric::interp::Curve;

/// All readings, oldest first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Log {
    pub readings: Vec<Reading>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Year, month and day as in ISO 8601, such as `2026-11-20`.
    pub date: String,
    /// The table in the log, for faults.
    pub place: Place,
    /// What the builder wrote beside it.
    pub note: Option<String>,
    /// The bow that it belongs to, by the number that is written on it; `None` for the only one, or for what is the shop's.
    pub serial: Option<String>,
    /// The build file that this bow is made by, as written: a path from the log's folder; `None` for the log's own, or as said before.
    pub build_file: Option<String>,
    pub glued: GluedUnder,
    pub of: Of,
}

/// What a bow was glued with.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GluedUnder {
    /// Of glue or glass, by the builder's own word for it.
    pub batch: Option<String>,
    /// Of the form.
    pub temperature_c: Option<f64>,
}

impl Reading {
    /// A reading that says nothing but what was read.
    pub fn new(date: impl Into<String>, place: Place, of: Of) -> Reading {
        Reading { date: date.into(), place, note: None, serial: None, build_file: None, glued: GluedUnder::default(), of }
    }

    /// The bow that it belongs to; empty where none is named.
    pub fn bow(&self) -> &str {
        self.serial.as_deref().unwrap_or_default()
    }
}

/// What was measured.
#[derive(Debug, Clone, PartialEq)]
pub enum Of {
    /// Heights of the surface under the strip above the table, `(u, height)`, `u` from the strip's first end.
    Sled {
        lamination: usize,
        heights_mm: Vec<(f64, f64)>,
    },
    /// Scrap sent through to find the zero of the gauge and the lean of the table.
    TestStrip {
        lamination: Option<usize>,
        on: ScrapOn,
        run: StripRun,
    },
    /// The work itself after a pass. `strip` tells the strips of a pair apart.
    Strip {
        lamination: usize,
        strip: String,
        run: StripRun,
    },
    /// Passes of the schedule up to this one are made: with this strip, or with all where none is named. Nothing was measured.
    Done {
        lamination: usize,
        strip: String,
        pass: u32,
    },
    /// Sheet that the sled is cut from.
    Sheet {
        thickness_mm: Vec<f64>,
    },
    /// Shim stock, an index into the build's list.
    Shim {
        stock: usize,
        thickness_mm: Vec<f64>,
    },
    /// A 100 mm scale check on a print, across and up, mm.
    Print {
        across_mm: f64,
        up_mm: f64,
    },
    Bend(BendTest),
    /// Rise of the nocks over the grip after a stage was released, negative for reflex.
    Release {
        stage: u32,
        tips: Tips,
    },
    /// The weight of a blank that is not finished yet.
    Blank {
        bent: BlankBending,
        weight_n: f64,
        taken_off: TakenOff,
    },
    Tiller(TillerReading),
    Bow(BowWeighing),
    Shot(ShotReading),
}

/// Arrows of one weight over a chronograph.
#[derive(Debug, Clone, PartialEq)]
pub struct ShotReading {
    /// Once or several times, mm/s.
    pub speeds_mm_s: Vec<f64>,
    /// The whole arrow, kg.
    pub arrow_kg: f64,
    /// `None` for the design's draw.
    pub pivot_to_nock_mm: Option<f64>,
}

/// A strip on two supports, a weight hung on its middle.
#[derive(Debug, Clone, PartialEq)]
pub struct BendTest {
    pub lamination: usize,
    pub strip: String,
    pub span_mm: f64,
    pub weight_n: f64,
    /// What the middle went down by, once or several times.
    pub sag_mm: Vec<f64>,
    /// What a sag is read to either way, where it is stated.
    pub reads_mm: Option<f64>,
    /// Over the place from one support.
    pub width_mm: Curve,
    pub thickness_mm: Curve,
}

/// A finished bow: of this build, or of the build file that its reading names.
#[derive(Debug, Clone, PartialEq)]
pub struct BowWeighing {
    pub weight_n: f64,
    /// The whole bow without its string, kg.
    pub mass_kg: Option<f64>,
    /// What sanding, finish and set took; `None` for what its target keeps for them.
    pub finishing_n: Option<f64>,
    pub taken_off: TakenOff,
}

/// What was taken off by then, as far as it is said.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TakenOff {
    pub width: Option<BlankWidth>,
    /// Off the belly beyond the fades, where the stack is thickest, mm.
    pub belly_off_mm: Option<f64>,
}

/// How wide a blank is.
#[derive(Debug, Clone, PartialEq)]
pub enum BlankWidth {
    /// Each lamination as wide as its strip.
    Strips,
    /// Trimmed to the outline.
    Outline,
    /// Full width in mm over the station in mm, all through the stack.
    Whole(Curve),
    /// These laminations so, by index; the others as wide as their strips.
    Each(Vec<(usize, Curve)>),
}

/// Distances from belly to string of both limbs.
#[derive(Debug, Clone, PartialEq)]
pub struct TillerReading {
    /// `None` at brace.
    pub pivot_to_nock_mm: Option<f64>,
    /// `None` for the target's.
    pub brace_mm: Option<f64>,
    /// `[station, upper, lower]`; none where a picture was read.
    pub gaps_mm: Vec<[f64; 3]>,
    /// In place of distances.
    pub photograph: Option<Box<Photograph>>,
    /// The grip cannot turn while it is drawn.
    pub fixed: bool,
    /// One σ of a distance; `None` where it was not said.
    pub sigma_mm: Option<f64>,
    /// Whether wood came off since the reading before; `None` where it was not said.
    pub worked: Option<bool>,
}

/// A picture of the bent bow, as its points were marked, in pixels from its upper left corner: see the photograph of `mechanics`.
#[derive(Debug, Clone, PartialEq)]
pub struct Photograph {
    /// Pixels.
    pub size_px: Extent,
    pub marks: KnownMarks,
    /// From the camera to the bow, mm.
    pub camera_mm: f64,
    /// How far the marks stand behind the bow's middle plane, away from the camera, mm.
    pub behind_mm: f64,
    /// Upper and lower, where the groove meets the edge of the back.
    pub nocks_px: [Point; 2],
    /// The bow's middle on the edge of its back.
    pub grip_px: Point,
    /// Along the edge of the back, upper and lower limb.
    pub limbs_px: [Vec<Point>; 2],
    /// One σ of a click in either direction, pixels.
    pub click_px: f64,
}

/// A run through the machine and what it left.
#[derive(Debug, Clone, PartialEq)]
pub struct StripRun {
    /// Passes of the schedule that were made by then.
    pub after: u32,
    /// What the gauge showed, mm; `None` where it was not noted.
    pub gauge_mm: Option<f64>,
    pub at: Vec<Across>,
    /// The builder counted the places from the bow's centre; here they count from the strip's first end all the same.
    pub from_centre: bool,
    /// Between left and right readings, mm; `None` where only one reading was taken at each place.
    pub apart_mm: Option<f64>,
}

/// What scrap lay on as it went through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScrapOn {
    Table,
    /// That of the named lamination.
    Sled,
}

/// Thickness at one place of a strip, at both edges as seen from the infeed side, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Across {
    pub u_mm: f64,
    pub left_mm: f64,
    pub right_mm: f64,
}

impl Of {
    /// The lamination that is read at the machine, an index.
    pub fn lamination(&self) -> Option<usize> {
        match self {
            Of::Sled { lamination, .. } | Of::Strip { lamination, .. } | Of::Done { lamination, .. } => Some(*lamination),
            Of::TestStrip { lamination, .. } => *lamination,
            _ => None,
        }
    }

    /// The word that a log has for this kind of reading.
    pub fn kind(&self) -> &'static str {
        match self {
            Of::Sled { .. } => "sled",
            Of::TestStrip { .. } => "test strip",
            Of::Strip { .. } => "strip",
            Of::Done { .. } => "done",
            Of::Sheet { .. } => "sheet",
            Of::Shim { .. } => "shim",
            Of::Print { .. } => "print",
            Of::Bend(_) => "bend",
            Of::Release { .. } => "release",
            Of::Blank { .. } => "blank",
            Of::Tiller(_) => "tiller",
            Of::Bow(_) => "bow",
            Of::Shot(_) => "shot",
        }
    }
}

impl Across {
    pub fn middle_mm(&self) -> f64 {
        0.5 * (self.left_mm + self.right_mm)
    }
}

/// Rise of both nocks over the grip, mm, negative for reflex.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tips {
    /// Of both limbs, their mean.
    Mean(f64),
    Each {
        upper_mm: f64,
        lower_mm: f64,
    },
}

impl Tips {
    pub fn mean_mm(&self) -> f64 {
        match self {
            Tips::Mean(mean) => *mean,
            Tips::Each { upper_mm, lower_mm } => 0.5 * (upper_mm + lower_mm),
        }
    }
}

/// How a blank was bent for its weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BlankBending {
    /// On a string of this length from nock to nock, longer than the bow, drawn to this distance from the pivot point, mm.
    LongString { string_mm: f64, pivot_to_nock_mm: f64 },
    /// Braced at this height and drawn to this distance from the pivot point, mm.
    Braced { brace_mm: f64, pivot_to_nock_mm: f64 },
    /// Nocks on two blocks, belly up, pressed down at the grip by this much from where it lay free, mm.
    Floor { drop_mm: f64 },
}
