//! KML and KMZ. Only what a boundary needs is followed: placemarks' names and polygons, wherever they nest.
//!
//! The events are read one by one rather than into a tree, so that a document that nests without end takes no stack
//! and every polygon has its line.

use super::MOST_BYTES;
use super::ring::{RawPoint, RawPolygon, RawShapes, number_in};
use crate::{FileError, FileErrorKind, Place};
use kml::types::{Coord, coords_from_str};
use quick_xml::Reader;
use quick_xml::escape::resolve_predefined_entity;
use quick_xml::events::{BytesRef, BytesStart, Event};
use std::io::{Cursor, Read};

/// Deepest nesting of elements that is read.
const MOST_DEPTH: usize = 200;

/// Most attributes of a placemark that are kept.
const MOST_NUMBERS: usize = 64;

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

pub(super) fn shapes(text: &str, file: &str) -> Result<RawShapes, FileError> {
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
        attribute: String::new(),
        numbers: Vec::new(),
        shapes: RawShapes::default(),
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
            Event::GeneralRef(entity) => walk.reference(&entity)?,
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
    /// Name of the attribute that is open.
    attribute: String,
    /// Attributes of the placemark that are numbers.
    numbers: Vec<(String, f64)>,
    shapes: RawShapes,
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
            "Placemark" => self.forget(),
            "Data" | "SimpleData" => {
                let named = start.try_get_attribute("name").ok().flatten();
                self.attribute =
                    named.map(|name| String::from_utf8_lossy(&name.value).into_owned()).unwrap_or_default();
            }
            "Polygon" => {
                let place = Place::of_byte(self.text, self.at_byte);
                let at = format!("polygon {}", self.shapes.polygons.len() + 1);
                self.polygon = Some(RawPolygon { at, place: Some(place), ..RawPolygon::default() });
            }
            _ => {}
        }
        self.words.clear();
        self.open.push(name);
        Ok(())
    }

    fn words(&mut self, words: &str) {
        if matches!(
            self.open.last().map(String::as_str),
            Some("name" | "coordinates" | "value" | "SimpleData")
        ) {
            self.words.push_str(words);
        }
    }

    /// A character that is written by its number or its name; a name that XML has not stays as it is written.
    fn reference(&mut self, reference: &BytesRef<'_>) -> Result<(), FileError> {
        let by_number = reference.resolve_char_ref().map_err(|error| {
            let message =
                format!("a character reference must name a character, but: {error}; export it again");
            self.error(self.at_byte, message)
        })?;
        let name = String::from_utf8_lossy(reference).into_owned();
        match (by_number, resolve_predefined_entity(&name)) {
            (Some(character), _) => self.words(character.encode_utf8(&mut [0; 4])),
            (None, Some(character)) => self.words(character),
            (None, None) => self.words(&format!("&{name};")),
        }
        Ok(())
    }

    fn end(&mut self) -> Result<(), FileError> {
        let name = self.open.pop().unwrap_or_default();
        let parent = self.open.last().map_or("", String::as_str);
        match name.as_str() {
            "name" if parent == "Placemark" => self.name = Some(std::mem::take(&mut self.words)),
            "Placemark" => self.forget(),
            "value" | "SimpleData" => self.attribute(),
            "coordinates" if parent == "Point" => self.point()?,
            "coordinates" => self.coordinates()?,
            "Polygon" => {
                let (name, numbers) = (self.name.clone(), self.numbers.clone());
                let polygon = self.polygon.take();
                self.shapes.polygons.extend(polygon.map(|polygon| RawPolygon { name, numbers, ..polygon }));
            }
            _ => {}
        }
        Ok(())
    }

    /// Another placemark begins.
    fn forget(&mut self) {
        self.name = None;
        self.numbers.clear();
    }

    fn attribute(&mut self) {
        if let Some(number) = number_in(&self.words).filter(|_| self.numbers.len() < MOST_NUMBERS) {
            self.numbers.push((std::mem::take(&mut self.attribute), number));
        }
    }

    fn point(&mut self) -> Result<(), FileError> {
        let coords = coords_from_str::<f64>(&self.words).map_err(|error| self.misread(&error))?;
        if let Some(&Coord { x, y, .. }) = coords.first() {
            let at = format!("point {}", self.shapes.points.len() + 1);
            self.shapes.points.push(RawPoint { name: self.name.clone(), at, position: (x, y) });
        }
        Ok(())
    }

    fn misread(&self, error: &kml::Error) -> FileError {
        let message = format!(
            "coordinates must be \"longitude,latitude\" or \"longitude,latitude,altitude\" with spaces between \
             positions only, but: {}; export it again",
            error.to_string().to_lowercase()
        );
        self.error(self.at_byte, message)
    }

    fn coordinates(&mut self) -> Result<(), FileError> {
        let inside = |of: &str| self.open.iter().any(|name| name == of);
        let (outer, inner) = (inside("outerBoundaryIs"), inside("innerBoundaryIs"));
        let Some(polygon) = self.polygon.as_mut().filter(|_| outer || inner) else { return Ok(()) };
        match coords_from_str::<f64>(&self.words) {
            Ok(coords) => {
                let ring: Vec<(f64, f64)> = coords.iter().map(|&Coord { x, y, .. }| (x, y)).collect();
                if outer && polygon.outer.is_empty() {
                    polygon.altitudes = coords.iter().any(|at| at.z.is_some_and(|z| z != 0.0));
                    polygon.outer = ring;
                } else {
                    polygon.others.push(ring);
                }
                Ok(())
            }
            Err(error) => Err(self.misread(&error)),
        }
    }

    fn finish(self) -> Result<RawShapes, FileError> {
        match self.open.last() {
            None => Ok(self.shapes),
            Some(name) => {
                let message = format!(
                    "the element <{name}> must be closed, but the file ends; it may have been cut, export it again"
                );
                Err(self.error(self.text.len(), message))
            }
        }
    }
}
