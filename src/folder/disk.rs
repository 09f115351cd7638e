//! Every call that changes the disk, in one place, so that a test can let the Nth of them fail, or every one from the Nth on.

use std::fs;
use std::io::{self, Write};
use std::path::Path;

pub fn create_dir(path: &Path) -> io::Result<()> {
    tick()?;
    fs::create_dir(path)
}

pub fn rename(from: &Path, to: &Path) -> io::Result<()> {
    tick()?;
    fs::rename(from, to)
}

pub fn remove_file(path: &Path) -> io::Result<()> {
    tick()?;
    fs::remove_file(path)
}

pub fn remove_dir(path: &Path) -> io::Result<()> {
    tick()?;
    fs::remove_dir(path)
}

pub fn remove_tree(path: &Path) -> io::Result<()> {
    tick()?;
    fs::remove_dir_all(path)
}

/// Moves a file to a name that is free: unlike a rename it fails where something has that name.
///
/// File systems without hard links get a look and a rename.
pub fn move_to_free(from: &Path, to: &Path) -> io::Result<()> {
    tick()?;
    match fs::hard_link(from, to) {
        Ok(()) => {
            let removed = remove_file(from);
            // Both names are worse than either: whoever looks for the file expects one.
            removed.inspect_err(|_| drop(fs::remove_file(to)))
        }
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(error),
        Err(_) if to.symlink_metadata().is_ok() => Err(io::ErrorKind::AlreadyExists.into()),
        Err(_) => rename(from, to),
    }
}

/// A new file with these bytes, on the disk before this returns.
pub fn write_new(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = create_new(path)?;
    let written = write_at_end(&mut file, bytes);
    written.inspect_err(|_| drop(remove_file(path)))
}

pub fn create_new(path: &Path) -> io::Result<fs::File> {
    tick()?;
    fs::File::options().write(true).create_new(true).open(path)
}

/// Writes what follows and waits until the disk has it.
pub fn write_at_end(file: &mut fs::File, bytes: &[u8]) -> io::Result<()> {
    // Half of it may be there when the rest fails.
    let half = bytes.len() / 2;
    tick().inspect_err(|_| drop(file.write_all(&bytes[..half])))?;
    file.write_all(bytes)?;
    tick()?;
    // A thousand fills of the tests need not wait for the disk.
    if cfg!(test) { Ok(()) } else { file.sync_all() }
}

pub fn shorten(file: &fs::File, len: u64) -> io::Result<()> {
    tick()?;
    file.set_len(len)
}

/// The names in a folder are on the disk before this returns, where the system can promise that.
pub fn sync_folder(path: &Path) {
    #[cfg(unix)]
    if let Ok(folder) = fs::File::open(if path.as_os_str().is_empty() { Path::new(".") } else { path }) {
        // A file system that cannot is no reason to take the files back.
        let _ = folder.sync_all();
    }
    #[cfg(not(unix))]
    let _ = path;
}

#[cfg(not(test))]
fn tick() -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
use faults::tick;
#[cfg(test)]
pub use faults::{Faults, calls, with_faults};

#[cfg(test)]
mod faults {
    use std::cell::Cell;
    use std::io;

    /// Which calls fail, counted from 1.
    #[derive(Debug, Clone, Copy, PartialEq, Eq)]
    pub enum Faults {
        None,
        Nth(usize),
        Two(usize, usize),
        /// As if the program were killed there: nothing is cleaned up.
        From(usize),
    }

    thread_local! {
        static PLAN: Cell<Faults> = const { Cell::new(Faults::None) };
        static CALLS: Cell<usize> = const { Cell::new(0) };
    }

    /// Runs `work` with these faults.
    pub fn with_faults<R>(faults: Faults, work: impl FnOnce() -> R) -> R {
        CALLS.set(0);
        PLAN.set(faults);
        let result = work();
        PLAN.set(Faults::None);
        result
    }

    /// Calls since the faults were set.
    pub fn calls() -> usize {
        CALLS.get()
    }

    pub fn tick() -> io::Result<()> {
        let call = CALLS.get() + 1;
        CALLS.set(call);
        let fails = match PLAN.get() {
            Faults::None => false,
            Faults::Nth(n) => call == n,
            Faults::Two(n, m) => call == n || call == m,
            Faults::From(n) => n <= call,
        };
        if fails { Err(io::Error::other("a fault put in by the test")) } else { Ok(()) }
    }
}
