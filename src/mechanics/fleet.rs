//! What do all bows of a shop say together? One factor on stiffness with its interval, how bows scatter, whether they drift, whether a
//! batch of glue or glass or the form's temperature shows, and what the next one will draw.
//!
//! Of each bow `y = ln c` is known ([`super::calibration`]). Causes are columns of one least-squares fit:
//!
//! ```text
//! y_i = μ + d · i + β(batch of i) + τ · T_i + e_i        e_i normal, deviation s
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `i` | number of the bow in the order in which they were weighed | – |
//! | `d` | drift, from one bow to the next | – |
//! | `β` | of a batch; stated as that batch less the mean of all other bows | – |
//! | `T`, `τ` | the form's temperature, and what a degree makes | °C, 1/°C |
//! | `s` | scatter from bow to bow about what is resolved | – |
//!
//! A cause is *resolved* where its 95 % interval in the fit with all causes together leaves out nothing at all; of `k` batches each gets
//! a `k`-th of the 5 % (Bonferroni). One that would be resolved by itself and is not beside the others is *mixed*: a change of batch that
//! came with the years looks like drift, and nobody can tell. Only what is resolved moves the prediction of the next bow, which is taken
//! as one of the last bow's batch and temperature.
//!
//! Source: least squares and the prediction of one further reading, any text on regression; the cut-offs are ours.

use super::calibration::{Calibrated, MIN_SPREAD, WeightObservation};
use crate::numeric::regression::{Regression, regression};
use crate::numeric::span::Span;

/// A finished bow and what it was glued with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FleetBow<'a> {
    pub observation: WeightObservation,
    /// Empty where it was not said.
    pub batch: &'a str,
    pub temperature_c: Option<f64>,
}

/// What all bows say.
#[derive(Debug, Clone, PartialEq)]
pub struct Fleet {
    pub bows: usize,
    /// On all stiffness against the handbook's, the geometric mean, and its interval; none from one bow.
    pub factor: f64,
    pub factor_between: Option<Span>,
    /// From bow to bow about what is resolved, one standard deviation as a share, and its interval; none from one bow.
    pub scatter: Option<f64>,
    pub scatter_between: Option<Span>,
    /// ln of the factor from one bow to the next.
    pub drift: Cause,
    /// Of each batch that was named, beside all other bows; empty where all bows are of one, unseen where they are too few.
    pub batches: Vec<Batch>,
    /// ln of the factor per °C.
    pub temperature: Cause,
    pub next: NextBow,
}

/// A batch beside all other bows.
#[derive(Debug, Clone, PartialEq)]
pub struct Batch {
    pub name: String,
    pub bows: usize,
    /// ln of its factor over that of the others.
    pub cause: Cause,
}

/// How far a cause is told. All at 95 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cause {
    /// Too few bows, or the cause never changed.
    Unseen,
    /// Less than this either way would not show.
    Unresolved {
        half_width: f64,
    },
    /// It would show by itself, and came together with another cause.
    Mixed,
    Resolved {
        ln: f64,
        half_width: f64,
    },
}

/// The next bow's factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextBow {
    pub factor: f64,
    /// One standard deviation of its ln, and half of the 95 % interval; none from one bow.
    pub sigma: Option<f64>,
    pub half_width: Option<f64>,
}

impl NextBow {
    /// The factor at 95 %; none from one bow.
    pub fn between(&self) -> Option<Span> {
        self.half_width.map(|half| Span::about(0.0, half).map(|by| self.factor * by.exp()))
    }
}

impl Fleet {
    /// As it is used for the next bow.
    pub fn calibrated(&self) -> Calibrated {
        let few = (1.0 + 1.0 / self.bows as f64).sqrt();
        Calibrated { factor: self.next.factor, spread: self.next.sigma.map(|sigma| sigma.max(MIN_SPREAD * few)), bows: self.bows }
    }
}

impl Cause {
    pub fn is_resolved(self) -> bool {
        matches!(self, Cause::Resolved { .. })
    }
}

/// Outside of every interval.
const OUTSIDE: f64 = 0.05;
/// With fewer bows a line through chance is too often steep: neither drift nor temperature is looked for.
const MIN_BOWS: usize = 5;
/// Bows beyond what a fit takes up that have to be left over for its scatter.
const MIN_FREEDOM: usize = 2;
/// More batches than this are told by nobody's bows, and each would cost a column.
const MAX_BATCHES: usize = 24;
/// Temperatures that differ by less are one, °C: thermometers differ as much.
const MIN_TEMPERATURES_C: f64 = 2.0;
/// Less than this either way is nothing at all: the last digits of a scale.
const NOTHING: f64 = 1e-9;

/// What these bows say, in the order in which they were weighed; `None` without any.
///
/// ```
/// use taperwright::mechanics::calibration::WeightObservation;
/// use taperwright::mechanics::fleet::{Cause, FleetBow, fleet};
/// let bow = |weighed_n| FleetBow {
///     observation: WeightObservation { computed_n: 200.0, weighed_n, finishing_n: 0.0 },
///     batch: "",
///     temperature_c: None,
/// };
/// let two = fleet(&[bow(190.0), bow(200.0)]).unwrap();
/// assert!((two.factor - 0.95_f64.sqrt()).abs() < 1e-12);
/// // Of two, s is the half difference times √2, and t is 12.7062 (printed tables).
/// let s = -0.95_f64.ln() / 2.0_f64.sqrt();
/// assert!((two.next.half_width.unwrap() - 12.7062 * s * 1.5_f64.sqrt()).abs() < 1e-4);
/// assert_eq!(two.drift, Cause::Unseen);
/// ```
#[must_use]
pub fn fleet(bows: &[FleetBow<'_>]) -> Option<Fleet> {
    let seen = Seen::of(bows);
    let n = bows.len();
    let mean = (0 < n).then(|| seen.y.iter().sum::<f64>() / n as f64)?;
    let all = seen.candidates();
    let together = seen.fit(all).filter(|fit| MIN_FREEDOM <= fit.freedom);
    let beside = CauseFits { alone: None, together: together.as_ref().map(|fit| (fit, all)) };
    let one = |is: bool, only: Columns, at: &dyn Fn(Columns) -> usize| {
        let unit = |columns: Columns| {
            let mut row = vec![0.0; seen.width(columns)];
            row[at(columns)] = 1.0;
            row
        };
        let alone = seen.fit(only).filter(|_| is);
        CauseFits { alone: alone.as_ref().map(|fit| (fit, only)), ..beside }.tells(&unit, OUTSIDE)
    };
    let drift = one(all.order, Columns { order: true, ..Columns::default() }, &|_| 1);
    let last = |columns: Columns| seen.width(columns) - 1;
    let temperature = one(all.temperature, Columns { temperature: true, ..Columns::default() }, &last);
    let only = Columns { batches: true, ..Columns::default() };
    let alone = if all.batches { seen.fit(only) } else { None };
    let batches = seen.batches(&CauseFits { alone: alone.as_ref().map(|fit| (fit, only)), ..beside });
    let resolved = Columns {
        order: drift.is_resolved(),
        batches: batches.iter().any(|batch| batch.cause.is_resolved()),
        temperature: temperature.is_resolved(),
    };
    let fit = seen.fit(resolved);
    let plain = seen.fit(Columns::default());
    let next = match &fit {
        Some(fit) => {
            let row = seen.next(resolved);
            NextBow {
                factor: fit.at(&row).exp(),
                sigma: Some(fit.sigma_of_next(&row)),
                half_width: Some(fit.half_width_of_next(&row, OUTSIDE)),
            }
        }
        None => NextBow { factor: mean.exp(), sigma: None, half_width: None },
    };
    Some(Fleet {
        bows: n,
        factor: mean.exp(),
        factor_between: plain.map(|fit| {
            let half = fit.half_width(&[1.0], OUTSIDE);
            Span::about(mean, half).map(f64::exp)
        }),
        scatter: fit.as_ref().map(|fit| fit.scatter),
        scatter_between: fit.as_ref().map(|fit| fit.scatter_between(OUTSIDE)),
        drift,
        batches,
        temperature,
        next,
    })
}

/// A cause by itself and beside all others: each a fit with the columns that it has.
#[derive(Clone, Copy)]
struct CauseFits<'a> {
    alone: Option<(&'a Regression, Columns)>,
    together: Option<(&'a Regression, Columns)>,
}

impl CauseFits<'_> {
    /// What a combination of coefficients, given for the columns of a fit, tells.
    fn tells(&self, contrast: &dyn Fn(Columns) -> Vec<f64>, outside: f64) -> Cause {
        let of = |(fit, columns): (&Regression, Columns)| {
            let row = contrast(columns);
            (fit.at(&row), fit.half_width(&row, outside))
        };
        let shows = |(ln, half): (f64, f64)| half + NOTHING < ln.abs();
        let Some(alone) = self.alone.map(of) else { return Cause::Unseen };
        match self.together.map(of) {
            Some((ln, half_width)) if shows((ln, half_width)) => Cause::Resolved { ln, half_width },
            _ if shows(alone) => Cause::Mixed,
            Some((_, half_width)) => Cause::Unresolved { half_width },
            None => Cause::Unresolved { half_width: alone.1 },
        }
    }
}

/// Which causes a fit has columns for.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Columns {
    order: bool,
    batches: bool,
    temperature: bool,
}

/// The bows as numbers.
struct Seen<'a> {
    y: Vec<f64>,
    /// Batches in the order in which they came, and the one of each bow.
    names: Vec<&'a str>,
    batch: Vec<usize>,
    temperature_c: Vec<Option<f64>>,
}

impl<'a> Seen<'a> {
    fn of(bows: &[FleetBow<'a>]) -> Seen<'a> {
        let mut names: Vec<&str> = Vec::new();
        let batch = bows
            .iter()
            .map(|bow| {
                names.iter().position(|name| *name == bow.batch).unwrap_or_else(|| {
                    names.push(bow.batch);
                    names.len() - 1
                })
            })
            .collect();
        Seen {
            y: bows.iter().map(|bow| bow.observation.factor().ln()).collect(),
            batch,
            names,
            temperature_c: bows.iter().map(|bow| bow.temperature_c).collect(),
        }
    }

    /// Causes that these bows could tell of at all.
    fn candidates(&self) -> Columns {
        let n = self.y.len();
        let known: Vec<f64> = self.temperature_c.iter().flatten().copied().collect();
        let reach = known.iter().fold(f64::NEG_INFINITY, |a, b| a.max(*b)) - known.iter().fold(f64::INFINITY, |a, b| a.min(*b));
        Columns {
            order: MIN_BOWS <= n,
            batches: (2..=MAX_BATCHES).contains(&self.names.len()) && self.names.len() + MIN_FREEDOM <= n,
            temperature: MIN_BOWS <= n && known.len() == n && MIN_TEMPERATURES_C <= reach,
        }
    }

    fn width(&self, columns: Columns) -> usize {
        1 + usize::from(columns.order) + if columns.batches { self.names.len() - 1 } else { 0 } + usize::from(columns.temperature)
    }

    /// Columns in the order: all, number, batches but the first, temperature.
    fn row(&self, columns: Columns, number: f64, batch: usize, temperature_c: Option<f64>) -> Vec<f64> {
        let mut row = vec![1.0];
        if columns.order {
            row.push(number - 0.5 * (self.y.len() as f64 - 1.0));
        }
        if columns.batches {
            row.extend((1..self.names.len()).map(|other| if other == batch { 1.0 } else { 0.0 }));
        }
        if columns.temperature {
            let known = || self.temperature_c.iter().flatten();
            row.push(temperature_c.unwrap_or(0.0) - known().sum::<f64>() / known().count() as f64);
        }
        row
    }

    fn fit(&self, columns: Columns) -> Option<Regression> {
        let row = |k: usize| self.row(columns, k as f64, self.batch[k], self.temperature_c[k]);
        regression(&(0..self.y.len()).map(row).collect::<Vec<_>>(), &self.y)
    }

    /// The bow after the last one, glued as that was.
    fn next(&self, columns: Columns) -> Vec<f64> {
        let last = self.y.len() - 1;
        self.row(columns, self.y.len() as f64, self.batch[last], self.temperature_c[last])
    }

    /// Each batch that has a name, less the mean of all other bows; none where there is one alone.
    fn batches(&self, beside: &CauseFits<'_>) -> Vec<Batch> {
        let (n, count) = (self.y.len(), self.names.len());
        if count < 2 {
            return Vec::new();
        }
        let bows_of = |batch: usize| self.batch.iter().filter(|of| **of == batch).count();
        // Two batches are one comparison.
        let outside = if count == 2 { OUTSIDE } else { OUTSIDE / count as f64 };
        let one = |batch: usize| {
            let others = (n - bows_of(batch)) as f64;
            let contrast = |columns: Columns| {
                let mut row = vec![0.0; self.width(columns)];
                let first = 1 + usize::from(columns.order);
                for other in 1..count {
                    row[first + other - 1] = if other == batch { 1.0 } else { -(bows_of(other) as f64) / others };
                }
                row
            };
            let cause = beside.tells(&contrast, outside);
            Batch { name: self.names[batch].to_owned(), bows: bows_of(batch), cause }
        };
        (0..count).filter(|batch| !self.names[*batch].is_empty()).map(one).collect()
    }
}
