//! What the project hands out opens.

use crate::sample;
use obliquity_exchange::{
    comparison_json, parse_equipment, parse_scenario, read_boundaries, read_scenario, set_up_card,
    site_from_boundary, write_scenario,
};
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
    assert!(scenarios.len() >= 4, "{scenarios:?}");
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
        assert!(outcomes.iter().all(|outcome| set_up_card(&scenario, outcome).contains("strip spacing")));
    }
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
