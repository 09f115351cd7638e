//! The shop talks back: what each reading of the log says beside the model, and what is left to do.
//!
//! A fold: a [`ShopLog`] is what is known so far, [`ShopLog::read`] takes one reading, moves it on, and gives an [`Answer`]. An answer depends
//! on the readings before its own alone, so that a later one changes none. It holds no words: what was found as numbers ([`Finding`]),
//! readings beside the model, keys of the build file that would take a reading, and questions. [`words`] says it in sentences.
//!
//! Readings of one bow are kept apart from those of another ([`OneBow`]): `serial` says whose they are. Machine, shims and what finished
//! bows say are shared.
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
mod lower;
mod one_bow;
mod shot;
mod stock;
mod weighed;
pub mod words;

pub use bench::{
    AsItCame, Bench, Beside, Grinding, HeldLamination, Matched, Remedy, Resized, Rest, Restating, Scrap, Tape, Thin, Ticked,
};
pub use bending::{
    Agreement, BendFound, BendWeight, BlankFound, BowsFound, CameOff, ChosenStrips, LaminationKnown, LimbsApart, Next, NextStage,
    NockPair, PicturedTiller, Resolution, TellsMost, TestedStrip, TillerAction, TillerFound, Unseen,
};
pub use gauge::Drift;
pub use one_bow::OneBow;
pub use shot::ShotFound;
pub use stock::SheetFound;
pub use weighed::WeighedBow;

use crate::diag::{Diagnostic, Message, Place, mm};
use crate::mechanics::bow::{Options, Unstrung};
use crate::mechanics::calibration::{self, Calibrated, ComputedWeight};
use crate::mechanics::glueup::GlueUp;
use crate::mechanics::shot::loss::Loss;
use crate::model::Build;
use crate::model::log::{Log, Of, Reading, ScrapOn};
use crate::model::workshop::ShimStock;
use gauge::{Gauge, Telling};
use learnt::Learnt;
use std::collections::BTreeMap;
use std::sync::Arc;

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
    /// Those of them by which bows with a number are made.
    pub builds: BTreeMap<String, OtherBuild>,
    /// One standard deviation of a bow's weight from the scatter of woods, as a fraction of it.
    pub scatter: f64,
    /// Where tiller and amounts are stated, mm.
    pub stations_mm: Vec<f64>,
}

/// A build beside the log's own, by which bows of the log are made: its laminations have the same names.
#[derive(Debug, Clone)]
pub struct OtherBuild {
    pub build: Build,
    pub background: Arc<Background>,
}

/// The shop as far as the readings tell: the state of the fold.
#[derive(Debug, Clone)]
pub struct ShopLog {
    /// As the build file has it.
    build: Build,
    background: Arc<Background>,
    /// Each bow by its number; that of readings without one is the first, under no name.
    pub by_serial: BTreeMap<String, OneBow>,
    /// Shim stock as measured.
    pub shims: Vec<ShimStock>,
    /// This builder's bows, the build file's first.
    pub weighed: Vec<WeighedBow>,
    /// What they say of the next one, where that was asked since the last of them.
    learnt: Option<Calibrated>,
    gauge: Gauge,
    /// What sleds and scrap said of the machine, for bows that are not begun yet.
    machine: Vec<MachineReading>,
}

/// A sled or scrap.
#[derive(Debug, Clone)]
struct MachineReading {
    reading: Reading,
    /// The paper that scrap met, an index.
    paper: Option<usize>,
    /// Stock as it was known then.
    shims: Vec<ShimStock>,
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

/// An answer, and what its reading changes of the bow.
struct ReadingOutcome {
    answer: Answer,
    /// The bow as it is known from here on.
    learnt: Option<learnt::Learnt>,
    /// A finished bow as it counts for the next.
    finished: Option<bending::Finished>,
}

impl From<Answer> for ReadingOutcome {
    fn from(answer: Answer) -> ReadingOutcome {
        ReadingOutcome { answer, learnt: None, finished: None }
    }
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
    AlreadyMeasured,
    TooQuick,
    StringTouches,
}

/// What a reading is judged by, beside what is kept for its own kind.
struct Case<'a> {
    reading: &'a Reading,
    background: &'a Background,
    now: &'a Learnt,
    /// Laminations that are being ground.
    busy: &'a [usize],
    /// The build file of a bow of which the weight alone is known.
    by_weight_alone: Option<&'a str>,
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
        let background = Arc::new(background);
        ShopLog {
            by_serial: BTreeMap::from([(String::new(), OneBow::of(build, background.clone()))]),
            shims: build.shop.shims.clone(),
            weighed: background.finished.iter().map(WeighedBow::of_build_file).collect(),
            learnt: None,
            gauge: Gauge::default(),
            machine: Vec::new(),
            build: build.clone(),
            background,
        }
    }

    /// Bows are told apart in this log.
    pub fn has_serials(&self) -> bool {
        1 < self.by_serial.len()
    }

    /// What the limbs of this log's bows keep of a shot, as its `shot` readings have it; `None` without any.
    pub fn loss(&self) -> Option<Loss> {
        shot::loss_of(self.by_serial.values().map(|bow| &bow.shots))
    }

    /// Takes a reading and answers it.
    pub fn read(&mut self, reading: &Reading) -> Answer {
        let serial = reading.bow();
        if let Some(fault) = self.by_serial.get(serial).and_then(|bow| of_other_build(bow, reading)) {
            return Answer::asking(reading, vec![fault]);
        }
        let known = self.by_serial.remove(serial);
        let is_new = known.is_none();
        let mut bow = match known.map_or_else(|| self.begin(reading), Ok) {
            Ok(bow) => bow,
            Err(fault) => return Answer::asking(reading, vec![fault]),
        };
        if !serial.is_empty() && self.weighed.len() != self.background.finished.len() {
            let own = self.learnt.take().or_else(|| self.fleet().map(|fleet| fleet.calibrated()));
            bow.stiffened_by(own);
            self.learnt = own;
        }
        let paper = reading.of.lamination().and_then(|lamination| bow.paper_to_come(lamination));
        let before = if matches!(reading.of, Of::Bow(_)) { self.observations(serial) } else { Vec::new() };
        let ReadingOutcome { mut answer, finished, .. } = bow.read(reading, &mut self.shims, &before);
        if let Some(telling) = telling(&answer, &bow.benches) {
            answer.drift = self.gauge.told(telling);
        }
        let is_used = answer.questions.is_empty();
        if let (Some(finished), Of::Bow(weighing)) = (finished, &reading.of) {
            self.learnt = None;
            self.weighed.retain(|known| serial.is_empty() || known.serial != serial);
            self.weighed.push(WeighedBow {
                serial: serial.to_owned(),
                date: reading.date.clone(),
                build_file: bow.build_file.clone().or(reading.build_file.clone()),
                observation: finished.observation,
                computed: Some(finished.computed),
                weight_n: weighing.weight_n,
                mass_kg: weighing.mass_kg,
                glued: if serial.is_empty() { reading.glued.clone() } else { bow.glued_by(reading) },
            });
        }
        if is_used && matches!(reading.of, Of::Sled { .. } | Of::TestStrip { lamination: Some(_), .. }) {
            self.hear(MachineReading { reading: reading.clone(), paper, shims: self.shims.clone() });
        }
        if is_used || !is_new {
            self.by_serial.insert(serial.to_owned(), bow);
        }
        answer
    }

    /// A bow of which nothing was read before: the machine stands as it was read last.
    fn begin(&self, reading: &Reading) -> Result<OneBow, Diagnostic> {
        let own = || OneBow::of(&self.build, self.background.clone());
        let mut bow = match reading.build_file.as_deref().map(|path| (path, self.background.builds.get(path))) {
            None => own(),
            Some((path, Some(other))) => OneBow::of(&other.build, other.background.clone()).made_by(path),
            Some((path, None)) if matches!(reading.of, Of::Bow(_)) => own().made_by(path).weight_alone(),
            Some((path, None)) => return Err(no_other_weight(path, reading.place.key("build"))),
        };
        self.machine.iter().for_each(|heard| bow.hear(heard));
        Ok(bow)
    }

    /// All other bows that are still worked on hear of the machine; so do those to come.
    fn hear(&mut self, heard: MachineReading) {
        self.by_serial.values_mut().filter(|bow| !bow.finished).for_each(|bow| bow.hear(&heard));
        // A later scrap says all that an earlier one said, and a sled measured before it is known by its last heights.
        if let Of::TestStrip { lamination, .. } = &heard.reading.of {
            let own = |other: &MachineReading| other.reading.of.lamination() == *lamination;
            let last_sled = self.machine.iter().rposition(|other| own(other) && matches!(other.reading.of, Of::Sled { .. }));
            let mut at = 0;
            self.machine.retain(|other| {
                at += 1;
                !own(other) || last_sled == Some(at - 1)
            });
        }
        self.machine.push(heard);
    }
}

/// A bow stays of the build file that it was begun by; of one that is known by its weight alone nothing else can be held against a model.
fn of_other_build(bow: &OneBow, reading: &Reading) -> Option<Diagnostic> {
    if let Some(path) = bow.build_file.as_deref().filter(|_| bow.weight_alone && !matches!(reading.of, Of::Bow(_))) {
        return Some(no_other_weight(path, reading.place.key("serial")));
    }
    let said = reading.build_file.as_deref().filter(|_| reading.serial.is_some())?;
    if bow.build_file.as_deref() == Some(said) {
        return None;
    }
    let was = bow.build_file.as_deref().map_or("this build file".to_owned(), |path| format!("`{path}`"));
    let message = format!("bow {} was begun by {was}, and this says `{said}`", reading.bow());
    let fault = Diagnostic::fault(reading.place.key("build"), message);
    Some(fault.hint("take `build` out if it is the same bow, or give this one a number of its own"))
}

fn no_other_weight(path: &str, place: Place) -> Diagnostic {
    let message =
        format!("`{path}` could not be read as another weight of this build file: its laminations have to have the same names");
    Diagnostic::fault(place, message)
        .hint("log other bows beside their own build files; here, their finished weight counts alone (of = \"bow\")")
}

/// What an answer tells of the gauge's zero on the bare table.
fn telling(answer: &Answer, benches: &[Bench]) -> Option<Telling> {
    let bench = benches.iter().find(|bench| Some(bench.lamination) == answer.reading.of.lamination());
    let on_sled = matches!(answer.reading.of, Of::TestStrip { on: ScrapOn::Sled, .. });
    let shift_mm = bench.filter(|_| on_sled).map_or(0.0, |bench| bench.shift_mm);
    let (zero_mm, half_width_mm, paper) = match &answer.finding {
        Finding::Zero(scrap) => (scrap.offset_mm + shift_mm, scrap.half_width_mm, bench.and_then(Bench::paper_to_come)),
        Finding::Strip(grinding) => (grinding.zero_mm?, grinding.half_width_mm?, bench.and_then(Bench::paper_on)),
        _ => return None,
    };
    Some(Telling { date: answer.reading.date.clone(), zero_mm, half_width_mm, paper })
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
