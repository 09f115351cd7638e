//! The cut files of a lamination's sled, and the proof that what stands in them gives the finished thickness.

use super::Stamp;
use super::work::{Work, placed};
use crate::diag::{Diagnostic, Place};
use crate::drawing::Drawing;
use crate::geometry::Path;
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::sheets::{assembly, sled};
use crate::shop::proof::{self, Proof};
use crate::write::dxf::read_back;

/// The sheets of a sled.
#[derive(Default)]
pub struct SledSheets {
    /// Those that a cutter follows, each with its DXF bytes.
    pub cut: Vec<(Drawing, Vec<u8>)>,
    /// Those to look at.
    pub shown: Vec<Drawing>,
}

/// Draws the sled of planned work and writes its cut files; nothing for a lamination without one.
pub fn drawn(build: &Build, work: &Work<'_>, stamp: &Stamp) -> Result<SledSheets, Vec<Diagnostic>> {
    let mut sheets = SledSheets::default();
    let (Some(kit), Some(plan)) = (&work.kit, build.sled_for(work.lamination)) else { return Ok(sheets) };
    for drawing in sled::loads(build, plan, kit).map_err(|faults| placed(build, work.lamination, faults))? {
        let drawing = stamp.on(drawing);
        let bytes = stamp.dxf(&drawing, build).map_err(|fault| vec![fault])?;
        sheets.cut.push((drawing, bytes));
    }
    sheets.shown.extend(sled::from_above(build, plan, kit).map(|drawing| stamp.on(drawing)));
    sheets.shown.push(stamp.on(assembly::sheet(build, plan, work.lamination, kit, work.last_gap_mm())));
    Ok(sheets)
}

/// Grinds the schedule on the sled as it stands in its cut files, or on the table; a fault where the strip does not come out.
pub fn proved(build: &Build, work: &Work<'_>, sheets: &SledSheets) -> Result<Proof, Vec<Diagnostic>> {
    let lamination = work.lamination;
    let surfaces = match &work.kit {
        Some(kit) => {
            let read = |(_, bytes): &(Drawing, Vec<u8>)| -> Result<Vec<Path>, String> {
                Ok(read_back(bytes)?.into_iter().map(|read| read.path).collect())
            };
            let cut: Result<Vec<_>, String> = sheets.cut.iter().map(read).collect();
            cut.and_then(|cut| proof::surfaces(kit, &cut, build.shop.cutter.half_cut_mm()))
                .map_err(|why| placed(build, lamination, vec![unproved(lamination, &why)]))?
        }
        None => Vec::new(),
    };
    let proof = proof::prove(lamination, &surfaces, &work.schedule);
    let rounding_mm = work.schedule.setups.last().map_or(0.0, |setup| setup.rounding_mm);
    match proof.fault(lamination, build.sled_for(lamination), rounding_mm) {
        Some(fault) => Err(placed(build, lamination, vec![fault])),
        None => Ok(proof),
    }
}

fn unproved(lamination: &Lamination, why: &str) -> Diagnostic {
    let message = format!("the sled for `{}` could not be read back from its cut file: {why}", lamination.name);
    Diagnostic::fault(Place::new("sled"), message).hint("this is a defect of taperwright: please report the build file")
}
