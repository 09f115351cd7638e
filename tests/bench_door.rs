//! Who may come in at the bench, asked on a raw socket.

mod support;

use std::ffi::OsString;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use support::socket::raw;

struct Bench {
    child: Child,
    host: String,
    token: String,
    folder: tempfile::TempDir,
}

impl Drop for Bench {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn bench() -> Bench {
    bench_with(|_| None)
}

/// With a log, where one is given.
fn bench_with(log: impl FnOnce(&Path) -> Option<PathBuf>) -> Bench {
    bench_given(|folder| log(folder).into_iter().map(PathBuf::into_os_string).collect())
}

/// Two limbs, of files that are alike to begin with.
fn bench_of_two() -> Bench {
    bench_given(|folder| {
        let lower = folder.join("lower.toml");
        std::fs::copy(folder.join("meadow.toml"), &lower).unwrap();
        vec!["--lower".into(), lower.into_os_string()]
    })
}

fn bench_given(words: impl FnOnce(&Path) -> Vec<OsString>) -> Bench {
    let folder = tempfile::tempdir().unwrap();
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/meadow.toml");
    let file = folder.path().join("meadow.toml");
    std::fs::copy(example, &file).unwrap();
    let mut child = Command::new(env!("CARGO_BIN_EXE_taperwright"))
        .args(["bench", "--no-open", "--port", "0"])
        .arg(&file)
        .args(words(folder.path()))
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
    let (host, token) = line.split_once("http://").unwrap().1.trim().split_once("/#").unwrap();
    Bench { host: host.to_owned(), token: token.to_owned(), child, folder }
}

impl Bench {
    fn get(&self, path: &str, headers: &str) -> (u16, String) {
        raw(&self.host, &format!("GET {path} HTTP/1.1\r\nConnection: close\r\n{headers}\r\n"))
    }

    fn post(&self, path: &str, headers: &str, body: &str) -> (u16, String) {
        let length = body.len();
        raw(
            &self.host,
            &format!(
                "POST {path} HTTP/1.1\r\nConnection: close\r\nContent-Type: application/json\r\nContent-Length: {length}\r\n{headers}\r\n{body}"
            ),
        )
    }

    fn ours(&self) -> String {
        format!("Host: {0}\r\nOrigin: http://{0}\r\nTaperwright-Token: {1}\r\n", self.host, self.token)
    }

    fn text(&self) -> Vec<u8> {
        std::fs::read(self.folder.path().join("meadow.toml")).unwrap()
    }
}

#[test]
fn another_host_origin_or_token_gets_nothing() {
    let bench = bench();
    let (host, token) = (&bench.host, &bench.token);
    let key = format!("Taperwright-Token: {token}\r\n");
    let port = host.split(':').nth(1).unwrap();
    // A name that resolves here is another host, even with the token.
    for other in ["evil.example".to_owned(), format!("localhost:{port}"), "127.0.0.1".into(), format!("evil.example:{port}")] {
        for path in ["/", "/state"] {
            let (status, answer) = bench.get(path, &format!("Host: {other}\r\n{key}"));
            assert_eq!(status, 403, "{other} {path}: {answer}");
            assert!(!answer.contains("Meadow") && !answer.contains("<html"), "{answer}");
        }
    }
    assert_eq!(bench.get("/", &format!("Host: {host}\r\nHost: evil.example\r\n")).0 / 100, 4);
    for origin in ["http://evil.example", "null", "https://evil.example", &format!("http://localhost:{port}")] {
        assert_eq!(bench.get("/state", &format!("Host: {host}\r\nOrigin: {origin}\r\n{key}")).0, 403, "{origin}");
        assert_eq!(bench.post("/look", &format!("Host: {host}\r\nOrigin: {origin}\r\n{key}"), "{}").0, 403, "{origin}");
    }
    // What asks for more than reading says which page asks.
    assert_eq!(bench.post("/look", &format!("Host: {host}\r\n{key}"), "{}").0, 403);
    let wrong = format!("{}{}", &token[..31], if token.ends_with('0') { '1' } else { '0' });
    for key in ["".to_owned(), "Taperwright-Token: \r\n".into(), format!("Taperwright-Token: {wrong}\r\n"), format!("{key}{key}")]
    {
        for path in ["/state", "/events", "/file/0"] {
            assert_eq!(bench.get(path, &format!("Host: {host}\r\n{key}")).0, 403, "{path} {key}");
        }
    }
    // Never in an address.
    assert_eq!(bench.get(&format!("/state?token={token}"), &format!("Host: {host}\r\n")).0, 403);
    assert_eq!(bench.get("/state", &bench.ours()).0, 200);
}

#[test]
fn every_answer_says_what_a_browser_may_do_with_it() {
    let bench = bench();
    let host = format!("Host: {}\r\n", bench.host);
    let read = ["/", "/bench.js", "/reader", "/reader?3", "/state"].map(|path| (path, host.clone()));
    for (path, headers) in read.into_iter().chain([("/state", bench.ours())]) {
        let answer = bench.get(path, &headers).1.to_lowercase();
        for wanted in [
            "content-security-policy: default-src 'none'",
            "frame-ancestors 'none'",
            "x-content-type-options: nosniff",
            "referrer-policy: no-referrer",
            "cache-control: no-store",
        ] {
            assert!(answer.contains(wanted), "{path}: {wanted} is not in\n{answer}");
        }
        assert!(!answer.contains("access-control-"), "{path}");
        // Nothing runs that is not ours; the reader also lets in the one script that books carry, by its hash, and only the reader lets in a style that stands in what it shows.
        let scripts = if path.starts_with("/reader") { "script-src 'self' 'sha256-" } else { "script-src 'self';" };
        assert!(!answer.contains("unsafe-eval") && answer.contains(scripts), "{path}");
        assert_eq!(answer.contains("unsafe-inline"), path.starts_with("/reader"), "{path}");
    }
    let preflight = format!("OPTIONS /keep HTTP/1.1\r\n{host}Origin: http://evil.example\r\nConnection: close\r\n\r\n");
    let (status, answer) = raw(&bench.host, &preflight);
    assert!(status == 403 && !answer.to_lowercase().contains("access-control-"), "{answer}");
}

#[test]
fn what_is_too_large_or_too_slow_ends_cleanly_and_leaves_the_rest_working() {
    let bench = bench();
    let large = format!("{{\"name\": \"{}\"}}", "x".repeat(300 * 1024));
    let (status, _) = bench.post("/aside", &bench.ours(), &large);
    assert!(status == 413 || status == 0, "{status}");
    for body in ["{", "{\"path\": \"/etc/passwd\"}", "{\"changes\": [{\"key\": 1}]}"] {
        assert_eq!(bench.post("/look", &bench.ours(), body).0 / 100, 4, "{body}");
    }
    // A head that never ends is not waited for; meanwhile others are answered.
    let mut slow = TcpStream::connect(&bench.host).unwrap();
    slow.write_all(b"GET / HTTP/1.1\r\n").unwrap();
    assert_eq!(bench.get("/state", &bench.ours()).0, 200);
    slow.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    let mut answer = Vec::new();
    let closed = slow.read_to_end(&mut answer);
    assert!(closed.is_ok() && !answer.starts_with(b"HTTP/1.1 200"), "{closed:?}");
    assert_eq!(bench.get("/state", &bench.ours()).0, 200);
}

#[test]
fn no_request_names_a_path() {
    let bench = bench();
    for path in ["/../Cargo.toml", "/file/..%2f..%2fCargo.toml", "/file/meadow.toml", "/meadow.toml", "/%2e%2e/meadow.toml"] {
        let (status, answer) = bench.get(path, &bench.ours());
        assert!(status / 100 == 4 && !answer.contains("draw_weight"), "{path}: {answer}");
    }
    // A bow that has a file is given no second one, wherever the name points.
    assert_eq!(bench.post("/name", &bench.ours(), "{\"name\": \"../../elsewhere\"}").0, 409);
}

/// `bench FILE [LOG]`: the log is the one that was named, or the one beside the file.
#[test]
fn the_desk_says_which_log_it_has() {
    let log = |bench: &Bench| {
        let state = bench.get("/state", &bench.ours()).1;
        state.split("\"log\":").nth(1).unwrap().split([',', '}']).next().unwrap().to_owned()
    };
    let alone = bench();
    assert_eq!(log(&alone), "null");
    std::fs::write(alone.folder.path().join("meadow-log.toml"), "").unwrap();
    assert_eq!(log(&alone), "\"meadow-log.toml\"");
    let named = bench_with(|folder| {
        std::fs::create_dir(folder.join("logs")).unwrap();
        std::fs::write(folder.join("logs/mine.toml"), "").unwrap();
        Some(folder.join("logs/mine.toml"))
    });
    assert_eq!(log(&named), "\"mine.toml\"");
    // One that is begun with its first reading is no fault; what is no plain file, or lies in no folder, is.
    assert_eq!(log(&bench_with(|folder| Some(folder.join("later.toml")))), "null");
    for (log, why) in [(".", "not a plain file"), ("nowhere/log.toml", "nowhere")] {
        let folder = tempfile::tempdir().unwrap();
        let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/meadow.toml");
        let ended = Command::new(env!("CARGO_BIN_EXE_taperwright"))
            .current_dir(folder.path())
            .args(["bench", "--no-open"])
            .arg(example)
            .arg(log)
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&ended.stderr);
        assert!(ended.status.code() == Some(2) && told.contains(why), "{told}");
    }
}

#[test]
fn a_keep_names_what_was_read() {
    let bench = bench();
    let before = bench.text();
    let thinner = "{\"changes\": [{\"key\": \"lamination[0].thickness\", \"value\": \"0.165\"}]}";
    for named in ["", "If-Match: \"0000000000000000\"\r\n", "If-Match: *\r\n"] {
        assert_eq!(bench.post("/keep", &format!("{}{named}", bench.ours()), thinner).0, 412, "{named}");
        assert_eq!(bench.text(), before);
    }
    let state = bench.get("/state", &bench.ours()).1;
    let hash = state.split("\"hash\":\"").nth(1).unwrap().split('"').next().unwrap().to_owned();
    // Changed by its builder a moment ago, before anyone looked.
    std::fs::write(bench.folder.path().join("meadow.toml"), [&before[..], b"# mine\n"].concat()).unwrap();
    let named = format!("{}If-Match: \"{hash}\"\r\n", bench.ours());
    assert_eq!(bench.post("/keep", &named, thinner).0, 412);
    assert!(bench.text().ends_with(b"# mine\n"));
}

/// Of two files both hashes are named; one of them moved, and neither is written. No request says which file is which.
#[test]
fn a_keep_of_two_limbs_names_both_files() {
    let bench = bench_of_two();
    let texts = || ["meadow.toml", "lower.toml"].map(|name| std::fs::read_to_string(bench.folder.path().join(name)).unwrap());
    let before = texts();
    let change = |key: &str, value: &str| format!("{{\"key\": \"{key}\", \"value\": \"{value}\"}}");
    let both = format!(
        "{{\"changes\": [{}, {}]}}",
        change("lamination[back].thickness", "0.165"),
        change("lower:lamination[back].thickness", "0.155")
    );
    let hash = || {
        let state = bench.get("/state", &bench.ours()).1;
        state.split("\"hash\":\"").nth(1).unwrap().split('"').next().unwrap().to_owned()
    };
    let read = hash();
    let (upper, lower) = read.split_once('-').expect("two hashes");
    let keep = |hash: &str| bench.post("/keep", &format!("{}If-Match: \"{hash}\"\r\n", bench.ours()), &both);
    for named in [upper.to_owned(), lower.to_owned(), format!("{lower}-"), format!("{upper}-0000000000000000"), String::new()] {
        assert_eq!(keep(&named).0, 412, "{named}");
        assert_eq!(texts(), before, "{named}");
    }
    // Either of them changed a moment ago, before anyone looked.
    for name in ["meadow.toml", "lower.toml"] {
        let path = bench.folder.path().join(name);
        let was = std::fs::read_to_string(&path).unwrap();
        let read = hash();
        std::fs::write(&path, format!("{was}# mine\n")).unwrap();
        let moved = texts();
        assert_eq!(keep(&read).0, 412, "{name}");
        assert_eq!(texts(), moved, "{name}");
    }
    let moved = texts();
    assert_eq!(keep(&hash()).0, 200);
    let thinner = |text: &str, thickness: &str| text.replacen("thickness = 0.170", &format!("thickness = {thickness}"), 1);
    assert_eq!(texts(), [thinner(&moved[0], "0.165"), thinner(&moved[1], "0.155")]);
    // Taken back with what was read before the keep: refused; with what is read now: both as they were, to the byte.
    let take_back = |hash: &str| bench.post("/take-back", &format!("{}If-Match: \"{hash}\"\r\n", bench.ours()), "{}").0;
    assert_eq!(take_back(&read), 412);
    assert_eq!(take_back(&hash()), 200);
    assert_eq!(texts(), moved);
    // A keep of one limb is taken back in its file alone: what was written into the other one meanwhile stays.
    let thicker = format!("{{\"changes\": [{}]}}", change("lower:lamination[back].thickness", "0.180"));
    assert_eq!(bench.post("/keep", &format!("{}If-Match: \"{}\"\r\n", bench.ours(), hash()), &thicker).0, 200);
    std::fs::write(bench.folder.path().join("meadow.toml"), format!("{}# later\n", moved[0])).unwrap();
    assert_eq!(texts()[1], thinner(&moved[1], "0.180"));
    let before = hash();
    while take_back(&before) == 412 && take_back(&hash()) == 412 {
        std::thread::sleep(Duration::from_millis(100));
    }
    assert_eq!(texts(), [format!("{}# later\n", moved[0]), moved[1].clone()]);
    // A file is no lever of the page, and a bow of two files is given no third one.
    for (path, body) in [("/look", "{\"lower\": \"/etc/passwd\"}"), ("/look", "{\"files\": [\"a.toml\"]}")] {
        assert_eq!(bench.post(path, &bench.ours(), body).0 / 100, 4, "{body}");
    }
    assert_eq!(bench.post("/name", &bench.ours(), "{\"name\": \"third\"}").0, 409);
    assert_eq!(bench.get("/lower.toml", &bench.ours()).0 / 100, 4);
}

/// What is said of a figure that cannot be drawn with two limbs, and of a series.
#[test]
fn what_two_limbs_cannot_be_asked_is_said() {
    let bench = bench_of_two();
    let (status, answer) = bench.post("/ease", &bench.ours(), "{\"percent\": 80, \"by\": \"longer\"}");
    assert!(status == 200 && answer.contains("\"changes\":null") && answer.contains("With two different limbs"), "{answer}");
    let (status, answer) = bench.post("/series-bow", &bench.ours(), "{\"weight\": \"40 lbf\"}");
    assert!(status == 409 && answer.contains("limbs are alike"), "{answer}");
    // A lever of what must be one moves both; of a limb that is not shown, its own.
    let look = |changes: &str, limb: &str| {
        let (status, answer) = bench.post("/look", &bench.ours(), &format!("{{\"changes\": [{changes}], \"limb\": \"{limb}\"}}"));
        assert_eq!(status, 200, "{answer}");
        answer.split("\"weight\":{").nth(1).unwrap().split("\"text\":\"").nth(1).unwrap().split('"').next().unwrap().to_owned()
    };
    let as_filed = look("", "upper");
    assert_eq!(look("", "lower"), as_filed);
    let brace = "{\"key\": \"target.brace_height\", \"value\": \"6.75\"}";
    assert_ne!(look(brace, "upper"), as_filed);
    let pounds = |text: &str| text.strip_suffix(" lbf").unwrap().parse::<f64>().unwrap();
    let thinner = |key: &str| pounds(&look(&format!("{{\"key\": \"{key}\", \"value\": \"0.150\"}}"), "upper"));
    let (upper, lower) = (thinner("lamination[back].thickness"), thinner("lower:lamination[back].thickness"));
    // Not quite the same: the pivot lies behind the upper limb's stack.
    assert!(upper < pounds(&as_filed) - 1.0 && (upper - lower).abs() < 0.25, "{upper} and {lower} of {as_filed}");
    // A key of one file that the other's lever moves is no second try of its own.
    let (status, answer) =
        bench.post("/look", &bench.ours(), "{\"changes\": [{\"key\": \"lower:no.such.key\", \"value\": \"1\"}]}");
    assert!(status == 422 && answer.contains("lower limb, lower.toml"), "{answer}");
}
