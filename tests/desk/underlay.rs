//! A picture to draw on: brought in, placed, said where it is missing, and below everything on the plan.

use crate::made_up;
use crate::opened::{Window, click, press, press_shifted, shows, type_number, yard_at};
use crate::window::shared;
use egui::{DroppedFile, Key};
use egui_kittest::kittest::{NodeT, Queryable};
use glam::DVec2;
use obliquity::app::App;
use obliquity::document::Document;
use obliquity::picture::{self, PictureSize};
use obliquity::screen::Screen;
use obliquity::theme::Mode;
use obliquity_exchange::{RasterFrame, look_at_picture, read_scenario, save_scenario};
use obliquity_planning::{NoWatch, Scenario, Underlay, UnderlayFrame};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

fn sample(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/exchange/pictures").join(name)
}

fn type_path(window: &mut Window, path: &Path) {
    let field =
        window.query_all_by_label_contains("Path of the").find(|node| node.accesskit_node().is_text_input());
    field.unwrap().type_text(path.to_str().unwrap());
    window.run_ok();
    window.key_press(Key::Enter);
    wait(window);
}

/// Steps until nothing is read any more.
fn wait(window: &mut Window) {
    let begun = Instant::now();
    window.run_ok();
    while window.state().waited_for().is_some() && begun.elapsed() < Duration::from_mins(1) {
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
    window.run_ok();
}

fn import(window: &mut Window, path: &Path) {
    press_shifted(window, Key::J);
    type_path(window, path);
}

fn underlay(window: &Window) -> Option<Arc<Underlay>> {
    window.state().document().scenario().underlay.clone()
}

#[test]
fn a_geotiff_gives_a_site_that_is_nowhere_its_origin_and_one_undo_takes_both_back() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    import(&mut window, &sample("utm_tiled_jpeg.tif"));
    assert!(shows(&window, "Where is the site?") && underlay(&window).is_none());
    click(&mut window, "Set the origin");
    wait(&mut window);
    let placed = underlay(&window).unwrap();
    assert_eq!(
        (placed.file.as_str(), placed.coordinates),
        ("utm_tiled_jpeg.tif", UnderlayFrame::UtmNorth { zone: 32 })
    );
    let origin = window.state().document().scenario().site.origin.unwrap();
    assert!((origin.latitude_deg - 51.0).abs() < 0.01 && (origin.longitude_deg - 7.0).abs() < 0.01);
    let pieces = &window.state().beside().state.backdrop.as_ref().unwrap().pieces;
    let corners = pieces[0].corners_m;
    // Half a metre a pixel, 96 by 80 of them, in the middle of the yard (150, 100), turned by 1.55°.
    let middle = corners.iter().sum::<DVec2>() / 4.0;
    assert!(middle.distance(DVec2::new(150.0, 100.0)) < 0.02, "{middle}");
    assert!((corners[0].distance(corners[1]) - 48.0).abs() < 0.02);
    let turned_deg = (corners[1] - corners[0]).to_angle().to_degrees();
    assert!((turned_deg - 1.5545).abs() < 0.01, "{turned_deg}");
    press(&mut window, Key::Z);
    let scenario = window.state().document().scenario();
    assert!(scenario.underlay.is_none() && scenario.site.origin.is_none());
    assert!(window.state().beside().state.backdrop.is_none());
}

#[test]
fn it_is_switched_and_faded_on_the_plan_and_removed_by_the_menu() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    import(&mut window, &sample("utm_tiled_jpeg.tif"));
    click(&mut window, "Set the origin");
    wait(&mut window);
    window.state_mut().turn_to(Screen::PLAN);
    window.run_ok();
    let opacity =
        |window: &Window| window.state().beside().state.backdrop.as_ref().map(|shown| shown.opacity);
    assert_eq!(opacity(&window), Some(0.8));
    window.get_by_label("Opacity of the picture").set_value_accesskit(0.3);
    window.run_ok();
    assert_eq!(opacity(&window), Some(0.3));
    click(&mut window, "Picture");
    assert_eq!(opacity(&window), None);
    assert!(underlay(&window).is_some(), "it is only out of sight");
    click(&mut window, "Picture");
    assert_eq!(opacity(&window), Some(0.3));
    click(&mut window, "Edit");
    click(&mut window, "Remove picture");
    assert!(underlay(&window).is_none() && opacity(&window).is_none());
}

/// Derived: 1280 x 800 pixels at 200 %: what is told and asked is scrolled between the title and the answers.
#[test]
fn in_a_small_window_title_and_answers_of_placing_are_in_sight() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    import(&mut window, &sample("quarters.png"));
    window.set_size(egui::vec2(640.0, 400.0));
    window.run_ok();
    for label in ["Place the picture by two points", "Place", "Cancel"] {
        let place = window.get_by_label(label).rect();
        assert!(place.top() >= 0.0 && place.bottom() <= 400.0, "{label}: {place}");
    }
}

#[test]
fn a_scan_is_placed_by_two_points() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    import(&mut window, &sample("quarters.png"));
    assert!(shows(&window, "Place the picture by two points"));
    assert!(shows(&window, "at least ten pixels and ten centimetres"), "both are at the origin so far");
    for (label, text) in [
        ("Column of point A", "0"),
        ("Row of point A", "79"),
        ("East of point A", "100"),
        ("North of point A", "50"),
        ("Column of point B", "95"),
        ("Row of point B", "79"),
        ("East of point B", "147.5"),
        ("North of point B", "50"),
    ] {
        type_number(&mut window, label, text);
    }
    assert!(shows(&window, "the picture is 48 m by 40 m, north up"));
    click(&mut window, "Place");
    wait(&mut window);
    let placed = underlay(&window).unwrap();
    assert_eq!(placed.coordinates, UnderlayFrame::Site);
    assert!(placed.at(DVec2::new(95.0, 0.0)).distance(DVec2::new(147.5, 89.5)) < 1e-9);
    assert!(window.state().beside().state.backdrop.is_some());
    press(&mut window, Key::Z);
    assert!(underlay(&window).is_none(), "it is one step");
}

/// Places the sample scan, 48 m by 40 m, with its lower left pixel at a place.
fn place_at(window: &mut Window, [east, north]: [f64; 2]) {
    let all = [
        ("Column of point A", 0.0),
        ("Row of point A", 79.0),
        ("East of point A", east),
        ("North of point A", north),
        ("Column of point B", 95.0),
        ("Row of point B", 79.0),
        ("East of point B", east + 47.5),
        ("North of point B", north),
    ];
    for (label, value) in all {
        type_number(window, label, &value.to_string());
    }
    click(window, "Place");
    wait(window);
}

fn bounds(window: &Window) -> (DVec2, DVec2) {
    let beside = window.state().beside();
    beside.state.fitted_m(beside.plan().unwrap())
}

/// Derived: a site that is not drawn has no frame yet: the picture's own coordinates are its frame, wherever they are, and
/// the plan shows the picture. The pixels' edges lie half a pixel, 0.25 m, outside their centres.
#[test]
fn a_new_job_begins_over_a_picture_and_the_plan_shows_it() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    press(&mut window, Key::N);
    assert!(shows(&window, "Draw it over a picture…"));
    window.input_mut().dropped_files.push(Arc::new(Dropped(sample("quarters.png"))));
    wait(&mut window);
    place_at(&mut window, [1015.0, 2015.0]);
    assert_eq!(window.state().screen_shown(), Screen::PLAN);
    assert!(!shows(&window, "lies beside the site") && !shows(&window, "The picture was brought in"));
    let (low, high) = bounds(&window);
    assert!(low.distance(DVec2::new(1014.75, 2014.75)) < 1e-6, "{low}");
    assert!(high.distance(DVec2::new(1062.75, 2054.75)) < 1e-6, "{high}");
    assert_eq!(window.state().beside().state.canvas(), None, "it is fitted");
    let area = window.get_by_label_contains("Plan of").rect();
    for (x, y) in [(0.3, 0.7), (0.7, 0.7), (0.5, 0.3)] {
        let at = area.min + area.size() * egui::vec2(x, y);
        window.hover_at(at);
        window.run_ok();
        window.drag_at(at);
        window.step();
        window.drop_at(at);
        window.run_ok();
    }
    window.key_press(Key::Enter);
    wait(&mut window);
    let site = Arc::clone(&window.state().document().scenario().site);
    assert!(
        site.boundary_m.iter().all(|at_m| at_m.distance(low.midpoint(high)) < 60.0),
        "{:?}",
        site.boundary_m
    );
    assert_eq!(site.take_off_m, obliquity_exchange::first_take_off(&site.boundary_m));
}

/// Derived: of a grid's large coordinates whole kilometres go into the frame, 356 and 5,645 of them, and the note keeps them.
#[test]
fn large_coordinates_move_the_zero_which_the_note_keeps() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    press(&mut window, Key::N);
    window.input_mut().dropped_files.push(Arc::new(Dropped(sample("quarters.png"))));
    wait(&mut window);
    place_at(&mut window, [356_015.0, 5_645_015.0]);
    assert!(shows(&window, "E 356000, N 5645000"));
    assert!(window.state().document().scenario().note.contains("E 356000, N 5645000"));
    let placed = underlay(&window).unwrap();
    assert!(placed.at(DVec2::new(0.0, 79.0)).distance(DVec2::new(15.0, 15.0)) < 1e-6);
    click(&mut window, "Close");
    press(&mut window, Key::Z);
    let scenario = window.state().document().scenario();
    assert!(scenario.underlay.is_none() && !scenario.note.contains("356000"), "it is one step");
}

/// On a site that is drawn a picture is shown where it comes to lie, and told where that is beside the site.
#[test]
fn a_picture_beside_the_site_is_told_and_shown() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    window.state_mut().turn_to(Screen::PLAN);
    import(&mut window, &sample("quarters.png"));
    place_at(&mut window, [1015.0, 2015.0]);
    assert!(shows(&window, "It lies beside the site and covers none of it"));
    click(&mut window, "Close");
    let shown = window.state().beside().state.canvas().unwrap();
    assert!(shown.centre_m.distance(DVec2::new(1038.75, 2034.75)) < 0.01, "{}", shown.centre_m);
}

/// A georeferenced picture brings its origin along where nothing is drawn yet, and nothing is asked.
#[test]
fn a_geotiff_brings_its_origin_to_a_site_that_is_not_drawn() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    press(&mut window, Key::N);
    window.input_mut().dropped_files.push(Arc::new(Dropped(sample("utm_tiled_jpeg.tif"))));
    wait(&mut window);
    assert!(!shows(&window, "Where is the site?"));
    let origin = window.state().document().scenario().site.origin.unwrap();
    assert!((origin.latitude_deg - 51.0).abs() < 0.01 && (origin.longitude_deg - 7.0).abs() < 0.01);
    let (low, high) = bounds(&window);
    assert!(low.midpoint(high).length() < 0.1, "the middle of the picture is the site's zero");
}

/// What is typed goes from point to point: Tab leads from the one's north to the other's east.
#[test]
fn tab_leads_from_point_to_point() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    import(&mut window, &sample("quarters.png"));
    window.get_by_label("East of point A").focus();
    window.run_ok();
    for next in ["North of point A", "East of point B", "North of point B"] {
        window.key_press(Key::Tab);
        window.run_ok();
        assert!(window.get_by_label(next).accesskit_node().is_focused(), "{next}");
    }
}

/// A click on the picture sets the point that is next.
#[test]
fn a_click_sets_a_point() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    import(&mut window, &sample("quarters.png"));
    let before = window.get_by_label("Column of point A").accesskit_node().value();
    let place = window.get_by_label_contains("click where a point is").rect();
    window.drag_at(place.left_center() + egui::vec2(40.0, 0.0));
    window.drop_at(place.left_center() + egui::vec2(40.0, 0.0));
    window.run_ok();
    assert_ne!(window.get_by_label("Column of point A").accesskit_node().value(), before);
    window.key_press(Key::Escape);
    window.run_ok();
    assert!(underlay(&window).is_none() && !shows(&window, "Place the picture"));
}

#[test]
fn a_world_file_without_coordinates_asks_which_they_are() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let path = folder.path().join("plan.png");
    fs::copy(sample("quarters.png"), &path).unwrap();
    fs::write(folder.path().join("plan.pgw"), "0.5\n0\n0\n-0.5\n120\n140\n").unwrap();
    let mut window = yard_at(Some(own.path()));
    import(&mut window, &path);
    assert!(shows(&window, "Which coordinates is the picture in?"));
    click(&mut window, "Import");
    wait(&mut window);
    let placed = underlay(&window).unwrap();
    assert_eq!((placed.coordinates, placed.first), (UnderlayFrame::Site, DVec2::new(120.0, 140.0)));
}

#[derive(Debug)]
struct Dropped(PathBuf);

impl DroppedFile for Dropped {
    fn path(&self) -> &Path {
        &self.0
    }

    fn bytes(&self) -> Result<Vec<u8>, String> {
        fs::read(&self.0).map_err(|error| error.to_string())
    }
}

/// A TIFF that is dropped is a picture or heights by what it holds, whatever its name.
#[test]
fn a_dropped_tiff_is_taken_for_what_it_holds() {
    let own = tempfile::tempdir().unwrap();
    let mut window = yard_at(Some(own.path()));
    window.input_mut().dropped_files.push(Arc::new(Dropped(sample("utm_tiled_jpeg.tif"))));
    wait(&mut window);
    assert!(shows(&window, "Where is the site?"));
    click(&mut window, "Cancel");
    window.input_mut().dropped_files.push(Arc::new(Dropped(sample("heights.tif"))));
    wait(&mut window);
    assert!(
        shows(&window, "The terrain was not imported"),
        "it is heights, which this site that is nowhere cannot have"
    );
}

/// A scenario in a folder, drawn over a picture beside it.
fn drawn_over(folder: &Path) -> (Scenario, PathBuf) {
    fs::copy(sample("quarters.png"), folder.join("quarters.png")).unwrap();
    let mut scenario = made_up::scenario();
    let head = look_at_picture(&folder.join("quarters.png"), RasterFrame::OfFile, &NoWatch).unwrap();
    // A pixel is two metres.
    let (right, down) = (DVec2::new(2.0, 0.0), DVec2::new(0.0, -2.0));
    let first = DVec2::new(51.0, 179.0);
    scenario.underlay = Some(Arc::new(Underlay { first, right, down, ..head.underlay }));
    let path = folder.join("yard.ron");
    save_scenario(&path, &scenario).unwrap();
    (scenario, path)
}

fn open(window: &mut Window, path: &Path) {
    press_shifted(window, Key::O);
    type_path(window, path);
}

#[test]
fn a_missing_or_changed_picture_is_said_and_nothing_breaks() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (scenario, path) = drawn_over(folder.path());
    let mut window = yard_at(Some(own.path()));
    open(&mut window, &path);
    assert!(window.state().beside().state.backdrop.is_some() && !shows(&window, "is not shown"));
    let picture = folder.path().join("quarters.png");
    let whole = fs::read(&picture).unwrap();
    for (bytes, told) in
        [(None, "which is not beside it"), (Some(b"another".to_vec()), "holds something else by now")]
    {
        match bytes {
            Some(bytes) => fs::write(&picture, bytes).unwrap(),
            None => fs::remove_file(&picture).unwrap(),
        }
        drop(window);
        window = yard_at(Some(own.path()));
        open(&mut window, &path);
        assert!(shows(&window, "The picture is not shown") && shows(&window, told), "{told}");
        click(&mut window, "Close");
        assert!(window.state().beside().state.backdrop.is_none());
        assert_eq!(**window.state().document().scenario(), scenario, "the reference stays");
        type_number(&mut window, "Tilt of Crossed strips, as a number", "25");
        press(&mut window, Key::S);
        assert_eq!(read_scenario(&path).unwrap().underlay, scenario.underlay);
        save_scenario(&path, &scenario).unwrap();
    }
    fs::write(&picture, whole).unwrap();
    drop(window);
    window = yard_at(Some(own.path()));
    open(&mut window, &path);
    assert!(window.state().beside().state.backdrop.is_some());
}

/// Derived: the plan is drawn over the picture: its colours show through where nothing stands, and only there.
#[test]
fn the_plan_is_drawn_over_it() {
    let folder = tempfile::tempdir().unwrap();
    let (scenario, path) = drawn_over(folder.path());
    let reddish = |scenario: Scenario, mode| {
        let mut app = shared(App::still(Document::new(scenario, Some(path.clone()))));
        app.work_out();
        app.turn_to(Screen::PLAN);
        let canvas = PictureSize { width_px: 1280, height_px: 800, pixels_per_point: 1.0, mode };
        let drawn = picture::draw(&canvas, |ui| app.screen(ui));
        let is_red = |pixel: &&egui::Color32| {
            i32::from(pixel.r()) - i32::from(pixel.g()) > 60
                && i32::from(pixel.g()).abs_diff(i32::from(pixel.b())) < 25
        };
        drawn.pixels.iter().filter(is_red).count()
    };
    for mode in [Mode::Light, Mode::Dark] {
        let plain = reddish(Scenario { underlay: None, ..scenario.clone() }, mode);
        let over = reddish(scenario.clone(), mode);
        assert!(over > plain + 5_000, "{mode:?}: {over} reddish pixels over the picture, {plain} without");
    }
}

/// Derived: the picture is as strong as the document says: moved by the slider, undone, saved where it is not the usual one,
/// and refused in words where it is none.
#[test]
fn how_strong_the_picture_is_stays_with_the_scenario() {
    let (folder, own) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let (_, path) = drawn_over(folder.path());
    assert!(!fs::read_to_string(&path).unwrap().contains("opacity"), "the usual one is not written");
    let mut window = yard_at(Some(own.path()));
    open(&mut window, &path);
    press_shifted(&mut window, Key::P);
    let strength = |window: &Window| {
        let drawn = window.state().beside().state.backdrop.as_ref().unwrap().opacity;
        (underlay(window).unwrap().opacity, f64::from((100.0 * drawn).round()))
    };
    assert_eq!(strength(&window), (Underlay::USUAL_OPACITY, 80.0));
    window.get_by_label("Opacity of the picture").focus();
    window.run_ok();
    window.key_press(Key::ArrowLeft);
    window.run_ok();
    let (weaker, drawn) = strength(&window);
    assert!(weaker < Underlay::USUAL_OPACITY && (100.0 * weaker).round() == drawn, "{weaker}, {drawn}");
    assert_eq!(window.state().document().undo_label(), Some("opacity of the picture"));
    press(&mut window, Key::S);
    let saved = read_scenario(&path).unwrap();
    assert_eq!(saved.underlay.unwrap().opacity, weaker);
    press(&mut window, Key::Z);
    assert_eq!(strength(&window), (Underlay::USUAL_OPACITY, 80.0));
    let text = fs::read_to_string(&path).unwrap();
    let wrong = text.replace(&format!("opacity: {weaker}"), "opacity: 40.0");
    assert_ne!(text, wrong);
    fs::write(&path, wrong).unwrap();
    let told = read_scenario(&path).unwrap_err().to_string();
    assert!(told.contains("opacity of the picture") && told.contains("write 0.8 for 80 %"), "{told}");
}
