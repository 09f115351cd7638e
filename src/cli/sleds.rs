//! `taperwright sleds`: the ways in which each sled can be made, side by side.

use super::Ended;
use super::args::SledsArgs;
use super::input::Input;
use super::passes::to_grind;
use super::terminal::Terminal;
use crate::diag::sentence;
use crate::report::sleds::{SledKeys, SledWay, SledWays, SledsAnswer};
use crate::shop::cautions::RULES_FIRST;
use crate::units::{System, fixed};
use crate::write::table::plain;

pub fn sleds(args: &SledsArgs, terminal: Terminal) -> Ended {
    let job = match Input::read(&args.file, terminal).and_then(|input| input.open(terminal)) {
        Ok(job) => job,
        Err(ended) => return ended,
    };
    if let Err(ended) = to_grind(job.build(), args.lamination.as_deref(), terminal) {
        return ended;
    }
    let mut answer = job.sled_ways();
    if let Some(name) = &args.lamination {
        answer.sleds.retain(|sled| sled.serves.contains(name));
        answer.one_carrier = None;
    }
    if args.json { terminal.answer(&answer) } else { terminal.results(&text(&answer, job.build().units)) }
}

fn text(answer: &SledsAnswer, units: System) -> String {
    let mut out = format!("{} (all sizes in {})\n", answer.title, units.length_unit());
    if answer.sleds.is_empty() {
        return out + "\nNo strip of this file lies on a sled.\n";
    }
    answer.sleds.iter().for_each(|sled| out += &format!("\n{}", of_sled(sled, units)));
    if let Some(one) = &answer.one_carrier {
        out += &format!("\n{}\n{}", one.says, to_write(&one.write));
    }
    out + &format!("\n{}\n{ABOUT} {RULES_FIRST}\n", sentence(&answer.hours_from))
}

const ABOUT: &str = "\"Off\" is what strips ground on it in simulation are off at most, sag under the pressure roller counted, the gauge's step\n\
                     apart. A sled that is cut or planed is measured and trimmed with tape to the tolerance first. Go to no machine by\n\
                     these lines alone.";

fn of_sled(sled: &SledWays, units: System) -> String {
    let mut out = format!("Sled for {}: {}\n\n", sled.serves.join(", "), sled.says);
    let head = ["make", "holds", "off", "sag", "parts", "loads", "shims", "pieces", "at the bench", "to swap, min"];
    let rows: Vec<Vec<String>> = sled.ways.iter().map(|way| row(way, units)).collect();
    out += &plain(&head, &rows);
    for way in sled.ways.iter().filter(|way| !way.why_not.is_empty()) {
        out += &format!("\n{}: {}", way.make, way.why_not.join("; "));
    }
    if sled.ways.iter().any(|way| !way.why_not.is_empty()) {
        out += "\n";
    }
    // What is simpler than the file's own, or all that holds where that does not.
    let simpler = sled.ways.iter().take_while(|way| way.holds && !way.in_file);
    simpler.for_each(|way| out += &format!("\nFor {}:\n{}", way.what, to_write(&way.write)));
    out
}

fn row(way: &SledWay, units: System) -> Vec<String> {
    let name = format!("{}{}", way.make, if way.in_file { " (in the file)" } else { "" });
    let Some(takes) = &way.takes else { return vec![name, "cannot be made".into()] };
    let [min, max] = way.reset_s.map(|s| fixed(s / 60.0, 0));
    vec![
        name,
        if way.holds { "yes" } else { "no" }.into(),
        way.off_mm.map_or(String::new(), |off| units.fine_number(off)),
        units.fine_number(takes.sag_mm),
        takes.parts.to_string(),
        takes.bed_loads.to_string(),
        takes.shims.to_string(),
        takes.shim_pieces.to_string(),
        takes.hours.clone(),
        format!("{min} to {max}"),
    ]
}

/// The keys as the build file has them.
fn to_write(keys: &[SledKeys]) -> String {
    let line = |of: &SledKeys| {
        let pairs: Vec<String> = of.keys.iter().map(|[key, value]| format!("{key} = {value}")).collect();
        match of.lamination.as_str() {
            "" => format!("  under [sled]: {}\n", pairs.join(", ")),
            name => format!("  in {name}: sled = {{ {} }}\n", pairs.join(", ")),
        }
    };
    keys.iter().map(line).collect()
}
