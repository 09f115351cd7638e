//! Belly to string on both limbs: which stretches are stiff, which bend too much, and what to take off.
//!
//! Readings of one round are fitted together ([`crate::mechanics::tiller_fit`]); each answer uses those up to its own, so a later one changes none
//! before it. A round ends when wood comes off. The log knows it by `worked`, and without that key by what builders do: a
//! reading of another day, or one of a draw that was read before, begins a new round, and so does a weighing. The answer says what it
//! was reckoned with.
//!
//! The limb that stands nearer the string is the stiffer one, but a distance depends on both whole limbs: no place is
//! called stiff because its own distance is off.

use super::super::words;
use super::super::{Answer, Case, Finding, Observed, Silence};
use super::{beyond_design, no_draw};
use crate::diag::{Diagnostic, Message, Place, mm};
use crate::mechanics::pair::PairOptions;
use crate::mechanics::photograph::{self, PictureFit, RoundFit, RoundRead, RoundReading, RoundUnfit};
use crate::mechanics::reading_errors::ReadingErrors;
use crate::mechanics::tiller_fit::{
    Fit, GapLayout, LimbCell, ODD_SIGMAS, OddReading, PairDesign, SPOKEN, ShownRows, Stretch, StretchBend,
};
use crate::mechanics::tillering::{LOWER, LoadCase, PositiveTiller, UPPER};
use crate::model::Build;
use crate::model::log::{Reading, TillerReading};
use crate::numeric::estimate::Estimate;
use crate::numeric::span::Span;
use crate::shop::blank::NEAR;
use crate::shop::even::{self, RoundWork};
use crate::shop::plausible::{NOT_USED, PlausibleRange, question};
use crate::units::System;

/// One σ of a distance read past a string that is not said better: common practice, no source.
fn usual_sigma_mm(units: System) -> f64 {
    units.either_mm(1.0 / 32.0, 0.8)
}

/// The readings since wood came off last, and what the bow weighs.
#[derive(Debug, Clone, Default)]
pub struct Round {
    date: String,
    readings: Vec<TillerReading>,
    /// Trimmed, as it was weighed last; what the rounds since then cost is taken off.
    weight_n: Option<f64>,
    /// What the last answer asked to take off, as a fraction of the weight.
    costs: f64,
    /// What bent too much, as the last answer has it, and as the rounds before had it.
    weak: Vec<LimbCell>,
    weak_before: Vec<LimbCell>,
}

/// What a round of readings tells of the tiller.
#[derive(Debug, Clone, PartialEq)]
pub struct TillerFound {
    /// It begins a round: those before it are left out.
    pub began: bool,
    /// Draws of the readings that it was reckoned with, `None` at brace; from the pivot point, mm.
    pub together: Vec<Option<f64>>,
    /// One σ of a distance, mm.
    pub sigma_mm: f64,
    pub resolution: Option<Resolution>,
    /// How much farther from the string the upper limb shall stand at its fade's end at brace, mm.
    pub wanted_mm: f64,
    /// ln of the upper limb's stiffness over the lower one's, where it is told.
    pub limbs: Option<Estimate>,
    /// What is spoken of, the surest first; where both working limbs begin and end.
    pub stretches: Vec<Stretch>,
    pub working_mm: [[f64; 2]; 2],
    pub effort: TillerAction,
    pub work: RoundWork,
    /// What may have bent too much in earlier rounds, and is left alone.
    pub weak_before: Vec<LimbCell>,
    /// As weighed last, less what rounds since then cost, N.
    pub weight_n: Option<f64>,
    pub wanted_n: f64,
    /// The work would take the bow below the weight wanted.
    pub too_light: bool,
    pub unseen: Option<Unseen>,
    /// Where this reading is a photograph.
    pub pictured: Option<PicturedTiller>,
}

/// What a photograph tells beside the tiller.
#[derive(Debug, Clone, PartialEq)]
pub struct PicturedTiller {
    pub picture: PictureFit,
    /// Stretch by stretch, the upper limb first.
    pub bends: Vec<StretchBend>,
}

/// What there is to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TillerAction {
    /// Every distance lies on its target.
    Even,
    /// No wood is left for it.
    Stop,
    Cut,
    /// Nothing that is sure enough to cut.
    Wait,
}

/// How well a stretch of one length is told where it is told best, and where worst.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resolution {
    pub length_mm: f64,
    pub best: ToldStretch,
    pub worst: ToldStretch,
}

/// How well one stretch is told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToldStretch {
    pub from_mm: f64,
    /// One σ of its ln of stiffness.
    pub sigma_ln: f64,
}

/// Distances that are off, and no place to name for it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unseen {
    pub off_mm: f64,
    pub tells_most: TellsMost,
}

/// Which reading would tell most.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TellsMost {
    Brace,
    /// From the pivot point, mm.
    Draw(f64),
    /// All of it once more, or more stations.
    Again,
}

impl Round {
    /// A weighing: the bow as it stands now.
    pub fn weighed(&mut self, trimmed_n: f64) {
        let mut weak_before = std::mem::take(&mut self.weak_before);
        weak_before.append(&mut self.weak);
        *self = Round { weight_n: Some(trimmed_n), weak_before, ..Round::default() };
    }

    /// `build` is the one as made.
    pub(in super::super) fn tiller(&mut self, case: &Case<'_>, build: &Build, read: &TillerReading) -> Answer {
        let reading = case.reading;
        let asked = |drawn: f64| beyond_design(build, reading, drawn).or_else(|| no_draw(build, reading, drawn, read.brace_mm));
        if let Some(question) = read.pivot_to_nock_mm.and_then(asked) {
            return Answer::asking(reading, vec![question]);
        }
        let mut answer = Answer::new(reading);
        match self.fitted(case, build, read, &mut answer) {
            Ok(finding) => answer.finding = finding,
            // A picture's fault names its point.
            Err(fault) if read.photograph.is_some() => answer.questions.push(fault),
            Err(fault) => answer.ask(fault),
        }
        answer
    }

    fn fitted(
        &mut self,
        case: &Case<'_>,
        build: &Build,
        read: &TillerReading,
        answer: &mut Answer,
    ) -> Result<Finding, Diagnostic> {
        let options = &case.now.options;
        let began = self.begin(&case.reading.date, read);
        let before = if began { &[][..] } else { &self.readings };
        let together: Vec<TillerReading> = before.iter().chain([read]).cloned().collect();
        let mut stations: Vec<f64> = together.iter().flat_map(|read| read.gaps_mm.iter().map(|gap| gap[0])).collect();
        if together.iter().any(|read| read.photograph.is_some()) {
            stations.extend(&case.background.stations_mm);
        }
        let (lower, unstrung, wanted) = match &case.background.lower {
            Some((lower, unstrung)) => (lower, unstrung, PositiveTiller::NONE),
            None => (build, &options.unstrung, PositiveTiller::of(build)),
        };
        let pair = PairOptions { options: options.clone(), lower_unstrung: unstrung.clone(), ..PairOptions::default() };
        let design = PairDesign::of(build, lower, &pair, wanted, &stations)?;
        let [brace_mm, _] = design.design_mm()?;
        let here = layout(read, brace_mm, &case.background.stations_mm);
        let targets = design.targets_mm(&here)?;
        answer.questions = asked([build, lower], case.reading, read, &targets);
        if !answer.questions.is_empty() {
            return Ok(Finding::Nothing);
        }
        let round = |read| round_reading(build, read, brace_mm, &case.background.stations_mm, &case.reading.place);
        let readings: Vec<RoundReading<'_>> = together.iter().map(round).collect();
        let RoundFit { fit, model, layouts, errors, pictures } = match photograph::fit_round(&design, &readings) {
            Ok(fitted) => fitted,
            Err(RoundUnfit::Fault(fault)) => return Err(fault),
            Err(RoundUnfit::Numbers) => return Ok(Finding::Silent(Silence::NotFitted)),
        };
        if let Some(odd) = fit.odd {
            answer.questions.push(contradiction(build, case.reading, &together, odd));
            return Ok(Finding::Nothing);
        }
        let sigma_mm = read.sigma_mm.unwrap_or(usual_sigma_mm(build.units));
        for (gap, target) in read.gaps_mm.iter().zip(&targets) {
            for side in [UPPER, LOWER] {
                let of = Observed::Distance { side, station_mm: gap[0] };
                answer.observe(of, gap[1 + side], target[side], Some(2.0 * sigma_mm));
            }
        }
        let pictured = pictures.into_iter().find(|picture| picture.reading + 1 == together.len());
        let pictured = pictured.map(|picture| {
            // What was not read is told by the fit.
            let before = layouts[..layouts.len() - 1].iter().map(|layout| layout.stations_mm.len()).sum::<usize>();
            let own = fit.off_mm[2 * before..].chunks(2).zip(&here.stations_mm).zip(&targets);
            for ((off, station_mm), target) in own {
                for side in [UPPER, LOWER] {
                    let off_mm = off[side];
                    let of = Observed::Distance { side, station_mm: *station_mm };
                    answer.observe(of, target[side] + off_mm.value, target[side], Some(2.0 * off_mm.sigma));
                }
            }
            let count = fit.bends.len() / layouts.iter().filter(|layout| !layout.shown.bends.is_empty()).count().max(1);
            let bends = fit.bends[fit.bends.len() - count..].to_vec();
            PicturedTiller { picture, bends }
        });
        if began {
            self.weight_n = self.weight_n.map(|weight| weight * (-self.costs).exp());
            self.readings.clear();
            self.weak_before.append(&mut self.weak);
        }
        self.weak = even::bends_too_much(&fit).collect();
        self.readings.push(read.clone());
        self.date.clone_from(&case.reading.date);

        let wanted_n = build.target.map_or(0.0, |target| target.stack_weight_n());
        // As calibrated, where nothing was weighed.
        let begun = self.weight_n.map_or(f64::INFINITY, |weight| (weight / wanted_n).ln().max(0.0));
        let mut work = even::work([build, lower], &fit, &self.weak_before, &model.weight_fraction, begun);
        let uneven = even::uneven(&fit);
        let too_light = uneven && begun < work.all_costs;
        let effort = match (uneven, work.cuts.is_empty()) {
            (false, _) => TillerAction::Even,
            (true, _) if too_light && begun <= NEAR => TillerAction::Stop,
            (true, true) => TillerAction::Wait,
            (true, false) => TillerAction::Cut,
        };
        if effort != TillerAction::Cut {
            (work.cuts, work.costs) = (Vec::new(), 0.0);
        }
        self.costs = work.costs;
        // Work may be likely enough to be done where no stretch is sure enough to be named.
        let unnamed = effort != TillerAction::Cut || fit.stretches.is_empty();
        let unseen = (unnamed && (fit.unclear.is_some() || uneven)).then(|| unseen(&design, &fit, &layouts, &errors, sigma_mm));
        let limbs = fit.upper_less_lower();
        let own = |side: usize| fit.cells.iter().filter(move |cell| cell.side == side);
        Ok(Finding::Tiller(Box::new(TillerFound {
            began,
            together: self.readings[..self.readings.len() - 1].iter().map(|read| read.pivot_to_nock_mm).collect(),
            sigma_mm,
            resolution: resolution(stated_mm(build.units), &fit),
            wanted_mm: design.tiller_mm(),
            limbs: Some(limbs).filter(|told| SPOKEN * told.sigma < told.value.abs()),
            working_mm: [UPPER, LOWER].map(|side| {
                [own(side).next().map_or(0.0, |cell| cell.from_mm), own(side).next_back().map_or(0.0, |cell| cell.to_mm)]
            }),
            stretches: fit.stretches,
            effort,
            work,
            weak_before: self.weak_before.clone(),
            weight_n: self.weight_n,
            wanted_n,
            too_light,
            unseen,
            pictured,
        })))
    }

    /// Whether this reading begins a round.
    fn begin(&self, date: &str, read: &TillerReading) -> bool {
        let again = |other: &TillerReading| {
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
}

/// Where a picture is read, distances are told at `stated_mm`.
fn layout(read: &TillerReading, brace_mm: f64, stated_mm: &[f64]) -> GapLayout {
    let stations_mm = match read.photograph {
        Some(_) => stated_mm.to_vec(),
        None => read.gaps_mm.iter().map(|gap| gap[0]).collect(),
    };
    GapLayout {
        bending: LoadCase { brace_mm: read.brace_mm.unwrap_or(brace_mm), pivot_to_nock_mm: read.pivot_to_nock_mm },
        fixed: read.fixed,
        stations_mm,
        shown: ShownRows::default(),
    }
}

fn round_reading<'a>(
    build: &Build,
    read: &'a TillerReading,
    brace_mm: f64,
    stated_mm: &[f64],
    place: &'a Place,
) -> RoundReading<'a> {
    let distances = || RoundRead::Distances {
        read_mm: read.gaps_mm.iter().flat_map(|gap| [gap[1], gap[2]]).collect(),
        sigma_mm: read.sigma_mm.unwrap_or(usual_sigma_mm(build.units)),
    };
    let read_as = read.photograph.as_ref().map_or_else(distances, |photograph| RoundRead::Picture { photograph, place });
    RoundReading { layout: layout(read, brace_mm, stated_mm), read: read_as }
}

/// Readings that cannot be meant.
fn asked(limbs: [&Build; 2], reading: &Reading, read: &TillerReading, targets: &[[f64; 2]]) -> Vec<Diagnostic> {
    let max = limbs[UPPER].nock_mm().min(limbs[LOWER].nock_mm());
    let mut questions = Vec::new();
    for (index, (gap, target)) in read.gaps_mm.iter().zip(targets).enumerate() {
        let place = reading.place.key("gaps").index(index);
        if gap[0] < 0.0 || max < gap[0] {
            let message = message!("station {} lies beyond the nock at {}", mm(gap[0]), mm(max));
            questions.push(Diagnostic::fault(place, message).hint("count stations from the bow's middle"));
            continue;
        }
        for (value, target) in gap[1..].iter().zip(target) {
            let range = PlausibleRange { expected: *target, min: 0.5 * target - 25.0, max: 1.5 * target + 25.0 };
            questions.extend(question(*value, range, "the distance", mm, &place));
        }
    }
    questions
}

/// A figure that the others of its round leave no room for: in this reading, or in one before it.
fn contradiction(build: &Build, reading: &Reading, together: &[TillerReading], odd: OddReading) -> Diagnostic {
    let gap = together[odd.layout].gaps_mm[odd.station];
    let read_mm = gap[1 + odd.side];
    let told = Span::about(read_mm - odd.off_mm.value, ODD_SIGMAS * odd.off_mm.sigma);
    let what = message!("the {} limb at station {}", words::limb(odd.side), mm(gap[0]));
    let is_own = odd.layout + 1 == together.len();
    let place = if is_own { reading.place.key("gaps").index(odd.station) } else { reading.place.clone() };
    let which = match (is_own, together[odd.layout].pivot_to_nock_mm) {
        (true, _) => Message::default(),
        (false, None) => " in the reading at brace before it".into(),
        (false, Some(draw)) => message!(" in the reading before it, drawn to {},", mm(build.stated_draw_mm(draw))),
    };
    let message = message!(
        "{}{} is read as {}, and all other places of the round leave it {} to {}",
        what,
        which,
        mm(read_mm),
        mm(told.min),
        mm(told.max)
    );
    Diagnostic::fault(place, message)
        .hint("read it once more: a string that stands so bends its limb back and forth from place to place; where it stays so, leave that place out")
        .hint(NOT_USED)
}

/// Length of the stretch that resolution is stated for.
fn stated_mm(units: System) -> f64 {
    units.either_mm(6.0, 150.0)
}

/// Stretches of that length along one limb, and σ of their stiffness.
fn sigmas_along(fit: &Fit, side: usize, length_mm: f64) -> Vec<ToldStretch> {
    let own: Vec<&LimbCell> = fit.cells.iter().filter(|cell| cell.side == side).collect();
    let end = own.last().map_or(0.0, |cell| cell.to_mm);
    own.iter()
        .filter(|cell| cell.from_mm + length_mm <= end + 1.0)
        .map(|cell| ToldStretch { from_mm: cell.from_mm, sigma_ln: fit.sigma(side, cell.from_mm, cell.from_mm + length_mm) })
        .collect()
}

fn resolution(length_mm: f64, fit: &Fit) -> Option<Resolution> {
    let along = sigmas_along(fit, UPPER, length_mm);
    let by = |a: &&ToldStretch, b: &&ToldStretch| a.sigma_ln.total_cmp(&b.sigma_ln);
    Some(Resolution { length_mm, best: *along.iter().min_by(by)?, worst: *along.iter().max_by(by)? })
}

/// What these readings could not tell, and which one would tell most.
fn unseen(design: &PairDesign<'_>, fit: &Fit, layouts: &[GapLayout], errors: &ReadingErrors, usual_mm: f64) -> Unseen {
    let off_mm = fit.off_mm.iter().map(|off| off.value.abs()).fold(0.0, f64::max);
    let (Ok([brace_mm, full_mm]), Some(last)) = (design.design_mm(), layouts.last()) else {
        return Unseen { off_mm, tells_most: TellsMost::Again };
    };
    let draws = [None, Some(0.35), Some(0.65), Some(0.95)]
        .map(|fraction| fraction.map(|fraction| brace_mm + fraction * (full_mm - brace_mm)));
    let far = |draw: &Option<f64>| {
        layouts.iter().all(|layout| match (draw, layout.bending.pivot_to_nock_mm) {
            (Some(draw), Some(read)) => 0.1 * (full_mm - brace_mm) < (draw - read).abs(),
            (draw, read) => draw.is_some() != read.is_some(),
        })
    };
    let stretch = fit.unclear.map_or((UPPER, 0.0, f64::MAX), |found| (found.side, found.from_mm, found.to_mm));
    let with = |draw: Option<f64>| {
        // Distances at the same stations, after a picture too.
        let bending = LoadCase { brace_mm, pivot_to_nock_mm: draw };
        let more = GapLayout { bending, shown: ShownRows::default(), ..last.clone() };
        let all: Vec<GapLayout> = layouts.iter().cloned().chain([more]).collect();
        let errors = errors.clone().then(ReadingErrors::each(&vec![usual_mm; 2 * last.stations_mm.len()]));
        design.model(&all).ok()?.sigma(&fit.cells, &errors, stretch)
    };
    let best = draws.into_iter().filter(far).filter_map(|draw| Some((draw, with(draw)?))).min_by(|a, b| a.1.total_cmp(&b.1));
    let tells_most = match best {
        Some((None, _)) => TellsMost::Brace,
        Some((Some(draw), _)) => TellsMost::Draw(draw),
        None => TellsMost::Again,
    };
    Unseen { off_mm, tells_most }
}
