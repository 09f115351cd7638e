//! What `glue --json` answers: what each stage of the glue-up leaves, how it is held, and whether it pays.

use super::bow::StrainRow;
use schemars::JsonSchema;
use serde::Serialize;

/// The glue-up of a bow. Rises are those of the back's line over its middle, positive toward the belly: reflex is negative.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GlueAnswer {
    /// Of the bow, as the build file has it.
    pub title: String,
    /// Of the curvature kept after release, what creep leaves, a ratio; in stages without their own.
    pub retained: f64,
    /// Width of the blank as it is glued.
    pub blank_width_mm: f64,
    /// In the order of the work.
    pub stages: Vec<StageAnswer>,
    /// Laminations that climb the riser's fades; none without a riser.
    pub fades: Option<FadesRow>,
    /// The same stack glued in other ways, as written first.
    pub compared: Vec<WayRow>,
    /// One verdict for each lamination, back to belly.
    pub strips: Vec<StripRow>,
}

/// A stage of the glue-up.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StageAnswer {
    /// Counted from 1.
    pub number: u32,
    /// What is glued on in it, in words.
    pub pieces: String,
    /// How the build file has it held.
    pub held: HeldRow,
    /// Rise of the nock that it is to leave; none where none is asked for.
    pub wanted_tip_mm: Option<f64>,
    /// Rise of the nock that the hold as written would leave; none where no rise is asked for.
    pub as_written_leaves_mm: Option<f64>,
    /// All rises of the form times this to leave what is wanted, a ratio; none where it is not held on a form for a wanted rise.
    pub form_times: Option<f64>,
    /// Rise of the nock while held.
    pub tip_held_mm: f64,
    /// Rise of the nock after release.
    pub tip_left_mm: f64,
    /// Square to each tip, to bring the pile there; none where the pile does not reach.
    pub tip_load_n: Option<f64>,
    /// Greatest load along the limb, N per mm of its length; none where nothing presses.
    pub hardest_n_per_mm: Option<f64>,
    /// All load on one limb.
    pub pressed_n: f64,
    /// Small clamps for the whole bow; for this limb where the other one is different.
    pub clamps: u32,
    /// From clamp to clamp.
    pub clamp_spacing_mm: f64,
    /// Or turns of band for the same.
    pub turns_of_band: u32,
    /// Greatest number of glue lines at a station.
    pub glue_lines: u32,
    /// Of all glue lines of the same.
    pub glue_area_mm2: f64,
    /// Glue on the wood.
    pub glue_mass_kg: f64,
    /// From the adhesive's data sheet, as the build file states it; none where it does not.
    pub clamp_time_s: Option<f64>,
    /// What is bent onto the hold, where it works hardest.
    pub bent: Vec<BentRow>,
    /// What the release leaves in each layer, where it is greatest.
    pub left: Vec<LeftRow>,
    /// While held: pairs of station and rise, mm.
    pub held_rise_mm: Vec<[f64; 2]>,
    /// Of the curvature kept after release, what creep leaves in this stage, a ratio.
    pub retained: f64,
    /// After release: pairs of station and rise, mm.
    pub left_rise_mm: Vec<[f64; 2]>,
    /// The form that would leave the wanted curve itself: pairs of station and rise, mm; empty where none is asked for.
    pub exact_form_rise_mm: Vec<[f64; 2]>,
}

/// How a stage is held.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum HeldRow {
    /// Straight on a flat bench.
    Flat(HeldFlat),
    /// Bent free on props under the tips.
    Props {
        /// Rise of the back over the props.
        props_rise_mm: f64,
        /// Station of the props.
        at_mm: f64,
    },
    /// On a form.
    Form {
        /// Pairs of station and rise as written, mm.
        form_mm: Vec<[f64; 2]>,
    },
}

/// The word for a flat bench.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum HeldFlat {
    Flat,
}

/// A piece that is bent onto the hold.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BentRow {
    /// Name of the lamination, `riser`, or `glued before`.
    pub piece: String,
    /// Greatest surface strain on the way there, a ratio without sign.
    pub strain: f64,
    /// Where that is along the limb.
    pub station_mm: f64,
    /// It is over the riser's fade.
    pub on_fade: bool,
}

/// What a stage leaves in a layer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LeftRow {
    /// Name of the lamination, or `riser`.
    pub layer: String,
    /// Greatest strain that stays, a ratio; positive is stretch.
    pub strain: f64,
    /// Where that is along the limb.
    pub station_mm: f64,
    /// `back` or `belly` side of the layer.
    pub face: String,
}

/// Strips bent dry over the riser's fades.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FadesRow {
    /// Strain of a dry strip above which is a caution, a ratio.
    pub caution_strain: f64,
    /// Strain of a dry strip above which is a stop, a ratio.
    pub stop_strain: f64,
    /// Each lamination that climbs a fade.
    pub climbs: Vec<ClimbRow>,
}

/// A lamination over the fade, where it works hardest.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ClimbRow {
    /// Its name.
    pub lamination: String,
    /// Surface strain, a ratio without sign.
    pub strain: f64,
    /// Where that is along the limb.
    pub station_mm: f64,
    /// Of the strip there.
    pub thickness_mm: f64,
    /// Radius that it is bent to there.
    pub radius_mm: f64,
    /// `goes`, `caution` or `stop`.
    pub verdict: String,
    /// Its own caution, lessened to what its wood bears, a ratio.
    pub caution_strain: f64,
    /// Its own stop, lessened to what its wood bears, a ratio.
    pub stop_strain: f64,
    /// Length of one fade with which it goes; none where it goes already, or no fade on this limb is long enough.
    pub fade_length_that_goes_mm: Option<f64>,
    /// Thickness over the fade with which it goes; none where it goes already.
    pub thickness_that_goes_mm: Option<f64>,
}

/// The stack glued in one way.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WayRow {
    /// In words, such as `as written` or `glued flat`.
    pub how: String,
    /// Rise of the nock unstrung.
    pub tip_mm: f64,
    /// Why there are no numbers; none where there are.
    pub refused: Option<Vec<String>>,
    /// Draw weight; none where there are no numbers.
    pub weight_n: Option<f64>,
    /// Work between brace and full draw, J; none where there are no numbers.
    pub energy_j: Option<f64>,
    /// The hardest-worked place of each layer; none where there are no numbers.
    pub strain: Option<Vec<LayerStrainRow>>,
    /// Greatest shear in a glue line at full draw; none where there are no numbers.
    pub glue_shear_mpa: Option<f64>,
}

/// The hardest-worked place of a layer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LayerStrainRow {
    /// Name of the lamination, or `riser`.
    pub layer: String,
    /// Surface strain, a ratio; positive is stretch.
    pub strain: f64,
    /// Where that is along the limb.
    pub station_mm: f64,
    /// `back` or `belly` side of the layer.
    pub face: String,
    /// It is greatest at full draw, and not at brace.
    pub at_full_draw: bool,
    /// What the glue-up left of it, a ratio; positive is stretch.
    pub left_by_glue_up: f64,
    /// Over the material's average breaking strain, a ratio; none where that is not published.
    pub share_of_breaking: Option<f64>,
    /// `goes`, `caution` or `stop`; none where the breaking strain is not published.
    pub verdict: Option<String>,
}

impl From<StrainRow> for LayerStrainRow {
    fn from(row: StrainRow) -> LayerStrainRow {
        let StrainRow { part, strain, station_mm, face, at_full_draw, left_by_glue_up, share_of_breaking, verdict } = row;
        LayerStrainRow { layer: part, strain, station_mm, face, at_full_draw, left_by_glue_up, share_of_breaking, verdict }
    }
}

/// A strip, dry on its way there and in the bow.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StripRow {
    /// Name of the lamination.
    pub lamination: String,
    /// Greatest surface strain while it is bent dry, a ratio without sign; none where it is bent as part of what is glued already.
    pub dry_strain: Option<f64>,
    /// Where that is along the limb.
    pub dry_station_mm: Option<f64>,
    /// It is over the riser's fade.
    pub dry_on_fade: Option<bool>,
    /// `goes`, `caution` or `stop` for the dry strip.
    pub dry_verdict: Option<String>,
    /// Greatest surface strain in the bow, a ratio, positive is stretch; none where there are no numbers.
    pub strain: Option<f64>,
    /// That over the material's average breaking strain, a ratio; none where that is not published.
    pub share_of_breaking: Option<f64>,
    /// `goes`, `caution` or `stop` for the strip in the bow.
    pub bow_verdict: Option<String>,
    /// The worse of both.
    pub verdict: String,
}
