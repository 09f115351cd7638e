//! Full-size templates as PDF: exact pages, tiled where the drawing is larger than the paper, a scale check on every page.
//!
//! A drawing that fits on one page with its panels and notes gets that page. A larger one gets a key page first (which page shows
//! what, how to join them, tables, notes), then every page that shows something. A drawing of panels alone is not at true size and
//! gets one page (`key_page`). Each page carries the two-way scale check in a strip of its own,
//! its name, what made it and a small map; neighbours share joint lines with crosses. The geometry is in `tile`, the
//! painting in `canvas`.

use super::canvas::{Canvas, Ink, Pages};
use super::tagged::Structure;
use super::tile::{self, OVERLAP_MM, Printed, Tile, Tiling};
use super::{Unwritable, checked, key_page};
use crate::drawing::annotate::{self, CHECK_SIDE_MM};
use crate::drawing::font::{self, HEAD_MM, LEADING_CAPS, SMALL_MM, TEXT_MM};
use crate::drawing::panels::in_one;
use crate::drawing::{Drawing, Item, Kind, Label, Lettering, LineTable, Shape};
use crate::geometry::{Bounds, Path, Placement, Point};
use crate::model::workshop::PrintPaper;
use crate::units::{System, fraction};
use std::f64::consts::FRAC_PI_2;

const BLACK: [u8; 3] = [0; 3];
const GREY: [u8; 3] = [0x80; 3];
/// The page on the map where one is.
const HERE: [u8; 3] = [0xB0; 3];
/// Width of the small map in the foot of each page, mm.
const MAP_MM: f64 = 30.0;
/// White around a drawing, so that a line on its edge is not cut in half, mm.
const BORDER_MM: f64 = 1.0;

/// All drawings in one PDF, each on its own pages, at true size on `paper`.
pub fn pdf(drawings: &[Drawing], paper: &PrintPaper, printed: Printed, lines: &LineTable) -> Result<Vec<u8>, Unwritable> {
    let Some(first) = drawings.first() else {
        return Err(Unwritable { drawing: String::new(), reason: "there is no drawing".into() });
    };
    let mut pages = Pages::new(&first.title, &first.made_by, Structure::default());
    for drawing in drawings {
        checked(drawing)?;
        add(&mut pages, drawing, paper, printed, lines).map_err(|fault| Unwritable::new(drawing, fault))?;
    }
    pages.finish().map_err(|fault| Unwritable::new(first, fault))
}

/// The pages that a drawing takes, without the key page that goes before several.
pub fn tiling(drawing: &Drawing, paper: &PrintPaper, printed: Printed) -> Result<Tiling, String> {
    Ok(laid_out(drawing, paper, printed)?.0)
}

/// The pages of a drawing, and whether one page holds it together with its panels and notes: then it needs no key page.
fn laid_out(drawing: &Drawing, paper: &PrintPaper, printed: Printed) -> Result<(Tiling, bool), String> {
    let single = |width: f64| foot_height(&foot_lines(drawing, printed, "", &drawing.notes), width);
    // Many notes may leave no room in a foot; on a key page they find it.
    let together = font::extent(&in_one(drawing)).grown(BORDER_MM);
    if let Ok(tiling) = tile::tiled(together, paper, printed, single)
        && tiling.tiles.len() == 1
    {
        return Ok((tiling, true));
    }
    // The widest page name that can be met stands for all of them, so that every page has the same foot.
    let longest = page_name("AA99", 99, 99, 99, 99);
    let tiled = |width: f64| foot_height(&foot_lines(drawing, printed, &longest, &[]), width - MAP_MM);
    let texts: Vec<Bounds> = labels(drawing).map(|label| Bounds::of(font::corners(label))).collect();
    let extent = font::extent(drawing).grown(BORDER_MM);
    Ok((tile::tiled_around(extent, &texts, paper, printed, tiled)?, false))
}

fn labels(drawing: &Drawing) -> impl Iterator<Item = &Label> {
    drawing.items.iter().filter_map(|item| if let Shape::Label(label) = &item.shape { Some(label) } else { None })
}

/// The labels of each page, whole: a text stands on the page that its middle falls on, and one that a joint would part stands beside
/// the joint.
pub fn labels_by_page(drawing: &Drawing, tiling: &Tiling) -> Vec<Vec<Item>> {
    let mut pages = vec![Vec::new(); tiling.tiles.len()];
    for item in &drawing.items {
        let Shape::Label(label) = &item.shape else { continue };
        let bounds = Bounds::of(font::corners(label));
        let middle = Point::new(0.5 * (bounds.min.x + bounds.max.x), 0.5 * (bounds.min.y + bounds.max.y));
        let holds =
            |owns: &Bounds| (owns.min.x..=owns.max.x).contains(&middle.x) && (owns.min.y..=owns.max.y).contains(&middle.y);
        let Some(page) = tiling.tiles.iter().position(|tile| holds(&tile.owns)) else { continue };
        // Beside the joint, not on it.
        let owns = tiling.tiles[page].owns.grown(-BESIDE_JOINT_MM);
        let inward = |[from, to]: [f64; 2], [low, high]: [f64; 2]| (low - from).max(0.0) - (to - high).max(0.0);
        let x = inward([bounds.min.x, bounds.max.x], [owns.min.x, owns.max.x]);
        let y = inward([bounds.min.y, bounds.max.y], [owns.min.y, owns.max.y]);
        pages[page].push(item.placed(&Placement::moved(x, y)));
    }
    pages
}

fn add(pages: &mut Pages, drawing: &Drawing, paper: &PrintPaper, printed: Printed, lines: &LineTable) -> Result<(), String> {
    if drawing.items.is_empty() {
        return key_page::alone(pages, drawing, paper, lines);
    }
    let (tiling, alone) = laid_out(drawing, paper, printed)?;
    let stretch = printed.stretch();
    if alone {
        let texts = foot_lines(drawing, printed, "", &drawing.notes);
        let tile = &tiling.tiles[0];
        return pages.figure(tiling.paper_mm, stretch, (&tile.name, in_words(drawing, &texts)), |canvas| {
            furniture(canvas, &tiling, &texts, lines);
            let whole = in_one(drawing);
            canvas.clipped(tiling.window, |canvas| {
                canvas.moved(tile.shows.min, tiling.window.min, 1.0, |canvas| canvas.drawing(&whole, lines));
            });
        });
    }
    let labels = labels_by_page(drawing, &tiling);
    let inked: Vec<bool> =
        tiling.tiles.iter().zip(&labels).map(|(tile, labels)| shows_something(drawing, labels, tile.owns)).collect();
    let whole = TiledDrawing { drawing, tiling: &tiling, inked: &inked, lines };
    let texts_of_all: Vec<Bounds> = labels.iter().flatten().filter_map(text_bounds).collect();
    let key = foot_lines(drawing, printed, "key page", &[]);
    let area = tiling.window.grown(-KEY_BORDER_MM);
    let map_mm = |fraction: f64| KEY_HEAD_MM + map_factor(&tiling, area, fraction) * covered(&tiling).height();
    let (reading, fraction) = key_page::under_a_map(&drawing.panels, &key_texts(drawing, &inked), area, map_mm);
    let mut names = std::iter::once("key".to_owned()).chain((2..).map(|number| format!("key {number}")));
    for page in 0..reading.count() {
        let name = names.next().unwrap_or_default();
        pages.figure(tiling.paper_mm, stretch, (&name, in_words(drawing, &key)), |canvas| {
            furniture(canvas, &tiling, &key, lines);
            let mut top = area.max.y;
            if page == 0 {
                key_map(canvas, &whole, map_factor(&tiling, area, fraction));
                top -= map_mm(fraction);
            }
            reading.paint(canvas, page, Point::new(area.min.x, top), lines);
        })?;
    }
    for ((tile, labels), _) in tiling.tiles.iter().zip(&labels).zip(&inked).filter(|(_, inked)| **inked) {
        let name = page_name(&tile.name, tile.row + 1, tiling.rows, tile.column + 1, tiling.columns);
        let texts = foot_lines(drawing, printed, &name, &[]);
        pages.figure(tiling.paper_mm, stretch, (&tile.name, in_words(drawing, &texts)), |canvas| {
            furniture(canvas, &tiling, &texts, lines);
            small_map(canvas, &tiling, &inked, tile);
            show(canvas, &whole, labels, tile);
            joints(canvas, &whole, tile, &texts_of_all);
        })?;
    }
    Ok(())
}

/// A drawing on its pages.
#[derive(Clone, Copy)]
struct TiledDrawing<'a> {
    drawing: &'a Drawing,
    tiling: &'a Tiling,
    /// Of each tile, whether it shows something.
    inked: &'a [bool],
    lines: &'a LineTable,
}

fn text_bounds(item: &Item) -> Option<Bounds> {
    if let Shape::Label(label) = &item.shape { Some(Bounds::of(font::corners(label))) } else { None }
}

fn page_name(name: &str, row: usize, rows: usize, column: usize, columns: usize) -> String {
    format!("{name}  (row {row} of {rows}, col {column} of {columns})")
}

/// Whether a line of the drawing or one of the labels touches the area; a line of symmetry alone is worth no page.
fn shows_something(drawing: &Drawing, labels: &[Item], area: Bounds) -> bool {
    const STEP_MM: f64 = 2.0;
    !labels.is_empty()
        || drawing.items.iter().filter(|item| item.kind != Kind::Centre).any(|item| match &item.shape {
            Shape::Path(path) if path.bounds().meets(&area) => {
                // A filled area shows everywhere inside it, a line only where it runs.
                (item.kind == Kind::Tone && encloses(path, area)) || path.runs_through(&area, STEP_MM)
            }
            _ => false,
        })
}

/// Whether the middle of an area lies inside a closed path.
fn encloses(path: &Path, area: Bounds) -> bool {
    let (x, y) = (0.5 * (area.min.x + area.max.x), 0.5 * (area.min.y + area.max.y));
    let points = path.flattened(0.1);
    let sides = points.iter().zip(points.iter().cycle().skip(1));
    let over = sides.filter(|(a, b)| (y < a.y) != (y < b.y) && x < a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x));
    over.count() % 2 == 1
}

/// The lines of the drawing in the page's window, as far as the strips that it shares with its neighbours, and its own labels; what
/// cannot be seen there is left out of the file.
fn show(canvas: &mut Canvas, of: &TiledDrawing<'_>, labels: &[Item], tile: &Tile) {
    let TiledDrawing { drawing, tiling, lines, .. } = *of;
    let seen = tile.owns.grown(0.5 * OVERLAP_MM);
    let paths = drawing.items.iter().filter(|item| match &item.shape {
        Shape::Path(path) => path.bounds().grown(BORDER_MM).meets(&seen),
        Shape::Label(_) => false,
    });
    let here = Drawing { items: paths.chain(labels).cloned().collect(), ..Drawing::default() };
    canvas.clipped(tiling.window, |canvas| {
        canvas.moved(tile.shows.min, tiling.window.min, 1.0, |canvas| {
            canvas.clipped(seen, |canvas| canvas.drawing(&here, lines));
        });
    });
}

/// A page for whoever does not see it: what its foot says of it, and its notes.
fn in_words(drawing: &Drawing, foot: &[FootLine]) -> String {
    let foot = foot.iter().map(|line| line.text.as_str());
    let notes = drawing.notes.iter().map(String::as_str);
    let mut said: Vec<&str> = Vec::new();
    for text in foot.chain(notes).filter(|text| !text.is_empty()) {
        let text = text.trim_end_matches('.');
        // Where the foot carries the notes they are said already.
        if !said.contains(&text) {
            said.push(text);
        }
    }
    said.join(". ")
}

/// A line of the foot.
#[derive(Debug, Clone)]
struct FootLine {
    text: String,
    cap_mm: f64,
    lettering: Lettering,
}

impl FootLine {
    fn of(text: impl Into<String>, cap_mm: f64, lettering: Lettering) -> FootLine {
        FootLine { text: text.into(), cap_mm, lettering }
    }

    fn small(text: impl Into<String>) -> FootLine {
        FootLine::of(text, SMALL_MM, Lettering::Regular)
    }
}

fn foot_lines(drawing: &Drawing, printed: Printed, page: &str, notes: &[String]) -> Vec<FootLine> {
    let mut lines = vec![FootLine::of(drawing.title.as_str(), TEXT_MM, Lettering::Bold)];
    lines.push(FootLine::of(format!("{}  {page}", drawing.name).trim(), SMALL_MM, Lettering::Bold));
    lines.extend(notes.iter().map(FootLine::small));
    if printed != Printed::EXACT {
        lines.push(FootLine::small(format!("corrected for a print whose bars measured {} x {} mm", printed.x, printed.y)));
    }
    lines.push(FootLine::small("print at 100 %, not fitted to the page; measure both bars before use"));
    lines.push(FootLine::small(drawing.made_by.as_str()));
    lines.retain(|line| !line.text.is_empty());
    lines
}

fn broken(lines: &[FootLine], width: f64) -> Vec<FootLine> {
    let broken = |line: &FootLine| {
        let FootLine { ref text, cap_mm, lettering } = *line;
        font::wrapped(text, width, cap_mm, lettering).into_iter().map(move |text| FootLine { text, cap_mm, lettering })
    };
    lines.iter().flat_map(broken).collect()
}

fn foot_height(lines: &[FootLine], width: f64) -> f64 {
    1.5 + broken(lines, width).iter().map(|line| LEADING_CAPS * line.cap_mm).sum::<f64>() + 1.0
}

/// What every page has outside its window: scale check and foot.
fn furniture(canvas: &mut Canvas, tiling: &Tiling, texts: &[FootLine], lines: &LineTable) {
    let mut check = Drawing::new("", "");
    annotate::scale_check(&mut check, tiling.check_corner, tiling.check_size);
    canvas.drawing(&check, lines);
    let map = if tiling.tiles.len() == 1 { 0.0 } else { MAP_MM };
    let mut y = tiling.foot.max.y - 1.5;
    for FootLine { text, cap_mm, lettering } in broken(texts, tiling.foot.width() - map) {
        let label = Label { lettering, ..Label::new(text, Point::new(tiling.foot.min.x, y - cap_mm), cap_mm) };
        canvas.text(&label, BLACK);
        y -= LEADING_CAPS * cap_mm;
    }
}

/// The pages as boxes at the right of the foot, this one filled.
fn small_map(canvas: &mut Canvas, tiling: &Tiling, inked: &[bool], here: &Tile) {
    let all = covered(tiling);
    let (wide, high) = (MAP_MM - 4.0, 2.0 * CHECK_SIDE_MM);
    let factor = (wide / all.width()).min(high / all.height());
    let corner = Point::new(tiling.foot.max.x - factor * all.width(), tiling.foot.max.y - 1.5 - factor * all.height());
    canvas.moved(all.min, corner, factor, |canvas| {
        canvas.fill([&Path::rectangle(here.owns)], HERE);
        for (tile, _) in tiling.tiles.iter().zip(inked).filter(|(_, inked)| **inked) {
            canvas.stroke(&Path::rectangle(tile.owns), &Ink::solid(0.13, BLACK));
        }
    });
}

fn covered(tiling: &Tiling) -> Bounds {
    tiling.tiles.iter().fold(Bounds::EMPTY, |bounds, tile| bounds.union(tile.owns))
}

/// Half the width of a cross on a joint, mm.
const ARM_MM: f64 = 4.0;
/// Between what is drawn for a joint and a text, mm.
const CLEAR_MM: f64 = 0.6;

/// The room of a cross.
fn arms(at: Point) -> Bounds {
    Bounds { min: at, max: at }.grown(ARM_MM)
}

/// Where the two crosses of a joint stand, near its ends and on none of these texts, if there is room: alike for both pages that it parts.
pub fn crosses(from: Point, to: Point, texts: &[Bounds]) -> [Point; 2] {
    [0.12, 0.88].map(|usual: f64| {
        let at = |fraction: f64| Point::new(from.x + fraction * (to.x - from.x), from.y + fraction * (to.y - from.y));
        let beside = (0..18).flat_map(|k| [-0.02, 0.02].map(|step| usual + step * f64::from(k)));
        let mut near = beside.filter(|fraction| (0.04..=0.96).contains(fraction) && 0.04 < (fraction - 0.5).abs());
        let free = |fraction: &f64| texts.iter().all(|text| !text.meets(&arms(at(*fraction)).grown(CLEAR_MM)));
        at(near.find(free).unwrap_or(usual))
    })
}

/// Joint lines where this page meets its neighbours, with two crosses each and the neighbour's name on the strip to cut off, beside all texts.
fn joints(canvas: &mut Canvas, of: &TiledDrawing<'_>, tile: &Tile, texts: &[Bounds]) {
    let TiledDrawing { tiling, inked, lines, .. } = *of;
    let neighbour = |row: Option<usize>, column: Option<usize>| {
        let (row, column) = (row?, column?);
        let index = row * tiling.columns + column;
        (row < tiling.rows && column < tiling.columns && inked[index]).then(|| tiling.tiles[index].name.as_str())
    };
    let (row, column, own) = (tile.row, tile.column, tile.owns);
    let mut marks = Drawing::new("", "");
    let mut seams = Vec::new();
    let mut joint = |from: Point, to: Point, name: &str, outside: f64| {
        let along = |fraction: f64| Point::new(from.x + fraction * (to.x - from.x), from.y + fraction * (to.y - from.y));
        seams.push(Path::line(from, to));
        let crosses = crosses(from, to, texts);
        for Point { x, y } in crosses {
            marks.line(Kind::ScaleCheck, Point::new(x - ARM_MM, y), Point::new(x + ARM_MM, y));
            marks.line(Kind::ScaleCheck, Point::new(x, y - ARM_MM), Point::new(x, y + ARM_MM));
            marks.path(Kind::ScaleCheck, Path::circle(Point::new(x, y), 2.0));
        }
        let upward = from.x + 1e-6 > to.x;
        // Letters grow upward from a horizontal line, and leftward from an upright one.
        let foot = 0.9 + if (outside < 0.0) == upward { 0.0 } else { SMALL_MM };
        let words = |fraction: f64| {
            let at = along(fraction);
            let at = if upward { Point::new(at.x + outside * foot, at.y) } else { Point::new(at.x, at.y + outside * foot) };
            Label::new(format!("{name} joins here"), at, SMALL_MM).turned(if upward { FRAC_PI_2 } else { 0.0 })
        };
        // Beside texts and crosses, where that can be.
        let free = |label: &Label| {
            let text = Bounds::of(font::corners(label)).grown(CLEAR_MM);
            let mut all = texts.iter().copied().chain(crosses.iter().map(|cross| arms(*cross)));
            all.all(|other| !other.meets(&text))
        };
        let label = (10..35).map(|k| words(0.02 * f64::from(k))).find(free).unwrap_or_else(|| words(0.2));
        marks.label(Kind::ScaleCheck, label);
    };
    let corner = |x: f64, y: f64| Point::new(x, y);
    if let Some(name) = neighbour(Some(row), column.checked_sub(1)) {
        joint(corner(own.min.x, own.min.y), corner(own.min.x, own.max.y), name, -1.0);
    }
    if let Some(name) = neighbour(Some(row), Some(column + 1)) {
        joint(corner(own.max.x, own.min.y), corner(own.max.x, own.max.y), name, 1.0);
    }
    if let Some(name) = neighbour(row.checked_sub(1), Some(column)) {
        joint(corner(own.min.x, own.max.y), corner(own.max.x, own.max.y), name, 1.0);
    }
    if let Some(name) = neighbour(Some(row + 1), Some(column)) {
        joint(corner(own.min.x, own.min.y), corner(own.max.x, own.min.y), name, -1.0);
    }
    // Thin and dashed: nobody should take a joint for an edge of the part.
    let seam = Ink { weight_mm: 0.13, rgb: lines.style(Kind::ScaleCheck).rgb, dashes: vec![6.0, 3.0] };
    canvas.clipped(tiling.window, |canvas| {
        canvas.moved(tile.shows.min, tiling.window.min, 1.0, |canvas| {
            for path in &seams {
                canvas.stroke(path, &seam);
            }
            canvas.drawing(&marks, lines);
        });
    });
}

/// From a joint to a text that has to give way to it, mm.
const BESIDE_JOINT_MM: f64 = 1.5;
/// Around what stands on the key page, mm.
const KEY_BORDER_MM: f64 = 3.0;
/// The title over its map, and the room under the map, mm.
const KEY_HEAD_MM: f64 = HEAD_MM + 4.0 + 5.0;

/// How much smaller the map on the key page is than the drawing, where it may take a share of the page's height.
fn map_factor(tiling: &Tiling, area: Bounds, fraction: f64) -> f64 {
    let all = covered(tiling);
    (area.width() / all.width()).min(fraction * area.height() / all.height()).min(1.0)
}

/// The map on the first page of a tiled drawing: which page shows what.
fn key_map(canvas: &mut Canvas, of: &TiledDrawing<'_>, factor: f64) {
    let TiledDrawing { drawing, tiling, inked, lines } = *of;
    let area = tiling.window.grown(-KEY_BORDER_MM);
    let top = area.max.y - HEAD_MM;
    canvas.text(&Label::new(drawing.title.as_str(), Point::new(area.min.x, top), HEAD_MM).bold(), BLACK);
    let all = covered(tiling);
    let corner = Point::new(area.min.x, top - 4.0 - factor * all.height());
    canvas.moved(all.min, corner, factor, |canvas| {
        for item in drawing.items.iter().filter(|item| item.kind.is_for_cutter() || item.kind == Kind::Edge) {
            if let Shape::Path(path) = &item.shape {
                canvas.stroke(path, &Ink::solid(0.1, lines.style(item.kind).rgb));
            }
        }
        for (tile, _) in tiling.tiles.iter().zip(inked).filter(|(_, inked)| **inked) {
            canvas.stroke(&Path::rectangle(tile.owns), &Ink::solid(0.18, GREY));
            // Lettering in a map of 1:n must be n times as high to come out right; small cells get smaller names.
            let cap = TEXT_MM.min(0.3 * factor * tile.owns.width()).min(0.3 * factor * tile.owns.height()) / factor;
            let at = Point::new(tile.owns.min.x + 0.5 * cap, tile.owns.max.y - 1.5 * cap);
            canvas.text(&Label::new(tile.name.as_str(), at, cap).bold(), BLACK);
        }
    });
}

/// The words of the key page: how to join the pages, and the drawing's notes.
fn key_texts(drawing: &Drawing, inked: &[bool]) -> Vec<String> {
    let count = inked.iter().filter(|inked| **inked).count();
    let overlap_in = fraction(System::Inch.length(OVERLAP_MM), 8);
    let joining = format!(
        "{count} pages at full size follow. Neighbours share a strip {OVERLAP_MM:.0} mm (about {overlap_in} in) wide with a joint line in its middle: cut \
         one page along its joint line, lay it on its neighbour so that crosses and lines meet, and tape. Check a length that \
         runs over several pages with a rule before cutting wood."
    );
    (1 < count).then_some(joining).into_iter().chain(drawing.notes.iter().cloned()).collect()
}
