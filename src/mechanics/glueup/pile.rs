//! What lies on the form at a station, stage by stage: loose pieces, pieces already glued, and the glue between them.
//!
//! Everything is asked for by station `s` and the side `inside` from which a corner is seen, so that a jump of stiffness or
//! curvature stays a jump. Depths are those of the finished stack from the bow's back, whatever is glued so far.
//!
//! Three things are settled here:
//!
//! * Strips are glued as wide as the blank, and trimmed to the outline afterwards: loads and the shape bent free belong to the blank.
//! * Glue cures at the form's curvature, free of strain.
//! * A lamination that climbs the riser is bent by the fade as well as by the form. Against the line of the limb its own
//!   straight shape has the curvature `−κ_fade`, and so it is laid in.

use super::super::bow::{Locked, Unstrung};
use super::super::release::{Piece, Ply, glued};
use super::super::section::{Layer, Part, Stack};
use super::hold::Hold;
use crate::numeric::pieces::{self, Pieces};

/// The build as it is glued: which stage each layer comes in, and how the stages so far were held.
#[derive(Debug, Clone)]
pub(super) struct Pile<'a> {
    pub stack: Stack<'a>,
    /// The stage of each lamination and of the riser, counted from 0 in the order of the work.
    pub of_lamination: Vec<usize>,
    pub of_riser: usize,
    /// Width of the strips while they are glued, mm.
    pub blank_mm: f64,
    /// How each stage is held, as far as that is known.
    pub holds: Vec<Hold>,
    /// Share of its curvature that each stage's release leaves, a ratio.
    pub retained: Vec<f64>,
}

/// A piece and what its plies are, in their order.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Bundle {
    pub piece: Piece,
    pub parts: Vec<Part>,
}

impl Bundle {
    pub fn is_glue(&self) -> bool {
        self.parts.iter().all(|part| *part == Part::Glue)
    }

    /// Greatest distance of a face from the bundle's own neutral axis, mm.
    pub fn reach_mm(&self) -> f64 {
        let axis = self.piece.stiffness().axis_mm;
        self.piece.plies.iter().flat_map(|ply| [ply.from_mm, ply.to_mm]).map(|z| (z - axis).abs()).fold(0.0, f64::max)
    }
}

/// Stiffness of what slips, N·mm², and the moment that would hold it straight, N·mm: `Σ EI_j`, `Σ EI_j κ_j`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Slipping {
    pub stiffness_n_mm2: f64,
    pub bent_n_mm: f64,
}

impl Slipping {
    pub fn of(bundles: &[Bundle], counts: impl Fn(&Bundle) -> bool) -> Slipping {
        bundles.iter().filter(|bundle| !bundle.is_glue() && counts(bundle)).fold(Slipping::default(), |sum, bundle| {
            let ei = bundle.piece.stiffness().ei_n_mm2;
            Slipping {
                stiffness_n_mm2: sum.stiffness_n_mm2 + ei,
                bent_n_mm: sum.bent_n_mm + ei * bundle.piece.free_curvature_per_mm,
            }
        })
    }

    /// Curvature at which nothing holds it; straight where there is nothing.
    pub fn free_per_mm(&self) -> f64 {
        if 0.0 < self.stiffness_n_mm2 { self.bent_n_mm / self.stiffness_n_mm2 } else { 0.0 }
    }
}

impl<'a> Pile<'a> {
    /// Loose pieces, glued pieces and wet glue of the stage at place `n`, back to belly.
    pub fn laid(&self, n: usize, inside_mm: f64, s_mm: f64) -> Vec<Bundle> {
        let layers = self.layers(inside_mm, s_mm);
        let fade = self.fade_curvature(inside_mm, s_mm);
        let mut before = if 0 < n { self.glued(n - 1, inside_mm, s_mm) } else { None };
        let mut bundles = Vec::new();
        for (layer, stage) in &layers {
            if *stage < n {
                // The glued piece stands where its first ply is met.
                if let Some(mut bundle) = before.take() {
                    let joins = fade.is_some() && self.of_riser == n && self.climbs(bundle.parts[0]);
                    bundle.piece.free_curvature_per_mm -= fade.filter(|_| joins).unwrap_or(0.0);
                    bundles.push(bundle);
                }
            } else if *stage == n {
                let mut piece = Piece::layer(layer.modulus_mpa, layer.width_mm, layer.back_mm, layer.belly_mm());
                if self.climbs(layer.part) && self.of_riser <= n {
                    piece.free_curvature_per_mm = -fade.unwrap_or(0.0);
                }
                bundles.push(Bundle { piece, parts: vec![layer.part] });
            }
        }
        bundles
    }

    /// The piece that comes off the form after the stage at place `n`; `None` where no layer of it or of a stage before lies.
    pub fn glued(&self, n: usize, inside_mm: f64, s_mm: f64) -> Option<Bundle> {
        let laid = self.laid(n, inside_mm, s_mm);
        let form = self.holds[n].curvature(inside_mm, s_mm, &laid);
        self.set(n, laid, form)
    }

    /// These pieces of the stage at place `n` glued at the form's curvature and released.
    pub fn set(&self, n: usize, mut laid: Vec<Bundle>, form_per_mm: f64) -> Option<Bundle> {
        if laid.is_empty() {
            return None;
        }
        for bundle in laid.iter_mut().filter(|bundle| bundle.is_glue()) {
            bundle.piece.free_curvature_per_mm = form_per_mm;
        }
        let parts = laid.iter().flat_map(|bundle| bundle.parts.iter().copied()).collect();
        let pieces: Vec<Piece> = laid.into_iter().map(|bundle| bundle.piece).collect();
        Some(Bundle { piece: glued(&pieces, form_per_mm, self.retained[n]), parts })
    }

    /// The form's curvature that leaves `wanted_per_mm`: `κ_f = (EI_c κ/φ − Σ EI_j κ_j) / (EI_c − Σ EI_j)`, φ the share retained.
    ///
    /// `None` where gluing adds no stiffness, so that nothing can be kept.
    pub fn form_for(&self, n: usize, laid: &[Bundle], wanted_per_mm: f64) -> Option<f64> {
        let plies: Vec<Ply> = laid.iter().flat_map(|bundle| bundle.piece.plies.iter().copied()).collect();
        if plies.is_empty() {
            return None;
        }
        let whole = Piece { plies, free_curvature_per_mm: 0.0 }.stiffness().ei_n_mm2;
        let slipping = Slipping::of(laid, |_| true);
        let bonded = whole - slipping.stiffness_n_mm2;
        let retained = self.retained[n];
        // Less than a millionth of the section's stiffness comes from bonding: no form could reach anything.
        (1e-6 * whole < bonded).then(|| (whole * wanted_per_mm / retained - slipping.bent_n_mm) / bonded)
    }

    /// All layers of the finished stack at their blank's width, each with the place of its stage.
    fn layers(&self, inside_mm: f64, s_mm: f64) -> Vec<(Layer, usize)> {
        let wider = self.blank_mm / self.stack.outline().width_at(s_mm);
        let layers = self.stack.section(inside_mm, s_mm).layers;
        let stage = |part: Part| match part {
            Part::Lamination(index) => self.of_lamination[index],
            Part::Riser => self.of_riser,
            Part::Glue => 0,
        };
        (0..layers.len())
            .map(|i| {
                // A glue line sets with the later of its neighbours.
                let at = match layers[i].part {
                    Part::Glue => stage(layers[i - 1].part).max(stage(layers[i + 1].part)),
                    part => stage(part),
                };
                (Layer { width_mm: layers[i].width_mm * wider, ..layers[i] }, at)
            })
            .collect()
    }

    /// Curvature of the fade under what climbs it, positive toward the belly, 1/mm; `None` beyond the feather and without a riser.
    pub fn fade_curvature(&self, inside_mm: f64, s_mm: f64) -> Option<f64> {
        let riser = self.stack.build().riser.as_ref().filter(|riser| inside_mm < riser.feather_station_mm())?;
        // A trifle to the side it is seen from, since its curvature jumps at the fade's ends; in proportion, so that it stays smooth between.
        Some(riser.fade_at(s_mm + 1e-9 * (inside_mm - s_mm)).curvature_per_mm)
    }

    /// Whether this part lies on the riser's fades.
    pub fn climbs(&self, part: Part) -> bool {
        match (part, &self.stack.build().riser) {
            (Part::Lamination(index), Some(riser)) => riser.position <= index,
            _ => false,
        }
    }

    /// Stations where something jumps, the holds' own included, in no order, mm.
    pub fn corners(&self) -> Vec<f64> {
        let mut corners = self.stack.corners();
        for hold in &self.holds {
            corners.extend(hold.corners());
        }
        corners
    }
}

/// What comes off a form, over the station: its free curvature, and the strain left in each lamination and in the riser.
///
/// `glued` gives it at a station seen from a side. Both are as close to it as the draw needs: see [`CLOSE_RAD`].
pub(super) fn unstrung(corners: &[f64], nock_mm: f64, glued: impl Fn(f64, f64) -> Option<Bundle>) -> Unstrung {
    // Curvature first, then both faces of each ply.
    let values = |inside: f64, s: f64| {
        glued(inside, s).map_or(vec![0.0], |bundle| {
            let plies = bundle.piece.plies.iter().flat_map(|ply| [ply.strain.at(ply.from_mm), ply.strain.at(ply.to_mm)]);
            std::iter::once(bundle.piece.free_curvature_per_mm).chain(plies).collect()
        })
    };
    let close = |index: usize| if index == 0 { CLOSE_RAD / nock_mm } else { STRAIN_CLOSE };
    let sampled = pieces::sample(0.0, nock_mm, corners, close, values);
    let parts: Vec<Vec<Part>> =
        sampled.iter().map(|stretch| glued(stretch.inside, stretch.inside).map_or(Vec::new(), |bundle| bundle.parts)).collect();
    let mut all: Vec<Part> = parts.iter().flatten().copied().filter(|part| *part != Part::Glue).collect();
    all.sort_unstable();
    all.dedup();
    let locked = all.into_iter().map(|part| {
        let face = |belly: usize| {
            let place = |stretch: usize| parts[stretch].iter().position(|known| *known == part);
            Pieces::of(corners, &sampled, |stretch| Some(1 + 2 * place(stretch)? + belly))
        };
        Locked { part, back: face(0), belly: face(1) }
    });
    Unstrung { locked: locked.collect(), curvature_per_mm: Pieces::of(corners, &sampled, |_| Some(0)) }
}

/// Closeness of the curvature, as an angle over the limb: moves the force by less than 1e-9 of itself, which is what the draw keeps
/// to. More shows there, less only adds pieces near the feather.
pub(super) const CLOSE_RAD: f64 = 1e-9;
/// Closeness of the strains: a ten-millionth of what breaks wood.
const STRAIN_CLOSE: f64 = 1e-9;
