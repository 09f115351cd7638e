//! The riser: its block, its side, and the table that both feathers are matched by.

use super::block::{Block, Chapter, Text};
use super::say::Say;
use super::{Contents, block_parts, pictures};
use crate::sheets::block_parts::block_steps;

pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let (build, row) = (contents.build, contents.report.riser.as_ref()?);
    let block = contents.block?;
    let say = Say(build.units);
    let mut blocks = Vec::new();
    blocks.extend(pictures::riser(build, block).map(Block::Picture));
    blocks.push(Block::Facts(vec![
        ("feather to feather".into(), say.wood(row.length_mm, "/riser/length_mm")),
        ("block sawn to".into(), build.units.rule(block.blank_length_mm).into()),
        ("level in the middle".into(), say.wood(row.level_mm, "/riser/level_mm")),
        ("depth".into(), say.thickness(row.depth_mm, "/riser/depth_mm")),
        ("width of the block".into(), say.thickness(row.block_width_mm, "/riser/block_width_mm")),
        ("feather".into(), say.thickness(row.feather_mm, "/riser/feather_mm")),
    ]));
    blocks.push(Block::Caution(vec![
        "A thin feather catches: grind toward it, never against it, hands behind the work; eyes protected, dust collected."
            .into(),
        crate::shop::cautions::RULES_FIRST.into(),
    ]));
    blocks.extend(block_parts::facts(contents));
    let mut steps: Vec<Text> = Vec::new();
    let riser = build.riser.as_ref()?;
    if !riser.is_layered() {
        steps.push("Plane the slices, glue the block flat, and square it.".into());
    }
    steps.extend(block_steps(build, riser, block).into_iter().map(Text::from));
    steps.extend([
        "Mark the centre all round. Stick on the template or trace it; leave the overrun at both ends.".into(),
        "Saw outside the line, then grind to it with a backing of the same curve behind the feather, so that it does not break out.".into(),
        "Match both ends by the table below; the last of the feather is ground until light shows through, and the overrun trimmed.".into(),
    ]);
    blocks.push(Block::Steps(steps));
    let caption = "Feather check: thickness at marks from the feather inward, both ends alike";
    blocks.push(block_parts::feather_check(say, caption, "/riser", &row.feather_check));
    let climbed = contents.glued.is_some_and(|glued| glued.stages.iter().flat_map(|stage| &stage.bent).any(|bent| bent.on_fade));
    if climbed || !contents.at_the_fades.is_empty() {
        blocks.push(Block::Heading("Over the fades".into()));
        blocks.push(super::habits::ramps());
    }
    if !contents.at_the_fades.is_empty() {
        blocks.push(Block::Caution(contents.at_the_fades.iter().map(|text| Text::from(text.as_str())).collect()));
    }
    Some(Chapter { anchor: "riser".into(), title: "The riser".into(), blocks })
}
