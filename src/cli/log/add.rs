//! `taperwright log add`: a reading appended to the log, if it can be read and meant.

use super::super::Ended;
use super::super::args::LogAddArgs;
use super::super::input::{Input, show, summary};
use super::super::terminal::Terminal;
use super::{lower_limb, read, show as shown};
use crate::buildfile::edit::{as_toml, quoted};
use crate::folder::{self, Appending, FolderFault};
use crate::job::Job;
use crate::model::Build;

pub fn add(args: &LogAddArgs, terminal: Terminal) -> Result<Ended, Ended> {
    let opened = Input::read(&args.file, terminal)?.open(terminal)?;
    let lower = lower_limb(args.lower.as_deref(), terminal)?;
    if args.log.as_os_str() == "-" {
        terminal.fault("error: a log is a file, and cannot be standard input");
        return Err(Ended::Files);
    }
    let refused = |fault: FolderFault| {
        terminal.fault(&format!("error: {fault}"));
        Ended::Files
    };
    // What is checked is what is appended to: nobody else adds to the log in between. An editor may save, though, and two may begin
    // a log at once: then it is read and checked again.
    const TRIES: usize = 20;
    let mut tries = 0;
    loop {
        let log = Appending::open(&args.log).map_err(refused)?;
        let checked = checked(args, &opened, lower.as_ref(), log.as_ref().map_or(&[][..], |log| &log.before), terminal)?;
        let done = match log {
            Some(log) => log.append(checked.more.as_bytes()),
            None => folder::create(&args.log, checked.more.as_bytes()),
        };
        match done {
            Err(FolderFault::NotOurs(_)) if args.log.is_file() && tries < TRIES => tries += 1,
            Err(fault) => return Err(refused(fault)),
            Ok(()) => return Ok(terminal.results(&format!("{}\nadded to {}\n", checked.answer, args.log.display()))),
        }
    }
}

/// A reading that can be read and meant, ready to be written.
struct Checked {
    more: String,
    answer: String,
}

fn checked(args: &LogAddArgs, opened: &Job, lower: Option<&Job>, bytes: &[u8], terminal: Terminal) -> Result<Checked, Ended> {
    let before = String::from_utf8(bytes.to_vec()).map_err(|_| {
        terminal.fault(&format!("error: {}: not a text file (UTF-8)", args.log.display()));
        Ended::BuildFile
    })?;
    let before = before.strip_prefix('\u{feff}').map(str::to_owned).unwrap_or(before);
    let date = args.date.clone().unwrap_or_else(today);
    let entry = entry(&args.of, &args.keys, &date).map_err(|message| {
        terminal.fault(&message);
        Ended::Files
    })?;
    let more = if !before.trim().is_empty() {
        format!("{}{entry}", joint(&before))
    } else {
        format!("{}\n{entry}", head(opened.build()))
    };
    let more = if before.contains("\r\n") { more.replace('\n', "\r\n") } else { more };
    let text = format!("{before}{more}");
    let name = args.log.display().to_string();
    let folder = args.log.parent().map(std::path::Path::to_owned).unwrap_or_default();
    let input = Input { folder, name, text };
    let read = read(opened, lower, &input.name, &input.text, &input.named(), terminal)?;
    let last = read.answers.answers.last();
    if let Some(answer) = last.filter(|answer| !answer.questions.is_empty()) {
        show(&answer.questions, &read.source, opened.build().units, terminal);
        summary(&answer.questions, &input.name, terminal);
        return Err(Ended::BuildFile);
    }
    let answer = last.map_or(String::new(), |answer| shown::one(opened, &read.answers, answer));
    Ok(Checked { more, answer })
}

fn head(build: &Build) -> String {
    format!(
        "# Shop log of {}. Readings are added at the end and never changed; a mistake gets a new reading.\n\nunits = \"{}\"\n",
        build.title.replace(char::is_control, " "),
        build.units.length_unit()
    )
}

/// What stands between the last byte of a log and a new reading.
fn joint(before: &str) -> &'static str {
    if before.is_empty() || before.ends_with("\n\n") || before.ends_with("\n\r\n") {
        ""
    } else if before.ends_with('\n') {
        "\n"
    } else {
        "\n\n"
    }
}

/// The reading as TOML.
fn entry(of: &str, keys: &[String], date: &str) -> Result<String, String> {
    let mut lines = vec![("date".to_owned(), as_toml(date)), ("of".to_owned(), quoted(of))];
    for pair in keys {
        let Some((key, text)) = pair.split_once('=') else {
            return Err(format!(
                "error: `{pair}` is no key with a value\nhelp: write it like after=6, without spaces or in quotes"
            ));
        };
        let (key, text) = (key.trim(), text.trim());
        if key.is_empty() || !key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-') {
            return Err(format!("error: `{key}` is no name of a key\nhelp: `taperwright log add --help` lists them"));
        }
        if lines.iter().any(|(known, _)| known == key) {
            return Err(format!(
                "error: `{key}` is given twice\nhelp: several readings go into one list, or into a reading each"
            ));
        }
        lines.push((key.to_owned(), as_toml(text)));
    }
    let wide = lines.iter().map(|(key, _)| key.len()).max().unwrap_or(0);
    let lines: String = lines.iter().map(|(key, value)| format!("{key:<wide$} = {value}\n")).collect();
    Ok(format!("[[reading]]\n{lines}"))
}

fn today() -> String {
    chrono::Local::now().format("%Y-%m-%d").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_and_fractions_need_no_quotes() {
        for (text, wanted) in [
            ("core", "\"core\""),
            ("1 1/2 in", "\"1 1/2 in\""),
            ("6", "6"),
            (".163", "0.163"),
            ("[[2,.206], [30, -.5]]", "[[2,0.206], [30, -0.5]]"),
            ("[[2, 0.206], [30, 0.152]]", "[[2, 0.206], [30, 0.152]]"),
            ("\"test strip\"", "\"test strip\""),
            ("2026-11-20", "2026-11-20"),
            ("1\ny = 2", "\"\"\"\n1\ny = 2\"\"\""),
            ("1 # x", "\"1 # x\""),
        ] {
            assert_eq!(as_toml(text), wanted);
        }
        let entry = entry("strip", &["after=6".into(), "lamination=core".into()], "2026-11-20").unwrap();
        assert_eq!(
            entry,
            "[[reading]]\ndate       = 2026-11-20\nof         = \"strip\"\nafter      = 6\nlamination = \"core\"\n"
        );
        for bad in ["after", "=6", "a b=6", "of=x"] {
            assert!(super::entry("strip", &[bad.into()], "2026-11-20").is_err(), "{bad}");
        }
    }
}
