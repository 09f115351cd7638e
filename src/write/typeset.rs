//! Running text as set lines: words are measured, put into lines ragged right, and broken only where no line can hold them.
//!
//! A word is what stands between two spaces, over the borders of runs, so that a comma never leaves the number before it. The
//! spaces inside a shown number do not break either (`42.0 lbf` stays together). A word wider than its line is broken after a
//! hyphen, slash, underscore, dot or comma if there is one in the last part of the line, and anywhere else if not. Letters are
//! set by their advance widths alone (see `drawing::font`), so widths add up exactly.

use crate::book::{Run, Text};
use crate::drawing::Lettering;
use crate::drawing::font::{self, LEADING_CAPS};
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Letters of one look within a line.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct TextRun {
    pub text: String,
    pub lettering: Lettering,
    /// Anchor of the chapter that this leads to.
    pub link: Option<String>,
    /// From the start of the line, mm.
    pub x_mm: f64,
    pub width_mm: f64,
}

#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct TextLine {
    pub pieces: Vec<TextRun>,
    pub width_mm: f64,
}

/// Room on a page, and what links lead to.
pub(super) struct PageSetting<'a> {
    pub width_mm: f64,
    pub height_mm: f64,
    pub references: &'a References,
}

/// Widest running text: about 85 letters; longer lines are lost on the way back.
pub(super) const MEASURE_MM: f64 = 150.0;

impl PageSetting<'_> {
    /// Widest running text on this page, mm.
    pub fn measure(&self) -> f64 {
        self.width_mm.min(MEASURE_MM)
    }
}

/// From one line of capitals this high to the next, mm.
pub(super) fn leading(cap_mm: f64) -> f64 {
    LEADING_CAPS * cap_mm
}

/// Where the chapters begin: what a link shows on paper.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct References {
    /// Page numbers, from 1.
    pub pages: BTreeMap<String, usize>,
    /// Whether links say their page.
    pub told: bool,
}

/// A text in lines no wider than `width_mm`; at least one line.
pub(super) fn lines(text: &Text, width_mm: f64, cap_mm: f64, references: &References) -> Vec<TextLine> {
    let mut lines = Vec::new();
    let mut line = TextLine::default();
    for word in words(text, cap_mm, references) {
        let space = line.pieces.last().map_or(0.0, |last| font::width_mm(" ", cap_mm, last.lettering));
        if !line.pieces.is_empty() && width_mm + CLOSE_MM < line.width_mm + space + width_of(&word) {
            lines.push(std::mem::take(&mut line));
        }
        if width_mm + CLOSE_MM < width_of(&word) {
            let mut parts = broken(&word, width_mm, cap_mm);
            let rest = parts.pop().unwrap_or_default();
            lines.extend(parts.into_iter().map(|part| TextLine::of(part, cap_mm)));
            line = TextLine::of(rest, cap_mm);
        } else {
            line.add(word, cap_mm);
        }
    }
    if !line.pieces.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

/// Width of the text on one line, and of its widest word, mm.
pub(super) fn widths(text: &Text, cap_mm: f64, references: &References) -> (f64, f64) {
    let mut line = TextLine::default();
    let mut widest = 0.0_f64;
    for word in words(text, cap_mm, references) {
        widest = widest.max(width_of(&word));
        line.add(word, cap_mm);
    }
    (line.width_mm, widest)
}

/// The least width at which the text takes no more than `max` lines, mm.
pub(super) fn width_in_lines(text: &Text, max: usize, cap_mm: f64, references: &References) -> f64 {
    let (single, widest) = widths(text, cap_mm, references);
    let (mut low, mut high) = (widest, single);
    if lines(text, low, cap_mm, references).len() <= max {
        return low;
    }
    // Halved until the width is known to 0.1 mm: a page is less than 2¹² of that.
    for _ in 0..12 {
        let middle = 0.5 * (low + high);
        if lines(text, middle, cap_mm, references).len() <= max { high = middle } else { low = middle }
    }
    high
}

/// The text in letters that the font has. What it lacks becomes what a typist would write, or `?`: never an empty box.
pub(super) fn shown(text: &str) -> Cow<'_, str> {
    let plain = |c: char| !c.is_control() && font::has(c);
    if text.chars().all(plain) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            _ if plain(c) => out.push(c),
            '⌀' | '∅' => out.push('Ø'),
            '⁄' | '∕' => out.push('/'),
            'ρ' => out.push_str("rho"),
            '∠' => out.push_str("angle "),
            '⟂' | '⊥' => out.push_str("square to "),
            '‐' | '‑' | '‒' | '―' | '−' => out.push('-'),
            '→' | '⇒' => out.push_str("->"),
            '✓' | '✔' => out.push('x'),
            '\u{2009}' | '\u{202F}' | '\u{2007}' => out.push('\u{A0}'),
            '\u{AD}' | '\u{200B}'..='\u{200F}' | '\u{2060}' | '\u{FEFF}' => {}
            _ if c.is_whitespace() || c.is_control() => out.push(' '),
            _ => out.push('?'),
        }
    }
    Cow::Owned(out)
}

/// Lengths closer than this are the same: widths are sums of many, and a table's columns are measured another way.
const CLOSE_MM: f64 = 1e-6;
/// How much of a line a break after a hyphen or slash may leave empty before a break inside a word is the lesser evil.
const EMPTY_FRACTION: f64 = 0.4;

type Word = Vec<TextRun>;

fn words(text: &Text, cap_mm: f64, references: &References) -> Vec<Word> {
    let mut words: Vec<Word> = Vec::new();
    let mut open = false;
    for run in &text.0 {
        let (letters, lettering, link, breaks) = match run {
            Run::Plain(letters) => (shown(letters), Lettering::Regular, None, true),
            Run::Strong(letters) => (shown(letters), Lettering::Bold, None, true),
            Run::Number { shown: letters, .. } => (shown(letters), Lettering::Regular, None, false),
            Run::Link { shown: letters, anchor } => match references.pages.get(anchor) {
                Some(page) if references.told => {
                    (Cow::Owned(format!("{} (p.\u{A0}{page})", shown(letters))), Lettering::Regular, Some(anchor), true)
                }
                Some(_) => (shown(letters), Lettering::Regular, Some(anchor), true),
                // A chapter that this book does not have: the words still say what is meant.
                None => (shown(letters), Lettering::Regular, None, true),
            },
        };
        let mut piece = String::new();
        let mut put = |piece: &mut String, open: &mut bool| {
            if piece.is_empty() {
                return;
            }
            let text = std::mem::take(piece);
            let width_mm = font::width_mm(&text, cap_mm, lettering);
            let piece = TextRun { text, lettering, link: link.cloned(), x_mm: 0.0, width_mm };
            match words.last_mut() {
                Some(word) if *open => word.push(piece),
                _ => words.push(vec![piece]),
            }
            *open = true;
        };
        for c in letters.chars() {
            if c.is_whitespace() && c != '\u{A0}' && breaks {
                put(&mut piece, &mut open);
                open = false;
            } else {
                piece.push(if c.is_whitespace() { '\u{A0}' } else { c });
            }
        }
        put(&mut piece, &mut open);
    }
    words
}

fn width_of(word: &[TextRun]) -> f64 {
    word.iter().map(|piece| piece.width_mm).sum()
}

/// A word too wide for its line, in parts that fit; a part has at least one letter.
fn broken(word: &[TextRun], width_mm: f64, cap_mm: f64) -> Vec<Word> {
    let letters: Vec<(char, &TextRun, f64)> = word
        .iter()
        .flat_map(|piece| {
            piece.text.chars().map(move |c| (c, piece, font::width_mm(c.encode_utf8(&mut [0; 4]), cap_mm, piece.lettering)))
        })
        .collect();
    let mut parts = Vec::new();
    let mut rest = &letters[..];
    while !rest.is_empty() {
        let mut width = 0.0;
        let fitting = rest.iter().take_while(|(_, _, letter)| {
            width += letter;
            width <= width_mm + CLOSE_MM
        });
        let mut count = fitting.count().max(1);
        if count < rest.len() {
            let keep = |&k: &usize| matches!(rest[k - 1].0, '-' | '/' | '_' | '.' | ',' | '\u{A0}');
            let min = ((1.0 - EMPTY_FRACTION) * count as f64).ceil().max(1.0) as usize;
            count = (min..=count).rev().find(keep).unwrap_or(count);
        }
        let (here, later) = rest.split_at(count);
        let mut part: Word = Vec::new();
        for (c, of, letter) in here {
            match part.last_mut() {
                Some(last) if last.lettering == of.lettering && last.link == of.link => {
                    last.text.push(*c);
                    last.width_mm += letter;
                }
                _ => part.push(TextRun { text: c.to_string(), width_mm: *letter, ..(*of).clone() }),
            }
        }
        parts.push(part);
        rest = later;
    }
    parts
}

impl TextLine {
    fn of(word: Word, cap_mm: f64) -> TextLine {
        let mut line = TextLine::default();
        line.add(word, cap_mm);
        line
    }

    /// Adds a word after a space, which belongs to the letters before it.
    fn add(&mut self, word: Word, cap_mm: f64) {
        if let Some(last) = self.pieces.last_mut() {
            let space = font::width_mm(" ", cap_mm, last.lettering);
            last.text.push(' ');
            last.width_mm += space;
            self.width_mm += space;
        }
        for piece in word {
            self.width_mm += piece.width_mm;
            match self.pieces.last_mut() {
                Some(last) if last.lettering == piece.lettering && last.link == piece.link => {
                    last.text.push_str(&piece.text);
                    last.width_mm += piece.width_mm;
                }
                _ => {
                    let x_mm = self.width_mm - piece.width_mm;
                    self.pieces.push(TextRun { x_mm, ..piece });
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::font::TEXT_MM;

    fn said(lines: &[TextLine]) -> Vec<String> {
        lines.iter().map(|line| line.pieces.iter().map(|piece| piece.text.as_str()).collect::<String>()).collect()
    }

    #[test]
    fn a_comma_and_a_unit_stay_with_their_number() {
        let text = Text::from("weighs about ").then(Text::number("42.0 lbf", "/bow", 42.0)).then(", on the scale");
        let alone = References::default();
        for width in [8.0, 14.0, 18.0, 25.0, 40.0, 60.0, 90.0] {
            let lines = lines(&text, width, TEXT_MM, &alone);
            assert!(lines.iter().all(|line| line.width_mm <= width + CLOSE_MM), "{width} {lines:?}");
            let said = said(&lines);
            if 25.0 <= width {
                assert!(said.iter().any(|line| line.contains("42.0\u{A0}lbf,")), "{width} {said:?}");
            }
            let letters: String = said.concat().chars().filter(|c| !c.is_whitespace()).collect();
            assert_eq!(letters, "weighsabout42.0lbf,onthescale", "{width}");
        }
    }

    #[test]
    fn a_line_is_as_wide_as_its_letters() {
        let text = Text::from("cut ").then(Text::strong("along")).then(" the line");
        let line = &lines(&text, 200.0, TEXT_MM, &References::default())[0];
        let sum: f64 = line.pieces.iter().map(|piece| font::width_mm(&piece.text, TEXT_MM, piece.lettering)).sum();
        assert!((line.width_mm - sum).abs() < 1e-9);
        for pair in line.pieces.windows(2) {
            assert!((pair[0].x_mm + pair[0].width_mm - pair[1].x_mm).abs() < 1e-9);
        }
        assert_eq!(line.pieces.len(), 3);
    }

    #[test]
    fn words_too_wide_break_where_a_reader_expects_it() {
        let text = Text::from("heartwood_of_osage/laminated-flat");
        let said = said(&lines(&text, 30.0, TEXT_MM, &References::default()));
        assert!(1 < said.len() && said[..said.len() - 1].iter().all(|part| part.ends_with(['_', '/', '-'])), "{said:?}");
        assert_eq!(said.concat(), "heartwood_of_osage/laminated-flat");
        // Narrower than any letter: still one letter a line, and an end.
        assert_eq!(lines(&Text::from("abc"), 0.1, TEXT_MM, &References::default()).len(), 3);
    }

    #[test]
    fn no_letter_becomes_an_empty_box() {
        for (text, wanted) in [("ρ ⌀6 ½⁄2", "rho Ø6 ½/2"), ("弓 bow", "? bow"), ("a\tb\u{200B}c", "a bc"), ("±½ in", "±½ in")]
        {
            assert_eq!(shown(text), wanted);
            assert!(shown(text).chars().all(font::has));
        }
    }

    #[test]
    fn the_least_width_for_two_lines_is_least() {
        let alone = References::default();
        let text = Text::from("greatest depth of cut in one pass");
        let width = width_in_lines(&text, 2, TEXT_MM, &alone);
        assert_eq!(lines(&text, width, TEXT_MM, &alone).len(), 2);
        assert!(2 < lines(&text, width - 0.2, TEXT_MM, &alone).len());
    }

    #[test]
    fn a_link_says_its_page_and_a_dead_one_only_its_words() {
        let references = References { pages: BTreeMap::from([("glue".to_owned(), 7)]), told: true };
        let text = Text::link("the glue-up", "glue").then(" and ").then(Text::link("the riser", "riser"));
        let line = &lines(&text, 200.0, TEXT_MM, &references)[0];
        assert_eq!(said(std::slice::from_ref(line)), vec!["the glue-up (p.\u{A0}7) and the riser"]);
        assert_eq!(line.pieces.iter().filter(|piece| piece.link.is_some()).count(), 1);
    }
}
