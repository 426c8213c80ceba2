//! What the project hands out opens.

use crate::sample;
use obliquity_exchange::{
    comparison_json, parse_equipment, parse_scenario, read_boundaries, read_scenario, set_up_card,
    site_from_boundary, write_scenario,
};
use obliquity_planning::{Outcome, Scenario, SurfaceClass};
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

/// Every scenario of the examples, and the demo.
pub(crate) fn scenarios() -> Vec<(PathBuf, Scenario)> {
    let mut paths = files("examples", &["ron"]);
    paths.extend(files("assets", &["ron"]).into_iter().filter(|path| path.ends_with("demo.ron")));
    assert!(paths.len() >= 8, "{paths:?}");
    let read = |path: PathBuf| {
        let scenario = read_scenario(&path).unwrap_or_else(|error| panic!("{error}"));
        (path, scenario)
    };
    paths.into_iter().map(read).collect()
}

#[test]
fn every_scenario_opens_is_evaluated_and_survives_a_round_trip() {
    for (path, scenario) in scenarios() {
        assert_eq!(
            parse_scenario(&write_scenario(&scenario), "again").unwrap(),
            scenario,
            "{}",
            path.display()
        );
        let outcomes = sample::quick_outcomes(&scenario);
        let report = comparison_json(&scenario, &outcomes);
        assert_eq!(report["strategies"].as_array().unwrap().len(), scenario.strategies.len());
        for outcome in &outcomes {
            let says = if outcome.feasible() { "air base" } else { "CANNOT BE FLOWN" };
            assert!(set_up_card(&scenario, outcome).contains(says), "{}", outcome.name);
        }
    }
}

fn compared(file: &str) -> Vec<Outcome> {
    let path = files("examples", &["ron"]).into_iter().find(|path| path.ends_with(file)).unwrap();
    let scenario = read_scenario(&path).unwrap_or_else(|error| panic!("{error}"));
    let outcomes = sample::sampled_outcomes(&scenario);
    assert!(outcomes.iter().filter(|outcome| outcome.feasible()).count() >= 3);
    outcomes
}

fn all_feasible(outcomes: &[Outcome]) {
    for outcome in outcomes {
        assert!(outcome.feasible(), "{}: {:?}", outcome.name, outcome.reasons);
    }
}

/// Derived: what the example's note says of walls: rows in front of them give the finest GSD and cover them, a nadir
/// block does not; rings stand between.
#[test]
fn the_tower_teaches_what_its_note_says() {
    let outcomes = compared("tower_facades.ron");
    all_feasible(&outcomes);
    let wall = |k: usize| outcomes[k].coverage().wall.unwrap();
    let gsd = |k: usize| outcomes[k].gsd(SurfaceClass::Wall).unwrap().p50_m;
    assert!(wall(0) < 0.1 && wall(3) > 0.8);
    assert!(gsd(3) < gsd(2) && gsd(2) < gsd(1));
    assert!(outcomes[3].load.as_ref().unwrap().image_count > outcomes[2].load.as_ref().unwrap().image_count);
}

/// Derived: what the example's note says: the corridor flies less than the block, and following the ground holds the GSD
/// of 2 cm that one height does not.
#[test]
fn the_road_teaches_what_its_note_says() {
    let outcomes = compared("road_corridor.ron");
    all_feasible(&outcomes);
    assert!(
        outcomes[1].timing.as_ref().unwrap().time.flight_s
            < outcomes[0].timing.as_ref().unwrap().time.flight_s
    );
    let p95_cm = |k: usize| outcomes[k].gsd(SurfaceClass::Ground).unwrap().p95_m * 100.0;
    assert!(p95_cm(1) > 2.2 && p95_cm(2) < 2.2, "{} {}", p95_cm(1), p95_cm(2));
}

/// Derived: what the example's note says: the soffit is covered by nothing that does not look up, whatever else the
/// strategies have, and by more than 80 % from below; the aircraft that cannot look up is refused for it.
#[test]
fn the_bridge_teaches_what_its_note_says() {
    let outcomes = compared("bridge.ron");
    let (refused, flown) = outcomes.split_last().unwrap();
    all_feasible(flown);
    for outcome in flown {
        let looks_up = outcome.plans().any(|plan| {
            plan.stations.poses.iter().any(|pose| pose.tilt_rad > std::f64::consts::FRAC_PI_2 + 1e-9)
        });
        let covered = outcome.coverage().underside.unwrap();
        assert_eq!(looks_up, outcome.name == "Underside sections", "{}", outcome.name);
        if looks_up {
            assert!(covered > 0.8 && outcome.meets() == Some(true), "{covered}");
        } else {
            assert_eq!(covered, 0.0, "{}", outcome.name);
        }
    }
    assert_eq!(refused.reasons, ["pass 2: the gimbal stops at 95°, this pass needs 135°"]);
    assert_eq!(refused.coverage().underside, None, "no figure either");
    assert!(outcomes[3].cautions.iter().any(|caution| caution.id == "satellite-below-deck"));
}

/// Derived: what the example's note says: following the ground narrows the spread of its GSD and meets 2 cm, one height
/// does not; a tilted camera covers ground (the faces) that a level one does not, and takes longest.
#[test]
fn the_quarry_teaches_what_its_note_says() {
    let outcomes = compared("quarry.ron");
    all_feasible(&outcomes);
    let gsd = |k: usize| outcomes[k].gsd(SurfaceClass::Ground).unwrap();
    let spread = |k: usize| gsd(k).p95_m - gsd(k).p5_m;
    assert!(spread(1) < 0.75 * spread(0), "{} {}", spread(1), spread(0));
    assert!(gsd(0).p95_m > 0.02 && gsd(1).p95_m < 0.02 && gsd(2).p95_m < 0.02);
    let ground = |k: usize| outcomes[k].coverage().ground.unwrap();
    assert!(ground(2) > 0.995 && ground(0) < 0.975 && ground(1) < 0.975, "{:?}", [0, 1, 2].map(ground));
    let minutes = |k: usize| outcomes[k].timing.as_ref().unwrap().time.flight_s;
    assert!(minutes(0) < minutes(1) && minutes(1) < minutes(2));
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

/// Derived: what the example's note says: everything it leaves out has its default, and the file fits on one screen.
#[test]
fn the_shortest_file_holds_nothing_but_what_has_no_default() {
    let path = files("examples", &["ron"]).into_iter().find(|path| path.ends_with("shortest.ron")).unwrap();
    assert!(std::fs::read_to_string(&path).unwrap().lines().count() <= 40);
    let scenario = read_scenario(&path).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(scenario.conditions, obliquity_planning::Conditions::default());
    assert_eq!(scenario.requirement, obliquity_planning::Requirement::default());
    let outcomes = sample::sampled_outcomes(&scenario);
    all_feasible(&outcomes);
    assert!(
        outcomes[1].timing.as_ref().unwrap().time.flight_s
            < outcomes[0].timing.as_ref().unwrap().time.flight_s
    );
    assert!(outcomes.iter().all(|outcome| outcome.coverage().ground.is_some_and(|covered| covered > 0.9)));
}
