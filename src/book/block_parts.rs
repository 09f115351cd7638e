//! A riser's layers, footings and overlay: what is cut for them, what they weigh, and how the overlay is glued on.

use super::Contents;
use super::block::{Block, Cell, Chapter, Column, Table, Text};
use super::say::Say;
use crate::report::{BlockLayerRow, CheckRow, FootingRow, LayeredRow, RiserOverlayRow};
use crate::sheets::block_parts::overlay_steps;
use crate::shop::cautions::EPOXY;
use crate::units::{System, fixed, percent};

/// Boards of a block in layers; nothing for a block of slices.
pub(super) fn boards(contents: &Contents<'_>) -> Option<Block> {
    let (riser, block) = (contents.report.riser.as_ref()?, contents.block?);
    let layered = riser.layered.as_ref()?;
    let say = Say(contents.build.units);
    let row = |(k, layer): (usize, &BlockLayerRow)| {
        vec![
            (k + 1).to_string().into(),
            layer.wood.clone().into(),
            say.thickness(layer.thickness_mm, format!("/riser/layered/layers/{k}/thickness_mm")).into(),
            say.thickness(riser.block_width_mm, "/riser/block_width_mm").into(),
            say.0.rule(block.blank_length_mm).into(),
            Cell::Tick,
        ]
    };
    let mut caption = "Riser layers, from the flat face on".to_owned();
    if contents.build.limb.is_some() {
        caption += ": one block carries both limbs, and both books have it";
    }
    Some(Block::Table(Table {
        caption,
        columns: ["layer", "wood", "thickness", "width", "length", "there"].into_iter().map(Column::words).collect(),
        rows: layered.layers.iter().enumerate().map(row).collect(),
    }))
}

/// Footings and overlay in the cut list; nothing where there are none.
pub(super) fn let_in(contents: &Contents<'_>) -> Option<Block> {
    let (riser, block) = (contents.report.riser.as_ref()?, contents.block?);
    let say = Say(contents.build.units);
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    if let (Some(row), Some(cut)) = (&riser.footing, &block.footing) {
        let count = if contents.build.limb.is_some() { "footing, 1 for this limb" } else { "footings, 2" };
        rows.push(vec![
            count.into(),
            row.wood.clone().into(),
            say.0.rule(cut.length_mm).into(),
            say.0.thickness(cut.width_mm).into(),
            say.thickness(row.depth_mm, "/riser/footing/depth_mm").into(),
            Cell::Tick,
        ]);
    }
    if let Some(row) = &riser.overlay {
        let at = |key: &str| format!("/riser/overlay/{key}");
        rows.push(vec![
            "riser overlay".into(),
            row.wood.clone().into(),
            say.wood(row.blank_length_mm, at("blank_length_mm")).into(),
            say.thickness(riser.block_width_mm, "/riser/block_width_mm").into(),
            say.thickness(row.blank_depth_mm, at("blank_depth_mm")).into(),
            Cell::Tick,
        ]);
    }
    (!rows.is_empty()).then(|| {
        Block::Table(Table {
            caption: "Let into the riser and glued on it, overruns included".into(),
            columns: ["piece", "wood", "length", "width", "depth", "there"].into_iter().map(Column::words).collect(),
            rows,
        })
    })
}

/// Glue beside that of the stages.
pub(super) fn glue(contents: &Contents<'_>) -> Vec<Text> {
    let Some(riser) = &contents.report.riser else { return Vec::new() };
    let units = contents.build.units;
    let parts = [
        ("glue between the riser's layers: ", "layered", riser.layered.as_ref().map(|row| row.glue_kg)),
        ("glue for the riser's footings: ", "footing", riser.footing.as_ref().map(|row| row.glue_kg)),
        ("glue under the riser's overlay: ", "overlay", riser.overlay.as_ref().map(|row| row.glue_kg)),
    ];
    let told = parts.into_iter().filter_map(|(words, part, kg)| Some((words, part, kg.filter(|kg| 0.0 < *kg)?)));
    told.map(|(words, part, kg)| Text::from(words).then(Text::number(units.mass(kg), format!("/riser/{part}/glue_kg"), kg)))
        .collect()
}

/// What the block is made of, in the riser's chapter.
pub(super) fn facts(contents: &Contents<'_>) -> Vec<Block> {
    let (Some(riser), Some(row)) = (&contents.build.riser, &contents.report.riser) else { return Vec::new() };
    let say = Say(contents.build.units);
    let mut blocks = Vec::new();
    if let Some(layered) = row.layered.as_ref().filter(|_| riser.is_layered()) {
        blocks.push(Block::Heading("Layers".into()));
        blocks.push(Block::Table(layer_table(say, layered)));
        blocks.push(Block::Facts(layered_facts(say, layered)));
    }
    if let Some(footing) = &row.footing {
        blocks.push(Block::Heading("Footings".into()));
        blocks.push(Block::Facts(footing_facts(say, footing)));
        blocks.push(Block::Paragraph(
            "A footing is a piece of another wood in each end of the block, so that this is what runs out in the feather (common practice, no \
             source). Stiffness and mass count it by its part of the width; how its V bears is not worked out: what a plain scarf of that slope keeps is \
             told instead."
                .into(),
        ));
    }
    blocks
}

fn layer_table(say: Say, layered: &LayeredRow) -> Table {
    let row = |(k, layer): (usize, &BlockLayerRow)| {
        let at = |key: &str| format!("/riser/layered/layers/{k}/{key}");
        vec![
            (k + 1).to_string().into(),
            layer.wood.clone().into(),
            say.thickness(layer.thickness_mm, at("thickness_mm")).into(),
            say.wood(layer.reach_mm, at("reach_mm")).into(),
        ]
    };
    Table {
        caption: "Layers from the flat face on, and how far from the centre the fade leaves them".into(),
        columns: ["layer", "wood", "thickness", "reaches to"].into_iter().map(Column::words).collect(),
        rows: layered.layers.iter().enumerate().map(row).collect(),
    }
}

fn layered_facts(say: Say, row: &LayeredRow) -> Vec<(String, Text)> {
    let at = |key: &str| format!("/riser/layered/{key}");
    let mut facts = vec![("glued to a depth of".into(), say.thickness(row.glued_depth_mm, at("glued_depth_mm")))];
    facts.extend(row.mass_g.map(|grams| ("weighs, trimmed and uncut".into(), mass(say, grams, at("mass_g")))));
    facts.push(("glue between them".into(), Text::number(say.0.mass(row.glue_kg), at("glue_kg"), row.glue_kg)));
    facts
}

fn footing_facts(say: Say, row: &FootingRow) -> Vec<(String, Text)> {
    let at = |key: &str| format!("/riser/footing/{key}");
    let mut facts = vec![
        ("wood".into(), row.wood.clone().into()),
        ("from the feather to its point".into(), say.wood(row.length_mm, at("length_mm"))),
        ("its V along the bow".into(), say.wood(row.splice_mm, at("splice_mm"))),
        ("slope of the V's faces".into(), Text::number(format!("1:{}", fixed(row.slope, 1)), at("slope"), row.slope)),
        (
            "a scarf of that slope keeps".into(),
            Text::number(format!("{} % of the wood's strength", percent(row.keeps, 0)), at("keeps"), row.keeps),
        ),
    ];
    facts.extend(row.mass_g.map(|grams| ("both weigh, trimmed".into(), mass(say, grams, at("mass_g")))));
    facts.push(("glue for both".into(), Text::number(say.0.mass(row.glue_kg), at("glue_kg"), row.glue_kg)));
    facts
}

/// The overlay as a glue-up of its own, after the bow's last stage; `None` for a riser without one.
pub(super) fn overlay(contents: &Contents<'_>) -> Option<Chapter> {
    let (riser, row, block) = (contents.build.riser.as_ref()?, contents.report.riser.as_ref()?, contents.block?);
    let overlay = row.overlay.as_ref()?;
    let say = Say(contents.build.units);
    let mut blocks = vec![
        Block::Paragraph(
            "A second block on the belly, over the laminations that climb the first. It is glued on cold after the last stage, as the bow lies: nothing is \
             bent for it, so that the bow keeps its shape, and what the fades ask of the strips stays what it is. Weight and strain count with it."
                .into(),
        ),
        Block::Facts(overlay_facts(say, overlay)),
    ];
    blocks.push(Block::Caution(vec![
        EPOXY.into(),
        "An overlay that lets go leaves the riser as shallow as it was without it, in the hand that holds it: no starved glue line, no gap at its feathers.".into(),
    ]));
    blocks.push(Block::Steps(overlay_steps(contents.build, riser, block).into_iter().map(Text::from).collect()));
    let caption = "Overlay's feather check: its thickness over the belly at marks from the feather inward";
    blocks.push(feather_check(say, caption, "/riser/overlay", &overlay.feather_check));
    Some(Chapter { anchor: "riser-overlay".into(), title: "The riser's overlay".into(), blocks })
}

/// The table that both feathers of a block are matched by; `of` is the block's place in the report.
pub(super) fn feather_check(say: Say, caption: &str, of: &str, marks: &[CheckRow]) -> Block {
    let row = |(k, mark): (usize, &CheckRow)| {
        let at = |key: &str| format!("{of}/feather_check/{k}/{key}");
        vec![
            say.wood(mark.from_feather_mm, at("from_feather_mm")).into(),
            say.bare(mark.thickness_mm, at("thickness_mm")),
            Cell::Blank,
            Cell::Blank,
        ]
    };
    Block::Table(Table {
        caption: caption.into(),
        columns: vec![
            Column::words("from the feather"),
            Column::figures(format!("thickness, {}", say.0.length_unit())),
            Column::words("read, end A"),
            Column::words("read, end B"),
        ],
        rows: marks.iter().enumerate().map(row).collect(),
    })
}

fn overlay_facts(say: Say, row: &RiserOverlayRow) -> Vec<(String, Text)> {
    let at = |key: &str| format!("/riser/overlay/{key}");
    let mut facts = vec![
        ("wood".into(), row.wood.clone().into()),
        ("feather to feather".into(), say.wood(row.length_mm, at("length_mm"))),
        ("level in the middle".into(), say.wood(row.level_mm, at("level_mm"))),
        ("depth over the belly".into(), say.thickness(row.depth_mm, at("depth_mm"))),
        ("feather".into(), say.thickness(row.feather_mm, at("feather_mm"))),
    ];
    facts.extend(row.mass_g.map(|grams| ("weighs, trimmed and uncut".into(), mass(say, grams, at("mass_g")))));
    facts.push(("glue area".into(), Text::number(say.0.area(row.glue_area_mm2), at("glue_area_mm2"), row.glue_area_mm2)));
    facts.push(("glue".into(), Text::number(say.0.mass(row.glue_kg), at("glue_kg"), row.glue_kg)));
    if let Some(beyond) = &row.beyond_end {
        let at = |key: &str| at(&format!("beyond_end/{key}"));
        let stretch = Text::number(format!("{} %", fixed(100.0 * beyond.strain.abs(), 2)), at("strain"), beyond.strain);
        let words = stretch.then(format!(" in {}", beyond.part));
        let words = match beyond.share_of_breaking {
            Some(fraction) => words
                .then(", ")
                .then(Text::number(format!("{} %", percent(fraction, 0)), at("share_of_breaking"), fraction))
                .then(format!(" of what breaks it, {}", beyond.verdict.as_deref().unwrap_or_default())),
            None => words.then(", its strength is not published"),
        };
        facts.push(("strain just beyond its ends at full draw".into(), words));
    }
    facts
}

fn mass(say: Say, grams: f64, pointer: String) -> Text {
    let text = match say.0 {
        System::Inch => say.0.small_mass(1e-3 * grams),
        System::Millimetre => format!("{} g", fixed(grams, 1)),
    };
    Text::number(text, pointer, grams)
}
