//! The rooms keep to themselves: who may use whom, what each file opens with, and where conversion factors may stand.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// For each room, the rooms it may use besides itself.
fn allowed() -> BTreeMap<&'static str, &'static [&'static str]> {
    BTreeMap::from([
        ("units", &[][..]),
        ("diag", &["units"]),
        ("numeric", &[]),
        ("geometry", &["numeric"]),
        ("model", &["diag", "numeric", "geometry", "units", "drawing"]),
        ("buildfile", &["units", "diag", "model", "numeric", "drawing"]),
        ("mechanics", &["diag", "model", "numeric", "geometry", "units"]),
        ("shop", &["diag", "model", "mechanics", "numeric", "geometry", "units", "drawing"]),
        ("drawing", &["units", "geometry"]),
        ("sheets", &["units", "diag", "model", "mechanics", "shop", "geometry", "drawing", "numeric"]),
        ("report", &[]),
        ("book", &["units", "diag", "model", "mechanics", "shop", "sheets", "geometry", "drawing", "report"]),
        ("write", &["units", "geometry", "drawing", "book", "model"]),
        (
            "job",
            &[
                "units",
                "diag",
                "model",
                "buildfile",
                "mechanics",
                "shop",
                "drawing",
                "sheets",
                "report",
                "book",
                "write",
                "geometry",
                "numeric",
            ],
        ),
        ("folder", &["job", "model"]),
        ("logbook", &["units", "diag", "model", "buildfile", "mechanics", "shop", "report", "write", "job", "folder"]),
        (
            "serve",
            &[
                "units",
                "diag",
                "model",
                "buildfile",
                "mechanics",
                "shop",
                "drawing",
                "sheets",
                "write",
                "job",
                "folder",
                "logbook",
            ],
        ),
        (
            "cli",
            &[
                "units",
                "diag",
                "model",
                "buildfile",
                "mechanics",
                "shop",
                "sheets",
                "report",
                "write",
                "job",
                "folder",
                "logbook",
                "serve",
            ],
        ),
    ])
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> =
        fs::read_dir(folder).expect("src can be listed").map(|entry| entry.expect("entry").path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// Every source file with its room and its text, tests at the foot left out.
fn rooms() -> Vec<(PathBuf, String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&root, &mut files);
    files
        .into_iter()
        .map(|path| {
            let inside = path.strip_prefix(&root).expect("below src").to_owned();
            let room = inside
                .components()
                .next()
                .expect("a first part")
                .as_os_str()
                .to_string_lossy()
                .trim_end_matches(".rs")
                .to_owned();
            let text = fs::read_to_string(&path).expect("source reads");
            (inside, room, text)
        })
        .collect()
}

fn without_tests(text: &str) -> &str {
    text.split("#[cfg(test)]").next().unwrap_or(text)
}

#[test]
fn rooms_use_only_what_the_table_allows() {
    let allowed = allowed();
    let mut faults = Vec::new();
    for (path, room, text) in rooms() {
        let Some(may_use) = allowed.get(room.as_str()) else { continue };
        for line in without_tests(&text).lines().filter(|line| !line.trim_start().starts_with("//")) {
            for (at, _) in line.match_indices("crate::") {
                let rest = &line[at + "crate::".len()..];
                let used: String = rest.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                if used != room && !used.is_empty() && !may_use.contains(&used.as_str()) {
                    faults.push(format!("{}: {room} uses {used}: {}", path.display(), line.trim()));
                }
            }
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn every_file_says_what_it_is_for() {
    let silent: Vec<String> =
        rooms().iter().filter(|(_, _, text)| !text.starts_with("//! ")).map(|(path, _, _)| path.display().to_string()).collect();
    assert!(silent.is_empty(), "no `//!` first line in {silent:?}");
}

#[test]
fn conversion_factors_stand_in_one_file() {
    let mut faults = Vec::new();
    for (path, room, text) in rooms() {
        if room == "units" || path.ends_with("tests.rs") {
            continue;
        }
        for (number, line) in without_tests(&text).lines().enumerate() {
            let code = line.split("//").next().unwrap_or("");
            if ["25.4", "4.448", "0.453_592", "0.45359", "6.894", "6894.7", "9.806"].iter().any(|factor| code.contains(factor)) {
                faults.push(format!("{}:{}: {}", path.display(), number + 1, line.trim()));
            }
        }
    }
    assert!(faults.is_empty(), "conversion factors belong in units.rs:\n{}", faults.join("\n"));
}

#[test]
fn numbers_that_matter_are_double() {
    let mut faults = Vec::new();
    for (path, room, text) in rooms() {
        if matches!(room.as_str(), "numeric" | "geometry" | "model" | "mechanics" | "shop") && text.contains("f32") {
            faults.push(path.display().to_string());
        }
    }
    assert!(faults.is_empty(), "f32 in {faults:?}");
}

#[test]
fn only_the_edge_touches_files_clock_and_terminal() {
    let mut faults = Vec::new();
    for (path, room, text) in rooms() {
        if matches!(room.as_str(), "cli" | "serve" | "folder" | "main" | "lib") {
            continue;
        }
        for line in without_tests(&text).lines().filter(|line| !line.trim_start().starts_with("//")) {
            if ["std::fs", "std::env", "std::time", "println!", "eprintln!", "File::open"].iter().any(|word| line.contains(word))
            {
                faults.push(format!("{}: {}", path.display(), line.trim()));
            }
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

/// A make of sled stood in sixteen files. A new one is a variant with its row of traits, a file that fills the kit, and a line that
/// calls it; what reads a sled asks the kit and the traits, and no drawing is made or written where it is planned.
#[test]
fn makes_of_sled_are_told_apart_in_two_files() {
    let told = |text: &str| {
        let code = without_tests(text);
        code.lines().filter(|line| !line.trim_start().starts_with("//")).any(|line| {
            line.match_indices("SledMake::").any(|(at, path)| {
                let variant = &line[at + path.len()..];
                variant.starts_with(char::is_uppercase) && !variant.starts_with("ALL")
            })
        })
    };
    let files: Vec<String> = rooms()
        .into_iter()
        .filter(|(path, _, text)| !path.ends_with("tests.rs") && told(text))
        .map(|(path, _, _)| path.display().to_string().replace('\\', "/"))
        .collect();
    assert_eq!(files, ["model/workshop.rs", "shop/makes.rs"]);
}

/// A module that uses another which leads back to it can be understood, and moved, with all of them only. What a module and those
/// inside it say to each other is their own.
#[test]
fn no_module_uses_one_that_leads_back_to_it() {
    let texts: BTreeMap<String, String> = rooms()
        .into_iter()
        .map(|(path, _, text)| {
            let parts = path.with_extension("").iter().map(|part| part.to_string_lossy().into_owned()).collect::<Vec<_>>();
            let name = parts.join("::");
            (name.strip_suffix("::mod").unwrap_or(&name).to_owned(), text)
        })
        .filter(|(name, _)| !["lib", "main"].contains(&name.as_str()) && !name.ends_with("tests"))
        .collect();
    let uses: BTreeMap<&str, Vec<&str>> = texts
        .iter()
        .map(|(module, text)| {
            let inside = |a: &str, b: &str| a.strip_prefix(b).is_some_and(|rest| rest.is_empty() || rest.starts_with("::"));
            let named = paths(&code(text)).into_iter().filter_map(|path| {
                let mut full = absolute(module, &path);
                while !full.is_empty() && !texts.contains_key(&full.join("::")) {
                    full.pop();
                }
                texts.get_key_value(&full.join("::")).map(|(name, _)| name.as_str())
            });
            let mut named: Vec<&str> = named.filter(|other| !inside(module, other) && !inside(other, module)).collect();
            named.sort_unstable();
            named.dedup();
            (module.as_str(), named)
        })
        .collect();
    let reached: BTreeMap<&str, Vec<&str>> = uses.keys().map(|module| (*module, reach(&uses, module))).collect();
    let mut circles: Vec<Vec<&str>> = uses
        .keys()
        .filter(|module| reached[**module].contains(*module))
        .map(|module| reached[*module].iter().copied().filter(|other| reached[*other].contains(module)).collect())
        .collect();
    circles.sort_unstable();
    circles.dedup();
    assert!(120 < uses.len() && 400 < uses.values().map(Vec::len).sum::<usize>(), "most uses are not seen");
    assert!(circles.is_empty(), "modules that lead back to themselves: {circles:?}");
}

/// Whoever reads or searches for a type's name finds one thing. A name said twice sent a reader of the draw's `Pass` to the sander's.
#[test]
fn a_type_name_stands_in_one_file() {
    let mut files: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for (path, _, text) in rooms() {
        for name in code(&text).lines().filter_map(defined_type) {
            files.entry(name.to_owned()).or_default().push(path.display().to_string());
        }
    }
    assert!(900 < files.len(), "most types are not seen");
    files.retain(|_, found| {
        found.dedup();
        1 < found.len()
    });
    assert!(files.is_empty(), "type names that stand in more than one file: {files:#?}");
}

/// A call says `true` and its reader has to look up what of: an enum says it, or what the answer is read from.
#[test]
fn no_parameter_is_a_bool() {
    let mut seen = 0;
    let mut faults = Vec::new();
    for (path, _, text) in rooms() {
        for (name, parameters) in functions(&code(&text)) {
            seen += 1;
            if parameters.iter().any(|parameter| parameter.ends_with(": bool")) {
                faults.push(format!("{}: {name}({})", path.display(), parameters.join(", ")));
            }
        }
    }
    assert!(3000 < seen, "most functions are not seen");
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

/// A longer list is read by counting; some of it belongs together, and has a name.
#[test]
fn past_five_parameters_stands_a_struct() {
    let mut faults = Vec::new();
    for (path, _, text) in rooms() {
        for (name, parameters) in functions(&code(&text)) {
            let count = parameters.iter().filter(|parameter| !parameter.ends_with("self")).count();
            // The trait of the library that reads fonts has this one.
            if 5 < count && name != "curve_to" {
                faults.push(format!("{}: {name} has {count}", path.display()));
            }
        }
    }
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

/// Every function with its parameters.
fn functions(code: &str) -> Vec<(&str, Vec<&str>)> {
    let begun = code.match_indices("fn ").filter(|(at, _)| !code[..*at].ends_with(|c: char| c.is_alphanumeric() || c == '_'));
    let function = |(at, begin): (usize, &str)| {
        let rest = &code[at + begin.len()..];
        let name = &rest[..rest.find(|c: char| !c.is_alphanumeric() && c != '_')?];
        let (mut depth, mut from, mut parameters) = (0_i32, None, Vec::new());
        let mut before = ' ';
        for (at, c) in rest.char_indices() {
            match c {
                '(' if depth == 0 && from.is_none() => from = Some(at + 1),
                '(' | '[' | '<' | '{' => depth += 1,
                ',' | ')' if depth == 0 => {
                    parameters.push(rest[from?..at].trim());
                    from = Some(at + 1);
                    if c == ')' {
                        parameters.retain(|parameter| !parameter.is_empty());
                        return Some((name, parameters));
                    }
                }
                ')' | ']' | '}' => depth -= 1,
                '>' if before != '-' => depth -= 1,
                _ => {}
            }
            before = c;
        }
        None
    };
    begun.filter_map(function).collect()
}

/// The type that a line begins to define. An alias further in belongs to a trait, as `type Item` does.
fn defined_type(line: &str) -> Option<&str> {
    let words = line.trim_start();
    let words = match words.strip_prefix("pub") {
        Some(rest) if rest.starts_with('(') => rest.split_once(") ")?.1,
        Some(rest) => rest.strip_prefix(' ')?,
        None => words,
    };
    let (kind, rest) = words.split_once(' ')?;
    let names = matches!(kind, "struct" | "enum" | "trait" | "union") || kind == "type" && !line.starts_with(' ');
    names.then(|| rest.split(|c: char| !c.is_alphanumeric() && c != '_').next().unwrap_or(rest))
}

/// Without comments, strings and tests.
fn code(text: &str) -> String {
    let lines = without_tests(text).lines().map(|line| line.split("//").next().unwrap_or(""));
    lines.collect::<Vec<_>>().join("\n")
}

/// Every path that starts at the crate, at this module or at the one above, lists in braces spelt out.
fn paths(code: &str) -> Vec<Vec<String>> {
    let mut found = Vec::new();
    for start in ["crate::", "super::", "self::"] {
        for (at, _) in code.match_indices(start) {
            let whole = code[..at].chars().next_back().is_none_or(|before| !before.is_alphanumeric() && !"_:".contains(before));
            if whole {
                spell_out(&code[at..], Vec::new(), &mut found);
            }
        }
    }
    found
}

/// Adds the paths that begin at the start of `code` after `before`; gives how much of it they took.
fn spell_out(code: &str, before: Vec<String>, found: &mut Vec<Vec<String>>) -> usize {
    if code.starts_with('{') {
        let mut at = 1;
        while let Some(next) = code[at..].find(|c: char| !c.is_whitespace() && c != ',') {
            at += next;
            if code[at..].starts_with('}') {
                return at + 1;
            }
            at += spell_out(&code[at..], before.clone(), found);
            // An alias ends at the comma.
            at += code[at..].find([',', '}']).unwrap_or(code.len() - at);
        }
        return code.len();
    }
    let length = code.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(code.len());
    let mut path = before;
    if 0 < length {
        path.push(code[..length].to_owned());
    }
    match code[length..].strip_prefix("::") {
        Some(rest) => length + 2 + spell_out(rest, path, found),
        None => {
            found.push(path);
            length.max(1)
        }
    }
}

/// A path as seen from the crate.
fn absolute(module: &str, path: &[String]) -> Vec<String> {
    let mut full: Vec<String> = if path[0] == "crate" { Vec::new() } else { module.split("::").map(str::to_owned).collect() };
    for part in path {
        match part.as_str() {
            "crate" | "self" => {}
            "super" => {
                full.pop();
            }
            part => full.push(part.to_owned()),
        }
    }
    full
}

/// All modules that a module leads to.
fn reach<'a>(uses: &BTreeMap<&'a str, Vec<&'a str>>, from: &str) -> Vec<&'a str> {
    let mut found: Vec<&str> = Vec::new();
    let mut open: Vec<&str> = uses[from].clone();
    while let Some(next) = open.pop() {
        if !found.contains(&next) {
            found.push(next);
            open.extend(&uses[next]);
        }
    }
    found.sort_unstable();
    found
}
