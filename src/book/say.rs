//! Numbers of the report as they are said in the builder's units, with their place in the report.

use super::block::{Cell, Text};
use crate::units::{System, percent};

/// Says numbers in one system.
#[derive(Debug, Clone, Copy)]
pub(super) struct Say(pub System);

impl Say {
    /// Thickness, to a thousandth of an inch or a hundredth of a millimetre.
    pub fn thickness(self, mm: f64, pointer: impl Into<String>) -> Text {
        Text::number(self.0.thickness(mm), pointer, mm)
    }

    /// The same without its unit, for columns whose head says it.
    pub fn bare(self, mm: f64, pointer: impl Into<String>) -> Cell {
        Text::number(self.0.thickness_number(mm), pointer, mm).into()
    }

    /// Along the wood: sixty-fourths of an inch, or tenths of a millimetre.
    pub fn wood(self, mm: f64, pointer: impl Into<String>) -> Text {
        Text::number(self.0.rule(mm), pointer, mm)
    }

    /// Read past a string: sixteenths, or millimetres.
    pub fn tiller(self, mm: f64, pointer: impl Into<String>) -> Text {
        Text::number(self.0.tiller(mm), pointer, mm)
    }

    /// To a thousandth of an inch or a hundredth of a millimetre, without trailing zeros.
    pub fn decimal(self, mm: f64, pointer: impl Into<String>) -> Text {
        Text::number(self.0.decimal(mm), pointer, mm)
    }

    pub fn force(self, n: f64, pointer: impl Into<String>) -> Text {
        Text::number(self.0.force_text(n), pointer, n)
    }

    /// A ratio as percent.
    pub fn percent(self, ratio: f64, decimals: usize, pointer: impl Into<String>) -> Text {
        Text::number(format!("{} %", percent(ratio, decimals)), pointer, ratio)
    }

    /// A rise with its word: reflex is away from the archer.
    pub fn rise(self, mm: f64, pointer: impl Into<String>) -> Text {
        let number = self.0.rise_number(mm.abs());
        let word = match mm {
            // What reads as nothing has no side.
            _ if number.chars().all(|c| c == '0' || c == '.') => "",
            _ if mm < 0.0 => " reflex",
            _ => " deflex",
        };
        Text::number(format!("{number} {}", self.0.length_unit()), pointer, mm).then(word)
    }
}

/// A number that is a count.
pub(super) fn count(n: u32, pointer: impl Into<String>) -> Text {
    Text::number(n.to_string(), pointer, f64::from(n))
}
