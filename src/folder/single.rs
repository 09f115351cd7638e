//! One file: a new one under a name that is free, or more text at the end of one that others may write to as well.

use super::lock::{self, NoLock};
use super::{FolderFault, disk, io_fault, named};
use std::fs;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

/// Writes one new file, whole or not at all; a fault if something of that name exists already.
pub fn create(path: &Path, bytes: &[u8]) -> Result<(), FolderFault> {
    named(path)?;
    if path.symlink_metadata().is_ok() {
        return Err(FolderFault::NotOurs(vec![path.to_owned()]));
    }
    sweep(path);
    let partial = path.with_file_name(format!("{}{}", partial_stem(path), std::process::id()));
    let mut file = disk::create_new(&partial).map_err(io_fault(path))?;
    // As long as it is locked, it is somebody's work.
    let _ = file.try_lock();
    let done = disk::write_at_end(&mut file, bytes).and_then(|()| disk::move_to_free(&partial, path));
    done.map_err(|error| {
        let _ = disk::remove_file(&partial);
        if error.kind() == io::ErrorKind::AlreadyExists {
            FolderFault::NotOurs(vec![path.to_owned()])
        } else {
            FolderFault::Io { path: path.to_owned(), error }
        }
    })?;
    disk::sync_folder(path.parent().unwrap_or(Path::new(".")));
    Ok(())
}

/// Puts new bytes in the place of a file that holds `before`, whole or not at all: where it holds something else by now, nothing is
/// written. A link leads to the file that is replaced; what may be done with the file stays as it was.
pub fn replace(path: &Path, before: &[u8], bytes: &[u8]) -> Result<(), FolderFault> {
    let path = &path.canonicalize().map_err(io_fault(path))?;
    // The mark that some editors put in front stays.
    let old = fs::read(path).map_err(io_fault(path))?;
    let bytes = &[&old[..old.len() - without_mark(&old).len()], bytes].concat();
    let found = fs::metadata(path).map_err(io_fault(path))?;
    if !found.is_file() {
        return Err(not_a_file(path));
    }
    sweep(path);
    let partial = path.with_file_name(format!("{}{}", partial_stem(path), std::process::id()));
    let mut file = disk::create_new(&partial).map_err(io_fault(path))?;
    // As long as it is locked, it is somebody's work.
    let _ = file.try_lock();
    let written = file.set_permissions(found.permissions()).and_then(|()| disk::write_at_end(&mut file, bytes));
    // The last look, just before the name changes hands.
    let same = written.and_then(|()| fs::read(path)).map(|now| without_mark(&now) == before);
    let done = match same {
        Ok(true) => disk::rename(&partial, path).map_err(io_fault(path)),
        Ok(false) => Err(FolderFault::NotOurs(vec![path.to_owned()])),
        Err(error) => Err(FolderFault::Io { path: path.to_owned(), error }),
    };
    if done.is_err() {
        let _ = disk::remove_file(&partial);
    }
    disk::sync_folder(path.parent().unwrap_or(Path::new(".")));
    done
}

fn without_mark(bytes: &[u8]) -> &[u8] {
    bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes)
}

fn partial_stem(path: &Path) -> String {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    format!(".{name}.partial-")
}

/// Removes what killed runs left of this file.
fn sweep(path: &Path) {
    let stem = partial_stem(path);
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let is_partial = |name: &str| {
        name.strip_prefix(&stem).is_some_and(|rest| !rest.is_empty() && rest.bytes().all(|byte| byte.is_ascii_digit()))
    };
    for entry in entries.filter(|entry| entry.file_name().to_str().is_some_and(is_partial)) {
        // One that is locked is being written by a run that lives.
        if fs::File::open(entry.path()).is_ok_and(|file| file.try_lock().is_ok()) {
            let _ = disk::remove_file(&entry.path());
        }
    }
}

/// A file that text is added to: nobody else adds to it until this is dropped.
#[derive(Debug)]
pub struct Appending {
    path: PathBuf,
    file: fs::File,
    /// What the file holds.
    pub before: Vec<u8>,
}

impl Appending {
    /// Waits for the file's lock and reads the file; `None` where there is none.
    pub fn open(path: &Path) -> Result<Option<Appending>, FolderFault> {
        // An editor that saves puts another file under the name; a name that changes hands for ever is not waited for.
        for _ in 0..100 {
            match fs::metadata(path) {
                Ok(found) if found.is_file() => {}
                Ok(_) => return Err(not_a_file(path)),
                Err(error) if error.kind() == io::ErrorKind::NotFound && !path.is_symlink() => return Ok(None),
                Err(error) => return Err(FolderFault::Io { path: path.to_owned(), error }),
            }
            let mut file = match fs::File::options().read(true).append(true).open(path) {
                Ok(file) => file,
                Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
                Err(error) => return Err(FolderFault::Io { path: path.to_owned(), error }),
            };
            lock::wait_for(&file).map_err(|why| match why {
                NoLock::Busy => FolderFault::Busy(path.to_owned()),
                NoLock::Io(error) => FolderFault::Io { path: path.to_owned(), error },
            })?;
            let mut before = Vec::new();
            file.read_to_end(&mut before).map_err(io_fault(path))?;
            if fs::read(path).is_ok_and(|now| now == before) {
                return Ok(Some(Appending { path: path.to_owned(), file, before }));
            }
        }
        Err(FolderFault::Busy(path.to_owned()))
    }

    /// Adds `more` at the end; whatever goes wrong, what others have written stays.
    pub fn append(mut self, more: &[u8]) -> Result<(), FolderFault> {
        let changed = || FolderFault::NotOurs(vec![self.path.clone()]);
        if fs::read(&self.path).map_err(io_fault(&self.path))? != self.before {
            return Err(changed());
        }
        if let Err(error) = disk::write_at_end(&mut self.file, more) {
            // Half of a reading is worse than none; if even this fails, the next run names the line.
            self.take_back(more);
            return Err(FolderFault::Io { path: self.path, error });
        }
        // An editor that saved in this moment has put its own file under the name: the reading is in none that one finds.
        match fs::read(&self.path) {
            Ok(now) if now.len() < self.before.len() + more.len() || !now[self.before.len()..].starts_with(more) => {
                Err(changed())
            }
            Err(error) => Err(FolderFault::Io { path: self.path, error }),
            Ok(_) => Ok(()),
        }
    }

    /// Shortens the file by what was just added, and only if that is all that was.
    fn take_back(&mut self, more: &[u8]) {
        let mut after = Vec::new();
        let end = self.before.len() as u64;
        let read = self.file.seek(SeekFrom::Start(end)).and_then(|_| self.file.read_to_end(&mut after));
        if read.is_ok() && more.starts_with(&after) {
            let _ = disk::shorten(&self.file, end);
        }
    }
}

fn not_a_file(path: &Path) -> FolderFault {
    FolderFault::Io {
        path: path.to_owned(),
        error: io::Error::new(io::ErrorKind::InvalidInput, "not a file that can be added to"),
    }
}
