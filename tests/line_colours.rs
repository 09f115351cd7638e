//! The default colours of lines: apart for every eye and in grey, the same in DXF and SVG, and written where a builder sees them.

mod peers;

use serde_json::json;
use taperwright::buildfile::{self, Starter, starter};
use taperwright::drawing::{Drawing, Kind, LineTable};
use taperwright::geometry::{Bounds, Path, Point};
use taperwright::units::System;
use taperwright::write::{Content, Letters, dxf, svg};

/// What an eye makes of linear red, green and blue: whole, and without one kind of cones.
/// Machado, Oliveira, Fernandes: A physiologically-based model for simulation of color vision deficiency, IEEE Transactions on
/// Visualization and Computer Graphics 15 (2009), severity 1.0; from memory, rows checked to add up to 1.
const EYES: [(&str, [[f64; 3]; 3]); 4] = [
    ("all cones", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    ("protanopia", [[0.152_286, 1.052_583, -0.204_868], [0.114_503, 0.786_281, 0.099_216], [-0.003_882, -0.048_116, 1.051_998]]),
    ("deuteranopia", [[0.367_322, 0.860_646, -0.227_968], [0.280_085, 0.672_501, 0.047_413], [-0.011_820, 0.042_940, 0.968_881]]),
    ("tritanopia", [[1.255_528, -0.076_749, -0.178_779], [-0.078_411, 0.930_809, 0.147_602], [0.004_733, 0.691_367, 0.303_900]]),
];

/// sRGB to CIE XYZ under D65 (IEC 61966-2-1).
const XYZ: [[f64; 3]; 3] = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];

fn times(matrix: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    matrix.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}

/// Linear light of an sRGB colour (IEC 61966-2-1).
fn linear(rgb: [u8; 3]) -> [f64; 3] {
    rgb.map(|part| {
        let c = f64::from(part) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    })
}

/// CIE L*a*b* (CIE 15) as an eye sees the colour.
fn lab(rgb: [u8; 3], eye: &[[f64; 3]; 3]) -> [f64; 3] {
    let seen = times(&XYZ, times(eye, linear(rgb)).map(|part| part.clamp(0.0, 1.0)));
    let white = times(&XYZ, [1.0; 3]);
    let f = |k: usize| {
        let t = seen[k] / white[k];
        if (6.0_f64 / 29.0).powi(3) < t { t.cbrt() } else { t * (29.0_f64 / 6.0).powi(2) / 3.0 + 4.0 / 29.0 }
    };
    [116.0 * f(1) - 16.0, 500.0 * (f(0) - f(1)), 200.0 * (f(1) - f(2))]
}

/// The kinds of line; areas are no lines.
fn kinds() -> Vec<Kind> {
    Kind::ALL.into_iter().filter(|kind| *kind != Kind::Tone).collect()
}

/// All were black on one colour index: a cutter's program that sorts by colour cut letters, notes and the bed's frame.
#[test]
fn every_two_kinds_of_line_are_apart_for_every_eye_and_in_grey() {
    assert!((lab([255; 3], &EYES[0].1)[0] - 100.0).abs() < 0.01);
    for (_, eye) in &EYES {
        assert!(eye.iter().all(|row| (row.iter().sum::<f64>() - 1.0).abs() < 2e-6));
    }
    let table = LineTable::default();
    for (i, a) in kinds().iter().enumerate() {
        let (style, pair) = (table.style(*a), |kind: Kind| (table.style(*a), table.style(kind)));
        let luminance = times(&XYZ, linear(style.rgb))[1];
        // WCAG 2.1, success criterion 1.4.11: what must be seen stands out by 3:1; white paper has luminance 1.
        assert!(3.0 <= 1.05 / (luminance + 0.05), "{a:?} is too pale for paper");
        assert!(!style.rgb.iter().all(|part| [0, 255].contains(part)), "{a:?} has a colour of full strength");
        for b in &kinds()[i + 1..] {
            let (one, other) = pair(*b);
            assert!(one.color != other.color && one.layer != other.layer, "{a:?} {b:?}");
            for (name, eye) in &EYES {
                let (x, y) = (lab(one.rgb, eye), lab(other.rgb, eye));
                // A difference of 2.3 is just seen side by side (Mahy, Van Eycken, Oosterlinck, 1994; from memory).
                let apart = x.iter().zip(y).map(|(x, y)| (x - y) * (x - y)).sum::<f64>().sqrt();
                assert!(20.0 <= apart, "{a:?} {b:?} {name}: {apart}");
            }
            let grey = (lab(one.rgb, &EYES[0].1)[0] - lab(other.rgb, &EYES[0].1)[0]).abs();
            assert!(4.0 <= grey, "{a:?} {b:?} in grey: {grey}");
        }
    }
}

#[test]
fn the_colour_index_names_the_colour_that_the_other_formats_show() {
    let table = LineTable::default();
    let wanted: Vec<_> = kinds().iter().map(|kind| table.style(*kind)).map(|style| json!([style.color, style.rgb])).collect();
    let Some(answer) = peers::run("colour_index.py", &[], &json!(wanted).to_string()) else { return };
    assert_eq!(answer.trim(), "agrees");
}

#[test]
fn files_carry_a_colour_for_every_kind() {
    let table = LineTable::default();
    let mut drawing = Drawing::new("lines", "Lines");
    for (k, kind) in kinds().iter().enumerate() {
        let y = 5.0 * k as f64;
        drawing.path(*kind, Path::rectangle(Bounds { min: Point::new(0.0, y), max: Point::new(40.0, y + 2.0) }));
    }
    let shown = String::from_utf8(svg::svg(&drawing, &table, Content::Everything).unwrap()).unwrap();
    let file = dxf::dxf(&drawing, &table, System::Millimetre, Content::Everything, Letters::ALL).unwrap();
    let file = String::from_utf8(file).unwrap().replace("\r\n", "\n");
    for kind in kinds() {
        let style = table.style(kind);
        let [r, g, b] = style.rgb;
        assert_eq!(shown.matches(&format!("stroke=\"#{r:02x}{g:02x}{b:02x}\"")).count(), 1, "{kind:?}");
        let layer = file.split("AcDbLayerTableRecord\n").find(|record| record.starts_with(&format!("  2\n{}\n", style.layer)));
        let color = layer.unwrap().split("\n 62\n").nth(1).unwrap().lines().next().unwrap();
        assert_eq!(color.trim(), style.color.to_string(), "{kind:?}");
    }
}

/// The defaults stand where they can be changed, and what stands there is the default.
#[test]
fn starter_and_readme_show_the_table_and_it_reads_as_the_default() {
    let readme = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md")).unwrap().replace('\r', "");
    for units in [System::Inch, System::Millimetre] {
        let text = starter(&Starter { units, ..Starter::default() });
        let (_, outcome) = buildfile::read("first.toml", &text);
        let reported = outcome.unwrap();
        assert_eq!(reported.value.shop.lines, LineTable::default());
        let block = &text[text.find("[shop.lines]").unwrap()..];
        assert!(readme.contains(block.trim_end()), "README.md does not show\n{block}");
        let moved = text.replace("color = 152", "color = 3").replace("layer = \"ENGRAVE\"", "layer = \"PEN\"");
        let lines = buildfile::read("first.toml", &moved).1.unwrap().value.shop.lines;
        assert_eq!((lines.style(Kind::Cut).color, lines.style(Kind::Engrave).layer.as_str()), (3, "PEN"));
    }
}
