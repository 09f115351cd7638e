//! The drawing itself: paths and labels, each with the kind of line it is drawn in.

use super::kind::Kind;
use crate::geometry::{Path, Placement, Point};

/// A sheet before it is written: everything at true size in mm, y up, anywhere in the plane.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// File stem, such as `sled-core`.
    pub name: String,
    /// Heading, such as `Sled for core`.
    pub title: String,
    /// What made it: program and version, build file, short hash of the input, options that are not the default.
    pub made_by: String,
    /// Lines for the sheet's foot: kerf used, cautions, what to watch.
    pub notes: Vec<String>,
    pub items: Vec<Item>,
    /// Tables, words and views that are not at true size: they may stand anywhere beside the items, whole. Each in a frame of its own.
    pub panels: Vec<Drawing>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    pub kind: Kind,
    /// The part this item belongs to, such as `left rail 2 of 3`; empty for what belongs to the sheet.
    pub part: String,
    pub shape: Shape,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    Path(Path),
    Label(Label),
}

/// The typeface's two faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lettering {
    Regular,
    Bold,
}

impl Lettering {
    pub const ALL: [Lettering; 2] = [Lettering::Regular, Lettering::Bold];
}

/// A single line of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    pub text: String,
    /// On the base line, at the end or middle that `align` names.
    pub at: Point,
    /// Height of a capital letter, mm.
    pub cap_mm: f64,
    /// Counter-clockwise, rad.
    pub angle_rad: f64,
    pub align: Align,
    pub lettering: Lettering,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    Left,
    Middle,
    Right,
}

impl Drawing {
    pub fn new(name: impl Into<String>, title: impl Into<String>) -> Drawing {
        Drawing { name: name.into(), title: title.into(), ..Drawing::default() }
    }

    pub fn path(&mut self, kind: Kind, path: Path) {
        self.part_path(kind, "", path);
    }

    pub fn part_path(&mut self, kind: Kind, part: &str, path: Path) {
        self.items.push(Item { kind, part: part.to_owned(), shape: Shape::Path(path) });
    }

    pub fn line(&mut self, kind: Kind, from: Point, to: Point) {
        self.path(kind, Path::line(from, to));
    }

    pub fn label(&mut self, kind: Kind, label: Label) {
        self.items.push(Item { kind, part: String::new(), shape: Shape::Label(label) });
    }

    /// Adds a panel that `draw` fills, if it draws anything.
    pub fn panel(&mut self, draw: impl FnOnce(&mut Drawing)) {
        let mut panel = Drawing::default();
        draw(&mut panel);
        if !panel.items.is_empty() {
            self.panels.push(panel);
        }
    }

    /// Adds all items of `other`, placed.
    pub fn include(&mut self, other: &Drawing, placement: &Placement) {
        self.items.extend(other.items.iter().map(|item| item.placed(placement)));
    }

    /// Straight marks of [`Kind::Score`] that lie on one another become one: a cutter would go over the line twice.
    pub fn mark_once(&mut self) {
        let mut kept: Vec<usize> = Vec::new();
        let mut gone = vec![false; self.items.len()];
        for index in 0..self.items.len() {
            let Some(mut line) = self.items[index].straight_mark() else { continue };
            // Joined to one, the line may reach over the next: each turn takes a line away.
            while let Some(at) =
                kept.iter().position(|other| self.items[*other].straight_mark().and_then(|other| joined(other, line)).is_some())
            {
                let other = kept.remove(at);
                gone[other] = true;
                line = self.items[other].straight_mark().and_then(|other| joined(other, line)).unwrap_or(line);
            }
            self.items[index].shape = Shape::Path(Path::line(line[0], line[1]));
            kept.push(index);
        }
        let mut gone = gone.into_iter();
        self.items.retain(|_| !gone.next().unwrap_or(false));
    }
}

/// Marks nearer to each other than this are one to the eye and to a cutter, mm: half a laser's spot.
const ON_ONE_LINE_MM: f64 = 0.05;

/// Two stretches of one line as one; `None` where they do not lie on each other. The longer one gives the direction.
fn joined(a: [Point; 2], b: [Point; 2]) -> Option<[Point; 2]> {
    let (long, short) = if a[0].distance(a[1]) < b[0].distance(b[1]) { (b, a) } else { (a, b) };
    let length = long[0].distance(long[1]);
    if length <= ON_ONE_LINE_MM {
        return None;
    }
    let (dx, dy) = ((long[1].x - long[0].x) / length, (long[1].y - long[0].y) / length);
    let [from, to] = short.map(|p| {
        let (x, y) = (p.x - long[0].x, p.y - long[0].y);
        (dx * x + dy * y, dx * y - dy * x)
    });
    let near = from.1.abs().max(to.1.abs()) <= ON_ONE_LINE_MM;
    let (low, high) = (from.0.min(to.0), from.0.max(to.0));
    let shared = high.min(length) - low.max(0.0);
    let at = |along: f64| Point::new(long[0].x + dx * along, long[0].y + dy * along);
    let start = if low < 0.0 { at(low) } else { long[0] };
    let end = if length < high { at(high) } else { long[1] };
    (near && ON_ONE_LINE_MM < shared).then_some([start, end])
}

impl Item {
    /// Open lines of [`Kind::Cut`] are those between holding tabs: they stand on a layer of their own, whose name ends so.
    pub const BETWEEN_TABS: &'static str = "_THROUGH";

    /// Whether this is cut from the depth that leaves the tabs to the full depth.
    pub fn is_between_tabs(&self) -> bool {
        self.kind == Kind::Cut && matches!(&self.shape, Shape::Path(path) if !path.closed)
    }

    /// Ends of a straight line to score.
    fn straight_mark(&self) -> Option<[Point; 2]> {
        let Shape::Path(path) = &self.shape else { return None };
        let [from, to] = path.vertices.as_slice() else { return None };
        (self.kind == Kind::Score && !path.closed && from.bulge.abs() <= 0.0).then_some([from.at, to.at])
    }

    /// The item turned and moved. A mirrored label keeps its reading direction.
    pub fn placed(&self, placement: &Placement) -> Item {
        let shape = match &self.shape {
            Shape::Path(path) => Shape::Path(path.placed(placement)),
            Shape::Label(label) => Shape::Label(Label {
                at: placement.apply(label.at),
                angle_rad: label.angle_rad + placement.angle_rad,
                ..label.clone()
            }),
        };
        Item { kind: self.kind, part: self.part.clone(), shape }
    }
}

impl Label {
    pub fn new(text: impl Into<String>, at: Point, cap_mm: f64) -> Label {
        Label { text: text.into(), at, cap_mm, angle_rad: 0.0, align: Align::Left, lettering: Lettering::Regular }
    }

    pub fn aligned(self, align: Align) -> Label {
        Label { align, ..self }
    }

    pub fn turned(self, angle_rad: f64) -> Label {
        Label { angle_rad, ..self }
    }

    pub fn bold(self) -> Label {
        Label { lettering: Lettering::Bold, ..self }
    }
}
