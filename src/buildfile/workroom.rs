//! `[shop]`: what cuts the sheet, what templates are printed on, stock for shims, and how lines are written.

use super::raw::Value;
use super::reader::{FileSection, Preset, Range, Written, if_given};
use super::spelling::{self, Quoted};
use super::wording::{amount, shortened};
use crate::drawing::kind::{Kind, LineTable};
use crate::model::paper;
use crate::model::workshop::{AlsoPrinted, CutDirection, PrintPaper, RouterProfile, SheetCutter, ShimStock, Shop, Tabs};
use crate::units::{self, Quantity, System};

pub fn shop(section: &FileSection<'_>) -> Option<Shop> {
    let cutter = match section.get("cutter") {
        Some(written) => cutter(&written),
        None => {
            let inside = FileSection::new(section.notes, section.place.key("cutter"), "shop.cutter", None);
            section.assume("cutter", "hand", "no laser or router is named: parts are sawn to a printed template");
            let hand = SheetCutter::Hand { holds_mm: inside.preset("holds", Quantity::Length, HAND_HOLDS) };
            Some((hand, RouterProfile::default()))
        }
    };
    let paper = match section.get("paper") {
        Some(written) => print_paper(&written),
        None => {
            let name = if section.notes.system == System::Inch { "letter" } else { "a4" };
            section.assume("paper", name, "the sheet that goes with the file's units");
            paper::named(name).map(|format| format.sheet(margin(section)))
        }
    };
    let shims = match section.get("shims") {
        Some(written) => shims(&written),
        None => Some(default_shims(section)),
    };
    let lines = lines(&section.section("lines"));
    let printed = match section.get("print") {
        Some(written) => also_printed(&written),
        None => Some(AlsoPrinted::default()),
    };
    section.finish();
    let (cutter, profile) = cutter?;
    Some(Shop { cutter, paper: paper?, shims: shims?, lines: lines?, printed: printed?, profile })
}

/// What is wanted on paper at true size beside the patterns.
fn also_printed(written: &Written<'_>) -> Option<AlsoPrinted> {
    #[derive(Clone, Copy, PartialEq)]
    enum PrintedExtra {
        WholeOutline,
        CutFiles,
    }
    let items = written.list("what is printed at true size too, such as [\"whole outline\"]")?;
    let words = [("whole outline", PrintedExtra::WholeOutline), ("cut files", PrintedExtra::CutFiles)];
    let wanted: Option<Vec<PrintedExtra>> = items.iter().map(|item| item.word(&words)).collect();
    let wanted = wanted?;
    Some(AlsoPrinted {
        whole_outline: wanted.contains(&PrintedExtra::WholeOutline),
        cut_files: wanted.contains(&PrintedExtra::CutFiles),
    })
}

const HAND_HOLDS: Preset = Preset::new(0.015, 0.4, "a bandsaw and a sanding block to a line; common practice, no source");
const LASER_HOLDS: Preset = Preset::new(0.004, 0.1, "what a hobby laser holds over its bed; common practice, no source");
const ROUTER_HOLDS: Preset = Preset::new(0.005, 0.13, "what a small router holds; common practice, no source");
const KERF: Preset = Preset::new(0.008, 0.2, "birch plywood of about 3 mm; common practice, no source; cut a test strip");
const BIT: Preset = Preset::new(0.125, 3.0, "a common small bit; measure yours");
const MARGIN: Preset = Preset::new(0.25, 6.0, "most printers leave a border of about this width");

/// Width of a roll of paper.
const ROLL: Range = Range::between(150.0, 2000.0);
/// A bed too small for any part of a sled is a slip of units.
const BED: Range = Range::between(50.0, 6000.0);
const HOLDS: Range = Range::between(0.0, 2.0);

fn cutter(written: &Written<'_>) -> Option<(SheetCutter, RouterProfile)> {
    if !written.is_table() {
        let kinds = [("laser", CutterKind::Laser), ("router", CutterKind::Router), ("hand", CutterKind::Hand)];
        let kind = written.word(&kinds)?;
        let name = kinds.iter().find(|(_, known)| *known == kind).map_or("", |(name, _)| name);
        let inside = FileSection::new(written.notes, written.place.clone(), format!("{}.{name}", written.path), None);
        return cutter_of(&inside, kind);
    }
    let table = written.section()?;
    let (laser, router, hand) = (table.has("laser"), table.has("router"), table.has("hand"));
    let cutter = match (laser, router, hand) {
        (true, false, false) => cutter_of(&table.section("laser"), CutterKind::Laser),
        (false, true, false) => cutter_of(&table.section("router"), CutterKind::Router),
        (false, false, true) => cutter_of(&table.section("hand"), CutterKind::Hand),
        _ => {
            let hint =
                "write { laser = { kerf = .., bed = [.., ..], holds = .. } }, or router with bit, bed and holds, or \"hand\"";
            table.fault("", "one of laser, router and hand is wanted", hint);
            None
        }
    };
    for key in ["laser", "router", "hand"] {
        table.get(key);
    }
    table.finish();
    cutter
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum CutterKind {
    Laser,
    Router,
    Hand,
}

fn cutter_of(section: &FileSection<'_>, kind: CutterKind) -> Option<(SheetCutter, RouterProfile)> {
    let mut profile = Some(RouterProfile::default());
    let cutter = match kind {
        CutterKind::Laser => {
            let kerf = section.length_or("kerf", Range::between(0.0, 3.0), KERF);
            let bed = bed(section, [20.0, 12.0], [500.0, 300.0]);
            let holds = section.length_or("holds", HOLDS, LASER_HOLDS);
            kerf.zip(bed).zip(holds).map(|((kerf_mm, bed_mm), holds_mm)| SheetCutter::Laser { kerf_mm, bed_mm, holds_mm })
        }
        CutterKind::Router => {
            let bit = section.length_or("bit", Range::between(0.2, 30.0), BIT);
            let bed = bed(section, [24.0, 24.0], [600.0, 600.0]);
            let holds = section.length_or("holds", HOLDS, ROUTER_HOLDS);
            profile = router_profile(section);
            bit.zip(bed).zip(holds).map(|((bit_mm, bed_mm), holds_mm)| SheetCutter::Router { bit_mm, bed_mm, holds_mm })
        }
        CutterKind::Hand => section.length_or("holds", HOLDS, HAND_HOLDS).map(|holds_mm| SheetCutter::Hand { holds_mm }),
    };
    section.finish();
    cutter.zip(profile)
}

/// How the router goes around a part: nothing here has a default.
fn router_profile(section: &FileSection<'_>) -> Option<RouterProfile> {
    let tabs = section.get("tabs").map(|written| {
        let table = written.section()?;
        let count = table.need("count", "add how many hold a part").and_then(|written| written.count(1, 40));
        let length_mm = table.need_length("length", Range::between(0.5, 100.0), "add the length of a bridge, beside the bit");
        let height_mm = table.need_length("height", Range::between(0.1, 30.0), "add what is left of the sheet's thickness");
        table.finish();
        Some(Tabs { count: count?, length_mm: length_mm?, height_mm: height_mm? })
    });
    let direction = section
        .get("direction")
        .map(|written| written.word(&[("climb", CutDirection::Climb), ("conventional", CutDirection::Conventional)]));
    let length = |key: &'static str, range: Range| section.get(key).map(|written| written.quantity(Quantity::Length, range));
    let ramp = length("ramp", Range::between(1.0, 500.0));
    let depth = length("depth", Range::between(0.1, 50.0));
    let through = length("through", Range::between(0.0, 5.0));
    Some(RouterProfile {
        tabs: if_given(tabs)?,
        direction: if_given(direction)?,
        ramp_mm: if_given(ramp)?,
        depth_mm: if_given(depth)?,
        through_mm: if_given(through)?,
    })
}

fn bed(section: &FileSection<'_>, inch: [f64; 2], metric: [f64; 2]) -> Option<[f64; 2]> {
    if let Some(written) = section.get("bed") {
        return written.two_lengths(BED);
    }
    let system = section.notes.system;
    let size = if system == System::Inch { inch } else { metric };
    let text = format!("[{}, {}] {}", size[0], size[1], system.length_unit());
    section.assume("bed", text, "a common small bed; measure yours");
    Some(size.map(|side| system.to_mm(side)))
}

fn margin(section: &FileSection<'_>) -> f64 {
    let inside = FileSection::new(section.notes, section.place.key("paper"), "shop.paper", None);
    inside.preset("margin", Quantity::Length, MARGIN)
}

fn print_paper(written: &Written<'_>) -> Option<PrintPaper> {
    if !written.is_table() {
        let inside = FileSection::new(written.notes, written.place.clone(), written.path.clone(), None);
        let margin_mm = inside.preset("margin", Quantity::Length, MARGIN);
        return named_paper(written, margin_mm);
    }
    let table = written.section()?;
    let margin = table.length_or("margin", Range::between(0.0, 40.0), MARGIN);
    let name = table.need("name", "add it, such as { name = \"a4\", margin = 5 }");
    table.finish();
    named_paper(&name?, margin?)
}

fn named_paper(written: &Written<'_>, margin_mm: f64) -> Option<PrintPaper> {
    let name = written.text("a paper's name")?;
    if let Some(format) = paper::named(name) {
        return Some(format.sheet(margin_mm));
    }
    if let Some(width) = name.trim().to_lowercase().strip_prefix("roll") {
        let width_mm = match units::read(width.trim(), Quantity::Length, written.notes.system) {
            Ok(width) => width,
            Err(unreadable) => {
                written.fault(unreadable.message, "write the roll's width, such as \"roll 24 in\"");
                return None;
            }
        };
        if !ROLL.holds(width_mm) {
            let width = amount(width_mm, Quantity::Length, written.notes.system);
            written.fault(format!("no printer takes a roll {width} wide"), "write the roll's width, such as \"roll 24 in\"");
            return None;
        }
        return Some(paper::roll(name.trim(), width_mm, margin_mm));
    }
    let known: Vec<&str> = paper::all().iter().map(|format| format.name.as_str()).collect();
    let meant = spelling::meant(name, known.iter().copied(), Quoted::Value, String::new);
    let hint = format!("{meant} known are {}, and rolls such as \"roll 24 in\"", known.join(", "));
    written.fault(format!("the paper \"{}\" is not known", shortened(name)), hint.trim_start());
    None
}

fn shims(written: &Written<'_>) -> Option<Vec<ShimStock>> {
    let items = written.list("shim stock, such as { of = \"masking tape\", thickness = 0.005 }")?;
    let count = items.len();
    let read = |item: Written<'_>| {
        let table = item.section()?;
        let of = table
            .need("of", "add what it is, such as of = \"masking tape\"")
            .and_then(|written| written.text("what it is").map(str::to_owned));
        let thickness =
            table.need_length("thickness", Range::between(0.01, 25.0), "add it as measured; a stack of ten tells more than one");
        let count = table.get("count").map(|written| written.count(0, 10_000));
        table.finish();
        let count = if_given(count)?;
        Some(ShimStock { of: of?, thickness_mm: thickness?, count })
    };
    let shims: Vec<ShimStock> = items.into_iter().filter_map(read).collect();
    (shims.len() == count).then_some(shims)
}

/// Thin stuff that lies about in most shops; thicknesses are usual ones, common practice, no source.
fn default_shims(section: &FileSection<'_>) -> Vec<ShimStock> {
    let system = section.notes.system;
    let stock = [
        ("clear packing tape", 0.002, 0.05),
        ("copy paper", 0.004, 0.1),
        ("masking tape", 0.005, 0.13),
        ("card", 0.011, 0.28),
        ("laminate sheet", 0.035, 0.9),
    ];
    let thickness = |inch: f64, metric: f64| if system == System::Inch { system.to_mm(inch) } else { metric };
    let all = stock.map(|(of, inch, metric)| ShimStock { of: of.into(), thickness_mm: thickness(inch, metric), count: None });
    let text: Vec<String> =
        all.iter().map(|s| format!("{} {}", s.of, amount(s.thickness_mm, Quantity::Length, system))).collect();
    section.assume("shims", text.join(", "), "usual thicknesses; common practice, no source; measure yours");
    all.to_vec()
}

fn lines(section: &FileSection<'_>) -> Option<LineTable> {
    let mut table = LineTable::default();
    let mut sound = true;
    for kind in Kind::ALL {
        if !section.has(kind.key()) {
            section.get(kind.key());
            continue;
        }
        let line = section.section(kind.key());
        let style = table.style_mut(kind);
        if let Some(written) = line.get("layer") {
            layer(&written).map_or_else(|| sound = false, |layer| style.layer = layer);
        }
        if let Some(written) = line.get("color") {
            written.count(1, 255).map_or_else(|| sound = false, |color| style.color = color as u8);
        }
        if let Some(written) = line.get("rgb") {
            rgb(&written).map_or_else(|| sound = false, |rgb| style.rgb = rgb);
        }
        if let Some(written) = line.get("weight") {
            let weight = written.quantity(Quantity::Length, Range::between(0.0, 3.0));
            weight.map_or_else(|| sound = false, |weight| style.weight_mm = weight);
        }
        line.finish();
    }
    section.finish();
    sound.then_some(table)
}

fn layer(written: &Written<'_>) -> Option<String> {
    // Characters that a DXF layer's name cannot hold.
    const NOT_IN_LAYERS: [char; 12] = ['<', '>', '/', '\\', '"', ':', ';', '?', '*', '|', '=', '`'];
    let name = written.text("a layer's name")?;
    if let Some(bad) = name.chars().find(|c| NOT_IN_LAYERS.contains(c) || *c == ',') {
        written.fault(format!("a layer's name cannot hold `{bad}`"), "use letters, digits, - and _");
        return None;
    }
    if 60 < name.chars().count() {
        written.fault("this layer's name is longer than 60 letters", "shorten it");
        return None;
    }
    Some(name.trim().to_owned())
}

/// `[255, 0, 0]` or `"#ff0000"`.
fn rgb(written: &Written<'_>) -> Option<[u8; 3]> {
    let hint = "write [red, green, blue] from 0 to 255, or \"#rrggbb\"";
    if let Value::Text(text) = &written.node.value {
        let digits =
            text.trim().strip_prefix('#').filter(|digits| digits.len() == 6 && digits.bytes().all(|b| b.is_ascii_hexdigit()));
        let Some(number) = digits.and_then(|digits| u32::from_str_radix(digits, 16).ok()) else {
            written.fault(format!("\"{}\" is not a colour", shortened(text)), hint);
            return None;
        };
        let [_, red, green, blue] = number.to_be_bytes();
        return Some([red, green, blue]);
    }
    let items = written.list("three numbers")?;
    if items.len() != 3 {
        written.fault(format!("a colour has three parts, this list has {}", items.len()), hint);
        return None;
    }
    let parts: Vec<Option<u32>> = items.iter().map(|item| item.count(0, 255)).collect();
    Some([parts[0]? as u8, parts[1]? as u8, parts[2]? as u8])
}
