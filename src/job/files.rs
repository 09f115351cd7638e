//! The files of a job, each made when it is asked for: bytes by name. What is written where is the edge's to say.

use super::cut::{CutStages, Cutting, dxf_of, unwritable};
use super::portion::Portion;
use super::{Job, Refused, tables};
use crate::book::{self, Contents, SledOf, block::Book};
use crate::diag::{Diagnostic, Place};
use crate::drawing::{Drawing, Kind};
use crate::model::lamination::file_name;
use crate::report;
use crate::sheets::{self, assembly};
use crate::shop::form::Form;
use crate::write::{Content as Lines, book_html, book_pdf, pdf, svg};
use std::collections::BTreeSet;
use std::sync::OnceLock;

/// Every file of a job, by number; drawings that none of them needs yet are not made.
#[derive(Debug)]
pub struct Files<'j> {
    job: &'j Job,
    cutting: &'j Cutting,
    cuts: Vec<&'j CutStages>,
    /// Outline, riser, forms, tiller and bow: all but the sleds' sheets, signed.
    drawings: Vec<Drawing>,
    book: OnceLock<Book>,
    list: Vec<(String, What)>,
}

/// What a file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Report,
    Stack,
    Force,
    Passes(usize),
    Shims(usize),
    /// The cut file of a load.
    LoadDxf(usize),
    Dxf(SheetFile),
    Svg(SheetFile),
    Pdf(SheetFile),
    BookPdf,
    BookHtml,
}

/// Where a drawing is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum SheetFile {
    /// At true size.
    Load(usize),
    /// How the sled of a cut goes together.
    Assembly(usize),
    Other(usize),
}

impl<'j> Files<'j> {
    /// What there will be; faults are those of the plan, the cut files and the forms.
    pub(super) fn of(job: &'j Job) -> Result<Files<'j>, Refused> {
        if job.portion.has_own() {
            job.report()?;
        }
        let cutting = job.cutting()?;
        let cuts: Vec<&CutStages> = cutting.laminations.iter().flatten().flatten().collect();
        let forms = cutting.forms.as_ref().map_err(Clone::clone)?;
        let mut drawings = templates(job)?;
        if job.portion.has_forms() {
            drawings.extend(form_sheets(job, forms)?);
        }
        if job.portion.has_own() {
            drawings.extend(own_sheets(job)?);
        }
        if let Some(limb) = job.build().limb.as_ref().filter(|_| job.portion.lower().is_none()) {
            drawings.iter_mut().for_each(|drawing| drawing.title = format!("{}, {} limb", drawing.title, limb.is.word()));
        }
        let drawings: Vec<Drawing> = drawings.into_iter().map(|drawing| job.stamp.on(drawing)).collect();
        let mut list = Vec::new();
        if job.portion.has_own() {
            list.extend([("report.json".to_owned(), What::Report), ("stack.csv".to_owned(), What::Stack)]);
        }
        let mut sheets: Vec<(&Drawing, SheetFile)> = Vec::new();
        for (index, cut) in cuts.iter().enumerate() {
            let names = cut.on.as_ref().filter(|_| cut.assembly.is_some()).map(|(_, names)| names.of.as_str());
            let name = file_name(names.unwrap_or(&cut.ground.lamination.name));
            if job.portion.has_own() && !cut.ground.schedule.setups.is_empty() {
                list.push((format!("passes-{name}.csv"), What::Passes(index)));
            }
            if cut.assembly.is_some() && cut.ground.kit.as_ref().is_some_and(|kit| !kit.shims.is_empty()) {
                list.push((format!("shims-{name}.csv"), What::Shims(index)));
            }
            sheets.extend(cut.assembly.iter().map(|drawing| (drawing, SheetFile::Assembly(index))));
        }
        for (number, load) in cutting.loads.iter().enumerate() {
            list.push((format!("templates/{}.dxf", load.drawing.name), What::LoadDxf(number)));
            sheets.push((&load.drawing, SheetFile::Load(number)));
        }
        for (index, drawing) in drawings.iter().enumerate() {
            // A sheet to look at has nothing for a cutter.
            if drawing.items.iter().any(|item| item.kind == Kind::Cut) {
                list.push((format!("templates/{}.dxf", drawing.name), What::Dxf(SheetFile::Other(index))));
            }
            sheets.push((drawing, SheetFile::Other(index)));
        }
        for (drawing, sheet) in sheets {
            // The bow's picture is no template.
            let folder = if drawing.name == BOW { "" } else { "templates/" };
            list.push((format!("{folder}{}.svg", drawing.name), What::Svg(sheet)));
            list.push((format!("{folder}{}.pdf", drawing.name), What::Pdf(sheet)));
        }
        if job.portion.has_own() {
            list.extend(job.is_bow().then(|| ("force.csv".into(), What::Force)));
            list.push(("build-book.pdf".into(), What::BookPdf));
            list.push(("build-book.html".into(), What::BookHtml));
        }
        let mut names = BTreeSet::new();
        if let Some((path, _)) = list.iter().find(|(path, _)| !names.insert(path)) {
            let message = format!("two sheets would be called {path}");
            let hint = "give the laminations names that differ more";
            return Err(Diagnostic::fault(Place::new("lamination"), message).hint(hint).into());
        }
        Ok(Files { job, cutting, cuts, drawings, book: OnceLock::new(), list })
    }

    /// Their paths, below a folder of the edge's choice; parts are parted by `/`.
    pub fn names(&self) -> impl ExactSizeIterator<Item = &str> {
        self.list.iter().map(|(path, _)| path.as_str())
    }

    /// The bytes of the file of this number in [`Files::names`].
    pub fn bytes(&self, number: usize) -> Result<Vec<u8>, Refused> {
        let (job, build) = (self.job, self.job.build());
        let lines = &build.shop.lines;
        let row = |cut: usize| {
            let name = &self.cuts[cut].ground.lamination.name;
            let rows = &job.report()?.laminations;
            Ok::<_, Refused>(rows.iter().find(|row| row.name == *name).expect("the report has every lamination"))
        };
        let written = match self.list[number].1 {
            What::Report => Ok(report::json(job.report()?)),
            What::Stack => Ok(tables::stack(build, job.report()?)),
            What::Force => Ok(tables::force(build.units, job.force_curve()?)),
            What::Passes(cut) => Ok(tables::passes_csv(build.units, row(cut)?)),
            What::Shims(cut) => {
                let kit = self.cuts[cut].ground.kit.as_ref();
                Ok(tables::shims(build, kit.map_or(&[], |kit| &kit.shims)))
            }
            What::LoadDxf(load) => Ok(self.cutting.loads[load].dxf.clone()),
            What::Dxf(sheet) => return dxf_of(self.drawing(sheet), build).map_err(Refused::from),
            What::Svg(sheet) => svg::svg(self.drawing(sheet), lines, Lines::Everything),
            What::Pdf(sheet) => {
                pdf::pdf(std::slice::from_ref(self.on_paper(sheet)), &build.shop.paper, job.inputs.printed, lines)
            }
            What::BookPdf => book_pdf::pdf(self.book(job.report()?)?, &build.shop.paper, lines),
            What::BookHtml => book_html::html(self.book(job.report()?)?, lines),
        };
        written.map_err(|fault| unwritable(fault).into())
    }

    fn drawing(&self, sheet: SheetFile) -> &Drawing {
        match sheet {
            SheetFile::Load(load) => &self.cutting.loads[load].drawing,
            SheetFile::Assembly(cut) => self.cuts[cut].assembly.as_ref().expect("it is listed"),
            SheetFile::Other(index) => &self.drawings[index],
        }
    }

    /// What is printed of a drawing. The path of a machine's tool is no pattern to saw by: unless it is asked for, a page shows how the
    /// parts lie.
    fn on_paper(&self, sheet: SheetFile) -> &Drawing {
        let shop = &self.job.build().shop;
        match sheet {
            SheetFile::Load(load) if shop.cutter.bed_mm().is_some() && !shop.printed.cut_files => {
                &self.cutting.loads[load].overview
            }
            _ => self.drawing(sheet),
        }
    }

    fn book(&self, report: &report::Report) -> Result<&Book, Refused> {
        if let Some(book) = self.book.get() {
            return Ok(book);
        }
        let made = book::book(&contents(self.job, self.cutting, report)?);
        Ok(self.book.get_or_init(|| made))
    }
}

/// The sheet with the bow's picture and numbers.
const BOW: &str = "bow";

/// The sheets of the forms; of two different limbs the upper one lies on the right.
fn form_sheets(job: &Job, forms: &[Form]) -> Result<Vec<Drawing>, Refused> {
    if !job.is_bow() {
        return Ok(Vec::new());
    }
    let of_lower = job.portion.lower().map(|lower| Ok::<_, Refused>((lower.build(), lower.glue_up()?))).transpose()?;
    let left = of_lower.and_then(|(build, glued)| Some((build, glued?)));
    let on_forms = job.on_forms();
    Ok(on_forms.glue_up()?.map_or_else(Vec::new, |glued| sheets::form::all_halves((on_forms.build(), glued), left, forms)))
}

/// The sheets of this bow alone: its tiller and its numbers.
fn own_sheets(job: &Job) -> Result<Vec<Drawing>, Refused> {
    if !job.is_bow() {
        return Ok(Vec::new());
    }
    let (build, curve, targets) = (job.build(), job.force_curve()?, job.tiller_targets()?);
    Ok(vec![
        sheets::tiller::reduced(build, curve, targets, job.floor_tiller()?),
        sheets::tiller::full_size(build, curve, targets),
        sheets::bow::sheet(build, curve, job.sensitivity()?, job.weight_spread_n()?),
    ])
}

/// What the fades would do to laminations, a line each.
fn at_the_fades(job: &Job) -> Result<Vec<String>, Refused> {
    if !job.is_bow() {
        return Ok(Vec::new());
    }
    let build = job.build();
    let warnings = job.fades()?.map(|fades| fades.warnings(build)).unwrap_or_default();
    let line = |warning: &Diagnostic| {
        let warning = warning.words(build.units);
        format!("{}; {}.", warning.message, warning.hints.join("; "))
    };
    Ok(warnings.iter().map(line).collect())
}

/// Outline and riser; what the fades would do to laminations stands on the riser's sheet, where it can still be changed.
fn templates(job: &Job) -> Result<Vec<Drawing>, Refused> {
    let (build, portion) = (job.build(), &job.portion);
    let outline = if portion.has_outline() { sheets::outline::sheet(build) } else { None };
    let block = if portion.has_riser() { job.riser_block() } else { None };
    let mut riser = block.and_then(|block| sheets::riser::sheet(build, block));
    if let Some(drawing) = &mut riser {
        let mut over: Vec<String> = at_the_fades(job)?;
        over.extend(portion.lower().map(at_the_fades).transpose()?.into_iter().flatten());
        over.dedup();
        drawing.notes.splice(0..0, over.iter().map(|line| format!("Over the fades: {line}")));
        if let (Portion::OneLimb { .. }, Some(limb)) = (portion, &build.limb) {
            let note = format!(
                "One block carries two different limbs: this sheet holds for its half toward the {} tip, the {} limb's for the other half.",
                limb.is.word(),
                limb.is.other().word()
            );
            drawing.notes.insert(0, note);
        }
    }
    Ok(outline.into_iter().chain(riser).collect())
}

/// What the build book is made from.
fn contents<'a>(job: &'a Job, cutting: &'a Cutting, report: &'a report::Report) -> Result<Contents<'a>, Refused> {
    let build = job.build();
    // Those that are cut here, each with the lamination whose name it bears.
    let own = cutting.laminations.iter().flatten().flatten().filter(|cut| cut.assembly.is_some());
    let sled = |CutStages { ground, on, last_gaps, .. }: &'a CutStages| {
        let (kit, on) = (ground.kit.as_ref()?, on.as_ref()?);
        let (sled, names) = on;
        let steps = assembly::steps(build, build.sled_for(&ground.lamination)?, kit, last_gaps);
        let serves = names.serves.iter().map(String::as_str).collect();
        Some(SledOf { lamination: sled.cut_from.lamination, serves, kit, steps })
    };
    let (glued, bow) =
        if job.is_bow() { (job.glue_up()?, Some((job.force_curve()?, job.tiller_targets()?))) } else { (None, None) };
    Ok(Contents {
        build,
        report,
        made_by: job.stamp().text(),
        sleds: own.filter_map(sled).collect(),
        cuts: &cutting.cuts,
        block: job.riser_block(),
        glued,
        bow,
        at_the_fades: at_the_fades(job)?,
        alike: job.ground_alike()?,
        press_shims: job.portion.press_shims(),
    })
}
