//! The least and the greatest of some numbers.

/// From the least to the greatest, both included; never turned round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    pub min: f64,
    pub max: f64,
}

impl Span {
    /// What these numbers span; nothing where there are none.
    ///
    /// ```
    /// use taperwright::numeric::span::Span;
    /// assert_eq!(Span::over([3.0, 1.0, 2.0]), Some(Span { min: 1.0, max: 3.0 }));
    /// assert_eq!(Span::over([]), None);
    /// ```
    pub fn over(numbers: impl IntoIterator<Item = f64>) -> Option<Span> {
        numbers
            .into_iter()
            .map(|number| Span { min: number, max: number })
            .reduce(|span, one| Span { min: span.min.min(one.min), max: span.max.max(one.max) })
    }

    /// As far as `half` below and above a middle.
    #[must_use]
    pub fn about(middle: f64, half: f64) -> Span {
        Span { min: middle - half, max: middle + half }
    }

    /// Both ends through a function that never falls.
    #[must_use]
    pub fn map(self, rising: impl Fn(f64) -> f64) -> Span {
        Span { min: rising(self.min), max: rising(self.max) }
    }

    /// The span of all numbers times a positive factor.
    #[must_use]
    pub fn times(self, factor: f64) -> Span {
        Span { min: factor * self.min, max: factor * self.max }
    }

    pub fn width(self) -> f64 {
        self.max - self.min
    }

    /// Least, then greatest, as it is published.
    pub fn pair(self) -> [f64; 2] {
        [self.min, self.max]
    }
}
