//! What hands cut from the glued riser: the grip from its belly, shelf and sight window from one side.
//!
//! Stations here are signed: positive toward the upper limb. All cuts lie within the riser's level part.

use super::outline::Outline;

/// Which of the two a riser has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutByHand {
    Shelf,
    Grip,
    ShelfAndGrip,
}

impl CutByHand {
    /// Within a sentence.
    pub fn words(self) -> &'static str {
        match self {
            CutByHand::Shelf => "the shelf",
            CutByHand::Grip => "the grip",
            CutByHand::ShelfAndGrip => "shelf and grip",
        }
    }

    /// With its verb: `shelf and grip are cut`.
    pub fn is_cut(self) -> String {
        let verb = if self == CutByHand::ShelfAndGrip { "are" } else { "is" };
        format!("{} {verb} cut", self.words())
    }

    /// As a heading begins.
    pub fn title(self) -> &'static str {
        match self {
            CutByHand::Shelf => "Shelf",
            CutByHand::Grip => "Grip",
            CutByHand::ShelfAndGrip => "Shelf and grip",
        }
    }
}

/// The grip's belly: deepest at the throat, which is at the bow's centre and is the pivot point that draw lengths are counted from.
///
/// ```text
///   full depth ────╮                           ╭──── full depth
///                   ╲                 ╭───────╯ heel
///                    ╲          ╭────╯ palm swell
///                     ╰────────╯ throat
///     upper limb    up ←────┼────→ down      lower limb
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grip {
    /// Back to belly at the throat, mm.
    pub throat_mm: f64,
    /// From the throat up to where the wood is full, mm.
    pub up_mm: f64,
    /// From the throat down to the palm swell, mm.
    pub down_mm: f64,
    /// Where the palm swell is cut, too.
    pub palm: Option<Palm>,
}

/// A palm swell that is less than the full depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Palm {
    /// Back to belly, mm.
    pub depth_mm: f64,
    /// From the palm swell down to where the wood is full, mm.
    pub heel_mm: f64,
}

impl Grip {
    /// Wood off the belly at station `s`, mm: eased from place to place, level at each of them. `full_mm` is how deep the bow is at a station
    /// before the cut.
    pub fn off_mm(&self, full_mm: impl Fn(f64) -> f64, s: f64) -> f64 {
        let throat = full_mm(0.0) - self.throat_mm;
        let palm = self.palm.map_or(0.0, |palm| full_mm(self.down_mm) - palm.depth_mm);
        let below = -s - self.down_mm;
        if 0.0 <= s {
            throat * eased(1.0 - s / self.up_mm)
        } else if below <= 0.0 {
            palm + (throat - palm) * eased(-below / self.down_mm)
        } else {
            palm * self.palm.map_or(0.0, |palm| eased(1.0 - below / palm.heel_mm))
        }
    }

    /// From the throat down to where the wood is full, mm.
    pub fn below_mm(&self) -> f64 {
        self.down_mm + self.palm.map_or(0.0, |palm| palm.heel_mm)
    }
}

/// From 0 to 1, level at both ends.
fn eased(part: f64) -> f64 {
    let part = part.clamp(0.0, 1.0);
    part * part * (3.0 - 2.0 * part)
}

/// The hand that draws the string.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrawHand {
    Right,
    Left,
}

impl DrawHand {
    /// As build files write it.
    pub fn word(self) -> &'static str {
        match self {
            DrawHand::Right => "right",
            DrawHand::Left => "left",
        }
    }
}

/// Depth of a shelf across the bow that an arrow still lies on, mm: an eighth of an inch. A limit of ours.
pub const MIN_SHELF_MM: f64 = 3.175;

/// Shelf and sight window: one side is cut away over the grip, from the back through to the belly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArrowPass {
    pub hand: DrawHand,
    /// Station of the shelf: how far it lies over the throat, mm.
    pub height_mm: f64,
    /// How far the window's face lies past the bow's centre line; negative where it stops short of it, mm.
    pub past_centre_mm: f64,
    /// Straight length of the window over the shelf, mm.
    pub window_mm: f64,
    /// Length over which the window runs out to the side, an arc tangent to its face, mm.
    pub sweep_mm: f64,
    /// Radius of the inside corner between shelf and window, mm; edges are rounded to no less.
    pub corner_mm: f64,
}

impl ArrowPass {
    /// The side that is cut, as the sign of `v`, which is across the width and positive on the archer's right: a right-handed archer's arrow lies
    /// on the left of the bow.
    pub fn side(&self) -> f64 {
        match self.hand {
            DrawHand::Right => -1.0,
            DrawHand::Left => 1.0,
        }
    }

    /// Station where the straight part of the window ends, mm.
    pub fn straight_end_mm(&self) -> f64 {
        self.height_mm + self.window_mm
    }

    /// Station where the window has run out to the side, mm.
    pub fn end_mm(&self) -> f64 {
        self.straight_end_mm() + self.sweep_mm
    }

    /// Radius of the sweep that rises `rise_mm` from the window's face to the side: `(l² + h²)/(2h)`, mm.
    pub fn sweep_radius_mm(&self, rise_mm: f64) -> f64 {
        (self.sweep_mm * self.sweep_mm + rise_mm * rise_mm) / (2.0 * rise_mm)
    }

    /// The station where the bow is narrowest along the straight window, mm. Between its points an outline rises or falls.
    pub fn narrowest_mm(&self, outline: &Outline) -> f64 {
        let (from, to) = (self.height_mm, self.straight_end_mm());
        let inside = outline.width.points().iter().map(|point| point.0).filter(|s| from < *s && *s < to);
        inside.chain([to]).fold(from, |min, here| if outline.width_at(here) < outline.width_at(min) { here } else { min })
    }

    /// Where the face stands at station `s`, from the centre line toward the side that is cut, mm, by the half width at [`ArrowPass::end_mm`];
    /// `None` below the shelf and beyond the window.
    pub fn face_mm(&self, s: f64, half_at_end_mm: f64) -> Option<f64> {
        if s < self.height_mm || self.end_mm() < s {
            return None;
        }
        let beyond = s - self.straight_end_mm();
        let rise = if 0.0 < beyond {
            let radius = self.sweep_radius_mm(half_at_end_mm + self.past_centre_mm);
            radius - (radius * radius - beyond * beyond).max(0.0).sqrt()
        } else {
            0.0
        };
        Some(rise - self.past_centre_mm)
    }

    /// The wood that is left at station `s` of a bow with this half width there: from and to, in `v`, mm.
    pub fn left_mm(&self, s: f64, half_mm: f64, half_at_end_mm: f64) -> [f64; 2] {
        let face = self.face_mm(s, half_at_end_mm).map_or(half_mm, |face| face.clamp(-half_mm, half_mm));
        if self.side() < 0.0 { [-face, half_mm] } else { [-half_mm, face] }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grip_is_as_deep_as_it_is_said_at_throat_palm_and_ends() {
        let grip = Grip { throat_mm: 36.0, up_mm: 40.0, down_mm: 60.0, palm: Some(Palm { depth_mm: 41.0, heel_mm: 20.0 }) };
        let depth = |s: f64| 45.0 - grip.off_mm(|_| 45.0, s);
        for (s, wanted) in [(0.0, 36.0), (40.0, 45.0), (-60.0, 41.0), (-80.0, 45.0), (90.0, 45.0), (-200.0, 45.0), (20.0, 40.5)] {
            assert!((depth(s) - wanted).abs() < 1e-12, "{s}");
        }
        for k in 0..1400 {
            let s = 60.0 - 0.1 * f64::from(k);
            assert!((depth(s) - depth(s - 0.1)).abs() < 0.04, "a step at {s}");
        }
    }

    #[test]
    fn the_window_runs_out_to_the_side_and_leaves_what_lies_beyond_its_face() {
        let pass = ArrowPass {
            hand: DrawHand::Right,
            height_mm: 40.0,
            past_centre_mm: 3.0,
            window_mm: 60.0,
            sweep_mm: 30.0,
            corner_mm: 5.0,
        };
        let left = |s: f64| pass.left_mm(s, 15.0, 15.0);
        // The arrow lies on the archer's left: the wood that is left is on his right, v from 3 on.
        assert_eq!(left(39.9), [-15.0, 15.0]);
        assert_eq!(left(60.0), [3.0, 15.0]);
        assert!((left(130.0)[0] + 15.0).abs() < 1e-9 && left(130.1) == [-15.0, 15.0]);
        let other = ArrowPass { hand: DrawHand::Left, ..pass };
        assert_eq!(other.left_mm(60.0, 15.0, 15.0), [-15.0, -3.0]);
        assert_eq!(ArrowPass { past_centre_mm: -2.0, ..pass }.left_mm(60.0, 15.0, 15.0), [-2.0, 15.0]);
    }
}
