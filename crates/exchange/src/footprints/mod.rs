//! Footprints of what stands, and points, from GeoJSON, KML, KMZ and shapefiles.

mod shape;

use crate::boundary::ring::{RawPolygon, RawShapes, check_degrees, line_of, open_ring};
use crate::boundary::shapes;
use crate::files::read_bounded;
use crate::{FileError, FileErrorKind};
use obliquity_planning::{GeoPoint, limits};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// Largest file that is read, and largest part of an archive once unpacked.
const MOST_BYTES: u64 = 64 << 20;

/// Most shapes left out that are listed.
const MOST_LISTED: usize = 20;

/// Attributes that are taken for a height in metres above the ground, the surest first; case does not matter, nor do marks
/// between words.
const HEIGHTS: [&str; 14] = [
    "height",
    "heightm",
    "buildingheight",
    "measuredheight",
    "relativeheight",
    "heightrel",
    "bldgheight",
    "bldght",
    "roofheight",
    "hgt",
    "gebhoehe",
    "hoehe",
    "hauteur",
    "altura",
];

/// What a file holds that has a place, in degrees on WGS 84.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FootprintFile {
    /// Polygons, one ring each.
    pub areas: Vec<FootprintArea>,
    /// Points.
    pub points: Vec<FootprintPoint>,
    /// Sentences for people: what was left out and why, holes, the datum.
    pub notes: Vec<String>,
}

/// A polygon.
#[derive(Debug, Clone, PartialEq)]
pub struct FootprintArea {
    /// The name that the file gives it.
    pub name: Option<String>,
    /// Open ring.
    pub ring: Vec<GeoPoint>,
    /// Attributes that are numbers.
    pub numbers: BTreeMap<String, f64>,
}

/// A point.
#[derive(Debug, Clone, PartialEq)]
pub struct FootprintPoint {
    /// The name that the file gives it.
    pub name: Option<String>,
    /// Where.
    pub at: GeoPoint,
}

impl FootprintFile {
    /// Attributes that some polygon has as a number, in the order of their names.
    pub fn attributes(&self) -> Vec<&str> {
        let all = self.areas.iter().flat_map(|area| area.numbers.keys());
        all.map(String::as_str).collect::<BTreeSet<_>>().into_iter().collect()
    }

    /// The attribute that is most likely the height; nothing where none is.
    pub fn height_attribute(&self) -> Option<&str> {
        let attributes = self.attributes();
        let plain = |name: &str| name.to_lowercase().replace([' ', '_', ':', '-', '.'], "");
        HEIGHTS.iter().find_map(|known| attributes.iter().copied().find(|name| plain(name) == **known))
    }
}

/// Reads the polygons and points of a GeoJSON, KML or KMZ file, of a shapefile, or of one in a ZIP archive.
///
/// Which format it is follows from the contents, not from the name. Shapes that cannot be are left out, with a note.
///
/// # Errors
/// When the file cannot be read, holds none of these, is in coordinates that are not understood, or holds more than a site
/// may have: structures or corners as [`limits`] has them.
pub fn read_footprints(path: &Path) -> Result<FootprintFile, FileError> {
    let name = path.display().to_string();
    let bytes = read_bounded(path, MOST_BYTES)?;
    let mut notes = Vec::new();
    let raw = if shape::is_shapefile(&bytes) {
        shape::beside(path, &bytes, &mut notes)?
    } else if shape::is_archive(&bytes) {
        shape::in_archive(&bytes, &name, &mut notes)?
    } else {
        shapes(&bytes, &name)?
    };
    sound(raw, notes, &name)
}

fn sound(raw: RawShapes, notes: Vec<String>, file: &str) -> Result<FootprintFile, FileError> {
    bounded(&raw, file)?;
    let mut found = FootprintFile { notes, ..FootprintFile::default() };
    let mut left_out = Vec::new();
    let holes = raw.polygons.iter().filter(|polygon| !polygon.others.is_empty()).count();
    for polygon in raw.polygons {
        match area(&polygon) {
            Ok(area) => found.areas.push(area),
            Err(why) => left_out.push(format!("left out, {}: {why}", polygon.at)),
        }
    }
    for point in raw.points {
        let name = point.name.as_deref().and_then(line_of);
        match place(point.position) {
            Ok(at) => found.points.push(FootprintPoint { name, at }),
            Err(why) => left_out.push(format!("left out, {}: {why}", point.at)),
        }
    }
    if found.areas.is_empty() && found.points.is_empty() {
        let told = left_out.into_iter().next().map_or_else(
            || "the file must hold polygons or points, but it has none; draw footprints as polygons and export them again".to_owned(),
            |first| format!("none of its shapes can be used; {first}"),
        );
        return Err(FileError::new(file, FileErrorKind::Invalid, told));
    }
    if holes > 0 {
        found
            .notes
            .push(format!("holes of {holes} polygons are not used: a building with a yard is taken whole"));
    }
    let more = left_out.len().saturating_sub(MOST_LISTED);
    found.notes.extend(left_out.into_iter().take(MOST_LISTED));
    if more > 0 {
        found.notes.push(format!("left out, {more} more shapes that cannot be used"));
    }
    Ok(found)
}

/// A site may have so many structures and corners and no more: then a file is refused as a whole, rather than cut.
fn bounded(raw: &RawShapes, file: &str) -> Result<(), FileError> {
    let shapes = raw.polygons.len().max(raw.points.len());
    let corners: usize = raw.polygons.iter().map(|polygon| polygon.outer.len()).sum();
    let too_many = |what: &str, most: usize, found: usize| {
        let told =
            format!("a file must have at most {most} {what}, but this has {found}; cut it to the site");
        Err(FileError::new(file, FileErrorKind::TooLarge, told))
    };
    if shapes > limits::STRUCTURES {
        return too_many("polygons, and as many points", limits::STRUCTURES, shapes);
    }
    if corners > limits::CORNERS_IN_ALL {
        return too_many("corners in all", limits::CORNERS_IN_ALL, corners);
    }
    Ok(())
}

fn area(polygon: &RawPolygon) -> Result<FootprintArea, String> {
    let ring = open_ring(&polygon.outer)?;
    check_degrees(&ring)?;
    if ring.len() > limits::CORNERS {
        return Err(format!(
            "an outline must have at most {} corners, but this has {}; simplify it",
            limits::CORNERS,
            ring.len()
        ));
    }
    let ring = ring.into_iter().map(geo).collect();
    let numbers = polygon.numbers.iter().cloned().collect();
    Ok(FootprintArea { name: polygon.name.as_deref().and_then(line_of), ring, numbers })
}

fn place(position: (f64, f64)) -> Result<GeoPoint, String> {
    if position.0.is_nan() || position.1.is_nan() {
        return Err(
            "a point must have a longitude and a latitude, but this has not; export it again".to_owned()
        );
    }
    check_degrees(&[position])?;
    Ok(geo(position))
}

fn geo((longitude_deg, latitude_deg): (f64, f64)) -> GeoPoint {
    GeoPoint { latitude_deg, longitude_deg }
}
