//! A sled from a solid board on edge, sawn and planed to a profile. Its template is the rail of a ramp without slots.
//!
//! Source: geometry; carpentry common practice.

use super::joint::{JointLock, candidates, lock, split};
use super::kit::{Kit, Means, RailPiece};
use super::label::{label_in, the};
use super::nest::{SheetSide, room_mm, short_key};
use super::parts::{Part, compensated};
use super::profile::{Profile, ProfileCut, height_at_butt};
use super::sled::Sled;
use crate::diag::{Diagnostic, Message, Outcome, Place, Reported, mm, sentence};
use crate::geometry::{Bounds, Point};
use crate::model::machine_limits::sled_width_mm;
use crate::model::workshop::SledPlan;

/// The profile template of a solid board, in pieces where it is longer than the cutter's bed.
pub fn kit(sled: &Sled, means: &Means<'_>) -> Outcome<Kit> {
    let Means { plan, cutter, .. } = *means;
    let profile = Profile::board(sled);
    let [from, to] = profile.ends_mm();
    let least = sled.ramp.min().y;
    let lock = lock(least, cutter.half_kerf_mm(), plan.fit_mm);
    let reach = lock.as_ref().map_or(0.0, JointLock::reach_mm);
    let room = room_mm(&plan.sheet, cutter)[0] - reach;
    let [seat_from, seat_to] = profile.seat_mm;
    // A joint near a corner of the taper blurs it when it is planed.
    let Some(joints) = split(from, to, room, &candidates(seat_from, seat_to, &sled.corners_mm)) else {
        let message =
            message!("a profile {} long cannot be split into pieces of at most {} between its stops", mm(to - from), mm(room));
        return Err(vec![
            Diagnostic::fault(Place::new(short_key(&plan.sheet, cutter, SheetSide::Long)), message)
                .hint("use a longer bed or sheet"),
        ]);
    };
    let mut bounds = vec![from];
    bounds.extend(joints);
    bounds.push(to);
    let pieces = bounds.len() - 1;
    let mut kit = Kit::new(sled.clone(), sled_width_mm(means.strip_width_mm, sled.together, plan));
    kit.made_of = height_at_butt(means);
    kit.steps = notes(sled, plan, pieces, to - from).iter().map(|note| sentence(&note.spoken(means.units))).collect();
    for (k, pair) in bounds.windows(2).enumerate() {
        let name = if pieces == 1 { "board profile".to_owned() } else { format!("board profile {} of {pieces}", k + 1) };
        let joined = [0 < k, k + 1 < pieces];
        let stretch = ProfileCut { from: pair[0], to: pair[1], joined, lock: lock.as_ref(), lock_at_mm: 0.5 * least };
        let edge = profile.piece(&stretch, &[]);
        let purpose = "stuck to the side of the board, lower edge flush with its sole: saw and plane the board to its upper edge";
        let mut part = Part::new(name.clone(), edge, plan.sheet.thickness_mm, purpose);
        let clear = 2.0 * reach + 6.0;
        let room = Bounds { min: Point::new(clear, 2.0), max: Point::new(pair[1] - pair[0] - clear, least - 2.0) };
        part.labels.extend(label_in(
            room,
            &[
                format!("< {} - {} {name} - {} >", sled.ends[0], sled.lamination, sled.ends[1]),
                format!("{} {name}", sled.lamination),
                name,
            ],
        ));
        let working = Point::new(0.0, least - 1.0);
        part.no_tabs.push(Bounds { min: working, max: Point::new(pair[1] - pair[0], f64::MAX) });
        kit.rails.push(RailPiece { part: k, side: 0, u_from_mm: pair[0], u_to_mm: pair[1] });
        kit.parts.push(part);
    }
    let faults: Vec<Diagnostic> = kit.parts.iter().filter_map(|part| compensated(part, cutter.half_kerf_mm()).err()).collect();
    if faults.is_empty() { Ok(Reported::clean(kit)) } else { Err(faults) }
}

fn notes(sled: &Sled, plan: &SledPlan, pieces: usize, length_mm: f64) -> Vec<Message> {
    let mut notes = Vec::new();
    if 1 < pieces {
        notes.push(message!("lock and glue the template's pieces standing on a flat table, shoulders tight: the table sets the height. Joined it is {} long", mm(length_mm)));
    }
    notes.push("stick the template to the side of the board, lower edges flush; saw outside the upper edge and plane down to it, square across".into());
    notes.push("clear the inside corners at the stops with a chisel, so that the strip's square end seats".into());
    if 0.0 < plan.deck_mm {
        notes.push(message!("the profile leaves room for a deck of {} between the stops", mm(plan.deck_mm)));
    }
    notes.push(message!(
        "measure the height of the board along both edges before the first strip, with {} on the left, and correct it with tape",
        the(sled.ends[0])
    ));
    notes
}
