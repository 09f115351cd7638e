//! A strip came out too thin: what must the rest of the stack become, with this lamination held as it is?

use super::super::{Answer, Known, Measure, Row, TakeOver, Value, sentence};
use super::Bench;
use crate::diag::{mm, newtons};
use crate::mechanics::{draw, sizing};
use crate::model::Build;
use crate::model::build::{Sizing, SizingHow};
use crate::model::lamination::Lamination;
use crate::model::taper::{Form, Taper};
use crate::numeric::interp::{Between, Curve};

/// The stack with a lamination held as it came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Resized {
    /// The bow with that lamination as it is and all others as planned, N.
    pub as_it_is_n: f64,
    /// And with the others brought to the weight: indices, butt and tip before and after; empty where none may change.
    pub changes: Vec<sizing::LaminationChange>,
    pub weight_n: f64,
    pub wanted_n: f64,
    /// The lamination as measured, station and thickness, mm.
    pub ground_mm: Vec<(f64, f64)>,
}

impl Bench {
    /// What the rest of the stack becomes with this lamination as it came out; `busy` are laminations that are being ground.
    pub(super) fn resize(&self, build: &Build, busy: &[usize], known: &Known<'_>, answer: &mut Answer) -> Option<Resized> {
        let lamination = &build.laminations[self.lamination];
        let ground_mm = self.as_measured(lamination)?;
        let held = Lamination { finished: Taper::ground(ground_mm.clone()).ok()?, ground: true, ..lamination.clone() };
        answer.take_over.push(TakeOver {
            key: lamination.place.key("ground").as_str().to_owned(),
            value: Value::Stations(ground_mm.clone()),
        });
        answer.say("In the build file `ground` stands instead of `thickness` and `taper`, of `stock` only the width stays, and `sizing` no longer changes it.");
        let target = build.target?;
        let mut changed = build.clone();
        changed.laminations[self.lamination] = held;
        let wanted_n = target.draw_weight_n + target.finishing_n;
        let as_it_is_n = draw::weight_of(&changed, known.options).ok()?;
        answer.rows.push(Row {
            what: "draw weight with this strip as it is".into(),
            of: Measure::Force,
            reading: as_it_is_n,
            model: draw::weight_of(build, known.options).ok()?,
            band: None,
        });
        let free = |index: &usize| {
            let other = &build.laminations[*index];
            *index != self.lamination && !other.ground && !busy.contains(index)
        };
        let asked: Vec<usize> = build.sizing.iter().flat_map(|sizing| sizing.change.clone()).filter(free).collect();
        let others = || (0..build.laminations.len()).filter(free).collect::<Vec<_>>();
        let change = if asked.is_empty() { others() } else { asked };
        let mut resized = Resized { as_it_is_n, changes: Vec::new(), weight_n: as_it_is_n, wanted_n, ground_mm };
        if change.is_empty() {
            answer.say(format!(
                "No other lamination is left to change: the bow will draw {} instead of {}. Keep the strip for a lighter bow, or grind a new one.",
                newtons(as_it_is_n),
                newtons(wanted_n)
            ));
            return Some(resized);
        }
        if let Some((changes, weight_n)) = to_weight(build, changed, change, wanted_n, known, answer) {
            (resized.changes, resized.weight_n) = (changes, weight_n);
        }
        Some(resized)
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
        // Where it is still too thick, the passes that are left take the rest.
        let most = if self.left().next().is_some() { 0.0 } else { f64::INFINITY };
        let mut off: Vec<(f64, f64)> = Vec::new();
        for read in self.strips.values().filter(|read| read.after == last) {
            off.extend(read.at.iter().map(|a| {
                (
                    lamination.station_at(a.u_mm).max(lamination.from_mm),
                    (a.middle_mm() - lamination.strip_thickness_at(a.u_mm)).min(most),
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
            // Held level beyond its ends, where a curve would go on as it falls.
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

/// Brings what may change of a stack as it is to the weight, and says so; `build` holds the sizes planned so far.
pub fn to_weight(
    build: &Build,
    mut changed: Build,
    change: Vec<usize>,
    wanted_n: f64,
    known: &Known<'_>,
    answer: &mut Answer,
) -> Option<(Vec<sizing::LaminationChange>, f64)> {
    changed.sizing = Some(Sizing { change, how: SizingHow::Thickness, limits: Vec::new() });
    let sized = match sizing::size(&changed, known.options) {
        Ok(found) => found.value,
        Err(faults) => {
            answer.says.extend(faults.iter().map(sentence));
            return None;
        }
    };
    for change in &sized.changes {
        let name = &build.laminations[change.lamination].name;
        answer.say(format!(
            "To reach {} with it: `{name}` at its butt {} instead of {}, at its tip {} instead of {}.",
            newtons(wanted_n),
            mm(change.butt_mm[1]),
            mm(change.butt_mm[0]),
            mm(change.tip_mm[1]),
            mm(change.tip_mm[0])
        ));
        let key = |what: &str| build.laminations[change.lamination].place.key(what).as_str().to_owned();
        let lamination = &sized.build.laminations[change.lamination];
        if lamination.finished.form() == Form::Stations {
            let points = lamination.finished.curve().points().to_vec();
            answer.take_over.push(TakeOver { key: key("taper.stations"), value: Value::Stations(points) });
            continue;
        }
        answer.take_over.push(TakeOver { key: key("thickness"), value: Value::Length(change.butt_mm[1]) });
        if matches!(lamination.finished.form(), Form::Straight { .. }) {
            answer.take_over.push(TakeOver { key: key("taper.tip"), value: Value::Length(change.tip_mm[1]) });
        }
    }
    Some((sized.changes, sized.weight_n))
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
