//! Belly to string on both limbs, beside the distances of the design.

use super::super::{Answer, Found, Known, Measure, Row};
use super::beyond_design;
use crate::diag::mm;
use crate::mechanics::bow::{Options, StringOn};
use crate::mechanics::{draw, tiller as targets};
use crate::model::Build;
use crate::model::log::Reading;
use crate::shop::plausible::{Band, question};

/// A tiller is read past a moving string to about this, mm.
const TILLER_MM: f64 = 3.0;

pub fn tiller(
    build: &Build,
    reading: &Reading,
    pivot_to_nock_mm: Option<f64>,
    brace_mm: Option<f64>,
    gaps_mm: &[[f64; 3]],
    known: &Known<'_>,
) -> Answer {
    let draw = pivot_to_nock_mm.map_or("at brace".to_owned(), |draw| format!("drawn {} from the pivot point", mm(draw)));
    let mut answer = Answer::new(reading, "tiller", format!("belly to string {draw}"));
    if let Some(question) = pivot_to_nock_mm.and_then(|drawn| beyond_design(build, reading, drawn)) {
        answer.questions.push(question);
        return answer;
    }
    let string = brace_mm.map_or(StringOn::Brace, |height_mm| StringOn::BraceAt { height_mm });
    let options = Options { full_draw_mm: pivot_to_nock_mm.or(known.options.full_draw_mm), string, ..known.options.clone() };
    let curve = match draw::curve(build, &options) {
        Ok(found) => found.value,
        Err(faults) => {
            answer.questions = faults;
            return answer;
        }
    };
    let point = if pivot_to_nock_mm.is_some() { curve.points.len() - 1 } else { 0 };
    let readings: Vec<targets::Reading> = gaps_mm
        .iter()
        .map(|[s_mm, upper_mm, lower_mm]| targets::Reading { s_mm: *s_mm, upper_mm: *upper_mm, lower_mm: *lower_mm })
        .collect();
    let compared = targets::compared(&curve, point, &readings);
    for (index, found) in compared.iter().enumerate() {
        let place = reading.place.key("gaps").index(index);
        let band = Band { expected: found.target_mm, least: 0.5 * found.target_mm - 25.0, most: 1.5 * found.target_mm + 25.0 };
        for value in [found.reading.upper_mm, found.reading.lower_mm] {
            answer.questions.extend(question(value, band, "the distance", mm, &place));
        }
    }
    if !answer.questions.is_empty() {
        return answer;
    }
    for found in &compared {
        for (limb, value) in [("upper", found.reading.upper_mm), ("lower", found.reading.lower_mm)] {
            answer.rows.push(Row {
                what: format!("station {}, {limb} limb", mm(found.reading.s_mm)),
                of: Measure::Length,
                reading: value,
                model: found.target_mm,
                band: Some(TILLER_MM),
            });
        }
    }
    let mean = compared.iter().map(targets::Compared::difference_mm).sum::<f64>() / compared.len().max(1) as f64;
    let worst = compared.iter().max_by(|a, b| a.difference_mm().abs().total_cmp(&b.difference_mm().abs()));
    if let Some(worst) = worst {
        answer.say(if TILLER_MM < worst.difference_mm().abs() {
            let stiff = if 0.0 < worst.difference_mm() { "upper" } else { "lower" };
            format!(
                "The limbs differ most at station {}: the {stiff} limb stands {} farther from the string there and is the stiffer one. Take wood off its belly about there, a few strokes, and read again.",
                mm(worst.reading.s_mm),
                mm(worst.difference_mm().abs())
            )
        } else {
            "Both limbs agree as far as one reads past a string.".to_owned()
        });
    }
    let off = compared.iter().max_by(|a, b| a.off_mm().abs().total_cmp(&b.off_mm().abs()));
    if let Some(off) = off
        && TILLER_MM < off.off_mm().abs()
    {
        answer.say(format!(
            "Against the design both limbs bend {} about station {}: {}.",
            if 0.0 < off.off_mm() { "too little" } else { "too much" },
            mm(off.reading.s_mm),
            if 0.0 < off.off_mm() { "take wood off there" } else { "leave it alone there, and work elsewhere" }
        ));
    }
    answer.found = Found::Tiller { difference_mm: mean };
    answer
}
