//! Our own reader of the DXF files that we write: a sled is tried as it stands in its cut file, and every file is audited before it
//! is handed out.
//!
//! A file is a list of pairs: a group code and a value, each on a line of its own. What is audited: sections open and close in
//! turn, each entity lies on a layer that the file has, handles are all different and under the seed that the header promises,
//! owners exist, and light polylines have as many vertices as they say.
//!
//! Source: DXF reference for release 2000. Not read: anything but light polylines; other files than ours may hold what is refused
//! here.

use crate::geometry::{Path, Point, Vertex};
use crate::units::System;
use std::collections::BTreeSet;

/// A closed path read from a DXF file, in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadPath {
    pub layer: String,
    pub path: Path,
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq)]
pub struct DxfContents {
    /// Of all kinds.
    pub entities: usize,
    /// The closed light polylines, in the file's order.
    pub paths: Vec<ReadPath>,
}

/// The pairs of a file; those whose code is no number are left out, and a code without a value.
fn pairs(text: &str) -> impl Iterator<Item = (i32, &str)> {
    let mut rest = text;
    // Lines are short: looking at each byte is quicker than a search made for long ones.
    let mut line = move || -> Option<&str> {
        if rest.is_empty() {
            return None;
        }
        let end = rest.bytes().position(|byte| byte == b'\n').unwrap_or(rest.len());
        let line = &rest[..end];
        rest = rest.get(end + 1..).unwrap_or("");
        Some(line.strip_suffix('\r').unwrap_or(line))
    };
    std::iter::from_fn(move || Some((line()?, line()?)))
        .filter_map(|(code, value)| Some((code.trim_start_matches(' ').parse().ok()?, value)))
}

/// Reads and audits a file. Fails if it does not state mm or inches.
pub fn read(bytes: &[u8]) -> Result<DxfContents, String> {
    let text = std::str::from_utf8(bytes).map_err(|fault| format!("the DXF file cannot be read: {fault}"))?;
    let mut reader = Reader::default();
    let mut ended = false;
    for (code, value) in pairs(text) {
        if ended {
            return Err("the DXF file goes on beyond its end".into());
        }
        ended = reader.take(code, value)?;
    }
    if !ended {
        return Err("the DXF file stops before its end".into());
    }
    reader.finished()
}

/// An entity as far as it has been read, lengths in drawing units.
#[derive(Default)]
struct DxfEntity<'a> {
    polyline: bool,
    layer: &'a str,
    closed: bool,
    stated: Option<usize>,
    vertices: Vec<Vertex>,
}

#[derive(Default)]
struct Reader<'a> {
    section: Option<&'a str>,
    /// The header's variable that is being read.
    variable: &'a str,
    /// The value before was the opening of a section or a table.
    opener: &'a str,
    /// The record that is being read, such as `LAYER`.
    record: &'a str,
    system: Option<System>,
    seed: u64,
    layers: Vec<&'a str>,
    handles: Vec<u64>,
    owners: BTreeSet<u64>,
    entity: Option<DxfEntity<'a>>,
    contents: Vec<ReadPath>,
    entities: usize,
}

impl<'a> Reader<'a> {
    /// Takes the next pair; whether the file is at its end.
    fn take(&mut self, code: i32, value: &'a str) -> Result<bool, String> {
        if code == 0 {
            self.close_entity()?;
            self.record = value;
            match (value, self.section) {
                ("EOF", None) => return Ok(true),
                ("ENDSEC", Some(_)) => self.section = None,
                ("SECTION", None) | ("TABLE", Some(_)) => self.opener = value,
                ("EOF" | "SECTION", _) | (_, None) => return Err(format!("`{value}` stands where no section is open or one is")),
                (_, Some("ENTITIES")) => {
                    self.entity = Some(DxfEntity { polyline: value == "LWPOLYLINE", ..DxfEntity::default() })
                }
                _ => {}
            }
            return Ok(false);
        }
        if code == 2 && !self.opener.is_empty() {
            if self.opener == "SECTION" {
                self.section = Some(value);
            }
            self.opener = "";
            return Ok(false);
        }
        match self.section {
            Some("HEADER") => self.take_variable(code, value)?,
            Some("TABLES") if code == 2 && self.record == "LAYER" => self.layers.push(value),
            _ => {}
        }
        match code {
            5 | 105 if self.section != Some("HEADER") => self.handles.push(hexadecimal(value)?),
            330 => drop(self.owners.insert(hexadecimal(value)?)),
            _ => {}
        }
        if let Some(entity) = &mut self.entity {
            entity.take(code, value)?;
        }
        Ok(false)
    }

    fn take_variable(&mut self, code: i32, value: &'a str) -> Result<(), String> {
        match (code, self.variable) {
            (9, _) => self.variable = value,
            (_, "$INSUNITS") => {
                self.system = match value.trim() {
                    "1" => Some(System::Inch),
                    "4" => Some(System::Millimetre),
                    other => return Err(format!("the file's drawing unit is no. {other}, not mm or in")),
                }
            }
            (_, "$HANDSEED") => self.seed = hexadecimal(value)?,
            _ => {}
        }
        Ok(())
    }

    fn close_entity(&mut self) -> Result<(), String> {
        let Some(entity) = self.entity.take() else { return Ok(()) };
        self.entities += 1;
        let system = self.system.ok_or("the file's drawing unit is not stated")?;
        if !self.layers.iter().any(|layer| layer.eq_ignore_ascii_case(entity.layer)) {
            return Err(format!("an entity lies on `{}`, which is no layer of the file", entity.layer));
        }
        if entity.polyline && entity.stated != Some(entity.vertices.len()) {
            return Err(format!("a polyline has {} vertices, not as many as it says", entity.vertices.len()));
        }
        if entity.polyline && entity.closed {
            let mm = |v: Vertex| Vertex { at: Point::new(system.to_mm(v.at.x), system.to_mm(v.at.y)), bulge: v.bulge };
            let path = Path { vertices: entity.vertices.into_iter().map(mm).collect(), closed: true };
            self.contents.push(ReadPath { layer: entity.layer.to_owned(), path });
        }
        Ok(())
    }

    fn finished(mut self) -> Result<DxfContents, String> {
        if self.system.is_none() {
            return Err("the file's drawing unit is not stated".into());
        }
        self.handles.sort_unstable();
        if let Some(pair) = self.handles.windows(2).find(|pair| pair[0] == pair[1]) {
            return Err(format!("two objects have the handle {:X}", pair[0]));
        }
        if let Some(last) = self.handles.last().filter(|last| self.seed <= **last) {
            return Err(format!("the handle {last:X} is not under the seed {:X}", self.seed));
        }
        // 0 stands for the file itself.
        if let Some(owner) = self.owners.iter().find(|owner| **owner != 0 && self.handles.binary_search(owner).is_err()) {
            return Err(format!("no object has the handle {owner:X}, which owns another"));
        }
        Ok(DxfContents { entities: self.entities, paths: self.contents })
    }
}

impl<'a> DxfEntity<'a> {
    fn take(&mut self, code: i32, value: &'a str) -> Result<(), String> {
        match code {
            8 => self.layer = value,
            _ if !self.polyline => {}
            10 => self.vertices.push(Vertex { at: Point::new(number(value)?, 0.0), bulge: 0.0 }),
            20 => self.last()?.at.y = number(value)?,
            42 => self.last()?.bulge = number(value)?,
            70 => self.closed = number(value)? as i64 & 1 == 1,
            90 => self.stated = value.trim().parse().ok(),
            _ => {}
        }
        Ok(())
    }

    fn last(&mut self) -> Result<&mut Vertex, String> {
        self.vertices.last_mut().ok_or_else(|| "a vertex of a polyline has no x".into())
    }
}

fn number(value: &str) -> Result<f64, String> {
    let finite = value.trim().parse().ok().filter(|number: &f64| number.is_finite());
    finite.ok_or_else(|| format!("`{value}` stands where a number should"))
}

fn hexadecimal(value: &str) -> Result<u64, String> {
    u64::from_str_radix(value.trim(), 16).map_err(|_| format!("`{value}` stands where a handle should"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Header, a table of layers, an entity; what a caller says is put in place of the same in a sound file.
    fn file(what: &str, with: &str) -> Result<DxfContents, String> {
        let sound = "0 SECTION 2 HEADER 9 $INSUNITS 70 4 9 $HANDSEED 5 20 0 ENDSEC 0 SECTION 2 TABLES 0 TABLE 2 LAYER 5 1 330 0 \
                     0 LAYER 5 2 330 1 2 CUT 0 ENDTAB 0 ENDSEC 0 SECTION 2 ENTITIES 0 LWPOLYLINE 5 3 330 1 8 Cut 90 3 70 1 \
                     10 0.0 20 0.0 42 0.5 10 10.0 20 0.0 10 10.0 20 4.0 0 ENDSEC 0 EOF";
        assert!(sound.contains(what));
        read(sound.replacen(what, with, 1).replace(' ', "\r\n").as_bytes())
    }

    #[test]
    fn a_sound_file_is_read() {
        let contents = file("", "").unwrap();
        assert_eq!((contents.entities, contents.paths.len()), (1, 1));
        let path = &contents.paths[0].path;
        assert_eq!(
            path.vertices.iter().map(|v| (v.at.x, v.at.y, v.bulge)).collect::<Vec<_>>(),
            [(0.0, 0.0, 0.5), (10.0, 0.0, 0.0), (10.0, 4.0, 0.0)]
        );
        let inches = file("$INSUNITS 70 4", "$INSUNITS 70 1").unwrap();
        assert!((inches.paths[0].path.vertices[1].at.x - System::Inch.to_mm(10.0)).abs() < 1e-12);
        assert!(file("90 3 70 1", "90 3 70 0").unwrap().paths.is_empty());
    }

    #[test]
    fn each_fault_is_told() {
        for (what, with, told) in [
            ("9 $INSUNITS 70 4 ", "", "not stated"),
            ("$INSUNITS 70 4", "$INSUNITS 70 6", "not mm or in"),
            ("8 Cut", "8 Score", "no layer"),
            ("90 3", "90 4", "vertices"),
            ("10 10.0 20 4.0", "10 inf 20 4.0", "number"),
            ("LWPOLYLINE 5 3", "LWPOLYLINE 5 2", "two objects"),
            ("$HANDSEED 5 20", "$HANDSEED 5 3", "seed"),
            ("5 3 330 1", "5 3 330 7", "no object"),
            (" 0 EOF", "", "stops"),
            ("0 EOF", "0 EOF 0 EOF", "beyond"),
            ("0 ENDSEC 0 EOF", "0 EOF", "section"),
            ("0 ENDSEC 0 SECTION 2 TABLES", "0 SECTION 2 TABLES", "section"),
        ] {
            let fault = file(what, with).unwrap_err();
            assert!(fault.contains(told), "{what} -> {with}: {fault}");
        }
    }
}
