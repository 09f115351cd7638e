//! `taperwright make --lower`: a bow of two different limbs in one folder: what is cut for both once, and what each limb has for itself.

use super::super::Ended;
use super::super::args::MakeArgs;
use super::super::terminal::{Progress, Terminal};
use super::super::threads;
use super::super::two_limbs::TwoLimbs;
use super::chosen;
use crate::diag::Diagnostic;
use crate::folder::{Filling, FolderFault, NotFilled};
use crate::job::{Files, Job, Refused, SeriesFolder, halves_meet, laminations_text, unmakeable};
use crate::model::limb::LimbSide;
use crate::report::pair::PairReport;
use crate::write::tile::Printed;
use std::path::Path;

pub fn made(upper: &Job, lower: &Path, args: &MakeArgs, folder: &Path, terminal: Terminal) -> Result<Ended, Ended> {
    let two = TwoLimbs::read_for(upper, lower, args.printed.unwrap_or(Printed::EXACT), terminal)?;
    let (of_upper, of_lower) = (two.upper.build(), two.lower.build());
    if let Some(found) = unmakeable(&two.upper, &two.lower) {
        return Err(two.limb(found.limb).refused(found.faults, terminal));
    }
    two.limbs().iter().for_each(|limb| threads::ahead(limb.job));
    for limb in two.limbs() {
        let mut warnings = limb.job.warnings().map_err(|found| limb.refused(found.faults, terminal))?;
        if limb.is == LimbSide::Lower {
            warnings.extend(halves_meet(of_upper, of_lower));
        }
        limb.show(warnings, terminal);
    }
    let mut progress = Progress::new(terminal);
    let count = filled(&two, args, folder, &mut progress);
    drop(progress);
    let count = count.map_err(|why| match why {
        PairUnmade::Faults(limb, faults) => two.limb(limb).refused(faults, terminal),
        PairUnmade::Folder(fault) => {
            terminal.fault(&format!("error: {fault}"));
            Ended::Files
        }
        PairUnmade::Unknown(told) => {
            terminal.fault(&told);
            Ended::Files
        }
    })?;
    let reports = two.limbs().map(|limb| limb.job.report().cloned().map_err(|found| limb.refused(found.faults, terminal)));
    let [upper, lower] = reports;
    let (upper, lower) = (upper?, lower?);
    if args.json {
        return Ok(terminal.published(&PairReport { upper, lower }));
    }
    let name = folder.display().to_string();
    let mut text = String::new();
    for (limb, report) in two.limbs().iter().zip([&upper, &lower]) {
        text += &format!("The {}\n\n{}\n", limb.heading(), laminations_text(limb.job.build(), report));
    }
    if let Some(bow) = &upper.bow {
        text += &format!(
            "Both limbs: {} at {}, string {}.\n",
            of_upper.weight_text(bow.draw_weight_n),
            of_upper.units.rule(bow.draw_length_mm),
            of_upper.units.rule(bow.string_mm)
        );
    }
    text += &format!(
        "wrote {count} files to {name}: what both limbs share in {name}/shared, the rest in {name}/upper and {name}/lower\n"
    );
    Ok(terminal.results_with(&text, &[&name]))
}

enum PairUnmade {
    Faults(LimbSide, Vec<Diagnostic>),
    Folder(FolderFault),
    Unknown(String),
}

/// All files whole or not at all: how many.
fn filled(two: &TwoLimbs, args: &MakeArgs, folder: &Path, progress: &mut Progress) -> Result<usize, PairUnmade> {
    let unmade = |name: &str, found: Refused| {
        let limb = if name == LimbSide::Lower.word() { LimbSide::Lower } else { LimbSide::Upper };
        PairUnmade::Faults(limb, found.faults)
    };
    let folders = Job::folders_of_two(&two.upper, &two.lower).map_err(|found| unmade("", found))?;
    let lists: Vec<(&SeriesFolder, Files<'_>)> = folders
        .iter()
        .map(|part| part.job.files().map(|files| (part, files)).map_err(|found| unmade(&part.name, found)))
        .collect::<Result<_, _>>()?;
    let all: Vec<&str> = lists.iter().flat_map(|(_, files)| files.names()).collect();
    let wanted = chosen(&all, &args.only).map_err(PairUnmade::Unknown)?;
    let mut filling = Filling::begin(folder).map_err(PairUnmade::Folder)?;
    let mut before = 0;
    for (number, (part, files)) in lists.iter().enumerate() {
        progress.at(&part.name, number, lists.len());
        let here = before..before + files.names().len();
        before = here.end;
        let numbers: Vec<usize> =
            wanted.iter().filter(|number| here.contains(number)).map(|number| number - here.start).collect();
        let side_by_side = |some: &[usize]| threads::side_by_side(some, |number| files.bytes(*number));
        filling.add_from(&format!("{}/", part.name), files, &numbers, side_by_side).map_err(|why| match why {
            NotFilled::Unmade(found) => unmade(&part.name, found),
            NotFilled::Folder(fault) => PairUnmade::Folder(fault),
        })?;
    }
    let count = filling.count();
    filling.finish(super::others(&args.only)).map_err(PairUnmade::Folder)?;
    Ok(count)
}
