//! All finished bows of a log together: part of what `log --json` and `series --json` answer.

use schemars::JsonSchema;
use serde::Serialize;

/// All finished bows, and what they say together. Intervals hold at 95 percent.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FleetFound {
    /// In the order in which they were weighed; those that the build file names come first.
    pub bows: Vec<FleetBowRow>,
    /// Factor on all stiffness against the handbook's, the geometric mean, a ratio.
    pub factor: f64,
    /// Its least and greatest, ratios; none from a single bow.
    pub factor_between: Option<[f64; 2]>,
    /// Standard deviation from bow to bow about what is resolved, a ratio; none from a single bow.
    pub scatter: Option<f64>,
    /// Its least and greatest, ratios.
    pub scatter_between: Option<[f64; 2]>,
    /// From one bow to the next.
    pub drift: CauseFound,
    /// Each batch beside all other bows; empty where all are of one.
    pub batches: Vec<BatchFound>,
    /// For each degree Celsius of the form.
    pub temperature: CauseFound,
    /// Factor of the next bow, a ratio.
    pub next_factor: f64,
    /// Its least and greatest, ratios; none from a single bow.
    pub next_between: Option<[f64; 2]>,
    /// What another bow of each build file draws.
    pub next: Vec<NextBowRow>,
}

/// A finished bow.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FleetBowRow {
    /// The number on it; none where none is named.
    pub serial: Option<String>,
    /// The day on which it was weighed; none for one that the build file names.
    pub date: Option<String>,
    /// The build file that it was made by; none for the log's own.
    pub build_file: Option<String>,
    /// Weight that was wanted, N; none for one that the build file names.
    pub wanted_n: Option<f64>,
    /// On the scale, N.
    pub weight_n: f64,
    /// All its stiffness against the handbook's, a ratio.
    pub factor: f64,
    /// What it weighs without its string, kg.
    pub mass_kg: Option<f64>,
    /// Of glue or glass.
    pub batch: Option<String>,
    /// Of the form, °C.
    pub temperature_c: Option<f64>,
}

/// How far a cause is told.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct CauseFound {
    /// `unseen` with too few bows or where it never changed, `unresolved`, `mixed` with another cause, or `resolved`.
    pub told: String,
    /// What it makes of the factor's logarithm, where it is resolved, a ratio.
    pub ln: Option<f64>,
    /// Half of the interval of that, a ratio: where it is not resolved, what would show.
    pub half_width: Option<f64>,
}

/// A batch.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BatchFound {
    /// Its name.
    pub name: String,
    /// How many bows are of it.
    pub bows: usize,
    /// Over all other bows.
    pub cause: CauseFound,
}

/// Another bow of a build file.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct NextBowRow {
    /// The build file; none for the log's own.
    pub build_file: Option<String>,
    /// Wanted by it, N.
    pub wanted_n: f64,
    /// What it will draw once finished, N.
    pub likely_n: f64,
    /// Least and greatest, N; none from a single bow.
    pub between_n: Option<[f64; 2]>,
}
