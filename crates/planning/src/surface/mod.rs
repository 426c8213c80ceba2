//! The site as the cameras see it: sample points in tiles, and the solids that hide them.

mod model;

pub use model::{Prism, SiteModel, TILE_LEN, Tile};
