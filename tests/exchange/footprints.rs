//! Footprints and points: shapefiles written by a general library, GeoJSON and KML with attributes, and hostile files.

use glam::DVec2;
use obliquity_exchange::{FileErrorKind, FootprintFile, LocalFrame, read_footprints};
use obliquity_planning::{GeoPoint, polygon};
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/exchange/footprints").join(name)
}

fn local(found: &FootprintFile, index: usize) -> Vec<DVec2> {
    let frame = LocalFrame::new(GeoPoint { latitude_deg: 51.0, longitude_deg: 7.0 });
    found.areas[index].ring.iter().map(|&at| frame.to_local(at)).collect()
}

/// Cross-check: pyshp 3 wrote the shapes; pyproj 3.7.2 (PROJ 9.5.1) took them from metres about 51° N, 7° E to UTM zone 32.
#[test]
fn a_shapefile_in_a_utm_zone_lands_where_it_was_drawn() {
    for name in ["barns.shp", "barns.zip"] {
        let found = read_footprints(&sample(name)).unwrap();
        let names: Vec<&str> = found.areas.iter().map(|area| area.name.as_deref().unwrap()).collect();
        assert_eq!(names, ["Barn", "Court", "Far shed", "Twins", "Twins"], "{name}");
        let barn = local(&found, 0);
        // Written to the last bit of numbers of the order of 1e7 m.
        let corner = |at: (f64, f64)| barn.iter().any(|p| p.distance(at.into()) < 1e-5);
        assert!(corner((20.0, 20.0)) && corner((50.0, 35.0)), "{barn:?}");
        assert_eq!(barn.len(), 4);
        assert!((polygon::area_m2(&local(&found, 1)) - 900.0).abs() < 1e-2, "without its yard");
        assert!(found.notes.iter().any(|note| note.starts_with("holes of 1 polygons")), "{:?}", found.notes);
        assert_eq!(found.attributes(), ["HEIGHT", "STOREYS"]);
        assert_eq!(found.height_attribute(), Some("HEIGHT"));
        assert_eq!(found.areas[0].numbers["HEIGHT"], 7.5);
        assert!(!found.areas[1].numbers.contains_key("HEIGHT"), "it has none");
    }
    let points = read_footprints(&sample("marks.shp")).unwrap().points;
    assert_eq!(points.len(), 2);
    assert_eq!(points[1].name.as_deref(), Some("GCP 2"));
    let frame = LocalFrame::new(GeoPoint { latitude_deg: 51.0, longitude_deg: 7.0 });
    assert!(frame.to_local(points[1].at).distance(DVec2::new(290.0, 190.0)) < 1e-5);
}

fn file(name: &str, text: &[u8]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    fs::write(&path, text).unwrap();
    (folder, path)
}

fn read(name: &str, text: &str) -> Result<FootprintFile, obliquity_exchange::FileError> {
    let (_folder, path) = file(name, text.as_bytes());
    read_footprints(&path)
}

const SQUARE: &str = "[[[7.0,51.0],[7.001,51.0],[7.001,51.001],[7.0,51.0]]]";

fn feature(properties: &str, geometry: &str) -> String {
    format!(r#"{{"type":"Feature","properties":{properties},"geometry":{geometry}}}"#)
}

fn collection(features: &[String]) -> String {
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
}

fn area(properties: &str) -> String {
    feature(properties, &format!(r#"{{"type":"Polygon","coordinates":{SQUARE}}}"#))
}

#[test]
fn geojson_gives_names_heights_and_points() {
    let text = collection(&[
        area(r#"{"name":"Mill","building:height":"12.5 m","floors":3,"colour":"red"}"#),
        area(r#"{"height_m":8}"#),
        feature(r#"{"name":"Take-off"}"#, r#"{"type":"Point","coordinates":[7.0005,51.0005,12]}"#),
        feature("null", r#"{"type":"MultiPoint","coordinates":[[7,51],[7.001,51.001]]}"#),
        feature("null", r#"{"type":"LineString","coordinates":[[7,51],[7.001,51.001]]}"#),
    ]);
    let found = read("a.geojson", &text).unwrap();
    assert_eq!((found.areas.len(), found.points.len()), (2, 3));
    assert_eq!(found.areas[0].numbers["building:height"], 12.5);
    assert_eq!(found.height_attribute(), Some("height_m"), "the surer name first");
    assert_eq!(found.points[0].name.as_deref(), Some("Take-off"));
    assert_eq!(read("a.geojson", &area(r#"{"floors":3}"#)).unwrap().height_attribute(), None);
}

#[test]
fn kml_gives_names_heights_and_points() {
    let ring = "7,51,0 7.001,51,0 7.001,51.001,0 7,51,0";
    let text = format!(
        "<kml><Document><Placemark><name>Mill &amp; barn</name><ExtendedData><Data name=\"Height\"><value>9.5</value></Data>\
         <SchemaData><SimpleData name=\"floors\">3</SimpleData></SchemaData></ExtendedData><Polygon><outerBoundaryIs>\
         <LinearRing><coordinates>{ring}</coordinates></LinearRing></outerBoundaryIs></Polygon></Placemark>\
         <Placemark><name>Mark</name><Point><coordinates>7.0005,51.0005</coordinates></Point></Placemark></Document></kml>"
    );
    let found = read("a.kml", &text).unwrap();
    assert_eq!(found.areas[0].name.as_deref(), Some("Mill & barn"));
    assert_eq!((found.areas[0].numbers["Height"], found.areas[0].numbers["floors"]), (9.5, 3.0));
    assert_eq!(found.height_attribute(), Some("Height"));
    assert_eq!(found.points[0].name.as_deref(), Some("Mark"));
}

#[test]
fn shapes_that_cannot_be_are_left_out_with_a_note() {
    let polygon = |ring: &str| feature("null", &format!(r#"{{"type":"Polygon","coordinates":[{ring}]}}"#));
    let text = collection(&[
        area("null"),
        polygon("[[7,51],[7.001,51],[7.001,51.001],[7,51.001]]"),
        polygon("[[7,51],[7.001,51],[7,51]]"),
        polygon("[[370,51],[7.001,51],[7.001,51.001],[370,51]]"),
        polygon("[[7],[7.001,51],[7.001,51.001],[7]]"),
        feature("null", r#"{"type":"Point","coordinates":[7,95]}"#),
    ]);
    let found = read("a.geojson", &text).unwrap();
    assert_eq!((found.areas.len(), found.points.len()), (1, 0));
    assert_eq!(found.notes.len(), 5, "{:?}", found.notes);
    assert!(found.notes[0].contains("feature 2: a ring must end where it begins"), "{:?}", found.notes);
    let none = read("a.geojson", &collection(&[polygon("[[7,51],[7.001,51],[7,51]]")])).unwrap_err();
    assert!(none.to_string().contains("none of its shapes can be used; left out, feature 1"), "{none}");
    let empty = read("a.geojson", &collection(&[])).unwrap_err();
    assert!(empty.to_string().contains("but it has none"), "{empty}");
}

/// More than a site may have is refused with its number, not cut.
#[test]
fn limits_are_told_with_numbers() {
    let many = collection(&vec![area("null"); 5001]);
    let error = read("a.geojson", &many).unwrap_err();
    assert_eq!(error.kind, FileErrorKind::TooLarge);
    assert!(
        error.to_string().contains("at most 5000 polygons, and as many points, but this has 5001"),
        "{error}"
    );
    let most = collection(&vec![area("null"); 5000]);
    assert_eq!(read("a.geojson", &most).unwrap().areas.len(), 5000);
    let corners: Vec<String> = (0..100_001).map(|k| format!("[7.{k:06},51]")).collect();
    let ring = format!(r#"{{"type":"Polygon","coordinates":[[{}]]}}"#, corners.join(","));
    let error = read("a.geojson", &feature("null", &ring)).unwrap_err();
    assert!(error.to_string().contains("at most 100000 corners in all, but this has 100001"), "{error}");
}

/// Copies a shapefile's parts into a folder, one of them changed; none where it is to be missing.
fn changed(part: &str, change: impl FnOnce(Vec<u8>) -> Option<Vec<u8>>) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let mut change = Some(change);
    for ending in ["shp", "dbf", "prj"] {
        let bytes = fs::read(sample(&format!("barns.{ending}"))).unwrap();
        let bytes = if ending == part { change.take().unwrap()(bytes) } else { Some(bytes) };
        if let Some(bytes) = bytes {
            fs::write(folder.path().join(format!("a.{ending}")), bytes).unwrap();
        }
    }
    let path = folder.path().join("a.shp");
    (folder, path)
}

#[test]
fn a_shapefile_needs_coordinates_that_are_understood() {
    let (_folder, path) = changed("prj", |_| None);
    let error = read_footprints(&path).unwrap_err();
    assert_eq!(error.kind, FileErrorKind::Unplaced);
    assert!(error.to_string().contains("must have a .prj file beside it"), "{error}");
    let (_folder, path) = changed("prj", |text| {
        Some(String::from_utf8(text).unwrap().replace("500000.0", "3500000.0").into_bytes())
    });
    let error = read_footprints(&path).unwrap_err().to_string();
    assert!(error.contains("\"WGS_1984_UTM_Zone_32N\"; convert the data to WGS 84"), "{error}");
    let (_folder, path) = changed("dbf", |_| None);
    let found = read_footprints(&path).unwrap();
    assert!(found.areas.len() == 5 && found.attributes().is_empty(), "shapes without attributes");
}

/// Hostile: cut anywhere, and with bytes turned, a shapefile is an error or other shapes, never a panic, and no memory is
/// taken for what it only claims to hold.
#[test]
fn broken_shapefiles_are_errors_and_no_panics() {
    for part in ["shp", "dbf"] {
        let whole = fs::read(sample(&format!("barns.{part}"))).unwrap();
        for cut in (0..whole.len()).step_by(7) {
            let (_folder, path) = changed(part, |bytes| Some(bytes[..cut].to_vec()));
            let _ = read_footprints(&path);
        }
        for at in 0..whole.len().min(400) {
            for turn in [0x01, 0x7f, 0xff] {
                let (_folder, path) = changed(part, |mut bytes| {
                    bytes[at] ^= turn;
                    Some(bytes)
                });
                let _ = read_footprints(&path);
            }
        }
    }
    // A coordinate that is no number.
    let (_folder, path) = changed("shp", |mut bytes| {
        bytes[100 + 8 + 4 + 32 + 8 + 4..][..8].copy_from_slice(&f64::NAN.to_le_bytes());
        Some(bytes)
    });
    let found = read_footprints(&path).unwrap();
    assert_eq!(found.areas.len(), 4);
    assert!(
        found.notes.iter().any(|note| note.contains("shape 1: every position must have")),
        "{:?}",
        found.notes
    );
}

fn archive(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for (name, bytes) in files {
        zip.start_file(*name, zip::write::SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}

/// Hostile: an archive that unpacks to far more than it is, one with very many files, one without a shapefile.
#[test]
fn archives_are_bounded() {
    let shapes = fs::read(sample("barns.shp")).unwrap();
    let prj = fs::read(sample("barns.prj")).unwrap();
    let bomb = vec![0; 65 << 20];
    let packed = archive(&[("a.shp", &bomb), ("a.prj", &prj)]);
    assert!(packed.len() < 1 << 20, "{} bytes", packed.len());
    let (_folder, path) = file("a.zip", &packed);
    let error = read_footprints(&path).unwrap_err();
    assert_eq!(error.kind, FileErrorKind::TooLarge);
    assert!(error.to_string().contains("at most 64 MB"), "{error}");
    let names: Vec<String> = (0..10_001).map(|k| k.to_string()).collect();
    let many: Vec<(&str, &[u8])> = names.iter().map(|name| (name.as_str(), [].as_slice())).collect();
    let (_folder, path) = file("a.zip", &archive(&many));
    assert!(read_footprints(&path).unwrap_err().to_string().contains("at most 10000 files"));
    let (_folder, path) = file("a.zip", &archive(&[("notes.txt", b"nothing")]));
    assert!(read_footprints(&path).is_err());
    // Of two the first is used, and said; what one system puts beside every file is none.
    let two: [(&str, &[u8]); 4] =
        [("__MACOSX/b.shp", b"?"), ("b.shp", &shapes), ("b.prj", &prj), ("c/d.shp", &shapes)];
    let (_folder, path) = file("a.zip", &archive(&two));
    let found = read_footprints(&path).unwrap();
    assert!(found.areas.len() == 5 && found.notes[0].contains("\"b.shp\" is used"), "{:?}", found.notes);
    for cut in (4..packed.len()).step_by(packed.len() / 40 + 1) {
        let (_folder, path) = file("a.zip", &packed[..cut]);
        assert!(read_footprints(&path).is_err(), "cut at {cut}");
    }
}
