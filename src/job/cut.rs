//! The cut files of all sleds and forms, and the proof that what stands in them gives the finished thickness.

use super::Job;
use super::grind::{Ground, placed};
use super::sleds::{self, SharedSled, SledNames, StripOf};
use crate::diag::{Diagnostic, Outcome, Place, Reported};
use crate::drawing::Drawing;
use crate::geometry::Path;
use crate::mechanics::glueup::GlueUp;
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::workshop::SledPlan;
use crate::sheets::assembly::{self, LastGap};
use crate::sheets::{cut, form};
use crate::shop::cutting::{self, SheetCut, Whose};
use crate::shop::form::Form;
use crate::shop::kit::{Kit, Surface};
use crate::shop::proof::{self, Proof};
use crate::write::dxf;
use crate::write::{Content as Lines, Letters, Unwritable};

/// All that is cut, drawn and proved.
#[derive(Debug)]
pub(super) struct Cutting {
    /// For each lamination of the build, its work; `None` for one that is not ground. What stops one lamination stops no other. Where two different
    /// limbs are cut together, the lower one's follow the upper one's.
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
    /// The closed lines of that file as they were read back from it, in its order.
    read: Vec<Path>,
}

/// A lamination's work, drawn and proved.
#[derive(Debug)]
pub(super) struct CutStages {
    pub ground: Ground,
    /// The sled that its strips lie on, with its name and theirs; `None` where they lie on the table.
    pub on: Option<(SharedSled, SledNames)>,
    /// The sides of that sled, as its cut files have them.
    pub surfaces: Vec<Surface>,
    /// Another job cuts that sled.
    pub lent: bool,
    /// Of all strips on that sled, where this one's is cut: the sled's own first.
    pub last_gaps: Vec<LastGap>,
    /// How its sled goes together; `None` where it has none of its own.
    pub assembly: Option<Drawing>,
    pub proof: Proof,
}

/// Lays all parts on sheets, writes what the cutter is given, and grinds on what that says.
pub(super) fn cut(job: &Job) -> Outcome<Cutting> {
    // Of two different limbs, the parts of both are cut together.
    let jobs: Vec<&Job> = std::iter::once(job).chain(job.portion.lower()).collect();
    let builds: Vec<&Build> = jobs.iter().map(|job| job.build()).collect();
    let build = builds[0];
    let grounds: Vec<Vec<Result<Option<&Ground>, _>>> =
        jobs.iter().map(|job| (0..job.build().laminations.len()).map(|lamination| job.ground(lamination)).collect()).collect();
    let with_kit = |sled: SharedSled| {
        let StripOf { bow, lamination } = sled.cut_from;
        let ground = (*grounds[bow][lamination].as_ref().ok()?)?;
        let (names, plan) = (sled.named(&builds), builds[bow].sled_for(&ground.lamination)?);
        let named = Lamination { name: names.of.clone(), ..ground.lamination.clone() };
        Some(SledHere { sled, names, lamination: named, plan, kit: ground.kit.as_ref()? })
    };
    // What another job cuts is not cut here.
    let here = sleds::shared(&jobs).into_iter().filter(|sled| job.portion.lent(sled.cut_from.lamination).is_none());
    let sleds: Vec<SledHere<'_>> = here.filter_map(with_kit).collect();
    // What stops the glue-up is told by who asks for it.
    let on_forms: Vec<&Job> = jobs.iter().map(|job| job.on_forms()).collect();
    let glued: Vec<&GlueUp> = match job.is_bow() && job.portion.has_forms() {
        true => on_forms.iter().filter_map(|job| job.glue_up().ok().flatten()).collect(),
        false => Vec::new(),
    };
    let mut forms = match (glued.as_slice(), on_forms.as_slice()) {
        ([glued], [on_form]) => form::laid_out(on_form.build(), glued),
        ([of_upper, of_lower], [upper, lower]) => {
            form::laid_out_halves((upper.build(), of_upper), Some((lower.build(), of_lower)))
        }
        _ => Ok(Vec::new()),
    };
    if let (Ok(forms), Some(all)) = (&mut forms, job.portion.all_weights()) {
        forms.iter_mut().for_each(|form| all.note_shims(form));
    }
    let kits: Vec<(&Lamination, &SledPlan, &Kit)> = sleds.iter().map(|here| (&here.lamination, here.plan, here.kit)).collect();
    let cuts = cutting::together(build, &kits, forms.as_deref().unwrap_or_default()).map_err(|fault| vec![fault])?;
    let loads = drawn(job, &cuts)?;
    // Each sled is read back once, whomever it serves.
    let surfaces: Vec<Result<Vec<Surface>, String>> = kits
        .iter()
        .enumerate()
        .map(|(number, (.., kit))| read_surfaces(kit, number, &cuts, &loads, build.shop.cutter.half_kerf_mm()))
        .collect();
    let work = |strip: StripOf, ground: &Result<Option<&Ground>, super::Refused>| {
        let build = builds[strip.bow];
        let Some(ground) = ground.as_ref().map_err(|refused| refused.faults.clone())? else { return Ok(None) };
        if let Some(lent) = job.portion.lent(strip.lamination) {
            let work = worked(build, ground, lent.surfaces.clone(), Some((&lent.sled, &lent.names)))?;
            return Ok(Some(CutStages { lent: true, ..work }));
        }
        let Some(number) = sleds.iter().position(|here| here.sled.serves.contains(&strip)) else {
            return worked(build, ground, Vec::new(), None).map(Some);
        };
        let SledHere { sled, names, lamination: of, plan, kit } = &sleds[number];
        let surfaces = surfaces[number].as_ref().map_err(|why| placed(build, of, vec![unproved(of, why)]))?;
        let mut work = worked(build, ground, surfaces.clone(), Some((sled, names)))?;
        if sled.cut_from == strip {
            let gap = |strip: &StripOf| {
                let ground = grounds[strip.bow][strip.lamination].as_ref().ok()?.as_ref()?;
                Some(LastGap { of: builds[strip.bow].part_name(&ground.lamination.name), gap_mm: ground.last_gap_mm() })
            };
            // Its own first.
            let served = std::iter::once(&strip).chain(sled.serves.iter().filter(|other| **other != strip));
            let of_weights = job.portion.all_weights().and_then(|all| all.last_gaps(strip.lamination));
            work.last_gaps = of_weights.map_or_else(|| served.filter_map(gap).collect(), <[LastGap]>::to_vec);
            let mut sheet = assembly::sheet(build, plan, of, kit, &work.last_gaps);
            let serves: Vec<&str> = names.serves.iter().map(String::as_str).collect();
            sheet.notes.splice(0..0, assembly::whom_it_serves(&of.name, &serves));
            work.assembly = Some(job.stamp().on(sheet));
        }
        Ok(Some(work))
    };
    let strips = grounds
        .iter()
        .enumerate()
        .flat_map(|(bow, of)| of.iter().enumerate().map(move |(lamination, ground)| (StripOf { bow, lamination }, ground)));
    let laminations = strips.map(|(strip, ground)| work(strip, ground)).collect();
    Ok(Reported::clean(Cutting { laminations, forms, cuts, loads }))
}

/// A sled that is cut here, by the name that its parts bear.
struct SledHere<'a> {
    sled: SharedSled,
    names: SledNames,
    lamination: Lamination,
    plan: &'a SledPlan,
    kit: &'a Kit,
}

/// The loads of these cuts as the cutter is given them.
fn drawn(job: &Job, cuts: &[SheetCut]) -> Result<Vec<CutLoad>, Vec<Diagnostic>> {
    let mut loads = Vec::new();
    for sheet in cut::loads(job.build(), cuts)? {
        let [drawing, overview] = [sheet.drawing, sheet.overview].map(|drawing| job.stamp.on(drawing));
        let (dxf, read) = read_dxf_of(&drawing, job.build()).map_err(|fault| vec![fault])?;
        loads.push(CutLoad { drawing, overview, dxf, read });
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
fn worked(
    build: &Build,
    ground: &Ground,
    surfaces: Vec<Surface>,
    on: Option<(&SharedSled, &SledNames)>,
) -> Result<CutStages, Vec<Diagnostic>> {
    let lamination = &ground.lamination;
    let proof = proof::prove(lamination, &surfaces, &ground.schedule);
    match proof.fault(lamination, build.sled_for(lamination), ground.rounding_mm()) {
        Some(fault) => Err(placed(build, lamination, vec![fault])),
        None => {
            let on = on.map(|(sled, names)| (sled.clone(), names.clone()));
            Ok(CutStages { ground: ground.clone(), on, surfaces, lent: false, last_gaps: Vec::new(), assembly: None, proof })
        }
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
        let read: Vec<&[Path]> = own.iter().map(|load| load.read.as_slice()).collect();
        let outlines = cut.outlines(whose, kit.parts.len(), &read, half_kerf_mm)?;
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
    read_dxf_of(drawing, build).map(|(dxf, _)| dxf)
}

/// The cut file of a drawing and the closed lines that are read back from it.
fn read_dxf_of(drawing: &Drawing, build: &Build) -> Result<(Vec<u8>, Vec<Path>), Diagnostic> {
    let letters = Letters::of(&build.shop.cutter);
    let written = dxf::with_paths(drawing, &build.shop.lines, build.units, Lines::CutterOnly, letters);
    let (dxf, read) = written.map_err(unwritable)?;
    Ok((dxf, read.into_iter().map(|read| read.path).collect()))
}

/// A number that no format can hold.
pub(super) fn unwritable(fault: Unwritable) -> Diagnostic {
    Diagnostic::fault(Place::whole_file(), fault.to_string())
}
