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
    rows.extend(moves.flat_map(|(k, of)| {
        let pointer = |key: &str| format!("/bow/laminations_move_it/{k}/{key}");
        let stiffer = |what: &str, key: &str, value: f64| {
            row(format!("wood of {}{what}", of.lamination), "1 % stiffer", pointer(key), value, 1.0)
        };
        let outer = of.outer_n_per_percent_modulus;
        let inner =
            stiffer(if outer.is_some() { ", inner piece" } else { "" }, "n_per_percent_modulus", of.n_per_percent_modulus);
        let outer = outer.map(|value| stiffer(", outer piece", "outer_n_per_percent_modulus", value));
        [Some(inner), outer].into_iter().flatten()
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
        .flat_map(|(k, row)| {
            let lamination = &build.laminations[k];
            let cells = |name: String, under: &str, (wood, source): (&str, &str), [modulus, density]: [f64; 2], spread: f64| {
                let at = |key: &str| format!("/laminations/{k}{under}/{key}");
                vec![
                    name.into(),
                    wood.to_owned().into(),
                    Text::number(build.units.modulus(modulus), at("modulus_mpa"), modulus).into(),
                    format!("± {} %", fixed(100.0 * spread, 0)).into(),
                    Text::number(build.units.density(density), at("density_kg_m3"), density).into(),
                    source.to_owned().into(),
                ]
            };
            let (of, numbers) = ((row.wood.as_str(), row.wood_source.as_str()), [row.modulus_mpa, row.density_kg_m3]);
            let own = cells(row.name.clone(), "", of, numbers, lamination.wood.modulus_cov);
            let outer = row.outer.as_ref().zip(lamination.outer()).map(|(outer, piece)| {
                let (of, numbers) = ((outer.wood.as_str(), outer.wood_source.as_str()), [outer.modulus_mpa, outer.density_kg_m3]);
                cells(format!("{}, outer piece", row.name), "/outer", of, numbers, piece.wood.modulus_cov)
            });
            std::iter::once(own).chain(outer)
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
