//! The edge: the only room that touches files, the clock and the terminal.

pub mod args;
pub mod folder;
pub mod hash;
