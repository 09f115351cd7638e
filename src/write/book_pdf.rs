//! The build book as PDF: title and contents, then the chapters, with bookmarks, links and a foot on every page.
//!
//! Pages are upright. A chapter starts a page unless all of it fits under what stands there already, or the page is all but empty; a
//! heading, a caption or a table's head stays with what follows, lines of a paragraph and rows of a table are never parted one by
//! one, and a table that runs on repeats its head. What a chapter wants at once comes on one page or on two that face each other (an
//! even number and the next): what follows it in the chapter is brought before it where that is needed. Links say the page they lead to, since paper cannot be tapped: the pages are made again until
//! those numbers stand still, and if they do not, the numbers are left out. What goes on a page is made in `book_flow`.
//!
//! Paper that no one binds (rolls, sheets wider than ISO A3 or smaller than half a Letter sheet) is replaced by a page that
//! prints on both Letter and A4: as narrow as A4, as low as Letter.

use super::book_flow::{InkMark, Strip, flow, level};
use super::canvas::{Canvas, Ink, MarkRole, PageSpot, Pages};
use super::tagged::{ReadOut, Role, Structure};
use super::typeset::{MEASURE_MM, PageSetting, References, leading, lines, shown};
use super::{Unwritable, checked_book};
use crate::book::{Book, Text};
use crate::drawing::font::{self, HEAD_MM, SMALL_MM, TEXT_MM};
use crate::drawing::{Align, Label, Lettering, LineTable};
use crate::geometry::{Bounds, Extent, Path, Point};
use crate::model::workshop::PrintPaper;
use std::ops::Range;

/// White around everything; a printer's own border may be wider.
const MARGIN_MM: f64 = 15.0;
/// White between the text and the foot.
const ABOVE_FOOT_MM: f64 = 5.0;
/// Makings of a page for rolls and sheets that make no book: ISO 216 A4 is 210 mm wide, a Letter sheet 279.4 mm high.
const COMMON_MM: Extent = Extent { width: 210.0, height: 279.0 };
/// Sides within which a sheet makes a page of a book.
const NARROWEST_MM: f64 = 139.0;
const WIDEST_MM: f64 = 300.0;
/// A page that is filled to no more than this share takes the next chapter too, even one that runs on.
const LITTLE: f64 = 0.4;
/// Up to this share, it does where that saves a page and no page would hold the chapter.
const MUCH: f64 = 0.8;
/// How often pages are made before page numbers in links are given up.
const ROUNDS: usize = 6;
const BLACK: [u8; 3] = [0; 3];

/// The book on `paper`, its pictures in the styles of `lines`.
pub fn pdf(book: &Book, paper: &PrintPaper, lines: &LineTable) -> Result<Vec<u8>, Unwritable> {
    checked_book(book)?;
    let fault = |reason: String| Unwritable { drawing: book.title.clone(), reason };
    let page = PdfPage::of(book, paper);
    let mut laid = settled(book, &page).map_err(fault)?;
    let target = |anchor: &str| {
        let (chapter, start) = book.chapters.iter().zip(&laid.starts).find(|(chapter, _)| chapter.anchor == anchor)?;
        Some((page.spot(*start), chapter.title.as_str()))
    };
    let mut pages = Pages::new(&book.title, &book.made_by, std::mem::take(&mut laid.tags));
    for (number, placed) in laid.pages.iter().enumerate() {
        pages
            .page(page.paper_mm, (1.0, 1.0), None, |canvas| {
                for (top, strip) in placed {
                    let corner = Point::new(page.area.min.x, page.area.max.y - top);
                    for marks in strip.marks.chunk_by(|(a, _), (b, _)| a == b) {
                        paint(canvas, marks, corner, lines, target);
                    }
                }
                canvas.marked(MarkRole::Foot, |canvas| page.foot(canvas, book, &laid, number));
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
    paper_mm: Extent,
    /// Where strips go.
    area: Bounds,
    /// Lines of small type under it that say what made the book.
    made_by: Vec<String>,
}

/// Strips on their pages.
struct PagedBook {
    /// Each with its distance from the upper edge of the area.
    pages: Vec<Vec<(f64, Strip)>>,
    /// Page, from 0, and distance from the upper edge of the area, for each chapter.
    starts: Vec<(usize, f64)>,
    tags: Structure,
}

/// Where a strip comes.
#[derive(Debug, Clone, Copy)]
struct StripPlace {
    /// Its number in the flow.
    strip: usize,
    /// Pages after the one that stood open.
    page: usize,
    down: f64,
    /// The head of its table is repeated above it.
    head: bool,
}

impl PdfPage {
    fn of(book: &Book, paper: &PrintPaper) -> PdfPage {
        let (narrow, wide) = (paper.width_mm.min(paper.height_mm), paper.width_mm.max(paper.height_mm));
        let bound = !paper.roll && (NARROWEST_MM..=WIDEST_MM).contains(&narrow) && wide <= 2.0 * narrow;
        let paper_mm = if bound { Extent { width: narrow, height: wide } } else { COMMON_MM };
        let margin = if bound { paper.margin_mm.clamp(MARGIN_MM, 0.2 * narrow) } else { MARGIN_MM };
        let width = paper_mm.width - 2.0 * margin;
        let said = lines(&book.made_by.as_str().into(), width, SMALL_MM, &References::default());
        let made_by = said.iter().map(|line| line.pieces.iter().map(|piece| piece.text.as_str()).collect()).collect();
        let foot = ABOVE_FOOT_MM + (1 + said.len()) as f64 * leading(SMALL_MM);
        let area =
            Bounds { min: Point::new(margin, margin + foot), max: Point::new(paper_mm.width - margin, paper_mm.height - margin) };
        PdfPage { paper_mm, area, made_by }
    }

    fn spot(&self, (page, top): (usize, f64)) -> PageSpot {
        PageSpot { page, down_mm: self.paper_mm.height - self.area.max.y + top }
    }

    fn foot(&self, canvas: &mut Canvas, book: &Book, laid: &PagedBook, number: usize) {
        let (left, right) = (self.area.min.x, self.area.max.x);
        let top = self.area.min.y - ABOVE_FOOT_MM + 1.2;
        canvas.stroke(&Path::line(Point::new(left, top), Point::new(right, top)), &Ink::solid(0.1, BLACK));
        let base = |line: usize| top - 1.2 - SMALL_MM - line as f64 * leading(SMALL_MM);
        let count = format!("page {} of {}", number + 1, laid.pages.len());
        let room = right - left - font::width_mm(&count, SMALL_MM, Lettering::Bold) - 6.0;
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
    if font::width_mm(text, SMALL_MM, Lettering::Bold) <= room_mm {
        return text.to_owned();
    }
    let mut room = room_mm - font::width_mm("…", SMALL_MM, Lettering::Bold);
    let fits = |c: &char| {
        room -= font::width_mm(c.encode_utf8(&mut [0; 4]), SMALL_MM, Lettering::Bold);
        0.0 <= room
    };
    let beginning: String = text.chars().take_while(fits).collect();
    format!("{}…", beginning.trim_end())
}

/// Pages whose links say the right page numbers.
fn settled(book: &Book, page: &PdfPage) -> Result<PagedBook, String> {
    let numbered = |laid: Option<&PagedBook>| -> References {
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

fn laid(book: &Book, page: &PdfPage, references: &References) -> Result<PagedBook, String> {
    let setting = PageSetting { width_mm: page.area.width(), height_mm: page.area.height(), references };
    let mut laid = PagedBook { pages: vec![Vec::new()], starts: Vec::new(), tags: Structure::default() };
    let mut tags = Structure::default();
    let strips = front(book, &setting, &mut tags);
    let all: Vec<usize> = (0..strips.len()).collect();
    let mut down = laid.add(&strips, &[], &places((&strips, &[]), &all, None, 0.0, setting.height_mm));
    for chapter in &book.chapters {
        let flow = flow(chapter, &setting, &mut tags)?;
        let high = setting.height_mm;
        let whole: f64 = flow.strips.iter().map(|strip| strip.before_mm + strip.height_mm).sum();
        let parted = flow.strips.iter().any(|strip| strip.new_page);
        let fits = !parted && down + whole <= high;
        // A full page stands for a new one; of starts that are as good the first is taken.
        let starts: &[f64] = match down / high {
            _ if fits => &[down],
            _ if parted => &[high],
            filled if filled < LITTLE => &[down, high],
            filled if filled < MUCH && high < whole => &[high, down],
            _ => &[high],
        };
        let mut best: Option<(usize, Vec<StripPlace>)> = None;
        for start in starts {
            for (order, fresh) in orders(flow.strips.len(), flow.at_once.as_ref()) {
                let places = places((&flow.strips, &flow.heads), &order, fresh, *start, high);
                let pages = places.last().map_or(0, |last| last.page);
                // Twice the pages of any book: what is wanted at once comes first.
                let missed = flow.at_once.as_ref().is_some_and(|range| !laid.at_once(&places, range));
                let cost = pages + if missed { 10_000 } else { 0 };
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, places));
                }
            }
        }
        let places = best.map(|(_, places)| places).unwrap_or_default();
        let (pages, first) = (laid.pages.len() - 1, places.iter().find(|place| place.strip == 0));
        laid.starts.push(first.map_or((pages, down), |place| (pages + place.page, place.down)));
        down = laid.add(&flow.strips, &flow.heads, &places);
    }
    laid.tags = tags;
    Ok(laid)
}

/// The strips as they come, and with those that are wanted at once on a fresh page, after or before what follows them; each with the
/// strip that starts that page.
fn orders(count: usize, at_once: Option<&Range<usize>>) -> Vec<(Vec<usize>, Option<usize>)> {
    let natural = || (0..count).collect();
    let mut orders = vec![(natural(), None)];
    if let Some(range) = at_once {
        let last = (0..range.start).chain(range.end..count).chain(range.clone()).collect();
        orders.extend([(last, Some(range.start)), (natural(), Some(range.start))]);
    }
    orders
}

/// Strips under one another from `down` on a page of this height, in this order; the strip `fresh` starts a page.
fn places(
    (strips, heads): (&[Strip], &[Strip]),
    order: &[usize],
    fresh: Option<usize>,
    mut down: f64,
    height: f64,
) -> Vec<StripPlace> {
    let mut page = 0;
    let mut places = Vec::with_capacity(order.len());
    for (at, k) in order.iter().enumerate() {
        let strip = &strips[*k];
        // What must stay together, from here on.
        let rest = &order[at..];
        let run = rest.iter().position(|k| !strips[*k].keep).map_or(rest.len(), |last| last + 1);
        let together: f64 = rest[..run].iter().map(|k| strips[*k].before_mm + strips[*k].height_mm).sum();
        let own = strip.before_mm + strip.height_mm;
        // A run that no page holds is parted where the page ends.
        let wanted = if together - strip.before_mm <= height { together } else { own };
        let mut head = false;
        if 0.0 < down && (strip.new_page || fresh == Some(*k) || height + 1e-6 < down + wanted) {
            page += 1;
            down = 0.0;
            if let Some(again) = strip.head.and_then(|head| heads.get(head)) {
                down = again.height_mm;
                head = true;
            }
        }
        if 0.0 < down {
            down += strip.before_mm;
        }
        places.push(StripPlace { strip: *k, page, down, head });
        down += strip.height_mm;
    }
    places
}

impl PagedBook {
    /// Puts strips on pages; gives back how far down the last one reaches.
    fn add(&mut self, strips: &[Strip], heads: &[Strip], places: &[StripPlace]) -> f64 {
        let open = self.pages.len() - 1;
        let mut down = 0.0;
        for place in places {
            let strip = &strips[place.strip];
            self.pages.resize(self.pages.len().max(open + place.page + 1), Vec::new());
            let page = &mut self.pages[open + place.page];
            if let Some(head) = strip.head.and_then(|head| heads.get(head)).filter(|_| place.head) {
                page.push((0.0, head.clone()));
            }
            page.push((place.down, strip.clone()));
            down = place.down + strip.height_mm;
        }
        down
    }

    /// Whether these strips come on one page, or on two that face each other.
    fn at_once(&self, places: &[StripPlace], range: &Range<usize>) -> bool {
        let pages = places.iter().filter(|place| range.contains(&place.strip)).map(|place| self.pages.len() + place.page);
        match (pages.clone().min(), pages.max()) {
            (Some(first), Some(last)) => first == last || last == first + 1 && first % 2 == 0,
            _ => true,
        }
    }
}

/// Title, subtitle and contents.
fn front(book: &Book, setting: &PageSetting, tags: &mut Structure) -> Vec<Strip> {
    const NAME_MM: f64 = 7.0;
    let mut strips = Vec::new();
    let mut name = Strip::default();
    let rule = Ink::solid(1.4, BLACK);
    name.ornament(level(0.0, setting.width_mm, 0.7, rule));
    name.height_mm = 5.0;
    let title = lines(&Text::strong(book.title.as_str()), setting.width_mm, NAME_MM, setting.references);
    let heading = tags.element(None, Role::Heading(1, book.title.clone()));
    let down = name.height_mm;
    name.put_lines(tags, Some(heading), &title, (0.0, down), NAME_MM);
    name.height_mm += title.len() as f64 * leading(NAME_MM) + 1.0;
    let subtitle = lines(&book.subtitle.as_str().into(), setting.width_mm, HEAD_MM, setting.references);
    let paragraph = tags.element(None, Role::Paragraph);
    let down = name.height_mm;
    name.put_lines(tags, Some(paragraph), &subtitle, (0.0, down), HEAD_MM);
    name.height_mm += subtitle.len() as f64 * leading(HEAD_MM);
    strips.push(name);
    if book.chapters.is_empty() {
        return strips;
    }
    let mut heading = Strip { before_mm: 8.0, height_mm: leading(HEAD_MM) + 1.0, keep: true, ..Strip::default() };
    let contents = lines(&Text::strong("Contents"), setting.width_mm, HEAD_MM, setting.references);
    let element = tags.element(None, Role::Heading(2, "Contents".into()));
    heading.put_lines(tags, Some(element), &contents, (0.0, 0.0), HEAD_MM);
    strips.push(heading);
    let width = setting.width_mm.min(MEASURE_MM);
    let table = tags.element(None, Role::Contents);
    for chapter in &book.chapters {
        let number = setting.references.pages.get(&chapter.anchor).map_or(String::new(), usize::to_string);
        let item = tags.element(Some(table), Role::ContentsItem);
        let link = tags.element(Some(item), Role::Link);
        let mut strip = Strip { before_mm: 0.9, ..Strip::default() };
        let said = lines(&chapter.title.as_str().into(), width - 16.0, TEXT_MM, setting.references);
        strip.put_lines(tags, Some(link), &said, (0.0, 0.0), TEXT_MM);
        strip.height_mm = said.len() as f64 * leading(TEXT_MM);
        let end = said.last().map_or(0.0, |line| line.width_mm);
        let base = strip.height_mm - 0.5 * (leading(TEXT_MM) - TEXT_MM);
        let from = width - font::width_mm(&number, TEXT_MM, Lettering::Regular);
        let dots = Ink { weight_mm: 0.3, rgb: BLACK, dashes: vec![0.3, 1.7] };
        strip.ornament(level(end + 2.0, from - 2.0, base - 0.15, dots));
        let on_page = ReadOut::Words(format!(", page {number}"));
        let number = Label::new(number, Point::new(width, -base), TEXT_MM).aligned(Align::Right);
        strip.marks.push((MarkRole::Of(tags.slot(link, on_page)), InkMark::Label(number)));
        let area = Bounds { min: Point::new(0.0, -strip.height_mm), max: Point::new(width, 0.0) };
        let mark = MarkRole::Of(tags.slot(link, ReadOut::AsDrawn));
        strip.marks.push((mark, InkMark::Link { area, anchor: chapter.anchor.clone() }));
        strips.push(strip);
    }
    strips
}

/// Paints marks of one meaning; `target` is where an anchor leads, and its title.
fn paint<'a>(
    canvas: &mut Canvas,
    marks: &[(MarkRole, InkMark)],
    corner: Point,
    lines: &LineTable,
    target: impl Fn(&str) -> Option<(PageSpot, &'a str)>,
) {
    let moved = |point: Point| Point::new(corner.x + point.x, corner.y + point.y);
    let Some((mark, first)) = marks.first() else { return };
    // An area that leads elsewhere has no ink.
    if let (MarkRole::Of(slot), InkMark::Link { area, anchor }) = (mark, first) {
        if let Some((spot, title)) = target(anchor) {
            let area = Bounds { min: moved(area.min), max: moved(area.max) };
            canvas.link(area, spot, title, *slot);
        }
        return;
    }
    canvas.marked(*mark, |canvas| {
        for (_, mark) in marks {
            match mark {
                InkMark::Label(label) => canvas.text(&Label { at: moved(label.at), ..label.clone() }, BLACK),
                InkMark::Line(path, ink) => canvas.moved(Point::new(0.0, 0.0), corner, 1.0, |canvas| canvas.stroke(path, ink)),
                InkMark::Picture { drawing, from, to, factor } => {
                    canvas.moved(*from, moved(*to), *factor, |canvas| canvas.drawing(drawing, lines));
                }
                InkMark::Link { .. } => {}
            }
        }
    });
}
