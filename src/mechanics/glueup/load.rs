//! What it takes to hold the wet pile down: forces along the limb, load at the tips, clamps, bands and glue.
//!
//! The pieces that are bent carry the moment `M = Σ EI_j (κ_f − κ_j)`; the riser is left out, since nobody bends it. Between points of
//! support `M` runs straight, so that the force at each is the kink of the polygon through `M`:
//! `F_i = (M_{i+1} − M_i)/d − (M_i − M_{i−1})/d`, which is `q = d²M/ds²` over a spacing `d`. At the end of the limb forces cannot hold
//! a moment: the last span stays a little flatter, and `M` counts as nothing there.

use super::super::layer_kind::LayerKind;
use super::super::release::Slipping;
use super::hold::Hold;
use super::pile::{Pile, WetPiece};
use super::props::Propped;
use crate::diag::Place;
use crate::model::lamination::Lamination;
use crate::units::System;
use crate::units::limit::Toward;

/// Forces that hold one limb of a stage in shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Square to each tip, at this station, to bring the pile to the rise it is held at: on props the reaction; on a form the pull that
    /// brings the tips down before any clamp is set. `None` where the pile does not reach, or cannot be brought there so.
    pub tip_n: Option<f64>,
    pub tip_at_mm: f64,
    /// At equally spaced stations of a form, toward the belly positive; empty for props.
    pub forces: Vec<Force>,
    pub spacing_mm: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Force {
    pub s_mm: f64,
    pub force_n: f64,
}

/// A load spread along the limb, at a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineLoad {
    pub n_per_mm: f64,
    pub s_mm: f64,
}

impl Load {
    /// The greatest of [`Load::forces`] as a load per length.
    pub fn hardest(&self) -> Option<LineLoad> {
        let hardest = self.forces.iter().max_by(|a, b| a.force_n.abs().total_cmp(&b.force_n.abs()))?;
        Some(LineLoad { n_per_mm: hardest.force_n / self.spacing_mm, s_mm: hardest.s_mm })
    }

    /// The same for wood whose stiffness is multiplied by this.
    pub fn stiffer(&mut self, by: f64) {
        self.tip_n = self.tip_n.map(|tip_n| by * tip_n);
        for force in &mut self.forces {
            force.force_n *= by;
        }
    }

    /// Sum of all forces without regard to their direction, N a limb.
    pub fn sum_n(&self) -> f64 {
        self.forces.iter().map(|force| force.force_n.abs()).sum()
    }
}

/// What a clamp and a band do. Common practice, no source: a shop's own numbers are better.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clamping {
    /// Pressure on the glue lines, MPa. Less leaves thick lines where pieces do not quite fit, more starves epoxy joints.
    pub pressure_mpa: f64,
    /// Of one small clamp, N: hand-tight, well under what it can do.
    pub clamp_n: f64,
    /// Greatest distance between clamps, mm: further apart, and a thin pressure strip lifts between them.
    pub apart_mm: f64,
    /// Tension of one turn of band (a strip of inner tube), N. Every turn presses with twice that.
    pub band_n: f64,
}

impl Clamping {
    /// The usual, at a spacing that reads on the builder's rule.
    pub fn usual(units: System) -> Clamping {
        let apart_mm = units.either_mm(2.0, 50.0);
        Clamping { pressure_mpa: 0.07, clamp_n: 500.0, apart_mm, band_n: 60.0 }
    }
}

/// Clamps or turns of band of a stage: counted once, for every sheet and list.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clamps {
    /// On each limb, as far apart as [`Clamps::apart_mm`], the first and the last half of that from centre and nock.
    pub a_limb: u32,
    /// Limbs that are meant: both, or one whose other limb is a different one.
    pub limbs: u32,
    pub apart_mm: f64,
    /// The count follows from the force, not from the spacing.
    pub by_force: bool,
    /// For all limbs that are meant.
    pub turns_of_band: u32,
    /// Force that presses the blank of all limbs that are meant, N.
    pub force_n: f64,
    /// What they were counted with.
    pub with: Clamping,
}

impl Clamps {
    /// For all limbs that are meant.
    pub fn count(&self) -> u32 {
        self.limbs * self.a_limb
    }

    /// Stations of the clamps on one limb, mm.
    pub fn stations_mm(&self) -> impl Iterator<Item = f64> {
        let apart_mm = self.apart_mm;
        (0..self.a_limb).map(move |k| apart_mm * (f64::from(k) + 0.5))
    }
}

/// Glue of one stage, for both limbs, or for one whose other limb is a different one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GlueNeed {
    /// Greatest number of glue lines at a station.
    pub lines: u32,
    pub area_mm2: f64,
    /// On the wood, kg.
    pub mass_kg: f64,
}

impl Clamping {
    /// For so many limbs of a blank, each `length_mm` long and `width_mm` wide under this load.
    pub fn clamps(self, load: &Load, limbs: u32, length_mm: f64, width_mm: f64) -> Clamps {
        let a_limb_n = self.pressure_mpa * length_mm * width_mm + load.sum_n();
        let force_n = f64::from(limbs) * a_limb_n;
        let (by_spacing, by_force) = (length_mm / self.apart_mm, a_limb_n / self.clamp_n);
        // More than a thousand clamps are a slip of units somewhere.
        let a_limb = Toward::Up.on_grid(by_spacing.max(by_force), 0).clamp(1.0, 1000.0);
        Clamps {
            a_limb: a_limb as u32,
            limbs,
            apart_mm: length_mm / a_limb,
            by_force: by_spacing < by_force,
            turns_of_band: Toward::Up.on_grid(force_n / (2.0 * self.band_n), 0) as u32,
            force_n,
            with: self,
        }
    }
}

/// Distance between the points of support that forces are stated for, mm (about two inches, as clamps stand). Closer, and the
/// kinks of the drawn curve show as peaks that no clamp feels; wider, and the fade is lost between two of them.
const SPACING_MM: f64 = 50.0;
/// Places over which the moment around a point of support is averaged: a clamp's pad and the pressure strip spread its push.
const SPREAD_OVER: u32 = 8;

/// What holds the stage at place `n` down; its tip stands at `tip_mm` while it is held.
pub(super) fn load(pile: &Pile<'_>, n: usize, tip_mm: f64, place: &Place) -> Load {
    let nock = pile.stack.outline().nock_mm();
    match &pile.holds[n] {
        Hold::Props { at_mm, load_n, .. } => {
            Load { tip_n: Some(*load_n), tip_at_mm: *at_mm, forces: Vec::new(), spacing_mm: SPACING_MM }
        }
        hold => {
            let mut column = pile.column();
            let mut moment = |s: f64| {
                column.lay(n, s, s);
                let mut bent = Slipping::default();
                for piece in column.pieces().filter(|piece| piece.glued || !column.layers[piece.first].part.is_block()) {
                    bent.add(piece.stiffness.ei_n_mm2, piece.free_per_mm);
                }
                bent.moment_n_mm(hold.curvature(s, s, || column.slipping()))
            };
            let count = (nock / SPACING_MM).floor().clamp(1.0, 1000.0) as u32;
            let d = nock / f64::from(count);
            let at: Vec<f64> = (0..=count).map(|k| d * f64::from(k)).collect();
            let mut around = |s: f64| {
                let places = (0..SPREAD_OVER).map(|k| s + d * ((f64::from(k) + 0.5) / f64::from(SPREAD_OVER) - 0.5));
                places.map(|s| moment(s.abs().clamp(1e-3, nock - 1e-3))).sum::<f64>() / f64::from(SPREAD_OVER)
            };
            let mut m: Vec<f64> = at.iter().map(|s| around(*s)).collect();
            m[count as usize] = 0.0;
            // A riser that is glued already is stiff beyond all clamps: it lies on the form or stands off it, and is not pressed down.
            let stiff = pile.stack.build().riser.as_ref().filter(|_| pile.of_riser < n);
            let from = stiff.map_or(0.0, |riser| riser.feather_station_mm());
            let forces = (0..=count as usize)
                .filter(|i| from <= at[*i])
                .map(|i| {
                    let outward = if i < count as usize { (m[i + 1] - m[i]) / d } else { 0.0 };
                    // The other limb mirrors this one at the centre, which takes half of what is there.
                    let inward = if 0 < i { (m[i] - m[i - 1]) / d } else { 0.0 };
                    Force { s_mm: at[i], force_n: outward - inward }
                })
                .collect();
            let tip_n = match Propped::of(pile, n, nock, place).and_then(|propped| propped.raised(tip_mm, place)) {
                Ok(Hold::Props { load_n, .. }) => Some(load_n),
                _ => None,
            };
            Load { tip_n, tip_at_mm: nock, forces, spacing_mm: d }
        }
    }
}

/// Area of all glue lines of the stage on all limbs that the build describes, as wide as the narrower neighbour's strip.
pub(super) fn glue(pile: &Pile<'_>, n: usize, mesh: &[f64]) -> GlueNeed {
    let build = pile.stack.build();
    let width = |part: LayerKind| match part.lamination() {
        Some(index) => build.laminations[index].stock.width_mm,
        None if part.is_block() => build.riser.as_ref().map_or(0.0, |riser| riser.width_mm(build.glue.line_mm)),
        None => f64::INFINITY,
    };
    let (mut lines, mut area) = (0, 0.0);
    let mut column = pile.column();
    for pair in mesh.windows(2) {
        let middle = 0.5 * (pair[0] + pair[1]);
        column.lay(n, middle, middle);
        let wood: Vec<WetPiece> = column.pieces().collect();
        for two in wood.windows(2) {
            let [upper, lower] = [two[0].last, two[1].first].map(|layer| width(column.layers[layer].part));
            area += f64::from(build.limbs()) * (pair[1] - pair[0]) * upper.min(lower);
        }
        lines = lines.max(wood.len().saturating_sub(1));
    }
    // Strips run on beyond the nock.
    let end = build.laminations.iter().map(|lamination: &Lamination| lamination.to_mm).fold(0.0, f64::max);
    let beyond = (end / mesh[mesh.len() - 1]).max(1.0);
    let area_mm2 = area * beyond;
    GlueNeed { lines: lines as u32, area_mm2, mass_kg: 1e-6 * area_mm2 * build.glue.spread_kg_m2 }
}
