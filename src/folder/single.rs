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
    Replacement::prepared(path, before, bytes)?.put()
}

/// The same for several files: all of them or none. Every new text lies beside its file before the first name changes hands, so that what is left
/// to fail is a rename; then those that were put are taken back.
pub fn replace_all(files: &[(&Path, &[u8], &[u8])]) -> Result<(), FolderFault> {
    let prepared: Vec<Replacement> =
        files.iter().map(|(path, before, bytes)| Replacement::prepared(path, before, bytes)).collect::<Result<_, _>>()?;
    // Seen of all before any is touched.
    for one in &prepared {
        one.unchanged()?;
    }
    let mut put: Vec<(PathBuf, Vec<u8>, Vec<u8>)> = Vec::new();
    for one in prepared {
        let (path, before, after) = (one.path.clone(), one.old.clone(), one.new.clone());
        if let Err(fault) = one.put() {
            for (path, before, after) in put.iter().rev() {
                if let Err(error) = replace(path, without_mark(after), without_mark(before)) {
                    return Err(FolderFault::HalfWritten { path: path.clone(), error: Box::new(error) });
                }
            }
            return Err(fault);
        }
        put.push((path, before, after));
    }
    Ok(())
}

/// A file's new text beside it, ready to take its name. Dropped before, it goes.
struct Replacement {
    path: PathBuf,
    partial: PathBuf,
    /// What the file held, and what it is to hold, the mark that some editors put in front among it.
    old: Vec<u8>,
    new: Vec<u8>,
    /// As long as it is locked, it is somebody's work.
    _file: fs::File,
}

impl Replacement {
    fn prepared(path: &Path, before: &[u8], bytes: &[u8]) -> Result<Replacement, FolderFault> {
        let path = path.canonicalize().map_err(io_fault(path))?;
        let old = fs::read(&path).map_err(io_fault(&path))?;
        let mark = &old[..old.len() - without_mark(&old).len()];
        let (was, new) = ([mark, before].concat(), [mark, bytes].concat());
        let found = fs::metadata(&path).map_err(io_fault(&path))?;
        if !found.is_file() {
            return Err(not_a_file(&path));
        }
        sweep(&path);
        let partial = path.with_file_name(format!("{}{}", partial_stem(&path), std::process::id()));
        let file = disk::create_new(&partial).map_err(io_fault(&path))?;
        let _ = file.try_lock();
        let mut made = Replacement { path, partial, old: was, new, _file: file };
        let written =
            made._file.set_permissions(found.permissions()).and_then(|()| disk::write_at_end(&mut made._file, &made.new));
        written.map_err(io_fault(&made.path))?;
        Ok(made)
    }

    /// Whether the file still holds what it held.
    fn unchanged(&self) -> Result<(), FolderFault> {
        let now = fs::read(&self.path).map_err(io_fault(&self.path))?;
        if now == self.old { Ok(()) } else { Err(FolderFault::NotOurs(vec![self.path.clone()])) }
    }

    fn put(self) -> Result<(), FolderFault> {
        // The last look, just before the name changes hands.
        self.unchanged()?;
        disk::rename(&self.partial, &self.path).map_err(io_fault(&self.path))?;
        disk::sync_folder(self.path.parent().unwrap_or(Path::new(".")));
        Ok(())
    }
}

impl Drop for Replacement {
    fn drop(&mut self) {
        // Once it has the file's name there is nothing to remove.
        if self.partial.symlink_metadata().is_ok() {
            let _ = disk::remove_file(&self.partial);
        }
    }
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
