//! Mathematics that knows no bow: curves through points, integration, angles near one another, roots, least values, whole-number search, spans.

pub mod interp;
pub mod piecewise;
pub mod spline;
pub mod ode;
pub mod heading;
pub mod root;
pub mod minimum;
pub mod search;
pub mod fit;
pub mod linear;
pub mod span;
pub mod estimate;
pub mod regression;
