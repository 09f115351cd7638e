//! Drawings and tables as bytes. Knows the formats, and neither where the results came from nor files nor the clock.
//!
//! Every writer takes the same [`Drawing`] and [`LineTable`](crate::drawing::LineTable) and gives equal bytes for equal input. A number that is not
//! finite, or paper that holds nothing, is an [`Unwritable`].

pub mod number;
pub mod svg;
pub mod figure;
pub mod dxf;
mod dxf_binary;
pub mod dxf_read;
mod dxf_repair;
pub mod tile;
pub mod tagged;
mod pdf_pack;
pub mod canvas;
mod key_page;
pub mod pdf;
pub mod table;
mod typeset;
mod book_grid;
mod book_flow;
pub mod book_pdf;
pub mod book_html;

use crate::book::{Block, Book, Run};
use crate::drawing::{Drawing, Item, Kind, Shape};
use crate::model::workshop::SheetCutter;
use std::collections::BTreeSet;
use std::fmt;

/// Which items a file for a cutter carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Content {
    /// All items, and around them the scale check, title, notes and what made it.
    Everything,
    /// Only the kinds of line that a cutter acts on, at the same coordinates as in the full file. For cutters whose
    /// software cannot switch layers off.
    CutterOnly,
}

/// Which letters to engrave a file for a cutter carries, all as single strokes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Letters {
    /// Lower capitals are left out, mm.
    pub min_mm: f64,
}

impl Letters {
    pub const ALL: Letters = Letters { min_mm: 0.0 };

    /// What suits a cutter. Capitals lower than this close up under the line of an engraving bit or a pen, about half a millimetre
    /// wide; common practice, no source.
    pub fn of(cutter: &SheetCutter) -> Letters {
        match cutter {
            SheetCutter::Router { .. } => Letters { min_mm: 2.5 },
            SheetCutter::Laser { .. } | SheetCutter::Hand { .. } => Letters::ALL,
        }
    }
}

/// Why a drawing cannot be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unwritable {
    /// Name of the drawing.
    pub drawing: String,
    pub reason: String,
}

impl fmt::Display for Unwritable {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "drawing `{}` cannot be written: {}", self.drawing, self.reason)
    }
}

impl std::error::Error for Unwritable {}

impl Unwritable {
    fn new(drawing: &Drawing, reason: impl Into<String>) -> Unwritable {
        Unwritable { drawing: drawing.name.clone(), reason: reason.into() }
    }
}

impl Content {
    /// The items to write, in the order cutters like: marks first, then holes and slots, then outlines, then what is for
    /// the eye. Within a kind the drawing's own order stays.
    fn items<'a>(self, drawing: &'a Drawing, around: &'a Drawing) -> Result<Vec<&'a Item>, Unwritable> {
        let rank = |kind: Kind| match kind {
            Kind::Engrave => 0,
            Kind::Score => 1,
            Kind::CutInside => 2,
            Kind::Cut => 3,
            _ => 5,
        };
        let rank = |item: &Item| if item.is_between_tabs() { 4 } else { rank(item.kind) };
        let around = around.items.iter().filter(|_| self == Content::Everything);
        let wanted = |item: &&Item| self == Content::Everything || item.kind.is_for_cutter();
        let mut items: Vec<&Item> = drawing.items.iter().filter(wanted).chain(around).collect();
        if items.is_empty() {
            return Err(Unwritable::new(drawing, "it holds nothing for a cutter"));
        }
        items.sort_by_key(|item| rank(item));
        Ok(items)
    }
}

/// Refuses a drawing with a number that is not finite, or with nothing in it.
fn checked(drawing: &Drawing) -> Result<(), Unwritable> {
    if drawing.items.is_empty() && drawing.panels.is_empty() {
        return Err(Unwritable::new(drawing, "it is empty"));
    }
    for item in drawing.items.iter().chain(drawing.panels.iter().flat_map(|panel| &panel.items)) {
        let finite = match &item.shape {
            Shape::Path(path) => path.vertices.iter().all(|v| v.at.x.is_finite() && v.at.y.is_finite() && v.bulge.is_finite()),
            Shape::Label(label) => [label.at.x, label.at.y, label.cap_mm, label.angle_rad].iter().all(|value| value.is_finite()),
        };
        if !finite {
            let of = if item.part.is_empty() { String::new() } else { format!(" of `{}`", item.part) };
            return Err(Unwritable::new(drawing, format!("a {} item{of} has a coordinate that is not finite", item.kind.key())));
        }
    }
    Ok(())
}

/// Refuses a book that no writer can show whole: an anchor twice, a row that does not match its table's columns, a number that
/// is not finite, a picture with nothing in it.
fn checked_book(book: &Book) -> Result<(), Unwritable> {
    let fault = |reason: String| Err(Unwritable { drawing: book.title.clone(), reason });
    let mut anchors = BTreeSet::new();
    for chapter in &book.chapters {
        let letters = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        if chapter.anchor.is_empty() || !chapter.anchor.chars().all(letters) {
            return fault(format!("the anchor `{}` is not made of lower-case letters, digits and `-`", chapter.anchor));
        }
        if !anchors.insert(chapter.anchor.as_str()) {
            return fault(format!("two chapters have the anchor `{}`", chapter.anchor));
        }
        for block in &chapter.blocks {
            match block {
                Block::Picture(picture) => checked(&picture.drawing)?,
                Block::Table(table) => {
                    let count = table.columns.len();
                    if let Some(row) = table.rows.iter().find(|row| row.len() != count) {
                        return fault(format!("table `{}`: a row has {} cells for {count} columns", table.caption, row.len()));
                    }
                }
                _ => {}
            }
            for run in block.texts().into_iter().flat_map(|text| &text.0) {
                if let Run::Number { pointer, value, .. } = run
                    && !value.is_finite()
                {
                    return fault(format!("the number at `{pointer}` is {value}"));
                }
            }
        }
    }
    Ok(())
}

/// A text between quotes or tags, as markup has it.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// A layer's name in letters, digits, `_` and `-`, which every format and reader takes.
fn layer_name(layer: &str) -> String {
    let name: String = layer.chars().map(|c| if c.is_ascii_alphanumeric() || c == '_' || c == '-' { c } else { '_' }).collect();
    if name.is_empty() { "_".to_owned() } else { name }
}
