//! Exported routes lie where they are flown when they are opened over real ground, found out by geometry of this file alone.

use crate::sample;
use glam::{DVec2, DVec3};
use obliquity_exchange::{ExportTo, Replace, ViewRows, export_strategy};
use obliquity_planning::{NoWatch, Outcome, Scenario, Terrain, TerrainGrid};
use std::path::Path;
use std::sync::Arc;

const COLUMNS: usize = 90;
const ROWS: usize = 80;
const STEP_M: f64 = 5.0;
const SOUTH_WEST_M: DVec2 = DVec2::new(-120.0, -130.0);

/// Rugged ground on a lattice: slopes to about 1, edges where waves meet.
struct Ground {
    heights_m: Vec<f64>,
}

impl Ground {
    fn rugged(seed: f64, base_m: f64) -> Ground {
        let height = |k: usize| {
            let (x, y) = ((k % COLUMNS) as f64 * STEP_M, (k / COLUMNS) as f64 * STEP_M);
            let ridges = 14.0 * ((x * 0.043 + seed).sin() * 2.0).abs() + 11.0 * (y * 0.05 - seed).sin();
            base_m + ridges + 4.0 * ((x + y) * 0.13 + 3.0 * seed).cos()
        };
        // The grid keeps millimetres.
        let rounded = |k| (1000.0 * height(k)).round() / 1000.0;
        Ground { heights_m: (0..COLUMNS * ROWS).map(rounded).collect() }
    }

    fn grid(&self) -> TerrainGrid {
        TerrainGrid::from_heights_m(SOUTH_WEST_M, DVec2::splat(STEP_M), (COLUMNS, ROWS), &self.heights_m)
            .unwrap()
    }

    /// By barycentric weights in the triangle below: cells are split from south-west to north-east.
    fn height_m(&self, at: DVec2) -> f64 {
        let place = (at - SOUTH_WEST_M) / STEP_M;
        let (column, row) = (place.x.floor(), place.y.floor());
        let (u, v) = (place.x - column, place.y - row);
        let node =
            |dx: usize, dy: usize| self.heights_m[(row as usize + dy) * COLUMNS + column as usize + dx];
        let (low, high) = (node(0, 0), node(1, 1));
        if u >= v {
            (1.0 - u) * low + (u - v) * node(1, 0) + v * high
        } else {
            (1.0 - v) * low + (v - u) * node(0, 1) + u * high
        }
    }
}

/// Metres east and north of the sample's origin, 51° N 7° E, on the WGS 84 ellipsoid (semi-major axis 6,378,137 m,
/// flattening 1 / 298.257223563), by the radii of curvature of the meridian and across it.
///
/// Derived: third-order terms are left out; at 400 m they are below d³ / R² = 2e-6 m, times tan 51°.
fn local_m(longitude_deg: f64, latitude_deg: f64) -> DVec2 {
    let e2 = (2.0 - 1.0 / 298.257223563) / 298.257223563;
    let (phi0, phi) = (51_f64.to_radians(), latitude_deg.to_radians());
    let d_lambda = (longitude_deg - 7.0).to_radians();
    let across = |phi: f64| 6_378_137.0 / (1.0 - e2 * phi.sin().powi(2)).sqrt();
    let middle = f64::midpoint(phi0, phi);
    let meridian_m = 6_378_137.0 * (1.0 - e2) / (1.0 - e2 * middle.sin().powi(2)).powf(1.5);
    let x_m = across(phi) * phi.cos() * d_lambda;
    DVec2::new(x_m, meridian_m * (phi - phi0) + x_m * d_lambda * phi.sin() / 2.0)
}

fn rugged(seed: f64, base_m: f64) -> (Ground, Scenario) {
    let ground = Ground::rugged(seed, base_m);
    let mut scenario = sample::with_every_pattern();
    let site = Arc::make_mut(&mut scenario.site);
    site.terrain = Terrain::Grid(Arc::new(ground.grid()));
    site.sample_spacing_m = Some(15.0);
    (ground, scenario)
}

fn exported(scenario: &Scenario, outcome: &Outcome, folder: &Path) {
    let to = ExportTo { folder, replace: Replace::Nothing, inputs: &[] };
    export_strategy(&to, scenario, outcome, ViewRows::LeftOut, &NoWatch).unwrap();
}

/// The lines of a KML file whose heights are above the ground: (longitude, latitude, height).
fn kml_lines(folder: &Path) -> Vec<Vec<[f64; 3]>> {
    let text = std::fs::read_to_string(folder.join("route.kml")).unwrap();
    assert!(!text.contains("absolute"), "no height of the site's own datum");
    let lines = text.split("<LineString><altitudeMode>relativeToGround</altitudeMode><coordinates>").skip(1);
    let numbers = |position: &str| {
        let parts: Vec<f64> = position.split(',').map(|part| part.parse().unwrap()).collect();
        [parts[0], parts[1], parts[2]]
    };
    lines.map(|line| line.split('<').next().unwrap().split(' ').map(numbers).collect()).collect()
}

/// The same of a GeoJSON file: positions have two numbers, heights stand beside them.
fn geojson_lines(folder: &Path) -> Vec<Vec<[f64; 3]>> {
    let text = std::fs::read_to_string(folder.join("route.geojson")).unwrap();
    let route: serde_json::Value = serde_json::from_str(&text).unwrap();
    let features = route["features"].as_array().unwrap();
    assert!(features.iter().all(|feature| {
        feature["properties"]["note"].as_str().unwrap().contains("metres above the ground")
    }));
    let line = |feature: &serde_json::Value| {
        let places = feature["geometry"]["coordinates"].as_array().unwrap();
        let heights = feature["properties"]["height_above_ground_m"].as_array().unwrap();
        assert_eq!(places.len(), heights.len());
        let vertex = |(place, height): (&serde_json::Value, &serde_json::Value)| {
            let place = place.as_array().unwrap();
            assert_eq!(place.len(), 2, "RFC 7946 keeps the third number for heights above the ellipsoid");
            [&place[0], &place[1], height].map(|number| number.as_f64().unwrap())
        };
        places.iter().zip(heights).map(vertex).collect()
    };
    features[1..].iter().map(line).collect()
}

/// The corners of each sortie as they are flown.
fn flown(outcome: &Outcome) -> Vec<Vec<DVec3>> {
    let mut sorties = vec![Vec::new(); outcome.flight().unwrap().sorties.len()];
    for leg in &outcome.flight().unwrap().legs {
        sorties[leg.sortie as usize].extend(leg.leg.pieces_m().flat_map(|(from, to)| [from, to]));
    }
    sorties
}

/// Half a metre is what the export allows itself; longitudes and latitudes are given back within 1 mm, which on the
/// steepest of these slopes is 2 mm of height.
const TOLERANCE_M: f64 = 0.5 + 0.01;

/// Checks a line over the ground against the corners that it goes through, half a metre at a time.
fn check(ground: &Ground, line: &[[f64; 3]], corners: &[DVec3]) {
    let placed = |&[longitude, latitude, above_m]: &[f64; 3]| {
        let at = local_m(longitude, latitude);
        at.extend(ground.height_m(at) + above_m)
    };
    let vertices: Vec<DVec3> = line.iter().map(placed).collect();
    let mut next = 0;
    for pair in corners.windows(2).filter(|pair| pair[0] != pair[1]) {
        let begin = next;
        assert!(vertices[begin].distance(pair[0]) < 0.02, "{} is not {}", vertices[begin], pair[0]);
        while vertices[next].distance(pair[1]) > 0.02 || next == begin {
            next += 1;
            assert!(next < vertices.len(), "no vertex at {}", pair[1]);
        }
        let (from, along) = (pair[0], pair[1] - pair[0]);
        for piece in vertices[begin..=next].windows(2) {
            let over_m = piece[0].truncate().distance(piece[1].truncate());
            assert!(over_m <= 20.0 + 1e-3, "{over_m} m without a vertex");
            for step in 0..=(2.0 * over_m) as usize {
                let share = if over_m > 0.0 { (step as f64 / 2.0 / over_m).min(1.0) } else { 0.0 };
                let shown = piece[0].lerp(piece[1], share);
                let flat = along.truncate();
                if flat.length() < 0.1 {
                    continue; // straight up or down: its ends were compared
                }
                let way = (shown - from).truncate().dot(flat) / flat.length_squared();
                let route = from + along * way;
                assert!(shown.truncate().distance(route.truncate()) < 0.01);
                assert!((shown.z - route.z).abs() < TOLERANCE_M, "{shown} is not {route}");
            }
        }
    }
    assert_eq!(next, vertices.len() - 1);
}

#[test]
fn routes_over_rugged_ground_lie_where_they_are_flown() {
    for (seed, base_m) in [(0.3, 40.0), (1.9, 1200.0)] {
        let (ground, scenario) = rugged(seed, base_m);
        for outcome in sample::sampled_outcomes(&scenario).iter().filter(|outcome| outcome.feasible()) {
            let folder = tempfile::tempdir().unwrap();
            exported(&scenario, outcome, folder.path());
            let (lines, corners) = (kml_lines(folder.path()), flown(outcome));
            assert_eq!(lines.len(), corners.len());
            let others = geojson_lines(folder.path());
            assert_eq!(lines.iter().map(Vec::len).sum::<usize>(), others.iter().map(Vec::len).sum::<usize>());
            let pairs = lines.iter().flatten().flatten().zip(others.iter().flatten().flatten());
            // The JSON reader of this test is off by a unit in the last place at times.
            assert!(pairs.into_iter().all(|(a, b)| (a - b).abs() < 1e-11), "both files say the same");
            lines.iter().zip(&corners).for_each(|(line, corners)| check(&ground, line, corners));
        }
    }
}

/// Derived: a datum 300 m lower makes every height of the site 300 m more and changes nothing above the ground.
#[test]
fn the_datum_of_a_site_moves_no_exported_route() {
    let lines = |base_m: f64| {
        let (_, scenario) = rugged(0.7, base_m);
        let outcome = sample::sampled_outcomes(&scenario).remove(0);
        let folder = tempfile::tempdir().unwrap();
        exported(&scenario, &outcome, folder.path());
        let frame = std::fs::read_to_string(folder.path().join("frame.json")).unwrap();
        (kml_lines(folder.path()), serde_json::from_str::<serde_json::Value>(&frame).unwrap())
    };
    let ((low, low_frame), (high, high_frame)) = (lines(60.0), lines(360.0));
    assert_eq!(low.len(), high.len());
    for (low, high) in low.iter().flatten().zip(high.iter().flatten()) {
        // Heights are differences of numbers below 500 m.
        assert!(low.iter().zip(high).all(|(a, b)| (a - b).abs() < 1e-6), "{low:?} {high:?}");
    }
    let ground_m = |frame: &serde_json::Value| frame["ground_at_take_off_m"].as_f64().unwrap();
    assert!((ground_m(&high_frame) - ground_m(&low_frame) - 300.0).abs() < 2e-3, "two roundings to 1 mm");
    assert!(low_frame["z_datum"].as_str().unwrap().contains("the site's own"));
}
