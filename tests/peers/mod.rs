//! Runs Python scripts that judge our output with general-purpose libraries (ezdxf, shapely, pdfplumber, pikepdf, scipy).
//!
//! The libraries live in a virtual environment under the target folder, made once from `requirements.txt` beside this file;
//! a file lock keeps test binaries that start together from making it twice. Without Python the tests fail and say so.
//! Setting `TAPERWRIGHT_WITHOUT_PEERS` skips them instead, for machines that have no Python or no network.
//!
//! ```no_run
//! mod peers;
//! let Some(answer) = peers::run("dxf_audit.py", &["part.dxf"], "") else { return };
//! ```

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const REQUIREMENTS: &str = include_str!("requirements.txt");
/// Set (to anything but nothing) to skip what needs Python.
const SWITCH: &str = "TAPERWRIGHT_WITHOUT_PEERS";

/// Runs `tests/peers/<script>` with arguments and text on its standard input; gives back its standard output.
///
/// `None` means that peers are switched off, which is printed. A script that fails, or prints to stderr and exits with
/// anything but 0, fails the test with its whole output.
pub fn run(script: &str, args: &[&str], input: &str) -> Option<String> {
    if std::env::var_os(SWITCH).is_some_and(|value| !value.is_empty()) {
        println!("skipped {script}: {SWITCH} is set");
        return None;
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/peers").join(script);
    let mut child = Command::new(python())
        .arg(&path)
        .args(args)
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .env("PYTHONIOENCODING", "utf-8")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap_or_else(|e| panic!("the peers' python does not start: {e}"));
    let mut stdin = child.stdin.take().expect("stdin is piped");
    let input = input.to_owned();
    // On its own thread, so that a script which answers before it has read everything cannot block us.
    let feeder = std::thread::spawn(move || {
        // A script that does not read its input closes the pipe; that is no fault.
        let _ = stdin.write_all(input.as_bytes());
    });
    let output = child.wait_with_output().unwrap_or_else(|e| panic!("{script} cannot be waited for: {e}"));
    feeder.join().expect("the feeding thread ends");
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success(), "{script} failed ({})\n--- stdout\n{out}\n--- stderr\n{err}", output.status);
    Some(out.into_owned())
}

/// The interpreter of the environment, which is made first if it is missing or its requirements have changed.
fn python() -> PathBuf {
    // CARGO_TARGET_TMPDIR is `<target>/tmp`.
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).parent().expect("the temporary folder lies in the target folder");
    let home = target.join("peers-venv");
    let interpreter = if cfg!(windows) { home.join("Scripts/python.exe") } else { home.join("bin/python") };
    let stamp = home.join("requirements-installed.txt");
    fs::create_dir_all(target).expect("the target folder can be made");
    let lock = File::create(target.join("peers-venv.lock")).expect("the lock file can be made");
    lock.lock().expect("the lock can be taken");
    if fs::read_to_string(&stamp).is_ok_and(|installed| installed == REQUIREMENTS) && interpreter.exists() {
        return interpreter;
    }
    let base = ["python3", "python"]
        .into_iter()
        .find(|name| Command::new(name).arg("--version").output().is_ok_and(|o| o.status.success()))
        .unwrap_or_else(|| panic!("python3 is needed to judge the output from outside; install it, or set {SWITCH}=1 to skip"));
    done(Command::new(base).args(["-m", "venv", "--clear"]).arg(&home), "make a virtual environment");
    let list = target.join("peers-requirements.txt");
    fs::write(&list, REQUIREMENTS).expect("the requirements can be written");
    let pip = ["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-r"];
    done(Command::new(&interpreter).args(pip).arg(&list), "install the peers' libraries");
    fs::write(&stamp, REQUIREMENTS).expect("the stamp can be written");
    interpreter
}

fn done(command: &mut Command, what: &str) {
    let output = command.output().unwrap_or_else(|e| panic!("cannot {what}: {e}"));
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "cannot {what} (set {SWITCH}=1 to skip peers):\n{told}");
}
