//! `taperwright make`: everything that goes into the shop, into a folder, whole or not at all.

mod limbs;
mod proof;
mod tables;
mod work;

pub use limbs::{Limbs, cause, glued, limbs, options, tiller_stations};
pub use tables::passes as table_of_passes;
pub use work::{Work, kept};

use super::Ended;
use super::args::MakeArgs;
use super::folder::{self, OutFile};
use super::input::{Input, show, summary};
use super::report as filled;
use super::terminal::{Progress, Terminal};
use crate::book::{self, Contents, SledOf};
use crate::diag::{Diagnostic, Place};
use crate::drawing::{Drawing, Kind};
use crate::mechanics::calibration::Calibrated;
use crate::model::Build;
use crate::model::lamination::file_name;
use crate::report::{self, Report};
use crate::sheets::{self, assembly};
use crate::shop::budget::Budget;
use crate::shop::riser_block::{self, CheckSteps, RiserBlock};
use crate::units::{fixed, trim_zeros};
use crate::write::tile::Printed;
use crate::write::{Content, Unwritable, book_html, book_pdf, dxf, pdf, svg};
use std::path::PathBuf;
use work::work;

/// What every file says of its making.
pub struct Stamp {
    /// Name of the build file without its folder.
    pub build_file: String,
    pub hash: String,
    pub options: Vec<String>,
}

impl Stamp {
    /// For work that writes no file.
    pub fn unsigned() -> Stamp {
        Stamp { build_file: String::new(), hash: String::new(), options: Vec::new() }
    }

    /// Version, build file, hash of its text, options that are not the default.
    pub fn text(&self) -> String {
        let mut text = format!("taperwright {} · {} · {}", env!("CARGO_PKG_VERSION"), self.build_file, self.hash);
        for option in &self.options {
            text.push_str(" · ");
            text.push_str(option);
        }
        text
    }

    /// The drawing, signed, under a name that is fit for a file.
    pub fn on(&self, mut drawing: Drawing) -> Drawing {
        drawing.name = file_name(&drawing.name);
        drawing.made_by = self.text();
        drawing
    }

    /// The cut file of a drawing.
    pub fn dxf(&self, drawing: &Drawing, build: &Build) -> Result<Vec<u8>, Diagnostic> {
        dxf::dxf(drawing, &build.shop.lines, build.units, Content::CutterOnly).map_err(unwritable)
    }
}

fn unwritable(fault: Unwritable) -> Diagnostic {
    Diagnostic::fault(Place::whole_file(), fault.to_string())
}

/// Everything worked out, before any of it is a file.
pub struct Plan<'a> {
    pub report: Report,
    pub warnings: Vec<Diagnostic>,
    works: Vec<Work<'a>>,
    block: Option<RiserBlock>,
    limbs: Option<Limbs>,
}

/// Works out sleds, passes, riser and bow, with every fault and warning.
pub fn plan<'a>(
    build: &'a Build,
    calibrated: Option<Calibrated>,
    stamp: &Stamp,
    progress: &mut Progress,
) -> Result<Plan<'a>, Vec<Diagnostic>> {
    let (mut faults, mut warnings, mut works) = (Vec::new(), Vec::new(), Vec::new());
    let to_grind: Vec<_> = build.laminations.iter().filter(|lamination| !lamination.ground).collect();
    if build.sander.is_none() && !to_grind.is_empty() {
        let message = "there is no sander: no sled and no passes are planned, and the machine's limits are not checked";
        warnings.push(Diagnostic::warning(Place::whole_file(), message).hint("describe the machine under [sander]"));
    }
    progress.at("sleds and passes", 0, 3);
    let planned = side_by_side(&to_grind, |lamination| {
        let mut warnings = Vec::new();
        (work(build, lamination, stamp, &mut warnings), warnings)
    });
    for (found, remarks) in planned {
        warnings.extend(remarks);
        match found {
            Ok(work) => works.extend(work),
            Err(found) => faults.extend(found),
        }
    }
    progress.at("the bow", 1, 3);
    let block = riser_block::lay_out(build, CheckSteps::usual(build.units)).map(|reported| kept(reported, &mut warnings));
    let limbs = match limbs(build, calibrated) {
        Ok(reported) => kept(reported, &mut warnings),
        Err(found) => {
            faults.extend(found);
            None
        }
    };
    if !faults.is_empty() {
        return Err(each_once(faults.into_iter().chain(warnings)));
    }
    let warnings = each_once(warnings);
    let report = filled::report(build, stamp, &works, block.as_ref(), limbs.as_ref(), &warnings);
    Ok(Plan { report, warnings, works, block, limbs })
}

/// What several laminations share is said once.
fn each_once(diagnostics: impl IntoIterator<Item = Diagnostic>) -> Vec<Diagnostic> {
    let mut seen: Vec<Diagnostic> = Vec::new();
    for diagnostic in diagnostics {
        if !seen.contains(&diagnostic) {
            seen.push(diagnostic);
        }
    }
    seen
}

/// The plan as files; nothing is written.
pub fn files(
    build: &Build,
    plan: &Plan<'_>,
    stamp: &Stamp,
    printed: Printed,
    progress: &mut Progress,
) -> Result<Vec<OutFile>, Vec<Diagnostic>> {
    let Plan { report, works, block, limbs, .. } = plan;
    let mut files = vec![OutFile { path: "report.json".into(), bytes: report::json(report) }];
    files.push(OutFile { path: "stack.csv".into(), bytes: tables::stack(build, report) });
    progress.at("sheets", 2, 3);
    let mut drawings: Vec<&Drawing> = Vec::new();
    for work in works {
        if let Some(row) = report.laminations.iter().find(|row| row.name == work.lamination.name) {
            files.extend(tables::of_work(build, work, row));
        }
        for (drawing, bytes) in &work.cut {
            files.push(OutFile { path: format!("templates/{}.dxf", drawing.name), bytes: bytes.clone() });
        }
        drawings.extend(work.cut.iter().map(|(drawing, _)| drawing).chain(&work.shown));
    }
    let forms = match limbs.as_ref().and_then(|limbs| limbs.glued.as_ref()) {
        Some(glued) => sheets::form::all(build, glued)?,
        None => Vec::new(),
    };
    let at_the_fades = limbs.as_ref().map_or(&[][..], |limbs| &limbs.fade_warnings);
    let others: Vec<Drawing> =
        templates(build, block.as_ref(), at_the_fades).into_iter().chain(forms).map(|drawing| stamp.on(drawing)).collect();
    for drawing in &others {
        // A sheet to look at has nothing for a cutter.
        if drawing.items.iter().any(|item| item.kind == Kind::Cut) {
            let bytes = stamp.dxf(drawing, build).map_err(|fault| vec![fault])?;
            files.push(OutFile { path: format!("templates/{}.dxf", drawing.name), bytes });
        }
    }
    drawings.extend(&others);
    for pictures in side_by_side(&drawings, |drawing| pictures(build, drawing, printed)) {
        files.extend(pictures.map_err(|fault| vec![fault])?);
    }
    if let Some(limbs) = limbs {
        let drawing = stamp.on(sheets::bow::sheet(build, &limbs.curve, &limbs.sensitivity, limbs.spread_n()));
        let [svg, pdf] = pictures(build, &drawing, printed).map_err(|fault| vec![fault])?;
        files.extend([OutFile { path: "bow.svg".into(), ..svg }, OutFile { path: "bow.pdf".into(), ..pdf }]);
        let (curve, targets) = (&limbs.curve, &limbs.tiller);
        let reduced = sheets::tiller::reduced(build, curve, targets, &limbs.floor);
        let tiller = [reduced, sheets::tiller::full_size(build, curve, targets)].map(|sheet| stamp.on(sheet));
        for pictures in side_by_side(&tiller, |drawing| pictures(build, drawing, printed)) {
            files.extend(pictures.map_err(|fault| vec![fault])?);
        }
        files.push(OutFile { path: "force.csv".into(), bytes: tables::force(build.units, &limbs.curve) });
    }
    let book = book::book(&contents(build, plan, stamp));
    let (paper, lines) = (&build.shop.paper, &build.shop.lines);
    let printed_book = book_pdf::pdf(&book, paper, lines).map_err(|fault| vec![unwritable(fault)])?;
    let read_book = book_html::html(&book, lines).map_err(|fault| vec![unwritable(fault)])?;
    files.extend([
        OutFile { path: "build-book.pdf".into(), bytes: printed_book },
        OutFile { path: "build-book.html".into(), bytes: read_book },
    ]);
    files.sort_by(|a, b| a.path.cmp(&b.path));
    if let Some(pair) = files.windows(2).find(|pair| pair[0].path == pair[1].path) {
        let message = format!("two sheets would be called {}", pair[0].path);
        return Err(vec![
            Diagnostic::fault(Place::new("lamination"), message).hint("give the laminations names that differ more"),
        ]);
    }
    Ok(files)
}

/// What the build book is made from.
fn contents<'a>(build: &'a Build, plan: &'a Plan<'_>, stamp: &Stamp) -> Contents<'a> {
    let index = |work: &Work<'_>| build.laminations.iter().position(|lamination| lamination.name == work.lamination.name);
    let sled = |work: &'a Work<'_>| {
        let (sled, carried) = work.sled.as_ref()?;
        let last_gap_mm = work.schedule.setups.last().map_or(0.0, |setup| setup.last_gap_mm);
        Some(SledOf {
            lamination: index(work)?,
            sled,
            parts: carried.parts(),
            loads: work.cut.len(),
            ribs_mm: carried.ribs_mm(),
            shims: carried.shims(),
            steps: assembly::steps(build, build.sled_for(work.lamination)?, sled, last_gap_mm, carried.shown()),
        })
    };
    let fades = plan.limbs.as_ref().map_or(&[][..], |limbs| &limbs.fade_warnings);
    Contents {
        build,
        report: &plan.report,
        made_by: stamp.text(),
        sleds: plan.works.iter().filter_map(sled).collect(),
        block: plan.block.as_ref(),
        glued: plan.limbs.as_ref().and_then(|limbs| limbs.glued.as_ref()),
        bow: plan.limbs.as_ref().map(|limbs| (&limbs.curve, &limbs.tiller)),
        at_the_fades: fades
            .iter()
            .map(|warning| {
                let warning = warning.spoken(build.units);
                format!("{}; {}.", warning.message, warning.hints.join("; "))
            })
            .collect(),
    }
}

/// The results of `f` for every item, in the order of the items, worked out on all cores.
fn side_by_side<T: Sync, R: Send>(items: &[T], f: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let workers = std::thread::available_parallelism().map_or(1, usize::from).min(items.len()).max(1);
    let part =
        |worker: usize| items.iter().enumerate().skip(worker).step_by(workers).map(|(i, item)| (i, f(item))).collect::<Vec<_>>();
    let mut found: Vec<(usize, R)> = std::thread::scope(|scope| {
        let part = &part;
        let handles: Vec<_> = (0..workers).map(|worker| scope.spawn(move || part(worker))).collect();
        handles.into_iter().flat_map(|handle| handle.join().expect("a worker does not panic")).collect()
    });
    found.sort_by_key(|(i, _)| *i);
    found.into_iter().map(|(_, result)| result).collect()
}

/// Error budgets of the laminations that are ground, in the order of the laminations. A sled that
/// cannot be made gives none: its fault is `check`'s to tell.
pub fn budgets(build: &Build) -> Vec<Option<Budget>> {
    let stamp = Stamp::unsigned();
    let one = |lamination| work(build, lamination, &stamp, &mut Vec::new()).ok().flatten().map(|work| work.budget);
    build.laminations.iter().map(|lamination| if lamination.ground { None } else { one(lamination) }).collect()
}

/// Outline and riser; what the fades would do to laminations stands on the riser's sheet, where it can still be changed.
fn templates(build: &Build, block: Option<&RiserBlock>, at_the_fades: &[Diagnostic]) -> Vec<Drawing> {
    let outline = sheets::outline::sheet(build);
    let riser = block.and_then(|block| sheets::riser::sheet(build, block)).map(|mut drawing| {
        let notes = at_the_fades.iter().map(|warning| {
            let warning = warning.spoken(build.units);
            format!("Over the fades: {}; {}.", warning.message, warning.hints.join("; "))
        });
        drawing.notes.splice(0..0, notes);
        drawing
    });
    outline.into_iter().chain(riser).collect()
}

/// SVG and PDF of a drawing.
fn pictures(build: &Build, drawing: &Drawing, printed: Printed) -> Result<[OutFile; 2], Diagnostic> {
    let lines = &build.shop.lines;
    let svg = svg::svg(drawing, lines, Content::Everything).map_err(unwritable)?;
    let pdf = pdf::pdf(std::slice::from_ref(drawing), &build.shop.paper, printed, lines).map_err(unwritable)?;
    let file = |ending: &str, bytes| OutFile { path: format!("templates/{}.{ending}", drawing.name), bytes };
    Ok([file("svg", svg), file("pdf", pdf)])
}

pub fn make(args: &MakeArgs, terminal: Terminal) -> Ended {
    let opened = match Input::read(&args.file, terminal).and_then(|input| input.open(terminal)) {
        Ok(opened) => opened,
        Err(ended) => return ended,
    };
    let printed = args.printed.unwrap_or(Printed::EXACT);
    let stem = args
        .file
        .file_stem()
        .map(|stem| stem.to_string_lossy().into_owned())
        .filter(|stem| stem != "-")
        .unwrap_or("build".into());
    let build_file = args.file.file_name().map_or(stem.clone(), |name| name.to_string_lossy().into_owned());
    let percent = |mm: f64| trim_zeros(&fixed(mm, 2));
    let options = args.printed.map(|Printed { x, y }| format!("--printed {}x{}", percent(x), percent(y))).into_iter().collect();
    let stamp = Stamp { build_file, hash: opened.hash.clone(), options };
    let units = opened.build.units;
    let mut progress = Progress::new(terminal);
    let planned = plan(&opened.build, opened.calibrated, &stamp, &mut progress)
        .and_then(|plan| files(&opened.build, &plan, &stamp, printed, &mut progress).map(|files| (plan, files)));
    drop(progress);
    let (plan, files) = match planned {
        Ok(planned) => planned,
        Err(faults) => {
            show(&faults, &opened.source, units, terminal);
            summary(&faults, &args.file.display().to_string(), terminal);
            return Ended::BuildFile;
        }
    };
    show(&plan.warnings, &opened.source, units, terminal);
    let folder = args.out.clone().unwrap_or_else(|| PathBuf::from("output").join(&stem));
    let files = match chosen(files, &args.only) {
        Ok(files) => files,
        Err(message) => {
            terminal.fault(&message);
            return Ended::Files;
        }
    };
    if let Err(fault) = folder::fill(&folder, &files, !args.only.is_empty()) {
        terminal.fault(&format!("error: {fault}"));
        return Ended::Files;
    }
    if args.json {
        return terminal.results(&String::from_utf8_lossy(&report::json(&plan.report)));
    }
    terminal.results(&tables::summary(&opened.build, &plan.report, &folder.display().to_string(), files.len()))
}

/// The files whose name, without folder, starts with one of the parts asked for; all if none is.
fn chosen(files: Vec<OutFile>, only: &[String]) -> Result<Vec<OutFile>, String> {
    let names = |file: &OutFile| file.path.rsplit('/').next().unwrap_or("").to_owned();
    let unknown: Vec<&String> =
        only.iter().filter(|part| !files.iter().any(|file| names(file).starts_with(part.as_str()))).collect();
    if let Some(part) = unknown.first() {
        let mut stems: Vec<String> = files.iter().map(|file| names(file).split('.').next().unwrap_or("").to_owned()).collect();
        stems.dedup();
        return Err(format!("error: no part is called `{part}`\nhelp: there are {}", stems.join(", ")));
    }
    Ok(files
        .into_iter()
        .filter(|file| only.is_empty() || only.iter().any(|part| names(file).starts_with(part.as_str())))
        .collect())
}
