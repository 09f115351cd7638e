//! Places that hands cut into a riser.

use taperwright::job::Job;
use taperwright::mechanics::grip::{HandCut, WeakPlace};

/// What is left where a riser is cut so.
pub fn place(job: &Job, cut: HandCut) -> WeakPlace {
    job.riser_at_its_cuts().expect("a bow").iter().find(|place| place.cut == cut).expect("the riser is cut there").clone()
}
