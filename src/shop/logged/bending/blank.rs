//! A blank's weight: how stiff its wood is, and what to take off on the way to the bow.

use super::super::words::as_wide_as;
use super::super::{Answer, Case, Finding, Observed};
use super::{beyond_design, no_draw};
use crate::diag::{Diagnostic, mm, newtons};
use crate::mechanics::blank::{force_beside_n, stiffness_factor};
use crate::mechanics::bow::Options;
use crate::mechanics::weigher::OtherLimb;
use crate::model::Build;
use crate::model::log::{BlankBending, BlankWidth, Reading, TakenOff};
use crate::numeric::interp::Curve;
use crate::shop::blank::{Removal, Stand, plan_beside};
use crate::shop::plausible::{PlausibleRange, question};

/// One weighing of a blank, draw and brace height included, is trusted to this share of it: scales and draw boards alone differ as
/// much. Common practice, no source.
pub const TRUST: f64 = 0.03;

/// So many standard deviations of what wood and scales do a weight may lie off before it is asked about.
const MAX_SIGMAS: f64 = 4.0;
/// Less than this scatter, as a part of the weight, nobody can claim of a bow that was not weighed yet: common practice, no source.
pub(super) const MIN_SCATTER: f64 = 0.13;

/// What may be meant beside an expected weight that scatters by this part of it.
pub(super) fn within_scatter(expected_n: f64, scatter: f64) -> PlausibleRange {
    let off = (MAX_SIGMAS * scatter).exp().min(2.0);
    PlausibleRange::times(expected_n, off.recip(), off)
}

/// This bow as its weighings tell it so far: wood keeps its stiffness while it is worked, and what is off stays off.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Worked {
    /// Factors of the weighings that agree.
    factors: Vec<f64>,
    /// As said last; before any weighing as the outline has it.
    width: Option<BlankWidth>,
    belly_off_mm: f64,
    /// Trimmed to the outline and nothing else taken off, as of the last weighing, N.
    pub trimmed_n: Option<f64>,
    /// Wood had still to come off after the last weighing.
    pub to_take: bool,
}

impl Worked {
    /// All stiffness against the handbook's.
    pub fn factor(&self) -> Option<f64> {
        let n = self.factors.len() as f64;
        (!self.factors.is_empty()).then(|| (self.factors.iter().map(|factor| factor.ln()).sum::<f64>() / n).exp())
    }

    /// How the bow stands with what a reading says of it; what it does not say is as it was.
    pub fn stand<'a>(&'a self, said: &'a TakenOff) -> Stand<'a> {
        Stand { width: said.width.as_ref().or(self.width.as_ref()), belly_off_mm: said.belly_off_mm.unwrap_or(self.belly_off_mm) }
    }

    /// Nothing is known to have come off but what trimming takes.
    pub fn is_whole(&self, said: &TakenOff) -> bool {
        let stand = self.stand(said);
        matches!(stand.width, None | Some(BlankWidth::Strips | BlankWidth::Outline)) && stand.belly_off_mm <= 0.0
    }
}

/// A blank on the scale.
pub struct Weighing<'a> {
    pub bent: BlankBending,
    pub weight_n: f64,
    pub taken_off: &'a TakenOff,
}

/// What a blank's weight says.
#[derive(Debug, Clone, PartialEq)]
pub struct BlankFound {
    /// All stiffness against the handbook's, from all weighings that agree, and one standard deviation of it, relative.
    pub factor: f64,
    pub band: f64,
    /// From this weighing alone.
    pub own_factor: f64,
    /// Earlier ones made it this, and cannot be right together with this one, which is taken alone.
    pub earlier: Option<f64>,
    /// How wide it was counted.
    pub width: Option<BlankWidth>,
    pub belly_off_mm: f64,
    /// Wood was to come off after the weighing before, and the reading does not say what did.
    pub unsaid: bool,
    pub removal: Removal,
}

/// A blank's weight, held against the build as made. Its width is as said, else as said last, else that of its strips.
pub fn blank(case: &Case<'_>, build: &Build, weighing: &Weighing<'_>, worked: &mut Worked) -> Answer {
    let (reading, now) = (case.reading, case.now);
    let (bent, weight_n, said) = (weighing.bent, weighing.weight_n, weighing.taken_off);
    let last = Worked { width: worked.width.clone().or(Some(BlankWidth::Strips)), ..worked.clone() };
    let stand = last.stand(said);
    let mut answer = Answer::new(reading);
    answer.questions.extend(match bent {
        BlankBending::LongString { pivot_to_nock_mm, .. } => beyond_design(build, reading, pivot_to_nock_mm),
        BlankBending::Braced { pivot_to_nock_mm, brace_mm } => {
            beyond_design(build, reading, pivot_to_nock_mm).or_else(|| no_draw(build, reading, pivot_to_nock_mm, Some(brace_mm)))
        }
        BlankBending::Floor { .. } => None,
    });
    answer.questions.extend(width_questions(build, reading, said));
    let beside = case.lower_options(&now.options);
    let modelled = stand.of(build).and_then(|blank| {
        let lower = case.lower(&beside).map(|lower| stand.other_limb(build, lower.build)).transpose()?;
        let other = case.lower(&beside).zip(lower.as_ref()).map(|(limb, build)| OtherLimb { build, ..limb });
        let model_n = force_beside_n(&blank, &now.options, other, bent)?;
        Ok((model_n, stiffness_factor(&blank, &now.options, other, bent, weight_n)?))
    });
    let (model_n, factor) = match modelled {
        Ok(found) => found,
        Err(fault) => {
            answer.ask(fault);
            return answer;
        }
    };
    let range = within_scatter(model_n, now.scatter.max(MIN_SCATTER));
    answer.questions.extend(question(weight_n, range, "the blank", newtons, &reading.place.key("weight")));
    if !answer.questions.is_empty() {
        return answer;
    }
    let earlier = worked.factor().filter(|earlier| 2.0 * TRUST < (factor / earlier).ln().abs());
    if let (Some(earlier), None) = (earlier, &said.width) {
        let message = format!(
            "{}, this makes the wood {factor:.2} times the handbook's stiffness, and earlier weighings made it {earlier:.2}",
            as_wide_as(stand.width)
        );
        let hint =
            "say how wide it is now, such as width = \"outline\" once it is trimmed, and what is off the belly with `belly_off`";
        return Answer::asking(reading, vec![Diagnostic::fault(reading.place.clone(), message).hint(hint)]);
    }
    if earlier.is_some() {
        worked.factors.clear();
    }
    worked.factors.push(factor);
    let mean = worked.factor().unwrap_or(factor);
    let trust = TRUST / (worked.factors.len() as f64).sqrt();
    answer.observe(Observed::BlankWeight, weight_n, model_n, Some(now.scatter * model_n));
    answer.observe(Observed::Stiffness, mean, now.options.stiffness_factor, Some(trust * mean));
    let options = Options { stiffness_factor: mean, ..now.options.clone() };
    let beside = case.lower_options(&options);
    let removal = match plan_beside(build, &options, case.lower(&beside), stand, &case.background.stations_mm) {
        Ok(found) => found.value,
        Err(faults) => {
            answer.questions.extend(faults);
            return answer;
        }
    };
    if build.target.is_some() {
        // Force is in proportion to stiffness.
        let model_n = removal.trimmed_n * now.options.stiffness_factor / mean;
        answer.observe(Observed::TrimmedWeight, removal.trimmed_n, model_n, Some(trust * removal.trimmed_n));
    }
    let unsaid = worked.to_take && *said == TakenOff::default();
    worked.trimmed_n = Some(removal.trimmed_n);
    worked.to_take = !removal.steps.is_empty();
    let width = stand.width.cloned();
    (worked.width, worked.belly_off_mm) = (width.clone(), stand.belly_off_mm);
    let found = BlankFound {
        factor: mean,
        band: trust,
        own_factor: factor,
        earlier,
        width,
        belly_off_mm: stand.belly_off_mm,
        unsaid,
        removal,
    };
    answer.finding = Finding::Blank(Box::new(found));
    answer
}

/// A blank is wider than the bow, and never wider than its strips by much.
fn width_questions(build: &Build, reading: &Reading, said: &TakenOff) -> Vec<Diagnostic> {
    let Some(outline) = &build.outline else { return Vec::new() };
    let place = reading.place.key("width");
    let of = |width: &Curve, what: String| {
        let points = width.points().iter().enumerate().filter(|(_, (s, _))| *s <= outline.nock_mm());
        // One width for the whole limb is held against its widest place.
        let against = |s: f64| if width.points().len() == 1 { outline.width.max().y } else { outline.width_at(s) };
        let asked = points.filter_map(|(index, (s, w))| {
            question(*w, PlausibleRange::times(against(*s), 0.6, 4.0), &what, mm, &place.index(index))
        });
        asked.collect::<Vec<_>>()
    };
    match &said.width {
        Some(BlankWidth::Whole(width)) => of(width, "the blank's width".into()),
        Some(BlankWidth::Each(each)) => each
            .iter()
            .flat_map(|(index, width)| of(width, format!("the width of `{}`", build.laminations[*index].name)))
            .collect(),
        Some(BlankWidth::Strips | BlankWidth::Outline) | None => Vec::new(),
    }
}
