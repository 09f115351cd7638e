//! The two limbs of a bow, where they differ: each has a build file of its own.

/// Which limb of the bow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimbSide {
    Upper,
    Lower,
}

impl LimbSide {
    /// Upper first, as everywhere.
    pub const BOTH: [LimbSide; 2] = [LimbSide::Upper, LimbSide::Lower];

    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            LimbSide::Upper => "upper",
            LimbSide::Lower => "lower",
        }
    }

    #[must_use]
    pub fn other(self) -> LimbSide {
        match self {
            LimbSide::Upper => LimbSide::Lower,
            LimbSide::Lower => LimbSide::Upper,
        }
    }

    /// What belongs to this limb and to the other one, the upper limb's first.
    pub fn upper_first<T>(self, own: T, other: T) -> [T; 2] {
        match self {
            LimbSide::Upper => [own, other],
            LimbSide::Lower => [other, own],
        }
    }
}

impl OneLimb {
    /// What a part of this limb is called where those of both lie together, such as `upper back`.
    pub fn part_name(&self, name: &str) -> String {
        format!("{} {name}", self.is.word())
    }
}

/// A build that describes one limb of a bow whose other limb is a different one.
#[derive(Debug, Clone, PartialEq)]
pub struct OneLimb {
    pub is: LimbSide,
    /// Name of the other limb's build file as it was given, and the title in it.
    pub other_file: String,
    pub other_title: String,
    /// Station of the other limb's nock, mm.
    pub other_nock_mm: f64,
}
