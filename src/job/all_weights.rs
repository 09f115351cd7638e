//! What the folder that all weights of a series share must know of each: the last gap of every strip on a shared sled, and what makes up
//! for a thinner pile under the upper half of a form.

use super::{Job, OneWeight, Refused, Series, SharedSled, StripOf};
use crate::mechanics::glueup::LinePoint;
use crate::model::workshop::Held;
use crate::report::series::PressShimRow;
use crate::sheets::assembly::LastGap;
use crate::shop::form::{Form, LimbOnForm, WeightShim};
use crate::shop::upper_half;
use crate::units::published::round;

/// What of all weights stands on the sheets that they share.
#[derive(Debug)]
pub(super) struct AllWeights {
    /// Sleds that are cut there, each with the last gaps of all strips that lie on it.
    last_gaps: Vec<(SharedSled, Vec<LastGap>)>,
    /// The heaviest bow, which forms are laid out for: no pile is thicker. `None` where each weight has forms of its own.
    pub on_forms: Option<Job>,
    /// By stage.
    shims: Vec<(u32, Vec<WeightShim>)>,
}

impl AllWeights {
    /// Of a series whose shared sleds are cut from the bow of this number.
    pub fn of(series: &Series, job: &Job, cut_from: usize, on_forms: Option<Job>) -> Result<AllWeights, Refused> {
        let cut_there = series.sleds.iter().filter(|sled| sled.cut_from.bow == cut_from);
        let last_gaps = cut_there.map(|sled| Ok((sled.clone(), series.last_gaps(job, sled)?))).collect::<Result<_, Refused>>()?;
        let mut shims: Vec<(u32, Vec<WeightShim>)> = Vec::new();
        for (bow, of_bow) in series.bows.iter().zip(&series.forms.press_shims) {
            for row in of_bow {
                let shim = WeightShim { weight: bow.words.clone(), shim_mm: row.shim_mm };
                match shims.iter_mut().find(|(stage, _)| *stage == row.stage) {
                    Some((_, of_stage)) => of_stage.push(shim),
                    None => shims.push((row.stage, vec![shim])),
                }
            }
        }
        Ok(AllWeights { last_gaps, on_forms, shims })
    }

    /// Of all strips on the sled that is cut from this lamination; `None` where the series has none of it.
    pub fn last_gaps(&self, lamination: usize) -> Option<&[LastGap]> {
        self.last_gaps.iter().find(|(sled, _)| sled.cut_from.lamination == lamination).map(|(_, gaps)| gaps.as_slice())
    }

    /// Says on an upper half what each weight lays under it.
    pub fn note_shims(&self, form: &mut Form) {
        let of_stage = self.shims.iter().find(|(stage, _)| *stage == form.stage);
        if let (Some(upper), Some((_, shims))) = (&mut form.upper, of_stage) {
            upper.shims.clone_from(shims);
        }
    }
}

impl Series {
    /// The bow whose piles are the thickest: the heaviest.
    pub(super) fn thickest(&self) -> &OneWeight {
        thickest(&self.bows)
    }

    /// Of all strips that lie on a sled, named by weight, and by lamination, too, where the sled serves several.
    fn last_gaps(&self, job: &Job, sled: &SharedSled) -> Result<Vec<LastGap>, Refused> {
        let one_lamination = sled.serves.iter().all(|strip| strip.lamination == sled.cut_from.lamination);
        let mut gaps = Vec::new();
        for StripOf { bow, lamination } in &sled.serves {
            let one = &self.bows[*bow];
            let Some(ground) = one.job.ground(*lamination)? else { continue };
            let name = &job.build().laminations[*lamination].name;
            let of = if one_lamination { one.words.clone() } else { format!("{name} of {}", one.words) };
            gaps.push(LastGap { of, gap_mm: ground.last_gap_mm() });
        }
        Ok(gaps)
    }
}

/// What the weights of a series have of forms together.
#[derive(Debug, Clone)]
pub struct SharedForms {
    /// Every weight is glued on the same ones: what a stage wants of the bow, once it springs, asks another form of a stiffer pile.
    pub one: bool,
    /// For each bow what lies between the upper half of each form and its hose, since that is cut for the thickest pile; a row for each upper
    /// half that they share.
    pub press_shims: Vec<Vec<PressShimRow>>,
}

impl SharedForms {
    /// Of these bows, lightest first.
    pub(super) fn of(bows: &[OneWeight]) -> Result<SharedForms, Refused> {
        let one = SharedForms::one(bows)?;
        let press_shims = if one { press_shims(bows)? } else { vec![Vec::new(); bows.len()] };
        Ok(SharedForms { one, press_shims })
    }

    fn one(bows: &[OneWeight]) -> Result<bool, Refused> {
        /// Less than a form is planed to, mm.
        const SAME_MM: f64 = 0.1;
        let Some(most) = thickest(bows).job.glue_up()? else { return Ok(true) };
        for bow in bows {
            let stages = bow.job.glue_up()?.map_or(&[][..], |own| own.stages.as_slice());
            let on_forms = most.stages.iter().zip(stages).filter(|(stage, _)| matches!(stage.held, Held::Form { .. }));
            let off = |(a, b): (&LinePoint, &LinePoint)| (a.rise_mm - b.rise_mm).abs().max((a.along_mm - b.along_mm).abs());
            for (at_most, own) in on_forms {
                let ends = at_most.on_form.last().zip(own.on_form.last());
                let all = at_most.on_form.iter().zip(&own.on_form).filter(|(a, b)| (a.s_mm - b.s_mm).abs() < 1e-6).chain(ends);
                if SAME_MM < all.map(off).fold(0.0, f64::max) {
                    return Ok(false);
                }
            }
        }
        Ok(true)
    }
}

fn press_shims(bows: &[OneWeight]) -> Result<Vec<Vec<PressShimRow>>, Refused> {
    let thickest = &thickest(bows).job;
    let of_bow = |bow: &OneWeight| -> Result<Vec<PressShimRow>, Refused> {
        let (Some(most), Some(own)) = (thickest.glue_up()?, bow.job.glue_up()?) else { return Ok(Vec::new()) };
        let stages = most.stages.iter().zip(&own.stages);
        let row = stages.filter_map(|(at_most, stage)| {
            let thickest = LimbOnForm { build: thickest.build(), glued: most, stage: at_most };
            let shim_mm = upper_half::shim_mm(thickest, LimbOnForm { build: bow.job.build(), glued: own, stage })?;
            Some(PressShimRow { stage: stage.number, shim_mm: round(shim_mm) })
        });
        Ok(row.collect())
    };
    bows.iter().map(of_bow).collect()
}

/// The bow whose piles are the thickest: the heaviest.
fn thickest(bows: &[OneWeight]) -> &OneWeight {
    &bows[bows.len() - 1]
}
