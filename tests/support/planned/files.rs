//! Build files with a value at a limit, or beyond it.

use taperwright::units::System;
use taperwright::units::limit::STATION;
use toml::{Table, Value};

pub const SYSTEMS: [System; 2] = [System::Inch, System::Millimetre];

/// A hundredth of the last digit that is written, mm.
pub fn beyond(system: System) -> f64 {
    0.01 * system.to_mm(if system == System::Inch { 0.001 } else { 0.01 })
}

/// A bow, its machine and its shop; every length with its unit, so that it reads the same in both systems.
pub fn base(system: System) -> Table {
    let text = r#"
[target]
draw_weight = "180 N"
draw_length = "680 mm"
draw_length_from = "pivot"
brace_height = "160 mm"
grip_depth = "40 mm"
[outline]
nock_to_nock = "1700 mm"
width = [["0 mm", "32 mm"], ["200 mm", "40 mm"], ["850 mm", "14 mm"]]
tip_beyond_nock = "20 mm"
nock = { depth = "3 mm" }
trapped = { face = "back", by = "2 mm" }
crown = "0.5 mm"
[riser]
on = "belly"
length = "400 mm"
level = "100 mm"
depth = "30 mm"
feather = "0.3 mm"
overrun = "12 mm"
across = [["maple, sugar", "42 mm"]]
[glue]
line = "0.1 mm"
[[lamination]]
name = "core"
wood = "maple, sugar"
thickness = "4 mm"
taper = 0.002
pieces = "halves"
stock = { thickness = "6 mm", width = "44 mm", overrun = "15 mm", spread = "0.1 mm", first_face = "0.2 mm" }
[[lamination]]
name = "belly"
wood = "ash, white"
thickness = "4.5 mm"
taper = 0.002
stock = { thickness = "6 mm", width = "44 mm", overrun = "15 mm" }
[sander]
least_thickness = "0.8 mm"
least_length = "230 mm"
widest = "400 mm"
gap_step = "0.02 mm"
crank = "1.5 mm"
repeats = "0.03 mm"
papers = [{ grit = 60, most = "0.2 mm", scratch = "0.1 mm" }]
[sled]
make = "ramp"
base = "30 mm"
deck = "6 mm"
under = "0.1 mm"
tolerance = "0.05 mm"
run_on = "75 mm"
stop_clearance = "0.4 mm"
fit = "0.1 mm"
supports = "800 mm"
sheet = { thickness = "6 mm", spread = "0.1 mm", width = "610 mm", length = "1220 mm" }
[shop]
cutter = { laser = { kerf = "0.2 mm", bed = ["600 mm", "400 mm"], holds = "0.1 mm" } }
paper = { name = "a4", margin = "6 mm" }
shims = [{ of = "tape", thickness = "0.05 mm" }]
"#;
    let table: Table = format!("units = \"{}\"\n{text}", system.length_unit()).parse().expect("TOML");
    table
}

/// The value at a key path such as `lamination[0].stock.width`.
pub fn at<'a>(table: &'a mut Table, path: &str) -> &'a mut Value {
    let parts: Vec<String> = path.replace('[', ".[").split('.').map(str::to_owned).collect();
    let mut parts = parts.into_iter();
    let first = parts.next().expect("a key");
    let mut value = table.entry(first).or_insert(Value::Integer(0));
    for part in parts {
        value = match part.strip_prefix('[').and_then(|index| index.strip_suffix(']')) {
            Some(index) => &mut value.as_array_mut().expect("a list")[index.parse::<usize>().expect("an index")],
            None => value.as_table_mut().expect("a table").entry(part).or_insert(Value::Integer(0)),
        };
    }
    value
}

/// A length as a bare number of the file's units, with every digit it has.
pub fn bare(system: System, mm: f64) -> Value {
    Value::Float(system.length(mm))
}

pub fn text(table: &Table) -> String {
    toml::to_string(table).expect("writable")
}

/// A limit that other values set: what is typed where, mm, and at which place it is then wrong.
pub struct Set {
    pub what: &'static str,
    /// Beside the value itself.
    pub others: Vec<(&'static str, Value)>,
    pub path: &'static str,
    pub limit_mm: f64,
    /// Beyond it is more (1) or less (−1).
    pub outward: f64,
    pub wrong_at: &'static str,
    /// Slack of stations along the wood.
    pub slack_mm: f64,
}

pub fn words(text: &str) -> Value {
    Value::String(text.into())
}

fn set(what: &'static str, path: &'static str, limit_mm: f64, outward: f64, wrong_at: &'static str) -> Set {
    Set { what, others: Vec::new(), path, limit_mm, outward, wrong_at, slack_mm: 0.0 }
}

/// A riser of the same size in layers.
const LAYERED: &str = r#"
on = "belly"
length = "400 mm"
level = "100 mm"
depth = "30 mm"
feather = "0.3 mm"
width = "42 mm"
layers = [["maple, sugar", "10 mm"], ["walnut, black", "1 mm"], ["maple, sugar", "20 mm"]]
"#;

/// What one value allows another, worked out by hand from the definitions: the taper runs on over the overrun, a half strip has an
/// overrun at both ends, and the sled runs on beyond both.
pub fn dependent() -> Vec<Set> {
    let (end, overrun) = (870.0, 15.0);
    let strip = end + 2.0 * overrun;
    let sled = strip + 2.0 * 75.0;
    let deepest = 0.002 * overrun;
    let core = |set: Set| Set { others: [set.others, vec![("lamination[1].taper", Value::Float(0.0))]].concat(), ..set };
    let make = |set: Set, make: &str| core(Set { others: vec![("sled.make", words(make))], ..set });
    let meet = |set: Set| Set { others: vec![("lamination[0].meet", Value::Table(Table::new()))], ..set };
    let into = |set: Set, table: &'static str, text: &str| Set {
        others: vec![(table, Value::Table(text.parse().expect("TOML")))],
        ..set
    };
    let layered = |set: Set| into(set, "riser", LAYERED);
    let footing = |set: Set| into(set, "riser.footing", "wood = \"locust, black\"\nlength = \"100 mm\"\nsplice = \"50 mm\"");
    let overlay = |set: Set| {
        into(set, "riser.overlay", "wood = \"walnut, black\"\nlength = \"300 mm\"\nlevel = \"90 mm\"\ndepth = \"20 mm\"")
    };
    // Two boards and their glue lines lie under the last one.
    let under = 10.0 + 1.0 + 2.0 * 0.1;
    vec![
        layered(set("layers reach the depth", "riser.depth", under + 20.0, 1.0, "riser.layers")),
        layered(set("the last layer is left", "riser.depth", under + 0.5, -1.0, "riser.layers")),
        layered(set("block in layers", "riser.width", 40.0, -1.0, "riser.width")),
        footing(set("footing in the fade", "riser.footing.length", 150.0, 1.0, "riser.footing.length")),
        footing(set("V in the footing", "riser.footing.splice", 100.0, 1.0, "riser.footing.splice")),
        overlay(set("overlay on the riser", "riser.overlay.length", 400.0, 1.0, "riser.overlay.length"))
            .with("outline.crown", "0 mm"),
        overlay(set("strip under the overlay", "lamination[1].from", 150.0, -1.0, "lamination[1].from"))
            .with("outline.crown", "0 mm"),
        core(set("least rail", "sled.base", 12.0 + deepest, -1.0, "sled.base")),
        make(set("least board", "sled.base", 6.0 + deepest, -1.0, "sled.base"), "solid"),
        make(set("carrier on the table", "sled.base", 0.002 * (overrun + 75.0), -1.0, "sled.base"), "shims"),
        core(set("thinnest place", "sander.least_thickness", 4.0 - 0.002 * (end + overrun), 1.0, "lamination[0].taper")),
        core(set("thickness for it", "lamination[0].thickness", 0.8 + 0.002 * (end + overrun), -1.0, "lamination[0].taper")),
        Set {
            others: vec![
                ("lamination[0].taper", Value::Float(0.0)),
                ("lamination[1].taper", Value::Float(0.0)),
                ("sander.widest", words("2500 mm")),
            ],
            ..set("shortest strip", "sander.least_length", strip, 1.0, "lamination[0]")
        },
        Set {
            others: vec![("lamination[1].taper", words("0.001"))],
            ..set("shortest sled", "sander.least_length", sled, 1.0, "lamination[0]")
        },
        core(set("run-on for it", "sled.run_on", 0.5 * (1000.0 - strip), -1.0, "lamination[0]"))
            .with("sander.least_length", "1000 mm"),
        Set {
            others: vec![("lamination[0].taper", Value::Float(0.0)), ("lamination[1].taper", Value::Float(0.0))],
            ..set("widest strip", "sander.widest", 44.0, -1.0, "lamination[0].stock.width")
        },
        core(set("stock", "lamination[0].stock.thickness", 4.0 + deepest + 0.2, -1.0, "lamination[0].stock.thickness")),
        make(set("board's length", "sled.sheet.length", sled, -1.0, "sled.sheet.length"), "solid"),
        make(set("supports", "sled.supports", sled, 1.0, "sled.supports"), "raised-end").with("sled.sheet.length", "2000 mm"),
        set("trapped", "outline.trapped.by", 0.75 * (14.0 - 20.0 * 26.0 / 650.0), 1.0, "outline.trapped.by"),
        set("crown", "outline.crown", 4.5 - 0.002 * end, 1.0, "outline.crown"),
        set("longest draw", "target.draw_length", 0.6 * 1700.0, 1.0, "target.draw_length"),
        set("slices", "riser.across[0][1]", 40.0, -1.0, "riser.across"),
        set("paper and gauge", "sander.papers[0].most", 0.02, -1.0, "sander.papers[0].most"),
        meet(set("flattest scarf of halves", "lamination[0].meet.scarf", 40.0 * 4.0, 1.0, "lamination[0].meet.scarf")),
        meet(set("steepest scarf of halves", "lamination[0].meet.scarf", 4.0 * 4.0, -1.0, "lamination[0].meet.scarf")),
        meet(set("lap on the level part", "lamination[0].meet.lap", 100.0, 1.0, "lamination[0].meet.lap")),
        meet(set("riser for a lap", "riser.depth", 2.0 * (4.0 + 0.1), -1.0, "lamination[0].meet.lap"))
            .with("lamination[0].meet.lap", "50 mm"),
        Set { slack_mm: STATION, ..set("wood's end", "lamination[0].to", end, 1.0, "lamination[0].to") },
    ]
}

impl Set {
    fn with(mut self, path: &'static str, value: &str) -> Set {
        self.others.push((path, words(value)));
        self
    }

    /// The file with the value `off` beyond its limit, mm.
    pub fn file(&self, system: System, off_mm: f64) -> Table {
        let mut table = base(system);
        for (path, value) in &self.others {
            let value = if *path == "lamination[1].taper" && value.is_str() { Value::Float(0.001) } else { value.clone() };
            *at(&mut table, path) = value;
        }
        *at(&mut table, self.path) = bare(system, self.limit_mm + self.outward * off_mm);
        table
    }
}
