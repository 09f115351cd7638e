//! The side of a block: how it falls from its full depth to a feather at each end.

use crate::numeric::root;

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

/// What a block's side looks like over the face that it is glued with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlockProfile {
    /// Feather to feather, mm.
    pub length_mm: f64,
    /// Full-depth length in the middle, mm.
    pub level_mm: f64,
    /// At the level part, mm.
    pub depth_mm: f64,
    pub fade: Fade,
    pub feather_mm: f64,
}

impl BlockProfile {
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

    /// Thickness of the block at station `s` (its distance from the centre), mm; 0 beyond the feather.
    pub fn thickness_at(&self, s: f64) -> f64 {
        self.fade_at(s).thickness_mm
    }

    /// Where the fade has fallen to this thickness, between feather and depth, mm.
    pub fn station_of_mm(&self, thickness_mm: f64) -> f64 {
        let over = |s: f64| thickness_mm <= self.thickness_at(s);
        // Sixty halvings bring any bow's length below the last bit of its stations.
        root::bisect(over, 0.5 * self.level_mm, self.feather_station_mm(), 60).holds
    }

    /// Thickness, slope and curvature of the block's climbed face at station `s`.
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
