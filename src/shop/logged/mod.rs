//! The shop talks back: what each reading of the log says beside the model, and what is left to do.
//!
//! A fold: a [`ShopLog`] is what is known so far, [`ShopLog::read`] takes one reading, moves it on, and gives an [`Answer`]. An answer depends
//! on the readings before its own alone, so that a later one changes none. It holds no words: what was found as numbers ([`Finding`]),
//! readings beside the model, keys of the build file that would take a reading, and questions. [`words`] says it in sentences.
//!
//! Readings out of all reason ([`super::plausible`]) are asked about and not used. Nothing overrides the build file: where a reading
//! belongs there, the answer names the key that would take it.
//!
//! | reading | used by what comes after it |
//! |---|---|
//! | shim | shims and tape are made up from stock as measured |
//! | sled | every gap of that lamination's schedule moves with the sled's highest place |
//! | test strip, strip | gaps and passes that are left, until the next one |
//! | strip | the build as made, which blank, tiller and bow are held against |
//! | done | which passes are left, and nothing else |
//! | bend | the modulus of that lamination, in everything below and in sizing |
//! | release | the shape of what is glued, and how the next stage is held |
//! | blank | the model's stiffness for this blank, what is off it, and what to take off |
//! | tiller | the fit of the same round, until wood comes off |
//! | bow | the model's stiffness for bows to come; the weight at which this one is shot |
//! | shot | what the limbs keep, of this bow |

mod bench;
mod bending;
mod gauge;
mod learnt;
mod shot;
mod stock;
pub mod words;

pub use bench::{
    AsItCame, Bench, Beside, Grinding, HeldLamination, Matched, Remedy, Resized, Rest, Restating, Scrap, Tape, Thin, Ticked,
};
pub use bending::{
    Agreement, BendFound, BendWeight, BlankFound, BowsFound, CameOff, ChosenStrips, Effort, LaminationKnown, LimbsApart, Next,
    NextStage, NockPair, PicturedTiller, Resolution, TellsMost, TestedStrip, TillerFound, Unseen,
};
pub use gauge::Drift;
pub use shot::ShotFound;
pub use stock::SheetFound;

use crate::diag::{Diagnostic, Message, mm};
use crate::mechanics::bow::{Options, Unstrung};
use crate::mechanics::calibration::{self, Calibrated, ComputedWeight};
use crate::mechanics::glueup::GlueUp;
use crate::mechanics::shot::loss::Loss;
use crate::model::Build;
use crate::model::log::{Log, Of, Reading};
use crate::model::workshop::ShimStock;
use gauge::{Gauge, Telling};
use learnt::Learnt;
use std::collections::BTreeMap;

/// What is known besides the build and the log.
#[derive(Debug, Clone, Default)]
pub struct Background {
    pub glued: Option<GlueUp>,
    /// How the build's bow is solved; its stiffness factor is that of the build file's finished bows.
    pub options: Options,
    /// The build file's finished bows.
    pub finished: Vec<calibration::WeightObservation>,
    /// The lower limb's build and unbraced shape, where it differs by design.
    pub lower: Option<(Build, Unstrung)>,
    /// What the model gives for other builds that the log names.
    pub designs: BTreeMap<String, ComputedWeight>,
    /// One standard deviation of a bow's weight from the scatter of woods, as a fraction of it.
    pub scatter: f64,
    /// Where tiller and amounts are stated, mm.
    pub stations_mm: Vec<f64>,
}

/// The shop as far as the readings tell: the state of the fold.
#[derive(Debug, Clone)]
pub struct ShopLog {
    /// As the build file has it.
    build: Build,
    background: Background,
    /// In the order of the build's laminations: those that are ground on this machine.
    pub benches: Vec<Bench>,
    /// Shim stock as measured.
    pub shims: Vec<ShimStock>,
    /// This builder's bows, the build file's first.
    finished: Vec<calibration::WeightObservation>,
    gauge: Gauge,
    learnt: Learnt,
    tests: bending::Tests,
    worked: bending::Worked,
    round: bending::Round,
    shots: shot::Shots,
}

/// All answers, in the order of the log, and where they leave the shop.
#[derive(Debug, Clone)]
pub struct Answers {
    pub answers: Vec<Answer>,
    pub shop: ShopLog,
}

/// What one reading says.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    pub reading: Reading,
    /// Readings beside the model.
    pub observations: Vec<Observation>,
    pub finding: Finding,
    /// The gauge's zero moved since it was told before.
    pub drift: Option<Drift>,
    /// Keys of the build file that would take a reading, the latest of each.
    pub take_over: Vec<TakeOver>,
    /// What is asked about; such a reading is not used.
    pub questions: Vec<Diagnostic>,
}

/// A reading beside the model, in mm, N, MPa or as a ratio.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    pub of: Observed,
    pub reading: f64,
    pub model: f64,
    /// Half width within which reading and model agree; `None` where the model promises nothing.
    pub band: Option<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Observed {
    /// Of a sheet or of shim stock.
    Thickness,
    /// Of a sled above the table.
    Height {
        u_mm: f64,
    },
    /// Of a strip or scrap.
    ThicknessAt {
        u_mm: f64,
    },
    LeftLessRight,
    /// A printed bar.
    Across,
    Up,
    StripModulus,
    /// Draw weight with the strips as tested.
    TestedWeight,
    /// Draw weight with one lamination held as it came out.
    HeldWeight,
    /// Rise of both nocks in the mean, of the upper, of the lower one.
    Nocks,
    UpperNock,
    LowerNock,
    BlankWeight,
    /// Against the handbook's.
    Stiffness,
    TrimmedWeight,
    /// From belly to string; `side` as in [`crate::mechanics::tillering`].
    Distance {
        side: usize,
        station_mm: f64,
    },
    FullDrawWeight,
    ArrowSpeed,
}

/// What numbers are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Thickness or height, mm.
    Thickness,
    /// Along the wood, or to the string, mm.
    Length,
    /// N.
    Force,
    Ratio,
    /// MPa.
    Modulus,
    /// Of an arrow, mm/s.
    Speed,
}

impl Observed {
    pub fn measure(self) -> Measure {
        match self {
            Observed::Thickness | Observed::Height { .. } | Observed::ThicknessAt { .. } | Observed::LeftLessRight => {
                Measure::Thickness
            }
            Observed::Across
            | Observed::Up
            | Observed::Nocks
            | Observed::UpperNock
            | Observed::LowerNock
            | Observed::Distance { .. } => Measure::Length,
            Observed::StripModulus => Measure::Modulus,
            Observed::Stiffness => Measure::Ratio,
            Observed::ArrowSpeed => Measure::Speed,
            Observed::TestedWeight
            | Observed::HeldWeight
            | Observed::BlankWeight
            | Observed::TrimmedWeight
            | Observed::FullDrawWeight => Measure::Force,
        }
    }
}

impl Observation {
    pub fn difference(&self) -> f64 {
        self.reading - self.model
    }
}

/// A value for the build file.
#[derive(Debug, Clone, PartialEq)]
pub struct TakeOver {
    /// The key's path in the build file, such as `lamination[1].ground`; for an option, the command that takes it.
    pub key: String,
    pub value: TakenValue,
}

#[derive(Debug, Clone, PartialEq)]
pub enum TakenValue {
    Length(f64),
    Ratio(f64),
    /// MPa.
    Modulus(f64),
    /// Stations and thickness, mm.
    Stations(Vec<(f64, f64)>),
    /// Text for the command line.
    Option(String),
}

/// What was found, and what follows.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// The reading was asked about; nothing follows from it.
    Nothing,
    /// The reading is sound, and there is nothing that it could tell.
    Silent(Silence),
    Sheet(SheetFound),
    /// Shim stock, mm.
    Shim {
        thickness_mm: f64,
    },
    Print {
        across_mm: f64,
        up_mm: f64,
        true_size: bool,
    },
    Tape(Tape),
    Zero(Scrap),
    Done(Ticked),
    Strip(Box<Grinding>),
    Bend(Box<BendFound>),
    Release(Box<CameOff>),
    Blank(Box<BlankFound>),
    Tiller(Box<TillerFound>),
    Bows(BowsFound),
    Shot(ShotFound),
}

/// Why a sound reading tells nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Silence {
    NoSled,
    NoGlueUp,
    TooLittleReflex,
    NotFitted,
    StringTouches,
}

/// What a reading is judged by, beside what is kept for its own kind.
struct Case<'a> {
    reading: &'a Reading,
    background: &'a Background,
    now: &'a Learnt,
    /// Laminations that are being ground.
    busy: &'a [usize],
}

/// Answers a log; see [`Background`].
pub fn answers(build: &Build, log: &Log, background: Background) -> Answers {
    let mut shop = ShopLog::new(build, background);
    let answers = log.readings.iter().map(|reading| shop.read(reading)).collect();
    Answers { answers, shop }
}

impl ShopLog {
    /// Before any reading.
    pub fn new(build: &Build, background: Background) -> ShopLog {
        ShopLog {
            benches: (0..build.laminations.len()).filter_map(|index| Bench::of(build, index)).collect(),
            shims: build.shop.shims.clone(),
            finished: background.finished.clone(),
            gauge: Gauge::default(),
            learnt: Learnt::of(build, &background),
            tests: bending::Tests::default(),
            worked: bending::Worked::default(),
            round: bending::Round::default(),
            shots: shot::Shots::default(),
            build: build.clone(),
            background,
        }
    }

    /// What this builder's bows say of the next one.
    pub fn bows(&self) -> Option<Calibrated> {
        calibration::calibrated(&self.finished)
    }

    /// What this bow's limbs keep of a shot, as its `shot` readings have it; `None` without any.
    pub fn loss(&self) -> Option<Loss> {
        self.shots.loss()
    }

    /// Takes a reading and answers it.
    pub fn read(&mut self, reading: &Reading) -> Answer {
        let busy: Vec<usize> = self.benches.iter().filter(|bench| bench.begun()).map(|bench| bench.lamination).collect();
        let now = &self.learnt;
        let case = Case { reading, background: &self.background, now, busy: &busy };
        let mut learnt = None;
        let mut answer = match &reading.of {
            Of::Sled { lamination, heights_mm } => match bench_of(&mut self.benches, *lamination) {
                Some(bench) => bench.sled(&case, heights_mm, &self.shims),
                None => nothing_to_grind(&now.build, reading, *lamination),
            },
            Of::TestStrip { lamination, run, .. } => {
                let bench = lamination.and_then(|lamination| bench_of(&mut self.benches, lamination));
                bench::test_strip(&case, bench, run)
            }
            Of::Strip { lamination, strip, run } => match bench_of(&mut self.benches, *lamination) {
                Some(bench) => bench.strip(&case, strip, run),
                None => nothing_to_grind(&now.build, reading, *lamination),
            },
            Of::Done { lamination, strip, pass } => match bench_of(&mut self.benches, *lamination) {
                Some(bench) => bench.done(&case, strip, *pass),
                None => nothing_to_grind(&now.build, reading, *lamination),
            },
            Of::Sheet { thickness_mm } => stock::sheet(&now.build, reading, thickness_mm),
            Of::Shim { stock, thickness_mm } => stock::shim(&now.build, reading, *stock, thickness_mm, &mut self.shims),
            Of::Print { across_mm, up_mm } => stock::print(reading, *across_mm, *up_mm),
            Of::Bend(test) => {
                let (answer, more) = bending::bend(&case, &self.build, test, &mut self.tests);
                learnt = more;
                answer
            }
            Of::Release { stage, tips } => {
                let (answer, more) = bending::release(&case, *stage, *tips);
                learnt = more;
                answer
            }
            Of::Blank { bent, weight_n, taken_off } => {
                let made = bench::as_made(&now.build, &self.benches);
                let weighing = bending::Weighing { bent: *bent, weight_n: *weight_n, taken_off };
                bending::blank(&case, &made, &weighing, &mut self.worked)
            }
            Of::Tiller(read) => self.round.tiller(&case, &bench::as_made(&now.build, &self.benches), read),
            Of::Shot(shot) => self.shots.read(&case, &bench::as_made(&now.build, &self.benches), shot),
            Of::Bow(bow) => {
                bending::bow(&case, &bench::as_made(&now.build, &self.benches), bow, &self.worked, &mut self.finished)
            }
        };
        if let Some(telling) = telling(&answer, &self.benches) {
            answer.drift = self.gauge.told(telling);
        }
        if let (Finding::Bows(_), Of::Bow(bow)) = (&answer.finding, &reading.of)
            && bow.build_file.is_none()
        {
            self.shots.weighed_n = Some(bow.weight_n);
        }
        if let Finding::Blank(found) = &answer.finding {
            self.round.weighed(found.removal.trimmed_n);
        }
        if let Some(learnt) = learnt {
            self.learnt = learnt;
        }
        answer
    }
}

fn bench_of(benches: &mut [Bench], lamination: usize) -> Option<&mut Bench> {
    benches.iter_mut().find(|bench| bench.lamination == lamination)
}

/// What an answer tells of the gauge's zero on the bare table.
fn telling(answer: &Answer, benches: &[Bench]) -> Option<Telling> {
    let bench = benches.iter().find(|bench| Some(bench.lamination) == answer.reading.of.lamination());
    let on_sled = matches!(answer.reading.of, Of::TestStrip { on_sled: true, .. });
    let shift_mm = bench.filter(|_| on_sled).map_or(0.0, |bench| bench.shift_mm);
    let (zero_mm, half_width_mm, paper) = match &answer.finding {
        Finding::Zero(scrap) => (scrap.offset_mm + shift_mm, scrap.half_width_mm, bench.and_then(Bench::paper_to_come)),
        Finding::Strip(grinding) => (grinding.zero_mm?, grinding.half_width_mm?, bench.and_then(Bench::paper_on)),
        _ => return None,
    };
    Some(Telling { date: answer.reading.date.clone(), zero_mm, half_width_mm, paper })
}

fn nothing_to_grind(build: &Build, reading: &Reading, lamination: usize) -> Answer {
    let lamination = &build.laminations[lamination];
    let why = if lamination.ground {
        format!("`{}` is already ground: the build file holds it as measured", lamination.name)
    } else {
        format!("`{}` has no schedule: there is no sander in the build file, or its sled cannot be made", lamination.name)
    };
    let hint = "`taperwright check` says what is missing";
    Answer::asking(reading, vec![Diagnostic::fault(reading.place.clone(), why).hint(hint)])
}

impl Answer {
    fn new(reading: &Reading) -> Answer {
        Answer {
            reading: reading.clone(),
            observations: Vec::new(),
            finding: Finding::Nothing,
            drift: None,
            take_over: Vec::new(),
            questions: Vec::new(),
        }
    }

    /// A reading that is not used.
    fn asking(reading: &Reading, questions: Vec<Diagnostic>) -> Answer {
        Answer { questions, ..Answer::new(reading) }
    }

    /// A reading that tells nothing.
    fn silent(self, why: Silence) -> Answer {
        Answer { finding: Finding::Silent(why), ..self }
    }

    fn observe(&mut self, of: Observed, reading: f64, model: f64, band: Option<f64>) {
        self.observations.push(Observation { of, reading, model, band });
    }

    fn ask(&mut self, fault: Diagnostic) {
        self.questions.push(Diagnostic { place: self.reading.place.clone(), ..fault });
    }
}

/// A length with its sign: `+0.004 in`.
fn signed(length_mm: f64) -> Message {
    if length_mm < 0.0 { message!("-{}", mm(-length_mm)) } else { message!("+{}", mm(length_mm)) }
}
