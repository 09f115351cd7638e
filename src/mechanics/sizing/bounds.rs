//! How far may a stack change, and what ends it?
//!
//! The sander and the stock bound the whole strip, overrun included; `sizing.limits` bounds the finished lamination, and so does a crown that is
//! worked into it. A taper is not turned round unasked: a lamination that is not thicker toward its tip as written stays so, unless its limits
//! say otherwise.

use super::{SizingPlan, Unknown, reach};
use crate::diag::{Diagnostic, Place, mm, newtons};
use crate::model::lamination::Lamination;
use crate::model::taper::TaperForm;
use crate::numeric::span::Span;

/// How far a change may go, and what ends it.
#[derive(Debug, Clone, Copy)]
pub(super) struct SizingBound {
    pub at: f64,
    pub lamination: usize,
    pub end: End,
}

/// What ends a change; thickness in mm, tapers in mm per mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum End {
    /// The least that the sander takes.
    Machine(f64),
    /// All of the stock.
    Stock(f64),
    /// The crown worked into it, where it is the belly.
    Crown(f64),
    /// `least` and `most` of `sizing.limits`.
    Least(f64),
    Most(f64),
    /// The least taper: nought unless the limits or the file say less.
    LeastTaper(f64),
    MostTaper(f64),
}

impl End {
    /// It keeps something from getting thinner.
    pub fn is_thin(self) -> bool {
        matches!(self, End::Machine(_) | End::Crown(_) | End::Least(_) | End::MostTaper(_))
    }
}

/// Thinnest strip where no sander is given, mm: common practice on a carrier, no source.
const MIN_MM: f64 = 0.5;

impl SizingPlan<'_> {
    /// Least and greatest value of the unknown that every strip bears, with what ends it.
    pub(super) fn limits(&self, unknown: Unknown) -> [SizingBound; 2] {
        let mut limits =
            [f64::NEG_INFINITY, f64::INFINITY].map(|at| SizingBound { at, lamination: self.change[0], end: End::Machine(0.0) });
        let mut bound = |by: f64, held: f64, value: f64, lamination: usize, end: End| {
            // held + by · unknown stays on its side of value; what the unknown does not move cannot stop it.
            if by.abs() <= 1e-12 {
                return;
            }
            let at = (value - held) / by;
            let is_least = matches!(end, End::Machine(_) | End::Crown(_) | End::Least(_) | End::LeastTaper(_));
            let upper = (0.0 < by) != is_least;
            let limit = &mut limits[usize::from(upper)];
            if (upper && at < limit.at) || (!upper && limit.at < at) {
                *limit = SizingBound { at, lamination, end };
            }
        };
        let outline = self.build.outline.as_ref();
        let crowned = outline.and_then(|outline| Some((outline, outline.shape.crown_mm.as_ref()?)));
        for (k, index) in self.change.iter().enumerate() {
            let lamination = &self.build.laminations[*index];
            let machine = self.build.sander.as_ref().map_or(MIN_MM, |sander| sander.min_for_mm(lamination));
            let stock = lamination.stock.thickness_mm - lamination.stock.first_face_mm;
            let asked = self.limit_of(*index);
            // t + base + share added − part rate (g − turn), solved for the unknown.
            let moved = |s: f64| {
                let (t, g) = (lamination.finished.at(s) + self.base_mm[k], reach(lamination, s) - self.turns_mm[k]);
                match unknown {
                    Unknown::Added { rate } => (self.fractions[k], t - self.parts[k] * rate * g),
                    Unknown::Rate { added } => (-self.parts[k] * g, t + self.fractions[k] * added),
                }
            };
            for u in lamination.strip_corners() {
                let (by, held) = moved(lamination.station_at(u));
                bound(by, held, machine, *index, End::Machine(machine));
                bound(by, held, stock, *index, End::Stock(stock));
            }
            let inside = lamination.finished.corners().filter(|s| lamination.from_mm < *s && *s < lamination.to_mm);
            let turns: Vec<f64> = inside.chain([lamination.from_mm, lamination.to_mm]).collect();
            if let Some((outline, crown)) = crowned {
                let all = crown.points().iter().map(|point| point.0).chain(turns.iter().copied());
                for s in all.filter(|s| self.build.belly_at(*s) == Some(*index)) {
                    let (by, held) = moved(s);
                    bound(by, held, outline.crown_at(s), *index, End::Crown(outline.crown_at(s)));
                }
            }
            for s in turns {
                let (by, held) = moved(s);
                for (value, end) in [(asked.min_mm, End::Least as fn(f64) -> End), (asked.max_mm, End::Most)] {
                    if let Some(value) = value {
                        bound(by, held, value, *index, end(value));
                    }
                }
            }
            if let Unknown::Rate { .. } = unknown {
                let Span { min: least, max: most } = self.tapers(*index);
                bound(self.parts[k], taper_of(lamination), least, *index, End::LeastTaper(least));
                bound(self.parts[k], taper_of(lamination), most, *index, End::MostTaper(most));
            }
        }
        limits
    }

    /// Least and greatest change of taper for which every lamination keeps its tapers; the least with the lamination that ends it.
    pub(super) fn taper_range(&self, most: f64) -> ((f64, Option<usize>), f64) {
        let mut range = ((-most, None), most);
        for (k, index) in self.change.iter().enumerate() {
            let was = taper_of(&self.build.laminations[*index]);
            let Span { min: least, max: most } = self.tapers(*index).map(|taper| (taper - was) / self.parts[k]);
            if range.0.0 < least {
                range.0 = (least, Some(*index));
            }
            range.1 = range.1.min(most);
        }
        range
    }

    /// How far the taper of a lamination may go.
    pub(super) fn tapers(&self, index: usize) -> Span {
        let as_written = Span { min: taper_of(&self.build.laminations[index]).min(0.0), max: f64::INFINITY };
        self.limit_of(index).taper.unwrap_or(as_written)
    }

    pub(super) fn out_of_reach(&self, unknown: Unknown, limit: &SizingBound, weight_n: f64) -> Diagnostic {
        let name = &self.build.laminations[limit.lamination].name;
        let why = match limit.end {
            End::Machine(least) => {
                message!("`{}` is then down to {} somewhere on its strip, the least that may be ground", name, mm(least))
            }
            End::Stock(stock) => message!("`{}` then takes all {} of its stock", name, mm(stock)),
            End::Crown(crown) => message!("`{}` is then no thicker than the crown of {} that is worked into it", name, mm(crown)),
            End::Least(least) => message!("`{}` is then down to {}, its `least` under `sizing.limits`", name, mm(least)),
            End::Most(most) => message!("`{}` then has {}, its `most` under `sizing.limits`", name, mm(most)),
            End::LeastTaper(least) => {
                message!("`{}` then has a taper of {}, the least it may have", name, format_args!("{:.4}", least))
            }
            End::MostTaper(most) => {
                message!("`{}` then has a taper of {}, the most it may have", name, format_args!("{:.4}", most))
            }
        };
        let what = match unknown {
            Unknown::Added { .. } => "thickness",
            Unknown::Rate { .. } => "taper",
        };
        let message = message!(
            "no {} of the laminations that may change gives {}: at the limit the bow draws {}, and {}",
            what,
            newtons(self.wanted_n),
            newtons(weight_n),
            why
        );
        let fault = Diagnostic::fault(Place::new("sizing"), message);
        if let End::LeastTaper(_) | End::MostTaper(_) = limit.end {
            return fault.hint("write how = \"thickness\" or \"both\", so that thickness may change as well");
        }
        // Force goes with the width exactly, with thickness about as its cube.
        let ratio = self.wanted_n / weight_n;
        let thicker = self.build.dry_stack_mm(0.0) * (ratio.cbrt() - 1.0);
        let stock = if limit.end.is_thin() {
            message!("a stack about {} thinner would do: let another lamination change too", mm(-thicker))
        } else {
            message!("stock about {} thicker in all would do, or let another lamination change too", mm(thicker))
        };
        fault.hint(format!("widths times {ratio:.2} would do with the stack at that limit")).hint(stock)
    }
}

/// Thinner by this much per unit of length toward the tip: as stated, or from butt to tip.
pub(super) fn taper_of(lamination: &Lamination) -> f64 {
    match lamination.finished.form() {
        TaperForm::Straight { rate } | TaperForm::FlatThenStraight { rate, .. } => rate,
        TaperForm::Parallel | TaperForm::Stations | TaperForm::Ground => {
            let [butt, tip] = [lamination.from_mm, lamination.to_mm].map(|s| lamination.finished.at(s));
            (butt - tip) / (lamination.to_mm - lamination.from_mm)
        }
    }
}
