//! What the project hands out opens.

use crate::sample;
use glam::DVec2;
use obliquity_exchange::{
    comparison_json, parse_equipment, parse_scenario, read_boundaries, read_scenario, set_up_card,
    site_from_boundary, write_scenario,
};
use obliquity_planning::{Obstacle, Outcome, SiteOutline, SurfaceClass, polygon};
use std::path::{Path, PathBuf};

fn files(folder: &str, extensions: &[&str]) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(folder);
    let is_wanted =
        |path: &PathBuf| path.extension().is_some_and(|ext| extensions.iter().any(|wanted| ext == *wanted));
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).filter(is_wanted).collect();
    files.sort();
    files
}

#[test]
fn every_scenario_opens_is_evaluated_and_survives_a_round_trip() {
    let mut scenarios = files("examples", &["ron"]);
    scenarios.extend(files("assets", &["ron"]).into_iter().filter(|path| path.ends_with("demo.ron")));
    assert!(scenarios.len() >= 6, "{scenarios:?}");
    for path in scenarios {
        let scenario = read_scenario(&path).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(
            parse_scenario(&write_scenario(&scenario), "again").unwrap(),
            scenario,
            "{}",
            path.display()
        );
        let outcomes = sample::quick_outcomes(&scenario);
        let report = comparison_json(&scenario, &outcomes);
        assert_eq!(report["strategies"].as_array().unwrap().len(), scenario.strategies.len());
        assert!(outcomes.iter().all(|outcome| set_up_card(&scenario, outcome).contains("air base")));
    }
}

/// Derived: sampled every half metre, no segment of any flight of any example lies inside a structure, below the ground or
/// inside a keep-out.
#[test]
fn no_example_flies_into_anything() {
    let mut scenarios = files("examples", &["ron"]);
    scenarios.extend(files("assets", &["ron"]).into_iter().filter(|path| path.ends_with("demo.ron")));
    for path in scenarios {
        let scenario = read_scenario(&path).unwrap_or_else(|error| panic!("{error}"));
        let outline = SiteOutline::new(&scenario.site).unwrap();
        for outcome in sample::quick_outcomes(&scenario).iter().filter(|outcome| outcome.feasible()) {
            let pieces =
                outcome.flight.legs.iter().flat_map(|flown| flown.leg.pieces_m().collect::<Vec<_>>());
            for (a, b) in pieces {
                let steps = (a.distance(b) * 2.0).ceil().max(1.0);
                for k in 0..=steps as u32 {
                    let at = a.lerp(b, f64::from(k) / steps);
                    let place = format!("{} {} at {at}", path.display(), outcome.name);
                    let inside = |o: &&Obstacle| {
                        at.z < o.top_z_m && at.z > o.bottom_z_m && polygon::contains(&o.ring_m, at.truncate())
                    };
                    assert_eq!(outline.obstacles.iter().find(inside), None, "{place}");
                    // Reason for 1e-9: take-off and landing are on the ground.
                    assert!(at.z >= outline.terrain.height_m(at.truncate()) - 1e-9, "{place}");
                    let shut = outline.keep_outs.iter().any(|k| well_inside(&k.outline_m, at.truncate()));
                    assert!(!shut, "{place}");
                }
            }
        }
    }
}

/// Inside by more than a centimetre, by which a keep-out's corners and sides may be touched.
fn well_inside(ring: &[DVec2], at: DVec2) -> bool {
    let around = [DVec2::X, DVec2::Y, -DVec2::X, -DVec2::Y].map(|aside| at + aside * 0.02);
    polygon::contains(ring, at) && around.iter().all(|p| polygon::contains(ring, *p))
}

fn compared(file: &str) -> Vec<Outcome> {
    let path = files("examples", &["ron"]).into_iter().find(|path| path.ends_with(file)).unwrap();
    let scenario = read_scenario(&path).unwrap_or_else(|error| panic!("{error}"));
    let outcomes = sample::sampled_outcomes(&scenario);
    for outcome in &outcomes {
        assert!(outcome.feasible(), "{}: {:?}", outcome.name, outcome.reasons);
    }
    assert!(outcomes.len() >= 3);
    outcomes
}

/// Derived: what the example's note says of walls: rows in front of them give the finest GSD and cover them, a nadir
/// block does not; rings stand between.
#[test]
fn the_tower_teaches_what_its_note_says() {
    let outcomes = compared("tower_facades.ron");
    let wall = |k: usize| outcomes[k].coverage().wall.unwrap();
    let gsd = |k: usize| outcomes[k].gsd(SurfaceClass::Wall).unwrap().p50_m;
    assert!(wall(0) < 0.1 && wall(3) > 0.8);
    assert!(gsd(3) < gsd(2) && gsd(2) < gsd(1));
    assert!(outcomes[3].image_count > outcomes[2].image_count);
}

/// Derived: what the example's note says: the corridor flies less than the block, and following the ground holds the GSD
/// of 2 cm that one height does not.
#[test]
fn the_road_teaches_what_its_note_says() {
    let outcomes = compared("road_corridor.ron");
    assert!(outcomes[1].time.flight_s < outcomes[0].time.flight_s);
    let p95_cm = |k: usize| outcomes[k].gsd(SurfaceClass::Ground).unwrap().p95_m * 100.0;
    assert!(p95_cm(1) > 2.2 && p95_cm(2) < 2.2, "{} {}", p95_cm(1), p95_cm(2));
}

#[test]
fn the_catalogue_opens_and_its_faults_have_places() {
    let path = files("assets", &["ron"]).into_iter().find(|path| path.ends_with("equipment.ron")).unwrap();
    let text = std::fs::read_to_string(path).unwrap();
    let equipment = parse_equipment(&text, "equipment.ron").unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(equipment.aircraft.len(), 4);
    let bad = write_equipment_with_no_battery(&text);
    let told = parse_equipment(&bad, "equipment.ron").unwrap_err().to_string();
    assert!(told.starts_with("equipment.ron:") && told.contains("endurance must be at least 1"), "{told}");
}

fn write_equipment_with_no_battery(text: &str) -> String {
    let start = text.find("endurance_min: ").unwrap() + "endurance_min: ".len();
    let end = start + text[start..].find(',').unwrap();
    format!("{}0.0{}", &text[..start], &text[end..])
}

#[test]
fn every_boundary_opens_as_a_site() {
    let boundaries = files("examples", &["geojson", "kml", "kmz"]);
    assert!(boundaries.len() >= 2, "{boundaries:?}");
    for path in boundaries {
        let choices = read_boundaries(&path).unwrap_or_else(|error| panic!("{error}"));
        assert!(choices.iter().all(|choice| site_from_boundary(choice).boundary_m.len() >= 3));
    }
}
