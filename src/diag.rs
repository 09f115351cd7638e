//! Faults and warnings: what is wrong, where in the build file, and what would help.
//!
//! Any room can make a [`Diagnostic`]; none of them prints. A [`Place`] is the key path in the build file
//! (`lamination[1].taper`); the build file's reader knows which bytes that is, and [`render`] puts a caret there.

#[macro_use]
mod message;
pub mod wrap;

pub use message::{Fill, Message, Piece, arrow_speed, at_least, at_most, gaps, mm, mpa, newtons, ruled, small_mass};

use crate::units::System;
use annotate_snippets::{Annotation, AnnotationKind, Level, Renderer, Snippet};
use std::borrow::Cow;
use std::fmt;
use std::ops::Range;

/// A message as a sentence: a capital in front and a full stop behind.
///
/// ```
/// use taperwright::diag::sentence;
/// assert_eq!(sentence("glue the rails"), "Glue the rails.");
/// assert_eq!(sentence("`core` is thin!"), "`core` is thin!");
/// ```
pub fn sentence(message: &str) -> String {
    let mut letters = message.chars();
    let first: String = letters.next().map(|letter| letter.to_uppercase().collect()).unwrap_or_default();
    let text = format!("{first}{}", letters.as_str());
    if text.ends_with(['.', '!', '?']) { text } else { format!("{text}.") }
}

/// How bad it is: a fault stops the work, a warning rides along with the result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    Warning,
    Fault,
}

/// A key path as the user wrote it, such as `sander.papers[0].max`; empty for the file as a whole.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Place(String);

impl Place {
    pub fn whole_file() -> Self {
        Place(String::new())
    }

    pub fn new(path: impl Into<String>) -> Self {
        Place(path.into())
    }

    /// The place of `key` inside this table.
    pub fn key(&self, key: &str) -> Place {
        if self.0.is_empty() { Place(key.to_owned()) } else { Place(format!("{}.{key}", self.0)) }
    }

    /// The place of element `index` (from 0) inside this array.
    pub fn index(&self, index: usize) -> Place {
        Place(format!("{}[{index}]", self.0))
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// The table or array that holds this place; `None` at the top.
    pub fn parent(&self) -> Option<Place> {
        if self.0.is_empty() {
            return None;
        }
        Some(Place(self.0.rfind(['.', '[']).map_or(String::new(), |at| self.0[..at].to_owned())))
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if self.0.is_empty() { "build file" } else { &self.0 })
    }
}

/// One thing that is wrong or worth knowing. Messages are lower case without a full stop and carry the value and the limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    pub severity: Severity,
    pub place: Place,
    pub message: Message,
    pub hints: Vec<Message>,
}

/// What a diagnostic says, as texts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Words {
    pub message: String,
    pub hints: Vec<String>,
}

impl Diagnostic {
    pub fn fault(place: Place, message: impl Into<Message>) -> Self {
        Diagnostic { severity: Severity::Fault, place, message: message.into(), hints: Vec::new() }
    }

    pub fn warning(place: Place, message: impl Into<Message>) -> Self {
        Diagnostic { severity: Severity::Warning, place, message: message.into(), hints: Vec::new() }
    }

    /// The same diagnostic as words alone, its quantities in the builder's units.
    pub fn spoken(&self, system: System) -> Diagnostic {
        let Words { message, hints } = self.words(system);
        Diagnostic {
            severity: self.severity,
            place: self.place.clone(),
            message: message.into(),
            hints: hints.into_iter().map(Message::from).collect(),
        }
    }

    /// What it says as texts, its quantities in the builder's units.
    pub fn words(&self, system: System) -> Words {
        Words { message: self.message.spoken(system), hints: self.hints.iter().map(|hint| hint.spoken(system)).collect() }
    }

    /// Adds what would help.
    pub fn hint(mut self, hint: impl Into<Message>) -> Self {
        self.hints.push(hint.into());
        self
    }
}

/// In millimetres, unless it was [spoken](Diagnostic::spoken) before.
impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.message.spoken(System::Millimetre))?;
        for hint in &self.hints {
            write!(f, " ({})", hint.spoken(System::Millimetre))?;
        }
        Ok(())
    }
}

/// A result together with the warnings met on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Reported<T> {
    pub value: T,
    pub warnings: Vec<Diagnostic>,
}

/// A value with its warnings, or every fault that was found (at least one).
pub type Outcome<T> = Result<Reported<T>, Vec<Diagnostic>>;

impl<T> Reported<T> {
    pub fn clean(value: T) -> Self {
        Reported { value, warnings: Vec::new() }
    }
}

/// The text of a build file and where each key path stands in it.
pub trait SourceText {
    /// The file's name as the user gave it.
    fn name(&self) -> &str;
    fn text(&self) -> &str;
    /// Bytes of the value at this key path, or of the nearest table around it.
    fn span(&self, place: &Place) -> Option<Range<usize>>;
    /// The place as the reader of the file would name it, such as `lamination "core", taper`.
    fn words(&self, place: &Place) -> String {
        place.to_string()
    }
}

/// Whether a letter would do something to a terminal instead of showing: control characters, and those that turn the direction of
/// writing. Line breaks and tabs stay.
fn acts(letter: char) -> bool {
    let turns = matches!(letter, '\u{061c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    turns || letter.is_control() && letter != '\n' && letter != '\t'
}

/// The text with such letters written as `\u001b`, which JSON reads back as what they were.
///
/// ```
/// assert_eq!(taperwright::diag::visible("core \u{1b}[2J"), "core \\u001b[2J");
/// ```
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.contains(acts) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for letter in text.chars() {
        if acts(letter) {
            out.push_str(&format!("\\u{:04x}", u32::from(letter)));
        } else {
            out.push(letter);
        }
    }
    Cow::Owned(out)
}

/// Renders diagnostics as text (in mm, unless they were [spoken](Diagnostic::spoken) before): each with its line, a caret under the value, and the hints.
pub fn render(diagnostics: &[Diagnostic], source: &dyn SourceText) -> String {
    render_on(diagnostics, source, Screen { colour: false, columns: None })
}

/// What text is shown on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Screen {
    /// It shows a terminal's colours.
    pub colour: bool,
    /// Columns of its window; `None` where there is no window.
    pub columns: Option<usize>,
}

/// The same for a screen.
pub fn render_on(diagnostics: &[Diagnostic], source: &dyn SourceText, screen: Screen) -> String {
    let Screen { colour, columns } = screen;
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let renderer = columns.map_or(renderer.clone(), |columns| renderer.term_width(columns));
    let mut out = String::new();
    for diagnostic in diagnostics {
        let level = match diagnostic.severity {
            Severity::Fault => Level::ERROR.with_name("fault"),
            Severity::Warning => Level::WARNING,
        };
        let hint = Level::HELP.with_name("hint");
        let title = format!("{}: {}", source.words(&diagnostic.place), diagnostic.message.spoken(System::Millimetre));
        let line = shown_line(source, &diagnostic.place, columns);
        // What the renderer puts before a hint: the width of the line's number, and a mark.
        let number = line.as_ref().map_or(1, |line| line.number.to_string().len());
        let within = |text: String, before: usize| match columns {
            Some(columns) => wrap::message(&visible(&text), columns.saturating_sub(before)),
            None => visible(&text).into_owned(),
        };
        let title = within(title, if diagnostic.severity == Severity::Fault { "fault: ".len() } else { "warning: ".len() });
        let hints = diagnostic
            .hints
            .iter()
            .map(|text| hint.clone().message(within(text.spoken(System::Millimetre), number + "   hint: ".len())));
        let group = level.primary_title(title).elements(line.map(|line| line.snippet)).elements(hints);
        out.push_str(&renderer.render(&[group]));
        out.push_str("\n\n");
    }
    out
}

/// The line that a place begins on.
struct ShownLine<'a> {
    /// Counted from 1.
    number: usize,
    snippet: Snippet<'a, Annotation<'a>>,
}

/// Columns of a window that a caret leaves for the line's number and for what is cut off on both sides.
const BESIDE_CARETS: usize = 20;

/// The line of a place with its caret; nothing for the file as a whole.
///
/// A value of many lines is marked on its first line only, and a long one as far as the window goes: the reader wants to know where it is,
/// not how long it is.
fn shown_line<'a>(source: &'a dyn SourceText, place: &Place, columns: Option<usize>) -> Option<ShownLine<'a>> {
    let span = source.span(place)?;
    let text = source.text();
    let start = text.floor_char_boundary(span.start);
    let line_end = text[start..].find(['\n', '\r']).map_or(text.len(), |length| start + length);
    let mut end = text.floor_char_boundary(span.end.clamp(start, line_end));
    if let Some(columns) = columns {
        let max = columns.saturating_sub(BESIDE_CARETS).max(1);
        end = text[start..end].char_indices().nth(max).map_or(end, |(at, _)| start + at);
    }
    let annotation = AnnotationKind::Primary.span(start..end);
    Some(ShownLine {
        number: text[..start].matches('\n').count() + 1,
        snippet: Snippet::source(text).path(source.name()).line_start(1).fold(true).annotation(annotation),
    })
}
