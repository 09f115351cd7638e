//! Pages that are read and not laid on wood: a drawing's panels and notes side by side, whole, on one page if that can be.
//!
//! A drawing of panels alone gets such pages and nothing else, with no scale check: nothing on them is at true size. A template that
//! takes several pages gets one before them, under the map of its pages.

use super::canvas::{Canvas, Pages};
use crate::drawing::annotate::notes;
use crate::drawing::font::{self, HEAD_MM, LEADING_CAPS, SMALL_MM, TEXT_MM};
use crate::drawing::panels::packed;
use crate::drawing::{Drawing, Label, LineTable, Shape};
use crate::geometry::{Bounds, Extent, Point};
use crate::model::workshop::PrintPaper;

const BLACK: [u8; 3] = [0; 3];
/// Between panels on a page, mm.
const GAP_MM: f64 = 6.0;
/// Shortest print from a roll, mm.
const SHORTEST_ROLL_MM: f64 = 250.0;
/// How small panels may become so that one page holds them: letters of 1.8 mm are then 1.2 mm high, as a phone book's.
const MIN_SCALE: f64 = 0.66;

/// Panels and notes as they stand on pages.
pub(super) struct ReadingPages {
    scale: f64,
    /// For each page, its panels and their upper left corners, from that of the room, x to the right, y down, in the panels' own mm.
    pages: Vec<Vec<(Drawing, Point)>>,
}

impl ReadingPages {
    /// Lays out panels, then notes, in a room `width_mm` wide and as high as the first of these rooms that holds them; says which. `None` where
    /// one page does not hold them at this scale.
    fn on_one_page(
        panels: &[(Drawing, PanelSize)],
        texts: &[String],
        width_mm: f64,
        rooms_mm: &[f64],
        scale: f64,
    ) -> Option<(ReadingPages, usize)> {
        let width = width_mm / scale;
        let highest = rooms_mm.iter().copied().fold(0.0, f64::max) / scale;
        // A panel that is too large by itself needs no layout.
        if panels.iter().any(|(_, size)| width + 1e-6 < size.0 || highest + 1e-6 < size.1) {
            return None;
        }
        let words = words(texts, width);
        let sizes: Vec<PanelSize> = panels.iter().map(|(_, size)| *size).chain(words.as_ref().map(size)).collect();
        let corners = packed(&sizes, width, GAP_MM);
        let holds = |room: &f64| {
            corners
                .iter()
                .zip(&sizes)
                .all(|(corner, size)| corner.x + size.0 <= width + 1e-6 && corner.y + size.1 <= room / scale + 1e-6)
        };
        let room = rooms_mm.iter().position(holds)?;
        let blocks = panels.iter().map(|(panel, _)| panel.clone()).chain(words);
        Some((ReadingPages { scale, pages: vec![blocks.zip(corners).collect()] }, room))
    }

    /// The same over as many pages as it takes, none of the panels cut by a page's edge.
    fn on_several(panels: &[Drawing], texts: &[String], width_mm: f64, first_mm: f64, others_mm: f64) -> ReadingPages {
        let whole = |scale: &f64| {
            sizes(panels).iter().all(|(wide, high)| wide * scale <= width_mm + 1e-6 && high * scale <= others_mm + 1e-6)
        };
        let min = || {
            let fractions = sizes(panels).into_iter().map(|(wide, high)| (width_mm / wide).min(others_mm / high));
            fractions.fold(MIN_SCALE, f64::min)
        };
        let scale = scales().find(whole).unwrap_or_else(min);
        let width = width_mm / scale;
        let each = texts.iter().flat_map(|text| words(std::slice::from_ref(text), width));
        let mut left: Vec<Drawing> = panels.iter().cloned().chain(each).collect();
        let mut pages: Vec<Vec<(Drawing, Point)>> = Vec::new();
        // A page takes at least one panel, but for the first, whose room may be a strip under a map.
        while !left.is_empty() {
            let (room, min) = if pages.is_empty() { (first_mm / scale, 0) } else { (others_mm / scale, 1) };
            let all = sizes(&left);
            let corners = packed(&all, width, 0.5 * GAP_MM);
            let over = corners.iter().zip(&all).position(|(corner, size)| room + 1e-6 < corner.y + size.1);
            let here = over.unwrap_or(left.len()).max(min);
            let rest = left.split_off(here);
            pages.push(left.into_iter().zip(corners).collect());
            left = rest;
        }
        ReadingPages { scale, pages }
    }

    pub(super) fn count(&self) -> usize {
        self.pages.len().max(1)
    }

    /// Height of what stands on a page, mm.
    fn used_mm(&self, page: usize) -> f64 {
        let feet = self.pages.iter().skip(page).take(1).flatten().map(|(panel, at)| at.y + font::extent(panel).height());
        self.scale * feet.fold(0.0, f64::max)
    }

    /// Paints a page of it, hanging from a corner.
    pub(super) fn paint(&self, canvas: &mut Canvas, page: usize, top_left: Point, lines: &LineTable) {
        for (panel, at) in self.pages.get(page).into_iter().flatten() {
            let extent = font::extent(panel);
            let from = Point::new(extent.min.x, extent.max.y);
            let to = Point::new(top_left.x + self.scale * at.x, top_left.y - self.scale * at.y);
            canvas.moved(from, to, self.scale, |canvas| canvas.drawing(panel, lines));
        }
    }
}

fn scales() -> impl Iterator<Item = f64> {
    (0..).map(|k| 1.0 - 0.02 * f64::from(k)).take_while(|scale| MIN_SCALE - 1e-9 <= *scale)
}

/// Width and height, mm.
type PanelSize = (f64, f64);

fn size(block: &Drawing) -> PanelSize {
    let extent = font::extent(block);
    (extent.width(), extent.height())
}

fn sizes(blocks: &[Drawing]) -> Vec<PanelSize> {
    blocks.iter().map(size).collect()
}

fn with_sizes(panels: &[Drawing]) -> Vec<(Drawing, PanelSize)> {
    panels.iter().map(|panel| (panel.clone(), size(panel))).collect()
}

fn words(texts: &[String], width: f64) -> Option<Drawing> {
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    let mut panel = Drawing::default();
    notes(&mut panel, Point::new(0.0, 0.0), width, TEXT_MM, &texts);
    (!panel.items.is_empty()).then_some(panel)
}

/// The key page's panels and notes under a map: `area` less `map_mm(fraction)` for the share of its height that the map may take. Gives
/// that share back, too.
pub(super) fn under_a_map(
    panels: &[Drawing],
    texts: &[String],
    area: Bounds,
    map_mm: impl Fn(f64) -> f64,
) -> (ReadingPages, f64) {
    const SHARES: [f64; 4] = [0.45, 0.3, 0.2, 0.12];
    let rooms_mm = SHARES.map(|fraction| area.height() - map_mm(fraction));
    let sized = with_sizes(panels);
    if let Some((reading, room)) =
        scales().find_map(|scale| ReadingPages::on_one_page(&sized, texts, area.width(), &rooms_mm, scale))
    {
        return (reading, SHARES[room]);
    }
    let fraction = SHARES[1];
    (ReadingPages::on_several(panels, texts, area.width(), area.height() - map_mm(fraction), area.height()), fraction)
}

/// A drawing of panels alone: one page, upright or lying, whichever shows it larger.
pub(super) fn alone(pages: &mut Pages, drawing: &Drawing, paper: &PrintPaper, lines: &LineTable) -> Result<(), String> {
    let foot = ["not at true size: go by its figures, measure nothing on it", drawing.made_by.as_str()];
    let line_mm = LEADING_CAPS * SMALL_MM;
    let (over, under) = (HEAD_MM + GAP_MM, line_mm * foot.len() as f64 + 2.0);
    let room = |paper_mm: Extent| Extent {
        width: paper_mm.width - 2.0 * paper.margin_mm,
        height: paper_mm.height - 2.0 * paper.margin_mm - over - under,
    };
    let upright = Extent { width: paper.width_mm, height: paper.height_mm };
    let papers = if paper.roll { vec![upright] } else { vec![upright, Extent { width: upright.height, height: upright.width }] };
    let panels = with_sizes(&drawing.panels);
    let fitting = scales().find_map(|scale| {
        papers.iter().find_map(|size| {
            let Extent { width, height } = room(*size);
            Some((*size, ReadingPages::on_one_page(&panels, &drawing.notes, width, &[height], scale)?.0))
        })
    });
    let (mut size, reading) = fitting.unwrap_or_else(|| {
        let Extent { width, height } = room(upright);
        (upright, ReadingPages::on_several(&drawing.panels, &drawing.notes, width, height, height))
    });
    if paper.roll {
        size.height = (reading.used_mm(0) + over + under + 2.0 * paper.margin_mm).clamp(SHORTEST_ROLL_MM, paper.height_mm);
    }
    for page in 0..reading.count() {
        // For whoever does not see it: what it is and says, its tables and views in their own words.
        let panels = reading.pages.get(page).into_iter().flatten().flat_map(|(panel, _)| &panel.items);
        let texts = panels.filter_map(|item| match &item.shape {
            Shape::Label(label) => Some(label.text.as_str()),
            Shape::Path(_) => None,
        });
        let said: Vec<&str> = [drawing.title.as_str()].into_iter().chain(foot).chain(texts).collect();
        pages.figure(size, (1.0, 1.0), (&(page + 1).to_string(), said.join(" ")), |canvas| {
            let corner = Point::new(paper.margin_mm, size.height - paper.margin_mm);
            canvas.text(&Label::new(drawing.title.as_str(), Point::new(corner.x, corner.y - HEAD_MM), HEAD_MM).bold(), BLACK);
            reading.paint(canvas, page, Point::new(corner.x, corner.y - over), lines);
            for (k, text) in foot.iter().rev().enumerate() {
                let at = Point::new(corner.x, paper.margin_mm + 1.0 + line_mm * k as f64);
                canvas.text(&Label::new(*text, at, SMALL_MM), BLACK);
            }
        })?;
    }
    Ok(())
}
