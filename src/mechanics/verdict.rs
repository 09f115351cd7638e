//! Does a strip bear what is asked of it? One answer for every command, sheet and page.
//!
//! A strip is bent twice, and a riser that hands have cut is bent in every shot; each has its own limits:
//!
//! | when | measured against | goes | caution | stop |
//! |---|---|---|---|---|
//! | in the bow, braced and drawn, what the glue-up left included | its wood's breaking strain `ε_b` | up to 100 % | up to 115 % | beyond |
//! | dry, once, over the riser's fade or a form | [`Limits`] and `ε_b` | up to 1.0 % and ⅚ `ε_b` | up to 1.4 % and `ε_b` | beyond |
//! | what is left of the riser at the arrow pass and the throat | `ε_b` of its wood | up to 25 % | up to 50 % | beyond |
//!
//! `ε_b` is the handbook's bending strength over its bending modulus: the surface strain at the average breaking load if wood stayed elastic. It
//! does not, so that sound bows work beyond it; and pieces scatter by a sixth either way, so that below it some break. Designs of ours stay
//! below [`COMFORTABLE`].
//!
//! A part of the drawn bow gets its words in [`super::overstrain`], a whole strip its verdict in [`super::strip_verdict`].
//!
//! Common practice, no source: the shares; the dry limits are proposals of the size of old tables for bending dry boards (radius over
//! thickness 35 to 50).

use crate::units::limit;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    Goes,
    Caution,
    /// Not without a test: in the bow most boards will not bear it, dry a test strip is bent first.
    Stop,
}

impl Verdict {
    /// The word for it wherever the strain is shown.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Goes => "goes",
            Verdict::Caution => "caution",
            Verdict::Stop => "stop",
        }
    }

    /// The words for a strip bent dry: a stop says what comes first.
    pub fn dry_words(self) -> &'static str {
        match self {
            Verdict::Stop => "stop, bend a test strip first",
            other => other.word(),
        }
    }
}

/// Share of the breaking strain up to which a design is easy to build: room for the scatter of strip, station and tiller. Common practice,
/// no source; higher, and ordinary boards of a batch break, lower, and every bow gets wide and long.
pub const COMFORTABLE: f64 = 0.95;
/// Share of the breaking strain up to which nothing is said: half of all boards bear more.
pub(crate) const AVERAGE: f64 = 1.0;
/// Share above which most boards will not bear it, although handbook strength over modulus understates the strain at which wood breaks.
/// Lower, and every sound flatbow of old is called broken; higher, and what breaks passes.
pub(crate) const BEYOND_MOST: f64 = 1.15;
/// Share for a dry strip above which one in six breaks: the average less a standard deviation.
const DRY: f64 = 5.0 / 6.0;

/// Surface strains of a dry lamination bent over a fade or onto a form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    pub caution: f64,
    /// Stop, and bend a test strip first.
    pub stop: f64,
}

impl Default for Limits {
    fn default() -> Self {
        Limits { caution: 0.010, stop: 0.014 }
    }
}

impl Limits {
    /// The same for a wood that breaks at `breaking_strain` on average, where that is published.
    #[must_use]
    pub fn of_wood(self, breaking_strain: Option<f64>) -> Limits {
        let breaking = breaking_strain.unwrap_or(f64::INFINITY);
        Limits { caution: self.caution.min(DRY * breaking), stop: self.stop.min(breaking) }
    }

    /// Of a dry strip bent to this surface strain.
    pub fn verdict(self, strain: f64) -> Verdict {
        judged(strain.abs(), self.caution, self.stop)
    }

    /// Which of them a dry strip bent to this surface strain is over, and what comes first; `None` where it goes.
    pub fn over(self, strain: f64) -> Option<String> {
        let (limit, first) = match self.verdict(strain) {
            Verdict::Goes => return None,
            Verdict::Caution => (self.caution, String::new()),
            stop @ Verdict::Stop => (self.stop, format!(": {}", stop.dry_words())),
        };
        Some(format!("over the {:.2} percent that we propose as a limit for it dry{first}", 100.0 * limit))
    }
}

/// Of a part that works at this share of its breaking strain in the bow.
#[must_use]
pub fn in_the_bow(share_of_breaking: f64) -> Verdict {
    judged(share_of_breaking, AVERAGE, BEYOND_MOST)
}

/// Share of its wood's breaking strain up to which nothing is said of a riser where it is cut. Strength scatters by a sixth (Wood Handbook, chapter
/// 5; from memory), so that a weak piece has half of the average; and after millions of loads clear wood keeps about half of what it bears once
/// (Wood Handbook, chapter 5, on fatigue; from memory). The product is ours. A limb that is overdrawn takes a set first; a riser breaks.
pub const CUT_CAUTION: f64 = 0.25;
/// Share above which a weak piece would break at once.
pub(crate) const CUT_STOP: f64 = 0.5;

/// Of what is left of a riser where it works at this share of its wood's breaking strain.
#[must_use]
pub fn at_a_cut(share_of_breaking: f64) -> Verdict {
    judged(share_of_breaking, CUT_CAUTION, CUT_STOP)
}

fn judged(value: f64, caution: f64, stop: f64) -> Verdict {
    if limit::above(value, stop) {
        Verdict::Stop
    } else if limit::above(value, caution) {
        Verdict::Caution
    } else {
        Verdict::Goes
    }
}
