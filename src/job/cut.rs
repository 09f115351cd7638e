//! The cut files of a lamination's sled, and the proof that what stands in them gives the finished thickness.

use super::grind::{Ground, placed};
use super::{Job, Stamp};
use crate::diag::{Diagnostic, Outcome, Place, Reported};
use crate::drawing::Drawing;
use crate::geometry::Path;
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::sheets::{assembly, sled};
use crate::shop::proof::{self, Proof};
use crate::write::dxf::{self, read_back};
use crate::write::{Content as Lines, Letters, Unwritable};

/// A lamination's work, drawn and proved.
#[derive(Debug)]
pub(super) struct CutStages {
    pub ground: Ground,
    pub sheets: SledSheets,
    pub proof: Proof,
}

/// The sheets of a sled.
#[derive(Debug, Default)]
pub(super) struct SledSheets {
    /// Those that a cutter follows, each with its DXF bytes.
    pub cut: Vec<(Drawing, Vec<u8>)>,
    /// Those to look at.
    pub shown: Vec<Drawing>,
}

/// Draws the sled as it was planned, and grinds on what the cut files say.
pub(super) fn cut(job: &Job, lamination: usize) -> Outcome<Option<CutStages>> {
    let Some(ground) = job.ground(lamination)? else { return Ok(Reported::clean(None)) };
    let sheets = drawn(job.build(), ground, job.stamp())?;
    let proof = proved(job.build(), ground, &sheets)?;
    Ok(Reported::clean(Some(CutStages { ground: ground.clone(), sheets, proof })))
}

/// Draws the sled of planned work and writes its cut files; nothing for a lamination without one.
fn drawn(build: &Build, ground: &Ground, stamp: &Stamp) -> Result<SledSheets, Vec<Diagnostic>> {
    let mut sheets = SledSheets::default();
    let lamination = &ground.lamination;
    let (Some(kit), Some(plan)) = (&ground.kit, build.sled_for(lamination)) else { return Ok(sheets) };
    for drawing in sled::loads(build, plan, kit).map_err(|faults| placed(build, lamination, faults))? {
        let drawing = stamp.on(drawing);
        let bytes = dxf_of(&drawing, build).map_err(|fault| vec![fault])?;
        sheets.cut.push((drawing, bytes));
    }
    sheets.shown.extend(sled::from_above(build, plan, kit).map(|drawing| stamp.on(drawing)));
    sheets.shown.push(stamp.on(assembly::sheet(build, plan, lamination, kit, ground.last_gap_mm())));
    Ok(sheets)
}

/// Grinds the schedule on the sled as it stands in its cut files, or on the table; a fault where the strip does not come out.
fn proved(build: &Build, ground: &Ground, sheets: &SledSheets) -> Result<Proof, Vec<Diagnostic>> {
    let lamination = &ground.lamination;
    let surfaces = match &ground.kit {
        Some(kit) => {
            let read = |(_, bytes): &(Drawing, Vec<u8>)| -> Result<Vec<Path>, String> {
                Ok(read_back(bytes)?.into_iter().map(|read| read.path).collect())
            };
            let cut: Result<Vec<_>, String> = sheets.cut.iter().map(read).collect();
            cut.and_then(|cut| proof::surfaces(kit, &cut, build.shop.cutter.half_kerf_mm()))
                .map_err(|why| placed(build, lamination, vec![unproved(lamination, &why)]))?
        }
        None => Vec::new(),
    };
    let proof = proof::prove(lamination, &surfaces, &ground.schedule);
    match proof.fault(lamination, build.sled_for(lamination), ground.rounding_mm()) {
        Some(fault) => Err(placed(build, lamination, vec![fault])),
        None => Ok(proof),
    }
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
