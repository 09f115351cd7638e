//! The shop talks back: what each reading of the log says beside the model, and what is left to do.
//!
//! Readings are taken in the order of the log. Each becomes an [`Answer`]: the reading, the model, their difference and the band
//! within which they agree, then what to do about it. Readings out of all reason ([`super::plausible`]) are asked about and not
//! used. Nothing overrides the build file: where a reading belongs there, the answer says which key would take it. What a reading was
//! answered stays: it depends on the readings before it alone.
//!
//! | reading | used by what comes after it |
//! |---|---|
//! | shim | shims and tape are made up from stock as measured |
//! | sled | every gap of that lamination's schedule moves with the sled's highest place |
//! | test strip, strip | gaps and passes that are left, until the next one |
//! | strip | the build as made, which blank, tiller and bow are held against |
//! | bend | the modulus of that lamination, in everything below and in sizing |
//! | release | the shape of what is glued, and how the next stage is held |
//! | blank | the model's stiffness for this blank, what is off it, and what to take off |
//! | tiller | the fit of the same round, until wood comes off |
//! | bow | the model's stiffness for bows to come |

mod bench;
mod bending;
mod gauge;
mod learnt;
mod stock;

pub use bench::{Bench, Grinding, Resized};
pub use bending::{BendFound, LaminationKnown, Next, ReleaseFound};

use crate::diag::{Diagnostic, mm};
use crate::mechanics::bow::{Options, Unstrung};
use crate::mechanics::calibration::{self, Calibrated, ComputedWeight};
use crate::mechanics::glueup::GlueUp;
use crate::mechanics::tiller_fit::Stretch;
use crate::model::Build;
use crate::model::log::{Log, Of, Reading};
use crate::model::workshop::ShimStock;
use crate::shop::blank::Removal;
use crate::shop::correct::Correction;
use crate::shop::even::Work;
use gauge::{Gauge, Telling};
use learnt::Learnt;
use std::collections::BTreeMap;

/// What is known besides the build and the log.
pub struct Known<'a> {
    pub glued: Option<&'a GlueUp>,
    /// How the build's bow is solved; its stiffness factor is that of the build file's finished bows.
    pub options: &'a Options,
    /// The build file's finished bows.
    pub finished: Vec<calibration::WeightObservation>,
    /// The lower limb's build and unbraced shape, where it differs by design.
    pub lower: Option<(&'a Build, Unstrung)>,
    /// What the model gives for other builds that the log names.
    pub designs: BTreeMap<String, ComputedWeight>,
    /// One standard deviation of a bow's weight from the scatter of woods, as a share of it.
    pub scatter: f64,
    /// Where tiller and amounts are stated, mm.
    pub stations_mm: Vec<f64>,
}

/// All answers, in the order of the log, and what they come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Answers {
    pub answers: Vec<Answer>,
    /// In the order of the build's laminations: those that are ground on this machine.
    pub benches: Vec<Bench>,
    /// Shim stock as measured.
    pub shims: Vec<ShimStock>,
    /// Of this builder's bows, the log's and the build file's.
    pub bows: Option<Calibrated>,
}

/// What one reading says.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    pub date: String,
    /// The kind of reading, as the log names it.
    pub kind: &'static str,
    /// What was read, such as `sled for core`.
    pub about: String,
    /// The lamination whose schedule it moves, an index.
    pub lamination: Option<usize>,
    pub rows: Vec<Row>,
    /// What follows, a sentence each; lengths and forces are marked as in messages.
    pub says: Vec<String>,
    /// Keys of the build file that would take a reading, the latest of each.
    pub take_over: Vec<TakeOver>,
    /// Readings that were asked about and not used.
    pub questions: Vec<Diagnostic>,
    pub found: Found,
}

/// A reading beside the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    pub what: String,
    pub of: Measure,
    pub reading: f64,
    pub model: f64,
    /// Half width within which reading and model agree; `None` where the model promises nothing.
    pub band: Option<f64>,
}

/// What a row's numbers are, in mm, N, MPa or as a ratio.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Thickness or height.
    Thickness,
    /// Along the wood, or to the string.
    Length,
    Force,
    Ratio,
    /// MPa.
    Modulus,
}

impl Row {
    pub fn difference(&self) -> f64 {
        self.reading - self.model
    }
}

/// A value for the build file.
#[derive(Debug, Clone, PartialEq)]
pub struct TakeOver {
    /// The key's path in the build file, such as `lamination[1].ground`; for an option, the command that takes it.
    pub key: String,
    pub value: Value,
}

#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    Length(f64),
    Ratio(f64),
    /// MPa.
    Modulus(f64),
    /// Stations and thickness, mm.
    Stations(Vec<(f64, f64)>),
    /// Text for the command line.
    Option(String),
}

/// The numbers behind an answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Found {
    /// The reading was asked about; nothing follows from it.
    Nothing,
    Tape(Correction),
    /// True gap less gauge, mm, with half its interval, and the table's lean over the strips' width, left less right.
    Zero {
        offset_mm: f64,
        half_width_mm: f64,
        lean_mm: Option<f64>,
    },
    Strip(Grinding),
    Thickness(f64),
    Print {
        across_mm: f64,
        up_mm: f64,
    },
    Bend(Box<BendFound>),
    Release(Box<ReleaseFound>),
    Blank {
        /// All stiffness against the handbook's.
        factor: f64,
        /// Half width as a share.
        band: f64,
        removal: Box<Removal>,
    },
    /// Stretches that are spoken of, and what the round takes off.
    Tiller {
        stretches: Vec<Stretch>,
        work: Box<Work>,
    },
    Bows(Calibrated),
}

/// Goes through the log.
pub fn answers(build: &Build, log: &Log, known: &Known<'_>) -> Answers {
    let mut shims = build.shop.shims.clone();
    let mut gauge = Gauge::default();
    let mut benches: Vec<Bench> = (0..build.laminations.len()).filter_map(|index| Bench::of(build, index)).collect();
    let mut finished = known.finished.clone();
    let mut bows = calibration::calibrated(&finished);
    let mut learnt = Learnt::of(build, known);
    let mut tests = bending::Tests::default();
    let mut worked = bending::Worked::default();
    let mut round = bending::Round::default();
    let mut answers = Vec::new();
    for reading in &log.readings {
        let now = learnt.clone();
        let (written, outset, now_known) = (build, known, now.known(known));
        let (build, known) = (&now.build, &now_known);
        let busy: Vec<usize> = benches.iter().filter(|bench| bench.begun()).map(|bench| bench.lamination).collect();
        let mut answer = match &reading.of {
            Of::Sled { lamination, heights_mm } => match bench_of(&mut benches, *lamination) {
                Some(bench) => bench.sled(build, reading, heights_mm, &shims),
                None => nothing_to_grind(build, reading, *lamination),
            },
            Of::TestStrip { lamination, on_sled, run } => {
                let bench = lamination.and_then(|lamination| bench_of(&mut benches, lamination));
                bench::test_strip(build, reading, bench, *on_sled, run)
            }
            Of::Strip { lamination, strip, run } => match bench_of(&mut benches, *lamination) {
                Some(bench) => bench.strip(build, reading, strip, run, &busy, known),
                None => nothing_to_grind(build, reading, *lamination),
            },
            Of::Sheet { thickness_mm } => stock::sheet(build, reading, thickness_mm),
            Of::Shim { stock, thickness_mm } => stock::shim(build, reading, *stock, thickness_mm, &mut shims),
            Of::Print { across_mm, up_mm } => stock::print(reading, *across_mm, *up_mm),
            Of::Bend { lamination, strip, span_mm, weight_n, sag_mm, reads_mm, width_mm, thickness_mm } => {
                let bend = bending::Bend {
                    lamination: *lamination,
                    strip,
                    span_mm: *span_mm,
                    weight_n: *weight_n,
                    sag_mm,
                    reads_mm: *reads_mm,
                    width_mm,
                    thickness_mm,
                };
                let (answer, more) = bending::bend(written, reading, &bend, outset, &now, &busy, &mut tests);
                learnt = more.unwrap_or(learnt);
                answer
            }
            Of::Release { stage, tips } => {
                let (answer, more) = bending::release(reading, *stage, *tips, outset, &now);
                learnt = more.unwrap_or(learnt);
                answer
            }
            Of::Blank { bent, weight_n, shape } => {
                let made = bench::as_made(build, &benches);
                bending::blank(&made, reading, *bent, *weight_n, shape, known, &mut worked)
            }
            Of::Tiller(read) => round.tiller(&bench::as_made(build, &benches), reading, read, known),
            Of::Bow { build_file, weight_n, finishing_n, shape } => {
                let weighed =
                    bending::Weighed { build_file: build_file.as_deref(), weight_n: *weight_n, finishing_n: *finishing_n, shape };
                let made = bench::as_made(build, &benches);
                let answer = bending::bow(build, &made, reading, &weighed, &worked, known, &mut finished);
                bows = calibration::calibrated(&finished);
                answer
            }
        };
        if let Some(telling) = telling(reading, &answer, &benches) {
            answer.says.extend(gauge.told(telling));
        }
        if let Found::Blank { removal, .. } = &answer.found {
            round.weighed(removal.trimmed_n);
        }
        answers.push(answer);
    }
    Answers { answers, benches, shims, bows }
}

fn bench_of(benches: &mut [Bench], lamination: usize) -> Option<&mut Bench> {
    benches.iter_mut().find(|bench| bench.lamination == lamination)
}

/// What an answer tells of the gauge's zero on the bare table.
fn telling(reading: &Reading, answer: &Answer, benches: &[Bench]) -> Option<Telling> {
    let bench = benches.iter().find(|bench| Some(bench.lamination) == answer.lamination);
    let on_sled = matches!(reading.of, Of::TestStrip { on_sled: true, .. });
    let shift_mm = bench.filter(|_| on_sled).map_or(0.0, |bench| bench.shift_mm);
    let (zero_mm, half_width_mm, paper) = match &answer.found {
        Found::Zero { offset_mm, half_width_mm, .. } => {
            (offset_mm + shift_mm, *half_width_mm, bench.and_then(Bench::paper_to_come))
        }
        Found::Strip(grinding) => (grinding.zero_mm?, grinding.half_width_mm?, bench.and_then(Bench::paper_on)),
        _ => return None,
    };
    Some(Telling { date: reading.date.clone(), zero_mm, half_width_mm, paper })
}

fn nothing_to_grind(build: &Build, reading: &Reading, lamination: usize) -> Answer {
    let lamination = &build.laminations[lamination];
    let why = if lamination.ground {
        format!("`{}` is already ground: the build file holds it as measured", lamination.name)
    } else {
        format!("`{}` has no schedule: there is no sander in the build file, or its sled cannot be made", lamination.name)
    };
    let hint = "`taperwright check` says what is missing";
    Answer::new(reading, kind(&reading.of), lamination.name.clone())
        .asking(vec![Diagnostic::fault(reading.place.clone(), why).hint(hint)])
}

/// The word that the log has for a kind of reading.
fn kind(of: &Of) -> &'static str {
    match of {
        Of::Sled { .. } => "sled",
        Of::TestStrip { .. } => "test strip",
        Of::Strip { .. } => "strip",
        Of::Sheet { .. } => "sheet",
        Of::Shim { .. } => "shim",
        Of::Print { .. } => "print",
        Of::Bend { .. } => "bend",
        Of::Release { .. } => "release",
        Of::Blank { .. } => "blank",
        Of::Tiller(_) => "tiller",
        Of::Bow { .. } => "bow",
    }
}

impl Answer {
    fn new(reading: &Reading, kind: &'static str, about: impl Into<String>) -> Answer {
        Answer {
            date: reading.date.clone(),
            kind,
            about: about.into(),
            lamination: match &reading.of {
                Of::Sled { lamination, .. } | Of::Strip { lamination, .. } => Some(*lamination),
                Of::TestStrip { lamination, .. } => *lamination,
                _ => None,
            },
            rows: Vec::new(),
            says: Vec::new(),
            take_over: Vec::new(),
            questions: Vec::new(),
            found: Found::Nothing,
        }
    }

    fn asking(self, questions: Vec<Diagnostic>) -> Answer {
        Answer { questions, ..self }
    }

    fn say(&mut self, sentence: impl Into<String>) {
        self.says.push(sentence.into());
    }
}

/// A length with its sign, for sentences: `+0.004 in`.
fn signed(length_mm: f64) -> String {
    if length_mm < 0.0 { format!("-{}", mm(-length_mm)) } else { format!("+{}", mm(length_mm)) }
}

/// Warnings of other rooms as sentences.
fn sentence(diagnostic: &Diagnostic) -> String {
    let mut text = diagnostic.message.clone();
    for hint in &diagnostic.hints {
        text.push_str("; ");
        text.push_str(hint);
    }
    text
}
