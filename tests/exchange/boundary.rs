use glam::DVec2;
use obliquity_exchange::{
    BoundaryChoice, FileErrorKind, LocalFrame, parse_boundaries, read_boundaries, site_from_boundary,
};
use obliquity_planning::GeoPoint;
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;

/// A rectangle of 0.01° by 0.005° at 51° N 7° E, whose area check value 8.14 gives.
const RING: &str = "[[7.0,51.0],[7.01,51.0],[7.01,51.005],[7.0,51.005],[7.0,51.0]]";
const AREA_M2: f64 = 390447.7175;

fn polygon(rings: &str) -> String {
    format!(r#"{{"type":"Polygon","coordinates":[{rings}]}}"#)
}

fn feature(name: &str, geometry: &str) -> String {
    format!(r#"{{"type":"Feature","properties":{{"name":"{name}"}},"geometry":{geometry}}}"#)
}

fn collection(features: &[String]) -> String {
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
}

fn kml(inside: &str) -> String {
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Document>\n{inside}\n</Document></kml>"
    )
}

fn kml_polygon(coordinates: &str) -> String {
    format!(
        "<Polygon><extrude/><outerBoundaryIs><LinearRing><coordinates>{coordinates}</coordinates></LinearRing></outerBoundaryIs></Polygon>"
    )
}

const KML_RING: &str = "\n 7.0,51.0,0 7.01,51.0,0\n7.01,51.005,0 7.0,51.005,0 7.0,51.0,0 ";

fn placemark(name: &str, geometry: &str) -> String {
    format!("<Folder><Placemark><name>{name}</name>{geometry}</Placemark></Folder>")
}

fn kmz(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in entries {
        archive.start_file(*name, SimpleFileOptions::default()).unwrap();
        archive.write_all(bytes).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

fn read(text: &str) -> Vec<BoundaryChoice> {
    parse_boundaries(text.as_bytes(), "site").unwrap_or_else(|error| panic!("{error}"))
}

fn refused(bytes: &[u8]) -> String {
    match parse_boundaries(bytes, "site") {
        Ok(choices) => panic!("taken: {choices:?}"),
        Err(error) => error.to_string(),
    }
}

fn check_rectangle(choice: &BoundaryChoice) {
    // The frame keeps areas of this size within 1e-9; the value is printed to four decimals.
    assert!((choice.area_m2 - AREA_M2).abs() < 2e-3, "{}", choice.area_m2);
    assert_eq!(choice.origin, GeoPoint { latitude_deg: 51.0025, longitude_deg: 7.005 });
    assert_eq!(choice.ring_m.len(), 4);
    let frame = LocalFrame::new(choice.origin);
    let south_west = frame.to_geo(choice.ring_m[0]);
    assert!((south_west.latitude_deg - 51.0).abs() < 1e-11 && (south_west.longitude_deg - 7.0).abs() < 1e-11);
}

#[test]
fn geojson_of_every_shape_gives_its_polygons() {
    let bare = polygon(RING);
    let multi = format!(r#"{{"type":"MultiPolygon","coordinates":[[{RING}],[{RING}]]}}"#);
    let point = r#"{"type":"Point","coordinates":[7,51]}"#;
    let nested = format!(r#"{{"type":"GeometryCollection","geometries":[{point},{bare}]}}"#);
    let nothing = r#"{"type":"Feature","properties":null,"geometry":null}"#.to_owned();
    for (text, names) in [
        (bare.clone(), vec!["polygon 1"]),
        (feature("Quay", &bare), vec!["Quay"]),
        (multi.clone(), vec!["polygon 1", "polygon 2"]),
        (nested, vec!["polygon 1"]),
        (
            collection(&[nothing, feature("A", point), feature("B", &bare), feature("C", &multi)]),
            vec!["B", "C", "C"],
        ),
        (format!("\u{feff}\n{bare}"), vec!["polygon 1"]),
    ] {
        let choices = read(&text);
        assert_eq!(choices.iter().map(|choice| choice.name.as_str()).collect::<Vec<_>>(), names);
        choices.iter().for_each(check_rectangle);
    }
}

#[test]
fn either_winding_repeats_and_altitudes_are_taken_and_holes_are_told() {
    let reversed =
        "[[7.0,51.0,80],[7.0,51.005,81],[7.0,51.005,81],[7.01,51.005,80],[7.01,51.0,80],[7.0,51.0,80]]";
    let hole = "[[7.001,51.001],[7.002,51.001],[7.002,51.002],[7.001,51.001]]";
    let choices = read(&polygon(&format!("{reversed},{hole}")));
    check_rectangle(&choices[0]);
    assert_eq!(choices[0].notes.len(), 2, "{:?}", choices[0].notes);
    assert!(choices[0].notes[0].contains("hole") && choices[0].notes[1].contains("altitudes"));
}

#[test]
fn kml_and_kmz_give_the_same_rectangle() {
    let document = kml(&placemark(
        "Quay &amp; yard",
        &format!("<MultiGeometry><Point><coordinates/></Point>{}</MultiGeometry>", kml_polygon(KML_RING)),
    ));
    let archive = kmz(&[("images/a.png", b"no"), ("other.kml", b"<kml/>"), ("doc.kml", document.as_bytes())]);
    let elsewhere = kmz(&[("Site/Boundary.KML", document.as_bytes())]);
    for bytes in [document.as_bytes(), &archive, &elsewhere] {
        let choices = parse_boundaries(bytes, "site").unwrap();
        assert_eq!(choices.len(), 1);
        assert_eq!(choices[0].name, "Quay & yard");
        check_rectangle(&choices[0]);
    }
}

#[test]
fn the_format_follows_from_the_contents_and_the_file_is_named() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("boundary.txt");
    std::fs::write(&path, polygon(RING)).unwrap();
    check_rectangle(&read_boundaries(&path).unwrap()[0]);
    std::fs::write(&path, "{").unwrap();
    assert!(read_boundaries(&path).unwrap_err().to_string().contains("boundary.txt:1:1: "));
}

#[test]
fn a_site_takes_off_at_the_corner_nearest_the_south_west() {
    let site = site_from_boundary(&read(&feature("Quay", &polygon(RING)))[0]);
    assert_eq!(site.name, "Quay");
    assert_eq!(site.take_off_m, site.boundary_m[0]);
    assert!(site.take_off_m.cmplt(DVec2::ZERO).all());
    assert!(site.structures.is_empty() && site.origin.is_some());
}

#[test]
fn a_polygon_that_cannot_be_one_is_left_out_with_a_note_when_another_can() {
    let line = "[[7.0,51.0],[7.01,51.0],[7.0,51.0]]";
    let choices = read(&collection(&[feature("bad", &polygon(line)), feature("good", &polygon(RING))]));
    assert_eq!(choices.len(), 1);
    assert_eq!(choices[0].name, "good");
    assert!(
        choices[0].notes[0].starts_with("left out, feature 1: a ring must have at least 4"),
        "{:?}",
        choices[0].notes
    );
}

#[test]
fn bad_geojson_is_refused_with_reason() {
    let ring = |positions: &str| polygon(&format!("[{positions}]"));
    let cases = [
        (collection(&[]), "the file must hold at least one polygon"),
        (feature("a", r#"{"type":"LineString","coordinates":[[7,51],[8,51]]}"#), "at least one polygon"),
        (ring("[7.0,51.0],[7.01,51.0],[7.0,51.0]"), "the geometry: a ring must have at least 4 positions"),
        (ring("[7.0,51.0],[7.01,51.0],[7.01,51.005],[7.0,51.005]"), "a ring must end where it begins"),
        (ring("[51.0,97.0],[51.0,97.01],[51.005,97.01],[51.0,97.0]"), "perhaps they are swapped"),
        (ring("[365000,5651000],[365100,5651000],[365100,5651100],[365000,5651000]"), "WGS 84"),
        (ring("[179.999,51.0],[-179.999,51.0],[-179.999,51.005],[179.999,51.0]"), "180° meridian"),
        (
            ring("[7.0,51.0],[7.01,51.005],[7.01,51.0],[7.0,51.005],[7.0,51.0]"),
            "must not cross or touch itself",
        ),
        (ring("[7.0,51.0],[8.0,51.0],[8.0,51.005],[7.0,51.0]"), "at most 20 km wide"),
        (ring("[7.0,51.0],[7.0,51.0],[7.0,51.0],[7.0,51.0]"), "at least 3 corners"),
        (ring("[7.0],[7.0],[7.0],[7.0]"), "position"),
        (ring(""), "at least 4 positions"),
        (r#"{"type":"Polygon","coordinates":[]}"#.to_owned(), "at least 4 positions"),
        (ring("[1e999,0]"), "site:1:"),
        (
            collection(&[feature("a", &polygon(RING)), "{\"type\":\"Feature\",\"geometry\":7}".to_owned()]),
            "feature 2 must follow GeoJSON",
        ),
        ("{\n  \"type\": oops }".to_owned(), "site:2:"),
        ("{\"type\":\"FeatureCollection\"}".to_owned(), "a list \"features\""),
        ("{\"type\":\"Blob\"}".to_owned(), "must follow GeoJSON"),
        ("{}".to_owned(), "must follow GeoJSON"),
        (format!("{{\"a\":{}", "[".repeat(100_000)), "never nests this deep"),
        (String::new(), "the file is empty"),
        ("id,x,y\n1,2,3".to_owned(), "must be GeoJSON, KML or KMZ"),
    ];
    let mut wrong = String::new();
    for (text, expected) in cases {
        let told = refused(text.as_bytes());
        if !told.contains(expected) || !told.contains("; ") {
            wrong += &format!("expected {expected}\n     got {told}\n");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(refused(&[0x89, 0x50, 0xff, 0x00]).contains("UTF-8"));
}

#[test]
fn bad_kml_is_refused_with_reason() {
    let cases = [
        (kml(""), "at least one polygon"),
        (
            kml(&placemark("a", "<LineString><coordinates>7,51 8,51</coordinates></LineString>")),
            "at least one polygon",
        ),
        (
            kml(&placemark("a", &kml_polygon("7.0,51.0 7.01,51.0 7.0,51.0"))),
            "site:3:34: polygon 1: a ring must have",
        ),
        (kml(&placemark("a", &kml_polygon("7.0, 51.0, 7.01, 51.0"))), "site:3:"),
        (kml(&placemark("a", &kml_polygon("x,y"))), "error parsing number"),
        (kml(&placemark("a", &kml_polygon("NaN,NaN NaN,NaN NaN,NaN NaN,NaN"))), "must end where it begins"),
        (kml(&placemark("a", &kml_polygon("inf,1 2,2 3,3 inf,1"))), "longitude must lie"),
        (kml(&placemark("a", "<Polygon></Polygon>")), "at least 4 positions"),
        (kml("<Folder>"), "must be XML"),
        ("<kml><Document>".to_owned(), "site:1:16: the element <Document> must be closed"),
        ("<a>".repeat(100_000), "KML must nest at most 200 deep"),
        (
            "<?xml version=\"1.0\"?><!DOCTYPE a [<!ENTITY b \"bb\">]><a>&b;</a>".to_owned(),
            "at least one polygon",
        ),
    ];
    let mut wrong = String::new();
    for (text, expected) in cases {
        let told = refused(text.as_bytes());
        if !told.contains(expected) || !told.contains("; ") {
            wrong += &format!("expected {expected}\n     got {told}\n");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn bad_archives_are_refused_with_reason() {
    assert!(refused(b"PK\x03\x04 and nothing").contains("sound ZIP archive"));
    assert!(refused(&kmz(&[("a.txt", b"hello")])).contains("must hold a KML file"));
    // 64 MB of blanks pack into some 64 kB.
    let bomb = kmz(&[("doc.kml", &vec![b' '; 64 << 20])]);
    assert!(bomb.len() < 1 << 20, "{}", bomb.len());
    let error = parse_boundaries(&bomb, "bomb.kmz").unwrap_err();
    assert_eq!(error.kind, FileErrorKind::TooLarge);
    assert!(error.to_string().contains("32 MB"), "{error}");
}
