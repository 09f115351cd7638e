//! Values written at their key paths, whether the file has the keys or not: for what the shop log asks to have written.
//!
//! | the file has | what is done |
//! |---|---|
//! | the key | its value gives way |
//! | the table | the key is added behind its last one |
//! | a single value where the key's table should be (`taper = 0.002` for `taper.tip`) | it gives way to `{ tip = .. }` |
//! | the table that the key's table belongs in (`want.tip` of a stage without `want`) | `want = { tip = .. }` is added there |
//! | neither, and the table is one of the file's own (`glue`) | it is added at the end |
//!
//! `ground` is more than a value: it stands instead of `thickness` and `taper`, of `stock` only the width stays, and `sizing.change` no
//! longer names the lamination. What is taken out becomes a remark where it has lines of its own, so that nothing is lost.

use super::{Edit, Replacements, Rewritten, number_of};
use crate::buildfile::raw::{Entry, Node, RawTable, Value};
use crate::buildfile::source::{Source, in_table};
use crate::diag::{Diagnostic, Place};
use crate::units::System;

/// The text of `source` with these values, each as TOML.
pub fn taken_over(source: &Source, values: &[(Place, String)]) -> Result<Rewritten, Diagnostic> {
    let mut desk = Replacements { source, system: System::Millimetre, ends_mm: None, splices: Vec::new() };
    let values: Vec<(Place, &String)> = values.iter().map(|(place, value)| (in_file(source, place), value)).collect();
    let ground: Vec<Place> =
        values.iter().filter(|(place, _)| is_ground(place)).filter_map(|(place, _)| place.parent()).collect();
    for (place, value) in &values {
        // A lamination that is written as measured has no other thickness, whatever was asked for it before.
        let superseded = ground
            .iter()
            .any(|table| ["thickness", "taper"].iter().any(|key| place.as_str().starts_with(table.key(key).as_str())));
        if superseded {
            continue;
        }
        match (is_ground(place), place.parent()) {
            (true, Some(table)) if !desk.has(place) => desk.ground(&table, value)?,
            _ => desk.write(place, value)?,
        }
    }
    desk.not_sized(&ground);
    Ok(desk.done())
}

/// Where the file has what the model means: the model has stages in the order of their numbers, the file in any order, or none at all;
/// then what is said of one goes for all.
fn in_file(source: &Source, place: &Place) -> Place {
    let stages = Place::new("glue.stage");
    let Some((index, key)) = place.as_str().strip_prefix("glue.stage[").and_then(|rest| rest.split_once("].")) else {
        return place.clone();
    };
    let Some(Value::List(nodes)) = in_table(source.root(), stages.as_str()).map(|(_, node)| &node.value) else {
        return Place::new("glue").key(key);
    };
    let mut order: Vec<usize> = (0..nodes.len()).collect();
    order.sort_by_key(|at| number_of(&nodes[*at], *at));
    let at = index.parse().ok().and_then(|index: usize| order.get(index).copied());
    at.map_or(place.clone(), |at| stages.index(at).key(key))
}

fn is_ground(place: &Place) -> bool {
    place.as_str().starts_with("lamination[") && place.as_str().ends_with("].ground")
}

impl Replacements<'_> {
    fn splice(&mut self, at: std::ops::Range<usize>, new: String, place: &Place, now: &str) {
        let was = self.text()[at.clone()].to_owned();
        self.splices.push((at, new, Edit { place: place.clone(), was, now: now.to_owned() }));
    }

    fn write(&mut self, place: &Place, value: &str) -> Result<(), Diagnostic> {
        if let Some(node) = self.node(place) {
            let span = node.span.clone();
            if self.text()[span.clone()] != *value {
                self.splice(span, value.to_owned(), place, value);
            }
            return Ok(());
        }
        let cannot = || {
            Diagnostic::fault(place.clone(), format!("`{place}` is not in the file, and there is no table to add it to"))
                .hint(format!("write it by hand: {value}"))
        };
        let table = place.parent().ok_or_else(cannot)?;
        let key = place.as_str()[table.as_str().len()..].trim_start_matches('.').to_owned();
        match self.node(&table) {
            Some(Node { value: Value::Table(entries), span }) => {
                let inline = self.text()[span.start..].starts_with('{');
                let last = entries.entries.iter().rfind(|entry| inline || !self.is_headed(entry));
                let (at, new) = match last {
                    Some(last) if inline => (last.node.span.end, format!(", {key} = {value}")),
                    Some(last) => {
                        let wide = self.column(last);
                        (self.line_end(last.node.span.end), format!("{}{key:<wide$} = {value}", self.line_feed()))
                    }
                    None if inline => return Err(cannot()),
                    None => (self.line_end(span.end), format!("{}{key} = {value}", self.line_feed())),
                };
                self.splice(at..at, new, place, value);
                Ok(())
            }
            Some(node) if !matches!(node.value, Value::List(_) | Value::Spoilt) => {
                let span = node.span.clone();
                self.splice(span, format!("{{ {key} = {value} }}"), place, value);
                Ok(())
            }
            None if !table.as_str().is_empty() && !table.as_str().contains(['.', '[']) => {
                let at = self.text().len();
                let feed = self.line_feed();
                let gap = if self.text().ends_with('\n') { feed.to_owned() } else { feed.repeat(2) };
                let head = format!("[{table}]{feed}");
                let line = format!("{key} = {value}{feed}");
                // A table that another key has begun takes this one, too.
                match self.splices.iter_mut().find(|(span, new, _)| *span == (at..at) && new.trim_start().starts_with(&head)) {
                    Some((_, begun, _)) => {
                        begun.push_str(&line);
                        self.splice(at..at, String::new(), place, value);
                    }
                    None => self.splice(at..at, format!("{gap}{head}{line}"), place, value),
                }
                Ok(())
            }
            // The table is one key of a table that is there.
            None if table
                .parent()
                .is_some_and(|parent| matches!(self.node(&parent), Some(Node { value: Value::Table(_), .. }))) =>
            {
                self.write(&table, &format!("{{ {key} = {value} }}"))
            }
            _ => Err(cannot()),
        }
    }

    /// `ground` instead of what the lamination was to be ground to.
    fn ground(&mut self, table: &Place, value: &str) -> Result<(), Diagnostic> {
        let Some(Node { value: Value::Table(lamination), .. }) = self.node(table) else {
            return Err(Diagnostic::fault(table.clone(), "this lamination is not in the file"));
        };
        // Lifetimes end with the source, not with the desk.
        let lamination: &RawTable = lamination;
        let gone: Vec<(Place, std::ops::Range<usize>)> =
            ["thickness", "taper"].iter().filter_map(|key| Some((table.key(key), self.whole(lamination.entry(key)?)))).collect();
        let (place, wide) = (table.key("ground"), lamination.entry("thickness").map_or(0, |entry| self.column(entry)));
        let Some((_, first)) = gone.first().cloned() else { return self.write(&place, value) };
        let stock = lamination.entry("stock").map(|entry| self.stock(table, entry)).unwrap_or_default();
        let new = format!("{:<wide$} = {value}{}", "ground", self.line_feed());
        self.splices.push((first.start..first.start, new, Edit { place, was: String::new(), now: value.to_owned() }));
        for (place, span) in gone {
            self.remark(&place, span);
        }
        for (place, span, new) in stock {
            match new {
                Some(new) => self.splice(span, new.clone(), &place, &new),
                None => self.remark(&place, span),
            }
        }
        Ok(())
    }

    /// What of `stock` has to go: places, bytes, and what stands there instead, if not a remark.
    fn stock(&self, table: &Place, entry: &Entry) -> Vec<(Place, std::ops::Range<usize>, Option<String>)> {
        let place = table.key("stock");
        let Value::Table(stock) = &entry.node.value else { return Vec::new() };
        let width = stock.entry("width");
        if self.text()[entry.node.span.start..].starts_with('{') {
            return match width {
                Some(width) => {
                    let kept = format!("{{ width = {} }}", &self.text()[width.node.span.clone()]);
                    vec![(place, entry.node.span.clone(), Some(kept))]
                }
                None => vec![(place, self.whole(entry), None)],
            };
        }
        let others = stock.entries.iter().filter(|entry| entry.key != "width");
        others.map(|entry| (place.key(&entry.key), self.whole(entry), None)).collect()
    }

    /// Laminations that are ground are no longer sized; a list that would be empty goes with the word beside it.
    fn not_sized(&mut self, ground: &[Place]) {
        let root = self.source.root();
        let text_of = |node: Option<&Node>| match node.map(|node| &node.value) {
            Some(Value::Text(text)) => Some(text.clone()),
            _ => None,
        };
        let names: Vec<String> = ground.iter().filter_map(|table| text_of(self.node(&table.key("name")))).collect();
        let Some(Entry { node: Node { value: Value::Table(sizing), .. }, .. }) = root.entry("sizing") else { return };
        let Some(change) = sizing.entry("change") else { return };
        let Value::List(items) = &change.node.value else { return };
        let stays: Vec<String> = items
            .iter()
            .filter(|item| !text_of(Some(item)).is_some_and(|name| names.contains(&name)))
            .map(|item| self.text()[item.span.clone()].to_owned())
            .collect();
        if stays.len() == items.len() {
            return;
        }
        let place = Place::new("sizing").key("change");
        if !stays.is_empty() {
            let new = format!("[{}]", stays.join(", "));
            return self.splice(change.node.span.clone(), new.clone(), &place, &new);
        }
        // Nothing is left to size: the whole table becomes remarks, its heading too.
        let heading = self.node(&Place::new("sizing")).map(|node| node.span.clone());
        let parts: Vec<_> = heading.into_iter().chain(sizing.entries.iter().map(|entry| self.whole(entry))).collect();
        for span in parts {
            self.remark(&place, span);
        }
    }

    /// Bytes of a key with its value.
    fn whole(&self, entry: &Entry) -> std::ops::Range<usize> {
        entry.key_span.start..entry.node.span.end
    }

    /// Makes a remark of what is written there; each of its lines.
    fn remark(&mut self, place: &Place, span: std::ops::Range<usize>) {
        let old = &self.text()[span.clone()];
        let new = format!("# {}", old.replace('\n', "\n# "));
        let was = old.to_owned();
        self.splices.push((span, new, Edit { place: place.clone(), was, now: "taken out".into() }));
    }

    /// A table with a heading of its own, which is no key of the table around it.
    fn is_headed(&self, entry: &Entry) -> bool {
        let heading = |node: &Node| self.text()[node.span.start..].starts_with('[');
        match &entry.node.value {
            Value::Table(_) => !self.text()[entry.node.span.start..].starts_with('{'),
            Value::List(items) => items.first().is_some_and(|item| matches!(item.value, Value::Table(_)) && heading(item)),
            _ => false,
        }
    }

    /// Letters of a key up to the column of its `=`.
    fn column(&self, entry: &Entry) -> usize {
        let between = &self.text()[entry.key_span.start..entry.node.span.start];
        between.find('=').map_or(0, |equals| between[..equals].len().saturating_sub(1))
    }

    fn line_end(&self, from: usize) -> usize {
        let end = self.text()[from..].find('\n').map_or(self.text().len(), |at| from + at);
        if self.text()[..end].ends_with('\r') { end - 1 } else { end }
    }

    fn line_feed(&self) -> &'static str {
        if self.text().contains("\r\n") { "\r\n" } else { "\n" }
    }
}
