//! What stands on a site: outlines, surfaces and the samples on them.

pub(crate) mod outline;
pub(crate) mod surface;

pub use outline::{Obstacle, OutlineStructure, SiteOutline, together};
pub use surface::{
    ASSUMED_LIMIT, Horizon, Prism, Relief, ResolvedStructure, ResolvedStructures, SAMPLE_LIMIT, Sample,
    SamplePoint, SiteError, SiteModel, TILE_LEN, Tile, resolved_structures,
};
