//! A strip bent before glue-up: its modulus, and what that makes of the bow.
//!
//! Moduli scatter by a fifth from board to board; a strip on two supports tells its own to a few percent. The answer asks about what
//! cannot be meant, states the modulus with its interval, chooses pairs from a pile ([`super::pairs`]), and puts what is known in the place of
//! the handbook's modulus for everything that comes after: weight, sizing, bands.

use super::super::bench;
use super::super::learnt::Learnt;
use super::super::{Answer, Found, Known, Measure, Row, TakeOver, Value};
use super::pairs::{self, Chosen, Strip};
use crate::diag::{Diagnostic, Place, at_least, mm, mpa, newtons};
use crate::mechanics::draw;
use crate::mechanics::strip_test::{self, ErrorSource, MAX_SAG, MIN_SLENDERNESS, Test, Tested};
use crate::model::Build;
use crate::model::log::Reading;
use crate::numeric::interp::Curve;
use crate::shop::plausible::{Band, question};
use crate::units::{MM_PER_IN, N_PER_LBF, limit};

/// A sag is read to this either way where the log does not say: a rule against a straightedge. Common practice, no source.
const READS_MM: f64 = 0.25;
/// Nearer than this share to the wanted weight no lamination is resized: a scale shows no less.
const NEAR: f64 = 0.01;

/// A wood whose modulus the build file gives as surer than this is known from such a test already.
const LEAST_SCATTER: f64 = 0.05;

/// All strips tested so far, each with its tests.
#[derive(Debug, Clone, Default)]
pub struct Tests(Vec<(usize, String, Vec<Tested>)>);

/// The modulus that a lamination is known to have.
#[derive(Debug, Clone, PartialEq)]
pub struct LaminationKnown {
    pub lamination: usize,
    pub modulus_mpa: f64,
    /// One standard deviation, relative.
    pub deviation: f64,
    /// Names of its strips, the stiffer first.
    pub strips: Vec<String>,
}

/// What a bending test says, and all tests so far.
#[derive(Debug, Clone, PartialEq)]
pub struct BendFound {
    pub strip: strip_test::TestedModulus,
    pub laminations: Vec<LaminationKnown>,
    /// Tested, and in no lamination.
    pub spare: Vec<String>,
    /// The bow's draw weight with all that is known, and its standard deviation, N.
    pub weight_n: Option<[f64; 2]>,
}

/// What was read, as the log has it.
pub struct Bend<'a> {
    pub lamination: usize,
    pub strip: &'a str,
    pub span_mm: f64,
    pub weight_n: f64,
    pub sag_mm: &'a [f64],
    pub reads_mm: Option<f64>,
    pub width_mm: &'a Curve,
    pub thickness_mm: &'a Curve,
}

/// `build` is the build file's, `now` what is known before this reading; `busy` are laminations that are being ground.
pub fn bend(
    build: &Build,
    reading: &Reading,
    bend: &Bend<'_>,
    known: &Known<'_>,
    now: &Learnt,
    busy: &[usize],
    tests: &mut Tests,
) -> (Answer, Option<Learnt>) {
    let lamination = &build.laminations[bend.lamination];
    let called = if bend.strip.is_empty() { String::new() } else { format!("strip \"{}\" of ", bend.strip) };
    let about = format!("{called}{} bent on a span of {}", lamination.name, mm(bend.span_mm));
    let mut answer = Answer::new(reading, "bend", about);
    answer.questions = cannot_be_meant(build, reading, bend);
    if !answer.questions.is_empty() {
        return (answer, None);
    }
    let test = Test {
        span_mm: bend.span_mm,
        weight_n: bend.weight_n,
        sag_mm: bend.sag_mm,
        reads_mm: bend.reads_mm.unwrap_or(READS_MM),
        width_mm: bend.width_mm,
        thickness_mm: bend.thickness_mm,
    };
    let Some(tested) = strip_test::modulus(&test) else { return (answer, None) };
    let handbook = lamination.wood.modulus_mpa;
    let of_strip = tests.0.iter().position(|known| known.0 == bend.lamination && known.1 == bend.strip);
    let earlier = of_strip.and_then(|at| tests.0[at].2.iter().find(|earlier| strip_test::contradict(earlier, &tested)));
    if let Some(earlier) = earlier {
        let message = format!(
            "this test gives the strip {}, an earlier one gave it {}: they cannot both be right",
            mpa(tested.modulus_mpa),
            mpa(earlier.modulus_mpa)
        );
        answer.questions.push(
            Diagnostic::fault(reading.place.key("sag"), message)
                .hint("another strip gets a name of its own with `strip`; so does this one if the earlier test was wrong"),
        );
    }
    answer.questions.extend(out_of_reason(tested.modulus_mpa, handbook, &reading.place.key("sag")));
    if !answer.questions.is_empty() {
        return (answer, None);
    }
    let mine = match of_strip {
        Some(at) => &mut tests.0[at].2,
        None => {
            tests.0.push((bend.lamination, bend.strip.to_owned(), Vec::new()));
            let last = tests.0.len() - 1;
            &mut tests.0[last].2
        }
    };
    mine.push(tested);
    let Some(strip) = strip_test::together(mine) else { return (answer, None) };
    says_of_strip(&mut answer, &strip, &tested, handbook, lamination.wood.modulus_cov);
    if let [(_, _, only)] = tests.0.as_slice()
        && only.len() == 1
    {
        answer.say(format!(
            "{:.1} percent of the sag is shear, and is taken off, as it is from the table of woods: a modulus as handbooks print it has it in, and reads about a tenth lower.",
            100.0 * tested.shear
        ));
    }

    let strips: Vec<Strip> = tests
        .0
        .iter()
        .filter_map(|(lamination, name, tests)| {
            strip_test::together(tests).map(|known| Strip { lamination: *lamination, name: name.clone(), known })
        })
        .collect();
    let chosen = pairs::choose(build, &strips);
    // A test that tells less than the handbook leaves the lamination as it is.
    let tells =
        |known: &LaminationKnown| known.deviation < build.laminations[known.lamination].wood.modulus_cov.max(LEAST_SCATTER);
    let laminations: Vec<LaminationKnown> =
        chosen.iter().map(|chosen| of_lamination(build, chosen, &strips)).filter(tells).collect();
    if chosen.len() != laminations.len() {
        answer.say("So unsure a test tells less than the table of woods: it is not reckoned with.");
    }
    let spare: Vec<String> = (0..strips.len())
        .filter(|k| !chosen.iter().any(|chosen| chosen.strips.contains(k)))
        .map(|k| name_of(build, &strips[k]))
        .collect();
    says_of_pairs(build, &mut answer, &strips, &chosen, &spare, bend.lamination);

    let mut tested_build = now.build.clone();
    for (lamination, written) in tested_build.laminations.iter_mut().zip(&build.laminations) {
        (lamination.wood, lamination.modulus_tested) = (written.wood.clone(), written.modulus_tested);
    }
    for known in &laminations {
        let lamination = &mut tested_build.laminations[known.lamination];
        lamination.wood.modulus_mpa = known.modulus_mpa;
        lamination.wood.modulus_cov = known.deviation;
        lamination.modulus_tested = true;
        let key = |what: &str| lamination.place.key(what).as_str().to_owned();
        answer.take_over.push(TakeOver { key: key("modulus"), value: Value::Modulus(known.modulus_mpa) });
        answer.take_over.push(TakeOver { key: key("modulus_spread"), value: Value::Ratio(known.deviation) });
    }
    let learnt = now.clone().restiffened(tested_build, known);
    let weight_n = says_of_weight(build, &mut answer, now, &learnt, known, busy);
    answer.found = Found::Bend(Box::new(BendFound { strip, laminations, spare, weight_n }));
    (answer, Some(learnt))
}

/// Numbers that this strip, this span and this method cannot have.
fn cannot_be_meant(build: &Build, reading: &Reading, bend: &Bend<'_>) -> Vec<Diagnostic> {
    let lamination = &build.laminations[bend.lamination];
    let place = |key: &str| reading.place.key(key);
    let mut questions = Vec::new();
    let corners = lamination.strip_corners();
    let finished = corners.iter().map(|u| lamination.strip_thickness_at(*u));
    let thinnest = finished.clone().fold(f64::INFINITY, f64::min);
    let thickest = finished.fold(lamination.stock.thickness_mm, f64::max);
    let band = Band { expected: lamination.stock.thickness_mm, least: 0.4 * thinnest, most: 1.6 * thickest };
    let along = |curve: &Curve, band: Band, what: &str, key: &str| -> Vec<Diagnostic> {
        let several = 1 < curve.points().len();
        let at = |index: usize| if several { place(key).index(index) } else { place(key) };
        let points = curve.points().iter().enumerate();
        points.filter_map(|(index, (_, value))| question(*value, band, what, mm, &at(index))).collect()
    };
    questions.extend(along(bend.thickness_mm, band, "the strip's thickness", "thickness"));
    let band = Band::times(lamination.stock.width_mm, 0.25, 2.0);
    questions.extend(along(bend.width_mm, band, "the strip's width", "width"));
    let length = lamination.strip_length_mm();
    let band = Band { expected: 0.8 * length, least: 0.05 * length, most: 1.3 * length };
    questions.extend(question(bend.span_mm, band, "the span", mm, &place("span")));
    if !questions.is_empty() {
        return questions;
    }
    let middle = bend.thickness_mm.at(0.5 * bend.span_mm);
    if limit::below(bend.span_mm, MIN_SLENDERNESS * middle) {
        let message = format!(
            "a span of {} is {:.0} times the strip's thickness: so short, a good part of the sag is shear",
            mm(bend.span_mm),
            bend.span_mm / middle
        );
        let hint =
            format!("move the supports to at least {:.0} thicknesses, {}", MIN_SLENDERNESS, at_least(MIN_SLENDERNESS * middle));
        questions.push(Diagnostic::fault(place("span"), message).hint(hint));
    }
    for (index, sag) in bend.sag_mm.iter().enumerate().filter(|(_, sag)| limit::above(**sag, MAX_SAG * bend.span_mm)) {
        let most = MAX_SAG * bend.span_mm;
        let message = format!("a sag of {} is more than a twentieth of the span, {}", mm(*sag), mm(most));
        let hint = format!("hang a lighter weight, about {}, for half of that", newtons(0.5 * most / sag * bend.weight_n));
        let at = if 1 < bend.sag_mm.len() { place("sag").index(index) } else { place("sag") };
        questions.push(Diagnostic::fault(at, message).hint(hint).hint("is it the sag of the weight alone, in this unit?"));
    }
    let (least, most) = bend.sag_mm.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), sag| (a.min(*sag), b.max(*sag)));
    // Readings of one sag that are so far apart are not of one sag.
    if 4.0 * bend.reads_mm.unwrap_or(READS_MM) + 0.05 * most < most - least {
        let message = format!("the sags lie {} apart, and they are of one strip under one weight", mm(most - least));
        questions.push(
            Diagnostic::fault(place("sag"), message)
                .hint("read each from where the strip lies without the weight, and tap it before reading"),
        );
    }
    questions
}

/// A modulus that no piece of this wood has, and the slip that would explain it.
fn out_of_reason(modulus_mpa: f64, expected_mpa: f64, place: &Place) -> Option<Diagnostic> {
    // Four standard deviations of a wood below, as much above.
    let reason = |modulus: f64| (LEAST_OF_HANDBOOK..=MOST_OF_HANDBOOK).contains(&(modulus / expected_mpa));
    if reason(modulus_mpa) {
        return None;
    }
    let slips = [
        (N_PER_LBF, "is the weight in pounds, and was read as newtons?"),
        (1.0 / N_PER_LBF, "is the weight in newtons, and was read as pounds?"),
        (1.0 / MM_PER_IN, "is the sag in inches, and was read as millimetres?"),
        (MM_PER_IN, "is the sag in millimetres, and was read as inches?"),
        (10.0, "is a decimal point one place off, of the weight or of the sag?"),
        (0.1, "is a decimal point one place off, of the weight or of the sag?"),
        (2.0, "is the weight that of one of two, or the sag measured between two strips?"),
        (0.5, "is the weight that of one of two, or the sag measured between two strips?"),
    ];
    let off = |factor: f64| (modulus_mpa * factor / expected_mpa).ln().abs();
    let mut likely: Vec<(f64, &str)> = slips.into_iter().filter(|(factor, _)| reason(modulus_mpa * factor)).collect();
    likely.sort_by(|a, b| off(a.0).total_cmp(&off(b.0)));
    let message = format!("the strip's modulus comes out at {}, and {} was expected", mpa(modulus_mpa), mpa(expected_mpa));
    let fault = Diagnostic::fault(place.clone(), message);
    let fault = match likely.as_slice() {
        [] => fault.hint("are weight, sag, span and thickness of this strip, each in its unit?"),
        slips => slips.iter().fold(fault, |fault, (_, words)| fault.hint(*words)),
    };
    Some(fault.hint("the reading is not used until it is mended"))
}

const LEAST_OF_HANDBOOK: f64 = 0.45;
const MOST_OF_HANDBOOK: f64 = 1.9;

fn says_of_strip(answer: &mut Answer, strip: &strip_test::TestedModulus, tested: &Tested, handbook_mpa: f64, cov: f64) {
    answer.rows.push(Row {
        what: "modulus of the strip".into(),
        of: Measure::Modulus,
        reading: strip.modulus_mpa,
        model: handbook_mpa,
        band: Some(strip.half_width * strip.modulus_mpa),
    });
    let of = if strip.tests == 1 { String::new() } else { format!(" from {} tests", strip.tests) };
    answer.say(format!(
        "{} ± {}{of}, 95 percent sure: {:.2} times what the build reckons with, which is good to {:.0} percent (one standard deviation).",
        mpa(strip.modulus_mpa),
        mpa(strip.half_width * strip.modulus_mpa),
        strip.modulus_mpa / handbook_mpa,
        100.0 * cov
    ));
    let worst = tested.parts.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    if let Some((part, share)) = worst.filter(|(_, share)| WORTH_MENDING < *share) {
        let how = match part {
            ErrorSource::Sag => "read the sag finer (say so with `reads`), several times, or hang more weight",
            ErrorSource::Thickness => "thickness counts three times: read it at more places with a finer gauge",
            ErrorSource::Width => "measure the width finer",
            ErrorSource::Span => "take a longer span, or measure it finer",
            ErrorSource::Weight => "weigh the weight finer",
        };
        answer.say(format!("What it is unsure by comes mostly from here ({:.1} percent): {how}.", 100.0 * share));
    }
}

/// Less than this of one standard deviation is as good as a strip's modulus need be known, relative.
const WORTH_MENDING: f64 = 0.01;

fn name_of(build: &Build, strip: &Strip) -> String {
    if strip.name.is_empty() {
        format!("the strip of `{}`", build.laminations[strip.lamination].name)
    } else {
        strip.name.clone()
    }
}

/// The modulus of a lamination from its strips. A half that is not tested counts as like the one that is, within the wood's scatter.
fn of_lamination(build: &Build, chosen: &Chosen, strips: &[Strip]) -> LaminationKnown {
    let known: Vec<&strip_test::TestedModulus> = chosen.strips.iter().map(|k| &strips[*k].known).collect();
    let n = known.len() as f64;
    let modulus_mpa = (known.iter().map(|known| known.modulus_mpa.ln()).sum::<f64>() / n).exp();
    let own = known.iter().map(|known| known.own.powi(2)).sum::<f64>().sqrt() / n;
    let shared = known.iter().map(|known| known.deviation.powi(2) - known.own.powi(2)).fold(0.0, f64::max).sqrt();
    let missing = pairs::takes(build, chosen.lamination).saturating_sub(known.len());
    let guessed = build.laminations[chosen.lamination].wood.modulus_cov * missing as f64 / (n + missing as f64);
    let deviation = own.hypot(shared).hypot(guessed);
    let names = chosen.strips.iter().map(|k| name_of(build, &strips[*k])).collect();
    LaminationKnown { lamination: chosen.lamination, modulus_mpa, deviation, strips: names }
}

fn says_of_pairs(build: &Build, answer: &mut Answer, strips: &[Strip], chosen: &[Chosen], spare: &[String], here: usize) {
    let wood = &build.laminations[here].wood.name;
    for chosen in chosen.iter().filter(|chosen| build.laminations[chosen.lamination].wood.name == *wood) {
        let name = &build.laminations[chosen.lamination].name;
        match chosen.strips.as_slice() {
            [a, b] => {
                let (a, b) = (&strips[*a], &strips[*b]);
                let apart = (a.known.modulus_mpa / b.known.modulus_mpa).ln();
                let told = 1.96 * a.known.own.hypot(b.known.own);
                let what = if apart <= told {
                    "alike as far as the tests tell".to_owned()
                } else {
                    format!(
                        "{:.1} percent apart: the stiffer, {}, in the lower limb helps a tiller whose upper limb is the weaker",
                        100.0 * apart,
                        name_of(build, a)
                    )
                };
                let pair = format!("{} and {}", name_of(build, a), name_of(build, b));
                answer.say(if chosen.from_pile {
                    format!("For `{name}` take {pair}, {what}.")
                } else {
                    format!("`{name}` is {pair}, {what}.")
                });
            }
            [only] if chosen.from_pile => answer.say(format!("For `{name}` take {}.", name_of(build, &strips[*only]))),
            [_] if pairs::takes(build, chosen.lamination) == 2 => answer.say(format!(
                "The other strip of `{name}` is not tested: it counts as like this one, within the wood's scatter. Test it, too."
            )),
            _ => {}
        }
    }
    let piled = chosen.iter().filter(|chosen| chosen.from_pile && build.laminations[chosen.lamination].wood.name == *wood);
    if 1 < piled.count() {
        answer.say("Pairs are the closest there are; the stiffest goes nearest the back.");
    }
    if !spare.is_empty() {
        answer.say(format!("Left over: {}.", spare.join(", ")));
    }
}

/// The draw weight with what is known now, and how the stack would be brought to the weight wanted.
fn says_of_weight(
    build: &Build,
    answer: &mut Answer,
    now: &Learnt,
    learnt: &Learnt,
    known: &Known<'_>,
    busy: &[usize],
) -> Option<[f64; 2]> {
    let target = build.target?;
    build.outline.as_ref()?;
    let before_n = draw::weight_of(&now.build, &now.options).ok()?;
    let weight_n = draw::weight_of(&learnt.build, &learnt.options).ok()?;
    let spread_n = learnt.scatter * weight_n;
    answer.rows.push(Row {
        what: "draw weight with the strips as tested".into(),
        of: Measure::Force,
        reading: weight_n,
        model: before_n,
        band: Some(spread_n),
    });
    answer.say(format!(
        "With all strips as tested the bow draws {} ± {} (one standard deviation; ± {} before this test).",
        newtons(weight_n),
        newtons(spread_n),
        newtons(now.scatter * before_n)
    ));
    let wanted_n = target.draw_weight_n + target.finishing_n;
    if NEAR * wanted_n < (weight_n - wanted_n).abs() {
        let free = |index: &usize| !build.laminations[*index].ground && !busy.contains(index);
        let asked: Vec<usize> = build.sizing.iter().flat_map(|sizing| sizing.change.clone()).filter(free).collect();
        if asked.is_empty() {
            answer.say(format!(
                "Wanted are {}: name under [sizing] what may change, and `size` brings it there.",
                newtons(wanted_n)
            ));
        } else {
            let known = learnt.known(known);
            bench::to_weight(build, learnt.build.clone(), asked, wanted_n, &known, answer);
        }
    }
    Some([weight_n, spread_n])
}
