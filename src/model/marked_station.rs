//! Places along a limb that have a name of their own: where a part begins or ends, where halves meet, the nock.

use super::build::Build;
use super::overlay::Overlay;

/// A lamination that ends so near to the end of the wood ends with it, mm.
const HAIR_MM: f64 = 0.5;

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkedStation {
    pub station_mm: f64,
    pub kind: StationKind,
}

/// What is at a named station; numbers are indices into the build's lamination or overlay lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StationKind {
    Centre,
    /// The end of the riser's level part.
    FadeBegins,
    Feather,
    Begins(usize),
    /// So far the other limb's half reaches past the centre.
    Meets(usize),
    Spliced(usize),
    Ends(usize),
    /// A lamination ends with the wood of the limb.
    EndsWithWood(usize),
    OverlayBegins(usize),
    Nock,
    EndOfWood,
}

impl Build {
    /// All of one limb, increasing; without an outline there is no nock, and the wood ends with the longest lamination.
    pub fn marked_stations(&self) -> Vec<MarkedStation> {
        let longest_mm = self.laminations.iter().map(|lamination| lamination.to_mm).fold(0.0, f64::max);
        let end_mm = self.outline.as_ref().map_or(longest_mm, |outline| outline.end_mm().max(longest_mm));
        let mut all = vec![(0.0, StationKind::Centre)];
        if let Some(riser) = &self.riser {
            all.push((0.5 * riser.level_mm, StationKind::FadeBegins));
            all.push((riser.feather_station_mm(), StationKind::Feather));
        }
        for (index, lamination) in self.laminations.iter().enumerate() {
            if 0.0 < lamination.from_mm {
                all.push((lamination.from_mm, StationKind::Begins(index)));
            }
            if 0.0 < lamination.reach_mm() {
                all.push((lamination.reach_mm(), StationKind::Meets(index)));
            }
            all.extend(lamination.splice.iter().map(|splice| (splice.at_mm, StationKind::Spliced(index))));
            let with_wood = end_mm - HAIR_MM <= lamination.to_mm;
            let kind = if with_wood { StationKind::EndsWithWood(index) } else { StationKind::Ends(index) };
            all.push((lamination.to_mm, kind));
        }
        let begins = |(index, overlay): (usize, &Overlay)| (overlay.start_mm(end_mm), StationKind::OverlayBegins(index));
        all.extend(self.overlays.iter().enumerate().map(begins));
        all.extend(self.outline.iter().map(|outline| (outline.nock_mm(), StationKind::Nock)));
        all.push((end_mm, StationKind::EndOfWood));
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        all.into_iter().map(|(station_mm, kind)| MarkedStation { station_mm, kind }).collect()
    }

    /// What builders call it, such as `core ends`.
    pub fn station_name(&self, kind: StationKind) -> String {
        let of = |index: usize, what: &str| format!("{} {what}", self.laminations[index].name);
        match kind {
            StationKind::Centre => "centre".into(),
            StationKind::FadeBegins => "fade begins".into(),
            StationKind::Feather => "feather".into(),
            StationKind::Begins(index) => of(index, "begins"),
            StationKind::Meets(index) => of(index, &format!("{} to here", self.laminations[index].meet.done())),
            StationKind::Spliced(index) => of(index, "spliced"),
            StationKind::Ends(index) | StationKind::EndsWithWood(index) => of(index, "ends"),
            StationKind::OverlayBegins(index) => format!("{} begins", self.overlays[index].name()),
            StationKind::Nock => "nock".into(),
            StationKind::EndOfWood => "end of the wood".into(),
        }
    }
}
