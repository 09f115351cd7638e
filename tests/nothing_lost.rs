//! Two runs at once, runs that are killed, names and files that are not what they seem: nothing is mixed, nothing is lost, and every
//! message is true.

mod support;

use assert_cmd::Command;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command as Plain, Stdio};
use support::examples::path as example;

fn program() -> Command {
    let mut command = Command::new(assert_cmd::cargo::cargo_bin!("taperwright"));
    command.current_dir(env!("CARGO_MANIFEST_DIR"));
    command
}

fn started(args: &[&str], folder: &Path) -> Child {
    Plain::new(assert_cmd::cargo::cargo_bin!("taperwright"))
        .args(args)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

/// Visible files below a folder; what is under way is in a folder whose name begins with a dot.
fn tree(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let (mut found, mut open) = (BTreeMap::new(), vec![folder.to_owned()]);
    while let Some(here) = open.pop() {
        for entry in fs::read_dir(here).into_iter().flatten().flatten() {
            let path = entry.path();
            if entry.file_name().to_string_lossy().starts_with('.') {
                continue;
            }
            if path.is_dir() {
                open.push(path);
            } else if let Ok(bytes) = fs::read(&path) {
                found.insert(path, bytes);
            }
        }
    }
    found
}

/// Two builds of which every file differs, since each says what made it.
fn two_builds(home: &Path) -> [PathBuf; 2] {
    let text = fs::read_to_string(example("strips.toml")).unwrap();
    ["one", "two"].map(|name| {
        let path = home.join(format!("{name}.toml"));
        fs::write(&path, format!("# {name}\n{text}")).unwrap();
        path
    })
}

/// What `make` alone writes for each of the builds.
fn alone(home: &Path, builds: &[PathBuf; 2]) -> [BTreeMap<PathBuf, Vec<u8>>; 2] {
    [0, 1].map(|k| {
        let out = home.join(format!("alone-{k}"));
        program().arg("-q").arg("make").arg(&builds[k]).arg("--out").arg(&out).assert().code(0);
        tree(&out).into_iter().map(|(path, bytes)| (path.strip_prefix(&out).unwrap().to_owned(), bytes)).collect()
    })
}

fn below(out: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    tree(out).into_iter().map(|(path, bytes)| (path.strip_prefix(out).unwrap().to_owned(), bytes)).collect()
}

#[test]
fn two_makes_of_one_folder_do_not_mix() {
    let home = tempfile::tempdir().unwrap();
    let builds = two_builds(home.path());
    let alone = alone(home.path(), &builds);
    let out = home.path().join("out");
    for _ in 0..6 {
        let runs: Vec<Child> = builds
            .iter()
            .map(|build| started(&["make", &build.to_string_lossy(), "--out", &out.to_string_lossy()], home.path()))
            .collect();
        let ended: Vec<_> = runs.into_iter().map(|run| run.wait_with_output().unwrap()).collect();
        let seen = below(&out);
        let whole = alone.iter().position(|files| *files == seen);
        assert!(whole.is_some(), "the files of two runs are mixed");
        for run in &ended {
            let said = text(&run.stderr);
            assert!(run.status.success() || said.contains("another run is writing to"), "{said}");
        }
        assert!(ended.iter().any(|run| run.status.success()));
    }
}

/// Killed at whatever moment, `make` leaves files of one build only, and the next one finds its way.
#[cfg(unix)]
#[test]
fn a_killed_make_leaves_no_mixture_and_does_not_block_the_next() {
    let home = tempfile::tempdir().unwrap();
    let builds = two_builds(home.path());
    let alone = alone(home.path(), &builds);
    let out = home.path().join("out");
    for round in 0..16_u64 {
        let mut run =
            started(&["make", &builds[(round % 2) as usize].to_string_lossy(), "--out", &out.to_string_lossy()], home.path());
        std::thread::sleep(std::time::Duration::from_millis(7 * round * round % 160));
        let _ = run.kill();
        let _ = run.wait();
        for (path, bytes) in below(&out) {
            let of: Vec<usize> = (0..2).filter(|k| alone[*k].get(&path) == Some(&bytes)).collect();
            assert!(!of.is_empty(), "{} is of neither build", path.display());
        }
        let of = |k: usize| below(&out).iter().all(|(path, bytes)| alone[k].get(path) == Some(bytes));
        assert!(of(0) || of(1), "round {round}: the files of two builds are mixed");
    }
    program().arg("-q").arg("make").arg(&builds[0]).arg("--out").arg(&out).assert().code(0);
    assert_eq!(below(&out), alone[0]);
    assert!(fs::read_dir(&out).unwrap().flatten().all(|entry| !entry.file_name().to_string_lossy().starts_with('.')));
}

/// Readings that many hands add at once are all there in the end, each whole.
#[test]
fn no_acknowledged_reading_is_lost() {
    let home = tempfile::tempdir().unwrap();
    let (build, log) = (example("strips.toml"), home.path().join("log.toml"));
    let (build, log_path) = (build.to_string_lossy().into_owned(), log.to_string_lossy().into_owned());
    let mut acknowledged = 0;
    for round in 0..4 {
        let runs: Vec<Child> = (0..8)
            .map(|k| {
                let across = format!("across=99.{}", 10 + 8 * round + k);
                started(&["-q", "log", "add", &build, &log_path, "print", &across, "up=99.5"], home.path())
            })
            .collect();
        for run in runs {
            let ended = run.wait_with_output().unwrap();
            assert!(ended.status.success(), "{}", text(&ended.stderr));
            acknowledged += 1;
        }
    }
    let written = fs::read_to_string(&log).unwrap();
    assert_eq!(written.matches("[[reading]]").count(), acknowledged);
    for k in 0..32 {
        assert_eq!(written.matches(&format!("99.{}\n", 10 + k)).count(), 1, "{written}");
    }
    assert_eq!(fs::read_dir(home.path()).unwrap().count(), 1, "nothing is left beside the log");
}

/// A file that says a pipe, a device or a folder is its finished bow, or such a thing as the log, is answered at once.
#[cfg(unix)]
#[test]
fn what_never_ends_is_not_read() {
    let home = tempfile::tempdir().unwrap();
    let pipe = home.path().join("pipe.toml");
    assert!(Plain::new("mkfifo").arg(&pipe).status().unwrap().success());
    let meadow = fs::read_to_string(example("meadow.toml")).unwrap();
    for named in ["/dev/zero", "pipe.toml", "."] {
        let file = home.path().join("bow.toml");
        fs::write(&file, format!("{meadow}\n[[calibration]]\nbuild = \"{named}\"\nweight = \"40 lbf\"\n")).unwrap();
        let run = program().arg("bow").arg(&file).timeout(std::time::Duration::from_secs(60)).assert().code(1);
        assert!(text(&run.get_output().stderr).contains("not a plain file"), "{}", text(&run.get_output().stderr));
        let log = home.path().join(named);
        for args in [&["log"][..], &["log", "add"]] {
            let mut command = program();
            command.args(args).arg(example("meadow.toml")).arg(&log).timeout(std::time::Duration::from_secs(60));
            if args.len() == 2 {
                command.args(["print", "across=99", "up=99"]);
            }
            let run = command.assert().code(2);
            assert!(text(&run.get_output().stderr).contains("file"), "{named}");
        }
    }
    let run = program().args(["check", "/dev/zero"]).timeout(std::time::Duration::from_secs(60)).assert().code(2);
    assert!(text(&run.get_output().stderr).contains("more than 8 MB"));
}

/// `make` writes below `output`, whatever the build file is called.
#[test]
fn no_name_leads_out_of_the_folder_or_to_an_empty_one() {
    let home = tempfile::tempdir().unwrap();
    let strips = fs::read_to_string(example("strips.toml")).unwrap();
    for (file, folder) in [
        ("...toml", "unnamed"),
        ("..toml", "unnamed"),
        ("🏹.toml", "bow-and-arrow"),
        ("Weiß.toml", "weiss"),
        ("-", "build"),
        ("my bow_2.toml", "my bow_2"),
    ] {
        let mut command = program();
        command.current_dir(home.path()).args(["-q", "make", file]);
        if file == "-" {
            command.write_stdin(strips.clone());
        } else {
            fs::write(home.path().join(file), &strips).unwrap();
        }
        command.assert().code(0);
        let names: Vec<String> = fs::read_dir(home.path().join("output"))
            .unwrap()
            .flatten()
            .map(|entry| entry.file_name().to_string_lossy().into_owned())
            .collect();
        assert_eq!(names, [folder], "{file}");
        fs::remove_dir_all(home.path().join("output")).unwrap();
    }
    // Names of laminations become names of files.
    let named =
        strips.replacen("name      = \"", "name      = \"Ünïcode 🏹 ", 1).replacen("name = \"", "name = \"Ünïcode 🏹 ", 1);
    assert_ne!(named, strips);
    program().current_dir(home.path()).args(["-q", "make", "-"]).write_stdin(named).assert().code(0);
    for path in tree(&home.path().join("output")).keys() {
        let name = path.file_name().unwrap().to_string_lossy();
        assert!(name.is_ascii() && !name.starts_with('.'), "{name}");
    }
    // `-` is standard input and no file to write.
    for args in
        [&["new", "-"][..], &["make", "examples/strips.toml", "--out", "-"], &["size", "examples/meadow.toml", "--write", "-"]]
    {
        let run = program().args(args).assert().code(2);
        assert!(text(&run.get_output().stderr).contains("standard input"), "{args:?}: {}", text(&run.get_output().stderr));
    }
}

/// Control characters and those that turn the direction of writing show themselves and do nothing.
#[test]
fn nothing_in_a_file_acts_on_the_terminal() {
    let strips = fs::read_to_string(example("strips.toml")).unwrap();
    let acting = "\\u001b]0;x\\u0007\\u001b[2J\\u202e";
    let titled = strips.replacen("title = \"", &format!("title = \"{acting}"), 1);
    let raw = strips.replacen("title = \"", "title = \"\u{202e}\u{2066}", 1) + "\nwrong\u{202e} = 1 # \u{200f}\n";
    assert!(titled != strips);
    let home = tempfile::tempdir().unwrap();
    for file in [titled, raw] {
        for colour in ["always", "never"] {
            for args in [&["check", "-"][..], &["passes", "-"], &["check", "--json", "-"], &["make", "--only", "stack", "-"]] {
                let mut command = program();
                command.current_dir(home.path());
                let run = command.args(["--color", colour]).args(args).write_stdin(file.clone()).assert();
                let shown = format!("{}{}", text(&run.get_output().stdout), text(&run.get_output().stderr));
                let without_colours = if colour == "always" { shown.replace("\u{1b}[", "") } else { shown.clone() };
                let turns = |c: char| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
                let acts = |c: char| turns(c) || c.is_control() && c != '\n' && c != '\t';
                assert!(!without_colours.contains(acts), "{args:?}: {without_colours:?}");
                assert!(!shown.contains("\u{1b}[2J"), "{args:?}");
            }
        }
    }
}
