//! What each surface gets: which station sees which sample, and what that amounts to.

mod figures;
mod table;

pub use figures::{
    ClassFigures, GsdSpread, RING_COUNT, Rose, SECTOR_COUNT, SampleFigures, Shortage, ViewFigures, ViewLimits,
};
pub use table::{TileView, ViewTable};
