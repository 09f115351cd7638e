//! What the bow shoots: one chart, one table.

use super::Contents;
use super::block::{Block, Cell, Chapter, Column, Picture, Table, Text, quoted};
use super::say::Say;
use crate::report::{ArrowSpeedRow, ShotRow};
use crate::sheets::figures::{self, ArrowSpeed};
use crate::shop::cautions::SPEED;
use crate::units::{System, fixed};

pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let (build, shot) = (contents.build, contents.report.shot.as_ref()?);
    let say = Say(build.units);
    let mut blocks = vec![Block::Caution(vec![SPEED.join(" ").into()])];
    if let Some(why) = &shot.no_speed_because {
        blocks.push(Block::Paragraph(format!("{}.", crate::diag::sentence(why).trim_end_matches('.')).into()));
    } else {
        blocks.push(Block::Picture(picture(build.units, shot)));
        blocks.push(Block::Table(arrows(say, shot)));
        blocks.push(Block::Facts(facts(say, shot)));
    }
    Some(Chapter { anchor: "shot".into(), title: "What it shoots".into(), blocks })
}

/// The arrows of the report as its chart has them.
pub fn arrow_speeds(shot: &ShotRow) -> Vec<ArrowSpeed> {
    let of = |arrow: &ArrowSpeedRow| ArrowSpeed {
        arrow_kg: 1e-3 * arrow.arrow_g,
        likely_mm_s: arrow.speed_mm_s,
        min_mm_s: arrow.speed_band_mm_s[0],
        max_mm_s: arrow.speed_band_mm_s[1],
    };
    shot.arrows.iter().map(of).collect()
}

fn picture(units: System, shot: &ShotRow) -> Picture {
    let (light, heavy) = (&shot.arrows[0], &shot.arrows[shot.arrows.len() - 1]);
    let alt = format!(
        "Speed falls from {} with an arrow of {} to {} with one of {}.",
        units.arrow_speed(light.speed_mm_s),
        units.small_mass(1e-3 * light.arrow_g),
        units.arrow_speed(heavy.speed_mm_s),
        units.small_mass(1e-3 * heavy.arrow_g)
    );
    let caption = "Speed over the arrow's weight; the outer lines have the least and the most loss.".to_owned();
    Picture { drawing: figures::speed(units, &arrow_speeds(shot), None).drawing(), caption, alt }
}

fn arrows(say: Say, shot: &ShotRow) -> Table {
    let units = say.0;
    let rows = shot
        .arrows
        .iter()
        .enumerate()
        .map(|(k, arrow)| {
            let at = |key: &str| format!("/shot/arrows/{k}/{key}");
            let mass = |g: f64, key: &str| -> Cell { Text::number(units.small_mass_number(1e-3 * g), at(key), g).into() };
            let speed = |mm_s: f64, key: &str| Text::number(units.arrow_speed_number(mm_s), at(key), mm_s);
            let [min, max] = arrow.speed_band_mm_s;
            let max = Text::number(units.arrow_speed_number(max), at("speed_band_mm_s/1"), max);
            let mut band = speed(min, "speed_band_mm_s/0").then(" to ");
            band.0.extend(max.0);
            vec![
                mass(arrow.arrow_g, "arrow_g"),
                Text::number(fixed(arrow.grains_per_pound, 0), at("grains_per_pound"), arrow.grains_per_pound).into(),
                speed(arrow.speed_mm_s, "speed_mm_s").into(),
                band.into(),
                say.percent(arrow.efficiency, 1, at("efficiency")).into(),
                mass(arrow.virtual_mass_g, "virtual_mass_g"),
                say.force(arrow.peak_tension_n, at("peak_tension_n")).into(),
            ]
        })
        .collect();
    Table {
        caption: "From light to heavy arrows; beside them grains for each pound of draw weight, as the trade counts arrows"
            .into(),
        columns: vec![
            Column::words(format!("arrow, {}", units.small_mass_unit())),
            Column::words("gr per lb"),
            Column::words(format!("speed, {}", units.arrow_speed_unit())),
            Column::words("band"),
            Column::words("efficiency"),
            Column::words(format!("virtual mass, {}", units.small_mass_unit())),
            Column::words("string at its peak"),
        ],
        rows,
    }
}

fn facts(say: Say, shot: &ShotRow) -> Vec<(String, Text)> {
    let units = say.0;
    let mass = |g: f64, pointer: &str| Text::number(units.small_mass(1e-3 * g), pointer, g);
    let mut loss = say.percent(shot.loss, 1, "/shot/loss").then(", between ");
    loss.0.extend(say.percent(shot.loss_band[0], 1, "/shot/loss_band/0").then(" and ").0);
    loss.0.extend(say.percent(shot.loss_band[1], 1, "/shot/loss_band/1").then(format!(": {}", shot.loss_from)).0);
    let mut facts = vec![
        (
            "string".to_owned(),
            mass(shot.string_g, "/shot/string_g")
                .then(format!(" of {}, {} strands; numbers from memory", shot.string, shot.strands)),
        ),
        ("on each tip".to_owned(), mass(shot.tip_g, "/shot/tip_g")),
        ("what the limbs keep".to_owned(), loss),
    ];
    let judged = fixed(shot.arrows[shot.judged_arrow].grains_per_pound, 0);
    facts.extend(shot.lighter.iter().enumerate().map(|(k, lighter)| {
        let gained = units.arrow_speed_change(lighter.gains_mm_s);
        let gained = Text::number(gained, format!("/shot/lighter/{k}/gains_mm_s"), lighter.gains_mm_s);
        (quoted(&lighter.part), gained.then(format!(" at {judged} gr per lb")))
    }));
    facts
}
