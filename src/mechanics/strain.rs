//! How hard does each layer work, and where?
//!
//! At each station the limb's bend gives the strain at both faces of every layer, `ε = −Δκ (z − z̄)` ([`super::section`]), to which
//! the strain that the glue-up locked in is added. The greatest of each part, at brace or at full draw, is kept with its place.
//!
//! What it is measured against is the handbook's bending strength over its bending modulus, the surface strain at the average
//! breaking load if wood stayed elastic. It does not: real pieces stretch further, and scatter by a sixth either way.

use super::bow::{Bow, Options};
use super::limb::{Ends, Trace};
use super::section::{Part, Section};
use crate::diag::{Diagnostic, Place};
use crate::model::Build;

/// The section at a station, seen from one side of it.
#[derive(Debug, Clone, PartialEq)]
pub struct StationSection {
    pub s_mm: f64,
    pub section: Section,
    /// Strain that the glue-up left at the back and belly face of each layer of `section`.
    pub locked: Vec<[f64; 2]>,
}

impl StationSection {
    /// Strain at the back and belly face of layer `layer` when the limb bends by `bend_per_mm`, the glue-up's share included.
    pub fn strain(&self, bend_per_mm: f64, layer: usize) -> [f64; 2] {
        let here = &self.section.layers[layer];
        let faces = [here.back_mm, here.belly_mm()];
        std::array::from_fn(|face| self.section.strain(bend_per_mm, faces[face]) + self.locked[layer][face])
    }

    /// From the neutral axis to the belly, mm.
    pub fn to_belly_mm(&self) -> f64 {
        self.section.depth_mm - self.section.neutral_mm
    }
}

/// The limb at one station and draw, in the side frame: x from the back of the grip toward the archer, y along the bow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimbPlace {
    /// Neutral axis, mm.
    pub x_mm: f64,
    pub y_mm: f64,
    /// From +y toward +x, rad.
    pub angle_rad: f64,
    pub moment_n_mm: f64,
    /// Curvature against the unstrung bow, positive toward the belly, 1/mm.
    pub bend_per_mm: f64,
    /// From the belly to the string, square to the string, mm. Beside the nock it is less than nothing by the half depth of the
    /// limb, since the string is taken to pull at the neutral axis.
    pub to_string_mm: f64,
}

/// The greatest strain of a part at brace or full draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worst {
    pub part: Part,
    /// Index into the bow's stations.
    pub station: usize,
    pub s_mm: f64,
    /// On the belly side of the part, or on its back side.
    pub belly_face: bool,
    pub at_full_draw: bool,
    /// Positive is stretch.
    pub strain: f64,
    /// |strain| over the material's average breaking strain; `None` where that is not published.
    pub share_of_breaking: Option<f64>,
}

/// The sections at a bow's stations, with what the glue-up left in their layers.
pub fn stations(bow: &Bow<'_>, options: &Options) -> Vec<StationSection> {
    bow.limb
        .stations
        .iter()
        .map(|station| {
            let section = bow.stack.section(station.inside_mm, station.s_mm);
            let locked = section.layers.iter().map(|layer| locked(options, layer.part, station.s_mm)).collect();
            StationSection { s_mm: station.s_mm, section, locked }
        })
        .collect()
}

/// The limb's places when a pass over it ends at `end` with the string at `string_angle_rad`.
pub(super) fn places(
    bow: &Bow<'_>,
    stations: &[StationSection],
    end: Ends,
    string_angle_rad: f64,
    trace: &Trace,
) -> Vec<LimbPlace> {
    let in_bow_frame = bow.limb.frame(end);
    let place = |(bent, station): (&super::limb::Bent, &StationSection)| {
        let (x_mm, y_mm) = in_bow_frame(bent.q_mm, bent.p_mm);
        LimbPlace {
            x_mm,
            y_mm,
            angle_rad: bent.psi_rad - string_angle_rad,
            moment_n_mm: bent.moment_n_mm,
            bend_per_mm: bent.bend_per_mm,
            to_string_mm: bent.p_mm - station.to_belly_mm() * bent.psi_rad.cos(),
        }
    };
    trace.at.iter().zip(stations).map(place).collect()
}

/// Distance from belly to string at station `s_mm`, straight between the stations of the results, mm.
pub fn to_string_at(stations: &[StationSection], places: &[LimbPlace], s_mm: f64) -> f64 {
    let next = stations.partition_point(|station| station.s_mm < s_mm).clamp(1, stations.len() - 1);
    let (near, far) = (stations[next - 1].s_mm, stations[next].s_mm);
    let share = if near < far { ((s_mm - near) / (far - near)).clamp(0.0, 1.0) } else { 1.0 };
    let (a, b) = (places[next - 1].to_string_mm, places[next].to_string_mm);
    a + share * (b - a)
}

/// The worst place of each part over all stations, at brace and at full draw.
pub fn worst(build: &Build, stations: &[StationSection], brace: &[LimbPlace], full: &[LimbPlace]) -> Vec<Worst> {
    let mut worst: Vec<Worst> = Vec::new();
    for (at_full_draw, places) in [(false, brace), (true, full)] {
        for (station, (here, place)) in stations.iter().zip(places).enumerate() {
            for (index, layer) in here.section.layers.iter().enumerate() {
                if layer.part == Part::Glue {
                    continue;
                }
                for (face, strain) in here.strain(place.bend_per_mm, index).into_iter().enumerate() {
                    let share_of_breaking = breaking_strain(build, layer.part).map(|breaking| strain.abs() / breaking);
                    let found = Worst {
                        part: layer.part,
                        station,
                        s_mm: here.s_mm,
                        belly_face: face == 1,
                        at_full_draw,
                        strain,
                        share_of_breaking,
                    };
                    match worst.iter_mut().find(|known| known.part == layer.part) {
                        Some(known) if known.strain.abs() < strain.abs() => *known = found,
                        Some(_) => {}
                        None => worst.push(found),
                    }
                }
            }
        }
    }
    worst.sort_by_key(|worst| worst.part);
    worst
}

/// The least breaking strain of what a part is made of.
fn breaking_strain(build: &Build, part: Part) -> Option<f64> {
    match part {
        Part::Lamination(index) => build.laminations[index].wood.breaking_strain,
        Part::Riser => {
            let across = build.riser.as_ref().map_or(&[][..], |riser| &riser.across);
            across.iter().filter_map(|slice| slice.wood.breaking_strain).reduce(f64::min)
        }
        Part::Glue => None,
    }
}

/// A warning for a part that is bent beyond what its wood bears on average.
pub fn overworked(build: &Build, worst: &Worst) -> Option<Diagnostic> {
    let share = worst.share_of_breaking.filter(|share| MOST_SHARE < *share)?;
    let (place, name) = match worst.part {
        Part::Lamination(index) => (build.laminations[index].place.clone(), build.laminations[index].wood.name.as_str()),
        _ => (Place::new("riser"), "the riser's wood"),
    };
    let message = format!(
        "surface strain {:.2} percent at station ⟨{} mm⟩ is {:.0} percent of the average breaking strain of {name}",
        100.0 * worst.strain,
        worst.s_mm,
        100.0 * share
    );
    Some(Diagnostic::warning(place, message).hint(
        "breaking strain is handbook strength over modulus; real pieces scatter widely: make the limb longer, wider or thinner",
    ))
}

/// Share of the breaking strain above which a part is warned of. Handbook strength over modulus understates the strain at which
/// wood breaks, so that lower values flag every sound flatbow, while higher ones let a bow pass that most boards will not bear.
/// Common practice, no source.
const MOST_SHARE: f64 = 1.15;

fn locked(options: &Options, part: Part, s_mm: f64) -> [f64; 2] {
    options
        .unstrung
        .locked
        .iter()
        .find(|locked| locked.part == part)
        .map_or([0.0; 2], |locked| [locked.back.at(s_mm), locked.belly.at(s_mm)])
}

/// Index of the greatest value; the first of equals.
pub(super) fn greatest(values: impl Iterator<Item = f64>) -> usize {
    values.enumerate().fold((0, f64::NEG_INFINITY), |most, (i, value)| if most.1 < value { (i, value) } else { most }).0
}
