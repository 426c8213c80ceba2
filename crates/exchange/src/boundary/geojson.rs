//! GeoJSON as RFC 7946 has it; either winding is taken, as its section 3.1.6 asks of readers.

use super::ring::{RawPoint, RawPolygon, RawShapes, number_in};
use crate::{FileError, FileErrorKind, Place};
use geojson::{Feature, Geometry, GeometryValue, Position};
use serde_json::Value;

pub(super) fn shapes(text: &str, file: &str) -> Result<RawShapes, FileError> {
    let value: Value = serde_json::from_str(text).map_err(|error| syntax(file, &error))?;
    let mut shapes = RawShapes::default();
    let kind = value.get("type").and_then(Value::as_str).unwrap_or_default().to_owned();
    match kind.as_str() {
        "FeatureCollection" => {
            let Value::Object(mut members) = value else { return Ok(shapes) };
            let Some(Value::Array(features)) = members.remove("features") else {
                let message =
                    "a FeatureCollection must have a list \"features\", but it has none; export it again";
                return Err(FileError::new(file, FileErrorKind::Syntax, message));
            };
            for (index, feature) in features.into_iter().enumerate() {
                add_feature(&mut shapes, file, feature, &format!("feature {}", index + 1))?;
            }
        }
        "Feature" => add_feature(&mut shapes, file, value, "the feature")?,
        _ => {
            let at = "the geometry";
            let geometry =
                serde_json::from_value::<Geometry>(value).map_err(|error| misfit(file, at, &error))?;
            add_geometry(&mut shapes, &geometry, &Described::default(), at);
        }
    }
    Ok(shapes)
}

/// What a feature says of its geometry.
#[derive(Default)]
struct Described {
    name: Option<String>,
    numbers: Vec<(String, f64)>,
}

/// Most attributes of a feature that are kept.
const MOST_NUMBERS: usize = 64;

fn add_feature(shapes: &mut RawShapes, file: &str, value: Value, at: &str) -> Result<(), FileError> {
    let feature = serde_json::from_value::<Feature>(value).map_err(|error| misfit(file, at, &error))?;
    let name = ["name", "Name", "NAME", "title"].iter().find_map(|key| feature.property(key)?.as_str());
    let number = |value: &Value| value.as_f64().or_else(|| number_in(value.as_str()?));
    let numbers = feature.properties.iter().flatten();
    let numbers = numbers.filter_map(|(key, value)| Some((key.clone(), number(value)?)));
    let described =
        Described { name: name.map(str::to_owned), numbers: numbers.take(MOST_NUMBERS).collect() };
    if let Some(geometry) = &feature.geometry {
        add_geometry(shapes, geometry, &described, at);
    }
    Ok(())
}

fn add_geometry(shapes: &mut RawShapes, geometry: &Geometry, described: &Described, at: &str) {
    let part_of = |part: usize| format!("{at}, part {}", part + 1);
    match &geometry.value {
        GeometryValue::Polygon { coordinates } => {
            shapes.polygons.push(raw(coordinates, described, at.to_owned()));
        }
        GeometryValue::MultiPolygon { coordinates } => {
            let parts = coordinates.iter().enumerate();
            shapes.polygons.extend(parts.map(|(part, rings)| raw(rings, described, part_of(part))));
        }
        GeometryValue::Point { coordinates } => {
            shapes.points.push(raw_point(coordinates, described, at.to_owned()));
        }
        GeometryValue::MultiPoint { coordinates } => {
            let parts = coordinates.iter().enumerate();
            shapes.points.extend(parts.map(|(part, at)| raw_point(at, described, part_of(part))));
        }
        GeometryValue::GeometryCollection { geometries } => {
            for (part, geometry) in geometries.iter().enumerate() {
                add_geometry(shapes, geometry, described, &part_of(part));
            }
        }
        _ => {}
    }
}

/// A position too short becomes one that the check of degrees refuses.
fn degrees(position: &Position) -> (f64, f64) {
    match position.as_slice() {
        [lon, lat, ..] => (*lon, *lat),
        _ => (f64::NAN, f64::NAN),
    }
}

fn raw(rings: &[Vec<Position>], described: &Described, at: String) -> RawPolygon {
    let mut others: Vec<Vec<(f64, f64)>> =
        rings.iter().map(|ring| ring.iter().map(degrees).collect()).collect();
    let outer = if others.is_empty() { Vec::new() } else { others.remove(0) };
    let altitudes = rings.first().is_some_and(|ring| ring.iter().any(|position| position.len() > 2));
    let Described { name, numbers } = described;
    RawPolygon { name: name.clone(), at, place: None, outer, others, altitudes, numbers: numbers.clone() }
}

fn raw_point(position: &Position, described: &Described, at: String) -> RawPoint {
    RawPoint { name: described.name.clone(), at, position: degrees(position) }
}

fn syntax(file: &str, error: &serde_json::Error) -> FileError {
    let place = Place { line: error.line().max(1), column: error.column().max(1) };
    let what = without_place(error);
    let mend = if error.is_eof() {
        "it may have been cut, export it again"
    } else if what.contains("recursion") {
        "GeoJSON never nests this deep, export it again"
    } else {
        "export it again"
    };
    FileError::at(file, FileErrorKind::Syntax, place, format!("this must be JSON, but: {what}; {mend}"))
}

fn misfit(file: &str, at: &str, error: &serde_json::Error) -> FileError {
    let what = without_place(error);
    let message = format!("{at} must follow GeoJSON (RFC 7946), but: {what}; export it again");
    FileError::new(file, FileErrorKind::Syntax, message)
}

fn without_place(error: &serde_json::Error) -> String {
    let text = error.to_string();
    let text = text.split(" at line ").next().unwrap_or_default();
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_lowercase().collect::<String>() + chars.as_str())
}
