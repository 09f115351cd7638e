//! The search for the fewest settings of the gauge from first contact to the last gap.
//!
//! Let `a` be how far the last cut lies above the last gap. From `a` any paper not coarser than the present one may take a
//! whole number of gauge steps, as long as the cut is no deeper than the paper and the strip's thickness at that moment
//! allow. The paper may be changed only while at least the depth of its scratches is left to remove, and the last paper must
//! make the last cut. Working upward from the last gap, the best way to finish from each `a` with each paper is found from
//! the ways that start lower: every state is looked at once, so the result is the true minimum (R. Bellman's principle of
//! optimality). Effort: papers × steps × steps in the deepest cut.
//!
//! Ways are compared by passes, then changes of paper, then load: the sum of (cut/limit)², least when the work is spread
//! evenly, which also keeps passes of a hair's breadth out of the list.

use crate::units::limit;

/// Lengths that differ by less are the same, mm. Rounding in sums of gaps stays near 1e-13 mm; no gauge shows 1e-7.
pub const CLOSE_MM: f64 = limit::ABSOLUTE;

/// More gauge steps than this from first contact to the last gap are refused: at the finest gauge in use (0.001 mm) they
/// would be 20 mm of wood, and the search would take seconds.
pub const MAX_STEPS: usize = 20_000;

/// What is to be ground away, seen from the thinnest place of the strip.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// Height of the first contact, or of the cut made last, above the last gap, mm.
    pub above_mm: f64,
    /// The paper that made the cut there; `None` if nothing has been cut yet.
    pub present: Option<usize>,
    /// Thickness at the thinnest place when the last gap is reached, mm.
    pub thinnest_last_mm: f64,
    pub step_mm: f64,
    /// Coarse to fine.
    pub papers: Vec<PaperDepth>,
    /// Deepest cut as a share of the thickness before the pass.
    pub thin_fraction: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PaperDepth {
    pub max_mm: f64,
    pub scratch_mm: f64,
}

/// One setting: gauge steps above the last gap, and the paper in the machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setting {
    pub steps: usize,
    pub paper: usize,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    pub settings: Vec<Setting>,
    /// Cuts that were weighed.
    pub visited: usize,
}

/// Why no list of settings exists.
#[derive(Debug, Clone, PartialEq)]
pub enum NoRoute {
    TooManySteps {
        steps: f64,
    },
    /// The paper in the machine has cut so low that its scratches cannot be removed any more.
    Scratched {
        paper: usize,
        left_mm: f64,
        scratch_mm: f64,
    },
    /// At `above_mm` over the last gap even the smallest cut that the gauge can set, `min_mm`, is deeper than the limit.
    Coarse {
        paper: usize,
        above_mm: f64,
        thickness_mm: f64,
        min_mm: f64,
        limit_mm: f64,
        thin: bool,
    },
}

impl Task {
    /// Deepest cut with this paper when the last cut lies `above_mm` over the last gap, mm.
    pub fn limit_mm(&self, paper: usize, above_mm: f64) -> f64 {
        self.papers[paper].max_mm.min(self.thin_fraction * (self.thinnest_last_mm + above_mm))
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Cost {
    passes: u32,
    changes: u32,
    load: f64,
}

/// The next setting from a state and the cost of finishing through it.
type Continuation = Option<(Cost, Setting)>;

/// The fewest settings, last one at `steps` 0; none where nothing is to be cut.
pub fn fewest(task: &Task) -> Result<Route, NoRoute> {
    let last = task.papers.len() - 1;
    if task.above_mm <= CLOSE_MM {
        // Nothing is left to cut; scratches of a coarser paper would stay.
        if let Some(paper) = task.present
            && paper < last
            && CLOSE_MM < task.papers[paper].scratch_mm
        {
            let (left_mm, scratch_mm) = (task.above_mm.max(0.0), task.papers[paper].scratch_mm);
            return Err(NoRoute::Scratched { paper, left_mm, scratch_mm });
        }
        return Ok(Route { settings: Vec::new(), visited: 0 });
    }
    let levels = ((task.above_mm - CLOSE_MM) / task.step_mm).floor();
    if levels.is_nan() || MAX_STEPS as f64 <= levels {
        return Err(NoRoute::TooManySteps { steps: levels });
    }
    let levels = levels as usize;
    let mut visited = 0;
    // finish[n][q]: how to go on from a cut at `n` steps made with paper `q`; at 0 there is nowhere to go.
    let mut finish: Vec<Vec<Continuation>> = Vec::with_capacity(levels + 1);
    finish.push(vec![None; last + 1]);
    let mut start = vec![None; last + 1];
    for level in 1..=levels + 1 {
        let first = level == levels + 1;
        let above_mm = if first { task.above_mm } else { level as f64 * task.step_mm };
        let cuts: Vec<Continuation> = (0..=last).map(|paper| best_cut(task, paper, above_mm, &finish, &mut visited)).collect();
        // The paper that the first cut is made with is on already.
        let change = u32::from(!first || task.present.is_some());
        let ways = (0..=last).map(|present| best_paper(task, present, above_mm, change, &cuts)).collect();
        if first {
            start = ways;
        } else {
            finish.push(ways);
        }
    }
    let mut at = start[task.present.unwrap_or(0)];
    let mut settings = Vec::new();
    // Each setting is lower than the one before, so this ends.
    while let Some((_, setting)) = at {
        settings.push(setting);
        at = finish[setting.steps][setting.paper];
    }
    if settings.is_empty() { Err(reason(task, levels)) } else { Ok(Route { settings, visited }) }
}

/// The best cut with `paper` from `above_mm`, over every setting below.
fn best_cut(task: &Task, paper: usize, above_mm: f64, finish: &[Vec<Continuation>], visited: &mut usize) -> Continuation {
    let limit_mm = task.limit_mm(paper, above_mm);
    let last = task.papers.len() - 1;
    let mut best: Continuation = None;
    // Deepest first, so that of two equal ways the one that takes more now is kept.
    for (steps, ways) in finish.iter().enumerate().skip(lowest_reach(task, above_mm, limit_mm)) {
        *visited += 1;
        let rest = if steps == 0 {
            if paper == last { Cost { passes: 0, changes: 0, load: 0.0 } } else { continue }
        } else {
            match ways[paper] {
                Some((cost, _)) => cost,
                None => continue,
            }
        };
        let part = (above_mm - steps as f64 * task.step_mm) / limit_mm;
        let cost = Cost { passes: rest.passes + 1, changes: rest.changes, load: rest.load + part * part };
        best = better(best, Some((cost, Setting { steps, paper })));
    }
    best
}

/// The lowest setting that a cut of `limit_mm` from `above_mm` reaches.
fn lowest_reach(task: &Task, above_mm: f64, limit_mm: f64) -> usize {
    ((above_mm - limit_mm - CLOSE_MM) / task.step_mm).ceil().max(0.0) as usize
}

/// The best of going on with the present paper and of changing to a finer one where its scratches can still be removed. A change
/// counts for `change`; where it is none nothing was cut yet.
fn best_paper(task: &Task, present: usize, above_mm: f64, change: u32, cuts: &[Continuation]) -> Continuation {
    let may_change = change == 0 || task.papers[present].scratch_mm <= above_mm + CLOSE_MM;
    let mut best = cuts[present];
    if may_change {
        for way in &cuts[present + 1..] {
            best = better(best, way.map(|(cost, setting)| (Cost { changes: cost.changes + change, ..cost }, setting)));
        }
    }
    best
}

fn better(held: Continuation, other: Continuation) -> Continuation {
    match (held, other) {
        (Some((a, _)), Some((b, _))) => {
            let less = (b.passes, b.changes) < (a.passes, a.changes)
                || (b.passes == a.passes && b.changes == a.changes && b.load < a.load - 1e-9);
            if less { other } else { held }
        }
        (held, other) => held.or(other),
    }
}

/// Where the last paper gets stuck, from the top; it is the one that can be used everywhere.
fn reason(task: &Task, levels: usize) -> NoRoute {
    let last = task.papers.len() - 1;
    if let Some(paper) = task.present
        && paper < last
        && task.above_mm + CLOSE_MM < task.papers[paper].scratch_mm
    {
        return NoRoute::Scratched { paper, left_mm: task.above_mm, scratch_mm: task.papers[paper].scratch_mm };
    }
    // Below the first cut the smallest cut is one step; the limit only falls on the way down.
    let stuck = |above_mm: f64, min_mm: f64| {
        let limit_mm = task.limit_mm(last, above_mm);
        (limit_mm + CLOSE_MM < min_mm).then(|| NoRoute::Coarse {
            paper: last,
            above_mm,
            thickness_mm: task.thinnest_last_mm + above_mm,
            min_mm,
            limit_mm,
            thin: limit_mm < task.papers[last].max_mm,
        })
    };
    stuck(task.above_mm, task.above_mm - levels as f64 * task.step_mm)
        .or_else(|| (1..=levels).rev().find_map(|level| stuck(level as f64 * task.step_mm, task.step_mm)))
        .unwrap_or(NoRoute::Coarse {
            paper: last,
            above_mm: task.above_mm,
            thickness_mm: task.thinnest_last_mm + task.above_mm,
            min_mm: task.step_mm,
            limit_mm: task.limit_mm(last, task.above_mm),
            thin: false,
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn task(above_mm: f64, papers: &[(f64, f64)]) -> Task {
        Task {
            above_mm,
            present: None,
            thinnest_last_mm: 100.0,
            step_mm: 1.0,
            papers: papers.iter().map(|&(max_mm, scratch_mm)| PaperDepth { max_mm, scratch_mm }).collect(),
            thin_fraction: 0.5,
        }
    }

    fn drops(task: &Task) -> Vec<(i64, usize)> {
        let mut above = task.above_mm;
        fewest(task)
            .unwrap()
            .settings
            .iter()
            .map(|s| {
                let drop = above - s.steps as f64;
                above = s.steps as f64;
                (drop.round() as i64, s.paper)
            })
            .collect()
    }

    #[test]
    fn cuts_are_spread_evenly_over_the_fewest_passes() {
        assert_eq!(drops(&task(22.0, &[(8.0, 0.0)])), [(8, 0), (7, 0), (7, 0)]);
        assert_eq!(drops(&task(16.0, &[(8.0, 0.0)])), [(8, 0), (8, 0)]);
        assert!(drops(&task(0.0, &[(8.0, 0.0)])).is_empty());
    }

    #[test]
    fn a_coarse_paper_stops_where_its_scratches_can_still_be_removed() {
        // 30 with (10, scratches 7) then (4): three coarse cuts would leave 0, two leave 10 or more; the fine one takes 4 each.
        let found = drops(&task(30.0, &[(10.0, 7.0), (4.0, 1.0)]));
        let fine: i64 = found.iter().filter(|(_, paper)| *paper == 1).map(|(drop, _)| drop).sum();
        assert!(7 <= fine && found.len() == 5, "{found:?}");
        // Where so little is left that the coarse paper may not be used, the fine one does it alone.
        assert_eq!(drops(&task(6.0, &[(10.0, 7.0), (4.0, 1.0)])), [(3, 1), (3, 1)]);
    }

    #[test]
    fn refusals_carry_numbers() {
        let mut late = task(5.0, &[(10.0, 7.0), (4.0, 1.0)]);
        late.present = Some(0);
        assert_eq!(fewest(&late), Err(NoRoute::Scratched { paper: 0, left_mm: 5.0, scratch_mm: 7.0 }));
        late.above_mm = -0.1;
        assert_eq!(fewest(&late), Err(NoRoute::Scratched { paper: 0, left_mm: 0.0, scratch_mm: 7.0 }));
        late.present = Some(1);
        assert!(fewest(&late).unwrap().settings.is_empty());
        assert!(matches!(fewest(&task(5.0, &[(0.5, 0.0)])), Err(NoRoute::Coarse { paper: 0, thin: false, .. })));
        let mut thin = task(5.0, &[(3.0, 0.0)]);
        thin.thinnest_last_mm = 0.5;
        // One step above the last gap the strip is 1.5 thick and half of that may be cut: less than a step.
        assert!(matches!(fewest(&thin), Err(NoRoute::Coarse { thin: true, above_mm, .. }) if (above_mm - 1.0).abs() < 1e-12));
        assert!(matches!(fewest(&task(1e9, &[(3.0, 0.0)])), Err(NoRoute::TooManySteps { .. })));
    }
}
