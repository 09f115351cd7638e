//! DXF for cutters: release R2000, true size, closed light polylines with true arcs, one layer for each meaning.
//!
//! One drawing unit is 1 mm or 1 in, stated in `$INSUNITS` and `$MEASUREMENT`. Marks come before holes and slots, those
//! before outlines, so that nothing is cut from a part that has come loose. Letters that are to be engraved are single strokes,
//! open polylines on their layer; all other letters are TEXT in ASCII (other characters are shown raw by
//! many readers), and tones are left out. Dashes are not written: hidden and centre lines are told apart by layer and colour.
//!
//! Printed from a viewer, a file is true to scale on paper that holds it: limits, layout and insertion base say the same sheet.
//! [`dxf_read`] gives the closed paths of such a file as plain mm, so that a sled can be tried as it was written.
//! Source: DXF reference, release 2000; repairs of what the library writes in `dxf_repair`.

pub use super::dxf_read::ReadPath;
use super::{Content, Letters, Unwritable, checked, dxf_read, dxf_repair, layer_name, number};
use crate::drawing::{Align, Drawing, Item, Kind, Label, LineTable, Shape, annotate, font, panels, strokes};
use crate::geometry::{Bounds, Extent, Path, Point, Vertex};
use crate::units::{MM_PER_IN, System};
use ::dxf::entities::{Entity, EntityType, LwPolyline, Text};
use ::dxf::enums::{AcadVersion, DrawingUnits, HorizontalTextJustification, Units};
use ::dxf::tables::Layer;
use ::dxf::{Color, LwPolylineVertex};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// The drawing as a DXF file whose drawing unit is that of `system`.
pub fn dxf(
    drawing: &Drawing,
    lines: &LineTable,
    system: System,
    content: Content,
    letters: Letters,
) -> Result<Vec<u8>, Unwritable> {
    with_paths(drawing, lines, system, content, letters).map(|(bytes, _)| bytes)
}

/// The same file, and what [`dxf_read`] says of it: every file is read once to see that all has arrived.
pub fn with_paths(
    drawing: &Drawing,
    lines: &LineTable,
    system: System,
    content: Content,
    letters: Letters,
) -> Result<(Vec<u8>, Vec<ReadPath>), Unwritable> {
    checked(drawing)?;
    let whole = match content {
        Content::Everything => panels::in_one(drawing),
        Content::CutterOnly => Cow::Borrowed(drawing),
    };
    let drawing = &*whole;
    let around = match content {
        Content::Everything => annotate::surround(drawing),
        Content::CutterOnly => Drawing::default(),
    };
    let mut items = content.items(drawing, &around)?;
    let too_low = |item: &&Item| matches!(&item.shape, Shape::Label(label) if label.cap_mm < letters.min_mm);
    items.retain(|item| item.kind != Kind::Engrave || !too_low(item));
    let mut file = ::dxf::Drawing::new();
    let extent = items.iter().fold(Bounds::EMPTY, |bounds, item| match &item.shape {
        Shape::Path(path) => bounds.union(path.bounds()),
        Shape::Label(label) => bounds.union(Bounds::of(font::corners(label))),
    });
    let sheet = PaperSheet::around(extent);
    set_header(&mut file, system, extent, &sheet);
    let layers = add_layers(&mut file, lines, &items.iter().map(|item| (item.kind, item.is_between_tabs())).collect());
    let mut written = 0;
    for item in items.iter().filter(|item| item.kind != Kind::Tone) {
        let layer = &layers[&(item.kind, item.is_between_tabs())];
        let entities: Vec<EntityType> = match &item.shape {
            Shape::Path(path) => vec![polyline(path, system)],
            Shape::Label(label) if item.kind == Kind::Engrave => {
                strokes::lines(label).iter().map(|path| polyline(path, system)).collect()
            }
            Shape::Label(label) => vec![text(label, system)],
        };
        for specific in entities {
            let mut entity = Entity::new(specific);
            entity.common.layer = layer.clone();
            // By layer: the library's default is an explicit weight of 0.
            entity.common.lineweight_enum_value = -1;
            file.add_entity(entity);
            written += 1;
        }
    }
    let mut raw = Vec::new();
    file.save_binary(&mut raw).map_err(|fault| Unwritable::new(drawing, format!("the DXF library refused it: {fault}")))?;
    let bytes = dxf_repair::repaired(&raw, &sheet.layout(system));
    // The library drops what it thinks does not belong into a release without a word: count what arrived.
    let arrived = dxf_read::read(&bytes).map_err(|fault| Unwritable::new(drawing, fault))?;
    if arrived.entities != written {
        let arrived = arrived.entities;
        return Err(Unwritable::new(drawing, format!("{written} entities went into the DXF file and {arrived} came back")));
    }
    Ok((bytes, arrived.paths))
}

/// The paper that a viewer prints the file on.
struct PaperSheet {
    /// Width and height, mm.
    size_mm: Extent,
    /// What brings the drawing onto it, lower left corner at (0, 0), mm.
    shift_mm: [f64; 2],
}

impl PaperSheet {
    /// Paper around a drawing, in steps of 127 mm: that is 5 in and 360 pt, so that viewers which count paper in whole millimetres
    /// or points print at 1:1. Other steps are off by up to a thousandth.
    fn around(extent: Bounds) -> PaperSheet {
        const STEP_MM: f64 = 5.0 * MM_PER_IN;
        // What most printers cannot reach.
        const ROOM_MM: f64 = 10.0;
        let side = |length: f64| STEP_MM * ((length + 2.0 * ROOM_MM) / STEP_MM).ceil();
        let size_mm = Extent { width: side(extent.width()), height: side(extent.height()) };
        let shift_mm =
            [0.5 * (size_mm.width - extent.width()) - extent.min.x, 0.5 * (size_mm.height - extent.height()) - extent.min.y];
        PaperSheet { size_mm, shift_mm }
    }

    fn layout(&self, system: System) -> dxf_repair::PaperLayout {
        let [low, high] = self.limits(system);
        dxf_repair::PaperLayout { system, size_mm: self.size_mm, limits: [low.x, low.y, high.x, high.y] }
    }

    /// Lower left and upper right corner of the paper where it lies around the drawing, in drawing units.
    fn limits(&self, system: System) -> [::dxf::Point; 2] {
        let [x, y] = self.shift_mm;
        let corner = |x: f64, y: f64| ::dxf::Point::new(length(x, system), length(y, system), 0.0);
        [corner(-x, -y), corner(self.size_mm.width - x, self.size_mm.height - y)]
    }
}

fn set_header(file: &mut ::dxf::Drawing, system: System, extent: Bounds, sheet: &PaperSheet) {
    let corner = |p: Point| ::dxf::Point::new(length(p.x, system), length(p.y, system), 0.0);
    let (low, high) = (corner(extent.min), corner(extent.max));
    let header = &mut file.header;
    header.version = AcadVersion::R2000;
    (header.default_drawing_units, header.drawing_units) = match system {
        System::Inch => (Units::Inches, DrawingUnits::English),
        System::Millimetre => (Units::Millimeters, DrawingUnits::Metric),
    };
    (header.minimum_drawing_extents, header.maximum_drawing_extents) = (low.clone(), high.clone());
    let [around_low, around_high] = sheet.limits(system);
    (header.minimum_drawing_limits, header.maximum_drawing_limits) = (around_low, around_high);
    // The paper itself begins at its corner; the insertion base says where the drawing's origin lies on it, and the scale 1 that
    // it is not to be fitted. The defaults are a sheet of 12 by 9 and no scale.
    let paper = |[x, y]: [f64; 2]| corner(Point::new(x, y));
    let (first, last) = (paper([0.0, 0.0]), paper([sheet.size_mm.width, sheet.size_mm.height]));
    (header.paperspace_minimum_drawing_extents, header.paperspace_maximum_drawing_extents) = (first.clone(), last.clone());
    (header.paperspace_minimum_drawing_limits, header.paperspace_maximum_drawing_limits) = (first, last);
    header.paperspace_insertion_base = paper(sheet.shift_mm);
    header.viewport_view_scale_factor = 1.0;
    (header.fingerprint_guid, header.version_guid) = (uuid::Uuid::nil(), uuid::Uuid::nil());
    let (width, height) = (high.x - low.x, high.y - low.y);
    const SCREEN: f64 = 1.6;
    for port in file.view_ports_mut() {
        // Without this the file opens on an empty square unit.
        port.view_center = ::dxf::Point::new(
            number::rounded(0.5 * (low.x + high.x), number::MM_DECIMALS),
            number::rounded(0.5 * (low.y + high.y), number::MM_DECIMALS),
            0.0,
        );
        port.view_height = number::rounded(1.1 * height.max(width / SCREEN), number::MM_DECIMALS);
        port.view_port_aspect_ratio = SCREEN;
    }
}

/// Adds the layers of these kinds, of the lines between tabs apart, and gives their names as they stand in the file.
fn add_layers(file: &mut ::dxf::Drawing, lines: &LineTable, used: &BTreeSet<(Kind, bool)>) -> BTreeMap<(Kind, bool), String> {
    // Names are equal without regard to case, and kinds may share one: the first spelling and colour hold for all.
    // Layer 0 is in every file.
    let mut spelled = BTreeMap::from([("0".to_owned(), "0".to_owned())]);
    let mut layers = BTreeMap::new();
    for (kind, between) in used.iter().filter(|(kind, _)| *kind != Kind::Tone) {
        let style = lines.style(*kind);
        let name = layer_name(&style.layer) + if *between { Item::BETWEEN_TABS } else { "" };
        let first = spelled.entry(name.to_ascii_uppercase()).or_insert_with(|| {
            let mut layer = Layer { name: name.clone(), ..Layer::default() };
            layer.color = Color::from_index(style.color.max(1));
            file.add_layer(layer);
            name.clone()
        });
        layers.insert((*kind, *between), first.clone());
    }
    layers
}

fn polyline(path: &Path, system: System) -> EntityType {
    let vertex = |v: &Vertex| LwPolylineVertex {
        x: length(v.at.x, system),
        y: length(v.at.y, system),
        bulge: number::rounded(v.bulge, number::BULGE_DECIMALS),
        ..LwPolylineVertex::default()
    };
    let mut line = LwPolyline { vertices: path.vertices.iter().map(vertex).collect(), ..LwPolyline::default() };
    line.set_is_closed(path.closed);
    EntityType::LwPolyline(line)
}

fn text(label: &Label, system: System) -> EntityType {
    let at = ::dxf::Point::new(length(label.at.x, system), length(label.at.y, system), 0.0);
    EntityType::Text(Text {
        location: at.clone(),
        second_alignment_point: at,
        text_height: length(label.cap_mm, system),
        value: strokes::ascii(&label.text),
        rotation: number::rounded(label.angle_rad.to_degrees(), 6),
        horizontal_text_justification: match label.align {
            Align::Left => HorizontalTextJustification::Left,
            Align::Middle => HorizontalTextJustification::Center,
            Align::Right => HorizontalTextJustification::Right,
        },
        ..Text::default()
    })
}

fn length(mm: f64, system: System) -> f64 {
    let decimals = match system {
        System::Millimetre => number::MM_DECIMALS,
        System::Inch => number::INCH_DECIMALS,
    };
    number::rounded(system.length(mm), decimals)
}
