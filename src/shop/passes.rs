//! The pass schedule: what to set on the sander, pass by pass, with as few passes as the limits allow.
//!
//! A pass with gap `G` leaves `t(u) = min(t before, G − h(u))` on a strip that lies on a surface of height `h(u)`. Gaps only
//! fall, so the strip after a pass depends on the last gap alone, and every place that was touched before loses exactly the
//! drop of the gap. Three things follow, and the schedule stands on them:
//!
//! * the deepest cut of a pass is where the surface is highest, over the thin end; there the strip is thinnest as well, so
//!   the limits need to be looked at in that place only;
//! * what later papers remove wherever an earlier one touched is that paper's last gap less the final gap, the same
//!   everywhere. Where the earlier paper did not reach (the butt, often) it left no scratches;
//! * the first cut is as deep as the thickest strip is above the gap, so the schedule starts from stock plus its spread.
//!
//! Gaps are whole steps of the gauge. The fewest passes are found exactly, by a search over every setting and paper
//! ([`settings`]); among equally short ones the one with fewest changes of paper, then the gentlest, is taken.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `u` | along the strip from its butt end | mm |
//! | `h(u)` | surface under the strip above the table; 0 on a flat carrier | mm |
//! | `G` | gap between table (or flat carrier) and cutter | mm |
//!
//! Limits: strips of even thickness before the first pass, ± the stock's spread; strip and cutter do not give way (a pass or
//! two at the last gap let them spring out; [`super::grind`] shows what is left). Source: plane geometry, derived here; the
//! limits of depth are common practice, each with its reason beside it.

pub mod settings;
mod bed;
mod checks;

use super::sled::Sled;
use crate::diag::{Diagnostic, Outcome, Place, Reported, mm};
use crate::model::lamination::{Face, Lamination};
use crate::model::wood::Wood;
use crate::model::workshop::{MachineCutter, Paper, Sander};
use crate::numeric::span::Span;
use crate::units::limit;
use bed::Bed;
use settings::{CLOSE_MM, Task};

/// The passes for one kind of strip, in the order of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    pub lamination: String,
    /// In the order of the work; empty where nothing is to be ground.
    pub setups: Vec<Setup>,
    /// Strips in one run through the machine.
    pub together: u32,
    /// Runs of the whole schedule for one bow. At each setting all runs are made before the gap is changed.
    pub runs: u32,
}

/// Passes with the strip lying one way.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    pub carrier: Carrier,
    /// The face that is cut; the other one lies down.
    pub face: Face,
    /// The strip is turned over before the first pass.
    pub turn_over: bool,
    /// The strip as it comes to this setup.
    pub before: EvenStrip,
    /// Gap at which the cutter first touches nominal stock, mm.
    pub first_contact_gap_mm: f64,
    /// Gap at which it first touches the thickest stock: nothing is cut above it, mm.
    pub thickest_contact_gap_mm: f64,
    /// The gap that leaves the finished thickness, mm.
    pub final_gap_mm: f64,
    /// The last gap as it can be set: the next whole step of the gauge, mm as the gauge shows it.
    pub last_gap_mm: f64,
    /// How far that is from the finished thickness, mm, never negative: the strip stays this much too thick (too thin where it
    /// is no more than [`SETTABLE_MM`]).
    pub rounding_mm: f64,
    /// True gap less what the gauge shows, mm; 0 until a test strip says otherwise.
    pub gauge_offset_mm: f64,
    pub passes: Vec<Pass>,
    /// Settings that were weighed to find the fewest passes.
    pub states_visited: usize,
}

/// Thickness of a strip that is the same along its length, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EvenStrip {
    pub thinnest_mm: f64,
    pub nominal_mm: f64,
    pub thickest_mm: f64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carrier {
    /// The machine's table or a flat board: the first face is made true, or a parallel lamination is brought to size.
    Flat,
    /// The tapered sled.
    Sled,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Pass {
    /// From 1, through all setups.
    pub number: u32,
    /// Index into the sander's papers.
    pub paper: usize,
    pub grit: Option<u32>,
    /// The paper is changed before this pass: the gauge's zero has to be found again with a test strip.
    pub new_paper: bool,
    /// Gap above the table to set on the gauge, mm; on a flat carrier, above the carrier.
    pub gap_mm: f64,
    /// Less than the gap before by this much, mm; the first pass counts from first contact with nominal stock, and is
    /// negative where it only reaches thicker strips.
    pub drop_mm: f64,
    /// Turns of the crank from the gap before.
    pub turns: f64,
    /// Stretches of a nominal strip that the cutter touches, in `u`, mm.
    pub contact: Vec<Span>,
    /// Deepest cut of this pass in the thickest strip, mm.
    pub deepest_mm: f64,
    /// The deepest cut that is allowed.
    pub limit: DeepestCut,
    /// Thinnest place of a nominal strip after the pass, mm.
    pub thinnest_mm: f64,
    /// Where that place is, `u`, mm.
    pub thinnest_at_mm: f64,
    /// Wood removed from all strips of the run, nominal stock, mm³.
    pub volume_mm3: f64,
    /// Time for the pass, feed and handling, s.
    pub time_s: f64,
    /// A pass at the same gap as before, for spring in drum and strip.
    pub repeat: bool,
}

/// The deepest cut that is allowed in a pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DeepestCut {
    pub depth_mm: f64,
    pub by: DepthLimit,
}

/// What sets the deepest cut of a pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DepthLimit {
    /// The paper in this wood.
    Paper,
    /// The depth that machine manuals allow, where a soft wood would let the paper go deeper.
    Machine,
    /// The strip's own thickness at that moment.
    ThinStrip,
}

/// Deepest cut in a soft wood, mm (1/64 in): the ceiling of school rules and of manuals of small drum machines; common
/// practice, no source. More loads the drum and stalls the feed; less only costs passes. A builder who states a deeper cut for
/// a paper knows the machine better: then that figure stands, with a warning.
pub const DRUM_CEILING_MM: f64 = 0.396_875;

/// Deepest cut as a share of the strip's thickness before the pass. Common practice, no source. More, and a thin strip
/// overheats, curls off the sled or tears at the feather; less than about a tenth, and tips take twice the passes for nothing.
pub const THIN_FRACTION: f64 = 0.2;

/// From the end of one feed to the start of the next: walk the strip back, brush it, set the gap, s. Common practice, no source.
pub const HANDLING_S: f64 = 40.0;

/// Changing paper and finding the gauge's zero again, s. Common practice, no source.
pub const PAPER_CHANGE_S: f64 = 300.0;

/// A last gap this little above a step of the gauge is set to that step, mm: half of the last digit that lengths are written
/// with in inches. Less, and a base copied from a message may miss its step and be rounded up by a whole one; more would be
/// seen in the wood.
pub const SETTABLE_MM: f64 = 1.3e-3;

/// Strips thinner than this go through on a board, never on the bare table, mm (about 0.060 in). Common practice, no source.
pub const BARE_TABLE_MM: f64 = 1.5;

impl Schedule {
    pub fn passes(&self) -> impl Iterator<Item = &Pass> {
        self.setups.iter().flat_map(|setup| setup.passes.iter())
    }

    /// Changes of paper on the way, the paper for the first pass not counted.
    pub fn paper_changes(&self) -> u32 {
        self.passes().filter(|pass| pass.new_paper).count() as u32
    }

    /// Time at the machine for one bow: every pass of every run, and the changes of paper, s.
    pub fn time_s(&self) -> f64 {
        self.time_of_runs_s(self.runs)
    }

    /// The same for so many runs at each setting, s.
    pub fn time_of_runs_s(&self, runs: u32) -> f64 {
        let passes: f64 = self.passes().map(|pass| pass.time_s).sum();
        f64::from(runs) * passes + f64::from(self.paper_changes()) * PAPER_CHANGE_S
    }
}

/// The deepest cut in `wood` with `paper` where the strip is `thickness_mm` thick before the pass.
pub fn depth_limit(sander: &Sander, wood: &Wood, paper: &Paper, thickness_mm: f64) -> DeepestCut {
    let by_paper = paper_limit(sander, wood, paper);
    let thin = DeepestCut { depth_mm: THIN_FRACTION * thickness_mm, by: DepthLimit::ThinStrip };
    if thin.depth_mm < by_paper.depth_mm { thin } else { by_paper }
}

/// The paper's own limit. Ease of sanding is about abrasives: knives take less in hard wood but not more in soft.
fn paper_limit(sander: &Sander, wood: &Wood, paper: &Paper) -> DeepestCut {
    let (depth_mm, by) = match sander.cutter {
        MachineCutter::Planer => (paper.max_mm * wood.sanding_ease.min(1.0), DepthLimit::Paper),
        MachineCutter::Drum => {
            let ceiling = paper.max_mm.max(DRUM_CEILING_MM);
            let max = paper.max_mm * wood.sanding_ease;
            if ceiling < max { (ceiling, DepthLimit::Machine) } else { (max, DepthLimit::Paper) }
        }
    };
    DeepestCut { depth_mm, by }
}

/// The schedule for a lamination on its sled; without a sled it must be parallel and goes through on a flat carrier.
///
/// A lamination that is already ground gets a schedule without setups.
pub fn plan(lamination: &Lamination, sled: Option<&Sled>, sander: &Sander) -> Outcome<Schedule> {
    let mut warnings = Vec::new();
    let together = strips_together(lamination, sander, &mut warnings);
    let mut schedule = Schedule {
        lamination: lamination.name.clone(),
        setups: Vec::new(),
        together,
        runs: lamination.strips_per_bow().div_ceil(together),
    };
    if lamination.ground {
        return Ok(Reported { value: schedule, warnings });
    }
    let mut faults = checks::machine_faults(lamination, sled, sander);
    if sled.is_none() && !lamination.is_parallel() {
        let fault = Diagnostic::fault(lamination.place.key("taper"), "a tapered strip needs a sled, and there is none");
        faults.push(fault.hint("add the table [sled] with its `make` and its sheet, or leave `taper` out"));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    warnings.extend(checks::paper_warnings(sander));
    let run = SanderRun { lamination, sander, together };

    let (stock, kept) = (lamination.stock, lamination.keep_face);
    let tapered_face = match kept {
        Some(Face::Belly) => Face::Back,
        _ => Face::Belly,
    };
    let mut strip = EvenStrip {
        thinnest_mm: stock.thickness_mm - stock.spread_mm,
        nominal_mm: stock.thickness_mm,
        thickest_mm: stock.thickness_mm + stock.spread_mm,
    };
    if 0.0 < stock.first_face_mm {
        if kept.is_some() {
            warnings.push(
                Diagnostic::warning(
                    lamination.place.key("stock.first_face"),
                    message!("{} is not taken off: the other face of this lamination is kept as it is", mm(stock.first_face_mm)),
                )
                .hint("leave out `first_face`, or `keep_face`"),
            );
        } else {
            warnings.extend(checks::first_face_warning(lamination, sander));
            let bed = Bed::flat(stock.thickness_mm - stock.first_face_mm, lamination);
            let setup = setup(run, &bed, tapered_face.other(), strip, Start::fresh(&strip, &bed, sander, 1))?;
            if !limit::above(stock.first_face_mm, stock.spread_mm) {
                warnings.push(
                    Diagnostic::warning(
                        lamination.place.key("stock.first_face"),
                        message!(
                            "{} off the first face does not reach the thinnest strips, which may be {} under",
                            mm(stock.first_face_mm),
                            mm(stock.spread_mm)
                        ),
                    )
                    .hint("take off more than the stock's spread, or sort the strips"),
                );
            }
            strip = after(&setup, strip);
            schedule.setups.push(setup);
        }
    }
    let bed = match sled {
        Some(sled) => Bed::sled(sled),
        None => Bed::flat(lamination.strip_thickness_at(0.0), lamination),
    };
    let number = 1 + schedule.passes().count() as u32;
    let mut last = setup(run, &bed, tapered_face, strip, Start::fresh(&strip, &bed, sander, number))?;
    // Paper from the end of the first setup is still in the machine.
    let in_machine = schedule.passes().last().map(|pass| pass.paper);
    last.turn_over = in_machine.is_some();
    if let (Some(held), Some(pass)) = (in_machine, last.passes.first_mut()) {
        pass.new_paper = held != pass.paper;
    }
    warnings.extend(checks::setup_warnings(lamination, &bed, &last, sander));
    if let Some(sled) = sled {
        warnings.extend(checks::rounding_warning(lamination, sled, &last, sander));
    }
    schedule.setups.push(last);
    schedule.setups.retain(|setup| !setup.passes.is_empty());
    Ok(Reported { value: schedule, warnings })
}

/// A schedule that is being followed.
#[derive(Debug, Clone, Copy)]
pub struct FollowedSchedule<'a> {
    pub lamination: &'a Lamination,
    pub sled: Option<&'a Sled>,
    pub sander: &'a Sander,
    /// The setup being worked on, as planned or as restated before: its own offset counts for a work that was cut before the paper was
    /// changed.
    pub setup: &'a Setup,
    /// Passes made of the whole schedule.
    pub made: u32,
    /// Strips side by side.
    pub together: u32,
}

/// The passes still to make in the setup, from where the strip really is: the last cut was made with `paper` at a true
/// gap of `gap_mm`, and the gauge shows the true gap less `gauge_offset_mm`.
///
/// Where the last cut lies above the strip, nothing has been cut yet, and the setup begins anew at the new offset. Passes at
/// the last gap that were not made yet stay on the list.
pub fn remaining(followed: &FollowedSchedule<'_>, at: LastCut) -> Outcome<Setup> {
    let FollowedSchedule { lamination, sled, sander, setup: before, made, together } = *followed;
    let bed = match before.carrier {
        Carrier::Sled => match sled {
            Some(sled) => Bed::sled(sled),
            None => {
                return Err(vec![Diagnostic::fault(
                    lamination.place.clone(),
                    "these passes were made on a sled, and there is none",
                )]);
            }
        },
        Carrier::Flat => Bed::flat(before.final_gap_mm, lamination),
    };
    let mut start = Start::fresh(&before.before, &bed, sander, made + 1);
    start.offset_mm = at.gauge_offset_mm;
    if at.gap_mm + CLOSE_MM < start.above_table_mm {
        start.above_table_mm = at.gap_mm;
        start.present = Some(at.paper);
        start.repeats = before.passes.iter().filter(|pass| pass.repeat && made < pass.number).count() as u32;
    }
    let mut rest = setup(SanderRun { lamination, sander, together }, &bed, before.face, before.before, start)?;
    rest.turn_over = false;
    Ok(Reported::clean(rest))
}

/// Where the strip stands when the schedule is taken up again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LastCut {
    /// True gap of the last cut, from a strip's reading: thickness plus height of the surface under it, mm.
    pub gap_mm: f64,
    /// Index of the paper that made it.
    pub paper: usize,
    /// True gap less what the gauge shows, mm.
    pub gauge_offset_mm: f64,
}

/// What goes through the machine, so many strips side by side.
#[derive(Clone, Copy)]
struct SanderRun<'a> {
    lamination: &'a Lamination,
    sander: &'a Sander,
    together: u32,
}

struct Start {
    /// Height of the first contact or of the last cut above the table, mm.
    above_table_mm: f64,
    present: Option<usize>,
    /// True gap less what the gauge shows, mm.
    offset_mm: f64,
    /// Passes at the last gap without a change.
    repeats: u32,
    /// Of the first pass.
    number: u32,
}

impl Start {
    fn fresh(strip: &EvenStrip, bed: &Bed, sander: &Sander, number: u32) -> Start {
        Start {
            above_table_mm: strip.thickest_mm + bed.highest.height_mm,
            present: None,
            offset_mm: 0.0,
            repeats: sander.repeat_last.min(MAX_REPEATS),
            number,
        }
    }
}

/// Nobody repeats a pass more often; the bound keeps lists finite whatever the build file says.
const MAX_REPEATS: u32 = 99;

fn setup(run: SanderRun<'_>, bed: &Bed, face: Face, strip: EvenStrip, start: Start) -> Result<Setup, Vec<Diagnostic>> {
    let SanderRun { lamination, sander, together } = run;
    let step_mm = sander.gap_step_mm;
    let last_step = ((bed.final_gap_mm - start.offset_mm - SETTABLE_MM.min(0.1 * step_mm)) / step_mm).ceil();
    let last_gap_mm = last_step * step_mm;
    let last_true_mm = last_gap_mm + start.offset_mm;
    let thinnest_last_mm = last_true_mm - bed.highest.height_mm;
    checks::stock_faults(lamination, bed, strip, sander)?;

    let task = Task {
        above_mm: start.above_table_mm - last_true_mm,
        present: start.present,
        thinnest_last_mm,
        step_mm,
        papers: sander
            .papers
            .iter()
            .map(|paper| settings::PaperDepth {
                max_mm: paper_limit(sander, lamination.hardest(), paper).depth_mm,
                scratch_mm: paper.scratch_mm,
            })
            .collect(),
        thin_fraction: THIN_FRACTION,
    };
    let route = settings::fewest(&task).map_err(|why| vec![checks::refusal(lamination, sander, bed, &why)])?;

    let first_contact_gap_mm = strip.nominal_mm + bed.highest.height_mm;
    let first_gap_before = if start.present.is_some() { start.above_table_mm } else { first_contact_gap_mm };
    // True heights: the strip's top before the pass where it stands highest, thickest and nominal stock.
    let mut thick_top = start.above_table_mm;
    let mut gap_before = first_gap_before - start.offset_mm;
    let mut left_before = bed.left_mm2(strip.nominal_mm, if start.present.is_some() { start.above_table_mm } else { f64::MAX });
    let mut paper_before = start.present;
    let mut passes: Vec<Pass> = Vec::new();
    let cuts = route.settings.iter().map(|setting| (*setting, false));
    let at_last = start.present.filter(|_| task.above_mm.abs() <= CLOSE_MM).map(|paper| settings::Setting { steps: 0, paper });
    let again = route.settings.last().copied().or(at_last).map(|last| (last, true));
    for (setting, repeat) in cuts.chain(std::iter::repeat_n(again, start.repeats as usize).flatten()) {
        let paper = &sander.papers[setting.paper];
        let gap_mm = (last_step + setting.steps as f64) * step_mm;
        let true_mm = gap_mm + start.offset_mm;
        let left = bed.left_mm2(strip.nominal_mm, true_mm);
        let limit = depth_limit(sander, lamination.hardest(), paper, thick_top - bed.highest.height_mm);
        let drop_mm = gap_before - gap_mm;
        passes.push(Pass {
            number: start.number + passes.len() as u32,
            paper: setting.paper,
            grit: paper.grit,
            new_paper: paper_before.is_some_and(|before| before != setting.paper),
            gap_mm,
            drop_mm,
            turns: drop_mm / sander.crank_mm,
            contact: bed.contact(strip.nominal_mm, true_mm),
            deepest_mm: thick_top - true_mm,
            limit,
            thinnest_mm: strip.nominal_mm.min(true_mm - bed.highest.height_mm),
            thinnest_at_mm: bed.highest.u_mm,
            volume_mm3: (left_before - left).max(0.0) * lamination.stock.width_mm * f64::from(together),
            time_s: bed.travel_mm / sander.feed_mm_s + HANDLING_S,
            repeat,
        });
        (thick_top, gap_before, left_before, paper_before) = (true_mm, gap_mm, left, Some(setting.paper));
    }
    Ok(Setup {
        carrier: bed.carrier,
        face,
        turn_over: false,
        before: strip,
        first_contact_gap_mm,
        thickest_contact_gap_mm: strip.thickest_mm + bed.highest.height_mm,
        final_gap_mm: bed.final_gap_mm,
        last_gap_mm,
        rounding_mm: (last_true_mm - bed.final_gap_mm).abs(),
        gauge_offset_mm: start.offset_mm,
        passes,
        states_visited: route.visited,
    })
}

/// The strip after a flat setup: what stood above the last gap is level with it.
fn after(setup: &Setup, strip: EvenStrip) -> EvenStrip {
    let level = setup.last_gap_mm + setup.gauge_offset_mm;
    EvenStrip {
        thinnest_mm: strip.thinnest_mm.min(level),
        nominal_mm: strip.nominal_mm.min(level),
        thickest_mm: strip.thickest_mm.min(level),
    }
}

/// Both strips of a matched pair go through side by side where the machine and the builder allow it.
fn strips_together(lamination: &Lamination, sander: &Sander, warnings: &mut Vec<Diagnostic>) -> u32 {
    let wanted = sander.together_for(lamination);
    let fit = limit::whole_steps(sander.widest_mm, lamination.stock.width_mm).clamp(1.0, f64::from(wanted)) as u32;
    if fit < wanted {
        warnings.push(
            Diagnostic::warning(
                Place::new("sander.together"),
                message!(
                    "{} strips of {} side by side are wider than the machine takes, {}: {} at a time",
                    wanted,
                    mm(lamination.stock.width_mm),
                    mm(sander.widest_mm),
                    fit
                ),
            )
            .hint(format!("write `together` = {fit}")),
        );
    }
    fit
}
