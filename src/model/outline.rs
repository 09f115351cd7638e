//! The bow seen from the back: width along the limb, tips and nocks; and how the limb is shaped across.
//!
//! The outline is that of the widest face. Trapping narrows the other one from there, a crown lowers the belly's edges; see
//! [`crate::mechanics::across`] for the section that comes of it.

use super::lamination::Face;
use crate::numeric::interp::Curve;

/// Half the bow is described; the other half mirrors it.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Along the back, unstrung, mm.
    pub nock_to_nock_mm: f64,
    /// Full width in mm over the station in mm.
    pub width: Curve,
    /// Wood beyond the nock, mm.
    pub tip_beyond_nock_mm: f64,
    pub nock: Nock,
    pub shape: LimbShape,
}

/// What leaves the limb's sides and belly other than square. Lists of stations are held beyond their ends.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LimbShape {
    pub trapped: Option<Trapped>,
    /// How much higher the belly stands in its middle than at its edges, mm.
    pub crown_mm: Option<Curve>,
}

/// One face is narrower than the other, which is as wide as the outline; straight from edge to edge.
#[derive(Debug, Clone, PartialEq)]
pub struct Trapped {
    /// The narrower one.
    pub face: Face,
    pub width: NarrowFace,
}

/// How wide a narrower face is.
#[derive(Debug, Clone, PartialEq)]
pub enum NarrowFace {
    /// Less than the outline by so much, both sides together, mm.
    By(Curve),
    /// This part of the outline's width, a ratio.
    To(Curve),
}

impl NarrowFace {
    pub fn curve(&self) -> &Curve {
        match self {
            NarrowFace::By(curve) | NarrowFace::To(curve) => curve,
        }
    }

    pub fn curve_mut(&mut self) -> &mut Curve {
        match self {
            NarrowFace::By(curve) | NarrowFace::To(curve) => curve,
        }
    }

    /// Width of the face at station `s` of a limb that is `full_mm` wide there, mm.
    pub fn at(&self, s: f64, full_mm: f64) -> f64 {
        let narrow_mm = match self {
            NarrowFace::By(by) => full_mm - held(by, s),
            NarrowFace::To(to) => full_mm * held(to, s),
        };
        narrow_mm.clamp(0.0, full_mm)
    }
}

impl LimbShape {
    /// Sides and belly are square to the back.
    pub fn is_square(&self) -> bool {
        self.trapped.is_none() && self.crown_mm.is_none()
    }

    /// What is stated over the station.
    pub fn curves(&self) -> impl Iterator<Item = &Curve> {
        self.trapped.iter().map(|trapped| trapped.width.curve()).chain(&self.crown_mm)
    }

    pub fn curves_mut(&mut self) -> impl Iterator<Item = &mut Curve> {
        self.trapped.iter_mut().map(|trapped| trapped.width.curve_mut()).chain(&mut self.crown_mm)
    }
}

fn held(curve: &Curve, s: f64) -> f64 {
    let points = curve.points();
    curve.at(s.clamp(points[0].0, points[points.len() - 1].0))
}

/// String grooves filed in the limb's edges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nock {
    /// Depth of the groove square to the edge, mm.
    pub depth_mm: f64,
    /// Slant of the groove against the line across the limb, falling toward the belly and the grip, rad.
    pub angle_rad: f64,
}

impl Outline {
    /// Station of the nock, mm.
    pub fn nock_mm(&self) -> f64 {
        0.5 * self.nock_to_nock_mm
    }

    /// Station of the end of the wood, mm.
    pub fn end_mm(&self) -> f64 {
        self.nock_mm() + self.tip_beyond_nock_mm
    }

    /// From and to of the string's groove where it is filed through this much wood, mm: it begins at the nock's station on the face that is seen
    /// from the back.
    pub fn groove_mm(&self, deep_mm: f64) -> [f64; 2] {
        [self.nock_mm() - deep_mm * self.nock.angle_rad.tan(), self.nock_mm()]
    }

    /// Full width at station `s`, mm.
    pub fn width_at(&self, s: f64) -> f64 {
        self.width.at(s.abs())
    }

    /// Widths of the back and of the belly, at its edges, at station `s`, mm.
    pub fn faces_at(&self, s: f64) -> [f64; 2] {
        let full = self.width_at(s);
        match &self.shape.trapped {
            Some(Trapped { face: Face::Back, width }) => [width.at(s.abs(), full), full],
            Some(Trapped { face: Face::Belly, width }) => [full, width.at(s.abs(), full)],
            None => [full; 2],
        }
    }

    /// How much higher the belly stands in its middle than at its edges at station `s`, mm.
    pub fn crown_at(&self, s: f64) -> f64 {
        self.shape.crown_mm.as_ref().map_or(0.0, |crown| held(crown, s.abs()))
    }
}
