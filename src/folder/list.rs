//! The list that tells our files from the user's.

use super::{FolderFault, disk, io_fault};
use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Component, Path};

pub const LIST: &str = "made.json";

/// Paths below the folder, with the hashes that each of our files may have.
///
/// One each today; a list of an earlier version may have two.
pub type Made = BTreeMap<String, Vec<String>>;

pub fn read_list(folder: &Path) -> Result<Made, FolderFault> {
    let path = folder.join(LIST);
    match path.symlink_metadata() {
        Ok(found) if found.is_file() => {}
        Ok(_) => return Err(FolderFault::NotOurs(vec![path])),
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Made::new()),
        Err(error) => return Err(FolderFault::Io { path, error }),
    }
    let bytes = fs::read(&path).map_err(io_fault(&path))?;
    match serde_json::from_slice::<Made>(&bytes) {
        Ok(made) if made.keys().all(|path| stays_below(path)) => Ok(made),
        // A file of that name that is not such a list is the user's own.
        _ => Err(FolderFault::NotOurs(vec![path])),
    }
}

/// Whether a path of a list stays in its folder. Files are moved by it, so `../x` or `/x` must not pass.
pub fn stays_below(path: &str) -> bool {
    !path.is_empty() && Path::new(path).components().all(|part| matches!(part, Component::Normal(_)))
}

/// The list's bytes.
pub fn text(made: &Made) -> Vec<u8> {
    let mut text = serde_json::to_string_pretty(made).expect("a map of strings is valid JSON");
    text.push('\n');
    text.into_bytes()
}

/// Writes the list of a fill that is under way into its work folder.
pub fn stage(place: &Path, made: &Made) -> Result<(), FolderFault> {
    disk::write_new(place, &text(made)).map_err(io_fault(place))
}
