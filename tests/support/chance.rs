//! Chance for tests that hide a cause and ask for it: drawn from a seed, so that each case can be looked at again.
/// A small generator of our own (linear congruential, constants after Knuth's MMIX): equal on every machine.
pub struct Chance(pub u64);

impl Chance {
    /// From a seed, with the first numbers thrown away: near seeds begin alike.
    pub fn of(seed: u64) -> Chance {
        let mut chance = Chance(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(1));
        (0..8).for_each(|_| _ = chance.uniform());
        chance
    }

    /// From a seed whose bits are mixed (S. Vigna's splitmix64, from memory): of a row of seeds, near ones have nothing in common.
    pub fn mixed(seed: u64) -> Chance {
        let mut z = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        Chance::of(z ^ (z >> 31))
    }

    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn between(&mut self, min: f64, max: f64) -> f64 {
        min + (max - min) * self.uniform()
    }

    /// Between −1 and 1.
    pub fn either_way(&mut self) -> f64 {
        2.0 * self.uniform() - 1.0
    }

    /// Nearly normal with deviation 1: twelve uniforms (Irwin and Hall).
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }

    /// From 0 to less than `count`.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.uniform() * count as f64) as usize).min(count - 1)
    }
}
