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
mod own;
mod raster;
mod report;
mod scenario;
mod units;

pub use boundary::{BoundaryChoice, parse_boundaries, read_boundaries, site_from_boundary};
pub use card::{Card, CardFigure, CardFit, CardPass, CardReport, set_up_card};
pub use error::{FileError, FileErrorKind, FileFault, Place};
pub use export::{ExportError, Exported, ViewRows, export_strategy};
pub use frame::LocalFrame;
pub use own::{
    MOST_RECENT, PanelWidths, Preferences, ThemeChoice, WindowPlace, parse_preferences, read_library,
    read_preferences, save_library, save_preferences, write_preferences,
};
pub use raster::{RasterFrame, TerrainImport, parse_terrain, read_terrain};
pub use report::{comparison_json, comparison_json_with};
pub use scenario::{
    FORMAT, parse_equipment, parse_library, parse_scenario, read_scenario, save_scenario, write_library,
    write_scenario,
};
pub use units::{Quantity, Scale, Units, count, short};
