//! What a line means, and the one table that gives each meaning its layer, colour and weight.

/// The meaning of a line. Cutters act on the first four; the rest is for the eye.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Cut through along the outside of a part.
    Cut,
    /// Cut through a hole or slot, before the part comes loose.
    CutInside,
    /// Mark the surface along the line: bend, joint and station lines on a part.
    Score,
    /// Part names, counts and arrows burned or drawn on a part.
    Engrave,
    /// Edge of a thing that is shown, not cut.
    Edge,
    /// An edge behind the visible face, dashed.
    Hidden,
    /// Line of symmetry, long and short dashes.
    Centre,
    /// Dimension, leader and station lines with their figures.
    Dimension,
    /// Titles and notes.
    Note,
    /// The two-way scale check and the marks that join tiles.
    ScaleCheck,
    /// An area shown in a light tone: wood in a section.
    Tone,
}

impl Kind {
    pub const ALL: [Kind; 11] = [
        Kind::Cut,
        Kind::CutInside,
        Kind::Score,
        Kind::Engrave,
        Kind::Edge,
        Kind::Hidden,
        Kind::Centre,
        Kind::Dimension,
        Kind::Note,
        Kind::ScaleCheck,
        Kind::Tone,
    ];

    /// The key under `[shop.lines]`.
    pub fn key(self) -> &'static str {
        match self {
            Kind::Cut => "cut",
            Kind::CutInside => "cut_inside",
            Kind::Score => "score",
            Kind::Engrave => "engrave",
            Kind::Edge => "edge",
            Kind::Hidden => "hidden",
            Kind::Centre => "centre",
            Kind::Dimension => "dimension",
            Kind::Note => "note",
            Kind::ScaleCheck => "scale_check",
            Kind::Tone => "tone",
        }
    }

    /// Whether a cutter is meant to follow this line.
    pub fn is_for_cutter(self) -> bool {
        matches!(self, Kind::Cut | Kind::CutInside | Kind::Score | Kind::Engrave)
    }
}

/// How one kind of line is written.
#[derive(Debug, Clone, PartialEq)]
pub struct LineStyle {
    /// DXF layer and SVG group.
    pub layer: String,
    /// DXF colour index, 1 to 255; 7 is black on white.
    pub color: u8,
    /// Red, green, blue on screen and paper.
    pub rgb: [u8; 3],
    /// On paper, mm.
    pub weight_mm: f64,
    /// Dash and gap lengths, mm; empty for a continuous line.
    pub dashes: Vec<f64>,
}

/// A style for every kind.
#[derive(Debug, Clone, PartialEq)]
pub struct LineTable {
    styles: Vec<LineStyle>,
}

impl LineTable {
    pub fn style(&self, kind: Kind) -> &LineStyle {
        &self.styles[Kind::ALL.iter().position(|k| *k == kind).expect("every kind is listed in Kind::ALL")]
    }

    pub fn style_mut(&mut self, kind: Kind) -> &mut LineStyle {
        &mut self.styles[Kind::ALL.iter().position(|k| *k == kind).expect("every kind is listed in Kind::ALL")]
    }
}

impl Default for LineTable {
    /// Plain: black ink of several weights, layers told apart by name. Line forms after ISO 128-2 (continuous, dashed,
    /// long-dashed dotted); colour habits of cutters differ, so none is assumed.
    fn default() -> Self {
        let style = |kind: Kind| {
            let (weight_mm, dashes): (f64, &[f64]) = match kind {
                Kind::Cut | Kind::CutInside => (0.25, &[]),
                Kind::Score | Kind::Engrave => (0.18, &[]),
                Kind::Edge => (0.35, &[]),
                Kind::Hidden => (0.18, &[2.4, 1.2]),
                Kind::Centre => (0.13, &[8.0, 1.2, 0.8, 1.2]),
                Kind::Dimension | Kind::Note => (0.13, &[]),
                Kind::ScaleCheck => (0.18, &[]),
                Kind::Tone => (0.0, &[]),
            };
            let rgb = match kind {
                Kind::Tone => [0xE9, 0xE4, 0xDA],
                Kind::Dimension | Kind::Centre => [0x40, 0x40, 0x40],
                _ => [0, 0, 0],
            };
            LineStyle { layer: kind.key().to_uppercase(), color: 7, rgb, weight_mm, dashes: dashes.to_vec() }
        };
        LineTable { styles: Kind::ALL.iter().map(|kind| style(*kind)).collect() }
    }
}
