//! Where the limb bends at full draw, and how hard each part of the stack works there.
//!
//! The curves are those of `sheets::figures`, so that book and bench show one thing; here each part has a strip of its own under the
//! one before it, on the same stations, with its own limit, so that nothing needs a colour to be told apart.

use super::Contents;
use super::block::{Block, Cell, Chapter, Column, Picture, Table, Text};
use super::pictures::{WIDE_MM, marks};
use super::say::Say;
use crate::drawing::annotate::station_rule;
use crate::drawing::font::{SMALL_MM, TEXT_MM};
use crate::drawing::{Align, Drawing, Kind, Label};
use crate::geometry::{Path, Point};
use crate::mechanics::draw::DrawCurve;
use crate::mechanics::verdict::COMFORTABLE;
use crate::model::Build;
use crate::report::BowRow;
use crate::sheets::figures::{self, ChartCurve};
use crate::shop::cautions::breaking;
use crate::units::fixed;

pub(super) const ANCHOR: &str = "working";

pub(super) fn chapter(contents: &Contents<'_>) -> Option<Chapter> {
    let (build, bow) = (contents.build, contents.report.bow.as_ref()?);
    let (curve, _) = contents.bow?;
    let blocks = vec![
        Block::Picture(picture(build, bow, curve)),
        Block::Table(strains(Say(build.units), bow)),
        Block::Paragraph(breaking().join(" ").into()),
    ];
    Some(Chapter { anchor: ANCHOR.into(), title: "Where it bends, and how hard the wood works".into(), blocks })
}

/// One strip of the picture: a curve over the stations, its name, and what is said of it.
struct CurveStrip {
    name: String,
    said: Vec<String>,
    points: Vec<(f64, f64)>,
    /// Station and level of the greatest, mm and as plotted.
    max: (f64, f64),
    /// A level that should not be passed.
    limit: Option<f64>,
}

/// Plotted width; the rest of the picture is for words.
const PLOT_MM: f64 = WIDE_MM - 46.0;
const HIGH_MM: f64 = 17.0;
const BETWEEN_MM: f64 = 6.5;

fn picture(build: &Build, bow: &BowRow, curve: &DrawCurve) -> Picture {
    let units = build.units;
    let end = curve.stations.last().map_or(0.0, |station| station.s_mm);
    let mut strips = Vec::new();
    let bend = figures::bend(units, curve, None);
    strips.extend(bend.series.into_iter().map(|ChartCurve { points, .. }| {
        let max = (bow.bends_most_at_mm, points.iter().map(|point| point.1).fold(0.0, f64::max));
        let said = vec![bend.y_title.clone(), format!("most {} at {}", fixed(max.1, 2), units.rule(max.0))];
        CurveStrip { name: "bend".into(), said, points, max, limit: None }
    }));
    for ChartCurve { name, points, .. } in figures::strain(build, curve).series {
        let Some(row) = bow.strains.iter().find(|row| row.part == name) else { continue };
        let Some(breaking) = row.share_of_breaking.map(|fraction| row.strain.abs() / fraction) else { continue };
        // From percent of what breaks it to percent of stretch.
        let points = points.into_iter().map(|(s, percent)| (s, percent * breaking)).collect();
        let max = (row.station_mm, 100.0 * row.strain.abs());
        let limit = 100.0 * COMFORTABLE * breaking;
        let said =
            vec![format!("most {} % at {}", fixed(max.1, 2), units.rule(max.0)), format!("sound to {} %", fixed(limit, 2))];
        strips.push(CurveStrip { name, said, points, max, limit: Some(limit) });
    }
    let mut drawing = Drawing::new("working", "Bend and strain along the limb");
    let along = |mm: f64| PLOT_MM * mm / end.max(1.0);
    let places = marks(build, end);
    for (k, strip) in strips.iter().enumerate() {
        let foot = -(k as f64) * (HIGH_MM + BETWEEN_MM);
        let top = strip.points.iter().map(|point| point.1).chain(strip.limit).chain([strip.max.1]).fold(1e-9, f64::max);
        let at = |s: f64, value: f64| Point::new(along(units.to_mm(s)), foot + HIGH_MM * value / top);
        for s in &places {
            drawing.line(Kind::Dimension, Point::new(along(*s), foot), Point::new(along(*s), foot - 0.9));
        }
        drawing.path(Kind::Edge, Path::open([at(0.0, top), at(0.0, 0.0), Point::new(PLOT_MM, foot)]));
        let under = [Point::new(along(units.to_mm(strip.points.last().map_or(0.0, |point| point.0))), foot)];
        let start = [Point::new(along(units.to_mm(strip.points.first().map_or(0.0, |point| point.0))), foot)];
        let curve = strip.points.iter().map(|(s, value)| at(*s, *value));
        drawing.path(Kind::Tone, Path::closed(start.into_iter().chain(curve.clone()).chain(under)));
        drawing.path(Kind::Edge, Path::open(curve));
        drawing.path(Kind::Edge, Path::circle(at(units.length(strip.max.0), strip.max.1), 0.9));
        if let Some(limit) = strip.limit {
            drawing.line(Kind::Hidden, at(0.0, limit), Point::new(PLOT_MM, at(0.0, limit).y));
        }
        let zero = Label::new("0", Point::new(-1.2, foot - 0.5 * SMALL_MM), SMALL_MM).aligned(Align::Right);
        drawing.label(Kind::Dimension, zero);
        let head = Label::new(fixed(top, 2), Point::new(-1.2, foot + HIGH_MM - 0.5 * SMALL_MM), SMALL_MM).aligned(Align::Right);
        drawing.label(Kind::Dimension, head);
        let beside = |line: usize| Point::new(PLOT_MM + 3.0, foot + HIGH_MM - TEXT_MM - 1.8 * SMALL_MM * line as f64);
        drawing.label(Kind::Note, Label::new(strip.name.clone(), beside(0), TEXT_MM).bold());
        for (line, words) in strip.said.iter().enumerate() {
            drawing.label(Kind::Note, Label::new(words.clone(), beside(line + 1), SMALL_MM));
        }
    }
    let foot = -(strips.len().saturating_sub(1) as f64) * (HIGH_MM + BETWEEN_MM);
    let stations: Vec<(f64, String)> = places.iter().map(|s| (along(*s), units.rule(*s))).collect();
    station_rule(&mut drawing, Point::new(0.0, foot - 3.0), 0.0, &stations);
    let caption = "At full draw, along one limb from the bow's centre: bend, then the greatest surface strain of each part in percent. The ring \
                   marks the greatest; the broken line is where a part stops being a sound design."
        .to_owned();
    let said = strips.iter().map(|strip| format!("{}: {}", strip.name, strip.said.join(", ")));
    let alt = format!("Curves along the limb at full draw. {}.", said.collect::<Vec<_>>().join(". "));
    Picture { drawing, caption, alt }
}

fn strains(say: Say, bow: &BowRow) -> Table {
    let rows = bow
        .strains
        .iter()
        .enumerate()
        .map(|(k, of)| {
            let at = |key: &str| format!("/bow/strains/{k}/{key}");
            let how = if 0.0 < of.strain { "stretched" } else { "pressed" };
            let fraction: Cell = match of.share_of_breaking {
                Some(fraction) => {
                    let told = match of.verdict.as_deref() {
                        Some("goes") | None => String::new(),
                        Some(told) => format!(", {told}"),
                    };
                    say.percent(fraction, 0, at("share_of_breaking")).then(told).into()
                }
                None => "not published".into(),
            };
            vec![
                of.part.clone().into(),
                Text::number(format!("{} %", fixed(100.0 * of.strain.abs(), 2)), at("strain"), of.strain)
                    .then(format!(" {how}"))
                    .into(),
                say.wood(of.station_mm, at("station_mm")).into(),
                fraction,
            ]
        })
        .collect();
    Table {
        caption: "Greatest surface strain of each part".into(),
        columns: ["part", "strain", "station", "of the average breaking strain"].into_iter().map(Column::words).collect(),
        rows,
    }
}
