//! How hard does each layer work, and where?
//!
//! At each station the limb's bend gives the strain at both faces of every layer, `ε = −Δκ (z − z̄)` ([`super::section`]), to which
//! the strain that the glue-up locked in is added. The greatest of each part, at brace or at full draw, is kept with its
//! place, and [`super::verdict`] says what its wood makes of it.

use super::bow::{Bow, Options};
use super::limb::{Ends, Trace};
use super::section::{Part, Section};
use super::verdict::{self, Verdict};
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
    pub s_mm: f64,
    /// On the belly side of the part, or on its back side.
    pub belly_face: bool,
    pub at_full_draw: bool,
    /// Positive is stretch.
    pub strain: f64,
    /// The glue-up's part of it.
    pub left: f64,
    /// |strain| over the material's average breaking strain; `None` where that is not published.
    pub share_of_breaking: Option<f64>,
}

impl Worst {
    /// Whether its wood bears it; `None` where its breaking strain is not published.
    pub fn verdict(&self) -> Option<Verdict> {
        self.share_of_breaking.map(verdict::in_the_bow)
    }
}

/// The sections at a bow's stations, with what the glue-up left in their layers.
pub fn stations(bow: &Bow<'_>, options: &Options) -> Vec<StationSection> {
    bow.limb
        .stations
        .iter()
        .map(|station| {
            let section = bow.stack.section(station.inside_mm, station.s_mm);
            let locked =
                section.layers.iter().map(|layer| locked(options, layer.part, station.inside_mm, station.s_mm)).collect();
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

/// One state of a limb: what holds it there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Held {
    pub at_full_draw: bool,
    pub tension_n: f64,
    pub nock_angle_rad: f64,
}

/// The worst place of each part over the whole limb, at brace and at full draw.
///
/// Stations alone miss a greatest strain between them, so that stretches beside the greatest are looked at more closely, twice, each time
/// with the limb laid anew. Every station is seen from both sides: bending and what the glue-up left belong to the same one.
pub(super) fn worst(bow: &Bow<'_>, options: &Options, held: [Held; 2]) -> Vec<Worst> {
    let mut worst = Vec::new();
    let mut looks: Vec<f64> = Vec::new();
    for near in NEAR_GREATEST.map(Some).into_iter().chain([None]) {
        let options = Options { stations_mm: options.stations_mm.iter().chain(&looks).copied().collect(), ..options.clone() };
        let fine = if looks.is_empty() { Ok(bow.clone()) } else { Bow::of(bow.stack.build(), &options) };
        // A bow that could be laid can be laid with more stations.
        let Ok(fine) = fine else { break };
        let stations = stations(&fine, &options);
        let strains = strains(&fine, &stations, held);
        worst = greatest_of_parts(&strains);
        let Some(near) = near else { break };
        let within =
            |found: &Worst| worst.iter().any(|most| most.part == found.part && near * most.strain.abs() <= found.strain.abs());
        let mut beside: Vec<usize> = Vec::new();
        for (station, _) in strains.iter().filter(|(_, found)| within(found)) {
            beside.extend(station.checked_sub(1).into_iter().chain([*station]));
        }
        beside.sort_unstable();
        beside.dedup();
        for pair in beside.into_iter().filter_map(|k| stations.get(k..k + 2)) {
            let (from, to) = (pair[0].s_mm, pair[1].s_mm);
            if CLOSE_MM < to - from {
                looks.extend((1..LOOKS).map(|k| from + (to - from) * f64::from(k) / f64::from(LOOKS)));
            }
        }
    }
    worst
}

/// How near to the greatest strain that is known a place must be to be looked at more closely: first for steps of an inch, between which strain
/// bends by less than a hundredth, then for those of a few millimetres. Nearer, and a greater one between two stations is missed; less
/// near only costs stations.
const NEAR_GREATEST: [f64; 2] = [0.97, 0.9995];
/// Parts into which a stretch is cut to look at it.
const LOOKS: u32 = 7;
/// Stretches shorter than this are not cut, mm.
const CLOSE_MM: f64 = 0.05;

/// Every strain of every part, with the index of its station.
fn strains(bow: &Bow<'_>, stations: &[StationSection], held: [Held; 2]) -> Vec<(usize, Worst)> {
    let build = bow.stack.build();
    let mut all = Vec::new();
    for Held { at_full_draw, tension_n, nock_angle_rad } in held {
        let trace = bow.limb.trace(tension_n, nock_angle_rad);
        for (station, (here, bent)) in stations.iter().zip(&trace.at).enumerate() {
            for (index, layer) in here.section.layers.iter().enumerate().filter(|(_, layer)| layer.part != Part::Glue) {
                for (face, strain) in here.strain(bent.bend_per_mm, index).into_iter().enumerate() {
                    let share_of_breaking = breaking_strain(build, layer.part).map(|breaking| strain.abs() / breaking);
                    let found = Worst {
                        part: layer.part,
                        s_mm: here.s_mm,
                        belly_face: face == 1,
                        at_full_draw,
                        strain,
                        left: here.locked[index][face],
                        share_of_breaking,
                    };
                    all.push((station, found));
                }
            }
        }
    }
    all
}

fn greatest_of_parts(strains: &[(usize, Worst)]) -> Vec<Worst> {
    let mut worst: Vec<Worst> = Vec::new();
    for (_, found) in strains {
        match worst.iter_mut().find(|known| known.part == found.part) {
            Some(known) if known.strain.abs() < found.strain.abs() => *known = *found,
            Some(_) => {}
            None => worst.push(*found),
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

/// What the glue-up left in a part at a station seen from the side of `inside_mm`, at its back and belly face.
fn locked(options: &Options, part: Part, inside_mm: f64, s_mm: f64) -> [f64; 2] {
    options
        .unstrung
        .locked
        .iter()
        .find(|locked| locked.part == part)
        .map_or([0.0; 2], |locked| [locked.back.at(inside_mm, s_mm), locked.belly.at(inside_mm, s_mm)])
}

/// Index of the greatest value; the first of equals.
pub(super) fn greatest(values: impl Iterator<Item = f64>) -> usize {
    values.enumerate().fold((0, f64::NEG_INFINITY), |most, (i, value)| if most.1 < value { (i, value) } else { most }).0
}
