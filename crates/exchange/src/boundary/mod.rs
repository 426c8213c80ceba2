//! Site boundaries from GeoJSON and KML: polygons in longitude and latitude become outlines in a local frame.

mod geojson;
mod kml;
pub(crate) mod ring;

use crate::files::{read_bounded, utf8};
use crate::{FileError, FileErrorKind};
use glam::DVec2;
use obliquity_planning::{GeoPoint, Site, Terrain};
use ring::RawShapes;
use std::path::Path;

/// Largest boundary file that is read, and largest KML in a KMZ once unpacked.
const MOST_BYTES: u64 = 32 << 20;

/// A polygon of a file, ready to become a site's boundary.
#[derive(Debug, Clone, PartialEq)]
pub struct BoundaryChoice {
    /// The name the file gives it, or its number.
    pub name: String,
    /// Origin of the frame: the polygon's centre, rounded to a millionth of a degree.
    pub origin: GeoPoint,
    /// Open ring in metres about the origin, in the file's order.
    pub ring_m: Vec<DVec2>,
    /// Area inside the ring.
    pub area_m2: f64,
    /// What the file has and the boundary has not: holes, altitudes, polygons left out. Sentences for people.
    pub notes: Vec<String>,
}

/// Reads all polygons of a GeoJSON, KML or KMZ file; the first is what to take unless the user chooses.
///
/// Which format it is follows from the contents, not from the name.
///
/// # Errors
/// When the file cannot be read or holds no polygon that can be a boundary. Polygons that cannot are left out, with a
/// note on the first choice, as long as another one can.
pub fn read_boundaries(path: &Path) -> Result<Vec<BoundaryChoice>, FileError> {
    parse_boundaries(&read_bounded(path, MOST_BYTES)?, &path.display().to_string())
}

/// Reads all polygons from the contents of a file; `name` is the file's in messages.
///
/// # Errors
/// As [`read_boundaries`].
pub fn parse_boundaries(bytes: &[u8], name: &str) -> Result<Vec<BoundaryChoice>, FileError> {
    ring::choices(name, shapes(bytes, name)?.polygons)
}

/// Polygons and points of a GeoJSON, KML or KMZ file.
pub(crate) fn shapes(bytes: &[u8], name: &str) -> Result<RawShapes, FileError> {
    if bytes.starts_with(b"PK") {
        let unpacked = kml::unpack(bytes, name)?;
        return kml::shapes(utf8(&unpacked, name)?, name);
    }
    text_shapes(utf8(bytes, name)?, name)
}

fn text_shapes(text: &str, name: &str) -> Result<RawShapes, FileError> {
    match text.trim_start().chars().next() {
        Some('{') => geojson::shapes(text, name),
        Some('<') => kml::shapes(text, name),
        Some(other) => {
            let message = format!(
                "a boundary must be GeoJSON, KML or KMZ, but this begins with {other:?}; export it as one of these"
            );
            Err(FileError::new(name, FileErrorKind::Format, message))
        }
        None => {
            let message = "a boundary must be GeoJSON, KML or KMZ, but the file is empty; export it again";
            Err(FileError::new(name, FileErrorKind::Syntax, message))
        }
    }
}

/// Where a site takes off until someone says where: at the corner nearest the south-west.
pub fn first_take_off(ring_m: &[DVec2]) -> DVec2 {
    let south_west = ring_m.iter().copied().reduce(DVec2::min).unwrap_or_default();
    let nearer =
        |a: &&DVec2, b: &&DVec2| a.distance_squared(south_west).total_cmp(&b.distance_squared(south_west));
    ring_m.iter().min_by(nearer).copied().unwrap_or_default()
}

/// A site with this boundary: level ground, nothing on it, take-off at the corner nearest the south-west.
///
/// The take-off point is a guess for the user to move.
pub fn site_from_boundary(choice: &BoundaryChoice) -> Site {
    Site {
        name: choice.name.clone(),
        origin: Some(choice.origin),
        boundary_m: choice.ring_m.clone(),
        take_off_m: first_take_off(&choice.ring_m),
        terrain: Terrain::default(),
        structures: Vec::new(),
        typical_building: None,
        keep_outs: Vec::new(),
        control_points: Vec::new(),
        sample_spacing_m: None,
    }
}
