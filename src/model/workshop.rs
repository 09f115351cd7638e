//! The shop: sander, sled, cutter, paper, shim stock and glue, as the build file states them.

use crate::drawing::kind::LineTable;

/// The machine that grinds.
#[derive(Debug, Clone, PartialEq)]
pub struct Sander {
    pub cutter: MachineCutter,
    /// Thinnest strip the machine may take, on a carrier or not, mm.
    pub min_thickness_mm: f64,
    /// Shortest piece the machine may take, mm.
    pub min_length_mm: f64,
    /// Widest piece, mm.
    pub widest_mm: f64,
    /// Feed, mm/s.
    pub feed_mm_s: f64,
    /// Force of one pressure roller on the work, N.
    pub roller_n: f64,
    /// Finest change of the gap that can be set, mm.
    pub gap_step_mm: f64,
    /// Change of the gap per turn of the crank, mm.
    pub crank_mm: f64,
    /// Repeatability of the gap from pass to pass, ±mm.
    pub repeats_mm: f64,
    /// In the order of use, coarse to fine; never empty.
    pub papers: Vec<Paper>,
    /// Strips ground side by side.
    pub together: u32,
    /// Passes at the last gap, without a change, to let drum and strip spring out.
    pub repeat_last: u32,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MachineCutter {
    Drum,
    Planer,
}

/// A sheet of abrasive on the drum. A planer's knives are one paper without grit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    /// P grade of ISO 6344; `None` for a planer's knives.
    pub grit: Option<u32>,
    /// Deepest cut in one pass in hard maple, mm.
    pub max_mm: f64,
    /// Depth of the scratches it leaves, which later paper must remove, mm.
    pub scratch_mm: f64,
}

/// How the sled is to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct SledPlan {
    pub make: SledMake,
    /// Height of the ramp (the rail's edge, the board's edge, the shimmed carrier's underside) above the table at the lamination's butt,
    /// mm. For a raised end and a wedge 0: the plank's own thickness, the sheet's, says how high it stands. For one carrier that serves
    /// several laminations the thickness of the level board under it.
    pub base_mm: f64,
    /// Sheet or board that lies on the ramp and carries the strip, mm; 0 if the strip lies on the ramp itself.
    pub deck_mm: f64,
    /// Tape or paper between deck and strip, mm.
    pub under_mm: f64,
    /// The thick end goes into the machine first and is held.
    pub butt_leads: bool,
    /// Departure of the sled's surface that is accepted, ±mm.
    pub tolerance_mm: f64,
    /// Sled beyond the strip at each end, mm.
    pub run_on_mm: f64,
    /// Between the stop's top and the finished strip beside it, mm.
    pub stop_clearance_mm: f64,
    /// Distance between the supports of a board with one raised end, mm; `None`: from end to end of the sled.
    pub supports_mm: Option<f64>,
    /// All carriers on shims are the same one, shimmed anew for each lamination.
    pub one_carrier: bool,
    pub sheet: Sheet,
    /// Slot width beyond the sheet's thickness, mm.
    pub fit_mm: f64,
}

/// How a sled is made. What is known of a make before a sled is laid out stands in one row of [`SledMake::traits`]; how it is laid
/// out, in a file of its own in `shop`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SledMake {
    Ramp,
    Solid,
    Shims,
    RaisedEnd,
    Wedge,
}

/// What is known of a make before a sled is laid out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MakeTraits {
    /// As build files and reports call it.
    pub word: &'static str,
    /// In words, with its article.
    pub what: &'static str,
    /// Least height of the ramp at its lowest place, mm. Half of a rail is slot, and the other half must carry: lower ones break
    /// when they are handled. A solid or propped board that is lower bends under the strip.
    /// A carrier on shims has none: what stands under it is counted where it is laid out, run-on and all.
    pub min_height_mm: Option<f64>,
    pub from: SledStock,
    pub height: HeightFrom,
    pub strip_on: StripOn,
    pub tapers: Tapers,
}

/// What a sled is made from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SledStock {
    /// Slotted parts from sheet, in pieces where they are longer than it.
    Sheets,
    /// One board, as long as the sled.
    Board,
    /// One board as long as the sled, taken as thick as it is, propped or with a wedge on it: the gaps follow.
    Plank,
}

/// What sets the height of the surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HeightFrom {
    /// An edge as it was cut or planed.
    Edge,
    /// Shims, made up to the sled's tolerance.
    Shims,
}

/// What the strip lies on where the build file says nothing of a deck.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StripOn {
    Deck,
    Board,
}

/// Tapers that a make can follow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tapers {
    Any,
    Straight,
}

impl MakeTraits {
    /// A carrier on shims, which can be shimmed anew for another taper.
    pub fn is_shimmed_carrier(self) -> bool {
        self.from == SledStock::Board && self.height == HeightFrom::Shims
    }

    /// A wedge that stands on its plank throughout.
    pub fn is_wedge(self) -> bool {
        self.from == SledStock::Plank && self.height == HeightFrom::Edge
    }
}

impl SledMake {
    /// In the order in which they are offered.
    pub const ALL: [SledMake; 5] = [SledMake::Ramp, SledMake::Solid, SledMake::Shims, SledMake::RaisedEnd, SledMake::Wedge];

    pub const fn traits(self) -> MakeTraits {
        let (board, edge, shims) = (SledStock::Board, HeightFrom::Edge, HeightFrom::Shims);
        match self {
            SledMake::Ramp => MakeTraits {
                word: "ramp",
                what: "a ramp of rails and ribs",
                min_height_mm: Some(12.0),
                from: SledStock::Sheets,
                height: edge,
                strip_on: StripOn::Deck,
                tapers: Tapers::Any,
            },
            SledMake::Solid => MakeTraits {
                word: "solid",
                what: "a solid board",
                min_height_mm: Some(6.0),
                from: board,
                height: edge,
                strip_on: StripOn::Board,
                tapers: Tapers::Any,
            },
            SledMake::Shims => MakeTraits {
                word: "shims",
                what: "a carrier on shims",
                min_height_mm: None,
                from: board,
                height: shims,
                strip_on: StripOn::Deck,
                tapers: Tapers::Any,
            },
            SledMake::RaisedEnd => MakeTraits {
                word: "raised-end",
                what: "a board with one raised end",
                min_height_mm: Some(6.0),
                from: SledStock::Plank,
                height: shims,
                strip_on: StripOn::Board,
                tapers: Tapers::Straight,
            },
            SledMake::Wedge => MakeTraits {
                word: "wedge",
                what: "a wedge on a board",
                min_height_mm: Some(6.0),
                from: SledStock::Plank,
                height: edge,
                strip_on: StripOn::Board,
                tapers: Tapers::Straight,
            },
        }
    }

    /// A flat board or plank under the strip serves in whatever height it has: what it is, is measured, and the gaps follow.
    pub fn any_height(self) -> bool {
        let traits = self.traits();
        traits.height == HeightFrom::Shims || traits.from == SledStock::Plank
    }
}

/// Flat stock that sled parts, carriers and templates are cut from.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    pub material: String,
    /// As measured, mm.
    pub thickness_mm: f64,
    /// Departure from it over the sheet, ±mm.
    pub spread_mm: f64,
    pub width_mm: f64,
    pub length_mm: f64,
    /// Bending modulus along its length, MPa: for the sag of a carrier.
    pub modulus_mpa: f64,
}

impl Sheet {
    /// The longer and the shorter side, mm.
    pub fn sides_mm(&self) -> [f64; 2] {
        [self.length_mm.max(self.width_mm), self.length_mm.min(self.width_mm)]
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    pub cutter: SheetCutter,
    pub paper: PrintPaper,
    pub shims: Vec<ShimStock>,
    /// Layer, colour and weight of each kind of line.
    pub lines: LineTable,
    pub printed: AlsoPrinted,
    /// How a router's lines are cut, as far as the shop says.
    pub profile: RouterProfile,
}

/// How a router goes around a part. Only the shop knows: what it does not say has no default and goes into no file.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct RouterProfile {
    pub tabs: Option<Tabs>,
    pub direction: Option<CutDirection>,
    /// Length along the cut over which the bit goes in, mm.
    pub ramp_mm: Option<f64>,
    /// Depth of one round, mm.
    pub depth_mm: Option<f64>,
    /// How far the bit goes beyond the sheet, into the board under it, mm.
    pub through_mm: Option<f64>,
}

/// Bridges that hold a part in its sheet until all is cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tabs {
    /// On each part.
    pub count: u32,
    /// Of the bridge itself, beside the bit, mm.
    pub length_mm: f64,
    /// Sheet left under the bit, mm.
    pub height_mm: f64,
}

/// Which way the bit goes, for a spindle that turns clockwise seen from above.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutDirection {
    /// Clockwise around a part, counter-clockwise in a hole.
    Climb,
    Conventional,
}

/// What is printed at true size only where the shop wants it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct AlsoPrinted {
    /// Both limbs of the outline; half of it is the pattern.
    pub whole_outline: bool,
    /// Loads for a laser or a router; on paper their lines are no pattern.
    pub cut_files: bool,
}

/// What cuts the sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SheetCutter {
    Laser {
        kerf_mm: f64,
        bed_mm: [f64; 2],
        holds_mm: f64,
    },
    Router {
        bit_mm: f64,
        bed_mm: [f64; 2],
        holds_mm: f64,
    },
    /// Sawn to a printed template, no compensation.
    Hand {
        holds_mm: f64,
    },
}

impl SheetCutter {
    /// How far the line on the file lies outside a part's true edge, mm.
    pub fn half_kerf_mm(&self) -> f64 {
        match self {
            SheetCutter::Laser { kerf_mm, .. } => 0.5 * kerf_mm,
            SheetCutter::Router { bit_mm, .. } => 0.5 * bit_mm,
            SheetCutter::Hand { .. } => 0.0,
        }
    }

    /// How closely it holds a line, ±mm.
    pub fn holds_mm(&self) -> f64 {
        match self {
            SheetCutter::Laser { holds_mm, .. } | SheetCutter::Router { holds_mm, .. } | SheetCutter::Hand { holds_mm } => {
                *holds_mm
            }
        }
    }

    /// What of a sheet is cut at once, along the bed's x and y, mm: the part of the bed that it covers, its length along the longer
    /// side; without a bed the whole sheet, its length along x.
    pub fn load_mm(&self, sheet: &Sheet) -> [f64; 2] {
        let [long, wide] = sheet.sides_mm();
        let Some([x, y]) = self.bed_mm() else { return [long, wide] };
        if x < y { [x.min(wide), y.min(long)] } else { [x.min(long), y.min(wide)] }
    }

    /// Bed along x and y, mm; `None` where parts may be as large as the sheet.
    pub fn bed_mm(&self) -> Option<[f64; 2]> {
        match self {
            SheetCutter::Laser { bed_mm, .. } | SheetCutter::Router { bed_mm, .. } => Some(*bed_mm),
            SheetCutter::Hand { .. } => None,
        }
    }
}

/// Paper that templates are printed on.
#[derive(Debug, Clone, PartialEq)]
pub struct PrintPaper {
    pub name: String,
    pub width_mm: f64,
    /// Height of a page; for a roll, its longest print.
    pub height_mm: f64,
    pub roll: bool,
    /// Border that the printer cannot reach, mm.
    pub margin_mm: f64,
}

/// Thin stock on hand to make up shims from.
#[derive(Debug, Clone, PartialEq)]
pub struct ShimStock {
    pub of: String,
    pub thickness_mm: f64,
    /// Pieces on hand; `None` for as many as one likes.
    pub count: Option<u32>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Glue {
    /// Thickness of a cured glue line, mm.
    pub line_mm: f64,
    /// Modulus of the cured glue, MPa.
    pub modulus_mpa: f64,
    /// kg/m² of one glue line.
    pub spread_kg_m2: f64,
    /// In order of their numbers.
    pub stages: Vec<GlueStage>,
    /// Share of the curvature kept after release that creep leaves, a ratio; of stages that do not state their own.
    pub retained: f64,
}

#[derive(Debug, Clone, PartialEq)]
pub struct GlueStage {
    pub number: u32,
    pub held: Held,
    /// s, from the adhesive's data sheet; `None` if the build file does not say.
    pub clamp_time_s: Option<f64>,
    /// Rise of the tip wanted after release, mm, negative for reflex.
    pub want_tip_mm: Option<f64>,
    /// Share of the curvature kept after this stage's release, where it has its own: what its piece really came off with.
    pub retained: Option<f64>,
    /// The upper half of its form, where a hose presses the stack; `None` for clamps, straps or bands.
    pub press: Option<Press>,
}

/// What lies between the stack and the upper half of a form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Press {
    /// Height of the hose between both halves, flattened as it presses, mm.
    pub hose_mm: f64,
    /// Heat strip, pressure strip and film together, mm.
    pub strip_mm: f64,
}

/// A hose that is pumped up lies no flatter, mm.
pub const MIN_HOSE_MM: f64 = 3.0;

impl Glue {
    /// The upper half of this stage's form, where it has one.
    pub fn press_of(&self, number: u32) -> Option<Press> {
        self.stages.iter().find(|stage| stage.number == number)?.press
    }

    /// Share of the curvature that the release of a stage leaves, a ratio.
    pub fn retained_of(&self, number: u32) -> f64 {
        let own = self.stages.iter().find(|stage| stage.number == number).and_then(|stage| stage.retained);
        own.unwrap_or(self.retained)
    }
}

/// How a stage is held while the glue sets.
#[derive(Debug, Clone, PartialEq)]
pub enum Held {
    /// Straight on a flat bench.
    Flat,
    /// Held at the grip, tips raised by `rise_mm` (positive toward the belly, deflex) on props at station `at_mm`.
    Props { rise_mm: f64, at_mm: f64 },
    /// On a form: `(station, rise)` in mm, rise positive toward the belly, a smooth curve through the points.
    Form { rise: Vec<(f64, f64)> },
}
