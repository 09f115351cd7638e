//! A number that stands in two outputs is the same number: report, book, tables, sheets and what the commands print.
//!
//! Seen before: one glue-up asked for 35, 36 and 34 clamps in form sheet, book and `glue`; glue was rounded in two ways; books in inches
//! held GPa, grams and cm². The builds are two examples and one that no other test knows, in millimetres for a target in pounds.

mod support;

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use support::examples::text as example;
use taperwright::drawing::Shape;
use taperwright::mechanics::glueup;
use taperwright::model::Build;
use taperwright::model::lamination::file_name;
use taperwright::sheets::assembly::LastGap;
use taperwright::shop::form;
use taperwright::shop::kit::Means;
use taperwright::shop::makes;
use taperwright::units::System;
use taperwright::{buildfile, sheets};
use tempfile::TempDir;

/// Everything that is printed and written for one build.
struct Made {
    folder: TempDir,
    file: PathBuf,
    build: Build,
    report: Value,
    book: String,
}

fn run(arguments: &[&str], file: &Path) -> String {
    let output = Command::cargo_bin("taperwright").unwrap().args(["-q"]).args(arguments).arg(file).output().unwrap();
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn json(arguments: &[&str], file: &Path) -> Value {
    serde_json::from_str(&run(arguments, file)).unwrap()
}

impl Made {
    fn of(text: &str) -> Made {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("build.toml");
        fs::write(&file, text).unwrap();
        let out = folder.path().join("out");
        run(&["make", "--out", &out.display().to_string()], &file);
        let build = buildfile::read("build.toml", text).1.unwrap().value;
        let report = serde_json::from_slice(&fs::read(out.join("report.json")).unwrap()).unwrap();
        let book = words(&fs::read_to_string(out.join("build-book.html")).unwrap());
        Made { folder, file, build, report, book }
    }

    fn number(&self, pointer: &str) -> f64 {
        self.report.pointer(pointer).and_then(Value::as_f64).unwrap_or_else(|| panic!("{pointer} is not in the report"))
    }

    /// Rows of a table beside the report, by the names in its head.
    fn table(&self, name: &str) -> Vec<Vec<(String, String)>> {
        let text = fs::read_to_string(self.folder.path().join("out").join(name)).unwrap_or_else(|_| panic!("{name}"));
        let mut lines = text.lines().map(cells);
        let head = lines.next().expect("a head");
        lines.map(|row| head.iter().cloned().zip(row).collect()).collect()
    }

    fn says(&self, text: &str) {
        assert!(self.book.contains(text), "the book of {} does not say `{text}`", self.build.title);
    }
}

/// Cells of a line of CSV; texts with commas stand in quotes.
fn cells(line: &str) -> Vec<String> {
    let (mut cells, mut quoted) = (vec![String::new()], false);
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            c => cells.last_mut().expect("a cell").push(c),
        }
    }
    cells
}

/// What a reader sees of a page: pictures, style and tags taken out.
fn words(html: &str) -> String {
    let mut text = html.to_owned();
    for (from, to) in [("<style", "</style>"), ("<svg", "</svg>"), ("<head>", "</head>")] {
        while let Some(start) = text.find(from) {
            let end = text[start..].find(to).map_or(text.len(), |end| start + end + to.len());
            text.replace_range(start..end, " ");
        }
    }
    let mut out = String::new();
    let mut inside = false;
    for c in text.chars() {
        match c {
            '<' => inside = true,
            '>' => inside = false,
            c if !inside => out.push(c),
            _ => {}
        }
    }
    out.replace("&amp;", "&").replace("&nbsp;", " ").replace("&#39;", "'").replace("&quot;", "\"")
}

fn cell<'a>(row: &'a [(String, String)], begins: &str) -> &'a str {
    row.iter().find(|(name, _)| name.starts_with(begins)).map_or_else(|| panic!("no {begins} in {row:?}"), |(_, cell)| cell)
}

/// A cell of a table shows this value: as near as its last digit.
fn shows(cell: &str, value: f64) {
    let decimals = cell.split_once('.').map_or(0, |(_, digits)| digits.len());
    let shown: f64 = cell.parse().unwrap_or_else(|_| panic!("{cell} is no number"));
    // The report is rounded to a ten-thousandth of a millimetre first.
    assert!((shown - value).abs() <= 0.5001 * 10_f64.powi(-(decimals as i32)) + 1e-4, "{cell} for {value}");
}

fn same(a: &Value, b: &Value, what: &str) {
    match (a.as_f64(), b.as_f64()) {
        (Some(a), Some(b)) => assert!((a - b).abs() <= 1e-4 + 1e-9 * a.abs(), "{what}: {a} and {b}"),
        _ => assert_eq!(a, b, "{what}"),
    }
}

/// The report against the commands' JSON.
fn report_and_commands(made: &Made) {
    if made.report["bow"].is_null() {
        return;
    }
    let bow = &made.report["bow"];
    assert_eq!(bow, &json(&["bow", "--json"], &made.file), "report and bow");
    let glue = json(&["glue", "--json"], &made.file);
    let stages = bow["glue_stages"].as_array().unwrap();
    assert_eq!(stages.len(), glue["stages"].as_array().unwrap().len());
    for (k, stage) in stages.iter().enumerate() {
        let other = &glue["stages"][k];
        for (one, two) in [
            ("number", "number"),
            ("clamps", "clamps"),
            ("clamp_spacing_mm", "clamp_spacing_mm"),
            ("turns_of_band", "turns_of_band"),
            ("tip_load_n", "tip_load_n"),
            ("glue_lines", "glue_lines"),
            ("glue_area_mm2", "glue_area_mm2"),
            ("glue_kg", "glue_mass_kg"),
            ("tip_held_mm", "tip_held_mm"),
            ("tip_left_mm", "tip_left_mm"),
            ("clamp_time_s", "clamp_time_s"),
        ] {
            assert!(!stage[one].is_null() || other[two].is_null(), "{one} is missing");
            same(&stage[one], &other[two], one);
        }
    }
    let total: f64 = stages.iter().map(|stage| stage["glue_kg"].as_f64().unwrap()).sum();
    assert!((made.number("/bow/glue_kg") - total).abs() <= 1e-4 * (1 + stages.len()) as f64);
    let as_written = glue["compared"].as_array().unwrap().iter().find(|way| way["how"] == "as written").unwrap();
    let weight = made.number("/bow/draw_weight_n");
    assert!((as_written["weight_n"].as_f64().unwrap() / weight - 1.0).abs() < 1e-4, "glue compares another bow");
    assert_eq!(made.report["laminations"][0]["setups"], json(&["passes", "--json"], &made.file)[0]["setups"]);
}

/// The report against book, sheets and what the commands say.
fn report_and_words(made: &Made) {
    let (build, units) = (&made.build, made.build.units);
    if made.report["bow"].is_null() {
        return;
    }
    let said = run(&["glue"], &made.file);
    let glued = glueup::plan(build).unwrap().value;
    for (k, stage) in glued.stages.iter().enumerate() {
        let at = |key: &str| made.number(&format!("/bow/glue_stages/{k}/{key}"));
        let (clamps, apart) = (at("clamps"), units.rule(at("clamp_spacing_mm")));
        made.says(&format!("{clamps} small clamps, {apart} apart, or {} turns of band", at("turns_of_band")));
        assert!(said.contains(&format!("{clamps} for the whole bow, {apart} apart")), "{said}");
        let (mass, area) = (units.mass(at("glue_kg")), units.area(at("glue_area_mm2")));
        made.says(&format!("{mass} on {area}"));
        assert!(said.contains(&format!("{area}, {mass} on the wood")), "{said}");
        // Half of the clamps are ticks on a limb of the form, and its sheet says as many.
        if let Some(form) = form::lay_out(build, &glued, stage, 0.0).unwrap().value {
            assert_eq!(2.0 * form.straps.len() as f64, clamps);
            let apart_mm = form.straps[1].station_mm - form.straps[0].station_mm;
            assert!((apart_mm - at("clamp_spacing_mm")).abs() < 1e-3);
            let sheet = sheets::form::all_halves((build, &glued), None, std::slice::from_ref(&form)).remove(0);
            let told =
                format!("{} straps or clamps a limb, {apart} apart, numbered from the centre: {clamps}", form.straps.len());
            assert!(sheet.notes.iter().any(|note| note.contains(&told)), "{told} is not in {:?}", sheet.notes);
        }
        if let Some(s) = stage.clamp_time_s {
            made.says(&System::hours(s));
            assert!(said.contains(&System::hours(s)));
        }
    }
    made.says(&format!("glue on the wood: {} in all stages", units.mass(made.number("/bow/glue_kg"))));
    let bow = run(&["bow"], &made.file);
    for pointer in ["/bow/draw_weight_n", "/bow/weight_spread_n", "/bow/thickness_error_n"] {
        let text = build.weight_text(made.number(pointer));
        made.says(&text);
        assert!(bow.contains(&text), "{text} is not in {bow}");
    }
    let string = units.rule(made.number("/bow/string_mm"));
    made.says(&string);
    assert!(bow.contains(&string), "{string}");
    if let Some(riser) = &build.riser {
        let width: f64 = riser.across.iter().map(|slice| slice.width_mm).sum();
        let lines = build.glue.line_mm * (riser.across.len() - 1) as f64;
        assert!((made.number("/riser/block_width_mm") - width - lines).abs() < 1e-4);
        // What calipers show is one decimal, in the book and on the sheet.
        let steps = taperwright::shop::riser_block::CheckSteps::usual(units);
        let block = taperwright::shop::riser_block::lay_out(build, steps).unwrap().value;
        let sheet = sheets::riser::sheet(build, &block).unwrap();
        let slices = riser.across.iter().filter(|_| !riser.is_layered()).map(|slice| slice.width_mm);
        for mm in slices.chain([riser.depth_mm, block.width_mm]) {
            let text = units.thickness(mm);
            made.says(&text);
            let labels = sheet.items.iter().filter_map(|item| match &item.shape {
                Shape::Label(label) => Some(label.text.as_str()),
                Shape::Path(_) => None,
            });
            assert!(labels.into_iter().any(|label| label.ends_with(&text)), "{text} is not on the riser's sheet");
        }
    }
}

/// The report against the tables beside it.
fn report_and_tables(made: &Made) {
    let units = made.build.units;
    let mm = |value: &Value| units.length(value.as_f64().expect("a number"));
    let stack = made.table("stack.csv");
    let rows = made.report["stack"].as_array().unwrap();
    assert_eq!(stack.len(), rows.len());
    for (cells, row) in stack.iter().zip(rows) {
        for (name, key) in [("station_", "station_mm"), ("dry_", "dry_mm"), ("total_", "total_mm"), ("glue_", "glue_mm")] {
            shows(cell(cells, name), mm(&row[key]));
        }
    }
    for row in made.report["laminations"].as_array().unwrap() {
        let name = row["name"].as_str().unwrap();
        let passes: Vec<&Value> =
            row["setups"].as_array().unwrap().iter().flat_map(|setup| setup["passes"].as_array().unwrap()).collect();
        if passes.is_empty() {
            continue;
        }
        let table = made.table(&format!("passes-{}.csv", file_name(name)));
        let told = run(&["passes"], &made.file);
        assert_eq!(table.len(), passes.len());
        for (cells, pass) in table.iter().zip(&passes) {
            for (name, key) in
                [("gap_", "gap_mm"), ("drop_", "drop_mm"), ("deepest_", "deepest_mm"), ("thinnest_", "thinnest_mm")]
            {
                shows(cell(cells, name), mm(&pass[key]));
            }
            let gap = units.thickness_number(pass["gap_mm"].as_f64().unwrap());
            assert!(told.contains(&gap) && made.book.contains(&gap), "the gap {gap} of pass {}", pass["number"]);
        }
    }
    if made.report["bow"].is_null() {
        return;
    }
    let draws = made.report["bow"]["draws"].as_array().unwrap();
    let force = made.table("force.csv");
    assert_eq!(force.len(), draws.len());
    for (cells, draw) in force.iter().zip(draws) {
        shows(cell(cells, "draw_"), mm(&draw["draw_length_mm"]));
        shows(cell(cells, "force_"), units.force(draw["force_n"].as_f64().unwrap()));
        shows(cell(cells, "tension_"), units.force(draw["tension_n"].as_f64().unwrap()));
        shows(cell(cells, "stored_"), units.energy_number(1000.0 * draw["stored_j"].as_f64().unwrap()));
    }
}

/// No number of the book carries a unit of the other system, but in words that say both, one of them in brackets.
fn units_of_the_file(made: &Made) {
    let others: &[&str] = match made.build.units {
        System::Inch => &["mm", "cm", "cm²", "cm³", "g", "kg", "kg/m²", "kg/m³", "kg/m2", "N", "J", "MPa", "GPa", "m/min"],
        System::Millimetre => &["in", "in²", "oz", "psi", "million", "lb/ft³", "ft·lbf", "ft/min"],
    };
    let all: Vec<&str> = made.book.split_whitespace().collect();
    for (k, pair) in all.windows(2).enumerate() {
        // The trade's published standard adds 1 3/4 in, and is in inches everywhere.
        let standard = pair == ["3/4", "in"] && 0 < k && all[k - 1] == "1";
        let both = standard || pair[1].contains(')') || all.get(k + 2).is_some_and(|next| next.starts_with('('));
        let number = pair[0].trim_start_matches(['(', '±', '-', '+']);
        let unit = pair[1].trim_end_matches(['.', ',', ';', ')', ':']);
        let is_number = number.starts_with(|c: char| c.is_ascii_digit()) && number.ends_with(|c: char| c.is_ascii_digit());
        assert!(both || !is_number || !others.contains(&unit), "{} {unit} in the book of {}", pair[0], made.build.title);
    }
}

fn everything(text: &str) -> Made {
    let made = Made::of(text);
    report_and_commands(&made);
    report_and_words(&made);
    report_and_tables(&made);
    units_of_the_file(&made);
    made
}

#[test]
fn a_bow_in_inches_has_one_number_for_each_thing() {
    everything(&example("meadow"));
}

/// What a shim comes to stands in table, sled sheet and book.
#[test]
fn strips_have_one_number_for_each_thing() {
    let made = everything(&example("strips"));
    for lamination in &made.build.laminations {
        let (plan, sander) = (made.build.sled.as_ref().unwrap(), made.build.sander.as_ref().unwrap());
        let sled = taperwright::shop::sled::build(lamination, plan, sander).unwrap().value;
        let stock = &made.build.shop.shims;
        let kit = makes::lay_out(&sled, &Means::of(&made.build, plan, sander, lamination)).unwrap().value;
        let shim = &kit.shims[0].made;
        let table = made.table(&format!("shims-{}.csv", file_name(&lamination.name)));
        assert_eq!(table.len(), 1);
        shows(cell(&table[0], "shim_"), made.build.units.length(shim.wanted_mm));
        shows(cell(&table[0], "made_up_"), made.build.units.length(shim.made_mm));
        for (kind, count) in &shim.pieces {
            assert!(cell(&table[0], "pieces").contains(&format!("{count} x {}", stock[*kind].of)));
        }
    }
}

/// Of two stocks of one name, table, book and sheet say by their thicknesses which is meant.
#[test]
fn two_stocks_of_one_name_are_told_apart_wherever_shims_are_listed() {
    use taperwright::job::{Inputs, Job};
    let text = example("strips").replace("brass strip", "printer paper");
    let made = Made::of(&text);
    let wanted = "2 × printer paper 0.004 in + 2 × printer paper 0.016 in";
    assert_eq!(cell(&made.table("shims-one-thousandth.csv")[0], "pieces"), wanted.replace('×', "x"));
    made.says(wanted);
    let job = Job::read("strips", &text, Inputs::default()).unwrap_or_else(|_| panic!("read before"));
    let (build, lamination) = (job.build(), &job.build().laminations[1]);
    let kit = job.ground(1).unwrap().unwrap().kit.as_ref().unwrap();
    let sheet = sheets::assembly::sheet(build, build.sled_for(lamination).unwrap(), lamination, kit, &[]);
    let said = |item: &taperwright::drawing::Item| matches!(&item.shape, Shape::Label(label) if label.text == wanted);
    assert!(sheet.panels.iter().flat_map(|panel| &panel.items).any(said));
}

/// Millimetres, and a target in pounds: pounds stand beside newtons wherever the weight is said.
#[test]
fn a_bow_in_millimetres_for_a_target_in_pounds_says_both() {
    let text = r#"
title = "Plover"
units = "mm"
[target]
draw_weight = "34 lbf"
draw_length = "27 in"
brace_height = 160
finishing = "2 lbf"
[outline]
nock_to_nock = 1810
width = [[0, 30], [100, 30], [300, 47], [520, 43], [905, 13]]
tip_beyond_nock = 17
[riser]
on = "belly"
length = 480
level = 90
depth = 32
fade = "eased"
across = [["ash, white", 17], ["walnut, black", 12.5], ["ash, white", 17]]
[[lamination]]
name = "back"
wood = "hickory, shagbark"
thickness = 3.7
taper = 0.001
pieces = "full"
stock = { thickness = 5.2, width = 52 }
[[lamination]]
name = "core"
wood = "maple, sugar"
thickness = 4.4
taper = 0.002
stock = { thickness = 5.6, width = 52 }
[[lamination]]
name = "belly"
wood = "ash, white"
thickness = 4.6
taper = 0.0015
stock = { thickness = 6.1, width = 52 }
[glue]
spread = "0.28 kg/m2"
[[glue.stage]]
held = { form = [[0, 0], [240, 0], [560, -11], [905, -38]] }
clamp_time = "17.5 h"
[sander]
gap_step = 0.02
papers = [{ grit = 60, most = 0.3 }, { grit = 80, most = 0.15 }]
[sled]
make = "solid"
base = 30
"#;
    let made = everything(text);
    let wanted = made.build.weight_text(System::Inch.to_newtons(36.0));
    assert!(wanted.ends_with("N (36.0 lbf)"), "{wanted}");
    made.says(&wanted);
    // The same target in newtons needs no pounds.
    let newtons = text.replace("\"34 lbf\"", "151.2");
    let build = buildfile::read("n.toml", &newtons).1.unwrap().value;
    assert_eq!(build.weight_text(151.2), "151.2 N");
}

/// Two limbs from two files: the numbers of the text are those of the JSON, warnings name limb and file, and the lower file's own target
/// counts.
#[test]
fn two_limbs_are_told_apart_and_judged_by_both_targets() {
    let folder = tempfile::tempdir().unwrap();
    let written = |name: &str, text: &str| {
        let path = folder.path().join(name);
        fs::write(&path, text).unwrap();
        path
    };
    let text = example("meadow");
    let upper = written("upper.toml", &text);
    let pair = |lower: &Path, arguments: &[&str]| {
        let mut command = Command::cargo_bin("taperwright").unwrap();
        command.arg("bow").arg(&upper).arg("--lower").arg(lower).args(arguments).output().unwrap()
    };
    // Far too heavy for its file, and for it alone: the warning is the lower limb's.
    let lower = written("lower.toml", &text.replace("\"38 lbf\"", "\"30 lbf\""));
    let told = pair(&lower, &[]);
    let stderr = String::from_utf8(told.stderr).unwrap();
    assert!(told.status.success(), "{stderr}");
    assert!(stderr.contains("lower limb, ") && stderr.contains("lower.toml"), "{stderr}");
    assert!(!stderr.contains("upper limb, "), "{stderr}");
    let value: Value = serde_json::from_slice(&pair(&lower, &["--json"]).stdout).unwrap();
    let alone = json(&["bow", "--json"], &upper);
    let weight = value["draw_weight_n"].as_f64().unwrap();
    assert!((weight / alone["draw_weight_n"].as_f64().unwrap() - 1.0).abs() < 1e-3, "two equal limbs are the bow itself");
    assert_eq!(value["upper"]["strains"].as_array().unwrap().len(), alone["strains"].as_array().unwrap().len());
    let stdout = String::from_utf8(told.stdout).unwrap();
    let shown = taperwright::units::fixed(System::Inch.force(weight), 1);
    assert!(stdout.contains(&shown) && stdout.contains(&System::Inch.rule(value["string_mm"].as_f64().unwrap())), "{stdout}");
    // Another brace is another bow; the hint's number is taken.
    let braced = written("braced.toml", &text.replace("brace_height = 6.25", "brace_height = 6.5"));
    let refused = pair(&braced, &[]);
    let stderr = String::from_utf8(refused.stderr).unwrap();
    assert_eq!(refused.status.code(), Some(1));
    assert!(stderr.contains("lower limb, ") && stderr.contains("write `brace_height` = 6.25 in"), "{stderr}");
}

/// What is said of a value and of the same value as the report has it is one text, on halves of the last digit and close to them, too; and a half
/// goes up, whichever way its last bit has fallen.
#[test]
fn a_number_and_its_published_value_are_said_alike() {
    use taperwright::units::percent;
    use taperwright::units::published::round;
    let said: [fn(System, f64) -> String; 8] = [
        System::thickness,
        System::fine,
        System::rule,
        System::tiller,
        System::tip,
        System::decimal,
        System::force_text,
        System::stress_number,
    ];
    for units in [System::Inch, System::Millimetre] {
        for k in 0..4000 {
            // Halves of thousandths of an inch, and of hundredths of a millimetre.
            let half = [0.0127 * f64::from(2 * k + 1), 0.005 * f64::from(2 * k + 1)][usize::from(units == System::Millimetre)];
            for off in [-4.9e-5, -1e-5, -1e-12, 0.0, 1e-12, 1e-5, 4.9e-5] {
                let value = half + off;
                for (number, say) in said.iter().enumerate() {
                    assert_eq!(say(units, value), say(units, round(value)), "{number}: {value}");
                }
                let ratio = 0.005 * f64::from(2 * k + 1) + off;
                assert_eq!(percent(ratio, 0), percent(round(ratio), 0), "{ratio}");
            }
            let up = units.thickness(half + 0.001);
            for off in [-4.9e-5, 0.0, 4.9e-5] {
                assert_eq!(units.thickness(half + off), up, "a half of {half}");
            }
        }
    }
}

/// Heights of sleds, thicknesses and what calipers must read are the same text in the book and on the sheets, and what sizing says of a strip is what
/// the book says, over examples and builds whose figures end on halves.
#[test]
fn book_and_sheets_say_one_text() {
    use taperwright::job::{Change, Inputs, Job};
    let halves = |name: &str, text: String| Job::read(name, &text, Inputs::default()).unwrap_or_else(|_| panic!("{name}"));
    let strips = halves("strips", example("strips"));
    let mut jobs = vec![halves("heron", example("heron")), halves("meadow", example("meadow")), strips];
    for k in 0..4 {
        let odd = format!("{} mm", 3.1115 + 0.00253 * f64::from(k));
        let changed = jobs[1].with(&[Change::new("lamination[1].thickness", odd.as_str())]);
        jobs.push(changed.unwrap_or_else(|unread| panic!("{:?}", unread.faults)));
    }
    let mut compared = 0;
    for job in &jobs {
        let files = job.files().unwrap();
        let names: Vec<String> = files.names().map(str::to_owned).collect();
        let bytes = |name: &str| String::from_utf8(files.bytes(names.iter().position(|n| n == name).unwrap()).unwrap()).unwrap();
        let book = bytes("build-book.html");
        // What the book says of a value of the report.
        let in_book = |pointer: &str| {
            let after = book.split(&format!("data-in=\"{pointer}\">")).nth(1)?;
            Some(after.split('<').next()?.to_owned())
        };
        let report = job.report().unwrap();
        for (index, row) in report.laminations.iter().enumerate() {
            let Some(sled) = &row.sled else { continue };
            let name = format!("templates/sled-{}-assembly.svg", file_name(&row.name));
            if !names.contains(&name) {
                continue;
            }
            let (build, lamination) = (job.build(), &job.build().laminations[index]);
            let (plan, sander) = (build.sled_for(lamination).unwrap(), build.sander.as_ref().unwrap());
            let kit = job.ground(index).unwrap().unwrap().kit.clone().unwrap();
            assert_eq!(kit, makes::lay_out(&kit.sled, &Means::of(build, plan, sander, lamination)).unwrap().value);
            let gaps = [LastGap { of: row.name.clone(), gap_mm: kit.sled.final_gap_mm }];
            let sheet = sheets::assembly::sheet(build, plan, lamination, &kit, &gaps);
            // Rows of its tables, each from left to right.
            let mut rows: std::collections::BTreeMap<(usize, i64), Vec<(f64, String)>> = std::collections::BTreeMap::new();
            for (panel, item) in
                sheet.panels.iter().enumerate().flat_map(|(k, panel)| panel.items.iter().map(move |item| (k, item)))
            {
                if let Shape::Label(label) = &item.shape {
                    rows.entry((panel, (100.0 * label.at.y).round() as i64)).or_default().push((label.at.x, label.text.clone()));
                }
            }
            rows.values_mut().for_each(|row| row.sort_by(|a, b| a.0.total_cmp(&b.0)));
            for k in 0..sled.heights.len() {
                let at = |key: &str| in_book(&format!("/laminations/{index}/sled/heights/{k}/{key}"));
                let (Some(place), Some(station), Some(height)) = (at("u_mm"), at("station_mm"), at("surface_mm")) else {
                    continue;
                };
                let bare = |text: &str| text.trim_end_matches(job.build().units.length_unit()).trim_end().to_owned();
                // Place, station, ramp, surface: a row of the sheet.
                let row = rows.values().find(|row| 3 < row.len() && row[0].1 == bare(&place) && row[1].1 == bare(&station));
                if let Some(row) = row {
                    assert_eq!(row[3].1, height, "{name}, {place}");
                    compared += 1;
                }
            }
        }
    }
    assert!(20 < compared, "{compared} numbers are no test");
}

/// The book says how each form comes to be before anything is glued on it, names no name between grave accents, and a step's figures have no zeros that
/// mean nothing.
#[test]
fn the_book_makes_the_form_before_it_is_glued_on() {
    for name in ["heron", "meadow"] {
        let made = Made::of(&example(name));
        let glued = glueup::plan(&made.build).unwrap().value;
        let form = glued.stages.iter().find_map(|stage| form::lay_out(&made.build, &glued, stage, 0.0).unwrap().value).unwrap();
        let (chapter, dry_run) = (made.book.rfind("Forms: how they are made"), made.book.rfind("Everything once without glue"));
        assert!(chapter < dry_run && chapter.is_some(), "{name}: {chapter:?} {dry_run:?}");
        let of_it = &made.book[chapter.unwrap()..dry_run.unwrap()];
        let pieces = format!("Lock the {} pieces", form.parts.len());
        assert!(of_it.contains(&pieces) == (1 < form.parts.len()), "{name}: {of_it}");
        assert!(of_it.contains(&form.sheet_name()) && of_it.contains(&made.build.units.rule(glued.blank_mm)), "{of_it}");
        assert!(!made.book.contains('`'), "{name}");
    }
}
