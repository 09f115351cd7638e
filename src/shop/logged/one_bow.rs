//! One bow as far as the log tells: its strips at the machine, what it was tested and glued to, the blank, its tiller, weight and shots.
//!
//! A log of several bows keeps one of these for each number; the readings without a number are of one more. What one of them is says
//! nothing of another. Shared are the machine (sleds and scrap, which every bow that is not finished hears), shims, and what finished bows
//! make of the handbook's stiffness.

use super::bench::{self, Bench};
use super::learnt::Learnt;
use super::{Answer, Background, Case, Finding, MachineReading, ReadingOutcome, Silence, bending, shot, stock};
use crate::diag::Diagnostic;
use crate::mechanics::calibration::{Calibrated, WeightObservation};
use crate::model::Build;
use crate::model::log::{GluedUnder, Of, Reading};
use crate::model::workshop::ShimStock;
use std::sync::Arc;

/// A bow's state.
#[derive(Debug, Clone)]
pub struct OneBow {
    /// The build file that it is made by, where that is not the log's own.
    pub build_file: Option<String>,
    /// Of that build file the weight alone is known: its laminations are others.
    pub(super) weight_alone: bool,
    /// As its build file has it.
    build: Build,
    background: Arc<Background>,
    /// In the order of the build's laminations: those that are ground on this machine.
    pub benches: Vec<Bench>,
    /// It has been weighed finished.
    pub finished: bool,
    /// As its releases said.
    glued: GluedUnder,
    learnt: Learnt,
    tests: bending::Tests,
    worked: bending::Worked,
    round: bending::Round,
    pub(super) shots: shot::Shots,
}

impl OneBow {
    /// Before any reading.
    pub(super) fn of(build: &Build, background: Arc<Background>) -> OneBow {
        OneBow {
            build_file: None,
            weight_alone: false,
            benches: (0..build.laminations.len()).filter_map(|index| Bench::of(build, index)).collect(),
            finished: false,
            glued: GluedUnder::default(),
            learnt: Learnt::of(build, &background),
            tests: bending::Tests::default(),
            worked: bending::Worked::default(),
            round: bending::Round::default(),
            shots: shot::Shots::default(),
            build: build.clone(),
            background,
        }
    }

    /// A bow of this build file.
    pub(super) fn made_by(self, build_file: &str) -> OneBow {
        OneBow { build_file: Some(build_file.to_owned()), ..self }
    }

    /// A bow of a build file of which the weight alone is known.
    pub(super) fn weight_alone(self) -> OneBow {
        OneBow { weight_alone: true, benches: Vec::new(), ..self }
    }

    /// Finished bows say this of it by now; what it weighs itself is no news to it.
    pub(super) fn stiffened_by(&mut self, own: Option<Calibrated>) {
        if let Some(own) = own.filter(|_| !self.finished) {
            self.learnt.stiffened(own.factor);
        }
    }

    /// What it was glued with, as this reading says or its releases said.
    pub(super) fn glued_by(&self, reading: &Reading) -> GluedUnder {
        let GluedUnder { batch, temperature_c } = reading.glued.clone();
        GluedUnder {
            batch: batch.or_else(|| self.glued.batch.clone()),
            temperature_c: temperature_c.or(self.glued.temperature_c),
        }
    }

    /// The paper that the next cut of a lamination is made with, an index.
    pub(super) fn paper_to_come(&self, lamination: usize) -> Option<usize> {
        let bench = self.benches.iter().find(|bench| bench.lamination == lamination)?;
        bench.paper_to_come().map(|on| on.paper)
    }

    /// What another bow's scrap, or a sled, says of the machine: of the paper that is on, scrap alone tells.
    pub(super) fn hear(&mut self, of_machine: &MachineReading) {
        let mut heard = of_machine.reading.clone();
        if let Of::TestStrip { lamination: Some(lamination), run, .. } = &mut heard.of {
            if self.paper_to_come(*lamination) != of_machine.paper {
                return;
            }
            // Its passes are another's.
            run.after = 0;
        }
        self.read(&heard, &mut of_machine.shims.clone(), &[]);
    }

    /// Takes a reading and answers it; `finished` are the bows that were weighed before.
    pub(super) fn read(&mut self, reading: &Reading, shims: &mut [ShimStock], finished: &[WeightObservation]) -> ReadingOutcome {
        let busy: Vec<usize> = self.benches.iter().filter(|bench| bench.begun()).map(|bench| bench.lamination).collect();
        let now = &self.learnt;
        let path = self.build_file.as_deref().or(reading.build_file.as_deref());
        let by_weight_alone = path.filter(|_| self.weight_alone || reading.serial.is_none());
        let case = Case { reading, background: &self.background, now, busy: &busy, by_weight_alone };
        let mut outcome: ReadingOutcome = match &reading.of {
            Of::Sled { lamination, heights_mm } => match bench_of(&mut self.benches, *lamination) {
                Some(bench) => {
                    let mut answer = bench.sled(&case, heights_mm, shims);
                    if let Finding::Tape(tape) = &mut answer.finding {
                        tape.also = on_the_same_sled(&now.build, &self.benches, *lamination);
                        for other in &tape.also {
                            bench_of(&mut self.benches, *other).map(|bench| bench.sled(&case, heights_mm, shims));
                        }
                    }
                    answer.into()
                }
                None => nothing_to_grind(&now.build, reading, *lamination).into(),
            },
            Of::TestStrip { lamination, on, run } => {
                let bench = lamination.and_then(|lamination| bench_of(&mut self.benches, lamination));
                bench::test_strip(&case, bench, *on, run).into()
            }
            Of::Strip { lamination, strip, run } => match bench_of(&mut self.benches, *lamination) {
                Some(bench) => bench.strip(&case, strip, run).into(),
                None => nothing_to_grind(&now.build, reading, *lamination).into(),
            },
            Of::Done { lamination, strip, pass } => match bench_of(&mut self.benches, *lamination) {
                Some(bench) => bench.done(&case, strip, *pass).into(),
                None => nothing_to_grind(&now.build, reading, *lamination).into(),
            },
            Of::Sheet { thickness_mm } => stock::sheet(&now.build, reading, thickness_mm).into(),
            Of::Shim { stock, thickness_mm } => stock::shim(&now.build, reading, *stock, thickness_mm, shims).into(),
            Of::Print { across_mm, up_mm } => stock::print(reading, *across_mm, *up_mm).into(),
            Of::Bend(test) => bending::bend(&case, &self.build, test, &mut self.tests),
            Of::Release { stage, tips } => bending::release(&case, *stage, *tips),
            Of::Blank { bent, weight_n, taken_off } => {
                let made = bench::as_made(&now.build, &self.benches);
                let weighing = bending::Weighing { bent: *bent, weight_n: *weight_n, taken_off };
                bending::blank(&case, &made, &weighing, &mut self.worked).into()
            }
            Of::Tiller(read) => self.round.tiller(&case, &bench::as_made(&now.build, &self.benches), read).into(),
            Of::Shot(shot) => self.shots.read(&case, &bench::as_made(&now.build, &self.benches), shot).into(),
            Of::Bow(bow) => {
                let made = bench::as_made(&now.build, &self.benches);
                bending::bow(&case, &made, bow, &self.worked, finished)
            }
        };
        if let (Some(_), Of::Bow(bow), None) = (outcome.finished, &reading.of, by_weight_alone) {
            self.shots.weighed_n = Some(bow.weight_n);
        }
        self.finished |= outcome.finished.is_some();
        if let Finding::Blank(found) = &outcome.answer.finding {
            self.round.weighed(found.removal.trimmed_n);
        }
        if outcome.answer.questions.is_empty() {
            self.glued = self.glued_by(reading);
        }
        if let Some(learnt) = outcome.learnt.take() {
            self.learnt = learnt;
        }
        outcome
    }
}

fn bench_of(benches: &mut [Bench], lamination: usize) -> Option<&mut Bench> {
    benches.iter_mut().find(|bench| bench.lamination == lamination)
}

/// Other laminations whose strips lie on a lamination's sled.
fn on_the_same_sled(build: &Build, benches: &[Bench], lamination: usize) -> Vec<usize> {
    let is_own = |bench: &Bench| bench.lamination == lamination;
    let Some(own) = benches.iter().find(|bench| is_own(bench)).and_then(|bench| bench.seat(build)) else { return Vec::new() };
    let alike = |bench: &&Bench| !is_own(bench) && bench.seat(build).is_some_and(|other| other.is_like(&own));
    benches.iter().filter(alike).map(|bench| bench.lamination).collect()
}

fn nothing_to_grind(build: &Build, reading: &Reading, lamination: usize) -> Answer {
    let lamination = &build.laminations[lamination];
    if lamination.ground {
        return Answer::new(reading).silent(Silence::AlreadyMeasured);
    }
    let why = format!("`{}` has no schedule: there is no sander in the build file, or its sled cannot be made", lamination.name);
    let hint = "`taperwright check` says what is missing";
    Answer::asking(reading, vec![Diagnostic::fault(reading.place.clone(), why).hint(hint)])
}
