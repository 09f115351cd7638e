//! Bows of several weights from one form and one outline: the free laminations become thicker or thinner, tapers stay. So the seat of a sled,
//! which only mirrors a taper, is the same for all, and one sled serves every strip that lies on it.

use super::all_weights::SharedForms;
use super::sleds::{self, SharedSled, StripOf};
use super::{Change, Ground, Job, Refused, sized};
use crate::buildfile::edit;
use crate::diag::{Diagnostic, Place};
use crate::model::build::{SeriesBow, SizingHow};
use crate::model::lamination::file_name;
use crate::report::series::{SeriesBowRow, SeriesReport, ServedStrip, SharedSledRow, StripBatch};
use crate::sheets::bow::part_name;
use crate::units::published::round;

/// All bows of a series.
#[derive(Debug, Clone)]
pub struct Series {
    /// Lightest first.
    pub bows: Vec<OneWeight>,
    /// Each once, in the order of the laminations.
    pub sleds: Vec<SharedSled>,
    /// What they have of forms together.
    pub forms: SharedForms,
}

/// The bows of one weight.
#[derive(Debug, Clone)]
pub struct OneWeight {
    /// As the file wants them.
    pub wanted: SeriesBow,
    /// The wish as a build file has it, such as `45 lbf`.
    pub words: String,
    /// The build file of these bows, solved by thickness alone; its text can be made by itself.
    pub job: Job,
}

impl OneWeight {
    /// Name of its build file, beside that of the series' own: `STEM-45-lbf.toml`.
    pub fn file_name(&self, stem: &str) -> String {
        format!("{stem}-{}.toml", file_name(&self.words))
    }
}

impl Series {
    /// What kept a file of one of its folders from being made; of a weight's own folder, the weight is named.
    pub fn unmade(&self, build_file: Option<&str>, stem: &str, found: Refused) -> Refused {
        match self.bows.iter().find(|bow| build_file == Some(bow.file_name(stem).as_str())) {
            Some(bow) => of_weight(&bow.words, found.faults),
            None => found,
        }
    }

    /// As it is published; `stem` is the name of the series' own build file without its ending.
    pub fn report(&self, job: &Job, stem: &str) -> Result<SeriesReport, Refused> {
        let file = |strip: &StripOf| self.bows[strip.bow].file_name(stem);
        let name = |strip: &StripOf| job.build().laminations[strip.lamination].name.clone();
        let sleds = self.sleds.iter().map(|sled| SharedSledRow {
            cut_from: file(&sled.cut_from),
            lamination: name(&sled.cut_from),
            serves: sled.serves.iter().map(|strip| ServedStrip { file: file(strip), lamination: name(strip) }).collect(),
            run_on_lower_mm: round(sled.lower_mm),
        });
        let mut bows: Vec<SeriesBowRow> = self.bows.iter().map(|bow| bow.row(stem)).collect::<Result<_, _>>()?;
        for (bow, press_shims) in bows.iter_mut().zip(&self.forms.press_shims) {
            bow.press_shims.clone_from(press_shims);
        }
        Ok(SeriesReport {
            title: job.build().title.clone(),
            learnt: None,
            laminations: job.build().laminations.iter().map(|lamination| lamination.name.clone()).collect(),
            one_form: self.forms.one,
            bows,
            batches: self.batches(stem)?,
            sleds: sleds.collect(),
        })
    }

    /// Strips that are ground alike go through the machine together, whatever bows they are for.
    fn batches(&self, stem: &str) -> Result<Vec<StripBatch>, Refused> {
        let mut alike: Vec<(&Ground, Vec<(&Ground, &OneWeight)>)> = Vec::new();
        for lamination in 0..self.bows[0].job.build().laminations.len() {
            for bow in &self.bows {
                let Some(ground) = bow.job.ground(lamination)? else { continue };
                let (setups, together) = (&ground.schedule.setups, ground.schedule.together);
                match alike.iter_mut().find(|(known, _)| known.schedule.setups == *setups && known.schedule.together == together)
                {
                    Some((_, strips)) => strips.push((ground, bow)),
                    None => alike.push((ground, vec![(ground, bow)])),
                }
            }
        }
        let batch = |(ground, of): (&Ground, Vec<(&Ground, &OneWeight)>)| {
            let schedule = &ground.schedule;
            let strips = of.iter().map(|(ground, bow)| bow.wanted.count * ground.lamination.strips_per_bow()).sum::<u32>();
            let runs = strips.div_ceil(schedule.together);
            let (mut laminations, mut files) = (Vec::new(), Vec::new());
            for (ground, bow) in of {
                let (lamination, file) = (ground.lamination.name.clone(), bow.file_name(stem));
                laminations.extend((!laminations.contains(&lamination)).then_some(lamination));
                files.extend((!files.contains(&file)).then_some(file));
            }
            StripBatch {
                laminations,
                files,
                strips,
                runs,
                passes: schedule.passes().count() as u32,
                last_gap_mm: schedule.setups.last().map(|_| round(ground.last_gap_mm())),
                time_s: round(schedule.time_of_runs_s(runs)),
            }
        };
        Ok(alike.into_iter().map(batch).collect())
    }
}

impl OneWeight {
    fn row(&self, stem: &str) -> Result<SeriesBowRow, Refused> {
        let (job, build, curve) = (&self.job, self.job.build(), self.job.force_curve()?);
        let hardest = &curve.worst[curve.worst_of_all];
        let finishing_n = build.target.map_or(0.0, |target| target.finishing_n);
        Ok(SeriesBowRow {
            file: self.file_name(stem),
            count: self.wanted.count,
            wanted_n: round(self.wanted.draw_weight_n + finishing_n),
            weight_n: round(curve.at_full_draw().force_n),
            share_of_breaking: hardest.share_of_breaking.map(round),
            hardest: part_name(build, hardest.part),
            limb_kg: round(job.limb_kg()?),
            thickness_mm: build.laminations.iter().map(|lamination| round(lamination.butt_thickness_mm())).collect(),
            press_shims: Vec::new(),
        })
    }
}

/// The series of a build; `None` where its file names none.
pub(super) fn of(job: &Job) -> Result<Option<Series>, Refused> {
    let build = job.build();
    if build.series.is_empty() {
        return Ok(None);
    }
    if !job.is_bow() {
        let message = "a series is of bows, and this file describes laminations alone";
        return Err(Diagnostic::fault(Place::new("series"), message).hint("add [target] and [outline]").into());
    }
    let bows: Vec<OneWeight> = build.series.iter().map(|wanted| one(job, *wanted)).collect::<Result<_, _>>()?;
    let sleds = sleds::shared(&bows.iter().map(|bow| &bow.job).collect::<Vec<_>>());
    let forms = SharedForms::of(&bows)?;
    Ok(Some(Series { bows, sleds, forms }))
}

/// Faults of one weight, which name it.
fn of_weight(words: &str, faults: Vec<Diagnostic>) -> Refused {
    let hint = format!("this is the bow of {words} in `series.bows`");
    Refused::from(faults.into_iter().map(|fault| fault.hint(hint.clone())).collect::<Vec<_>>())
}

/// The file with this weight for its wish, and with its name behind the title; solved by thickness.
fn one(job: &Job, wanted: SeriesBow) -> Result<OneWeight, Refused> {
    let words = wanted.weight_in_file(job.build().units);
    let of_this = |faults: Vec<Diagnostic>| of_weight(&words, faults);
    let title = format!("{}, {words}", job.build().title);
    let wish = [Change::new("target.draw_weight", words.as_str()), Change::new("title", title)];
    let wishing = job.with(&wish).map_err(|unread| of_this(unread.faults))?;
    let mut build = wishing.build().clone();
    if let Some(sizing) = &mut build.sizing {
        sizing.how = SizingHow::Thickness;
    }
    let solved = sized::to_be_written(&build, wishing.calibrated()).map_err(&of_this)?.value.build;
    let text = edit::rewritten(wishing.source(), wishing.build(), &solved).map_err(|fault| of_this(vec![fault]))?.text;
    let job = wishing.of_text(&text).map_err(|unread| of_this(unread.faults))?;
    Ok(OneWeight { wanted, words, job })
}
