//! Which strips lie on one sled: those of one seat ([`crate::shop::seat`]), whichever bow they are for.

use super::Job;
use crate::model::Build;
use crate::shop::seat::Seat;

/// A sled and the strips that it serves.
#[derive(Debug, Clone, PartialEq)]
pub struct SharedSled {
    /// Whose sled it is: its run-on stands lowest, so that the run-on is a stop for the thinnest strip, too.
    pub cut_from: StripOf,
    /// All strips that lie on it, its own among them.
    pub serves: Vec<StripOf>,
    /// Its own last gap, mm.
    pub gap_mm: f64,
    /// How much farther below its last gap the run-on stands under the thickest strip than under its own, mm.
    pub lower_mm: f64,
}

impl SharedSled {
    /// Whether a lamination's strips, in whichever bow, lie on it.
    pub fn holds(&self, lamination: usize) -> bool {
        self.serves.iter().any(|strip| strip.lamination == lamination)
    }

    /// Names of the laminations whose strips lie on it, each once.
    pub fn names(&self, build: &Build) -> Vec<String> {
        self.named(&[build]).serves
    }

    /// Its name and its strips' among those of these bows, each once: a limb whose other limb is a different one names its own as its own.
    pub(super) fn named(&self, builds: &[&Build]) -> SledNames {
        // Bows of a series have the same laminations.
        let name = |strip: &StripOf| {
            let build = builds[strip.bow.min(builds.len() - 1)];
            build.part_name(&build.laminations[strip.lamination].name)
        };
        let mut serves: Vec<String> = self.serves.iter().map(name).collect();
        // Those of several bows stand together.
        serves.dedup();
        SledNames { of: name(&self.cut_from), serves }
    }
}

/// What a sled is called, and the strips that lie on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct SledNames {
    pub of: String,
    pub serves: Vec<String>,
}

/// The strips of a lamination in one of several bows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StripOf {
    /// The bow by its number from 0: in a series its place in [`super::Series::bows`], else 0.
    pub bow: usize,
    /// The lamination by its number from 0.
    pub lamination: usize,
}

/// The sleds that all strips of these bows need, in the order of the laminations. A lamination that cannot be ground needs none.
pub(super) fn shared(bows: &[&Job]) -> Vec<SharedSled> {
    let laminations = bows.iter().map(|job| job.build().laminations.len()).max().unwrap_or(0);
    let strips = (0..laminations).flat_map(|lamination| (0..bows.len()).map(move |bow| StripOf { bow, lamination }));
    let strips = strips.filter(|strip| strip.lamination < bows[strip.bow].build().laminations.len());
    let own = |strip: StripOf| Some((strip, seat(bows[strip.bow], strip.lamination)?));
    let mut groups: Vec<Vec<(StripOf, Seat<'_>)>> = Vec::new();
    for (strip, seat) in strips.filter_map(own) {
        match groups.iter_mut().find(|group| group[0].1.is_like(&seat)) {
            Some(group) => group.push((strip, seat)),
            None => groups.push(vec![(strip, seat)]),
        }
    }
    let of_group = |group: Vec<(StripOf, Seat<'_>)>| {
        let by_gap = |a: &&(StripOf, Seat<'_>), b: &&(StripOf, Seat<'_>)| a.1.sled.final_gap_mm.total_cmp(&b.1.sled.final_gap_mm);
        let (lowest, highest) = (group.iter().min_by(by_gap)?, group.iter().max_by(by_gap)?);
        Some(SharedSled {
            cut_from: lowest.0,
            gap_mm: lowest.1.sled.final_gap_mm,
            lower_mm: highest.1.sled.final_gap_mm - lowest.1.sled.final_gap_mm,
            serves: group.iter().map(|own| own.0).collect(),
        })
    };
    groups.into_iter().filter_map(of_group).collect()
}

/// How a lamination's strips lie; `None` where they lie on the table, or cannot be ground.
fn seat(job: &Job, lamination: usize) -> Option<Seat<'_>> {
    let ground = job.ground(lamination).ok()??;
    let plan = job.build().sled_for(&job.build().laminations[lamination])?;
    let gap_step_mm = job.build().sander.as_ref()?.gap_step_mm;
    Some(Seat { sled: &ground.kit.as_ref()?.sled, plan, lamination: &ground.lamination, gap_step_mm })
}
