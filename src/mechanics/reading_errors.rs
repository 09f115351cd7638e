//! How sure are the readings that are fitted together, and which of them err together?
//!
//! Readings whose errors have the covariance `R = L Lᵀ` are taken as `L⁻¹ y`, whose errors are independent with deviation 1; so a fit knows one kind of
//! reading alone. Rows that nobody read weigh nothing.
//!
//! Source: generalised least squares, any text on statistics.

use crate::numeric::linear::{Factor, cholesky};

/// Errors of the readings of a round, in the order of the model's rows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadingErrors(Vec<ErrorBlock>);

#[derive(Debug, Clone, PartialEq)]
enum ErrorBlock {
    /// Independent, one σ.
    Each(Vec<f64>),
    /// That belong together.
    Together(Factor),
    /// So many rows that nobody read.
    NotRead(usize),
}

impl ReadingErrors {
    /// Independent ones, one σ for each row.
    pub fn each(sigmas_mm: &[f64]) -> ReadingErrors {
        ReadingErrors(vec![ErrorBlock::Each(sigmas_mm.to_vec())])
    }

    /// `None` where this is no covariance.
    pub fn together(covariance: &[Vec<f64>]) -> Option<ReadingErrors> {
        Some(ReadingErrors(vec![ErrorBlock::Together(cholesky(covariance)?)]))
    }

    pub fn not_read(rows: usize) -> ReadingErrors {
        ReadingErrors(vec![ErrorBlock::NotRead(rows)])
    }

    /// These after those before.
    #[must_use]
    pub fn then(mut self, more: ReadingErrors) -> ReadingErrors {
        self.0.extend(more.0);
        self
    }

    /// Rows in units of their errors, each independent of the others; nothing of those that nobody read.
    pub(super) fn whiten(&self, rows: &[f64]) -> Vec<f64> {
        let mut rest = rows;
        let mut white = Vec::with_capacity(rows.len());
        for block in &self.0 {
            let count = match block {
                ErrorBlock::Each(sigmas) => sigmas.len(),
                ErrorBlock::Together(factor) => factor.len(),
                ErrorBlock::NotRead(count) => *count,
            };
            let (own, after) = rest.split_at(count.min(rest.len()));
            rest = after;
            match block {
                ErrorBlock::Each(sigmas) => white.extend(own.iter().zip(sigmas).map(|(row, sigma)| row / sigma)),
                ErrorBlock::Together(factor) => white.extend(factor.whiten(own)),
                ErrorBlock::NotRead(_) => white.extend(own.iter().map(|_| 0.0)),
            }
        }
        white
    }
}
