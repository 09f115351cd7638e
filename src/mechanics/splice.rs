//! Does a spliced lamination bear where its scarf is?
//!
//! A scarf of slope 1:n carries the pull across its glue line, which stands at `tan θ = 1/n` to the wood. Both pieces stretch alike at every depth,
//! so that the stress that the bend gives is turned into the glue line's own directions:
//!
//! ```text
//!   σn = σ sin²θ = σ/(1 + n²)        τ = σ sin θ cos θ = σ n/(1 + n²)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `σ` | stress along the wood, `E ε`, positive for stretch | MPa |
//! | `n` | along the wood for 1 through it | – |
//! | `σn`, `τ` | across and along the glue line | MPa |
//!
//! Where the pieces are of two woods, each bears `E ε` of its own modulus: the stress on either side of the glue line differs, and the greater counts
//! for it. The halves of a lamination that meet in a scarf at the grip are asked the same.
//!
//! What a scarf keeps of the strength of the clear wood in stretch: [`efficiency`]. Pressed, it closes and keeps all.
//!
//! Sources: the components, any text on strength of materials; derived here. Efficiency of plain scarfs, Wood Handbook FPL-GTR-282, chapter 10
//! (adhesives): from memory. Left out: the scarf's feathers, glue of another stiffness than wood, gaps.

use super::draw::DrawCurve;
use super::verdict::{self, Verdict};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::wood::Wood;

/// Part of the clear wood's strength in stretch that a plain scarf of this slope keeps, a ratio: 85 percent at 1:8, 95 percent at 1:12 and flatter
/// (Wood Handbook, from memory); straight between them, and steeper than 1:8 on to 55 percent at 1:4, which is ours.
///
/// ```
/// assert!((taperwright::mechanics::splice::efficiency(10.0) - 0.90).abs() < 1e-12);
/// ```
pub fn efficiency(slope: f64) -> f64 {
    let between = |from: (f64, f64), to: (f64, f64)| from.1 + (slope - from.0) / (to.0 - from.0) * (to.1 - from.1);
    if slope < 8.0 { between((4.0, 0.55), (8.0, 0.85)).max(0.0) } else { between((8.0, 0.85), (12.0, 0.95)).min(0.95) }
}

/// Stress across and along the glue line of a scarf under a stress along the wood.
pub fn on_the_glue(stress: f64, slope: f64) -> [f64; 2] {
    let whole = 1.0 + slope * slope;
    [stress / whole, stress * slope / whole]
}

/// Whose scarf it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ScarfOf {
    /// Pieces of one strip.
    Splice,
    /// The two halves, at the grip.
    Halves,
}

/// A scarf in a limb.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Scarf {
    of: ScarfOf,
    at_mm: f64,
    slope: f64,
    from_mm: f64,
    to_mm: f64,
}

fn scarfs(lamination: &Lamination) -> impl Iterator<Item = Scarf> {
    let splice = lamination.splice.as_ref().zip(lamination.spliced_mm());
    let splice = splice.map(|(splice, [from_mm, to_mm])| Scarf {
        of: ScarfOf::Splice,
        at_mm: splice.at_mm,
        slope: splice.slope,
        from_mm,
        to_mm,
    });
    let halves = lamination.meet_slope().map(|slope| Scarf {
        of: ScarfOf::Halves,
        at_mm: 0.0,
        slope,
        from_mm: 0.0,
        to_mm: lamination.reach_mm(),
    });
    splice.into_iter().chain(halves)
}

/// What a splice bears at brace and full draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpliceLoad {
    /// Index into [`Build::laminations`].
    pub lamination: usize,
    pub of: ScarfOf,
    /// Station of its middle, mm, and its slope, a ratio.
    pub at_mm: f64,
    pub slope: f64,
    /// Greatest stretch and greatest pressing of its faces within the scarf, what the glue-up left included; both positive.
    pub stretch: f64,
    pub press: f64,
    /// In the stretch, across and along the glue line, MPa.
    pub glue_mpa: [f64; 2],
    /// In the stretch, along the wood, on the inner and the outer side of the glue line, MPa: alike where both are of one wood.
    pub beside_mpa: [f64; 2],
    /// Strain over what the scarf keeps of the average breaking strain; `None` where that is not published.
    pub share_of_breaking: Option<f64>,
}

impl SpliceLoad {
    /// Whether it bears that; `None` where the wood's strength is not published.
    pub fn verdict(&self) -> Option<Verdict> {
        self.share_of_breaking.map(verdict::in_the_bow)
    }
}

/// Every scarf, in the order of the laminations.
pub fn check(build: &Build, curve: &DrawCurve) -> Vec<SpliceLoad> {
    let of = |(index, lamination)| scarfs(lamination).map(move |scarf| load(build, curve, index, scarf));
    build.laminations.iter().enumerate().flat_map(of).collect()
}

fn load(build: &Build, curve: &DrawCurve, index: usize, scarf: Scarf) -> SpliceLoad {
    let lamination = &build.laminations[index];
    let (from, to) = (scarf.from_mm, scarf.to_mm);
    // Stations of the results within the scarf and the next one beyond either end: between them strains run on.
    let known = &curve.stations;
    let first = known.iter().rposition(|station| station.s_mm <= from).unwrap_or(0);
    let last = known.iter().position(|station| to <= station.s_mm).unwrap_or(known.len() - 1);
    // Greatest stretch and pressing of each piece that lies there.
    let mut pieces: Vec<(&Wood, [f64; 2])> = Vec::new();
    for (station, place) in known.iter().enumerate().take(last + 1).skip(first) {
        for (layer, here) in place.section.layers.iter().enumerate() {
            let Some(wood) = here.part.wood(build).filter(|_| here.part.lamination() == Some(index)) else { continue };
            let known = pieces.iter().position(|(known, _)| std::ptr::eq(*known, wood)).unwrap_or_else(|| {
                pieces.push((wood, [0.0; 2]));
                pieces.len() - 1
            });
            let [stretch, press] = &mut pieces[known].1;
            for strain in
                [curve.at_brace(), curve.at_full_draw()].into_iter().flat_map(|point| curve.strain(point, station, layer))
            {
                *stretch = stretch.max(strain);
                *press = press.max(-strain);
            }
        }
    }
    let [stretch, press] = pieces.iter().fold([0.0; 2], |max: [f64; 2], (_, own)| [max[0].max(own[0]), max[1].max(own[1])]);
    let outer = lamination.outer().filter(|_| scarf.of == ScarfOf::Splice).map_or(&lamination.wood, |outer| &outer.wood);
    let beside_mpa = [&lamination.wood, outer].map(|wood| wood.modulus_mpa * stretch);
    // Every piece by what breaks its own wood; none is known where one of them is not.
    let fraction = |(wood, [stretch, press]): &(&Wood, [f64; 2])| {
        wood.breaking_strain.map(|breaking| (stretch / efficiency(scarf.slope)).max(*press) / breaking)
    };
    SpliceLoad {
        lamination: index,
        of: scarf.of,
        at_mm: scarf.at_mm,
        slope: scarf.slope,
        stretch,
        press,
        glue_mpa: on_the_glue(beside_mpa[0].max(beside_mpa[1]), scarf.slope),
        beside_mpa,
        share_of_breaking: pieces.iter().map(fraction).reduce(|max, next| Some(max?.max(next?))).flatten(),
    }
}

/// What a builder is told of splices that work too hard.
pub fn warnings(build: &Build, loads: &[SpliceLoad]) -> Vec<Diagnostic> {
    let hard = |load: &&SpliceLoad| load.verdict().is_some_and(|verdict| verdict != Verdict::Goes);
    let warning = |load: &SpliceLoad| {
        let lamination = &build.laminations[load.lamination];
        let (what, key) = match load.of {
            ScarfOf::Splice => ("splice of", "splice"),
            ScarfOf::Halves => ("scarf between the halves of", "meet"),
        };
        let message = message!(
            "the {} `{}` at station {} works at {} percent of what a scarf of 1:{} bears on average; {}",
            what,
            lamination.name,
            mm(load.at_mm),
            format!("{:.0}", 100.0 * load.share_of_breaking.unwrap_or(0.0)),
            crate::units::trim_zeros(&crate::units::fixed(load.slope, 2)),
            load.verdict().map_or("", Verdict::word)
        );
        let hint = match load.of {
            ScarfOf::Splice => {
                "move it to where the limb bends less: under the riser, or toward the tip; or take a flatter slope"
            }
            ScarfOf::Halves => "let them overlap farther, or take one strip from tip to tip",
        };
        Diagnostic::warning(Place::new(lamination.place.as_str()).key(key), message).hint(hint)
    };
    loads.iter().filter(hard).map(warning).collect()
}
