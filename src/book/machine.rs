//! What holds for every pass on the machine: care, and the habits that this build asks for.

use super::Contents;
use super::block::{Block, Chapter, Text};
use super::habits;
use crate::shop::cautions;

pub(super) const ANCHOR: &str = "machine";

/// Something is ground for this build.
pub(super) fn wanted(contents: &Contents<'_>) -> bool {
    contents.report.laminations.iter().any(|row| !row.setups.is_empty())
}

pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let (build, report) = (contents.build, contents.report);
    if !wanted(contents) {
        return None;
    }
    let mut care: Vec<Text> = cautions::grinding(build).into_iter().map(Text::from).collect();
    care.push(cautions::RULES_FIRST.into());
    let mut blocks = vec![Block::Caution(care)];
    blocks.push(Block::Steps(vec![
        "Send scrap through first, read both its edges, and write down what the gauge said: new paper moves its zero, and the log takes the \
         reading."
            .into(),
        "Set the gap between passes only, by the column of that name; the drop and the turns lead from the gap before it.".into(),
        "Tick the pass. Where the table says no more than a stretch is touched, look: chalk across the strip shows it.".into(),
        "Let strips cool before they are measured, at the stations of the lamination's own table.".into(),
    ]));
    blocks.extend(habits::pairs(build));
    blocks.extend(habits::outfeed(build, &report.laminations));
    Some(Chapter { anchor: ANCHOR.into(), title: "At the machine".into(), blocks })
}

/// Care in one line, for the page that is carried to the machine.
pub(super) fn care() -> Block {
    let text = Text::from(format!("{} Dust is collected. The rest under ", cautions::AT_THE_MACHINE));
    Block::Caution(vec![text.then(Text::link("At the machine", ANCHOR)).then(".")])
}
