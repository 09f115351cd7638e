//! What the wood does.

pub mod release;
