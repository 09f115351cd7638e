//! Faults and warnings: what is wrong, where in the build file, and what would help.
//!
//! Any room can make a [`Diagnostic`]; none of them prints. A [`Place`] is the key path in the build file
//! (`lamination[1].taper`); the build file's reader knows which bytes that is, and [`render`] puts a caret there.

use crate::units::System;
use crate::units::limit::{self, Toward};
use annotate_snippets::{Annotation, AnnotationKind, Level, Renderer, Snippet};
use std::borrow::Cow;
use std::fmt;
use std::ops::Range;

/// A length in mm for a message, written in the builder's units once the message is shown ([`spoken`]).
///
/// Rooms past the door know no inches, so they mark what is a length and leave its unit to whoever prints it. In a format
/// string the marks can stand themselves: `"the strip is ⟨{t} mm⟩ thin"`.
pub fn mm(length_mm: f64) -> String {
    format!("⟨{length_mm} mm⟩")
}

/// The least length that would do, for a hint: rounded up, so that it still does when it is typed in.
pub fn at_least(length_mm: f64) -> String {
    format!("⟨{length_mm} mm up⟩")
}

/// The greatest length that would do, for a hint: rounded down.
pub fn at_most(length_mm: f64) -> String {
    format!("⟨{length_mm} mm down⟩")
}

/// A force in N for a message, written in the builder's units once the message is shown.
pub fn newtons(force_n: f64) -> String {
    format!("⟨{force_n} N⟩")
}

/// The speed of an arrow, in a message.
pub fn arrow_speed(speed_mm_s: f64) -> String {
    format!("⟨{speed_mm_s} mm/s⟩")
}

/// What an arrow or a string weighs, in a message.
pub fn small_mass(mass_kg: f64) -> String {
    format!("⟨{mass_kg} kg⟩")
}

/// A modulus in MPa for a message, written in the builder's units once the message is shown.
pub fn mpa(modulus_mpa: f64) -> String {
    format!("⟨{modulus_mpa} MPa⟩")
}

/// A message with its marked lengths and forces in the units of `system`.
///
/// Two lengths of one message that differ are written with so many digits that one sees it.
///
/// ```
/// use taperwright::{diag, units::System};
/// let message = format!("the strip is {} thin", diag::mm(0.9144));
/// assert_eq!(diag::spoken(&message, System::Inch), "the strip is 0.036 in thin");
/// assert_eq!(diag::spoken(&message, System::Millimetre), "the strip is 0.914 mm thin");
/// let hint = format!("take {} or more", diag::at_least(12.0001));
/// assert_eq!(diag::spoken(&hint, System::Millimetre), "take 12.001 mm or more");
/// let close = format!("{} is under {}", diag::mm(299.98), diag::mm(300.0));
/// assert_eq!(diag::spoken(&close, System::Millimetre), "299.98 mm is under 300 mm");
/// ```
pub fn spoken(message: &str, system: System) -> String {
    let more_decimals = (0..MOST_MORE_DECIMALS).find(|more| told_apart(message, system, *more)).unwrap_or(MOST_MORE_DECIMALS);
    let mut out = String::with_capacity(message.len());
    let mut rest = message;
    while let Some((before, marked)) = rest.split_once('⟨') {
        out.push_str(before);
        let Some((inside, after)) = marked.split_once('⟩') else {
            rest = marked;
            continue;
        };
        if let Some(said) = marked_shot(inside, system) {
            out.push_str(&said);
            rest = after;
            continue;
        }
        match (marked_length(inside), inside.strip_suffix("N").and_then(|number| number.trim().parse::<f64>().ok())) {
            (Some((length_mm, toward)), _) => out.push_str(&system.measure_finer(length_mm, toward, more_decimals)),
            (None, Some(force_n)) => out.push_str(&system.force_text(force_n)),
            (None, None) => match inside.strip_suffix("MPa").and_then(|number| number.trim().parse::<f64>().ok()) {
                Some(modulus_mpa) => out.push_str(&system.modulus(modulus_mpa)),
                None => out.push_str(inside),
            },
        }
        rest = after;
    }
    out.push_str(rest);
    out
}

/// What stands in the marks of an arrow's speed or mass.
fn marked_shot(inside: &str, system: System) -> Option<String> {
    let number = |unit: &str| inside.strip_suffix(unit)?.trim().parse::<f64>().ok();
    let speed = number("mm/s").map(|mm_s| system.arrow_speed(mm_s));
    speed.or_else(|| number("kg").map(|kg| system.small_mass(kg)))
}

/// Lengths that differ by more than a limit's tolerance are told apart by this many digits more, in inches and in mm.
const MOST_MORE_DECIMALS: usize = 5;

/// What stands in the marks of a length: mm, and where it is rounded to.
fn marked_length(inside: &str) -> Option<(f64, Toward)> {
    let (inside, toward) = match (inside.strip_suffix(" up"), inside.strip_suffix(" down")) {
        (Some(inside), _) => (inside, Toward::Up),
        (_, Some(inside)) => (inside, Toward::Down),
        _ => (inside, Toward::Nearest),
    };
    Some((inside.strip_suffix("mm")?.trim().parse().ok()?, toward))
}

/// No two lengths of the message look equal that are not.
fn told_apart(message: &str, system: System, more_decimals: usize) -> bool {
    let marked = message.split('⟨').skip(1).filter_map(|part| marked_length(part.split_once('⟩')?.0));
    let lengths: Vec<(f64, String)> = marked.map(|(mm, toward)| (mm, system.measure_finer(mm, toward, more_decimals))).collect();
    let differ = |a: &(f64, String), b: &(f64, String)| limit::same(a.0, b.0) || a.1 != b.1;
    lengths.iter().enumerate().all(|(index, a)| lengths[..index].iter().all(|b| differ(a, b)))
}

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

/// A key path as the user wrote it, such as `sander.papers[0].most`; empty for the file as a whole.
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
    pub message: String,
    pub hints: Vec<String>,
}

impl Diagnostic {
    pub fn fault(place: Place, message: impl Into<String>) -> Self {
        Diagnostic { severity: Severity::Fault, place, message: message.into(), hints: Vec::new() }
    }

    pub fn warning(place: Place, message: impl Into<String>) -> Self {
        Diagnostic { severity: Severity::Warning, place, message: message.into(), hints: Vec::new() }
    }

    /// The same diagnostic with its lengths and forces in the builder's units.
    pub fn spoken(&self, system: System) -> Diagnostic {
        Diagnostic {
            message: spoken(&self.message, system),
            hints: self.hints.iter().map(|hint| spoken(hint, system)).collect(),
            ..self.clone()
        }
    }

    /// Adds what would help.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hints.push(hint.into());
        self
    }
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.message)?;
        for hint in &self.hints {
            write!(f, " ({hint})")?;
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
pub trait Source {
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

/// Renders diagnostics as text: each with its line, a caret under the value, and the hints; `colour` adds terminal colours.
pub fn render(diagnostics: &[Diagnostic], source: &dyn Source, colour: bool) -> String {
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let mut out = String::new();
    for diagnostic in diagnostics {
        let level = match diagnostic.severity {
            Severity::Fault => Level::ERROR.with_name("fault"),
            Severity::Warning => Level::WARNING,
        };
        let hint = Level::HELP.with_name("hint");
        let title = format!("{}: {}", source.words(&diagnostic.place), diagnostic.message);
        let group = level.primary_title(visible(&title).into_owned()).elements(shown_line(source, &diagnostic.place));
        let group = group.elements(diagnostic.hints.iter().map(|text| hint.clone().message(visible(text))));
        out.push_str(&renderer.render(&[group]));
        out.push_str("\n\n");
    }
    out
}

/// The line of a place with its caret; nothing for the file as a whole.
///
/// A value of many lines is marked on its first line only: the reader wants to know where it is, not how long it is.
fn shown_line<'a>(source: &'a dyn Source, place: &Place) -> Option<Snippet<'a, Annotation<'a>>> {
    let span = source.span(place)?;
    let text = source.text();
    let start = text.floor_char_boundary(span.start);
    let line_end = text[start..].find(['\n', '\r']).map_or(text.len(), |length| start + length);
    let span = start..text.floor_char_boundary(span.end.clamp(start, line_end));
    Some(Snippet::source(text).path(source.name()).line_start(1).fold(true).annotation(AnnotationKind::Primary.span(span)))
}
