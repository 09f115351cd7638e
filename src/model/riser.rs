//! The riser block: full depth at the grip, falling along a fade to a feather at each end.

use super::block::{BlockLayer, Footing, RiserOverlay};
pub use super::fade::{BlockProfile, Fade, FadePoint};
use super::grip::{ArrowPass, CutByHand, Grip};
use super::wood::Wood;

#[derive(Debug, Clone, PartialEq)]
pub struct Riser {
    /// How many laminations of the stack lie on its back side. Those from this index on climb its fades;
    /// equal to the number of laminations when it lies under all of them.
    pub position: usize,
    /// Feather to feather, the template's length, mm.
    pub length_mm: f64,
    /// Full-depth length in the middle, mm.
    pub level_mm: f64,
    /// Depth of the block at the level part, mm.
    pub depth_mm: f64,
    pub fade: Fade,
    /// Thickness of the feather, mm.
    pub feather_mm: f64,
    /// Blank beyond the template at each end, mm.
    pub overrun_mm: f64,
    /// Slices across the width from one side to the other, as they lie when seen from the back; never empty. Where there are layers it is one
    /// slice, which says how wide the block is; its woods are the layers'.
    pub across: Vec<Slice>,
    /// Boards over the depth, from the flat face to the climbed one; none where the block is made of slices.
    pub layers: Vec<BlockLayer>,
    /// What is let into both ends; `None` where the block's own wood runs out in the feather.
    pub footing: Option<Footing>,
    /// A second block, glued on the belly afterwards.
    pub overlay: Option<RiserOverlay>,
    /// The belly as hands cut it for the hand that holds the bow; `None` where the whole depth stays.
    pub grip: Option<Grip>,
    /// Shelf and window; `None` where the arrow lies on the hand.
    pub pass: Option<ArrowPass>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Slice {
    pub wood: Wood,
    pub width_mm: f64,
}

/// Which slice lies at `v_mm` across the width, counted from 0: they meet at the middles of their glue lines, which [`Riser::seams`] gives.
pub fn slice_at(seams_mm: &[f64], v_mm: f64) -> usize {
    seams_mm.iter().filter(|seam_mm| v_mm < **seam_mm).count()
}

impl Riser {
    pub fn profile(&self) -> BlockProfile {
        let Riser { length_mm, level_mm, depth_mm, fade, feather_mm, .. } = *self;
        BlockProfile { length_mm, level_mm, depth_mm, fade, feather_mm }
    }

    /// Length of one fade along the bow, from the level part to the feather, mm.
    pub fn fade_length_mm(&self) -> f64 {
        self.profile().fade_length_mm()
    }

    /// What hands cut from it once the limbs bend evenly.
    pub fn cut_by_hand(&self) -> Option<CutByHand> {
        match (&self.pass, &self.grip) {
            (Some(_), Some(_)) => Some(CutByHand::ShelfAndGrip),
            (Some(_), None) => Some(CutByHand::Shelf),
            (None, Some(_)) => Some(CutByHand::Grip),
            (None, None) => None,
        }
    }

    /// Station of the feather, mm.
    pub fn feather_station_mm(&self) -> f64 {
        0.5 * self.length_mm
    }

    /// Stations where something of the block or of what is glued on it changes its law, mm.
    pub fn corners(&self, glue_line_mm: f64) -> Vec<f64> {
        let profile = self.profile();
        let mut corners = profile.corners();
        let cut = |back_mm: &f64| self.feather_mm < *back_mm && *back_mm < self.depth_mm;
        corners.extend(self.layer_backs(glue_line_mm).filter(cut).map(|back_mm| profile.station_of_mm(back_mm)));
        corners.extend(self.footing.iter().flat_map(|footing| footing.corners(self.feather_station_mm())));
        corners.extend(self.overlay.iter().flat_map(|overlay| overlay.profile.corners()));
        corners
    }

    /// Thickness of the riser at station `s` (its distance from the centre), mm; 0 beyond the feather.
    pub fn thickness_at(&self, s: f64) -> f64 {
        self.fade_at(s).thickness_mm
    }

    /// Thickness, slope and curvature of its climbed face at station `s`: see [`BlockProfile::fade_at`].
    pub fn fade_at(&self, s: f64) -> FadePoint {
        self.profile().fade_at(s)
    }

    /// The layers where the block is `seen_mm` thick, each by its number with its faces over the flat face for a block `thickness_mm` thick, mm: at a
    /// corner the two differ. A glue line that the fade has just cut into counts as the layer under it. A block of slices is one layer.
    pub fn layers_within(
        &self,
        glue_line_mm: f64,
        seen_mm: f64,
        thickness_mm: f64,
    ) -> impl Iterator<Item = (usize, [f64; 2])> + '_ {
        let count = self.layers.len();
        let mut back_mm = 0.0;
        (0..count.max(1)).map_while(move |index| {
            let own = back_mm;
            if 0 < index && seen_mm <= own {
                return None;
            }
            let ends = own + self.layers.get(index).map_or(thickness_mm, |layer| layer.thickness_mm);
            back_mm = ends + glue_line_mm;
            let last = count <= index + 1 || seen_mm <= back_mm;
            Some((index, [own, if last { thickness_mm.max(own) } else { ends }]))
        })
    }

    /// Where each layer but the first begins over the flat face, mm.
    pub fn layer_backs(&self, glue_line_mm: f64) -> impl Iterator<Item = f64> + '_ {
        let mut back_mm = 0.0;
        let next = move |layer: &BlockLayer| {
            back_mm += layer.thickness_mm + glue_line_mm;
            back_mm
        };
        self.layers.iter().take(self.layers.len().saturating_sub(1)).map(next)
    }

    /// Of a block in layers as it is glued, before its profile is sawn: all boards and the lines between them, mm.
    pub fn glued_depth_mm(&self, glue_line_mm: f64) -> f64 {
        let boards: f64 = self.layers.iter().map(|layer| layer.thickness_mm).sum();
        boards + glue_line_mm * self.layers.len().saturating_sub(1) as f64
    }

    /// Several boards lie one on another.
    pub fn is_layered(&self) -> bool {
        1 < self.layers.len()
    }

    /// What the block is glued up of: its layers, else its slices.
    pub fn block_woods(&self) -> impl Iterator<Item = &Wood> {
        let slices = if self.layers.is_empty() { self.across.as_slice() } else { &[] };
        slices.iter().map(|slice| &slice.wood).chain(self.layers.iter().map(|layer| &layer.wood))
    }

    /// All that it is made of: its block's woods, then those of footing and overlay.
    pub fn woods(&self) -> impl Iterator<Item = &Wood> {
        let footing = self.footing.iter().map(|footing| &footing.wood);
        self.block_woods().chain(footing).chain(self.overlay.iter().map(|overlay| &overlay.wood))
    }

    /// The same, to be changed.
    pub fn woods_mut(&mut self) -> impl Iterator<Item = &mut Wood> {
        let slices = if self.layers.is_empty() { self.across.as_mut_slice() } else { &mut [] };
        let layers = self.layers.iter_mut().map(|layer| &mut layer.wood);
        let footing = self.footing.iter_mut().map(|footing| &mut footing.wood);
        let overlay = self.overlay.iter_mut().map(|overlay| &mut overlay.wood);
        slices.iter_mut().map(|slice| &mut slice.wood).chain(layers).chain(footing).chain(overlay)
    }

    /// Where each slice lies across the width, mm from the middle: from its greater to its lesser edge, the first listed first.
    pub fn bands(&self, glue_line_mm: f64) -> Vec<[f64; 2]> {
        let mut top = 0.5 * self.width_mm(glue_line_mm);
        let band = |slice: &Slice| {
            let band = [top, top - slice.width_mm];
            top = band[1] - glue_line_mm;
            band
        };
        self.across.iter().map(band).collect()
    }

    /// The middles of the glue lines across the width, where slices meet, mm from the middle of the block, the first slice's first.
    pub fn seams(&self, glue_line_mm: f64) -> Vec<f64> {
        self.bands(glue_line_mm).windows(2).map(|pair| 0.5 * (pair[0][1] + pair[1][0])).collect()
    }

    /// Full width of the block: its slices and the glue lines between them, mm.
    pub fn width_mm(&self, glue_line_mm: f64) -> f64 {
        self.across.iter().map(|slice| slice.width_mm).sum::<f64>() + glue_line_mm * (self.across.len().saturating_sub(1)) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn riser(fade: Fade) -> Riser {
        Riser {
            position: 0,
            length_mm: 400.0,
            level_mm: 120.0,
            depth_mm: 38.0,
            fade,
            feather_mm: 0.3,
            overrun_mm: 12.0,
            across: Vec::new(),
            layers: Vec::new(),
            footing: None,
            overlay: None,
            grip: None,
            pass: None,
        }
    }

    #[test]
    fn every_fade_runs_from_feather_to_depth_with_the_slope_it_states() {
        for fade in [Fade::Arc, Fade::ArcAndFlat, Fade::Eased] {
            let riser = riser(fade);
            assert!((riser.thickness_at(200.0) - 0.3).abs() < 1e-12);
            assert!((riser.thickness_at(60.0 + 1e-9) - 38.0).abs() < 1e-6, "{fade:?}");
            assert!(riser.thickness_at(200.001) <= 0.0);
            for k in 1..140 {
                let s = 60.0 + f64::from(k) + 0.37;
                let h = 1e-5;
                let difference = (riser.thickness_at(s - h) - riser.thickness_at(s + h)) / (2.0 * h);
                let point = riser.fade_at(s);
                assert!((difference - point.slope).abs() < 1e-7, "{fade:?} {s}");
                let bend = (riser.fade_at(s - h).slope - riser.fade_at(s + h).slope) / (2.0 * h);
                let curvature = bend / (1.0 + point.slope * point.slope).powf(1.5);
                assert!((curvature - point.curvature_per_mm).abs() < 1e-6, "{fade:?} {s}");
            }
        }
    }

    #[test]
    fn arc_radius_is_the_shop_formula() {
        let riser = riser(Fade::Arc);
        let (l, h) = (140.0, 37.7);
        assert!((1.0 / riser.fade_at(100.0).curvature_per_mm - (l * l + h * h) / (2.0 * h)).abs() < 1e-9);
    }
}
