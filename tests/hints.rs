//! Every hint that gives a number, a word or a `key = value` is followed as it stands, and the fault that it belongs to is gone.
//!
//! The faults are those of `tests/faults` and of files with one value a little, or far, beyond each of its limits. Hints that are
//! advice in words (where wood, hands or eyes decide) are listed with the reason; one that is neither fails.

mod support;

use std::fs;
use std::path::Path;
use support::planned::files::{SYSTEMS, at, base, beyond, dependent, text};
use support::planned::planned;
use taperwright::buildfile::{self, Starter, Style, starter};
use taperwright::diag::{Diagnostic, SourceText as _};
use taperwright::job::{Change, Inputs, Job};
use taperwright::model::workshop::Held;
use taperwright::units::System;
use toml::{Table, Value};

/// What is planned here is in words already, in the units of its file.
const SPOKEN: System = System::Millimetre;

/// Hints that no number follows from: why, and how they begin.
const IN_WORDS: &[(&str, &[&str])] = &[
    (
        "what is missing only the builder knows",
        &[
            "add [[lamination]]",
            "add it as measured",
            "add its ",
            "add pairs ",
            "add the ",
            "give at least two stations",
            "without an [outline] say",
            "write a name",
            "write a title",
            "write papers",
            "write pairs",
            "write the station",
        ],
    ),
    (
        "what was meant by it only the builder knows",
        &[
            "a board is of one wood",
            "choose another",
            "file names cannot",
            "give the lesser thickness",
            "name it in `change`",
            "put all its limits",
            "keep one of them",
            "known are",
            "known keys",
            "it belongs under",
            "let another one change",
            "list stations",
            "list them",
            "name it once",
            "number them",
            "shorten it",
            "take it out",
            "take this line out",
            "type it anew",
            "use letters",
            "with a face that is kept",
            "write a value, or take",
            "write an ordinary decimal",
            "`ground` holds",
        ],
    ),
    (
        "how a value is written",
        &[
            "put a comma",
            "put commas",
            "put quotes",
            "put the closing quote",
            "write [",
            "write a decimal number such as",
            "write it as [sander]",
            "write it like",
            "write key = value",
            "write {",
        ],
    ),
    (
        "several values do it together, none alone",
        &[
            "check the sheet's width",
            "length is feather to feather",
            "lengthen the riser",
            "let one reach from the centre",
            "stations are counted",
            "take a smaller taper",
            "the draw length must be greater",
            "the outline runs on",
            "`from` and `to` are stations",
        ],
    ),
    (
        "hands, eyes and the machine's manual decide",
        &[
            "0.005 in to 0.015 in is usual",
            "0.127 mm to 0.381 mm is usual",
            "leave ",
            "deeper cuts burn",
            "keep it only if",
            "measure each strip",
            "measure the stock",
            "nothing is wrong with that",
            "sort out strips",
            "the taper is carried on",
            "use a thicker board",
        ],
    ),
];

/// A file with one hint followed.
type Followed = Vec<String>;

/// What a hint asks for, done to the file; none where it is words.
fn follow(written: &str, fault: &Diagnostic, hint: &str) -> Option<Followed> {
    let (source, _) = taperwright::buildfile::read("hint.toml", written);
    // What stands at the fault gives way to this, in the text as it is.
    let splice =
        |now: &str| source.span(&fault.place).map(|span| format!("{}{now}{}", &written[..span.start], &written[span.end..]));
    for start in ["write it in quotes: ", "write it with straight ones: ", "write a figure before the point: ", "write a point: "]
    {
        if let Some(now) = hint.strip_prefix(start) {
            return Some(vec![splice(now)?]);
        }
    }
    let place = fault.place.as_str();
    let Ok(table) = written.parse::<Table>() else {
        // Something else in the file is not TOML: only a word can be put in the place of another.
        let meant = hint.split_once("did you mean \"").map(|(_, meant)| format!("\"{meant}"))?;
        return Some(vec![splice(&quoted(meant.split('?').next()?).first()?.to_string())?]);
    };
    let put = |path: &str, value: Value| -> String {
        let mut changed = table.clone();
        *at(&mut changed, path) = value;
        text(&changed)
    };
    if let Some((_, name)) = hint.split_once("did you mean `") {
        let name = name.split('`').next()?;
        let (parent, old) = place.rsplit_once('.').unwrap_or(("", place));
        let mut changed = table.clone();
        let inside = if parent.is_empty() { &mut changed } else { at(&mut changed, parent).as_table_mut()? };
        let value = inside.remove(old)?;
        inside.insert(name.to_owned(), value);
        return Some(vec![text(&changed)]);
    }
    if let Some((_, meant)) = hint.split_once("did you mean ") {
        let meant = meant.strip_prefix("one of ").unwrap_or(meant);
        let each = quoted(meant.split('?').next()?);
        let values = if each.is_empty() { vec![number(meant.split('?').next()?)?] } else { each };
        return Some(values.into_iter().map(|value| put(place, value)).collect());
    }
    if let Some(words) = hint.strip_prefix("write one of ") {
        return Some(quoted(words).into_iter().map(|value| put(place, value)).collect());
    }
    for start in ["write a value from ", "write a whole number from "] {
        if let Some((min, max)) = hint.strip_prefix(start).and_then(|ends| ends.split_once(" to ")) {
            return Some(vec![put(place, number(min)?), put(place, number(max)?)]);
        }
    }
    if let Some(max) = hint.strip_prefix("write a value greater than 0, at most ") {
        return Some(vec![put(place, number(max)?)]);
    }
    if let Some(depth) = hint.strip_prefix("keep the depth under half the width, ") {
        // Under, not at: a thousandth less.
        let (max, unit) = depth.split_once(' ')?;
        return Some(vec![put(place, Value::String(format!("{} {unit}", max.parse::<f64>().ok()? - 0.001)))]);
    }
    if let Some(more) = hint.strip_prefix("add ").and_then(|rest| rest.split_once(" to the slices")) {
        let mut changed = table.clone();
        at(&mut changed, place).as_array_mut()?.push(Value::Array(vec!["maple, sugar".into(), number(more.0)?]));
        return Some(vec![text(&changed)]);
    }
    for start in ["take a board of ", "use stock of at least "] {
        if let Some(length) = hint.strip_prefix(start) {
            return Some(vec![put(place, number(length)?)]);
        }
    }
    if let Some(more) = hint.strip_prefix("make it thicker by ") {
        // All along: a butt and its rate, or a butt and its tip.
        let parent = place.rsplit_once('.')?.0;
        let mut changed = table.clone();
        for path in [format!("{parent}.thickness"), format!("{parent}.taper.tip")] {
            if found(&table, &path).is_some() {
                *at(&mut changed, &path) = sum(&table, found(&table, &path)?, more)?;
            }
        }
        return Some(vec![text(&changed)]);
    }
    if let Some(units) = hint.strip_prefix("write a number with one of: ") {
        let typed = found(&table, place).and_then(Value::as_str).unwrap_or("1");
        let digits: String = typed.trim().chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
        return Some(units.split(", ").map(|unit| put(place, Value::String(format!("{digits} {unit}")))).collect());
    }
    if hint == "write a value greater than 0" {
        return Some(vec![put(place, Value::Float(0.001))]);
    }
    if hint.starts_with("write true or false") {
        return Some([true, false].map(|flag| put(place, Value::Boolean(flag))).to_vec());
    }
    if let Some(grades) = hint.strip_prefix("grades are ") {
        return Some(grades.split(", ").filter_map(number).map(|grade| put(place, grade)).collect());
    }
    if let Some((key, value)) = key_and_value(hint) {
        let path = path_of(&table, place, &key)?;
        return Some(vec![put(&path, value)]);
    }
    let (_, examples) = hint.split_once("such as \"")?;
    Some(quoted(&format!("\"{examples}")).into_iter().map(|word| put(place, word)).collect())
}

/// `key` with the value that it is to get: "raise `base` from 0.2 in to 0.5 in or more", "write `together` = 1", "such as width = 2".
fn key_and_value(hint: &str) -> Option<(String, Value)> {
    let named = hint.split_once('`').and_then(|(_, rest)| rest.split_once('`'));
    if let Some((key, rest)) = named
        && key.chars().all(|c| c.is_ascii_lowercase() || c == '_' || c == '.')
        && let Some(value) = rest.strip_prefix(" = ").or_else(|| rest.split_once(" to ").map(|(_, value)| value)).and_then(number)
    {
        return Some((key.to_owned(), value));
    }
    let (before, after) = hint.split_once(" = ")?;
    let key = before.rsplit(' ').next()?;
    // As much of what follows as is a TOML value.
    let ends = after.char_indices().map(|(at, c)| at + c.len_utf8()).rev();
    let value = ends.filter_map(|end| format!("x = {}", &after[..end]).parse::<Table>().ok()).next()?.remove("x")?;
    Some((key.to_owned(), value))
}

/// Where a key that a hint names stands: in the table of the fault or in one around it; the outermost where none has it.
fn path_of(table: &Table, place: &str, key: &str) -> Option<String> {
    let mut inside = Some(place.to_owned());
    let join = |table: &str| if table.is_empty() { key.to_owned() } else { format!("{table}.{key}") };
    let first = join(place);
    let mut tables = Vec::new();
    while let Some(here) = inside {
        let path = join(&here);
        if found(table, &path).is_some() {
            return Some(path);
        }
        let holder = if here.is_empty() { true } else { found(table, &here).is_some_and(Value::is_table) };
        if holder {
            tables.push(path);
        }
        inside = if here.is_empty() { None } else { Some(here.rfind(['.', '[']).map_or("", |cut| &here[..cut]).to_owned()) };
    }
    Some(tables.into_iter().next().unwrap_or(first))
}

fn found<'a>(table: &'a Table, path: &str) -> Option<&'a Value> {
    let path = path.replace('[', ".[");
    let mut parts = path.split('.');
    let mut value = table.get(parts.next()?)?;
    for part in parts {
        value = match part.strip_prefix('[').and_then(|index| index.strip_suffix(']')) {
            Some(index) => value.as_array()?.get(index.parse::<usize>().ok()?)?,
            None => value.as_table()?.get(part)?,
        };
    }
    Some(value)
}

/// A number with its unit as one types it: bare without, as a text with it.
fn number(written: &str) -> Option<Value> {
    let mut parts = written.trim().split([' ', ',', ';', ':', '?']);
    let number = parts.next()?;
    let value: f64 = number.parse().ok()?;
    let units = [
        "in", "mm", "lbf", "N", "deg", "%", "in/in", "mm/mm", "GPa", "MPa", "Mpsi", "psi", "kg/m2", "kg/m3", "ft/min", "m/min",
        "h", "C",
    ];
    match parts.next().filter(|unit| units.contains(unit)) {
        Some(unit) => Some(Value::String(format!("{number} {unit}"))),
        None if value.fract().abs() <= 0.0 => Some(Value::Integer(value as i64)),
        None => Some(Value::Float(value)),
    }
}

/// A length of a file and one more, in the unit of that one.
fn sum(table: &Table, value: &Value, more: &str) -> Option<Value> {
    let mut words = more.split([' ', ',']);
    let (more, unit) = (words.next()?.parse::<f64>().ok()?, words.next()?);
    let (number, own) = match value {
        Value::String(written) => {
            let (number, unit) = written.split_once(' ')?;
            (number.parse::<f64>().ok()?, unit.to_owned())
        }
        bare => {
            let number = bare.as_float().or(bare.as_integer().map(|whole| whole as f64))?;
            (number, table.get("units").and_then(Value::as_str).unwrap_or("in").to_owned())
        }
    };
    let number = match (own.as_str(), unit) {
        ("in", "mm") => 25.4 * number,
        ("mm", "in") => number / 25.4,
        _ => number,
    };
    Some(Value::String(format!("{:.6} {unit}", number + more)))
}

/// Every text in quotes.
fn quoted(text: &str) -> Vec<Value> {
    text.split('"').skip(1).step_by(2).map(|word| Value::String(word.to_owned())).collect()
}

/// A message without its numbers: what it is about.
fn about(message: &str) -> String {
    message.chars().filter(|c| !c.is_ascii_digit() && *c != '.' && *c != '-').collect()
}

/// Follows every hint of a file; says what is still there, and what nothing can be done with.
fn followed(name: &str, written: &str, amiss: &mut Vec<String>) -> usize {
    let mut count = 0;
    let before = planned(written);
    for fault in before.faults.iter().chain(&before.warnings) {
        for hint in &fault.words(SPOKEN).hints {
            if IN_WORDS.iter().flat_map(|(_, begin)| *begin).any(|begins| hint.starts_with(begins)) {
                continue;
            }
            let Some(files) = follow(written, fault, hint) else {
                amiss.push(format!("{name}: {}: nothing to follow in: {hint}", fault.place));
                continue;
            };
            assert!(!files.is_empty(), "{name}: {hint}");
            for file in files {
                count += 1;
                let after = planned(&file);
                let still = |found: &&Diagnostic| {
                    found.place == fault.place && about(&found.words(SPOKEN).message) == about(&fault.words(SPOKEN).message)
                };
                if let Some(still) = after.faults.iter().chain(&after.warnings).find(still) {
                    amiss.push(format!(
                        "{name}: {}: {} | {hint} | then still: {}",
                        fault.place,
                        fault.words(SPOKEN).message,
                        still.words(SPOKEN).message
                    ));
                }
                let broken = |faults: &[Diagnostic]| faults.iter().filter(|f| f.place.as_str().starts_with("line ")).count();
                if broken(&before.faults) < broken(&after.faults) {
                    amiss.push(format!("{name}: {hint} | breaks the file: {file}"));
                }
            }
        }
    }
    count
}

#[test]
fn every_hint_of_the_fault_files_works_when_it_is_followed() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/faults");
    let mut files: Vec<_> = fs::read_dir(folder).expect("faults").map(|entry| entry.expect("an entry").path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "toml"));
    files.sort();
    let (mut amiss, mut count) = (Vec::new(), 0);
    for path in files {
        let Ok(written) = fs::read_to_string(&path) else { continue };
        let name = path.file_name().expect("a name").to_string_lossy().into_owned();
        count += followed(&name, &written, &mut amiss);
    }
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
    assert!(60 < count, "{count} hints were followed");
}

/// Beyond each limit by a hundredth of a step, by a step, and far.
#[test]
fn every_hint_at_a_limit_works_when_it_is_followed() {
    let (mut amiss, mut count) = (Vec::new(), 0);
    for system in SYSTEMS {
        for limit in dependent() {
            for steps in [1.0, 37.0, 100.0, 1234.0, 9000.0] {
                let file = text(&limit.file(system, limit.slack_mm + steps * beyond(system)));
                count += followed(limit.what, &file, &mut amiss);
            }
        }
    }
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
    assert!(150 < count, "{count} hints were followed");
}

/// Bases of many heights: the least base is refused, the base of the hint is taken, in every make and both systems.
#[test]
fn the_base_that_a_hint_names_is_high_enough() {
    let (mut amiss, mut count) = (Vec::new(), 0);
    for system in SYSTEMS {
        for (k, make) in (0..30).zip(["ramp", "solid", "shims", "raised-end", "wedge"].into_iter().cycle()) {
            let mut table = base(system);
            *at(&mut table, "sled.make") = Value::String(make.into());
            *at(&mut table, "sled.base") = Value::Float(system.length(f64::from(k) * 0.31));
            *at(&mut table, "sled.sheet.length") = Value::String("2000 mm".into());
            *at(&mut table, "lamination[0].taper") = Value::Float(0.0013 + 0.000_037 * f64::from(k));
            *at(&mut table, "lamination[1].taper") = Value::Float(0.0);
            count += followed(make, &text(&table), &mut amiss);
        }
    }
    assert!(amiss.is_empty(), "{}", amiss.join("\n"));
    assert!(30 < count, "{count} hints were followed");
}

/// A fade that meets the level part at a corner: under an overlay no strip can end there, and longer fades are what helps; without one a strip may
/// begin on the fade.
#[test]
fn a_corner_is_gone_where_its_hint_is_followed() {
    let text = fs::read_to_string("examples/more/plover.toml").unwrap();
    let text = text.replace("length  = 560 ", "length  = 420 ").replace("length  = 560\n", "length  = 420\n");
    let text = text.replace("length = 150", "length = 60 ").replace("splice = 130", "splice = 50 ");
    let cut = |text: &str, from: &str, to: &str| {
        let (start, end) = (text.find(from).unwrap(), text.find(to).unwrap());
        format!("{}{}", &text[..start], &text[end..])
    };
    let bare = cut(&text, "[riser.overlay]", "[[lamination]]");
    for (text, may_end_there) in [(text, false), (bare, true)] {
        let job = Job::read("bow.toml", &text, Inputs::default()).unwrap_or_else(|unread| panic!("{:#?}", unread.faults));
        let corner = |job: &Job| job.warnings().unwrap().into_iter().find(|warning| warning.place.as_str() == "riser.level");
        let hints = corner(&job).expect("it has a corner").words(job.build().units).hints;
        assert_eq!(hints.iter().any(|hint| hint.contains("`from = ")), may_end_there, "{hints:?}");
        let length = hints.iter().find_map(|hint| hint.split_once("raise `riser.length` to ")).expect("a length").1;
        let length = length.split_once(" or more").unwrap().0;
        let longer = job.with(&[Change::new("riser.length", length)]).unwrap();
        assert_eq!(corner(&longer), None, "{length}");
    }
}

/// A form or props said by the word alone: the hint writes them out, and the file reads.
#[test]
fn how_a_stage_is_held_is_written_out_by_the_hint() {
    for units in SYSTEMS {
        let flat = starter(&Starter { units, ..Starter::default() });
        assert_eq!(flat.matches("held = \"flat\"").count(), 1);
        for word in ["form", "props"] {
            let faults = buildfile::read("bow.toml", &flat.replace("held = \"flat\"", &format!("held = \"{word}\"")))
                .1
                .expect_err("no shape");
            let hint = faults[0].words(units).hints.remove(0);
            let written = hint.strip_prefix("write ").expect("how it is written");
            let read = buildfile::read("bow.toml", &flat.replace("held = \"flat\"", written)).1;
            let build = read.unwrap_or_else(|faults| panic!("{hint}: {}", faults[0])).value;
            let held = &build.glue.stages[0].held;
            assert!(matches!((word, held), ("form", Held::Form { .. }) | ("props", Held::Props { .. })), "{word}: {held:?}");
        }
    }
}

/// A corner where the fade begins: no longer riser is asked for than half of the bow, and what is asked for helps.
#[test]
fn no_riser_is_asked_for_that_takes_most_of_the_bow() {
    let mut told = 0;
    for units in SYSTEMS {
        for style in Style::ALL {
            let text = starter(&Starter { units, style, ..Starter::default() });
            let job = Job::read("bow.toml", &text, Inputs::default()).unwrap();
            let Some(half_mm) = job.build().riser.as_ref().map(|riser| 0.5 * riser.level_mm) else { continue };
            let Some(runs_on) = job.build().laminations.iter().position(|lamination| 0.0 < lamination.from_mm) else { continue };
            for times in [0.5, 0.8] {
                let from = format!("{} mm", times * half_mm);
                let Ok(changed) = job.with(&[Change::new(format!("lamination[{runs_on}].from"), from)]) else { continue };
                let warnings = changed.warnings().unwrap_or_else(|refused| refused.faults);
                let Some(corner) = warnings.iter().find(|warning| warning.to_string().contains("runs on over that corner"))
                else {
                    continue;
                };
                told += 1;
                let hints = corner.words(System::Millimetre).hints;
                assert!(
                    hints.iter().any(|hint| hint.contains("round the corner off"))
                        && hints.iter().any(|hint| hint.contains("`from = ")),
                    "{hints:?}"
                );
                for hint in hints.iter().filter_map(|hint| hint.split_once("raise `riser.length` to ")) {
                    let length: f64 = hint.1.split(" mm").next().unwrap().parse().unwrap();
                    let bow_mm = changed.build().outline.as_ref().unwrap().nock_to_nock_mm;
                    assert!(length <= 0.5 * bow_mm, "{} in {units:?}: {} mm of {bow_mm}", style.word(), length);
                }
            }
        }
    }
    assert!(0 < told);
}
