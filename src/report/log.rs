//! What `log --json` answers: every reading beside the model, what was found, and what is left to do.

use super::beside::EditRow;
use super::fleet::FleetFound;
use schemars::JsonSchema;
use serde::Serialize;

/// A log's answers, in the order of the file.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LogAnswer {
    /// Of the bow or the batch, as the build file has it.
    pub title: String,
    /// One for each reading.
    pub answers: Vec<ReadingAnswer>,
    /// What is left at the machine, for each lamination that is ground.
    pub left: Vec<LeftToGrind>,
    /// All finished bows together; not there where no reading says whose it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bows: Option<FleetFound>,
    /// What `--write` changes in the build file; not there without it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub edits: Option<Vec<EditRow>>,
}

/// What one reading says.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReadingAnswer {
    /// The day, as 2026-11-20.
    pub date: String,
    /// Its kind, such as `strip`.
    pub of: String,
    /// The number on the bow that it is of; not there where none is named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// What it was read of, in words.
    pub about: String,
    /// Readings beside the model.
    pub rows: Vec<ObservedRow>,
    /// What follows, a sentence each, in the units of the build file.
    pub says: Vec<String>,
    /// Keys of the build file with the values that would take it over.
    pub take_over: Vec<String>,
    /// What is asked about it; while something is, nothing follows from it.
    pub questions: Vec<String>,
    /// The numbers found; none where the reading is asked about, or tells nothing.
    pub found: Option<FoundRow>,
}

/// One figure beside the model, in `unit`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ObservedRow {
    /// What was read, in words.
    pub what: String,
    /// `mm`, `N`, `MPa`, `mm/s` or `ratio`: the unit of the numbers of this row.
    pub unit: String,
    /// As it was read, in `unit`.
    pub reading: f64,
    /// What the model has for it, in `unit`.
    pub model: f64,
    /// Reading less model, in `unit`.
    pub difference: f64,
    /// How far it may lie from the model without saying anything, ± in `unit`; none where that is not known.
    pub band: Option<f64>,
}

/// What is left for one lamination.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LeftToGrind {
    /// Its name.
    pub lamination: String,
    /// Of the bow with this number; not there where none is named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// Passes made with all strips.
    pub made: u32,
    /// Passes left, in the order of the work.
    pub passes: Vec<PassLeft>,
}

/// A pass that is left.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PassLeft {
    /// Counted from 1 through all setups.
    pub number: u32,
    /// Grade of the paper; none for a planer.
    pub grit: Option<u32>,
    /// To set: cutter above table, with all that the log knows.
    pub gap_mm: f64,
}

/// What a reading found, by its kind.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[serde(untagged)]
pub enum FoundRow {
    /// `sled`.
    Sled(SledFound),
    /// `done`.
    Done(DoneFound),
    /// `test strip`.
    Zero(ZeroFound),
    /// `strip`.
    Strip(StripFound),
    /// `sheet` and `shim`.
    Thickness(ThicknessFound),
    /// `print`.
    Print(PrintFound),
    /// `bend`.
    Bend(ModulusFound),
    /// `release`.
    Release(ReleaseFound),
    /// `blank`.
    Blank(BlankStiffness),
    /// `tiller`.
    Tiller(EvennessFound),
    /// `shot`.
    Shot(LossFound),
    /// `bow`.
    Bow(OwnBowsFound),
}

/// A measured sled.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SledFound {
    /// To be added to every gap of the schedule once the tape is on.
    pub gap_shift_mm: f64,
    /// The same for the sled as it is, without tape.
    pub bare_gap_shift_mm: f64,
    /// Spread of the strip's thickness to expect from it as it is, greatest less least.
    pub spread_before_mm: f64,
    /// The same once the tape is on.
    pub spread_after_mm: f64,
    /// What to stick on, in the order of the readings.
    pub tape: Vec<TapeRow>,
}

/// Tape at one place.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TapeRow {
    /// Along the strip from its first end.
    pub u_mm: f64,
    /// Height that is missing there.
    pub wanted_mm: f64,
    /// What the pieces make.
    pub made_mm: f64,
    /// What they are made up from.
    pub pieces: Vec<TapePieces>,
}

/// Pieces of one stock.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TapePieces {
    /// Of what, as `shop.shims` names it.
    pub of: String,
    /// How many.
    pub count: u32,
}

/// Passes ticked off.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DoneFound {
    /// Passes made with all strips.
    pub made: u32,
    /// Passes left.
    pub left: usize,
}

/// Scrap through the machine.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ZeroFound {
    /// True gap less gauge.
    pub offset_mm: f64,
    /// Half of the interval that holds it.
    pub half_width_mm: f64,
    /// Left gap less right gap over the width asked for; none where it is not told.
    pub lean_mm: Option<f64>,
}

/// A strip read between passes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StripFound {
    /// The strip of a pair or a batch; empty where it has no name.
    pub strip: String,
    /// Passes made when it was read.
    pub after: u32,
    /// True gap less gauge, as if the sled stood as drawn; none where the strip tells none.
    pub offset_mm: Option<f64>,
    /// The same for the bare table, the measured sled counted.
    pub zero_mm: Option<f64>,
    /// Half of the interval that holds that.
    pub half_width_mm: Option<f64>,
    /// Thickness less taper where they differ most.
    pub worst_mm: f64,
    /// All passes are made and the strip is as wanted.
    pub done: bool,
    /// Passes left in all setups.
    pub passes_left: usize,
    /// What becomes of the weight where it came out thin; none where it did not.
    pub resized: Option<ResizedRow>,
}

/// The other laminations brought to the weight that is wanted.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ResizedRow {
    /// Draw weight with the others as planned.
    pub as_it_is_n: f64,
    /// With the others changed, as far as they may be.
    pub weight_n: f64,
    /// What is wanted, finishing allowance included.
    pub wanted_n: f64,
    /// Laminations that change.
    pub changes: Vec<ResizedLamination>,
}

/// A lamination that changes.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ResizedLamination {
    /// Its name.
    pub lamination: String,
    /// Thickness at its butt, before and after, mm.
    pub butt_mm: [f64; 2],
    /// Thickness at its tip, before and after, mm.
    pub tip_mm: [f64; 2],
}

/// Stock that was measured.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ThicknessFound {
    /// Mean of the readings.
    pub thickness_mm: f64,
}

/// A 100 mm scale check as it came out of the printer.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PrintFound {
    /// Across the sheet.
    pub across_mm: f64,
    /// Up the sheet.
    pub up_mm: f64,
}

/// A strip that was bent on supports.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ModulusFound {
    /// This strip, from all its tests.
    pub strip: StripModulus,
    /// Laminations whose modulus is known better by the tests so far.
    pub laminations: Vec<LaminationModulus>,
    /// Strips that go nowhere.
    pub spare: Vec<String>,
    /// The draw weight that the tests make; none where there is no bow, or they tell nothing of it.
    pub weight_n: Option<WeightKnown>,
}

/// The modulus of a strip.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StripModulus {
    /// Along the grain, free of shear.
    pub modulus_mpa: f64,
    /// Half of its 95 percent interval.
    pub half_width_mpa: f64,
}

/// The modulus of a lamination.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LaminationModulus {
    /// Its name.
    pub lamination: String,
    /// Along the grain, free of shear.
    pub modulus_mpa: f64,
    /// One standard deviation over it, a ratio.
    pub spread: f64,
    /// The strips that go into it, the stiffer first.
    pub strips: Vec<String>,
}

/// A draw weight with its spread.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WeightKnown {
    /// At full draw.
    pub weight_n: f64,
    /// One standard deviation of it.
    pub spread_n: f64,
}

/// What a stage of the glue-up kept.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ReleaseFound {
    /// Of the curvature that the section should keep, what is there, a ratio.
    pub retained: f64,
    /// How the next stage is to be held; none where there is none, or no hold brings it there.
    pub next: Option<NextHold>,
}

/// The next stage. Rises are positive toward the belly: reflex is negative.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct NextHold {
    /// Its number.
    pub stage: u32,
    /// Rise of the nocks that it is to leave.
    pub wanted_mm: f64,
    /// What the reading leaves open of that, either way.
    pub band_mm: f64,
    /// All rises of the form as written times this, a ratio; none without a form.
    pub form_by: Option<f64>,
    /// Rise of the props, mm; none without props.
    pub props_mm: Option<EachLimb>,
    /// Rise that one form leaves at the nocks, mm; none where the limbs did not come off apart.
    pub left_mm: Option<EachLimb>,
}

/// A length at each limb.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EachLimb {
    /// At the upper limb, mm.
    pub upper: f64,
    /// At the lower limb, mm.
    pub lower: f64,
}

/// A blank that was weighed.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BlankStiffness {
    /// All stiffness against the handbook's, from all weighings that agree, a ratio.
    pub stiffness_factor: f64,
    /// One standard deviation of that, a ratio.
    pub band: f64,
    /// Draw weight once it is trimmed to the outline, nothing else taken off.
    pub trimmed_n: f64,
    /// The target and its finishing allowance.
    pub wanted_n: f64,
    /// What the last step leaves.
    pub reached_n: f64,
    /// Share of the width, a ratio, that alone would do instead of the belly; none where the limits do not allow it.
    pub sides_alone: Option<f64>,
    /// What rounded corners take once the steps are done.
    pub corners: CornersRow,
    /// In the order of the work; empty where nothing has to go.
    pub steps: Vec<RemovalStep>,
}

/// Rounded corners.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CornersRow {
    /// Radius of the rounding.
    pub radius_mm: f64,
    /// Draw weight that it takes.
    pub takes_n: f64,
}

/// One step from the trimmed blank to the weight.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RemovalStep {
    /// `sides` or `belly`.
    pub lever: String,
    /// Draw weight before it.
    pub from_n: f64,
    /// Draw weight after it.
    pub to_n: f64,
    /// All that is off the belly then, where the stack is thickest: `belly_off` of the next weighing; nothing where this step takes none of it.
    pub belly_off_mm: Option<f64>,
    /// Pairs of station and what comes off there, off the belly or off each edge, mm.
    pub take_mm: Vec<[f64; 2]>,
}

/// Where a tiller is stiff or weak, and what comes off in this round.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct EvennessFound {
    /// What is stiffer or weaker than the rest, the surest first.
    pub stretches: Vec<StretchRow>,
    /// Share of the draw weight that this round costs, a ratio.
    pub costs: f64,
    /// Share of the draw weight that evening all of it would cost, a ratio.
    pub all_costs: f64,
    /// What comes off; empty where nothing has to, or may.
    pub take: Vec<TakeRow>,
    /// How the limbs bend, stretch by stretch, where they were read from a photograph.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bends: Option<Vec<BendRow>>,
}

/// How a stretch of a limb bends in a photograph.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BendRow {
    /// `upper` or `lower`.
    pub limb: String,
    /// Station where it begins.
    pub from_mm: f64,
    /// Station where it ends.
    pub to_mm: f64,
    /// Mean curvature as read, 1/m, positive toward the belly.
    pub curvature_per_m: f64,
    /// The same as designed, 1/m.
    pub designed_per_m: f64,
    /// One standard deviation of what was read, 1/m.
    pub sigma_per_m: f64,
}

/// A stretch of a limb that is stiff or weak.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StretchRow {
    /// `upper` or `lower`.
    pub limb: String,
    /// Station where it begins.
    pub from_mm: f64,
    /// Station where it ends.
    pub to_mm: f64,
    /// Stations where it may begin and end at the outermost, mm.
    pub within_mm: [f64; 2],
    /// Its stiffness over the rest's, a ratio.
    pub factor: f64,
    /// One standard deviation of the logarithm of that, place and length being those, a ratio.
    pub sigma_ln: f64,
    /// What the factor may be at 3.5 standard deviations, whatever place and length are, ratios; without a greatest where the stretch may not bend at all.
    pub factor_within: [Option<f64>; 2],
}

/// What comes off a stretch.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TakeRow {
    /// `upper` or `lower`.
    pub limb: String,
    /// `sides` or `belly`.
    pub lever: String,
    /// Station where it begins.
    pub from_mm: f64,
    /// Station where it ends.
    pub to_mm: f64,
    /// Off the belly, or off each edge.
    pub take_mm: f64,
}

/// What a chronograph tells of the limbs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LossFound {
    /// Speed without loss.
    pub lossless_mm_s: f64,
    /// Mass of the arrow for each pound of draw weight, grains per pound.
    pub grains_per_pound: f64,
    /// Of the work drawn in, what the limbs keep, a ratio, from all readings so far.
    pub loss: f64,
    /// Least and greatest loss, ratios.
    pub loss_band: [f64; 2],
}

/// What the builder's finished bows say.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OwnBowsFound {
    /// All stiffness against the handbook's, in the mean of these bows, a ratio.
    pub stiffness_factor: f64,
    /// Standard deviation of the next bow's weight over it, a ratio; none from a single bow.
    pub spread: Option<f64>,
    /// How many bows that is from.
    pub bows: usize,
}
