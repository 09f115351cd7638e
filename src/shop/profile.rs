//! The outline of a rail or of a board seen from the side: flat on the table, its top edge the ramp, raised at the run-ons.
//!
//! ```text
//!    ▄▄▄▄▄                                   ___▄▄▄▄▄   run-on top, less the deck that lies on it
//!    █████▙______-------''''''''''''''''''''''   █████   ramp r(u)
//!    █████████████████████████████████████████████████
//!    ███┌┐█████┌┐█████┌┐█████┌┐█████┌┐█████┌┐█████┌┐██   slots from below
//!    └──┘└─────┘└─────┘└─────┘└─────┘└─────┘└─────┘└─┘   0, the table
//! ```
//!
//! The strip's seat is a little longer than the strip, at the end that is not held. For a round tool the step of the rail
//! stands back under the overhanging run-on deck, with the tool's relief between it and the strip's end: no relief is ever under
//! the strip.
//!
//! Frames: `x = u − from` of the piece, `y` above the table; outlines run counter-clockwise.

use super::joint::{JointLock, TOOL_ROOM};
use super::kit::Means;
use super::sled::Sled;
use crate::geometry::{Path, Point, Vertex};
use crate::model::workshop::SheetCutter;
use std::f64::consts::SQRT_2;

/// The side view of a whole rail, from which pieces are taken.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Profile<'a> {
    sled: &'a Sled,
    /// Inner faces of the stops, `u`: the strip lies between them. Where there is no stop, the sled's end.
    pub seat_mm: [f64; 2],
    /// Where the rail steps up, `u`; at or outside the seat's end. Where there is no stop, the sled's end.
    pub step_mm: [f64; 2],
    /// Height of the rail's edge under the run-on decks.
    run_on_mm: [Option<f64>; 2],
    /// Radius of the relief for a round tool; 0 if none is needed.
    relief_mm: f64,
}

/// A slot that opens at the bottom (or the top) edge of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct JointSlot {
    pub centre_mm: f64,
    pub width_mm: f64,
    /// Height of its end above the table.
    pub end_mm: f64,
}

/// A piece of a rail or board between two places, `u`, and its joints.
#[derive(Debug, Clone, Copy)]
pub(super) struct ProfileCut<'a> {
    pub from: f64,
    pub to: f64,
    /// Other pieces meet it at its left and at its right.
    pub joined: [bool; 2],
    /// What locates them; `None` where plates alone do.
    pub lock: Option<&'a JointLock>,
    /// Height of the lock's middle above the table, mm.
    pub lock_at_mm: f64,
}

/// Room for a strip sawn a little long, mm. Without it such a strip bows up between the stops; more lets it slide before it bears.
const SEAT_PLAY_MM: f64 = 1.0;

impl<'a> Profile<'a> {
    /// A rail under decks of `deck_mm`, with relief for the cutter's tool.
    pub fn rail(sled: &'a Sled, deck_mm: f64, cutter: &SheetCutter) -> Profile<'a> {
        Profile::new(sled, deck_mm, relief_mm(cutter))
    }

    /// A board whose own edge is run-on and stop: nothing could hide a relief, so that inside corners are left to the chisel.
    pub fn board(sled: &'a Sled) -> Profile<'a> {
        Profile::new(sled, 0.0, 0.0)
    }

    fn new(sled: &'a Sled, deck_mm: f64, relief: f64) -> Profile<'a> {
        let back = if 0.0 < relief { 2.0 * relief + 0.3 } else { 0.0 };
        let length = sled.strip_length_mm;
        let ends = [-sled.run_on_mm, length + sled.run_on_mm];
        let held = usize::from(!sled.first_end_leads);
        let (mut seat, mut step, mut run_on) = (ends, ends, [None; 2]);
        for (end, (sign, u)) in [(-1.0, 0.0), (1.0, length)].into_iter().enumerate() {
            if let Some(top) = sled.run_on_top_mm[end] {
                seat[end] = u + if end == held { 0.0 } else { sign * SEAT_PLAY_MM };
                step[end] = seat[end] + sign * back;
                run_on[end] = Some(top - deck_mm);
            }
        }
        Profile { sled, seat_mm: seat, step_mm: step, run_on_mm: run_on, relief_mm: relief }
    }

    /// Ends of the whole rail, `u`.
    pub fn ends_mm(&self) -> [f64; 2] {
        [-self.sled.run_on_mm, self.sled.strip_length_mm + self.sled.run_on_mm]
    }

    /// Height of the rail's edge at `u`, relief left out of account.
    pub fn top_mm(&self, u: f64) -> f64 {
        match self.run_on_mm {
            [Some(top), _] if u < self.step_mm[0] => top,
            [_, Some(top)] if self.step_mm[1] < u => top,
            _ => self.sled.ramp.at(u.clamp(0.0, self.sled.strip_length_mm)),
        }
    }

    /// Least height of the edge over `u ± half`.
    pub fn min_top_mm(&self, u: f64, half: f64) -> f64 {
        let corners = self.sled.ramp.points().iter().map(|point| point.0).filter(|corner| (corner - u).abs() < half);
        [u - half, u + half].into_iter().chain(corners).map(|at| self.top_mm(at)).fold(f64::INFINITY, f64::min)
    }

    /// The piece between two places, which must not lie in a step, with a lock's socket at its left end and a tongue at its right.
    pub fn piece(&self, between: &ProfileCut<'_>, slots: &[JointSlot]) -> Path {
        let ProfileCut { from, to, lock_at_mm, .. } = *between;
        let [socket, tongue] = between.joined.map(|joined| between.lock.filter(|_| joined));
        let length = to - from;
        let corner = |x: f64, y: f64| Vertex { at: Point::new(x, y), bulge: 0.0 };
        let mut edge = vec![corner(0.0, 0.0)];
        for slot in slots {
            let half = 0.5 * slot.width_mm;
            let x = slot.centre_mm - from;
            edge.push(corner(x - half, 0.0));
            edge.extend(self.slot_end(Point::new(x - half, slot.end_mm), Point::new(x + half, slot.end_mm), (0.0, 1.0)));
            edge.push(corner(x + half, 0.0));
        }
        edge.push(corner(length, 0.0));
        edge.extend(tongue.map(|lock| lock.tongue(Point::new(length, lock_at_mm))).unwrap_or_default());
        edge.extend(self.top_between(from, to));
        edge.extend(socket.map(|lock| lock.socket(Point::new(0.0, lock_at_mm))).unwrap_or_default());
        Path { vertices: without_doubles(edge), closed: true }
    }

    /// A cross rib `width` wide and `height` high, with slots from above.
    pub fn rib(&self, width: f64, height: f64, slots: &[JointSlot]) -> Path {
        let corner = |x: f64, y: f64| Vertex { at: Point::new(x, y), bulge: 0.0 };
        let mut edge = vec![corner(0.0, 0.0), corner(width, 0.0), corner(width, height)];
        for slot in slots.iter().rev() {
            let half = 0.5 * slot.width_mm;
            edge.push(corner(slot.centre_mm + half, height));
            let (right, left) = (slot.centre_mm + half, slot.centre_mm - half);
            edge.extend(self.slot_end(Point::new(right, slot.end_mm), Point::new(left, slot.end_mm), (0.0, -1.0)));
            edge.push(corner(left, height));
        }
        edge.push(corner(0.0, height));
        Path { vertices: without_doubles(edge), closed: true }
    }

    /// How far a slot's relief reaches beyond its end, mm.
    pub fn slot_relief_mm(&self, width: f64) -> f64 {
        if self.relief_mm <= 0.0 {
            0.0
        } else if self.has_dogbones(width) {
            (1.0 - 0.5 * SQRT_2) * self.relief_mm
        } else {
            0.5 * width
        }
    }

    fn has_dogbones(&self, width: f64) -> bool {
        2.0 * SQRT_2 * self.relief_mm + 0.3 <= width
    }

    /// The inner end of a slot, from its first to its second corner as the outline meets them; `inward` points into the part.
    ///
    /// For a round tool each corner becomes a half circle through the corner on its diagonal, so that a square edge still seats
    /// fully; where two of them do not fit side by side, the slot ends in one half circle beyond its depth.
    fn slot_end(&self, first: Point, second: Point, inward: (f64, f64)) -> Vec<Vertex> {
        let vertex = |at: Point, bulge: f64| Vertex { at, bulge };
        let width = first.distance(second);
        if self.relief_mm <= 0.0 {
            return vec![vertex(first, 0.0), vertex(second, 0.0)];
        }
        if !self.has_dogbones(width) {
            return vec![vertex(first, -1.0), vertex(second, 0.0)];
        }
        let reach = SQRT_2 * self.relief_mm;
        let along = ((second.x - first.x) / width * reach, (second.y - first.y) / width * reach);
        let back = (inward.0 * reach, inward.1 * reach);
        vec![
            vertex(Point::new(first.x - back.0, first.y - back.1), -1.0),
            vertex(Point::new(first.x + along.0, first.y + along.1), 0.0),
            vertex(Point::new(second.x - along.0, second.y - along.1), -1.0),
            vertex(Point::new(second.x - back.0, second.y - back.1), 0.0),
        ]
    }

    /// The top edge from right to left, in the frame of the piece.
    fn top_between(&self, from: f64, to: f64) -> Vec<Vertex> {
        let inside = |vertex: &Vertex| from + 1e-6 < vertex.at.x && vertex.at.x < to - 1e-6;
        let end = |u: f64| Vertex { at: Point::new(u, self.top_mm(u)), bulge: 0.0 };
        let mut chain = vec![end(from)];
        chain.extend(self.whole_top().into_iter().filter(inside));
        chain.push(end(to));
        let reversed = Path { vertices: chain, closed: false }.reversed();
        reversed.moved(-from, 0.0).vertices
    }

    /// The whole top edge from left to right, `x = u`.
    fn whole_top(&self) -> Vec<Vertex> {
        let ends = self.ends_mm();
        let level = [0.0, self.sled.strip_length_mm].map(|u| self.sled.ramp.at(u));
        let vertex = |u: f64, y: f64, bulge: f64| Vertex { at: Point::new(u, y), bulge };
        let relief = 2.0 * self.relief_mm;
        let mut chain = Vec::new();
        if let Some(top) = self.run_on_mm[0] {
            chain.extend([vertex(ends[0], top, 0.0), vertex(self.step_mm[0], top, 0.0)]);
            if 0.0 < relief {
                chain.push(vertex(self.step_mm[0], level[0], 1.0));
                chain.push(vertex(self.step_mm[0] + relief, level[0], 0.0));
            }
        }
        if self.relief_mm <= 0.0 || self.run_on_mm[0].is_none() {
            chain.push(vertex(self.step_mm[0], level[0], 0.0));
        }
        chain.extend(self.sled.ramp.points().iter().map(|(u, y)| vertex(*u, *y, 0.0)));
        if self.relief_mm <= 0.0 || self.run_on_mm[1].is_none() {
            chain.push(vertex(self.step_mm[1], level[1], 0.0));
        }
        if let Some(top) = self.run_on_mm[1] {
            if 0.0 < relief {
                chain.push(vertex(self.step_mm[1] - relief, level[1], 1.0));
                chain.push(vertex(self.step_mm[1], level[1], 0.0));
            }
            chain.extend([vertex(self.step_mm[1], top, 0.0), vertex(ends[1], top, 0.0)]);
        }
        chain
    }
}

/// What a sled whose edge is the ramp consists of.
pub(super) fn height_at_butt(means: &Means<'_>) -> String {
    format!("ramp {} at the lamination's butt", means.units.thickness(means.plan.base_mm))
}

/// Radius of the relief at inside corners for this cutter, mm.
fn relief_mm(cutter: &SheetCutter) -> f64 {
    match cutter {
        SheetCutter::Router { bit_mm, .. } => TOOL_ROOM * 0.5 * bit_mm,
        SheetCutter::Laser { .. } | SheetCutter::Hand { .. } => 0.0,
    }
}

fn without_doubles(vertices: Vec<Vertex>) -> Vec<Vertex> {
    let mut kept: Vec<Vertex> = Vec::with_capacity(vertices.len());
    for vertex in vertices {
        match kept.last_mut() {
            Some(last) if last.at.distance(vertex.at) < 1e-6 => last.bulge = vertex.bulge,
            _ => kept.push(vertex),
        }
    }
    kept
}
