//! What are the layers of a section called, and what are they made of?

use crate::model::Build;
use crate::model::lamination::LaidPiece;
use crate::model::wood::Wood;
use std::cmp::Ordering;

/// What a layer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LayerKind {
    /// Index into [`Build::laminations`]; of one that is spliced of two woods the inner piece.
    Lamination(usize),
    /// The piece beyond the splice of a lamination of two woods.
    Outer(usize),
    /// The end of the other half, where the halves of a lamination lap.
    OtherHalf(usize),
    /// A board of the riser's block, counted from its flat face; a block of slices is one.
    Riser(usize),
    /// The riser's footing where it fills the whole width.
    Footing,
    Glue,
    /// Index into [`Build::overlays`].
    Overlay(usize),
    RiserOverlay,
}

/// Laminations back to belly, each with all its pieces; then everything else.
impl Ord for LayerKind {
    fn cmp(&self, other: &LayerKind) -> Ordering {
        let place = |part: &LayerKind| match *part {
            LayerKind::Lamination(index) => (index, 0, 0),
            LayerKind::Outer(index) => (index, 1, 0),
            LayerKind::OtherHalf(index) => (index, 2, 0),
            LayerKind::Riser(index) => (usize::MAX, 0, index),
            LayerKind::Footing => (usize::MAX, 1, 0),
            LayerKind::Glue => (usize::MAX, 2, 0),
            LayerKind::Overlay(index) => (usize::MAX, 3, index),
            LayerKind::RiserOverlay => (usize::MAX, 4, 0),
        };
        place(self).cmp(&place(other))
    }
}

impl PartialOrd for LayerKind {
    fn partial_cmp(&self, other: &LayerKind) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl LayerKind {
    pub(super) fn laid(index: usize, piece: LaidPiece) -> LayerKind {
        match piece {
            LaidPiece::Own => LayerKind::Lamination(index),
            LaidPiece::Outer => LayerKind::Outer(index),
            LaidPiece::OtherHalf => LayerKind::OtherHalf(index),
        }
    }

    /// The lamination that it is of, an index.
    pub fn lamination(self) -> Option<usize> {
        match self {
            LayerKind::Lamination(index) | LayerKind::Outer(index) | LayerKind::OtherHalf(index) => Some(index),
            _ => None,
        }
    }

    /// It is of the riser's block, which is glued up before anything else.
    pub fn is_block(self) -> bool {
        matches!(self, LayerKind::Riser(_) | LayerKind::Footing)
    }

    /// Both are pieces of one strip, glued up before it is ground: they never slip over each other.
    pub fn one_strip(self, other: LayerKind) -> bool {
        matches!((self, other), (LayerKind::Lamination(a), LayerKind::Outer(b)) | (LayerKind::Outer(b), LayerKind::Lamination(a)) if a == b)
    }

    /// What it is made of; `None` for glue, and for a riser of slices, which may be of many woods.
    pub fn wood(self, build: &Build) -> Option<&Wood> {
        match self {
            LayerKind::Lamination(index) | LayerKind::OtherHalf(index) => Some(&build.laminations[index].wood),
            LayerKind::Outer(index) => build.laminations[index].outer().map(|outer| &outer.wood),
            LayerKind::Overlay(index) => Some(&build.overlays[index].wood),
            LayerKind::Riser(index) => build.riser.as_ref()?.layers.get(index).map(|layer| &layer.wood),
            LayerKind::Footing => build.riser.as_ref()?.footing.as_ref().map(|footing| &footing.wood),
            LayerKind::RiserOverlay => build.riser.as_ref()?.overlay.as_ref().map(|overlay| &overlay.wood),
            LayerKind::Glue => None,
        }
    }

    /// What a builder calls it.
    pub fn name(self, build: &Build) -> String {
        match self {
            LayerKind::Lamination(index) => build.laminations[index].name.clone(),
            LayerKind::Outer(index) => format!("{}, outer piece", build.laminations[index].name),
            LayerKind::OtherHalf(index) => format!("{}, other half", build.laminations[index].name),
            LayerKind::Riser(index) => match &build.riser {
                Some(riser) if riser.is_layered() => format!("riser layer {}", index + 1),
                _ => "riser".into(),
            },
            LayerKind::Footing => "riser footing".into(),
            LayerKind::RiserOverlay => "riser overlay".into(),
            LayerKind::Overlay(index) => build.overlays[index].name(),
            LayerKind::Glue => "glue".into(),
        }
    }
}
