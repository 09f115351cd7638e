//! Writing files so that nothing of the user's is lost and nothing is left half written.
//!
//! A folder that `make` fills carries a list, `made.json`, of what was written and a hash of each file's bytes.
//! A file is replaced only if it is on that list and still has those bytes.
//!
//! A build file that was written so is neither replaced nor removed by any later fill: a log may name it, and what the log says of a bow is
//! said by the file that the bow was made by.
//!
//! # How a folder is filled
//!
//! ```text
//! .taperwright-work/new/…      every file, written whole as it is made
//! .taperwright-work/plan.json  what will be moved: from here on it can be taken back
//! 1  old files and list        ──► .taperwright-work/before/…
//! 2  new files and list        ──► their places
//! 3  plan.json removed: done; then the work folder goes
//! ```
//!
//! Whenever the run ends, killed between any two steps, the folder's visible files are some of the old ones or some of the new
//! ones, never both: no new schedule stands beside an old sled. A fault takes everything back at once (`swap`); what a killed
//! run left is taken back by the next one that fills the folder. One run at a time: the folder is locked (`lock`).

mod disk;
mod list;
mod lock;
mod single;
mod read;
mod swap;

pub use read::{bounded, named_texts, plain_file, read_text};
pub use single::{Appending, create, replace, replace_all};

use crate::job::hash::fnv1a;
use crate::job::{Files, Refused};
use crate::model::lamination::file_name;
use list::{Made, read_list};
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// The build file's name without its ending, as the name of a folder: never one that leads elsewhere, never empty.
pub fn stem(file: &Path) -> String {
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

/// A file to be written: path below the folder with `/` between its parts, and its bytes.
#[derive(Debug, Clone, PartialEq)]
pub struct OutFile {
    pub path: String,
    pub bytes: Vec<u8>,
}

/// Why files could not be written.
#[derive(Debug)]
pub enum FolderFault {
    /// These files are in the way and were not written by this program, or were changed since. Nothing was changed.
    NotOurs(Vec<PathBuf>),
    /// These build files of an earlier fill would be changed or removed, and bows may be made by them. Nothing was changed.
    MadeBy {
        files: Vec<PathBuf>,
        /// A folder beside theirs that is not there yet.
        free: PathBuf,
    },
    /// Another run holds it. Nothing was changed.
    Busy(PathBuf),
    /// Nothing was changed.
    Io { path: PathBuf, error: io::Error },
    /// Files were moved, and not all of them could be moved back: the old ones that are missing lie in this folder.
    TornApart { path: PathBuf, error: io::Error, before: PathBuf },
    /// Of several files that belong together this one has its new text, and could not be given its old one back.
    HalfWritten { path: PathBuf, error: Box<FolderFault> },
}

impl std::fmt::Display for FolderFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            FolderFault::NotOurs(paths) => {
                writeln!(f, "nothing was written: these files are not this program's, or were changed since it wrote them:")?;
                for path in paths.iter().take(12) {
                    writeln!(f, "  {}", path.display())?;
                }
                if 12 < paths.len() {
                    writeln!(f, "  and {} more", paths.len() - 12)?;
                }
                write!(f, "help: move them away, or write under another name")
            }
            FolderFault::MadeBy { files, free } => {
                writeln!(f, "nothing was written: these build files would be changed, and bows may be made by them:")?;
                for path in files {
                    writeln!(f, "  {}", path.display())?;
                }
                write!(
                    f,
                    "help: write into a folder of its own, such as {}: a log says of a bow what its build file says\n\
                     help: where no bow is made by them yet, remove these build files and run this again",
                    free.display()
                )
            }
            FolderFault::Busy(path) => write!(
                f,
                "nothing was written: another run is writing to {}\nhelp: wait until it has ended and run this again",
                path.display()
            ),
            FolderFault::Io { path, error } => write!(f, "nothing was written: {}: {error}", path.display()),
            FolderFault::TornApart { path, error, before } => write!(
                f,
                "the files there are not complete: {}: {error}, and what had been moved could not all be put back\n\
                 help: the files of before are in {}; mend the cause and run this again, which puts them back first",
                path.display(),
                before.display()
            ),
            FolderFault::HalfWritten { path, error } => write!(
                f,
                "{} was written, the file that belongs to it was not, and it could not be taken back: {error}\n\
                 help: mend the cause, then keep again or take the last keep back",
                path.display()
            ),
        }
    }
}

fn io_fault(path: &Path) -> impl FnOnce(io::Error) -> FolderFault + '_ {
    move |error| FolderFault::Io { path: path.to_owned(), error }
}

/// The folder that a build file's files go into, from where the program was started.
pub fn out(file: &Path) -> PathBuf {
    Path::new("output").join(stem(file))
}

/// Why a job's files are not in a folder.
#[derive(Debug)]
pub enum NotFilled {
    /// One of them cannot be made.
    Unmade(Refused),
    /// The folder does not take them.
    Folder(FolderFault),
}

/// What becomes of files that an earlier fill wrote and this one does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Others {
    Keep,
    Remove,
}

/// Files that are made at the same time: enough for all cores, few enough that their bytes are soon handed on.
const AT_ONCE: usize = 8;

/// Fills `folder` with the files of a job of these numbers; `make` gives the bytes of some of them, in their order, as the edge likes to
/// make them. Files that an earlier fill wrote and this one does not are removed, or not: `others`.
pub fn fill_from(
    folder: &Path,
    files: &Files<'_>,
    numbers: &[usize],
    others: Others,
    make: impl FnMut(&[usize]) -> Vec<Result<Vec<u8>, Refused>>,
) -> Result<(), NotFilled> {
    let mut filling = Filling::begin(folder).map_err(NotFilled::Folder)?;
    filling.add_from("", files, numbers, make)?;
    filling.finish(others).map_err(NotFilled::Folder)
}

/// A folder being filled, file by file. Dropped before it is finished, it leaves the folder as it was.
#[derive(Debug)]
pub struct Filling {
    folder: PathBuf,
    /// Folders of this run that are removed again if nothing comes of it, outermost first.
    created: Vec<PathBuf>,
    /// What the list of the fill before names.
    before: Made,
    /// Hashes of the files added.
    added: BTreeMap<String, String>,
    in_the_way: Vec<PathBuf>,
    /// Build files of the fill before that would be others now.
    made_by: Vec<PathBuf>,
    /// The last to go.
    _lock: lock::Lock,
}

/// What is under way lies here, inside the folder: a rename within a file system is whole or not at all.
const WORK: &str = ".taperwright-work";

impl Filling {
    /// Creates and locks the folder, and takes back what a killed run left there.
    pub fn begin(folder: &Path) -> Result<Filling, FolderFault> {
        named(folder)?;
        let created = create_folders(Path::new(""), folder)?;
        let undo = || created.iter().rev().for_each(|path| drop(disk::remove_dir(path)));
        let locked = lock::folder(folder).map_err(|why| match why {
            lock::NoLock::Busy => FolderFault::Busy(folder.to_owned()),
            lock::NoLock::Io(error) => FolderFault::Io { path: folder.to_owned(), error },
        });
        let begun = locked.and_then(|lock| {
            swap::recover(folder)?;
            let before = read_list(folder)?;
            let work = folder.join(WORK);
            disk::create_dir(&work).map_err(io_fault(&work))?;
            Ok((lock, before))
        });
        let (lock, before) = begun.inspect_err(|_| undo())?;
        let folder = folder.to_owned();
        Ok(Filling { folder, created, before, added: BTreeMap::new(), in_the_way: Vec::new(), made_by: Vec::new(), _lock: lock })
    }

    /// Takes one file, written to the disk at once and put in its place by [`Filling::finish`].
    pub fn add(&mut self, file: &OutFile) -> Result<(), FolderFault> {
        let hash = fnv1a(&file.bytes);
        match state(&self.folder, &file.path, self.before.get(&file.path))? {
            FolderState::Foreign(found) if found != hash => {
                self.in_the_way.push(self.folder.join(&file.path));
                return Ok(());
            }
            // Equal bytes are as good as ours, and stay.
            FolderState::Foreign(_) => {}
            FolderState::Ours(found) if found == hash => {}
            FolderState::Ours(_) if is_build_file(&file.path) => {
                self.made_by.push(self.folder.join(&file.path));
                return Ok(());
            }
            FolderState::Ours(_) | FolderState::Absent => {
                let place = self.folder.join(WORK).join("new").join(&file.path);
                create_folders(&self.folder, place.parent().unwrap_or(&place))?;
                disk::write_new(&place, &file.bytes).map_err(io_fault(&place))?;
            }
        }
        self.added.insert(file.path.clone(), hash);
        Ok(())
    }

    /// Takes files of a job, as [`fill_from`] does; `before` is put before their paths.
    pub fn add_from(
        &mut self,
        before: &str,
        files: &Files<'_>,
        numbers: &[usize],
        mut make: impl FnMut(&[usize]) -> Vec<Result<Vec<u8>, Refused>>,
    ) -> Result<(), NotFilled> {
        let names: Vec<&str> = files.names().collect();
        for some in numbers.chunks(AT_ONCE) {
            for (number, bytes) in some.iter().zip(make(some)) {
                let file = OutFile { path: format!("{before}{}", names[*number]), bytes: bytes.map_err(NotFilled::Unmade)? };
                self.add(&file).map_err(NotFilled::Folder)?;
            }
        }
        Ok(())
    }

    /// How many files were taken.
    pub fn count(&self) -> usize {
        self.added.len()
    }

    /// Puts all files in their places, or none.
    pub fn finish(mut self, others: Others) -> Result<(), FolderFault> {
        if !self.in_the_way.is_empty() {
            return Err(FolderFault::NotOurs(std::mem::take(&mut self.in_the_way)));
        }
        let stale = |path: &&String| others == Others::Remove && is_build_file(path) && !self.added.contains_key(*path);
        let mut files = std::mem::take(&mut self.made_by);
        for (path, hashes) in self.before.iter().filter(|(path, _)| stale(path)) {
            let place = self.folder.join(path);
            if !files.contains(&place) && matches!(state(&self.folder, path, Some(hashes))?, FolderState::Ours(_)) {
                files.push(place);
            }
        }
        if !files.is_empty() {
            return Err(FolderFault::MadeBy { files, free: free_beside(&self.folder) });
        }
        swap::swap(&self.folder, &self.before, &self.added, others)?;
        self.created.clear();
        Ok(())
    }
}

impl Drop for Filling {
    fn drop(&mut self) {
        let work = self.folder.join(WORK);
        // A plan that is still there is for the next run to take back.
        if !work.join(swap::PLAN).exists() {
            let _ = disk::remove_tree(&work);
        }
        for path in self.created.iter().rev() {
            // Only while they are empty.
            let _ = disk::remove_dir(path);
        }
    }
}

fn is_build_file(path: &str) -> bool {
    Path::new(path).extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml"))
}

/// A folder beside this one that is not there: `out-2` for `out`, `out-3` for `out-2`.
fn free_beside(folder: &Path) -> PathBuf {
    let name = folder.file_name().map_or("out".into(), |name| name.to_string_lossy());
    let (stem, first) = match name.rsplit_once('-').map(|(stem, number)| (stem, number.parse::<u32>())) {
        Some((stem, Ok(number))) if number < 1_000_000 => (stem, number + 1),
        _ => (&*name, 2),
    };
    // As many as there are names that are taken: the loop ends.
    let mut number = first;
    loop {
        let place = folder.with_file_name(format!("{stem}-{number}"));
        if place.symlink_metadata().is_err() {
            return place;
        }
        number += 1;
    }
}

/// `-` is standard input and nothing that is written to.
fn named(path: &Path) -> Result<(), FolderFault> {
    if path.as_os_str() != "-" {
        return Ok(());
    }
    let error = io::Error::new(io::ErrorKind::InvalidInput, "stands for standard input; for a file of that name say ./-");
    Err(FolderFault::Io { path: path.to_owned(), error })
}

enum FolderState {
    Absent,
    /// With the hash of its bytes, as below.
    Ours(String),
    Foreign(String),
}

/// What stands at a path below the folder; `hashes` are those that the list knows for it.
fn state(folder: &Path, path: &str, hashes: Option<&Vec<String>>) -> Result<FolderState, FolderFault> {
    // We make no links: a rename would replace one, and one on the way leads out of the folder.
    let mut place = folder.to_owned();
    for part in Path::new(path) {
        place.push(part);
        if place.is_symlink() {
            return Ok(FolderState::Foreign(String::new()));
        }
    }
    match place.symlink_metadata() {
        Ok(found) if found.is_file() => {}
        // A folder, pipe or device of that name is in the way as well.
        Ok(_) => return Ok(FolderState::Foreign(String::new())),
        Err(error) if matches!(error.kind(), io::ErrorKind::NotFound) => return Ok(FolderState::Absent),
        // A file stands where a folder is needed.
        Err(error) if error.kind() == io::ErrorKind::NotADirectory => return Ok(FolderState::Foreign(String::new())),
        Err(error) => return Err(FolderFault::Io { path: place, error }),
    }
    let hash = fnv1a(&fs::read(&place).map_err(io_fault(&place))?);
    Ok(if hashes.is_some_and(|known| known.contains(&hash)) { FolderState::Ours(hash) } else { FolderState::Foreign(hash) })
}

/// Creates what is missing of a path below `from`; returns what was created, outermost first.
fn create_folders(from: &Path, path: &Path) -> Result<Vec<PathBuf>, FolderFault> {
    let missing = |place: &&Path| !place.as_os_str().is_empty() && *place != from && !place.exists();
    let mut wanted: Vec<&Path> = path.ancestors().take_while(missing).collect();
    wanted.reverse();
    let mut created = Vec::new();
    for place in wanted {
        if let Err(error) = disk::create_dir(place) {
            // Another run made it meanwhile: then it is not ours to take away again.
            if error.kind() == io::ErrorKind::AlreadyExists && place.is_dir() {
                continue;
            }
            created.iter().rev().for_each(|earlier: &PathBuf| drop(disk::remove_dir(earlier)));
            return Err(FolderFault::Io { path: place.to_owned(), error });
        }
        created.push(place.to_owned());
    }
    Ok(created)
}

#[cfg(test)]
mod tests;
