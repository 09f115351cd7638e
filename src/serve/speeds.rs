//! What the page is told of the shot: the command's own table and words, with what the file's bow does beside a try.

use super::answers::Figure;
use crate::job::{Job, Refused, arrow_table, lighter_table, speed_figure};
use crate::sheets::bow::WordTable;
use crate::shop::cautions::SPEED;
use crate::units::fixed;
use serde::Serialize;

/// Speeds, and what lighter parts are worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShotShown {
    /// Why there are none; everything else is then empty.
    pub none_because: Option<String>,
    pub heads: Vec<String>,
    /// A row for each arrow, from light to heavy.
    pub rows: Vec<Vec<String>>,
    pub lighter_heads: Vec<String>,
    pub lighter: Vec<Vec<String>>,
    /// What the band is.
    pub band: String,
    /// What stands wherever a speed is shown.
    pub caution: String,
    pub figure: Option<Figure>,
}

/// Beside a try each arrow has what it gains against the file's bow, there with an arrow as heavy for that bow's weight.
pub fn shot(job: &Job, file: Option<&Job>) -> Result<ShotShown, Refused> {
    let units = job.build().units;
    let row = job.shot_report(None)?;
    let WordTable { mut heads, mut rows } = arrow_table(units, &row);
    let before = file.and_then(|file| file.shot_report(None).ok()).filter(|before| before.arrows.len() == row.arrows.len());
    if let Some(before) = &before {
        heads.push("against the file".into());
        for ((cells, now), was) in rows.iter_mut().zip(&row.arrows).zip(&before.arrows) {
            cells.push(units.arrow_speed_change(now.speed_mm_s - was.speed_mm_s));
        }
    }
    let WordTable { heads: lighter_heads, rows: lighter } = lighter_table(units, &row);
    let percent = |ratio: f64| fixed(100.0 * ratio, 1);
    let [min, max] = row.loss_band;
    let figure = (!row.arrows.is_empty()).then(|| Figure::of_chart(&speed_figure(units, &row, before.as_ref()))).flatten();
    Ok(ShotShown {
        none_because: row.no_speed_because.as_deref().map(crate::diag::sentence),
        heads,
        rows,
        lighter_heads,
        lighter,
        band: format!("Band: the limbs keep {} to {} % of the work drawn in ({}).", percent(min), percent(max), row.loss_from),
        caution: SPEED.join(" "),
        figure,
    })
}
