//! What to get and what to cut before anything is ground.

use super::block::{Block, Cell, Chapter, Column, Table, Text};
use super::say::{Say, count};
use super::{Contents, block_parts};
use crate::diag::Reported;
use crate::mechanics::glueup::{GlueUp, Stage};
use crate::model::Build;
use crate::model::riser::{Riser, Slice};
use crate::model::workshop::Held;
use crate::shop::cautions;
use crate::shop::form::{self, MORE_GLUE};
use crate::shop::riser_block::RiserBlock;
use crate::shop::upper_half;

pub(super) fn chapter(contents: &Contents<'_>) -> Chapter {
    let (build, report) = (contents.build, contents.report);
    let say = Say(build.units);
    let unit = build.units.length_words();
    let rows = report
        .laminations
        .iter()
        .enumerate()
        .map(|(k, row)| {
            let at = |key: &str| format!("/laminations/{k}/{key}");
            let stock: Cell =
                if row.already_ground { "ground already".into() } else { say.thickness(row.stock_mm, at("stock_mm")).into() };
            vec![
                Text::link(row.name.clone(), super::lamination::anchor(k)).into(),
                row.wood_words().into(),
                match (row.pieces.as_str(), &build.limb) {
                    ("full", None) => "1, tip to tip",
                    ("full", Some(_)) => "1 for both limbs, in both books",
                    (_, None) => "2, a pair",
                    (_, Some(_)) => "1",
                }
                .into(),
                say.wood(row.strip_length_mm, at("strip_length_mm")).into(),
                say.wood(row.strip_width_mm, at("strip_width_mm")).into(),
                stock,
                say.bare(row.butt_mm, at("butt_mm")),
                say.bare(row.tip_mm, at("tip_mm")),
                Cell::Tick,
            ]
        })
        .collect();
    let mut columns: Vec<Column> =
        ["strips", "wood", if build.limb.is_some() { "for this limb" } else { "for one bow" }, "length", "width", "stock"]
            .into_iter()
            .map(Column::words)
            .collect();
    columns.extend(["butt", "tip"].map(|end| Column::figures(format!("{end}, {}", build.units.length_unit()))));
    columns.push(Column::words("there"));
    let mut blocks = vec![Block::Table(Table {
        caption: "Strips, overrun included; what they are ground to at butt and tip".into(),
        columns,
        rows,
    })];
    if let (Some(riser), Some(block)) = (&build.riser, contents.block) {
        blocks.push(block_parts::boards(contents).filter(|_| riser.is_layered()).unwrap_or_else(|| slices(build, riser, block)));
        blocks.extend(block_parts::let_in(contents));
    }
    if !report.overlays.is_empty() {
        let rows = report.overlays.iter().enumerate().map(|(k, row)| {
            let at = |key: &str| format!("/overlays/{k}/{key}");
            vec![
                row.wood.clone().into(),
                format!("2, on the {}", row.face).into(),
                say.wood(row.length_mm, at("length_mm")).into(),
                say.wood(row.widest_mm, at("widest_mm")).into(),
                say.thickness(row.thickness_mm, at("thickness_mm")).into(),
                Cell::Tick,
            ]
        });
        blocks.push(Block::Table(Table {
            caption: "Tip overlays as they lie: leave a little in length and width to trim".into(),
            columns: ["wood", "for one bow", "length", "width", "thickness", "there"].into_iter().map(Column::words).collect(),
            rows: rows.collect(),
        }));
    }
    let mut ticks: Vec<Text> = Vec::new();
    let mut file = 1;
    for cut in contents.cuts {
        let (first, last) = (file, file + cut.loads.len() - 1);
        file = last + 1;
        let files = if first == last { format!("cut-{first}") } else { format!("cut-{first} to cut-{last}") };
        ticks.push(
            format!(
                "{}, {} thick (measure it: the slots follow the number), enough for {} of parts, {files} of the templates; their names \
                 say whose they are",
                cut.sheet.material,
                build.units.thickness(cut.sheet.thickness_mm),
                if first == last { "one bed-load".to_owned() } else { format!("{} bed-loads", cut.loads.len()) }
            )
            .into(),
        );
    }
    if contents.sleds.iter().any(|of| !of.kit.is_cut()) {
        ticks.push("a straight, stiff board for the sled, and the shims of its sheet".into());
    }
    for stock in &build.shop.shims {
        let count = stock.count.map_or(String::new(), |count| format!(", {count} pieces"));
        ticks.push(
            format!(
                "{}, {} thick{count}: to make up shims and trim the sled",
                stock.of,
                build.units.thickness(stock.thickness_mm)
            )
            .into(),
        );
    }
    if let Some(sander) = &build.sander {
        let papers: Vec<String> = sander.papers.iter().filter_map(|paper| paper.grit.map(|grit| format!("P{grit}"))).collect();
        if !papers.is_empty() {
            ticks.push(format!("paper for the sander: {}", papers.join(", ")).into());
        }
    }
    if let Some(bow) = &report.bow {
        if 0.0 < bow.glue_kg {
            ticks.push(
                Text::from("glue on the wood: ")
                    .then(Text::number(build.units.mass(bow.glue_kg), "/bow/glue_kg", bow.glue_kg))
                    .then(format!(" in all stages, and {MORE_GLUE}")),
            );
        }
        ticks.extend(block_parts::glue(contents));
        for (stage, glued) in contents.glued.iter().flat_map(|glued| glued.stages.iter().map(move |stage| (stage, glued))) {
            ticks.push(holding(build, glued, stage).into());
        }
        if !bow.glue_stages.is_empty() {
            let max = (0..).zip(&bow.glue_stages).max_by_key(|(_, stage)| stage.clamps);
            let clamps = max.map_or(Text::from("clamps"), |(k, stage): (u32, _)| {
                count(stage.clamps, format!("/bow/glue_stages/{k}/clamps")).then(" clamps")
            });
            ticks.push(Text::from("film, a pressure strip as long as the bow, ").then(clamps).then(" or bands, gloves"));
        }
    }
    if !ticks.is_empty() {
        blocks.push(Block::Heading("Besides".into()));
        blocks.push(Block::Ticks(ticks));
    }
    blocks.push(Block::Paragraph(
        format!(
            "Lengths and the widths of strips are cut to the nearest line of the rule; thickness, and depth and width of the riser's block, in {unit} as \
             calipers show it."
        )
        .into(),
    ));
    if let Some(dust) = cautions::dust(woods(contents)) {
        blocks.push(Block::Caution(vec![dust.into(), cautions::DUST.into()]));
    }
    Chapter { anchor: "cut-list".into(), title: "What to get and what to cut".into(), blocks }
}

/// Slices of the riser's block.
fn slices(build: &Build, riser: &Riser, block: &RiserBlock) -> Block {
    let row = |slice: &Slice| {
        vec![
            slice.wood.name.clone().into(),
            build.units.thickness(slice.width_mm).into(),
            build.units.thickness(block.depth_mm).into(),
            build.units.rule(block.blank_length_mm).into(),
            Cell::Tick,
        ]
    };
    Block::Table(Table {
        caption: match build.limb {
            None => "Riser slices, in the order across the block".into(),
            Some(_) => {
                "Riser slices, in the order across the block: one block carries both limbs, and both books have it".to_owned()
            }
        },
        columns: ["wood", "thickness", "depth", "length", "there"].into_iter().map(Column::words).collect(),
        rows: riser.across.iter().map(row).collect(),
    })
}

/// What holds a stage, and how large it is.
fn holding(build: &Build, glued: &GlueUp, stage: &Stage) -> String {
    let units = build.units;
    match stage.held {
        Held::Flat => format!("for stage {}: a straight bench as long as the bow", stage.number),
        Held::Props { rise_mm, .. } => {
            let props = if build.limb.is_some() { "a prop" } else { "two props" };
            format!("for stage {}: {props} {} high, a straight bench", stage.number, units.decimal(rise_mm.abs()))
        }
        Held::Form { .. } if build.limb.is_some() => format!(
            "for stage {}: one form of two halves for both limbs, by its template in the folder shared; pins of {}",
            stage.number,
            units.thickness(form::PIN_MM)
        ),
        // A form that cannot be cut is the templates' fault to tell.
        Held::Form { .. } => match form::lay_out(build, glued, stage, 0.0) {
            Ok(Reported { value: Some(form), .. }) => format!(
                "for stage {}: board for a form {} long and {} high, as thick as the strips are wide, {}; pins of {}; its template{}",
                stage.number,
                units.rule(form.length_mm()),
                units.rule(form.height_mm()),
                units.rule(glued.blank_mm),
                units.thickness(form::PIN_MM),
                pressing(build, glued, stage)
            ),
            _ => format!("for stage {}: a form", stage.number),
        },
    }
}

/// What an upper half takes; nothing for a stage without one, or for one that cannot be cut, which is the templates' fault to tell.
fn pressing(build: &Build, glued: &GlueUp, stage: &Stage) -> String {
    let units = build.units;
    let Ok(Reported { value: Some(form), .. }) = upper_half::lay_out(build, glued, stage) else { return String::new() };
    let Some(upper) = &form.upper else { return String::new() };
    let strip = if 0.0 < upper.press.strip_mm {
        format!(", heat strip or pressure strip and film {} together", units.thickness(upper.press.strip_mm))
    } else {
        String::new()
    };
    format!(
        "; board for its upper half {} long and {} high; a hose at least {} long that lies {} high when it is pressed flat{strip}; bolts or straps",
        units.rule(form.length_mm()),
        units.rule(form.height_mm()),
        units.rule(upper.pressed_mm),
        units.thickness(upper.press.hose_mm)
    )
}

/// All woods of the build, with what is known of their dust.
fn woods<'a>(contents: &'a Contents<'_>) -> impl Iterator<Item = (&'a str, Option<&'a str>)> {
    contents.build.woods().map(|wood| (wood.name.as_str(), wood.dust.as_deref()))
}
