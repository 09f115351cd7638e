//! A bow of two different limbs, seen from one of them: its own shape and strains, the whole bow's force, energy and string.

use super::draw::{self, DifferentLimb, DrawCurve, DrawPoint, SolverEffort};
use super::pair::{PairCurve, PairPoint, PairSide, SidePoint};
use super::strain::greatest;
use crate::model::limb::LimbSide;

/// The curve from this side, with the other limb's beside it.
pub fn seen_from(pair: &PairCurve, side: LimbSide) -> DrawCurve {
    let other = DifferentLimb { is: side.other(), curve: Box::new(alone(pair, side.other())) };
    DrawCurve { other: Some(other), ..alone(pair, side) }
}

fn alone(pair: &PairCurve, side: LimbSide) -> DrawCurve {
    let PairSide { stations, worst } = match side {
        LimbSide::Upper => &pair.upper,
        LimbSide::Lower => &pair.lower,
    };
    let points: Vec<DrawPoint> = pair.points.iter().map(|at| point(at, side)).collect();
    let bends_most = points.last().map_or(0, |full| greatest(full.places.iter().map(|place| place.bend_per_mm)));
    DrawCurve {
        grip_depth_mm: pair.grip_depth_mm,
        string_mm: pair.string_mm,
        stations: stations.clone(),
        energy: pair.energy,
        stack: draw::stacking(&points),
        bends_most,
        worst: worst.clone(),
        worst_of_all: draw::hardest(worst),
        effort: SolverEffort { steps_per_pass: 0, passes: Vec::new() },
        other: None,
        points,
    }
}

fn point(at: &PairPoint, side: LimbSide) -> DrawPoint {
    // The angle is positive toward the upper limb.
    let (of, toward) = match side {
        LimbSide::Upper => (&at.upper, 1.0),
        LimbSide::Lower => (&at.lower, -1.0),
    };
    let SidePoint { tension_n, string_angle_rad, nock_angle_rad, touched_mm, places } = of;
    DrawPoint {
        draw_length_mm: at.draw_length_mm,
        pivot_to_nock_mm: at.pivot_to_nock_mm,
        nocking_y_mm: toward * at.pivot_to_nock_mm * at.pull_angle_rad.sin(),
        force_n: at.force_n,
        force_slope_n_mm: at.force_slope_n_mm,
        tension_n: *tension_n,
        string_angle_rad: *string_angle_rad,
        nock_angle_rad: nock_angle_rad.max(0.0),
        touched_mm: *touched_mm,
        stored_n_mm: at.stored_n_mm,
        places: places.clone(),
    }
}
