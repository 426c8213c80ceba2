use crate::sample;
use obliquity_exchange::{ExportError, ExportTo, Exported, LocalFrame, Replace, ViewRows, export_strategy};
use obliquity_planning::{Cancelled, GeoPoint, NoWatch, Outcome, PosedCamera, Scenario, Watch};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// A small yard, so that its views are few.
fn small() -> (Scenario, Outcome) {
    let mut scenario = sample::scenario();
    let site = Arc::make_mut(&mut scenario.site);
    site.boundary_m =
        [(0.0, 0.0), (110.0, 0.0), (110.0, 90.0), (0.0, 90.0)].map(|(x, y)| glam::DVec2::new(x, y)).to_vec();
    site.sample_spacing_m = Some(10.0);
    let outcome = sample::sampled_outcomes(&scenario).remove(1);
    (scenario, outcome)
}

fn into(folder: &Path) -> ExportTo<'_> {
    ExportTo { folder, replace: Replace::Nothing, inputs: &[] }
}

fn export(scenario: &Scenario, outcome: &Outcome, folder: &Path) -> Exported {
    export_strategy(&into(folder), scenario, outcome, ViewRows::Written, &NoWatch).unwrap()
}

/// Rows of a table by column name; empty fields stay empty.
fn table(folder: &Path, name: &str) -> (String, Vec<Vec<String>>) {
    let text = std::fs::read_to_string(folder.join(name)).unwrap();
    let mut lines = text.lines();
    let head = lines.next().unwrap().to_owned();
    (head, lines.map(|line| line.split(',').map(str::to_owned).collect()).collect())
}

fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("no number: {text:?}"))
}

#[test]
fn tables_have_the_columns_agreed_and_numbers_that_read_back_exactly() {
    let (scenario, outcome) = small();
    let folder = tempfile::tempdir().unwrap();
    let exported = export(&scenario, &outcome, &folder.path().join("made/on/the/way"));
    let folder = &folder.path().join("made/on/the/way");
    assert_eq!(exported.files.len(), 10);
    assert!(exported.notes.is_empty());

    let (head, stations) = table(folder, "stations.csv");
    assert_eq!(head, "pass,index,time_s,x_m,y_m,z_m,heading_deg,tilt_deg,roll_deg");
    let poses = &outcome.passes[0].laid().unwrap().stations.poses;
    assert_eq!(stations.len(), poses.len());
    for (index, (row, pose)) in stations.iter().zip(poses).enumerate() {
        assert_eq!((row[0].as_str(), row[1].as_str()), ("1", index.to_string().as_str()));
        let read = [2, 3, 4, 5].map(|column| number(&row[column]).to_bits());
        let at = pose.position_m;
        assert_eq!(
            read,
            [outcome.flight().unwrap().station_time_s[0][index], at.x, at.y, at.z].map(f64::to_bits)
        );
        assert_eq!(number(&row[7]).to_bits(), pose.tilt_rad.to_degrees().to_bits());
    }

    let (head, samples) = table(folder, "samples.csv");
    assert_eq!(
        head,
        "sample,surface,x_m,y_m,z_m,nx,ny,nz,area_m2,views,best_gsd_cm,max_intersection_deg,covered,sigma_h_mm,sigma_z_mm,sigma_n_mm"
    );
    let figures = &outcome.views.as_ref().unwrap().samples;
    assert_eq!(samples.len(), figures.views.len());
    for (index, row) in samples.iter().enumerate() {
        assert_eq!(row[0], index.to_string());
        assert_eq!(row[9], figures.views[index].to_string());
        assert_eq!(row[10].is_empty(), figures.views[index] == 0, "a GSD only where a view counts");
        assert_eq!(row[12], u8::from(figures.covered[index]).to_string());
        assert_eq!(row[13..], ["", "", ""], "precision is not known yet");
    }
    let ground_m2: f64 = samples.iter().filter(|row| row[1] == "ground").map(|row| number(&row[8])).sum();
    let model_m2 = outcome.site.as_ref().unwrap().area_m2.ground;
    // Sums of some hundred areas, each rounded to half a unit in the last place.
    assert!((ground_m2 - model_m2).abs() < 1e-9 * model_m2);
}

/// Derived: pinhole projection of each sample into each station, without looking at what hides.
#[test]
fn views_list_each_sample_in_a_frame_and_facing_it_once_and_count_as_the_samples_do() {
    let (scenario, outcome) = small();
    let folder = tempfile::tempdir().unwrap();
    export(&scenario, &outcome, folder.path());
    let (head, rows) = table(folder.path(), "views.csv");
    assert_eq!(head, "sample,pass,index,counted");
    let mut seen: BTreeMap<(usize, usize), bool> = BTreeMap::new();
    for row in &rows {
        let key = (row[0].parse().unwrap(), row[2].parse().unwrap());
        assert_eq!(row[1], "1");
        assert!(seen.insert(key, row[3] == "1").is_none(), "twice: {row:?}");
    }
    let stations = &outcome.passes[0].laid().unwrap().stations;
    let figures = &outcome.views.as_ref().unwrap().samples;
    let (mut unlike, mut all) = (0, 0);
    for sample in outcome.site.as_ref().unwrap().samples() {
        let number = sample.number as usize;
        let mut counted = 0;
        for (index, pose) in stations.poses.iter().enumerate() {
            let camera = PosedCamera::new(stations.camera, pose);
            let in_frame = camera.project(sample.position_m).is_some_and(|uv| stations.camera.contains(uv));
            let facing = (pose.position_m - sample.position_m).dot(sample.normal) > 0.0;
            let row = seen.get(&(number, index));
            unlike += u32::from(row.is_some() != (in_frame && facing));
            all += u32::from(row.is_some());
            counted += u32::from(row == Some(&true));
        }
        assert_eq!(counted, figures.views[number], "sample {number}");
    }
    // Single precision may differ on a frame's very edge.
    assert!(all > 1000 && f64::from(unlike) <= 1e-4 * f64::from(all), "{unlike} of {all}");
}

#[test]
fn camera_and_scene_say_what_the_definitions_ask_for() {
    let (scenario, outcome) = small();
    let folder = tempfile::tempdir().unwrap();
    export(&scenario, &outcome, folder.path());
    let text = std::fs::read_to_string(folder.path().join("camera.json")).unwrap();
    let camera: serde_json::Value = serde_json::from_str(&text).unwrap();
    // Derived: 9.1 mm over 2.5 µm; (5200 − 1)/2 and (3900 − 1)/2; twice the required 4 cm.
    assert!((camera["focal_length_px"].as_f64().unwrap() - 3640.0).abs() < 1e-9, "one rounding");
    assert_eq!((camera["cx_px"].as_f64(), camera["cy_px"].as_f64()), (Some(2599.5), Some(1949.5)));
    assert_eq!(camera["max_gsd_cm"]["wall"].as_f64(), Some(8.0));
    let keys: Vec<&str> = camera.as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(keys.len(), 10, "{keys:?}");

    let scene = std::fs::read_to_string(folder.path().join("scene.obj")).unwrap();
    let triangles = outcome.site.as_ref().unwrap().triangles();
    let corners: Vec<glam::DVec3> = scene
        .lines()
        .filter_map(|line| line.strip_prefix("v "))
        .map(|line| line.split(' ').map(number).collect::<Vec<_>>())
        .map(|xyz| glam::DVec3::new(xyz[0], xyz[1], xyz[2]))
        .collect();
    let faces: Vec<Vec<usize>> = scene
        .lines()
        .filter_map(|line| line.strip_prefix("f "))
        .map(|line| line.split(' ').map(|index| index.parse().unwrap()).collect())
        .collect();
    assert_eq!(faces.len(), triangles.len());
    for (face, triangle) in faces.iter().zip(&triangles) {
        assert_eq!([0, 1, 2].map(|k| corners[face[k] - 1]), *triangle);
    }
}

#[test]
fn routes_lie_where_the_frame_puts_them() {
    let (scenario, outcome) = small();
    let folder = tempfile::tempdir().unwrap();
    export(&scenario, &outcome, folder.path());
    let text = std::fs::read_to_string(folder.path().join("route.geojson")).unwrap();
    let route: geojson::FeatureCollection = text.parse().unwrap();
    assert_eq!(route.features.len(), 1 + outcome.flight().unwrap().sorties.len());
    let frame = LocalFrame::new(scenario.site.origin.unwrap());
    let Some(geojson::GeometryValue::LineString { coordinates }) =
        route.features[1].geometry.as_ref().map(|geometry| geometry.value.clone())
    else {
        panic!("no line")
    };
    let first = coordinates[0].as_slice();
    let place_m = frame.to_local(GeoPoint { latitude_deg: first[1], longitude_deg: first[0] });
    assert!(place_m.distance(scenario.site.take_off_m) < 1e-6, "there and back: {place_m}");
    let kml = std::fs::read_to_string(folder.path().join("route.kml")).unwrap();
    let document: kml::Kml = kml.parse().unwrap();
    assert!(matches!(document, kml::Kml::KmlDocument(_)));
    assert_eq!(kml.matches("<LineString>").count(), outcome.flight().unwrap().sorties.len());
}

#[test]
fn a_site_that_is_nowhere_has_no_route_files_and_a_note() {
    let (mut scenario, outcome) = small();
    Arc::make_mut(&mut scenario.site).origin = None;
    let folder = tempfile::tempdir().unwrap();
    let exported =
        export_strategy(&into(folder.path()), &scenario, &outcome, ViewRows::LeftOut, &NoWatch).unwrap();
    assert_eq!(exported.files.len(), 5);
    assert!(exported.notes[0].contains("the site is nowhere"));
    assert!(!folder.path().join("route.kml").exists() && !folder.path().join("views.csv").exists());
}

/// Cancels at once.
struct Never;

impl Watch for Never {
    fn step(&self, _done: u64, _total: u64) -> Result<(), Cancelled> {
        Err(Cancelled)
    }
}

#[test]
fn an_export_that_cannot_be_says_why() {
    let (scenario, outcome) = small();
    let folder = tempfile::tempdir().unwrap();
    let quick = sample::quick_outcomes(&scenario).remove(0);
    let refused = |path: &Path, outcome: &Outcome, watch: &dyn Watch| {
        export_strategy(&into(path), &scenario, outcome, ViewRows::Written, watch).unwrap_err()
    };
    assert_eq!(refused(folder.path(), &quick, &NoWatch), ExportError::NotSampled);
    let file = folder.path().join("file");
    std::fs::write(&file, "in the way").unwrap();
    assert!(matches!(refused(&file, &outcome, &NoWatch), ExportError::File(_)));
    assert_eq!(refused(folder.path(), &outcome, &Never), ExportError::Cancelled(Cancelled));
}

/// Derived: on uneven ground with a bridge, the export has the ground's triangles, samples on every surface with the
/// ground's own normals, and the report a figure for undersides.
#[test]
fn decks_and_terrain_are_exported() {
    let mut scenario = crate::scenario::uneven();
    Arc::make_mut(&mut scenario.site).sample_spacing_m = Some(4.0);
    let outcomes = sample::sampled_outcomes(&scenario);
    let folder = tempfile::tempdir().unwrap();
    export_strategy(&into(folder.path()), &scenario, &outcomes[0], ViewRows::LeftOut, &NoWatch).unwrap();
    let scene = std::fs::read_to_string(folder.path().join("scene.obj")).unwrap();
    let triangles = scene.lines().filter(|line| line.starts_with("f ")).count();
    // two for each of 29 x 24 cells, and 12 each for the shed, the deck and its pier
    assert_eq!(triangles, 2 * 29 * 24 + 3 * 12);
    let (_, samples) = table(folder.path(), "samples.csv");
    for class in ["ground", "roof", "wall", "underside"] {
        assert!(samples.iter().any(|row| row[1] == class), "{class}");
    }
    for row in &samples {
        let length = [5, 6, 7].map(|k| number(&row[k]).powi(2)).iter().sum::<f64>().sqrt();
        assert!((length - 1.0).abs() < 1e-6, "{row:?}"); // single precision
    }
    let report = obliquity_exchange::comparison_json(&scenario, &outcomes);
    let underside = &report["strategies"][0]["coverage"]["underside"];
    assert_eq!(underside.as_f64(), Some(0.0), "seen by nothing that looks down");
}
