//! What of a bow's files a job makes: all of them, or, in a series, what all weights share and what is each bow's own.

use super::all_weights::AllWeights;
use super::sleds::{self, SharedSled, SledNames, StripOf};
use super::{Change, Job, Refused, Series};
use crate::model::lamination::file_name;
use crate::model::limb::LimbSide;
use crate::report::series::PressShimRow;
use crate::shop::kit::Surface;
use std::sync::Arc;

/// What of its files a job makes.
#[derive(Debug, Clone, Default)]
pub(super) enum Portion {
    #[default]
    Whole,
    /// What all bows of a series share: outline, riser, form and the sleds.
    Shared(Arc<AllWeights>),
    /// The rest. For each lamination the sled among the shared ones that it lies on; `None` where it lies on none of them.
    Own { lent: Arc<[Option<LentSled>]>, press_shims: Vec<PressShimRow>, forms: WhoseForms },
    /// Of two different limbs: what is cut for both, with the lower limb's job; the upper one's is the job's own.
    BothLimbs { lower: Arc<Job>, riser: bool },
    /// Of two different limbs: what one of them has for itself, its outline among it, and its riser's sheet where the fades differ.
    OneLimb { lent: Arc<[Option<LentSled>]>, riser: bool },
}

/// Where the forms of a series are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum WhoseForms {
    Shared,
    EachItsOwn,
}

/// A sled that another job cuts.
#[derive(Debug, Clone)]
pub(super) struct LentSled {
    pub sled: SharedSled,
    pub names: SledNames,
    /// Its sides, as its cut files have them.
    pub surfaces: Vec<Surface>,
}

impl Portion {
    pub fn lent(&self, lamination: usize) -> Option<&LentSled> {
        match self {
            Portion::Own { lent, .. } | Portion::OneLimb { lent, .. } => lent.get(lamination)?.as_ref(),
            Portion::Whole | Portion::Shared(_) | Portion::BothLimbs { .. } => None,
        }
    }

    /// What the weights of a series have each for themselves, where it makes what they share.
    pub fn all_weights(&self) -> Option<&AllWeights> {
        match self {
            Portion::Shared(all) => Some(all),
            _ => None,
        }
    }

    /// What this bow of a series lays under the upper halves of its forms, which are cut for the thickest one.
    pub fn press_shims(&self) -> &[PressShimRow] {
        match self {
            Portion::Own { press_shims, .. } => press_shims,
            _ => &[],
        }
    }

    /// The lower limb's job, where it is cut for both.
    pub fn lower(&self) -> Option<&Job> {
        match self {
            Portion::BothLimbs { lower, .. } => Some(lower),
            _ => None,
        }
    }

    pub fn has_forms(&self) -> bool {
        match self {
            Portion::Whole | Portion::BothLimbs { .. } => true,
            Portion::Shared(all) => all.on_forms.is_some(),
            Portion::Own { forms, .. } => *forms == WhoseForms::EachItsOwn,
            Portion::OneLimb { .. } => false,
        }
    }

    pub fn has_outline(&self) -> bool {
        matches!(self, Portion::Whole | Portion::Shared(_) | Portion::OneLimb { .. })
    }

    pub fn has_riser(&self) -> bool {
        match self {
            Portion::Whole | Portion::Shared(_) => true,
            Portion::BothLimbs { riser, .. } | Portion::OneLimb { riser, .. } => *riser,
            Portion::Own { .. } => false,
        }
    }

    /// Whether it makes what each bow, or each limb, has for itself.
    pub fn has_own(&self) -> bool {
        matches!(self, Portion::Whole | Portion::Own { .. } | Portion::OneLimb { .. })
    }
}

impl Job {
    /// The bow that forms are laid out for: itself, or, of a series, the thickest.
    pub(super) fn on_forms(&self) -> &Job {
        self.portion.all_weights().and_then(|all| all.on_forms.as_ref()).unwrap_or(self)
    }
}

/// A folder within that of a series, or of a bow with two different limbs.
#[derive(Debug, Clone)]
pub struct SeriesFolder {
    /// Within the whole one.
    pub name: String,
    /// Makes what belongs into it.
    pub job: Job,
    /// Name of the build file of its bows, which lies in it, too; `None` for what all share, and for limbs, whose files
    /// the builder has.
    pub build_file: Option<String>,
}

/// Where everything that the bows share lies.
const SHARED: &str = "shared";

impl Series {
    /// The folders of a series: what all bows share, then one for each weight. `stem` is the name of the series' own build file without its
    /// ending. Sleds are cut from the lightest bow, whose strips are the thinnest, and forms for the heaviest, whose pile is the thickest; what
    /// lies on none of these sleds, its own folder has.
    pub fn folders(&self, job: &Job, stem: &str) -> Result<Vec<SeriesFolder>, Refused> {
        const FIRST: usize = 0;
        let title = [Change::new("title", job.build().title.as_str())];
        let first = self.bows[FIRST].job.with(&title).map_err(|unread| Refused::from(unread.faults))?;
        let forms = if self.forms.one { WhoseForms::Shared } else { WhoseForms::EachItsOwn };
        let thickest = (forms == WhoseForms::Shared).then(|| self.thickest().job.with(&title)).transpose();
        let all = AllWeights::of(self, job, FIRST, thickest.map_err(|unread| Refused::from(unread.faults))?)?;
        let shared = Job { portion: Portion::Shared(all.into()), whole: Arc::default(), ..first };
        let cut_there = |sled: &&SharedSled| sled.cut_from.bow == FIRST;
        let own = |(bow, one): (usize, &super::OneWeight)| {
            let lent = (0..job.build().laminations.len()).map(|lamination| {
                let serves = |sled: &&SharedSled| sled.serves.contains(&StripOf { bow, lamination });
                let Some(sled) = self.sleds.iter().filter(cut_there).find(serves) else { return Ok(None) };
                let cut = shared.cut(sled.cut_from.lamination)?;
                let names = sled.named(&[job.build()]);
                Ok(cut.map(|cut| LentSled { sled: sled.clone(), names, surfaces: cut.surfaces.clone() }))
            });
            let lent: Result<Vec<_>, Refused> = lent.collect();
            let portion = Portion::Own { lent: lent?.into(), press_shims: self.forms.press_shims[bow].clone(), forms };
            let job = Job { portion, whole: Arc::default(), ..one.job.clone() };
            Ok(SeriesFolder { name: file_name(&one.words), job, build_file: Some(one.file_name(stem)) })
        };
        let own: Result<Vec<SeriesFolder>, Refused> = self.bows.iter().enumerate().map(own).collect();
        let shared = SeriesFolder { name: SHARED.into(), job: shared.clone(), build_file: None };
        Ok(std::iter::once(shared).chain(own?).collect())
    }
}

/// The folders of a bow with two different limbs, the upper limb's job first: what is cut for both, then one for each limb. Parts of both limbs lie
/// on the same beds; a sled serves the strips of either limb that lie on it.
pub(super) fn of_two_limbs([upper, lower]: [&Job; 2]) -> Result<Vec<SeriesFolder>, Refused> {
    let one_riser = upper.riser_block() == lower.riser_block();
    let both = Portion::BothLimbs { lower: Arc::new(lower.clone()), riser: one_riser };
    let shared = Job { portion: both, stamp: upper.stamp.and(&lower.stamp), whole: Arc::default(), ..upper.clone() };
    let sleds = sleds::shared(&[upper, lower]);
    let builds = [upper.build(), lower.build()];
    let laminations = [builds[0].laminations.len(), builds[1].laminations.len()];
    let mut folders = vec![SeriesFolder { name: SHARED.into(), job: shared.clone(), build_file: None }];
    for (bow, (job, limb)) in [upper, lower].into_iter().zip(LimbSide::BOTH).enumerate() {
        let lent = (0..laminations[bow]).map(|lamination| {
            let serves = |sled: &&SharedSled| sled.serves.contains(&StripOf { bow, lamination });
            let Some(sled) = sleds.iter().find(serves) else { return Ok(None) };
            // The upper limb's laminations, then the lower's.
            let cut = shared.cut(if bow == 0 { lamination } else { laminations[0] + lamination })?;
            Ok(cut.map(|cut| LentSled { sled: sled.clone(), names: sled.named(&builds), surfaces: cut.surfaces.clone() }))
        });
        let lent: Result<Vec<_>, Refused> = lent.collect();
        let portion = Portion::OneLimb { lent: lent?.into(), riser: !one_riser };
        let job = Job { portion, whole: Arc::default(), ..job.clone() };
        folders.push(SeriesFolder { name: limb.word().into(), job, build_file: None });
    }
    Ok(folders)
}
