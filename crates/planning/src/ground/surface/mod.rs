//! The site as the cameras see it: sample points in tiles, and the solids that hide them.

mod build;
mod error;
mod face;
mod faces;
mod finer;
pub(crate) mod heights;
mod horizon;
mod model;
mod points;
pub(crate) mod ridges;
mod structures;
mod tile;
mod triangles;

pub use error::{ASSUMED_LIMIT, SAMPLE_LIMIT, SiteError};
pub use horizon::Horizon;
pub use model::{Prism, SiteModel};
pub use points::{Sample, SamplePoint};
pub use structures::{ResolvedStructure, ResolvedStructures, resolved_structures};
pub use tile::{Relief, TILE_LEN, Tile};
