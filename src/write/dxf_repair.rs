//! Repairs of the DXF text that the `dxf` crate writes (0.6, release R2000), one function for each fault.
//!
//! The crate's own reader and lenient programs take its raw files; strict ones refuse them. A file is a list of pairs:
//! a group code and a value, each on a line of its own. Source of what must stand where: the DXF reference for R2000
//! (group codes 5 and 105 handles, 330 owners; the BLOCKS section holds the two layouts; OBJECTS begins with the root
//! dictionary), and the audit of a general-purpose DXF library, which finds nothing left to repair.

use super::dxf_binary::{BinaryValue, pairs, push_pair};
use crate::geometry::Extent;
use crate::units::System;
use std::borrow::Cow;

/// A group code and the text of its value.
type TextPair<'a> = (i32, Cow<'a, str>);

/// A fixed moment for the four dates of the header, so that equal drawings give equal bytes: noon of 2000-01-01, Julian.
const FIXED_DATE: &str = "2451545.0";

/// What a layout says of the paper.
#[derive(Debug, Clone, Copy)]
pub struct PaperLayout {
    /// Whose length is the drawing unit.
    pub system: System,
    /// Of the paper, mm.
    pub size_mm: Extent,
    /// Lower left and upper right corner of the paper around the drawing, x and y of each, drawing units.
    pub limits: [f64; 4],
}

/// The text of a drawing that was saved in the library's binary form, repaired.
pub fn repaired(raw: &[u8], layout: &PaperLayout) -> Vec<u8> {
    // Nearly all of a file is entities: they go straight from the library's form to the text.
    let (mut pairs, entities) = parsed(raw);
    let mut handles = Handles::after(&pairs);
    fix_dates(&mut pairs);
    drop_point_style(&mut pairs);
    name_layouts(&mut pairs);
    drop_empty_references(&mut pairs);
    default_layer_weights(&mut pairs);
    complete_tables(&mut pairs);
    give_tables_handles(&mut pairs, &mut handles);
    let layouts = layout_handles(&pairs);
    add_blocks(&mut pairs, &layouts, &mut handles);
    add_dictionaries(&mut pairs, &layouts, layout, &mut handles);
    handles.write_seed(&mut pairs);
    let (before, after) = pairs.split_at(section_start(&pairs, "ENTITIES").map_or(pairs.len(), |at| at + 2));
    let mut text = String::with_capacity(2 * raw.len());
    let push = |text: &mut String, pairs: &[TextPair<'_>]| {
        pairs.iter().for_each(|(code, value)| push_pair(text, *code, BinaryValue::Text(value)));
    };
    push(&mut text, before);
    push_owned(&mut text, entities, &layouts[0]);
    push(&mut text, after);
    text.into_bytes()
}

/// The pairs of a file but for the entities, and those. Our files are ASCII; anything else would end them here, and be refused by
/// the audit.
fn parsed(raw: &[u8]) -> (Vec<TextPair<'_>>, Vec<(i32, BinaryValue<'_>)>) {
    let (mut frame, mut entities): (Vec<TextPair<'_>>, Vec<_>) = (Vec::new(), Vec::new());
    let mut inside = false;
    for (code, value) in pairs(raw) {
        inside &= (code, value) != (0, BinaryValue::Text("ENDSEC"));
        if inside {
            entities.push((code, value));
            continue;
        }
        frame.push((code, value.text()));
        inside = matches!(frame.as_slice(), [.., before, last] if is(before, 0, "SECTION") && is(last, 2, "ENTITIES"));
    }
    (frame, entities)
}

fn is((code, value): &TextPair<'_>, wanted: i32, word: &str) -> bool {
    *code == wanted && value == word
}

/// The next free handles, beginning with the seed that the header promises.
struct Handles {
    next: u64,
}

impl Handles {
    fn after(pairs: &[TextPair<'_>]) -> Handles {
        let seed = seed_at(pairs).and_then(|at| u64::from_str_radix(&pairs[at].1, 16).ok());
        // Without a seed, beyond every handle in use.
        let used = pairs.iter().filter(|(code, _)| matches!(code, 5 | 105));
        let highest = used.filter_map(|(_, value)| u64::from_str_radix(value, 16).ok()).max().unwrap_or(0);
        Handles { next: seed.unwrap_or(0).max(highest + 1) }
    }

    fn take(&mut self) -> String {
        self.next += 1;
        format!("{:X}", self.next - 1)
    }

    fn write_seed(&self, pairs: &mut [TextPair<'_>]) {
        if let Some(at) = seed_at(pairs) {
            pairs[at].1 = format!("{:X}", self.next).into();
        }
    }
}

fn seed_at(pairs: &[TextPair<'_>]) -> Option<usize> {
    pairs.iter().position(|(code, value)| *code == 9 && value == "$HANDSEED").map(|at| at + 1)
}

/// Fault: the header's four dates are the time of writing.
fn fix_dates(pairs: &mut [TextPair<'_>]) {
    for k in 1..pairs.len() {
        let name = &pairs[k - 1];
        if name.0 == 9 && matches!(name.1.as_ref(), "$TDCREATE" | "$TDUPDATE" | "$TDUCREATE" | "$TDUUPDATE") {
            pairs[k].1 = FIXED_DATE.into();
        }
    }
}

/// Fault: the header says how points are shown, though there are none; some viewers then let points decide what is printed.
fn drop_point_style(pairs: &mut Vec<TextPair<'_>>) {
    for name in ["$PDMODE", "$PDSIZE"] {
        if let Some(at) = pairs.iter().position(|(code, value)| *code == 9 && value == name) {
            // A variable's one value follows its name.
            pairs.drain(at..(at + 2).min(pairs.len()));
        }
    }
}

/// Fault: the layouts' block records are called `*MODEL_SPACE` and `*PAPER_SPACE`; R2000 spells them in mixed case.
fn name_layouts(pairs: &mut [TextPair<'_>]) {
    for (_, value) in pairs.iter_mut().filter(|(code, _)| *code == 2) {
        match value.as_ref() {
            "*MODEL_SPACE" => *value = "*Model_Space".into(),
            "*PAPER_SPACE" => *value = "*Paper_Space".into(),
            _ => {}
        }
    }
}

/// Fault: dimension styles and layers point to other objects (340–344, 390) by an empty handle or by 0, which is nobody's.
fn drop_empty_references(pairs: &mut Vec<TextPair<'_>>) {
    let places = places(pairs);
    let mut k = 0;
    pairs.retain(|(code, value)| {
        let (section, table) = places[k];
        k += 1;
        let empty = matches!(code, 340..=344 | 390) && (value.is_empty() || value == "0");
        // A block record's 340 is its layout, and 0 is right there: we write none.
        !(section == DxfSection::Tables && table != DxfTable::BlockRecord && empty)
    });
}

/// Fault: layers carry an explicit weight of 0; −3 means the reader's default.
fn default_layer_weights(pairs: &mut [TextPair<'_>]) {
    let places = places(pairs);
    for (pair, place) in pairs.iter_mut().zip(places) {
        if place == (DxfSection::Tables, DxfTable::Layer) && pair.0 == 370 {
            pair.1 = "-3".into();
        }
    }
}

/// Fault: the VIEW and UCS tables are missing when they are empty, and the head of the DIMSTYLE table lacks its subclass.
fn complete_tables(pairs: &mut Vec<TextPair<'_>>) {
    let head = |name: &str, marker: &[(i32, &str)]| {
        let fixed = [(0, "TABLE"), (2, name), (100, "AcDbSymbolTable"), (70, "0")];
        fixed.iter().chain(marker).map(|(code, value)| (*code, Cow::Owned((*value).to_owned()))).collect::<Vec<TextPair<'_>>>()
    };
    let has = |pairs: &[TextPair<'_>], name: &str| pairs.windows(2).any(|two| two[0].1 == "TABLE" && is(&two[1], 2, name));
    for name in ["VIEW", "UCS"] {
        if let Some(at) = section_start(pairs, "TABLES")
            && !has(pairs, name)
        {
            pairs.splice(at + 2..at + 2, head(name, &[(0, "ENDTAB")]));
        }
    }
    let dimstyle = pairs.windows(2).position(|two| two[0].1 == "TABLE" && is(&two[1], 2, "DIMSTYLE"));
    if let Some(at) = dimstyle {
        let count = pairs[at..].iter().position(|(code, _)| *code == 70).map_or(at + 1, |n| at + n);
        let marker = [(100, "AcDbDimStyleTable".into()), (71, "0".into())];
        pairs.splice(count + 1..count + 1, marker);
    }
}

/// Fault: the tables themselves have no handle, their entries no owner, and a dimension style's handle stands under 5
/// instead of 105.
fn give_tables_handles(pairs: &mut Vec<TextPair<'_>>, handles: &mut Handles) {
    let places = places(pairs);
    let mut out = Vec::with_capacity(pairs.len() + 64);
    let mut owner = String::new();
    for (k, (code, value)) in pairs.drain(..).enumerate() {
        let (section, table) = places[k];
        if section != DxfSection::Tables {
            out.push((code, value));
        } else if code == 2 && matches!(out.last(), Some((0, word)) if word == "TABLE") {
            owner = handles.take();
            out.extend([(2, value), (5, owner.clone().into()), (330, "0".into())]);
        } else if code == 5 {
            out.extend([(if table == DxfTable::DimStyle { 105 } else { 5 }, value), (330, owner.clone().into())]);
        } else {
            out.push((code, value));
        }
    }
    *pairs = out;
}

/// Handles of the block records of model space and paper space.
fn layout_handles(pairs: &[TextPair<'_>]) -> [String; 2] {
    let of = |name: &str| {
        let at = pairs.iter().position(|(code, value)| *code == 2 && value == name).unwrap_or(0);
        pairs[..at].iter().rev().find(|(code, _)| *code == 5).map(|(_, value)| value.to_string()).unwrap_or_default()
    };
    [of("*Model_Space"), of("*Paper_Space")]
}

/// Fault: entities name no owner; all of ours lie in model space.
fn push_owned(text: &mut String, entities: Vec<(i32, BinaryValue<'_>)>, space: &str) {
    for (code, value) in entities {
        push_pair(text, code, value);
        if code == 5 {
            push_pair(text, 330, BinaryValue::Text(space));
        }
    }
}

/// Fault: there is no BLOCKS section, so that the two layouts have no block.
fn add_blocks(pairs: &mut Vec<TextPair<'_>>, layouts: &[String; 2], handles: &mut Handles) {
    let mut blocks: Vec<TextPair<'_>> = Vec::new();
    let mut put = |code: i32, value: &str| blocks.push((code, value.to_owned().into()));
    put(0, "SECTION");
    put(2, "BLOCKS");
    for (owner, name) in layouts.iter().zip(["*Model_Space", "*Paper_Space"]) {
        let (begin, end) = (handles.take(), handles.take());
        for (code, value) in [(0, "BLOCK"), (5, &begin), (330, owner), (100, "AcDbEntity"), (8, "0")] {
            put(code, value);
        }
        for (code, value) in [(100, "AcDbBlockBegin"), (2, name), (70, "0"), (10, "0.0"), (20, "0.0"), (30, "0.0")] {
            put(code, value);
        }
        for (code, value) in [(3, name), (1, ""), (0, "ENDBLK"), (5, end.as_str()), (330, owner), (100, "AcDbEntity")] {
            put(code, value);
        }
        put(8, "0");
        put(100, "AcDbBlockEnd");
    }
    put(0, "ENDSEC");
    if let Some(at) = section_start(pairs, "ENTITIES") {
        pairs.splice(at..at, blocks);
    }
}

/// Fault: OBJECTS is empty; it must begin with the root dictionary, which leads to a layout for each of the two spaces. They say
/// on what paper a space is printed, and that it is printed 1:1.
fn add_dictionaries(pairs: &mut Vec<TextPair<'_>>, spaces: &[String; 2], layout: &PaperLayout, handles: &mut Handles) {
    let (root, groups, layouts) = (handles.take(), handles.take(), handles.take());
    let names = ["Model", "Layout1"];
    let own = names.map(|_| handles.take());
    let mut objects: Vec<TextPair<'_>> = Vec::new();
    let mut put = |code: i32, value: &str| objects.push((code, value.to_owned().into()));
    let mut dictionary = |handle: &str, owner: &str, entries: &[(&str, &str)]| {
        for (code, value) in [(0, "DICTIONARY"), (5, handle), (330, owner), (100, "AcDbDictionary"), (281, "1")] {
            put(code, value);
        }
        for (name, entry) in entries {
            put(3, name);
            put(350, entry);
        }
    };
    dictionary(&root, "0", &[("ACAD_GROUP", groups.as_str()), ("ACAD_LAYOUT", layouts.as_str())]);
    dictionary(&groups, &root, &[]);
    dictionary(&layouts, &root, &[(names[0], own[0].as_str()), (names[1], own[1].as_str())]);
    for (k, (name, handle)) in names.iter().zip(&own).enumerate() {
        let tab = LayoutTab { name, handle, owner: &layouts, space: &spaces[k], index: k };
        objects.extend(layout_object(&tab, layout));
        own_layout(pairs, &spaces[k], handle);
    }
    if let Some(at) = section_start(pairs, "OBJECTS") {
        pairs.splice(at + 2..at + 2, objects);
    }
}

/// A layout with the handles of itself, of the dictionary that it stands in, and of its space: model space is the first.
struct LayoutTab<'a> {
    name: &'a str,
    handle: &'a str,
    owner: &'a str,
    space: &'a str,
    index: usize,
}

/// The layout of model space or paper space. Paper is counted in mm whatever the drawing's unit.
fn layout_object(tab: &LayoutTab<'_>, layout: &PaperLayout) -> Vec<TextPair<'static>> {
    let LayoutTab { name, handle, owner, space, index: tab } = *tab;
    let number = |value: f64| Cow::Owned(value.to_string());
    let Extent { width, height } = layout.size_mm;
    let unit_mm = layout.system.to_mm(1.0);
    // Model space shows the drawing inside the limits, paper space an empty sheet.
    let [left, low, right, high] = if tab == 0 { layout.limits } else { [0.0, 0.0, width / unit_mm, height / unit_mm] };
    let mut object: Vec<TextPair<'_>> =
        [(0, "LAYOUT"), (5, handle), (330, owner), (100, "AcDbPlotSettings"), (1, ""), (2, ""), (4, ""), (6, "")]
            .map(|(code, value)| (code, value.to_owned().into()))
            .to_vec();
    // No borders that cannot be printed, the paper's size, no shift, the window, one unit of paper for one of the drawing.
    object.extend((40..=43).map(|code| (code, number(0.0))));
    object.extend([(44, number(width)), (45, number(height)), (46, number(0.0)), (47, number(0.0))]);
    object.extend([(48, number(left)), (49, number(low)), (140, number(right)), (141, number(high))]);
    object.extend([(142, number(1.0)), (143, number(1.0))]);
    // Flag 1024: these are settings of model space. Paper in inches or mm; not turned; printed are the limits, or the layout.
    let printed = if tab == 0 { 2 } else { 5 };
    let flags = if tab == 0 { 1024 } else { 0 };
    let units = i32::from(layout.system == System::Millimetre);
    object.extend([(70, flags), (72, units), (73, 0), (74, printed)].map(|(code, value)| (code, value.to_string().into())));
    // Scale no. 16 of the list is 1:1.
    object.extend([(7, "".into()), (75, "16".into()), (147, number(1.0)), (148, number(0.0)), (149, number(0.0))]);
    object.extend([(100, "AcDbLayout".into()), (1, name.to_owned().into()), (70, "1".into()), (71, tab.to_string().into())]);
    // Limits, insertion base, extents; then the plane it lies in.
    object.extend(
        [(10, left), (20, low), (11, right), (21, high), (12, 0.0), (22, 0.0), (32, 0.0)]
            .map(|(code, value)| (code, number(value))),
    );
    object.extend(
        [(14, left), (24, low), (34, 0.0), (15, right), (25, high), (35, 0.0), (146, 0.0)]
            .map(|(code, value)| (code, number(value))),
    );
    object.extend(
        [(13, 0.0), (23, 0.0), (33, 0.0), (16, 1.0), (26, 0.0), (36, 0.0), (17, 0.0), (27, 1.0), (37, 0.0)]
            .map(|(code, value)| (code, number(value))),
    );
    object.extend([(76, "0".into()), (330, space.to_owned().into())]);
    object
}

/// Leads a space's block record to its layout.
fn own_layout(pairs: &mut [TextPair<'_>], space: &str, layout: &str) {
    let start = pairs.windows(2).position(|two| is(&two[0], 0, "BLOCK_RECORD") && is(&two[1], 5, space));
    let pointer = start
        .and_then(|at| pairs[at + 1..].iter().take_while(|pair| pair.0 != 0).position(|pair| pair.0 == 340).map(|n| at + 1 + n));
    if let Some(at) = pointer {
        pairs[at].1 = layout.to_owned().into();
    }
}

fn section_start(pairs: &[TextPair<'_>], name: &str) -> Option<usize> {
    pairs.windows(2).position(|two| is(&two[0], 0, "SECTION") && is(&two[1], 2, name))
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum DxfSection {
    Tables,
    Other,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum DxfTable {
    Layer,
    DimStyle,
    BlockRecord,
    Other,
}

/// The section and table that each pair stands in.
fn places(pairs: &[TextPair<'_>]) -> Vec<(DxfSection, DxfTable)> {
    let (mut section, mut table) = (DxfSection::Other, DxfTable::Other);
    let mut places = Vec::with_capacity(pairs.len());
    for (k, (code, value)) in pairs.iter().enumerate() {
        let opener = if *code == 2 && 0 < k { pairs[k - 1].1.as_ref() } else { "" };
        match opener {
            "SECTION" => {
                (section, table) = match value.as_ref() {
                    "TABLES" => (DxfSection::Tables, DxfTable::Other),
                    _ => (DxfSection::Other, DxfTable::Other),
                }
            }
            "TABLE" => {
                table = match value.as_ref() {
                    "LAYER" => DxfTable::Layer,
                    "DIMSTYLE" => DxfTable::DimStyle,
                    "BLOCK_RECORD" => DxfTable::BlockRecord,
                    _ => DxfTable::Other,
                }
            }
            _ => {}
        }
        places.push((section, table));
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;
    use dxf::entities::{Entity, EntityType, Line};
    use std::collections::BTreeSet;

    /// What the crate writes for one line, and the same repaired.
    fn before_and_after() -> (Vec<TextPair<'static>>, Vec<TextPair<'static>>) {
        let mut drawing = dxf::Drawing::new();
        drawing.header.version = dxf::enums::AcadVersion::R2000;
        drawing.add_entity(Entity::new(EntityType::Line(Line::default())));
        let mut raw = Vec::new();
        drawing.save_binary(&mut raw).unwrap();
        let layout =
            PaperLayout { system: System::Inch, size_mm: Extent { width: 127.0, height: 254.0 }, limits: [-1.0, -2.0, 4.0, 8.0] };
        let owned = |text: Cow<'_, str>| Cow::Owned(text.into_owned());
        let before = pairs(&raw).map(|(code, value)| (code, owned(value.text()))).collect();
        let fixed = String::from_utf8(repaired(&raw, &layout)).unwrap();
        let lines: Vec<&str> = fixed.lines().collect();
        let after = lines.chunks(2).map(|pair| (pair[0].trim().parse().unwrap(), owned(pair[1].into()))).collect();
        (before, after)
    }

    /// The pairs of a record that starts at `at`, up to the next code 0.
    fn record<'a>(pairs: &'a [TextPair<'a>], at: usize) -> &'a [TextPair<'a>] {
        let end = pairs[at + 1..].iter().position(|(code, _)| *code == 0).map_or(pairs.len(), |n| at + 1 + n);
        &pairs[at..end]
    }

    fn records<'a>(pairs: &'a [TextPair<'a>], kind: &'a str) -> impl Iterator<Item = &'a [TextPair<'a>]> {
        (0..pairs.len()).filter(move |k| is(&pairs[*k], 0, kind)).map(|k| record(pairs, k))
    }

    fn value<'a>(record: &'a [TextPair<'a>], code: i32) -> Option<&'a str> {
        record.iter().find(|pair| pair.0 == code).map(|pair| pair.1.as_ref())
    }

    #[test]
    fn tables_have_handles() {
        let (raw, fixed) = before_and_after();
        assert!(records(&raw, "TABLE").all(|table| value(table, 5).is_none()));
        assert_eq!(records(&fixed, "TABLE").count(), 9);
        assert!(records(&fixed, "TABLE").all(|table| value(table, 5).is_some() && value(table, 330) == Some("0")));
    }

    #[test]
    fn all_nine_tables_are_there() {
        let (raw, fixed) = before_and_after();
        let names = |pairs: &[TextPair<'_>]| {
            records(pairs, "TABLE").filter_map(|t| value(t, 2).map(str::to_owned)).collect::<BTreeSet<_>>()
        };
        for name in ["VIEW", "UCS"] {
            assert!(!names(&raw).contains(name) && names(&fixed).contains(name));
        }
        assert_eq!(names(&fixed).len(), 9);
        let marked = |pairs: &[TextPair<'_>]| pairs.iter().filter(|pair| pair.1 == "AcDbDimStyleTable").count();
        assert_eq!((marked(&raw), marked(&fixed)), (0, 1));
    }

    #[test]
    fn table_entries_have_their_table_as_owner() {
        let (raw, fixed) = before_and_after();
        assert!(records(&raw, "LAYER").all(|layer| value(layer, 330).is_none()));
        let table = records(&fixed, "TABLE").find(|table| value(table, 2) == Some("LAYER")).unwrap();
        assert!(records(&fixed, "LAYER").all(|layer| value(layer, 330) == value(table, 5)));
    }

    #[test]
    fn dimension_styles_have_their_handle_under_105() {
        let (raw, fixed) = before_and_after();
        assert!(records(&raw, "DIMSTYLE").all(|style| value(style, 105).is_none()));
        assert!(0 < records(&fixed, "DIMSTYLE").count());
        assert!(records(&fixed, "DIMSTYLE").all(|style| value(style, 105).is_some() && value(style, 5).is_none()));
    }

    #[test]
    fn references_to_nobody_are_gone() {
        let (raw, fixed) = before_and_after();
        let empty = |pairs: &[TextPair<'_>], kind| {
            records(pairs, kind)
                .flatten()
                .filter(|(code, value)| matches!(code, 340..=344 | 390) && (value.is_empty() || value == "0"))
                .count()
        };
        assert!(0 < empty(&raw, "DIMSTYLE") && 0 < empty(&raw, "LAYER"));
        assert_eq!(empty(&fixed, "DIMSTYLE") + empty(&fixed, "LAYER"), 0);
    }

    #[test]
    fn layers_have_the_default_weight() {
        let (raw, fixed) = before_and_after();
        assert!(records(&raw, "LAYER").all(|layer| value(layer, 370).map(str::trim) == Some("0")));
        assert!(records(&fixed, "LAYER").all(|layer| value(layer, 370) == Some("-3")));
    }

    #[test]
    fn layouts_have_a_block_each() {
        let (raw, fixed) = before_and_after();
        assert_eq!(records(&raw, "BLOCK").count(), 0);
        let names: Vec<_> = records(&fixed, "BLOCK").map(|block| value(block, 2)).collect();
        assert_eq!(names, [Some("*Model_Space"), Some("*Paper_Space")]);
        for block in records(&fixed, "BLOCK") {
            let owner = records(&fixed, "BLOCK_RECORD").find(|owner| value(owner, 2) == value(block, 2)).unwrap();
            assert_eq!(value(block, 330), value(owner, 5));
        }
        assert_eq!(records(&fixed, "ENDBLK").count(), 2);
    }

    #[test]
    fn entities_belong_to_model_space() {
        let (raw, fixed) = before_and_after();
        assert!(records(&raw, "LINE").all(|line| value(line, 330).is_none()));
        let model = records(&fixed, "BLOCK_RECORD").find(|r| value(r, 2) == Some("*Model_Space")).unwrap();
        assert_eq!(records(&fixed, "LINE").count(), 1);
        assert!(records(&fixed, "LINE").all(|line| value(line, 330) == value(model, 5)));
    }

    #[test]
    fn objects_begin_with_the_root_dictionary() {
        let (raw, fixed) = before_and_after();
        assert_eq!(records(&raw, "DICTIONARY").count(), 0);
        let at = section_start(&fixed, "OBJECTS").unwrap() + 2;
        let root = record(&fixed, at);
        assert_eq!((root[0].1.as_ref(), value(root, 330)), ("DICTIONARY", Some("0")));
        let group = records(&fixed, "DICTIONARY").nth(1).unwrap();
        assert_eq!(value(root, 350), value(group, 5));
        assert_eq!(value(group, 330), value(root, 5));
    }

    #[test]
    fn both_spaces_have_a_layout_on_the_same_paper() {
        let (raw, fixed) = before_and_after();
        assert_eq!(records(&raw, "LAYOUT").count(), 0);
        assert_eq!(records(&fixed, "LAYOUT").count(), 2);
        for (layout, name) in records(&fixed, "LAYOUT").zip(["*Model_Space", "*Paper_Space"]) {
            assert_eq!((value(layout, 44), value(layout, 45)), (Some("127"), Some("254")));
            let space = records(&fixed, "BLOCK_RECORD").find(|record| value(record, 2) == Some(name)).unwrap();
            assert_eq!(value(space, 340), value(layout, 5));
            assert_eq!(layout.last(), Some(&(330, value(space, 5).unwrap().into())));
        }
    }

    #[test]
    fn nothing_is_said_of_points() {
        let (raw, fixed) = before_and_after();
        let said = |pairs: &[TextPair<'_>]| pairs.iter().filter(|pair| pair.0 == 9 && pair.1.starts_with("$PD")).count();
        assert_eq!((said(&raw), said(&fixed)), (2, 0));
    }

    #[test]
    fn dates_stand_still() {
        let (raw, fixed) = before_and_after();
        for name in ["$TDCREATE", "$TDUPDATE", "$TDUCREATE", "$TDUUPDATE"] {
            let after = |pairs: &[TextPair<'_>]| {
                pairs.iter().position(|pair| pair.1 == name).map(|at| pairs[at + 1].1.to_string()).unwrap()
            };
            assert_ne!(after(&raw), FIXED_DATE);
            assert_eq!(after(&fixed), FIXED_DATE);
        }
    }

    #[test]
    fn handles_are_all_different_and_under_the_seed() {
        let (_, fixed) = before_and_after();
        let start = section_start(&fixed, "TABLES").unwrap();
        let handles: Vec<u64> = fixed[start..]
            .iter()
            .filter(|pair| matches!(pair.0, 5 | 105))
            .map(|pair| u64::from_str_radix(&pair.1, 16).unwrap())
            .collect();
        assert_eq!(handles.iter().collect::<BTreeSet<_>>().len(), handles.len());
        let seed = u64::from_str_radix(&fixed[seed_at(&fixed).unwrap()].1, 16).unwrap();
        assert!(handles.iter().all(|handle| 0 < *handle && *handle < seed));
    }
}
