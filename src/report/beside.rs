//! What `size --json` and `rescale --json` answer: bows side by side, and what changes in the file.

use super::ArrowSpeedRow;
use schemars::JsonSchema;
use serde::Serialize;

/// The stack solved for its draw weight, beside the stack as it is.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SizeAnswer {
    /// As it is, then sized.
    pub bows: Vec<SideRow>,
    /// In the order of the file.
    pub edits: Vec<EditRow>,
    /// Draw weight that was asked for, finishing allowance included.
    pub wanted_n: f64,
    /// Coefficient of variation of the surface strain along the working limb, before and after, ratios.
    pub unevenness: [f64; 2],
    /// What would work the wood less hard; none where it is worked as a sound design works it.
    pub easier: Option<EasierRow>,
}

/// The bow carried to another length, beside the bow as it is.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RescaleAnswer {
    /// As it is, then rescaled, then sized where that was asked for.
    pub bows: Vec<SideRow>,
    /// In the order of the file.
    pub edits: Vec<EditRow>,
    /// Length of the working limb after over before, a ratio.
    pub working_limb_ratio: f64,
    /// The rules that it was carried by.
    pub rules: Vec<String>,
    /// Draw weight that it was sized for, finishing allowance included; none where sizing was not asked for.
    pub wanted_n: Option<f64>,
    /// What would work the wood less hard; none where it is worked as a sound design works it, and where it was not sized.
    pub easier: Option<EasierRow>,
}

/// One of the bows.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SideRow {
    /// Which one: `as it is`, `sized`, `rescaled` or `and sized`.
    pub bow: String,
    /// Along the back.
    pub nock_to_nock_mm: f64,
    /// As the build file counts draw lengths.
    pub draw_length_mm: f64,
    /// At full draw.
    pub draw_weight_n: f64,
    /// One standard deviation of that.
    pub draw_weight_spread_n: f64,
    /// Nock to nock along the braced string.
    pub string_mm: f64,
    /// Work of the string between brace and full draw, J.
    pub stored_j: f64,
    /// String against the limb at the nock at full draw, rad; 0 where it lies on the limb there.
    pub string_at_nock_rad: f64,
    /// One limb beyond the fade.
    pub limb_kg: f64,
    /// The arrow that speeds are judged by; none where there is no speed.
    pub arrow: Option<ArrowSpeedRow>,
    /// Why there is no speed; none where there is.
    pub no_speed_because: Option<String>,
    /// Back to belly.
    pub laminations: Vec<SideLamination>,
}

/// A lamination in one of the bows.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SideLamination {
    /// As the build file has it.
    pub name: String,
    /// Its material.
    pub wood: String,
    /// Finished thickness where it begins.
    pub butt_mm: f64,
    /// Finished thickness where it ends.
    pub tip_mm: f64,
    /// Loss of thickness per unit of length, mm per mm; the mean of a strip that is given at stations.
    pub taper: f64,
    /// Greatest surface strain at brace or full draw, a ratio, positive is stretch; none where it bends nowhere.
    pub greatest_strain: Option<f64>,
    /// That over the material's average breaking strain, a ratio; none where that is not published.
    pub share_of_breaking_strain: Option<f64>,
    /// `goes`, `caution` or `stop`; none where the breaking strain is not published.
    pub verdict: Option<String>,
}

/// A value that changes in the build file.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EditRow {
    /// Key path in the build file.
    pub key: String,
    /// As the file has it; empty where it is added.
    pub was: String,
    /// As the new file has it.
    pub now: String,
}

/// Three ways, each alone, to work the wood no harder than a sound design does.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EasierRow {
    /// Greatest strain over breaking strain then, a ratio.
    pub share_of_breaking_at_most: f64,
    /// The bow as long as this; none where no length within reach does.
    pub nock_to_nock_mm: Option<f64>,
    /// All widths times this, a ratio; none where no width within reach does.
    pub widths_times: Option<f64>,
    /// A draw weight of this much, the finished bow; none where none within reach does.
    pub draw_weight_n: Option<f64>,
}
