//! Whether strips of two laminations can lie on one sled. A sled only mirrors a taper: strips of one taper, length and width have one
//! seat, whatever their thickness, and only the run-on beside them differs. A plank that is taken as it is stands up to a step of the gauge
//! higher for one strip than for another, so that each ends on a step ([`super::sled`]); whoever planes it cannot tell them apart.

use super::sled::{Sled, lies_as_it_is};
use crate::model::lamination::Lamination;
use crate::model::workshop::SledPlan;
use crate::units::limit;

/// What decides where a strip can lie.
#[derive(Debug, Clone, Copy)]
pub struct Seat<'a> {
    pub sled: &'a Sled,
    pub plan: &'a SledPlan,
    pub lamination: &'a Lamination,
    /// Of the machine's gauge, mm.
    pub gap_step_mm: f64,
}

impl Seat<'_> {
    /// Whether either strip lies on both sleds alike: only the run-on beyond it may differ.
    pub fn is_like(&self, other: &Seat<'_>) -> bool {
        let (a, b) = (self.sled, other.sled);
        let as_high = |one_mm: f64, other_mm: f64| {
            let planed = lies_as_it_is(self.plan) && !limit::above((one_mm - other_mm).abs(), self.gap_step_mm);
            planed || limit::same(one_mm, other_mm)
        };
        let heights =
            |of: &Sled, other: &Sled| of.ramp.points().iter().all(|(u, _)| as_high(of.surface_mm(*u), other.surface_mm(*u)));
        self.plan == other.plan
            && limit::same(self.lamination.stock.width_mm, other.lamination.stock.width_mm)
            && a.ends == b.ends
            && a.first_end_leads == b.first_end_leads
            && a.together == b.together
            && limit::same(a.strip_length_mm, b.strip_length_mm)
            && limit::same(a.butt_mm, b.butt_mm)
            && heights(a, b)
            && heights(b, a)
    }
}
