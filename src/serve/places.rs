//! What the phone's places show: each lamination's passes as they stand by the log, forms for readings, the glue-up, tiller targets, and
//! what the last readings said. Everything is text as it is shown, but for numbers that the page counts with.

use super::answers::{self, StageShown, Told};
use super::forms::{self, ReadingForm};
use super::jobs::BowJobs;
use crate::buildfile::log::KINDS;
use crate::job::{Ground, Job};
use crate::logbook::{Answered, show};
use crate::model::Build;
use crate::model::lamination::{Lamination, Pieces};
use crate::model::limb::LimbSide;
use crate::model::log::{Log, Of, Reading};
use crate::shop::logged::{Answer, Answers, Bench};
use crate::shop::passes::{Carrier, Pass, Setup};
use crate::units::{Quantity, System, fixed, trim_zeros};
use serde::Serialize;
use std::collections::BTreeMap;

#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShopPlaces {
    pub title: String,
    pub file: String,
    /// Name of the log; none before there is a build file to name it after.
    pub log: Option<String>,
    pub units: &'static str,
    pub other_unit: &'static str,
    pub force_unit: &'static str,
    pub today: String,
    pub readings: usize,
    /// The bow that was read last, by its number, which the next reading is of; empty where none is named.
    pub serial: String,
    /// Bows of the log that are not finished, the last one first.
    pub serials: Vec<String>,
    /// Why the places may not hold, in words.
    pub faults: Vec<String>,
    /// Of two different limbs, whose strips and readings the places are of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub whose: Option<String>,
    pub laminations: Vec<WorkPlace>,
    /// How far apart left and right were read last, as text.
    pub apart: String,
    pub forms: Vec<ReadingForm>,
    pub stages: Vec<Glueing>,
    pub draws: Vec<Draw>,
    /// The latest answer of each kind, the newest first.
    pub latest: Vec<Spoken>,
}

/// What stands at the head of every place.
#[derive(Debug, Clone)]
pub struct Head {
    pub file: String,
    pub log: Option<String>,
    pub today: String,
}

/// An answer as it is read out.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Spoken {
    pub of: String,
    pub title: String,
    pub date: String,
    pub lamination: Option<String>,
    pub says: Vec<String>,
    pub beside: Option<show::AnswerGrid>,
    pub take: Option<show::AnswerGrid>,
    pub take_over: Vec<String>,
    /// Why it is not used: of a reading that was written into the log by hand.
    pub asked: Vec<String>,
}

/// A lamination at the machine.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WorkPlace {
    pub name: String,
    pub wood: String,
    /// Strips of a pair by the names that the log has for them, or A and B; none for one full strip.
    pub strips: Vec<String>,
    /// How the strips of a bow go through.
    pub runs_in_words: String,
    /// Strips that are ticked one by one; empty where one run takes all.
    pub one_by_one: Vec<String>,
    pub made: u32,
    /// Of those, the last pass ticked for each.
    pub made_of: Vec<u32>,
    pub lines: Vec<PassLine>,
    /// The paper in front of the next pass wants scrap, and none was logged since.
    pub scrap_wanted: bool,
    /// Where a strip is read best after the last pass, as text.
    pub read_at: Vec<String>,
    /// Places have to say what they are counted from.
    pub must_say_count: bool,
    /// What the end is called that places are counted from.
    pub end: &'static str,
    /// From its first end, in the file's unit.
    pub length: f64,
    pub sled: Vec<[String; 3]>,
    /// Laminations whose strips lie on this sled; empty where it is for these strips alone.
    pub sled_serves: Vec<String>,
    /// Of a sled on shims: place, station, height, pieces, what they come to.
    pub shims: Vec<[String; 5]>,
}

/// One pass as it is set.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PassLine {
    pub pass: u32,
    pub made: bool,
    pub on: String,
    pub paper: String,
    pub new_paper: bool,
    pub repeat: bool,
    pub turn_over: bool,
    pub gap: String,
    pub drop: String,
    pub turns: String,
    pub touches: String,
    /// Which strip lies on which side.
    pub sides: Option<String>,
}

/// A stage of the glue-up at the form.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Glueing {
    pub number: u32,
    pub pieces: String,
    pub rows: Vec<[String; 2]>,
    pub dry_run: Vec<String>,
    /// s; none where the build file does not say.
    pub clamp_s: Option<f64>,
    /// What this stage's tips off the form, or the stage before, said.
    pub now: Vec<String>,
}

/// Tiller targets at one draw.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Draw {
    /// As a reading states it; empty at brace.
    pub draw: String,
    pub words: String,
    /// Station as it is typed, upper and lower as they are shown.
    pub rows: Vec<[String; 3]>,
}

/// An answer in words and tables.
pub fn spoken(job: &Job, answer: &Answer) -> Spoken {
    let build = job.build();
    Spoken {
        of: answer.reading.of.kind().into(),
        title: show::title(build, answer),
        date: answer.reading.date.clone(),
        lamination: answer.reading.of.lamination().map(|index| build.laminations[index].name.clone()),
        says: show::sentences(build, answer),
        beside: show::beside(build, answer),
        take: show::to_take(build, answer),
        take_over: answer.take_over.iter().map(|taken| show::take_text(job, taken)).collect(),
        asked: answer.questions.iter().map(|question| question.message.spoken(build.units)).collect(),
    }
}

/// All places; where log or build file have faults the words say so, and passes are not shown as if nothing had been read.
///
/// The log is held against the upper limb's file by itself, as `log` does; of two different limbs the tiller is both limbs'.
pub fn shop(bow: &BowJobs, head: Head, answered: Result<&Answered, &Vec<Told>>, faults: Vec<Told>) -> ShopPlaces {
    let job = &bow.alone()[0];
    let (build, units) = (job.build(), job.build().units);
    let told = |what: &str, told: &Told| format!("{what}: {}{}", at(told), told.message);
    let mut words: Vec<String> = faults.iter().map(|fault| told(fault.file.as_deref().unwrap_or(&head.file), fault)).collect();
    words.extend(answered.err().into_iter().flatten().map(|fault| told(head.log.as_deref().unwrap_or("the log"), fault)));
    let answered = answered.ok();
    let (log, answers) = (answered.map(|answered| &answered.log), answered.map(|answered| &answered.answers));
    let serials = log.zip(answers).map_or(Vec::new(), |(log, answers)| serials(log, answers));
    let serial = serials.first().cloned().unwrap_or_default();
    let laminations = match (log, answers) {
        (Some(log), Some(answers)) => {
            let benches = answers.shop.by_serial.get(&serial).into_iter().flat_map(|bow| &bow.benches);
            benches
                .map(|bench| WorkPlace {
                    sled_serves: served(job, bench),
                    shims: shims(job, bench),
                    ..work(build, bench, log, &serial, bow.bow().build().limbs())
                })
                .collect()
        }
        _ => Vec::new(),
    };
    let mut latest: BTreeMap<&str, usize> = BTreeMap::new();
    for (k, answer) in answers.iter().flat_map(|answers| &answers.answers).enumerate() {
        latest.insert(answer.reading.of.kind(), k);
    }
    let mut latest: Vec<usize> = latest.into_values().collect();
    latest.sort_unstable_by(|a, b| b.cmp(a));
    let apart = log.and_then(|log| log.readings.iter().rev().find_map(|reading| apart_mm(&reading.of)));
    ShopPlaces {
        title: build.title.clone(),
        whose: bow.two().map(|[upper, lower]| whose([upper, lower])).or_else(|| not_of_series(build)),
        file: head.file,
        log: head.log,
        units: units.length_unit(),
        other_unit: if units == System::Inch { System::Millimetre } else { System::Inch }.length_unit(),
        force_unit: Quantity::Force.bare_unit(units),
        today: head.today,
        readings: log.map_or(0, |log| log.readings.len()),
        stages: stages(bow, answers, &serial),
        faults: words,
        laminations,
        apart: apart.map_or(String::new(), |mm| trim_zeros(&fixed(units.length(mm), 3))),
        forms: forms::forms(build),
        draws: draws(bow.bow()),
        serials: serials.into_iter().filter(|serial| !serial.is_empty()).take(SERIALS).collect(),
        serial,
        latest: answers.map_or(Vec::new(), |answers| latest.iter().map(|k| spoken(job, &answers.answers[*k])).collect()),
    }
}

/// Numbers that a form offers.
const SERIALS: usize = 8;

/// Bows that are worked on by the log, the one that was read last first; no name where readings name none.
fn serials(log: &Log, answers: &Answers) -> Vec<String> {
    let mut serials: Vec<String> = Vec::new();
    let of_bows = log
        .readings
        .iter()
        .rev()
        .filter(|reading| KINDS.iter().any(|kind| kind.word == reading.of.kind() && kind.is_of_one_bow()));
    for serial in of_bows.map(Reading::bow) {
        let open = answers.shop.by_serial.get(serial).is_some_and(|bow| serial.is_empty() || !bow.finished);
        if open && !serials.iter().any(|known| known == serial) {
            serials.push(serial.to_owned());
        }
    }
    serials
}

fn at(told: &Told) -> String {
    match told.line {
        Some(line) => format!("line {line}: "),
        None => String::new(),
    }
}

fn apart_mm(of: &Of) -> Option<f64> {
    match of {
        Of::Strip { run, .. } | Of::TestStrip { run, .. } => run.apart_mm,
        _ => None,
    }
}

/// `limbs` is how many limbs of the bow the log's file describes.
fn work(build: &Build, bench: &Bench, log: &Log, serial: &str, limbs: u32) -> WorkPlace {
    let (units, lamination) = (build.units, &build.laminations[bench.lamination]);
    // One of two different limbs takes one strip of each lamination; the other's is ground by its own file.
    let in_pair = if lamination.pieces == Pieces::Full { 0 } else { limbs as usize };
    let strips = strips(bench.lamination, in_pair, log, serial);
    let runs = if limbs == 1 { 1 } else { bench.runs() };
    let one_by_one = if 1 < runs { strips.clone() } else { Vec::new() };
    let made_of = one_by_one.iter().map(|strip| bench.ticked_of(strip)).collect();
    let runs_in_words = match (lamination.pieces, runs) {
        (Pieces::Full, _) => "one full strip".to_owned(),
        _ if limbs == 1 => "one strip, the upper limb's; the lower limb's is ground by its own file".into(),
        (Pieces::Halves, 1) => {
            "both strips side by side; they change sides at each pass, so that a table that leans takes as much from either"
                .into()
        }
        (Pieces::Halves, _) => "the strips of the pair one after the other, both at each gap before it is changed".into(),
    };
    let lines = bench.setups.iter().flat_map(|setup| setup.passes.iter().map(move |pass| (setup, pass)));
    let side_by_side = in_pair == 2 && runs == 1;
    let own = |of: &Of| of.lamination() == Some(bench.lamination);
    let after = log
        .readings
        .iter()
        .rev()
        .take_while(|reading| !(own(&reading.of) && matches!(reading.of, Of::Strip { .. } | Of::Done { .. })));
    let scrap = after.into_iter().any(|reading| own(&reading.of) && matches!(reading.of, Of::TestStrip { .. }));
    WorkPlace {
        name: lamination.name.clone(),
        wood: lamination.wood_words(),
        runs_in_words,
        one_by_one,
        made: bench.made,
        made_of,
        lines: lines.map(|(setup, pass)| line(units, bench, setup, pass, side_by_side.then_some(&*strips))).collect(),
        scrap_wanted: !scrap && bench.left().next().is_some_and(|(_, pass)| pass.new_paper),
        read_at: read_at(units, lamination, bench),
        must_say_count: lamination.must_say_count(),
        end: end(lamination),
        length: units.length(lamination.strip_length_mm()),
        sled: sled(units, lamination, bench),
        sled_serves: Vec::new(),
        shims: Vec::new(),
        strips,
    }
}

/// What the end is called that places on a strip are counted from.
fn end(lamination: &Lamination) -> &'static str {
    match lamination.pieces {
        Pieces::Halves => "the strip's butt end",
        Pieces::Full => "end A of the strip",
    }
}

/// Strips of a bow by the names that the log has for them; A and B where it has none.
fn strips(index: usize, in_pair: usize, log: &Log, serial: &str) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for reading in log.readings.iter().filter(|reading| reading.bow() == serial) {
        if let Of::Strip { lamination, strip, .. } | Of::Done { lamination, strip, .. } = &reading.of
            && *lamination == index
            && !strip.is_empty()
            && !names.contains(strip)
        {
            names.push(strip.clone());
        }
    }
    let fresh = ["A", "B"].into_iter().map(str::to_owned).filter(|name| !names.contains(name)).collect::<Vec<_>>();
    let missing = in_pair.max(names.len()) - names.len();
    names.extend(fresh.into_iter().take(missing));
    names.sort();
    names
}

fn line(units: System, bench: &Bench, setup: &Setup, pass: &Pass, pair: Option<&[String]>) -> PassLine {
    let first = setup.passes.first().is_some_and(|first| first.number == pass.number);
    let face = setup.face.word();
    let on = match (setup.carrier, &bench.sled) {
        (Carrier::Sled, Some(sled)) => {
            let leads = if sled.first_end_leads { sled.ends[0] } else { sled.ends[1] };
            format!("on the sled, {face} face up, {leads} first")
        }
        _ => format!("flat, {face} face up"),
    };
    let strip_mm = bench.sled.as_ref().map_or(0.0, |sled| sled.strip_length_mm);
    let touches = match pass.contact.as_slice() {
        [] => "thick strips only".into(),
        [all] if all.min <= 1.0 && strip_mm - 1.0 <= all.max => "all of the strip".into(),
        stretches => {
            let texts =
                stretches.iter().map(|part| format!("{} to {}", units.rule_number(part.min), units.rule_number(part.max)));
            texts.collect::<Vec<_>>().join(", ")
        }
    };
    let sides = pair.and_then(|pair| {
        let (left, right) = if pass.number % 2 == 1 { (pair.first()?, pair.get(1)?) } else { (pair.get(1)?, pair.first()?) };
        Some(format!("{left} on the left, {right} on the right"))
    });
    PassLine {
        pass: pass.number,
        made: pass.number <= bench.made,
        on,
        paper: pass.grit.map_or("knives".into(), |grit| format!("P{grit}")),
        new_paper: pass.new_paper,
        repeat: pass.repeat,
        turn_over: setup.turn_over && first,
        gap: units.thickness_number(pass.gap_mm),
        drop: units.thickness_number(pass.drop_mm),
        turns: fixed(pass.turns, 2),
        touches,
        sides,
    }
}

/// Three places that the last pass reached, well inside its ends, as whole inches or centimetres.
fn read_at(units: System, lamination: &Lamination, bench: &Bench) -> Vec<String> {
    let step_mm = units.either_mm(1.0, 10.0);
    let reached = bench.last_cut().and_then(|pass| pass.contact.iter().copied().max_by(|a, b| a.width().total_cmp(&b.width())));
    let (from, to) = reached.map_or((0.0, lamination.strip_length_mm()), |part| (part.min, part.max));
    let inside = (2.0 * step_mm).min(0.1 * (to - from));
    let (first, last) = (((from + inside) / step_mm).ceil(), ((to - inside) / step_mm).floor());
    let mut places = vec![first, (0.5 * (first + last)).round(), last];
    places.retain(|place| from <= place * step_mm && place * step_mm <= to);
    places.dedup();
    places.into_iter().map(|place| trim_zeros(&fixed(units.length(place * step_mm), 3))).collect()
}

/// Heights of the sled's surface: place, station, height above the table, as many as fit a hand.
fn sled(units: System, lamination: &Lamination, bench: &Bench) -> Vec<[String; 3]> {
    let Some(sled) = &bench.sled else { return Vec::new() };
    const PARTS: u32 = 8;
    (0..=PARTS)
        .map(|k| {
            let u_mm = sled.strip_length_mm * f64::from(k) / f64::from(PARTS);
            [units.rule(u_mm), units.rule(lamination.station_at(u_mm)), units.thickness(sled.surface_mm(u_mm))]
        })
        .collect()
}

/// Names of the laminations that share a lamination's sled; none where it serves these strips alone.
fn served(job: &Job, bench: &Bench) -> Vec<String> {
    let sleds = job.sleds();
    let names = sleds.iter().find(|sled| sled.holds(bench.lamination)).map_or(Vec::new(), |sled| sled.names(job.build()));
    if names.len() < 2 { Vec::new() } else { names }
}

/// The shims that book and tables list.
fn shims(job: &Job, bench: &Bench) -> Vec<[String; 5]> {
    let Ok(Some(Ground { kit: Some(kit), lamination, .. })) = job.ground(bench.lamination) else { return Vec::new() };
    kit.shims.iter().map(|shim| shim.in_words(job.build(), lamination)).collect()
}

/// That the bows of a series have passes of their own, where the file names some.
fn not_of_series(build: &Build) -> Option<String> {
    let weights: Vec<String> = build.series.iter().map(|bow| bow.weight_in_file(build.units)).collect();
    (!weights.is_empty()).then(|| {
        format!(
            "Passes and readings here are of the bow as the file describes it. Those of its series, {}, have other thicknesses and last gaps: \
             `series --make` writes a file for each, which is opened at the sander instead. The sled is the same.",
            weights.join(", ")
        )
    })
}

/// Whose strips and readings stand here, where the limbs are different ones.
fn whose([upper, lower]: [&Job; 2]) -> String {
    let [of_upper, of_lower] = [upper, lower].map(|job| crate::diag::SourceText::name(job.source()));
    format!(
        "Two different limbs: strips, passes and readings here are the upper limb's, {of_upper}; glue-up and tiller are of both. The lower limb's \
         strips have passes and a log of their own: `taperwright bench {of_lower}`."
    )
}

fn stages(bow: &BowJobs, answers: Option<&Answers>, serial: &str) -> Vec<Glueing> {
    let job = bow.bow();
    if !job.is_bow() {
        return Vec::new();
    }
    let Ok(glue) = answers::glue(job) else { return Vec::new() };
    let other = bow.two().and_then(|[_, lower]| answers::glue(lower).ok());
    let build = job.build();
    let all = || answers.iter().flat_map(|answers| &answers.answers);
    let released = |number: u32| {
        let of = |answer: &&Answer| {
            answer.reading.bow() == serial && matches!(answer.reading.of, Of::Release { stage, .. } if stage == number)
        };
        all().rfind(of).map(|answer| show::sentences(build, answer)).unwrap_or_default()
    };
    let clamp = |number: u32| build.glue.stages.iter().find(|stage| stage.number == number).and_then(|stage| stage.clamp_time_s);
    let made = |stage: StageShown| {
        let of_lower = other.iter().flat_map(|glue| &glue.stages).find(|lower| lower.number == stage.number);
        let (rows, dry_run) = match of_lower {
            None => (stage.rows, stage.dry_run),
            Some(lower) => (
                of_both(&stage.rows, &lower.rows, |[what, value], limb| [format!("{}, {what}", limb.word()), value.clone()]),
                of_both(&stage.dry_run, &lower.dry_run, |words, limb| format!("{} limb: {words}", limb.word())),
            ),
        };
        Glueing {
            clamp_s: clamp(stage.number),
            now: released(stage.number),
            number: stage.number,
            pieces: stage.pieces,
            rows,
            dry_run,
        }
    };
    glue.stages.into_iter().map(made).collect()
}

/// Lines of both limbs, the upper limb's first: what both have alike once, the rest marked.
fn of_both<T: PartialEq + Clone>(upper: &[T], lower: &[T], marked: impl Fn(&T, LimbSide) -> T) -> Vec<T> {
    let mut all = Vec::new();
    for k in 0..upper.len().max(lower.len()) {
        match upper.get(k) {
            Some(own) if lower.contains(own) => all.push(own.clone()),
            own => all.extend(own.map(|own| marked(own, LimbSide::Upper))),
        }
        all.extend(lower.get(k).filter(|own| !upper.contains(own)).map(|own| marked(own, LimbSide::Lower)));
    }
    all
}

fn draws(job: &Job) -> Vec<Draw> {
    if !job.is_bow() {
        return Vec::new();
    }
    let Ok(targets) = job.tiller_targets() else { return Vec::new() };
    let units = job.build().units;
    let drawn = |(k, row): (usize, &crate::mechanics::tiller::TargetRow)| {
        let draw = units.decimal_number(row.draw_length_mm);
        let rows = targets.stations_mm.iter().zip(&row.gaps_mm);
        Draw {
            words: if k == 0 { "at brace".into() } else { format!("drawn to {} {}", draw, units.length_unit()) },
            draw: if k == 0 { String::new() } else { draw },
            rows: rows
                .map(|(s, [upper, lower])| [units.decimal_number(*s), units.tiller(*upper), units.tiller(*lower)])
                .collect(),
        }
    };
    targets.rows.iter().enumerate().map(drawn).collect()
}
