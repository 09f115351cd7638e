//! What does the bow weigh at each draw, what does it store, and how hard does each layer work?
//!
//! [`curve`] lays the limb of a build ([`super::bow`]), braces it and draws it step by step ([`super::strung`]), and reads
//! off force, energy, shape and strain.
//!
//! | result | how |
//! |---|---|
//! | force | `F = 2 T sin β` at each step of draw length |
//! | stored energy | `∫ F dd`, checked against the strain energy of the limbs: more than 0.1 percent apart is a defect of this program and no result |
//! | strain | `ε = −Δκ (z − z̄)` plus what the glue-up left, at both faces of every layer |
//! | stack | slope of the force curve at full draw, and that slope over the mean slope in the middle third of the draw |
//!
//! The string may lie on a recurved limb ([`super::contact`]). No numbers are given where the model does not hold: a bow that cannot be braced, a draw
//! beyond reach, a string that would meet the limb farther in, or bridge a hollow of it.

use super::bow::{Bow, Options, StringOn};
use super::limb::Trace;
use super::overstrain;
use super::strain::{self, DrawState, LimbPlace, StationSection, Worst, greatest};
use super::strung::{self, Strung, Trouble};
use crate::diag::{Diagnostic, Outcome, Place, Reported, mm};
use crate::geometry::Point;
use crate::model::Build;
use crate::model::limb::LimbSide;

/// The bow from brace to full draw.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawCurve {
    /// Back to pivot point, mm.
    pub grip_depth_mm: f64,
    /// Nock to nock along the string, mm.
    pub string_mm: f64,
    /// The stations of every [`DrawPoint::places`], from the bow's centre to the nock; a jump stands twice.
    pub stations: Vec<StationSection>,
    /// From brace (or, on a long string, where it takes the load) to full draw.
    pub points: Vec<DrawPoint>,
    pub energy: Energy,
    pub stack: Stacking,
    /// Where the limb bends most at full draw, as an index into `stations`.
    pub bends_most: usize,
    /// The hardest-working place of each lamination and of the riser, back to belly.
    pub worst: Vec<Worst>,
    /// Index into `worst`: the greatest share of its material's breaking strain, or the greatest strain where none is known.
    pub worst_of_all: usize,
    /// Empty for a bow of two different limbs.
    pub effort: SolverEffort,
    /// The limb on the other side, where it is a different one; `None` where both are alike.
    pub other: Option<DifferentLimb>,
}

/// The other limb of a bow of two different ones.
#[derive(Debug, Clone, PartialEq)]
pub struct DifferentLimb {
    pub is: LimbSide,
    /// As it is seen from its own half, with `y` toward its own nock.
    pub curve: Box<DrawCurve>,
}

/// The bow at one draw.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawPoint {
    /// As the builder states draw lengths, mm.
    pub draw_length_mm: f64,
    /// From the pivot point to the nocking point, mm.
    pub pivot_to_nock_mm: f64,
    /// The nocking point's `y`, toward this limb's nock, mm: nothing where both limbs are alike.
    pub nocking_y_mm: f64,
    /// At the nocking point, N.
    pub force_n: f64,
    /// dF/dd, N/mm.
    pub force_slope_n_mm: f64,
    pub tension_n: f64,
    /// String against the bow's long axis, rad.
    pub string_angle_rad: f64,
    /// String against the limb at the nock, rad; nothing where it lies on the limb there.
    pub nock_angle_rad: f64,
    /// From the nock along the limb, as far as the string lies on it, mm; nothing where it is free.
    pub touched_mm: f64,
    /// Work of the string since brace, N·mm.
    pub stored_n_mm: f64,
    /// In the order of [`DrawCurve::stations`].
    pub places: Vec<LimbPlace>,
}

/// Energy of the whole bow between brace and full draw, N·mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Energy {
    /// Of the limbs at brace, against the unstrung bow.
    pub at_brace_n_mm: f64,
    /// Work of the string.
    pub work_n_mm: f64,
    /// Strain energy gained by the limbs.
    pub strain_n_mm: f64,
}

/// How the force rises toward full draw.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stacking {
    /// dF/dd at full draw, N/mm.
    pub slope_n_mm: f64,
    /// That slope over the mean slope in the middle third of the draw.
    pub over_middle: f64,
}

/// What the solution cost: passes over the limb.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SolverEffort {
    pub steps_per_pass: usize,
    /// To each of [`DrawCurve::points`] from the one before.
    pub passes: Vec<usize>,
}

impl DrawCurve {
    pub fn at_brace(&self) -> &DrawPoint {
        &self.points[0]
    }

    pub fn at_full_draw(&self) -> &DrawPoint {
        &self.points[self.points.len() - 1]
    }

    /// Strain at the back and belly face of layer `layer` at station index `station` and draw `point`, the glue-up's share included.
    pub fn strain(&self, point: &DrawPoint, station: usize, layer: usize) -> [f64; 2] {
        self.stations[station].strain(point.places[station].bend_per_mm, layer)
    }

    /// Place of the back (`depth` 0) or the belly (`depth` 1) at station index `station`, or between, mm.
    pub fn face(&self, point: &DrawPoint, station: usize, depth: f64) -> Point {
        let (place, section) = (&point.places[station], &self.stations[station].section);
        let z = depth * section.depth_mm - section.neutral_mm;
        let (sin, cos) = place.angle_rad.sin_cos();
        Point::new(place.x_mm + z * cos, place.y_mm - z * sin)
    }

    /// The greatest surface strain of any layer at full draw at station `s_mm`, straight between the stations of the results,
    /// its sign lost; `None` beyond the nock.
    pub fn greatest_strain_at(&self, s_mm: f64) -> Option<f64> {
        let full = self.at_full_draw();
        let greatest = |k: usize| {
            let layers = 0..self.stations[k].section.layers.len();
            layers.flat_map(|layer| self.strain(full, k, layer)).fold(0.0, |max: f64, strain| max.max(strain.abs()))
        };
        // Two sides of a jump: the greater.
        let here = |k: &usize| (self.stations[*k].s_mm - s_mm).abs() < 1e-6;
        if let Some(sides) = (0..self.stations.len()).filter(here).map(greatest).reduce(f64::max) {
            return Some(sides);
        }
        let after = self.stations.iter().position(|station| s_mm <= station.s_mm)?;
        let before = after.saturating_sub(1);
        let (a, b) = (self.stations[before].s_mm, self.stations[after].s_mm);
        let share = if a < b { ((s_mm - a) / (b - a)).clamp(0.0, 1.0) } else { 1.0 };
        Some(greatest(before) + share * (greatest(after) - greatest(before)))
    }

    /// The upper limb and the lower one, each as it is seen from its own half.
    pub fn limbs(&self) -> [&DrawCurve; 2] {
        self.other.as_ref().map_or([self, self], |other| other.is.other().upper_first(self, &other.curve))
    }

    /// The nocking point at a draw of this limb, in the side frame, mm.
    pub fn nocking_point(&self, point: &DrawPoint) -> Point {
        let (draw, y) = (point.pivot_to_nock_mm, point.nocking_y_mm);
        Point::new(self.grip_depth_mm + (draw * draw - y * y).max(0.0).sqrt(), y)
    }

    /// Distance from belly to string at station `s_mm`, straight between the stations of the results, mm.
    pub fn to_string_at(&self, point: &DrawPoint, s_mm: f64) -> f64 {
        strain::to_string_at(&self.stations, &point.places, s_mm)
    }
}

/// The whole curve of a build; faults where there is none.
pub fn curve(build: &Build, options: &Options) -> Outcome<DrawCurve> {
    let bow = Bow::of(build, options).map_err(|fault| vec![fault])?;
    solve(&bow, options).map_err(|fault| vec![fault])
}

/// Force at full draw alone, and what it took.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawWeight {
    pub force_n: f64,
    /// Passes over the limb.
    pub passes: usize,
    /// Tension (N) and nock angle at brace and at full draw: a bow near this one starts from there.
    braced: [f64; 2],
    drawn: [f64; 2],
}

/// Force at full draw alone: what sizing and sensitivities need.
pub fn weight(bow: &Bow<'_>, options: &Options) -> Result<DrawWeight, Diagnostic> {
    weight_near(bow, options, None)
}

/// The same, starting from the answer of a bow that is nearly this one.
pub fn weight_near(bow: &Bow<'_>, options: &Options, near: Option<&DrawWeight>) -> Result<DrawWeight, Diagnostic> {
    let full = bow.grip_depth_mm + bow.full_draw_mm(options)?;
    // Force is about in proportion to stiffness: the guess is of this bow's.
    if let (Some(near), StringOn::Brace | StringOn::BraceAt { .. }) = (near, options.string)
        && let Some(first) = strung::brace_near(&bow.limb, bow.grip_depth_mm + bow.brace_height_mm(options)?, near.braced)
        && first.nock_x_mm < full
    {
        let half = bow.limb.in_bow_frame(first.end, 0.0, 0.0).y;
        if let Some(end) = strung::reach_near(&bow.limb, half, &first, full, near.drawn) {
            return Ok(DrawWeight::of(&first, &end));
        }
    }
    let (start, half) = start(bow, options)?;
    let end = strung::reach(&bow.limb, half, &start, full).map_err(|trouble| fault(bow, options, trouble))?;
    Ok(DrawWeight::of(&start, &end))
}

impl DrawWeight {
    /// What is known of it from the whole curve.
    pub fn of_curve(curve: &DrawCurve) -> DrawWeight {
        let [braced, drawn] = [curve.at_brace(), curve.at_full_draw()].map(|point| [point.tension_n, point.nock_angle_rad]);
        DrawWeight { force_n: curve.at_full_draw().force_n, passes: 0, braced, drawn }
    }

    fn of(first: &Strung, end: &Strung) -> DrawWeight {
        let unknowns = |at: &Strung| [at.tension_n, at.nock_angle_rad];
        DrawWeight { force_n: end.force_n, passes: end.passes, braced: unknowns(first), drawn: unknowns(end) }
    }
}

/// Force at full draw of a build, N.
pub fn weight_of(build: &Build, options: &Options) -> Result<f64, Diagnostic> {
    Ok(weight(&Bow::of(build, options)?, options)?.force_n)
}

/// The bow with its string on, and half the string, mm.
pub(super) fn start(bow: &Bow<'_>, options: &Options) -> Result<(Strung, f64), Diagnostic> {
    let limb = &bow.limb;
    let (start, half) = match options.string {
        StringOn::Long { length_mm } => (strung::slack(limb, 0.5 * length_mm), 0.5 * length_mm),
        StringOn::Brace | StringOn::BraceAt { .. } => {
            let start = strung::brace(limb, bow.grip_depth_mm + bow.brace_height_mm(options)?);
            let half = start.as_ref().map_or(0.0, |start| limb.in_bow_frame(start.end, 0.0, 0.0).y);
            (start, half)
        }
    };
    let start = start.map_err(|trouble| fault(bow, options, trouble))?;
    let full = bow.grip_depth_mm + bow.full_draw_mm(options)?;
    if full <= start.nock_x_mm {
        let (from, to) = (start.nock_x_mm - bow.grip_depth_mm, full - bow.grip_depth_mm);
        let message = message!("full draw {} from the pivot point is not beyond the undrawn string at {}", mm(to), mm(from));
        return Err(Diagnostic::fault(Place::new("target.draw_length"), message).hint("draw further, or brace lower"));
    }
    Ok((start, half))
}

fn solve(bow: &Bow<'_>, options: &Options) -> Result<Reported<DrawCurve>, Diagnostic> {
    let limb = &bow.limb;
    let (first, half) = start(bow, options)?;
    let full = bow.grip_depth_mm + bow.full_draw_mm(options)?;
    let stations = strain::stations(bow, options);

    let mut at = first;
    let mut passes = Vec::new();
    let mut points = Vec::new();
    let mut strain_n_mm = [0.0; 2];
    let mut used = 0;
    let max = (options.draw_step_mm).min((full - first.nock_x_mm) / MIN_STEPS);
    for x in std::iter::once(first.nock_x_mm).chain(draws(bow, options, first.nock_x_mm, full)) {
        at = strung::draw(limb, half, &at, x, max).map_err(|trouble| fault(bow, options, trouble))?;
        let trace = limb.string_trace(at.tension_n, at.nock_angle_rad);
        strain_n_mm[1] = 2.0 * trace.energy_n_mm;
        if points.is_empty() {
            strain_n_mm[0] = strain_n_mm[1];
        }
        let point = point(bow, &stations, &at, &trace);
        let string = HalfString { length_mm: half, pivot_to_nock_mm: point.pivot_to_nock_mm };
        free_of_limb(bow.stack.build(), string, &stations, &point.places, &trace)?;
        points.push(point);
        passes.push(at.passes - used + 1);
        used = at.passes;
    }

    let energy = Energy { at_brace_n_mm: strain_n_mm[0], work_n_mm: at.work_n_mm, strain_n_mm: strain_n_mm[1] - strain_n_mm[0] };
    balanced(&energy)?;
    let full_point = &points[points.len() - 1];
    let bends_most = greatest(full_point.places.iter().map(|place| place.bend_per_mm));
    let stack = stacking(&points);
    let mut curve = DrawCurve {
        grip_depth_mm: bow.grip_depth_mm,
        string_mm: 2.0 * half,
        stations,
        points,
        energy,
        stack,
        bends_most,
        worst: Vec::new(),
        worst_of_all: 0,
        effort: SolverEffort { steps_per_pass: limb.steps(), passes },
        other: None,
    };
    let held = [(DrawState::Brace, first), (DrawState::FullDraw, at)].map(|(state, strung)| strain::HeldState {
        state,
        tension_n: strung.tension_n,
        nock_angle_rad: strung.nock_angle_rad,
    });
    curve.worst = strain::worst(bow, options, &curve.stations, held);
    curve.worst_of_all = hardest(&curve.worst);
    let warnings = curve.worst.iter().filter_map(|worst| overstrain::warning(bow.stack.build(), worst)).collect();
    Ok(Reported { value: curve, warnings })
}

/// The part that works hardest, as an index: by its share of what breaks it, or by its strain where that is not known.
pub(super) fn hardest(worst: &[Worst]) -> usize {
    greatest(worst.iter().map(|worst| worst.share_of_breaking.unwrap_or(worst.strain.abs())))
}

/// A draw takes at least this many steps: fewer and the work of the string is off by more than a millionth.
pub(super) const MIN_STEPS: f64 = 16.0;

/// Nocking points, in the root's frame: whole steps of the stated draw length beyond brace, and full draw.
pub(super) fn draws(bow: &Bow<'_>, options: &Options, brace_x: f64, full_x: f64) -> Vec<f64> {
    let to_x = bow.grip_depth_mm - bow.stated_beyond_pivot_mm();
    let step = options.draw_step_mm;
    // Closer to brace or full draw than a hundredth of a step, a point is no new one.
    let from = ((brace_x - to_x) / step + 0.01).ceil().max(0.0) as usize;
    let to = ((full_x - to_x) / step - 0.01).floor().max(0.0) as usize;
    let mut draws: Vec<f64> = (from..=to).take(MAX_DRAWS).map(|k| to_x + k as f64 * step).collect();
    draws.push(full_x);
    draws
}

/// Bound on reported draws: a step of a millimetre fits.
const MAX_DRAWS: usize = 2000;

fn point(bow: &Bow<'_>, stations: &[StationSection], at: &Strung, trace: &Trace) -> DrawPoint {
    let pivot_to_nock_mm = at.nock_x_mm - bow.grip_depth_mm;
    let places = strain::places(bow, stations, at.end, at.string_angle_rad, trace);
    DrawPoint {
        draw_length_mm: pivot_to_nock_mm + bow.stated_beyond_pivot_mm(),
        pivot_to_nock_mm,
        nocking_y_mm: 0.0,
        force_n: at.force_n,
        force_slope_n_mm: at.force_slope_n_mm,
        tension_n: at.tension_n,
        string_angle_rad: at.string_angle_rad,
        nock_angle_rad: at.nock_angle_rad.max(0.0),
        touched_mm: trace.contact.map_or(0.0, |contact| contact.length_mm),
        stored_n_mm: at.work_n_mm,
        places,
    }
}

/// Half a string: its length, and where its nocking point stands from the pivot point, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct HalfString {
    pub length_mm: f64,
    pub pivot_to_nock_mm: f64,
}

/// A string that starts on the belly at the nock, or leaves the limb farther in, must not meet the belly again.
pub(super) fn free_of_limb(
    build: &Build,
    string: HalfString,
    stations: &[StationSection],
    places: &[LimbPlace],
    trace: &Trace,
) -> Result<(), Diagnostic> {
    let HalfString { length_mm: half, pivot_to_nock_mm: draw_mm } = string;
    let place = || if build.target.is_some() { Place::new("target.brace_height") } else { Place::whole_file() };
    let contact = trace.contact;
    if let Some(contact) = contact
        && BRIDGED_RAD < contact.bridged_rad
    {
        let message = message!(
            "the string would lie on the limb and bridge it from station {} inward, at {} from the pivot point: the limb is hollow there, and the string \
             still has {} degrees to turn",
            mm(contact.lift_off_mm),
            mm(draw_mm),
            crate::units::fixed(contact.bridged_rad.to_degrees(), 2)
        );
        return Err(Diagnostic::fault(place(), message)
            .hint("a string that bridges a hollow of the limb is not modelled: brace higher, or let the reflex run on evenly to the nock"));
    }
    let nock = stations.len() - 1;
    // From the belly at the nock, or where it leaves the limb, the string runs to the nocking point, where the model has it in its true place.
    let lifted = contact.map_or(f64::INFINITY, |contact| contact.lift_off_mm);
    let leaves = stations[..nock].partition_point(|station| station.s_mm < lifted);
    let lever = contact.map_or(0.0, |contact| contact.lever_mm);
    let lift = stations[leaves].to_belly_mm() * trace.at[leaves].psi_rad.cos().max(0.0) - lever;
    let gap = |(place, bent): (&LimbPlace, &super::limb::LimbState)| {
        // It leaves a limb on which it has lain along it, not at an angle; at the nock both are near enough.
        let along = contact.map_or(0.0, |contact| contact.q_mm);
        let fraction = ((bent.q_mm - along) / (half - along)).max(0.0).powi(2);
        place.to_string_mm + lift * (1.0 - fraction)
    };
    let gaps: Vec<f64> = places[..leaves].iter().zip(&trace.at).map(gap).collect();
    let deepest = greatest(gaps.iter().map(|gap| -gap));
    let gap = gaps.get(deepest).copied().unwrap_or(0.0);
    if -TOUCH_MM <= gap {
        return Ok(());
    }
    let message = message!(
        "the string would lie on the limb, {} inside it at station {}, at {} from the pivot point",
        mm(-gap),
        mm(stations[deepest].s_mm),
        mm(draw_mm)
    );
    Err(Diagnostic::fault(place(), message)
        .hint("a string may lie on a limb from the nock in, not meet it farther in: brace higher, or glue in less reflex toward the tips"))
}

/// By how much a string may seem to turn beyond the reflex of the limb, rad: far more than rounding, far less than an eye sees.
const BRIDGED_RAD: f64 = 1e-6;

/// How far the string may seem to enter the belly. It pulls at one depth below the back, while a belly grows thicker inward: on a weakly reflexed limb
/// that makes two tenths of a millimetre beside the nock. Rounding of the finish is as much, and a real contact soon is more.
const TOUCH_MM: f64 = 0.25;

pub(super) fn balanced(energy: &Energy) -> Result<(), Diagnostic> {
    let apart = (energy.work_n_mm - energy.strain_n_mm).abs();
    if apart <= 1e-3 * energy.strain_n_mm.abs() {
        return Ok(());
    }
    let message = format!(
        "the string's work {:.3} J and the limbs' energy {:.3} J differ by more than 0.1 percent: a defect of this program",
        1e-3 * energy.work_n_mm,
        1e-3 * energy.strain_n_mm
    );
    Err(Diagnostic::fault(Place::whole_file(), message).hint("please report this build; no number of it can be trusted"))
}

pub(super) fn stacking(points: &[DrawPoint]) -> Stacking {
    let (first, last) = (&points[0], &points[points.len() - 1]);
    let slope_n_mm = last.force_slope_n_mm;
    let span = last.pivot_to_nock_mm - first.pivot_to_nock_mm;
    let force_at = |share: f64| {
        let x = first.pivot_to_nock_mm + share * span;
        let next = points.partition_point(|point| point.pivot_to_nock_mm < x).clamp(1, points.len() - 1);
        hermite(&points[next - 1], &points[next], x)
    };
    let middle = (force_at(2.0 / 3.0) - force_at(1.0 / 3.0)) / (span / 3.0);
    Stacking { slope_n_mm, over_middle: slope_n_mm / middle }
}

/// The force between two draws, from forces and slopes at both.
fn hermite(a: &DrawPoint, b: &DrawPoint, x: f64) -> f64 {
    let h = b.pivot_to_nock_mm - a.pivot_to_nock_mm;
    let t = (x - a.pivot_to_nock_mm) / h;
    let (t2, t3) = (t * t, t * t * t);
    (2.0 * t3 - 3.0 * t2 + 1.0) * a.force_n
        + (t3 - 2.0 * t2 + t) * h * a.force_slope_n_mm
        + (3.0 * t2 - 2.0 * t3) * b.force_n
        + (t3 - t2) * h * b.force_slope_n_mm
}

/// The refusal, in the words of the build file, with lengths from the pivot point.
pub(super) fn fault(bow: &Bow<'_>, options: &Options, trouble: Trouble) -> Diagnostic {
    let from_pivot = |x: f64| x - bow.grip_depth_mm;
    let height = Place::new("target.brace_height");
    match trouble {
        Trouble::Slack { tip_x_mm, string_x_mm } => match options.string {
            StringOn::Long { length_mm } => Diagnostic::fault(
                Place::whole_file(),
                message!("a string of {} is shorter than the unbent bow from nock to nock", mm(length_mm)),
            )
            .hint("a long string is longer than the bow; a shorter one braces it"),
            _ => Diagnostic::fault(
                height,
                message!("the bow cannot be braced at {}: its unbent tips already stand {} from the pivot point, and the string would hang slack", mm(from_pivot(string_x_mm)), mm(from_pivot(tip_x_mm))),
            )
            .hint("brace higher, or glue in less deflex"),
        },
        Trouble::NoBrace { string_x_mm, min_x_mm, max_x_mm, passes } => {
            let (min, max) = (from_pivot(min_x_mm), from_pivot(max_x_mm));
            let range = if string_x_mm < min_x_mm && min.is_finite() {
                message!("the least that its limbs bend to is about {}", mm(min))
            } else if max.is_finite() {
                message!("the highest that its limbs bend to is about {}", mm(max))
            } else {
                "no braced shape was found".into()
            };
            let message =
                message!("the bow cannot be braced at {}: {} ({} passes)", mm(from_pivot(string_x_mm)), range, passes);
            Diagnostic::fault(height, message).hint("brace within reach, or change the reflex")
        }
        Trouble::NotFound { nock_x_mm, reached_x_mm, residual, passes } => {
            let message = message!("a draw of {} from the pivot point cannot be reached: the bow was solved up to {} (residual {} mm, {} passes)", mm(from_pivot(nock_x_mm)), mm(from_pivot(reached_x_mm)), format_args!("{:.1e}", residual), passes);
            Diagnostic::fault(Place::new("target.draw_length"), message)
                .hint("draw less, or make the bow longer: near its limit limb and string pull into one straight line")
        }
    }
}
