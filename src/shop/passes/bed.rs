//! What a strip lies on while it is ground, as straight pieces, and what a cutter at some gap leaves and touches there.
//!
//! Between corners surface, cutter and stock are straight, so areas and ends of contact are exact for tapers made of straight
//! pieces. Smooth ramps are followed by chords. Effort: one look at each piece.

use super::Carrier;
use super::settings::CLOSE_MM;
use crate::model::lamination::Lamination;
use crate::numeric::interp::Between;
use crate::numeric::span::Span;
use crate::shop::sled::Sled;

/// Smooth surfaces are followed by straight pieces no longer than this, mm. Over such a piece a taper that changes by
/// 0.01 per 100 mm departs from its chord by 0.05 µm; much longer pieces would show in contact and volume.
const PIECE_MM: f64 = 2.0;

/// What the strip lies on, as straight pieces over `u`.
pub struct Bed {
    pub carrier: Carrier,
    pub surface: Vec<(f64, f64)>,
    pub final_gap_mm: f64,
    /// What travels under the cutter, mm.
    pub travel_mm: f64,
    /// The highest surface, where the strip ends thinnest.
    pub highest: BedPlace,
}

/// A place of the surface, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BedPlace {
    pub u_mm: f64,
    pub height_mm: f64,
}

impl Bed {
    pub fn flat(final_mm: f64, lamination: &Lamination) -> Bed {
        let length = lamination.strip_length_mm();
        Bed {
            carrier: Carrier::Flat,
            surface: vec![(0.0, 0.0), (length, 0.0)],
            final_gap_mm: final_mm,
            travel_mm: length,
            highest: BedPlace { u_mm: 0.0, height_mm: 0.0 },
        }
    }

    /// Corners of the ramp are kept exactly; a smooth ramp is cut into short pieces.
    pub fn sled(sled: &Sled) -> Bed {
        let length = sled.strip_length_mm;
        let mut places: Vec<f64> = sled.ramp.points().iter().map(|point| point.0).filter(|u| 0.0 < *u && *u < length).collect();
        places.insert(0, 0.0);
        places.push(length);
        if sled.ramp.between() == Between::Smooth {
            places = places
                .windows(2)
                .flat_map(|pair| {
                    let pieces = ((pair[1] - pair[0]) / PIECE_MM).ceil().clamp(1.0, 10_000.0) as usize;
                    (0..pieces).map(move |k| pair[0] + (pair[1] - pair[0]) * k as f64 / pieces as f64).collect::<Vec<_>>()
                })
                .chain([length])
                .collect();
        }
        let surface: Vec<(f64, f64)> = places.into_iter().map(|u| (u, sled.surface_mm(u))).collect();
        let (u_mm, height_mm) =
            surface.iter().copied().fold((0.0, f64::NEG_INFINITY), |best, p| if best.1 < p.1 { p } else { best });
        let highest = BedPlace { u_mm, height_mm };
        Bed { carrier: Carrier::Sled, surface, final_gap_mm: sled.final_gap_mm, travel_mm: sled.length_mm(), highest }
    }

    /// The lowest surface, where the strip ends thickest.
    pub fn lowest(&self) -> BedPlace {
        let lower = |best: (f64, f64), p: (f64, f64)| if p.1 < best.1 { p } else { best };
        let (u_mm, height_mm) = self.surface.iter().copied().fold((0.0, f64::INFINITY), lower);
        BedPlace { u_mm, height_mm }
    }

    /// Area of a strip of even thickness `stock_mm` seen from the side, once cut at `gap_mm`, mm².
    pub fn left_mm2(&self, stock_mm: f64, gap_mm: f64) -> f64 {
        self.surface
            .windows(2)
            .map(|piece| {
                let (width, a, b) = (piece[1].0 - piece[0].0, gap_mm - piece[0].1, gap_mm - piece[1].1);
                let (low, high) = (a.min(b), a.max(b));
                if high <= stock_mm {
                    0.5 * width * (low + high)
                } else if stock_mm <= low {
                    width * stock_mm
                } else {
                    // The cutter's line leaves the stock inside the piece.
                    let cut = width * (stock_mm - low) / (high - low);
                    0.5 * cut * (low + stock_mm) + (width - cut) * stock_mm
                }
            })
            .sum()
    }

    /// Stretches where a strip of even thickness `stock_mm` stands above `gap_mm`.
    pub fn contact(&self, stock_mm: f64, gap_mm: f64) -> Vec<Span> {
        let over = |height: f64| height + stock_mm - gap_mm - CLOSE_MM;
        let mut stretches: Vec<Span> = Vec::new();
        for piece in self.surface.windows(2) {
            let ((u0, h0), (u1, h1)) = (piece[0], piece[1]);
            let (a, b) = (over(h0), over(h1));
            let cross = || u0 + (u1 - u0) * a / (a - b);
            let (min, max) = match (0.0 < a, 0.0 < b) {
                (false, false) => continue,
                (true, true) => (u0, u1),
                (true, false) => (u0, cross()),
                (false, true) => (cross(), u1),
            };
            match stretches.last_mut() {
                Some(held) if min - held.max < CLOSE_MM => held.max = max,
                _ => stretches.push(Span { min, max }),
            }
        }
        stretches
    }
}
