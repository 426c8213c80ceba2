//! The program's way to its files.

use obliquity_exchange::{BoundaryChoice, FileError, parse_scenario, site_from_boundary};
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
    let aircraft = demo.equipment.aircraft.first().map_or(Id(1), |aircraft| aircraft.id);
    let distance = Distance::Gsd { cm: 2.0, above: Above::MeanGround };
    let mut scenario = Scenario {
        name: "New scenario".to_owned(),
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

/// The present site with another boundary in its place. What stood on the old ground is left behind: it lay in another
/// frame.
pub fn with_boundary(present: &Site, choice: &BoundaryChoice) -> Site {
    Site { typical_building: present.typical_building, ..site_from_boundary(choice) }
}

/// The name of a file without its folders, for titles.
pub fn short_name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |name| name.to_string_lossy().into_owned())
}
