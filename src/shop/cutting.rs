//! What is cut from sheet for a build: the parts of all its sleds and the pieces of its forms, on as few sheets as they take.
//!
//! Parts of one sheet share its loads, whosever they are. Their names say whose: `core: left rail 1 of 3`.

use super::form::Form;
use super::kit::{BedLoad, Kit};
use super::nest::{self, WebBound, nest};
use super::parts::Part;
use crate::diag::Diagnostic;
use crate::geometry::offset::outward;
use crate::geometry::{Bounds, Path, Point, Vertex};
use crate::model::Build;
use crate::model::lamination::Lamination;
use crate::model::workshop::{Sheet, SheetCutter, SledPlan};
use crate::units::limit;

/// Whose a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whose {
    /// Of the sled of this number among those given.
    Sled(usize),
    /// Of the form of this number among those given.
    Form(usize),
}

/// All parts that are cut from one kind of sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetCut {
    pub sheet: Sheet,
    /// Slot width beyond the sheet's thickness, mm.
    pub fit_mm: f64,
    /// Named by whose they are.
    pub parts: Vec<Part>,
    /// Whose each part is, and its number there.
    pub from: Vec<(Whose, usize)>,
    pub loads: Vec<BedLoad>,
}

/// How the loads came out against what a builder may expect.
#[derive(Debug, Clone, PartialEq)]
pub struct Yield {
    /// Area of all parts in bed-loads.
    pub beds: f64,
    /// So many loads there are at four fifths of the bed covered.
    pub at_four_fifths: usize,
    /// Copies that are longer than half the bed, so that no two lie end to end.
    pub long_parts: usize,
    /// So many loads those take at least, one above another with their webs.
    pub min_for_long: usize,
    /// So many loads all parts take at least with the webs around them, however they lie.
    pub min_with_webs: usize,
    /// Share of the loads but the last that parts can cover at most beside their webs, on average.
    pub max_filled: f64,
    /// Of each part, with half a web around it and what the cutter takes, mm².
    with_webs_mm2: Vec<f64>,
}

/// Left for a saw between two blanks, mm: a circular saw takes 2 to 3, and is not led to a hair. Common practice, no source.
pub const SAW_MM: f64 = 5.0;

/// What of a sheet a load is cut from, where the sheet is larger than the bed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blank {
    /// Among the loads of its cut, from 0.
    pub load: usize,
    /// On the sheet, x along its length, mm.
    pub at: Bounds,
}

/// Loads for every kind of sheet, in the order in which the sleds name them. A fault names a part that no load holds.
pub fn together(build: &Build, sleds: &[(&Lamination, &SledPlan, &Kit)], forms: &[Form]) -> Result<Vec<SheetCut>, Diagnostic> {
    let cutter = &build.shop.cutter;
    let mut cuts: Vec<SheetCut> = Vec::new();
    let mut add = |plan: &SledPlan, whose: Whose, parts: &[Part], of: Option<&str>| {
        let same = |cut: &SheetCut| cut.sheet == plan.sheet && limit::same(cut.fit_mm, plan.fit_mm);
        let at = cuts.iter().position(same).unwrap_or_else(|| {
            cuts.push(SheetCut {
                sheet: plan.sheet.clone(),
                fit_mm: plan.fit_mm,
                parts: Vec::new(),
                from: Vec::new(),
                loads: Vec::new(),
            });
            cuts.len() - 1
        });
        for (number, part) in parts.iter().enumerate() {
            let name = of.map_or_else(|| part.name.clone(), |of| format!("{of}: {}", part.name));
            cuts[at].parts.push(Part { name, ..part.clone() });
            cuts[at].from.push((whose, number));
        }
    };
    for (number, (lamination, plan, kit)) in sleds.iter().enumerate().filter(|(_, (_, _, kit))| kit.is_cut()) {
        add(plan, Whose::Sled(number), &kit.parts, Some(&lamination.name));
    }
    if let Some(plan) = &build.sled {
        for (number, form) in forms.iter().enumerate() {
            // A form in one piece may also be printed and sawn from any board.
            if 1 < form.parts.len() || nest::fitting(&form.parts, &plan.sheet, cutter).is_ok() {
                add(plan, Whose::Form(number), &form.parts, None);
            }
        }
    }
    for cut in &mut cuts {
        cut.loads = nest(&cut.parts, &cut.sheet, cutter)?;
    }
    Ok(cuts)
}

/// A strip along a sheet that blanks are cut from.
struct SheetStrip {
    sheet: usize,
    foot: f64,
    high: f64,
    filled: f64,
}

impl SheetCut {
    /// Share of a load's bed that its parts cover.
    pub fn filled(&self, load: &BedLoad) -> f64 {
        let area: f64 = load.placed.iter().map(|placed| self.parts[placed.part].area_mm2()).sum();
        area / (load.width_mm * load.height_mm)
    }

    /// Parts on a load, in the order of the cut: their number in it, and how many copies lie here.
    pub fn here<'a>(&'a self, load: &'a BedLoad) -> impl Iterator<Item = (usize, &'a Part, usize)> {
        let count = |index: usize| load.placed.iter().filter(|placed| placed.part == index).count();
        self.parts.iter().enumerate().map(move |(index, part)| (index, part, count(index))).filter(|(.., count)| 0 < *count)
    }

    /// The same with half a web around each part, and what the cutter takes.
    pub fn filled_with_webs(&self, load: &BedLoad, judged: &Yield) -> f64 {
        let area: f64 = load.placed.iter().map(|placed| judged.with_webs_mm2[placed.part]).sum();
        area / (load.width_mm * load.height_mm)
    }

    /// Blanks for all loads, sheet by sheet, in strips along the sheet; none where the cutter takes a whole sheet.
    pub fn breakdown(&self, cutter: &SheetCutter) -> Vec<Vec<Blank>> {
        let [long, wide] = self.sheet.sides_mm();
        let [x, y] = cutter.load_mm(&self.sheet);
        if limit::same(x.max(y), long) && limit::same(x.min(y), wide) {
            return Vec::new();
        }
        // No more of the bed than the parts take and a web around them.
        let web = nest::gap_mm(cutter) - cutter.half_kerf_mm();
        let blank = |load: &BedLoad| {
            let reach = load.placed.iter().fold(Bounds::EMPTY, |bounds, placed| {
                bounds.union(self.parts[placed.part].edge.placed(&placed.placement).bounds())
            });
            let size = [(reach.max.x + web).min(load.width_mm), (reach.max.y + web).min(load.height_mm)];
            if load.height_mm <= load.width_mm { size } else { [size[1], size[0]] }
        };
        let mut blanks: Vec<(usize, [f64; 2])> = self.loads.iter().map(blank).enumerate().collect();
        // The highest strips first, each filled from its left.
        blanks.sort_by(|a, b| b.1[1].total_cmp(&a.1[1]).then(a.0.cmp(&b.0)));
        let mut strips: Vec<SheetStrip> = Vec::new();
        let mut sheets: Vec<(f64, Vec<Blank>)> = Vec::new();
        for (load, [along, across]) in blanks {
            let fits = |strip: &SheetStrip| !limit::above(across, strip.high) && !limit::above(strip.filled + along, long);
            let strip = strips.iter().position(fits).unwrap_or_else(|| {
                let room = |(top, _): &(f64, Vec<Blank>)| !limit::above(top + across, wide);
                let sheet = sheets.iter().position(room).unwrap_or_else(|| {
                    sheets.push((0.0, Vec::new()));
                    sheets.len() - 1
                });
                strips.push(SheetStrip { sheet, foot: sheets[sheet].0, high: across, filled: 0.0 });
                sheets[sheet].0 += across + SAW_MM;
                strips.len() - 1
            });
            let SheetStrip { sheet, foot, filled, .. } = strips[strip];
            let at = Bounds { min: Point::new(filled, foot), max: Point::new(filled + along, foot + across) };
            sheets[sheet].1.push(Blank { load, at });
            strips[strip].filled += along + SAW_MM;
        }
        sheets.into_iter().map(|(_, blanks)| blanks).collect()
    }

    /// What the loads are to be judged by.
    pub fn judged(&self, cutter: &SheetCutter) -> Yield {
        let beds: f64 = self.loads.iter().map(|load| self.filled(load)).sum();
        let [long, short] = nest::room_mm(&self.sheet, cutter);
        let (gap, web) = (nest::gap_mm(cutter), nest::gap_mm(cutter) - 2.0 * cutter.half_kerf_mm());
        let (mut long_parts, mut stacked) = (0, 0.0);
        for part in &self.parts {
            let size = part.edge.bounds();
            let (along, across) = (size.width().max(size.height()), size.width().min(size.height()));
            // It lies along the bed, and leaves no room for another of its kind beside it.
            if short < along && long < 2.0 * along + gap {
                long_parts += part.count as usize;
                // What a part covers from edge to edge may be less than its box: the least that it can take is its area.
                stacked += f64::from(part.count) * (part.area_mm2() / along).min(across);
            }
        }
        // Each but one has a web to the next.
        let stacked = stacked + gap * long_parts.saturating_sub(1) as f64;
        let room = short + web;
        let bound = WebBound::of_parts(&self.parts, &self.sheet, cutter);
        let around = cutter.half_kerf_mm() + 0.5 * nest::gap_mm(cutter);
        let with_webs = |part: &Part| {
            let bounds = part.edge.bounds().grown(around);
            outward(&part.edge, around).map_or_else(|_| bounds.width() * bounds.height(), |path| path.area().abs())
        };
        Yield {
            beds,
            at_four_fifths: (beds / nest::WELL_FILLED - 1e-9).ceil().max(1.0) as usize,
            long_parts,
            min_for_long: if long_parts == 0 { 0 } else { (stacked / room - 1e-9).ceil().max(1.0) as usize },
            min_with_webs: bound.min_loads(),
            max_filled: bound.max_filled(self.loads.len().saturating_sub(1)),
            with_webs_mm2: self.parts.iter().map(with_webs).collect(),
        }
    }

    /// The cutter's path around each of the `count` parts of one sled or form, in the part's own frame, from what was read of the
    /// loads' cut files: the closed lines of each load in mm, outlines last, in the order in which parts lie on it. `None` for a part
    /// that is on no load.
    pub fn outlines(
        &self,
        whose: Whose,
        count: usize,
        cut: &[&[Path]],
        half_kerf_mm: f64,
    ) -> Result<Vec<Option<Vec<Point>>>, String> {
        let mut outlines: Vec<Option<Vec<Point>>> = vec![None; count];
        for (load, read) in self.loads.iter().zip(cut) {
            let first = read.len().checked_sub(load.placed.len()).ok_or("there are fewer outlines than parts")?;
            for (placed, path) in load.placed.iter().zip(&read[first..]) {
                let (of, number) = self.from[placed.part];
                if of != whose {
                    continue;
                }
                let vertices = path.vertices.iter().map(|v| Vertex { at: placed.placement.undo(v.at), ..*v }).collect();
                let outline = Path { vertices, closed: true };
                let part = &self.parts[placed.part];
                let (here, wanted) = (outline.bounds(), part.edge.bounds().grown(half_kerf_mm));
                if 0.02 < here.min.distance(wanted.min).max(here.max.distance(wanted.max)) {
                    return Err(format!("`{}` stands where another part should be", part.name));
                }
                outlines[number] = Some(outline.flattened(1e-4));
            }
        }
        Ok(outlines)
    }
}
