//! A drawing as a piece of a page: SVG without a sheet around it. Lines carry their meaning and their part as attributes and no colour,
//! so that the page's own style serves light and dark; letters stay text, so that they are read aloud and found.
//!
//! Source: Scalable Vector Graphics 1.1, W3C; WAI-ARIA Graphics Module 1.0, W3C, for role and name.

use super::{Unwritable, checked, escaped, number, svg};
use crate::drawing::{Align, Drawing, Kind, Shape, font};
use crate::geometry::{Bounds, Point};
use std::fmt::Write;

/// Decimals of a place: a hundredth of a figure's unit is a fraction of a pixel.
const DECIMALS: usize = 2;
/// Around everything, in the figure's units.
const BORDER: f64 = 1.5;

/// The figure; its title is its name for who cannot see it.
pub fn figure(drawing: &Drawing) -> Result<String, Unwritable> {
    checked(drawing)?;
    let bounds = whole(font::extent(drawing).grown(BORDER));
    let size = [number::mm(bounds.width()), number::mm(bounds.height())];
    let title = escaped(&drawing.title);
    let mut out = format!(
        "<svg viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{title}\" data-figure=\"{}\" data-left=\"{}\" data-top=\"{}\">",
        size[0],
        size[1],
        escaped(&drawing.name),
        number::mm(-bounds.min.x),
        number::mm(bounds.max.y)
    );
    for item in &drawing.items {
        let kind = kind(item.kind);
        let part = if item.part.is_empty() { String::new() } else { format!(" data-part=\"{}\"", escaped(&item.part)) };
        // A text cannot fail to take more text.
        let _ = match &item.shape {
            Shape::Path(path) => write!(out, "<path class=\"{kind}\"{part} d=\"{}\"/>", svg::data(path, bounds, DECIMALS)),
            Shape::Label(label) => {
                let anchor = match label.align {
                    Align::Left => "start",
                    Align::Middle => "middle",
                    Align::Right => "end",
                };
                let (x, y) = (number::mm(label.at.x - bounds.min.x), number::mm(bounds.max.y - label.at.y));
                // Capitals are about seven tenths of the letters' size in most typefaces.
                let size = number::mm(label.cap_mm / 0.7);
                let turned = if label.angle_rad.abs() <= 0.0 {
                    String::new()
                } else {
                    format!(" transform=\"rotate({} {x} {y})\"", number::mm(-label.angle_rad.to_degrees()))
                };
                let text = escaped(&label.text);
                write!(
                    out,
                    "<text class=\"{kind}\"{part} x=\"{x}\" y=\"{y}\" font-size=\"{size}\" text-anchor=\"{anchor}\"{turned}>{text}</text>"
                )
            }
        };
    }
    out.push_str("</svg>");
    Ok(out)
}

/// Out to whole units: a figure whose lines move a little keeps its size, and the page around it stays where it is.
fn whole(bounds: Bounds) -> Bounds {
    Bounds {
        min: Point::new(bounds.min.x.floor(), bounds.min.y.floor()),
        max: Point::new(bounds.max.x.ceil(), bounds.max.y.ceil()),
    }
}

fn kind(kind: Kind) -> String {
    kind.key().replace('_', "-")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::Label;
    use crate::geometry::Path;

    #[test]
    fn names_of_the_builder_stay_text() {
        let mut drawing = Drawing::new("stack", "<Ash & \"elm\">");
        drawing.part_path(Kind::Edge, "a\"b", Path::line(Point::new(0.0, 0.0), Point::new(10.0, 5.0)));
        drawing.label(Kind::Note, Label::new("</svg><script>", Point::new(0.0, 0.0), 2.0));
        let figure = figure(&drawing).expect("it is drawn");
        assert!(!figure.contains("<script>") && figure.contains("&lt;script&gt;"));
        assert!(figure.contains("data-part=\"a&quot;b\""));
        assert_eq!(figure.matches("</svg>").count(), 1);
    }
}
