//! What of a bow's files a job makes: all of them, or, in a series, what all weights share and what is each bow's own.

use super::sleds::{SharedSled, StripOf};
use super::{Change, Job, Refused, Series};
use crate::model::lamination::file_name;
use crate::shop::kit::Surface;
use std::sync::Arc;

/// What of its files a job makes.
#[derive(Debug, Clone, Default)]
pub(super) enum Portion {
    #[default]
    Whole,
    /// What all bows of a series share: outline, riser, form and the sleds.
    Shared,
    /// The rest. For each lamination the sled among the shared ones that it lies on; `None` where it lies on none of them.
    Own(Arc<[Option<LentSled>]>),
}

/// A sled that another job cuts.
#[derive(Debug, Clone)]
pub(super) struct LentSled {
    pub sled: SharedSled,
    /// Its sides, as its cut files have them.
    pub surfaces: Vec<Surface>,
}

impl Portion {
    pub fn lent(&self, lamination: usize) -> Option<&LentSled> {
        match self {
            Portion::Own(lent) => lent.get(lamination)?.as_ref(),
            Portion::Whole | Portion::Shared => None,
        }
    }

    /// Whether it makes what all bows of a series share.
    pub fn has_shared(&self) -> bool {
        !matches!(self, Portion::Own(_))
    }

    /// Whether it makes what each bow has for itself.
    pub fn has_own(&self) -> bool {
        !matches!(self, Portion::Shared)
    }
}

/// A folder within that of a series.
#[derive(Debug, Clone)]
pub struct SeriesFolder {
    /// Within the series' own.
    pub name: String,
    /// Makes what belongs into it.
    pub job: Job,
    /// Name of the build file of its bows, which lies in it, too; `None` for what all share.
    pub build_file: Option<String>,
}

/// Where everything that the bows share lies.
const SHARED: &str = "shared";

impl Series {
    /// The folders of a series: what all bows share, then one for each weight. `stem` is the name of the series' own build file without its
    /// ending. Sleds are cut from the lightest bow, whose strips are the thinnest; what lies on none of these, its own folder has.
    pub fn folders(&self, job: &Job, stem: &str) -> Result<Vec<SeriesFolder>, Refused> {
        const FIRST: usize = 0;
        let title = [Change::new("title", job.build().title.as_str())];
        let first = self.bows[FIRST].job.with(&title).map_err(|unread| Refused::from(unread.faults))?;
        let shared = Job { portion: Portion::Shared, whole: Arc::default(), ..first };
        let cut_there = |sled: &&SharedSled| sled.cut_from.bow == FIRST;
        let own = |(bow, one): (usize, &super::OneWeight)| {
            let lent = (0..job.build().laminations.len()).map(|lamination| {
                let serves = |sled: &&SharedSled| sled.serves.contains(&StripOf { bow, lamination });
                let Some(sled) = self.sleds.iter().filter(cut_there).find(serves) else { return Ok(None) };
                let cut = shared.cut(sled.cut_from.lamination)?;
                Ok(cut.map(|cut| LentSled { sled: sled.clone(), surfaces: cut.surfaces.clone() }))
            });
            let lent: Result<Vec<_>, Refused> = lent.collect();
            let job = Job { portion: Portion::Own(lent?.into()), whole: Arc::default(), ..one.job.clone() };
            Ok(SeriesFolder { name: file_name(&one.words), job, build_file: Some(one.file_name(stem)) })
        };
        let own: Result<Vec<SeriesFolder>, Refused> = self.bows.iter().enumerate().map(own).collect();
        let shared = SeriesFolder { name: SHARED.into(), job: shared.clone(), build_file: None };
        Ok(std::iter::once(shared).chain(own?).collect())
    }
}
