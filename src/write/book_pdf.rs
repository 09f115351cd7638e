//! The build book as PDF: title and contents, then the chapters, with bookmarks, links and a foot on every page.
//!
//! Pages are upright. A chapter starts a page unless all of it fits under what stands there already; a heading, a caption or a
//! table's head stays with what follows, lines of a paragraph and rows of a table are never parted one by one, and a table that
//! runs on repeats its head. Links say the page they lead to, since paper cannot be tapped: the pages are made again until
//! those numbers stand still, and if they do not, the numbers are left out. What goes on a page is made in `book_flow`.
//!
//! Paper that no one binds (rolls, sheets wider than ISO A3 or smaller than half a Letter sheet) is replaced by a page that
//! prints on both Letter and A4: as narrow as A4, as low as Letter.

use super::book_flow::{Flow, InkMark, MEASURE_MM, PageSetting, Strip, flow, leading, level, put};
use super::canvas::{Canvas, Ink, PageSpot, Pages};
use super::typeset::{References, lines, shown};
use super::{Unwritable, checked_book};
use crate::book::{Book, Text};
use crate::drawing::font::{self, HEAD_MM, SMALL_MM, TEXT_MM};
use crate::drawing::{Align, Label, LineTable};
use crate::geometry::{Bounds, Path, Point};
use crate::model::workshop::PrintPaper;

/// White around everything; a printer's own border may be wider.
const MARGIN_MM: f64 = 15.0;
/// White between the text and the foot.
const ABOVE_FOOT_MM: f64 = 5.0;
/// Makings of a page for rolls and sheets that make no book: ISO 216 A4 is 210 mm wide, a Letter sheet 279.4 mm high.
const COMMON_MM: (f64, f64) = (210.0, 279.0);
/// Sides within which a sheet makes a page of a book.
const NARROWEST_MM: f64 = 139.0;
const WIDEST_MM: f64 = 300.0;
/// How often pages are made before page numbers in links are given up.
const ROUNDS: usize = 6;
const BLACK: [u8; 3] = [0; 3];

/// The book on `paper`, its pictures in the styles of `lines`.
pub fn pdf(book: &Book, paper: &PrintPaper, lines: &LineTable) -> Result<Vec<u8>, Unwritable> {
    checked_book(book)?;
    let fault = |reason: String| Unwritable { drawing: book.title.clone(), reason };
    let page = PdfPage::of(book, paper);
    let laid = settled(book, &page).map_err(fault)?;
    let mut pages = Pages::new(&book.title, &book.made_by);
    for (number, placed) in laid.pages.iter().enumerate() {
        pages
            .page(page.paper_mm, (1.0, 1.0), |canvas| {
                for (top, strip) in placed {
                    let corner = Point::new(page.area.min.x, page.area.max.y - top);
                    strip.marks.iter().for_each(|mark| paint(canvas, mark, corner, book, &laid, lines, &page));
                }
                page.foot(canvas, book, &laid, number);
            })
            .map_err(fault)?;
    }
    let marks: Vec<(String, PageSpot)> =
        book.chapters.iter().zip(&laid.starts).map(|(chapter, start)| (chapter.title.clone(), page.spot(*start))).collect();
    pages.bookmarks(&marks);
    pages.finish().map_err(fault)
}

/// A page of the book without its contents.
struct PdfPage {
    paper_mm: (f64, f64),
    /// Where strips go.
    area: Bounds,
    /// Lines of small type under it that say what made the book.
    made_by: Vec<String>,
}

/// Strips on their pages.
struct Laid {
    /// Each with its distance from the upper edge of the area.
    pages: Vec<Vec<(f64, Strip)>>,
    /// Page, from 0, and distance from the upper edge of the area, for each chapter.
    starts: Vec<(usize, f64)>,
}

impl PdfPage {
    fn of(book: &Book, paper: &PrintPaper) -> PdfPage {
        let (narrow, wide) = (paper.width_mm.min(paper.height_mm), paper.width_mm.max(paper.height_mm));
        let bound = !paper.roll && (NARROWEST_MM..=WIDEST_MM).contains(&narrow) && wide <= 2.0 * narrow;
        let paper_mm = if bound { (narrow, wide) } else { COMMON_MM };
        let margin = if bound { paper.margin_mm.clamp(MARGIN_MM, 0.2 * narrow) } else { MARGIN_MM };
        let width = paper_mm.0 - 2.0 * margin;
        let said = lines(&book.made_by.as_str().into(), width, SMALL_MM, &References::default());
        let made_by = said.iter().map(|line| line.pieces.iter().map(|piece| piece.text.as_str()).collect()).collect();
        let foot = ABOVE_FOOT_MM + (1 + said.len()) as f64 * leading(SMALL_MM);
        let area = Bounds { min: Point::new(margin, margin + foot), max: Point::new(paper_mm.0 - margin, paper_mm.1 - margin) };
        PdfPage { paper_mm, area, made_by }
    }

    fn spot(&self, (page, top): (usize, f64)) -> PageSpot {
        PageSpot { page, down_mm: self.paper_mm.1 - self.area.max.y + top }
    }

    fn foot(&self, canvas: &mut Canvas, book: &Book, laid: &Laid, number: usize) {
        let (left, right) = (self.area.min.x, self.area.max.x);
        let top = self.area.min.y - ABOVE_FOOT_MM + 1.2;
        canvas.stroke(&Path::line(Point::new(left, top), Point::new(right, top)), &Ink::solid(0.1, BLACK));
        let base = |line: usize| top - 1.2 - SMALL_MM - line as f64 * leading(SMALL_MM);
        let count = format!("page {} of {}", number + 1, laid.pages.len());
        let room = right - left - font::width_mm(&count, SMALL_MM, true) - 6.0;
        canvas.text(&Label::new(count, Point::new(right, base(0)), SMALL_MM).aligned(Align::Right).bold(), BLACK);
        // The chapter that the page begins with, or else the first that begins on it.
        let before = laid.starts.iter().rposition(|(page, top)| *page < number || (*page == number && *top < 1e-6));
        let chapter = if number == 0 { None } else { before.and_then(|k| book.chapters.get(k)) };
        let title = match chapter {
            Some(chapter) => format!("{}  ·  {}", book.title, chapter.title),
            None => book.title.clone(),
        };
        canvas.text(&Label::new(cut(&shown(&title), room), Point::new(left, base(0)), SMALL_MM).bold(), BLACK);
        for (k, line) in self.made_by.iter().enumerate() {
            canvas.text(&Label::new(line.as_str(), Point::new(left, base(k + 1)), SMALL_MM), BLACK);
        }
    }
}

/// The text, or as much of its beginning as has room.
fn cut(text: &str, room_mm: f64) -> String {
    if font::width_mm(text, SMALL_MM, true) <= room_mm {
        return text.to_owned();
    }
    let mut room = room_mm - font::width_mm("…", SMALL_MM, true);
    let fits = |c: &char| {
        room -= font::width_mm(c.encode_utf8(&mut [0; 4]), SMALL_MM, true);
        0.0 <= room
    };
    let beginning: String = text.chars().take_while(fits).collect();
    format!("{}…", beginning.trim_end())
}

/// Pages whose links say the right page numbers.
fn settled(book: &Book, page: &PdfPage) -> Result<Laid, String> {
    let numbered = |laid: Option<&Laid>| -> References {
        // Until it is known, a page number of two figures is as good a guess as any.
        let number = |k: usize| laid.map_or(10, |laid| laid.starts[k].0 + 1);
        let pages = book.chapters.iter().enumerate().map(|(k, chapter)| (chapter.anchor.clone(), number(k))).collect();
        References { pages, told: true }
    };
    let mut references = numbered(None);
    for _ in 0..ROUNDS {
        let laid = laid(book, page, &references)?;
        let now = numbered(Some(&laid));
        if now == references {
            return Ok(laid);
        }
        references = now;
    }
    // Without numbers in links the pages no longer depend on them; those of the contents do not change any widths.
    references.told = false;
    let laid_out = laid(book, page, &references)?;
    references.pages = numbered(Some(&laid_out)).pages;
    laid(book, page, &references)
}

fn laid(book: &Book, page: &PdfPage, references: &References) -> Result<Laid, String> {
    let setting = PageSetting { width_mm: page.area.width(), height_mm: page.area.height(), references };
    let mut laid = Laid { pages: vec![Vec::new()], starts: Vec::new() };
    let mut down = laid.add(&Flow { strips: front(book, &setting), heads: Vec::new() }, 0.0, setting.height_mm);
    for chapter in &book.chapters {
        let flow = flow(chapter, &setting)?;
        let whole: f64 = flow.strips.iter().map(|strip| strip.before_mm + strip.height_mm).sum();
        let parted = flow.strips.iter().any(|strip| strip.new_page);
        if parted || setting.height_mm < down + whole {
            laid.pages.push(Vec::new());
            down = 0.0;
        }
        let first_gap = if down <= 0.0 { 0.0 } else { flow.strips[0].before_mm };
        laid.starts.push((laid.pages.len() - 1, down + first_gap));
        down = laid.add(&flow, down, setting.height_mm);
    }
    Ok(laid)
}

impl Laid {
    /// Puts strips under one another from `down` on the last page; gives back how far down the last one reaches.
    fn add(&mut self, flow: &Flow, mut down: f64, height: f64) -> f64 {
        let strips = &flow.strips;
        for (k, strip) in strips.iter().enumerate() {
            // What must stay together, from here on.
            let run = strips[k..].iter().position(|strip| !strip.keep).map_or(strips.len(), |last| k + last + 1);
            let together: f64 = strips[k..run].iter().map(|strip| strip.before_mm + strip.height_mm).sum();
            let own = strip.before_mm + strip.height_mm;
            // A run that no page holds is parted where the page ends.
            let wanted = if together - strip.before_mm <= height { together } else { own };
            if 0.0 < down && (strip.new_page || height + 1e-6 < down + wanted) {
                self.pages.push(Vec::new());
                down = 0.0;
                if let Some(head) = strip.head.and_then(|head| flow.heads.get(head)) {
                    self.put(0.0, head);
                    down = head.height_mm;
                }
            }
            if 0.0 < down {
                down += strip.before_mm;
            }
            self.put(down, strip);
            down += strip.height_mm;
        }
        down
    }

    fn put(&mut self, down: f64, strip: &Strip) {
        if let Some(page) = self.pages.last_mut() {
            page.push((down, strip.clone()));
        }
    }
}

/// Title, subtitle and contents.
fn front(book: &Book, setting: &PageSetting) -> Vec<Strip> {
    const NAME_MM: f64 = 7.0;
    let mut strips = Vec::new();
    let mut name = Strip::default();
    let rule = Ink::solid(1.4, BLACK);
    name.marks.push(level(0.0, setting.width_mm, 0.7, rule));
    name.height_mm = 5.0;
    for line in lines(&Text::strong(book.title.as_str()), setting.width_mm, NAME_MM, setting.references) {
        put(&mut name.marks, &line, 0.0, name.height_mm, NAME_MM);
        name.height_mm += leading(NAME_MM);
    }
    name.height_mm += 1.0;
    for line in lines(&book.subtitle.as_str().into(), setting.width_mm, HEAD_MM, setting.references) {
        put(&mut name.marks, &line, 0.0, name.height_mm, HEAD_MM);
        name.height_mm += leading(HEAD_MM);
    }
    strips.push(name);
    if book.chapters.is_empty() {
        return strips;
    }
    let mut heading = Strip { before_mm: 8.0, height_mm: leading(HEAD_MM) + 1.0, keep: true, ..Strip::default() };
    for line in lines(&Text::strong("Contents"), setting.width_mm, HEAD_MM, setting.references) {
        put(&mut heading.marks, &line, 0.0, 0.0, HEAD_MM);
    }
    strips.push(heading);
    let width = setting.width_mm.min(MEASURE_MM);
    for chapter in &book.chapters {
        let number = setting.references.pages.get(&chapter.anchor).map_or(String::new(), usize::to_string);
        let mut strip = Strip { before_mm: 0.9, ..Strip::default() };
        let mut end = 0.0;
        for line in lines(&chapter.title.as_str().into(), width - 16.0, TEXT_MM, setting.references) {
            put(&mut strip.marks, &line, 0.0, strip.height_mm, TEXT_MM);
            strip.height_mm += leading(TEXT_MM);
            end = line.width_mm;
        }
        let base = strip.height_mm - 0.5 * (leading(TEXT_MM) - TEXT_MM);
        let from = width - font::width_mm(&number, TEXT_MM, false);
        let dots = Ink { weight_mm: 0.3, rgb: BLACK, dashes: vec![0.3, 1.7] };
        strip.marks.push(level(end + 2.0, from - 2.0, base - 0.15, dots));
        strip.marks.push(InkMark::Label(Label::new(number, Point::new(width, -base), TEXT_MM).aligned(Align::Right)));
        let area = Bounds { min: Point::new(0.0, -strip.height_mm), max: Point::new(width, 0.0) };
        strip.marks.push(InkMark::Link { area, anchor: chapter.anchor.clone() });
        strips.push(strip);
    }
    strips
}

fn paint(canvas: &mut Canvas, mark: &InkMark, corner: Point, book: &Book, laid: &Laid, lines: &LineTable, page: &PdfPage) {
    let moved = |point: Point| Point::new(corner.x + point.x, corner.y + point.y);
    match mark {
        InkMark::Label(label) => canvas.text(&Label { at: moved(label.at), ..label.clone() }, BLACK),
        InkMark::Line(path, ink) => canvas.moved(Point::new(0.0, 0.0), corner, 1.0, |canvas| canvas.stroke(path, ink)),
        InkMark::Picture { drawing, from, to, factor } => {
            canvas.moved(*from, moved(*to), *factor, |canvas| canvas.drawing(drawing, lines));
        }
        InkMark::Link { area, anchor } => {
            let found = book.chapters.iter().zip(&laid.starts).find(|(chapter, _)| chapter.anchor == *anchor);
            if let Some((chapter, start)) = found {
                let area = Bounds { min: moved(area.min), max: moved(area.max) };
                canvas.link(area, page.spot(*start), &chapter.title);
            }
        }
    }
}
