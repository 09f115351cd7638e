//! Results to drawings, a file per sheet: what is shown and where it stands. How a format says it is `write`'s.
//!
//! Sheets carry no title block and no scale check of their own: the writers add both, from the drawing's title and notes.

mod layout;
pub mod outline;
pub mod riser;
mod rebate;
pub mod grip;
pub mod block_parts;
mod overlay;
pub mod bow;
pub mod cut;
pub mod assembly;
pub mod form;
pub mod tiller;
pub mod figures;
