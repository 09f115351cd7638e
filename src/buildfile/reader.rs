//! Walks the tables of a build file: typed values out, a fault with place, value, limit and hint for whatever does not fit.
//!
//! A [`FileSection`] notes which keys were asked for, so that [`FileSection::finish`] can name the ones that nothing reads. Values
//! come as `Option`: `None` where one is absent or faulty. Callers read all their keys first and only then give up, so that
//! one run gathers every fault.

pub use super::range::Range;
use super::raw::{Node, RawTable, Value};
use super::spelling::{self, Quoted};
use super::wording::{WantedValue, amount, likely_meant, number_text, printable, rounded, shortened, wanted, with_unit};
use crate::diag::{Diagnostic, Fill, Message, Piece, Place, gaps, mm};
use crate::model::build::Assumed;
use crate::units::limit::{self, Toward};
use crate::units::{self, Quantity, System};
use std::cell::{Cell, RefCell};

/// What has come up so far.
#[derive(Debug)]
pub struct Notes {
    /// What is read, for messages: `the build file`.
    pub file: &'static str,
    pub system: System,
    /// `units` was given: bare numbers have a meaning, and limits on them can be judged.
    pub units_known: Cell<bool>,
    /// From this byte on the tree is not to be trusted.
    pub sound_until: usize,
    /// The tree misses nothing: absent keys are really absent.
    pub whole: bool,
    pub faults: RefCell<Vec<Diagnostic>>,
    /// Bare lengths that do not fit, and those of them that would fit in the other system.
    pub lengths_out: Cell<(usize, usize)>,
    /// Faults beyond those that are kept.
    pub uncounted: Cell<usize>,
    pub warnings: RefCell<Vec<Diagnostic>>,
    /// Where each default stands in for a key, and the default.
    pub assumed: RefCell<Vec<(Place, Assumed)>>,
    /// Keys that nothing reads, with their bytes.
    pub strays: RefCell<Vec<(Place, std::ops::Range<usize>)>>,
    /// Each table that was read, by its path without indices, with the keys that are known there.
    pub tables: RefCell<Vec<(String, Vec<&'static str>)>>,
    /// Faults that name a key which is not known in its table.
    pub unknown: RefCell<Vec<UnknownKey>>,
}

/// A key that nothing reads where it stands.
#[derive(Debug)]
pub struct UnknownKey {
    /// Its fault's place in [`Notes::faults`].
    pub fault: usize,
    pub key: String,
    /// Of its table, without indices.
    pub path: String,
    pub is_table: bool,
}

impl Notes {
    pub fn fault(&self, diagnostic: Diagnostic) {
        if self.is_full() {
            self.uncounted.set(self.uncounted.get() + 1);
        } else {
            self.faults.borrow_mut().push(diagnostic);
        }
    }

    /// So many faults have come up that more are only counted.
    fn is_full(&self) -> bool {
        MAX_KEPT <= self.faults.borrow().len()
    }

    /// The faults; those of keys that are known in another table, or a few, say in which.
    pub fn told(&self) -> Vec<Diagnostic> {
        /// A key of more tables than these says little of where it was meant to be.
        const FEW: usize = 3;
        let mut faults = self.faults.take();
        let tables = self.tables.borrow();
        for UnknownKey { fault, key, path, is_table } in self.unknown.take() {
            let knows = tables.iter().filter(|(table, keys)| *table != path && keys.contains(&key.as_str()));
            let mut others: Vec<&str> = knows.map(|(table, _)| table.as_str()).filter(|table| !table.is_empty()).collect();
            // The table around it is nearest: its line stands under one heading too many.
            if let Some(around) =
                others.iter().copied().filter(|table| path.starts_with(&format!("{table}."))).max_by_key(|t| t.len())
            {
                others = vec![around];
            }
            others.sort_unstable_by_key(|table| (table.matches('.').count(), *table));
            others.dedup();
            let quoted: Vec<String> = others.iter().map(|table| format!("`{table}`")).collect();
            let hint = match quoted.as_slice() {
                [only] if is_table => format!("it belongs under {only}: write [{}.{key}]", others[0]),
                [only] => format!("it belongs under {only}"),
                [before @ .., last] if quoted.len() <= FEW => format!("it belongs under {} or {last}", before.join(", ")),
                _ => continue,
            };
            if let Some(fault) = faults.get_mut(fault) {
                fault.hints.insert(0, hint.into());
            }
        }
        faults
    }

    pub fn warn(&self, diagnostic: Diagnostic) {
        self.warnings.borrow_mut().push(diagnostic);
    }
}

/// Keeping more would make a file of nothing but faults slow to report.
const MAX_KEPT: usize = 500;

/// A default in each system, as a bare number of that system, and why it is that.
#[derive(Debug, Clone, Copy)]
pub struct Preset {
    pub inch: f64,
    pub metric: f64,
    /// The reason, with a gap `{}` for each of `lengths_mm`.
    why: &'static str,
    lengths_mm: &'static [f64],
}

impl Preset {
    pub const fn new(inch: f64, metric: f64, why: &'static str) -> Preset {
        Preset { inch, metric, why, lengths_mm: &[] }
    }

    /// With the lengths that its reason names, in mm.
    pub const fn naming(self, lengths_mm: &'static [f64]) -> Preset {
        assert!(gaps(self.why) == lengths_mm.len());
        Preset { lengths_mm, ..self }
    }

    fn why(&self) -> Message {
        let lengths: Vec<Piece> = self.lengths_mm.iter().map(|length_mm| mm(*length_mm)).collect();
        Message::filled(self.why, &lengths.iter().map(|length| length as &dyn Fill).collect::<Vec<_>>())
    }

    /// The same number in both systems.
    pub const fn same(value: f64, why: &'static str) -> Preset {
        Preset { inch: value, metric: value, why, lengths_mm: &[] }
    }
}

/// One table of the build file.
#[derive(Debug)]
pub struct FileSection<'a> {
    pub notes: &'a Notes,
    pub place: Place,
    /// The path without indices, for the list of defaults: `lamination.stock`.
    pub path: String,
    table: Option<&'a RawTable>,
    /// Something stands in the file where this table should, and has been reported.
    spoilt: bool,
    asked: RefCell<Vec<&'static str>>,
}

impl<'a> FileSection<'a> {
    pub fn new(notes: &'a Notes, place: Place, path: impl Into<String>, table: Option<&'a RawTable>) -> FileSection<'a> {
        FileSection { notes, place, path: path.into(), table, spoilt: false, asked: RefCell::new(Vec::new()) }
    }

    /// The table is in the file.
    pub fn present(&self) -> bool {
        self.table.is_some()
    }

    pub fn has(&self, key: &str) -> bool {
        self.table.is_some_and(|table| table.entry(key).is_some())
    }

    /// The value under `key`, if it is there.
    pub fn get(&self, key: &'static str) -> Option<Written<'a>> {
        if !self.asked.borrow().contains(&key) {
            self.asked.borrow_mut().push(key);
        }
        let entry = self.table?.entry(key)?;
        Some(Written { notes: self.notes, place: self.place.key(key), path: self.path_of(key), node: &entry.node })
    }

    /// The value under `key`, or a fault with this hint.
    pub fn need(&self, key: &'static str, hint: &str) -> Option<Written<'a>> {
        let found = self.get(key);
        if found.is_none() && self.notes.whole && !self.spoilt {
            self.notes.fault(Diagnostic::fault(self.place.clone(), format!("`{key}` is missing")).hint(hint));
        }
        found
    }

    /// A table under `key`; an empty one if it is absent or not a table.
    pub fn section(&self, key: &'static str) -> FileSection<'a> {
        let written = self.get(key);
        let table = written.as_ref().and_then(Written::table);
        let spoilt = self.spoilt || (written.is_some() && table.is_none());
        FileSection { spoilt, ..FileSection::new(self.notes, self.place.key(key), self.path_of(key), table) }
    }

    /// The tables of a list under `key`, as `[[key]]` makes them; `None` if it is absent or faulty.
    pub fn sections(&self, key: &'static str) -> Option<Vec<FileSection<'a>>> {
        self.sections_up_to(key, LONGEST_LIST)
    }

    /// The same, at most so many.
    pub fn sections_up_to(&self, key: &'static str, max: usize) -> Option<Vec<FileSection<'a>>> {
        let written = self.get(key)?;
        if matches!(written.node.value, Value::Table(_)) {
            let message = format!("`[{}]` is one table, but there may be several", written.place);
            written.fault(message, format!("write [[{}]] with two brackets", written.place));
            return None;
        }
        let items = written.list_up_to("tables, each headed [[..]]", max)?;
        let read = |item: Written<'a>| {
            item.table().map(|table| FileSection::new(self.notes, item.place.clone(), self.path_of(key), Some(table)))
        };
        items.into_iter().map(read).collect()
    }

    pub fn quantity(&self, key: &'static str, quantity: Quantity, range: Range) -> Option<f64> {
        self.get(key)?.quantity(quantity, range)
    }

    /// The quantity under `key`, or the preset, which is then noted.
    pub fn quantity_or(&self, key: &'static str, quantity: Quantity, range: Range, preset: Preset) -> Option<f64> {
        match self.get(key) {
            Some(written) => written.quantity(quantity, range),
            None => Some(self.preset(key, quantity, preset)),
        }
    }

    /// The preset in internal units, noted as assumed.
    pub fn preset(&self, key: &str, quantity: Quantity, preset: Preset) -> f64 {
        let system = self.notes.system;
        let bare = if system == System::Inch { preset.inch } else { preset.metric };
        let value = bare * quantity.bare_factor(system);
        let unit = quantity.said_in(system);
        let number =
            if unit.name == quantity.bare_unit(system) { number_text(bare) } else { units::fixed(value / unit.factor, 2) };
        self.assume(key, with_unit(&number, unit.name), preset.why());
        value
    }

    pub fn length(&self, key: &'static str, range: Range) -> Option<f64> {
        self.quantity(key, Quantity::Length, range)
    }

    pub fn length_or(&self, key: &'static str, range: Range, preset: Preset) -> Option<f64> {
        self.quantity_or(key, Quantity::Length, range, preset)
    }

    pub fn need_length(&self, key: &'static str, range: Range, hint: &str) -> Option<f64> {
        self.need(key, hint)?.quantity(Quantity::Length, range)
    }

    /// A count under `key`, or the default.
    pub fn count_or(&self, key: &'static str, min: u32, max: u32, default: u32, why: &str) -> Option<u32> {
        match self.get(key) {
            Some(written) => written.count(min, max),
            None => {
                self.assume(key, default.to_string(), why);
                Some(default)
            }
        }
    }

    /// One of a few words under `key`, or the first of them as the default.
    pub fn word_or<T: Copy>(&self, key: &'static str, words: &[(&str, T)], why: &str) -> Option<T> {
        match self.get(key) {
            Some(written) => written.word(words),
            None => {
                self.assume(key, words[0].0, why);
                Some(words[0].1)
            }
        }
    }

    /// Names every key that nothing asked for.
    pub fn finish(&self) {
        let asked = self.asked.borrow();
        self.notes.tables.borrow_mut().push((self.path.clone(), asked.clone()));
        let Some(table) = self.table else { return };
        for entry in table.entries.iter().filter(|entry| !asked.contains(&entry.key.as_str())) {
            if self.notes.sound_until <= entry.key_span.start || entry.key.is_empty() {
                continue;
            }
            if self.notes.is_full() {
                self.notes.uncounted.set(self.notes.uncounted.get() + 1);
                continue;
            }
            let shown = shortened(&entry.key);
            let place = self.place.key(&shown);
            let within = if self.path.is_empty() { self.notes.file.to_owned() } else { format!("`{}`", self.path) };
            let hint = spelling::meant(&entry.key, asked.iter().copied(), Quoted::Code, || {
                format!("known keys here: {}", asked.join(", "))
            });
            self.notes.strays.borrow_mut().push((place.clone(), entry.key_span.clone()));
            let fault = self.notes.faults.borrow().len();
            let is_table = matches!(entry.node.value, Value::Table(_));
            self.notes.unknown.borrow_mut().push(UnknownKey { fault, key: entry.key.clone(), path: self.path.clone(), is_table });
            self.notes.fault(Diagnostic::fault(place, format!("nothing in {within} has this name")).hint(hint));
        }
    }

    /// Notes that a default stands in for `key`.
    pub fn assume(&self, key: &str, value: impl Into<String>, why: impl Into<Message>) {
        let why = why.into().spoken(self.notes.system);
        let assumed = Assumed { key: self.path_of(key), value: value.into(), why };
        self.notes.assumed.borrow_mut().push((self.place.key(key), assumed));
    }

    pub fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// A fault of this table as a whole, or of a key in it.
    pub fn fault(&self, key: &str, message: impl Into<Message>, hint: impl Into<Message>) {
        let place = if key.is_empty() { self.place.clone() } else { self.place.key(key) };
        self.notes.fault(Diagnostic::fault(place, message).hint(hint));
    }
}

/// A value as it stands in the file.
#[derive(Debug, Clone)]
pub struct Written<'a> {
    pub notes: &'a Notes,
    pub place: Place,
    pub path: String,
    pub node: &'a Node,
}

impl<'a> Written<'a> {
    pub fn fault(&self, message: impl Into<Message>, hint: impl Into<Message>) {
        // What is not TOML has been reported as such.
        if self.node.span.start < self.notes.sound_until && !matches!(self.node.value, Value::Spoilt) {
            self.notes.fault(Diagnostic::fault(self.place.clone(), message).hint(hint));
        }
    }

    /// A bare 0.
    pub fn is_zero(&self) -> bool {
        matches!(self.node.value, Value::Number(number) if number.abs() <= 0.0)
    }

    /// A table that has this key.
    pub fn table_has(&self, key: &str) -> bool {
        matches!(&self.node.value, Value::Table(table) if table.entry(key).is_some())
    }

    pub fn is_table(&self) -> bool {
        matches!(self.node.value, Value::Table(_))
    }

    /// A number, bare or in a text with its unit, in the internal unit of its kind and within its range.
    pub fn quantity(&self, quantity: Quantity, range: Range) -> Option<f64> {
        let system = self.notes.system;
        let (value, bare) = match &self.node.value {
            Value::Number(number) if number.is_finite() => (quantity.of_bare(*number, system), Some(*number)),
            Value::Number(number) => {
                self.fault(format!("{number} is not a number that one can measure"), "write an ordinary decimal number");
                return None;
            }
            Value::Text(text) => match units::read(text, quantity, system) {
                Ok(value) => (value, text.trim().parse::<f64>().ok()),
                Err(unreadable) => {
                    self.fault(printable(&unreadable.message), unreadable.hint);
                    return None;
                }
            },
            other => {
                let WantedValue { noun, example } = wanted(quantity, system);
                self.fault(format!("this is {}, but {noun} is wanted", other.noun()), format!("write it like {example}"));
                return None;
            }
        };
        if range.holds(value) {
            // What misses a limit by rounding alone is the limit.
            return Some(value.clamp(range.min, range.max));
        }
        if bare.is_none() || self.notes.units_known.get() {
            self.out_of_range(quantity, range, value, bare);
        }
        None
    }

    fn out_of_range(&self, quantity: Quantity, range: Range, value: f64, bare: Option<f64>) {
        let system = self.notes.system;
        let shown = match (&self.node.value, bare) {
            (Value::Text(text), None) => shortened(text),
            (_, number) => with_unit(&number_text(number.unwrap_or(value)), quantity.bare_unit(system)),
        };
        let (min, max) = (rounded(range.min, quantity, system, Toward::Up), rounded(range.max, quantity, system, Toward::Down));
        let message = if value.is_infinite() || range.max < value {
            format!("{shown} is too much; at most {max} makes sense here")
        } else if range.open {
            format!("{shown} is not more than {}", units::trim_zeros(&units::fixed(range.min, 1)))
        } else {
            format!("{shown} is too little; at least {min} makes sense here")
        };
        let mut diagnostic = Diagnostic::fault(self.place.clone(), message);
        let meant = bare.and_then(|number| likely_meant(number, quantity, range, system));
        if quantity == Quantity::Length && bare.is_some() {
            let (out, fitting) = self.notes.lengths_out.get();
            self.notes.lengths_out.set((out + 1, fitting + usize::from(meant.is_some())));
        }
        if let Some(hint) = meant {
            diagnostic = diagnostic.hint(hint);
        } else if range.open && value <= range.min {
            diagnostic = diagnostic.hint("write a value greater than 0");
        } else {
            diagnostic = diagnostic.hint(if range.open {
                format!("write a value greater than 0, at most {max}")
            } else {
                format!("write a value from {min} to {max}")
            });
        }
        if self.node.span.start < self.notes.sound_until {
            self.notes.fault(diagnostic);
        }
    }

    /// A whole number from `min` to `max`.
    pub fn count(&self, min: u32, max: u32) -> Option<u32> {
        let hint = format!("write a whole number from {min} to {max}");
        match &self.node.value {
            Value::Number(number) if number.fract().abs() <= 0.0 && (f64::from(min)..=f64::from(max)).contains(number) => {
                Some(*number as u32)
            }
            Value::Number(number) => {
                self.fault(format!("{} does not fit here", number_text(*number)), hint);
                None
            }
            other => {
                self.fault(format!("this is {}, but a whole number is wanted", other.noun()), hint);
                None
            }
        }
    }

    pub fn flag(&self) -> Option<bool> {
        let Value::Flag(flag) = self.node.value else {
            self.fault(
                format!("this is {}, but true or false is wanted", self.node.value.noun()),
                "write true or false, without quotes",
            );
            return None;
        };
        Some(flag)
    }

    /// A text that is not empty and has no control characters.
    pub fn text(&self, wanted: &str) -> Option<&'a str> {
        let Value::Text(text) = &self.node.value else {
            self.fault(format!("this is {}, but {wanted} in quotes is wanted", self.node.value.noun()), "put quotes around it");
            return None;
        };
        if text.trim().is_empty() {
            self.fault("this text is empty", format!("write {wanted}"));
            return None;
        }
        if let Some(bad) = text.chars().find(|c| c.is_control()) {
            let code = bad as u32;
            self.fault(format!("this text holds a control character (code {code})"), "type it anew on one line");
            return None;
        }
        Some(text)
    }

    /// One of a few words.
    pub fn word<T: Copy>(&self, words: &[(&str, T)]) -> Option<T> {
        let all: Vec<String> = words.iter().map(|(word, _)| format!("\"{word}\"")).collect();
        let all = all.join(", ");
        let Value::Text(text) = &self.node.value else {
            self.fault(format!("this is {}, but a word is wanted", self.node.value.noun()), format!("write one of {all}"));
            return None;
        };
        if let Some((_, meaning)) = words.iter().find(|(word, _)| word == text) {
            return Some(*meaning);
        }
        let known = words.iter().map(|(word, _)| *word);
        let hint = match spelling::meant(text, known, Quoted::Value, String::new) {
            none if none.is_empty() => format!("write one of {all}"),
            meant => format!("{meant} possible are {all}"),
        };
        self.fault(format!("\"{}\" is not known here", shortened(text)), hint);
        None
    }

    /// The parts of a list that is not empty.
    pub fn list(&self, wanted: &str) -> Option<Vec<Written<'a>>> {
        self.list_up_to(wanted, LONGEST_LIST)
    }

    pub fn list_up_to(&self, wanted: &str, max: usize) -> Option<Vec<Written<'a>>> {
        let Value::List(nodes) = &self.node.value else {
            self.fault(
                format!("this is {}, but a list is wanted", self.node.value.noun()),
                format!("write {wanted} in [brackets]"),
            );
            return None;
        };
        if nodes.is_empty() {
            self.fault("this list is empty", format!("write {wanted}, or take the line out"));
            return None;
        }
        if max < nodes.len() {
            self.fault(format!("this list has {} parts; at most {max} are read", nodes.len()), "keep those that matter");
            return None;
        }
        let item = |(i, node)| Written { notes: self.notes, place: self.place.index(i), path: self.path.clone(), node };
        Some(nodes.iter().enumerate().map(item).collect())
    }

    pub fn table(&self) -> Option<&'a RawTable> {
        match &self.node.value {
            Value::Table(table) => Some(table),
            _ => {
                let hint = "write { key = value, .. }, or a heading in [brackets] with the keys below it";
                self.fault(format!("this is {}, but a table of keys is wanted", self.node.value.noun()), hint);
                None
            }
        }
    }

    /// This value as a table to read keys from.
    pub fn section(&self) -> Option<FileSection<'a>> {
        Some(FileSection::new(self.notes, self.place.clone(), self.path.clone(), Some(self.table()?)))
    }

    /// The parts of a list of two; `hint` says how it is written.
    pub fn pair(&self, wanted: &str, hint: &str) -> Option<[Written<'a>; 2]> {
        let parts = self.list(wanted)?;
        let count = parts.len();
        let pair = parts.try_into().ok();
        if pair.is_none() {
            self.fault(format!("this list has {count} parts, but two are wanted"), hint);
        }
        pair
    }

    /// Two lengths, such as a bed's.
    pub fn two_lengths(&self, range: Range) -> Option<[f64; 2]> {
        let [first, second] = self.pair("two lengths", "write [length, length]")?;
        let (first, second) = (first.quantity(Quantity::Length, range), second.quantity(Quantity::Length, range));
        Some([first?, second?])
    }

    /// Pairs `[station, value]` with increasing stations, both in mm.
    pub fn stations(&self, of: &str, station: Range, value: Range) -> Option<Vec<(f64, f64)>> {
        self.stations_of(of, station, Quantity::Length, value)
    }

    /// The same with values of another kind, in its internal unit.
    pub fn stations_of(&self, of: &str, station: Range, quantity: Quantity, value: Range) -> Option<Vec<(f64, f64)>> {
        let items = self.list(&format!("pairs [station, {of}]"))?;
        let mut points: Vec<(f64, f64)> = Vec::with_capacity(items.len());
        let mut sound = true;
        for item in items {
            let pair = match &item.node.value {
                Value::List(nodes) if nodes.len() == 2 => item.list("a pair"),
                _ => {
                    item.fault(
                        format!("this is not a pair [station, {of}]"),
                        format!("write the station, a comma and the {of} in brackets"),
                    );
                    None
                }
            };
            let read = pair.map(|pair| {
                (pair[0].quantity(Quantity::Length, station), pair[1].quantity(quantity, value), pair[0].place.clone())
            });
            let Some((Some(s), Some(v), place)) = read else {
                sound = false;
                continue;
            };
            if let Some((before, _)) = points.last().filter(|(before, _)| limit::below(s, before + MIN_STEP_MM)) {
                let shown = |s: f64| amount(s, Quantity::Length, self.notes.system);
                let message = format!("station {} does not lie beyond the one before it, {}", shown(s), shown(*before));
                let hint = "list stations from the bow's centre toward the tip, each once";
                if item.node.span.start < self.notes.sound_until {
                    self.notes.fault(Diagnostic::fault(place, message).hint(hint));
                }
                sound = false;
                continue;
            }
            points.push((s, v));
        }
        sound.then_some(points)
    }
}

/// What an optional key came to: nothing where it is absent, and no answer at all where it is faulty.
pub fn if_given<T>(read: Option<Option<T>>) -> Option<Option<T>> {
    match read {
        Some(faulty_or_value) => faulty_or_value.map(Some),
        None => Some(None),
    }
}

/// Longer lists of stations or parts are a slip; a limb has a few dozen stations.
const LONGEST_LIST: usize = 500;
/// Stations closer than this would make slopes out of rounding. More would refuse stations that a caliper can tell apart.
const MIN_STEP_MM: f64 = 0.01;
