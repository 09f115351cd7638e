//! `taperwright bow`: what the stack draws, inch by inch, and how hard each part of it works.

use super::Ended;
use super::args::BowArgs;
use super::input::{Input, refused, show};
use super::terminal::Terminal;
use super::threads;
use super::two_limbs::{ShownLimb, TwoLimbs};
use crate::diag::{Diagnostic, SourceText};
use crate::job::{Job, Refused, missed, strain_rows};
use crate::mechanics::overstrain;
use crate::mechanics::pair::{PairCurve, PairSide, TillerGap};
use crate::model::Build;
use crate::report::pair::{PairAnswer, PairDraw, PairGap, PairLimb};
use crate::sheets::bow::{WordTable, key_numbers, moves_rows, strain_row, string_gaps};
use crate::shop::budget::thickness_error_n;
use crate::shop::cautions::{DRY_FIRE, ON_THE_TREE, breaking, unknown_strengths};
use crate::units::published::round;
use crate::units::{System, fixed};
use crate::write::table::plain;
use std::path::Path;

pub fn bow(args: &BowArgs, terminal: Terminal) -> Ended {
    let job = match Input::read(&args.file, terminal).and_then(|input| input.open(terminal)) {
        Ok(job) => job,
        Err(ended) => return ended,
    };
    if !job.is_bow() {
        terminal.fault("error: the build file describes laminations and no bow\nhelp: add [target] and [outline]; `taperwright new` shows them");
        return Ended::BuildFile;
    }
    if let Some(lower) = &args.lower {
        return two_limbs(&job, lower, args, terminal).unwrap_or_else(|ended| ended);
    }
    threads::drawn(&job);
    let told = || -> Result<Ended, Refused> {
        let warnings = job.bow_warnings()?;
        if args.json {
            let row = job.bow_report()?;
            show(&warnings, job.source(), job.build().units, terminal);
            return Ok(terminal.published(&row));
        }
        let text = text(&job)?;
        show(&warnings, job.source(), job.build().units, terminal);
        Ok(terminal.results(&text))
    };
    told().unwrap_or_else(|found| refused(&found.faults, &job, terminal))
}

/// Two different limbs; the weight is judged by each file's own target.
fn two_limbs(upper: &Job, lower: &Path, args: &BowArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let two = TwoLimbs::read(upper, lower, terminal)?;
    let curve = two.curve(terminal)?;
    let limbs = two.limbs();
    let full_n = curve.points[curve.points.len() - 1].force_n;
    for (limb, side) in limbs.iter().zip([&curve.upper, &curve.lower]) {
        let build = limb.job.build();
        let mut warnings: Vec<Diagnostic> = side.worst.iter().filter_map(|worst| overstrain::warning(build, worst)).collect();
        warnings.extend(missed(build, full_n));
        limb.show(warnings, terminal);
    }
    if args.json {
        return Ok(terminal.answer(&pair_answer(&limbs, curve)));
    }
    Ok(terminal.results(&pair_text(upper.build(), curve)))
}

fn pair_answer(limbs: &[ShownLimb<'_>; 2], curve: &PairCurve) -> PairAnswer {
    let side = |limb: &ShownLimb<'_>, side: &PairSide| PairLimb {
        build_file: SourceText::name(limb.job.source()).into(),
        title: limb.job.build().title.clone(),
        strains: strain_rows(limb.job.build(), &side.worst),
    };
    let gap = |at: &TillerGap| PairGap {
        station_mm: round(at.s_mm),
        upper_mm: round(at.upper_mm),
        lower_mm: round(at.lower_mm),
        difference_mm: round(at.difference_mm()),
    };
    let draws = curve.points.iter().map(|point| PairDraw {
        draw_length_mm: round(point.draw_length_mm),
        force_n: round(point.force_n),
        stored_j: round(point.stored_n_mm / 1000.0),
        pull_angle_rad: round(point.pull_angle_rad),
        belly_to_string: point.tiller.iter().map(gap).collect(),
    });
    let full = &curve.points[curve.points.len() - 1];
    PairAnswer {
        draw_weight_n: round(full.force_n),
        draw_length_mm: round(full.draw_length_mm),
        string_mm: round(curve.string_mm),
        upper_string_mm: round(curve.upper_string_mm),
        stored_energy_j: round(curve.energy.work_n_mm / 1000.0),
        upper: side(&limbs[0], &curve.upper),
        lower: side(&limbs[1], &curve.lower),
        draws: draws.collect(),
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
    let full = &curve.points[curve.points.len() - 1];
    let WordTable { heads: tiller_heads, rows: tiller } = string_gaps(units, curve);
    let tiller_heads: Vec<&str> = tiller_heads.iter().map(String::as_str).collect();
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    format!(
        "{}: two different limbs\n\n{}\nBelly to string, square to the string, in {}; + where the upper limb stands farther off.\n\n{}\n\
         The string pulls {} degrees off the square toward the {} limb at full draw. String, nock to nock: {}.\n\
         {DRY_FIRE}\n{ON_THE_TREE}\n",
        build.title,
        plain(&head, &rows),
        units.length_unit(),
        plain(&tiller_heads, &tiller),
        fixed(full.pull_angle_rad.to_degrees().abs(), 2),
        if full.pull_angle_rad < 0.0 { "lower" } else { "upper" },
        units.rule(curve.string_mm)
    )
}

fn text(job: &Job) -> Result<String, Refused> {
    let (build, curve, moves) = (job.build(), job.force_curve()?, job.sensitivity()?);
    let (units, calibrated) = (build.units, job.calibrated());
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
    let mut numbers = key_numbers(build, curve);
    let scatter = match calibrated {
        Some(own) if own.spread.is_some() && build.laminations.iter().any(|lamination| lamination.modulus_tested) => {
            format!("  scatter of your {} bows, strips tested", own.bows)
        }
        Some(own) if own.spread.is_some() => format!("  scatter of your {} bows", own.bows),
        _ => "  scatter of the woods".into(),
    };
    if let Some(target) = &build.target {
        let wanted =
            format!("{} and {} for finishing", build.weight_text(target.draw_weight_n), build.weight_text(target.finishing_n));
        numbers.insert(1, vec!["  wanted".into(), wanted]);
    }
    numbers.insert(1, vec![scatter, format!("± {}, one standard deviation", build.weight_text(job.weight_spread_n()?))]);
    if let Some(own) = calibrated {
        let stiffness = format!("{} of the handbook's, from {} of your bows", fixed(own.factor, 3), own.bows);
        numbers.insert(2, vec!["  stiffness".into(), stiffness]);
    }
    if let Some(error) = thickness_error_n(moves, &job.budgets()) {
        numbers.push(vec![
            "thickness as ground".into(),
            format!("± {} on the draw weight, with trimmed sleds", build.weight_text(error)),
        ]);
    }
    if let Some([min, max]) = job.twist_margin()? {
        let words = format!("{} to {} times what just keeps the limb in its plane", fixed(min, 1), fixed(max, 1));
        numbers.push(vec!["stiff sideways and in twist".into(), words]);
    }
    let strains: Vec<Vec<String>> = curve.worst.iter().map(|worst| strain_row(build, worst)).collect();
    let unknown = unknown_strengths(build.woods()).map_or_else(String::new, |told| format!("{told}\n"));
    Ok(format!(
        "{}\n\n{}\n{}\n{}{unknown}\n{}\n{}\n{DRY_FIRE}\n{ON_THE_TREE}\n",
        build.title,
        plain(&head, &rows),
        plain(&["the bow", ""], &numbers),
        plain(&["part", "greatest strain", "where", "of breaking"], &strains),
        plain(&["what moves the weight", "", ""], &moves_rows(build, moves)),
        breaking().join("\n"),
    ))
}
