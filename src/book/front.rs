//! The bow on one page: from the side, its force, its outline, and what it comes to.

use super::block::{Block, Chapter, Text};
use super::say::Say;
use super::{Contents, pictures};
use crate::diag::sentence;
use crate::sheets::bow::nock_to_nock_mm;
use crate::shop::cautions::{DRY_FIRE, PRACTICE_FIRST, unknown_strengths};
use crate::units::fixed;

pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let (build, report) = (contents.build, contents.report);
    let (bow, target) = (report.bow.as_ref()?, build.target?);
    let (curve, _) = contents.bow?;
    let say = Say(build.units);
    let wanted = target.stack_weight_n();
    let mut facts: Vec<(String, Text)> = vec![
        ("draw weight, computed".into(), {
            Text::number(build.weight_text(bow.draw_weight_n), "/bow/draw_weight_n", bow.draw_weight_n)
                .then(" at ")
                .then(say.wood(bow.draw_length_mm, "/bow/draw_length_mm"))
        }),
        ("draw weight, wanted".into(), build.weight_text(wanted).into()),
        ("of it kept for finishing".into(), build.weight_text(target.finishing_n).into()),
        (
            "scatter of the wood, 1 sd".into(),
            Text::from("± ").then(Text::number(
                build.weight_text(bow.weight_spread_n),
                "/bow/weight_spread_n",
                bow.weight_spread_n,
            )),
        ),
    ];
    if let Some(error) = bow.thickness_error_n {
        facts.push((
            "grinding, trimmed sleds".into(),
            Text::from("± ").then(Text::number(build.weight_text(error), "/bow/thickness_error_n", error)),
        ));
    }
    if 0 < bow.calibrated_from_bows {
        facts.push((
            "stiffness, from finished bows".into(),
            Text::number(fixed(bow.stiffness_factor, 3), "/bow/stiffness_factor", bow.stiffness_factor),
        ));
    }
    facts.extend([
        ("brace height".into(), say.wood(bow.brace_height_mm, "/bow/brace_height_mm")),
        ("string at brace".into(), say.wood(bow.string_mm, "/bow/string_mm")),
        (
            "stored energy".into(),
            Text::number(
                format!("{} {}", fixed(build.units.energy_number(1000.0 * bow.stored_energy_j), 1), build.units.energy_unit()),
                "/bow/stored_energy_j",
                bow.stored_energy_j,
            ),
        ),
        ("bends most at station".into(), say.wood(bow.bends_most_at_mm, "/bow/bends_most_at_mm")),
    ]);
    if build.outline.is_some() {
        facts.insert(0, ("nock to nock".into(), build.units.rule(nock_to_nock_mm(build)).into()));
    }
    let mut blocks = vec![Block::Picture(pictures::bow(build, curve, contents.glued)), Block::Facts(facts)];
    if let Some(outline) = &build.outline {
        blocks.push(Block::Picture(pictures::outline(build, outline)));
    }
    blocks.push(Block::Picture(pictures::force(build, curve)));
    if build.limb.is_some() {
        blocks.push(Block::Paragraph(
            "Weight, force, energy and string are those of the bow of both limbs; how hard the wood works, clamps and glue are this limb's.".into(),
        ));
    }
    let mut care: Vec<Text> = report
        .warnings
        .iter()
        .map(|warning| {
            let sentences: Vec<String> =
                std::iter::once(&warning.message).chain(&warning.hints).map(|text| sentence(text)).collect();
            Text::from(sentences.join(" "))
        })
        .collect();
    let hard: Vec<Text> = bow
        .strains
        .iter()
        .enumerate()
        .filter_map(|(k, of)| {
            let fraction = of.share_of_breaking?;
            let told = of.verdict.as_deref().filter(|told| *told != "goes")?;
            let fraction = say.percent(fraction, 0, format!("/bow/strains/{k}/share_of_breaking"));
            Some(Text::from(format!("{} at ", of.part)).then(fraction).then(format!(" ({told})")))
        })
        .collect();
    if let Some(parts) = hard.into_iter().reduce(|all, part| all.then(", ").then(part)) {
        care.push(
            Text::from("Of the average breaking strain these work (see ")
                .then(Text::link("how hard the wood works", super::working::ANCHOR))
                .then("): ")
                .then(parts)
                .then(". Choose the straightest pieces, and make nothing thicker."),
        );
    }
    care.extend(unknown_strengths(build.woods()).map(Text::from));
    care.push(
        format!(
            "A computed weight is that of straight-grained average wood; pieces differ by a fifth. Build to it, weigh, and let the log correct it. \
             {DRY_FIRE} {PRACTICE_FIRST}"
        )
        .into(),
    );
    blocks.push(Block::Caution(care));
    Some(Chapter { anchor: "the-bow".into(), title: "The bow on one page".into(), blocks })
}
