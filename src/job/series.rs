//! Bows of several weights from one form and one outline: the free laminations become thicker or thinner, tapers stay. So the seat of a sled,
//! which only mirrors a taper, is the same for all, and one sled serves every strip that lies on it.

use super::{Change, Ground, Job, Refused, round, sized};
use crate::buildfile::edit;
use crate::diag::{Diagnostic, Place};
use crate::model::build::{SeriesBow, SizingHow};
use crate::model::lamination::file_name;
use crate::report::series::{SeriesBowRow, SeriesReport, ServedStrip, SharedSledRow, StripBatch};
use crate::sheets::bow::part_name;
use crate::shop::sled::Sled;
use crate::units::{System, fixed, limit, trim_zeros};

/// All bows of a series.
#[derive(Debug, Clone)]
pub struct Series {
    /// Lightest first.
    pub bows: Vec<OneWeight>,
    /// Each once, in the order of the laminations.
    pub sleds: Vec<SharedSled>,
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

/// A sled and the strips that it serves.
#[derive(Debug, Clone)]
pub struct SharedSled {
    /// Whose sled it is: its run-on stands lowest, so that the run-on is a stop for the thinnest strip, too.
    pub cut_from: StripOf,
    /// All strips that lie on it, its own among them.
    pub serves: Vec<StripOf>,
    /// How much farther below its last gap the run-on stands under the thickest strip than under its own, mm.
    pub lower_mm: f64,
}

/// The strips of a lamination in the bows of one weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StripOf {
    /// Place in [`Series::bows`].
    pub bow: usize,
    /// The lamination by its number from 0.
    pub lamination: usize,
}

impl OneWeight {
    /// Name of its build file, beside that of the series' own: `STEM-45-lbf.toml`.
    pub fn file_name(&self, stem: &str) -> String {
        format!("{stem}-{}.toml", file_name(&self.words))
    }
}

impl Series {
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
        Ok(SeriesReport {
            title: job.build().title.clone(),
            learnt: None,
            laminations: job.build().laminations.iter().map(|lamination| lamination.name.clone()).collect(),
            bows: self.bows.iter().map(|bow| bow.row(stem)).collect::<Result<_, _>>()?,
            batches: self.batches(stem)?,
            sleds: sleds.collect(),
        })
    }

    /// Strips that are ground alike go through the machine together, whatever bows they are for.
    fn batches(&self, stem: &str) -> Result<Vec<StripBatch>, Refused> {
        let mut batches = Vec::new();
        for lamination in 0..self.bows[0].job.build().laminations.len() {
            let mut alike: Vec<(&Ground, Vec<&OneWeight>)> = Vec::new();
            for bow in &self.bows {
                let Some(ground) = bow.job.ground(lamination)? else { continue };
                match alike.iter_mut().find(|(known, _)| known.schedule == ground.schedule) {
                    Some((_, bows)) => bows.push(bow),
                    None => alike.push((ground, vec![bow])),
                }
            }
            batches.extend(alike.into_iter().map(|(ground, bows)| {
                let schedule = &ground.schedule;
                let strips = bows.iter().map(|bow| bow.wanted.count * ground.lamination.strips_per_bow()).sum::<u32>();
                let runs = strips.div_ceil(schedule.together);
                StripBatch {
                    lamination: ground.lamination.name.clone(),
                    files: bows.iter().map(|bow| bow.file_name(stem)).collect(),
                    strips,
                    runs,
                    passes: schedule.passes().count() as u32,
                    last_gap_mm: schedule.setups.last().map(|_| round(ground.last_gap_mm())),
                    time_s: round(schedule.time_of_runs_s(runs)),
                }
            }));
        }
        Ok(batches)
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
    let sleds = shared(&bows)?;
    Ok(Some(Series { bows, sleds }))
}

/// The file with this weight for its wish, and with its name behind the title; solved by thickness.
fn one(job: &Job, wanted: SeriesBow) -> Result<OneWeight, Refused> {
    let words = match (job.build().units, wanted.in_pounds) {
        (System::Millimetre, false) => format!("{} N", trim_zeros(&fixed(wanted.draw_weight_n, 2))),
        _ => format!("{} lbf", trim_zeros(&fixed(System::Inch.force(wanted.draw_weight_n), 3))),
    };
    let of_this = |faults: Vec<Diagnostic>| {
        let hint = format!("this is the bow of {words} in `series.bows`");
        Refused::from(faults.into_iter().map(|fault| fault.hint(hint.clone())).collect::<Vec<_>>())
    };
    let title = format!("{}, {words}", job.build().title);
    let wish = [Change::new("target.draw_weight", words.as_str()), Change::new("title", title)];
    let wishing = job.with(&wish).map_err(|unread| of_this(unread.faults))?;
    let mut build = wishing.build().clone();
    if let Some(sizing) = &mut build.sizing {
        sizing.how = SizingHow::Thickness;
    }
    let solved = sized::in_turns(&build, wishing.calibrated()).map_err(&of_this)?.value.build;
    let text = edit::rewritten(wishing.source(), wishing.build(), &solved).map_err(|fault| of_this(vec![fault]))?.text;
    let job = wishing.of_text(&text).map_err(|unread| of_this(unread.faults))?;
    Ok(OneWeight { wanted, words, job })
}

/// The sleds that all these strips need.
fn shared(bows: &[OneWeight]) -> Result<Vec<SharedSled>, Refused> {
    /// Strips with the sled and the width that they would have by themselves.
    type Own<'a> = (StripOf, &'a Sled, f64);
    let mut groups: Vec<Vec<Own<'_>>> = Vec::new();
    let laminations = bows.first().map_or(0, |bow| bow.job.build().laminations.len());
    for lamination in 0..laminations {
        for (bow, one) in bows.iter().enumerate() {
            let Some(ground) = one.job.ground(lamination)? else { continue };
            let Some(kit) = &ground.kit else { continue };
            let own = (StripOf { bow, lamination }, &kit.sled, ground.lamination.stock.width_mm);
            let alike = |group: &&mut Vec<Own<'_>>| same_seat(group[0].1, own.1) && limit::same(group[0].2, own.2);
            match groups.iter_mut().find(alike) {
                Some(group) => group.push(own),
                None => groups.push(vec![own]),
            }
        }
    }
    let of_group = |group: Vec<Own<'_>>| {
        let by_gap = |a: &&Own<'_>, b: &&Own<'_>| a.1.final_gap_mm.total_cmp(&b.1.final_gap_mm);
        let (lowest, highest) = (group.iter().min_by(by_gap)?, group.iter().max_by(by_gap)?);
        Some(SharedSled {
            cut_from: lowest.0,
            lower_mm: highest.1.final_gap_mm - lowest.1.final_gap_mm,
            serves: group.iter().map(|own| own.0).collect(),
        })
    };
    Ok(groups.into_iter().filter_map(of_group).collect())
}

/// Whether a strip lies on both alike: only the run-on beyond it may differ.
fn same_seat(a: &Sled, b: &Sled) -> bool {
    let heights =
        |of: &Sled, other: &Sled| {
            other.ramp.points().iter().all(|(u, height)| {
                limit::same(of.ramp.at(*u) + of.under_mm + of.deck_mm, height + other.under_mm + other.deck_mm)
            })
        };
    a.make == b.make
        && a.ends == b.ends
        && a.first_end_leads == b.first_end_leads
        && a.together == b.together
        && limit::same(a.strip_length_mm, b.strip_length_mm)
        && limit::same(a.run_on_mm, b.run_on_mm)
        && limit::same(a.butt_mm, b.butt_mm)
        && heights(a, b)
        && heights(b, a)
}
