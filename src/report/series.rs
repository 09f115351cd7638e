//! `series --json`: bows of several weights from one form, and the sleds that serve them.

use super::fleet::FleetFound;
use schemars::JsonSchema;
use serde::Serialize;

/// A series.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SeriesReport {
    /// The build file's title.
    pub title: String,
    /// What finished bows of a log say, which every thickness reckons with; not there without a log.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub learnt: Option<FleetFound>,
    /// Names of the laminations, back to belly.
    pub laminations: Vec<String>,
    /// Whether all weights are glued on the same forms, or on forms of their own.
    pub one_form: bool,
    /// Lightest first.
    pub bows: Vec<SeriesBowRow>,
    /// The strips to grind, those that are ground alike together.
    pub batches: Vec<StripBatch>,
    /// Each sled once.
    pub sleds: Vec<SharedSledRow>,
}

/// The bows of one weight.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SeriesBowRow {
    /// Name of its build file.
    pub file: String,
    /// How many of them.
    pub count: u32,
    /// Wanted at full draw, finishing included, N.
    pub wanted_n: f64,
    /// What the stack draws, ground to its numbers, N.
    pub weight_n: f64,
    /// Where the part that works hardest stands, over the average breaking strain of its wood, a ratio; nothing where none is
    /// published.
    pub share_of_breaking: Option<f64>,
    /// That part.
    pub hardest: String,
    /// Mass of one limb beyond the riser, kg.
    pub limb_kg: f64,
    /// Finished thickness of each lamination at the butt, or in the middle of a full strip, back to belly, mm.
    pub thickness_mm: Vec<f64>,
    /// What lies between the upper half of each form and its hose, since that is cut for the thickest of these bows; not there without one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub press_shims: Vec<PressShimRow>,
}

/// What makes up for a thinner pile under the upper half of a form.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PressShimRow {
    /// Stage of the glue-up.
    pub stage: u32,
    /// Of even thickness over the whole edge, mm; nothing for the thickest bow.
    pub shim_mm: f64,
}

/// Strips of a lamination that are ground alike.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct StripBatch {
    /// Names of their laminations.
    pub laminations: Vec<String>,
    /// Build files of the bows that they are for.
    pub files: Vec<String>,
    /// Strips for all these bows.
    pub strips: u32,
    /// Runs through the machine at each setting, as many strips side by side as it takes.
    pub runs: u32,
    /// Passes of each run.
    pub passes: u32,
    /// The last gap between table and cutter, mm; nothing where no pass is left to do.
    pub last_gap_mm: Option<f64>,
    /// Time at the machine for all of them, s.
    pub time_s: f64,
}

/// A sled, and whom it serves.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SharedSledRow {
    /// The build file that it is cut from.
    pub cut_from: String,
    /// The lamination whose sled it is there.
    pub lamination: String,
    /// The strips that lie on it: build file and lamination.
    pub serves: Vec<ServedStrip>,
    /// How much farther below the last gap its run-on stands under the thickest of these strips than under its own, mm.
    pub run_on_lower_mm: f64,
}

/// Strips that a sled serves.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ServedStrip {
    /// Their build file.
    pub file: String,
    /// Their lamination.
    pub lamination: String,
}
