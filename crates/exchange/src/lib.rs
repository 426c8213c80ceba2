//! Every file that Obliquity reads and writes: scenarios, site boundaries, reports, set-up cards and exports.
//!
//! Nothing here works out a figure: outcomes come from `obliquity-planning` and are only put into words and formats.
//! A file that cannot be read gives a [`FileError`] that names the file, the place and the mend.

mod boundary;
mod card;
mod error;
mod export;
mod files;
mod frame;
mod raster;
mod report;
mod scenario;

pub use boundary::{BoundaryChoice, parse_boundaries, read_boundaries, site_from_boundary};
pub use card::set_up_card;
pub use error::{FileError, FileErrorKind, FileFault, Place};
pub use export::{ExportError, Exported, ViewRows, export_strategy};
pub use frame::LocalFrame;
pub use raster::{RasterFrame, TerrainImport, parse_terrain, read_terrain};
pub use report::comparison_json;
pub use scenario::{FORMAT, parse_equipment, parse_scenario, read_scenario, save_scenario, write_scenario};
