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

    /// What it means, for who sets up a cutter.
    pub fn what(self) -> &'static str {
        match self {
            Kind::Cut => "cut through, around a part",
            Kind::CutInside => "cut through, holes and slots",
            Kind::Score => "mark only: lines on a part",
            Kind::Engrave => "mark only: letters on a part",
            Kind::Edge => "to look at: what is shown, not cut",
            Kind::Hidden => "to look at: behind the face",
            Kind::Centre => "to look at: lines of symmetry",
            Kind::Dimension => "to look at: sizes and stations",
            Kind::Note => "to look at: titles, notes, the bed's edge",
            Kind::ScaleCheck => "to look at: the scale check",
            Kind::Tone => "to look at: areas, in no DXF file",
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
    /// A colour for every kind, so that a cutter's program that sorts by colour can leave out what is only read.
    ///
    /// The ten colours of lines were computed: of the colours that a DXF index can name and that stand out on white paper by 3:1
    /// (WCAG 2.1, 1.4.11), the ten whose least difference is greatest, seen with all cones and without one kind of them, and that
    /// are at least 4 apart in lightness (CIE L*), so that a grey print keeps them apart. Full red, green, blue and their mixtures, on
    /// which cutters' programs put meanings of their own, were left out. The darkest go to what is read, those farthest apart to
    /// what is cut. `tests/line_colours.rs` computes the differences anew. Line forms after ISO 128-2 (continuous, dashed,
    /// long-dashed dotted).
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
            let (color, rgb) = match kind {
                Kind::Cut => (152, [0, 82, 165]),
                Kind::CutInside => (56, [76, 76, 0]),
                Kind::Score => (132, [0, 165, 165]),
                Kind::Engrave => (190, [127, 0, 255]),
                Kind::Edge => (182, [41, 0, 165]),
                Kind::Hidden => (64, [95, 127, 0]),
                Kind::Centre => (33, [165, 124, 82]),
                Kind::Dimension => (216, [76, 0, 76]),
                Kind::Note => (48, [38, 28, 0]),
                Kind::ScaleCheck => (234, [127, 0, 63]),
                // Areas are not written to DXF files.
                Kind::Tone => (254, [0xE9, 0xE4, 0xDA]),
            };
            LineStyle { layer: kind.key().to_uppercase(), color, rgb, weight_mm, dashes: dashes.to_vec() }
        };
        LineTable { styles: Kind::ALL.iter().map(|kind| style(*kind)).collect() }
    }
}
