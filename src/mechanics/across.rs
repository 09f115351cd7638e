//! How wide is a trapped or crowned limb at each depth?
//!
//! ```text
//!          ├─ b_k ─┤
//!   back   ┌───────┐       z = 0        b(z) = b_k + (b_e − b_k) z/e         0 ≤ z ≤ e = D − c
//!         ╱         ╲
//!        ├──── b_e ──┤     z = e        b(z) = 2 √(u (2R − u)),  u = D − z   e ≤ z ≤ D
//!         ╲__     __╱                   2R = b_e²/4c + c
//!   belly    ─────         z = D
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `z`, `D` | depth from the back, positive toward the belly; back to belly in the middle of the limb | mm |
//! | `b_k`, `b_e` | width of the back, and of the belly at its edges: one of them is the outline's | mm |
//! | `c`, `R` | height of the crown, an arc of a circle from edge to edge, and its radius | mm |
//!
//! Sides are straight from face to face, through riser and glue lines alike. What a section sums over a layer of modulus `E` are the moments
//! `∫ b zᵏ dz`, k = 0, 1, 2: closed forms along the sides; along the arc, with `u = x²`, the smooth
//! `∫ 4 x² √(2R − x²) zᵏ dx` by Gauss's rule with ten points. Up to a half circle (`c = b_e/2`, the most that is drawn) that is within 1e-10 of
//! itself, and no term loses digits where a crown begins at nothing.
//!
//! Each layer is scaled alike: one that is narrower than the outline by itself is so over its whole depth.
//!
//! A belly that is scraped keeps its crown's height and the slope of its sides.
//!
//! Valid as the section itself ([`super::section`]): sections stay plane and are the same left and right, so that a limb bends in its plane.
//! `tests/across.rs` holds stacks against another library's meshes. Left out: edges rounded to a radius, which a limb loses at the end and
//! `shop::blank` counts as a loss of width.
//!
//! Source: plane geometry, derived here; Gauss's points and weights: Abramowitz and Stegun, Table 25.4, n = 10.

/// Ratios of width at each depth of one section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SectionShape {
    /// Width of the outline, mm.
    full_mm: f64,
    /// Width of the back over the outline's, and its change per mm of depth along the sides.
    back: f64,
    per_mm: f64,
    /// Depth where sides end and crown begins, and of the crown's top, mm.
    edge_mm: f64,
    depth_mm: f64,
    /// 2R, mm; nothing without a crown.
    twice_radius_mm: f64,
}

/// Abscissas and weights on [−1, 1]: each counts on both sides.
const GAUSS: [(f64, f64); 5] = [
    (0.148_874_338_981_631_21, 0.295_524_224_714_752_87),
    (0.433_395_394_129_247_2, 0.269_266_719_309_996_36),
    (0.679_409_568_299_024_4, 0.219_086_362_515_982_04),
    (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
    (0.973_906_528_517_171_7, 0.066_671_344_308_688_14),
];

impl SectionShape {
    /// Of a section `full_mm` wide by its outline and `depth_mm` deep, with these widths of back and belly and this crown.
    #[must_use]
    pub fn of(full_mm: f64, [back_mm, belly_mm]: [f64; 2], crown_mm: f64, depth_mm: f64) -> SectionShape {
        // A stack thinner than its crown, or a crown past a half circle, is refused where it is typed; sizing may pass through.
        let crown_mm = crown_mm.min(0.5 * belly_mm).min(depth_mm).max(0.0);
        let edge_mm = depth_mm - crown_mm;
        let back = back_mm / full_mm;
        let per_mm = if 0.0 < edge_mm { (belly_mm / full_mm - back) / edge_mm } else { 0.0 };
        SectionShape { full_mm, back, per_mm, edge_mm, depth_mm, twice_radius_mm: 0.0 }.crowned(crown_mm)
    }

    fn crowned(self, crown_mm: f64) -> SectionShape {
        let edge_mm = self.full_mm * self.side(self.edge_mm);
        let twice_radius_mm = if 0.0 < crown_mm { 0.25 * edge_mm * edge_mm / crown_mm + crown_mm } else { 0.0 };
        SectionShape { twice_radius_mm, ..self }
    }

    /// The same with `off_mm` taken from the belly.
    #[must_use]
    pub fn scraped(self, off_mm: f64) -> SectionShape {
        let depth_mm = self.depth_mm - off_mm;
        let crown_mm = (self.depth_mm - self.edge_mm).min(depth_mm);
        SectionShape { edge_mm: depth_mm - crown_mm, depth_mm, ..self }.crowned(crown_mm)
    }

    /// Whether a layer whose back face is at this depth is part of the limb; what lies on its back or belly is square.
    pub(super) fn has(&self, back_mm: f64) -> bool {
        const ROUNDING_MM: f64 = 1e-9;
        -ROUNDING_MM < back_mm && back_mm < self.depth_mm - ROUNDING_MM
    }

    /// Ratio along the sides.
    fn side(&self, z_mm: f64) -> f64 {
        self.back + self.per_mm * z_mm
    }

    /// Width at a depth over the outline's.
    #[must_use]
    pub fn at(&self, z_mm: f64) -> f64 {
        if z_mm <= self.edge_mm { self.side(z_mm) } else { self.chord((self.depth_mm - z_mm).max(0.0).sqrt()) }
    }

    /// Ratio in the crown at `x²` below its top.
    fn chord(&self, x: f64) -> f64 {
        2.0 * x * (self.twice_radius_mm - x * x).max(0.0).sqrt() / self.full_mm
    }

    /// `∫ r zᵏ dz`, k = 0, 1, 2, of the ratio `r` between two depths, z from the back.
    #[must_use]
    pub fn moments(&self, from_mm: f64, to_mm: f64) -> [f64; 3] {
        let (mut zeroth, mut first, mut second) = (0.0, 0.0, 0.0);
        let sides_mm = to_mm.min(self.edge_mm);
        if from_mm < sides_mm {
            let (t, z) = (sides_mm - from_mm, 0.5 * (from_mm + sides_mm));
            let (r, square) = (self.side(z), t * t / 12.0);
            zeroth += r * t;
            first += t * (r * z + self.per_mm * square);
            second += t * (r * (z * z + square) + 2.0 * self.per_mm * z * square);
        }
        self.in_crown(from_mm, to_mm, |ratio, z, dz| {
            zeroth += ratio * dz;
            first += ratio * z * dz;
            second += ratio * z * z * dz;
        });
        [zeroth, first, second]
    }

    /// `∫ r³ dz`.
    #[must_use]
    pub fn cubed(&self, from_mm: f64, to_mm: f64) -> f64 {
        let mut sum = 0.0;
        let sides_mm = to_mm.min(self.edge_mm);
        if from_mm < sides_mm {
            let (a, b) = (self.side(from_mm), self.side(sides_mm));
            sum += 0.25 * (a + b) * (a * a + b * b) * (sides_mm - from_mm);
        }
        self.in_crown(from_mm, to_mm, |ratio, _, dz| sum += ratio.powi(3) * dz);
        sum
    }

    /// Ratio, depth and step of depth at the points of Gauss's rule in what lies of the crown between two depths.
    fn in_crown(&self, from_mm: f64, to_mm: f64, mut visit: impl FnMut(f64, f64, f64)) {
        let top = |z: f64| (self.depth_mm - z).max(0.0).sqrt();
        let (near, far) = (top(to_mm), top(from_mm.max(self.edge_mm)));
        if far <= near || self.twice_radius_mm <= 0.0 {
            return;
        }
        let (middle, half) = (0.5 * (near + far), 0.5 * (far - near));
        for (place, weight) in GAUSS.iter().flat_map(|(place, weight)| [(*place, *weight), (-place, *weight)]) {
            let x = middle + half * place;
            visit(self.chord(x), self.depth_mm - x * x, 2.0 * x * weight * half);
        }
    }
}
