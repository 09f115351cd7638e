//! One lamination: its finished shape in the bow, and the longer strip that goes through the sander.

use super::join::{Meet, Splice};
use super::taper::Taper;
use super::wood::Wood;
use super::workshop::{Sander, SledPlan};
use crate::diag::Place;
use crate::numeric::interp::Curve;

#[derive(Debug, Clone, PartialEq)]
pub struct Lamination {
    pub name: String,
    /// Of the whole strip, or of its inner piece where it is spliced of two woods.
    pub wood: Wood,
    pub finished: Taper,
    /// The lamination lies between these stations on each limb, mm; full-length ones start at 0.
    pub from_mm: f64,
    pub to_mm: f64,
    pub pieces: Pieces,
    /// How its halves meet at the grip; butted for one that is full or does not reach it.
    pub meet: Meet,
    /// Limbs that are made so: both, or one whose other limb is a different one.
    pub limbs: u32,
    /// Its strips are glued up from shorter pieces; `None` for whole ones.
    pub splice: Option<Splice>,
    /// This face is not ground (outer fibres, a show face).
    pub keep_face: Option<Face>,
    /// Told that no face is kept, whatever the material: without it glass and bamboo's outer face stay whole.
    pub faces_free: bool,
    /// Already ground: measured, not to be changed by this program.
    pub ground: bool,
    pub stock: Stock,
    /// Glue-up stage in which it is glued, from 1.
    pub stage: u32,
    /// Effective width as a share of the outline's width, 1 unless the strip is crowned or trapped.
    pub width_fraction: f64,
    /// The board or batch that its strips come from: strips of one board vary together. `None` where the builder does not say.
    pub board: Option<String>,
    /// The wood's modulus is that of a bending test of these very strips.
    pub modulus_tested: bool,
    /// A sled made otherwise than the others; `None` for one like `[sled]`.
    pub sled: Option<SledPlan>,
    /// Its own full width along the limb, where it is not the outline's: in a blank that is not trimmed yet, mm over mm.
    pub own_width: Option<Curve>,
    /// The table in the build file, for faults.
    pub place: Place,
}

/// How a lamination is made up from strips.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pieces {
    /// One strip from tip to tip, ground end for end: thick in the middle.
    Full,
    /// A matched pair that meets at the bow's centre (or starts at `from` on each limb).
    Halves,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    Back,
    Belly,
}

impl Face {
    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            Face::Back => "back",
            Face::Belly => "belly",
        }
    }

    pub fn other(self) -> Face {
        match self {
            Face::Back => Face::Belly,
            Face::Belly => Face::Back,
        }
    }
}

/// Which piece of a lamination lies in a layer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LaidPiece {
    /// The strip itself, or its inner piece.
    Own,
    /// The piece beyond a splice of two woods.
    Outer,
    /// The end of the other half, where halves lap.
    OtherHalf,
}

/// A layer of a lamination at a station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LaidLayer<'a> {
    pub piece: LaidPiece,
    pub thickness_mm: f64,
    pub wood: &'a Wood,
    /// It is of one strip with the layer over it: no glue line of the build's lies between them.
    pub scarfed: bool,
}

/// At its feathers a piece is this part of the strip thick: nothing to any gauge, and still a layer.
const FEATHER_PART: f64 = 1e-9;

/// The strip before grinding.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stock {
    pub thickness_mm: f64,
    /// Greatest departure from that thickness, ±mm.
    pub spread_mm: f64,
    pub width_mm: f64,
    /// Strip beyond the finished lamination at each end, mm. The taper continues over it, down to the feather if it has one.
    pub overrun_mm: f64,
    /// To be taken off the first face to make it true before the taper is cut on the other; 0 if one face is true already.
    pub first_face_mm: f64,
}

/// A name as part of a file's name: small letters a to z, digits and `-`, never empty. Letters of other scripts are spelled out.
///
/// ```
/// use taperwright::model::lamination::file_name;
/// assert_eq!(file_name("Bamboo back (outer)"), "bamboo-back-outer");
/// assert_eq!(file_name("Weißbuche, Kern"), "weissbuche-kern");
/// assert_eq!(file_name(".."), "unnamed");
/// ```
pub fn file_name(name: &str) -> String {
    let plain: String =
        deunicode::deunicode(name).to_lowercase().chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '-' }).collect();
    let parts: Vec<&str> = plain.split('-').filter(|part| !part.is_empty()).collect();
    if parts.is_empty() { "unnamed".into() } else { parts.join("-") }
}

impl Lamination {
    /// Finished thickness at station `s` (its distance from the centre), mm; 0 outside the lamination's span.
    pub fn thickness_at(&self, s: f64) -> f64 {
        let s = s.abs();
        // Half a micrometre of grace, so that a station typed as the span's end counts as inside.
        if self.from_mm - 5e-4 <= s && s <= self.to_mm + 5e-4 { self.finished.at(s) } else { 0.0 }
    }

    /// What lies of it at station `s_mm`, back to belly, with the pieces that are present at station `inside_mm`, which lies within its span:
    /// one layer; two where two woods are scarfed, or where its halves lap.
    pub fn laid_at(&self, inside_mm: f64, s_mm: f64) -> impl Iterator<Item = LaidLayer<'_>> {
        let thickness_mm = self.finished.at(s_mm);
        let own = |thickness_mm| LaidLayer { piece: LaidPiece::Own, thickness_mm, wood: &self.wood, scarfed: false };
        let lapped = |other_mm| LaidLayer { piece: LaidPiece::OtherHalf, ..own(other_mm) };
        let other_half = self.lapped_mm(inside_mm, s_mm).map(lapped);
        let pair = match self.outer().zip(self.two_woods_mm()) {
            None => [Some(own(thickness_mm)), other_half],
            // A lap lies at the grip, and a splice beyond it.
            Some((_, [from, _])) if inside_mm < from => [Some(own(thickness_mm)), other_half],
            Some((outer, [from, to])) => {
                let beyond = |thickness_mm| LaidLayer { piece: LaidPiece::Outer, wood: &outer.wood, ..own(thickness_mm) };
                if to < inside_mm {
                    [Some(beyond(thickness_mm)), None]
                } else {
                    let part = ((s_mm - from) / (to - from)).clamp(FEATHER_PART, 1.0 - FEATHER_PART) * thickness_mm;
                    let [first, second] = if outer.on_back {
                        [beyond(part), own(thickness_mm - part)]
                    } else {
                        [own(thickness_mm - part), beyond(part)]
                    };
                    [Some(first), Some(LaidLayer { scarfed: true, ..second })]
                }
            }
        };
        pair.into_iter().flatten()
    }

    /// Length of one strip as it goes through the sander, overrun included, mm.
    pub fn strip_length_mm(&self) -> f64 {
        let ends = 2.0 * self.stock.overrun_mm;
        match self.pieces {
            Pieces::Full => 2.0 * self.to_mm + ends,
            Pieces::Halves => self.to_mm - self.butt_mm() + ends,
        }
    }

    /// The station that lies at `u` on the strip, `u` from the strip's butt end (halves) or from one tip (full), mm.
    ///
    /// Where halves overlap, and on the butt overrun of a half strip, the station is less than `from_mm`; it may be negative.
    pub fn station_at(&self, u: f64) -> f64 {
        match self.pieces {
            Pieces::Full => (u - 0.5 * self.strip_length_mm()).abs(),
            Pieces::Halves => self.butt_mm() + u - self.stock.overrun_mm,
        }
    }

    /// The place on the strip of station `s`, `u` in mm; on a full strip that of the second half.
    pub fn u_of(&self, s: f64) -> f64 {
        match self.pieces {
            Pieces::Full => 0.5 * self.strip_length_mm() + s,
            Pieces::Halves => s - self.butt_mm() + self.stock.overrun_mm,
        }
    }

    /// What one counts from the bow's centre to `u`, mm, so that [`Lamination::u_of`] gives `u` back: the station, on a full strip
    /// negative toward its first end.
    pub fn counted_from_centre_mm(&self, u: f64) -> f64 {
        match self.pieces {
            Pieces::Full => u - 0.5 * self.strip_length_mm(),
            Pieces::Halves => self.station_at(u),
        }
    }

    /// Finished thickness at `u` on the strip; over the overrun the taper continues, mm.
    pub fn strip_thickness_at(&self, u: f64) -> f64 {
        self.finished.at(self.station_at(u))
    }

    /// Places on the strip where the finished thickness has a corner or a stated value, with both ends, increasing, mm.
    pub fn strip_corners(&self) -> Vec<f64> {
        let length = self.strip_length_mm();
        let mut corners = vec![0.0, length];
        for s in self.finished.corners() {
            corners.push(self.u_of(s));
            if self.pieces == Pieces::Full {
                corners.push(length - self.u_of(s));
            }
        }
        if self.pieces == Pieces::Full {
            corners.push(0.5 * length);
        }
        corners.retain(|u| (0.0..=length).contains(u));
        corners.sort_by(f64::total_cmp);
        corners.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        corners
    }

    /// The whole strip is of one thickness, so that it needs no sled.
    pub fn is_parallel(&self) -> bool {
        const SAME_MM: f64 = 1e-6;
        let butt = self.strip_thickness_at(0.0);
        self.strip_corners().iter().all(|u| (self.strip_thickness_at(*u) - butt).abs() < SAME_MM)
    }

    /// Finished thickness where the base of a sled is counted from: at the butt, or in the middle of a full strip, mm.
    pub fn butt_thickness_mm(&self) -> f64 {
        match self.pieces {
            Pieces::Full => self.finished.at(0.0),
            Pieces::Halves => self.finished.at(self.from_mm),
        }
    }

    /// How many strips of it one bow takes.
    pub fn strips_per_bow(&self) -> u32 {
        match self.pieces {
            Pieces::Full => 1,
            Pieces::Halves => self.limbs,
        }
    }
}

/// What a sander may do with a lamination.
impl Sander {
    /// The thinnest that a strip of this lamination may become, mm. One that ends in a feather lies on its sled all along, and the
    /// feather is its limit.
    pub fn min_for_mm(&self, lamination: &Lamination) -> f64 {
        lamination.finished.feather_mm().filter(|_| !lamination.is_parallel()).unwrap_or(self.min_thickness_mm)
    }

    /// Strips of this lamination side by side: no more than one bow takes.
    pub fn together_for(&self, lamination: &Lamination) -> u32 {
        self.together.clamp(1, lamination.strips_per_bow())
    }
}
