//! A chapter for each lamination: its thickness, its sled, its passes with boxes to tick, and room for what was read.

use super::block::{Block, Cell, Chapter, Column, Table, Text};
use super::pictures::{self, strips};
use super::say::{Say, count};
use super::{Contents, SledOf};
use crate::model::lamination::{Lamination, Pieces};
use crate::report::{LaminationRow, SetupRow};
use crate::sheets::cautions;
use crate::shop::parts::Part;
use crate::units::{System, fixed};

pub(super) fn anchor(index: usize) -> String {
    format!("lamination-{}", index + 1)
}

pub(super) fn chapters(contents: &Contents<'_>) -> Vec<Chapter> {
    (0..contents.build.laminations.len()).map(|index| chapter(contents, index)).collect()
}

fn chapter(contents: &Contents<'_>, index: usize) -> Chapter {
    let (build, row) = (contents.build, &contents.report.laminations[index]);
    let say = Say(build.units);
    let lamination = &build.laminations[index];
    let at = |key: &str| format!("/laminations/{index}/{key}");
    let mut facts: Vec<(String, Text)> = vec![
        ("wood".into(), row.wood.clone().into()),
        ("for one bow".into(), strips(lamination).into()),
        ("at the butt".into(), say.thickness(row.butt_mm, at("butt_mm"))),
    ];
    if let Some(fade) = row.fade_end_mm {
        facts.push(("at the riser's feather".into(), say.thickness(fade, at("fade_end_mm"))));
    }
    facts.push(("at the tip".into(), say.thickness(row.tip_mm, at("tip_mm"))));
    let span = say.wood(row.from_mm, at("from_mm")).then(" to ").then(say.wood(row.to_mm, at("to_mm")));
    facts.push(("lies from station".into(), span));
    if let Some(face) = lamination.keep_face {
        let face = if face == crate::model::lamination::Face::Back { "back" } else { "belly" };
        facts.push(("face that is never ground".into(), face.into()));
    }
    if let Some(error) = &row.thickness_error {
        let as_cut = Text::from("± ").then(say.thickness(error.as_cut_mm, at("thickness_error/as_cut_mm")));
        facts.push(("expect, sled as cut".into(), as_cut));
        let trimmed = Text::from("± ").then(say.thickness(error.trimmed_mm, at("thickness_error/trimmed_mm")));
        facts.push(("expect, sled measured and trimmed".into(), trimmed));
    }
    let mut blocks =
        vec![Block::Picture(pictures::profile(build, lamination)), Block::Facts(facts), Block::Table(thickness(contents, index))];
    if row.already_ground {
        return Chapter { anchor: anchor(index), title: format!("Lamination: {}", row.name), blocks };
    }
    if let Some(sled) = contents.sleds.iter().find(|sled| sled.lamination == index) {
        blocks.push(Block::Heading("Its sled".into()));
        blocks.push(Block::Picture(pictures::sled(build, lamination, sled.kit)));
        if !sled.kit.shims.is_empty() {
            blocks.push(Block::Table(shims(contents, sled)));
        }
        blocks.push(Block::Table(heights(contents, index)));
        blocks.push(Block::Paragraph(
            "Measure the finished sled at these places, deck and paper on, from the table up. Log the readings: `taperwright log` \
             makes up the tape and moves the gaps."
                .into(),
        ));
    }
    if !row.setups.is_empty() {
        let mut care: Vec<Text> = cautions::grinding(build).into_iter().map(Text::from).collect();
        care.push(cautions::RULES_FIRST.into());
        blocks.push(Block::Caution(care));
    }
    for (k, setup) in row.setups.iter().enumerate() {
        blocks.push(Block::Heading(setup_title(setup, k, row.setups.len())));
        blocks.push(Block::Table(passes(say, row, setup, index, k)));
    }
    if !row.setups.is_empty() {
        let together = match row.runs {
            1 => "One run takes all strips of a bow.".to_owned(),
            runs => format!("{runs} runs for one bow: at each setting run them all before the gap is changed."),
        };
        blocks.push(Block::Paragraph(
            format!(
                "{together} New paper moves the gauge's zero: send scrap through first and log it. Let strips cool before they are measured."
            )
            .into(),
        ));
        blocks.push(Block::Blanks(vec![
            "gauge reading, scrap".into(),
            format!("scrap, left edge, {}", build.units.length_unit()),
            format!("scrap, right edge, {}", build.units.length_unit()),
            "date".into(),
        ]));
    }
    Chapter { anchor: anchor(index), title: format!("Lamination: {}", row.name), blocks }
}

/// The place on the strip beside its station, wherever a builder reads or sets something: both counts, so that none is mistaken.
fn place_head(lamination: &Lamination) -> Vec<&'static str> {
    match lamination.pieces {
        Pieces::Halves => vec!["from the butt end"],
        Pieces::Full => vec!["half A, from end A", "half B, from end A"],
    }
}

fn places(units: System, lamination: &Lamination, station_mm: f64) -> Vec<Cell> {
    let second = lamination.u_of(station_mm);
    match lamination.pieces {
        Pieces::Halves => vec![units.rule(second).into()],
        Pieces::Full => vec![units.rule(lamination.strip_length_mm() - second).into(), units.rule(second).into()],
    }
}

/// Thickness at stations, with a blank for each strip's reading.
fn thickness(contents: &Contents<'_>, index: usize) -> Table {
    let (build, row) = (contents.build, &contents.report.laminations[index]);
    let lamination = &build.laminations[index];
    let say = Say(build.units);
    let unit = build.units.length_unit();
    let pair = row.pieces == "halves";
    let mut columns = vec![Column::words("station")];
    columns.extend(place_head(lamination).into_iter().map(Column::words));
    columns.extend([Column::words("mark"), Column::figures(format!("thickness, {unit}"))]);
    columns.push(Column::words(if pair { "read, strip A" } else { "read, half A" }));
    columns.push(Column::words(if pair { "read, strip B" } else { "read, half B" }));
    let stack = contents.report.stack.iter().enumerate();
    let rows = stack
        .filter(|(_, station)| 0.0 < station.laminations_mm[index])
        .map(|(k, station)| {
            let mut row: Vec<Cell> = vec![say.wood(station.station_mm, format!("/stack/{k}/station_mm")).into()];
            row.extend(places(build.units, lamination, station.station_mm));
            row.push(station.mark.clone().into());
            row.push(say.bare(station.laminations_mm[index], format!("/stack/{k}/laminations_mm/{index}")));
            row.extend([Cell::Blank, Cell::Blank]);
            row
        })
        .collect();
    let caption = if row.already_ground {
        "Thickness as it was measured; check a few stations before gluing. Stations from the bow's centre"
    } else {
        "Finished thickness, stations from the bow's centre"
    };
    Table { caption: caption.into(), columns, rows }
}

/// Heights of the sled's surface where it is to be measured.
fn heights(contents: &Contents<'_>, index: usize) -> Table {
    let (build, row) = (contents.build, &contents.report.laminations[index]);
    let say = Say(build.units);
    let unit = build.units.length_unit();
    let sled = row.sled.as_ref();
    let all: Vec<usize> = (0..sled.map_or(0, |sled| sled.heights.len())).collect();
    // Every 50 mm is too close to measure: each second place, and the ends.
    let last = all.len().saturating_sub(1);
    let chosen = all.into_iter().filter(|k| k % 2 == 0 || *k == last);
    let rows = chosen
        .filter_map(|k| sled.map(|sled| (k, &sled.heights[k])))
        .map(|(k, height)| {
            let at = |key: &str| format!("/laminations/{index}/sled/heights/{k}/{key}");
            vec![
                say.wood(height.u_mm, at("u_mm")).into(),
                say.wood(height.station_mm, at("station_mm")).into(),
                say.bare(height.surface_mm, at("surface_mm")),
                Cell::Blank,
                Cell::Blank,
            ]
        })
        .collect();
    Table {
        caption: "Height of the surface under the strip above the table".into(),
        columns: vec![
            Column::words("place on the strip"),
            Column::words("station"),
            Column::figures(format!("height, {unit}")),
            Column::words("read"),
            Column::words("after tape"),
        ],
        rows,
    }
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

fn setup_title(setup: &SetupRow, k: usize, of: usize) -> String {
    let carrier = if setup.carrier == "sled" { "on the sled" } else { "flat on the table" };
    let turned = if setup.turn_over { ", strip turned over" } else { "" };
    let number = if 1 < of { format!("{}: ", k + 1) } else { String::new() };
    format!("Passes {number}{carrier}, {} face up{turned}", setup.face)
}

fn passes(say: Say, row: &LaminationRow, setup: &SetupRow, index: usize, k: usize) -> Table {
    let unit = say.0.length_words();
    let rows = setup
        .passes
        .iter()
        .enumerate()
        .map(|(n, pass)| {
            let at = |key: &str| format!("/laminations/{index}/setups/{k}/passes/{n}/{key}");
            let note = match (pass.new_paper, pass.repeat) {
                (true, _) => "new paper",
                (_, true) => "same gap",
                _ => "",
            };
            // A full strip is reached at both its ends first.
            let stretch = |[from, to]: &[f64; 2]| format!("{} to {}", say.0.rule(*from), say.0.rule(*to));
            let touched: Cell = match pass.contact_mm.as_slice() {
                [] => "thick strips only".into(),
                [[from, to]] if *from <= 1.0 && row.strip_length_mm - 1.0 <= *to => "all".into(),
                stretches => stretches.iter().map(stretch).collect::<Vec<_>>().join(", ").into(),
            };
            let turns: Cell = Text::number(fixed(pass.crank_turns, 2), at("crank_turns"), pass.crank_turns).into();
            vec![
                count(pass.number, at("number")).into(),
                pass.grit.map_or("".into(), |grit| format!("P{grit}")).into(),
                say.bare(pass.gap_mm, at("gap_mm")),
                say.bare(pass.drop_mm, at("drop_mm")),
                turns,
                touched,
                note.into(),
                Cell::Tick,
                Cell::Blank,
            ]
        })
        .collect();
    Table {
        caption: format!("What to set, in {unit}; tick each pass, write what a strip reads"),
        columns: vec![
            Column::figures("pass"),
            Column::words("paper"),
            Column::figures("gap"),
            Column::figures("drop"),
            Column::figures("turns"),
            Column::words("touches"),
            Column::words(""),
            Column::words("done"),
            Column::words("read"),
        ],
        rows,
    }
}

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
    groups.into_iter().map(|(names, count, part)| (names.join(", "), count, part)).collect()
}

/// How a sled goes together: once, for all of them.
pub(super) fn assembly(contents: &Contents<'_>) -> Option<Chapter> {
    let build = contents.build;
    contents.sleds.first()?;
    let mut blocks = Vec::new();
    if let Some(first) = contents.sleds.iter().find(|of| !of.kit.ribs_mm.is_empty()) {
        blocks.push(Block::Picture(pictures::exploded(
            &build.laminations[first.lamination],
            &first.kit.sled,
            &first.kit.ribs_mm,
        )));
    }
    for sled in &contents.sleds {
        let name = &build.laminations[sled.lamination].name;
        if 1 < contents.sleds.len() {
            blocks.push(Block::Heading(format!("Sled for {name}")));
        }
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
        "measured at every place of its table, trimmed with tape, measured again".into(),
        "a scrap strip through before the first real one".into(),
    ]));
    let mut care: Vec<Text> = vec![cautions::cutting(&build.shop.cutter).into()];
    care.push(cautions::RULES_FIRST.into());
    blocks.push(Block::Caution(care));
    Some(Chapter { anchor: "sleds".into(), title: "Sleds: how they go together".into(), blocks })
}
