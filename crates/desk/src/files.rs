//! The program's way to its files.

use obliquity_exchange::{
    BoundaryChoice, FileError, parse_scenario, read_boundaries, read_scenario, site_from_boundary,
};
use obliquity_planning::{Above, Distance, Id, Scenario, Site, Template};
use std::path::Path;
use std::sync::Arc;

const DEMO: &str = include_str!("../../../assets/demo.ron");

/// The scenario that the program opens with.
///
/// # Errors
/// Never for the scenario that is built in (a test reads it).
pub fn demo() -> Result<Scenario, FileError> {
    parse_scenario(DEMO, "the built-in scenario")
}

/// A scenario to begin with: an empty square site, the equipment of the demo and a strategy from each template.
pub fn blank(demo: &Scenario) -> Scenario {
    let side_m = 200.0;
    let corner = |x: f64, y: f64| glam::DVec2::new(x, y);
    let site = Site {
        name: "New site".to_owned(),
        origin: None,
        boundary_m: vec![corner(0.0, 0.0), corner(side_m, 0.0), corner(side_m, side_m), corner(0.0, side_m)],
        take_off_m: corner(0.0, 0.0),
        structures: Vec::new(),
        typical_building: None,
        keep_outs: Vec::new(),
        sample_spacing_m: None,
        terrain: obliquity_planning::Terrain::default(),
    };
    on_site(demo, "New scenario", site)
}

/// A scenario on a site: the equipment of the demo, a strategy from each template, the usual requirement.
pub fn on_site(demo: &Scenario, name: &str, site: Site) -> Scenario {
    let aircraft = demo.equipment.aircraft.first().map_or(Id(1), |aircraft| aircraft.id);
    let distance = Distance::Gsd { cm: 2.0, above: Above::MeanGround };
    let mut scenario = Scenario {
        name: name.to_owned(),
        note: String::new(),
        site: Arc::new(site),
        strategies: Vec::new(),
        reference: None,
        requirement: obliquity_planning::Requirement::default(),
        ..demo.clone()
    };
    for template in Template::ALL {
        let first_id = scenario.free_id();
        scenario.strategies.push(template.strategy(first_id, aircraft, distance));
    }
    scenario
}

/// A scenario from a file: as it stands there, or on a site's boundary (GeoJSON, KML, KMZ) with a strategy from each
/// template. Also what was assumed on the way, for people.
///
/// # Errors
/// What is wrong with the file, where, and the mend.
pub fn read(path: &Path) -> Result<(Scenario, Vec<String>), FileError> {
    if !is_boundary(path) {
        return Ok((read_scenario(path)?, Vec::new()));
    }
    let choices = read_boundaries(path)?;
    // A file without any polygon is an error, so there is a first one.
    let Some(first) = choices.first() else { return Ok((blank(&demo()?), Vec::new())) };
    let mut notes = first.notes.clone();
    if choices.len() > 1 {
        let others: Vec<&str> = choices[1..].iter().map(|choice| choice.name.as_str()).collect();
        notes.push(format!(
            "{:?} is taken, the first of {}; left out: {}",
            first.name,
            choices.len(),
            others.join(", ")
        ));
    }
    notes.push("nothing is modelled on this site: only its ground is predicted".to_owned());
    Ok((on_site(&demo()?, &first.name, site_from_boundary(first)), notes))
}

/// Whether a file's name says that it holds a boundary.
pub fn is_boundary(path: &Path) -> bool {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_lowercase());
    ending.is_some_and(|ending| ["geojson", "json", "kml", "kmz"].contains(&ending.as_str()))
}

/// The present site with another boundary in its place. What stood on the old ground is left behind: it lay in another
/// frame.
pub fn with_boundary(present: &Site, choice: &BoundaryChoice) -> Site {
    Site { typical_building: present.typical_building, ..site_from_boundary(choice) }
}

/// The name of a file without its folders, for titles.
pub fn short_name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}
