//! Old files out, new files in, and the way back.
//!
//! Everything moved is named by a plan on the disk before the first move, so that a fault here and the next run after a kill go
//! back the same way. What was edited meanwhile is found once it has been moved, where no editor looks for it, and ends the swap.

use super::list::{self, LIST, Made, stays_below};
use super::{FolderFault, FolderState, Others, WORK, create_folders, disk, io_fault, state};
use crate::job::hash::fnv1a;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// What is going to be moved; while it is there, the swap is not done.
pub const PLAN: &str = "plan.json";

#[derive(Debug, Serialize, Deserialize)]
struct Plan {
    /// Old files that go, with their hashes.
    out: Made,
    /// New files that come, with their hashes.
    new: BTreeMap<String, String>,
    /// Folders below the folder that come with them, outermost first.
    folders: Vec<String>,
}

/// Puts what is staged in its place. `added` are all files wanted, those that stay as they are included.
pub fn swap(folder: &Path, before: &Made, added: &BTreeMap<String, String>, others: Others) -> Result<(), FolderFault> {
    let work = folder.join(WORK);
    let staged = work.join("new");
    let mut made: Made = added.iter().map(|(path, hash)| (path.clone(), vec![hash.clone()])).collect();
    if others == Others::Keep {
        for (path, hashes) in before {
            made.entry(path.clone()).or_insert_with(|| hashes.clone());
        }
    }
    let mut out = Made::new();
    for (path, hashes) in before {
        let replaced = staged.join(path).exists();
        let stale = others == Others::Remove && !added.contains_key(path);
        if (replaced || stale) && matches!(state(folder, path, Some(hashes))?, FolderState::Ours(_)) {
            out.insert(path.clone(), hashes.clone());
        }
    }
    let mut new: BTreeMap<String, String> =
        added.iter().filter(|(path, _)| staged.join(path).exists()).map(|(path, hash)| (path.clone(), hash.clone())).collect();
    if new.is_empty() && out.is_empty() && made == *before {
        return Ok(());
    }
    create_folders(folder, &staged)?;
    list::stage(&staged.join(LIST), &made)?;
    new.insert(LIST.into(), fnv1a(&list::text(&made)));
    if let Ok(bytes) = fs::read(folder.join(LIST)) {
        out.insert(LIST.into(), vec![fnv1a(&bytes)]);
    }
    let plan = Plan { folders: missing_folders(folder, &new), out, new };
    let (partial, place) = (work.join("plan.partial"), work.join(PLAN));
    disk::write_new(&partial, &serde_json::to_vec(&plan).expect("a map of strings is valid JSON")).map_err(io_fault(&partial))?;
    disk::rename(&partial, &place).map_err(io_fault(&place))?;
    disk::sync_folder(&work);

    let moved = move_all(folder, &plan).and_then(|()| {
        sync_folders(folder, &plan);
        disk::remove_file(&place).map_err(io_fault(&place))
    });
    match moved {
        Ok(()) => {
            sync_folders(folder, &plan);
            Ok(())
        }
        Err(fault) => Err(match (take_back(folder, &plan), fault) {
            (Ok(()), fault) => fault,
            (Err((path, error)), _) => FolderFault::TornApart { path, error, before: work.join("before") },
        }),
    }
}

/// Takes back what a run left that ended in the middle of its work.
pub fn recover(folder: &Path) -> Result<(), FolderFault> {
    let work = folder.join(WORK);
    match work.symlink_metadata() {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(FolderFault::Io { path: work, error }),
        Ok(found) if !found.is_dir() => return Err(FolderFault::NotOurs(vec![work])),
        Ok(_) => {}
    }
    let place = work.join(PLAN);
    match fs::read(&place) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {}
        Err(error) => return Err(FolderFault::Io { path: place, error }),
        Ok(bytes) => {
            let plan: Plan = serde_json::from_slice(&bytes)
                .ok()
                .filter(|plan: &Plan| plan.out.keys().chain(plan.new.keys()).chain(&plan.folders).all(|path| stays_below(path)))
                .ok_or_else(|| FolderFault::NotOurs(vec![place.clone()]))?;
            take_back(folder, &plan).map_err(|(path, error)| FolderFault::TornApart {
                path,
                error,
                before: work.join("before"),
            })?;
        }
    }
    disk::remove_tree(&work).map_err(io_fault(&work))
}

fn move_all(folder: &Path, plan: &Plan) -> Result<(), FolderFault> {
    let work = folder.join(WORK);
    for (path, hashes) in &plan.out {
        let (from, to) = (folder.join(path), work.join("before").join(path));
        create_folders(&work, to.parent().unwrap_or(&to))?;
        disk::rename(&from, &to).map_err(io_fault(&from))?;
        let found = fnv1a(&fs::read(&to).map_err(io_fault(&from))?);
        if !hashes.contains(&found) {
            return Err(FolderFault::NotOurs(vec![from]));
        }
    }
    for path in &plan.folders {
        let place = folder.join(path);
        disk::create_dir(&place).map_err(io_fault(&place))?;
    }
    // The list comes last of all.
    for path in plan.new.keys().filter(|path| *path != LIST).chain([&LIST.to_owned()]) {
        let place = folder.join(path);
        disk::move_to_free(&work.join("new").join(path), &place).map_err(|error| {
            if error.kind() == io::ErrorKind::AlreadyExists {
                FolderFault::NotOurs(vec![place.clone()])
            } else {
                FolderFault::Io { path: place.clone(), error }
            }
        })?;
    }
    Ok(())
}

/// Back to the files of before; safe to be run again where it was interrupted itself.
fn take_back(folder: &Path, plan: &Plan) -> Result<(), (PathBuf, io::Error)> {
    let work = folder.join(WORK);
    for (path, hash) in &plan.new {
        let place = folder.join(path);
        // A file that is not the one we put there is somebody's own by now. Where the old one still stands, there is nothing new.
        let untouched = plan.out.contains_key(path) && !work.join("before").join(path).exists();
        if !untouched && fs::read(&place).is_ok_and(|bytes| fnv1a(&bytes) == *hash) {
            disk::remove_file(&place).map_err(at(&place))?;
        }
    }
    for path in plan.folders.iter().rev() {
        let place = folder.join(path);
        if place.is_dir() && fs::read_dir(&place).is_ok_and(|mut inside| inside.next().is_none()) {
            disk::remove_dir(&place).map_err(at(&place))?;
        }
    }
    for path in plan.out.keys() {
        let (from, to) = (work.join("before").join(path), folder.join(path));
        if from.exists() && !to.exists() {
            disk::move_to_free(&from, &to).map_err(at(&to))?;
        }
    }
    sync_folders(folder, plan);
    let place = work.join(PLAN);
    disk::remove_file(&place).map_err(at(&place))
}

fn at(path: &Path) -> impl FnOnce(io::Error) -> (PathBuf, io::Error) + '_ {
    move |error| (path.to_owned(), error)
}

/// Folders that the new files need and that are not there, outermost first.
fn missing_folders(folder: &Path, new: &BTreeMap<String, String>) -> Vec<String> {
    let mut wanted: Vec<String> = new
        .keys()
        .flat_map(|path| Path::new(path).ancestors().skip(1))
        .filter(|place| !place.as_os_str().is_empty() && !folder.join(place).exists())
        .map(|place| place.to_string_lossy().into_owned())
        .collect();
    wanted.sort();
    wanted.dedup();
    wanted
}

fn sync_folders(folder: &Path, plan: &Plan) {
    let mut places: Vec<PathBuf> =
        plan.out.keys().chain(plan.new.keys()).filter_map(|path| folder.join(path).parent().map(Path::to_owned)).collect();
    places.sort();
    places.dedup();
    places.iter().for_each(|place| disk::sync_folder(place));
}
