//! From the glued blank to the tillered bow: trimming, targets, what to take off a heavy one.

use super::Contents;
use super::block::{Block, Cell, Chapter, Column, Picture, Table};
use super::say::Say;
use crate::model::outline::LimbShape;
use crate::report::BowRow;
use crate::sheets::tiller;
use crate::shop::blank::{WoodLever, kept_because, lever, limits};
use crate::shop::cautions::{DRY_FIRE, ON_THE_TREE, PRACTICE_FIRST};

pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let (build, bow) = (contents.build, contents.report.bow.as_ref()?);
    let (curve, targets) = contents.bow?;
    let say = Say(build.units);
    let drawing = tiller::alone(curve, targets);
    let full = build.units.rule(curve.at_full_draw().draw_length_mm);
    let alt = format!("The belly of both limbs at {} draws from brace to {full}.", targets.rows.len());
    let shape = build.outline.as_ref().map(|outline| &outline.shape).filter(|shape| !shape.is_square());
    let mut blocks = vec![
        Block::Caution(vec![
        ON_THE_TREE.into(),
        format!("{DRY_FIRE} Unstring it with a stringer.").into(),
        PRACTICE_FIRST.into(),
    ]),
        Block::Steps(vec![
            "Draw the centre line with a thread from nock to nock, then the outline from its template.".into(),
            match build.limb {
                None => "Weigh the blank while it is still wide, on the floor or on a long string, and log it: the log says what it will draw once trimmed.".into(),
                Some(_) => "Weigh the blank while it is still wide, and log it with both files (`log --lower`).".into(),
            },
            match shape {
                None => "Saw outside the line and trim to it, cut the nocks, round no edge yet. Brace low, and read the tiller.".into(),
                Some(_) => "Saw outside the line and trim to it, shape the limbs across by the table below, cut the nocks, round no \
                            other edge yet. Brace low, and read the tiller."
                    .into(),
            },
            "Take wood off as the log's plan says, a step at a time: even the tiller, draw it in with many short pulls, weigh, log.".into(),
            "Stop at the weight that leaves the finishing allowance; then edges, sanding and finish.".into(),
        ]),
    ];
    if let Some(shape) = shape {
        blocks.push(Block::Paragraph(how_across(shape).into()));
        blocks.push(Block::Table(across(contents, say, shape)));
    }
    blocks.extend([Block::Picture(Picture { drawing, caption: tiller::LEGEND.into(), alt }), Block::Table(distances(say, bow))]);
    blocks.push(Block::Paragraph(
        format!(
            "{} The limb nearer the string is the stiffer one, but a distance hangs on both whole limbs: where it is off need not be \
             where the fault is. Read brace and three draws, log them, and the log tells which stretch is stiff, which to leave alone, \
             and what a round costs. A chart at true size is among the templates.",
            tiller::tiller_note(build.units, targets)
        )
        .into(),
    ));
    blocks.push(Block::Heading("Upper and lower limb as read".into()));
    blocks.push(Block::Table(readings(say, bow)));
    let floor: Vec<Vec<Cell>> = bow
        .floor_tiller
        .iter()
        .enumerate()
        .map(|(k, row)| {
            let at = |key: &str| format!("/bow/floor_tiller/{k}/{key}");
            vec![
                say.wood(row.drop_mm, at("drop_mm")).into(),
                say.force(row.blank_n, at("blank_n")).into(),
                say.force(row.trimmed_n, at("trimmed_n")).into(),
                Cell::Blank,
            ]
        })
        .collect();
    // Two different limbs do not stand level on their blocks.
    let on_the_floor = (!floor.is_empty()).then(|| Table {
        caption: tiller::ON_THE_FLOOR.into(),
        columns: vec![
            Column::words("pressed down"),
            Column::words("blank, as wide as its strips"),
            Column::words(if shape.is_some() { "trimmed and shaped" } else { "trimmed to the outline" }),
            Column::words("read"),
        ],
        rows: floor,
    });
    blocks.extend(on_the_floor.map(Block::Table));
    blocks.push(Block::Table(too_heavy(say, bow, &lever(build))));
    if build.limb.is_some() {
        blocks.push(Block::Paragraph("The other limb loses the same share, by its own book: then the tiller stays.".into()));
    }
    let how = match kept_because(build) {
        None => "Belly: the most is taken where the stack is thickest beyond the fades, elsewhere in proportion to it, nothing at the \
                 feather."
            .into(),
        Some(why) => format!(
            "Nothing comes off the belly: {why}. Half of it off each edge, in proportion to the width beyond the fades, nothing at the \
             feather; the last of it off the corners, by rounding all four."
        ),
    };
    blocks.push(Block::Paragraph(format!("{how} {}", limits(build).spoken(build.units)).into()));
    blocks.push(Block::Blanks(vec![
        format!("blank's weight, {}", build.units.force_unit()),
        "how bent, how far".into(),
        format!("trimmed, at full draw, {}", build.units.force_unit()),
        format!("finished, {}", build.units.force_unit()),
    ]));
    Some(Chapter { anchor: "tiller".into(), title: "Shaping and tiller".into(), blocks })
}

/// How limbs are filed to their shape across, in words.
fn how_across(shape: &LimbShape) -> String {
    let mut said = Vec::new();
    if let Some(trapped) = &shape.trapped {
        let (narrow, wide) = (trapped.face.word(), trapped.face.other().word());
        said.push(format!(
            "Mark the {narrow}'s width at each station from the centre line, join the marks, and plane both sides straight from that line \
             to the edge of the {wide}, which stays as wide as the outline."
        ));
    }
    if shape.crown_mm.is_some() {
        said.push(
            "Gauge the thickness of the edges from the back on both sides, then round the belly from line to line in one even arc: its \
             middle keeps the whole thickness."
                .into(),
        );
    }
    said.push("Little by little and both limbs alike: all weights and distances here are those of the limb so shaped.".into());
    said.join(" ")
}

fn across(contents: &Contents<'_>, say: Say, shape: &LimbShape) -> Table {
    let (trapped, crowned) = (shape.trapped.is_some(), shape.crown_mm.is_some());
    let mut columns = vec![Column::words("station"), Column::words("place")];
    if trapped {
        columns.extend(["back", "belly"].map(Column::words));
    }
    if crowned {
        columns.extend(["crown", "thick at the edges"].map(Column::words));
    }
    let rows = contents.report.stack.iter().enumerate().filter_map(|(k, row)| {
        let here = row.across.as_ref()?;
        let at = |key: &str| format!("/stack/{k}/across/{key}");
        let mut cells: Vec<Cell> =
            vec![say.wood(row.station_mm, format!("/stack/{k}/station_mm")).into(), row.mark.as_str().into()];
        if trapped {
            cells.extend([say.wood(here.back_mm, at("back_mm")).into(), say.wood(here.belly_mm, at("belly_mm")).into()]);
        }
        if crowned {
            cells
                .extend([say.thickness(here.crown_mm, at("crown_mm")).into(), say.thickness(here.edge_mm, at("edge_mm")).into()]);
        }
        Some(cells)
    });
    Table { caption: "The limb across, at stations from the centre".into(), rows: rows.collect(), columns }
}

fn distances(say: Say, bow: &BowRow) -> Table {
    let mut columns = vec![Column::words("draw length"), Column::words("weight"), Column::words("limb")];
    columns.extend(bow.tiller_stations_mm.iter().map(|s| Column::words(say.0.rule(*s))));
    let rows = bow
        .tiller
        .iter()
        .enumerate()
        .flat_map(|(k, row)| {
            let at = move |key: &str| format!("/bow/tiller/{k}/{key}");
            let first: Cell = if k == 0 { "brace".into() } else { say.wood(row.draw_length_mm, at("draw_length_mm")).into() };
            let weight: Cell = if k == 0 { "".into() } else { say.force(row.force_n, at("force_n")).into() };
            let limb = |first: Cell, weight: Cell, limb: &'static str, gaps: &[f64]| -> Vec<Cell> {
                let gaps = gaps.iter().enumerate();
                let gaps = gaps.map(|(n, gap)| say.tiller(*gap, at(&format!("{limb}_belly_to_string_mm/{n}"))).into());
                [first, weight, limb.into()].into_iter().chain(gaps).collect()
            };
            [
                limb(first.clone(), weight.clone(), "upper", &row.upper_belly_to_string_mm),
                limb(first, weight, "lower", &row.lower_belly_to_string_mm),
            ]
        })
        .collect();
    Table { caption: "From belly to string, square to the string, at stations along both limbs".into(), columns, rows }
}

/// Blanks for both limbs at brace, in the middle and at full draw.
fn readings(say: Say, bow: &BowRow) -> Table {
    let last = bow.tiller.len().saturating_sub(1);
    let mut columns = vec![Column::words("draw"), Column::words("limb")];
    columns.extend(bow.tiller_stations_mm.iter().map(|s| Column::words(say.0.rule(*s))));
    let mut rows = Vec::new();
    let mut chosen = vec![0, last / 2, last];
    chosen.dedup();
    for k in chosen {
        let draw = if k == 0 { "brace".to_owned() } else { say.0.rule(bow.tiller[k].draw_length_mm) };
        for limb in ["upper", "lower"] {
            let mut row: Vec<Cell> = vec![draw.clone().into(), limb.into()];
            row.extend(bow.tiller_stations_mm.iter().map(|_| Cell::Blank));
            rows.push(row);
        }
    }
    Table { caption: String::new(), columns, rows }
}

fn too_heavy(say: Say, bow: &BowRow, lever: &WoodLever) -> Table {
    let belly = matches!(lever, WoodLever::Belly { .. });
    let rows = bow
        .too_heavy
        .iter()
        .enumerate()
        .map(|(k, row)| {
            let at = |key: &str| format!("/bow/too_heavy/{k}/{key}");
            let off_belly: Cell = match row.belly_mm {
                Some(mm) => say.thickness(mm, at("belly_mm")).into(),
                None => "not by that alone".into(),
            };
            let sides: Cell = match row.sides_share {
                Some(fraction) => say.percent(fraction, 1, at("sides_share")).into(),
                None => "not by that alone".into(),
            };
            let excess = say.force(row.excess_n, at("excess_n")).into();
            if belly { vec![excess, off_belly, sides] } else { vec![excess, sides] }
        })
        .collect();
    let heads: &[&str] = if belly {
        &["too heavy by", "off the belly, where most", "or off the width"]
    } else {
        &["too heavy by", "off the width"]
    };
    let columns = heads.iter().copied().map(Column::words).collect();
    Table { caption: "If the trimmed bow draws more than wanted".into(), columns, rows }
}
