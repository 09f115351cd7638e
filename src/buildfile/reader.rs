//! Reading one table of the build file: each key once, every fault noted, every default remembered.

use super::raw::{Entry, Node, Table, Value};
use crate::diag::{Diagnostic, Place};
use crate::model::build::Assumed;
use crate::units::{self, Quantity, System};
use std::collections::BTreeSet;

/// What is gathered while the file is read.
#[derive(Debug)]
pub struct Notes {
    pub units: System,
    pub faults: Vec<Diagnostic>,
    pub warnings: Vec<Diagnostic>,
    pub assumed: Vec<Assumed>,
    /// Places of keys that nothing reads, with the bytes of the key itself.
    pub unknown: Vec<(Place, std::ops::Range<usize>)>,
}

impl Notes {
    pub fn fault(&mut self, place: Place, message: impl Into<String>, hint: &str) {
        let fault = Diagnostic::fault(place, message);
        self.faults.push(if hint.is_empty() { fault } else { fault.hint(hint) });
    }

    pub fn warn(&mut self, place: Place, message: impl Into<String>, hint: &str) {
        self.warnings.push(Diagnostic::warning(place, message).hint(hint));
    }

    pub fn assume(&mut self, key: impl Into<String>, value: impl Into<String>, why: &str) {
        self.assumed.push(Assumed { key: key.into(), value: value.into(), why: why.to_owned() });
    }
}

/// What a number may be, bounds in the internal unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    pub quantity: Quantity,
    pub least: f64,
    /// Whether `least` itself is allowed.
    pub least_allowed: bool,
    pub most: f64,
}

impl Range {
    /// Greater than zero, at most `most`.
    pub const fn above_zero(quantity: Quantity, most: f64) -> Range {
        Range { quantity, least: 0.0, least_allowed: false, most }
    }

    /// Zero or more, at most `most`.
    pub const fn from_zero(quantity: Quantity, most: f64) -> Range {
        Range { quantity, least: 0.0, least_allowed: true, most }
    }

    pub const fn between(quantity: Quantity, least: f64, most: f64) -> Range {
        Range { quantity, least, least_allowed: true, most }
    }

    fn holds(&self, value: f64) -> bool {
        value <= self.most && (self.least < value || self.least_allowed && self.least <= value)
    }
}

/// No bow, strip or machine is longer, mm.
pub const LONGEST_MM: f64 = 10_000.0;
/// No lamination is thicker, mm.
pub const THICKEST_MM: f64 = 60.0;

/// A table being read. Call [`Section::finish`] when all its keys have been asked for.
pub struct Section<'a> {
    table: &'a Table,
    pub place: Place,
    asked: BTreeSet<&'static str>,
}

impl<'a> Section<'a> {
    pub fn new(table: &'a Table, place: Place) -> Section<'a> {
        Section { table, place, asked: BTreeSet::new() }
    }

    pub fn has(&self, key: &str) -> bool {
        self.table.entry(key).is_some()
    }

    pub fn at(&self, key: &str) -> Place {
        self.place.key(key)
    }

    /// The value of a key, if it is there.
    pub fn node(&mut self, key: &'static str) -> Option<&'a Node> {
        self.asked.insert(key);
        self.table.entry(key).map(|entry| &entry.node)
    }

    /// The table under a key, if it is there and is one.
    pub fn section(&mut self, key: &'static str, notes: &mut Notes) -> Option<Section<'a>> {
        let node = self.node(key)?;
        match &node.value {
            Value::Table(table) => Some(Section::new(table, self.at(key))),
            other => {
                notes.fault(
                    self.at(key),
                    format!("{} is written where a table is needed", other.noun()),
                    &format!("write [{key}] or {key} = {{ … }}"),
                );
                None
            }
        }
    }

    /// The list of tables under a key, written as `[[key]]`.
    pub fn sections(&mut self, key: &'static str, notes: &mut Notes) -> Vec<Section<'a>> {
        let place = self.at(key);
        let Some(node) = self.node(key) else { return Vec::new() };
        let hint = format!("write [[{}]] with two brackets before each of them", place.as_str());
        let Value::List(nodes) = &node.value else {
            notes.fault(place, format!("{} is written where several tables are needed", node.value.noun()), &hint);
            return Vec::new();
        };
        let mut sections = Vec::new();
        for (index, node) in nodes.iter().enumerate() {
            match &node.value {
                Value::Table(table) => sections.push(Section::new(table, place.index(index))),
                other => notes.fault(place.index(index), format!("{} is written where a table is needed", other.noun()), &hint),
            }
        }
        sections
    }

    pub fn text(&mut self, key: &'static str, notes: &mut Notes) -> Option<String> {
        let node = self.node(key)?;
        match &node.value {
            Value::Text(text) => Some(text.clone()),
            other => {
                notes.fault(self.at(key), format!("`{key}` is {}, and must be a text", other.noun()), "put it in quotes");
                None
            }
        }
    }

    pub fn flag(&mut self, key: &'static str, notes: &mut Notes) -> Option<bool> {
        let node = self.node(key)?;
        match node.value {
            Value::Flag(flag) => Some(flag),
            ref other => {
                notes.fault(
                    self.at(key),
                    format!("`{key}` is {}, and must be true or false", other.noun()),
                    "write true or false without quotes",
                );
                None
            }
        }
    }

    /// One of several words; `others` is what the hint lists.
    pub fn word<T: Copy>(&mut self, key: &'static str, words: &[(&'static str, T)], notes: &mut Notes) -> Option<T> {
        let text = self.text(key, notes)?;
        let found = words.iter().find(|(word, _)| *word == text);
        if found.is_none() {
            let listed: Vec<String> = words.iter().map(|(word, _)| format!("\"{word}\"")).collect();
            notes.fault(
                self.at(key),
                format!("`{key}` cannot be \"{}\"", shown(&text)),
                &format!("write one of {}", listed.join(", ")),
            );
        }
        found.map(|(_, value)| *value)
    }

    /// A number in its internal unit, if the key is there and holds one in range.
    pub fn number(&mut self, key: &'static str, range: Range, notes: &mut Notes) -> Option<f64> {
        let node = self.node(key)?;
        number(node, &self.at(key), key, range, notes)
    }

    /// A number that must be there.
    pub fn needed(&mut self, key: &'static str, range: Range, what: &str, notes: &mut Notes) -> Option<f64> {
        if !self.has(key) {
            self.asked.insert(key);
            self.missing(key, what, notes);
            return None;
        }
        self.number(key, range, notes)
    }

    pub fn missing(&self, key: &str, what: &str, notes: &mut Notes) {
        let fault = Diagnostic::fault(self.place.clone(), format!("`{key}` is missing: {what}"));
        notes.faults.push(fault.hint(format!("add a line `{key} = …`")));
    }

    /// A number, or a default that is remembered with its reason.
    pub fn number_or(&mut self, key: &'static str, range: Range, default: f64, why: &str, notes: &mut Notes) -> f64 {
        if !self.has(key) {
            self.asked.insert(key);
            let place = self.at(key);
            notes.assume(place.as_str(), in_words(default, range.quantity, notes.units), why);
            return default;
        }
        self.number(key, range, notes).unwrap_or(default)
    }

    /// A whole number from `least` to `most`, or a default.
    pub fn count_or(&mut self, key: &'static str, least: u32, most: u32, default: u32, why: &str, notes: &mut Notes) -> u32 {
        if !self.has(key) {
            self.asked.insert(key);
            let place = self.at(key);
            notes.assume(place.as_str(), default.to_string(), why);
            return default;
        }
        self.count(key, least, most, notes).unwrap_or(default)
    }

    pub fn count(&mut self, key: &'static str, least: u32, most: u32, notes: &mut Notes) -> Option<u32> {
        let node = self.node(key)?;
        match node.value {
            Value::Number(value) if value.fract().abs() <= 0.0 && f64::from(least) <= value && value <= f64::from(most) => {
                Some(value as u32)
            }
            Value::Number(value) => {
                notes.fault(self.at(key), format!("`{key}` is {value}"), &format!("write a whole number from {least} to {most}"));
                None
            }
            ref other => {
                notes.fault(
                    self.at(key),
                    format!("`{key}` is {}, and must be a whole number", other.noun()),
                    &format!("write a whole number from {least} to {most}"),
                );
                None
            }
        }
    }

    /// Points `[[x, y], …]` with increasing `x`, both in their internal units; at least `least` of them.
    pub fn points(&mut self, key: &'static str, x: Range, y: Range, least: usize, notes: &mut Notes) -> Option<Vec<(f64, f64)>> {
        let node = self.node(key)?;
        points(node, &self.at(key), key, x, y, least, notes)
    }

    /// Notes every key that was not asked for.
    pub fn finish(self, notes: &mut Notes) {
        for Entry { key, key_span, .. } in &self.table.entries {
            if self.asked.contains(key.as_str()) {
                continue;
            }
            let place = self.place.key(key);
            let near = nearest(key, self.asked.iter().copied());
            let hint = match near {
                Some(known) => format!("did you mean `{known}`?"),
                None => format!("known here: {}", self.asked.iter().copied().collect::<Vec<_>>().join(", ")),
            };
            notes.unknown.push((place.clone(), key_span.clone()));
            notes.fault(place, format!("there is no key `{}` here", shown(key)), &hint);
        }
    }
}

/// A number with or without a unit, checked against its range.
pub fn number(node: &Node, place: &Place, key: &str, range: Range, notes: &mut Notes) -> Option<f64> {
    let quantity = range.quantity;
    let value = match &node.value {
        Value::Number(bare) => bare * quantity.bare_factor(notes.units),
        Value::Text(text) => match units::read(text, quantity, notes.units) {
            Ok(value) => value,
            Err(unreadable) => {
                notes.fault(place.clone(), unreadable.message, &unreadable.hint);
                return None;
            }
        },
        other => {
            let example = in_words(quantity.bare_factor(notes.units), quantity, notes.units);
            notes.fault(
                place.clone(),
                format!("`{key}` is {}, and must be a number", other.noun()),
                &format!("write it as in {example}"),
            );
            return None;
        }
    };
    if !value.is_finite() {
        notes.fault(place.clone(), format!("`{key}` is not a finite number"), "write an ordinary decimal number");
        return None;
    }
    if range.holds(value) {
        return Some(value);
    }
    let words = |value: f64| in_words(value, quantity, notes.units);
    let limit = if value <= range.least {
        format!("it must be {} {}", if range.least_allowed { "at least" } else { "more than" }, words(range.least))
    } else {
        format!("it can be {} at most", words(range.most))
    };
    let hint = other_unit(node, range, notes.units).unwrap_or_default();
    let message = format!("`{key}` is {}: {limit}", words(value));
    notes.fault(place.clone(), message, &hint);
    None
}

pub fn points(
    node: &Node,
    place: &Place,
    key: &str,
    x: Range,
    y: Range,
    least: usize,
    notes: &mut Notes,
) -> Option<Vec<(f64, f64)>> {
    let shape = "write it as [[station, value], [station, value], …]";
    let Value::List(rows) = &node.value else {
        notes.fault(place.clone(), format!("`{key}` is {}, and must be a list of pairs", node.value.noun()), shape);
        return None;
    };
    if rows.len() < least {
        let message = if rows.is_empty() {
            format!("`{key}` is an empty list")
        } else {
            format!("`{key}` has {} pair(s) and needs {least}", rows.len())
        };
        notes.fault(place.clone(), message, shape);
        return None;
    }
    let mut found: Vec<(f64, f64)> = Vec::with_capacity(rows.len());
    let mut sound = true;
    for (index, row) in rows.iter().enumerate() {
        let here = place.index(index);
        match &row.value {
            Value::List(pair) if pair.len() == 2 => {
                let read_x = number(&pair[0], &here.index(0), key, x, notes);
                let read_y = number(&pair[1], &here.index(1), key, y, notes);
                let (Some(at), Some(value)) = (read_x, read_y) else {
                    sound = false;
                    continue;
                };
                if let Some((before, _)) = found.last().filter(|(before, _)| at <= *before) {
                    let (at, before) = (notes.units.measure(at), notes.units.measure(*before));
                    notes.fault(
                        here.clone(),
                        format!("station {at} does not come after {before}"),
                        "list the stations from the bow's centre outward, each once",
                    );
                    sound = false;
                }
                found.push((at, value));
            }
            _ => {
                notes.fault(here, format!("this part of `{key}` is not a pair of numbers"), shape);
                sound = false;
            }
        }
    }
    sound.then_some(found)
}

/// A value in the builder's units, as it could be written in the file.
pub fn in_words(value: f64, quantity: Quantity, system: System) -> String {
    match quantity {
        Quantity::Length => system.measure(value),
        Quantity::Force => system.force_text(value),
        Quantity::Speed => system.speed(value),
        Quantity::Rate => system.rate(value),
        _ => {
            let unit = quantity.bare_unit(system);
            let number = units::trim_zeros(&units::fixed(value / quantity.bare_factor(system), 3));
            if unit.is_empty() { number } else { format!("{number} {unit}") }
        }
    }
}

/// If the bare number would make sense in the other length unit, asks whether that was meant.
fn other_unit(node: &Node, range: Range, system: System) -> Option<String> {
    let Value::Number(bare) = node.value else { return None };
    if range.quantity != Quantity::Length {
        return None;
    }
    let (other, unit) = match system {
        System::Inch => (System::Millimetre, "mm"),
        System::Millimetre => (System::Inch, "in"),
    };
    range.holds(other.to_mm(bare)).then(|| format!("did you mean \"{bare} {unit}\"?"))
}

/// A user's text in a message: short, and without control characters.
pub fn shown(text: &str) -> String {
    let clean: String = text.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).take(60).collect();
    if text.chars().count() <= 60 { clean } else { format!("{clean}…") }
}

/// The known word that is nearest to `word`, if it is near enough to be a slip.
pub fn nearest<'b>(word: &str, known: impl Iterator<Item = &'b str>) -> Option<&'b str> {
    if 40 < word.len() {
        return None;
    }
    let word = word.to_lowercase().replace([' ', '-'], "_");
    known.map(|k| (distance(&word, k), k)).filter(|(d, k)| *d <= 1 + k.len() / 4).min().map(|(_, k)| k)
}

/// Edits that turn one word into another (Levenshtein).
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, from) in a.iter().enumerate() {
        let mut before = row[0];
        row[0] = i + 1;
        for (j, to) in b.iter().enumerate() {
            let change = before + usize::from(from != to);
            before = row[j + 1];
            row[j + 1] = change.min(row[j] + 1).min(before + 1);
        }
    }
    row[b.len()]
}
