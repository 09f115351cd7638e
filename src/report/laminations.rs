//! Laminations with their sleds and passes, and the riser, as `passes --json` and the report publish them.

use schemars::JsonSchema;
use serde::Serialize;

/// What `passes --json` answers for one lamination.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LaminationPasses {
    /// Its name.
    pub lamination: String,
    /// Strips side by side in a run.
    pub together: u32,
    /// Runs of the whole schedule for one bow.
    pub runs: u32,
    /// At the machine, for one bow; none where nothing is ground.
    pub time_s: Option<f64>,
    /// In the order of the work; empty where nothing is ground.
    pub setups: Vec<SetupRow>,
}

/// What lies beyond the splice of a strip of two woods.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OuterWoodRow {
    /// Its material.
    pub wood: String,
    /// Where the material's numbers are from.
    pub wood_source: String,
    /// Bending modulus along the grain, free of shear.
    pub modulus_mpa: f64,
    /// Of its material.
    pub density_kg_m3: f64,
}

impl LaminationRow {
    /// Its wood in words, both of them where it is spliced of two.
    pub fn wood_words(&self) -> String {
        self.outer.as_ref().map_or_else(|| self.wood.clone(), |outer| format!("{}; outer piece {}", self.wood, outer.wood))
    }
}

/// A lamination: what it is, and how it is ground.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LaminationRow {
    /// As the build file has it.
    pub name: String,
    /// Its material; of a strip of two woods, its inner piece's.
    pub wood: String,
    /// Where the material's numbers are from.
    pub wood_source: String,
    /// Bending modulus along the grain, free of shear.
    pub modulus_mpa: f64,
    /// Of its material.
    pub density_kg_m3: f64,
    /// The piece beyond a splice of two woods; left out for a strip of one wood.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outer: Option<OuterWoodRow>,
    /// `halves` or `full`.
    pub pieces: String,
    /// It is as it is; nothing is ground.
    pub already_ground: bool,
    /// The glue-up stage that it goes in.
    pub stage: u32,
    /// Station where it begins.
    pub from_mm: f64,
    /// Station where it ends.
    pub to_mm: f64,
    /// Finished thickness at `from_mm`.
    pub butt_mm: f64,
    /// At the riser's feather, where there is a riser.
    pub fade_end_mm: Option<f64>,
    /// Finished thickness at `to_mm`.
    pub tip_mm: f64,
    /// As it goes through the sander, overrun included.
    pub strip_length_mm: f64,
    /// As it goes through the sander.
    pub strip_width_mm: f64,
    /// Thickness of its stock.
    pub stock_mm: f64,
    /// How much that may vary, ± mm.
    pub stock_spread_mm: f64,
    /// None where it is ground without one.
    pub sled: Option<SledRow>,
    /// In the order of the work; empty where nothing is ground.
    pub setups: Vec<SetupRow>,
    /// Runs of the whole schedule for one bow.
    pub runs: u32,
    /// Strips side by side in a run.
    pub together: u32,
    /// At the machine, for one bow.
    pub time_s: Option<f64>,
    /// The schedule ground on the sled; none where nothing is ground.
    pub proof: Option<ProofRow>,
    /// Bound of its thickness; none where nothing is ground.
    pub thickness_error: Option<ErrorRow>,
}

/// The sled that a lamination is ground on. Heights count from the table up.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SledRow {
    /// The lamination whose name the sled bears: with another's, this one lies on that one's sled.
    pub of: String,
    /// All laminations whose strips lie on it.
    pub serves: Vec<String>,
    /// Its sheets are among those that all bows of a series share.
    pub in_shared: bool,
    /// How much farther below the last gap its run-on stands here than for the thinnest strip that it serves; snipe falls on the overrun.
    pub run_on_lower_mm: f64,
    /// `ramp`, `solid`, `shims`, `raised-end` or `wedge`.
    pub make: String,
    /// Along the feed.
    pub length_mm: f64,
    /// Thickness of the deck that the strip lies on; 0 without one.
    pub deck_mm: f64,
    /// What the sled stands on beneath its rails; 0 without it.
    pub under_mm: f64,
    /// Gap of the last pass that makes the finished thickness.
    pub final_gap_mm: f64,
    /// How far the sled goes beyond the strip's ends.
    pub run_on_mm: f64,
    /// Top of the run-on above the table at the strip's first and far end; none where there is no stop.
    pub run_on_top_mm: Vec<Option<f64>>,
    /// The strip's first end (its butt) leads into the machine.
    pub first_end_leads: bool,
    /// Along the strip from its first end.
    pub heights: Vec<HeightRow>,
}

/// The sled at one place along the strip.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HeightRow {
    /// From the first end of the strip.
    pub u_mm: f64,
    /// The same from the centre of the bow.
    pub station_mm: f64,
    /// Finished thickness of the strip there.
    pub thickness_mm: f64,
    /// Height of the ramp there, under the deck.
    pub ramp_mm: f64,
    /// What the strip lies on.
    pub surface_mm: f64,
}

/// What is set up once and run with falling gap.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SetupRow {
    /// `flat` or `sled`.
    pub carrier: String,
    /// The face that is cut: `back` or `belly`.
    pub face: String,
    /// The strip is turned over before it.
    pub turn_over: bool,
    /// Gap at which nominal stock is just touched.
    pub first_contact_gap_mm: f64,
    /// Gap of its last pass.
    pub final_gap_mm: f64,
    /// What the last gap leaves beyond the finished thickness, by the step of the gauge.
    pub rounding_mm: f64,
    /// In the order of the work.
    pub passes: Vec<PassRow>,
}

/// A pass through the machine.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PassRow {
    /// Counted from 1 through all setups.
    pub number: u32,
    /// Grade of the paper; none for a planer.
    pub grit: Option<u32>,
    /// The paper is changed before it.
    pub new_paper: bool,
    /// To set: cutter above table.
    pub gap_mm: f64,
    /// Less than the gap before it.
    pub drop_mm: f64,
    /// The same as turns of the crank.
    pub crank_turns: f64,
    /// Stretches of the strip that are cut, from and to, along the strip.
    pub contact_mm: Vec<[f64; 2]>,
    /// Deepest cut in it.
    pub deepest_mm: f64,
    /// Deepest cut that machine, paper and wood allow.
    pub limit_mm: f64,
    /// Least thickness of the strip after it.
    pub thinnest_mm: f64,
    /// Wood removed in it, all strips together.
    pub volume_mm3: f64,
    /// At the machine.
    pub time_s: f64,
    /// At the same gap once more, to take out what springs back.
    pub repeat: bool,
}

/// What grinding the schedule by calculation leaves.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ProofRow {
    /// Sides of the sled times kinds of stock that were ground.
    pub cases: u32,
    /// The sled was read back from its cut file.
    pub from_cut_file: bool,
    /// Thickness less target where they differ most.
    pub worst_mm: f64,
    /// Where that is, along the strip.
    pub worst_at_mm: f64,
    /// Deepest cut of all passes.
    pub deepest_mm: f64,
    /// The pass that makes it.
    pub deepest_pass: u32,
    /// Least finished thickness.
    pub thinnest_mm: f64,
}

/// Bound of a lamination's thickness.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ErrorRow {
    /// ± with the sled as it comes from the cutter.
    pub as_cut_mm: f64,
    /// ± once the sled is measured and trimmed to its tolerance.
    pub trimmed_mm: f64,
    /// What it is made up from.
    pub causes: Vec<CauseRow>,
}

/// One part of a bound.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CauseRow {
    /// What errs.
    pub of: String,
    /// Where its size is from.
    pub why: String,
    /// How much of thickness that is, mm.
    pub mm: f64,
    /// Adds plainly; the others add as squares.
    pub one_sided: bool,
}

/// The riser block.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RiserRow {
    /// Feather to feather.
    pub length_mm: f64,
    /// The level part in the middle.
    pub level_mm: f64,
    /// Greatest, without the laminations.
    pub depth_mm: f64,
    /// Thickness at its ends.
    pub feather_mm: f64,
    /// All slices and their glue lines; of a block in layers as it is sawn.
    pub block_width_mm: f64,
    /// Boards from the flat face on; left out where the block is made of slices.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub layered: Option<LayeredRow>,
    /// What is let into both ends; left out where there is nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub footing: Option<FootingRow>,
    /// The second block on the belly; left out where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub overlay: Option<RiserOverlayRow>,
    /// Thickness at marks from the feather inward, to match both ends by.
    pub feather_check: Vec<CheckRow>,
    /// The grip as hands cut it; left out where the whole depth stays.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grip: Option<GripRow>,
    /// Shelf and window; left out where there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shelf: Option<ShelfRow>,
}

/// A block glued up of boards over its depth.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LayeredRow {
    /// From the flat face to the climbed one.
    pub layers: Vec<BlockLayerRow>,
    /// Of the block as it is glued, before its profile is sawn.
    pub glued_depth_mm: f64,
    /// The block's own wood trimmed to the outline, before shelf and grip are cut and without its glue, g; none for a batch of laminations.
    pub mass_g: Option<f64>,
    /// Between the boards.
    pub glue_area_mm2: f64,
    /// Glue for it, kg.
    pub glue_kg: f64,
}

/// One board of a block in layers.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BlockLayerRow {
    /// Its wood.
    pub wood: String,
    /// As it is glued.
    pub thickness_mm: f64,
    /// Station where the fade has cut it away; the feather for the first one.
    pub reach_mm: f64,
}

/// A footing at each end of the riser.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FootingRow {
    /// Its wood.
    pub wood: String,
    /// From the feather to the point of its V.
    pub length_mm: f64,
    /// Length of the V.
    pub splice_mm: f64,
    /// Along the bow for 1 through the width, on each face of the V, a ratio.
    pub slope: f64,
    /// Part of the clear wood's strength in stretch that a plain scarf of that slope keeps, a ratio.
    pub keeps: f64,
    /// Of the block at the point of the V.
    pub depth_mm: f64,
    /// Of both as they lie trimmed, without their glue, g; none for a batch of laminations.
    pub mass_g: Option<f64>,
    /// Of both, both faces each.
    pub glue_area_mm2: f64,
    /// Glue for it, kg.
    pub glue_kg: f64,
}

/// The riser's overlay.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RiserOverlayRow {
    /// Its wood.
    pub wood: String,
    /// Feather to feather.
    pub length_mm: f64,
    /// The level part in the middle.
    pub level_mm: f64,
    /// At the level part, over the belly beneath.
    pub depth_mm: f64,
    /// Thickness at its ends.
    pub feather_mm: f64,
    /// Squared, with its overruns.
    pub blank_length_mm: f64,
    /// Squared, from the lowest place of its inner face.
    pub blank_depth_mm: f64,
    /// Thickness at marks from the feather inward, to match both ends by.
    pub feather_check: Vec<CheckRow>,
    /// As it lies trimmed to the outline, before shelf and grip are cut and without its glue, g; none for a batch of laminations.
    pub mass_g: Option<f64>,
    /// Under it.
    pub glue_area_mm2: f64,
    /// Glue for it, kg.
    pub glue_kg: f64,
    /// The part that works hardest just beyond its ends at full draw; none for a batch of laminations.
    pub beyond_end: Option<BeyondEndRow>,
}

/// What lies just beyond the riser's overlay, where the bow is suddenly less deep.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BeyondEndRow {
    /// Station of the overlay's feather.
    pub station_mm: f64,
    /// The part, as it is called elsewhere.
    pub part: String,
    /// Greatest strain there at full draw, what the glue-up left included, a ratio; positive is stretch.
    pub strain: f64,
    /// |strain| over the average breaking strain, a ratio; none where that is not published.
    pub share_of_breaking: Option<f64>,
    /// `goes`, `caution` or `stop`; none where its strength is not published.
    pub verdict: Option<String>,
}

/// The belly of the grip. Stations are from the throat, which is at the bow's centre; positive toward the upper limb.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GripRow {
    /// Back to belly at the throat.
    pub throat_mm: f64,
    /// From the throat up to the full depth.
    pub up_mm: f64,
    /// From the throat down to the palm swell.
    pub down_mm: f64,
    /// Back to belly at the palm swell, where it is cut.
    pub palm_mm: Option<f64>,
    /// From the palm swell down to the full depth, where it is cut.
    pub heel_mm: Option<f64>,
    /// Back to belly at stations, from the lowest.
    pub depths: Vec<CutMarkRow>,
    /// What the wood left bears at full draw; none for a batch of laminations.
    pub weakest: Option<WeakRow>,
}

/// Shelf and sight window. Stations are from the throat.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ShelfRow {
    /// The hand that draws the string: `right` or `left`.
    pub hand: String,
    /// Of the shelf over the throat.
    pub height_mm: f64,
    /// How far the window is cut past the bow's centre line; negative where it stops short of it.
    pub past_centre_mm: f64,
    /// Straight length of the window.
    pub window_mm: f64,
    /// Over which it runs out to the side.
    pub sweep_mm: f64,
    /// Radius of the inside corner; edges get no less.
    pub corner_mm: f64,
    /// Side to side at stations, from the shelf up.
    pub widths: Vec<CutMarkRow>,
    /// What the wood left bears at full draw; none for a batch of laminations.
    pub weakest: Option<WeakRow>,
}

/// A mark along a cut.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct CutMarkRow {
    /// From the throat, positive toward the upper limb.
    pub station_mm: f64,
    /// What calipers read there.
    pub left_mm: f64,
}

/// The hardest-worked place of a cut at full draw.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WeakRow {
    /// From the throat, positive toward the upper limb.
    pub station_mm: f64,
    /// Back to belly there.
    pub depth_mm: f64,
    /// Side to side there.
    pub width_mm: f64,
    /// The wood that works hardest.
    pub wood: String,
    /// Its greatest stress, MPa; positive is stretch.
    pub stress_mpa: f64,
    /// Its strain over the average breaking strain, a ratio; none where that is not published.
    pub share_of_breaking: Option<f64>,
    /// `goes`, `caution` or `stop`; none where the breaking strain is not published.
    pub verdict: Option<String>,
}

/// A mark along the feather.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CheckRow {
    /// From the feather's end inward.
    pub from_feather_mm: f64,
    /// Of the riser there.
    pub thickness_mm: f64,
}
