//! Sheet, shim stock and prints as measured.

use super::{Answer, Finding, Observed, Silence, TakeOver, TakenValue};
use crate::diag::{Diagnostic, mm};
use crate::model::Build;
use crate::model::log::Reading;
use crate::model::workshop::ShimStock;
use crate::numeric::fit;
use crate::shop::budget::CALIPER_MM;
use crate::shop::plausible::{PlausibleRange, question};

/// Tape is pressed thin and card swells, but not beyond this.
fn shim_range(stock: &ShimStock) -> PlausibleRange {
    PlausibleRange::times(stock.thickness_mm, 0.4, 2.5)
}

/// Values out of all reason, and values that stand against the others: places of one sheet or roll differ by a tenth at most.
fn asked(reading: &Reading, values: &[f64], range: PlausibleRange, what: &str) -> Vec<Diagnostic> {
    let place = reading.place.key("thickness");
    let at = |index: usize| if values.len() == 1 { place.clone() } else { place.index(index) };
    let out: Vec<Diagnostic> =
        values.iter().enumerate().filter_map(|(index, value)| question(*value, range, what, mm, &at(index))).collect();
    let Some(middle) = fit::median(values).filter(|_| out.is_empty()) else { return out };
    let apart_mm = (0.1 * middle).max(2.0 * CALIPER_MM);
    let against = |(index, value): (usize, &f64)| {
        let off_mm = (value - middle).abs();
        (apart_mm < off_mm).then(|| {
            Diagnostic::fault(
                at(index),
                message!("{} reads {} here, {} off the middle of its readings", what, mm(*value), mm(off_mm)),
            )
            .hint("is it read at this place, in this unit, and of this piece?")
            .hint("the whole reading is not used until it is mended")
        })
    };
    values.iter().enumerate().filter_map(against).collect()
}

/// `shims` is the stock as measured so far: this reading counts from here on.
pub fn shim(build: &Build, reading: &Reading, stock: usize, thickness_mm: &[f64], shims: &mut [ShimStock]) -> Answer {
    let listed = &build.shop.shims[stock];
    let mut answer = Answer::asking(reading, asked(reading, thickness_mm, shim_range(listed), &listed.of));
    let Some(mean) = fit::mean(thickness_mm).filter(|_| answer.questions.is_empty()) else { return answer };
    shims[stock].thickness_mm = mean.value;
    answer.observe(Observed::Thickness, mean.value, listed.thickness_mm, Some(CALIPER_MM));
    answer.take_over.push(TakeOver { key: format!("shop.shims[{stock}].thickness"), value: TakenValue::Length(mean.value) });
    answer.finding = Finding::Shim { thickness_mm: mean.value };
    answer
}

/// Sheet for the sled as measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetFound {
    pub thickness_mm: f64,
    /// By how much it is thicker than the build file says, where a caliper tells.
    pub off_mm: Option<f64>,
    /// From place to place either way, where it is more than the build file says.
    pub spread_mm: Option<f64>,
}

pub fn sheet(build: &Build, reading: &Reading, thickness_mm: &[f64]) -> Answer {
    let Some(plan) = &build.sled else { return Answer::new(reading).silent(Silence::NoSled) };
    let range = PlausibleRange::times(plan.sheet.thickness_mm, 0.6, 1.5);
    let mut answer = Answer::asking(reading, asked(reading, thickness_mm, range, "the sheet"));
    let Some(mean) = fit::mean(thickness_mm).filter(|_| answer.questions.is_empty()) else { return answer };
    let (min, max) = thickness_mm.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), t| (a.min(*t), b.max(*t)));
    let band = plan.sheet.spread_mm.max(CALIPER_MM);
    answer.observe(Observed::Thickness, mean.value, plan.sheet.thickness_mm, Some(band));
    let mut take = |key: &str, value: f64| {
        answer.take_over.push(TakeOver { key: key.into(), value: TakenValue::Length(value) });
    };
    let off_mm = Some(mean.value - plan.sheet.thickness_mm).filter(|off| CALIPER_MM < off.abs());
    let spread_mm = Some(0.5 * (max - min)).filter(|spread| plan.sheet.spread_mm + CALIPER_MM < *spread);
    if off_mm.is_some() {
        take("sled.sheet.thickness", mean.value);
    }
    if let Some(spread) = spread_mm {
        take("sled.sheet.spread", spread);
    }
    answer.finding = Finding::Sheet(SheetFound { thickness_mm: mean.value, off_mm, spread_mm });
    answer
}

/// What a scale check's bar measures where a printer prints at full scale, mm.
const BAR_MM: f64 = 100.0;
/// A steel rule shows a fifth of a millimetre: over a limb of 850 mm that is 1.7 mm.
const RULE_MM: f64 = 0.2;

pub fn print(reading: &Reading, across_mm: f64, up_mm: f64) -> Answer {
    let range = PlausibleRange::within(BAR_MM, 10.0);
    let asked = [("across", across_mm), ("up", up_mm)]
        .into_iter()
        .filter_map(|(key, value)| question(value, range, "the bar", mm, &reading.place.key(key)));
    let mut answer = Answer::asking(reading, asked.collect());
    if !answer.questions.is_empty() {
        return answer;
    }
    answer.observe(Observed::Across, across_mm, BAR_MM, Some(RULE_MM));
    answer.observe(Observed::Up, up_mm, BAR_MM, Some(RULE_MM));
    let true_size = (across_mm - BAR_MM).abs() <= RULE_MM && (up_mm - BAR_MM).abs() <= RULE_MM;
    if !true_size {
        let number = |value: f64| crate::units::trim_zeros(&crate::units::fixed(value, 2));
        let option = format!("--printed {}x{}", number(across_mm), number(up_mm));
        answer.take_over.push(TakeOver { key: "taperwright make".into(), value: TakenValue::Option(option) });
    }
    answer.finding = Finding::Print { across_mm, up_mm, true_size };
    answer
}
