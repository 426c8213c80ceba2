//! The regions of passes as they are exported, read back by the crate's own readers of boundaries and as plain GeoJSON.

use crate::{generate, sample};
use geo::{Area, Contains, Euclidean, LineString, Point, Polygon};
use glam::DVec2;
use obliquity_exchange::{ExportTo, LocalFrame, Replace, ViewRows, export_strategy, parse_boundaries};
use obliquity_planning::*;
use serde_json::Value;
use std::path::Path;
use std::sync::Arc;

const ORIGIN: GeoPoint = GeoPoint { latitude_deg: -31.4, longitude_deg: -98.7 };

fn export(scenario: &Scenario, outcome: &Outcome, folder: &Path) -> Vec<String> {
    let into = ExportTo { folder, replace: Replace::Nothing, inputs: &[] };
    export_strategy(&into, scenario, outcome, ViewRows::LeftOut, &NoWatch).unwrap().notes
}

fn outcome(scenario: &Scenario, strategy: usize) -> Outcome {
    let store = Store::new(0);
    let evaluator = Evaluator { store: &store, watch: &NoWatch };
    evaluator.evaluate(scenario, scenario.strategies[strategy].id, Depth::Views).unwrap()
}

/// One pass over a square of 200 m with a keep-out in its middle, 60 m up, its strips along 000°, nothing standing.
fn square(attitude: Attitude) -> Scenario {
    let mut scenario = sample::scenario();
    let site = Arc::make_mut(&mut scenario.site);
    let ring = |corners: [(f64, f64); 4]| corners.map(DVec2::from).to_vec();
    site.origin = Some(ORIGIN);
    site.boundary_m = ring([(0., 0.), (200., 0.), (200., 200.), (0., 200.)]);
    site.keep_outs = vec![KeepOut {
        name: "Mast".to_owned(),
        outline_m: ring([(90., 90.), (110., 90.), (110., 120.), (90., 120.)]),
    }];
    site.structures.clear();
    site.terrain = Terrain::default();
    site.sample_spacing_m = Some(25.0);
    scenario.strategies.truncate(1);
    let pass = &mut scenario.strategies[0].passes[0];
    pass.attitudes = vec![attitude];
    pass.distance = Distance::Height { m: 60.0, above: Above::MeanGround };
    pass.margin_m = Some(20.0);
    let Pattern::Strips(strips) = &mut pass.pattern else { panic!("strips") };
    strips.direction = StripDirection::FromNorth { deg: 0.0 };
    scenario
}

/// Least and greatest coordinates in metres of the site, and the area, of the one polygon of a file.
fn read(folder: &Path, name: &str) -> ([f64; 4], f64) {
    let bytes = std::fs::read(folder.join(name)).unwrap();
    let choices = parse_boundaries(&bytes, name).unwrap();
    assert_eq!(choices.len(), 1, "{name}");
    let choice = &choices[0];
    let (there, here) = (LocalFrame::new(choice.origin), LocalFrame::new(ORIGIN));
    let places: Vec<DVec2> = choice.ring_m.iter().map(|at_m| here.to_local(there.to_geo(*at_m))).collect();
    let fold = |f: fn(f64, f64) -> f64, of: fn(&DVec2) -> f64| places.iter().map(of).reduce(f).unwrap();
    (
        [fold(f64::min, |p| p.x), fold(f64::min, |p| p.y), fold(f64::max, |p| p.x), fold(f64::max, |p| p.y)],
        choice.area_m2,
    )
}

fn near(found: [f64; 4], expected: [f64; 4]) {
    // Degrees are written in full; what is left is that of frames about two places: below a millimetre at this size.
    assert!(found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 0.01), "{found:?}, not {expected:?}");
}

/// Derived: a nadir block reaches its margin of 20 m beyond the square; one that looks north at 45° from 60 m is moved back
/// to the south by 60 m × tan 45°. Both leave the keep-out out, and both files say the same.
#[test]
fn offset_shift_and_margin_are_in_the_polygons_and_keep_outs_are_holes() {
    let nadir = square(Attitude { tilt_deg: 0.0, aim: Aim::FromTrack { deg: 0.0 } });
    let oblique = square(Attitude { tilt_deg: 45.0, aim: Aim::FromNorth { deg: 0.0 } });
    for (scenario, shift_m) in [(nadir, 0.0), (oblique, 60.0)] {
        let folder = tempfile::tempdir().unwrap();
        let notes = export(&scenario, &outcome(&scenario, 0), folder.path());
        assert!(notes.is_empty(), "{notes:?}");
        for name in ["regions.geojson", "regions.kml"] {
            let (bounds_m, _) = read(folder.path(), name);
            near(bounds_m, [-20.0, -20.0 - shift_m, 220.0, 220.0 - shift_m]);
        }
        let text = std::fs::read_to_string(folder.path().join("regions.geojson")).unwrap();
        let json: Value = serde_json::from_str(&text).unwrap();
        let feature = &json["features"][0];
        assert_eq!(feature["properties"]["region_of_pass"], 1);
        let rings = feature["geometry"]["coordinates"].as_array().unwrap();
        assert_eq!(rings.len(), 2, "an outline and a hole");
        let frame = LocalFrame::new(ORIGIN);
        let ring = |value: &Value| -> Vec<DVec2> {
            let places = value.as_array().unwrap().iter();
            let number = |place: &Value, k: usize| place[k].as_f64().unwrap();
            let geo = |p: &Value| GeoPoint { longitude_deg: number(p, 0), latitude_deg: number(p, 1) };
            places.map(|place| frame.to_local(geo(place))).collect()
        };
        let (outline, hole) = (ring(&rings[0]), ring(&rings[1]));
        assert!(outline.first() == outline.last() && hole.first() == hole.last(), "rings are closed");
        let area = |ring: &[DVec2]| polygon::signed_area_m2(ring);
        // RFC 7946, 3.1.6: outlines counter-clockwise, holes clockwise.
        assert!((area(&outline) - 240.0 * 240.0).abs() < 1.0 && (area(&hole) + 600.0).abs() < 0.5);
        let kml = std::fs::read_to_string(folder.path().join("regions.kml")).unwrap();
        assert_eq!(
            (kml.matches("<outerBoundaryIs>").count(), kml.matches("<innerBoundaryIs>").count()),
            (1, 1)
        );
    }
}

/// Derived: passes of all patterns: those that go by an area have one, the others are named with the reason.
#[test]
fn passes_without_an_area_are_named() {
    let mut scenario = sample::with_every_pattern();
    Arc::make_mut(&mut scenario.site).origin = Some(ORIGIN);
    Arc::make_mut(&mut scenario.site).sample_spacing_m = Some(25.0);
    let folder = tempfile::tempdir().unwrap();
    let notes = export(&scenario, &outcome(&scenario, 0), folder.path());
    let said = notes.join("\n");
    assert_eq!(notes.len(), 2, "{said}");
    assert!(said.contains("(facade) has no region") && said.contains("(underside) has no region"), "{said}");
    let bytes = std::fs::read(folder.path().join("regions.kml")).unwrap();
    assert_eq!(parse_boundaries(&bytes, "regions.kml").unwrap().len(), 4);
    // An orbit of 33.03 m round the shed: the 72 corners of its outline lie on the ring.
    let json: Value =
        serde_json::from_slice(&std::fs::read(folder.path().join("regions.geojson")).unwrap()).unwrap();
    let orbit = json["features"].as_array().unwrap().iter().find(|f| f["properties"]["pattern"] == "orbit");
    let corners = orbit.unwrap()["geometry"]["coordinates"][0].as_array().unwrap();
    assert_eq!(corners.len(), 73, "and the first one again");
}

/// Cross-check: geo 0.33 finds every exposure of a nadir or oblique block in the region of its pass, or no farther from it
/// than a gap that is flown on through; none lies inside a keep-out.
#[test]
fn exposures_of_drawn_blocks_lie_in_their_regions() {
    let mut seen = 0;
    for seed in 0..60 {
        let scenario = generate::scenario(seed);
        let outline = SiteOutline::new(&scenario.site).unwrap();
        for strategy in &scenario.strategies {
            let aircraft = scenario.equipment.aircraft(strategy.aircraft).unwrap();
            for pass in &strategy.passes {
                if pass.pattern.kind() != PatternKind::Strips || pass.attitudes.len() != 1 {
                    continue;
                }
                let Ok(plan) = plan_pass(pass, aircraft, &outline, &scenario.conditions) else { continue };
                let parts = pass_region(pass, aircraft, &outline, &scenario.conditions).unwrap();
                let line = |ring: &Vec<DVec2>| ring.iter().map(|p| (p.x, p.y)).collect::<LineString>();
                let polygons: Vec<Polygon> = parts
                    .iter()
                    .map(|part| Polygon::new(line(&part.outline_m), part.holes_m.iter().map(line).collect()))
                    .collect();
                let area_m2: f64 = polygons.iter().map(Area::unsigned_area).sum();
                assert!(area_m2 > 0.0, "seed {seed}");
                for pose in &plan.stations.poses {
                    let at = Point::new(pose.position_m.x, pose.position_m.y);
                    let off_m = polygons
                        .iter()
                        .map(|polygon| geo::Distance::distance(&Euclidean, &at, polygon))
                        .fold(f64::INFINITY, f64::min);
                    // A gap no longer than an air base is closed: its middle is half of one away.
                    assert!(off_m <= plan.layout.air_base_m / 2.0 + 1e-6, "seed {seed}: {off_m} m off");
                    seen += 1;
                }
                let shut = outline.keep_outs.iter().map(|keep_out| line(&keep_out.outline_m));
                for ring in shut.map(|line| Polygon::new(line, Vec::new())) {
                    // What lies on its edge lies a rounding to either side of it.
                    let is_inside = |pose: &&Pose| {
                        let at = Point::new(pose.position_m.x, pose.position_m.y);
                        let off_m = geo::Distance::distance(&Euclidean, &at, ring.exterior());
                        ring.contains(&at) && off_m > 1e-6
                    };
                    let inside = plan.stations.poses.iter().filter(is_inside);
                    assert_eq!(inside.count(), 0, "seed {seed}");
                }
            }
        }
    }
    assert!(seen > 2_000, "{seen} exposures");
}
