//! The bow at brace and at full draw, its tiller and its glue-up, as `bow --json` and the report publish it.

use schemars::JsonSchema;
use serde::Serialize;

/// The bow at brace and at full draw.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BowRow {
    /// At full draw.
    pub draw_weight_n: f64,
    /// As the build file counts draw lengths.
    pub draw_length_mm: f64,
    /// From the pivot point to the string at full draw.
    pub pivot_to_nock_mm: f64,
    /// From the pivot point to the braced string.
    pub brace_height_mm: f64,
    /// From the back of the grip to the pivot point.
    pub grip_depth_mm: f64,
    /// Nock to nock along the braced string.
    pub string_mm: f64,
    /// Work of the string between brace and full draw, J.
    pub stored_energy_j: f64,
    /// Strain energy gained by the limbs, J: equal to the work but for the solver's error.
    pub strain_energy_j: f64,
    /// Slope of the force at full draw, N/mm.
    pub slope_n_mm: f64,
    /// That slope over the mean slope in the middle third of the draw, a ratio.
    pub slope_over_middle: f64,
    /// How many times stiffer sideways and in twist the limb is than just holds it in its plane at full draw, for the least and the greatest
    /// shear stiffness of its wood, ratios; none where the string lies on the limb.
    pub twist_margin: Option<[f64; 2]>,
    /// Station where the limb bends most at full draw.
    pub bends_most_at_mm: f64,
    /// From brace to full draw.
    pub draws: Vec<DrawRow>,
    /// The hardest-worked place of each part.
    pub strains: Vec<StrainRow>,
    /// One standard deviation of the draw weight, N: of the builder's own bows, or from the scatter of the woods' moduli.
    pub weight_spread_n: f64,
    /// Stiffness against the handbook's, as finished bows have shown it; 1 without any.
    pub stiffness_factor: f64,
    /// How many finished bows that is from.
    pub calibrated_from_bows: usize,
    /// Draw weight per hundredth of a millimetre and per percent of modulus, in the order of the laminations.
    pub laminations_move_it: Vec<MovesRow>,
    /// Draw weight for a mm more of width all along the limb.
    pub n_per_mm_width: f64,
    /// Nock to nock.
    pub n_per_mm_length: f64,
    /// The laminations' thickness bounds, trimmed sleds, as draw weight, ± N; none if nothing is ground.
    pub thickness_error_n: Option<f64>,
    /// Where the limb bends more than its neighbourhood.
    pub hinges: Vec<HingeRow>,
    /// Where the distances of `tiller` are measured, along one limb.
    pub tiller_stations_mm: Vec<f64>,
    /// From brace to full draw.
    pub tiller: Vec<TillerRow>,
    /// What to take off a trimmed bow that is too heavy.
    pub too_heavy: Vec<HeavyRow>,
    /// Force on the floor tiller.
    pub floor_tiller: Vec<FloorRow>,
    /// On the wood in all stages.
    pub glue_kg: f64,
    /// In the order of the work; empty where the build file names no stage, and the bow is taken as straight unbraced.
    pub glue_stages: Vec<GlueStageRow>,
}

/// A stage of the glue-up.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GlueStageRow {
    /// Counted from 1.
    pub number: u32,
    /// What is glued on in it, back to belly.
    pub laminations: Vec<String>,
    /// The riser goes in with it.
    pub riser: bool,
    /// Rise of the nock while held, negative for reflex.
    pub tip_held_mm: f64,
    /// Rise of the nock after release.
    pub tip_left_mm: f64,
    /// One standard deviation of that from the scatter of the woods' moduli; none where a stiffer wood could not be held so.
    pub tip_left_spread_mm: Option<f64>,
    /// Height of the props, where it is held on props.
    pub props_mm: Option<f64>,
    /// Station and rise of the form, where it is held on one.
    pub form_mm: Vec<[f64; 2]>,
    /// Small clamps for the whole bow, or for this limb where the other one is different, and how far apart they stand.
    pub clamps: u32,
    /// Along the limb, from clamp to clamp.
    pub clamp_spacing_mm: f64,
    /// Or turns of band for the same.
    pub turns_of_band: u32,
    /// Square to each tip, to bring the pile there; none where the pile does not reach.
    pub tip_load_n: Option<f64>,
    /// Greatest number of glue lines at a station.
    pub glue_lines: u32,
    /// Of all its glue lines, for the same.
    pub glue_area_mm2: f64,
    /// On the wood.
    pub glue_kg: f64,
    /// From the adhesive's data sheet, as the build file states it.
    pub clamp_time_s: Option<f64>,
}

/// What a lamination does to the draw weight.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MovesRow {
    /// Its name.
    pub lamination: String,
    /// Draw weight for a hundredth of a mm more of its thickness, N.
    pub n_per_hundredth_mm: f64,
    /// Draw weight for a percent more of its modulus, N; of a strip of two woods, of its inner piece's.
    pub n_per_percent_modulus: f64,
    /// The same of the piece beyond the splice, N; left out for a strip of one wood.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub outer_n_per_percent_modulus: Option<f64>,
}

/// A place that bends more than its neighbourhood.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HingeRow {
    /// Where along the limb.
    pub station_mm: f64,
    /// Bend over that of its neighbourhood, a ratio.
    pub over_trend: f64,
    /// What makes it, in words.
    pub cause: String,
    /// Where that stands.
    pub cause_station_mm: f64,
}

/// What to take off a bow that is too heavy by so much.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HeavyRow {
    /// More than the weight wanted, finishing allowance included.
    pub excess_n: f64,
    /// Off the belly where it is most; none where the belly is kept, or half of its lamination would not do.
    pub belly_mm: Option<f64>,
    /// Or off the whole width beyond the fades, as a ratio; none where a fifth would not do.
    pub sides_share: Option<f64>,
}

/// What a scale shows on the floor tiller.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FloorRow {
    /// How far the grip is pressed down between blocks under the nocks.
    pub drop_mm: f64,
    /// As a blank as wide as its narrowest strip.
    pub blank_n: f64,
    /// Trimmed to its outline.
    pub trimmed_n: f64,
}

/// The tiller at one draw.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TillerRow {
    /// As the build file counts draw lengths.
    pub draw_length_mm: f64,
    /// On the string.
    pub force_n: f64,
    /// From belly to string, square to the string, at each of `tiller_stations_mm`, with the tiller that is wanted.
    pub upper_belly_to_string_mm: Vec<f64>,
    /// The same of the lower limb.
    pub lower_belly_to_string_mm: Vec<f64>,
}

/// The bow at one draw.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DrawRow {
    /// As the build file counts draw lengths.
    pub draw_length_mm: f64,
    /// On the string at the nocking point.
    pub force_n: f64,
    /// In the string.
    pub tension_n: f64,
    /// Work of the string since brace, J.
    pub stored_j: f64,
    /// String against the bow's long axis.
    pub string_angle_rad: f64,
    /// String against the limb at the nock; 0 where it lies on the limb there.
    pub nock_angle_rad: f64,
    /// From the nock along the limb, as far as the string lies on it.
    pub string_on_limb_mm: f64,
}

/// The hardest-worked place of a part.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StrainRow {
    /// Name of the lamination, or `riser`.
    pub part: String,
    /// Greatest surface strain at brace or full draw, a ratio; positive is stretch.
    pub strain: f64,
    /// Where along the limb.
    pub station_mm: f64,
    /// `back` or `belly` side of the part.
    pub face: String,
    /// It is greatest at full draw, and not at brace.
    pub at_full_draw: bool,
    /// What the glue-up left of it, a ratio; positive is stretch.
    pub left_by_glue_up: f64,
    /// Over the material's average breaking strain; none where that is not published.
    pub share_of_breaking: Option<f64>,
    /// `goes`, `caution` or `stop`; none where the breaking strain is not published.
    pub verdict: Option<String>,
}
