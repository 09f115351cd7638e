//! `taperwright glue`: what each stage leaves, how it must be held for what is wanted, the fades, and whether it pays.

mod published;
mod two;

use super::Ended;
use super::args::GlueArgs;
use super::input::{Input, refused, show};
use super::terminal::Terminal;
use crate::diag::Diagnostic;
use crate::job::{Job, Refused};
use crate::mechanics::fade::FadeCheck;
use crate::mechanics::glueup::compare::{GluingMethod, Way};
use crate::mechanics::glueup::{self, Bends, GlueUp, LineLoad, Stage};
use crate::mechanics::layer_kind::LayerKind;
use crate::mechanics::strain::Worst;
use crate::mechanics::strip_verdict::{self, StripVerdict};
use crate::mechanics::verdict::Verdict;
use crate::model::Build;
use crate::model::workshop::Held;
use crate::sheets::bow::{part_name, piece_name, share_words};
use crate::shop::cautions::{EPOXY, SPRINGS, breaking};
use crate::shop::form::{self, MORE_GLUE};
use crate::units::{System, fixed, trim_zeros};
use crate::write::table;

pub fn glue(args: &GlueArgs, terminal: Terminal) -> Ended {
    let job = match Input::read(&args.file, terminal).and_then(|input| input.open(terminal)) {
        Ok(job) => job,
        Err(ended) => return ended,
    };
    if let Some(lower) = &args.lower {
        return two::glued_both(&job, lower, args, terminal).unwrap_or_else(|ended| ended);
    }
    match glued(&job) {
        Ok((warnings, told)) => {
            show(&warnings, job.source(), job.build().units, terminal);
            let GlueSummary { glued, fades, ways, strips } = &told;
            if args.json {
                return terminal.answer(&published::published(job.build(), glued, *fades, ways, strips));
            }
            terminal.results(&text(job.build(), &told))
        }
        Err(found) => refused(&found.faults, &job, terminal),
    }
}

/// What is told of a glue-up.
struct GlueSummary<'a> {
    glued: &'a GlueUp,
    fades: Option<&'a FadeCheck>,
    ways: &'a [Way],
    strips: Vec<StripVerdict>,
}

/// Warnings and what is told.
fn glued(job: &Job) -> Result<(Vec<Diagnostic>, GlueSummary<'_>), Refused> {
    let build = job.build();
    let Some(glued) = job.glue_up()? else {
        // A file without stages is told what is missing.
        return Err(glueup::plan(build).err().unwrap_or_default().into());
    };
    let (ways, fades) = (job.glue_ups_compared()?, job.fades()?);
    let mut warnings = job.glue_up_warnings()?.to_vec();
    warnings.extend(fades.iter().flat_map(|fades| fades.warnings(build)));
    let written = ways.iter().find(|way| way.how == GluingMethod::AsWritten).and_then(|way| way.drawn.as_ref().ok());
    warnings.extend(written.iter().flat_map(|drawn| drawn.warnings.iter().cloned()));
    let strips = strip_verdict::strips(build, Some(glued), fades, written.map_or(&[], |drawn| &drawn.worst));
    Ok((warnings, GlueSummary { glued, fades, ways, strips }))
}

fn text(build: &Build, told: &GlueSummary<'_>) -> String {
    let GlueSummary { glued, fades, ways, strips } = told;
    let mut text = String::new();
    for stage in &glued.stages {
        text += &stage_text(build, glued, stage);
        text.push('\n');
    }
    if let Some(fades) = fades {
        text += &fade_text(build, fades);
        text.push('\n');
    }
    text += &compare_text(build, ways);
    text.push('\n');
    text += &strips_text(build, strips);
    text.push('\n');
    text += &dry_run(build, glued);
    text.push('\n');
    text += &care(glued);
    text
}

fn percent(strain: f64) -> String {
    format!("{} %", fixed(100.0 * strain, 2))
}

fn bends_name(build: &Build, what: Bends) -> String {
    match what {
        Bends::Layer(part) => piece_name(build, part),
        Bends::Before => "glued before".into(),
    }
}

fn stage_text(build: &Build, glued: &GlueUp, stage: &Stage) -> String {
    let mut text = format!("{}\n", stage_heading(build, stage));
    for (key, value) in stage_lines(build, glued, stage) {
        text += &format!("  {key:<12}{value}\n");
    }
    text += &indented(&bent_table(build, stage));
    text += &indented(&left_table(build, stage));
    text += &indented(&shape_table(build, stage));
    text
}

fn stage_heading(build: &Build, stage: &Stage) -> String {
    let before = if stage.bent.iter().any(|bent| bent.what == Bends::Before) { ", onto what is glued" } else { "" };
    format!("Stage {}: {}{before}", stage.number, stage.names(build))
}

/// What is said of a stage, by what it is about; without that what goes on from the line before.
fn stage_lines(build: &Build, glued: &GlueUp, stage: &Stage) -> Vec<(&'static str, String)> {
    let units = build.units;
    let mut lines: Vec<(&'static str, String)> = Vec::new();
    let mut line = |key: &'static str, value: String| lines.push((key, value));
    match &stage.held {
        Held::Flat => line("held", "straight on a flat bench".into()),
        Held::Props { rise_mm, at_mm } => {
            let level = if stage.on_form.iter().any(|spot| 0.0 < spot.s_mm && spot.curvature_per_mm.abs() <= 0.0) {
                "; straight over the riser, feather to feather"
            } else {
                ""
            };
            line(
                "held",
                format!("bent free: the back rises to {} on props at station {}{level}", units.tip(*rise_mm), units.rule(*at_mm)),
            );
        }
        Held::Form { .. } => match build.glue.press_of(stage.number) {
            Some(press) => {
                let hose = units.thickness(press.hose_mm);
                line(
                    "held",
                    format!("on a form, see its rise below, pressed by a hose in its upper half, {hose} high when flat"),
                );
            }
            None => line("held", "on a form, see its rise below".into()),
        },
    }
    if let Some(wanted) = &stage.wanted {
        let how = match wanted.form_by {
            Some(by) => format!("all rises of the form times {}", fixed(by, 3)),
            None => "props brought there".into(),
        };
        line("wanted", format!("{} at the nock: {how}", units.tip(wanted.tip_mm)));
        line("as written", format!("would leave {}", units.tip(wanted.written_leaves_mm)));
    }
    line("tip held", units.tip(stage.tip_held_mm()));
    line("tip left", format!("{} once released", units.tip(stage.tip_left_mm())));
    if 0.0 < (stage.retained - glued.retained).abs() {
        line("kept", format!("{} percent of the curvature, as `retained` of this stage says", fixed(100.0 * stage.retained, 1)));
    }
    if let Some(load) = stage.load.tip_n {
        let what = if stage.load.forces.is_empty() {
            "pushed by each prop"
        } else {
            "at each tip brings the pile down before it is clamped"
        };
        line("load", format!("{} {what}", units.force_text(load.abs())));
    }
    if let Some(LineLoad { n_per_mm: per_mm, s_mm: s }) = stage.load.hardest() {
        let per = match units {
            System::Inch => format!("{} lbf/in", fixed(units.force(per_mm * units.to_mm(1.0)), 1)),
            System::Millimetre => format!("{} N/mm", fixed(per_mm, 2)),
        };
        let per = per.trim_start_matches('-').to_owned();
        line(
            "",
            format!(
                "{per} at most along the limb, at station {}; {} in all on a limb",
                units.rule(s),
                units.force_text(stage.load.sum_n())
            ),
        );
    }
    let clamps = stage.clamps;
    let why = if clamps.by_force { "for the force" } else { "for the spacing" };
    line(
        "clamps",
        format!(
            "{} for {}, {} apart ({why}, {} each), or {} turns of band at {}",
            clamps.count(),
            build.whole_words(),
            units.rule(clamps.apart_mm),
            units.force_text(clamps.with.clamp_n),
            clamps.turns_of_band,
            units.force_text(clamps.with.band_n)
        ),
    );
    line("", "common practice, no source: contact pressure on the blank and the load above".into());
    line(
        "glue",
        format!(
            "{} line{}, {}, {} on the wood, {MORE_GLUE}",
            stage.glue.lines,
            if stage.glue.lines == 1 { "" } else { "s" },
            units.area(stage.glue.area_mm2),
            units.mass(stage.glue.mass_kg)
        ),
    );
    line(
        "clamp time",
        stage.clamp_time_s.map_or("see the adhesive's data sheet".into(), |s| {
            format!("{} as the build file states; the adhesive's data sheet governs time and temperature", System::hours(s))
        }),
    );
    lines
}

/// What is bent on the hold, and how hard.
fn bent_table(build: &Build, stage: &Stage) -> String {
    let units = build.units;
    let rows: Vec<Vec<String>> = stage
        .bent
        .iter()
        .map(|bent| {
            let fade = if bent.on_fade { "on the fade" } else { "" };
            let told = strip_verdict::of_bent(build, bent).map_or("", Verdict::dry_words);
            vec![bends_name(build, bent.what), percent(bent.strain), units.rule_number(bent.s_mm), fade.into(), told.into()]
        })
        .collect();
    let station = format!("station, {}", units.length_unit());
    table::plain(&["bent on it", "at most", &station, "", ""], &rows)
}

/// What the release leaves in each layer.
fn left_table(build: &Build, stage: &Stage) -> String {
    let units = build.units;
    let station = format!("station, {}", units.length_unit());
    let rows: Vec<Vec<String>> = stage
        .left
        .iter()
        .map(|left| {
            let face = format!("{} face", left.face.word());
            vec![part_name(build, left.part), percent(left.strain), units.rule_number(left.s_mm), face]
        })
        .collect();
    table::plain(&["left in it", "+ stretch", &station, ""], &rows)
}

/// Rises along the limb at round stations.
fn shape_table(build: &Build, stage: &Stage) -> String {
    let units = build.units;
    let step = units.either_mm(3.0, 75.0);
    let end = stage.on_form.last().map_or(0.0, |spot| spot.s_mm);
    let count = (end / step - 0.2).floor().max(0.0) as u32;
    let stations: Vec<f64> = (0..=count).map(|k| step * f64::from(k)).chain([end]).collect();
    let decimals = if units == System::Inch { 3 } else { 1 };
    let number = |mm: f64| fixed(units.length(mm), decimals);
    let rows: Vec<Vec<String>> = stations
        .iter()
        .map(|s| {
            let rise = stage.rise_at(*s);
            let rises = [rise.held_mm, rise.left_mm].into_iter().chain(rise.exact_mm);
            [units.rule_number(*s)].into_iter().chain(rises.map(number)).collect()
        })
        .collect();
    let unit = units.length_unit();
    let station = format!("station, {unit}");
    let mut header = vec![station.as_str(), "held", "left"];
    if !stage.exact_form.is_empty() {
        header.push("form that leaves the wanted curve itself");
    }
    table::plain(&header, &rows)
}

fn indented(text: &str) -> String {
    text.lines().map(|line| format!("  {line}\n")).collect()
}

fn fade_text(build: &Build, fades: &FadeCheck) -> String {
    let units = build.units;
    let rows: Vec<Vec<String>> = fades
        .climbs
        .iter()
        .map(|climb| {
            vec![
                build.laminations[climb.lamination].name.clone(),
                units.thickness_number(climb.thickness_mm),
                units.decimal_number(climb.radius_mm),
                percent(climb.strain),
                climb.breaking_strain.map_or(String::new(), percent),
                units.rule_number(climb.s_mm),
                climb.verdict.dry_words().into(),
            ]
        })
        .collect();
    let unit = units.length_unit();
    let (thickness, radius, station) = (format!("thick, {unit}"), format!("radius, {unit}"), format!("station, {unit}"));
    let header = ["over the fade", &thickness, &radius, "strain", "breaks at", &station, ""];
    let mut text = table::plain(&header, &rows);
    text += &format!(
        "Limits of a dry strip, once: caution above {} and stop above {}; less for wood that breaks sooner. Proposals of this program.\n",
        percent(fades.limits.caution),
        percent(fades.limits.stop)
    );
    for climb in &fades.climbs {
        let Some(cure) = &climb.cure else { continue };
        let fade = cure
            .fade_length_mm
            .map_or("no fade on this limb is long enough".into(), |mm| format!("fades {} long", units.rule(mm)));
        text += &format!(
            "{} stays under {}: {fade}; or no thicker than {}; or bent beforehand to a radius of {}.\n",
            build.laminations[climb.lamination].name,
            percent(cure.limit),
            units.thickness(cure.thickness_mm),
            units.rule(cure.bent_before_radius_mm)
        );
    }
    text
}

/// One verdict a strip: dry on its way there, and in the bow.
fn strips_text(build: &Build, strips: &[StripVerdict]) -> String {
    let units = build.units;
    let rows: Vec<Vec<String>> = strips
        .iter()
        .map(|strip| {
            let dry = strip.dry.map_or(String::new(), |dry| {
                let place = if dry.on_fade { "over the fade" } else { "on the form" };
                format!("{} {place}, station {}", percent(dry.strain), units.rule(dry.s_mm))
            });
            let in_the_bow = strip
                .in_the_bow
                .map_or(String::new(), |worst| format!("{} at station {}", percent(worst.strain.abs()), units.rule(worst.s_mm)));
            let fraction = strip.in_the_bow.map_or(String::new(), |worst| share_words(&worst));
            vec![build.laminations[strip.lamination].name.clone(), dry, in_the_bow, fraction, strip.verdict.word().into()]
        })
        .collect();
    let header = ["strip by strip", "bent dry", "in the bow", "of breaking", "verdict"];
    format!("{}{}\n", table::plain(&header, &rows), breaking().join("\n"))
}

fn compare_text(build: &Build, ways: &[Way]) -> String {
    let units = build.units;
    let mut header: Vec<String> = vec!["the same stack".into(), "unstrung".into(), format!("weight, {}", units.force_unit())];
    header.push(format!("stored, {}", units.energy_unit()));
    let parts: Vec<LayerKind> = ways
        .iter()
        .find_map(|way| way.drawn.as_ref().ok())
        .map_or(Vec::new(), |drawn| drawn.worst.iter().map(|w| w.part).collect());
    header.extend(parts.iter().map(|part| format!("{}, %", part_name(build, *part))));
    header.push(format!("glue shear, {}", units.stress_unit()));
    header.push(format!("at, {}", units.length_unit()));
    let mut text = String::new();
    let rows: Vec<Vec<String>> = ways
        .iter()
        .map(|way| {
            let mut row = vec![way.how.words().to_owned(), units.tip(way.tip_mm)];
            if let Ok(drawn) = &way.drawn {
                row.push(fixed(units.force(drawn.weight_n), 1));
                row.push(fixed(units.energy_number(drawn.energy_n_mm), 1));
                row.extend(drawn.worst.iter().map(|worst| {
                    let told = worst.verdict().filter(|verdict| *verdict != Verdict::Goes);
                    format!(
                        "{}{}",
                        fixed(100.0 * worst.strain, 2),
                        told.map_or(String::new(), |told| format!(" {}", told.word()))
                    )
                }));
                row.push(drawn.shear.map_or(String::new(), |shear| units.stress_number(shear.mpa)));
                row.push(drawn.shear.map_or(String::new(), |shear| units.rule_number(shear.s_mm)));
            }
            row
        })
        .collect();
    let header: Vec<&str> = header.iter().map(String::as_str).collect();
    text += &table::plain(&header, &rows);
    text += "Strain is the greatest at brace or full draw, shear that at full draw, with what the glue-up left; + is stretch. Feathers and ends\n\
             of laminations, where shear peaks over about a thickness, are not in it.\n";
    let written = ways.iter().find(|way| way.how == GluingMethod::AsWritten).and_then(|way| way.drawn.as_ref().ok());
    if let Some(drawn) = written {
        let place = |worst: &Worst| {
            format!("{} at {} ({} face)", part_name(build, worst.part), units.rule(worst.s_mm), worst.face.word())
        };
        let places: Vec<String> = drawn.worst.iter().map(place).collect();
        text += &format!("As written they are greatest here: {}.\n", places.join(", "));
    }
    let pulled = |way: &Way| way.how == GluingMethod::Flat && units.tip(way.tip_mm) != "straight";
    if ways.iter().any(pulled) {
        text += "Glued flat it is not quite straight: what is bent over the fades pulls at the limb.\n";
    }
    for way in ways {
        for fault in way.drawn.as_ref().err().into_iter().flatten() {
            text += &format!("{}: no numbers, {}\n", way.how.words(), fault.message.spoken(units));
        }
    }
    text
}

/// What is tried without glue, with a box to tick each.
fn dry_run(build: &Build, glued: &GlueUp) -> String {
    let mut text = String::from("Dry run, before any glue is mixed\n");
    for stage in &glued.stages {
        text += &format!("  Stage {}\n", stage.number);
        for words in form::dry_run(build, stage) {
            text += &format!("    [ ] {}\n", words.spoken(build.units));
        }
    }
    text
}

fn care(glued: &GlueUp) -> String {
    let mut text = format!("{EPOXY}\n{SPRINGS}\n");
    let kept = trim_zeros(&fixed(100.0 * glued.retained, 1));
    text += &format!("Creep: {kept} percent of the curvature is taken to stay (`glue.retained`); measure yours and set it.\n");
    text
}
