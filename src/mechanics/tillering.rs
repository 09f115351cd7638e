//! What distances from belly to string does a pair of limbs show, if stretches of them are stiffer or weaker than drawn?
//!
//! The pair of [`super::pair`], solved at brace and at the draws that are asked for and nowhere between, without strains: what fitting
//! readings of a tiller ([`super::tiller_fit`]) takes hundreds of. Limbs are laid once, with corners wherever stiffness may be
//! changed or a distance is read; changing stiffness then scales the compliance of their steps. Each solution starts from one that is near it,
//! and walks from brace where that leads nowhere.
//!
//! The grip may be `free` to turn on its pivot (a hand, a loose strap) or `fixed`, which adds a moment there:
//! `(N − P) × F = M` in the words of [`super::pair`]. At brace nothing pulls, and both are the same.
//!
//! Frames, signs and sources as there.

use super::bow::{Bow, Options};
use super::draw::{self, DrawCurve};
use super::limb::{Ends, Limb, LimbState, LimbStation, Trace};
use super::pair::{Pair, PairOptions, PairState};
use super::strung::Trouble;
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::numeric::interp::{self, Knot};
use crate::numeric::root::{self, RootFault, Secant, SecantEnd, secant};

/// Upper limb first, as everywhere in this file.
pub const UPPER: usize = 0;
pub const LOWER: usize = 1;

/// How a bow is held while its tiller is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadCase {
    /// From the pivot point to the braced string, mm.
    pub brace_mm: f64,
    /// From the pivot point to the nocking point, mm; `None` at brace.
    pub pivot_to_nock_mm: Option<f64>,
}

/// How much farther from the string than the lower limb the upper one shall stand, at its fade's end at brace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PositiveTiller {
    pub mm: f64,
    /// A default stands in for what the builder did not say.
    pub habitual: bool,
}

impl PositiveTiller {
    pub const KEY: &'static str = "target.positive_tiller";
    /// Limbs that differ by design have their targets from that.
    pub const NONE: PositiveTiller = PositiveTiller { mm: 0.0, habitual: false };

    pub fn of(build: &Build) -> PositiveTiller {
        let mm = build.target.map_or(0.0, |target| target.positive_tiller_mm);
        PositiveTiller { mm, habitual: build.assumes(PositiveTiller::KEY) }
    }
}

/// Two limbs ready to be bent, with their stiffness as designed.
pub struct LaidPair<'a> {
    bows: [Bow<'a>; 2],
    options: Options,
    pivot_above_mm: f64,
    nocking_above_mm: f64,
}

/// One bending solved: what the next one near it starts from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolvedPair {
    brace: [f64; 3],
    drawn: Option<DrawnPair>,
    pub force_n: f64,
}

impl SolvedPair {
    /// At brace and at full draw as a force curve has it; what changes with the draw is not known of it.
    pub fn of_curve(curve: &DrawCurve) -> SolvedPair {
        let [upper, lower] = curve.limbs();
        let [braced, drawn] = [DrawCurve::at_brace, DrawCurve::at_full_draw].map(|at| [at(upper), at(lower)]);
        let y = [drawn[UPPER].tension_n, drawn[UPPER].nock_angle_rad, drawn[LOWER].tension_n, drawn[LOWER].nock_angle_rad];
        SolvedPair {
            brace: [braced[UPPER].tension_n, braced[UPPER].nock_angle_rad, braced[LOWER].nock_angle_rad],
            drawn: Some(DrawnPair { here: Knot { x: drawn[UPPER].pivot_to_nock_mm, y, slope: [0.0; 4] }, before: None }),
            force_n: drawn[UPPER].force_n,
        }
    }

    /// What is known of it at brace alone.
    #[must_use]
    pub fn braced(self) -> SolvedPair {
        SolvedPair { drawn: None, force_n: 0.0, ..self }
    }
}

/// The pair's unknowns over the draw, with how they change with it: here, and at the draw from which this one was found.
#[derive(Debug, Clone, Copy, PartialEq)]
struct DrawnPair {
    here: Knot<4>,
    before: Option<Knot<4>>,
}

impl<'a> LaidPair<'a> {
    /// Lays both limbs with corners at `corners_mm`: wherever stiffness will jump or distances are read.
    pub fn of(upper: &'a Build, lower: &'a Build, pair: &PairOptions, corners_mm: &[f64]) -> Result<LaidPair<'a>, Diagnostic> {
        // Steps end where they must and nowhere else.
        let options = Options { station_step_mm: f64::MAX, stations_mm: corners_mm.to_vec(), ..pair.options.clone() };
        let of_lower = PairOptions { options: options.clone(), ..pair.clone() }.of_lower();
        let bow = Bow::of(upper, &options)?;
        let alike = std::ptr::eq(upper, lower) && of_lower == options;
        let other = if alike { bow.clone() } else { Bow::of(lower, &of_lower)? };
        Ok(LaidPair { bows: [bow, other], options, pivot_above_mm: pair.pivot_above_mm, nocking_above_mm: pair.nocking_above_mm })
    }

    /// As designed.
    pub fn limbs(&self) -> [&Limb; 2] {
        [&self.bows[UPPER].limb, &self.bows[LOWER].limb]
    }

    /// By the outline, mm.
    pub fn width_mm(&self, side: usize, s_mm: f64) -> f64 {
        self.bows[side].stack.outline().width_at(s_mm)
    }

    /// Brace height and full draw of the design, from the pivot point, mm.
    pub fn design_mm(&self) -> Result<[f64; 2], Diagnostic> {
        Ok([self.bows[UPPER].brace_height_mm(&self.options)?, self.bows[UPPER].full_draw_mm(&self.options)?])
    }

    /// The limbs so bent, the grip bearing `moment_n_mm` beside the force (nothing while it is free).
    pub fn bend(
        &self,
        limbs: [&Limb; 2],
        bending: LoadCase,
        moment_n_mm: f64,
        near: Option<&SolvedPair>,
    ) -> Result<SolvedPair, Diagnostic> {
        let braced = self.braced(limbs, bending.brace_mm, near)?;
        self.drawn(limbs, braced, bending.pivot_to_nock_mm, moment_n_mm, near)
    }

    /// The limbs bent in each of these ways with the grip free, each found from the one before, the first from one that is `near`.
    pub fn bend_in_turn(
        &self,
        limbs: [&Limb; 2],
        bendings: impl IntoIterator<Item = LoadCase>,
        near: Option<&SolvedPair>,
    ) -> Result<Vec<SolvedPair>, Diagnostic> {
        let mut all: Vec<SolvedPair> = Vec::new();
        let mut braced: Option<(f64, (PairState, [f64; 2]))> = None;
        for bending in bendings {
            let at_brace = match braced {
                Some((brace_mm, found)) if brace_mm == bending.brace_mm => found,
                _ => self.braced(limbs, bending.brace_mm, all.last().or(near))?,
            };
            braced = Some((bending.brace_mm, at_brace));
            all.push(self.drawn(limbs, at_brace, bending.pivot_to_nock_mm, 0.0, all.last().or(near))?);
        }
        Ok(all)
    }

    /// The pair with its string on, and both halves of the string.
    fn braced(&self, limbs: [&Limb; 2], brace_mm: f64, near: Option<&SolvedPair>) -> Result<(PairState, [f64; 2]), Diagnostic> {
        let free = self.pair(limbs, 0.0);
        let mut passes = 0;
        let guessed = near.and_then(|near| free.braced(near.brace, brace_mm, self.nocking_above_mm, &mut passes).ok());
        match guessed {
            Some(found) if 0.0 < found.0.unknowns[0] => Ok(found),
            _ => free.brace(brace_mm, self.nocking_above_mm, &mut passes).map_err(|trouble| self.refusal(trouble)),
        }
    }

    /// The braced pair drawn on; as it is without a draw.
    fn drawn(
        &self,
        limbs: [&Limb; 2],
        (braced, halves): (PairState, [f64; 2]),
        pivot_to_nock_mm: Option<f64>,
        moment_n_mm: f64,
        near: Option<&SolvedPair>,
    ) -> Result<SolvedPair, Diagnostic> {
        let [tension, upper, _, lower] = braced.unknowns;
        let mut solved = SolvedPair { brace: [tension, upper, lower], drawn: None, force_n: 0.0 };
        let Some(draw) = pivot_to_nock_mm else { return Ok(solved) };
        let held = self.pair(limbs, moment_n_mm);
        let mut passes = 0;
        let near = near.and_then(|near| near.drawn);
        let guess = near.and_then(|near| {
            let guess = interp::ahead(near.here, [near.before, None], draw);
            held.held_at(halves, guess, draw, &mut passes).ok()
        });
        let state = match guess {
            Some(found) => found,
            None => {
                // A moment has nothing to lean on while the string hardly pulls: it is put on at the draw.
                let free = self.pair(limbs, 0.0);
                let walked = free
                    .draw(halves, braced, draw, (draw - braced.draw) / LONG_STEPS, &mut passes)
                    .map_err(|trouble| self.refusal(trouble))?;
                held.held_at(halves, walked.unknowns, draw, &mut passes).map_err(|residual| {
                    let x = self.bows[UPPER].grip_depth_mm + draw;
                    self.refusal(Trouble::NotFound { nock_x_mm: x, reached_x_mm: x, residual, passes })
                })?
            }
        };
        let here = Knot { x: draw, y: state.unknowns, slope: state.tangent };
        solved.drawn = Some(DrawnPair { here, before: near.map(|near| near.here).filter(|before| before.x != draw) });
        solved.force_n = state.force;
        Ok(solved)
    }

    fn pair<'l>(&self, limbs: [&'l Limb; 2], moment_n_mm: f64) -> Pair<'l> {
        Pair::of(limbs, (self.bows[UPPER].grip_depth_mm, self.pivot_above_mm), moment_n_mm)
    }

    fn refusal(&self, trouble: Trouble) -> Diagnostic {
        draw::fault(&self.bows[UPPER], &self.options, trouble)
    }

    /// Both limbs' backs so bent, each in the side frame of its own half: `y` from the bow's middle toward its nock.
    pub fn backs(&self, limbs: [&Limb; 2], solved: &SolvedPair) -> [BentBack; 2] {
        let [tension, upper, lower] = solved.brace;
        let [tu, au, tl, al] = solved.drawn.map_or([tension, upper, tension, lower], |drawn| drawn.here.y);
        [(limbs[UPPER], tu, au), (limbs[LOWER], tl, al)].map(|(limb, t, a)| BentBack::of(limb, &limb.string_trace(t, a)))
    }

    /// Distances from belly to string, square to the string, at stations of both limbs, mm: `[upper, lower]` for each station.
    pub fn gaps_mm(&self, limbs: [&Limb; 2], solved: &SolvedPair, stations_mm: &[f64]) -> Vec<[f64; 2]> {
        let [tension, upper, lower] = solved.brace;
        let [tu, au, tl, al] = solved.drawn.map_or([tension, upper, tension, lower], |drawn| drawn.here.y);
        let sides = [(tu, au), (tl, al)].into_iter().enumerate().map(|(side, (t, a))| {
            let trace = limbs[side].string_trace(t, a);
            let at = &limbs[side].stations;
            let to_string = |k: usize| {
                let section = self.bows[side].stack.properties(at[k].inside_mm, at[k].s_mm);
                trace.to_string_mm(&trace.at[k], section.depth_mm - section.neutral_mm)
            };
            stations_mm
                .iter()
                .map(|s_mm| {
                    let next = at.partition_point(|station| station.s_mm < *s_mm).clamp(1, at.len() - 1);
                    let (near, far) = (at[next - 1].s_mm, at[next].s_mm);
                    let fraction = if near < far { ((s_mm - near) / (far - near)).clamp(0.0, 1.0) } else { 1.0 };
                    let beyond = to_string(next);
                    if 1.0 <= fraction { beyond } else { beyond - (1.0 - fraction) * (beyond - to_string(next - 1)) }
                })
                .collect::<Vec<f64>>()
        });
        let sides: Vec<Vec<f64>> = sides.collect();
        sides[UPPER].iter().zip(&sides[LOWER]).map(|(upper, lower)| [*upper, *lower]).collect()
    }

    /// How the upper limb is weakened so that it stands as much farther from the string than the lower one as is wanted, at station `s_mm` at
    /// brace: of a habit that these limbs cannot show, the first of its halves that they can, down to nothing. Found from a braced pair that is
    /// `near`.
    pub fn weaker_upper(&self, s_mm: f64, wanted: PositiveTiller, near: Option<SolvedPair>) -> Result<WeakerUpper, Diagnostic> {
        let alike = WeakerUpper { factor: 1.0, tiller_mm: 0.0, braced: near };
        if wanted.mm.abs() <= 0.0 {
            return Ok(alike);
        }
        if !wanted.habitual {
            return self.weaker_for(s_mm, wanted.mm, near);
        }
        let halves = (0..HALVINGS).map(|k| wanted.mm * 0.5_f64.powi(k));
        // A bow that cannot be solved is refused by who bends it as it is, not for a habit.
        Ok(halves.filter_map(|mm| self.weaker_for(s_mm, mm, near).ok()).next().unwrap_or(alike))
    }

    fn weaker_for(&self, s_mm: f64, wanted_mm: f64, near: Option<SolvedPair>) -> Result<WeakerUpper, Diagnostic> {
        let [brace_mm, _] = self.design_mm()?;
        let limbs = self.limbs();
        let bending = LoadCase { brace_mm, pivot_to_nock_mm: None };
        let mut near = near;
        let mut beyond = |ln_factor: f64| -> Result<f64, Diagnostic> {
            let upper = limbs[UPPER].stiffened(|_| ln_factor.exp());
            let solved = self.bend([&upper, limbs[LOWER]], bending, 0.0, near.as_ref())?;
            near = Some(solved);
            let gaps = self.gaps_mm([&upper, limbs[LOWER]], &solved, &[s_mm]);
            Ok(gaps[0][UPPER] - gaps[0][LOWER] - wanted_mm)
        };
        // About in proportion near the design, whose own tiller is a start; the bracket is for limbs that answer in no such way.
        let start = beyond(0.0)?;
        let slope = (beyond(START_LN)? - start) / START_LN;
        let within = [-MAX_LN, MAX_LN];
        let how = Secant { start: 0.0, slope, within, close: CLOSE_MM, min_step: 0.0, max: MAX_SECANTS };
        let ln_factor = match secant(&mut beyond, how) {
            Ok(SecantEnd::Root(found)) => found.x,
            _ => match root::fallible_bracketed(&mut beyond, -MAX_LN, MAX_LN, 1e-7, 40) {
                Ok(found) => found.x,
                Err(RootFault::Function(fault)) => return Err(fault),
                Err(RootFault::Bracket(_)) => {
                    let message = message!("no limb so strung shows a tiller of {}", mm(wanted_mm));
                    return Err(Diagnostic::fault(Place::new(PositiveTiller::KEY), message).hint(
                        "these limbs are too stiff at the fade to show it: say positive_tiller = 0, and both limbs shall stand alike",
                    ));
                }
            },
        };
        Ok(WeakerUpper { factor: ln_factor.exp(), tiller_mm: wanted_mm, braced: near })
    }
}

/// How an upper limb is weakened for its tiller.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeakerUpper {
    /// On the upper limb's stiffness.
    pub factor: f64,
    /// How much farther from the string the upper limb then stands, mm.
    pub tiller_mm: f64,
    /// The pair at brace, or near it.
    pub braced: Option<SolvedPair>,
}

/// The line of one limb's back, root to nock.
#[derive(Debug, Clone, PartialEq)]
pub struct BentBack {
    at: Vec<BackPlace>,
}

/// A place on the back in the side frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BackPlace {
    pub s_mm: f64,
    pub x_mm: f64,
    pub y_mm: f64,
    /// From +y toward +x, rad.
    pub angle_rad: f64,
}

impl BackPlace {
    /// Along the limb toward the nock, and square to it toward the archer.
    pub fn along(&self) -> [f64; 2] {
        let (sin, cos) = self.angle_rad.sin_cos();
        [sin, cos]
    }

    pub fn square(&self) -> [f64; 2] {
        let (sin, cos) = self.angle_rad.sin_cos();
        [cos, -sin]
    }

    /// How far along the limb, and square to it, a point lies from here, mm.
    fn from(&self, point: [f64; 2]) -> [f64; 2] {
        let off = [point[0] - self.x_mm, point[1] - self.y_mm];
        [self.along(), self.square()].map(|way| way[0] * off[0] + way[1] * off[1])
    }
}

impl BentBack {
    fn of(limb: &Limb, trace: &Trace) -> BentBack {
        let root = &trace.at[0];
        let frame = limb.frame(Ends { q: root.q_mm, p: root.p_mm, psi: root.psi_rad });
        let string_angle_rad = root.psi_rad - limb.root.angle_rad;
        let back = |(bent, station): (&LimbState, &LimbStation)| {
            let (sin, cos) = bent.psi_rad.sin_cos();
            let neutral = station.beam.neutral_mm;
            let place = frame(bent.q_mm - neutral * sin, bent.p_mm + neutral * cos);
            BackPlace { s_mm: bent.s_mm, x_mm: place.x, y_mm: place.y, angle_rad: bent.psi_rad - string_angle_rad }
        };
        BentBack { at: trace.at.iter().zip(&limb.stations).map(back).collect() }
    }

    pub fn nock(&self) -> BackPlace {
        self.at[self.at.len() - 1]
    }

    /// At a station: a cubic between the stations of the steps, which lies within a hundredth of a millimetre.
    pub fn at(&self, s_mm: f64) -> BackPlace {
        let next = self.at.partition_point(|place| place.s_mm < s_mm).clamp(1, self.at.len() - 1);
        let (a, b) = (self.at[next - 1], self.at[next]);
        let h = b.s_mm - a.s_mm;
        if h <= 0.0 {
            return b;
        }
        let t = ((s_mm - a.s_mm) / h).clamp(0.0, 1.0);
        let long = (b.x_mm - a.x_mm).hypot(b.y_mm - a.y_mm);
        let (from, to) = (a.along(), b.along());
        let value = |a: f64, b: f64, da: f64, db: f64| {
            let (t2, t3) = (t * t, t * t * t);
            (2.0 * t3 - 3.0 * t2 + 1.0) * a + (3.0 * t2 - 2.0 * t3) * b + (t3 - 2.0 * t2 + t) * da + (t3 - t2) * db
        };
        BackPlace {
            s_mm: a.s_mm + t * h,
            x_mm: value(a.x_mm, b.x_mm, long * from[0], long * to[0]),
            y_mm: value(a.y_mm, b.y_mm, long * from[1], long * to[1]),
            angle_rad: a.angle_rad + t * (b.angle_rad - a.angle_rad),
        }
    }

    /// The place nearest to a point, and how far square to the back the point lies from it, positive toward the archer, mm.
    pub fn nearest(&self, point: [f64; 2]) -> (BackPlace, f64) {
        let away = |place: &BackPlace| (place.x_mm - point[0]).hypot(place.y_mm - point[1]);
        let first = self.at.iter().min_by(|a, b| away(a).total_cmp(&away(b))).copied().unwrap_or(self.at[0]);
        let mut place = first;
        for _ in 0..NEAREST {
            place = self.at(place.s_mm + place.from(point)[0]);
        }
        (place, place.from(point)[1])
    }

    /// Mean curvature of a stretch, positive toward the belly, 1/mm.
    pub fn curvature_per_mm(&self, from_mm: f64, to_mm: f64) -> f64 {
        (self.at(to_mm).angle_rad - self.at(from_mm).angle_rad) / (to_mm - from_mm)
    }
}

/// Steps toward the nearest place: each leaves the distance times the curvature of the one before, a tenth at most.
const NEAREST: usize = 8;

/// A first step of the search for a tiller, and how near it is met, mm: far below what a rule shows.
const START_LN: f64 = -0.02;
const CLOSE_MM: f64 = 1e-8;
const MAX_SECANTS: usize = 12;
/// Halves of a habitual tiller that are tried, from the whole: a sixteenth of 3/16 in nobody reads.
const HALVINGS: i32 = 4;
/// Stiffness of one limb over the other's, as a logarithm, that a wanted tiller may ask for: beyond it the bow is another one.
const MAX_LN: f64 = 0.4;
/// Steps in which a draw is walked to from brace where nothing near is known; those that fail are halved.
const LONG_STEPS: f64 = 4.0;
