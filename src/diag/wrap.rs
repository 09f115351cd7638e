//! Prose in a window: broken at blanks, and never a table, a path or a word.
//!
//! What is prose is seen in the text. A table of ours has a line of dashes under its head, and blanks in every gap between its columns;
//! prose has never two blanks side by side, but behind the word that a line begins with (`tip held    4 in of deflex ...`). Lines that
//! end in the middle of a sentence were broken for a wide window, and are joined before they are broken anew.

use textwrap::core::display_width;
use textwrap::{Options, WordSplitter};

/// Stands for a blank that no line is broken at; no text that is shown holds it.
const FIRM: char = '\u{1f}';

/// Lines as long as this were broken because they were long.
const BROKEN: usize = 70;

/// The text in lines of at most so many columns; `whole` are pieces of it that no line is broken in, such as paths.
pub fn wrapped(text: &str, columns: usize, whole: &[&str]) -> String {
    let mut firm = text.to_owned();
    let hardened = |piece: &str| piece.replace(' ', &FIRM.to_string());
    for piece in whole.iter().filter(|piece| piece.contains(' ')) {
        firm = firm.replace(piece, &hardened(piece));
    }
    let named = |line: &str| whole.iter().any(|piece| line.ends_with(&hardened(piece)));
    let lines: Vec<&str> = firm.lines().collect();
    let tabled = tabled(&lines);
    let mut out = String::with_capacity(firm.len() + 16);
    let mut at = 0;
    while at < lines.len() {
        let mut end = at + 1;
        while end < lines.len()
            && !tabled[end - 1]
            && !tabled[end]
            && !named(lines[end - 1])
            && goes_on(lines[end - 1], lines[end])
        {
            end += 1;
        }
        let fits = lines[at..end].iter().all(|line| display_width(line) <= columns);
        if tabled[at] || fits || 1 < gaps(lines[at]) {
            lines[at..end].iter().for_each(|line| out.extend([*line, "\n"]));
        } else {
            out.push_str(&filled(&lines[at..end], columns));
        }
        at = end;
    }
    if !text.ends_with('\n') {
        out.truncate(out.trim_end_matches('\n').len());
    }
    out.replace(FIRM, " ")
}

/// One message in lines of at most so many columns.
pub fn message(text: &str, columns: usize) -> String {
    textwrap::fill(text, options(columns))
}

fn options<'a>(columns: usize) -> Options<'a> {
    Options::new(columns.max(1)).break_words(false).word_splitter(WordSplitter::NoHyphenation)
}

/// Lines of one paragraph, the first of which says how far the others stand in.
fn filled(lines: &[&str], columns: usize) -> String {
    let lead = lead(lines[0]);
    let (first, rest) = lines[0].split_at(lead);
    let prose: Vec<&str> = std::iter::once(rest).chain(lines[1..].iter().copied()).map(str::trim).collect();
    // In a narrow window a deep indent would leave no room.
    let indent = " ".repeat(display_width(first).min(columns / 3));
    let mut text = textwrap::fill(&prose.join(" "), options(columns).initial_indent(first).subsequent_indent(&indent));
    text.push('\n');
    text
}

/// What begins a line of its own.
const MARKS: [&str; 7] = ["[ ] ", "- ", "error: ", "help: ", "hint: ", "note: ", "next: "];

/// Bytes of a line that come before its prose: its indent, and what stands before the others like a title.
fn lead(line: &str) -> usize {
    let indent = line.len() - line.trim_start().len();
    let text = &line[indent..];
    let mark = MARKS.into_iter().find(|mark| text.starts_with(mark));
    match (mark, text.find("  ")) {
        (Some(mark), _) => indent + mark.len(),
        (None, Some(gap)) => indent + gap + text[gap..].len() - text[gap..].trim_start().len(),
        (None, None) => indent,
    }
}

/// How many times two or more blanks stand between words.
fn gaps(line: &str) -> usize {
    let text = line.trim().replace("  ", "\t");
    text.split('\t').filter(|part| !part.trim().is_empty()).count().saturating_sub(1)
}

/// Whether a line was broken before this next one: both begin at the edge, and the first ends in the middle of a sentence.
fn goes_on(line: &str, next: &str) -> bool {
    let both = [line, next].into_iter().all(|line| !line.is_empty() && lead(line) == 0);
    both && BROKEN <= display_width(line) && !line.ends_with(['.', ':', '!', '?', ')'])
}

/// Which of the lines belong to a table.
fn tabled(lines: &[&str]) -> Vec<bool> {
    let mut found = vec![false; lines.len()];
    for (at, rule) in lines.iter().enumerate().skip(1).filter(|(_, line)| is_rule(line)) {
        let gaps: Vec<bool> = rule.chars().map(|letter| letter == ' ').collect();
        let fits = |line: &str| !line.is_empty() && line.chars().zip(&gaps).all(|(letter, gap)| !gap || letter == ' ');
        found[at - 1] = true;
        found[at] = true;
        for row in (at + 1..lines.len()).take_while(|row| fits(lines[*row])) {
            found[row] = true;
        }
    }
    found
}

fn is_rule(line: &str) -> bool {
    let rule = line.trim_start();
    rule.starts_with('-') && rule.split("  ").all(|column| !column.is_empty() && column.chars().all(|letter| letter == '-'))
}
