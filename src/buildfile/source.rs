//! The text of a build file together with the place of every key in it: what puts the caret under a value.

use super::raw::{Node, Raw, RawTable, Value, WritingFault};
use crate::diag::{self, Place};
use std::collections::BTreeMap;
use std::fmt;
use std::ops::Range;

/// A build file's text, and where its keys stand.
pub struct Source {
    name: String,
    text: String,
    root: RawTable,
    /// Places that are not a value: keys that nothing reads, and spots where the text is not TOML.
    marks: BTreeMap<Place, Range<usize>>,
}

/// A text taken apart.
#[derive(Debug)]
pub struct SourceRead {
    pub source: Source,
    /// Of its writing.
    pub faults: Vec<WritingFault>,
    /// The byte up to which the tree can be trusted.
    pub sound_until: usize,
}

/// By its name: the whole text says nothing in a message of a test.
impl fmt::Debug for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_tuple("Source").field(&self.name).finish()
    }
}

impl Source {
    /// Takes the text apart.
    pub fn read(name: &str, text: &str) -> SourceRead {
        let Raw { root, faults, sound_until } = super::raw::parse(text);
        let source = Source { name: name.to_owned(), text: text.to_owned(), root, marks: BTreeMap::new() };
        SourceRead { source, faults, sound_until }
    }

    /// A text that is not even taken apart.
    pub fn unread(name: &str, text: &str) -> Source {
        Source { name: name.to_owned(), text: text.to_owned(), root: RawTable::default(), marks: BTreeMap::new() }
    }

    pub fn root(&self) -> &RawTable {
        &self.root
    }

    /// What is written at this place.
    pub fn value_at(&self, place: &Place) -> Option<&Value> {
        in_table(&self.root, place.as_str()).map(|(_, node)| &node.value)
    }

    /// The place that `key` means: entries of a list may be called by their name, `lamination[core].thickness`.
    pub fn place_of(&self, key: &str) -> Place {
        let Some((list, rest)) = key.split_once('[') else { return Place::new(key) };
        let Some((name, after)) = rest.split_once(']') else { return Place::new(key) };
        let Some(Value::List(nodes)) = self.value_at(&Place::new(list)) else { return Place::new(key) };
        match nodes.iter().position(|node| name_of(node).is_some_and(|known| known == name)) {
            Some(index) => Place::new(format!("{list}[{index}]{after}")),
            None => Place::new(key),
        }
    }

    /// The key that means this place and still means it when entries are put before it: by name, where the entry has one that can be
    /// told from the others.
    pub fn key_of(&self, place: &Place) -> String {
        let by_name = || {
            let list = place.as_str().split('[').next()?;
            let (at, after) = index(&place.as_str()[list.len()..])?;
            let Value::List(nodes) = self.value_at(&Place::new(list))? else { return None };
            let key = format!("{list}[{}]{after}", name_of(nodes.get(at)?)?);
            (self.place_of(&key) == *place).then_some(key)
        };
        by_name().unwrap_or_else(|| place.as_str().to_owned())
    }

    /// From now on this place means these bytes.
    pub fn mark(&mut self, place: Place, span: Range<usize>) {
        self.marks.insert(place, span);
    }

    /// Line of a byte, from 1.
    pub fn line_of(&self, at: usize) -> usize {
        1 + self.text.as_bytes()[..at.min(self.text.len())].iter().filter(|byte| **byte == b'\n').count()
    }
}

impl diag::SourceText for Source {
    fn name(&self) -> &str {
        &self.name
    }

    fn text(&self) -> &str {
        &self.text
    }

    fn span(&self, place: &Place) -> Option<Range<usize>> {
        let mut place = Some(place.clone());
        while let Some(here) = place {
            if let Some(span) = self.marks.get(&here) {
                return Some(span.clone());
            }
            if let Some((span, _)) = in_table(&self.root, here.as_str()) {
                return Some(span);
            }
            place = here.parent();
        }
        None
    }

    fn words(&self, place: &Place) -> String {
        if place.as_str().is_empty() {
            return self.name.clone();
        }
        if self.marks.contains_key(place) && in_table(&self.root, place.as_str()).is_none() {
            return place.to_string();
        }
        words(&self.root, place.as_str()).filter(|words| !words.is_empty()).unwrap_or_else(|| place.to_string())
    }
}

/// The bytes of the value at a path, and the value.
pub(super) fn in_table<'a>(table: &'a RawTable, path: &str) -> Option<(Range<usize>, &'a Node)> {
    let (node, rest) = step(table, path)?;
    in_node(node, rest)
}

fn in_node<'a>(node: &'a Node, rest: &str) -> Option<(Range<usize>, &'a Node)> {
    match (&node.value, rest.chars().next()) {
        (_, None) => Some((node.span.clone(), node)),
        (Value::Table(table), Some('.')) => in_table(table, &rest[1..]),
        (Value::List(nodes), Some('[')) => {
            let (index, rest) = index(rest)?;
            in_node(nodes.get(index)?, rest)
        }
        _ => None,
    }
}

/// The entry that the path begins with, and the rest of the path. Keys in quotes may hold dots: the longest one counts.
fn step<'a, 'b>(table: &'a RawTable, path: &'b str) -> Option<(&'a Node, &'b str)> {
    let fits = |key: &str| path.strip_prefix(key).is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']));
    let entry =
        table.entries.iter().filter(|entry| !entry.key.is_empty() && fits(&entry.key)).max_by_key(|entry| entry.key.len())?;
    Some((&entry.node, &path[entry.key.len()..]))
}

fn index(rest: &str) -> Option<(usize, &str)> {
    let (digits, rest) = rest.strip_prefix('[')?.split_once(']')?;
    Some((digits.parse().ok()?, rest))
}

/// A path in words: `lamination "core", taper` for `lamination[1].taper`, `outline.width no. 4` for `outline.width[3]`.
fn words(root: &RawTable, path: &str) -> Option<String> {
    let mut out = String::new();
    let mut rest = path;
    let mut here = Some(Here::RawTable(root));
    let mut numbered = false;
    // Every round takes at least one byte of the path.
    while !rest.is_empty() {
        if let Some((at, after)) = index(rest) {
            let node = match here {
                Some(Here::List(nodes)) => nodes.get(at),
                _ => None,
            };
            match node.and_then(name_of) {
                Some(name) => out.push_str(&format!(" \"{name}\"")),
                // The second index of a pair says little that the caret does not show.
                None if numbered => {}
                None => out.push_str(&format!(" no. {}", at + 1)),
            }
            numbered = true;
            here = node.map(Here::of);
            rest = after;
            continue;
        }
        rest = rest.strip_prefix('.').unwrap_or(rest);
        let (key, after, node) = match here {
            Some(Here::RawTable(table)) if step(table, rest).is_some() => {
                let (node, after) = step(table, rest)?;
                (&rest[..rest.len() - after.len()], after, Some(node))
            }
            _ => {
                let end = rest.find(['.', '[']).filter(|end| 0 < *end).unwrap_or(rest.len());
                (&rest[..end], &rest[end..], None)
            }
        };
        if !out.is_empty() {
            out.push_str(if numbered { ", " } else { "." });
        }
        out.push_str(key);
        numbered = false;
        here = node.map(Here::of);
        rest = after;
    }
    Some(out)
}

#[derive(Clone, Copy)]
enum Here<'a> {
    RawTable(&'a RawTable),
    List(&'a [Node]),
    Leaf,
}

impl<'a> Here<'a> {
    fn of(node: &'a Node) -> Here<'a> {
        match &node.value {
            Value::Table(table) => Here::RawTable(table),
            Value::List(nodes) => Here::List(nodes),
            _ => Here::Leaf,
        }
    }
}

fn name_of(node: &Node) -> Option<String> {
    let Value::Table(table) = &node.value else { return None };
    let Value::Text(name) = &table.entry("name")?.node.value else { return None };
    let short = !name.trim().is_empty() && name.chars().count() <= 40;
    (short && !name.chars().any(char::is_control)).then(|| name.clone())
}
