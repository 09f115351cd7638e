//! A strip bent before glue-up: its modulus, and what that makes of the bow.
//!
//! Moduli scatter by a fifth from board to board; a strip on two supports tells its own to a few percent. The answer asks about what
//! cannot be meant, states the modulus with its interval, chooses pairs from a pile ([`super::pairs`]), and puts what is known in the place of
//! the handbook's modulus for everything that comes after: weight, sizing, bands.

use super::super::bench::{self, Rest, Unnamed};
use super::super::learnt::Learnt;
use super::super::{Answer, Case, Finding, Observed, ReadingOutcome, TakeOver, TakenValue};
use super::pairs::{self, ChosenStrips, TestedStrip};
use crate::diag::{Diagnostic, Place, at_least, mm, mpa, newtons};
use crate::mechanics::draw;
use crate::mechanics::strip_test::{self, MAX_SAG, MIN_SLENDERNESS, Test, Tested};
use crate::model::Build;
use crate::model::log::{BendTest, Reading};
use crate::numeric::interp::Curve;
use crate::shop::plausible::{NOT_USED, PlausibleRange, question};
use crate::units::{MM_PER_IN, N_PER_LBF, limit};

/// A sag is read to this either way where the log does not say: a rule against a straightedge. Common practice, no source.
const READS_MM: f64 = 0.25;
/// Nearer than this fraction to the wanted weight no lamination is resized: a scale shows no less.
const NEAR: f64 = 0.01;
/// A wood whose modulus the build file gives as surer than this is known from such a test already.
const MIN_SCATTER: f64 = 0.05;

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
}

/// What a bending test says, and all tests so far.
#[derive(Debug, Clone, PartialEq)]
pub struct BendFound {
    pub strip: strip_test::TestedModulus,
    /// This test alone.
    pub tested: Tested,
    /// No strip was tested before.
    pub first: bool,
    /// All strips tested so far; which go where, by their places here; and which go nowhere.
    pub strips: Vec<TestedStrip>,
    pub chosen: Vec<ChosenStrips>,
    pub spare: Vec<usize>,
    /// Laminations whose modulus is known better by it. A test that tells less than the table of woods leaves its lamination out.
    pub laminations: Vec<LaminationKnown>,
    pub weight: Option<BendWeight>,
}

impl BendFound {
    /// The strips that go into a lamination, the stiffer first.
    pub fn strips_of(&self, lamination: usize) -> impl Iterator<Item = &TestedStrip> {
        let chosen = self.chosen.iter().filter(move |chosen| chosen.lamination == lamination);
        chosen.flat_map(|chosen| &chosen.strips).map(|k| &self.strips[*k])
    }
}

/// The bow's draw weight before this test and with all strips as tested, and one standard deviation of both, N.
#[derive(Debug, Clone, PartialEq)]
pub struct BendWeight {
    pub before_n: f64,
    pub before_spread_n: f64,
    pub weight_n: f64,
    pub spread_n: f64,
    pub wanted_n: f64,
    pub rest: Rest,
}

/// `build` is the build file's.
pub fn bend(case: &Case<'_>, build: &Build, bend: &BendTest, tests: &mut Tests) -> ReadingOutcome {
    let (reading, now) = (case.reading, case.now);
    let lamination = &build.laminations[bend.lamination];
    let mut answer = Answer::asking(reading, cannot_be_meant(build, reading, bend));
    if !answer.questions.is_empty() {
        return answer.into();
    }
    let test = Test {
        span_mm: bend.span_mm,
        weight_n: bend.weight_n,
        sag_mm: &bend.sag_mm,
        reads_mm: bend.reads_mm.unwrap_or(READS_MM),
        width_mm: &bend.width_mm,
        thickness_mm: &bend.thickness_mm,
    };
    let Some(tested) = strip_test::modulus(&test) else { return answer.into() };
    let handbook = lamination.wood.modulus_mpa;
    let of_strip = tests.0.iter().position(|known| known.0 == bend.lamination && known.1 == bend.strip);
    let earlier = of_strip.and_then(|at| tests.0[at].2.iter().find(|earlier| strip_test::contradict(earlier, &tested)));
    if let Some(earlier) = earlier {
        let message = message!(
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
        return answer.into();
    }
    let first = tests.0.is_empty();
    let at = of_strip.unwrap_or_else(|| {
        tests.0.push((bend.lamination, bend.strip.clone(), Vec::new()));
        tests.0.len() - 1
    });
    tests.0[at].2.push(tested);
    let Some(strip) = strip_test::together(&tests.0[at].2) else { return answer.into() };
    answer.observe(Observed::StripModulus, strip.modulus_mpa, handbook, Some(strip.half_width * strip.modulus_mpa));

    let strips: Vec<TestedStrip> = tests
        .0
        .iter()
        .filter_map(|(lamination, name, tests)| {
            strip_test::together(tests).map(|known| TestedStrip { lamination: *lamination, name: name.clone(), known })
        })
        .collect();
    let chosen = pairs::choose(build, &strips);
    // A test that tells less than the handbook leaves the lamination as it is.
    let tells = |known: &LaminationKnown| known.deviation < build.laminations[known.lamination].wood.modulus_cov.max(MIN_SCATTER);
    let laminations: Vec<LaminationKnown> =
        chosen.iter().map(|chosen| of_lamination(build, chosen, &strips)).filter(tells).collect();
    let spare = (0..strips.len()).filter(|k| !chosen.iter().any(|chosen| chosen.strips.contains(k))).collect();

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
        answer.take_over.push(TakeOver { key: key("modulus"), value: TakenValue::Modulus(known.modulus_mpa) });
        answer.take_over.push(TakeOver { key: key("modulus_spread"), value: TakenValue::Ratio(known.deviation) });
    }
    let learnt = now.clone().restiffened(tested_build);
    let weight = weight(case, &learnt, &mut answer);
    answer.finding = Finding::Bend(Box::new(BendFound { strip, tested, first, strips, chosen, spare, laminations, weight }));
    ReadingOutcome { learnt: Some(learnt), ..answer.into() }
}

/// Numbers that this strip, this span and this method cannot have.
fn cannot_be_meant(build: &Build, reading: &Reading, bend: &BendTest) -> Vec<Diagnostic> {
    let lamination = &build.laminations[bend.lamination];
    let place = |key: &str| reading.place.key(key);
    if let Some(outer) = lamination.outer() {
        let message = message!(
            "`{}` is spliced of {} and {}: one modulus does not say how such a strip bends",
            lamination.name,
            lamination.wood.name,
            outer.wood.name
        );
        let hint = "bend a piece of each wood before they are spliced, and write what it gives as the `modulus` of that wood under [[wood]]";
        return vec![Diagnostic::fault(place("lamination"), message).hint(hint).hint("take this reading out: it is not used")];
    }
    let mut questions = Vec::new();
    let corners = lamination.strip_corners();
    let finished = corners.iter().map(|u| lamination.strip_thickness_at(*u));
    let thinnest = finished.clone().fold(f64::INFINITY, f64::min);
    let thickest = finished.fold(lamination.stock.thickness_mm, f64::max);
    let range = PlausibleRange { expected: lamination.stock.thickness_mm, min: 0.4 * thinnest, max: 1.6 * thickest };
    let along = |curve: &Curve, range: PlausibleRange, what: &str, key: &str| -> Vec<Diagnostic> {
        let several = 1 < curve.points().len();
        let at = |index: usize| if several { place(key).index(index) } else { place(key) };
        let points = curve.points().iter().enumerate();
        points.filter_map(|(index, (_, value))| question(*value, range, what, mm, &at(index))).collect()
    };
    questions.extend(along(&bend.thickness_mm, range, "the strip's thickness", "thickness"));
    let range = PlausibleRange::times(lamination.stock.width_mm, 0.25, 2.0);
    questions.extend(along(&bend.width_mm, range, "the strip's width", "width"));
    let length = lamination.strip_length_mm();
    let range = PlausibleRange { expected: 0.8 * length, min: 0.05 * length, max: 1.3 * length };
    questions.extend(question(bend.span_mm, range, "the span", mm, &place("span")));
    if !questions.is_empty() {
        return questions;
    }
    let middle = bend.thickness_mm.at(0.5 * bend.span_mm);
    if limit::below(bend.span_mm, MIN_SLENDERNESS * middle) {
        let message = message!(
            "a span of {} is {} times the strip's thickness: so short, a good part of the sag is shear",
            mm(bend.span_mm),
            format_args!("{:.0}", bend.span_mm / middle)
        );
        let hint = message!(
            "move the supports to at least {} thicknesses, {}",
            format_args!("{:.0}", MIN_SLENDERNESS),
            at_least(MIN_SLENDERNESS * middle)
        );
        questions.push(Diagnostic::fault(place("span"), message).hint(hint));
    }
    for (index, sag) in bend.sag_mm.iter().enumerate().filter(|(_, sag)| limit::above(**sag, MAX_SAG * bend.span_mm)) {
        let most = MAX_SAG * bend.span_mm;
        let message = message!("a sag of {} is more than a twentieth of the span, {}", mm(*sag), mm(most));
        let hint = message!("hang a lighter weight, about {}, for half of that", newtons(0.5 * most / sag * bend.weight_n));
        let at = if 1 < bend.sag_mm.len() { place("sag").index(index) } else { place("sag") };
        questions.push(Diagnostic::fault(at, message).hint(hint).hint("is it the sag of the weight alone, in this unit?"));
    }
    let (least, most) = bend.sag_mm.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), sag| (a.min(*sag), b.max(*sag)));
    // Readings of one sag that are so far apart are not of one sag.
    if 4.0 * bend.reads_mm.unwrap_or(READS_MM) + 0.05 * most < most - least {
        let message = message!("the sags lie {} apart, and they are of one strip under one weight", mm(most - least));
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
    let reason = |modulus: f64| (MIN_OF_HANDBOOK..=MAX_OF_HANDBOOK).contains(&(modulus / expected_mpa));
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
    let message = message!("the strip's modulus comes out at {}, and {} was expected", mpa(modulus_mpa), mpa(expected_mpa));
    let fault = Diagnostic::fault(place.clone(), message);
    let fault = match likely.as_slice() {
        [] => fault.hint("are weight, sag, span and thickness of this strip, each in its unit?"),
        slips => slips.iter().fold(fault, |fault, (_, words)| fault.hint(*words)),
    };
    Some(fault.hint(NOT_USED))
}

const MIN_OF_HANDBOOK: f64 = 0.45;
const MAX_OF_HANDBOOK: f64 = 1.9;

/// The modulus of a lamination from its strips. A half that is not tested counts as like the one that is, within the wood's scatter.
fn of_lamination(build: &Build, chosen: &ChosenStrips, strips: &[TestedStrip]) -> LaminationKnown {
    let known: Vec<&strip_test::TestedModulus> = chosen.strips.iter().map(|k| &strips[*k].known).collect();
    let n = known.len() as f64;
    let modulus_mpa = (known.iter().map(|known| known.modulus_mpa.ln()).sum::<f64>() / n).exp();
    let own = known.iter().map(|known| known.own.powi(2)).sum::<f64>().sqrt() / n;
    let shared = known.iter().map(|known| known.deviation.powi(2) - known.own.powi(2)).fold(0.0, f64::max).sqrt();
    let missing = pairs::takes(build, chosen.lamination).saturating_sub(known.len());
    let guessed = build.laminations[chosen.lamination].wood.modulus_cov * missing as f64 / (n + missing as f64);
    let deviation = own.hypot(shared).hypot(guessed);
    LaminationKnown { lamination: chosen.lamination, modulus_mpa, deviation }
}

/// The draw weight with what is known now, and how the stack would be brought to the weight wanted.
fn weight(case: &Case<'_>, learnt: &Learnt, answer: &mut Answer) -> Option<BendWeight> {
    let build = &learnt.build;
    let target = build.target?;
    build.outline.as_ref()?;
    let before_n = draw::weight_of(&case.now.build, &case.now.options).ok()?;
    let weight_n = draw::weight_of(build, &learnt.options).ok()?;
    let spread_n = learnt.scatter * weight_n;
    answer.observe(Observed::TestedWeight, weight_n, before_n, Some(spread_n));
    let wanted_n = target.stack_weight_n();
    let rest = if (weight_n - wanted_n).abs() <= NEAR * wanted_n {
        Rest::Stays
    } else {
        bench::to_weight(build.clone(), case.busy, Unnamed::Nothing, &learnt.options, answer).rest
    };
    Some(BendWeight { before_n, before_spread_n: case.now.scatter * before_n, weight_n, spread_n, wanted_n, rest })
}
