//! A strip came out too thin: what must the rest of the stack become, with this lamination held as it is?

use super::super::{Answer, Case, Observed, TakeOver, TakenValue};
use super::{Bench, StripRead};
use crate::diag::Diagnostic;
use crate::mechanics::bow::Options;
use crate::mechanics::{draw, sizing};
use crate::model::Build;
use crate::model::build::{Sizing, SizingHow};
use crate::model::lamination::Lamination;
use crate::model::taper::{Taper, TaperForm};
use crate::numeric::interp::{Between, Curve};

/// A lamination held as it came out.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldLamination {
    /// As measured, station and thickness, mm.
    pub ground_mm: Vec<(f64, f64)>,
    /// What that makes of the bow; `None` where there is none, and where the other limb differs: what brings both to the weight is sized with both.
    pub bow: Option<Resized>,
}

/// The bow with a lamination held as it came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Resized {
    /// All others as planned, N.
    pub as_it_is_n: f64,
    /// The others brought to the weight, as far as they may be, N.
    pub weight_n: f64,
    pub wanted_n: f64,
    pub rest: Rest,
}

/// What becomes of the laminations that may still change.
#[derive(Debug, Clone, PartialEq)]
pub enum Rest {
    /// Nothing: the weight is as near as a scale shows.
    Stays,
    /// None is left that may change.
    NoneLeft,
    Sized(Vec<sizing::LaminationChange>),
    /// No size within every limit reaches the weight.
    Refused(Vec<Diagnostic>),
}

impl Rest {
    pub fn changes(&self) -> &[sizing::LaminationChange] {
        if let Rest::Sized(changes) = self { changes } else { &[] }
    }
}

impl Bench {
    /// What the rest of the stack becomes with this lamination as it came out.
    pub(super) fn resize(&self, case: &Case<'_>, answer: &mut Answer) -> Option<HeldLamination> {
        let build = &case.now.build;
        let lamination = &build.laminations[self.lamination];
        let ground_mm = self.as_measured(lamination)?;
        let held = Lamination { finished: Taper::ground(ground_mm.clone()).ok()?, ground: true, ..lamination.clone() };
        answer.take_over.push(TakeOver {
            key: lamination.place.key("ground").as_str().to_owned(),
            value: TakenValue::Stations(ground_mm.clone()),
        });
        Some(HeldLamination { ground_mm, bow: self.resized(case, held, answer) })
    }

    fn resized(&self, case: &Case<'_>, held: Lamination, answer: &mut Answer) -> Option<Resized> {
        let (build, options) = (&case.now.build, &case.now.options);
        let target = build.target.filter(|_| case.background.lower.is_none())?;
        let mut changed = build.clone();
        changed.laminations[self.lamination] = held;
        let wanted_n = target.stack_weight_n();
        let as_it_is_n = draw::weight_of(&changed, options).ok()?;
        answer.observe(Observed::HeldWeight, as_it_is_n, draw::weight_of(build, options).ok()?, None);
        let BroughtToWeight { rest, weight_n } = to_weight(changed, case.busy, Unnamed::AllOthers, options, answer);
        Some(Resized { as_it_is_n, weight_n: weight_n.unwrap_or(as_it_is_n), wanted_n, rest })
    }

    /// The lamination as its strips were measured last: the taper and its departure at stations, straight between them.
    fn as_measured(&self, lamination: &Lamination) -> Option<Vec<(f64, f64)>> {
        let departure = self.departure(lamination)?;
        let mut stations: Vec<f64> =
            [lamination.from_mm, lamination.to_mm].into_iter().chain(departure.points().iter().map(|p| p.0)).collect();
        stations.extend(lamination.finished.corners());
        // A smooth taper is not straight between its corners.
        if lamination.finished.curve().between() == Between::Smooth {
            let steps = ((lamination.to_mm - lamination.from_mm) / SMOOTH_STEP_MM).ceil().max(1.0);
            stations.extend(
                (1..steps as usize).map(|k| lamination.from_mm + (lamination.to_mm - lamination.from_mm) * k as f64 / steps),
            );
        }
        stations.retain(|s| lamination.from_mm <= *s && *s <= lamination.to_mm);
        stations.sort_by(f64::total_cmp);
        stations.dedup_by(|a, b| (*a - *b).abs() < 1.0);
        Some(stations.into_iter().map(|s| (s, lamination.finished.at(s) + departure.at(s))).collect())
    }

    /// Thickness less taper over the station, mm, from the strips that were read last; beyond the outermost readings it goes on as it is.
    fn departure(&self, lamination: &Lamination) -> Option<Curve> {
        let last = self.strips.values().map(|read| read.after).max()?;
        // Where it was still too thick on the way, the passes that were left took the rest.
        let left = self.left().next().is_some();
        let max_mm = |read: &StripRead| if left && !read.came_out { 0.0 } else { f64::INFINITY };
        let mut off: Vec<(f64, f64)> = Vec::new();
        for read in self.strips.values().filter(|read| read.after == last) {
            off.extend(read.at.iter().map(|a| {
                (
                    lamination.station_at(a.u_mm).max(lamination.from_mm),
                    (a.middle_mm() - lamination.strip_thickness_at(a.u_mm)).min(max_mm(read)),
                )
            }));
        }
        off.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Both strips, or both halves of a full one, at a place: their mean.
        let mut joined: Vec<(f64, Vec<f64>)> = Vec::new();
        for (s, d) in off.into_iter().filter(|(s, _)| *s <= lamination.to_mm) {
            match joined.last_mut() {
                Some((at, all)) if (s - *at).abs() < 1.0 => all.push(d),
                _ => joined.push((s, vec![d])),
            }
        }
        let points: Vec<(f64, f64)> =
            joined.into_iter().map(|(s, all)| (s, all.iter().sum::<f64>() / all.len() as f64)).collect();
        match points.as_slice() {
            [] => None,
            [only] => Some(Curve::constant(only.1)),
            // HeldLamination level beyond its ends, where a curve would go on as it falls.
            [first, .., end] => {
                let level = [(lamination.from_mm, first.1), (lamination.to_mm, end.1)];
                let mut all: Vec<(f64, f64)> = points.clone();
                all.extend(level.into_iter().filter(|(s, _)| *s < first.0 - 1.0 || end.0 + 1.0 < *s));
                all.sort_by(|a, b| a.0.total_cmp(&b.0));
                Curve::through(all, Between::Straight).ok()
            }
        }
    }
}

/// What may change where `[sizing]` names nothing that still may.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unnamed {
    /// All that may: a strip is spoilt, and what is left has to make up for it.
    AllOthers,
    /// Nothing: the stack is only planned, and whoever plans it says what gives.
    Nothing,
}

/// A stack brought to the weight wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct BroughtToWeight {
    pub rest: Rest,
    /// As far as it could be brought, N; `None` where nothing changes.
    pub weight_n: Option<f64>,
}

/// Brings what may change of a stack as it is to the weight wanted, within its limits, and asks to have it written. What is ground does not change, and
/// what is `busy`, at the machine already, neither.
pub fn to_weight(mut build: Build, busy: &[usize], or: Unnamed, options: &Options, answer: &mut Answer) -> BroughtToWeight {
    let free = |index: &usize| !build.laminations[*index].ground && !busy.contains(index);
    let mut change: Vec<usize> = build.sizing.iter().flat_map(|sizing| sizing.change.clone()).filter(free).collect();
    if change.is_empty() && or == Unnamed::AllOthers {
        change = (0..build.laminations.len()).filter(free).collect();
    }
    if change.is_empty() {
        return BroughtToWeight { rest: Rest::NoneLeft, weight_n: None };
    }
    let limits = build.sizing.take().map_or_else(Vec::new, |sizing| sizing.limits);
    build.sizing = Some(Sizing { change, how: SizingHow::Thickness, limits });
    let sized = match sizing::size(&build, options) {
        Ok(found) => found.value,
        Err(faults) => return BroughtToWeight { rest: Rest::Refused(faults), weight_n: None },
    };
    for change in &sized.changes {
        let lamination = &sized.build.laminations[change.lamination];
        let mut take = |key: &str, value: TakenValue| {
            answer.take_over.push(TakeOver { key: lamination.place.key(key).as_str().to_owned(), value });
        };
        if lamination.finished.form() == TaperForm::Stations {
            take("taper.stations", TakenValue::Stations(lamination.finished.curve().points().to_vec()));
            continue;
        }
        take("thickness", TakenValue::Length(change.butt_mm.after));
        if matches!(lamination.finished.form(), TaperForm::Straight { .. }) {
            take("taper.tip", TakenValue::Length(change.tip_mm.after));
        }
    }
    BroughtToWeight { rest: Rest::Sized(sized.changes), weight_n: Some(sized.weight_n) }
}

/// Between stations of a smooth taper, mm: straight lines between them lie within some micrometres of it.
const SMOOTH_STEP_MM: f64 = 25.0;

/// The build as it has been made so far: laminations whose strips were read are as thick as they came out, all others as planned.
/// What is bent is held against it.
pub fn as_made(build: &Build, benches: &[Bench]) -> Build {
    let mut made = build.clone();
    for bench in benches {
        let lamination = &mut made.laminations[bench.lamination];
        let measured = bench.as_measured(lamination).and_then(|points| Taper::ground(points).ok());
        if let Some(finished) = measured {
            lamination.finished = finished;
        }
    }
    made
}
