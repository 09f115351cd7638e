//! What the wood does: sections, the bent limb, brace and draw, and what glue-up leaves. Knows no shop and no drawings; mm, N, MPa, rad.

pub mod section;
pub mod limb;
pub mod strung;
pub mod bow;
pub mod strain;
pub mod draw;
pub mod pair;
pub mod tillering;
pub mod tiller_fit;
pub mod sizing;
pub mod boards;
pub mod strip_test;
pub mod sensitivity;
pub mod hinge;
pub mod tiller;
pub mod blank;
pub mod rescale;
pub mod relief;
pub mod mass;
pub mod release;
pub mod calibration;
pub mod glueup;
pub mod fade;
pub mod verdict;
pub mod overstrain;
pub mod strip_verdict;
