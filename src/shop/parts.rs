//! Parts to cut from sheet, and how they lie on it.

use crate::drawing::Label;
use crate::geometry::{Path, Placement};

/// One part, at its true size before any allowance for the cut, in its own frame in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Unique in its kit, such as `left rail 2 of 3`.
    pub name: String,
    /// How many alike are needed.
    pub count: u32,
    /// Counter-clockwise.
    pub edge: Path,
    /// Holes and slots closed in themselves.
    pub holes: Vec<Path>,
    /// Lines to mark on the face.
    pub marks: Vec<Path>,
    pub labels: Vec<Label>,
    /// What it is for, one line for the parts list.
    pub purpose: String,
}

/// Where one copy of a part lies on the sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Index of the part in its kit.
    pub part: usize,
    /// From 1.
    pub copy: u32,
    pub placement: Placement,
}

/// What is cut from one sheet (or one bed-full of it): `0 ≤ x ≤ width`, `0 ≤ y ≤ height`.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    pub width_mm: f64,
    pub height_mm: f64,
    pub placed: Vec<Placed>,
}
