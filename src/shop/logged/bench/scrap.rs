//! What does scrap tell: the gauge's zero, the table's lean, and along a sled how its taper comes out?

use super::super::{Answer, Case, Finding, Observed};
use super::agree::{self, ReadFigure, RunTells, ZERO_MM, ZERO_STAYS, Zero};
use super::strip::edges;
use super::{Bench, Restating, leans};
use crate::diag::{Diagnostic, Place, mm};
use crate::model::log::{Across, ScrapOn, StripRun};
use crate::numeric::fit;
use crate::shop::budget::CALIPER_MM;
use crate::shop::drift::{CutReading, Specimen, Tilt};
use crate::shop::passes::Carrier;
use crate::shop::plausible::{PlausibleRange, question};

/// What scrap tells.
#[derive(Debug, Clone, PartialEq)]
pub struct Scrap {
    /// True gap less gauge, mm, and half of the interval that holds it.
    pub offset_mm: f64,
    pub half_width_mm: f64,
    /// Thicker by so much from first to last place over the sled's strip, where it is told, and half of that one's interval, mm: a taper
    /// that comes out too shallow.
    pub shallow_mm: Option<[f64; 2]>,
    pub tilt: Option<Tilt>,
    pub restated: Option<Restating>,
}

/// Scrap through the machine.
pub(in super::super) fn test_strip(case: &Case<'_>, bench: Option<&mut Bench>, on: ScrapOn, run: &StripRun) -> Answer {
    let (build, reading) = (&case.now.build, case.reading);
    let gauge = run.gauge_mm.unwrap_or(0.0);
    let sled = bench.as_ref().and_then(|bench| bench.sled.as_ref()).filter(|_| on == ScrapOn::Sled);
    let surface = |u: f64| sled.map_or(0.0, |sled| sled.surface_mm(u));
    let place = reading.place.key("readings");
    let mut answer = Answer::new(reading);
    for (index, at) in run.at.iter().enumerate() {
        let expected = gauge - surface(at.u_mm);
        let range = PlausibleRange::within(expected, ZERO_MM.min(0.4 * expected.abs()));
        let asked = edges(at).into_iter().filter_map(|value| question(value, range, "the scrap", mm, &place.index(index)));
        answer.questions.extend(asked);
    }
    if !answer.questions.is_empty() {
        return answer;
    }
    let good_mm = match &bench {
        Some(bench) if on == ScrapOn::Sled => bench.good_mm(build, Carrier::Sled),
        _ => CALIPER_MM,
    };
    let offsets: Vec<f64> = run.at.iter().map(|at| at.middle_mm() + surface(at.u_mm) - gauge).collect();
    let (zero, lean) = match zero_and_lean(&offsets, run, on, good_mm, &place) {
        Ok(found) => found,
        Err(fault) => return Answer::asking(reading, vec![fault]),
    };
    for at in &run.at {
        answer.observe(Observed::ThicknessAt { u_mm: at.u_mm }, at.middle_mm(), gauge - surface(at.u_mm), Some(CALIPER_MM));
    }
    let offset_mm = zero.offset_mm;
    let along: Vec<(f64, f64)> = run.at.iter().zip(&offsets).map(|(at, offset)| (at.u_mm, *offset)).collect();
    let shallow_mm = fit::line(&along).filter(|_| on == ScrapOn::Sled).and_then(|line| {
        let [_, half] = line.half_widths.filter(|[_, half]| *half < line.slope.abs())?;
        let length = sled.map_or(0.0, |sled| sled.strip_length_mm);
        Some([line.slope * length, (half * length).max(CALIPER_MM)])
    });
    let one = CutReading {
        gauge_mm: gauge,
        surface_mm: 0.0,
        left_mm: gauge + offset_mm + 0.5 * lean,
        right_mm: gauge + offset_mm - 0.5 * lean,
        apart_mm: run.apart_mm.unwrap_or(0.0),
    };
    let (mut tilt, mut restated) = (None, None);
    if let Some(sander) = &build.sander {
        let width =
            bench.as_ref().map_or(0.0, |bench| f64::from(bench.together) * build.laminations[bench.lamination].stock.width_mm);
        tilt = leans(&mut answer, &one, width, sander);
        restated = bench.and_then(|bench| bench.takes_zero(case, run, on, &one));
    }
    answer.finding = Finding::Zero(Scrap { offset_mm, half_width_mm: zero.half_width_mm, shallow_mm, tilt, restated });
    answer
}

impl Bench {
    /// The passes that are left are set by what scrap read.
    fn takes_zero(&mut self, case: &Case<'_>, run: &StripRun, on: ScrapOn, one: &CutReading) -> Option<Restating> {
        self.made = self.made.max(run.after);
        self.zero_on_sled = on == ScrapOn::Sled;
        let made = self.made;
        let at = self.setups.iter().position(|setup| setup.passes.iter().any(|pass| made < pass.number))?;
        let setup = self.begun_setup(at);
        // A zero told on the sled has its height in it, one told on the table has not.
        let moved_mm = match (setup.carrier, on) {
            (Carrier::Sled, ScrapOn::Table) => -self.shift_mm,
            (Carrier::Flat, ScrapOn::Sled) => self.shift_mm,
            _ => 0.0,
        };
        let one = CutReading { left_mm: one.left_mm + moved_mm, right_mm: one.right_mm + moved_mm, ..*one };
        Some(self.restated(case, &setup, Specimen::Scrap, &one).0)
    }
}

/// The zero that the places of a scrap tell, and left less right, mm. One figure alone tells none.
fn zero_and_lean(
    offsets_mm: &[f64],
    run: &StripRun,
    on: ScrapOn,
    good_mm: f64,
    readings: &Place,
) -> Result<(Zero, f64), Diagnostic> {
    let figure = |(at, offset_mm): (&Across, &f64)| ReadFigure { u_mm: at.u_mm, offset_mm: *offset_mm, as_it_came: false };
    let figures: Vec<ReadFigure> = run.at.iter().zip(offsets_mm).map(figure).collect();
    let told = agree::told(&figures, good_mm).map_err(|doubt| doubt.question("this scrap", readings))?;
    let lean = agree::lean_mm(run, readings)?;
    match told {
        Some(RunTells::Agreed(_, zero)) => Ok((zero, lean)),
        // Two edges are two figures; how far they differ may be the table's lean, or a slip. On a sled both stand or fall with the place.
        Some(RunTells::Alone(at)) if run.apart_mm.is_some() && on == ScrapOn::Table => {
            Ok((Zero { offset_mm: offsets_mm[at], half_width_mm: good_mm + 0.5 * lean.abs() }, lean))
        }
        _ => {
            let message = "one place alone cannot be checked, and would move every gap that is left";
            let hint = match on {
                ScrapOn::Sled => "read the scrap at two more places",
                ScrapOn::Table => "read the scrap at both edges, or at two more places",
            };
            Err(Diagnostic::fault(readings.clone(), message).hint(hint).hint(ZERO_STAYS))
        }
    }
}
