//! KML and KMZ. Only what a boundary needs is followed: placemarks' names and polygons, wherever they nest.
//!
//! The events are read one by one rather than into a tree, so that a document that nests without end takes no stack
//! and every polygon has its line.

use super::MOST_BYTES;
use super::ring::RawPolygon;
use crate::{FileError, FileErrorKind, Place};
use kml::types::{Coord, coords_from_str};
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::io::{Cursor, Read};

/// Deepest nesting of elements that is read.
const MOST_DEPTH: usize = 200;

/// Takes `doc.kml`, or else the first KML file, out of a KMZ, of at most [`MOST_BYTES`] once unpacked.
pub(super) fn unpack(bytes: &[u8], file: &str) -> Result<Vec<u8>, FileError> {
    let broken = |error: &dyn std::fmt::Display| {
        let message = format!("a KMZ must be a sound ZIP archive, but: {error}; export it again or as KML");
        FileError::new(file, FileErrorKind::Syntax, message)
    };
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|error| broken(&error))?;
    let Some(index) = kml_index(&mut archive) else {
        let message = "a KMZ must hold a KML file, but this archive has none; export it again or as KML";
        return Err(FileError::new(file, FileErrorKind::Format, message));
    };
    let entry = archive.by_index(index).map_err(|error| broken(&error))?;
    let mut unpacked = Vec::new();
    entry.take(MOST_BYTES + 1).read_to_end(&mut unpacked).map_err(|error| broken(&error))?;
    if unpacked.len() as u64 > MOST_BYTES {
        let message = format!(
            "the KML in a KMZ must have at most {} MB, but this unpacks to more; leave parts out",
            MOST_BYTES >> 20
        );
        return Err(FileError::new(file, FileErrorKind::TooLarge, message));
    }
    Ok(unpacked)
}

fn kml_index(archive: &mut zip::ZipArchive<Cursor<&[u8]>>) -> Option<usize> {
    let names: Vec<String> =
        archive.file_names_raw().map(|name| String::from_utf8_lossy(name).to_lowercase()).collect();
    let is_kml =
        |name: &String| std::path::Path::new(name).extension().is_some_and(|extension| extension == "kml");
    let name =
        names.iter().find(|name| *name == "doc.kml").or_else(|| names.iter().find(|name| is_kml(name)))?;
    (0..archive.len()).find(|&index| {
        archive
            .by_index_raw(index)
            .is_ok_and(|entry| String::from_utf8_lossy(entry.name_raw()).to_lowercase() == *name)
    })
}

pub(super) fn polygons(text: &str, file: &str) -> Result<Vec<RawPolygon>, FileError> {
    let mut reader = Reader::from_str(text);
    reader.config_mut().check_comments = false;
    let mut walk = Walk {
        text,
        file,
        at_byte: 0,
        open: Vec::new(),
        name: None,
        words: String::new(),
        polygon: None,
        polygons: Vec::new(),
    };
    loop {
        walk.at_byte = usize::try_from(reader.buffer_position()).unwrap_or(usize::MAX);
        let event = reader.read_event().map_err(|error| {
            let byte = usize::try_from(reader.error_position()).unwrap_or(usize::MAX);
            walk.error(byte, format!("this must be XML, but: {error}; export it again"))
        })?;
        match event {
            Event::Start(start) => walk.start(&start)?,
            Event::End(_) => walk.end()?,
            Event::Text(words) => walk.words(&String::from_utf8_lossy(&words)),
            Event::CData(words) => walk.words(&String::from_utf8_lossy(&words)),
            Event::GeneralRef(entity) => walk.words(entity_text(&entity)),
            Event::Eof => return walk.finish(),
            _ => {}
        }
    }
}

/// What the reader is inside of, and what it has found.
struct Walk<'a> {
    text: &'a str,
    file: &'a str,
    at_byte: usize,
    /// Local names of the elements that are open.
    open: Vec<String>,
    /// Name of the placemark that is open.
    name: Option<String>,
    /// Text of the `name` or `coordinates` that is open.
    words: String,
    polygon: Option<RawPolygon>,
    polygons: Vec<RawPolygon>,
}

impl Walk<'_> {
    fn error(&self, byte: usize, message: String) -> FileError {
        FileError::at(self.file, FileErrorKind::Syntax, Place::of_byte(self.text, byte), message)
    }

    fn start(&mut self, start: &BytesStart<'_>) -> Result<(), FileError> {
        if self.open.len() >= MOST_DEPTH {
            let message =
                format!("KML must nest at most {MOST_DEPTH} deep, but this goes on; export it again");
            return Err(self.error(self.at_byte, message));
        }
        let name = String::from_utf8_lossy(start.local_name().as_ref()).into_owned();
        match name.as_str() {
            "Placemark" => self.name = None,
            "Polygon" => {
                let place = Place::of_byte(self.text, self.at_byte);
                let at = format!("polygon {}", self.polygons.len() + 1);
                self.polygon = Some(RawPolygon { at, place: Some(place), ..RawPolygon::default() });
            }
            "innerBoundaryIs" => self.polygon.iter_mut().for_each(|polygon| polygon.holes += 1),
            _ => {}
        }
        self.words.clear();
        self.open.push(name);
        Ok(())
    }

    fn words(&mut self, words: &str) {
        if matches!(self.open.last().map(String::as_str), Some("name" | "coordinates")) {
            self.words.push_str(words);
        }
    }

    fn end(&mut self) -> Result<(), FileError> {
        let name = self.open.pop().unwrap_or_default();
        let parent = self.open.last().map_or("", String::as_str);
        match name.as_str() {
            "name" if parent == "Placemark" => self.name = Some(std::mem::take(&mut self.words)),
            "Placemark" => self.name = None,
            "coordinates" => self.coordinates()?,
            "Polygon" => {
                let name = self.name.clone();
                self.polygons.extend(self.polygon.take().map(|polygon| RawPolygon { name, ..polygon }));
            }
            _ => {}
        }
        Ok(())
    }

    fn coordinates(&mut self) -> Result<(), FileError> {
        let is_outer = self.open.iter().any(|name| name == "outerBoundaryIs");
        let Some(polygon) = self.polygon.as_mut().filter(|_| is_outer) else { return Ok(()) };
        match coords_from_str::<f64>(&self.words) {
            Ok(coords) => {
                polygon.altitudes = coords.iter().any(|at| at.z.is_some_and(|z| z != 0.0));
                polygon.outer = coords.into_iter().map(|Coord { x, y, .. }| (x, y)).collect();
                Ok(())
            }
            Err(error) => {
                let message = format!(
                    "coordinates must be \"longitude,latitude\" or \"longitude,latitude,altitude\" with spaces between \
                     positions only, but: {}; export it again",
                    error.to_string().to_lowercase()
                );
                Err(self.error(self.at_byte, message))
            }
        }
    }

    fn finish(self) -> Result<Vec<RawPolygon>, FileError> {
        match self.open.last() {
            None => Ok(self.polygons),
            Some(name) => {
                let message = format!(
                    "the element <{name}> must be closed, but the file ends; it may have been cut, export it again"
                );
                Err(self.error(self.text.len(), message))
            }
        }
    }
}

/// The characters that XML names; others are left out.
fn entity_text(name: &[u8]) -> &'static str {
    match name {
        b"amp" => "&",
        b"lt" => "<",
        b"gt" => ">",
        b"quot" => "\"",
        b"apos" => "'",
        _ => "",
    }
}
