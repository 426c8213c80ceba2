//! The ways to begin, and what is assumed where nothing stands.

use crate::opened::{click, press, shows, type_number, yard};
use egui::Key;
use egui_kittest::kittest::Queryable;
use obliquity::app::Screen;
use obliquity::first_use::{Buildings, PRESETS, Rectangle, rectangle_site};
use obliquity_planning::{Scenario, polygon};
use std::sync::Arc;

#[test]
fn a_rectangle_begins_a_site_and_buildings_are_offered() {
    let mut window = yard();
    press(&mut window, Key::N);
    assert_eq!(window.state().screen_shown(), Screen::BEGIN);
    assert!(shows(&window, "Area: 10 ha"), "400 m by 250 m");
    type_number(&mut window, "Length of the rectangle", "1000 ft");
    type_number(&mut window, "Width of the rectangle", "200");
    // Derived: 304.8 m × 200 m = 6.096 ha.
    assert!(shows(&window, "Area: 6.1 ha"));
    click(&mut window, "Begin with this rectangle");
    assert!(shows(&window, "Nothing is modelled on the site: assume buildings?"));
    click(&mut window, "Sheds and workshops");
    type_number(&mut window, "Height of the buildings", "11");
    click(&mut window, "Assume these buildings");
    let site = Arc::clone(&window.state().document().scenario().site);
    let building = site.typical_building.unwrap();
    assert_eq!((building.width_m, building.height_m), (45.0, 11.0));
    assert!((polygon::area_m2(&site.boundary_m) - 60_960.0).abs() < 1.0, "the screen rounds to whole metres");
    assert_eq!(window.state().screen_shown(), Screen::BOARD);
    click(&mut window, "Show all cautions");
    assert!(shows(&window, "rest on assumed typical buildings"), "a caution says so");
    press(&mut window, Key::Z);
    assert_eq!(window.state().document().scenario().site.typical_building, None);
    press(&mut window, Key::Z);
    assert_eq!(window.state().document().scenario().site.name, "New site");
}

#[test]
fn nothing_may_stand_there() {
    let mut window = yard();
    press(&mut window, Key::N);
    click(&mut window, "Begin with this rectangle");
    click(&mut window, "Nothing stands there");
    assert_eq!(window.state().document().scenario().site.typical_building, None);
    assert!(!shows(&window, "roofs and walls cannot be judged"), "it was answered");
}

#[test]
fn the_demo_is_one_click_away() {
    let mut window = yard();
    press(&mut window, Key::N);
    click(&mut window, "Open the demo");
    assert_eq!(window.state().screen_shown(), Screen::BOARD);
    assert_eq!(window.state().document().scenario().name, "Harbour grain terminal");
}

#[test]
fn a_boundary_begins_a_site() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("pit.geojson");
    let ring = "[[-98.7,-31.4],[-98.698,-31.4],[-98.698,-31.398],[-98.7,-31.398],[-98.7,-31.4]]";
    let feature = format!(r#"{{"type":"Polygon","coordinates":[{ring}]}}"#);
    std::fs::write(&path, feature).unwrap();
    let mut window = yard();
    press(&mut window, Key::N);
    click(&mut window, "Type its path…");
    window.get_by_label("Path of the GeoJSON, KML or KMZ file").type_text(path.to_str().unwrap());
    window.run_ok();
    click(&mut window, "Import");
    assert_eq!(window.state().screen_shown(), Screen::BOARD);
    assert!(window.state().document().scenario().site.origin.is_some());
    assert!(shows(&window, "assume buildings?"));
}

#[test]
fn every_preset_and_every_rectangle_can_be_planned_on() {
    let blank = obliquity::files::blank(&obliquity::files::demo().unwrap());
    for (length_m, width_m) in [(10.0, 10.0), (400.0, 250.0), (5_000.0, 5_000.0)] {
        let bare = rectangle_site(&blank.site, Rectangle { length_m, width_m });
        let question = Buildings::on(&bare);
        for building in std::iter::once(None).chain(PRESETS.map(|(_, preset)| Some(question.fitted(preset))))
        {
            let site = Arc::new(obliquity_planning::Site { typical_building: building, ..bare.clone() });
            let scenario = Scenario { site, ..blank.clone() };
            assert_eq!(scenario.faults(), Vec::new(), "{length_m} by {width_m} with {building:?}");
        }
    }
}
