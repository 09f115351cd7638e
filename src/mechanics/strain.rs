//! How hard does each layer work, and where?
//!
//! At each station the limb's bend gives the strain at both faces of every layer, `ε = −Δκ (z − z̄)` ([`super::section`]), to which
//! the strain that the glue-up locked in is added. The greatest of each part, at brace or at full draw, is kept with its
//! place, and [`super::verdict`] says what its wood makes of it.

use super::bow::{Bow, Options};
use super::layer_kind::LayerKind;
use super::limb::{Contact, Ends, LimbState, Trace};
use super::section::Section;
use super::verdict::{self, Verdict};
use crate::model::Build;
use crate::model::lamination::Face;
use crate::numeric::ode::NODES;

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

    /// Both faces of every part but glue, back to belly, when the limb bends by `bend_per_mm`.
    pub(super) fn faces(&self, bend_per_mm: f64, state: DrawState) -> impl Iterator<Item = FaceStrain> + '_ {
        let parts = self.section.layers.iter().enumerate().filter(|(_, layer)| layer.part != LayerKind::Glue);
        parts.flat_map(move |(index, layer)| {
            let strains = self.strain(bend_per_mm, index).into_iter().zip(self.locked[index]);
            [Face::Back, Face::Belly].into_iter().zip(strains).map(move |(face, (strain, left))| FaceStrain {
                part: layer.part,
                s_mm: self.s_mm,
                face,
                state,
                strain,
                left,
            })
        })
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
    /// From the belly to the string, square to the string, mm; nothing where the string lies on the limb. Beside the nock it is less than nothing by the half depth of the
    /// limb, since the string is taken to pull at the neutral axis.
    pub to_string_mm: f64,
}

/// How far the bow is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrawState {
    Brace,
    FullDraw,
}

/// The greatest strain of a part at brace or full draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worst {
    pub part: LayerKind,
    pub s_mm: f64,
    /// The side of the part that it is on.
    pub face: Face,
    pub state: DrawState,
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

/// Of all pieces of a lamination the one that works hardest.
pub fn hardest_of(worst: &[Worst], lamination: usize) -> Option<Worst> {
    hardest(worst.iter().copied().filter(|worst| worst.part.lamination() == Some(lamination)))
}

/// The one that works hardest: by what breaks its wood, and by strain where that is not published; of equals the first.
pub(super) fn hardest(worst: impl Iterator<Item = Worst>) -> Option<Worst> {
    let key = |worst: &Worst| [worst.share_of_breaking.unwrap_or(0.0), worst.strain.abs()];
    worst.reduce(|most, next| if key(&most) < key(&next) { next } else { most })
}

/// The sections at a bow's stations, with what the glue-up left in their layers.
pub fn stations(bow: &Bow<'_>, options: &Options) -> Vec<StationSection> {
    bow.limb.stations.iter().map(|station| station_section(bow, options, station.inside_mm, station.s_mm)).collect()
}

fn station_section(bow: &Bow<'_>, options: &Options, inside_mm: f64, s_mm: f64) -> StationSection {
    let section = bow.stack.section(inside_mm, s_mm);
    let locked = section.layers.iter().map(|layer| locked(options, layer.part, inside_mm, s_mm)).collect();
    StationSection { s_mm, section, locked }
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
    let place = |(bent, station): (&LimbState, &StationSection)| {
        let at = in_bow_frame(bent.q_mm, bent.p_mm);
        LimbPlace {
            x_mm: at.x,
            y_mm: at.y,
            angle_rad: bent.psi_rad - string_angle_rad,
            moment_n_mm: bent.moment_n_mm,
            bend_per_mm: bent.bend_per_mm,
            to_string_mm: trace.to_string_mm(bent, station.to_belly_mm()),
        }
    };
    trace.at.iter().zip(stations).map(place).collect()
}

/// Distance from belly to string at station `s_mm`, straight between the stations of the results, mm.
pub fn to_string_at(stations: &[StationSection], places: &[LimbPlace], s_mm: f64) -> f64 {
    let next = stations.partition_point(|station| station.s_mm < s_mm).clamp(1, stations.len() - 1);
    let (near, far) = (stations[next - 1].s_mm, stations[next].s_mm);
    let fraction = if near < far { ((s_mm - near) / (far - near)).clamp(0.0, 1.0) } else { 1.0 };
    let (a, b) = (places[next - 1].to_string_mm, places[next].to_string_mm);
    a + fraction * (b - a)
}

/// One state of a limb: what holds it there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct HeldState {
    pub state: DrawState,
    pub tension_n: f64,
    pub nock_angle_rad: f64,
}

/// A station with the limb's shape there in the two states.
struct StationStates {
    station: StationSection,
    bent: [LimbState; 2],
}

/// The worst place of each part over the whole limb, at brace and at full draw; `stations` are those of the bow.
///
/// Stations alone miss a greatest strain between them, so that stretches beside the greatest are looked at more closely, twice: from the outer
/// end of the stretch the limb is walked on in short steps. Every station is seen from both sides: bending and what the glue-up left belong to
/// the same one.
pub(super) fn worst(bow: &Bow<'_>, options: &Options, stations: &[StationSection], held: [HeldState; 2]) -> Vec<Worst> {
    let traces = held.map(|held| bow.limb.string_trace(held.tension_n, held.nock_angle_rad));
    let contacts = [traces[0].contact, traces[1].contact];
    let shapes = traces[0].at.iter().zip(&traces[1].at);
    let mut seen: Vec<StationStates> =
        stations.iter().zip(shapes).map(|(station, (a, b))| StationStates { station: station.clone(), bent: [*a, *b] }).collect();
    for near in NEAR_GREATEST {
        let max = greatest_of_parts(&seen, &held);
        let within =
            |part: LayerKind, strain: f64| max.iter().any(|max| max.part == part && near * max.strain.abs() <= strain.abs());
        let mut beside: Vec<usize> = Vec::new();
        for (k, seen) in seen.iter().enumerate() {
            if (0..2).flat_map(|state| seen.faces(&held, state)).any(|found| within(found.part, found.strain)) {
                beside.extend(k.checked_sub(1).into_iter().chain([k]));
            }
        }
        beside.sort_unstable();
        beside.dedup();
        // From the nock in, so that indices still to come stay what they are.
        let last = seen.len() - 1;
        for k in beside.into_iter().rev().filter(|k| *k < last) {
            let (from, to) = (seen[k].station.s_mm, seen[k + 1].station.s_mm);
            if CLOSE_MM < to - from {
                let looked =
                    between(bow, options, from, &seen[k + 1], [0, 1].map(|state| (held[state].tension_n, contacts[state])));
                seen.splice(k + 1..k + 1, looked.into_iter().rev());
            }
        }
    }
    greatest_of_parts(&seen, &held).into_iter().map(|max| max.worst(bow.stack.build())).collect()
}

/// Places between `from_mm` and a station farther out, from there in; `held` are tension and touched stretch of both states.
fn between(
    bow: &Bow<'_>,
    options: &Options,
    from_mm: f64,
    outer: &StationStates,
    held: [(f64, Option<Contact>); 2],
) -> Vec<StationStates> {
    let to_mm = outer.station.s_mm;
    let inside_mm = 0.5 * (from_mm + to_mm);
    let mut bent = outer.bent;
    let places = (1..LOOKS).rev().map(|look| from_mm + (to_mm - from_mm) * f64::from(look) / f64::from(LOOKS));
    let seen = places.map(|s_mm| {
        let from = bent[0].s_mm;
        let beams = NODES.map(|node| bow.beam(options, inside_mm, from - node * (from - s_mm)));
        bent = std::array::from_fn(|state| {
            let (tension_n, contact) = held[state];
            bow.limb.farther_in(&bent[state], s_mm, tension_n, contact, &beams)
        });
        StationStates { station: station_section(bow, options, inside_mm, s_mm), bent }
    });
    seen.collect()
}

/// How near to the greatest strain that is known a place must be to be looked at more closely: first for steps of an inch, between which strain
/// bends by less than a hundredth, then for those of a few millimetres. Nearer, and a greater one between two stations is missed; less
/// near only costs stations.
const NEAR_GREATEST: [f64; 2] = [0.97, 0.9995];
/// Parts into which a stretch is cut to look at it.
const LOOKS: u32 = 7;
/// Stretches shorter than this are not cut, mm.
const CLOSE_MM: f64 = 0.05;

/// The strain of one face of a part at a station, at brace or at full draw.
#[derive(Debug, Clone, Copy)]
pub(super) struct FaceStrain {
    part: LayerKind,
    s_mm: f64,
    face: Face,
    state: DrawState,
    strain: f64,
    left: f64,
}

impl StationStates {
    fn faces(&self, held: &[HeldState; 2], state: usize) -> impl Iterator<Item = FaceStrain> + '_ {
        self.station.faces(self.bent[state].bend_per_mm, held[state].state)
    }
}

impl FaceStrain {
    pub fn worst(self, build: &Build) -> Worst {
        let FaceStrain { part, s_mm, face, state, strain, left } = self;
        let share_of_breaking = breaking_strain(build, part, s_mm).map(|breaking| strain.abs() / breaking);
        Worst { part, s_mm, face, state, strain, left, share_of_breaking }
    }
}

/// The greatest of each part, back to belly; of equals the first at brace, from the centre out.
fn greatest_of_parts(seen: &[StationStates], held: &[HeldState; 2]) -> Vec<FaceStrain> {
    let mut greatest: Vec<FaceStrain> = Vec::new();
    for state in 0..2 {
        for found in seen.iter().flat_map(|seen| seen.faces(held, state)) {
            match greatest.iter_mut().find(|known| known.part == found.part) {
                Some(known) if known.strain.abs() < found.strain.abs() => *known = found,
                Some(_) => {}
                None => greatest.push(found),
            }
        }
    }
    greatest.sort_by_key(|found| found.part);
    greatest
}

/// The least breaking strain of what a part is made of at a station; none where one of its woods has none, since that may be the least.
pub(super) fn breaking_strain(build: &Build, part: LayerKind, s_mm: f64) -> Option<f64> {
    let LayerKind::Riser(_) = part else { return part.wood(build)?.breaking_strain };
    let least = |a: Option<f64>, b: Option<f64>| Some(a?.min(b?));
    let riser = build.riser.as_ref()?;
    let own = match part.wood(build) {
        Some(layer) => layer.breaking_strain,
        None => riser.across.iter().map(|slice| slice.wood.breaking_strain).reduce(least)?,
    };
    // Beside the footing's V both woods stretch alike.
    let in_the_v = riser.footing.as_ref().filter(|footing| 0.0 < footing.fraction_at(riser.feather_station_mm(), s_mm));
    in_the_v.map_or(own, |footing| least(own, footing.wood.breaking_strain))
}

/// What the glue-up left in a part at a station seen from the side of `inside_mm`, at its back and belly face.
fn locked(options: &Options, part: LayerKind, inside_mm: f64, s_mm: f64) -> [f64; 2] {
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
