//! Where calipers are set along the fades of a block, and what they must read there.

use crate::model::riser::BlockProfile;
use crate::units::System;

/// What the calipers must read at one mark, at both ends of the block.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CheckMark {
    pub from_feather_mm: f64,
    pub station_mm: f64,
    pub thickness_mm: f64,
}

/// How far apart the caliper marks stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CheckSteps {
    /// Over the first `near_span_mm` from the feather.
    pub near_mm: f64,
    pub near_span_mm: f64,
    /// From there to the level part.
    pub far_mm: f64,
}

impl CheckSteps {
    /// Every quarter inch in the last two inches, then every half inch; in metric builds every 5 mm in the last 40 mm,
    /// then every 10 mm. Common practice, no source; the metric steps are ours.
    pub fn usual(units: System) -> CheckSteps {
        let (near, near_span, far) = match units {
            System::Inch => (0.25, 2.0, 0.5),
            System::Millimetre => (5.0, 40.0, 10.0),
        };
        CheckSteps { near_mm: units.to_mm(near), near_span_mm: units.to_mm(near_span), far_mm: units.to_mm(far) }
    }
}

/// Marks at the feather, close together beside it and wider further in, up to the start of the level part, which is the last.
pub(super) fn check_marks(riser: &BlockProfile, steps: CheckSteps) -> Vec<CheckMark> {
    let fade = riser.fade_length_mm();
    let mut distances = Vec::new();
    let near = (steps.near_span_mm / steps.near_mm).round().clamp(1.0, 1000.0) as u32;
    distances.extend((0..=near).map(|k| steps.near_mm * f64::from(k)));
    let far = ((fade - steps.near_span_mm) / steps.far_mm).ceil().clamp(0.0, 1000.0) as u32;
    distances.extend((1..=far).map(|k| steps.near_span_mm + steps.far_mm * f64::from(k)));
    distances.retain(|d| *d < fade - 1e-6);
    distances.push(fade);
    distances
        .into_iter()
        .map(|from_feather_mm| {
            let station_mm = riser.feather_station_mm() - from_feather_mm;
            CheckMark { from_feather_mm, station_mm, thickness_mm: riser.thickness_at(station_mm) }
        })
        .collect()
}
