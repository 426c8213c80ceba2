//! The site as the cameras see it: sample points in tiles, and the solids that hide them.

mod error;
mod model;
mod number;
mod polygon;
mod structures;

pub use error::SiteError;
pub use model::{Prism, SiteModel, TILE_LEN, Tile};
pub use structures::{ResolvedStructure, ResolvedStructures, resolved_structures};
