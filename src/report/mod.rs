//! What programs read: `report.json`, every number of a build, and what each command answers with `--json`; and their schemas.
//!
//! The types here are the published form, and what the build book says its numbers from. A field that is measured says its unit in its
//! key or in its description. The rooms fill them from their results, the report rounded to a ten-thousandth of a millimetre, so that
//! equal builds give equal bytes.

mod text;
pub mod beside;
mod bow;
pub mod check;
pub mod fleet;
pub mod glue;
mod laminations;
mod loads;
pub mod log;
pub mod pair;
pub mod series;
pub mod sleds;
pub mod woods;

pub use bow::{BowRow, DrawRow, FloorRow, GlueStageRow, HeavyRow, HingeRow, MovesRow, StrainRow, TillerRow};
pub use laminations::{
    BeyondEndRow, BlockLayerRow, CauseRow, CheckRow, CutMarkRow, ErrorRow, FootingRow, GripRow, HeightRow, LaminationPasses,
    LaminationRow, LayeredRow, OuterWoodRow, PassRow, ProofRow, RiserOverlayRow, RiserRow, SetupRow, ShelfRow, SledRow, WeakRow,
};
pub use loads::{LoadPart, LoadRow};
pub use text::{json, schema, sorted};

use schemars::JsonSchema;
use serde::Serialize;

/// All numbers of one build. Lengths are in mm, forces in N, times in s, volumes in mm³, tapers in mm per mm.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Report {
    /// What wrote it, from which text.
    pub made_by: MadeBy,
    /// Of the bow or the batch, as the build file has it.
    pub title: String,
    /// Which limb of the bow this is; left out where one file describes both.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limb: Option<LimbRow>,
    /// Units of the build file and of the sheets: `in` or `mm`. This report is metric in any case.
    pub units: String,
    /// Defaults that stand in for what the build file does not say.
    pub assumed: Vec<AssumedRow>,
    /// What `make` warns of, in the order of its telling.
    pub warnings: Vec<WarningRow>,
    /// Thickness along the bow, from its centre to the end of the wood.
    pub stack: Vec<StackRow>,
    /// Back to belly.
    pub laminations: Vec<LaminationRow>,
    /// The laminations' thickness bounds together once the sleds are trimmed, ± mm: the random parts as the root of the sum of
    /// their squares, the one-sided parts plainly.
    pub stack_error_mm: Option<f64>,
    /// What is cut from sheet, a row for each bed-load.
    pub loads: Vec<LoadRow>,
    /// Strips glued up from shorter pieces; left out where there are none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub splices: Vec<SpliceRow>,
    /// Laminations whose halves overlap at the grip; left out where all are butted or of one strip.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub meets: Vec<MeetRow>,
    /// Glued on the tips last; left out where there are none.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub overlays: Vec<OverlayRow>,
    /// None for a bow without one, and for a batch of laminations.
    pub riser: Option<RiserRow>,
    /// The bow at brace and draw; none for a batch of laminations.
    pub bow: Option<BowRow>,
    /// What the bow shoots; none for a batch of laminations.
    pub shot: Option<ShotRow>,
}

/// One limb of a bow whose other limb has a build file of its own. What is under `bow` and `shot` is of both limbs together, but for strains, mass,
/// clamps and glue, and for what moves the weight: those are this limb's.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LimbRow {
    /// `upper` or `lower`.
    pub is: String,
    /// Name of the other limb's build file as it was given.
    pub other_build_file: String,
    /// Title of that file.
    pub other_title: String,
    /// Upper limb's belly to string less the lower's at brace, each at the end of its own fade; none for laminations alone.
    pub tiller_mm: Option<f64>,
    /// Of the pull at full draw against the square off the bow's axis, rad, positive toward the upper limb; none for laminations alone.
    pub pull_angle_rad: Option<f64>,
}

/// Speeds are those of a bow drawn to its design's draw length and let go clean. Speed is no reason to shoot an arrow lighter than the
/// maker of bow and string allows.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ShotRow {
    /// Material of the string.
    pub string: String,
    /// Where the numbers of that material are from.
    pub string_source: String,
    /// Strands of the string.
    pub strands: u32,
    /// Nock to nock, with what is served onto it.
    pub string_g: f64,
    /// Of it the servings, g.
    pub serving_g: f64,
    /// Tension per unit of strain.
    pub string_stiffness_n: f64,
    /// On each tip beyond its own wood.
    pub tip_g: f64,
    /// Of the work drawn in, what the limbs keep, a ratio.
    pub loss: f64,
    /// Where the loss is from, in words.
    pub loss_from: String,
    /// Least and greatest loss to expect, ratios.
    pub loss_band: [f64; 2],
    /// Why there are no speeds; none where there are.
    pub no_speed_because: Option<String>,
    /// From light to heavy.
    pub arrows: Vec<ArrowSpeedRow>,
    /// Which of the arrows `lighter` is for, counted from 0.
    pub judged_arrow: usize,
    /// What a gram or a percent off each part is worth.
    pub lighter: Vec<LighterRow>,
}

/// One arrow shot from the bow.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ArrowSpeedRow {
    /// For each pound of draw weight, as the trade counts arrows.
    pub grains_per_pound: f64,
    /// Mass of the arrow, g.
    pub arrow_g: f64,
    /// As it leaves the string, mm/s.
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

/// What a lighter part is worth.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LighterRow {
    /// What is lighter, and by how much.
    pub part: String,
    /// Speed gained with the arrow judged, mm/s; negative where it costs speed.
    pub gains_mm_s: f64,
}

/// What wrote a file.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MadeBy {
    /// Its name.
    pub program: String,
    /// Its version.
    pub version: String,
    /// Name of the build file as it was given.
    pub build_file: String,
    /// First eight digits of the FNV-1a hash of the build file's text.
    pub input_hash: String,
    /// Options that are not the default.
    pub options: Vec<String>,
}

/// A default that stands in.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AssumedRow {
    /// Key path in the build file.
    pub key: String,
    /// What is taken for it, with its unit.
    pub value: String,
    /// The reason for it.
    pub why: String,
}

/// A warning of the build.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WarningRow {
    /// Key path in the build file.
    pub place: String,
    /// What is amiss, in the units of the build file.
    pub message: String,
    /// What would help.
    pub hints: Vec<String>,
}

/// A trapped or crowned limb at one station.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct AcrossRow {
    /// Width of the back.
    pub back_mm: f64,
    /// Width of the belly at its edges.
    pub belly_mm: f64,
    /// How much higher the belly stands in its middle than at its edges.
    pub crown_mm: f64,
    /// Back to belly at the edges: all layers and glue lines less the crown.
    pub edge_mm: f64,
}

/// The scarfs of one lamination, the same on both limbs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SpliceRow {
    /// Name of the lamination.
    pub lamination: String,
    /// Middle of the scarf; 0 for one at the bow's centre.
    pub at_mm: f64,
    /// Along the wood for 1 through it, a ratio.
    pub slope: f64,
    /// Length of the scarf at the stock's thickness.
    pub stock_scarf_mm: f64,
    /// Length of the scarf once the strip is ground.
    pub finished_scarf_mm: f64,
    /// What the strip is glued up from.
    pub pieces: Vec<SplicePieceRow>,
    /// Part of the wood's strength in stretch that the scarf keeps, a ratio.
    pub keeps: f64,
    /// Greatest stretch of its faces within the scarf at brace or full draw, a ratio; none for a batch of laminations.
    pub stretch: Option<f64>,
    /// Of pieces of two woods; left out where both are of one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub two_woods: Option<TwoWoodsRow>,
    /// In that stretch, along the glue line, MPa.
    pub glue_shear_mpa: Option<f64>,
    /// In that stretch, across the glue line, MPa.
    pub glue_tension_mpa: Option<f64>,
    /// Strain over what the scarf keeps of the average breaking strain, a ratio; none where that is not published.
    pub share_of_breaking: Option<f64>,
    /// `goes`, `caution` or `stop`; none where the breaking strain is not published.
    pub verdict: Option<String>,
    /// What it lies over and should not; left out where that is nothing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub lies_over: Vec<LiesOverRow>,
}

/// What no scarf should lie over, and one does.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LiesOverRow {
    /// The splice of a neighbour, the riser's fade, the end of the fade or of the riser's overlay, or the nock.
    pub what: String,
    /// From this station ...
    pub from_mm: f64,
    /// ... to this one both lie; alike at an end.
    pub to_mm: f64,
}

/// Pieces of one length.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SplicePieceRow {
    /// How many for one bow.
    pub count: u32,
    /// Where in the strip: `half`, `middle`, `inner` or `outer`.
    pub place: String,
    /// As it is sawn, its scarfs and overrun included.
    pub length_mm: f64,
    /// Its wood.
    pub wood: String,
}

/// A scarf between two woods.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TwoWoodsRow {
    /// The piece that lies toward the back within the scarf, `inner` or `outer`.
    pub on_back: String,
    /// In the greatest stretch there, along the wood on the inner side of the glue line, MPa; none for a batch of laminations.
    pub inner_mpa: Option<f64>,
    /// The same on its outer side.
    pub outer_mpa: Option<f64>,
}

/// Two halves that overlap at the grip.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MeetRow {
    /// Name of the lamination.
    pub lamination: String,
    /// `scarf` or `lap`.
    pub how: String,
    /// Of the overlap along the bow, half of it in each limb.
    pub length_mm: f64,
    /// How far each half reaches past the bow's centre, its overrun left out.
    pub past_centre_mm: f64,
    /// The strip's finished thickness at the bow's centre.
    pub thickness_mm: f64,
    /// Of a scarf, along the wood for 1 through it, a ratio.
    pub slope: Option<f64>,
    /// Part of the wood's strength in stretch that the scarf keeps, a ratio.
    pub keeps: Option<f64>,
    /// Greatest stretch of its faces within the scarf at brace or full draw, a ratio.
    pub stretch: Option<f64>,
    /// In that stretch, along the glue line, MPa.
    pub glue_shear_mpa: Option<f64>,
    /// Strain over what the scarf keeps of the average breaking strain, a ratio; none where that is not published.
    pub share_of_breaking: Option<f64>,
    /// `goes`, `caution` or `stop`; none where the breaking strain is not published.
    pub verdict: Option<String>,
    /// Of a lap, the riser's face that is rebated for it: `back` or `belly`.
    pub rebate_face: Option<String>,
    /// Depth of that rebate: one strip and a glue line.
    pub rebate_mm: Option<f64>,
}

/// An overlay on both tips.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OverlayRow {
    /// `back` or `belly`.
    pub face: String,
    /// Its wood.
    pub wood: String,
    /// Where it is full.
    pub thickness_mm: f64,
    /// From the end of the wood toward the grip.
    pub length_mm: f64,
    /// Over which it thins to nothing at its grip end.
    pub fade_mm: f64,
    /// Of the limb's face where it is widest under it.
    pub widest_mm: f64,
    /// Of one overlay as it lies trimmed, without its glue, g.
    pub mass_g: f64,
    /// Under both tips' overlays on this face.
    pub glue_area_mm2: f64,
    /// Glue for both, kg.
    pub glue_kg: f64,
}

/// The stack at one station.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StackRow {
    /// From the centre of the bow toward a tip.
    pub station_mm: f64,
    /// What is at this station, such as `feather` or `nock`; empty for a round station.
    pub mark: String,
    /// Full width of the outline.
    pub width_mm: Option<f64>,
    /// How the limb is shaped across there; left out where limbs are square.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub across: Option<AcrossRow>,
    /// In the order of the laminations; 0 where one does not reach.
    pub laminations_mm: Vec<f64>,
    /// Thickness of the riser there.
    pub riser_mm: f64,
    /// Thickness of the riser's overlay there; left out where the riser has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub riser_overlay_mm: Option<f64>,
    /// Thickness of the tip overlay on the back there; left out where none lies on the backs of the tips.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub back_overlay_mm: Option<f64>,
    /// The same on the belly.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub belly_overlay_mm: Option<f64>,
    /// All glue lines at this station, those under overlays among them.
    pub glue_mm: f64,
    /// Laminations alone.
    pub dry_mm: f64,
    /// Laminations, riser, overlays and glue, before hands cut a grip.
    pub total_mm: f64,
    /// Loss of dry thickness per unit of length since the row before, mm per mm; none in the first row.
    pub taper: Option<f64>,
    /// Greatest surface strain of any layer there at full draw, a ratio; none for a batch of laminations, and beyond the nock.
    pub strain: Option<f64>,
}
