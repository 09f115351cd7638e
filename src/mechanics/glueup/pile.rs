//! What lies on the form at a station, stage by stage: loose pieces, pieces already glued, and the glue between them.
//!
//! Everything is asked for by station `s` and the side `inside` from which a corner is seen, so that a jump of stiffness or
//! curvature stays a jump. Depths are those of the finished stack from the bow's back, whatever is glued so far.
//!
//! Five things are settled here:
//!
//! * Strips are glued as wide as the blank, and trimmed to the outline afterwards: loads and the shape bent free belong to the blank.
//! * A limb that is trapped or crowned is filed so once it is glued: the strain of the wood that goes goes with it, and the curvature moves until
//!   what stays bears no force and no moment, `Δκ = (M − N z̄)/EI` of the shaped section with `N` and `M` those of the strain left. A bow as it comes off
//!   the form, and its loads, belong to the square blank.
//! * A strip that is spliced of two woods is one piece before anything is glued: its two layers in the scarf bend about one axis, and bring no strain.
//! * Glue cures at the form's curvature, free of strain.
//! * A lamination that climbs the riser is bent by the fade as well as by the form. Against the line of the limb its own
//!   straight shape has the curvature `−κ_fade`, and so it is laid in.

use super::super::bow::{Locked, Unstrung};
use super::super::layer_kind::LayerKind;
use super::super::release::{Slipping, Stiffness, StrainLine, locked};
use super::super::section::{Stack, Sums};
use super::hold::Hold;
use crate::numeric::piecewise::{self, Piecewise};
use std::cmp::Ordering;

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

/// A layer of the finished stack at its blank's width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PileLayer {
    pub part: LayerKind,
    pub stage: usize,
    /// Depth of its faces below the finished bow's back, mm.
    pub back_mm: f64,
    pub belly_mm: f64,
    /// E b, N/mm.
    pub modulus_width: f64,
    /// What gluing has left in it so far.
    pub strain: StrainLine,
}

/// Layers that bend as one while the stage at work is wet: a loose one, or all that is glued already.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct WetPiece {
    /// Its layers are those from `first` on up to `last`.
    pub first: usize,
    pub last: usize,
    pub glued: bool,
    pub stiffness: Stiffness,
    /// Greatest distance of a face from its own neutral axis, mm.
    pub reach_mm: f64,
    pub free_per_mm: f64,
}

/// All that lies at one station, seen from one side, glued stage by stage.
#[derive(Debug, Clone)]
pub(super) struct StackColumn<'p> {
    pub pile: &'p Pile<'p>,
    pub inside_mm: f64,
    pub s_mm: f64,
    /// Back to belly, later stages included.
    pub layers: Vec<PileLayer>,
    fade_per_mm: Option<f64>,
    /// The stages before this one are glued.
    pub stage: usize,
    /// Curvature at which what is glued so far stands free, 1/mm; nothing where nothing is.
    pub free_per_mm: f64,
}

impl<'a> Pile<'a> {
    /// What lies at a station while the stage at place `n` is laid up: the stages before it are glued.
    pub fn laid(&self, n: usize, inside_mm: f64, s_mm: f64) -> StackColumn<'_> {
        let mut column = self.column();
        column.lay(n, inside_mm, s_mm);
        column
    }

    /// A column that stands nowhere yet: one for many stations, so that its room is used again.
    pub fn column(&self) -> StackColumn<'_> {
        let layers = Vec::with_capacity(2 * self.of_lamination.len() + 2);
        StackColumn { pile: self, inside_mm: 0.0, s_mm: 0.0, layers, fade_per_mm: None, stage: 0, free_per_mm: 0.0 }
    }

    /// All layers of the finished stack at their blank's width, each with the place of its stage.
    fn fill(&self, layers: &mut Vec<PileLayer>, inside_mm: f64, s_mm: f64) {
        let wider = self.blank_mm / self.stack.outline().width_at(s_mm);
        let mut back_mm = 0.0;
        self.stack.each_layer(inside_mm, s_mm, |part, thickness_mm, modulus_mpa, width_mm| {
            let belly_mm = back_mm + thickness_mm;
            let stage = match part.lamination() {
                Some(index) => self.of_lamination[index],
                None if part.is_block() => self.of_riser,
                None if part == LayerKind::Glue => 0,
                // Glued on the finished limb: none of the pile's.
                None => usize::MAX,
            };
            let modulus_width = modulus_mpa * width_mm * wider;
            layers.push(PileLayer { part, stage, back_mm, belly_mm, modulus_width, strain: StrainLine::default() });
            back_mm = belly_mm;
        });
        // A glue line sets with the later of its neighbours.
        for k in 1..layers.len().max(1) - 1 {
            if layers[k].part == LayerKind::Glue {
                layers[k].stage = layers[k - 1].stage.max(layers[k + 1].stage);
            }
        }
    }

    /// Curvature of the fade under what climbs it, positive toward the belly, 1/mm; `None` beyond the feather and without a riser.
    pub fn fade_curvature(&self, inside_mm: f64, s_mm: f64) -> Option<f64> {
        let riser = self.stack.build().riser.as_ref().filter(|riser| inside_mm < riser.feather_station_mm())?;
        // A trifle to the side it is seen from, since its curvature jumps at the fade's ends; in proportion, so that it stays smooth between.
        Some(riser.fade_at(s_mm + 1e-9 * (inside_mm - s_mm)).curvature_per_mm)
    }

    /// Whether this part lies on the riser's fades.
    pub fn climbs(&self, part: LayerKind) -> bool {
        match (part.lamination(), &self.stack.build().riser) {
            (Some(index), Some(riser)) => riser.position <= index,
            _ => false,
        }
    }

    /// Stations where something jumps, the holds of the first `stages` included, in no order, mm.
    pub fn corners(&self, stages: usize) -> Vec<f64> {
        let mut corners = self.stack.corners();
        for hold in &self.holds[..stages] {
            corners.extend(hold.corners());
        }
        corners
    }
}

impl StackColumn<'_> {
    /// Moves to a station, with the stages before the one at place `n` glued.
    pub fn lay(&mut self, n: usize, inside_mm: f64, s_mm: f64) {
        self.layers.clear();
        self.pile.fill(&mut self.layers, inside_mm, s_mm);
        let fade_per_mm = self.pile.fade_curvature(inside_mm, s_mm);
        *self = StackColumn {
            inside_mm,
            s_mm,
            fade_per_mm,
            stage: 0,
            free_per_mm: 0.0,
            layers: std::mem::take(&mut self.layers),
            ..*self
        };
        while self.stage < n {
            self.glue();
        }
    }

    /// The pieces that slip over each other while the stage at work is wet, back to belly; wet glue is none of them.
    pub fn pieces(&self) -> impl Iterator<Item = WetPiece> + '_ {
        let n = self.stage;
        // The glued piece stands where its first layer is met.
        let before = self.before(n);
        (0..self.layers.len()).filter_map(move |k| {
            let layer = &self.layers[k];
            if layer.stage == n && layer.part != LayerKind::Glue {
                // What was glued up before came with its first layer.
                Some(self.loose(n, k)).filter(|piece| piece.first == k)
            } else {
                before.filter(|before| before.first == k)
            }
        })
    }

    /// First and last layer of what layer `k` came as: that layer, both woods of a strip in its scarf, or all of the riser's block.
    fn came_with(&self, k: usize) -> [usize; 2] {
        let part = self.layers[k].part;
        if part.is_block() {
            let of_block = |layer: &PileLayer| layer.part.is_block();
            let first = self.layers.iter().position(of_block).unwrap_or(k);
            return [first, self.layers.iter().rposition(of_block).unwrap_or(k)];
        }
        let of_strip = |other: &usize| self.layers.get(*other).is_some_and(|other| part.one_strip(other.part));
        [k.checked_sub(1).filter(of_strip).unwrap_or(k), Some(k + 1).filter(of_strip).unwrap_or(k)]
    }

    /// What layer `k` of stage `n` came as, before it is glued.
    fn loose(&self, n: usize, k: usize) -> WetPiece {
        let [first, last] = self.came_with(k);
        let [back, belly] = [&self.layers[first], &self.layers[last]];
        let climbs = self.pile.of_riser <= n && self.pile.climbs(back.part);
        let free_per_mm = if climbs { -self.fade_per_mm.unwrap_or(0.0) } else { 0.0 };
        let (stiffness, reach_mm) = if first == last {
            let thickness = belly.belly_mm - back.back_mm;
            let ei_n_mm2 = back.modulus_width * thickness * thickness * thickness / 12.0;
            (Stiffness { ei_n_mm2, axis_mm: 0.5 * (back.back_mm + belly.belly_mm) }, 0.5 * thickness)
        } else {
            let whole = of_layers(&self.layers[first..=last]);
            (whole, self.reach(first, last, whole.axis_mm))
        };
        WetPiece { first, last, glued: false, stiffness, reach_mm, free_per_mm }
    }

    /// Greatest distance of the outer faces of these layers from a depth, mm.
    fn reach(&self, first: usize, last: usize, axis_mm: f64) -> f64 {
        let faces = [self.layers[first].back_mm, self.layers[last].belly_mm];
        faces.map(|face| (face - axis_mm).abs()).into_iter().fold(0.0, f64::max)
    }

    /// The layers of a piece that bend as it does, each with its greatest distance from the piece's own neutral axis, mm: one for a loose strip of one
    /// wood, for the riser's block and for all that is glued already, both for a strip that is scarfed of two.
    pub fn reaches(&self, piece: &WetPiece) -> Vec<(LayerKind, f64)> {
        let first = self.layers[piece.first].part;
        if first.is_block() {
            return vec![(LayerKind::Riser(0), piece.reach_mm)];
        }
        if piece.glued || piece.first == piece.last {
            return vec![(first, piece.reach_mm)];
        }
        (piece.first..=piece.last).map(|k| (self.layers[k].part, self.reach(k, k, piece.stiffness.axis_mm))).collect()
    }

    /// What the stages before `n` have made, as it lies in that stage.
    fn before(&self, n: usize) -> Option<WetPiece> {
        let glued = |layer: &PileLayer| layer.stage < n;
        let (first, last) = (self.layers.iter().position(glued)?, self.layers.iter().rposition(glued)?);
        let stiffness = self.stiffness(n);
        let joins = self.pile.of_riser == n && self.pile.climbs(self.layers[first].part);
        let free_per_mm = self.free_per_mm - if joins { self.fade_per_mm.unwrap_or(0.0) } else { 0.0 };
        let reach_mm = self.reach(first, last, stiffness.axis_mm);
        Some(WetPiece { first, last, glued: true, stiffness, reach_mm, free_per_mm })
    }

    pub fn slipping(&self) -> Slipping {
        let mut sum = Slipping::default();
        self.pieces().for_each(|piece| sum.add(piece.stiffness.ei_n_mm2, piece.free_per_mm));
        sum
    }

    /// Of all layers together that are glued in the stage at work or before.
    pub fn whole(&self) -> Stiffness {
        self.stiffness(self.stage + 1)
    }

    /// Of all layers before stage `n` as one.
    fn stiffness(&self, n: usize) -> Stiffness {
        of_layers(self.layers.iter().filter(|layer| layer.stage < n))
    }

    /// The curvature that its hold gives the stage at work, 1/mm.
    pub fn held_per_mm(&self) -> f64 {
        self.pile.holds[self.stage].curvature(self.inside_mm, self.s_mm, || self.slipping())
    }

    /// Glues the stage at work as it is held, and takes it off.
    pub fn glue(&mut self) {
        let n = self.stage;
        let slipping = self.slipping();
        self.stage += 1;
        if slipping.stiffness_n_mm2 <= 0.0 {
            return;
        }
        let (whole, before) = (self.stiffness(n + 1), self.before(n));
        let form = self.pile.holds[n].curvature(self.inside_mm, self.s_mm, || slipping);
        let released = slipping.released_per_mm(whole.ei_n_mm2, form);
        let off = released - form;
        // The block was glued up before, with the lines between its layers.
        let of_stage = |layer: &PileLayer| layer.stage == n && layer.part.is_block();
        let block =
            self.layers.iter().position(of_stage).map(|k| self.loose(n, k)).map(|piece| (piece.first..=piece.last, piece));
        for k in 0..self.layers.len() {
            let layer = self.layers[k];
            let (free, axis) = match (layer.stage.cmp(&n), before) {
                (Ordering::Less, Some(before)) => (before.free_per_mm, before.stiffness.axis_mm),
                (Ordering::Equal, _) => match &block {
                    Some((within, piece)) if within.contains(&k) => (piece.free_per_mm, piece.stiffness.axis_mm),
                    // Wet glue cures at the form's curvature, free of strain: it only comes off.
                    _ if layer.part == LayerKind::Glue => (form, 0.0),
                    _ => {
                        let strip = self.loose(n, k);
                        (strip.free_per_mm, strip.stiffness.axis_mm)
                    }
                },
                _ => continue,
            };
            self.layers[k].strain = locked(layer.strain, form - free, axis, off, whole.axis_mm);
        }
        self.free_per_mm = self.pile.retained[n] * released;
    }

    /// Files the glued limb to its shape across.
    fn shape(&mut self) {
        let Some(across) = self.pile.stack.shape(self.inside_mm, self.s_mm) else { return };
        let (mut sums, mut force, mut moment) = (Sums::default(), 0.0, 0.0);
        for layer in self.layers.iter().filter(|layer| layer.stage < self.stage) {
            let [zeroth, first, second] = across.moments(layer.back_mm, layer.belly_mm).map(|part| layer.modulus_width * part);
            force += layer.strain.at_back * zeroth + layer.strain.per_mm * first;
            moment += layer.strain.at_back * first + layer.strain.per_mm * second;
            sums.add_shaped(layer.back_mm, layer.belly_mm, layer.modulus_width, &across);
        }
        let bend = (moment - force * sums.neutral()) / sums.stiffness();
        let stretch = force / sums.stretching();
        for layer in &mut self.layers {
            layer.strain.at_back -= stretch - bend * sums.neutral();
            layer.strain.per_mm -= bend;
        }
        self.free_per_mm += bend;
    }

    /// The layers that are glued so far, and no glue lines.
    pub fn wood(&self) -> impl Iterator<Item = &PileLayer> + '_ {
        self.layers.iter().filter(|layer| layer.stage < self.stage && layer.part != LayerKind::Glue)
    }
}

/// Of these layers as one.
fn of_layers<'l>(layers: impl IntoIterator<Item = &'l PileLayer>) -> Stiffness {
    let mut sums = Sums::default();
    for layer in layers {
        sums.add_between(layer.back_mm, layer.belly_mm, layer.modulus_width);
    }
    Stiffness { ei_n_mm2: sums.stiffness(), axis_mm: sums.neutral() }
}

/// The bow once the stage at place `n`, its last, is off the form and the limbs are filed to their shape, over the station: its free curvature, and
/// the strain left in each lamination and in the riser, as close to it as the draw needs: see [`CLOSE_RAD`].
pub(super) fn unstrung(pile: &Pile<'_>, n: usize) -> Unstrung {
    let nock_mm = pile.stack.outline().nock_mm();
    let corners = pile.corners(n + 1);
    // Curvature first, then both faces of each layer.
    let mut column = pile.column();
    let values = |inside: f64, s: f64, values: &mut Vec<f64>| {
        column.lay(n + 1, inside, s);
        column.shape();
        values.push(column.free_per_mm);
        values.extend(column.wood().flat_map(|layer| [layer.strain.at(layer.back_mm), layer.strain.at(layer.belly_mm)]));
    };
    let close = |index: usize| if index == 0 { CLOSE_RAD / nock_mm } else { STRAIN_CLOSE };
    let sampled = piecewise::sample(0.0, nock_mm, &corners, close, values);
    let parts = |inside: f64| pile.laid(n + 1, inside, inside).wood().map(|layer| layer.part).collect::<Vec<LayerKind>>();
    let parts: Vec<Vec<LayerKind>> = sampled.iter().map(|stretch| parts(stretch.inside)).collect();
    let mut all: Vec<LayerKind> = parts.iter().flatten().copied().collect();
    all.sort_unstable();
    all.dedup();
    let locked = all.into_iter().map(|part| {
        let face = |belly: usize| {
            let place = |stretch: usize| parts[stretch].iter().position(|known| *known == part);
            Piecewise::of(&corners, &sampled, |stretch| Some(1 + 2 * place(stretch)? + belly))
        };
        Locked { part, back: face(0), belly: face(1) }
    });
    Unstrung { locked: locked.collect(), curvature_per_mm: Piecewise::of(&corners, &sampled, |_| Some(0)) }
}

/// Closeness of the curvature, as an angle over the limb: moves the force by less than 1e-9 of itself, which is what the draw keeps
/// to. More shows there, less only adds pieces near the feather.
pub(super) const CLOSE_RAD: f64 = 1e-9;
/// Closeness of the strains: a ten-millionth of what breaks wood.
const STRAIN_CLOSE: f64 = 1e-9;
