//! Shapes, cameras, motion, grids of heights and ways round obstacles, without a site.

pub(crate) mod brown;
pub(crate) mod camera;
pub(crate) mod convex;
pub(crate) mod detour;
pub(crate) mod footprint;
pub(crate) mod growth;
pub(crate) mod lie;
pub mod motion;
pub mod polygon;
pub(crate) mod ring;
pub(crate) mod terrain;

pub use brown::Brown;
pub use camera::{CameraModel, Pose, PosedCamera};
pub use footprint::footprint_m;
pub use polygon::HULL_EASE_M;
pub use terrain::{TERRAIN_NODES, TerrainGrid, TerrainGridError};
