//! Flatbows with a hidden stretch, read by the forward model as a shop reads them.

use super::bows::{self, IN};
use super::chance::Chance;
use taperwright::mechanics::tiller_fit::{self, GapLayout, ShownRows};
use taperwright::mechanics::tillering::{LOWER, LaidPair, LoadCase, PositiveTiller, SolvedPair, UPPER};

pub const STATIONS_IN: [f64; 7] = [8.0, 12.0, 16.0, 20.0, 24.0, 28.0, 32.0];
/// One σ of a reading, mm.
pub const SIGMA_MM: f64 = IN / 32.0;
pub const FADE_MM: f64 = 8.0 * IN;
pub const NOCK_MM: f64 = 33.0 * IN;
pub const TILLER: PositiveTiller = PositiveTiller { mm: 3.0 / 16.0 * IN, habitual: false };

pub struct HiddenStretch {
    pub side: usize,
    pub from_mm: f64,
    pub to_mm: f64,
}

impl HiddenStretch {
    /// Anywhere on a limb, 3 to 10 in long.
    pub fn hidden(chance: &mut Chance) -> HiddenStretch {
        let length = chance.between(3.0, 10.0) * IN;
        let from_mm = chance.between(FADE_MM, NOCK_MM - length);
        HiddenStretch { side: usize::from(chance.uniform() < 0.5), from_mm, to_mm: from_mm + length }
    }

    pub fn holds(&self, side: usize, s: f64) -> bool {
        self.side == side && self.from_mm <= s && s <= self.to_mm
    }

    /// The right limb, the right sign and an overlap.
    pub fn is_hit_by(&self, found: &tiller_fit::Stretch, ln: f64) -> bool {
        found.side == self.side && 0.0 < found.ln_factor * ln && found.from_mm < self.to_mm && self.from_mm < found.to_mm
    }
}

/// Brace and three draws.
pub fn layouts() -> Vec<GapLayout> {
    let target = bows::flatbow().target.unwrap();
    let draw = |fraction: f64| target.brace_height_mm + fraction * (target.pivot_to_nock_mm - target.brace_height_mm);
    [None, Some(draw(0.35)), Some(draw(0.65)), Some(draw(0.95))]
        .map(|pivot_to_nock_mm| GapLayout {
            bending: LoadCase { brace_mm: target.brace_height_mm, pivot_to_nock_mm },
            fixed: false,
            stations_mm: STATIONS_IN.map(|s| s * IN).to_vec(),
            shown: ShownRows::default(),
        })
        .to_vec()
}

pub fn stations_mm() -> Vec<f64> {
    STATIONS_IN.map(|s| s * IN).to_vec()
}

/// Distances of a bow whose stiffness is that of its builds times `factor(side, s)`.
pub fn read(tillering: &LaidPair<'_>, layouts: &[GapLayout], factor: impl Fn(usize, f64) -> f64) -> Vec<f64> {
    let [upper, lower] = [UPPER, LOWER].map(|side| tillering.limbs()[side].stiffened(|s| factor(side, s)));
    let mut near: Option<SolvedPair> = None;
    let mut distances = Vec::new();
    for layout in layouts {
        let solved = tillering.bend([&upper, &lower], layout.bending, 0.0, near.as_ref()).unwrap();
        distances.extend(tillering.gaps_mm([&upper, &lower], &solved, &layout.stations_mm).into_iter().flatten());
        near = Some(solved);
    }
    distances
}

pub fn noisy(distances: &[f64], chance: &mut Chance) -> Vec<f64> {
    distances.iter().map(|mm| mm + SIGMA_MM * chance.normal()).collect()
}
