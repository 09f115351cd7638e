//! Who may come in from the shop's network, asked on raw sockets of both addresses: a phone reads and adds to the log, and that is all.

mod support;

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;
use support::socket::raw;
use taperwright::serve::{self, Opened, Times, shop};

struct Bench {
    child: Option<Child>,
    desk: String,
    token: String,
    shop: String,
    folder: tempfile::TempDir,
}

impl Drop for Bench {
    fn drop(&mut self) {
        if let Some(child) = &mut self.child {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}

fn with_example() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("meadow.toml");
    std::fs::copy(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/meadow.toml"), &file).unwrap();
    (folder, file)
}

fn of_address(address: &str) -> &str {
    address.split_once("http://").unwrap().1.split([',', ' ', '\n']).next().unwrap()
}

fn bench() -> Bench {
    let (folder, file) = with_example();
    let mut child = Command::new(env!("CARGO_BIN_EXE_taperwright"))
        .args(["bench", "--no-open", "--port", "0", "--shop", "127.0.0.2"])
        .arg(&file)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.as_mut().unwrap()).lines();
    let (desk, shop) = (lines.next().unwrap().unwrap(), lines.next().unwrap().unwrap());
    let (desk, token) = of_address(&desk).split_once("/#").unwrap();
    let (desk, token, shop) = (desk.to_owned(), token.to_owned(), of_address(&shop).to_owned());
    Bench { desk, token, shop, child: Some(child), folder }
}

fn get(to: &str, path: &str, headers: &str) -> (u16, String) {
    raw(to, &format!("GET {path} HTTP/1.1\r\nConnection: close\r\n{headers}\r\n"))
}

fn post(to: &str, path: &str, headers: &str, body: &str) -> (u16, String) {
    let head = format!("Connection: close\r\nContent-Type: application/json\r\nContent-Length: {}\r\n{headers}", body.len());
    raw(to, &format!("POST {path} HTTP/1.1\r\n{head}\r\n{body}"))
}

/// What a page of this address sends with a token.
fn page(host: &str, token: &str) -> String {
    format!("Host: {host}\r\nOrigin: http://{host}\r\nTaperwright-Token: {token}\r\n")
}

fn value<'a>(answer: &'a str, key: &str) -> &'a str {
    answer.split(&format!("\"{key}\":\"")).nth(1).unwrap_or_else(|| panic!("no {key} in {answer}")).split('"').next().unwrap()
}

impl Bench {
    fn at_desk(&self) -> String {
        page(&self.desk, &self.token)
    }

    fn code(&self) -> String {
        let (status, answer) = post(&self.desk, "/phone-code", &self.at_desk(), "{}");
        assert_eq!(status, 200, "{answer}");
        let address = value(&answer, "address").to_owned();
        let (host, code) = address.split_once("/#").unwrap();
        assert_eq!(host, format!("http://{}", self.shop));
        assert!(code.len() == 32 && code.bytes().all(|byte| byte.is_ascii_hexdigit()), "{code}");
        code.to_owned()
    }

    fn bring(&self, code: &str) -> (u16, String) {
        post(&self.shop, "/pair", &page(&self.shop, ""), &format!("{{\"code\": \"{code}\"}}"))
    }

    fn phone(&self) -> String {
        let (status, answer) = self.bring(&self.code());
        assert_eq!(status, 200, "{answer}");
        value(&answer, "token").to_owned()
    }

    fn log(&self) -> String {
        std::fs::read_to_string(self.folder.path().join("meadow-log.toml")).unwrap_or_default()
    }

    fn is_untouched(&self) {
        let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/meadow.toml");
        assert_eq!(std::fs::read(self.folder.path().join("meadow.toml")).unwrap(), std::fs::read(example).unwrap());
        let mut names: Vec<String> = std::fs::read_dir(self.folder.path())
            .unwrap()
            .map(|found| found.unwrap().file_name().into_string().unwrap())
            .collect();
        names.retain(|name| name != "meadow-log.toml");
        assert_eq!(names, ["meadow.toml"]);
    }
}

const SHEET: &str = r#"{"key": "KEY", "of": "sheet", "keys": [["thickness", ["0.235", "0.2365"]]]}"#;

fn sheet(key: &str) -> String {
    SHEET.replace("KEY", key)
}

/// Nothing listens beyond this machine's own address unless it is asked to.
#[test]
fn off_by_default() {
    let (_folder, file) = with_example();
    let mut child = Command::new(env!("CARGO_BIN_EXE_taperwright"))
        .args(["bench", "--no-open"])
        .arg(&file)
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.as_mut().unwrap()).lines();
    let (desk, next) = (lines.next().unwrap().unwrap(), lines.next().unwrap().unwrap());
    let (desk, token) = of_address(&desk).split_once("/#").unwrap();
    assert!(next.starts_with("end it"), "{next}");
    let (status, answer) = post(desk, "/phone-code", &page(desk, token), "{}");
    assert!(status == 409 && answer.contains("--shop"), "{answer}");
    let port: u16 = desk.split(':').nth(1).unwrap().parse().unwrap();
    let elsewhere = SocketAddr::from(([127, 0, 0, 2], port));
    assert!(TcpStream::connect_timeout(&elsewhere, Duration::from_secs(1)).is_err());
    let _ = child.kill();
    let _ = child.wait();
}

/// One address of one's own network, and a plain name for it.
#[test]
fn the_address_is_the_shops_own() {
    for fits in [
        "192.168.1.20",
        "192.168.1.20:8040",
        "10.0.0.4",
        "172.16.0.9:80",
        "127.0.0.2",
        "169.254.3.4",
        "[fd00::7]:8040",
        "fd00::7",
    ] {
        assert!(shop::address(fits).is_ok(), "{fits}: {:?}", shop::address(fits));
    }
    for not in [
        "0.0.0.0",
        "::",
        "[::]:80",
        "8.8.8.8",
        "203.0.113.9:8040",
        "172.32.0.1",
        "224.0.0.1",
        "255.255.255.255",
        "2001:db8::1",
        "bench.lan",
        "",
    ] {
        assert!(shop::address(not).is_err(), "{not}");
    }
    for fits in ["bench.lan", "bench", "my-bench.shop.test"] {
        assert!(shop::name(fits).is_ok(), "{fits}");
    }
    for not in ["", "bench.lan:80", "bench lan", "b/x", "192.168.1.20", "-x", "x-", "a..b", "bench.lan\r\nX: y", "Bench.lan"] {
        assert!(shop::name(not).is_err(), "{not}");
    }
    let ended = |address: &str| {
        let (_folder, file) = with_example();
        let ended = Command::new(env!("CARGO_BIN_EXE_taperwright"))
            .args(["bench", "--no-open", "--shop", address])
            .arg(&file)
            .output()
            .unwrap();
        (ended.status.code(), String::from_utf8_lossy(&ended.stderr).into_owned())
    };
    let (code, told) = ended("0.0.0.0");
    assert!(code == Some(2) && told.contains("every network"), "{told}");
    let (code, told) = ended("10.255.254.253");
    assert!(code == Some(2) && told.contains("no such address"), "{told}");
}

#[test]
fn a_code_works_once_and_the_newest_alone() {
    let bench = bench();
    for wrong in ["", "0", &"0".repeat(32)] {
        assert_eq!(bench.bring(wrong).0, 403, "{wrong}");
    }
    let (old, code) = (bench.code(), bench.code());
    assert_eq!(bench.bring(&old).0, 403, "a newer code took its place");
    // Another origin, host or none brings it in vain, and does not use it up.
    let body = format!("{{\"code\": \"{code}\"}}");
    for headers in [
        format!("Host: {0}\r\n", bench.shop),
        format!("Host: {0}\r\nOrigin: http://evil.example\r\n", bench.shop),
        format!("Host: evil.example\r\nOrigin: http://{0}\r\n", bench.shop),
        format!("Host: {0}\r\nOrigin: http://{0}\r\n", bench.desk),
    ] {
        assert_eq!(post(&bench.shop, "/pair", &headers, &body).0, 403, "{headers}");
    }
    // A code is no token, and no address carries it.
    assert_eq!(get(&bench.shop, "/shop", &page(&bench.shop, &code)).0, 403);
    assert_eq!(get(&bench.shop, &format!("/pair?code={code}"), &page(&bench.shop, "")).0, 403);
    assert_eq!(bench.bring(&code).0, 200);
    assert_eq!(bench.bring(&code).0, 403, "used up");
    assert!(get(&bench.desk, "/phones", &bench.at_desk()).1.contains("\"number\":1"));
    // Nobody but the desk shows codes, lists phones or shuts one out.
    for headers in [page(&bench.desk, ""), page(&bench.desk, &bench.phone()), format!("Host: {}\r\n", bench.desk)] {
        assert_eq!(post(&bench.desk, "/phone-code", &headers, "{}").0, 403);
        assert_eq!(post(&bench.desk, "/shut-out", &headers, "{\"number\": 1}").0, 403);
        assert_eq!(get(&bench.desk, "/phones", &headers).0, 403);
    }
}

#[test]
fn another_host_origin_or_token_gets_nothing_from_the_shop() {
    let bench = bench();
    let (shop, token) = (&bench.shop, bench.phone());
    let key = format!("Taperwright-Token: {token}\r\n");
    let port = shop.split(':').nth(1).unwrap();
    for other in [
        "evil.example".to_owned(),
        format!("localhost:{port}"),
        "127.0.0.2".into(),
        format!("127.0.0.1:{port}"),
        bench.desk.clone(),
    ] {
        for path in ["/", "/shop", "/shop.js"] {
            let (status, answer) = get(shop, path, &format!("Host: {other}\r\n{key}"));
            assert!(status == 403 && !answer.contains("Meadow") && !answer.contains("<html"), "{other} {path}: {answer}");
        }
    }
    assert_eq!(get(shop, "/", &format!("Host: {shop}\r\nHost: evil.example\r\n")).0 / 100, 4);
    for origin in ["http://evil.example", "null", &format!("http://{}", bench.desk), &format!("https://{shop}")] {
        assert_eq!(get(shop, "/shop", &format!("Host: {shop}\r\nOrigin: {origin}\r\n{key}")).0, 403, "{origin}");
        assert_eq!(post(shop, "/reading", &format!("Host: {shop}\r\nOrigin: {origin}\r\n{key}"), &sheet("a")).0, 403, "{origin}");
    }
    assert_eq!(post(shop, "/reading", &format!("Host: {shop}\r\n{key}"), &sheet("a")).0, 403, "no origin");
    let wrong = format!("{}{}", &token[..31], if token.ends_with('0') { '1' } else { '0' });
    for key in [String::new(), "Taperwright-Token: \r\n".into(), format!("Taperwright-Token: {wrong}\r\n"), format!("{key}{key}")]
    {
        for path in ["/shop", "/events"] {
            assert_eq!(get(shop, path, &format!("Host: {shop}\r\n{key}")).0, 403, "{path} {key}");
        }
        assert_eq!(post(shop, "/reading", &format!("Host: {shop}\r\nOrigin: http://{shop}\r\n{key}"), &sheet("a")).0, 403);
    }
    assert_eq!(get(shop, &format!("/shop?token={token}"), &format!("Host: {shop}\r\n")).0, 403);
    let (status, answer) = get(shop, "/shop", &page(shop, &token));
    assert!(status == 200 && answer.contains("Meadow"), "{answer}");
    assert_eq!(bench.log(), "");
    // Every answer says what a browser may do with it, and none shares it with others.
    for (path, headers) in
        [("/", format!("Host: {shop}\r\n")), ("/shop", format!("Host: {shop}\r\n")), ("/shop", page(shop, &token))]
    {
        let answer = get(shop, path, &headers).1.to_lowercase();
        for wanted in
            ["content-security-policy: default-src 'none'", "frame-ancestors 'none'", "nosniff", "no-referrer", "no-store"]
        {
            assert!(answer.contains(wanted), "{path}: {wanted} is not in\n{answer}");
        }
        assert!(!answer.contains("access-control-"), "{path}");
    }
}

/// What opens one door is no key to the other.
#[test]
fn each_token_opens_its_own_door() {
    let bench = bench();
    let token = bench.phone();
    for (door, token) in [(&bench.shop, &bench.token), (&bench.desk, &token)] {
        for path in ["/shop", "/events", "/state"] {
            assert_eq!(get(door, path, &page(door, token)).0, 403, "{door} {path}");
        }
        assert_eq!(post(door, "/reading", &page(door, token), &sheet("a")).0, 403);
        assert_eq!(post(door, "/try-reading", &page(door, token), &sheet("a")).0, 403);
        assert_eq!(post(door, "/keep", &page(door, token), "{}").0, 403);
    }
    assert_eq!(bench.log(), "");
}

/// A phone reads and adds to the log. The build file, tries, files made, codes and other phones are not there for it.
#[test]
fn a_phone_has_the_log_and_nothing_else() {
    let bench = bench();
    let headers = page(&bench.shop, &bench.phone());
    let thinner = r#"{"changes": [{"key": "lamination[0].thickness", "value": "0.165"}]}"#;
    for path in [
        "/keep",
        "/take-back",
        "/look",
        "/whole",
        "/glue",
        "/lines",
        "/solve",
        "/ease",
        "/aside",
        "/drop-aside",
        "/name",
        "/make",
        "/begin",
        "/begin-with",
        "/phone-code",
        "/shut-out",
        "/../keep",
        "//keep",
    ] {
        for body in ["{}", thinner, "{\"number\": 1}", "{\"name\": \"meadow\"}"] {
            let (status, answer) = post(&bench.shop, path, &format!("{headers}If-Match: \"*\"\r\n"), body);
            assert!(matches!(status, 404 | 405), "{path} {body}: {answer}");
        }
    }
    for path in [
        "/state",
        "/file/0",
        "/phones",
        "/bench.html",
        "/bench.js",
        "/pairing.js",
        "/meadow.toml",
        "/meadow-log.toml",
        "/..%2fmeadow.toml",
    ] {
        let (status, answer) = get(&bench.shop, path, &headers);
        assert!(matches!(status, 404 | 405) && !answer.contains("draw_weight"), "{path}: {answer}");
    }
    for method in ["PUT", "DELETE", "PATCH", "OPTIONS"] {
        let (status, answer) =
            raw(&bench.shop, &format!("{method} /reading HTTP/1.1\r\nConnection: close\r\nContent-Length: 0\r\n{headers}\r\n"));
        assert!(status / 100 == 4, "{method}: {answer}");
    }
    bench.is_untouched();
    let (status, answer) = post(&bench.shop, "/reading", &headers, &sheet("a"));
    assert_eq!(status, 200, "{answer}");
    assert!(bench.log().ends_with("of        = \"sheet\"\nthickness = [0.235, 0.2365]\n"), "{}", bench.log());
    bench.is_untouched();
}

/// A reading that names a file would have it read.
#[test]
fn no_reading_names_a_path_or_writes_more_than_itself() {
    let bench = bench();
    let headers = page(&bench.shop, &bench.phone());
    let send =
        |keys: &str| post(&bench.shop, "/reading", &headers, &format!("{{\"key\": \"k\", \"of\": \"bow\", \"keys\": {keys}}}"));
    for build in ["/etc/passwd", "../meadow.toml", "meadow.toml"] {
        for key in ["build", " build "] {
            let (status, answer) = send(&format!("[[\"weight\", \"40\"], [\"{key}\", \"{build}\"]]"));
            assert!(status == 422 && answer.contains("log add") && !answer.contains("root:"), "{answer}");
        }
    }
    for keys in [
        r#"[["weight", "40\n[[reading]]\nof = \"bow\""]]"#,
        r#"[["weight = 40 #", "40"]]"#,
        r#"[["weight", "40"], ["weight", "41"]]"#,
        r#"[["weight", "40 # x"]]"#,
        r#"[["weight", "{ a = 1 }"]]"#,
        r#"[["weight", "40"], ["date", "2020-01-01"]]"#,
        r#"[["weight", "40"], ["of", "sheet"]]"#,
        r#"[]"#,
        r#""no list""#,
    ] {
        let (status, answer) = send(keys);
        assert!(status / 100 == 4, "{keys}: {answer}");
        assert_eq!(bench.log(), "", "{keys}");
    }
    for body in ["{", "[]", r#"{"key": "k", "of": "bow", "keys": [], "path": "/etc/passwd"}"#, r#"{"of": "bow", "keys": []}"#] {
        assert_eq!(post(&bench.shop, "/reading", &headers, body).0 / 100, 4, "{body}");
    }
    for date in ["2026-13-01", "yesterday", "2026-11-20\\n[[reading]]"] {
        let body = format!("{{\"key\": \"k\", \"of\": \"bow\", \"keys\": [[\"weight\", \"40\"]], \"date\": \"{date}\"}}");
        assert_eq!(post(&bench.shop, "/reading", &headers, &body).0 / 100, 4, "{date}");
    }
    assert_eq!(bench.log(), "");
    bench.is_untouched();
}

/// The places show the bow that was read last: its own passes, ticks and strips, and its number for the next reading.
#[test]
fn a_phone_works_on_the_bow_that_was_read_last() {
    let bench = bench();
    let headers = page(&bench.shop, &bench.phone());
    let send = |key: &str, keys: &str| {
        let body = format!("{{\"key\": \"{key}\", \"of\": \"done\", \"keys\": [[\"lamination\", \"core\"], {keys}]}}");
        let (status, answer) = post(&bench.shop, "/reading", &headers, &body);
        assert_eq!(status, 200, "{answer}");
        serde_json::from_str::<serde_json::Value>(answer.split("\r\n\r\n").nth(1).unwrap()).unwrap()["shop"].clone()
    };
    let made = |shop: &serde_json::Value| {
        let core = shop["laminations"].as_array().unwrap().iter().find(|of| of["name"] == "core").unwrap().clone();
        (core["made"].clone(), core["strips"].clone())
    };
    let shop = send("a", "[\"pass\", \"5\"]");
    assert_eq!((shop["serial"].as_str(), made(&shop).0), (Some(""), 5.into()));
    let shop = send("b", "[\"serial\", \"12\"], [\"strip\", \"left\"], [\"pass\", \"3\"]");
    assert_eq!(shop["serial"], "12");
    // The pair goes through side by side; the passes of the other bow are none of this one's.
    assert_eq!(made(&shop), (3.into(), serde_json::json!(["A", "left"])));
    let shop = send("c", "[\"serial\", \"13\"], [\"pass\", \"2\"]");
    assert_eq!(
        (shop["serials"].clone(), made(&shop)),
        (serde_json::json!(["13", "12"]), (2.into(), serde_json::json!(["A", "B"])))
    );
    let log = bench.log();
    assert!(log.contains("serial     = 12") && log.contains("serial     = 13"), "{log}");
}

/// The same key is the same reading; one that is sent again to a program that never heard of its key is looked for in the log.
#[test]
fn a_reading_is_written_once() {
    let bench = bench();
    let headers = page(&bench.shop, &bench.phone());
    let send = |body: &str| {
        let (status, answer) = post(&bench.shop, "/reading", &headers, body);
        assert_eq!(status, 200, "{answer}");
        answer.split("\r\n\r\n").nth(1).unwrap_or_default().to_owned()
    };
    let count = || bench.log().matches("[[reading]]").count();
    let first = send(&sheet("a"));
    assert_eq!(send(&sheet("a")), first);
    assert_eq!(count(), 1);
    let again = |key: &str| sheet(key).replace("\"keys\"", "\"again\": true, \"keys\"");
    assert!(send(&again("b")).contains("sheet"));
    assert_eq!(count(), 1, "it stands there already");
    // Read twice alike: two readings.
    send(&sheet("c"));
    assert_eq!(count(), 2);
    // Typed yesterday, sent today.
    send(&sheet("d").replace("\"keys\"", "\"ago_s\": 86400, \"keys\""));
    let log = bench.log();
    let dates: Vec<&str> = log.lines().filter(|line| line.starts_with("date")).collect();
    assert!(dates.len() == 3 && dates[2] < dates[1], "{dates:?}");
    // The desk's page writes by the same way.
    assert_eq!(post(&bench.desk, "/reading", &bench.at_desk(), &sheet("e")).0, 200);
    assert_eq!(count(), 4);
}

#[test]
fn a_phone_that_is_shut_out_gets_nothing_and_its_streams_end() {
    let bench = bench();
    let (one, other) = (bench.phone(), bench.phone());
    let headers = page(&bench.shop, &one);
    let mut stream = TcpStream::connect(&bench.shop).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    stream.write_all(format!("GET /events HTTP/1.1\r\nConnection: close\r\n{headers}\r\n").as_bytes()).unwrap();
    let mut reader = BufReader::new(stream);
    let mut line = String::new();
    while !line.contains("open") {
        line.clear();
        assert_ne!(reader.read_line(&mut line).unwrap(), 0);
    }
    assert_eq!(post(&bench.desk, "/shut-out", &bench.at_desk(), "{\"number\": 1}").0, 200);
    let mut rest = String::new();
    reader.read_to_string(&mut rest).unwrap();
    assert_eq!(get(&bench.shop, "/shop", &headers).0, 403);
    assert_eq!(post(&bench.shop, "/reading", &headers, &sheet("a")).0, 403);
    assert_eq!(get(&bench.shop, "/shop", &page(&bench.shop, &other)).0, 200);
    let listed = get(&bench.desk, "/phones", &bench.at_desk()).1;
    assert!(!listed.contains("\"number\":1,") && listed.contains("\"number\":2,"), "{listed}");
}

/// Large, slow and many requests end cleanly; neither other phones nor the desk wait for them.
#[test]
fn what_is_too_large_too_slow_or_too_many_leaves_the_rest_working() {
    let bench = bench();
    let headers = page(&bench.shop, &bench.phone());
    let large = format!("{{\"key\": \"{}\"}}", "x".repeat(20 * 1024));
    let (status, _) = post(&bench.shop, "/reading", &headers, &large);
    assert!(status == 413 || status == 0, "{status}");
    let wide = format!("{{\"key\": \"k\", \"of\": \"bow\", \"keys\": [[\"weight\", \"{}\"]]}}", "4".repeat(300));
    assert_eq!(post(&bench.shop, "/reading", &headers, &wide).0 / 100, 4);
    // One machine holds what it is given of connections, and gets no more; the desk does not notice.
    let mut held: Vec<TcpStream> = (0..24)
        .map(|_| {
            let mut stream = TcpStream::connect(&bench.shop).unwrap();
            stream.write_all(b"GET / HTTP/1.1\r\n").unwrap();
            stream
        })
        .collect();
    std::thread::sleep(Duration::from_millis(200));
    assert_eq!(get(&bench.shop, "/shop", &headers).0, 0, "one more connection is let go");
    assert_eq!(get(&bench.desk, "/state", &bench.at_desk()).0, 200);
    // Heads that never end are not waited for.
    for stream in &mut held {
        stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        let mut answer = Vec::new();
        let closed = stream.read_to_end(&mut answer);
        assert!(closed.is_ok() && !answer.starts_with(b"HTTP/1.1 200"), "{closed:?}");
    }
    assert_eq!(get(&bench.shop, "/shop", &headers).0, 200);
    assert_eq!(bench.log(), "");
}

/// The times, made short: a code that is over, a phone that was silent for too long.
#[test]
fn codes_and_silent_phones_end() {
    let (folder, file) = with_example();
    let (told, standing) = std::sync::mpsc::channel();
    std::thread::spawn(move || {
        let times = Times { code: Duration::from_millis(700), idle: Duration::from_millis(1500) };
        let shop = shop::ShopOpened { address: "127.0.0.2:0".parse().unwrap(), name: Some("phone.shop.test".into()), times };
        let opened =
            Opened { file: Some(&file), lower: None, log: None, port: 0, shop: Some(&shop), today: |_| "2026-11-20".into() };
        serve::serve(opened, |standing| told.send(standing.clone()).unwrap()).unwrap();
    });
    let standing = standing.recv_timeout(Duration::from_secs(20)).unwrap();
    let (desk, token) = of_address(&standing.desk).split_once("/#").unwrap();
    // Its name counts as its host, and its address does not.
    let named = of_address(standing.shop.as_ref().unwrap()).to_owned();
    let shop = named.replace("phone.shop.test", "127.0.0.2");
    assert_eq!(get(&shop, "/", &format!("Host: {shop}\r\n")).0, 403);
    assert_eq!(get(&shop, "/", &format!("Host: {named}\r\n")).0, 200);
    let code = || value(&post(desk, "/phone-code", &page(desk, token), "{}").1, "address").split_once('#').unwrap().1.to_owned();
    let bring = |code: &str| post(&shop, "/pair", &page(&named, ""), &format!("{{\"code\": \"{code}\"}}"));
    let late = code();
    std::thread::sleep(Duration::from_millis(900));
    assert_eq!(bring(&late).0, 403, "its time is over");
    let (status, answer) = bring(&code());
    assert_eq!(status, 200);
    let headers = page(&named, value(&answer, "token"));
    for _ in 0..4 {
        std::thread::sleep(Duration::from_millis(500));
        assert_eq!(get(&shop, "/shop", &headers).0, 200, "it asks, so it stays");
    }
    std::thread::sleep(Duration::from_millis(2200));
    assert_eq!(get(&shop, "/shop", &headers).0, 403, "silent for too long");
    drop(folder);
}

/// What a reading would say is told to a phone, and nothing is written; a file that is named is refused as in the log.
#[test]
fn a_reading_may_be_tried_and_leaves_nothing() {
    let bench = bench();
    for (host, headers) in [(&bench.shop, page(&bench.shop, &bench.phone())), (&bench.desk, bench.at_desk())] {
        let (status, answer) = post(host, "/try-reading", &headers, &sheet("a"));
        assert!(status == 200 && answer.contains("\"says\"") && answer.contains("\"marked\":[]"), "{answer}");
        let named = r#"{"key": "k", "of": "bow", "keys": [["weight", "44"], ["build", "other.toml"]]}"#;
        assert_eq!(post(host, "/try-reading", &headers, named).0, 422);
    }
    assert_eq!(bench.log(), "");
    bench.is_untouched();
}

/// A phone's reading that is asked about is tried with one slip after the other: a fold of the log each. The desk waits for one of them at most.
#[test]
fn the_desk_is_answered_between_the_folds_of_a_reading_that_is_asked_about() {
    let bench = bench();
    let phone = page(&bench.shop, &bench.phone());
    // Readings that take their time to answer, one day after the other.
    let tiller = |day: u32| {
        format!(
            "[[reading]]\ndate = 2026-10-{day:02}\nof = \"tiller\"\ngaps = [[13, 7.25, 7.2], [18, 6.8, 6.8], [24, 5.2, 5.2], [30, 3, 3]]\n\n"
        )
    };
    let log = format!("units = \"in\"\n\n{}", (1..=3).map(tiller).collect::<String>());
    std::fs::write(bench.folder.path().join("meadow-log.toml"), &log).unwrap();
    // Nine tenths of an inch of sheet is no slip of any kind.
    let asked = r#"{"key": "k", "of": "sheet", "keys": [["thickness", ["0.9"]]]}"#;
    let (shop, headers) = (bench.shop.clone(), phone.clone());
    let (told, answered) = std::sync::mpsc::channel();
    let sender = std::thread::spawn(move || told.send(post(&shop, "/reading", &headers, asked)));
    // It is at the desk by then: eighteen folds take seconds.
    std::thread::sleep(Duration::from_millis(100));
    for path in ["/state", "/state", "/state"] {
        assert_eq!(get(&bench.desk, path, &bench.at_desk()).0, 200);
        assert!(answered.try_recv().is_err(), "{path} waited for all of the phone's folds");
    }
    sender.join().unwrap().unwrap();
    let (status, answer) = answered.recv().unwrap();
    assert!(status == 422 && answer.contains("\"asked\"") && answer.contains("\"meant\":null"), "{answer}");
    assert_eq!(bench.log(), log);
}
