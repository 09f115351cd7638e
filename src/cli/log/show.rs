//! Answers as text and as JSON.

use super::super::input::Opened;
use crate::diag::spoken;
use crate::model::Build;
use crate::shop::blank::Lever;
use crate::shop::logged::{Answer, Answers, Bench, Found, Measure, Row, TakeOver, Value};
use crate::shop::passes::Carrier;
use crate::units::{Quantity, System, fixed, trim_zeros};
use crate::write::table::plain;
use serde_json::{Value as Json, json};

/// All answers, what is left at the machine, and the keys of the build file that would take a reading.
pub fn text(opened: &Opened, answers: &Answers, name: &str) -> String {
    let build = &opened.build;
    let count = answers.answers.len();
    let plural = if count == 1 { "" } else { "s" };
    let mut text = format!("{}: {count} reading{plural} in {name} (sizes in {})\n", build.title, build.units.length_unit());
    for answer in &answers.answers {
        text += &format!("\n{}", answer_text(build, answer));
    }
    for bench in answers.benches.iter().filter(|bench| bench.begun() || 1e-9 < bench.shift_mm.abs()) {
        text += &format!("\n{}", passes_left(build, bench));
    }
    let take: Vec<&TakeOver> = answers.answers.iter().flat_map(|answer| &answer.take_over).collect();
    if !take.is_empty() {
        text += "\nNothing above has changed the build file. To take a reading over, write it there:\n";
        for taken in latest(&take) {
            text += &format!("  {}\n", take_text(build.units, taken));
        }
    }
    text
}

/// One answer, and the passes that it leaves.
pub fn one(opened: &Opened, answers: &Answers, answer: &Answer) -> String {
    let build = &opened.build;
    let mut text = answer_text(build, answer);
    for bench in answers.benches.iter().filter(|bench| answer.lamination == Some(bench.lamination)) {
        text += &format!("\n{}", passes_left(build, bench));
    }
    for taken in &answer.take_over {
        text += &format!("build file: {}\n", take_text(build.units, taken));
    }
    text
}

/// The last of each key.
fn latest<'a>(take: &[&'a TakeOver]) -> Vec<&'a TakeOver> {
    let later = |k: usize, taken: &TakeOver| take[k + 1..].iter().any(|other| other.key == taken.key);
    take.iter().enumerate().filter(|(k, taken)| !later(*k, taken)).map(|(_, taken)| *taken).collect()
}

fn answer_text(build: &Build, answer: &Answer) -> String {
    let units = build.units;
    let mut text = format!("{}  {}: {}\n", answer.date, answer.kind, spoken(&answer.about, units));
    if !answer.rows.is_empty() {
        let rows: Vec<Vec<String>> = answer.rows.iter().map(|row| row_text(units, row)).collect();
        text += &plain(&["", "reading", "model", "difference", "band"], &rows);
    }
    if !answer.questions.is_empty() {
        text += "Not used: see the question below.\n";
    }
    for say in &answer.says {
        text += &format!("{}\n", spoken(say, units));
    }
    if let Found::Blank { removal, .. } = &answer.found
        && !removal.steps.is_empty()
    {
        let mut head = vec!["station".to_owned()];
        head.extend(removal.steps.iter().enumerate().map(|(k, step)| {
            let lever = match step.lever {
                Lever::Belly { .. } => "belly",
                Lever::Sides => "edge",
            };
            format!("{} {lever}", k + 1)
        }));
        let rows: Vec<Vec<String>> = (0..removal.steps[0].take_mm.len())
            .map(|k| {
                let station = units.rule(removal.steps[0].take_mm[k].0);
                let takes = removal.steps.iter().map(|step| units.thickness_number(step.take_mm[k].1));
                std::iter::once(station).chain(takes).collect()
            })
            .collect();
        text += &format!("Taken in each step, {}:\n", units.length_unit());
        text += &plain(&head.iter().map(String::as_str).collect::<Vec<_>>(), &rows);
    }
    text
}

fn row_text(units: System, row: &Row) -> Vec<String> {
    let number = |value: f64| match row.of {
        Measure::Thickness => fine(units, value),
        Measure::Length => units.decimal_number(value),
        Measure::Force => fixed(units.force(value), 1),
        Measure::Ratio => fixed(value, 3),
        Measure::Modulus => units.modulus_number(value),
    };
    let signed = |value: f64| if value < 0.0 { number(value) } else { format!("+{}", number(value)) };
    let unit = match row.of {
        Measure::Force => format!(", {}", units.force_unit()),
        Measure::Modulus => format!(", {}", Quantity::Modulus.bare_unit(units)),
        _ => String::new(),
    };
    vec![
        format!("{}{unit}", spoken(&row.what, units)),
        number(row.reading),
        number(row.model),
        signed(row.difference()),
        row.band.map_or(String::new(), |band| format!("± {}", number(band))),
    ]
}

/// As a micrometer shows it: half a thousandth counts.
fn fine(units: System, mm: f64) -> String {
    fixed(units.length(mm), if units == System::Inch { 4 } else { 3 })
}

/// What is left to set on the sander for one lamination.
fn passes_left(build: &Build, bench: &Bench) -> String {
    let units = build.units;
    let name = &build.laminations[bench.lamination].name;
    let left: Vec<_> = bench.left().collect();
    if left.is_empty() {
        return format!("{name}: no pass is left\n");
    }
    let rows: Vec<Vec<String>> = left
        .iter()
        .map(|(setup, pass)| {
            let paper = pass.grit.map_or(String::new(), |grit| format!("P{grit}"));
            let first = setup.passes.first().is_some_and(|first| first.number == pass.number);
            let notes = [
                (setup.turn_over && first, "turn the strip over"),
                (pass.new_paper, "new paper: scrap first, and log it"),
                (pass.repeat, "same gap again"),
            ];
            let note: Vec<&str> = notes.into_iter().filter(|(holds, _)| *holds).map(|(_, words)| words).collect();
            vec![
                pass.number.to_string(),
                if setup.carrier == Carrier::Sled { "sled".into() } else { "flat".into() },
                paper,
                units.thickness_number(pass.gap_mm),
                units.thickness_number(pass.drop_mm),
                fixed(pass.turns, 2),
                note.join("; "),
            ]
        })
        .collect();
    format!("{name}: what is left\n{}", plain(&["pass", "on", "paper", "gap", "drop", "turns", ""], &rows))
}

fn take_text(units: System, taken: &TakeOver) -> String {
    let value = match &taken.value {
        Value::Length(mm) => trim_zeros(&fine(units, *mm)),
        Value::Ratio(ratio) => trim_zeros(&fixed(*ratio, 3)),
        Value::Modulus(mpa) => units.modulus_number(*mpa),
        Value::Stations(points) => {
            let pairs = points.iter().map(|(s, t)| format!("[{}, {}]", units.decimal_number(*s), units.thickness_number(*t)));
            format!("[{}]", pairs.collect::<Vec<_>>().join(", "))
        }
        Value::Option(option) => return format!("{} {option}", taken.key),
    };
    format!("{} = {value}", taken.key)
}

/// Every number, in mm and N; sentences in the builder's units.
pub fn json(opened: &Opened, answers: &Answers) -> Json {
    let build = &opened.build;
    let r = |value: f64| (value * 1e6).round() / 1e6;
    let of = |measure: Measure| match measure {
        Measure::Thickness | Measure::Length => "mm",
        Measure::Force => "N",
        Measure::Ratio => "ratio",
        Measure::Modulus => "MPa",
    };
    let rows = |answer: &Answer| -> Vec<Json> {
        answer
            .rows
            .iter()
            .map(|row| {
                json!({
                    "what": spoken(&row.what, build.units),
                    "unit": of(row.of),
                    "reading": r(row.reading),
                    "model": r(row.model),
                    "difference": r(row.difference()),
                    "band": row.band.map(r),
                })
            })
            .collect()
    };
    let found = |answer: &Answer| match &answer.found {
        Found::Nothing => Json::Null,
        Found::Tape(correction) => json!({
            "gap_shift_mm": r(correction.gap_shift_mm),
            "bare_gap_shift_mm": r(correction.bare_gap_shift_mm),
            "spread_before_mm": r(correction.spread_before_mm),
            "spread_after_mm": r(correction.spread_after_mm),
            "tape": correction.tape.iter().map(|(u, made)| json!({
                "u_mm": r(*u),
                "wanted_mm": r(made.wanted_mm),
                "made_mm": r(made.made_mm),
                "pieces": made.pieces.iter().map(|(stock, count)| json!({ "of": answers.shims[*stock].of, "count": count })).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
        }),
        Found::Zero { offset_mm, half_width_mm, lean_mm } => {
            json!({ "offset_mm": r(*offset_mm), "half_width_mm": half_width_mm.map(r), "lean_mm": lean_mm.map(r) })
        }
        Found::Strip(grinding) => json!({
            "offset_mm": grinding.offset_mm.map(r),
            "worst_mm": r(grinding.worst_mm),
            "done": grinding.done,
            "passes_left": grinding.left,
            "resized": grinding.resized.as_ref().map(|resized| json!({
                "as_it_is_n": r(resized.as_it_is_n),
                "weight_n": r(resized.weight_n),
                "wanted_n": r(resized.wanted_n),
                "changes": resized.changes.iter().map(|change| json!({
                    "lamination": build.laminations[change.lamination].name,
                    "butt_mm": change.butt_mm.map(r),
                    "tip_mm": change.tip_mm.map(r),
                })).collect::<Vec<_>>(),
            })),
        }),
        Found::Thickness(mm) => json!({ "thickness_mm": r(*mm) }),
        Found::Print { across_mm, up_mm } => json!({ "across_mm": r(*across_mm), "up_mm": r(*up_mm) }),
        Found::Bend(found) => json!({
            "strip": { "modulus_mpa": r(found.strip.modulus_mpa), "half_width_mpa": r(found.strip.half_width * found.strip.modulus_mpa) },
            "laminations": found.laminations.iter().map(|known| json!({
                "lamination": build.laminations[known.lamination].name,
                "modulus_mpa": r(known.modulus_mpa),
                "spread": r(known.deviation),
                "strips": known.strips,
            })).collect::<Vec<_>>(),
            "spare": found.spare,
            "weight_n": found.weight_n.map(|[weight, spread]| json!({ "weight_n": r(weight), "spread_n": r(spread) })),
        }),
        Found::Release(found) => json!({
            "retained": r(found.retained),
            "next": found.next.as_ref().map(|next| json!({
                "stage": next.stage,
                "wanted_mm": r(next.wanted_mm),
                "band_mm": r(next.band_mm),
                "form_by": next.form_by.map(r),
                "props_mm": next.props_mm.map(|[upper, lower]| json!({ "upper": r(upper), "lower": r(lower) })),
                "left_mm": next.left_mm.map(|[upper, lower]| json!({ "upper": r(upper), "lower": r(lower) })),
            })),
        }),
        Found::Blank { factor, band, removal } => json!({
            "stiffness_factor": r(*factor),
            "band": r(*band),
            "trimmed_n": r(removal.trimmed_n),
            "wanted_n": r(removal.wanted_n),
            "reached_n": r(removal.reached_n),
            "sides_alone": removal.sides_alone.map(r),
            "corners": { "radius_mm": r(removal.corners.radius_mm), "takes_n": r(removal.corners.takes_n) },
            "steps": removal.steps.iter().map(|step| json!({
                "lever": if step.lever == Lever::Sides { "sides" } else { "belly" },
                "from_n": r(step.from_n),
                "to_n": r(step.to_n),
                "take_mm": step.take_mm.iter().map(|(s, mm)| [r(*s), r(*mm)]).collect::<Vec<_>>(),
            })).collect::<Vec<_>>(),
        }),
        Found::Tiller { difference_mm } => json!({ "difference_mm": r(*difference_mm) }),
        Found::Bows(calibrated) => {
            json!({ "stiffness_factor": r(calibrated.factor), "spread": calibrated.spread.map(r), "bows": calibrated.bows })
        }
    };
    let answered: Vec<Json> = answers
        .answers
        .iter()
        .map(|answer| {
            json!({
                "date": answer.date,
                "of": answer.kind,
                "about": spoken(&answer.about, build.units),
                "rows": rows(answer),
                "says": answer.says.iter().map(|say| spoken(say, build.units)).collect::<Vec<_>>(),
                "take_over": answer.take_over.iter().map(|taken| take_text(build.units, taken)).collect::<Vec<_>>(),
                "questions": answer.questions.iter().map(|question| question.spoken(build.units).message).collect::<Vec<_>>(),
                "found": found(answer),
            })
        })
        .collect();
    let left: Vec<Json> = answers
        .benches
        .iter()
        .map(|bench| {
            json!({
                "lamination": build.laminations[bench.lamination].name,
                "made": bench.made,
                "passes": bench.left().map(|(_, pass)| json!({ "number": pass.number, "grit": pass.grit, "gap_mm": r(pass.gap_mm) })).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({ "title": build.title, "answers": answered, "left": left })
}
