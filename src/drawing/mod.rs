//! One neutral drawing for all formats: items with a meaning, in mm, y up. Knows no format and no species.

pub mod kind;
mod items;
pub mod font;
pub mod strokes;
pub mod annotate;
pub mod panels;
mod ascii;

pub use items::{Align, Drawing, Item, Label, Lettering, Shape};
pub use kind::{Kind, LineStyle, LineTable};
