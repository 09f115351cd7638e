//! What does the wood of a limb weigh, and how much of that does the string have to move?
//!
//! ```text
//!   m = ∫ Σ ρ_i b_i t_i ds        from the riser's feather (the bow's centre without a riser) to the end of the wood
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `ρ_i`, `b_i`, `t_i` | density, width and thickness of lamination or glue line `i` at station `s` | kg/m³, mm, mm |
//!
//! Where the limb is trapped or crowned, `b_i t_i` is the area `∫ b dz` of the layer ([`super::across`]).
//!
//! Integrated by Gauss's rule with four points between corners, exact for widths and thicknesses that are cubics there.
//! Densities are those of the materials' table, at about twelve percent moisture, and scatter like all wood. Glue lines are as thick as
//! the build file has them, [`GLUE_KG_M3`]; what is squeezed out is cleaned off. Tip overlays weigh as they lie. Nock grooves and finish are left out. Source: derived here.

use super::layer_kind::LayerKind;
use super::section::Stack;
use crate::diag::Diagnostic;
use crate::model::Build;
use crate::model::lamination::Face;
use crate::numeric::ode;

/// Gauss–Legendre abscissas and weights of four points on [−1, 1] (Abramowitz and Stegun, Table 25.4, n = 4).
const GAUSS: [(f64, f64); 4] = [
    (-0.861_136_311_594_053, 0.347_854_845_137_454),
    (-0.339_981_043_584_856, 0.652_145_154_862_546),
    (0.339_981_043_584_856, 0.652_145_154_862_546),
    (0.861_136_311_594_053, 0.347_854_845_137_454),
];

/// Kilograms in a cubic millimetre of 1 kg/m³.
const PER_MM3: f64 = 1e-9;

/// Of cured, unfilled epoxy, kg/m³: 1100 to 1200, from memory. Other bow glues are within a tenth of it, which is a part in three hundred of a limb.
pub const GLUE_KG_M3: f64 = 1150.0;

/// Mass of one limb beyond the riser's feather, kg; a fault if the build is no bow.
pub fn limb_kg(build: &Build) -> Result<f64, Diagnostic> {
    let stack = Stack::of(build)?;
    let from = build.limb_from_mm();
    Ok(between_kg(&stack, from, stack.outline().end_mm()))
}

/// Mass of laminations, overlays and glue lines between two stations, kg.
pub(super) fn between_kg(stack: &Stack<'_>, from_mm: f64, to_mm: f64) -> f64 {
    integral(stack, from_mm, to_mm, |s_mm| per_mm(stack, s_mm, None))
}

/// Mass of one overlay on one tip, without its glue, kg; a fault if the build is no bow.
pub fn overlay_kg(build: &Build, index: usize) -> Result<f64, Diagnostic> {
    let stack = Stack::of(build)?;
    let end_mm = stack.outline().end_mm();
    let overlay = &build.overlays[index];
    let per_mm = |s_mm: f64| {
        let layers = stack.section(s_mm, s_mm).layers;
        let own = layers.iter().filter(|layer| layer.part == LayerKind::Overlay(index));
        own.map(|layer| overlay.wood.density_kg_m3 * PER_MM3 * layer.area_mm2()).sum()
    };
    Ok(integral(&stack, overlay.start_mm(end_mm), end_mm, per_mm))
}

/// Face under one overlay on one tip, mm²; a fault if the build is no bow.
pub fn overlay_area_mm2(build: &Build, index: usize) -> Result<f64, Diagnostic> {
    let stack = Stack::of(build)?;
    let (outline, overlay) = (stack.outline(), &build.overlays[index]);
    let face = usize::from(overlay.face == Face::Belly);
    Ok(integral(&stack, overlay.start_mm(outline.end_mm()), outline.end_mm(), |s_mm| outline.faces_at(s_mm)[face]))
}

/// The riser's parts on all limbs that a build describes, trimmed to the outline and before hands cut shelf and grip, without their glue, kg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RiserMass {
    pub block_kg: f64,
    pub footings_kg: f64,
    pub overlay_kg: f64,
}

/// What the parts of a riser weigh; a fault if the build is no bow.
pub fn riser_kg(build: &Build) -> Result<RiserMass, Diagnostic> {
    let stack = Stack::of(build)?;
    let Some(riser) = &build.riser else { return Ok(RiserMass { block_kg: 0.0, footings_kg: 0.0, overlay_kg: 0.0 }) };
    let feather_mm = riser.feather_station_mm();
    let wide: f64 = riser.across.iter().map(|slice| slice.width_mm).sum();
    let slices_kg_m3 = riser.across.iter().map(|slice| slice.wood.density_kg_m3 * slice.width_mm).sum::<f64>() / wide;
    let per_mm = |s_mm: f64| -> [f64; 3] {
        let footing = riser.footing.as_ref().map(|footing| (footing, footing.fraction_at(feather_mm, s_mm)));
        let mut kg_per_mm = [0.0; 3];
        for layer in stack.section(s_mm, s_mm).layers {
            let own = layer.part.wood(build).map_or(slices_kg_m3, |wood| wood.density_kg_m3);
            let kg_m3 = match layer.part {
                LayerKind::Riser(_) => {
                    let (let_in, fraction) =
                        footing.map_or((0.0, 0.0), |(footing, fraction)| (footing.wood.density_kg_m3, fraction));
                    [own * (1.0 - fraction), let_in * fraction, 0.0]
                }
                LayerKind::Footing => [0.0, own, 0.0],
                LayerKind::RiserOverlay => [0.0, 0.0, own],
                _ => continue,
            };
            let area_mm2 = layer.area_mm2();
            kg_per_mm.iter_mut().zip(kg_m3).for_each(|(sum, kg_m3)| *sum += kg_m3 * PER_MM3 * area_mm2);
        }
        kg_per_mm
    };
    // The fades' arcs are no polynomials: short steps, so that the rule's error stays under a part in a million.
    let ends = ode::mesh(0.0, feather_mm, &stack.corners(), MASS_STEP_MM);
    let [block_kg, footings_kg, overlay_kg] = sum_over(&ends, per_mm).map(|kg| f64::from(build.limbs()) * kg);
    Ok(RiserMass { block_kg, footings_kg, overlay_kg })
}

/// Longest step over which a riser's mass is summed, mm.
const MASS_STEP_MM: f64 = 10.0;

/// Mass of one lamination between two stations, without glue, kg.
pub(super) fn lamination_kg(stack: &Stack<'_>, index: usize, from_mm: f64, to_mm: f64) -> f64 {
    integral(stack, from_mm, to_mm, |s_mm| per_mm(stack, s_mm, Some(index)))
}

fn integral(stack: &Stack<'_>, from_mm: f64, to_mm: f64, per_mm: impl Fn(f64) -> f64) -> f64 {
    let [sum] = sum_over(&ode::ends(from_mm, to_mm, &stack.corners()), |s_mm| [per_mm(s_mm)]);
    sum
}

/// Integrals of `per_mm` from the first of `ends` to the last, by the rule from each end to the next.
fn sum_over<const N: usize>(ends: &[f64], per_mm: impl Fn(f64) -> [f64; N]) -> [f64; N] {
    let mut sums = [0.0; N];
    for pair in ends.windows(2) {
        let (middle, half) = (0.5 * (pair[0] + pair[1]), 0.5 * (pair[1] - pair[0]));
        for (x, weight) in GAUSS {
            let here = per_mm(middle + half * x);
            sums.iter_mut().zip(here).for_each(|(sum, here)| *sum += half * weight * here);
        }
    }
    sums
}

/// kg/mm at station `s_mm`, of all laminations with their glue, or of one.
fn per_mm(stack: &Stack<'_>, s_mm: f64, only: Option<usize>) -> f64 {
    let layers = stack.section(s_mm, s_mm).layers;
    let of_layer = |layer: &super::section::Layer| {
        let density_kg_m3 = match layer.part {
            LayerKind::Glue if only.is_none() => GLUE_KG_M3,
            part if only.is_none_or(|only| part.lamination() == Some(only)) => match part {
                // Limbs begin where the riser ends.
                LayerKind::Riser(_) | LayerKind::Footing | LayerKind::RiserOverlay => 0.0,
                _ => part.wood(stack.build()).map_or(0.0, |wood| wood.density_kg_m3),
            },
            _ => 0.0,
        };
        density_kg_m3 * PER_MM3 * layer.area_mm2()
    };
    layers.iter().map(of_layer).sum()
}
