//! GeoJSON as RFC 7946 has it; either winding is taken, as its section 3.1.6 asks of readers.

use super::ring::RawPolygon;
use crate::{FileError, FileErrorKind, Place};
use geojson::{Feature, Geometry, GeometryValue, Position};
use serde_json::Value;

pub(super) fn polygons(text: &str, file: &str) -> Result<Vec<RawPolygon>, FileError> {
    let value: Value = serde_json::from_str(text).map_err(|error| syntax(file, &error))?;
    let mut polygons = Vec::new();
    let kind = value.get("type").and_then(Value::as_str).unwrap_or_default().to_owned();
    match kind.as_str() {
        "FeatureCollection" => {
            let Value::Object(mut members) = value else { return Ok(polygons) };
            let Some(Value::Array(features)) = members.remove("features") else {
                let message =
                    "a FeatureCollection must have a list \"features\", but it has none; export it again";
                return Err(FileError::new(file, FileErrorKind::Syntax, message));
            };
            for (index, feature) in features.into_iter().enumerate() {
                add_feature(&mut polygons, file, feature, &format!("feature {}", index + 1))?;
            }
        }
        "Feature" => add_feature(&mut polygons, file, value, "the feature")?,
        _ => {
            let at = "the geometry";
            let geometry =
                serde_json::from_value::<Geometry>(value).map_err(|error| misfit(file, at, &error))?;
            add_geometry(&mut polygons, &geometry, None, at);
        }
    }
    Ok(polygons)
}

fn add_feature(polygons: &mut Vec<RawPolygon>, file: &str, value: Value, at: &str) -> Result<(), FileError> {
    let feature = serde_json::from_value::<Feature>(value).map_err(|error| misfit(file, at, &error))?;
    let name = ["name", "Name", "NAME", "title"].iter().find_map(|key| feature.property(key)?.as_str());
    if let Some(geometry) = &feature.geometry {
        add_geometry(polygons, geometry, name, at);
    }
    Ok(())
}

fn add_geometry(polygons: &mut Vec<RawPolygon>, geometry: &Geometry, name: Option<&str>, at: &str) {
    match &geometry.value {
        GeometryValue::Polygon { coordinates } => polygons.push(raw(coordinates, name, at.to_owned())),
        GeometryValue::MultiPolygon { coordinates } => {
            let parts = coordinates.iter().enumerate();
            polygons.extend(parts.map(|(part, rings)| raw(rings, name, format!("{at}, part {}", part + 1))));
        }
        GeometryValue::GeometryCollection { geometries } => {
            for (part, geometry) in geometries.iter().enumerate() {
                add_geometry(polygons, geometry, name, &format!("{at}, part {}", part + 1));
            }
        }
        _ => {}
    }
}

fn raw(rings: &[Vec<Position>], name: Option<&str>, at: String) -> RawPolygon {
    let outer = rings.first().map_or(&[][..], Vec::as_slice);
    // A position too short becomes one that the check of degrees refuses.
    let degrees = |position: &Position| match position.as_slice() {
        [lon, lat, ..] => (*lon, *lat),
        _ => (f64::NAN, f64::NAN),
    };
    RawPolygon {
        name: name.map(str::to_owned),
        at,
        place: None,
        outer: outer.iter().map(degrees).collect(),
        holes: rings.len().saturating_sub(1),
        altitudes: outer.iter().any(|position| position.len() > 2),
    }
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
