//! The shop work for one lamination: its sled, the parts of it, the passes, the proof by grinding, and the error budget.

use super::Stamp;
use super::proof::{self, Proof};
use crate::diag::{Diagnostic, Place};
use crate::drawing::Drawing;
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::workshop::{Sander, SledMake, SledPlan};
use crate::sheets::{self, assembly};
use crate::shop::board::{self, RaisedEnd, Shimmed};
use crate::shop::budget::{Budget, budget};
use crate::shop::nest::nest;
use crate::shop::parts::{Kit, Load, Part};
use crate::shop::passes::{self, Schedule};
use crate::shop::shims::MakeUp;
use crate::shop::sled::{self, Sled};
use crate::shop::{ramp, sag};

/// What carries the strip through the sander.
#[derive(Debug)]
pub enum Carried {
    Kit { kit: Kit, loads: Vec<Load> },
    RaisedEnd(RaisedEnd),
    Shimmed(Shimmed),
}

impl Carried {
    pub fn parts(&self) -> &[Part] {
        match self {
            Carried::Kit { kit, .. } => &kit.parts,
            Carried::RaisedEnd(board) => std::slice::from_ref(&board.board),
            Carried::Shimmed(shimmed) => std::slice::from_ref(&shimmed.carrier),
        }
    }

    /// Centres of the cross ribs along the strip, mm.
    pub fn ribs_mm(&self) -> &[f64] {
        match self {
            Carried::Kit { kit, .. } => &kit.ribs_mm,
            Carried::RaisedEnd(_) | Carried::Shimmed(_) => &[],
        }
    }

    /// As the sheets and the book know it.
    pub fn shown(&self) -> assembly::Carried<'_> {
        match self {
            Carried::Kit { kit, .. } => assembly::Carried::Cut(kit),
            Carried::RaisedEnd(board) => assembly::Carried::RaisedEnd(board),
            Carried::Shimmed(shimmed) => assembly::Carried::Shims(shimmed),
        }
    }

    /// Places of the shims, `u` in mm, and what they are made of.
    pub fn shims(&self) -> Vec<(f64, &MakeUp)> {
        match self {
            Carried::Kit { .. } => Vec::new(),
            Carried::RaisedEnd(board) => vec![(board.raised_mm, &board.made)],
            Carried::Shimmed(shimmed) => shimmed.stations.iter().map(|station| (station.u_mm, &station.made)).collect(),
        }
    }
}

/// Everything about grinding one lamination.
#[derive(Debug)]
pub struct Work {
    pub lamination: Lamination,
    /// None for a parallel lamination, and where the build file describes no sled.
    pub sled: Option<(Sled, Carried)>,
    pub schedule: Schedule,
    pub proof: Proof,
    pub budget: Budget,
    /// Sheets that a cutter follows, each with its DXF bytes; and sheets to look at.
    pub cut: Vec<(Drawing, Vec<u8>)>,
    pub shown: Vec<Drawing>,
}

/// The work for a lamination that is still to be ground; `None` if the build file has no sander.
pub fn work(
    build: &Build,
    lamination: &Lamination,
    stamp: &Stamp,
    warnings: &mut Vec<Diagnostic>,
) -> Result<Option<Work>, Vec<Diagnostic>> {
    let known = warnings.len();
    let outcome = planned(build, lamination, stamp, warnings);
    // The shop knows one sled and its keys; here it is known whose they are.
    let placed = |diagnostic: &mut Diagnostic| {
        let path = diagnostic.place.as_str().to_owned();
        let Some(keys) = path.strip_prefix("sled.") else { return };
        let (first, rest) = keys.split_once('.').unwrap_or((keys, ""));
        let place = build.sled_place(lamination, first);
        diagnostic.place = if rest.is_empty() { place } else { place.key(rest) };
    };
    warnings[known..].iter_mut().for_each(placed);
    outcome.map_err(|mut faults| {
        faults.iter_mut().for_each(placed);
        faults
    })
}

fn planned(
    build: &Build,
    lamination: &Lamination,
    stamp: &Stamp,
    warnings: &mut Vec<Diagnostic>,
) -> Result<Option<Work>, Vec<Diagnostic>> {
    let Some(sander) = &build.sander else { return Ok(None) };
    let plan = build.sled_for(lamination);
    let sled = match plan {
        Some(plan) if !lamination.is_parallel() => {
            let sled = kept(sled::build(lamination, plan, sander)?, warnings);
            let carried = carried(build, plan, sander, &sled, lamination, warnings)?;
            Some((sled, carried))
        }
        _ => None,
    };
    let schedule = kept(passes::plan(lamination, sled.as_ref().map(|(sled, _)| sled), sander)?, warnings);
    let last_gap_mm = schedule.setups.last().map_or(0.0, |setup| setup.last_gap_mm);
    let (mut cut, mut shown) = (Vec::new(), Vec::new());
    let mut surfaces = Vec::new();
    let mut sag_mm = 0.0;
    if let (Some(plan), Some((sled, carried))) = (plan, &sled) {
        let together = |carried| stamp.on(assembly::sheet(build, plan, lamination, sled, last_gap_mm, carried));
        match carried {
            Carried::Kit { kit, loads } => {
                for drawing in sheets::sled::loads(build, plan, sled, kit, loads)? {
                    let drawing = stamp.on(drawing);
                    let bytes = super::files::dxf_of(&drawing, build).map_err(|fault| vec![fault])?;
                    cut.push((drawing, bytes));
                }
                let files = cut.iter().map(|(_, bytes)| bytes.as_slice());
                surfaces = proof::surfaces(sled, kit, loads, files, build.shop.cutter.half_cut_mm())
                    .map_err(|why| vec![unproved(lamination, &why)])?;
                shown.push(together(assembly::Carried::Cut(kit)));
                sag_mm = sag::of_deck_mm(plan, kit, sander.roller_n);
            }
            Carried::RaisedEnd(board) => {
                shown.push(stamp.on(sheets::sled::from_above(build, plan, sled, &board.board)));
                shown.push(together(assembly::Carried::RaisedEnd(board)));
                surfaces.push(proof::raised_end(sled, board));
                sag_mm = board.sag_mm[1];
            }
            Carried::Shimmed(shimmed) => {
                shown.push(stamp.on(sheets::sled::from_above(build, plan, sled, &shimmed.carrier)));
                shown.push(together(assembly::Carried::Shims(shimmed)));
                surfaces.push(proof::shimmed(sled, shimmed));
                sag_mm = shimmed.sag_mm[1];
            }
        }
    }
    let proof = proof::prove(lamination, sled.as_ref().map(|(sled, _)| sled), &surfaces, &schedule);
    let rounding = schedule.setups.last().map_or(0.0, |setup| setup.rounding_mm);
    let budget = budget(plan.filter(|_| sled.is_some()).map(|plan| (plan, &build.shop.cutter)), sander, sag_mm, rounding);
    if let Some(fault) = proof.fault(lamination, plan, rounding) {
        return Err(vec![fault]);
    }
    Ok(Some(Work { lamination: lamination.clone(), sled, schedule, proof, budget, cut, shown }))
}

fn carried(
    build: &Build,
    plan: &SledPlan,
    sander: &Sander,
    sled: &Sled,
    lamination: &Lamination,
    warnings: &mut Vec<Diagnostic>,
) -> Result<Carried, Vec<Diagnostic>> {
    let (cutter, shims, width) = (&build.shop.cutter, &build.shop.shims, lamination.stock.width_mm);
    let nested = |kit: Kit| -> Result<Carried, Vec<Diagnostic>> {
        let loads = nest(&kit.parts, &plan.sheet, cutter).map_err(|fault| vec![fault])?;
        Ok(Carried::Kit { kit, loads })
    };
    match plan.make {
        SledMake::Ramp => nested(kept(ramp::kit(sled, plan, sander, cutter, width)?, warnings)),
        SledMake::Solid => nested(kept(board::solid(sled, plan, cutter, width)?, warnings)),
        SledMake::RaisedEnd => Ok(Carried::RaisedEnd(kept(board::raised_end(sled, plan, sander, shims, width)?, warnings))),
        SledMake::Shims => {
            let unit_mm = build.units.to_mm(1.0);
            Ok(Carried::Shimmed(kept(board::shimmed(sled, plan, sander, shims, width, unit_mm)?, warnings)))
        }
    }
}

/// The value; its warnings join the others.
pub fn kept<T>(reported: crate::diag::Reported<T>, warnings: &mut Vec<Diagnostic>) -> T {
    warnings.extend(reported.warnings);
    reported.value
}

fn unproved(lamination: &Lamination, why: &str) -> Diagnostic {
    let message = format!("the sled for `{}` could not be read back from its cut file: {why}", lamination.name);
    Diagnostic::fault(Place::new("sled"), message).hint("this is a defect of taperwright: please report the build file")
}
