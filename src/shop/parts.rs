//! Parts to cut from sheet: their true shape, and the line a cutter's centre must follow so that they come out at it.
//!
//! A cutter takes away a band as wide as its kerf or bit. The path of its centre therefore lies half that width outside a
//! part's edge and half that width inside a hole. A slot narrower than the band would silently disappear from such a path,
//! so every path is checked: where it is not as long as it must be if nothing was lost ([`whole`]), by going back by the same amount, since what
//! does not come back was lost.
//!
//! Source: geometry (the second check is the *closing* of mathematical morphology).

use crate::diag::{Diagnostic, Message, Place, mm};
use crate::drawing::Label;
use crate::geometry::offset::{OffsetFault, outward, whole};
use crate::geometry::{Bounds, Path};

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
    pub purpose: Message,
    /// Of the sheet it is cut from, as measured, mm.
    pub thickness_mm: f64,
    /// May lie across the sheet's grain.
    pub may_turn: bool,
    /// Working edges and slots: no holding tab stands here, and no bit goes in.
    pub no_tabs: Vec<Bounds>,
}

/// The lines that a cutter's centre follows, holes first in the order of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct CutPaths {
    pub holes: Vec<Path>,
    pub edge: Path,
}

impl Part {
    /// A part needed once, without holes, marks and labels, that may lie any way on the sheet.
    pub fn new(name: impl Into<String>, edge: Path, thickness_mm: f64, purpose: impl Into<Message>) -> Part {
        Part {
            name: name.into(),
            count: 1,
            edge,
            holes: Vec::new(),
            marks: Vec::new(),
            labels: Vec::new(),
            purpose: purpose.into(),
            thickness_mm,
            may_turn: true,
            no_tabs: Vec::new(),
        }
    }

    /// Area of the part, holes taken off, mm².
    pub fn area_mm2(&self) -> f64 {
        self.edge.area().abs() - self.holes.iter().map(|hole| hole.area().abs()).sum::<f64>()
    }
}

/// The part's paths for a cutter whose band is `2 × half_kerf_mm` wide: the edge moved outward, holes inward.
///
/// A fault names the part and says which hole, slot or notch the cutter cannot enter.
pub fn compensated(part: &Part, half_kerf_mm: f64) -> Result<CutPaths, Diagnostic> {
    let band = 2.0 * half_kerf_mm;
    let edge = outward(&part.edge, half_kerf_mm).map_err(|fault| unusable(part, "its edge", band, &fault))?;
    if !all_there(&part.edge, half_kerf_mm, &edge) {
        let lost = match outward(&edge, -half_kerf_mm) {
            Ok(back) => back.area() - part.edge.area().abs(),
            Err(fault) => return Err(unusable(part, "its edge", band, &fault)),
        };
        // Every inside corner without relief keeps a fillet of this area; more than all of them is a lost slot.
        let corners = concave_corners(&part.edge) as f64;
        let fillets = corners * (1.0 - std::f64::consts::FRAC_PI_4) * half_kerf_mm * half_kerf_mm;
        if 1.5 * fillets + 1e-6 * part.edge.area().abs() < lost {
            let message = message!(
                "a cutter {} wide cannot enter a slot or notch of `{}`: {} mm² of it would stay",
                mm(band),
                part.name,
                format_args!("{:.1}", lost)
            );
            return Err(
                Diagnostic::fault(cutter(), message).hint("use a smaller bit, or thicker sheet so that its slots are wider")
            );
        }
    }
    let holes = part
        .holes
        .iter()
        .enumerate()
        .map(|(i, hole)| outward(hole, -half_kerf_mm).map_err(|fault| unusable(part, &format!("hole {}", i + 1), band, &fault)))
        .collect::<Result<_, _>>()?;
    Ok(CutPaths { holes, edge })
}

/// Whether all of a path's parallel curve came out: the cutter then enters everything but the inside corners.
fn all_there(path: &Path, distance: f64, curve: &Path) -> bool {
    let [length, area] = whole(path, distance);
    (curve.length() - length).abs() <= 1e-9 * length && (curve.area() - area).abs() <= 1e-9 * area
}

fn cutter() -> Place {
    Place::new("shop.cutter")
}

fn unusable(part: &Part, what: &str, band: f64, fault: &OffsetFault) -> Diagnostic {
    let why = match fault {
        OffsetFault::NotALoop => "is not a closed line".to_owned(),
        OffsetFault::Vanished { .. } => "is narrower than the cut everywhere".to_owned(),
        OffsetFault::Split { pieces } => format!("falls into {pieces} pieces"),
    };
    Diagnostic::fault(cutter(), message!("`{}` cannot be cut with a cut {} wide: {} {}", part.name, mm(band), what, why))
        .hint("use a smaller bit, or thicker sheet so that its slots are wider")
}

/// Corners where the outline turns right while it runs counter-clockwise.
fn concave_corners(path: &Path) -> usize {
    let n = path.vertices.len();
    let sign = path.area().signum();
    (0..n)
        .filter(|&i| {
            let (a, b, c) = (path.vertices[(i + n - 1) % n].at, path.vertices[i].at, path.vertices[(i + 1) % n].at);
            sign * ((b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x)) < 0.0
        })
        .count()
}
