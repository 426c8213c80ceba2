//! What each surface gets: which station sees which sample, and what that amounts to.

mod figures;
mod frustum;
mod lanes;
mod rays;
mod reduce;
mod rose;
mod shadow;
mod sight;
mod table;
mod tally;
mod veil;

pub use figures::{
    ClassFigures, GsdSpread, RING_COUNT, Rose, SECTOR_COUNT, SampleFigures, Shortage, ViewFigures, ViewLimits,
};
pub use reduce::views;
pub use sight::{framed, sight};
pub use table::{TileView, ViewTable};
pub use tally::counted_masks;
