//! The cut files of all sleds and forms, and the proof that what stands in them gives the finished thickness.

use super::Job;
use super::grind::{Ground, placed};
use super::sleds::SharedSled;
use crate::diag::{Diagnostic, Outcome, Place, Reported};
use crate::drawing::Drawing;
use crate::geometry::Path;
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::workshop::SledPlan;
use crate::sheets::{assembly, cut, form};
use crate::shop::cutting::{self, SheetCut, Whose};
use crate::shop::form::Form;
use crate::shop::kit::{Kit, Surface};
use crate::shop::proof::{self, Proof};
use crate::write::dxf::{self, read_back};
use crate::write::{Content as Lines, Letters, Unwritable};

/// All that is cut, drawn and proved.
#[derive(Debug)]
pub(super) struct Cutting {
    /// For each lamination of the build, its work; `None` for one that is not ground. What stops one lamination stops no other.
    pub laminations: Vec<Result<Option<CutStages>, Vec<Diagnostic>>>,
    pub forms: Result<Vec<Form>, Vec<Diagnostic>>,
    pub cuts: Vec<SheetCut>,
    /// Of all cuts, one after the other.
    pub loads: Vec<CutLoad>,
}

/// One bed-load.
#[derive(Debug)]
pub(super) struct CutLoad {
    /// At true size.
    pub drawing: Drawing,
    /// For a page.
    pub overview: Drawing,
    /// What the cutter is given.
    pub dxf: Vec<u8>,
}

/// A lamination's work, drawn and proved.
#[derive(Debug)]
pub(super) struct CutStages {
    pub ground: Ground,
    /// The sled that its strips lie on; `None` where they lie on the table.
    pub on: Option<SharedSled>,
    /// The sides of that sled, as its cut files have them.
    pub surfaces: Vec<Surface>,
    /// Another job cuts that sled.
    pub lent: bool,
    /// How its sled goes together; `None` where it has none of its own.
    pub assembly: Option<Drawing>,
    pub proof: Proof,
}

/// Lays all parts on sheets, writes what the cutter is given, and grinds on what that says.
pub(super) fn cut(job: &Job) -> Outcome<Cutting> {
    let build = job.build();
    let count = build.laminations.len();
    let grounds: Vec<Result<Option<&Ground>, _>> = (0..count).map(|lamination| job.ground(lamination)).collect();
    let with_kit = |sled: SharedSled| {
        let ground = (*grounds[sled.cut_from.lamination].as_ref().ok()?)?;
        Some((sled, (&ground.lamination, build.sled_for(&ground.lamination)?, ground.kit.as_ref()?)))
    };
    // What another job cuts is not cut here.
    let here = job.sleds().into_iter().filter(|sled| job.portion.lent(sled.cut_from.lamination).is_none());
    let sleds: Vec<(SharedSled, (&Lamination, &SledPlan, &Kit))> = here.filter_map(with_kit).collect();
    // What stops the glue-up is told by who asks for it.
    let glued = if job.is_bow() && job.portion.has_shared() { job.glue_up().ok().flatten() } else { None };
    let forms = glued.map_or(Ok(Vec::new()), |glued| form::laid_out(build, glued));
    let kits: Vec<(&Lamination, &SledPlan, &Kit)> = sleds.iter().map(|sled| sled.1).collect();
    let cuts = cutting::together(build, &kits, forms.as_deref().unwrap_or_default()).map_err(|fault| vec![fault])?;
    let loads = drawn(job, &cuts)?;
    // Each sled is read back once, whomever it serves.
    let surfaces: Vec<Result<Vec<Surface>, String>> = kits
        .iter()
        .enumerate()
        .map(|(number, (.., kit))| read_surfaces(kit, number, &cuts, &loads, build.shop.cutter.half_kerf_mm()))
        .collect();
    let work = |(index, ground): (usize, &Result<Option<&Ground>, super::Refused>)| {
        let Some(ground) = ground.as_ref().map_err(|refused| refused.faults.clone())? else { return Ok(None) };
        if let Some(lent) = job.portion.lent(index) {
            let work = worked(build, ground, lent.surfaces.clone(), Some(&lent.sled))?;
            return Ok(Some(CutStages { lent: true, ..work }));
        }
        let Some(number) = sleds.iter().position(|(sled, _)| sled.holds(index)) else {
            return worked(build, ground, Vec::new(), None).map(Some);
        };
        let (sled, (of, plan, kit)) = &sleds[number];
        let surfaces = surfaces[number].as_ref().map_err(|why| placed(build, of, vec![unproved(of, why)]))?;
        let mut work = worked(build, ground, surfaces.clone(), Some(sled))?;
        if sled.cut_from.lamination == index {
            let mut sheet = assembly::sheet(build, plan, of, kit, ground.last_gap_mm());
            sheet.notes.splice(0..0, assembly::whom_it_serves(&of.name, &sled.names(build)));
            work.assembly = Some(job.stamp().on(sheet));
        }
        Ok(Some(work))
    };
    let laminations = grounds.iter().enumerate().map(work).collect();
    Ok(Reported::clean(Cutting { laminations, forms, cuts, loads }))
}

/// The loads of these cuts as the cutter is given them.
fn drawn(job: &Job, cuts: &[SheetCut]) -> Result<Vec<CutLoad>, Vec<Diagnostic>> {
    let mut loads = Vec::new();
    for sheet in cut::loads(job.build(), cuts)? {
        let [drawing, overview] = [sheet.drawing, sheet.overview].map(|drawing| job.stamp.on(drawing));
        let dxf = dxf_of(&drawing, job.build()).map_err(|fault| vec![fault])?;
        loads.push(CutLoad { drawing, overview, dxf });
    }
    Ok(loads)
}

/// One sled by itself, as if nothing else were cut: its loads, and its sides as their files have them.
pub(super) fn alone(job: &Job, ground: &Ground, kit: &Kit) -> Result<(Vec<SheetCut>, Vec<Surface>), Vec<Diagnostic>> {
    let (build, lamination) = (job.build(), &ground.lamination);
    let Some(plan) = build.sled_for(lamination) else { return Ok((Vec::new(), Vec::new())) };
    let cuts = cutting::together(build, &[(lamination, plan, kit)], &[]).map_err(|fault| vec![fault])?;
    let loads = drawn(job, &cuts)?;
    let surfaces = read_surfaces(kit, 0, &cuts, &loads, build.shop.cutter.half_kerf_mm());
    let surfaces = surfaces.map_err(|why| placed(build, lamination, vec![unproved(lamination, &why)]))?;
    Ok((cuts, surfaces))
}

/// Grinds the schedule on the sled whose surfaces these are, or on the table where there are none; a fault where the strip does not
/// come out.
fn worked(build: &Build, ground: &Ground, surfaces: Vec<Surface>, on: Option<&SharedSled>) -> Result<CutStages, Vec<Diagnostic>> {
    let lamination = &ground.lamination;
    let proof = proof::prove(lamination, &surfaces, &ground.schedule);
    match proof.fault(lamination, build.sled_for(lamination), ground.rounding_mm()) {
        Some(fault) => Err(placed(build, lamination, vec![fault])),
        None => Ok(CutStages { ground: ground.clone(), on: on.cloned(), surfaces, lent: false, assembly: None, proof }),
    }
}

/// The sides of a sled's surface, from what is read back of the cut files.
fn read_surfaces(
    kit: &Kit,
    number: usize,
    cuts: &[SheetCut],
    loads: &[CutLoad],
    half_kerf_mm: f64,
) -> Result<Vec<Surface>, String> {
    let whose = Whose::Sled(number);
    let mut before = 0;
    for cut in cuts {
        let own = &loads[before..before + cut.loads.len()];
        before += cut.loads.len();
        if cut.from.iter().all(|(of, _)| *of != whose) {
            continue;
        }
        let read = |load: &CutLoad| -> Result<Vec<Path>, String> {
            Ok(read_back(&load.dxf)?.into_iter().map(|read| read.path).collect())
        };
        let read: Result<Vec<_>, String> = own.iter().map(read).collect();
        let outlines = cut.outlines(whose, kit.parts.len(), &read?, half_kerf_mm)?;
        return proof::surfaces(kit, &outlines, half_kerf_mm);
    }
    proof::surfaces(kit, &[], half_kerf_mm)
}

fn unproved(lamination: &Lamination, why: &str) -> Diagnostic {
    let message = format!("the sled for `{}` could not be read back from its cut file: {why}", lamination.name);
    Diagnostic::fault(Place::new("sled"), message).hint("this is a defect of taperwright: please report the build file")
}

/// The cut file of a drawing.
pub(super) fn dxf_of(drawing: &Drawing, build: &Build) -> Result<Vec<u8>, Diagnostic> {
    let letters = Letters::of(&build.shop.cutter);
    dxf::dxf(drawing, &build.shop.lines, build.units, Lines::CutterOnly, letters).map_err(unwritable)
}

/// A number that no format can hold.
pub(super) fn unwritable(fault: Unwritable) -> Diagnostic {
    Diagnostic::fault(Place::whole_file(), fault.to_string())
}
