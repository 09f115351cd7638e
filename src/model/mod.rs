//! The checked bow: what the build file means, in mm, N, MPa, rad and s, with nothing left to look up.

pub mod build;
pub mod log;
pub mod taper;
pub mod lamination;
pub mod limb;
pub mod join;
pub mod meet;
pub mod piece;
pub mod splice;
pub mod marked_station;
pub mod machine_limits;
pub mod outline;
pub mod grip;
pub mod overlay;
pub mod fade;
pub mod block;
pub mod riser;
pub mod wood;
pub mod string;
pub mod grit;
pub mod paper;
pub mod workshop;

pub use build::Build;
