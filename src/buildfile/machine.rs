//! `[sander]` and `[sled]`: the machine that grinds, and how the sled under the strip is to be made.

use super::reader::{FileSection, Preset, Range, Written, if_given};
use super::wording::{amount, amount_toward};
use crate::diag::{Diagnostic, Place};
use crate::model::grit;
use crate::model::lamination::{Lamination, Pieces};
use crate::model::workshop::{MachineCutter, Paper, Sander, Sheet, SledMake, SledPlan, SledStock, StripOn};
use crate::units::limit::{self, Toward};
use crate::units::{Quantity, System};

pub fn sander(section: &FileSection<'_>) -> Option<Sander> {
    if !section.present() {
        return None;
    }
    let cutter = section.word_or(
        "cutter",
        &[("drum", MachineCutter::Drum), ("planer", MachineCutter::Planer)],
        "laminations are mostly ground on a drum",
    );
    let min_thickness = section.length_or("least_thickness", Range::between(0.05, 30.0), MIN_THICKNESS);
    let min_length = section.length_or("least_length", Range::between(10.0, 1500.0), MIN_LENGTH);
    let widest = section.length_or("widest", Range::between(20.0, 2500.0), WIDEST);
    let feed = section.quantity_or("feed", Quantity::Speed, Range::between(1.0, 500.0), FEED);
    let roller = section.quantity_or("roller", Quantity::Force, Range::between(0.0, 1000.0), ROLLER);
    let gap_step = section.length_or("gap_step", Range::positive(1.0), GAP_STEP);
    let crank = section.length_or("crank", Range::between(0.05, 20.0), CRANK);
    let repeats = section.length_or("repeats", Range::between(0.0, 0.5), REPEATS);
    let papers = papers(section, cutter);
    let together = section.count_or("together", 1, 40, 1, "one strip at a time is the safe reading");
    let repeat_last = section.count_or(
        "repeat_last",
        0,
        10,
        2,
        "one to three passes without a change let drum and strip spring out; common practice, no source",
    );
    section.finish();
    let sander = Sander {
        cutter: cutter?,
        min_thickness_mm: min_thickness?,
        min_length_mm: min_length?,
        widest_mm: widest?,
        feed_mm_s: feed?,
        roller_n: roller?,
        gap_step_mm: gap_step?,
        crank_mm: crank?,
        repeats_mm: repeats?,
        papers: papers?,
        together: together?,
        repeat_last: repeat_last?,
    };
    for (index, paper) in sander.papers.iter().enumerate() {
        if limit::below(paper.max_mm, sander.gap_step_mm) {
            let length = |mm| amount(mm, Quantity::Length, section.notes.system);
            let message =
                format!("{} a pass is less than the gap can be set by, {}", length(paper.max_mm), length(sander.gap_step_mm));
            let place = section.place.key("papers").index(index).key("most");
            let max = amount_toward(sander.gap_step_mm, Quantity::Length, section.notes.system, Toward::Up);
            section.notes.fault(
                Diagnostic::fault(place, message)
                    .hint(format!("raise `most` to {max} or more, or give the `gap_step` of a finer gauge")),
            );
        }
    }
    Some(sander)
}

const MIN_THICKNESS: Preset =
    Preset::new(0.03, 0.8, "strips down to {} are ground on a carrier; common practice, no source; your manual governs")
        .naming(&[0.79375]);
const MIN_LENGTH: Preset = Preset::new(9.0, 230.0, "a school shop's rule; your manual governs");
const WIDEST: Preset = Preset::new(16.0, 400.0, "a common small drum; measure yours");
const FEED: Preset = Preset::new(10.0, 3.0, "the upper end of small conveyor feeds, no source; it only sets the times stated");
const ROLLER: Preset = Preset::new(8.0, 35.0, "from memory; it sets the sag of a carrier between shims");
const GAP_STEP: Preset = Preset::new(0.001, 0.02, "what can be set by a dial gauge");
const CRANK: Preset = Preset::new(0.0625, 1.5, "{} a turn is common, but not on all machines: look at yours").naming(&[1.5875]);
const REPEATS: Preset = Preset::new(0.001, 0.03, "a small drum in good order; common practice, no source");

/// School and manual ceiling of one pass, in.
const CEILING_IN: f64 = 1.0 / 64.0;

fn papers(section: &FileSection<'_>, cutter: Option<MachineCutter>) -> Option<Vec<Paper>> {
    let Some(written) = section.get("papers") else { return default_papers(section, cutter?) };
    let items = written.list("papers, such as { grit = 80, most = 0.006 }")?;
    let count = items.len();
    let mut papers: Vec<Paper> = Vec::new();
    for item in &items {
        let read = item.section().and_then(|table| {
            let read = paper(&table, cutter);
            table.finish();
            read
        });
        let Some(paper) = read else { continue };
        if let Some((before, here)) = papers.last().and_then(|before| before.grit.zip(paper.grit))
            && here <= before
        {
            let message = format!("P{here} comes after P{before}, but papers run from coarse to fine");
            item.fault(message, "list them in the order of use, each grit once");
        }
        papers.push(paper);
    }
    (papers.len() == count).then_some(papers)
}

fn paper(table: &FileSection<'_>, cutter: Option<MachineCutter>) -> Option<Paper> {
    let grit = match (table.has("grit"), cutter) {
        (false, Some(MachineCutter::Planer)) => {
            table.get("grit");
            Some(None)
        }
        _ => table
            .need("grit", "add the number on the paper's back, such as grit = 80")
            .and_then(|written| grade(&written))
            .map(Some),
    };
    let max = match (table.get("most"), grit) {
        (Some(written), _) => written.quantity(Quantity::Length, Range::positive(2.0)).inspect(|max| ceiling(&written, *max)),
        (None, Some(grit)) => Some(default_max(table, grit)),
        (None, None) => None,
    };
    let scratch = match (table.get("scratch"), grit) {
        (Some(written), _) => written.quantity(Quantity::Length, Range::between(0.0, 2.0)),
        (None, Some(grit)) => Some(default_scratch(table, grit)),
        (None, None) => None,
    };
    Some(Paper { grit: grit?.map(|grit| grit.grade), max_mm: max?, scratch_mm: scratch? })
}

/// Grades are about this much apart, a ratio.
const NEAR_GRADE: f64 = 1.25;

fn grade(written: &Written<'_>) -> Option<&'static grit::Grit> {
    let number = written.count(1, 10_000)?;
    if let Some(grit) = grit::grade(number) {
        return Some(grit);
    }
    let grades: Vec<String> = grit::all().iter().map(|grit| grit.grade.to_string()).collect();
    // Slips of the finger lie nowhere near in grit: the nearest grade is offered, where it grinds much the same.
    let off = |grade: u32| (f64::from(grade) / f64::from(number)).ln().abs();
    let near = grit::all().iter().map(|grit| grit.grade).min_by(|a, b| off(*a).total_cmp(&off(*b)));
    let meant =
        near.filter(|grade| off(*grade) < NEAR_GRADE.ln()).map_or(String::new(), |grade| format!("did you mean {grade}? "));
    written.fault(format!("there is no paper P{number}"), format!("{meant}grades are {}", grades.join(", ")));
    None
}

fn ceiling(written: &Written<'_>, max: f64) {
    let notes = written.notes;
    if limit::above(max, System::Inch.to_mm(CEILING_IN)) {
        let message = format!(
            "{} in one pass is more than the usual ceiling of 1/64 in, 0.4 mm",
            amount(max, Quantity::Length, notes.system)
        );
        notes.warn(
            Diagnostic::warning(written.place.clone(), message)
                .hint("deeper cuts burn and may break thin strips; school and manual rule, common practice"),
        );
    }
}

/// Knives take a deeper cut than paper, and leave waves instead of scratches.
const PLANER_MOST_MM: f64 = 0.4;
const PLANER_WAVE_MM: f64 = 0.02;

fn default_max(table: &FileSection<'_>, grit: Option<&grit::Grit>) -> f64 {
    let system = table.notes.system;
    let exact = grit.map_or(PLANER_MOST_MM, |grit| grit.max_mm);
    // Rounded down to what a builder would set: thousandths, or hundredths of a millimetre.
    let step = if system == System::Inch { System::Inch.to_mm(0.001) } else { 0.01 };
    let max = (limit::whole_steps(exact, step) * step).max(step);
    let of = grit.map_or("the planer's knives".to_owned(), |grit| format!("P{}", grit.grade));
    let why = grit.map_or("light planer cuts; common practice, no source", |_| grit::depth_source());
    table.assume("most", format!("{} for {of}", amount(max, Quantity::Length, system)), why);
    max
}

fn default_scratch(table: &FileSection<'_>, grit: Option<&grit::Grit>) -> f64 {
    let scratch = grit.map_or(PLANER_WAVE_MM, grit::Grit::scratch_mm);
    let of = grit.map_or("the planer's knives".to_owned(), |grit| format!("P{}", grit.grade));
    let why = match grit {
        None => "depth of knife marks, from memory".to_owned(),
        Some(grit) if grit.grade < 80 => format!("1.4 grains: {}", grit::grain_source()),
        Some(_) => format!("one grain: {}", grit::grain_source()),
    };
    table.assume("scratch", format!("{} for {of}", amount(scratch, Quantity::Length, table.notes.system)), why);
    scratch
}

fn default_papers(section: &FileSection<'_>, cutter: MachineCutter) -> Option<Vec<Paper>> {
    let grades: Vec<Option<&grit::Grit>> = match cutter {
        MachineCutter::Planer => vec![None],
        MachineCutter::Drum => vec![Some(grit::grade(60)?), Some(grit::grade(80)?)],
    };
    if cutter == MachineCutter::Drum {
        section.assume("papers", "P60, then P80", "gluing faces are left no finer than P80; common practice, no source");
    }
    let inside = FileSection::new(section.notes, section.place.key("papers"), "sander.papers", None);
    let paper = |grit: Option<&grit::Grit>| Paper {
        grit: grit.map(|grit| grit.grade),
        max_mm: default_max(&inside, grit),
        scratch_mm: default_scratch(&inside, grit),
    };
    Some(grades.into_iter().map(paper).collect())
}

/// `[sled]` as read: the plan for all laminations, and which of its keys stand in the file.
#[derive(Debug, Clone)]
pub struct Shared {
    pub plan: SledPlan,
    stated: Stated,
}

/// Keys whose defaults hang on the make or on the lamination.
#[derive(Debug, Clone, Copy)]
struct Stated {
    base: bool,
    deck: bool,
    butt_leads: bool,
    sheet: bool,
}

/// Makes by the words for them.
const MAKES: [(&str, SledMake); SledMake::ALL.len()] = {
    let mut makes = [("", SledMake::ALL[0]); SledMake::ALL.len()];
    let mut k = 0;
    while k < makes.len() {
        makes[k] = (SledMake::ALL[k].traits().word, SledMake::ALL[k]);
        k += 1;
    }
    makes
};
const BASES: Range = Range::between(0.0, 150.0);
const DECKS: Range = Range::between(0.0, 60.0);
const SUPPORTS: Range = Range::between(50.0, 4000.0);

pub fn sled(section: &FileSection<'_>) -> Option<Shared> {
    if !section.present() {
        return None;
    }
    shared(section)
}

fn shared(section: &FileSection<'_>) -> Option<Shared> {
    let make = section.word_or("make", &MAKES, "cut from sheet, it carries the strip everywhere");
    let base = section.length_or("base", BASES, base_preset(make));
    let sheet = sheet(&section.section("sheet"), make, base.filter(|_| section.has("base")));
    let deck = match section.get("deck") {
        Some(written) => written.quantity(Quantity::Length, DECKS),
        None => make.zip(sheet.as_ref()).map(|(make, sheet)| deck_for(section, make, sheet)),
    };
    let under = section.length_or("under", Range::between(0.0, 5.0), Preset::same(0.0, "nothing lies between sled and strip"));
    let butt_leads = match section.get("butt_leads") {
        Some(written) => written.flag(),
        None => {
            let why = "held at its thick end the strip is pulled flat by the drum; shops differ";
            section.assume("butt_leads", "true", why);
            Some(true)
        }
    };
    let tolerance = section.length_or("tolerance", Range::positive(1.0), TOLERANCE);
    let run_on = section.length_or("run_on", Range::between(0.0, 500.0), RUN_ON);
    let clearance = section.length_or("stop_clearance", Range::between(0.0, 5.0), STOP_CLEARANCE);
    let supports = section.get("supports").map(|written| written.quantity(Quantity::Length, SUPPORTS));
    let one_carrier = section.get("one_carrier").map(|written| written.flag());
    let fit = section.length_or("fit", Range::between(-1.0, 2.0), FIT);
    section.finish();
    let plan = SledPlan {
        make: make?,
        base_mm: base?,
        deck_mm: deck?,
        under_mm: under?,
        butt_leads: butt_leads?,
        tolerance_mm: tolerance?,
        run_on_mm: run_on?,
        stop_clearance_mm: clearance?,
        supports_mm: if_given(supports)?,
        one_carrier: if_given(one_carrier)?.unwrap_or(false),
        sheet: sheet?,
        fit_mm: fit?,
    };
    let stated = Stated {
        base: section.has("base"),
        deck: section.has("deck"),
        butt_leads: section.has("butt_leads"),
        sheet: section.has("sheet"),
    };
    Some(Shared { plan, stated })
}

/// `sled` of one lamination: what is made otherwise than for the others.
#[derive(Debug)]
pub struct Own<'a> {
    table: FileSection<'a>,
    make: Option<SledMake>,
    base_mm: Option<f64>,
    deck_mm: Option<f64>,
    supports_mm: Option<f64>,
    butt_leads: Option<bool>,
}

/// Reads it; what it does not say is left to `[sled]`, which may stand further down.
pub fn own_sled<'a>(lamination: &FileSection<'a>) -> Own<'a> {
    let table = lamination.section("sled");
    let own = Own {
        make: table.get("make").and_then(|written| written.word(&MAKES)),
        base_mm: table.length("base", BASES),
        deck_mm: table.length("deck", DECKS),
        supports_mm: table.length("supports", SUPPORTS),
        butt_leads: table.get("butt_leads").and_then(|written| written.flag()),
        table,
    };
    own.table.get("sheet");
    own.table.finish();
    own
}

impl Own<'_> {
    /// The lamination's own plan; `None` where it is ground on a sled like the others, or on none.
    pub fn plan(&self, all: Option<&Shared>, lamination: &Lamination) -> Option<SledPlan> {
        let tip_thicker = lamination.finished.at(lamination.from_mm) < lamination.finished.at(lamination.to_mm);
        let stated_leads = self.butt_leads.or(all.filter(|all| all.stated.butt_leads).map(|all| all.plan.butt_leads));
        let turned = stated_leads.is_none() && tip_thicker && lamination.pieces == Pieces::Halves && !lamination.ground;
        let shared_turned = turned && all.is_some();
        if !(self.table.present() || shared_turned) {
            return None;
        }
        let all = match all {
            Some(all) => all.clone(),
            None => shared(&FileSection::new(self.table.notes, Place::new("sled"), "sled", None))?,
        };
        let mut plan = all.plan;
        if let Some(make) = self.make.filter(|make| *make != plan.make) {
            plan.make = make;
            if self.table.has("sheet") || !all.stated.sheet {
                plan.sheet = sheet(&self.table.section("sheet"), Some(make), self.base_mm)?;
            }
            // The height of another make's base says nothing for a plank that is taken as it is.
            if self.base_mm.is_none() && (!all.stated.base || make.traits().from == SledStock::Plank) {
                plan.base_mm = self.table.preset("base", Quantity::Length, base_preset(Some(make)));
            }
            if self.deck_mm.is_none() && !all.stated.deck {
                plan.deck_mm = deck_for(&self.table, make, &plan.sheet);
            }
        } else if self.table.has("sheet") {
            plan.sheet = sheet(&self.table.section("sheet"), Some(plan.make), self.base_mm)?;
        }
        if turned {
            self.table.assume("butt_leads", "false", "the strip is thicker at its tip, and the thick end leads and is held");
        }
        Some(SledPlan {
            base_mm: self.base_mm.unwrap_or(plan.base_mm),
            deck_mm: self.deck_mm.unwrap_or(plan.deck_mm),
            supports_mm: self.supports_mm.or(plan.supports_mm),
            butt_leads: stated_leads.unwrap_or(!turned),
            ..plan
        })
    }
}

fn stock(make: Option<SledMake>) -> Option<SledStock> {
    make.map(|make| make.traits().from)
}

fn base_preset(make: Option<SledMake>) -> Preset {
    match stock(make) {
        Some(SledStock::Plank) => Preset::same(0.0, "the plank lies on the table as thick as it is, and the gaps follow"),
        _ => BASE,
    }
}

const BASE: Preset = Preset::new(1.0, 25.0, "tall enough for slots under the butt, low enough for every machine");
const TOLERANCE: Preset =
    Preset::new(0.001, 0.03, "what builders ask of a lamination along its length; common practice, no source");
const RUN_ON: Preset =
    Preset::new(3.0, 75.0, "from drum to pressure roller, two to four inches, so that snipe falls on the sled; measure yours");
const STOP_CLEARANCE: Preset = Preset::new(0.015, 0.4, "the stop stays under the last gap by more than one pass");
const FIT: Preset = Preset::new(0.004, 0.1, "slides by hand and takes glue; try it on a corner of the sheet");

/// The deck that a make of sled has where none is stated, mm.
fn deck_for(section: &FileSection<'_>, make: SledMake, sheet: &Sheet) -> f64 {
    let (value, why) = match make.traits().strip_on {
        StripOn::Board => (0.0, "the strip lies on the board itself"),
        StripOn::Deck => (sheet.thickness_mm, "the deck is cut from the same sheet"),
    };
    section.assume("deck", amount(value, Quantity::Length, section.notes.system), why);
    value
}

/// `base_mm` as stated: a plank of which nothing else is said is as thick.
fn sheet(table: &FileSection<'_>, make: Option<SledMake>, base_mm: Option<f64>) -> Option<Sheet> {
    let material = match table.get("material") {
        Some(written) => written.text("a material").map(str::to_owned),
        None => {
            table.assume("material", "birch plywood", "stiff, flat and cut by most lasers");
            Some("birch plywood".to_owned())
        }
    };
    let from = stock(make);
    let thickness = match (from, base_mm.filter(|base| 0.0 < *base)) {
        (Some(SledStock::Plank), Some(base)) if !table.has("thickness") => {
            table.get("thickness");
            table.assume("thickness", amount(base, Quantity::Length, table.notes.system), "a plank as high as `base`");
            Some(base)
        }
        (Some(SledStock::Plank), _) => table.length_or("thickness", Range::between(0.5, 150.0), PLANK_THICKNESS),
        _ => table.length_or("thickness", Range::between(0.5, 60.0), SHEET_THICKNESS),
    };
    let spread = table.length_or("spread", Range::between(0.0, 3.0), SHEET_SPREAD);
    let width = table.length_or("width", Range::between(10.0, 5000.0), SHEET_WIDTH);
    let length = match from {
        Some(SledStock::Board | SledStock::Plank) => {
            table.length_or("length", Range::between(10.0, 6000.0), Preset::new(96.0, 2440.0, "a whole board"))
        }
        _ => table.length_or(
            "length",
            Range::between(10.0, 6000.0),
            Preset::new(48.0, 1220.0, "half a board, as it is often sold"),
        ),
    };
    let modulus = table.quantity_or("modulus", Quantity::Modulus, Range::between(100.0, 250_000.0), SHEET_MODULUS);
    table.finish();
    Some(Sheet {
        material: material?,
        thickness_mm: thickness?,
        spread_mm: spread?,
        width_mm: width?,
        length_mm: length?,
        modulus_mpa: modulus?,
    })
}

const SHEET_THICKNESS: Preset = Preset::new(0.236, 6.0, "sheet sold as 6 mm (1/4 in); nominal is not real: measure yours");
const PLANK_THICKNESS: Preset = Preset::new(1.5, 38.0, "a plank as sold for building; thicker ones sag less: measure yours");
const SHEET_SPREAD: Preset = Preset::new(0.004, 0.1, "plywood from one batch; common practice, no source");
const SHEET_WIDTH: Preset = Preset::new(24.0, 610.0, "half a board, as it is often sold");
const SHEET_MODULUS: Preset = Preset::new(1.2, 8.0, "plywood on the careful side, from memory; it sets the sag of a carrier");
