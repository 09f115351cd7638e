//! What a message says: words, and quantities whose unit is chosen by whoever shows it.
//!
//! Rooms past the door know no inches, so a message carries its lengths in mm, its forces in N and its moduli in MPa as numbers,
//! and becomes text in [`Message::spoken`] alone. [`message!`](crate::message) makes one as `format!` makes a text:
//!
//! ```
//! use taperwright::{diag::{at_least, mm}, message, units::System};
//! let name = "core";
//! let thin = message!("`{}` is {} thin", name, mm(0.9144));
//! assert_eq!(thin.spoken(System::Inch), "`core` is 0.036 in thin");
//! assert_eq!(thin.spoken(System::Millimetre), "`core` is 0.914 mm thin");
//! let hint = message!("take {} or more", at_least(12.0001));
//! assert_eq!(hint.spoken(System::Millimetre), "take 12.001 mm or more");
//! let close = message!("{} is under {}", mm(299.98), mm(300.0));
//! assert_eq!(close.spoken(System::Millimetre), "299.98 mm is under 300 mm");
//! ```

use crate::units::System;
use crate::units::limit::{self, Toward};
use std::fmt;

/// Lengths that differ by more than a limit's tolerance are told apart by this many digits more, in inches and in mm.
const MAX_MORE_DECIMALS: usize = 5;

/// A sentence or a part of one: words and quantities in their order.
#[derive(Debug, Clone, PartialEq, Default)]
#[must_use]
pub struct Message(Vec<Piece>);

/// One piece of a message.
///
/// It has no `Display` on purpose: a quantity reaches a reader through [`Message::spoken`], in the units of the build file.
#[derive(Debug, Clone, PartialEq)]
pub enum Piece {
    Words(String),
    /// A length, and where its last digit is rounded to.
    Length {
        mm: f64,
        toward: Toward,
    },
    /// A length along the wood, as a rule shows it.
    Ruled {
        mm: f64,
    },
    Force {
        n: f64,
    },
    Modulus {
        mpa: f64,
    },
    /// Of an arrow.
    ArrowSpeed {
        mm_s: f64,
    },
    /// Of an arrow or a string.
    SmallMass {
        kg: f64,
    },
}

/// A length in mm.
pub fn mm(length_mm: f64) -> Piece {
    Piece::Length { mm: length_mm, toward: Toward::Nearest }
}

/// A length along the wood in mm, for a rule or a tape.
pub fn ruled(length_mm: f64) -> Piece {
    Piece::Ruled { mm: length_mm }
}

/// The least length that would do, in mm, for a hint: rounded up, so that it still does when it is typed in.
pub fn at_least(length_mm: f64) -> Piece {
    Piece::Length { mm: length_mm, toward: Toward::Up }
}

/// The greatest length that would do, in mm, for a hint: rounded down.
pub fn at_most(length_mm: f64) -> Piece {
    Piece::Length { mm: length_mm, toward: Toward::Down }
}

/// A force in N.
pub fn newtons(force_n: f64) -> Piece {
    Piece::Force { n: force_n }
}

/// A modulus in MPa.
pub fn mpa(modulus_mpa: f64) -> Piece {
    Piece::Modulus { mpa: modulus_mpa }
}

/// The speed of an arrow in mm/s.
pub fn arrow_speed(speed_mm_s: f64) -> Piece {
    Piece::ArrowSpeed { mm_s: speed_mm_s }
}

/// What an arrow or a string weighs, in kg.
pub fn small_mass(mass_kg: f64) -> Piece {
    Piece::SmallMass { kg: mass_kg }
}

/// What may fill a gap of [`message!`](crate::message): anything that can be written, a quantity, or another message.
pub trait Fill {
    fn fill(&self, message: &mut Message);
}

impl<T: fmt::Display + ?Sized> Fill for T {
    fn fill(&self, message: &mut Message) {
        message.push_words(&self.to_string());
    }
}

impl Fill for Piece {
    fn fill(&self, message: &mut Message) {
        match self {
            Piece::Words(words) => message.push_words(words),
            quantity => message.0.push(quantity.clone()),
        }
    }
}

impl Fill for Message {
    fn fill(&self, message: &mut Message) {
        self.0.iter().for_each(|piece| piece.fill(message));
    }
}

/// A [`Message`] from a text with `{}` for each of the values behind it, in their order.
///
/// A count that does not fit, and any other brace, is refused when the program is built.
#[macro_export]
macro_rules! message {
    ($text:literal $(, $value:expr)* $(,)?) => {{
        const { assert!($crate::diag::gaps($text) == 0 $(+ { let _ = stringify!($value); 1 })*) };
        let values: &[&dyn $crate::diag::Fill] = &[$(&$value),*];
        $crate::diag::Message::filled($text, values)
    }};
}

/// How many `{}` stand in the text of a [`message!`](crate::message). Other braces are refused.
pub const fn gaps(text: &str) -> usize {
    let bytes = text.as_bytes();
    let (mut at, mut count) = (0, 0);
    while at < bytes.len() {
        if bytes[at] == b'{' {
            assert!(at + 1 < bytes.len() && bytes[at + 1] == b'}', "a gap is written {{}}");
            count += 1;
            at += 1;
        } else {
            assert!(bytes[at] != b'}', "a gap is written {{}}");
        }
        at += 1;
    }
    count
}

impl Message {
    /// The text with its gaps filled; see [`message!`](crate::message), which counts them.
    pub fn filled(text: &str, values: &[&dyn Fill]) -> Message {
        let mut message = Message::default();
        let mut values = values.iter();
        for (index, words) in text.split("{}").enumerate() {
            if let Some(value) = (index > 0).then(|| values.next()).flatten() {
                value.fill(&mut message);
            }
            message.push_words(words);
        }
        message
    }

    fn push_words(&mut self, words: &str) {
        match self.0.last_mut() {
            Some(Piece::Words(before)) => before.push_str(words),
            _ if words.is_empty() => {}
            _ => self.0.push(Piece::Words(words.to_owned())),
        }
    }

    /// Adds words, a quantity or another message behind it.
    pub fn push(&mut self, more: impl Fill) {
        more.fill(self);
    }

    /// The messages one behind the other, with `between` them.
    pub fn join(messages: impl IntoIterator<Item = Message>, between: &str) -> Message {
        let mut whole = Message::default();
        for (index, message) in messages.into_iter().enumerate() {
            if index > 0 {
                whole.push_words(between);
            }
            whole.push(message);
        }
        whole
    }

    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The message as text, its quantities in the units of `system`.
    ///
    /// Two lengths of one message that differ are written with so many digits that one sees it.
    pub fn spoken(&self, system: System) -> String {
        let more_decimals = (0..MAX_MORE_DECIMALS).find(|more| self.told_apart(system, *more)).unwrap_or(MAX_MORE_DECIMALS);
        let mut out = String::new();
        for piece in &self.0 {
            match piece {
                Piece::Words(words) => out.push_str(words),
                Piece::Length { mm, toward } => out.push_str(&system.measure_finer(*mm, *toward, more_decimals)),
                Piece::Ruled { mm } => out.push_str(&system.rule(*mm)),
                Piece::Force { n } => out.push_str(&system.force_text(*n)),
                Piece::Modulus { mpa } => out.push_str(&system.modulus(*mpa)),
                Piece::ArrowSpeed { mm_s } => out.push_str(&system.arrow_speed(*mm_s)),
                Piece::SmallMass { kg } => out.push_str(&system.small_mass(*kg)),
            }
        }
        out
    }

    /// No two lengths of the message look equal that are not.
    fn told_apart(&self, system: System, more_decimals: usize) -> bool {
        let lengths = self.0.iter().filter_map(|piece| match piece {
            Piece::Length { mm, toward } => Some((*mm, system.measure_finer(*mm, *toward, more_decimals))),
            _ => None,
        });
        let lengths: Vec<(f64, String)> = lengths.collect();
        let differ = |a: &(f64, String), b: &(f64, String)| limit::same(a.0, b.0) || a.1 != b.1;
        lengths.iter().enumerate().all(|(index, a)| lengths[..index].iter().all(|b| differ(a, b)))
    }
}

impl From<&str> for Message {
    fn from(words: &str) -> Message {
        Message::from(words.to_owned())
    }
}

impl From<String> for Message {
    fn from(words: String) -> Message {
        Message(vec![Piece::Words(words)])
    }
}

impl From<Piece> for Message {
    fn from(piece: Piece) -> Message {
        Message(vec![piece])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What a builder types is never read as a quantity, and never as a gap.
    #[test]
    fn what_is_filled_in_stays_words() {
        for name in ["x⟨3 N⟩", "⟨1 mm⟩", "{}", "{0}", "⟨", "a{}b{}"] {
            let said = message!("`{}` is {} thick", name, mm(25.4)).spoken(System::Inch);
            assert_eq!(said, format!("`{name}` is 1 in thick"));
        }
    }

    #[test]
    fn messages_nest_and_join() {
        let inner = message!("{} at {}", mm(1.0), newtons(2.0));
        let joined = Message::join([inner.clone(), Message::from("no more"), inner.clone()], ", ");
        assert_eq!(joined.spoken(System::Millimetre), message!("{}, no more, {}", inner, inner).spoken(System::Millimetre));
        assert!(Message::join([], ", ").is_empty());
        assert_eq!(gaps("{} and {}"), 2);
    }
}
