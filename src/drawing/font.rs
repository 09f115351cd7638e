//! The one typeface of all drawings and books: how wide a text is, and its letters as outlines.
//!
//! B612 (SIL Open Font License, text beside the files in `fonts/`) in two faces, regular and bold. It was drawn for reading
//! figures on displays: 1 and l, 0 and O differ clearly, and all figures have one width, so columns of numbers line up.
//! Sizes are given as the height of a capital letter, as technical lettering is (ISO 3098: 1.8, 2.5, 3.5, 5 mm).
//! Letters are set by their advance widths alone, without kerning, in every format: what is measured here is what is drawn.
//!
//! Covered beyond ASCII and Western European letters: ½ ¼ ¾ and eighths, ′ ″ × ± ≤ ≥ ≈ → ← ° · – — µ ² ³ √ Σ Δ and Greek,
//! **except ρ**. Also missing: ⌀ (write Ø or "dia."), the fraction slash ⁄ (write /), ⟂, ∠.

use super::items::{Align, Drawing, Label, Lettering, Shape};
use crate::geometry::{Bounds, Path, Point};
use lyon::geom::{CubicBezierSegment, QuadraticBezierSegment, point};
use std::ops::Range;
use std::sync::LazyLock;

/// Lettering heights in mm (capital letters), after the series of ISO 3098.
pub const SMALL_MM: f64 = 1.8;
pub const TEXT_MM: f64 = 2.5;
pub const HEAD_MM: f64 = 3.5;

const REGULAR: &[u8] = include_bytes!("fonts/B612-Regular.otf");
const BOLD: &[u8] = include_bytes!("fonts/B612-Bold.otf");

/// Lowest point of a letter under the base line, in capital heights (B612: 517 of 1500).
pub const DESCENT_CAPS: f64 = 0.35;
/// Highest point of an accented capital above the base line, in capital heights (B612: 1927 of 1500).
pub const ASCENT_CAPS: f64 = 1.3;
/// Distance of base lines in running text, in capital heights: looser reads as separate notes, tighter lets g touch Å.
pub const LEADING_CAPS: f64 = 1.75;

/// Width of a text, mm.
pub fn width_mm(text: &str, cap_mm: f64, lettering: Lettering) -> f64 {
    let face = set_face(lettering);
    em_mm(cap_mm, lettering) * text.chars().map(|letter| face.letter(letter).advance_em).sum::<f64>()
}

/// Font size (the em) that gives this capital height.
pub fn em_mm(cap_mm: f64, lettering: Lettering) -> f64 {
    let face = set_face(lettering);
    cap_mm * face.em_units / face.cap_units
}

/// A letter of a text as it is set.
#[derive(Debug, Clone, PartialEq)]
pub struct Glyph {
    /// Number of the glyph in the font; 0 is the box that stands for a missing letter.
    pub id: u16,
    /// The bytes of the text that it shows.
    pub bytes: Range<usize>,
    /// Step to the next letter, in ems.
    pub advance_em: f64,
}

/// The letters of a text in their order.
pub fn glyphs(text: &str, lettering: Lettering) -> Vec<Glyph> {
    let face = set_face(lettering);
    text.char_indices()
        .map(|(at, letter)| {
            let set = face.letter(letter);
            Glyph { id: set.id, bytes: at..at + letter.len_utf8(), advance_em: set.advance_em }
        })
        .collect()
}

/// Whether all faces of the font have a letter.
pub fn has(letter: char) -> bool {
    Lettering::ALL.iter().all(|lettering| set_face(*lettering).letter(letter).id != 0)
}

/// The font file of a face, for embedding.
pub fn bytes(lettering: Lettering) -> &'static [u8] {
    match lettering {
        Lettering::Regular => REGULAR,
        Lettering::Bold => BOLD,
    }
}

/// The label's letters as closed polylines within `tolerance_mm` of the true outlines; filled with the non-zero rule.
pub fn outlines(label: &Label, tolerance_mm: f64) -> Vec<Path> {
    let face = face(label.lettering);
    let em = em_mm(label.cap_mm, label.lettering);
    let scale = em / f64::from(face.units_per_em());
    let mut pen = Pen { scale, tolerance_units: tolerance_mm / scale, ..Pen::default() };
    let mut along = -shift_mm(label);
    let mut paths = Vec::new();
    for glyph in glyphs(&label.text, label.lettering) {
        // A space has no outline: that is no fault.
        let _ = face.outline_glyph(ttf_parser::GlyphId(glyph.id), &mut pen);
        for contour in pen.contours.drain(..) {
            paths.push(Path::closed(contour.into_iter().map(|p| turned(label, Point::new(along + p.x, p.y)))));
        }
        along += glyph.advance_em * em;
    }
    paths
}

/// The label's corners, counter-clockwise from the lower left as it is read: descenders and accents included.
pub fn corners(label: &Label) -> [Point; 4] {
    let left = -shift_mm(label);
    let right = left + width_mm(&label.text, label.cap_mm, label.lettering);
    let (low, high) = (-DESCENT_CAPS * label.cap_mm, ASCENT_CAPS * label.cap_mm);
    [(left, low), (right, low), (right, high), (left, high)].map(|(x, y)| turned(label, Point::new(x, y)))
}

/// Bounds of everything in the drawing, labels with their full width.
pub fn extent(drawing: &Drawing) -> Bounds {
    drawing.items.iter().fold(Bounds::EMPTY, |bounds, item| match &item.shape {
        Shape::Path(path) => bounds.union(path.bounds()),
        Shape::Label(label) => bounds.union(Bounds::of(corners(label))),
    })
}

/// Breaks a text at spaces into lines no wider than `width_mm`; a single word that is wider stands alone.
pub fn wrapped(text: &str, max_width_mm: f64, cap_mm: f64, lettering: Lettering) -> Vec<String> {
    let face = set_face(lettering);
    let em = em_mm(cap_mm, lettering);
    // A line's width goes on from what it was: the sum of its letters in their order.
    let wider = |from_em: f64, text: &str| text.chars().fold(from_em, |sum, letter| sum + face.letter(letter).advance_em);
    let mut lines = Vec::new();
    let (mut line, mut line_em) = (String::new(), 0.0);
    for word in text.split_whitespace() {
        let longer_em = if line.is_empty() { wider(0.0, word) } else { wider(wider(line_em, " "), word) };
        if !line.is_empty() && max_width_mm < em * longer_em {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
            line_em = wider(0.0, word);
        } else {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
            line_em = longer_em;
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// How far left of its anchor a label begins, mm.
pub fn shift_mm(label: &Label) -> f64 {
    let width = width_mm(&label.text, label.cap_mm, label.lettering);
    match label.align {
        Align::Left => 0.0,
        Align::Middle => 0.5 * width,
        Align::Right => width,
    }
}

/// A point of a label's own frame (base line along x, from its anchor) where it lies in the drawing.
pub(super) fn turned(label: &Label, point: Point) -> Point {
    let (sin, cos) = label.angle_rad.sin_cos();
    Point::new(label.at.x + cos * point.x - sin * point.y, label.at.y + sin * point.x + cos * point.y)
}

/// What is asked of a face for each letter of each text, read from the font once.
struct SetFace {
    em_units: f64,
    cap_units: f64,
    /// The letters of each of [`KEPT`], by their code points.
    kept: [Vec<SetLetter>; KEPT.len()],
    face: &'static ttf_parser::Face<'static>,
}

#[derive(Clone, Copy)]
struct SetLetter {
    /// 0 stands for a letter that is missing.
    id: u16,
    advance_em: f64,
}

/// Code points whose letters are kept: all of Western languages, their marks, arrows and signs of comparison. Others are looked up each time.
const KEPT: [Range<u32>; 4] = [0..0x250, 0x2000..0x2040, 0x2190..0x21A0, 0x2240..0x2270];

impl SetFace {
    fn of(face: &'static ttf_parser::Face<'static>) -> SetFace {
        let cap = face.capital_height().expect("B612 states its capital height");
        let mut set =
            SetFace { em_units: f64::from(face.units_per_em()), cap_units: f64::from(cap), kept: KEPT.map(|_| Vec::new()), face };
        set.kept = KEPT.map(|codes| codes.map(|code| set.looked_up(char::from_u32(code).unwrap_or('\0'))).collect());
        set
    }

    fn letter(&self, letter: char) -> SetLetter {
        let code = u32::from(letter);
        let kept = KEPT.iter().zip(&self.kept).find(|(codes, _)| codes.contains(&code));
        kept.map_or_else(|| self.looked_up(letter), |(codes, letters)| letters[(code - codes.start) as usize])
    }

    fn looked_up(&self, letter: char) -> SetLetter {
        let id = self.face.glyph_index(letter).unwrap_or_default();
        let advance = self.face.glyph_hor_advance(id).unwrap_or(0);
        SetLetter { id: id.0, advance_em: f64::from(advance) / self.em_units }
    }
}

fn set_face(lettering: Lettering) -> &'static SetFace {
    static REGULAR_SET: LazyLock<SetFace> = LazyLock::new(|| SetFace::of(face(Lettering::Regular)));
    static BOLD_SET: LazyLock<SetFace> = LazyLock::new(|| SetFace::of(face(Lettering::Bold)));
    match lettering {
        Lettering::Regular => &REGULAR_SET,
        Lettering::Bold => &BOLD_SET,
    }
}

fn face(lettering: Lettering) -> &'static ttf_parser::Face<'static> {
    static REGULAR_FACE: LazyLock<ttf_parser::Face<'static>> = LazyLock::new(|| read(REGULAR));
    static BOLD_FACE: LazyLock<ttf_parser::Face<'static>> = LazyLock::new(|| read(BOLD));
    match lettering {
        Lettering::Regular => &REGULAR_FACE,
        Lettering::Bold => &BOLD_FACE,
    }
}

fn read(data: &'static [u8]) -> ttf_parser::Face<'static> {
    ttf_parser::Face::parse(data, 0).expect("the bundled font is sound")
}

/// Collects a glyph's contours, flattened, scaled to mm.
#[derive(Default)]
struct Pen {
    scale: f64,
    tolerance_units: f64,
    at: (f64, f64),
    contours: Vec<Vec<Point>>,
}

impl Pen {
    fn put(&mut self, x: f64, y: f64) {
        self.at = (x, y);
        let point = Point::new(x * self.scale, y * self.scale);
        if let Some(contour) = self.contours.last_mut() {
            contour.push(point);
        }
    }
}

impl ttf_parser::OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.contours.push(Vec::new());
        self.put(x.into(), y.into());
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.put(x.into(), y.into());
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let curve = QuadraticBezierSegment {
            from: point(self.at.0, self.at.1),
            ctrl: point(f64::from(x1), f64::from(y1)),
            to: point(f64::from(x), f64::from(y)),
        };
        curve.for_each_flattened(self.tolerance_units, &mut |line| self.put(line.to.x, line.to.y));
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let curve = CubicBezierSegment {
            from: point(self.at.0, self.at.1),
            ctrl1: point(f64::from(x1), f64::from(y1)),
            ctrl2: point(f64::from(x2), f64::from(y2)),
            to: point(f64::from(x), f64::from(y)),
        };
        curve.for_each_flattened(self.tolerance_units, &mut |line| self.put(line.to.x, line.to.y));
    }

    fn close(&mut self) {
        // The contour may come back to its start by a last point, which a closed path has implicitly.
        if let Some(contour) = self.contours.last_mut()
            && let (Some(first), Some(last)) = (contour.first(), contour.last())
            && 1 < contour.len()
            && first.distance(*last) < 1e-9
        {
            contour.pop();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn covers_what_drawings_print_and_says_what_it_does_not() {
        let wanted = "0123456789 1/2 ½ ¼ ¾ ⅛ ⅜ ⅝ ⅞ ′ ″ × ± ≤ ≥ ≈ → ← ° · – — µ ² ³ Ø α β θ κ σ ε Δ Σ √ é ö ü ñ å É Ö";
        assert!(wanted.chars().all(has));
        assert!(!['ρ', '⌀', '⁄', '⟂', '∠'].into_iter().any(has));
    }

    #[test]
    fn figures_have_one_width_and_capitals_their_height() {
        for lettering in Lettering::ALL {
            let width = width_mm("0", 2.5, lettering);
            for figure in ["1", "4", "8", "9"] {
                assert!((width_mm(figure, 2.5, lettering) - width).abs() < 1e-12);
            }
            let letter = Label { lettering, ..Label::new("H", Point::new(3.0, 4.0), 2.5) };
            let bounds = outlines(&letter, 0.01).iter().fold(Bounds::EMPTY, |b, path| b.union(path.bounds()));
            // An H stands a little over the capital height that the font states: 1520 and 1527 of 1500 units.
            let over = bounds.height() / 2.5 - 1.0;
            assert!((0.0..0.02).contains(&over), "{bounds:?}");
            assert!((bounds.min.y - 4.0).abs() < 1e-6);
        }
    }

    #[test]
    fn outlines_stay_in_the_label_corners() {
        for align in [Align::Left, Align::Middle, Align::Right] {
            let label = Label::new("Åg(½) sled-core j|", Point::new(-7.0, 2.0), 3.5).aligned(align);
            let inked = outlines(&label, 0.01).iter().fold(Bounds::EMPTY, |b, path| b.union(path.bounds()));
            let box_ = Bounds::of(corners(&label)).grown(0.4);
            assert!(box_.min.x <= inked.min.x && inked.max.x <= box_.max.x, "{box_:?} {inked:?}");
            assert!(box_.min.y <= inked.min.y && inked.max.y <= box_.max.y, "{box_:?} {inked:?}");
        }
    }

    #[test]
    fn finer_tolerance_moves_the_area_less() {
        let label = Label::new("8", Point::new(0.0, 0.0), 5.0);
        let area = |tolerance: f64| outlines(&label, tolerance).iter().map(Path::area).sum::<f64>().abs();
        let fine = area(1e-5);
        for tolerance in [0.1, 0.01, 0.001] {
            // Three contours of at most 16 mm each, each off by at most the tolerance.
            assert!((area(tolerance) - fine).abs() <= 48.0 * tolerance, "{tolerance}");
        }
        assert!((area(0.001) - fine).abs() < (area(0.1) - fine).abs());
    }

    #[test]
    fn lines_break_at_spaces_and_lose_no_word() {
        let text = "press the strip down at the infeed roller and never reach past the fence";
        let lines = wrapped(text, 40.0, TEXT_MM, Lettering::Regular);
        assert!(2 < lines.len() && lines.iter().all(|line| width_mm(line, TEXT_MM, Lettering::Regular) <= 40.0), "{lines:?}");
        assert_eq!(lines.join(" "), text);
        assert_eq!(wrapped("unbreakableword", 1.0, TEXT_MM, Lettering::Regular), vec!["unbreakableword"]);
        assert!(wrapped("  ", 40.0, TEXT_MM, Lettering::Regular).is_empty());
    }
}
