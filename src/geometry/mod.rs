//! The plane in f64 millimetres, y up: paths of straight lines and true arcs, their offsets and bounds. Knows no bow.

pub mod path;
pub mod offset;
pub mod flatten;
pub mod homography;
pub mod plane_view;

pub use path::{Bounds, Extent, Path, Placement, Point, Vertex, height_at};
