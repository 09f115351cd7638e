//! How the two halves of a lamination meet at the grip: butted, scarfed into each other, or lapped.
//!
//! ```text
//!   scarf  ───────────────╱───────────     each reaches past the centre by half the length; together one strip thick
//!          ────────────╱──────────────
//!                      │ centre
//!   lap    ══════════════════╗             one lies on the other, each at its full thickness
//!                    ╚══════════════       the riser's face has a rebate for the second one and the line between them
//! ```
//!
//! Both halves are ground alike: the strip's taper runs on past the centre. Two straight tapers face to face are as thick together all along the lap.
//! The planes of a scarf leave the strip level through it, thinner at the centre by what it tapers over half the length; it counts as its taper says.
//! Of two different limbs the other half's end counts as this one's own taper run on: they differ by hundredths of a millimetre under the full depth.
//! Only a riser can take up the step of a lap: no strip lies down over it.

use super::build::Build;
use super::join::Meet;
use super::lamination::{Face, Lamination, Pieces};

impl Lamination {
    /// How far one strip of it reaches past the bow's centre, overrun left out, mm.
    pub fn reach_mm(&self) -> f64 {
        if self.pieces == Pieces::Halves { self.meet.reach_mm() } else { 0.0 }
    }

    /// Station of the butt end of a half, overrun left out: less than nothing where halves overlap, mm.
    pub fn butt_mm(&self) -> f64 {
        self.from_mm - self.reach_mm()
    }

    /// Places from its butt end and stations look alike but are not, so that a reading has to say which it has.
    pub fn must_say_count(&self) -> bool {
        self.pieces == Pieces::Halves && 0.0 < self.butt_mm().abs()
    }

    /// The slope of the scarf that its halves meet in, along the wood for 1 through it.
    pub fn meet_slope(&self) -> Option<f64> {
        match self.meet {
            Meet::Scarfed { length_mm } => Some(length_mm / self.finished.at(0.0)),
            Meet::Butted | Meet::Lapped { .. } => None,
        }
    }

    /// Thickness of the other half's end that lies on this one at station `s`, seen from `inside_mm`; `None` where there is none.
    pub fn lapped_mm(&self, inside_mm: f64, s: f64) -> Option<f64> {
        match self.meet {
            Meet::Lapped { length_mm } if inside_mm < 0.5 * length_mm => Some(self.finished.at(-s)),
            _ => None,
        }
    }
}

/// A step in a face of the riser, across its whole width, that takes up a lap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rebate {
    /// The lapped lamination, an index.
    pub lamination: usize,
    /// The riser's face that it is cut in.
    pub face: Face,
    /// Along the bow, half of it on each side of the centre, mm.
    pub length_mm: f64,
    /// At the bow's centre, the glue line included, mm.
    pub depth_mm: f64,
}

impl Build {
    /// What laps take of the riser's faces.
    pub fn rebates(&self) -> impl Iterator<Item = Rebate> {
        let rebate = |(lamination, of): (usize, &Lamination)| {
            let Meet::Lapped { length_mm } = of.meet else { return None };
            let face = self.lap_face(lamination)?;
            Some(Rebate { lamination, face, length_mm, depth_mm: of.finished.at(0.0) + self.glue.line_mm })
        };
        self.laminations.iter().enumerate().filter_map(rebate)
    }

    /// The riser's face that this lamination lies against; `None` where it lies against none.
    pub fn lap_face(&self, lamination: usize) -> Option<Face> {
        let position = self.riser.as_ref()?.position.min(self.laminations.len());
        if lamination + 1 == position {
            Some(Face::Back)
        } else if lamination == position {
            Some(Face::Belly)
        } else {
            None
        }
    }

    /// What laps take of the riser's depth at station `s`, seen from `inside_mm`: from its flat face and from the one that strips climb, mm.
    pub fn rebated_mm(&self, inside_mm: f64, s: f64) -> [f64; 2] {
        let Some(riser) = &self.riser else { return [0.0, 0.0] };
        let lap =
            |index: usize| self.laminations.get(index)?.lapped_mm(inside_mm, s).map(|thickness| thickness + self.glue.line_mm);
        [riser.position.checked_sub(1).and_then(lap).unwrap_or(0.0), lap(riser.position).unwrap_or(0.0)]
    }
}
