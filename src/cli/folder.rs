//! Writing files so that nothing of the user's is lost and nothing is left half written.
//!
//! A folder that `make` fills carries a list, `made.json`, of what was written and a hash of each file's bytes.
//! A file is replaced only if it is on that list and still has those bytes. New files are first written whole beside
//! their places, and renamed into them only once all of them stand on the disk.

use super::hash::fnv1a;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::{self, Write};
use std::path::{Component, Path, PathBuf};

/// The list that tells our files from the user's.
pub const LIST: &str = "made.json";

/// A file to be written: path below the folder with `/` between its parts, and its bytes.
#[derive(Debug, Clone, PartialEq)]
pub struct OutFile {
    pub path: String,
    pub bytes: Vec<u8>,
}

/// Why a folder could not be filled. Nothing was changed then.
#[derive(Debug)]
pub enum FolderFault {
    /// These files are in the way and were not written by this program, or were changed since.
    NotOurs(Vec<PathBuf>),
    Io {
        path: PathBuf,
        error: io::Error,
    },
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
            FolderFault::Io { path, error } => write!(f, "nothing was written: {}: {error}", path.display()),
        }
    }
}

fn io_fault(path: &Path) -> impl FnOnce(io::Error) -> FolderFault + '_ {
    move |error| FolderFault::Io { path: path.to_owned(), error }
}

/// Hashes that each of our files may have: one, or two while a fill is under way.
type Made = BTreeMap<String, Vec<String>>;

/// Fills `folder` with `files`. Files that an earlier fill wrote and this one does not are removed, unless `keep_others`.
pub fn fill(folder: &Path, files: &[OutFile], keep_others: bool) -> Result<(), FolderFault> {
    let before = read_list(folder)?;
    let wanted: BTreeSet<&str> = files.iter().map(|file| file.path.as_str()).collect();
    let mut in_the_way = Vec::new();
    let mut stale = Vec::new();
    for file in files {
        let place = folder.join(&file.path);
        match state(&place, before.get(&file.path))? {
            State::Absent | State::Ours => {}
            // Equal bytes are as good as ours: nothing would be lost.
            State::Foreign(hash) if hash == fnv1a(&file.bytes) => {}
            State::Foreign(_) => in_the_way.push(place),
        }
    }
    if !keep_others {
        for (path, hashes) in before.iter().filter(|(path, _)| !wanted.contains(path.as_str())) {
            let place = folder.join(path);
            if let State::Ours = state(&place, Some(hashes))? {
                stale.push(place);
            }
        }
    }
    if !in_the_way.is_empty() {
        return Err(FolderFault::NotOurs(in_the_way));
    }

    let created = create_folders(folder, files)?;
    let staged = stage(folder, files).inspect_err(|_| {
        // Only folders of this very run, and only while they are empty.
        for path in created.iter().rev() {
            let _ = fs::remove_dir(path);
        }
    })?;

    // From here on only renames: first the list that allows old and new bytes, last the list of the new ones.
    let mut after: Made = files.iter().map(|file| (file.path.clone(), vec![fnv1a(&file.bytes)])).collect();
    if keep_others {
        for (path, hashes) in &before {
            after.entry(path.clone()).or_insert_with(|| hashes.clone());
        }
    }
    let mut both = before;
    for (path, hashes) in &after {
        both.entry(path.clone()).or_default().extend(hashes.iter().cloned());
    }
    // The list is the first file that can still find the disk full: nothing staged may stay behind then.
    write_list(folder, &both).inspect_err(|_| {
        staged.iter().for_each(|(from, _)| drop(fs::remove_file(from)));
        created.iter().rev().for_each(|path| drop(fs::remove_dir(path)));
    })?;
    for (index, (from, to)) in staged.iter().enumerate() {
        fs::rename(from, to).map_err(io_fault(to)).inspect_err(|_| {
            staged[index..].iter().for_each(|(from, _)| drop(fs::remove_file(from)));
        })?;
    }
    for path in &stale {
        fs::remove_file(path).map_err(io_fault(path))?;
    }
    write_list(folder, &after)
}

/// Writes one new file; a fault if something of that name exists already.
pub fn create(path: &Path, bytes: &[u8]) -> Result<(), FolderFault> {
    if path.symlink_metadata().is_ok() {
        return Err(FolderFault::NotOurs(vec![path.to_owned()]));
    }
    let partial = beside(path);
    write_whole(&partial, bytes)?;
    // A hard link fails where the name exists, which a rename does not; file systems without links get the rename.
    let linked = fs::hard_link(&partial, path);
    let done = match linked {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Err(FolderFault::NotOurs(vec![path.to_owned()])),
        Err(_) => return fs::rename(&partial, path).map_err(io_fault(path)),
    };
    let _ = fs::remove_file(&partial);
    done
}

/// Adds text at the end of a file that still holds `before`; whatever goes wrong, the bytes that were there stay.
pub fn append(path: &Path, before: &[u8], more: &[u8]) -> Result<(), FolderFault> {
    if fs::read(path).map_err(io_fault(path))? != before {
        return Err(FolderFault::NotOurs(vec![path.to_owned()]));
    }
    let mut file = fs::OpenOptions::new().append(true).open(path).map_err(io_fault(path))?;
    file.write_all(more).and_then(|()| file.sync_all()).map_err(io_fault(path)).inspect_err(|_| {
        // Half of a reading is worse than none; if even this fails, the next run names the line.
        let _ = file.set_len(before.len() as u64);
    })
}

enum State {
    Absent,
    Ours,
    /// Something else, with the hash of its bytes.
    Foreign(String),
}

fn state(place: &Path, hashes: Option<&Vec<String>>) -> Result<State, FolderFault> {
    // We make no links. A rename would replace one, even one that points nowhere.
    if place.is_symlink() {
        return Ok(State::Foreign(String::new()));
    }
    match fs::read(place) {
        Ok(bytes) => {
            let hash = fnv1a(&bytes);
            Ok(if hashes.is_some_and(|known| known.contains(&hash)) { State::Ours } else { State::Foreign(hash) })
        }
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(State::Absent),
        // A folder of that name, or a file that cannot be read, is in the way as well.
        Err(_) if place.is_dir() => Ok(State::Foreign(String::new())),
        Err(error) => Err(FolderFault::Io { path: place.to_owned(), error }),
    }
}

/// Creates the folder and those below it; returns the ones that did not exist.
fn create_folders(folder: &Path, files: &[OutFile]) -> Result<Vec<PathBuf>, FolderFault> {
    let mut wanted = BTreeSet::new();
    let places = files.iter().filter_map(|file| folder.join(&file.path).parent().map(Path::to_owned));
    for place in places.chain([folder.to_owned()]) {
        let mut here = Some(place.as_path());
        while let Some(path) = here.filter(|path| !path.as_os_str().is_empty() && !path.exists()) {
            wanted.insert(path.to_owned());
            here = path.parent();
        }
    }
    let mut created = Vec::new();
    for path in wanted {
        if let Err(error) = fs::create_dir(&path) {
            for earlier in created.iter().rev() {
                let _ = fs::remove_dir::<&PathBuf>(earlier);
            }
            return Err(FolderFault::Io { path, error });
        }
        created.push(path);
    }
    Ok(created)
}

/// Writes every file whole beside its place; returns where each is and where it belongs. On a fault all are removed.
fn stage(folder: &Path, files: &[OutFile]) -> Result<Vec<(PathBuf, PathBuf)>, FolderFault> {
    let mut staged: Vec<(PathBuf, PathBuf)> = Vec::new();
    for file in files {
        let place = folder.join(&file.path);
        let partial = beside(&place);
        staged.push((partial.clone(), place));
        if let Err(fault) = write_whole(&partial, &file.bytes) {
            for (path, _) in &staged {
                let _ = fs::remove_file(path);
            }
            return Err(fault);
        }
    }
    Ok(staged)
}

/// A name in the same folder, so that a rename is whole or not at all.
fn beside(place: &Path) -> PathBuf {
    let name = place.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    place.with_file_name(format!(".{name}.partial-{}", std::process::id()))
}

fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), FolderFault> {
    let write = || -> io::Result<()> {
        let mut file = fs::File::create(path)?;
        file.write_all(bytes)?;
        file.sync_data()
    };
    write().map_err(|error| {
        let _ = fs::remove_file(path);
        FolderFault::Io { path: path.to_owned(), error }
    })
}

fn read_list(folder: &Path) -> Result<Made, FolderFault> {
    let path = folder.join(LIST);
    if path.is_symlink() {
        return Err(FolderFault::NotOurs(vec![path]));
    }
    match fs::read(&path) {
        // A file of that name that is not such a list is the user's own.
        Ok(bytes) => match serde_json::from_slice::<Made>(&bytes) {
            Ok(made) if made.keys().all(|path| stays_below(path)) => Ok(made),
            _ => Err(FolderFault::NotOurs(vec![path])),
        },
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(Made::new()),
        Err(error) => Err(FolderFault::Io { path, error }),
    }
}

/// Whether a path of the list stays in its folder. Stale files are removed by it, so `../x` or `/x` must not pass.
fn stays_below(path: &str) -> bool {
    Path::new(path).components().all(|part| matches!(part, Component::Normal(_)))
}

fn write_list(folder: &Path, made: &Made) -> Result<(), FolderFault> {
    let path = folder.join(LIST);
    let mut text = serde_json::to_string_pretty(made).expect("a map of strings is valid JSON");
    text.push('\n');
    let partial = beside(&path);
    write_whole(&partial, text.as_bytes())?;
    fs::rename(&partial, &path).map_err(io_fault(&path))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(path: &str, text: &str) -> OutFile {
        OutFile { path: path.into(), bytes: text.into() }
    }

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    #[test]
    fn fills_replaces_its_own_and_removes_what_is_stale() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("a/b");
        fill(&folder, &[file("x.csv", "1"), file("templates/y.svg", "2")], false).unwrap();
        fill(&folder, &[file("x.csv", "one")], false).unwrap();
        assert_eq!(fs::read_to_string(folder.join("x.csv")).unwrap(), "one");
        assert!(!folder.join("templates/y.svg").exists());
        assert_eq!(names(&folder), ["made.json", "templates", "x.csv"]);
    }

    #[test]
    fn never_touches_a_foreign_or_a_changed_file() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path();
        fs::write(folder.join("notes.txt"), "mine").unwrap();
        let fault = fill(folder, &[file("new.csv", "1"), file("notes.txt", "2")], false).unwrap_err();
        assert!(matches!(fault, FolderFault::NotOurs(paths) if paths == [folder.join("notes.txt")]));
        assert_eq!(names(folder), ["notes.txt"]);

        fill(folder, &[file("new.csv", "1")], false).unwrap();
        fs::write(folder.join("new.csv"), "edited").unwrap();
        assert!(fill(folder, &[file("new.csv", "2")], false).is_err());
        assert_eq!(fs::read_to_string(folder.join("new.csv")).unwrap(), "edited");
        // A changed file that is not wanted any more stays, too.
        fill(folder, &[file("other.csv", "3")], false).unwrap();
        assert_eq!(fs::read_to_string(folder.join("new.csv")).unwrap(), "edited");
    }

    #[test]
    fn a_list_of_someone_else_stays() {
        for text in ["{\"my\": \"own list\"}", "not a list", "[]"] {
            let home = tempfile::tempdir().unwrap();
            let list = home.path().join(LIST);
            fs::write(&list, text).unwrap();
            let fault = fill(home.path(), &[file("x.csv", "1")], false).unwrap_err();
            assert!(matches!(fault, FolderFault::NotOurs(paths) if paths == [list.clone()]));
            assert_eq!(fs::read_to_string(&list).unwrap(), text);
            assert_eq!(names(home.path()), ["made.json"]);
        }
    }

    #[test]
    fn a_list_cannot_reach_out_of_its_folder() {
        let home = tempfile::tempdir().unwrap();
        let (folder, outside) = (home.path().join("out"), home.path().join("precious.txt"));
        fs::write(&outside, "mine").unwrap();
        fs::create_dir(&folder).unwrap();
        for path in ["../precious.txt", "templates/../../precious.txt", &outside.to_string_lossy()] {
            let list = Made::from([(path.to_owned(), vec![fnv1a(b"mine")])]);
            fs::write(folder.join(LIST), serde_json::to_string(&list).unwrap()).unwrap();
            assert!(fill(&folder, &[file("x.csv", "1")], false).is_err(), "{path}");
            assert_eq!(fs::read_to_string(&outside).unwrap(), "mine");
            assert_eq!(names(&folder), ["made.json"]);
        }
    }

    #[cfg(unix)]
    #[test]
    fn links_are_not_replaced() {
        let home = tempfile::tempdir().unwrap();
        for (name, target) in [("x.csv", "nowhere"), (LIST, "nowhere")] {
            let folder = home.path().join(format!("beside {name}"));
            fs::create_dir(&folder).unwrap();
            std::os::unix::fs::symlink(target, folder.join(name)).unwrap();
            let fault = fill(&folder, &[file("x.csv", "1")], false).unwrap_err();
            assert!(matches!(fault, FolderFault::NotOurs(paths) if paths == [folder.join(name)]));
            assert_eq!(fs::read_link(folder.join(name)).unwrap(), Path::new(target));
            assert_eq!(names(&folder), [name]);
        }
    }

    #[test]
    fn a_list_that_cannot_be_written_leaves_nothing_staged() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("out");
        // A folder where the list is written first: the files are staged by then.
        fs::create_dir_all(beside(&folder.join(LIST))).unwrap();
        let before = names(&folder);
        assert!(fill(&folder, &[file("x.csv", "1"), file("templates/y.svg", "2")], false).is_err());
        assert_eq!(names(&folder), before);
    }

    #[test]
    fn a_failed_fill_leaves_nothing_behind() {
        let home = tempfile::tempdir().unwrap();
        let folder = home.path().join("out");
        // A file stands where a folder is needed.
        fs::write(home.path().join("out"), "a file").unwrap();
        assert!(fill(&folder, &[file("x.csv", "1")], false).is_err());
        assert_eq!(names(home.path()), ["out"]);
        assert_eq!(fs::read_to_string(&folder).unwrap(), "a file");
    }

    #[test]
    fn only_some_parts_keeps_the_others() {
        let home = tempfile::tempdir().unwrap();
        fill(home.path(), &[file("x.csv", "1"), file("y.csv", "2")], false).unwrap();
        fill(home.path(), &[file("x.csv", "one")], true).unwrap();
        assert_eq!(names(home.path()), ["made.json", "x.csv", "y.csv"]);
        // Both still count as ours.
        fill(home.path(), &[file("y.csv", "two")], false).unwrap();
        assert_eq!(names(home.path()), ["made.json", "y.csv"]);
    }

    #[test]
    fn appending_changes_nothing_that_stands() {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("log.toml");
        create(&path, b"one\n").unwrap();
        append(&path, b"one\n", b"two\n").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"one\ntwo\n");
        // Somebody wrote in the meantime.
        assert!(append(&path, b"one\n", b"three\n").is_err());
        assert_eq!(fs::read(&path).unwrap(), b"one\ntwo\n");
        assert!(append(&home.path().join("none.toml"), b"", b"x").is_err());
    }

    #[test]
    fn create_refuses_an_existing_name() {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("bow.toml");
        create(&path, b"one").unwrap();
        assert!(create(&path, b"two").is_err());
        assert_eq!(fs::read(&path).unwrap(), b"one");
        assert_eq!(names(home.path()), ["bow.toml"]);
    }
}
