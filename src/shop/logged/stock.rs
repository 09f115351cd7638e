//! Sheet, shim stock and prints as measured.

use super::{Answer, Found, Measure, Row, TakeOver, Value};
use crate::diag::{Diagnostic, mm};
use crate::model::Build;
use crate::model::log::Reading;
use crate::model::workshop::{ShimStock, SledStock};
use crate::numeric::fit;
use crate::shop::budget::CALIPER_MM;
use crate::shop::plausible::{Band, question};

/// Tape is pressed thin and card swells, but not beyond this.
fn shim_band(stock: &ShimStock) -> Band {
    Band::times(stock.thickness_mm, 0.4, 2.5)
}

/// Values out of all reason, and values that stand against the others: places of one sheet or roll differ by a tenth at most.
fn asked(reading: &Reading, values: &[f64], band: Band, what: &str) -> Vec<Diagnostic> {
    let place = reading.place.key("thickness");
    let at = |index: usize| if values.len() == 1 { place.clone() } else { place.index(index) };
    let out: Vec<Diagnostic> =
        values.iter().enumerate().filter_map(|(index, value)| question(*value, band, what, mm, &at(index))).collect();
    let Some(middle) = fit::median(values).filter(|_| out.is_empty()) else { return out };
    let apart_mm = (0.1 * middle).max(2.0 * CALIPER_MM);
    let against = |(index, value): (usize, &f64)| {
        let off_mm = (value - middle).abs();
        (apart_mm < off_mm).then(|| {
            Diagnostic::fault(
                at(index),
                format!("{what} reads {} here, {} off the middle of its readings", mm(*value), mm(off_mm)),
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
    let mut answer = Answer::new(reading, "shim", listed.of.clone());
    answer.questions = asked(reading, thickness_mm, shim_band(listed), &listed.of);
    let Some(mean) = fit::mean(thickness_mm).filter(|_| answer.questions.is_empty()) else { return answer };
    shims[stock].thickness_mm = mean.value;
    answer.rows.push(row("thickness", mean.value, listed.thickness_mm, Some(CALIPER_MM)));
    answer.say(format!(
        "Shims and tape are made up with {} from here on; the sheets follow once the build file has it.",
        mm(mean.value)
    ));
    answer.take_over.push(TakeOver { key: format!("shop.shims[{stock}].thickness"), value: Value::Length(mean.value) });
    answer.found = Found::Thickness(mean.value);
    answer
}

pub fn sheet(build: &Build, reading: &Reading, thickness_mm: &[f64]) -> Answer {
    let mut answer = Answer::new(reading, "sheet", "sheet for the sled");
    let Some(plan) = &build.sled else {
        answer.say("The build file has no sled that a sheet could be for.");
        return answer;
    };
    answer.about = plan.sheet.material.clone();
    answer.questions = asked(reading, thickness_mm, Band::times(plan.sheet.thickness_mm, 0.6, 1.5), "the sheet");
    let Some(mean) = fit::mean(thickness_mm).filter(|_| answer.questions.is_empty()) else { return answer };
    let (least, most) = thickness_mm.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), t| (a.min(*t), b.max(*t)));
    let spread = 0.5 * (most - least);
    answer.rows.push(row("thickness", mean.value, plan.sheet.thickness_mm, Some(plan.sheet.spread_mm.max(CALIPER_MM))));
    let off = mean.value - plan.sheet.thickness_mm;
    let slotted = plan.make.traits().from == SledStock::Sheets;
    if CALIPER_MM < off.abs() {
        answer.say(format!(
            "Before cutting, write the measured thickness and run `make` again: {}.",
            match (slotted, off < 0.0) {
                (true, true) => format!("slots drawn for the old one would be {} loose", mm(-off)),
                (true, false) => format!("slots drawn for the old one would be {} too tight", mm(off)),
                (false, _) => "heights that count a deck of this sheet move with it".to_owned(),
            }
        ));
        answer.take_over.push(TakeOver { key: "sled.sheet.thickness".into(), value: Value::Length(mean.value) });
    } else {
        answer.say("The sheet is as thick as the build file says.");
    }
    if plan.sheet.spread_mm + CALIPER_MM < spread {
        answer.say(format!("It varies by ± {} from place to place, more than the build file says.", mm(spread)));
        answer.take_over.push(TakeOver { key: "sled.sheet.spread".into(), value: Value::Length(spread) });
    }
    answer.found = Found::Thickness(mean.value);
    answer
}

/// What a scale check's bar measures where a printer prints at full scale, mm.
const BAR_MM: f64 = 100.0;

pub fn print(reading: &Reading, across_mm: f64, up_mm: f64) -> Answer {
    let mut answer = Answer::new(reading, "print", "scale check of 100 mm");
    let band = Band::within(BAR_MM, 10.0);
    for (key, value) in [("across", across_mm), ("up", up_mm)] {
        answer.questions.extend(question(value, band, "the bar", mm, &reading.place.key(key)));
    }
    if !answer.questions.is_empty() {
        return answer;
    }
    // A steel rule shows a fifth of a millimetre: over a limb of 850 mm that is 1.7 mm.
    const RULE_MM: f64 = 0.2;
    for (what, value) in [("across", across_mm), ("up", up_mm)] {
        answer.rows.push(Row { what: what.into(), of: Measure::Length, reading: value, model: BAR_MM, band: Some(RULE_MM) });
    }
    if (across_mm - BAR_MM).abs() <= RULE_MM && (up_mm - BAR_MM).abs() <= RULE_MM {
        answer.say("The print is at true size.");
    } else {
        answer.say("Print again with the correction, at 100 % and not fitted to the page, and check the bars once more.");
        let number = |value: f64| crate::units::trim_zeros(&crate::units::fixed(value, 2));
        let option = format!("--printed {}x{}", number(across_mm), number(up_mm));
        answer.take_over.push(TakeOver { key: "taperwright make".into(), value: Value::Option(option) });
    }
    answer.found = Found::Print { across_mm, up_mm };
    answer
}

fn row(what: &str, reading: f64, model: f64, band: Option<f64>) -> Row {
    Row { what: what.into(), of: Measure::Thickness, reading, model, band }
}
