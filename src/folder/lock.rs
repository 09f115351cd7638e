//! One writer at a time: the system's advisory lock on a folder or a file, which goes with the process that holds it.

use std::fs::{File, TryLockError};
use std::io;
use std::path::Path;
use std::time::Duration;

/// Held until dropped.
#[derive(Debug)]
pub struct Lock {
    /// `None` where the file system knows no locks.
    _held: Option<File>,
}

/// Why there is no lock.
#[derive(Debug)]
pub enum NoLock {
    Busy,
    Io(io::Error),
}

/// Locks a folder that exists, or says that somebody else has it.
pub fn folder(path: &Path) -> Result<Lock, NoLock> {
    // Not every system opens a folder like a file: two runs at once are not kept apart there.
    match File::open(path) {
        Ok(file) => match file.try_lock() {
            Ok(()) => Ok(Lock { _held: Some(file) }),
            Err(TryLockError::WouldBlock) => Err(NoLock::Busy),
            Err(TryLockError::Error(_)) => Ok(Lock { _held: None }),
        },
        Err(_) if cfg!(not(unix)) => Ok(Lock { _held: None }),
        Err(error) => Err(NoLock::Io(error)),
    }
}

/// How long a file is waited for: longer than any reading takes to check, shorter than a builder's patience.
const PATIENCE: Duration = Duration::from_secs(20);
const PAUSE: Duration = Duration::from_millis(5);

/// Locks an open file, waiting while others have it.
pub fn wait_for(file: &File) -> Result<(), NoLock> {
    for _ in 0..PATIENCE.as_millis() / PAUSE.as_millis() {
        match file.try_lock() {
            Ok(()) | Err(TryLockError::Error(_)) => return Ok(()),
            Err(TryLockError::WouldBlock) => std::thread::sleep(PAUSE),
        }
    }
    Err(NoLock::Busy)
}
