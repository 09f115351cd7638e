//! Shelf and grip, cut when the limbs bend evenly: the order of cutting, what calipers read, and what the wood left bears.

use super::block::{Block, Cell, Chapter, Column, Table, Text};
use super::say::Say;
use super::{Contents, pictures};
use crate::mechanics::verdict::{CUT_CAUTION, CUT_STOP};
use crate::report::{CutMarkRow, WeakRow};
use crate::sheets::grip;
use crate::units::percent;

/// `None` where hands cut nothing from the riser.
pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let build = contents.build;
    let (riser, row) = (build.riser.as_ref()?, contents.report.riser.as_ref()?);
    let cuts = contents.block?.cuts.as_ref()?;
    let say = Say(build.units);
    let mut blocks = vec![Block::Caution(vec![grip::CAUTION.into()])];
    blocks.push(Block::Picture(pictures::cuts(build, riser, cuts)));
    blocks.push(Block::Steps(grip::steps(build, riser).into_iter().map(Text::from).collect()));
    let mut facts: Vec<(String, Text)> = Vec::new();
    if let Some(shelf) = &row.shelf {
        let at = |key: &str| format!("/riser/shelf/{key}");
        let past = if shelf.past_centre_mm < 0.0 { "stops short of the centre by" } else { "past the centre by" };
        let past_mm = Text::number(build.units.rule(shelf.past_centre_mm.abs()), at("past_centre_mm"), shelf.past_centre_mm);
        facts.extend([
            ("for the hand that draws".into(), shelf.hand.clone().into()),
            ("shelf over the throat".into(), say.wood(shelf.height_mm, at("height_mm"))),
            (format!("window, {past}"), past_mm),
            ("window, straight".into(), say.wood(shelf.window_mm, at("window_mm"))),
            ("then sweeps out within".into(), say.wood(shelf.sweep_mm, at("sweep_mm"))),
            ("inside corner and edges, radius".into(), say.wood(shelf.corner_mm, at("corner_mm"))),
        ]);
    }
    if let Some(grip) = &row.grip {
        let at = |key: &str| format!("/riser/grip/{key}");
        facts.extend([
            ("throat, back to belly".into(), say.thickness(grip.throat_mm, at("throat_mm"))),
            ("from the throat up".into(), say.wood(grip.up_mm, at("up_mm"))),
            ("from the throat down".into(), say.wood(grip.down_mm, at("down_mm"))),
        ]);
        facts.extend(grip.palm_mm.map(|palm| ("palm swell, back to belly".into(), say.thickness(palm, at("palm_mm")))));
        facts.extend(grip.heel_mm.map(|heel| ("then out within".into(), say.wood(heel, at("heel_mm")))));
    }
    blocks.push(Block::Facts(facts));
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    let mut read = |what: &'static str, marks: &[CutMarkRow], list: &str| {
        for (k, mark) in marks.iter().enumerate() {
            let at = |key: &str| format!("{list}/{k}/{key}");
            rows.push(vec![
                Text::number(grip::from_throat(build.units, mark.station_mm), at("station_mm"), mark.station_mm).into(),
                what.into(),
                say.thickness(mark.left_mm, at("left_mm")).into(),
                Cell::Blank,
            ]);
        }
    };
    if let Some(grip) = &row.grip {
        read("back to belly", &grip.depths, "/riser/grip/depths");
    }
    if let Some(shelf) = &row.shelf {
        read("side to side", &shelf.widths, "/riser/shelf/widths");
    }
    blocks.push(Block::Table(Table {
        caption: format!("Along {}, from the throat", cuts.which.words()),
        columns: ["from the throat", "calipers", "left", "read"].into_iter().map(Column::words).collect(),
        rows,
    }));
    let weak = [
        ("arrow pass", "/riser/shelf/weakest", row.shelf.as_ref().and_then(|shelf| shelf.weakest.as_ref())),
        ("grip", "/riser/grip/weakest", row.grip.as_ref().and_then(|grip| grip.weakest.as_ref())),
    ];
    let rows: Vec<Vec<Cell>> =
        weak.iter().filter_map(|(what, pointer, weak)| Some(bears(say, what, pointer, weak.as_ref()?))).collect();
    if !rows.is_empty() {
        let mut columns: Vec<Column> =
            ["at the", "from the throat", "deep", "wide", "wood"].into_iter().map(Column::words).collect();
        columns.push(Column::figures(format!("stress, {}", build.units.stress_unit())));
        columns.extend(["of its strength", "so it"].map(Column::words));
        blocks.push(Block::Table(Table { caption: "What the wood left bears at full draw".into(), columns, rows }));
        blocks.push(Block::Paragraph(
            format!(
                "Stress is that of the wood that is left, bent and pushed by the string at full draw, sideways too where the window leaves it to one \
                 side. Strength is the handbook's average of clear wood. Up to {} percent of it is sound, above it a caution, above {} a stop: \
                 pieces scatter, every shot loads it again, and run-out in the grain costs more than any of this.",
                percent(CUT_CAUTION, 0),
                percent(CUT_STOP, 0)
            )
            .into(),
        ));
    }
    let title = format!("{}, cut by hand", cuts.which.title());
    Some(Chapter { anchor: "shelf-and-grip".into(), title, blocks })
}

fn bears(say: Say, what: &str, pointer: &str, weak: &WeakRow) -> Vec<Cell> {
    let at = |key: &str| format!("{pointer}/{key}");
    vec![
        what.into(),
        Text::number(grip::from_throat(say.0, weak.station_mm), at("station_mm"), weak.station_mm).into(),
        say.thickness(weak.depth_mm, at("depth_mm")).into(),
        say.thickness(weak.width_mm, at("width_mm")).into(),
        weak.wood.clone().into(),
        Text::number(say.0.stress_number(weak.stress_mpa), at("stress_mpa"), weak.stress_mpa).into(),
        weak.share_of_breaking.map_or("not published".into(), |fraction| {
            Text::number(format!("{} %", percent(fraction, 0)), at("share_of_breaking"), fraction).into()
        }),
        weak.verdict.clone().unwrap_or_default().into(),
    ]
}
