//! Materials with the numbers that grinding and bending need, each with its source.
//!
//! The rows stand in `data/woods.toml`. Handbook moduli come from centre-loaded beams of span/depth 14 and include shear
//! deflection; the handbook's own correction adds a tenth (FPL-GTR-282, WoodTable 5-3b, footnote). They are brought from
//! 12 percent moisture to the build's by the handbook's formula:
//!
//! ```text
//! P = P12 (P12 / Pg)^((12 − M)/(Mp − 12))        FPL-GTR-282, eq. 5-3, WoodTable 5-13, p. 5-34
//! ```
//!
//! with `P12` and `Pg` the property at 12 percent and green, `M` the moisture and `Mp` the intersection moisture, in percent.
//! Valid for about 21 °C, from about 6 percent to `Mp`; above `Mp` the green value holds.
//!
//! Sources differ in what they print of one wood, and pieces differ among themselves. Where several sources are known, the modulus scatters
//! by both (`compared` below).

use crate::numeric::span::Span;
use crate::units::MPA_PER_KSI;
use serde::Deserialize;
use std::sync::LazyLock;

/// What a material is made of, as far as it decides which faces may be worked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum MaterialKind {
    #[default]
    Wood,
    /// Its outer fibres carry it: that face stays whole.
    Bamboo,
    /// Fibres in resin, glass or carbon: thin, and strained to its faces; both stay whole.
    Glass,
}

impl MaterialKind {
    /// What a name says: `own bamboo`, `carbon strip`; everything else is wood.
    pub fn named(name: &str) -> MaterialKind {
        let name = name.to_lowercase();
        let has = |words: &[&str]| words.iter().any(|word| name.contains(word));
        if has(&["glass", "carbon"]) {
            MaterialKind::Glass
        } else if has(&["bamboo"]) {
            MaterialKind::Bamboo
        } else {
            MaterialKind::Wood
        }
    }
}

/// Wood, bamboo or a glass-fibre strip, at the moisture of the build.
#[derive(Debug, Clone, PartialEq)]
pub struct Wood {
    /// As written in build files, such as `maple, sugar`.
    pub name: String,
    pub kind: MaterialKind,
    /// Bending modulus along the grain, free of shear deflection, MPa.
    pub modulus_mpa: f64,
    /// Coefficient of variation of the modulus, a ratio.
    pub modulus_cov: f64,
    /// kg/m³ at about twelve percent moisture.
    pub density_kg_m3: f64,
    /// Bending strength over modulus: the surface strain at the average breaking load if the material stayed elastic, a ratio.
    /// Real pieces stretch further before they break and scatter widely. `None` where nothing was published.
    pub breaking_strain: Option<f64>,
    /// Depth of cut a drum takes in it compared with hard maple, a ratio.
    pub sanding_ease: f64,
    /// What its dust is known for; `None` where nothing beyond ordinary dust is known.
    pub dust: Option<String>,
    pub source: String,
}

/// One row of the materials' table.
#[derive(Debug, Clone, PartialEq)]
pub struct Species {
    pub name: String,
    pub kind: MaterialKind,
    /// The label of its source.
    pub label: String,
    /// What else people call it, spelled any way; each name belongs to one row.
    pub also: Vec<String>,
    pub source: String,
    /// Coefficient of variation from piece to piece, a ratio.
    pub piece_cov: f64,
    /// Where its value may stand among those of several sources; `None` where one source is all there is to a row.
    pub between: Option<BetweenSources>,
    pub density_kg_m3: f64,
    pub dust: Option<String>,
    sanding_ease: Option<f64>,
    /// Apparent modulus at 12 percent and green, MPa; equal where the source gives one value.
    modulus_mpa: (f64, f64),
    strength_mpa: Option<(f64, f64)>,
    /// What the modulus is multiplied by to free it of shear deflection.
    shear_factor: f64,
    mp_percent: f64,
}

/// What several sources print of one wood, at about 12 percent moisture.
#[derive(Debug, Clone, PartialEq)]
pub struct BetweenSources {
    /// How many there are; of one no spread is known.
    pub count: usize,
    /// Whether the value is from a source that is named by its title; else it is the average of trade sheets.
    pub confirmed: bool,
    /// Free of shear deflection, MPa.
    pub modulus_mpa: Span,
    pub density_kg_m3: Span,
    /// Of those that print it.
    pub strength_mpa: Option<Span>,
    /// Standard deviation of the sources' moduli over the value, a ratio.
    pub modulus_cov: f64,
}

/// Handbook's correction of span/depth-14 moduli for shear deflection (FPL-GTR-282, WoodTable 5-3b, footnote).
const SHEAR_FREE: f64 = 1.10;
/// Share of a strip's sag that is shear, by its span over its thickness: the handbook's tenth at 14, falling with the square
/// (`1.2 E/G (t/L)²` for a rectangle, any text on strength of materials).
///
/// ```
/// assert!((taperwright::model::wood::shear_fraction(140.0) - 0.001).abs() < 1e-12);
/// ```
pub fn shear_fraction(span_over_thickness: f64) -> f64 {
    (SHEAR_FREE - 1.0) * (14.0 / span_over_thickness).powi(2)
}

/// Intersection moisture where WoodTable 5-13 has no row, percent.
const MP_DEFAULT_PERCENT: f64 = 25.0;
/// Density of hard maple, against which the ease of sanding is counted, kg/m³.
const HARD_MAPLE_KG_M3: f64 = 705.6;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct WoodTable {
    source_5_3b: String,
    source_5_5b: String,
    cov_modulus: f64,
    #[serde(rename = "cov_strength")]
    _cov_strength: f64,
    wood: Vec<HandbookRow>,
    other: Vec<OtherRow>,
    compared: Vec<ComparedRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct HandbookRow {
    name: String,
    label: String,
    #[serde(default)]
    also: Vec<String>,
    table: String,
    sg_12: Option<f64>,
    moe_12_mpsi: f64,
    mor_12_psi: Option<f64>,
    #[serde(rename = "comp_par_12_psi")]
    _comp_par_12_psi: Option<f64>,
    sg_green: Option<f64>,
    moe_green_mpsi: Option<f64>,
    mor_green_psi: Option<f64>,
    #[serde(rename = "comp_par_green_psi")]
    _comp_par_green_psi: Option<f64>,
    mp_percent: Option<f64>,
    dust: Option<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct OtherRow {
    name: String,
    #[serde(default)]
    kind: MaterialKind,
    label: String,
    #[serde(default)]
    also: Vec<String>,
    modulus_gpa: f64,
    cov_modulus: f64,
    strength_mpa: Option<f64>,
    density_kg_m3: f64,
    sanding_ease: Option<f64>,
    dust: Option<String>,
    source: String,
}

/// A wood of which several sources are known.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ComparedRow {
    name: String,
    #[serde(default)]
    also: Vec<String>,
    dust: Option<String>,
    /// What else is to be known of its numbers.
    note: Option<String>,
    sources: Vec<SourceRow>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct SourceRow {
    source: String,
    #[serde(default)]
    titled: bool,
    density_kg_m3: f64,
    modulus_gpa: f64,
    strength_mpa: Option<f64>,
}

static SPECIES: LazyLock<Vec<Species>> = LazyLock::new(|| {
    let table: WoodTable = toml::from_str(include_str!("data/woods.toml")).expect("the bundled table of woods reads");
    let handbook = table.wood.iter().map(|row| Species {
        name: row.name.clone(),
        kind: MaterialKind::Wood,
        label: row.label.clone(),
        also: row.also.clone(),
        source: if row.table == "5-5b" { table.source_5_5b.clone() } else { table.source_5_3b.clone() },
        piece_cov: table.cov_modulus,
        between: None,
        density_kg_m3: density(row.sg_12, row.sg_green),
        dust: row.dust.clone(),
        sanding_ease: None,
        modulus_mpa: pair(row.moe_12_mpsi, row.moe_green_mpsi, MPA_PER_KSI * 1000.0),
        strength_mpa: row.mor_12_psi.map(|dry| pair(dry, row.mor_green_psi, MPA_PER_KSI / 1000.0)),
        shear_factor: SHEAR_FREE,
        mp_percent: row.mp_percent.unwrap_or(MP_DEFAULT_PERCENT),
    });
    let others = table.other.iter().map(|row| Species {
        name: row.name.clone(),
        kind: row.kind,
        label: row.label.clone(),
        also: row.also.clone(),
        source: row.source.clone(),
        piece_cov: row.cov_modulus,
        between: None,
        density_kg_m3: row.density_kg_m3,
        dust: row.dust.clone(),
        sanding_ease: row.sanding_ease,
        modulus_mpa: pair(row.modulus_gpa, None, 1000.0),
        strength_mpa: row.strength_mpa.map(|strength| pair(strength, None, 1.0)),
        shear_factor: 1.0,
        mp_percent: MP_DEFAULT_PERCENT,
    });
    handbook.chain(others).chain(table.compared.iter().map(|row| compared(row, table.cov_modulus))).collect()
});

/// The value is the first titled source's, else the average of all. How far another source may lie from it is the standard deviation of
/// the sources; from piece to piece wood scatters as any other. The two have nothing to do with each other, so that the modulus scatters
/// by the root of the sum of their squares ([`Species::modulus_cov`]). Of a single source the first is not known, and counts as none.
fn compared(row: &ComparedRow, piece_cov: f64) -> Species {
    let count = row.sources.len();
    let span = |of: fn(&SourceRow) -> Option<f64>| Span::over(row.sources.iter().filter_map(of));
    let average = |of: fn(&SourceRow) -> f64| row.sources.iter().map(of).sum::<f64>() / count as f64;
    let titled = row.sources.iter().find(|source| source.titled);
    let mean = average(|source| source.modulus_gpa);
    let modulus_gpa = titled.map_or(mean, |source| source.modulus_gpa);
    let squares: f64 = row.sources.iter().map(|source| (source.modulus_gpa - mean).powi(2)).sum();
    let deviation = if 1 < count { (squares / (count - 1) as f64).sqrt() } else { 0.0 };
    let modulus_mpa = span(|source| Some(source.modulus_gpa)).expect("a wood has a source");
    Species {
        name: row.name.clone(),
        kind: MaterialKind::Wood,
        label: row.name[..1].to_uppercase() + &row.name[1..],
        also: row.also.clone(),
        source: compared_source(row, titled),
        piece_cov,
        between: Some(BetweenSources {
            count,
            confirmed: titled.is_some(),
            modulus_mpa: modulus_mpa.times(1000.0 * SHEAR_FREE),
            density_kg_m3: span(|source| Some(source.density_kg_m3)).expect("a wood has a source"),
            strength_mpa: span(|source| source.strength_mpa),
            modulus_cov: deviation / modulus_gpa,
        }),
        density_kg_m3: titled.map_or_else(|| average(|source| source.density_kg_m3), |source| source.density_kg_m3),
        dust: row.dust.clone(),
        sanding_ease: None,
        modulus_mpa: pair(modulus_gpa, None, 1000.0),
        strength_mpa: titled.and_then(|source| source.strength_mpa).map(|strength| pair(strength, None, 1.0)),
        shear_factor: SHEAR_FREE,
        mp_percent: MP_DEFAULT_PERCENT,
    }
}

/// Where the value is from, and what the other sources print.
fn compared_source(row: &ComparedRow, titled: Option<&SourceRow>) -> String {
    let printed = |source: &SourceRow| format!("{} GPa ({})", source.modulus_gpa, source.source);
    let all = |of: &mut dyn Iterator<Item = &SourceRow>| of.map(printed).collect::<Vec<_>>().join(", ");
    let mut text = match titled {
        Some(titled) => {
            let strength = titled.strength_mpa.map_or_else(String::new, |strength| format!(", {strength} MPa"));
            let mut text = format!("{}: {} GPa, raised by a tenth for shear{strength}", titled.source, titled.modulus_gpa);
            let others = all(&mut row.sources.iter().filter(|source| !std::ptr::eq(*source, titled)));
            if !others.is_empty() {
                text += &format!("; for the spread only: {others}");
            }
            text
        }
        None => {
            format!(
                "from trade sheets, not confirmed: {}, their average raised by a tenth for shear",
                all(&mut row.sources.iter())
            )
        }
    };
    if let Some(note) = &row.note {
        text += &format!("; {note}");
    }
    text
}

fn pair(dry: f64, green: Option<f64>, factor: f64) -> (f64, f64) {
    (dry * factor, green.unwrap_or(dry) * factor)
}

/// kg/m³ at 12 percent from a specific gravity on ovendry weight. Where only the green volume's is printed, the volume's
/// shrinkage is estimated by `G12 = Gb / (1 − 0.265 · 0.6 · Gb)` (Wood handbook, chapter 4; from memory).
fn density(sg_12: Option<f64>, sg_green: Option<f64>) -> f64 {
    let green = sg_green.unwrap_or(0.6);
    1120.0 * sg_12.unwrap_or(green / (1.0 - 0.265 * 0.6 * green))
}

/// All materials, woods first, in the order of their tables.
pub fn all() -> &'static [Species] {
    &SPECIES
}

/// The material of this name, or that people call so; case, spaces and the order of the words do not count.
///
/// ```
/// use taperwright::model::wood::named;
/// assert_eq!(named("Sugar maple").unwrap().name, "maple, sugar");
/// assert_eq!(named("fiberglass").unwrap().name, "glass, unidirectional");
/// ```
pub fn named(name: &str) -> Option<&'static Species> {
    let exact = SPECIES.iter().find(|species| plain(&species.name) == plain(name));
    let (letters, words) = (plain(name), in_order(name));
    exact.or_else(|| SPECIES.iter().find(|s| s.names().any(|known| plain(known) == letters || in_order(known) == words)))
}

/// Names of materials that share a word with `name`, for a hint.
pub fn similar(name: &str) -> Vec<&'static str> {
    let words: Vec<String> =
        name.to_lowercase().split(|c: char| !c.is_alphanumeric()).filter(|w| 3 <= w.len()).map(str::to_owned).collect();
    let fractions =
        |species: &&Species| species.names().any(|known| words.iter().any(|word| known.to_lowercase().contains(word)));
    SPECIES.iter().filter(fractions).map(|species| species.name.as_str()).collect()
}

fn plain(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// The words of a name in the order of the alphabet: `sugar maple` is `maple, sugar`.
fn in_order(name: &str) -> Vec<String> {
    let mut words: Vec<String> =
        name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase).collect();
    words.sort();
    words
}

impl Species {
    /// Its name, and what else it is called.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(self.name.as_str()).chain(self.also.iter().map(String::as_str))
    }

    /// Coefficient of variation of the modulus, a ratio: from piece to piece, and between sources where several are known.
    pub fn modulus_cov(&self) -> f64 {
        self.piece_cov.hypot(self.between.as_ref().map_or(0.0, |between| between.modulus_cov))
    }

    /// Its properties at a moisture content given as a ratio.
    ///
    /// ```
    /// // Shagbark hickory at 8 percent: 16.43 GPa apparent (FPL-GTR-282 cells, eq. 5-3), a tenth more free of shear.
    /// let wood = taperwright::model::wood::named("hickory, shagbark").unwrap().at_moisture(0.08);
    /// assert!((wood.modulus_mpa / 1.1 - 16428.76).abs() < 0.01);
    /// ```
    pub fn at_moisture(&self, moisture: f64) -> Wood {
        let modulus_mpa = adjusted(self.modulus_mpa, self.mp_percent, moisture);
        let strength_mpa = self.strength_mpa.map(|strength| adjusted(strength, self.mp_percent, moisture));
        Wood {
            name: self.name.clone(),
            kind: self.kind,
            modulus_mpa: self.shear_factor * modulus_mpa,
            modulus_cov: self.modulus_cov(),
            density_kg_m3: self.density_kg_m3,
            breaking_strain: strength_mpa.map(|strength| strength / modulus_mpa),
            sanding_ease: self.sanding_ease.unwrap_or_else(|| sanding_ease(self.density_kg_m3)),
            dust: self.dust.clone(),
            source: self.source.clone(),
        }
    }
}

/// Ease of sanding from density alone: the lighter the wood, the deeper the cut, within bounds beyond which heat and
/// loading of the paper rule. Common practice, no source.
pub fn sanding_ease(density_kg_m3: f64) -> f64 {
    (HARD_MAPLE_KG_M3 / density_kg_m3).clamp(0.6, 1.3)
}

fn adjusted((dry, green): (f64, f64), mp_percent: f64, moisture: f64) -> f64 {
    let percent = 100.0 * moisture;
    if mp_percent <= percent { green } else { dry * (dry / green).powf((12.0 - percent) / (mp_percent - 12.0)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_in_range_and_has_a_source() {
        assert_eq!(all().len(), 58);
        for species in all() {
            let wood = species.at_moisture(0.12);
            assert!((6_000.0..60_000.0).contains(&wood.modulus_mpa), "{}", species.name);
            assert!((350.0..2_200.0).contains(&wood.density_kg_m3), "{}: {}", species.name, wood.density_kg_m3);
            // Of European yew no strength is printed, of wych elm none that is confirmed.
            let unknown = ["yew, European", "elm, wych"].contains(&species.name.as_str());
            assert!(
                wood.breaking_strain.map_or(unknown, |strain| !unknown && (0.004..0.04).contains(&strain)),
                "{}",
                species.name
            );
            assert!((0.4..1.4).contains(&wood.sanding_ease), "{}", species.name);
            assert!(20 < species.source.len(), "{}", species.name);
            assert_eq!(named(&species.name.to_uppercase()).unwrap().name, species.name);
        }
    }

    #[test]
    fn woods_answer_to_what_people_type() {
        for (typed, meant) in [
            ("fiberglass", "glass, unidirectional"),
            ("Fibreglass", "glass, unidirectional"),
            ("sugar maple", "maple, sugar"),
            ("hard maple", "maple, sugar"),
            ("Robinia", "locust, black"),
            ("black locust", "locust, black"),
            ("osage orange", "osage-orange"),
            ("bois d'arc", "osage-orange"),
            ("shagbark hickory", "hickory, shagbark"),
            ("red oak", "oak, northern red"),
            ("european ash", "ash, European"),
            ("common beech", "beech, European"),
            ("wych elm", "elm, wych"),
            ("Taxus baccata", "yew, European"),
            ("ipé", "ipe"),
        ] {
            assert_eq!(named(typed).map(|species| species.name.as_str()), Some(meant), "{typed}");
        }
        // Several woods share these: the builder is asked.
        for typed in ["maple", "hickory", "yew", "elm", "bow wood of some kind"] {
            assert_eq!(named(typed), None, "{typed}");
        }
        let mut all_names: Vec<Vec<String>> = all().iter().flat_map(|species| species.names().map(in_order)).collect();
        let count = all_names.len();
        all_names.sort();
        all_names.dedup();
        assert_eq!(all_names.len(), count, "a name stands for two materials");
    }

    #[test]
    fn drier_wood_is_stiffer_and_wet_wood_stays_green() {
        let ash = named("ash, white").unwrap();
        assert!(ash.at_moisture(0.12).modulus_mpa < ash.at_moisture(0.06).modulus_mpa);
        assert!((ash.at_moisture(0.30).modulus_mpa - ash.at_moisture(0.24).modulus_mpa).abs() < 1e-9);
    }
}
