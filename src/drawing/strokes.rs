//! Letters of single strokes, for beams, bits and pens that follow a line: an outline smaller than the bit only makes a hole, and a
//! beam scores a stroke in a fifth of the time that it takes to go round it.
//!
//! Plain shapes of our own, straight from point to point on a grid four wide and eight high. A letter is set into the width that
//! the typeface gives it, so that a text takes the same room and [`font`] measures both. ASCII alone is drawn: other letters are
//! spelled first, and what no shape is known for becomes a question mark.

pub use super::ascii::ascii;
use super::font;
use super::items::Label;
use crate::geometry::{Path, Point};

/// The grid: base line, height of a capital over it, width.
const BASE: f64 = 2.0;
const CAPITAL: f64 = 6.0;
const WIDE: f64 = 4.0;
/// Kept free on either side of a letter, as a share of its step: less, and neighbours run together.
const INSET: f64 = 0.14;

/// A label's letters as open lines, placed; a text that is longer once it is spelled in ASCII is set closer.
pub fn lines(label: &Label) -> Vec<Path> {
    let text = ascii(&label.text);
    let spelled = Label { text: text.clone(), ..label.clone() };
    let [room, wanted] = [label, &spelled].map(|label| font::width_mm(&label.text, label.cap_mm, label.lettering));
    let squeeze = if room < wanted { room / wanted } else { 1.0 };
    let em = squeeze * font::em_mm(label.cap_mm, label.lettering);
    let mut left = -squeeze * font::shift_mm(&spelled);
    let mut paths = Vec::new();
    for glyph in font::glyphs(&text, label.lettering) {
        let step = em * glyph.advance_em;
        for stroke in text[glyph.bytes].chars().flat_map(|letter| strokes(letter).split(' ')).filter(|stroke| !stroke.is_empty())
        {
            let points = stroke.as_bytes().chunks_exact(2).map(|pair| {
                let [x, y] = [pair[0], pair[1]].map(|digit| f64::from(digit - b'0'));
                let along = left + step * (INSET + (1.0 - 2.0 * INSET) * x / WIDE);
                font::turned(label, Point::new(along, label.cap_mm * (y - BASE) / CAPITAL))
            });
            paths.push(Path::open(points));
        }
        left += step;
    }
    paths
}

/// The strokes of a letter, parted by spaces; a stroke is its points as pairs of digits, x from 0 to 4 and y from 0 to 8, where
/// 2 is the base line, 6 the top of a small letter and 8 that of a capital.
fn strokes(letter: char) -> &'static str {
    match letter {
        'A' => "022842 1535",
        'B' => "02083847463505 3544433202",
        'C' => "4738180703123243",
        'D' => "02082846442202",
        'E' => "48080242 0535",
        'F' => "480802 0535",
        'G' => "47381807031232434525",
        'H' => "0802 4842 0545",
        'I' | 'l' => "2822",
        'J' => "4843321203",
        'K' => "0802 480542",
        'L' => "080242",
        'M' => "0208254842",
        'N' => "02084248",
        'O' => "180703123243473818",
        'P' => "02083847463505",
        'Q' => "180703123243473818 2442",
        'R' => "02083847463505 2542",
        'S' => "473818070615354443321203",
        'T' => "0848 2822",
        'U' => "080312324348",
        'V' => "082248",
        'W' => "0812253248",
        'X' => "0842 0248",
        'Y' => "082548 2522",
        'Z' => "08480242",
        'a' => "4642 4536160503123243",
        'b' => "0802 0516364543321203",
        'c' => "4536160503123243",
        'd' => "4842 4536160503123243",
        'e' => "044445361605031232",
        'f' => "38281712 0636",
        'g' => "4641301001 4536160503123243",
        'h' => "0802 0516364542",
        'i' => "2622 2827",
        'j' => "26211000 2827",
        'k' => "0802 460442",
        'm' => "0602 05162522 25364542",
        'n' => "0602 0516364542",
        'o' => "160503123243453616",
        'p' => "0600 0516364543321203",
        'q' => "4640 4536160503123243",
        'r' => "0602 051636",
        's' => "45361605143443321203",
        't' => "28233242 1636",
        'u' => "0603123243 4642",
        'v' => "062246",
        'w' => "0612243246",
        'x' => "0642 0246",
        'y' => "0622 4610",
        'z' => "06460242",
        // A stroke through it, so that it is no O.
        '0' => "180703123243473818 1436",
        '1' => "172822 1232",
        '2' => "07183847460242",
        '3' => "07183847463515 354443321203",
        '4' => "32380444",
        '5' => "480805354443321203",
        '6' => "473818070312324344351504",
        '7' => "084812",
        '8' => "180706153544433212030415 3546473818",
        '9' => "463515060718384743321203",
        ' ' => "",
        '-' => "1535",
        '.' => "2223",
        ',' => "2311",
        ':' => "2223 2526",
        ';' => "2311 2526",
        '/' => "0248",
        '\\' => "0842",
        '|' => "2820",
        '(' => "38262432",
        ')' => "18262412",
        '[' => "38282232",
        ']' => "18282212",
        '{' => "38282615242232",
        '}' => "18282635242212",
        '+' => "0444 2622",
        '=' => "0343 0545",
        '<' => "460442",
        '>' => "064402",
        '*' => "2723 0644 0446",
        '\'' | '^' => "2826",
        '`' => "1827",
        '"' => "1816 3836",
        '#' => "1218 3238 0444 0646",
        '%' => "0248 0807171808 3332424333",
        '&' => "420718270403122244",
        '$' => "473818070615354443321203 2822",
        '@' => "34251423344447381806031232",
        '_' => "0141",
        '~' => "04153445",
        '!' => "2824 2322",
        _ => "07183847462524 2322",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawing::items::Drawing;
    use crate::drawing::items::Lettering;
    use crate::drawing::kind::Kind;
    use crate::geometry::Bounds;

    #[test]
    fn every_letter_has_its_own_shape_on_the_grid() {
        let all: Vec<char> = (b'!'..=b'~').map(char::from).collect();
        for letter in &all {
            let shape = strokes(*letter);
            for stroke in shape.split(' ') {
                let points: Vec<&str> = (0..stroke.len() / 2).map(|k| &stroke[2 * k..2 * k + 2]).collect();
                assert!(2 <= points.len() && stroke.len() % 2 == 0, "{letter}: {stroke}");
                assert!(points.iter().all(|p| ("0"..="4").contains(&&p[..1]) && ("0"..="8").contains(&&p[1..])), "{letter}");
                assert!(points.windows(2).all(|two| two[0] != two[1]), "{letter}: {stroke}");
            }
            let twin = all.iter().find(|other| *other != letter && strokes(**other) == shape);
            // l and I, and ' for the ^ that no DXF text may hold, are told by their words.
            assert!(twin.is_none() || ['I', 'l', '\'', '^'].contains(letter), "{letter} looks like {twin:?}");
        }
    }

    #[test]
    fn no_letter_goes_over_a_line_twice() {
        for letter in (b'!'..=b'~').map(char::from) {
            let mut drawing = Drawing::default();
            for path in lines(&Label::new(letter, Point::new(0.0, 0.0), 6.0)) {
                for (from, to, _) in path.pieces() {
                    drawing.line(Kind::Score, from, to);
                }
            }
            let before = drawing.items.len();
            drawing.mark_once();
            assert_eq!(drawing.items.len(), before, "{letter}");
        }
    }

    #[test]
    fn a_text_takes_the_room_of_the_typeface() {
        for said in ["sled-core 12", "½ × 3°"] {
            let label = Label::new(said, Point::new(5.0, 7.0), 5.0).turned(0.4);
            let inked: Vec<Point> =
                lines(&label).iter().flat_map(|path| path.vertices.iter().map(|v| v.at).collect::<Vec<_>>()).collect();
            let width = font::width_mm(said, 5.0, Lettering::Regular);
            let (sin, cos) = 0.4_f64.sin_cos();
            let flat = inked.iter().map(|p| {
                let (x, y) = (p.x - 5.0, p.y - 7.0);
                Point::new(cos * x + sin * y, cos * y - sin * x)
            });
            let bounds = Bounds::of(flat);
            assert!(0.0 < bounds.min.x && bounds.max.x < width, "{said}: {bounds:?} in {width}");
            assert!((bounds.max.y - 5.0).abs() < 1e-9 && -1.7 < bounds.min.y, "{said}: {bounds:?}");
            assert!(lines(&label).iter().all(|path| !path.closed && 2 <= path.vertices.len()));
        }
    }
}
