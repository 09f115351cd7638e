//! A reading added to the log, if it can be read and meant.

use super::{Answered, LogUnread, read};
use crate::buildfile::Source;
use crate::buildfile::edit::{as_toml, quoted};
use crate::diag::Diagnostic;
use crate::folder::{self, Appending, FolderFault};
use crate::job::Job;
use crate::model::Build;
use crate::shop::logged::Answer;
use std::path::Path;

/// A reading as it is typed: what it is of, and each key with its value as text.
#[derive(Debug, Clone, Copy)]
pub struct NewReading<'a> {
    pub of: &'a str,
    pub keys: &'a [(String, String)],
    /// Year, month and day, such as `2026-11-20`.
    pub date: &'a str,
}

/// A reading that can be read and meant.
#[derive(Debug)]
pub struct Added {
    /// The log with it.
    pub answered: Answered,
    /// What comes to the end of the log.
    pub more: String,
}

/// Why nothing was added.
#[derive(Debug)]
pub enum NotAdded {
    /// What was typed makes no reading: a message, and a hint on its second line.
    Unfit(String),
    /// The log is no text in UTF-8.
    NotText,
    Unread(LogUnread),
    /// The reading is asked about.
    Asked {
        source: Source,
        questions: Vec<Diagnostic>,
    },
    Folder(FolderFault),
}

impl Added {
    /// What the reading says.
    pub fn answer(&self) -> Option<&Answer> {
        self.answered.answers.answers.last()
    }
}

/// The file of a log.
#[derive(Debug, Clone, Copy)]
pub struct LogFile<'a> {
    pub path: &'a Path,
    /// As messages call it.
    pub name: &'a str,
}

/// Adds a reading to a log.
pub fn add(opened: &Job, lower: Option<&Job>, file: LogFile<'_>, reading: &NewReading<'_>) -> Result<Added, NotAdded> {
    let path = file.path;
    // What is checked is what is appended to: nobody else adds to the log in between. An editor may save, though, and two may begin
    // a log at once: then it is read and checked again.
    const TRIES: usize = 20;
    let mut tries = 0;
    loop {
        let log = Appending::open(path).map_err(NotAdded::Folder)?;
        let added = checked(opened, lower, file, log.as_ref().map_or(&[][..], |log| &log.before), reading)?;
        let done = match log {
            Some(log) => log.append(added.more.as_bytes()),
            None => folder::create(path, added.more.as_bytes()),
        };
        match done {
            Err(FolderFault::NotOurs(_)) if path.is_file() && tries < TRIES => tries += 1,
            Err(fault) => return Err(NotAdded::Folder(fault)),
            Ok(()) => return Ok(added),
        }
    }
}

/// The reading as it would be added to a log of these bytes.
pub fn checked(
    opened: &Job,
    lower: Option<&Job>,
    file: LogFile<'_>,
    bytes: &[u8],
    reading: &NewReading<'_>,
) -> Result<Added, NotAdded> {
    let before = std::str::from_utf8(bytes).map_err(|_| NotAdded::NotText)?;
    let before = before.strip_prefix('\u{feff}').unwrap_or(before);
    let entry = entry(reading).map_err(NotAdded::Unfit)?;
    let more = if !before.trim().is_empty() {
        format!("{}{entry}", joint(before))
    } else {
        format!("{}\n{entry}", head(opened.build()))
    };
    let more = if before.contains("\r\n") { more.replace('\n', "\r\n") } else { more };
    let text = format!("{before}{more}");
    let folder = file.path.parent().map(Path::to_owned).unwrap_or_default();
    let answered = read(opened, lower, file.name, &text, &folder::named_texts(&folder, &text)).map_err(NotAdded::Unread)?;
    match answered.answers.answers.last() {
        Some(answer) if !answer.questions.is_empty() => {
            Err(NotAdded::Asked { questions: answer.questions.clone(), source: answered.source })
        }
        _ => Ok(Added { answered, more }),
    }
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

/// How far from its end a log's text holds this very reading, among the last so many: 0 for the last one.
pub fn stands(text: &str, reading: &NewReading<'_>, last: usize) -> Option<usize> {
    const HEAD: &str = "[[reading]]\n";
    let text = text.replace("\r\n", "\n");
    let entry = entry(reading).ok()?;
    let wanted = entry.strip_prefix(HEAD)?.trim_end();
    // What comes before the first table is no reading.
    let mut parts: Vec<&str> = text.split(HEAD).skip(1).collect();
    parts.reverse();
    parts.iter().take(last).position(|part| part.trim_end() == wanted)
}

/// The reading as TOML.
fn entry(reading: &NewReading<'_>) -> Result<String, String> {
    let mut lines = vec![("date", as_toml(reading.date)), ("of", quoted(reading.of))];
    for (key, text) in reading.keys {
        let (key, text) = (key.trim(), text.trim());
        if key.is_empty() || !key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || c == '-') {
            return Err(format!("`{key}` is no name of a key\nhelp: `taperwright log add --help` lists them"));
        }
        if lines.iter().any(|(known, _)| *known == key) {
            return Err(format!("`{key}` is given twice\nhelp: several readings go into one list, or into a reading each"));
        }
        lines.push((key, as_toml(text)));
    }
    let wide = lines.iter().map(|(key, _)| key.len()).max().unwrap_or(0);
    let lines: String = lines.iter().map(|(key, value)| format!("{key:<wide$} = {value}\n")).collect();
    Ok(format!("[[reading]]\n{lines}"))
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
        let typed = |keys: &[(&str, &str)]| {
            let keys: Vec<(String, String)> = keys.iter().map(|(key, text)| ((*key).into(), (*text).into())).collect();
            entry(&NewReading { of: "strip", keys: &keys, date: "2026-11-20" })
        };
        assert_eq!(
            typed(&[("after", "6"), ("lamination", "core")]).unwrap(),
            "[[reading]]\ndate       = 2026-11-20\nof         = \"strip\"\nafter      = 6\nlamination = \"core\"\n"
        );
        for bad in ["", "a b", "of"] {
            assert!(typed(&[(bad, "6")]).is_err(), "{bad}");
        }
    }
}
