//! One job, one door: a build file's text in, everything that is made of it out.
//!
//! ```
//! use taperwright::job::{Change, Inputs, Job};
//! use taperwright::units::System;
//!
//! let text = std::fs::read_to_string("examples/meadow.toml")?;
//! let job = Job::read("meadow.toml", &text, Inputs::default())?;
//! let weight_n = job.force_curve()?.at_full_draw().force_n;
//!
//! // A thinner core: what does not depend on it is not worked out again.
//! let tried = job.with(&[Change::new("lamination[core].thickness", "0.140 in")])?;
//! assert!(tried.force_curve()?.at_full_draw().force_n < weight_n);
//! assert_eq!(tried.build().units, System::Inch);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! * **Pure.** Texts in, values out. A job opens no file, looks at no clock, starts no thread and prints nothing. What a build file names
//!   comes in as text ([`Inputs::named`]; [`named_files`] says what that is).
//! * **Lazy.** Each stage is worked out when it is first asked for, and kept. Several threads may ask at once: [`Job::ahead`] hands
//!   out the pieces that do not wait for each other.
//! * **Cheap to try again.** [`Job::with`] edits the text as `size --write` does, comments and all, and the new job keeps every stage that
//!   reads nothing of what changed. `reads.rs` says what each stage reads, and sees to it that it reads nothing else.
//!
//! A stage gives its value or every fault that was found; warnings are gathered by [`Job::warnings`].
//!
//! This file is long because all that the door offers stands here; the work is done in the files beside it, a call or two away.
#![warn(missing_docs)] // What the library is entered by.

mod inputs;
mod refused;
mod stamp;
mod kept;
mod reads;
mod finished;
mod bow;
mod grind;
mod cut;
mod block_parts;
mod published;
mod tables;
mod files;
mod sized;
mod portion;
mod all_weights;
mod limbs;
mod balance;
mod together;
mod series;
mod sleds;
mod ways;
mod shooting;
pub mod hash;

pub use all_weights::SharedForms;
pub use balance::{BalanceBy, Balanced, LimbFaults, PairStanding};
pub use bow::{missed, misses, tiller_stations};
pub use files::Files;
pub use grind::Ground;
pub use inputs::{Change, Inputs, Named, named_files};
pub use limbs::{full_strips_alike, halves_meet, one_cutter, one_draw, one_pile, one_riser};
pub use portion::SeriesFolder;
pub use published::strain_rows;
pub use refused::{Refused, Unread};
pub use series::{OneWeight, Series};
pub use shooting::{arrow_table, lighter_table, one_string, speed_figure};
pub use sized::{Eased, Easier, Easing};
pub use sleds::{SharedSled, StripOf};
pub use stamp::Stamp;
pub use tables::{laminations as laminations_text, passes as passes_text, summary as summary_text};
pub use together::{is_of_both, unmakeable};

use crate::buildfile::{self, Source, edit};
use crate::diag::{Diagnostic, Place, Reported, Severity};
use crate::mechanics::bow::{Options, Unstrung};
use crate::mechanics::calibration::{Calibrated, ComputedWeight, WeightObservation};
use crate::mechanics::draw::DrawCurve;
use crate::mechanics::fade::FadeCheck;
use crate::mechanics::glueup::GlueUp;
use crate::mechanics::glueup::compare::Way;
use crate::mechanics::grip::{self, WeakPlace};
use crate::mechanics::hinge::Hinge;
use crate::mechanics::pair::PairCurve;
use crate::mechanics::sensitivity::Sensitivity;
use crate::mechanics::shot::loss::Loss;
use crate::mechanics::shot::table::ShotTable;
use crate::mechanics::sizing::Sized;
use crate::mechanics::splice::{self, SpliceLoad};
use crate::mechanics::tiller::Targets;
use crate::model::Build;
use crate::model::build::Sizing;
use crate::report::{BowRow, LaminationRow, Report, ShotRow};
use crate::shop::budget::Budget;
use crate::shop::riser_block::{self, CheckSteps, RiserBlock};
use crate::units::fixed;
use bow::{BowStages, Gluing, Tillering, kept_if};
use finished::FinishedBows;
use grind::GrindStages;
use kept::Kept;
use shooting::Shooting;
use std::sync::Arc;

/// A piece of work that does not wait for others.
pub type WorkItem<'a> = Box<dyn Fn() + Send + Sync + 'a>;

/// A build file with all that is made of it. Cloning is cheap: stages are shared.
#[derive(Debug, Clone)]
pub struct Job {
    name: String,
    source: Arc<Source>,
    build: Arc<Build>,
    read_warnings: Vec<Diagnostic>,
    inputs: Arc<Inputs>,
    stamp: Stamp,
    finished: Arc<FinishedBows>,
    gluing: Arc<Gluing>,
    bending: Arc<BowStages>,
    tillering: Arc<Tillering>,
    shooting: Arc<Shooting>,
    grinding: Vec<Arc<GrindStages>>,
    shaping: Arc<Shaping>,
    portion: portion::Portion,
    /// The other limb, where it is a different one.
    beside: Option<Arc<limbs::OtherFile>>,
    whole: Arc<Whole>,
}

/// The riser block.
#[derive(Debug)]
struct Shaping {
    build: Build,
    block: Kept<Option<RiserBlock>>,
}

/// What depends on everything, the text itself included.
#[derive(Debug, Default)]
struct Whole {
    cut: Kept<cut::Cutting>,
    report: Kept<Report>,
    cuts: Kept<Vec<WeakPlace>>,
    splices: Kept<Vec<SpliceLoad>>,
}

impl Job {
    /// Reads and checks a build file; `name` is what messages call it. Nothing is planned or solved yet, but for the finished bows
    /// that it names.
    pub fn read(name: &str, text: &str, inputs: Inputs) -> Result<Job, Unread> {
        Job::after(name, text, Arc::new(inputs), None, None)
    }

    /// The job of the text with these values changed; it shares every stage that reads none of them.
    pub fn with(&self, changes: &[Change]) -> Result<Job, Unread> {
        self.rewritten(changes).and_then(|text| self.of_text(&text))
    }

    /// The job of another text of this file, such as one that a command would write.
    pub fn read_again(&self, text: &str) -> Result<Job, Unread> {
        Job::after(&format!("{}, as changed", self.name), text, self.inputs.clone(), Some(self), self.beside.clone())
    }

    /// The job of a later text of this file, under the same name.
    pub fn of_text(&self, text: &str) -> Result<Job, Unread> {
        Job::after(&self.name, text, self.inputs.clone(), Some(self), self.beside.clone())
    }

    /// The text with these values changed: comments and the order of the file stay.
    pub fn rewritten(&self, changes: &[Change]) -> Result<String, Unread> {
        let values: Vec<(Place, String)> =
            changes.iter().map(|change| (self.source.place_of(&change.key), edit::as_toml(&change.value))).collect();
        match edit::taken_over(&self.source, &values) {
            Ok(rewritten) => Ok(rewritten.text),
            Err(fault) => Err(Unread { source: Source::read(&self.name, self.text()).source, faults: vec![fault] }),
        }
    }

    fn after(
        name: &str,
        text: &str,
        inputs: Arc<Inputs>,
        before: Option<&Job>,
        beside: Option<Arc<limbs::OtherFile>>,
    ) -> Result<Job, Unread> {
        let (source, outcome) = buildfile::read(name, text);
        let Reported { value: mut build, warnings } = match outcome {
            Ok(read) => read,
            Err(faults) => return Err(Unread { source, faults }),
        };
        if let Some(beside) = &beside {
            beside.claim(&mut build);
        }
        let same_bows = |finished: &FinishedBows| {
            finished.bows == build.calibration
                && finished.learnt == build.learnt
                && before.is_some_and(|job| Arc::ptr_eq(&job.inputs, &inputs))
        };
        let finished = match kept_if(before.map(|job| &job.finished), same_bows) {
            Some(finished) => finished,
            None => match FinishedBows::read(&build.calibration, build.learnt, &inputs.named) {
                Ok(finished) => Arc::new(finished),
                Err(faults) => {
                    return Err(Unread { faults: faults.iter().map(|fault| fault.spoken(build.units)).collect(), source });
                }
            },
        };
        let own = finished.calibrated;
        let gluing = Gluing::of(&build, own, before.map(|job| &job.gluing));
        let bending = BowStages::of(&build, own, &gluing, beside.as_ref(), before.map(|job| &job.bending));
        let tillering = Tillering::of(&build, &bending, before.map(|job| &job.tillering));
        let shooting = Shooting::of(&build, &bending, beside.as_ref(), before.map(|job| &job.shooting));
        let grinding = (0..build.laminations.len())
            .map(|index| GrindStages::of(&build, index, before.and_then(|job| job.grinding.get(index))))
            .collect();
        let seen = reads::of_riser(&build);
        let shaping = kept_if(before.map(|job| &job.shaping), |shaping| shaping.build == seen)
            .unwrap_or_else(|| Arc::new(Shaping { build: seen, block: Kept::default() }));
        Ok(Job {
            name: name.to_owned(),
            stamp: Stamp::of(name, text, inputs.printed),
            source: Arc::new(source),
            build: Arc::new(build),
            read_warnings: warnings,
            inputs,
            finished,
            gluing,
            bending,
            tillering,
            shooting,
            grinding,
            shaping,
            portion: portion::Portion::default(),
            beside,
            whole: Arc::default(),
        })
    }

    /// The build as the file says it, checked.
    pub fn build(&self) -> &Build {
        &self.build
    }

    /// The text with the place of every key in it.
    pub fn source(&self) -> &Source {
        &self.source
    }

    /// The build file's text.
    pub fn text(&self) -> &str {
        crate::diag::SourceText::text(&*self.source)
    }

    /// What every file says of where it comes from.
    pub fn stamp(&self) -> &Stamp {
        &self.stamp
    }

    /// What the reading of the file warned of.
    pub fn read_warnings(&self) -> &[Diagnostic] {
        &self.read_warnings
    }

    /// The finished bows that it names, as computed and as weighed.
    pub fn finished_bows(&self) -> &[WeightObservation] {
        &self.finished.readings
    }

    /// What they say; `None` without any.
    pub fn calibrated(&self) -> Option<Calibrated> {
        self.finished.calibrated
    }

    /// What the bow of another build weighs with the handbook's stiffness: one of [`Inputs::named`], named at `place`.
    pub fn design(&self, build_file: &str, named: &Named, place: &Place) -> Result<ComputedWeight, Diagnostic> {
        finished::design(build_file, named, place)
    }

    /// The job of another weight of this bow: one of `named`, with laminations of the same names and as many stages. `None` where that file
    /// has faults or describes another bow.
    pub fn other_weight(&self, build_file: &str, named: &Named) -> Option<Job> {
        let other = self.of_text(named.text(build_file).ok()?).ok()?;
        let names = |job: &Job| job.build.laminations.iter().map(|lamination| lamination.name.clone()).collect::<Vec<_>>();
        let alike = names(&other) == names(self)
            && other.is_bow() == self.is_bow()
            && other.build.glue.stages.len() == self.build.glue.stages.len()
            && other.build.shop.shims.len() == self.build.shop.shims.len();
        alike.then_some(other)
    }

    /// The job of this file with what a log of finished bows says of all stiffness, written into its text.
    pub fn having_learnt(&self, own: Calibrated) -> Result<Job, Unread> {
        let mut values = vec![("stiffness", fixed(own.factor, 4)), ("bows", own.bows.to_string())];
        values.extend(own.spread.map(|spread| ("spread", fixed(spread, 4))));
        let values: Vec<(Place, String)> =
            values.into_iter().map(|(key, value)| (Place::new("learnt").key(key), value)).collect();
        self.of_text(&self.written_in_turn(&values)?)
    }

    /// The text with these values, each as TOML, written one after the other: the first begins a table that the next stands in, and what
    /// stands between is no file yet.
    fn written_in_turn(&self, values: &[(Place, String)]) -> Result<String, Unread> {
        let write = |text: String, value: &(Place, String)| {
            let source = Source::read(&self.name, &text).source;
            match edit::taken_over(&source, std::slice::from_ref(value)) {
                Ok(rewritten) => Ok(rewritten.text),
                Err(fault) => Err(Unread { source, faults: vec![fault] }),
            }
        };
        values.iter().try_fold(self.text().to_owned(), write)
    }

    /// Whether the file describes a bow, and not a batch of laminations.
    pub fn is_bow(&self) -> bool {
        self.build.target.is_some() && self.build.outline.is_some()
    }

    /// Stages of the glue-up and what they leave; `None` where the file names no stage.
    pub fn glue_up(&self) -> Result<Option<&GlueUp>, Refused> {
        self.gluing.glue_up()
    }

    /// The bow off its form, as it is braced and drawn; straight without a glue-up. Quicker than the whole of [`Job::glue_up`].
    pub fn unstrung(&self) -> Result<&Unstrung, Refused> {
        self.gluing.unstrung()
    }

    /// What the glue-up warns of.
    pub fn glue_up_warnings(&self) -> Result<&[Diagnostic], Refused> {
        Ok(&self.gluing.held()?.warnings)
    }

    /// Strips over the riser's fades; `None` where none climbs one.
    pub fn fades(&self) -> Result<Option<&FadeCheck>, Refused> {
        Ok(self.gluing.fades()?.as_ref())
    }

    /// One standard deviation of where each stage's tip springs to, mm; `None` without a glue-up.
    pub fn tip_scatter_mm(&self) -> Result<Option<&[f64]>, Refused> {
        Ok(self.gluing.tip_scatter()?.as_deref())
    }

    /// The same stack glued in other ways; none without a glue-up.
    pub fn glue_ups_compared(&self) -> Result<&[Way], Refused> {
        Ok(self.bending.compared()?)
    }

    /// How the bow is solved.
    pub fn solver_options(&self) -> Result<&Options, Refused> {
        self.bending.options()
    }

    /// From brace to full draw, a point for each inch or 25 mm, with strains.
    pub fn force_curve(&self) -> Result<&DrawCurve, Refused> {
        Ok(&self.bending.curve()?.value)
    }

    /// What the upper and the lower limb draw together, where they are different ones; `None` for two alike.
    pub fn pair_curve(&self) -> Result<Option<&PairCurve>, Refused> {
        self.bending.pair()
    }

    /// What moves the draw weight; of two different limbs, what is changed on this one alone.
    pub fn sensitivity(&self) -> Result<&Sensitivity, Refused> {
        Ok(&self.bending.sensitivity()?.value)
    }

    /// One standard deviation of the draw weight, N.
    pub fn weight_spread_n(&self) -> Result<f64, Refused> {
        self.bending.spread_n()
    }

    /// Places that bend too much.
    pub fn hinges(&self) -> Result<&[Hinge], Refused> {
        Ok(self.bending.hinges()?)
    }

    /// What the floor tiller will show at round drops of the tip; nothing for two different limbs, which do not stand level on their blocks.
    pub fn floor_tiller(&self) -> Result<&[crate::mechanics::blank::Floor], Refused> {
        Ok(self.bending.floor()?)
    }

    /// What to take off if the trimmed bow is too heavy by round weights.
    pub fn too_heavy(&self) -> Result<&[crate::shop::blank::Heavy], Refused> {
        Ok(self.bending.heavy()?)
    }

    /// Mass of one limb beyond the riser's feather, kg.
    pub fn limb_kg(&self) -> Result<f64, Refused> {
        self.bending.limb_kg()
    }

    /// How many times stiffer than just holds it at full draw the limb is sideways and in twist, from and to; `None` where it is not modelled.
    pub fn twist_margin(&self) -> Result<Option<[f64; 2]>, Refused> {
        self.bending.twist()
    }

    /// From belly to string at round stations and draws.
    pub fn tiller_targets(&self) -> Result<&Targets, Refused> {
        self.tillering.targets()
    }

    /// Speeds of a row of arrows, and what lighter parts are worth; a fault where the string touches the limb.
    pub fn shot(&self) -> Result<&ShotTable, Refused> {
        self.shooting.table()
    }

    /// The shot's part of the report, with the loss that readings tell, if any; a bow without a speed says why.
    pub fn shot_report(&self, loss: Option<Loss>) -> Result<ShotRow, Refused> {
        shooting::row(self, loss)
    }

    /// What glue-up, fades, draw and bend warn of; none for a batch of laminations.
    pub fn bow_warnings(&self) -> Result<Vec<Diagnostic>, Refused> {
        if !self.is_bow() {
            return Ok(Vec::new());
        }
        let mut warnings = self.bending.warnings()?;
        warnings.extend(grip::warnings(&self.build, self.force_curve()?, self.riser_at_its_cuts()?));
        warnings.extend(splice::warnings(&self.build, self.splice_loads()?));
        Ok(warnings)
    }

    /// Sled and passes of a lamination, by its number from 0; `None` where it is ground already or there is no sander.
    pub fn ground(&self, lamination: usize) -> Result<Option<&Ground>, Refused> {
        self.grinding[lamination].ground()
    }

    /// The same by its name; `None` also where there is none of that name.
    pub fn schedule(&self, lamination: &str) -> Result<Option<&crate::shop::passes::Schedule>, Refused> {
        let index = self.build.laminations.iter().position(|known| known.name == lamination);
        Ok(index.map(|index| self.ground(index)).transpose()?.flatten().map(|ground| &ground.schedule))
    }

    /// Error budgets of the laminations, in their order; none for one that is not ground, or cannot be.
    pub fn budgets(&self) -> Vec<Option<Budget>> {
        (0..self.build.laminations.len())
            .map(|index| self.ground(index).ok().flatten().map(|ground| ground.budget.clone()))
            .collect()
    }

    /// The riser block in slices, with how it is checked; `None` without a riser.
    pub fn riser_block(&self) -> Option<&RiserBlock> {
        self.shaped().and_then(|reported| reported.value.as_ref())
    }

    fn shaped(&self) -> Option<&Reported<Option<RiserBlock>>> {
        let Shaping { build, block } = &*self.shaping;
        let lay_out = || {
            let laid_out = riser_block::lay_out(build, CheckSteps::usual(build.units));
            Ok(laid_out.map_or(Reported::clean(None), |Reported { value, warnings }| Reported { value: Some(value), warnings }))
        };
        // It has warnings and no faults.
        block.reported(lay_out).ok()
    }

    /// What hands leave of the riser at the arrow pass and the grip, at full draw; none where they cut nothing, and for a batch of laminations.
    pub fn riser_at_its_cuts(&self) -> Result<&[WeakPlace], Refused> {
        let uncut = self.build.riser.as_ref().is_none_or(|riser| riser.cut_by_hand().is_none());
        if uncut || !self.is_bow() {
            return Ok(&[]);
        }
        let curve = self.force_curve()?;
        Ok(self.whole.cuts.value(|| Ok(Reported::clean(grip::check(&self.build, curve))))?)
    }

    /// What the splices of laminations bear at brace and full draw; none where there is none, and for a batch of laminations.
    pub fn splice_loads(&self) -> Result<&[SpliceLoad], Refused> {
        if !self.is_bow() || self.build.laminations.iter().all(|l| l.splice.is_none() && l.meet_slope().is_none()) {
            return Ok(&[]);
        }
        let curve = self.force_curve()?;
        Ok(self.whole.splices.value(|| Ok(Reported::clean(splice::check(&self.build, curve))))?)
    }

    /// Everything that planning warns of, each once: the machine, each lamination, the riser block, the bow. All faults together
    /// where there are some. Draws nothing.
    pub fn warnings(&self) -> Result<Vec<Diagnostic>, Refused> {
        let (mut faults, mut warnings) = (Vec::new(), Vec::new());
        let mut take = |outcome: Result<Vec<Diagnostic>, Refused>| match outcome {
            Ok(found) => warnings.extend(found),
            // OtherFile faults stand the warnings met before them.
            Err(refused) => {
                let (found, remarks): (Vec<_>, Vec<_>) =
                    refused.faults.into_iter().partition(|found| found.severity == Severity::Fault);
                faults.extend(found);
                warnings.extend(remarks);
            }
        };
        let to_grind = self.build.laminations.iter().any(|lamination| !lamination.ground);
        if self.build.sander.is_none() && to_grind {
            let message = "there is no sander: no sled and no passes are planned, and the machine's limits are not checked";
            take(Ok(vec![Diagnostic::warning(Place::whole_file(), message).hint("describe the machine under [sander]")]));
        }
        for grinding in &self.grinding {
            take(grinding.warnings());
        }
        take(Ok(self.shaped().map_or(Vec::new(), |reported| reported.warnings.clone())));
        take(self.bow_faults());
        if faults.is_empty() {
            return Ok(each_once(warnings));
        }
        Err(each_once(faults.into_iter().chain(warnings)).into())
    }

    /// The bow's warnings, once all of its numbers are known to be there.
    fn bow_faults(&self) -> Result<Vec<Diagnostic>, Refused> {
        let mut warnings = self.bow_warnings()?;
        if self.is_bow() {
            warnings.extend(self.tillering.warning()?);
        }
        Ok(warnings)
    }

    /// Pieces of work that do not wait for each other, for an edge that runs them side by side before it asks for the report or the
    /// files. Each may be run or left: what is missing is worked out when it is needed.
    pub fn ahead(&self) -> Vec<WorkItem<'_>> {
        let mut pieces: Vec<WorkItem<'_>> = Vec::new();
        if self.is_bow() {
            pieces.push(Box::new(|| drop(self.tiller_targets())));
            pieces.push(Box::new(|| drop(self.too_heavy())));
            pieces.push(Box::new(|| drop(self.sensitivity())));
            pieces.push(Box::new(|| drop(self.floor_tiller())));
            pieces.push(Box::new(|| drop(self.shot())));
        }
        pieces.extend(self.grinding_ahead());
        pieces
    }

    fn grinding_ahead(&self) -> impl Iterator<Item = WorkItem<'_>> {
        self.grinding.iter().map(|grinding| -> WorkItem<'_> { Box::new(|| drop(grinding.ground())) })
    }

    /// The same for an edge that only asks for [`Job::warnings`].
    pub fn ahead_of_warnings(&self) -> Vec<WorkItem<'_>> {
        // The longest row first: who is done with a piece takes the next.
        let mut pieces: Vec<WorkItem<'_>> = Vec::new();
        if self.is_bow() {
            pieces.push(Box::new(|| drop(self.tillering.warning())));
        }
        pieces.extend(self.grinding_ahead());
        if self.is_bow() {
            pieces.push(Box::new(|| drop(self.fades())));
        }
        pieces.push(Box::new(|| drop(self.bow_faults())));
        pieces
    }

    /// The same for an edge that only tells what the bow draws: weights, strains, and what moves them.
    pub fn ahead_of_bow(&self) -> Vec<WorkItem<'_>> {
        let mut pieces: Vec<WorkItem<'_>> = vec![Box::new(|| drop(self.sensitivity())), Box::new(|| drop(self.fades()))];
        pieces.extend(self.grinding_ahead());
        pieces.push(Box::new(|| drop(self.twist_margin())));
        pieces.push(Box::new(|| drop(self.bow_warnings())));
        pieces
    }

    /// The cut files of all sleds and forms, and the proof on them.
    fn cutting(&self) -> Result<&cut::Cutting, Refused> {
        self.whole.cut.value(|| cut::cut(self))
    }

    /// A lamination's work and the proof on its cut files.
    fn cut(&self, lamination: usize) -> Result<Option<&cut::CutStages>, Refused> {
        Ok(self.cutting()?.laminations[lamination].as_ref().map_err(Clone::clone)?.as_ref())
    }

    /// The published numbers: everything that a sheet, a page or a command prints.
    pub fn report(&self) -> Result<&Report, Refused> {
        self.whole.report.value(|| published::report(self))
    }

    /// One lamination's part of the report, by its number from 0: with the proof that its sled and passes give what is wanted.
    pub fn lamination_report(&self, lamination: usize) -> Result<LaminationRow, Refused> {
        Ok(published::lamination_row(&self.build, &self.build.laminations[lamination], self.cut(lamination)?))
    }

    /// The bow's part of the report.
    pub fn bow_report(&self) -> Result<BowRow, Refused> {
        published::bow_row(self)
    }

    /// The files of the job by name; each is made when it is asked for.
    pub fn files(&self) -> Result<Files<'_>, Refused> {
        Files::of(self)
    }

    /// The stack solved for its draw weight by the file's own `[sizing]`, with what sizing warns of.
    pub fn sized(&self) -> Result<Reported<Sized>, Refused> {
        Ok(sized::to_be_written(&self.build, self.calibrated())?)
    }

    /// Both limbs' stacks solved together for the weight of their bow and its balance, each by its own file's `[sizing]`.
    pub fn balanced(upper: &Job, lower: &Job, by: BalanceBy) -> Result<Balanced, LimbFaults> {
        balance::balance([upper.build(), lower.build()], [upper, lower].map(Job::calibrated), by)
    }

    /// The same with these laminations of each limb free, by name, and by their thickness alone where a file does not say how.
    pub fn balanced_by(upper: &Job, lower: &Job, free: [&[String]; 2], by: BalanceBy) -> Result<Balanced, LimbFaults> {
        let [of_upper, of_lower] = [upper.with_free(free[0]), lower.with_free(free[1])];
        balance::balance([&of_upper, &of_lower], [upper, lower].map(Job::calibrated), by)
    }

    /// The sleds that its strips need: one for all strips of one taper.
    pub fn sleds(&self) -> Vec<SharedSled> {
        sleds::shared(&[self])
    }

    /// The bows of other weights that the file names under `[series]`, each solved by thickness alone, with the sleds that serve them;
    /// `None` where it names none.
    pub fn series(&self) -> Result<Option<Series>, Refused> {
        series::of(self)
    }

    /// The same with these laminations free, by name, and by their thickness alone where the file does not say how.
    pub fn sized_by(&self, free: &[String]) -> Result<Reported<Sized>, Refused> {
        Ok(sized::in_turns(&self.with_free(free), self.calibrated())?)
    }

    /// The bow carried to the length or the widths at which its hardest-worked part works at `fraction` of what breaks it, the free
    /// laminations solved for the weight. Where none within reason does, the faults that stopped it; none where the strain itself goes no
    /// further.
    pub fn eased(&self, fraction: f64, by: Easing, free: &[String]) -> Result<Eased, Refused> {
        Ok(sized::eased(&self.with_free(free), self.calibrated(), fraction, by)?)
    }

    fn with_free(&self, free: &[String]) -> Build {
        let mut build = (*self.build).clone();
        let change = (0..build.laminations.len()).filter(|index| free.contains(&build.laminations[*index].name)).collect();
        build.sizing = (!free.is_empty()).then(|| Sizing { change, ..build.sizing.take().unwrap_or_default() });
        build
    }

    /// What would make the wish of this build easier on its wood, where `sized`, the same bow solved for it, works harder than a sound
    /// design does.
    pub fn easier(&self, sized: &Job) -> Result<Option<Easier>, Refused> {
        Ok(sized::easier(&self.build, self.calibrated(), sized.force_curve()?))
    }
}

/// What several laminations share is said once.
fn each_once(diagnostics: impl IntoIterator<Item = Diagnostic>) -> Vec<Diagnostic> {
    let mut seen: Vec<Diagnostic> = Vec::new();
    for diagnostic in diagnostics {
        if !seen.contains(&diagnostic) {
            seen.push(diagnostic);
        }
    }
    seen
}
