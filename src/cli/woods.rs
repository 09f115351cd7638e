//! `taperwright woods`: the materials, with spread and source.

use super::Ended;
use super::args::WoodsArgs;
use super::terminal::Terminal;
use crate::buildfile::spelling;
use crate::model::wood::{self, BetweenSources, Wood};
use crate::report::woods::{BetweenRow, WoodRow, WoodsAnswer};
use crate::shop::cautions::unknown_strengths;
use crate::units::published::round_to;
use crate::write::table::plain;

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
    terminal.results_within(&as_text(&rows, args.moisture), COLUMNS)
}

fn published(rows: &[(&wood::Species, Wood)], moisture_percent: f64) -> WoodsAnswer {
    let woods = rows.iter().map(|(species, wood)| WoodRow {
        name: wood.name.clone(),
        label: species.label.clone(),
        also: species.also.clone(),
        modulus_mpa: round_to(wood.modulus_mpa, 0),
        modulus_coefficient_of_variation: round_to(wood.modulus_cov, 3),
        density_kg_m3: round_to(wood.density_kg_m3, 0),
        breaking_strain: wood.breaking_strain.map(|strain| round_to(strain, 5)),
        sanding_ease: round_to(wood.sanding_ease, 2),
        dust: wood.dust.clone(),
        source: wood.source.clone(),
        between_sources: species.between.as_ref().map(|between| BetweenRow {
            count: between.count,
            confirmed: between.confirmed,
            modulus_mpa: between.modulus_mpa.pair().map(|modulus| round_to(modulus, 0)),
            density_kg_m3: between.density_kg_m3.pair().map(|density| round_to(density, 0)),
            strength_mpa: between.strength_mpa.map(|strength| strength.pair().map(|strength| round_to(strength, 1))),
        }),
    });
    WoodsAnswer { moisture_percent, woods: woods.collect() }
}

/// The list is read in windows of this width, and pasted into letters.
const COLUMNS: usize = 80;

fn as_text(rows: &[(&wood::Species, Wood)], moisture_percent: f64) -> String {
    let table: Vec<Vec<String>> = rows
        .iter()
        .map(|(_, wood)| {
            let gpa = wood.modulus_mpa / 1000.0;
            vec![
                wood.name.clone(),
                format!("{gpa:.1} ± {:.1}", wood.modulus_cov * gpa),
                format!("{:.0}", wood.density_kg_m3),
                wood.breaking_strain.map_or("-".to_owned(), |strain| format!("{:.2} %", 100.0 * strain)),
                format!("{:.2}", wood.sanding_ease),
            ]
        })
        .collect();
    let mut text = format!(
        "At {moisture_percent} percent moisture. E: bending modulus free of shear, with its scatter (one standard deviation): of single \
         pieces, and between sources. Strain: bending strength over modulus, an average; pieces vary. Ease: depth a drum takes against \
         hard maple.\n\n{}",
        plain(&["wood", "E GPa", "kg/m3", "strain", "ease"], &table)
    );
    if let Some(told) = unknown_strengths(rows.iter().map(|(_, wood)| wood)) {
        text.push_str(&format!("\n{told}\n"));
    }
    listed(&mut text, "Between sources, from the least to the greatest", rows, |species, _| {
        species.between.as_ref().map(between_words)
    });
    listed(&mut text, "Dust, beyond what all dust does to lungs", rows, |_, wood| wood.dust.clone());
    let mut sources: Vec<&str> = rows.iter().map(|(_, wood)| wood.source.as_str()).collect();
    sources.dedup();
    text.push_str("\nSources, in the order of the table:\n");
    for source in sources {
        text.push_str(&format!("  {source}\n"));
    }
    text
}

/// Under a title what `of` says of each wood; woods that follow each other and are told the same share a line.
fn listed(text: &mut String, title: &str, rows: &[(&wood::Species, Wood)], of: impl Fn(&wood::Species, &Wood) -> Option<String>) {
    let mut lines: Vec<(String, String)> = Vec::new();
    for (species, wood) in rows {
        let Some(said) = of(species, wood) else { continue };
        match lines.last_mut() {
            Some((names, known)) if *known == said => names.extend(["; ", &wood.name]),
            _ => lines.push((wood.name.clone(), said)),
        }
    }
    if !lines.is_empty() {
        text.push_str(&format!("\n{title}:\n"));
        lines.iter().for_each(|(names, said)| text.push_str(&format!("  {names}: {said}\n")));
    }
}

fn between_words(between: &BetweenSources) -> String {
    if between.count < 2 {
        return "one source, so no spread is known".into();
    }
    let to = |[min, max]: [f64; 2], decimals: usize| format!("{min:.decimals$} to {max:.decimals$}");
    let strength = between.strength_mpa.filter(|strength| strength.min < strength.max);
    let strength = strength.map_or_else(String::new, |strength| format!(", strength {} MPa", to(strength.pair(), 0)));
    let sources = if between.confirmed { "sources" } else { "trade sheets, not confirmed" };
    format!(
        "{} {sources}: E {} GPa, {} kg/m3{strength}",
        between.count,
        to(between.modulus_mpa.times(1e-3).pair(), 1),
        to(between.density_kg_m3.pair(), 0)
    )
}
