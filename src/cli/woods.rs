//! `taperwright woods`: the materials, with spread and source.

use super::Ended;
use super::args::WoodsArgs;
use super::terminal::Terminal;
use crate::buildfile::spelling;
use crate::model::wood::{self, Wood};
use crate::report::woods::{WoodRow, WoodsAnswer};

/// Prints the table, or JSON; a fault if no material's name holds the text asked for.
pub fn woods(args: &WoodsArgs, terminal: Terminal) -> Ended {
    let asked = args.name.as_deref().unwrap_or("");
    let wanted = asked.to_lowercase();
    let rows: Vec<(&wood::Species, Wood)> = wood::all()
        .iter()
        .filter(|species| {
            let mut names = species.names().chain([species.label.as_str()]);
            names.any(|name| name.to_lowercase().contains(&wanted)) || wood::named(&wanted) == Some(species)
        })
        .map(|species| (species, species.at_moisture(args.moisture / 100.0)))
        .collect();
    if rows.is_empty() {
        let hint = spelling::wood_meant(asked).unwrap_or_else(|| "`taperwright woods` lists all".into());
        terminal.fault(&format!("error: no material's name holds `{asked}`\nhelp: {hint}"));
        return Ended::Files;
    }
    if args.json {
        return terminal.answer(&published(&rows, args.moisture));
    }
    terminal.results(&as_text(&rows, args.moisture))
}

fn published(rows: &[(&wood::Species, Wood)], moisture_percent: f64) -> WoodsAnswer {
    let woods = rows.iter().map(|(species, wood)| WoodRow {
        name: wood.name.clone(),
        label: species.label.clone(),
        also: species.also.clone(),
        modulus_mpa: round(wood.modulus_mpa, 1.0),
        modulus_coefficient_of_variation: wood.modulus_cov,
        density_kg_m3: round(wood.density_kg_m3, 1.0),
        breaking_strain: wood.breaking_strain.map(|strain| round(strain, 1e-5)),
        sanding_ease: round(wood.sanding_ease, 0.01),
        dust: wood.dust.clone(),
        source: wood.source.clone(),
    });
    WoodsAnswer { moisture_percent, woods: woods.collect() }
}

fn round(value: f64, step: f64) -> f64 {
    let per_unit = (1.0 / step).round();
    (value * per_unit).round() / per_unit
}

fn as_text(rows: &[(&wood::Species, Wood)], moisture_percent: f64) -> String {
    let name_width = rows.iter().map(|(_, wood)| wood.name.len()).max().unwrap_or(0).max(4);
    let mut text = format!(
        "At {moisture_percent} percent moisture. E: bending modulus free of shear, with the spread of single pieces (one standard\n\
         deviation). Strain: bending strength over modulus, an average; pieces vary. Ease: depth a drum takes against hard maple.\n\n\
         {:name_width$}  {:>12}  {:>8}  {:>6}  {:>4}  dust\n",
        "wood", "E GPa", "kg/m3", "strain", "ease"
    );
    for (_, wood) in rows {
        let strain = wood.breaking_strain.map_or("-".to_owned(), |strain| format!("{:.2} %", 100.0 * strain));
        let spread = format!("{:.1} ± {:.1}", wood.modulus_mpa / 1000.0, wood.modulus_cov * wood.modulus_mpa / 1000.0);
        text.push_str(&format!(
            "{:name_width$}  {spread:>12}  {:>8.0}  {strain:>6}  {:>4.2}  {}\n",
            wood.name,
            wood.density_kg_m3,
            wood.sanding_ease,
            wood.dust.as_deref().unwrap_or("")
        ));
    }
    let mut sources: Vec<&str> = rows.iter().map(|(_, wood)| wood.source.as_str()).collect();
    sources.dedup();
    text.push_str("\nSources, in the order of the table:\n");
    for source in sources {
        text.push_str(&format!("  {source}\n"));
    }
    text
}
