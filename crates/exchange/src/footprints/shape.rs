//! Shapefiles: shapes, attributes and coordinates in files beside each other, or in one ZIP archive.

use super::MOST_BYTES;
use crate::boundary::ring::{RawPoint, RawPolygon, RawShapes, number_in};
use crate::boundary::shapes;
use crate::files::read_bounded;
use crate::prj::{self, PlaneSystem, PrjRead};
use crate::raster::mercator::TransverseMercator;
use crate::{FileError, FileErrorKind};
use glam::DVec2;
use shapefile::dbase::{self, FieldValue};
use shapefile::record::polygon::{GenericPolygon, PolygonRing};
use shapefile::record::traits::HasXY;
use shapefile::{Shape, ShapeReader};
use std::io::{Cursor, Read};
use std::path::Path;

/// Most files of an archive that are looked through.
const MOST_FILES: usize = 10_000;

/// Whether a file is the shapes of a shapefile, by its code.
pub(super) fn is_shapefile(bytes: &[u8]) -> bool {
    bytes.starts_with(&9994_i32.to_be_bytes())
}

/// Whether a file is a ZIP archive.
pub(super) fn is_archive(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK")
}

/// The three files of a shapefile.
struct Parts {
    shapes: Vec<u8>,
    /// Absent where there are no attributes.
    table: Option<Vec<u8>>,
    system: Option<PrjRead>,
}

/// A shapefile with what stands beside it.
pub(super) fn beside(path: &Path, bytes: &[u8], notes: &mut Vec<String>) -> Result<RawShapes, FileError> {
    let names = ["dbf", "DBF"].map(|ending| path.with_extension(ending));
    let table =
        names.iter().find(|path| path.is_file()).map(|path| read_bounded(path, MOST_BYTES)).transpose()?;
    let parts = Parts { shapes: bytes.to_vec(), table, system: prj::beside(path)? };
    read(&parts, &path.display().to_string(), notes)
}

/// A shapefile in an archive; of a KMZ its KML.
pub(super) fn in_archive(bytes: &[u8], file: &str, notes: &mut Vec<String>) -> Result<RawShapes, FileError> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|error| broken(file, &error))?;
    if archive.len() > MOST_FILES {
        let told = format!(
            "an archive must hold at most {MOST_FILES} files, but this has {}; pack the shapefile alone",
            archive.len()
        );
        return Err(FileError::new(file, FileErrorKind::TooLarge, told));
    }
    let names: Vec<String> =
        archive.file_names_raw().map(|n| String::from_utf8_lossy(n).into_owned()).collect();
    let ending = |name: &str, ending: &str| name.to_lowercase().ends_with(ending);
    // What some systems put beside every file is none of ours.
    let own = |name: &&String| ending(name, ".shp") && !name.starts_with("__MACOSX");
    let all: Vec<&String> = names.iter().filter(own).collect();
    let Some(first) = all.first() else { return shapes(bytes, file) };
    if all.len() > 1 {
        notes.push(format!(
            "the archive holds {} shapefiles: {first:?} is used, the first of them",
            all.len()
        ));
    }
    let stem = &first[..first.len() - 4];
    let beside =
        |wanted: &str| names.iter().position(|name| ending(name, wanted) && name[..name.len() - 4] == *stem);
    let (shapes, table, text) = (beside(".shp"), beside(".dbf"), beside(".prj"));
    let mut take = |index: Option<usize>| index.map(|index| unpack(&mut archive, index, file)).transpose();
    let text = take(text)?;
    let system = text.map(|text| prj::parse(&String::from_utf8_lossy(&text), file)).transpose()?;
    let parts = Parts { shapes: take(shapes)?.unwrap_or_default(), table: take(table)?, system };
    read(&parts, file, notes)
}

fn unpack(
    archive: &mut zip::ZipArchive<Cursor<&[u8]>>,
    index: usize,
    file: &str,
) -> Result<Vec<u8>, FileError> {
    let entry = archive.by_index(index).map_err(|error| broken(file, &error))?;
    let mut unpacked = Vec::new();
    entry.take(MOST_BYTES + 1).read_to_end(&mut unpacked).map_err(|error| broken(file, &error))?;
    if unpacked.len() as u64 > MOST_BYTES {
        let told = format!(
            "a file in an archive must have at most {} MB, but one here unpacks to more; cut it to the site",
            MOST_BYTES >> 20
        );
        return Err(FileError::new(file, FileErrorKind::TooLarge, told));
    }
    Ok(unpacked)
}

fn broken(file: &str, error: &dyn std::fmt::Display) -> FileError {
    let told = format!("the shapefile cannot be read ({error}); look for a whole copy, or export it again");
    FileError::new(file, FileErrorKind::Syntax, told)
}

/// Coordinates of a shape as longitude and latitude.
type ToDegrees = Box<dyn Fn((f64, f64)) -> (f64, f64)>;

fn to_degrees(system: PlaneSystem) -> ToDegrees {
    match system {
        PlaneSystem::Degrees => Box::new(|at| at),
        PlaneSystem::Utm { zone, south } => {
            let grid = TransverseMercator::utm(zone, south);
            Box::new(move |(x, y)| {
                let place = grid.unproject(DVec2::new(x, y));
                (place.longitude_deg, place.latitude_deg)
            })
        }
    }
}

fn read(parts: &Parts, file: &str, notes: &mut Vec<String>) -> Result<RawShapes, FileError> {
    let Some(system) = &parts.system else {
        let told = "a shapefile must have a .prj file beside it that says which coordinates it is in, but it has none; put it \
                    there, or export the shapes as GeoJSON";
        return Err(FileError::new(file, FileErrorKind::Unplaced, told));
    };
    notes.extend(system.note.clone());
    let to_degrees = to_degrees(system.system);
    let mut reader =
        ShapeReader::new(Cursor::new(parts.shapes.as_slice())).map_err(|error| broken(file, &error))?;
    let mut records = match &parts.table {
        Some(table) => records(table, file)?.into_iter(),
        None => Vec::new().into_iter(),
    };
    let mut raw = RawShapes::default();
    for (index, shape) in reader.iter_shapes().enumerate() {
        let shape = shape.map_err(|error| broken(file, &error))?;
        let described = records.next().unwrap_or_default();
        add(&mut raw, &shape, &described, &format!("shape {}", index + 1), &to_degrees);
    }
    Ok(raw)
}

/// What the table says of a shape.
#[derive(Default)]
struct DbfRecord {
    name: Option<String>,
    numbers: Vec<(String, f64)>,
}

fn records(table: &[u8], file: &str) -> Result<Vec<DbfRecord>, FileError> {
    let mut reader = dbase::Reader::new(Cursor::new(table)).map_err(|error| broken(file, &error))?;
    let mut all = Vec::new();
    for record in reader.iter_records() {
        let record = record.map_err(|error| broken(file, &error))?;
        let mut described = DbfRecord::default();
        for (field, value) in record {
            let text = match value {
                FieldValue::Numeric(number) => {
                    described.numbers.extend(number.map(|number| (field, number)));
                    continue;
                }
                FieldValue::Float(number) => {
                    described.numbers.extend(number.map(|number| (field, f64::from(number))));
                    continue;
                }
                FieldValue::Integer(number) => {
                    described.numbers.push((field, f64::from(number)));
                    continue;
                }
                FieldValue::Double(number) => {
                    described.numbers.push((field, number));
                    continue;
                }
                FieldValue::Character(Some(text)) => text,
                _ => continue,
            };
            if field.eq_ignore_ascii_case("name") {
                described.name = Some(text);
            } else if let Some(number) = number_in(&text) {
                described.numbers.push((field, number));
            }
        }
        described.numbers.retain(|(_, number)| number.is_finite());
        all.push(described);
    }
    Ok(all)
}

fn add(raw: &mut RawShapes, shape: &Shape, described: &DbfRecord, at: &str, to_degrees: &ToDegrees) {
    let mut points = |places: Vec<(f64, f64)>| {
        for place in places {
            let (name, at) = (described.name.clone(), at.to_owned());
            raw.points.push(RawPoint { name, at, position: to_degrees(place) });
        }
    };
    match shape {
        Shape::Point(point) => points(vec![xy(point)]),
        Shape::PointM(point) => points(vec![xy(point)]),
        Shape::PointZ(point) => points(vec![xy(point)]),
        Shape::Multipoint(all) => points(all.points().iter().map(xy).collect()),
        Shape::MultipointM(all) => points(all.points().iter().map(xy).collect()),
        Shape::MultipointZ(all) => points(all.points().iter().map(xy).collect()),
        Shape::Polygon(polygon) => add_rings(raw, polygon, described, at, to_degrees),
        Shape::PolygonM(polygon) => add_rings(raw, polygon, described, at, to_degrees),
        Shape::PolygonZ(polygon) => add_rings(raw, polygon, described, at, to_degrees),
        _ => {}
    }
}

/// Outer rings are polygons of their own; a hole belongs to the outer ring before it.
fn add_rings<P: HasXY>(
    raw: &mut RawShapes,
    polygon: &GenericPolygon<P>,
    described: &DbfRecord,
    at: &str,
    to_degrees: &ToDegrees,
) {
    for ring in polygon.rings() {
        let places = ring.points().iter().map(|point| to_degrees(xy(point))).collect();
        match (ring, raw.polygons.last_mut().filter(|last| last.at == at)) {
            (PolygonRing::Inner(_), Some(last)) => last.others.push(places),
            _ => raw.polygons.push(RawPolygon {
                name: described.name.clone(),
                at: at.to_owned(),
                outer: places,
                numbers: described.numbers.clone(),
                ..RawPolygon::default()
            }),
        }
    }
}

fn xy<P: HasXY>(point: &P) -> (f64, f64) {
    (point.x(), point.y())
}
