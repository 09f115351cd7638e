//! The ways in which each sled of a build can be made, side by side. None is judged by the formula that laid it out: each is written into
//! the build file's text, planned, its cut files read back, and the strips ground on what stands in them, less what the roller presses
//! it down.

use super::sleds::SharedSled;
use super::{Job, Unread, cut};
use crate::buildfile::edit::quoted;
use crate::diag::{Diagnostic, Place, sentence};
use crate::model::lamination::Lamination;
use crate::model::workshop::{SledMake, SledPlan, SledStock, StripOn};
use crate::numeric::span::Span;
use crate::report::sleds::{OneCarrierRow, SledEffort, SledKeys, SledWay, SledWays, SledsAnswer};
use crate::shop::effort::{self, Effort, hours};
use crate::shop::{cutting, proof};
use crate::units::published::round;
use crate::units::{System, fixed, limit, trim_zeros};

/// A sled is worth a word unasked where it takes no more than this share of the time: nearer ones are a matter of taste.
const MUCH_LESS: f64 = 0.6;

/// What strips come out as on the sleds that one way gives, and what those take.
struct WayTrial {
    effort: Effort,
    sag_mm: f64,
    /// Thickness less target where they differ most, mm.
    off_mm: f64,
    holds: bool,
    /// Sleds to be made for it.
    sleds: u32,
}

/// Keys to be written, with what they go into: a lamination by its number, or `[sled]`.
type KeyEdits = Vec<(Option<usize>, &'static str, String)>;

/// All sleds, each in every way.
pub(super) fn of(job: &Job) -> SledsAnswer {
    let groups = groups(job);
    let sleds = groups.iter().filter_map(|served| ways(job, served)).collect();
    SledsAnswer {
        title: job.build.title.clone(),
        hours_from: effort::SOURCE.into(),
        one_carrier: if 1 < groups.len() { one_carrier(job, &groups.concat()) } else { None },
        sleds,
    }
}

/// For each sled of a make that is cut from sheet, which board would do in much less time, in words. No file is cut for that.
pub(super) fn much_simpler(job: &Job) -> Vec<String> {
    let build = &job.build;
    let tell = |served: Vec<usize>| {
        let lamination = &build.laminations[served[0]];
        let plan = build.sled_for(lamination)?;
        let kit = job.ground(served[0]).ok()??.kit.as_ref().filter(|kit| kit.is_cut())?;
        let cuts = cutting::together(build, &[(lamination, plan, kit)], &[]).ok()?;
        let now = Effort::of(kit, cuts.iter().map(|cut| cut.loads.len()).sum(), &build.shop.cutter).minutes;
        let boards = SledMake::ALL.into_iter().filter(|make| make.any_height());
        let simpler = boards.filter_map(|make| {
            let tried = tried(&written(job, &keys(job, &served, make)).ok()?, &served).ok()?;
            (tried.holds && middle(tried.effort.minutes) <= MUCH_LESS * middle(now)).then_some((make, tried.effort.minutes))
        });
        let (make, minutes) = simpler.min_by(|a, b| middle(a.1).total_cmp(&middle(b.1)))?;
        Some(format!(
            "{} would do for {}: {} instead of {}",
            make.traits().what,
            names(job, &served).join(", "),
            hours(minutes),
            hours(now)
        ))
    };
    groups(job).into_iter().filter_map(tell).collect()
}

fn middle(minutes: Span) -> f64 {
    0.5 * (minutes.min + minutes.max)
}

/// Laminations that lie on one sled, its own first; each alone whose sled cannot be made as the file asks.
fn groups(job: &Job) -> Vec<Vec<usize>> {
    let build = &job.build;
    let of_sled = |sled: &SharedSled| {
        let own = sled.cut_from.lamination;
        let others = sled.serves.iter().map(|strip| strip.lamination).filter(|other| *other != own);
        [own].into_iter().chain(others).collect::<Vec<_>>()
    };
    let mut groups: Vec<Vec<usize>> = job.sleds().iter().map(of_sled).collect();
    let needs_one = |lamination: &Lamination| {
        build.sander.is_some() && !lamination.ground && !lamination.is_parallel() && build.sled_for(lamination).is_some()
    };
    let others: Vec<usize> = (0..build.laminations.len())
        .filter(|index| needs_one(&build.laminations[*index]) && !groups.iter().any(|group| group.contains(index)))
        .collect();
    groups.extend(others.into_iter().map(|index| vec![index]));
    groups.sort_by_key(|group| group.iter().min().copied());
    groups
}

fn names(job: &Job, served: &[usize]) -> Vec<String> {
    served.iter().map(|index| job.build.laminations[*index].name.clone()).collect()
}

fn ways(job: &Job, served: &[usize]) -> Option<SledWays> {
    let build = &job.build;
    let lamination = &build.laminations[served[0]];
    let SledPlan { make, tolerance_mm, .. } = *build.sled_for(lamination)?;
    let mut ways: Vec<(SledMake, SledWay)> =
        SledMake::ALL.into_iter().map(|way| (way, one_way(job, served, way, make))).collect();
    let time = |way: &SledWay| way.takes.as_ref().map_or(f64::INFINITY, |takes| takes.time_s[0] + takes.time_s[1]);
    let tier = |way: &SledWay| if way.holds { 0 } else { 1 + u8::from(way.takes.is_none()) };
    ways.sort_by(|(_, a), (_, b)| tier(a).cmp(&tier(b)).then(time(a).total_cmp(&time(b))));
    Some(SledWays {
        lamination: lamination.name.clone(),
        serves: names(job, served),
        tolerance_mm: round(tolerance_mm),
        make: make.traits().word.into(),
        says: says(&ways, make, tolerance_mm, build.units),
        ways: ways.into_iter().map(|(_, way)| way).collect(),
    })
}

/// The simplest way that holds beside the one that the file asks for.
fn says(ways: &[(SledMake, SledWay)], chosen: SledMake, tolerance_mm: f64, units: System) -> String {
    let tolerance = format!("± {}", units.fine(tolerance_mm));
    let takes = |way: &SledWay| way.takes.as_ref().map_or(String::new(), in_words);
    let own = ways.iter().find(|(make, _)| *make == chosen);
    let (best, way) = &ways[0];
    let of_own = own.map_or(String::new(), |(_, own)| match (&own.takes, own.holds) {
        (None, _) => format!("; {}, as the build file asks, cannot be made", chosen.traits().what),
        (Some(_), false) => format!("; {}, as the build file asks, misses it", chosen.traits().what),
        (Some(_), true) => format!("; {}, as the build file asks: {}", chosen.traits().what, takes(own)),
    });
    let what = best.traits().what;
    sentence(&match (way.holds, *best == chosen) {
        (false, _) => format!("no way here holds {tolerance} under this roller{of_own}"),
        (true, true) => format!("{what}, as the build file asks, is the simplest that holds {tolerance}: {}", takes(way)),
        (true, false) => format!("{what} holds {tolerance}: {}{of_own}", takes(way)),
    })
}

/// Such as `2 parts, 1 to 1.5 h`.
fn in_words(takes: &SledEffort) -> String {
    let count = |n: u32, what: &str| format!("{n} {what}{}", if n == 1 { "" } else { "s" });
    let shims = if takes.shims == 0 { String::new() } else { format!(", {}", count(takes.shims, "shim")) };
    format!("{}{shims}, {}", count(takes.parts, "part"), takes.hours)
}

fn one_way(job: &Job, served: &[usize], make: SledMake, chosen: SledMake) -> SledWay {
    let units = job.build.units;
    let in_file = make == chosen;
    let keys = if in_file { KeyEdits::new() } else { keys(job, served, make) };
    let tried = written(job, &keys).map_err(|unread| unread.faults).and_then(|job| tried(&job, served));
    let why_not = tried.as_ref().err().map_or(&[][..], Vec::as_slice);
    SledWay {
        make: make.traits().word.into(),
        what: make.traits().what.into(),
        in_file,
        holds: tried.as_ref().is_ok_and(|tried| tried.holds),
        off_mm: tried.as_ref().ok().map(|tried| round(tried.off_mm)),
        takes: tried.as_ref().ok().map(|tried| takes(&tried.effort, tried.sag_mm)),
        reset_s: seconds(effort::SWAPPED),
        write: for_each(job, &keys),
        why_not: why_not.iter().map(|fault| fault.words(units).message).collect(),
    }
}

/// As it is published.
fn seconds(minutes: Span) -> [f64; 2] {
    minutes.times(60.0).pair().map(round)
}

fn takes(effort: &Effort, sag_mm: f64) -> SledEffort {
    SledEffort {
        parts: effort.parts,
        bed_loads: effort.bed_loads,
        sheet_mm2: round(effort.sheet_mm2),
        shims: effort.shims,
        shim_pieces: effort.shim_pieces,
        sag_mm: round(sag_mm),
        time_s: seconds(effort.minutes),
        hours: hours(effort.minutes),
    }
}

/// One carrier for all these laminations; `None` where it cannot be shimmed for each.
fn one_carrier(job: &Job, served: &[usize]) -> Option<OneCarrierRow> {
    let build = &job.build;
    let plan = |index: &usize| build.sled_for(&build.laminations[*index]);
    let is_shimmed = |index: &usize| plan(index).is_some_and(|plan| plan.make.traits().is_shimmed_carrier());
    let on_it = |index: &usize| is_shimmed(index) && plan(index).is_some_and(|plan| plan.one_carrier);
    let in_file = served.iter().all(on_it);
    let mut all = KeyEdits::new();
    if !in_file {
        let carrier = SledMake::ALL.into_iter().find(|make| make.traits().is_shimmed_carrier())?;
        let others: Vec<usize> = served.iter().copied().filter(|index| !is_shimmed(index)).collect();
        all.extend(keys(job, &others, carrier));
        all.push((None, "one_carrier", "true".into()));
    }
    let changed = written(job, &all).ok()?;
    let tried = tried(&changed, served).ok()?;
    let effort = tried.effort.on_one_carrier(tried.sleds);
    let max = |index: &usize| changed.ground(*index).ok().flatten()?.kit.as_ref().map(|kit| kit.shims.len() as u32);
    let anew = effort::shimmed_anew(served.iter().filter_map(max).max().unwrap_or(0));
    let takes = takes(&effort, tried.sag_mm);
    let verdict = if tried.holds { "holds the tolerance for" } else { "misses the tolerance of one of" };
    let says = format!(
        "One carrier on shims, shimmed anew for each, {verdict} {}: {}, all lists of shims counted; {} to {} min between two laminations.",
        names(job, served).join(", "),
        in_words(&takes),
        fixed(anew.min, 0),
        fixed(anew.max, 0)
    );
    Some(OneCarrierRow {
        in_file,
        serves: names(job, served),
        holds: tried.holds,
        off_mm: round(tried.off_mm),
        takes,
        reset_s: seconds(anew),
        says,
        write: if tried.holds { for_each(job, &all) } else { Vec::new() },
    })
}

/// Plans the sleds of these laminations as the job has them, and grinds their strips on them.
fn tried(job: &Job, served: &[usize]) -> Result<WayTrial, Vec<Diagnostic>> {
    for index in served {
        job.ground(*index)?;
    }
    let sleds: Vec<SharedSled> = job.sleds().into_iter().filter(|sled| served.iter().any(|index| sled.holds(*index))).collect();
    let mut all: Option<WayTrial> = None;
    for sled in &sleds {
        let Some(ground) = job.ground(sled.cut_from.lamination)? else { continue };
        let Some(kit) = &ground.kit else { continue };
        let (cuts, surfaces) = cut::alone(job, ground, kit)?;
        let effort = Effort::of(kit, cuts.iter().map(|cut| cut.loads.len()).sum(), &job.build.shop.cutter);
        let pressed = proof::under_roller(kit, &surfaces);
        let length = kit.sled.strip_length_mm;
        let sag_mm = kit.carried.as_ref().map_or(0.0, |carried| carried.worst_mm(0.0, length));
        let mut one = WayTrial { effort, sag_mm, off_mm: 0.0, holds: true, sleds: 1 };
        for index in served.iter().filter(|index| sled.holds(**index)) {
            let Some(strip) = job.ground(*index)? else { continue };
            let off_mm = proof::off_by_sled_mm(&strip.lamination, &pressed, &strip.schedule, strip.rounding_mm());
            let allowed = proof::allowed_mm(job.build.sled_for(&strip.lamination));
            one.holds &= !limit::above(off_mm.abs(), allowed);
            one.off_mm = farther(one.off_mm, off_mm);
        }
        all = Some(match all {
            None => one,
            Some(all) => WayTrial {
                effort: all.effort.with(one.effort),
                sag_mm: all.sag_mm.max(one.sag_mm),
                off_mm: farther(all.off_mm, one.off_mm),
                holds: all.holds && one.holds,
                sleds: all.sleds + 1,
            },
        });
    }
    all.ok_or_else(|| vec![Diagnostic::fault(Place::new("sled"), "no sled is needed for it")])
}

fn farther(a: f64, b: f64) -> f64 {
    if a.abs() < b.abs() { b } else { a }
}

/// What has to be written for another make: beside the make, whatever the file says of a sled that does not go with it.
fn keys(job: &Job, served: &[usize], make: SledMake) -> KeyEdits {
    let build = &job.build;
    let inch = build.units == System::Inch;
    let plank = |make: SledMake| make.traits().from == SledStock::Plank;
    let mut keys = KeyEdits::new();
    for index in served {
        let lamination = &build.laminations[*index];
        let Some(plan) = build.sled_for(lamination) else { continue };
        let own = lamination.place.key("sled");
        let says = |table: &Place, key: &str| job.source.value_at(&table.key(key)).is_some();
        let anywhere = |key: &str| says(&own, key) || says(&Place::new("sled"), key);
        let mut add = |key: &'static str, value: String| keys.push((Some(*index), key, value));
        add("make", quoted(make.traits().word));
        match (plank(plan.make), plank(make)) {
            (false, true) => {
                if anywhere("sheet") {
                    add("sheet", format!("{{ material = \"plank\", thickness = {} }}", if inch { "1.5" } else { "38" }));
                }
                // The plank says how high it stands; a height under [sled] says nothing to it.
                if says(&own, "base") {
                    add("base", "0".into());
                }
            }
            (true, false) => {
                if anywhere("sheet") {
                    add("sheet", "{ material = \"birch plywood\" }".into());
                }
                if anywhere("base") {
                    add("base", if inch { "1" } else { "25" }.into());
                }
            }
            _ => {}
        }
        if anywhere("deck") {
            let deck = match make.traits().strip_on {
                StripOn::Board => 0.0,
                StripOn::Deck if 0.0 < plan.deck_mm => plan.deck_mm,
                StripOn::Deck => DECK_MM,
            };
            add("deck", trim_zeros(&fixed(build.units.length(deck), 3)));
        }
    }
    keys
}

/// A deck of plywood sold as 6 mm (1/4 in).
const DECK_MM: f64 = 6.0;

/// The job of the file with these keys.
fn written(job: &Job, keys: &KeyEdits) -> Result<Job, Unread> {
    let place = |of: Option<usize>| of.map_or(Place::new("sled"), |index| job.build.laminations[index].place.key("sled"));
    let values: Vec<(Place, String)> = keys.iter().map(|(of, key, value)| (place(*of).key(key), value.clone())).collect();
    if values.is_empty() { Ok(job.clone()) } else { job.written_in_turn(&values).and_then(|text| job.of_text(&text)) }
}

/// The keys, those of one lamination together.
fn for_each(job: &Job, keys: &KeyEdits) -> Vec<SledKeys> {
    let mut all: Vec<SledKeys> = Vec::new();
    for (of, key, value) in keys {
        let lamination = of.map_or(String::new(), |index| job.build.laminations[index].name.clone());
        let pair = [(*key).to_owned(), value.clone()];
        match all.iter_mut().find(|known| known.lamination == lamination) {
            Some(known) => known.keys.push(pair),
            None => all.push(SledKeys { lamination, keys: vec![pair] }),
        }
    }
    all
}

impl Job {
    /// Every sled of the file in every way in which it can be made, the simplest that holds its tolerance first.
    pub fn sled_ways(&self) -> SledsAnswer {
        of(self)
    }

    /// Which boards would do instead of sleds cut from sheet, in much less time; none where the sleds are as simple as they can be.
    pub fn simpler_sleds(&self) -> Vec<String> {
        much_simpler(self)
    }
}
