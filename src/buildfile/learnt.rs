//! `[learnt]`: what a log of finished bows said of all stiffness, written by `series` so that the file says it by itself.

use super::reader::{FileSection, Range, if_given};
use crate::model::build::LearntStiffness;
use crate::units::Quantity;

/// A factor beyond this is a slip of units or of the file, not wood.
const FACTOR: Range = Range::between(0.5, 2.0);
/// More than this from bow to bow, and nothing was learnt.
const SPREAD: Range = Range::between(0.0, 0.5);
const MAX_BOWS: u32 = 100_000;

/// The outer `None` where the table is at fault.
pub fn learnt(section: &FileSection<'_>) -> Option<Option<LearntStiffness>> {
    if !section.present() {
        return Some(None);
    }
    let factor = section.need("stiffness", "say what all stiffness is over the handbook's, such as stiffness = 0.93");
    let factor = factor.and_then(|written| written.quantity(Quantity::Ratio, FACTOR));
    let spread = section.get("spread").map(|written| written.quantity(Quantity::Ratio, SPREAD));
    let bows = section.need("bows", "say from how many bows it was learnt, such as bows = 5");
    let bows = bows.and_then(|written| written.count(1, MAX_BOWS));
    section.finish();
    Some(Some(LearntStiffness { factor: factor?, spread: if_given(spread)?, bows: bows? }))
}
