//! Laminations glued up from shorter pieces: plain scarfs, cut at a slope through the thickness.
//!
//! ```text
//!   back  ────────────────────╱─────────      slope n: n along the wood for 1 through it
//!            inner piece    ╱   outer piece
//!   belly ───────────────╱──────────────      length n·t of a scarf through thickness t
//!                     at ↑ its middle
//! ```
//!
//! So drawn the inner piece lies toward the back within the scarf: its feather is on the back and points to the tip. Both pieces may be of different
//! woods; then the scarf counts as two layers whose shares of the thickness run straight from all of one to all of the other. The plane that a
//! block plane leaves differs from that by what the strip tapers over the scarf, one or two parts in a hundred of the thickness.

use super::build::Build;
use super::join::{OuterPiece, Splice};
use super::lamination::{Lamination, Pieces};
use super::wood::Wood;
use crate::numeric::root;
use crate::units::limit;

/// So many bring any strip's length below the last bit of its stations.
const HALVINGS: u32 = 60;

/// What no scarf should lie over; common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScarfOver {
    /// The splice of the lamination with this index, which lies against its own: one sound strip over each.
    Splice(usize),
    /// The riser's fade, where its strip climbs it: there the strip is bent in the glue-up. One that lies flat against the block is not.
    Fade,
    /// The riser's feather: there the limb begins to bend, in every strip of it.
    RiserEnd,
    /// The feather of the riser's overlay, on the strip that it is glued on.
    OverlayEnd,
    /// The string's groove, which is filed through every strip.
    Nock,
}

impl ScarfOver {
    /// As builders call it.
    pub fn words(self, build: &Build) -> String {
        match self {
            ScarfOver::Splice(other) => format!("the splice of {}", build.laminations[other].name),
            ScarfOver::Fade => "the riser's fade".into(),
            ScarfOver::RiserEnd => "the end of the riser's fade".into(),
            ScarfOver::OverlayEnd => "the end of the riser's overlay".into(),
            ScarfOver::Nock => "the nock".into(),
        }
    }
}

/// From and to of what a scarf should keep off, mm; both alike where that is an end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeptOff {
    pub over: ScarfOver,
    pub from_mm: f64,
    pub to_mm: f64,
}

impl KeptOff {
    /// A scarf lies over it, and not only touches it.
    fn lies_under(&self, [from, to]: [f64; 2]) -> bool {
        limit::above(to, self.from_mm) && limit::below(from, self.to_mm)
    }
}

/// A scarf that lies where none should.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MisplacedScarf {
    /// Index into [`Build::laminations`]; of two that lie over each other the one nearer the belly.
    pub lamination: usize,
    pub over: ScarfOver,
    /// The stations that both have in common, mm.
    pub from_mm: f64,
    pub to_mm: f64,
}

impl Build {
    /// Every scarf that lies where none should, in the order of the laminations.
    pub fn misplaced_scarfs(&self) -> Vec<MisplacedScarf> {
        let of = |(lamination, scarf): (usize, [f64; 2])| {
            let told_before = move |off: &KeptOff| matches!(off.over, ScarfOver::Splice(other) if lamination < other);
            let found =
                self.scarf_keeps_off(lamination).into_iter().filter(move |off| !told_before(off) && off.lies_under(scarf));
            found.map(move |KeptOff { over, from_mm, to_mm }| MisplacedScarf {
                lamination,
                over,
                from_mm: from_mm.max(scarf[0]),
                to_mm: to_mm.min(scarf[1]),
            })
        };
        let scarfs = self.laminations.iter().enumerate().filter_map(|(index, l)| Some((index, l.spliced_mm()?)));
        scarfs.flat_map(of).collect()
    }

    /// What the scarf of this lamination should keep off, as the others lie.
    pub fn scarf_keeps_off(&self, index: usize) -> Vec<KeptOff> {
        let riser = self.riser.as_ref();
        let mut all = Vec::new();
        for other in index.checked_sub(1).into_iter().chain([index + 1]) {
            let Some([from_mm, to_mm]) = self.laminations.get(other).and_then(Lamination::spliced_mm) else { continue };
            // A riser between them keeps them apart.
            let between = riser.filter(|riser| riser.position == index.max(other));
            let from_mm = between.map_or(from_mm, |riser| from_mm.max(riser.feather_station_mm()));
            if from_mm < to_mm {
                all.push(KeptOff { over: ScarfOver::Splice(other), from_mm, to_mm });
            }
        }
        let end = |over, at_mm: f64| KeptOff { over, from_mm: at_mm, to_mm: at_mm };
        if let Some(riser) = riser {
            let (level_mm, feather_mm) = (0.5 * riser.level_mm, riser.feather_station_mm());
            let climbs = riser.position <= index;
            all.push(if climbs {
                KeptOff { over: ScarfOver::Fade, from_mm: level_mm, to_mm: feather_mm }
            } else {
                end(ScarfOver::RiserEnd, feather_mm)
            });
            let overlay = riser.overlay.as_ref().filter(|_| index + 1 == self.laminations.len());
            let ends = overlay.map(|overlay| overlay.profile.feather_station_mm());
            // On a fade that the strip climbs it has been named.
            all.extend(ends.filter(|ends| !climbs || *ends < level_mm).map(|ends| end(ScarfOver::OverlayEnd, ends)));
        }
        all.extend(self.nock_groove_mm().map(|[from_mm, to_mm]| KeptOff { over: ScarfOver::Nock, from_mm, to_mm }));
        all
    }

    /// The nearest stations for the middle of its scarf that keep off all of it, toward the grip and toward the tip, mm; `None` where its strip
    /// has no such place that way.
    pub fn clear_for_scarf_mm(&self, index: usize) -> [Option<f64>; 2] {
        let lamination = &self.laminations[index];
        let Some(splice) = &lamination.splice else { return [None; 2] };
        let off = self.scarf_keeps_off(index);
        let ends = |at_mm: f64| lamination.scarf_at_mm(splice, at_mm);
        let inner_mm = if lamination.pieces == Pieces::Full { 0.0 } else { lamination.from_mm + lamination.reach_mm() };
        let moved = |outward: bool| {
            let mut at_mm = splice.at_mm;
            // Each turn passes one of them, and none is met again.
            for _ in 0..=off.len() {
                let Some(met) = off.iter().find(|met| met.lies_under(ends(at_mm))) else { break };
                let clear = |at_mm: f64| if outward { met.to_mm <= ends(at_mm)[0] } else { ends(at_mm)[1] <= met.from_mm };
                let far_mm = if outward { lamination.to_mm } else { inner_mm };
                if !clear(far_mm) {
                    return None;
                }
                at_mm = root::bisect(clear, far_mm, at_mm, HALVINGS).holds;
            }
            let [from, to] = ends(at_mm);
            (!limit::below(from, inner_mm) && !limit::above(to, lamination.to_mm)).then_some(at_mm)
        };
        [moved(false), moved(true)]
    }
}

/// Pieces of one length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SplicePieces {
    /// How many for one bow.
    pub count: u32,
    pub place: PiecePlace,
    /// As it is sawn, its scarfs and overrun included, mm.
    pub length_mm: f64,
}

/// Where in its strip a piece lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PiecePlace {
    /// Of a strip from tip to tip that is spliced at its centre.
    Half,
    /// Between two splices.
    Middle,
    /// From a half's butt to the splice.
    Inner,
    /// Beyond the splice.
    Outer,
}

impl PiecePlace {
    pub fn word(self) -> &'static str {
        match self {
            PiecePlace::Half => "half",
            PiecePlace::Middle => "middle",
            PiecePlace::Inner => "inner",
            PiecePlace::Outer => "outer",
        }
    }
}

impl Lamination {
    /// From and to of the splice on the finished lamination of one limb, mm; from the centre where it lies across it.
    pub fn spliced_mm(&self) -> Option<[f64; 2]> {
        let splice = self.splice.as_ref()?;
        let half = 0.5 * splice.length_mm(self.thickness_at(splice.at_mm));
        Some([(splice.at_mm - half).max(0.0), splice.at_mm + half])
    }

    /// From and to of its scarf, were its middle at this station, mm.
    fn scarf_at_mm(&self, splice: &Splice, at_mm: f64) -> [f64; 2] {
        let half = 0.5 * splice.length_mm(self.finished.at(at_mm));
        [at_mm - half, at_mm + half]
    }

    /// The outermost station for the middle of its scarf that ends it at this station or before, mm.
    pub fn scarf_ends_by_mm(&self, end_mm: f64) -> Option<f64> {
        let splice = self.splice.as_ref()?;
        let within = |at_mm: f64| self.scarf_at_mm(splice, at_mm)[1] <= end_mm;
        within(0.0).then(|| root::bisect(within, 0.0, end_mm, HALVINGS).holds)
    }

    /// The piece beyond its splice, where that is of another wood.
    pub fn outer(&self) -> Option<&OuterPiece> {
        self.splice.as_ref()?.outer.as_ref()
    }

    /// From and to of the scarf in which two woods lie over each other, mm.
    pub fn two_woods_mm(&self) -> Option<[f64; 2]> {
        self.outer().and_then(|_| self.spliced_mm())
    }

    /// The wood of each of its pieces: one, or that of the inner piece and that beyond the splice.
    pub fn woods(&self) -> impl Iterator<Item = &Wood> {
        std::iter::once(&self.wood).chain(self.outer().map(|outer| &outer.wood))
    }

    /// The woods that lie between two stations.
    pub fn woods_between(&self, from_mm: f64, to_mm: f64) -> impl Iterator<Item = &Wood> {
        let [inner_ends, outer_begins] = self.two_woods_mm().map_or([f64::INFINITY; 2], |[from, to]| [to, from]);
        let inner = (from_mm < inner_ends).then_some(&self.wood);
        inner.into_iter().chain(self.outer().map(|outer| &outer.wood).filter(move |_| outer_begins < to_mm))
    }

    /// Its wood in words, both of them where it is spliced of two.
    pub fn wood_words(&self) -> String {
        match self.outer() {
            None => self.wood.name.clone(),
            Some(outer) => format!("{}; outer piece {}", self.wood.name, outer.wood.name),
        }
    }

    /// The wood that the machine is set by: of two the one that takes the lighter cut.
    pub fn hardest(&self) -> &Wood {
        self.woods().fold(&self.wood, |hardest, wood| if wood.sanding_ease < hardest.sanding_ease { wood } else { hardest })
    }

    /// What a spliced strip is glued up from at its stock's thickness; nothing for one that is not.
    pub fn splice_pieces(&self) -> Vec<SplicePieces> {
        let Some(splice) = &self.splice else { return Vec::new() };
        let (scarf, overrun) = (splice.length_mm(self.stock.thickness_mm), self.stock.overrun_mm);
        let piece = |count, place, length_mm| SplicePieces { count, place, length_mm };
        let outer = self.to_mm - splice.at_mm + overrun + 0.5 * scarf;
        match self.pieces {
            Pieces::Full if splice.at_mm <= 0.0 => vec![piece(2, PiecePlace::Half, outer)],
            Pieces::Full => vec![piece(1, PiecePlace::Middle, 2.0 * splice.at_mm + scarf), piece(2, PiecePlace::Outer, outer)],
            Pieces::Halves => {
                let inner = splice.at_mm - self.butt_mm() + overrun + 0.5 * scarf;
                vec![piece(self.limbs, PiecePlace::Inner, inner), piece(self.limbs, PiecePlace::Outer, outer)]
            }
        }
    }
}
