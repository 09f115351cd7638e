//! Painting on PDF pages in mm, y up: lines, tones and letters. The book and the template pages both stand on this.
//!
//! Positions are worked out in f64 and handed to the PDF library as page-local points: its f32 then holds 0.0005 mm on the
//! longest page. Arcs become cubics of at most 22.5°, which stay within 10⁻⁷ of the radius. Letters are text in embedded
//! subsets of the bundled font, set by the same advances that `drawing::font` measures. Nothing here looks at a clock: equal
//! pages give equal bytes.

use super::pdf_pack::packed;
use super::tagged::{ReadOut, Role, Slot, Structure};
use crate::drawing::{Drawing, Item, Kind, Label, Lettering, LineStyle, LineTable, Shape, font};
use crate::geometry::path::Arc;
use crate::geometry::{Bounds, Extent, Path, Point};
use crate::units::PT_PER_MM;
use krilla::Document;
use krilla::annotation::{Annotation, LinkAnnotation, Target};
use krilla::color::rgb;
use krilla::destination::XyzDestination;
use krilla::geom::{PathBuilder, Rect, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::{NumberingStyle, PageLabel, PageSettings};
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Stroke, StrokeDash};
use krilla::surface::Surface;
use krilla::tagging::{Artifact, ArtifactType, ContentTag, Identifier, SpanTag};
use krilla::text::{Font, GlyphId, KrillaGlyph};
use std::f64::consts::FRAC_PI_8;

/// A PDF document under way.
pub struct Pages {
    document: Document,
    fonts: [Font; 2],
    structure: Structure,
    painted: Vec<(Slot, Identifier)>,
}

/// What marks are to whoever does not see the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MarkRole {
    /// A part of the document, at this place of its structure.
    Of(Slot),
    /// For the eye alone.
    Ornament,
    /// The same on every page, and for the eye alone.
    Foot,
}

/// A place that links and bookmarks lead to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PageSpot {
    /// Counted from 0.
    pub page: usize,
    /// Down from the upper edge of the page, mm.
    pub down_mm: f64,
}

/// How a line is drawn on paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Ink {
    pub weight_mm: f64,
    pub rgb: [u8; 3],
    /// Dash and gap lengths, mm; empty for a continuous line.
    pub dashes: Vec<f64>,
}

impl Ink {
    pub fn solid(weight_mm: f64, rgb: [u8; 3]) -> Ink {
        Ink { weight_mm, rgb, dashes: Vec::new() }
    }
}

impl From<&LineStyle> for Ink {
    fn from(style: &LineStyle) -> Ink {
        Ink { weight_mm: style.weight_mm, rgb: style.rgb, dashes: style.dashes.clone() }
    }
}

impl Pages {
    /// An empty document with its title, what made it, and the elements that its pages will be painted from.
    pub fn new(title: &str, made_by: &str, structure: Structure) -> Pages {
        let mut document = Document::new();
        document.set_metadata(
            Metadata::new().title(title.to_owned()).creator(made_by.to_owned()).producer(String::new()).language("en".into()),
        );
        let font = |lettering| Font::new(font::bytes(lettering).into(), 0).expect("the bundled font can be embedded");
        Pages { document, fonts: Lettering::ALL.map(font), structure, painted: Vec::new() }
    }

    /// Adds a page that is one picture, called `name` in a reader's list of pages; `alt` says in words what it shows.
    pub fn figure(
        &mut self,
        paper_mm: Extent,
        stretch: (f64, f64),
        (name, alt): (&str, String),
        paint: impl FnOnce(&mut Canvas),
    ) -> Result<(), String> {
        let figure = self.structure.element(None, Role::Figure(alt));
        let slot = self.structure.slot(figure, ReadOut::AsDrawn);
        self.page(paper_mm, stretch, Some(name), |canvas| canvas.marked(MarkRole::Of(slot), paint))
    }

    /// Adds a page of `paper_mm` and paints it. Painted lengths are multiplied by `stretch` along x and y. A reader
    /// lists it under its name, or under its number.
    pub fn page(
        &mut self,
        paper_mm: Extent,
        stretch: (f64, f64),
        name: Option<&str>,
        paint: impl FnOnce(&mut Canvas),
    ) -> Result<(), String> {
        let points = |mm: f64| (mm * PT_PER_MM) as f32;
        let style = if name.is_some() { None } else { Some(NumberingStyle::Arabic) };
        let settings = PageSettings::from_wh(points(paper_mm.width), points(paper_mm.height))
            .ok_or_else(|| format!("a page of {} x {} mm is not possible", paper_mm.width, paper_mm.height))?
            .with_page_label(PageLabel::new(style, name.map(str::to_owned), None));
        let mut page = self.document.start_page_with(settings);
        let mut surface = page.surface();
        let mut canvas = Canvas {
            surface: &mut surface,
            fonts: &self.fonts,
            scale: (stretch.0 * PT_PER_MM, stretch.1 * PT_PER_MM),
            origin_pt: (0.0, paper_mm.height * PT_PER_MM),
            structure: &self.structure,
            painted: &mut self.painted,
            links: Vec::new(),
        };
        paint(&mut canvas);
        let links = std::mem::take(&mut canvas.links);
        surface.finish();
        for (rect, spot, said, slot) in links {
            let target = Target::Destination(destination(spot).into());
            let link = Annotation::new_link(LinkAnnotation::new(rect, target), Some(said));
            self.painted.push((slot, page.add_tagged_annotation(link)));
        }
        page.finish();
        Ok(())
    }

    /// The bookmarks that a reader shows beside the pages. Every page that is named here or by a link must have been added
    /// before the end.
    pub fn bookmarks(&mut self, marks: &[(String, PageSpot)]) {
        let mut outline = Outline::new();
        for (title, spot) in marks {
            outline.push_child(OutlineNode::new(title.clone(), destination(*spot)));
        }
        self.document.set_outline(outline);
    }

    /// The file. Readers are told not to scale it when printing, and to show its title.
    pub fn finish(mut self) -> Result<Vec<u8>, String> {
        self.document.set_tag_tree(self.structure.tree(&self.painted));
        let pdf = self.document.finish().map_err(|fault| format!("the PDF library refused the pages: {fault:?}"))?;
        packed(&pdf)
    }
}

/// A page that is being painted: mm from its lower left corner, y up, unless moved by [`Canvas::moved`].
pub struct Canvas<'a, 'b> {
    surface: &'a mut Surface<'b>,
    fonts: &'a [Font; 2],
    /// Points in a mm, along x and y.
    scale: (f64, f64),
    /// Where mm (0, 0) lies, in points from the page's upper left corner, y down.
    origin_pt: (f64, f64),
    structure: &'a Structure,
    painted: &'a mut Vec<(Slot, Identifier)>,
    links: Vec<(Rect, PageSpot, String, Slot)>,
}

impl Canvas<'_, '_> {
    /// Paints what is one thing to whoever does not see the page. Marks do not nest.
    pub fn marked(&mut self, mark: MarkRole, paint: impl FnOnce(&mut Self)) {
        let artifact = |kind| ContentTag::Artifact(Artifact::with_kind(kind));
        let structure = self.structure;
        // A slot's words must live until the mark has begun.
        let goes_on;
        let tag = match mark {
            MarkRole::Ornament => artifact(ArtifactType::Layout),
            MarkRole::Foot => artifact(ArtifactType::Footer),
            MarkRole::Of(slot) => match structure.said(slot) {
                ReadOut::AsDrawn => ContentTag::Other,
                ReadOut::Words(words) => ContentTag::Span(SpanTag::empty().with_alt_text(Some(words))),
                ReadOut::GoesOn(letters) => {
                    goes_on = format!("{letters} ");
                    ContentTag::Span(SpanTag::empty().with_actual_text(Some(&goes_on)))
                }
            },
        };
        let identifier = self.surface.start_tagged(tag);
        if let MarkRole::Of(slot) = mark {
            self.painted.push((slot, identifier));
        }
        paint(self);
        self.surface.end_tagged();
    }

    /// Strokes a path.
    pub fn stroke(&mut self, path: &Path, ink: &Ink) {
        let Some(outline) = self.outline([path]) else { return };
        let points = |mm: &f64| (mm * PT_PER_MM) as f32;
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(Stroke {
            paint: color(ink.rgb).into(),
            width: points(&ink.weight_mm),
            miter_limit: 4.0,
            line_cap: LineCap::Butt,
            line_join: LineJoin::Miter,
            opacity: NormalizedF32::ONE,
            dash: (!ink.dashes.is_empty()).then(|| StrokeDash { array: ink.dashes.iter().map(points).collect(), offset: 0.0 }),
        }));
        self.surface.draw_path(&outline);
    }

    /// Fills closed paths as one area (even-odd: a path inside another is a hole).
    pub fn fill<'p>(&mut self, paths: impl IntoIterator<Item = &'p Path>, rgb: [u8; 3]) {
        let Some(outline) = self.outline(paths) else { return };
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill { paint: color(rgb).into(), opacity: NormalizedF32::ONE, rule: FillRule::EvenOdd }));
        self.surface.draw_path(&outline);
    }

    /// Sets a line of text.
    pub fn text(&mut self, label: &Label, rgb: [u8; 3]) {
        if label.text.is_empty() {
            return;
        }
        let glyphs: Vec<KrillaGlyph> = font::glyphs(&label.text, label.lettering)
            .into_iter()
            .map(|glyph| {
                KrillaGlyph::new(GlyphId::new(glyph.id.into()), glyph.advance_em as f32, 0.0, 0.0, 0.0, glyph.bytes, None)
            })
            .collect();
        let (sin, cos) = label.angle_rad.sin_cos();
        let (x, y) = self.at(label.at);
        // The text's own axes in points: x along the line, y down the page.
        let (sx, sy) = (self.scale.0, self.scale.1);
        let matrix = [cos * sx, -sin * sy, sin * sx, cos * sy, x, y].map(|value| value as f32);
        let [a, b, c, d, e, f] = matrix;
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(Fill { paint: color(rgb).into(), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }));
        self.surface.push_transform(&Transform::from_row(a, b, c, d, e, f));
        let start = krilla::geom::Point::from_xy(-font::shift_mm(label) as f32, 0.0);
        let size = font::em_mm(label.cap_mm, label.lettering) as f32;
        self.surface.draw_glyphs(start, &glyphs, self.fonts[label.lettering as usize].clone(), &label.text, size, false);
        self.surface.pop();
    }

    /// Makes an area lead to another place of the document; `said` names that place for who cannot see it.
    pub fn link(&mut self, area: Bounds, spot: PageSpot, said: &str, slot: Slot) {
        let (left, bottom) = self.at(area.min);
        let (right, top) = self.at(area.max);
        if let Some(rect) = Rect::from_ltrb(left as f32, top as f32, right as f32, bottom as f32) {
            self.links.push((rect, spot, said.to_owned(), slot));
        }
    }

    /// Draws an item in the style of its kind.
    pub fn item(&mut self, item: &Item, lines: &LineTable) {
        let style = lines.style(item.kind);
        match &item.shape {
            Shape::Path(path) if item.kind == Kind::Tone => self.fill([path], style.rgb),
            Shape::Path(path) => self.stroke(path, &style.into()),
            Shape::Label(label) => self.text(label, style.rgb),
        }
    }

    /// Draws a whole drawing, areas first.
    pub fn drawing(&mut self, drawing: &Drawing, lines: &LineTable) {
        for tones in [true, false] {
            for item in drawing.items.iter().filter(|item| (item.kind == Kind::Tone) == tones) {
                self.item(item, lines);
            }
        }
    }

    /// Paints with the point `from` brought to `to` and lengths multiplied by `factor`; line weights stay.
    pub fn moved(&mut self, from: Point, to: Point, factor: f64, paint: impl FnOnce(&mut Self)) {
        let (scale, origin) = (self.scale, self.origin_pt);
        let at = self.at(to);
        self.scale = (scale.0 * factor, scale.1 * factor);
        self.origin_pt = (at.0 - from.x * self.scale.0, at.1 + from.y * self.scale.1);
        paint(self);
        (self.scale, self.origin_pt) = (scale, origin);
    }

    /// Paints only inside a rectangle.
    pub fn clipped(&mut self, bounds: Bounds, paint: impl FnOnce(&mut Self)) {
        let (left, bottom) = self.at(bounds.min);
        let (right, top) = self.at(bounds.max);
        let Some(rect) = Rect::from_ltrb(left as f32, top as f32, right as f32, bottom as f32) else { return };
        let mut builder = PathBuilder::new();
        builder.push_rect(rect);
        let Some(outline) = builder.finish() else { return };
        self.surface.push_clip_path(&outline, &FillRule::NonZero);
        paint(self);
        self.surface.pop();
    }

    /// Page-local points, y down.
    fn at(&self, point: Point) -> (f64, f64) {
        (self.origin_pt.0 + point.x * self.scale.0, self.origin_pt.1 - point.y * self.scale.1)
    }

    fn outline<'p>(&self, paths: impl IntoIterator<Item = &'p Path>) -> Option<krilla::geom::Path> {
        let mut builder = PathBuilder::new();
        for path in paths {
            let Some(first) = path.vertices.first() else { continue };
            let (x, y) = self.at(first.at);
            builder.move_to(x as f32, y as f32);
            for (from, to, bulge) in path.pieces() {
                let (x, y) = self.at(to);
                match Arc::of(from, to, bulge) {
                    Some(arc) => {
                        for points in cubics(&arc, to) {
                            let [(x1, y1), (x2, y2), (x, y)] = points.map(|point| self.at(point));
                            builder.cubic_to(x1 as f32, y1 as f32, x2 as f32, y2 as f32, x as f32, y as f32);
                        }
                    }
                    None => builder.line_to(x as f32, y as f32),
                }
            }
            if path.closed {
                builder.close();
            }
        }
        builder.finish()
    }
}

/// An arc that ends at `to` as cubics, each by its two handles and its end.
fn cubics(arc: &Arc, to: Point) -> Vec<[Point; 3]> {
    let count = (arc.sweep.abs() / FRAC_PI_8).ceil().max(1.0) as u32;
    let step = arc.sweep / f64::from(count);
    // Length of the handles of a cubic that touches the arc at its ends and its middle.
    let handle = 4.0 / 3.0 * (0.25 * step).tan() * arc.radius;
    let at = |k: u32| {
        let (sin, cos) = (arc.start_rad + f64::from(k) * step).sin_cos();
        let point = Point::new(arc.centre.x + arc.radius * cos, arc.centre.y + arc.radius * sin);
        // Along the tangent, counter-clockwise.
        (point, Point::new(-handle * sin, handle * cos))
    };
    (0..count)
        .map(|k| {
            let ((start, leaving), (end, arriving)) = (at(k), at(k + 1));
            let end = if k + 1 == count { to } else { end };
            let first = Point::new(start.x + leaving.x, start.y + leaving.y);
            [first, Point::new(end.x - arriving.x, end.y - arriving.y), end]
        })
        .collect()
}

fn destination(spot: PageSpot) -> XyzDestination {
    XyzDestination::new(spot.page, krilla::geom::Point::from_xy(0.0, (spot.down_mm * PT_PER_MM) as f32))
}

fn color([r, g, b]: [u8; 3]) -> rgb::Color {
    rgb::Color::new(r, g, b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cubics_stay_on_their_arc() {
        for (bulge, radius) in [(1.0, 300.0), (-0.4, 20_000.0), (0.01, 5.0), (-1.6, 12.0)] {
            let mut from = Point::new(radius, 0.0);
            let (sin, cos) = (4.0 * f64::atan(bulge)).sin_cos();
            let to = Point::new(radius * cos, radius * sin);
            let arc = Arc::of(from, to, bulge).unwrap();
            assert!(arc.centre.distance(Point::new(0.0, 0.0)) < 1e-9 * radius);
            for [a, b, end] in cubics(&arc, to) {
                for k in 0..=20 {
                    let t = f64::from(k) / 20.0;
                    let s = 1.0 - t;
                    let mix = |p: f64, q: f64, r: f64, e: f64| {
                        s * s * s * p + 3.0 * s * s * t * q + 3.0 * s * t * t * r + t * t * t * e
                    };
                    let on = Point::new(mix(from.x, a.x, b.x, end.x), mix(from.y, a.y, b.y, end.y));
                    assert!((on.distance(arc.centre) / radius - 1.0).abs() < 1e-7, "{bulge}");
                }
                from = end;
            }
            assert!(from.distance(to) < 1e-12);
        }
    }

    #[test]
    fn a_document_of_one_page_is_the_same_each_time() {
        let write = || {
            let mut pages = Pages::new("Strip", "taperwright", Structure::default());
            let size = Extent { width: 100.0, height: 60.0 };
            pages
                .figure(size, (1.0, 1.0), ("A1", "a strip".into()), |canvas| {
                    canvas.text(&Label::new("½ in ± 0.05", Point::new(10.0, 10.0), 2.5).turned(0.3), [0, 0, 0]);
                    canvas.fill([&Path::circle(Point::new(50.0, 30.0), 8.0)], [200, 0, 0]);
                })
                .unwrap();
            pages.finish().unwrap()
        };
        assert!(write() == write());
        assert!(
            Pages::new("", "", Structure::default()).page(Extent { width: 0.0, height: 5.0 }, (1.0, 1.0), None, |_| {}).is_err()
        );
    }
}
