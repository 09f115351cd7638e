//! The riser block: full depth at the grip, falling along a fade to a feather at each end.

use super::grip::{ArrowPass, Grip};
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
    /// Slices across the width from one side to the other, as they lie when seen from the back; never empty.
    pub across: Vec<Slice>,
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

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fade {
    /// A circular arc, tangent to the limb at the feather.
    Arc,
    /// An arc, then a straight run-out to the feather.
    ArcAndFlat,
    /// A cubic: no curvature at the feather.
    Eased,
}

/// The straight run-out of [`Fade::ArcAndFlat`] takes this share of the fade's length ...
const RUN_OUT_LENGTH: f64 = 1.0 / 3.0;
/// ... and this share of its rise. Less makes the feather slow to grind, more puts a kink under the lamination that climbs it.
const RUN_OUT_RISE: f64 = 0.05;

/// The face of a fade at one place: height over the lamination beneath, slope and curvature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FadePoint {
    /// Thickness of the riser there, mm.
    pub thickness_mm: f64,
    /// Change of thickness per mm toward the grip, positive.
    pub slope: f64,
    /// Curvature of the face in 1/mm, positive where a lamination laid on it bends away from the riser's block (a hollow fade).
    pub curvature_per_mm: f64,
}

impl Riser {
    /// Length of one fade along the bow, from the level part to the feather, mm.
    pub fn fade_length_mm(&self) -> f64 {
        0.5 * (self.length_mm - self.level_mm)
    }

    /// Station of the feather, mm.
    pub fn feather_station_mm(&self) -> f64 {
        0.5 * self.length_mm
    }

    /// Stations where the fade's face changes its law, from the level part to the feather, mm.
    pub fn corners(&self) -> Vec<f64> {
        let (level, feather) = (0.5 * self.level_mm, self.feather_station_mm());
        match self.fade {
            Fade::Arc | Fade::Eased => vec![level, feather],
            Fade::ArcAndFlat => vec![level, feather - RUN_OUT_LENGTH * self.fade_length_mm(), feather],
        }
    }

    /// Thickness of the riser at station `s` (its distance from the centre), mm; 0 beyond the feather.
    pub fn thickness_at(&self, s: f64) -> f64 {
        self.fade_at(s).thickness_mm
    }

    /// Thickness, slope and curvature of the riser's climbed face at station `s`.
    ///
    /// With `h` the rise (depth less feather), `l` the fade's length and `d` the distance from the feather toward the grip:
    ///
    /// * arc: `h(d) = R − √(R² − d²)`, `R = (l² + h²)/(2h)`, tangent at the feather; needs `h ≤ l`;
    /// * arc and flat: straight with slope `m` over `RUN_OUT_LENGTH·l`, then an arc tangent to it through the end of the level part;
    /// * eased: `h(d) = h·(d/l)³`, with no slope and no curvature at the feather.
    ///
    /// Source: plane geometry, derived here.
    pub fn fade_at(&self, s: f64) -> FadePoint {
        let s = s.abs();
        let (length, rise) = (self.fade_length_mm(), self.depth_mm - self.feather_mm);
        let from_feather = self.feather_station_mm() - s;
        if from_feather < 0.0 {
            return FadePoint { thickness_mm: 0.0, slope: 0.0, curvature_per_mm: 0.0 };
        }
        if length <= from_feather {
            return FadePoint { thickness_mm: self.depth_mm, slope: 0.0, curvature_per_mm: 0.0 };
        }
        let (height, slope, curvature) = match self.fade {
            Fade::Arc => arc(from_feather, length, rise, 0.0),
            Fade::ArcAndFlat => {
                let (flat, low) = (RUN_OUT_LENGTH * length, RUN_OUT_RISE * rise);
                let m = low / flat;
                if from_feather <= flat {
                    (m * from_feather, m, 0.0)
                } else {
                    let (height, slope, curvature) = arc(from_feather - flat, length - flat, rise - low, m);
                    (low + height, slope, curvature)
                }
            }
            Fade::Eased => {
                let part = from_feather / length;
                let slope = 3.0 * rise / length * part * part;
                (rise * part.powi(3), slope, 6.0 * rise / (length * length) * part / (1.0 + slope * slope).powf(1.5))
            }
        };
        FadePoint { thickness_mm: self.feather_mm + height, slope, curvature_per_mm: curvature }
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

/// Height, slope and curvature at `d` along an arc that starts with slope `m` and rises by `rise` over `length`.
fn arc(d: f64, length: f64, rise: f64, m: f64) -> (f64, f64, f64) {
    // Centre on the normal at the start: (−R sin a, R cos a) with tan a = m; the end (length, rise) lies on the circle.
    let (sin, cos) = m.atan().sin_cos();
    let radius = (length * length + rise * rise) / (2.0 * (rise * cos - length * sin));
    let x = d + radius * sin;
    let under = (radius * radius - x * x).max(0.0).sqrt();
    (radius * cos - under, if 0.0 < under { x / under } else { f64::INFINITY }, 1.0 / radius)
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
