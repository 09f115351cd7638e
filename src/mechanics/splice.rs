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
//! What a scarf keeps of the strength of the clear wood in stretch: [`efficiency`]. Pressed, it closes and keeps all.
//!
//! Sources: the components, any text on strength of materials; derived here. Efficiency of plain scarfs, Wood Handbook FPL-GTR-282, chapter 10
//! (adhesives): from memory. Left out: the scarf's feathers, glue of another stiffness than wood, gaps.

use super::draw::DrawCurve;
use super::section::LayerKind;
use super::verdict::{self, Verdict};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;

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

/// What a splice bears at brace and full draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpliceLoad {
    /// Index into [`Build::laminations`].
    pub lamination: usize,
    /// Greatest stretch and greatest pressing of its faces within the scarf, what the glue-up left included; both positive.
    pub stretch: f64,
    pub press: f64,
    /// In the stretch, across and along the glue line, MPa.
    pub glue_mpa: [f64; 2],
    /// Strain over what the scarf keeps of the average breaking strain; `None` where that is not published.
    pub share_of_breaking: Option<f64>,
}

impl SpliceLoad {
    /// Whether it bears that; `None` where the wood's strength is not published.
    pub fn verdict(&self) -> Option<Verdict> {
        self.share_of_breaking.map(verdict::in_the_bow)
    }
}

/// Every splice, in the order of the laminations.
pub fn check(build: &Build, curve: &DrawCurve) -> Vec<SpliceLoad> {
    (0..build.laminations.len()).filter_map(|index| load(build, curve, index)).collect()
}

fn load(build: &Build, curve: &DrawCurve, index: usize) -> Option<SpliceLoad> {
    let lamination = &build.laminations[index];
    let (splice, [from, to]) = (lamination.splice?, lamination.spliced_mm()?);
    // Stations of the results within the scarf and the next one beyond either end: between them strains run on.
    let known = &curve.stations;
    let first = known.iter().rposition(|station| station.s_mm <= from).unwrap_or(0);
    let last = known.iter().position(|station| to <= station.s_mm).unwrap_or(known.len() - 1);
    let (mut stretch, mut press) = (0.0_f64, 0.0_f64);
    for (station, place) in known.iter().enumerate().take(last + 1).skip(first) {
        let layers = &place.section.layers;
        let Some(layer) = layers.iter().position(|layer| layer.part == LayerKind::Lamination(index)) else { continue };
        for point in [curve.at_brace(), curve.at_full_draw()] {
            for strain in curve.strain(point, station, layer) {
                stretch = stretch.max(strain);
                press = press.max(-strain);
            }
        }
    }
    let wood = &lamination.wood;
    Some(SpliceLoad {
        lamination: index,
        stretch,
        press,
        glue_mpa: on_the_glue(wood.modulus_mpa * stretch, splice.slope),
        share_of_breaking: wood.breaking_strain.map(|breaking| (stretch / efficiency(splice.slope)).max(press) / breaking),
    })
}

/// What a builder is told of splices that work too hard.
pub fn warnings(build: &Build, loads: &[SpliceLoad]) -> Vec<Diagnostic> {
    let hard = |load: &&SpliceLoad| load.verdict().is_some_and(|verdict| verdict != Verdict::Goes);
    let warning = |load: &SpliceLoad| {
        let lamination = &build.laminations[load.lamination];
        let (at_mm, slope) = lamination.splice.map_or((0.0, 0.0), |splice| (splice.at_mm, splice.slope));
        let message = message!(
            "the splice of `{}` at station {} works at {} percent of what a scarf of 1:{} bears on average; {}",
            lamination.name,
            mm(at_mm),
            format!("{:.0}", 100.0 * load.share_of_breaking.unwrap_or(0.0)),
            crate::units::trim_zeros(&crate::units::fixed(slope, 2)),
            load.verdict().map_or("", Verdict::word)
        );
        let hint = "move it to where the limb bends less: under the riser, or toward the tip; or take a flatter slope";
        Diagnostic::warning(Place::new(lamination.place.as_str()).key("splice"), message).hint(hint)
    };
    loads.iter().filter(hard).map(warning).collect()
}
