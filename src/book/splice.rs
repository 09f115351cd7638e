//! Splices: gluing up strips from shorter pieces, before anything is ground.

use super::Contents;
use super::block::{Block, Cell, Chapter, Column, Table, Text};
use super::say::{Say, count};
use crate::report::SpliceRow;
use crate::units::{fixed, trim_zeros};

/// `None` where every strip is of one piece.
pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let (build, rows) = (contents.build, &contents.report.splices);
    if rows.is_empty() {
        return None;
    }
    let say = Say(build.units);
    let mut blocks = vec![Block::Paragraph(
        "These strips are glued up from shorter pieces first, at their stock's thickness, and ground as one. Grinding shortens the scarf with the \
         thickness. Where one face alone is ground its middle moves by half of that, toward the feather on the other face: set it out so much the \
         other way, and the overrun of the strip gives the room. Where both faces lose alike it stays."
            .into(),
    )];
    let pieces = rows.iter().enumerate().flat_map(|(k, row)| {
        row.pieces.iter().enumerate().map(move |(n, piece)| -> Vec<Cell> {
            let at = |key: &str| format!("/splices/{k}/pieces/{n}/{key}");
            let wood = if row.two_woods.is_some() { format!(", {}", piece.wood) } else { String::new() };
            vec![
                row.lamination.clone().into(),
                count(piece.count, at("count")).then(format!(" {}{wood}", piece.place)).into(),
                say.wood(piece.length_mm, at("length_mm")).into(),
                Cell::Tick,
            ]
        })
    });
    blocks.push(Block::Table(Table {
        caption: format!(
            "Pieces for {}, scarfs and overrun included",
            if contents.build.limb.is_some() { "this limb" } else { "one bow" }
        ),
        columns: ["lamination", "pieces", "sawn to", "there"].into_iter().map(Column::words).collect(),
        rows: pieces.collect(),
    }));
    blocks.push(Block::Steps(vec![
        if contents.build.limb.is_some() {
            "Choose pieces alike in weight and stiffness to those of the other limb, growth rings the same way up, grain straight through the scarf; mark \
             which end goes where."
        } else if rows.iter().any(|row| row.two_woods.is_some()) {
            "Choose the two pieces of each wood alike in weight and stiffness, growth rings the same way up, grain straight through the scarf; mark \
             which end goes where."
        } else {
            "Choose pieces alike in weight and stiffness, growth rings the same way up, grain straight through the scarf; mark which end goes where."
        }
        .into(),
        "Plane the scarfs in one stack on a board with a stop, all to one slope, the feather backed so that it does not break out.".into(),
        "Dry first: no light through the scarf, a straight edge along both pieces. A pin through the overlap keeps it from sliding.".into(),
        "Glue both faces, wait, glue again: end grain drinks. Clamp flat between straight boards with film, and no harder than closes it.".into(),
        "After the clamp time flatten the strip, mark the scarf's middle on both edges, and keep the feather on the back pointing to the tip.".into(),
    ]));
    let turned: Vec<&str> = rows
        .iter()
        .filter(|row| row.two_woods.as_ref().is_some_and(|two| two.on_back == "outer"))
        .map(|row| row.lamination.as_str())
        .collect();
    if !turned.is_empty() {
        blocks.push(Block::Paragraph(
            format!("Not so in {}: there the build file lays the outer piece on the back, and the feather on the back points to the grip.", turned.join(", "))
                .into(),
        ));
    }
    let table = rows.iter().enumerate().map(|(k, row)| -> Vec<Cell> {
        let at = |key: &str| format!("/splices/{k}/{key}");
        let fraction = |fraction: Option<f64>| match fraction {
            Some(fraction) => say.percent(fraction, 0, at("share_of_breaking")).into(),
            None => Cell::from(Text::from("")),
        };
        vec![
            row.lamination.clone().into(),
            say.wood(row.at_mm, at("at_mm")).into(),
            Text::number(format!("1:{}", trim_zeros(&fixed(row.slope, 2))), at("slope"), row.slope).into(),
            say.wood(row.stock_scarf_mm, at("stock_scarf_mm")).into(),
            say.wood(row.finished_scarf_mm, at("finished_scarf_mm")).into(),
            say.percent(row.keeps, 0, at("keeps")).into(),
            match row.two_woods.as_ref().and_then(|two| two.inner_mpa.zip(two.outer_mpa)) {
                Some((inner, outer)) => Text::number(build.units.stress_number(inner), at("two_woods/inner_mpa"), inner)
                    .then(" and ")
                    .then(Text::number(build.units.stress_number(outer), at("two_woods/outer_mpa"), outer))
                    .into(),
                None => Cell::from(Text::from("")),
            },
            match row.glue_shear_mpa {
                Some(mpa) => Text::number(build.units.stress_number(mpa), at("glue_shear_mpa"), mpa).into(),
                None => Cell::from(Text::from("")),
            },
            fraction(row.share_of_breaking),
            row.verdict.clone().unwrap_or_default().into(),
        ]
    });
    let mut rows_of_table: Vec<Vec<Cell>> = table.collect();
    let mut columns: Vec<Column> = ["lamination", "middle at station", "slope", "scarf, on stock", "scarf, finished", "keeps"]
        .into_iter()
        .map(Column::words)
        .collect();
    if rows.iter().any(|row| row.two_woods.is_some()) {
        columns.push(Column::words(format!("along the wood, inner and outer side, {}", build.units.stress_unit())));
    } else {
        rows_of_table.iter_mut().for_each(|row| drop(row.remove(6)));
    }
    columns.push(Column::figures(format!("shear in the glue, {}", build.units.stress_unit())));
    columns.extend(["of what it bears", "so it"].map(Column::words));
    blocks.push(Block::Table(Table {
        caption: "Where the splices lie, and how hard they work".into(),
        columns,
        rows: rows_of_table,
    }));
    let bears = [8.0, 15.0].map(|mpa| build.units.stress_number(mpa));
    blocks.push(Block::Paragraph(
        format!("What a scarf keeps of the wood's strength in stretch is the Wood Handbook's, from memory: 85 percent at 1:8, 95 at 1:12; pressed, it \
         keeps all. Wood glues of full strength bear {} to {} {} of shear; common practice, no source.", bears[0], bears[1], build.units.stress_unit())
            .into(),
    ));
    blocks.push(places(&say, rows));
    if rows.iter().any(|row| row.two_woods.is_some()) {
        blocks.push(Block::Paragraph(
            "Where two woods meet they stretch alike at every depth, so that the stiffer one bears more: the stress is given for both sides of the \
             glue line, and the greater counts for the glue. At the machine the harder wood sets the depth of cut for the whole strip; the softer one \
             may come out a trifle thinner at the scarf, where abrasive takes more of it: read both sides of the scarf with the gauge. A drum and a \
             planer pull at the feather: feed so that it trails."
                .into(),
        ));
    }
    blocks.push(Block::Caution(vec![
        "Bend every spliced strip by hand over the knee, scarf outward, before it goes into a bow: one that ticks or opens is firewood. Eyes protected."
            .into(),
    ]));
    Some(Chapter { anchor: "splices".into(), title: "Splices".into(), blocks })
}

/// Whether each lies where it should; what does not is named, and to be moved before anything is sawn.
fn places(say: &Say, rows: &[SpliceRow]) -> Block {
    let each =
        rows.iter().enumerate().flat_map(|(k, row)| row.lies_over.iter().enumerate().map(move |(n, over)| (k, row, n, over)));
    let misplaced: Vec<Text> = each
        .map(|(k, row, n, over)| {
            let at = |key: &str| format!("/splices/{k}/lies_over/{n}/{key}");
            let start = Text::from(format!("The splice of {} lies over {}, ", row.lamination, over.what));
            if over.from_mm < over.to_mm {
                let from = start.then("from station ").then(say.wood(over.from_mm, at("from_mm")));
                from.then(" to ").then(say.wood(over.to_mm, at("to_mm"))).then(": move it before anything is sawn.")
            } else {
                let there = start.then("at station ").then(say.wood(over.to_mm, at("to_mm")));
                there.then(": move it before anything is sawn.")
            }
        })
        .collect();
    if misplaced.is_empty() {
        return Block::Paragraph(
            "No two splices of neighbouring strips stand over each other; none lies on a fade that its strip climbs, across the end of a fade, or under a \
             nock. A strip that lies flat against the riser is not bent by its fade: there a splice may be."
                .into(),
        );
    }
    Block::Caution(misplaced)
}
