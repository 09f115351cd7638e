//! A sled cut from sheet: rails whose top edge is the ramp, cross ribs, and a deck that carries the strip.
//!
//! Rails and ribs cross in half-laps: the rails are slotted from below, the ribs from above, so that the rails' top edge is never
//! broken; both stand on the table. A rib is as high as the lowest place of the ramp over its thickness, so that it never lifts
//! the deck off the rails. The deck lies on both; its pieces meet over ribs. There are as few ribs as its stiffness allows: the deck,
//! taken as a beam that runs on over the ribs alone and turns freely where its pieces meet, sags no more than the tolerance under the
//! roller, anywhere on the strip (the rails beside it make it stiffer still). Ribs stand on whole units from the strip's first end
//! (`shop::rule`), but for those beside the stops and at corners of the taper. Under a run-on, where no strip lies, the rails carry.
//! At each end a deck lies higher, on the raised ends of the rails; its inner end is the strip's stop.
//!
//! Rails longer than the cutter's bed are put together from pieces between ribs ([`super::joint`]); the joints of neighbouring
//! rails stand in different bays, those of the deck elsewhere again.
//!
//! Limits: rails and ribs are taken as rigid, which standing on a flat table they are.
//!
//! Source: geometry; sag from [`super::sag`]; carpentry common practice.

mod ribs;

use super::joint::{Candidate, JointLock, lock, split};
use super::kit::{Kit, Means, NamedPlace, RailPiece};
use super::label::{MIN_CAP_MM, label_in, listed, the};
use super::nest::{SheetSide, room_mm, short_key};
use super::parts::{Part, compensated};
use super::profile::{JointSlot, Profile, ProfileCut, height_at_butt};
use super::sag::{Carried, LoadedBeam};
use super::sled::Sled;
use crate::diag::{Diagnostic, Message, Outcome, Place, Reported, at_least, mm, ruled, sentence};
use crate::drawing::{Align, Label};
use crate::geometry::{Bounds, Path, Point};
use crate::model::machine_limits::{ear_mm, sled_width_mm};
use crate::model::workshop::{SheetCutter, SledPlan};
use crate::units::limit;

/// All parts of the sled, or every reason why it cannot be cut.
pub fn kit(sled: &Sled, means: &Means<'_>) -> Outcome<Kit> {
    let JointedFrame { frame, joints, decks, carried, warnings } = fewest_ribs(sled, means).map_err(|fault| vec![fault])?;
    let mut kit = Kit::new(sled.clone(), frame.width);
    kit.ribs_mm = frame.ribs.clone();
    // Ribs under the raised ends carry no place that could be measured.
    let numbered = (1..).zip(&frame.ribs).filter(|(_, u)| (0.0..=sled.strip_length_mm).contains(*u));
    kit.places = numbered.map(|(number, u)| NamedPlace { u_mm: *u, name: format!("rib {number}") }).collect();
    frame.add_rails(&mut kit, &joints);
    frame.add_plates(&mut kit, &joints);
    frame.add_ribs(&mut kit);
    frame.add_decks(&mut kit, &decks);
    kit.sag_mm = [frame.deck.held_mm(frame.widest()), carried.worst_mm(0.0, sled.strip_length_mm)];
    kit.made_of = height_at_butt(means);
    kit.steps = frame.notes(&joints, kit.sag_mm[1]).iter().map(|note| sentence(&note.spoken(means.units))).collect();
    let half_kerf_mm = means.cutter.half_kerf_mm();
    kit.carried = Some(carried);
    let faults: Vec<Diagnostic> = kit.parts.iter().filter_map(|part| compensated(part, half_kerf_mm).err()).collect();
    if faults.is_empty() { Ok(Reported { value: kit, warnings }) } else { Err(faults) }
}

/// A frame with its joints, whose deck is stiff enough.
struct JointedFrame<'a> {
    frame: Frame<'a>,
    /// Of the even and of the odd rails.
    joints: [Vec<f64>; 2],
    /// Where pieces of the deck meet.
    decks: Vec<f64>,
    carried: Carried,
    warnings: Vec<Diagnostic>,
}

/// The frame with the widest bays over which the deck sags no more than the tolerance. Simply supported it does so over bays of one
/// width; running on, over wider ones, at most by the cube root of four.
fn fewest_ribs<'a>(sled: &'a Sled, means: &Means<'a>) -> Result<JointedFrame<'a>, Diagnostic> {
    let (deck, free) = free_span(sled, means)?;
    let half = means.units.rule_steps_mm()[1];
    let most = limit::whole_steps((4.0_f64.cbrt() * free).min(MAX_BAY_MM), half) as u32;
    let wider = (1..=most.min(200)).rev().map(|halves| f64::from(halves) * half).take_while(|span| free < *span);
    for span in wider {
        if let Ok(laid) = laid_out(sled, means, deck, span)
            && !limit::above(laid.carried.worst_mm(0.0, sled.strip_length_mm), means.plan.tolerance_mm)
        {
            return Ok(laid);
        }
    }
    laid_out(sled, means, deck, free.min(MAX_BAY_MM))
}

fn laid_out<'a>(sled: &'a Sled, means: &Means<'a>, deck: LoadedBeam, span: f64) -> Result<JointedFrame<'a>, Diagnostic> {
    let mut warnings = Vec::new();
    let frame = Frame::new(sled, means, deck, span)?;
    let joints = frame.rail_joints(&mut warnings)?;
    let decks = frame.deck_joints(&joints)?;
    let supports_mm = frame.ribs[frame.seat_ribs.clone()].to_vec();
    let carried = Carried { beam: frame.deck, supports_mm, joints_mm: decks.clone() };
    Ok(JointedFrame { frame, joints, decks, carried, warnings })
}

/// The deck as a beam, and the span over which it sags as much as the tolerance, simply supported; a fault where that is no room for
/// ribs.
fn free_span(sled: &Sled, means: &Means<'_>) -> Result<(LoadedBeam, f64), Diagnostic> {
    let plan = means.plan;
    let sheet = plan.sheet.thickness_mm;
    if plan.deck_mm <= 0.0 {
        return Err(Diagnostic::fault(
            Place::new("sled.deck"),
            "a ramp of rails and ribs needs a deck to carry the strip, and it is 0 mm",
        )
        .hint(message!("write `deck` = {}, the thickness of the sheet, or more", at_least(sheet))));
    }
    let width = sled_width_mm(means.strip_width_mm, sled.together, plan);
    let deck = LoadedBeam::of(plan, plan.deck_mm, width, means.sander);
    let span = deck.span_for_mm(plan.tolerance_mm);
    let min_span = ribs::closest_mm(sheet);
    if limit::below(span, min_span) {
        let thicker = plan.deck_mm * min_span / span;
        let message = message!(
            "a deck of {} sags {} under the roller even over ribs {} apart; the tolerance is {}",
            mm(plan.deck_mm),
            mm(deck.simply_supported_mm(min_span)),
            mm(min_span),
            mm(plan.tolerance_mm)
        );
        return Err(
            Diagnostic::fault(Place::new("sled.deck"), message).hint(message!("raise `deck` to {} or more", at_least(thicker)))
        );
    }
    Ok((deck, span))
}

/// Ribs wider apart than this leave rails and deck wobbly while they are glued, mm.
const MAX_BAY_MM: f64 = 150.0;
/// Rails wider apart leave long ribs that warp; closer ones only make more to cut, mm.
const MAX_BETWEEN_RAILS_MM: f64 = 120.0;
/// A joint nearer to a stop than this would stand where the stop takes the strip's push, mm.
const JOINT_TO_STOP_MM: f64 = 25.0;
/// Sheet that must stay between a lock and the slots beside it, mm: less, and the tongue's neck breaks out of its bay.
const LOCK_TO_SLOT_MM: f64 = 4.0;
/// Rail over a slot and rib under one, relief counted, mm. Less, and plywood snaps there when the parts are pressed together or a
/// rail is dropped; more would refuse rails of 12 mm, which laser cutters make soundly. Common practice, no source.
pub const MIN_BRIDGE_MM: f64 = 5.0;
/// The decks are this much shorter at a stop so that they drop in, mm.
const DECK_PLAY_MM: f64 = 0.2;
/// A fish plate stays this far from table and working edge, mm.
const PLATE_CLEAR_MM: f64 = 2.5;
/// Wider holes in the plate than in the rail: pins keep pieces from sliding while the glue sets, the table sets the height, mm.
const PIN_PLAY_MM: f64 = 0.4;

/// What all parts are laid out by.
struct Frame<'a> {
    sled: &'a Sled,
    cutter: &'a SheetCutter,
    plan: &'a SledPlan,
    profile: Profile<'a>,
    deck: LoadedBeam,
    width: f64,
    /// Centres of the ribs, `u`, and where those under the seat begin and end in the list.
    ribs: Vec<f64>,
    seat_ribs: std::ops::Range<usize>,
    /// Centres of the rails across the sled, from the left.
    rails: Vec<f64>,
    /// Height at which the half-laps meet.
    lap: f64,
    slot: f64,
    lock: Option<JointLock>,
    room: [f64; 2],
}

impl<'a> Frame<'a> {
    fn new(sled: &'a Sled, means: &Means<'a>, deck: LoadedBeam, span: f64) -> Result<Frame<'a>, Diagnostic> {
        let Means { plan, cutter, .. } = *means;
        let sheet = plan.sheet.thickness_mm;
        let profile = Profile::rail(sled, plan.deck_mm, cutter);
        let width = deck.width_mm;
        let (ribs, seat_ribs) = ribs::places(&profile, sled, sheet, span, &means.units.rule_steps_mm())?;
        let first = ear_mm(sheet) + 0.5 * sheet;
        let between = width - 2.0 * first;
        let gaps = (between / MAX_BETWEEN_RAILS_MM).ceil().max(1.0) as usize;
        let rails = (0..=gaps).map(|k| first + between * k as f64 / gaps as f64).collect();
        let least = sled.ramp.min().y;
        let slot = sheet + plan.fit_mm;
        let bridge = bridge_mm(least, plan.fit_mm, profile.slot_relief_mm(slot));
        if limit::below(bridge, MIN_BRIDGE_MM) {
            let message = message!(
                "rails of the sled for `{}`, {} high at their lowest, keep {} over their slots, the tool's relief \
                 counted; they need {}",
                sled.lamination,
                mm(least),
                mm(bridge.max(0.0)),
                mm(MIN_BRIDGE_MM)
            );
            // Half of what is added goes to the slot below.
            let base = sled.ramp.at(sled.butt_mm) + 2.0 * (MIN_BRIDGE_MM - bridge);
            return Err(Diagnostic::fault(Place::new("sled.base"), message)
                .hint(message!("raise `base` to {} or more, or use a smaller bit", at_least(base))));
        }
        Ok(Frame {
            sled,
            cutter,
            plan,
            profile,
            deck,
            width,
            ribs,
            seat_ribs,
            rails,
            lap: 0.5 * least,
            slot,
            lock: lock(least, cutter.half_kerf_mm(), plan.fit_mm),
            room: room_mm(&plan.sheet, cutter),
        })
    }

    fn sheet(&self) -> f64 {
        self.plan.sheet.thickness_mm
    }

    /// Height of the middle of the lock above the table.
    fn lock_at(&self) -> f64 {
        self.lap
    }

    fn reach(&self) -> f64 {
        self.lock.as_ref().map_or(0.0, JointLock::reach_mm)
    }

    /// Widest distance between two neighbouring ribs under the seat.
    fn widest(&self) -> f64 {
        self.seat_bays().map(|pair| pair[1] - pair[0]).fold(0.0, f64::max)
    }

    fn seat_bays(&self) -> impl Iterator<Item = &[f64]> {
        self.ribs[self.seat_ribs.clone()].windows(2)
    }

    /// Bays under the seat that rails are joined in: a rule and corners of the taper make some narrower, and those that are much narrower
    /// take no joint.
    fn joint_bays(&self) -> impl Iterator<Item = &[f64]> {
        const NARROWEST: f64 = 0.75;
        let least = NARROWEST * self.widest();
        self.seat_bays().filter(move |pair| least <= pair[1] - pair[0])
    }

    /// Free length between the ribs of the narrowest bay that rails are joined in.
    fn bay(&self) -> f64 {
        let narrowest = self.joint_bays().map(|pair| pair[1] - pair[0]).fold(f64::INFINITY, f64::min);
        if narrowest.is_finite() { narrowest - self.slot } else { 0.0 }
    }

    /// Joints of the even and of the odd rails, each in bays of its own.
    fn rail_joints(&self, warnings: &mut Vec<Diagnostic>) -> Result<[Vec<f64>; 2], Diagnostic> {
        let [from, to] = self.profile.ends_mm();
        let room = self.room[0] - self.reach();
        let candidates = self.bays();
        let impossible = || {
            let message = message!(
                "rails {} long must be cut in pieces of at most {}, and joints fit only between ribs that are {} apart",
                mm(to - from),
                mm(room),
                mm(self.bay() + self.slot)
            );
            Diagnostic::fault(Place::new(short_key(&self.plan.sheet, self.cutter, SheetSide::Long)), message)
                .hint("use a longer bed or sheet, a smaller bit, or a thicker deck so that ribs stand wider")
        };
        let even = split(from, to, room, &candidates).ok_or_else(impossible)?;
        // The most even joints of one rail may leave the other without room for as few: try also without each of them.
        let mut tries = vec![even.clone()];
        tries.extend(even.iter().filter_map(|joint| split(from, to, room, &apart_from(&candidates, &[*joint], 1.0))));
        // Two bays apart if that takes no more pieces, one if it does.
        let spacing = self.bay() + self.slot;
        let pairs = [1.5, 0.5].into_iter().flat_map(|bays| tries.iter().map(move |even| (bays, even)));
        let staggered = pairs.filter_map(|(bays, even)| {
            let odd = split(from, to, room, &apart_from(&candidates, even, bays * spacing))?;
            Some([even.clone(), odd])
        });
        if let Some(found) = staggered.min_by_key(|[even, odd]| even.len() + odd.len()) {
            return Ok(found);
        }
        let message = "the joints of both rails stand side by side: the bed leaves no other bay for them";
        warnings.push(Diagnostic::warning(Place::new("shop.cutter"), message).hint("glue a plate on both faces of each joint"));
        Ok([even.clone(), even])
    }

    /// Places for joints: in the middle of bays, clear of slots and stops; at a corner of the taper only if nothing else is left.
    fn bays(&self) -> Vec<Candidate> {
        let reach = self.reach();
        if self.bay() < reach + 2.0 * LOCK_TO_SLOT_MM {
            return Vec::new();
        }
        let [seat_from, seat_to] = self.profile.seat_mm;
        self.joint_bays()
            .map(|pair| (0.5 * (pair[0] + pair[1]), 0.5 * (pair[1] - pair[0])))
            .filter(|(middle, _)| seat_from + JOINT_TO_STOP_MM <= *middle && *middle <= seat_to - JOINT_TO_STOP_MM)
            .map(|(middle, half)| {
                let at_corner = self.sled.corners_mm.iter().any(|corner| (corner - middle).abs() <= half);
                Candidate { at_mm: middle - 0.5 * reach, cost: u32::from(at_corner) }
            })
            .collect()
    }

    fn add_rails(&self, kit: &mut Kit, joints: &[Vec<f64>; 2]) {
        let [from, to] = self.profile.ends_mm();
        let last = self.rails.len() - 1;
        for side in 0..self.rails.len() {
            let rail = match side {
                0 => "left rail".to_owned(),
                side if side == last => "right rail".to_owned(),
                _ if last == 2 => "middle rail".to_owned(),
                side => format!("middle rail {side}"),
            };
            let joints = &joints[side % 2];
            let mut bounds = vec![from];
            bounds.extend(joints);
            bounds.push(to);
            let pieces = bounds.len() - 1;
            for (k, pair) in bounds.windows(2).enumerate() {
                let name = if pieces == 1 { rail.clone() } else { format!("{rail} {} of {pieces}", k + 1) };
                let joined = [0 < k, k + 1 < pieces];
                let lock = self.lock.as_ref();
                let part =
                    self.rail_piece(name, &ProfileCut { from: pair[0], to: pair[1], joined, lock, lock_at_mm: self.lock_at() });
                kit.rails.push(RailPiece { part: kit.parts.len(), side: side as u32, u_from_mm: pair[0], u_to_mm: pair[1] });
                kit.parts.push(part);
            }
        }
    }

    fn rail_piece(&self, name: String, stretch: &ProfileCut<'_>) -> Part {
        let ProfileCut { from, to, joined: [joined_left, joined_right], .. } = *stretch;
        let here: Vec<(usize, f64)> = self.ribs.iter().copied().enumerate().filter(|(_, u)| from < *u && *u < to).collect();
        let end = self.lap + 0.5 * self.plan.fit_mm;
        let slots: Vec<JointSlot> =
            here.iter().map(|(_, u)| JointSlot { centre_mm: *u, width_mm: self.slot, end_mm: end }).collect();
        let edge = self.profile.piece(stretch, &slots);
        let mut purpose = "carries the deck; its top edge is the ramp; slots down, onto the ribs".to_owned();
        if joined_left || joined_right {
            purpose
                .push_str("; glue to the next piece with both standing on a flat table, which sets the height, shoulders tight");
        }
        let mut part = Part::new(name, edge, self.sheet(), purpose);
        let length = to - from;
        part.no_tabs.push(band([0.0, length], [self.sled.ramp.min().y - 1.0, f64::MAX]));
        part.no_tabs.extend(here.iter().map(|(_, u)| band([u - from - self.slot, u - from + self.slot], [0.0, end + 1.0])));
        // The shoulders of a lock make the joint.
        part.no_tabs.extend(joined_left.then(|| band([0.0, self.reach()], [0.0, f64::MAX])));
        part.no_tabs.extend(joined_right.then(|| band([length, length + self.reach()], [0.0, f64::MAX])));
        // Above the slots: the rib's number, and over all numbers the part's name.
        let floor = end + self.profile.slot_relief_mm(self.slot) + 1.0;
        let band = self.sled.ramp.min().y - 1.5 - floor;
        // On a low rail the numbers come first, and the name stands between two ribs.
        let number = (0.3 * band).clamp(MIN_CAP_MM, 2.5);
        let labels =
            here.iter().map(|(i, u)| Label::new((i + 1).to_string(), Point::new(u - from, floor), number).aligned(Align::Middle));
        part.labels.extend(labels);
        let clear = |joined: bool| if joined { 0.5 * (self.bay() + self.slot) + self.reach() } else { 8.0 };
        let (left, right) = (clear(joined_left), to - from - clear(joined_right));
        let name = format!("{} {}", self.sled.lamination, part.name);
        let texts = [format!("< {} - {name} - {} >", self.sled.ends[0], self.sled.ends[1]), name.clone(), part.name.clone()];
        let room = Bounds { min: Point::new(left, floor + number + 0.8), max: Point::new(right, self.sled.ramp.min().y - 1.0) };
        let between_ribs = || {
            let middle = 0.5 * (to - from);
            let clear = 0.5 * self.slot + 1.0;
            let bays = here.windows(2).map(|pair| (pair[0].1 - from + clear, pair[1].1 - from - clear));
            // Where pieces meet there are plates.
            let free = bays.filter(|(a, b)| left <= *b && *a <= right && 0.0 < b - a);
            let off = |bay: &(f64, f64)| (0.5 * (bay.0 + bay.1) - middle).abs();
            let (a, b) = free.min_by(|one, other| off(one).total_cmp(&off(other)))?;
            let bay = Bounds { min: Point::new(a, 1.0), max: Point::new(b, self.sled.ramp.min().y - 1.0) };
            label_in(bay, &texts[1..])
        };
        part.labels.extend(label_in(room, &texts).or_else(between_ribs));
        if let Some(pins) = self.pins() {
            for (joint, right_side) in
                joined_left.then_some((0.0, true)).into_iter().chain(joined_right.then_some((to - from, false)))
            {
                let x = joint + if right_side { self.reach() + pins.from_lock } else { -pins.from_lock };
                part.holes.extend(pins.heights.map(|y| Path::circle(Point::new(x, y), 0.5 * pins.diameter)));
            }
        } else {
            let (low, high) = self.plate_heights();
            for (joint, sign) in joined_left.then_some((0.0, 1.0)).into_iter().chain(joined_right.then_some((to - from, -1.0))) {
                let x = joint + 0.5 * self.reach() + sign * 0.5 * self.plate_length();
                part.marks.push(Path::line(Point::new(x, low), Point::new(x, high)));
            }
        }
        part
    }

    /// Joints without a lock, and joints of neighbouring rails side by side, take a plate on either face.
    fn plates_on_a_joint(&self, joints: &[Vec<f64>; 2]) -> u32 {
        let bay = 0.5 * (self.bay() + self.slot);
        let side_by_side = joints[0].iter().any(|even| joints[1].iter().any(|odd| (even - odd).abs() < bay));
        if self.lock.is_none() || side_by_side { 2 } else { 1 }
    }

    fn plate_length(&self) -> f64 {
        self.bay() - 2.0
    }

    fn plate_heights(&self) -> (f64, f64) {
        (PLATE_CLEAR_MM, self.sled.ramp.min().y - PLATE_CLEAR_MM)
    }

    /// Register pins beside a lock; `None` where there is no room for them.
    fn pins(&self) -> Option<Pins> {
        let diameter = (2.4 * self.cutter.half_kerf_mm()).ceil().max(3.0);
        let (low, high) = self.plate_heights();
        let wing = 0.5 * (self.plate_length() - self.reach());
        let heights = [low + 0.25 * (high - low), high - 0.25 * (high - low)];
        let roomy = diameter + 6.0 <= wing && diameter + 4.0 <= heights[1] - heights[0];
        roomy.then_some(Pins { diameter, from_lock: 0.5 * wing, heights })
    }

    fn add_plates(&self, kit: &mut Kit, joints: &[Vec<f64>; 2]) {
        let count: usize = (0..self.rails.len()).map(|side| joints[side % 2].len()).sum();
        if count == 0 {
            return;
        }
        let (low, high) = self.plate_heights();
        let (length, height) = (self.plate_length(), high - low);
        let edge = Path::rectangle(Bounds { min: Point::new(0.0, 0.0), max: Point::new(length, height) });
        let faces = if self.plates_on_a_joint(joints) == 2 { "both faces" } else { "its inner face" };
        let mut purpose = message!("glued over a rail's joint on {}, between two ribs, clear of table and working edge", faces);
        let mut holes = Vec::new();
        if let Some(pins) = self.pins() {
            purpose.push(message!("; pins of {} keep it from sliding, they do not set the height", mm(pins.diameter)));
            for x in [pins.from_lock, length - pins.from_lock] {
                // From the plate's ends the holes are as far as from the lock: they stand in the middle of the wings.
                let radius = 0.5 * (pins.diameter + PIN_PLAY_MM);
                holes.extend(pins.heights.map(|y| Path::circle(Point::new(x, y - low), radius)));
            }
        }
        let mut part = Part::new("joint plate", edge, self.sheet(), purpose);
        part.count = count as u32 * self.plates_on_a_joint(joints);
        let margin = self.pins().map_or(2.0, |pins| pins.from_lock + 0.5 * pins.diameter + 2.0);
        let room = Bounds { min: Point::new(margin, 1.0), max: Point::new(length - margin, height - 1.0) };
        part.labels.extend(label_in(room, &["joint plate", "plate"].map(|name| format!("{} {name}", self.sled.lamination))));
        part.holes = holes;
        kit.parts.push(part);
    }

    fn add_ribs(&self, kit: &mut Kit) {
        let mut groups: Vec<(f64, Vec<usize>)> = Vec::new();
        for (i, u) in self.ribs.iter().enumerate() {
            let height = self.profile.min_top_mm(*u, 0.5 * self.sheet());
            match groups.iter_mut().find(|(h, _)| (*h - height).abs() < 5e-4) {
                Some((_, numbers)) => numbers.push(i + 1),
                None => groups.push((height, vec![i + 1])),
            }
        }
        let end = self.lap - 0.5 * self.plan.fit_mm;
        let slots: Vec<JointSlot> =
            self.rails.iter().map(|y| JointSlot { centre_mm: *y, width_mm: self.slot, end_mm: end }).collect();
        for (height, numbers) in groups {
            let name = format!("rib{} {}", if numbers.len() == 1 { "" } else { "s" }, listed(&numbers));
            let edge = self.profile.rib(self.width, height, &slots);
            let purpose = "stands on the table across the rails, slots up; carries the deck between the rails";
            let mut part = Part::new(name.clone(), edge, self.sheet(), purpose);
            part.count = numbers.len() as u32;
            part.no_tabs.push(band([0.0, self.width], [end - self.slot, f64::MAX]));
            let top = end - self.profile.slot_relief_mm(self.slot) - 0.8;
            let room = Bounds { min: Point::new(2.0, 0.8), max: Point::new(self.width - 2.0, top) };
            part.labels.extend(label_in(room, &[format!("{} {name}", self.sled.lamination), name]));
            kit.parts.push(part);
        }
    }

    /// Ends of the deck under the strip.
    fn deck_ends(&self) -> [f64; 2] {
        let [seat_from, seat_to] = self.profile.seat_mm;
        let [first, last] = self.sled.run_on_top_mm.map(|top| if top.is_some() { DECK_PLAY_MM } else { 0.0 });
        [seat_from + first, seat_to - last]
    }

    /// Where pieces of the deck meet: over ribs, away from the rails' joints and corners of the taper if that can be.
    fn deck_joints(&self, joints: &[Vec<f64>; 2]) -> Result<Vec<f64>, Diagnostic> {
        let [from, to] = self.deck_ends();
        let half_bay = 0.75 * (self.bay() + self.slot);
        let inner = self.seat_ribs.start + 1..self.seat_ribs.end.saturating_sub(1);
        let count = inner.len();
        let candidates: Vec<Candidate> = self
            .ribs
            .get(inner)
            .unwrap_or_default()
            .iter()
            .enumerate()
            .map(|(k, u)| {
                // A piece over a single bay runs on over no rib, and is the limpest.
                let over_one = k == 0 || k + 1 == count;
                let near_joint = joints.iter().flatten().any(|joint| (joint - u).abs() < half_bay);
                let at_corner = self.sled.corners_mm.iter().any(|corner| (corner - u).abs() < self.sheet());
                Candidate { at_mm: *u, cost: 4 * u32::from(over_one) + 2 * u32::from(near_joint) + u32::from(at_corner) }
            })
            .collect();
        split(from, to, self.room[0], &candidates).ok_or_else(|| {
            let message = message!(
                "a deck {} long cannot be cut in pieces of at most {} that meet over ribs",
                mm(to - from),
                mm(self.room[0])
            );
            Diagnostic::fault(Place::new(short_key(&self.plan.sheet, self.cutter, SheetSide::Long)), message)
                .hint("use a longer bed or sheet")
        })
    }

    fn add_decks(&self, kit: &mut Kit, meeting: &[f64]) {
        let ends = self.profile.ends_mm();
        let [seat_from, seat_to] = self.profile.seat_mm;
        let [first, last] = self.sled.run_on_top_mm.map(|top| top.is_some());
        for (end, stop, from, to) in [(0, first, ends[0], seat_from), (1, last, seat_to, ends[1])] {
            if stop {
                let leads = (end == 0) == self.sled.first_end_leads;
                let name = format!("run-on, {}", self.sled.ends[end]);
                let mut lines = vec![format!("{} {name}", self.sled.lamination), "stop; this face down".to_owned()];
                if leads {
                    lines.push("goes in first".to_owned());
                }
                let purpose = "deck on the rails' raised end: snipe falls on it, and its inner end is the strip's stop";
                kit.parts.push(self.deck(name, to - from, purpose, &lines));
            }
        }
        let [from, to] = self.deck_ends();
        let bounds: Vec<f64> = [from].into_iter().chain(meeting.iter().copied()).chain([to]).collect();
        let count = bounds.len() - 1;
        for (k, pair) in bounds.windows(2).enumerate() {
            let name = if count == 1 { "deck".to_owned() } else { format!("deck {} of {count}", k + 1) };
            let mut lines = vec![format!("{} {name}", self.sled.lamination), "this face down".to_owned()];
            if 1 < count {
                lines[0].push_str(&format!(", counted from {}", the(self.sled.ends[0])));
            }
            let purpose = "carries the strip; ends meet over the middle of a rib; glue it down along rails and ribs";
            kit.parts.push(self.deck(name, pair[1] - pair[0], purpose, &lines));
        }
    }

    fn deck(&self, name: String, length: f64, purpose: &str, lines: &[String]) -> Part {
        let area = Bounds { min: Point::new(0.0, 0.0), max: Point::new(length, self.width) };
        let mut part = Part::new(name, Path::rectangle(area), self.plan.deck_mm, purpose);
        // Its stiffness counts along the sheet's length.
        part.may_turn = false;
        // Its ends meet others, or stop the strip.
        part.no_tabs.extend([[0.0, 0.0], [length, length]].map(|x| band(x, [0.0, self.width])));
        let room = area.grown(-4.0);
        let line_height = room.height() / lines.len() as f64;
        for (k, line) in (0..).zip(lines) {
            let top = room.max.y - line_height * f64::from(k);
            let band = Bounds { min: Point::new(room.min.x, top - line_height), max: Point::new(room.max.x, top) };
            part.labels.extend(label_in(band, std::slice::from_ref(line)));
        }
        part
    }

    fn notes(&self, joints: &[Vec<f64>; 2], sag_mm: f64) -> Vec<Message> {
        let [a, b] = self.sled.ends.map(the);
        let mut notes = Vec::new();
        if joints.iter().any(|joints| !joints.is_empty()) {
            let [from, to] = self.profile.ends_mm();
            let plates = if self.plates_on_a_joint(joints) == 2 { "a plate on either face" } else { "plate on the inner face" };
            notes.push(message!("rails first: lock and glue the pieces of each rail standing on a flat table, shoulders tight, {}; the table sets the height. A joined rail is {} long", plates, ruled(to - from)));
        }
        notes.push(message!("labels read upright when a part stands the right way up, with {} on the left; all rails show their labels to the same side", a));
        notes.push(message!("stand the ribs slots up in the order of their numbers from {}, drop the rails over them, press both down to the table, and glue", a));
        let stops = self.sled.run_on_top_mm.iter().any(Option::is_some);
        let run_ons =
            if stops { ", then the run-on decks with their inner ends square to the rails: they are the stops" } else { "" };
        notes.push(message!("glue the deck on{}", run_ons));
        notes.push(message!(
            "the ribs stand up to {} apart; between them the deck sags up to {} under the roller, of a tolerance of {}",
            ruled(self.widest()),
            mm(sag_mm),
            mm(self.plan.tolerance_mm)
        ));
        notes.push(message!(
            "measure the height of the deck along both edges before the first strip, and correct it with tape; {} goes into the machine first and is held there with tape",
            if self.sled.first_end_leads { a } else { b }
        ));
        notes
    }
}

/// An area of a part between these places of x and of y.
fn band([left, right]: [f64; 2], [low, high]: [f64; 2]) -> Bounds {
    Bounds { min: Point::new(left, low), max: Point::new(right, high) }
}

/// Sheet between a half-lap's end and the part's far edge, at the lowest place of a ramp, mm; the same for rail and rib.
fn bridge_mm(min_mm: f64, fit_mm: f64, relief_mm: f64) -> f64 {
    0.5 * (min_mm - fit_mm) - relief_mm
}

fn apart_from(candidates: &[Candidate], joints: &[f64], least: f64) -> Vec<Candidate> {
    let apart = |candidate: &&Candidate| joints.iter().all(|joint| least < (joint - candidate.at_mm).abs());
    candidates.iter().filter(apart).copied().collect()
}

struct Pins {
    diameter: f64,
    /// From the lock (its shoulder or the end of its tongue), which is also that from the plate's end, mm.
    from_lock: f64,
    heights: [f64; 2],
}
