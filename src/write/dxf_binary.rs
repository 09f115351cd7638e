//! The pairs of a drawing as the `dxf` crate writes them in its binary form, and their text.
//!
//! The binary form is quick to make and to take apart: of a cut file nearly all are coordinates, which need not become text in the
//! library, be parsed, and become text again. Source: DXF reference, group code value types and binary files; the text is spelled as
//! the library spells it.

use std::borrow::Cow;
use std::fmt::Write as _;

/// The value of a pair.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BinaryValue<'a> {
    Text(&'a str),
    Real(f64),
    Short(i16),
    Whole(i32),
    Flag(u8),
}

/// First bytes of a binary file.
const SENTINEL: &[u8] = b"AutoCAD Binary DXF\r\n\x1a\0";

/// The pairs of a binary file; ends early at what is none of ours.
pub fn pairs(raw: &[u8]) -> impl Iterator<Item = (i32, BinaryValue<'_>)> {
    let mut at = if raw.starts_with(SENTINEL) { SENTINEL.len() } else { raw.len() };
    std::iter::from_fn(move || {
        let (code, value, taken) = pair(&raw[at..])?;
        at += taken;
        Some((code, value))
    })
}

/// The first pair of these bytes, and how many it takes.
fn pair(bytes: &[u8]) -> Option<(i32, BinaryValue<'_>, usize)> {
    let (code, rest) = bytes.split_first_chunk::<2>()?;
    let code = i32::from(i16::from_le_bytes(*code));
    let (value, taken) = match code {
        10..=59 | 110..=149 | 210..=239 | 460..=469 | 1010..=1059 => {
            (BinaryValue::Real(f64::from_le_bytes(*rest.first_chunk()?)), 8)
        }
        60..=79 | 170..=179 | 270..=289 | 370..=389 | 400..=409 | 1060..=1070 => {
            (BinaryValue::Short(i16::from_le_bytes(*rest.first_chunk()?)), 2)
        }
        90..=99 | 420..=429 | 440..=459 | 1071 => (BinaryValue::Whole(i32::from_le_bytes(*rest.first_chunk()?)), 4),
        290..=299 => (BinaryValue::Flag(*rest.first()?), 1),
        _ => {
            let end = rest.iter().position(|byte| *byte == 0)?;
            (BinaryValue::Text(std::str::from_utf8(&rest[..end]).ok()?), end + 1)
        }
    };
    Some((code, value, 2 + taken))
}

impl<'a> BinaryValue<'a> {
    pub fn text(self) -> Cow<'a, str> {
        match self {
            BinaryValue::Text(text) => text.into(),
            other => {
                let mut text = String::new();
                other.push_to(&mut text);
                text.into()
            }
        }
    }

    fn push_to(self, out: &mut String) {
        // A string takes whatever is written to it.
        let _ = match self {
            BinaryValue::Text(text) => {
                out.push_str(text);
                Ok(())
            }
            BinaryValue::Real(number) => {
                push_real(out, number);
                Ok(())
            }
            BinaryValue::Short(number) => write!(out, "{number:>6}"),
            BinaryValue::Whole(number) => write!(out, "{number:>9}"),
            BinaryValue::Flag(flag) => write!(out, "{flag}"),
        };
    }
}

/// Appends a pair to a text file.
pub fn push_pair(out: &mut String, code: i32, value: BinaryValue<'_>) {
    match code {
        0..=99 => {
            let digit = |value: i32| char::from(b'0' + value as u8);
            out.push(' ');
            out.push(if code < 10 { ' ' } else { digit(code / 10) });
            out.push(digit(code % 10));
        }
        _ => drop(write!(out, "{code:>3}")),
    }
    out.push_str("\r\n");
    value.push_to(out);
    out.push_str("\r\n");
}

/// Twelve decimals without trailing zeros but the first.
fn push_real(out: &mut String, number: f64) {
    const DECIMALS: usize = 10;
    const POWER: f64 = 1e10;
    // A number that is the nearest to one with ten decimals and so small that its own error does not reach the twelfth.
    let scaled = (number * POWER).round();
    if number.abs() < 4000.0 && scaled / POWER == number && !(number == 0.0 && number.is_sign_negative()) {
        let whole = scaled.abs() as u64;
        let (before, mut after) = (whole / POWER as u64, whole % POWER as u64);
        if number < 0.0 {
            out.push('-');
        }
        push_whole(out, before, 1);
        out.push('.');
        let mut digits = DECIMALS;
        while 1 < digits && after % 10 == 0 {
            after /= 10;
            digits -= 1;
        }
        push_whole(out, after, digits);
        return;
    }
    let text = format!("{number:.12}");
    let text = text.trim_end_matches('0');
    out.push_str(text);
    if text.ends_with('.') {
        out.push('0');
    }
}

/// A whole number with at least so many digits.
fn push_whole(out: &mut String, mut number: u64, digits: usize) {
    let mut all = [b'0'; 20];
    let mut at = all.len();
    while 0 < number || all.len() - at < digits {
        at -= 1;
        all[at] = b'0' + (number % 10) as u8;
        number /= 10;
    }
    all[at..].iter().for_each(|digit| out.push(char::from(*digit)));
}

#[cfg(test)]
mod tests {
    use super::*;
    use dxf::entities::{Entity, EntityType, LwPolyline, Text};
    use dxf::{LwPolylineVertex, Point};

    /// The library writes both forms: one is held against the other.
    #[test]
    fn the_text_is_the_one_that_the_library_writes() {
        let mut drawing = dxf::Drawing::new();
        drawing.header.version = dxf::enums::AcadVersion::R2000;
        let numbers = (0..4000).map(|k| {
            let k = f64::from(k);
            [
                k * 0.0001,
                -k * 1.25,
                (k * 0.377_1).sin() * 10.0_f64.powf(k % 9.0 - 4.0),
                (k * 12.345_678_9).round() / 1e4,
                1e6 / (k + 1.0),
            ]
        });
        let vertices = numbers.flatten().chain([0.0, -0.0, 4095.1, 12_345.678_9, -1e-13, 1e15]);
        let vertex = |x: f64| LwPolylineVertex { x, y: -x, bulge: 1.0 / (1.0 + x.abs()), ..LwPolylineVertex::default() };
        let line = LwPolyline { vertices: vertices.map(vertex).collect(), ..LwPolyline::default() };
        drawing.add_entity(Entity::new(EntityType::LwPolyline(line)));
        let text = Text { value: "3/4 of a ^ {word}".into(), location: Point::new(1.0, 2.5, 0.0), ..Text::default() };
        drawing.add_entity(Entity::new(EntityType::Text(text)));
        let (mut as_text, mut as_binary) = (Vec::new(), Vec::new());
        drawing.save(&mut as_text).unwrap();
        drawing.save_binary(&mut as_binary).unwrap();
        let mut ours = String::new();
        pairs(&as_binary).for_each(|(code, value)| push_pair(&mut ours, code, value));
        let theirs = String::from_utf8(as_text).unwrap();
        let clock = |line: &&str| !line.contains(".") || !line.starts_with("24");
        let (mine, wanted): (Vec<_>, Vec<_>) = (ours.lines().filter(clock).collect(), theirs.lines().filter(clock).collect());
        for (k, (ours, theirs)) in mine.iter().zip(&wanted).enumerate() {
            assert_eq!(ours, theirs, "line {k}");
        }
        assert_eq!(mine.len(), wanted.len());
    }

    #[test]
    fn what_is_cut_off_ends_the_pairs() {
        assert_eq!(pairs(b"no such file").count(), 0);
        let mut raw = SENTINEL.to_vec();
        raw.extend(b"\x00\x00EOF\0\x0a\x00\x01");
        assert_eq!(pairs(&raw).collect::<Vec<_>>(), [(0, BinaryValue::Text("EOF"))]);
    }
}
