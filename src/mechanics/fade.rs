//! Will a dry lamination go over the riser's fade, and what would make it go?
//!
//! ```text
//!   surface strain   ε = t |κ − κ_free| / 2
//!   thickness that bears a limit        t = 2 ε / |κ − κ_free|
//!   bend given beforehand               κ_free = κ − 2 ε / t
//! ```
//!
//! `t` the thickness at the station, `κ` the curvature it is brought to (fade and form together), `κ_free` its own. The shortest fade
//! that stays under a limit is found by halving: a longer fade of the same depth is gentler everywhere.
//!
//! Limits: the trade has no published limit for a dry strip over a fade. [`Limits`] are proposals of this program and shown as such, lessened for
//! a wood that breaks sooner. The lamination is taken to lie on the fade all along it; where the fade meets the level part at an angle, nothing can follow, and the check says so.

use super::verdict::{Limits, Verdict};
use crate::diag::{Diagnostic, Place, at_least, at_most, mm};
use crate::model::Build;
use crate::model::riser::Riser;
use crate::numeric::root;

/// One lamination over the fade.
#[derive(Debug, Clone, PartialEq)]
pub struct Climb {
    /// Index into [`Build::laminations`].
    pub lamination: usize,
    /// `(station, surface strain)` from the level part to the feather.
    pub along: Vec<(f64, f64)>,
    /// Where it works hardest: station, strain, thickness and radius.
    pub s_mm: f64,
    pub strain: f64,
    pub thickness_mm: f64,
    pub radius_mm: f64,
    pub verdict: Verdict,
    /// [`FadeCheck::limits`], lessened to what its wood bears dry.
    pub limits: Limits,
    /// Average breaking strain of its wood, where published.
    pub breaking_strain: Option<f64>,
    /// What would bring it under the caution; `None` where it goes, or where nothing does.
    pub cure: Option<Cure>,
}

/// Any one of these brings a lamination under the limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cure {
    pub limit: f64,
    /// Length of one fade, the level part and the depth unchanged; `None` where even the longest tried is too short.
    pub fade_length_mm: Option<f64>,
    /// Over the whole fade.
    pub thickness_mm: f64,
    /// Radius of the bend to give it beforehand, where it works hardest.
    pub bent_before_radius_mm: f64,
}

/// All laminations that climb the fades.
#[derive(Debug, Clone, PartialEq)]
pub struct FadeCheck {
    pub limits: Limits,
    pub climbs: Vec<Climb>,
    /// Index into `climbs` of the hardest-worked.
    pub worst: usize,
    /// Angle between fade and level part where they meet, rad.
    pub corner_rad: f64,
}

/// Every lamination that climbs the riser's fades; `None` without a riser, or where nothing climbs it.
///
/// `form_curvature(lamination, station)` is the curvature of the limb's line while it is glued, 1/mm.
pub fn check(build: &Build, limits: Limits, form_curvature: impl Fn(usize, f64) -> f64) -> Option<FadeCheck> {
    let riser = build.riser.as_ref()?;
    let climbs: Vec<Climb> = (riser.position..build.laminations.len())
        .filter(|index| build.laminations[*index].from_mm < riser.feather_station_mm())
        .map(|index| climb(build, riser, limits, index, &|s| form_curvature(index, s)))
        .collect();
    let worst = (0..climbs.len()).max_by(|a, b| climbs[*a].strain.total_cmp(&climbs[*b].strain))?;
    let corner_rad = corner_rad(riser);
    Some(FadeCheck { limits, climbs, worst, corner_rad })
}

impl FadeCheck {
    /// Warnings for the laminations over a limit, and for a corner that they would have to turn.
    pub fn warnings(&self, build: &Build) -> Vec<Diagnostic> {
        let mut warnings = Vec::new();
        let Some(riser) = &build.riser else { return warnings };
        let percent = |strain: f64| format!("{:.2} percent", 100.0 * strain);
        for climb in &self.climbs {
            let Some(over) = climb.limits.over(climb.strain) else { continue };
            let lamination = &build.laminations[climb.lamination];
            let message = message!(
                "`{}` is {} thick over a radius of {} at station {}: surface strain {}, {}",
                lamination.name,
                mm(climb.thickness_mm),
                mm(climb.radius_mm),
                mm(climb.s_mm),
                percent(climb.strain),
                over
            );
            let mut warning = Diagnostic::warning(Place::new("riser.length"), message);
            if let Some(cure) = &climb.cure {
                if let Some(length) = cure.fade_length_mm {
                    warning = warning.hint(message!(
                        "fades {} long stay under {}: a riser {} long feather to feather",
                        at_least(length),
                        percent(cure.limit),
                        at_least(riser.level_mm + 2.0 * length)
                    ));
                }
                warning = warning
                    .hint(message!("or make it no thicker than {} over the fades", at_most(cure.thickness_mm)))
                    .hint(message!(
                        "or bend it beforehand (steam, dry heat) to a radius of about {} there",
                        at_most(cure.bent_before_radius_mm)
                    ));
            }
            warnings.push(warning);
        }
        let turns = self.climbs.iter().find(|climb| build.laminations[climb.lamination].from_mm < 0.5 * riser.level_mm);
        if let Some(climb) = turns.filter(|_| CORNER_RAD < self.corner_rad) {
            let lamination = &build.laminations[climb.lamination];
            let message = format!(
                "the fade meets the level part at {:.0} degrees; `{}` runs on over that corner, which no strip can follow",
                self.corner_rad.to_degrees(),
                lamination.name
            );
            let mut warning = Diagnostic::warning(Place::new("riser.level"), message);
            // Under an overlay a strip has to run through.
            if riser.overlay.is_none() {
                warning = warning.hint(message!(
                    "let it end on the fade, which the grip's shaping hides: `from = {}` or a little more",
                    at_least(0.5 * riser.level_mm)
                ));
            }
            if let Some(length) = gentle_mm(build, riser) {
                warning = warning.hint(message!(
                    "with longer fades they meet at {} degrees: raise `riser.length` to {} or more",
                    format_args!("{:.0}", CORNER_RAD.to_degrees()),
                    at_least(riser.level_mm + 2.0 * length)
                ));
            }
            let or = if warning.hints.is_empty() { "" } else { "or " };
            warnings.push(warning.hint(format!("{or}round the corner off until the strip lies down on it")));
        }
        warnings
    }
}

fn climb(build: &Build, riser: &Riser, limits: Limits, index: usize, form: &dyn Fn(f64) -> f64) -> Climb {
    let lamination = &build.laminations[index];
    let along = strains(build, riser, index, form);
    let (s_mm, strain) = greatest(&along);
    let thickness_mm = lamination.finished.at(s_mm);
    let curvature = riser.fade_at(s_mm).curvature_per_mm + form(s_mm);
    // Of two woods over one fade the weaker is taken for both, and none is known where one is not.
    let over = lamination.woods_between(0.5 * riser.level_mm, riser.feather_station_mm());
    let breaking_strain = over.map(|wood| wood.breaking_strain).reduce(|min, next| Some(min?.min(next?))).flatten();
    let limits = limits.of_wood(breaking_strain);
    let verdict = limits.verdict(strain);
    let cure = (verdict != Verdict::Goes).then(|| {
        let limit = limits.caution;
        // Just under the limit, so that what we propose is not itself over it.
        let thickness_mm =
            along.iter().map(|(s, strain)| lamination.finished.at(*s) * limit / strain.max(1e-12)).fold(f64::INFINITY, f64::min);
        Cure {
            limit,
            fade_length_mm: shortest(build, riser, index, form, limit),
            thickness_mm,
            bent_before_radius_mm: 1.0 / (curvature.abs() - 2.0 * limit / lamination.finished.at(s_mm)).max(1e-9),
        }
    });
    Climb {
        lamination: index,
        along,
        s_mm,
        strain,
        thickness_mm,
        radius_mm: 1.0 / curvature.abs().max(1e-12),
        verdict,
        limits,
        breaking_strain,
        cure,
    }
}

/// Surface strain along the fade where the lamination lies, from the level part to the feather.
fn strains(build: &Build, riser: &Riser, index: usize, form: &dyn Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let lamination = &build.laminations[index];
    let from = (0.5 * riser.level_mm + NEAR_MM).max(lamination.from_mm);
    let to = riser.feather_station_mm() - NEAR_MM;
    let count = ((to - from) / STEP_MM).ceil().clamp(1.0, 2000.0) as u32;
    (0..=count)
        .map(|k| {
            let s = from + (to - from) * f64::from(k) / f64::from(count);
            let curvature = riser.fade_at(s).curvature_per_mm + form(s);
            (s, 0.5 * lamination.finished.at(s) * curvature.abs())
        })
        .collect()
}

fn corner_rad(riser: &Riser) -> f64 {
    riser.fade_at(0.5 * riser.level_mm + NEAR_MM).slope.atan()
}

/// The shortest fade that meets the level part without a corner to speak of, mm.
fn gentle_mm(build: &Build, riser: &Riser) -> Option<f64> {
    shortest_where(build, riser, |longer| corner_rad(longer) <= CORNER_RAD)
}

/// The shortest fade on which the lamination stays under `limit`, mm.
fn shortest(build: &Build, riser: &Riser, index: usize, form: &dyn Fn(f64) -> f64, limit: f64) -> Option<f64> {
    shortest_where(build, riser, |longer| greatest(&strains(build, longer, index, form)).1 <= limit)
}

/// The shortest of the fades longer than drawn with which the riser does, mm; none where the riser would take more than half of the bow.
fn shortest_where(build: &Build, riser: &Riser, does: impl Fn(&Riser) -> bool) -> Option<f64> {
    let nock = build.outline.as_ref().map_or(f64::INFINITY, |outline| outline.nock_mm());
    let with = |length: f64| does(&Riser { length_mm: riser.level_mm + 2.0 * length, ..riser.clone() });
    let now = riser.fade_length_mm();
    let longest = (LONGEST * now).min(0.5 * (nock - riser.level_mm));
    if longest <= now || !with(longest) {
        return None;
    }
    // Forty halvings of a span of a metre end far under what can be measured.
    Some(root::bisect(with, longest, now, 40).holds)
}

fn greatest(along: &[(f64, f64)]) -> (f64, f64) {
    along.iter().copied().fold((0.0, 0.0), |max, here| if max.1 < here.1 { here } else { max })
}

/// Spacing of the stations along the fade, mm: curvature changes over tens of millimetres.
const STEP_MM: f64 = 2.0;
/// Inside the fade's ends by this, where its curvature jumps, mm.
const NEAR_MM: f64 = 1e-6;
/// A fade four times as long as drawn is another riser.
const LONGEST: f64 = 4.0;
/// A corner under this angle (5 degrees) vanishes under a file.
const CORNER_RAD: f64 = 0.0873;
