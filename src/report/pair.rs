//! What `bow --lower --json` and `shot --lower --json` answer: two different limbs of one bow.

use super::beside::{EditRow, SideRow};
use super::glue::GlueAnswer;
use super::{Report, ShotRow, StrainRow};
use schemars::JsonSchema;
use serde::Serialize;

/// A bow with two different limbs, from brace to full draw.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairAnswer {
    /// At full draw.
    pub draw_weight_n: f64,
    /// As the upper limb's build file counts draw lengths.
    pub draw_length_mm: f64,
    /// Nock to nock along the braced string.
    pub string_mm: f64,
    /// From the upper nock to the nocking point.
    pub upper_string_mm: f64,
    /// Work of the string between brace and full draw, J.
    pub stored_energy_j: f64,
    /// The limb that FILE describes.
    pub upper: PairLimb,
    /// The limb that `--lower` describes.
    pub lower: PairLimb,
    /// From brace to full draw.
    pub draws: Vec<PairDraw>,
}

/// One of the two limbs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairLimb {
    /// Name of its build file as it was given.
    pub build_file: String,
    /// Title of that file.
    pub title: String,
    /// The hardest-worked place of each part.
    pub strains: Vec<StrainRow>,
}

/// Both limbs at one draw.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairDraw {
    /// As the upper limb's build file counts draw lengths.
    pub draw_length_mm: f64,
    /// Along the line from the pivot point to the nocking point.
    pub force_n: f64,
    /// Work of the string since brace, J.
    pub stored_j: f64,
    /// That line against the square off the bow's axis, rad; positive toward the upper limb.
    pub pull_angle_rad: f64,
    /// Distances from belly to string.
    pub belly_to_string: Vec<PairGap>,
}

/// From belly to string at one station, square to the string.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairGap {
    /// From the centre of the bow toward either tip.
    pub station_mm: f64,
    /// Of the upper limb.
    pub upper_mm: f64,
    /// Of the lower limb.
    pub lower_mm: f64,
    /// Upper less lower: positive where the upper limb stands farther off.
    pub difference_mm: f64,
}

/// Both stacks solved together, beside the stacks as they are.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairSizeAnswer {
    /// Draw weight that was asked for, finishing allowance included.
    pub wanted_n: f64,
    /// How much farther from the string the upper limb was to stand at brace, each at the end of its own fade; none where the pull was to be square.
    pub wanted_tiller_mm: Option<f64>,
    /// The bow of both limbs as it is, then as the new files give it.
    pub balance: Vec<PairBalance>,
    /// The limb that FILE describes.
    pub upper: PairSized,
    /// The limb that `--lower` describes.
    pub lower: PairSized,
}

/// How the bow of two limbs stands.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairBalance {
    /// `as it is` or `sized`.
    pub bow: String,
    /// At full draw.
    pub draw_weight_n: f64,
    /// Upper limb's belly to string less the lower's at brace, each at the end of its own fade.
    pub tiller_mm: f64,
    /// Of the pull at full draw against the square off the bow's axis, rad; positive toward the upper limb.
    pub pull_angle_rad: f64,
}

/// One of the two limbs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairSized {
    /// Name of its build file as it was given.
    pub build_file: String,
    /// Title of that file.
    pub title: String,
    /// The bow with this limb's stack: as it is, then sized.
    pub bows: Vec<SideRow>,
    /// In the order of its file.
    pub edits: Vec<EditRow>,
}

/// The glue-up of two different limbs around one riser.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairGlueAnswer {
    /// The limb that FILE describes.
    pub upper: PairGlued,
    /// The limb that `--lower` describes.
    pub lower: PairGlued,
}

/// One of the two limbs. Clamps, bands and glue are those of this limb; weights and energies those of the bow of both.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairGlued {
    /// Name of its build file as it was given.
    pub build_file: String,
    /// Its stages; ways in which both limbs are glued alike.
    pub glue_up: GlueAnswer,
}

/// Everything of a bow with two different limbs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairReport {
    /// As `upper/report.json` has it.
    pub upper: Report,
    /// As `lower/report.json` has it.
    pub lower: Report,
}

/// What a bow with two different limbs shoots.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairShotAnswer {
    #[serde(flatten)]
    pub shot: ShotRow,
    /// The limb that FILE describes.
    pub upper: PairTip,
    /// The limb that `--lower` describes.
    pub lower: PairTip,
    /// At full draw.
    pub draw_weight_n: f64,
    /// Work of the string between brace and full draw, J.
    pub stored_energy_j: f64,
}

/// One of the two limbs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PairTip {
    /// Name of its build file as it was given.
    pub build_file: String,
    /// Title of that file.
    pub title: String,
    /// On its tip beyond its own wood.
    pub tip_g: f64,
}
