//! What a book is made of: chapters of blocks. Chapters say what is shown; a writer decides how a page or a screen shows it.
//!
//! Nothing here knows paper, fonts or HTML. Every number that also stands in `report.json` is a [`Run::Number`] with the JSON
//! pointer (RFC 6901) of its place there and the metric value it was shown from, so that a test can read the book again and
//! hold it against the report.

use crate::drawing::Drawing;

/// A whole book, in the order of the work.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Book {
    pub title: String,
    /// One line under the title.
    pub subtitle: String,
    /// What made it: program and version, build file, short hash of the input, options that are not the default.
    pub made_by: String,
    /// What tells this book from others, for what a reader keeps of it: program's version and hash of the input.
    pub key: String,
    pub chapters: Vec<Chapter>,
}

#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chapter {
    /// Where links lead: lower-case letters, digits and `-`, each once in a book.
    pub anchor: String,
    pub title: String,
    pub blocks: Vec<Block>,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading inside a chapter. A writer keeps it with what follows.
    Heading(String),
    Paragraph(Text),
    /// Steps in an order.
    Steps(Vec<Text>),
    /// Things to do, each with a box to tick.
    Ticks(Vec<Text>),
    /// Cautions, set apart from everything else.
    Caution(Vec<Text>),
    /// Name and value pairs.
    Facts(Vec<(String, Text)>),
    Table(Table),
    Picture(Picture),
    /// Named blanks to write a reading into by hand, such as `reflex left at the nock, in`.
    Blanks(Vec<String>),
    /// What follows starts a new page on paper; nothing on a screen.
    NewPage,
    /// From here to [`Block::Apart`], or to the chapter's end, all is wanted at once: on one page of paper, or on two that face each
    /// other, parted between blocks. What follows in the chapter may come before it. At most once in a chapter.
    AtOnce,
    Apart,
}

/// Running text.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Text(pub Vec<Run>);

#[derive(Debug, Clone, PartialEq)]
pub enum Run {
    Plain(String),
    Strong(String),
    /// A number of the report: as shown, its JSON pointer there, and its value there.
    Number {
        shown: String,
        pointer: String,
        value: f64,
    },
    /// A link to a chapter of the same book, by its anchor.
    Link {
        shown: String,
        anchor: String,
    },
}

#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// What the table shows, above it.
    pub caption: String,
    pub columns: Vec<Column>,
    pub rows: Vec<Vec<Cell>>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    pub head: String,
    /// Figures stand flush right.
    pub figures: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    Text(Text),
    /// Room to write by hand.
    Blank,
    /// A box to tick.
    Tick,
}

/// A drawing in millimetres of the page: what is drawn is already at the scale that its caption states.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    pub drawing: Drawing,
    /// Says the scale, as `1 : 5`, or that it is not to scale.
    pub caption: String,
    /// What it shows, in words, for who cannot see it.
    pub alt: String,
}

impl Block {
    /// All running text in the block.
    pub fn texts(&self) -> Vec<&Text> {
        match self {
            Block::Paragraph(text) => vec![text],
            Block::Steps(texts) | Block::Ticks(texts) | Block::Caution(texts) => texts.iter().collect(),
            Block::Facts(facts) => facts.iter().map(|(_, text)| text).collect(),
            Block::Table(table) => table.rows.iter().flatten().filter_map(Cell::text).collect(),
            Block::Heading(_) | Block::Picture(_) | Block::Blanks(_) => Vec::new(),
            Block::NewPage | Block::AtOnce | Block::Apart => Vec::new(),
        }
    }
}

impl Cell {
    pub fn text(&self) -> Option<&Text> {
        match self {
            Cell::Text(text) => Some(text),
            Cell::Blank | Cell::Tick => None,
        }
    }
}

impl Text {
    pub fn number(shown: impl Into<String>, pointer: impl Into<String>, value: f64) -> Text {
        Text(vec![Run::Number { shown: shown.into(), pointer: pointer.into(), value }])
    }

    pub fn strong(text: impl Into<String>) -> Text {
        Text(vec![Run::Strong(text.into())])
    }

    pub fn link(shown: impl Into<String>, anchor: impl Into<String>) -> Text {
        Text(vec![Run::Link { shown: shown.into(), anchor: anchor.into() }])
    }

    /// This text and then another.
    pub fn then(mut self, more: impl Into<Text>) -> Text {
        self.0.extend(more.into().0);
        self
    }

    /// All letters, without what they mean.
    pub fn letters(&self) -> String {
        self.0
            .iter()
            .map(|run| match run {
                Run::Plain(text) | Run::Strong(text) => text.as_str(),
                Run::Number { shown, .. } | Run::Link { shown, .. } => shown,
            })
            .collect()
    }
}

impl From<&str> for Text {
    fn from(text: &str) -> Text {
        Text(vec![Run::Plain(quoted(text))])
    }
}

impl From<String> for Text {
    fn from(text: String) -> Text {
        Text(vec![Run::Plain(quoted(&text))])
    }
}

/// Names that a message sets between grave accents, as a terminal shows them, between quotation marks.
pub(super) fn quoted(text: &str) -> String {
    let mut parts = text.split('`');
    let mut out = parts.next().unwrap_or_default().to_owned();
    for (number, part) in parts.enumerate() {
        out.push(if number % 2 == 0 { '“' } else { '”' });
        out.push_str(part);
    }
    out
}

impl<T: Into<Text>> From<T> for Cell {
    fn from(text: T) -> Cell {
        Cell::Text(text.into())
    }
}

impl Column {
    pub fn words(head: impl Into<String>) -> Column {
        Column { head: head.into(), figures: false }
    }

    pub fn figures(head: impl Into<String>) -> Column {
        Column { head: head.into(), figures: true }
    }
}
