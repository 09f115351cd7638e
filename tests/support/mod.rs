//! What tests and benches share: bows, strips, machines and sleds of our own, chance from a seed, a build file planned as far as the machine.
#![allow(dead_code)] // each test or bench uses its part

pub mod bows;
pub mod chance;
pub mod linear;
pub mod plane;
pub mod planned;
pub mod shop;
pub mod tillered;
