//! The build file as it was written: tables, lists and values with their bytes in the text, and faults of the TOML itself.
//!
//! Reading goes on past a fault of the writing, so that one run shows as many as possible. A heading whose bracket is open is read
//! as if it were closed. Where another fault may have put later lines into the wrong table, [`Raw::sound_until`] says from which
//! byte on the tree is not to be trusted.

use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// A build file taken apart.
#[derive(Debug)]
pub struct Raw {
    pub root: RawTable,
    pub faults: Vec<WritingFault>,
    /// What was written from this byte on may be in the wrong table; the text's length if all is well.
    pub sound_until: usize,
}

/// A place where the text is not TOML.
#[derive(Debug)]
pub struct WritingFault {
    pub span: Range<usize>,
    pub message: String,
    pub hint: Option<String>,
}

#[derive(Debug, Default)]
pub struct RawTable {
    /// In the order of the file.
    pub entries: Vec<Entry>,
}

#[derive(Debug)]
pub struct Entry {
    pub key: String,
    pub key_span: Range<usize>,
    pub node: Node,
}

/// A value and its bytes; for a table with a header line the bytes of the header.
#[derive(Debug)]
pub struct Node {
    pub span: Range<usize>,
    pub value: Value,
}

#[derive(Debug)]
pub enum Value {
    Text(String),
    Number(f64),
    Flag(bool),
    /// As written, such as `2026-11-20`.
    Date(String),
    List(Vec<Node>),
    Table(RawTable),
    /// Not TOML; the fault has been noted.
    Spoilt,
}

impl RawTable {
    pub fn entry(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.key == key)
    }
}

impl Value {
    /// What it is, for messages.
    pub fn noun(&self) -> &'static str {
        match self {
            Value::Text(_) => "a text",
            Value::Number(_) => "a number",
            Value::Flag(_) => "true or false",
            Value::Date(_) => "a date",
            Value::List(_) => "a list",
            Value::Table(_) => "a table",
            Value::Spoilt => "unreadable",
        }
    }
}

/// Faults of the writing beyond this many are not looked at.
const MAX_KEPT: usize = 200;

/// Takes a text apart; never fails, and notes what is not TOML.
pub fn parse(text: &str) -> Raw {
    let raw = taken_apart(text);
    let is_open = |fault: &WritingFault| fault.message == OPEN_HEADING;
    let ends: Vec<(usize, &str)> =
        raw.faults.iter().filter(|fault| is_open(fault)).filter_map(|fault| closing(text, &fault.span)).collect();
    if ends.is_empty() {
        return raw;
    }
    let mut closed = String::with_capacity(text.len() + 2 * ends.len());
    let mut done = 0;
    for (end, brackets) in &ends {
        closed.push_str(&text[done..*end]);
        closed.push_str(brackets);
        done = *end;
    }
    closed.push_str(&text[done..]);
    let mut again = taken_apart(&closed);
    if again.faults.iter().any(is_open) {
        return raw;
    }
    // Back to the bytes of the text as it stands: each bracket put in before a place has moved it on.
    let back = |at: usize| {
        let mut at = at;
        for (end, brackets) in &ends {
            at -= brackets.len().min(at.saturating_sub(*end));
        }
        at
    };
    each_span(&mut again.root, &mut |span| *span = back(span.start)..back(span.end));
    for fault in &mut again.faults {
        fault.span = back(fault.span.start)..back(fault.span.end);
    }
    again.sound_until = back(again.sound_until);
    again.faults.extend(raw.faults.into_iter().filter(is_open));
    again.faults.sort_by_key(|fault| fault.span.start);
    again
}

const OPEN_HEADING: &str = "the heading's bracket is not closed";

/// Where the brackets belong that close a heading line, and which are missing.
fn closing<'a>(text: &str, line: &Range<usize>) -> Option<(usize, &'a str)> {
    let heading = text.get(line.clone())?.split('#').next()?.trim_end();
    let count = |bracket: char| heading.chars().filter(|c| *c == bracket).count();
    let missing = match count('[').checked_sub(count(']'))? {
        1 => "]",
        2 => "]]",
        _ => return None,
    };
    Some((line.start + heading.len(), missing))
}

// As deep as the parser lets tables nest.
fn each_span(table: &mut RawTable, change: &mut impl FnMut(&mut Range<usize>)) {
    for entry in &mut table.entries {
        change(&mut entry.key_span);
        each_span_of(&mut entry.node, change);
    }
}

fn each_span_of(node: &mut Node, change: &mut impl FnMut(&mut Range<usize>)) {
    change(&mut node.span);
    match &mut node.value {
        Value::Table(table) => each_span(table, change),
        Value::List(nodes) => nodes.iter_mut().for_each(|node| each_span_of(node, change)),
        _ => {}
    }
}

fn taken_apart(text: &str) -> Raw {
    let (table, errors) = DeTable::parse_recoverable(text);
    let root = table_of(table.get_ref());
    let (mut faults, mut sound_until) = (Vec::new(), text.len());
    let unclosed = unclosed_from(&root, text, &errors);
    let mut errors: Vec<&toml::de::Error> = errors.iter().collect();
    errors.sort_by_key(|error| error.span().map_or(0, |span| span.start));
    if MAX_KEPT < errors.len() {
        // What is left out may be of the kind that shifts tables.
        sound_until = errors[MAX_KEPT].span().map_or(0, |span| line_start(text, span.start));
        errors.truncate(MAX_KEPT);
    }
    let mut told_until = 0;
    for error in errors {
        let span = error.span().unwrap_or(0..0);
        // What follows an open bracket is read as its content, and would be reported line by line.
        if unclosed.is_some_and(|start| start <= span.start) {
            continue;
        }
        // Below a heading that is given twice, every key is "given twice" too.
        if error.message().starts_with("duplicate key") {
            if span.start < told_until {
                continue;
            }
            let start = line_start(text, span.start);
            if text.as_bytes()[start..].trim_ascii_start().starts_with(b"[") {
                told_until = text[start..].find("\n[").map_or(text.len(), |next| start + next + 1);
            }
        }
        let (fault, mild) = translated(error.message(), span.clone(), text);
        if !mild {
            sound_until = sound_until.min(line_start(text, span.start));
        }
        faults.push(fault);
    }
    if let Some(start) = unclosed {
        sound_until = sound_until.min(line_start(text, start));
        let close = if text.as_bytes().get(start) == Some(&b'[') { ']' } else { '}' };
        faults.push(WritingFault {
            span: start..start + 1,
            message: format!("the list or table that opens here is never closed, or misses a comma before `{close}`"),
            hint: Some(format!("put commas between its parts and `{close}` at its end")),
        });
    }
    faults.sort_by_key(|fault| fault.span.start);
    faults.dedup_by_key(|fault| line_start(text, fault.span.start));
    Raw { root, faults, sound_until }
}

/// Where the first bracket opens that nothing closes.
fn unclosed_from(root: &RawTable, text: &str, errors: &[toml::de::Error]) -> Option<usize> {
    let ends = errors.iter().filter(|e| e.message().starts_with("unclosed array") || e.message().starts_with("unclosed inline"));
    let end = ends.filter_map(toml::de::Error::span).map(|span| span.start).max()?;
    let first = first_open(root, end)?;
    matches!(text.as_bytes().get(first), Some(b'[' | b'{')).then_some(first)
}

fn first_open(table: &RawTable, end: usize) -> Option<usize> {
    let reaches = |entry: &&Entry| end <= entry.node.span.end && !matches!(entry.node.value, Value::Text(_) | Value::Number(_));
    let direct = table.entries.iter().find(reaches).map(|entry| entry.node.span.start);
    direct.or_else(|| {
        table.entries.iter().find_map(|entry| match &entry.node.value {
            Value::Table(inner) => first_open(inner, end),
            Value::List(nodes) => nodes.iter().find_map(|node| match &node.value {
                Value::Table(inner) => first_open(inner, end),
                _ => None,
            }),
            _ => None,
        })
    })
}

/// Our words for a fault of the writing, and whether the tables around it are still as meant.
fn translated(message: &str, span: Range<usize>, text: &str) -> (WritingFault, bool) {
    let written: String = text.get(span.clone()).unwrap_or("").chars().take(40).collect();
    let from = line_start(text, span.start);
    let line = text[from..].lines().next().unwrap_or("");
    let whole_line = from..from + line.trim_end().len();
    let fault = |span: Range<usize>, message: String, hint: &str| WritingFault { span, message, hint: Some(hint.to_owned()) };
    if message.starts_with("string values must be quoted") && written.is_empty() {
        (fault(span, "there is no value after `=`".into(), "write a value, or take the line out"), true)
    } else if written.contains(CURLY) {
        let plain = written.trim_matches(CURLY);
        let hint = format!("write it with straight ones: \"{plain}\"");
        (fault(span, format!("`{written}` stands in curly quotes"), &hint), true)
    } else if let Some(point) = bare_point(text, &span) {
        let value = &text[point.clone()];
        let hint = format!("write a figure before the point: {}", value.replacen('.', "0.", 1));
        (fault(point.clone(), format!("`{value}` is not a number"), &hint), true)
    } else if let Some(number) = decimal_comma(text, &span) {
        let value = &text[number.clone()];
        let hint = format!("write a point: {}", value.replacen(',', ".", 1));
        (fault(number.clone(), format!("`{value}` is not a number"), &hint), false)
    } else if message.starts_with("string values must be quoted")
        && text.get(span.end..).unwrap_or("").trim_start().starts_with('=')
    {
        (fault(span, format!("a comma is missing in `{written}`"), "put a comma between the parts of a list or table"), true)
    } else if message.starts_with("string values must be quoted") {
        let hint = format!("write it in quotes: \"{written}\"");
        (fault(span, format!("`{written}` must stand in quotes"), &hint), true)
    } else if message.starts_with("invalid float") || message.starts_with("invalid integer") {
        let hint = "write a decimal number such as 0.625, or a fraction or a unit in quotes such as \"5/8 in\"";
        let span = around(text, span);
        let value: String = text.get(span.clone()).unwrap_or("").chars().take(40).collect();
        (fault(span, format!("`{value}` is not a number"), hint), true)
    } else if message.starts_with("duplicate key") {
        let hint = "keep one of them; several laminations are written as [[lamination]], with two brackets";
        (fault(span, format!("`{written}` is given twice"), hint), true)
    } else if message.contains("non-double-quote visible") || message.contains("control") {
        (fault(span, "there is a control character in the text".into(), "type the line anew; a tab is written \\t"), true)
    } else if message.starts_with("invalid literal string") || message.starts_with("invalid basic string") {
        let open = line.find(['"', '\'']).map_or(span.start, |at| from + at);
        (fault(open..whole_line.end.max(open), "a text in quotes does not end on its line".into(), "put the closing quote"), true)
    } else if message.starts_with("unclosed table") {
        (fault(whole_line, OPEN_HEADING.into(), "write it as [sander] or [[lamination]]"), false)
    } else if message.starts_with("missing comma") {
        (fault(span, "a comma is missing between two parts of a list or table".into(), "put a comma between them"), true)
    } else if message.starts_with("key with no value") {
        let hint = "write key = value; a remark begins with #, a heading stands in [brackets]";
        let line: String = line.trim().chars().take(40).collect();
        (fault(whole_line, format!("`{line}` has no `=` and no value"), hint), true)
    } else if message.contains("recursion") || message.contains("recurse") {
        (fault(span, "lists and tables are nested too deeply".into(), "a build file needs no more than three levels"), false)
    } else {
        let fault = WritingFault { span, message: format!("this cannot be read: {}", message.replace('\n', " ")), hint: None };
        (fault, false)
    }
}

/// Quotes that word processors put in for `"` and `'`.
const CURLY: [char; 5] = ['\u{201c}', '\u{201d}', '\u{201e}', '\u{2018}', '\u{2019}'];

/// The bytes of a number that begins with its point, such as `.45` or `-.5`.
fn bare_point(text: &str, span: &Range<usize>) -> Option<Range<usize>> {
    let whole = around(text, span.clone());
    let digits = text.get(whole.clone())?.trim_start_matches(['-', '+']).strip_prefix('.')?;
    let is_number = !digits.is_empty() && digits.len() <= 20 && digits.bytes().all(|byte| byte.is_ascii_digit());
    is_number.then_some(whole)
}

/// The bytes of a number with a decimal comma, such as `3,42`, that is all of its line's value.
fn decimal_comma(text: &str, span: &Range<usize>) -> Option<Range<usize>> {
    let from = line_start(text, span.start);
    let line = text.get(from..)?.lines().next()?;
    let (key, value) = line.split_once('=')?;
    let value = value.split('#').next()?.trim_end();
    let number = value.trim_start();
    let (whole, part) = number.trim_start_matches(['-', '+']).split_once(',')?;
    let digits = |text: &str| !text.is_empty() && text.len() <= 20 && text.bytes().all(|byte| byte.is_ascii_digit());
    let start = from + key.len() + 1 + (value.len() - number.len());
    let bytes = start..start + number.len();
    (digits(whole) && digits(part) && bytes.contains(&span.start)).then_some(bytes)
}

fn line_start(text: &str, at: usize) -> usize {
    let before = &text.as_bytes()[..at.min(text.len())];
    before.iter().rposition(|byte| *byte == b'\n').map_or(0, |newline| newline + 1)
}

/// The whole value that a part of was stumbled over.
fn around(text: &str, span: Range<usize>) -> Range<usize> {
    let ends = |byte: &u8| byte.is_ascii_whitespace() || b",=[]{}#\"'".contains(byte);
    let bytes = text.as_bytes();
    let (start, end) = (span.start.min(bytes.len()), span.end.min(bytes.len()));
    let start = bytes[..start].iter().rposition(ends).map_or(0, |before| before + 1);
    let end = bytes[end..].iter().position(ends).map_or(bytes.len(), |length| end + length);
    start..end
}

// Depth is bounded by the parser's own limit, so the recursion is.
fn table_of(table: &DeTable<'_>) -> RawTable {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, value)| Entry { key: key.get_ref().to_string(), key_span: key.span(), node: node_of(value) })
        .collect();
    entries.sort_by_key(|entry| entry.key_span.start);
    RawTable { entries }
}

fn node_of(value: &toml::Spanned<DeValue<'_>>) -> Node {
    let span = value.span();
    // Where no value stands, the parser puts an empty text.
    Node { value: if span.is_empty() { Value::Spoilt } else { value_of(value.get_ref()) }, span }
}

fn value_of(value: &DeValue<'_>) -> Value {
    match value {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(digits) => match digits.radix() {
            10 => digits.as_str().parse().map_or(Value::Spoilt, Value::Number),
            radix => {
                i64::from_str_radix(digits.as_str(), radix).map_or(Value::Number(f64::NAN), |whole| Value::Number(whole as f64))
            }
        },
        DeValue::Float(digits) => digits.as_str().parse().map_or(Value::Spoilt, Value::Number),
        DeValue::Boolean(flag) => Value::Flag(*flag),
        DeValue::Datetime(date) => Value::Date(date.to_string()),
        DeValue::Array(nodes) => Value::List(nodes.iter().map(node_of).collect()),
        DeValue::Table(table) => Value::Table(table_of(table)),
    }
}
