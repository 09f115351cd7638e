//! `taperwright rescale`: the bow carried to another length, beside the bow as it is.

use super::Ended;
use super::args::RescaleArgs;
use super::beside::{as_written, edits_table, json, tables, write};
use super::input::{Input, show};
use super::size::{bow_or_fault, easier, new_side, refused, remark, side, solved};
use super::terminal::Terminal;
use crate::mechanics::rescale::{self, RULES};
use crate::units::{Quantity, fixed, read};

pub fn rescale(args: &RescaleArgs, terminal: Terminal) -> Ended {
    rescaled(args, terminal).unwrap_or_else(|ended| ended)
}

fn rescaled(args: &RescaleArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let input = Input::read(&args.file, terminal)?;
    let folder = input.folder.clone();
    let opened = input.open(terminal)?;
    let (build, units) = (&opened.build, opened.build.units);
    bow_or_fault(build, terminal)?;
    let length_mm = match read(&args.nock_to_nock, Quantity::Length, units) {
        Ok(length_mm) => length_mm,
        Err(unreadable) => {
            terminal.fault(&format!("error: --nock-to-nock: {}\nhelp: {}", unreadable.message, unreadable.hint));
            return Err(Ended::Files);
        }
    };
    let reported = rescale::rescale(build, length_mm).map_err(|faults| refused(&faults, &opened, terminal))?;
    show(&reported.warnings, &opened.source, units, terminal);
    let carried = reported.value;
    // The rounded file is the new bow: sizing starts from it.
    let plain = as_written(&opened, &carried.build, terminal)?;
    let (before, _) = side("as it is", build, &opened, terminal)?;
    let mut sides = vec![before, new_side("rescaled", &plain, &opened, terminal)?];
    let mut last = plain;
    let mut told = String::new();
    let mut wanted_n = None;
    if args.size {
        let answer = solved(&opened, &last.build, terminal)?;
        last = as_written(&opened, &answer.build, terminal)?;
        let sized = new_side("and sized", &last, &opened, terminal)?;
        told = remark(build, &answer, sized.weight_n());
        let easier = easier(&opened, &last.build, &sized);
        show(easier.warning.as_slice(), &opened.source, units, terminal);
        wanted_n = Some(answer.wanted_n);
        sides.push(sized);
    }
    let edits = &last.rewritten.edits;
    let ended = if args.json {
        let mut value = json(&sides, edits);
        value["working_limb_ratio"] = carried.ratio.into();
        value["rules"] = serde_json::json!(RULES);
        value["wanted_n"] = serde_json::json!(wanted_n);
        terminal.results(&format!("{}\n", serde_json::to_string_pretty(&value).expect("plain values are valid JSON")))
    } else {
        let rules: String = RULES.iter().map(|rule| format!("  - {rule}\n")).collect();
        terminal.results(&format!(
            "{}: {} nock to nock, the working limb {} times as long\n\n{}\n{}\nBy these rules:\n{rules}{told}",
            build.title,
            units.decimal(length_mm),
            fixed(carried.ratio, 4),
            tables(&sides),
            edits_table(&opened, edits)
        ))
    };
    write(args.write.as_deref(), &opened, &folder, &last.rewritten.text, terminal)?;
    Ok(ended)
}
