//! Belly to string on both limbs: which stretches are stiff, which bend too much, and what to take off.
//!
//! Readings of one round are fitted together ([`crate::mechanics::tiller_fit`]); each answer uses those up to its own, so a later one changes none
//! before it. A round ends when wood comes off. The log knows it by `worked`, and without that key by what builders do: a
//! reading of another day, or one of a draw that was read before, begins a new round, and so does a weighing. The answer says what it
//! was reckoned with.
//!
//! The limb that stands nearer the string is the stiffer one, but a distance depends on both whole limbs: no place is
//! called stiff because its own distance is off.

use super::super::{Answer, Found, Known, Measure, Row};
use super::beyond_design;
use crate::diag::{Diagnostic, mm, newtons};
use crate::mechanics::pair::PairOptions;
use crate::mechanics::tiller_fit::{self, Fit, GapLayout, LimbCell, Model, PairDesign, SPOKEN, Stretch};
use crate::mechanics::tillering::{LoadCase, UPPER};
use crate::model::Build;
use crate::model::log::{Reading, Tiller};
use crate::shop::blank::NEAR;
use crate::shop::even::{self, Work};
use crate::shop::plausible::{Band, question};
use crate::units::System;

/// One σ of a distance read past a string that is not said better: common practice, no source.
fn usual_sigma_mm(units: System) -> f64 {
    match units {
        System::Inch => System::Inch.to_mm(1.0 / 32.0),
        System::Millimetre => 0.8,
    }
}

/// The readings since wood came off last, and what the bow weighs.
#[derive(Debug, Clone, Default)]
pub struct Round {
    date: String,
    readings: Vec<Tiller>,
    /// Trimmed, as it was weighed last; what the rounds since then cost is taken off.
    weight_n: Option<f64>,
    /// What the last answer asked to take off, as a share of the weight.
    costs: f64,
}

/// How one limb's stretches are told from the other's.
const LIMBS: [&str; 2] = ["upper", "lower"];

impl Round {
    /// A weighing: the bow as it stands now.
    pub fn weighed(&mut self, trimmed_n: f64) {
        *self = Round { weight_n: Some(trimmed_n), ..Round::default() };
    }

    pub fn tiller(&mut self, build: &Build, reading: &Reading, read: &Tiller, known: &Known<'_>) -> Answer {
        let draw = read.pivot_to_nock_mm.map_or("at brace".to_owned(), |draw| format!("drawn {} from the pivot point", mm(draw)));
        let mut answer = Answer::new(reading, "tiller", format!("belly to string {draw}"));
        if let Some(question) = read.pivot_to_nock_mm.and_then(|drawn| beyond_design(build, reading, drawn)) {
            answer.questions.push(question);
            return answer;
        }
        let began = self.begin(&reading.date, read);
        let before = if began { &[][..] } else { &self.readings };
        let together: Vec<Tiller> = before.iter().chain([read]).cloned().collect();
        let stations: Vec<f64> = together.iter().flat_map(|read| read.gaps_mm.iter().map(|gap| gap[0])).collect();
        let lower = known.lower.as_ref().map_or(build, |(lower, _)| *lower);
        let wanted_mm = if known.lower.is_some() { 0.0 } else { build.target.map_or(0.0, |target| target.positive_tiller_mm) };
        let unstrung = known.lower.as_ref().map_or(&known.options.unstrung, |(_, unstrung)| unstrung);
        let pair = PairOptions { options: known.options.clone(), lower_unstrung: unstrung.clone(), ..PairOptions::default() };
        let modelled = PairDesign::of(build, lower, &pair, wanted_mm, &stations).and_then(|design| {
            let [brace_mm, _] = design.design_mm()?;
            let layouts: Vec<GapLayout> = together.iter().map(|read| layout(read, brace_mm)).collect();
            let targets = design.targets_mm(&layouts[layouts.len() - 1])?;
            Ok((design, layouts, targets))
        });
        let (design, layouts, targets) = match modelled {
            Ok(found) => found,
            Err(fault) => {
                answer.questions.push(Diagnostic { place: reading.place.clone(), ..fault });
                return answer;
            }
        };
        ask(build, lower, reading, read, &targets, &mut answer);
        if !answer.questions.is_empty() {
            return answer;
        }
        let sigma_mm = read.sigma_mm.unwrap_or(usual_sigma_mm(build.units));
        for (gap, target) in read.gaps_mm.iter().zip(&targets) {
            for side in [0, 1] {
                answer.rows.push(Row {
                    what: format!("station {}, {} limb", mm(gap[0]), LIMBS[side]),
                    of: Measure::Length,
                    reading: gap[1 + side],
                    model: target[side],
                    band: Some(2.0 * sigma_mm),
                });
            }
        }
        let fitted = design.model(&layouts).map(|model| {
            let read_mm: Vec<f64> =
                together.iter().flat_map(|read| read.gaps_mm.iter().flat_map(|gap| [gap[1], gap[2]])).collect();
            let sigmas = sigmas(build, &together);
            let fit = tiller_fit::fit(&design, &model, &read_mm, &sigmas);
            (model, sigmas, fit)
        });
        let (model, sigmas, fit) = match fitted {
            Ok((model, sigmas, Some(fit))) => (model, sigmas, fit),
            Ok((_, _, None)) => {
                answer.say("These readings could not be fitted: are they of one bow?");
                return answer;
            }
            Err(fault) => {
                answer.questions.push(Diagnostic { place: reading.place.clone(), ..fault });
                return answer;
            }
        };
        if began {
            self.weight_n = self.weight_n.map(|weight| weight * (-self.costs).exp());
            self.readings.clear();
        }
        self.readings.push(read.clone());
        self.date.clone_from(&reading.date);
        self.together(began, &mut answer);
        answer.say(format!(
            "A distance is taken as read to {} (one σ; `reads_to` says better). {}",
            mm(sigma_mm),
            resolution(build, &fit)
        ));
        if 0.0 < wanted_mm {
            answer.say(format!(
                "Wanted at brace: the upper limb {} farther from the string at its fade's end (`target.positive_tiller`); that is no fault.",
                mm(wanted_mm)
            ));
        }
        let [difference, sigma] = fit.upper_less_lower();
        if SPOKEN * sigma < difference.abs() {
            let stiff = if 0.0 < difference { LIMBS[0] } else { LIMBS[1] };
            let [least, most] = [-SPOKEN, SPOKEN].map(|by| (difference.abs() + by * sigma).exp());
            answer.say(format!(
                "Taken whole the {stiff} limb is the stiffer one: {:.2} times the other ({least:.2} to {most:.2}, 3.5 σ).",
                difference.abs().exp()
            ));
        }
        for stretch in &fit.stretches {
            answer.say(named(&fit, stretch));
        }
        let work = self.work(build, lower, &fit, &model, &mut answer);
        if work.cuts.is_empty() && (fit.unclear.is_some() || even::uneven(&fit)) {
            unseen(&design, &fit, &layouts, &sigmas, &mut answer);
        }
        self.costs = work.costs;
        answer.found = Found::Tiller { stretches: fit.stretches.clone(), work: Box::new(work) };
        answer
    }

    /// Whether this reading begins a round.
    fn begin(&self, date: &str, read: &Tiller) -> bool {
        let again = |other: &Tiller| {
            let near = |a: Option<f64>, b: Option<f64>| match (a, b) {
                (Some(a), Some(b)) => (a - b).abs() < 3.0,
                (None, None) => true,
                _ => false,
            };
            near(other.pivot_to_nock_mm, read.pivot_to_nock_mm)
        };
        let inferred = self.date != date || self.readings.iter().any(again);
        !self.readings.is_empty() && read.worked.unwrap_or(inferred)
    }

    fn together(&self, began: bool, answer: &mut Answer) {
        let others = self.readings.len() - 1;
        if 0 < others {
            let plural = if others == 1 { "the reading" } else { "the readings" };
            let how: Vec<String> = self.readings[..others]
                .iter()
                .map(|read| read.pivot_to_nock_mm.map_or("at brace".into(), |draw| format!("drawn {}", mm(draw))))
                .collect();
            answer.say(format!(
                "Reckoned together with {plural} before it ({}). If wood came off in between, say so: worked = true.",
                how.join(", ")
            ));
        } else if began {
            answer
                .say("A new round: what was read before is left out, since wood came off. If none did, say so: worked = false.");
        }
    }

    /// What this round takes off, said with what it costs.
    fn work(&self, build: &Build, lower: &Build, fit: &Fit, model: &Model, answer: &mut Answer) -> Work {
        let none = |work: Work| Work { cuts: Vec::new(), costs: 0.0, ..work };
        let wanted_n = build.target.map_or(0.0, |target| target.draw_weight_n + target.finishing_n);
        // As calibrated, where nothing was weighed.
        let begun = self.weight_n.map_or(f64::INFINITY, |weight| (weight / wanted_n).ln().max(0.0));
        let work = even::work([build, lower], fit, &model.weight_share, begun);
        if !even::uneven(fit) {
            answer.say("Every distance lies on its target as far as these readings tell. Take nothing off for the tiller.");
            return none(work);
        }
        let weight_n = self.weight_n.unwrap_or(wanted_n);
        let pounds = |share: f64| newtons(weight_n * (1.0 - (-share).exp()));
        if let Some(weight_n) = self.weight_n
            && begun < work.all_costs
        {
            answer.say(format!(
                "Evening it out costs {}, and the bow draws {}: {} are wanted, finishing included.",
                pounds(work.all_costs),
                newtons(weight_n),
                newtons(wanted_n)
            ));
            if begun <= NEAR {
                answer.say("Stop here: no wood is left to take off for it. Live with this tiller, or make it a lighter bow.");
                return none(work);
            }
        }
        if work.cuts.is_empty() {
            return none(work);
        }
        for side in [0, 1] {
            for run in runs(&work, side) {
                let most = run.iter().max_by(|a, b| a.1.total_cmp(&b.1)).copied().unwrap_or((run[0].0, 0.0));
                answer.say(format!(
                    "On the {} limb take wood off {} from {} to {}, {} where it is most, about {}, less toward both ends.",
                    LIMBS[side],
                    work.lever[side].spoken([build, lower][side]),
                    mm(run[0].0.from_mm),
                    mm(run[run.len() - 1].0.to_mm),
                    mm(most.1),
                    mm(0.5 * (most.0.from_mm + most.0.to_mm))
                ));
            }
        }
        let after = match self.weight_n {
            Some(_) => format!("and leaves {}", newtons(weight_n * (-work.costs).exp())),
            None => "of a bow at its wanted weight; weigh the bow and log it, so that the answer knows what is in hand".into(),
        };
        answer.say(format!(
            "This round costs about {} {after}. Then draw it in with many short pulls, and read again.",
            pounds(work.costs)
        ));
        work
    }
}

fn layout(read: &Tiller, brace_mm: f64) -> GapLayout {
    GapLayout {
        bending: LoadCase { brace_mm: read.brace_mm.unwrap_or(brace_mm), pivot_to_nock_mm: read.pivot_to_nock_mm },
        fixed: read.fixed,
        stations_mm: read.gaps_mm.iter().map(|gap| gap[0]).collect(),
    }
}

fn sigmas(build: &Build, readings: &[Tiller]) -> Vec<f64> {
    let of = |read: &Tiller| vec![read.sigma_mm.unwrap_or(usual_sigma_mm(build.units)); 2 * read.gaps_mm.len()];
    readings.iter().flat_map(of).collect()
}

/// Readings that cannot be meant.
fn ask(build: &Build, lower: &Build, reading: &Reading, read: &Tiller, targets: &[[f64; 2]], answer: &mut Answer) {
    let nock = |build: &Build| build.outline.as_ref().map_or(0.0, |outline| outline.nock_mm());
    let most = nock(build).min(nock(lower));
    for (index, (gap, target)) in read.gaps_mm.iter().zip(targets).enumerate() {
        let place = reading.place.key("gaps").index(index);
        if gap[0] < 0.0 || most < gap[0] {
            let message = format!("station {} lies beyond the nock at {}", mm(gap[0]), mm(most));
            answer.questions.push(Diagnostic::fault(place, message).hint("count stations from the bow's middle"));
            continue;
        }
        for (value, target) in gap[1..].iter().zip(target) {
            let band = Band { expected: *target, least: 0.5 * target - 25.0, most: 1.5 * target + 25.0 };
            answer.questions.extend(question(*value, band, "the distance", mm, &place));
        }
    }
}

/// Length of the stretch that resolution is stated for.
fn stated_mm(units: System) -> f64 {
    match units {
        System::Inch => System::Inch.to_mm(6.0),
        System::Millimetre => 150.0,
    }
}

/// Stretches of that length along one limb, and σ of their stiffness.
fn sigmas_along(fit: &Fit, side: usize, length_mm: f64) -> Vec<(f64, f64)> {
    let own: Vec<&LimbCell> = fit.cells.iter().filter(|cell| cell.side == side).collect();
    let end = own.last().map_or(0.0, |cell| cell.to_mm);
    own.iter()
        .filter(|cell| cell.from_mm + length_mm <= end + 1.0)
        .map(|cell| (cell.from_mm, fit.sigma(side, cell.from_mm, cell.from_mm + length_mm)))
        .collect()
}

fn resolution(build: &Build, fit: &Fit) -> String {
    let length = stated_mm(build.units);
    let along = sigmas_along(fit, UPPER, length);
    let by = |a: &&(f64, f64), b: &&(f64, f64)| a.1.total_cmp(&b.1);
    let (Some(best), Some(worst)) = (along.iter().min_by(by), along.iter().max_by(by)) else { return String::new() };
    let percent = |sigma: f64| format!("{:.0} percent", 100.0 * (sigma.exp() - 1.0));
    format!(
        "A stretch of {} is told to {} of its stiffness at best, from {}, and to {} at worst, from {} (one σ, whatever all others are).",
        mm(length),
        percent(best.1),
        mm(best.0),
        percent(worst.1),
        mm(worst.0)
    )
}

/// What is said of a stretch.
fn named(fit: &Fit, stretch: &Stretch) -> String {
    let limb = LIMBS[stretch.side];
    let own: Vec<&LimbCell> = fit.cells.iter().filter(|cell| cell.side == stretch.side).collect();
    let (first, last) = (own.first().map_or(0.0, |cell| cell.from_mm), own.last().map_or(0.0, |cell| cell.to_mm));
    let whole = 0.85 * (last - first) <= stretch.to_mm - stretch.from_mm;
    let band = [-SPOKEN, SPOKEN].map(|by| (stretch.ln_factor + by * stretch.sigma).exp());
    let factor = format!("{:.2} times the rest of the bow ({:.2} to {:.2}, 3.5 σ)", stretch.ln_factor.exp(), band[0], band[1]);
    let (from, to) = (mm(stretch.from_mm), mm(stretch.to_mm));
    match (whole, 0.0 < stretch.ln_factor) {
        (true, true) => format!("The {limb} limb is the stiffer one along its whole length: {factor}."),
        (true, false) => {
            format!(
                "The {limb} limb is the weaker one along its whole length: {factor}. Leave it alone; the other is the stiffer one."
            )
        }
        (false, true) => format!("The {limb} limb is stiff from {from} to {to}: {factor}."),
        (false, false) => format!(
            "The {limb} limb bends too much about {}, from {from} to {to}: {factor}. Leave it alone there.",
            mm(0.5 * (stretch.from_mm + stretch.to_mm))
        ),
    }
}

/// Cuts of one limb that lie side by side, with what each takes.
fn runs(work: &Work, side: usize) -> Vec<Vec<(LimbCell, f64)>> {
    let mut runs: Vec<Vec<(LimbCell, f64)>> = Vec::new();
    for cut in work.cuts.iter().filter(|cut| cut.cell.side == side) {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|(cell, _)| cut.cell.from_mm - cell.to_mm < 1.0) => {
                run.push((cut.cell, cut.take_mm))
            }
            _ => runs.push(vec![(cut.cell, cut.take_mm)]),
        }
    }
    runs
}

/// What these readings could not tell, and which one would tell most.
fn unseen(design: &PairDesign<'_>, fit: &Fit, layouts: &[GapLayout], sigmas: &[f64], answer: &mut Answer) {
    let off = fit.off_mm.iter().map(|[off, _]| off.abs()).fold(0.0, f64::max);
    answer.say(format!(
        "Distances are off by up to {}, and these readings do not tell where the fault is. Take nothing off yet.",
        mm(off)
    ));
    let (Ok([brace_mm, full_mm]), Some(last)) = (design.design_mm(), layouts.last()) else { return };
    let draws =
        [None, Some(0.35), Some(0.65), Some(0.95)].map(|share| share.map(|share| brace_mm + share * (full_mm - brace_mm)));
    let far = |draw: &Option<f64>| {
        layouts.iter().all(|layout| match (draw, layout.bending.pivot_to_nock_mm) {
            (Some(draw), Some(read)) => 0.1 * (full_mm - brace_mm) < (draw - read).abs(),
            (draw, read) => draw.is_some() != read.is_some(),
        })
    };
    let stretch = fit.unclear.map_or((UPPER, 0.0, f64::MAX), |found| (found.side, found.from_mm, found.to_mm));
    let with = |draw: Option<f64>| {
        let more = GapLayout { bending: LoadCase { brace_mm, pivot_to_nock_mm: draw }, ..last.clone() };
        let all: Vec<GapLayout> = layouts.iter().cloned().chain([more]).collect();
        let same = sigmas.last().copied().unwrap_or(1.0);
        let sigmas: Vec<f64> = sigmas.iter().copied().chain(vec![same; 2 * last.stations_mm.len()]).collect();
        design.model(&all).ok()?.sigma(&fit.cells, &sigmas, stretch)
    };
    let best = draws.into_iter().filter(far).filter_map(|draw| Some((draw, with(draw)?))).min_by(|a, b| a.1.total_cmp(&b.1));
    answer.say(match best {
        Some((None, _)) => "What would tell most: the same stations at brace.".to_owned(),
        Some((Some(draw), _)) => format!("What would tell most: the same stations drawn {} from the pivot point.", mm(draw)),
        None => "What would tell most: all of it read once more, with worked = false, or more stations between.".to_owned(),
    });
}
