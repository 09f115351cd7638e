//! The sheets of one lamination's sled, the files that a cutter follows, and the proof on those files.

use super::{Job, work};
use crate::diag::{Outcome, Reported};
use crate::job::work::Work;

/// What is drawn for a sled, and what grinding on it gives.
pub(super) type Cut = Work;

/// Draws the sled as it was planned, and grinds on what the cut files say.
pub(super) fn cut(job: &Job, lamination: usize) -> Outcome<Option<Cut>> {
    let build = job.build();
    if build.laminations[lamination].ground {
        return Ok(Reported::clean(None));
    }
    let value = work::work(build, &build.laminations[lamination], job.stamp(), &mut Vec::new())?;
    Ok(Reported::clean(value))
}
