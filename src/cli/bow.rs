//! `taperwright bow`: what the stack draws, inch by inch, and how hard each part of it works.

use super::Ended;
use super::args::BowArgs;
use super::input::{Input, show, summary};
use super::make::{Limbs, budgets, glued, limbs, options};
use super::report::thickness_error_n;
use super::terminal::Terminal;
use crate::mechanics::calibration::Calibrated;
use crate::mechanics::pair::{self, PairCurve, PairOptions};
use crate::model::Build;
use crate::sheets::bow::{key_numbers, moves_rows, nock_to_nock_mm, strain_row};
use crate::sheets::cautions::BREAKING;
use crate::shop::budget::Budget;
use crate::units::{System, fixed};
use crate::write::table::plain;
use std::path::Path;

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
    if let Some(lower) = &args.lower {
        return two_limbs(build, opened.calibrated, lower, terminal);
    }
    match limbs(build, opened.calibrated) {
        Ok(reported) => {
            show(&reported.warnings, &opened.source, build.units, terminal);
            let limbs = reported.value.expect("a build with target and outline is a bow");
            let budgets = budgets(build);
            if args.json {
                let row = super::report::bow_row(build, &limbs, &budgets);
                return terminal
                    .results(&format!("{}\n", serde_json::to_string_pretty(&row).expect("plain values are valid JSON")));
            }
            terminal.results(&text(build, &limbs, &budgets))
        }
        Err(faults) => {
            show(&faults, &opened.source, build.units, terminal);
            summary(&faults, &args.file.display().to_string(), terminal);
            Ended::BuildFile
        }
    }
}

/// Two different limbs: the build file describes the upper one, `lower` the other, for the same target.
fn two_limbs(upper: &Build, calibrated: Option<Calibrated>, lower: &Path, terminal: Terminal) -> Ended {
    let opened = match Input::read(lower, terminal).and_then(|input| input.open(terminal)) {
        Ok(opened) => opened,
        Err(ended) => return ended,
    };
    let units = upper.units;
    // Where builders lay the square: at the fades' ends, and at round places out to the nocks.
    let step = if units == System::Inch { units.to_mm(4.0) } else { 100.0 };
    let half = upper.outline.as_ref().map_or(0.0, |outline| outline.nock_mm());
    let feather = upper.riser.as_ref().map(|riser| riser.feather_station_mm());
    let mut stations: Vec<f64> = (1..=(half / step) as u32).map(|k| step * f64::from(k)).chain(feather).collect();
    stations.sort_by(f64::total_cmp);
    stations.dedup_by(|a, b| (*a - *b).abs() < 0.5);
    let solved = glued(upper).and_then(|upper_glued| {
        let lower_glued = glued(&opened.build)?.value;
        let options = PairOptions {
            options: options(upper, upper_glued.value.as_ref(), calibrated),
            lower_unstrung: lower_glued.map(|glued| glued.unstrung).unwrap_or_default(),
            tiller_stations_mm: stations,
            ..PairOptions::default()
        };
        pair::curve(upper, &opened.build, &options)
    });
    match solved {
        Ok(reported) => {
            show(&reported.warnings, &opened.source, units, terminal);
            terminal.results(&pair_text(upper, &reported.value))
        }
        Err(faults) => {
            show(&faults, &opened.source, units, terminal);
            summary(&faults, &lower.display().to_string(), terminal);
            Ended::BuildFile
        }
    }
}

fn pair_text(build: &Build, curve: &PairCurve) -> String {
    let units = build.units;
    let head = [
        format!("draw, {}", units.length_unit()),
        format!("force, {}", units.force_unit()),
        format!("stored, {}", units.energy_unit()),
    ];
    let rows: Vec<Vec<String>> = curve
        .points
        .iter()
        .map(|point| {
            vec![
                units.decimal_number(point.draw_length_mm),
                fixed(units.force(point.force_n), 1),
                fixed(units.energy_number(point.stored_n_mm), 1),
            ]
        })
        .collect();
    let (brace, full) = (&curve.points[0], &curve.points[curve.points.len() - 1]);
    let tiller: Vec<Vec<String>> = brace
        .tiller
        .iter()
        .zip(&full.tiller)
        .map(|(braced, drawn)| {
            let mut row = vec![units.rule(braced.s_mm)];
            for tiller in [braced, drawn] {
                row.extend([tiller.upper_mm, tiller.lower_mm].map(|mm| units.decimal_number(mm)));
                let difference = tiller.difference_mm();
                row.push(format!("{}{}", if difference < 0.0 { "" } else { "+" }, units.decimal_number(difference)));
            }
            row
        })
        .collect();
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let tiller_head = ["station", "upper, braced", "lower", "difference", "upper, drawn", "lower", "difference"];
    format!(
        "{}: two different limbs\n\n{}\nBelly to string, square to the string, in {}; + where the upper limb stands farther off.\n\n{}\n\
         The string pulls {} degrees off the square toward the {} limb at full draw. String, nock to nock: {}.\n\
         Never dry-fire a bow or draw it past its design length; first draws on a tillering board, from aside.\n",
        build.title,
        plain(&head, &rows),
        units.length_unit(),
        plain(&tiller_head, &tiller),
        fixed(full.pull_angle_rad.to_degrees().abs(), 2),
        if full.pull_angle_rad < 0.0 { "lower" } else { "upper" },
        units.decimal(curve.string_mm)
    )
}

fn text(build: &Build, limbs: &Limbs, budgets: &[Option<Budget>]) -> String {
    let (units, curve) = (build.units, &limbs.curve);
    let energy = |n_mm: f64| fixed(units.energy_number(n_mm), 1);
    let head = [
        format!("draw, {}", units.length_unit()),
        format!("force, {}", units.force_unit()),
        format!("stored, {}", units.energy_unit()),
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
    let scatter = match limbs.calibrated {
        Some(own) if own.spread.is_some() && build.laminations.iter().any(|lamination| lamination.modulus_tested) => {
            format!("  scatter of your {} bows, strips tested", own.bows)
        }
        Some(own) if own.spread.is_some() => format!("  scatter of your {} bows", own.bows),
        _ => "  scatter of the woods".into(),
    };
    if let Some(target) = &build.target {
        let wanted =
            format!("{} and {} for finishing", units.force_text(target.draw_weight_n), units.force_text(target.finishing_n));
        numbers.insert(1, vec!["  wanted".into(), wanted]);
    }
    numbers.insert(1, vec![scatter, format!("± {}, one standard deviation", units.force_text(limbs.spread_n()))]);
    if let Some(own) = limbs.calibrated {
        let stiffness = format!("{} of the handbook's, from {} of your bows", fixed(own.factor, 3), own.bows);
        numbers.insert(2, vec!["  stiffness".into(), stiffness]);
    }
    if let Some(error) = thickness_error_n(&limbs.sensitivity, budgets) {
        numbers.push(vec![
            "thickness as ground".into(),
            format!("± {} on the draw weight, with trimmed sleds", units.force_text(error)),
        ]);
    }
    let strains: Vec<Vec<String>> = curve.worst.iter().map(|worst| strain_row(build, worst)).collect();
    format!(
        "{}\n\n{}\n{}\n{}\n{}\n{}\nNever dry-fire a bow or draw it past its design length; first draws on a tillering board, from aside.\n",
        build.title,
        plain(&head, &rows),
        plain(&["the bow", ""], &numbers),
        plain(&["part", "greatest strain", "where", "of breaking"], &strains),
        plain(&["what moves the weight", "", ""], &moves_rows(build, &limbs.sensitivity)),
        BREAKING.join("\n"),
    )
}
