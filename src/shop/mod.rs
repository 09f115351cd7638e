//! What hands do: sleds and their parts, shims, pass schedules, and the check of a schedule by grinding it.

pub mod sled;
pub mod sag;
mod label;
mod profile;
pub mod joint;
pub mod kit;
pub mod makes;
pub mod ramp;
pub mod solid;
pub mod shimmed;
pub mod raised_end;
mod board;
pub mod shims;
pub mod correct;
pub mod plausible;
pub mod parts;
pub mod nest;
pub mod passes;
pub mod grind;
pub mod proof;
pub mod drift;
pub mod budget;
pub mod logged;
pub mod riser_block;
pub mod blank;
pub mod even;
pub mod form;
