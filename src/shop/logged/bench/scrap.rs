//! What does scrap tell: the gauge's zero, the table's lean, and along a sled how its taper comes out?

use super::super::{Answer, Found, signed};
use super::agree::{self, Figure, NOT_USED, Told, ZERO_MM, Zero};
use super::strip::edges;
use super::{Bench, place_words, thickness_row, tilt_says};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::Build;
use crate::model::log::{Reading, Run};
use crate::numeric::fit;
use crate::shop::budget::CALIPER_MM;
use crate::shop::drift::{self, Read};
use crate::shop::passes::Carrier;
use crate::shop::plausible::{Band, question};

/// Scrap through the machine: the gauge's zero, the table's lean, and along a sled how its taper comes out.
pub fn test_strip(build: &Build, reading: &Reading, bench: Option<&mut Bench>, on_sled: bool, run: &Run) -> Answer {
    let unnamed = bench.is_none();
    let gauge = run.gauge_mm.unwrap_or(0.0);
    let mut answer = Answer::new(reading, "test strip", format!("scrap at a gauge of {}", mm(gauge)));
    let sled = bench.as_ref().and_then(|bench| bench.sled.as_ref()).filter(|_| on_sled);
    let surface = |u: f64| sled.map_or(0.0, |sled| sled.surface_mm(u));
    let place = reading.place.key("readings");
    for (index, at) in run.at.iter().enumerate() {
        let expected = gauge - surface(at.u_mm);
        let band = Band::within(expected, ZERO_MM.min(0.4 * expected.abs()));
        for value in edges(at) {
            answer.questions.extend(question(value, band, "the scrap", mm, &place.index(index)));
        }
    }
    if !answer.questions.is_empty() {
        return answer;
    }
    let good_mm = match &bench {
        Some(bench) if on_sled => bench.good_mm(build, Carrier::Sled),
        _ => CALIPER_MM,
    };
    let offsets: Vec<f64> = run.at.iter().map(|at| at.middle_mm() + surface(at.u_mm) - gauge).collect();
    let (zero, lean) = match zero_and_lean(&offsets, run, on_sled, good_mm, &place) {
        Ok(found) => found,
        Err(fault) => return answer.asking(vec![fault]),
    };
    let named = |u: f64| match &bench {
        Some(bench) if on_sled => place_words(&build.laminations[bench.lamination], u),
        _ => mm(u),
    };
    let rows = run.at.iter().map(|at| thickness_row(at, &named(at.u_mm), gauge - surface(at.u_mm), CALIPER_MM));
    answer.rows.extend(rows);
    let offset_mm = zero.offset_mm;
    answer.say(format!("The cutter stands {} ± {} from where the gauge says.", signed(offset_mm), mm(zero.half_width_mm)));
    if on_sled {
        let along: Vec<(f64, f64)> = run.at.iter().zip(&offsets).map(|(at, offset)| (at.u_mm, *offset)).collect();
        if let Some(line) = fit::line(&along)
            && let Some([_, half]) = line.half_widths
            && half < line.slope.abs()
        {
            let length = bench.as_ref().and_then(|bench| bench.sled.as_ref()).map_or(0.0, |sled| sled.strip_length_mm);
            answer.say(format!(
                "Along the sled the taper comes out {} by {} ± {} over the strip: measure the sled's heights and log them.",
                if line.slope < 0.0 { "too steep" } else { "too shallow" },
                mm((line.slope * length).abs()),
                mm((half * length).max(CALIPER_MM))
            ));
        }
    }
    let one = drift::Reading {
        gauge_mm: gauge,
        surface_mm: 0.0,
        left_mm: gauge + offset_mm + 0.5 * lean,
        right_mm: gauge + offset_mm - 0.5 * lean,
        apart_mm: run.apart_mm.unwrap_or(0.0),
    };
    let mut lean_over = None;
    if let Some(sander) = &build.sander {
        let width =
            bench.as_ref().map_or(0.0, |bench| f64::from(bench.together) * build.laminations[bench.lamination].stock.width_mm);
        lean_over = one.tilt(width.max(run.apart_mm.unwrap_or(0.0)), sander.widest_mm).map(|tilt| tilt.over_width_mm);
        tilt_says(&mut answer, &one, width, sander);
        if let Some(bench) = bench {
            let lamination = &build.laminations[bench.lamination];
            let nominal_mm = if on_sled { offset_mm } else { offset_mm - bench.shift_mm };
            let flat_mm = if on_sled { offset_mm + bench.shift_mm } else { offset_mm };
            bench.made = bench.made.max(run.after);
            bench.zero_on_sled = on_sled;
            let before = bench.made;
            let half_done = bench.setups.iter().position(|setup| setup.passes.iter().any(|pass| before < pass.number));
            if let Some(at) = half_done {
                let setup = bench.begun_setup(at);
                let moved_mm = if setup.carrier == Carrier::Sled { nominal_mm } else { flat_mm } - offset_mm;
                let one = drift::Reading { left_mm: one.left_mm + moved_mm, right_mm: one.right_mm + moved_mm, ..one };
                if bench.restated(lamination, sander, &setup, Read::Scrap, &one, &mut answer).is_some() {
                    let left = bench.left().count();
                    answer.say(format!("{left} passes are left for `{}`, restated below.", lamination.name));
                }
            }
        }
    }
    if unnamed {
        answer.say("Name the lamination in hand, and its passes are restated from this; each paper and each lamination wants its own scrap.");
    }
    answer.found = Found::Zero { offset_mm, half_width_mm: zero.half_width_mm, lean_mm: lean_over };
    answer
}

/// The zero that the places of a scrap tell, and left less right, mm. One figure alone tells none.
fn zero_and_lean(
    offsets_mm: &[f64],
    run: &Run,
    on_sled: bool,
    good_mm: f64,
    readings: &Place,
) -> Result<(Zero, f64), Diagnostic> {
    let figures: Vec<Figure> = offsets_mm.iter().map(|offset_mm| Figure { offset_mm: *offset_mm, as_it_came: false }).collect();
    let told = agree::told(&figures, good_mm).map_err(|doubt| doubt.question("this scrap", readings))?;
    let lean = agree::lean_mm(&run.at, run.apart_mm.is_some(), readings)?;
    match told {
        Some(Told::Agreed(_, zero)) => Ok((zero, lean)),
        // Two edges are two figures; how far they differ may be the table's lean, or a slip. On a sled both stand or fall with the place.
        Some(Told::Alone(at)) if run.apart_mm.is_some() && !on_sled => {
            Ok((Zero { offset_mm: offsets_mm[at], half_width_mm: good_mm + 0.5 * lean.abs() }, lean))
        }
        _ => {
            let message = "one place alone cannot be checked, and would move every gap that is left";
            let hint =
                if on_sled { "read the scrap at two more places" } else { "read the scrap at both edges, or at two more places" };
            Err(Diagnostic::fault(readings.clone(), message).hint(hint).hint(NOT_USED))
        }
    }
}
