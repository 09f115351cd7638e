//! Tip overlays: pieces glued on at the tips in the bow's last stage, as the limb lies.

use super::lamination::Face;
use super::outline::Outline;
use super::wood::Wood;

/// An overlay on one face of both tips. It reaches from the end of the wood toward the grip and thins to nothing there.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlay {
    pub face: Face,
    pub wood: Wood,
    /// Where it is full, mm.
    pub thickness_mm: f64,
    /// From the end of the wood toward the grip, mm.
    pub length_mm: f64,
    /// Over which it thins to nothing at its grip end, part of the length, mm.
    pub fade_mm: f64,
}

impl Overlay {
    /// Where it begins, in the bow whose wood ends at `end_mm`, mm.
    pub fn start_mm(&self, end_mm: f64) -> f64 {
        end_mm - self.length_mm
    }

    /// Its thickness at station `s`, seen from the side of its tip at its own start, mm; `None` on the grip's side of it.
    pub fn thickness_at(&self, end_mm: f64, s: f64) -> Option<f64> {
        let along = s - self.start_mm(end_mm);
        let part = if self.fade_mm <= 0.0 { 1.0 } else { (along / self.fade_mm).clamp(0.0, 1.0) };
        (0.0 <= along).then_some(part * self.thickness_mm)
    }

    /// The same with the glue line under it; nothing where it does not lie, mm.
    pub fn depth_mm(&self, end_mm: f64, s: f64, glue_line_mm: f64) -> f64 {
        self.thickness_at(end_mm, s).map_or(0.0, |thickness_mm| thickness_mm + glue_line_mm)
    }

    /// Its face of the limb where that is widest under it, mm.
    pub fn widest_mm(&self, outline: &Outline) -> f64 {
        let (start, end) = (self.start_mm(outline.end_mm()), outline.end_mm());
        let stated = outline.width.points().iter().map(|point| point.0).filter(|s| start < *s && *s < end);
        let face = |s: f64| outline.faces_at(s)[usize::from(self.face == Face::Belly)];
        stated.chain([end]).map(face).fold(face(start), f64::max)
    }

    /// Stations where its thickness turns, mm.
    pub fn corners(&self, end_mm: f64) -> [f64; 2] {
        [self.start_mm(end_mm), self.start_mm(end_mm) + self.fade_mm]
    }

    /// As builders call it, such as `tip overlay, back`.
    pub fn name(&self) -> String {
        format!("tip overlay, {}", self.face.word())
    }
}
