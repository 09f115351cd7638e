//! The build book: results as chapters of blocks, in the order of the work. A file per chapter; `write` makes pages of them.

pub mod block;

pub use block::{Block, Book, Cell, Chapter, Column, Picture, Run, Table, Text};
