//! `taperwright check`: reads, plans everything without writing it, and names every fault and warning.

use super::Ended;
use super::args::CheckArgs;
use super::input::{Input, finished_bows};
use super::make::{NotMade, Stamp, files, plan};
use super::terminal::{Progress, Terminal};
use crate::buildfile;
use crate::diag::{Diagnostic, Severity, Source as _};
use crate::mechanics::calibration::calibrated;
use crate::write::tile::Printed;
use serde_json::json;

pub fn check(args: &CheckArgs, terminal: Terminal) -> Ended {
    let input = match Input::read(&args.file, terminal) {
        Ok(input) => input,
        Err(ended) => return ended,
    };
    let (source, outcome) = buildfile::read(&input.name, &input.text);
    let (units, all) = match outcome {
        Err(faults) => (crate::units::System::Inch, faults),
        Ok(reported) => {
            let mut progress = Progress::new(terminal);
            let (build, stamp) = (&reported.value, Stamp::unsigned());
            // A sheet that cannot be drawn is a fault as well, so the files are worked out, too.
            let planned = finished_bows(build, &input.folder).and_then(|finished| {
                let own = calibrated(&finished);
                let plan = plan(build, own, &stamp, &mut progress)?;
                // Every file is made, and none is kept.
                match files(build, &plan, &stamp, Printed::EXACT, &mut progress, &mut |_| Ok(())) {
                    Err(NotMade::Faults(faults)) => Err(faults),
                    Err(NotMade::Refused(_)) | Ok(()) => Ok(plan.warnings),
                }
            });
            let mut all = reported.warnings;
            all.extend(planned.unwrap_or_else(|faults| faults));
            (reported.value.units, all)
        }
    };
    let all: Vec<Diagnostic> = all.iter().map(|diagnostic| diagnostic.spoken(units)).collect();
    let faults = all.iter().filter(|diagnostic| diagnostic.severity == Severity::Fault).count();
    let warnings = all.len() - faults;
    let ended = if faults == 0 { Ended::Well } else { Ended::BuildFile };
    if args.json {
        let rows: Vec<_> = all
            .iter()
            .map(|diagnostic| {
                let span = source.span(&diagnostic.place);
                json!({
                    "severity": match diagnostic.severity { Severity::Fault => "fault", Severity::Warning => "warning" },
                    "place": diagnostic.place.as_str(),
                    "line": span.map(|span| source.line_of(span.start)),
                    "message": diagnostic.message,
                    "hints": diagnostic.hints,
                })
            })
            .collect();
        let text = serde_json::to_string_pretty(
            &json!({ "build_file": input.name, "faults": faults, "warnings": warnings, "diagnostics": rows }),
        );
        let shown = terminal.results(&format!("{}\n", text.expect("plain values are valid JSON")));
        return if shown == Ended::Well { ended } else { shown };
    }
    super::input::show(&all, &source, units, terminal);
    let count = |n: usize, what: &str| format!("{n} {what}{}", if n == 1 { "" } else { "s" });
    let shown = terminal.results(&format!("{}: {}, {}\n", input.name, count(faults, "fault"), count(warnings, "warning")));
    if shown == Ended::Well { ended } else { shown }
}
