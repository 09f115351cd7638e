//! From a build file to sleds, pass schedules, limb mechanics and full-size templates for laminated bows.
//!
//! ```text
//!  build file ─► buildfile ─► model ─► mechanics ─► shop ─┬─► sheets ─► Drawing ─┐
//!    (TOML)      raw → check                              └─► book ───► blocks ──┴─► write ─► bytes
//!                beside:  units  diag  numeric  geometry
//!                job chains them all  ─►  edges:  cli (terminal)  serve (browser)   folder (files)
//! ```
//!
//! Whoever drives the library comes in by [`job::Job`]. Everything past the door of [`buildfile`] is in millimetres, newtons, megapascals, radians and seconds.
//! Inches and pounds exist only in [`units`], and are used where text is read or written.
//!
//! # Where things are measured
//!
//! ```text
//!        back of the bow (target side)
//!   ┌───────────────────────────────────────────┐  first lamination of the stack
//!   │   station s = 0 at the bow's centre ──► s │  ...
//!   └───────────────────────────────────────────┘  last lamination of the stack
//!        belly (the archer's side)
//! ```
//!
//! * **Station `s`**: distance from the bow's centre toward a tip, along the back.
//! * **Stack**: laminations in order from back to belly.
//! * **Curvature**: positive toward the belly (deflex, the way the bow bends when drawn), negative for reflex.
//! * **Side frame**: `y` along the bow from its centre, `x` from the back of the grip toward the archer.
//! * **Strip coordinate `u`**: distance along a strip on its sled, from the strip's butt end (or its first end).
//!
//! The modules, in reading order:

pub mod units;
#[macro_use]
pub mod diag;
pub mod numeric;
pub mod geometry;
pub mod model;
pub mod buildfile;
pub mod mechanics;
pub mod shop;
pub mod drawing;
pub mod sheets;
pub mod report;
pub mod book;
pub mod write;
pub mod job;
#[cfg(feature = "program")]
pub mod folder;
#[cfg(feature = "program")]
pub mod serve;
#[cfg(feature = "program")]
pub mod cli;

/// The README's example for other programs, run as a test.
#[cfg(doctest)]
#[doc = include_str!("../README.md")]
pub struct Readme;
