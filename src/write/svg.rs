//! SVG at true size: one user unit is one millimetre, one group for each kind of line, letters as outlines.
//!
//! The drawing's y runs up, SVG's runs down: points are flipped one by one, so that no reader has to honour a transform.
//! Arcs stay arcs (`A`). Letters are outlines so that every reader, laser software included, shows the same; what they say
//! is kept in each label's `<title>`. Letters of [`Kind::Engrave`] are drawn by their contours, all others are filled.
//! Source: Scalable Vector Graphics 1.1, W3C.

use super::dxf::LETTER_TOLERANCE_MM;
use super::{Content, Unwritable, checked, layer_name, number};
use crate::drawing::{Drawing, Item, Kind, LineStyle, LineTable, Shape, annotate, font};
use crate::geometry::path::Arc;
use crate::geometry::{Bounds, Path, Placement, Point};
use ::svg::Document;
use ::svg::node::element::{Description, Group, Path as Element, Title};
use std::collections::BTreeSet;
use std::f64::consts::PI;
use std::fmt::Write;

/// White border around everything, mm.
const BORDER_MM: f64 = 5.0;
/// The same for letters that are only read: letters are most of a file, and finer ones double it where no eye sees it.
const READ_MM: f64 = 0.03;

/// The drawing as an SVG file.
pub fn svg(drawing: &Drawing, lines: &LineTable, content: Content) -> Result<Vec<u8>, Unwritable> {
    checked(drawing)?;
    let around = annotate::surround(drawing);
    let items = content.items(drawing, &around)?;
    let bounds = font::extent(drawing).union(font::extent(&around)).grown(BORDER_MM);
    let size = [number::mm(bounds.width()), number::mm(bounds.height())];
    let mut document = Document::new()
        .set("width", format!("{}mm", size[0]))
        .set("height", format!("{}mm", size[1]))
        .set("viewBox", format!("0 0 {} {}", size[0], size[1]))
        .set("xmlns:inkscape", "http://www.inkscape.org/namespaces/inkscape")
        .add(Title::new(drawing.title.as_str()))
        .add(Description::new().add(::svg::node::Text::new(described(drawing))));
    let mut taken = BTreeSet::new();
    // Areas lie under all lines.
    let order = [Kind::Tone].into_iter().chain(Kind::ALL.into_iter().filter(|kind| *kind != Kind::Tone));
    for kind in order {
        let of_kind: Vec<&Item> = items.iter().copied().filter(|item| item.kind == kind).collect();
        if !of_kind.is_empty() {
            document = document.add(group(kind, lines.style(kind), &of_kind, bounds, &mut taken));
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
    let flip = |path: &Path| data(path, bounds);
    for item in items {
        let mut element = match &item.shape {
            Shape::Path(path) => Element::new().set("d", flip(path)),
            Shape::Label(label) => {
                let said = Title::new(label.text.as_str());
                if kind == Kind::Engrave {
                    let contours: Vec<String> = font::outlines(label, LETTER_TOLERANCE_MM).iter().map(flip).collect();
                    Element::new().set("d", contours.join("")).set("stroke-dasharray", "none").add(said)
                } else {
                    let letters = compact(&font::outlines(label, READ_MM), bounds);
                    Element::new().set("d", letters).set("fill", color.as_str()).set("stroke", "none").add(said)
                }
            }
        };
        if !item.part.is_empty() {
            element = element.set("data-part", item.part.as_str());
        }
        group = group.add(element);
    }
    group
}

/// Closed polylines in as few characters as SVG allows: steps from corner to corner in hundredths of a mm. Steps are taken
/// between rounded corners, so that their errors do not add up.
fn compact(paths: &[Path], bounds: Bounds) -> String {
    let hundredths = |p: Point| [p.x - bounds.min.x, bounds.max.y - p.y].map(|mm| (100.0 * mm).round() as i64);
    // Written straight into the text: letters are most of a file, and a string for each number would cost as much as the rest.
    let number = |d: &mut String, value: i64| {
        if value < 0 {
            d.push('-');
        }
        let (whole, part) = (value.unsigned_abs() / 100, value.unsigned_abs() % 100);
        if whole != 0 || part == 0 {
            let _ = write!(d, "{whole}");
        }
        if part != 0 {
            d.push('.');
            d.push(char::from(b'0' + (part / 10) as u8));
            if part % 10 != 0 {
                d.push(char::from(b'0' + (part % 10) as u8));
            }
        }
    };
    let pair = |d: &mut String, x: i64, y: i64| {
        number(d, x);
        // A minus sign parts two numbers as well as a space does.
        if 0 <= y {
            d.push(' ');
        }
        number(d, y);
    };
    let mut d = String::new();
    for path in paths {
        let corners: Vec<[i64; 2]> = path.vertices.iter().map(|v| hundredths(v.at)).collect();
        let Some(first) = corners.first() else { continue };
        d.push('M');
        pair(&mut d, first[0], first[1]);
        let mut begun = false;
        for step in corners.windows(2) {
            let (dx, dy) = (step[1][0] - step[0][0], step[1][1] - step[0][1]);
            if (dx, dy) != (0, 0) {
                if !begun {
                    d.push('l');
                } else if 0 <= dx {
                    d.push(' ');
                }
                begun = true;
                pair(&mut d, dx, dy);
            }
        }
        d.push('z');
    }
    d
}

/// Path data with the y axis turned down, measured from the upper left corner of `bounds`.
pub(super) fn data(path: &Path, bounds: Bounds) -> String {
    let place = Placement::moved(-bounds.min.x, 0.0);
    let at = |p: Point| format!("{} {}", number::mm(place.apply(p).x), number::mm(bounds.max.y - p.y));
    let Some(first) = path.vertices.first() else { return String::new() };
    let mut d = format!("M{}", at(first.at));
    let count = path.vertices.len();
    for (i, (from, to, bulge)) in path.pieces().enumerate() {
        match Arc::of(from, to, bulge) {
            Some(arc) => {
                // Counter-clockwise with y up is counter-clockwise on the screen too: SVG's "negative angle" direction.
                let (large, sweep) = (u8::from(PI < arc.sweep.abs()), u8::from(arc.sweep < 0.0));
                let radius = number::mm(arc.radius);
                d += &format!("A{radius} {radius} 0 {large} {sweep} {}", at(to));
            }
            // `Z` draws a straight last piece.
            None if path.closed && i + 1 == count => {}
            None => d += &format!("L{}", at(to)),
        }
    }
    if path.closed {
        d.push('Z');
    }
    d
}
