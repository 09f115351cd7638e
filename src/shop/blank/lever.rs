//! Where may wood come off a limb, and how much of it?
//!
//! The belly of the last lamination, scraped or ground, unless that face is kept: told so by `keep_face`, glass, or bamboo's outer
//! face. Then weight and tiller come off the edges, and the corners take the last of it. Log, book and charts ask [`lever`]; what
//! it says in words is [`WoodLever::spoken`], [`kept_because`] and [`limits`].
//!
//! What rounded corners take is a number of the section alone. A quarter round of radius `r` takes from an edge, at depth `z` below
//! its face, `r − √(r² − (r − z)²)`; the section is cut into thin layers that are so much narrower at both edges, and its loss of
//! EI is counted as a loss of width; a crowned belly has its corners at its top. Check: a corner so cut off has the area `(1 − π/4) r²`, its middle 0.2234 `r` from both faces
//! (any table of sections).

use super::{SIDES_STAY, TIP_MM, places, ramp, scaled};
use crate::diag::{Diagnostic, Message, mm};
use crate::mechanics::section::{Section, Stack};
use crate::model::Build;
use crate::model::lamination::Face;
use crate::model::wood::MaterialKind;
use crate::units::System;

/// What is worked on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WoodLever {
    /// The belly face of this lamination, an index.
    Belly { lamination: usize },
    /// Both edges.
    Sides,
}

/// The share of the belly lamination that must stay. Less, and its wood no longer does what the stack was made for; more leaves no
/// room for what wood scatters. A proposal of ours, no source.
pub const BELLY_STAYS: f64 = 0.7;

/// Where weight comes off first, and where a stiff stretch is eased.
pub fn lever(build: &Build) -> WoodLever {
    match (kept(build), build.laminations.len().checked_sub(1)) {
        (None, Some(lamination)) => WoodLever::Belly { lamination },
        _ => WoodLever::Sides,
    }
}

impl WoodLever {
    /// The place in words: `` the belly of `belly` ``, `both edges`.
    pub fn spoken(self, build: &Build) -> String {
        match self {
            WoodLever::Belly { lamination } => format!("the belly of `{}`", build.laminations[lamination].name),
            WoodLever::Sides => "both edges".into(),
        }
    }
}

/// Why a belly is not worked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum KeptFaces {
    Told,
    Glass,
    Bamboo,
    /// No one lamination is the belly of the whole limb.
    Short,
}

fn kept(build: &Build) -> Option<KeptFaces> {
    let Some(last) = build.laminations.last() else { return Some(KeptFaces::Short) };
    let reaches = last.from_mm <= build.limb_from_mm() + 1.0 && build.nock_mm() - 1.0 <= last.to_mm;
    let of = |kind: MaterialKind| last.woods().any(|wood| wood.kind == kind);
    match last.keep_face {
        _ if !reaches => Some(KeptFaces::Short),
        _ if last.faces_free => None,
        Some(Face::Belly) => Some(KeptFaces::Told),
        _ if of(MaterialKind::Glass) => Some(KeptFaces::Glass),
        None if of(MaterialKind::Bamboo) => Some(KeptFaces::Bamboo),
        _ => None,
    }
}

/// Why the belly stays whole, in words; `None` where it may be worked.
pub fn kept_because(build: &Build) -> Option<String> {
    let name = build.laminations.last().map_or("", |last| last.name.as_str());
    kept(build).map(|kept| match kept {
        KeptFaces::Told => format!("`keep_face` keeps the belly of `{name}` whole"),
        KeptFaces::Glass => format!("`{name}` is glass or the like, and its face stays whole"),
        KeptFaces::Bamboo => format!("the belly of `{name}` is bamboo's outer face and stays whole"),
        KeptFaces::Short => format!("`{name}` is not the belly of the whole limb"),
    })
}

/// How much may go at most, in words.
pub fn limits(build: &Build) -> Message {
    let belly = match lever(build) {
        WoodLever::Belly { .. } => format!("{:.0} percent of the belly lamination and ", 100.0 * (1.0 - BELLY_STAYS)),
        WoodLever::Sides => String::new(),
    };
    // As a rule shows it.
    let tip_mm = match build.units {
        System::Inch => TIP_MM,
        System::Millimetre => 0.5 * (2.0 * TIP_MM).floor(),
    };
    message!(
        "No more than {}{} percent of the width should go, and no tip becomes narrower than {}; these limits are ours.",
        belly,
        format_args!("{:.0}", 100.0 * (1.0 - SIDES_STAY)),
        mm(tip_mm)
    )
}

/// All four corners of the limb rounded beyond the fades.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corners {
    pub radius_mm: f64,
    /// What that takes of the weight, N.
    pub takes_n: f64,
}

/// A radius that a file gives corners without changing the limb's look: 1/8 in or 3 mm, less on thin or narrow limbs.
pub(super) fn radius_mm(build: &Build) -> f64 {
    let usual = build.units.either_mm(0.125, 3.0);
    let outline = build.outline.as_ref();
    places(build.limb_from_mm(), build.nock_mm(), &[])
        .map(|s| (0.5 * build.dry_stack_mm(s)).min(0.25 * outline.map_or(0.0, |outline| outline.width_at(s))))
        .fold(usual, f64::min)
}

/// The build with all four corners rounded beyond the fades, as a bow of the same stiffness with square corners: narrower.
pub fn rounded(build: &Build, radius_mm: f64) -> Result<Build, Diagnostic> {
    let stack = Stack::of(build)?;
    // There is wood up to the nock at least, and nothing bends beyond it.
    let lost = |s: f64| {
        let s = s.min(build.nock_mm());
        let whole = stack.section(s, s);
        ramp(build, s) * (1.0 - cornered(&whole, radius_mm).stiffness_n_mm2 / whole.stiffness_n_mm2)
    };
    Ok(scaled(build, |s, width| width * (1.0 - lost(s))))
}

/// The section with its four corners rounded, in layers thin enough to follow the round.
fn cornered(whole: &Section, radius_mm: f64) -> Section {
    const THIN_MM: f64 = 0.05;
    let off_edge = |z: f64| if z < radius_mm { radius_mm - (radius_mm.powi(2) - (radius_mm - z).powi(2)).sqrt() } else { 0.0 };
    let thin = whole.layers.iter().flat_map(|layer| {
        let count = (layer.thickness_mm / THIN_MM).ceil().clamp(1.0, 2000.0) as usize;
        let each = layer.thickness_mm / count as f64;
        (0..count).map(move |k| {
            let z = layer.back_mm + (k as f64 + 0.5) * each;
            let off = off_edge(z).max(off_edge(whole.depth_mm - z));
            (layer.part, each, layer.modulus_mpa, (layer.width_at_mm(z) - 2.0 * off).max(0.0))
        })
    });
    Section::of(thin)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::layer_kind::LayerKind;
    use std::f64::consts::PI;

    /// A plank of 30 by 10 mm less four spandrels of radius 3: area (1 − π/4) r², middle r (10 − 3π) / (3 (4 − π)) from both faces
    /// and own second moment (1/3 − π/16 − 1/(9 (4 − π))) r⁴ about it; any table of sections.
    #[test]
    fn rounded_corners_lose_what_tables_say() {
        let (width, depth, r) = (30.0, 10.0, 3.0_f64);
        let whole = Section::of([(LayerKind::Lamination(0), depth, 1.0, width)]);
        let area = (1.0 - PI / 4.0) * r * r;
        let middle = r * (10.0 - 3.0 * PI) / (3.0 * (4.0 - PI));
        let own = (1.0 / 3.0 - PI / 16.0 - 1.0 / (9.0 * (4.0 - PI))) * r.powi(4);
        let table = whole.stiffness_n_mm2 - 4.0 * (own + area * (0.5 * depth - middle).powi(2));
        let found = cornered(&whole, r).stiffness_n_mm2;
        assert!((found / table - 1.0).abs() < 5e-4, "{found} {table}");
    }
}
