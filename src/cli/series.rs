//! `taperwright series`: bows of several weights from one form and one outline, and the sleds that serve them.

use super::Ended;
use super::args::SeriesArgs;
use super::input::{Input, refused, show};
use super::log;
use super::size::bow_or_fault;
use super::terminal::{Progress, Terminal};
use super::threads;
use crate::folder::{self, Filling, FolderFault, NotFilled, Others, OutFile};
use crate::job::{Job, Refused, Series};
use crate::logbook::fleet;
use crate::mechanics::fleet::Fleet;
use crate::mechanics::verdict::COMFORTABLE;
use crate::report::{self, series::SeriesReport};
use crate::sheets::bow::share_words;
use crate::shop::logged::ShopLog;
use crate::units::{System, fixed};
use crate::write::table::plain;
use std::path::Path;

pub fn series(args: &SeriesArgs, terminal: Terminal) -> Ended {
    shown(args, terminal).unwrap_or_else(|ended| ended)
}

fn shown(args: &SeriesArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let input = Input::read(&args.file, terminal)?;
    let job = input.open(terminal)?;
    bow_or_fault(&job, terminal)?;
    let learnt = args.log.as_deref().map(|path| log::shop(&job, None, path, terminal)).transpose()?;
    let fleet = learnt.as_ref().and_then(ShopLog::fleet);
    let job = match (&learnt, &fleet) {
        (_, Some(fleet)) => job.having_learnt(fleet.calibrated()).map_err(|unread| refused(&unread.faults, &job, terminal))?,
        (Some(_), None) => {
            terminal.remark("note: no finished bow is in the log: thicknesses are by what the build file says", &[]);
            job
        }
        (None, None) => job,
    };
    let found = job.series().map_err(|found| refused(&found.faults, &job, terminal))?;
    let Some(series) = found else {
        terminal.fault("error: the build file names no series\nhelp: add [series] with the weights wanted, such as bows = [\"40 lbf\", [\"45 lbf\", 2]]");
        return Err(Ended::BuildFile);
    };
    let stem = if args.file.as_os_str() == "-" { "bow".to_owned() } else { folder::stem(&args.file) };
    let mut report = series.report(&job, &stem).map_err(|found| refused(&found.faults, &job, terminal))?;
    report.learnt = learnt.as_ref().and_then(fleet::found);
    for bow in &series.bows {
        let warnings = bow.job.warnings().map_err(|found| refused(&found.faults, &bow.job, terminal))?;
        if !terminal.quiet && !warnings.is_empty() {
            terminal.remark(&format!("{}:", bow.words), &[]);
            show(&warnings, bow.job.source(), bow.job.build().units, terminal);
        }
    }
    let ended = if args.json {
        terminal.answer(&report)
    } else {
        let said = fleet.as_ref().map_or(String::new(), |fleet| of_log(fleet, job.build().units));
        terminal.results(&(text(&job, &series, &report) + &said))
    };
    let log = args.log.as_deref().zip(learnt.as_ref());
    let files = &|fault: FolderFault| unfilled(&fault, log, terminal);
    if let Some(out) = &args.write {
        let mut filling = Filling::begin(out).map_err(files)?;
        for (bow, row) in series.bows.iter().zip(&report.bows) {
            let file = OutFile { path: row.file.clone(), bytes: bow.job.text().as_bytes().to_vec() };
            filling.add(&file).map_err(files)?;
        }
        filling.finish(Others::Remove).map_err(files)?;
        let first = report.sleds.first().map_or(&report.bows[0].file, |sled| &sled.cut_from);
        let folder = out.display().to_string();
        let next = format!("taperwright make {folder}/{first}");
        terminal.remark(&format!("wrote {} build files into {folder}\nnext: {next}", report.bows.len()), &[&next, &folder]);
    }
    if let Some(out) = &args.make {
        let count = made(out, &SeriesSource { job: &job, series: &series, report: &report, stem: &stem }, files, terminal)?;
        let folder = out.display().to_string();
        terminal.remark(&format!("wrote {count} files into {folder}; what all bows share is in {folder}/shared"), &[&folder]);
    }
    Ok(ended)
}

/// What the log's bows teach, below the series that reckons with it.
fn of_log(fleet: &Fleet, units: System) -> String {
    let mut text = format!("\nBy the log, each thickness is for {} times the handbook's stiffness", fixed(fleet.next.factor, 3));
    text += &match fleet.next.between() {
        Some(between) => format!(
            ".\nA bow may come out between {} percent lighter and {} percent heavier (95 percent sure).\n",
            fixed(100.0 * (1.0 - between.min / fleet.next.factor), 0),
            fixed(100.0 * (between.max / fleet.next.factor - 1.0), 0)
        ),
        None => ": one bow shows no scatter.\n".into(),
    };
    fleet::sentences(fleet, units).iter().for_each(|say| text += &format!("{say}\n"));
    text
}

/// What a series is made from; `stem` is the name of its build file without the ending.
struct SeriesSource<'a> {
    job: &'a Job,
    series: &'a Series,
    report: &'a SeriesReport,
    stem: &'a str,
}

/// Everything for all bows, whole or not at all: how many files.
fn made(out: &Path, of: &SeriesSource<'_>, files: &dyn Fn(FolderFault) -> Ended, terminal: Terminal) -> Result<usize, Ended> {
    let SeriesSource { job, series, report, stem } = *of;
    let unmade = |found: Refused, job: &Job| refused(&found.faults, job, terminal);
    let mut progress = Progress::new(terminal);
    let folders = series.folders(job, stem).map_err(|found| unmade(found, job))?;
    let mut filling = Filling::begin(out).map_err(files)?;
    filling.add(&OutFile { path: "series.json".into(), bytes: report::json(report) }).map_err(files)?;
    for (number, part) in folders.iter().enumerate() {
        progress.at(&part.name, number, folders.len());
        threads::ahead(&part.job);
        let of_part = |found| unmade(series.unmade(part.build_file.as_deref(), stem, found), &part.job);
        let list = part.job.files().map_err(&of_part)?;
        let all: Vec<usize> = (0..list.names().len()).collect();
        let side_by_side = |some: &[usize]| threads::side_by_side(some, |number| list.bytes(*number));
        filling.add_from(&format!("{}/", part.name), &list, &all, side_by_side).map_err(|why| match why {
            NotFilled::Unmade(found) => of_part(found),
            NotFilled::Folder(fault) => files(fault),
        })?;
        if let Some(file) = &part.build_file {
            let file = OutFile { path: format!("{}/{file}", part.name), bytes: part.job.text().into() };
            filling.add(&file).map_err(files)?;
        }
    }
    drop(progress);
    let count = filling.count();
    filling.finish(Others::Remove).map_err(files)?;
    Ok(count)
}

/// A folder did not take the files; where that is for build files that bows were made by, those of the log's bows are named.
fn unfilled(fault: &FolderFault, log: Option<(&Path, &ShopLog)>, terminal: Terminal) -> Ended {
    let mut text = format!("error: {fault}");
    if let (FolderFault::MadeBy { files, .. }, Some((path, shop))) = (fault, log) {
        let folder = path.parent().unwrap_or(path);
        for (name, bow) in made_by(shop) {
            // A file that is named and not there is none of these.
            let Ok(place) = folder.join(name).canonicalize() else { continue };
            if let Some(file) = files.iter().find(|file| file.canonicalize().is_ok_and(|file| file == place)) {
                text += &format!("\nnote: by {} {bow} is made by {}", path.display(), file.display());
            }
        }
    }
    terminal.fault(&text);
    Ended::Files
}

/// The build files that a log names, each with a bow that is made by it.
fn made_by(shop: &ShopLog) -> Vec<(&str, String)> {
    let begun = shop.by_serial.iter().filter_map(|(serial, bow)| Some((bow.build_file.as_deref()?, format!("bow {serial}"))));
    let untold = shop.weighed.iter().filter(|bow| bow.serial.is_empty());
    let weighed = untold.filter_map(|bow| Some((bow.build_file.as_deref()?, format!("the bow of {}", bow.date))));
    begun.chain(weighed).collect()
}

fn text(job: &Job, series: &Series, report: &SeriesReport) -> String {
    format!(
        "{}: {} weights from {}one outline\n\n{}\n{}\n{}",
        report.title,
        report.bows.len(),
        if report.one_form { "one form and " } else { "" },
        bows(job, series, report),
        batches(job, series, report),
        sleds(job, series, report)
    )
}

fn bows(job: &Job, series: &Series, report: &SeriesReport) -> String {
    let (build, units) = (job.build(), job.build().units);
    let mut header = vec![
        "bow of".to_owned(),
        "bows".into(),
        "with finishing".into(),
        "ground so, draws".into(),
        "hardest part".into(),
        "of breaking".into(),
        "one limb".into(),
    ];
    header.extend(build.laminations.iter().map(|lamination| lamination.name.clone()));
    header.extend(report.bows[0].press_shims.iter().map(|shim| format!("shim, form {}", shim.stage)));
    let rows = series.bows.iter().zip(&report.bows).map(|(bow, row)| {
        let fraction = bow.job.force_curve().map_or(String::new(), |curve| share_words(&curve.worst[curve.worst_of_all]));
        let mut cells = vec![
            bow.words.clone(),
            row.count.to_string(),
            build.weight_text(row.wanted_n),
            build.weight_text(row.weight_n),
            row.hardest.clone(),
            fraction,
            units.mass(row.limb_kg),
        ];
        cells.extend(row.thickness_mm.iter().map(|mm| units.thickness(*mm)));
        cells.extend(row.press_shims.iter().map(|shim| units.thickness(shim.shim_mm)));
        cells
    });
    let header: Vec<&str> = header.iter().map(String::as_str).collect();
    plain(&header, &rows.collect::<Vec<_>>())
}

fn batches(job: &Job, series: &Series, report: &SeriesReport) -> String {
    let units = job.build().units;
    let rows = report.batches.iter().map(|batch| {
        vec![
            batch.laminations.join(", "),
            weights(series, report, &batch.files),
            batch.strips.to_string(),
            batch.runs.to_string(),
            batch.passes.to_string(),
            batch.last_gap_mm.map_or(String::new(), |gap| units.thickness(gap)),
            format!("{} min", fixed(batch.time_s / 60.0, 0)),
        ]
    });
    plain(&["lamination", "for bows of", "strips", "runs", "passes", "last gap", "at the machine"], &rows.collect::<Vec<_>>())
}

/// The bows of these files by their weights.
fn weights(series: &Series, report: &SeriesReport, files: &[String]) -> String {
    if files.len() == report.bows.len() {
        return "all weights".into();
    }
    let named = series.bows.iter().zip(&report.bows).filter(|(_, row)| files.contains(&row.file));
    named.map(|(bow, _)| bow.words.as_str()).collect::<Vec<_>>().join(", ")
}

fn sleds(job: &Job, series: &Series, report: &SeriesReport) -> String {
    let units = job.build().units;
    let mut out = String::new();
    for sled in &report.sleds {
        out += &format!("Sled of `{}`, cut from {}. On it lie", sled.lamination, sled.cut_from);
        let mut served: Vec<(&str, Vec<String>)> = Vec::new();
        for strip in &sled.serves {
            match served.iter_mut().find(|(lamination, _)| *lamination == strip.lamination) {
                Some((_, files)) => files.push(strip.file.clone()),
                None => served.push((&strip.lamination, vec![strip.file.clone()])),
            }
        }
        let words: Vec<String> =
            served.iter().map(|(lamination, files)| format!(" `{lamination}` ({})", weights(series, report, files))).collect();
        out += &format!("{}.\n", words.join(","));
        if 0.0 < sled.run_on_lower_mm {
            out += &format!(
                "  Its run-on stands {} farther below the last gap of the thickest of these strips than of its own:\n  snipe falls on their overrun, so leave them theirs.\n",
                units.thickness(sled.run_on_lower_mm)
            );
        }
    }
    if report.sleds.is_empty() {
        out += "No strip of this series needs a sled.\n";
    }
    out += if report.one_form {
        "Form, outline and riser are the same for all.\n"
    } else {
        "Outline and riser are the same for all. Each weight has a form of its own: what `want` asks of the tips takes another one of a stiffer pile.\n"
    };
    if report.bows.iter().any(|bow| !bow.press_shims.is_empty()) {
        let thickest = series.bows.last().map_or("", |bow| &bow.words);
        out += &format!(
            "The upper half of the form is cut for the thickest pile, that of {thickest}; the others lay their shim between its edge and the hose.\n"
        );
    }
    out + &format!("A sound design stays below {} percent of breaking strain.\n", fixed(100.0 * COMFORTABLE, 0))
}
