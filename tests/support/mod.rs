//! What tests and benches share: bows, strips, machines and sleds of our own, examples, chance from a seed, a build file planned as far as the machine,
//! logs, the program and its sockets.
#![allow(dead_code)] // each test or bench uses its part

pub mod bows;
pub mod chance;
pub mod examples;
pub mod hand_cuts;
pub mod linear;
pub mod logs;
pub mod near;
pub mod plane;
pub mod planned;
pub mod program;
pub mod shop;
pub mod socket;
pub mod tillered;
