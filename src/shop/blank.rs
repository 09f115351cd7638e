//! From blank to bow: what it will draw once trimmed to its outline, and what to take off, where and in which order.
//!
//! The stack as calibrated by the blank's own weight ([`crate::mechanics::blank`]) is trimmed to the outline in the model and drawn.
//! What it draws beyond the target and its finishing allowance is taken off in steps, each followed by another reading:
//!
//! | lever | what is taken | why the tiller stays |
//! |---|---|---|
//! | belly | a share `x` of the stack's thickness, `x · t(s)`, off the belly | EI falls in about the same proportion everywhere |
//! | sides | a share `y` of the width, half of it off each edge | EI falls by exactly `1 − y` where the share is whole |
//!
//! Both shares rise from nothing at the riser's feather to the whole over [`RUN_IN_MM`], so that the fades stay as they are. The belly goes first:
//! it eases the strain as well, and the sides are kept for the last pounds; a belly face that is to be kept ([`lever()`]: glass,
//! bamboo's outer face, a show face) leaves the sides alone, and corners are rounded for the last of it. Limits: [`BELLY_STAYS`]
//! of the belly lamination, [`SIDES_STAY`] of the width, and no tip narrower than [`TIP_MM`]; all three are proposals of ours, no
//! source. What lies beyond them is said and not planned.
//!
//! A blank that is too light has two ways left: to stay wider than the outline, as far as its wood reaches, or to become shorter.

mod lever;
mod limbs;

pub use lever::{BELLY_STAYS, Corners, WoodLever, kept_because, lever, limits, rounded};

use crate::diag::{Diagnostic, Outcome, Place, Reported};
use crate::mechanics::blank::with_width;
use crate::mechanics::bow::Options;
use crate::mechanics::sensitivity;
use crate::mechanics::weigher::{OtherLimb, Weigher};
use crate::model::Build;
use crate::model::log::BlankWidth;
use crate::model::taper::Taper;
use crate::numeric::interp::{Between, Curve};
use crate::numeric::root::{self, RootFault, Secant, SecantEnd, secant};
use crate::units::limit;
use limbs::{Limbs, WeightFn, max_sides};

/// One step of the work; weigh the bow again after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    pub lever: WoodLever,
    /// Share of the stack's thickness or of the width that is off after this step.
    pub fraction: f64,
    /// All that is off the belly then, where the stack is thickest, mm; `None` where this step takes none of it.
    pub belly_off_mm: Option<f64>,
    /// Of what it takes the most, mm.
    pub most_mm: f64,
    /// To be taken in this step: off the belly, or off each edge.
    pub takes: Vec<TakeAt>,
    /// Weight before and after, N.
    pub from_n: f64,
    pub to_n: f64,
}

/// What comes off at one station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TakeAt {
    pub s_mm: f64,
    pub take_mm: f64,
}

/// The way from the trimmed blank to the weight wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Removal {
    /// Trimmed to the outline, nothing else taken off, N.
    pub trimmed_n: f64,
    /// The target and its finishing allowance, N.
    pub wanted_n: f64,
    /// In the order of the work; empty where nothing has to go.
    pub steps: Vec<Step>,
    /// What the last step leaves, N: the weight wanted, or the least that the limits allow.
    pub reached_n: f64,
    /// The share of the width that alone would do instead of the belly, where the limit allows it.
    pub sides_alone: Option<f64>,
    /// Weight lost per mm off the belly at its thickest working place, and per mm off the whole width there, N/mm.
    pub belly_n_per_mm: Option<f64>,
    pub sides_n_per_mm: f64,
    /// What rounded corners take once the steps are done.
    pub corners: Corners,
    /// Ways to more weight, where it is too light.
    pub gains: Vec<Gain>,
}

/// A way to more weight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Gain {
    /// The outline stays wider by this share, up to what the blank has.
    Wider { fraction: f64, to_n: f64 },
    /// The bow becomes shorter from nock to nock by this much, at the same draw length, mm.
    Shorter { by_mm: f64, to_n: f64 },
}

/// The share of the width that must stay. Less, and limbs begin to twist.
pub const SIDES_STAY: f64 = 0.8;
/// Narrower tips have no room for nocks: 3/8 in, mm.
pub const TIP_MM: f64 = 9.525;
/// From the riser's feather to where the whole share is taken, mm: a shorter one makes a hinge, a longer one moves the bend outward.
pub const RUN_IN_MM: f64 = 75.0;
/// The most weight to take before weighing again, as a share of the weight wanted: wood does not forgive more.
const MAX_STEP: f64 = 0.08;
/// Nearer to the weight wanted than this nothing is planned, as a share: scales show no less.
pub const NEAR: f64 = 0.01;
/// The most that a bow is shortened, mm: more is another bow.
const SHORTEN_MM: f64 = 50.0;
/// The most that an outline may stay wider than drawn.
const WIDEN: f64 = 0.25;

/// A blank as it stands before the work.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stand<'a> {
    /// Its width now; `None` for the outline's.
    pub width: Option<&'a BlankWidth>,
    /// Off the belly beyond the fades already, where the stack is thickest, mm.
    pub belly_off_mm: f64,
}

impl Stand<'_> {
    /// The share of the stack's thickness that is off the belly.
    pub fn fraction(&self, build: &Build) -> f64 {
        self.belly_off_mm / thickest_mm(build).max(1e-9)
    }

    /// The build as the blank stands: its own width, and what is off its belly.
    pub fn of(&self, build: &Build) -> Result<Build, Diagnostic> {
        self.thinned(self.width.map_or_else(|| build.clone(), |width| with_width(build, width)))
    }

    /// The build trimmed to the outline, with what is off its belly; edges that lie inside the outline already stay there.
    pub fn trimmed(&self, build: &Build) -> Result<Build, Diagnostic> {
        self.thinned(trimmed(build, self.width))
    }

    /// The other limb of a bow, of which `own` is the limb that this is said of: laminations go by their names, and the same share is off.
    pub fn other_limb(&self, own: &Build, other: &Build) -> Result<Build, Diagnostic> {
        let blank = self.of_other(own, other).map_or_else(|| other.clone(), |width| with_width(other, &width));
        self.thinned_by(blank, self.fraction(own))
    }

    /// The same trimmed to the outline, as [`Stand::trimmed`].
    pub fn other_trimmed(&self, own: &Build, other: &Build) -> Result<Build, Diagnostic> {
        self.thinned_by(trimmed(other, self.of_other(own, other).as_ref()), self.fraction(own))
    }

    /// The width as the other limb has it.
    fn of_other(&self, own: &Build, other: &Build) -> Option<BlankWidth> {
        Some(match self.width? {
            BlankWidth::Each(each) => {
                let there = |name: &str| other.laminations.iter().position(|lamination| lamination.name == name);
                let named = each.iter().filter_map(|(index, width)| Some((there(&own.laminations[*index].name)?, width.clone())));
                BlankWidth::Each(named.collect())
            }
            width => width.clone(),
        })
    }

    fn thinned(&self, build: Build) -> Result<Build, Diagnostic> {
        let fraction = self.fraction(&build);
        self.thinned_by(build, fraction)
    }

    fn thinned_by(&self, build: Build, fraction: f64) -> Result<Build, Diagnostic> {
        match build.laminations.len().checked_sub(1) {
            Some(lamination) if 0.0 < self.belly_off_mm => thinned(&build, lamination, fraction),
            _ => Ok(build),
        }
    }
}

/// Plans the way of a calibrated blank; `options` carry its stiffness and its unstrung shape, `stations_mm` are where amounts are stated. Beside a
/// different limb both lose the same shares, so that the tiller stays, and amounts are this limb's; `None` for two alike.
pub fn plan_beside(
    build: &Build,
    options: &Options,
    other: Option<OtherLimb<'_>>,
    stand: Stand<'_>,
    stations_mm: &[f64],
) -> Outcome<Removal> {
    removal(build, options, other, stand, stations_mm).map(Reported::clean).map_err(|fault| vec![fault])
}

fn removal(
    whole: &Build,
    options: &Options,
    other: Option<OtherLimb<'_>>,
    stand: Stand<'_>,
    stations_mm: &[f64],
) -> Result<Removal, Diagnostic> {
    let Some(target) = whole.target else {
        return Err(Diagnostic::fault(Place::new("target"), "there is no target to bring the blank to")
            .hint("give `draw_weight`, `draw_length` and `brace_height` under [target]"));
    };
    let weight = |limbs: &Limbs| limbs.weight_n(options, other);
    let wanted_n = target.stack_weight_n();
    // Where one limb's belly is kept, the other's is, too: taken off one alone, it would turn the bow over.
    let kept = other.is_some_and(|other| lever(other.build) == WoodLever::Sides);
    let first = if kept { WoodLever::Sides } else { lever(whole) };
    let whole = &Limbs { own: whole.clone(), other: other.map(|other| other.build.clone()) };
    let trimmed_limbs = &Limbs {
        own: trimmed(&whole.own, stand.width),
        other: whole.other.as_ref().map(|other| trimmed(other, stand.of_other(&whole.own, other).as_ref())),
    };
    let build = &trimmed_limbs.own;
    let off = stand.fraction(build);
    let start = if 0.0 < off { trimmed_limbs.thinned(off)? } else { trimmed_limbs.clone() };
    let trimmed_n = weight(&start)?;
    let sides_n_per_mm = {
        let fraction = 0.02;
        let widest = widest_mm(build);
        (trimmed_n - weight(&start.narrowed(fraction))?) / (fraction * widest)
    };
    let belly_n_per_mm = match first {
        WoodLever::Belly { .. } => {
            let fraction = 0.01;
            let thickest = thickest_mm(build);
            Some((trimmed_n - weight(&trimmed_limbs.thinned(off + fraction)?)?) / (fraction * thickest))
        }
        WoodLever::Sides => None,
    };
    let mut removal = Removal {
        trimmed_n,
        wanted_n,
        steps: Vec::new(),
        reached_n: trimmed_n,
        sides_alone: None,
        belly_n_per_mm,
        sides_n_per_mm,
        corners: corners(&start, &weight, trimmed_n)?,
        gains: Vec::new(),
    };
    if trimmed_n < wanted_n * (1.0 - NEAR) {
        removal.gains = gains(&start, options, other, stand, wanted_n)?;
        return Ok(removal);
    }
    if trimmed_n <= wanted_n * (1.0 + NEAR) {
        return Ok(removal);
    }
    if first != WoodLever::Sides {
        removal.sides_alone =
            share_for(wanted_n, 0.0, max_sides(whole, trimmed_limbs), |fraction| weight(&start.narrowed(fraction)))?;
    }
    let excess = trimmed_n - wanted_n;
    let count = (excess / (MAX_STEP * wanted_n)).ceil().clamp(1.0, 40.0) as u32;
    let goals: Vec<f64> = (1..=count).map(|k| trimmed_n - excess * f64::from(k) / f64::from(count)).collect();
    let mut levers = Vec::new();
    if first != WoodLever::Sides {
        let last = |build: &Build| max_belly(build, build.laminations.len().saturating_sub(1));
        levers.push((first, off, trimmed_limbs.least(last).max(off)));
    }
    levers.push((WoodLever::Sides, 0.0, max_sides(whole, trimmed_limbs)));
    // The belly is thinned from the whole stack, the sides are narrowed from what the belly's work leaves.
    let mut base = if first == WoodLever::Sides { start } else { trimmed_limbs.clone() };
    let mut goals = goals.into_iter().peekable();
    for (lever, done, most) in levers {
        let worked = |fraction: f64| match lever {
            WoodLever::Belly { .. } => base.thinned(fraction),
            WoodLever::Sides => Ok(base.narrowed(fraction)),
        };
        let min_n = weight(&worked(most)?)?;
        let mut done = done;
        while let Some(goal) = goals.peek().copied() {
            // The rest of this goal is the next lever's.
            let (fraction, to_n) = if min_n <= goal {
                let Some(fraction) = share_for(goal, done, most, |fraction| weight(&worked(fraction)?))? else { break };
                goals.next();
                (fraction, goal)
            } else {
                (most, min_n)
            };
            if done + MIN_FRACTION < fraction {
                let take = |s: f64| match lever {
                    WoodLever::Belly { .. } => (fraction - done) * ramp(build, s) * build.dry_stack_mm(s),
                    WoodLever::Sides => 0.5 * (width(&base.own, done, s) - width(&base.own, fraction, s)),
                };
                let takes: Vec<TakeAt> = stations_mm.iter().map(|s| TakeAt { s_mm: *s, take_mm: take(*s) }).collect();
                let (belly_off_mm, most_mm) = match lever {
                    WoodLever::Belly { .. } => (Some(fraction * thickest_mm(build)), (fraction - done) * thickest_mm(build)),
                    WoodLever::Sides => (None, takes.iter().map(|place| place.take_mm).fold(0.0, f64::max)),
                };
                removal.steps.push(Step { lever, fraction, belly_off_mm, most_mm, takes, from_n: removal.reached_n, to_n });
                removal.reached_n = to_n;
            }
            done = fraction;
            if goal < min_n {
                break;
            }
        }
        base = worked(done)?;
        if goals.peek().is_none() {
            break;
        }
    }
    removal.corners = corners(&base, &weight, removal.reached_n)?;
    Ok(removal)
}

/// What rounding its corners takes of a bow that draws `weight_n`.
fn corners(limbs: &Limbs, weight: &WeightFn<'_>, weight_n: f64) -> Result<Corners, Diagnostic> {
    let radius_mm = limbs.least(lever::radius_mm);
    Ok(Corners { radius_mm, takes_n: weight_n - weight(&limbs.worked(&|build| rounded(build, radius_mm))?)? })
}

/// What a trimmed bow that draws too much would have to lose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Heavy {
    /// More than the weight wanted, N.
    pub excess_n: f64,
    /// Off the belly where it is most, mm; `None` where the belly is kept or its limit comes first.
    pub belly_mm: Option<f64>,
    /// Or this share of the width; `None` where its limit comes first.
    pub sides_share: Option<f64>,
}

/// The answers ahead of any reading, for a bow that comes out too heavy by each of these excesses because its wood is stiffer. Beside a different
/// limb both lose the same share, so that the tiller stays; `None` for two alike.
pub fn heavy_beside(
    build: &Build,
    options: &Options,
    other: Option<OtherLimb<'_>>,
    excesses_n: &[f64],
) -> Result<Vec<Heavy>, Diagnostic> {
    let Some(target) = build.target else { return Ok(Vec::new()) };
    let wanted_n = target.stack_weight_n();
    let mut weigher = Weigher::beside(options, other);
    let now_n = weigher.weight_n(build)?;
    // Force is in proportion to stiffness, so that what a share takes of the weight, as a ratio, is the same for stiffer wood.
    let mut fractions =
        |max: f64, work: &dyn Fn(&Build, f64) -> Result<Build, Diagnostic>| -> Result<Vec<Option<f64>>, Diagnostic> {
            let mut left = |fraction: f64| Ok((weigher.worked_n(build, &|build| work(build, fraction))? / now_n).ln());
            let least = left(max)?;
            let mut start = 0.0;
            let found = excesses_n.iter().map(|excess_n| {
                let goal = (wanted_n / (wanted_n + excess_n)).ln();
                if goal < least {
                    return Ok(None);
                }
                let within = [0.0, max];
                let how = Secant { start, slope: least / max, within, close: 1e-8, min_step: 1e-12, max: MAX_SECANTS };
                let SecantEnd::Root(root) = secant(|fraction| Ok(left(fraction)? - goal), how)? else { return Ok(None) };
                start = root.x;
                Ok(Some(root.x))
            });
            found.collect()
        };
    // Where one limb's belly is kept, the other's is, too: taken off one alone, it would turn the bow over.
    let bellies = std::iter::once(build).chain(other.map(|other| other.build)).map(|build| match lever(build) {
        WoodLever::Belly { lamination } => Some(max_belly(build, lamination)),
        WoodLever::Sides => None,
    });
    let off_belly = |build: &Build, fraction: f64| match lever(build) {
        WoodLever::Belly { lamination } => thinned(build, lamination, fraction),
        WoodLever::Sides => Ok(build.clone()),
    };
    let most = bellies.reduce(|a, b| Some(a?.min(b?))).flatten();
    let belly = match most {
        Some(most) => fractions(most, &off_belly)?,
        None => vec![None; excesses_n.len()],
    };
    let sides = fractions(1.0 - SIDES_STAY, &|build, fraction| Ok(narrowed(build, fraction)))?;
    let rows = excesses_n.iter().zip(belly.into_iter().zip(sides));
    Ok(rows
        .map(|(excess_n, (belly, sides_share))| Heavy {
            excess_n: *excess_n,
            belly_mm: belly.map(|fraction| fraction * thickest_mm(build)),
            sides_share,
        })
        .collect())
}

/// Secants for one share: four are usual.
const MAX_SECANTS: usize = 30;

/// A share smaller than this is no work: some micrometres.
const MIN_FRACTION: f64 = 5e-4;

/// The share from `least` on at which the weight has come down to `goal`; `None` if it does not by `most`.
fn share_for(
    goal_n: f64,
    least: f64,
    most: f64,
    weight: impl Fn(f64) -> Result<f64, Diagnostic>,
) -> Result<Option<f64>, Diagnostic> {
    if goal_n < weight(most)? {
        return Ok(None);
    }
    match root::fallible_bracketed(|fraction| Ok((weight(fraction)? / goal_n).ln()), least, most, 1e-7, 60) {
        Ok(found) => Ok(Some(found.x)),
        Err(RootFault::Function(fault)) => Err(fault),
        Err(RootFault::Bracket(_)) => Ok(None),
    }
}

fn gains(
    limbs: &Limbs,
    options: &Options,
    other: Option<OtherLimb<'_>>,
    stand: Stand<'_>,
    wanted_n: f64,
) -> Result<Vec<Gain>, Diagnostic> {
    let weight = |limbs: &Limbs| limbs.weight_n(options, other);
    let mut gains = Vec::new();
    if let Some(blank) = stand.width {
        let room_of = |build: &Build, blank: &BlankWidth| {
            let Some(outline) = &build.outline else { return 0.0 };
            let wide = with_width(build, blank);
            working(build).map(|s| narrowest_at(&wide, s) / outline.width_at(s) - 1.0).fold(WIDEN, f64::min)
        };
        let of_other = limbs.other.iter().filter_map(|other| Some(room_of(other, &stand.of_other(&limbs.own, other)?)));
        let room = of_other.fold(room_of(&limbs.own, blank), f64::min);
        if MIN_FRACTION < room {
            // Widening is narrowing by a negative share: as wide as it goes, or where the weight comes down to what is wanted.
            let most = weight(&limbs.narrowed(-room))?;
            let enough = if most <= wanted_n {
                None
            } else {
                share_for(wanted_n, -room, 0.0, |fraction| weight(&limbs.narrowed(fraction)))?
            };
            let fraction = enough.map_or(room, |fraction| -fraction);
            gains.push(Gain::Wider { fraction, to_n: weight(&limbs.narrowed(-fraction))? });
        }
    }
    let per_mm_of = |build: &Build, options: &Options, other: Option<OtherLimb<'_>>| {
        sensitivity::beside(build, options, other, None)
            .map_err(|mut faults| faults.remove(0))
            .map(|found| found.value.n_per_mm_length)
    };
    // Both limbs become shorter.
    let per_mm = match other.zip(limbs.other.as_ref()) {
        None => per_mm_of(&limbs.own, options, None)?,
        Some((limb, build)) => {
            let own = OtherLimb { is: limb.is.other(), build: &limbs.own, options };
            per_mm_of(&limbs.own, options, Some(OtherLimb { build, ..limb }))? + per_mm_of(build, limb.options, Some(own))?
        }
    };
    if per_mm < 0.0 {
        let now = weight(limbs)?;
        let by_mm = ((wanted_n - now) / -per_mm).min(SHORTEN_MM);
        gains.push(Gain::Shorter { by_mm, to_n: now - per_mm * by_mm });
    }
    Ok(gains)
}

/// Trimmed to the outline, but no wider than the blank where that lies inside it.
fn trimmed(build: &Build, width: Option<&BlankWidth>) -> Build {
    let (Some(width), Some(outline)) = (width, &build.outline) else { return build.clone() };
    let blank = with_width(build, width);
    // A width inside the outline anywhere, cut off at the outline elsewhere.
    let inside = |own: &Curve| {
        let corners: Vec<f64> = outline.width.points().iter().chain(own.points()).map(|point| point.0).collect();
        let stations: Vec<f64> = places(0.0, outline.end_mm(), &corners).collect();
        let narrow = stations.iter().any(|s| own.at(*s) < outline.width_at(*s) - 1e-6);
        let points = || stations.iter().map(|s| (*s, own.at(*s).min(outline.width_at(*s)))).collect();
        narrow.then(|| Curve::through(points(), Between::Straight).ok()).flatten()
    };
    let mut trimmed = build.clone();
    if let (BlankWidth::Whole(own), Some(outline)) = (width, &mut trimmed.outline) {
        outline.width = inside(own).unwrap_or_else(|| outline.width.clone());
    }
    for (lamination, own) in trimmed.laminations.iter_mut().zip(&blank.laminations) {
        lamination.own_width = own.own_width.as_ref().and_then(inside);
    }
    trimmed
}

/// The narrowest lamination at a station, mm.
fn narrowest_at(build: &Build, s: f64) -> f64 {
    let outline_mm = build.outline.as_ref().map_or(0.0, |outline| outline.width_at(s));
    let there = build.laminations.iter().filter(|lamination| lamination.from_mm <= s && s <= lamination.to_mm);
    let full = there.map(|lamination| lamination.own_width.as_ref().map_or(outline_mm, |own| own.at(s)));
    full.reduce(f64::min).unwrap_or(outline_mm)
}

/// The share of the stack at which only [`BELLY_STAYS`] of the belly lamination is left somewhere.
fn max_belly(build: &Build, lamination: usize) -> f64 {
    let most = |s: f64| (1.0 - BELLY_STAYS) * build.laminations[lamination].thickness_at(s) / build.dry_stack_mm(s).max(1e-9);
    working(build).map(most).fold(0.5, f64::min)
}

/// The share of the width now at which only [`SIDES_STAY`] of the design's is left somewhere.
fn max_sides_of(design: &Build, now: &Build) -> f64 {
    let full = |s: f64| design.outline.as_ref().map_or(0.0, |outline| outline.width_at(s));
    working(design).map(|s| 1.0 - SIDES_STAY * full(s) / narrowest_at(now, s).max(1e-9)).fold(1.0 - SIDES_STAY, f64::min).max(0.0)
}

/// The build with a share of its stack's thickness off the belly of a lamination.
pub fn thinned(build: &Build, lamination: usize, fraction: f64) -> Result<Build, Diagnostic> {
    let mut thinner = build.clone();
    let old = &build.laminations[lamination];
    let points = places(old.from_mm, old.to_mm, &old.finished.corners().collect::<Vec<_>>())
        .map(|s| (s, old.finished.at(s) - fraction * ramp(build, s) * build.dry_stack_mm(s)))
        .collect();
    let finished = Taper::stations(points, Between::Straight)
        .map_err(|fault| Diagnostic::fault(old.place.clone(), format!("no taper is left of `{}`: {fault:?}", old.name)))?;
    thinner.laminations[lamination].finished = finished;
    Ok(thinner)
}

/// The build with a share of its width off, half from each edge; a negative share leaves it wider.
pub fn narrowed(build: &Build, fraction: f64) -> Build {
    scaled(build, |s, full| narrower(build, fraction, s, full))
}

/// The build with other widths: station and full width to width, mm.
fn scaled(build: &Build, width: impl Fn(f64, f64) -> f64) -> Build {
    let mut scaled = build.clone();
    let Some(outline) = &mut scaled.outline else { return scaled };
    let end_mm = outline.end_mm();
    let own = scaled.laminations.iter_mut().filter_map(|lamination| lamination.own_width.as_mut());
    for full in std::iter::once(&mut outline.width).chain(own) {
        let corners: Vec<f64> = full.points().iter().map(|point| point.0).collect();
        let points = places(0.0, end_mm, &corners).map(|s| (s, width(s, full.at(s)))).collect();
        // Rising places and finite widths make a curve.
        if let Ok(curve) = Curve::through(points, Between::Straight) {
            *full = curve;
        }
    }
    scaled
}

/// The outline's width at a station with a share of it off, mm.
fn width(build: &Build, fraction: f64, s: f64) -> f64 {
    narrower(build, fraction, s, build.outline.as_ref().map_or(0.0, |outline| outline.width_at(s)))
}

/// A width at a station with a share of it off, mm: no narrower than [`TIP_MM`], where it was not.
fn narrower(build: &Build, fraction: f64, s: f64, full_mm: f64) -> f64 {
    let narrow_mm = full_mm * (1.0 - fraction * ramp(build, s));
    if 0.0 < fraction { narrow_mm.max(full_mm.min(TIP_MM)) } else { narrow_mm }
}

/// The share of the share that is taken at a station: nothing up to the feather, all of it beyond the run-in; smooth at both ends.
fn ramp(build: &Build, s: f64) -> f64 {
    let t = ((s - build.limb_from_mm()) / RUN_IN_MM).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// Stations along the whole of a lamination or outline, close enough for a smooth run-in, with its own corners.
fn places(from_mm: f64, to_mm: f64, corners: &[f64]) -> impl Iterator<Item = f64> {
    const STEP_MM: f64 = 12.0;
    let count = ((to_mm - from_mm) / STEP_MM).ceil().max(1.0) as usize;
    let mut all: Vec<f64> = (0..=count).map(|k| from_mm + (to_mm - from_mm) * k as f64 / count as f64).collect();
    all.extend(corners.iter().filter(|s| from_mm < **s && **s < to_mm));
    limit::places_once(&mut all);
    all.into_iter()
}

/// Stations of the limb that works, from the end of the run-in to the nock, mm.
fn working(build: &Build) -> impl Iterator<Item = f64> {
    let (from, to) = (build.limb_from_mm() + RUN_IN_MM, build.nock_mm());
    (0..=20).map(move |k| from + (to - from) * f64::from(k) / 20.0)
}

fn thickest_mm(build: &Build) -> f64 {
    working(build).map(|s| build.dry_stack_mm(s)).fold(0.0, f64::max)
}

fn widest_mm(build: &Build) -> f64 {
    build.outline.as_ref().map_or(0.0, |outline| working(build).map(|s| outline.width_at(s)).fold(0.0, f64::max))
}
