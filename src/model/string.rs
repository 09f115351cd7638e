//! Bowstrings by material and strands, and what else is moved and lost in a shot.
//!
//! The rows stand in `data/strings.toml`: generic families, from memory, and said to be so wherever a number of theirs is shown.

use serde::Deserialize;
use std::sync::LazyLock;

/// One family of string material.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StringMaterial {
    pub name: String,
    /// What else people call it.
    pub also: Vec<String>,
    /// Mass of a strand, g/m.
    pub strand_g_m: f64,
    /// Tension of a strand per unit of strain, N.
    pub strand_stiffness_n: f64,
    /// As many as are usual.
    pub strands: u32,
    pub note: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StringTable {
    source: String,
    string: Vec<StringMaterial>,
}

static TABLE: LazyLock<StringTable> =
    LazyLock::new(|| toml::from_str(include_str!("data/strings.toml")).expect("the bundled table of strings reads"));

/// All families.
pub fn all() -> &'static [StringMaterial] {
    &TABLE.string
}

/// Where the numbers come from.
pub fn source() -> &'static str {
    &TABLE.source
}

/// The family of this name.
pub fn named(name: &str) -> Option<&'static StringMaterial> {
    let same = |known: &str| known.eq_ignore_ascii_case(name.trim());
    all().iter().find(|row| same(&row.name) || row.also.iter().any(|also| same(also)))
}

/// The string on the bow, what sits on the tips, and what the limbs keep of a shot.
#[derive(Debug, Clone, PartialEq)]
pub struct ShotPlan {
    pub material: StringMaterial,
    pub strands: u32,
    /// Served onto the middle of the string, nocking point included, kg.
    pub serving_kg: f64,
    /// On each tip beyond its own wood and its overlays: the string's loop, its serving, a nock piece, kg.
    pub tip_kg: f64,
    /// What the limbs do not give back of the work drawn in, a ratio; `None` for what their materials are known for.
    pub loss: Option<f64>,
    /// One standard deviation of that, where it is known.
    pub loss_spread: Option<f64>,
}

impl ShotPlan {
    /// Of the bare string from nock to nock, kg.
    pub fn string_kg(&self, length_mm: f64) -> f64 {
        1e-6 * self.material.strand_g_m * f64::from(self.strands) * length_mm
    }

    /// Of the whole string with its serving, kg.
    pub fn served_string_kg(&self, length_mm: f64) -> f64 {
        self.string_kg(length_mm) + self.serving_kg
    }

    /// Tension per unit of strain, N.
    pub fn stiffness_n(&self) -> f64 {
        self.material.strand_stiffness_n * f64::from(self.strands)
    }
}

impl Default for ShotPlan {
    /// The first row, with as many strands as are usual, and nothing on it.
    fn default() -> ShotPlan {
        let material = all()[0].clone();
        ShotPlan { strands: material.strands, material, serving_kg: 0.0, tip_kg: 0.0, loss: None, loss_spread: None }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ranges that hold for any string fibre: 0.1 to 1 g/m a strand, and a modulus of 5 to 130 GPa at densities of 970 to 1450 kg/m³
    /// (fibre handbooks, from memory).
    #[test]
    fn rows_are_within_what_fibres_can_be() {
        assert!(source().contains("memory"));
        for row in all() {
            assert!((0.1..1.0).contains(&row.strand_g_m), "{}", row.name);
            // EA over mass per length is E over ρ, (m/s)².
            let specific = row.strand_stiffness_n / (1e-3 * row.strand_g_m);
            assert!((5e9 / 1450.0..130e9 / 970.0).contains(&specific), "{}: {specific}", row.name);
            assert!((8..=32).contains(&row.strands) && 20 < row.note.len());
            assert_eq!(named(&row.also[0].to_uppercase()).map(|found| &found.name), Some(&row.name));
        }
        assert!(named("gut").is_none());
    }
}
