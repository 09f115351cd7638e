//! `sleds --json`: the ways in which each sled can be made, side by side.

use schemars::JsonSchema;
use serde::Serialize;

/// All sleds of a build, and how each can be made.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SledsAnswer {
    /// The build file's title.
    pub title: String,
    /// Where times are from.
    pub hours_from: String,
    /// In the order of the laminations.
    pub sleds: Vec<SledWays>,
    /// One carrier on shims for all of them; nothing for a single sled, and where no carrier can be shimmed for all.
    pub one_carrier: Option<OneCarrierRow>,
}

/// The ways to make one sled.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SledWays {
    /// The lamination whose name it bears.
    pub lamination: String,
    /// All laminations whose strips lie on it.
    pub serves: Vec<String>,
    /// The build file's `tolerance`, ± mm.
    pub tolerance_mm: f64,
    /// How the build file has it made.
    pub make: String,
    /// The outcome in words.
    pub says: String,
    /// The simplest that holds the tolerance first, then those that miss it, last those that cannot be made.
    pub ways: Vec<SledWay>,
}

/// One way to make a sled.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SledWay {
    /// `ramp`, `solid`, `shims`, `raised-end` or `wedge`.
    pub make: String,
    /// In words.
    pub what: String,
    /// The build file asks for it.
    pub in_file: bool,
    /// The strips come out within the tolerance.
    pub holds: bool,
    /// Strips ground on it in simulation, the roller's sag reckoned with: thickness less target where they differ most, apart from what
    /// the last gap leaves on to stand on a step of the gauge; nothing where it cannot be made.
    pub off_mm: Option<f64>,
    /// What it takes to make; nothing where it cannot be made.
    pub takes: Option<SledEffort>,
    /// Putting it into the machine in place of another sled, from and to.
    pub reset_s: [f64; 2],
    /// Keys to write into these laminations for it; none where the file has it so.
    pub write: Vec<SledKeys>,
    /// Why it cannot be made.
    pub why_not: Vec<String>,
}

/// What a sled takes to make.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SledEffort {
    /// Boards, carriers and parts cut.
    pub parts: u32,
    /// Loads of the cutter's bed, or sheets.
    pub bed_loads: u32,
    /// Of all parts that are cut from sheet, mm².
    pub sheet_mm2: f64,
    /// Places that shims are set at.
    pub shims: u32,
    /// Pieces of stock in them.
    pub shim_pieces: u32,
    /// The most that what carries the strip gives way under the roller, mm.
    pub sag_mm: f64,
    /// At the bench, from and to.
    pub time_s: [f64; 2],
    /// The same in hours, in words.
    pub hours: String,
}

/// What to write into a lamination.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SledKeys {
    /// Its name; empty for `[sled]` itself.
    pub lamination: String,
    /// Each with its value, as TOML.
    pub keys: Vec<[String; 2]>,
}

/// One board and one carrier for all laminations, shimmed anew for each.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct OneCarrierRow {
    /// The build file asks for it.
    pub in_file: bool,
    /// All laminations whose strips lie on it.
    pub serves: Vec<String>,
    /// The strips come out within the tolerance.
    pub holds: bool,
    /// Thickness less target where they differ most.
    pub off_mm: f64,
    /// What it takes to make, all lists of shims counted.
    pub takes: SledEffort,
    /// Shimming it anew for another lamination, from and to.
    pub reset_s: [f64; 2],
    /// The outcome in words.
    pub says: String,
    /// Keys to write for it; none where the file has it so, and where it misses the tolerance.
    pub write: Vec<SledKeys>,
}
