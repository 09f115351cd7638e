//! Do the places of one run tell the same gap? A slipped figure must not move the gauge's zero.
//!
//! Every place that the cutter reached tells it: `offset = thickness + surface − gauge`, the same at all of them but for what sled and
//! caliper explain. Where the cutter has not been the strip is as thick as it came, and tells less. Of all gaps that a place names, the one
//! counts that leaves fewest places unexplained; a place that stays unexplained is asked about, and nothing follows from the whole run.
//!
//! ```text
//! zero   the median of the places that were reached
//!        ± max(greatest − median, median − least) + e
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `e` | what one good figure may be off: the caliper, and how far the sled stands off its drawing there; a bound, no deviation | mm |
//!
//! The interval holds the true zero as long as one of its figures is good, whatever the others are. Source: a consensus of readings
//! within a stated band (least median of squares in its spirit; P. J. Rousseeuw, J. Am. Stat. Assoc. 79, 1984, cited from memory), the
//! interval derived here. Limits: one figure alone cannot be checked and moves nothing.

use super::super::signed;
use super::CALIPER_MM;
use crate::diag::{Diagnostic, Place, mm};
use crate::model::log::StripRun;
use crate::numeric::fit;

/// Places of one run are never held closer together than this, mm: 0.003 in. Less, and snipe, dust and tape count as slips; more, and
/// figures that slipped by a few thousandths pass.
const APART_MM: f64 = 6.0 * CALIPER_MM;
/// Left and right at one place alone differ by no more, mm: 0.004 in over a strip is a table far out. More lets a slipped edge through.
const LEAN_ALONE_MM: f64 = 0.1;
/// New paper moves the zero of a gauge by some tenths of a millimetre; more was misread, mm.
pub(super) const ZERO_MM: f64 = 0.75;
/// One place alone agrees with the zero in use within this, mm: 0.006 in, what dust and wear do within one paper. More, and a slip of
/// some thousandths passes; less, and a worn paper is asked about.
pub(super) const ALONE_MM: f64 = 0.15;

/// What one place tells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct ReadFigure {
    /// Along the strip, mm.
    pub u_mm: f64,
    /// True gap less gauge, if the cutter reached it, mm.
    pub offset_mm: f64,
    /// It is as thick as it came: the cutter may not have reached it.
    pub as_it_came: bool,
}

/// The zero that several places tell together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zero {
    pub offset_mm: f64,
    /// Half of the interval that holds the true one, mm.
    pub half_width_mm: f64,
}

/// What a run tells.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum RunTells {
    /// One place only was reached, its index.
    Alone(usize),
    /// Places that were reached, their indices, and the zero they agree on.
    Agreed(Vec<usize>, Zero),
}

/// Places that cannot all be right.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Doubt {
    /// The one that stands against all others; `None` where it cannot be told which is wrong.
    pub at: Option<usize>,
    pub by_mm: f64,
}

/// What the figures of a run tell together; `good_mm` is the `e` of the table above.
pub(super) fn told(figures: &[ReadFigure], good_mm: f64) -> Result<Option<RunTells>, Doubt> {
    let apart_mm = APART_MM.max(2.0 * good_mm);
    let near = |gap: &ReadFigure, other: &ReadFigure| (gap.offset_mm - other.offset_mm).abs() <= apart_mm;
    let uncut = |gap: &ReadFigure, other: &ReadFigure| other.as_it_came && other.offset_mm < gap.offset_mm;
    let unexplained = |gap: &ReadFigure| -> Vec<usize> {
        (0..figures.len()).filter(|k| !near(gap, &figures[*k]) && !uncut(gap, &figures[*k])).collect()
    };
    // Fewest unexplained; of equals the one that most places name, then the one they stand closest around.
    let judged = figures.iter().map(|gap| {
        let reached: Vec<usize> = (0..figures.len()).filter(|k| near(gap, &figures[*k])).collect();
        let around: f64 = reached.iter().map(|k| (figures[*k].offset_mm - gap.offset_mm).abs()).sum();
        (unexplained(gap), reached, around)
    });
    let best = judged.min_by(|a, b| {
        let count = |of: &(Vec<usize>, Vec<usize>, f64)| (of.0.len(), figures.len() - of.1.len());
        count(a).cmp(&count(b)).then(a.2.total_cmp(&b.2))
    });
    let Some((left_over, reached, _)) = best else { return Ok(None) };
    let offsets: Vec<f64> = reached.iter().map(|k| figures[*k].offset_mm).collect();
    let Some(zero) = zero(&offsets, good_mm) else { return Ok(None) };
    if let Some(first) = left_over.first() {
        let off = |k: &usize| (figures[*k].offset_mm - zero.offset_mm).abs();
        let by_mm = left_over.iter().map(off).fold(0.0, f64::max);
        let at = (left_over.len() == 1 && 2 <= reached.len()).then_some(*first);
        return Err(Doubt { at, by_mm });
    }
    Ok(Some(if reached.len() == 1 { RunTells::Alone(reached[0]) } else { RunTells::Agreed(reached, zero) }))
}

/// A strip whose places contradict one gap and agree on another taper than drawn, straight or smooth: its sled, or how it lay, was off.
/// Every place lies as near to what all others say of it as places of one gap lie to each other, so that no figure slipped.
pub(super) fn other_taper(figures: &[ReadFigure], good_mm: f64) -> Option<RunTells> {
    let apart_mm = APART_MM.max(2.0 * good_mm);
    let reached: Vec<usize> = (0..figures.len()).filter(|k| !figures[*k].as_it_came).collect();
    let points: Vec<(f64, f64)> = reached.iter().map(|k| (figures[*k].u_mm, figures[*k].offset_mm)).collect();
    let agrees = |degree: usize| {
        (0..points.len()).all(|k| {
            let others: Vec<(f64, f64)> = points.iter().copied().take(k).chain(points[k + 1..].iter().copied()).collect();
            let said = fit::polynomial_at(&others, degree, points[k].0);
            said.is_some_and(|said| (said - points[k].1).abs() <= apart_mm)
        })
    };
    // Where the cutter was not, nothing tells whether it should have been.
    let straight = STRAIGHT <= points.len() && agrees(1);
    if reached.len() < figures.len() || !(straight || SMOOTH <= points.len() && agrees(2)) {
        return None;
    }
    let offsets: Vec<f64> = points.iter().map(|point| point.1).collect();
    zero(&offsets, good_mm).map(|zero| RunTells::Agreed(reached, zero))
}

/// Places that a straight and a smooth taper take: with fewer, one figure that slipped may pass as a taper.
const STRAIGHT: usize = 4;
const SMOOTH: usize = 6;

/// The median of offsets and the interval around it.
pub(super) fn zero(offsets_mm: &[f64], good_mm: f64) -> Option<Zero> {
    let offset_mm = fit::median(offsets_mm)?;
    let farthest_mm = offsets_mm.iter().map(|offset| (offset - offset_mm).abs()).fold(0.0, f64::max);
    Some(Zero { offset_mm, half_width_mm: farthest_mm + good_mm })
}

impl Doubt {
    /// The question that it is; `place` is where the readings stand.
    pub fn question(&self, what: &str, readings: &Place) -> Diagnostic {
        let (message, place) = match self.at {
            Some(at) => (
                message!("this place of {} says the gap is {} off what the others say", what, mm(self.by_mm)),
                readings.index(at),
            ),
            None => (message!("the readings of {} disagree about the gap by {}", what, mm(self.by_mm)), readings.clone()),
        };
        Diagnostic::fault(place, message)
            .hint("was it cut everywhere it was read, the right way round, and on this sled? read it again, at three places or more")
            .hint(ZERO_STAYS)
    }
}

/// What is said of every doubted run.
pub(super) const ZERO_STAYS: &str = "the whole reading is not used until it is mended; the zero stays as it was";

/// Left less right over the places of a run, mm, or a question where they contradict each other.
pub(super) fn lean_mm(run: &StripRun, readings: &Place) -> Result<f64, Diagnostic> {
    // A place that was read once has no lean to tell.
    let leans: Vec<(usize, f64)> = run
        .at
        .iter()
        .enumerate()
        .map(|(k, across)| (k, across.left_mm - across.right_mm))
        .filter(|(_, lean)| run.apart_mm.is_some() && 1e-9 < lean.abs())
        .collect();
    let Some(middle) = fit::median(&leans.iter().map(|(_, lean)| *lean).collect::<Vec<_>>()) else { return Ok(0.0) };
    let (limit, against) = if leans.len() == 1 { (LEAN_ALONE_MM, 0.0) } else { (APART_MM, middle) };
    let worst = leans.iter().max_by(|a, b| (a.1 - against).abs().total_cmp(&(b.1 - against).abs()));
    match worst {
        Some((k, lean)) if limit < (lean - against).abs() => {
            let message = if leans.len() == 1 {
                message!("left and right differ by {} at the one place that was read at both edges", mm(lean.abs()))
            } else {
                message!("left less right is {} here, {} off the other places", signed(*lean), mm((lean - against).abs()))
            };
            Err(Diagnostic::fault(readings.index(*k), message)
                .hint("read both edges again, at three places or more")
                .hint(ZERO_STAYS))
        }
        _ => Ok(middle),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figures(offsets: &[f64]) -> Vec<ReadFigure> {
        offsets
            .iter()
            .enumerate()
            .map(|(k, offset_mm)| ReadFigure { u_mm: 200.0 * k as f64, offset_mm: *offset_mm, as_it_came: false })
            .collect()
    }

    #[test]
    fn the_greatest_figure_does_not_win() {
        // Three places, one says 0.018 in more.
        let doubt = told(&figures(&[0.01, 0.467, 0.0]), CALIPER_MM).unwrap_err();
        assert_eq!(doubt.at, Some(1));
        assert!((doubt.by_mm - 0.462).abs() < 1e-9, "{doubt:?}");
        // Of two nobody can say which.
        assert_eq!(told(&figures(&[0.01, 0.467]), CALIPER_MM).unwrap_err().at, None);
    }

    #[test]
    fn another_taper_is_told_from_a_slip() {
        let taper = |offsets: &[f64]| other_taper(&figures(offsets), CALIPER_MM);
        let Some(RunTells::Agreed(reached, zero)) = taper(&[0.0, 0.105, 0.195, 0.3]) else { panic!("a straight one") };
        assert!(reached.len() == 4 && 0.15 <= zero.half_width_mm, "{zero:?}");
        assert!(taper(&[0.0, 0.09, 0.16, 0.21, 0.24, 0.25]).is_some(), "a smooth one");
        for slipped in [&[0.0, 0.0, 0.0, 0.2][..], &[0.0, 0.1, 0.4, 0.3], &[0.0, 0.09, 0.16, 0.4, 0.24, 0.25], &[0.0, 0.1, 0.2]] {
            assert_eq!(taper(slipped), None, "{slipped:?}");
        }
    }

    #[test]
    fn what_was_not_reached_says_nothing() {
        let mut run = figures(&[0.1, 0.11, -1.4]);
        run[2].as_it_came = true;
        let Ok(Some(RunTells::Agreed(reached, zero))) = told(&run, CALIPER_MM) else { panic!("{run:?}") };
        assert_eq!(reached, [0, 1]);
        assert!((zero.offset_mm - 0.105).abs() < 1e-9 && (zero.half_width_mm - 0.005 - CALIPER_MM).abs() < 1e-9);
        // As thick as it came, but above the gap that the others tell: that cannot be.
        run[2].offset_mm = 0.6;
        assert_eq!(told(&run, CALIPER_MM).unwrap_err().at, Some(2));
        assert_eq!(told(&run[2..], CALIPER_MM), Ok(Some(RunTells::Alone(0))));
        assert_eq!(told(&[], CALIPER_MM), Ok(None));
    }
}
