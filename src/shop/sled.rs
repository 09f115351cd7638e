//! The sled under a strip: how high its surface must be at each place.
//!
//! A cutter at a fixed gap above the table leaves the strip's top parallel to the table, so the sled is the complement
//! of the taper: low under the butt, high under the tip.
//!
//! ```text
//!   gap G ─────────────────────────────────────────────── cutter's lowest line
//!         strip t(u)   ▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒▒
//!         under        paper or tape
//!         deck         sheet that carries the strip
//!         ramp r(u)    rail's edge, board's edge, or carrier on shims
//!   0 ─────────────────────────────────────────────────── table
//!         u = 0 at the strip's butt end (halves) or at one tip (full)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `u` | along the strip from its butt end; the sled runs from `−run_on` to `length + run_on` | mm |
//! | `t(u)` | finished thickness, the taper continued over the overrun | mm |
//! | `r(u)` | ramp height: `base + t(butt) − t(u)`, butt = the lamination's own end without overrun | mm |
//! | `h(u)` | surface the strip lies on: `r(u) + deck + under` | mm |
//! | `G` | last gap: `h(u) + t(u)`, the same at every `u` | mm |
//!
//! Beyond the strip's ends the sled runs on, so that snipe (the deeper cut where only one pressure roller holds the work) falls on
//! it. The run-on stands over the strip's seat, under the cutter's last gap by the stop's clearance, and is the stop.
//!
//! A plank with one raised end, or under a wedge, is taken as it is: its base is whatever its thickness makes of it, and the gaps
//! follow. One carrier for several laminations lies on one board: their bases follow from its thickness.
//!
//! Limits: the strip's underside is taken to lie on the surface everywhere, which is what tape and roller are for.
//!
//! Source: geometry; "lamination plus sled equals gap" is common practice.

use crate::diag::{Diagnostic, Outcome, Place, Reported, mm};
use crate::model::lamination::{Lamination, Pieces};
use crate::model::machine_limits::{too_low, too_short, too_thin, too_wide};
use crate::model::workshop::{Sander, SledMake, SledPlan, SledStock};
use crate::numeric::interp::{Between, Curve};
use crate::units::limit;

/// A sled for one kind of strip.
#[derive(Debug, Clone, PartialEq)]
pub struct Sled {
    /// The lamination's name.
    pub lamination: String,
    pub make: SledMake,
    /// Strip through the sander, overrun included, mm.
    pub strip_length_mm: f64,
    pub run_on_mm: f64,
    /// Ramp height over `u` between 0 and the strip's length, mm, with corners where the taper has them.
    pub ramp: Curve,
    /// Places in `u` where the ramp changes its slope at once, without the two ends, increasing, mm. A joint or a shim's span
    /// should not hide one.
    pub corners_mm: Vec<f64>,
    pub deck_mm: f64,
    pub under_mm: f64,
    /// Last gap between table and cutter, mm.
    pub final_gap_mm: f64,
    /// Top of the run-on at both ends, above the table, mm: the last gap less the stop's clearance, so that snipe falls on
    /// the sled. It stands over the strip's seat and is the stop. `None` where the finished strip is too thin for a stop.
    pub run_on_top_mm: [Option<f64>; 2],
    /// What the ends at `u = 0` and at the strip's length are called on parts and sheets: butt and tip, or end A and end B.
    pub ends: [&'static str; 2],
    /// Which end goes into the machine first and is held: `true` for the end at `u = 0`.
    pub first_end_leads: bool,
    /// The lamination's own butt without overrun, where the base is counted, `u` in mm; the middle of a full strip.
    pub butt_mm: f64,
    /// Strips side by side on it.
    pub together: u32,
    /// Thickness at which a strip that runs out stops, mm.
    pub feather_mm: Option<f64>,
}

/// The sled for a lamination, or every reason why there is none.
///
/// An already ground lamination needs no sled; asking for one is a fault that says so.
pub fn build(lamination: &Lamination, plan: &SledPlan, sander: &Sander) -> Outcome<Sled> {
    if lamination.ground {
        let message = format!("`{}` is already ground: there is nothing left to cut, and no sled to make", lamination.name);
        return Err(vec![Diagnostic::fault(lamination.place.key("ground"), message)]);
    }
    let length = lamination.strip_length_mm();
    let butt = lamination.butt_thickness_mm();
    let base_mm = base_mm(lamination, plan, sander);
    let ramp = match ramp_curve(lamination, base_mm + butt) {
        Ok(ramp) => ramp,
        Err(fault) => return Err(vec![fault]),
    };
    let sled = Sled {
        lamination: lamination.name.clone(),
        make: plan.make,
        strip_length_mm: length,
        run_on_mm: plan.run_on_mm,
        corners_mm: slope_corners(lamination),
        ramp,
        deck_mm: plan.deck_mm,
        under_mm: plan.under_mm,
        final_gap_mm: base_mm + butt + plan.deck_mm + plan.under_mm,
        run_on_top_mm: [0.0, length].map(|u| {
            let stop = lamination.strip_thickness_at(u) - plan.stop_clearance_mm;
            let gap = base_mm + butt + plan.deck_mm + plan.under_mm;
            (!limit::below(stop, MIN_STOP_MM) && 0.0 < plan.run_on_mm).then_some(gap - plan.stop_clearance_mm)
        }),
        ends: match lamination.pieces {
            Pieces::Full => ["end A", "end B"],
            Pieces::Halves => ["butt", "tip"],
        },
        first_end_leads: plan.butt_leads || lamination.pieces == Pieces::Full,
        butt_mm: lamination.u_of(lamination.from_mm),
        together: sander.together_for(lamination),
        feather_mm: lamination.finished.feather_mm(),
    };
    let faults = faults(lamination, plan, base_mm, sander);
    if faults.is_empty() {
        Ok(Reported { warnings: warnings(&sled, lamination, plan, sander), value: sled })
    } else {
        Err(faults)
    }
}

/// Height of the ramp at the lamination's butt, mm: as the plan says, or, for a plank that is taken as it is, so high that the plank's
/// thickness is the sheet's, give or take half a step of the gauge that brings the last gap onto a step. Over one board for several
/// laminations, so high that the carrier just lies on the board where it is lowest.
fn base_mm(lamination: &Lamination, plan: &SledPlan, sander: &Sander) -> f64 {
    let (butt, length) = (lamination.butt_thickness_mm(), lamination.strip_length_mm());
    let over_butt = |u: f64| butt - lamination.strip_thickness_at(u);
    if plan.one_carrier && plan.make.traits().is_shimmed_carrier() {
        let Ok(ramp) = ramp_curve(lamination, butt) else { return plan.base_mm };
        let ends = [-plan.run_on_mm, length + plan.run_on_mm].map(|u| ramp.at(u));
        let low = ramp.points().iter().map(|point| point.1).chain(ends).fold(f64::INFINITY, f64::min);
        return plan.base_mm - low;
    }
    if !lies_as_it_is(plan) {
        return plan.base_mm;
    }
    let [start, end] = [0.0, length].map(over_butt);
    let low = start.min(end) - plan.run_on_mm * (end - start).abs() / length;
    let over = butt + plan.deck_mm + plan.under_mm;
    let on_plank = if plan.make.traits().is_wedge() { WEDGE_THIN_END_MM } else { 0.0 };
    let gap = plan.sheet.thickness_mm + on_plank - low + over;
    (gap / sander.gap_step_mm).round() * sander.gap_step_mm - over
}

/// Thin end of a wedge on its board, mm: thinner ones break out under the plane; thicker ones only take more wood. Common practice, no
/// source.
pub const WEDGE_THIN_END_MM: f64 = 3.0;

/// The plank of a raised end or a wedge, where the build file gives its thickness and no other height for the base.
pub(super) fn lies_as_it_is(plan: &SledPlan) -> bool {
    plan.make.traits().from == SledStock::Plank && (plan.base_mm <= 0.0 || limit::same(plan.base_mm, plan.sheet.thickness_mm))
}

/// A lower stop lets the strip ride up over it; a higher bound would refuse stops on strips that shops do hold by one, mm.
const MIN_STOP_MM: f64 = 0.4;
/// Chords of the ramp stay this close to a smooth taper, mm: a tenth of what a drum repeats. Tighter only adds points.
const CHORD_MM: f64 = 5e-4;

/// `top − t(u)`, with points at every corner and so many between that chords of a smooth taper stay within [`CHORD_MM`].
fn ramp_curve(lamination: &Lamination, top_mm: f64) -> Result<Curve, Diagnostic> {
    let height = |u: f64| top_mm - lamination.strip_thickness_at(u);
    let corners = lamination.strip_corners();
    let mut points = vec![(0.0, height(0.0))];
    for pair in corners.windows(2) {
        let count = chords(&height, pair[0], pair[1]);
        points.extend((1..=count).map(|k| {
            let u = if k == count { pair[1] } else { pair[0] + (pair[1] - pair[0]) * f64::from(k) / f64::from(count) };
            (u, height(u))
        }));
    }
    Curve::through(points, Between::Straight).map_err(|_| {
        let message =
            message!("`{}` has no usable taper over its strip of {}", lamination.name, mm(lamination.strip_length_mm()));
        Diagnostic::fault(lamination.place.key("taper"), message)
    })
}

/// Chords needed between two corners: 1 for a straight piece. A cubic piece of any bow needs far fewer than 512.
fn chords(height: &impl Fn(f64) -> f64, from: f64, to: f64) -> u32 {
    let mut count = 1;
    while count < 512 {
        let step = (to - from) / f64::from(count);
        let off = |k: u32, f: f64| {
            let (a, b) = (from + step * f64::from(k), from + step * f64::from(k + 1));
            (height(a + f * (b - a)) - (height(a) + f * (height(b) - height(a)))).abs()
        };
        if (0..count).all(|k| [0.2, 0.4, 0.6, 0.8].iter().all(|f| off(k, *f) < CHORD_MM)) {
            break;
        }
        count *= 2;
    }
    count
}

/// Places inside the strip where the slope of the finished thickness jumps.
fn slope_corners(lamination: &Lamination) -> Vec<f64> {
    // Close enough that a smooth taper's change of slope over it is far below a rate anyone grinds; a jump is not.
    const STEP_MM: f64 = 0.01;
    const JUMP: f64 = 1e-6;
    let t = |u: f64| lamination.strip_thickness_at(u);
    let mut corners = lamination.strip_corners();
    corners.retain(|u| STEP_MM < *u && *u < lamination.strip_length_mm() - STEP_MM);
    corners.retain(|u| JUMP < ((t(u + STEP_MM) - t(*u)) - (t(*u) - t(u - STEP_MM))).abs() / STEP_MM);
    corners
}

fn faults(lamination: &Lamination, plan: &SledPlan, base_mm: f64, sander: &Sander) -> Vec<Diagnostic> {
    let found = [
        too_thin(lamination, sander),
        too_low(lamination, plan, base_mm, Place::new("sled.base")),
        too_short(lamination, Some(plan), sander),
        too_wide(lamination, Some(plan), sander),
    ];
    found.into_iter().flatten().collect()
}

fn warnings(sled: &Sled, lamination: &Lamination, plan: &SledPlan, sander: &Sander) -> Vec<Diagnostic> {
    let mut warnings = Vec::new();
    if let Some(feather) = sled.feather_mm.filter(|feather| limit::below(*feather, sander.min_thickness_mm)) {
        let message = message!(
            "`{}` runs out to a feather of {}, under the sander's least thickness, {}",
            lamination.name,
            mm(feather),
            mm(sander.min_thickness_mm)
        );
        let hint = "only on its sled, with the feather taped down over its whole length; where the machine's manual forbids it, \
                    raise `feather` and finish by hand with a block";
        warnings.push(Diagnostic::warning(lamination.place.key("feather"), message).hint(hint));
    }
    let ends = [("first", 0.0), ("far", sled.strip_length_mm)];
    for ((end, u), top) in ends.into_iter().zip(sled.run_on_top_mm) {
        // A feather has been spoken of.
        let feather = sled.feather_mm.is_some_and(|feather| limit::same(lamination.strip_thickness_at(u), feather));
        if top.is_none() && 0.0 < plan.run_on_mm && !feather {
            let message = message!(
                "no stop at the {} end of `{}`: the finished strip is {} there, and a stop {} lower would be under {}",
                end,
                lamination.name,
                mm(lamination.strip_thickness_at(u)),
                mm(plan.stop_clearance_mm),
                mm(MIN_STOP_MM)
            );
            warnings.push(Diagnostic::warning(Place::new("sled.stop_clearance"), message).hint("hold this end down with tape"));
        }
    }
    if plan.run_on_mm <= 0.0 {
        let message = format!("the sled for `{}` ends with the strip: snipe will fall on the strip", lamination.name);
        warnings.push(
            Diagnostic::warning(Place::new("sled.run_on"), message).hint("run on by the distance from drum to pressure roller"),
        );
    }
    let (leads, trails) = if sled.first_end_leads { (0.0, sled.strip_length_mm) } else { (sled.strip_length_mm, 0.0) };
    let (leading, trailing) = (lamination.strip_thickness_at(leads), lamination.strip_thickness_at(trails));
    if limit::below(leading, trailing) {
        let message = message!(
            "the thin end of `{}` ({}, the other {}) goes into the machine first",
            lamination.name,
            mm(leading),
            mm(trailing)
        );
        let hint = "held at its thick end, which leads, the strip is pulled flat; a thin end in front may lift into the cutter: turn `butt_leads` round";
        warnings.push(Diagnostic::warning(Place::new("sled.butt_leads"), message).hint(hint));
    }
    warnings
}

impl Sled {
    /// Height of the surface under the strip at `u`, above the table, mm.
    pub fn surface_mm(&self, u: f64) -> f64 {
        self.ramp.at(u) + self.deck_mm + self.under_mm
    }

    /// Whole length of the sled, mm.
    pub fn length_mm(&self) -> f64 {
        self.strip_length_mm + 2.0 * self.run_on_mm
    }
}
