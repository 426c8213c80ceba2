//! Footprints from a file: a preview says what becomes what, and all of it is one step.

use crate::made_up;
use crate::opened::{Window, click, press, press_shifted, shows, type_number};
use crate::window::{settle, shared};
use egui::Key;
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::app::App;
use obliquity::document::Document;
use obliquity::theme::Mode;
use obliquity_planning::{GeoPoint, Site, StructureKind};
use std::path::{Path, PathBuf};
use std::sync::Arc;

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/exchange/footprints").join(name)
}

/// A window on the yard, where it lies somewhere or nowhere.
fn yard_at(origin: Option<GeoPoint>) -> Window {
    let mut scenario = made_up::scenario();
    scenario.site = Arc::new(Site { origin, ..(*scenario.site).clone() });
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).with_max_steps(40).build_eframe(move |creation| {
            shared(App::new(&creation.egui_ctx, Document::new(scenario, None), Mode::Light)).at_once()
        });
    settle(&mut window);
    window.run_ok();
    window
}

const HERE: GeoPoint = GeoPoint { latitude_deg: 51.0, longitude_deg: 7.0 };

fn import(window: &mut Window, path: &Path) {
    press_shifted(window, Key::B);
    let field =
        window.query_all_by_label_contains("Path of the").find(|node| node.accesskit_node().is_text_input());
    field.unwrap().type_text(path.to_str().unwrap());
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
}

fn site(window: &Window) -> &Site {
    &window.state().document().scenario().site
}

#[test]
fn polygons_beside_the_boundary_become_buildings_in_one_step() {
    let mut window = yard_at(Some(HERE));
    import(&mut window, &sample("barns.zip"));
    assert!(shows(&window, "What of barns.zip becomes what?"));
    assert!(shows(&window, "Height from: HEIGHT"), "the attribute is guessed and shown");
    assert!(shows(&window, "4 of 5 polygons become 4 buildings, 1 of them of the height given here"));
    assert!(
        shows(&window, "Far shed: 10 m by 10 m") && shows(&window, "outside"),
        "what is far is there, not chosen"
    );
    assert!(shows(&window, "Barn: ") && shows(&window, ", 7.5 m high"), "as it is read, not rounded");
    type_number(&mut window, "Height of those without one", "6");
    let label = "Twins: 20 m by 20 m, 9 m high";
    window.get_all_by_label(label).last().unwrap().click();
    window.run_ok();
    assert!(shows(&window, "3 of 5 polygons become 3 buildings"));
    click(&mut window, "Import");
    let built: Vec<(&str, f64)> = site(&window)
        .structures
        .iter()
        .skip(1)
        .map(|structure| match structure.kind {
            StructureKind::Extrusion { height_m } => (structure.name.as_str(), height_m),
            StructureKind::Deck { .. } => panic!("no deck"),
        })
        .collect();
    assert_eq!(built, [("Barn", 7.5), ("Court", 6.0), ("Twins", 9.0)]);
    press(&mut window, Key::Z);
    assert_eq!(site(&window).structures.len(), 1, "one step");
}

#[test]
fn one_height_can_be_for_all() {
    let mut window = yard_at(Some(HERE));
    import(&mut window, &sample("barns.shp"));
    click(&mut window, "Height from: HEIGHT");
    click(&mut window, "one height for all");
    assert!(shows(&window, "4 of 5 polygons become 4 buildings, 4 of them of the height given here"));
    type_number(&mut window, "Height of those without one", "11");
    click(&mut window, "Import");
    let all_11 = |structure: &obliquity_planning::Structure| {
        structure.kind == StructureKind::Extrusion { height_m: 11.0 }
    };
    assert!(site(&window).structures.iter().skip(1).all(all_11));
}

#[test]
fn points_become_control_points_or_the_take_off() {
    for (choice, control_points) in [("control points", 2), ("the take-off", 0), ("nothing", 0)] {
        let mut window = yard_at(Some(HERE));
        let before = site(&window).take_off_m;
        import(&mut window, &sample("marks.shp"));
        click(&mut window, choice);
        click(&mut window, "Import");
        assert_eq!(site(&window).control_points.len(), control_points, "{choice}");
        let moved = site(&window).take_off_m != before;
        assert_eq!(moved, choice == "the take-off");
    }
}

#[test]
fn a_site_that_is_nowhere_is_told_what_to_do() {
    let mut window = yard_at(None);
    import(&mut window, &sample("barns.shp"));
    assert!(shows(&window, "but the site is nowhere"));
    window.key_press(Key::Escape);
    window.run_ok();
    assert!(!shows(&window, "becomes what?"));
}
