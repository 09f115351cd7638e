//! `taperwright new`: a commented build file to start from.

use super::Ended;
use super::args::{NewArgs, StyleArg, UnitsArg};
use super::terminal::Terminal;
use crate::buildfile::{self, Starter, Style, starter};
use crate::folder;
use crate::units::{Quantity, System, read};

pub fn new(args: &NewArgs, terminal: Terminal) -> Ended {
    let units = match args.units {
        UnitsArg::In => System::Inch,
        UnitsArg::Mm => System::Millimetre,
    };
    let (weight, draw) = match units {
        System::Inch => (42.0, 28.0),
        System::Millimetre => (190.0, 711.0),
    };
    // A narrow limb of wood is deep, and needs the length to bend.
    let length = match (units, args.style) {
        (System::Inch, StyleArg::Flatbow | StyleArg::Glass) => 68.0,
        (System::Inch, StyleArg::Longbow) => 72.0,
        (System::Millimetre, StyleArg::Flatbow | StyleArg::Glass) => 1730.0,
        (System::Millimetre, StyleArg::Longbow) => 1830.0,
    };
    let given = |option: &str, text: Option<&String>, default: f64, quantity: Quantity| match text {
        None => Ok(default * quantity.bare_factor(units)),
        Some(text) => read(text, quantity, units).map_err(|unreadable| {
            terminal.fault(&format!("error: {option}: {}\nhelp: {}", unreadable.message, unreadable.hint));
        }),
    };
    let nock_to_nock = given("--length", args.length.as_ref(), length, Quantity::Length);
    let draw_weight = given("--draw-weight", args.draw_weight.as_ref(), weight, Quantity::Force);
    let draw_length = given("--draw-length", args.draw_length.as_ref(), draw, Quantity::Length);
    let (Ok(nock_to_nock_mm), Ok(draw_weight_n), Ok(draw_length_mm)) = (nock_to_nock, draw_weight, draw_length) else {
        return Ended::Files;
    };
    let stem = args.file.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    let title: String =
        args.title.clone().unwrap_or(stem).chars().filter(|c| !c.is_control() && !matches!(c, '"' | '\\')).collect();
    let text = starter(&Starter {
        style: match args.style {
            StyleArg::Flatbow => Style::Flatbow,
            StyleArg::Longbow => Style::Longbow,
            StyleArg::Glass => Style::Glass,
        },
        units,
        title,
        nock_to_nock_mm,
        draw_weight_n,
        draw_length_mm,
    });
    // What it writes must read: a size that makes no bow is refused before there is a file.
    let (source, outcome) = buildfile::read(&args.file.display().to_string(), &text);
    if let Err(faults) = outcome {
        super::input::show(&faults, &source, units, terminal);
        terminal.fault("error: no bow comes out of these sizes; nothing was written");
        return Ended::Files;
    }
    match folder::create(&args.file, text.as_bytes()) {
        Ok(()) => {
            let name = args.file.display().to_string();
            let next = format!("taperwright make {name}");
            terminal.remark(&format!("wrote {name}\nnext: edit it, then run: {next}"), &[&next, &name]);
            Ended::Well
        }
        Err(fault) => {
            terminal.fault(&format!("error: {fault}"));
            Ended::Files
        }
    }
}
