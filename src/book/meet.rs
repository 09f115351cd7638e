//! Where the halves of laminations overlap at the grip: what is cut for it, and how it goes together.

use super::Contents;
use super::block::{Block, Cell, Chapter, Column, Table, Text};
use super::say::Say;
use crate::report::MeetRow;
use crate::units::{fixed, trim_zeros};

/// `None` where all halves are butted, or every strip is full.
pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let meets = &contents.report.meets;
    if meets.is_empty() {
        return None;
    }
    let of = |how: &str| meets.iter().enumerate().filter(|(_, row)| row.how == how).collect::<Vec<_>>();
    let (scarfs, laps) = (of("scarf"), of("lap"));
    let mut blocks = vec![Block::Paragraph(
        "These halves reach past the bow's centre and overlap there. They are ground as they are, the overlap with them; their butt ends are sawn to \
         length and fitted once they are ground, before the glue is mixed."
            .into(),
    )];
    if !scarfs.is_empty() {
        blocks.extend(scarfed(contents, &scarfs));
    }
    if !laps.is_empty() {
        blocks.extend(lapped(contents, &laps));
    }
    blocks.push(Block::Caution(vec![
        "Halves that overlap slide apart under clamps, since the glue makes them slippery. Tape or pin them in the waste beside the outline, press from the \
         grip outward, and look at the marks again before it sets; common practice, no source."
            .into(),
    ]));
    Some(Chapter { anchor: "halves".into(), title: "Where the halves meet".into(), blocks })
}

fn table(
    contents: &Contents<'_>,
    rows: &[(usize, &MeetRow)],
    more: &dyn Fn(&Say, usize, &MeetRow) -> Vec<Cell>,
) -> Vec<Vec<Cell>> {
    let say = Say(contents.build.units);
    let row = |(k, row): &(usize, &MeetRow)| {
        let at = |key: &str| format!("/meets/{k}/{key}");
        let mut cells: Vec<Cell> = vec![
            row.lamination.clone().into(),
            say.wood(row.length_mm, at("length_mm")).into(),
            say.wood(row.past_centre_mm, at("past_centre_mm")).into(),
            say.thickness(row.thickness_mm, at("thickness_mm")).into(),
        ];
        cells.extend(more(&say, *k, row));
        cells.push(Cell::Tick);
        cells
    };
    rows.iter().map(row).collect()
}

const HEADS: [&str; 4] = ["lamination", "overlap", "each past the centre", "strip there"];

fn scarfed(contents: &Contents<'_>, rows: &[(usize, &MeetRow)]) -> Vec<Block> {
    let units = contents.build.units;
    let more = |say: &Say, k: usize, row: &MeetRow| -> Vec<Cell> {
        let at = |key: &str| format!("/meets/{k}/{key}");
        let empty = || Cell::from(Text::from(""));
        let slope = |slope: f64| Text::number(format!("1:{}", trim_zeros(&fixed(slope, 1))), at("slope"), slope).into();
        vec![
            row.slope.map_or_else(empty, slope),
            row.keeps.map_or_else(empty, |keeps| say.percent(keeps, 0, at("keeps")).into()),
            row.glue_shear_mpa.map_or_else(empty, |mpa| Text::number(units.stress_number(mpa), at("glue_shear_mpa"), mpa).into()),
            row.share_of_breaking.map_or_else(empty, |fraction| say.percent(fraction, 0, at("share_of_breaking")).into()),
            row.verdict.clone().unwrap_or_default().into(),
        ]
    };
    let mut columns: Vec<Column> = HEADS.into_iter().chain(["slope", "keeps"]).map(Column::words).collect();
    columns.push(Column::figures(format!("shear in the glue, {}", units.stress_unit())));
    columns.extend(["of what it bears", "so it", "done"].map(Column::words));
    vec![
        Block::Table(Table { caption: "Halves scarfed into each other".into(), columns, rows: table(contents, rows, &more) }),
        Block::Steps(vec![
            "Saw the overrun off the butt end of both halves and mark the bow's centre on both edges, as far from the end as the table says.".into(),
            "Plane the scarf of one half out of its back face and that of the other out of its belly face, from the full thickness as far beyond the centre as \
             the end lies before it down to nothing at the end; the feather backed so that it does not break out."
                .into(),
            "Lay both together: the marks meet, and through the scarf the strip is as thick as beside it. The scarf closes with the glue-up of the strip's own \
             stage."
                .into(),
        ]),
    ]
}

fn lapped(contents: &Contents<'_>, rows: &[(usize, &MeetRow)]) -> Vec<Block> {
    let more = |say: &Say, k: usize, row: &MeetRow| -> Vec<Cell> {
        let at = |key: &str| format!("/meets/{k}/{key}");
        let face = row.rebate_face.as_ref().map_or(String::new(), |face| format!("in its {face} side"));
        let depth = row.rebate_mm.map_or_else(|| Cell::from(Text::from("")), |mm| say.thickness(mm, at("rebate_mm")).into());
        vec![face.into(), depth]
    };
    let columns = HEADS.into_iter().chain(["the riser's rebate", "deep", "done"]).map(Column::words).collect();
    vec![
        Block::Table(Table { caption: "Halves lapped: one lies on the other".into(), columns, rows: table(contents, rows, &more) }),
        Block::Steps(vec![
            "Saw the overrun off the butt end of both halves and mark the bow's centre on both edges, as far from the end as the table says.".into(),
            "Cut the rebate across the riser's whole width, as long as the overlap and with its middle at the centre line of the template, as deep as one strip \
             and a line of glue. Try it with an offcut of the strip and a slip of paper: flush, never proud."
                .into(),
            "One half lies against its neighbour all along, the other with its end in the rebate. Which limb gets which is free: the section is the same.".into(),
            "Before glue, press all together dry: no light under the ends of the rebate, and the strips lie down on both sides of it.".into(),
        ]),
        Block::Paragraph(
            "In the table of the stack the end of the other half counts with the riser, in whose rebate it lies: the total is the same. At the ends of a lap the \
             shear gathers over about a thickness, which no beam shows; they belong under the riser's full depth, and there they lie."
                .into(),
        ),
    ]
}
