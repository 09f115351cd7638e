//! What does scrap tell: the gauge's zero, the table's lean, and along a sled how its taper comes out?

use super::super::{Answer, Found, signed};
use super::strip::edges;
use super::{Bench, lean_mm, spread, thickness_row, tilt_says};
use crate::diag::{Diagnostic, mm};
use crate::model::Build;
use crate::model::log::{Reading, Run};
use crate::numeric::fit;
use crate::shop::budget::CALIPER_MM;
use crate::shop::drift::{self, Read};
use crate::shop::passes::Carrier;
use crate::shop::plausible::{Band, question};

/// New paper moves the zero of a gauge by some tenths of a millimetre; more was misread, mm.
const ZERO_MM: f64 = 0.75;
/// Places of one scrap tell the same gap within this, mm: a cutter's error along a sled is less, uncut wood is more.
const SCRAP_MM: f64 = 0.35;

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
    let offsets: Vec<f64> = run.at.iter().map(|at| at.middle_mm() + surface(at.u_mm) - gauge).collect();
    let apart_mm = spread(offsets.iter().copied());
    if answer.questions.is_empty() && SCRAP_MM < apart_mm {
        let message = format!("the readings of this scrap disagree about the gap by {}", mm(apart_mm));
        let hint = "was it cut everywhere it was read, the right way round, and on this sled?";
        answer.questions.push(Diagnostic::fault(place, message).hint(hint));
    }
    if !answer.questions.is_empty() {
        return answer;
    }
    answer.rows.extend(run.at.iter().map(|at| thickness_row(at, gauge - surface(at.u_mm), CALIPER_MM)));
    let Some(mean) = fit::mean(&offsets) else { return answer };
    let lean_mm = lean_mm(&run.at);
    let band = mean.half_width.map_or(String::new(), |half| format!(" ± {}", mm(half)));
    answer.say(format!("The cutter stands {}{band} from where the gauge says.", signed(mean.value)));
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
                mm(half * length)
            ));
        }
    }
    let one = drift::Reading {
        gauge_mm: gauge,
        surface_mm: 0.0,
        left_mm: gauge + mean.value + lean_mm,
        right_mm: gauge + mean.value - lean_mm,
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
            let nominal_mm = if on_sled { mean.value } else { mean.value - bench.shift_mm };
            let flat_mm = if on_sled { mean.value + bench.shift_mm } else { mean.value };
            bench.made = bench.made.max(run.after);
            bench.zero_on_sled = on_sled;
            let before = bench.made;
            let half_done = bench.setups.iter().position(|setup| setup.passes.iter().any(|pass| before < pass.number));
            if let Some(at) = half_done {
                let setup = bench.begun_setup(at);
                let offset_mm = if setup.carrier == Carrier::Sled { nominal_mm } else { flat_mm };
                let one = drift::Reading {
                    left_mm: one.left_mm - mean.value + offset_mm,
                    right_mm: one.right_mm - mean.value + offset_mm,
                    ..one
                };
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
    answer.found = Found::Zero { offset_mm: mean.value, half_width_mm: mean.half_width, lean_mm: lean_over };
    answer
}
