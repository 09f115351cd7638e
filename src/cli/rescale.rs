//! `taperwright rescale`: the bow carried to another length, beside the bow as it is.

use super::Ended;
use super::args::RescaleArgs;
use super::beside::{BowSide, Warn, as_written, edit_rows, edits_table, side_rows, tables, write};
use super::input::{Input, refused, show};
use super::size::{bow_or_fault, easier, easier_row, remark, solved};
use super::terminal::Terminal;
use crate::mechanics::rescale::{self, RULES};
use crate::report::beside::RescaleAnswer;
use crate::units::{Quantity, fixed, read};

pub fn rescale(args: &RescaleArgs, terminal: Terminal) -> Ended {
    rescaled(args, terminal).unwrap_or_else(|ended| ended)
}

fn rescaled(args: &RescaleArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let input = Input::read(&args.file, terminal)?;
    let folder = input.folder.clone();
    let job = input.open(terminal)?;
    let (build, units) = (job.build(), job.build().units);
    bow_or_fault(&job, terminal)?;
    let length_mm = match read(&args.nock_to_nock, Quantity::Length, units) {
        Ok(length_mm) => length_mm,
        Err(unreadable) => {
            terminal.fault(&format!("error: --nock-to-nock: {}\nhelp: {}", unreadable.message, unreadable.hint));
            return Err(Ended::Files);
        }
    };
    let reported = rescale::rescale(build, length_mm).map_err(|faults| refused(&faults, &job, terminal))?;
    show(&reported.warnings, job.source(), units, terminal);
    let carried = reported.value;
    // The rounded file is the new bow: sizing starts from it.
    let mut last = as_written(&job, &carried.build, terminal)?;
    let mut sides =
        vec![BowSide::of("as it is", &job, Warn::Silent, terminal)?, BowSide::of("rescaled", &last.job, Warn::Shown, terminal)?];
    let (mut told, mut wanted_n, mut eased) = (String::new(), None, None);
    if args.size {
        let answer = solved(&last.job, terminal)?;
        // Written into the file as it was, so that its edits are all in one list.
        let sized = as_written(&job, &answer.build, terminal)?;
        let side = BowSide::of("and sized", &sized.job, Warn::Shown, terminal)?;
        told = remark(build, &answer, side.weight_n);
        eased = easier(&last.job, &sized.job, terminal)?;
        wanted_n = Some(answer.wanted_n);
        sides.push(side);
        last = sized;
    }
    let edits = &last.rewritten.edits;
    let ended = if args.json {
        terminal.answer(&RescaleAnswer {
            bows: side_rows(&sides),
            edits: edit_rows(edits),
            working_limb_ratio: carried.ratio,
            rules: RULES.map(str::to_owned).into(),
            wanted_n,
            easier: eased.as_ref().map(easier_row),
        })
    } else {
        let rules: String = RULES.iter().map(|rule| format!("  - {rule}\n")).collect();
        terminal.results(&format!(
            "{}: {} nock to nock, the working limb {} times as long\n\n{}\n{}\nBy these rules:\n{rules}{told}",
            build.title,
            units.decimal(length_mm),
            fixed(carried.ratio, 4),
            tables(&sides),
            edits_table(&job, edits)
        ))
    };
    write(args.write.as_deref(), &job, &folder, &last.rewritten.text, terminal)?;
    Ok(ended)
}
