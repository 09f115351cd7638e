//! Where does the limb bend out of line with its neighbourhood, and what in the build makes it?
//!
//! At full draw the bend `Δκ(s) = M/EI` of a sound limb runs smoothly; where `EI` falls too fast it stands up from its trend, and the limb
//! hinges there. The logarithm of the bend is compared with its own trend, a parabola fitted about each station with weights
//! that fade over `WINDOW` of the working limb (local regression; W. S. Cleveland, J. American Statistical Association 74 (1979)
//! 829–836, tricube weights). A place that rises more than `RISE` above it, and more than its neighbours, is named.
//!
//! The cause is the change in the build nearby that takes most stiffness away toward it: a lamination that ends, a taper or a width that
//! turns, the riser's feather.
//!
//! The working limb runs from the feather to `OUTER` of the way to the nock; nearer the nock the moment goes to nothing.

use super::draw::DrawCurve;
use super::section::Stack;
use super::strain;
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::numeric::interp::Curve;

/// A place that bends too much.
#[derive(Debug, Clone, PartialEq)]
pub struct Hinge {
    pub s_mm: f64,
    /// Bend there over the trend, a ratio above 1.
    pub over_trend: f64,
    pub cause: HingeCause,
    /// Station of the cause, mm.
    pub cause_mm: f64,
}

/// What changes the stiffness.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HingeCause {
    /// This lamination starts or ends.
    LaminationEnd(usize),
    /// This lamination is spliced of two woods.
    Splice(usize),
    /// The taper of this lamination turns.
    Taper(usize),
    /// The outline's width turns.
    Width,
    /// What is trapped turns.
    Trapped,
    /// The belly's crown turns.
    Crown,
    /// The riser's fade ends.
    Feather,
}

impl Hinge {
    /// What makes the limb bend more there, in words.
    pub fn cause_words(&self, build: &Build) -> String {
        match self.cause {
            HingeCause::LaminationEnd(index) => format!("`{}` begins or ends there", build.laminations[index].name),
            HingeCause::Splice(index) => format!("`{}` is spliced of two woods there", build.laminations[index].name),
            HingeCause::Taper(index) => format!("the taper of `{}` turns there", build.laminations[index].name),
            HingeCause::Width => "the outline's width turns there".into(),
            HingeCause::Trapped => "what is trapped turns there".into(),
            HingeCause::Crown => "the belly's crown turns there".into(),
            HingeCause::Feather => "the riser's fade ends there".into(),
        }
    }

    pub fn warning(&self, build: &Build) -> Diagnostic {
        let place = match self.cause {
            HingeCause::LaminationEnd(index) | HingeCause::Splice(index) | HingeCause::Taper(index) => {
                build.laminations[index].place.clone()
            }
            HingeCause::Width => Place::new("outline.width"),
            HingeCause::Trapped => Place::new("outline.trapped"),
            HingeCause::Crown => Place::new("outline.crown"),
            HingeCause::Feather => Place::new("riser"),
        };
        let message = message!(
            "the limb bends {} percent more than its neighbourhood at station {}: {} (station {})",
            format_args!("{:.0}", 100.0 * (self.over_trend - 1.0)),
            mm(self.s_mm),
            self.cause_words(build),
            mm(self.cause_mm)
        );
        Diagnostic::warning(place, message)
            .hint("spread the change over a longer stretch, or leave the limb thicker or wider there")
    }
}

/// The hinges of a bow at full draw, from the grip to the nock.
pub fn find(build: &Build, curve: &DrawCurve) -> Vec<Hinge> {
    let Ok(stack) = Stack::of(build) else { return Vec::new() };
    let from = build.limb_from_mm();
    let working = stack.outline().nock_mm() - from;
    let to = from + OUTER * working;
    let bend = sampled(curve, from, to);
    let above: Vec<f64> = bend.iter().map(|(s, y)| y - trend(&bend, *s, WINDOW * working)).collect();
    let mut hinges = Vec::new();
    for i in 0..bend.len() {
        let near = |j: &usize| (bend[*j].0 - bend[i].0).abs() < 0.5 * WINDOW * working;
        let highest = (0..bend.len()).filter(near).all(|j| above[j] < above[i] || j == i);
        if RISE < above[i] && highest {
            let (cause, cause_mm) = cause(&stack, bend[i].0, 0.5 * WINDOW * working);
            hinges.push(Hinge { s_mm: bend[i].0, over_trend: above[i].exp(), cause, cause_mm });
        }
    }
    hinges
}

/// The outer fifth is left out: a tip may be as stiff as its maker likes, and its bend says nothing.
const OUTER: f64 = 0.8;
/// Reach of the trend as a share of the working limb. Narrower, the trend follows the hinge; wider, it takes the limb's taper for one.
const WINDOW: f64 = 0.25;
/// Rise of ln Δκ over the trend that is named, about the ratio less 1. Lower names the corners of every sound taper and outline, higher
/// passes steps of stiffness of an eighth, which can be seen. Common practice, no source.
const RISE: f64 = 0.05;
/// Places along the working limb that are compared.
const SAMPLES: usize = 160;

/// (station, ln Δκ) at even distances, the greater side of a jump.
fn sampled(curve: &DrawCurve, from: f64, to: f64) -> Vec<(f64, f64)> {
    let full = curve.at_full_draw();
    (0..SAMPLES)
        .filter_map(|k| {
            let s = from + (to - from) * (k as f64 + 0.5) / SAMPLES as f64;
            let next = curve.stations.partition_point(|station| station.s_mm < s).clamp(1, curve.stations.len() - 1);
            let (near, far) = (&curve.stations[next - 1], &curve.stations[next]);
            let fraction = (s - near.s_mm) / (far.s_mm - near.s_mm);
            let bend = full.places[next - 1].bend_per_mm * (1.0 - fraction) + full.places[next].bend_per_mm * fraction;
            (0.0 < bend).then(|| (s, bend.ln()))
        })
        .collect()
}

/// The value at `s` of the parabola through the samples about it; the mean where they are too few.
fn trend(samples: &[(f64, f64)], s: f64, window: f64) -> f64 {
    let mut a = [[0.0; 3]; 3];
    let mut b = [0.0; 3];
    for (x, y) in samples {
        let d = (x - s) / window;
        if 1.0 <= d.abs() {
            continue;
        }
        let weight = (1.0 - d.abs().powi(3)).powi(3);
        let powers = [1.0, d, d * d];
        for i in 0..3 {
            b[i] += weight * powers[i] * y;
            for j in 0..3 {
                a[i][j] += weight * powers[i] * powers[j];
            }
        }
    }
    crate::numeric::root::solve(a, b).map_or(b[0] / a[0][0], |x| x[0])
}

/// The change within `reach` of `s` across which most stiffness is lost, by a jump or by a turn of its slope.
fn cause(stack: &Stack<'_>, s: f64, reach: f64) -> (HingeCause, f64) {
    let build = stack.build();
    let mut known: Vec<(HingeCause, f64)> = Vec::new();
    for (index, lamination) in build.laminations.iter().enumerate() {
        known.extend([lamination.from_mm, lamination.to_mm].map(|end| (HingeCause::LaminationEnd(index), end)));
        known.extend(lamination.two_woods_mm().map(|[from, to]| (HingeCause::Splice(index), 0.5 * (from + to))));
        known.extend(lamination.finished.corners().map(|corner| (HingeCause::Taper(index), corner)));
    }
    known.extend(stack.outline().width.points().iter().map(|point| (HingeCause::Width, point.0)));
    let shape = &stack.outline().shape;
    let at = |cause: HingeCause, curve: &Curve| curve.points().iter().map(move |point| (cause, point.0)).collect::<Vec<_>>();
    known.extend(shape.trapped.iter().flat_map(|trapped| at(HingeCause::Trapped, trapped.width.curve())));
    known.extend(shape.crown_mm.iter().flat_map(|crown| at(HingeCause::Crown, crown)));
    known.extend(build.riser.iter().map(|riser| (HingeCause::Feather, riser.feather_station_mm())));
    known.retain(|(_, at)| (at - s).abs() <= reach && 0.0 < *at);
    let scores = known.iter().map(|(cause, at)| score(stack, *cause, *at, reach) * (1.0 - 0.5 * (at - s).abs() / reach));
    let best = strain::greatest(scores);
    // Without any change nearby the slope of the width itself is at fault.
    known.get(best).copied().unwrap_or((HingeCause::Width, s))
}

/// How much ln EI is taken away by the change at `at`: its own jump, and what its turn takes within `reach`.
fn score(stack: &Stack<'_>, cause: HingeCause, at: f64, reach: f64) -> f64 {
    let build = stack.build();
    // The part that the cause itself has in ln EI, with everything else held: thickness counts by its share of the stack's cube.
    let log = |inside: f64, s: f64| stack.properties(inside, s).stiffness_n_mm2.ln();
    let e = 1e-3;
    match cause {
        HingeCause::LaminationEnd(_) | HingeCause::Feather => (log(at - e, at) - log(at + e, at)).abs(),
        HingeCause::Width => {
            let width = |s: f64| stack.outline().width_at(s).ln();
            let (before, after) = ((width(at - e) - width(at)) / e, (width(at) - width(at + e)) / e);
            (after - before).abs() * reach
        }
        HingeCause::Trapped | HingeCause::Crown => {
            let left = |s: f64| (stack.properties(s, s).stiffness_n_mm2 / stack.square(s, s).stiffness_n_mm2).ln();
            let (before, after) = ((left(at - e) - left(at)) / e, (left(at) - left(at + e)) / e);
            (after - before).abs() * reach
        }
        HingeCause::Splice(index) => {
            // Its whole change of wood, within a stretch that is short beside `reach`.
            let [from, to] = build.laminations[index].two_woods_mm().unwrap_or([at; 2]);
            (log(from, from) - log(to, to)).abs()
        }
        HingeCause::Taper(index) => {
            let taper = &build.laminations[index].finished;
            let depth = stack.properties(at, at).depth_mm;
            let (before, after) = ((taper.at(at - e) - taper.at(at)) / e, (taper.at(at) - taper.at(at + e)) / e);
            3.0 * (after - before).abs() / depth * reach
        }
    }
}
