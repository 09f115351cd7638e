//! What `woods --json` answers.

use schemars::JsonSchema;
use serde::Serialize;

/// The materials that were asked for.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WoodsAnswer {
    /// Moisture content that the numbers are for, percent.
    pub moisture_percent: f64,
    /// In the order of the table.
    pub woods: Vec<WoodRow>,
}

/// A material of the program's own table.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WoodRow {
    /// As build files name it.
    pub name: String,
    /// As its source names it.
    pub label: String,
    /// Other names that it answers to.
    pub also: Vec<String>,
    /// Bending modulus along the grain, free of shear.
    pub modulus_mpa: f64,
    /// Standard deviation of single pieces' moduli over their mean, a ratio; with that between sources where several are known.
    pub modulus_coefficient_of_variation: f64,
    /// Density at that moisture.
    pub density_kg_m3: f64,
    /// Average bending strength over modulus, a ratio; none where no strength is published.
    pub breaking_strain: Option<f64>,
    /// Depth of cut that a drum takes in it over that in hard maple, a ratio.
    pub sanding_ease: f64,
    /// What its dust is known for; none where nothing beyond ordinary dust is known.
    pub dust: Option<String>,
    /// Where the numbers are from.
    pub source: String,
    /// How several sources differ; none for a wood of one table.
    pub between_sources: Option<BetweenRow>,
}

/// What several sources print of one wood, from the least to the greatest.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BetweenRow {
    /// How many there are; of one no spread is known.
    pub count: usize,
    /// Whether the numbers of the row are from a source that is named by its title; else they are averages of trade sheets.
    pub confirmed: bool,
    /// Bending moduli, free of shear.
    pub modulus_mpa: [f64; 2],
    /// Densities.
    pub density_kg_m3: [f64; 2],
    /// Bending strengths; none where no source prints one.
    pub strength_mpa: Option<[f64; 2]>,
}
