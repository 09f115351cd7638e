//! Answers in sentences: for the command line, and for whoever else shows them. Nothing is judged here.
//!
//! Lengths, forces and moduli get their units where the sentences are shown ([`Message`]). Names are those of the build file.

mod bench;
mod bending;
mod tiller;

pub use bending::{as_wide_as, strip_name};
pub use tiller::{PartMark, marked, told_mm};

use super::{Answer, Drift, Finding, Observed, SheetFound, ShotFound, Silence, signed};
use crate::diag::{Diagnostic, Message, arrow_speed, mm, small_mass};
use crate::mechanics::shot::loss::Loss;
use crate::mechanics::tillering::UPPER;
use crate::model::Build;
use crate::model::log::{BlankBending, Of, Reading, ScrapOn};
use crate::model::workshop::SledStock;
use crate::numeric::span::Span;
use crate::units::fixed;

/// How a limb is told from the other one.
pub fn limb(side: usize) -> &'static str {
    if side == UPPER { "upper" } else { "lower" }
}

/// What was read, such as `sled for core`.
pub fn about(build: &Build, reading: &Reading) -> Message {
    let name = |lamination: &usize| build.laminations[*lamination].name.as_str();
    match &reading.of {
        Of::Sled { lamination, .. } => message!("sled for {}", name(lamination)),
        Of::TestStrip { run, .. } => message!("scrap at a gauge of {}", mm(run.gauge_mm.unwrap_or(0.0))),
        Of::Strip { lamination, strip, run } if strip.is_empty() => message!("{} after pass {}", name(lamination), run.after),
        Of::Strip { lamination, strip, run } => message!("{} {} after pass {}", name(lamination), strip, run.after),
        Of::Done { lamination, strip, pass } if strip.is_empty() => message!("{}, pass {}", name(lamination), pass),
        Of::Done { lamination, strip, pass } => message!("{} {}, pass {}", name(lamination), strip, pass),
        Of::Sheet { .. } => {
            build.sled.as_ref().map_or_else(|| "sheet for the sled".into(), |plan| plan.sheet.material.as_str().into())
        }
        Of::Shim { stock, .. } => build.shop.shims[*stock].of.as_str().into(),
        Of::Print { .. } => "scale check of 100 mm".into(),
        Of::Bend(test) => {
            let strip = if test.strip.is_empty() { Message::default() } else { message!("strip \"{}\" of ", test.strip) };
            message!("{}{} bent on a span of {}", strip, name(&test.lamination), mm(test.span_mm))
        }
        Of::Release { stage, .. } => message!("stage {} off its form or props", stage),
        Of::Blank { bent: BlankBending::LongString { string_mm, pivot_to_nock_mm }, .. } => {
            message!("blank on a string of {}, drawn to {}", mm(*string_mm), mm(build.stated_draw_mm(*pivot_to_nock_mm)))
        }
        Of::Blank { bent: BlankBending::Braced { brace_mm, pivot_to_nock_mm }, .. } => {
            message!("blank braced at {}, drawn to {}", mm(*brace_mm), mm(build.stated_draw_mm(*pivot_to_nock_mm)))
        }
        Of::Blank { bent: BlankBending::Floor { drop_mm }, .. } => message!("blank on the floor, pressed down {}", mm(*drop_mm)),
        Of::Tiller(read) => {
            let what = if read.photograph.is_some() { "both limbs in a photograph" } else { "belly to string" };
            match read.pivot_to_nock_mm {
                Some(draw) => message!("{} drawn to {}", what, mm(build.stated_draw_mm(draw))),
                None => message!("{} at brace", what),
            }
        }
        Of::Shot(shot) => match shot.pivot_to_nock_mm {
            Some(draw) => message!("arrow of {}, drawn to {}", small_mass(shot.arrow_kg), mm(build.stated_draw_mm(draw))),
            None => message!("arrow of {}", small_mass(shot.arrow_kg)),
        },
        Of::Bow(_) => reading.build_file.as_ref().unwrap_or(&build.title).as_str().into(),
    }
}

/// What was observed; a place on a strip by both its names, `12 in, station 11.25 in`: along the strip from its first end, and from the
/// bow's centre.
pub fn observed(build: &Build, of: &Of, what: Observed) -> Message {
    let place = |u_mm: f64| match (of, of.lamination()) {
        (Of::TestStrip { on: ScrapOn::Table, .. }, _) | (_, None) => mm(u_mm).into(),
        (_, Some(lamination)) => message!("{}, station {}", mm(u_mm), mm(build.laminations[lamination].station_at(u_mm))),
    };
    match what {
        Observed::Thickness => "thickness".into(),
        Observed::Height { u_mm } => message!("height at {}", place(u_mm)),
        Observed::ThicknessAt { u_mm } => message!("thickness at {}", place(u_mm)),
        Observed::LeftLessRight => "left edge less right".into(),
        Observed::Across => "across".into(),
        Observed::Up => "up".into(),
        Observed::StripModulus => "modulus of the strip".into(),
        Observed::TestedWeight => "draw weight with the strips as tested".into(),
        Observed::HeldWeight => "draw weight with this strip as it is".into(),
        Observed::Nocks => "rise of the nock, - for reflex".into(),
        Observed::UpperNock => "rise of the upper nock, - for reflex".into(),
        Observed::LowerNock => "rise of the lower nock, - for reflex".into(),
        Observed::BlankWeight => "weight".into(),
        Observed::Stiffness => "stiffness against the handbook's".into(),
        Observed::TrimmedWeight => "weight once trimmed to the outline".into(),
        Observed::Distance { side, station_mm } => message!("station {}, {} limb", mm(station_mm), limb(side)),
        Observed::FullDrawWeight => "weight at full draw".into(),
        Observed::ArrowSpeed => "speed of the arrow".into(),
    }
}

/// What follows from a reading, a sentence each.
pub fn says(build: &Build, answer: &Answer) -> Vec<Message> {
    let mut said = Sentences { build, answer, sentences: Vec::new() };
    match &answer.finding {
        Finding::Nothing => {}
        Finding::Silent(why) => said.say(match why {
            Silence::NoSled => "The build file has no sled that a sheet could be for.",
            Silence::NoGlueUp => "The build file names no glue-up stage: there is nothing to hold the reading against.",
            Silence::TooLittleReflex => "Too little curve is left to tell which share of it stays.",
            Silence::StringTouches => "The string of this bow lies on its limbs: its speed is not modelled, and there is nothing to hold the reading against.",
            Silence::AlreadyMeasured => "The build file holds this lamination as measured: nothing is left to grind, and what was read while it was ground is in it.",
            Silence::TooQuick => "It leaves quicker than this bow could send it without any loss: is the arrow as heavy as that, and the bow as heavy as the model? Weigh the bow and log that first; this reading tells no loss.",
            Silence::NotFitted => "These readings could not be fitted: are they of one bow?",
        }),
        Finding::Sheet(found) => said.sheet(found),
        Finding::Shim { thickness_mm } => said.say(message!(
            "Shims and tape are made up with {} from here on; the sheets follow once the build file has it.",
            mm(*thickness_mm)
        )),
        Finding::Print { true_size: true, .. } => said.say("The print is at true size."),
        Finding::Print { .. } => {
            said.say("Print again with the correction, at 100 % and not fitted to the page, and check the bars once more.")
        }
        Finding::Tape(found) => said.tape(found),
        Finding::Zero(found) => said.scrap(found),
        Finding::Done(found) => said.done(found),
        Finding::Strip(found) => said.strip(found),
        Finding::Bend(found) => said.bend(found),
        Finding::Release(found) => said.release(found),
        Finding::Blank(found) => said.blank(found),
        Finding::Tiller(found) => said.tiller(found),
        Finding::Bows(found) => said.bows(found),
        Finding::Shot(found) => said.shot(found),
    }
    if let Some(drift) = &answer.drift {
        said.drift(drift);
    }
    said.sentences
}

/// Sentences of one answer.
struct Sentences<'a> {
    build: &'a Build,
    answer: &'a Answer,
    sentences: Vec<Message>,
}

impl Sentences<'_> {
    fn say(&mut self, sentence: impl Into<Message>) {
        self.sentences.push(sentence.into());
    }

    /// Words of other rooms.
    fn notes<'b>(&mut self, notes: impl IntoIterator<Item = &'b Diagnostic>) {
        for note in notes {
            self.say(Message::join(std::iter::once(&note.message).chain(&note.hints).cloned(), "; "));
        }
    }

    fn sheet(&mut self, found: &SheetFound) {
        let slotted = self.build.sled.as_ref().is_some_and(|plan| plan.make.traits().from == SledStock::Sheets);
        match found.off_mm {
            None => self.say("The sheet is as thick as the build file says."),
            Some(off) => self.say(message!(
                "Before cutting, write the measured thickness and run `make` again: {}.",
                match (slotted, off < 0.0) {
                    (true, true) => message!("slots drawn for the old one would be {} loose", mm(-off)),
                    (true, false) => message!("slots drawn for the old one would be {} too tight", mm(off)),
                    (false, _) => "heights that count a deck of this sheet move with it".into(),
                }
            )),
        }
        if let Some(spread) = found.spread_mm {
            self.say(message!("It varies by ± {} from place to place, more than the build file says.", mm(spread)));
        }
    }

    fn shot(&mut self, found: &ShotFound) {
        let percent = |ratio: f64| fixed(100.0 * ratio, 1);
        let of_this = 1.0 - (found.read_mm_s / found.lossless_mm_s).powi(2);
        self.say(message!(
            "{} grains for each pound. Without loss it would leave at {}: the limbs keep {} percent of what is drawn in.",
            fixed(found.grains_per_pound, 1),
            arrow_speed(found.lossless_mm_s),
            percent(of_this.max(0.0))
        ));
        let Loss { fraction, band: Span { min: least, max: most }, from } = found.loss;
        self.say(message!(
            "By {}: {} percent, between {} and {} (95 percent sure). `taperwright shot` takes it with `--log`.",
            from.words(),
            percent(fraction),
            percent(least),
            percent(most)
        ));
        self.say("Speed is no reason for an arrow lighter than the maker of bow and string allows.");
        if !found.weighed {
            self.say("The bow is taken at the model's weight; a `bow` reading before this one tells weight and loss apart.");
        }
    }

    fn drift(&mut self, drift: &Drift) {
        let days = if drift.since == self.answer.reading.date {
            "Since earlier this day".into()
        } else {
            message!("Since {}", drift.since)
        };
        let moved = signed(drift.moved_mm);
        self.say(if drift.same_paper {
            message!("{} the gauge has drifted by {} under the same paper ({} or more of it is sure): brush paper and table, look whether the \
                 paper is worn, and send scrap through before each day's first pass.", days, moved, mm(drift.sure_mm))
        } else {
            message!("{} the gauge's zero has moved by {}: drift, unless the paper is another one.", days, moved)
        });
    }
}
