//! `taperwright make`: everything that goes into the shop, into a folder, whole or not at all.

mod limbs;
mod proof;
mod tables;
mod work;

pub use limbs::{Limbs, cause, glued, limbs, missed, options, tiller_stations};
pub use proof::SledSheets;
pub use tables::passes as table_of_passes;
pub use work::{Work, kept};

use super::Ended;
use super::args::MakeArgs;
use super::folder::{Filling, FolderFault, OutFile};
use super::input::{Input, show, summary};
use super::report as filled;
use super::terminal::{Progress, Terminal};
use crate::book::{self, Contents, SledOf};
use crate::diag::{Diagnostic, Place, Reported, Severity};
use crate::drawing::{Drawing, Kind};
use crate::mechanics::calibration::Calibrated;
use crate::model::Build;
use crate::model::lamination::file_name;
use crate::report::{self, Report};
use crate::sheets::{self, assembly};
use crate::shop::budget::Budget;
use crate::shop::proof::Proof;
use crate::shop::riser_block::{self, CheckSteps, RiserBlock};
use crate::units::{fixed, trim_zeros};
use crate::write::tile::Printed;
use crate::write::{Content, Letters, Unwritable, book_html, book_pdf, dxf, pdf, svg};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
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

    /// The drawing, signed, under a name that is fit for a file, each mark on it once.
    pub fn on(&self, mut drawing: Drawing) -> Drawing {
        drawing.name = file_name(&drawing.name);
        drawing.made_by = self.text();
        drawing.mark_once();
        drawing
    }

    /// The cut file of a drawing.
    pub fn dxf(&self, drawing: &Drawing, build: &Build) -> Result<Vec<u8>, Diagnostic> {
        let letters = Letters::of(&build.shop.cutter);
        dxf::dxf(drawing, &build.shop.lines, build.units, Content::CutterOnly, letters).map_err(unwritable)
    }
}

fn unwritable(fault: Unwritable) -> Diagnostic {
    Diagnostic::fault(Place::whole_file(), fault.to_string())
}

/// A lamination's work, drawn and proved.
pub struct Ready<'a> {
    pub work: Work<'a>,
    pub sheets: SledSheets,
    pub proof: Proof,
}

/// Everything worked out, before any of it is a file.
pub struct Plan<'a> {
    pub report: Report,
    pub warnings: Vec<Diagnostic>,
    works: Vec<Ready<'a>>,
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
    let ready = |work: Option<Work<'a>>| -> Result<Option<Ready<'a>>, Vec<Diagnostic>> {
        let Some(work) = work else { return Ok(None) };
        let sheets = proof::drawn(build, &work, stamp)?;
        let proof = proof::proved(build, &work, &sheets)?;
        Ok(Some(Ready { work, sheets, proof }))
    };
    let planned = side_by_side(&to_grind, |lamination| {
        let Reported { value, warnings } = work(build, lamination)?;
        match ready(value) {
            Ok(ready) => Ok((ready, warnings)),
            Err(faults) => Err(faults.into_iter().chain(warnings).collect::<Vec<_>>()),
        }
    });
    for found in planned {
        match found {
            Ok((ready, remarks)) => {
                warnings.extend(remarks);
                works.extend(ready);
            }
            Err(found) => {
                let (fault, remark): (Vec<_>, Vec<_>) = found.into_iter().partition(|one| one.severity == Severity::Fault);
                faults.extend(fault);
                warnings.extend(remark);
            }
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

/// Why files were not made.
pub enum NotMade {
    Faults(Vec<Diagnostic>),
    /// Whoever takes the files refused one.
    Refused(FolderFault),
}

impl From<Vec<Diagnostic>> for NotMade {
    fn from(faults: Vec<Diagnostic>) -> NotMade {
        NotMade::Faults(faults)
    }
}

impl From<Diagnostic> for NotMade {
    fn from(fault: Diagnostic) -> NotMade {
        NotMade::Faults(vec![fault])
    }
}

/// Sheets that are pictures at the same time: enough for all cores, few enough that their bytes are soon handed on.
const AT_ONCE: usize = 8;

/// The plan as files, each handed to `take` as soon as it is made.
pub fn files(
    build: &Build,
    plan: &Plan<'_>,
    stamp: &Stamp,
    printed: Printed,
    progress: &mut Progress,
    take: &mut dyn FnMut(OutFile) -> Result<(), FolderFault>,
) -> Result<(), NotMade> {
    let Plan { report, works, block, limbs, .. } = plan;
    let mut names: BTreeSet<String> = BTreeSet::new();
    let mut put = |path: String, bytes: Vec<u8>| {
        if !names.insert(path.clone()) {
            let message = format!("two sheets would be called {path}");
            let hint = "give the laminations names that differ more";
            return Err(NotMade::from(Diagnostic::fault(Place::new("lamination"), message).hint(hint)));
        }
        take(OutFile { path, bytes }).map_err(NotMade::Refused)
    };
    put("report.json".into(), report::json(report))?;
    put("stack.csv".into(), tables::stack(build, report))?;
    progress.at("sheets", 2, 3);
    let mut drawings: Vec<&Drawing> = Vec::new();
    for Ready { work, sheets, .. } in works {
        if let Some(row) = report.laminations.iter().find(|row| row.name == work.lamination.name) {
            for OutFile { path, bytes } in tables::of_work(build, work, row) {
                put(path, bytes)?;
            }
        }
        for (drawing, bytes) in &sheets.cut {
            put(format!("templates/{}.dxf", drawing.name), bytes.clone())?;
        }
        drawings.extend(sheets.cut.iter().map(|(drawing, _)| drawing).chain(&sheets.shown));
    }
    let forms = match limbs.as_ref().and_then(|limbs| limbs.glued.as_ref()) {
        Some(glued) => sheets::form::all(build, glued)?,
        None => Vec::new(),
    };
    let at_the_fades = limbs.as_ref().map_or(&[][..], |limbs| &limbs.fade_warnings);
    let mut others: Vec<Drawing> = templates(build, block.as_ref(), at_the_fades);
    others.extend(forms);
    if let Some(limbs) = limbs {
        let (curve, targets) = (&limbs.curve, &limbs.tiller);
        others.push(sheets::tiller::reduced(build, curve, targets, &limbs.floor));
        others.push(sheets::tiller::full_size(build, curve, targets));
    }
    let others: Vec<Drawing> = others.into_iter().map(|drawing| stamp.on(drawing)).collect();
    for drawing in &others {
        // A sheet to look at has nothing for a cutter.
        if drawing.items.iter().any(|item| item.kind == Kind::Cut) {
            put(format!("templates/{}.dxf", drawing.name), stamp.dxf(drawing, build)?)?;
        }
    }
    drawings.extend(&others);
    for some in drawings.chunks(AT_ONCE) {
        for (drawing, pictures) in some.iter().zip(side_by_side(some, |drawing| pictures(build, drawing, printed))) {
            let [svg, pdf] = pictures?;
            put(format!("templates/{}.svg", drawing.name), svg)?;
            put(format!("templates/{}.pdf", drawing.name), pdf)?;
        }
    }
    if let Some(limbs) = limbs {
        let drawing = stamp.on(sheets::bow::sheet(build, &limbs.curve, &limbs.sensitivity, limbs.spread_n()));
        let [svg, pdf] = pictures(build, &drawing, printed)?;
        put("bow.svg".into(), svg)?;
        put("bow.pdf".into(), pdf)?;
        put("force.csv".into(), tables::force(build.units, &limbs.curve))?;
    }
    let book = book::book(&contents(build, plan, stamp));
    let (paper, lines) = (&build.shop.paper, &build.shop.lines);
    put("build-book.pdf".into(), book_pdf::pdf(&book, paper, lines).map_err(unwritable)?)?;
    put("build-book.html".into(), book_html::html(&book, lines).map_err(unwritable)?)
}

/// What the build book is made from.
fn contents<'a>(build: &'a Build, plan: &'a Plan<'_>, stamp: &Stamp) -> Contents<'a> {
    let index = |work: &Work<'_>| build.laminations.iter().position(|lamination| lamination.name == work.lamination.name);
    let sled = |Ready { work, .. }: &'a Ready<'_>| {
        let kit = work.kit.as_ref()?;
        let steps = assembly::steps(build, build.sled_for(work.lamination)?, kit, work.last_gap_mm());
        Some(SledOf { lamination: index(work)?, kit, steps })
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
        let started: Vec<_> =
            (1..workers).map(|worker| (worker, std::thread::Builder::new().spawn_scoped(scope, move || part(worker)))).collect();
        let mut found = part(0);
        for (worker, handle) in started {
            // Where the system gives no thread, its part is done here.
            found.extend(handle.map_or_else(|_| part(worker), |handle| handle.join().expect("a worker does not panic")));
        }
        found
    });
    found.sort_by_key(|(i, _)| *i);
    found.into_iter().map(|(_, result)| result).collect()
}

/// Error budgets of the laminations that are ground, in the order of the laminations. A sled that
/// cannot be made gives none: its fault is `check`'s to tell.
pub fn budgets(build: &Build) -> Vec<Option<Budget>> {
    let one = |lamination| work(build, lamination).ok().and_then(|planned| planned.value).map(|work| work.budget);
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
fn pictures(build: &Build, drawing: &Drawing, printed: Printed) -> Result<[Vec<u8>; 2], Diagnostic> {
    let lines = &build.shop.lines;
    let svg = svg::svg(drawing, lines, Content::Everything).map_err(unwritable)?;
    let pdf = pdf::pdf(std::slice::from_ref(drawing), &build.shop.paper, printed, lines).map_err(unwritable)?;
    Ok([svg, pdf])
}

pub fn make(args: &MakeArgs, terminal: Terminal) -> Ended {
    let opened = match Input::read(&args.file, terminal).and_then(|input| input.open(terminal)) {
        Ok(opened) => opened,
        Err(ended) => return ended,
    };
    let printed = args.printed.unwrap_or(Printed::EXACT);
    let stem = stem(&args.file);
    let build_file = args.file.file_name().map_or(stem.clone(), |name| name.to_string_lossy().into_owned());
    let percent = |mm: f64| trim_zeros(&fixed(mm, 2));
    let options = args.printed.map(|Printed { x, y }| format!("--printed {}x{}", percent(x), percent(y))).into_iter().collect();
    let stamp = Stamp { build_file, hash: opened.hash.clone(), options };
    let units = opened.build.units;
    let mut progress = Progress::new(terminal);
    let refused = |faults: &[Diagnostic]| {
        show(faults, &opened.source, units, terminal);
        summary(faults, &args.file.display().to_string(), terminal);
        Ended::BuildFile
    };
    let plan = match plan(&opened.build, opened.calibrated, &stamp, &mut progress) {
        Ok(plan) => plan,
        Err(faults) => {
            drop(progress);
            return refused(&faults);
        }
    };
    let folder = args.out.clone().unwrap_or_else(|| PathBuf::from("output").join(&stem));
    let mut chosen = Chosen { only: &args.only, names: BTreeSet::new(), written: 0 };
    let made = Filling::begin(&folder).map_err(NotMade::Refused).and_then(|mut filling| {
        files(&opened.build, &plan, &stamp, printed, &mut progress, &mut |file| {
            if chosen.takes(&file.path) { filling.add(&file) } else { Ok(()) }
        })?;
        Ok(filling)
    });
    drop(progress);
    let filled = match made {
        Ok(_) if chosen.unknown().is_some() => {
            terminal.fault(&chosen.unknown().unwrap_or_default());
            return Ended::Files;
        }
        Ok(filling) => filling.finish(!args.only.is_empty()),
        Err(NotMade::Refused(fault)) => Err(fault),
        Err(NotMade::Faults(faults)) => return refused(&faults),
    };
    show(&plan.warnings, &opened.source, units, terminal);
    if let Err(fault) = filled {
        terminal.fault(&format!("error: {fault}"));
        return Ended::Files;
    }
    if args.json {
        return terminal.results(&String::from_utf8_lossy(&report::json(&plan.report)));
    }
    terminal.results(&tables::summary(&opened.build, &plan.report, &folder.display().to_string(), chosen.written))
}

/// The build file's name without its ending, as the name of a folder: never one that leads elsewhere, never empty.
fn stem(file: &Path) -> String {
    let stem = file.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ');
    if stem == "-" {
        "build".into()
    } else if stem.chars().all(plain) && stem.starts_with(|c: char| c.is_ascii_alphanumeric()) && !stem.ends_with(['.', ' ']) {
        stem
    } else {
        file_name(&stem)
    }
}

/// Which files are written: those whose name, without folder, starts with one of the parts asked for; all if none is.
struct Chosen<'a> {
    only: &'a [String],
    /// Of all files that there are, without folder.
    names: BTreeSet<String>,
    written: usize,
}

impl Chosen<'_> {
    fn takes(&mut self, path: &str) -> bool {
        let name = path.rsplit('/').next().unwrap_or("");
        self.names.insert(name.to_owned());
        let wanted = self.only.is_empty() || self.only.iter().any(|part| name.starts_with(part.as_str()));
        self.written += usize::from(wanted);
        wanted
    }

    /// What to say of a part that is the start of no name; `None` if each is.
    fn unknown(&self) -> Option<String> {
        let part = self.only.iter().find(|part| !self.names.iter().any(|name| name.starts_with(part.as_str())))?;
        let stems: BTreeSet<&str> = self.names.iter().map(|name| name.split('.').next().unwrap_or("")).collect();
        let stems: Vec<&str> = stems.into_iter().collect();
        Some(format!("error: no part is called `{part}`\nhelp: there are {}", stems.join(", ")))
    }
}
