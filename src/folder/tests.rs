//! The folder and the log under faults: every call that changes the disk fails once, and from every call on the run is dead.

use super::disk::{Faults, calls, with_faults};
use super::list::LIST;
use super::*;

/// Fills `folder` with `files`. Files that an earlier fill wrote and this one does not are removed, or not.
fn fill(folder: &Path, files: &[OutFile], others: Others) -> Result<(), FolderFault> {
    let mut filling = Filling::begin(folder)?;
    for file in files {
        filling.add(file)?;
    }
    filling.finish(others)
}

fn file(path: &str, text: &str) -> OutFile {
    OutFile { path: path.into(), bytes: text.into() }
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn fills_replaces_its_own_and_removes_what_is_stale() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("a/b");
    fill(&folder, &[file("x.csv", "1"), file("templates/y.svg", "2")], Others::Remove).unwrap();
    fill(&folder, &[file("x.csv", "one")], Others::Remove).unwrap();
    assert_eq!(fs::read_to_string(folder.join("x.csv")).unwrap(), "one");
    assert!(!folder.join("templates/y.svg").exists());
    assert_eq!(names(&folder), ["made.json", "templates", "x.csv"]);
}

#[test]
fn never_touches_a_foreign_or_a_changed_file() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path();
    fs::write(folder.join("notes.txt"), "mine").unwrap();
    let fault = fill(folder, &[file("new.csv", "1"), file("notes.txt", "2")], Others::Remove).unwrap_err();
    assert!(matches!(fault, FolderFault::NotOurs(paths) if paths == [folder.join("notes.txt")]));
    assert_eq!(names(folder), ["notes.txt"]);

    fill(folder, &[file("new.csv", "1")], Others::Remove).unwrap();
    fs::write(folder.join("new.csv"), "edited").unwrap();
    assert!(fill(folder, &[file("new.csv", "2")], Others::Remove).is_err());
    assert_eq!(fs::read_to_string(folder.join("new.csv")).unwrap(), "edited");
    // A changed file that is not wanted any more stays, too.
    fill(folder, &[file("other.csv", "3")], Others::Remove).unwrap();
    assert_eq!(fs::read_to_string(folder.join("new.csv")).unwrap(), "edited");
}

/// A log may name a build file: it stays whatever is filled in after it, and goes where its owner removes it.
#[test]
fn a_build_file_is_neither_replaced_nor_removed() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("out");
    let first = [file("40/bow.toml", "thick"), file("40/passes.csv", "1")];
    fill(&folder, &first, Others::Remove).unwrap();
    let before = tree(&folder);
    let others: [&[OutFile]; 3] = [
        &[file("40/bow.toml", "thin"), file("40/passes.csv", "2")],
        &[file("45/bow.toml", "another"), file("40/passes.csv", "2")],
        &[],
    ];
    for files in others {
        let fault = fill(&folder, files, Others::Remove).unwrap_err();
        let FolderFault::MadeBy { files, free } = &fault else { panic!("{fault}") };
        assert_eq!((files, free), (&vec![folder.join("40/bow.toml")], &home.path().join("out-2")));
        assert!(fault.to_string().starts_with("nothing was written"), "{fault}");
        assert_eq!(tree(&folder), before);
    }
    assert!(fill(&folder, others[0], Others::Keep).is_err());
    // A weight more, and other files beside the same build file, are no change of it.
    fill(&folder, &[file("40/bow.toml", "thick"), file("45/bow.toml", "another")], Others::Remove).unwrap();
    // The folder that is offered is free, and the one after it is offered once it is taken.
    fill(&home.path().join("out-2"), &first, Others::Remove).unwrap();
    let offered = |folder: &str| match fill(&home.path().join(folder), others[0], Others::Remove) {
        Err(FolderFault::MadeBy { free, .. }) => free,
        other => panic!("{other:?}"),
    };
    assert_eq!([offered("out"), offered("out-2")], ["out-3", "out-3"].map(|name| home.path().join(name)));
    fs::remove_file(folder.join("40/bow.toml")).unwrap();
    fill(&folder, &[file("40/bow.toml", "thin"), file("45/bow.toml", "another")], Others::Remove).unwrap();
    assert_eq!(fs::read_to_string(folder.join("40/bow.toml")).unwrap(), "thin");
}

#[test]
fn a_list_of_someone_else_stays() {
    for text in ["{\"my\": \"own list\"}", "not a list", "[]"] {
        let home = tempfile::tempdir().unwrap();
        let list = home.path().join(LIST);
        fs::write(&list, text).unwrap();
        let fault = fill(home.path(), &[file("x.csv", "1")], Others::Remove).unwrap_err();
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
        assert!(fill(&folder, &[file("x.csv", "1")], Others::Remove).is_err(), "{path}");
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
        let fault = fill(&folder, &[file("x.csv", "1")], Others::Remove).unwrap_err();
        assert!(matches!(fault, FolderFault::NotOurs(paths) if paths == [folder.join(name)]));
        assert_eq!(fs::read_link(folder.join(name)).unwrap(), Path::new(target));
        assert_eq!(names(&folder), [name]);
    }
}

#[test]
fn a_failed_fill_leaves_nothing_behind() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("out");
    // A file stands where a folder is needed.
    fs::write(home.path().join("out"), "a file").unwrap();
    assert!(fill(&folder, &[file("x.csv", "1")], Others::Remove).is_err());
    assert_eq!(names(home.path()), ["out"]);
    assert_eq!(fs::read_to_string(&folder).unwrap(), "a file");
}

#[test]
fn only_some_parts_keeps_the_others() {
    let home = tempfile::tempdir().unwrap();
    fill(home.path(), &[file("x.csv", "1"), file("y.csv", "2")], Others::Remove).unwrap();
    fill(home.path(), &[file("x.csv", "one")], Others::Keep).unwrap();
    assert_eq!(names(home.path()), ["made.json", "x.csv", "y.csv"]);
    // Both still count as ours.
    fill(home.path(), &[file("y.csv", "two")], Others::Remove).unwrap();
    assert_eq!(names(home.path()), ["made.json", "y.csv"]);
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

/// Every file below a folder with its text, the work folder left out.
fn tree(folder: &Path) -> BTreeMap<String, String> {
    let (mut found, mut open) = (BTreeMap::new(), vec![folder.to_owned()]);
    while let Some(here) = open.pop() {
        for entry in fs::read_dir(here).into_iter().flatten() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                if path.file_name().unwrap() != WORK {
                    open.push(path);
                }
            } else {
                let name = path.strip_prefix(folder).unwrap().to_string_lossy().into_owned();
                found.insert(name, fs::read_to_string(&path).unwrap());
            }
        }
    }
    found
}

/// The sled and passes of an old build, with a note of the user's beside them.
fn old_folder(home: &Path) -> PathBuf {
    let folder = home.join("out");
    fill(&folder, &old_files(), Others::Remove).unwrap();
    fs::write(folder.join("templates/notes.txt"), "mine").unwrap();
    folder
}

fn old_files() -> [OutFile; 4] {
    [
        file("passes.csv", "old passes"),
        file("same.csv", "same"),
        file("templates/sled.dxf", "old sled"),
        file("gone/stale.csv", "old stale"),
    ]
}

fn new_files() -> [OutFile; 4] {
    [
        file("passes.csv", "new passes"),
        file("same.csv", "same"),
        file("templates/sled.dxf", "new sled"),
        file("fresh/new.csv", "new"),
    ]
}

/// What is visible is of one fill only.
fn not_mixed(seen: &BTreeMap<String, String>) -> bool {
    let old = seen.values().any(|text| text.starts_with("old"));
    let new = seen.values().any(|text| text.starts_with("new"));
    !(old && new)
}

#[test]
fn a_fault_at_any_call_takes_everything_back() {
    let mut faults = 0;
    for n in 1.. {
        let home = tempfile::tempdir().unwrap();
        let folder = old_folder(home.path());
        let before = tree(&folder);
        let (result, last) = with_faults(Faults::Nth(n), || (fill(&folder, &new_files(), Others::Remove), calls()));
        let after = tree(&folder);
        match result {
            Err(fault) => {
                faults += 1;
                assert!(fault.to_string().starts_with("nothing was written"), "call {n}: {fault}");
                assert_eq!(after, before, "call {n}");
            }
            Ok(()) => {
                assert!(after["passes.csv"] == "new passes" && !after.contains_key("gone/stale.csv"), "call {n}: {after:?}")
            }
        }
        assert_eq!(after["templates/notes.txt"], "mine");
        assert!(not_mixed(&after), "call {n}: {after:?}");
        // What could not be cleaned up at once goes with the next fill.
        fill(&folder, &new_files(), Others::Remove).unwrap();
        assert!(!folder.join(WORK).exists());
        if last < n {
            break;
        }
    }
    assert!(20 < faults, "only {faults} calls failed");
}

#[test]
fn a_run_killed_at_any_call_leaves_old_or_new_files_and_the_next_run_mends_it() {
    for n in 1.. {
        let home = tempfile::tempdir().unwrap();
        let folder = old_folder(home.path());
        let last = with_faults(Faults::From(n), || {
            let _ = fill(&folder, &new_files(), Others::Remove);
            calls()
        });
        let seen = tree(&folder);
        assert!(not_mixed(&seen), "call {n}: {seen:?}");
        assert_eq!(seen["templates/notes.txt"], "mine");
        assert_eq!(seen["same.csv"], "same");
        // The next run finds its own files again: nothing is taken for the user's.
        fill(&folder, &[file("passes.csv", "newest")], Others::Remove).unwrap_or_else(|fault| panic!("call {n}: {fault}"));
        let mended = tree(&folder);
        let names: Vec<&str> = mended.keys().map(String::as_str).collect();
        assert_eq!(names, ["made.json", "passes.csv", "templates/notes.txt"], "call {n}");
        assert!(!folder.join(WORK).exists());
        if last < n {
            break;
        }
    }
}

/// Where going back fails as well, the message says so, and the run after it goes back.
#[test]
fn a_second_fault_on_the_way_back_is_told_and_mended() {
    let mut torn = 0;
    for n in 1..40 {
        for m in n + 1..n + 8 {
            let home = tempfile::tempdir().unwrap();
            let folder = old_folder(home.path());
            let before = tree(&folder);
            let result = with_faults(Faults::Two(n, m), || fill(&folder, &new_files(), Others::Remove));
            let seen = tree(&folder);
            match result {
                Err(FolderFault::TornApart { .. }) => torn += 1,
                Err(_) => assert_eq!(seen, before, "calls {n} and {m}"),
                Ok(()) => {}
            }
            assert!(not_mixed(&seen), "calls {n} and {m}: {seen:?}");
            fill(&folder, &old_files(), Others::Remove).unwrap();
            assert_eq!(tree(&folder), before, "calls {n} and {m}");
        }
    }
    assert!(0 < torn);
}

#[test]
fn an_edit_made_meanwhile_is_found_and_kept() {
    let home = tempfile::tempdir().unwrap();
    let folder = old_folder(home.path());
    let mut filling = Filling::begin(&folder).unwrap();
    for file in new_files() {
        filling.add(&file).unwrap();
    }
    fs::write(folder.join("passes.csv"), "edited").unwrap();
    fs::create_dir(folder.join("fresh")).unwrap();
    fs::write(folder.join("fresh/new.csv"), "the user's").unwrap();
    let fault = filling.finish(Others::Remove).unwrap_err();
    assert!(matches!(fault, FolderFault::NotOurs(_)), "{fault}");
    let seen = tree(&folder);
    assert_eq!((seen["passes.csv"].as_str(), seen["fresh/new.csv"].as_str()), ("edited", "the user's"));
    assert_eq!(seen["templates/sled.dxf"], "old sled");
}

#[test]
fn one_run_at_a_time() {
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("out");
    let first = Filling::begin(&folder).unwrap();
    assert!(matches!(fill(&folder, &old_files(), Others::Remove), Err(FolderFault::Busy(path)) if path == folder));
    drop(first);
    fill(&folder, &old_files(), Others::Remove).unwrap();
}

/// A folder that is a link leads out: nothing is written, replaced or removed through it.
#[cfg(unix)]
#[test]
fn linked_folders_are_not_followed() {
    let home = tempfile::tempdir().unwrap();
    let folder = old_folder(home.path());
    let outside = home.path().join("outside");
    fs::rename(folder.join("templates"), &outside).unwrap();
    std::os::unix::fs::symlink(&outside, folder.join("templates")).unwrap();
    let before = tree(&outside);
    assert!(matches!(fill(&folder, &new_files(), Others::Remove), Err(FolderFault::NotOurs(_))));
    fill(&folder, &[file("passes.csv", "new passes")], Others::Remove).unwrap();
    assert_eq!(tree(&outside), before);
}

#[test]
fn appending_changes_nothing_that_stands() {
    let home = tempfile::tempdir().unwrap();
    let path = home.path().join("log.toml");
    assert!(Appending::open(&path).unwrap().is_none());
    create(&path, b"one\n").unwrap();
    Appending::open(&path).unwrap().unwrap().append(b"two\n").unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"one\ntwo\n");
    // Somebody wrote in the meantime.
    let open = Appending::open(&path).unwrap().unwrap();
    fs::write(&path, "other\n").unwrap();
    assert!(open.append(b"three\n").is_err());
    assert_eq!(fs::read(&path).unwrap(), b"other\n");
}

#[test]
fn a_fault_while_appending_leaves_what_others_wrote() {
    for n in 1..=3 {
        let home = tempfile::tempdir().unwrap();
        let path = home.path().join("log.toml");
        create(&path, b"one\n").unwrap();
        let open = Appending::open(&path).unwrap().unwrap();
        let result = with_faults(Faults::Nth(n), || open.append(b"two\n"));
        let left = fs::read_to_string(&path).unwrap();
        assert_eq!(left, if result.is_ok() { "one\ntwo\n" } else { "one\n" }, "call {n}");
        assert_eq!(result.is_ok(), n == 3);
    }
}

#[test]
fn what_a_killed_run_left_beside_a_new_file_goes() {
    let home = tempfile::tempdir().unwrap();
    let path = home.path().join("bow.toml");
    fs::write(home.path().join(".bow.toml.partial-12345"), "half").unwrap();
    fs::write(home.path().join(".bow.toml.partial-mine"), "the user's").unwrap();
    for n in 1..6 {
        let result = with_faults(Faults::From(n), || create(&path, b"one"));
        assert!(result.is_err() && !path.exists() || path.exists(), "call {n}");
        let _ = fs::remove_file(&path);
    }
    create(&path, b"one").unwrap();
    assert_eq!(names(home.path()), [".bow.toml.partial-mine", "bow.toml"]);
}

/// Two files that belong together: whichever call fails, both are the old ones or both the new ones, and nothing lies beside them. A killed run may
/// leave its own behind, which the next one sweeps away.
#[test]
fn several_files_are_replaced_all_or_none() {
    let old: [&[u8]; 2] = ["\u{feff}upper, old\r\n".as_bytes(), b"lower, old\n"];
    let plain: [&[u8]; 2] = [b"upper, old\r\n", b"lower, old\n"];
    let written = |home: &Path| -> Vec<PathBuf> {
        ["upper.toml", "lower.toml"]
            .iter()
            .zip(old)
            .map(|(name, text)| {
                let path = home.join(name);
                fs::write(&path, text).unwrap();
                path
            })
            .collect()
    };
    let all = |paths: &[PathBuf]| replace_all(&[(&paths[0], plain[0], b"upper, new"), (&paths[1], plain[1], b"lower, new")]);
    let mut faults = 0;
    for n in 1.. {
        let home = tempfile::tempdir().unwrap();
        let paths = written(home.path());
        let (result, last) = with_faults(Faults::Nth(n), || (all(&paths), calls()));
        let seen: Vec<Vec<u8>> = paths.iter().map(|path| fs::read(path).unwrap()).collect();
        match result {
            Ok(()) => assert_eq!(seen, ["\u{feff}upper, new".as_bytes(), b"lower, new"], "call {n}"),
            Err(fault) => {
                faults += 1;
                assert!(fault.to_string().starts_with("nothing was written"), "call {n}: {fault}");
                assert_eq!(seen, old, "call {n}");
            }
        }
        // What could not be removed at once goes with the next write.
        if names(home.path()).len() != 2 {
            all(&paths).or_else(|_| replace(&paths[0], &seen[0], &seen[0])).unwrap();
        }
        assert_eq!(names(home.path()), ["lower.toml", "upper.toml"], "call {n}");
        if last < n {
            break;
        }
    }
    assert!(6 <= faults, "only {faults} calls failed");
    // The second one moved on meanwhile: neither is written.
    let home = tempfile::tempdir().unwrap();
    let paths = written(home.path());
    fs::write(&paths[1], "lower, edited").unwrap();
    assert!(matches!(all(&paths), Err(FolderFault::NotOurs(moved)) if moved == [paths[1].canonicalize().unwrap()]));
    assert_eq!((fs::read(&paths[0]).unwrap(), fs::read(&paths[1]).unwrap()), (old[0].to_vec(), b"lower, edited".to_vec()));
    assert_eq!(names(home.path()), ["lower.toml", "upper.toml"]);
}
