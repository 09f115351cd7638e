//! `taperwright bow`: what the stack draws, inch by inch, and how hard each part of it works.

use super::Ended;
use super::args::BowArgs;
use super::input::{Input, show, summary};
use super::make::{Limbs, errors_mm, limbs};
use super::report::thickness_error_n;
use super::terminal::Terminal;
use crate::model::Build;
use crate::sheets::bow::{key_numbers, moves_rows, nock_to_nock_mm, strain_row};
use crate::units::{System, fixed};
use crate::write::table::plain;

pub fn bow(args: &BowArgs, terminal: Terminal) -> Ended {
    let opened = match Input::read(&args.file, terminal).and_then(|input| input.open(terminal)) {
        Ok(opened) => opened,
        Err(ended) => return ended,
    };
    let build = &opened.build;
    if build.target.is_none() || build.outline.is_none() {
        terminal.fault("error: the build file describes laminations and no bow\nhelp: add [target] and [outline]; `taperwright new` shows them");
        return Ended::BuildFile;
    }
    match limbs(build, opened.calibrated) {
        Ok(reported) => {
            show(&reported.warnings, &opened.source, build.units, terminal);
            let limbs = reported.value.expect("a build with target and outline is a bow");
            let errors = errors_mm(build);
            if args.json {
                let row = super::report::bow_row(build, &limbs, &errors);
                return terminal
                    .results(&format!("{}\n", serde_json::to_string_pretty(&row).expect("plain values are valid JSON")));
            }
            terminal.results(&text(build, &limbs, &errors))
        }
        Err(faults) => {
            show(&faults, &opened.source, build.units, terminal);
            summary(&faults, &args.file.display().to_string(), terminal);
            Ended::BuildFile
        }
    }
}

fn text(build: &Build, limbs: &Limbs, errors_mm: &[Option<f64>]) -> String {
    let (units, curve) = (build.units, &limbs.curve);
    let energy = |n_mm: f64| fixed(n_mm / 1000.0, 1);
    let head = [
        format!("draw, {}", units.length_unit()),
        format!("force, {}", units.force_unit()),
        "stored, J".into(),
        format!("tension, {}", units.force_unit()),
        "string at the nock, degrees".into(),
    ];
    let rows: Vec<Vec<String>> = curve
        .points
        .iter()
        .map(|point| {
            let length = match units {
                System::Inch => fixed(units.length(point.draw_length_mm), 2),
                System::Millimetre => fixed(point.draw_length_mm, 0),
            };
            vec![
                length,
                fixed(units.force(point.force_n), 1),
                energy(point.stored_n_mm),
                fixed(units.force(point.tension_n), 0),
                fixed(point.nock_angle_rad.to_degrees(), 0),
            ]
        })
        .collect();
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let mut numbers = key_numbers(units, nock_to_nock_mm(build), curve);
    numbers.insert(
        1,
        vec![
            "  scatter of the woods".into(),
            format!("± {}, one standard deviation", units.force_text(limbs.sensitivity.spread_n)),
        ],
    );
    if let Some(error) = thickness_error_n(&limbs.sensitivity, errors_mm) {
        numbers.push(vec![
            "thickness as ground".into(),
            format!("± {} on the draw weight, with trimmed sleds", units.force_text(error)),
        ]);
    }
    let strains: Vec<Vec<String>> = curve.worst.iter().map(|worst| strain_row(build, worst)).collect();
    format!(
        "{}\n\n{}\n{}\n{}\n{}\nStrain limits are the handbook's bending strength over its modulus, an average of clear wood: pieces scatter by a sixth.\n\
         Never dry-fire a bow or draw it past its design length; first draws on a tillering board, from aside.\n",
        build.title,
        plain(&head, &rows),
        plain(&["the bow", ""], &numbers),
        plain(&["part", "greatest strain", "where", "of breaking"], &strains),
        plain(&["what moves the weight", "", ""], &moves_rows(build, &limbs.sensitivity)),
    )
}
