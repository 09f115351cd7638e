//! Names of laminations and woods: unique, and fit to become part of a file's name on any system.

use super::reader::{FileSection, Written};
use super::wording::shortened;
use std::collections::BTreeMap;

/// Longer names would not fit on a sheet's title line.
const LONGEST_NAME: usize = 40;

/// Characters that some file system refuses, or that could lead out of the folder.
const NOT_IN_FILES: [char; 9] = ['/', '\\', ':', '*', '?', '"', '<', '>', '|'];

/// Words with a meaning of their own: the riser's `on = "last"`, and names that one system keeps for its devices.
const RESERVED: [&str; 5] = ["last", "con", "prn", "aux", "nul"];

/// The name under `name`, fit for a file's name.
pub fn file_name(section: &FileSection<'_>, of: &str) -> Option<String> {
    let written = section.need("name", &format!("give every {of} a name of its own, such as name = \"core\""))?;
    let name = written.text("a name")?;
    let hint = "use letters, digits, spaces, - and _";
    if let Some(bad) = name.chars().find(|c| NOT_IN_FILES.contains(c)) {
        written.fault(format!("the name \"{}\" holds `{bad}`, but it becomes part of a file's name", shortened(name)), hint);
        return None;
    }
    if name.starts_with('.') || name.ends_with('.') || name.trim() != name {
        let message = format!("the name \"{}\" begins or ends with a dot or a space", shortened(name));
        written.fault(message, "file names cannot begin or end so; take it off");
        return None;
    }
    if LONGEST_NAME < name.chars().count() {
        let message = format!("this name has {} letters; at most {LONGEST_NAME} fit on a sheet", name.chars().count());
        written.fault(message, "shorten it");
        return None;
    }
    let key = folded(name);
    let port = |prefix: &str| key.strip_prefix(prefix).is_some_and(|rest| rest.len() == 1 && rest.as_bytes()[0].is_ascii_digit());
    if RESERVED.contains(&key.as_str()) || port("com") || port("lpt") {
        written.fault(format!("the name \"{name}\" is reserved"), "choose another, such as \"core\" or \"belly 2\"");
        return None;
    }
    Some(name.to_owned())
}

/// Faults names that are the same in a folder: case, spaces, `-` and `_` do not count.
pub fn unique(named: &[(String, Written<'_>)]) {
    let mut seen: BTreeMap<String, &str> = BTreeMap::new();
    for (name, written) in named {
        if let Some(first) = seen.insert(folded(name), name) {
            let message = if first == name {
                format!("the name \"{name}\" is given twice")
            } else {
                format!("the names \"{first}\" and \"{name}\" would give the same file")
            };
            written.fault(message, format!("number them, such as \"{first} 1\" and \"{first} 2\""));
        }
    }
}

/// As it stands in a file's name.
fn folded(name: &str) -> String {
    crate::model::lamination::file_name(name)
}
