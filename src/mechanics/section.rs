//! How stiff is the bow at a station, and how much does each layer stretch there?
//!
//! The layers that are present at the station, riser wedge and glue lines included, act as one section (transformed section):
//!
//! ```text
//!   back  z = 0 ┬──────────────┐            n_i = E_i b_i
//!               │ lamination   │            z̄  = Σ n_i t_i z_i / Σ n_i t_i
//!               ├──────────────┤ glue       EI = Σ n_i (t_i³/12 + t_i (z_i − z̄)²)
//!               │ riser wedge  │            ε(z) = −Δκ (z − z̄)
//!               ├──────────────┤ glue
//!               │ lamination   │
//!   belly     z ┴──────────────┘
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `z` | depth from the back face, positive toward the belly | mm |
//! | `E_i`, `b_i`, `t_i`, `z_i` | modulus, width, thickness and depth of the middle of layer `i` | MPa, mm, mm, mm |
//! | `z̄`, `EI` | depth of the neutral axis, bending stiffness | mm, N·mm² |
//! | `Δκ` | curvature against the unstrung bow, positive toward the belly | 1/mm |
//! | `ε` | strain, positive for stretch: on the back of a drawn bow | – |
//!
//! Where the limb is trapped or its belly crowned, the width changes over the depth of a layer: `b_i t_i`, `b_i t_i z_i` and
//! `b_i t_i (t_i²/12 + z_i²)` then are the moments `∫ b zᵏ dz` of [`super::across`], and `z` runs to the crown's top.
//!
//! Tip overlays are glued on the finished limb, square and without strain: one on the back lies at `z < 0`, so that depths stay those of the limb.
//!
//! Source: composite beams by the transformed section, any text on strength of materials (for instance S. Timoshenko, Strength of
//! Materials, part I, "beams of two materials"; from memory).
//!
//! A lamination that is spliced of two woods is two layers within its scarf, each with its share of the thickness (`model::splice`), and no glue line
//! between them: the scarf's own is a part in a hundred of the strip, and lies slantwise. Where halves lap, the riser is thinner by the strip and
//! the line that lie in its rebate (`model::meet`).
//! A riser glued up of boards over its depth is a layer for each board that the fade has left at the station, with the glue lines between them; a
//! footing's V counts by the part of the width that it has there. The riser's overlay is glued on the finished belly and bears nothing before the draw.
//!
//! What is assumed: plane sections; layers square to the back (the slope of a lamination on a fade is left out, 2 percent in
//! its thickness at 11 degrees); the riser is stiffened along its whole depth right from the feather, and its slices across the
//! width count with their mean modulus. Where the working limb starts is therefore not a choice: every section is
//! integrated from the nock to the bow's centre, and the full depth of the riser hardly bends.

use super::across::SectionShape;
use super::layer_kind::LayerKind;
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::model::lamination::Face;
use crate::model::outline::Outline;

/// One layer of a section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    pub part: LayerKind,
    /// Depth of its back face below the bow's back, mm.
    pub back_mm: f64,
    pub thickness_mm: f64,
    pub modulus_mpa: f64,
    /// Before the limb is shaped across.
    pub width_mm: f64,
    /// The section's shape; `None` where it is square.
    across: Option<SectionShape>,
}

impl Layer {
    /// Depth of its belly face below the bow's back, mm.
    pub fn belly_mm(&self) -> f64 {
        self.back_mm + self.thickness_mm
    }

    /// Width at a depth below the bow's back, mm.
    pub fn width_at_mm(&self, z_mm: f64) -> f64 {
        self.width_mm * self.across.map_or(1.0, |across| across.at(z_mm))
    }

    /// `∫ b dz`, mm².
    pub fn area_mm2(&self) -> f64 {
        let shaped = self.across.map(|across| across.moments(self.back_mm, self.belly_mm())[0]);
        self.width_mm * shaped.unwrap_or(self.thickness_mm)
    }

    /// `∫ b³ dz / 12`: its second moment when it bends sideways, mm⁴.
    pub fn sideways_mm4(&self) -> f64 {
        let shaped = self.across.map(|across| across.cubed(self.back_mm, self.belly_mm()));
        self.width_mm.powi(3) * shaped.unwrap_or(self.thickness_mm) / 12.0
    }

    /// The mean over its area of what runs straight from its back face to its belly face.
    pub fn mean(&self, [back, belly]: [f64; 2]) -> f64 {
        let Some(across) = self.across else { return 0.5 * (back + belly) };
        let [zeroth, first, _] = across.moments(self.back_mm, self.belly_mm());
        back + (first / zeroth - self.back_mm) / self.thickness_mm * (belly - back)
    }
}

/// The layers at a station, back to belly, acting as one.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    pub layers: Vec<Layer>,
    /// Back to belly, mm.
    pub depth_mm: f64,
    /// Depth of the neutral axis below the back, mm.
    pub neutral_mm: f64,
    /// N·mm²
    pub stiffness_n_mm2: f64,
}

impl Section {
    /// The section of these layers, back to belly; each is given by its part, thickness in mm, modulus in MPa and width in mm.
    ///
    /// ```
    /// use taperwright::mechanics::layer_kind::LayerKind;
    /// use taperwright::mechanics::section::Section;
    /// // 2.5 mm of 15 GPa on both faces of 5 mm of 10 GPa, per mm of width: EI = 1 197 916.67 N·mm² (computed independently).
    /// let layers = [(2.5, 15e3), (5.0, 10e3), (2.5, 15e3)];
    /// let section = Section::of(layers.iter().enumerate().map(|(i, (t, e))| (LayerKind::Lamination(i), *t, *e, 1.0)));
    /// assert!((section.stiffness_n_mm2 - 1_197_916.667).abs() < 1e-3);
    /// assert!((section.neutral_mm - 5.0).abs() < 1e-12);
    /// ```
    pub fn of(layers: impl IntoIterator<Item = (LayerKind, f64, f64, f64)>) -> Section {
        Section::shaped(layers, None)
    }

    /// The same, shaped across.
    #[must_use]
    pub fn shaped(layers: impl IntoIterator<Item = (LayerKind, f64, f64, f64)>, across: Option<SectionShape>) -> Section {
        Section::from_depth(0.0, layers, across)
    }

    /// The same with the first layer's back face at this depth.
    fn from_depth(
        from_mm: f64,
        layers: impl IntoIterator<Item = (LayerKind, f64, f64, f64)>,
        limb: Option<SectionShape>,
    ) -> Section {
        let mut sums = Sums::from_depth(from_mm);
        let layers = layers
            .into_iter()
            .map(|(part, thickness_mm, modulus_mpa, width_mm)| {
                let back_mm = sums.depth;
                let across = limb.filter(|limb| limb.has(back_mm));
                sums.add(thickness_mm, modulus_mpa * width_mm, across.as_ref());
                Layer { part, back_mm, thickness_mm, modulus_mpa, width_mm, across }
            })
            .collect();
        Section { layers, depth_mm: sums.depth, neutral_mm: sums.neutral(), stiffness_n_mm2: sums.stiffness() }
    }

    /// Strain at depth `z_mm` when the section bends by `bend_per_mm` toward the belly: positive is stretch.
    pub fn strain(&self, bend_per_mm: f64, z_mm: f64) -> f64 {
        -bend_per_mm * (z_mm - self.neutral_mm)
    }
}

/// What integration needs of a section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Properties {
    pub stiffness_n_mm2: f64,
    pub neutral_mm: f64,
    pub depth_mm: f64,
}

/// A build that is a bow: it has an outline, and wood all the way from its centre to the nock.
#[derive(Debug, Clone, Copy)]
pub struct Stack<'a> {
    build: &'a Build,
    outline: &'a Outline,
    /// Mean over the slices of a riser that is made of them.
    slices_mpa: f64,
}

impl<'a> Stack<'a> {
    /// The build as a bow; a fault if it is a batch of laminations, or if its stack has a hole.
    pub fn of(build: &'a Build) -> Result<Stack<'a>, Diagnostic> {
        let place = Place::new("outline");
        let Some(outline) = &build.outline else {
            return Err(Diagnostic::fault(place, "there is no outline, so the bow's stiffness is not known")
                .hint("a batch of laminations can be ground, but draw weight and strain need `outline` with its widths"));
        };
        let slices_mpa = build.riser.as_ref().map_or(0.0, |riser| {
            let width: f64 = riser.across.iter().map(|slice| slice.width_mm).sum();
            riser.across.iter().map(|slice| slice.wood.modulus_mpa * slice.width_mm).sum::<f64>() / width
        });
        let stack = Stack { build, outline, slices_mpa };
        let ends = crate::numeric::ode::ends(0.0, outline.nock_mm(), &stack.corners());
        for pair in ends.windows(2) {
            let inside = 0.5 * (pair[0] + pair[1]);
            if !build.laminations.iter().any(|lamination| lamination.from_mm <= inside && inside <= lamination.to_mm) {
                let message = message!("no lamination reaches from station {} to {}", mm(pair[0]), mm(pair[1]));
                return Err(Diagnostic::fault(Place::new("lamination"), message)
                    .hint(message!("the limb must be wood up to the nock at {}", mm(outline.nock_mm()))));
            }
            if let Some(s) = pair.iter().find(|s| outline.width_at(**s) <= 0.0) {
                let width = outline.width_at(*s);
                return Err(Diagnostic::fault(place.key("width"), message!("the width at station {} is {}", mm(*s), mm(width)))
                    .hint("give a positive width at the nock, or a last station beyond it"));
            }
        }
        Ok(stack)
    }

    pub fn build(&self) -> &'a Build {
        self.build
    }

    pub fn outline(&self) -> &'a Outline {
        self.outline
    }

    /// Stations where stiffness or its slope may jump, in no order, mm.
    pub fn corners(&self) -> Vec<f64> {
        let mut corners: Vec<f64> = self.outline.width.points().iter().map(|point| point.0).collect();
        for lamination in &self.build.laminations {
            corners.extend([lamination.from_mm, lamination.to_mm]);
            corners.extend(lamination.finished.corners());
            corners.extend(lamination.two_woods_mm().into_iter().flatten());
            corners.extend(lamination.lapped_mm(0.0, 0.0).map(|_| lamination.reach_mm()));
            corners.extend(lamination.own_width.iter().flat_map(|own| own.points()).map(|point| point.0));
        }
        if let Some(riser) = &self.build.riser {
            corners.extend(riser.corners(self.build.glue.line_mm));
        }
        corners.extend(self.build.overlays.iter().flat_map(|overlay| overlay.corners(self.outline.end_mm())));
        corners.extend(self.outline.shape.curves().flat_map(|curve| curve.points()).map(|point| point.0));
        corners
    }

    /// The section at station `s_mm`, with the layers that are present at station `inside_mm`.
    ///
    /// At a corner the two differ: `inside_mm` then says from which side the corner is seen. Elsewhere give the same station twice.
    #[must_use]
    pub fn section(&self, inside_mm: f64, s_mm: f64) -> Section {
        let mut layers = Vec::with_capacity(2 * self.build.laminations.len() + 2);
        let from_mm = self.each_finished(inside_mm, s_mm, |part, thickness_mm, modulus_mpa, width_mm| {
            layers.push((part, thickness_mm, modulus_mpa, width_mm));
        });
        let across = if self.outline.shape.is_square() { None } else { self.shape(inside_mm, s_mm) };
        Section::from_depth(from_mm, layers, across)
    }

    /// Stiffness, neutral axis and depth at station `s_mm`, seen from station `inside_mm`.
    #[must_use]
    pub fn properties(&self, inside_mm: f64, s_mm: f64) -> Properties {
        // A square limb, as most are, does not ask for its depth beforehand: this is what a draw spends its time on.
        let across = if self.outline.shape.is_square() { None } else { self.shape(inside_mm, s_mm) };
        self.summed(inside_mm, s_mm, across.as_ref())
    }

    /// The same of the limb before it is shaped across: sides and belly square.
    #[must_use]
    pub fn square(&self, inside_mm: f64, s_mm: f64) -> Properties {
        self.summed(inside_mm, s_mm, None)
    }

    fn summed(&self, inside_mm: f64, s_mm: f64, across: Option<&SectionShape>) -> Properties {
        let mut sums = Sums::from_depth(0.0 - self.above_back_mm(inside_mm, s_mm));
        self.each_finished(inside_mm, s_mm, |_, thickness_mm, modulus_mpa, width_mm| {
            let across = across.filter(|limb| limb.has(sums.depth));
            sums.add(thickness_mm, modulus_mpa * width_mm, across);
        });
        sums.properties()
    }

    /// How a section this deep is shaped; `None` where it is square.
    fn across(&self, s_mm: f64, depth_mm: f64) -> Option<SectionShape> {
        let outline = self.outline;
        let of = || SectionShape::of(outline.width_at(s_mm), outline.faces_at(s_mm), outline.crown_at(s_mm), depth_mm);
        (!outline.shape.is_square()).then(of)
    }

    /// The whole section's shape at station `s_mm`, seen from station `inside_mm`; `None` where it is square.
    pub(super) fn shape(&self, inside_mm: f64, s_mm: f64) -> Option<SectionShape> {
        let mut depth_mm = 0.0;
        self.each_layer(inside_mm, s_mm, |_, thickness_mm, _, _| depth_mm += thickness_mm);
        self.across(s_mm, depth_mm)
    }

    /// The same with `off_mm` taken from the belly face.
    pub fn scraped(&self, s_mm: f64, off_mm: f64) -> Properties {
        let mut layers = Vec::new();
        // Nobody scrapes under an overlay, and none lies yet where a bow is tillered by its belly.
        self.each_layer(s_mm, s_mm, |_, thickness_mm, modulus_mpa, width_mm| layers.push((thickness_mm, modulus_mpa * width_mm)));
        let depth_mm = layers.iter().map(|(thickness, _)| thickness).sum();
        let across = self.across(s_mm, depth_mm).map(|across| across.scraped(off_mm));
        let mut off = off_mm;
        for (thickness, _) in layers.iter_mut().rev() {
            let gone = off.min(*thickness);
            *thickness -= gone;
            off -= gone;
        }
        let mut sums = Sums::default();
        layers.into_iter().for_each(|(thickness, stiffness)| sums.add(thickness, stiffness, across.as_ref()));
        sums.properties()
    }

    /// The limb's layers and the overlays on it, back to belly; gives back the depth of the first one's back face, mm, which is less than nothing
    /// where an overlay lies on the limb's back.
    fn each_finished(&self, inside_mm: f64, s_mm: f64, mut visit: impl FnMut(LayerKind, f64, f64, f64)) -> f64 {
        let [back, belly] = if self.has_overlays() { self.overlays_at(inside_mm, s_mm) } else { [None; 2] };
        let glue = &self.build.glue;
        let line = |visit: &mut dyn FnMut(LayerKind, f64, f64, f64), width_mm: f64| {
            if 0.0 < glue.line_mm {
                visit(LayerKind::Glue, glue.line_mm, glue.modulus_mpa, width_mm);
            }
        };
        if let Some(overlay) = back {
            visit(overlay.part, overlay.thickness_mm, overlay.modulus_mpa, overlay.width_mm);
            line(&mut visit, overlay.width_mm);
        }
        self.each_layer(inside_mm, s_mm, &mut visit);
        if let Some(overlay) = belly {
            line(&mut visit, overlay.width_mm);
            visit(overlay.part, overlay.thickness_mm, overlay.modulus_mpa, overlay.width_mm);
        }
        0.0 - self.above_back_mm(inside_mm, s_mm)
    }

    /// Overlay and glue line on the limb's back, mm.
    fn above_back_mm(&self, inside_mm: f64, s_mm: f64) -> f64 {
        if !self.has_overlays() {
            return 0.0;
        }
        self.overlays_at(inside_mm, s_mm)[0].map_or(0.0, |overlay| overlay.thickness_mm + self.build.glue.line_mm)
    }

    fn has_overlays(&self) -> bool {
        !self.build.overlays.is_empty() || self.build.riser.as_ref().is_some_and(|riser| riser.overlay.is_some())
    }

    /// The overlays on back and belly at station `s_mm`, seen from `inside_mm`, each as wide as its face.
    fn overlays_at(&self, inside_mm: f64, s_mm: f64) -> [Option<OverlayHere>; 2] {
        let end_mm = self.outline.end_mm();
        let on_riser = self.build.riser.as_ref().and_then(|riser| riser.overlay.as_ref());
        [Face::Back, Face::Belly].map(|face| {
            if let Some(overlay) = on_riser.filter(|_| face == Face::Belly)
                && inside_mm < overlay.profile.feather_station_mm()
            {
                return Some(OverlayHere {
                    part: LayerKind::RiserOverlay,
                    thickness_mm: overlay.thickness_at(s_mm.min(overlay.profile.feather_station_mm() - ROUNDING_MM)),
                    modulus_mpa: overlay.wood.modulus_mpa,
                    width_mm: self.outline.faces_at(s_mm)[1],
                });
            }
            let index = self.build.overlays.iter().position(|overlay| overlay.face == face)?;
            let overlay = &self.build.overlays[index];
            overlay.thickness_at(end_mm, inside_mm)?;
            Some(OverlayHere {
                part: LayerKind::Overlay(index),
                thickness_mm: overlay.thickness_at(end_mm, s_mm).unwrap_or(0.0),
                modulus_mpa: overlay.wood.modulus_mpa,
                width_mm: self.outline.faces_at(s_mm)[usize::from(face == Face::Belly)],
            })
        })
    }

    /// Layers back to belly before the limb is shaped across: part, thickness, modulus, width.
    pub(super) fn each_layer(&self, inside_mm: f64, s_mm: f64, mut visit: impl FnMut(LayerKind, f64, f64, f64)) {
        let outline_mm = self.outline.width_at(s_mm);
        let glue = &self.build.glue;
        let mut above_mm: Option<f64> = None;
        // With the modulus of the line before it; pieces of one strip have none between them.
        let mut put_on = |part, thickness, modulus, width_mm: f64, line_mpa: Option<f64>| {
            if let (Some(other_mm), Some(line_mpa)) = (above_mm, line_mpa)
                && 0.0 < glue.line_mm
            {
                visit(LayerKind::Glue, glue.line_mm, line_mpa, width_mm.min(other_mm));
            }
            visit(part, thickness, modulus, width_mm);
            above_mm = Some(width_mm);
        };
        let riser = |put_on: &mut dyn FnMut(LayerKind, f64, f64, f64, Option<f64>)| {
            let Some(riser) = self.build.riser.as_ref().filter(|riser| inside_mm < riser.feather_station_mm()) else { return };
            let feather_mm = riser.feather_station_mm();
            let thickness = riser.thickness_at(s_mm.min(feather_mm - ROUNDING_MM));
            let footing = riser.footing.as_ref().map(|footing| (footing, footing.fraction_at(feather_mm, s_mm)));
            if let Some((footing, _)) = footing.filter(|(footing, _)| footing.corners(feather_mm)[1] <= inside_mm) {
                put_on(LayerKind::Footing, thickness, footing.wood.modulus_mpa, outline_mm, Some(glue.modulus_mpa));
                return;
            }
            let mixed = |own_mpa: f64| match footing {
                Some((footing, fraction)) if 0.0 < fraction => own_mpa + fraction * (footing.wood.modulus_mpa - own_mpa),
                _ => own_mpa,
            };
            let seen_mm = if riser.is_layered() { riser.thickness_at(inside_mm) } else { thickness };
            // What laps take of it, from its flat face and from the other.
            let [flat_mm, climbed_mm] = self.build.rebated_mm(inside_mm, s_mm);
            for (index, [from, to]) in riser.layers_within(glue.line_mm, seen_mm, thickness) {
                let (from, to) = (from.max(flat_mm), to.min(thickness - climbed_mm));
                if to < from {
                    continue;
                }
                let own_mpa = riser.layers.get(index).map_or(self.slices_mpa, |layer| layer.wood.modulus_mpa);
                let line_mpa = if index == 0 { glue.modulus_mpa } else { mixed(glue.modulus_mpa) };
                put_on(LayerKind::Riser(index), to - from, mixed(own_mpa), outline_mm, Some(line_mpa));
            }
        };
        for (index, lamination) in self.build.laminations.iter().enumerate() {
            if self.build.riser.as_ref().is_some_and(|riser| riser.position == index) {
                riser(&mut put_on);
            }
            if lamination.from_mm <= inside_mm && inside_mm <= lamination.to_mm {
                let full_mm = lamination.own_width.as_ref().map_or(outline_mm, |own| own.at(s_mm));
                let width_mm = full_mm * lamination.width_fraction;
                for laid in lamination.laid_at(inside_mm, s_mm) {
                    let part = LayerKind::laid(index, laid.piece);
                    put_on(part, laid.thickness_mm, laid.wood.modulus_mpa, width_mm, (!laid.scarfed).then_some(glue.modulus_mpa));
                }
            }
        }
        if self.build.riser.as_ref().is_some_and(|riser| self.build.laminations.len() <= riser.position) {
            riser(&mut put_on);
        }
    }
}

/// Exactly at a feather rounding may step over it. A thousandth of a nanometre inside has the same thickness, and is near enough not to show in the
/// slope of the neutral axis.
const ROUNDING_MM: f64 = 1e-12;

/// An overlay at a station.
#[derive(Debug, Clone, Copy)]
struct OverlayHere {
    part: LayerKind,
    thickness_mm: f64,
    modulus_mpa: f64,
    width_mm: f64,
}

/// Running sums over layers.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Sums {
    /// Depth of the belly face of the layer added last, mm.
    depth: f64,
    /// Σ n t, Σ n t z, Σ n (t³/12 + t z²), z from the back.
    zeroth: f64,
    first: f64,
    second: f64,
}

impl Sums {
    /// Nothing yet; the first layer's back face is at this depth.
    fn from_depth(depth: f64) -> Sums {
        Sums { depth, ..Sums::default() }
    }

    /// A layer of thickness `t` under those so far, with `n` = E b before it is shaped.
    fn add(&mut self, t: f64, n: f64, across: Option<&SectionShape>) {
        match across {
            None => self.add_between(self.depth, self.depth + t, n),
            Some(across) => self.add_shaped(self.depth, self.depth + t, n, across),
        }
    }

    /// A layer between two depths of a section that is shaped across.
    pub fn add_shaped(&mut self, from: f64, to: f64, n: f64, across: &SectionShape) {
        let [zeroth, first, second] = across.moments(from, to);
        self.zeroth += n * zeroth;
        self.first += n * first;
        self.second += n * second;
        self.depth = to;
    }

    /// A layer between two depths.
    pub fn add_between(&mut self, from: f64, to: f64, n: f64) {
        let (t, z) = (to - from, 0.5 * (from + to));
        self.zeroth += n * t;
        self.first += n * t * z;
        self.second += n * t * (t * t / 12.0 + z * z);
        self.depth = to;
    }

    pub fn neutral(&self) -> f64 {
        self.first / self.zeroth
    }

    /// Σ E A, N.
    pub fn stretching(&self) -> f64 {
        self.zeroth
    }

    pub fn stiffness(&self) -> f64 {
        self.second - self.first * self.first / self.zeroth
    }

    fn properties(&self) -> Properties {
        Properties { stiffness_n_mm2: self.stiffness(), neutral_mm: self.neutral(), depth_mm: self.depth }
    }
}
