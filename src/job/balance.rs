//! Two different limbs solved together: how stiff must each be, so that the bow of both draws the wanted weight and stands as is wanted?
//!
//! A limb's stiffness is told by `W`, the weight of a bow of two such limbs; each limb's stack is solved for its `W` as one of two limbs alike is
//! ([`super::sized`]), by the `[sizing]` of its own file. The unknowns are
//!
//! ```text
//!   m = (ln W_u + ln W_l)/2      with which the weight of the bow goes
//!   a =  ln W_u − ln W_l         with which its balance goes: the weaker limb stands farther from the string
//! ```
//!
//! and the conditions the weight, and either the tiller at brace (upper limb's belly to string less the lower's, each at the end of its own fade) or a
//! string that at full draw pulls square off the bow's axis. Solved by Newton's method; the slopes are found by small changes, once.
//!
//! Where a limb meets a limit of its stack, that limb is named, with what would do: among it the tiller that its limit leaves.

use super::bow::{options, unstrung};
use super::sized;
use crate::diag::{Diagnostic, Piece, Place, Reported, at_least, at_most, mm, newtons};
use crate::mechanics::bow::Options;
use crate::mechanics::calibration::Calibrated;
use crate::mechanics::draw;
use crate::mechanics::pair::{self, PairCurve, PairOptions};
use crate::mechanics::sizing::Sized;
use crate::mechanics::strain;
use crate::mechanics::tillering::PositiveTiller;
use crate::model::Build;
use crate::model::build::{Sizing, SizingHow};
use crate::model::limb::LimbSide;
use crate::numeric::root;
use crate::units::{System, fixed, limit};

/// What the two limbs are balanced by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BalanceBy {
    /// `target.positive_tiller`: how much farther from the string the upper limb stands at brace.
    Tiller,
    /// The string pulls square off the bow's axis at full draw.
    Square,
}

/// How a bow of two limbs stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PairStanding {
    /// At full draw, N.
    pub weight_n: f64,
    /// Upper limb's belly to string less the lower's at brace, each at the end of its own fade, mm.
    pub tiller_mm: f64,
    /// Of the pull at full draw against the square off the bow's axis, positive toward the upper limb, rad.
    pub pull_angle_rad: f64,
}

impl PairStanding {
    /// As a curve of both limbs shows it.
    pub fn of(curve: &PairCurve, [upper, lower]: [&Build; 2]) -> PairStanding {
        let (brace, full) = (&curve.points[0], &curve.points[curve.points.len() - 1]);
        let gap = |side: &pair::PairSide, at: &pair::SidePoint, build: &Build| {
            strain::to_string_at(&side.stations, &at.places, build.limb_from_mm())
        };
        PairStanding {
            weight_n: full.force_n,
            tiller_mm: gap(&curve.upper, &brace.upper, upper) - gap(&curve.lower, &brace.lower, lower),
            pull_angle_rad: full.pull_angle_rad,
        }
    }
}

impl PairStanding {
    /// How far off the square the string pulls at full draw.
    pub fn pull_words(&self) -> String {
        let toward = if self.pull_angle_rad < 0.0 { "lower" } else { "upper" };
        format!("{} degrees off the square, toward the {toward} limb", fixed(self.pull_angle_rad.to_degrees().abs(), 2))
    }

    /// How much farther from the string the upper limb stands at brace, with its sign.
    pub fn farther_words(&self, units: System) -> String {
        let sign = if self.tiller_mm < 0.0 { "" } else { "+" };
        format!("{sign}{} {}", units.decimal_number(self.tiller_mm), units.length_unit())
    }
}

/// Both stacks solved.
#[derive(Debug, Clone, PartialEq)]
pub struct Balanced {
    /// The builds with their new tapers, the upper limb's first.
    pub limbs: [Build; 2],
    /// What sizing warns of, limb by limb.
    pub warnings: [Vec<Diagnostic>; 2],
    /// Draw weight and finishing allowance together, N.
    pub wanted_n: f64,
    /// The tiller that was solved for, mm: what is wanted, or of a habit what these limbs can show; `None` where the pull shall be square.
    pub wanted_tiller_mm: Option<f64>,
    /// As the files have it.
    pub before: PairStanding,
    /// To the last digit of the solution, before anything is rounded for a file.
    pub after: PairStanding,
}

/// Whose file is at fault, and the faults.
#[derive(Debug, Clone, PartialEq)]
pub struct LimbFaults {
    /// Whose.
    pub limb: LimbSide,
    /// One at least.
    pub faults: Vec<Diagnostic>,
}

/// A difference of stiffness beyond which two limbs are no bow, as a logarithm of one over the other.
const MAX_LN: f64 = 0.7;
const MAX_NEWTON: usize = 15;
/// Accepted departures: of the weight a ratio, of the tiller mm, of the pull rad; far below what anybody reads.
const CLOSE: [f64; 3] = [1e-6, 1e-3, 1e-5];
/// The same where the glue-up's turns, which end while a tip still moves by hundredths of a millimetre, let it come no closer: still below what is
/// read.
const TELLABLE: [f64; 3] = [2e-4, 0.05, 5e-4];
/// Change for the slopes: more than the solutions' own rounding, less than their curvature.
const STEP_LN: f64 = 0.01;
/// Halves of a step that meets a limit, and of the way to that limit.
const MAX_HALVINGS: usize = 6;
const MAX_BISECTIONS: usize = 16;
/// Halves of a habitual tiller that are tried.
const HABIT_HALVINGS: i32 = 4;

/// Solves both stacks; the upper limb's build first, `own` is how stiff the builder's wood is.
pub(super) fn balance(builds: [&Build; 2], own: [Option<Calibrated>; 2], by: BalanceBy) -> Result<Balanced, LimbFaults> {
    let [upper, lower] = builds;
    let of = |limb: LimbSide| move |faults: Vec<Diagnostic>| LimbFaults { limb, faults };
    let wish = one_wish(upper, lower);
    if !wish.is_empty() {
        return Err(LimbFaults { limb: LimbSide::Lower, faults: wish });
    }
    let Some(target) = upper.target else {
        let fault = Diagnostic::fault(Place::new("target"), "there is no target, so there is no draw weight to size for");
        return Err(of(LimbSide::Upper)(vec![fault.hint("give `draw_weight` under `target`")]));
    };
    let wanted_n = target.stack_weight_n();
    let mut both = Both { builds: builds.map(Build::clone), own, wanted_n };
    let before = both.standing(builds).map_err(of(LimbSide::Upper))?;
    // Where tapers are free, they are found for limbs of about the right stiffness, and kept: the rest of the way is thickness alone.
    let mut warnings = [Vec::new(), Vec::new()];
    let mut start = [wanted_n.ln(); 2];
    for (k, limb) in LimbSide::BOTH.into_iter().enumerate() {
        let found = both.sized(k, wanted_n);
        match found {
            Ok(found) => {
                warnings[k] = found.warnings;
                if let Some(sizing) = both.builds[k].sizing.as_mut().filter(|sizing| sizing.how == SizingHow::Both) {
                    let sizing = Sizing { how: SizingHow::Thickness, ..sizing.clone() };
                    both.builds[k] = Build { sizing: Some(sizing), ..found.value.build };
                }
            }
            // Out of reach for one of two alike, it may do in this bow: from the stack as it is.
            Err(faults) => {
                let options = both.options(k, builds[k]).map_err(of(limb))?;
                let as_it_is = draw::weight_of(builds[k], &options).map_err(|_| of(limb)(faults.clone()))?;
                if both.sized(k, as_it_is).is_err() {
                    return Err(of(limb)(faults));
                }
                start[k] = as_it_is.ln();
            }
        }
    }
    let tiller = wanted_tiller(builds);
    let habits = if tiller.habitual && by == BalanceBy::Tiller {
        (0..HABIT_HALVINGS).map(|k| tiller.mm * 0.5_f64.powi(k)).chain([0.0]).collect()
    } else {
        vec![tiller.mm]
    };
    let mut last = None;
    for tiller_mm in habits {
        let goal = Goal { by, tiller_mm };
        match both.solve(goal, start) {
            Ok(found) => {
                if last.is_some() {
                    let message =
                        message!("these limbs cannot show the usual tiller of {}: {} is taken", mm(tiller.mm), mm(tiller_mm));
                    let warning = Diagnostic::warning(Place::new(PositiveTiller::KEY), message);
                    warnings[0].push(warning.hint("positive_tiller = 0 says that both limbs shall stand alike"));
                }
                return Ok(Balanced {
                    limbs: found.limbs.map(|sized| sized.build),
                    warnings,
                    wanted_n,
                    wanted_tiller_mm: (by == BalanceBy::Tiller).then_some(tiller_mm),
                    before,
                    after: found.standing,
                });
            }
            // The first refusal is that of what was asked for.
            Err(faults) => last = last.or(Some(faults)),
        }
    }
    Err(last.unwrap_or_else(|| of(LimbSide::Upper)(Vec::new())))
}

/// What the lower limb's file wishes otherwise than the upper's, though both make one bow.
fn one_wish(upper: &Build, lower: &Build) -> Vec<Diagnostic> {
    let (Some(of_upper), Some(of_lower)) = (upper.target, lower.target) else { return Vec::new() };
    let mut faults = Vec::new();
    let mut differ = |key: &str, what: &str, own: f64, wanted: f64, close: f64| {
        if limit::above((own - wanted).abs(), close) {
            let message =
                message!("its {} is {}, the upper limb's {}, but both make one bow", what, newtons(own), newtons(wanted));
            faults.push(Diagnostic::fault(Place::new("target").key(key), message).hint(message!(
                "write `{}` = {}",
                key,
                newtons(wanted)
            )));
        }
    };
    // Files in pounds and in newtons round to less.
    const SAME_N: f64 = 0.25;
    differ("draw_weight", "draw weight", of_lower.draw_weight_n, of_upper.draw_weight_n, SAME_N);
    differ("finishing", "allowance for finishing", of_lower.finishing_n, of_upper.finishing_n, SAME_N);
    const SAME_MM: f64 = 0.1;
    let [upper, lower] = [upper, lower].map(PositiveTiller::of);
    if !upper.habitual && !lower.habitual && limit::above((upper.mm - lower.mm).abs(), SAME_MM) {
        let message =
            message!("its tiller is {}, the upper limb's file says {}, but both make one bow", mm(lower.mm), mm(upper.mm));
        let fault = Diagnostic::fault(Place::new(PositiveTiller::KEY), message);
        faults.push(fault.hint("write it in one of the files, or the same in both"));
    }
    faults
}

/// As either file says; a habit where none does.
fn wanted_tiller(builds: [&Build; 2]) -> PositiveTiller {
    let [upper, lower] = builds.map(PositiveTiller::of);
    if upper.habitual && !lower.habitual { lower } else { upper }
}

#[derive(Debug, Clone, Copy)]
struct Goal {
    by: BalanceBy,
    tiller_mm: f64,
}

impl Goal {
    /// How far off the balance is, mm or rad, and what is close.
    fn off(&self, standing: &PairStanding) -> f64 {
        match self.by {
            BalanceBy::Tiller => standing.tiller_mm - self.tiller_mm,
            BalanceBy::Square => standing.pull_angle_rad,
        }
    }

    /// Whether weight and balance, so far off, are within the weight's, the tiller's and the pull's departures.
    fn within(&self, off: [f64; 2], [weight, tiller_mm, pull_rad]: [f64; 3]) -> bool {
        let balance = match self.by {
            BalanceBy::Tiller => tiller_mm,
            BalanceBy::Square => pull_rad,
        };
        off[0].abs() <= weight && off[1].abs() <= balance
    }
}

/// Both limbs so stiff.
#[derive(Debug, Clone)]
struct Solved {
    limbs: [Sized; 2],
    standing: PairStanding,
}

struct Both {
    builds: [Build; 2],
    own: [Option<Calibrated>; 2],
    wanted_n: f64,
}

impl Both {
    fn options(&self, k: usize, build: &Build) -> Result<Options, Vec<Diagnostic>> {
        let options = options(build, unstrung(build)?.value, self.own[k]);
        // Brace and full draw alone are asked for.
        Ok(Options { draw_step_mm: f64::MAX, station_step_mm: f64::MAX, ..options })
    }

    /// A limb's stack, solved for a bow of two such limbs of this weight, finishing included.
    fn sized(&self, k: usize, weight_n: f64) -> Result<Reported<Sized>, Vec<Diagnostic>> {
        let mut build = self.builds[k].clone();
        if let Some(target) = &mut build.target {
            target.draw_weight_n = target.finished_weight_n(weight_n);
        }
        sized::in_turns(&build, self.own[k])
    }

    fn standing(&self, [upper, lower]: [&Build; 2]) -> Result<PairStanding, Vec<Diagnostic>> {
        let pair = PairOptions::of(&self.options(0, upper)?, &self.options(1, lower)?);
        Ok(PairStanding::of(&pair::curve(upper, lower, &pair)?.value, [upper, lower]))
    }

    /// Both limbs of these weights, as logarithms; whose stack does not go so far, where one does not.
    fn at(&self, ln: [f64; 2]) -> Result<Solved, LimbFaults> {
        let [upper, lower] = [0, 1].map(|k| {
            let limb = LimbSide::BOTH[k];
            self.sized(k, ln[k].exp()).map_err(|faults| LimbFaults { limb, faults })
        });
        let limbs = [upper?.value, lower?.value];
        let standing =
            self.standing([&limbs[0].build, &limbs[1].build]).map_err(|faults| LimbFaults { limb: LimbSide::Upper, faults })?;
        Ok(Solved { limbs, standing })
    }

    fn solve(&self, goal: Goal, start: [f64; 2]) -> Result<Solved, LimbFaults> {
        let residuals = |solved: &Solved| [(solved.standing.weight_n / self.wanted_n).ln(), goal.off(&solved.standing)];
        let mut ln = start;
        let mut found = self.at(ln)?;
        let mut slopes = [[0.0; 2]; 2];
        for k in [0, 1] {
            let moved = |by: f64| {
                let mut to = ln;
                to[k] += by;
                self.at(to)
            };
            // Where there is no way up, there is one down.
            let (by, to) = moved(STEP_LN).map(|to| (STEP_LN, to)).or_else(|_| moved(-STEP_LN).map(|to| (-STEP_LN, to)))?;
            for (row, (after, before)) in residuals(&to).into_iter().zip(residuals(&found)).enumerate() {
                slopes[row][k] = (after - before) / by;
            }
        }
        let mut met: Option<(LimbFaults, [f64; 2])> = None;
        for _ in 0..MAX_NEWTON {
            let off = residuals(&found);
            if goal.within(off, CLOSE) {
                return Ok(found);
            }
            let Some(step) = root::solve(slopes, off.map(|off| -off)) else { break };
            let wanted: [f64; 2] = std::array::from_fn(|k| ln[k] + step[k]);
            if MAX_LN < (wanted[0] - wanted[1]).abs() {
                return Err(unbalanced(goal));
            }
            let mut next = None;
            for halving in 0..=MAX_HALVINGS {
                let to: [f64; 2] = std::array::from_fn(|k| ln[k] + 0.5_f64.powi(halving as i32) * step[k]);
                match self.at(to) {
                    Ok(there) => {
                        next = Some((to, there));
                        break;
                    }
                    Err(faults) => met = Some((faults, wanted)),
                }
            }
            let Some((to, there)) = next else { break };
            // The slopes follow what was seen, across the step (Broyden).
            let by: [f64; 2] = std::array::from_fn(|k| to[k] - ln[k]);
            let seen = residuals(&there);
            let length = by[0] * by[0] + by[1] * by[1];
            for row in [0, 1] {
                let missed = seen[row] - off[row] - (slopes[row][0] * by[0] + slopes[row][1] * by[1]);
                for k in [0, 1] {
                    slopes[row][k] += missed * by[k] / length.max(1e-30);
                }
            }
            (ln, found) = (to, there);
        }
        if goal.within(residuals(&found), TELLABLE) {
            return Ok(found);
        }
        Err(match met {
            Some((faults, wanted)) => self.out_of_reach(goal, faults, ln, wanted),
            None => unbalanced(goal),
        })
    }

    /// Which limb stops, how stiff it would have to be, and what would do.
    fn out_of_reach(&self, goal: Goal, met: LimbFaults, last: [f64; 2], wanted: [f64; 2]) -> LimbFaults {
        let k = usize::from(met.limb == LimbSide::Lower);
        let tiller = self.tiller_at_limit(k, last, wanted);
        // Of what it would have to be, and not of the last step toward it.
        let mut faults = self.sized(k, wanted[k].exp()).err().unwrap_or(met.faults).into_iter();
        let Some(first) = faults.next() else { return LimbFaults { limb: met.limb, faults: Vec::new() } };
        let balance = match goal.by {
            BalanceBy::Tiller => message!("the upper limb {} farther from the string", mm(goal.tiller_mm)),
            BalanceBy::Square => "a string that pulls square".into(),
        };
        let message = message!(
            "for {} with {} it has to be as stiff as in a bow of two alike of {}, and there {}",
            newtons(self.wanted_n),
            balance,
            newtons(wanted[k].exp()),
            first.message
        );
        let mut fault = Diagnostic { message, ..first };
        if let Some(tiller_mm) = tiller {
            fault = match goal.by {
                BalanceBy::Tiller => fault.hint(message!(
                    "at that limit the bow has its weight with positive_tiller = {}",
                    toward(goal.tiller_mm, tiller_mm)
                )),
                BalanceBy::Square => fault.hint(message!(
                    "at that limit the bow has its weight with positive_tiller = {}, without `--square`",
                    mm(tiller_mm)
                )),
            };
        }
        LimbFaults { limb: met.limb, faults: std::iter::once(fault).chain(faults).collect() }
    }

    /// The tiller at which the weight is met with limb `k` at its limit, which lies between `last` and `wanted`; `None` where the other limb does
    /// not reach so far either.
    fn tiller_at_limit(&self, k: usize, last: [f64; 2], wanted: [f64; 2]) -> Option<f64> {
        let (mut good, mut bad) = (last[k], wanted[k]);
        for _ in 0..MAX_BISECTIONS {
            let middle = 0.5 * (good + bad);
            match self.sized(k, middle.exp()) {
                Ok(_) => good = middle,
                Err(_) => bad = middle,
            }
        }
        let mut other = last[1 - k];
        let pair = |other: f64| if k == 0 { [good, other] } else { [other, good] };
        for _ in 0..MAX_NEWTON {
            let found = self.at(pair(other)).ok()?;
            let off = (found.standing.weight_n / self.wanted_n).ln();
            if off.abs() <= CLOSE[0] {
                return Some(found.standing.tiller_mm);
            }
            // The weight goes about with the root of both.
            other -= 2.0 * off;
        }
        None
    }
}

/// A tiller within reach, rounded away from what is out of reach.
fn toward(wanted_mm: f64, reached_mm: f64) -> Piece {
    if reached_mm < wanted_mm { at_most(reached_mm) } else { at_least(reached_mm) }
}

fn unbalanced(goal: Goal) -> LimbFaults {
    let (message, hint) = match goal.by {
        BalanceBy::Tiller => (
            message!("no balance of these limbs shows a tiller of {}", mm(goal.tiller_mm)),
            "say positive_tiller = 0, or balance them by the pull at full draw (`--square`)",
        ),
        BalanceBy::Square => (
            "no balance of these limbs has the string pull square".into(),
            "limbs that differ so much in length pull toward one of them: balance them by `positive_tiller`",
        ),
    };
    LimbFaults { limb: LimbSide::Upper, faults: vec![Diagnostic::fault(Place::new(PositiveTiller::KEY), message).hint(hint)] }
}
