//! The door: a build file's text in, a checked build out, or every fault in it at once.
//!
//! The text is taken apart with the place of every value ([`raw`]), then each table is read by a function of its own
//! ([`reader`] has the common part). Past this room there are no keys, no inches and no defaults to look up.
//!
//! To add a key: ask for it in the table's function (a key that nobody asks for is a fault), give a default with its reason,
//! put the value into the model, and add a fault file to the tests.

mod raw;
mod source;
mod reader;
mod check;
mod laminations;
mod bow;
mod shop;
mod starter;

pub use check::read;
pub use source::Source;
pub use starter::{Start, starter};
