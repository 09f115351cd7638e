//! `[sander]`, `[sled]`, `[shop]` and `[glue]`: what the work is done with.

use super::raw::{Node, Value};
use super::reader::{LONGEST_MM, Notes, Range, Section, nearest, points, shown};
use crate::diag::Place;
use crate::drawing::kind::{Kind, LineTable};
use crate::model::workshop::{
    Glue, GlueStage, Held, MachineCutter, Paper, PrintPaper, Sander, Sheet, SheetCutter, ShimStock, Shop, SledMake, SledPlan,
};
use crate::model::{grit, paper};
use crate::units::{self, Quantity, System};

const LENGTH: Range = Range::above_zero(Quantity::Length, LONGEST_MM);
const FINE: Range = Range::above_zero(Quantity::Length, 5.0);
const FINE_OR_NONE: Range = Range::from_zero(Quantity::Length, 5.0);

/// A usual value, round in the units of the file.
fn usual(notes: &Notes, inches: f64, mm: f64) -> f64 {
    if notes.units == System::Inch { System::Inch.to_mm(inches) } else { mm }
}

pub fn sander(root: &mut Section<'_>, notes: &mut Notes) -> Option<Sander> {
    let mut section = root.section("sander", notes)?;
    let cutter = section.word("cutter", &[("drum", MachineCutter::Drum), ("planer", MachineCutter::Planer)], notes);
    if !section.has("cutter") {
        notes.assume("sander.cutter", "drum", "tapered laminations are ground on drum sanders");
    }
    let cutter = cutter.unwrap_or(MachineCutter::Drum);
    let u = |inches, mm| usual(notes, inches, mm);
    let (thin, short, wide, step, crank, repeats) =
        (u(0.03, 0.8), u(9.0, 230.0), u(16.0, 400.0), u(0.002, 0.05), u(0.0625, 1.5), u(0.001, 0.025));
    let feed = (if notes.units == System::Inch { 10.0 } else { 3.0 }) * Quantity::Speed.bare_factor(notes.units);
    let roller = (if notes.units == System::Inch { 8.0 } else { 35.0 }) * Quantity::Force.bare_factor(notes.units);
    let sander = Sander {
        cutter,
        least_thickness_mm: section.number_or(
            "least_thickness",
            Range::above_zero(Quantity::Length, 60.0),
            thin,
            "1/32 in is the thinnest that small drum machines take; the maker's manual governs",
            notes,
        ),
        least_length_mm: section.number_or(
            "least_length",
            LENGTH,
            short,
            "school shops allow nothing shorter; the maker's manual governs",
            notes,
        ),
        widest_mm: section.number_or("widest", LENGTH, wide, "a common drum width", notes),
        feed_mm_s: section.number_or(
            "feed",
            Range::above_zero(Quantity::Speed, 1000.0),
            feed,
            "the top feed of many small drum sanders",
            notes,
        ),
        roller_n: section.number_or(
            "roller",
            Range::from_zero(Quantity::Force, 2000.0),
            roller,
            "sprung pressure rollers press about that much",
            notes,
        ),
        gap_step_mm: section.number_or("gap_step", FINE, step, "the finest step that a drum's scale usually shows", notes),
        crank_mm: section.number_or(
            "crank",
            Range::above_zero(Quantity::Length, 50.0),
            crank,
            "1/16 in a turn is common, but not on all machines",
            notes,
        ),
        repeats_mm: section.number_or("repeats", FINE_OR_NONE, repeats, "what a drum with spring in it gives again", notes),
        papers: papers(&mut section, cutter, notes),
        together: section.count_or("together", 1, 20, 1, "one strip at a time", notes),
        repeat_last: section.count_or(
            "repeat_last",
            0,
            10,
            2,
            "drum and strip spring out in one to three passes without a change",
            notes,
        ),
    };
    section.finish(notes);
    Some(sander)
}

fn papers(section: &mut Section<'_>, cutter: MachineCutter, notes: &mut Notes) -> Vec<Paper> {
    // School rules and manuals of small drum machines allow 1/64 in a pass; common practice, no source.
    let ceiling = System::Inch.to_mm(1.0 / 64.0);
    if !section.has("papers") {
        section.node("papers");
        if cutter == MachineCutter::Planer {
            notes.assume("sander.papers", "knives, 1/64 in a pass", "a planer has no paper");
            return vec![Paper { grit: None, most_mm: ceiling, scratch_mm: 0.0 }];
        }
        notes.assume("sander.papers", "60 then 80 grit", "36 to 80 grit leaves a face that glues well");
        return [60, 80]
            .iter()
            .filter_map(|grade| grit::of_grade(*grade))
            .map(|g| Paper { grit: Some(g.grade), most_mm: g.most_mm.unwrap_or(0.0).min(ceiling), scratch_mm: g.scratch_mm() })
            .collect();
    }
    let place = section.at("papers");
    let mut found: Vec<Paper> = Vec::new();
    for mut row in section.sections("papers", notes) {
        let grade = if cutter == MachineCutter::Planer {
            row.count("grit", 12, 220, notes)
        } else {
            if !row.has("grit") {
                row.missing("grit", "the P grade of the paper", notes);
            }
            row.count("grit", 12, 220, notes)
        };
        let known = grade.and_then(grit::of_grade);
        if let (Some(grade), None) = (grade, known) {
            let grades: Vec<String> = grit::all().iter().map(|g| g.grade.to_string()).collect();
            notes.fault(
                row.at("grit"),
                format!("there is no paper of grade P{grade}"),
                &format!("ISO 6344 has {}", grades.join(", ")),
            );
        }
        let most = row.number("most", FINE, notes);
        if most.is_none()
            && !row.has("most")
            && let Some(default) = known.and_then(|g| g.most_mm)
        {
            notes.assume(
                row.at("most").as_str(),
                notes.units.measure(default.min(ceiling)),
                "what a light drum takes in hard maple with this grit, and no more than 1/64 in",
            );
        }
        let most_mm = most.unwrap_or(known.and_then(|g| g.most_mm).unwrap_or(ceiling).min(ceiling));
        if ceiling + 1e-9 < most_mm {
            notes.warn(
                row.at("most"),
                format!(
                    "a cut of {} is deeper than the 1/64 in that school rules and many manuals allow",
                    notes.units.measure(most_mm)
                ),
                "the machine maker's manual governs",
            );
        }
        let scratch = row.number("scratch", FINE_OR_NONE, notes).unwrap_or(known.map_or(0.0, |g| g.scratch_mm()));
        if let Some(before) = found.last().and_then(|paper| paper.grit)
            && grade.is_some_and(|grade| grade <= before)
        {
            notes.fault(
                row.at("grit"),
                format!("P{} does not come after P{before}", grade.unwrap_or(0)),
                "list papers from coarse to fine, as they are used",
            );
        }
        found.push(Paper { grit: grade, most_mm, scratch_mm: scratch });
        row.finish(notes);
    }
    if found.is_empty() && notes.faults.is_empty() {
        notes.fault(place, "the list of papers is empty", "write papers = [{ grit = 60, most = 0.012 }, …], from coarse to fine");
    }
    found
}

pub fn sled(root: &mut Section<'_>, notes: &mut Notes) -> Option<SledPlan> {
    let mut section = root.section("sled", notes)?;
    let makes =
        [("ramp", SledMake::Ramp), ("solid", SledMake::Solid), ("shims", SledMake::Shims), ("raised-end", SledMake::RaisedEnd)];
    let make = section.word("make", &makes, notes);
    if !section.has("make") {
        notes.assume("sled.make", "ramp", "a ramp cut from sheet serves every taper");
    }
    let make = make.unwrap_or(SledMake::Ramp);
    let u = |inches, mm| usual(notes, inches, mm);
    let (base, tolerance, run_on, clearance, fit) = (u(1.0, 25.0), u(0.001, 0.03), u(3.0, 80.0), u(0.02, 0.5), u(0.004, 0.1));
    let base_mm = section.number_or(
        "base",
        Range::above_zero(Quantity::Length, 300.0),
        base,
        "high enough for slots and stiff rails",
        notes,
    );
    let butt_leads = section.flag("butt_leads", notes);
    if !section.has("butt_leads") {
        notes.assume("sled.butt_leads", "true", "the drum pulls a strip that is held at its thick leading end flat");
    }
    let tolerance_mm = section.number_or("tolerance", FINE, tolerance, "half of what matched strips may differ by", notes);
    let run_on_mm = section.number_or(
        "run_on",
        Range::from_zero(Quantity::Length, 1000.0),
        run_on,
        "snipe falls on the sled, not on the strip: drum to pressure roller is 2 to 4 in",
        notes,
    );
    let stop_clearance_mm = section.number_or(
        "stop_clearance",
        Range::above_zero(Quantity::Length, 10.0),
        clearance,
        "the cutter must never reach the stop",
        notes,
    );
    let supports_mm = section.number("supports", LENGTH, notes);
    let fit_mm =
        section.number_or("fit", Range::between(Quantity::Length, -1.0, 2.0), fit, "slots that slide together by hand", notes);
    let sheet = sheet(&mut section, notes);
    let deck = if make == SledMake::Ramp { sheet.as_ref().map_or(0.0, |sheet| sheet.thickness_mm) } else { 0.0 };
    let why = if make == SledMake::Ramp {
        "the deck is cut from the same sheet as the rails"
    } else {
        "the strip lies on the board itself"
    };
    // Carried on shims, the strip needs a board that is stiff between them.
    let (deck, why) = if make == SledMake::Shims {
        (sheet.as_ref().map_or(0.0, |s| s.thickness_mm), "the carrier over the shims is cut from this sheet")
    } else {
        (deck, why)
    };
    let deck_mm = section.number_or("deck", Range::from_zero(Quantity::Length, 60.0), deck, why, notes);
    let under_mm = section.number_or("under", FINE_OR_NONE, 0.0, "nothing between deck and strip", notes);
    section.finish(notes);
    Some(SledPlan {
        make,
        base_mm,
        deck_mm,
        under_mm,
        butt_leads: butt_leads.unwrap_or(true),
        tolerance_mm,
        run_on_mm,
        stop_clearance_mm,
        supports_mm,
        sheet: sheet?,
        fit_mm,
    })
}

fn sheet(section: &mut Section<'_>, notes: &mut Notes) -> Option<Sheet> {
    let u = |inches, mm| usual(notes, inches, mm);
    let (thickness, spread, width, length) = (u(0.236, 6.0), u(0.006, 0.15), u(24.0, 600.0), u(48.0, 1200.0));
    // Plywood along its face grain; sag of carriers hangs on it.
    let modulus = 8000.0;
    if !section.has("sheet") {
        section.node("sheet");
        notes.assume("sled.sheet", "birch plywood, 6 mm", "stiff, flat and cut by small lasers");
        return Some(Sheet {
            material: "birch plywood".into(),
            thickness_mm: thickness,
            spread_mm: spread,
            width_mm: width,
            length_mm: length,
            modulus_mpa: modulus,
        });
    }
    let mut sheet = section.section("sheet", notes)?;
    let material = sheet.text("material", notes);
    if material.is_none() && !sheet.has("material") {
        notes.assume("sled.sheet.material", "birch plywood", "stiff, flat and cut by small lasers");
    }
    let thickness_mm =
        sheet.needed("thickness", Range::above_zero(Quantity::Length, 80.0), "as measured: nominal sizes are not real", notes);
    let spread_mm = sheet.number_or("spread", FINE_OR_NONE, spread, "plywood differs by that much over a sheet", notes);
    let width_mm = sheet.number_or("width", LENGTH, width, "a common sheet", notes);
    let length_mm = sheet.number_or("length", LENGTH, length, "a common sheet", notes);
    let modulus_mpa = sheet.number_or(
        "modulus",
        Range::between(Quantity::Modulus, 500.0, 250_000.0),
        modulus,
        "birch plywood along its face grain, from memory",
        notes,
    );
    sheet.finish(notes);
    Some(Sheet {
        material: material.unwrap_or_else(|| "birch plywood".into()),
        thickness_mm: thickness_mm?,
        spread_mm,
        width_mm,
        length_mm,
        modulus_mpa,
    })
}

pub fn shop(root: &mut Section<'_>, notes: &mut Notes) -> Option<Shop> {
    let default_paper = if notes.units == System::Inch { "letter" } else { "a4" };
    let fallback = paper::named(default_paper)?.clone();
    let mut section = match root.section("shop", notes) {
        Some(section) => section,
        None => {
            notes.assume("shop.cutter", "hand", "no cutter is given: templates are printed and sawn");
            notes.assume("shop.paper", default_paper, "the usual office paper");
            return Some(Shop {
                cutter: SheetCutter::Hand { holds_mm: usual(notes, 0.01, 0.25) },
                paper: fallback,
                shims: Vec::new(),
                lines: LineTable::default(),
            });
        }
    };
    let cutter = sheet_cutter(&mut section, notes);
    let paper = match section.text("paper", notes) {
        Some(name) => print_paper(&name, section.at("paper"), notes),
        None => {
            if !section.has("paper") {
                notes.assume("shop.paper", default_paper, "the usual office paper");
            }
            Some(fallback)
        }
    };
    let shims = shims(&mut section, notes);
    let lines = lines(&mut section, notes);
    section.finish(notes);
    Some(Shop { cutter: cutter?, paper: paper?, shims, lines })
}

fn sheet_cutter(section: &mut Section<'_>, notes: &mut Notes) -> Option<SheetCutter> {
    let place = section.at("cutter");
    let shape =
        "write cutter = { laser = { kerf = 0.008, bed = [20, 12] } }, { router = { bit = 0.125, bed = [24, 24] } } or \"hand\"";
    let (by_hand, holds) = (usual(notes, 0.01, 0.25), usual(notes, 0.004, 0.1));
    let Some(node) = section.node("cutter") else {
        notes.assume("shop.cutter", "hand", "no cutter is given: templates are printed and sawn");
        return Some(SheetCutter::Hand { holds_mm: by_hand });
    };
    match &node.value {
        Value::Text(word) if word == "hand" => Some(SheetCutter::Hand { holds_mm: by_hand }),
        Value::Table(table) => {
            let mut outer = Section::new(table, place.clone());
            let laser = outer.section("laser", notes);
            let router = outer.section("router", notes);
            outer.finish(notes);
            let is_laser = laser.is_some();
            let Some(mut inner) = (if laser.is_some() && router.is_some() { None } else { laser.or(router) }) else {
                notes.fault(place, "a cutter is one laser or one router", shape);
                return None;
            };
            let width = if is_laser {
                inner.needed("kerf", Range::from_zero(Quantity::Length, 3.0), "full width of the laser's cut", notes)
            } else {
                inner.needed("bit", Range::above_zero(Quantity::Length, 30.0), "diameter of the router's bit", notes)
            };
            let bed = bed(&mut inner, notes);
            let holds_mm = inner.number_or("holds", FINE, holds, "hobby machines hold about that", notes);
            inner.finish(notes);
            let (width, bed_mm) = (width?, bed?);
            Some(if is_laser {
                SheetCutter::Laser { kerf_mm: width, bed_mm, holds_mm }
            } else {
                SheetCutter::Router { bit_mm: width, bed_mm, holds_mm }
            })
        }
        _ => {
            notes.fault(place, "this cutter is not known", shape);
            None
        }
    }
}

fn bed(section: &mut Section<'_>, notes: &mut Notes) -> Option<[f64; 2]> {
    let place = section.at("bed");
    let Some(node) = section.node("bed") else {
        section.missing("bed", "what the machine reaches, across and deep", notes);
        return None;
    };
    match &node.value {
        Value::List(pair) if pair.len() == 2 => {
            let range = Range::between(Quantity::Length, 50.0, LONGEST_MM);
            let side = |i: usize, notes: &mut Notes| super::reader::number(&pair[i], &place.index(i), "bed", range, notes);
            let (x, y) = (side(0, notes), side(1, notes));
            Some([x?, y?])
        }
        _ => {
            notes.fault(place, "a bed has two sides", "write bed = [20, 12]");
            None
        }
    }
}

fn print_paper(name: &str, place: Place, notes: &mut Notes) -> Option<PrintPaper> {
    if let Some(width) = name.trim().strip_prefix("roll") {
        return match units::read(width, Quantity::Length, notes.units) {
            Ok(width) if (150.0..=2000.0).contains(&width) => Some(paper::roll(width)),
            Ok(width) => {
                notes.fault(
                    place,
                    format!("a roll {} wide fits no plotter", notes.units.measure(width)),
                    "rolls are 6 to 78 in wide",
                );
                None
            }
            Err(_) => {
                notes.fault(
                    place,
                    format!("\"{}\" does not say how wide the roll is", shown(name)),
                    "write \"roll 24 in\" or \"roll 610 mm\"",
                );
                None
            }
        };
    }
    let found = paper::named(name).cloned();
    if found.is_none() {
        let names: Vec<&str> = paper::all().iter().map(|paper| paper.name.as_str()).collect();
        let hint = nearest(name, names.iter().copied())
            .map_or(format!("known: {}, or \"roll 24 in\"", names.join(", ")), |near| format!("did you mean \"{near}\"?"));
        notes.fault(place, format!("there is no paper \"{}\"", shown(name)), &hint);
    }
    found
}

fn shims(section: &mut Section<'_>, notes: &mut Notes) -> Vec<ShimStock> {
    let mut stock = Vec::new();
    for mut row in section.sections("shims", notes) {
        let of = row.text("of", notes);
        if of.is_none() && !row.has("of") {
            row.missing("of", "what the shim is, such as \"masking tape\"", notes);
        }
        let thickness = row.needed("thickness", Range::between(Quantity::Length, 0.005, 50.0), "as measured", notes);
        let count = row.count("count", 1, 100_000, notes);
        row.finish(notes);
        stock.extend(of.zip(thickness).map(|(of, thickness_mm)| ShimStock { of, thickness_mm, count }));
    }
    stock
}

fn lines(section: &mut Section<'_>, notes: &mut Notes) -> LineTable {
    let mut lines = LineTable::default();
    let Some(mut table) = section.section("lines", notes) else { return lines };
    for kind in Kind::ALL {
        let Some(mut row) = table.section(kind.key(), notes) else { continue };
        if let Some(layer) = row.text("layer", notes) {
            if layer.is_empty()
                || 60 < layer.len()
                || !layer.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-' | ' '))
            {
                notes.fault(
                    row.at("layer"),
                    format!("\"{}\" is no name of a layer", shown(&layer)),
                    "use letters, digits, _ and -",
                );
            } else {
                lines.style_mut(kind).layer = layer;
            }
        }
        if let Some(color) = row.count("color", 1, 255, notes) {
            lines.style_mut(kind).color = color as u8;
        }
        if let Some(rgb) = row.text("rgb", notes) {
            match rgb_of(&rgb) {
                Some(rgb) => lines.style_mut(kind).rgb = rgb,
                None => notes.fault(
                    row.at("rgb"),
                    format!("\"{}\" is no colour", shown(&rgb)),
                    "write red, green and blue in hexadecimal, such as \"#c02020\"",
                ),
            }
        }
        if let Some(weight) = row.number("weight", Range::between(Quantity::Length, 0.01, 5.0), notes) {
            lines.style_mut(kind).weight_mm = weight;
        }
        row.finish(notes);
    }
    table.finish(notes);
    lines
}

fn rgb_of(text: &str) -> Option<[u8; 3]> {
    let digits = text.strip_prefix('#').filter(|digits| digits.len() == 6 && digits.is_ascii())?;
    let part = |at: usize| u8::from_str_radix(&digits[at..at + 2], 16).ok();
    Some([part(0)?, part(2)?, part(4)?])
}

pub fn glue(root: &mut Section<'_>, notes: &mut Notes) -> Glue {
    let (line, spread, modulus) = (usual(notes, 0.003, 0.08), 0.35, 2500.0);
    let usual_glue = Glue { line_mm: line, modulus_mpa: modulus, spread_kg_m2: spread, stages: Vec::new(), retained: 1.0 };
    let Some(mut section) = root.section("glue", notes) else {
        notes.assume("glue.line", notes.units.measure(line), "glue lines of well clamped wood are 0.002 to 0.006 in");
        return usual_glue;
    };
    let line_mm = section.number_or(
        "line",
        Range::from_zero(Quantity::Length, 2.0),
        line,
        "glue lines of well clamped wood are 0.002 to 0.006 in",
        notes,
    );
    let modulus_mpa = section.number_or(
        "modulus",
        Range::between(Quantity::Modulus, 10.0, 20_000.0),
        modulus,
        "cured epoxy, from memory",
        notes,
    );
    let spread_kg_m2 = section.number_or(
        "spread",
        Range::above_zero(Quantity::Spread, 3.0),
        spread,
        "epoxy on wood takes about that; the data sheet governs",
        notes,
    );
    let retained = section.number_or(
        "retained",
        Range::between(Quantity::Ratio, 0.2, 1.0),
        1.0,
        "no creep is counted until the shop log shows some",
        notes,
    );
    let mut stages: Vec<GlueStage> = Vec::new();
    for mut row in section.sections("stage", notes) {
        let stage = stage(&mut row, notes);
        if let Some(stage) = stage {
            if stages.iter().any(|before| before.number == stage.number) {
                notes.fault(
                    row.at("number"),
                    format!("stage {} is described twice", stage.number),
                    "number the stages in the order of the work",
                );
            }
            stages.push(stage);
        }
        row.finish(notes);
    }
    section.finish(notes);
    stages.sort_by_key(|stage| stage.number);
    Glue { line_mm, modulus_mpa, spread_kg_m2, stages, retained }
}

fn stage(row: &mut Section<'_>, notes: &mut Notes) -> Option<GlueStage> {
    if !row.has("number") {
        row.missing("number", "which stage it is, from 1", notes);
    }
    let number = row.count("number", 1, 9, notes);
    let held = match row.node("held") {
        None => {
            notes.assume(row.at("held").as_str(), "flat", "nothing is said of a form or props");
            Some(Held::Flat)
        }
        Some(node) => held(node, row.at("held"), notes),
    };
    let clamp_time_s = row.number("clamp_time", Range::above_zero(Quantity::Time, 60.0 * 86_400.0), notes);
    let want_tip_mm = row.section("want", notes).and_then(|mut want| {
        let tip = want.needed(
            "tip",
            Range::between(Quantity::Length, -500.0, 500.0),
            "rise of the tip after release, - for reflex",
            notes,
        );
        want.finish(notes);
        tip
    });
    Some(GlueStage { number: number?, held: held?, clamp_time_s, want_tip_mm })
}

fn held(node: &Node, place: Place, notes: &mut Notes) -> Option<Held> {
    let shape = "write { props = 3, at = 32 }, { form = [[0, 0], [8, 0], [33, -2.6]] } or \"flat\"";
    const RISE: Range = Range::between(Quantity::Length, -500.0, 500.0);
    match &node.value {
        Value::Text(word) if word == "flat" => Some(Held::Flat),
        Value::Table(table) => {
            let mut section = Section::new(table, place.clone());
            let (props, form) = (section.has("props"), section.node("form"));
            let held = match (props, form) {
                (true, None) => {
                    let rise_mm = section.number("props", RISE, notes);
                    let at_mm = section.needed("at", LENGTH, "where the props stand, from the bow's centre", notes);
                    rise_mm.zip(at_mm).map(|(rise_mm, at_mm)| Held::Props { rise_mm, at_mm })
                }
                (false, Some(node)) => {
                    let station = Range::from_zero(Quantity::Length, LONGEST_MM);
                    points(node, &place.key("form"), "form", station, RISE, 2, notes).map(|rise| Held::Form { rise })
                }
                _ => {
                    notes.fault(place, "a stage is held on props or on a form", shape);
                    None
                }
            };
            section.finish(notes);
            held
        }
        _ => {
            notes.fault(place, "this way of holding a stage is not known", shape);
            None
        }
    }
}
