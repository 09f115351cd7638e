//! `taperwright check`: reads, plans everything without drawing it, and names every fault and warning.

use super::Ended;
use super::args::CheckArgs;
use super::input::Input;
use super::terminal::Terminal;
use super::threads;
use crate::diag::{Diagnostic, Severity, SourceText as _};
use crate::report::check::{CheckAnswer, DiagnosticRow};
use crate::units::System;
use crate::write::tile::Printed;

pub fn check(args: &CheckArgs, terminal: Terminal) -> Ended {
    let input = match Input::read(&args.file, terminal) {
        Ok(input) => input,
        Err(ended) => return ended,
    };
    let read = input.job(Printed::EXACT);
    let (units, source, all) = match &read {
        Err(unread) => (System::Inch, &unread.source, unread.faults.clone()),
        Ok(job) => {
            threads::planned(job);
            let mut all = job.read_warnings().to_vec();
            all.extend(job.warnings().unwrap_or_else(|refused| refused.faults));
            (job.build().units, job.source(), all)
        }
    };
    let all: Vec<Diagnostic> = all.iter().map(|diagnostic| diagnostic.spoken(units)).collect();
    let faults = all.iter().filter(|diagnostic| diagnostic.severity == Severity::Fault).count();
    let warnings = all.len() - faults;
    let ended = if faults == 0 { Ended::Well } else { Ended::BuildFile };
    if args.json {
        let rows = all.iter().map(|diagnostic| {
            let words = diagnostic.words(units);
            DiagnosticRow {
                severity: match diagnostic.severity {
                    Severity::Fault => "fault".into(),
                    Severity::Warning => "warning".into(),
                },
                place: diagnostic.place.as_str().into(),
                line: source.span(&diagnostic.place).map(|span| source.line_of(span.start)),
                message: words.message,
                hints: words.hints,
            }
        });
        let shown =
            terminal.answer(&CheckAnswer { build_file: input.name.clone(), faults, warnings, diagnostics: rows.collect() });
        return if shown == Ended::Well { ended } else { shown };
    }
    super::input::show(&all, source, units, terminal);
    let count = |n: usize, what: &str| format!("{n} {what}{}", if n == 1 { "" } else { "s" });
    let text = format!("{}: {}, {}\n", input.name, count(faults, "fault"), count(warnings, "warning"));
    let shown = terminal.results_with(&text, &[&input.name]);
    if shown == Ended::Well { ended } else { shown }
}
