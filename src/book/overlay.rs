//! Tip overlays: their own last glue-up, as the limb lies.

use super::Contents;
use super::block::{Block, Chapter, Text};
use super::say::Say;
use crate::report::OverlayRow;
use crate::shop::cautions::EPOXY;
use crate::units::System;

/// `None` for a bow without them.
pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let (build, rows) = (contents.build, &contents.report.overlays);
    if rows.is_empty() {
        return None;
    }
    let say = Say(build.units);
    let mut blocks = vec![Block::Paragraph(
        "Glued on last, cold, on the limb as it lies off the form: nothing is bent for it, so that the limb keeps its shape. Weight and strain of \
         the bow count with it."
            .into(),
    )];
    blocks.extend(rows.iter().enumerate().map(|(k, row)| Block::Facts(facts(say, row, k))));
    blocks.push(Block::Caution(vec![
        EPOXY.into(),
        "An overlay that lets go under the string lets the string go: no glue line that is starved, no end grain at the groove."
            .into(),
    ]));
    blocks.push(Block::Steps(vec![
        "Trim the tips near to the outline and flatten the face with paper on a block; do not heat the limb, earlier joints soften.".into(),
        "Saw two pieces of each overlay from one strip, so that both tips weigh the same; grind the thin end to a feather on a block.".into(),
        "Hollow or rock the piece on the face until no light shows under it; it is clamped, not bent.".into(),
        "Spread both faces, a drop of glue on the tip's end grain, and clamp flat with a pad over it, lightly at the feather.".into(),
        "After the clamp time trim it to the outline with the tip, blend the feather, and file the nocks through it, shallow first.".into(),
    ]));
    Some(Chapter { anchor: "overlays".into(), title: "Tip overlays".into(), blocks })
}

fn facts(say: Say, row: &OverlayRow, k: usize) -> Vec<(String, Text)> {
    let at = |key: &str| format!("/overlays/{k}/{key}");
    let mass = match say.0 {
        System::Inch => say.0.small_mass(1e-3 * row.mass_g),
        System::Millimetre => format!("{} g", crate::units::fixed(row.mass_g, 1)),
    };
    vec![
        (format!("on the {}, both tips", row.face), row.wood.clone().into()),
        ("thickness".into(), say.thickness(row.thickness_mm, at("thickness_mm"))),
        ("from the end of the wood".into(), say.wood(row.length_mm, at("length_mm"))),
        ("thins to nothing over".into(), say.wood(row.fade_mm, at("fade_mm"))),
        ("each weighs".into(), Text::number(mass, at("mass_g"), row.mass_g)),
        ("glue area, both".into(), Text::number(say.0.area(row.glue_area_mm2), at("glue_area_mm2"), row.glue_area_mm2)),
        ("glue, both".into(), Text::number(say.0.mass(row.glue_kg), at("glue_kg"), row.glue_kg)),
    ]
}
