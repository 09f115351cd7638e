//! SVG at true size: one user unit is one millimetre, one group for each kind of line.
//!
//! The drawing's y runs up, SVG's runs down: points are flipped one by one, so that no reader has to honour a transform for what is
//! cut. Arcs stay arcs (`A`). Letters of [`Kind::Engrave`] are single strokes, plain paths that every cutter's program follows. All
//! other letters are outlines, so that every reader shows the same: each letter stands once under `<defs>` and is used where it is
//! read; a cutter's program that knows no `<use>` shows the same lines to cut. What letters say is kept in each label's `<title>`.
//! Source: Scalable Vector Graphics 1.1, W3C.

use super::{Content, Unwritable, checked, escaped, layer_name, number};
use crate::drawing::{
    Align, Drawing, Item, Kind, Label, Lettering, LineStyle, LineTable, Shape, annotate, font, panels, strokes,
};
use crate::geometry::path::Arc;
use crate::geometry::{Bounds, Path, Placement, Point};
use ::svg::Document;
use ::svg::node::Blob;
use ::svg::node::element::{Definitions, Description, Group, Path as Element, Title};
use std::collections::{BTreeMap, BTreeSet};
use std::f64::consts::PI;
use std::fmt::Write;
use std::sync::{Mutex, PoisonError};

/// White border around everything, mm.
const BORDER_MM: f64 = 5.0;
/// Letters are drawn in thousandths of a capital's height, and their outlines are as close as this many of them.
const LETTER_UNITS: f64 = 1000.0;
const LETTER_TOLERANCE: f64 = 5.0;

/// The drawing as an SVG file.
pub fn svg(drawing: &Drawing, lines: &LineTable, content: Content) -> Result<Vec<u8>, Unwritable> {
    checked(drawing)?;
    let whole = panels::in_one(drawing);
    let drawing = &*whole;
    let around = annotate::surround(drawing);
    let items = content.items(drawing, &around)?;
    let bounds = font::extent(drawing).union(font::extent(&around)).grown(BORDER_MM);
    let size = [number::mm(bounds.width()), number::mm(bounds.height())];
    let mut document = Document::new()
        .set("width", format!("{}mm", size[0]))
        .set("height", format!("{}mm", size[1]))
        .set("viewBox", format!("0 0 {} {}", size[0], size[1]))
        .set("xmlns:inkscape", "http://www.inkscape.org/namespaces/inkscape")
        .set("xmlns:xlink", "http://www.w3.org/1999/xlink")
        .add(Title::new(drawing.title.as_str()))
        .add(Description::new().add(::svg::node::Text::new(described(drawing))));
    if let Some(letters) = letters(&items) {
        document = document.add(letters);
    }
    let mut taken = BTreeSet::new();
    // Areas lie under all lines.
    let order = [Kind::Tone].into_iter().chain(Kind::ALL.into_iter().filter(|kind| *kind != Kind::Tone));
    for kind in order {
        let (between, of_kind): (Vec<&Item>, Vec<&Item>) =
            items.iter().copied().filter(|item| item.kind == kind).partition(|item| item.is_between_tabs());
        for (of_kind, ending) in [(of_kind, ""), (between, Item::BETWEEN_TABS)] {
            if !of_kind.is_empty() {
                let style = lines.style(kind);
                let style = LineStyle { layer: format!("{}{ending}", style.layer), ..style.clone() };
                document = document.add(group(kind, &style, &of_kind, bounds, &mut taken));
            }
        }
    }
    Ok(format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n").into_bytes())
}

fn described(drawing: &Drawing) -> String {
    let mut lines = drawing.notes.clone();
    if !drawing.made_by.is_empty() {
        lines.push(drawing.made_by.clone());
    }
    lines.join("\n")
}

fn group(kind: Kind, style: &LineStyle, items: &[&Item], bounds: Bounds, taken: &mut BTreeSet<String>) -> Group {
    let layer = layer_name(&style.layer);
    // Two kinds may share a layer; ids may not be shared, and must not begin with a digit.
    let mut id = if layer.starts_with(|c: char| c.is_ascii_alphabetic()) { layer.clone() } else { format!("layer_{layer}") };
    if !taken.insert(id.clone()) {
        id = format!("{id}-{}", kind.key());
        taken.insert(id.clone());
    }
    let [r, g, b] = style.rgb;
    let color = format!("#{r:02x}{g:02x}{b:02x}");
    let mut group = Group::new().set("id", id).set("inkscape:groupmode", "layer").set("inkscape:label", layer);
    group = if kind == Kind::Tone {
        group.set("fill", color.as_str()).set("stroke", "none")
    } else {
        group.set("fill", "none").set("stroke", color.as_str()).set("stroke-width", number::mm(style.weight_mm))
    };
    if !style.dashes.is_empty() {
        let dashes: Vec<String> = style.dashes.iter().map(|length| number::mm(*length)).collect();
        group = group.set("stroke-dasharray", dashes.join(" "));
    }
    for item in items {
        let part = |element: Element| match item.part.as_str() {
            "" => element,
            part => element.set("data-part", part),
        };
        group = match &item.shape {
            Shape::Path(path) => group.add(line(&data(path, bounds, number::MM_DECIMALS), &item.part)),
            Shape::Label(label) if kind == Kind::Engrave => {
                let strokes: String = strokes::lines(label).iter().map(|path| data(path, bounds, number::MM_DECIMALS)).collect();
                let said = Title::new(label.text.as_str());
                group.add(part(Element::new().set("d", strokes).set("stroke-dasharray", "none").add(said)))
            }
            Shape::Label(label) => group.add(set(label, color.as_str(), bounds)),
        };
    }
    group
}

/// What letters that are only read are called by, and the letters that are used.
fn push_letter_id(text: &mut String, letter: char, lettering: Lettering) {
    text.push(match lettering {
        Lettering::Regular => 'r',
        Lettering::Bold => 'b',
    });
    // A text cannot fail to take more text.
    let _ = write!(text, "{:x}", u32::from(letter));
}

fn letters(items: &[&Item]) -> Option<Definitions> {
    let mut used: BTreeSet<(Lettering, char)> = BTreeSet::new();
    for item in items.iter().filter(|item| item.kind != Kind::Engrave) {
        if let Shape::Label(label) = &item.shape {
            used.extend(label.text.chars().map(|letter| (label.lettering, letter)));
        }
    }
    let drawn = used.into_iter().filter_map(|(lettering, letter)| {
        let mut id = String::new();
        push_letter_id(&mut id, letter, lettering);
        let outlines = letter_outlines(letter, lettering);
        (!outlines.is_empty()).then(|| Element::new().set("id", id).set("d", outlines))
    });
    let drawn: Vec<Element> = drawn.collect();
    (!drawn.is_empty()).then(|| drawn.into_iter().fold(Definitions::new(), Definitions::add))
}

/// A letter's outlines as path data, made once: all files show the same letters.
fn letter_outlines(letter: char, lettering: Lettering) -> String {
    static MADE: Mutex<BTreeMap<(Lettering, char), String>> = Mutex::new(BTreeMap::new());
    // Whoever failed under the lock has left whole entries alone.
    let mut made = MADE.lock().unwrap_or_else(PoisonError::into_inner);
    let outlines = made.entry((lettering, letter)).or_insert_with(|| {
        let label = Label { lettering, ..Label::new(letter, Point::new(0.0, 0.0), LETTER_UNITS) };
        compact(&font::outlines(&label, LETTER_TOLERANCE))
    });
    outlines.clone()
}

/// A label of letters that are used where they stand.
fn set(label: &Label, color: &str, bounds: Bounds) -> Group {
    let (x, y) = (number::mm(label.at.x - bounds.min.x), number::mm(bounds.max.y - label.at.y));
    let turned = match number::mm(-label.angle_rad.to_degrees()) {
        angle if angle == "0" => String::new(),
        angle => format!(" rotate({angle})"),
    };
    let scale = format!("{:.7}", label.cap_mm / LETTER_UNITS);
    let transform = format!("translate({x} {y}){turned} scale({})", scale.trim_end_matches('0'));
    let units = Label { cap_mm: LETTER_UNITS, ..label.clone() };
    let mut along = if label.align == Align::Left { 0.0 } else { -font::shift_mm(&units) };
    let group = Group::new().set("fill", color).set("stroke", "none").set("transform", transform);
    let group = group.add(Title::new(label.text.as_str()));
    let em = font::em_mm(LETTER_UNITS, label.lettering);
    let mut letters = String::with_capacity(32 * label.text.len());
    for glyph in font::glyphs(&label.text, label.lettering) {
        for letter in label.text[glyph.bytes].chars().filter(|letter| !letter.is_whitespace()) {
            if !letters.is_empty() {
                letters.push('\n');
            }
            letters.push_str("<use x=\"");
            push_whole(&mut letters, along);
            letters.push_str("\" xlink:href=\"#");
            push_letter_id(&mut letters, letter, label.lettering);
            letters.push_str("\"/>");
        }
        along += glyph.advance_em * em;
    }
    if letters.is_empty() { group } else { group.add(Blob::new(letters)) }
}

/// A line. A drawing has thousands of lines and of letters: they are written as they stand in the file, where the library would keep each one's
/// attributes in a table of its own and go through its data five times for characters that it cannot hold.
fn line(data: &str, part: &str) -> Blob {
    let part = if part.is_empty() { String::new() } else { format!(" data-part=\"{}\"", escaped(part).replace('\'', "&apos;")) };
    Blob::new(format!("<path d=\"{data}\"{part}/>"))
}

/// The nearest whole number, as `{:.0}` writes it.
fn push_whole(text: &mut String, value: f64) {
    let whole = value.round_ties_even();
    if whole == 0.0 && whole.is_sign_negative() {
        text.push('-');
    }
    // A text cannot fail to take more text.
    let _ = write!(text, "{}", whole as i64);
}

/// Closed polylines in whole numbers, in as few characters as SVG allows: steps from corner to corner, y turned down. Steps are taken
/// between rounded corners, so that their errors do not add up.
fn compact(paths: &[Path]) -> String {
    let rounded = |p: Point| [p.x, -p.y].map(|value| value.round() as i64);
    let pair = |d: &mut String, [x, y]: [i64; 2]| {
        // A minus sign parts two numbers as well as a space does; a text cannot fail to take more text.
        let _ = write!(d, "{x}{}{y}", if y < 0 { "" } else { " " });
    };
    let mut d = String::new();
    for path in paths {
        let corners: Vec<[i64; 2]> = path.vertices.iter().map(|v| rounded(v.at)).collect();
        let Some(first) = corners.first() else { continue };
        d.push('M');
        pair(&mut d, *first);
        let mut begun = false;
        for step in corners.windows(2).map(|two| [two[1][0] - two[0][0], two[1][1] - two[0][1]]).filter(|step| *step != [0, 0]) {
            if !begun {
                d.push('l');
            } else if 0 <= step[0] {
                d.push(' ');
            }
            begun = true;
            pair(&mut d, step);
        }
        d.push('z');
    }
    d
}

/// Path data with the y axis turned down, measured from the upper left corner of `bounds`, with at most so many decimals.
pub(super) fn data(path: &Path, bounds: Bounds, decimals: usize) -> String {
    let place = Placement::moved(-bounds.min.x, 0.0);
    let at = |d: &mut String, p: Point| number::push_place(d, Point::new(place.apply(p).x, bounds.max.y - p.y), decimals);
    let Some(first) = path.vertices.first() else { return String::new() };
    let mut d = String::with_capacity(16 * path.vertices.len());
    d.push('M');
    at(&mut d, first.at);
    let count = path.vertices.len();
    for (i, (from, to, bulge)) in path.pieces().enumerate() {
        match Arc::of(from, to, bulge) {
            Some(arc) => {
                // Counter-clockwise with y up is counter-clockwise on the screen too: SVG's "negative angle" direction.
                let (large, sweep) = (u8::from(PI < arc.sweep.abs()), u8::from(arc.sweep < 0.0));
                let radius = number::mm(arc.radius);
                d += &format!("A{radius} {radius} 0 {large} {sweep} ");
                at(&mut d, to);
            }
            // `Z` draws a straight last piece.
            None if path.closed && i + 1 == count => {}
            None => {
                d.push('L');
                at(&mut d, to);
            }
        }
    }
    if path.closed {
        d.push('Z');
    }
    d
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_numbers_are_those_of_the_standard_format() {
        for value in [0.0, -0.0, -0.3, 0.5, 1.5, 2.5, -0.5, -2.5, 1499.5, 123_456.7, -98_765.25] {
            let mut text = String::new();
            push_whole(&mut text, value);
            assert_eq!(text, format!("{value:.0}"));
        }
    }
}
