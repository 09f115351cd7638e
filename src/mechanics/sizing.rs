//! How thick must the stack be for the draw weight that is wanted?
//!
//! The bow of [`super::draw`] run backwards. Of the laminations that may change, each takes a share `w_i` of the change that is its
//! share of their thickness at the butt:
//!
//! ```text
//!   t_i(s) = t_i0(s) + w_i (δ − ρ g_i(s)),   g_i = distance from its butt, or from the end of its level part
//! ```
//!
//! | how | unknown | held |
//! |---|---|---|
//! | thickness | `δ`, mm on the stack | tapers |
//! | taper | `ρ`, thinner per unit of length | butts |
//! | both | `δ` for each `ρ`; of all `ρ` the one with the most even strain | – |
//!
//! The unknown is found by secants on `ln F`, which is nearly straight in it (`F` goes about with the cube of thickness). Even means the least
//! coefficient of variation of the surface strain at full draw, along the working limb: from the riser's feather to `OUTER` of
//! the way to the nock, beyond which the strain must fall whatever the taper.
//!
//! Where a lamination shall have a share `σ` of the stack at the station where the limb starts to work, its thickness follows the stack's,
//! `t = σ (T + δ)`, and the others share what is left.
//!
//! Limits: nowhere on a strip, overrun included, thinner than the sander takes or thicker than the stock less its first face; those of
//! the build file; and no taper turned round unasked (`bounds`).
//! Where no change within them reaches the weight, the answer says which limit was met, the weight there, and what would do.
//! The wanted weight is the target's plus what is kept in hand for finishing.

mod bounds;

use super::bow::{Bow, Options};
use super::{draw, strung};
use crate::diag::{Diagnostic, Outcome, Place, Reported, mm, newtons};
use crate::model::Build;
use crate::model::build::{SizingHow, SizingLimit};
use crate::model::lamination::Lamination;
use crate::model::taper::{Taper, TaperForm};
use crate::numeric::interp::CurveFault;
use crate::numeric::minimum::golden;
use crate::numeric::root::{Secant, SecantEnd, secant};
use bounds::{SizingBound, taper_of};
use std::convert::Infallible;

/// A stack that draws the wanted weight.
#[derive(Debug, Clone, PartialEq)]
pub struct Sized {
    /// The build with its new tapers.
    pub build: Build,
    pub changes: Vec<LaminationChange>,
    /// Draw weight and finishing allowance together, N.
    pub wanted_n: f64,
    /// What the new stack draws, N.
    pub weight_n: f64,
    /// What the old stack drew, N.
    pub weight_before_n: f64,
    /// Coefficient of variation of the surface strain along the working limb, ratios.
    pub unevenness: BeforeAfter,
    /// Bows solved on the way.
    pub solved: usize,
}

/// What becomes of one lamination, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LaminationChange {
    /// Index into [`Build::laminations`].
    pub lamination: usize,
    /// At its butt.
    pub butt_mm: BeforeAfter,
    /// At its tip.
    pub tip_mm: BeforeAfter,
}

/// One number of the build as it was and as sized.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BeforeAfter {
    pub before: f64,
    pub after: f64,
}

impl BeforeAfter {
    /// Before, then after, as it is published.
    pub fn pair(self) -> [f64; 2] {
        [self.before, self.after]
    }
}

/// Solves the build's `sizing` for its draw weight.
pub fn size(build: &Build, options: &Options) -> Outcome<Sized> {
    let plan = SizingPlan::of(build, options).map_err(|fault| vec![fault])?;
    plan.solve().map_err(|fault| vec![fault])
}

/// The lamination thicker by `added_mm` and thinner by `rate` more per unit of length.
///
/// A strip that is already ground or given at stations keeps its stations; the other forms keep their form.
pub fn changed(lamination: &Lamination, added_mm: f64, rate: f64) -> Result<Lamination, CurveFault> {
    let taper = &lamination.finished;
    let points = taper.curve().points();
    let (first, last) = (points[0], points[points.len() - 1]);
    let level = rate.abs() <= 0.0;
    let finished = match taper.form() {
        TaperForm::Parallel if level => Taper::parallel(first.1 + added_mm),
        TaperForm::Parallel => Taper::straight(lamination.from_mm, lamination.to_mm, first.1 + added_mm, rate)?,
        TaperForm::Straight { rate: was } => Taper::straight(first.0, last.0, first.1 + added_mm, was + rate)?,
        TaperForm::FlatThenStraight { flat_mm, rate: was } => {
            Taper::flat_then_straight(first.0, last.0, first.1 + added_mm, flat_mm, was + rate)?
        }
        TaperForm::Stations | TaperForm::Ground => {
            let moved = points.iter().map(|(s, t)| (*s, t + added_mm - rate * (s - lamination.from_mm))).collect();
            Taper::stations(moved, taper.curve().between())?
        }
    };
    Ok(Lamination { finished: finished.feathered(taper.feather_mm()), ..lamination.clone() })
}

/// Distance over which a change of rate acts at station `s`: from the butt, or from the end of the level part.
fn reach(lamination: &Lamination, s: f64) -> f64 {
    match lamination.finished.form() {
        TaperForm::FlatThenStraight { flat_mm, .. } => (s - lamination.finished.curve().points()[0].0 - flat_mm).max(0.0),
        _ => s - lamination.from_mm,
    }
}

/// Beyond this share of the way from feather to nock the strain falls to nothing with the moment, for any straight taper.
/// A larger share judges tips that no taper can load, a smaller one leaves out limb that works.
const OUTER: f64 = 0.75;
/// Accepted departure of the weight, a ratio: far under what any scale shows, far over the solver's own.
const CLOSE: f64 = 1e-7;
/// The same while tapers are compared: their evenness does not change with the last digits of the weight.
const ROUGHLY: f64 = 1e-4;
/// Secants for one weight: four are usual.
const MAX_SECANTS: usize = 25;
/// A weight off by less, as a ratio, is met as nearly as any scale can tell.
const TELLABLE: f64 = 5e-4;
/// LaminationChange of taper that is searched for even strain, as a share of the taper that would take the changeable laminations to nothing at
/// their tips. More looks at stacks that no sander makes, less may miss the even one behind a far start.
const MAX_RATE_FRACTION: f64 = 0.8;
/// Tapers nearer than this to another are that one: a tenth of what can be written.
const LEVEL: f64 = 1e-5;
/// Narrowings of the taper, each by the golden ratio: 0.01 · 0.618^14 is a taper of 1e-5, which nobody can grind.
const NARROWINGS: usize = 14;
struct SizingPlan<'a> {
    build: &'a Build,
    options: Options,
    change: Vec<usize>,
    /// Of each of them: what a wanted share of the stack adds before anything else changes, mm; its share of what is added to the stack, and its
    /// part of a change of taper.
    base_mm: Vec<f64>,
    fractions: Vec<f64>,
    parts: Vec<f64>,
    /// A change of taper turns about this far from where it starts to act, mm: where shares are kept, or else there.
    turns_mm: Vec<f64>,
    limits: Vec<SizingLimit>,
    how: SizingHow,
    wanted_n: f64,
}

/// One unknown of the two: the other is held at a value.
#[derive(Debug, Clone, Copy)]
enum Unknown {
    Added { rate: f64 },
    Rate { added: f64 },
}

impl Unknown {
    fn pair(self, x: f64) -> (f64, f64) {
        match self {
            Unknown::Added { rate } => (x, rate),
            Unknown::Rate { added } => (added, x),
        }
    }
}

/// What came of a search for the weight.
enum WeightSearch {
    At { x: f64, weight_n: f64, unevenness: f64 },
    Stopped { limit: SizingBound, weight_n: f64 },
}

impl<'a> SizingPlan<'a> {
    fn of(build: &'a Build, options: &Options) -> Result<SizingPlan<'a>, Diagnostic> {
        let place = Place::new("sizing");
        let Some(sizing) = &build.sizing else {
            return Err(Diagnostic::fault(place, "there is no `sizing`, so nothing may change")
                .hint("name the laminations that may change under `sizing`"));
        };
        let Some(target) = build.target else {
            return Err(Diagnostic::fault(Place::new("target"), "there is no target, so there is no draw weight to size for")
                .hint("give `draw_weight` under `target`"));
        };
        if sizing.change.is_empty() {
            return Err(Diagnostic::fault(place.key("change"), "no lamination may change")
                .hint("name at least one lamination that is not ground yet"));
        }
        for index in &sizing.change {
            let Some(lamination) = build.laminations.get(*index) else {
                let message = format!("lamination {} of {} does not exist", index + 1, build.laminations.len());
                return Err(Diagnostic::fault(place.key("change"), message).hint("name laminations of this build"));
            };
            if lamination.ground || lamination.finished.form() == TaperForm::Ground {
                let message = format!("`{}` is already ground and cannot change", lamination.name);
                return Err(Diagnostic::fault(place.key("change"), message).hint("size another lamination, and hold this one"));
            }
        }
        let butts: Vec<f64> =
            sizing.change.iter().map(|i| build.laminations[*i].finished.at(build.laminations[*i].from_mm)).collect();
        let whole: f64 = butts.iter().sum();
        let parts: Vec<f64> = butts.iter().map(|butt| butt / whole).collect();
        let (base_mm, fractions) = fractions(build, &sizing.change, &parts, &sizing.limits)?;
        let share_kept = sizing.limits.iter().any(|limit| limit.fraction.is_some());
        let turns = |index: &usize| if share_kept { reach(&build.laminations[*index], build.limb_from_mm()) } else { 0.0 };
        Ok(SizingPlan {
            build,
            // No stations are asked for: the search needs the force alone.
            options: Options { station_step_mm: f64::MAX, ..options.clone() },
            change: sizing.change.clone(),
            base_mm,
            fractions,
            turns_mm: sizing.change.iter().map(turns).collect(),
            parts,
            limits: sizing.limits.clone(),
            how: sizing.how,
            wanted_n: target.stack_weight_n(),
        })
    }

    fn limit_of(&self, index: usize) -> SizingLimit {
        self.limits.iter().find(|limit| limit.lamination == index).copied().unwrap_or_default()
    }

    fn solve(&self) -> Result<Reported<Sized>, Diagnostic> {
        let mut solved = 0;
        let (weight_before_n, before) = self.judge_build(self.build)?;
        solved += 1;
        let (added, rate, weight_n, after) = match self.how {
            SizingHow::Thickness => self.reached(Unknown::Added { rate: 0.0 }, 0.0, &mut solved)?,
            SizingHow::Taper => self.reached(Unknown::Rate { added: 0.0 }, 0.0, &mut solved)?,
            SizingHow::Both => self.evenest(&mut solved)?,
        };
        let build = self.with(added, rate)?;
        let changes = self
            .change
            .iter()
            .map(|index| {
                let pair = |at: fn(&Lamination) -> f64| BeforeAfter {
                    before: at(&self.build.laminations[*index]),
                    after: at(&build.laminations[*index]),
                };
                LaminationChange {
                    lamination: *index,
                    butt_mm: pair(|lamination| lamination.finished.at(lamination.from_mm)),
                    tip_mm: pair(|lamination| lamination.finished.at(lamination.to_mm)),
                }
            })
            .collect();
        let warnings = self.reversed(&build, rate);
        let value = Sized {
            build,
            changes,
            wanted_n: self.wanted_n,
            weight_n,
            weight_before_n,
            unevenness: BeforeAfter { before, after },
            solved,
        };
        Ok(Reported { value, warnings })
    }

    /// What is said of tapers that end thicker at the tip, or that an even strain would have turned round.
    fn reversed(&self, build: &Build, rate: f64) -> Vec<Diagnostic> {
        let mut warnings = Vec::new();
        for index in &self.change {
            let lamination = &build.laminations[*index];
            let taper = taper_of(lamination);
            if taper < -LEVEL {
                let message = format!("`{}` gets thicker toward its tip, by {:.4} per unit of length", lamination.name, -taper);
                warnings.push(
                    Diagnostic::warning(lamination.place.clone(), message)
                        .hint("such a strip is ground and glued the other way round: mark its ends, or set a least `taper` of 0 in `sizing.limits`"),
                );
            }
        }
        let ((least, held), _) = self.taper_range(f64::INFINITY);
        if let Some(index) = held.filter(|_| self.how == SizingHow::Both && rate <= least + LEVEL) {
            let lamination = &build.laminations[index];
            let message = format!(
                "`{}` stays at a taper of {:.4}, the least it may have: less would strain the limb more evenly",
                lamination.name,
                self.tapers(index).min + 0.0
            );
            warnings.push(Diagnostic::warning(Place::new("sizing.how"), message).hint(format!(
                "to let it get thicker toward its tip: limits = [{{ of = \"{}\", taper = [-0.004, 0.006] }}]",
                lamination.name
            )));
        }
        warnings
    }

    /// The taper with the most even strain, with the thickness that goes with it.
    fn evenest(&self, solved: &mut usize) -> Result<(f64, f64, f64, f64), Diagnostic> {
        let mut best: Option<(f64, f64, f64)> = None;
        let mut last_fault = None;
        let mut guess = 0.0;
        let mut judge = |rate: f64, solved: &mut usize| -> f64 {
            let found = self.search(Unknown::Added { rate }, guess, ROUGHLY, solved);
            match found {
                Ok(WeightSearch::At { x, unevenness, .. }) => {
                    guess = x;
                    if best.is_none_or(|best| unevenness < best.0) {
                        best = Some((unevenness, x, rate));
                    }
                    unevenness
                }
                // Out of reach: worse than anything within, and the worse the farther out.
                Ok(WeightSearch::Stopped { .. }) => 1e3 + rate.abs(),
                Err(fault) => {
                    last_fault = Some(fault);
                    1e3 + rate.abs()
                }
            }
        };
        // A coarse look first, since reach may end on either side, then the golden section around the best of it.
        const LOOKS: usize = 7;
        let whole: f64 =
            self.change.iter().map(|i| self.build.laminations[*i].finished.at(self.build.laminations[*i].from_mm)).sum();
        let first = &self.build.laminations[self.change[0]];
        let most = MAX_RATE_FRACTION * whole / (first.to_mm - first.from_mm);
        let ((lowest, _), highest) = self.taper_range(most);
        if highest < lowest {
            let message = "the tapers under `sizing.limits` cannot be had together: what changes, changes them all";
            return Err(
                Diagnostic::fault(Place::new("sizing.limits"), message).hint("widen them, or write the tapers nearer to them")
            );
        }
        let look = |k: usize| lowest + (highest - lowest) * k as f64 / (LOOKS - 1) as f64;
        let seen: Vec<f64> = (0..LOOKS).map(|k| judge(look(k), solved)).collect();
        let k = least(&seen);
        let (low, high) = (look(k.saturating_sub(1)), look((k + 1).min(LOOKS - 1)));
        // The best that reaches the weight is kept by the judge.
        let Ok(_) = golden(|rate| Ok::<f64, Infallible>(judge(rate, solved)), low, high, NARROWINGS);
        match best {
            Some((_, added, rate)) => self.reached(Unknown::Added { rate }, added, solved),
            // Nothing within reach at any taper: the plain change of thickness says why.
            None => match self.reached(Unknown::Added { rate: 0.0 }, 0.0, solved) {
                Err(fault) => Err(fault),
                Ok(found) => last_fault.map_or(Ok(found), Err),
            },
        }
    }

    /// Thickness added, taper added, weight and unevenness of the change that gives the weight, or the clear answer that none does.
    fn reached(&self, unknown: Unknown, guess: f64, solved: &mut usize) -> Result<(f64, f64, f64, f64), Diagnostic> {
        match self.search(unknown, guess, CLOSE, solved)? {
            WeightSearch::At { x, weight_n, unevenness } => {
                let (added, rate) = unknown.pair(x);
                Ok((added, rate, weight_n, unevenness))
            }
            WeightSearch::Stopped { limit, weight_n } => Err(self.out_of_reach(unknown, &limit, weight_n)),
        }
    }

    /// Secants on ln F over the unknown, within its limits.
    fn search(&self, unknown: Unknown, guess: f64, close: f64, solved: &mut usize) -> Result<WeightSearch, Diagnostic> {
        let [low, high] = self.limits(unknown);
        let mut last = [f64::NAN; 2];
        let mut miss = |x: f64| -> Result<f64, Diagnostic> {
            let (added, rate) = unknown.pair(x);
            *solved += 1;
            let (weight_n, unevenness) = self.judge(added, rate)?;
            last = [weight_n, unevenness];
            Ok((weight_n / self.wanted_n).ln())
        };
        if high.at < low.at {
            miss(0.0)?;
            return Ok(WeightSearch::Stopped { limit: low, weight_n: last[0] });
        }
        // First by the cube rule: the stack's depth sets how much a change counts, a taper about half its thickness at the tip.
        // Force rises with thickness and falls with taper.
        let depth = self.build.dry_stack_mm(0.0).max(1e-3);
        let slope = match unknown {
            Unknown::Added { .. } => 3.0 / depth,
            Unknown::Rate { .. } => -1.5 * self.build.laminations[self.change[0]].to_mm / depth,
        };
        let how = Secant { start: guess, slope, within: [low.at, high.at], close, min_step: 1e-12, max: MAX_SECANTS };
        let end = secant(&mut miss, how)?;
        let [weight_n, unevenness] = last;
        match end {
            SecantEnd::Root(root) => Ok(WeightSearch::At { x: root.x, weight_n, unevenness }),
            // At the limit itself, and as near to the weight as any scale can tell.
            SecantEnd::Held { at, .. } if at.residual.abs() <= TELLABLE => Ok(WeightSearch::At { x: at.x, weight_n, unevenness }),
            // Held by a limit with the weight still to the same side.
            SecantEnd::Held { upper, .. } => Ok(WeightSearch::Stopped { limit: if upper { high } else { low }, weight_n }),
            SecantEnd::NotConverged(_) => {
                let message = message!(
                    "sizing did not settle: {} against {} wanted after {} tries",
                    newtons(weight_n),
                    newtons(self.wanted_n),
                    MAX_SECANTS
                );
                Err(Diagnostic::fault(Place::new("sizing"), message).hint("start from a stack that draws nearer to the weight"))
            }
        }
    }

    fn with(&self, added: f64, rate: f64) -> Result<Build, Diagnostic> {
        let mut build = self.build.clone();
        for (k, index) in self.change.iter().enumerate() {
            let old = &self.build.laminations[*index];
            let by_mm = self.base_mm[k] + self.fractions[k] * added + self.parts[k] * rate * self.turns_mm[k];
            build.laminations[*index] = changed(old, by_mm, self.parts[k] * rate).map_err(|_| {
                Diagnostic::fault(old.place.clone(), message!("`{}` cannot be changed by {}", old.name, mm(by_mm)))
                    .hint("start from a stack that draws nearer to the weight")
            })?;
        }
        Ok(build)
    }

    /// Weight at full draw, and the coefficient of variation of the surface strain along the working limb.
    fn judge(&self, added: f64, rate: f64) -> Result<(f64, f64), Diagnostic> {
        self.judge_build(&self.with(added, rate)?)
    }

    fn judge_build(&self, build: &Build) -> Result<(f64, f64), Diagnostic> {
        let bow = Bow::of(build, &self.options)?;
        let (start, half) = draw::start(&bow, &self.options)?;
        let full = bow.grip_depth_mm + bow.full_draw_mm(&self.options)?;
        let end = strung::reach(&bow.limb, half, &start, full).map_err(|trouble| draw::fault(&bow, &self.options, trouble))?;
        let feather = build.limb_from_mm();
        let outer = feather + OUTER * (bow.stack.outline().nock_mm() - feather);
        let trace = bow.limb.string_trace(end.tension_n, end.nock_angle_rad);
        let strain: Vec<(f64, f64)> = bow
            .limb
            .stations
            .iter()
            .zip(&trace.at)
            .filter(|(station, _)| feather <= station.inside_mm && station.inside_mm <= outer)
            .map(|(station, bent)| {
                let here = bow.stack.properties(station.inside_mm, station.s_mm);
                let far = here.neutral_mm.max(here.depth_mm - here.neutral_mm);
                (station.s_mm, bent.bend_per_mm.abs() * far)
            })
            .collect();
        Ok((end.force_n, variation(&strain)))
    }
}

/// Of each lamination that may change: what it needs to have its share of the stack as it is, mm, and its share of what is added to the stack.
fn fractions(build: &Build, change: &[usize], parts: &[f64], limits: &[SizingLimit]) -> Result<(Vec<f64>, Vec<f64>), Diagnostic> {
    let wanted: Vec<Option<f64>> = change
        .iter()
        .map(|index| limits.iter().find(|limit| limit.lamination == *index).and_then(|limit| limit.fraction))
        .collect();
    let s = build.limb_from_mm();
    let stack_mm = build.dry_stack_mm(s);
    let base: Vec<Option<f64>> = change
        .iter()
        .zip(&wanted)
        .map(|(index, fraction)| fraction.map(|fraction| fraction * stack_mm - build.laminations[*index].thickness_at(s)))
        .collect();
    let (moved, taken) = (base.iter().flatten().sum::<f64>(), wanted.iter().flatten().sum::<f64>());
    let others: f64 = parts.iter().zip(&wanted).filter(|(_, fraction)| fraction.is_none()).map(|(part, _)| part).sum();
    if others <= 0.0 && 0.0 < taken {
        return Err(Diagnostic::fault(
            Place::new("sizing.limits"),
            "every lamination that may change has its share: nothing is left to change",
        )
        .hint("name another lamination in `change` that takes what is left"));
    }
    let base_mm = base.iter().zip(parts).map(|(base, part)| base.unwrap_or(-moved * part / others)).collect();
    let fractions = wanted.iter().zip(parts).map(|(fraction, part)| fraction.unwrap_or((1.0 - taken) * part / others)).collect();
    Ok((base_mm, fractions))
}

/// Coefficient of variation over the length, by the trapezoid.
fn variation(values: &[(f64, f64)]) -> f64 {
    let (mut length, mut first, mut second) = (0.0, 0.0, 0.0);
    for pair in values.windows(2) {
        let h = pair[1].0 - pair[0].0;
        length += h;
        first += 0.5 * h * (pair[0].1 + pair[1].1);
        second += 0.5 * h * (pair[0].1 * pair[0].1 + pair[1].1 * pair[1].1);
    }
    let mean = first / length;
    (second / length - mean * mean).max(0.0).sqrt() / mean
}

/// Index of the least value.
fn least(values: &[f64]) -> usize {
    super::strain::greatest(values.iter().map(|value| -value))
}
