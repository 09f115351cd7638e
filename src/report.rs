//! `report.json`: every number of a build, with its unit in the key, and the schema of that file.
//!
//! The types here are the published form, and what the build book says its numbers from. The edge fills them from the rooms'
//! results, rounded to a ten-thousandth of a millimetre, so that equal builds give equal bytes.

pub mod series;

use schemars::JsonSchema;
use serde::Serialize;

/// All numbers of one build. Lengths are in mm, forces in N, times in s, volumes in mm³, tapers in mm per mm.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Report {
    pub made_by: MadeBy,
    pub title: String,
    /// Units of the build file and of the sheets: `in` or `mm`. This report is metric in any case.
    pub units: String,
    /// Defaults that stand in for what the build file does not say.
    pub assumed: Vec<AssumedRow>,
    pub warnings: Vec<WarningRow>,
    /// Thickness along the bow, from its centre to the end of the wood.
    pub stack: Vec<StackRow>,
    /// Back to belly.
    pub laminations: Vec<LaminationRow>,
    /// The laminations' thickness bounds together once the sleds are trimmed, ± mm: the random parts as the root of the sum of
    /// their squares, the one-sided parts plainly.
    pub stack_error_mm: Option<f64>,
    pub riser: Option<RiserRow>,
    /// The bow at brace and draw; none for a batch of laminations.
    pub bow: Option<BowRow>,
    /// What the bow shoots; none for a batch of laminations.
    pub shot: Option<ShotRow>,
}

/// Speeds are those of a bow drawn to its design's draw length and let go clean. Speed is no reason to shoot an arrow lighter than the
/// maker of bow and string allows.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ShotRow {
    /// Material of the string.
    pub string: String,
    pub string_source: String,
    pub strands: u32,
    /// Nock to nock, with what is served onto it.
    pub string_g: f64,
    pub serving_g: f64,
    /// Tension per unit of strain.
    pub string_stiffness_n: f64,
    /// On each tip beyond its own wood.
    pub tip_g: f64,
    /// Of the work drawn in, what the limbs keep, a ratio.
    pub loss: f64,
    pub loss_from: String,
    pub loss_band: [f64; 2],
    /// Why there are no speeds; none where there are.
    pub no_speed_because: Option<String>,
    /// From light to heavy.
    pub arrows: Vec<ArrowSpeedRow>,
    /// Which of the arrows `lighter` is for, counted from 0.
    pub judged_arrow: usize,
    pub lighter: Vec<LighterRow>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ArrowSpeedRow {
    /// For each pound of draw weight, as the trade counts arrows.
    pub grains_per_pound: f64,
    pub arrow_g: f64,
    pub speed_mm_s: f64,
    /// With the greatest and the least loss of its band.
    pub speed_band_mm_s: [f64; 2],
    /// The arrow's energy over the stored energy, loss included.
    pub efficiency: f64,
    /// What would have to move with the arrow to hold the rest of the energy.
    pub virtual_mass_g: f64,
    /// Of the string in the shot.
    pub peak_tension_n: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LighterRow {
    pub part: String,
    pub gains_mm_s: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BowRow {
    /// At full draw.
    pub draw_weight_n: f64,
    pub draw_length_mm: f64,
    pub pivot_to_nock_mm: f64,
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
    /// That slope over the mean slope in the middle third of the draw.
    pub slope_over_middle: f64,
    /// How many times stiffer sideways and in twist the limb is than just holds it in its plane at full draw, for the least and the greatest shear
    /// stiffness of its wood; none where the string lies on the limb.
    pub twist_margin: Option<[f64; 2]>,
    pub bends_most_at_mm: f64,
    pub draws: Vec<DrawRow>,
    pub strains: Vec<StrainRow>,
    /// One standard deviation of the draw weight, N: of the builder's own bows, or from the scatter of the woods' moduli.
    pub weight_spread_n: f64,
    /// Stiffness against the handbook's, as finished bows have shown it; 1 without any.
    pub stiffness_factor: f64,
    /// How many finished bows that is from.
    pub calibrated_from_bows: usize,
    /// Draw weight per hundredth of a millimetre and per percent of modulus, in the order of the laminations.
    pub laminations_move_it: Vec<MovesRow>,
    pub n_per_mm_width: f64,
    /// Nock to nock.
    pub n_per_mm_length: f64,
    /// The laminations' thickness bounds, trimmed sleds, as draw weight, ± N; none if nothing is ground.
    pub thickness_error_n: Option<f64>,
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

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GlueStageRow {
    pub number: u32,
    pub laminations: Vec<String>,
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
    /// Small clamps for the whole bow, and how far apart they stand.
    pub clamps: u32,
    pub clamp_spacing_mm: f64,
    /// Or turns of band for the whole bow.
    pub turns_of_band: u32,
    /// Square to each tip, to bring the pile there; none where the pile does not reach.
    pub tip_load_n: Option<f64>,
    /// Greatest number of glue lines at a station.
    pub glue_lines: u32,
    pub glue_area_mm2: f64,
    /// On the wood.
    pub glue_kg: f64,
    /// From the adhesive's data sheet, as the build file states it.
    pub clamp_time_s: Option<f64>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MovesRow {
    pub lamination: String,
    pub n_per_hundredth_mm: f64,
    pub n_per_percent_modulus: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HingeRow {
    pub station_mm: f64,
    /// Bend over that of its neighbourhood.
    pub over_trend: f64,
    pub cause: String,
    pub cause_station_mm: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HeavyRow {
    /// More than the weight wanted, finishing allowance included.
    pub excess_n: f64,
    /// Off the belly where it is most; none where the belly is kept, or half of its lamination would not do.
    pub belly_mm: Option<f64>,
    /// Or off the whole width beyond the fades, as a share; none where a fifth would not do.
    pub sides_share: Option<f64>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FloorRow {
    /// How far the grip is pressed down between blocks under the nocks.
    pub drop_mm: f64,
    /// As a blank as wide as its narrowest strip.
    pub blank_n: f64,
    pub trimmed_n: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TillerRow {
    pub draw_length_mm: f64,
    pub force_n: f64,
    /// From belly to string, square to the string, at each of `tiller_stations_mm`, with the tiller that is wanted.
    pub upper_belly_to_string_mm: Vec<f64>,
    pub lower_belly_to_string_mm: Vec<f64>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DrawRow {
    pub draw_length_mm: f64,
    pub force_n: f64,
    pub tension_n: f64,
    pub stored_j: f64,
    /// String against the bow's long axis.
    pub string_angle_rad: f64,
    /// String against the limb at the nock; 0 where it lies on the limb there.
    pub nock_angle_rad: f64,
    /// From the nock along the limb, as far as the string lies on it.
    pub string_on_limb_mm: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StrainRow {
    pub part: String,
    /// Positive is stretch.
    pub strain: f64,
    pub station_mm: f64,
    /// `back` or `belly` side of the part.
    pub face: String,
    pub at_full_draw: bool,
    /// What the glue-up left of it.
    pub left_by_glue_up: f64,
    /// Over the material's average breaking strain; none where that is not published.
    pub share_of_breaking: Option<f64>,
    /// `goes`, `caution` or `stop`; none where the breaking strain is not published.
    pub verdict: Option<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MadeBy {
    pub program: String,
    pub version: String,
    pub build_file: String,
    /// First eight digits of the FNV-1a hash of the build file's text.
    pub input_hash: String,
    pub options: Vec<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AssumedRow {
    pub key: String,
    pub value: String,
    pub why: String,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WarningRow {
    /// Key path in the build file.
    pub place: String,
    pub message: String,
    pub hints: Vec<String>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StackRow {
    pub station_mm: f64,
    /// What is at this station, such as `feather` or `nock`; empty for a round station.
    pub mark: String,
    /// Full width of the outline.
    pub width_mm: Option<f64>,
    /// In the order of the laminations; 0 where one does not reach.
    pub laminations_mm: Vec<f64>,
    pub riser_mm: f64,
    /// All glue lines at this station.
    pub glue_mm: f64,
    /// Laminations alone.
    pub dry_mm: f64,
    /// Laminations, riser and glue.
    pub total_mm: f64,
    /// Loss of dry thickness per unit of length since the row before; none in the first row.
    pub taper: Option<f64>,
    /// Greatest surface strain of any layer there at full draw; none for a batch of laminations, and beyond the nock.
    pub strain: Option<f64>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LaminationRow {
    pub name: String,
    pub wood: String,
    pub wood_source: String,
    pub modulus_mpa: f64,
    pub density_kg_m3: f64,
    /// `halves` or `full`.
    pub pieces: String,
    pub already_ground: bool,
    pub stage: u32,
    pub from_mm: f64,
    pub to_mm: f64,
    pub butt_mm: f64,
    /// At the riser's feather, where there is a riser.
    pub fade_end_mm: Option<f64>,
    pub tip_mm: f64,
    /// As it goes through the sander, overrun included.
    pub strip_length_mm: f64,
    pub strip_width_mm: f64,
    pub stock_mm: f64,
    pub stock_spread_mm: f64,
    pub sled: Option<SledRow>,
    pub setups: Vec<SetupRow>,
    /// Runs of the whole schedule for one bow.
    pub runs: u32,
    /// Strips side by side in a run.
    pub together: u32,
    /// At the machine, for one bow.
    pub time_s: Option<f64>,
    pub proof: Option<ProofRow>,
    pub thickness_error: Option<ErrorRow>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SledRow {
    /// `ramp`, `solid`, `shims` or `raised-end`.
    pub make: String,
    pub length_mm: f64,
    pub deck_mm: f64,
    pub under_mm: f64,
    pub final_gap_mm: f64,
    pub run_on_mm: f64,
    /// Top of the run-on above the table at the strip's first and far end; none where there is no stop.
    pub run_on_top_mm: Vec<Option<f64>>,
    /// The strip's first end (its butt) leads into the machine.
    pub first_end_leads: bool,
    /// Along the strip from its first end.
    pub heights: Vec<HeightRow>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HeightRow {
    pub u_mm: f64,
    pub station_mm: f64,
    pub thickness_mm: f64,
    pub ramp_mm: f64,
    /// What the strip lies on.
    pub surface_mm: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SetupRow {
    /// `flat` or `sled`.
    pub carrier: String,
    /// The face that is cut: `back` or `belly`.
    pub face: String,
    pub turn_over: bool,
    pub first_contact_gap_mm: f64,
    pub final_gap_mm: f64,
    /// What the last gap leaves beyond the finished thickness, by the step of the gauge.
    pub rounding_mm: f64,
    pub passes: Vec<PassRow>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PassRow {
    pub number: u32,
    pub grit: Option<u32>,
    pub new_paper: bool,
    pub gap_mm: f64,
    pub drop_mm: f64,
    pub crank_turns: f64,
    /// Stretches of the strip that are cut, from and to, along the strip.
    pub contact_mm: Vec<[f64; 2]>,
    pub deepest_mm: f64,
    pub limit_mm: f64,
    pub thinnest_mm: f64,
    pub volume_mm3: f64,
    pub time_s: f64,
    pub repeat: bool,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ProofRow {
    /// Sides of the sled times kinds of stock that were ground.
    pub cases: u32,
    /// The sled was read back from its cut file.
    pub from_cut_file: bool,
    /// Thickness less target where they differ most.
    pub worst_mm: f64,
    pub worst_at_mm: f64,
    pub deepest_mm: f64,
    pub deepest_pass: u32,
    pub thinnest_mm: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ErrorRow {
    /// ± with the sled as it comes from the cutter.
    pub as_cut_mm: f64,
    /// ± once the sled is measured and trimmed to its tolerance.
    pub trimmed_mm: f64,
    pub causes: Vec<CauseRow>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CauseRow {
    pub of: String,
    /// Where its size is from.
    pub why: String,
    pub mm: f64,
    /// Adds plainly; the others add as squares.
    pub one_sided: bool,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RiserRow {
    pub length_mm: f64,
    pub level_mm: f64,
    pub depth_mm: f64,
    pub feather_mm: f64,
    pub block_width_mm: f64,
    /// Thickness at marks from the feather inward, to match both ends by.
    pub feather_check: Vec<CheckRow>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CheckRow {
    pub from_feather_mm: f64,
    pub thickness_mm: f64,
}

/// The schema of the report, JSON Schema 2020-12.
pub fn schema() -> String {
    let schema = schemars::schema_for!(Report);
    format!("{}\n", serde_json::to_string_pretty(&schema).expect("a schema is valid JSON"))
}

/// The report's bytes.
pub fn json(report: &Report) -> Vec<u8> {
    let mut text = serde_json::to_string_pretty(report).expect("a report is valid JSON");
    text.push('\n');
    text.into_bytes()
}
