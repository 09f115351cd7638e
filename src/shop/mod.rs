//! What hands do: sleds and their parts, shims, pass schedules, and the check of a schedule by grinding it.

pub mod sled;
pub mod sag;
mod label;
mod profile;
pub mod joint;
pub mod ramp;
pub mod shims;
pub mod board;
pub mod correct;
pub mod plausible;
pub mod parts;
pub mod nest;
pub mod passes;
pub mod grind;
pub mod drift;
pub mod budget;
pub mod logged;
pub mod riser_block;
pub mod blank;
pub mod even;
pub mod form;
