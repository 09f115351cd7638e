//! The dry run, and a chapter for each stage of the glue-up.

use super::block::{Block, Chapter, Column, Table, Text};
use super::say::{Say, count};
use super::{Contents, habits, pictures};
use crate::mechanics::glueup::{Bends, GlueUp, Stage};
use crate::mechanics::strip_verdict;
use crate::mechanics::verdict::Verdict;
use crate::model::Build;
use crate::model::workshop::Held;
use crate::report::GlueStageRow;
use crate::sheets::bow::piece_name;
use crate::shop::cautions::EPOXY;
use crate::shop::form::{MORE_GLUE, dry_run};
use crate::units::{System, fixed};

pub(super) fn chapters(contents: &Contents<'_>) -> Vec<Chapter> {
    let (Some(glued), Some(bow)) = (contents.glued, contents.report.bow.as_ref()) else { return Vec::new() };
    let mut chapters = vec![dry(contents.build, glued)];
    let stages = glued.stages.iter().zip(&bow.glue_stages).enumerate();
    chapters.extend(stages.map(|(k, (stage, row))| chapter(contents, stage, row, k)));
    chapters
}

fn dry(build: &Build, glued: &GlueUp) -> Chapter {
    let mut blocks = vec![Block::Paragraph(
        "Everything once without glue, with the clock running. What does not fit now will not fit then.".into(),
    )];
    for stage in &glued.stages {
        blocks.push(Block::Heading(format!("Stage {}", stage.number)));
        blocks.push(Block::Ticks(dry_run(build, stage).iter().map(|item| Text::from(item.spoken(build.units))).collect()));
    }
    Chapter { anchor: "dry-run".into(), title: "Dry run".into(), blocks }
}

/// In a series, what makes up for a pile that is thinner than the upper half is cut for.
fn shim_words(contents: &Contents<'_>, stage: u32) -> String {
    let shim = contents.press_shims.iter().find(|shim| shim.stage == stage && 0.0 < shim.shim_mm);
    shim.map_or(String::new(), |shim| {
        format!(
            "; that is cut for the thickest bow of the series, so a strip {} thick lies between its edge and the hose",
            contents.build.units.thickness(shim.shim_mm)
        )
    })
}

fn chapter(contents: &Contents<'_>, stage: &Stage, row: &GlueStageRow, k: usize) -> Chapter {
    let build = contents.build;
    let say = Say(build.units);
    let at = |key: &str| format!("/bow/glue_stages/{k}/{key}");
    let mut facts: Vec<(String, Text)> = vec![("glued together".into(), stage.names(build).into())];
    for index in &stage.laminations {
        let lamination = &build.laminations[*index];
        let found = contents.report.meets.iter().enumerate().find(|(_, meet)| meet.lamination == lamination.name);
        if let Some((n, meet)) = found {
            let over = say.wood(meet.length_mm, format!("/meets/{n}/length_mm"));
            facts.push((
                format!("halves of {}", lamination.name),
                Text::from(format!("{} over ", lamination.meet.done())).then(over),
            ));
        }
    }
    facts.push((
        "held".into(),
        match (&stage.held, row.props_mm) {
            (Held::Props { at_mm, .. }, Some(props)) => Text::from("bent free, tips on props ")
                .then(Text::number(build.units.decimal(props.abs()), at("props_mm"), props))
                .then(format!(" high, {} from the centre, grip held down", build.units.rule(*at_mm))),
            (Held::Form { .. }, _) => match build.glue.press_of(stage.number) {
                Some(press) => format!(
                    "on the form of this stage's template, pressed by a hose in its upper half, {} high when it is flat{}",
                    build.units.thickness(press.hose_mm),
                    shim_words(contents, stage.number)
                )
                .into(),
                None => "on the form of this stage's template".into(),
            },
            _ => "flat on the bench".into(),
        },
    ));
    facts.push(("nock while held".into(), say.rise(row.tip_held_mm, at("tip_held_mm"))));
    let mut left = say.rise(row.tip_left_mm, at("tip_left_mm"));
    if let Some(spread) = row.tip_left_spread_mm {
        left = left.then(", ± ").then(say.decimal(spread, at("tip_left_spread_mm"))).then(" by the scatter of the wood");
    }
    facts.push(("nock once released, expected".into(), left));
    facts.push((
        "glue on the wood".into(),
        Text::number(build.units.mass(row.glue_kg), at("glue_kg"), row.glue_kg)
            .then(" on ")
            .then(Text::number(build.units.area(row.glue_area_mm2), at("glue_area_mm2"), row.glue_area_mm2))
            .then(format!(", {MORE_GLUE}")),
    ));
    facts.push((
        "clamp time".into(),
        match row.clamp_time_s {
            Some(s) => {
                Text::number(System::hours(s), at("clamp_time_s"), s).then(", as the build file says; the data sheet governs")
            }
            None => "from the adhesive's data sheet, which governs".into(),
        },
    ));
    facts.push((
        "clamps or bands".into(),
        count(row.clamps, at("clamps"))
            .then(" small clamps, ")
            .then(say.wood(row.clamp_spacing_mm, at("clamp_spacing_mm")))
            .then(" apart, or ")
            .then(count(row.turns_of_band, at("turns_of_band")))
            .then(format!(" turns of band for {}", build.whole_words())),
    ));
    // What reads as nothing is not asked of a clamp.
    if let Some(tip) = row.tip_load_n.filter(|tip| build.units.force_text(tip.abs()) != build.units.force_text(0.0)) {
        facts.push((
            "to bring each tip to its place".into(),
            Text::number(build.units.force_text(tip.abs()), at("tip_load_n"), tip).then(" square to it"),
        ));
    }
    // What lies flat is a straight line.
    let held = (!matches!(stage.held, Held::Flat)).then(|| Block::Picture(pictures::stage(build, stage)));
    let mut blocks: Vec<Block> = held.into_iter().chain([Block::Facts(facts)]).collect();
    if !row.form_mm.is_empty() {
        let rows = row
            .form_mm
            .iter()
            .enumerate()
            .map(|(n, [s, rise])| {
                vec![say.wood(*s, at(&format!("form_mm/{n}/0"))).into(), say.rise(*rise, at(&format!("form_mm/{n}/1"))).into()]
            })
            .collect();
        blocks.push(Block::Table(Table {
            caption: "Rise of the form where it carries the back's line".into(),
            columns: vec![Column::words("station"), Column::words("rise")],
            rows,
        }));
    }
    let percent = |strain: f64| format!("{} %", fixed(100.0 * strain.abs(), 2));
    let mut bent = stage.bent.iter().filter(|bent| percent(bent.strain) != percent(0.0)).peekable();
    if bent.peek().is_some() {
        let rows = bent
            .map(|bent| {
                let name = match bent.what {
                    Bends::Layer(part) => piece_name(build, part),
                    Bends::Before => "what is glued already".into(),
                };
                let place = if bent.on_fade { "over the fade, station" } else { "station" };
                vec![
                    name.into(),
                    percent(bent.strain).into(),
                    format!("{place} {}", build.units.rule(bent.s_mm)).into(),
                    strip_verdict::of_bent(build, bent).map_or("", Verdict::word).into(),
                ]
            })
            .collect();
        blocks.push(Block::Table(Table {
            caption: "How hard each piece is bent on its way there".into(),
            columns: vec![
                Column::words("piece"),
                Column::figures("surface strain"),
                Column::words("where"),
                Column::words("dry"),
            ],
            rows,
        }));
    }
    let mut care: Vec<Text> = vec![format!("{EPOXY} A heated box needs a thermostat and clearance; it can burn.").into()];
    if 40.0 < row.tip_load_n.unwrap_or(0.0).abs() {
        care.push("A bent stack springs back when it slips: tie it, and stand aside of its tips.".into());
    }
    if build.glue.press_of(stage.number).is_some() {
        care.push(
            "A hose under pressure bursts: never above its maker's limit or what bolts and halves hold, a regulator before it; stand \
             aside of its ends, and let it down before a bolt is loosened (common practice, no source)."
                .into(),
        );
    }
    blocks.push(Block::Caution(care));
    if 1 < stage.number {
        blocks.push(habits::second_stage(stage.number));
    }
    blocks.push(habits::masking());
    blocks.extend(habits::grip(stage));
    blocks.push(Block::Steps(vec![
        "Faces fresh from coarse paper, dusted, edges without splinters; wood at room warmth.".into(),
        "Mix as the data sheet says, spread both faces, lay the pieces in their order, pins in.".into(),
        "Clamp from the middle outward, straight down; squeeze-out all along; wipe the edges.".into(),
        "Leave it for the clamp time; then mark centre and stations again and measure the nocks.".into(),
    ]));
    let unit = build.units.length_unit();
    blocks.push(Block::Blanks(vec![
        "glue, batch, date".into(),
        "warmth; from, until".into(),
        format!("nock on release, {unit}"),
        format!("nock a week later, {unit}"),
    ]));
    Chapter { anchor: format!("stage-{}", stage.number), title: format!("Glue-up, stage {}", stage.number), blocks }
}
