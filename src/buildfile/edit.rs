//! Changes of a build, written into its file: only the values that differ are replaced, in place.
//!
//! Two builds are compared key by key, and where they differ the bytes of the old value give way to the new one, in the file's
//! own units and rounded to what a shop can set. Comments, order, line ends and all other bytes stay. Where a remark follows
//! on the same line, the gap before it takes up the difference, so that columns stay columns.
//!
//! | value | in inch files | in millimetre files |
//! |---|---|---|
//! | thickness, width | 0.001 in | 0.01 mm |
//! | station, length along the wood | 1/16 in | 1 mm |
//! | station of a nock or a tip, nock to nock | 0.001 in | 0.01 mm |
//! | rise of a form or of props | 0.01 in | 0.1 mm |
//! | taper | 0.0001 | 0.0001 |
//!
//! What comes out is to be read again: rounding changes the bow a little, and its numbers are those of the file.

mod take_over;
mod as_toml;

pub use as_toml::{as_toml, quoted};
pub use take_over::taken_over;

use super::raw::{Node, Value};
use super::source::{Source, in_table};
use crate::diag::{self, Diagnostic, Place};
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::outline::NarrowFace;
use crate::model::taper::TaperForm;
use crate::model::workshop::Held;
use crate::units::{System, fixed, limit, trim_zeros};
use std::ops::Range;

/// One value that was replaced, as text; `was` is empty for a key that is new.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    pub place: Place,
    pub was: String,
    pub now: String,
}

/// The file's new text, and what changed in it, in the order of the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rewritten {
    pub text: String,
    pub edits: Vec<Edit>,
}

/// How finely a value is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grid {
    Thickness,
    Station,
    Rise,
    Rate,
}

/// The last digit of a thickness as it is written, mm.
pub fn last_digit_mm(system: System) -> f64 {
    system.to_mm(1.0 / thickness_steps(system))
}

/// Steps to an inch or a millimetre.
fn thickness_steps(system: System) -> f64 {
    match system {
        System::Inch => 1000.0,
        System::Millimetre => 100.0,
    }
}

/// The text of `source`, which reads as `before`, changed so that it reads as `after` but for rounding.
///
/// Compared are outline, riser, laminations and glue-up; a fault names a change that the file's form cannot take.
pub fn rewritten(source: &Source, before: &Build, after: &Build) -> Result<Rewritten, Diagnostic> {
    let end_mm = after.outline.as_ref().map(|outline| [outline.nock_mm(), outline.end_mm()]);
    let mut desk = Replacements { source, system: before.units, ends_mm: end_mm, splices: Vec::new() };
    outline(&mut desk, before, after)?;
    riser(&mut desk, before, after)?;
    for (was, now) in before.laminations.iter().zip(&after.laminations) {
        lamination(&mut desk, was, now)?;
    }
    glue(&mut desk, before, after)?;
    Ok(desk.done())
}

/// Smaller differences come from rounding in the comparison, not from a change.
const SAME_MM: f64 = 1e-7;
/// The same for tapers.
const SAME_RATE: f64 = 1e-10;

/// Replacements are gathered here, and made in one go.
struct Replacements<'a> {
    source: &'a Source,
    system: System,
    /// Nock and end of the wood, where stations must not be rounded away from.
    ends_mm: Option<[f64; 2]>,
    splices: Vec<(Range<usize>, String, Edit)>,
}

impl Replacements<'_> {
    fn node(&self, place: &Place) -> Option<&Node> {
        in_table(self.source.root(), place.as_str()).map(|(_, node)| node)
    }

    fn has(&self, place: &Place) -> bool {
        self.node(place).is_some()
    }

    fn text(&self) -> &str {
        diag::SourceText::text(self.source)
    }

    /// Replaces a value if it changed.
    fn change(&mut self, place: Place, was: f64, now: f64, grid: Grid) -> Result<(), Diagnostic> {
        let same = if grid == Grid::Rate { SAME_RATE } else { SAME_MM };
        if (was - now).abs() <= same { Ok(()) } else { self.put(place, now, grid) }
    }

    fn put(&mut self, place: Place, value: f64, grid: Grid) -> Result<(), Diagnostic> {
        let Some(node) = self.node(&place) else {
            let message = format!("`{place}` is not in the file, so it cannot be changed there");
            return Err(Diagnostic::fault(place, message).hint("write the key with its present value first"));
        };
        let (span, bare) = match node.value {
            Value::Number(_) => (node.span.clone(), true),
            Value::Text(_) => (node.span.clone(), false),
            _ => {
                let message = format!("`{place}` is {} and cannot give way to a number", node.value.noun());
                return Err(Diagnostic::fault(place, message).hint("write a number there"));
            }
        };
        let was = self.text()[span.clone()].to_owned();
        let min_decimals = if bare { was.split_once('.').map_or(0, |(_, decimals)| decimals.len()) } else { 0 };
        let now = self.written(value, grid, min_decimals);
        let unchanged = match (was.parse::<f64>(), now.parse::<f64>()) {
            (Ok(was), Ok(now)) => (was - now).abs() <= 1e-9,
            _ => false,
        };
        if !unchanged {
            self.splices.push((span, now.clone(), Edit { place, was, now }));
        }
        Ok(())
    }

    /// Adds `key` to a table, behind `sibling`, which the table has.
    fn add(&mut self, table: &Place, sibling: &str, key: &str, value: f64, grid: Grid) -> Result<(), Diagnostic> {
        let now = self.written(value, grid, 0);
        let Some(beside) = self.node(&table.key(sibling)) else {
            let message = format!("`{key}` cannot be added: there is no `{sibling}` to put it behind");
            return Err(Diagnostic::fault(table.clone(), message).hint(format!("write `{key}` with its present value first")));
        };
        let text = self.text();
        let end = beside.span.end;
        let line = text[..end].rfind('\n').map_or(0, |at| at + 1);
        let written_before = &text[line..beside.span.start];
        let headed = written_before.trim_start().starts_with(sibling);
        let (at, added) = if headed {
            let line_end = text[end..].find('\n').map_or(text.len(), |at| end + at);
            let at = if text[..line_end].ends_with('\r') { line_end - 1 } else { line_end };
            let line_feed = if text[..line_end].ends_with('\r') { "\r\n" } else { "\n" };
            let indent = &written_before[..written_before.len() - written_before.trim_start().len()];
            let wide = written_before.find('=').map_or(0, |equals| equals - indent.len() - 1);
            (at, format!("{line_feed}{indent}{key:<wide$} = {now}"))
        } else {
            (end, format!(", {key} = {now}"))
        };
        self.splices.push((at..at, added, Edit { place: table.key(key), was: String::new(), now }));
        Ok(())
    }

    /// Replaces what changed in a list of `[station, value]`.
    fn points(&mut self, place: &Place, was: &[(f64, f64)], now: &[(f64, f64)], grid: Grid) -> Result<(), Diagnostic> {
        if was.len() != now.len() {
            let message = format!("`{place}` has {} points and would get {}", was.len(), now.len());
            return Err(Diagnostic::fault(place.clone(), message).hint("give it the points that it needs first"));
        }
        for (index, (was, now)) in was.iter().zip(now).enumerate() {
            self.change(place.index(index).index(0), was.0, now.0, Grid::Station)?;
            self.change(place.index(index).index(1), was.1, now.1, grid)?;
        }
        Ok(())
    }

    /// A number in the file's units on its grid, with as many decimals as the old one had.
    fn written(&self, value: f64, grid: Grid, min_decimals: usize) -> String {
        let inch = self.system == System::Inch;
        let (steps, fine) = match (grid, inch) {
            (Grid::Rate, _) => (10_000.0, 10_000.0),
            (Grid::Thickness, _) => (thickness_steps(self.system), thickness_steps(self.system)),
            (Grid::Station, true) => (16.0, 1000.0),
            (Grid::Station, false) => (1.0, 100.0),
            (Grid::Rise, true) => (100.0, 100.0),
            (Grid::Rise, false) => (10.0, 10.0),
        };
        let number = if grid == Grid::Rate { value } else { self.system.length(value) };
        let at_end =
            grid == Grid::Station && self.ends_mm.is_some_and(|ends| ends.iter().any(|end| limit::same_place(*end, value)));
        let steps = if at_end { fine } else { steps };
        let mut rounded = (number * steps).round() / steps;
        // Rounding must not push a station past the end of the wood.
        if grid == Grid::Station
            && let Some([_, end]) = self.ends_mm
            && limit::past(self.system.to_mm(rounded), end)
            && value <= end
        {
            rounded = (number * steps).floor() / steps;
        }
        let short = trim_zeros(&fixed(rounded, 6));
        let decimals = short.split_once('.').map_or(0, |(_, decimals)| decimals.len());
        if decimals < min_decimals { fixed(rounded, min_decimals) } else { short }
    }

    /// Makes the replacements.
    fn done(mut self) -> Rewritten {
        self.splices.sort_by_key(|(span, _, _)| span.start);
        let text = self.text();
        let mut out = String::with_capacity(text.len() + 64);
        let mut at = 0;
        let mut grown = 0_isize;
        for (index, (span, new, _)) in self.splices.iter().enumerate() {
            out.push_str(&text[at..span.start]);
            out.push_str(new);
            at = span.end;
            // A new line takes no room on the one before it.
            grown += if new.starts_with(['\n', '\r']) { 0 } else { new.len() as isize - span.len() as isize };
            let line_end = text[at..].find('\n').map_or(text.len(), |found| at + found);
            let more_here = self.splices.get(index + 1).is_some_and(|(next, _, _)| next.start <= line_end);
            if !more_here {
                if let Some(gap) = gap_before_remark(&text[at..line_end]) {
                    out.push_str(&text[at..at + gap.start]);
                    let wide = (gap.len() as isize - grown).max(1) as usize;
                    out.push_str(&" ".repeat(wide));
                    at += gap.end;
                }
                grown = 0;
            }
        }
        out.push_str(&text[at..]);
        Rewritten { text: out, edits: self.splices.into_iter().map(|(_, _, edit)| edit).collect() }
    }
}

/// The spaces before the remark at the end of a line; `None` without one.
fn gap_before_remark(line: &str) -> Option<Range<usize>> {
    let mut quoted: Option<char> = None;
    let remark = line.char_indices().find(|(_, letter)| {
        match quoted {
            Some(quote) if quote == *letter => quoted = None,
            None if matches!(letter, '"' | '\'') => quoted = Some(*letter),
            _ => {}
        }
        *letter == '#' && quoted.is_none()
    })?;
    let before = line[..remark.0].trim_end_matches(' ').len();
    (before < remark.0).then_some(before..remark.0)
}

fn outline(desk: &mut Replacements<'_>, before: &Build, after: &Build) -> Result<(), Diagnostic> {
    let (Some(was), Some(now)) = (&before.outline, &after.outline) else { return Ok(()) };
    let place = Place::new("outline");
    desk.change(place.key("nock_to_nock"), was.nock_to_nock_mm, now.nock_to_nock_mm, Grid::Thickness)?;
    desk.points(&place.key("width"), was.width.points(), now.width.points(), Grid::Thickness)?;
    // What is one number in the file is eased in over the riser's fade, which stays where it is: its points do not move.
    if let (Some(was), Some(now)) = (&was.shape.trapped, &now.shape.trapped) {
        let (key, grid) = match now.width {
            NarrowFace::By(_) => ("by", Grid::Thickness),
            NarrowFace::To(_) => ("to", Grid::Rate),
        };
        desk.points(&place.key("trapped").key(key), was.width.curve().points(), now.width.curve().points(), grid)?;
    }
    if let (Some(was), Some(now)) = (&was.shape.crown_mm, &now.shape.crown_mm) {
        desk.points(&place.key("crown"), was.points(), now.points(), Grid::Thickness)?;
    }
    desk.change(place.key("tip_beyond_nock"), was.tip_beyond_nock_mm, now.tip_beyond_nock_mm, Grid::Thickness)
}

fn riser(desk: &mut Replacements<'_>, before: &Build, after: &Build) -> Result<(), Diagnostic> {
    let (Some(was), Some(now)) = (&before.riser, &after.riser) else { return Ok(()) };
    let place = Place::new("riser");
    desk.change(place.key("length"), was.length_mm, now.length_mm, Grid::Station)?;
    desk.change(place.key("level"), was.level_mm, now.level_mm, Grid::Station)?;
    desk.change(place.key("depth"), was.depth_mm, now.depth_mm, Grid::Thickness)?;
    for (index, (was, now)) in was.across.iter().zip(&now.across).enumerate() {
        let width = place.key("across").index(index).index(1);
        if desk.has(&width) {
            desk.change(width, was.width_mm, now.width_mm, Grid::Thickness)?;
        }
    }
    let (width, [was_mm, now_mm]) = (place.key("width"), [was, now].map(|riser| riser.across[0].width_mm));
    if desk.has(&width) {
        desk.change(width, was_mm, now_mm, Grid::Thickness)?;
    }
    Ok(())
}

fn lamination(desk: &mut Replacements<'_>, was: &Lamination, now: &Lamination) -> Result<(), Diagnostic> {
    let place = &was.place;
    desk.change(place.key("from"), was.from_mm, now.from_mm, Grid::Station)?;
    // Without `to` it reaches to the end of the wood, wherever that is now.
    let follows = desk.ends_mm.is_some_and(|[_, end]| (now.to_mm - end).abs() <= SAME_MM);
    if desk.has(&place.key("to")) || !follows {
        desk.change(place.key("to"), was.to_mm, now.to_mm, Grid::Station)?;
    }
    if let (Some(was), Some(now)) = (&was.splice, &now.splice) {
        desk.change(place.key("splice").key("at"), was.at_mm, now.at_mm, Grid::Station)?;
    }
    let strip = place.key("stock").key("width");
    if desk.has(&strip) {
        desk.change(strip, was.stock.width_mm, now.stock.width_mm, Grid::Thickness)?;
    }
    let points = |lamination: &Lamination| lamination.finished.curve().points().to_vec();
    if was.ground {
        return desk.points(&place.key("ground"), &points(was), &points(now), Grid::Thickness);
    }
    let taper = place.key("taper");
    if desk.has(&taper.key("stations")) {
        return desk.points(&taper.key("stations"), &points(was), &points(now), Grid::Thickness);
    }
    let butt = |lamination: &Lamination| lamination.finished.at(lamination.from_mm);
    let tip = |lamination: &Lamination| lamination.finished.at(lamination.to_mm);
    desk.change(place.key("thickness"), butt(was), butt(now), Grid::Thickness)?;
    let (flat_was, rate_was) = flat_and_rate(was.finished.form());
    let (flat_now, rate_now) = flat_and_rate(now.finished.form());
    if desk.has(&taper.key("tip")) {
        desk.change(taper.key("tip"), tip(was), tip(now), Grid::Thickness)
    } else if desk.has(&taper.key("then")) {
        desk.change(taper.key("flat"), flat_was, flat_now, Grid::Station)?;
        desk.change(taper.key("then"), rate_was, rate_now, Grid::Rate)
    } else if desk.has(&taper) {
        desk.change(taper, rate_was, rate_now, Grid::Rate)
    } else if SAME_RATE < (rate_was - rate_now).abs() {
        desk.add(place, "thickness", "taper", rate_now, Grid::Rate)
    } else {
        Ok(())
    }
}

fn flat_and_rate(form: TaperForm) -> (f64, f64) {
    match form {
        TaperForm::Straight { rate } => (0.0, rate),
        TaperForm::FlatThenStraight { flat_mm, rate } => (flat_mm, rate),
        TaperForm::Parallel | TaperForm::Stations | TaperForm::Ground => (0.0, 0.0),
    }
}

fn glue(desk: &mut Replacements<'_>, before: &Build, after: &Build) -> Result<(), Diagnostic> {
    let place = Place::new("glue.stage");
    // The model has stages in the order of their numbers, the file in any order.
    let numbers: Vec<u32> = match desk.node(&place).map(|node| &node.value) {
        Some(Value::List(nodes)) => nodes.iter().enumerate().map(|(index, node)| number_of(node, index)).collect(),
        _ => return Ok(()),
    };
    for (was, now) in before.glue.stages.iter().zip(&after.glue.stages) {
        let Some(index) = numbers.iter().position(|number| *number == was.number) else { continue };
        let table = place.index(index);
        let held = table.key("held");
        match (&was.held, &now.held) {
            (Held::Props { rise_mm, at_mm }, Held::Props { rise_mm: rise_now, at_mm: at_now }) => {
                desk.change(held.key("props"), *rise_mm, *rise_now, Grid::Rise)?;
                desk.change(held.key("at"), *at_mm, *at_now, Grid::Station)?;
            }
            (Held::Form { rise }, Held::Form { rise: rise_now }) => {
                desk.points(&held.key("form"), rise, rise_now, Grid::Rise)?;
            }
            _ => {}
        }
        if let (Some(was), Some(now)) = (was.want_tip_mm, now.want_tip_mm) {
            desk.change(table.key("want").key("tip"), was, now, Grid::Rise)?;
        }
    }
    Ok(())
}

fn number_of(stage: &Node, index: usize) -> u32 {
    let Value::Table(table) = &stage.value else { return index as u32 + 1 };
    match table.entry("number").map(|entry| &entry.node.value) {
        Some(Value::Number(number)) => *number as u32,
        _ => index as u32 + 1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::buildfile;
    use crate::units::MM_PER_IN;

    fn set(source: &Source, place: &Place, value: f64, grid: Grid) -> Result<Rewritten, Diagnostic> {
        let mut desk = Replacements { source, system: System::Inch, ends_mm: None, splices: Vec::new() };
        desk.put(place.clone(), value, grid)?;
        Ok(desk.done())
    }

    #[test]
    fn a_value_gives_way_and_nothing_else_does() {
        let text = "# a remark\r\nunits = \"in\"\r\n[[lamination]] # back\r\nname = \"a # b\"\r\nto = 34\r\nthickness = 0.150   # butt\r\n\
                    taper = { flat = 4, then = 0.002 }   # level, then\r\nstock = { thickness = \"1/4 in\", width = 1.75 }\r\n";
        let (source, outcome) = buildfile::read("bow.toml", text);
        let build = outcome.unwrap().value;
        let place = build.laminations[0].place.clone();
        for (key, value, grid, was, now) in [
            ("thickness", 0.1437 * MM_PER_IN, Grid::Thickness, "0.150   # butt", "0.144   # butt"),
            ("thickness", 0.1 * MM_PER_IN, Grid::Thickness, "0.150   # butt", "0.100   # butt"),
            ("to", 33.01 * MM_PER_IN, Grid::Station, "to = 34", "to = 33"),
            ("to", 33.05 * MM_PER_IN, Grid::Station, "to = 34", "to = 33.0625"),
            ("taper.then", 0.001_872, Grid::Rate, "then = 0.002 }   #", "then = 0.0019 }  #"),
            ("stock.thickness", 0.2 * MM_PER_IN, Grid::Thickness, "\"1/4 in\"", "0.2"),
        ] {
            let done = set(&source, &place.key(key), value, grid).unwrap();
            assert_eq!(done.text, text.replacen(was, now, 1), "{key}");
            assert!(buildfile::read("bow.toml", &done.text).1.is_ok());
        }
        let refused = set(&source, &place.key("from"), 25.4, Grid::Station).unwrap_err();
        assert_eq!(
            refused.message.spoken(System::Inch),
            "`lamination[0].from` is not in the file, so it cannot be changed there"
        );
    }
}
