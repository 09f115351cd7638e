//! What hands do: sleds and their parts, shims, pass schedules, and the check of a schedule by grinding it.

pub mod sled;
pub mod sag;
pub mod shims;
pub mod parts;
pub mod passes;
pub mod riser_block;
