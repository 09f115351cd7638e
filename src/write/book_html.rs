//! The build book as one HTML file that needs nothing beside it: style, typeface, pictures and one script are inside.
//!
//! Made for a phone at arm's length in the shop and for printing. Headings, lists and tables are marked up as what they are,
//! so that a screen reader can read the book out and a program can find its numbers: each number of the report is a `data`
//! element with its full value and, in `data-in`, the JSON pointer (RFC 6901) of its place in `report.json`. Pictures are SVG
//! with text as text. Boxes can be ticked and blanks written in; the script keeps both in the browser's own storage under the book's key,
//! and where storage or script is refused, the page says that they will not last. On a narrow screen a table that would not fit is
//! stacked, a card for each row.
//! Sources: HTML Living Standard (WHATWG); Scalable Vector Graphics 2, W3C; contrast of 7 : 1 after WCAG 2.2, 1.4.6.

use super::number::MM_DECIMALS;
use super::svg::data;
use super::{Unwritable, checked_book, number};
use crate::book::{Block, Book, Cell, Chapter, Picture, Run, Table, Text};
use crate::drawing::font;
use crate::drawing::{Align, Item, Kind, Label, Lettering, LineStyle, LineTable, Shape};
use crate::geometry::Bounds;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::fmt::Write;

const STYLE: &str = include_str!("book.css");
/// The only thing in a book that runs. The bench's reader lets in this very text and no other.
const SCRIPT: &str = include_str!("book.js");
/// White around a picture, mm.
const BORDER_MM: f64 = 0.5;
/// A picture is not shown narrower than this: its letters could not be read. It scrolls in its own frame instead.
const NARROWEST_PICTURE_MM: f64 = 130.0;

/// Cells with figures and no more letters than this are not wrapped.
const ONE_LINE: usize = 16;
/// Words of a column up to this many letters look well in its least width; from the second on, they are read as a text.
const SHORT_LETTERS: usize = 8;
const WIDE_LETTERS: usize = 30;
/// From this many columns on, a printed table gets small letters.
const MANY_COLUMNS: usize = 9;

/// A screen of a phone shows this much of a picture without sliding it, mm of CSS.
const PHONE_MM: f64 = 94.0;
/// Letters that the columns of a table may take together on a phone, counted by their longest words, each column with its white.
const PHONE_LETTERS: usize = 30;
const WHITE_LETTERS: usize = 3;
/// A cell with a longer word gets the whole width of a stacked row.
const HALF_LETTERS: usize = 13;

/// What a printed page holds: the width of A4 within the style's page margins, and the most height that the style allows.
const PRINTED_MM: (f64, f64) = (184.0, 215.0);

/// The book, its pictures in the styles of `lines`.
pub fn html(book: &Book, lines: &LineTable) -> Result<Vec<u8>, Unwritable> {
    checked_book(book)?;
    let title = escaped(&book.title);
    let mut page = HtmlPage {
        out: String::new(),
        lines,
        anchors: book.chapters.iter().map(|c| c.anchor.as_str()).collect(),
        count: 0,
        fields: 0,
        chapter: String::new(),
    };
    page.out += "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n";
    page.out += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n";
    page.put(format_args!("<meta name=\"generator\" content=\"{}\">\n<title>{title}</title>\n<style>\n", escaped(&book.made_by)));
    for (lettering, weight) in [(Lettering::Regular, 400), (Lettering::Bold, 700)] {
        let file = STANDARD.encode(font::bytes(lettering));
        page.put(format_args!(
            "@font-face {{ font-family: \"Book B612\"; font-weight: {weight}; src: url(data:font/otf;base64,{file}) format(\"opentype\"); }}\n"
        ));
    }
    page.out += STYLE;
    page.put(format_args!("</style>\n</head>\n<body>\n<header>\n<h1>{title}</h1>\n"));
    if !book.subtitle.is_empty() {
        page.put(format_args!("<p class=\"subtitle\">{}</p>\n", escaped(&book.subtitle)));
    }
    page.out += "</header>\n";
    page.contents(book);
    page.out += "<main>\n";
    page.notes(book);
    for chapter in &book.chapters {
        page.chapter(chapter);
    }
    page.put(format_args!("</main>\n<footer>\n<p class=\"quiet\">{}</p>\n</footer>\n", escaped(&book.made_by)));
    page.put(format_args!("<script>{SCRIPT}</script>\n</body>\n</html>\n"));
    Ok(page.out.into_bytes())
}

/// A page under way.
struct HtmlPage<'a> {
    out: String,
    lines: &'a LineTable,
    anchors: Vec<&'a str>,
    /// Pictures and tables so far: for ids.
    count: usize,
    /// The chapter under way, and its boxes and blanks so far: what is kept of them is kept under these names.
    chapter: String,
    fields: usize,
}

impl HtmlPage<'_> {
    fn put(&mut self, text: std::fmt::Arguments) {
        self.out.write_fmt(text).expect("a string takes all that is written to it");
    }

    fn contents(&mut self, book: &Book) {
        if !book.chapters.is_empty() {
            self.out += "<nav id=\"book-contents\" aria-label=\"Contents\">\n<p>Contents</p>\n<ol>\n";
            for chapter in &book.chapters {
                self.put(format_args!("<li><a href=\"#{}\">{}</a></li>\n", chapter.anchor, escaped(&chapter.title)));
            }
            self.out += "</ol>\n</nav>\n";
        }
    }

    /// What holds for the whole book on a screen.
    fn notes(&mut self, book: &Book) {
        let mut blocks = book.chapters.iter().flat_map(|chapter| &chapter.blocks);
        if blocks.clone().any(filled_in) {
            self.put(format_args!(
                "<p class=\"quiet screen\" id=\"book-kept\" role=\"status\" data-key=\"{}\">Ticks and notes last only while this page is \
                 open: print it to keep them.</p>\n<p class=\"screen\"><button type=\"button\" id=\"book-forget\" hidden>take all ticks and \
                 notes out</button></p>\n",
                escaped(&book.key)
            ));
        }
        if blocks.any(|block| matches!(block, Block::Picture(_))) {
            self.out += "<p class=\"quiet screen\">Scales of pictures hold on paper printed at 100 %, not on a screen.</p>\n";
        }
    }

    fn chapter(&mut self, chapter: &Chapter) {
        let anchor = &chapter.anchor;
        (self.chapter, self.fields) = (anchor.clone(), 0);
        self.put(format_args!("<section aria-labelledby=\"{anchor}\">\n<h2 id=\"{anchor}\">{}</h2>\n", escaped(&chapter.title)));
        for block in &chapter.blocks {
            self.block(block);
        }
        self.out += "<p class=\"back screen\"><a href=\"#book-contents\">to the contents</a></p>\n</section>\n";
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading(text) => self.put(format_args!("<h3>{}</h3>\n", escaped(text))),
            Block::Paragraph(text) => {
                let text = self.text(text);
                self.put(format_args!("<p>{text}</p>\n"));
            }
            Block::Steps(steps) => {
                self.out += "<ol class=\"steps\">\n";
                for step in steps {
                    let text = self.text(step);
                    self.put(format_args!("<li>{text}</li>\n"));
                }
                self.out += "</ol>\n";
            }
            Block::Ticks(items) => {
                self.out += "<ul class=\"ticks\">\n";
                for item in items {
                    let text = self.text(item);
                    let name = self.field();
                    self.put(format_args!("<li><label><input type=\"checkbox\" {name}><span>{text}</span></label></li>\n"));
                }
                self.out += "</ul>\n";
            }
            Block::Caution(texts) => {
                self.out += "<aside role=\"note\">\n<p><strong>Care</strong></p>\n";
                for text in texts {
                    let text = self.text(text);
                    self.put(format_args!("<p>{text}</p>\n"));
                }
                self.out += "</aside>\n";
            }
            Block::Facts(facts) if facts.is_empty() => {}
            Block::Facts(facts) => {
                self.out += "<dl>\n";
                for (name, value) in facts {
                    let value = self.text(value);
                    self.put(format_args!("<div><dt>{}</dt><dd>{value}</dd></div>\n", escaped(name)));
                }
                self.out += "</dl>\n";
            }
            Block::Table(table) if table.columns.is_empty() => {}
            Block::Table(table) => self.table(table),
            Block::Picture(picture) => self.picture(picture),
            Block::Blanks(names) => {
                self.out += "<ul class=\"blanks\">\n";
                for name in names {
                    let field = self.field();
                    self.put(format_args!(
                        "<li><label><span>{}</span><input type=\"text\" {field}></label></li>\n",
                        escaped(name)
                    ));
                }
                self.out += "</ul>\n";
            }
            Block::NewPage | Block::AtOnce | Block::Apart => {}
        }
    }

    /// The name of the next box or blank, as an attribute.
    fn field(&mut self) -> String {
        self.fields += 1;
        format!("name=\"{}.{}\"", self.chapter, self.fields)
    }

    fn text(&self, text: &Text) -> String {
        let run = |run: &Run| match run {
            Run::Plain(text) => unparted(text),
            Run::Strong(text) => format!("<strong>{}</strong>", escaped(text)),
            Run::Number { shown, pointer, value } => {
                format!("<data value=\"{value:?}\" data-in=\"{}\">{}</data>", escaped(pointer), escaped(shown))
            }
            Run::Link { shown, anchor } if self.anchors.contains(&anchor.as_str()) => {
                format!("<a href=\"#{anchor}\">{}</a>", escaped(shown))
            }
            // A chapter that this book does not have: the words still say what is meant.
            Run::Link { shown, .. } => escaped(shown),
        };
        text.0.iter().map(run).collect()
    }

    fn table(&mut self, table: &Table) {
        self.count += 1;
        let id = format!("book-table-{}", self.count);
        let by_hand = if table.rows.iter().flatten().any(|cell| cell.text().is_none()) { " by-hand" } else { "" };
        // On paper nothing can be scrolled.
        let many = if MANY_COLUMNS <= table.columns.len() { " many" } else { "" };
        let stacked = if on_a_phone(table) { "" } else { " stacked" };
        // Focusable, so that a keyboard can scroll it.
        let name = if table.caption.is_empty() { "aria-label=\"Table\"".into() } else { format!("aria-labelledby=\"{id}\"") };
        self.put(format_args!("<div class=\"wide{by_hand}{many}{stacked}\" role=\"group\" {name} tabindex=\"0\">\n<table>\n"));
        if !table.caption.is_empty() {
            self.put(format_args!("<caption id=\"{id}\">{}</caption>\n", escaped(&table.caption)));
        }
        self.out += "<thead>\n<tr>";
        for (k, column) in table.columns.iter().enumerate() {
            let longest = table.rows.iter().filter_map(|row| row[k].text()).map(|text| text.letters().chars().count()).max();
            // Figures do not wrap. Words would be wrapped to one a line on a phone if their column did not ask for more.
            let look = match longest {
                _ if column.figures => " class=\"figures\"".to_owned(),
                Some(letters) if SHORT_LETTERS < letters => format!(" style=\"min-width:{}em\"", letters.min(WIDE_LETTERS) / 2),
                _ => String::new(),
            };
            self.put(format_args!("<th scope=\"col\"{look}>{}</th>", escaped(&column.head)));
        }
        self.out += "</tr>\n</thead>\n<tbody>\n";
        for row in &table.rows {
            self.out += "<tr>";
            let first = row.first().and_then(Cell::text).map(Text::letters).unwrap_or_default();
            for (k, (cell, column)) in row.iter().zip(&table.columns).enumerate() {
                let head = if stacked.is_empty() { String::new() } else { format!(" data-head=\"{}\"", escaped(&column.head)) };
                let said = [column.head.as_str(), first.as_str()].into_iter().filter(|part| !part.is_empty());
                let said = escaped(&said.collect::<Vec<_>>().join(": "));
                match cell {
                    Cell::Text(text) => {
                        let (letters, mut inside) = (text.letters(), self.text(text));
                        // A size such as 1 1/2 in stays on one line.
                        let short = letters.chars().count() <= ONE_LINE && letters.contains(|c: char| c.is_ascii_digit());
                        if short && !stacked.is_empty() {
                            // Beside its head on a card, as one piece.
                            inside = format!("<span>{inside}</span>");
                        }
                        let mut class = if column.figures {
                            vec!["figures"]
                        } else if short {
                            vec!["short"]
                        } else {
                            vec![]
                        };
                        if letters.trim().is_empty() {
                            class.push("none");
                        } else if HALF_LETTERS < longest_word(&letters) || 2 * HALF_LETTERS < letters.chars().count() {
                            class.push("long");
                        }
                        let class = if class.is_empty() { String::new() } else { format!(" class=\"{}\"", class.join(" ")) };
                        if k == 0 {
                            self.put(format_args!("<th scope=\"row\"{class}{head}>{inside}</th>"));
                        } else {
                            self.put(format_args!("<td{class}{head}>{inside}</td>"));
                        }
                    }
                    Cell::Blank => {
                        let field = self.field();
                        let long = if SHORT_LETTERS < column.head.chars().count() { " long" } else { "" };
                        self.put(format_args!(
                            "<td class=\"blank{long}\"{head}><input type=\"text\" {field} aria-label=\"{said}\"></td>"
                        ));
                    }
                    Cell::Tick => {
                        let field = self.field();
                        self.put(format_args!(
                            "<td class=\"tick\"{head}><input type=\"checkbox\" {field} aria-label=\"{said}\"></td>"
                        ));
                    }
                }
            }
            self.out += "</tr>\n";
        }
        self.out += "</tbody>\n</table>\n</div>\n";
    }

    fn picture(&mut self, picture: &Picture) {
        self.count += 1;
        let id = self.count;
        let bounds = font::extent(&picture.drawing).grown(BORDER_MM);
        let [width, height] = [bounds.width(), bounds.height()].map(number::mm);
        let narrowest = number::mm(bounds.width().min(NARROWEST_PICTURE_MM));
        // Wider than a phone: it slides in its own frame, by keyboard too, and says so there.
        let wide = PHONE_MM < bounds.width();
        let slides = if wide { " class=\"slides\"" } else { "" };
        let region = if wide {
            format!(" role=\"group\" tabindex=\"0\" aria-label=\"{}\"", escaped(&picture.caption))
        } else {
            String::new()
        };
        let hint = if wide { "<p class=\"hint screen\">The picture slides sideways.</p>\n" } else { "" };
        self.put(format_args!(
            "<figure{slides}>\n<div{region}>\n<svg role=\"img\" aria-labelledby=\"book-picture-{id}\" viewBox=\"0 0 {width} {height}\" \
             style=\"width:{width}mm;min-width:{narrowest}mm\" font-family=\"'Book B612', sans-serif\">\n\
             <title id=\"book-picture-{id}\">{}</title>\n",
            escaped(&picture.alt)
        ));
        // Areas lie under all lines; within a kind the drawing's own order stays.
        let order = [Kind::Tone].into_iter().chain(Kind::ALL.into_iter().filter(|kind| *kind != Kind::Tone));
        for kind in order {
            let items: Vec<&Item> = picture.drawing.items.iter().filter(|item| item.kind == kind).collect();
            if !items.is_empty() {
                self.group(kind, &items, bounds);
            }
        }
        let smaller = PRINTED_MM.0 < bounds.width() || PRINTED_MM.1 < bounds.height();
        let note = if smaller { " (printed smaller than the scale stated, to fit a page)" } else { "" };
        self.put(format_args!("</svg>\n</div>\n{hint}<figcaption>{}{note}</figcaption>\n</figure>\n", escaped(&picture.caption)));
    }

    fn group(&mut self, kind: Kind, items: &[&Item], bounds: Bounds) {
        let LineStyle { rgb: [r, g, b], weight_mm, dashes, .. } = self.lines.style(kind);
        let color = format!("#{r:02x}{g:02x}{b:02x}");
        if kind == Kind::Tone {
            self.put(format_args!("<g fill=\"{color}\">\n"));
        } else {
            let dashes: Vec<String> = dashes.iter().map(|length| number::mm(*length)).collect();
            let dashes = if dashes.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", dashes.join(" ")) };
            let weight = number::mm(*weight_mm);
            self.put(format_args!("<g fill=\"none\" stroke=\"{color}\" stroke-width=\"{weight}\"{dashes}>\n"));
        }
        for item in items {
            match &item.shape {
                Shape::Path(path) => self.put(format_args!("<path d=\"{}\"/>\n", data(path, bounds, MM_DECIMALS))),
                Shape::Label(label) => self.label(label, &color, bounds),
            }
        }
        self.out += "</g>\n";
    }

    fn label(&mut self, label: &Label, color: &str, bounds: Bounds) {
        let [x, y] = [label.at.x - bounds.min.x, bounds.max.y - label.at.y].map(number::mm);
        let size = number::mm(font::em_mm(label.cap_mm, label.lettering));
        let anchor = match label.align {
            Align::Left => "",
            Align::Middle => " text-anchor=\"middle\"",
            Align::Right => " text-anchor=\"end\"",
        };
        let bold = if label.lettering == Lettering::Bold { " font-weight=\"700\"" } else { "" };
        // Counter-clockwise here, clockwise in SVG.
        let degrees = number::mm(-label.angle_rad.to_degrees());
        let turn = if degrees == "0" { String::new() } else { format!(" transform=\"rotate({degrees} {x} {y})\"") };
        self.put(format_args!(
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" fill=\"{color}\" stroke=\"none\"{anchor}{bold}{turn}>{}</text>\n",
            escaped(&label.text)
        ));
    }
}

/// There is something in it to tick or to write into.
fn filled_in(block: &Block) -> bool {
    match block {
        Block::Ticks(_) | Block::Blanks(_) => true,
        Block::Table(table) => table.rows.iter().flatten().any(|cell| cell.text().is_none()),
        _ => false,
    }
}

/// Whether a phone shows the table as it is, no word broken and nothing to slide.
fn on_a_phone(table: &Table) -> bool {
    let column = |k: usize| {
        let cells = table.rows.iter().filter_map(|row| row[k].text()).map(|text| {
            let letters = text.letters();
            // Figures are not wrapped.
            if letters.chars().count() <= ONE_LINE { letters.chars().count() } else { longest_word(&letters) }
        });
        let blank = table.rows.iter().any(|row| row[k].text().is_none());
        cells.chain([longest_word(&table.columns[k].head), if blank { 5 } else { 0 }]).max().unwrap_or(0) + WHITE_LETTERS
    };
    (0..table.columns.len()).map(column).sum::<usize>() <= PHONE_LETTERS
}

fn longest_word(text: &str) -> usize {
    text.split_whitespace().map(|word| word.chars().count()).max().unwrap_or(0)
}

/// Text as HTML whose mixed numbers, ratios and their units stay on one line: `72 15/32 in`, `1 : 15`.
fn unparted(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let bare = |word: &str| word.trim_end_matches([',', '.', ';', ':', ')']).to_owned();
    let is_digit = |c: char| c.is_ascii_digit();
    let fraction = |word: &str| word.starts_with(is_digit) && word.contains('/') && bare(word).ends_with(is_digit);
    let joined = |k: usize, open: bool| {
        let (word, next) = (words[k], words[k + 1]);
        let number = word.ends_with(is_digit);
        number && (fraction(next) || next == ":" || open && ["in", "mm"].contains(&bare(next).as_str()))
            || word == ":" && open && next.starts_with(is_digit)
    };
    let mut out = String::with_capacity(text.len());
    let mut open = false;
    for (k, word) in words.iter().enumerate() {
        let goes_on = k + 1 < words.len() && joined(k, open);
        if goes_on && !open {
            out.push_str("<span class=\"whole\">");
        }
        out.push_str(&escaped(word));
        if open && !goes_on {
            out.push_str("</span>");
        }
        if k + 1 < words.len() {
            out.push(' ');
        }
        open = goes_on;
    }
    out
}

/// Text as HTML, in elements and in quoted attributes. Control characters, which HTML does not allow, are left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            _ if c.is_control() || is_noncharacter(c) => {}
            _ => out.push(c),
        }
    }
    out
}

/// Code points that no text may hold (Unicode, noncharacters).
fn is_noncharacter(c: char) -> bool {
    let code = u32::from(c);
    (0xFDD0..=0xFDEF).contains(&code) || code & 0xFFFE == 0xFFFE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_in_a_text_is_taken_for_markup() {
        assert_eq!(
            unparted("saw 72 15/32 in, at 1 : 15 & no more"),
            "saw <span class=\"whole\">72 15/32 in,</span> at <span class=\"whole\">1 : 15</span> &amp; no more"
        );
        assert_eq!(unparted("2 of 3, every 1/2 in"), "2 of 3, every 1/2 in");
        assert_eq!(escaped("a<b> & \"c\" 'd'\u{0}\u{FFFF}\n½"), "a&lt;b&gt; &amp; &quot;c&quot; &#39;d&#39; ½");
    }
}
