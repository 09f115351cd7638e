//! How the sleds go together, before anything runs over them: parts, steps, what they look like, what to check.

use super::block::{Block, Cell, Chapter, Column, Table, Text};
use super::{Contents, SledOf, pictures};
use crate::sheets::assembly::whom_it_serves;
use crate::shop::cautions;
use crate::shop::parts::Part;
use crate::units::System;

/// Parts of one purpose on one line, with their names and how many there are.
fn grouped(parts: &[Part]) -> Vec<(String, u32, &Part)> {
    let mut groups: Vec<(Vec<&str>, u32, &Part)> = Vec::new();
    for part in parts {
        let alike = |other: &Part| other.purpose == part.purpose && (other.thickness_mm - part.thickness_mm).abs() < 1e-9;
        match groups.iter_mut().find(|(_, _, other)| alike(other)) {
            Some((names, count, _)) => {
                names.push(&part.name);
                *count += part.count;
            }
            None => groups.push((vec![&part.name], part.count, part)),
        }
    }
    // Names may have commas of their own.
    groups.into_iter().map(|(names, count, part)| (names.join("; "), count, part)).collect()
}

/// How a sled goes together: once, for all of them.
pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let build = contents.build;
    contents.sleds.first()?;
    let care = [cautions::cutting(&build.shop), cautions::RULES_FIRST.to_owned()];
    let mut blocks = vec![Block::Caution(care.map(Text::from).to_vec())];
    if let Some(first) = contents.sleds.iter().find(|of| !of.kit.ribs_mm.is_empty()) {
        blocks.push(Block::Picture(pictures::exploded(
            &build.laminations[first.lamination],
            &first.kit.sled,
            &first.kit.ribs_mm,
        )));
    }
    for sled in &contents.sleds {
        let lamination = &build.laminations[sled.lamination];
        let name = &lamination.name;
        if 1 < contents.sleds.len() {
            blocks.push(Block::Heading(format!("Sled for {}", sled.serves.join(", "))));
        }
        blocks.extend(whom_it_serves(name, &sled.serves).map(|told| Block::Paragraph(told.into())));
        let rows = grouped(&sled.kit.parts)
            .into_iter()
            .map(|(names, count, part)| {
                vec![
                    names.into(),
                    count.to_string().into(),
                    part.purpose.spoken(build.units).into(),
                    build.units.thickness(part.thickness_mm).into(),
                    Cell::Tick,
                ]
            })
            .collect();
        blocks.push(Block::Table(Table {
            caption: format!("Parts of the sled for {name}"),
            columns: vec![
                Column::words("part"),
                Column::figures("count"),
                Column::words("what it is for"),
                Column::words("sheet"),
                Column::words("there"),
            ],
            rows,
        }));
        blocks.push(Block::Picture(pictures::sled(build, lamination, sled.kit)));
        if !sled.kit.shims.is_empty() {
            blocks.push(Block::Table(shims(contents, sled)));
        }
        if !sled.steps.is_empty() {
            blocks.push(Block::Steps(sled.steps.iter().map(|step| Text::from(step.as_str())).collect()));
        }
    }
    let step = match build.units {
        System::Inch => "1/64 in",
        System::Millimetre => "0.3 mm",
    };
    blocks.push(Block::Ticks(vec![
        format!("glued on a flat table, square across within {step}, nothing twisted").into(),
        "sole flat, no light under it; run-on and stop lower than the finished strip beside them".into(),
        "measured from the table up at every place of its lamination's table, and logged: `taperwright log` makes up the tape and moves the gaps"
            .into(),
        "trimmed with tape, and measured again".into(),
        "a scrap strip through before the first real one".into(),
    ]));
    Some(Chapter { anchor: "sleds".into(), title: "Sleds: how they go together".into(), blocks })
}

fn shims(contents: &Contents<'_>, sled: &SledOf<'_>) -> Table {
    let build = contents.build;
    let rows = sled
        .kit
        .shims
        .iter()
        .map(|shim| {
            let told = shim.in_words(build, &build.laminations[sled.lamination]);
            told.into_iter().map(Cell::from).chain([Cell::Tick]).collect()
        })
        .collect();
    Table {
        caption: "Shims under the carrier".into(),
        columns: ["place on the strip", "station", "shim", "made up from", "comes to", "set"]
            .into_iter()
            .map(Column::words)
            .collect(),
        rows,
    }
}
