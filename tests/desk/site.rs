//! Structures, ground and samples on their screen; terrain from files.

use crate::made_up;
use crate::opened::{Window, click, press, press_shifted, shows, type_number, yard};
use crate::window::shared;
use egui::Key;
use egui_kittest::kittest::{NodeT, Queryable};
use obliquity::amendment::{Amendment, Part};
use obliquity::app::{Screen, drop_text};
use obliquity::document::{Document, Edit};
use obliquity::strategies::Change;
use obliquity_planning::{GeoPoint, Id, Site, SiteTemplate, Structure, StructureKind, Terrain};
use std::path::Path;
use std::sync::Arc;

fn site(window: &Window) -> Arc<Site> {
    Arc::clone(&window.state().document().scenario().site)
}

fn structure(window: &Window, name: &str) -> Structure {
    site(window).structures.iter().find(|structure| structure.name == name).unwrap().clone()
}

fn undo_label(window: &Window) -> String {
    window.state().document().undo_label().unwrap_or_default().to_owned()
}

/// Chooses an entry of a list that opens.
fn choose(window: &mut Window, list: &str, entry: &str) {
    window.get_by_label_contains(list).click();
    window.run_ok();
    click(window, entry);
}

/// Derived: a hundredth of a degree of latitude is some 1,112 m; the light needs a place, and says where it is given.
#[test]
fn the_place_on_earth_is_typed_changed_removed_and_undone() {
    let mut window = yard();
    let origin = |window: &Window| window.state().document().scenario().site.origin;
    assert_eq!(origin(&window), None);
    press(&mut window, Key::K);
    for word in ["origin", "latitude", "place on earth"] {
        window.get_by_label("Find a command").type_text(word);
        window.run_ok();
        assert!(shows(&window, "Place on earth…"), "{word}");
        press(&mut window, Key::A);
    }
    window.get_by_label("Find a command").type_text("latitude");
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    assert_eq!(window.state().screen_shown(), Screen::SITE);
    type_number(&mut window, "Latitude of the origin", "51,25");
    type_number(&mut window, "Longitude of the origin", "-7.5");
    assert_eq!(origin(&window), None, "it is not half somewhere");
    click(&mut window, "Put the site there");
    let there = GeoPoint { latitude_deg: 51.25, longitude_deg: -7.5 };
    assert_eq!(origin(&window), Some(there));
    type_number(&mut window, "Latitude of the origin", "51.26");
    assert_eq!(origin(&window), Some(GeoPoint { latitude_deg: 51.26, ..there }));
    press(&mut window, Key::Z);
    assert_eq!(origin(&window), Some(there));
    click(&mut window, "Remove the place on earth");
    assert_eq!(origin(&window), None);
    press(&mut window, Key::Z);
    assert_eq!(origin(&window), Some(there));
    assert_eq!(window.state().document().undo_label(), Some("the site's place on earth"));
}

#[test]
fn a_structure_is_added_moved_and_made_a_deck() {
    let mut window = yard();
    press(&mut window, Key::J);
    assert_eq!(window.state().screen_shown(), Screen::SITE);
    type_number(&mut window, "Middle, east of the new structure", "230");
    type_number(&mut window, "Length of the new structure", "30");
    type_number(&mut window, "Height of the new structure", "10");
    click(&mut window, "Add this structure");
    assert_eq!(undo_label(&window), "add Structure 1");
    let added = structure(&window, "Structure 1");
    // Derived: 12 m across a direction of north, so from 224 to 236 m east; 30 m along it about the middle at 100 m.
    assert_eq!(added.footprint_m[0], glam::DVec2::new(224.0, 85.0));
    assert_eq!(added.kind, StructureKind::Extrusion { height_m: 10.0 });
    choose(&mut window, "Kind of Structure 1", "deck");
    assert_eq!(undo_label(&window), "kind of Structure 1");
    type_number(&mut window, "Soffit of Structure 1", "6");
    click(&mut window, "Add a pier to Structure 1");
    let StructureKind::Deck { soffit_m, top_m, piers } = structure(&window, "Structure 1").kind else {
        panic!("a deck")
    };
    assert_eq!((soffit_m, top_m, piers.len()), (6.0, 10.0, 1));
    type_number(&mut window, "East of corner 1 of Structure 1", "220");
    click(&mut window, "Add a corner after corner 1 of Structure 1");
    assert_eq!(structure(&window, "Structure 1").footprint_m.len(), 5);
    window.get_by_label("Name of Structure 1").focus();
    window.run_ok();
    press(&mut window, Key::A);
    window.get_by_label("Name of Structure 1").type_text("Canopy");
    window.run_ok();
    window.key_press(Key::Enter);
    window.run_ok();
    assert_eq!(undo_label(&window), "name of Structure 1");
    click(&mut window, "Remove Canopy");
    assert_eq!(site(&window).structures.len(), 1);
    for _ in 0..8 {
        press(&mut window, Key::Z);
    }
    assert!(!window.state().document().is_changed(), "eight steps: {}", undo_label(&window));
}

#[test]
fn a_structure_that_is_flown_at_stays() {
    let mut document = Document::new(made_up::scenario(), None);
    document.edit(&Edit::Strategy(Change::AddOnSite { template: SiteTemplate::FacadeWrap })).unwrap();
    let mut without = (*document.scenario().site).clone();
    without.structures.clear();
    let edit = Edit::Amend(Amendment { what: "remove Shed".into(), part: Part::Site(Arc::new(without)) });
    let error = document.edit(&edit).unwrap_err().to_string();
    assert_eq!(error, "Shed is what Facade wrap flies at; change or remove those passes before it goes");
    let mut window = yard();
    press(&mut window, Key::Num6);
    press(&mut window, Key::J);
    assert!(window.get_by_label("Remove Shed").accesskit_node().is_disabled(), "the facade is flown at it");
}

#[test]
fn an_unsound_site_is_refused() {
    let mut document = Document::new(made_up::scenario(), None);
    let mut crossed = (*document.scenario().site).clone();
    crossed.structures[0].footprint_m.swap(1, 2);
    let edit = Edit::Amend(Amendment { what: "corners".into(), part: Part::Site(Arc::new(crossed)) });
    assert!(document.edit(&edit).is_err(), "its sides cross");
    assert_eq!(**document.scenario(), made_up::scenario());
}

#[test]
fn ground_and_samples_are_set() {
    let mut window = yard();
    press(&mut window, Key::J);
    type_number(&mut window, "Rise to the east of the ground", "4");
    assert_eq!(undo_label(&window), "Rise to the east of the ground");
    let Terrain::Plane { slope_east, .. } = site(&window).terrain else { panic!("a plane") };
    assert!((slope_east - 0.04).abs() < 1e-12, "rounding only: {slope_east}");
    assert!(shows(&window, "four times as many samples"));
    type_number(&mut window, "Sample spacing of the site", "1.5");
    assert_eq!(site(&window).sample_spacing_m, Some(1.5));
    click(&mut window, "Set the sample spacing of the site");
    assert_eq!(site(&window).sample_spacing_m, None);
}

/// An Esri ASCII grid over the made-up yard, 20 m apart, rising to the east by 1 m a column.
fn grid_text() -> String {
    let row = (0..24).map(|column| format!("{}", 50 + column)).collect::<Vec<_>>().join(" ");
    let rows = vec![row; 20].join("\n");
    format!("ncols 24\nnrows 20\nxllcenter -80\nyllcenter -90\ncellsize 20\nnodata_value -9999\n{rows}\n")
}

fn import(window: &mut Window, path: &Path) {
    press_shifted(window, Key::E);
    window.get_by_label("Path of the Esri ASCII grid or GeoTIFF").type_text(path.to_str().unwrap());
    window.run_ok();
    click(window, "Import");
}

#[test]
fn terrain_is_imported_and_taken_away() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.asc");
    std::fs::write(&path, grid_text()).unwrap();
    let mut window = yard();
    import(&mut window, &path);
    assert!(shows(&window, "Which coordinates is the terrain in?"), "an ASCII grid does not say it");
    click(&mut window, "The site's own metres");
    click(&mut window, "Import");
    assert!(shows(&window, "The terrain was imported"));
    // Derived: the yard and a quarter of its sides, at least 50 m, beyond: 450 m by 300 m, in steps of at most 20 m.
    assert!(shows(
        &window,
        "A grid of 24 by 17 nodes (408), 19.6 m by 18.8 m apart; lowest 50.2 m, highest 72.8 m."
    ));
    click(&mut window, "Close");
    assert_eq!(undo_label(&window), "terrain of yard.asc");
    let before = site(&window);
    // Derived: (100 + 80) m east of the first column at 50 m, 20 m a metre.
    assert!(
        (before.terrain.height_m(glam::DVec2::new(100.0, 50.0)) - 59.0).abs() < 1e-3,
        "whole millimetres"
    );
    press(&mut window, Key::J);
    assert!(shows(&window, "A grid of"));
    click(&mut window, "Remove terrain");
    assert_eq!(undo_label(&window), "remove terrain");
    // Derived: the middle of the yard lies at 150 m east: 50 + 230 / 20.
    assert_eq!(
        site(&window).terrain,
        Terrain::Plane { at_origin_m: 61.5, slope_east: 0.0, slope_north: 0.0 }
    );
    press(&mut window, Key::Z);
    assert!(Arc::ptr_eq(&site(&window), &before));
    press(&mut window, Key::Z);
    assert!(!window.state().document().is_changed());
}

/// Memory: 9.1° east lies in zone 32 of the universal grid, which begins at 6°.
#[test]
fn the_zone_of_the_site_is_proposed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("yard.asc");
    std::fs::write(&path, grid_text()).unwrap();
    let mut scenario = made_up::scenario();
    let origin = obliquity_planning::GeoPoint { latitude_deg: 48.7, longitude_deg: 9.1 };
    Arc::make_mut(&mut scenario.site).origin = Some(origin);
    let mut window = egui_kittest::Harness::builder()
        .with_size([1280.0, 1100.0])
        .with_max_steps(40)
        .build_eframe(move |creation| {
            let ctx = &creation.egui_ctx;
            shared(obliquity::app::App::new(
                ctx,
                Document::new(scenario, None),
                obliquity::theme::Mode::Light,
            ))
            .at_once()
        });
    window.run_ok();
    import(&mut window, &path);
    for choice in ["UTM, north of the equator", "UTM, south of the equator"] {
        click(&mut window, choice);
        let zone = window.get_by_label("Zone of the grid").accesskit_node().numeric_value();
        assert_eq!(zone, Some(32.0), "{choice}");
    }
    window.key_press(Key::Enter);
    window.run_ok();
    assert!(shows(&window, "The terrain was not imported"), "the site lies elsewhere in that zone");
    assert!(shows(&window, "Which coordinates is the terrain in?"), "and the question is asked again");
}

/// Derived: 0.6 m is set while figures of 8 m are still shown: "now" would be wrong of either.
#[test]
fn the_spacing_that_figures_rest_on_is_now_only_while_they_are_fresh() {
    let mut app = shared(obliquity::app::App::still(Document::new(made_up::scenario(), None)));
    app.work_out();
    let mut window = egui_kittest::Harness::builder()
        .with_size([1280.0, 1100.0])
        .with_max_steps(60)
        .build_eframe(move |creation| {
            obliquity::theme::install(&creation.egui_ctx, obliquity::theme::Mode::Light);
            app
        });
    window.run_ok();
    press(&mut window, Key::J);
    assert!(shows(&window, "Now: 8 m apart"));
    type_number(&mut window, "Sample spacing of the site", "0.6");
    assert_eq!(site(&window).sample_spacing_m, Some(0.6));
    assert!(!shows(&window, "Now: 8 m apart") && shows(&window, "Updating: 8 m apart before"));
}

#[test]
fn a_broken_terrain_says_what_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("notes.asc");
    std::fs::write(&path, "these are no heights").unwrap();
    let mut window = yard();
    import(&mut window, &path);
    assert!(shows(&window, "The terrain was not imported"));
    assert!(shows(&window, "must be a GeoTIFF or an Esri ASCII grid"));
    assert!(!window.state().document().is_changed());
}

#[test]
fn a_terrain_may_be_dropped() {
    assert_eq!(
        drop_text(Path::new("/x/pit.tif")),
        "Drop to draw the plan over pit.tif, or to make its heights the ground"
    );
    assert!(drop_text(Path::new("/x/notes.txt")).contains("no terrain (.asc, .grd, .tif, .tiff)"));
}

#[test]
fn a_structure_ends_what_was_assumed() {
    let mut scenario = made_up::scenario();
    let mut bare = (*scenario.site).clone();
    bare.structures.clear();
    bare.typical_building = Some(obliquity::first_use::PRESETS[0].1);
    scenario.site = Arc::new(bare);
    let mut window = egui_kittest::Harness::builder()
        .with_size([1280.0, 1100.0])
        .with_max_steps(40)
        .build_eframe(move |creation| {
            let ctx = &creation.egui_ctx;
            shared(obliquity::app::App::new(
                ctx,
                Document::new(scenario, None),
                obliquity::theme::Mode::Light,
            ))
            .at_once()
        });
    window.run_ok();
    press(&mut window, Key::J);
    assert!(shows(&window, "typical buildings are assumed"));
    click(&mut window, "Add this structure");
    let site = site(&window);
    assert_eq!((site.typical_building, site.structures[0].id), (None, Id(1)));
}

/// Derived: the site's name and the scenario's note are changed where they stand, each as one step; an empty name is none.
#[test]
fn name_and_note_are_typed_where_they_stand() {
    let mut window = yard();
    press(&mut window, Key::J);
    let names = |window: &Window| {
        let scenario = window.state().document().scenario();
        (scenario.site.name.clone(), scenario.note.clone())
    };
    let before = names(&window);
    let mut type_over = |label: &str, text: &str| {
        window.get_by_label(label).focus();
        window.run_ok();
        press(&mut window, Key::A);
        window.get_by_label(label).type_text(text);
        window.run_ok();
        // Whoever goes elsewhere has finished typing.
        window.get_by_label("Add this structure").focus();
        window.run_ok();
        names(&window)
    };
    assert_eq!(type_over("Name of the site", "Quay four").0, "Quay four");
    assert_eq!(type_over("Name of the site", " ").0, "Quay four");
    assert_eq!(type_over("Note of the scenario", "North shed comes down in May."), {
        ("Quay four".to_owned(), "North shed comes down in May.".to_owned())
    });
    assert_eq!(undo_label(&window), "note");
    press(&mut window, Key::Z);
    press(&mut window, Key::Z);
    assert_eq!(names(&window), before);
}
