//! What `bow --lower --json` and `shot --lower --json` answer: two different limbs of one bow.

use super::{ShotRow, StrainRow};
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
