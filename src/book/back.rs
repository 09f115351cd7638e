//! What if, the materials, and the defaults that stand in for what the build file does not say.

use super::Contents;
use super::block::{Block, Cell, Chapter, Column, Table, Text};
use crate::sheets::bow::small_changes;
use crate::units::fixed;

pub(super) fn chapters(contents: &Contents<'_>) -> Vec<Chapter> {
    let mut chapters = Vec::new();
    chapters.extend(what_if(contents));
    chapters.push(materials(contents));
    chapters.extend(defaults(contents));
    chapters
}

fn what_if(contents: &Contents<'_>) -> Option<Chapter> {
    let (build, bow) = (contents.build, contents.report.bow.as_ref()?);
    let [(thin_mm, thin), (wide_mm, wide), (long_mm, long)] = small_changes(build.units);
    let row = |what: String, by: &str, pointer: String, value: f64, times: f64| {
        vec![what.into(), by.into(), Text::number(build.units.force_change(value * times), pointer, value).into()]
    };
    let moves = bow.laminations_move_it.iter().enumerate();
    let mut rows: Vec<_> = moves
        .clone()
        .map(|(k, of)| {
            let pointer = format!("/bow/laminations_move_it/{k}/n_per_hundredth_mm");
            row(of.lamination.clone(), thin, pointer, of.n_per_hundredth_mm, 100.0 * thin_mm)
        })
        .collect();
    rows.push(row("full width everywhere".into(), wide, "/bow/n_per_mm_width".into(), bow.n_per_mm_width, wide_mm));
    rows.push(row("nock to nock, same draw".into(), long, "/bow/n_per_mm_length".into(), bow.n_per_mm_length, long_mm));
    rows.extend(moves.map(|(k, of)| {
        let pointer = format!("/bow/laminations_move_it/{k}/n_per_percent_modulus");
        row(format!("wood of {}", of.lamination), "1 % stiffer", pointer, of.n_per_percent_modulus, 1.0)
    }));
    Some(Chapter {
        anchor: "what-if".into(),
        title: "What if".into(),
        blocks: vec![
            Block::Table(Table {
                caption: match contents.build.limb {
                    None => "What moves the draw weight".into(),
                    Some(_) => "What moves the draw weight, done to this limb alone".to_owned(),
                },
                columns: vec![Column::words("change"), Column::words("by"), Column::figures("draw weight")],
                rows,
            }),
            Block::Paragraph("Small changes add up; large ones want another run of the program.".into()),
        ],
    })
}

fn materials(contents: &Contents<'_>) -> Chapter {
    let report = contents.report;
    let build = contents.build;
    let mut rows: Vec<Vec<Cell>> = report
        .laminations
        .iter()
        .enumerate()
        .map(|(k, row)| {
            let at = |key: &str| format!("/laminations/{k}/{key}");
            let spread = build.laminations[k].wood.modulus_cov;
            vec![
                row.name.clone().into(),
                row.wood.clone().into(),
                Text::number(build.units.modulus(row.modulus_mpa), at("modulus_mpa"), row.modulus_mpa).into(),
                format!("± {} %", fixed(100.0 * spread, 0)).into(),
                Text::number(build.units.density(row.density_kg_m3), at("density_kg_m3"), row.density_kg_m3).into(),
                row.wood_source.clone().into(),
            ]
        })
        .collect();
    let mut named: Vec<&str> = Vec::new();
    for wood in build.riser.iter().flat_map(|riser| riser.woods()) {
        if named.contains(&wood.name.as_str()) {
            continue;
        }
        named.push(&wood.name);
        rows.push(vec![
            "riser".into(),
            wood.name.clone().into(),
            build.units.modulus(wood.modulus_mpa).into(),
            format!("± {} %", fixed(100.0 * wood.modulus_cov, 0)).into(),
            build.units.density(wood.density_kg_m3).into(),
            wood.source.clone().into(),
        ]);
    }
    Chapter {
        anchor: "materials".into(),
        title: "Materials, with source and spread".into(),
        blocks: vec![
            Block::Table(Table {
                caption: format!("Woods and the like, at {} % moisture", fixed(100.0 * build.moisture, 0)),
                columns: vec![
                    Column::words("part"),
                    Column::words("wood"),
                    Column::words("bending modulus"),
                    Column::words("from piece to piece"),
                    Column::words("density"),
                    Column::words("source"),
                ],
                rows,
            }),
            Block::Paragraph("The spread is one standard deviation of the modulus.".into()),
        ],
    }
}

fn defaults(contents: &Contents<'_>) -> Option<Chapter> {
    let assumed = &contents.report.assumed;
    if assumed.is_empty() {
        return None;
    }
    let rows = assumed.iter().map(|a| vec![a.key.clone().into(), a.value.clone().into(), a.why.clone().into()]).collect();
    Some(Chapter {
        anchor: "defaults".into(),
        title: "Defaults used".into(),
        blocks: vec![
            Block::Paragraph("What the build file does not say stands in here. Write the key there to say otherwise.".into()),
            Block::Table(Table {
                caption: "Key, value and reason".into(),
                columns: ["key", "value", "why"].into_iter().map(Column::words).collect(),
                rows,
            }),
        ],
    })
}
