//! A chapter for each lamination: what it shall become, its sled's heights and its passes with boxes to tick, and room for what was read.

use super::block::{Block, Cell, Chapter, Column, Table, Text};
use super::pictures::{self, strips};
use super::say::{Say, count};
use super::{Contents, habits, machine};
use crate::model::Build;
use crate::model::lamination::{Lamination, Pieces};
use crate::report::{LaminationRow, SetupRow, SledRow};
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
        ("wood".into(), row.wood_words().into()),
        (if build.limb.is_some() { "for this limb" } else { "for one bow" }.into(), strips(lamination).into()),
        ("at the butt".into(), say.thickness(row.butt_mm, at("butt_mm"))),
    ];
    if let Some(fade) = row.fade_end_mm {
        facts.push(("at the riser's feather".into(), say.thickness(fade, at("fade_end_mm"))));
    }
    facts.push(("at the tip".into(), say.thickness(row.tip_mm, at("tip_mm"))));
    let span = say.wood(row.from_mm, at("from_mm")).then(" to ").then(say.wood(row.to_mm, at("to_mm")));
    facts.push(("from station".into(), span));
    if let Some((k, meet)) = contents.report.meets.iter().enumerate().find(|(_, meet)| meet.lamination == row.name) {
        let past = say.wood(meet.past_centre_mm, format!("/meets/{k}/past_centre_mm"));
        facts.push(("each half reaches past the centre by".into(), past));
    }
    if let Some(face) = lamination.keep_face {
        facts.push(("face kept whole".into(), face.word().into()));
    }
    if let Some(error) = &row.thickness_error {
        let as_cut = Text::from("± ").then(say.thickness(error.as_cut_mm, at("thickness_error/as_cut_mm")));
        facts.push(("thickness, sled as cut".into(), as_cut));
        let trimmed = Text::from("± ").then(say.thickness(error.trimmed_mm, at("thickness_error/trimmed_mm")));
        facts.push(("thickness, sled trimmed".into(), trimmed));
    }
    let mut blocks = vec![Block::Picture(pictures::profile(build, lamination)), Block::Facts(facts)];
    blocks.extend(habits::bamboo(lamination));
    if !row.already_ground {
        blocks.push(Block::AtOnce);
        blocks.extend(at_the_machine(contents, index));
        blocks.push(Block::Apart);
    }
    blocks.push(Block::Table(thickness(contents, index)));
    Chapter { anchor: anchor(index), title: format!("Lamination: {}", row.name), blocks }
}

/// What is wanted at the machine: the sled's heights, the passes with their boxes, room for the gauge's readings.
fn at_the_machine(contents: &Contents<'_>, index: usize) -> Vec<Block> {
    let (build, row) = (contents.build, &contents.report.laminations[index]);
    let say = Say(build.units);
    let mut blocks = Vec::new();
    if !row.setups.is_empty() {
        blocks.push(machine::care());
    }
    if let Some(sled) = row.sled.as_ref().filter(|sled| sled.in_shared) {
        let told = match build.limb {
            None => {
                format!("The sled of {} is cut once for all bows of this series: its sheets lie in the folder shared.", sled.of)
            }
            Some(_) => {
                format!("The sled of {} is cut with the parts of both limbs: its sheets lie in the folder shared.", sled.of)
            }
        };
        blocks.push(Block::Paragraph(told.into()));
    }
    match &row.sled {
        Some(sled) if sled.of == build.part_name(&row.name) => blocks.push(Block::Table(heights(contents, index))),
        Some(sled) => blocks.push(Block::Paragraph(on_another(build, sled).into())),
        None => {}
    }
    for (k, setup) in row.setups.iter().enumerate() {
        blocks.push(Block::Table(passes(say, row, setup, index, k)));
    }
    if !row.setups.is_empty() {
        let alike = contents.alike.get(index).and_then(Option::as_ref).zip(build.limb.as_ref());
        let together = match row.runs {
            _ if alike.is_some() => alike.map_or(String::new(), |(name, limb)| {
                format!(
                    "The {name} of the {} limb is ground by the same settings: run both strips at each setting before the gap is changed.",
                    limb.is.other().word()
                )
            }),
            1 if build.limb.is_some() => "One run takes this limb's strip.".to_owned(),
            1 => "One run takes all strips of a bow.".to_owned(),
            runs => format!("{runs} runs for one bow: at each setting run them all before the gap is changed."),
        };
        blocks.push(Block::Paragraph(together.into()));
        blocks.push(Block::Blanks(vec![
            "gauge reading, scrap".into(),
            format!("scrap, left edge, {}", build.units.length_unit()),
            format!("scrap, right edge, {}", build.units.length_unit()),
            "date".into(),
        ]));
    }
    blocks
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
    let read: &[&str] = match (row.pieces.as_str(), lamination.strips_per_bow()) {
        ("halves", 1) => &["read"],
        ("halves", _) => &["read, strip A", "read, strip B"],
        _ => &["read, half A", "read, half B"],
    };
    let mut columns = vec![Column::words("station")];
    columns.extend(place_head(lamination).into_iter().map(Column::words));
    columns.extend([Column::words("mark"), Column::figures(format!("thickness, {unit}"))]);
    columns.extend(read.iter().copied().map(Column::words));
    let stack = contents.report.stack.iter().enumerate();
    let rows = stack
        .filter(|(_, station)| 0.0 < station.laminations_mm[index])
        .map(|(k, station)| {
            let mut row: Vec<Cell> = vec![say.wood(station.station_mm, format!("/stack/{k}/station_mm")).into()];
            row.extend(places(build.units, lamination, station.station_mm));
            row.push(station.mark.clone().into());
            row.push(say.bare(station.laminations_mm[index], format!("/stack/{k}/laminations_mm/{index}")));
            row.extend(read.iter().map(|_| Cell::Blank));
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

/// The sled is another lamination's: what to know of it.
fn on_another(build: &Build, sled: &SledRow) -> String {
    let units = build.units;
    let lower = if sled.run_on_lower_mm < 0.01 {
        String::new()
    } else {
        format!(
            " Its run-on stands {} farther below the last gap than for the thinnest strip on it: snipe falls on this strip's overrun, so \
             leave it its own.",
            units.thickness(sled.run_on_lower_mm)
        )
    };
    format!("These strips lie on the sled of {}: the heights, as measured and trimmed, stand there.{lower}", sled.of)
}

/// Heights of the sled's surface where it is to be measured.
fn heights(contents: &Contents<'_>, index: usize) -> Table {
    let (build, row) = (contents.build, &contents.report.laminations[index]);
    let say = Say(build.units);
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
        // Short heads, so that paper takes two columns of rows.
        caption: format!(
            "Height above the table of what the strip lies on, in {}; places along the strip, deck and paper on",
            build.units.length_words()
        ),
        columns: vec![
            Column::words("place"),
            Column::words("station"),
            Column::figures("height"),
            Column::words("read"),
            Column::words("after tape"),
        ],
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
            let bare = |mm: f64| say.0.rule(mm).trim_end_matches(say.0.length_unit()).trim_end().to_owned();
            let stretch = |[from, to]: &[f64; 2]| format!("{} to {}", bare(*from), bare(*to));
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
        caption: format!(
            "{}: what to set, in {unit}; tick each pass, write what a strip reads",
            setup_title(setup, k, row.setups.len())
        ),
        columns: vec![
            Column::figures("pass"),
            Column::words("paper"),
            Column::figures("gap"),
            Column::figures("drop"),
            Column::figures("turns"),
            Column::words(format!("touches, {}", say.0.length_unit())),
            Column::words("note"),
            Column::words("done"),
            Column::words("read"),
        ],
        rows,
    }
}
